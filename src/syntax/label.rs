//! Which row, and on which side: `row 1 (RS):`, `rounds 1-4:`, `next 4 rounds:`.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, map, opt, value};
use nom::sequence::{delimited, preceded};

use super::error::Expected;
use super::terminals::{
    count, first_word, number, phrase, rows_word, side, sign, sign_of, stitches_word, unwritten,
};
use super::text::{Parsed, Text, follows, maybe, quietly, spanned, stop};
use super::tree::{Counts, RowLabel, RowRange, Side};
use crate::diag::{Code, Finding};
use crate::source::{Span, Spanned};

/// ```text
/// label = ( numbered | ordinal-rows | next-rows | named-row ) [ side-note ] [ and-all | "(" and-all ")" ] [ side-note ] ":" [ "(" side ")" ]
///       | all-rows ":"
/// ```
pub(super) fn label(input: Text<'_>) -> Parsed<'_, RowLabel> {
    let start = input.trimmed();
    if let Ok((rest, label)) = quietly(all_rows)(start) {
        return Ok((rest, label));
    }
    let mut numbering = alt((next_rows, quietly(named_row), numbered, quietly(ordinal_rows)));
    let (rest, Numbers { numbers, name, next }) = numbering.parse(start)?;
    let (rest, before) = side_note_if_any(rest)?;
    let bracketed = delimited(sign('('), and_all(&numbers), sign(')'));
    let (rest, and_all) = maybe(alt((bracketed, and_all(&numbers))))(rest)?;
    let (rest, after) = side_note_if_any(rest)?;
    let span = start.span_to(rest);
    let (rest, ()) = cut(sign(':')).parse(rest)?;
    let (rest, last) = maybe(bracketed_side)(rest)?;
    let side = before.or(after).or(last);
    let rounds = says_rounds(start, span);
    Ok((rest, RowLabel { span, numbers, name, next, rounds, side, and_all }))
}

/// Every row of one side: what is said of it holds for all that are not said otherwise.
///
/// ```text
/// all-rows = [ "all" | "every" | "each" ] ( side | "even" | "even-numbered" | "odd" | "odd-numbered" ) rows
/// ```
fn all_rows(input: Text<'_>) -> Parsed<'_, RowLabel> {
    let (rest, ()) = phrase("all|every|each?")(input)?;
    let (rest, side) = side_or_parity(rest)?;
    let (rest, ()) = rows_word(rest)?;
    let span = input.span_to(rest);
    let next = unwritten(rest.offset(), 1);
    let (rest, ()) = sign(':')(rest)?;
    let label = RowLabel {
        span,
        numbers: Vec::new(),
        name: None,
        next,
        rounds: says_rounds(input, span),
        side: None,
        and_all: Some(side),
    };
    Ok((rest, label))
}

/// Whether a label speaks of rounds and not of rows.
fn says_rounds(start: Text<'_>, span: Span) -> bool {
    let length = span.end.saturating_sub(start.offset());
    let words = start.rest().get(..length).unwrap_or("").to_ascii_lowercase();
    words.contains("round") || words.contains("rnd")
}

/// Even rounds are those that would be on the wrong side.
fn side_or_parity(input: Text<'_>) -> Parsed<'_, Side> {
    alt((
        side,
        value(Side::Wrong, phrase("even|even-numbered")),
        value(Side::Right, phrase("odd|odd-numbered")),
    ))
    .parse(input)
}

/// ```text
/// side-note = "(" side ")" | side
/// ```
fn side_note(input: Text<'_>) -> Parsed<'_, Spanned<Side>> {
    alt((bracketed_side, spanned(side))).parse(input)
}

fn bracketed_side(input: Text<'_>) -> Parsed<'_, Spanned<Side>> {
    delimited(sign('('), cut(spanned(side)), cut(sign(')'))).parse(input)
}

pub(super) fn side_note_if_any(input: Text<'_>) -> Parsed<'_, Option<Spanned<Side>>> {
    if input.trimmed().rest().starts_with('(')
        && !follows(input, (sign('('), opt(sign(',')), and_more))
    {
        return map(side_note, Some).parse(input);
    }
    maybe(side_note)(input)
}

/// The words that begin the other rows of a label.
fn and_more(input: Text<'_>) -> Parsed<'_, ()> {
    phrase("and? all|every")(input)
}

/// ```text
/// and-all = [ "," ] [ "and" ] ( "all" | "every" ) [ "following" ]
///           ( side | "even" | "even-numbered" | "odd" | "odd-numbered" ) rows
///         | [ "," ] "and" "every" [ "following" ] ( "other" | "alternate" | "alt" ) rows
/// ```
fn and_all<'a>(numbers: &[RowRange]) -> impl Fn(Text<'a>) -> Parsed<'a, Side> {
    // Every other row from row 2 on are the even ones.
    let first = numbers.first().copied();
    let even = matches!(first, Some(RowRange::Numbered { first, .. }) if first % 2 == 0);
    let own = if even { Side::Wrong } else { Side::Right };
    move |input| {
        let (rest, _) = opt(sign(',')).parse(input)?;
        let other = value(own, phrase("and every following|foll? other|alternate|alt"));
        let named = preceded(phrase("and? all|every following|foll?"), side_or_parity);
        let (rest, side) = alt((other, named)).parse(rest)?;
        let (rest, ()) = rows_word(rest)?;
        Ok((rest, side))
    }
}

/// Which rows a label is for.
struct Numbers {
    numbers: Vec<RowRange>,
    name: Option<Spanned<String>>,
    next: Counts,
}

impl Numbers {
    fn numbered(numbers: Vec<RowRange>, at: usize) -> Self {
        Self { numbers, name: None, next: unwritten(at, 1) }
    }
}

/// ```text
/// next-rows = [ "the" ] ( "next" | "following" ) [ count ] rows
/// ```
fn next_rows(input: Text<'_>) -> Parsed<'_, Numbers> {
    let (rest, ()) = phrase("the? next|following|foll")(input)?;
    let (rest, next) = opt(count).parse(rest)?;
    let next = next.unwrap_or_else(|| unwritten(rest.trimmed().offset(), 1));
    let (rest, ()) = rows_word(rest)?;
    Ok((rest, Numbers { numbers: Vec::new(), name: None, next }))
}

/// ```text
/// numbered = [ "short" ] rows row-range { ( "," [ "and" ] | "and" | "&" ) row-range }
/// ```
fn numbered(input: Text<'_>) -> Parsed<'_, Numbers> {
    let (rest, ()) = phrase("short? rows|row|rounds|round|rnds|rnd")(input)?;
    let (mut rest, first) = cut(row_range).parse(rest)?;
    let mut ranges = vec![first];
    while let Ok((after, ())) = quietly(alt((
        preceded(sign(','), value((), opt(phrase("and")))),
        phrase("and"),
        sign('&'),
    )))(rest)
    {
        let Ok((after, range)) = quietly(row_range)(after) else { break };
        ranges.push(range);
        rest = after;
    }
    Ok((rest, Numbers::numbered(ranges, rest.offset())))
}

/// ```text
/// row-range = number [ ( "-" | "–" | "to" | "through" ) number ]
/// ```
pub(super) fn row_range(input: Text<'_>) -> Parsed<'_, RowRange> {
    let start = input.trimmed();
    let (rest, first) = number(start)?;
    let dash = || alt((value((), sign_of(&['-', '–'], "`-`")), phrase("to|through|thru")));
    // "Rows 1 and 2 to 40 sts", "row 3 - 40 sts": that is what they are worked to.
    let left = alt((stitches_word, phrase("remain|remains|remaining|rem|left")));
    let (rest, last) = if follows(rest, (dash(), count, left)) {
        (rest, None)
    } else {
        maybe(preceded(dash(), number))(rest)?
    };
    let last = last.unwrap_or(first);
    if first == 0 || last < first {
        let finding = Finding::new(
            Code::Syntax,
            start.span_to(rest),
            "rows are numbered from 1 upwards, the lower number first",
        )
        .label("not a run of rows");
        return stop(finding);
    }
    Ok((rest, RowRange::Numbered { first, last }))
}

/// ```text
/// ordinal-rows = ordinal { ( "," | "and" | "&" ) ordinal } rows
/// ```
fn ordinal_rows(input: Text<'_>) -> Parsed<'_, Numbers> {
    let (mut rest, first) = ordinal(input)?;
    let mut ranges = vec![RowRange::Numbered { first, last: first }];
    while let Ok((after, n)) =
        quietly(preceded(alt((sign(','), phrase("and"), sign('&'))), ordinal))(rest)
    {
        ranges.push(RowRange::Numbered { first: n, last: n });
        rest = after;
    }
    let (rest, ()) = rows_word(rest)?;
    Ok((rest, Numbers::numbered(ranges, rest.offset())))
}

/// ```text
/// ordinal = digits ( "st" | "nd" | "rd" | "th" ) | "first" | "second" | "third" | "fourth"
///         | "fifth" | "sixth" | "seventh" | "eighth" | "ninth" | "tenth"
/// ```
pub(super) fn ordinal(input: Text<'_>) -> Parsed<'_, u32> {
    let start = input.trimmed();
    let word = first_word(start.rest());
    if let Some(at) = ORDINALS.iter().position(|known| known.eq_ignore_ascii_case(word)) {
        let n = u32::try_from(at + 1).unwrap_or(1);
        return Ok((start.skip(word.len()), n));
    }
    let (rest, n) = number(start)?;
    let ending = first_word(rest.rest());
    if ["st", "nd", "rd", "th"].iter().any(|e| e.eq_ignore_ascii_case(ending)) && n > 0 {
        Ok((rest.skip(ending.len()), n))
    } else {
        rest.fail(Expected::Thing("`th`"))
    }
}

const ORDINALS: [&str; 10] =
    ["first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"];

/// Rows with a name but no number: each is simply the next row, and may be
/// repeated by its name. `dec row` and `decrease row` are the same.
///
/// ```text
/// named-row = row-word letter | [ word [ word ] ] row-kind row-word
/// row-kind = "set-up" | "setup" | "foundation" | "increase" | "inc" | "decrease" | "dec"
///          | "turning" | "eyelet" | "buttonhole" | "ridge" | "shaping" | "joining" | "dividing"
/// ```
fn named_row(input: Text<'_>) -> Parsed<'_, Numbers> {
    let (rest, name) = row_name(input)?;
    let next = unwritten(rest.offset(), 1);
    Ok((rest, Numbers { numbers: Vec::new(), name: Some(name), next }))
}

/// The name of a row: `a` of `row A`, `neck decrease` of `neck dec row`.
pub(super) fn row_name(input: Text<'_>) -> Parsed<'_, Spanned<String>> {
    let start = input.trimmed();
    if let Ok((rest, ())) = quietly(phrase("row|round|rnd"))(start) {
        let letter = rest.trimmed();
        let word = first_word(letter.rest());
        let single = word.len() == 1 && word.starts_with(|c: char| c.is_ascii_alphabetic());
        if !single {
            return letter.fail(Expected::Thing("a row's number or letter"));
        }
        let rest = letter.skip(1);
        return Ok((rest, Spanned::new(word.to_lowercase(), letter.span_to(rest))));
    }
    let mut rest = start;
    let mut words = Vec::new();
    loop {
        let here = rest.trimmed();
        let word = first_word(here.rest()).to_lowercase();
        rest = here.skip(word.len());
        let kind = ROW_KINDS.iter().find(|(said, _)| *said == word);
        let ours = NOT_IN_ROW_NAMES.contains(&word.as_str());
        if word.is_empty() || ours || (kind.is_none() && words.len() >= 2) {
            return start.fail(Expected::Thing("the name of a row"));
        }
        words.push(kind.map_or(word, |(_, name)| (*name).to_owned()));
        if kind.is_some() {
            break;
        }
    }
    let span = start.span_to(rest);
    let (rest, ()) = phrase("row|round|rnd")(rest)?;
    Ok((rest, Spanned::new(words.join(" "), span)))
}

/// Words of the grammar that no row's name begins with.
const NOT_IN_ROW_NAMES: [&str; 8] =
    ["the", "repeat", "rep", "work", "next", "last", "every", "each"];

/// What a row may be for, and how it is called.
const ROW_KINDS: [(&str, &str); 14] = [
    ("set-up", "set-up"),
    ("setup", "set-up"),
    ("foundation", "foundation"),
    ("increase", "increase"),
    ("inc", "increase"),
    ("decrease", "decrease"),
    ("dec", "decrease"),
    ("turning", "turning"),
    ("eyelet", "eyelet"),
    ("buttonhole", "buttonhole"),
    ("ridge", "ridge"),
    ("shaping", "shaping"),
    ("joining", "joining"),
    ("dividing", "dividing"),
];
