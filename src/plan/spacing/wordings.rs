//! Ways to write a row of changes, from which the best is chosen.

use super::{Change, Piece};
use crate::measure::Stitches;

/// Ways to write `plain` stitches with `k` changes between two edges.
pub(super) fn flat_rows(plain_stitches: u32, k: u32, change: Change) -> Vec<Vec<Piece>> {
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
            for between in wordings(inner, k - 1) {
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

/// A plain stretch, where there is one.
pub(super) fn plain(n: u32) -> Vec<Piece> {
    if n == 0 { Vec::new() } else { vec![Piece::Plain(Stitches(n))] }
}

/// Ways to write `k` stretches, each followed by a change, that hold `plain`
/// stitches in all and differ by at most one; from the least even, all short
/// stretches and then all long ones, to Euclid's own.
pub(super) fn wordings(plain_stitches: u32, k: u32) -> Vec<Vec<Piece>> {
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
    euclid(&short, &long, &mut rows);
    euclid(&long, &short, &mut rows);
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
/// with all of `b` in the middle of `a`, which is more even between two edges (in the round it
/// says the same in more words).
fn euclid(a: &Block, b: &Block, rows: &mut Vec<Vec<Piece>>) {
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
    if a.times > 1 {
        let before = repeated(&a.unit, a.times.div_ceil(2));
        let after = repeated(&a.unit, a.times / 2);
        rows.push(joined(&[before, repeated(&b.unit, b.times), after]));
    }
    let (fewer, more) = (a.times.min(b.times), a.times.max(b.times));
    if fewer > common {
        let (each, over) = (more / fewer, more % fewer);
        let less = Block { unit: group(a, b, each), times: fewer - over };
        let greater = Block { unit: group(a, b, each + 1), times: over };
        euclid(&less, &greater, rows);
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
