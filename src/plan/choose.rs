//! Chooses the counts of one size: sets its system up, solves it, and reads
//! the numbers off.

use super::caps::{Caps, FittedCap};
use super::crowded::Crowded;
use super::derive::{self, Follower, RowDerivation, TurnDerivation, exactly, meet, value};
use super::goal::Goal;
use super::lone::Lone;
use super::rates::{Shape, spread};
use super::set_in;
use super::setup::{BandJoin, Intent, KeptSlope, Planner, Reason, Room, Setup, Sloping, Start};
use super::solve::{Clash, Failure, Member, Relaxation, relaxations, solve};
use super::system::{Requirement, System};
use super::taper::TooFewRows;
use crate::measure::round::{Multiple, Toward, to_multiple};
use crate::measure::{Exact, Gauge, Length, SizeId, Unit, exact};
use crate::model::{GaugeId, Model};
use crate::source::Span;
use crate::syntax::tree::{Action, Extent, Lengths, Lies, Schedule, Setting, Step};
use crate::syntax::visit;
use crate::work::ledger::{Trouble, Why};
use crate::work::trace::{Trace, Visit};
use crate::work::walk::walk;
use std::collections::BTreeMap;

/// Rows depend on how often a piece is shaped, and that on the counts: so many
/// rounds settle it, and mostly one or two.
const MOST_ROUNDS: usize = 12;

/// The numbers of one size.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct SizePlan {
    /// Stitches, rows and times, by the place of the number.
    pub numbers: BTreeMap<Span, i64>,
    /// Lengths that change, by their place.
    pub lengths: BTreeMap<Span, Length>,
    /// Shaping schedules that change: how often, how many times.
    pub schedules: BTreeMap<Span, Vec<ChosenRate>>,
    /// Counts before and after each even change, by the step.
    pub evens: BTreeMap<Span, (i64, i64)>,
    /// Where each chosen count comes from.
    pub derivations: Vec<Derivation>,
    /// Where each number of rows comes from that the row gauge alone decides.
    pub rows: Vec<RowDerivation>,
    /// How often short rows are repeated.
    pub turns: Vec<TurnDerivation>,
    /// The counts that follow from chosen ones.
    pub followers: Vec<Follower>,
    /// Where bands meet bodies.
    pub bands: Vec<Band>,
    /// Caps of sleeves, and how near they come to their armholes.
    pub caps: Vec<FittedCap>,
    /// Shapings that take more length than they had, since there are not the rows for them.
    pub crowded: Vec<Crowded>,
    /// Slopes bound off in as many steps as they were, and so of another depth.
    pub kept_slopes: Vec<KeptSlope>,
    /// Steps whose length gave way so that rows fit: shortened by this, or grown
    /// where it is less than nothing.
    pub moved: Vec<(Span, Length)>,
}

/// `every 4th row 6 times`
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct ChosenRate {
    /// Rows from one shaping to the next.
    pub every: u32,
    /// How many times.
    pub times: u32,
}

/// Where one chosen count comes from.
#[derive(Clone, PartialEq, Debug)]
pub struct Derivation {
    /// The number, or the words that set it.
    pub place: Span,
    /// The piece, by its place.
    pub piece: usize,
    /// The gauge its width is taken in.
    pub gauge: GaugeId,
    /// Its densities.
    pub density: Gauge,
    /// The number the pattern had.
    pub old: Option<i64>,
    /// The exact count aimed at.
    pub target: Exact,
    /// How far off counts as an error of 1, in stitches.
    pub tolerance: Exact,
    /// The count chosen.
    pub chosen: i64,
    /// Why it aims there.
    pub reason: Reason,
    /// What else is asked of it.
    pub asked: Vec<Asked>,
}

/// One requirement on a chosen count.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Asked {
    /// Where it comes from.
    pub place: Span,
    /// In words: "k2 p2 rib wants a multiple of 4".
    pub words: String,
    /// Other chosen counts it ties this one to.
    pub tied: Vec<Span>,
}

