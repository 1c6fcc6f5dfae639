//! What follows from a pattern as it stands: widths and lengths of the
//! finished thing, how each band lies, and its even changes and schedules row
//! by row.
//!
//! Everything here is read off the traces of the walk and the gauges; nothing
//! is chosen and nothing is worded. Pages show what these functions give.

use super::band::{BandGauge, Fit, Lies, Meeting};
use super::heel::{Heel, Turned};
use super::rates::written_with_words;
use super::spacing::{EvenChange, IncreaseMethod, Setting as Spaced, Spacing};
use super::taper::{Rate, Schedule};
use crate::measure::{Exact, Given, Length, Linear, Rows, SizeId, Stitches};
use crate::model::{GaugeId, Measures, Model};
use crate::source::Span;
use crate::syntax::front::Ease;
use crate::syntax::tree::{
    self, Action, CastOnPlace, Counts, EdgeRows, Every, Expr, FabricKind, Item, ItemKind, Mark,
    Setting, Side, Step,
};
use crate::work::{Trace, Visit};

/// A finished measurement at a landmark, one length a size; `None` for a size
/// that does not have it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Finished {
    /// `chest`
    pub landmark: String,
    /// By size.
    pub lengths: Vec<Option<Length>>,
    /// By size: how much more or less it may be, for the doubt of the swatch;
    /// `None` where the gauge tells of none.
    pub doubts: Vec<Option<Length>>,
}

/// The finished measurements that the counts come to, in the order of the
/// text: width of the count = share of the landmark and its ease, so landmark
/// and ease = (width - rest) / share.
#[must_use]
pub fn finished(model: &Model<'_>, traces: &[Trace]) -> Vec<Finished> {
    let mut found: Vec<Finished> = Vec::new();
    let mut see = |expr: &Expr, widths: Vec<Option<Width>>| {
        let Some((landmark, factor, rest)) = share(expr) else { return };
        if found.iter().any(|f| f.landmark == landmark) || widths.iter().all(Option::is_none) {
            return;
        }
        let length = |w: &Width| (w.length - rest) * factor.recip();
        let doubt = |w: &Width| w.doubt.map(|doubt| (doubt * factor.recip()).abs());
        let lengths = widths.iter().map(|w| w.as_ref().map(length)).collect();
        let doubts = widths.iter().map(|w| w.as_ref().and_then(doubt)).collect();
        found.push(Finished { landmark, lengths, doubts });
    };
    for step in model.pieces.iter().flat_map(|piece| &piece.steps) {
        marked(model, traces, step, &mut see);
    }
    found
}

/// The ease that finished measurements have, beside the ease asked for.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Eased {
    /// `chest`
    pub landmark: String,
    /// By size: the finished measurement less that of the body.
    pub actual: Vec<Option<Length>>,
    /// By size: what the counts come to beyond the ease that was asked for.
    pub beyond: Vec<Option<Length>>,
}

/// The ease at each landmark that has a body measurement, an ease and a
/// finished measurement: ease = finished - body.
#[must_use]
pub fn eased(model: &Model<'_>, finished: &[Finished]) -> Vec<Eased> {
    let measures = &model.measures;
    let has_ease = |f: &&Finished| measures.ease.iter().any(|(name, _)| *name == f.landmark);
    let one = |found: &Finished| {
        let sizes = || found.lengths.iter().enumerate().map(|(i, &length)| (SizeId(i), length));
        let actual = |(size, length): (SizeId, Option<Length>)| {
            Some(length? - measures.body(&found.landmark, size)?)
        };
        let beyond =
            |of: (SizeId, Option<Length>)| Some(actual(of)? - measures.ease(&found.landmark, of.0));
        Eased {
            landmark: found.landmark.clone(),
            actual: sizes().map(actual).collect(),
            beyond: sizes().map(beyond).collect(),
        }
    };
    finished
        .iter()
        .filter(has_ease)
        .map(one)
        .filter(|e| e.actual.iter().any(Option::is_some))
        .collect()
}

fn marked(
    model: &Model<'_>,
    traces: &[Trace],
    step: &Step,
    see: &mut impl FnMut(&Expr, Vec<Option<Width>>),
) {
    for mark in &step.marks {
        if let (Mark::Measure(expr), true) = (&mark.value, leads_to_a_count(step)) {
            let width = |visit: &Visit| width(model, visit.gauge?, visit.after.known()?);
            see(expr, traces.iter().map(|t| first_visit(t, step.span).and_then(width)).collect());
        }
    }
    if let Action::Row { items, .. } = &step.action {
        marked_items(model, traces, step, items, see);
    }
    for inner in &step.steps {
        marked(model, traces, inner, see);
    }
}

