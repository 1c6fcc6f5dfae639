//! One pass over a net: its tables, what they are sure to cost, and what follows
//! where one of them changes.
//!
//! Knows nothing of which tables are merged, and when.

use std::cmp::Ordering;

use super::cost::Cost;
use super::net::Net;
use super::outlook::Outlook;
use super::tables::{Places, Table, Tables};
use super::{Spent, Steps};

/// A table with fewer entries is not worth a look around.
const LONG: usize = 40;

/// One pass over a net.
pub(super) struct Pass<'a, C: Cost> {
    pub(super) net: &'a Net<C>,
    /// No more than this may be spent in all.
    limit: Option<C>,
    /// No table keeps more entries than this: the pass is in a hurry.
    pub(super) most: Option<usize>,
    /// Whether an entry was given up for that.
    pub(super) cut: bool,
    pub(super) tables: Vec<Option<Table<C>>>,
    /// The tables that each row is open in; none when it is complete, or
    /// sure to be kept.
    pub(super) meets: Vec<Tables>,
    /// What all choices together add to each row, at least and at most, but
    /// for the tables that are being worked on.
    pub(super) total: Vec<(i64, i64)>,
    /// The least that each open row costs.
    row_least: Vec<C>,
    /// What complete rows cost that are in no table.
    pub(super) paid: C,
    /// The choices that are made, and their values.
    made: Vec<(usize, i64)>,
    /// Rows whose total may have changed.
    pub(super) changed: Vec<usize>,
    /// For each table, the best one to merge it with and the effort; not known if
    /// anything near it has changed.
    pub(super) partner: Vec<Option<(u64, usize)>>,
    /// The tables that have been weeded since anything near them changed.
    weeded: Tables,
    scratch: Vec<i64>,
}

