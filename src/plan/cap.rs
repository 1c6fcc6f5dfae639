//! Edges that curve: armholes, necks, sleeve caps and sloped shoulders.
//!
//! A curve is kept in lengths and stepped again in whole stitches and rows at
//! another gauge, so that the garment keeps its shape. Knows one edge at a
//! time; the other edge of a piece is worked a row later or mirrored.

use super::taper::{Rate, Step, Taper, TooFewRows};
use crate::measure::round::{Multiple, Toward, nearest, to_multiple};
use crate::measure::{Density, Exact, Length, Rows, Stitches, Unit, exact};

/// Stitches that go at an edge on one row.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct EdgeStep {
    /// The row, counted from 1 at the foot of the edge.
    pub row: Rows,
    /// How many go: one is a decrease, more are bound off.
    pub stitches: Stitches,
}

/// One edge, row by row.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Edge {
    steps: Vec<EdgeStep>,
    rows: Rows,
}

/// So many stitches every so many rows, so many times.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct EdgeRate {
    /// How many stitches go each time.
    pub stitches: Stitches,
    /// The rows, and how many times.
    pub rate: Rate,
}

impl Edge {
    /// An edge of these steps over `rows` rows, or `None` unless the steps
    /// are in the order of their rows, one a row, within the rows, and each
    /// takes a stitch.
    #[must_use]
    pub fn new(steps: Vec<EdgeStep>, rows: Rows) -> Option<Self> {
        let mut before = 0;
        for step in &steps {
            if step.row.0 <= before || step.row > rows || step.stitches.0 == 0 {
                return None;
            }
            before = step.row.0;
        }
        Some(Self { steps, rows })
    }

    /// The edge that these rates work, one after the other, and then plain
    /// rows up to `rows`; `None` where they take more.
    #[must_use]
    pub fn from_rates(rates: &[EdgeRate], rows: Rows) -> Option<Self> {
        let mut steps = Vec::new();
        let mut row = 0_u32;
        for EdgeRate { stitches, rate } in rates {
            for _ in 0..rate.times {
                row = row.checked_add(rate.every.0).filter(|row| *row <= rows.0)?;
                steps.push(EdgeStep { row: Rows(row), stitches: *stitches });
            }
        }
        Self::new(steps, rows)
    }

    /// Its steps, in order.
    #[must_use]
    pub fn steps(&self) -> &[EdgeStep] {
        &self.steps
    }

    /// How many rows it takes.
    #[must_use]
    pub const fn rows(&self) -> Rows {
        self.rows
    }

    /// How many stitches go in all.
    #[must_use]
    pub fn stitches(&self) -> Stitches {
        Stitches(self.steps.iter().fold(0, |sum, step| sum.saturating_add(step.stitches.0)))
    }

    /// The same as rates: "bind off 4, then 2 every 2nd row twice, then 1
    /// every 2nd row 5 times".
    #[must_use]
    pub fn rates(&self) -> Vec<EdgeRate> {
        let mut all: Vec<EdgeRate> = Vec::new();
        let mut before = 0;
        for step in &self.steps {
            let every = Rows(step.row.0 - before);
            before = step.row.0;
            match all.last_mut() {
                Some(last) if last.rate.every == every && last.stitches == step.stitches => {
                    last.rate.times += 1;
                }
                _ => all.push(EdgeRate { stitches: step.stitches, rate: Rate { every, times: 1 } }),
            }
        }
        all
    }

    /// How long the edge is, from the foot to the last row, drawn straight
    /// from step to step. To a thousandth of a millimetre.
    #[must_use]
    pub fn length(&self, stitches: Density, rows: Density) -> Length {
        let mut micrometres = 0_u128;
        let mut at = (0_u32, 0_u32);
        // Mostly one line is as the last.
        let mut last = ((0, 0), 0);
        let ends = std::iter::once((self.stitches().0, self.rows.0));
        for to in self.corners().chain(ends) {
            let line = (to.0 - at.0, to.1 - at.1);
            if line != last.0 {
                let length = |density: Density, n: u32| density.length(exact(i64::from(n), 1));
                last = (line, slant(length(stitches, line.0), length(rows, line.1)));
            }
            micrometres += last.1;
            at = to;
        }
        Length::new(exact(i64::try_from(micrometres).unwrap_or(i64::MAX), 1000), Unit::Mm)
    }

