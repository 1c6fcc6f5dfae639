//! The stitches of a row: counts, groups, repeats, runs, markers.
//!
//! The grammar is in `grammar/row.md`. Labels (`row 1 (RS):`) are read in
//! [`super::label`]; what a stitch takes and makes is none of this module's
//! business, only whether a name is one.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, map, opt, value};
use nom::sequence::preceded;

use super::error::{Expected, Failure, clipped, found};
use super::measure::mark;
use super::terminals::{
    Parsed, Text, Times, Vocabulary, count, count_of_stitches, first_word, follows, labelled, name,
    number, phrase, quietly, sign, spanned, stitches_word, stop, times, unwritten, whole,
};
use super::tree::{Counts, Item, ItemKind, MarkerAct, RowEnd, StarEnd};
use crate::diag::{Code, Finding, words};
use crate::measure::Given;
use crate::source::{Span, Spanned};
use crate::stitch;

/// Reads the stitches of one row.
///
/// # Errors
/// A finding at the place where the row cannot be understood.
pub fn parse_items(
    text: &str,
    offset: usize,
    vocabulary: &Vocabulary,
) -> Result<Vec<Item>, Finding> {
    whole(text, offset, vocabulary, row_items)
}

/// The stitches of a whole row.
///
/// ```text
/// row = items | plain-stitch
/// ```
pub(super) fn row_items(input: Text<'_>) -> Parsed<'_, Vec<Item>> {
    let (rest, mut read) = items(input)?;
    if let [only] = read.as_mut_slice() {
        to_the_end(only);
    }
    Ok((rest, read))
}

/// `row 2: purl` and `row 2: p` work every stitch.
fn to_the_end(item: &mut Item) {
    if let ItemKind::Stitch { name, count: None } = &item.kind
        && is_plain(&name.value)
    {
        item.kind = ItemKind::Run { name: name.clone(), until: RowEnd::End };
    }
}

fn is_plain(name: &str) -> bool {
    ["k", "knit", "plain", "p", "purl"].iter().any(|plain| plain.eq_ignore_ascii_case(name))
}

/// ```text
/// items = item { separator item }
/// separator = "," | "and" | "then" | "," ( "and" | "then" ) | ";"
/// ```
fn items(input: Text<'_>) -> Parsed<'_, Vec<Item>> {
    let (mut rest, first) = item(input)?;
    let mut read = vec![first];
    while let Some(after) = separated(rest)? {
        let (next, item) = cut(item).parse(after)?;
        read.push(item);
        rest = next;
    }
    words_alone(&read, input)?;
    Ok((rest, read))
}

/// The text after a separator, where another item is to follow it.
fn separated(input: Text<'_>) -> Result<Option<Text<'_>>, nom::Err<Failure>> {
    let Ok((after, separator)) = separator(input) else {
        missing_separator(input)?;
        return Ok(None);
    };
    // A semicolon outside groups and repeats begins the step's remark.
    let remark = separator == ';' && input.depth() == 0;
    if repeat_follows(after) {
        return if input.depth() > 0 { Ok(None) } else { Err(no_star(after)) };
    }
    let leaves = remark || closes(after) || ending_follows(after);
    Ok((!leaves).then_some(after))
}

fn separator(input: Text<'_>) -> Parsed<'_, char> {
    let here = input.trimmed();
    match here.rest().chars().next() {
        Some(c @ (',' | ';')) => {
            let after = here.skip(1);
            let (after, _) = quietly(opt(phrase("and|then")))(after)?;
            Ok((after, c))
        }
        _ => {
            let (after, ()) = quietly(phrase("and|then then?"))(here)
                .or_else(|_| here.fail(Expected::Sign(',')))?;
            Ok((after, ','))
        }
    }
}

fn repeat_follows(input: Text<'_>) -> bool {
    follows(input, phrase("rep|repeat"))
}

/// `, ending with a WS row` belongs to the step, not to the row.
fn ending_follows(input: Text<'_>) -> bool {
    follows(input, (phrase("ending|end with|on|after? a?"), super::terminals::side))
}

/// A closing star after a comma: `*k4, k2tog, *`.
fn closes(input: Text<'_>) -> bool {
    let here = input.trimmed();
    star_length(here) > 0 && {
        let after = here.skip(star_length(here));
        after.is_done() || after.trimmed().rest().starts_with([';', ',', '.'])
    }
}

fn no_star(input: Text<'_>) -> nom::Err<Failure> {
    let here = input.trimmed();
    let finding = Finding::new(
        Code::Syntax,
        Span::new(here.offset(), here.offset() + first_word(here.rest()).len()),
        "this repeat has no `*` to go back to",
    )
    .label("nothing to repeat from")
    .help("put a `*` before the first stitch that is repeated: `*k2, p2; rep from *`");
    nom::Err::Failure(Failure::found(finding))
}

/// Two stitches without a comma between them are a slip that is easy to name.
fn missing_separator(input: Text<'_>) -> Result<(), nom::Err<Failure>> {
    let here = input.trimmed();
    let word = first_word(here.rest());
    if word.is_empty() || here.rest().starts_with(|c: char| c.is_ascii_digit()) {
        return Ok(());
    }
    let looks_like_a_stitch = quietly(stitch_name)(here).is_ok();
    if !looks_like_a_stitch || repeat_follows(here) {
        return Ok(());
    }
    let place = Span::at(input.offset());
    let finding = Finding::new(
        Code::Syntax,
        Span::new(here.offset(), here.offset() + word.len()),
        format!("expected `,`, but found `{}`", clipped(word)),
    )
    .label("missing `,` before this")
    .help("put a comma between stitches")
    .patch(place, ",");
    stop(finding)
}

/// `k2, knit` does not say how far the `knit` goes.
fn words_alone(read: &[Item], input: Text<'_>) -> Result<(), nom::Err<Failure>> {
    if read.len() < 2 || input.depth() > 0 {
        return Ok(());
    }
    for item in read {
        if let ItemKind::Stitch { name, count: None } = &item.kind
            && ["knit", "purl", "plain"].iter().any(|w| w.eq_ignore_ascii_case(&name.value))
        {
            let finding = Finding::new(
                Code::Syntax,
                item.span,
                format!("`{}` does not say how many stitches", name.value),
            )
            .label("how far?")
            .help(format!("write `{} to end`, or how many: `{} 1`", name.value, name.value));
            return stop(finding);
        }
    }
    Ok(())
}

/// ```text
/// item = ( star | group | bind-off | cast-on-more | hold-some | "turn" | wrap | marker-item
///        | in-pattern | run | stitch ) { mark }
/// ```
pub(super) fn item(input: Text<'_>) -> Parsed<'_, Item> {
    let start = input.trimmed();
    let (rest, kind) = labelled("a stitch", kind)(start)?;
    let span = start.span_to(rest);
    let (mut rest, mut marks) = (rest, Vec::new());
    if ends_live(&kind) {
        while rest.trimmed().rest().starts_with('[') && !follows(rest, bracketed_count) {
            let (after, mark) = mark(rest)?;
            marks.push(mark);
            rest = after;
        }
    }
    Ok((rest, Item { span, kind, marks }))
}

fn bracketed_count(input: Text<'_>) -> Parsed<'_, Counts> {
    let (rest, count) = preceded(sign('['), count).parse(input)?;
    let (rest, ()) = stitches_word(rest)?;
    Ok((rest, count))
}

/// Whether an item is a live count, which may carry marks of its own.
fn ends_live(kind: &ItemKind) -> bool {
    match kind {
        ItemKind::Stitch { count: Some(count), .. }
        | ItemKind::Pattern(count)
        | ItemKind::Group { times: count, .. }
        | ItemKind::Star { until: StarEnd::Last(count) | StarEnd::Times { count, .. }, .. }
        | ItemKind::Run { until: RowEnd::Last(count), .. }
        | ItemKind::BindOff(Some(count))
        | ItemKind::CastOn(count)
        | ItemKind::Hold { count, .. } => count.live,
        _ => false,
    }
}

fn kind(start: Text<'_>) -> Parsed<'_, ItemKind> {
    if star_length(start) > 0 {
        return star(start);
    }
    if start.rest().starts_with(['(', '[']) {
        return group(start);
    }
    alt((worded, stitch_item)).parse(start)
}

/// What is said in words rather than stitches.
fn worded(start: Text<'_>) -> Parsed<'_, ItemKind> {
    // The author's own abbreviations go before any word of ours.
    if own_name(start).is_some() {
        return start.fail(Expected::Thing("a stitch"));
    }
    alt((bind_off, cast_on_more, hold_some, wrap, turn, marker_item, in_pattern)).parse(start)
}

/// ```text
/// bind-off = ( "bind off" | "cast off" | "bo" ) ( count [ "sts" ] | "to end" | "all" ) [ manner ]
/// ```
fn bind_off(input: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, ()) = bind_off_words(input)?;
    let (rest, count) = alt((
        map(preceded(opt(phrase("the? next|center|centre|middle")), count_of_stitches), Some),
        value(None, to_end),
        value(None, phrase("all the? remaining? sts|stitches?")),
    ))
    .parse(rest)?;
    let (rest, _) = quietly(opt(manner))(rest)?;
    Ok((rest, ItemKind::BindOff(count)))
}

/// `bind off` in its several spellings.
pub(super) fn bind_off_words(input: Text<'_>) -> Parsed<'_, ()> {
    alt((phrase("bind off"), phrase("cast off"), phrase("bo|bind-off|cast-off"))).parse(input)
}

/// How stitches are bound off or cast on, which changes no count.
///
/// ```text
/// manner = "in pattern" | "in rib" | "loosely" | "knitwise" | "purlwise"
/// ```
pub(super) fn manner(input: Text<'_>) -> Parsed<'_, ()> {
    alt((
        phrase("in pattern|patt|rib|ribbing"),
        phrase("loosely|firmly|knitwise|purlwise|kwise|pwise"),
    ))
    .parse(input)
}

/// ```text
/// cast-on-more = ( "cast on" | "co" ) count [ "sts" ]
/// ```
fn cast_on_more(input: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, ()) = alt((phrase("cast on"), phrase("co|cast-on"))).parse(input)?;
    let (rest, count) = count_of_stitches(rest)?;
    Ok((rest, ItemKind::CastOn(count)))
}

/// ```text
/// hold-some = "hold" [ "next" ] count [ "sts" ] "as" name
///           | ( "place" | "slip" | "put" ) [ "next" ] count [ "sts" ] "on hold" "as" name
/// ```
fn hold_some(input: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, placed) = alt((
        value(false, phrase("hold the? next?")),
        value(true, phrase("place|slip|put the? next?")),
    ))
    .parse(input)?;
    let (rest, count) = count_of_stitches(rest)?;
    let (rest, _) =
        if placed { map(on_hold, Some).parse(rest)? } else { opt(on_hold).parse(rest)? };
    let (rest, name) = preceded(phrase("as|for"), name(&["and", "then"])).parse(rest)?;
    Ok((rest, ItemKind::Hold { count, name }))
}

/// `on hold`, `to a stitch holder`, `on waste yarn`.
pub(super) fn on_hold(input: Text<'_>) -> Parsed<'_, ()> {
    alt((
        phrase("on hold"),
        phrase("on|onto|to a? stitch|st? holder"),
        phrase("on|onto|to waste|scrap yarn"),
    ))
    .parse(input)
}

/// ```text
/// turn = "turn" [ "work" ]
/// ```
fn turn(input: Text<'_>) -> Parsed<'_, ItemKind> {
    value(ItemKind::Turn, phrase("turn the? work?")).parse(input)
}

/// ```text
/// wrap = "w&t" | "wrap and turn"
/// ```
fn wrap(input: Text<'_>) -> Parsed<'_, ItemKind> {
    let start = input.trimmed();
    let (rest, ()) = phrase("w|wrap next? stitch|st?")(start)?;
    let rest = rest.trimmed();
    let rest = match rest.rest().strip_prefix('&') {
        Some(_) => rest.skip(1),
        None => phrase("and")(rest)?.0,
    };
    let (rest, ()) = phrase("t|turn")(rest)?;
    Ok((rest, ItemKind::WrapTurn))
}

/// ```text
/// marker-item = ( "pm" | "sm" | "rm" | ( "place" | "slip" | "remove" ) "marker" ) [ name ]
/// ```
fn marker_item(input: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, act) = alt((
        value(MarkerAct::Place, phrase("pm")),
        value(MarkerAct::Slip, phrase("sm|slm")),
        value(MarkerAct::Remove, phrase("rm")),
        value(MarkerAct::Place, phrase("place a?|the? marker|m")),
        value(MarkerAct::Slip, phrase("slip|sl a?|the? marker|m")),
        value(MarkerAct::Remove, phrase("remove a?|the? marker|m")),
    ))
    .parse(input)?;
    let (rest, name) = marker_name(rest);
    Ok((rest, ItemKind::Marker { act, name }))
}

/// One word after a marker, where there are several kinds of them.
fn marker_name(input: Text<'_>) -> (Text<'_>, Option<Spanned<String>>) {
    let here = input.trimmed();
    let word = first_word(here.rest());
    let other = ["and", "then", "rep", "repeat", "twice", "once", "to"];
    // `sm k2` lacks a comma; `sm B` names a marker.
    let stitch = word.len() > 1 && quietly(stitch_name)(here).is_ok();
    if word.is_empty() || stitch || other.iter().any(|w| w.eq_ignore_ascii_case(word)) {
        return (input, None);
    }
    let rest = here.skip(word.len());
    (rest, Some(Spanned::new(word.to_owned(), here.span_to(rest))))
}

/// The fabric in work, for a number of stitches or to a place in the row.
///
/// ```text
/// in-pattern = ( "work" | "rib" ) [ "in pattern" ] ( count [ "sts" ] [ "in pattern" ] | row-end )
/// ```
fn in_pattern(input: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, word) = spanned(pattern_words)(input)?;
    alt((
        |rest| {
            let (rest, until) = row_end(rest)?;
            let name = Spanned::new("work".to_owned(), word.span);
            Ok((rest, ItemKind::Run { name, until }))
        },
        |rest| {
            let (rest, _) = opt(phrase("the? next|center|centre|middle")).parse(rest)?;
            let (rest, count) = count_of_stitches(rest)?;
            let (rest, _) = quietly(opt(as_set))(rest)?;
            Ok((rest, ItemKind::Pattern(count)))
        },
    ))
    .parse(rest)
}

fn pattern_words(input: Text<'_>) -> Parsed<'_, ()> {
    let (rest, ()) =
        alt((phrase("work|continue|cont"), phrase("rib|patt|pattern"))).parse(input)?;
    let (rest, _) = quietly(opt(as_set))(rest)?;
    Ok((rest, ()))
}

/// `in pattern`, `in rib`, `as established`, `even`.
///
/// ```text
/// as-set = "in pattern" | "in rib" | "as established" | "as set" | "even"
/// ```
pub(super) fn as_set(input: Text<'_>) -> Parsed<'_, ()> {
    alt((
        phrase("in the? established? pattern|patt|rib|ribbing as? established|set?"),
        phrase("as established|set"),
        phrase("even|straight"),
    ))
    .parse(input)
}

// ---- How far ---------------------------------------------------------------

/// `to end`, `across`, `around`.
fn to_end(input: Text<'_>) -> Parsed<'_, ()> {
    alt((
        phrase("to the? end of? the? row|round|rnd|needle?"),
        phrase("across|around the? row|round|rnd?"),
        phrase("all the? sts|stitches?"),
    ))
    .parse(input)
}

/// `to last 3 sts`, `until 3 sts remain`.
fn to_last(input: Text<'_>) -> Parsed<'_, Counts> {
    let counted = |input| {
        let (rest, ()) = phrase("to the? last")(input)?;
        if let Ok((after, ())) = quietly(phrase("st|stitch"))(rest) {
            return Ok((after, unwritten(rest.trimmed().offset(), 1)));
        }
        let (rest, count) = cut(count).parse(rest)?;
        let (rest, _) = quietly(opt(stitches_word))(rest)?;
        Ok((rest, count))
    };
    let remaining = |input| {
        let (rest, ()) = phrase("until")(input)?;
        let (rest, count) = count(rest)?;
        let (rest, ()) = stitches_word(rest)?;
        let (rest, ()) = phrase("remain|remains|rem|left|are? left?")(rest)?;
        Ok((rest, count))
    };
    alt((counted, remaining)).parse(input)
}

/// `to marker`, `to 2 sts before marker B`.
fn to_marker(input: Text<'_>) -> Parsed<'_, (u32, Option<Spanned<String>>)> {
    let near = |input| {
        let (rest, ()) = phrase("to within?")(input)?;
        let (rest, n) = number(rest)?;
        let (rest, ()) = stitches_word(rest)?;
        let (rest, ()) = phrase("before|of the?|next? next? marker|m")(rest)?;
        Ok((rest, n))
    };
    let at = value(0, phrase("to the? next? end? marker|m"));
    let (rest, before) = alt((near, at)).parse(input)?;
    let (rest, name) = marker_name(rest);
    Ok((rest, (before, name)))
}

/// ```text
/// row-end = "to end" | "across" | "around" | "to last" count "sts" | "to marker" [ word ]
///         | "to" number "sts before marker" [ word ]
/// ```
fn row_end(input: Text<'_>) -> Parsed<'_, RowEnd> {
    alt((
        value(RowEnd::End, to_end),
        map(to_last, RowEnd::Last),
        map(to_marker, |(before, name)| RowEnd::Marker { before, name }),
    ))
    .parse(input)
}

/// ```text
/// star-end = row-end | times
/// ```
fn star_end(input: Text<'_>) -> Parsed<'_, StarEnd> {
    alt((
        value(StarEnd::End, to_end),
        map(to_last, StarEnd::Last),
        map(to_marker, |(before, _)| StarEnd::Marker { before }),
        map(times, |Times { count, more }| StarEnd::Times { count, more }),
    ))
    .parse(input)
}

// ---- Repeats and groups ----------------------------------------------------

/// The length in bytes of the stars here: `*`, `**`, or `\*` as Markdown may want it.
fn star_length(input: Text<'_>) -> usize {
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

fn stars(input: Text<'_>) -> Parsed<'_, usize> {
    let here = input.trimmed();
    let length = star_length(here);
    if length == 0 {
        return here.fail(Expected::Sign('*'));
    }
    let written = here.rest().get(..length).unwrap_or("");
    Ok((here.skip(length), written.matches('*').count()))
}

/// ```text
/// star = "*" items ( [ ";" | "," ] repeat | "*" ( star-end | [ ";" | "," ] repeat ) )
/// repeat = ( "rep" | "repeat" ) [ "from" "*" ] [ star-end ]
/// ```
fn star(start: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, opened) = stars(start)?;
    let opening = start.span_to(rest);
    let (rest, items) = cut(items).parse(rest.deeper()?)?;
    let rest = rest.back_to(start);
    let (rest, until) = match stars_after(rest) {
        Some((after, closed)) if closed == opened => closed_star(after)?,
        _ => open_star(rest, opening, opened)?,
    };
    Ok((rest, ItemKind::Star { items, until }))
}

/// The closing star, a comma before it allowed.
fn stars_after(input: Text<'_>) -> Option<(Text<'_>, usize)> {
    let here = input.trimmed();
    let here = if here.rest().starts_with(',') { here.skip(1) } else { here };
    quietly(stars)(here).ok()
}

fn closed_star(after: Text<'_>) -> Parsed<'_, StarEnd> {
    if let Some(rest) = after_repeat_word(after) {
        return repeat_end(rest);
    }
    cut(star_end).parse(after)
}

/// The text after `; rep`, `, repeat` or `rep`.
fn after_repeat_word(input: Text<'_>) -> Option<Text<'_>> {
    let here = input.trimmed();
    let here = if here.rest().starts_with([';', ',', '.']) { here.skip(1) } else { here };
    quietly(phrase("rep|repeat"))(here).ok().map(|(rest, ())| rest)
}

fn open_star(rest: Text<'_>, opening: Span, opened: usize) -> Parsed<'_, StarEnd> {
    let Some(after) = after_repeat_word(rest) else {
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
        return stop(finding);
    };
    let (after, ()) = cut(phrase("from")).parse(after)?;
    let place = after.trimmed();
    let (after, closed) = cut(stars).parse(after)?;
    if closed != opened {
        let finding = Finding::new(
            Code::Syntax,
            place.span_to(after),
            "this repeat goes back to a star that is not open here",
        )
        .label("not the innermost star")
        .also(opening, "the innermost star is here");
        return stop(finding);
    }
    repeat_end(after)
}

/// What follows `rep from *`: nothing is as good as `to end`.
fn repeat_end(input: Text<'_>) -> Parsed<'_, StarEnd> {
    let (rest, _) = quietly(opt(preceded(phrase("from"), stars)))(input)?;
    let (rest, until) = opt(star_end).parse(rest)?;
    Ok((rest, until.unwrap_or(StarEnd::End)))
}

/// ```text
/// group = ( "(" items ")" | "[" items "]" ) [ times | in-one | [ "rep" ] star-end ]
/// in-one = [ "all" ] ( "in" | "into" ) ( "next" | "same" | "one" ) "st"
/// ```
fn group(start: Text<'_>) -> Parsed<'_, ItemKind> {
    let (open, close) = if start.rest().starts_with('(') { ('(', ')') } else { ('[', ']') };
    let inner = start.skip(1).deeper()?;
    let (rest, items) = cut(items).parse(inner)?;
    let rest = closing(rest, start, open, close)?.back_to(start);
    if let Ok((rest, times)) = times(rest) {
        let (times, more) = in_all(times);
        return Ok((rest, ItemKind::Group { items, times, more }));
    }
    if let Ok((rest, ())) = in_one(rest) {
        return Ok((rest, ItemKind::InOne { items }));
    }
    let again = |input| {
        let (rest, _) = quietly(opt(phrase("rep|repeat")))(input)?;
        star_end(rest)
    };
    match again(rest) {
        Ok((rest, StarEnd::Times { count, more })) => {
            let (times, more) = in_all(Times { count, more });
            Ok((rest, ItemKind::Group { items, times, more }))
        }
        Ok((rest, until)) => Ok((rest, ItemKind::Star { items, until })),
        Err(nom::Err::Error(_)) => {
            let times = unwritten(rest.offset(), 1);
            Ok((rest, ItemKind::Group { items, times, more: false }))
        }
        Err(other) => Err(other),
    }
}

/// `3 more times` is four in all.
fn in_all(times: Times) -> (Counts, bool) {
    let Times { mut count, more } = times;
    if more {
        count.given = count.given.map(|n| n + 1);
    }
    (count, more)
}

fn closing<'a>(
    rest: Text<'a>,
    start: Text<'a>,
    open: char,
    close: char,
) -> Result<Text<'a>, nom::Err<Failure>> {
    let here = rest.trimmed();
    let opening = Span::new(start.offset(), start.offset() + 1);
    match here.rest().chars().next() {
        Some(c) if c == close => Ok(here.skip(1)),
        Some(c @ (')' | ']' | '}')) => stop(
            Finding::new(
                Code::Syntax,
                Span::new(here.offset(), here.offset() + 1),
                format!("expected `{close}`, but found `{c}`"),
            )
            .label(format!("does not close `{open}`"))
            .also(opening, "opened here"),
        ),
        Some(_) if !here.rest().starts_with(';') => {
            let (length, found) = found(here.rest());
            stop(
                Finding::new(
                    Code::Syntax,
                    Span::new(here.offset(), here.offset() + length),
                    format!("expected `,` or `{close}`, but found {found}"),
                )
                .label("not understood here")
                .also(opening, "inside this group"),
            )
        }
        _ => stop(
            Finding::new(Code::Syntax, opening, format!("this `{open}` is never closed"))
                .label("opened here")
                .also(Span::at(here.offset()), format!("expected `{close}`"))
                .help(format!("put a `{close}` after the last stitch of the group")),
        ),
    }
}

fn in_one(input: Text<'_>) -> Parsed<'_, ()> {
    alt((
        phrase("all? in|into the? next|same|one st|stitch"),
        preceded(phrase("all? in|into"), value((), (sign('1'), phrase("st|stitch")))),
    ))
    .parse(input)
}

// ---- Stitches --------------------------------------------------------------

/// A stitch, so many of it, so far, or so many times.
///
/// ```text
/// run = stitch-name row-end
/// stitch = stitch-name [ count ] [ "sts" ] [ times ]
/// ```
fn stitch_item(start: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, Named { name, count }) = stitch_name(start)?;
    if count.is_none()
        && let Ok((rest, until)) = row_end(rest)
    {
        return Ok((rest, ItemKind::Run { name, until }));
    }
    let span = start.span_to(rest);
    let kind = ItemKind::Stitch { name, count };
    match postfix_times(rest) {
        Ok((rest, times)) => {
            let (times, more) = in_all(times);
            let items = vec![Item { span, kind, marks: Vec::new() }];
            Ok((rest, ItemKind::Group { items, times, more }))
        }
        Err(nom::Err::Error(_)) => Ok((rest, kind)),
        Err(other) => Err(other),
    }
}

fn postfix_times(input: Text<'_>) -> Parsed<'_, Times> {
    quietly(times)(input)
}

/// A stitch by its name, with the number inside or after it.
struct Named {
    name: Spanned<String>,
    count: Option<Counts>,
}

/// ```text
/// stitch-name = own-name | abbreviation { manner-of-stitch }
/// ```
fn stitch_name(start: Text<'_>) -> Parsed<'_, Named> {
    if let Some((rest, own)) = own_name(start) {
        let name = Spanned::new(own.to_owned(), start.span_to(rest));
        let (rest, count) = count_after(rest, true)?;
        return Ok((rest, Named { name, count }));
    }
    let chunk = stitch_word(start.rest());
    if chunk.is_empty() {
        return start.fail(Expected::Thing("a stitch"));
    }
    if let Some((length, known)) = longest_known(start.rest(), chunk) {
        let rest = start.skip(length);
        let written = collapsed(start.rest().get(..length).unwrap_or(chunk));
        return with_manner(start, rest, written, known.counted);
    }
    let letters = chunk.chars().take_while(char::is_ascii_alphabetic).count();
    let base = chunk.get(..letters).unwrap_or("");
    match stitch::find(base).filter(|known| known.counted) {
        Some(_) if letters < chunk.len() => {
            with_manner(start, start.skip(letters), base.to_owned(), true)
        }
        _ => unknown_stitch(start, chunk),
    }
}

/// The author's own abbreviation that stands here, the longest if several do.
fn own_name<'a>(start: Text<'a>) -> Option<(Text<'a>, &'a str)> {
    let mut longest: Option<&str> = None;
    for own in start.own() {
        let stands = start.rest().get(..own.len()).is_some_and(|s| s.eq_ignore_ascii_case(own))
            && start.rest().get(own.len()..).is_some_and(|after| ends_a_name(own, after));
        if stands && !own.is_empty() && longest.is_none_or(|known| known.len() < own.len()) {
            longest = Some(own);
        }
    }
    longest.map(|own| (start.skip(own.len()), own))
}

/// Whether a name may end before `after`: a number may follow letters, nothing else may.
fn ends_a_name(name: &str, after: &str) -> bool {
    let digit = name.ends_with(|c: char| c.is_ascii_digit());
    !after.starts_with(|c: char| {
        c.is_alphabetic() || c == '-' || c == '/' || (digit && c.is_ascii_digit())
    })
}

/// The letters, digits and strokes of one abbreviation.
fn stitch_word(text: &str) -> &str {
    let end = text
        .find(|c: char| !(c.is_alphanumeric() || matches!(c, '/' | '&' | '-')))
        .unwrap_or(text.len());
    text.get(..end).unwrap_or("").trim_end_matches('-')
}

/// The longest run of words, from one to five, that is a stitch of the table.
fn longest_known(text: &str, chunk: &str) -> Option<(usize, stitch::Stitch)> {
    let mut best = stitch::find(chunk).map(|known| (chunk.len(), known));
    if !stitch::begins_longer_name(chunk) {
        return best;
    }
    let mut length = chunk.len();
    for _ in 0..4 {
        let after = text.get(length..).unwrap_or("");
        let gap = after.len() - after.trim_start().len();
        let word = stitch_word(after.trim_start());
        if gap == 0 || word.is_empty() {
            break;
        }
        length += gap + word.len();
        if let Some(known) = stitch::find(&collapsed(text.get(..length).unwrap_or(""))) {
            best = Some((length, known));
        }
    }
    best
}

fn collapsed(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The number after a name, then how the stitch is worked: `sl 2 kwise`, `k 2 tog tbl`.
///
/// ```text
/// manner-of-stitch = "tog" | "tbl" | "kwise" | "pwise" | "wyif" | "wyib"
/// ```
fn with_manner<'a>(
    start: Text<'a>,
    rest: Text<'a>,
    base: String,
    counted: bool,
) -> Parsed<'a, Named> {
    let (mut rest, mut count) = count_after(rest, counted)?;
    let mut name = base;
    loop {
        let Ok((after, manner)) = quietly(manner_of_stitch)(rest) else { break };
        match (manner, together(&name, count.as_ref())) {
            ("tog", Some(joined)) => {
                name = joined;
                count = None;
            }
            // `sl 2 tog kwise`: slipped together is still two slipped.
            ("tog", None) if name.starts_with('s') || name.starts_with('S') => {}
            ("tog", None) => return unknown_stitch(start, stitch_word(start.rest())),
            (how, _) => {
                let longer = format!("{name} {how}");
                if stitch::find(&longer).is_none() {
                    break;
                }
                name = longer;
            }
        }
        rest = after;
    }
    if rest.rest().starts_with(char::is_alphanumeric) {
        return unknown_stitch(start, stitch_word(start.rest()));
    }
    let end_of_name = match &count {
        // Without a manner after the number, the name ends before it.
        Some(count) if count.span.end + usize::from(count.live) >= rest.offset() => {
            start.offset() + name.len()
        }
        _ => rest.offset(),
    };
    let end_of_name = end_of_name.min(rest.offset());
    let (rest, _) = if count.is_some() { quietly(opt(stitches_word))(rest)? } else { (rest, None) };
    let name = Spanned::new(name, Span::new(start.offset(), end_of_name));
    Ok((rest, Named { name, count }))
}

/// `k` and 2 worked together are `k2tog`.
fn together(name: &str, count: Option<&Counts>) -> Option<String> {
    let letter = match name.to_ascii_lowercase().as_str() {
        "k" | "knit" => 'k',
        "p" | "purl" => 'p',
        _ => return None,
    };
    match count.map(|count| &count.given) {
        Some(Given::Same(n)) => {
            let joined = format!("{letter}{n}tog");
            stitch::find(&joined).map(|_| joined)
        }
        _ => None,
    }
}

fn manner_of_stitch(input: Text<'_>) -> Parsed<'_, &'static str> {
    alt((
        value("tog", phrase("tog|together")),
        value("tbl", phrase("tbl")),
        value("tbl", phrase("through the? back loop|loops")),
        value("kwise", phrase("kwise|knitwise|k-wise")),
        value("pwise", phrase("pwise|purlwise|p-wise")),
        value("wyif", phrase("wyif")),
        value("wyib", phrase("wyib")),
        value("wyif", phrase("with yarn in|held in? front")),
        value("wyib", phrase("with yarn in|held in? back")),
    ))
    .parse(input)
}

/// The number after a name: right after it, or after a space.
fn count_after(input: Text<'_>, counted: bool) -> Parsed<'_, Option<Counts>> {
    let here = input.trimmed();
    let (here, skipped) = match quietly(phrase("the? next"))(here) {
        Ok((after, ())) => (after.trimmed(), true),
        Err(_) => (here, false),
    };
    let starts = here.rest().starts_with(|c: char| c.is_ascii_digit() || c == '{' || c == '?');
    if !counted || !starts {
        return Ok((input, None));
    }
    // `k 3 times` is one stitch three times; `k2` is two of them.
    if here.offset() > input.offset() && !skipped && follows(here, times) {
        return Ok((input, None));
    }
    let (rest, count) = count(here)?;
    Ok((rest, Some(count)))
}

fn unknown_stitch<'a, T>(start: Text<'a>, chunk: &str) -> Parsed<'a, T> {
    let span = Span::new(start.offset(), start.offset() + chunk.len());
    let nearest = words::nearest(chunk, known_names(start.own()));
    let finding = Finding::new(
        Code::UnknownStitch,
        span,
        format!("`{}` is not a stitch that is known here", clipped(chunk)),
    )
    .label("not known");
    stop(match nearest {
        Some(name) => finding.help(format!("a similar stitch exists: `{name}`")).patch(span, name),
        None => finding.help(
            "say what it takes and makes under `abbreviations:` in the front matter, \
             or put words for the knitter after a `;`",
        ),
    })
}

/// Every name a slip of the pen may have meant.
pub(super) fn known_names(own: &[String]) -> impl Iterator<Item = &str> {
    let table = stitch::names().filter(|name| name.len() > 1).map(|name| -> &str { name });
    own.iter().map(String::as_str).chain(table)
}

/// Whether a row could begin here.
pub(super) fn begins_row(input: Text<'_>) -> bool {
    let start = input.trimmed();
    star_length(start) > 0 || start.rest().starts_with(['(', '[']) || follows(start, kind)
}
