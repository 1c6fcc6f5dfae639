//! Stitches and yarn by color: worked by hand, and as laws.

use std::fmt::Write as _;

use proptest::prelude::*;
use walewright::measure::{Exact, Length, exact};
use walewright::plan::yarn::{self, Method, Need};
use walewright::source::Source;
use walewright::syntax;
use walewright::work::yarn::{stitches_by_width, widths_by_color};

use super::patterns::samples;

const FRONT: &str = "---\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\nyarn:\n  put-up: 50 m / 25 g\n  colors: { MC: harbor blue, CC: oat, A: rust }\n---\n\n";

/// What a text comes to in its first size: the stitches of each color, copies not
/// counted, and what was found.
fn worked(text: &str) -> (Vec<i64>, Vec<String>) {
    let source = Source::new("scarf.wale", text);
    let parsed = syntax::parse(&source);
    let document = parsed.document.expect("a pattern");
    let checked = walewright::check(&source, &document, parsed.findings);
    let mut sums = vec![0; checked.model.colors.len()];
    for visit in checked.traces.first().map_or(&[][..], |trace| &trace.visits) {
        let all: i64 = visit.by_color.iter().sum();
        let stitches = visit.stitches.known().filter(|_| !sums.is_empty());
        assert_eq!(all, stitches.unwrap_or(0), "{}", source.slice(visit.step));
        sums.iter_mut().zip(&visit.by_color).for_each(|(sum, one)| *sum += one);
    }
    let told = checked.findings.iter().map(|f| format!("{}: {}", f.code.name(), f.message));
    (sums, told.collect())
}

#[track_caller]
fn counts(heading: &str, steps: &[&str], expected: [i64; 3]) {
    let steps: Vec<String> = steps.iter().map(|step| format!("- {step}\n")).collect();
    let (sums, told) = worked(&format!("{FRONT}{heading}\n\n{}", steps.concat()));
    assert!(told.iter().all(|t| t.starts_with("unused-name")), "{told:?}");
    assert_eq!(sums, expected);
}

/// Ten stitches, worked by hand: an edge is counted as a row of it.
#[test]
fn the_color_on_the_needles_is_what_is_worked() {
    let flat = "## Scarf, flat";
    // Nothing said: the first color.
    counts(flat, &["cast on 10", "garter for 6 rows", "bind off all"], [80, 0, 0]);
    // Before, after, by a step of its own, by the shade; a color stays until the next.
    let steps = [
        "with MC, cast on 10",
        "with CC, knit 2 rows",
        "purl 1 row",
        "garter for 3 rows in color A",
        "change to harbor blue",
        "knit 4 rows",
        "bind off all in oat",
    ];
    counts(flat, &steps, [50, 40, 30]);
    // Between the label of a row and its stitches.
    counts(flat, &["cast on 10", "row 1 (RS): with CC, knit", "bind off all"], [10, 20, 0]);
    // Every piece begins with the first color.
    let two =
        ["cast on 10 in CC", "bind off all\n\n## Strap, flat\n", "cast on 10", "bind off all"];
    counts(flat, &two, [20, 20, 0]);
}

#[test]
fn rows_that_are_repeated_keep_the_color_they_name() {
    let flat = "## Scarf, flat";
    let steps = [
        "cast on 10",
        "row 1 (RS): with CC, knit",
        "row 2 (WS): purl",
        "row 3 (RS): with A, knit",
        "row 4 (WS): with A, knit",
        // Rows 1-4 twice, and rows 1 and 2.
        "repeat rows 1-4 for 10 rows",
        "bind off all",
    ];
    // CC: rows 1 and 2, four more, two more, and the edge; A: rows 3 and 4, four more.
    counts(flat, &steps, [10, 90, 60]);
    let last = [
        "cast on 10",
        "knit 2 rows in MC",
        "knit 2 rows in CC",
        "repeat the last 4 rows 2 more times",
    ];
    counts(flat, &[&last[..], &["bind off all"]].concat(), [70, 70, 0]);
    // A row that names none is worked in what is on the needles.
    let steps =
        ["cast on 10", "row 1: knit", "change to A", "repeat row 1 for 4 rows", "bind off all"];
    counts(flat, &steps, [20, 0, 50]);
}