    /// Stitches gone and rows finished before, at each step.
    fn corners(&self) -> impl Iterator<Item = (u32, u32)> + '_ {
        self.steps.iter().scan(0_u32, |gone, step| {
            *gone = gone.saturating_add(step.stitches.0);
            Some((*gone, step.row.0 - 1))
        })
    }
}

/// The length of a slanting line in micrometres.
fn slant(across: Length, up: Length) -> u128 {
    let thousandths = |length: Length| {
        u128::from(nearest(length.amount(Unit::Mm) * exact(1000, 1)).unsigned_abs())
    };
    let (x, y) = (thousandths(across), thousandths(up));
    (x * x + y * y).isqrt()
}

/// How the slope of an edge goes.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Slope {
    /// It only grows steeper: first bind-offs, then a stitch every row, every
    /// 2nd row, every 4th row (armholes and necks). Steps are put in that order.
    Easing,
    /// It goes as it is drawn (sleeve caps).
    AsDrawn,
}

/// An edge in lengths.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Curve {
    knots: Vec<Knot>,
    across: Length,
    up: Length,
    /// 1 where its first step is on an even row, else 0.
    first: u32,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Knot {
    across: Length,
    up: Length,
    /// Bound off all at once, after rows in which nothing went.
    at_once: bool,
    /// More than one stitch went.
    bound_off: bool,
}

impl Curve {
    /// The curve of an edge at its own gauge, or `None` where the edge has no
    /// steps and so no curve.
    #[must_use]
    pub fn of(edge: &Edge, stitches: Density, rows: Density) -> Option<Self> {
        let first = edge.steps.first()?.row.0;
        let mut before = 0;
        let knots = edge
            .steps
            .iter()
            .zip(edge.corners())
            .map(|(step, (gone, up))| {
                let rows_since = step.row.0 - before;
                let bound_off = step.stitches.0 > 1;
                let at_once = before == 0 || (bound_off && rows_since > 2);
                before = step.row.0;
                Knot {
                    across: stitches.length(exact(i64::from(gone), 1)),
                    up: rows.length(exact(i64::from(up), 1)),
                    at_once,
                    bound_off,
                }
            })
            .collect();
        Some(Self {
            knots,
            across: stitches.length(edge.stitches().exact()),
            up: rows.length(edge.rows.exact()),
            first: (first + 1) % 2,
        })
    }

    /// How far it goes across.
    #[must_use]
    pub const fn across(&self) -> Length {
        self.across
    }

    /// How far it goes up.
    #[must_use]
    pub const fn up(&self) -> Length {
        self.up
    }

    /// The curve stepped in these stitches and rows, all of which it uses:
    /// bind-offs every second row, single decreases on every row that `step`
    /// allows. Each stitch goes on the first such row at which the curve has
    /// come past it. At its own counts an easing edge comes out as it was.
    ///
    /// `None` where there are no rows.
    #[must_use]
    pub fn stepped(
        &self,
        stitches: Stitches,
        rows: Rows,
        step: Step,
        slope: Slope,
    ) -> Option<Edge> {
        let mut steps: Vec<EdgeStep> = Vec::new();
        let mut row = 0;
        for stitch in 1..=stitches.0 {
            row = self.row_of(stitch, stitches, rows, step)?.max(row);
            match steps.last_mut() {
                Some(last) if last.row.0 == row => last.stitches.0 += 1,
                _ => steps.push(EdgeStep { row: Rows(row), stitches: Stitches(1) }),
            }
        }
        if slope == Slope::Easing {
            ease(&mut steps);
        }
        Edge::new(steps, rows)
    }

