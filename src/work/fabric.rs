//! Which stitch counts a fabric works over, told by its rows alone.
//!
//! Nobody declares "multiple of 12 plus 3": each row says `takes = a + r x j`
//! for some number of repeats `j`, and the counts that satisfy every row, each
//! on what the row before leaves, are the answer.

use super::chart;
use crate::measure::gcd;
use crate::measure::round::Multiple;
use crate::model::{FabricDef, Model};
use crate::syntax::tree::{Counts, Item, ItemKind, RowEnd, StarEnd};
use crate::syntax::visit::each_item;

/// The counts a fabric works over.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum FabricCount {
    /// A multiple, from some least count on.
    Every {
        /// Which.
        multiple: Multiple,
        /// The smallest.
        least: i64,
        /// Whether the last row leaves as many stitches as the first took.
        returns: bool,
    },
    /// One count only: a row without a repeat.
    Only(i64),
    /// None at all: this row (from 0) cannot follow the one before.
    Never {
        /// The row, from 0.
        row: usize,
    },
}

/// `at x t + from` stitches, for every whole `t` from 0.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Line {
    at: i64,
    from: i64,
}

/// What a row takes and makes: `takes + unit_takes x j`, `makes + unit_makes x j`.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct RowNeed {
    /// Stitches outside the repeat, taken.
    pub takes: i64,
    /// Stitches outside the repeat, made.
    pub makes: i64,
    /// What the repeat takes and makes; `None` where there is none.
    pub unit: Option<(i64, i64)>,
}

/// The counts a fabric works over. A fabric without rows works over any.
#[must_use]
pub fn counts(model: &Model<'_>, fabric: &FabricDef<'_>) -> FabricCount {
    let (mut first, mut now) = (Line { at: 1, from: 0 }, Line { at: 1, from: 0 });
    let mut only = None;
    for (index, row) in fabric.rows.iter().enumerate() {
        let never = FabricCount::Never { row: index };
        let Some(need) = row_need(model, row.items) else { return never };
        match only {
            Some((start, n)) => match made_of(need, n) {
                Some(made) => only = Some((start, made)),
                None => return never,
            },
            None => match meet(first, now, need) {
                Some(Met::Line(a, b)) => (first, now) = (a, b),
                Some(Met::Only(start, made)) => only = Some((start, made)),
                None => return never,
            },
        }
    }
    if let Some((start, _)) = only {
        return FabricCount::Only(start);
    }
    let of = u32::try_from(first.at).unwrap_or(1).max(1);
    let plus = u32::try_from(first.from.rem_euclid(i64::from(of))).unwrap_or(0);
    FabricCount::Every {
        multiple: Multiple::new(of, plus),
        least: first.from,
        returns: first == now,
    }
}

/// The count after each row when the fabric is worked over its smallest count
/// (with the repeat worked at least once), the starting count first.
#[must_use]
pub fn row_counts(model: &Model<'_>, fabric: &FabricDef<'_>) -> Vec<i64> {
    let start = match counts(model, fabric) {
        FabricCount::Every { multiple, least, .. } => least + i64::from(multiple.of()),
        FabricCount::Only(n) => n,
        FabricCount::Never { .. } => return Vec::new(),
    };
    counts_from(model, fabric, start)
}

fn counts_from(model: &Model<'_>, fabric: &FabricDef<'_>, start: i64) -> Vec<i64> {
    let mut all = vec![start];
    let mut now = start;
    for row in &fabric.rows {
        let Some(made) = row_need(model, row.items).and_then(|need| made_of(need, now)) else {
            break;
        };
        all.push(made);
        now = made;
    }
    all
}

/// The stitches of each row of a fabric, where the row `at` (from 0) has `n` of them; what these
/// are over whole repeats every row has. Empty where no count can be worked.
#[must_use]
pub(super) fn lengths(
    model: &Model<'_>,
    fabric: &FabricDef<'_>,
    (n, at): (i64, usize),
) -> Vec<i64> {
    let once = row_counts(model, fabric);
    let twice = match counts(model, fabric) {
        FabricCount::Every { multiple, least, .. } => {
            counts_from(model, fabric, least + 2 * i64::from(multiple.of()))
        }
        FabricCount::Only(_) | FabricCount::Never { .. } => once.clone(),
    };
    // Each row grows by as much with every further repeat.
    let each = || once.iter().zip(&twice).map(|(once, twice)| (*once, twice - once));
    let Some((own, more)) = each().nth(at) else { return Vec::new() };
    let repeats = (n - own).checked_div_euclid(more).unwrap_or(0);
    let over = n - own - more * repeats;
    let rows = each().take(fabric.rows.len());
    rows.map(|(own, more)| (own + more * repeats + over).max(0)).collect()
}

/// The stitches of each row that name a color of their own, by color, and how many the row
/// takes in all: worked over `n` stitches, or over the smallest count where `n` does not fit.
/// Empty where no stitch names one.
#[must_use]
pub(super) fn colored(model: &Model<'_>, fabric: &FabricDef<'_>, n: i64) -> Vec<(Vec<i64>, i64)> {
    let mut any = false;
    fabric.rows.iter().for_each(|row| each_item(row.items, &mut |i| any |= i.color.is_some()));
    if !any {
        return Vec::new();
    }
    let over = |n: i64| -> Option<Vec<(Vec<i64>, i64)>> {
        let mut now = n;
        let each = fabric.rows.iter().map(|row| {
            let worked = chart::stitches(model, row.items, now)?;
            now = worked.iter().map(|stitch| stitch.makes).sum();
            let mut sums = vec![0; model.colors.len()];
            for stitch in &worked {
                if let Some(sum) = stitch.color.and_then(|color| sums.get_mut(color.0)) {
                    *sum += stitch.takes;
                }
            }
            Some((sums, worked.iter().map(|stitch| stitch.takes).sum()))
        });
        each.collect()
    };
    let smallest = || row_counts(model, fabric).first().and_then(|n| over(*n));
    over(n).or_else(smallest).unwrap_or_default()
}

