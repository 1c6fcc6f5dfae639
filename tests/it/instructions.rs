//! Instructions in the words of ordinary patterns: what each does to the needle.
//!
//! Every pattern here states the counts it comes to, which were worked by
//! hand; a check that counted otherwise would tell. Where something is wrong,
//! the finding and the line it stands on are named.

use crate::patterns::{rewritten, targets};
use walewright::Checked;
use walewright::measure::SizeId;
use walewright::plan::facts::{keeps_its_sides, side_of_heel};
use walewright::source::Source;
use walewright::syntax;
use walewright::syntax::tree::{Action, Side};

const FRONT: &str =
    "---\nsizes: [S, L]\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n---\n\n";

fn work<T>(text: &str, tell: impl FnOnce(&Checked<'_>, &Source) -> T) -> T {
    let source = Source::new("pattern.wale", format!("{FRONT}{text}"));
    let parsed = syntax::parse(&source);
    let document = parsed.document.expect("a pattern");
    tell(&walewright::check(&source, &document, parsed.findings), &source)
}

/// The findings of some steps worked flat: the name of each and the text it points at.
fn flat(steps: &str) -> Vec<String> {
    told(&format!("## Back, flat\n\n{steps}\n"))
}

fn round(steps: &str) -> Vec<String> {
    told(&format!("## Cap, in the round\n\n{steps}\n"))
}

fn told(text: &str) -> Vec<String> {
    work(text, |checked, source| {
        let tell = |f: &walewright::diag::Finding| {
            format!("{}: {}", f.code.name(), source.slice(f.place()))
        };
        checked.findings.iter().map(tell).collect()
    })
}

/// The rows worked in each piece, in the first size.
fn rows(text: &str) -> Vec<u32> {
    work(text, |checked, _| {
        assert!(checked.findings.is_empty(), "{:#?}", checked.findings);
        let mut rows: Vec<u32> = Vec::new();
        for visit in &checked.traces[0].visits {
            rows.resize(rows.len().max(visit.piece + 1), 0);
            rows[visit.piece] = visit.rows_after;
        }
        rows
    })
}

const NOTHING: [&str; 0] = [];

#[test]
fn stitches_are_cast_on_at_the_beginning_of_rows() {
    let steps = "- cast on 20 in body\n- cast on 3 (4) at the beginning of the next 2 rows (26 (28) sts)\n- cast on 10 sts at beg of next row (36 (38) sts)\n- bind off all";
    assert_eq!(flat(steps), NOTHING);
    assert_eq!(
        flat(&steps.replace("26 (28)", "26"))[0],
        "count-differs: 26",
        "size L casts on 8 in all"
    );
}

#[test]
fn a_row_is_repeated_by_its_name() {
    let steps = |again: &str, sts: &str| {
        format!(
            "- cast on 40 in body\n- dec row (RS): k1, ssk, k to last 3 sts, k2tog, k1 (38 sts)\n- {again} ({sts} sts)\n- bind off all"
        )
    };
    assert_eq!(flat(&steps("repeat the decrease row every 4th row 5 more times", "28")), NOTHING);
    assert_eq!(
        flat(&steps("rep dec row every 4th row 2 (3) times, then every RS row twice", "30 (28)")),
        NOTHING
    );
    assert_eq!(flat(&steps("repeat dec row every RS row until 20 sts remain", "20")), NOTHING);
    // After one row of the right side comes one of the wrong side.
    assert_eq!(
        flat(&steps("repeat dec row every 3rd row 4 times", "30")),
        ["wrong-side: every 3rd row 4 times"]
    );
    assert_eq!(
        flat(&steps("repeat dec row every RS row until 21 sts remain", "21")),
        ["total-differs: 21"]
    );
    assert_eq!(
        flat(&steps("repeat the increase row every RS row twice", "34")),
        ["unknown-name: increase"]
    );
    // The row is worked each time: one that counts its stitches cannot come twice.
    let fixed = "- cast on 40 in body\n- dec row (RS): k19, k2tog, k19\n- repeat dec row every RS row twice\n- bind off all";
    assert_eq!(flat(fixed), ["row-short: k19"]);
    assert_eq!(
        rows(&format!(
            "## Back, flat\n\n{}",
            steps("repeat the decrease row every 4th row 5 more times", "28")
        )),
        [22],
        "a row, five times four rows, and the bind-off"
    );
    let lettered = "- cast on 40 in body\n- row A (RS): k1, ssk, k to end\n- purl 1 row\n- repeat row A once (38 sts)\n- bind off all";
    assert_eq!(flat(lettered), NOTHING);
}

#[test]
fn rows_are_repeated_until_a_count_is_left() {
    let steps = |until: &str| {
        format!(
            "- cast on 96 in body\n- join in the round\n- round 1: *k6, k2tog; rep from * (84 sts)\n- round 2: knit\n- round 3: k to last 2 sts, k2tog\n- round 4: knit\n- repeat rounds 3-4 until {until}\n- draw through"
        )
    };
    assert_eq!(round(&steps("80 sts remain")), NOTHING);
    assert_eq!(round(&steps("90 sts remain")), ["count-differs: 90"]);
    let pairs = "- cast on 40 in body\n- row 1 (RS): ssk, k to last 2 sts, k2tog\n- row 2: purl\n- repeat the last 2 rows until 21 sts remain\n- bind off all";
    assert_eq!(flat(pairs), ["total-differs: 21"]);
    let still = "- cast on 40 in body\n- row 1 (RS): knit\n- row 2: purl\n- rep rows 1 and 2 until 30 sts rem\n- bind off all";
    assert_eq!(flat(still), ["count-differs: 30"]);
}

#[test]
fn the_rows_of_a_side_are_said_once() {
    let fabric = "## Edged, fabric\n\n- RS rows: knit\n- WS rows: k2, p to last 2 sts, k2\n\n## Back, flat\n\n- cast on 20 in body\n- edged for 10 cm, ending with a WS row\n- bind off all";
    assert_eq!(told(fabric), NOTHING);
    assert_eq!(told(&fabric.replace("cast on 20", "cast on 3")), ["row-short: edged"]);
    let rows_of_a_piece = "- cast on 20 in body\n- RS rows: knit\n- WS rows: k2, p to last 2 sts, k2\n- repeat these 2 rows 3 more times\n- bind off all";
    assert_eq!(flat(rows_of_a_piece), NOTHING);
    assert_eq!(rows(&format!("## Back, flat\n\n{rows_of_a_piece}")), [9]);
    // Said before its turn, it fills the gaps between numbered rows.
    let between = "- cast on 20 in body\n- all WS rows: purl\n- row 1 (RS): ssk, k to end\n- row 3 (RS): ssk, k to end\n- repeat rows 1-4 once (16 sts)\n- bind off all";
    assert_eq!(flat(between), NOTHING);
    assert_eq!(rows(&format!("## Back, flat\n\n{between}")), [9]);
}

#[test]
fn rows_are_worked_as_others_are() {
    let fabric = "## Ripple, fabric\n\n- row 1 (RS): *k2, p2; rep from *\n- row 2: *p2, k2; rep from *\n- rows 3-4: repeat rows 1-2\n- row 5: as row 1\n- row 6: purl\n\n## Back, flat\n\n- cast on 20 in body\n- ripple twice\n- bind off all";
    assert_eq!(told(fabric), NOTHING);
    assert_eq!(rows(fabric), [2 * 6 + 1]);
    assert_eq!(told(&fabric.replace("as row 1", "as row 7")), ["unknown-name: row 5: as row 7"]);
    let piece = "- cast on 20 in body\n- row 1 (RS): ssk, k to end\n- row 2: purl\n- rows 3-6: as rows 1-2 (17 sts)\n- row 7: as row 1 (16 sts)\n- bind off all";
    assert_eq!(flat(piece), NOTHING);
}

#[test]
fn a_run_ends_with_the_row_of_the_pattern_that_is_said() {
    let fabric = "## Ripple, fabric\n\n- row 1 (RS): knit\n- row 2: purl\n- rows 3-4: as rows 1-2\n- row 5: purl\n- row 6: knit\n\n";
    let steps = |work: &str| {
        format!("{fabric}## Back, flat\n\n- cast on 20 in body\n- {work}\n- bind off all")
    };
    // 28 rows are 10 cm: of 26, 30 and 32 rows only 28 ends with row 4.
    assert_eq!(rows(&steps("ripple for 10 cm, ending with row 4 of the pattern")), [29]);
    assert_eq!(rows(&steps("ripple for 10 cm, ending with row 2 of ripple")), [27]);
    assert_eq!(rows(&steps("work in ripple, ending with row 4")), [5]);
    assert_eq!(
        rows(&steps("ripple for 5 rows\n- work even for 2 cm, ending with row 6")),
        [5 + 7 + 1],
        "2 cm are nearer to 7 rows than to 1"
    );
    assert_eq!(told(&steps("ripple for 10 rows, ending with row 6")), ["wrong-row: row 6"]);
    assert_eq!(told(&steps("stockinette for 10 cm, ending with row 6")), ["unknown-name: row 6"]);
}

/// A heel turned by short rows as every sock book has it: 32 stitches leave 18.
/// Common practice; worked by hand: 18 are worked in the first row, and each
/// further row takes in one more of the 7 on each side.
#[test]
fn a_heel_is_turned_at_the_gaps() {
    let heel = "- cast on 32 in body\n- row 1 (RS): sl 1, k17, ssk, k1, turn\n- row 2 (WS): sl 1, p5, p2tog, p1, turn\n- row 3 (RS): sl 1, k to 1 st before gap, ssk, k1, turn\n- row 4 (WS): sl 1, p to 1 st before gap, p2tog, p1, turn\n- repeat rows 3-4 4 times (20 sts)\n- row 5 (RS): sl 1, k to 1 st before gap, ssk\n- row 6 (WS): sl 1, p to 1 st before gap, p2tog (18 sts)\n- bind off all";
    assert_eq!(flat(heel), NOTHING);
    assert_eq!(
        flat(&heel.replace("repeat rows 3-4 4 times (20 sts)", "repeat rows 3-4 5 times"))
            .first()
            .map(String::as_str),
        Some("row-short: k1"),
        "there is no sixth pair"
    );
    let wrapped = "- cast on 30 in body\n- k25, w&t\n- p20, w&t\n- k to 2 sts before last wrapped st, wrap 1 and turn\n- p to 2 sts before wrapped st, wrap the next stitch and turn\n- k to end\n- p to end (30 sts)\n- bind off all";
    assert_eq!(flat(wrapped), NOTHING);
    assert_eq!(
        flat("- cast on 30 in body\n- k to gap, turn\n- bind off all"),
        ["marker-missing: k to gap"]
    );
}

#[test]
fn a_piece_that_reverses_another_is_worked() {
    let fronts = |right: &str| {
        format!(
            "## Left front, flat\n\n- cast on 40 in body\n- stockinette for 10 cm, ending with a WS row\n- bind off 6 at the start of the next row [starts armhole] (34 sts)\n- work even for 1 row\n- decrease 1 at armhole edge every RS row 4 times (30 sts)\n- bind off 10 at the start of the next row\n- work even for 1 row\n- bind off all 20 sts\n\n## Right front, flat\n\n{right}"
        )
    };
    let text = fronts("- work as for left front, reversing all shaping");
    // The first bind-off waits a row for the other side; from there on all is a row later.
    assert_eq!(rows(&text), [28 + 2 + 8 + 2 + 1, 28 + 1 + 2 + 8 + 2 + 1]);
    let wrong = fronts("- work as for left back, reversing shaping");
    assert_eq!(told(&wrong), ["unknown-name: left back"]);
    let slip = text.replace("bind off all 20 sts", "bind off all 21 sts");
    assert_eq!(told(&slip), ["count-differs: 21"]);
}

#[test]
fn words_before_an_instruction_are_for_the_knitter() {
    let steps = "- with the smaller needles, cast on 20 in body\n- using the second color, knit 2 (4) rows\n- row 1 (RS): with the first color, knit\n- with RS facing, pick up and knit 10 sts evenly along the edge (30 sts)\n- using a stretchy method, bind off all 30 sts";
    assert_eq!(flat(steps), NOTHING);
}

/// Common practice: a wrong-side row worked in the round has purl for knit, and is read backwards.
#[test]
fn a_fabric_is_turned_for_the_round_and_back() {
    let flat = "## Ripple, fabric\n\n- row 1 (RS): *k3, p1; rep from * to last 3 sts, k3\n- row 2 (WS): p3, *k1, p3; rep from *\n- row 3 (RS): *k3, p1; rep from * to last 3 sts, k3\n- row 4 (WS): *p2tog, yo; rep from * to last st, p1\n\n";
    let cap = "## Cap, in the round\n\n- cast on 19 in body\n- join in the round\n- ripple for 10 cm\n- bind off all";
    let page =
        |text: &str| work(text, |checked, source| walewright::page::markdown(source, checked));
    let markdown = page(&format!("{flat}{cap}"));
    for line in [
        "Round 1:** *k3, p1; rep from * to last 3 sts, k3.",
        "Round 2:** *k3, p1; rep from * to last 3 sts, k3.",
        "Round 4:** K1, *yo, k2tog; rep from * to end.",
    ] {
        assert!(markdown.replace("\\*", "*").contains(line), "{line}\n{markdown}");
    }
    // Worked as it is written, nothing is said twice.
    let back = "## Back, flat\n\n- cast on 19 in body\n- ripple for 10 cm\n- bind off all";
    assert!(!page(&format!("{flat}{back}")).contains("worked from the"));
    let rounds = "## Ladder, fabric\n\n- round 1: *k3, p1; rep from *\n- round 2: knit\n\n";
    let scarf = "## Scarf, flat\n\n- cast on 20 in body\n- ladder for 10 cm\n- bind off all";
    let markdown = page(&format!("{rounds}{scarf}"));
    assert!(markdown.contains("Row 2 (WS):** P to end."), "{markdown}");
}

/// 98 stitches at 20 are 49 cm, which are 83.3 at 17; 60 are 30 cm, which are 51. Each rewrite
/// is checked before it is given, and must have been written in the author's words.
#[test]
fn what_is_said_in_these_words_is_rewritten_in_them() {
    let steps = "- cast on 98 (108) in body\n- RS rows: knit\n- WS rows: k2, p to last 2 sts, k2\n- repeat these 2 rows until piece measures 10 cm from cast on, ending with a WS row\n- dec row (RS): k1, ssk, k to last 3 sts, k2tog, k1\n- repeat the decrease row every 6th row 4 (5) more times (88 (96) sts)\n- work even until 30 cm from cast on, ending with a WS row\n- cast on 3 (4) at the beginning of the next 2 rows (94 (104) sts)\n- row 1 (RS): ssk, k to last 2 sts, k2tog\n- row 2: purl\n- repeat rows 1-2 until 60 (66) sts remain\n- bind off all";
    let text = format!("{FRONT}## Back, flat\n\n{steps}\n");
    let source = Source::new("pattern.wale", text.clone());
    let coarser = targets("gauges:\n  body: { stitches: 17, rows: 24, over: 10 cm }\n");
    let revised = rewritten(&source, &coarser).unwrap_or_else(|e| panic!("{e}"));
    let text_of = |words: &str| {
        let line = revised.source.text.lines().find(|line| line.contains(words));
        line.unwrap_or_else(|| panic!("{words}:\n{}", revised.source.text)).to_owned()
    };
    assert_eq!(text_of("cast on 8"), "- cast on 83 (92) in body");
    assert_eq!(
        text_of("repeat the decrease"),
        "- repeat the decrease row every 6th row 3 (4) times (75 (82) sts)"
    );
    assert_eq!(text_of("remain"), "- repeat rows 1-2 until 51 (56) sts remain");
    let same = targets("gauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n");
    assert_eq!(rewritten(&source, &same).expect("a rewrite").source.text, text);
}

/// What is said of the yarn changes no count; stitches beside it are a row like any other.
#[test]
fn stitches_after_the_yarn_are_worked() {
    let steps =
        |row: &str, sts: u32| format!("- cast on 20 in body\n- {row}\n- k{sts}\n- bind off all");
    for row in [
        "rejoin yarn, bind off 4, k16",
        "rejoin the yarn and bind off 4, k to end",
        "join a new yarn, bind off 4, k to end",
    ] {
        assert_eq!(flat(&steps(row, 16)), NOTHING, "{row}");
        assert_eq!(flat(&steps(row, 20)), ["row-short: k20"], "{row}");
    }
    // Broken yarn is no part of a row: said, not passed over.
    assert_eq!(flat(&steps("break yarn, ssk, k to end", 19))[0], "syntax: break");
    for said in ["break yarn, leaving a long tail", "rejoin yarn at the neck edge"] {
        assert_eq!(flat(&steps(said, 20)), NOTHING, "{said}");
    }
}

#[test]
fn rows_of_one_side_come_at_their_turn() {
    // In the round the even round follows the first one at once.
    let even = "- cast on 20 in body\n- round 1: ssk, k to end\n- all even rounds: knit\n- repeat the last 2 rounds 3 times (16 sts)\n- bind off all";
    assert_eq!(round(even), NOTHING);
    assert_eq!(rows(&format!("## Cap, in the round\n\n{even}")), [9]);
    // Said in between, it is the last of the rows that are repeated.
    let between = |label: &str| {
        format!(
            "- cast on 20 in body\n- row 1 (RS): ssk, k to end\n{label}- row 3 (RS): ssk, k to end\n- repeat rows 1-4 once (16 sts)\n- bind off all"
        )
    };
    assert_eq!(flat(&between("- all WS rows: purl\n")), NOTHING);
    // Said last, it is the fourth.
    let last = between("- row 2: purl\n").replace("- repeat", "- all WS rows: purl\n- repeat");
    assert_eq!(flat(&last), NOTHING);
    assert_eq!(rows(&format!("## Back, flat\n\n{last}")), [9]);
}

#[test]
fn work_is_turned_at_one_place_again_and_again() {
    // 14 knit and 8 of them purled: 6 wait on either side, and no stitch is lost or counted twice.
    let short = "- cast on 20 in body\n- k14, turn\n- p8, turn\n- k8, turn\n- p8, turn\n- k to gap, k1, turn\n- p to gap, p1, turn\n- k to 3 sts before gap, turn\n- p to end\n- k20\n- bind off all";
    assert_eq!(flat(short), NOTHING);
    // Turned at a marker, the gap lies there too.
    let marked = "- cast on 20 in body\n- k10, pm, k10\n- p to marker, turn\n- k to end\n- p to gap, sm, p10\n- bind off all";
    assert_eq!(flat(marked), NOTHING);
}

#[test]
fn a_marker_keeps_its_place_in_a_row_of_repeats() {
    // 12 become 8 on either side of it.
    let steps = |before: u32| {
        format!(
            "- cast on 24 in body\n- k12, pm, k12\n- *k1, k2tog; rep from * (16 sts)\n- k{before}, sm, k8\n- bind off all"
        )
    };
    assert_eq!(round(&steps(8)), NOTHING);
    assert_eq!(round(&steps(12)), ["marker-missing: sm"]);
    // One of 5 is left before the marker, which is slipped before it is taken with the next.
    let run = |counts: &str| {
        round(&format!(
            "- cast on 24 in body\n- k5, pm, k3, pm, k16\n- k2tog to end (12 sts)\n- {counts}\n- bind off all"
        ))
    };
    assert_eq!(run("k2, sm, k2, sm, k8"), NOTHING);
    assert_eq!(run("k3, sm, k1, sm, k8"), ["row-long: sm"]);
}

#[test]
fn stitches_bound_off_at_the_end_of_a_row_are_gone() {
    assert_eq!(
        flat("- cast on 20 in body\n- k14, bind off 6\n- p14\n- k14\n- bind off all"),
        NOTHING
    );
    let both = "- cast on 20 in body\n- bind off 3, k to last 3 sts, bind off 3\n- join a new yarn, p14\n- bind off all";
    assert_eq!(flat(both), NOTHING);
}

#[test]
fn ends_are_shaped_beyond_the_markers() {
    let steps = "- cast on 40 in body\n- k10, pm, k20, pm, k10\n- purl 1 row\n- decrease 1 each end every RS row 3 times (34 sts)\n- p7, sm, p20, sm, p7\n- bind off all";
    assert_eq!(flat(steps), NOTHING);
}

/// What is knit in a crown: its yarn is reckoned from that.
#[test]
fn wedges_are_worked_over_the_mean_of_their_counts() {
    let crown = "## Cap, in the round\n\n- cast on 96 in body\n- decrease in 8 wedges every 2nd round to 16\n- draw through\n";
    // 10 rounds take 8 each, one in two: 20 rounds of (96 + 16) / 2 stitches.
    let stitches = |checked: &Checked<'_>, _: &Source| {
        let visit = checked.traces[0].visits.iter().find(|visit| visit.shapings.is_some());
        visit.and_then(|visit| visit.stitches.known())
    };
    assert_eq!(work(crown, stitches), Some(1120));
}

