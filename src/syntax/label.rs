//! Which row, and on which side: `row 1 (RS):`, `rounds 1-4:`, `next 4 rounds:`.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, map, opt, value};
use nom::sequence::{delimited, preceded};

use super::error::Expected;
use super::terminals::{
    Parsed, Text, first_word, maybe, number, phrase, quietly, rows_word, side, sign, sign_of,
    spanned, stop,
};
use super::tree::{RowLabel, RowRange, Side};
use crate::diag::{Code, Finding};
use crate::source::Spanned;

/// ```text
/// label = ( numbered | ordinal-rows | next-rows | named-row ) [ side-note ] [ and-all ] [ side-note ] ":"
/// ```
pub(super) fn label(input: Text<'_>) -> Parsed<'_, RowLabel> {
    let start = input.trimmed();
    let mut numbering = alt((next_rows, numbered, quietly(ordinal_rows), quietly(named_row)));
    let (rest, (numbers, next)) = numbering.parse(start)?;
    let (rest, before) = side_note_if_any(rest)?;
    let (rest, and_all) = maybe(and_all)(rest)?;
    let (rest, after) = side_note_if_any(rest)?;
    let span = start.span_to(rest);
    let (rest, ()) = cut(sign(':')).parse(rest)?;
    Ok((rest, RowLabel { span, numbers, next, side: before.or(after), and_all }))
}

/// ```text
/// side-note = "(" side ")" | side
/// ```
fn side_note(input: Text<'_>) -> Parsed<'_, Spanned<Side>> {
    alt((delimited(sign('('), cut(spanned(side)), cut(sign(')'))), spanned(side))).parse(input)
}

fn side_note_if_any(input: Text<'_>) -> Parsed<'_, Option<Spanned<Side>>> {
    if input.trimmed().rest().starts_with('(') {
        return map(side_note, Some).parse(input);
    }
    maybe(side_note)(input)
}

/// Even rounds are those that would be on the wrong side.
///
/// ```text
/// and-all = [ "," ] [ "and" ] ( "all" | "every" ) [ "following" ]
///           ( side | "even" | "even-numbered" | "odd" | "odd-numbered" ) rows
/// ```
fn and_all(input: Text<'_>) -> Parsed<'_, Side> {
    let (rest, _) = opt(sign(',')).parse(input)?;
    let (rest, ()) = phrase("and? all|every other? following|foll?")(rest)?;
    let (rest, side) = alt((
        side,
        value(Side::Wrong, phrase("even|even-numbered")),
        value(Side::Right, phrase("odd|odd-numbered")),
    ))
    .parse(rest)?;
    let (rest, ()) = rows_word(rest)?;
    Ok((rest, side))
}

type Numbers = (Vec<RowRange>, u32);

/// ```text
/// next-rows = [ "the" ] ( "next" | "following" ) [ number ] rows
/// ```
fn next_rows(input: Text<'_>) -> Parsed<'_, Numbers> {
    let (rest, ()) = phrase("the? next|following|foll")(input)?;
    let (rest, next) = opt(number).parse(rest)?;
    let (rest, ()) = rows_word(rest)?;
    Ok((rest, (Vec::new(), next.unwrap_or(1))))
}

/// ```text
/// numbered = rows row-range { ( "," [ "and" ] | "and" | "&" ) row-range }
/// ```
fn numbered(input: Text<'_>) -> Parsed<'_, Numbers> {
    let (rest, ()) = rows_word(input)?;
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
    Ok((rest, (ranges, 1)))
}

/// ```text
/// row-range = number [ ( "-" | "–" | "to" | "through" ) number ]
/// ```
pub(super) fn row_range(input: Text<'_>) -> Parsed<'_, RowRange> {
    let start = input.trimmed();
    let (rest, first) = number(start)?;
    let dash = alt((value((), sign_of(&['-', '–'], "`-`")), phrase("to|through|thru")));
    let (rest, last) = maybe(preceded(dash, number))(rest)?;
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
    Ok((rest, (ranges, 1)))
}

/// ```text
/// ordinal = digits ( "st" | "nd" | "rd" | "th" )
/// ```
pub(super) fn ordinal(input: Text<'_>) -> Parsed<'_, u32> {
    let start = input.trimmed();
    let (rest, n) = number(start)?;
    let ending = first_word(rest.rest());
    if ["st", "nd", "rd", "th"].iter().any(|e| e.eq_ignore_ascii_case(ending)) && n > 0 {
        Ok((rest.skip(ending.len()), n))
    } else {
        rest.fail(Expected::Thing("`th`"))
    }
}

/// Rows with a name but no number: they are simply the next row.
///
/// ```text
/// named-row = ( "set-up" | "setup" | "foundation" | "increase" | "inc" | "decrease" | "dec"
///           | "turning" | "eyelet" | "buttonhole" | "ridge" ) row-word
/// ```
fn named_row(input: Text<'_>) -> Parsed<'_, Numbers> {
    let (rest, ()) = phrase(
        "set-up|setup|foundation|increase|inc|decrease|dec|turning|eyelet|buttonhole|ridge row|round|rnd",
    )(input)?;
    Ok((rest, (Vec::new(), 1)))
}
