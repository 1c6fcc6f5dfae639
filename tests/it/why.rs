//! Where each kind of number comes from, in words: the measurement, the exact
//! value, what moved it from there, the error left, and what it is tied to.

use walewright::source::Source;
use walewright::{model, syntax, why};

const TUBE: &str = "---\ntitle: Tube\nunits: in\ngauges:\n  \
    body: { stitches: 20, rows: 28, over: 4 in }\n---\n\n## Tube, in the round\n\n\
    - cast on 98 in body\n- k1 p1 rib for 30 rows\n- decrease evenly to 60\n\
    - stockinette for 10 rows (60 sts)\n- bind off all\n";

fn told(pattern: &str, targets: &str) -> String {
    let source = Source::new("pattern.wale", pattern);
    let parsed = syntax::parse(&source);
    let document = parsed.document.expect("a pattern");
    let (targets, found) = syntax::parse_targets(&Source::new("targets.yaml", targets));
    assert!(found.is_empty(), "{found:?}");
    let targets = targets.expect("targets");
    let rewritten = walewright::rewrite(&source, &document, parsed.findings, &targets);
    let rewritten = rewritten.unwrap_or_else(|found| panic!("{found:?}"));
    let model = model::build(&document).model;
    why::text(&why::all_reasons(&source, &model, &rewritten.plan))
}

/// 98 stitches at 5 to the inch are 127.4 at 6.5: 128 where they must be even;
/// and 60 are 78, as 30 are 39 (Ann Budd, annbuddknits.com).
#[test]
fn every_kind_of_number_tells_where_it_comes_from() {
    let finer = "gauges:\n  body: { stitches: 26, rows: 36, over: 4 in }\n";
    insta::assert_snapshot!(told(TUBE, finer), @"
    line 10, Tube: cast on 98 in body
      in body: 26 sts / 4 in
      128, was 98
        keeps its width of 19.6 in: exactly 127.4
        k1 p1 rib wants a multiple of 2
        +0.6 stitches off, 0.09 in, 24% of what is tolerated

    line 11, Tube: k1 p1 rib for 30 rows
      in body: 36 rows / 4 in
      39, was 30
        keeps its length of 4.29 in: exactly 38.57
        +0.43 rows off, 0.05 in

    line 12, Tube: decrease evenly to 60
      in body: 26 sts / 4 in
      78, was 60
        keeps its width of 12 in: exactly 78

    line 13, Tube: stockinette for 10 rows (60 sts)
      in body: 36 rows / 4 in
      13, was 10
        keeps its length of 1.43 in: exactly 12.86
        +0.14 rows off, 0.02 in

    line 13, Tube: stockinette for 10 rows (60 sts)
      78
        follows from the counts it is tied to
        tied to line 12
    ");
}

/// A ridge is two rows (common practice): 7 at 28 rows to 4 in are 9 at 36. 40 stitches are
/// 52 at 26 to 4 in, and 12 short rows over 40, 4 repeats after 4 rows, are 15.6 over 52: 5.8
/// repeats after 4 rows.
#[test]
fn ridges_and_short_rows_tell_where_they_come_from() {
    let pattern = "---\ntitle: Wedge\nunits: in\ngauges:\n  \
        body: { stitches: 20, rows: 28, over: 4 in }\n---\n\n## Wedge, flat\n\n\
        - cast on 40 in body\n- garter for 7 ridges\n\
        - row 1 (RS): k to last 2 sts, turn\n- row 2 (WS): p to last 2 sts, turn\n\
        - row 3 (RS): k to 1 st before gap, turn\n- row 4 (WS): p to 1 st before gap, turn\n\
        - repeat rows 3-4 4 more times\n- knit\n- purl\n- bind off all\n";
    let finer = "gauges:\n  body: { stitches: 26, rows: 36, over: 4 in }\n";
    insta::assert_snapshot!(told(pattern, finer), @"
    line 10, Wedge: cast on 40 in body
      in body: 26 sts / 4 in
      52, was 40
        keeps its width of 8 in: exactly 52

    line 11, Wedge: garter for 7 ridges
      in body: 36 rows / 4 in
      9, was 7
        keeps its length of 2 in

    line 16, Wedge: repeat rows 3-4 4 more times
      6, was 4
        the short rows lie as close along the 52 stitches as they did, 12 of them over 40: exactly 5.8
        +0.2 repeats off
    ");
}
