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