fn marked_items(
    model: &Model<'_>,
    traces: &[Trace],
    step: &Step,
    items: &[Item],
    see: &mut impl FnMut(&Expr, Vec<Option<Width>>),
) {
    for item in items {
        for mark in &item.marks {
            let (Mark::Measure(expr), Some(counts)) = (&mark.value, count_of(item)) else {
                continue;
            };
            let width = |trace: &Trace| {
                let gauge = first_visit(trace, step.span)?.gauge?;
                width(model, gauge, i64::from(*counts.given.get(trace.size)?))
            };
            see(expr, traces.iter().map(width).collect());
        }
        if let ItemKind::Group { items, .. } | ItemKind::Star { items, .. } = &item.kind {
            marked_items(model, traces, step, items, see);
        }
    }
}

fn count_of(item: &Item) -> Option<&Counts> {
    match &item.kind {
        ItemKind::Stitch { count, .. } | ItemKind::BindOff(count) => count.as_ref(),
        ItemKind::Pattern(count) | ItemKind::CastOn(count) | ItemKind::Hold { count, .. } => {
            Some(count)
        }
        _ => None,
    }
}

/// Whether the count a step is marked with is the count there is after it.
const fn leads_to_a_count(step: &Step) -> bool {
    matches!(
        step.action,
        Action::CastOn { place: CastOnPlace::Here, .. }
            | Action::Even { .. }
            | Action::Shape { .. }
            | Action::Wedges { .. }
            | Action::PickUp { .. }
            | Action::TakeUp(_)
            | Action::Row { .. }
            | Action::SameRows { .. }
            | Action::Repeat { .. }
            | Action::RepeatAt { .. }
    )
}

/// A width, and how much more or less it may be.
struct Width {
    length: Length,
    doubt: Option<Length>,
}

fn width(model: &Model<'_>, gauge: GaugeId, stitches: i64) -> Option<Width> {
    let def = model.gauges.get(gauge.0)?;
    let density = def.gauge?.stitches;
    let count = Exact::from_integer(i128::from(stitches));
    // The same stitches at the gauge less its doubt are wider, and by more than
    // they are narrower at the gauge with it.
    let widest = def.doubt.and_then(|doubt| density.less(doubt)).map(|least| least.length(count));
    let length = density.length(count);
    Some(Width { length, doubt: widest.map(|widest| widest - length) })
}

/// How an expression counts its landmark, with its ease or without any.
fn share(expr: &Expr) -> Option<(String, Exact, Length)> {
    if let Some(shared) = Measures::share(expr) {
        return Some(shared);
    }
    let names = Measures::landmarks(expr);
    let [name] = names.as_slice() else { return None };
    let probe = |body: i64, ease: i64| {
        let measures = Measures {
            body: vec![(name.clone(), Given::Same(Length::cm(body)))],
            ease: vec![(name.clone(), Given::Same(Ease::Length(Length::cm(ease))))],
        };
        measures.length(expr, SizeId(0)).ok()
    };
    let (rest, with_body, with_ease) = (probe(0, 0)?, probe(1, 0)?, probe(0, 1)?);
    let factor = (with_body - rest) / Length::cm(1);
    let plain = with_ease == rest && factor > Exact::from_integer(0);
    plain.then_some((name.clone(), factor, rest))
}

/// What a trace saw at a step the first time.
#[must_use]
pub fn first_visit(trace: &Trace, step: Span) -> Option<&Visit> {
    trace.visits.iter().find(|visit| visit.step == step)
}

/// The side of the first row of a visit, where the work is flat and it is known.
#[must_use]
pub fn side_before(visit: &Visit) -> Option<Side> {
    visit.side_before()
}

/// The length of each piece from its first row to its last, by size; zero
/// where no row gauge tells.
#[must_use]
pub fn piece_lengths(model: &Model<'_>, traces: &[Trace]) -> Vec<Vec<Length>> {
    let of_piece = |piece: usize| {
        let length = |trace: &Trace| {
            let own = trace.visits.iter().filter(|visit| visit.piece == piece);
            own.map(|visit| visit.height_after).max().unwrap_or(Length::zero())
        };
        traces.iter().map(length).collect()
    };
    (0..model.pieces.len()).map(of_piece).collect()
}

/// A place where two gauges meet in one piece.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Join {
    /// The even change between them, where there is one.
    pub even: Option<Span>,
    /// The piece, by its place.
    pub piece: usize,
    /// The band: of the two strips the lower.
    pub band: Strip,
    /// The fabric it meets.
    pub body: Strip,
    /// Whether the band is worked first.
    pub band_first: bool,
}

/// One of two strips that meet.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Strip {
    /// Its gauge.
    pub gauge: GaugeId,
    /// Its stitches where they meet.
    pub stitches: Stitches,
}

