//! Numbers in prose that will not follow a rewrite.
//!
//! Prose is kept to the byte, so a count in it goes stale when the pattern is
//! rewritten. What counts as such a number:
//!
//! - digits with a noun (`96 sts`, `20 more rows`, `every 4th row`), in any
//!   passage: from four stitches, three rows, an interval of three rows. Fewer
//!   are how a stitch is made (`the 2 edge stitches`) and stay in a rewrite;
//! - a number written as a word, from thirteen, with such a noun;
//! - so many `times`, from four, in the sections of a piece only;
//! - a list with a value a size, a length too (a rewrite may change the sizes);
//! - a length that the front matter gives under `finished:` or `measure:`,
//!   since a rewrite writes those anew. Other lengths stay as they are.
//!
//! Not counted: what names a row (`row 12`), a multiple (`a multiple of 12
//! stitches`), a repeat or a cable (`an 8-row repeat`), and numbers in the
//! section of a fabric that are no larger than the fabric itself: the rows of
//! a fabric stay.

use super::prose::{Number, Passage, passages};
use super::steps;
use crate::diag::{Code, Finding};
use crate::measure::{Given, Length, Unit};
use crate::model::Model;
use crate::source::{Source, Span};
use crate::syntax::front::Entry;
use crate::syntax::measure::lengths_at;
use crate::syntax::tree::{Counts, Lengths, Section, SectionKind};
use crate::work::fabric::{FabricCount, counts as fabric_counts};
use std::collections::{BTreeMap, BTreeSet};

/// The smallest numbers that speak of a width or a length, not of how a stitch is made.
const FEWEST_STITCHES: u32 = 4;
const FEWEST_ROWS: u32 = 3;
const FEWEST_TIMES: u32 = 4;
/// The smallest number that counts when it is written as a word.
const FEWEST_IN_WORDS: u32 = 13;

/// What a number in prose is a number of.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Noun {
    Stitches,
    Rows,
    Times,
}

impl Noun {
    fn of(word: &str) -> Option<Self> {
        Some(match word.to_lowercase().as_str() {
            "st" | "sts" | "stitch" | "stitches" => Self::Stitches,
            "row" | "rows" | "round" | "rounds" | "rnd" | "rnds" | "ridge" | "ridges" => Self::Rows,
            "times" => Self::Times,
            _ => return None,
        })
    }

    fn fewest(self) -> u32 {
        match self {
            Self::Stitches => FEWEST_STITCHES,
            Self::Rows => FEWEST_ROWS,
            Self::Times => FEWEST_TIMES,
        }
    }
}

/// Every number in prose that a rewrite will leave behind.
pub(super) fn loose_numbers(source: &Source, model: &Model<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    let known = Known::of(model);
    for passage in passages(source, model.document) {
        for number in passage.numbers() {
            findings.extend(match &number {
                Number::Counts(counts) => loose_count(model, &known, &passage, counts),
                Number::Lengths(lengths) => loose_length(model, &passage, lengths),
            });
        }
        findings.extend(in_words(&known, &passage));
    }
    findings
}

// --- counts -----------------------------------------------------------------------

fn loose_count(
    model: &Model<'_>,
    known: &Known<'_>,
    passage: &Passage<'_>,
    counts: &Counts,
) -> Option<Finding> {
    let before = passage.before(counts.span.start);
    let after = passage.after(counts.span.end);
    if names_something(before) {
        return None;
    }
    let said = said_after(before, after, &counts.given);
    let (noun, end) = match said {
        Some((noun, length)) => (Some(noun), counts.span.end + length),
        // A list by size needs no noun to be known for one.
        None if counts.given.listed() == Some(model.sizes.len()) && model.sizes.len() > 2 => {
            (None, counts.span.end)
        }
        None => return None,
    };
    let listed = counts.given.listed().is_some();
    let of_piece = matches!(passage.section.kind, SectionKind::Piece(_));
    let largest = counts.given.values().copied().max()?;
    let counts_here = match noun {
        _ if listed => true,
        Some(Noun::Times) => of_piece && largest >= FEWEST_TIMES,
        Some(noun) => largest >= noun.fewest(),
        None => false,
    };
    if !counts_here || within_fabric(model, passage.section, noun, largest) {
        return None;
    }
    Some(told(known, passage, counts, Span::new(counts.span.start, end), after))
}

