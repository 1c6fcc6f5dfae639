//! The slope of an armhole or a neck, stepped again over other stitches and rows.
//!
//! The author's rates draw a curve: rows against shapings. Taken to other numbers
//! of both it keeps its form, and the rates that follow it to a stitch and two
//! rows are found by trying them, the fewest first.

use super::choose::ChosenRate;

/// Rows by which an edge may leave its curve, beside the stitch it may.
const ROWS_OFF: u32 = 2;

/// Intervals that are tried: one stitch in more rows is hardly a slope.
const MOST_INTERVALS: usize = 8;

/// A curve and what it is to be stepped in.
#[derive(Clone, Copy, Debug)]
pub(super) struct Slope<'a> {
    /// The author's rates.
    pub(super) drawn: &'a [ChosenRate],
    /// How many shapings there are now; at least one.
    pub(super) shapings: u32,
    /// The rows they take.
    pub(super) rows: u32,
    /// Whether only every second row is shaped, and the row may be any where the
    /// rows are too few for that.
    pub(super) every_second: bool,
}

/// How much is to be said against some rates; the least is best.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
struct Cost {
    /// How far they leave the curve beyond what they may.
    beyond: u64,
    /// How many clauses they are.
    clauses: usize,
    /// Whether they slope more, then less, and more again.
    wavers: bool,
    /// How far they leave the curve at most.
    off: u64,
}

impl Slope<'_> {
    /// Rates that use all shapings and all rows, as near to the curve as few
    /// clauses come: at most three. `None` where no rates use them all, or nothing
    /// was drawn.
    pub(super) fn stepped(&self) -> Option<Vec<ChosenRate>> {
        let own = self.drawn.iter().fold((0, 0), |(rows, times), rate| {
            (rows + u64::from(rate.every) * u64::from(rate.times), times + u64::from(rate.times))
        });
        if self.shapings == 0 || own.0 == 0 {
            return None;
        }
        let mut best: Option<(Cost, Vec<ChosenRate>)> = None;
        let mut consider = |rates: Vec<ChosenRate>| {
            let cost = self.cost(&rates, own);
            // Rows come in pairs, so that a right-side row stays one.
            let paired =
                |rate: &ChosenRate| rate.every.is_multiple_of(2) || rate.times.is_multiple_of(2);
            let good = !self.every_second || rates.iter().all(paired);
            if good && best.as_ref().is_none_or(|(least, _)| cost < *least) {
                best = Some((cost, rates));
            }
            best.as_ref().is_some_and(|(least, _)| least.beyond == 0)
        };
        let intervals = self.intervals();
        let mut near = false;
        for &first in &intervals {
            if first.checked_mul(self.shapings) == Some(self.rows) {
                near |= consider(vec![ChosenRate { every: first, times: self.shapings }]);
            }
            for &second in &intervals {
                if let Some([one, other]) = two(self.shapings, self.rows, [first, second]) {
                    near |= consider(vec![one, other]);
                }
            }
        }
        if !near {
            for &first in &intervals {
                for times in 1..self.shapings {
                    let Some(rows) = self.rows.checked_sub(first * times) else { break };
                    let lead = ChosenRate { every: first, times };
                    let pairs = intervals.iter().flat_map(|a| intervals.iter().map(|b| [*a, *b]));
                    for pair in pairs.filter(|pair| pair[0] != first) {
                        if let Some([one, other]) = two(self.shapings - times, rows, pair) {
                            consider(vec![lead, one, other]);
                        }
                    }
                }
            }
        }
        best.map(|(_, rates)| rates)
    }

    /// The intervals worth trying, from the shortest.
    fn intervals(&self) -> Vec<u32> {
        let second = if self.every_second { 2 } else { 1 };
        let any_row = self.every_second && self.shapings.saturating_mul(2) > self.rows;
        let any_row = any_row.then_some(1);
        any_row.into_iter().chain((1..).map(|n| n * second)).take(MOST_INTERVALS).collect()
    }

    /// Compares rates with the curve at each shaping. With k of s shapings done the
    /// curve has come to rows(k S / s) R / R', S and R' being its own shapings and
    /// rows; all in units of 1 / (s R') rows, to stay in whole numbers.
    fn cost(&self, rates: &[ChosenRate], (own_rows, own_times): (u64, u64)) -> Cost {
        let all = u64::from(self.shapings);
        let unit = all * own_rows;
        let (mut done, mut row, mut off) = (0_u64, 0_u64, 0_u64);
        for rate in rates {
            for _ in 0..rate.times {
                done += 1;
                row += u64::from(rate.every);
                let drawn = self.drawn_at(done * own_times) * u64::from(self.rows);
                off = off.max(drawn.abs_diff(row * unit));
            }
        }
        let may = (u64::from(ROWS_OFF) * all + u64::from(self.rows)) * own_rows;
        let wavers = rates.windows(3).any(|three| match three {
            [a, b, c] => (a.every < b.every) != (b.every < c.every),
            _ => false,
        });
        Cost { beyond: off.saturating_sub(may), clauses: rates.len(), wavers, off }
    }

    /// The rows of the drawn curve after so many shapings, both in units of 1 / s.
    fn drawn_at(&self, shapings: u64) -> u64 {
        let all = u64::from(self.shapings);
        let (mut done, mut rows) = (0_u64, 0_u64);
        for rate in self.drawn {
            let times = u64::from(rate.times) * all;
            let every = u64::from(rate.every);
            if shapings <= done + times {
                return rows + (shapings - done) * every;
            }
            done += times;
            rows += times * every;
        }
        rows
    }
}

