//! Instructions that share a list item are worked, rewritten and printed as if each stood in
//! an item of its own.

use walewright::source::Source;
use walewright::syntax;
use walewright::syntax::tree::{Action, Block, Step};

use crate::patterns::{all, rewritten, targets};

/// Whether something may stand in the same item after a step.
fn goes_on(step: &Step) -> bool {
    let says = matches!(step.action, Action::Say);
    step.remark.is_none() && step.steps.is_empty() && step.only.is_empty() && !says
}

/// A pattern in which every second item goes on with the one after it, beginning with the
/// first or the second; and how many do.
fn joined(pattern: &Source, from: usize) -> (Source, usize) {
    let document = syntax::parse(pattern).document.expect("a pattern");
    let blocks = document.sections.iter().flat_map(|section| &section.blocks);
    let mut pairs: Vec<(usize, usize)> = Vec::new();
    for block in blocks {
        let Block::Steps(steps) = block else { continue };
        for pair in steps.get(from..).unwrap_or_default().chunks_exact(2) {
            if goes_on(&pair[0]) {
                pairs.push((pair[0].span.end, pair[1].span.start));
            }
        }
    }
    let (mut text, mut at) = (String::new(), 0);
    for (end, start) in &pairs {
        let own = &pattern.text[at..*end];
        text.push_str(own);
        text.push_str(if own.ends_with('.') { " " } else { ". " });
        at = *start;
    }
    text.push_str(&pattern.text[at..]);
    (Source::new(pattern.name.clone(), text), pairs.len())
}

/// What every step came to, in order, in every size.
fn worked(pattern: &Source) -> Vec<String> {
    let parsed = syntax::parse(pattern);
    let document = parsed.document.expect("a pattern");
    let checked = walewright::check(pattern, &document, parsed.findings);
    let errors: Vec<_> = checked.findings.iter().filter(|finding| finding.is_error()).collect();
    assert!(errors.is_empty(), "{}: {errors:#?}\n{}", pattern.name, pattern.text);
    let visits = checked.traces.iter().flat_map(|trace| &trace.visits);
    let said = visits.map(|v| {
        format!("{} {:?} {:?} {:?} {:?}", v.piece, v.before, v.after, v.rows_after, v.next_side)
    });
    said.collect()
}

#[test]
fn items_that_are_joined_are_worked_the_same() {
    let mut joints = 0;
    for pattern in all() {
        for from in [0, 1] {
            let (joined, count) = joined(&pattern, from);
            joints += count;
            assert_eq!(worked(&joined), worked(&pattern), "{}:\n{}", pattern.name, joined.text);
        }
    }
    assert!(joints > 200, "only {joints} items were joined");
}

#[test]
fn items_that_are_joined_are_rewritten_the_same() {
    let thicker = targets("gauges: { body: { stitches: 17, rows: 24, over: 10 cm } }\n");
    for pattern in all().into_iter().filter(|pattern| pattern.text.contains("  body:")) {
        let (joined, _) = joined(&pattern, 0);
        let numbers = |pattern: &Source| {
            let revised = rewritten(pattern, &thicker)
                .unwrap_or_else(|e| panic!("{}: {e}\n{}", pattern.name, pattern.text));
            worked(&revised.source)
        };
        assert_eq!(numbers(&joined), numbers(&pattern), "{}", pattern.name);
    }
}

/// A body of invented numbers in the sentences of a paragraph.
const BODY: &str = "---
sizes: [S, M, L]
gauges:
  body: { stitches: 22, rows: 30, over: 10 cm }
  rib: { stitches: 25, rows: 32, over: 10 cm }
measure:
  chest: 90 (100, 110) cm
---
## Back, flat

- With smaller needles cast on 110 (122, 134) sts in rib. K2, p2 rib for 5 cm, ending with a WS row.
- Change to body. Knit 1 row, decreasing evenly to 102 (112, 124) [chest / 2 + 1 cm].
- Purl 1 row. Work in stockinette until piece measures 33 cm from cast on, ending with a WS row.
- Bind off 4 (5, 6) sts at the beginning of the next 2 rows, then - (2, 3) sts at the beginning of the following - (2, 4) rows, then decrease 1 each end every RS row 4 (5, 5) times.
- sizes M and L only: Knit 2 rows. Purl 1 row, decreasing 2 sts evenly.
- Work even for 10 cm. Bind off all sts.
";

fn body(text: &str) -> String {
    text.split_once("## Back, flat\n").map(|(_, body)| body.to_owned()).expect("a body")
}

fn lines(source: &Source) -> String {
    let parsed = syntax::parse(source);
    let document = parsed.document.expect("a pattern");
    let checked = walewright::check(source, &document, parsed.findings);
    let page = walewright::page::markdown(source, &checked);
    page.split_once("## Back\n").map(|(_, body)| body.to_owned()).expect("a body")
}