/// The finding, with the mend that the pattern allows.
fn told(
    known: &Known<'_>,
    passage: &Passage<'_>,
    counts: &Counts,
    place: Span,
    after: &str,
) -> Finding {
    let finding = loose(place);
    if gauge_follows(after) {
        return finding.help("leave the gauge to the front matter, which a rewrite writes anew");
    }
    let written = passage.after(counts.span.start);
    let written = written.get(..counts.span.end - counts.span.start).unwrap_or("");
    match (known.beside(passage, &counts.given), known.names.get(&counts.given)) {
        (true, _) => finding
            .help("put it in braces to let it follow")
            .patch(counts.span, format!("{{{written}}}")),
        (false, Some(name)) => finding
            .help(format!("write `{{{name}}}`, the name of that count"))
            .patch(counts.span, format!("{{{name}}}")),
        (false, None) => finding.help(NAME_IT),
    }
}

const NAME_IT: &str = "say it without a number, or name the count where it is set, as in `cast on 96 [as brim]`, and write `{brim}` here";

fn loose(place: Span) -> Finding {
    let message = "this number stands in prose and will not follow a rewrite";
    Finding::new(Code::LooseNumber, place, message).label("not live")
}

/// Whether the words before a number make a name of it (`row 12`, `rows 4 and 8`)
/// or a rule (`a multiple of 12`).
fn names_something(before: &str) -> bool {
    let before = before.to_lowercase();
    let mut before = before.trim_end();
    // `rows 4, 6 and` names the next number too.
    while let Some(list) = ["and", "or", "to", ",", "&", "-", "–"]
        .iter()
        .find_map(|join| before.strip_suffix(join))
        .map(str::trim_end)
        .filter(|list| list.ends_with(|c: char| c.is_ascii_digit()))
    {
        before = list.trim_end_matches(|c: char| c.is_ascii_digit()).trim_end();
    }
    const NAMES: [&str; 16] = [
        "row",
        "rows",
        "round",
        "rounds",
        "rnd",
        "rnds",
        "multiple of",
        "multiples of",
        "plus",
        "size",
        "sizes",
        "page",
        "chart",
        "step",
        "us",
        "uk",
    ];
    NAMES.iter().any(|name| {
        let rest = before.strip_suffix(name);
        rest.is_some_and(|rest| !rest.ends_with(char::is_alphanumeric))
    })
}

/// The noun that follows a number, and how far it reaches.
fn said_after(before: &str, after: &str, given: &Given<u32>) -> Option<(Noun, usize)> {
    if let Some(ordinal) = ordinal_ending(after, given) {
        let every = before.trim_end().to_lowercase();
        if !["every", "each", "following", "foll"].iter().any(|word| every.ends_with(word)) {
            return None;
        }
        let (noun, length) = noun_in(after.get(ordinal..)?)?;
        return (noun != Noun::Times).then_some((noun, ordinal + length));
    }
    let range = range_length(after);
    noun_in(after.get(range..)?).map(|(noun, length)| (noun, range + length))
}

/// The length of `-13` after `12`.
fn range_length(after: &str) -> usize {
    let Some(rest) = after.strip_prefix(['-', '–']) else { return 0 };
    match rest.len() - rest.trim_start_matches(|c: char| c.is_ascii_digit()).len() {
        0 => 0,
        digits => after.len() - rest.len() + digits,
    }
}

/// The length of `th` right after a number.
fn ordinal_ending(after: &str, given: &Given<u32>) -> Option<usize> {
    let ending = ["th", "rd", "nd", "st"].into_iter().find(|e| after.starts_with(e))?;
    let whole = !after.get(ending.len()..)?.starts_with(char::is_alphanumeric);
    // `96st` is a count, `21st` is a row.
    let last = given.values().last().copied().unwrap_or(0);
    let first_of_ten = last % 10 == 1 && last % 100 != 11;
    (whole && (ending != "st" || first_of_ten)).then_some(ending.len())
}

