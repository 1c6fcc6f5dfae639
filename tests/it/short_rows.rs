//! Shoulders turned in short rows instead of bound off.
//!
//! Each turn leaves a step more, two rows above the last at its edge, so that n turns leave n
//! steps, 2 (n - 1) rows from the first to the last, or 2 n to a last one that is worked to the
//! end; the steps together are the shoulder (common practice).

use crate::patterns::{checked, document, plain, rewritten, targets};
use walewright::diag::Code;
use walewright::measure::{Length, SizeId, exact};
use walewright::plan::outline::outline;
use walewright::source::Source;
use walewright::syntax::tree::{Action, BindOff, Counts, EdgeRows};

/// A back of 80 stitches at 20 stitches and 28 rows to 10 cm.
fn back(steps: &str) -> Source {
    let front =
        "---\ntitle: Pier Vest\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n---\n";
    let even = "- cast on 80 in body\n- stockinette for 40 cm, ending with a WS row";
    Source::new("vest", format!("{front}\n## Back, flat\n\n{even}\n{steps}"))
}

fn at(stitches: i64, rows: i64) -> String {
    format!("gauges:\n  body: {{ stitches: {stitches}, rows: {rows}, over: 10 cm }}\n")
}

fn value(counts: &Counts) -> i64 {
    i64::from(*counts.given.get(SizeId(0)).expect("a number"))
}

/// Stitches of a turn, turns of one edge, and the stitches bound off there afterwards.
fn shoulder(source: &Source) -> (i64, i64, i64) {
    let document = document(source);
    let checked = checked(source, &document);
    assert_eq!(checked.findings, []);
    let (mut turn, mut turns, mut bound_off) = (0, 0, 0);
    checked.model.each_step(&mut |_, step| match &step.action {
        Action::ShortRows { count, rows, which } => {
            turn = value(count);
            turns = if *which == EdgeRows::Next { value(rows) / 2 } else { value(rows) };
        }
        Action::BindOff { amount: BindOff::StartOfNext { count, .. } } => bound_off = value(count),
        _ => {}
    });
    (turn, turns, bound_off)
}

const WHOLE: &str = "\
- leave 6 more sts unworked at the end of the next 6 rows
- work even for 2 rows
- bind off 18 at the start of the next 2 rows
- bind off all
";

/// The last step is worked to the end, and not turned.
const STEP_MORE: &str = "\
- leave 6 more sts unworked at the end of the next 4 rows
- work even for 2 rows
- bind off 18 at the start of the next 2 rows
- bind off all
";

#[test]
fn the_turns_make_up_the_shoulder_at_any_gauge() {
    for (steps, more) in [(WHOLE, false), (STEP_MORE, true)] {
        let back = back(steps);
        let (_, own, _) = shoulder(&back);
        for (across, up) in
            [(7, 10), (9, 14), (12, 17), (16, 22), (20, 25), (24, 36), (30, 42), (34, 50)]
        {
            let to = targets(&at(across, up));
            let revised = rewritten(&back, &to).unwrap_or_else(|e| panic!("{e}"));
            let (turn, turns, bound_off) = shoulder(&revised.source);
            let told = format!("{across} and {up}: {turns} turns of {turn} for {bound_off}");
            let left = bound_off - turn * turns;
            assert!(if more { (left - turn).abs() <= 1 } else { left == 0 }, "{told}");
            // To a turn, of two rows of 28 to 10 cm; and to half a stitch a step.
            let rises = |turns: i64| if more { turns } else { turns - 1 };
            assert!((rises(turns) * 28 - rises(own) * up).abs() < 28 && rises(turns) > 0, "{told}");
            assert!((bound_off * 20 - 18 * across).abs() <= 10 * (turns + 1), "{told}");
        }
    }
}

#[test]
fn one_edge_is_turned_as_often_as_both() {
    let front = WHOLE
        .replace("of the next 6 rows", "of every RS row 3 times")
        .replace("- bind off 18 at the start of the next 2 rows\n", "");
    let front = back(&front.replace("bind off all", "bind off all 80 sts"));
    let to = targets(&at(30, 42));
    let revised = rewritten(&front, &to).unwrap_or_else(|e| panic!("{e}"));
    // Four rows of 28 to 10 cm, from the first turn to the third, are six of 42.
    let (_, turns, _) = shoulder(&revised.source);
    assert_eq!(turns, 4);
    let wrong = back(&WHOLE.replace("of the next 6 rows", "of every WS row 3 times"));
    let document = document(&wrong);
    let codes: Vec<Code> = checked(&wrong, &document).findings.iter().map(|f| f.code).collect();
    assert_eq!(codes, [Code::WrongSide]);
}

#[test]
fn more_turns_than_stitches_are_told() {
    for (sts, fits) in [(13, true), (14, false)] {
        let back = back(&format!(
            "- leave {sts} sts unworked at the end of the next 6 rows\n- bind off all\n"
        ));
        let document = document(&back);
        assert_eq!(checked(&back, &document).findings.is_empty(), fits, "{sts}");
    }
}

