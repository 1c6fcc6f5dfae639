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
            Setting::Round => wordings(plain_stitches, k, Setting::Round),
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

/// Ways to write `plain` stitches with `k` changes between two edges.
fn flat_rows(plain_stitches: u32, k: u32, change: Change) -> Vec<Vec<Piece>> {
    let lowest = (plain_stitches / 2 / k).max(1);
    // An edge lies less than a stitch from half a stretch, and is never empty.
    let edges = || lowest..=lowest + 1;
    // Two m1 on the same strand would be no even increase.
    let least_inner = if change == Change::M1 { k - 1 } else { 0 };
    let mut rows = Vec::new();
    for first in edges() {
        for last in edges() {
            let Some(inner) = plain_stitches.checked_sub(first + last) else { continue };
            if inner < least_inner || (k == 1 && inner > 0) {
                continue;
            }
            for between in wordings(inner, k - 1, Setting::Flat) {
                let mut row = plain(first);
                row.push(Piece::Change);
                row.extend(between);
                row.extend(plain(last));
                rows.push(gathered(row));
            }
        }
    }
    rows
}

fn plain(n: u32) -> Vec<Piece> {
    if n == 0 { Vec::new() } else { vec![Piece::Plain(Stitches(n))] }
}

/// Ways to write `k` stretches, each followed by a change, that hold `plain`
/// stitches in all and differ by at most one; from the least even, all short
/// stretches and then all long ones, to Euclid's own.
fn wordings(plain_stitches: u32, k: u32, setting: Setting) -> Vec<Vec<Piece>> {
    let Some(short_length) = plain_stitches.checked_div(k) else {
        return vec![Vec::new()];
    };
    let long = plain_stitches % k;
    let stretch = |n| {
        let mut unit = plain(n);
        unit.push(Piece::Change);
        unit
    };
    let short = Block { unit: stretch(short_length), times: k - long };
    let long = Block { unit: stretch(short_length + 1), times: long };
    let mut rows = Vec::new();
    euclid(&short, &long, setting, &mut rows);
    euclid(&long, &short, setting, &mut rows);
    rows
}

/// A bracket and how often it comes, before it is placed among others.
struct Block {
    unit: Vec<Piece>,
    times: u32,
}

fn repeated(unit: &[Piece], times: u32) -> Vec<Piece> {
    match (times, unit) {
        (0, _) => Vec::new(),
        (1, _) => unit.to_vec(),
        (2, [single]) => vec![single.clone(), single.clone()],
        _ => vec![Piece::Times(unit.to_vec(), times)],
    }
}

fn joined(parts: &[Vec<Piece>]) -> Vec<Piece> {
    gathered(parts.concat())
}

/// Takes what stands before or after a bracket and says the same into it:
/// "k1, m1, [k1, m1] 5 times" is "[k1, m1] 6 times".
fn gathered(pieces: Vec<Piece>) -> Vec<Piece> {
    let mut row: Vec<Piece> = Vec::with_capacity(pieces.len());
    for piece in pieces {
        match piece {
            Piece::Times(unit, mut times) => {
                while row.ends_with(&unit) {
                    row.truncate(row.len() - unit.len());
                    times += 1;
                }
                row.push(Piece::Times(unit, times));
            }
            single => row.push(single),
        }
        absorb_tail(&mut row);
    }
    row
}

/// Where a row ends with a bracket and then its contents once more.
fn absorb_tail(row: &mut Vec<Piece>) {
    let bracket = row.iter().rposition(|piece| matches!(piece, Piece::Times(..)));
    let Some((tail, Some(Piece::Times(unit, times)))) =
        bracket.map(|at| (row.len() - at - 1, row.get_mut(at)))
    else {
        return;
    };
    if tail != unit.len() {
        return;
    }
    let (unit, more) = (unit.clone(), *times + 1);
    if row.ends_with(&unit) {
        row.truncate(row.len() - tail);
        if let Some(Piece::Times(_, times)) = row.last_mut() {
            *times = more;
        }
    }
}

