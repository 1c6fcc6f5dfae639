//! Small patterns whose rewritten counts were worked by hand.
//!
//! The conversions G3 and G8 are in print: 58 stitches from 19 to 14 per 4 in
//! (knittinghelp.com, forum 64163), 190 stitches at 19 and at 17.5 per 4 in
//! (notmartha.org, 2007/06/28). The bands are the arithmetic of two gauges.

use crate::patterns::{rewritten, targets};
use walewright::diag::Code;
use walewright::measure::{Unit, exact};
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

#[test]
fn a_count_too_small_is_as_far_off_as_one_too_large() {
    // 812/19 stitches are aimed at, a stitch either way is tolerated, and 42 are chosen.
    let strip = Source::new("strip.wale", plain("58", "flat", "k2 p2 rib"));
    let to = targets("gauges:\n  body: { stitches: 14, rows: 24, over: 4 in }\n");
    let plan = rewritten(&strip, &to).unwrap_or_else(|e| panic!("{e}")).plan;
    let [count] = &plan.sizes[0].derivations[..] else { panic!("one count") };
    assert_eq!((count.error(), count.share()), (exact(-14, 19), exact(14, 19)));
}

#[test]
fn another_needle_or_doubt_alone_is_written_too() {
    let strip = |gauge: &str| {
        format!(
            "---\ntitle: Strip\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm{gauge} }}\n---\n\n\
             ## Strip, flat\n\n- cast on 40 in body\n- garter for 10 cm\n- bind off all\n"
        )
    };
    let to = |gauge: &str| {
        targets(&format!("gauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm{gauge} }}\n"))
    };
    for (gauge, new) in [
        (", needle: 4 mm", ", needle: 5 mm"),
        (", needle: 4 mm", ", needle: 4 mm, doubt: 0.5"),
        (", needle: 4 mm, doubt: 0.5", ", needle: 5 mm, doubt: 0.5"),
    ] {
        let source = Source::new("strip.wale", strip(gauge));
        let to = to(new);
        let revised = rewritten(&source, &to).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(revised.source.text, strip(new));
    }
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
       = help: without "the author asks for a multiple of 12 plus 2" there are counts, the farthest 2 stitches too many from its target (1.1 cm, 0.42 in)
       = help: without "k2 p2 rib wants a multiple of 4" there are counts, the farthest 4 stitches too many from its target (2.1 cm, 0.84 in)
    "#);
}

