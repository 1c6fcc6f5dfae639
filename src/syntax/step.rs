//! One instruction: a list item's own text.
//!
//! The grammar is in `grammar/step.md`. The opening words decide what kind of
//! instruction it is; after them the parser commits, so that an error says
//! what that kind needs. What follows the instruction (a side to end with, a
//! stated count, marks, a remark) is the same for all kinds.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, map, opt, value};
use nom::sequence::{preceded, terminated};

use super::error::{Expected, Failure, clipped, found};
use super::label::{label, ordinal, row_range};
use super::measure::{known_fabric, lengths_here, live, mark, named_fabric};
use super::row::{
    as_set, begins_row, bind_off_words, item, known_names, manner, on_hold, row_items,
};
use super::terminals::{
    Parsed, Text, Times, Vocabulary, count, count_of_stitches, end, first_word, follows, labelled,
    name, number, phrase, quietly, rows_word, side, sign, sign_of, sizes, spanned, stitches_word,
    stop, times, unwritten, whole,
};
use super::tree::{
    Action, Amount, BindOff, CastOnPlace, Change, CloseWith, Counts, Every, Extent, From, Item,
    ItemKind, Live, Mark, PickUp, Prose, Rate, RowEnd, RowLabel, RowRange, Schedule, ShapePlace,
    Side, Step,
};
use crate::diag::{Code, Finding, words};
use crate::measure::Given;
use crate::source::{Span, Spanned};

/// Reads one instruction. A nested list is the caller's to add.
///
/// # Errors
/// A finding at the place where the instruction cannot be understood.
pub fn parse(text: &str, offset: usize, vocabulary: &Vocabulary) -> Result<Step, Finding> {
    whole(text, offset, vocabulary, step)
}

/// ```text
/// step = [ only ] action { ending | stated | mark } [ "." ] [ ";" remark ]
/// ```
fn step(input: Text<'_>) -> Parsed<'_, Step> {
    let start = input.trimmed();
    let (rest, only) = quietly(opt(only))(start)?;
    let rest = rest.trimmed();
    let (rest, action) = action(rest)?;
    let mut step = Step {
        span: start.span_to(rest),
        only: only.unwrap_or_default(),
        action,
        ending: None,
        stated: None,
        marks: Vec::new(),
        remark: None,
        steps: Vec::new(),
    };
    let rest = if matches!(step.action, Action::Say) {
        said(rest, &mut step)?
    } else {
        tail(rest, &mut step)?
    };
    step.span = start.span_to(rest);
    Ok((rest, step))
}

/// ```text
/// only = ( "size" | "sizes" ) name { ( "," | "and" ) name } "only" ":"
/// ```
fn only(input: Text<'_>) -> Parsed<'_, Vec<Spanned<String>>> {
    let (mut rest, ()) = phrase("for? sizes|size")(input)?;
    let mut names = Vec::new();
    loop {
        let (after, size) = name(&["and", "only"])(rest)?;
        names.push(size);
        let (after, more) = opt(alt((
            preceded(sign(','), value((), opt(phrase("and")))),
            phrase("and"),
            sign('&'),
        )))
        .parse(after)?;
        rest = after;
        if more.is_none() {
            break;
        }
    }
    let (rest, ()) = phrase("only")(rest)?;
    let (rest, ()) = sign(':')(rest)?;
    Ok((rest, names))
}

// ---- What follows every instruction ----------------------------------------

fn tail<'a>(input: Text<'a>, step: &mut Step) -> Result<Text<'a>, nom::Err<Failure>> {
    let mut rest = input;
    loop {
        let here = rest.trimmed();
        match here.rest().chars().next() {
            None => return Ok(rest),
            Some(';') => return remark(here, step),
            _ => {}
        }
        if let (None, Ok((after, counts))) = (&step.stated, stated(here)) {
            step.stated = Some(counts);
            rest = after;
        } else if let (None, Ok((after, side))) =
            (&step.ending, labelled("`ending with a WS row`", ending)(here))
        {
            step.ending = Some(side);
            rest = after;
        } else if here.rest().starts_with('[') {
            let (after, mark) = mark(here)?;
            step.marks.push(mark);
            rest = after;
        } else if here.rest().starts_with('.') {
            let after = here.skip(1);
            if !follows(after, alt((end, sign(';')))) {
                return after
                    .trimmed()
                    .fail::<()>(Expected::Thing("the end of the instruction"))
                    .map(|(t, ())| t);
            }
            rest = after;
        } else {
            return here.fail::<()>(Expected::Thing("the end of the instruction")).map(|(t, ())| t);
        }
    }
}

/// ```text
/// ending = [ "," ] "ending with a" side "row"
/// ```
fn ending(input: Text<'_>) -> Parsed<'_, Spanned<Side>> {
    let (rest, _) = opt(sign(',')).parse(input)?;
    let (rest, ()) = phrase("ending|end with|on|after? a?")(rest)?;
    let (rest, side) = spanned(side)(rest)?;
    let (rest, ()) = rows_word(rest)?;
    Ok((rest, side))
}

/// The count the author says there is now.
///
/// ```text
/// stated = "(" now ")" | "[" now "]" | ( "—" | "--" | "." ) now
/// now = count "sts" [ "remain" ]
/// ```
fn stated(input: Text<'_>) -> Parsed<'_, Counts> {
    let here = input.trimmed();
    let opening = ["(", "[", "—", "–", "--", "."].into_iter().find(|s| here.rest().starts_with(s));
    let Some(opening) = opening else {
        return here.fail(Expected::Thing("a stated count"));
    };
    let quiet = quietly(|input| {
        let (rest, count) = count(input)?;
        let (rest, ()) = stitches_word(rest)?;
        let (rest, ()) = phrase(
            "now? remain|remaining|rem|left|total? in? all|total? on? the? needles|needle? left|now|rem?",
        )(rest)?;
        Ok((rest, count))
    })(here.skip(opening.len()));
    let (rest, count) = quiet?;
    let rest = match opening {
        "(" => sign(')')(rest)?.0,
        "[" => sign(']')(rest)?.0,
        _ => rest,
    };
    Ok((rest, count))
}

/// ```text
/// remark = words with live numbers { mark }
/// ```
fn remark<'a>(semicolon: Text<'a>, step: &mut Step) -> Result<Text<'a>, nom::Err<Failure>> {
    let start = semicolon.skip(1).trimmed();
    if matches!(step.action, Action::Row { .. }) && reads_as_stitches(start) {
        let finding = Finding::new(
            Code::Syntax,
            Span::new(semicolon.offset(), semicolon.offset() + 1),
            "a `;` ends the row and begins a remark, but stitches follow",
        )
        .label("write `,` here")
        .help("between stitches put a comma; after a `;` put words for the knitter")
        .patch(Span::new(semicolon.offset(), semicolon.offset() + 1), ",");
        return stop(finding);
    }
    let (rest, (prose, marks)) = prose(start)?;
    step.remark = Some(prose);
    step.marks.extend(marks);
    Ok(rest)
}

