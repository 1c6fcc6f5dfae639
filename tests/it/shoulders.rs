//! Shoulders and caps that are bound off in steps keep their depth and their width.
//!
//! A step lies two rows above the last (common practice), so that a slope of n steps is 2 n
//! rows deep, and as wide as its stitches.

use crate::patterns::{checked, document, plain, rewritten, targets};
use walewright::diag::Code;
use walewright::measure::SizeId;
use walewright::source::Source;
use walewright::syntax;
use walewright::syntax::tree::{Action, BindOff, EdgeRows};

/// A pattern of one piece at 20 stitches and 28 rows to 10 cm.
fn pattern(steps: &str) -> Source {
    let front =
        "---\ntitle: Shape\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n---\n";
    Source::new("shape", format!("{front}\n## Back, flat\n\n{steps}"))
}

fn at(stitches: i64, rows: i64) -> String {
    format!("gauges:\n  body: {{ stitches: {stitches}, rows: {rows}, over: 10 cm }}\n")
}

/// What goes at one edge, step by step.
fn steps(source: &Source) -> Vec<i64> {
    let document = document(source);
    let checked = checked(source, &document);
    assert_eq!(checked.findings, []);
    let mut all = Vec::new();
    checked.model.each_step(&mut |_, step| {
        if let Action::BindOff { amount: BindOff::StartOfNext { count, rows, which } } =
            &step.action
        {
            let value = |c: &walewright::syntax::tree::Counts| c.given.get(SizeId(0)).copied();
            let (count, rows) = (value(count).expect("a count"), value(rows).expect("rows"));
            let times = if *which == EdgeRows::Next { rows.div_ceil(2) } else { rows };
            all.extend((0..times).map(|_| i64::from(count)));
        }
    });
    all
}

/// From very thick to very fine: stitches and rows to 10 cm.
const GAUGES: [(i64, i64); 8] =
    [(7, 10), (9, 14), (12, 17), (16, 22), (20, 25), (24, 36), (30, 42), (34, 50)];

#[test]
fn a_shoulder_is_as_deep_and_as_wide_as_it_was() {
    for (words, stitches) in [
        ("bind off 6 at the start of the next 6 rows", 18),
        (
            "bind off 6 at the start of the next 4 rows\n- bind off 7 at the start of the next 2 rows",
            19,
        ),
        ("bind off 5 at the start of the next 8 rows", 20),
    ] {
        let back = pattern(&format!(
            "- cast on 80 in body\n- stockinette for 40 cm, ending with a WS row\n- {words}\n- bind off all\n"
        ));
        let own = steps(&back);
        assert_eq!(own.iter().sum::<i64>(), stitches);
        for (across, up) in GAUGES {
            let to = targets(&at(across, up));
            let revised = rewritten(&back, &to).unwrap_or_else(|e| panic!("{e}"));
            let new = steps(&revised.source);
            let told = format!("{words} at {across} and {up}: {new:?}");
            // To a step, of two rows: from the first to the last, at 28 rows to 10 cm; but two.
            let rises = |steps: &[i64]| steps.len() as i64 - 1;
            let off = rises(&new) * 28 - rises(&own) * up;
            assert!(off.abs() < 28 && new.len() >= 2, "{told}");
            // To half a stitch a step, where one number does for all of them.
            let off = (new.iter().sum::<i64>() * 20 - stitches * across).abs();
            assert!(off <= 10 * new.len() as i64, "{told}");
            let (least, most) = (new.iter().min(), new.iter().max());
            assert!(most.zip(least).is_some_and(|(most, least)| most - least <= 1), "{told}");
        }
    }
}

#[test]
fn at_the_rows_it_had_it_has_the_steps_it_had() {
    let back = pattern(
        "- cast on 80 in body\n- stockinette for 40 cm, ending with a WS row\n\
         - bind off 6 at the start of the next 6 rows\n- bind off all\n",
    );
    for stitches in [18, 19, 21, 23] {
        let to = targets(&at(stitches, 28));
        let revised = rewritten(&back, &to).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(steps(&revised.source).len(), 3);
    }
}

/// A front of 9 + 9 + 10 stitches at one edge is sewn to a back of the same.
const SEWN: &str = "\
- cast on 96 in body
- stockinette for 40 cm, ending with a WS row
- bind off 9 at the start of the next 4 rows
- bind off 10 at the start of the next 2 rows
- bind off all

## Left front, flat

- cast on 28 in body
- stockinette for 40 cm, ending with a WS row
";

#[test]
fn front_and_back_have_as_many_steps() {
    let text = format!("{SEWN}- bind off 9 at the start of every RS row twice\n- bind off all\n");
    let vest = pattern(&text);
    let own = document(&vest);
    assert_eq!(checked(&vest, &own).findings, []);
    let to = targets(&at(30, 42));
    let revised = rewritten(&vest, &to).unwrap_or_else(|e| panic!("{e}"));
    // Three steps go up twice, by four rows of 28 to 10 cm; three times is as much of 42.
    let all = steps(&revised.source);
    let (back, front) = all.split_at(4);
    assert_eq!((back.len(), front.len()), (4, 3), "{all:?}");
    // The last step of the front is what is left of it; 28 stitches are 42.
    assert!((back.iter().sum::<i64>() - 42).abs() <= 1, "{all:?}");
    assert!(revised.source.text.contains("at the start of every RS row 3 times"));
}

