//! The stitches of a row: counts, groups, repeats, runs, markers.
//!
//! The grammar is in `grammar/row.md`. Labels (`row 1 (RS):`) are read in
//! `label`, names of stitches in `abbreviation`, how far things go in
//! `how_far`.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, map, opt, value};
use nom::sequence::preceded;

use super::abbreviation::{Named, own_name, stitch_name};
use super::error::{Expected, Failure, THE_END, clipped, found};
use super::how_far::{
    OPENINGS, marker_name, row_end, row_end_if_any, star_end, star_end_if_any, to_end,
};
use super::measure::mark;
use super::terminals::{
    Parsed, Text, Times, Vocabulary, count, count_of_stitches, first_word, follows, labelled,
    maybe, name, phrase, quietly, recognised, side, sign, spanned, stitches_word, stop, times,
    unwritten, whole,
};
use super::tree::{Counts, Item, ItemKind, MarkerAct, RowEnd, StarEnd};
use crate::diag::{Code, Finding};
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
    whole(text, offset, vocabulary, THE_END, row)
}

/// The stitches of a whole row. A plain stitch without a number that is all
/// there is goes to the end: `row 2: purl`.
///
/// ```text
/// row = items | "k" | "p" | word-stitch
/// ```
pub(super) fn row(input: Text<'_>) -> Parsed<'_, Vec<Item>> {
    let (rest, mut read) = items(input)?;
    match read.as_mut_slice() {
        [only] => to_the_end(only),
        several => words_say_how_far(several)?,
    }
    Ok((rest, read))
}

/// `row 2: purl` and `row 2: p` work every stitch.
fn to_the_end(item: &mut Item) {
    if let ItemKind::Stitch { name, count: None } = &item.kind
        && ["k", "knit", "plain", "p", "purl"].iter().any(|w| w.eq_ignore_ascii_case(&name.value))
    {
        item.kind = ItemKind::Run { name: name.clone(), until: RowEnd::End };
    }
}

/// `k2, knit` does not say how far the `knit` goes.
fn words_say_how_far(items: &[Item]) -> Result<(), nom::Err<Failure>> {
    for item in items {
        if let ItemKind::Stitch { name, count: None } = &item.kind
            && ["knit", "purl", "plain"].iter().any(|w| w.eq_ignore_ascii_case(&name.value))
        {
            let word = &name.value;
            let finding = Finding::new(
                Code::Syntax,
                item.span,
                format!("`{word}` does not say how many stitches"),
            )
            .label("how far is not said")
            .help(format!("write `{word} to end`, or how many: `{word} 1`"));
            return stop(finding);
        }
    }
    Ok(())
}

// ---- One after another -----------------------------------------------------

/// ```text
/// items = { item separator } ( item | star-and-rest )
/// ```
fn items(input: Text<'_>) -> Parsed<'_, Vec<Item>> {
    let (mut rest, first) = item(input)?;
    let mut read = vec![first];
    while let Some(after) = next_item(rest)? {
        if let (Some(star), Ok((after, ()))) = (open_star(read.last_mut()), quietly(ending)(after))
        {
            let (after, last) = cut(closing_stitches(star)).parse(after)?;
            read.extend(last);
            return Ok((after, read));
        }
        let (next, item) = cut(item).parse(after)?;
        read.push(item);
        rest = next;
    }
    Ok((rest, read))
}

/// The text after a separator, where another item is to follow it.
fn next_item(input: Text<'_>) -> Result<Option<Text<'_>>, nom::Err<Failure>> {
    let Ok((after, separator)) = separator(input) else {
        missing_separator(input)?;
        return Ok(None);
    };
    if repeat_follows(after) {
        return if input.depth() > 0 { Ok(None) } else { Err(no_star(after)) };
    }
    // A semicolon outside groups and repeats begins the step's remark.
    let remark = separator == ';' && input.depth() == 0;
    let leaves = remark || closing_star_follows(after) || follows(after, (ending, side));
    Ok((!leaves).then_some(after))
}

/// Within a group or repeat a `;` separates too; elsewhere it ends the row.
///
/// ```text
/// separator = "," [ "and" | "then" ] | "and" [ "then" ] | "then"
/// ```
fn separator(input: Text<'_>) -> Parsed<'_, char> {
    let here = input.trimmed();
    match here.rest().chars().next() {
        Some(c @ (',' | ';')) => {
            let (after, _) = maybe(phrase("and|then"))(here.skip(1))?;
            Ok((after, c))
        }
        _ => match quietly(phrase("and|then then?"))(here) {
            Ok((after, ())) => Ok((after, ',')),
            Err(_) => here.fail(Expected::Sign(',')),
        },
    }
}

fn repeat_follows(input: Text<'_>) -> bool {
    follows(input, phrase("rep|repeat"))
}

/// A closing star after a comma: `*k4, k2tog, *`.
fn closing_star_follows(input: Text<'_>) -> bool {
    let here = input.trimmed();
    let length = star_length(here);
    let after = here.skip(length).trimmed();
    let goes_on = alt((phrase(OPENINGS), phrase("rep|repeat"), value((), times)));
    length > 0
        && (after.rest().is_empty()
            || after.rest().starts_with([';', ',', '.'])
            || follows(after, goes_on))
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
    let letters = here.rest().starts_with(char::is_alphabetic);
    if !letters || repeat_follows(here) || !follows(here, stitch_name) {
        return Ok(());
    }
    let finding = Finding::new(
        Code::Syntax,
        Span::new(here.offset(), here.offset() + word.len()),
        format!("expected `,`, but found `{}`", clipped(word)),
    )
    .label("missing `,` before this")
    .help("put a comma between stitches")
    .patch(Span::at(input.offset()), ",");
    stop(finding)
}

// ---- `rep from *, end k5` --------------------------------------------------

/// A repeat at the end of what is read so far that goes on as far as it can.
fn open_star(last: Option<&mut Item>) -> Option<&mut StarEnd> {
    match last.map(|item| &mut item.kind) {
        Some(ItemKind::Star { until: until @ StarEnd::End, .. }) => Some(until),
        _ => None,
    }
}

fn ending(input: Text<'_>) -> Parsed<'_, ()> {
    phrase("end|ending with|on|after? a?")(input)
}

/// What a repeat that goes on as far as it can leaves over: `rep from *, end k5`
/// is `rep from * to last 5 sts, k5`.
///
/// ```text
/// star-and-rest = "*" items [ ";" | "," ] ( "rep" | "repeat" ) "from *" "," closing-stitches
/// closing-stitches = ( "end" | "ending" ) [ "with" ] plain { "," plain }
/// plain = ( "k" | "p" ) number
/// ```
fn closing_stitches<'a>(star: &mut StarEnd) -> impl FnMut(Text<'a>) -> Parsed<'a, Vec<Item>> {
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
            ItemKind::Group { items, times, .. } => takes(items)?.checked_mul(same(times)?)?,
            ItemKind::InOne { .. } => 1,
            ItemKind::Pattern(count) | ItemKind::BindOff(Some(count)) => same(count)?,
            ItemKind::Turn | ItemKind::Marker { .. } => 0,
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

// ---- One item --------------------------------------------------------------

/// Marks follow only a live count.
///
/// ```text
/// item = star | group | bind-off | cast-on-more | hold-some | wrap | turn | marker-item | in-pattern
///      | stitch | ( "k" | "p" ) live-count | bind-off-words live-count
/// live-count = "{" sizes(number) "}" { mark }
/// ```
pub(super) fn item(input: Text<'_>) -> Parsed<'_, Item> {
    let start = input.trimmed();
    let (mut rest, kind) = labelled("a stitch", kind)(start)?;
    let span = start.span_to(rest);
    let mut marks = Vec::new();
    if is_live(&kind) {
        while rest.trimmed().rest().starts_with('[') && !follows(rest, bracketed_count) {
            let (after, mark) = mark(rest)?;
            marks.push(mark);
            rest = after;
        }
    }
    Ok((rest, Item { span, kind, marks }))
}

/// `[88 sts]` is a stated count, not a mark.
fn bracketed_count(input: Text<'_>) -> Parsed<'_, ()> {
    value((), (sign('['), count, stitches_word)).parse(input)
}

/// Whether an item ends with a live count, which may carry marks of its own.
pub(super) fn is_live(kind: &ItemKind) -> bool {
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
    // The author's own abbreviations go before any word of ours.
    if own_name(start).is_some() {
        return stitch(start);
    }
    // Most items are stitches, and most words say at once that they are.
    let word = first_word(start.rest());
    if !WORDS.iter().any(|known| known.eq_ignore_ascii_case(word)) {
        return stitch(start);
    }
    alt((bind_off, cast_on_more, hold_some, wrap, turn, marker_item, in_pattern, stitch))
        .parse(start)
}

/// The first words of all that is said in words rather than stitches.
const WORDS: [&str; 26] = [
    "bind", "bind-off", "bo", "cast", "cast-off", "cast-on", "co", "hold", "place", "put", "slip",
    "sl", "w", "wrap", "turn", "pm", "sm", "slm", "rm", "remove", "work", "continue", "cont",
    "rib", "patt", "pattern",
];

/// Whether a row could begin here.
pub(super) fn begins_row(input: Text<'_>) -> bool {
    let start = input.trimmed();
    star_length(start) > 0 || start.rest().starts_with(['(', '[']) || recognised(start, kind)
}

// ---- Words -----------------------------------------------------------------

/// ```text
/// bind-off = bind-off-words ( [ "next" | "center" ] count [ stitches ] | to-end ) [ manner ]
/// ```
fn bind_off(input: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, ()) = bind_off_words(input)?;
    let counted = preceded(
        maybe(phrase("the? next|center|centre|middle")),
        labelled("how many", count_of_stitches),
    );
    let (rest, count) = cut(alt((map(counted, Some), value(None, to_end)))).parse(rest)?;
    let (rest, _) = maybe(manner)(rest)?;
    Ok((rest, ItemKind::BindOff(count)))
}

/// ```text
/// bind-off-words = "bind off" | "cast off" | "bo" | "bind-off" | "cast-off"
/// ```
pub(super) fn bind_off_words(input: Text<'_>) -> Parsed<'_, ()> {
    alt((phrase("bind off"), phrase("cast off"), phrase("bo|bind-off|cast-off"))).parse(input)
}

/// How stitches are bound off, which changes no count.
///
/// ```text
/// manner = "in" ( "pattern" | "patt" | "rib" ) | "loosely" | "firmly" | "knitwise" | "purlwise"
/// ```
pub(super) fn manner(input: Text<'_>) -> Parsed<'_, ()> {
    alt((
        phrase("in pattern|patt|rib|ribbing"),
        phrase("loosely|firmly|knitwise|purlwise|kwise|pwise"),
    ))
    .parse(input)
}

/// ```text
/// cast-on-more = cast-on-words count [ stitches ]
/// ```
fn cast_on_more(input: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, ()) = cast_on_words(input)?;
    map(cut(count_of_stitches), ItemKind::CastOn).parse(rest)
}

/// ```text
/// cast-on-words = "cast on" | "co" | "cast-on"
/// ```
pub(super) fn cast_on_words(input: Text<'_>) -> Parsed<'_, ()> {
    alt((phrase("cast on"), phrase("co|cast-on"))).parse(input)
}

/// ```text
/// hold-some = "hold" [ "the" ] [ "next" ] count [ stitches ] [ on-hold ] ( "as" | "for" ) name
///           | ( "place" | "slip" | "put" ) [ "the" ] [ "next" ] count [ stitches ] on-hold ( "as" | "for" ) name
/// ```
fn hold_some(input: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, count) = alt((
        |input| {
            let (rest, ()) = phrase("hold the? next?")(input)?;
            let (rest, count) = cut(count_of_stitches).parse(rest)?;
            let (rest, _) = maybe(on_hold)(rest)?;
            Ok((rest, count))
        },
        |input| {
            let (rest, ()) = phrase("place|slip|put the? next?")(input)?;
            let (rest, count) = count_of_stitches(rest)?;
            let (rest, ()) = on_hold(rest)?;
            Ok((rest, count))
        },
    ))
    .parse(input)?;
    let (rest, name) =
        cut(preceded(phrase("as|for"), name(&["and", "then", "rep", "repeat"]))).parse(rest)?;
    Ok((rest, ItemKind::Hold { count, name }))
}

/// ```text
/// on-hold = "on hold" | ( "on" | "onto" | "to" ) [ "a" ] [ stitch-word ] "holder"
///         | ( "on" | "onto" | "to" ) ( "waste" | "scrap" ) "yarn"
/// ```
pub(super) fn on_hold(input: Text<'_>) -> Parsed<'_, ()> {
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
fn turn(input: Text<'_>) -> Parsed<'_, ItemKind> {
    value(ItemKind::Turn, phrase("turn the? work?")).parse(input)
}

/// ```text
/// wrap = ( "w" | "wrap" ) [ "next" ] [ stitch-word ] ( "&" | "and" ) ( "t" | "turn" )
/// ```
fn wrap(input: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, ()) = phrase("w|wrap next? stitch|st?")(input)?;
    let (rest, ()) = alt((sign('&'), phrase("and"))).parse(rest)?;
    value(ItemKind::WrapTurn, phrase("t|turn")).parse(rest)
}

/// ```text
/// marker-item = ( "pm" | "sm" | "slm" | "rm"
///             | ( "place" | "slip" | "sl" | "remove" ) [ "a" | "the" ] ( "marker" | "m" ) ) [ word ]
/// ```
fn marker_item(input: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, act) = alt((
        value(MarkerAct::Place, phrase("pm")),
        value(MarkerAct::Slip, phrase("sm|slm")),
        value(MarkerAct::Remove, phrase("rm")),
        value(MarkerAct::Place, phrase("place a|the? marker|m")),
        value(MarkerAct::Slip, phrase("slip|sl a|the? marker|m")),
        value(MarkerAct::Remove, phrase("remove a|the? marker|m")),
    ))
    .parse(input)?;
    let (rest, name) = marker_name(rest);
    Ok((rest, ItemKind::Marker { act, name }))
}

/// The fabric in work, for a number of stitches or to a place in the row.
///
/// ```text
/// in-pattern = ( "work" | "continue" | "cont" | "rib" | "patt" | "pattern" ) [ as-set ]
///              ( row-end | [ "next" | "center" ] count [ stitches ] [ as-set ] )
/// ```
fn in_pattern(input: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, word) = spanned(phrase("work|continue|cont|rib|patt|pattern"))(input)?;
    let (rest, _) = maybe(as_set)(rest)?;
    if let Ok((rest, until)) = row_end(rest) {
        let name = Spanned::new("work".to_owned(), word.span);
        return Ok((rest, ItemKind::Run { name, until }));
    }
    let (rest, _) = maybe(phrase("the? next|center|centre|middle"))(rest)?;
    let (rest, count) = labelled("how many or how far", count_of_stitches)(rest)?;
    let (rest, _) = maybe(as_set)(rest)?;
    Ok((rest, ItemKind::Pattern(count)))
}

/// In the fabric that is in work.
///
/// ```text
/// as-set = "in" [ "the" ] [ "established" ] ( "pattern" | "patt" | "rib" | "ribbing" )
///          [ "as" ( "established" | "set" ) ]
///        | "as" ( "established" | "set" ) | "even" | "straight"
/// ```
pub(super) fn as_set(input: Text<'_>) -> Parsed<'_, ()> {
    alt((
        preceded(
            phrase("in the? established? pattern|patt|rib|ribbing"),
            value((), opt(phrase("as established|set"))),
        ),
        phrase("as established|set"),
        phrase("even|straight"),
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
fn star(start: Text<'_>) -> Parsed<'_, ItemKind> {
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
fn group(start: Text<'_>) -> Parsed<'_, ItemKind> {
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
        Some(StarEnd::Times { count, more }) => {
            let (times, more) = in_all(Times { count, more });
            ItemKind::Group { items, times, more }
        }
        Some(until) => ItemKind::Star { items, until },
        None => ItemKind::Group { items, times: unwritten(rest.offset(), 1), more: false },
    };
    Ok((rest, kind))
}

/// `3 more times` is four in all.
fn in_all(times: Times) -> (Counts, bool) {
    let Times { mut count, more } = times;
    if more {
        count.given = count.given.map(|n| n + 1);
    }
    (count, more)
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
/// in-one = [ "all" ] ( "in" | "into" ) [ [ "the" ] ( "next" | "same" | "one" | "1" ) ] stitch-word
/// ```
fn in_one(input: Text<'_>) -> Parsed<'_, ()> {
    alt((phrase("all? in|into the? next|same|one|1 st|stitch"), phrase("all? in|into st|stitch")))
        .parse(input)
}

// ---- Stitches --------------------------------------------------------------

/// A stitch, so many of it, so far, or so many times.
///
/// ```text
/// stitch = ( own-name | abbreviation | plain-stitch | word-stitch ) row-end
///        | stitch-name [ in-one ] [ times ]
/// ```
fn stitch(start: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, Named { name, count }) = stitch_name(start)?;
    let (rest, until) = if count.is_none() { row_end_if_any(rest)? } else { (rest, None) };
    if let Some(until) = until {
        return Ok((rest, ItemKind::Run { name, until }));
    }
    // `kfb in next st`: a stitch is worked into the next one anyhow.
    let (rest, _) = maybe(in_one)(rest)?;
    let span = start.span_to(rest);
    let kind = ItemKind::Stitch { name, count };
    let Ok((rest, times)) = quietly(times)(rest) else {
        return Ok((rest, kind));
    };
    let (times, more) = in_all(times);
    let items = vec![Item { span, kind, marks: Vec::new() }];
    Ok((rest, ItemKind::Group { items, times, more }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::syntax::print;

    fn own() -> Vocabulary {
        Vocabulary { own: vec!["bob".to_owned(), "wrap 3".to_owned()] }
    }

    #[track_caller]
    fn canonical(text: &str) -> String {
        match parse_items(text, 0, &own()) {
            Ok(items) => print::items(&items),
            Err(finding) => panic!("{text}\n{finding:#?}"),
        }
    }

    #[test]
    fn ways_to_write_a_row() {
        for (text, same) in [
            // Counts.
            ("K2, P 2, k{24 (26, 28)}, knit 3 sts", "K2, P2, k{24 (26, 28)}, knit 3"),
            ("k2 (3, -), p{?}, k- (2, 4)", "k2 (3, -), p{?}, k- (2, 4)"),
            ("k the next 4 sts then p2 and k2, then p1", "k4, p2, k2, p1"),
            // Names.
            ("k2tog, k 2 tog, knit two together, p 2 tog tbl", "k2tog, k2tog, k2tog, p2tog tbl"),
            ("k1 tbl, k2 tbl, ktbl, k1b", "k1 tbl, k2 tbl, ktbl, k1b"),
            ("sl1, sl 1 wyif, slip 2 sts purlwise", "sl1, sl1 wyif, slip2 pwise"),
            (
                "sl 1 with yarn in front, sl 2 tog kwise, k1, p2sso",
                "sl1 wyif, sl2 kwise, k1, p2sso",
            ),
            ("yo, yo2, yo twice, double yo", "yo, yo2, yo twice, double yo"),
            ("m1, M1L, make 1 right, kfb, kfb in next st", "m1, M1L, make 1 right, kfb, kfb"),
            ("2/2 RC, 2/1LPC, C4F, T3B twice", "2/2 RC, 2/1LPC, C4F, T3B twice"),
            ("narrow, over, slip and bind, plain 3", "narrow, over, slip and bind, plain 3"),
            ("bob, bob 2, bob3, BOB, wrap 3", "bob, bob 2, bob 3, bob, wrap 3"),
            // Runs.
            ("knit", "knit to end"),
            ("p", "p to end"),
            ("k to end of row, turn", "k to end, turn"),
            ("sl1, k across", "sl1, k to end"),
            ("k to last st, p1", "k to last st, p1"),
            ("k until 3 sts remain, k3", "k to last 3 sts, k3"),
            ("k to 2 sts before marker A, k2tog, sm A", "k to 2 sts before marker A, k2tog, sm A"),
            (
                "rib 18, bind off next 22 sts in rib, work in pattern to end",
                "work 18 in pattern, bind off 22, work to end",
            ),
            // Groups.
            (
                "[k1, p1] 4 times, (k1, p1) twice, (k1)",
                "[k1, p1] 4 times, [k1, p1] twice, [k1] once",
            ),
            ("[k1, [p1, k1] 2 times] 3 more times", "[k1, [p1, k1] twice] 3 more times"),
            ("ssk 3 times, k2tog x 2", "ssk 3 times, k2tog twice"),
            ("(k1, yo, k1) all in next st", "(k1, yo, k1) in next st"),
            ("[k2, p2] to last 2 sts, k2", "*k2, p2; rep from * to last 2 sts, k2"),
            // Repeats.
            ("*k4, k2tog; rep from *", "*k4, k2tog; rep from * to end"),
            ("*k4, k2tog*; repeat", "*k4, k2tog; rep from * to end"),
            ("*k4, k2tog* to end", "*k4, k2tog; rep from * to end"),
            ("\\*k4, k2tog; rep from \\* around", "*k4, k2tog; rep from * to end"),
            ("*k4, k2tog; rep from * 4 times", "*k4, k2tog; rep from * 4 times"),
            ("*k4, k2tog, rep from * 4 times more", "*k4, k2tog; rep from * 4 more times"),
            (
                "*k1, **p1, k1; rep from ** twice; rep from * to marker, sm",
                "*k1, *p1, k1; rep from * twice; rep from * to marker, sm",
            ),
            (
                "k5, *p5, k5; rep from *, end p5, k2tog",
                "k5, *p5, k5; rep from * to last 7 sts, p5, k2tog",
            ),
            // The rest.
            ("cast on 8, hold 40 as left sleeve, k2", "cast on 8, hold 40 as left sleeve, k2"),
            ("place next 40 sts on hold as body, k2", "hold 40 as body, k2"),
            ("pm, place marker, slip marker, rm, w&t, wrap and turn", "pm, pm, sm, rm, w&t, w&t"),
            ("bind off {38 (40)} [neck] [fixed], k2", "bind off {38 (40)} [neck] [fixed], k2"),
            ("k2,\n    p2", "k2, p2"),
        ] {
            assert_eq!(canonical(text), same, "{text}");
            assert_eq!(canonical(same), same);
        }
    }

    #[test]
    fn errors_point_at_the_slip() {
        let table = [
            "k2, k2tgo, k3",
            "k2, frob",
            "k2 p2",
            "k2,",
            "k2,, p2",
            "k2, knit",
            "k2 (3 4)",
            "k2 (3, x)",
            "k{24 (26)",
            "(k1, p1",
            "k1, (k2, [p1, k1) twice",
            "k1, p1) twice",
            "(k1 yo) in next st",
            "()",
            "[k1, p1] 4",
            "*k2, p2",
            "*k2, p2*",
            "k2, p2; rep from *",
            "*k1, **p1; rep from * twice; rep from *",
            "*k1, p1; rep from * to",
            "*k1, p1; rep from *, end bob",
            "k to last, p1",
            "bind off",
            "hold 40",
            "k100001",
        ]
        .map(|text| match parse_items(text, 0, &own()) {
            Ok(items) => panic!("{text} was read as {items:#?}"),
            Err(f) => format!("{text}\n  {} {:?} {}\n", f.code.name(), f.place(), f.message),
        });
        insta::assert_snapshot!(table.concat(), @r"
        k2, k2tgo, k3
          unknown-stitch 4..9 `k2tgo` is not a stitch that is known here
        k2, frob
          unknown-stitch 4..8 `frob` is not a stitch that is known here
        k2 p2
          syntax 3..5 expected `,`, but found `p2`
        k2,
          syntax 3..3 expected a stitch, but found the end
        k2,, p2
          syntax 3..4 expected a stitch, but found `,`
        k2, knit
          syntax 4..8 `knit` does not say how many stitches
        k2 (3 4)
          syntax 6..7 expected `,` or `)`, but found `4`
        k2 (3, x)
          syntax 7..8 expected a whole number, but found `x`
        k{24 (26)
          syntax 9..9 expected `}`, but found the end
        (k1, p1
          syntax 0..1 this `(` is never closed
        k1, (k2, [p1, k1) twice
          syntax 16..17 expected `]`, but found `)`
        k1, p1) twice
          syntax 6..7 expected `,` or the end of the instruction, but found `)`
        (k1 yo) in next st
          syntax 4..6 expected `,`, but found `yo`
        ()
          syntax 1..2 expected a stitch, but found `)`
        [k1, p1] 4
          syntax 10..10 expected `more` or `times`, but found the end
        *k2, p2
          syntax 0..1 this `*` begins a repeat that is never repeated
        *k2, p2*
          syntax 8..8 expected how far or how often (`to end`, `to last 2 sts`, `4 times`), but found the end
        k2, p2; rep from *
          syntax 8..11 this repeat has no `*` to go back to
        *k1, **p1; rep from * twice; rep from *
          syntax 20..21 this repeat goes back to a star that is not open here
        *k1, p1; rep from * to
          syntax 22..22 expected `end`, `last`, a whole number or `marker`, but found the end
        *k1, p1; rep from *, end bob
          syntax 25..28 it cannot be told how many stitches these take
        k to last, p1
          syntax 9..10 expected a count, but found `,`
        bind off
          syntax 8..8 expected how many, `to end`, `across` or `all`, but found the end
        hold 40
          syntax 7..7 expected `as`, but found the end
        k100001
          beyond-any-garment 1..7 100001 is beyond any garment
        ");
    }

    #[test]
    fn every_place_is_what_was_written() {
        let text = "k{24 (26)} [neck], [k1 , p2] 3 times , *k4; rep from * to last 2 sts";
        let offset = 100;
        let items = parse_items(text, offset, &own()).unwrap_or_default();
        let at = |span: Span| text.get(span.start - offset..span.end - offset).unwrap_or("?");
        let written: Vec<&str> = items.iter().map(|item| at(item.span)).collect();
        assert_eq!(written, ["k{24 (26)}", "[k1 , p2] 3 times", "*k4; rep from * to last 2 sts"]);
        let parts: Vec<&str> = items
            .iter()
            .flat_map(|item| match &item.kind {
                ItemKind::Stitch { name, count: Some(count) } => vec![name.span, count.span],
                ItemKind::Group { items, times, .. } => {
                    items.iter().map(|i| i.span).chain([times.span]).collect()
                }
                ItemKind::Star { until: StarEnd::Last(count), .. } => vec![count.span],
                _ => Vec::new(),
            })
            .map(at)
            .collect();
        assert_eq!(parts, ["k", "24 (26)", "k1", "p2", "3", "2"]);
    }

    #[test]
    fn nesting_has_a_limit_and_no_length_has() {
        let nested = |n: usize| format!("{}k1{}", "(".repeat(n), ") twice".repeat(n));
        assert!(parse_items(&nested(32), 0, &own()).is_ok());
        for n in [33, 100_000] {
            let code = parse_items(&nested(n), 0, &own()).map_err(|f| f.code);
            assert_eq!(code.err(), Some(Code::TooDeep), "{n}");
        }
        let code = parse_items(&"*".repeat(100_000), 0, &own()).map_err(|f| f.code);
        assert_eq!(code.err(), Some(Code::Syntax));
        let long = format!("{}k2", "k2, p2, ".repeat(20_000));
        assert_eq!(parse_items(&long, 0, &own()).map(|items| items.len()), Ok(40_001));
    }
}
