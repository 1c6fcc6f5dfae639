//! Increases or decreases spread evenly over one row or round.
//!
//! Says where each of `k` changes falls among `n` stitches, and how to write
//! that row in the fewest words that are exact. Knows nothing of patterns,
//! text or gauge; a caller turns [`Piece`]s into notation.
//!
//! # How the row is chosen
//!
//! Plain stretches between changes always differ by at most one stitch. In
//! the round the last stretch meets the first; flat, each edge gets half a
//! stretch, and the first or last stitch is never part of a change. Among the
//! rows of that kind, evenness goes before brevity:
//!
//! 1. A row is *even* when no placing in whole stitches is more so: in the
//!    round, any two runs of as many changes differ by at most one stitch (the
//!    division of Euclid and Bresenham); flat, every change lies less than one
//!    stitch from where exact division would put it. Of the even rows of at
//!    most [`SHORT`] words, the one of fewest words.
//! 2. Else the row of fewest words, at most [`SHORT`], in which no change lies
//!    more than one stitch from its exact place.
//! 3. Else the row of at most [`LONG`] words that drifts least.
//!
//! A word is a plain stretch, a change, or a "so many times"; brackets go at
//! most two deep, and the two edges of a flat row count for nothing. Ties go to
//! the row that drifts less. [`Spacing::is_even`] and [`Spacing::drift`] tell
//! what was had.

mod wordings;

#[cfg(test)]
mod tests;

use self::wordings::{flat_rows, plain, wordings};
use crate::measure::{Exact, Stitches};

/// Rows of at most so many words are read at a glance.
pub const SHORT: usize = 12;

/// The most words a row may take to be more even.
pub const LONG: usize = 16;

/// The most stitches a row may have; far beyond any needle.
pub const MOST_STITCHES: u32 = 10_000;

/// Whether a row is worked round and round or back and forth.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Setting {
    /// In the round: the end meets the beginning.
    Round,
    /// Flat: two edges, kept free of changes.
    Flat,
}

/// How an increase is made.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum IncreaseMethod {
    /// Between two stitches (m1): takes none.
    M1,
    /// Into a stitch (kfb): takes one and makes two of it.
    InStitch,
}

/// One change of the count.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Change {
    /// m1: takes none, makes one.
    M1,
    /// kfb: takes one, makes two.
    InStitch,
    /// k2tog: takes two, makes one.
    Together,
}

impl Change {
    /// How many stitches of the left needle it uses.
    #[must_use]
    pub const fn takes(self) -> u32 {
        match self {
            Self::M1 => 0,
            Self::InStitch => 1,
            Self::Together => 2,
        }
    }

    /// How many stitches it leaves on the right needle.
    #[must_use]
    pub const fn makes(self) -> u32 {
        match self {
            Self::M1 | Self::Together => 1,
            Self::InStitch => 2,
        }
    }

    /// The most such changes one row of `n` stitches has room for. In the
    /// round an even change at most doubles or halves the count; flat, the
    /// first and last stitch stay out of it.
    #[must_use]
    pub const fn most(self, n: u32, setting: Setting) -> u32 {
        match (self, setting) {
            (Self::M1 | Self::InStitch, Setting::Round) => n,
            (Self::Together, Setting::Round) => n / 2,
            (Self::M1, Setting::Flat) => n.saturating_sub(1),
            (Self::InStitch, Setting::Flat) => n.saturating_sub(2),
            (Self::Together, Setting::Flat) => n.saturating_sub(2) / 2,
        }
    }
}

/// One part of a written row.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub enum Piece {
    /// So many stitches worked plain; never none.
    Plain(Stitches),
    /// One change.
    Change,
    /// The pieces in brackets, worked so many times in all; at least twice.
    Times(Vec<Piece>, u32),
}

/// A change of count to spread evenly over one row.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct EvenChange {
    /// Stitches before.
    pub from: Stitches,
    /// Stitches after.
    pub to: Stitches,
    /// In the round or flat.
    pub setting: Setting,
    /// How an increase is made, where it is one.
    pub method: IncreaseMethod,
}

/// Why a change cannot be spread over one row.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum SpacingError {
    /// More changes than one row has room for.
    TooMany {
        /// How many were asked for.
        wanted: u32,
        /// How many one row of these stitches has room for.
        most: u32,
        /// How many rows it takes; `None` where no number of rows does.
        rows: Option<u32>,
    },
    /// More than [`MOST_STITCHES`] stitches.
    TooWide,
}

impl EvenChange {
    /// How many changes it takes.
    #[must_use]
    pub const fn count(&self) -> u32 {
        self.from.0.abs_diff(self.to.0)
    }

    /// The change that is made each time.
    #[must_use]
    pub const fn change(&self) -> Change {
        match self.method {
            _ if self.to.0 < self.from.0 => Change::Together,
            IncreaseMethod::M1 => Change::M1,
            IncreaseMethod::InStitch => Change::InStitch,
        }
    }

