//! Increases and decreases: evenly over a row, in wedges, and by a schedule.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, map, opt, value};
use nom::sequence::{preceded, terminated};

use super::Lead;
use super::item::opens_clause;
use super::rows::committed_row;
use crate::measure::Given;
use crate::syntax::error::Failure;
use crate::syntax::label::{ordinal, side_note_if_any};
use crate::syntax::row::item;
use crate::syntax::terminals::{
    count, count_of_stitches, phrase, rows_word, side, sign, sizes, times, unwritten,
};
use crate::syntax::text::{Parsed, Text, follows, labelled, maybe, quietly, spanned};
use crate::syntax::tree::{
    Action, Amount, Change, Counts, EvenRow, Every, Rate, Schedule, ShapePlace,
};

/// ```text
/// change = "increase" | "inc" | "decrease" | "dec"
/// ```
fn change(input: Text<'_>) -> Parsed<'_, Change> {
    alt((
        // Only an even change can part ways by size; `changes` below sees to that.
        value(Change::Either, phrase("increase or decrease")),
        value(Change::Increase, phrase("increase|inc")),
        value(Change::Decrease, phrase("decrease|dec")),
    ))
    .parse(input)
}

/// Every instruction that begins with `increase` or `decrease`.
pub(super) fn changes(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, change) = quietly(change)(input)?;
    // `inc 1, k to last 2 sts, inc 1` and `inc in next st` are rows: there `inc` is a stitch.
    if a_stitch(input) {
        return committed_row(input);
    }
    if change == Change::Either {
        return cut(even(change)).parse(rest);
    }
    let kinds = alt((even(change), wedges(change), shape(change)));
    cut(labelled("`evenly`, `in` or how many stitches", kinds)).parse(rest)
}

fn a_stitch(input: Text<'_>) -> bool {
    match quietly(item)(input) {
        Ok((rest, _)) => {
            follows(rest, terminated(sign(','), item))
                || follows(
                    input,
                    phrase("inc in|into the? next|first|last|same|each|every st|stitch"),
                )
        }
        Err(_) => false,
    }
}

// ---- Evenly ----------------------------------------------------------------

/// Short rows that bring a flap to so many stitches.
///
/// ```text
/// turn-heel = "turn" [ "the" ] "heel" until-count
/// ```
pub(super) fn turn_heel(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = phrase("turn the? heel")(input)?;
    let (rest, to) = cut(until_count).parse(rest)?;
    Ok((rest, Action::TurnHeel { to }))
}

/// ```text
/// even = ( change | "increase or decrease" ) ( evenly-to | to-evenly )
/// evenly-to = "evenly" [ across ] ( [ over-rows ] to-or-by | to-or-by [ over-rows ] )
/// to-or-by = ( "to" | "by" ) count [ stitches ]
/// to-evenly = [ "to" | "by" ] count [ stitches ] "evenly" [ "spaced" ] [ across ] [ over-rows ]
/// ```
fn even<'a>(change: Change) -> impl Fn(Text<'a>) -> Parsed<'a, Action> {
    move |input| {
        let (rest, (amount, over)) = alt((evenly_first, quietly(evenly_last))).parse(input)?;
        Ok((rest, Action::Even { change, amount, over, row: None }))
    }
}

