//! Lengths and rows that give way, so that what must be worked fits.

use crate::measure::{Length, SizeId};
use crate::model::Model;
use crate::plan::outline::steps_to;
use crate::source::Span;
use crate::syntax::tree::{Action, Extent, From, Step};
use std::collections::BTreeMap;

/// Lengths that give way where rows cannot be fewer.
#[derive(Clone, PartialEq, Debug, Default)]
pub(crate) struct Room {
    /// Steps that end earlier, and by how much.
    pub(crate) shorter: BTreeMap<Span, Length>,
    /// Schedules worked over fewer rows, and by how many.
    pub(crate) fewer: BTreeMap<Span, u32>,
    /// Schedules worked over so many rows: the slopes of caps, to fit their armholes.
    pub(crate) slopes: BTreeMap<Span, u32>,
    /// Measurements that grow wherever they are taken, by where they begin.
    pub(crate) longer: BTreeMap<Start, Length>,
}

/// Where a measurement begins: a piece's cast-on, or a named place in any piece.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Start {
    CastOn(usize),
    Named(String),
}

impl Start {
    /// Where a step that works until a length measures from.
    pub(crate) fn of(piece: usize, step: &Step) -> Option<Self> {
        let (Action::Work { extent: Extent::Until { from, .. }, .. }
        | Action::Repeat { extent: Extent::Until { from, .. }, .. }) = &step.action
        else {
            return None;
        };
        Some(match &from.value {
            From::CastOn => Self::CastOn(piece),
            From::Named(name) => Self::Named(name.to_lowercase()),
        })
    }
}

/// The farthest that is measured from each beginning, in one size.
pub(super) fn farthest(model: &Model<'_>, size: SizeId) -> BTreeMap<Start, Length> {
    type All = BTreeMap<Start, Length>;
    fn see(model: &Model<'_>, piece: usize, step: &Step, size: SizeId, all: &mut All) {
        if let Action::Work { extent: Extent::Until { length, .. }, .. }
        | Action::Repeat { extent: Extent::Until { length, .. }, .. } = &step.action
            && let (Some(start), Some(length)) = (Start::of(piece, step), length.given.get(size))
        {
            let most = all.entry(start).or_insert(*length);
            *most = (*most).max(*length);
        }
        if let Action::AsFor { piece: of, to, .. } = &step.action
            && model
                .pieces
                .get(piece)
                .is_some_and(|p| !p.name.value.eq_ignore_ascii_case(&of.value))
        {
            let steps = steps_to(model, &of.value, to.as_ref().map(|to| to.value.as_str()));
            let direct = steps.into_iter().filter(|s| !matches!(s.action, Action::AsFor { .. }));
            direct.for_each(|inner| see(model, piece, inner, size, all));
        }
        step.steps.iter().for_each(|inner| see(model, piece, inner, size, all));
    }
    let mut all = BTreeMap::new();
    for (index, piece) in model.pieces.iter().enumerate() {
        piece.steps.iter().for_each(|step| see(model, index, step, size, &mut all));
    }
    all
}

impl Room {
    pub(super) fn change(&self, piece: usize, step: &Step) -> Length {
        let longer = Start::of(piece, step).and_then(|start| self.longer.get(&start));
        let shorter = self.shorter.get(&step.span);
        let none = Length::zero();
        *longer.unwrap_or(&none) - *shorter.unwrap_or(&none)
    }
}
