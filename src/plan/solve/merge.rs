//! The best choice of a few numbers that meet in sums, by merging tables.
//!
//! A [`Net`] has *choices*, each a number out of a short range, and *rows*,
//! sums of choices that must stay in a range and may cost something. A table
//! lists what a set of choices can come to: for each combination of partial
//! sums in the rows that are still *open* (that other choices have a part in)
//! only the cheapest way, for no other choice can tell ways with the same
//! partial sums apart. At first each choice has its own table; two tables
//! that meet in a row are merged, rows that thereby become complete are
//! checked and paid for, until no row is open and each table has one entry:
//! the best.
//!
//! Cheap merges come first. A first pass is in a hurry: its tables keep only the
//! few entries that promise most. What it finds is seldom far from the best, and
//! is the limit of the pass that counts: there an entry is dropped if its cost,
//! with the least that everything else can cost (`outlook`), is above it, and
//! nothing else is. So it ends with the best choice there is.
//!
//! Knows nothing of what the numbers stand for.

use std::cmp::Ordering;

use super::cost::Cost;
use super::net::Net;
use super::pass::Pass;
use super::tables::{Places, Table, Tables};
use super::{Spent, Steps};

/// How many entries a table may keep in a hurry, at the first try and the next.
const HURRIED: [usize; 2] = [24, 400];

/// The least cost and the value of each choice; nothing if the rows cannot
/// all be kept. Of choices that cost the same it is the one the ties prefer.
pub(super) fn best<C: Cost>(
    net: &Net<C>,
    steps: &mut Steps,
) -> Result<Option<(C, Vec<i64>)>, Spent> {
    // A choice made in a hurry is seldom far from the best one: what would cost
    // more than it need not be looked at.
    let mut limit: Option<C> = None;
    for most in HURRIED {
        let mut pass = Pass::new(net, None, Some(most), steps)?;
        let found = pass.merge_all(u64::MAX, steps)?;
        match (found, pass.cut) {
            (true, false) => return Ok(Some(pass.chosen())),
            (false, false) => return Ok(None),
            (true, true) => limit = Some(pass.paid),
            (false, true) => {}
        }
        if limit.is_some() {
            break;
        }
    }
    let mut pass = Pass::new(net, limit, None, steps)?;
    Ok(pass.merge_all(u64::MAX, steps)?.then(|| pass.chosen()))
}

/// A cost that no choice is below, found without much effort; nothing if the
/// rows are found not to be kept by any.
pub(super) fn floor<C: Cost>(net: &Net<C>, steps: &mut Steps) -> Result<Option<C>, Spent> {
    const LITTLE: u64 = 2_000;
    let mut pass = Pass::new(net, None, None, steps)?;
    Ok(pass.merge_all(LITTLE, steps)?.then(|| pass.least_elsewhere(&[])))
}

