//! Slopes that go step by step, as they were worked.

use super::super::super::set_in::is_sleeve;
use super::super::{FEW_ROWS, fixed, measure_of};
use super::{Clause, Kind, Slope, counted};
use crate::measure::SizeId;
use crate::model::{GaugeId, Model};
use crate::source::Span;
use crate::syntax::tree::{
    Action, BindOff, Counts, EdgeRows, Extent, ItemKind, Setting, ShapePlace, Step,
};
use crate::work::trace::{Trace, Visit};
use std::collections::BTreeMap;

/// What was worked of slopes.
pub(super) struct Found<'d> {
    pub(super) slopes: Vec<Slope<'d>>,
    /// Short rows written one by one at the end of a flat piece: the first, and how many.
    pub(super) written: Vec<(Span, GaugeId, u32)>,
}

/// Every slope that was worked, each once.
pub(super) fn read<'d>(model: &Model<'d>, old: &Trace) -> Found<'d> {
    let mut all: BTreeMap<Span, &'d Step> = BTreeMap::new();
    model.each_step(&mut |_, step| {
        all.insert(step.span, step);
    });
    let mut slopes: Vec<Slope<'d>> = Vec::new();
    let mut so_far: Vec<Clause<'d>> = Vec::new();
    let mut rows: Vec<(&'d Step, Vec<Span>)> = Vec::new();
    let mut turned: Vec<Clause<'d>> = Vec::new();
    let mut turning: Option<(Span, GaugeId, u32)> = None;
    let mut written: Vec<(Span, GaugeId, u32)> = Vec::new();
    let mut piece = None;
    for visit in &old.visits {
        if piece != Some(visit.piece) {
            so_far.clear();
            rows.clear();
            turning = None;
            piece = Some(visit.piece);
        }
        let Some(step) = all.get(&visit.step).copied() else { continue };
        if let Action::ShortRows { count, rows, which } = &step.action {
            turned.extend(clause(step, (count, rows, *which), visit, old.size));
            continue;
        }
        if turns(step) {
            let rows = turning.map_or(0, |(_, _, rows)| rows) + 1;
            let first =
                turning.map_or(Some(step.span).zip(visit.gauge), |(at, g, _)| Some((at, g)));
            turning = first.map(|(at, gauge)| (at, gauge, rows));
            continue;
        }
        let total = leaves(step, visit, old.size);
        let ends_in = turning.filter(|_| total.is_some() || !passes(step));
        if let Some((place, gauge, rows)) = ends_in {
            turning = None;
            let new = written.iter().all(|(at, ..)| *at != place);
            if total.is_some() && rows > 1 && visit.setting == Setting::Flat && new {
                written.push((place, gauge, rows));
            }
        }
        if total.is_some() || !passes(step) {
            let clauses = std::mem::take(&mut turned);
            // The last step is worked and not turned, where one is left over.
            let all: i64 = clauses.iter().map(|c| c.stitches * i64::from(c.times)).sum();
            let last = total.map(|total| total - all);
            add(&mut slopes, clauses, Vec::new(), (last, Kind::ShortRows));
        }
        let ends = match &step.action {
            Action::BindOff { amount: BindOff::StartOfNext { count, rows, which } } => {
                match clause(step, (count, rows, *which), visit, old.size) {
                    Some(clause) => so_far.push(clause),
                    None => so_far.clear(),
                }
                continue;
            }
            Action::BindOff { amount: BindOff::All(_) } => visit.before.known(),
            Action::Hold { .. } | Action::Close(_) => None,
            Action::Row { .. } => {
                rows.push((step, so_far.iter().map(|clause| clause.step.span).collect()));
                continue;
            }
            Action::Say | Action::Part { .. } | Action::Reverse { .. } => {
                continue;
            }
            Action::Shape { place: ShapePlace::NeckEdge, .. } => {
                let clauses = of_neck(std::mem::take(&mut so_far));
                rows.clear();
                add(&mut slopes, clauses, Vec::new(), (None, Kind::Neck));
                continue;
            }
            Action::Work { extent: Extent::Rows(_), .. }
                if visit.rows_after - visit.rows_before <= FEW_ROWS =>
            {
                continue;
            }
            _ => {
                so_far.clear();
                rows.clear();
                continue;
            }
        };
        let clauses = std::mem::take(&mut so_far);
        let rows = std::mem::take(&mut rows);
        let kind = if is_sleeve(model, visit.piece) { Kind::Cap } else { Kind::Shoulder };
        add(&mut slopes, clauses, rows, (ends, kind));
    }
    add(&mut slopes, turned, Vec::new(), (None, Kind::ShortRows));
    Found { slopes, written }
}

