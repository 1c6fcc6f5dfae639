//! "Multiple of 12 plus 3": worked out from the rows alone, and held against
//! what is known of the stitches.
//!
//! Published multiples carry their source. The others were worked by hand from
//! the rows, which are common knowledge: each repeat is added up, stitch by
//! stitch, in the note beside it. Every entry is also worked over every count
//! from 1 to 60: it comes out where the multiple says so, and nowhere else.

use crate::outside_values::compared;
use walewright::diag::Code;
use walewright::measure::round::Multiple;
use walewright::model;
use walewright::source::Source;
use walewright::syntax;
use walewright::work::fabric::{FabricCount, counts, row_counts};

/// A stitch pattern.
struct Known {
    name: &'static str,
    /// The multiple, and what is over.
    of: u32,
    plus: u32,
    /// The counts after each row over the smallest count with one repeat, the start first.
    counts: &'static [i64],
    /// Where the multiple is from, or how it was worked.
    source: &'static str,
    rows: &'static [&'static str],
}

const BY_HAND: &str = "worked by hand";
const RIBS: &str = "forum.knittinghelp.com 58695, rib multiples";
const COUNTS: &str = "readknittingpatterns.com, multiples of 6 + 2 and 8 + 2";

#[rustfmt::skip]
const TABLE: &[Known] = &[
    // Ribs, in the round: the remainder is nothing.
    Known { name: "k1 p1 rib, round", of: 2, plus: 0, counts: &[2, 2], source: RIBS, rows: &["*k1, p1; rep from *"] },
    Known { name: "k2 p1 rib, round", of: 3, plus: 0, counts: &[3, 3], source: RIBS, rows: &["*k2, p1; rep from *"] },
    Known { name: "k2 p2 rib, round", of: 4, plus: 0, counts: &[4, 4], source: RIBS, rows: &["*k2, p2; rep from *"] },
    Known { name: "k3 p1 rib, round", of: 4, plus: 0, counts: &[4, 4], source: RIBS, rows: &["*k3, p1; rep from *"] },
    Known { name: "k3 p3 rib, round", of: 6, plus: 0, counts: &[6, 6], source: RIBS, rows: &["*k3, p3; rep from *"] },
    // Ribs, flat, with both edges knit.
    Known { name: "k1 p1 rib, flat", of: 2, plus: 1, counts: &[3, 3, 3], source: RIBS, rows: &["*k1, p1; rep from * to last st, k1", "*p1, k1; rep from * to last st, p1"] },
    Known { name: "k2 p2 rib, flat", of: 4, plus: 2, counts: &[6, 6, 6], source: RIBS, rows: &["*k2, p2; rep from * to last 2 sts, k2", "*p2, k2; rep from * to last 2 sts, p2"] },
    Known { name: "k2 p1 rib, flat", of: 3, plus: 2, counts: &[5, 5, 5], source: RIBS, rows: &["*k2, p1; rep from * to last 2 sts, k2", "*p2, k1; rep from * to last 2 sts, p2"] },
    // One source gives + 1, for a seam (read; which was not taken down): `k2 p2 rib` by name is + 2, and + 1 can be written.
    Known { name: "k2 p2 rib, flat, for a seam", of: 4, plus: 1, counts: &[5, 5, 5], source: "worked by hand", rows: &["*k2, p2; rep from * to last st, k1", "p1, *k2, p2; rep from *"] },
    // Counts in print.
    Known { name: "six plus two", of: 6, plus: 2, counts: &[8, 8], source: COUNTS, rows: &["*k3, p3; rep from * to last 2 sts, k2"] },
    Known { name: "eight plus two", of: 8, plus: 2, counts: &[10, 10], source: COUNTS, rows: &["k1, *k4, p4; rep from * to last st, k1"] },
    Known { name: "k3 p3 with selvedges", of: 6, plus: 2, counts: &[8, 8], source: "Mon Tricot Knitting Dictionary: 66 + 2 = 68", rows: &["k1, *k3, p3; rep from * to last st, k1"] },
    Known { name: "seven plus four", of: 7, plus: 4, counts: &[11, 11], source: "neoknits.blogspot.com 2007/03: 151 is one, 161 is not", rows: &["k2, *k5, p2; rep from * to last 2 sts, k2"] },
    Known { name: "six plus one", of: 6, plus: 1, counts: &[7, 7], source: "marygildersleeve.com: never (6 + 1) x n", rows: &["*k5, p1; rep from * to last st, k1"] },
    Known { name: "basket stitch of 1918", of: 10, plus: 5, counts: &[15, 15, 15], source: "Handbook of Wool Knitting and Crochet, 1918: 85 = 8 x 10 + 5", rows: &["*k5, p5; rep from * to last 5 sts, k5", "p5, *k5, p5; rep from *"] },
    Known { name: "helmet crown of 1918", of: 16, plus: 0, counts: &[16, 14], source: "Handbook of Wool Knitting and Crochet, 1918: 112 is 7 repeats and leaves 98", rows: &["*narrow, knit 11, narrow, knit 1; repeat from *"] },
    Known { name: "ripple of thirteen plus two", of: 13, plus: 2, counts: &[15, 15], source: "forum.knittinghelp.com 69468: 13 + 2 works with yo", rows: &["k1, *yo, k4, k2tog, ssk, k4, yo, k1; rep from * to last st, k1"] },
    // Rounds that take away a share of the stitches.
    Known { name: "a fifth away", of: 5, plus: 0, counts: &[5, 4], source: "Schoolhouse Press, blog 38: 20%", rows: &["*k3, k2tog; rep from *"] },
    Known { name: "a quarter away", of: 4, plus: 0, counts: &[4, 3], source: "Schoolhouse Press, blog 38: 25%", rows: &["*k2, k2tog; rep from *"] },
    Known { name: "a third away", of: 3, plus: 0, counts: &[3, 2], source: "Schoolhouse Press, blog 38: 33%", rows: &["*k1, k2tog; rep from *"] },
    Known { name: "two fifths away", of: 5, plus: 0, counts: &[5, 3], source: "Schoolhouse Press, blog 38: 40%", rows: &["*k1, k2tog, k2tog; rep from *"] },
    Known { name: "a hat crown", of: 12, plus: 0, counts: &[12, 11], source: "forum.knittinghelp.com 78294: 108 is 9 repeats", rows: &["*k10, k2tog; rep from *"] },
    Known { name: "another crown", of: 11, plus: 0, counts: &[11, 10], source: "summityarnstudio.wordpress.com: 88 is 8 repeats", rows: &["*k9, k2tog; rep from *"] },
    Known { name: "an even increase", of: 8, plus: 0, counts: &[8, 9], source: "moderndailyknitting.com: 48 in 6 groups of 8", rows: &["*k8, m1; rep from *"] },
    // Plain textures.
    Known { name: "stockinette", of: 1, plus: 0, counts: &[1, 1, 1], source: BY_HAND, rows: &["knit", "purl"] },
    Known { name: "seed over an odd count", of: 2, plus: 1, counts: &[3, 3], source: BY_HAND, rows: &["*k1, p1; rep from * to last st, k1"] },
    Known { name: "seed over an even count", of: 2, plus: 0, counts: &[2, 2, 2], source: BY_HAND, rows: &["*k1, p1; rep from *", "*p1, k1; rep from *"] },
    Known { name: "double moss", of: 4, plus: 2, counts: &[6, 6, 6], source: BY_HAND, rows: &["*k2, p2; rep from * to last 2 sts, k2", "*p2, k2; rep from * to last 2 sts, p2"] },
    Known { name: "broken rib", of: 2, plus: 1, counts: &[3, 3, 3], source: BY_HAND, rows: &["knit", "*p1, k1; rep from * to last st, p1"] },
    Known { name: "mistake rib", of: 4, plus: 3, counts: &[7, 7], source: BY_HAND, rows: &["*k2, p2; rep from * to last 3 sts, k2, p1"] },
    Known { name: "small basket", of: 8, plus: 3, counts: &[11, 11, 11], source: BY_HAND, rows: &["k3, *p5, k3; rep from *", "p3, *k5, p3; rep from *"] },
    // Two rows that ask for different multiples: what satisfies both.
    Known { name: "threes over fours", of: 12, plus: 0, counts: &[12, 12, 12], source: "worked by hand: the least common multiple of 3 and 4", rows: &["*k2, p1; rep from *", "*k2, p2; rep from *"] },
    Known { name: "4 + 2 over 6 + 4", of: 12, plus: 10, counts: &[22, 22, 22], source: "worked by hand: 10 = 2 x 4 + 2 = 6 + 4", rows: &["*k2, p2; rep from * to last 2 sts, k2", "*k3, p3; rep from * to last 4 sts, k4"] },
    // Lace that keeps its count in every row.
    Known { name: "eyelets", of: 2, plus: 2, counts: &[4, 4, 4], source: "worked by hand: k1 + (yo, k2tog) + k1", rows: &["k1, *yo, k2tog; rep from * to last st, k1", "purl"] },
    Known { name: "ladder lace", of: 4, plus: 0, counts: &[4, 4, 4], source: "worked by hand: k2tog, yo, yo, ssk takes 4 and makes 4", rows: &["*k2tog, yo, yo, ssk; rep from *", "*k1, p1, k1, p1; rep from *"] },
    Known { name: "feather and fan", of: 18, plus: 0, counts: &[18, 18, 18], source: "worked by hand: 6 + 6 + 6 stitches", rows: &["*k2tog 3 times, [yo, k1] 6 times, k2tog 3 times; rep from *", "purl"] },
    Known { name: "vine lace", of: 9, plus: 4, counts: &[13, 13, 13], source: "worked by hand: 3 + (0 + 2 + 2 + 2 + 2 + 0 + 1) + 1", rows: &["k3, *yo, k2, ssk, k2tog, k2, yo, k1; rep from * to last st, k1", "purl"] },
    Known { name: "horseshoe", of: 10, plus: 1, counts: &[11, 11, 11], source: "worked by hand: 1 + (3 + 3 + 3 + 1)", rows: &["k1, *yo, k3, sk2p, k3, yo, k1; rep from *", "purl"] },
    Known { name: "chevron", of: 8, plus: 1, counts: &[9, 9, 9], source: "worked by hand: 1 + (2 + 3 + 2 + 1)", rows: &["k1, *yo, k2, sk2p, k2, yo, k1; rep from *", "purl"] },
    Known { name: "arrowhead", of: 10, plus: 1, counts: &[11, 11, 11], source: "worked by hand: 1 + (2 + 2 + 0 + 1 + 0 + 2 + 2 + 1)", rows: &["k1, *k2tog, k2, yo, k1, yo, k2, ssk, k1; rep from *", "purl"] },
    Known { name: "wave of this project's scarf", of: 12, plus: 6, counts: &[18, 18, 18], source: "worked by hand: 3 + (4 + 4 + 4) + 3", rows: &["k3, *k2tog 2 times, [yo, k1] 4 times, k2tog 2 times; rep from * to last 3 sts, k3", "k3, purl to last 3 sts, k3"] },
    Known { name: "a diagonal of eyelets", of: 6, plus: 2, counts: &[8, 8, 8, 8], source: "worked by hand: 1 + (4 + 2) + 1, then 1 + (1 + 2 + 3) + 1", rows: &["k1, *k4, yo, k2tog; rep from * to last st, k1", "purl", "k1, *k1, yo, k2tog, k3; rep from * to last st, k1"] },
    // Stitches that are made and lost again.
    Known { name: "trinity", of: 4, plus: 0, counts: &[4, 4, 4], source: "worked by hand: 1 becomes 3 and 3 become 1", rows: &["*(k1, p1, k1) in next st, p3tog; rep from *", "purl"] },
    Known { name: "bramble with selvedges", of: 4, plus: 2, counts: &[6, 6, 6], source: "worked by hand: 1 + (1 to 3, 3 to 1) + 1", rows: &["k1, *p3tog, (k1, p1, k1) in next st; rep from * to last st, k1", "purl"] },
    Known { name: "shells that grow", of: 5, plus: 0, counts: &[5, 7, 7, 5], source: "worked by hand: two yarn overs in the first row, taken in the third", rows: &["*k2, yo, k1, yo, k2; rep from *", "purl", "*ssk, k3, k2tog; rep from *"] },
    Known { name: "clusters", of: 3, plus: 1, counts: &[4, 6, 6, 4], source: "worked by hand: 1 + 3, a stitch worked into three, three together", rows: &["k1, *(k1, yo, k1) in next st, k2; rep from *", "purl", "k1, *k3tog, k2; rep from *"] },
    Known { name: "dropped stitches", of: 6, plus: 0, counts: &[6, 7, 7, 6], source: "worked by hand: one m1 in six, taken again", rows: &["*k6, m1; rep from *", "purl", "*k5, k2tog; rep from *"] },
    // The same in fewer words.
    Known { name: "three pairs and fours", of: 4, plus: 1, counts: &[13, 13], source: "worked by hand: 3 x 2 + (2 + 2) + 3", rows: &["[k1, p1] 2 more times, *k2, p2; rep from * to last 3 sts, [k1] 3 times"] },
    Known { name: "a star that is counted", of: 5, plus: 1, counts: &[11, 11], source: "worked by hand: 3 x 2 + 5", rows: &["*k1, p1; rep from * 3 times, **k4, p1; rep from ** to end"] },
    Known { name: "a star and two more", of: 5, plus: 1, counts: &[11, 8], source: "worked by hand: 3 x 2 + 5, of which 3 x 1 + 5 are left", rows: &["*k2tog; rep from * 2 more times, **k4, p1; rep from ** to end"] },
    Known { name: "an edge bound off and cast on", of: 2, plus: 1, counts: &[7, 7], source: "worked by hand: 1 + 2 + 2 + 2, of which 1 + 2 + 2 + 2", rows: &["k1, bind off 2, cast on 2 sts, k2, *k1, p1; rep from *"] },
    Known { name: "some in pattern, some in one", of: 6, plus: 0, counts: &[12, 16], source: "worked by hand: 3 + (2 + 1 + 3) + 3, of which 3 + (2 + 5 + 3) + 3", rows: &["work 3 in pattern, *k2, (k1, yo, k1, yo, k1) in next st, k3; rep from * to last 3 sts, pm, p3"] },
    // Cables.
    Known { name: "cable of four", of: 8, plus: 4, counts: &[12, 12, 12], source: "worked by hand: 4 + (4 + 4)", rows: &["p4, *2/2 RC, p4; rep from *", "k4, *p4, k4; rep from *"] },
    Known { name: "cable of six", of: 10, plus: 4, counts: &[14, 14, 14], source: "worked by hand: (4 + 6) + 4", rows: &["*p4, c6f; rep from * to last 4 sts, p4", "*k4, p6; rep from * to last 4 sts, k4"] },
];

