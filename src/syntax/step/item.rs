//! Several instructions in one list item: sentences, or clauses of one sentence.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{map, opt, value, verify};
use nom::sequence::{pair, preceded};

use super::needles::{along, at_start, every_second_row, next_second_rows, so_many_rows};
use super::{action, finished, rows, step, work};
use crate::syntax::label::label;
use crate::syntax::measure::known_fabric;
use crate::syntax::terminals::{count_of_stitches, first_word, is_verb, phrase, sign, times};
use crate::syntax::text::{Parsed, Text, follows, maybe, quietly};
use crate::syntax::tree::{Action, BindOff, Counts, EdgeRows, Link, PickUp, Step};

/// After a stop any instruction may come; within a sentence none that is only stitches or
/// only words, since commas go on with those.
///
/// ```text
/// steps = step { "." step }
///       | plain-step { and-then plain-step }
///       | bind-offs | pick-ups
/// plain-step = ( join | even | wedges | shape | bind-off-step | short-rows | work-rows | work )
///              [ ending ] [ stated ]
/// ```
pub(super) fn steps(input: Text<'_>) -> Parsed<'_, Vec<Step>> {
    let (mut rest, first) = step(input)?;
    let mut all = vec![first];
    while let Some(last) = all.last() {
        let (after, next) = if rest.is_done() {
            break;
        } else if ends_sentence(input, rest) {
            // The stop may be that of the instruction and that of the sentence.
            let (after, next) = step(opt(sign('.')).parse(rest)?.0.trimmed())?;
            (after, Some(next))
        } else {
            next_clause(rest, last)?
        };
        let Some(mut next) = next else { break };
        let verbless = next.link.is_some_and(|link| link.verbless);
        next.link = Some(Link { span: rest.span_to(at(rest, next.span.start)), verbless });
        // The sizes of an item are those of all its instructions.
        if next.only.is_empty()
            && let Some(first) = all.first()
        {
            next.only.clone_from(&first.only);
        }
        all.push(next);
        rest = after;
    }
    Ok((rest, all))
}

/// The text from a place in the file on.
fn at(text: Text<'_>, place: usize) -> Text<'_> {
    text.skip(place.saturating_sub(text.offset()))
}

/// Whether what was read of `input` up to `rest` ends with a stop.
pub(super) fn ends_sentence(input: Text<'_>, rest: Text<'_>) -> bool {
    let read = input.rest().get(..rest.offset().saturating_sub(input.offset()));
    read.is_some_and(|read| read.ends_with('.'))
}

fn next_clause<'a>(input: Text<'a>, last: &Step) -> Parsed<'a, Option<Step>> {
    let here = input.trimmed();
    let Ok((rest, ())) = quietly(and_then)(here) else { return Ok((input, None)) };
    if let (after, Some(action)) = maybe(|rest| carried_on(rest, &last.action))(rest)? {
        let (after, mut step) = finished(rest.trimmed(), None, action, after)?;
        step.link = Some(Link { span: step.span, verbless: true });
        return Ok((after, Some(step)));
    }
    if begins_clause(rest) { map(step, Some).parse(rest.trimmed()) } else { Ok((input, None)) }
}

/// ```text
/// and-then = "," [ "and" ] [ "then" ] | "and" [ "then" ] | "then"
/// ```
pub(super) fn and_then(input: Text<'_>) -> Parsed<'_, ()> {
    alt((
        value((), (sign(','), opt(phrase("and")), opt(phrase("then")))),
        phrase("and then?"),
        phrase("then"),
    ))
    .parse(input)
}

/// Whether another instruction goes on the sentence here, as its first words say.
pub(super) fn goes_on(input: Text<'_>) -> bool {
    let here = input.trimmed();
    // Told from the rest by its first letter, as this is asked often.
    here.rest().starts_with([',', 'a', 't', 'A', 'T'])
        && quietly(and_then)(here).is_ok_and(|(rest, ())| opens_clause(rest))
}

/// Whether the first words are those of another instruction. It reads no further, since each
/// instruction asks this of the next, and a sentence may be long.
pub(super) fn opens_clause(input: Text<'_>) -> bool {
    is_verb(first_word(input.trimmed().rest()))
        || follows(input, known_fabric)
        || follows(input, rows::work_rows)
        || follows(input, work::named_run)
}

/// Whether an instruction follows that is neither stitches nor words.
pub(super) fn begins_clause(input: Text<'_>) -> bool {
    let clause = |action: &Action| match action {
        Action::Row { label: row, .. } => row.as_ref().is_some_and(|row| row.name.is_none()),
        Action::Say | Action::Part { .. } | Action::Together | Action::Reverse { .. } => false,
        _ => true,
    };
    !follows(input, label) && follows(input, verify(map(action, |(action, _)| action), clause))
}

/// What goes on with the verb of the instruction before.
///
/// ```text
/// bind-offs = bind-off-words count [ stitches ] at-start so-many-rows
///             { and-then count [ stitches ] at-start so-many-rows }
///           | bind-off-words count [ stitches ] every-second-row times
///             { and-then count [ stitches ] times }
/// pick-ups = "pick up" [ "and" ( "knit" | "purl" | "k" | "p" ) ] count [ stitches ] along
///            { and-then count [ stitches ] along }
/// ```
fn carried_on<'a>(input: Text<'a>, before: &Action) -> Parsed<'a, Action> {
    match before {
        Action::BindOff { amount: BindOff::StartOfNext { which, .. } } => {
            let (rest, count) = count_of_stitches(input)?;
            let (rest, (rows, which)) = alt((
                quietly(next_second_rows),
                map(preceded(at_start, so_many_rows), |rows| (rows, EdgeRows::Next)),
                map(pair(every_second_row, times), |(which, times)| (times.count, which)),
                |input| times_alone(input, *which),
            ))
            .parse(rest)?;
            Ok((rest, Action::BindOff { amount: BindOff::StartOfNext { count, rows, which } }))
        }
        Action::PickUp { amount: PickUp::Count(_), .. } => {
            let (rest, count) = count_of_stitches(input)?;
            let (rest, along) = along(rest)?;
            Ok((rest, Action::PickUp { amount: PickUp::Count(count), along: Some(along) }))
        }
        _ => input.trimmed().fail(crate::syntax::error::Expected::Thing("an instruction")),
    }
}

/// `3 sts twice`, in the same rows as those before.
fn times_alone(input: Text<'_>, which: EdgeRows) -> Parsed<'_, (Counts, EdgeRows)> {
    let (rest, times) = times(input)?;
    match which {
        EdgeRows::EverySecond(_) => Ok((rest, (times.count, which))),
        EdgeRows::Next => {
            input.trimmed().fail(crate::syntax::error::Expected::Thing("in which rows"))
        }
    }
}
