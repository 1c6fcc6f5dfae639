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
//! A pass over the net has a limit: an entry is dropped when its cost, with
//! the least that everything else can cost, is above it. A pass that ends with
//! a choice has the best there is; if it ends without, the next may spend more.
//!
//! Knows nothing of what the numbers stand for.

use std::cmp::Ordering;

use super::cost::Cost;
use super::{Spent, Steps};

/// Choices and the rows they meet in.
pub(super) struct Net<C> {
    pub(super) rows: Vec<Row<C>>,
    pub(super) choices: Vec<Choice>,
    /// Between choices of the same cost: sums of choices, by choice and factor,
    /// of which the first that differs decides, for the larger.
    pub(super) ties: Vec<Vec<(usize, i64)>>,
}

/// A sum of choices.
pub(super) struct Row<C> {
    pub(super) low: i64,
    pub(super) high: i64,
    /// The cost of each value from `low` to `high`; empty where there is none.
    /// They must first fall, then rise.
    pub(super) costs: Vec<C>,
}

/// A number from `low` to `high`.
pub(super) struct Choice {
    pub(super) low: i64,
    pub(super) high: i64,
    /// In which rows it counts, and how often.
    pub(super) parts: Vec<(usize, i64)>,
}

/// The least cost and the value of each choice; nothing if the rows cannot
/// all be kept. Of choices that cost the same it is the one the ties prefer.
pub(super) fn best<C: Cost>(
    net: &Net<C>,
    steps: &mut Steps,
) -> Result<Option<(C, Vec<i64>)>, Spent> {
    // At first nothing may cost more than the least that was thought possible,
    // then twice as far above that, and so on: little is listed in vain.
    let mut start: Option<C> = None;
    let mut limit = C::nothing();
    for pass in 0.. {
        if pass == 2 {
            match floor(net, steps)? {
                Some(floor) => limit = limit.max(floor),
                None => return Ok(None),
            }
        }
        let mut pass = Pass::new(net, Some(limit.clone()), steps)?;
        if pass.merge_all(u64::MAX, steps)? {
            return Ok(Some(pass.chosen()));
        }
        let Some(next) = pass.refused else { return Ok(None) };
        let start = start.get_or_insert_with(|| next.clone());
        limit = if limit > *start { limit.further_from(start).max(next) } else { next };
    }
    Err(Spent)
}

/// A cost that no choice is below, found without much effort; nothing if the
/// rows are found not to be kept by any.
pub(super) fn floor<C: Cost>(net: &Net<C>, steps: &mut Steps) -> Result<Option<C>, Spent> {
    const LITTLE: u64 = 2_000;
    let mut pass = Pass::new(net, None, steps)?;
    Ok(pass.merge_all(LITTLE, steps)?.then(|| pass.least_elsewhere(&[])))
}

/// What a set of choices can come to.
struct Table<C> {
    choices: Vec<usize>,
    /// The rows that other choices have a part in too, in order.
    open: Vec<usize>,
    costs: Vec<C>,
    /// For each entry, its sum in each open row.
    sums: Vec<i64>,
    /// For each entry, the value of each choice.
    values: Vec<i64>,
    /// For each open row, the smallest and the largest sum of any entry.
    reach: Vec<(i64, i64)>,
    /// The least cost of any entry.
    least: C,
}

impl<C: Cost> Table<C> {
    fn len(&self) -> usize {
        self.costs.len()
    }

    fn sums(&self, entry: usize) -> &[i64] {
        &self.sums[entry * self.open.len()..(entry + 1) * self.open.len()]
    }

    fn values(&self, entry: usize) -> &[i64] {
        &self.values[entry * self.choices.len()..(entry + 1) * self.choices.len()]
    }

    fn place(&self, row: usize) -> Option<usize> {
        self.open.binary_search(&row).ok()
    }

    /// Keeps the entries for which `keep` holds, in order.
    fn retain(&mut self, keep: impl Fn(usize) -> bool) {
        let (rows, choices) = (self.open.len(), self.choices.len());
        let mut to = 0;
        for from in (0..self.len()).filter(|&e| keep(e)) {
            if from != to {
                self.costs.swap(from, to);
                self.sums.copy_within(from * rows..(from + 1) * rows, to * rows);
                self.values.copy_within(from * choices..(from + 1) * choices, to * choices);
            }
            to += 1;
        }
        self.costs.truncate(to);
        self.sums.truncate(to * rows);
        self.values.truncate(to * choices);
        self.measure();
    }