/// So many shapings at two intervals that take so many rows, where both come out.
fn two(shapings: u32, rows: u32, [first, second]: [u32; 2]) -> Option<[ChosenRate; 2]> {
    // first (s - n) + second n = R
    let (s, rows) = (i64::from(shapings), i64::from(rows));
    let by = i64::from(second) - i64::from(first);
    let over = rows - i64::from(first) * s;
    if by == 0 || over % by != 0 {
        return None;
    }
    let later = over / by;
    if later < 1 || later >= s {
        return None;
    }
    let times = |n: i64| u32::try_from(n).ok();
    Some([
        ChosenRate { every: first, times: times(s - later)? },
        ChosenRate { every: second, times: times(later)? },
    ])
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn rates(all: &[(u32, u32)]) -> Vec<ChosenRate> {
        all.iter().map(|&(every, times)| ChosenRate { every, times }).collect()
    }

    fn stepped(drawn: &[(u32, u32)], shapings: u32, rows: u32) -> Option<Vec<ChosenRate>> {
        let drawn = rates(drawn);
        Slope { drawn: &drawn, shapings, rows, every_second: true }.stepped()
    }

    #[test]
    fn a_curve_comes_out_as_it_was_at_its_own_counts() {
        let curves: [&[(u32, u32)]; 3] = [&[(2, 5)], &[(2, 10), (4, 5)], &[(2, 6), (4, 12)]];
        for drawn in curves {
            let rows = drawn.iter().map(|(every, times)| every * times).sum();
            let shapings = drawn.iter().map(|(_, times)| times).sum();
            assert_eq!(stepped(drawn, shapings, rows), Some(rates(drawn)));
        }
    }

    #[test]
    fn too_many_for_every_second_row_begin_on_every_row() {
        // 12 decreases in 20 rows: four on every row, then eight on every second.
        assert_eq!(stepped(&[(2, 10)], 12, 20), Some(rates(&[(1, 4), (2, 8)])));
        assert_eq!(stepped(&[(2, 10)], 10, 20), Some(rates(&[(2, 10)])));
    }

    #[test]
    fn an_easing_curve_goes_on_easing() {
        // Half of the rows hold two thirds of the decreases.
        let finer = stepped(&[(2, 10), (4, 5)], 21, 56).expect("rates");
        assert_eq!(finer, rates(&[(2, 14), (4, 7)]));
    }

    #[test]
    fn nothing_drawn_gives_nothing() {
        assert_eq!(stepped(&[], 4, 8), None);
        assert_eq!(stepped(&[(2, 0)], 4, 8), None);
        assert_eq!(stepped(&[(2, 4)], 0, 8), None);
        assert_eq!(stepped(&[(2, 4)], 9, 8), None, "more shapings than rows");
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]
        #[test]
        fn all_shapings_and_all_rows_are_used(
            drawn in proptest::collection::vec((1_u32..4, 1_u32..12), 1..4),
            shapings in 1_u32..40, spare in 0_u32..40,
        ) {
            let drawn: Vec<(u32, u32)> = drawn.iter().map(|(e, t)| (e * 2, *t)).collect();
            let rows = (shapings + spare).next_multiple_of(2);
            if let Some(rates) = stepped(&drawn, shapings, rows) {
                prop_assert_eq!(rates.iter().map(|r| r.times).sum::<u32>(), shapings);
                prop_assert_eq!(rates.iter().map(|r| r.times * r.every).sum::<u32>(), rows);
                prop_assert!(rates.len() <= 3);
                // After rows in pairs each right-side row is where it was.
                let odd = rates.iter().filter(|r| r.every == 1).all(|r| r.times % 2 == 0);
                prop_assert!(odd, "{:?}", rates);
            }
        }
    }
}
