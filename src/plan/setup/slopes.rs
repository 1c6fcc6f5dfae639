//! Slopes that go step by step: shoulders, bound off or turned in short rows, tops of caps, and
//! what is bound off of a neck before it is decreased.
//!
//! Each step lies two rows above the last, so that their number alone makes a slope deep: at
//! other rows there are as many as its depth comes to. What the author wrote one row at a time
//! stays, and so does what is sewn to it; how deep the slope is then is told.

use super::super::rates::shared;
use super::super::system::{Aim, Weighted};
use super::{Planner, Reason, SettledRows, fixed, tolerance};
use crate::measure::round::nearest;
use crate::measure::{Exact, Linear, exact};
use crate::model::{GaugeId, Model};
use crate::source::Span;
use crate::syntax::tree::{Action, BindOff, Counts, EdgeRows, Extent, Item, ItemKind, Side, Step};
use crate::work::ledger::{Because, Need, Why};
use crate::work::trace::{Trace, Visit};
use read::{Found, read};
use std::collections::BTreeMap;

mod read;

/// By how many steps a slope may be off its depth, so that its stitches come out even.
const NEAR: (i64, i64) = (3, 4);

/// A slope whose steps cannot become as many as its depth asks for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct KeptSlope {
    /// The first of its instructions.
    pub place: Span,
    /// The gauge it is worked in.
    pub(crate) gauge: GaugeId,
    /// The rows it has in the pattern.
    pub was: u32,
    /// The rows it has now.
    pub now: u32,
    /// Whether it is turned in short rows, and not bound off.
    pub turned: bool,
}

/// Every slope of one size that has other rows now, by the places of its numbers.
#[derive(Clone, Debug, Default)]
pub(super) struct Slopes {
    /// By the number of rows (or times): how many steps of each edge it is, was, and would
    /// exactly be.
    rows: BTreeMap<Span, (u32, u32, Exact)>,
    /// By the number of stitches: the slope it is a step of.
    steps: BTreeMap<Span, Share>,
    /// By a number of stitches that a row works between steps: so many more, of the old ones,
    /// are bound off after it and not before.
    beside: BTreeMap<Span, Exact>,
    /// Those with no last step that makes up for the others: their numbers of stitches, each
    /// with its steps now, and what they come to.
    sums: Vec<(Vec<(Span, u32)>, Exact)>,
    pub(super) kept: Vec<KeptSlope>,
}

/// Stitches that short rows have left unworked at one edge.
#[derive(Clone, Debug)]
pub(super) struct Turned {
    /// All of them.
    all: Linear,
    /// How many they were.
    was: i64,
    /// Those of the last turn.
    step: Linear,
    step_was: i64,
    /// Where they are written.
    place: Span,
}

/// What a step is of its slope.
#[derive(Clone, Copy, Debug)]
struct Share {
    /// Steps before and now.
    was: u32,
    now: u32,
    /// Old stitches that all of them are to be as wide as.
    stitches: Exact,
}

/// One instruction that binds off at the start of rows.
#[derive(Clone, Copy)]
struct Clause<'d> {
    step: &'d Step,
    count: &'d Counts,
    rows: &'d Counts,
    /// Stitches of a step.
    stitches: i64,
    /// Steps of each edge.
    times: u32,
    /// Whether their number may change.
    follows: bool,
    /// The side of its row, where it is of one edge only.
    side: Option<Side>,
    gauge: Option<GaugeId>,
}

/// The clauses of one slope.
struct Slope<'d> {
    clauses: Vec<Clause<'d>>,
    /// Rows that part the work between the steps, with the clauses before each.
    rows: Vec<(&'d Step, Vec<Span>)>,
    /// Whether what is bound off last of all is a step of it, of so many stitches.
    last: Option<i64>,
    kind: Kind,
}