/// A band beside the fabric it meets.
#[derive(Clone, PartialEq, Debug)]
pub struct Band {
    /// The even change between them.
    pub step: Span,
    /// Stitches of the band.
    pub band: i64,
    /// Stitches of the fabric it meets.
    pub body: i64,
    /// The band's gauge.
    pub band_gauge: GaugeId,
    /// The body's.
    pub body_gauge: GaugeId,
    /// How it was asked to lie.
    pub lies: Option<Lies>,
}

/// Why the counts of a size could not be chosen.
#[derive(Debug)]
pub(crate) enum Impossible {
    /// Requirements clash; what to let go of, and what comes of it.
    Clash { whys: Vec<Why>, ways: Vec<Way>, crowded: Vec<Crowded> },
    /// One requirement that no count meets.
    Lone(Lone),
    /// The search was given up.
    TooHard,
    /// A `?` with nothing to go by.
    Adrift(Vec<Span>),
    /// Shaping does not fit.
    Rows { place: Span, shapings: i64, rows: u32, nearest: TooFewRows },
    /// Something that only shows at the new gauge.
    Wrong { troubles: Vec<(Span, Trouble)>, crowded: Vec<Crowded> },
}

/// A way out of a clash: the requirement let go, and the worst error left.
#[derive(Debug)]
pub(crate) struct Way {
    pub(crate) without: Why,
    /// How far the worst count then is from its target: place, stitches, length.
    pub(crate) worst: Option<(Span, Exact, Length)>,
}

/// Chooses the counts of one size.
pub(crate) fn choose(
    model: &Model<'_>,
    goal: &Goal<'_>,
    size: usize,
    old: &Trace,
) -> Result<SizePlan, Impossible> {
    let from = goal.sizes.get(size).map_or(SizeId(0), |s| s.from);
    let own = set_in::set_in(model, old);
    let mut hints: Vec<i64> = Vec::new();
    let mut room = Room::default();
    let mut solved: Option<System> = None;
    let (mut round, mut set_in_rounds) = (0, 0);
    loop {
        let mut planner = Planner::new(model, goal, size, old, &hints, &room);
        let worked = walk(model, from, &mut planner);
        let setup = planner.finish();
        if !setup.adrift.is_empty() {
            let mut adrift = setup.adrift;
            adrift.sort_unstable();
            // A piece worked as for another comes to the same numbers.
            adrift.dedup();
            return Err(Impossible::Adrift(adrift));
        }
        if !setup.wrong.is_empty() {
            if round < MOST_ROUNDS && make_room(model, goal, (old, &worked), &setup, &mut room) {
                round += 1;
                continue;
            }
            return Err(Impossible::Wrong { troubles: setup.wrong, crowded: setup.crowded });
        }
        // Mostly the counts of the last round change nothing in the system of this one.
        let values = match solved.filter(|solved| *solved == setup.system) {
            Some(_) => hints.clone(),
            None => match solve(&setup.system) {
                Ok(solution) => solution.values,
                Err(Failure::Clash(clash)) => {
                    return Err(clashing(goal, &setup, &clash, &worked));
                }
                Err(Failure::TooHard) => return Err(Impossible::TooHard),
            },
        };
        round += 1;
        // Another round would go just as this one where its counts come out as it took them to be.
        let settled = setup.guesses.iter().all(|(count, guess)| value(count, &values) == *guess);
        if settled || round == MOST_ROUNDS {
            let mut plan = read_off(model, goal, size, (old, &worked), &setup, &values)?;
            let caps = Caps { model, goal, from, old, own: &own, setup: &setup, worked: &worked };
            let sewn = caps.fitted(&plan, &values);
            let better = sewn.iter().filter_map(|cap| cap.better);
            let before = room.slopes.clone();
            room.slopes.extend(better);
            room.slopes.extend(raglans(model, &setup, &sewn));
            if room.slopes == before || set_in_rounds == MOST_ROUNDS {
                derive_all(goal, &setup, &values, &mut plan);
                plan.moved = moved(model, old, &room);
                // Of a cap it is told how it fits its armhole.
                let cap = |place: Span| {
                    sewn.iter().any(|cap| cap.set_in.slope.is_some_and(|(slope, _)| slope == place))
                };
                plan.crowded = setup.crowded.into_iter().filter(|c| !cap(c.place)).collect();
                plan.kept_slopes = setup.kept_slopes;
                plan.caps = sewn;
                return Ok(plan);
            }
            // The rows of a slope change nothing below it, but its rates.
            set_in_rounds += 1;
            round -= 1;
        }
        hints = values;
        solved = Some(setup.system);
    }
}

