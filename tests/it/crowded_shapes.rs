//! Shapes with more shaping than rows: said, with the two shapes that are nearest, and
//! each of those can be knit.

use crate::patterns::{plain, rewritten, targets};
use walewright::diag::Code;
use walewright::source::Source;
use walewright::syntax;

/// A pattern of one piece at 20 stitches and 28 rows to 10 cm.
fn pattern(heading: &str, steps: &str) -> Source {
    let front =
        "---\ntitle: Shape\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n---\n";
    Source::new("shape", format!("{front}\n## {heading}\n\n{steps}"))
}

/// Rows as many as stitches, so that 28 come to 20.
const TALL: &str = "gauges:\n  body: { stitches: 20, rows: 20, over: 10 cm }\n";

const SLEEVE: &str = "\
- cast on 40 in body
- increase 1 each end every RS row 20 times
- stockinette until 15 cm from cast on
- bind off all
";

/// What is said, as a reader sees it.
fn said(pattern: &Source, to: &str) -> String {
    let to = targets(to);
    match rewritten(pattern, &to) {
        Ok(revised) => plain(&revised.findings, pattern, None),
        Err(said) => said,
    }
}

#[test]
fn a_taper_with_too_few_rows_has_two_ways_out() {
    let sleeve = pattern("Sleeve, flat", SLEEVE);
    let said = said(&sleeve, TALL);
    // 20 increases on every second row are 40 rows, 20 cm; 15 cm are 30 rows, for 15 of them.
    assert!(said.contains("with every stitch it takes 40 rows, 5 cm more"), "{said}");
    assert!(said.contains("shape it 15 times in place of 20: 10 stitches (5 cm) less"), "{said}");
    // Both can be knit.
    let longer = pattern("Sleeve, flat", &SLEEVE.replace("15 cm", "20 cm"));
    let to = targets(TALL);
    assert!(rewritten(&longer, &to).is_ok());
    // With 15 the length stays; one more, and it grows.
    for (times, grows) in [("15 times", false), ("16 times", true)] {
        let fewer = pattern("Sleeve, flat", &SLEEVE.replace("20 times", times));
        let revised = rewritten(&fewer, &to).unwrap_or_else(|e| panic!("{e}"));
        let told = revised.findings.iter().any(|f| f.code == Code::ShapeMoved);
        assert_eq!(told, grows, "{times}");
    }
}

#[test]
fn shaping_at_the_same_time_has_two_ways_out() {
    let steps = "\
- cast on 40 in body
- at the same time:
  - increase 1 each end every 2nd row 20 times
  - stockinette until 15 cm from cast on
- bind off all
";
    let said = said(&pattern("Sleeve, flat", steps), TALL);
    assert!(said.contains("with every stitch it takes 40 rows, 5 cm more"), "{said}");
    assert!(said.contains("shape it 15 times in place of 20: 10 stitches (5 cm) less"), "{said}");
    let to = targets(TALL);
    for change in [("15 cm", "20 cm"), ("20 times", "15 times")] {
        let other = pattern("Sleeve, flat", &steps.replace(change.0, change.1));
        assert!(rewritten(&other, &to).is_ok(), "{change:?}");
    }
}

#[test]
fn a_crown_that_grows_says_so() {
    let steps = "\
- cast on 96 in body
- join in the round
- stockinette for 12 cm
- decrease in 8 wedges every round to 8
- break yarn and draw through
";
    let said = said(&pattern("Cap, in the round", steps), TALL);
    // Eleven rounds were 3.9 cm, which now are 7.9 rounds: 3.1 rounds or 1.6 cm too many.
    assert!(said.contains("11 shaping rows take 11 rows"), "{said}");
    assert!(said.contains("this is 1.5 cm longer"), "{said}");
    assert!(said.contains("shape it 7 times in place of 11: 32 stitches (16 cm) less"), "{said}");
}

#[test]
fn raglans_armholes_and_necks_say_so() {
    let raglan = "\
- cast on 100 in body
- stockinette for 20 cm, ending with a WS row
- bind off 4 at the start of the next 2 rows
- decrease 1 each end every RS row 30 times
- bind off all
";
    // 30 decreases on every second row are 60 rows, 21.4 cm; now 60 rows are 30 cm.
    let said_of = said(&pattern("Back, flat", raglan), TALL);
    assert!(said_of.contains("30 shaping rows take 60 rows"), "{said_of}");
    assert!(said_of.contains("with every stitch it takes 60 rows, 8.5 cm more"), "{said_of}");
    assert!(
        said_of.contains("shape it 21 times in place of 30: 18 stitches (9 cm) less"),
        "{said_of}"
    );

    // Necks and armholes may be shaped on every row: only more than that is too many.
    let neck = |each: &str| {
        format!(
            "\
- cast on 60 in body
- stockinette for 20 cm, ending with a WS row
- bind off 4 at the start of the next row [starts armhole]
- work even for 1 row
- decrease 1 at neck edge {each} times
- work even until armhole measures 20 cm, ending with a WS row
- bind off all
"
        )
    };
    let to = "gauges:\n  body: { stitches: 20, rows: 14, over: 10 cm }\n";
    let every_second = said(&pattern("Left front, flat", &neck("every RS row 20")), to);
    assert!(!every_second.contains("shape-longer"), "{every_second}");
    let every = said(&pattern("Left front, flat", &neck("every row 20")), to);
    assert!(every.contains("20 shaping rows take 20 rows"), "{every}");
    assert!(every.contains("less"), "{every}");

    let armhole = |each: &str| {
        format!(
            "\
- cast on 100 in body
- stockinette for 20 cm, ending with a WS row
- bind off 4 at the start of the next 2 rows [starts armhole]
- decrease 1 each end {each} times
- work even until armhole measures 24 cm, ending with a WS row
- bind off all
"
        )
    };
    // 20 decreases on every second row were 40 rows, 14.3 cm, or 20 of 14 to 10 cm; on every
    // row they take as many.
    let every_second = said(&pattern("Back, flat", &armhole("every RS row 20")), to);
    assert!(!every_second.contains("shape-longer"), "{every_second}");
    // 20 rows were 7.1 cm and are 14.3 now.
    let every = said(&pattern("Back, flat", &armhole("every row 20")), to);
    assert!(
        every.contains("20 shaping rows take 20 rows and the length they had comes to 1"),
        "{every}"
    );
}

#[test]
fn a_shape_with_rows_enough_says_nothing() {
    let sleeve = pattern("Sleeve, flat", SLEEVE);
    for to in [
        "gauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n",
        "gauges:\n  body: { stitches: 15, rows: 21, over: 10 cm }\n",
        "gauges:\n  body: { stitches: 24, rows: 36, over: 10 cm }\n",
    ] {
        let wanted = targets(to);
        let revised = rewritten(&sleeve, &wanted).unwrap_or_else(|e| panic!("{e}"));
        let told = revised.findings.iter().any(|f| f.code == Code::ShapeLonger);
        assert!(!told, "{to}");
        assert!(syntax::parse(&revised.source).document.is_some());
    }
}
