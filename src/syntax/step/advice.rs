//! What to write instead, where an instruction is one that authors write but
//! that is said in another way here.
//!
//! A slip of the pen is told by what was expected; this is for instructions
//! that no slip explains. It reads only words, and changes no outcome.

use crate::diag::{Code, Finding};

/// Where in an instruction the words stand.
#[derive(Clone, Copy, PartialEq, Eq)]
enum At {
    /// They open it.
    Opening,
    /// What came before was understood.
    After,
    /// Anywhere.
    Any,
}

/// How the words begin (each of those between strokes), where they stand, and the advice.
const ADVICE: &[(&str, At, &str)] = &[
    // One instruction after another.
    (
        ", then |, and |and |then |, pick up|, pm|, place|, join|join |, work|; then ",
        At::After,
        "end the sentence here: after a stop, or in a list item of its own, another instruction may begin",
    ),
    (
        "piece|the piece|it measures|work measures|body measures|armhole measures|sleeve measures",
        At::After,
        "say which rows or what fabric: `knit every round until ...`, `stockinette until ...`",
    ),
    // Where something is bound off.
    (
        "at armhole|at the armhole|at neck|at the neck|at each",
        At::After,
        "say in which row it is bound off, each in an item of its own: `bind off 3 at the start of the next row`",
    ),
    (
        "at neck|at the neck|at armhole|at the armhole|at the beginning|at beginning",
        At::Opening,
        "begin with what is done: `decrease 1 at neck edge every RS row 3 times`, `bind off 3 at the start of the next row`",
    ),
    (
        "decreasing|increasing|shaping|in this way|in this manner",
        At::After,
        "say what is repeated, and how long: `repeat the last 2 rounds until 10 sts remain`",
    ),
    // Words among instructions.
    (
        "shape|shaping|begin|divide|finishing|next section|body|yoke",
        At::Opening,
        "a title for what follows is a heading: `### Shape the armholes`",
    ),
    (
        "end with|ending",
        At::Opening,
        "say it at the end of the instruction before: `..., ending with a WS row`",
    ),
    ("return|place held|transfer", At::Opening, "`take up NAME` puts held stitches on the needle"),
    ("held", At::After, "`take up NAME` puts held stitches on the needle, in an item of its own"),
    (
        "make another|make a second|make second|make the|work second|work the second|make two|make 2",
        At::Opening,
        "say how many to make in the heading: `## Sleeve, flat, make 2`",
    ),
    (
        "the right|the left|the other|the second",
        At::After,
        "under the heading of the other piece write `work as for left front, reversing shaping`",
    ),
    ("kitchener", At::Opening, "write `graft the remaining stitches`"),
    (
        "complete|finish|second side|other side",
        At::Opening,
        "name the part and the one it mirrors: `right shoulder: reverse left shoulder`",
    ),
    (
        "break|cut|reattach|re-join",
        At::Opening,
        "say what is done with the yarn in an item of its own; a row may begin with it, as in `rejoin yarn, k20`",
    ),
    (
        "remove",
        At::Opening,
        "markers are removed in the row that passes them: `k to marker, rm, k to end`",
    ),
    // Sizes.
    (
        "sizes|size|for size|for the|for larger|for smaller|larger|smaller",
        At::Opening,
        "name the sizes as the front matter does, with commas: `sizes M, L and XL only: ...`",
    ),
    ("all sizes", At::Opening, "leave it out: an instruction is for every size"),
    // Parts of a row.
    (
        "to end|to the end|across|around",
        At::After,
        "what goes on along the row stands between `*` and `rep from *`: `*k2, p2; rep from * to end`",
    ),
    ("after", At::After, "a marker is placed in the row that comes to it: `k44, pm, k to end`"),
    ("casting", At::Any, "say it where it is done: `k10, cast on 2 over the gap, k to end`"),
    (
        "bound-off|cast-off|there are",
        At::Any,
        "say how many stitches to work: the check knows places by counts and markers",
    ),
    (
        "chart|work row|row 1 of|of lattice|over next|over the next",
        At::Any,
        "write the rows of a pattern as a fabric of its own, and `work 24 in pattern` where it goes over some of the stitches",
    ),
    (
        "on these|on first|on the first|work on|work these",
        At::Any,
        "name the part, and put its steps in a list below: `left shoulder:`",
    ),
    ("both sides", At::Any, "put what is done on both sides in a list below: `each side:`"),
    (
        "drop|elongated|bring|wyif|wrapping|in row below|in the row below|cross|cr",
        At::Any,
        "what is worked in a way of its own is named under `abbreviations:` in the front matter, with what it takes and makes",
    ),
    (
        "when",
        At::After,
        "say how far it goes first, in an item of its own: `work even until armhole measures 10 cm`",
    ),
    ("cm|inches", At::After, "name the fabric and say `for`: `k2 p2 rib for 5 cm`"),
    (". |- ", At::After, "a colon stands after a label, `row 1: k2`, and a comma between stitches"),
    (
        "(",
        At::After,
        "the count after a row is written `(20 sts)`; words for the knitter go after a `;`",
    ),
    (
        "using|being|taking|picking|working|hiding|knitting|for|as|while|leaving|so that|evenly|by|without|on|from|at|with|each|in",
        At::After,
        "words for the knitter go after a `;`",
    ),
    (
        ", using|, being|, taking|, picking|, working|, hiding|, leaving|, making|, while|, so that|, as|, with|, for",
        At::After,
        "words for the knitter go after a `;`",
    ),
];

