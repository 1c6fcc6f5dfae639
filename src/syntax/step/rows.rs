//! Rows as instructions, and rows that are worked again.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, map, opt, value};
use nom::sequence::{preceded, terminated};

use super::shaping::schedule;
use super::work::extent_if_any;
use super::{Lead, action_end, lead};
use crate::diag::{Code, Finding};
use crate::source::Spanned;
use crate::syntax::error::Expected;
use crate::syntax::label::{label, row_name, row_range};
use crate::syntax::row::{begins_row, row};
use crate::syntax::terminals::{
    count, number, phrase, rows_word, side, sign, stitches_word, unwritten,
};
use crate::syntax::text::{Parsed, Text, labelled, maybe, quietly, spanned, stop};
use crate::syntax::tree::{
    Action, Counts, Extent, Item, ItemKind, RowEnd, RowLabel, RowRange, WhichRows,
};

/// A row without a label is the next one.
///
/// ```text
/// row-step = [ label [ lead ] ] row | label same-rows
/// ```
pub(super) fn labelled_row(input: Text<'_>) -> Parsed<'_, (Action, Option<Lead>)> {
    let (rest, label) = label(input)?;
    let (rest, same) = maybe(same_rows)(rest)?;
    if let Some(rows) = same {
        return Ok((rest, (Action::SameRows { label, rows }, None)));
    }
    let (rest, led) = maybe(lead)(rest)?;
    let (rest, items) = cut(row).parse(rest)?;
    Ok((rest, (Action::Row { label: Some(label), items }, led)))
}

/// Rows that are worked like others.
///
/// ```text
/// same-rows = ( "repeat" | "rep" | "work" ) rows row-range | [ "work" ] [ "the" ] [ "same" ] "as" rows row-range
/// ```
fn same_rows(input: Text<'_>) -> Parsed<'_, RowRange> {
    let (rest, ()) = alt((
        phrase("repeat|rep|work rows|row|rounds|round|rnds|rnd"),
        phrase("work? the? same? as for? rows|row|rounds|round|rnds|rnd"),
    ))
    .parse(input)?;
    let (rest, range) = row_range(rest)?;
    let (rest, ()) = action_end(rest)?;
    Ok((rest, range))
}

pub(super) fn bare_row(input: Text<'_>) -> Parsed<'_, Action> {
    if begins_row(input) {
        committed_row(input)
    } else {
        input.trimmed().fail(Expected::Thing("an instruction"))
    }
}

/// A row without a label where nothing else is possible any more.
pub(super) fn committed_row(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, items) = cut(row).parse(input)?;
    Ok((rest, Action::Row { label: None, items }))
}

/// So many rows of one stitch: `knit 4 rounds`, `purl 1 row`.
///
/// ```text
/// work-rows = ( "knit" | "k" | "plain" | "purl" | "p" ) [ [ "the" ] "next" ] [ count ] rows
///             [ "even" | "plain" | "straight" ] [ "on" [ "the" ] side ]
/// ```
pub(super) fn work_rows(input: Text<'_>) -> Parsed<'_, Action> {
    quietly(work_rows_here)(input)
}

fn work_rows_here(input: Text<'_>) -> Parsed<'_, Action> {
    let start = input.trimmed();
    let stitch = alt((value("k", phrase("knit|k|plain")), value("p", phrase("purl|p"))));
    let (rest, stitch) = spanned(stitch)(start)?;
    let numbers = rest.trimmed();
    let (rest, _) = opt(phrase("the? next")).parse(rest)?;
    let (rest, next) = opt(count).parse(rest)?;
    let (rest, ()) = rows_word(rest)?;
    let span = numbers.span_to(rest);
    let (rest, _) = maybe(phrase("even|plain|straight"))(rest)?;
    let (rest, side) = maybe(preceded(phrase("on the?"), spanned(side)))(rest)?;
    let label = RowLabel {
        span,
        numbers: Vec::new(),
        name: None,
        next: next.unwrap_or_else(|| unwritten(numbers.offset(), 1)),
        rounds: false,
        side,
        and_all: None,
    };
    let name = Spanned::new(stitch.value.to_owned(), stitch.span);
    let kind = ItemKind::Run { name, until: RowEnd::End };
    let item = Item { span: start.span_to(rest), kind, color: None, marks: Vec::new() };
    Ok((rest, Action::Row { label: Some(label), items: vec![item] }))
}

/// Where it does not say how far, once.
///
/// ```text
/// repeat-rows = ( "repeat" | "rep" | "work" ) which-rows [ extent | until-stitches | schedule ]
/// ```
pub(super) fn repeat_rows(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, rows) = alt((
        preceded(phrase("repeat|rep"), cut(labelled("rows to repeat", which_rows))),
        quietly(preceded(phrase("work"), which_rows)),
    ))
    .parse(input)?;
    if let (rest, Some(until)) = maybe(until_stitches)(rest)? {
        return Ok((rest, Action::Repeat { rows, extent: Extent::UntilCount(until) }));
    }
    if let (rest, Some(schedule)) = maybe(schedule)(rest)? {
        return Ok((rest, Action::RepeatAt { row: rows, schedule }));
    }
    let (rest, extent) = extent_if_any(rest)?;
    Ok((rest, Action::Repeat { rows, extent }))
}

/// ```text
/// until-stitches = ( "to" | "until" [ "there" ] [ "are" ] ) count
///                  ( stitches [ "remain" | "left" | "on" [ "the" ] "needle" ] | "remain" | "left" )
/// ```
fn until_stitches(input: Text<'_>) -> Parsed<'_, Counts> {
    let (rest, ()) = alt((phrase("to"), phrase("until there? are?"))).parse(input)?;
    let (rest, count) = count(rest)?;
    let left = || phrase("remain|remains|remaining|rem|left");
    let there = alt((left(), phrase("on the? needle|needles")));
    let (rest, _) = alt((terminated(stitches_word, opt(there)), left())).parse(rest)?;
    Ok((rest, count))
}

/// A row has the name that its label gives it.
///
/// ```text
/// which-rows = [ "the" ] ( "last" | "these" | "previous" ) [ number ] rows
///            | [ "the" ] named-row
///            | rows row-range [ ( "and" | "&" ) row-range ]
/// ```
fn which_rows(input: Text<'_>) -> Parsed<'_, WhichRows> {
    let named = preceded(opt(phrase("the")), row_name);
    alt((
        map(last_rows, WhichRows::Range),
        map(quietly(named), WhichRows::Named),
        map(numbered_rows, WhichRows::Range),
    ))
    .parse(input)
}

fn last_rows(input: Text<'_>) -> Parsed<'_, RowRange> {
    let (rest, ()) = phrase("the? last|these|previous")(input)?;
    let (rest, n) = opt(number).parse(rest)?;
    let (rest, ()) = rows_word(rest)?;
    Ok((rest, RowRange::Last(n.unwrap_or(1))))
}

fn numbered_rows(input: Text<'_>) -> Parsed<'_, RowRange> {
    let start = input.trimmed();
    let (rest, ()) = rows_word(start)?;
    let (rest, range) = cut(row_range).parse(rest)?;
    let second = preceded(alt((phrase("and"), sign('&'))), row_range);
    let (rest, second) = maybe(second)(rest)?;
    match (range, second) {
        (range, None) => Ok((rest, range)),
        (
            RowRange::Numbered { first, last },
            Some(RowRange::Numbered { first: next, last: end }),
        ) if next == last + 1 => Ok((rest, RowRange::Numbered { first, last: end })),
        _ => stop(
            Finding::new(
                Code::Syntax,
                start.span_to(rest),
                "rows that are repeated together must follow one another",
            )
            .label("not a run of rows"),
        ),
    }
}