/// A noun at the beginning of some words, perhaps with one word before it
/// (`96 brim stitches`), and how far it reaches.
fn noun_in(words: &str) -> Option<(Noun, usize)> {
    let (first, first_end) = word_at(words, 0)?;
    if let Some(noun) = Noun::of(first) {
        return is_whole(words, first_end).then_some((noun, first_end));
    }
    let joins = [
        "and", "or", "of", "in", "to", "at", "the", "x", "by", "a", "an", "for", "on", "with",
        "is", "are", "cm", "mm", "m", "inch", "inches", "yd", "g", "oz", "us", "uk", "after",
        "before", "from", "then", "until", "this", "every", "each", "as",
    ];
    if joins.contains(&first.to_lowercase().as_str()) {
        return None;
    }
    let (second, second_end) = word_at(words, first_end)?;
    let noun = Noun::of(second)?;
    is_whole(words, second_end).then_some((noun, second_end))
}

/// The word at a place, a blank or a hyphen before it allowed, and where it ends.
fn word_at(words: &str, from: usize) -> Option<(&str, usize)> {
    let rest = words.get(from..)?;
    let gap = rest.len() - rest.trim_start_matches([' ', '\n', '\r', '\u{a0}', '-']).len();
    if gap > 4 {
        return None;
    }
    let start = from + gap;
    let rest = words.get(start..)?;
    let length = rest.find(|c: char| !c.is_alphabetic()).unwrap_or(rest.len());
    (length > 0).then(|| (rest.get(..length).unwrap_or(""), start + length))
}

/// Whether a noun stands for itself: an 8-row repeat and a stitch marker are something else.
fn is_whole(words: &str, end: usize) -> bool {
    let next = word_at(words, end).map(|(word, _)| word.to_lowercase());
    let others = [
        "repeat", "repeats", "pattern", "patterns", "cable", "cables", "panel", "panels", "marker",
        "markers", "holder", "holders", "counter", "counters", "motif", "motifs", "chart",
        "charts", "gauge", "swatch",
    ];
    next.is_none_or(|next| !others.contains(&next.as_str()))
}

/// Whether `to 10 cm`, `over 4 in` follows closely: the words state a gauge.
fn gauge_follows(after: &str) -> bool {
    let near: String = after.chars().take(60).take_while(|&c| c != '.' && c != ';').collect();
    near.char_indices().filter(|(_, c)| c.is_ascii_digit()).any(|(at, _)| {
        let before = near.get(..at).unwrap_or("").trim_end().to_lowercase();
        let says = ["=", "to", "over", "per", "in", "x"].iter().any(|word| before.ends_with(word));
        says && near.get(at..).is_some_and(|text| lengths_at(text, 0).is_some())
    })
}

/// Whether a number speaks of a fabric's own repeat, in the section that defines it.
fn within_fabric(model: &Model<'_>, section: &Section, noun: Option<Noun>, n: u32) -> bool {
    let SectionKind::Fabric(name) = &section.kind else { return false };
    let Some(fabric) = model.fabric_named(&name.value) else { return false };
    let n = i64::from(n);
    match noun {
        Some(Noun::Rows) => i64::try_from(fabric.rows.len()).is_ok_and(|rows| n <= rows),
        Some(Noun::Stitches) => match fabric_counts(model, fabric) {
            FabricCount::Every { multiple, least, .. } => n <= least + i64::from(multiple.of()),
            FabricCount::Only(count) => n <= count,
            FabricCount::Never { .. } => true,
        },
        _ => noun == Some(Noun::Times),
    }
}

/// The counts that a number in prose could follow.
struct Known<'d> {
    /// Those of the steps, by section.
    given: Vec<BTreeSet<&'d Given<u32>>>,
    /// The names of those that have one.
    names: BTreeMap<&'d Given<u32>, &'d str>,
}

impl<'d> Known<'d> {
    fn of(model: &Model<'d>) -> Self {
        let mut names = BTreeMap::new();
        steps::names(model, &mut |name, _, counts| {
            if let Some(counts) = counts {
                names.entry(&counts.given).or_insert(name);
            }
        });
        Self { given: model.document.sections.iter().map(steps::given_in).collect(), names }
    }