/// Each row that turns takes one stitch: 14 of them end on the side before the one they began on,
/// and so do 15 on the other.
#[test]
fn after_a_heel_the_work_lies_on_the_side_of_its_last_row() {
    let heel = |flap: u32, left: u32, next: &str| {
        format!(
            "- cast on {flap} in body\n- stockinette for 29 rows, ending with a RS row\n- turn the heel to {left}\n- next row ({next}): knit\n- bind off all"
        )
    };
    assert_eq!(flat(&heel(32, 18, "WS")), NOTHING);
    assert_eq!(flat(&heel(32, 18, "RS")), ["wrong-side: RS"]);
    assert_eq!(flat(&heel(31, 16, "RS")), NOTHING);
}

#[test]
fn the_last_rows_are_those_that_were_repeated() {
    // Rows 3 and 4 take a stitch, rows 1 and 2 do not.
    let steps = "- cast on 20 in body\n- row 1 (RS): knit\n- row 2: purl\n- row 3: ssk, k to end\n- row 4: purl\n- repeat rows 1-2 for 4 rows\n- repeat the last 2 rows once (19 sts)\n- bind off all";
    assert_eq!(flat(steps), NOTHING);
}

/// However many rows turn it, a heel is begun on the side that the flap came to.
#[test]
fn a_heel_is_begun_on_the_side_of_its_first_row() {
    for (flap, left) in [(32, 18), (31, 16)] {
        let text = format!(
            "## Heel, flat\n\n- cast on {flap} in body\n- stockinette for 29 rows, ending with a RS row\n- turn the heel to {left}\n- bind off all\n"
        );
        let first = work(&text, |checked, source| {
            let visits = &checked.traces[0].visits;
            let heel = visits.iter().find(|v| source.slice(v.step).starts_with("turn the heel"));
            heel.and_then(side_of_heel)
        });
        assert_eq!(first, Some(Side::Wrong), "{flap} to {left}");
    }
}

