//! Sets up the system of counts of one size: the walk over the pattern again,
//! with unknowns for numbers.
//!
//! A count that spans a piece becomes an unknown that aims at its width; what
//! the rows ask of it becomes requirements. Row numbers are settled on the
//! way, since a length and a row gauge alone decide them.

use super::goal::Goal;
use super::system::{Aim, AimId, Requirement, RequirementId, System, Weighted};
use crate::measure::round::{Multiple, Toward, nearest, to_multiple};
use crate::measure::{Density, Exact, Gauge, Given, Length, Linear, SizeId, Unit, Unknown, exact};
use crate::model::{GaugeId, Measures, Model};
use crate::source::{Span, Spanned};
use crate::syntax::front::LengthChange;
use crate::syntax::tree::{
    Action, Counts, Every, Expr, Extent, From, Item, ItemKind, Lengths, Lies, Mark, Schedule,
    Setting, Step,
};
use crate::work::ledger::{Because, Halt, Ledger, Need, Planned, Run, Trouble, Use, Why};
use crate::work::trace::{Trace, Visit};
use std::collections::BTreeMap;

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
    /// The aim in the system.
    pub(crate) aim: AimId,
}

/// Why a count aims where it does.
#[derive(Clone, PartialEq, Debug)]
pub enum Reason {
    /// It keeps the width it had.
    Keeps(Length),
    /// It measures this length.
    Measures(Length),
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
    pub(crate) rows: BTreeMap<Span, u32>,
    /// Lengths that differ from the pattern's.
    pub(crate) lengths: BTreeMap<Span, Length>,
    /// By how many rows each schedule could be shorter.
    pub(crate) slack: BTreeMap<Span, u32>,
    /// Schedules: shaping rows over rows.
    pub(crate) schedules: BTreeMap<Span, (Linear, Option<u32>)>,
    /// Counts before and after each even change.
    pub(crate) evens: BTreeMap<Span, (Linear, Linear)>,
    pub(crate) intents: Vec<Intent>,
    /// Numbers to be worked out of nothing.
    pub(crate) adrift: Vec<Span>,
    /// A likely value of each unknown, before any is chosen.
    pub(crate) likely: Vec<i64>,
    /// Bands and how they lie.
    pub(crate) bands: Vec<BandJoin>,
    /// Something wrong that the check of the old pattern could not see.
    pub(crate) wrong: Vec<(Span, Trouble)>,
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

/// A stretch of work over which the count stays.
#[derive(Clone, Debug)]
struct Plateau {
    piece: usize,
    count: Linear,
    old: Option<i64>,
    place: Span,
    /// Whether the step that set it lets it follow its width.
    follows: bool,
    measure: Option<Expr>,
    lies: Option<Lies>,
    /// Set by an even change: bands meet bodies there.
    even: bool,
    /// Height worked in each gauge, by the old pattern.
    zones: Vec<(GaugeId, Length)>,
    unknown: Option<Unknown>,
}

impl Plateau {
    fn gauge(&self) -> Option<GaugeId> {
        let mut best: Option<(GaugeId, Length)> = None;
        for &(gauge, height) in &self.zones {
            if best.is_none_or(|(_, most)| height > most) {
                best = Some((gauge, height));
            }
        }
        best.map(|(gauge, _)| gauge)
    }

    fn height(&self) -> Length {
        self.zones.iter().fold(Length::zero(), |sum, &(_, height)| sum + height)
    }
}

/// Lengths that give way where rows cannot be fewer.
#[derive(Clone, PartialEq, Debug, Default)]
pub(crate) struct Room {
    /// Steps that end earlier, and by how much.
    pub(crate) shorter: BTreeMap<Span, Length>,
    /// Schedules worked over fewer rows, and by how many.
    pub(crate) fewer: BTreeMap<Span, u32>,
    /// Measurements that grow wherever they are taken, by where they begin.
    pub(crate) longer: BTreeMap<Start, Length>,
}

/// Where a measurement begins: a piece's cast-on, or a named place in any piece.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Start {
    CastOn(usize),
    Named(String),
}

