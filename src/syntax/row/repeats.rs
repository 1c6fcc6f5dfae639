//! Groups and repeats: `[k1, p1] 4 times`, `*k2, p2; rep from * to end`, and what a repeat leaves over.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, map, opt};
use nom::sequence::preceded;

use super::items;
use crate::diag::{Code, Finding};
use crate::measure::Given;
use crate::source::Span;
use crate::stitch;
use crate::syntax::error::{Expected, Failure, found};
use crate::syntax::how_far::{star_end, star_end_if_any};
use crate::syntax::terminals::{Times, count, phrase, times, unwritten};
use crate::syntax::text::{Parsed, Text, follows, maybe, quietly, spanned, stop};
use crate::syntax::tree::{Counts, Item, ItemKind, StarEnd};

/// The length in bytes of the stars here: `*`, `**`, or `\*` as Markdown may want it.
pub(super) fn star_length(input: Text<'_>) -> usize {
    let mut length = 0;
    loop {
        let rest = input.rest().get(length..).unwrap_or("");
        if rest.starts_with('*') {
            length += 1;
        } else if rest.starts_with("\\*") {
            length += 2;
        } else {
            return length;
        }
    }
}

/// How many stars stand here.
fn stars(input: Text<'_>) -> Parsed<'_, usize> {
    let here = input.trimmed();
    let length = star_length(here);
    if length == 0 {
        return here.fail(Expected::Sign('*'));
    }
    let written = here.rest().get(..length).unwrap_or("");
    Ok((here.skip(length), written.matches('*').count()))
}

/// Repeats inside one another may have two stars or more; those that close a
/// repeat, and those after `from`, are as many as those that open it.
///
/// ```text
/// star = "*" items ( [ ";" | "," ] repeat | [ "," ] "*" ( star-end | [ ";" | "," ] repeat ) )
/// ```
pub(super) fn star(start: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, opened) = stars(start)?;
    let opening = start.span_to(rest);
    let (rest, items) = cut(items).parse(rest.deeper()?)?;
    let rest = rest.back_to(start);
    let (rest, until) = match closing_stars(rest) {
        Some((after, closed)) if closed == opened => match repeat_word(after) {
            Some(after) => repeat(after, opening, opened)?,
            None => cut(star_end).parse(after)?,
        },
        _ => match repeat_word(rest) {
            Some(after) => repeat(after, opening, opened)?,
            None => return never_repeated(rest, opening),
        },
    };
    Ok((rest, ItemKind::Star { items, until }))
}

/// The stars that close a repeat, a comma before them allowed.
fn closing_stars(input: Text<'_>) -> Option<(Text<'_>, usize)> {
    let here = input.trimmed();
    let here = if here.rest().starts_with(',') { here.skip(1) } else { here };
    quietly(stars)(here).ok()
}

/// The text after `; rep`, `, repeat` or `rep`.
fn repeat_word(input: Text<'_>) -> Option<Text<'_>> {
    let here = input.trimmed();
    let here = if here.rest().starts_with([';', ',', '.']) { here.skip(1) } else { here };
    quietly(phrase("rep|repeat"))(here).ok().map(|(rest, ())| rest)
}

/// Nothing more said is as good as `to end`.
///
/// ```text
/// repeat = ( "rep" | "repeat" ) [ "from *" ] [ star-end ]
/// ```
fn repeat(after: Text<'_>, opening: Span, opened: usize) -> Parsed<'_, StarEnd> {
    let (rest, from) = opt(preceded(phrase("from"), cut(spanned(stars)))).parse(after)?;
    if let Some(from) = from
        && from.value != opened
    {
        let finding = Finding::new(
            Code::Syntax,
            from.span,
            "this repeat goes back to a star that is not open here",
        )
        .label("not the innermost star")
        .also(opening, "the innermost star is here");
        return stop(finding);
    }
    let (rest, _) = maybe((phrase("to"), stars))(rest)?;
    let (rest, until) = star_end_if_any(rest)?;
    Ok((rest, until.unwrap_or(StarEnd::End)))
}

fn never_repeated<'a, T>(rest: Text<'a>, opening: Span) -> Parsed<'a, T> {
    let here = rest.trimmed();
    let (length, found) = found(here.rest());
    let finding =
        Finding::new(Code::Syntax, opening, "this `*` begins a repeat that is never repeated")
            .label("repeated from here")
            .also(
                Span::new(here.offset(), here.offset() + length),
                format!("expected `; rep from *`, but found {found}"),
            )
            .help("end the repeat with `; rep from *`, `; rep from * to last 2 sts`, ...");
    stop(finding)
}

