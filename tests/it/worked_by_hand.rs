//! Small patterns whose rewritten counts were worked by hand.
//!
//! The conversions G3 and G8 are in print: 58 stitches from 19 to 14 per 4 in
//! (knittinghelp.com, forum 64163), 190 stitches at 19 and at 17.5 per 4 in
//! (notmartha.org, 2007/06/28). The bands are the arithmetic of two gauges.

use crate::patterns::{rewritten, targets};
use walewright::source::Source;

/// The counts of the revised instructions that begin with `words`.
fn revised(pattern: &str, to: &str, words: &str) -> String {
    let source = Source::new("pattern", pattern);
    let targets = targets(to);
    let revised = rewritten(&source, &targets).unwrap_or_else(|e| panic!("{e}"));
    let line = revised.source.text.lines().find(|l| l.contains(words)).expect("the instruction");
    line.split(words).nth(1).unwrap_or("").trim().to_owned()
}

fn plain(cast_on: &str, setting: &str, fabric: &str) -> String {
    format!(
        "---\ntitle: Strip\nunits: in\ngauges:\n  body: {{ stitches: 19, rows: 26, over: 4 in }}\n---\n\n\
         ## Strip, {setting}\n\n- cast on {cast_on} in body\n- {fabric} for 4 in\n- bind off all\n"
    )
}

#[test]
fn the_same_width_at_another_gauge() {
    let at = |stitches: &str| {
        format!("gauges:\n  body: {{ stitches: {stitches}, rows: 24, over: 4 in }}\n")
    };
    // 190 at 19 per 4 in are 40 in; 40 in at 17.5 per 4 in are 175.
    assert_eq!(revised(&plain("190", "flat", "garter"), &at("17.5"), "cast on"), "175 in body");
    // 58 at 19 per 4 in, at 14 per 4 in: 42.74.
    assert_eq!(revised(&plain("58", "flat", "garter"), &at("14"), "cast on"), "43 in body");
    // k2 p2 flat over 58 (a multiple of 4 plus 2) stays one.
    assert_eq!(revised(&plain("58", "flat", "k2 p2 rib"), &at("14"), "cast on"), "42 in body");
    let four = plain("58", "flat", "garter").replace("in body\n", "in body [multiple of 4]\n");
    assert_eq!(revised(&four, &at("14"), "cast on"), "44 in body [multiple of 4]");
}

fn banded(setting: &str, lies: &str, band: &str) -> String {
    let join = if setting == "flat" { "" } else { "- join in the round\n" };
    format!(
        "---\ntitle: Band\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\n  \
         band: {{ stitches: {band}, rows: 30, over: 10 cm }}\nmeasure:\n  around: 100 cm\n---\n\n\
         ## Body, {setting}\n\n- cast on ? in band\n{join}- k2 p2 rib for 5 cm\n- change to body\n\
         - decrease evenly to ? [around] [{lies}]\n- stockinette for 20 cm\n- bind off all\n"
    )
}

#[test]
fn a_level_band_has_as_many_more_stitches_as_its_gauge_is_finer() {
    // 24 to 20 is 6 to 5: 200 body stitches, 240 band stitches.
    let no_change = "title: Band\n";
    let level = banded("in the round", "lies level", "24");
    assert_eq!(revised(&level, no_change, "cast on"), "240 in band");
    assert_eq!(revised(&level, no_change, "evenly to"), "200 [around] [lies level]");
    // 25 to 20 is 5 to 4: 250, and in k2 p2 252 or 248, of which 252 is as near and larger.
    let finer = banded("in the round", "lies level", "25");
    assert_eq!(revised(&finer, no_change, "cast on"), "252 in band");
}

#[test]
fn a_snug_band_draws_in_by_its_share() {
    // 0.88 x 240 = 211.2.
    let no_change = "title: Band\n";
    let round = banded("in the round", "lies snug 12%", "24");
    assert_eq!(revised(&round, no_change, "cast on"), "212 in band");
    let flat = banded("flat", "lies snug 12%", "24");
    assert_eq!(revised(&flat, no_change, "cast on"), "210 in band");
}

#[test]
fn the_same_count_on_both_sides_needs_no_change() {
    let same = banded("in the round", "lies same count", "24");
    assert_eq!(revised(&same, "title: Band\n", "cast on"), "200 in band");
    assert_eq!(revised(&same, "title: Band\n", "evenly to"), "200 [around] [lies same count]");
}

#[test]
fn going_up_to_a_fuller_body_the_verb_turns() {
    let snug = banded("in the round", "lies snug 30%", "24");
    let source = Source::new("pattern", &snug);
    let targets = targets("title: Band\n");
    let revised = rewritten(&source, &targets).unwrap_or_else(|e| panic!("{e}"));
    // 0.7 x 240 = 168 band stitches, fewer than the 200 of the body.
    assert!(revised.source.text.contains("- increase evenly to 200"), "{}", revised.source.text);
}