/// Yarn that is joined at a place begins a row, whose stitches are worked and checked.
#[test]
fn a_row_may_begin_with_yarn_that_is_joined() {
    let vest = |second: &str| {
        format!(
            "---\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\n---\n\n## Back, flat\n\n- cast on 44 in body\n- row 1 (RS): k20, bind off 4, k to end\n- first part:\n  - purl 1 row\n  - bind off all\n- second part:\n  - {second}\n  - bind off all\n"
        )
    };
    let told = |second: &str| -> Vec<String> {
        let source = Source::new("vest.wale", vest(second));
        let parsed = syntax::parse(&source);
        let document = parsed.document.expect("a pattern");
        let checked = walewright::check(&source, &document, parsed.findings);
        checked.findings.iter().map(|f| format!("{}: {}", f.code.name(), f.message)).collect()
    };
    let none: [String; 0] = [];
    for joined in [
        "rejoin yarn at the neck edge, bind off 4, p to end",
        "join yarn, bind off 4, p to end",
        "join the yarn to the held sts and bind off 4, p to end",
        "attach yarn at neck edge, then bind off 4, p to end",
        "reattach a new ball of yarn at the center, bind off 4 sts, p to end (16 sts)",
        "with right side facing, rejoin yarn at the neck edge, bind off 4, k to end",
        "with the wrong side facing, rejoin yarn, bind off 4, p to end",
        "row 2 (WS): rejoin yarn at the neck edge, bind off 4, p to end",
    ] {
        assert_eq!(told(joined), none, "{joined}");
    }
    assert_eq!(
        told("rejoin yarn at the neck edge, bind off 4, p20"),
        ["row-short: this needs 24 stitches and there are 20"]
    );
    // Yarn is joined at either end; without it the row has a side already.
    assert_eq!(
        told("with right side facing, bind off 4, k to end"),
        ["wrong-side: this row falls on the wrong side, not the right side"]
    );
    // Words for the knitter stay that.
    for words in ["rejoin yarn at the neck edge", "attach the buttons", "join shoulders"] {
        let told = told(&format!("{words}\n  - bind off 4, p to end"));
        assert_eq!(told, none, "{words}");
    }
}

