//! What each stitch takes and makes, as the published lists say, found by
//! working a row with it; and what a row of words comes to.

use super::{agree, row};
use walewright::source::Source;
use walewright::standards::How;
use walewright::syntax;
use walewright::syntax::tree::{Action, Block};

const LISTS: &str = "dummies.com, \"Terms and Abbreviations\"; sweaterbabe.com; \
     nevernotknitting.com; knittingmagic.biz; spotlightstores.com";

/// What is written in a row | stitches taken from the left needle | stitches left on the right.
const STITCHES: &str = "
k1 | 1 | 1
p1 | 1 | 1
k1 tbl | 1 | 1
p1 tbl | 1 | 1
k1b | 1 | 1
sl 1 | 1 | 1
sl 1 kwise | 1 | 1
sl 1 pwise | 1 | 1
sl 1 wyif | 1 | 1
sl 1 wyib | 1 | 1
k2tog | 2 | 1
p2tog | 2 | 1
ssk | 2 | 1
ssp | 2 | 1
skp | 2 | 1
skpo | 2 | 1
sl1-k1-psso | 2 | 1
sl 1, k1, psso | 2 | 1
k2tog tbl | 2 | 1
p2tog tbl | 2 | 1
k3tog | 3 | 1
p3tog | 3 | 1
sk2p | 3 | 1
sl 1, k2tog, psso | 3 | 1
s2kp | 3 | 1
s2kp2 | 3 | 1
sl 2, k1, p2sso | 3 | 1
kfb | 1 | 2
pfb | 1 | 2
inc | 1 | 2
m1 | 0 | 1
m1l | 0 | 1
m1r | 0 | 1
m1p | 0 | 1
backward loop | 0 | 1
yo | 0 | 1
yfwd | 0 | 1
yrn | 0 | 1
yon | 0 | 1
k1, lli | 1 | 2
rli, k1 | 1 | 2
2/2 RC | 4 | 4
3/3 LC | 6 | 6
C4F | 4 | 4
C6B | 6 | 6
T3B | 3 | 3
pm | 0 | 0
";

/// The same, from memory.
const FROM_MEMORY: &str = "
sssk | 3 | 1
cdd | 3 | 1
(k1, yo, k1) in next st | 1 | 3
(k1, p1, k1, p1, k1) in next st | 1 | 5
";

/// The stitches after these rows over so many, or the first thing wrong with them.
fn after(stitches: u32, rows: &[&str]) -> Result<i64, String> {
    let numbered = (1..).zip(rows).map(|(number, row)| format!("- row {number}: {row}\n"));
    let source = Source::new(
        "strip",
        format!(
            "---\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\n---\n\n## Strip, flat\n\n\
             - cast on {stitches} in body\n{}- bind off all\n",
            numbered.collect::<String>()
        ),
    );
    let parsed = syntax::parse(&source);
    let document = parsed.document.expect("a pattern");
    let checked = walewright::check(&source, &document, parsed.findings);
    if let Some(found) = checked.findings.iter().find(|found| found.is_error()) {
        return Err(format!("{}: {}", found.code.name(), found.message));
    }
    let visits = checked.traces.first().map_or(&[] as &[_], |trace| trace.visits.as_slice());
    let last = visits.iter().rfind(|visit| source.slice(visit.step).starts_with("row"));
    last.and_then(|row| row.after.known()).ok_or_else(|| "the row was not worked".to_owned())
}

/// The same as text.
fn told(stitches: u32, rows: &[&str]) -> String {
    after(stitches, rows).map_or_else(|wrong| wrong, |count| count.to_string())
}

/// Between ten stitches knit before and ten after.
fn between(written: &str, takes: u32) -> Result<i64, String> {
    after(20 + takes, &[&format!("k10, {written}, k10")]).map(|count| count - 20)
}

#[test]
fn stitches_take_and_make_what_the_lists_say() {
    let mut rows = Vec::new();
    for (table, how) in [(STITCHES, How::Computed), (FROM_MEMORY, How::Memory)] {
        for line in super::lines(table) {
            let [written, takes, makes] = line[..] else { panic!("{line:?}") };
            let takes: u32 = takes.parse().expect("a number");
            let ours = between(written, takes).map_or_else(|wrong| wrong, |n| n.to_string());
            rows.push(row(written, LISTS, how, ours, makes));
            // Over one stitch fewer or more it does not come out.
            assert!(between(written, takes + 1).is_err(), "{written} leaves a stitch unseen");
            if takes > 0 {
                assert!(between(written, takes - 1).is_err(), "{written} takes fewer");
            }
        }
    }
    agree(&rows);
}