#[test]
fn each_is_a_line_of_the_page() {
    insta::assert_snapshot!(lines(&Source::new("body.wale", BODY)), @r#"
    Worked flat.

    - With smaller needles cast on 110 (122, 134) sts.
    - K2, p2 rib for 5 cm, ending with a WS row.
    - Change to the needles for the body.
    - Knit 1 row, decreasing evenly to 102 (112, 124) sts.
      - **Evenly spaced for S and M:** k5 (6), k2tog, \[k12 (10), k2tog\] 7 (9) times, k5 (6).
      - **Evenly spaced for L:** k6, k2tog, \[\[k11, k2tog\] 2 times, k12, k2tog\] 3 times, k6.
    - Purl 1 row.
    - Work in stockinette until piece measures 33 cm from cast on, ending with a WS row.
    - Bind off 4 (5, 6) sts at the beginning of the next 2 rows (94 (102, 112) sts).
    - Bind off - (2, 3) sts at the beginning of the following - (2, 4) rows (- (98, 100) sts).
    - Decrease 1 st each end every RS row 4 (5, 5) times (86 (88, 90) sts).
    - Sizes M and L only: Knit 2 rows.
    - Sizes M and L only: Purl 1 row, decreasing 2 sts evenly (86 (88) sts).
      - **Evenly spaced for M and L:** p21, p2tog, p42 (44), p2tog, p21.
    - Work even for 10 cm.
    - Bind off all sts.
    "#);
}

#[test]
fn a_rewrite_keeps_the_sentences() {
    let to = |more: &str| {
        let text = format!(
            "gauges: {{ body: {{ stitches: 17, rows: 24, over: 10 cm }}, rib: {{ stitches: 20, rows: 26, over: 10 cm }} }}\n{more}"
        );
        body(
            &rewritten(&Source::new("body.wale", BODY), &targets(&text))
                .expect("a rewrite")
                .source
                .text,
        )
    };
    insta::assert_snapshot!(to(""), @r#"
    - With smaller needles cast on 86 (98, 106) sts in rib. K2, p2 rib for 5 cm, ending with a WS row.
    - Change to body. Knit 1 row, decreasing evenly to 78 (86, 95) [chest / 2 + 1 cm].
    - Purl 1 row. Work in stockinette until piece measures 33 cm from cast on, ending with a WS row.
    - Bind off 3 (4, 5) sts at the beginning of the next 2 rows, then - (2, 2) sts at the beginning of the following - (2, 4) rows, then decrease 1 each end every RS row 3 (3, 4) times.
    - sizes M and L only: Knit 2 rows. Purl 1 row, decreasing 2 (2, 1) sts evenly.
    - Work even for 10 cm. Bind off all sts.
    "#);
    // What no size works any more goes, and its verb stays where another goes by it.
    insta::assert_snapshot!(to("sizes: [S]\n"), @r#"
    - With smaller needles cast on 86 sts in rib. K2, p2 rib for 5 cm, ending with a WS row.
    - Change to body. Knit 1 row, decreasing evenly to 78 [chest / 2 + 1 cm].
    - Purl 1 row. Work in stockinette until piece measures 33 cm from cast on, ending with a WS row.
    - Bind off 3 sts at the beginning of the next 2 rows, then decrease 1 each end every RS row 3 times.
    - Work even for 10 cm. Bind off all sts.
    "#);
}

#[test]
fn a_verb_that_goes_is_said_by_what_went_by_it() {
    let text = BODY
        .replace(
            "4 (5, 6) sts at the beginning of the next 2 rows",
            "- (5, 6) sts at the beginning of the next 2 rows",
        )
        .replace(
            "then - (2, 3) sts at the beginning of the following - (2, 4) rows",
            "then 3 (2, 3) sts at the beginning of the following 2 (2, 4) rows",
        );
    let small = targets("sizes: [S]\n");
    let one = rewritten(&Source::new("body.wale", text), &small).expect("a rewrite");
    let line =
        one.source.text.lines().find(|line| line.contains("3 sts")).expect("the line").to_owned();
    insta::assert_snapshot!(line, @r#"
    - Bind off 3 sts at the beginning of the following 2 rows, then decrease 1 each end every RS row 4 times.
    "#);
}

#[test]
fn words_end_where_an_instruction_begins_but_for_a_note() {
    let read = |item: &str| {
        let text = format!("---\n---\n## A, flat\n\n- cast on 20\n- {item}\n");
        let parsed = syntax::parse(&Source::new("a.wale", text));
        assert_eq!(parsed.findings, [], "{item}");
        let document = parsed.document.expect("a pattern");
        let blocks = document.sections.iter().flat_map(|section| &section.blocks);
        let steps = blocks.filter_map(|block| match block {
            Block::Steps(steps) => Some(steps.len() - 1),
            _ => None,
        });
        steps.sum::<usize>()
    };
    assert_eq!(read("sew the seam. Weave in the ends. Block."), 1);
    assert_eq!(read("break yarn. Knit 2 rows. Sew the seam. Bind off."), 4);
    assert_eq!(read("sew the seam. Work neatly, and rest. Block."), 1);
    assert_eq!(read("note: knit loosely. Knit 2 rows. Bind off."), 1);
    assert_eq!(read("knit 2 rows; rest. Knit 2 rows."), 1);
}
