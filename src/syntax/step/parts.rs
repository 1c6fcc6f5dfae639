//! Parts of a piece, other pieces, and words that change no count.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, opt, value};
use nom::sequence::preceded;

use super::action_end;
use crate::syntax::error::Expected;
use crate::syntax::terminals::{
    Parsed, Text, count, follows, maybe, name, number, phrase, quietly, sign, sign_of,
    stitches_word,
};
use crate::syntax::tree::Action;

/// Its steps are the list below it.
///
/// ```text
/// together = "at the same time" [ ":" | "," ]
/// ```
pub(super) fn together(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = quietly(phrase("at the? same time"))(input)?;
    let (rest, _) = maybe(sign_of(&[':', ','], "`:`"))(rest)?;
    let (rest, ()) = cut(action_end).parse(rest)?;
    Ok((rest, Action::Together))
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
/// neither markers nor stitches.
///
/// ```text
/// say = ( "sew" | "seam" | "weave" | "block" | "wash" | "press" | "steam" | "attach" | "fold"
///     | "tie" | "stuff" | "try" | "swatch" | ( "break" | "cut" ) [ "the" ] "yarn" | "fasten off"
///     | "place" ) [ words ]
/// ```
pub(super) fn say(input: Text<'_>) -> Parsed<'_, Action> {
    let start = input.trimmed();
    let (_, ()) = quietly(alt((
        phrase("sew|seam|weave|block|wash|press|steam|attach|fold|tie|stuff|try|swatch"),
        phrase("break|cut the? yarn"),
        phrase("fasten off"),
        place_words,
    )))(start)?;
    Ok((start, Action::Say))
}

fn place_words(input: Text<'_>) -> Parsed<'_, ()> {
    let (rest, ()) = phrase("place")(input)?;
    let ours = alt((
        phrase("a|the? marker|m"),
        value((), (opt(phrase("all|the? remaining|the?")), opt(count), stitches_word)),
        value((), (opt(phrase("the? next")), number)),
        sign('{'),
    ));
    if follows(rest, ours) { rest.fail(Expected::Thing("words")) } else { Ok((rest, ())) }
}

/// ```text
/// as-for = [ "work" ] [ "the" ] [ "same" ] "as for" name [ ( "to" | "until" ) name ]
///          [ [ "," ] "reversing" [ "all" ] [ "the" ] "shaping" ]
/// ```
pub(super) fn as_for(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = quietly(phrase("work? the? same? as for"))(input)?;
    let (rest, piece) = cut(name(&["to", "until", "reversing"])).parse(rest)?;
    let (rest, to) = opt(preceded(phrase("to|until"), cut(name(&["reversing"])))).parse(rest)?;
    let mirrored = preceded(maybe(sign(',')), phrase("reversing all? the? shaping|shapings"));
    let (rest, reversed) = opt(mirrored).parse(rest)?;
    Ok((rest, Action::AsFor { piece, to, reversed: reversed.is_some() }))
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
/// ```
pub(super) fn reverse(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, part) = name(&[])(input)?;
    let (rest, ()) = sign(':')(rest)?;
    let (rest, ()) = phrase("work? as? reverse|mirror|reversing")(rest)?;
    let (rest, shaping) = opt(phrase("all? the? shaping|shapings")).parse(rest)?;
    let (rest, of) = match shaping {
        Some(()) => (rest, None),
        None => opt(name(&[])).parse(rest)?,
    };
    Ok((rest, Action::Reverse { name: part, of }))
}
