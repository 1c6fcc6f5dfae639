//! How often and how many times an edge is shaped: the rates of a schedule, as
//! written and anew.
//!
//! Knows shapings and rows; how many there are of each is settled before.

use super::choose::ChosenRate;
use super::slope::Slope;
use super::taper::{Ending, Order, Rate, Step as TaperStep, Taper, TooFewRows};
use crate::measure::{Linear, Rows, SizeId};
use crate::syntax::tree::{Every, Schedule, Setting};
use crate::work::Visit;

/// What a schedule shapes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Shape {
    /// A slope that is straight, or a sleeve cap.
    Edge,
    /// An armhole or a neck, which keeps its curve.
    Curve,
    /// A crown.
    Wedges,
}

/// So many shapings over so many rows: as the author wrote them where both are
/// the same, and else spread anew.
pub(super) fn spread(
    schedule: &Schedule,
    from: SizeId,
    visit: &Visit,
    wanted: i64,
    rows: Option<u32>,
    shape: Shape,
) -> Result<Vec<ChosenRate>, TooFewRows> {
    let written = written(schedule, from, visit, wanted);
    let old_rows = visit.rows_after - visit.rows_before;
    let same = visit.shapings.as_ref().and_then(Linear::known) == Some(wanted);
    if same && rows.is_none_or(|rows| rows == old_rows) {
        return Ok(written);
    }
    let rows = rows.unwrap_or(0);
    let mut taper = taper(schedule, visit, wanted, rows, shape);
    if shape == Shape::Curve && taper.first.is_none() {
        let slope = Slope {
            drawn: &written,
            shapings: taper.shapings,
            rows,
            every_second: taper.step == TaperStep::EverySecondRow,
        };
        if let Some(rates) = slope.stepped() {
            return Ok(rates);
        }
    }
    let tight = visit.setting == Setting::Flat && wanted.saturating_mul(2) > i64::from(rows);
    if tight {
        // Only what must fit at any price is given so few rows: it goes at two
        // rates, the faster towards the top.
        taper = Taper { step: TaperStep::EveryRow, order: Order::SlowerFirst, ..taper };
    } else if let Some(rates) = in_segments(&written, &taper) {
        return Ok(rates);
    }
    let rate = |rate: &Rate| ChosenRate { every: rate.every.0, times: rate.times };
    Ok(taper.schedule()?.rates.iter().map(rate).collect())
}

/// The rates the author wrote, for one size.
pub(super) fn written(
    schedule: &Schedule,
    size: SizeId,
    visit: &Visit,
    wanted: i64,
) -> Vec<ChosenRate> {
    written_with_words(schedule, size, visit, wanted).map(|(rate, _)| rate).collect()
}

/// The same with the author's word for each interval.
pub(super) fn written_with_words<'s>(
    schedule: &'s Schedule,
    size: SizeId,
    visit: &Visit,
    wanted: i64,
) -> impl Iterator<Item = (ChosenRate, &'s Every)> {
    let mut left = wanted;
    schedule.rates.iter().filter_map(move |rate| {
        let every = match &rate.every {
            Every::Side(_) if visit.setting == Setting::Round => 1,
            every => every.interval(size)?,
        };
        let times = match &rate.times {
            Some(counts) => *counts.given.get(size)?,
            None if rate.every == Every::Next => 1,
            None => u32::try_from(left.max(0)).unwrap_or(0),
        };
        left -= i64::from(times);
        Some((ChosenRate { every, times }, &rate.every))
    })
}

/// A curve of three rates or more (a sleeve cap: fast, slow, fast) keeps them in
/// their order: each its part of the shapings and of the rows. `None` for
/// fewer rates, and where the parts do not come out in the rows there are.
fn in_segments(written: &[ChosenRate], taper: &Taper) -> Option<Vec<ChosenRate>> {
    if written.len() < 3 || taper.first.is_some() {
        return None;
    }
    let step = match taper.step {
        TaperStep::EveryRow => 1,
        TaperStep::EverySecondRow => 2,
    };
    let times: Vec<u32> = written.iter().map(|rate| rate.times).collect();
    let rows: Vec<u32> = written.iter().map(|rate| rate.every * rate.times).collect();
    let times = shared(taper.shapings, &times);
    let rows = shared(taper.rows.0 / step, &rows);
    let mut rates: Vec<ChosenRate> = Vec::new();
    let mut left = i64::from(taper.rows.0 / step);
    let mut slowest = (0, 0);
    for (own, (times, rows)) in written.iter().zip(times.into_iter().zip(rows)) {
        if times == 0 {
            continue;
        }
        // The nearest whole interval.
        let every = ((2 * rows + times) / (2 * times)).max(1);
        left -= i64::from(every * times);
        slowest = slowest.max((own.every, rates.len()));
        rates.push(ChosenRate { every: every * step, times });
    }
    // Rows left over lengthen the author's slowest rate, rows too many shorten it.
    let slowest = slowest.1;
    let rate = *rates.get(slowest)?;
    let (whole, odd) =
        (left.div_euclid(i64::from(rate.times)), left.rem_euclid(i64::from(rate.times)));
    let every = u32::try_from(i64::from(rate.every) + whole * i64::from(step)).ok()?;
    let odd = u32::try_from(odd).ok()?;
    if every < step {
        return None;
    }
    let longer = ChosenRate { every: every + step, times: odd };
    let shorter = ChosenRate { every, times: rate.times - odd };
    let both = [longer, shorter].into_iter().filter(|r| r.times > 0);
    rates.splice(slowest..=slowest, both);
    // Where the gauge leaves no difference between two rates they are one.
    rates.dedup_by(|next, rate| {
        let same = next.every == rate.every;
        if same {
            rate.times += next.times;
        }
        same
    });
    Some(rates)
}

