//! Sizes a pattern does not have: from a published table, or the author's own.

use crate::patterns::{plain, rewritten, samples, targets};
use walewright::diag::{Code, Finding};
use walewright::source::Source;
use walewright::{measure, syntax};

/// A draft: one size, and no counts at all.
const DRAFT: &str = "\
---
title: Draft Vest
units: in
gauges:
  body: { stitches: 18, rows: 24, over: 4 in }
  hem: { stitches: 20, rows: 26, over: 4 in }
measure:
  chest: 36 in
  cross-back: 15 in
ease:
  chest: 2 in
---

## Back, flat

- cast on ? in hem
- k2 p2 rib for 2 in, ending with a WS row
- change to body
- decrease evenly to ? [chest / 2 + ease / 2] [lies level]
- stockinette until 14 in from cast on, ending with a WS row
- bind off ? at the start of the next 2 rows [chest / 24]
- decrease 1 each end every RS row until ? sts remain [cross-back]
- work even until armhole measures 8 in, ending with a WS row
- bind off all
";

fn draft() -> Source {
    Source::new("draft.wale", DRAFT)
}

fn line_of<'t>(text: &'t str, words: &str) -> &'t str {
    text.lines()
        .find(|line| line.contains(words))
        .unwrap_or_else(|| panic!("no {words} in\n{text}"))
}

