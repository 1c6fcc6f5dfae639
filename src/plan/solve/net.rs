//! What the tables work on: choices, the sums they meet in, and what these cost.
//!
//! Knows nothing of what the numbers stand for, or of how the best are found.

use super::cost::{Cost, ErrorOf, clamped};

/// Choices and the rows they meet in.
pub(super) struct Net<C: Cost> {
    pub(super) rows: Vec<Row<C>>,
    pub(super) choices: Vec<Choice>,
    /// Between choices of the same cost: sums of choices, by choice and factor,
    /// of which the first that differs decides, for the larger.
    pub(super) ties: Vec<Vec<(usize, i64)>>,
}

/// A sum of choices.
pub(super) struct Row<C: Cost> {
    pub(super) low: i64,
    pub(super) high: i64,
    /// The value from `low` to `high` that costs least.
    pub(super) cheapest: i64,
    price: Price<C>,
    /// What each value from `low` on costs. Empty where nothing costs anything, or
    /// where they are more than will be asked for.
    costs: Vec<C>,
}

impl<C: Cost> Row<C> {
    /// More values than this are not listed.
    const LISTED: u64 = 1024;

    pub(super) fn new(low: i64, high: i64, price: Price<C>) -> Self {
        let few = !price.is_nothing() && high.abs_diff(low) < Self::LISTED;
        let costs =
            if few { (low..=high).map(|value| price.of(value)).collect() } else { Vec::new() };
        Self { low, high, cheapest: price.cheapest(low, high), price, costs }
    }

    /// Whether no value costs anything.
    pub(super) fn is_free(&self) -> bool {
        self.price.is_nothing()
    }

    /// Adds to `cost` what `value`, from `low` to `high`, costs.
    pub(super) fn charge(&self, value: i64, cost: &mut C) {
        match usize::try_from(value - self.low).ok().and_then(|place| self.costs.get(place)) {
            Some(listed) => cost.join(listed),
            None if self.is_free() => {}
            None => cost.join(&self.price.of(value)),
        }
    }
}

/// What a sum costs: its errors, each with its weight. Each of them first
/// falls, then rises, so that what they come to does as well.
pub(super) struct Price<C: Cost>(pub(super) Vec<(ErrorOf, C::Weight)>);

impl<C: Cost> Price<C> {
    pub(super) fn is_nothing(&self) -> bool {
        self.0.is_empty()
    }

    /// What `value` costs.
    pub(super) fn of(&self, value: i64) -> C {
        let mut cost = C::nothing();
        for (error, weight) in &self.0 {
            cost.join(&C::of(error, value, weight));
        }
        cost
    }

    /// A value from `low` to `high` that costs no more than any other: what they
    /// come to bends only where one of the errors is nought.
    pub(super) fn cheapest(&self, low: i64, high: i64) -> i64 {
        let bends = self.0.iter().flat_map(|(error, _)| {
            let below = clamped(error.just_below());
            [below, below.saturating_add(1)]
        });
        let costs = bends.map(|value| value.clamp(low, high)).map(|value| (self.of(value), value));
        costs.min().map_or(low, |(_, value)| value)
    }
}

/// A number from `low` to `high`.
pub(super) struct Choice {
    pub(super) low: i64,
    pub(super) high: i64,
    /// In which rows it counts, and how often.
    pub(super) parts: Vec<(usize, i64)>,
}
