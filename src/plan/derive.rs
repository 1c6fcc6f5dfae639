//! Where numbers come from that no aim of their own decides: rows, which the
//! row gauge alone decides, and counts that follow from others.

use super::goal::Goal;
use super::setup::{Intent, SettledRows, Setup, Turns};
use crate::measure::{Density, Exact, Linear, Unknown};
use crate::model::GaugeId;
use crate::source::Span;

/// Where a number of rows comes from.
#[derive(Clone, PartialEq, Debug)]
pub struct RowDerivation {
    /// The number.
    pub place: Span,
    /// The gauge its length is taken in.
    pub gauge: GaugeId,
    /// Its rows to a length.
    pub density: Density,
    /// The number the pattern had.
    pub old: i64,
    /// The exact number aimed at.
    pub target: Exact,
    /// The number chosen.
    pub chosen: i64,
    /// How many rows each stands for: a repeat of two rows counts as two.
    pub block: u32,
    /// Whether it stays even, or odd, as it was.
    pub keeps_parity: bool,
}

/// A count that follows from chosen ones.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Follower {
    /// The number.
    pub place: Span,
    /// What it comes to.
    pub count: i64,
    /// The counts it follows from.
    pub from: Vec<Span>,
}

/// How often short rows are repeated.
#[derive(Clone, PartialEq, Debug)]
pub struct TurnDerivation {
    /// The number.
    pub place: Span,
    /// The number the pattern had.
    pub old: i64,
    /// The exact number aimed at.
    pub target: Exact,
    /// The number chosen.
    pub chosen: i64,
    /// How many short rows the pattern had in all, and over how many stitches.
    pub rows: (i64, i64),
    /// How many stitches they lie over now.
    pub over: i64,
}

/// Every repeat of short rows: their number keeps its share of the stitches.
pub(super) fn turns(setup: &Setup, values: &[i64]) -> Vec<TurnDerivation> {
    let one = |turns: &Turns| {
        let rows = (turns.old + turns.before) * turns.each;
        let over = value(&turns.has, values);
        let share = Exact::new(i128::from(rows), i128::from(turns.had.max(1)));
        let all = share * Exact::from_integer(i128::from(over));
        let repeats = all / Exact::from_integer(i128::from(turns.each.max(1)));
        TurnDerivation {
            place: turns.place,
            old: turns.old,
            target: repeats - Exact::from_integer(i128::from(turns.before)),
            chosen: value(&turns.times, values),
            rows: (rows, turns.had),
            over,
        }
    };
    setup.turns.iter().map(one).collect()
}

/// Every settled number of rows, those that shapings are spread over too.
pub(super) fn rows(goal: &Goal<'_>, setup: &Setup) -> Vec<RowDerivation> {
    let one = |(&place, rows): (&Span, &SettledRows)| {
        let gauge = rows.gauge?;
        Some(RowDerivation {
            place,
            gauge,
            density: goal.gauges.get(gauge.0)?.gauge?.rows?,
            old: rows.old,
            target: rows.exact,
            chosen: i64::from(rows.chosen),
            block: rows.block,
            keeps_parity: rows.keeps_parity,
        })
    };
    setup.rows.iter().chain(&setup.spread).filter_map(one).collect()
}

/// Every count that the pattern states and the work decides.
pub(super) fn followers(setup: &Setup, values: &[i64]) -> Vec<Follower> {
    let own = |place: &Span| setup.intents.iter().any(|intent| intent.place == *place);
    let derived =
        setup.derived.iter().filter(|(place, count)| !own(place) && count.known().is_none());
    let one = |(&place, count): (&Span, &Linear)| {
        let from = setup.intents.iter().filter(|intent| meet(&intent.of, count));
        Follower {
            place,
            count: value(count, values),
            from: from.map(|intent| intent.place).collect(),
        }
    };
    derived.map(one).collect()
}

/// What a count aims at: a band at its share of the body that is chosen.
pub(super) fn exactly(intent: &Intent, values: &[i64]) -> Exact {
    match &intent.follows {
        Some((body, share)) => Exact::from_integer(i128::from(value(body, values))) * *share,
        None => intent.target,
    }
}

/// Whether two counts hang on the same choice.
pub(super) fn meet(one: &Linear, other: &Linear) -> bool {
    one.terms().any(|(u, _)| other.terms().any(|(v, _)| u == v))
}

/// A count, where each unknown has its value.
pub(super) fn value(linear: &Linear, values: &[i64]) -> i64 {
    linear.value(|u: Unknown| values.get(u.0).copied().unwrap_or(0))
}
