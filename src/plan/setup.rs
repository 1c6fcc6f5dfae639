//! Sets up the system of counts of one size: the walk over the pattern again,
//! with unknowns for numbers.
//!
//! A count that spans a piece becomes an unknown that aims at its width; what
//! the rows ask of it becomes requirements. Row numbers are settled on the
//! way, since a length and a row gauge alone decide them.

use super::crowded::Crowded;
use super::goal::Goal;
use super::system::{Requirement, RequirementId, System};
use crate::measure::round::nearest;
use crate::measure::{Exact, Gauge, Given, Length, Linear, SizeId, Unit, Unknown, exact};
use crate::model::{GaugeId, Measures, Model};
use crate::source::{Span, Spanned};
use crate::syntax::front::LengthChange;
use crate::syntax::tree::{Action, Counts, Expr, Extent, Lengths, Lies, Mark, Side, Step};
use crate::work::ledger::{Halt, Need, Trouble, Why};
use crate::work::trace::{Trace, Visit};
use std::collections::{BTreeMap, BTreeSet};

mod aims;
mod ledger;
mod room;
mod rows;
mod slopes;

pub(crate) use room::{Room, Start};
pub use slopes::KeptSlope;

use aims::Plateau;
use slopes::{Slopes, Turned};

/// A number of rows that no rewrite scales: a turning ridge, a plain row.
const FEW_ROWS: u32 = 2;

/// Where a chosen count comes from.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Intent {
    /// What it counts.
    pub(crate) of: Linear,
    /// The step or number that sets it.
    pub(crate) place: Span,
    /// The piece.
    pub(crate) piece: usize,
    /// The gauge the width is taken in.
    pub(crate) gauge: GaugeId,
    /// The exact count aimed at.
    pub(crate) target: Exact,
    /// The number the pattern had.
    pub(crate) old: Option<i64>,
    /// Why it aims there.
    pub(crate) reason: Reason,
    /// How far off counts as an error of 1, in stitches.
    pub(crate) tolerance: Exact,
    /// The count it follows, and its share of that: a band's of its body.
    pub(crate) follows: Option<(Linear, Exact)>,
}

/// A number of rows that is settled before any count is chosen.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct SettledRows {
    pub(crate) gauge: Option<GaugeId>,
    /// The number the pattern had.
    pub(crate) old: i64,
    /// The exact number aimed at.
    pub(crate) exact: Exact,
    /// The number chosen.
    pub(crate) chosen: u32,
    /// How many rows each stands for: a repeat of two rows counts as two.
    pub(crate) block: u32,
    /// Whether it stays even, or odd.
    pub(crate) keeps_parity: bool,
}

/// Why a count aims where it does.
#[derive(Clone, PartialEq, Debug)]
pub enum Reason {
    /// It keeps the width it had.
    Keeps(Length),
    /// It measures this length.
    Measures(Length),
    /// It is one of the steps of a slope that have become more or fewer.
    Step {
        /// The width of the slope.
        of: Length,
        /// How many steps it has now.
        steps: u32,
        /// How many it had.
        was: u32,
    },
    /// It lies beside steps of a slope, of which others come before it now: it has this width.
    BesideSteps(Length),
    /// It is a band that lies so against a count of this many (aimed at).
    Band {
        /// How it lies.
        lies: Lies,
        /// Where the count it meets is set.
        meets: Span,
    },
}

/// A system with the meaning of its parts.
#[derive(Debug)]
pub(crate) struct Setup {
    pub(crate) system: System,
    /// Why each requirement must hold.
    pub(crate) why: Vec<Why>,
    /// The unknown of each number of the text.
    pub(crate) unknowns: BTreeMap<Span, Unknown>,
    /// Numbers that follow from others.
    pub(crate) derived: BTreeMap<Span, Linear>,
    /// Numbers of rows or of times, settled.
    pub(crate) rows: BTreeMap<Span, SettledRows>,
    /// Rows that shapings are spread over, by their schedule.
    pub(crate) spread: BTreeMap<Span, SettledRows>,
    /// Lengths that differ from the pattern's.
    pub(crate) lengths: BTreeMap<Span, Length>,
    /// Edges that slope from a bind-off, which may be sewn to one another.
    pub(crate) slopes: Vec<Sloping>,
    /// Schedules of armholes and necks, which keep their curve.
    pub(crate) curves: BTreeSet<Span>,
    /// By how many rows each schedule could be shorter.
    pub(crate) slack: BTreeMap<Span, u32>,
    /// Schedules: shaping rows over rows.
    pub(crate) schedules: BTreeMap<Span, (Linear, Option<u32>)>,
    /// Shapings that have not the rows they need in the length they had.
    pub(crate) crowded: Vec<Crowded>,
    /// Slopes bound off in as many steps as they were, and so of another depth.
    pub(crate) kept_slopes: Vec<KeptSlope>,
    /// Short rows that are repeated.
    pub(crate) turns: Vec<Turns>,
    /// Counts before and after each even change.
    pub(crate) evens: BTreeMap<Span, (Linear, Linear)>,
    pub(crate) intents: Vec<Intent>,
    /// Numbers to be worked out of nothing.
    pub(crate) adrift: Vec<Span>,
    /// A likely value of each unknown, before any is chosen.
    pub(crate) likely: Vec<i64>,
    /// The counts that rows were reckoned from before they were chosen, and what they
    /// were taken to be.
    pub(crate) guesses: Vec<(Linear, i64)>,
    /// Bands and how they lie.
    pub(crate) bands: Vec<BandJoin>,
    /// Something wrong that the check of the old pattern could not see.
    pub(crate) wrong: Vec<(Span, Trouble)>,
}

