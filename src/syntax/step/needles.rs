//! Stitches put on the needle, taken off it, and moved about.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, map, opt, value};
use nom::sequence::{preceded, terminated};

use super::item::and_then;
use super::rows::committed_row;
use super::tail::ending;
use super::{action_end, name_separator};
use crate::source::Spanned;
use crate::syntax::color::in_declared_color;
use crate::syntax::row::{aside, asides, bind_off_words, cast_on_words, item, manners, on_hold};
use crate::syntax::terminals::{
    count, count_of_stitches, name, number, phrase, rows_word, side, sign, stitches_word, times,
    unwritten,
};
use crate::syntax::text::{Parsed, Text, follows, labelled, maybe, quietly};
use crate::syntax::tree::{Action, BindOff, CastOnPlace, CloseWith, Counts, EdgeRows, PickUp};

/// ```text
/// cast-on = cast-on-words count [ stitches ]
///           ( [ "in" name ] [ cast-on-place ] | cast-on-place "in" name ) { aside }
/// ```
pub(super) fn cast_on(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = cast_on_words(input)?;
    let (rest, count) = cut(count_of_stitches).parse(rest)?;
    if a_row_goes_on(input) {
        return committed_row(input);
    }
    let (rest, ()) = asides(rest)?;
    let (rest, before) = opt(cast_on_place).parse(rest)?;
    let (rest, gauge) = if in_declared_color(rest) {
        (rest, None)
    } else {
        let gauge = name(&["at", "over", "across", "above", "using", "loosely", "firmly"]);
        opt(preceded(phrase("in"), cut(gauge))).parse(rest)?
    };
    let (rest, place) = match before {
        Some(place) => (rest, Some(place)),
        None => opt(cast_on_place).parse(rest)?,
    };
    let (rest, ()) = asides(rest)?;
    let place = place.unwrap_or(CastOnPlace::Here);
    Ok((rest, Action::CastOn { count, gauge, place }))
}

/// `cast on 8, k to end` is a row.
fn a_row_goes_on(input: Text<'_>) -> bool {
    match quietly(item)(input) {
        Ok((rest, _)) => {
            follows(rest, alt((sign(','), phrase("and|then"))))
                && !follows(rest, alt((value((), ending), aside)))
                && !follows(rest, (and_then, join))
        }
        Err(_) => false,
    }
}

