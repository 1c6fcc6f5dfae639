//! What may follow every instruction: a side to end with, the count there is
//! afterwards, marks, and a remark.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, map, opt, value};
use nom::sequence::{preceded, terminated};

use super::item::ends_sentence;
use super::{parts, step};
use crate::diag::{Code, Finding};
use crate::source::{Span, Spanned};
use crate::syntax::color::coloring;
use crate::syntax::error::{Expected, Failure};
use crate::syntax::label::label;
use crate::syntax::measure::{live, mark};
use crate::syntax::row::row;
use crate::syntax::terminals::{count, name, number, phrase, rows_word, side, sign, stitches_word};
use crate::syntax::text::{Parsed, Text, end, follows, maybe, quietly, spanned, stop};
use crate::syntax::tree::{Action, Counts, Ending, Live, Mark, Prose, Side, Step};

type Rest<'a> = Result<Text<'a>, nom::Err<Failure>>;

/// Reads all that follows an instruction into its step.
pub(super) fn tail<'a>(input: Text<'a>, step: &mut Step) -> Rest<'a> {
    let mut rest = input;
    loop {
        let here = rest.trimmed();
        if here.rest().is_empty() {
            return Ok(rest);
        }
        if here.rest().starts_with(';') {
            return remark(here, step);
        }
        if let (None, Ok((after, counts))) = (&step.stated, quietly(stated)(here)) {
            step.stated = Some(counts);
            rest = after;
        } else if let (None, Ok((after, color))) = (&step.color, quietly(coloring)(here)) {
            step.color = Some(color);
            rest = after;
        } else if let (None, Ok((after, ending))) = (&step.ending, quietly(ending)(here)) {
            step.ending = Some(ending);
            rest = after;
        } else if here.rest().starts_with('[') {
            let (after, mark) = mark(here)?;
            step.marks.push(mark);
            rest = after;
        } else if here.rest().starts_with('.') {
            rest = here.skip(1);
            // What is said of it may stand behind its stop.
            if !follows(rest, alt((sign(';'), value((), mark)))) {
                return Ok(rest);
            }
        } else {
            return not_a_tail(here, rest);
        }
    }
}

/// What comes is another instruction or a slip, but for a bracket that closes nothing.
fn not_a_tail<'a>(here: Text<'a>, rest: Text<'a>) -> Rest<'a> {
    if let Some(closer) = here.rest().chars().next().filter(|c| [')', ']', '}'].contains(c)) {
        let place = Span::new(here.offset(), here.offset() + 1);
        let finding = Finding::new(Code::Syntax, place, format!("this `{closer}` closes nothing"))
            .label("never opened")
            .help("take it out, or open the group before its first stitch");
        return stop(finding);
    }
    Ok(rest)
}