/// A number of whole things in the proportion of the parts, the largest
/// remainders first.
pub(super) fn shared(total: u32, parts: &[u32]) -> Vec<u32> {
    let sum: u64 = parts.iter().map(|&p| u64::from(p)).sum::<u64>().max(1);
    let exact = |part: u32| u64::from(total) * u64::from(part);
    let mut shares: Vec<u64> = parts.iter().map(|&p| exact(p) / sum).collect();
    let mut order: Vec<usize> = (0..parts.len()).collect();
    order.sort_by_key(|&i| std::cmp::Reverse(parts.get(i).map_or(0, |&p| exact(p) % sum)));
    let short = u64::from(total) - shares.iter().sum::<u64>();
    for &index in order.iter().take(usize::try_from(short).unwrap_or(0)) {
        if let Some(share) = shares.get_mut(index) {
            *share += 1;
        }
    }
    shares.into_iter().map(|s| u32::try_from(s).unwrap_or(u32::MAX)).collect()
}

fn taper(schedule: &Schedule, visit: &Visit, wanted: i64, rows: u32, shape: Shape) -> Taper {
    let flat = visit.setting == Setting::Flat;
    let interval = |index: usize| match schedule.rates.get(index).map(|r| &r.every) {
        Some(Every::Nth(counts)) => counts.given.values().next().copied(),
        Some(Every::Row | Every::Next) => Some(1),
        Some(Every::Side(_)) => Some(2),
        None => None,
    };
    let order = match (interval(0), interval(1)) {
        (Some(a), Some(b)) if a > b => Order::SlowerFirst,
        (Some(_), Some(_)) => Order::FasterFirst,
        // A crown closes faster towards its top; other edges slope most at first.
        _ if shape == Shape::Wedges => Order::SlowerFirst,
        _ => Order::FasterFirst,
    };
    let next = matches!(schedule.rates.first().map(|r| &r.every), Some(Every::Next));
    let shapings = u32::try_from(wanted.max(0)).unwrap_or(0);
    Taper {
        step: if flat && !schedule.any_row() {
            TaperStep::EverySecondRow
        } else {
            TaperStep::EveryRow
        },
        order,
        ending: Ending::OnShaping,
        first: next.then_some(Rows(1)),
        ..Taper::new(Rows(rows), shapings)
    }
}
#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn rates(all: &[(u32, u32)]) -> Vec<ChosenRate> {
        all.iter().map(|&(every, times)| ChosenRate { every, times }).collect()
    }

    fn segments(written: &[(u32, u32)], rows: u32, shapings: u32) -> Option<Vec<ChosenRate>> {
        let taper = Taper { step: TaperStep::EverySecondRow, ..Taper::new(Rows(rows), shapings) };
        in_segments(&rates(written), &taper)
    }

    #[test]
    fn a_cap_keeps_its_order_of_rates() {
        // 6 + 2 + 5 shapings over 12 + 8 + 10 rows.
        let cap = [(2, 6), (4, 2), (2, 5)];
        assert_eq!(segments(&cap, 30, 13), Some(rates(&cap)), "its own rows and shapings");
        let finer = segments(&cap, 38, 16).expect("a cap");
        assert_eq!(finer.iter().map(|r| r.times).sum::<u32>(), 16);
        assert_eq!(finer.iter().map(|r| r.times * r.every).sum::<u32>(), 38);
        let straight = segments(&[(2, 1), (2, 2), (2, 3)], 12, 6);
        assert_eq!(straight, Some(rates(&[(2, 6)])), "one slope, however it is said");
        assert_eq!(segments(&[(2, 6), (4, 2)], 20, 8), None, "two rates are a taper");
        assert_eq!(segments(&cap, 20, 13), None, "more shapings than rows");
    }

    proptest! {
        /// A curve keeps its shapings, its rows and its order, whatever becomes of it, and is
        /// itself where nothing changes; equal neighbours are one.
        #[test]
        fn a_curve_uses_all_shapings_and_all_rows(
            written in prop::collection::vec((1_u32..5, 1_u32..9), 3..6),
            half_rows in 4_u32..60,
            shapings in 3_u32..40,
        ) {
            let written: Vec<(u32, u32)> = written.iter().map(|(n, times)| (2 * n, *times)).collect();
            let (own_rows, own_times) = written
                .iter()
                .fold((0, 0), |(rows, all), (every, times)| (rows + every * times, all + times));
            let mut own = rates(&written);
            own.dedup_by(|next, rate| {
                let same = next.every == rate.every;
                rate.times += if same { next.times } else { 0 };
                same
            });
            prop_assert_eq!(segments(&written, own_rows, own_times), Some(own));
            if let Some(stepped) = segments(&written, 2 * half_rows, shapings) {
                let rows: u32 = stepped.iter().map(|rate| rate.every * rate.times).sum();
                let times: u32 = stepped.iter().map(|rate| rate.times).sum();
                prop_assert_eq!((rows, times), (2 * half_rows, shapings));
                prop_assert!(stepped.iter().all(|rate| rate.every >= 2 && rate.every % 2 == 0));
                prop_assert!(stepped.windows(2).all(|two| two[0].every != two[1].every));
            }
        }
    }

    #[test]
    fn shares_sum_to_the_whole() {
        assert_eq!(shared(16, &[6, 2, 5]), [7, 3, 6]);
        assert_eq!(shared(0, &[6, 2]), [0, 0]);
    }
}