impl<C: Cost> Pass<'_, C> {
    /// Merges all tables that meet in a row, as long as a merge looks at no more
    /// than `most` pairs. False if nothing is left.
    fn merge_all(&mut self, most: u64, steps: &mut Steps) -> Result<bool, Spent> {
        for index in 0..self.tables.len() {
            let Some(mut table) = self.tables[index].take() else { continue };
            if table.open.is_empty() {
                self.collapse(&mut table);
            }
            if !self.put(index, table) {
                return Ok(false);
            }
        }
        self.changed = (0..self.net.rows.len()).rev().collect();
        if !self.tidy() {
            return Ok(false);
        }
        // Twice, for what the later tables lost tells of the earlier ones.
        for index in (0..self.tables.len()).chain(0..self.tables.len()) {
            if !self.weed(index, steps)? {
                return Ok(false);
            }
        }
        while let Some((a, b)) = self.next_pair(most) {
            if !self.weed(a, steps)? || !self.weed(b, steps)? || !self.merge(a, b, steps)? {
                return Ok(false);
            }
        }
        let cost = self.least_elsewhere(&[]);
        Ok(!self.too_much(&cost))
    }

    /// The two tables that are best merged next: few pairs, a small outcome.
    fn next_pair(&mut self, most: u64) -> Option<(usize, usize)> {
        for a in 0..self.tables.len() {
            if self.tables[a].is_some() && self.partner[a].is_none() {
                self.partner[a] = self
                    .neighbours(&[a])
                    .iter()
                    .filter_map(|b| {
                        let (pairs, effort) = self.effort(a, b)?;
                        (pairs <= most).then_some((effort, b))
                    })
                    .min();
            }
        }
        let present = (0..self.tables.len()).filter(|&a| self.tables[a].is_some());
        let best = present.filter_map(|a| self.partner[a].map(|(effort, b)| (effort, a, b))).min();
        best.map(|(_, a, b)| (a.min(b), a.max(b)))
    }

    /// The other tables that meet any of these.
    fn neighbours(&self, of: &[usize]) -> Tables {
        let mut met = Tables::none(self.tables.len());
        for table in of.iter().filter_map(|&t| self.tables[t].as_ref()) {
            table.open.iter().for_each(|&row| met.add_all(&self.meets[row]));
        }
        of.iter().for_each(|&t| met.remove(t));
        met
    }

    /// How many pairs there are, and the effort of merging two tables.
    fn effort(&self, a: usize, b: usize) -> Option<(u64, u64)> {
        let (x, y) = (self.tables[a].as_ref()?, self.tables[b].as_ref()?);
        let pairs = (x.len() as u64).saturating_mul(y.len() as u64);
        let reach = |table: &Table<C>, row| {
            table.place(row).map_or(0, |i| table.reach[i].0.abs_diff(table.reach[i].1))
        };
        // What is left of the pairs, were all sums equally frequent.
        let (mut looked, mut left, mut different) = (pairs, pairs, 1_u64);
        for &row in x.open.iter().chain(y.open.iter().filter(|&&r| x.place(r).is_none())) {
            let sums = reach(x, row).saturating_add(reach(y, row)).saturating_add(1);
            if self.meets[row].iter().any(|t| t != a && t != b) {
                different = different.saturating_mul(sums);
            } else {
                let range = self.net.rows[row].high.abs_diff(self.net.rows[row].low);
                let share = |n: u64| (n / sums.max(range)).saturating_mul(range.max(1)).clamp(1, n);
                left = share(left);
                looked = looked.min(share(pairs));
            }
        }
        let effort = looked.saturating_add(left.min(different).saturating_mul(4));
        Some((pairs, effort))
    }

    /// Merges table `b` into `a`. False if nothing is left.
    fn merge(&mut self, a: usize, b: usize, steps: &mut Steps) -> Result<bool, Spent> {
        if self.tables[a].is_none() || self.tables[b].is_none() {
            // One of them was done with meanwhile.
            return Ok(true);
        }
        let (Some(x), Some(y)) = (self.take(a), self.take(b)) else { return Ok(false) };
        let (x, y) = if x.len() <= y.len() { (x, y) } else { (y, x) };
        let plan = Plan::new(self, &x, &y, [a, b]);
        let elsewhere = self.least_elsewhere(&plan.rows);
        let left = self.ranked(&x, &plan.only_left, None);
        // Only those on the right are looked at that can complete a row.
        let narrowest = self.narrowest(&plan, &y);
        let right = self.ranked(&y, &plan.only_right, narrowest.map(|(_, _, r)| r));
        let groups: Vec<&[Ranked<C>]> = right.chunk_by(|a, b| a.sum == b.sum).collect();

        let choices: Vec<usize> = x.choices.iter().chain(&y.choices).copied().collect();
        let mut places = Places::new(plan.open.len());
        let mut table = Table {
            open: plan.open.iter().map(|o| o.0).collect(),
            costs: Vec::new(),
            sums: Vec::new(),
            values: Vec::new(),
            choices,
            reach: Vec::new(),
            least: C::nothing(),
        };
        let mut made_of: Vec<(usize, usize)> = Vec::new();
        let mut sums = Vec::with_capacity(plan.open.len());
        for Ranked { entry: i, expected: expected_left, .. } in &left {
            let mut base = elsewhere.clone();
            base.join(expected_left);
            let s = x.sums(*i);
            let (from, to) = match narrowest {
                None => (0, groups.len()),
                Some((row, l, _)) => {
                    let known = s[l] + self.total[row].0;
                    let row = &self.net.rows[row];
                    (
                        groups.partition_point(|g| g[0].sum < row.low - known),
                        groups.partition_point(|g| g[0].sum <= row.high - known),
                    )
                }
            };
            let mut looked = 1;
            for group in &groups[from..to] {
                for Ranked { entry: j, expected: expected_right, .. } in *group {
                    looked += 1;
                    let mut expected = base.clone();
                    expected.join(expected_right);
                    if self.too_much(&expected) {
                        break;
                    }
                    let t = y.sums(*j);
                    let mut price = C::nothing();
                    let paid = plan.closing.iter().all(|&(row, l, r)| {
                        self.pay(row, self.total[row].0 + s[l] + t[r], &mut price)
                    });
                    if !paid {
                        continue;
                    }
                    expected.join(&price);
                    let possible = plan.shared.iter().all(|&(row, l, r)| {
                        let (low, high) = self.total[row];
                        self.expect(row, s[l] + t[r] + low, s[l] + t[r] + high, &mut expected)
                    });
                    if !possible || self.too_much(&expected) {
                        continue;
                    }
                    let mut cost = x.costs[*i].clone();
                    cost.join(&y.costs[*j]);
                    cost.join(&price);
                    let part = |place: Option<usize>, of: &[i64]| place.map_or(0, |p| of[p]);
                    sums.clear();
                    sums.extend(
                        plan.open
                            .iter()
                            .map(|&(row, l, r)| self.settled(row, part(l, s) + part(r, t))),
                    );
                    let (place, is_new) = places.find(&mut table.sums, &sums);
                    if is_new {
                        table.costs.push(cost);
                        made_of.push((*i, *j));
                        continue;
                    }
                    let (k, l) = made_of[place];
                    let better = cost.cmp(&table.costs[place]).reverse().then_with(|| {
                        let difference = |p: usize| match p.checked_sub(x.choices.len()) {
                            None => x.values(*i)[p] - x.values(k)[p],
                            Some(p) => y.values(*j)[p] - y.values(l)[p],
                        };
                        self.tie(&table.choices, difference)
                    });
                    if better == Ordering::Greater {
                        table.costs[place] = cost;
                        made_of[place] = (*i, *j);
                    }
                }
            }
            steps.take(looked)?;
        }
        for (i, j) in made_of {
            table.values.extend_from_slice(x.values(i));
            table.values.extend_from_slice(y.values(j));
        }
        table.measure();
        for &row in &plan.rows {
            self.meets[row].iter().for_each(|t| self.partner[t] = None);
            self.meets[row].remove(a);
            self.meets[row].remove(b);
        }
        table.open.iter().for_each(|&row| self.meets[row].add(a));
        Ok(self.put(a, table) && self.tidy())
    }

    /// Of the rows that are complete afterwards, the one that fewest entries on
    /// the right can complete, with its places.
    fn narrowest(&self, plan: &Plan, right: &Table<C>) -> Option<(usize, usize, usize)> {
        plan.closing.iter().copied().max_by_key(|&(row, _, r)| {
            let (low, high) = right.reach[r];
            let range = self.net.rows[row].high.abs_diff(self.net.rows[row].low);
            (low.abs_diff(high).saturating_mul(16) / (range + 1), std::cmp::Reverse(row))
        })
    }

    /// The entries of a table with what they cost with the rows that only this
    /// table of the two has a part in: by their sum in one row, then by that cost.
    fn ranked(
        &self,
        table: &Table<C>,
        only: &[(usize, usize)],
        by: Option<usize>,
    ) -> Vec<Ranked<C>> {
        let mut ranked: Vec<Ranked<C>> = (0..table.len())
            .filter_map(|entry| {
                let sums = table.sums(entry);
                let mut expected = table.costs[entry].clone();
                let possible = only.iter().all(|&(row, place)| {
                    let (low, high) = self.total[row];
                    self.expect(row, sums[place] + low, sums[place] + high, &mut expected)
                });
                let sum = by.map_or(0, |place| sums[place]);
                possible.then_some(Ranked { sum, expected, entry })
            })
            .collect();
        ranked.sort_unstable();
        ranked
    }
}