#[test]
fn edges_grow_and_shrink_by_what_is_cast_on_and_bound_off() {
    agree(&[
        row("bind off 5", LISTS, How::Computed, told(20, &["bind off 5, k15"]), "15"),
        row("cast off 5", LISTS, How::Computed, told(20, &["cast off 5, k15"]), "15"),
        row("cast on 4", LISTS, How::Computed, told(20, &["k20, cast on 4"]), "24"),
    ]);
}

#[test]
fn markers_and_turns_change_no_count() {
    let markers = ["k10, pm, k10", "p10, sm, p10", "k10, rm, k10"];
    let turned = ["k15, w&t", "p10, w&t", "knit", "purl"];
    agree(&[
        row("pm", LISTS, How::Computed, told(20, &markers[..1]), "20"),
        row("sm", LISTS, How::Computed, told(20, &markers[..2]), "20"),
        row("rm", LISTS, How::Memory, told(20, &markers), "20"),
        row("w&t", LISTS, How::Computed, told(20, &turned), "20"),
    ]);
}

/// "Yarn forward" between stitches worked makes one in British lists; in others it only brings the
/// yarn to the front, which counts for nothing. Ours is the British one, so both are held here.
#[test]
fn yarn_forward_makes_a_stitch() {
    let ours = told(20, &["k10, yarn forward, k10"]);
    let brought_to_the_front = "20";
    assert_ne!(ours, brought_to_the_front);
    agree(&[row("yarn forward, British", LISTS, How::Computed, ours, "21")]);
    // A slipped stitch says where its yarn is held in words of its own.
    agree(&[row("sl 1 wyif", LISTS, How::Computed, told(20, &["k9, sl 1 wyif, k10"]), "20")]);
}

#[test]
fn ripples_take_increases_between_stitches_and_none_in_a_stitch() {
    // 13 + 2: "that uses 2 of the 13".
    const FORUM: &str = "forum.knittinghelp.com 69468";
    let ripple = |increase: &str| {
        let row = format!(
            "k1, *{increase}, k4, k2tog, ssk, k4, {increase}, k1; rep from * to last st, k1"
        );
        // Over two repeats.
        after(2 * 13 + 2, &[&row])
            .map_or_else(|_| "does not come out".to_owned(), |n| n.to_string())
    };
    agree(&[
        row("with yo", FORUM, How::Read, ripple("yo"), "28"),
        row("with m1", FORUM, How::Read, ripple("m1"), "28"),
        row("with kfb", FORUM, How::Read, ripple("kfb"), "does not come out"),
    ]);
}

#[test]
fn plain_fabrics_are_knit_as_the_lists_say() {
    let of = |words: &str| {
        let text = format!("---\n---\n\n## Strip, flat\n\n- {words} for 6 cm\n");
        let document = syntax::parse(&Source::new("strip", text)).document.expect("a pattern");
        let steps = document.sections.iter().flat_map(|section| &section.blocks);
        let mut fabric = steps.filter_map(|block| match block {
            Block::Steps(steps) => steps.first().map(|step| step.action.clone()),
            _ => None,
        });
        match fabric.next() {
            Some(Action::Work { fabric: Some(fabric), .. }) => format!("{:?}", fabric.kind),
            other => panic!("{other:?}"),
        }
    };
    agree(&[
        row("garter: knit every row", LISTS, How::Read, of("knit every row"), of("garter")),
        row("st st: knit every round", LISTS, How::Read, of("knit every round"), of("st st")),
    ]);
    assert_ne!(of("garter"), of("st st"));
}

#[test]
fn n_times_is_n_in_all_and_n_more_times_one_beyond() {
    const HANDBOOK: &str = "Handbook of Wool Knitting and Crochet, 1918, the sock";
    let over = |stitches: u32, row: &str| after(stitches, &[row]).is_ok().to_string();
    agree(&[
        row("9 for 3 times", HANDBOOK, How::Read, over(9, "*k2, p1; rep from * 3 times"), "true"),
        row(
            "12 for 3 times",
            HANDBOOK,
            How::Read,
            over(12, "*k2, p1; rep from * 3 times"),
            "false",
        ),
        row(
            "12 for 3 times more",
            HANDBOOK,
            How::Computed,
            over(12, "*k2, p1; rep from * 3 times more"),
            "true",
        ),
        row(
            "9 for 3 times more",
            HANDBOOK,
            How::Computed,
            over(9, "*k2, p1; rep from * 3 times more"),
            "false",
        ),
    ]);
}
