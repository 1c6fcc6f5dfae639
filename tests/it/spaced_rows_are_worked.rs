//! A row that is spaced evenly can be written into a pattern: worked stitch by
//! stitch it uses exactly the stitches there are, and leaves the count asked for.

use walewright::diag::Finding;
use walewright::measure::Stitches;
use walewright::plan::spacing::{EvenChange, IncreaseMethod, Setting};
use walewright::quick::words;
use walewright::source::Source;
use walewright::{check, syntax};

/// A pattern in which every change is a row of its own, each from a new cast-on.
fn pattern(setting: Setting, changes: &[EvenChange]) -> String {
    let mut text = String::from(
        "---\ntitle: Rows\nsizes: [one]\nunits: cm\n\
         gauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n---\n\n# Rows\n",
    );
    for (place, change) in changes.iter().enumerate() {
        let spacing = change.spaced().unwrap_or_else(|error| panic!("{change:?}: {error:?}"));
        let (heading, join, label) = match setting {
            Setting::Round => ("in the round", "- join in the round\n", "round 1"),
            Setting::Flat => ("flat", "", "row 1 (RS)"),
        };
        let (from, to, row) = (change.from.0, change.to.0, words::row(&spacing));
        text.push_str(&format!(
            "\n## Piece {place}, {heading}\n\n- cast on {from} in body\n{join}- {label}: {row} \
             ({to} sts)\n- bind off\n"
        ));
    }
    text
}

fn errors(text: String) -> Vec<String> {
    let source = Source::new("rows.wale", text);
    let parsed = syntax::parse(&source);
    let document = parsed.document.expect("a pattern");
    let checked = check(&source, &document, parsed.findings);
    let errors = checked.findings.iter().filter(|finding| finding.is_error());
    errors.map(|finding: &Finding| format!("{finding:?}")).collect()
}

fn changes(setting: Setting) -> Vec<EvenChange> {
    let methods = [IncreaseMethod::M1, IncreaseMethod::InStitch];
    let counts = [(56, 40), (48, 54), (51, 55), (190, 249), (112, 128), (80, 70), (97, 61)];
    let narrow = [(9, 12), (12, 9), (20, 38), (38, 20), (5, 4), (7, 8)];
    counts
        .iter()
        .chain(&narrow)
        .flat_map(|&(from, to)| {
            let (from, to) = (Stitches(from), Stitches(to));
            methods.map(|method| EvenChange { from, to, setting, method })
        })
        .filter(|change| change.spaced().is_ok())
        .collect()
}

#[test]
fn in_the_round_and_flat() {
    for setting in [Setting::Round, Setting::Flat] {
        let changes = changes(setting);
        assert!(changes.len() > 20, "only {} changes", changes.len());
        let wrong = errors(pattern(setting, &changes));
        assert!(wrong.is_empty(), "{setting:?}:\n{}", wrong.join("\n"));
    }
}

/// The check is no empty one: with one stitch more to begin with, each row is wrong.
#[test]
fn a_stitch_too_many_is_found() {
    let changes = changes(Setting::Flat);
    let text = pattern(Setting::Flat, &changes);
    for change in &changes {
        let (right, wrong) = (change.from.0, change.from.0 + 1);
        let (right, wrong) = (format!("cast on {right} in"), format!("cast on {wrong} in"));
        assert!(!errors(text.replacen(&right, &wrong, 1)).is_empty(), "{right}");
    }
}