/// Writes all of `a` and then all of `b`; then deals the more frequent out
/// among the less frequent, as Euclid divides, and writes that, and so on.
/// Where all of it can be said as one repeat, that is written as well; and
/// flat, with all of `b` in the middle of `a`.
fn euclid(a: &Block, b: &Block, setting: Setting, rows: &mut Vec<Vec<Piece>>) {
    let common = gcd(a.times, b.times);
    for outer in [common, 1] {
        let (p, q) = (a.times / outer, b.times / outer);
        rows.push(repeated(&joined(&[repeated(&a.unit, p), repeated(&b.unit, q)]), outer));
        if p > 1 && q > 1 {
            let (each, over) = (p.max(q) / p.min(q), p.max(q) % p.min(q));
            let groups = repeated(&group(a, b, each), p.min(q));
            let leftover = if p > q {
                joined(&[groups, repeated(&a.unit, over)])
            } else {
                joined(&[repeated(&b.unit, over), groups])
            };
            rows.push(repeated(&leftover, outer));
        }
    }
    if setting == Setting::Flat && a.times > 1 {
        let before = repeated(&a.unit, a.times.div_ceil(2));
        let after = repeated(&a.unit, a.times / 2);
        rows.push(joined(&[before, repeated(&b.unit, b.times), after]));
    }
    let (fewer, more) = (a.times.min(b.times), a.times.max(b.times));
    if fewer > common {
        let (each, over) = (more / fewer, more % fewer);
        let less = Block { unit: group(a, b, each), times: fewer - over };
        let greater = Block { unit: group(a, b, each + 1), times: over };
        euclid(&less, &greater, setting, rows);
    }
}

/// One of the less frequent with `each` of the more frequent.
fn group(a: &Block, b: &Block, each: u32) -> Vec<Piece> {
    if a.times > b.times {
        joined(&[repeated(&a.unit, each), b.unit.clone()])
    } else {
        joined(&[a.unit.clone(), repeated(&b.unit, each)])
    }
}