/// A group without more is worked once.
///
/// ```text
/// group = ( "(" items ")" | "[" items "]" ) [ star-end | in-one ]
/// ```
pub(super) fn group(start: Text<'_>) -> Parsed<'_, ItemKind> {
    let (open, close) = if start.rest().starts_with('(') { ('(', ')') } else { ('[', ']') };
    let (rest, items) = cut(items).parse(start.skip(1).deeper()?)?;
    let rest = closed(rest, start, open, close)?.back_to(start);
    if let Ok((rest, ())) = quietly(in_one)(rest) {
        return Ok((rest, ItemKind::InOne { items }));
    }
    // The `rep` of `*k2, (p2, k2) rep from *` is the star's.
    let (after, _) = match rest.depth() {
        0 => maybe(phrase("rep|repeat"))(rest)?,
        _ => (rest, None),
    };
    // A number here can only be how many times.
    let (after, until) = if follows(after, count) {
        map(cut(times), |Times { count, more }| Some(StarEnd::Times { count, more }))
            .parse(after)?
    } else {
        star_end_if_any(after)?
    };
    let rest = if until.is_some() { after } else { rest };
    let kind = match until {
        Some(StarEnd::Times { count, more }) => ItemKind::Group { items, times: count, more },
        Some(until) => ItemKind::Star { items, until },
        None => ItemKind::Group { items, times: unwritten(rest.offset(), 1), more: false },
    };
    Ok((rest, kind))
}

/// The text after the closing bracket of a group.
fn closed<'a>(
    rest: Text<'a>,
    start: Text<'a>,
    open: char,
    close: char,
) -> Result<Text<'a>, nom::Err<Failure>> {
    let here = rest.trimmed();
    let opening = Span::new(start.offset(), start.offset() + 1);
    let (length, found) = found(here.rest());
    let place = Span::new(here.offset(), here.offset() + length);
    match here.rest().chars().next() {
        Some(c) if c == close => Ok(here.skip(1)),
        Some(')' | ']' | '}') => stop(
            Finding::new(Code::Syntax, place, format!("expected `{close}`, but found {found}"))
                .label(format!("does not close `{open}`"))
                .also(opening, "opened here"),
        ),
        Some(c) if c != ';' => stop(
            Finding::new(
                Code::Syntax,
                place,
                format!("expected `,` or `{close}`, but found {found}"),
            )
            .label("not understood here")
            .also(opening, "inside this group"),
        ),
        _ => stop(
            Finding::new(Code::Syntax, opening, format!("this `{open}` is never closed"))
                .label("opened here")
                .also(Span::at(here.offset()), format!("expected `{close}`"))
                .help(format!("put a `{close}` after the last stitch of the group")),
        ),
    }
}

/// ```text
/// in-one = ( [ "all" ] ( "in" | "into" ) | "of" )
///          [ [ "the" ] ( "next" | "same" | "one" | "1" | "first" | "last" ) ] stitch-word
/// ```
pub(super) fn in_one(input: Text<'_>) -> Parsed<'_, ()> {
    alt((
        phrase("all? in|into the? next|same|one|1|first|last st|stitch"),
        phrase("all? in|into st|stitch"),
        phrase("of the? next|same|one|1|first|last st|stitch"),
        phrase("of st|stitch"),
    ))
    .parse(input)
}

// ---- `rep from *, end k5` --------------------------------------------------

/// A repeat at the end of what is read so far that goes on as far as it can.
pub(super) fn open_star(last: Option<&mut Item>) -> Option<&mut StarEnd> {
    match last.map(|item| &mut item.kind) {
        Some(ItemKind::Star { until: until @ StarEnd::End, .. }) => Some(until),
        _ => None,
    }
}

pub(super) fn ending(input: Text<'_>) -> Parsed<'_, ()> {
    phrase("end|ending with|on|after? a?")(input)
}

/// What a repeat that goes on as far as it can leaves over: `rep from *, end k5`
/// is `rep from * to last 5 sts, k5`.
///
/// ```text
/// star-and-rest = "*" items [ ";" | "," ] ( "rep" | "repeat" ) "from *" [ "," ] closing-stitches
/// closing-stitches = ( "end" | "ending" ) [ "with" ] plain { "," plain }
/// plain = ( "k" | "p" ) number
/// ```
pub(super) fn closing_stitches<'a>(
    star: &mut StarEnd,
) -> impl FnMut(Text<'a>) -> Parsed<'a, Vec<Item>> {
    move |input| {
        let start = input.trimmed();
        let (rest, last) = items(start)?;
        let Some(taken) = takes(&last) else {
            let finding = Finding::new(
                Code::Syntax,
                start.span_to(rest),
                "it cannot be told how many stitches these take",
            )
            .label("left over by the repeat")
            .help("say how far the repeat goes: `rep from * to last 5 sts, ...`");
            return stop(finding);
        };
        *star = StarEnd::Last(unwritten(start.offset(), taken));
        Ok((rest, last))
    }
}

/// How many stitches some plain items take, where that can be told from them alone.
fn takes(items: &[Item]) -> Option<u32> {
    items.iter().try_fold(0_u32, |sum, item| {
        let taken = match &item.kind {
            ItemKind::Stitch { name, count } => {
                let each = stitch::find(&name.value)?.takes;
                each.checked_mul(count.as_ref().map_or(Some(1), same)?)?
            }
            ItemKind::Group { items, times, more } => {
                takes(items)?.checked_mul(same(times)?.checked_add(u32::from(*more))?)?
            }
            ItemKind::InOne { .. } => 1,
            ItemKind::Pattern(count) | ItemKind::BindOff(Some(count)) => same(count)?,
            ItemKind::Turn | ItemKind::JoinYarn | ItemKind::Marker { .. } => 0,
            _ => return None,
        };
        sum.checked_add(taken)
    })
}

fn same(counts: &Counts) -> Option<u32> {
    match (&counts.given, counts.live) {
        (Given::Same(n), false) => Some(*n),
        _ => None,
    }
}