/// The rows that raglan edges must have to meet: a sleeve and a body that slope
/// from a bind-off over the same rows go on doing so, over the rows of the one
/// that cannot have fewer.
fn raglans(model: &Model<'_>, setup: &Setup, caps: &[FittedCap]) -> Vec<(Span, u32)> {
    let set_in = |piece: usize| {
        caps.iter().any(|cap| cap.set_in.sleeve == piece || cap.set_in.body == piece)
    };
    let edges = setup.slopes.iter().filter(|edge| !set_in(edge.piece));
    let (sleeves, bodies): (Vec<&Sloping>, Vec<&Sloping>) =
        edges.partition(|edge| set_in::is_sleeve(model, edge.piece));
    let mut rows = Vec::new();
    for edge in sleeves.iter().chain(&bodies) {
        let sewn = |others: &[&Sloping]| others.iter().any(|other| other.old == edge.old);
        if !sewn(&sleeves) || !sewn(&bodies) {
            continue;
        }
        let all = sleeves.iter().chain(&bodies).filter(|other| other.old == edge.old);
        let most = all.map(|other| other.rows).max().unwrap_or(edge.rows);
        if most != edge.rows {
            rows.push((edge.place, most));
        }
    }
    rows
}

/// Rows that must all be worked (a neck edge bound off step by step) can need
/// more length at a coarser gauge than the pattern left them. Then shapings
/// before the length are worked over fewer rows; or the rows begin earlier: the
/// length before them, measured from the same place, is shortened; or the
/// measurement grows. False where none of these does.
fn make_room(
    model: &Model<'_>,
    goal: &Goal<'_>,
    (old, worked): (&Trace, &Trace),
    setup: &Setup,
    room: &mut Room,
) -> bool {
    let steps = measured_steps(model);
    let mut seen = Vec::new();
    for (place, trouble) in &setup.wrong {
        let Trouble::LengthPassed { by } = trouble else { return false };
        let Some((start, length)) = steps.get(place) else { return false };
        if seen.contains(&place) {
            continue;
        }
        seen.push(place);
        if fewer_rows(model, goal, (old, worked), setup, *place, *by, room) {
            continue;
        }
        let by = half_units_up(*by, model.units);
        let before = same_start_before(&steps, old, *place, start);
        match before.filter(|_| !room.shorter.contains_key(place)) {
            Some(before) => {
                let so_far = room.shorter.entry(before).or_insert(Length::zero());
                *so_far = *so_far + by;
            }
            None => {
                let so_far = room.longer.entry(start.clone()).or_insert(Length::zero());
                *so_far = *so_far + by;
                // More than a fifth, and it is another garment.
                let most = length.given.get(old.size).map_or(Length::zero(), |l| *l * exact(1, 5));
                if *so_far > most {
                    return false;
                }
            }
        }
    }
    !seen.is_empty()
}

