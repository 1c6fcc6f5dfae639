//! What stitches of a row take and make, all told, and in which colors.

use super::Hand;
use crate::model::ColorId;
use crate::syntax::tree::{Item, ItemKind, MarkerAct, StarEnd};
use crate::work::ledger::{Halt, Ledger, Trouble};

/// What some items take and make, all told.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Tally {
    pub(super) takes: i64,
    pub(super) makes: i64,
    /// What they take in colors of their own, by color; empty where they name none.
    colored: Vec<i64>,
}

impl Tally {
    pub(super) const fn new(takes: i64, makes: i64) -> Self {
        Self { takes, makes, colored: Vec::new() }
    }

    pub(super) fn times(self, n: i64) -> Self {
        let times = |one: i64| one.saturating_mul(n);
        Self {
            takes: times(self.takes),
            makes: times(self.makes),
            colored: self.colored.into_iter().map(times).collect(),
        }
    }

    pub(super) fn add(&mut self, other: &Self) {
        self.takes = self.takes.saturating_add(other.takes);
        self.makes = self.makes.saturating_add(other.makes);
        add_colored(&mut self.colored, &other.colored);
    }

    /// What stitches taken by the unit are worked in.
    pub(super) fn ink(&self) -> Ink {
        if self.colored.is_empty() {
            Ink::Needles
        } else {
            Ink::Mixed { colored: self.colored.clone(), of: self.takes.max(1) }
        }
    }
}

/// The color of the stitches that are being worked.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Ink {
    /// What is on the needles.
    Needles,
    /// One that they name.
    One(ColorId),
    /// So many of each color of every so many: a repeat of several.
    Mixed { colored: Vec<i64>, of: i64 },
}

impl Ink {
    /// How many of some stitches are of each color; empty where none is named.
    pub(super) fn of(&self, stitches: i64) -> Vec<i64> {
        match self {
            Self::Needles => Vec::new(),
            Self::One(color) => {
                let mut all = vec![0; color.0 + 1];
                all[color.0] = stitches;
                all
            }
            Self::Mixed { colored, of } => {
                colored.iter().map(|n| n.saturating_mul(stitches) / of).collect()
            }
        }
    }
}

pub(super) fn add_colored(sums: &mut Vec<i64>, more: &[i64]) {
    sums.resize(sums.len().max(more.len()), 0);
    sums.iter_mut().zip(more).for_each(|(sum, n)| *sum = sum.saturating_add(*n));
}

impl<L: Ledger> Hand<'_, '_, L> {
    /// What some stitches of the color in work take and make.
    pub(super) fn tallied(&self, takes: i64, makes: i64) -> Tally {
        Tally { colored: self.ink.of(takes), ..Tally::new(takes, makes) }
    }

    /// What the items of a repeat take and make. They ask for no marker and hold no turn.
    pub(super) fn tally(&mut self, items: &[Item]) -> Result<Tally, Halt> {
        let mut sum = Tally::new(0, 0);
        for item in items {
            match self.tally_item(item) {
                Err(Halt::Skip) => {}
                other => sum.add(&other?),
            }
        }
        Ok(sum)
    }

    pub(super) fn tally_item(&mut self, item: &Item) -> Result<Tally, Halt> {
        self.inked(self.ink_of(item), |hand| hand.tally_kind(item))
    }

    fn tally_kind(&mut self, item: &Item) -> Result<Tally, Halt> {
        Ok(match &item.kind {
            ItemKind::Stitch { name, count } => {
                let (takes, makes) = self.stitch(&name.value, name.span)?;
                let n = count.as_ref().map_or(Ok(1), |c| self.known(c))?;
                self.tallied(takes.saturating_mul(n), makes.saturating_mul(n))
            }
            ItemKind::Pattern(counts) => {
                let n = self.known(counts)?;
                self.tallied(n, n)
            }
            ItemKind::Group { items, times: n, more } => {
                let n = self.known(n)? + i64::from(*more);
                self.tally(items)?.times(n)
            }
            ItemKind::Star { items, until: StarEnd::Times { count, more } } => {
                let n = self.known(count)? + i64::from(*more);
                self.tally(items)?.times(n)
            }
            // One stitch is taken, however many colors are worked into it: the first tells.
            ItemKind::InOne { items } => {
                let inside = self.tally(items)?;
                let ink = items.iter().find_map(|item| self.ink_of(item));
                self.inked(ink, |hand| hand.tallied(1, inside.makes))
            }
            ItemKind::BindOff(Some(counts)) => {
                let n = self.known(counts)?;
                self.tallied(n, 0)
            }
            ItemKind::CastOn(counts) => Tally::new(0, self.known(counts)?),
            ItemKind::JoinYarn | ItemKind::Marker { act: MarkerAct::Place, .. } => Tally::new(0, 0),
            // A run to the end inside a repeat has no measure of its own.
            _ => return Err(self.ledger.wrong(item.span, Trouble::EmptyRepeat)),
        })
    }
}