/// The clauses of one edge that come last: those of a neck, where its decreases follow.
fn of_neck(clauses: Vec<Clause<'_>>) -> Vec<Clause<'_>> {
    let side = clauses.last().and_then(|clause| clause.side);
    clauses.into_iter().filter(|clause| side.is_some() && clause.side == side).collect()
}

/// Whether a step is one row that turns before its end.
fn turns(step: &Step) -> bool {
    let Action::Row { items, .. } = &step.action else { return false };
    matches!(items.last().map(|item| &item.kind), Some(ItemKind::Turn | ItemKind::WrapTurn))
}

/// How many stitches of an edge a step binds off, divides or puts aside, where it tells.
fn leaves(step: &Step, visit: &Visit, size: SizeId) -> Option<i64> {
    match &step.action {
        Action::BindOff { amount: BindOff::StartOfNext { count, .. } } => {
            count.given.get(size).map(|n| i64::from(*n))
        }
        Action::BindOff { amount: BindOff::All(_) } | Action::Hold { .. } | Action::Close(_) => {
            visit.before.known()
        }
        Action::Row { items, .. } => {
            let first = counted(items.first()?).filter(|counts| counts.live)?;
            first.given.get(size).map(|n| i64::from(*n))
        }
        _ => None,
    }
}

/// Whether a step leaves the stitches as they are.
fn passes(step: &Step) -> bool {
    matches!(
        step.action,
        Action::Row { .. }
            | Action::Say
            | Action::ChangeTo(_)
            | Action::Part { .. }
            | Action::Reverse { .. }
            | Action::Work { extent: Extent::Rows(_), .. }
    )
}

/// Notes the slope of some clauses, where there is one that was not seen before.
fn add<'d>(
    slopes: &mut Vec<Slope<'d>>,
    clauses: Vec<Clause<'d>>,
    rows: Vec<(&'d Step, Vec<Span>)>,
    (last, kind): (Option<i64>, Kind),
) {
    let seen = |clause: &Clause<'_>| {
        slopes.iter().flat_map(|s| &s.clauses).any(|c| c.step.span == clause.step.span)
    };
    if !clauses.iter().any(seen) {
        slopes.extend(slope(clauses, last, kind).map(|slope| Slope { rows, ..slope }));
    }
}

fn clause<'d>(
    step: &'d Step,
    (count, rows, which): (&'d Counts, &'d Counts, EdgeRows),
    visit: &Visit,
    size: SizeId,
) -> Option<Clause<'d>> {
    let stitches = i64::from(*count.given.get(size)?);
    let own = *rows.given.get(size)?;
    let (times, both) = match which {
        EdgeRows::EverySecond(_) => (own, false),
        EdgeRows::Next if own.is_multiple_of(2) => (own / 2, true),
        EdgeRows::Next if own == 1 => (1, false),
        EdgeRows::Next => return None,
    };
    let alone = which == EdgeRows::Next && !both;
    let follows = !alone && !fixed(step) && measure_of(&step.marks).is_none();
    let side = visit.side_before().filter(|_| !both);
    Some(Clause { step, count, rows, stitches, times, follows, side, gauge: visit.gauge })
}

/// The slope that some clauses end with: steps that differ by a stitch at most, of one edge.
fn slope(clauses: Vec<Clause<'_>>, last: Option<i64>, kind: Kind) -> Option<Slope<'_>> {
    if kind == Kind::Neck {
        let slope = Slope { clauses, rows: Vec::new(), last: None, kind };
        return (slope.following().count() > 0).then_some(slope);
    }
    let near = |a: i64, b: i64| a.abs_diff(b) <= 1;
    let of_last = last.filter(|last| clauses.iter().any(|c| near(c.stitches, *last)));
    let like = of_last.or(clauses.first().map(|clause| clause.stitches))?;
    let ends = clauses.last().is_some_and(|clause| near(clause.stitches, like));
    let side = clauses.iter().filter(|c| near(c.stitches, like)).find_map(|c| c.side);
    let on_edge = |c: &Clause<'_>| c.side.is_none() || c.side == side;
    let clauses: Vec<Clause<'_>> =
        clauses.into_iter().filter(|c| near(c.stitches, like) && on_edge(c)).collect();
    let all = || clauses.iter().map(|clause| clause.stitches).chain(of_last);
    let even = all().max()? - all().min()? <= 1;
    let slope = Slope { clauses, rows: Vec::new(), last: of_last, kind };
    // A single step is no slope; one that others follow, of other widths, is a neck.
    (even
        && slope.rises() + slope.over() + u32::from(of_last.is_some()) >= 2
        && (of_last.is_some() || ends))
        .then_some(slope)
}