/// Takes rows from the shapings before a step, the nearest first, until `by` is
/// made up for or they have no more to give; false where they have none.
fn fewer_rows(
    model: &Model<'_>,
    goal: &Goal<'_>,
    (old, worked): (&Trace, &Trace),
    setup: &Setup,
    place: Span,
    by: Length,
    room: &mut Room,
) -> bool {
    let mut schedules = BTreeMap::new();
    for step in model.pieces.iter().flat_map(|p| &p.steps) {
        visit::schedules(step, &mut |step, schedule, _| {
            schedules.insert(step.span, schedule.span);
        });
    }
    let before = before(model, (old, worked), place);
    let Some(here) = before.last() else { return false };
    let rows = here.gauge.and_then(|g| goal.gauges.get(g.0)?.gauge?.rows);
    let Some(rows) = rows.map(|density| density.count(by)) else { return false };
    // Flat rows go in pairs.
    let step = if here.setting == Setting::Flat { 2 } else { 1 };
    let wanted = to_multiple(rows, Multiple::new(step, 0), Toward::Up);
    let mut left = u32::try_from(wanted).unwrap_or(u32::MAX);
    let mut taken = Vec::new();
    for visit in before.iter().rev() {
        let Some(schedule) = schedules.get(&visit.step) else { continue };
        let slack = setup.slack.get(schedule).copied().unwrap_or(0) / step * step;
        let give = slack.min(left);
        if give > 0 && !taken.iter().any(|(s, _)| s == schedule) {
            taken.push((*schedule, give));
            left -= give;
        }
    }
    // What is still missing shows in the next round.
    let some = !taken.is_empty();
    for (schedule, rows) in taken {
        *room.fewer.entry(schedule).or_insert(0) += rows;
    }
    some
}

/// What was worked of a piece before a step: in the pattern as it was, or, of a
/// draft that could not be worked, in this walk.
fn before<'t>(
    model: &Model<'_>,
    (old, worked): (&'t Trace, &'t Trace),
    place: Span,
) -> Vec<&'t Visit> {
    if let Some(index) = old.visits.iter().position(|v| v.step == place) {
        let piece = old.visits.get(index).map(|v| v.piece);
        let own = |v: &&Visit| Some(v.piece) == piece;
        let mut visits: Vec<&Visit> =
            old.visits.iter().take(index + 1).rev().take_while(own).collect();
        visits.reverse();
        return visits;
    }
    let has = |steps: &[&Step]| steps.iter().any(|step| step.span == place);
    let piece = model.pieces.iter().position(|p| has(&p.steps));
    let earlier = |v: &&Visit| Some(v.piece) == piece && v.step.start < place.start;
    worked.visits.iter().filter(earlier).collect()
}

/// To the next half centimeter or quarter inch, as lengths are written.
fn half_units_up(length: Length, units: Unit) -> Length {
    let (unit, parts) = if units == Unit::In { (Unit::In, 4) } else { (Unit::Cm, 2) };
    let parts = Exact::from_integer(parts);
    Length::new((length.amount(unit) * parts).ceil() / parts, unit)
}

/// The last step before `place` in its piece that works until a length from the same start.
fn same_start_before(
    steps: &BTreeMap<Span, (Start, &Lengths)>,
    old: &Trace,
    place: Span,
    start: &Start,
) -> Option<Span> {
    let index = old.visits.iter().position(|v| v.step == place)?;
    let piece = old.visits.get(index)?.piece;
    let earlier = old.visits.get(..index)?.iter().rev().take_while(|v| v.piece == piece);
    let same =
        |v: &&Visit| v.step != place && steps.get(&v.step).is_some_and(|(other, _)| other == start);
    earlier.into_iter().find(same).map(|v| v.step)
}

/// The steps that work until a length: where they measure from, and what.
fn measured_steps<'d>(model: &Model<'d>) -> BTreeMap<Span, (Start, &'d Lengths)> {
    let mut all = BTreeMap::new();
    model.each_step(&mut |piece, step| {
        if let Action::Work { extent: Extent::Until { length, .. }, .. } = &step.action
            && let Some(start) = Start::of(piece, step)
        {
            all.insert(step.span, (start, length));
        }
    });
    all
}

