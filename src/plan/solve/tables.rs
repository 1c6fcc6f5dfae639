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
//! An entry is dropped early when its cost, with the least that everything
//! else can cost, is more than a choice already known. Such a choice comes
//! from a first pass that keeps only the most promising entries of each
//! table. A pass that had to leave out nothing but provably worse entries has
//! the best there is.
//!
//! Knows nothing of what the numbers stand for.

use std::cmp::Ordering;

use super::cost::Cost;
use super::{Spent, Steps};

/// How many entries a table may keep, pass by pass.
const KEPT: [usize; 3] = [24, 600, usize::MAX];

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
/// all be kept. Without `enough` it is the choice that the ties prefer. With it
/// it is any of the best, or else the first found that costs no more than that.
pub(super) fn best<C: Cost>(
    net: &Net<C>,
    enough: Option<&C>,
    steps: &mut Steps,
) -> Result<Option<(C, Vec<i64>)>, Spent> {
    let mut found: Option<(C, Vec<i64>)> = None;
    for kept in KEPT {
        let limit = found.as_ref().map(|f| f.0.clone());
        let mut pass = Pass::new(net, kept, limit, enough.is_some(), steps)?;
        if let Some(better) = pass.run(steps)? {
            found = Some(better);
        }
        let stop = enough.zip(found.as_ref()).is_some_and(|(enough, (cost, _))| cost <= enough);
        if stop || !pass.cut {
            return Ok(found);
        }
    }
    Err(Spent)
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

    fn reach(&self, row: usize) -> (i64, i64) {
        self.place(row).map_or((0, 0), |i| self.reach[i])
    }

    /// Keeps the entries for which `keep` holds, in order.
    fn retain(&mut self, keep: &[bool]) {
        let (rows, choices) = (self.open.len(), self.choices.len());
        let mut to = 0;
        for from in (0..self.len()).filter(|&e| keep[e]) {
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

    /// Brings `reach` and `least` up to date.
    fn measure(&mut self) {
        let rows = self.open.len();
        self.reach.clear();
        self.reach.resize(rows, (i64::MAX, i64::MIN));
        for entry in 0..self.costs.len() {
            for (reach, &sum) in self.reach.iter_mut().zip(&self.sums[entry * rows..]) {
                *reach = (reach.0.min(sum), reach.1.max(sum));
            }
        }
        self.least = self.costs.iter().min().cloned().unwrap_or_else(C::nothing);
    }
}

struct Pass<'a, C> {
    net: &'a Net<C>,
    /// How many entries a table may keep.
    kept: usize,
    /// No more than this may be spent in all.
    limit: Option<C>,
    /// Nor as much.
    strict: bool,
    /// Entries were left out that might have been better.
    cut: bool,
    tables: Vec<Option<Table<C>>>,
    /// The place of the cheapest value of each row with costs.
    cheapest: Vec<i64>,
    /// The tables that each row is open in.
    meets: Vec<Vec<usize>>,
}

impl<'a, C: Cost> Pass<'a, C> {
    fn new(
        net: &'a Net<C>,
        kept: usize,
        limit: Option<C>,
        strict: bool,
        steps: &mut Steps,
    ) -> Result<Self, Spent> {
        let mut meets = vec![Vec::new(); net.rows.len()];
        for (i, choice) in net.choices.iter().enumerate() {
            choice.parts.iter().for_each(|p| meets[p.0].push(i));
        }
        let cheapest = net.rows.iter().map(|row| {
            let place = (0..row.costs.len()).min_by(|&a, &b| row.costs[a].cmp(&row.costs[b]));
            row.low + i64::try_from(place.unwrap_or(0)).unwrap_or(0)
        });
        let cheapest = cheapest.collect();
        let mut pass =
            Self { net, kept, limit, strict, cut: false, tables: Vec::new(), cheapest, meets };
        for choice in 0..net.choices.len() {
            let table = pass.single(choice, steps)?;
            pass.tables.push(Some(table));
        }
        for meets in &mut pass.meets {
            if meets.len() == 1 {
                meets.clear();
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
        if table.open.is_empty() {
            self.keep_one(&mut table);
        }
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

    /// What all tables but the given ones add to a row, at least and at most.
    fn rest(&self, row: usize, without: [usize; 2]) -> (i64, i64) {
        let others = self.meets[row].iter().filter(|t| !without.contains(t));
        others.filter_map(|&t| self.tables[t].as_ref()).fold((0, 0), |(low, high), table| {
            let (a, b) = table.reach(row);
            (low + a, high + b)
        })
    }

    /// The least that everything but the given tables and their open rows costs.
    /// Nothing if a row cannot be kept.
    fn least_elsewhere(&self, without: [usize; 2]) -> Option<C> {
        let mut cost = C::nothing();
        for (i, table) in self.tables.iter().enumerate() {
            if let Some(table) = table.as_ref().filter(|_| !without.contains(&i)) {
                cost.join(&table.least);
            }
        }
        for (row, meets) in self.meets.iter().enumerate() {
            if !meets.is_empty() && !meets.iter().any(|t| without.contains(t)) {
                let (low, high) = self.rest(row, without);
                if !self.expect(row, low, high, &mut cost) {
                    return None;
                }
            }
        }
        Some(cost)
    }

    fn too_much(&self, cost: &C) -> bool {
        self.limit
            .as_ref()
            .is_some_and(|limit| if self.strict { cost >= limit } else { cost > limit })
    }

    /// Drops the entries of a table that can be in no wanted choice. False if
    /// none is left.
    fn weed(&mut self, index: usize, steps: &mut Steps) -> Result<bool, Spent> {
        let Some(elsewhere) = self.least_elsewhere([index, index]) else { return Ok(false) };
        let Some(mut table) = self.tables[index].take() else { return Ok(true) };
        steps.take(table.len() as u64)?;
        let rests: Vec<_> = table.open.iter().map(|&r| self.rest(r, [index, index])).collect();
        let mut keep = Vec::with_capacity(table.len());
        for entry in 0..table.len() {
            let mut cost = elsewhere.clone();
            cost.join(&table.costs[entry]);
            let possible = table.open.iter().zip(table.sums(entry)).zip(&rests).all(
                |((&row, &sum), &(low, high))| self.expect(row, sum + low, sum + high, &mut cost),
            );
            keep.push(possible && !self.too_much(&cost));
        }
        if keep.iter().any(|k| !k) {
            table.retain(&keep);
        }
        let some = table.len() > 0;
        self.tables[index] = Some(table);
        Ok(some)
    }

    /// The best that this pass finds.
    fn run(&mut self, steps: &mut Steps) -> Result<Option<(C, Vec<i64>)>, Spent> {
        if self.tables.iter().flatten().any(|table| table.len() == 0) {
            return Ok(None);
        }
        // Twice, for what the later tables lost tells of the earlier ones.
        for index in (0..self.tables.len()).chain(0..self.tables.len()) {
            if !self.weed(index, steps)? {
                return Ok(None);
            }
        }
        while let Some((a, b)) = self.next_pair() {
            if !self.weed(a, steps)? || !self.weed(b, steps)? || !self.merge(a, b, steps)? {
                return Ok(None);
            }
        }
        let mut cost = C::nothing();
        let mut values = vec![0; self.net.choices.len()];
        for table in self.tables.iter().flatten() {
            cost.join(&table.least);
            for (&choice, &value) in table.choices.iter().zip(table.values(0)) {
                values[choice] = value;
            }
        }
        Ok(Some((cost, values)).filter(|(cost, _)| !self.too_much(cost)))
    }

    /// The two tables that are best merged next: few pairs, a small outcome.
    fn next_pair(&self) -> Option<(usize, usize)> {
        let mut best: Option<(u64, usize, usize)> = None;
        for meets in &self.meets {
            for (i, &a) in meets.iter().enumerate() {
                for &b in &meets[i + 1..] {
                    let effort = self.effort(a, b);
                    if best.is_none_or(|best| (effort, a, b) < best) {
                        best = Some((effort, a, b));
                    }
                }
            }
        }
        best.map(|(_, a, b)| (a, b))
    }

    fn effort(&self, a: usize, b: usize) -> u64 {
        let (Some(x), Some(y)) = (&self.tables[a], &self.tables[b]) else { return u64::MAX };
        let pairs = (x.len() as u64).saturating_mul(y.len() as u64);
        let mut outcome = 1_u64;
        for &row in x.open.iter().chain(y.open.iter().filter(|&&r| x.place(r).is_none())) {
            if self.meets[row].iter().any(|&t| t != a && t != b) {
                let ((l, h), (m, i)) = (x.reach(row), y.reach(row));
                let sums = l.abs_diff(h).saturating_add(m.abs_diff(i)).saturating_add(1);
                outcome = outcome.saturating_mul(sums);
            }
        }
        pairs.saturating_add(outcome.min(pairs).saturating_mul(4))
    }

    /// Merges table `b` into `a`. False if nothing is left.
    fn merge(&mut self, a: usize, b: usize, steps: &mut Steps) -> Result<bool, Spent> {
        let Some(elsewhere) = self.least_elsewhere([a, b]) else { return Ok(false) };
        let (Some(x), Some(y)) = (self.tables[a].take(), self.tables[b].take()) else {
            return Ok(true);
        };
        let plan = Plan::new(self, &x, &y, [a, b]);
        let (left, right) = (self.ranked(&x, &plan.only_left), self.ranked(&y, &plan.only_right));

        let width = plan.open.len();
        let mut pairs: Vec<(C, C, usize, usize)> = Vec::new();
        let mut sums: Vec<i64> = Vec::new();
        for (expected_left, i) in &left {
            let mut base = elsewhere.clone();
            base.join(expected_left);
            let mut looked = 0;
            for (expected_right, j) in &right {
                looked += 1;
                let mut expected = base.clone();
                expected.join(expected_right);
                if self.too_much(&expected) {
                    break;
                }
                let (s, t) = (x.sums(*i), y.sums(*j));
                let mut cost = x.costs[*i].clone();
                cost.join(&y.costs[*j]);
                let paid = plan.closing.iter().all(|&(row, l, r)| {
                    let mut price = C::nothing();
                    let inside = self.pay(row, s[l] + t[r], &mut price);
                    expected.join(&price);
                    cost.join(&price);
                    inside
                });
                let possible = paid
                    && plan.shared.iter().all(|&(row, l, r, (low, high))| {
                        let sum = s[l] + t[r];
                        self.expect(row, sum + low, sum + high, &mut expected)
                    });
                if possible && !self.too_much(&expected) {
                    let part = |place: Option<usize>, of: &[i64]| place.map_or(0, |p| of[p]);
                    sums.extend(plan.open.iter().map(|&(_, l, r)| part(l, s) + part(r, t)));
                    pairs.push((cost, expected, *i, *j));
                }
            }
            steps.take(looked)?;
        }

        let mut order: Vec<usize> = (0..pairs.len()).collect();
        let sums_of = |p: usize| &sums[p * width..(p + 1) * width];
        order.sort_unstable_by(|&p, &q| {
            sums_of(p).cmp(sums_of(q)).then_with(|| pairs[p].0.cmp(&pairs[q].0)).then(p.cmp(&q))
        });
        let choices: Vec<usize> = x.choices.iter().chain(&y.choices).copied().collect();
        let mut scratch = vec![0; self.net.choices.len()];
        let mut chosen: Vec<usize> = Vec::new();
        for p in order {
            match chosen.last_mut() {
                Some(last) if sums_of(*last) == sums_of(p) => {
                    let (old, new) = (&pairs[*last], &pairs[p]);
                    let prefer = old.0 == new.0 && !self.net.ties.is_empty() && {
                        let difference = |place: usize| {
                            let (from, of) = match place.checked_sub(x.choices.len()) {
                                None => (&x, (new.2, old.2)),
                                Some(_) => (&y, (new.3, old.3)),
                            };
                            let place = place.checked_sub(x.choices.len()).unwrap_or(place);
                            from.values(of.0)[place] - from.values(of.1)[place]
                        };
                        self.tie(&choices, difference, &mut scratch) == Ordering::Greater
                    };
                    if prefer {
                        *last = p;
                    }
                }
                _ => chosen.push(p),
            }
        }
        if chosen.len() > self.kept {
            self.cut = true;
            chosen.sort_by(|&p, &q| pairs[p].1.cmp(&pairs[q].1).then(p.cmp(&q)));
            chosen.truncate(self.kept);
        }

        let mut table = Table {
            open: plan.open.iter().map(|o| o.0).collect(),
            costs: Vec::with_capacity(chosen.len()),
            sums: Vec::with_capacity(chosen.len() * width),
            values: Vec::with_capacity(chosen.len() * choices.len()),
            choices,
            reach: Vec::new(),
            least: C::nothing(),
        };
        for &p in &chosen {
            let (cost, _, i, j) = &pairs[p];
            table.costs.push(cost.clone());
            table.sums.extend_from_slice(sums_of(p));
            table.values.extend_from_slice(x.values(*i));
            table.values.extend_from_slice(y.values(*j));
        }
        table.measure();
        for meets in &mut self.meets {
            if meets.contains(&a) || meets.contains(&b) {
                meets.retain(|&t| t != b && t != a);
            }
        }
        for &row in &table.open {
            self.meets[row].push(a);
        }
        let some = table.len() > 0;
        self.tables[a] = Some(table);
        Ok(some)
    }

    /// The entries of a table, those first that cost least with the rows that
    /// only this table of the two has a part in.
    fn ranked(&self, table: &Table<C>, only: &[(usize, usize, (i64, i64))]) -> Vec<(C, usize)> {
        let mut ranked: Vec<(C, usize)> = (0..table.len())
            .filter_map(|entry| {
                let sums = table.sums(entry);
                let mut cost = table.costs[entry].clone();
                only.iter()
                    .all(|&(row, place, (low, high))| {
                        self.expect(row, sums[place] + low, sums[place] + high, &mut cost)
                    })
                    .then_some((cost, entry))
            })
            .collect();
        ranked.sort_unstable();
        ranked
    }

    /// How the ties order two sets of values that differ by `difference`.
    fn tie(
        &self,
        choices: &[usize],
        difference: impl Fn(usize) -> i64,
        scratch: &mut [i64],
    ) -> Ordering {
        for (place, &choice) in choices.iter().enumerate() {
            scratch[choice] = difference(place);
        }
        let decided = self.net.ties.iter().find_map(|tie| {
            let sum: i128 = tie.iter().map(|&(c, f)| i128::from(f) * i128::from(scratch[c])).sum();
            (sum != 0).then(|| sum.cmp(&0))
        });
        choices.iter().for_each(|&choice| scratch[choice] = 0);
        decided.unwrap_or(Ordering::Equal)
    }

    /// Reduces a table without open rows to its best entry.
    fn keep_one(&self, table: &mut Table<C>) {
        let mut scratch = vec![0; self.net.choices.len()];
        let mut best = 0;
        for entry in 1..table.len() {
            let better = table.costs[entry].cmp(&table.costs[best]).reverse().then_with(|| {
                let difference = |p: usize| table.values(entry)[p] - table.values(best)[p];
                self.tie(&table.choices, difference, &mut scratch)
            });
            if better == Ordering::Greater {
                best = entry;
            }
        }
        let keep: Vec<bool> = (0..table.len()).map(|entry| entry == best).collect();
        table.retain(&keep);
    }
}

/// What becomes of the rows of two tables that are merged.
struct Plan {
    /// Complete afterwards: the row, its places left and right.
    closing: Vec<(usize, usize, usize)>,
    /// Open in both and afterwards: also what the other tables add.
    shared: Vec<(usize, usize, usize, (i64, i64))>,
    /// Open in one of them only: the row, its place, what the others add.
    only_left: Vec<(usize, usize, (i64, i64))>,
    only_right: Vec<(usize, usize, (i64, i64))>,
    /// All that are open afterwards, in order, with their places.
    open: Vec<(usize, Option<usize>, Option<usize>)>,
}

impl Plan {
    fn new<C: Cost>(pass: &Pass<C>, x: &Table<C>, y: &Table<C>, pair: [usize; 2]) -> Self {
        let mut plan = Self {
            closing: Vec::new(),
            shared: Vec::new(),
            only_left: Vec::new(),
            only_right: Vec::new(),
            open: Vec::new(),
        };
        let mut rows: Vec<usize> = x.open.iter().chain(&y.open).copied().collect();
        rows.sort_unstable();
        rows.dedup();
        for row in rows {
            let rest = pass.rest(row, pair);
            let places = (x.place(row), y.place(row));
            match places {
                (Some(l), Some(r)) if pass.meets[row].iter().all(|t| pair.contains(t)) => {
                    plan.closing.push((row, l, r));
                    continue;
                }
                (Some(l), Some(r)) => plan.shared.push((row, l, r, rest)),
                (Some(l), None) => plan.only_left.push((row, l, rest)),
                (None, Some(r)) => plan.only_right.push((row, r, rest)),
                (None, None) => continue,
            }
            plan.open.push((row, places.0, places.1));
        }
        plan
    }
}
