//! Whole comparisons, as a reader sees them, and what holds for all of them.

use super::text::{Look, text};
use super::{
    Cell, Change, Changes, Entry, Key, Measured, Number, Passage, Section, SectionStatus, Side,
    SizeChange, compare, json, markdown,
};
use crate::measure::{Length, exact};
use crate::source::Source;
use crate::{model, syntax, work};
use insta::assert_snapshot;
use proptest::prelude::*;

/// Compares two patterns, worked as far as they can be.
#[track_caller]
pub(super) fn compared(old: &str, new: &str) -> Changes {
    let (old, new) = (Source::new("old.wale", old), Source::new("new.wale", new));
    let read = |source: &Source| {
        let parsed = syntax::parse(source);
        assert!(parsed.findings.iter().all(|f| !f.is_error()), "{:#?}", parsed.findings);
        parsed.document.expect("it can be read")
    };
    let (old_tree, new_tree) = (read(&old), read(&new));
    let (old_built, new_built) = (model::build(&old_tree), model::build(&new_tree));
    let (a, b) = (work::check(&old_built.model), work::check(&new_built.model));
    compare(
        &Side { source: &old, model: &old_built.model, traces: &a.traces, finished: None },
        &Side { source: &new, model: &new_built.model, traces: &b.traces, finished: None },
    )
}

fn plain(changes: &Changes) -> String {
    text(changes, Look::default())
}

const CAP: &str = include_str!("../../samples/slipway-cap.wale");
const PULLOVER: &str = include_str!("../../samples/boathouse-pullover.wale");
const SCARF: &str = include_str!("../../samples/tideline-scarf.wale");

/// The text after the summary.
#[track_caller]
fn sections(old: &str, new: &str) -> String {
    let text = plain(&compared(old, new));
    let start = text.find("\n## ").expect("something changed");
    text[start + 1..].to_owned()
}

/// A pattern of one piece with these steps.
pub(super) fn cap(steps: &str) -> String {
    format!(
        "---\ntitle: Slipway Cap\nsizes: [small, large]\ngauges:\n  \
         body: {{ stitches: 20, rows: 28, over: 10 cm }}\n---\n\n## Cap, in the round\n\n{steps}\n"
    )
}

