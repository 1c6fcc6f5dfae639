//! Set-in sleeves: the edge of a cap beside the edge of the armhole it is sewn into.
//!
//! Both are read off a walk, of the pattern as it is or of one that is being
//! planned, and drawn as in [`super::cap`]. A rewrite keeps what the author let
//! the cap have over the armhole: where a new gauge would change that, the
//! slope of the cap is worked over more or fewer rows.
//!
//! A cap is a piece called a sleeve that begins to be bound off at the start of
//! its next rows; its armhole is that of the first other piece that does, from
//! there to the last length measured from the armhole.

use super::cap::{Edge, EdgeStep};
use super::choose::ChosenRate;
use crate::measure::{Exact, Gauge, Length, Linear, Rows, Stitches, Unit, exact};
use crate::model::{GaugeId, Model};
use crate::source::Span;
use crate::syntax::tree::{Action, BindOff, Counts, Extent, From, Schedule, ShapePlace, Step};
use crate::work::{Trace, Visit};
use std::collections::BTreeMap;

/// The edge of a cap and that of its armhole, one side of each.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SetIn {
    /// The sleeve, by its place among the pieces.
    pub sleeve: usize,
    /// The piece with the armhole.
    pub body: usize,
    /// From the underarm to the shoulder.
    pub armhole: Length,
    /// From the underarm to the middle of the top.
    pub cap: Length,
    /// The step that shapes most of the cap, and its rows.
    pub slope: Option<(Span, u32)>,
}

impl SetIn {
    /// By how much the cap is longer; less than nothing where it is shorter.
    #[must_use]
    pub fn fullness(&self) -> Length {
        self.cap - self.armhole
    }
}

/// How near a cap must come to its armhole: half a centimeter, or a row where
/// that is more, since a slope goes by two rows.
#[must_use]
pub fn tolerance(gauge: Gauge) -> Length {
    let row = gauge.rows.map_or(Length::zero(), |rows| rows.length(exact(1, 1)));
    row.max(Length::new(exact(5, 1), Unit::Mm))
}

/// What the numbers of a walk are.
pub(crate) trait Numbers {
    /// The stitches of a number.
    fn count(&self, counts: &Counts) -> Option<u32>;
    /// The rates of a schedule.
    fn rates(&self, schedule: &Schedule, visit: &Visit) -> Option<Vec<ChosenRate>>;
    /// The rows of a step.
    fn rows(&self, visit: &Visit) -> Option<u32> {
        visit.rows_after.checked_sub(visit.rows_before)
    }
    /// A count of the walk.
    fn stitches(&self, linear: &Linear) -> Option<i64>;
    /// A gauge.
    fn gauge(&self, gauge: GaugeId) -> Option<Gauge>;
}

/// A pattern as it is written.
struct Written<'a, 'd> {
    model: &'a Model<'d>,
    trace: &'a Trace,
}

impl Numbers for Written<'_, '_> {
    fn count(&self, counts: &Counts) -> Option<u32> {
        counts.given.get(self.trace.size).copied()
    }

    fn rates(&self, schedule: &Schedule, visit: &Visit) -> Option<Vec<ChosenRate>> {
        let wanted = visit.shapings.as_ref().and_then(Linear::known)?;
        Some(super::rates::written(schedule, self.trace.size, visit, wanted))
    }

    fn stitches(&self, linear: &Linear) -> Option<i64> {
        linear.known()
    }

    fn gauge(&self, gauge: GaugeId) -> Option<Gauge> {
        self.model.gauges.get(gauge.0)?.gauge
    }
}

/// Every cap of a pattern with its armhole, in the size of a trace.
#[must_use]
pub fn set_in(model: &Model<'_>, trace: &Trace) -> Vec<SetIn> {
    Walked::new(model, &trace.visits).caps(&Written { model, trace })
}

/// A walk over a pattern, to read edges off with its numbers or with others.
pub(crate) struct Walked<'a, 'd> {
    model: &'a Model<'d>,
    visits: &'a [Visit],
    /// Every step by its place.
    steps: BTreeMap<Span, &'d Step>,
}

impl<'a, 'd> Walked<'a, 'd> {
    pub(crate) fn new(model: &'a Model<'d>, visits: &'a [Visit]) -> Self {
        let mut steps = BTreeMap::new();
        model.each_step(&mut |_, step| {
            steps.insert(step.span, step);
        });
        Self { model, visits, steps }
    }

    /// Every cap with its armhole.
    pub(crate) fn caps(&self, numbers: &impl Numbers) -> Vec<SetIn> {
        let (sleeves, others): (Vec<usize>, Vec<usize>) =
            (0..self.model.pieces.len()).partition(|piece| is_sleeve(self.model, *piece));
        let armhole = others.into_iter().find_map(|piece| {
            let own = self.worked(piece);
            let last = own.iter().rposition(|(_, step)| measures_armhole(step))?;
            Some((piece, drawn(own.get(..=last)?, numbers)?.length))
        });
        let Some((body, armhole)) = armhole else { return Vec::new() };
        let caps = sleeves.into_iter().filter_map(|sleeve| {
            let Drawn { length: cap, slope } = self.cap(sleeve, numbers)?;
            Some(SetIn { sleeve, body, armhole, cap, slope })
        });
        caps.collect()
    }

    /// The edge of a cap, to the middle of its top.
    pub(crate) fn cap(&self, sleeve: usize, numbers: &impl Numbers) -> Option<Drawn> {
        let own = self.worked(sleeve);
        let ((last, step), edge) = own.split_last()?;
        if !matches!(step.action, Action::BindOff { amount: BindOff::All(_) }) {
            return None;
        }
        let cap = drawn(edge, numbers)?;
        let top = Exact::from_integer(i128::from(numbers.stitches(&last.before)?));
        let top = numbers.gauge(last.gauge?)?.stitches.length(top / exact(2, 1));
        Some(Drawn { length: cap.length + top, ..cap })
    }

