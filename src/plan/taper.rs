//! Shaping spread over rows: "every 4th row 9 times, then every 6th row 5 times".
//!
//! Divides rows among shapings so that the last shaping, or the plain rows
//! after it, end on exactly the row asked for. Knows nothing of stitches
//! beyond how many shapings there are, and nothing of text.

use crate::measure::{Rows, Stitches};

/// Which rows may be shaped.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Step {
    /// Any row: in the round, or on both sides of the fabric.
    EveryRow,
    /// Every second row, so that flat shaping stays on the right side.
    EverySecondRow,
}

impl Step {
    /// The distance in rows from one row that may be shaped to the next.
    #[must_use]
    pub const fn rows(self) -> u32 {
        match self {
            Self::EveryRow => 1,
            Self::EverySecondRow => 2,
        }
    }
}

/// Which of two rates is worked first.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Order {
    /// The shorter interval first: the edge slopes most at the beginning.
    FasterFirst,
    /// The longer interval first.
    SlowerFirst,
}

/// How the shaped rows end.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Ending {
    /// The last row is a shaping row.
    OnShaping,
    /// As many plain rows follow the last shaping as lie between two.
    PlainBand,
    /// So many plain rows follow the last shaping.
    Plain(Rows),
}

/// One rate: every so many rows, so many times in all.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Rate {
    /// The shaping row is the last of so many rows; at least 1.
    pub every: Rows,
    /// How many times in all.
    pub times: u32,
}

/// Shapings and the plain rows among them.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
pub struct Schedule {
    /// The rates in the order they are worked.
    pub rates: Vec<Rate>,
    /// Plain rows after the last shaping.
    pub plain_after: Rows,
}

impl Schedule {
    /// All rows it takes.
    #[must_use]
    pub fn rows(&self) -> Rows {
        let shaped = self.rates.iter().map(|r| r.every.0.saturating_mul(r.times));
        Rows(shaped.fold(self.plain_after.0, u32::saturating_add))
    }

    /// How many shapings it has.
    #[must_use]
    pub fn shapings(&self) -> u32 {
        self.rates.iter().fold(0, |sum, r| sum.saturating_add(r.times))
    }

    /// The rows that are shaped, counted from 1, in order.
    pub fn shaped_rows(&self) -> impl Iterator<Item = Rows> + '_ {
        let intervals = self.rates.iter().flat_map(|r| (0..r.times).map(|_| r.every.0));
        intervals.scan(0_u32, |row, every| {
            *row = row.saturating_add(every);
            Some(Rows(*row))
        })
    }
}

/// Shapings to spread over rows.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Taper {
    /// All the rows there are.
    pub rows: Rows,
    /// How many of them are shaped.
    pub shapings: u32,
    /// Which rows may be shaped.
    pub step: Step,
    /// Which rate comes first, where there are two.
    pub order: Order,
    /// How the rows end.
    pub ending: Ending,
    /// The row of the first shaping, counted from 1, where the author fixed it
    /// ("on the 5th row and every following 4th row").
    pub first: Option<Rows>,
    /// By how many rows the plain rows at the end may differ from
    /// [`Taper::ending`] if one rate then does instead of two.
    pub allowance: Rows,
}

/// Why shapings do not fit into rows, and the nearest that do.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct TooFewRows {
    /// The most shapings these rows have room for.
    pub fewer_shapings: u32,
    /// The fewest rows these shapings have room in.
    pub more_rows: Rows,
}

impl Taper {
    /// Shapings over rows, on any row, ending on a shaping row, the faster
    /// rate first.
    #[must_use]
    pub const fn new(rows: Rows, shapings: u32) -> Self {
        Self {
            rows,
            shapings,
            step: Step::EveryRow,
            order: Order::FasterFirst,
            ending: Ending::OnShaping,
            first: None,
            allowance: Rows(0),
        }
    }