/// Short rows that are worked again and again over a count of stitches, which they keep.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Turns {
    /// The number of times.
    pub(crate) place: Span,
    /// How many times they are repeated.
    pub(crate) times: Linear,
    /// The same in the pattern.
    pub(crate) old: i64,
    /// The stitches they lie over.
    pub(crate) has: Linear,
    /// The same in the pattern.
    pub(crate) had: i64,
    /// How many short rows one repeat has, each of which leaves a stitch more.
    pub(crate) each: i64,
    /// How often the same rows were worked before.
    pub(crate) before: i64,
}

/// Where a band meets the fabric beside it.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct BandJoin {
    /// The even change between them.
    pub(crate) step: Span,
    pub(crate) band: Linear,
    pub(crate) body: Linear,
    pub(crate) band_gauge: GaugeId,
    pub(crate) body_gauge: GaugeId,
    /// How it lies now; `None` as written.
    pub(crate) lies: Option<Lies>,
}

/// A live number of a row: where, what, and as the author gave it.
type Live = (Span, Unknown, Given<u32>);

/// An edge decreased over rows after a bind-off: of a raglan, say.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Sloping {
    pub(crate) piece: usize,
    /// Its schedule.
    pub(crate) place: Span,
    /// Its rows in the pattern.
    pub(crate) old: u32,
    /// Its rows now.
    pub(crate) rows: u32,
}

/// A bound-off edge.
struct Edge {
    piece: usize,
    place: Span,
    given: Given<u32>,
    count: Linear,
    /// What it measures, where it is still to be worked out.
    measure: Option<Expr>,
}

/// Stitches bound off at the start of a row towards the end of a piece: a step of a shoulder.
struct ShoulderStep {
    place: Span,
    count: Linear,
    old: i64,
    /// The side of its row, where it is of one edge only.
    side: Option<Side>,
}

/// Decreases after a bound-off edge.
struct Shaped {
    piece: usize,
    /// The bind-off before them, as the author gave it.
    after: Given<u32>,
    /// How often they were.
    old: i64,
    times: Linear,
    place: Span,
}

/// Keeps count with unknowns.
pub(crate) struct Planner<'a, 'd> {
    model: &'a Model<'d>,
    goal: &'a Goal<'a>,
    size: usize,
    from: SizeId,
    /// The old pattern's visits of each step, in order.
    old: BTreeMap<Span, Vec<&'a Visit>>,
    /// How often each step has been worked.
    seen: BTreeMap<Span, usize>,
    /// Values of the unknowns in an earlier round, for reckoning rows.
    hints: &'a [i64],
    /// Lengths that give way, so that the rows between them fit.
    room: &'a Room,
    /// The farthest that is measured from each beginning, in the pattern.
    farthest: BTreeMap<Start, Length>,
    setup: Setup,
    plateaus: Vec<Plateau>,
    /// Edges bound off: those of different pieces with the same numbers are sewn together.
    edges: Vec<Edge>,
    /// Stitches made or taken in a row: those picked up elsewhere may be as many.
    made: Vec<Edge>,
    /// Stitches picked up.
    picked: Vec<Edge>,
    /// Decreases that follow an edge bound off.
    shaped: Vec<Shaped>,
    /// Numbers of stitches that were put aside and that the piece in work has taken up.
    taken_up: Vec<Span>,
    /// How often short rows are repeated.
    short_rows: Vec<Edge>,
    /// Stitches bound off since the piece was last measured or shaped.
    shoulder: Vec<ShoulderStep>,
    /// Slopes that have other rows now.
    slopes: Slopes,
    /// What short rows have left unworked at an edge, where nothing was shaped since.
    turned: Option<Turned>,
    /// Live numbers of the row in work.
    live: Vec<Live>,
    /// Those of them that nothing is said of: the row leaves them what it leaves.
    open: Vec<Span>,
    gauge: Option<GaugeId>,
    piece: usize,
    /// Rows of the piece when it was last worked until a length, by the pattern and now.
    measured: Option<(u32, u32)>,
    /// Rows of the piece so far.
    rows_so_far: u32,
    /// The step before bound off an edge.
    on_an_edge: bool,
}