/// What a slope is of.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Kind {
    /// Of a body, bound off: what is left after its last step is the neck.
    Shoulder,
    /// Of a sleeve: what is left is the top of the cap.
    Cap,
    /// Of a body, turned in short rows: beside what they left is the neck, or its last step.
    ShortRows,
    /// Of a neck, before decreases at its edge: the steps are of any width, and these decreases
    /// take what rows the steps leave them of its depth.
    Neck,
}

impl Slope<'_> {
    fn times(&self) -> u32 {
        self.clauses.iter().map(|clause| clause.times).sum()
    }

    /// How many steps there are over those that it goes up.
    fn over(&self) -> u32 {
        let falls = matches!(self.kind, Kind::Shoulder | Kind::ShortRows);
        u32::from(self.last.is_none() && falls)
    }

    /// How often it goes up by two rows.
    fn rises(&self) -> u32 {
        self.times().saturating_sub(self.over())
    }

    /// Steps that stay, whatever becomes of the others.
    fn fixed(&self) -> u32 {
        self.clauses.iter().filter(|clause| !clause.follows).map(|clause| clause.times).sum()
    }

    fn following(&self) -> impl Iterator<Item = &Clause<'_>> {
        self.clauses.iter().filter(|clause| clause.follows)
    }

    /// How often it must go up at the least and, where no more can be, at the most.
    fn limits(&self) -> (u32, Option<u32>) {
        let following = u32::try_from(self.following().count()).unwrap_or(u32::MAX);
        if following == 0 {
            return (self.rises(), Some(self.rises()));
        }
        (self.fixed().saturating_add(following).saturating_sub(self.over()).max(1), None)
    }

    fn stitches(&self) -> i64 {
        let own = self.clauses.iter().map(|c| c.stitches.saturating_mul(i64::from(c.times)));
        own.sum::<i64>() + self.last.unwrap_or(0)
    }

    /// The stitches of the steps from one to another of `now`, where these go over its old curve.
    fn between(&self, from: u32, to: u32, now: u32) -> Exact {
        let reached = |step: u32| {
            let mut left =
                exact(i64::from(step), i64::from(now.max(1))) * exact(i64::from(self.times()), 1);
            let mut stitches = exact(0, 1);
            for clause in &self.clauses {
                let steps = left.min(exact(i64::from(clause.times), 1));
                stitches += steps * exact(clause.stitches, 1);
                left = left - steps;
            }
            stitches
        };
        reached(to) - reached(from)
    }

    /// By how many stitches equal steps that rise so often miss a width at the least.
    fn misses(&self, rises: u32, width: i64) -> i64 {
        let times = i64::from((rises + self.over()).max(1));
        if self.clauses.len() > 1 {
            return 0;
        }
        match self.last {
            // The last step may be one stitch wider or narrower than the others.
            Some(_) => {
                let over = width.rem_euclid(times + 1);
                (over - 1).min(times - over).max(0)
            }
            None => (nearest(exact(width, times)) * times - width).abs(),
        }
    }
}

/// Reads the slopes of a size and gives each the steps it has at other rows and stitches.
pub(super) fn slopes(
    model: &Model<'_>,
    old: &Trace,
    ratios: impl Fn(GaugeId) -> (Exact, Exact),
) -> Slopes {
    let Found { slopes: found, written } = read(model, old);
    let mut out = Slopes::default();
    for (place, gauge, rows) in written {
        let exactly = exact(i64::from(rows), 1) * ratios(gauge).0;
        let off = exact(i64::from(rows), 1) - exactly;
        if off.abs() >= exact(2, 1) {
            out.kept.push(KeptSlope { place, gauge, was: rows, now: rows, turned: true });
        }
    }
    let mut done: Vec<(u32, i64, Kind)> = Vec::new();
    for slope in &found {
        let Some(first) = slope.clauses.first() else { continue };
        // Slopes that are sewn together go over as many rows.
        let key = |slope: &Slope<'_>| {
            let first = slope.clauses.first().map_or(0, |clause| clause.stitches);
            (slope.rises(), first, slope.kind)
        };
        let own = key(slope);
        let Some(gauge) = first.gauge.filter(|_| !done.contains(&own)) else { continue };
        done.push(own);
        let (rows, stitches) = ratios(gauge);
        if rows == exact(1, 1) {
            continue;
        }
        let family: Vec<&Slope<'_>> = found.iter().filter(|other| key(other) == own).collect();
        let exactly = exact(i64::from(own.0), 1) * rows;
        let now = rises(&family, exactly, stitches);
        for slope in &family {
            out.give(slope, now, (exactly, stitches));
            out.tell(slope, now, (exactly, gauge));
        }
    }
    out
}

