//! One instruction: a list item's own text.
//!
//! The grammar is in `grammar/step.md`. The opening words decide what kind of
//! instruction it is; after them the parser commits, so that an error says
//! what that kind needs. What follows the instruction (a side to end with, a
//! stated count, marks, a remark) is the same for all kinds and in `tail`.

mod advice;
mod item;
mod needles;
mod parts;
mod rows;
mod shaping;
mod tail;
mod work;

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{map, opt, value};
use nom::sequence::preceded;

use super::abbreviation::{near, stitch_word, stop_at_unknown};
use super::color;
use super::error::{Expected, THE_END, found};
use super::row::color_leads_stitches;
use super::terminals::{first_word, name, phrase, side, sign};
use super::text::{Parsed, Text, Vocabulary, follows, maybe, quietly, spanned, stop, whole};
use super::tree::{Action, Side, Step};
use crate::diag::{Code, Finding, words};
use crate::source::{Span, Spanned};

/// Reads one instruction. A nested list is the caller's to add.
///
/// A step that only says something ([`Action::Say`]) has all its words as its
/// remark.
///
/// # Errors
/// A finding at the place where the instruction cannot be understood.
pub fn parse(text: &str, offset: usize, vocabulary: &Vocabulary) -> Result<Step, Finding> {
    whole(text, offset, vocabulary, THE_END, step)
        .map_err(|finding| advice::advised(finding, text, offset))
}

/// Reads the instructions of a list item, in order: all but the first have a
/// [`link`](Step::link). A nested list is the caller's to add.
///
/// # Errors
/// A finding at the first place where an instruction cannot be understood.
pub fn item(text: &str, offset: usize, vocabulary: &Vocabulary) -> Result<Vec<Step>, Finding> {
    whole(text, offset, vocabulary, THE_END, item::steps)
        .map_err(|finding| advice::advised(finding, text, offset))
}

/// What follows comes in any order; a say step's words are all remark.
///
/// ```text
/// step = [ only ] [ lead ] action [ coloring ] [ ending ] [ stated ] { mark } [ "." ] [ ";" remark ]
/// ```
fn step(input: Text<'_>) -> Parsed<'_, Step> {
    let start = input.trimmed();
    let (rest, only) = maybe(only)(start)?;
    let rest = rest.trimmed();
    let (rest, lead) = maybe(lead)(rest)?;
    let (rest, (action, led)) = action(rest.trimmed())?;
    let lead = match (lead, led) {
        // What is said of a row that changes evenly stands right before the change.
        (Some(lead), Some(led)) if matches!(action, Action::Even { .. }) => Some(lead.and(led)),
        (lead, led) => lead.or(led),
    };
    let (rest, mut step) = finished(start, lead, action, rest)?;
    step.only = only.unwrap_or_default();
    Ok((rest, step))
}

/// The step that begins at `start`, with what follows its action at `rest`.
fn finished<'a>(
    start: Text<'a>,
    lead: Option<Lead>,
    action: Action,
    rest: Text<'a>,
) -> Parsed<'a, Step> {
    let (lead, facing, color) = match lead {
        Some(Lead { span, facing, color }) => (Some(span), facing, color),
        None => (None, None, None),
    };
    let mut step = Step {
        span: start.span_to(rest),
        only: Vec::new(),
        lead,
        facing,
        color,
        action,
        ending: None,
        stated: None,
        marks: Vec::new(),
        remark: None,
        link: None,
        steps: Vec::new(),
    };
    let rest = if matches!(step.action, Action::Say) {
        tail::said(rest, &mut step)?
    } else {
        tail::tail(rest, &mut step)?
    };
    step.span = start.span_to(rest);
    color_of_the_row(&mut step);
    Ok((rest, step))
}

/// Where all there is of a row has one color, it is that of the row: `row 1: with CC knit`.
fn color_of_the_row(step: &mut Step) {
    if let (None, Action::Row { items, .. }) = (&step.color, &mut step.action)
        && let [only] = items.as_mut_slice()
    {
        step.color = only.color.take();
    }
}