fn reads_as_stitches(start: Text<'_>) -> bool {
    let until_next = start.rest().find(';').unwrap_or(start.rest().len());
    let part = nom::Input::take(&start, until_next);
    follows(part, terminated(row_items, end))
}

/// Words up to the end, their live numbers, and the marks after them.
fn prose(start: Text<'_>) -> Parsed<'_, (Prose, Vec<Spanned<Mark>>)> {
    let mut length = start.rest().trim_end().len();
    let whole = start.skip(length);
    let mut marks = Vec::new();
    // From the end backwards, as long as brackets hold marks.
    while let Some((at, mark)) = last_mark(start, length) {
        marks.push(mark);
        length = start.rest().get(..at).unwrap_or("").trim_end().len();
    }
    marks.reverse();
    let span = Span::new(start.offset(), start.offset() + length);
    let live = lives(start, length)?;
    Ok((whole, (Prose { span, live }, marks)))
}

/// The mark that the first `length` bytes end with, and where it begins.
fn last_mark(start: Text<'_>, length: usize) -> Option<(usize, Spanned<Mark>)> {
    let words = start.rest().get(..length)?;
    let at = if words.ends_with(']') { words.rfind('[')? } else { return None };
    let bracket = nom::Input::take(&start, length).skip(at);
    let (_, mark) = quietly(terminated(mark, end))(bracket).ok()?;
    Some((at, mark))
}

fn lives(start: Text<'_>, length: usize) -> Result<Vec<Live>, nom::Err<Failure>> {
    let words = start.rest().get(..length).unwrap_or("");
    live_numbers(words, start.offset())
        .map_err(|finding| nom::Err::Failure(Failure::found(finding)))
}

/// The live numbers in some prose, in order.
///
/// # Errors
/// A finding at the first brace that is not closed or holds no live number.
pub fn live_numbers(text: &str, offset: usize) -> Result<Vec<Live>, Finding> {
    let mut found = Vec::new();
    let mut from = 0;
    while let Some(at) = text.get(from..).and_then(|t| t.find('{')) {
        let open = from + at;
        let inside = text.get(open + 1..).unwrap_or("");
        let Some(length) = inside.find('}') else {
            let place = Span::new(offset + open, offset + open + 1);
            return Err(Finding::new(Code::Syntax, place, "this `{` is never closed")
                .label("opened here")
                .help("put a `}` after the number"));
        };
        let value = live(inside.get(..length).unwrap_or(""), offset + open + 1)?;
        let close = open + 1 + length + 1;
        found.push(Live { span: Span::new(offset + open, offset + close), value });
        from = close;
    }
    Ok(found)
}

/// The words of a step that only says something: kept whole, live numbers and all.
fn said<'a>(start: Text<'a>, step: &mut Step) -> Result<Text<'a>, nom::Err<Failure>> {
    let (rest, (prose, marks)) = prose(start)?;
    step.remark = Some(prose);
    step.marks = marks;
    Ok(rest)
}

// ---- The kinds of instruction ----------------------------------------------

/// What an instruction may begin with, for messages.
const OPENINGS: &[&str] = &[
    "cast on",
    "join",
    "work",
    "change to",
    "row",
    "round",
    "next row",
    "repeat",
    "increase",
    "decrease",
    "bind off",
    "hold",
    "take up",
    "pick up",
    "at the same time",
    "work as for",
    "break yarn",
    "graft",
    "note:",
    "sew",
    "seam",
    "weave",
    "block",
    "fasten off",
    "stockinette",
    "garter",
    "seed",
    "reverse",
];

