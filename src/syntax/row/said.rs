//! What is said in words within a row: bound off, held, turned, worked in pattern.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, map, opt, value};
use nom::sequence::preceded;

use crate::diag::{Code, Finding};
use crate::source::{Span, Spanned};
use crate::syntax::color::in_declared_color;
use crate::syntax::error::{Expected, Failure, found};
use crate::syntax::how_far::{marker_name, row_end, to_end};
use crate::syntax::terminals::{count, count_of_stitches, name, phrase, sign};
use crate::syntax::text::{Parsed, Text, follows, labelled, maybe, quietly, spanned, stop};
use crate::syntax::tree::{Counts, ItemKind, MarkerAct};

/// ```text
/// bind-off = bind-off-words ( [ "next" | "center" | "first" | "last" ] count [ stitches ] | to-end ) { manner }
/// ```
pub(super) fn bind_off(input: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, ()) = bind_off_words(input)?;
    let counted = preceded(
        maybe(phrase("the? next|center|centre|middle|first|last")),
        labelled("how many", count_of_stitches),
    );
    let (rest, count) = cut(alt((map(counted, Some), value(None, to_end)))).parse(rest)?;
    let (rest, ()) = manners(rest)?;
    Ok((rest, ItemKind::BindOff(count)))
}

/// ```text
/// bind-off-words = "bind off" | "cast off" | "bo" | "bind-off" | "cast-off"
/// ```
pub(in crate::syntax) fn bind_off_words(input: Text<'_>) -> Parsed<'_, ()> {
    alt((phrase("bind off"), phrase("cast off"), phrase("bo|bind-off|cast-off"))).parse(input)
}

/// How stitches are bound off, which changes no count.
///
/// ```text
/// manner = "in" ( "pattern" | "patt" | "rib" ) | aside
/// ```
pub(in crate::syntax) fn manners(input: Text<'_>) -> Parsed<'_, ()> {
    all_of(alt((phrase("in pattern|patt|rib|ribbing"), aside)))(input)
}

/// How stitches are cast on.
pub(in crate::syntax) fn asides(input: Text<'_>) -> Parsed<'_, ()> {
    all_of(aside)(input)
}

/// ```text
/// aside = [ "," ] ( "loosely" | "firmly" | "knitwise" | "purlwise"
///       | "using" [ "a" | "the" ] word { word } ( bind-off-words | cast-on-words | "method" )
///       | "leaving" "a" [ "long" ] "tail" [ "for" ( "sewing" | "seaming" | "grafting" ) ] )
/// ```
pub(in crate::syntax) fn aside(input: Text<'_>) -> Parsed<'_, ()> {
    let named = (
        phrase("using a|an|the?"),
        name(&["bind", "bind-off", "cast", "cast-on", "cast-off", "bo", "co", "method"]),
        alt((bind_off_words, cast_on_words, phrase("method"))),
    );
    let tail = (phrase("leaving a long? tail"), opt(phrase("for sewing|seaming|grafting")));
    let mut aside = alt((
        phrase("loosely|firmly|knitwise|purlwise|kwise|pwise"),
        value((), named),
        value((), tail),
    ));
    let (rest, _) = opt(sign(',')).parse(input)?;
    // `using CC bind off 2` is bound off in that color.
    if in_declared_color(rest) {
        return rest.trimmed().fail(Expected::Thing("how it is done"));
    }
    aside.parse(rest)
}

/// One after another, as long as there are some.
fn all_of<'a>(
    mut one: impl Parser<Text<'a>, Output = (), Error = Failure>,
) -> impl FnMut(Text<'a>) -> Parsed<'a, ()> {
    move |input| {
        let mut rest = input;
        while let (after, Some(())) = maybe(quietly(|input| one.parse(input)))(rest)? {
            rest = after;
        }
        Ok((rest, ()))
    }
}

/// ```text
/// cast-on-more = cast-on-words count [ [ "underarm" ] stitches ]
///                [ "for" [ "the" ] "underarm" | ( "over" | "across" ) [ "the" ] "gap" ]
/// ```
pub(super) fn cast_on_more(input: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, ()) = cast_on_words(input)?;
    let (rest, count) = cut(count).parse(rest)?;
    let (rest, _) = maybe(phrase("underarm? sts|st|stitches|stitch"))(rest)?;
    let place = alt((phrase("for|at the? underarm"), phrase("over|across the? gap")));
    let (rest, _) = maybe(place)(rest)?;
    Ok((rest, ItemKind::CastOn(count)))
}

/// ```text
/// cast-on-words = "cast on" | "co" | "cast-on"
/// ```
pub(in crate::syntax) fn cast_on_words(input: Text<'_>) -> Parsed<'_, ()> {
    alt((phrase("cast on"), phrase("co|cast-on"))).parse(input)
}

/// ```text
/// hold-some = ( "hold" [ "the" ] [ which ] count [ stitches ] [ on-hold ]
///             | hold-words [ "the" ] [ which ] count [ stitches ] on-hold
///             | ( "hold" | hold-words ) [ "the" ] ( "remaining" | "rem" ) stitches [ on-hold ] )
///             ( "as" | "for" ) name
/// hold-words = "place" | "slip" | "put" | "leave" | "leaving"
/// which = "next" | "first" | "last" | "remaining" | "rem"
/// ```
pub(super) fn hold_some(input: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, count) = alt((quietly(hold_rest), hold_counted)).parse(input)?;
    if !follows(rest, phrase("as|for")) {
        return unnamed(rest);
    }
    let (rest, name) =
        cut(preceded(phrase("as|for"), name(&["and", "then", "rep", "repeat"]))).parse(rest)?;
    Ok((
        rest,
        match count {
            Some(count) => ItemKind::Hold { count, name },
            None => ItemKind::HoldRest { name },
        },
    ))
}

fn hold_counted(input: Text<'_>) -> Parsed<'_, Option<Counts>> {
    if let (rest, Some(())) = maybe(phrase("hold the? next|first|last|remaining|rem?"))(input)? {
        let (rest, count) = cut(count_of_stitches).parse(rest)?;
        let (rest, _) = maybe(on_hold)(rest)?;
        return Ok((rest, Some(count)));
    }
    let (rest, ()) =
        phrase("place|slip|put|leave|leaving the? next|first|last|remaining|rem?")(input)?;
    let (rest, count) = count_of_stitches(rest)?;
    let (rest, ()) = on_hold(rest)?;
    Ok((rest, Some(count)))
}

/// All that is left: `leaving the remaining sts on hold`.
fn hold_rest(input: Text<'_>) -> Parsed<'_, Option<Counts>> {
    let (rest, ()) = phrase(
        "hold|place|slip|put|leave|leaving the? remaining|rem sts|st|stitches|stitch",
    )(input)?;
    let (rest, _) = maybe(on_hold)(rest)?;
    Ok((rest, None))
}

fn unnamed<'a, T>(rest: Text<'a>) -> Parsed<'a, T> {
    let here = rest.trimmed();
    let (length, found) = found(here.rest());
    let place = Span::new(here.offset(), here.offset() + length);
    let finding =
        Finding::new(Code::Syntax, place, format!("expected `as` and a name, but found {found}"))
            .label("held under which name?")
            .help("name them, so that they can be taken up again: `hold 10 as left shoulder`");
    stop(finding)
}

/// ```text
/// on-hold = "on hold" | ( "on" | "onto" | "to" ) [ "a" ] [ stitch-word ] "holder"
///         | ( "on" | "onto" | "to" ) ( "waste" | "scrap" ) "yarn"
/// ```
pub(in crate::syntax) fn on_hold(input: Text<'_>) -> Parsed<'_, ()> {
    alt((
        phrase("on hold"),
        phrase("on|onto|to a? stitch|st? holder"),
        phrase("on|onto|to waste|scrap yarn"),
    ))
    .parse(input)
}

/// ```text
/// turn = "turn" [ [ "the" ] "work" ]
/// ```
pub(super) fn turn(input: Text<'_>) -> Parsed<'_, ItemKind> {
    value(ItemKind::Turn, phrase("turn the? work?")).parse(input)
}

/// ```text
/// wrap = ( "w" | "wrap" ) [ [ "the" ] "next" ] [ "1" ] [ stitch-word ]
///        ( "&" | "and" | "," [ "and" ] ) ( "t" | "turn" )
/// ```
pub(super) fn wrap(input: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, ()) = phrase("w|wrap the? next? 1|one? stitch|st?")(input)?;
    let comma = value((), (sign(','), opt(phrase("and"))));
    let (rest, ()) = alt((sign('&'), phrase("and"), comma)).parse(rest)?;
    value(ItemKind::WrapTurn, phrase("t|turn")).parse(rest)
}

/// ```text
/// marker-item = ( "pm" | "sm" | "slm" | "rm"
///             | ( "place" | "slip" | "sl" | "remove" ) [ "a" | "the" ] ( "marker" | "m" ) )
///               [ "for" [ "the" ] "beginning of" [ "the" ] row-word | word ]
/// ```
pub(super) fn marker_item(input: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, act) = alt((
        value(MarkerAct::Place, phrase("pm")),
        value(MarkerAct::Slip, phrase("sm|slm")),
        value(MarkerAct::Remove, phrase("rm")),
        value(MarkerAct::Place, phrase("place a|the? marker|m")),
        value(MarkerAct::Slip, phrase("slip|sl a|the? marker|m")),
        value(MarkerAct::Remove, phrase("remove a|the? marker|m")),
    ))
    .parse(input)?;
    let purpose = phrase("for the? beginning|beg|start of the? row|round|rnd");
    let (rest, purpose) = maybe(purpose)(rest)?;
    let (rest, name) = if purpose.is_some() { (rest, None) } else { marker_name(rest) };
    Ok((rest, ItemKind::Marker { act, name }))
}

/// Yarn that is joined, and where, in the author's words; the count stays.
///
/// ```text
/// join-yarn = ( "join" | "rejoin" | "attach" | "reattach" ) [ "a" | "the" ] [ "second" | "new" | "another" ]
///             ( "ball" | "skein" | "yarn" ) [ "of" "yarn" ] [ ( "at" | "to" ) name ]
/// ```
pub(in crate::syntax) fn join_yarn(input: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, ()) = phrase(
        "join|rejoin|re-join|attach|reattach a|the|in? second|2nd|new|another? ball|skein|hank|yarn|wool",
    )(input)?;
    let (rest, _) = maybe(phrase("of yarn|wool"))(rest)?;
    let place = preceded(phrase("at|to|on"), name(&["and", "then", "rep", "repeat"]));
    let (rest, _) = maybe(place)(rest)?;
    Ok((rest, ItemKind::JoinYarn))
}

/// The fabric in work, for a number of stitches or to a place in the row.
///
/// ```text
/// in-pattern = ( "work" | "continue" | "cont" | "rib" | "patt" | "pattern" ) [ as-set ]
///              ( row-end | [ "across" ] [ "next" | "center" ] count [ stitches ] [ as-set ] )
/// ```
pub(super) fn in_pattern(input: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, word) = spanned(phrase("work|continue|cont|rib|patt|pattern"))(input)?;
    let (rest, _) = maybe(as_set)(rest)?;
    // `work across 20 sts`; `work across` alone is to the end.
    let counted = preceded(opt(phrase("the? next|first|center|centre|middle")), count);
    let rest = match quietly(phrase("across"))(rest) {
        Ok((after, ())) if follows(after, counted) => after,
        _ => rest,
    };
    if let Ok((rest, until)) = row_end(rest) {
        let name = Spanned::new("work".to_owned(), word.span);
        return Ok((rest, ItemKind::Run { name, until }));
    }
    let (rest, _) = maybe(phrase("the? next|first|center|centre|middle"))(rest)?;
    let (rest, count) = labelled("how many or how far", count_of_stitches)(rest)?;
    let (rest, _) = maybe(as_set)(rest)?;
    Ok((rest, ItemKind::Pattern(count)))
}

/// In the fabric that is in work.
///
/// ```text
/// as-set = "in" [ "the" ] [ "established" ] ( "pattern" | "patt" | "rib" | "ribbing" )
///          [ "as" ( "established" | "set" ) ]
///        | "as" ( "established" | "set" ) | "even" | "straight" | "without" "shaping"
/// ```
pub(in crate::syntax) fn as_set(input: Text<'_>) -> Parsed<'_, ()> {
    alt((
        preceded(
            phrase("in the? established? pattern|patt|rib|ribbing"),
            value((), opt(phrase("as established|set"))),
        ),
        phrase("as established|set"),
        phrase("even|straight"),
        phrase("without shaping"),
    ))
    .parse(input)
}