impl<'a, 'd> Planner<'a, 'd> {
    pub(crate) fn new(
        model: &'a Model<'d>,
        goal: &'a Goal<'a>,
        size: usize,
        old: &'a Trace,
        hints: &'a [i64],
        room: &'a Room,
    ) -> Self {
        let from = goal.sizes.get(size).map_or(SizeId(0), |s| s.from);
        let mut planner = Self {
            model,
            goal,
            size,
            from,
            old: by_step(old),
            seen: BTreeMap::new(),
            hints,
            room,
            farthest: room::farthest(model, from),
            setup: Setup {
                system: System::new(),
                why: Vec::new(),
                unknowns: BTreeMap::new(),
                derived: BTreeMap::new(),
                rows: BTreeMap::new(),
                spread: BTreeMap::new(),
                lengths: BTreeMap::new(),
                slopes: Vec::new(),
                curves: BTreeSet::new(),
                slack: BTreeMap::new(),
                schedules: BTreeMap::new(),
                crowded: Vec::new(),
                kept_slopes: Vec::new(),
                turns: Vec::new(),
                evens: BTreeMap::new(),
                intents: Vec::new(),
                adrift: Vec::new(),
                likely: Vec::new(),
                guesses: Vec::new(),
                bands: Vec::new(),
                wrong: Vec::new(),
            },
            plateaus: Vec::new(),
            edges: Vec::new(),
            made: Vec::new(),
            picked: Vec::new(),
            shaped: Vec::new(),
            taken_up: Vec::new(),
            short_rows: Vec::new(),
            shoulder: Vec::new(),
            slopes: Slopes::default(),
            turned: None,
            live: Vec::new(),
            open: Vec::new(),
            gauge: model.default_gauge(),
            piece: 0,
            measured: None,
            rows_so_far: 0,
            on_an_edge: false,
        };
        let ratios = |gauge| (planner.row_ratio(Some(gauge)), planner.stitch_ratio(gauge));
        let mut slopes = slopes::slopes(model, old, ratios);
        planner.setup.kept_slopes = std::mem::take(&mut slopes.kept);
        planner.slopes = slopes;
        planner
    }

    fn new_gauge(&self, gauge: GaugeId) -> Option<Gauge> {
        self.goal.gauges.get(gauge.0)?.gauge
    }

    fn old_gauge(&self, gauge: GaugeId) -> Option<Gauge> {
        self.model.gauges.get(gauge.0)?.gauge
    }

    fn require(&mut self, need: Need, why: Why) -> RequirementId {
        let requirement = match need {
            Need::Zero(linear) => Requirement::Zero(linear),
            Need::NotNegative(linear) => Requirement::NotNegative(linear),
            Need::Multiple(linear, multiple) => Requirement::Multiple(linear, multiple),
        };
        self.setup.why.push(why);
        self.setup.system.require(requirement)
    }

    fn unknown(&mut self, low: i64, high: i64, old: Option<i64>) -> Unknown {
        self.setup.likely.push(old.map_or(low.max(0), |old| self.likely(old)));
        self.setup.system.unknown(low, high)
    }

    /// An unknown that is another divided.
    fn divided(&mut self, likely: i64) -> Unknown {
        self.setup.likely.push(likely);
        self.setup.system.unknown(0, 1_000_000)
    }

    /// What a number of stitches becomes if it only follows the gauge in work.
    fn likely(&self, old: i64) -> i64 {
        let both = self.gauge.and_then(|g| self.new_gauge(g).zip(self.old_gauge(g)));
        both.map_or(old, |(new, own)| nearest(exact(old, 1) * new.stitches.ratio(own.stitches)))
    }