    /// Forgets an open row.
    fn forget(&mut self, place: usize) {
        let rows = self.open.len();
        self.open.remove(place);
        let mut at = 0;
        self.sums.retain(|_| {
            at += 1;
            (at - 1) % rows != place
        });
        self.reach.remove(place);
    }

    /// Brings `reach` and `least` up to date.
    fn measure(&mut self) {
        let rows = self.open.len();
        self.reach.clear();
        self.reach.resize(rows, (i64::MAX, i64::MIN));
        if rows > 0 {
            for sums in self.sums.chunks_exact(rows) {
                for (reach, &sum) in self.reach.iter_mut().zip(sums) {
                    *reach = (reach.0.min(sum), reach.1.max(sum));
                }
            }
        }
        self.least = self.costs.iter().min().cloned().unwrap_or_else(C::nothing);
    }
}

/// A set of tables.
#[derive(Clone, PartialEq, Eq, Debug)]
struct Tables(Vec<u64>);

impl Tables {
    fn none(of: usize) -> Self {
        Self(vec![0; of.div_ceil(64).max(1)])
    }

    fn add(&mut self, table: usize) {
        self.0[table / 64] |= 1 << (table % 64);
    }

    fn remove(&mut self, table: usize) {
        self.0[table / 64] &= !(1 << (table % 64));
    }

    fn add_all(&mut self, other: &Self) {
        self.0.iter_mut().zip(&other.0).for_each(|(a, b)| *a |= b);
    }

    fn len(&self) -> usize {
        self.0.iter().map(|word| word.count_ones() as usize).sum()
    }

    fn is_empty(&self) -> bool {
        self.0.iter().all(|&word| word == 0)
    }

    fn iter(&self) -> impl Iterator<Item = usize> + '_ {
        self.0.iter().enumerate().flat_map(|(i, &word)| {
            let next = |&word: &u64| Some(word & (word - 1)).filter(|&rest| rest != 0);
            std::iter::successors((word != 0).then_some(word), next)
                .map(move |word| i * 64 + word.trailing_zeros() as usize)
        })
    }
}

/// Finds the place of sums in a list of sums.
struct Places {
    slots: Vec<u32>,
    width: usize,
    used: usize,
}

impl Places {
    fn new(width: usize) -> Self {
        Self { slots: vec![u32::MAX; 64], width, used: 0 }
    }

    fn start(&self, sums: &[i64]) -> usize {
        let mixed = sums.iter().fold(0_u64, |mixed, &sum| {
            (mixed.rotate_left(5) ^ sum as u64).wrapping_mul(0x517c_c1b7_2722_0a95)
        });
        (mixed >> 32) as usize & (self.slots.len() - 1)
    }

    fn slot(&self, all: &[i64], sums: &[i64]) -> usize {
        let mut slot = self.start(sums);
        while self.slots[slot] != u32::MAX {
            let at = self.slots[slot] as usize * self.width;
            if all[at..at + self.width] == *sums {
                break;
            }
            slot = (slot + 1) & (self.slots.len() - 1);
        }
        slot
    }

    /// Where `sums` are in `all`; if they are not, they are added there.
    fn find(&mut self, all: &mut Vec<i64>, sums: &[i64]) -> (usize, bool) {
        if self.used * 2 > self.slots.len() {
            self.slots = vec![u32::MAX; self.slots.len() * 4];
            for entry in 0..self.used {
                let slot = self.slot(all, &all[entry * self.width..(entry + 1) * self.width]);
                self.slots[slot] = entry as u32;
            }
        }
        let slot = self.slot(all, sums);
        let is_new = self.slots[slot] == u32::MAX;
        if is_new {
            self.slots[slot] = self.used as u32;
            self.used += 1;
            all.extend_from_slice(sums);
        }
        (self.slots[slot] as usize, is_new)
    }
}