#[test]
fn every_kind_of_change_has_its_word() {
    let old = cap("- cast on 88 (96)\n- join in the round\n- k2 p2 rib for 5 cm\n- stockinette \
                   for 30 (34) rows\n- note: try it on\n- decrease in 8 wedges every 2nd round to \
                   8\n- break yarn and draw through");
    let new = cap("- note: try it on\n- cast on 80 (96)\n- join in the round\n- k1 p1 rib for 6 \
                   cm\n- stockinette for 30 (34) rows\n- purl 1 round\n- decrease in 8 wedges \
                   every 2nd round to 8");
    let new = new.replace("- purl 1 round", "- garter for 2 rows");
    assert_snapshot!(plain(&compared(&old, &new)), @"
    Slipway Cap
    old: old.wale
    new: new.wale

    5 of 8 instructions change: 1 in numbers, 1 in words, 1 moved, 1 added, 1
    removed.
    1 of 1 finished measurement changes, at most by +1.8 cm (Cap: length, size
    large).
    A difference is new less old, for small (large).

    ## Finished measurements
    Cap: length
      was   22.9 (25) cm
      now   23.9 (26.8) cm
            +1.1 (+1.8) cm

    ## Cap, in the round
    moved    now  - note: try it on
                    moved: from line 14 of the old to line 10
    numbers  was  - cast on 88 (96)
             now  - cast on 80 (96)
                    -8 (0) stitches, width -4 (0) cm
             ... 1 instruction unchanged
    words    was  - k2 p2 rib for 5 cm
             now  - k1 p1 rib for 6 cm
                    +1 cm
             ... 1 instruction unchanged
    added    now  - garter for 2 rows
             ... 1 instruction unchanged
    removed  was  - break yarn and draw through
    ");
}

#[test]
fn a_step_that_went_to_another_piece_has_moved() {
    let two = |front: &str, back: &str| {
        format!(
            "---\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\n---\n\n## Front, flat\n\n\
             - cast on 40\n{front}- bind off all\n\n## Back, flat\n\n- cast on 42\n{back}- bind off all\n"
        )
    };
    let step = "- stockinette for 24 rows\n";
    assert_snapshot!(sections(&two(step, ""), &two("", step)), @"
    ## Finished measurements
    Front: length
      was   8.9 cm
      now   0.4 cm
            -8.6 cm
    Back: length
      was   0.4 cm
      now   8.9 cm
            +8.6 cm

    ## Back, flat
             ... 1 instruction unchanged
    moved    now  - stockinette for 24 rows
                    moved: from line 9 of the old to line 14
             ... 1 instruction unchanged
    ");
    let changes = compared(&two(step, ""), &two("", step)).summary.instructions;
    assert_eq!((changes.moved, changes.added, changes.removed), (1, 0, 0));
    // Said twice, nobody can tell which of them went where.
    let changes = compared(&two(&step.repeat(2), ""), &two("", step)).summary.instructions;
    assert_eq!((changes.moved, changes.added, changes.removed), (0, 1, 2));
}

#[test]
fn a_step_that_moved_and_was_reworded_is_no_step_taken_out_and_another_put_in() {
    let old = cap("- cast on 88\n- join in the round; mind the stitches are not twisted at all\n\
                   - k2 p2 rib for 5 cm\n- stockinette for 30 rows\n- bind off all");
    let new = cap("- cast on 88\n- k2 p2 rib for 5 cm\n- stockinette for 30 rows\n\
                   - join in the round; mind that stitches are not twisted at all\n- bind off all");
    assert_snapshot!(sections(&old, &new), @"
    ## Finished measurements
    Cap: length
      stays 16.1 cm

    ## Cap, in the round
             ... 3 instructions unchanged
    words    was  - join in the round; mind the stitches are not twisted at all
             now  - join in the round; mind that stitches are not twisted at all
                    moved: from line 11 of the old to line 13
             ... 1 instruction unchanged
    ");
}

#[test]
fn the_same_file_is_said_to_be_the_same_in_one_line() {
    assert_snapshot!(plain(&compared(CAP, CAP)), @"old.wale and new.wale are the same, to the byte.");
    let json = json::json(&compared(CAP, CAP));
    assert_eq!((&json["identical"], &json["differ"]), (&true.into(), &false.into()));
    assert_snapshot!(markdown::markdown(&compared(CAP, CAP), false), @"
    # Slipway Cap: changes

    old.wale and new.wale are the same, to the byte.
    ");
}

#[test]
fn blanks_and_line_ends_are_no_change() {
    let steps = "- cast on 88 (96);\n  loosely\n- row 1: *k2, p2; rep from *";
    let old = cap(steps);
    let new = cap(&steps.replace("88 (96)", "88  (96)").replace("k2, p2", "k2,  p2"));
    let new = new.replace(";\n  loosely", "; loosely").replace("gauges:", "# swatched\ngauges:");
    let changes = compared(&old, &new);
    assert!(!changes.identical && !changes.differ());
    assert_snapshot!(plain(&changes), @"old.wale and new.wale differ in layout only: in nothing that a knitter reads.");
}

#[test]
fn sizes_are_compared_by_name_and_those_of_one_side_are_said() {
    let old = cap("- cast on 88 (96)\n- k2 p2 rib for 5 cm");
    let new = cap("- cast on 84 (88, 92)\n- k2 p2 rib for 6 cm");
    let new = new.replace("[small, large]", "[medium, small, huge]");
    assert_snapshot!(plain(&compared(&old, &new)), @"
    Slipway Cap
    old: old.wale
    new: new.wale

    1 of 2 instructions changes: 1 in numbers.
    1 value of the front matter changes.
    1 of 1 finished measurement changes, at most by +1.1 cm (Cap: length, size
    small).
    Both patterns have the size small.
    Only the old pattern has the size large.
    Only the new pattern has the sizes medium and huge.
    A difference is new less old.

    ## Finished measurements
    Cap: length
      was   5 cm
      now   6.1 cm
            small +1.1 cm

    ## Front matter
    sizes
      was   small, large
      now   medium, small, huge

    ## Cap, in the round
             ... 1 instruction unchanged
    numbers  was  - k2 p2 rib for 5 cm
             now  - k2 p2 rib for 6 cm
                    small +1 cm
    ");
}

#[test]
fn a_measurement_of_other_sizes_does_not_stay() {
    let old =
        cap("- cast on 88 (96) [head]").replace("gauges:", "measure:\n  head: 44 (48) cm\ngauges:");
    let new = old.replace("[small, large]", "[large, huge]");
    assert_snapshot!(sections(&old, &new).split("\n\n").next().unwrap_or(""), @"
    ## Finished measurements
    Cap: head
      was   44 (48) cm
      now   44 (48) cm
            large -4 cm
    ");
}

#[test]
fn a_count_that_only_follows_other_sizes_is_no_change() {
    let old = cap("- cast on 88 (96, 104)").replace("[small, large]", "[small, medium, large]");
    let new = cap("- cast on 88 (104)");
    let changes = compared(&old, &new);
    assert_eq!(changes.summary.instructions.changed(), 0);
    assert_eq!(changes.sizes.only_old().collect::<Vec<_>>(), ["medium"]);
}

#[test]
fn without_a_size_in_common_what_is_the_same_in_all_is_compared() {
    let old = cap("- cast on 88 (96)\n- k2 p2 rib for 5 cm").replace("[small, large]", "[S, L]");
    let new = cap("- cast on 84 (92)\n- k2 p2 rib for 6 cm");
    assert_snapshot!(plain(&compared(&old, &new)), @"
    Slipway Cap
    old: old.wale
    new: new.wale

    2 of 2 instructions change: 2 in numbers.
    1 value of the front matter changes.
    The two have no size in common.
    Only the old pattern has the sizes S and L.
    Only the new pattern has the sizes small and large.
    A difference is new less old.

    ## Finished measurements
    Cap: length
      was   5 cm
      now   6.1 cm

    ## Front matter
    sizes
      was   S, L
      now   small, large

    ## Cap, in the round
    numbers  was  - cast on 88 (96)
             now  - cast on 84 (92)
    numbers  was  - k2 p2 rib for 5 cm
             now  - k2 p2 rib for 6 cm
                    +1 cm
    ");
}

#[test]
fn a_width_is_reckoned_at_the_gauge_in_work() {
    let gauges = "  body: { stitches: 20, rows: 28, over: 10 cm }\n  \
                  brim: { stitches: 24, rows: 30, over: 10 cm }\n";
    let body = "  body: { stitches: 20, rows: 28, over: 10 cm }\n";
    let steps = "- cast on 96 in brim\n- k2 p2 rib for 15 rows\n- change to body\n- stockinette \
                 for 14 rows";
    let old = cap(steps).replace(body, gauges);
    let new = old.replace("96", "108").replace("15 rows", "18 rows").replace("14", "28");
    let new = new.replace("stitches: 24", "stitches: 27");
    assert_snapshot!(sections(&old, &new), @"
    ## Finished measurements
    Cap: length
      was   10 cm
      now   16 cm
            +6 cm

    ## Front matter
    gauges, brim, stitches
      was   24 over 10 cm
      now   27 over 10 cm
            +3 stitches in 10 cm

    ## Cap, in the round
    numbers  was  - cast on 96 in brim
             now  - cast on 108 in brim
                    +12 stitches, width 0 cm
    numbers  was  - k2 p2 rib for 15 rows
             now  - k2 p2 rib for 18 rows
                    +3 rows, length +1 cm
             ... 1 instruction unchanged
    numbers  was  - stockinette for 14 rows
             now  - stockinette for 28 rows
                    +14 rows, length +5 cm
    ");
}

#[test]
fn of_two_steps_with_the_same_words_the_one_with_the_same_numbers_stays() {
    let old = cap("- cast on 88 (96)\n- k2 p2 rib for 4 cm\n- bind off all");
    let new = cap("- cast on 88 (96)\n- k2 p2 rib for 6 cm\n- k2 p2 rib for 4 cm\n- bind off all");
    assert_snapshot!(sections(&old, &new), @"
    ## Finished measurements
    Cap: length
      was   4.3 cm
      now   10.4 cm
            +6.1 cm

    ## Cap, in the round
             ... 1 instruction unchanged
    added    now  - k2 p2 rib for 6 cm
             ... 2 instructions unchanged
    ");
}

#[test]
fn numbers_change_where_the_same_numbers_stand_elsewhere_too() {
    let old = cap(
        "- cast on 88\n- stockinette for 6 rows\n- garter for 2 rows\n- stockinette for 4 rows",
    );
    let new = cap(
        "- cast on 88\n- stockinette for 4 rows\n- garter for 4 rows\n- stockinette for 2 rows",
    );
    let changes = compared(&old, &new);
    assert_eq!((changes.summary.instructions.numbers, changes.summary.instructions.same), (3, 1));
}

#[test]
fn the_numbers_of_a_row_and_of_its_label_are_told_apart() {
    let old = cap("- cast on 92\n- row 1: k{24}, bind off {44}, k{24}\n- row 2: knit\n\
                   - row 3: *k2, p2; rep from * to last 4 sts, k4\n- repeat rows 1-3 twice");
    let new = cap("- cast on 92\n- row 1: k{25}, bind off {42}, k{25}\n- row 2: knit\n\
                   - row 5: *k2, p2; rep from * to last 4 sts, k4\n- repeat rows 1-5 3 times");
    assert_snapshot!(sections(&old, &new), @"
    ## Finished measurements
    Cap: length
      was   1.1 cm
      now   0.7 cm
            -0.4 cm

    ## Cap, in the round
             ... 1 instruction unchanged
    numbers  was  - row 1: k{24}, bind off {44}, k{24}
             now  - row 1: k{25}, bind off {42}, k{25}
                    25: +1 stitch, width +0.5 cm
                    42: -2 stitches, width -1 cm
             ... 1 instruction unchanged
    numbers  was  - row 3: *k2, p2; rep from * to last 4 sts, k4
             now  - row 5: *k2, p2; rep from * to last 4 sts, k4
    words    was  - repeat rows 1-3 twice
             now  - repeat rows 1-5 3 times
                    3: +1 time
    ");
}

#[test]
fn the_form_of_a_number_is_wording() {
    let old = cap("- cast on 88 (88)");
    let new = cap("- cast on 88");
    assert_snapshot!(sections(&old, &new), @"
    ## Cap, in the round
    words    was  - cast on 88 (88)
             now  - cast on 88
    ");
}

#[test]
fn a_number_to_be_worked_out_and_a_skipped_one_have_no_difference() {
    let old = cap("- cast on ?\n- stockinette for 4 (6) rows");
    let new = cap("- cast on 88 (96)\n- stockinette for 4 (-) rows");
    assert_snapshot!(sections(&old, &new), @"
    ## Finished measurements
    Cap: length
      was   not known
      now   1.4 (0) cm

    ## Cap, in the round
    numbers  was  - cast on ?
             now  - cast on 88 (96)
    numbers  was  - stockinette for 4 (6) rows
             now  - stockinette for 4 (-) rows
    ");
}

#[test]
fn a_length_in_two_units_is_one_number() {
    let old = cap("- cast on 88\n- stockinette for 10 cm / 4 in\n- garter for 5 cm / 2 in");
    let new = cap("- cast on 88\n- stockinette for 15 cm / 6 in\n- garter for 2 in");
    assert_snapshot!(sections(&old, &new), @"
    ## Finished measurements
    Cap: length
      was   15 cm
      now   20 cm
            +5 cm

    ## Cap, in the round
             ... 1 instruction unchanged
    numbers  was  - stockinette for 10 cm / 4 in
             now  - stockinette for 15 cm / 6 in
                    +5 cm
    words    was  - garter for 5 cm / 2 in
             now  - garter for 2 in
                    2 in: +0.1 cm
    ");
}

#[test]
fn pieces_are_renamed_added_removed_and_moved() {
    let piece = |name: &str, steps: &str| format!("## {name}\n\n{steps}\n\n");
    let hat = "- cast on 88\n- join in the round\n- stockinette for 10 cm\n- bind off all";
    let strap = "- cast on 8\n- garter for 30 cm\n- bind off all";
    let lining = "- cast on 80\n- stockinette for 9 cm\n- graft";
    let old = cap("- cast on 4")
        + &piece("Hat, in the round", hat)
        + &piece("Strap, flat", strap)
        + &piece("Lining, flat", lining);
    let new = cap("- cast on 4")
        + &piece("Strap, flat, make 2", strap)
        + &piece("Bonnet, in the round", &hat.replace("88", "84"))
        + &piece("Tassel, flat", "- note: wind the yarn round a card");
    assert_snapshot!(sections(&old, &new), @"
    ## Finished measurements
    Strap: length
      stays 30.4 cm
    Bonnet: length
      stays 10.4 cm
    Lining: length
      was   8.9 cm
      now   not there

    ## Strap, flat, make 2 (was: Strap, flat) (moved)
             ... 3 instructions unchanged

    ## Bonnet, in the round (was: Hat, in the round)
    numbers  was  - cast on 88
             now  - cast on 84
                    -4 stitches, width -2 cm
             ... 3 instructions unchanged

    ## Lining, flat (removed)
    removed  was  - cast on 80
    removed  was  - stockinette for 9 cm
    removed  was  - graft

    ## Tassel, flat (added)
    added    now  - note: wind the yarn round a card
    ");
    let changes = compared(&old, &new);
    let status = |s: &Section| (s.status, s.moved);
    let seen: Vec<_> = changes.sections.iter().skip(2).map(status).collect();
    assert_eq!(
        seen,
        [
            (SectionStatus::Kept, seen[0].1),
            (SectionStatus::Renamed, !seen[0].1),
            (SectionStatus::Removed, false),
            (SectionStatus::Added, false),
        ]
    );
}

#[test]
fn prose_is_compared_word_by_word_and_its_live_numbers_as_numbers() {
    let old = cap("- cast on 88 (96)")
        + "\nPut a marker after the {44 (48)} stitches of the front, and \
        another at the end of the round, where the tail of the cast-on hangs; then work \
        round and round without turning until the whole of the body is done.\n\n- Wash it.\n- Dry it flat.\n";
    let new = cap("- cast on 84 (96)")
        + "\nPut a marker after the {42 (48)} stitches of the front, and \
        another at the end of the round, where the tail of the cast-on hangs; then work \
        round and round without stopping until the whole of the body is done.\n\n- Dry it flat.\n- Sew the tag on.\n";
    let old = old.replace("\n\n- Wash", "\n\n## Finishing\n\n- Wash");
    let new = new.replace("\n\n- Dry", "\n\n## Finishing\n\n- Dry");
    assert_snapshot!(sections(&old, &new), @"
    ## Cap, in the round
    numbers  was  - cast on 88 (96)
             now  - cast on 84 (96)
                    -4 (0) stitches, width -2 (0) cm
    words    was  Put a marker after the {44 (48)} stitches of the front, ... work
                  round and round without turning until the whole of ...
             now  Put a marker after the {42 (48)} stitches of the front, ... work
                  round and round without stopping until the whole of ...
                  -2 (0) stitches

    ## Finishing
    removed  was  - Wash it.
             ... 1 paragraph unchanged
    added    now  - Sew the tag on.
    ");
}

#[test]
fn front_matter_is_compared_key_by_key() {
    let front = |text: &str| format!("---\n{text}---\n\n## Cap, in the round\n\n- cast on 88\n");
    let old = front(
        "title: Slipway Cap\nsizes: [small, large]\nunits: cm\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm, \
         needle: 4 mm, fabric: stockinette }\nmeasure:\n  head: 52 (60) cm\nease:\n  head: -10%\nyarn:\n  \
         weight: 4\n  put-up: 200 m / 100 g\n  used: 120 (140) m\nopenings:\n  brim: head\nnotes:\n  - Swatch in the \
         round.\n  - Wash the swatch.\n",
    );
    let new = front(
        "title: Slipway Cap, deep\nsizes: [small, large]\nunits: cm\ngauges:\n  body: { stitches: 11, rows: 14, over: 5 cm, \
         needle: 4.5 mm, fabric: garter, estimated: true }\nmeasure:\n  head: 54 (60) cm\nease:\n  head: -4 cm\nyarn:\n  \
         weight: 4\n  put-up: 200 m/100 g\n  used: 180 (200) m\nabbreviations:\n  bob: { takes: 1, makes: 1, means: a bobble }\nnotes:\n  - \
         Wash the swatch.\n  - Swatch in the round and measure it.\n",
    );
    assert_snapshot!(plain(&compared(&old, &new)), @"
    Slipway Cap, deep
    old: old.wale
    new: new.wale

    No instruction changes.
    13 values of the front matter change.
    Stitches in 10 cm: body 20 to 22.
    Yarn used: +60 m.
    A difference is new less old, for small (large).

    ## Front matter
    title
      was   Slipway Cap
      now   Slipway Cap, deep
    gauges, body, stitches
      was   20 over 10 cm
      now   11 over 5 cm
            +2 stitches in 10 cm
    gauges, body, rows
      was   28 over 10 cm
      now   14 over 5 cm
    gauges, body, needle
      was   4 mm
      now   4.5 mm
    gauges, body, fabric
      was   stockinette
      now   garter
    gauges, body, estimated (added)
      now   true
    measure, head
      was   52 (60) cm
      now   54 (60) cm
            +2 (0) cm
    ease, head
      was   -10%
      now   -4 cm
    yarn, used
      was   120 (140) m
      now   180 (200) m
            +60 m
    openings, brim (removed)
      was   head
    abbreviations, bob (added)
      now   takes 1, makes 1: a bobble
    notes (removed)
      was   Swatch in the round.
    notes (added)
      now   Swatch in the round and measure it.
    ");
}

#[test]
fn what_a_pattern_holds_is_no_markup_and_steers_no_terminal() {
    let nasty = "note: <b>|x|</b> \u{1b}[31m `code` [link](http://a.example) &amp; \u{202e}gnorw";
    let old = cap("- cast on 88");
    let new = cap(&format!("- cast on 88\n- {nasty}"));
    assert_snapshot!(sections(&old, &new), @"
    ## Cap, in the round
             ... 1 instruction unchanged
    added    now  - note: <b>|x|</b> ␛[31m `code` [link](http://a.example) &amp;
                    �gnorw
    ");
    let page = markdown::markdown(&compared(&old, &new), false);
    assert_snapshot!(page.lines().find(|line| line.contains("note")).unwrap_or(""), @r#"| added |  | note: &lt;b&gt;\|x\|&lt;/b&gt; ␛\[31m \`code\` \[link\](http://a.example) &amp;amp; �gnorw |  |"#);
}

#[test]
fn color_marks_what_differs_and_is_only_put_in_when_asked_for() {
    let old = cap("- cast on 88 (96) in body; loosely");
    let new = cap("- cast on 84 (92) in body; loosely");
    let changes = compared(&old, &new);
    assert!(!plain(&changes).contains('\u{1b}'));
    let colored = text(&changes, Look { color: true, ..Look::default() });
    let lines: String =
        colored.replace('\u{1b}', "^").lines().skip(9).map(|l| l.to_owned() + "\n").collect();
    assert_snapshot!(lines, @"
    now  - cast on ^[32m84 (92)^[0m in body; loosely
           ^[36m-4 stitches, width -2 cm^[0m
    ");
    let bare: String = colored
        .split('\u{1b}')
        .enumerate()
        .map(
            |(i, part)| {
                if i == 0 { part } else { part.split_once('m').map_or("", |(_, rest)| rest) }
            },
        )
        .collect();
    assert_eq!(bare, plain(&changes));
}

#[test]
fn json_has_the_numbers_as_numbers() {
    let old = cap("- cast on 88 (96)");
    let new = cap("- cast on 84 (96)");
    let json = json::json(&compared(&old, &new));
    let entry = &json["sections"][1]["entries"][0];
    assert_snapshot!(serde_json::to_string_pretty(entry).expect("it is JSON"), @r#"
    {
      "kind": "instruction",
      "change": "numbers",
      "moved": false,
      "old": {
        "line": 10,
        "bytes": [
          130,
          145
        ],
        "depth": 0,
        "text": "cast on 88 (96)",
        "segments": [
          {
            "text": "cast on ",
            "changed": false
          },
          {
            "text": "88 (96)",
            "changed": true
          }
        ]
      },
      "new": {
        "line": 10,
        "bytes": [
          130,
          145
        ],
        "depth": 0,
        "text": "cast on 84 (96)",
        "segments": [
          {
            "text": "cast on ",
            "changed": false
          },
          {
            "text": "84 (96)",
            "changed": true
          }
        ]
      },
      "numbers": [
        {
          "of": "stitches",
          "old": "88 (96)",
          "new": "84 (96)",
          "changed": true,
          "sizes": [
            {
              "size": "small",
              "old": {
                "count": 88,
                "cm": 44
              },
              "new": {
                "count": 84,
                "cm": 42
              },
              "difference": -4,
              "difference_cm": -2
            },
            {
              "size": "large",
              "old": {
                "count": 96,
                "cm": 48
              },
              "new": {
                "count": 96,
                "cm": 48
              },
              "difference": 0,
              "difference_cm": 0
            }
          ]
        }
      ],
      "leaves": [
        {
          "size": "small",
          "old": {
            "count": 88,
            "cm": 44
          },
          "new": {
            "count": 84,
            "cm": 42
          },
          "difference": -4,
          "difference_cm": -2
        },
        {
          "size": "large",
          "old": {
            "count": 96,
            "cm": 48
          },
          "new": {
            "count": 96,
            "cm": 48
          },
          "difference": 0,
          "difference_cm": 0
        }
      ]
    }
    "#);
    assert_snapshot!(json["summary"], @r#"{"sentences":["1 of 1 instruction changes: 1 in numbers."],"instructions":{"all":1,"changed":1,"same":0,"numbers":1,"words":0,"moved":0,"added":0,"removed":0},"prose":0,"front":0}"#);
}

#[test]
fn measurements_that_were_worked_out_go_before_the_marked_ones() {
    let text = cap("- cast on 88 (96)");
    let source = Source::new("cap.wale", text);
    let tree = syntax::parse(&source).document.expect("it can be read");
    let built = model::build(&tree);
    let finished = |cm: i64| {
        [super::Finished { what: "head".to_owned(), lengths: vec![Some(Length::cm(cm)), None] }]
    };
    let (before, after) = (finished(44), finished(46));
    let side = |finished| Side { source: &source, model: &built.model, traces: &[], finished };
    let changes = compare(&side(Some(before.as_slice())), &side(Some(after.as_slice())));
    assert_eq!(changes.finished.len(), 1);
    assert_eq!(changes.finished[0].what, "head");
    assert_eq!(changes.finished[0].sizes[0].length_difference(), Some(Length::cm(2)));
    assert_eq!(changes.finished[0].sizes[1].length_difference(), None);
}

#[test]
fn what_a_step_leaves_is_known_where_the_rows_were_worked() {
    let steps = "- cast on 88 (96)\n- decrease evenly by 8\n- bind off all";
    let changes = compared(&cap(steps), &cap(&steps.replace("88", "90")));
    let entries = &changes.sections[1].entries;
    assert_eq!(entries[1].change, Change::Same);
    let left: Vec<_> = entries[1].leaves.iter().map(SizeChange::difference).collect();
    assert_eq!(left, [Some(exact(2, 1)), Some(exact(0, 1))]);
    assert!(entries[2].leaves.is_empty(), "nothing is left on either side");
}

#[test]
fn long_patterns_are_compared_in_a_moment() {
    let steps = |shift: usize| -> String {
        (0..3000).map(|i| format!("- stockinette for {} rows\n", (i + shift) % 97 + 1)).collect()
    };
    let (old, new) = (Source::new("a", cap(&steps(0))), Source::new("b", cap(&steps(5))));
    let (a, b) = (syntax::parse(&old), syntax::parse(&new));
    let (a, b) = (a.document.expect("read"), b.document.expect("read"));
    let (a, b) = (model::build(&a).model, model::build(&b).model);
    let changes = compare(
        &Side { source: &old, model: &a, traces: &[], finished: None },
        &Side { source: &new, model: &b, traces: &[], finished: None },
    );
    assert_eq!(changes.summary.instructions.all(), 3000);
}

// --- what holds for any two patterns ------------------------------------------------------

/// A pattern of any steps and paragraphs.
fn any_pattern() -> impl Strategy<Value = String> {
    let sizes = prop_oneof![
        Just(vec!["S", "M", "L"]),
        Just(vec!["S", "L"]),
        Just(vec!["L", "S"]),
        Just(vec!["one"]),
    ];
    let line = (0..12_usize, prop::collection::vec(1..40_u32, 3), 1..4_u32);
    let front = (10..30_u32, 20..40_u32, 0..3_u32);
    (sizes, prop::collection::vec(line, 0..14), front).prop_map(|(sizes, lines, front)| {
        let list = |numbers: &[u32]| {
            let numbers: Vec<String> =
                numbers.iter().take(sizes.len()).map(u32::to_string).collect();
            match numbers.split_first() {
                Some((first, rest)) if !rest.is_empty() => format!("{first} ({})", rest.join(", ")),
                _ => numbers.join(""),
            }
        };
        let (stitches, rows, kind) = front;
        let mut text = format!(
            "---\ntitle: Cap {kind}\nsizes: [{}]\ngauges:\n  body: {{ stitches: {stitches}, rows: {rows} }}\n  \
             brim: {{ stitches: 24 }}\nmeasure:\n  head: {} cm\n---\n\n## Cap, in the round\n\n",
            sizes.join(", "),
            list(&[stitches, rows, stitches]),
        );
        for (kind, numbers, n) in lines {
            let list = list(&numbers);
            text += &match kind {
                0 => format!("- cast on {list} in brim [head]\n"),
                1 => format!("- stockinette for {list} rows\n"),
                2 => format!("- k{n} p{n} rib for {list} cm\n"),
                3 => format!("- row {n}: *k2, p2; rep from * to last {list} sts, k{{{list}}}\n"),
                4 => "- change to body\n".to_owned(),
                5 => format!("- decrease evenly to {list} [head]; mind the {{{list}}} stitches\n"),
                6 => format!("\nThe edge has {{{list}}} stitches, {n} of them in hand.\n\n"),
                7 => "\nTry it on before you go further, in a good light.\n\n".to_owned(),
                8 => format!("\n## Strap {n}, flat\n\n"),
                9 => format!("\n### Part {n}\n\n"),
                10 => format!("- left part:\n  - garter for {list} rows\n"),
                _ => "\n## Finishing\n\nSew it up.\n\n".to_owned(),
            };
        }
        text
    })
}

/// A comparison in which nothing depends on the order of its parts.
fn unordered(changes: &Changes) -> Vec<String> {
    let mut all: Vec<String> = vec![format!("{:?}", changes.summary)];
    all.extend(changes.front.iter().map(|key| format!("{key:?}")));
    // A measurement has the new name of its piece, whichever that is.
    let what = |m: &Measured| m.what.split(": ").last().unwrap_or("").to_owned();
    all.extend(changes.finished.iter().map(|m| format!("{} {:?}", what(m), m.sizes)));
    for section in &changes.sections {
        // What moved stands in the section that the new pattern has it in, whichever that is.
        let (moved, stayed): (Vec<&Entry>, Vec<&Entry>) =
            section.entries.iter().partition(|e| e.change == Change::Moved);
        all.extend(moved.into_iter().map(|e| format!("{e:?}")));
        let mut entries: Vec<_> = stayed.into_iter().map(|e| format!("{e:?}")).collect();
        entries.sort();
        all.push(format!(
            "{:?} {:?} {} {:?} {entries:?}",
            section.kind, section.status, section.moved, section.heading
        ));
    }
    all.sort();
    all
}

/// The comparison seen from the other side, by its definition.
fn mirrored(changes: &Changes) -> Changes {
    let turn = |change: Change| match change {
        Change::Added => Change::Removed,
        Change::Removed => Change::Added,
        other => other,
    };
    let sizes = |sizes: &[SizeChange]| {
        let mut sizes: Vec<SizeChange> = sizes
            .iter()
            .map(|s| SizeChange { size: s.size.clone(), old: s.new, new: s.old })
            .collect();
        sizes.sort_by(|a, b| a.size.cmp(&b.size));
        sizes
    };
    let number = |n: &Number| Number {
        noun: n.noun,
        old: n.new.clone(),
        new: n.old.clone(),
        sizes: sizes(&n.sizes),
    };
    let numbers = |numbers: &[Number]| {
        let mut numbers: Vec<Number> = numbers.iter().map(number).collect();
        numbers.sort_by_key(|n| format!("{n:?}"));
        numbers
    };
    let mut entry = |e: &Entry| Entry {
        kind: e.kind,
        change: turn(e.change),
        moved: e.moved,
        old: e.new.clone(),
        new: e.old.clone(),
        numbers: numbers(&e.numbers),
        leaves: sizes(&e.leaves),
    };
    let mut summary = changes.summary;
    let tally = &mut summary.instructions;
    std::mem::swap(&mut tally.added, &mut tally.removed);
    Changes {
        old_name: changes.new_name.clone(),
        new_name: changes.old_name.clone(),
        title: None,
        identical: changes.identical,
        unit: changes.unit,
        sizes: changes.sizes.clone(),
        summary,
        finished: changes
            .finished
            .iter()
            .map(|m| Measured { what: m.what.clone(), sizes: sizes(&m.sizes) })
            .collect(),
        front: changes
            .front
            .iter()
            .map(|key| Key {
                path: key.path.clone(),
                change: turn(key.change),
                old: key.new.clone(),
                new: key.old.clone(),
                number: key.number.as_ref().map(number),
            })
            .collect(),
        sections: changes
            .sections
            .iter()
            .map(|s| Section {
                kind: s.kind,
                status: match s.status {
                    SectionStatus::Added => SectionStatus::Removed,
                    SectionStatus::Removed => SectionStatus::Added,
                    other => other,
                },
                moved: s.moved,
                heading: s.heading.as_ref().map(&mut entry),
                entries: s.entries.iter().map(&mut entry).collect(),
            })
            .collect(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn a_pattern_does_not_differ_from_itself(pattern in any_pattern()) {
        let changes = compared(&pattern, &pattern);
        prop_assert!(changes.identical && !changes.differ());
        let tally = changes.summary.instructions;
        prop_assert_eq!((tally.changed(), changes.summary.front), (0, 0));
        let entries = changes.sections.iter().flat_map(|s| s.heading.iter().chain(&s.entries));
        for entry in entries {
            prop_assert!(entry.numbers.is_empty() && entry.leaves.is_empty() && !entry.moved);
            prop_assert_eq!(&entry.old, &entry.new);
        }
        for size in changes.finished.iter().flat_map(|m| &m.sizes) {
            prop_assert_eq!(size.old, size.new);
        }
    }

    #[test]
    fn swapping_the_sides_swaps_the_changes(a in any_pattern(), b in any_pattern()) {
        let (there, back) = (compared(&a, &b), compared(&b, &a));
        // Mirrored twice, for the order of sizes and numbers.
        prop_assert_eq!(unordered(&mirrored(&there)), unordered(&mirrored(&mirrored(&back))));
        let differences = |changes: &Changes, sign: i64| {
            let mut all: Vec<_> = changes
                .sections
                .iter()
                .flat_map(|s| &s.entries)
                .flat_map(|e| &e.numbers)
                .flat_map(|n| &n.sizes)
                .map(|size| {
                    let sign = exact(sign, 1);
                    let length = size.length_difference().map(|length| length * sign);
                    (size.size.clone(), size.difference().map(|n| n * sign), length)
                })
                .collect();
            all.sort();
            all
        };
        prop_assert_eq!(differences(&there, -1), differences(&back, 1));
    }

    #[test]
    fn every_text_of_both_sides_is_in_the_comparison(a in any_pattern(), b in any_pattern()) {
        let changes = compared(&a, &b);
        let entries = || changes.sections.iter().flat_map(|s| s.heading.iter().chain(&s.entries));
        for (text, side) in [(&a, 0), (&b, 1)] {
            let passage = |e: &Entry| if side == 0 { e.old.clone() } else { e.new.clone() };
            let mut passages: Vec<Passage> = entries().filter_map(passage).collect();
            passages.sort_by_key(|passage| passage.span);
            prop_assert!(passages.windows(2).all(|w| w[0].span.end <= w[1].span.start));
            let body = text.rfind("---\n").expect("front matter") + 4;
            let mut rest = text.clone();
            for passage in passages.iter().rev() {
                if !text[passage.span.range()].starts_with('#') {
                    prop_assert_eq!(passage.text(), &text[passage.span.range()]);
                }
                prop_assert_eq!(text[..passage.span.start].matches('\n').count() + 1, passage.line);
                rest.replace_range(passage.span.range(), "");
            }
            prop_assert_eq!(rest[body..].trim_matches(['-', ' ', '\n']), "");
        }
    }

    #[test]
    fn text_fits_its_width(a in any_pattern(), b in any_pattern(), width in 40..100_usize) {
        let shown = text(&compared(&a, &b), Look { color: false, width, unchanged: true });
        for line in shown.lines() {
            prop_assert!(line.chars().count() <= width, "{line}");
            prop_assert_eq!(line, line.trim_end());
        }
    }
}

#[test]
fn samples_fit_eighty_columns() {
    for (a, b) in [(CAP, PULLOVER), (PULLOVER, SCARF), (SCARF, CAP)] {
        let changes = compared(a, b);
        for line in plain(&changes).lines() {
            assert!(line.chars().count() <= 80, "{line}");
        }
        assert!(changes.finished.iter().flat_map(|m| &m.sizes).any(|s| s.old != Cell::Unknown));
    }
}
