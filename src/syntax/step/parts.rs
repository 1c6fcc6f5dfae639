//! Parts of a piece, other pieces, and words that change no count.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, opt, value};
use nom::sequence::preceded;

use super::action_end;
use crate::diag::{Code, Finding};
use crate::source::{Span, Spanned};
use crate::syntax::error::{Expected, found};
use crate::syntax::row::{begins_row, join_yarn};
use crate::syntax::terminals::{count, name, number, phrase, sign, sign_of, stitches_word};
use crate::syntax::text::{Parsed, Text, follows, maybe, quietly, stop};
use crate::syntax::tree::Action;

/// Its steps are the list below it.
///
/// ```text
/// together = "at the same time" [ ":" ]
/// ```
pub(super) fn together(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = quietly(phrase("at the? same time"))(input)?;
    let (rest, colon) = maybe(sign_of(&[':', ','], "`:`"))(rest)?;
    if colon == Some(',') && !follows(rest, action_end) {
        return one_by_one(rest);
    }
    let (rest, ()) = cut(action_end).parse(rest)?;
    Ok((rest, Action::Together))
}

/// `at the same time, decrease ...` does not say the same time as what.
fn one_by_one<'a, T>(rest: Text<'a>) -> Parsed<'a, T> {
    let here = rest.trimmed();
    let (length, found) = found(here.rest());
    let place = Span::new(here.offset(), here.offset() + length);
    let finding = Finding::new(
        Code::Syntax,
        place,
        format!("expected the end of the instruction, but found {found}"),
    )
    .label("at the same time as what?")
    .help("write `at the same time:`, and below it, indented, a list of all that happens then");
    stop(finding)
}

