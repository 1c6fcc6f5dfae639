//! Visits every number of a tree, in the order of the text.

use super::tree::{
    Action, Amount, BindOff, Block, CastOnPlace, Counts, Document, Every, Extent, Item, ItemKind,
    Lengths, LiveValue, PickUp, Prose, RowEnd, Schedule, StarEnd, Step,
};
use crate::measure::SizeId;

/// A number of the body of a pattern.
#[derive(Clone, Copy, Debug)]
pub enum Number<'d> {
    /// A whole number.
    Counts(&'d Counts),
    /// A length.
    Lengths(&'d Lengths),
}

/// Calls `f` on every count of the body, in order.
pub fn counts<'d>(document: &'d Document, f: &mut impl FnMut(&'d Counts)) {
    numbers(document, &mut |number| {
        if let Number::Counts(counts) = number {
            f(counts);
        }
    });
}

/// Calls `f` on every length of the body, in order; a second unit comes after the first.
pub fn lengths<'d>(document: &'d Document, f: &mut impl FnMut(&'d Lengths)) {
    numbers(document, &mut |number| {
        if let Number::Lengths(lengths) = number {
            f(lengths);
        }
    });
}

/// Calls `f` on every number of the body.
pub fn numbers<'d>(document: &'d Document, f: &mut impl FnMut(Number<'d>)) {
    for block in document.sections.iter().flat_map(|section| &section.blocks) {
        match block {
            Block::Heading(_) => {}
            Block::Prose(prose) => in_prose(prose, f),
            Block::Steps(steps) => steps.iter().for_each(|step| in_step(step, f)),
        }
    }
}

fn in_prose<'d>(prose: &'d Prose, f: &mut impl FnMut(Number<'d>)) {
    for live in &prose.live {
        match &live.value {
            LiveValue::Counts(counts) => f(Number::Counts(counts)),
            LiveValue::Lengths(lengths) => length(lengths, f),
            LiveValue::Name(_) => {}
        }
    }
}

fn length<'d>(lengths: &'d Lengths, f: &mut impl FnMut(Number<'d>)) {
    f(Number::Lengths(lengths));
    if let Some(also) = &lengths.also {
        length(also, f);
    }
}

/// Calls `f` on every number of a step, its remark and its nested steps.
pub fn in_step<'d>(step: &'d Step, f: &mut impl FnMut(Number<'d>)) {
    match &step.action {
        Action::CastOn { count, place, .. } => {
            f(Number::Counts(count));
            if let CastOnPlace::StartOfNext(rows) | CastOnPlace::EndOfNext(rows) = place {
                f(Number::Counts(rows));
            }
        }
        Action::Work { extent: e, .. } | Action::Repeat { extent: e, .. } => extent(e, f),
        Action::Row { label, items } => {
            label.iter().for_each(|label| f(Number::Counts(&label.next)));
            in_items(items, f);
        }
        Action::SameRows { label, .. } => f(Number::Counts(&label.next)),
        Action::RepeatAt { schedule: s, .. } => schedule(s, f),
        Action::Even { amount, over, .. } => {
            let (Amount::To(counts) | Amount::By(counts)) = amount;
            f(Number::Counts(counts));
            over.iter().for_each(|c| f(Number::Counts(c)));
        }
        Action::Shape { each, schedule: s, .. } => {
            f(Number::Counts(each));
            schedule(s, f);
        }
        Action::Wedges { wedges, schedule: s, .. } => {
            f(Number::Counts(wedges));
            schedule(s, f);
        }
        Action::ShortRows { count, rows, .. } => {
            f(Number::Counts(count));
            f(Number::Counts(rows));
        }
        Action::TurnHeel { to } => f(Number::Counts(to)),
        Action::Stripes(stripes) => stripes.iter().for_each(|one| f(Number::Counts(&one.rows))),
        Action::BindOff { amount } => match amount {
            BindOff::All(counts) => counts.iter().for_each(|c| f(Number::Counts(c))),
            BindOff::StartOfNext { count, rows, .. } => {
                f(Number::Counts(count));
                f(Number::Counts(rows));
            }
        },
        Action::PickUp { amount: PickUp::Count(counts), .. } => f(Number::Counts(counts)),
        Action::JoinRound
        | Action::WorkFlat
        | Action::ChangeTo(_)
        | Action::Hold { .. }
        | Action::TakeUp(_)
        | Action::PickUp { .. }
        | Action::Part { .. }
        | Action::Reverse { .. }
        | Action::Together
        | Action::AsFor { .. }
        | Action::Close(_)
        | Action::Say => {}
    }
    step.stated.iter().for_each(|c| f(Number::Counts(c)));
    step.remark.iter().for_each(|prose| in_prose(prose, f));
    step.steps.iter().for_each(|inner| in_step(inner, f));
}

/// Calls `f` on every schedule of a step and its nested steps, with whether it is of wedges.
pub fn schedules<'d>(step: &'d Step, f: &mut impl FnMut(&'d Step, &'d Schedule, bool)) {
    match &step.action {
        Action::Shape { schedule, .. } => f(step, schedule, false),
        Action::RepeatAt { schedule, .. } => f(step, schedule, false),
        Action::Wedges { schedule, .. } => f(step, schedule, true),
        _ => {}
    }
    step.steps.iter().for_each(|inner| schedules(inner, f));
}