#[test]
fn stripes_go_on_until_a_color_is_named() {
    let flat = "## Scarf, flat";
    let steps = [
        "cast on 10",
        "stripes: 2 rows MC, 1 row CC; over and over",
        // MC MC CC MC MC CC MC
        "stockinette for 4 rows",
        "knit 3 rows",
        // MC CC
        "decrease 1 each end every row 2 times",
        "bind off all",
    ];
    // Two rows on the way from 10 stitches to 6 have 16; they are parted by rows. The
    // edge is in the color of the last row.
    counts(flat, &steps, [10 + 50 + 8, 20 + 8 + 6, 0]);
    let steps = [
        "cast on 10",
        "stripe sequence: 1 row CC, 1 row A",
        "knit 4 rows",
        "with MC, knit 2 rows",
        "knit 2 rows",
        "bind off all",
    ];
    counts(flat, &steps, [60, 20, 20]);
    // Both sides of a part begin with the same stripe.
    let steps = [
        "cast on 10",
        "stripes: 1 row MC, 3 rows CC",
        "k{4}, bind off {2}, k{4}",
        "left side:\n  - knit 3 rows\n  - bind off all",
        "right side:\n  - knit 3 rows\n  - bind off all",
    ];
    counts(flat, &steps, [20, 32, 0]);
}

/// Rows of a fabric of the author's own are in the colors they name.
#[test]
fn a_fabric_may_have_its_stripes_itself() {
    let fabric = "## Wake, fabric\n\n- row 1 (RS): with MC, knit\n- row 2 (WS): purl\n- row 3 (RS): with CC, knit\n- row 4 (WS): purl\n\n## Scarf, flat";
    // Six rows, and three more of the rows after them: 3, 4, 1.
    let steps = ["cast on 10", "work in wake for 6 rows", "work even for 3 rows", "bind off all"];
    counts(fabric, &steps, [70, 40, 0]);
}

/// A stranded fabric that is written flat and worked in the round keeps its colors.
#[test]
fn a_fabric_turned_round_keeps_its_colors() {
    let text = format!(
        "{FRONT}## Wake, fabric\n\n- row 1 (RS): *k2 MC, k1 CC; rep from *\n- row 2 (WS): *p1 CC, p2 MC; rep from *\n- row 3 (RS): with A, knit\n- row 4 (WS): with MC, purl\n\n## Cowl, in the round\n\n- cast on 12\n- join in the round\n- work in wake for 4 rounds\n- bind off all\n"
    );
    let source = Source::new("cowl.wale", text);
    let parsed = syntax::parse(&source);
    let document = parsed.document.expect("a pattern");
    let checked = walewright::check(&source, &document, parsed.findings);
    let fabric = &checked.model.fabrics[0];
    let turned = walewright::work::turned::translation(&checked.model, &checked.traces, fabric);
    let words: Vec<_> = turned.expect("a translation").rows.into_iter().map(|r| r.words).collect();
    let expected = [
        "*k2 MC, k1 CC; rep from * to end",
        "*k2 MC, k1 CC; rep from * to end",
        "with A, knit to end",
        "with MC, k to end",
    ];
    assert_eq!(words, expected.map(|words| Some(words.to_owned())));
}

fn need(front: &str) -> Need {
    let text = format!(
        "---\nsizes: [narrow, wide]\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\nyarn:\n{front}---\n\n## Scarf, flat\n\n- cast on 40 (60)\n- knit 73 rows\n- knit 24 rows in CC\n- bind off all in CC\n"
    );
    let source = Source::new("scarf.wale", text);
    let parsed = syntax::parse(&source);
    let document = parsed.document.expect("a pattern");
    let checked = walewright::check(&source, &document, parsed.findings);
    yarn::need(&checked.model, &checked.traces).expect("an amount")
}