    /// The row on which a stitch goes.
    fn row_of(&self, stitch: u32, of: Stitches, rows: Rows, step: Step) -> Option<u32> {
        let one = self.across * (exact(1, 1) / of.exact());
        let outer = one * exact(i64::from(stitch), 1);
        let middle = outer - one * exact(1, 2);
        let at = self.knots.iter().position(|knot| knot.across >= middle)?;
        let knot = self.knots.get(at)?;
        let up = self.up_at(at, outer)?;
        let grid = if knot.bound_off { 2 } else { step.rows() };
        let fits = Multiple::new(grid, self.first % grid);
        let toward = if knot.at_once { Toward::Nearest } else { Toward::Up };
        let last = to_multiple(rows.exact() - exact(1, 1), fits, Toward::Down);
        let before = to_multiple(up / self.up * rows.exact(), fits, toward).min(last);
        u32::try_from(before).ok()?.checked_add(1)
    }

    /// How far up the curve is once it has come `across`, at the knot `at`.
    fn up_at(&self, at: usize, across: Length) -> Option<Length> {
        let knot = self.knots.get(at)?;
        if knot.at_once {
            return Some(knot.up);
        }
        let (from, to) = match self.knots.get(at + 1) {
            Some(next) if across > knot.across && !next.at_once => (knot, next),
            _ => (self.knots.get(at.checked_sub(1)?)?, knot),
        };
        let across = across.min(to.across);
        let part = (across - from.across) / (to.across - from.across);
        Some(from.up + (to.up - from.up) * part)
    }
}

/// Puts the steps after the first in the order of an easing slope: the most
/// stitches first, then the fewest rows.
fn ease(steps: &mut [EdgeStep]) {
    let Some((first, rest)) = steps.split_first_mut() else { return };
    let mut row = first.row.0;
    let mut going: Vec<(std::cmp::Reverse<u32>, u32)> = rest
        .iter()
        .map(|step| {
            let rows = step.row.0 - row;
            row = step.row.0;
            (std::cmp::Reverse(step.stitches.0), rows)
        })
        .collect();
    going.sort_unstable();
    let mut row = first.row.0;
    for (step, (stitches, rows)) in rest.iter_mut().zip(going) {
        row += rows;
        *step = EdgeStep { row: Rows(row), stitches: Stitches(stitches.0) };
    }
}

/// A shoulder's stitches bound off in `steps` steps, from the armhole to the
/// neck: as equal as whole stitches allow, the smaller first. Steps that would
/// have none are left out.
#[must_use]
pub fn shoulder(stitches: Stitches, steps: u32) -> Vec<Stitches> {
    let steps = steps.min(stitches.0);
    let (each, over) = match stitches.0.checked_div(steps) {
        Some(each) => (each, stitches.0 % steps),
        None => return Vec::new(),
    };
    (0..steps).map(|step| Stitches(each + u32::from(step >= steps - over))).collect()
}

/// The cap of a set-in sleeve.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Cap<'a> {
    /// Stitches of the sleeve at the underarm.
    pub upper: Stitches,
    /// Stitches bound off on each side before the slope, row by row on its
    /// own side.
    pub bound_off: &'a [Stitches],
    /// Stitches bound off at the top in one go.
    pub top: Stitches,
}

/// Why a cap does not come out.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum CapError {
    /// Fewer stitches than are bound off.
    TooNarrow,
    /// An odd number of stitches to divide between two sides.
    Odd(Stitches),
    /// The decreases do not fit into the rows.
    TooFewRows(TooFewRows),
}