fn gcd(a: u32, b: u32) -> u32 {
    if b == 0 { a.max(1) } else { gcd(b, a % b) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn text(pieces: &[Piece], change: &str) -> String {
        let parts: Vec<String> = pieces
            .iter()
            .map(|piece| match piece {
                Piece::Plain(n) => format!("k{}", n.0),
                Piece::Change => change.to_string(),
                Piece::Times(unit, times) => format!("[{}] {times} times", text(unit, change)),
            })
            .collect();
        parts.join(", ")
    }

    fn row(from: u32, to: u32, setting: Setting) -> String {
        written(from, to, setting, IncreaseMethod::M1)
    }

    fn written(from: u32, to: u32, setting: Setting, method: IncreaseMethod) -> String {
        let change = EvenChange { from: Stitches(from), to: Stitches(to), setting, method };
        let word = match change.change() {
            Change::M1 => "m1",
            Change::InStitch => "kfb",
            Change::Together => "k2tog",
        };
        match change.spaced() {
            Ok(spacing) => text(spacing.pieces(), word),
            Err(error) => format!("{error:?}"),
        }
    }

    #[test]
    fn in_the_round() {
        let rows: Vec<String> = [
            (48, 54),
            (54, 66),
            (56, 40),
            (51, 55),
            (100, 111),
            (60, 67),
            (190, 249),
            (96, 88),
            (30, 42),
            (5, 10),
            (10, 5),
            (11, 6),
            (20, 21),
        ]
        .iter()
        .map(|&(from, to)| format!("{from} -> {to}: {}", row(from, to, Setting::Round)))
        .collect();
        insta::assert_snapshot!(rows.join("\n"), @r"
48 -> 54: [k8, m1] 6 times
54 -> 66: [k4, m1, k5, m1] 6 times
56 -> 40: [k1, k2tog, k2, k2tog] 8 times
51 -> 55: k12, m1, [k13, m1] 3 times
100 -> 111: [k9, m1] 10 times, k10, m1
60 -> 67: k9, m1, [k8, m1, k9, m1] 3 times
190 -> 249: [[k3, m1] 3 times, k4, m1] 6 times, [[k3, m1] 4 times, k4, m1] 7 times
96 -> 88: [k10, k2tog] 8 times
30 -> 42: [k2, m1, k3, m1] 6 times
5 -> 10: [k1, m1] 5 times
10 -> 5: [k2tog] 5 times
11 -> 6: k1, [k2tog] 5 times
20 -> 21: k20, m1
");
    }

    #[test]
    fn flat() {
        let rows: Vec<String> = [
            (51, 55),
            (112, 128),
            (98, 108),
            (80, 70),
            (56, 40),
            (50, 54),
            (9, 10),
            (2, 3),
            (4, 3),
            (40, 79),
            (40, 21),
            (101, 118),
            (190, 249),
        ]
        .iter()
        .map(|&(from, to)| format!("{from} -> {to}: {}", row(from, to, Setting::Flat)))
        .collect();
        insta::assert_snapshot!(rows.join("\n"), @r"
51 -> 55: k6, m1, [k13, m1] 3 times, k6
112 -> 128: k3, m1, [k7, m1] 15 times, k4
98 -> 108: k4, m1, [k10, m1] 9 times, k4
80 -> 70: k3, k2tog, [k6, k2tog] 9 times, k3
56 -> 40: k1, k2tog, [k1, k2tog, k2, k2tog] 7 times, k1, k2tog, k1
50 -> 54: k7, m1, [k12, m1] 3 times, k7
9 -> 10: k4, m1, k5
2 -> 3: k1, m1, k1
4 -> 3: k1, k2tog, k1
40 -> 79: [k1, m1] 39 times, k1
40 -> 21: k1, [k2tog] 19 times, k1
101 -> 118: k2, m1, [k6, m1] 16 times, k3
190 -> 249: k1, m1, [k4, m1, [k3, m1] 3 times] 7 times, [k4, m1, [k3, m1] 4 times] 6 times, k2
");
    }

    #[test]
    fn into_a_stitch() {
        let kfb = |from, to, setting| written(from, to, setting, IncreaseMethod::InStitch);
        assert_eq!(kfb(40, 48, Setting::Round), "[k4, kfb] 8 times");
        assert_eq!(kfb(7, 14, Setting::Round), "[kfb] 7 times");
        assert_eq!(kfb(7, 12, Setting::Flat), "k1, [kfb] 5 times, k1");
    }

    #[test]
    fn too_many_says_how_many_rows() {
        let change = |from, to, setting| EvenChange {
            from: Stitches(from),
            to: Stitches(to),
            setting,
            method: IncreaseMethod::M1,
        };
        assert_eq!(
            change(40, 100, Setting::Round).spaced(),
            Err(SpacingError::TooMany { wanted: 60, most: 40, rows: Some(2) })
        );
        assert_eq!(
            change(40, 9, Setting::Round).spaced(),
            Err(SpacingError::TooMany { wanted: 31, most: 20, rows: Some(3) })
        );
        assert_eq!(
            change(0, 4, Setting::Round).spaced(),
            Err(SpacingError::TooMany { wanted: 4, most: 0, rows: None })
        );
        assert_eq!(change(40, 40, Setting::Flat).rows_needed(), Some(0));
        assert_eq!(
            change(2_000_000, 2_000_001, Setting::Flat).spaced(),
            Err(SpacingError::TooWide)
        );
    }

    #[test]
    fn a_stitch_over_is_noticed() {
        let every_tenth = [
            Piece::Times(vec![Piece::Plain(Stitches(10)), Piece::Change], 9),
            Piece::Plain(Stitches(11)),
            Piece::Change,
        ];
        assert_eq!(worked(&every_tenth, Change::M1), (Stitches(101), Stitches(111)));
    }

    /// Any change that one row has room for.
    fn changes() -> impl Strategy<Value = EvenChange> {
        let setting = prop_oneof![Just(Setting::Round), Just(Setting::Flat)];
        let method = prop_oneof![Just(IncreaseMethod::M1), Just(IncreaseMethod::InStitch)];
        (1_u32..400, 0_u32..1000, any::<bool>(), setting, method).prop_map(
            |(from, part, up, setting, method)| {
                let change = match (up, method) {
                    (false, _) => Change::Together,
                    (true, IncreaseMethod::M1) => Change::M1,
                    (true, IncreaseMethod::InStitch) => Change::InStitch,
                };
                let count = change.most(from, setting) * part / 999;
                let to = if up { from + count } else { from - count };
                EvenChange { from: Stitches(from), to: Stitches(to), setting, method }
            },
        )
    }

    proptest! {
        #[test]
        fn it_sums_exactly(change in changes()) {
            let spacing = change.spaced().map_err(|e| TestCaseError::fail(format!("{e:?}")))?;
            prop_assert_eq!(spacing.worked(), (change.from, change.to));
            prop_assert_eq!(spacing.places().len(), change.count() as usize);
        }

        #[test]
        fn stretches_differ_by_at_most_one(change in changes()) {
            let spacing = change.spaced().map_err(|e| TestCaseError::fail(format!("{e:?}")))?;
            let every = spacing.every();
            prop_assert!(every.len() <= 2);
            if let [close, wide] = every.as_slice() {
                prop_assert_eq!(close.stitches.0 + 1, wide.stitches.0);
            }
        }

        #[test]
        fn edges_stay_plain(change in changes()) {
            let spacing = change.spaced().map_err(|e| TestCaseError::fail(format!("{e:?}")))?;
            if change.setting == Setting::Flat && change.count() > 0 {
                let edges = spacing.edges();
                let plain = |(a, b): (Stitches, Stitches)| a.0 > 0 && b.0 > 0 && a.0.abs_diff(b.0) <= 1;
                prop_assert!(edges.is_some_and(plain), "{edges:?}");
            }
        }

        /// Where a third of the stitches or fewer change, nothing drifts far
        /// from its exact place, even where the even row takes too many words.
        #[test]
        fn never_bunched(change in changes()) {
            let spacing = change.spaced().map_err(|e| TestCaseError::fail(format!("{e:?}")))?;
            prop_assert!(words(spacing.pieces()) <= LONG + 3);
            prop_assert!(depth(spacing.pieces()) <= 2);
            let bound = if change.count() <= change.from.0 / 3 { 3 } else { 6 };
            prop_assert!(spacing.drift() < Exact::from_integer(bound), "{}", spacing.drift());
        }

    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]

        /// Euclid's own row: no two runs of as many changes, anywhere around
        /// the round, differ by more than a stitch.
        #[test]
        fn the_evenest_round_is_even(change in changes()) {
            let change = EvenChange { setting: Setting::Round, ..change };
            let spacing = change.evenest().map_err(|e| TestCaseError::fail(format!("{e:?}")))?;
            prop_assert_eq!(spacing.worked(), (change.from, change.to));
            prop_assert!(spacing.is_even());
            let around: Vec<u32> = spacing.stretches().iter().map(|s| s.0).collect();
            let k = change.count() as usize;
            for run in 1..k {
                let sums = (0..k).map(|at| {
                    around.iter().cycle().skip(at).take(run).sum::<u32>()
                });
                let (least, most) = sums.fold((u32::MAX, 0), |(l, m), s| (l.min(s), m.max(s)));
                prop_assert!(most - least <= 1, "{around:?}");
            }
        }

        /// No change drifts less in the row that is written than in the evenest.
        #[test]
        fn the_evenest_flat_row_drifts_least(change in changes()) {
            let change = EvenChange { setting: Setting::Flat, ..change };
            if let (Ok(written), Ok(evenest)) = (change.spaced(), change.evenest()) {
                prop_assert!(evenest.drift() <= written.drift());
                prop_assert!(evenest.drift() < Exact::from_integer(2), "{}", evenest.drift());
            }
        }
    }
}