/// A pattern that defines the fabric and works it over so many stitches.
fn worked(known: &Known, count: u32) -> Source {
    let rows: Vec<String> =
        (1..).zip(known.rows).map(|(number, row)| format!("- row {number}: {row}\n")).collect();
    let rows = rows.concat();
    Source::new(
        known.name,
        format!(
            "---\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\n---\n\n## Sample, fabric\n\n{rows}\n## Swatch, flat\n\n- cast on {count} in body\n{rows}- bind off all\n"
        ),
    )
}

fn inferred(source: &Source) -> (FabricCount, Vec<i64>) {
    let parsed = syntax::parse(source);
    assert_eq!(parsed.findings, [], "{}", source.name);
    let document = parsed.document.expect("a pattern");
    let model = model::build(&document).model;
    let fabric = model.fabric_named("sample").expect("the fabric");
    (counts(&model, fabric), row_counts(&model, fabric))
}

#[test]
fn the_multiples_of_known_stitches_come_out() {
    assert!(TABLE.len() >= 40, "{} stitches", TABLE.len());
    let published = TABLE.iter().filter(|known| !known.source.starts_with(BY_HAND)).count();
    assert!(published >= 20, "{published} with a published multiple");
    for known in TABLE {
        compared(known.name, known.source, "read");
        let (count, rows) = inferred(&worked(known, 1));
        let FabricCount::Every { multiple, returns, .. } = count else {
            panic!("{}: {count:?}", known.name);
        };
        assert_eq!(
            multiple,
            Multiple::new(known.of, known.plus),
            "{} ({})",
            known.name,
            known.source
        );
        let name = known.name;
        assert_eq!(rows, known.counts, "{name}: the counts after each row");
        assert_eq!(returns, known.counts.first() == known.counts.last(), "{name}");
    }
}

