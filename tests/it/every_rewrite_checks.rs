//! Every pattern we write passes our own check.
//!
//! `rewrite` works what it wrote again before it returns it, so a rewrite that
//! succeeds is the promise kept; these tests ask that it does succeed.

use crate::patterns::{all, rewritten, samples, targets, targets_of};
use walewright::measure::decimal;
use walewright::source::Source;
use walewright::syntax;

#[test]
fn for_every_targets_file_of_the_repository() {
    for pattern in all() {
        for file in targets_of(&pattern) {
            let targets = targets(&file.text);
            let revised = rewritten(&pattern, &targets);
            assert!(
                revised.is_ok(),
                "{} to {}:\n{}",
                pattern.name,
                file.name,
                revised.unwrap_err()
            );
        }
    }
}

/// Targets that scale every gauge of a pattern so that the first has
/// `stitches` to 10 cm; rows keep `rows_share` hundredths of their proportion.
fn scaled(pattern: &Source, stitches: i64, rows_share: i64) -> Option<String> {
    let front = syntax::parse(pattern).document?.front;
    let lead = front.gauges.iter().find(|g| g.name.value == "body").or(front.gauges.first())?;
    let own = lead.stitches?.value
        / lead
            .over
            .map_or(walewright::measure::Length::cm(10), |o| o.value)
            .amount(walewright::measure::Unit::Cm);
    let factor = walewright::measure::exact(stitches, 10) / own;
    let rows_factor = factor * walewright::measure::exact(rows_share, 100);
    let mut text = "gauges:\n".to_owned();
    for gauge in &front.gauges {
        let over = gauge.over.map_or("10 cm".to_owned(), |o| pattern.slice(o.span).to_owned());
        text.push_str(&format!(
            "  {}: {{ stitches: {}",
            gauge.name.value,
            decimal(gauge.stitches?.value * factor, 2)
        ));
        if let Some(rows) = gauge.rows {
            text.push_str(&format!(", rows: {}", decimal(rows.value * rows_factor, 2)));
        }
        text.push_str(&format!(", over: {over} }}\n"));
    }
    Some(text)
}

/// Sweeps gauges over every sample; gives the number of rewrites and those that failed.
fn sweep(gauges: &[i64], shares: &[i64]) -> (usize, Vec<String>) {
    let (mut worked, mut failed) = (0, Vec::new());
    for pattern in samples() {
        for &stitches in gauges {
            for &share in shares {
                let Some(text) = scaled(&pattern, stitches, share) else { continue };
                let targets = targets(&text);
                worked += 1;
                if let Err(findings) = rewritten(&pattern, &targets) {
                    failed.push(format!(
                        "{} at {stitches} sts, rows {share}%:\n{findings}",
                        pattern.name
                    ));
                }
            }
        }
    }
    (worked, failed)
}

#[test]
fn from_ten_to_forty_stitches() {
    let every = if std::env::var_os("WALE_LONG").is_some() { 1 } else { 5 };
    let gauges: Vec<i64> = (10..=40).step_by(every).collect();
    let (worked, failed) = sweep(&gauges, &[100]);
    assert!(worked >= 7, "only {worked} rewrites were tried");
    assert!(failed.is_empty(), "{} of {worked} failed; the first:\n{}", failed.len(), failed[0]);
}