    /// The rates. With R rows and s shapings the intervals are R / s rounded
    /// down and one step more, as many of each as make up the rows: the
    /// trade's "magic formula" (common practice).
    ///
    /// # Errors
    /// [`TooFewRows`] where the shapings do not fit.
    pub fn schedule(&self) -> Result<Schedule, TooFewRows> {
        if self.shapings == 0 {
            return Ok(Schedule { rates: Vec::new(), plain_after: self.rows });
        }
        let fewest = self.rows_for(self.shapings);
        if fewest > u64::from(self.rows.0) {
            return Err(TooFewRows {
                fewer_shapings: self.most_shapings(),
                more_rows: Rows(u32::try_from(fewest).unwrap_or(u32::MAX)),
            });
        }
        let first = self.first.map_or(0, |row| row.0.max(1));
        let shapings = if self.first.is_some() { self.shapings - 1 } else { self.shapings };
        let rest = self.spread(self.rows.0 - first, shapings);
        let lead = (first > 0).then_some(Rate { every: Rows(first), times: 1 });
        Ok(Schedule { rates: joined(lead.into_iter().chain(rest.rates)), ..rest })
    }

    /// The fewest rows that hold `shapings`, of which there is at least one.
    fn rows_for(&self, shapings: u32) -> u64 {
        let step = u64::from(self.step.rows());
        let shaped = match self.first {
            Some(first) => u64::from(first.0.max(1)) + step * u64::from(shapings - 1),
            None => step * u64::from(shapings),
        };
        shaped
            + match self.ending {
                Ending::OnShaping => 0,
                Ending::PlainBand => step,
                Ending::Plain(rows) => u64::from(rows.0),
            }
    }

    fn most_shapings(&self) -> u32 {
        let room = u64::from(self.rows.0);
        let spare = match room.checked_sub(self.rows_for(1)) {
            Some(spare) => spare,
            None => return 0,
        };
        u32::try_from(spare / u64::from(self.step.rows())).map_or(u32::MAX, |n| n.saturating_add(1))
    }

    /// `shapings` over `rows` that are known to hold them, without a fixed first.
    fn spread(&self, rows: u32, shapings: u32) -> Schedule {
        let step = self.step.rows();
        if shapings == 0 {
            return Schedule { rates: Vec::new(), plain_after: Rows(rows) };
        }
        let kept = match self.ending {
            Ending::Plain(kept) => kept.0,
            Ending::OnShaping | Ending::PlainBand => 0,
        };
        let bands = shapings + u32::from(self.ending == Ending::PlainBand);
        let steps = (rows - kept) / step;
        let (short, long) = (steps / bands * step, (steps / bands + 1) * step);
        let long_bands = steps % bands;
        let (first, second) = match self.order {
            Order::FasterFirst => ((short, bands - long_bands), (long, long_bands)),
            Order::SlowerFirst => ((long, long_bands), (short, bands - long_bands)),
        };
        // Where the last band stays plain, the shapings take all but the last.
        let times = [first.1.min(shapings), shapings - first.1.min(shapings)];
        let shaped = first.0 * times[0] + second.0 * times[1];
        let two = Schedule {
            rates: joined(
                [(first.0, times[0]), (second.0, times[1])]
                    .map(|(every, times)| Rate { every: Rows(every), times }),
            ),
            plain_after: Rows(rows - shaped),
        };
        if two.rates.len() < 2 {
            return two;
        }
        self.single(rows, shapings, two.plain_after, [short, long]).unwrap_or(two)
    }

    /// One rate for all, where that keeps the plain rows within the allowance.
    fn single(
        &self,
        rows: u32,
        shapings: u32,
        plain: Rows,
        intervals: [u32; 2],
    ) -> Option<Schedule> {
        intervals
            .into_iter()
            .filter_map(|every| {
                let left = rows.checked_sub(every.checked_mul(shapings)?)?;
                let off = left.abs_diff(plain.0);
                (off <= self.allowance.0).then_some((off, every, left))
            })
            .min()
            .map(|(_, every, left)| Schedule {
                rates: vec![Rate { every: Rows(every), times: shapings }],
                plain_after: Rows(left),
            })
    }
}