/// Where shapings do not come to the count that is said, that is told once; what follows goes on
/// from the count, wherever markers lie.
#[test]
fn a_shaping_that_does_not_come_out_is_told_once() {
    let marked = |place: &str, until: u32| {
        round(&format!(
            "- cast on 80 in body\n- join in the round\n- *k20, pm; rep from * 4 times\n- decrease 1 st {place} every 2nd round until {until} sts remain\n- next round: knit ({until} sts)\n- bind off all"
        ))
    };
    for (place, whole, odd) in
        [("each side of each marker", 48, 41), ("at each marker", 44, 42), ("each end", 50, 51)]
    {
        assert_eq!(marked(place, whole), NOTHING, "{place}");
        assert_eq!(marked(place, odd), [format!("total-differs: {odd}")], "{place}");
    }
}

/// Of rows that are said to be of one side, each falls on it: told row by row, back and forth.
/// In the round there is one side, and rows shaped one after the other are on either.
#[test]
fn shapings_of_a_side_fall_on_it() {
    let keeps = |before: &str, shaping: &str| {
        let steps =
            format!("## Back, flat\n\n- cast on 60 in body\n{before}- {shaping}\n- bind off all");
        work(&steps, |checked, _| {
            let mut found = None;
            checked.model.each_step(&mut |_, step| {
                let Action::Shape { schedule, .. } = &step.action else { return };
                let visits = &checked.traces[0].visits;
                let visit = visits.iter().find(|visit| visit.step == step.span).expect("it");
                let begins = visit.side_before();
                found = Some(keeps_its_sides(schedule, visit, SizeId(0), begins));
            });
            found.expect("a shaping")
        })
    };
    for (shaping, kept) in [
        // The first row is a right-side one, and so is every second one after it.
        ("decrease 1 each end every RS row 4 times", true),
        ("decrease 1 each end on the next row, then every RS row 3 times", true),
        ("decrease 1 each end every RS row 3 times, then every 4th row twice", true),
        ("decrease 1 each end every 4th row 3 times", true),
        ("decrease 1 each end every RS row 3 times, then every row 3 times", true),
        // A single one right after a right-side row is on the other side.
        ("decrease 1 each end every RS row 3 times, then every row once", false),
        ("decrease 1 each end every RS row 3 times, then every 3rd row once", false),
    ] {
        assert_eq!(keeps("", shaping), kept, "{shaping}");
    }
    assert!(keeps("- knit 1 row\n", "decrease 1 each end every RS row 4 times"));
    assert!(keeps("- knit 1 row\n", "decrease 1 each end every WS row 4 times"));
}