impl<'a, C: Cost> Pass<'a, C> {
    pub(super) fn new(
        net: &'a Net<C>,
        limit: Option<C>,
        most: Option<usize>,
        steps: &mut Steps,
    ) -> Result<Self, Spent> {
        let mut meets = vec![Tables::none(net.choices.len()); net.rows.len()];
        for (i, choice) in net.choices.iter().enumerate() {
            choice.parts.iter().for_each(|p| meets[p.0].add(i));
        }
        let mut pass = Self {
            net,
            limit,
            most,
            cut: false,
            tables: Vec::new(),
            meets,
            total: vec![(0, 0); net.rows.len()],
            row_least: vec![C::nothing(); net.rows.len()],
            paid: C::nothing(),
            made: Vec::new(),
            changed: Vec::new(),
            partner: vec![None; net.choices.len()],
            weeded: Tables::none(net.choices.len()),
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
    pub(super) fn pay(&self, row: usize, value: i64, cost: &mut C) -> bool {
        let row = &self.net.rows[row];
        let inside = row.low <= value && value <= row.high;
        if inside {
            row.charge(value, cost);
        }
        inside
    }

    /// Adds the least that a row can cost whose value lies from `low` to `high`.
    /// False if that is out of its range.
    pub(super) fn expect(&self, index: usize, low: i64, high: i64, cost: &mut C) -> bool {
        let row = &self.net.rows[index];
        let (low, high) = (low.max(row.low), high.min(row.high));
        if low > high {
            return false;
        }
        row.charge(row.cheapest.clamp(low, high), cost);
        true
    }

    /// The least that everything but the given open rows, and the tables that
    /// are being worked on, costs.
    pub(super) fn least_elsewhere(&self, without: &[usize]) -> C {
        self.least_beyond(without, &Tables::none(self.tables.len()))
    }

    /// [`Self::least_elsewhere`] without what some tables cost.
    fn least_beyond(&self, without: &[usize], near: &Tables) -> C {
        let mut cost = self.paid.clone();
        for (index, table) in self.tables.iter().enumerate() {
            if let Some(table) = table.as_ref().filter(|_| !near.has(index)) {
                cost.join(&table.least);
            }
        }
        for (row, meets) in self.meets.iter().enumerate() {
            if !meets.is_empty() && !self.net.rows[row].is_free() && !without.contains(&row) {
                cost.join(&self.row_least[row]);
            }
        }
        cost
    }

    pub(super) fn too_much(&self, cost: &C) -> bool {
        self.limit.as_ref().is_some_and(|limit| cost > limit)
    }

    /// Takes a table out to work on it.
    pub(super) fn take(&mut self, index: usize) -> Option<Table<C>> {
        let table = self.tables[index].take()?;
        for (&row, reach) in table.open.iter().zip(&table.reach) {
            let total = &mut self.total[row];
            *total = (total.0 - reach.0, total.1 - reach.1);
        }
        Some(table)
    }

    /// Puts a table in its place. One with a single entry has nothing left to
    /// decide, and is done with. False if it is empty.
    pub(super) fn put(&mut self, index: usize, table: Table<C>) -> bool {
        if table.len() == 0 {
            return false;
        }
        let done = table.len() == 1;
        for (&row, reach) in table.open.iter().zip(&table.reach) {
            let total = &mut self.total[row];
            *total = (total.0 + reach.0, total.1 + reach.1);
            self.meets[row].iter().for_each(|t| self.partner[t] = None);
            self.weeded.remove_all(&self.meets[row]);
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
    pub(super) fn tidy(&mut self) -> bool {
        while let Some(row) = self.changed.pop() {
            let (low, high) = self.total[row];
            let whole = &self.net.rows[row];
            let sure = whole.is_free() && whole.low <= low && high <= whole.high;
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
    pub(super) fn collapse(&mut self, table: &mut Table<C>) {
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
    pub(super) fn weed(&mut self, index: usize, steps: &mut Steps) -> Result<bool, Spent> {
        if self.weeded.has(index) {
            // What far tables have lost since is left to their own neighbours.
            return Ok(true);
        }
        let Some(mut table) = self.take(index) else { return Ok(true) };
        steps.take(table.len() as u64)?;
        let (mut views, elsewhere) = self.views(index, &table);
        let mut kept: Vec<(C, usize)> = Vec::with_capacity(table.len());
        for entry in 0..table.len() {
            let mut cost = elsewhere.clone();
            cost.join(&table.costs[entry]);
            let rows = table.open.iter().zip(table.sums(entry)).zip(&mut views);
            let mut possible = true;
            for ((&row, &sum), view) in rows {
                possible &= match view {
                    Some(outlook) => outlook.expect(&self.net.rows[row], sum, &mut cost),
                    None => {
                        let (low, high) = self.total[row];
                        self.expect(row, sum + low, sum + high, &mut cost)
                    }
                };
            }
            if possible && !self.too_much(&cost) {
                kept.push((cost, entry));
            }
        }
        if let Some(most) = self.most.filter(|&most| kept.len() > most) {
            kept.sort_unstable();
            kept.truncate(most);
            self.cut = true;
        }
        if kept.len() == table.len() {
            // Nothing has changed, so there is nothing to conclude.
            for (&row, reach) in table.open.iter().zip(&table.reach) {
                let total = &mut self.total[row];
                *total = (total.0 + reach.0, total.1 + reach.1);
            }
            self.tables[index] = Some(table);
            self.weeded.add(index);
            return Ok(true);
        }
        let mut keep = vec![false; table.len()];
        kept.iter().for_each(|&(_, entry)| keep[entry] = true);
        table.retain(|entry| keep[entry]);
        Ok(self.put(index, table) && self.tidy())
    }

    /// The outlook from a table that is being worked on in each of its open rows,
    /// with the least that everything costs that is in none of them. Where another
    /// table meets this one in two rows, only one of these looks as far as that
    /// table; and a short table is not worth a look around.
    fn views(&self, index: usize, table: &Table<C>) -> (Vec<Option<Outlook<C>>>, C) {
        let mut views: Vec<Option<Outlook<C>>> = table.open.iter().map(|_| None).collect();
        let mut seen = Tables::none(self.tables.len());
        let mut places: Vec<usize> = (0..table.open.len()).collect();
        places.sort_by_key(|&place| std::cmp::Reverse(self.meets[table.open[place]].len()));
        for place in places.into_iter().filter(|_| table.len() >= LONG) {
            let row = table.open[place];
            let mut others = self.meets[row].clone();
            others.remove(index);
            if others.iter().any(|t| seen.has(t)) {
                continue;
            }
            views[place] = self.outlook(row, &others);
            if views[place].is_some() {
                seen.add_all(&others);
            }
        }
        let elsewhere = self.least_beyond(&table.open, &seen);
        (views, elsewhere)
    }

    /// What these tables, all there are in a row but one, can add to it.
    fn outlook(&self, row: usize, tables: &Tables) -> Option<Outlook<C>> {
        let others: Vec<(&Table<C>, usize)> = tables
            .iter()
            .filter_map(|t| self.tables[t].as_ref())
            .filter_map(|t| Some((t, t.place(row)?)))
            .collect();
        // The rest of the row is made already.
        let open: i64 = others.iter().map(|(other, place)| other.reach[*place].0).sum();
        let made = Outlook::of(self.total[row].0 - open);
        others.iter().try_fold(made, |outlook, &(other, place)| {
            outlook.with((0..other.len()).map(|e| (other.sums(e)[place], &other.costs[e])))
        })
    }

    /// What is chosen when all is merged.
    pub(super) fn chosen(self) -> (C, Vec<i64>) {
        let mut values = vec![0; self.net.choices.len()];
        for (choice, value) in self.made {
            values[choice] = value;
        }
        (self.paid, values)
    }

    /// A row without cost that a sum keeps whatever the rest adds: all such
    /// sums are alike, so one stands for them.
    pub(super) fn settled(&self, row: usize, sum: i64) -> i64 {
        let ((low, high), row) = (self.total[row], &self.net.rows[row]);
        let (from, to) = (row.low - low, row.high - high);
        if row.is_free() && from <= sum && sum <= to { from } else { sum }
    }

    /// How the ties order two sets of values that differ by `difference`.
    pub(super) fn tie(&mut self, choices: &[usize], difference: impl Fn(usize) -> i64) -> Ordering {
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