/// ```text
/// cast-on-place = "at" [ "the" ] "end of" [ "the" ] [ "next" ] so-many-rows
///               | at-start so-many-rows
///               | ( "over" | "across" ) [ "the" ] ( "gap" | ( "bound-off" | "cast-off" ) [ stitches ] )
/// ```
fn cast_on_place(input: Text<'_>) -> Parsed<'_, CastOnPlace> {
    let gap = alt((
        phrase("over|across the? gap"),
        phrase("over|across|above the? bound-off|cast-off sts|st|stitches|stitch?"),
    ));
    alt((
        map(
            preceded(quietly(phrase("at the? end of the? next?")), cut(so_many_rows)),
            CastOnPlace::EndOfNext,
        ),
        map(preceded(at_start, cut(so_many_rows)), CastOnPlace::StartOfNext),
        value(CastOnPlace::OverGap, gap),
    ))
    .parse(input)
}

/// One row where no number is written.
///
/// ```text
/// so-many-rows = [ count ] rows
/// ```
pub(super) fn so_many_rows(input: Text<'_>) -> Parsed<'_, Counts> {
    let start = input.trimmed();
    if let Ok((rest, ())) = quietly(rows_word)(start) {
        return Ok((rest, unwritten(start.offset(), 1)));
    }
    terminated(count, cut(rows_word)).parse(start)
}

/// ```text
/// join = [ marker-placed "and" ]
///        "join" [ "for" | "to" ] [ "working" | "work" | "knitting" | "knit" ]
///        [ ( "in" | "into" ) [ "the" | "a" ] "round" ]
///        [ ( "," [ "and" ] | "and" ) marker-placed ]
///        [ [ "," ] ( "being careful" | "taking care" ) "not to twist" [ [ "the" ] stitches ] ]
/// marker-placed = ( "pm" | ( "place" | "placing" ) [ "a" ] ( "marker" | "m" ) )
///                 [ "for" [ "the" ] "beginning of" [ "the" ] row-word ]
/// ```
pub(super) fn join(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, _) = maybe((marker_placed, phrase("and")))(input)?;
    let (rest, ()) = phrase("join for|to? working|work|knit|knitting?")(rest)?;
    let (rest, _) = maybe(phrase("in|into? the|a? round|rnd"))(rest)?;
    let (rest, _) = maybe((
        alt((value((), (sign(','), opt(phrase("and")))), phrase("and"))),
        marker_placed,
    ))(rest)?;
    let careful = alt((phrase("being careful"), phrase("taking care")));
    let twist = phrase("not to twist the? sts|st|stitches|stitch?");
    let (rest, _) = maybe((opt(sign(',')), careful, twist))(rest)?;
    // `join the back to the front` is said, and changes no count.
    let (rest, ()) = action_end(rest)?;
    Ok((rest, Action::JoinRound))
}

/// The round's own marker, which is no place in the row.
fn marker_placed(input: Text<'_>) -> Parsed<'_, ()> {
    let (rest, ()) = alt((phrase("pm"), phrase("place|placing a|the? marker|m"))).parse(input)?;
    let (rest, _) = maybe(phrase("for|at the? beginning|beg|start of the? row|round|rnd"))(rest)?;
    Ok((rest, ()))
}

/// ```text
/// change-to = ( "change" | "switch" ) "to" name
/// ```
pub(super) fn change_to(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = phrase("change|switch to")(input)?;
    map(cut(name(&[])), Action::ChangeTo).parse(rest)
}

/// A number alone is bound off within a row: `bind off 24, k to end`.
///
/// ```text
/// bind-off-step = bind-off-words ( count [ stitches ] at-start so-many-rows
///               | count [ stitches ] every-second-row times
///               | count [ stitches ] at-start [ count ] ( side | "other" | "alternate" | "alt" ) rows
///               | ( "all" [ "the" ] [ "remaining" | "rem" ] | "remaining" | "rem" ) [ count ] [ stitches ]
///               | [ [ "the" ] [ "remaining" ] stitches ] ) { manner }
/// ```
pub(super) fn bind_off(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = bind_off_words(input)?;
    if let Ok((rest, (count, which))) = quietly((count_of_stitches, every_second_row))(rest) {
        let (rest, times) = cut(times).parse(rest)?;
        let (rest, ()) = manners(rest)?;
        let amount = BindOff::StartOfNext { count, rows: times.count, which };
        return Ok((rest, Action::BindOff { amount }));
    }
    if let Ok((rest, (count, (rows, which)))) = quietly((count_of_stitches, next_second_rows))(rest)
    {
        let (rest, ()) = manners(rest)?;
        let amount = BindOff::StartOfNext { count, rows, which };
        return Ok((rest, Action::BindOff { amount }));
    }
    if let Ok((rest, count)) = quietly(terminated(count_of_stitches, at_start))(rest) {
        let (rest, rows) = cut(so_many_rows).parse(rest)?;
        let (rest, ()) = manners(rest)?;
        let amount = BindOff::StartOfNext { count, rows, which: EdgeRows::Next };
        return Ok((rest, Action::BindOff { amount }));
    }
    if let Ok((rest, amount)) = quietly(terminated(bind_off_all, action_end))(rest) {
        return Ok((rest, Action::BindOff { amount: BindOff::All(amount) }));
    }
    committed_row(input)
}

/// ```text
/// at-start = "at" [ "the" ] ( "start" | "beginning" | "beg" ) [ "of" ] [ "the" ] [ "next" | "following" ]
/// ```
pub(super) fn at_start(input: Text<'_>) -> Parsed<'_, ()> {
    phrase("at the? start|beginning|beg of? the? next|following|foll?")(input)
}

/// ```text
/// every-second-row = "at" [ "the" ] ( ( "start" | "beginning" | "beg" ) [ "of" ]
///                    | ( "neck" | "armhole" | "shoulder" ) [ "edge" ] [ "on" | "of" ] )
///                    ( "every" | "each" ) ( side | "other" | "alternate" | "alt" | "second" | "2nd" ) rows
/// ```
pub(super) fn every_second_row(input: Text<'_>) -> Parsed<'_, EdgeRows> {
    let (rest, ()) = alt((
        phrase("at the? start|beginning|beg of?"),
        phrase("at the? neck|armhole|shoulder edge? on|of?"),
    ))
    .parse(input)?;
    every_second(rest)
}

/// `at the start of the next 2 RS rows`: every second row, so many times.
pub(super) fn next_second_rows(input: Text<'_>) -> Parsed<'_, (Counts, EdgeRows)> {
    let (rest, ()) = at_start(input)?;
    let here = rest.trimmed();
    let (rest, rows) = opt(count).parse(rest)?;
    let (rest, which) = second(rest)?;
    Ok((rest, (rows.unwrap_or_else(|| unwritten(here.offset(), 1)), which)))
}

/// `RS rows`, `other rows`
fn second(input: Text<'_>) -> Parsed<'_, EdgeRows> {
    let which = alt((map(side, Some), value(None, phrase("other|alternate|alt|second|2nd"))));
    map(terminated(which, rows_word), EdgeRows::EverySecond).parse(input)
}

fn every_second(input: Text<'_>) -> Parsed<'_, EdgeRows> {
    preceded(phrase("every|each"), second).parse(input)
}

/// ```text
/// short-rows = [ "work" "short" "rows" [ "," | ":" ] ] ( "leave" | "leaving" ) count [ "more" ]
///              [ stitches ] [ "more" ] "unworked" "at" [ "the" ] "end" "of"
///              ( ( "every" | "each" ) ( side | "other" | "alternate" | "alt" | "second" | "2nd" ) rows times
///              | [ "each" [ "of" ] ] [ "the" ] [ "next" ] so-many-rows )
/// ```
pub(super) fn short_rows(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, _) = maybe((phrase("work short rows"), opt(alt((sign(','), sign(':'))))))(input)?;
    let (rest, ()) = phrase("leave|leaving")(rest)?;
    let (rest, count) = count(rest)?;
    let (rest, _) = opt(phrase("more")).parse(rest)?;
    let (rest, _) = opt(stitches_word).parse(rest)?;
    let (rest, _) = opt(phrase("more")).parse(rest)?;
    let (rest, ()) = phrase("unworked")(rest)?;
    let (rest, ()) = cut(phrase("at the? end of")).parse(rest)?;
    if let Ok((rest, which)) = quietly(every_second)(rest) {
        let (rest, times) = cut(times).parse(rest)?;
        return Ok((rest, Action::ShortRows { count, rows: times.count, which }));
    }
    let (rest, _) = maybe(phrase("each of?"))(rest)?;
    let (rest, _) = maybe(phrase("the? next"))(rest)?;
    let (rest, _) = maybe(phrase("the"))(rest)?;
    let (rest, rows) = cut(so_many_rows).parse(rest)?;
    Ok((rest, Action::ShortRows { count, rows, which: EdgeRows::Next }))
}

fn bind_off_all(input: Text<'_>) -> Parsed<'_, Option<Counts>> {
    let counted = |input| {
        let (rest, ()) =
            alt((phrase("all the? remaining|rem?"), phrase("the? remaining|rem"))).parse(input)?;
        let (rest, count) = opt(count).parse(rest)?;
        let (rest, _) = opt(stitches_word).parse(rest)?;
        Ok((rest, count))
    };
    let uncounted = value(None, phrase("the? remaining? sts|st|stitches|stitch?"));
    terminated(alt((counted, uncounted)), manners).parse(input)
}

/// ```text
/// hold = "hold" [ "all" ] [ "the" ] [ stitches ] [ on-hold ] [ ( "as" | "for" ) name ]
///      | ( "place" | "leave" | "put" | "slip" ) [ "all" ] [ "the" ] [ "remaining" | "rem" ] stitches on-hold
///        [ ( "as" | "for" ) name ]
/// ```
pub(super) fn hold(input: Text<'_>) -> Parsed<'_, Action> {
    let placed = |input| {
        let (rest, ()) =
            phrase("place|leave|put|slip all? the? remaining|rem? sts|st|stitches|stitch")(input)?;
        on_hold(rest)
    };
    let plain = |input| {
        let (rest, ()) = phrase("hold all? the? remaining|rem? sts|st|stitches|stitch?")(input)?;
        let (rest, _) = opt(on_hold).parse(rest)?;
        Ok((rest, ()))
    };
    let (rest, ()) = quietly(alt((placed, plain)))(input)?;
    // `hold 40 as left sleeve` is part of a row.
    if follows(rest, preceded(opt(phrase("the? next|first|last")), count)) {
        return committed_row(input);
    }
    let (rest, name) = opt(preceded(phrase("as|for"), cut(name(&[])))).parse(rest)?;
    Ok((rest, Action::Hold { name }))
}

/// ```text
/// take-up = "take up" [ "held" ] name { name-separator name }
/// ```
pub(super) fn take_up(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = phrase("take up held?")(input)?;
    let (mut rest, first) = cut(name(&["and"])).parse(rest)?;
    let mut names = vec![first];
    while !follows(rest, ending) {
        let Ok((after, ())) = name_separator(rest) else { break };
        let (after, next) = cut(name(&["and"])).parse(after)?;
        names.push(next);
        rest = after;
    }
    Ok((rest, Action::TakeUp(names)))
}

/// ```text
/// pick-up = "pick up" [ "and" ( "knit" | "purl" | "k" | "p" ) ]
///           ( pick-up-ratio | pick-up-each | count [ stitches ] ) [ "evenly" [ "spaced" ] ]
///           [ along ]
/// ```
pub(super) fn pick_up(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = phrase("pick up and? knit|purl|k|p?")(input)?;
    let amount =
        alt((quietly(pick_up_ratio), quietly(pick_up_each), map(count_of_stitches, PickUp::Count)));
    let (rest, amount) = cut(labelled("how many stitches", amount)).parse(rest)?;
    let (rest, _) = maybe(phrase("evenly spaced?"))(rest)?;
    let (rest, along) = opt(along).parse(rest)?;
    Ok((rest, Action::PickUp { amount, along }))
}

/// ```text
/// along = ( "along" | "around" | "from" | "across" | "down" | "up" | "at" ) name
/// ```
pub(super) fn along(input: Text<'_>) -> Parsed<'_, Spanned<String>> {
    preceded(phrase("along|around|from|across|down|up|at"), cut(name(&[]))).parse(input)
}

/// ```text
/// pick-up-ratio = number [ stitches ] ( "for" | "in" ) ( "every" | "each" ) number rows
/// ```
fn pick_up_ratio(input: Text<'_>) -> Parsed<'_, PickUp> {
    let (rest, stitches) = number(input)?;
    let (rest, _) = opt(stitches_word).parse(rest)?;
    let (rest, ()) = phrase("for|in every|each")(rest)?;
    let (rest, rows) = number(rest)?;
    let (rest, ()) = rows_word(rest)?;
    Ok((rest, PickUp::Ratio { stitches, rows }))
}

/// One for one: as good as a ratio, since the count it comes to has to be stated.
///
/// ```text
/// pick-up-each = number stitches ( "in" | "for" ) ( "every" | "each" )
///                [ "bound-off" | "cast-on" | "cast-off" | "slipped" ] stitch-word
/// ```
fn pick_up_each(input: Text<'_>) -> Parsed<'_, PickUp> {
    let (rest, stitches) = number(input)?;
    let (rest, ()) = stitches_word(rest)?;
    let (rest, ()) =
        phrase("in|for every|each bound-off|cast-on|cast-off|slipped? st|stitch")(rest)?;
    Ok((rest, PickUp::Ratio { stitches, rows: 1 }))
}

/// The words after it are for the knitter.
///
/// ```text
/// close = [ ( "break" | "cut" ) [ "the" ] "yarn and" ] ( "draw" | "thread" | "pull" ) "through" [ name ]
///       | ( "draw" | "thread" | "pull" ) [ "the" ] ( "yarn" | "tail" ) "through" [ name ]
///       | ( "graft" | ( "three-needle" | "3-needle" ) "bind off" ) [ name ]
/// ```
pub(super) fn close(input: Text<'_>) -> Parsed<'_, Action> {
    let mut with = quietly(alt((
        value(
            CloseWith::DrawThrough,
            phrase("break|cut the? yarn and draw|thread|pull it? through"),
        ),
        value(CloseWith::DrawThrough, phrase("draw|thread|pull the? yarn|tail? through")),
        value(CloseWith::Graft, phrase("graft")),
        value(CloseWith::ThreeNeedle, phrase("three-needle|3-needle bind|cast off")),
        value(CloseWith::ThreeNeedle, phrase("three-needle|3-needle bind-off|cast-off")),
    )));
    let (rest, with) = with(input)?;
    let (rest, _) = maybe(name(&["end", "ending"]))(rest)?;
    Ok((rest, Action::Close(with)))
}