/// Rows in one gauge, one after another.
struct Run<'t> {
    gauge: GaugeId,
    visits: Vec<&'t Visit>,
}

impl Run<'_> {
    fn height(&self) -> Length {
        self.visits
            .iter()
            .fold(Length::zero(), |sum, v| sum + (v.height_after - v.height_before).abs())
    }
}

/// Where bands meet bodies in one size, in the order of the work.
#[must_use]
pub fn joins(model: &Model<'_>, trace: &Trace) -> Vec<Join> {
    let evens = even_steps(model);
    let is_even = |visit: &Visit| evens.contains(&visit.step);
    let mut all = Vec::new();
    for piece in 0..model.pieces.len() {
        let runs = runs(trace, piece);
        for pair in runs.windows(2) {
            let [first, second] = pair else { continue };
            all.extend(join(piece, first, second, &is_even).filter(|join| {
                let (band, body) = if join.band_first { (first, second) } else { (second, first) };
                is_band(model, band, body)
            }));
        }
    }
    all
}

/// A strip is a band where it is at most half as high as what it meets, and
/// neither in the body's gauge nor of stockinette.
fn is_band(model: &Model<'_>, band: &Run<'_>, body: &Run<'_>) -> bool {
    let fabric = model.gauges.get(band.gauge.0).and_then(|gauge| gauge.fabric.as_ref());
    fabric != Some(&FabricKind::Stockinette)
        && Some(band.gauge) != model.default_gauge()
        && band.height() * Exact::from_integer(2) <= body.height()
}

fn runs(trace: &Trace, piece: usize) -> Vec<Run<'_>> {
    let mut runs: Vec<Run<'_>> = Vec::new();
    for visit in trace.visits.iter().filter(|visit| visit.piece == piece) {
        let Some(gauge) = visit.gauge else { continue };
        match runs.last_mut() {
            Some(run) if run.gauge == gauge => run.visits.push(visit),
            _ => runs.push(Run { gauge, visits: vec![visit] }),
        }
    }
    runs.retain(|run| run.visits.iter().any(|v| v.rows_after > v.rows_before));
    runs
}

fn join(
    piece: usize,
    first: &Run<'_>,
    second: &Run<'_>,
    is_even: &impl Fn(&Visit) -> bool,
) -> Option<Join> {
    if first.gauge == second.gauge {
        return None;
    }
    let worked = |v: &&&Visit| v.rows_after > v.rows_before;
    let last = first.visits.iter().rev().find(worked)?;
    let next = second.visits.iter().find(worked)?;
    let (even, before, after) = if is_even(next) {
        (Some(next.step), &next.before, &next.after)
    } else if is_even(last) {
        (Some(last.step), &last.before, &last.after)
    } else {
        (None, &last.after, &next.before)
    };
    let strip = |gauge, stitches: &Linear| {
        let stitches = Stitches(u32::try_from(stitches.known()?).ok()?);
        (stitches.0 > 0).then_some(Strip { gauge, stitches })
    };
    let (one, other) = (strip(first.gauge, before)?, strip(second.gauge, after)?);
    let band_first = first.height() <= second.height();
    let (band, body) = if band_first { (one, other) } else { (other, one) };
    Some(Join { even, piece, band, body, band_first })
}

fn even_steps(model: &Model<'_>) -> Vec<Span> {
    fn collect(step: &Step, into: &mut Vec<Span>) {
        if matches!(step.action, Action::Even { .. }) {
            into.push(step.span);
        }
        step.steps.iter().for_each(|inner| collect(inner, into));
    }
    let mut all = Vec::new();
    model.pieces.iter().flat_map(|p| &p.steps).for_each(|step| collect(step, &mut all));
    all
}

/// How the band of a join lies against the body.
#[must_use]
pub fn fit(model: &Model<'_>, join: &Join) -> Option<Fit> {
    let gauge = |id: GaugeId| model.gauges.get(id.0).and_then(|g| g.gauge);
    let (band, body) = (gauge(join.band.gauge)?, gauge(join.body.gauge)?);
    let meeting = Meeting {
        body: join.body.stitches,
        body_gauge: body.stitches,
        band_gauge: BandGauge::swatched(band.stitches, band.stretched),
        lies: Lies::SameCount,
    };
    Some(meeting.fit(join.band.stitches))
}

/// The row that makes an even change in one size: `None` where the count does
/// not change there or one row has no room for it.
#[must_use]
pub fn even_row(visit: &Visit) -> Option<Spacing> {
    let stitches = |count: &Linear| u32::try_from(count.known()?).ok().map(Stitches);
    let setting = match visit.setting {
        Setting::Flat => Spaced::Flat,
        Setting::Round => Spaced::Round,
    };
    let (from, to) = (stitches(&visit.before)?, stitches(&visit.after)?);
    if from == to {
        return None;
    }
    EvenChange { from, to, setting, method: IncreaseMethod::M1 }.spaced().ok()
}