/// 74 rows and edges of one color and 25 of the other, at 2.1 cm a stitch
/// (4.2 / 2 per cm, see `all_stitches_times_their_loops_are_the_yarn`).
#[test]
fn each_color_has_its_amount() {
    let lengths = |need: &Need| -> Vec<Vec<Option<Length>>> {
        need.colors.iter().map(|c| c.iter().map(|a| a.and_then(|a| a.length)).collect()).collect()
    };
    let loops = |n: i64| Some(Length::cm(1) * (exact(21, 10) * exact(n, 1)));
    let colors = "  put-up: 50 m / 25 g\n  colors: { MC: blue, CC: oat }\n";
    let by_stitches = need(colors);
    assert_eq!(by_stitches.method, Method::Constants);
    let wanted = [[40 * 74, 60 * 74], [40 * 25, 60 * 25]];
    assert_eq!(lengths(&by_stitches), wanted.map(|each| each.map(loops).to_vec()));
    // 62.16 and 93.24 m, 21 and 31.5 m, each with a tenth: whole balls of each color.
    let balls = |need: &Need, color: usize| -> Vec<Option<i64>> {
        need.colors[color].iter().map(|a| a.and_then(|a| a.put_ups)).collect()
    };
    assert_eq!(
        (balls(&by_stitches, 0), balls(&by_stitches, 1)),
        (vec![Some(2), Some(3)], vec![Some(1); 2])
    );
    assert_eq!(by_stitches.sizes[1].and_then(|a| a.put_ups), Some(4));
    // Said in all: parted by stitches, 74 to 25.
    let said = need(&format!("{colors}  used: 99 (198) g\n"));
    assert_eq!(said.method, Method::Used);
    let grams = |color: usize| -> Vec<Option<Exact>> {
        said.colors[color].iter().map(|a| a.and_then(|a| a.grams)).collect()
    };
    assert_eq!(grams(0), [Some(exact(74, 1)), Some(exact(148, 1))]);
    assert_eq!(grams(1), [Some(exact(25, 1)), Some(exact(50, 1))]);
    // Said of each: as said. 30 g with a tenth are two balls of 25 g.
    let each = need(
        "  put-up: 50 m / 25 g\n  colors:\n    MC: { used: 70 (100) g }\n    CC: { used: 30 (40) g }\n",
    );
    assert_eq!(balls(&each, 1), [Some(2), Some(2)]);
    assert_eq!(each.sizes[0].and_then(|a| a.grams), Some(exact(100, 1)));
}

/// A color that is sold in a way of its own is bought so, and weighs so.
#[test]
fn a_color_may_have_a_put_up_of_its_own() {
    let own = "  put-up: 50 m / 25 g\n  margin: 20%\n  colors:\n    MC: blue\n    CC: { shade: oat, put-up: 15 m / 10 g }\n";
    let balls = |need: &Need| -> Vec<Vec<Option<i64>>> {
        let each = need.colors.iter();
        each.map(|c| c.iter().map(|a| a.and_then(|a| a.put_ups)).collect()).collect()
    };
    // 62.16 and 93.24 m by 50 m, 21 and 31.5 m by 15 m, each with a fifth.
    let by_stitches = need(own);
    assert_eq!(balls(&by_stitches), [[Some(2), Some(3)], [Some(2), Some(3)]]);
    assert_eq!(by_stitches.sizes[0].and_then(|a| a.put_ups), Some(4));
    // In all 74 x 1/2 + 25 x 2/3 parts of a gram: 37 and 50/3 of 161/3.
    let said = need(&format!("{own}  used: 161 (322) g\n"));
    let grams = |color: usize| -> Vec<Option<Exact>> {
        said.colors[color].iter().map(|a| a.and_then(|a| a.grams)).collect()
    };
    assert_eq!(grams(0), [Some(exact(111, 1)), Some(exact(222, 1))]);
    assert_eq!(grams(1), [Some(exact(50, 1)), Some(exact(100, 1))]);
    // 111 g by 25 g and 50 g by 10 g, with a fifth.
    assert_eq!(balls(&said), [[Some(6), Some(11)], [Some(6), Some(12)]]);
    // Said of each color: 30 g by 10 g, with a fifth.
    let each = need(
        "  put-up: 50 m / 25 g\n  margin: 20%\n  colors:\n    MC: { used: 70 (100) g }\n    CC: { put-up: 15 m / 10 g, used: 30 (40) g }\n",
    );
    assert_eq!(balls(&each)[1], [Some(4), Some(5)]);
    assert_eq!(each.colors[1][0].and_then(|a| a.length), Some(Length::cm(100) * exact(45, 1)));
}