/// Rows 2 and 4 of three are plain: four rows of 14 to 10 cm are 2 1/2 cm more than of 28.
#[test]
fn steps_written_one_by_one_stay_and_it_is_said() {
    let one = "- bind off 9 at the start of the next row\n- work even for 1 row\n";
    let front = pattern(&format!(
        "- cast on 28 in body\n- stockinette for 40 cm, ending with a WS row\n{one}{one}- bind off all\n"
    ));
    let to = targets(&at(10, 14));
    let revised = rewritten(&front, &to).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(steps(&revised.source).len(), 2);
    let said = plain(&revised.findings, &front, None);
    assert!(said.contains("the steps of this slope take 4 rows at this gauge too"), "{said}");
    assert!(said.contains("it is 3 cm deep and was 1.5 cm"), "{said}");
    // Where the rows are hardly other than they were there is nothing to say.
    let near = targets(&at(18, 25));
    let revised = rewritten(&front, &near).unwrap_or_else(|e| panic!("{e}"));
    assert!(revised.findings.iter().all(|f| f.code != Code::SlopeDiffers));
}

#[test]
fn a_step_that_is_fixed_is_meant() {
    let back = pattern(
        "- cast on 80 in body\n- stockinette for 40 cm, ending with a WS row\n\
         - bind off 6 at the start of the next 6 rows [fixed]\n- bind off all\n",
    );
    let to = targets(&at(10, 14));
    let revised = rewritten(&back, &to).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(steps(&revised.source), [6, 6, 6]);
    assert_eq!(revised.findings, []);
}

#[test]
fn a_row_of_the_other_side_is_told() {
    let said = |words: &str| {
        let front = pattern(&format!(
            "- cast on 28 in body\n- stockinette for 40 cm, ending with a WS row\n- {words}\n- bind off all\n"
        ));
        let document = syntax::parse(&front).document.expect("a pattern");
        let codes = checked(&front, &document).findings;
        codes.iter().map(|f| f.code).collect::<Vec<_>>()
    };
    assert_eq!(said("bind off 9 at the start of every RS row twice"), []);
    assert_eq!(said("bind off 9 at the start of every other row twice"), []);
    assert_eq!(said("bind off 9 at the start of every WS row twice"), [Code::WrongSide]);
}

#[test]
fn what_was_bound_off_to_the_last_stitch_still_is() {
    for words in [
        "bind off 6 at the start of every RS row 2 times",
        "bind off 4 at the start of every RS row once, then 4 sts twice",
        "bind off 12 at the start of the next row",
    ] {
        let front = pattern(&format!(
            "- cast on 40 in body\n- stockinette for 20 cm, ending with a WS row\n- k{{20}}, hold {{20}} as right side\n- left side:\n  - decrease 1 at neck edge every RS row 8 times\n  - work even for 1 row\n  - {words}\n- right side: reverse\n"
        ));
        assert!(steps(&front).iter().sum::<i64>() == 12, "{words}");
        for (stitches, rows) in GAUGES {
            let targets = targets(&at(stitches, rows));
            let revised = rewritten(&front, &targets)
                .unwrap_or_else(|e| panic!("{words} at {stitches} and {rows}: {e}"));
            let document = document(&revised.source);
            let checked = checked(&revised.source, &document);
            let left: Vec<_> =
                checked.findings.iter().filter(|f| f.code == Code::StitchesLeft).collect();
            assert!(left.is_empty(), "{words} at {stitches} and {rows}:\n{}", revised.source.text);
        }
    }
}

#[test]
fn a_neck_parted_in_halves_stays_so() {
    let front = pattern(
        "- cast on 44 in body\n- stockinette for 20 cm, ending with a WS row\n- k{22}, turn, leaving the remaining sts on hold as right side\n- left side:\n  - decrease 1 at neck edge every RS row 8 times\n  - bind off all 14 sts\n- right side: reverse\n",
    );
    for (stitches, rows) in GAUGES {
        let targets = targets(&at(stitches, rows));
        let revised =
            rewritten(&front, &targets).unwrap_or_else(|e| panic!("at {stitches} and {rows}: {e}"));
        let document = document(&revised.source);
        let checked = checked(&revised.source, &document);
        let halved = checked.traces[0]
            .visits
            .iter()
            .find(|visit| revised.source.slice(visit.step).contains("leaving the remaining"));
        let halved = halved.expect("the row that parts the neck");
        let (all, half) = (halved.before.known(), halved.after.known());
        assert_eq!(all, half.map(|half| 2 * half), "{}", revised.source.text);
    }
}
