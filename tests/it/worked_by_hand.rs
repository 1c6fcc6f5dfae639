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
    // In a multiple of 4: 58 stitches at 19 to 4 in are 12 4/19 in.
    let four = plain("?", "flat", "garter")
        .replace("gauges:\n", "measure:\n  strip: 12 4/19 in\ngauges:\n")
        .replace("in body\n", "in body [strip] [multiple of 4]\n");
    assert_eq!(revised(&four, &at("14"), "cast on"), "44 in body [strip] [multiple of 4]");
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

#[test]
fn a_clash_names_what_clashes_and_what_letting_go_costs() {
    let clash = plain("?", "in the round", "k2 p2 rib")
        .replace("gauges:\n", "measure:\n  around: 40 in\ngauges:\n")
        .replace("in body\n", "in body [around] [multiple of 12 plus 2]\n");
    let source = Source::new("clash.wale", clash);
    let targets = targets("title: Clash\n");
    let findings = rewritten(&source, &targets).expect_err("4 x n is never 12 x k + 2");
    // 190 stitches are 40 in: 192 for the rib, or 194 for the author.
    insta::assert_snapshot!(findings, @r#"
    error[clash]: no counts meet all of this: the author asks for a multiple of 12 plus 2 and k2 p2 rib wants a multiple of 4
      --> clash.wale:12:30
       |
    12 | - cast on ? in body [around] [multiple of 12 plus 2]
       |                              ^^^^^^^^^^^^^^^^^^^^^^^ asked here
    13 | - k2 p2 rib for 4 in
       |   --------- and here
       |
       = help: without "the author asks for a multiple of 12 plus 2" there are counts, the farthest 2 stitches too many from its target (1.1 cm)
       = help: without "k2 p2 rib wants a multiple of 4" there are counts, the farthest 4 stitches too many from its target (2.1 cm)
    "#);
}

#[test]
fn what_a_draft_says_of_its_shaping_stays() {
    let draft = "---\nsizes: [S, M]\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\nmeasure:\n  chest: 50 (60) cm\n---\n\n## Back, flat\n\n- cast on ? in body [chest]\n- stockinette for 20 cm\n- decrease 1 each end every RS row 5 times\n- bind off all\n\n## Front, flat\n\n- work as for back\n";
    let same = "title: Quay Vest\n";
    assert_eq!(revised(draft, same, "cast on"), "100 (120) in body [chest]");
    assert_eq!(revised(draft, same, "decrease"), "1 each end every RS row 5 times");
    // Without the measurement nothing says how many to cast on: one count, told once.
    let source = Source::new("vest.wale", draft.replace(" [chest]", ""));
    let told = rewritten(&source, &targets(same)).expect_err("nothing to go by");
    assert!(told.contains("in sizes S and M"), "{told}");
    assert_eq!(told.matches("unknown-count").count(), 1, "{told}");
}