/// An even change that is said of a row: what comes before it leads it.
///
/// ```text
/// even-row = [ [ "the" ] "next" row-word [ side-note ] ":" ] ( "knit" | "k" | "purl" | "p" | "work" )
///            [ ( "1" | "one" ) row-word | [ "the" ] "next" row-word | "across" [ [ "the" ] row-word ] ]
///            "," changing ( evenly-to | to-evenly )
/// changing = ( "increasing" | "inc" | "decreasing" | "dec" | "increasing or decreasing" )
/// ```
pub(super) fn even_row(input: Text<'_>) -> Parsed<'_, (Action, Lead)> {
    let start = input.trimmed();
    let (rest, label) =
        maybe((phrase("the? next row|round|rnd"), side_note_if_any, sign(':')))(start)?;
    let (rest, row) = quietly(alt((
        value(EvenRow::Knit, phrase("knit|k")),
        value(EvenRow::Purl, phrase("purl|p")),
        value(EvenRow::Pattern, phrase("work")),
    )))(rest)?;
    let one = alt((
        value((), (sign('1'), phrase("row|round|rnd"))),
        phrase("one row|round|rnd"),
        phrase("the? next row|round|rnd"),
        phrase("across the? row|round|rnd?"),
    ));
    let (led, _) = maybe(one)(rest)?;
    let (rest, change) = quietly(preceded(sign(','), changing))(led)?;
    let amount = alt((evenly_first, quietly(evenly_last)));
    let (rest, (amount, over)) =
        cut(labelled("`evenly` or how many stitches", amount)).parse(rest)?;
    let facing = label.and_then(|((), side, ())| side);
    let lead = Lead { span: start.span_to(led), facing, color: None };
    Ok((rest, (Action::Even { change, amount, over, row: Some(row) }, lead)))
}

fn changing(input: Text<'_>) -> Parsed<'_, Change> {
    alt((
        value(Change::Either, phrase("increasing or decreasing")),
        value(Change::Increase, phrase("increasing|inc")),
        value(Change::Decrease, phrase("decreasing|dec")),
    ))
    .parse(input)
}

fn evenly_first(input: Text<'_>) -> Parsed<'_, (Amount, Option<Counts>)> {
    let (rest, ()) = phrase("evenly")(input)?;
    let rest = after_across(rest)?;
    let (rest, before) = maybe(over_rows)(rest)?;
    let amount = alt((
        map(preceded(phrase("to"), cut(count_of_stitches)), Amount::To),
        map(preceded(phrase("by"), cut(count_of_stitches)), Amount::By),
    ));
    let (rest, amount) = cut(amount).parse(rest)?;
    let (rest, over) = match before {
        Some(rows) => (rest, Some(rows)),
        None => maybe(over_rows)(rest)?,
    };
    Ok((rest, (amount, over)))
}

fn evenly_last(input: Text<'_>) -> Parsed<'_, (Amount, Option<Counts>)> {
    let (rest, to) =
        opt(alt((value(true, phrase("to")), value(false, phrase("by"))))).parse(input)?;
    let (rest, count) = count_of_stitches(rest)?;
    let (rest, ()) = phrase("evenly spaced?")(rest)?;
    let rest = after_across(rest)?;
    let (rest, over) = opt(over_rows).parse(rest)?;
    let amount = if to == Some(true) { Amount::To(count) } else { Amount::By(count) };
    Ok((rest, (amount, over)))
}

/// The text after `across the row`, but not after the `across` of `across 3 rows`.
fn after_across(input: Text<'_>) -> Result<Text<'_>, nom::Err<Failure>> {
    if follows(input, over_rows) {
        return Ok(input);
    }
    maybe(across)(input).map(|(rest, _)| rest)
}

/// In one row, which is what is understood anyhow.
///
/// ```text
/// across = ( "across" | "around" | "over" | "in" | "on" ) [ "the" ] "next" row-word
///        | ( "across" | "around" ) [ [ "the" ] row-word ]
/// ```
fn across(input: Text<'_>) -> Parsed<'_, ()> {
    alt((
        phrase("across|around|over|in|on the? next row|round|rnd"),
        phrase("across|around the? row|round|rnd?"),
    ))
    .parse(input)
}

/// ```text
/// over-rows = ( "over" | "across" ) [ "the" ] [ "next" ] count rows
/// ```
fn over_rows(input: Text<'_>) -> Parsed<'_, Counts> {
    preceded(phrase("over|across the? next?"), terminated(count, rows_word)).parse(input)
}

// ---- By a schedule ---------------------------------------------------------

/// Each shaping round changes one stitch in each wedge.
///
/// ```text
/// wedges = change "in" count ( "wedges" | "wedge" | "sections" ) schedule
/// ```
fn wedges<'a>(change: Change) -> impl Fn(Text<'a>) -> Parsed<'a, Action> {
    move |input| {
        let (rest, ()) = phrase("in")(input)?;
        let (rest, wedges) = cut(count).parse(rest)?;
        let (rest, ()) = cut(phrase("wedges|wedge|sections")).parse(rest)?;
        let (rest, schedule) = cut(schedule).parse(rest)?;
        Ok((rest, Action::Wedges { change, wedges, schedule }))
    }
}

/// Where no place is named, the number is for the whole row.
///
/// ```text
/// shape = change count [ stitches ] [ shape-place ] schedule
/// ```
fn shape<'a>(change: Change) -> impl Fn(Text<'a>) -> Parsed<'a, Action> {
    move |input| {
        let (rest, each) = count_of_stitches(input)?;
        let (rest, place) = maybe(shape_place)(rest)?;
        let (rest, schedule) = cut(schedule).parse(rest)?;
        let place = place.unwrap_or(ShapePlace::Anywhere);
        Ok((rest, Action::Shape { change, each, place, schedule }))
    }
}

/// ```text
/// shape-place = ( [ "at" | "on" ] ( "each" | "both" ) ( "end" | "ends" | "side" | "sides" | "edge" | "edges" )
///             | "at" [ "the" ] ( "start" | "beginning" | "beg" | "end" )
///             | "at" [ "the" ] ( "neck" | "armhole" ) [ "edge" ]
///             | [ "at" | "on" ] ( "each" | "both" | "either" ) ( "side" | "sides" ) "of"
///               [ "each" | "every" | "all" | "the" ] ( "marker" | "markers" | "m" )
///             | "at" ( "each" | "every" | "all" | "the" ) ( "marker" | "markers" | "m" ) )
///               [ "of" [ "the" ] row-word ]
/// ```
fn shape_place(input: Text<'_>) -> Parsed<'_, ShapePlace> {
    let mut place = alt((
        value(
            ShapePlace::EachSideOfMarkers,
            phrase("at|on? each|both|either side|sides of each|every|all|the? markers|marker|m"),
        ),
        value(ShapePlace::AtMarkers, phrase("at each|every|all|the markers|marker|m")),
        value(ShapePlace::EachEnd, phrase("at|on? each|both end|ends|side|sides|edge|edges")),
        value(ShapePlace::Start, phrase("at the? start|beginning|beg")),
        value(ShapePlace::End, phrase("at the? end")),
        value(ShapePlace::NeckEdge, phrase("at the? neck edge?")),
        value(ShapePlace::ArmholeEdge, phrase("at the? armhole edge?")),
    ));
    let (rest, place) = place.parse(input)?;
    let (rest, _) = opt(phrase("of the? row|round|rnd")).parse(rest)?;
    Ok((rest, place))
}

/// ```text
/// schedule = rate { ( "," [ "then" | "and" ] | "then" | "and" ) rate } [ until-count ]
/// ```
pub(super) fn schedule(input: Text<'_>) -> Parsed<'_, Schedule> {
    let start = input.trimmed();
    let (mut rest, mut rates) = labelled("when (`every 4th row`, `on the next row`)", rate)(start)?;
    while let Some(after) = another_rate(rest) {
        let (after, more) = cut(rate).parse(after)?;
        rates.extend(more);
        rest = after;
    }
    let span = start.span_to(rest);
    let (rest, until) = opt(until_count).parse(rest)?;
    Ok((rest, Schedule { span, rates, until }))
}

/// The text after `, then`, where a rate follows.
fn another_rate(input: Text<'_>) -> Option<Text<'_>> {
    let (rest, comma) = maybe(sign(','))(input).ok()?;
    let (rest, word) = maybe(phrase("and|then then?"))(rest).ok()?;
    let said = comma.is_some() || word.is_some();
    let goes_on = said && (follows(rest, rate) || (word.is_some() && !opens_clause(rest)));
    goes_on.then_some(rest)
}

/// ```text
/// until-count = ( "to" | "until" [ "there" ] [ "are" ] ) count [ stitches ] [ "remain" | "left" ]
/// ```
fn until_count(input: Text<'_>) -> Parsed<'_, Counts> {
    let (rest, count) = alt((
        preceded(phrase("to"), cut(count_of_stitches)),
        preceded(phrase("until there? are?"), cut(count_of_stitches)),
    ))
    .parse(input)?;
    let (rest, _) = maybe(phrase("remain|remains|remaining|rem|left|are left?"))(rest)?;
    Ok((rest, count))
}

/// ```text
/// rate = first-then-every | on-next | [ "on" | "of" | "at" ] every [ times ]
/// ```
fn rate(input: Text<'_>) -> Parsed<'_, Vec<Rate>> {
    alt((quietly(first_then_every), quietly(on_next), every_rate)).parse(input)
}

fn every_rate(input: Text<'_>) -> Parsed<'_, Vec<Rate>> {
    let start = input.trimmed();
    let (rest, _) = opt(phrase("on|of|at")).parse(start)?;
    let (rest, every) = every(rest)?;
    Ok(rated(start, rest, every))
}

/// A rate with the times after it, where they are said.
fn rated<'a>(start: Text<'a>, rest: Text<'a>, every: Every) -> (Text<'a>, Vec<Rate>) {
    let (rest, times) = match quietly(times)(rest) {
        Ok((rest, times)) => (rest, Some(times)),
        Err(_) => (rest, None),
    };
    let more = times.as_ref().is_some_and(|times| times.more);
    let times = times.map(|times| times.count);
    (rest, vec![Rate { span: start.span_to(rest), every, times, more }])
}

/// `on the next row`, `on the next 4 RS rows`
///
/// ```text
/// on-next = [ "on" | "of" | "in" | "over" ] [ "the" ] ( "next" | "following" ) [ count ]
///           [ side | "other" | "alternate" | "alt" ] rows
/// ```
fn on_next(input: Text<'_>) -> Parsed<'_, Vec<Rate>> {
    let start = input.trimmed();
    let (rest, ()) = phrase("on|of|in|over? the? next|following|foll")(start)?;
    let (rest, times) = opt(count).parse(rest)?;
    let (rest, which) =
        opt(alt((map(side, Every::Side), map(every_other, Every::Nth)))).parse(rest)?;
    let (rest, ()) = rows_word(rest)?;
    let (every, times) = match (which, times) {
        (None, None) => (Every::Next, None),
        (None, Some(times)) => (Every::Row, Some(times)),
        (Some(which), times) => (which, Some(times.unwrap_or_else(|| unwritten(rest.offset(), 1)))),
    };
    Ok((rest, vec![Rate { span: start.span_to(rest), every, times, more: false }]))
}

/// Two rates at once: `on the 5th and every following 4th row`.
///
/// ```text
/// first-then-every = [ "on" | "of" ] [ "the" ] ( "next" | "following" | sizes(ordinal) ) [ rows ]
///                    "and" [ "on" | "of" ] ( "every" | "each" ) [ "following" ] every-what [ times ]
/// ```
fn first_then_every(input: Text<'_>) -> Parsed<'_, Vec<Rate>> {
    let start = input.trimmed();
    let (rest, _) = phrase("on|of? the?")(start)?;
    let (rest, first) =
        alt((value(None, phrase("next|following|foll")), map(nth, Some))).parse(rest)?;
    let (first_end, _) = opt(rows_word).parse(rest)?;
    let (rest, ()) = phrase("and")(first_end)?;
    let second = rest.trimmed();
    let (rest, ()) = phrase("on|of? every|each following|foll?")(rest)?;
    let (rest, every) = every_what(rest)?;
    let (first, times) = match first {
        None => (Every::Next, None),
        Some(nth) => (Every::Nth(nth), Some(unwritten(first_end.offset(), 1))),
    };
    let first = Rate { span: start.span_to(first_end), every: first, times, more: false };
    let (rest, then) = rated(second, rest, every);
    Ok((rest, std::iter::once(first).chain(then).collect()))
}

/// ```text
/// every = ( "every" | "each" ) [ "following" ] every-what
/// ```
fn every(input: Text<'_>) -> Parsed<'_, Every> {
    let (rest, ()) = phrase("every|each following|foll?")(input)?;
    cut(labelled("which rows", every_what)).parse(rest)
}

/// ```text
/// every-what = [ side | "other" | "alternate" | "alt" | sizes(ordinal) | count ] rows
/// ```
fn every_what(input: Text<'_>) -> Parsed<'_, Every> {
    alt((
        value(Every::Row, rows_word),
        map(terminated(side, rows_word), Every::Side),
        map(terminated(every_other, rows_word), Every::Nth),
        map(terminated(nth, rows_word), Every::Nth),
        map(terminated(count, rows_word), Every::Nth),
    ))
    .parse(input)
}

fn every_other(input: Text<'_>) -> Parsed<'_, Counts> {
    let (rest, word) = spanned(phrase("other|alternate|alt"))(input)?;
    Ok((rest, Counts { span: word.span, given: Given::Same(2), live: false }))
}

/// `4th`, `4th (4th, 6th)`: the span takes in the endings.
fn nth(input: Text<'_>) -> Parsed<'_, Counts> {
    let (rest, (span, given)) = sizes(ordinal)(input)?;
    Ok((rest, Counts { span, given, live: false }))
}