/// Whatever stripes there are, the colors together are the whole.
#[test]
fn the_colors_of_every_sample_are_the_whole() {
    let mut colored = 0;
    for pattern in samples() {
        let parsed = syntax::parse(&pattern);
        let document = parsed.document.expect("a pattern");
        let checked = walewright::check(&pattern, &document, parsed.findings);
        for trace in &checked.traces {
            let colors = widths_by_color(&checked.model, trace).expect("lengths");
            let sum = colors.iter().fold(Length::zero(), |sum, one| sum + *one);
            assert_eq!(Some(sum), stitches_by_width(&checked.model, trace), "{}", pattern.name);
            for visit in trace.visits.iter().filter(|visit| !visit.by_color.is_empty()) {
                colored += 1;
                assert_eq!(Some(visit.by_color.iter().sum()), visit.stitches.known());
            }
        }
    }
    assert!(colored > 0);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn stripes_by_chance_come_to_what_counting_row_by_row_does(
        stripes in prop::collection::vec((1_u32..=5, 0_usize..3), 1..=5),
        runs in prop::collection::vec(1_u32..=30, 1..=6),
        stitches in 1_i64..=60,
    ) {
        let names = ["MC", "CC", "A"];
        let said: Vec<String> =
            stripes.iter().map(|(rows, color)| format!("{rows} rows {}", names[*color])).collect();
        let mut steps = format!("- cast on {stitches}\n- stripes: {}\n", said.join(", "));
        for rows in &runs {
            writeln!(steps, "- stockinette for {rows} rows").expect("it is a string");
        }
        let (sums, _) = worked(&format!("{FRONT}## Scarf, flat\n\n{steps}"));
        let mut counted = vec![0; 3];
        counted[0] += stitches;
        let sequence = stripes.iter().flat_map(|&(rows, color)| (0..rows).map(move |_| color));
        let all: u32 = runs.iter().sum();
        sequence.cycle().take(all as usize).for_each(|color| counted[color] += stitches);
        prop_assert_eq!(sums, counted);
    }
}

fn findings(colors: &str, step: &str) -> Vec<String> {
    worked(&format!(
        "---\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\nyarn:\n  weight: 4\n{colors}---\n\n## Scarf, flat\n\n- cast on 10\n- {step}\n- bind off all\n"
    ))
    .1
}