/// ```text
/// action = together | say | row-step | reverse | part | cast-on | join | work-flat | change-to
///        | as-for | repeat-rows | even | wedges | shape | bind-off-step | hold | take-up
///        | pick-up | close | work-rows | work
/// ```
fn action(input: Text<'_>) -> Parsed<'_, Action> {
    let start = input.trimmed();
    if start.rest().is_empty() {
        return start.fail(Expected::Thing("an instruction"));
    }
    let known = alt((
        alt((together, labelled_row, note, quietly(reverse), quietly(part), close, say)),
        alt((cast_on, join, work_flat, change_to, as_for, repeat_rows)),
        alt((changes, bind_off, hold, take_up, pick_up)),
        alt((work_rows, work)),
        bare_row,
        quietly(named_work),
    ))
    .parse(start);
    match known {
        Err(nom::Err::Error(failure)) if failure.place() <= start.offset() => unknown(start),
        other => other,
    }
}

fn unknown(start: Text<'_>) -> Parsed<'_, Action> {
    let (length, found) = found(start.rest());
    let word = first_word(start.rest());
    let two: String = start.rest().split_whitespace().take(2).collect::<Vec<_>>().join(" ");
    let near = words::nearest(&two, OPENINGS.iter().copied())
        .or_else(|| words::nearest(word, OPENINGS.iter().copied()))
        .or_else(|| words::nearest(word, OPENINGS.iter().filter_map(|o| o.split(' ').next())))
        .or_else(|| words::nearest(word, known_names(start.own())));
    let span = Span::new(start.offset(), start.offset() + length);
    let mut finding =
        Finding::new(Code::Syntax, span, format!("expected an instruction, but found {found}"))
            .label("not an opening that is known");
    if let Some(near) = near {
        finding = finding.help(format!("a similar opening exists: `{near}`"));
    }
    let all: Vec<String> = OPENINGS.iter().map(|o| format!("`{}`", clipped(o))).collect();
    finding = finding
        .note(format!(
            "an instruction begins with {}, a fabric, or stitches",
            words::list(&all, "or")
        ))
        .help("words for the knitter alone go after `note:`");
    stop(finding)
}

/// Nothing more but what may follow every instruction.
fn action_end(input: Text<'_>) -> Parsed<'_, ()> {
    let here = input.trimmed();
    let over = here.rest().is_empty()
        || here.rest().starts_with([';', '(', '[', '.', '—', '–'])
        || here.rest().starts_with("--")
        || follows(here, ending);
    if over { Ok((input, ())) } else { here.fail(Expected::Thing("the end of the instruction")) }
}

/// ```text
/// together = "at the same time" [ ":" | "," ]
/// ```
fn together(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = phrase("at the? same time")(input)?;
    let (rest, _) = quietly(opt(sign_of(&[':', ','], "`:`")))(rest)?;
    let (rest, ()) = cut(action_end).parse(rest)?;
    Ok((rest, Action::Together))
}

/// ```text
/// say = ( "note" ":" | "sew" | "seam" | "break yarn" | "fasten off" | "weave" | "block" | "wash"
///       | "place" ) words
/// ```
fn say(input: Text<'_>) -> Parsed<'_, Action> {
    let start = input.trimmed();
    let (_, ()) = quietly(alt((
        phrase("sew|seam|weave|block|wash|press|steam|attach|fold|tie|stuff|try|swatch"),
        phrase("break|cut the? yarn"),
        phrase("fasten off"),
        place_words,
    )))(start)
    .or_else(|_| start.fail::<()>(Expected::Thing("an instruction")))?;
    Ok((start, Action::Say))
}

/// `place a button on the band`, but not `place marker` or stitches put on hold.
fn place_words(input: Text<'_>) -> Parsed<'_, ()> {
    let (rest, ()) = phrase("place")(input)?;
    let ours = alt((
        phrase("a?|the? marker|m"),
        value((), (phrase("all? remaining? the? next?"), opt(count), stitches_word)),
        value((), (phrase("the? next?"), number)),
    ));
    if follows(rest, ours) { rest.fail(Expected::Thing("words")) } else { Ok((rest, ())) }
}

fn note(input: Text<'_>) -> Parsed<'_, Action> {
    let start = input.trimmed();
    let (_, _) = quietly((phrase("note|tip|caution"), sign(':')))(start)?;
    Ok((start, Action::Say))
}

/// ```text
/// close = ( "break yarn and" | "cut yarn and" ) ( "draw" | "thread" ) "through" words
///       | "draw through" words | "graft" words
/// ```
fn close(input: Text<'_>) -> Parsed<'_, Action> {
    let mut draw = alt((
        value(
            CloseWith::DrawThrough,
            phrase("break|cut the? yarn and draw|thread|pull it? through"),
        ),
        value(CloseWith::DrawThrough, phrase("draw|thread the? yarn|tail? through")),
        value(CloseWith::Graft, phrase("graft")),
    ));
    let (rest, with) = draw.parse(input)?;
    let (rest, _) = super::terminals::up_to(&[';', '[', '('])(rest)?;
    Ok((rest, Action::Close(with)))
}

// ---- Rows ------------------------------------------------------------------

/// ```text
/// row-step = [ label ":" ] row
/// ```
fn labelled_row(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, label) = label(input)?;
    let (rest, items) = cut(row_items).parse(rest)?;
    Ok((rest, Action::Row { label: Some(label), items }))
}

fn bare_row(input: Text<'_>) -> Parsed<'_, Action> {
    if !begins_row(input) {
        return input.trimmed().fail(Expected::Thing("an instruction"));
    }
    let (rest, items) = cut(row_items).parse(input)?;
    Ok((rest, Action::Row { label: None, items }))
}

/// `knit 4 rounds`, `purl 1 row`: so many rows of one stitch.
///
/// ```text
/// work-rows = ( "knit" | "purl" ) [ number ] "rows"
/// ```
fn work_rows(input: Text<'_>) -> Parsed<'_, Action> {
    let start = input.trimmed();
    let (rest, stitch) =
        spanned(alt((value("k", phrase("knit|k|plain")), value("p", phrase("purl|p")))))(start)?;
    let numbers = rest.trimmed();
    let (rest, ()) = phrase("the? next?")(rest)?;
    let (rest, next) = opt(number).parse(rest)?;
    let (rest, ()) = rows_word(rest)?;
    let label = RowLabel {
        span: numbers.span_to(rest),
        numbers: Vec::new(),
        next: next.unwrap_or(1),
        side: None,
        and_all: None,
    };
    let name = Spanned::new(stitch.value.to_owned(), stitch.span);
    let kind = ItemKind::Run { name, until: RowEnd::End };
    let item = Item { span: start.span_to(rest), kind, marks: Vec::new() };
    Ok((rest, Action::Row { label: Some(label), items: vec![item] }))
}

/// ```text
/// repeat-rows = ( "repeat" | "rep" ) which-rows extent
/// which-rows = "rows" row-range | "rows" number "and" number | [ "the" ] ( "last" | "these" ) [ number ] "rows"
/// ```
fn repeat_rows(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, rows) = alt((
        preceded(phrase("repeat|rep"), cut(which_rows)),
        preceded(phrase("work"), which_rows),
    ))
    .parse(input)?;
    let (rest, extent) = cut(extent_or_once).parse(rest)?;
    Ok((rest, Action::Repeat { rows, extent }))
}

fn which_rows(input: Text<'_>) -> Parsed<'_, RowRange> {
    let last = |input| {
        let (rest, ()) = phrase("the? last|these|previous")(input)?;
        let (rest, n) = opt(number).parse(rest)?;
        let (rest, ()) = rows_word(rest)?;
        Ok((rest, RowRange::Last(n.unwrap_or(1))))
    };
    labelled("rows to repeat", alt((last, numbered_rows)))(input)
}

fn numbered_rows(start: Text<'_>) -> Parsed<'_, RowRange> {
    let start = start.trimmed();
    let (rest, ()) = rows_word(start)?;
    let (rest, range) = row_range(rest)?;
    let (rest, second) = quietly(opt(preceded(alt((phrase("and"), sign('&'))), row_range)))(rest)?;
    match (range, second) {
        (range, None) => Ok((rest, range)),
        (
            RowRange::Numbered { first, last },
            Some(RowRange::Numbered { first: next, last: end }),
        ) if next == last + 1 => Ok((rest, RowRange::Numbered { first, last: end })),
        _ => stop(
            Finding::new(
                Code::Syntax,
                start.span_to(rest),
                "rows that are repeated together must follow one another",
            )
            .label("not a run of rows"),
        ),
    }
}

// ---- Lengths of work -------------------------------------------------------

/// ```text
/// work = [ "work" | "continue" ] ( [ "in" ] fabric | "even" | "in pattern" ) [ extent ]
///      | "work" count "rows" [ "in" fabric | "even" ]
/// ```
fn work(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, action) = alt((work_fabric, work_even, work_count_of_rows)).parse(input)?;
    let (rest, ()) = action_end(rest)?;
    Ok((rest, action))
}

fn work_words(input: Text<'_>) -> Parsed<'_, ()> {
    phrase("work|continue|cont in?")(input)
}

fn work_fabric(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, _) = opt(work_words).parse(input)?;
    let (rest, fabric) = known_fabric(rest)?;
    let (rest, extent) = extent_or_once(rest)?;
    Ok((rest, Action::Work { fabric: Some(fabric), extent }))
}

fn work_even(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = phrase("work|continue|cont|knit")(input)?;
    let (rest, ()) = as_set(rest)?;
    let (rest, extent) = extent_or_once(rest)?;
    Ok((rest, Action::Work { fabric: None, extent }))
}

fn work_count_of_rows(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = phrase("work|continue|cont the? next?")(input)?;
    let (rest, count) = count(rest)?;
    let (rest, ()) = rows_word(rest)?;
    let (rest, _) = quietly(opt(as_set))(rest)?;
    let (rest, fabric) =
        opt(preceded(phrase("in|of"), alt((known_fabric, named_fabric(&[]))))).parse(rest)?;
    Ok((rest, Action::Work { fabric, extent: Extent::Rows(count) }))
}

/// A fabric of the author's, known by the `for` or `until` after its name.
fn named_work(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, worked) = opt(phrase("work|continue|cont in")).parse(input)?;
    let (rest, fabric) = named_fabric(&["for", "until", "once", "twice"])(rest)?;
    let (rest, extent) = if worked.is_some() { extent_or_once(rest)? } else { extent(rest)? };
    Ok((rest, Action::Work { fabric: Some(fabric), extent }))
}

/// ```text
/// extent = "for" length | "for" count "rows" | "until" length "from" from
///        | "until" from "measures" length | count "rows" | times
/// ```
fn extent(input: Text<'_>) -> Parsed<'_, Extent> {
    alt((
        preceded(phrase("for another?"), cut(for_extent)),
        preceded(phrase("until|to"), cut(until_extent)),
        map(times, |Times { count, more }| Extent::Times { count, more }),
        map(terminated(count, rows_word), Extent::Rows),
    ))
    .parse(input)
}

fn extent_or_once(input: Text<'_>) -> Parsed<'_, Extent> {
    let (rest, extent) = opt(extent).parse(input)?;
    Ok((rest, extent.unwrap_or(Extent::Once)))
}

fn for_extent(input: Text<'_>) -> Parsed<'_, Extent> {
    let rows = map(terminated(count, rows_word), Extent::Rows);
    let (rest, extent) = alt((map(lengths_here, Extent::Length), rows)).parse(input)?;
    let (rest, _) = quietly(opt(phrase("more|altogether")))(rest)?;
    Ok((rest, extent))
}

fn until_extent(input: Text<'_>) -> Parsed<'_, Extent> {
    alt((until_length, until_measures)).parse(input)
}

fn until_length(input: Text<'_>) -> Parsed<'_, Extent> {
    let (rest, length) = lengths_here(input)?;
    let (rest, from) = cut(from_words).parse(rest)?;
    Ok((rest, Extent::Until { length, from }))
}

/// ```text
/// from = "from" ( "cast on" | "the beginning" | name )
/// ```
fn from_words(input: Text<'_>) -> Parsed<'_, Spanned<From>> {
    let (rest, ()) = phrase("from|above")(input)?;
    spanned(alt((
        value(From::CastOn, phrase("the? cast on edge?")),
        value(From::CastOn, phrase("the? cast-on|beginning|beg|start edge?")),
        map(name(&[]), |name| From::Named(name.value)),
    )))(rest)
}

fn until_measures(input: Text<'_>) -> Parsed<'_, Extent> {
    let whole_piece =
        value(From::CastOn, terminated(phrase("the? piece|work|it"), phrase("measures|is")));
    let named = map(terminated(name(&["measures", "is"]), phrase("measures|is")), |name| {
        From::Named(name.value)
    });
    let start = input.trimmed();
    let (rest, from) = alt((whole_piece, named)).parse(start)?;
    let from_end = first_from(start, rest);
    let (rest, length) = cut(lengths_here).parse(rest)?;
    // `until piece measures 13 cm from brim`
    let (rest, stated) =
        if from == From::CastOn { opt(from_words).parse(rest)? } else { (rest, None) };
    let from = stated.unwrap_or(Spanned::new(from, from_end));
    Ok((rest, Extent::Until { length, from }))
}

/// The span of the words before `measures`.
fn first_from<'a>(start: Text<'a>, measures_end: Text<'a>) -> Span {
    let words = start.rest().get(..measures_end.offset() - start.offset()).unwrap_or("");
    let verb = words.split_whitespace().next_back().map_or(0, str::len);
    let length = words.len().saturating_sub(verb);
    let trimmed = words.get(..length).unwrap_or("").trim_end().len();
    Span::new(start.offset(), start.offset() + trimmed)
}

// ---- Casting on, changing, joining -----------------------------------------

/// ```text
/// cast-on = "cast on" count [ "sts" ] [ "in" name ] [ place ]
/// place = "at the end of the next" [ count ] "rows" | "over the gap"
/// ```
fn cast_on(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = alt((phrase("cast on"), phrase("co|cast-on"))).parse(input)?;
    let (rest, count) = cut(count_of_stitches).parse(rest)?;
    let (rest, before) = opt(cast_on_place).parse(rest)?;
    let (rest, gauge) = opt(preceded(phrase("in"), cut(name(&["at", "over"])))).parse(rest)?;
    let (rest, after) =
        if before.is_none() { opt(cast_on_place).parse(rest)? } else { (rest, None) };
    let place = before.or(after).unwrap_or(CastOnPlace::Here);
    let action = Action::CastOn { count, gauge, place };
    // `cast on 8, k to end` is a row.
    if follows(rest, (sign(','), item)) {
        return bare_row(input);
    }
    Ok((rest, action))
}

fn cast_on_place(input: Text<'_>) -> Parsed<'_, CastOnPlace> {
    let next_rows = |input| {
        let (rest, ()) = phrase("at the? end of the? next?")(input)?;
        let (rest, count) = so_many_rows(rest)?;
        Ok((rest, CastOnPlace::EndOfNext(count)))
    };
    let gap = value(
        CastOnPlace::OverGap,
        alt((
            phrase("over|across the? gap"),
            phrase("over|across|above the? bound-off|cast-off sts|stitches?"),
        )),
    );
    alt((next_rows, gap)).parse(input)
}

/// `2 rows`, or `row` for one.
fn so_many_rows(input: Text<'_>) -> Parsed<'_, Counts> {
    let start = input.trimmed();
    if let Ok((rest, ())) = quietly(rows_word)(start) {
        return Ok((rest, unwritten(start.offset(), 1)));
    }
    cut(terminated(count, rows_word)).parse(start)
}

/// ```text
/// join = "join" [ "to work" ] [ "in the round" ]
/// ```
fn join(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = phrase("join for|to? working|work|knit|knitting? in? the? round?")(input)?;
    Ok((rest, Action::JoinRound))
}

/// ```text
/// work-flat = "work" ( "flat" | "back and forth" ) [ "in rows" ]
/// ```
fn work_flat(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = phrase("work")(input)?;
    let (rest, ()) = alt((phrase("flat"), phrase("back and forth"))).parse(rest)?;
    let (rest, _) = quietly(opt(phrase("in rows")))(rest)?;
    Ok((rest, Action::WorkFlat))
}

/// ```text
/// change-to = "change to" name
/// ```
fn change_to(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = phrase("change to")(input)?;
    map(cut(name(&[])), Action::ChangeTo).parse(rest)
}

// ---- Increasing and decreasing ---------------------------------------------

fn changes(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, change) = alt((
        value(Change::Increase, phrase("increase|inc")),
        value(Change::Decrease, phrase("decrease|dec")),
    ))
    .parse(input)?;
    cut(alt((even(change), wedges(change), shape(change)))).parse(rest)
}

/// ```text
/// even = change "evenly" [ across ] ( "to" | "by" ) count [ "sts" ] [ "over" count "rows" ]
///      | change [ "to" ] count [ "sts" ] "evenly" [ "over" count "rows" ]
/// change = "increase" | "decrease" | "inc" | "dec"
/// ```
fn even<'a>(change: Change) -> impl Fn(Text<'a>) -> Parsed<'a, Action> {
    move |input| {
        let (rest, (amount, over)) = alt((evenly_first, evenly_last)).parse(input)?;
        Ok((rest, Action::Even { change, amount, over }))
    }
}

fn evenly_first(input: Text<'_>) -> Parsed<'_, (Amount, Option<Counts>)> {
    let (rest, ()) = phrase("evenly")(input)?;
    let (rest, _) = quietly(opt(across_row))(rest)?;
    let (rest, before) = opt(over_rows).parse(rest)?;
    let (rest, amount) = cut(alt((
        map(preceded(phrase("to"), cut(count_of_stitches)), Amount::To),
        map(preceded(phrase("by"), cut(count_of_stitches)), Amount::By),
    )))
    .parse(rest)?;
    let (rest, after) = opt(over_rows).parse(rest)?;
    Ok((rest, (amount, before.or(after))))
}

fn evenly_last(input: Text<'_>) -> Parsed<'_, (Amount, Option<Counts>)> {
    let (rest, to) = opt(phrase("to")).parse(input)?;
    let (rest, count) = count_of_stitches(rest)?;
    let (rest, ()) = phrase("evenly spaced?")(rest)?;
    let (rest, _) = quietly(opt(across_row))(rest)?;
    let (rest, over) = opt(over_rows).parse(rest)?;
    let amount = if to.is_some() { Amount::To(count) } else { Amount::By(count) };
    Ok((rest, (amount, over)))
}

/// `across the next row`
fn across_row(input: Text<'_>) -> Parsed<'_, ()> {
    alt((
        phrase("across|around|over|in|on the? next row|round|rnd"),
        phrase("across|around the? row|round|rnd?"),
    ))
    .parse(input)
}

fn over_rows(input: Text<'_>) -> Parsed<'_, Counts> {
    preceded(phrase("over|across the? next?"), terminated(count, rows_word)).parse(input)
}

/// ```text
/// wedges = change "in" count "wedges" schedule
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

/// ```text
/// shape = change count [ "st" ] [ shape-place ] schedule
/// ```
fn shape<'a>(change: Change) -> impl Fn(Text<'a>) -> Parsed<'a, Action> {
    move |input| {
        let (rest, each) = count_of_stitches(input)?;
        let (rest, place) = opt(shape_place).parse(rest)?;
        let (rest, schedule) = cut(schedule).parse(rest)?;
        let place = place.unwrap_or(ShapePlace::Anywhere);
        Ok((rest, Action::Shape { change, each, place, schedule }))
    }
}

/// ```text
/// shape-place = "each end" | "both ends" | "each side" | "at the start" | "at the end"
///             | "at neck edge" | "at armhole edge" | "each side of each marker" | "at each marker"
/// ```
fn shape_place(input: Text<'_>) -> Parsed<'_, ShapePlace> {
    let of_row = |input| quietly(opt(phrase("of the? row|round")))(input);
    let (rest, place) = alt((
        value(
            ShapePlace::EachSideOfMarkers,
            phrase("at|on? each|both|either side|sides of each|every|the|all? markers|marker|m"),
        ),
        value(ShapePlace::AtMarkers, phrase("at each|every|all|the? markers|marker")),
        value(ShapePlace::EachEnd, phrase("at|on? each|both end|ends|side|sides|edge|edges")),
        value(ShapePlace::Start, phrase("at the? start|beginning|beg")),
        value(ShapePlace::End, phrase("at the? end")),
        value(ShapePlace::NeckEdge, phrase("at the? neck edge?")),
        value(ShapePlace::ArmholeEdge, phrase("at the? armhole edge?")),
    ))
    .parse(input)?;
    let (rest, _) = of_row(rest)?;
    Ok((rest, place))
}

/// ```text
/// schedule = rate { [ "," ] "then" rate } [ until-count ]
/// until-count = "to" count [ "sts" ] | "until" count "sts remain" | "until there are" count "sts"
/// ```
fn schedule(input: Text<'_>) -> Parsed<'_, Schedule> {
    let start = input.trimmed();
    let (mut rest, mut rates) = labelled("when (`every 4th row`, `on the next row`)", rate)(start)?;
    while let Ok((after, ())) = quietly(rate_separator)(rest) {
        let (after, more) = cut(rate).parse(after)?;
        rates.extend(more);
        rest = after;
    }
    let span = start.span_to(rest);
    let (rest, until) = opt(until_count).parse(rest)?;
    Ok((rest, Schedule { span, rates, until }))
}

fn rate_separator(input: Text<'_>) -> Parsed<'_, ()> {
    let (rest, comma) = opt(sign(',')).parse(input)?;
    let (rest, word) = opt(phrase("and|then then?")).parse(rest)?;
    if word.is_none() && !(comma.is_some() && follows(rest, rate)) {
        return rest.fail(Expected::Words("then"));
    }
    Ok((rest, ()))
}

fn until_count(input: Text<'_>) -> Parsed<'_, Counts> {
    alt((preceded(phrase("to"), count_of_stitches), |input| {
        let (rest, ()) = phrase("until there? are?")(input)?;
        let (rest, count) = cut(count_of_stitches).parse(rest)?;
        let (rest, _) = quietly(opt(phrase("remain|remains|rem|are|left left?")))(rest)?;
        Ok((rest, count))
    }))
    .parse(input)
}

/// ```text
/// rate = every [ times ] | "on the next" [ count ] [ side ] "rows" [ "and every following" nth "row" [ times ] ]
///      | "on the" ordinal "and every following" nth "row" [ times ]
/// ```
fn rate(input: Text<'_>) -> Parsed<'_, Vec<Rate>> {
    alt((first_then_every, on_next, every_rate)).parse(input)
}

fn every_rate(input: Text<'_>) -> Parsed<'_, Vec<Rate>> {
    let start = input.trimmed();
    let (rest, ()) = phrase("on|of|at?")(start)?;
    let (rest, every) = every(rest)?;
    let (rest, times) = opt(times).parse(rest)?;
    let more = times.as_ref().is_some_and(|t| t.more);
    let times = times.map(|t| t.count);
    Ok((rest, vec![Rate { span: start.span_to(rest), every, times, more }]))
}

/// `on the next row`, `on the next 4 RS rows`
fn on_next(input: Text<'_>) -> Parsed<'_, Vec<Rate>> {
    let start = input.trimmed();
    let (rest, ()) = phrase("on|of|in|over? the? next|following|foll")(start)?;
    let (rest, times) = opt(count).parse(rest)?;
    let (rest, side) = opt(side).parse(rest)?;
    let (rest, ()) = rows_word(rest)?;
    let every = match (&times, side) {
        (_, Some(side)) => Every::Side(side),
        (Some(_), None) => Every::Row,
        (None, None) => Every::Next,
    };
    let times = match (&every, times) {
        (Every::Side(_), None) => Some(unwritten(rest.offset(), 1)),
        (_, times) => times,
    };
    Ok((rest, vec![Rate { span: start.span_to(rest), every, times, more: false }]))
}

/// `on the next and every following 4th row`, `on the 5th and every following 4th row`
fn first_then_every(input: Text<'_>) -> Parsed<'_, Vec<Rate>> {
    let start = input.trimmed();
    let (rest, ()) = phrase("on|of? the?")(start)?;
    let (rest, first) = alt((
        value(None, terminated(phrase("next|following|foll"), opt(rows_word))),
        map(terminated(nth, opt(rows_word)), Some),
    ))
    .parse(rest)?;
    let first_end = rest;
    let (rest, ()) = phrase("and")(rest)?;
    let second = rest.trimmed();
    let (rest, ()) = phrase("on|of? every|each")(rest)?;
    let (rest, ()) = phrase("following|foll?")(rest)?;
    let (rest, every) = every_what(rest)?;
    let (rest, times) = opt(times).parse(rest)?;
    let more = times.as_ref().is_some_and(|t| t.more);
    let first_span = start.span_to(first_end);
    let first = match first {
        None => Rate { span: first_span, every: Every::Next, times: None, more: false },
        Some(nth) => {
            let once = Some(unwritten(first_end.offset(), 1));
            Rate { span: first_span, every: Every::Nth(nth), times: once, more: false }
        }
    };
    let times = times.map(|t| t.count);
    Ok((rest, vec![first, Rate { span: second.span_to(rest), every, times, more }]))
}

/// ```text
/// every = "every" ( "row" | side "row" | ( "other" | "alternate" ) "row" | nth "row" | count "rows" )
/// nth = ordinal-sizes
/// ```
fn every(input: Text<'_>) -> Parsed<'_, Every> {
    let (rest, ()) = phrase("every|each following|foll?")(input)?;
    cut(every_what).parse(rest)
}

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

/// `4th`, `4th (4th, 6th)`; the span takes in the endings.
fn nth(input: Text<'_>) -> Parsed<'_, Counts> {
    let (rest, (span, given)) = sizes(ordinal)(input)?;
    Ok((rest, Counts { span, given, live: false }))
}

// ---- Binding off, holding, picking up --------------------------------------

/// ```text
/// bind-off-step = "bind off" ( count [ "sts" ] "at the start of the next" [ count ] "rows"
///               | [ "all" ] [ count ] [ "sts" ] [ manner ] )
/// ```
fn bind_off(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = bind_off_words(input)?;
    let at_start = |input| {
        let (rest, count) = count_of_stitches(input)?;
        let (rest, ()) = phrase("at the? start|beginning|beg of? the? next?")(rest)?;
        let (rest, rows) = so_many_rows(rest)?;
        Ok((rest, BindOff::StartOfNext { count, rows }))
    };
    let all = |input| {
        let (rest, ()) = phrase("all the? remaining?")(input)?;
        let (rest, count) = opt(count).parse(rest)?;
        let (rest, _) = opt(stitches_word).parse(rest)?;
        Ok((rest, BindOff::All(count)))
    };
    let everything = |input| {
        let (rest, ()) = phrase("the? remaining? sts|stitches?")(input)?;
        Ok((rest, BindOff::All(None)))
    };
    let known = alt((at_start, all, everything)).parse(rest);
    if let Ok((rest, amount)) = known {
        let (rest, _) = quietly(opt(manner))(rest)?;
        if let Ok((rest, ())) = action_end(rest) {
            return Ok((rest, Action::BindOff { amount }));
        }
    }
    bare_row(input)
}

/// ```text
/// hold = "hold" [ "all" ] [ "sts" ] [ "as" name ] | ( "place" | "leave" ) "all sts on hold" [ "as" name ]
/// ```
fn hold(input: Text<'_>) -> Parsed<'_, Action> {
    let plain = |input| {
        let (rest, ()) = phrase("hold all? the? remaining? sts|stitches?")(input)?;
        Ok((rest, ()))
    };
    let placed = |input| {
        let (rest, ()) = phrase("place|leave|put|slip all? the? remaining? sts|stitches")(input)?;
        on_hold(rest)
    };
    let (rest, ()) = alt((placed, plain)).parse(input)?;
    let (rest, name) = opt(preceded(phrase("as|for"), cut(name(&[])))).parse(rest)?;
    if action_end(rest).is_err() {
        return bare_row(input);
    }
    Ok((rest, Action::Hold { name }))
}

/// ```text
/// take-up = "take up" name { ( "," | "and" ) name }
/// ```
fn take_up(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = phrase("take up held?")(input)?;
    let (mut rest, first) = cut(name(&["and"])).parse(rest)?;
    let mut names = vec![first];
    loop {
        if follows(rest, ending) {
            break;
        }
        let (after, more) =
            opt(alt((preceded(sign(','), value((), opt(phrase("and")))), phrase("and"))))
                .parse(rest)?;
        if more.is_none() {
            break;
        }
        let (after, next) = cut(name(&["and"])).parse(after)?;
        names.push(next);
        rest = after;
    }
    Ok((rest, Action::TakeUp(names)))
}

/// ```text
/// pick-up = "pick up" [ "and knit" ] ( number [ "sts" ] "for every" number "rows" | count [ "sts" ] )
///           [ ( "along" | "around" | "from" | "across" ) name ]
/// ```
fn pick_up(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = phrase("pick up and? knit|purl?")(input)?;
    let ratio = |input| {
        let (rest, stitches) = number(input)?;
        let (rest, _) = opt(stitches_word).parse(rest)?;
        let (rest, ()) = phrase("for|in every|each")(rest)?;
        let (rest, rows) = cut(number).parse(rest)?;
        let (rest, ()) = cut(rows_word).parse(rest)?;
        Ok((rest, PickUp::Ratio { stitches, rows }))
    };
    let (rest, amount) = cut(alt((ratio, map(count_of_stitches, PickUp::Count)))).parse(rest)?;
    let (rest, along) =
        opt(preceded(phrase("along|around|from|across|down|up"), cut(name(&[])))).parse(rest)?;
    Ok((rest, Action::PickUp { amount, along }))
}

// ---- Parts -----------------------------------------------------------------

/// ```text
/// as-for = [ "work" ] [ "the same" ] "as for" name [ "to" name ]
/// ```
fn as_for(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = phrase("work? the? same? as for")(input)?;
    let (rest, piece) = cut(name(&["to", "until"])).parse(rest)?;
    let (rest, to) = opt(preceded(phrase("to|until"), cut(name(&[])))).parse(rest)?;
    Ok((rest, Action::AsFor { piece, to }))
}

/// ```text
/// part = [ "each" ] name ":"
/// ```
fn part(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, _) = opt(phrase("work|for")).parse(input)?;
    let (rest, each) = opt(phrase("each|both")).parse(rest)?;
    let (rest, name) = name(&["separately"])(rest)?;
    let (rest, ()) = phrase("separately?")(rest)?;
    let (rest, ()) = sign(':')(rest)?;
    let (rest, ()) = action_end(rest)?;
    Ok((rest, Action::Part { name, each: each.is_some() }))
}

/// ```text
/// reverse = name ":" "reverse" [ name ]
/// ```
fn reverse(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, name_of_part) = name(&[])(input)?;
    let (rest, ()) = sign(':')(rest)?;
    let (rest, ()) = phrase("work|as? reverse|mirror|reversing")(rest)?;
    let (rest, shaping) = opt(phrase("all? the? shaping|shapings")).parse(rest)?;
    let (rest, of) = if shaping.is_some() { (rest, None) } else { opt(name(&[])).parse(rest)? };
    Ok((rest, Action::Reverse { name: name_of_part, of }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::syntax::print;

    /// Reads `text` and writes it in the canonical way.
    #[track_caller]
    fn canonical(text: &str) -> String {
        match parse(text, 0, &Vocabulary::default()) {
            Ok(step) => print::step(&step, |span| text[span.range()].to_owned()),
            Err(finding) => panic!("{text}\n{finding:#?}"),
        }
    }

    /// Reads `text`, which must fail, and gives the code, the place and the message.
    #[track_caller]
    fn refused(text: &str) -> String {
        match parse(text, 0, &Vocabulary::default()) {
            Ok(step) => panic!("{text} was read as {step:#?}"),
            Err(f) => format!("{} {:?}: {}", f.code.name(), f.place(), f.message),
        }
    }

    #[test]
    fn what_is_canonical_stays_so() {
        for text in [
            "cast on 96 (104, 112, 120) in brim",
            "cast on ? in hem [hip + ease] [multiple of 4 plus 2]",
            "cast on 26 at the end of the next 2 rows",
            "cast on 28 over the gap",
            "join in the round",
            "work flat",
            "change to body [lies snug 12%]",
            "work in k2 p2 rib for 5 cm / 2 in",
            "work in stockinette until 13 (14, 15, 16) cm from cast on, ending with a WS row",
            "work even until 20 (21, 22) cm from armhole",
            "decrease evenly to 88 (96, 104, 112) [head + ease]",
            "increase evenly by 8 over 3 rows",
            "decrease in 8 wedges every 2 rows to 8",
            "decrease 1 each end every RS row 5 (6, 8) times, then every 4 rows 3 times",
            "row 1 (RS): *k2, p2; rep from * to last 2 sts, k2 (88 (96, 104) sts)",
            "k{24 (26, 28)}, bind off {38 (40, 42)} [neck], k{24 (26, 28)}",
            "repeat rows 1-2 for 6 cm, ending with a WS row",
            "repeat the last 2 rows 3 more times",
            "bind off 6 (7, 8) at the start of the next 2 rows",
            "bind off all 24 (28)",
            "hold all as left shoulder",
            "hold 40 (44) as left sleeve, k to end",
            "take up left sleeve, body, right sleeve",
            "pick up 3 for every 4 rows along front edge (80 sts)",
            "left shoulder:",
            "each side:",
            "right shoulder: reverse left shoulder",
            "at the same time:",
            "work as for back to armhole",
            "break yarn and draw through",
            "sizes large and small only: k2, p2",
            "note: you have {96 (104)} sts [allow loose-number: a hymn number]",
            "weave in ends",
        ] {
            assert_eq!(canonical(text), text);
        }
    }

    #[test]
    fn other_ways_to_say_it() {
        for (text, same) in [
            ("Cast off all sts in rib.", "bind off all"),
            ("bind off", "bind off all"),
            ("k2, p2 rib for 5 cm", "work in k2 p2 rib for 5 cm"),
            ("rib of k1, p1 for 2 1/2 in", "work in k1 p1 rib for 2 1/2 in"),
            ("2x2 ribbing 6 rows", "work in k2 p2 rib for 6 rows"),
            ("St st until piece measures 13\"", "work in stockinette until 13 in from cast on"),
            ("moss stitch for 6 rows", "work in seed for 6 rows"),
            ("lattice for 6 cm", "work in lattice for 6 cm"),
            ("work 6 rows even", "work even for 6 rows"),
            ("knit 4 rounds", "next 4 rows: k to end"),
            ("1st and 3rd rows (WS): purl", "rows 1, 3 (WS): purl to end"),
            ("increase 8 sts evenly across the next round", "increase evenly by 8"),
            (
                "dec 1 st at neck edge on the next 5 rows",
                "decrease 1 at the neck edge every row 5 times",
            ),
            (
                "inc 1 each end on the 5th and every following 4th row to 45 (47, 49)",
                "increase 1 each end every 5 rows 1 times, then every 4 rows to 45 (47, 49)",
            ),
            (
                "decrease 1 at both ends every other row twice",
                "decrease 1 each end every 2 rows 2 times",
            ),
            ("pick up and knit 80 sts around the neck", "pick up 80 along neck"),
            (
                "place next 40 sts on hold as left sleeve, k to end",
                "hold 40 as left sleeve, k to end",
            ),
            ("row 3: k2, ssk. 88 sts.", "row 3: k2, ssk (88 sts)"),
            ("row 3: k2, ssk — 88 sts", "row 3: k2, ssk (88 sts)"),
            ("cast on 8, k to end", "cast on 8, k to end"),
            ("bind off 24, k to end", "bind off 24, k to end"),
        ] {
            assert_eq!(canonical(text), same);
            assert_eq!(canonical(same), same);
        }
    }

    #[test]
    fn errors_say_what_was_expected() {
        let table = [
            "cast on brim",
            "stockinette for 5",
            "stockinette until 13 cm",
            "decrease evenly 88",
            "decrease 1 each end",
            "decrease evenly to 88 foo",
            "incraese evenly to 88",
            "frobnicate",
            "row 1 (XS): k2",
            "row 1: k2,",
            "row 1: k2, k2tgo, k3",
            "k2, p2; k2",
            "cast on 999999",
            "repeat for 6 cm",
            "note: {96",
            "",
        ]
        .map(|text| format!("{text}\n  {}\n", refused(text)));
        insta::assert_snapshot!(table.concat(), @r"
        cast on brim
          syntax 8..12: expected a count, but found `brim`
        stockinette for 5
          syntax 17..17: expected a unit (`cm` or `in`) or `rows`, but found the end
        stockinette until 13 cm
          syntax 23..23: expected `from`, but found the end
        decrease evenly 88
          syntax 16..18: expected `over`, `to` or `by`, but found `88`
        decrease 1 each end
          syntax 19..19: expected when (`every 4th row`, `on the next row`), but found the end
        decrease evenly to 88 foo
          syntax 22..25: expected `over`, a stated count, `ending with a WS row` or the end of the instruction, but found `foo`
        incraese evenly to 88
          syntax 0..8: expected an instruction, but found `incraese`
        frobnicate
          syntax 0..10: expected an instruction, but found `frobnicate`
        row 1 (XS): k2
          syntax 7..9: expected `RS` or `WS`, but found `XS`
        row 1: k2,
          syntax 10..10: expected a stitch, but found the end
        row 1: k2, k2tgo, k3
          unknown-stitch 11..16: `k2tgo` is not a stitch that is known here
        k2, p2; k2
          syntax 6..7: a `;` ends the row and begins a remark, but stitches follow
        cast on 999999
          beyond-any-garment 8..14: 999999 is beyond any garment
        repeat for 6 cm
          syntax 7..10: expected rows to repeat, but found `for`
        note: {96
          syntax 6..7: this `{` is never closed

          syntax 0..0: expected an instruction, but found the end
        ");
    }
}