impl Cap<'_> {
    /// Decreases on each side of the slope.
    ///
    /// # Errors
    /// [`CapError`] where the stitches do not divide.
    pub fn each_side(&self) -> Result<u32, CapError> {
        let bound_off = self.bound_off.iter().fold(0_u32, |sum, s| sum.saturating_add(s.0));
        let gone = bound_off.saturating_mul(2).saturating_add(self.top.0);
        match self.upper.0.checked_sub(gone) {
            None => Err(CapError::TooNarrow),
            Some(odd) if odd % 2 == 1 => Err(CapError::Odd(Stitches(odd))),
            Some(slope) => Ok(slope / 2),
        }
    }

    /// One side of the cap with a slope of `rows` rows, in one or two rates,
    /// on every second row where that has room and else on every row.
    ///
    /// # Errors
    /// [`CapError`] where stitches or rows do not come out.
    pub fn edge(&self, rows: Rows) -> Result<Edge, CapError> {
        let every_row = Taper::new(rows, self.each_side()?);
        let taper = Taper { step: Step::EverySecondRow, ..every_row };
        let slope =
            taper.schedule().or_else(|_| every_row.schedule()).map_err(CapError::TooFewRows)?;
        let mut steps: Vec<EdgeStep> = Vec::new();
        let mut row = 1_u32;
        for stitches in self.bound_off {
            steps.push(EdgeStep { row: Rows(row), stitches: *stitches });
            row = row.saturating_add(2);
        }
        let foot = row - 1;
        let slope = slope.shaped_rows().map(|shaped| EdgeStep {
            row: Rows(foot.saturating_add(shaped.0)),
            stitches: Stitches(1),
        });
        steps.extend(slope);
        Edge::new(steps, Rows(foot.saturating_add(rows.0))).ok_or(CapError::TooNarrow)
    }

    /// The seam of one side: its edge, and half the top.
    ///
    /// # Errors
    /// [`CapError`] where stitches or rows do not come out.
    pub fn seam(
        &self,
        rows: Rows,
        stitches: Density,
        row_gauge: Density,
    ) -> Result<Length, CapError> {
        let edge = self.edge(rows)?.length(stitches, row_gauge);
        Ok(edge + stitches.length(self.top.exact() / exact(2, 1)))
    }

    /// The rows of slope whose seam comes nearest to an armhole's edge, with
    /// that seam: the fewest rows where two come as near.
    ///
    /// # Errors
    /// [`CapError`] where the stitches do not come out.
    pub fn rows_for_seam(
        &self,
        armhole: Length,
        stitches: Density,
        row_gauge: Density,
    ) -> Result<(Rows, Length), CapError> {
        let fewest = self.each_side()?;
        // A seam is never shorter than it is high.
        let highest = to_multiple(row_gauge.count(armhole), Multiple::ANY, Toward::Up);
        let highest = u32::try_from(highest.clamp(0, 10_000)).unwrap_or(0).max(fewest);
        let mut best = (Rows(fewest), self.seam(Rows(fewest), stitches, row_gauge)?);
        for rows in fewest + 1..=highest {
            let seam = self.seam(Rows(rows), stitches, row_gauge)?;
            if (seam - armhole).abs() < (best.1 - armhole).abs() {
                best = (Rows(rows), seam);
            }
        }
        Ok(best)
    }
}