/// What the rows say, worked out, and what becomes of them on the needle are the same.
#[test]
fn the_rows_can_be_worked_over_these_counts_and_no_others() {
    for known in TABLE {
        let (FabricCount::Every { multiple, least, .. }, _) = inferred(&worked(known, 1)) else {
            panic!("{}", known.name);
        };
        for count in 1..=60 {
            let source = worked(known, count);
            let parsed = syntax::parse(&source);
            let document = parsed.document.expect("a pattern");
            let found = walewright::check(&source, &document, parsed.findings).findings;
            // That the sample is a fabric of its own, used nowhere, and may drift, is not asked here.
            let swatch = source.text.find("## Swatch").expect("the swatch");
            let errors = found.iter().filter(|f| f.is_error() && f.place().start > swatch).count();
            let holds = multiple.holds(i64::from(count)) && i64::from(count) >= least;
            assert_eq!(errors == 0, holds, "{} over {count}: {found:#?}", known.name);
        }
    }
}

/// The lists of counts in print.
#[test]
fn the_counts_in_print_are_those_of_the_rows() {
    let lists: [(&str, &[i64], &[i64]); 5] = [
        ("six plus two", &[8, 14, 20, 26, 32], &[6, 12, 30]),
        ("eight plus two", &[10, 18, 26, 34, 42, 50], &[8, 16, 40]),
        ("k3 p3 with selvedges", &[68], &[66]),
        ("seven plus four", &[151], &[161]),
        // Two repeats are 13 stitches, not 14.
        ("six plus one", &[7, 13, 19], &[14, 21]),
    ];
    for (name, are, are_not) in lists {
        let known = TABLE.iter().find(|known| known.name == name).expect("it is in the table");
        let (FabricCount::Every { multiple, .. }, _) = inferred(&worked(known, 1)) else {
            panic!("{name}");
        };
        assert!(are.iter().all(|&n| multiple.holds(n)), "{name}");
        assert!(are_not.iter().all(|&n| !multiple.holds(n)), "{name}");
    }
}