#[test]
fn a_draft_without_counts_becomes_a_pattern() {
    let targets = targets("title: Draft Vest\n");
    let revised = rewritten(&draft(), &targets).unwrap_or_else(|e| panic!("{e}"));
    // 19 in at 18 to 4 in are 85.5, 15 in are 67.5, and both must be odd or both even;
    // 94 lies level against 85 (94.4), and is a multiple of 4 plus 2.
    let text = &revised.source.text;
    assert!(!text.contains('?'), "{text}");
    insta::assert_snapshot!(text.lines().skip(15).collect::<Vec<_>>().join("\n"), @r"
    - cast on 94 in hem
    - k2 p2 rib for 2 in, ending with a WS row
    - change to body
    - decrease evenly to 85 [chest / 2 + ease / 2] [lies level]
    - stockinette until 14 in from cast on, ending with a WS row
    - bind off 7 at the start of the next 2 rows [chest / 24]
    - decrease 1 each end every RS row until 67 sts remain [cross-back]
    - work even until armhole measures 8 in, ending with a WS row
    - bind off all
    ");
}

#[test]
fn a_draft_of_one_size_takes_its_sizes_from_a_table() {
    let targets = targets("sizes-from: man\n");
    let revised = rewritten(&draft(), &targets).unwrap_or_else(|e| panic!("{e}"));
    let text = &revised.source.text;
    // Craft Yarn Council, men: chest 34-36, 38-40, 42-44, 46-48, 50-52 in (from memory).
    assert_eq!(line_of(text, "chest:"), "  chest: 35 (39, 43, 47, 51) in");
    assert_eq!(line_of(text, "sizes:"), "sizes: [S, M, L, XL, XXL]");
    let parsed = syntax::parse(&revised.source);
    let document = parsed.document.expect("a pattern");
    let checked = walewright::check(&revised.source, &document, parsed.findings);
    assert!(
        checked.findings.iter().all(|f| !f.is_error()),
        "{}",
        plain(&checked.findings, &revised.source, None)
    );
    // Each size comes within an inch of half its chest and ease, 18 stitches to 4 in.
    let line = line_of(text, "evenly to").split('[').next().unwrap_or("");
    let counts: Vec<i64> =
        line.split(|c: char| !c.is_ascii_digit()).filter_map(|n| n.parse().ok()).collect();
    assert_eq!(counts.len(), 5, "{line}");
    for (count, chest) in counts.into_iter().zip([35, 39, 43, 47, 51]) {
        let off = measure::exact(count * 4, 18) - measure::exact(chest + 2, 2);
        assert!(off < measure::exact(1, 1) && off > measure::exact(-1, 1), "{count} for {chest}");
    }
}

#[test]
fn a_measurement_the_table_lacks_is_asked_for_not_invented() {
    let hip = DRAFT.replace("  chest: 36 in\n", "  chest: 36 in\n  thumb: 3 in\n");
    let source = Source::new("draft.wale", hip);
    let targets = targets("sizes-from: man\n");
    let findings = rewritten(&source, &targets).expect_err("a thumb is in no table");
    assert!(findings.contains("the table `man` has no `thumb`"), "{findings}");
}

#[test]
fn every_sample_with_a_body_grows_by_a_table_when_the_rest_is_given() {
    let mut grown = 0;
    for pattern in samples() {
        let front = syntax::parse(&pattern).document.expect("a pattern").front;
        let has = |name: &str| front.measure.iter().any(|e| e.name.value == name);
        if !has("chest") && !has("bust") {
            continue;
        }
        let mut text = "sizes-from: woman\nmeasure:\n  unused: 1 cm\n".to_owned();
        let known = ["chest", "bust", "head", "hand", "upper-arm", "cross-back"];
        for entry in front.measure.iter().filter(|e| !known.contains(&e.name.value.as_str())) {
            // What the table lacks, from the sample's own smallest to its largest size.
            let own: Vec<_> = entry.value.value.values().copied().collect();
            let (first, last) = (own[0], own[own.len() - 1]);
            let steps: Vec<String> = (0..9)
                .map(|i| first + (last - first) * measure::exact(i, 8))
                .map(|length| measure::decimal(length.amount(measure::Unit::Cm), 1))
                .collect();
            text.push_str(&format!(
                "  {}: {} ({}) cm\n",
                entry.name.value,
                steps[0],
                steps[1..].join(", ")
            ));
        }
        let targets = targets(&text);
        let revised = rewritten(&pattern, &targets);
        assert!(revised.is_ok(), "{} with\n{text}\n{}", pattern.name, revised.unwrap_err());
        grown += 1;
    }
    assert!(grown >= 2, "only {grown} samples were grown");
}

/// A whole pullover without one count: a body, a neck, sleeves with their caps.
const PULLOVER: &str = "\
---
title: Draft Pullover
units: in
gauges:
  body: { stitches: 20, rows: 28, over: 4 in }
  hem: { stitches: 22, rows: 30, over: 4 in }
measure:
  chest: 36 in
  cross-back: 15 in
  upper-arm: 11 in
  wrist: 6 in
  neck: 7 in
  armhole-depth: 7.5 in
  arm-length-to-underarm: 17 in
  back-waist-length: 17 in
ease:
  chest: 2 in
  upper-arm: 2 in
  wrist: 1.5 in
seams:
  - [Back, Front]
---

## Back, flat

- cast on ? in hem
- k2 p2 rib for 2 in, ending with a WS row
- change to body
- decrease evenly to ? [chest / 2 + ease / 2] [lies level]
- stockinette until 14 in from cast on, ending with a WS row [back-waist-length - 3 in]
- bind off ? at the start of the next 2 rows [chest / 30] [starts armhole]
- decrease 1 each end every RS row until ? sts remain [cross-back]
- work even until armhole measures 8 in, ending with a WS row [armhole-depth + 0.5 in]
- k{?}, bind off {?} [neck], k{?}
- left shoulder:
  - bind off all
- right shoulder: reverse

## Front, flat

- work as for back

## Sleeve, flat, make 2

- cast on ? in hem
- k2 p2 rib for 2 in, ending with a WS row
- change to body
- increase evenly to ? [wrist + ease] [lies level]
- increase 1 each end every 6th row until ? sts [upper-arm + ease]
- work even until 17 in from cast on, ending with a WS row [arm-length-to-underarm]
- bind off ? at the start of the next 2 rows [chest / 30]
- decrease 1 each end every RS row until ? sts remain [upper-arm / 3]
- bind off all
";

/// From the smallest baby to the largest woman, by the published tables; what they
/// do not have is given.
#[test]
fn a_pullover_without_counts_becomes_a_pattern_for_every_table() {
    let source = Source::new("pullover.wale", PULLOVER);
    for (table, sizes) in [("baby", 5), ("child", 8), ("woman", 9)] {
        let step = |from: i64, by: i64| {
            let each = (0..sizes).map(|n| measure::decimal(measure::exact(from + n * by, 100), 2));
            let each: Vec<String> = each.collect();
            format!("{} ({}) in", each[0], each[1..].join(", "))
        };
        let text = format!(
            "sizes-from: {table}\nmeasure:\n  wrist: {}\n  neck: {}\n",
            step(450, 25),
            step(400, 50)
        );
        let targets = targets(&text);
        let revised = rewritten(&source, &targets).unwrap_or_else(|e| panic!("{table}: {e}"));
        assert!(!revised.source.text.contains('?'), "{}", revised.source.text);
        let parsed = syntax::parse(&revised.source);
        let document = parsed.document.expect("a pattern");
        assert_eq!(document.front.sizes.len(), usize::try_from(sizes).expect("few"));
        let checked = walewright::check(&revised.source, &document, parsed.findings);
        assert_eq!(plain(&checked.findings, &revised.source, None), "", "{table}");
        // What is bound off at the underarm is the same on the body and the sleeve.
        let bound_off: Vec<&str> = revised
            .source
            .text
            .lines()
            .filter(|line| line.contains("at the start of the next 2 rows"))
            .filter_map(|line| line.split(" at the").next())
            .collect();
        assert_eq!(bound_off.len(), 2);
        assert_eq!(bound_off[0], bound_off[1], "{table}");
        // Nothing grows smaller with the sizes, or it is said.
        for (before, size) in revised.plan.sizes.iter().zip(revised.plan.sizes.iter().skip(1)) {
            for (a, b) in before.derivations.iter().zip(&size.derivations) {
                assert_eq!(a.place, b.place);
                let grows = a.target >= b.target || a.chosen <= b.chosen;
                let told = |f: &Finding| f.code == Code::NotMonotone && f.place() == a.place;
                assert!(
                    grows || revised.findings.iter().any(told),
                    "{table}: {} at {:?}",
                    b.chosen,
                    a.place
                );
            }
        }
    }
}