#[test]
fn a_color_has_to_be_declared() {
    let two = "  colors: { MC: blue, CC: oat }\n";
    let unused = |color: &str| format!("unused-name: the color `{color}` is never used");
    for step in
        ["with CD, knit 2 rows", "knit 2 rows in CD", "row 1: with CD, knit", "stripes: 2 rows CD"]
    {
        let told = "unknown-name: there is no color called `CD`".to_owned();
        assert_eq!(findings(two, step), [told], "{step}");
    }
    assert_eq!(
        findings(two, "change to CD"),
        ["unknown-name: there is no gauge or color called `CD`"]
    );
    assert_eq!(findings("", "knit 2 rows in CC"), ["unknown-name: there is no color called `CC`"]);
    for step in ["with CC, knit 2 rows", "row 1: with color oat, knit", "with A, knit 1 row"] {
        let told = findings("", step);
        let [told] = told.as_slice() else { panic!("{step}: {told:?}") };
        assert!(told.starts_with("unknown-name: there is no color called"), "{step}: {told}");
    }
    // Words for the knitter stay that.
    let none: [String; 0] = [];
    assert_eq!(findings("", "with a spare needle, knit 2 rows"), none);
    assert_eq!(findings("", "using DPNS, knit 2 rows"), none);
    assert_eq!(findings(two, "with the smaller needles, knit 2 rows"), [unused("CC")]);
    assert_eq!(findings(two, "with oat, knit 2 rows"), none);
    // What is one thing only must have a name of its own.
    let twice = findings("  colors: { body: blue, CC: oat }\n", "change to CC");
    assert_eq!(twice, ["duplicate: the gauge or color `body` is defined twice"]);
}

/// Stranded rows, worked by hand: stitches are of the color they name, the rest of what is
/// on the needles, which stays.
#[test]
fn stitches_are_of_the_color_they_name() {
    let flat = "## Scarf, flat";
    // 12 stitches are four repeats of two and one: eight MC, four CC.
    let rows = [
        "*k2 MC, k1 CC; rep from *",
        "*k2 MC, k1 CC; rep from * to end",
        "*k2 in MC, k1 with CC; rep from *",
        "*with MC k2, with CC k1; rep from *",
        "*k2MC, k1CC; rep from *",
        "[k2 harbor blue, k1 oat] 4 times",
        "row 1 (RS): *k2, k1 CC; rep from *",
        "k2, k1 in CC, [k2 MC, k1 CC] to end",
    ];
    for row in rows {
        counts(flat, &["cast on 12", row, "bind off all"], [24 + 8, 4, 0]);
    }
    // A group has a color, and stitches in it another: k1 CC, k2 MC, k1 CC, k2 MC.
    counts(flat, &["cast on 6", "[k1, k2 MC] twice CC", "bind off all in MC"], [12 + 4, 2, 0]);
    // What is on the needles stays there: A, then the second row is in A.
    let steps = ["cast on 12", "with A, *k2, k1 CC; rep from *", "purl", "bind off all in MC"];
    counts(flat, &steps, [24, 4, 8 + 12]);
    // Runs and markers.
    let steps = ["cast on 12", "k2 MC, pm, k to end CC", "with A p to marker, sm, p to end MC"];
    counts(flat, &[&steps[..], &["bind off all"]].concat(), [24 + 2 + 2, 10, 10]);
    // Increases and decreases count for what they take; what is worked into one stitch for one.
    let steps =
        ["cast on 6", "k2tog CC, (k1, yo, k1) in next st A, k1 MC, kfb CC, k1", "bind off all"];
    counts(flat, &steps, [6 + 2 + 8, 3, 1]);
    // Stitches bound off are worked too.
    let steps = ["cast on 6", "with CC bind off 2, k1 A, k to end", "bind off all"];
    counts(flat, &steps, [6 + 3 + 4, 2, 1]);
    // Repeated, by number, and to a length of rows; 7 rows are 4 of the first, 3 of the second.
    let steps = [
        "cast on 12",
        "row 1 (RS): *k2 MC, k1 CC; rep from *",
        "row 2 (WS): *p1 A, p2 MC; rep from *",
        "repeat rows 1-2 for 5 rows",
        "bind off all",
    ];
    counts(flat, &steps, [24 + 7 * 8, 4 * 4, 3 * 4]);
}