/// An entry of a table that is about to be merged.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Ranked<C> {
    sum: i64,
    expected: C,
    entry: usize,
}

/// What becomes of the rows of two tables that are merged.
struct Plan {
    /// All rows open in either.
    rows: Vec<usize>,
    /// Complete afterwards: the row, its places left and right.
    closing: Vec<(usize, usize, usize)>,
    /// Open in both and afterwards.
    shared: Vec<(usize, usize, usize)>,
    /// Open in one of them only: the row and its place.
    only_left: Vec<(usize, usize)>,
    only_right: Vec<(usize, usize)>,
    /// All that are open afterwards, in order, with their places.
    open: Vec<(usize, Option<usize>, Option<usize>)>,
}

impl Plan {
    fn new<C: Cost>(pass: &Pass<C>, x: &Table<C>, y: &Table<C>, pair: [usize; 2]) -> Self {
        let mut rows: Vec<usize> = x.open.iter().chain(&y.open).copied().collect();
        rows.sort_unstable();
        rows.dedup();
        let mut plan = Self {
            rows: Vec::new(),
            closing: Vec::new(),
            shared: Vec::new(),
            only_left: Vec::new(),
            only_right: Vec::new(),
            open: Vec::new(),
        };
        for &row in &rows {
            let places = (x.place(row), y.place(row));
            match places {
                (Some(l), Some(r)) if pass.meets[row].iter().all(|t| pair.contains(&t)) => {
                    plan.closing.push((row, l, r));
                    continue;
                }
                (Some(l), Some(r)) => plan.shared.push((row, l, r)),
                (Some(l), None) => plan.only_left.push((row, l)),
                (None, Some(r)) => plan.only_right.push((row, r)),
                (None, None) => continue,
            }
            plan.open.push((row, places.0, places.1));
        }
        plan.rows = rows;
        plan
    }
}
