//! Work over many rows: a fabric, or even, for a length or until a measure.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, map, opt, value};
use nom::sequence::{preceded, terminated};

use super::action_end;
use crate::source::Spanned;
use crate::syntax::error::Expected;
use crate::syntax::how_far::row_end;
use crate::syntax::measure::{fabric, known_fabric, lengths_here, named_fabric};
use crate::syntax::row::as_set;
use crate::syntax::terminals::{Times, count, name, number, phrase, rows_word, sign, times};
use crate::syntax::text::{Parsed, Text, follows, labelled, maybe, quietly, spanned};
use crate::syntax::tree::{Action, Edges, Extent, FabricKind, FabricName, From};

/// ```text
/// work-flat = "work" ( "flat" | "back and forth" ) [ "in rows" ]
/// ```
pub(super) fn work_flat(input: Text<'_>) -> Parsed<'_, Action> {
    quietly(|input| {
        let (rest, ()) = phrase("work")(input)?;
        let (rest, ()) = alt((phrase("flat"), phrase("back and forth"))).parse(rest)?;
        let (rest, _) = opt(phrase("in rows")).parse(rest)?;
        Ok((rest, Action::WorkFlat))
    })(input)
}

/// A fabric of the author's own that does not follow `work in` is known by
/// the extent after it.
///
/// ```text
/// work = [ work-words [ "even" | "straight" ] [ "in" ] ] known-fabric [ edges ] [ extent | length ]
///      | ( work-words | "knit" ) count ridges
///      | as-it-comes [ extent ]
///      | ( work-words | "knit" ) as-set [ extent ]
///      | work-words [ [ "the" ] "next" ] count rows [ as-set | [ "in" | "of" ] known-fabric | ( "in" | "of" ) fabric ]
///      | work-words "in" name [ edges ] [ extent ] | name [ edges ] extent
///      | work-words length ( "in" | "of" ) known-fabric
///      | "knit" ( "every" | "each" | "all" ) rows [ extent ]
///      | work-words count ( "repeats" | "repeat" ) "of" fabric
/// ```
pub(super) fn work(input: Text<'_>) -> Parsed<'_, Action> {
    let kinds = alt((
        every_row,
        knit_ridges,
        as_it_comes,
        work_fabric,
        work_even,
        work_length_in,
        work_repeats_of,
        work_count_of_rows,
    ));
    terminated(kinds, action_end).parse(input)
}

/// Knitting every row is garter, every round stockinette.
fn every_row(input: Text<'_>) -> Parsed<'_, Action> {
    let rows = value(FabricKind::Garter, phrase("knit|k every|each|all row|rows"));
    let rounds =
        value(FabricKind::Stockinette, phrase("knit|k every|each|all round|rnd|rounds|rnds"));
    let (rest, kind) = quietly(spanned(alt((rows, rounds))))(input)?;
    let (rest, extent) = extent_if_any(rest)?;
    let fabric = FabricName { span: kind.span, kind: kind.value, edges: None };
    Ok((rest, Action::Work { fabric: Some(fabric), extent }))
}

/// Ridges are of garter, whatever was worked before.
fn knit_ridges(input: Text<'_>) -> Parsed<'_, Action> {
    let words = alt((work_words, phrase("knit|k")));
    let (rest, words) = quietly(spanned(words))(input)?;
    let (rest, count) = quietly(terminated(count, ridges))(rest)?;
    let fabric = FabricName { span: words.span, kind: FabricKind::Garter, edges: None };
    Ok((rest, Action::Work { fabric: Some(fabric), extent: Extent::Ridges(count) }))
}

/// ```text
/// ridges = "ridges" | "ridge"
/// ```
fn ridges(input: Text<'_>) -> Parsed<'_, ()> {
    phrase("garter? ridges|ridge")(input)
}

fn work_length_in(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = quietly(work_words)(input)?;
    let (rest, length) = quietly(terminated(lengths_here, phrase("in|of")))(rest)?;
    let (rest, fabric) = known_fabric(rest)?;
    Ok((rest, Action::Work { fabric: Some(fabric), extent: Extent::Length(length) }))
}

/// `work 3 repeats of lattice`
fn work_repeats_of(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = quietly(work_words)(input)?;
    let (rest, count) = quietly(terminated(count, phrase("repeats|repeat of the?")))(rest)?;
    let (rest, fabric) = cut(fabric).parse(rest)?;
    Ok((rest, Action::Work { fabric: Some(fabric), extent: Extent::Times { count, more: false } }))
}

/// ```text
/// work-words = "work" | "continue" | "cont"
/// ```
fn work_words(input: Text<'_>) -> Parsed<'_, ()> {
    phrase("work|continue|cont")(input)
}

fn work_fabric(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, _) = maybe((
        alt((
            terminated(work_words, opt(phrase("even|straight"))),
            terminated(phrase("knit"), phrase("in")),
        )),
        opt(phrase("in")),
    ))(input)?;
    let (rest, fabric) = with_edges(quietly(known_fabric))(rest)?;
    if let (rest, Some(length)) = maybe(lengths_here)(rest)? {
        return Ok((rest, Action::Work { fabric: Some(fabric), extent: Extent::Length(length) }));
    }
    let (rest, extent) = extent_if_any(rest)?;
    Ok((rest, Action::Work { fabric: Some(fabric), extent }))
}

fn work_even(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = quietly(alt((work_words, phrase("knit"))))(input)?;
    let (rest, ()) = quietly(as_set)(rest)?;
    // `work even to last 2 sts` is part of a row.
    if follows(rest, row_end) {
        return rest.trimmed().fail(Expected::Thing("how far"));
    }
    let (rest, extent) = extent_if_any(rest)?;
    Ok((rest, Action::Work { fabric: None, extent }))
}

/// Every stitch as the row below shows it: the fabric in work goes on.
///
/// ```text
/// as-it-comes = ( "knit" | "k" ) [ "the" | "all" ] ( "knits" | "knit" stitches )
///               "and" ( "purl" | "p" ) [ "the" | "all" ] ( "purls" | "purl" stitches ) [ as-seen ]
///             | "work" [ "all" | "the" ] stitches as-seen
/// as-seen = "as" "they" ( "appear" | "come" | "face" "you" )
/// ```
fn as_it_comes(input: Text<'_>) -> Parsed<'_, Action> {
    let seen = || alt((phrase("as they appear|come"), phrase("as they face you")));
    let knits = alt((
        phrase("knit|k the|all? knits"),
        phrase("knit|k the|all? knit|k sts|st|stitches|stitch"),
    ));
    let purls = alt((
        phrase("and purl|p the|all? purls"),
        phrase("and purl|p the|all? purl|p sts|st|stitches|stitch"),
    ));
    let (rest, ()) = quietly(alt((
        value((), (knits, purls, opt(seen()))),
        value((), (phrase("work all|the? sts|st|stitches|stitch"), seen())),
    )))(input)?;
    let (rest, extent) = extent_if_any(rest)?;
    Ok((rest, Action::Work { fabric: None, extent }))
}

fn work_count_of_rows(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = quietly(terminated(work_words, opt(phrase("the? next"))))(input)?;
    let (rest, count) = quietly(terminated(count, rows_word))(rest)?;
    // `in rib of k2, p2` before `in rib`.
    let (rest, known) = maybe(preceded(opt(phrase("in|of")), known_fabric))(rest)?;
    if known.is_some() {
        return Ok((rest, Action::Work { fabric: known, extent: Extent::Rows(count) }));
    }
    let (rest, _) = maybe(as_set)(rest)?;
    let (rest, fabric) = opt(preceded(phrase("in|of"), fabric)).parse(rest)?;
    Ok((rest, Action::Work { fabric, extent: Extent::Rows(count) }))
}

pub(super) fn named_work(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, worked) = opt((work_words, phrase("in"))).parse(input)?;
    let (rest, fabric) = with_edges(named_fabric)(rest)?;
    let (rest, extent) = if worked.is_some() { extent_if_any(rest)? } else { extent(rest)? };
    Ok((rest, Action::Work { fabric: Some(fabric), extent }))
}

/// A fabric of the author's own and how far it goes, but not what comes after it.
pub(super) fn named_run(input: Text<'_>) -> Parsed<'_, ()> {
    value((), (with_edges(named_fabric), extent)).parse(input)
}

/// A fabric between edges of another.
///
/// ```text
/// edges = [ "," ] "with" number [ stitches ] ( "in" | "of" ) known-fabric
///         "at" ( "each" | "both" ) ( "end" | "ends" | "side" | "sides" | "edge" | "edges" )
/// ```
fn with_edges<'a>(
    mut fabric: impl FnMut(Text<'a>) -> Parsed<'a, FabricName>,
) -> impl FnMut(Text<'a>) -> Parsed<'a, FabricName> {
    move |input| {
        let (rest, fabric) = fabric(input)?;
        let (rest, edges) = maybe(edges)(rest)?;
        Ok((rest, FabricName { edges, ..fabric }))
    }
}

fn edges(input: Text<'_>) -> Parsed<'_, Edges> {
    let (rest, _) = opt(sign(',')).parse(input)?;
    let (rest, stitches) = preceded(phrase("with"), number).parse(rest)?;
    let (rest, ()) = phrase("sts|st|stitches|stitch? in|of")(rest)?;
    let (rest, FabricName { kind, .. }) = known_fabric(rest)?;
    let (rest, ()) = phrase("at each|both end|ends|side|sides|edge|edges")(rest)?;
    Ok((rest, Edges { stitches, kind }))
}

// ---- How far ---------------------------------------------------------------

/// ```text
/// extent = "for" [ "another" ] ( length | count rows | count ridges ) [ "more" | "altogether" ]
///        | "until" length from
///        | "until" ( [ "the" ] ( "piece" | "work" ) | "it" ) ( "measures" | "is" ) length [ from ]
///        | "until" name ( "measures" | "measure" | "is" ) length [ from ]
///        | times | count rows | count ridges
/// ```
fn extent(input: Text<'_>) -> Parsed<'_, Extent> {
    alt((
        preceded(phrase("for another?"), cut(for_extent)),
        preceded(phrase("until"), cut(until_extent)),
        // `to` may be how far along the row.
        quietly(preceded(phrase("to"), until_extent)),
        map(quietly(times), |Times { count, more }| Extent::Times { count, more }),
        map(quietly(terminated(count, rows_word)), Extent::Rows),
        map(quietly(terminated(count, ridges)), Extent::Ridges),
    ))
    .parse(input)
}

/// Nothing said is once.
pub(super) fn extent_if_any(input: Text<'_>) -> Parsed<'_, Extent> {
    if follows(input, action_end) {
        return Ok((input, Extent::Once));
    }
    labelled("`for`, `until` or how many times", extent)(input)
}

fn for_extent(input: Text<'_>) -> Parsed<'_, Extent> {
    let rows = map(terminated(count, rows_word), Extent::Rows);
    let ridges = map(quietly(terminated(count, ridges)), Extent::Ridges);
    let (rest, extent) = alt((map(lengths_here, Extent::Length), ridges, rows)).parse(input)?;
    let (rest, _) = maybe(phrase("more|altogether"))(rest)?;
    Ok((rest, extent))
}

fn until_extent(input: Text<'_>) -> Parsed<'_, Extent> {
    alt((until_length, until_measures)).parse(input)
}

fn until_length(input: Text<'_>) -> Parsed<'_, Extent> {
    let (rest, length) = lengths_here(input)?;
    let (rest, from) = cut(from).parse(rest)?;
    Ok((rest, Extent::Until { length, from }))
}

/// ```text
/// from = ( "from" | "above" ) ( [ "the" ] ( "cast on" | "cast-on" | "CO" | "beginning" | "start" ) [ "edge" ] | name )
/// ```
fn from(input: Text<'_>) -> Parsed<'_, Spanned<From>> {
    let (rest, ()) = phrase("from|above")(input)?;
    spanned(alt((
        value(From::CastOn, phrase("the? cast on edge?")),
        value(From::CastOn, phrase("the? cast-on|co|beginning|beg|start edge?")),
        map(name(&[]), |name| From::Named(name.value)),
    )))(rest)
}

fn until_measures(input: Text<'_>) -> Parsed<'_, Extent> {
    let start = input.trimmed();
    let (rest, measured) = spanned(alt((
        value(From::CastOn, phrase("the? piece|work|it")),
        map(name(&["measures", "measure", "is"]), |name| From::Named(name.value)),
    )))(start)?;
    let (rest, ()) = phrase("measures|measure|is")(rest)?;
    let (rest, length) = cut(lengths_here).parse(rest)?;
    // `until piece measures 13 cm from brim`
    let (rest, stated) = opt(from).parse(rest)?;
    let from = stated.unwrap_or(measured);
    Ok((rest, Extent::Until { length, from }))
}
