//! The stitches of a row: counts, groups, repeats, runs, markers.
//!
//! The grammar is in `grammar/row.md`. Labels (`row 1 (RS):`) are read in
//! `label`, names of stitches in `abbreviation`, how far things go in
//! `how_far`.

mod repeats;
mod said;

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, opt, value};

use self::repeats::{closing_stitches, ending, group, in_one, open_star, star, star_length};
pub(super) use self::said::{
    as_set, aside, asides, bind_off_words, cast_on_words, join_yarn, manners, on_hold,
};
use self::said::{bind_off, cast_on_more, hold_some, in_pattern, marker_item, turn, wrap};
use super::abbreviation::{Named, own_name, stitch_name};
use super::color;
use super::error::{Expected, Failure, THE_END, clipped, found};
use super::how_far::{OPENINGS, row_end_if_any};
use super::measure::mark;
use super::terminals::{count, first_word, phrase, side, sign, stitches_word, times};
use super::text::{
    Parsed, Text, Vocabulary, follows, labelled, maybe, quietly, recognised, stop, whole,
};
use super::tree::{Item, ItemKind, RowEnd, StarEnd};
use super::visit::each_item;
use crate::diag::{Code, Finding};
use crate::source::Span;

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
    let rest = color_of_the_last(rest, &mut read);
    match read.as_mut_slice() {
        [only] => to_the_end(only),
        several => words_say_how_far(several)?,
    }
    Ok((rest, read))
}

/// Among stitches that have colors of their own the last have theirs: `k2 MC, k1 in CC`.
fn color_of_the_last<'a>(rest: Text<'a>, read: &mut [Item]) -> Text<'a> {
    let Some((last, before)) = read.split_last_mut() else { return rest };
    if last.color.is_some() || !last.kind.works_stitches() || !any_color(before) {
        return rest;
    }
    match quietly(color::coloring)(rest) {
        Ok((after, color)) => {
            last.span = last.span.to(color.span);
            last.color = Some(color);
            after
        }
        Err(_) => rest,
    }
}

fn any_color(items: &[Item]) -> bool {
    let mut any = false;
    each_item(items, &mut |item| any |= item.color.is_some());
    any
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
    loop {
        // `rep from * ending k2`, with a comma or without.
        let closing = open_star(read.last_mut()).is_some() && follows(rest, closing_words);
        let after = if closing { Some(rest) } else { next_item(rest)? };
        let Some(after) = after else { return Ok((rest, read)) };
        if let (Some(star), Ok((after, ()))) = (open_star(read.last_mut()), quietly(ending)(after))
        {
            let (after, last) = cut(closing_stitches(star)).parse(after)?;
            read.extend(last);
            return Ok((after, read));
        }
        // `rep from * to last 2 sts, end k2`
        let after = match (read.last().map(|item| &item.kind), quietly(ending)(after)) {
            (Some(ItemKind::Star { .. }), Ok((after, ()))) => after,
            _ => after,
        };
        let (next, item) = cut(item).parse(after)?;
        read.push(item);
        rest = next;
    }
}