/// "Because that uses 2 of the 13": the ripple does not come out with kfb (forum.knittinghelp.com 69468).
#[test]
fn a_ripple_with_an_increase_into_a_stitch_asks_for_another_multiple() {
    const ROWS: &[&str] = &["k1, *kfb, k4, k2tog, ssk, k4, kfb, k1; rep from * to last st, k1"];
    let known =
        Known { name: "with kfb", of: 15, plus: 2, counts: &[], source: BY_HAND, rows: ROWS };
    let (FabricCount::Every { multiple, returns, .. }, _) = inferred(&worked(&known, 1)) else {
        panic!("it can be worked");
    };
    assert_eq!(multiple, Multiple::new(15, 2));
    assert!(returns);
}

fn told(rows: &'static [&'static str]) -> Vec<Code> {
    let known = Known { name: "told", of: 1, plus: 0, counts: &[], source: BY_HAND, rows };
    let source = worked(&known, 1);
    let source = Source::new(
        "told",
        source.text.split("## Swatch").next().unwrap_or("").to_owned()
            + "## Swatch, flat\n\n- cast on 24 in body\n- stockinette for 10 cm\n- bind off all\n",
    );
    let parsed = syntax::parse(&source);
    let document = parsed.document.expect("a pattern");
    let found = walewright::check(&source, &document, parsed.findings).findings;
    found.iter().filter(|f| f.is_error()).map(|f| f.code).collect()
}