impl Start {
    /// Where a step that works until a length measures from.
    pub(crate) fn of(piece: usize, step: &Step) -> Option<Self> {
        let Action::Work { extent: Extent::Until { from, .. }, .. } = &step.action else {
            return None;
        };
        Some(match &from.value {
            From::CastOn => Self::CastOn(piece),
            From::Named(name) => Self::Named(name.to_lowercase()),
        })
    }
}

impl Room {
    fn change(&self, piece: usize, step: &Step) -> Length {
        let longer = Start::of(piece, step).and_then(|start| self.longer.get(&start));
        let shorter = self.shorter.get(&step.span);
        let none = Length::zero();
        *longer.unwrap_or(&none) - *shorter.unwrap_or(&none)
    }
}

/// A bound-off edge.
struct Edge {
    piece: usize,
    place: Span,
    given: Given<u32>,
    count: Linear,
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
    setup: Setup,
    plateaus: Vec<Plateau>,
    /// Edges bound off: those of different pieces with the same numbers are sewn together.
    edges: Vec<Edge>,
    /// Live numbers of the row in work.
    live: Vec<(Span, Unknown, Given<u32>)>,
    gauge: Option<GaugeId>,
    piece: usize,
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
        Self {
            model,
            goal,
            size,
            from,
            old: by_step(old),
            seen: BTreeMap::new(),
            hints,
            room,
            setup: Setup {
                system: System::new(),
                why: Vec::new(),
                unknowns: BTreeMap::new(),
                derived: BTreeMap::new(),
                rows: BTreeMap::new(),
                lengths: BTreeMap::new(),
                slack: BTreeMap::new(),
                schedules: BTreeMap::new(),
                evens: BTreeMap::new(),
                intents: Vec::new(),
                adrift: Vec::new(),
                likely: Vec::new(),
                bands: Vec::new(),
                wrong: Vec::new(),
            },
            plateaus: Vec::new(),
            edges: Vec::new(),
            live: Vec::new(),
            gauge: model.default_gauge(),
            piece: 0,
        }
    }

    /// Notes an edge, and ties it to one of another piece with the same numbers:
    /// shoulders and armholes that are sewn together stay alike. One number for
    /// all sizes says too little for that.
    fn edge(&mut self, counts: &Counts, count: &Linear) {
        let mut values = counts.given.values();
        let first = values.next();
        if counts.given.listed().is_none() || values.all(|v| Some(v) == first) {
            return;
        }
        let twin = self.edges.iter().find(|e| e.given == counts.given && e.piece != self.piece);
        let twin = twin.map(|twin| (twin.count.clone(), twin.place));
        if let Some((other, place)) = twin
            && other != *count
        {
            let because = Because::Mirror { one: other.clone(), other: count.clone() };
            self.require(Need::Zero(&other - count), Why { place: place.to(counts.span), because });
        }
        let (place, given) = (counts.span, counts.given.clone());
        self.edges.push(Edge { piece: self.piece, place, given, count: count.clone() });
    }

    /// Closes the walk: gives every plateau its aim.
    pub(crate) fn finish(mut self) -> Setup {
        let plateaus = std::mem::take(&mut self.plateaus);
        let mut lying: BTreeMap<usize, (Lies, usize)> = BTreeMap::new();
        for index in 1..plateaus.len() {
            let (Some(first), Some(second)) = (plateaus.get(index - 1), plateaus.get(index)) else {
                continue;
            };
            if let Some((band, other, lies)) = self.band(first, second) {
                let band_index = if band { index - 1 } else { index };
                let (b, o) = if band { (first, second) } else { (second, first) };
                if let (Some(band_gauge), Some(body_gauge)) = (b.gauge(), o.gauge()) {
                    self.setup.bands.push(BandJoin {
                        step: second.place,
                        band: b.count.clone(),
                        body: o.count.clone(),
                        band_gauge,
                        body_gauge,
                        lies: lies.clone(),
                    });
                }
                // As written, a band keeps its own width, unless the fit moves its body.
                let moved = o.measure.as_ref().is_some_and(|expr| self.refits(expr));
                let lies = lies.or((moved && b.measure.is_none()).then_some(Lies::AsWritten));
                if let Some(lies) = lies {
                    let other_index = if other == 0 { index - 1 } else { index };
                    lying.insert(band_index, (lies, other_index));
                }
            }
        }
        for (index, plateau) in plateaus.iter().enumerate() {
            let lies = lying.get(&index);
            let other = lies.and_then(|(_, other)| plateaus.get(*other));
            match (lies, other) {
                (Some((lies, _)), Some(other)) => self.aim_band(plateau, other, lies),
                _ => self.aim_plateau(plateau),
            }
        }
        self.setup
    }

    /// Whether two plateaus are a band and its body: (the first is the band,
    /// the place of the other, how it lies).
    fn band(&self, first: &Plateau, second: &Plateau) -> Option<(bool, usize, Option<Lies>)> {
        if first.piece != second.piece || !second.even {
            return None;
        }
        let (a, b) = (first.gauge()?, second.gauge()?);
        if a == b {
            return None;
        }
        let target = |gauge: GaugeId| {
            self.goal.bands.iter().find(|(g, _)| *g == gauge).map(|(_, lies)| lies.value.clone())
        };
        if let Some(lies) = target(a) {
            return Some((true, 1, Some(lies)));
        }
        if let Some(lies) = target(b) {
            return Some((false, 0, Some(lies)));
        }
        // The narrower strip of the two is the band.
        let first_is_band = first.height() <= second.height();
        Some((first_is_band, usize::from(first_is_band), second.lies.clone()))
    }

    fn new_gauge(&self, gauge: GaugeId) -> Option<Gauge> {
        self.goal.gauges.get(gauge.0)?.gauge
    }

    fn old_gauge(&self, gauge: GaugeId) -> Option<Gauge> {
        self.model.gauges.get(gauge.0)?.gauge
    }

    /// The exact count a width comes to, and why.
    fn target(
        &self,
        gauge: GaugeId,
        old: Option<i64>,
        measure: Option<&Expr>,
    ) -> Option<(Exact, Reason)> {
        let new = self.new_gauge(gauge)?;
        if let Some(expr) = measure.filter(|expr| self.refits(expr) || old.is_none()) {
            let length = self.goal.measures.length(expr, SizeId(self.size)).ok()?;
            return Some((new.stitches.count(length), Reason::Measures(length)));
        }
        let width = self.old_gauge(gauge)?.stitches.length(exact(old?, 1));
        Some((new.stitches.count(width), Reason::Keeps(width)))
    }

    fn aim_plateau(&mut self, plateau: &Plateau) {
        if !plateau.follows {
            return;
        }
        let gauge = plateau.gauge();
        let target = gauge
            .and_then(|g| self.target(g, plateau.old, plateau.measure.as_ref()).map(|t| (g, t)));
        match target {
            Some((gauge, (target, reason))) => {
                self.intend(
                    plateau.piece,
                    &plateau.count,
                    plateau.place,
                    gauge,
                    target,
                    plateau.old,
                    reason,
                );
            }
            None if plateau.old.is_none() => self.setup.adrift.push(plateau.place),
            None => self.keep(plateau),
        }
    }

    /// Without a gauge a count stays as it is.
    fn keep(&mut self, plateau: &Plateau) {
        if let (Some(unknown), Some(old)) = (plateau.unknown, plateau.old) {
            let off = &Linear::unknown(unknown) - &Linear::number(old);
            let because = Because::Stated { said: Linear::number(old), has: plateau.count.clone() };
            self.require(Need::Zero(off), Why { place: plateau.place, because });
        }
    }

    fn aim_band(&mut self, band: &Plateau, body: &Plateau, lies: &Lies) {
        let (Some(b), Some(g)) = (band.gauge(), body.gauge()) else { return };
        let (Some(band_gauge), Some(body_gauge)) = (self.new_gauge(b), self.new_gauge(g)) else {
            return;
        };
        let one = exact(1, 1);
        let across = band_gauge.stitches.ratio(body_gauge.stitches);
        let share = match lies {
            Lies::Level => across,
            Lies::Snug(part) => (one - part) * across,
            Lies::SameCount => {
                let off = &band.count - &body.count;
                let because =
                    Because::Mirror { one: band.count.clone(), other: body.count.clone() };
                self.require(Need::Zero(off), Why { place: body.place.to(band.place), because });
                return;
            }
            Lies::Fitted(part) => {
                let Ok(length) = self.goal.measures.length(part, SizeId(self.size)) else { return };
                let target = body_gauge.stitches.count(length);
                let reason = Reason::Band { lies: lies.clone(), meets: body.place };
                self.intend(band.piece, &band.count, band.place, b, target, band.old, reason);
                return;
            }
            // The band keeps its part of the body's width.
            Lies::AsWritten => match (band.old, body.old, self.old_gauge(b), self.old_gauge(g)) {
                (Some(n), Some(m), Some(own_b), Some(own_g)) if m > 0 => {
                    exact(n, m) * across / own_b.stitches.ratio(own_g.stitches)
                }
                _ => return self.aim_plateau(band),
            },
        };
        // The band follows the body that is chosen, not the one aimed at:
        // n - share x N should be nothing.
        let of = &Weighted::from(&band.count) - &Weighted::from(&body.count).times(share);
        let body_target = self
            .target(g, body.old, body.measure.as_ref())
            .map_or(exact(body.old.unwrap_or(100), 1), |(target, _)| target);
        let likely = body_target * share;
        let aim = Aim { of, target: exact(0, 1), tolerance: tolerance(likely) };
        let aim = self.setup.system.aim(aim);
        self.setup.intents.push(Intent {
            of: band.count.clone(),
            place: band.place,
            piece: band.piece,
            gauge: b,
            target: likely,
            old: band.old,
            reason: Reason::Band { lies: lies.clone(), meets: body.place },
            aim,
        });
    }

    #[allow(clippy::too_many_arguments)]
    fn intend(
        &mut self,
        piece: usize,
        of: &Linear,
        place: Span,
        gauge: GaugeId,
        target: Exact,
        old: Option<i64>,
        reason: Reason,
    ) {
        if of.known().is_some() || self.setup.intents.iter().any(|i| i.place == place) {
            return;
        }
        let weighted = Weighted::from(of);
        let aim = self.setup.system.aim(Aim { of: weighted, target, tolerance: tolerance(target) });
        let of = of.clone();
        self.setup.intents.push(Intent { of, place, piece, gauge, target, old, reason, aim });
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

    /// The change asked of a length.
    fn length_change(&self, lengths: &Lengths, step: &Step) -> Option<&LengthChange> {
        let piece = self.model.pieces.get(self.piece)?.name.value.to_lowercase();
        let from = match &step.action {
            Action::Work { extent: Extent::Until { from, length }, .. }
            | Action::Repeat { extent: Extent::Until { from, length }, .. }
                if length.span == lengths.span =>
            {
                match &from.value {
                    From::CastOn => piece,
                    From::Named(name) => name.to_lowercase(),
                }
            }
            _ => return None,
        };
        let entry = self.goal.lengths.iter().find(|(name, _)| *name == from)?;
        entry.1.value.get(SizeId(self.size))
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

/// The marks of the item of a row that holds a number.
fn item_marks(step: &Step, place: Span) -> &[Spanned<Mark>] {
    fn find(items: &[Item], place: Span) -> Option<&Item> {
        items.iter().find_map(|item| match &item.kind {
            ItemKind::Group { items, .. } | ItemKind::Star { items, .. } => find(items, place),
            _ => item.span.contains(place).then_some(item),
        })
    }
    match &step.action {
        Action::Row { items, .. } => find(items, place).map_or(&[], |item| &item.marks),
        _ => &step.marks,
    }
}

impl Ledger for Planner<'_, '_> {
    fn number(&mut self, counts: &Counts, purpose: Use, step: &Step) -> Result<Linear, Halt> {
        if let Some(&unknown) = self.setup.unknowns.get(&counts.span) {
            return Ok(Linear::unknown(unknown));
        }
        let literal = match self.literal(counts) {
            Err(Halt::Skip) => return Err(Halt::Skip),
            other => other.ok(),
        };
        let own = item_marks(step, counts.span);
        let stays = purpose == Use::Structure
            || fixed(step)
            || own.iter().any(|m| m.value == Mark::Fixed)
            // A crown that closes to a few stitches closes to as few at any gauge.
            || (purpose == Use::WedgesTo && literal.is_some_and(|n| n <= 24))
            || (purpose == Use::CastOnMore && literal == Some(1));
        if stays && let Some(n) = literal {
            return Ok(Linear::number(n));
        }
        if purpose == Use::Structure {
            // `?` where the walk needs a number at once.
            self.setup.adrift.push(counts.span);
            return Err(Halt::Lost);
        }
        let low = match purpose {
            Use::CastOn | Use::EvenTo | Use::ShapeTo | Use::WedgesTo => 1,
            _ => 0,
        };
        let unknown = self.unknown(low, 1_000_000, literal);
        self.setup.unknowns.insert(counts.span, unknown);
        let value = Linear::unknown(unknown);
        for mark in &step.marks {
            if let Mark::Multiple { of, plus } = mark.value {
                let multiple = Multiple::new(of, plus);
                let because = Because::Asked { multiple, has: value.clone() };
                let why = Why { place: mark.span, because };
                self.require(Need::Multiple(value.clone(), multiple), why);
            }
        }
        match purpose {
            Use::BindOff | Use::Live | Use::CastOnMore => {
                let measure = measure_of(own);
                let target = self
                    .gauge
                    .and_then(|g| self.target(g, literal, measure.as_ref()).map(|t| (g, t)));
                match target {
                    Some((gauge, (target, reason))) => {
                        self.intend(
                            self.piece,
                            &value,
                            counts.span,
                            gauge,
                            target,
                            literal,
                            reason,
                        );
                    }
                    None => match literal {
                        Some(n) => {
                            let off = &value - &Linear::number(n);
                            let because =
                                Because::Stated { said: Linear::number(n), has: value.clone() };
                            self.require(Need::Zero(off), Why { place: counts.span, because });
                        }
                        None => self.setup.adrift.push(counts.span),
                    },
                }
                if purpose == Use::Live {
                    self.live.push((counts.span, unknown, counts.given.clone()));
                }
                if purpose == Use::BindOff {
                    self.edge(counts, &value);
                }
            }
            _ => {}
        }
        Ok(value)
    }

    fn length(&mut self, lengths: &Lengths, step: &Step) -> Result<Length, Halt> {
        let own = match lengths.given.get(self.from) {
            Some(length) => *length,
            None if lengths.given.skips(self.from) => return Err(Halt::Skip),
            None => return Err(Halt::Lost),
        };
        let fitted = self.fitted_length(step).unwrap_or(own);
        let asked = match self.length_change(lengths, step) {
            Some(LengthChange::By(by)) => fitted + *by,
            Some(LengthChange::To(to)) => *to,
            None => fitted,
        };
        let new = asked + self.room.change(self.piece, step);
        if new == own {
            return Ok(own);
        }
        if !new.is_positive() {
            self.setup.wrong.push((lengths.span, Trouble::LengthPassed { by: -new }));
            return Err(Halt::Lost);
        }
        self.setup.lengths.insert(lengths.span, new);
        Ok(new)
    }

    fn row_density(&mut self, gauge: GaugeId) -> Option<Density> {
        self.new_gauge(gauge)?.rows
    }

    fn rows(&mut self, counts: &Counts, run: Run, step: &Step) -> Result<u32, Halt> {
        let old = self.literal(counts)?;
        let small = run.block == 1 && old <= i64::from(FEW_ROWS);
        if fixed(step) || small {
            return u32::try_from(old).map_err(|_| Halt::Lost);
        }
        let ratio = self.row_ratio(run.gauge);
        let worked = Exact::new(i128::from(run.already), i128::from(run.block.max(1)));
        let exact_rows = (exact(old, 1) + worked) * ratio - worked;
        let parity = run.keep_parity && run.block == 1;
        let multiple = if parity {
            Multiple::new(2, u32::try_from(old.rem_euclid(2)).unwrap_or(0))
        } else {
            Multiple::ANY
        };
        let least = if parity && old % 2 == 0 { 2 } else { 1 };
        let rows = to_multiple(exact_rows, multiple, Toward::Nearest).max(least.min(old));
        let rows = u32::try_from(rows).map_err(|_| Halt::Lost)?;
        self.setup.rows.insert(counts.span, rows);
        Ok(rows)
    }

    fn schedule(
        &mut self,
        schedule: &Schedule,
        literal: Option<Planned>,
        gauge: Option<GaugeId>,
        step: &Step,
    ) -> Result<Planned, Halt> {
        let old_rows =
            self.old_rows(step).or_else(|| literal.as_ref().and_then(|planned| planned.rows));
        let old_shapings =
            self.old_visit(step).and_then(|v| v.shapings.as_ref()).and_then(Linear::known);
        if fixed(step)
            && let Some(times) = old_shapings
        {
            return Ok(Planned { shapings: Linear::number(times), rows: old_rows });
        }
        let wedges = matches!(step.action, Action::Wedges { .. });
        let shapings = match (&literal, &schedule.until) {
            // The count it leads to decides; the times follow.
            (Some(planned), Some(_)) if planned.shapings.known().is_none() => {
                planned.shapings.clone()
            }
            _ => match self.setup.unknowns.get(&schedule.span) {
                Some(&unknown) => Linear::unknown(unknown),
                None => {
                    let unknown = self.unknown(0, 1_000_000, old_shapings);
                    self.setup.unknowns.insert(schedule.span, unknown);
                    Linear::unknown(unknown)
                }
            },
        };
        let rows = old_rows.map(|rows| {
            let ratio = self.row_ratio(gauge);
            let flat = self.old_visit(step).is_some_and(|v| v.setting == Setting::Flat);
            let multiple = if flat { Multiple::new(2, rows % 2) } else { Multiple::ANY };
            let scaled = to_multiple(exact(i64::from(rows), 1) * ratio, multiple, Toward::Nearest);
            let wanted = self.guess(&shapings).max(0);
            let least = wanted.saturating_mul(least_interval(schedule, flat));
            // One rate throughout is easier to knit: keep it where the length allows.
            let same = old_shapings == Some(wanted) && ratio == exact(1, 1);
            let single =
                if same { None } else { single_rate(schedule, wanted, scaled, flat, wedges) };
            let rows = single.unwrap_or(scaled);
            let fewer = self.room.fewer.get(&schedule.span).copied().unwrap_or(0);
            let rows = (rows - i64::from(fewer)).max(least);
            let whole = |n: i64| u32::try_from(n).unwrap_or(0);
            self.setup.slack.insert(schedule.span, whole(rows - least));
            whole(rows)
        });
        self.setup.schedules.insert(schedule.span, (shapings.clone(), rows));
        Ok(Planned { shapings, rows })
    }

    fn need(&mut self, need: Need, why: &Why) -> Result<(), Halt> {
        // Which way an even change goes may change with the way a band lies.
        if matches!(why.because, Because::EvenDirection { .. }) {
            return Ok(());
        }
        let known = match &need {
            Need::Zero(l) => l.known().map(|n| n == 0),
            Need::NotNegative(l) => l.known().map(|n| n >= 0),
            Need::Multiple(l, multiple) => l.known().map(|n| multiple.holds(n)),
        };
        if known != Some(true) {
            self.require(need, why.clone());
        }
        Ok(())
    }

    fn divide(&mut self, amount: &Linear, unit: i64, why: &Why) -> Result<Linear, Halt> {
        if let Some(n) = amount.known() {
            if n.rem_euclid(unit) != 0 {
                let multiple = Multiple::new(u32::try_from(unit).unwrap_or(1), 0);
                self.require(Need::Multiple(amount.clone(), multiple), why.clone());
            }
            return Ok(Linear::number(n.div_euclid(unit)));
        }
        if unit == 1 {
            self.require(Need::NotNegative(amount.clone()), why.clone());
            return Ok(amount.clone());
        }
        let likely = amount.value(|u| self.setup.likely.get(u.0).copied().unwrap_or(0));
        let times = Linear::unknown(self.divided(likely / unit));
        self.require(Need::Zero(amount - &times.times(unit)), why.clone());
        Ok(times)
    }

    fn stated(&mut self, said: &Counts, has: &Linear, step: &Step) -> Result<(), Halt> {
        if matches!(step.action, Action::BindOff { .. }) {
            self.edge(said, has);
        }
        self.setup.derived.insert(said.span, has.clone());
        Ok(())
    }

    fn choose(&mut self, _: &Linear, options: &[Multiple], step: &Step) -> Multiple {
        let old = self.old_visit(step).and_then(|visit| visit.before.known());
        let fits = options.iter().find(|m| old.is_some_and(|n| m.holds(n)));
        fits.or(options.first()).copied().unwrap_or(Multiple::ANY)
    }

    fn shaping_repeats(
        &mut self,
        counts: &Counts,
        change: Option<i64>,
        _: Run,
        step: &Step,
    ) -> Result<Linear, Halt> {
        let literal = self.literal(counts);
        if let Err(Halt::Skip) = literal {
            return Err(Halt::Skip);
        }
        if change.is_none() || fixed(step) {
            return literal.map(Linear::number);
        }
        if let Some(&unknown) = self.setup.unknowns.get(&counts.span) {
            return Ok(Linear::unknown(unknown));
        }
        let unknown = self.unknown(0, 1_000_000, literal.ok());
        self.setup.unknowns.insert(counts.span, unknown);
        Ok(Linear::unknown(unknown))
    }

    fn guess(&self, amount: &Linear) -> i64 {
        amount.value(|u| self.hints.get(u.0).or(self.setup.likely.get(u.0)).copied().unwrap_or(0))
    }

    fn visited(&mut self, visit: &Visit, step: &Step) {
        let old = self.old_visit(step);
        *self.seen.entry(step.span).or_insert(0) += 1;
        self.mirror();
        self.piece = visit.piece;
        self.gauge = visit.gauge;
        if let Action::Even { .. } = step.action {
            self.setup.evens.insert(step.span, (visit.before.clone(), visit.after.clone()));
        }
        if matches!(
            step.action,
            Action::Part { .. } | Action::AsFor { .. } | Action::Reverse { .. }
        ) {
            return;
        }
        let measured = old.unwrap_or(visit);
        let height = measured.height_after - measured.height_before;
        // A measurement is of the length where rows are worked, of the stitches bound
        // off where some are, and elsewhere of the count that a step leaves.
        let measure = match step.action {
            Action::Work { .. } | Action::BindOff { .. } => None,
            _ => measure_of(&step.marks),
        };
        let current =
            self.plateaus.last_mut().filter(|p| p.piece == visit.piece && p.count == visit.after);
        if let Some(plateau) = current {
            if measure.is_some() {
                plateau.measure = measure;
                plateau.follows = true;
            }
            if let Some(gauge) = visit.gauge {
                match plateau.zones.iter_mut().find(|(g, _)| *g == gauge) {
                    Some((_, sum)) => *sum = *sum + height,
                    None => plateau.zones.push((gauge, height)),
                }
            }
            return;
        }
        let follows = matches!(
            step.action,
            Action::CastOn { place: crate::syntax::tree::CastOnPlace::Here, .. }
                | Action::Even { .. }
                | Action::Shape { .. }
                | Action::PickUp { .. }
                | Action::Repeat { .. }
        ) || (matches!(step.action, Action::Wedges { .. })
            && visit.after.known().is_none());
        let lies = step.marks.iter().find_map(|m| match &m.value {
            Mark::Lies(lies) => Some(lies.clone()),
            _ => None,
        });
        let is_more =
            matches!(step.action, Action::CastOn { .. }) && visit.before.known() != Some(0);
        let unknown = visit.after.terms().next().map(|(u, _)| u);
        self.plateaus.push(Plateau {
            piece: visit.piece,
            count: visit.after.clone(),
            old: match (&step.action, self.unknown_given(step)) {
                (Action::CastOn { .. } | Action::Even { .. }, true) => None,
                _ => old.and_then(|v| v.after.known()),
            },
            place: set_by(step),
            follows: (follows || measure.is_some())
                && !fixed(step)
                && !is_more
                && visit.after.known() != Some(0),
            measure,
            lies,
            even: matches!(step.action, Action::Even { .. }),
            zones: visit.gauge.map(|g| (g, Length::zero())).into_iter().collect(),
            unknown,
        });
    }

    fn wrong(&mut self, place: Span, trouble: Trouble) -> Halt {
        self.setup.wrong.push((place, trouble));
        Halt::Lost
    }

    fn tell(&mut self, _: Span, _: Trouble) {}
}

impl Planner<'_, '_> {
    /// Whether the number that sets the count is `?`.
    fn unknown_given(&self, step: &Step) -> bool {
        use crate::syntax::tree::Amount;
        let counts = match &step.action {
            Action::CastOn { count, .. } => count,
            Action::Even { amount: Amount::To(c) | Amount::By(c), .. } => c,
            _ => return false,
        };
        counts.given == Given::Unknown
    }

    /// Live numbers of one row that mirror each other stay equal.
    fn mirror(&mut self) {
        let live = std::mem::take(&mut self.live);
        for pair in 0..live.len() / 2 {
            let (Some(one), Some(other)) = (live.get(pair), live.get(live.len() - 1 - pair)) else {
                continue;
            };
            if one.2 == other.2 && one.2 != Given::Unknown {
                let (a, b) = (Linear::unknown(one.1), Linear::unknown(other.1));
                let because = Because::Mirror { one: a.clone(), other: b.clone() };
                self.require(Need::Zero(&a - &b), Why { place: one.0.to(other.0), because });
            }
        }
    }
}

/// The number (or step) that sets the count after it.
fn set_by(step: &Step) -> Span {
    use crate::syntax::tree::{Amount, PickUp};
    match &step.action {
        Action::CastOn { count, .. } => count.span,
        Action::Even { amount: Amount::To(counts) | Amount::By(counts), .. } => counts.span,
        Action::Shape { schedule, .. } | Action::Wedges { schedule, .. } => {
            schedule.until.as_ref().map_or(schedule.span, |until| until.span)
        }
        Action::PickUp { amount: PickUp::Count(counts), .. } => counts.span,
        _ => step.span,
    }
}

/// The fewest rows between shapings that the author's words allow.
fn least_interval(schedule: &Schedule, flat: bool) -> i64 {
    let any_row = schedule.rates.iter().any(|rate| match &rate.every {
        Every::Row | Every::Next => true,
        Every::Side(_) => false,
        Every::Nth(counts) => counts.given.values().any(|n| n % 2 == 1),
    });
    if flat && !any_row { 2 } else { 1 }
}

/// The rows of `wanted` shapings at one even rate, where the author had one
/// rate and the length stays within a twentieth, or three rows.
fn single_rate(
    schedule: &Schedule,
    wanted: i64,
    rows: i64,
    flat: bool,
    wedges: bool,
) -> Option<i64> {
    if wanted == 0 || schedule.rates.len() > 1 {
        return None;
    }
    let step = least_interval(schedule, flat);
    let near = exact(rows, wanted);
    let multiple = Multiple::new(u32::try_from(step).unwrap_or(1), 0);
    let every = to_multiple(near, multiple, Toward::Nearest).max(step);
    let total = every * wanted;
    let off = (total - rows).abs();
    let share = if wedges { 8 } else { 20 };
    (off * share <= rows || off <= 3).then_some(total)
}
