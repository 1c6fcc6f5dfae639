//! What the rest of a net is sure to cost, seen from one row.
//!
//! An entry of a table fixes what its choices add to a row; the other tables
//! that meet there must make up the rest. The least that they cost together for
//! each amount they can add, their other rows left aside, tells what is still to
//! be paid: more than what each table and each row costs at the least by itself.

use super::cost::Cost;
use super::net::Row;
use super::tables::Places;

/// More pairs of amounts than this and a row is not looked at.
const MOST: usize = 10_000;

/// What others can add to a row, each amount with the least that it costs them.
pub(super) struct Outlook<C> {
    /// In order.
    amounts: Vec<(i64, C)>,
    /// What has been worked out: the sums of the table that looks, and the least
    /// that each leads to.
    places: Places,
    sums: Vec<i64>,
    least: Vec<Option<C>>,
}

impl<C: Cost> Outlook<C> {
    /// Nothing but `amount`, free of cost.
    pub(super) fn of(amount: i64) -> Self {
        Self::new(vec![(amount, C::nothing())])
    }

    fn new(amounts: Vec<(i64, C)>) -> Self {
        Self { amounts, places: Places::new(1), sums: Vec::new(), least: Vec::new() }
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
        Some(Self::new(least_of_each(pairs)))
    }

    /// Adds the least that the others and the row cost together, where `sum` is
    /// already in the row. False if the row cannot be kept.
    pub(super) fn expect(&mut self, row: &Row<C>, sum: i64, cost: &mut C) -> bool {
        let (place, is_new) = self.places.find(&mut self.sums, &[sum]);
        if is_new {
            self.least.push(self.least_from(row, sum));
        }
        let least = self.least[place].as_ref();
        if let Some(least) = least {
            cost.join(least);
        }
        least.is_some()
    }

    fn least_from(&self, row: &Row<C>, sum: i64) -> Option<C> {
        let from = self.amounts.partition_point(|a| sum + a.0 < row.low);
        let to = self.amounts.partition_point(|a| sum + a.0 <= row.high);
        let costs = self.amounts.get(from..to)?.iter().map(|(amount, cost)| {
            let mut cost = cost.clone();
            row.charge(sum + amount, &mut cost);
            cost
        });
        costs.min()
    }
}

/// Each amount once, in order, with the least that it costs.
fn least_of_each<C: Cost>(all: impl Iterator<Item = (i64, C)>) -> Vec<(i64, C)> {
    let (mut places, mut amounts, mut least) = (Places::new(1), Vec::new(), Vec::<C>::new());
    for (amount, cost) in all {
        let (place, is_new) = places.find(&mut amounts, &[amount]);
        if is_new {
            least.push(cost);
        } else if cost < least[place] {
            least[place] = cost;
        }
    }
    let mut each: Vec<(i64, C)> = amounts.into_iter().zip(least).collect();
    each.sort_unstable_by_key(|(amount, _)| *amount);
    each
}