    /// Whether a step of the passage's section gives a count.
    fn beside(&self, passage: &Passage<'_>, given: &Given<u32>) -> bool {
        self.given.get(passage.section_place).is_some_and(|all| all.contains(given))
    }
}

// --- numbers in words ---------------------------------------------------------------

fn in_words(known: &Known<'_>, passage: &Passage<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    let words = passage.words.as_str();
    let mut from = 0;
    while let Some((word, end)) = next_word(words, from) {
        let start = end - word.len();
        from = end;
        let Some((n, end)) = number_word(words, start) else { continue };
        from = end;
        let Some((noun, length)) = words.get(end..).and_then(noun_in) else { continue };
        let before = words.get(..start).unwrap_or("");
        if n < FEWEST_IN_WORDS || noun == Noun::Times || names_something(before) {
            continue;
        }
        let place = Span::new(passage.start + start, passage.start + end + length);
        findings.push(loose(place).help(if known.beside(passage, &Given::Same(n)) {
            format!("write it in digits and braces: `{{{n}}}`")
        } else {
            NAME_IT.to_owned()
        }));
    }
    findings
}

fn next_word(words: &str, from: usize) -> Option<(&str, usize)> {
    let rest = words.get(from..)?;
    let gap = rest.find(char::is_alphabetic)?;
    let rest = rest.get(gap..)?;
    let length = rest.find(|c: char| !c.is_alphabetic()).unwrap_or(rest.len());
    Some((rest.get(..length)?, from + gap + length))
}

/// `thirteen`, `thirty`, `thirty-five` at a place, and where it ends.
fn number_word(words: &str, start: usize) -> Option<(u32, usize)> {
    const TEENS: [&str; 7] =
        ["thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"];
    const TENS: [&str; 8] =
        ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];
    const ONES: [&str; 9] =
        ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine"];
    let place = |list: &[&str], word: &str| {
        let at = list.iter().position(|known| known.eq_ignore_ascii_case(word));
        at.and_then(|at| u32::try_from(at).ok())
    };
    let (word, end) = next_word(words, start)?;
    if let Some(at) = place(&TEENS, word) {
        return Some((13 + at, end));
    }
    let tens = 20 + 10 * place(&TENS, word)?;
    let joined = words.get(end..)?.starts_with(['-', ' ']);
    match next_word(words, end).filter(|(word, after)| joined && after - word.len() == end + 1) {
        Some((word, after)) => match place(&ONES, word) {
            Some(one) => Some((tens + 1 + one, after)),
            None => Some((tens, end)),
        },
        None => Some((tens, end)),
    }
}

// --- lengths ------------------------------------------------------------------------

fn loose_length(model: &Model<'_>, passage: &Passage<'_>, lengths: &Lengths) -> Option<Finding> {
    let after = passage.after(Number::Lengths(lengths.clone()).span().end);
    let of_a_tool = ["circular", "needle", "needles", "tail", "dpn", "dpns", "hook"];
    let next =
        word_at(after.trim_start_matches([')', ']']), 0).map(|(word, _)| word.to_lowercase());
    if lengths.unit == Unit::Mm || next.is_some_and(|next| of_a_tool.contains(&next.as_str())) {
        return None;
    }
    let front = &model.document.front;
    let given = |entries: &[Entry<Given<Length>>]| {
        entries.iter().any(|entry| entry.value.value == lengths.given)
    };
    let listed = lengths.given.listed() == Some(model.sizes.len()) && model.sizes.len() > 1;
    let stated = given(&front.finished) || given(&front.measure);
    let why = match (listed, stated) {
        (_, true) => "the front matter gives it too, and a rewrite writes it anew there only",
        (true, false) => "it has a value for each size, and a rewrite may change the sizes",
        (false, false) => return None,
    };
    Some(
        Finding::new(
            Code::LooseNumber,
            lengths.span,
            "this measurement stands in prose and will not follow a rewrite",
        )
        .label("not live")
        .note(why)
        .help("put it into a step or the front matter, or say it without a number"),
    )
}