/// By what fraction of an armhole's edge a cap's is longer; negative where it
/// is shorter.
#[must_use]
pub fn fullness(cap: Length, armhole: Length) -> Option<Exact> {
    armhole.is_positive().then(|| (cap - armhole) / armhole)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn per_10_cm(count: i64) -> Density {
        Density::new(exact(count, 1), Length::cm(10)).expect("more than nothing")
    }

    fn rates(list: &[(u32, u32, u32)]) -> Vec<EdgeRate> {
        list.iter()
            .map(|&(stitches, every, times)| EdgeRate {
                stitches: Stitches(stitches),
                rate: Rate { every: Rows(every), times },
            })
            .collect()
    }

    fn listed(edge: &Edge) -> Vec<(u32, u32, u32)> {
        edge.rates().iter().map(|r| (r.stitches.0, r.rate.every.0, r.rate.times)).collect()
    }

    const ARMHOLE: [(u32, u32, u32); 6] =
        [(6, 1, 1), (3, 2, 2), (2, 2, 2), (1, 2, 5), (1, 4, 2), (1, 6, 1)];

    #[test]
    fn its_own_gauge_gives_the_edge_back() {
        let edge = Edge::from_rates(&rates(&ARMHOLE), Rows(64)).expect("an edge");
        let curve = Curve::of(&edge, per_10_cm(22), per_10_cm(30)).expect("a curve");
        for slope in [Slope::Easing, Slope::AsDrawn] {
            let again = curve.stepped(edge.stitches(), edge.rows(), Step::EverySecondRow, slope);
            assert_eq!(again.as_ref(), Some(&edge));
        }
        assert_eq!(listed(&edge), ARMHOLE);
    }

    #[test]
    fn another_gauge_keeps_the_shape() {
        let edge = Edge::from_rates(&rates(&ARMHOLE), Rows(64)).expect("an edge");
        let curve = Curve::of(&edge, per_10_cm(22), per_10_cm(30)).expect("a curve");
        let thick = curve.stepped(Stitches(18), Rows(46), Step::EverySecondRow, Slope::Easing);
        let fine = curve.stepped(Stitches(31), Rows(84), Step::EverySecondRow, Slope::Easing);
        assert_eq!(
            thick.as_ref().map(listed),
            Some(vec![(5, 1, 1), (3, 2, 1), (2, 2, 2), (1, 2, 4), (1, 4, 1), (1, 6, 1)])
        );
        assert_eq!(
            fine.as_ref().map(listed),
            Some(vec![(8, 1, 1), (3, 2, 2), (2, 2, 3), (1, 2, 7), (1, 4, 3), (1, 6, 1)])
        );
    }

    #[test]
    fn a_right_angle_has_its_own_length() {
        // 3 cm across on the first row, then 4 cm up; then 3 across at 4 up.
        let straight = Edge::new(vec![EdgeStep { row: Rows(1), stitches: Stitches(6) }], Rows(12));
        let length = straight.map(|edge| edge.length(per_10_cm(20), per_10_cm(30)));
        assert_eq!(length, Some(Length::cm(7)));
        let slanted = Edge::new(vec![EdgeStep { row: Rows(13), stitches: Stitches(6) }], Rows(13));
        let length = slanted.map(|edge| edge.length(per_10_cm(20), per_10_cm(30)));
        let last_row = Length::new(exact(10, 30), Unit::Cm);
        assert!(length.is_some_and(
            |l| (l - Length::cm(5) - last_row).abs() < Length::new(exact(1, 100), Unit::Mm)
        ));
    }

    #[test]
    fn shoulders_step_evenly() {
        let steps = |n, of| shoulder(Stitches(n), of).iter().map(|s| s.0).collect::<Vec<_>>();
        assert_eq!(steps(24, 3), [8, 8, 8]);
        assert_eq!(steps(25, 4), [6, 6, 6, 7]);
        assert_eq!(steps(2, 5), [1, 1]);
        assert!(steps(2, 0).is_empty());
        assert!(steps(0, 4).is_empty());
    }

    #[test]
    fn a_cap_as_long_as_its_armhole() {
        let cap =
            Cap { upper: Stitches(64), bound_off: &[Stitches(5), Stitches(2)], top: Stitches(14) };
        assert_eq!(cap.each_side(), Ok(18));
        let (stitches, rows_gauge) = (per_10_cm(20), per_10_cm(28));
        let (found, seam) = cap.rows_for_seam(Length::cm(22), stitches, rows_gauge).expect("a cap");
        let off = |rows| {
            let seam = cap.seam(Rows(rows), stitches, rows_gauge);
            seam.map(|seam| (seam - Length::cm(22)).abs()).ok()
        };
        assert_eq!(off(found.0), Some((seam - Length::cm(22)).abs()));
        assert!((18..90).all(|other| off(other) >= off(found.0)));
        assert_eq!(Cap { top: Stitches(15), ..cap }.each_side(), Err(CapError::Odd(Stitches(35))));
        assert_eq!(Cap { top: Stitches(60), ..cap }.each_side(), Err(CapError::TooNarrow));
    }

    #[test]
    fn the_seam_goes_on_to_the_middle_of_the_top() {
        // Straight up for 30 rows, which are 10 cm, and then half of 40 stitches, which are 10 cm.
        let straight = Cap { upper: Stitches(40), bound_off: &[], top: Stitches(40) };
        let seam = straight.seam(Rows(30), per_10_cm(20), per_10_cm(30));
        assert_eq!(seam, Ok(Length::cm(20)));
    }

    #[test]
    fn fullness_is_of_the_armhole() {
        assert_eq!(fullness(Length::cm(22), Length::cm(20)), Some(exact(1, 10)));
        assert_eq!(fullness(Length::cm(22), Length::zero()), None);
    }

    fn easing() -> impl Strategy<Value = (Edge, Step)> {
        let counts = (2_u32..9, 0_u32..3, 0_u32..3, 0_u32..6, 0_u32..9, 0_u32..5, 0_u32..40);
        (counts, any::<bool>()).prop_filter_map(
            "an edge",
            |((first, threes, twos, ones, seconds, fourths, plain), every_row)| {
                let ones = if every_row { ones } else { 0 };
                let list = [
                    (first, 1, 1),
                    (3, 2, threes),
                    (2, 2, twos),
                    (1, 1, ones),
                    (1, 2, seconds),
                    (1, 4, fourths),
                ];
                let rows: u32 = list.iter().map(|(_, every, times)| every * times).sum();
                let step = if every_row { Step::EveryRow } else { Step::EverySecondRow };
                Some((Edge::from_rates(&rates(&list), Rows(rows + plain))?, step))
            },
        )
    }

    proptest! {
        #[test]
        fn an_easing_edge_comes_back((edge, step) in easing()) {
            let curve = Curve::of(&edge, per_10_cm(21), per_10_cm(29));
            let Some(curve) = curve else { return Err(TestCaseError::fail("no curve")) };
            let again = curve.stepped(edge.stitches(), edge.rows(), step, Slope::Easing);
            prop_assert_eq!(again, Some(edge));
        }

        #[test]
        fn every_stitch_goes_within_the_rows(
            (edge, step) in easing(), stitches in 1_u32..60, rows in 3_u32..120
        ) {
            let curve = Curve::of(&edge, per_10_cm(21), per_10_cm(29));
            let Some(curve) = curve else { return Err(TestCaseError::fail("no curve")) };
            for slope in [Slope::Easing, Slope::AsDrawn] {
                let new = curve.stepped(Stitches(stitches), Rows(rows), step, slope);
                let Some(new) = new else { return Err(TestCaseError::fail("no edge")) };
                prop_assert_eq!(new.stitches(), Stitches(stitches));
                prop_assert_eq!(new.rows(), Rows(rows));
                for bound_off in new.steps().iter().filter(|s| s.stitches.0 > 1) {
                    if step == Step::EverySecondRow {
                        prop_assert_eq!(bound_off.row.0 % 2, 1);
                    }
                }
            }
        }

        /// At a gauge near its own, the edge stays close to the curve.
        #[test]
        fn the_shape_is_kept((edge, step) in easing(), wide in 70_u32..130, high in 70_u32..130) {
            let curve = Curve::of(&edge, per_10_cm(21), per_10_cm(29));
            let Some(curve) = curve else { return Err(TestCaseError::fail("no curve")) };
            let stitches = Stitches((edge.stitches().0 * wide / 100).max(1));
            let rows = Rows((edge.rows().0 * high / 100).max(3));
            let Some(new) = curve.stepped(stitches, rows, step, Slope::Easing) else {
                return Err(TestCaseError::fail("no edge"));
            };
            // Compare the share of stitches gone at every step with the
            // original's share at the same share of its rows.
            for (gone, up) in new.corners() {
                let was_up = up * edge.rows().0 / rows.0;
                let near: Vec<u32> = (was_up.saturating_sub(3)..=was_up + 3)
                    .map(|at| {
                        let before = edge.corners().take_while(|(_, u)| *u <= at);
                        before.last().map_or(0, |(gone, _)| gone)
                    })
                    .collect();
                let scaled = gone * edge.stitches().0 / stitches.0;
                let least = near.iter().min().copied().unwrap_or(0);
                let most = near.iter().max().copied().unwrap_or(0);
                prop_assert!(scaled + 2 >= least && scaled <= most + 2,
                    "{scaled} gone at {was_up}, was {near:?}: {:?} from {:?}", new.rates(), edge.rates());
            }
        }
    }
}