fn extent<'d>(extent: &'d Extent, f: &mut impl FnMut(Number<'d>)) {
    match extent {
        Extent::Rows(counts)
        | Extent::Ridges(counts)
        | Extent::Times { count: counts, .. }
        | Extent::UntilCount(counts) => {
            f(Number::Counts(counts));
        }
        Extent::Length(lengths) | Extent::Until { length: lengths, .. } => length(lengths, f),
        Extent::Once => {}
    }
}

fn schedule<'d>(schedule: &'d Schedule, f: &mut impl FnMut(Number<'d>)) {
    for rate in &schedule.rates {
        if let Every::Nth(counts) = &rate.every {
            f(Number::Counts(counts));
        }
        rate.times.iter().for_each(|c| f(Number::Counts(c)));
    }
    schedule.until.iter().for_each(|c| f(Number::Counts(c)));
}

/// Calls `f` on every number of a row.
pub fn in_items<'d>(items: &'d [Item], f: &mut impl FnMut(Number<'d>)) {
    for item in items {
        match &item.kind {
            ItemKind::Stitch { count, .. } | ItemKind::BindOff(count) => {
                count.iter().for_each(|c| f(Number::Counts(c)));
            }
            ItemKind::Run { until: RowEnd::Last(counts), .. }
            | ItemKind::Pattern(counts)
            | ItemKind::CastOn(counts)
            | ItemKind::Hold { count: counts, .. } => f(Number::Counts(counts)),
            ItemKind::Group { items, times, .. } => {
                in_items(items, f);
                f(Number::Counts(times));
            }
            ItemKind::Star { items, until } => {
                in_items(items, f);
                if let StarEnd::Last(counts) | StarEnd::Times { count: counts, .. } = until {
                    f(Number::Counts(counts));
                }
            }
            ItemKind::InOne { items } => in_items(items, f),
            ItemKind::Run { .. }
            | ItemKind::HoldRest { .. }
            | ItemKind::Turn
            | ItemKind::WrapTurn
            | ItemKind::JoinYarn
            | ItemKind::Marker { .. } => {}
        }
    }
}

/// Whether a size does without an item of a row: the item's number is `-` for it.
#[must_use]
pub fn skips(item: &Item, size: SizeId) -> bool {
    let count = match &item.kind {
        ItemKind::Stitch { count, .. } | ItemKind::BindOff(count) => count.as_ref(),
        ItemKind::Pattern(count)
        | ItemKind::CastOn(count)
        | ItemKind::Hold { count, .. }
        | ItemKind::Group { times: count, .. }
        | ItemKind::Star { until: StarEnd::Last(count) | StarEnd::Times { count, .. }, .. }
        | ItemKind::Run { until: RowEnd::Last(count), .. } => Some(count),
        _ => None,
    };
    count.is_some_and(|count| count.given.skips(size))
}

/// Calls `f` on every item of a row, those in groups and repeats too.
pub fn each_item<'d>(items: &'d [Item], f: &mut impl FnMut(&'d Item)) {
    for item in items {
        f(item);
        match &item.kind {
            ItemKind::Group { items, .. }
            | ItemKind::Star { items, .. }
            | ItemKind::InOne { items } => each_item(items, f),
            _ => {}
        }
    }
}