#[cfg(test)]
mod tests {
    use super::super::testing::{pattern, told};

    const FRONT: &str = "gauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n";
    const STEPS: &str = "- cast on 96 in body\n- stockinette for 40 rows\n- bind off all\n";

    fn cap(prose: &str) -> String {
        pattern(FRONT, &format!("## Cap, flat\n\n{prose}\n\n{STEPS}"))
    }

    fn loose(prose: &str) -> bool {
        told(&cap(prose)).contains("[loose-number]")
    }

    #[test]
    fn a_count_in_prose_can_be_braced() {
        insta::assert_snapshot!(told(&cap("You have 96 sts now.")), @"
        warning[loose-number]: this number stands in prose and will not follow a rewrite
         --> cap.wale:9:10
          |
        9 | You have 96 sts now.
          |          ^^^^^^ not live
          |
        help: put it in braces to let it follow
          |
        9 - You have 96 sts now.
        9 + You have {96} sts now.
          |
        ");
    }

    #[test]
    fn a_count_that_no_step_gives_has_no_mend_by_itself() {
        insta::assert_snapshot!(told(&cap("After thirty-five ridges and 88 brim stitches stop.")), @"
        warning[loose-number]: this number stands in prose and will not follow a rewrite
         --> cap.wale:9:7
          |
        9 | After thirty-five ridges and 88 brim stitches stop.
          |       ^^^^^^^^^^^^^^^^^^ not live
          |
          = help: say it without a number, or name the count where it is set, as in `cast on 96 [as brim]`, and write `{brim}` here

        warning[loose-number]: this number stands in prose and will not follow a rewrite
         --> cap.wale:9:30
          |
        9 | After thirty-five ridges and 88 brim stitches stop.
          |                              ^^^^^^^^^^^^^^^^ not live
          |
          = help: say it without a number, or name the count where it is set, as in `cast on 96 [as brim]`, and write `{brim}` here
        ");
    }

    #[test]
    fn a_gauge_in_prose_belongs_into_the_front_matter() {
        insta::assert_snapshot!(told(&cap("The gauge is 20 sts and 28 rows to 10 cm.")), @"
        warning[loose-number]: this number stands in prose and will not follow a rewrite
         --> cap.wale:9:14
          |
        9 | The gauge is 20 sts and 28 rows to 10 cm.
          |              ^^^^^^ not live
          |
          = help: leave the gauge to the front matter, which a rewrite writes anew

        warning[loose-number]: this number stands in prose and will not follow a rewrite
         --> cap.wale:9:25
          |
        9 | The gauge is 20 sts and 28 rows to 10 cm.
          |                         ^^^^^^^ not live
          |
          = help: leave the gauge to the front matter, which a rewrite writes anew
        ");
    }

    #[test]
    fn a_measurement_that_a_rewrite_writes_anew_is_loose() {
        let front = format!("{FRONT}finished:\n  head: 48 cm\n");
        let text = |prose| {
            let body = format!("## Cap, flat\n\n{prose}\n\n- cast on 96 in body\n- bind off all\n");
            told(&pattern(&front, &body))
        };
        insta::assert_snapshot!(text("It is 48 cm around. Leave a tail of 20 cm."), @"
        warning[loose-number]: this measurement stands in prose and will not follow a rewrite
          --> cap.wale:11:7
           |
        11 | It is 48 cm around. Leave a tail of 20 cm.
           |       ^^^^^ not live
           |
           = note: the front matter gives it too, and a rewrite writes it anew there only
           = help: put it into a step or the front matter, or say it without a number
        ");
    }

    #[test]
    fn what_does_not_change_in_a_rewrite_is_not_loose() {
        for prose in [
            "It takes 2 evenings and 3 tries.",
            "Use 4 mm needles and 8 stitch markers.",
            "Slip the first 2 sts of row 12.",
            "The lace is a multiple of 12 sts plus 3.",
            "It has an 8-row repeat and a 6-stitch cable.",
            "Knit two stitches together; repeat every 2nd round.",
            "See page 96, chart 4, size 40.",
            "On rows 4 and 8 stitches are slipped.",
            "Work {96} sts, or `96 sts`.",
            "The 4th row of the lace is a purl row.",
            "Leave a 20 cm tail.",
            "She was born in 1918 at 12 Harbour Street.",
        ] {
            assert!(!loose(prose), "{prose}\n{}", told(&cap(prose)));
        }
    }

    #[test]
    fn what_would_be_left_behind_is_loose() {
        for prose in [
            "Now there are 96 stitches.",
            "Increase every 4th row.",
            "Work 8 rows even.",
            "Work 20 more rounds.",
            "It has 12-13 sts too many.",
            "Repeat this 5 times.",
            "There are 96st left.",
            "| row | sts |\n|---|---|\n| last | 12 sts |",
            "Fifteen stitches wait.",
        ] {
            assert!(loose(prose), "{prose}");
        }
    }

    #[test]
    fn a_list_by_size_is_loose_whatever_its_noun() {
        let front = format!("sizes: [a, b, c]\n{FRONT}");
        let body = |prose: &str| format!("## Cap, flat\n\n{prose}\n\n{STEPS}");
        let text = |prose: &str| told(&pattern(&front, &body(prose)));
        insta::assert_snapshot!(text("Cast on 96 (104, 112) and knit."), @"
        warning[loose-number]: this number stands in prose and will not follow a rewrite
          --> cap.wale:10:9
           |
        10 | Cast on 96 (104, 112) and knit.
           |         ^^^^^^^^^^^^^ not live
           |
           = help: say it without a number, or name the count where it is set, as in `cast on 96 [as brim]`, and write `{brim}` here
        ");
        insta::assert_snapshot!(text("It is 12 (13, 14) cm deep."), @"
        warning[loose-number]: this measurement stands in prose and will not follow a rewrite
          --> cap.wale:10:7
           |
        10 | It is 12 (13, 14) cm deep.
           |       ^^^^^^^^^^^^^^ not live
           |
           = note: it has a value for each size, and a rewrite may change the sizes
           = help: put it into a step or the front matter, or say it without a number
        ");
    }

    #[test]
    fn the_numbers_of_a_fabric_stay_with_it() {
        let lace = "- row 1 (RS): *k2, yo, k2tog; rep from *\n- row 2 (WS): purl\n";
        let text = |prose: &str| {
            let body = format!(
                "## Lace, fabric\n\n{prose}\n\n{lace}\n## Cap, flat\n\n- cast on 96 in body\n- lace for 40 rows\n- bind off all\n"
            );
            told(&pattern(FRONT, &body))
        };
        assert_eq!(text("A lace of 4 sts over 2 rows."), "nothing");
        insta::assert_snapshot!(text("Over 96 sts there are 24 of them."), @"
        warning[loose-number]: this number stands in prose and will not follow a rewrite
         --> cap.wale:9:6
          |
        9 | Over 96 sts there are 24 of them.
          |      ^^^^^^ not live
          |
          = help: say it without a number, or name the count where it is set, as in `cast on 96 [as brim]`, and write `{brim}` here
        ");
    }

    #[test]
    fn the_remark_of_a_step_is_prose_too() {
        let body = "## Cap, flat\n\n- cast on 96 in body; 96 sts, no more\n- note: 40 rows now\n- stockinette for 40 rows\n- bind off all\n";
        insta::assert_snapshot!(told(&pattern(FRONT, body)), @"
        warning[loose-number]: this number stands in prose and will not follow a rewrite
         --> cap.wale:9:23
          |
        9 | - cast on 96 in body; 96 sts, no more
          |                       ^^^^^^ not live
          |
        help: put it in braces to let it follow
          |
        9 - - cast on 96 in body; 96 sts, no more
        9 + - cast on 96 in body; {96} sts, no more
          |

        warning[loose-number]: this number stands in prose and will not follow a rewrite
          --> cap.wale:10:9
           |
        10 | - note: 40 rows now
           |         ^^^^^^^ not live
           |
        help: put it in braces to let it follow
           |
        10 - - note: 40 rows now
        10 + - note: {40} rows now
           |
        ");
    }
}