    /// The same step in the old pattern, the same time over; `None` where its
    /// counts were still to be worked out.
    fn old_visit(&self, step: &Step) -> Option<&'a Visit> {
        let times = self.seen.get(&step.span).copied().unwrap_or(0);
        self.old.get(&step.span)?.get(times).copied()
    }

    fn old_rows(&self, step: &Step) -> Option<u32> {
        let visit = self.old_visit(step)?;
        Some(visit.rows_after - visit.rows_before)
    }

    /// How much denser rows are now, in a gauge.
    fn row_ratio(&self, gauge: Option<GaugeId>) -> Exact {
        let one = exact(1, 1);
        let Some(gauge) = gauge else { return one };
        match (self.new_gauge(gauge), self.old_gauge(gauge)) {
            (Some(new), Some(old)) => match (new.rows, old.rows) {
                (Some(new), Some(old)) => new.ratio(old),
                // Without a row gauge, rows go as stitches do.
                _ => new.stitches.ratio(old.stitches),
            },
            _ => one,
        }
    }

    /// How much denser stitches are now, in a gauge.
    fn stitch_ratio(&self, gauge: GaugeId) -> Exact {
        let both = self.new_gauge(gauge).zip(self.old_gauge(gauge));
        both.map_or(exact(1, 1), |(new, old)| new.stitches.ratio(old.stitches))
    }

    fn literal(&self, counts: &Counts) -> Result<i64, Halt> {
        match counts.given.get(self.from) {
            Some(&n) => Ok(i64::from(n)),
            None if counts.given.skips(self.from) => Err(Halt::Skip),
            None => Err(Halt::Lost),
        }
    }

    /// The length a step's measurement comes to, where the fit changes it.
    fn fitted_length(&self, step: &Step) -> Option<Length> {
        let Action::Work { .. } = step.action else { return None };
        let expr = measure_of(&step.marks)?;
        let length = self.goal.measures.length(&expr, SizeId(self.size)).ok()?;
        // As lengths are written: to half a centimeter or a quarter inch.
        self.refits(&expr).then(|| half_units(length, self.model.units))
    }

    /// Whether the fit changes what an expression measures.
    fn refits(&self, expr: &Expr) -> bool {
        Measures::landmarks(expr).iter().any(|l| self.goal.refits(self.model, l, self.size))
    }

    /// What the targets make of a length. A length that is to become another is
    /// the farthest that is measured from its beginning: those before it move
    /// with it, so that a neck stays as deep as it is.
    fn changed_length(
        &self,
        lengths: &Lengths,
        (own, fitted): (Length, Length),
        step: &Step,
    ) -> Option<Length> {
        let start = Start::of(self.piece, step)?;
        let name = match &start {
            Start::CastOn(piece) => self.model.pieces.get(*piece)?.name.value.to_lowercase(),
            Start::Named(name) => name.clone(),
        };
        let (Action::Work { extent: Extent::Until { length, .. }, .. }
        | Action::Repeat { extent: Extent::Until { length, .. }, .. }) = &step.action
        else {
            return None;
        };
        if length.span != lengths.span {
            return None;
        }
        let entry = self.goal.lengths.iter().find(|(named, _)| *named == name)?;
        match entry.1.value.get(SizeId(self.size))? {
            LengthChange::By(by) => Some(fitted + *by),
            LengthChange::To(to) => {
                let farthest = self.farthest.get(&start).copied().unwrap_or(own);
                Some(own + (*to - farthest))
            }
        }
    }
}

/// How far off a count may be before it matters: 2 in 100, but at least a stitch.
pub(crate) fn tolerance(target: Exact) -> Exact {
    let share = target * exact(2, 100);
    if share < exact(1, 1) { exact(1, 1) } else { share }
}

/// The visits of each step, in order.
fn by_step(trace: &Trace) -> BTreeMap<Span, Vec<&Visit>> {
    let mut visits: BTreeMap<Span, Vec<&Visit>> = BTreeMap::new();
    for visit in &trace.visits {
        visits.entry(visit.step).or_default().push(visit);
    }
    visits
}

/// To the nearest half centimeter or quarter inch.
pub(crate) fn half_units(length: Length, units: Unit) -> Length {
    let (unit, parts) = if units == Unit::In { (Unit::In, 4) } else { (Unit::Cm, 2) };
    let parts = exact(parts, 1);
    Length::new((length.amount(unit) * parts).round() / parts, unit)
}

fn fixed(step: &Step) -> bool {
    step.marks.iter().any(|m| m.value == Mark::Fixed)
}

fn measure_of(marks: &[Spanned<Mark>]) -> Option<Expr> {
    marks.iter().find_map(|m| match &m.value {
        Mark::Measure(expr) => Some(expr.clone()),
        _ => None,
    })
}