/// The steps whose lengths gave way, and by how much (less than nothing: they grew).
fn moved(model: &Model<'_>, old: &Trace, room: &Room) -> Vec<(Span, Length)> {
    let mut all: Vec<(Span, Length)> = room.shorter.iter().map(|(s, l)| (*s, *l)).collect();
    let steps = measured_steps(model);
    for (start, by) in &room.longer {
        let last =
            old.visits.iter().rev().find(|v| steps.get(&v.step).is_some_and(|(s, _)| s == start));
        all.extend(last.map(|v| (v.step, -*by)));
    }
    all
}

/// The width that some stitches too many or too few make.
fn width(goal: &Goal<'_>, intent: &Intent, off: Exact) -> Length {
    let gauge = goal.gauges.get(intent.gauge.0).and_then(|g| g.gauge);
    gauge.map_or(Length::zero(), |g| g.stitches.length(off))
}

fn clashing(goal: &Goal<'_>, setup: &Setup, clash: &Clash, worked: &Trace) -> Impossible {
    let why = |id: &super::system::RequirementId| setup.why.get(id.0).cloned();
    let whys: Vec<Why> = clash.requirements.iter().filter_map(why).collect();
    if let [alone] = *clash.requirements
        && let Some(lone) = Lone::of(alone, setup, goal, worked)
    {
        return Impossible::Lone(lone);
    }
    let ways = relaxations(&setup.system, clash)
        .into_iter()
        .filter_map(|Relaxation { without, outcome }| {
            let (Member::Requirement(without), Ok(solution)) = (without, outcome) else {
                return None;
            };
            let worst = setup
                .intents
                .iter()
                .map(|intent| {
                    let n = value(&intent.of, &solution.values);
                    (intent, Exact::from_integer(i128::from(n)) - exactly(intent, &solution.values))
                })
                .max_by(|(_, a), (_, b)| a.abs().cmp(&b.abs()));
            let worst = worst.map(|(intent, off)| (intent.place, off, width(goal, intent, off)));
            Some(Way { without: why(&without)?, worst })
        })
        .collect();
    Impossible::Clash { whys, ways, crowded: setup.crowded.clone() }
}

fn read_off(
    model: &Model<'_>,
    goal: &Goal<'_>,
    size: usize,
    traces: (&Trace, &Trace),
    setup: &Setup,
    values: &[i64],
) -> Result<SizePlan, Impossible> {
    let mut plan = SizePlan::default();
    for (&place, &unknown) in &setup.unknowns {
        plan.numbers.insert(place, values.get(unknown.0).copied().unwrap_or(0));
    }
    for (&place, linear) in &setup.derived {
        plan.numbers.insert(place, value(linear, values));
    }
    for (&place, rows) in &setup.rows {
        plan.numbers.insert(place, i64::from(rows.chosen));
    }
    plan.lengths.clone_from(&setup.lengths);
    for (&step, (before, after)) in &setup.evens {
        plan.evens.insert(step, (value(before, values), value(after, values)));
    }
    let from = goal.sizes.get(size).map_or(SizeId(0), |s| s.from);
    schedules(model, from, traces, setup, values, &mut plan)?;
    Ok(plan)
}

/// Says of the numbers of a plan where they come from.
fn derive_all(goal: &Goal<'_>, setup: &Setup, values: &[i64], plan: &mut SizePlan) {
    plan.rows = derive::rows(goal, setup);
    plan.turns = derive::turns(setup, values);
    plan.followers = derive::followers(setup, values);
    plan.derivations =
        setup.intents.iter().filter_map(|i| derivation(goal, setup, i, values)).collect();
    plan.bands = setup.bands.iter().map(|join| band(join, values)).collect();
}

