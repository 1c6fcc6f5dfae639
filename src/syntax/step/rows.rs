//! Rows as instructions, and rows that are worked again.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, opt, value};
use nom::sequence::preceded;

use super::work::extent_if_any;
use crate::diag::{Code, Finding};
use crate::source::Spanned;
use crate::syntax::error::Expected;
use crate::syntax::label::{label, row_range};
use crate::syntax::row::{begins_row, row};
use crate::syntax::terminals::{
    Parsed, Text, labelled, maybe, number, phrase, quietly, rows_word, sign, spanned, stop,
};
use crate::syntax::tree::{Action, Item, ItemKind, RowEnd, RowLabel, RowRange};

/// A row without a label is the next one.
///
/// ```text
/// row-step = [ label ] row
/// ```
pub(super) fn labelled_row(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, label) = label(input)?;
    let (rest, items) = cut(row).parse(rest)?;
    Ok((rest, Action::Row { label: Some(label), items }))
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
/// work-rows = ( "knit" | "k" | "plain" | "purl" | "p" ) [ [ "the" ] "next" ] [ number ] rows
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
    let (rest, next) = opt(number).parse(rest)?;
    let (rest, ()) = rows_word(rest)?;
    let label = RowLabel {
        span: numbers.span_to(rest),
        numbers: Vec::new(),
        next: next.unwrap_or(1),
        side: None,
        and_all: None,
    };
    let name = Spanned::new(stitch.value.to_owned(), stitch.span);
    let kind = ItemKind::Run { name, until: RowEnd::End };
    let item = Item { span: start.span_to(rest), kind, marks: Vec::new() };
    Ok((rest, Action::Row { label: Some(label), items: vec![item] }))
}

/// Where it does not say how far, once.
///
/// ```text
/// repeat-rows = ( "repeat" | "rep" | "work" ) which-rows [ extent ]
/// ```
pub(super) fn repeat_rows(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, rows) = alt((
        preceded(phrase("repeat|rep"), cut(labelled("rows to repeat", which_rows))),
        quietly(preceded(phrase("work"), which_rows)),
    ))
    .parse(input)?;
    let (rest, extent) = extent_if_any(rest)?;
    Ok((rest, Action::Repeat { rows, extent }))
}

/// ```text
/// which-rows = [ "the" ] ( "last" | "these" | "previous" ) [ number ] rows
///            | rows row-range [ ( "and" | "&" ) row-range ]
/// ```
fn which_rows(input: Text<'_>) -> Parsed<'_, RowRange> {
    alt((last_rows, numbered_rows)).parse(input)
}

fn last_rows(input: Text<'_>) -> Parsed<'_, RowRange> {
    let (rest, ()) = phrase("the? last|these|previous")(input)?;
    let (rest, n) = opt(number).parse(rest)?;
    let (rest, ()) = cut(rows_word).parse(rest)?;
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
