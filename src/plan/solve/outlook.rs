//! What the rest of a net is sure to cost, seen from one row.
//!
//! An entry of a table fixes what its choices add to a row; the other tables
//! that meet there must make up the rest. The least that they cost together for
//! each amount they can add, their other rows left aside, tells what is still to
//! be paid: more than what each table and each row costs at the least by itself.

use std::collections::BTreeMap;

use super::cost::Cost;
use super::net::Row;

/// More pairs of amounts than this and a row is not looked at.
const MOST: usize = 10_000;

/// What others can add to a row, each amount with the least that it costs them.
pub(super) struct Outlook<C> {
    amounts: Vec<(i64, C)>,
    /// What has been worked out, by the sum of the table that looks.
    known: BTreeMap<i64, Option<C>>,
}

impl<C: Cost> Outlook<C> {
    /// Nothing but `amount`, free of cost.
    pub(super) fn of(amount: i64) -> Self {
        Self { amounts: vec![(amount, C::nothing())], known: BTreeMap::new() }
    }

    /// With one more table, whose entries add so much at such a cost; nothing
    /// if that comes to too many amounts.
    pub(super) fn with<'a>(&self, entries: impl Iterator<Item = (i64, &'a C)>) -> Option<Self>
    where
        C: 'a,
    {
        let own = least_of_each(entries.map(|(amount, cost)| (amount, cost.clone())));
        if own.len().saturating_mul(self.amounts.len()) > MOST {
            return None;
        }
        let pairs = self.amounts.iter().flat_map(|(amount, cost)| {
            own.iter().map(move |(more, price)| {
                let mut cost = cost.clone();
                cost.join(price);
                (amount + more, cost)
            })
        });
        let amounts = least_of_each(pairs).into_iter().collect();
        Some(Self { amounts, known: BTreeMap::new() })
    }

    /// Adds the least that the others and the row cost together, where `sum` is
    /// already in the row. False if the row cannot be kept.
    pub(super) fn expect(&mut self, row: &Row<C>, sum: i64, cost: &mut C) -> bool {
        let amounts = &self.amounts;
        let least = self.known.entry(sum).or_insert_with(|| {
            let from = amounts.partition_point(|a| sum + a.0 < row.low);
            let to = amounts.partition_point(|a| sum + a.0 <= row.high);
            let costs = amounts.get(from..to)?.iter().map(|(amount, cost)| {
                let mut cost = cost.clone();
                cost.join(&row.price.of(sum + amount));
                cost
            });
            costs.min()
        });
        if let Some(least) = least {
            cost.join(least);
        }
        least.is_some()
    }
}

fn least_of_each<C: Cost>(all: impl Iterator<Item = (i64, C)>) -> BTreeMap<i64, C> {
    let mut least: BTreeMap<i64, C> = BTreeMap::new();
    for (amount, cost) in all {
        match least.get_mut(&amount) {
            Some(old) if *old <= cost => {}
            Some(old) => *old = cost,
            None => {
                least.insert(amount, cost);
            }
        }
    }
    least
}