/// Rates of no times left out, and neighbours of the same interval joined.
fn joined(rates: impl IntoIterator<Item = Rate>) -> Vec<Rate> {
    let mut all: Vec<Rate> = Vec::new();
    for rate in rates.into_iter().filter(|rate| rate.times > 0) {
        match all.last_mut() {
            Some(last) if last.every == rate.every => last.times += rate.times,
            _ => all.push(rate),
        }
    }
    all
}

/// How many shapings of `each` stitches lead from one count to the other, or
/// `None` where they never meet.
#[must_use]
pub const fn shapings_between(from: Stitches, to: Stitches, each: Stitches) -> Option<u32> {
    let difference = from.0.abs_diff(to.0);
    match (difference, each.0) {
        (0, _) => Some(0),
        (_, 0) => None,
        (d, e) if d % e == 0 => Some(d / e),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn rates(schedule: &Schedule) -> (Vec<(u32, u32)>, u32) {
        (schedule.rates.iter().map(|r| (r.every.0, r.times)).collect(), schedule.plain_after.0)
    }

    fn spread(taper: Taper) -> (Vec<(u32, u32)>, u32) {
        rates(&taper.schedule().expect("it fits"))
    }

    #[test]
    fn two_rates_end_on_the_row() {
        let sleeve = Taper::new(Rows(90), 11);
        assert_eq!(spread(sleeve), (vec![(8, 9), (9, 2)], 0));
        assert_eq!(
            spread(Taper { order: Order::SlowerFirst, ..sleeve }),
            (vec![(9, 2), (8, 9)], 0)
        );
        assert_eq!(
            spread(Taper { step: Step::EverySecondRow, ..sleeve }),
            (vec![(8, 10), (10, 1)], 0)
        );
        assert_eq!(
            spread(Taper { ending: Ending::Plain(Rows(6)), ..sleeve }),
            (vec![(7, 4), (8, 7)], 6)
        );
    }

    #[test]
    fn an_odd_row_over_stays_plain() {
        let flat = Taper { step: Step::EverySecondRow, ..Taper::new(Rows(25), 4) };
        assert_eq!(spread(flat), (vec![(6, 4)], 1));
    }

    #[test]
    fn the_first_row_may_be_fixed() {
        let cuff = Taper { first: Some(Rows(5)), ..Taper::new(Rows(25), 6) };
        assert_eq!(spread(cuff), (vec![(5, 1), (4, 5)], 0));
        assert_eq!(spread(Taper { first: Some(Rows(1)), shapings: 1, ..cuff }), (vec![(1, 1)], 24));
    }

    #[test]
    fn one_rate_where_the_rows_allow() {
        let taper = Taper { allowance: Rows(2), ..Taper::new(Rows(90), 11) };
        assert_eq!(spread(taper), (vec![(8, 11)], 2));
        let tight = Taper { allowance: Rows(1), ..taper };
        assert_eq!(spread(tight), (vec![(8, 9), (9, 2)], 0));
        let band =
            Taper { ending: Ending::PlainBand, allowance: Rows(3), ..Taper::new(Rows(62), 6) };
        // Bands of 8, 8, ... 9 with 9 plain; six of 9 leave 8.
        assert_eq!(spread(band), (vec![(9, 6)], 8));
    }

    #[test]
    fn too_few_rows_says_what_would_fit() {
        let taper = Taper { step: Step::EverySecondRow, ..Taper::new(Rows(21), 12) };
        assert_eq!(taper.schedule(), Err(TooFewRows { fewer_shapings: 10, more_rows: Rows(24) }));
        assert_eq!(
            Taper { first: Some(Rows(30)), ..taper }.schedule(),
            Err(TooFewRows { fewer_shapings: 0, more_rows: Rows(52) })
        );
        assert_eq!(Taper::new(Rows(0), 0).schedule(), Ok(Schedule::default()));
    }

    #[test]
    fn shapings_must_meet_both_counts() {
        assert_eq!(shapings_between(Stitches(38), Stitches(60), Stitches(2)), Some(11));
        assert_eq!(shapings_between(Stitches(39), Stitches(60), Stitches(2)), None);
        assert_eq!(shapings_between(Stitches(8), Stitches(8), Stitches(0)), Some(0));
        assert_eq!(shapings_between(Stitches(8), Stitches(9), Stitches(0)), None);
    }

    fn tapers() -> impl Strategy<Value = Taper> {
        let step = prop_oneof![Just(Step::EveryRow), Just(Step::EverySecondRow)];
        let order = prop_oneof![Just(Order::FasterFirst), Just(Order::SlowerFirst)];
        let ending = prop_oneof![
            Just(Ending::OnShaping),
            Just(Ending::PlainBand),
            (0_u32..30).prop_map(|rows| Ending::Plain(Rows(rows))),
        ];
        let first = proptest::option::of((0_u32..12).prop_map(Rows));
        (0_u32..400, 0_u32..120, step, order, ending, first, 0_u32..8).prop_map(
            |(rows, shapings, step, order, ending, first, allowance)| Taper {
                rows: Rows(rows),
                shapings,
                step,
                order,
                ending,
                first,
                allowance: Rows(allowance),
            },
        )
    }

    proptest! {
        #[test]
        fn it_ends_on_the_row_with_every_shaping(taper in tapers()) {
            match taper.schedule() {
                Ok(schedule) => {
                    prop_assert_eq!(schedule.rows(), taper.rows);
                    prop_assert_eq!(schedule.shapings(), taper.shapings);
                    prop_assert_eq!(schedule.shaped_rows().count(), taper.shapings as usize);
                    let last = schedule.shaped_rows().last().map_or(0, |row| row.0);
                    prop_assert_eq!(last + schedule.plain_after.0, taper.rows.0);
                }
                Err(nearest) => {
                    let fewer = Taper { shapings: nearest.fewer_shapings, ..taper };
                    prop_assert!(fewer.schedule().is_ok());
                    let more = Taper { shapings: nearest.fewer_shapings + 1, ..taper };
                    prop_assert!(more.schedule().is_err());
                    let longer = Taper { rows: nearest.more_rows, ..taper };
                    prop_assert!(longer.schedule().is_ok());
                    let shorter = Taper { rows: Rows(nearest.more_rows.0 - 1), ..taper };
                    prop_assert!(shorter.schedule().is_err());
                }
            }
        }

        #[test]
        fn intervals_keep_to_the_step(taper in tapers()) {
            if let Ok(schedule) = taper.schedule() {
                let mut shaped = schedule.shaped_rows().map(|row| row.0);
                let mut intervals = Vec::new();
                let mut before = if taper.first.is_some() { shaped.next() } else { Some(0) };
                for row in shaped {
                    intervals.push(row - before.unwrap_or(0));
                    before = Some(row);
                }
                let step = taper.step.rows();
                prop_assert!(intervals.iter().all(|i| *i >= step && i % step == 0));
                let (least, most) = (intervals.iter().min(), intervals.iter().max());
                if let (Some(least), Some(most)) = (least, most) {
                    prop_assert!(most - least <= step);
                }
            }
        }

        /// The plain rows at the end are those asked for, but for the odd row
        /// that a step of two leaves and the allowance.
        #[test]
        fn the_ending_is_kept(taper in tapers()) {
            if let (Ok(schedule), true) = (taper.schedule(), taper.shapings > 1) {
                let odd = taper.step.rows() - 1;
                let plain = schedule.plain_after.0;
                match taper.ending {
                    Ending::OnShaping => prop_assert!(plain <= odd + taper.allowance.0),
                    Ending::Plain(kept) => {
                        prop_assert!(plain.abs_diff(kept.0) <= odd + taper.allowance.0);
                    }
                    Ending::PlainBand => {
                        let last = schedule.rates.last().map_or(0, |rate| rate.every.0);
                        let off = plain.abs_diff(last);
                        prop_assert!(off <= taper.step.rows() + odd + taper.allowance.0);
                    }
                }
            }
        }
    }
}
