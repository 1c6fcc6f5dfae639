//! Finding one's way about the steps of a model and the visits of its traces.

use crate::measure::{Given, Linear, SizeId};
use crate::model::Model;
use crate::source::Span;
use crate::syntax::tree::{Action, Block, Counts, Item, ItemKind, Mark, Section, Step};
use crate::syntax::visit::{self, Number};
use crate::work::{Trace, Visit};
use std::collections::{BTreeMap, BTreeSet};

/// What the walks saw, found by step and by piece.
pub(super) struct Walks<'a, 'd> {
    steps: BTreeMap<Span, &'d Step>,
    /// One a size.
    pub(super) sizes: Vec<Walk<'a>>,
}

/// What the walk of one size saw.
pub(super) struct Walk<'a> {
    /// The size.
    pub(super) size: SizeId,
    /// Every visit, in order.
    pub(super) visits: &'a [Visit],
    by_step: BTreeMap<Span, Vec<usize>>,
    by_piece: BTreeMap<usize, Vec<usize>>,
}

impl<'a, 'd> Walks<'a, 'd> {
    pub(super) fn new(model: &Model<'d>, traces: &'a [Trace]) -> Self {
        let mut steps = BTreeMap::new();
        model.each_step(&mut |_, step| {
            steps.insert(step.span, step);
        });
        Self { steps, sizes: traces.iter().map(Walk::new).collect() }
    }

    /// The step that a visit was a visit of.
    pub(super) fn step(&self, visit: &Visit) -> Option<&'d Step> {
        self.steps.get(&visit.step).copied()
    }

    /// Whether a visit was of a step that works something itself, and does not
    /// only hold others.
    pub(super) fn is_plain(&self, visit: &Visit) -> bool {
        self.step(visit).is_some_and(|step| !holds_others(step))
    }
}

impl<'a> Walk<'a> {
    fn new(trace: &'a Trace) -> Self {
        let (mut by_step, mut by_piece) = (BTreeMap::new(), BTreeMap::new());
        for (at, visit) in trace.visits.iter().enumerate() {
            by_step.entry(visit.step).or_insert_with(Vec::new).push(at);
            by_piece.entry(visit.piece).or_insert_with(Vec::new).push(at);
        }
        Self { size: trace.size, visits: &trace.visits, by_step, by_piece }
    }

    /// Where in the walk a step comes first.
    pub(super) fn place(&self, step: Span) -> Option<usize> {
        self.by_step.get(&step).and_then(|places| places.first().copied())
    }

    /// The first visit of a step.
    pub(super) fn first(&self, step: Span) -> Option<&'a Visit> {
        self.place(step).and_then(|at| self.visits.get(at))
    }

    /// The visits of a piece, in order.
    pub(super) fn of_piece(&self, piece: usize) -> impl Iterator<Item = &'a Visit> {
        let places = self.by_piece.get(&piece).map_or(&[][..], Vec::as_slice);
        places.iter().filter_map(|&at| self.visits.get(at))
    }

    /// The visits of the steps that stand within a span, in the order of the
    /// walk, while a piece is worked.
    pub(super) fn within(&self, span: Span, piece: usize) -> Vec<&'a Visit> {
        let from = Span::at(span.start);
        let inside = self.by_step.range(from..).take_while(|(step, _)| step.start < span.end);
        let mut places: Vec<usize> = inside.flat_map(|(_, places)| places).copied().collect();
        places.sort_unstable();
        let visits = places.into_iter().filter_map(|at| self.visits.get(at));
        visits.filter(|visit| visit.piece == piece).collect()
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

/// Calls `f` on every name given by `[as ...]`, with its place and the count it names.
pub(super) fn names<'d>(model: &Model<'d>, f: &mut impl FnMut(&'d str, Span, Option<&'d Counts>)) {
    model.each_step(&mut |_, step| {
        for mark in &step.marks {
            if let Mark::As(name) = &mark.value {
                f(name, mark.span, numbers(step).first().copied());
            }
        }
        if let Action::Row { items, .. } = &step.action {
            visit::each_item(items, &mut |item| {
                for mark in &item.marks {
                    if let Mark::As(name) = &mark.value {
                        f(name, mark.span, count_of(item));
                    }
                }
            });
        }
    });
}

/// The names that a step gives by `[as ...]`.
pub(super) fn names_in(step: &Step) -> Vec<&str> {
    let mut marks: Vec<&Mark> = step.marks.iter().map(|mark| &mark.value).collect();
    if let Action::Row { items, .. } = &step.action {
        visit::each_item(items, &mut |item| {
            marks.extend(item.marks.iter().map(|mark| &mark.value));
        });
    }
    marks
        .into_iter()
        .filter_map(|mark| match mark {
            Mark::As(name) => Some(name.as_str()),
            _ => None,
        })
        .collect()
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

/// The counts that the steps of a section give.
pub(super) fn given_in(section: &Section) -> BTreeSet<&Given<u32>> {
    fn down<'d>(step: &'d Step, all: &mut BTreeSet<&'d Given<u32>>) {
        all.extend(numbers(step).into_iter().map(|counts| &counts.given));
        step.steps.iter().for_each(|inner| down(inner, all));
    }
    let mut all = BTreeSet::new();
    for block in &section.blocks {
        if let Block::Steps(steps) = block {
            steps.iter().for_each(|step| down(step, &mut all));
        }
    }
    all
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
fn holds_others(step: &Step) -> bool {
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