/// `ending k2` right after a repeat, and not `ending with a WS row`.
fn closing_words(input: Text<'_>) -> Parsed<'_, ()> {
    let (rest, ()) = ending(input)?;
    if what_follows_a_row(input).is_ok() {
        rest.fail(Expected::Thing("a stitch"))
    } else {
        Ok((rest, ()))
    }
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
    if separator == ',' && !remark && follows(after, (count, stitches_word)) {
        return Err(count_for_a_stitch(after));
    }
    let leaves = remark || closing_star_follows(after) || follows(after, what_follows_a_row);
    Ok((!leaves).then_some(after))
}

/// `ending with a WS row`: no stitches of the row.
fn what_follows_a_row(input: Text<'_>) -> Parsed<'_, ()> {
    let last_row = alt((value((), side), phrase("row|round|rnd")));
    value((), (alt((ending, phrase("ready for a|the?"))), last_row)).parse(input)
}

/// `k to end, 88 sts` may be a count or a stitch left out.
fn count_for_a_stitch(after: Text<'_>) -> nom::Err<Failure> {
    let here = after.trimmed();
    let length = found(here.rest()).0;
    let place = Span::new(here.offset(), here.offset() + length);
    let finding = Finding::new(Code::Syntax, place, "a number of stitches stands for a stitch")
        .label("what is done with them?")
        .help("for the count after the row, write it in parentheses and without the comma: `(88 sts)`");
    nom::Err::Failure(Failure::found(finding))
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

// ---- One item --------------------------------------------------------------

/// Marks follow only a live count. A color after `in` or `with` is that of the stitches where
/// others follow, or have colors of their own; else it is that of the row.
///
/// ```text
/// item = cast-on-more | hold-some | wrap | turn | marker-item | join-yarn
///      | colored [ color ] | coloring colored | ( "k" | "p" ) live-count | bind-off-words live-count
/// colored = star | stitch | group | in-pattern | bind-off
/// live-count = "{" sizes(number) "}" { mark }
/// ```
pub(super) fn item(input: Text<'_>) -> Parsed<'_, Item> {
    let start = input.trimmed();
    let before = quietly(color::coloring)(start).ok();
    let (rest, before) =
        before.map_or((start, None), |(rest, color)| (rest.trimmed(), Some(color)));
    if before.is_some() && rest.rest().starts_with(',') {
        return comma_after_color(rest);
    }
    let (mut rest, kind) = labelled("a stitch", kind)(rest)?;
    if before.is_some() && !kind.works_stitches() {
        return start.fail(Expected::Thing("a stitch"));
    }
    let mut color = before;
    if color.is_none() && kind.works_stitches() {
        let goes_on = |after| matches!(next_item(after), Ok(Some(next)) if recognised(next, item));
        if let Ok((after, found)) = quietly(color::of_stitches(goes_on))(rest) {
            rest = after;
            color = Some(found);
        }
    }
    let span = start.span_to(rest);
    let mut marks = Vec::new();
    if is_live(&kind) {
        while rest.trimmed().rest().starts_with('[') && !follows(rest, bracketed_count) {
            let (after, mark) = mark(rest)?;
            marks.push(mark);
            rest = after;
        }
    }
    Ok((rest, Item { span, kind, color, marks }))
}

/// `*with A, k2` does not say how far the color goes.
fn comma_after_color<'a, T>(rest: Text<'a>) -> Parsed<'a, T> {
    let place = Span::new(rest.offset(), rest.offset() + 1);
    let finding = Finding::new(Code::Syntax, place, "this comma parts a color from its stitches")
        .label("no comma here")
        .help("within a row each color has its own stitches, as in `with A k2` or `k2 A`");
    stop(finding)
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
    alt((bind_off, cast_on_more, hold_some, wrap, turn, marker_item, join_yarn, in_pattern, stitch))
        .parse(start)
}

/// The first words of all that is said in words rather than stitches.
const WORDS: [&str; 33] = [
    "bind", "bind-off", "bo", "cast", "cast-off", "cast-on", "co", "hold", "place", "leave",
    "leaving", "put", "slip", "sl", "w", "wrap", "turn", "pm", "sm", "slm", "rm", "remove", "join",
    "rejoin", "re-join", "attach", "reattach", "work", "continue", "cont", "rib", "patt",
    "pattern",
];

/// Whether a row could begin here.
pub(super) fn begins_row(input: Text<'_>) -> bool {
    let start = input.trimmed();
    star_length(start) > 0
        || start.rest().starts_with(['(', '['])
        || recognised(start, kind)
        || color_leads_stitches(start)
}

/// Whether stitches follow a color without a comma: `with MC k2, with CC k1`.
pub(super) fn color_leads_stitches(input: Text<'_>) -> bool {
    match quietly(color::coloring)(input) {
        Ok((rest, _)) => recognised(rest.trimmed(), kind),
        Err(_) => false,
    }
}

// ---- Stitches --------------------------------------------------------------

/// What becomes of the wraps of short rows, which changes no count.
///
/// ```text
/// wraps = [ "," ] ( "picking up" | "working" | "hiding" | "knitting" ) [ "the" | "all" ] "wraps"
///         [ [ "together" ] "with" [ "the" | "their" ] stitches ]
/// ```
fn wraps(input: Text<'_>) -> Parsed<'_, ()> {
    let (rest, _) = opt(sign(',')).parse(input)?;
    let (rest, ()) =
        phrase("and? picking|working|hiding|knitting|lifting up? the|all? wraps")(rest)?;
    let (rest, _) = maybe(phrase("together? with the|their? sts|st|stitches|stitch"))(rest)?;
    let (rest, _) = maybe(phrase("as you come to them"))(rest)?;
    Ok((rest, ()))
}

/// A stitch, so many of it, so far, or so many times.
///
/// ```text
/// stitch = ( own-name | abbreviation | plain-stitch | word-stitch ) row-end [ wraps ]
///        | stitch-name [ in-one ] [ times ]
/// ```
fn stitch(start: Text<'_>) -> Parsed<'_, ItemKind> {
    let (rest, Named { name, count }) = stitch_name(start)?;
    let (rest, until) = if count.is_none() { row_end_if_any(rest)? } else { (rest, None) };
    if let Some(until) = until {
        let (rest, _) = maybe(wraps)(rest)?;
        return Ok((rest, ItemKind::Run { name, until }));
    }
    // `kfb in next st`: a stitch is worked into the next one anyhow.
    let (rest, _) = maybe(in_one)(rest)?;
    let span = start.span_to(rest);
    let kind = ItemKind::Stitch { name, count };
    let Ok((rest, times)) = quietly(times)(rest) else {
        return Ok((rest, kind));
    };
    let items = vec![Item { span, kind, color: None, marks: Vec::new() }];
    Ok((rest, ItemKind::Group { items, times: times.count, more: times.more }))
}

#[cfg(test)]
mod tests;