    /// How many rows the change takes when every row makes as many changes as
    /// it has room for: none where the counts agree, `None` where the count
    /// can never be reached (a single stitch flat, or no stitch at all).
    #[must_use]
    pub fn rows_needed(&self) -> Option<u32> {
        let (mut now, mut rows) = (self.from.0, 0);
        while now != self.to.0 {
            let room = self.change().most(now, self.setting);
            if room == 0 {
                return None;
            }
            let step = room.min(now.abs_diff(self.to.0));
            now = if self.to.0 > now { now + step } else { now - step };
            rows += 1;
        }
        Some(rows)
    }

    /// The row that makes the change, chosen as the module says.
    ///
    /// # Errors
    /// [`SpacingError`] when one row has no room for so many changes.
    pub fn spaced(&self) -> Result<Spacing, SpacingError> {
        let rows = self.rows()?;
        rows.into_iter().min_by_key(Spacing::rank).ok_or(SpacingError::TooWide)
    }

    /// The most even row that makes the change, however many words it takes.
    ///
    /// # Errors
    /// [`SpacingError`] when one row has no room for so many changes.
    pub fn evenest(&self) -> Result<Spacing, SpacingError> {
        let rows = self.rows()?.into_iter();
        let evenest = rows.min_by_key(|row| (!row.even, row.drift, words(&row.pieces)));
        evenest.ok_or(SpacingError::TooWide)
    }

    /// Every row considered; at least one.
    fn rows(&self) -> Result<Vec<Spacing>, SpacingError> {
        let (n, k, change) = (self.from.0, self.count(), self.change());
        if n > MOST_STITCHES || self.to.0 > MOST_STITCHES {
            return Err(SpacingError::TooWide);
        }
        let most = change.most(n, self.setting);
        if k > most {
            return Err(SpacingError::TooMany { wanted: k, most, rows: self.rows_needed() });
        }
        let plain_stitches = n - change.takes() * k;
        let rows = match self.setting {
            _ if k == 0 => vec![plain(n)],
            Setting::Round => wordings(plain_stitches, k),
            Setting::Flat => flat_rows(plain_stitches, k, change),
        };
        let measured = rows.into_iter().map(|pieces| {
            let (drift, even) = drift(&pieces, self.setting);
            Spacing { change, pieces, setting: self.setting, drift, even }
        });
        Ok(measured.collect())
    }
}

/// How often a change comes: "every 4 stitches 13 times".
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Every {
    /// Stitches of the old row from one change to the next, those the change
    /// takes included.
    pub stitches: Stitches,
    /// How many times.
    pub times: u32,
}

/// A row that changes the count evenly.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Spacing {
    change: Change,
    pieces: Vec<Piece>,
    setting: Setting,
    drift: Exact,
    even: bool,
}

impl Spacing {
    /// The change made each time.
    #[must_use]
    pub const fn change(&self) -> Change {
        self.change
    }

    /// The row as it is written.
    #[must_use]
    pub fn pieces(&self) -> &[Piece] {
        &self.pieces
    }

    /// The repeat, and how often it is worked, where one repeat makes up the
    /// whole row: "*k4, k2tog; rep from * to end".
    #[must_use]
    pub fn whole_repeat(&self) -> Option<(&[Piece], u32)> {
        match self.pieces.as_slice() {
            [Piece::Times(unit, times)] => Some((unit, *times)),
            _ => None,
        }
    }

    /// Stitches it takes from the left needle and leaves on the right.
    #[must_use]
    pub fn worked(&self) -> (Stitches, Stitches) {
        worked(&self.pieces, self.change)
    }

    /// The plain stretches, in order: one before each change and, flat or
    /// where the row does not end with a change, one after the last.
    #[must_use]
    pub fn stretches(&self) -> Vec<Stitches> {
        stretches(&self.pieces)
    }

    /// For each change, how many stitches of the old row are used up once it
    /// is made: "increase after 13, 26, 39 and 51".
    #[must_use]
    pub fn places(&self) -> Vec<Stitches> {
        let changes = changes(&self.pieces);
        let mut used = 0;
        let plain = self.stretches();
        plain
            .iter()
            .take(changes)
            .map(|stretch| {
                used += stretch.0 + self.change.takes();
                Stitches(used)
            })
            .collect()
    }

    /// How often the change comes, the closer first. Flat, the stretches at
    /// the edges are left out ([`Spacing::edges`]).
    #[must_use]
    pub fn every(&self) -> Vec<Every> {
        let all = self.stretches();
        let inner = match self.setting {
            Setting::Round => all.as_slice(),
            Setting::Flat => all.get(1..all.len().saturating_sub(1)).unwrap_or(&[]),
        };
        let mut lengths: Vec<u32> = inner.iter().map(|s| s.0 + self.change.takes()).collect();
        lengths.sort_unstable();
        lengths
            .chunk_by(|a, b| a == b)
            .filter_map(|run| {
                let times = u32::try_from(run.len()).ok()?;
                Some(Every { stitches: Stitches(*run.first()?), times })
            })
            .collect()
    }