#[test]
fn rows_that_do_not_return_or_do_not_follow_are_told() {
    assert_eq!(told(&["*k2, yo, k2; rep from *", "purl"]), [Code::RepeatDrifts]);
    assert_eq!(told(&["*k1, k2tog; rep from *", "knit"]), [Code::RepeatDrifts]);
    assert_eq!(
        told(&["*k1, p1; rep from *", "*p1, k1; rep from * to last st, p1"]),
        [Code::RepeatUneven]
    );
    assert_eq!(
        told(&["*k2, yo; rep from *", "*k3, k2tog; rep from *", "purl"]),
        [Code::RepeatDrifts]
    );
    assert_eq!(told(&["*k2, yo, k2tog; rep from *", "purl"]), []);
    // The first row fits 10 stitches alone, and 10 are no multiple of 3.
    assert_eq!(told(&["k5, p5", "*k2, p1; rep from *"]), [Code::RepeatUneven]);
    // It fits 3 alone, and the next one takes 6 before its repeat begins.
    assert_eq!(told(&["k3", "k6, *k2, p1; rep from *"]), [Code::RepeatUneven]);
    assert_eq!(told(&["k9", "k6, *k2, p1; rep from *"]), []);
}

/// The ribs that have a name of their own, through the whole check.
#[test]
fn named_ribs_ask_for_their_multiples() {
    let ok = |setting: &str, rib: &str, count: u32| {
        let join = if setting == "flat" { "" } else { "- join in the round\n" };
        let source = Source::new(
            "rib",
            format!(
                "---\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\n---\n\n## Band, {setting}\n\n- cast on {count} in body\n{join}- {rib} for 5 cm\n- bind off all\n"
            ),
        );
        let parsed = syntax::parse(&source);
        let document = parsed.document.expect("a pattern");
        walewright::check(&source, &document, parsed.findings).findings.is_empty()
    };
    for (rib, of, plus) in [
        ("k1 p1 rib", 2, 1),
        ("k2 p1 rib", 3, 2),
        ("k2 p2 rib", 4, 2),
        ("k3 p1 rib", 4, 3),
        ("k3 p3 rib", 6, 3),
    ] {
        for count in 24..=48 {
            let over = count % of;
            assert_eq!(
                ok("in the round", rib, count),
                over == 0,
                "{rib} over {count} in the round"
            );
            // Flat, it ends as it began, or with whole repeats.
            assert_eq!(
                ok("flat", rib, count),
                over == 0 || over == plus,
                "{rib} over {count} flat"
            );
        }
    }
}