struct Pass<'a, C> {
    net: &'a Net<C>,
    /// No more than this may be spent in all.
    limit: Option<C>,
    /// The least that anything costs that was refused for its cost.
    refused: Option<C>,
    tables: Vec<Option<Table<C>>>,
    /// The place of the cheapest value of each row with costs.
    cheapest: Vec<i64>,
    /// The tables that each row is open in; none when it is complete, or
    /// sure to be kept.
    meets: Vec<Tables>,
    /// What all choices together add to each row, at least and at most, but
    /// for the tables that are being worked on.
    total: Vec<(i64, i64)>,
    /// The least that each open row costs.
    row_least: Vec<C>,
    /// What complete rows cost that are in no table.
    paid: C,
    /// The choices that are made, and their values.
    made: Vec<(usize, i64)>,
    /// Rows whose total may have changed.
    changed: Vec<usize>,
    /// For each table, the best one to merge it with; not known if anything
    /// near it has changed.
    partner: Vec<Option<(Effort, usize)>>,
    scratch: Vec<i64>,
}

/// How many other tables the outcome meets, how much there is to do; smaller
/// is better.
type Effort = (usize, u64);

impl<'a, C: Cost> Pass<'a, C> {
    fn new(net: &'a Net<C>, limit: Option<C>, steps: &mut Steps) -> Result<Self, Spent> {
        let mut meets = vec![Tables::none(net.choices.len()); net.rows.len()];
        for (i, choice) in net.choices.iter().enumerate() {
            choice.parts.iter().for_each(|p| meets[p.0].add(i));
        }
        let cheapest = net.rows.iter().map(|row| {
            let place = (0..row.costs.len()).min_by(|&a, &b| row.costs[a].cmp(&row.costs[b]));
            row.low + i64::try_from(place.unwrap_or(0)).unwrap_or(0)
        });
        let mut pass = Self {
            net,
            limit,
            refused: None,
            tables: Vec::new(),
            cheapest: cheapest.collect(),
            meets,
            total: vec![(0, 0); net.rows.len()],
            row_least: vec![C::nothing(); net.rows.len()],
            paid: C::nothing(),
            made: Vec::new(),
            changed: Vec::new(),
            partner: vec![None; net.choices.len()],
            scratch: vec![0; net.choices.len()],
        };
        for choice in 0..net.choices.len() {
            let table = pass.single(choice, steps)?;
            pass.tables.push(Some(table));
        }
        for meets in &mut pass.meets {
            if meets.len() == 1 {
                *meets = Tables::none(net.choices.len());
            }
        }
        Ok(pass)
    }