    /// The plain stitches at the two edges of a flat row.
    #[must_use]
    pub fn edges(&self) -> Option<(Stitches, Stitches)> {
        let all = self.stretches();
        match (self.setting, all.as_slice()) {
            (Setting::Flat, [first, .., last]) => Some((*first, *last)),
            _ => None,
        }
    }

    /// Whether no placing in whole stitches is more even (the module says
    /// what that means).
    #[must_use]
    pub const fn is_even(&self) -> bool {
        self.even
    }

    /// How far, in stitches, the change that lies furthest from its exact
    /// place lies from it.
    #[must_use]
    pub const fn drift(&self) -> Exact {
        self.drift
    }

    /// The order in which rows are preferred, as the module gives it.
    fn rank(&self) -> (u8, usize, Exact, usize, bool) {
        let edges = match self.setting {
            Setting::Round => 0,
            Setting::Flat => 3,
        };
        let words = words(&self.pieces).saturating_sub(edges);
        let deep = depth(&self.pieces) > 2;
        let near = self.drift <= Exact::from_integer(1);
        let (tier, first) = match words {
            _ if deep => (3, words),
            ..=SHORT if self.even => (0, words),
            ..=SHORT if near => (1, words),
            ..=LONG => (2, 0),
            _ => (3, words),
        };
        let starts_with_change = matches!(first_worked(&self.pieces), Some(Piece::Change));
        (tier, first, self.drift, words, starts_with_change)
    }
}

/// Stitches a written row takes from the left needle and leaves on the right.
#[must_use]
pub fn worked(pieces: &[Piece], change: Change) -> (Stitches, Stitches) {
    let (mut takes, mut makes) = (0_u32, 0_u32);
    for piece in pieces {
        let (t, m) = match piece {
            Piece::Plain(n) => (n.0, n.0),
            Piece::Change => (change.takes(), change.makes()),
            Piece::Times(unit, times) => {
                let (t, m) = worked(unit, change);
                (t.0.saturating_mul(*times), m.0.saturating_mul(*times))
            }
        };
        takes = takes.saturating_add(t);
        makes = makes.saturating_add(m);
    }
    (Stitches(takes), Stitches(makes))
}

/// How many words a written row has.
#[must_use]
pub fn words(pieces: &[Piece]) -> usize {
    pieces
        .iter()
        .map(|piece| match piece {
            Piece::Plain(_) | Piece::Change => 1,
            Piece::Times(unit, _) => 1 + words(unit),
        })
        .sum()
}

fn depth(pieces: &[Piece]) -> usize {
    let deepest = pieces.iter().map(|piece| match piece {
        Piece::Plain(_) | Piece::Change => 0,
        Piece::Times(unit, _) => 1 + depth(unit),
    });
    deepest.max().unwrap_or(0)
}

fn first_worked(pieces: &[Piece]) -> Option<&Piece> {
    match pieces.first()? {
        Piece::Times(unit, _) => first_worked(unit),
        piece => Some(piece),
    }
}

fn changes(pieces: &[Piece]) -> usize {
    let mut count = 0;
    walk(pieces, &mut |piece| count += usize::from(*piece == Piece::Change));
    count
}

/// Every plain stretch and change in the order they are worked.
fn walk(pieces: &[Piece], see: &mut impl FnMut(&Piece)) {
    for piece in pieces {
        match piece {
            Piece::Times(unit, times) => (0..*times).for_each(|_| walk(unit, see)),
            piece => see(piece),
        }
    }
}

fn stretches(pieces: &[Piece]) -> Vec<Stitches> {
    let mut all = Vec::new();
    let mut plain = 0;
    walk(pieces, &mut |piece| match piece {
        Piece::Plain(n) => plain += n.0,
        _ => all.push(Stitches(std::mem::take(&mut plain))),
    });
    if plain > 0 {
        all.push(Stitches(plain));
    }
    all
}

/// How far the furthest change lies from its exact place, and whether the row
/// is even. In the round the exact places may be turned so as to fit best.
fn drift(pieces: &[Piece], setting: Setting) -> (Exact, bool) {
    let stretches = stretches(pieces);
    let k = i128::try_from(changes(pieces)).unwrap_or(0);
    if k == 0 {
        return (Exact::from_integer(0), true);
    }
    let total: i128 = stretches.iter().map(|s| i128::from(s.0)).sum();
    // Twice k times the distance of each change from its place, to stay whole.
    let (mut least, mut greatest, mut before) = (i128::MAX, i128::MIN, 0);
    for (i, stretch) in (0..k).zip(&stretches) {
        before += i128::from(stretch.0);
        let off = 2 * k * before - (2 * i + 1) * total;
        least = least.min(off);
        greatest = greatest.max(off);
    }
    match setting {
        Setting::Round => {
            let spread = greatest - least;
            (Exact::new(spread, 4 * k), spread < 2 * k)
        }
        Setting::Flat => {
            let worst = greatest.abs().max(least.abs());
            (Exact::new(worst, 2 * k), worst < 2 * k)
        }
    }
}