/// All stitches worked of a swatch, the edges too.
fn stitches(known: &Known, count: i64, steps: &str) -> i64 {
    let source = worked(known, 1);
    let (fabric, _) = source.text.split_once("\n## Swatch").expect("the swatch");
    let text =
        format!("{fabric}\n## Swatch, flat\n\n- cast on {count} in body\n{steps}- bind off all\n");
    let source = Source::new(known.name, text);
    let parsed = syntax::parse(&source);
    let document = parsed.document.expect("a pattern");
    let checked = walewright::check(&source, &document, parsed.findings);
    let wrong = checked.findings.iter().find(|finding| finding.is_error());
    assert_eq!(wrong, None, "{} over {count}: {steps}", known.name);
    let visits = checked.traces[0].visits.iter();
    visits.map(|visit| visit.stitches.known().expect("a number")).sum()
}

/// Rows of a fabric that are only told by its name have the stitches of the same rows written
/// out, though they be more in some rows than in others.
#[test]
fn rows_told_by_name_have_the_stitches_of_the_rows_written_out() {
    let mut uneven = 0;
    // A row that binds off leaves a gap on the needle, which its name alone does not tell.
    let binds = |known: &Known| known.rows.iter().any(|row| row.contains("bind off"));
    let returning = |known: &&Known| known.counts.first() == known.counts.last();
    for known in TABLE.iter().filter(returning).filter(|known| !binds(known)) {
        uneven += usize::from(known.counts.iter().any(|count| *count != known.counts[0]));
        for repeats in 1..=3 {
            let count = known.counts[0] + i64::from(known.of * (repeats - 1));
            for rows in 1..=2 * known.rows.len() + 1 {
                let written = known.rows.iter().cycle().take(rows);
                let written = written.map(|row| format!("- next row: {row}\n")).collect::<String>();
                let written = stitches(known, count, &written);
                let told = stitches(known, count, &format!("- sample for {rows} rows\n"));
                assert_eq!(told, written, "{}: {rows} rows over {count}", known.name);
                for first in 1..rows {
                    let rest = rows - first;
                    let parts = format!("- sample for {first} rows\n- work even for {rest} rows\n");
                    let parts = stitches(known, count, &parts);
                    assert_eq!(parts, written, "{}: {first} and {rest} rows", known.name);
                }
            }
        }
    }
    assert!(uneven >= 3, "only {uneven} fabrics with rows of other counts");
}