/// ```text
/// note = ( "note" | "tip" | "caution" ) ":" words
/// ```
pub(super) fn note(input: Text<'_>) -> Parsed<'_, Action> {
    let start = input.trimmed();
    let (_, _) = quietly((phrase("note|tip|caution"), sign(':')))(start)?;
    Ok((start, Action::Say))
}

/// Words that change no count. `place` does so only where what is placed are
/// neither markers nor stitches, and yarn only where no stitches follow it.
///
/// ```text
/// say = ( "sew" | "seam" | "weave" | "block" | "wash" | "press" | "steam" | "attach" | "fold"
///     | "tie" | "stuff" | "try" | "swatch" | "mark" | ( "break" | "cut" | "rejoin" | "reattach" ) [ "the" ] "yarn"
///     | "join" [ "the" | "a" ] ( "yarn" | "new" "yarn" | "shoulders" ) | "fasten off" | "place" ) [ words ]
/// ```
pub(super) fn say(input: Text<'_>) -> Parsed<'_, Action> {
    let start = input.trimmed();
    if joins_for_a_row(start) {
        return start.fail(Expected::Thing("words"));
    }
    let (_, ()) = quietly(alt((
        phrase("sew|seam|weave|block|wash|press|steam|attach|fold|tie|stuff|try|swatch|mark"),
        yarn_words,
        join_words,
        phrase("fasten off"),
        place_words,
    )))(start)?;
    Ok((start, Action::Say))
}

/// `break the yarn`; with stitches after what is joined, it is part of a row.
fn yarn_words(input: Text<'_>) -> Parsed<'_, ()> {
    phrase("break|cut|rejoin|reattach|re-join the? yarn|wool")(input)
}

/// `join the yarn at the neck edge`, `join shoulders`
fn join_words(input: Text<'_>) -> Parsed<'_, ()> {
    phrase("join the|a? new|second? yarn|ball|shoulders|shoulder")(input)
}

/// `rejoin yarn at the neck edge, bind off 4, k to end`: yarn is joined, and stitches follow.
fn joins_for_a_row(input: Text<'_>) -> bool {
    let stitches = |after| {
        if begins_row(after) { Ok((after, ())) } else { after.fail(Expected::Thing("a stitch")) }
    };
    let goes_on = alt((sign(','), phrase("and|then")));
    // Broken yarn is none to work with: what is wrong is told.
    let yarn = alt((value((), join_yarn), phrase("break|cut the? yarn|wool")));
    follows(input, (yarn, goes_on, opt(phrase("and|then")), stitches))
}

fn place_words(input: Text<'_>) -> Parsed<'_, ()> {
    let (rest, ()) = phrase("place")(input)?;
    let ours = alt((
        phrase("a|the? marker|m"),
        value((), (opt(phrase("all|the? remaining|the?")), opt(count), stitches_word)),
        value((), (opt(phrase("the? next")), number)),
        sign('{'),
    ));
    let at_the_edges = phrase("a|the? marker|m at each|both|either");
    if follows(rest, ours) && !follows(rest, at_the_edges) {
        rest.fail(Expected::Thing("words"))
    } else {
        Ok((rest, ()))
    }
}

/// ```text
/// as-for = [ "work" ] [ "the" ] [ "same" ] "as" [ "given" | "set" ] "for" name
///          [ ( "to" | "until" ) name ] [ [ "," ] reversing ]
/// reversing = ( "reversing" | "reverse" ) [ "all" ] [ "the" ] ( "shaping" | "shapings" )
/// ```
pub(super) fn as_for(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = quietly(phrase("work? the? same? as given|set? for"))(input)?;
    let (rest, piece) = cut(name(&["to", "until", "reversing", "reverse"])).parse(rest)?;
    let (rest, to) =
        opt(preceded(phrase("to|until"), cut(name(&["reversing", "reverse"])))).parse(rest)?;
    let (rest, reversed) = maybe((opt(sign(',')), reversing))(rest)?;
    Ok((rest, Action::AsFor { piece, to, reversed: reversed.is_some() }))
}

fn reversing(input: Text<'_>) -> Parsed<'_, ()> {
    phrase("reversing|reverse|mirroring all? the? shaping|shapings")(input)
}

/// Its steps are the list below it; `each side` stands for every group of
/// stitches in turn.
///
/// ```text
/// part = [ "work" | "for" ] [ "each" | "both" ] name [ "separately" ] ":"
/// ```
pub(super) fn part(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, _) = opt(phrase("work|for")).parse(input)?;
    let (rest, each) = opt(phrase("each|both")).parse(rest)?;
    let (rest, name) = name(&["separately"])(rest)?;
    let (rest, _) = opt(phrase("separately")).parse(rest)?;
    let (rest, ()) = sign(':')(rest)?;
    let (rest, ()) = action_end(rest)?;
    Ok((rest, Action::Part { name, each: each.is_some() }))
}

/// Without a name after it, the part just before is mirrored.
///
/// ```text
/// reverse = name ":" [ "work" ] [ "as" ] ( "reverse" | "mirror" | "reversing" )
///           [ [ "all" ] [ "the" ] "shaping" | name ]
///         | name ":" ( "work" | "complete" ) ( "as for" | "to match" ) name "," reversing
/// ```
pub(super) fn reverse(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, part) = name(&[])(input)?;
    let (rest, ()) = sign(':')(rest)?;
    if let (rest, Some(of)) = maybe(to_match)(rest)? {
        return Ok((rest, Action::Reverse { name: part, of: Some(of) }));
    }
    let (rest, ()) = phrase("work? as? reverse|mirror|reversing")(rest)?;
    let (rest, shaping) = opt(phrase("all? the? shaping|shapings")).parse(rest)?;
    let (rest, of) = match shaping {
        Some(()) => (rest, None),
        None => opt(name(&[])).parse(rest)?,
    };
    Ok((rest, Action::Reverse { name: part, of }))
}

/// `work to match left shoulder, reversing shaping`
fn to_match(input: Text<'_>) -> Parsed<'_, Spanned<String>> {
    let (rest, ()) =
        alt((phrase("work|complete|finish as for"), phrase("work|complete|finish to match")))
            .parse(input)?;
    let (rest, of) = name(&["reversing", "reverse", "mirroring"])(rest)?;
    let (rest, _) = opt(sign(',')).parse(rest)?;
    let (rest, ()) = reversing(rest)?;
    Ok((rest, of))
}