fn band(join: &BandJoin, values: &[i64]) -> Band {
    Band {
        step: join.step,
        band: value(&join.band, values),
        body: value(&join.body, values),
        band_gauge: join.band_gauge,
        body_gauge: join.body_gauge,
        lies: join.lies.clone(),
    }
}

/// Writes each schedule anew where its shapings or its rows changed.
fn schedules(
    model: &Model<'_>,
    from: SizeId,
    (old, worked): (&Trace, &Trace),
    setup: &Setup,
    values: &[i64],
    plan: &mut SizePlan,
) -> Result<(), Impossible> {
    let mut failure = None;
    let mut each = |step: &Step, schedule: &Schedule, wedges: bool| {
        let Some((shapings, rows)) = setup.schedules.get(&schedule.span) else { return };
        // A draft was not worked before.
        let visit = old.visits.iter().chain(&worked.visits).find(|v| v.step == step.span);
        let wanted = value(shapings, values);
        plan.numbers.remove(&schedule.span);
        let Some(visit) = visit else { return };
        let shape = match wedges {
            true => Shape::Wedges,
            false if setup.curves.contains(&schedule.span) => Shape::Curve,
            false => Shape::Edge,
        };
        match spread(schedule, from, visit, wanted, *rows, shape) {
            Ok(rates) => {
                plan.schedules.insert(schedule.span, rates);
            }
            Err(nearest) => {
                failure.get_or_insert(Impossible::Rows {
                    place: schedule.span,
                    shapings: wanted,
                    rows: rows.unwrap_or(0),
                    nearest,
                });
            }
        }
    };
    for piece in &model.pieces {
        for step in &piece.steps {
            visit::schedules(step, &mut each);
        }
    }
    failure.map_or(Ok(()), Err)
}

fn derivation(
    goal: &Goal<'_>,
    setup: &Setup,
    intent: &Intent,
    values: &[i64],
) -> Option<Derivation> {
    let mut asked: Vec<Asked> = Vec::new();
    for (requirement, why) in setup.system.requirements.iter().zip(&setup.why) {
        if !meet(&intent.of, requirement.linear()) {
            continue;
        }
        // A limit that is not reached moved nothing.
        if matches!(requirement, Requirement::NotNegative(l) if value(l, values) > 0) {
            continue;
        }
        let Some(words) = super::clash::asks(&why.because) else { continue };
        let tied = setup
            .intents
            .iter()
            .filter(|other| other.place != intent.place)
            .filter(|other| meet(&other.of, requirement.linear()))
            .map(|other| other.place)
            .collect();
        let new = Asked { place: why.place, words, tied };
        if !asked.contains(&new) {
            asked.push(new);
        }
    }
    asked.extend(shaped_apart(setup, intent));
    Some(Derivation {
        place: intent.place,
        piece: intent.piece,
        gauge: intent.gauge,
        density: goal.gauges.get(intent.gauge.0)?.gauge?,
        old: intent.old,
        target: exactly(intent, values),
        tolerance: intent.tolerance,
        chosen: value(&intent.of, values),
        reason: intent.reason.clone(),
        asked,
    })
}

/// Where shaping leads from one count to another, they lie whole shapings apart.
fn shaped_apart(setup: &Setup, intent: &Intent) -> Option<Asked> {
    let at_a_time = |of: &Intent| {
        of.of.terms().map(|(_, factor)| factor.abs()).max().filter(|factor| *factor > 1)
    };
    let shares = |other: &&Intent| {
        other.place != intent.place
            && other.of.terms().any(|(u, _)| intent.of.terms().any(|(mine, _)| u == mine))
    };
    let near: Vec<&Intent> = setup.intents.iter().filter(shares).collect();
    let by = at_a_time(intent).or_else(|| near.iter().find_map(|other| at_a_time(other)))?;
    let tied = near.iter().map(|other| other.place).collect();
    let words = format!("shaping changes the count by {by} at a time");
    Some(Asked { place: intent.place, words, tied })
}