    /// What was worked of a piece.
    fn worked(&self, piece: usize) -> Vec<(&Visit, &Step)> {
        let own = self.visits.iter().filter(|visit| visit.piece == piece);
        own.filter_map(|visit| Some((visit, *self.steps.get(&visit.step)?))).collect()
    }
}

/// Whether a piece is called a sleeve.
pub(crate) fn is_sleeve(model: &Model<'_>, piece: usize) -> bool {
    let piece = model.pieces.get(piece);
    piece.is_some_and(|piece| piece.name.value.to_lowercase().contains("sleeve"))
}

/// Whether a step, or one it holds, works until a length from the armhole.
pub(crate) fn measures_armhole(step: &Step) -> bool {
    let own = matches!(&step.action, Action::Work { extent: Extent::Until { from, .. }, .. }
        if matches!(&from.value, From::Named(name) if name.eq_ignore_ascii_case("armhole")));
    own || step.steps.iter().any(measures_armhole)
}

/// An edge, drawn.
pub(crate) struct Drawn {
    pub(crate) length: Length,
    /// The step that shapes most of it, and its rows.
    slope: Option<(Span, u32)>,
}

/// The edge from the first bind-off at the start of a row on; `None` where
/// there is none, or where something is worked that is not one whole edge.
fn drawn(steps: &[(&Visit, &Step)], numbers: &impl Numbers) -> Option<Drawn> {
    let begins = |step: &Step| {
        matches!(step.action, Action::BindOff { amount: BindOff::StartOfNext { .. } })
    };
    let first = steps.iter().position(|(_, step)| begins(step))?;
    let mut edge: Vec<EdgeStep> = Vec::new();
    let mut row = 0_u32;
    let mut slope: Option<(Span, u32)> = None;
    for (visit, step) in steps.get(first..)? {
        let rows = numbers.rows(visit)?;
        match &step.action {
            Action::BindOff { amount: BindOff::StartOfNext { count, .. } } => {
                let stitches = Stitches(numbers.count(count)?);
                // Every second row is the other side's.
                let own = (0..rows).step_by(2).filter(|_| stitches.0 > 0);
                edge.extend(own.map(|at| EdgeStep { row: Rows(row + at + 1), stitches }));
            }
            Action::Shape {
                each,
                place: ShapePlace::EachEnd | ShapePlace::ArmholeEdge,
                schedule,
                ..
            } => {
                let stitches = Stitches(numbers.count(each)?);
                let mut at = row;
                for rate in numbers.rates(schedule, visit)? {
                    for _ in 0..rate.times {
                        at = at.checked_add(rate.every)?;
                        edge.push(EdgeStep { row: Rows(at), stitches });
                    }
                }
                if slope.is_none_or(|(_, most)| rows > most) {
                    slope = Some((schedule.span, rows));
                }
            }
            Action::Work { .. } | Action::Say | Action::ChangeTo(_) | Action::Stripes(_) => {}
            _ => return None,
        }
        row = row.checked_add(rows)?;
    }
    let gauge = numbers.gauge(steps.get(first)?.0.gauge?)?;
    let edge = Edge::new(edge, Rows(row))?;
    Some(Drawn { length: edge.length(gauge.stitches, gauge.rows?), slope })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::decimal;
    use crate::source::Source;
    use crate::syntax;

    /// A vest and a sleeve at 20 stitches and 30 rows to 10 cm: a stitch is 1/2, a row 1/3 cm.
    const VEST: &str = "\
---
gauges:
  body: { stitches: 20, rows: 30, over: 10 cm }
---

## Back, flat

- cast on 80 in body
- stockinette for 10 cm, ending with a WS row
- bind off 10 at the start of the next 2 rows [starts armhole]
- stockinette until armhole measures 20 cm
- bind off all

## Sleeve, flat

- cast on 60 in body
- stockinette for 10 cm, ending with a WS row
- bind off 10 at the start of the next 2 rows
- decrease 1 each end every 4th row 2 times
- decrease 1 each end every RS row 10 times (16 sts)
- bind off all
";

    #[test]
    fn edges_are_as_long_as_their_stitches_and_rows() {
        let source = Source::new("vest.wale", VEST);
        let parsed = syntax::parse(&source);
        let document = parsed.document.expect("a pattern");
        let checked = crate::check(&source, &document, parsed.findings);
        assert_eq!(checked.findings, []);
        let [found] = &set_in(&checked.model, &checked.traces[0])[..] else { panic!("one cap") };
        // 10 stitches bound off are 5 cm, and 60 rows straight up are 20.
        assert_eq!(found.armhole, Length::cm(25));
        // 5 cm bound off, two slants to the next decreases, ten over two rows each, the row of the
        // last one, and half of the 16 stitches at the top.
        let slant = |rows: f64| f64::hypot(0.5, rows / 3.0);
        let by_hand = 5.0 + slant(5.0) + slant(4.0) + 10.0 * slant(2.0) + 1.0 / 3.0 + 4.0;
        let cap: f64 = decimal(found.cap.amount(Unit::Cm), 4).parse().expect("a number");
        assert!((cap - by_hand).abs() < 0.01, "{cap} and {by_hand}");
        // The steep part is worked over the most rows.
        let slope = found.slope.map(|(place, rows)| (source.slice(place), rows));
        assert_eq!(slope, Some(("every RS row 10 times", 20)));
    }
}