#[test]
fn rows_that_never_fit_one_count_are_named_with_what_each_costs() {
    let rows = "- row 1: k3, *yo, k4, k2tog, k6; rep from *\n- row 2: *p4, k2; rep from * to end\n";
    let clash = format!(
        "---\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\n---\n\n## Panel, flat\n\n- cast on ? in body [60 cm]\n{rows}- bind off all\n"
    );
    let source = Source::new("clash.wale", clash);
    let findings = rewritten(&source, &targets("title: Clash\n")).expect_err("12 x n + 3 is odd");
    // 60 cm are 120 stitches: 120 for the second row, 123 for the first.
    insta::assert_snapshot!(findings, @r#"
    error[clash]: no counts meet all of this: a repeat of 12 stitches fills its part of the row and a repeat of 6 stitches fills its part of the row
      --> clash.wale:9:14
       |
     9 | - row 1: k3, *yo, k4, k2tog, k6; rep from *
       |              ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ asked here
    10 | - row 2: *p4, k2; rep from * to end
       |          -------------------------- and here
       |
       = help: without "a repeat of 12 stitches fills its part of the row" there are counts, each on its target
       = help: without "a repeat of 6 stitches fills its part of the row" there are counts, the farthest 3 stitches too many from its target (1.5 cm)
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

/// Another body gauge, in stitches and rows to 10 cm.
fn body(stitches: &str, rows: &str) -> String {
    format!("gauges:\n  body: {{ stitches: {stitches}, rows: {rows}, over: 10 cm }}\n")
}

/// A pattern of one piece at 20 stitches and 28 rows to 10 cm.
fn piece(heading: &str, steps: &str) -> String {
    let front = body("20", "28");
    format!("---\ntitle: Piece\n{front}---\n\n## {heading}\n\n{steps}- bind off all\n")
}

#[test]
fn one_rate_stays_one_where_the_length_allows() {
    let sleeve = piece(
        "Sleeve, flat",
        "- cast on 40 in body\n- increase 1 each end every 8th row 10 times\n- stockinette until 45 cm from cast on\n",
    );
    let at = |rows: &str| revised(&sleeve, &body("20", rows), "increase 1 each end");
    // 80 rows at 28 to 10 cm are 72 at 25: 4 x 6 + 6 x 8, since 10 x 8 would be 8 rows too many.
    assert_eq!(at("25"), "every 6th row 4 times, then every 8th row 6 times");
    // 78 at 27.5 and 84 at 29.4: within two rows, and within a twentieth.
    assert_eq!(at("27.5"), "every 8th row 10 times");
    assert_eq!(at("29.4"), "every 8th row 10 times");
    // 86 at 30 are 7 x 8 + 3 x 10.
    assert_eq!(at("30"), "every 8th row 7 times, then every 10th row 3 times");
    // More of them in as many rows: 13 x 6 are two fewer than 80.
    let finer = revised(&sleeve, &body("26", "28"), "increase 1 each end");
    assert_eq!(finer, "every 6th row 13 times");
}

#[test]
fn shaping_gives_up_rows_before_a_length_grows() {
    let front = piece(
        "Front, flat",
        "- cast on 90 in body\n- stockinette for 20 cm, ending with a WS row\n\
         - bind off 4 at the start of the next 2 rows [starts armhole]\n\
         - bind off 3 at the start of the next 2 rows\n- bind off 3 at the start of the next 2 rows\n\
         - bind off 3 at the start of the next 2 rows\n- bind off 3 at the start of the next 2 rows\n\
         - decrease 1 each end every 4th row 4 times\n\
         - work even until armhole measures 10 cm, ending with a WS row\n",
    );
    // 10 cm are 18 rows. 10 of them are bound off in, and 2 + 2 + 4 are left for three decreases.
    let at = |words: &str| revised(&front, &body("14", "18"), words);
    assert_eq!(at("decrease 1 each end"), "every 2nd row 2 times, then every 4th row once");
    assert_eq!(at("work even"), "until armhole measures 10 cm, ending with a WS row");
}

#[test]
fn what_is_worked_in_another_gauge_than_the_main_one_is_the_band() {
    // The body is a strip of 2 cm and the rib ten: it is the body all the same.
    let tube = "---\ntitle: Tube\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n  \
                band: { stitches: 24, rows: 30, over: 10 cm }\n---\n\n## Tube, in the round\n\n\
                - cast on 60 in body\n- join in the round\n- stockinette for 2 cm\n- change to band\n\
                - increase evenly to 64\n- k2 p2 rib for 10 cm\n- bind off all\n";
    let to = "gauges:\n  body: { stitches: 30, rows: 42, over: 10 cm }\n  \
              band: { stitches: 40, rows: 50, over: 10 cm }\n";
    // 30 cm at 30 to 10 cm. The rib has 8/9 of the level count: 8/9 x 40/30 x 90 is 106.7.
    assert_eq!(revised(tube, to, "cast on"), "90 in body");
    // Not swatched, it goes with the body: 24 x 30/20, and 30 x 33/28 to a hundredth.
    let scaled = revised(tube, &body("30", "33"), "band: {");
    assert_eq!(scaled, "stitches: 36, rows: 35.36, over: 10 cm, estimated: true }");
    assert_eq!(revised(tube, to, "increase evenly"), "to 108");
}

#[test]
fn markers_stay_where_counts_are_chosen() {
    let tube = piece(
        "Tube, in the round",
        "- cast on 24 in body\n- k{12}, pm, k{12}\n- *k1, p1; rep from *\n\
         - k to marker, sm, k to end\n- decrease evenly to 20\n",
    );
    assert_eq!(revised(&tube, &body("30", "42"), "- k{"), "18}, pm, k{18}");
    // 26 are 39, and two after whole repeats of two are even.
    let edged = tube.replace("on 24", "on 26").replace("pm, k{12}", "pm, k{14}");
    let edged = edged.replace("rep from *", "rep from * to last 2 sts, k2");
    assert_eq!(revised(&edged, &body("30", "42"), "cast on"), "40 in body");
}

#[test]
fn a_clash_says_that_shaping_goes_one_way() {
    let flap = piece(
        "Flap, flat",
        "- cast on 20 in body [fixed]\n- stockinette for 10 cm, ending with a WS row\n\
         - decrease 1 each end every RS row until ? sts remain [flap] [multiple of 30]\n",
    )
    .replace("title: Piece\n", "title: Piece\nmeasure:\n  flap: 15 cm\n");
    let source = Source::new("flap.wale", flap);
    let told = rewritten(&source, &targets("title: Flap\n")).expect_err("30 are more than 20");
    assert!(
        told.starts_with(
            "error[clash]: no counts meet all of this: the author asks for a multiple of 30 and \
             shaping goes one way only\n"
        ),
        "{told}"
    );
}

#[test]
fn only_pieces_of_a_seam_are_decreased_as_often() {
    let part = |name: &str, edge: &str, fabric: &str| {
        format!(
            "\n## {name}, flat\n\n- cast on {edge} in body\n- {fabric} for 20 cm, ending with a WS row\n\
             - bind off 4 (5) at the start of the next 2 rows\n\
             - decrease 1 each end every RS row 6 (7) times\n- {fabric} for 10 cm\n- bind off all\n"
        )
    };
    let parts = |pouch: &str| {
        let front = body("20", "28");
        format!("---\nsizes: [S, M]\n{front}seams: [[back, front]]\n---\n")
            + &part("Back", "90 (98)", "stockinette")
            + &part("Front", "90 (98)", "stockinette")
            + pouch
    };
    let pouch = part("Pouch", "26 (34)", "k2 p2 rib");
    // 90 and 98 are 99 and 107.8 at 22 to 10 cm, whatever else is knit; the rib of the pouch
    // takes 8 decreases to come out, and that is its own affair.
    for text in [parts(""), parts(&pouch)] {
        assert_eq!(revised(&text, &body("22", "28"), "cast on"), "99 (108) in body");
        assert_eq!(revised(&text, &body("22", "28"), "each end"), "every RS row 7 times");
    }
}

#[test]
fn a_piece_worked_as_for_another_has_its_lengths() {
    let slip = piece(
        "Back, flat",
        "- cast on 90 in body\n- stockinette until 30 cm from cast on, ending with a WS row\n\
         - decrease evenly to 80\n- garter until 40 cm from cast on, ending with a WS row\n",
    ) + "\n## Front, flat\n\n- work as for back\n";
    // The front is 40 cm as the back is: both ends move by the same 5 cm.
    let to = "lengths:\n  front: 45 cm\n";
    assert_eq!(revised(&slip, to, "garter until"), "45 cm from cast on, ending with a WS row");
    assert_eq!(revised(&slip, to, "stockinette until"), "35 cm from cast on, ending with a WS row");
}

#[test]
fn what_differs_between_sizes_is_told_in_one_finding() {
    let neck = "- bind off 3 at the start of the next 2 rows\n".repeat(4);
    let front = piece(
        "Front, flat",
        &format!(
            "- cast on 90 (100) in body\n- stockinette for 20 cm, ending with a WS row\n\
             - bind off 4 at the start of the next 2 rows [starts armhole]\n\
             - work even until armhole measures 15 (17) cm, ending with a WS row\n{neck}\
             - work even until armhole measures 20 cm, ending with a WS row\n"
        ),
    )
    .replace("title: Piece\n", "title: Piece\nsizes: [S, M]\n");
    let source = Source::new("front.wale", front);
    let text = body("10", "12");
    let to = targets(&text);
    let findings = rewritten(&source, &to).unwrap_or_else(|e| panic!("{e}")).findings;
    let moved: Vec<_> = findings.iter().filter(|f| f.code == Code::ShapeMoved).collect();
    // Eight rows are 6 2/3 cm at 12 to 10 cm, and 5 and 3 cm are left for them.
    let [moved] = moved[..] else { panic!("{findings:#?}") };
    assert_eq!(moved.sizes, ["S", "M"]);
    assert_eq!(moved.message, "this ends 2 cm earlier, to leave room for the rows that follow");
    let other = "in size M: this ends 3.5 cm earlier, to leave room for the rows that follow";
    assert!(moved.notes.iter().any(|note| note == other), "{:#?}", moved.notes);
}

#[test]
fn a_cap_goes_by_its_armhole_though_both_slope_over_as_many_rows() {
    let vest = piece(
        "Back, flat",
        "- cast on 80 in body\n- stockinette for 10 cm, ending with a WS row\n\
         - bind off 5 at the start of the next 2 rows [starts armhole]\n\
         - decrease 1 each end every RS row 10 times\n- stockinette until armhole measures 20 cm\n",
    ) + "\n## Sleeve, flat\n\n- cast on 60 in body\n- stockinette for 10 cm, ending with a WS row\n\
         - bind off 5 at the start of the next 2 rows\n- decrease 1 each end every RS row 10 times\n\
         - bind off all\n";
    let source = Source::new("vest.wale", vest);
    for (stitches, rows) in [("12", "15"), ("16", "20"), ("27", "33")] {
        let text = body(stitches, rows);
        let to = targets(&text);
        let revised = rewritten(&source, &to).unwrap_or_else(|e| panic!("{e}"));
        assert!(revised.findings.iter().all(|f| f.code != Code::CapDiffers), "{text}");
        let [cap] = &revised.plan.sizes[0].caps[..] else { panic!("one cap") };
        let off = (cap.set_in.cap - cap.set_in.armhole - cap.wanted).abs();
        assert!(off <= cap.tolerance, "{text}{}", off.readable(Unit::Cm));
    }
}

#[test]
fn a_size_that_binds_off_no_stitches_has_its_cap() {
    let vest = piece(
        "Back, flat",
        "- cast on 80 (88) in body\n- stockinette for 10 cm, ending with a WS row\n\
         - bind off 5 at the start of the next 2 rows [starts armhole]\n\
         - bind off 2 (0) at the start of the next 2 rows\n\
         - decrease 1 each end every RS row 8 times\n- stockinette until armhole measures 20 cm\n",
    ) + "\n## Sleeve, flat\n\n- cast on 60 (64) in body\n- stockinette for 10 cm, ending with a WS row\n\
         - bind off 5 at the start of the next 2 rows\n- bind off 0 (2) at the start of the next 2 rows\n\
         - decrease 1 each end every RS row 10 times\n- bind off all\n";
    let source = Source::new("vest.wale", vest.replace("gauges:", "sizes: [S, L]\ngauges:"));
    let to = targets(&body("20", "28"));
    let plan = rewritten(&source, &to).unwrap_or_else(|e| panic!("{e}")).plan;
    let caps: Vec<usize> = plan.sizes.iter().map(|size| size.caps.len()).collect();
    assert_eq!(caps, [1, 1]);
}

#[test]
fn a_row_repeated_on_its_side_shapes_the_side_it_says() {
    // The front of a right side row loses 6 of its 20, and the back keeps them.
    let front = piece(
        "Front, flat",
        "- cast on 40 in body\n- k{20}, pm, k{20}\n- purl 1 row\n\
         - dec row (RS): ssk, k to marker, sm, k to end\n\
         - repeat the dec row every RS row 5 times\n- p{20}, sm, p{14}\n",
    );
    let at = |words: &str| revised(&front, &body("30", "42"), words);
    assert_eq!(at("cast on"), "60 in body");
    assert_eq!(at("- repeat the dec row"), "every RS row 8 times");
    assert_eq!(at("- p{"), "30}, sm, p{21}");
}

#[test]
fn rows_that_are_repeated_are_rows_of_their_own() {
    // 10 rows at 28 to 10 cm are 12.5 at 35, and come in twos: not 12 of them and those before.
    let strip = piece(
        "Strip, flat",
        "- cast on 40 in body\n- row 1 (RS): *k1, p1; rep from *\n- row 2: knit\n\
         - repeat rows 1-2 for 10 rows\n",
    );
    assert_eq!(revised(&strip, &body("20", "35"), "- repeat"), "rows 1-2 for 12 rows");
}

#[test]
fn few_rows_and_fixed_ones_stay() {
    let strip = piece(
        "Strip, flat",
        "- cast on 26 in body\n- stockinette for 2 rows\n- garter for 20 rows [fixed]\n\
         - seed for 20 rows\n",
    );
    let at = |words: &str| revised(&strip, &body("30", "42"), words);
    assert_eq!(
        [at("stockinette"), at("garter"), at("seed")],
        ["for 2 rows", "for 20 rows [fixed]", "for 30 rows"]
    );
}

/// So many rows of back and forth end on the side they ended on, at any gauge, and are some rows.
#[test]
fn rows_come_to_their_side_at_any_gauge() {
    for old in 3_i64..13 {
        let strip =
            piece("Strip, flat", &format!("- cast on 26 in body\n- garter for {old} rows\n"));
        for gauge in [4_i64, 7, 14, 20, 28, 33, 56, 90] {
            let rows = revised(&strip, &body("20", &gauge.to_string()), "- garter");
            let rows = rows.trim_end_matches("s").strip_prefix("for ");
            let rows = rows.and_then(|r| r.strip_suffix(" row"));
            let rows: i64 = rows.and_then(|r| r.parse().ok()).expect("rows");
            let text = format!("{old} rows at 28 to 10 cm, {rows} at {gauge}");
            assert!(rows > 0 && (rows - old) % 2 == 0, "{text}");
            let least = if old % 2 == 0 { 2 } else { 1 };
            assert!((rows * 28 - old * gauge).abs() <= 28 || rows == least, "{text}");
        }
    }
}

/// Twice as many shapings in as many rows: in the round each may be on the next one, and back
/// and forth a wrong-side row lies between two.
#[test]
fn shapings_take_the_rows_that_they_must() {
    let top = |setting: &str, row: &str| {
        let join = if setting == "flat" { "" } else { "- join in the round\n" };
        piece(
            &format!("Top, {setting}"),
            &format!(
                "- cast on 60 in body\n{join}- decrease 1 each end every 2nd {row} 10 times (40 sts)\n"
            ),
        )
    };
    let finer = body("40", "28");
    let at = |setting, row| revised(&top(setting, row), &finer, "- decrease 1 each end");
    assert_eq!(at("in the round", "round"), "every round 20 times (80 sts)");
    assert_eq!(at("flat", "row"), "every 2nd row 20 times (80 sts)");
}

/// Without a gauge nothing says what a count measures: it stays.
#[test]
fn a_count_without_a_gauge_stays() {
    let text = "---\ntitle: Cord\nmeasure:\n  hand: 20 cm\n---\n\n\
                ## Cord, flat\n\n- cast on 8\n- garter for 20 rows\n- increase 4 evenly across (12 sts)\n- bind off all\n";
    let source = Source::new("cord.wale", text);
    let to = targets("measure:\n  hand: 25 cm\n");
    let revised = rewritten(&source, &to).unwrap_or_else(|e| panic!("{e}")).source.text;
    assert_eq!(revised, text.replace("20 cm", "25 cm"));
}

/// Each count that is chosen is told at the number that says it, not at the words around it.
#[test]
fn a_chosen_count_is_told_at_its_number() {
    let heel = piece(
        "Heel, flat",
        "- cast on 32 in body\n- stockinette for 20 rows\n- turn the heel to 18\n\
         - pick up 10 along the flap\n- decrease 1 each end every RS row until 20 sts remain\n\
         - increase evenly to 30\n",
    );
    let source = Source::new("heel.wale", heel);
    let to = targets(&body("30", "42"));
    let plan = rewritten(&source, &to).unwrap_or_else(|e| panic!("{e}")).plan;
    let told: Vec<&str> = plan.sizes[0].derivations.iter().map(|d| source.slice(d.place)).collect();
    assert_eq!(told, ["32", "18", "10", "20", "30"]);
}

/// 60 stitches become 40 in ten decrease rows. Every 4th row they take 40 rows, and of 8 cm, 22
/// rows, 6 are plain: they come on every 2nd row, never nearer, and the length grows by the rest.
#[test]
fn a_draft_too_short_for_its_shaping_keeps_it_on_one_side() {
    let draft = "---\ntitle: Top\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n\
                 measure:\n  wide: 30 cm\n  narrow: 20 cm\n---\n\n## Top, flat\n\n\
                 - cast on ? in body [wide]\n- stockinette for 6 rows\n\
                 - decrease 1 each end every 4th row until ? sts remain [narrow]\n\
                 - stockinette until 8 cm from cast on\n- bind off all\n";
    let at = |words: &str| revised(draft, "measure:\n  wide: 30 cm\n", words);
    assert_eq!(at("- cast on"), "60 in body [wide]");
    assert_eq!(at("- decrease 1 each end"), "every 2nd row until 40 sts remain [narrow]");
    // 26 rows are 9.3 cm.
    assert_eq!(at("- stockinette until"), "9.5 cm from cast on");
}
