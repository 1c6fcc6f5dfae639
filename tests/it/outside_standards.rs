//! The embedded tables and the formulas beside them give the figures that are
//! in print.
//!
//! Every figure is compared as it is printed, to the decimals it is printed
//! with. Each row names the published source and how it was had: `read` in
//! that source, from `memory` of it, or `computed` from figures that were.
//! Oddities of a published table are asserted to be there, not repaired.

use crate::outside_values::compared;
use walewright::measure::{Density, Exact, Length, exact, parse_exact};
use walewright::standards::How;

mod fabric;
mod needles;
mod sizes;
mod stitches;

/// One figure in print beside ours.
struct Row {
    what: String,
    source: &'static str,
    how: How,
    ours: String,
    printed: String,
}

fn row(
    what: impl Into<String>,
    source: &'static str,
    how: How,
    ours: impl Into<String>,
    printed: impl Into<String>,
) -> Row {
    Row { what: what.into(), source, how, ours: ours.into(), printed: printed.into() }
}

/// Fails with every row that differs, not only the first.
fn agree(rows: &[Row]) {
    assert!(!rows.is_empty(), "nothing was compared");
    rows.iter().for_each(|row| compared(&row.what, row.source, row.how.word()));
    let wrong: Vec<_> = rows
        .iter()
        .filter(|row| row.ours != row.printed)
        .map(|row| {
            let (how, source) = (row.how.word(), row.source);
            format!("{}: ours {}, printed {} ({how}, {source})", row.what, row.ours, row.printed)
        })
        .collect();
    assert!(wrong.is_empty(), "{} of {} differ:\n{}", wrong.len(), rows.len(), wrong.join("\n"));
}

/// The lines of a printed table, cut at its bars.
fn lines(table: &str) -> Vec<Vec<&str>> {
    table.trim().lines().map(|line| line.split('|').map(str::trim).collect()).collect()
}

fn number(text: &str) -> Exact {
    parse_exact(text).unwrap_or_else(|e| panic!("{text:?}: {e}"))
}

fn over_4_in(count: &str) -> Density {
    Density::new(number(count), Length::inches(4)).expect("a gauge")
}

fn over_10_cm(count: i64) -> Density {
    Density::new(exact(count, 1), Length::cm(10)).expect("a gauge")
}