/// Words before an instruction.
struct Lead {
    span: Span,
    /// The side that they say is facing.
    facing: Option<Spanned<Side>>,
    /// The color that they name.
    color: Option<Spanned<String>>,
}

impl Lead {
    /// Both, one after the other.
    fn and(self, next: Self) -> Self {
        Self {
            span: self.span.to(next.span),
            facing: self.facing.or(next.facing),
            color: self.color.or(next.color),
        }
    }
}

/// Words before the instruction that change no count.
///
/// ```text
/// lead = one-lead { one-lead }
/// one-lead = lead-words ( facing | word { word } ) "," | facing ","
///          | ( "with" | "using" ) [ "the" ] which-needles ( "needles" | "needle" ) [ "," ]
/// lead-words = "with" | "using" | ( "beginning" | "starting" | "beg" ) "with"
/// facing = [ "the" ] side "facing"
/// which-needles = "smaller" | "larger" | "finer" | "thicker" | "long" | "short" | "circular" | "straight"
///               | "double-pointed" | "spare" | "same" | "main"
/// ```
fn lead(input: Text<'_>) -> Parsed<'_, Lead> {
    let (mut rest, mut lead) = one_lead(input)?;
    while let (after, Some(next)) = maybe(one_lead)(rest)? {
        lead = lead.and(next);
        rest = after;
    }
    Ok((rest, lead))
}

fn one_lead(input: Text<'_>) -> Parsed<'_, Lead> {
    alt((quietly(side_alone), quietly(needles_alone), quietly(color_alone), words_before))
        .parse(input.trimmed())
}

/// `RS facing,`
fn side_alone(start: Text<'_>) -> Parsed<'_, Lead> {
    let (rest, side) = spanned(facing)(start)?;
    let span = start.span_to(rest);
    let (rest, _) = opt(sign(',')).parse(rest)?;
    Ok((rest, Lead { span, facing: Some(side), color: None }))
}

/// `with the smaller needles cast on`: they need no comma.
fn needles_alone(start: Text<'_>) -> Parsed<'_, Lead> {
    let (rest, ()) = phrase("with|using the?")(start)?;
    let (rest, ()) = phrase(
        "smaller|larger|finer|thicker|long|short|circular|straight|spare|double-pointed|same|main needles|needle",
    )(rest)?;
    let span = start.span_to(rest);
    let (rest, comma) = opt(sign(',')).parse(rest)?;
    let more = phrase("and|or|in|for|from|of");
    if comma.is_none() && follows(rest, more) && !color_leads_stitches(rest) {
        return rest.fail(Expected::Sign(','));
    }
    Ok((rest, Lead { span, facing: None, color: None }))
}

/// `with CC knit 2 rows`: a color needs none either, but before stitches it is theirs.
fn color_alone(start: Text<'_>) -> Parsed<'_, Lead> {
    let (_, ()) = phrase("with|using")(start)?;
    let (rest, color) = color::coloring(start)?;
    if !item::begins_clause(rest) {
        return rest.fail(Expected::Sign(','));
    }
    Ok((rest, Lead { span: start.span_to(rest), facing: None, color: Some(color) }))
}

fn words_before(start: Text<'_>) -> Parsed<'_, Lead> {
    if color_leads_stitches(start) {
        return start.fail(Expected::Thing("words"));
    }
    let (rest, ()) = alt((phrase("with|using"), phrase("beginning|starting|beg|begin|start with")))
        .parse(start)?;
    let length = rest.rest().find(|c: char| !(c.is_alphanumeric() || " \n-.'’/".contains(c)));
    let length = length.unwrap_or(rest.rest().len());
    let words = rest.skip(length);
    if rest.rest().len() == words.rest().len() {
        return rest.trimmed().fail(Expected::Thing("words"));
    }
    let (after, ()) = sign(',')(words)?;
    let said = nom::Input::take(&rest, length);
    let color = color::led(said);
    let facing = quietly(spanned(facing))(said).ok().map(|(_, side)| side);
    Ok((after, Lead { span: start.span_to(words), facing, color }))
}

/// `the right side facing`
fn facing(input: Text<'_>) -> Parsed<'_, Side> {
    let (rest, _) = opt(phrase("the")).parse(input)?;
    let (rest, side) = side(rest)?;
    let (rest, ()) = phrase("of? the? work? facing")(rest)?;
    Ok((rest, side))
}

/// ```text
/// only = [ "for" ] ( "size" | "sizes" ) name { name-separator name } [ "only" ] ":"
/// ```
fn only(input: Text<'_>) -> Parsed<'_, Vec<Spanned<String>>> {
    let (mut rest, ()) = phrase("for? sizes|size")(input)?;
    let mut names = Vec::new();
    loop {
        let (after, size) = name(&["and", "only"])(rest)?;
        names.push(size);
        let (after, more) = opt(name_separator).parse(after)?;
        rest = after;
        if more.is_none() {
            break;
        }
    }
    let (rest, _) = opt(phrase("only")).parse(rest)?;
    let (rest, ()) = sign(':')(rest)?;
    Ok((rest, names))
}

/// ```text
/// name-separator = "," [ "and" ] | "and" | "&"
/// ```
fn name_separator(input: Text<'_>) -> Parsed<'_, ()> {
    alt((preceded(sign(','), value((), opt(phrase("and")))), phrase("and"), sign('&'))).parse(input)
}

/// What an instruction may begin with, for messages.
const OPENINGS: &[&str] = &[
    "cast on",
    "join",
    "work",
    "change to",
    "stripes:",
    "row",
    "round",
    "next row",
    "repeat",
    "increase",
    "decrease",
    "turn the heel",
    "bind off",
    "leave",
    "hold",
    "take up",
    "pick up",
    "at the same time",
    "work as for",
    "break yarn",
    "graft",
    "note:",
    "sew",
    "seam",
    "weave",
    "block",
    "fasten off",
    "stockinette",
    "garter",
    "seed",
];

/// ```text
/// action = even-row | together | note | row-step | stripes | reverse | part | close | say | cast-on | join
///        | work-flat | change-to | as-for | repeat-rows | turn-heel | even | wedges | shape
///        | short-rows | bind-off-step | hold | take-up | pick-up | work-rows | work
/// ```
///
/// A row may have words of its own between its label and its stitches; they are given too.
fn action(input: Text<'_>) -> Parsed<'_, (Action, Option<Lead>)> {
    let start = input.trimmed();
    if start.rest().is_empty() {
        return start.fail(Expected::Thing("an instruction"));
    }
    let rest = alt((
        alt((parts::together, parts::note, color::stripes)),
        alt((quietly(parts::reverse), quietly(parts::part), needles::close, parts::say)),
        alt((needles::cast_on, needles::join, work::work_flat, needles::change_to)),
        alt((parts::as_for, rows::repeat_rows, shaping::turn_heel, shaping::changes)),
        quietly(needles::short_rows),
        alt((needles::bind_off, needles::hold, needles::take_up, needles::pick_up)),
        alt((rows::work_rows, work::work, rows::bare_row, quietly(work::named_work))),
    ));
    let even_row = map(shaping::even_row, |(action, lead)| (action, Some(lead)));
    match alt((even_row, rows::labelled_row, map(rest, |action| (action, None)))).parse(start) {
        Err(nom::Err::Error(failure)) if failure.place() <= start.offset() => unknown(start),
        other => other,
    }
}

fn unknown<T>(start: Text<'_>) -> Parsed<'_, T> {
    let similar = similar_opening(start.rest());
    let stitch = stitch_word(start.rest());
    if similar.is_none() && near(stitch, start.own()).is_some() {
        return stop_at_unknown(start, stitch);
    }
    let (length, found) = found(start.rest());
    let span = Span::new(start.offset(), start.offset() + length);
    let all: Vec<String> = OPENINGS.iter().map(|opening| format!("`{opening}`")).collect();
    let all = words::list(&all, "or");
    let finding =
        Finding::new(Code::Syntax, span, format!("expected an instruction, but found {found}"))
            .label("not an opening that is known")
            .note(format!("an instruction begins with {all}, a fabric, or stitches"));
    let finding = match similar {
        Some(similar) => finding.help(format!("a similar opening exists: `{similar}`")),
        None => finding,
    };
    let finding = finding.help("words for the knitter alone go after `note:`");
    let of_a_row = stitch.len() < start.rest().len()
        && (stitch.contains(|c: char| c.is_ascii_digit()) || start.rest().contains(','));
    stop(if of_a_row {
        finding.help("a stitch of your own goes under `abbreviations:` in the front matter")
    } else {
        finding
    })
}

fn similar_opening(text: &str) -> Option<&'static str> {
    let word = first_word(text);
    let two = text.split_whitespace().take(2).collect::<Vec<_>>().join(" ");
    let first_words = || OPENINGS.iter().filter_map(|opening| opening.split(' ').next());
    words::nearest(&two, OPENINGS.iter().copied())
        .or_else(|| words::nearest(word, first_words().filter(|opening| opening.len() > 3)))
}

/// Nothing more but what may follow every instruction.
fn action_end(input: Text<'_>) -> Parsed<'_, ()> {
    let here = input.trimmed();
    let over = here.rest().is_empty()
        || follows(here, color::coloring)
        || here.rest().starts_with([';', '(', '[', '.'])
        || follows(here, tail::stated)
        || follows(here, tail::ending)
        || item::goes_on(here);
    if over { Ok((input, ())) } else { here.fail(Expected::Thing(THE_END)) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::syntax::print;
    use crate::syntax::tree::Setting;

    /// Reads `text` and writes it in the canonical way.
    #[track_caller]
    fn canonical(text: &str) -> String {
        match parse(text, 0, &Vocabulary::default()) {
            Ok(step) => print::step(&step, Setting::Flat, |span| text[span.range()].to_owned()),
            Err(finding) => panic!("{text}\n{finding:#?}"),
        }
    }

    /// Reads `text`, which must fail, and gives the code, the place and the message.
    #[track_caller]
    fn refused(text: &str) -> String {
        match parse(text, 0, &Vocabulary::default()) {
            Ok(step) => panic!("{text} was read as {step:#?}"),
            Err(f) => format!("{} {:?}: {}", f.code.name(), f.place(), f.message),
        }
    }

    #[test]
    fn what_is_canonical_stays_so() {
        for text in [
            "cast on 96 (104, 112, 120) in brim",
            "cast on ? in hem [hip + ease] [multiple of 4 plus 2]",
            "cast on 26 at the end of the next 2 rows",
            "cast on 28 over the gap",
            "join in the round",
            "work flat",
            "change to body [lies snug 12%]",
            "work in k2 p2 rib for 5 cm / 2 in",
            "work in stockinette until 13 (14, 15, 16) cm from cast on, ending with a WS row",
            "work even until 20 (21, 22) cm from armhole",
            "decrease evenly to 88 (96, 104, 112) [head + ease]",
            "increase evenly by 8 over 3 rows",
            "decrease in 8 wedges every 2nd row to 8",
            "decrease 1 each end every RS row 5 (6, 8) times, then every 4th row 3 times",
            "row 1 (RS): *k2, p2; rep from * to last 2 sts, k2 (88 (96, 104) sts)",
            "k{24 (26, 28)}, bind off {38 (40, 42)} [neck], k{24 (26, 28)}",
            "repeat rows 1-2 for 6 cm, ending with a WS row",
            "repeat the last 2 rows 3 more times",
            "bind off 6 (7, 8) at the start of the next 2 rows",
            "bind off all 24 (28)",
            "turn the heel to 16 (18, 20)",
            "hold all as left shoulder",
            "hold 40 (44) as left sleeve, k to end",
            "take up left sleeve, body, right sleeve",
            "pick up 3 for every 4 rows along front edge (80 sts)",
            "left shoulder:",
            "each side:",
            "right shoulder: reverse left shoulder",
            "at the same time:",
            "work as for back to armhole",
            "work as for left front, reversing all shaping",
            "break yarn and draw through",
            "sizes large and small only: k2, p2",
            "note: you have {96 (104)} sts [allow loose-number: a hymn number]",
            "weave in ends",
        ] {
            assert_eq!(canonical(text), text);
        }
    }

    #[test]
    fn other_ways_to_say_it() {
        for (text, same) in [
            ("Cast off all sts in rib.", "bind off all"),
            ("bind off", "bind off all"),
            ("k2, p2 rib for 5 cm", "work in k2 p2 rib for 5 cm"),
            ("rib of k1, p1 for 2 1/2 in", "work in k1 p1 rib for 2 1/2 in"),
            ("2x2 ribbing 6 rows", "work in k2 p2 rib for 6 rows"),
            ("St st until piece measures 13\"", "work in stockinette until 13 in from cast on"),
            ("moss stitch for 6 rows", "work in seed for 6 rows"),
            ("lattice for 6 cm", "work in lattice for 6 cm"),
            ("work 6 rows even", "work even for 6 rows"),
            ("knit 4 rounds", "next 4 rows: k to end"),
            ("1st and 3rd rows (WS): purl", "rows 1, 3 (WS): purl to end"),
            ("increase 8 sts evenly across the next round", "increase evenly by 8"),
            (
                "dec 1 st at neck edge on the next 5 rows",
                "decrease 1 at the neck edge every row 5 times",
            ),
            (
                "inc 1 each end on the 5th and every following 4th row to 45 (47, 49)",
                "increase 1 each end every 5th row once, then every 4th row to 45 (47, 49)",
            ),
            (
                "decrease 1 at both ends every other row twice",
                "decrease 1 each end every 2nd row twice",
            ),
            ("pick up and knit 80 sts around the neck", "pick up 80 along neck"),
            (
                "place next 40 sts on hold as left sleeve, k to end",
                "hold 40 as left sleeve, k to end",
            ),
            ("row 3: k2, ssk. 88 sts.", "row 3: k2, ssk (88 sts)"),
            ("row 3: k2, ssk — 88 sts", "row 3: k2, ssk (88 sts)"),
            ("cast on 8, k to end", "cast on 8, k to end"),
            ("bind off 24, k to end", "bind off 24, k to end"),
        ] {
            assert_eq!(canonical(text), same);
            assert_eq!(canonical(same), same);
        }
    }

    #[test]
    fn errors_say_what_was_expected() {
        let table = [
            "cast on brim",
            "stockinette for 5",
            "stockinette until 13 cm",
            "decrease evenly 88",
            "decrease 1 each end",
            "decrease evenly to 88 foo",
            "incraese evenly to 88",
            "frobnicate",
            "row 1 (XS): k2",
            "row 1: k2,",
            "row 1: k2, k2tgo, k3",
            "k2, p2; k2",
            "cast on 999999",
            "repeat for 6 cm",
            "note: {96",
            "",
        ]
        .map(|text| format!("{text}\n  {}\n", refused(text)));
        insta::assert_snapshot!(table.concat(), @r"
        cast on brim
          syntax 8..12: expected a count, but found `brim`
        stockinette for 5
          syntax 17..17: expected a unit (`cm` or `in`) or `rows`, but found the end
        stockinette until 13 cm
          syntax 23..23: expected `from`, but found the end
        decrease evenly 88
          syntax 16..18: expected `to` or `by`, but found `88`
        decrease 1 each end
          syntax 19..19: expected when (`every 4th row`, `on the next row`), but found the end
        decrease evenly to 88 foo
          syntax 22..25: expected the end of the instruction, but found `foo`
        incraese evenly to 88
          syntax 0..8: expected an instruction, but found `incraese`
        frobnicate
          syntax 0..10: expected an instruction, but found `frobnicate`
        row 1 (XS): k2
          syntax 7..9: expected `RS` or `WS`, but found `XS`
        row 1: k2,
          syntax 10..10: expected a stitch, but found the end
        row 1: k2, k2tgo, k3
          unknown-stitch 11..16: `k2tgo` is not a stitch that is known here
        k2, p2; k2
          syntax 6..7: a `;` ends the row and begins a remark, but stitches follow
        cast on 999999
          beyond-any-garment 8..14: 999999 is beyond any garment
        repeat for 6 cm
          syntax 7..10: expected rows to repeat, but found `for`
        note: {96
          syntax 6..7: this `{` is never closed

          syntax 0..0: expected an instruction, but found the end
        ");
    }

    /// The words and signs that instructions are made of, and some that they are not.
    const SOUP: &[&str] = &[
        "k",
        "p2",
        "k2tog",
        "2/2 RC",
        "sl1",
        "wyif",
        "yo",
        "(",
        ")",
        "[",
        "]",
        "{",
        "}",
        "*",
        "\\*",
        "**",
        ",",
        ";",
        ":",
        ".",
        "-",
        "—",
        "--",
        "?",
        "/",
        "+",
        "%",
        "&",
        "\"",
        "½",
        "2 1/2",
        "0",
        "3",
        "12",
        "99999",
        "4294967296",
        "cm",
        "in",
        "rep",
        "from",
        "to",
        "end",
        "last",
        "sts",
        "st",
        "times",
        "more",
        "twice",
        "row",
        "rows",
        "1-4",
        "RS",
        "WS",
        "(RS)",
        "next",
        "every",
        "4th",
        "other",
        "cast on",
        "bind off",
        "all",
        "at the start of the next",
        "decrease",
        "increase",
        "evenly",
        "in 8 wedges",
        "each end",
        "then",
        "and",
        "until",
        "for",
        "work",
        "even",
        "rib",
        "stockinette",
        "k2 p2 rib",
        "repeat",
        "hold",
        "as",
        "take up",
        "pick up",
        "along",
        "change to",
        "join",
        "marker",
        "pm",
        "sm A",
        "turn",
        "w&t",
        "note:",
        "sew",
        "reverse",
        "each side",
        ":",
        "sizes L only:",
        "ending with a WS row",
        "(88 sts)",
        "[fixed]",
        "[multiple of",
        "[allow x: y]",
        "lies snug",
        "chest",
        "ease",
        "bob",
        "é",
        "日本",
        "\u{a0}",
        "\n   ",
        "\t",
        " ",
        "ſ",
        "İ",
        "x",
    ];

    /// Every place in a tree or finding, from its debug form.
    fn places(debug: &str) -> Vec<(usize, usize)> {
        let number = |text: &str| text.parse::<usize>().ok();
        let ends = debug.match_indices("..").filter_map(|(at, _)| {
            let before = debug.get(..at)?;
            let after = debug.get(at + 2..)?;
            let start = before.rfind(|c: char| !c.is_ascii_digit()).map_or(0, |i| i + 1);
            let end = after.find(|c: char| !c.is_ascii_digit()).unwrap_or(after.len());
            Some((number(before.get(start..)?)?, number(after.get(..end)?)?))
        });
        ends.collect()
    }

    proptest::proptest! {
        #[test]
        fn any_text_is_read_or_refused_at_a_place_in_it(
            words in proptest::collection::vec(proptest::sample::select(SOUP), 0..14),
            spaced in proptest::prelude::any::<bool>(),
        ) {
            let text = words.join(if spaced { " " } else { "" });
            let offset = 7;
            let vocabulary = Vocabulary {
                own: vec!["bob".to_owned(), "é".to_owned()],
                colors: vec!["CC".to_owned()],
            };
            let (debug, within) = match parse(&text, offset, &vocabulary) {
                Ok(step) => {
                    let whole = step.span;
                    (format!("{step:?}"), whole)
                }
                Err(finding) => {
                    let spans: Vec<Span> = finding.labels.iter().map(|label| label.span).collect();
                    (format!("{spans:?} {:?}", finding.patch.map(|patch| patch.span)),
                     Span::new(offset, offset + text.len()))
                }
            };
            for (start, end) in places(&debug) {
                proptest::prop_assert!(within.start <= start && start <= end && end <= within.end, "{text:?} {start}..{end}");
                proptest::prop_assert!(text.get(start - offset..end - offset).is_some(), "{text:?} {start}..{end}");
            }
        }
    }
}