/// How often slopes that are sewn together go up.
fn rises(family: &[&Slope<'_>], exactly: Exact, stitches: Exact) -> u32 {
    let limits = || family.iter().map(|slope| slope.limits());
    if let Some(most) = limits().find_map(|(_, most)| most) {
        return most;
    }
    let least = limits().map(|(least, _)| least).max().unwrap_or(1).max(1);
    let near = u32::try_from(nearest(exactly)).unwrap_or(0).max(least);
    let off = |rises: u32| (exact(i64::from(rises), 1) - exactly).abs();
    let misses = |rises: u32| {
        let width = |slope: &&Slope<'_>| nearest(exact(slope.stitches(), 1) * stitches);
        let most = family.iter().map(|slope| slope.misses(rises, width(slope))).max();
        // A stitch is what a width may be off anyhow.
        most.filter(|most| *most > 1).unwrap_or(0)
    };
    let others = [near.saturating_sub(1), near + 1].into_iter();
    let others = others.filter(|&n| n >= least && off(n) <= exact(NEAR.0, NEAR.1));
    let all = std::iter::once(near).chain(others);
    all.min_by_key(|&rises| (misses(rises), off(rises))).unwrap_or(near)
}

impl Slopes {
    /// Shares the steps out over the clauses that follow.
    fn give(&mut self, slope: &Slope<'_>, rises: u32, (exactly, stitches): (Exact, Exact)) {
        let (was, now) = (slope.times(), rises + slope.over());
        let exactly = exactly + exact(i64::from(slope.over()), 1);
        if now == was {
            return;
        }
        let parts: Vec<u32> = slope.following().map(|clause| clause.times).collect();
        let each = u32::try_from(parts.len()).unwrap_or(0);
        let spare = now.saturating_sub(slope.fixed()).saturating_sub(each);
        let last = u32::from(slope.last.is_some());
        let mut sum = Vec::new();
        let mut more = shared(spare, &parts).into_iter();
        for clause in &slope.clauses {
            let times = if clause.follows { 1 + more.next().unwrap_or(0) } else { clause.times };
            if clause.follows {
                let exactly = exactly * exact(i64::from(clause.times), i64::from(was));
                self.rows.insert(clause.rows.span, (times, clause.times, exactly));
            }
            let share = if slope.kind == Kind::Neck {
                let done = sum.iter().map(|(_, times)| times).sum::<u32>();
                let stitches = slope.between(done, done + times, now);
                Share { was: clause.times, now: times, stitches }
            } else {
                let stitches = exact(slope.stitches(), 1);
                Share { was: was + last, now: now + last, stitches }
            };
            self.steps.insert(clause.count.span, share);
            sum.push((clause.count.span, times));
        }
        let step = exact(slope.stitches(), i64::from(now + last).max(1));
        for (row, before) in &slope.rows {
            let mut more = exact(0, 1);
            for (clause, (_, times)) in slope.clauses.iter().zip(&sum) {
                if before.contains(&clause.step.span) {
                    let was = clause.stitches.saturating_mul(i64::from(clause.times));
                    more = more + exact(was, 1) - step * exact(i64::from(*times), 1);
                }
            }
            self.beside.extend(ends(row).into_iter().map(|place| (place, more)));
        }
        if slope.last.is_none() {
            self.sums.push((sum, exact(slope.stitches(), 1) * stitches));
        }
    }

    fn tell(&mut self, slope: &Slope<'_>, now: u32, (exactly, gauge): (Exact, GaugeId)) {
        let off = exact(i64::from(now), 1) - exactly;
        let (least, most) = slope.limits();
        let stuck = most.is_some() || (now == least && off > exact(0, 1));
        let meant = slope.clauses.iter().any(|clause| fixed(clause.step));
        let place = slope.clauses.first().map(|clause| clause.step.span);
        if let Some(place) = place
            && stuck
            && !meant
            // What a neck's steps leave of its depth is worked over by what follows them.
            && slope.kind != Kind::Neck
            && off.abs() >= exact(1, 1)
        {
            let rows = |steps: u32| steps.saturating_mul(2);
            let (was, now) = (rows(slope.rises()), rows(now));
            let turned = slope.kind == Kind::ShortRows;
            self.kept.push(KeptSlope { place, gauge, was, now, turned });
        }
    }
}

/// The number of a plain run of stitches.
fn counted(item: &Item) -> Option<&Counts> {
    match &item.kind {
        ItemKind::Stitch { count: Some(count), .. } | ItemKind::Pattern(count) => Some(count),
        _ => None,
    }
}

/// The live numbers at both ends of a row: beside the stitches it binds off for a neck.
fn ends(row: &Step) -> Vec<Span> {
    let Action::Row { items, .. } = &row.action else { return Vec::new() };
    let live = |item: &Item| counted(item).filter(|count| count.live).map(|count| count.span);
    items
        .first()
        .into_iter()
        .chain(items.get(1..).and_then(<[Item]>::last))
        .filter_map(live)
        .collect()
}

impl Planner<'_, '_> {
    /// In how many rows stitches are bound off at an edge.
    pub(super) fn bind_off_rows(&mut self, rows: &Counts, step: &Step, old: i64) -> Linear {
        let Some(&(now, was, exactly)) = self.slopes.rows.get(&rows.span) else {
            return Linear::number(old);
        };
        let every = u32::try_from(old).unwrap_or(0) / was.max(1);
        let chosen = now.saturating_mul(every);
        let gauge = self.old_visit(step).and_then(|visit| visit.gauge);
        let settled = SettledRows {
            gauge,
            old,
            exact: exactly * exact(i64::from(every), 1),
            chosen,
            block: 2 / every.max(1),
            keeps_parity: every == 2,
        };
        self.setup.rows.insert(rows.span, settled);
        Linear::number(i64::from(chosen))
    }

    /// What a step of a slope with other steps than before aims at.
    pub(super) fn slope_step(&self, count: &Counts, gauge: GaugeId) -> Option<(Exact, Reason)> {
        if let Some(&more) = self.slopes.beside.get(&count.span) {
            let old = exact(self.literal(count).ok()?, 1) + more;
            let width = self.old_gauge(gauge)?.stitches.length(old.max(exact(1, 1)));
            return Some((
                self.new_gauge(gauge)?.stitches.count(width),
                Reason::BesideSteps(width),
            ));
        }
        let share = self.slopes.steps.get(&count.span)?;
        let width = self.old_gauge(gauge)?.stitches.length(share.stitches);
        let all = self.new_gauge(gauge)?.stitches.count(width);
        let reason = Reason::Step { of: width, steps: share.now, was: share.was };
        Some((all / exact(i64::from(share.now), 1), reason))
    }

    /// Notes what short rows leave at an edge, and ties what then leaves the needle to it.
    pub(super) fn turned(&mut self, visit: &Visit, old: Option<&Visit>, step: &Step) {
        match &step.action {
            Action::ShortRows { count, rows, which } => {
                let own = old.and_then(|_| rows.given.get(self.from).copied());
                let stitches = self.setup.unknowns.get(&count.span).copied();
                let (Some(own), Some(stitches)) = (own, stitches.zip(self.literal(count).ok()))
                else {
                    self.turned = None;
                    return;
                };
                let both = *which == EdgeRows::Next;
                let now = self.setup.rows.get(&rows.span).map_or(own, |rows| rows.chosen);
                let times = |rows: u32| i64::from(if both { rows.div_ceil(2) } else { rows });
                let (unknown, old) = stitches;
                let step = Linear::unknown(unknown);
                let before = self.turned.take();
                let (all, was) =
                    before.map_or((Linear::default(), 0), |before| (before.all, before.was));
                self.turned = Some(Turned {
                    all: &all + &step.times(times(now)),
                    was: was + old.saturating_mul(times(own)),
                    step,
                    step_was: old,
                    place: count.span,
                });
            }
            Action::BindOff { amount: BindOff::All(_) }
            | Action::Hold { .. }
            | Action::Close(_) => {
                let had = old.and_then(|old| old.before.known());
                self.as_turned(&visit.before, had, step.span);
            }
            Action::Row { .. } | Action::Say | Action::BindOff { .. } | Action::ChangeTo(_) => {}
            Action::Work { extent: Extent::Rows(_), .. } => {}
            _ => self.turned = None,
        }
    }

    /// Ties a number to what short rows left, where it was as much, or a step more.
    pub(super) fn as_turned(&mut self, count: &Linear, old: Option<i64>, place: Span) {
        let Some((turned, old)) = self.turned.clone().zip(old) else { return };
        if count.known().is_some() {
            return;
        }
        let mut require = |need: Need| {
            let because = Because::ShoulderSteps { one: turned.all.clone(), other: count.clone() };
            self.require(need, Why { place: turned.place.to(place), because });
        };
        let more = count - &turned.all;
        if old == turned.was {
            require(Need::Zero(more));
        } else if (old - turned.was).abs_diff(turned.step_was) <= 1 {
            // The last step is not turned but worked.
            let one = Linear::number(1);
            require(Need::NotNegative(&(&more - &turned.step) + &one));
            require(Need::NotNegative(&(&turned.step - &more) + &one));
        }
    }

    /// Steps at the start of rows that bound off all there were go on doing so.
    pub(super) fn bound_off(&mut self, visit: &Visit, old: Option<&Visit>, step: &Step) {
        let Action::BindOff { amount: BindOff::StartOfNext { count, .. } } = &step.action else {
            return;
        };
        let all = old.is_some_and(|old| old.after.known() == Some(0));
        if all && visit.after.known().is_none() {
            let because = Because::NothingLeft { left: visit.after.clone() };
            self.require(Need::Zero(visit.after.clone()), Why { place: count.span, because });
        }
    }

    /// Where a row puts one half aside, it still does.
    pub(super) fn halved(&mut self, visit: &Visit, old: Option<&Visit>, step: &Step) {
        let Action::Row { items, .. } = &step.action else { return };
        let aside = items.iter().any(|item| matches!(item.kind, ItemKind::HoldRest { .. }));
        let half = old.and_then(|old| Some((old.before.known()?, old.after.known()?)));
        if aside && half.is_some_and(|(all, half)| all == 2 * half) {
            let one = visit.after.clone();
            let other = &visit.before - &one;
            let off = &one - &other;
            if off.known().is_none() {
                let because = Because::Mirror { one, other };
                self.require(Need::Zero(off), Why { place: step.span, because });
            }
        }
    }

    /// Steps that together make up a width aim at it together.
    pub(super) fn aim_slopes(&mut self) {
        for (steps, width) in std::mem::take(&mut self.slopes.sums) {
            let mut all = Linear::default();
            for (place, times) in steps {
                let Some(&unknown) = self.setup.unknowns.get(&place) else { continue };
                all = &all + &Linear::unknown(unknown).times(i64::from(times));
            }
            if all.known().is_none() {
                let (of, tolerance) = (Weighted::from(&all), tolerance(width));
                self.setup.system.aim(Aim { of, target: width, tolerance });
            }
        }
    }
}