/// More turns than any shoulder has.
const MOST_TURNS: u32 = 200;

/// Where short rows turn that leave more and more stitches.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Turns {
    /// Stitches left unworked at one edge, from its first turn to its last.
    pub left: Vec<u32>,
}

/// The turns of one edge, of so many stitches each.
#[must_use]
pub fn turns(stitches: u32, rows: u32, which: EdgeRows) -> Turns {
    let times = match which {
        EdgeRows::Next => rows.div_ceil(2),
        EdgeRows::EverySecond(_) => rows,
    };
    Turns { left: (1..=times.min(MOST_TURNS)).map(|turn| turn.saturating_mul(stitches)).collect() }
}

/// The rows that turn a heel in one size; `None` where its counts are not known.
#[must_use]
pub fn turned_heel(visit: &Visit) -> Option<(Heel, Turned)> {
    let stitches = |count: &Linear| u32::try_from(count.known()?).ok().map(Stitches);
    let heel = Heel::to(stitches(&visit.before)?, stitches(&visit.after)?)?;
    Some((heel, heel.turned().ok()?))
}

/// The side of the first row of a heel that is turned, where it is known: every
/// row takes one stitch, so as many rows lie before the next as stitches are gone.
#[must_use]
pub fn side_of_heel(visit: &Visit) -> Option<Side> {
    let after = visit.next_side.filter(|_| visit.setting == Setting::Flat)?;
    let rows = visit.before.known()? - visit.after.known()?;
    Some(if rows % 2 == 1 { after.other() } else { after })
}

/// A shaping schedule as it is worked in one size, with "as often as needed"
/// counted. `begins` is the side of its first row, where it is known.
///
/// The last of so many rows is the shaped one ("every 8th row"). But where a rate
/// names a side and the work has come to that side already, the very next row is
/// shaped, and all that follows comes a row earlier.
#[must_use]
pub fn worked_schedule(
    schedule: &tree::Schedule,
    visit: &Visit,
    size: SizeId,
    begins: Option<Side>,
) -> Schedule {
    let wanted = visit.shapings.as_ref().and_then(Linear::known).unwrap_or(0);
    let begins = begins.filter(|_| visit.setting == Setting::Flat);
    let mut worked = Schedule::default();
    for (rate, every) in written_with_words(schedule, size, visit, wanted) {
        let rate = Rate { every: Rows(rate.every), times: rate.times };
        let next = begins.map(|side| if worked.rows().0 % 2 == 0 { side } else { side.other() });
        let at_once = matches!(every, Every::Side(side) if Some(*side) == next);
        if at_once && worked.plain_after == Rows(0) && rate.every == Rows(2) && rate.times > 0 {
            worked.rates.push(Rate { every: Rows(1), times: 1 });
            worked.rates.push(Rate { times: rate.times - 1, ..rate });
            worked.plain_after = Rows(1);
        } else {
            worked.rates.push(rate);
        }
    }
    worked.rates.retain(|rate| rate.times > 0);
    worked
}

/// Whether every shaping that is said to be on a side falls on it, as far as
/// can be told: with it, rows can be told by their numbers. Rows that are shaped one
/// after the other are on either side.
#[must_use]
pub fn keeps_its_sides(
    schedule: &tree::Schedule,
    visit: &Visit,
    size: SizeId,
    begins: Option<Side>,
) -> bool {
    let wanted = visit.shapings.as_ref().and_then(Linear::known).unwrap_or(0);
    let sided = |rate: &tree::Rate| match &rate.every {
        Every::Side(side) => Some(*side),
        _ => None,
    };
    let Some(side) = schedule.rates.iter().find_map(sided) else { return true };
    if visit.setting == Setting::Round {
        return true;
    }
    let Some(begins) = begins else { return false };
    // Rows of one side are odd, those of the other even.
    let odd = side == begins;
    let worked = worked_schedule(schedule, visit, size, Some(begins));
    let all = i64::from(worked.shapings()) == wanted;
    let mut row = 0_u32;
    let on_its_side = |rate: &Rate| {
        let first = row.saturating_add(rate.every.0);
        row = row.saturating_add(rate.every.0.saturating_mul(rate.times));
        let one_side = rate.times == 1 || rate.every.0.is_multiple_of(2);
        let one_after_the_other = rate.times > 1 && rate.every == Rows(1);
        one_after_the_other || (one_side && (first % 2 == 1) == odd)
    };
    all && worked.rates.iter().all(on_its_side)
}