    /// The table of one choice alone; rows that only it has a part in are paid.
    fn single(&self, index: usize, steps: &mut Steps) -> Result<Table<C>, Spent> {
        let choice = &self.net.choices[index];
        let alone = |p: &&(usize, i64)| self.meets[p.0].len() == 1;
        let own: Vec<_> = choice.parts.iter().filter(alone).copied().collect();
        let mut shared: Vec<_> = choice.parts.iter().filter(|p| !alone(p)).copied().collect();
        shared.sort_unstable();
        let mut table = Table {
            choices: vec![index],
            open: shared.iter().map(|p| p.0).collect(),
            costs: Vec::new(),
            sums: Vec::new(),
            values: Vec::new(),
            reach: Vec::new(),
            least: C::nothing(),
        };
        steps.take(choice.high.abs_diff(choice.low))?;
        'values: for value in choice.low..=choice.high {
            let mut cost = C::nothing();
            for &(row, factor) in &own {
                if !self.pay(row, factor * value, &mut cost) {
                    continue 'values;
                }
            }
            table.costs.push(cost);
            table.values.push(value);
            table.sums.extend(shared.iter().map(|&(_, factor)| factor * value));
        }
        table.measure();
        Ok(table)
    }

    /// Adds what a complete row costs. False if the value is out of its range.
    fn pay(&self, row: usize, value: i64, cost: &mut C) -> bool {
        let row = &self.net.rows[row];
        let inside = row.low <= value && value <= row.high;
        if inside && !row.costs.is_empty() {
            cost.join(&row.costs[(value - row.low) as usize]);
        }
        inside
    }

    /// Adds the least that a row can cost whose value lies from `low` to `high`.
    /// False if that is out of its range.
    fn expect(&self, index: usize, low: i64, high: i64, cost: &mut C) -> bool {
        let row = &self.net.rows[index];
        let (low, high) = (low.max(row.low), high.min(row.high));
        if low > high {
            return false;
        }
        if !row.costs.is_empty() {
            let value = self.cheapest[index].clamp(low, high);
            cost.join(&row.costs[(value - row.low) as usize]);
        }
        true
    }

    /// The least that everything but the given open rows, and the tables that
    /// are being worked on, costs.
    fn least_elsewhere(&self, without: &[usize]) -> C {
        let mut cost = self.paid.clone();
        self.tables.iter().flatten().for_each(|table| cost.join(&table.least));
        for (row, meets) in self.meets.iter().enumerate() {
            if !meets.is_empty() && !self.net.rows[row].costs.is_empty() && !without.contains(&row)
            {
                cost.join(&self.row_least[row]);
            }
        }
        cost
    }

    fn too_much(&mut self, cost: &C) -> bool {
        let too_much = self.limit.as_ref().is_some_and(|limit| cost > limit);
        if too_much && self.refused.as_ref().is_none_or(|least| cost < least) {
            self.refused = Some(cost.clone());
        }
        too_much
    }

    /// Takes a table out to work on it.
    fn take(&mut self, index: usize) -> Option<Table<C>> {
        let table = self.tables[index].take()?;
        for (&row, reach) in table.open.iter().zip(&table.reach) {
            let total = &mut self.total[row];
            *total = (total.0 - reach.0, total.1 - reach.1);
        }
        Some(table)
    }

    /// Puts a table in its place. One with a single entry has nothing left to
    /// decide, and is done with. False if it is empty.
    fn put(&mut self, index: usize, table: Table<C>) -> bool {
        if table.len() == 0 {
            return false;
        }
        let done = table.len() == 1;
        for (&row, reach) in table.open.iter().zip(&table.reach) {
            let total = &mut self.total[row];
            *total = (total.0 + reach.0, total.1 + reach.1);
            self.meets[row].iter().for_each(|t| self.partner[t] = None);
            self.changed.push(row);
            if done {
                self.meets[row].remove(index);
            }
        }
        if done {
            self.paid.join(&table.least);
            self.made.extend(table.choices.iter().copied().zip(table.values.iter().copied()));
            for &row in &table.open {
                if self.meets[row].is_empty() {
                    let mut price = C::nothing();
                    if !self.pay(row, self.total[row].0, &mut price) {
                        return false;
                    }
                    self.paid.join(&price);
                }
            }
        } else {
            self.tables[index] = Some(table);
        }
        true
    }

    /// Draws conclusions from totals that have changed: rows that are open in
    /// one table only are paid there, rows that are sure to be kept forgotten.
    /// False if a row cannot be kept.
    fn tidy(&mut self) -> bool {
        while let Some(row) = self.changed.pop() {
            let (low, high) = self.total[row];
            let whole = &self.net.rows[row];
            let sure = whole.costs.is_empty() && whole.low <= low && high <= whole.high;
            match self.meets[row].len() {
                0 => {}
                1 if !sure => {
                    let Some(index) = self.meets[row].iter().next() else { continue };
                    self.meets[row].remove(index);
                    let Some(mut table) = self.take(index) else { continue };
                    let Some(place) = table.place(row) else { continue };
                    let rest = self.total[row].0;
                    let mut keep = Vec::with_capacity(table.len());
                    for entry in 0..table.len() {
                        let value = table.sums(entry)[place] + rest;
                        let mut cost = table.costs[entry].clone();
                        keep.push(self.pay(row, value, &mut cost));
                        table.costs[entry] = cost;
                    }
                    table.retain(|entry| keep[entry]);
                    table.forget(place);
                    self.collapse(&mut table);
                    if !self.put(index, table) {
                        return false;
                    }
                }
                _ if sure => {
                    let none = Tables::none(self.tables.len());
                    for index in std::mem::replace(&mut self.meets[row], none).iter() {
                        let Some(mut table) = self.take(index) else { continue };
                        let Some(place) = table.place(row) else { continue };
                        table.forget(place);
                        self.collapse(&mut table);
                        if !self.put(index, table) {
                            return false;
                        }
                    }
                }
                _ => {
                    let mut least = C::nothing();
                    if !self.expect(row, low, high, &mut least) {
                        return false;
                    }
                    self.row_least[row] = least;
                }
            }
        }
        true
    }

    /// Of the entries with the same sums, keeps the best only.
    fn collapse(&mut self, table: &mut Table<C>) {
        let width = table.open.len();
        let (mut places, mut sums) = (Places::new(width), Vec::new());
        let mut chosen: Vec<usize> = Vec::new();
        for entry in 0..table.len() {
            let (place, is_new) = places.find(&mut sums, table.sums(entry));
            if is_new {
                chosen.push(entry);
                continue;
            }
            let old = chosen[place];
            let better = table.costs[entry].cmp(&table.costs[old]).reverse().then_with(|| {
                let difference = |p: usize| table.values(entry)[p] - table.values(old)[p];
                self.tie(&table.choices, difference)
            });
            if better == Ordering::Greater {
                chosen[place] = entry;
            }
        }
        if chosen.len() < table.len() {
            let mut keep = vec![false; table.len()];
            chosen.iter().for_each(|&entry| keep[entry] = true);
            table.retain(|entry| keep[entry]);
        }
    }

    /// Drops the entries of a table that can be in no wanted choice. False if
    /// none is left.
    fn weed(&mut self, index: usize, steps: &mut Steps) -> Result<bool, Spent> {
        let Some(mut table) = self.take(index) else { return Ok(true) };
        let elsewhere = self.least_elsewhere(&table.open);
        steps.take(table.len() as u64)?;
        let mut keep = Vec::with_capacity(table.len());
        for entry in 0..table.len() {
            let mut cost = elsewhere.clone();
            cost.join(&table.costs[entry]);
            let possible = table.open.iter().zip(table.sums(entry)).all(|(&row, &sum)| {
                let (low, high) = self.total[row];
                self.expect(row, sum + low, sum + high, &mut cost)
            });
            keep.push(possible && !self.too_much(&cost));
        }
        if keep.iter().all(|&k| k) {
            // Nothing has changed, so there is nothing to conclude.
            for (&row, reach) in table.open.iter().zip(&table.reach) {
                let total = &mut self.total[row];
                *total = (total.0 + reach.0, total.1 + reach.1);
            }
            self.tables[index] = Some(table);
            return Ok(true);
        }
        table.retain(|entry| keep[entry]);
        Ok(self.put(index, table) && self.tidy())
    }

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

    /// What is chosen when all is merged.
    fn chosen(self) -> (C, Vec<i64>) {
        let mut values = vec![0; self.net.choices.len()];
        for (choice, value) in self.made {
            values[choice] = value;
        }
        (self.paid, values)
    }

    /// The two tables that are best merged next: where the outcome meets few
    /// others, then few pairs, a small outcome.
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
    fn effort(&self, a: usize, b: usize) -> Option<(u64, Effort)> {
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
        Some((pairs, (self.neighbours(&[a, b]).len(), effort)))
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

    /// A row without cost that a sum keeps whatever the rest adds: all such
    /// sums are alike, so one stands for them.
    fn settled(&self, row: usize, sum: i64) -> i64 {
        let ((low, high), row) = (self.total[row], &self.net.rows[row]);
        let (from, to) = (row.low - low, row.high - high);
        if row.costs.is_empty() && from <= sum && sum <= to { from } else { sum }
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

    /// How the ties order two sets of values that differ by `difference`.
    fn tie(&mut self, choices: &[usize], difference: impl Fn(usize) -> i64) -> Ordering {
        for (place, &choice) in choices.iter().enumerate() {
            self.scratch[choice] = difference(place);
        }
        let decided = self.net.ties.iter().find_map(|tie| {
            let sum = tie.iter().map(|&(c, f)| i128::from(f) * i128::from(self.scratch[c]));
            let sum: i128 = sum.sum();
            (sum != 0).then(|| sum.cmp(&0))
        });
        choices.iter().for_each(|&choice| self.scratch[choice] = 0);
        decided.unwrap_or(Ordering::Equal)
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