/// The finding with advice, where there is some and the finding has none of its own.
pub(super) fn advised(mut finding: Finding, text: &str, offset: usize) -> Finding {
    let at = finding.place().start.saturating_sub(offset);
    let opening = text.get(..at).is_none_or(|before| before.trim().is_empty());
    let understood = matches!(finding.code, Code::Syntax | Code::UnknownStitch);
    let own = finding.help.iter().any(|help| !is_general(help));
    let rest = text.get(at..).unwrap_or("").to_lowercase();
    // After a comma a stitch was expected: the words are the same.
    let rest = rest.trim_start();
    let found = ADVICE.iter().find(|(begins, place, _)| {
        let here = match place {
            At::Opening => opening,
            At::After => !opening,
            At::Any => true,
        };
        here && begins.split('|').any(|words| starts_with_words(rest, words))
    });
    if let (true, false, Some((_, _, advice))) = (understood, own, found) {
        finding.help = vec![(*advice).to_owned()];
    }
    finding
}

/// Help that fits any instruction, and gives way to advice on this one.
fn is_general(help: &str) -> bool {
    [
        "words for the knitter alone",
        "say what it takes",
        "a similar opening",
        "a stitch of your own",
    ]
    .iter()
    .any(|start| help.starts_with(start))
}

/// Whether a text begins with some words, and no letter follows the last.
fn starts_with_words(text: &str, words: &str) -> bool {
    let whole = !words.ends_with(char::is_alphanumeric);
    text.strip_prefix(words)
        .is_some_and(|after| whole || !after.starts_with(|c: char| c.is_alphanumeric()))
}

#[cfg(test)]
mod tests {
    use crate::syntax::{Vocabulary, step};

