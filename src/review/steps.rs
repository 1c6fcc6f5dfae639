//! Finding one's way about the steps of a model and the visits of its traces.

use crate::measure::{Given, Linear, SizeId};
use crate::model::Model;
use crate::source::Span;
use crate::syntax::tree::{Action, Block, Counts, Item, ItemKind, Mark, Section, Step};
use crate::syntax::visit::{self, Number};
use crate::work::Visit;
use std::collections::BTreeMap;

/// The steps of a pattern by their places.
pub(super) struct Steps<'d> {
    by_place: BTreeMap<Span, &'d Step>,
}

impl<'d> Steps<'d> {
    pub(super) fn of(model: &Model<'d>) -> Self {
        let mut by_place = BTreeMap::new();
        each(model, &mut |_, step| {
            by_place.insert(step.span, step);
        });
        Self { by_place }
    }

    /// The step that a visit was a visit of.
    pub(super) fn visited(&self, visit: &Visit) -> Option<&'d Step> {
        self.by_place.get(&visit.step).copied()
    }
}

/// Calls `f` on every step of every piece, in order, with the place of its piece.
pub(super) fn each<'d>(model: &Model<'d>, f: &mut impl FnMut(usize, &'d Step)) {
    fn down<'d>(piece: usize, step: &'d Step, f: &mut impl FnMut(usize, &'d Step)) {
        f(piece, step);
        step.steps.iter().for_each(|inner| down(piece, inner, f));
    }
    for (index, piece) in model.pieces.iter().enumerate() {
        piece.steps.iter().for_each(|step| down(index, step, f));
    }
}

/// Calls `f` on every list of steps that are worked one after another.
pub(super) fn lists<'d>(model: &Model<'d>, f: &mut impl FnMut(usize, &[&'d Step])) {
    fn down<'d>(piece: usize, list: &[&'d Step], f: &mut impl FnMut(usize, &[&'d Step])) {
        f(piece, list);
        for step in list {
            let inner: Vec<&Step> = step.steps.iter().collect();
            if !inner.is_empty() {
                down(piece, &inner, f);
            }
        }
    }
    for (index, piece) in model.pieces.iter().enumerate() {
        down(index, &piece.steps, f);
    }
}

/// Calls `f` on every item of a row, those in groups and repeats too.
pub(super) fn each_item<'d>(items: &'d [Item], f: &mut impl FnMut(&'d Item)) {
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

/// Calls `f` on every name given by `[as ...]`, with its place and the count it names.
pub(super) fn names<'d>(model: &Model<'d>, f: &mut impl FnMut(&'d str, Span, Option<&'d Counts>)) {
    each(model, &mut |_, step| {
        for mark in &step.marks {
            if let Mark::As(name) = &mark.value {
                f(name, mark.span, numbers(step).first().copied());
            }
        }
        if let Action::Row { items, .. } = &step.action {
            each_item(items, &mut |item| {
                for mark in &item.marks {
                    if let Mark::As(name) = &mark.value {
                        f(name, mark.span, count_of(item));
                    }
                }
            });
        }
    });
}

/// The number of stitches that an item of a row gives.
pub(super) fn count_of(item: &Item) -> Option<&Counts> {
    match &item.kind {
        ItemKind::Stitch { count, .. } | ItemKind::BindOff(count) => count.as_ref(),
        ItemKind::Pattern(counts)
        | ItemKind::CastOn(counts)
        | ItemKind::Hold { count: counts, .. } => Some(counts),
        _ => None,
    }
}

/// The counts of a step itself, without those of its remark and of the steps in it.
pub(super) fn numbers(step: &Step) -> Vec<&Counts> {
    let mut found = Vec::new();
    let elsewhere = |span: Span| {
        step.remark.as_ref().is_some_and(|remark| remark.span.contains(span))
            || step.steps.iter().any(|inner| inner.span.contains(span))
    };
    visit::in_step(step, &mut |number| {
        if let Number::Counts(counts) = number
            && !elsewhere(counts.span)
        {
            found.push(counts);
        }
    });
    found
}

/// Whether a step of a section gives these very counts.
pub(super) fn gives(section: &Section, given: &Given<u32>) -> bool {
    fn down(step: &Step, given: &Given<u32>) -> bool {
        numbers(step).iter().any(|counts| counts.given == *given)
            || step.steps.iter().any(|inner| down(inner, given))
    }
    section.blocks.iter().any(|block| match block {
        Block::Steps(steps) => steps.iter().any(|step| down(step, given)),
        _ => false,
    })
}

/// How many stitches some items take; `None` where that depends on the rest of the row.
pub(super) fn takes(model: &Model<'_>, items: &[Item], size: SizeId) -> Option<i64> {
    let number = |counts: &Counts| counts.given.get(size).map(|&n| i64::from(n));
    items.iter().try_fold(0_i64, |sum, item| {
        let one = match &item.kind {
            ItemKind::Stitch { name, count } => {
                let (takes, _) = model.stitch(&name.value)?;
                takes.checked_mul(count.as_ref().map_or(Some(1), number)?)?
            }
            ItemKind::Pattern(counts) => number(counts)?,
            ItemKind::Group { items, times, more } => {
                let times = number(times)? + i64::from(*more);
                takes(model, items, size)?.checked_mul(times)?
            }
            ItemKind::InOne { .. } => 1,
            ItemKind::CastOn(_) | ItemKind::Marker { .. } => 0,
            _ => return None,
        };
        sum.checked_add(one)
    })
}

/// Whether a step only holds others: its visit sums up theirs.
pub(super) fn holds_others(step: &Step) -> bool {
    matches!(step.action, Action::Part { .. } | Action::Reverse { .. } | Action::AsFor { .. })
}

/// A count of a trace; the check knows them all.
pub(super) fn known(count: &Linear) -> i64 {
    count.known().unwrap_or(0)
}

/// The name of a size.
pub(super) fn size_name(model: &Model<'_>, size: SizeId) -> String {
    model.sizes.get(size.0).cloned().unwrap_or_default()
}