/// With the right side facing, a wrong-side row has just been worked.
///
/// ```text
/// ending = [ "," ] ( "ending" | "end" ) ( "with" | "on" | "after" ) [ "a" ]
///          ( side rows | row-word number [ "of" name ] | side "facing" [ "for" [ "the" ] "next" row-word ] )
///        | [ "," ] "ready" "for" [ "a" ] side rows
/// ```
pub(super) fn ending(input: Text<'_>) -> Parsed<'_, Spanned<Ending>> {
    let (rest, _) = opt(sign(',')).parse(input)?;
    let facing = |input| {
        let (rest, side) = side(input)?;
        let (rest, ()) = phrase("facing")(rest)?;
        let (rest, _) = maybe(phrase("for the? next row|round|rnd"))(rest)?;
        Ok((rest, Ending::Side(side.other())))
    };
    let numbered = |input| {
        let (rest, ()) = phrase("row|round|rnd")(input)?;
        let (rest, n) = number(rest)?;
        let (rest, _) = maybe((phrase("of"), name(&[])))(rest)?;
        Ok((rest, Ending::Row(n)))
    };
    let sided = map(terminated(side, rows_word), Ending::Side);
    let ready =
        map(preceded(phrase("ready for a|the?"), terminated(side, rows_word)), |side: Side| {
            Ending::Side(side.other())
        });
    let ended =
        preceded(phrase("ending|end with|on|after? a?"), spanned(alt((sided, numbered, facing))));
    alt((ended, spanned(ready))).parse(rest)
}

/// The count the author says there is now.
///
/// ```text
/// stated = [ "." ] "(" now ")" | "[" now "]" | ( "—" | "--" | "-" | "=" | "." ) now
/// ```
pub(super) fn stated(input: Text<'_>) -> Parsed<'_, Counts> {
    let here = input.trimmed();
    let openings =
        [("(", ")"), ("[", "]"), ("—", ""), ("–", ""), ("--", ""), ("-", ""), ("=", ""), (".", "")];
    // `. (88 sts)` is `(88 sts)`.
    let after_stop = here.skip(1).trimmed();
    let here = if here.rest().starts_with('.') && after_stop.rest().starts_with('(') {
        after_stop
    } else {
        here
    };
    let Some((open, close)) = openings.iter().find(|(open, _)| here.rest().starts_with(open))
    else {
        return here.fail(Expected::Thing("a stated count"));
    };
    let (rest, count) = now(here.skip(open.len()))?;
    let rest = match close.chars().next() {
        Some(close) => sign(close)(rest)?.0,
        None => rest,
    };
    Ok((rest, count))
}

/// ```text
/// now = count stitches
///       [ "now" | "remain" | "rem" | "left" | "total" | "in" ( "all" | "total" ) | "on" [ "the" ] "needle" ]
/// ```
fn now(input: Text<'_>) -> Parsed<'_, Counts> {
    let (rest, count) = count(input)?;
    let (rest, ()) = stitches_word(rest)?;
    let words = alt((
        phrase("now|remain|remaining|rem|left|total"),
        phrase("in all|total"),
        phrase("on the? needle|needles"),
    ));
    let (rest, _) = opt(words).parse(rest)?;
    Ok((rest, count))
}

/// Words for the knitter; live numbers and marks in them count.
///
/// ```text
/// remark = words { mark }
/// ```
fn remark<'a>(semicolon: Text<'a>, step: &mut Step) -> Rest<'a> {
    let start = semicolon.skip(1).trimmed();
    if start.rest().is_empty() {
        return start.fail::<()>(Expected::Thing("a remark")).map(|(rest, ())| rest);
    }
    if matches!(step.action, Action::Row { .. }) && reads_as_stitches(start) {
        let place = Span::new(semicolon.offset(), semicolon.offset() + 1);
        let finding = Finding::new(
            Code::Syntax,
            place,
            "a `;` ends the row and begins a remark, but stitches follow",
        )
        .label("write `,` here")
        .help("between stitches put a comma; after a `;` put words for the knitter")
        .patch(place, ",");
        return stop(finding);
    }
    if matches!(step.action, Action::Row { .. }) && follows(start, label) {
        let place = Span::new(semicolon.offset(), semicolon.offset() + 1);
        let finding = Finding::new(Code::Syntax, place, "a second row stands in the same item")
            .label("ends the first row")
            .help("write each row as a list item of its own");
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
    follows(part, terminated(row, end))
}

/// After so many sentences that are words, the rest are words too.
const MOST_SENTENCES: usize = 12;

/// The words of a step that only says something: kept whole, live numbers and all, up to a
/// sentence that is an instruction.
pub(super) fn said<'a>(start: Text<'a>, step: &mut Step) -> Rest<'a> {
    // Such a look ahead asks only whether there are words, and looks no further ahead itself.
    if start.depth() > 0 {
        return Ok(start.skip(start.rest().len()));
    }
    let ahead = start.deeper()?;
    // What follows a `;` is a remark, here too.
    let words = start.rest().split(';').next().unwrap_or_default();
    let mut stops = words.match_indices(". ").map(|(at, _)| at + 1).take(MOST_SENTENCES);
    let length = match follows(start, parts::note) {
        // A note is for the knitter alone.
        true => None,
        false => stops.find(|at| follows(ahead.skip(*at), instruction)),
    };
    let length = length.unwrap_or(start.rest().len());
    let (_, (prose, marks)) = prose(nom::Input::take(&start, length))?;
    step.remark = Some(prose);
    step.marks = marks;
    Ok(start.skip(length))
}

/// A sentence that is an instruction and says more than words. What comes after it is not
/// looked at, so that a long text is not read again for each of its sentences.
fn instruction(input: Text<'_>) -> Parsed<'_, ()> {
    let (rest, step) = step(input)?;
    let whole = rest.is_done() || ends_sentence(input, rest);
    if whole && !matches!(step.action, Action::Say) {
        Ok((rest, ()))
    } else {
        input.fail(Expected::Thing("an instruction"))
    }
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
    let words = start.rest().get(..length).unwrap_or("");
    let live = live_numbers(words, start.offset())
        .map_err(|finding| nom::Err::Failure(Failure::found(finding)))?;
    Ok((whole, (Prose { span, live }, marks)))
}

/// The mark that the first `length` bytes end with, and where it begins.
fn last_mark(start: Text<'_>, length: usize) -> Option<(usize, Spanned<Mark>)> {
    let words = start.rest().get(..length)?;
    let at = if words.ends_with(']') { words.rfind('[')? } else { return None };
    let bracket = nom::Input::take(&start, length).skip(at);
    let (_, mark) = quietly(terminated(cut(mark), end))(bracket).ok()?;
    Some((at, mark))
}

/// The live numbers in some words, in order; `\{` is a brace and no number.
fn live_numbers(text: &str, offset: usize) -> Result<Vec<Live>, Finding> {
    let mut found = Vec::new();
    let mut from = 0;
    while let Some(at) = text.get(from..).and_then(|rest| rest.find(['{', '\\'])) {
        let open = from + at;
        let inside = text.get(open + 1..).unwrap_or("");
        if text.get(open..).is_some_and(|rest| rest.starts_with('\\')) {
            from = open + 1 + inside.chars().next().map_or(0, char::len_utf8);
            continue;
        }
        let place = Span::new(offset + open, offset + open + 1);
        let Some(length) = inside.find('}') else {
            return Err(Finding::new(Code::Syntax, place, "this `{` is never closed")
                .label("opened here")
                .help("put a `}` after the number; for a brace in the text, write `\\{`"));
        };
        let value = live(inside.get(..length).unwrap_or(""), place.end)?;
        let close = open + 1 + length + 1;
        found.push(Live { span: Span::new(offset + open, offset + close), value });
        from = close;
    }
    Ok(found)
}
