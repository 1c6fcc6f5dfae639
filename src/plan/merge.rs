//! Shapings that run at the same time, told row by row.
//!
//! Takes schedules that begin on rows of their own and says of every row
//! which of them are shaped on it. Knows no more of a shaping than its place
//! in the list.

use super::taper::Schedule;
use crate::measure::Rows;

/// A schedule and when it begins.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Running<'a> {
    /// Rows worked before the schedule's first row.
    pub after: Rows,
    /// The schedule.
    pub schedule: &'a Schedule,
}

/// A row on which something is shaped.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct ShapedRow {
    /// Its number, counted from 1.
    pub row: Rows,
    /// Which of the schedules are shaped on it, by their place in the list, in order.
    pub which: Vec<usize>,
}

/// Plain rows and the shaped row they lead to.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Stretch<'a> {
    /// Rows worked plain.
    pub plain: Rows,
    /// The shaping of the row after them; empty after the last shaping.
    pub then: &'a [usize],
}

/// Every row of schedules that run at the same time.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
pub struct Merged {
    rows: Rows,
    shaped: Vec<ShapedRow>,
}

impl Merged {
    /// Merges schedules; the rows go on until the last of them ends.
    #[must_use]
    pub fn new(running: &[Running<'_>]) -> Self {
        let ends = running.iter().map(|r| r.after.0.saturating_add(r.schedule.rows().0));
        let mut all: Vec<(u32, usize)> = running
            .iter()
            .enumerate()
            .flat_map(|(which, r)| {
                r.schedule.shaped_rows().map(move |row| (r.after.0.saturating_add(row.0), which))
            })
            .collect();
        all.sort_unstable();
        let shaped = all
            .chunk_by(|a, b| a.0 == b.0)
            .filter_map(|same| {
                let row = Rows(same.first()?.0);
                Some(ShapedRow { row, which: same.iter().map(|(_, which)| *which).collect() })
            })
            .collect();
        Self { rows: Rows(ends.max().unwrap_or(0)), shaped }
    }

    /// How many rows there are in all.
    #[must_use]
    pub const fn rows(&self) -> Rows {
        self.rows
    }

    /// The rows on which something is shaped, in order.
    #[must_use]
    pub fn shaped(&self) -> &[ShapedRow] {
        &self.shaped
    }

    /// Every row, counted from 1, with what is shaped on it.
    pub fn every_row(&self) -> impl Iterator<Item = (Rows, &[usize])> + '_ {
        let mut shaped = self.shaped.iter().peekable();
        (1..=self.rows.0).map(move |row| {
            let here = shaped.next_if(|s| s.row.0 == row);
            (Rows(row), here.map_or(&[][..], |s| s.which.as_slice()))
        })
    }

    /// Plain rows and shaped rows in turn; their rows add up to all rows.
    #[must_use]
    pub fn stretches(&self) -> Vec<Stretch<'_>> {
        let mut done = 0;
        let mut all: Vec<Stretch<'_>> = self
            .shaped
            .iter()
            .map(|s| {
                let plain = Rows(s.row.0 - done - 1);
                done = s.row.0;
                Stretch { plain, then: &s.which }
            })
            .collect();
        if self.rows.0 > done {
            all.push(Stretch { plain: Rows(self.rows.0 - done), then: &[] });
        }
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::taper::{Rate, Taper};
    use proptest::prelude::*;

    #[test]
    fn armhole_and_neck() {
        let armhole =
            Schedule { rates: vec![Rate { every: Rows(2), times: 4 }], plain_after: Rows(2) };
        let neck =
            Schedule { rates: vec![Rate { every: Rows(3), times: 2 }], plain_after: Rows(0) };
        let merged = Merged::new(&[
            Running { after: Rows(0), schedule: &armhole },
            Running { after: Rows(3), schedule: &neck },
        ]);
        assert_eq!(merged.rows(), Rows(10));
        let rows: Vec<(u32, &[usize])> =
            merged.shaped().iter().map(|s| (s.row.0, s.which.as_slice())).collect();
        let expected: [(u32, &[usize]); 5] =
            [(2, &[0]), (4, &[0]), (6, &[0, 1]), (8, &[0]), (9, &[1])];
        assert_eq!(rows, expected);
        let plain: Vec<u32> = merged.stretches().iter().map(|s| s.plain.0).collect();
        assert_eq!(plain, [1, 1, 1, 1, 0, 1]);
    }

    proptest! {
        #[test]
        fn every_row_is_accounted_for(
            parts in proptest::collection::vec((0_u32..40, 0_u32..90, 0_u32..30), 0..4)
        ) {
            let schedules: Vec<(Rows, Schedule)> = parts
                .iter()
                .filter_map(|&(after, rows, shapings)| {
                    Some((Rows(after), Taper::new(Rows(rows), shapings).schedule().ok()?))
                })
                .collect();
            let running: Vec<Running<'_>> = schedules
                .iter()
                .map(|(after, schedule)| Running { after: *after, schedule })
                .collect();
            let merged = Merged::new(&running);
            let told: u32 = merged
                .stretches()
                .iter()
                .map(|s| s.plain.0 + u32::from(!s.then.is_empty()))
                .sum();
            prop_assert_eq!(told, merged.rows().0);
            prop_assert_eq!(merged.every_row().count(), merged.rows().0 as usize);
            for (which, r) in running.iter().enumerate() {
                let shaped: Vec<u32> = merged
                    .every_row()
                    .filter(|(_, all)| all.contains(&which))
                    .map(|(row, _)| row.0)
                    .collect();
                let own: Vec<u32> =
                    r.schedule.shaped_rows().map(|row| r.after.0 + row.0).collect();
                prop_assert_eq!(shaped, own);
            }
        }
    }
}