/// A stranded fabric, worked over a count that has its repeat and its edges.
#[test]
fn a_stranded_fabric_counts_by_color() {
    let fabric = "## Wake, fabric\n\n- row 1 (RS): k1 MC, *k3 CC, k1 MC; rep from *\n- row 2 (WS): purl\n\n## Scarf, flat";
    // Twelve of 17 in row 1, and none in row 2; five rows are three and two.
    let steps = ["cast on 17", "work in wake for 3 rows", "work even for 2 rows", "bind off all"];
    counts(fabric, &steps, [34 + 3 * 5 + 2 * 17, 3 * 12, 0]);
    let edges =
        ["cast on 23", "work in wake with 3 sts in garter at each side for 1 row", "bind off all"];
    counts(fabric, &edges, [46 + 11, 12, 0]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    /// Rows of stitches by chance, each counted one by one.
    #[test]
    fn stranded_rows_by_chance_come_to_what_counting_does(
        unit in prop::collection::vec((1_i64..=7, prop::option::of(0_usize..3)), 1..=5),
        repeats in 1_i64..=9,
        rows in 1_i64..=9,
        on_needles in 0_usize..3,
    ) {
        let names = ["MC", "CC", "A"];
        let said: Vec<String> = unit
            .iter()
            .map(|(n, color)| match color {
                Some(color) => format!("k{n} {}", names[*color]),
                None => format!("k{n}"),
            })
            .collect();
        let wide: i64 = unit.iter().map(|(n, _)| n).sum::<i64>() * repeats;
        let (sums, told) = worked(&format!(
            "{FRONT}## Cowl, in the round\n\n- cast on {wide} in {}\n- join in the round\n- round 1: *{}; rep from *\n- repeat round 1 for {rows} rounds\n",
            names[on_needles], said.join(", "),
        ));
        prop_assert!(told.iter().all(|t| !t.contains("row-") && !t.contains("syntax")), "{:?}", told);
        let mut counted = vec![0; 3];
        counted[on_needles] += wide;
        for (n, color) in &unit {
            counted[color.unwrap_or(on_needles)] += n * repeats * (rows + 1);
        }
        prop_assert_eq!(sums, counted);
    }
}

/// A color of stitches has to be declared; the finding says which are.
#[test]
fn a_color_of_stitches_has_to_be_declared() {
    let two = "  colors: { MC: blue, CC: oat }\n";
    for row in ["*k2 CD, k3 CC; rep from *", "k5 CC, k5 with CD, k0 CC", "with CD k2, k8 CC"] {
        let told = findings(two, row);
        assert_eq!(told, ["unknown-name: there is no color called `CD`"], "{row}");
    }
    let each = ["MC", "CC"].map(|c| format!("unknown-name: there is no color called `{c}`"));
    assert_eq!(findings("", "*k3 MC, k2 CC; rep from *"), each);
    // Where none is declared each is told once.
    let many = "*k3 MC, k2 CC; rep from *\n- with CC, knit 2 rows\n- *k4 CC, k1 MC; rep from *";
    assert_eq!(findings("", many), each);
    let told = parsed("*with A, k2, with CC, k1; rep from *");
    assert_eq!(told.message, "this comma parts a color from its stitches");
    let told = worked(&format!(
        "{FRONT}## Wake, fabric\n\n- row 1: *k1 CD, k1 CC; rep from *\n- row 2: as row 1\n\n## Scarf, flat\n\n- cast on 10\n- work in wake for 2 rows\n- bind off all\n"
    ));
    let unknown = told.1.iter().filter(|told| told.starts_with("unknown-name"));
    assert_eq!(unknown.collect::<Vec<_>>(), ["unknown-name: there is no color called `CD`"]);
}

/// The only finding of a step of a scarf of three colors.
fn parsed(step: &str) -> walewright::diag::Finding {
    let text = format!("{FRONT}## Scarf, flat\n\n- cast on 12\n- {step}\n- bind off all\n");
    let mut found = syntax::parse(&Source::new("scarf.wale", text)).findings;
    assert_eq!(found.len(), 1, "{found:?}");
    found.remove(0)
}
