//! Tables of what some choices can come to, and sets of them.
//!
//! Knows nothing of how tables are made and merged.

use super::cost::Cost;

/// What a set of choices can come to.
pub(super) struct Table<C> {
    pub(super) choices: Vec<usize>,
    /// The rows that other choices have a part in too, in order.
    pub(super) open: Vec<usize>,
    pub(super) costs: Vec<C>,
    /// For each entry, its sum in each open row.
    pub(super) sums: Vec<i64>,
    /// For each entry, the value of each choice.
    pub(super) values: Vec<i64>,
    /// For each open row, the smallest and the largest sum of any entry.
    pub(super) reach: Vec<(i64, i64)>,
    /// The least cost of any entry.
    pub(super) least: C,
}

impl<C: Cost> Table<C> {
    pub(super) fn len(&self) -> usize {
        self.costs.len()
    }

    pub(super) fn sums(&self, entry: usize) -> &[i64] {
        &self.sums[entry * self.open.len()..(entry + 1) * self.open.len()]
    }

    pub(super) fn values(&self, entry: usize) -> &[i64] {
        &self.values[entry * self.choices.len()..(entry + 1) * self.choices.len()]
    }

    pub(super) fn place(&self, row: usize) -> Option<usize> {
        self.open.binary_search(&row).ok()
    }

    /// Keeps the entries for which `keep` holds, in order.
    pub(super) fn retain(&mut self, keep: impl Fn(usize) -> bool) {
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
    pub(super) fn forget(&mut self, place: usize) {
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
    pub(super) fn measure(&mut self) {
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
pub(super) struct Tables(Vec<u64>);

impl Tables {
    pub(super) fn none(of: usize) -> Self {
        Self(vec![0; of.div_ceil(64).max(1)])
    }

    pub(super) fn add(&mut self, table: usize) {
        self.0[table / 64] |= 1 << (table % 64);
    }

    pub(super) fn remove(&mut self, table: usize) {
        self.0[table / 64] &= !(1 << (table % 64));
    }

    pub(super) fn has(&self, table: usize) -> bool {
        self.0[table / 64] >> (table % 64) & 1 == 1
    }

    pub(super) fn remove_all(&mut self, other: &Self) {
        self.0.iter_mut().zip(&other.0).for_each(|(a, b)| *a &= !b);
    }

    pub(super) fn add_all(&mut self, other: &Self) {
        self.0.iter_mut().zip(&other.0).for_each(|(a, b)| *a |= b);
    }

    pub(super) fn len(&self) -> usize {
        self.0.iter().map(|word| word.count_ones() as usize).sum()
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.iter().all(|&word| word == 0)
    }

    pub(super) fn iter(&self) -> impl Iterator<Item = usize> + '_ {
        self.0.iter().enumerate().flat_map(|(i, &word)| {
            let next = |&word: &u64| Some(word & (word - 1)).filter(|&rest| rest != 0);
            std::iter::successors((word != 0).then_some(word), next)
                .map(move |word| i * 64 + word.trailing_zeros() as usize)
        })
    }
}

/// Finds the place of sums in a list of sums.
pub(super) struct Places {
    slots: Vec<u32>,
    width: usize,
    used: usize,
}

impl Places {
    pub(super) fn new(width: usize) -> Self {
        Self { slots: vec![u32::MAX; 64], width, used: 0 }
    }

    pub(super) fn start(&self, sums: &[i64]) -> usize {
        let mixed = sums.iter().fold(0_u64, |mixed, &sum| {
            (mixed.rotate_left(5) ^ sum as u64).wrapping_mul(0x517c_c1b7_2722_0a95)
        });
        (mixed >> 32) as usize & (self.slots.len() - 1)
    }

    pub(super) fn slot(&self, all: &[i64], sums: &[i64]) -> usize {
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
    pub(super) fn find(&mut self, all: &mut Vec<i64>, sums: &[i64]) -> (usize, bool) {
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

#[cfg(test)]
mod tests {
    use super::*;

    /// More tables than bits in a word: each keeps its number.
    #[test]
    fn a_set_holds_what_was_put_into_it() {
        let mut set = Tables::none(200);
        let all = [0, 5, 63, 64, 70, 130, 199];
        all.iter().for_each(|&table| set.add(table));
        assert_eq!(set.iter().collect::<Vec<_>>(), all);
        assert_eq!(set.len(), all.len());
        set.remove(70);
        assert!(!set.has(70) && set.has(5) && set.has(199));
        assert_eq!(set.iter().collect::<Vec<_>>(), [0, 5, 63, 64, 130, 199]);
    }
}