    /// Lines that are said otherwise here, each with what it is told.
    #[test]
    fn what_is_said_otherwise_is_told_how() {
        let told = |text: &str| match step::item(text, 0, &Vocabulary::default()) {
            Ok(step) => panic!("{text} is read: {step:?}"),
            Err(finding) => format!("{text}\n  {}\n", finding.help.join("; ")),
        };
        let lines = [
            "bind off 6 at beg of next 2 rows, then 3 sts",
            "knit until piece measures 20 cm",
            "bind off 3 sts at armhole edge once, 2 sts twice",
            "at neck edge, bind off 3 sts once",
            "rep rows 1-4 5 times more, then rows 1 and 2 once more",
            "CO 96, sl 1, join in the round",
            "shape armholes: bind off 6 at beg of next 2 rows",
            "end with a WS row",
            "return held sts to needle",
            "make another to match",
            "complete to match first side, reversing shaping",
            "for larger sizes only: knit 1 row",
            "sizes M (L, XL) only: dec 1 st each end every row 2 times",
            "k to bound-off sts, cast on 2, k to end",
            "k4, work row 1 of lattice over next 12 sts, k4",
            "work on first 20 sts only",
            "drop st, k1",
            "k2tog, k to end (20)",
            "k3, yo, k2tog, k to end (buttonhole made)",
            "make second sleeve to match",
            "work the right front as the left front, reversing shaping",
            "kitchener stitch the remaining stitches",
            "turn and work on these sts only",
            "k2, p2 to end",
            "pm after 44 sts for side seam",
            "work across, casting on 2 sts over each gap",
            "pick up and k 40 sts around neck edge, pm, join",
            "knit to end, working wraps as you like",
            "at the same time when armhole measures 10 cm:",
            "rib 5 cm",
            "row 1. k2, p2",
        ];
        insta::assert_snapshot!(lines.map(told).concat(), @"
        bind off 6 at beg of next 2 rows, then 3 sts
          end the sentence here: after a stop, or in a list item of its own, another instruction may begin
        knit until piece measures 20 cm
          say which rows or what fabric: `knit every round until ...`, `stockinette until ...`
        bind off 3 sts at armhole edge once, 2 sts twice
          say in which row it is bound off, each in an item of its own: `bind off 3 at the start of the next row`
        at neck edge, bind off 3 sts once
          begin with what is done: `decrease 1 at neck edge every RS row 3 times`, `bind off 3 at the start of the next row`
        rep rows 1-4 5 times more, then rows 1 and 2 once more
          end the sentence here: after a stop, or in a list item of its own, another instruction may begin
        CO 96, sl 1, join in the round
          end the sentence here: after a stop, or in a list item of its own, another instruction may begin
        shape armholes: bind off 6 at beg of next 2 rows
          a title for what follows is a heading: `### Shape the armholes`
        end with a WS row
          say it at the end of the instruction before: `..., ending with a WS row`
        return held sts to needle
          `take up NAME` puts held stitches on the needle
        make another to match
          say how many to make in the heading: `## Sleeve, flat, make 2`
        complete to match first side, reversing shaping
          name the part and the one it mirrors: `right shoulder: reverse left shoulder`
        for larger sizes only: knit 1 row
          name the sizes as the front matter does, with commas: `sizes M, L and XL only: ...`
        sizes M (L, XL) only: dec 1 st each end every row 2 times
          name the sizes as the front matter does, with commas: `sizes M, L and XL only: ...`
        k to bound-off sts, cast on 2, k to end
          say how many stitches to work: the check knows places by counts and markers
        k4, work row 1 of lattice over next 12 sts, k4
          write the rows of a pattern as a fabric of its own, and `work 24 in pattern` where it goes over some of the stitches
        work on first 20 sts only
          name the part, and put its steps in a list below: `left shoulder:`
        drop st, k1
          what is worked in a way of its own is named under `abbreviations:` in the front matter, with what it takes and makes
        k2tog, k to end (20)
          the count after a row is written `(20 sts)`; words for the knitter go after a `;`
        k3, yo, k2tog, k to end (buttonhole made)
          the count after a row is written `(20 sts)`; words for the knitter go after a `;`
        make second sleeve to match
          say how many to make in the heading: `## Sleeve, flat, make 2`
        work the right front as the left front, reversing shaping
          under the heading of the other piece write `work as for left front, reversing shaping`
        kitchener stitch the remaining stitches
          write `graft the remaining stitches`
        turn and work on these sts only
          name the part, and put its steps in a list below: `left shoulder:`
        k2, p2 to end
          what goes on along the row stands between `*` and `rep from *`: `*k2, p2; rep from * to end`
        pm after 44 sts for side seam
          a marker is placed in the row that comes to it: `k44, pm, k to end`
        work across, casting on 2 sts over each gap
          say it where it is done: `k10, cast on 2 over the gap, k to end`
        pick up and k 40 sts around neck edge, pm, join
          end the sentence here: after a stop, or in a list item of its own, another instruction may begin
        knit to end, working wraps as you like
          words for the knitter go after a `;`
        at the same time when armhole measures 10 cm:
          say how far it goes first, in an item of its own: `work even until armhole measures 10 cm`
        rib 5 cm
          name the fabric and say `for`: `k2 p2 rib for 5 cm`
        row 1. k2, p2
          a colon stands after a label, `row 1: k2`, and a comma between stitches
        ");
    }
}