#[test]
fn plain_rows_told_together_keep_their_length() {
    let text = |steps: &str| {
        format!("{FRONT}## Cap, in the round\n\n- cast on 80 in body\n{steps}- bind off all\n")
    };
    let steps = "- knit 14 (28) rounds\n- next 14 rounds: knit\n- purl 14 rounds\n- knit 2 rounds\n- work even for 14 rounds\n- next 14 rounds: k1, p to end\n";
    // 28 rounds to 10 cm, and then 20: 14 are 5 cm. What is more than plain stays as written.
    let revised = steps
        .replace("14 (28)", "10 (20)")
        .replace("14", "10")
        .replace("10 rounds: k1", "14 rounds: k1");
    let to = targets("gauges: { body: { stitches: 20, rows: 20, over: 10 cm } }\n");
    let source = Source::new("cap.wale", text(steps));
    let source = rewritten(&source, &to).expect("a rewrite").source;
    assert!(
        source.text.ends_with(&format!("80 in body\n{revised}- bind off all\n")),
        "{}",
        source.text
    );
    // Flat, an even number of rows stays even.
    let ridge = "---\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n---\n\n## Scarf, flat\n\n- cast on 20 in body\n- knit 6 rows\n- bind off all\n";
    let scarf = rewritten(&Source::new("scarf.wale", ridge), &to).expect("a rewrite").source.text;
    assert!(scarf.contains("- knit 4 rows\n"), "{scarf}");
}
