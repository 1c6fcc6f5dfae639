//! How much of what the tests hold comes from outside, and from whom.
//!
//! Every comparison with a published figure says so to [`compared`]. The test
//! here runs all those tests once more in a process of their own, and counts.
//! To see the list: `WALE_LIST_CHECKS=1 cargo test --test it outside_ -- --nocapture`.

use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

const LIST: &str = "WALE_LIST_CHECKS";
const SIGN: &str = "compared with print\t";

/// A figure of ours was compared with one that `source` prints.
pub(crate) fn compared(what: &str, source: &str, how: &str) {
    if std::env::var_os(LIST).is_some() {
        println!("{SIGN}{source}\t{how}\t{what}");
    }
}

/// Who is behind a source: `Schoolhouse Press` of `Schoolhouse Press, blog 38`.
fn publisher(source: &str) -> &str {
    let end = source.find([',', ':', ';']).unwrap_or(source.len());
    let name = source.get(..end).unwrap_or(source);
    let name = name.strip_prefix("after ").unwrap_or(name);
    let name = name.strip_prefix("forum.").unwrap_or(name);
    // `neoknits.blogspot.com 2007/03` is the site and a date.
    match name.split_once(' ') {
        Some((site, _)) if site.contains('.') => site,
        _ => name,
    }
}

/// Some rows have no name behind them, and are not counted.
fn is_named(publisher: &str) -> bool {
    const NOBODY: [&str; 7] = [
        "common practice",
        "arithmetic of ours",
        "sometimes quoted",
        "a usual ratio",
        "published as",
        "completed from",
        "worked by hand",
    ];
    !NOBODY.iter().any(|nobody| publisher.starts_with(nobody))
}

/// The comparisons that the tests of these names make: publisher, source and what.
fn listed(tests: &[&str]) -> BTreeSet<(String, String)> {
    let output = Command::new(std::env::current_exe().expect("the tests themselves"))
        .args(tests)
        .args(["--skip", "outside_values", "--nocapture", "--test-threads=1"])
        .env(LIST, "1")
        .output()
        .expect("they run");
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success(), "the tests themselves fail: run them first");
    let found = text.lines().filter_map(|line| line.split_once(SIGN));
    found
        .filter_map(|(_, told)| {
            let (source, what) = told.split_once('\t')?;
            let publisher = publisher(source).to_owned();
            is_named(&publisher).then(|| (publisher, format!("{source}: {what}")))
        })
        .collect()
}

#[test]
fn at_least_ninety_checks_are_from_at_least_twenty_five_publishers() {
    // Worked examples: arithmetic, spacing, shaping, multiples.
    let examples = listed(&["outside_arithmetic", "multiples"]);
    // Entries of tables: measurements, needles, yarns, stitches.
    let entries = listed(&["outside_standards"]);
    let mut by_publisher: BTreeMap<&str, usize> = BTreeMap::new();
    for (publisher, _) in examples.iter().chain(&entries) {
        *by_publisher.entry(publisher).or_default() += 1;
    }
    let of_examples: BTreeSet<&str> = examples.iter().map(|(publisher, _)| &**publisher).collect();
    println!(
        "{} worked examples of {} publishers, {} entries of tables, {} publishers in all:\n{:#?}",
        examples.len(),
        of_examples.len(),
        entries.len(),
        by_publisher.len(),
        by_publisher
    );
    assert!(examples.len() >= 90, "{} worked examples", examples.len());
    assert!(of_examples.len() >= 25, "{of_examples:?}");
    assert!(entries.len() >= 500, "{} entries of tables", entries.len());
}

#[test]
fn a_publisher_is_told_from_the_rest_of_a_source() {
    for (source, name) in [
        ("Schoolhouse Press, blog 38", "Schoolhouse Press"),
        ("forum.knittinghelp.com 69468: 13 + 2 works with yo", "knittinghelp.com"),
        ("knittinghelp.com, post 411292", "knittinghelp.com"),
        ("after Elizabeth Zimmermann, Knitting Around", "Elizabeth Zimmermann"),
        ("Munden 1959, J. Text. Inst. 50, T448", "Munden 1959"),
    ] {
        assert_eq!(publisher(source), name);
    }
}