/// 12 stitches of 80 less at each end are 28 cm, 18 are 22 cm; six rows of 28 are 2.1 cm.
#[test]
fn the_slope_is_drawn_in_steps() {
    let back = back(WHOLE);
    let document = document(&back);
    let checked = checked(&back, &document);
    let outline = outline(&checked.model, &checked.traces[0], 0).expect("an outline");
    assert!(!outline.short_rows);
    let top = outline.slabs.iter().map(|slab| slab.top).max().expect("slabs");
    assert_eq!(top, Length::cm(40) + Length::cm(1) * exact(60, 28));
    let widths: Vec<Length> =
        outline.slabs.iter().map(|slab| slab.above.1 - slab.above.0).collect();
    for width in [Length::cm(40), Length::cm(28), Length::cm(22)] {
        assert!(widths.contains(&width), "{width}: {widths:?}");
    }
}

#[test]
fn a_page_says_where_to_turn() {
    let back = back(WHOLE);
    let page = crate::pages::markdown(&back);
    assert!(page.contains("Leave 6 more sts unworked at the end of the next 6 rows."), "{page}");
    assert!(page.contains("Turn with 6, 12 and 18 sts left at each end"), "{page}");
}

/// Four rows of 14 to 10 cm are 1.5 cm deeper than of 28, which are 1.5 cm (to half a cm).
#[test]
fn rows_written_one_by_one_stay_and_it_is_said() {
    let back = back(
        "- short row 1 (RS): k to last 6 sts, w&t\n- short row 2 (WS): p to last 6 sts, w&t\n\
         - short row 3: k to last 12 sts, w&t\n- short row 4: p to last 12 sts, w&t\n\
         - next row (RS): k to end\n- next row (WS): p to end\n- bind off all\n",
    );
    let to = targets(&at(10, 14));
    let revised = rewritten(&back, &to).unwrap_or_else(|e| panic!("{e}"));
    let said = plain(&revised.findings, &back, None);
    assert!(said.contains("the steps of this slope take 4 rows at this gauge too"), "{said}");
    assert!(said.contains("it is 3 cm deep and was 1.5 cm"), "{said}");
    let near = targets(&at(19, 26));
    let revised = rewritten(&back, &near).unwrap_or_else(|e| panic!("{e}"));
    assert!(revised.findings.iter().all(|f| f.code != Code::SlopeDiffers));
}

/// A back whose turns leave 6, 12 and 18 beside the neck, and a front whose shoulder is 18: its
/// third step is worked to the end. Both slope by four rows.
#[test]
fn back_and_front_are_turned_alike() {
    let text = "\
---
title: Lighter Vest
sizes: [S, M, L]
gauges:
  body: { stitches: 20, rows: 28, over: 10 cm }
---

## Back, flat

- cast on 80 (88, 94) in body
- stockinette for 40 cm, ending with a WS row
- leave 6 (6, 7) more sts unworked at the end of the next 6 rows
- work even for 2 rows
- bind off 18 (18, 21) at the start of the next 2 rows
- bind off all

## Front, flat

- cast on 80 (88, 94) in body
- stockinette for 30 cm, ending with a WS row
- k{27 (28, 31)}, bind off {26 (32, 32)}, k{27 (28, 31)}
- right shoulder:
  - work even for 1 row
  - decrease 1 at neck edge every RS row 9 (10, 10) times
  - work even until 40 cm from cast on, ending with a RS row
  - leave 6 (6, 7) more sts unworked at the end of every WS row 2 times
  - work even for 2 rows
  - bind off all 18 (18, 21) sts
- left shoulder: reverse
";
    let vest = Source::new("vest", text);
    let own = document(&vest);
    assert_eq!(checked(&vest, &own).findings, []);
    for (across, up) in [(8, 11), (14, 19), (26, 36), (30, 42), (36, 50)] {
        let to = targets(&at(across, up));
        let revised = rewritten(&vest, &to).unwrap_or_else(|e| panic!("{e}"));
        let document = document(&revised.source);
        let checked = checked(&revised.source, &document);
        assert_eq!(checked.findings, [], "at {across} and {up}");
        let mut turns: Vec<(EdgeRows, Vec<u32>)> = Vec::new();
        checked.model.each_step(&mut |_, step| {
            if let Action::ShortRows { rows, which, .. } = &step.action {
                turns.push((
                    *which,
                    (0..3).map(|size| rows.given.get(SizeId(size)).copied().unwrap_or(0)).collect(),
                ));
            }
        });
        let [(EdgeRows::Next, back), (_, front)] = turns.as_slice() else { panic!("{turns:?}") };
        for (back, front) in back.iter().zip(front) {
            assert_eq!(back / 2, front + 1, "at {across} and {up}: {turns:?}");
        }
    }
}