enum Met {
    Line(Line, Line),
    Only(i64, i64),
}

fn made_of(need: RowNeed, n: i64) -> Option<i64> {
    let rest = n - need.takes;
    match need.unit {
        None => (rest == 0).then_some(need.makes),
        Some((takes, makes)) => {
            (rest >= 0 && takes > 0 && rest % takes == 0).then(|| need.makes + rest / takes * makes)
        }
    }
}

/// Narrows the starting counts to those whose `now` the next row can be worked over.
fn meet(first: Line, now: Line, need: RowNeed) -> Option<Met> {
    let rest = now.from - need.takes;
    let Some((takes, makes)) = need.unit else {
        // at x t + from = takes
        if now.at == 0 {
            return (rest == 0).then_some(Met::Line(first, Line { at: 0, from: need.makes }));
        }
        let t = -rest / now.at;
        let fits = -rest % now.at == 0 && t >= 0;
        return fits.then(|| Met::Only(first.at * t + first.from, need.makes));
    };
    if takes <= 0 {
        return None;
    }
    // at x t + rest = takes x j: the t that work are t0 + (takes / g) x s.
    let g = gcd(now.at, takes).max(1);
    if rest.rem_euclid(g) != 0 {
        return None;
    }
    let step = takes / g;
    let mut t0 = (0..step).find(|t| (now.at * t + rest).rem_euclid(takes) == 0)?;
    while now.at * t0 + rest < 0 {
        if now.at <= 0 {
            return None;
        }
        t0 += step;
    }
    let j0 = (now.at * t0 + rest) / takes;
    Some(Met::Line(
        Line { at: first.at * step, from: first.at * t0 + first.from },
        Line { at: makes * (now.at * step / takes), from: need.makes + makes * j0 },
    ))
}

/// What a row takes and makes; `None` where it has two repeats, a turn, or a
/// stitch that is not known.
#[must_use]
pub fn row_need(model: &Model<'_>, items: &[Item]) -> Option<RowNeed> {
    let mut need = RowNeed { takes: 0, makes: 0, unit: None };
    let mut said_last = None;
    for item in items {
        let unit = match &item.kind {
            ItemKind::Run { name, until: RowEnd::End } => Some((unit_of(model, &name.value), None)),
            ItemKind::Run { name, until: RowEnd::Last(last) } => {
                Some((unit_of(model, &name.value), Some(number(last)?)))
            }
            ItemKind::Star { items, until: StarEnd::End } => Some((tally(model, items)?, None)),
            ItemKind::Star { items, until: StarEnd::Last(last) } => {
                Some((tally(model, items)?, Some(number(last)?)))
            }
            _ => None,
        };
        match unit {
            Some(_) if need.unit.is_some() => return None,
            Some((unit, last)) => {
                need.unit = Some(unit);
                said_last = Some((last.unwrap_or(0), need.takes));
            }
            None => {
                let (takes, makes) = tally(model, std::slice::from_ref(item))?;
                need.takes += takes;
                need.makes += makes;
            }
        }
    }
    // "To last 2 sts" must be followed by what takes 2.
    match said_last {
        Some((last, before)) if need.takes - before != last => None,
        _ => Some(need),
    }
}

fn unit_of(model: &Model<'_>, name: &str) -> (i64, i64) {
    model.stitch(name).unwrap_or((1, 1))
}

fn number(counts: &Counts) -> Option<i64> {
    counts.given.get(crate::measure::SizeId(0)).map(|&n| i64::from(n))
}

pub(super) fn tally(model: &Model<'_>, items: &[Item]) -> Option<(i64, i64)> {
    let mut sum = (0_i64, 0_i64);
    for item in items {
        let (takes, makes) = match &item.kind {
            ItemKind::Stitch { name, count } => {
                let (takes, makes) = model.stitch(&name.value)?;
                let n = count.as_ref().map_or(Some(1), number)?;
                (takes.checked_mul(n)?, makes.checked_mul(n)?)
            }
            ItemKind::Pattern(counts) => (number(counts)?, number(counts)?),
            ItemKind::Group { items, times, more } => {
                let (takes, makes) = tally(model, items)?;
                let n = number(times)? + i64::from(*more);
                (takes.checked_mul(n)?, makes.checked_mul(n)?)
            }
            ItemKind::Star { items, until: StarEnd::Times { count, more } } => {
                let (takes, makes) = tally(model, items)?;
                let n = number(count)? + i64::from(*more);
                (takes.checked_mul(n)?, makes.checked_mul(n)?)
            }
            ItemKind::InOne { items } => (1, tally(model, items)?.1),
            ItemKind::CastOn(counts) => (0, number(counts)?),
            ItemKind::BindOff(Some(counts)) => (number(counts)?, 0),
            ItemKind::Marker { .. } | ItemKind::JoinYarn => (0, 0),
            _ => return None,
        };
        sum = (sum.0.checked_add(takes)?, sum.1.checked_add(makes)?);
    }
    Some(sum)
}
