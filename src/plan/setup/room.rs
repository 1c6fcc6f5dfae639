//! Lengths and rows that give way, so that what must be worked fits.

use crate::measure::Length;
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
        let Action::Work { extent: Extent::Until { from, .. }, .. } = &step.action else {
            return None;
        };
        Some(match &from.value {
            From::CastOn => Self::CastOn(piece),
            From::Named(name) => Self::Named(name.to_lowercase()),
        })
    }
}

impl Room {
    pub(super) fn change(&self, piece: usize, step: &Step) -> Length {
        let longer = Start::of(piece, step).and_then(|start| self.longer.get(&start));
        let shorter = self.shorter.get(&step.span);
        let none = Length::zero();
        *longer.unwrap_or(&none) - *shorter.unwrap_or(&none)
    }
}
