//! How far a stitch or a repeat goes along a row: `to last 3 sts`, `across`.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, map, value};

use super::abbreviation;
use super::color::{self, in_declared_color};
use super::terminals::{Times, count, first_word, number, phrase, stitches_word, times, unwritten};
use super::text::{Parsed, Text, follows, labelled, maybe, quietly};
use super::tree::{Counts, RowEnd, StarEnd};
use crate::source::Spanned;

/// ```text
/// row-end = to-end | "back" | in-each | to-last | to-gap | to-marker
/// ```
pub(super) fn row_end(input: Text<'_>) -> Parsed<'_, RowEnd> {
    alt((
        value(RowEnd::End, alt((to_end, quietly(phrase("back")), quietly(in_each)))),
        map(quietly(to_gap), |before| RowEnd::Gap { before }),
        map(to_last, RowEnd::Last),
        map(to_marker, |(before, name)| RowEnd::Marker { before, name }),
    ))
    .parse(input)
}

/// How far, where the words for it begin here; otherwise nothing is read.
pub(super) fn row_end_if_any(input: Text<'_>) -> Parsed<'_, Option<RowEnd>> {
    if let Ok((rest, ())) = quietly(in_each)(input) {
        return Ok((rest, Some(RowEnd::End)));
    }
    // `all in next st` is not how far.
    if follows(input, phrase("all in|into")) || !follows(input, phrase(OPENINGS)) {
        return Ok((input, None));
    }
    map(cut(labelled("how far (`end`, `last 2 sts`, `marker`)", row_end)), Some).parse(input)
}

/// In each stitch there is: to the end.
///
/// ```text
/// in-each = ( "in" | "into" | "of" ) ( "each" | "every" ) stitch-word [ to-end ]
/// ```
fn in_each(input: Text<'_>) -> Parsed<'_, ()> {
    let (rest, ()) = phrase("in|into|of each|every st|stitch")(input)?;
    let (rest, _) = maybe(to_end)(rest)?;
    Ok((rest, ()))
}

/// The words that how far begins with.
pub(super) const OPENINGS: &str = "to|until|across|around|all|back";

/// ```text
/// star-end = to-end | to-last | to-marker | times
/// ```
pub(super) fn star_end(input: Text<'_>) -> Parsed<'_, StarEnd> {
    labelled(
        "how far or how often (`to end`, `to last 2 sts`, `4 times`)",
        alt((
            value(StarEnd::End, to_end),
            map(to_last, StarEnd::Last),
            map(to_marker, |(before, _)| StarEnd::Marker { before }),
            map(times, |Times { count, more }| StarEnd::Times { count, more }),
        )),
    )(input)
}

/// How far or how often, where words for it begin here.
pub(super) fn star_end_if_any(input: Text<'_>) -> Parsed<'_, Option<StarEnd>> {
    if follows(input, phrase("all in|into")) {
        return Ok((input, None));
    }
    if follows(input, phrase(OPENINGS)) {
        return map(cut(star_end), Some).parse(input);
    }
    maybe(star_end)(input)
}

/// ```text
/// to-end = "to" [ "the" ] "end" [ "of" [ "the" ] row-word ]
///        | ( "across" | "around" ) [ [ "the" ] row-word ] | "all" [ "the" ] stitches
/// row-word = "row" | "round" | "rnd"
/// ```
pub(super) fn to_end(input: Text<'_>) -> Parsed<'_, ()> {
    alt((
        phrase("to the? end of? the? row|round|rnd|needle?"),
        phrase("across|around the? row|round|rnd?"),
        phrase("all the? sts|st|stitches|stitch?"),
    ))
    .parse(input)
}

/// One stitch where no number is written: `to last st`.
///
/// ```text
/// to-last = "to" [ "the" ] "last" ( "st" | "stitch" | count [ stitches ] )
///         | "until" count stitches ( "remain" | "left" )
///         | ( "to" [ "within" ] | "until" ) count stitches ( "before" | "of" | "from" ) [ "the" ] "end"
/// ```
fn to_last(input: Text<'_>) -> Parsed<'_, Counts> {
    alt((to_last_counted, quietly(before_end), until_remain)).parse(input)
}

fn before_end(input: Text<'_>) -> Parsed<'_, Counts> {
    let (rest, ()) = alt((phrase("to within?"), phrase("until"))).parse(input)?;
    let (rest, count) = count(rest)?;
    let (rest, ()) = stitches_word(rest)?;
    let (rest, ()) = phrase("before|of|from the? end")(rest)?;
    Ok((rest, count))
}

fn to_last_counted(input: Text<'_>) -> Parsed<'_, Counts> {
    let (rest, ()) = phrase("to the? last")(input)?;
    if let Ok((after, ())) = quietly(phrase("st|stitch"))(rest) {
        return Ok((after, unwritten(rest.trimmed().offset(), 1)));
    }
    let (rest, count) = cut(count).parse(rest)?;
    let (rest, _) = maybe(stitches_word)(rest)?;
    Ok((rest, count))
}

fn until_remain(input: Text<'_>) -> Parsed<'_, Counts> {
    let (rest, ()) = phrase("until")(input)?;
    let (rest, count) = count(rest)?;
    let (rest, ()) = stitches_word(rest)?;
    let (rest, ()) = phrase("remain|remains|remaining|rem|left|are left?")(rest)?;
    Ok((rest, count))
}

/// Where the work was turned before: the gap, or the wrapped stitch beyond it.
///
/// ```text
/// to-gap = "to" [ number stitches "before" ] [ "the" ] [ "last" | "previous" ]
///          ( "gap" | "turn" | "turning point" | "wrapped" stitch-word )
/// ```
fn to_gap(input: Text<'_>) -> Parsed<'_, u32> {
    let (rest, ()) = phrase("to within?")(input)?;
    let near = |input| {
        let (rest, n) = number(input)?;
        let (rest, ()) = stitches_word(rest)?;
        let (rest, ()) = phrase("before|of")(rest)?;
        Ok((rest, n))
    };
    let (rest, before) = maybe(near)(rest)?;
    let (rest, _) = maybe(phrase("the? last|previous|prev"))(rest)?;
    let (rest, ()) = alt((
        phrase("the? gap"),
        phrase("the? turning point"),
        phrase("the? turn"),
        phrase("the? wrapped st|stitch"),
    ))
    .parse(rest)?;
    Ok((rest, before.unwrap_or(0)))
}

/// ```text
/// to-marker = "to" [ number stitches "before" ] [ "the" ] [ "next" | "first" ] ( "marker" | "m" ) [ word ]
/// ```
fn to_marker(input: Text<'_>) -> Parsed<'_, (u32, Option<Spanned<String>>)> {
    let near = |input| {
        let (rest, ()) = phrase("to within?")(input)?;
        let (rest, n) = number(rest)?;
        let (rest, ()) = stitches_word(rest)?;
        let (rest, ()) = phrase("before|of the? next|first? marker|m")(rest)?;
        Ok((rest, n))
    };
    let at = value(0, phrase("to the? next|first? end? marker|m"));
    let (rest, before) = alt((near, at)).parse(input)?;
    // A letter names a marker, more of them a color of the stitches.
    let here = rest.trimmed();
    let color = first_word(here.rest()).len() > 1 && color::stands(here);
    let (rest, name) = if color { (rest, None) } else { marker_name(rest) };
    Ok((rest, (before, name)))
}

/// One word after a marker, where there are several kinds of them.
pub(super) fn marker_name(input: Text<'_>) -> (Text<'_>, Option<Spanned<String>>) {
    let here = input.trimmed();
    let word = first_word(here.rest());
    let other = [
        "and", "then", "rep", "repeat", "twice", "once", "to", "end", "ending", "picking",
        "working", "hiding", "knitting", "lifting", "after",
    ];
    // `sm k2` lacks a comma; `sm B` names a marker.
    let stitch = word.len() > 1 && follows(here, abbreviation::stitch_name);
    let other = other.iter().any(|w| w.eq_ignore_ascii_case(word)) || in_declared_color(here);
    if word.is_empty() || stitch || other {
        return (input, None);
    }
    let rest = here.skip(word.len());
    (rest, Some(Spanned::new(word.to_owned(), here.span_to(rest))))
}
