//! Draws one step after another.

use super::group::{Edge, Edges, Group};
use super::{Level, Outline, Slab, TOP, steps_to};
use crate::measure::{Exact, Length, Linear, exact};
use crate::model::{GaugeId, Model};
use crate::plan::facts::{side_before, worked_schedule};
use crate::plan::taper::Schedule;
use crate::source::Span;
use crate::syntax::tree::{
    Action, BindOff, CastOnPlace, Counts, EdgeRows, Item, ItemKind, RowEnd, Setting, ShapePlace,
    Side, Step,
};
use crate::work::{Trace, Visit};

pub(super) struct Drawing<'a, 'd> {
    pub(super) model: &'a Model<'d>,
    pub(super) trace: &'a Trace,
    pub(super) visits: Vec<&'a Visit>,
    /// The visit that comes next.
    pub(super) next: usize,
    /// The groups on the needle, the one in work first.
    pub(super) groups: Vec<Group>,
    pub(super) setting: Setting,
    pub(super) gauge: Option<GaugeId>,
    /// The edge at which stitches were bound off last.
    pub(super) armhole: Option<Edge>,
    /// Parts drawn: their names, their slabs, and where they began.
    pub(super) parts: Vec<(String, Span, Vec<Slab>, Group)>,
    /// The step that is being drawn.
    pub(super) step: Span,
    /// Whether it is about to begin.
    pub(super) begins: bool,
    /// How deep in parts.
    pub(super) depth: u32,
    /// How deep in steps of other pieces.
    pub(super) copied: u32,
    /// Whether that is worked as in a mirror.
    pub(super) mirrored: bool,
    pub(super) out: Outline,
}

impl<'d> Drawing<'_, 'd> {
    pub(super) fn finish(mut self) -> Option<Outline> {
        let top = self.out.slabs.iter().map(|slab| slab.top).max()?;
        let first = self.out.slabs.first()?;
        let last = self.out.slabs.iter().max_by_key(|slab| slab.top)?;
        if !top.is_positive() || !(first.below.1 - first.below.0).is_positive() {
            return None;
        }
        let width = last.above.1 - last.above.0;
        if self.out.levels.last().is_none_or(|level| level.height < top) {
            self.step = TOP;
            self.level(top, width);
            let parted = !self.parts.is_empty() || self.groups.len() > 1;
            if let Some(level) = self.out.levels.last_mut() {
                level.parted = parted;
            }
        }
        let mut levels: Vec<Level> = Vec::new();
        self.out.levels.sort_by_key(|level| level.height);
        for level in self.out.levels {
            match levels.last_mut() {
                // What is there last is what goes on from there.
                Some(last) if last.height == level.height => *last = level,
                _ => levels.push(level),
            }
        }
        Some(Outline { levels, ..self.out })
    }

    // ---- Steps -------------------------------------------------------------------

    /// What was seen of a step; nothing where the size skips it.
    pub(super) fn take(&mut self, step: &Step) -> Option<&Visit> {
        let visit = *self.visits.get(self.next)?;
        if visit.step != step.span {
            return None;
        }
        self.next += 1;
        Some(visit)
    }

    pub(super) fn step(&mut self, step: &'d Step) {
        self.step = step.span;
        match &step.action {
            Action::Part { name, each } => self.part(step, &name.value, *each),
            Action::Reverse { of, .. } => {
                self.reverse(step, of.as_ref().map(|of| of.value.as_str()));
            }
            Action::AsFor { piece, to, reversed } => {
                let to = to.as_ref().map(|to| to.value.as_str());
                let steps = steps_to(self.model, &piece.value, to);
                let (first, middle) = (self.out.slabs.len(), self.middle());
                let outside = std::mem::replace(&mut self.mirrored, *reversed);
                if self.copied < 8 {
                    self.copied += 1;
                    steps.into_iter().for_each(|step| self.step(step));
                    self.copied -= 1;
                }
                self.mirrored = outside;
                if *reversed {
                    self.mirror(first, middle);
                }
                self.take(step);
            }
            Action::Together => self.together(step),
            _ => {
                let Some(visit) = self.take(step).cloned() else { return };
                self.draw(step, &visit);
                self.gauge = visit.gauge;
                self.setting = visit.setting;
            }
        }
    }

    fn draw(&mut self, step: &'d Step, visit: &Visit) {
        let place = |of: &CastOnPlace| matches!(of, CastOnPlace::Here);
        match &step.action {
            Action::CastOn { place: at, .. } if place(at) && visit.before == Linear::default() => {
                let Some(width) = self.width(visit, &visit.after) else { return };
                self.groups.insert(0, Group::centered(width));
                self.level(visit.height_after, width);
            }
            Action::CastOn { place: CastOnPlace::OverGap, .. } => self.bridge(visit),
            Action::CastOn { place: CastOnPlace::Here, .. } => {
                // The row just worked ended where the next begins.
                let at = visit.next_side.map_or(Edge::Left, |side| self.begins(side));
                self.widen(visit, Some(at));
            }
            Action::CastOn { .. } => {
                self.widen(visit, None);
                self.straight(visit);
            }
            Action::JoinRound | Action::WorkFlat | Action::TakeUp(_) | Action::PickUp { .. } => {
                self.on_the_needle(visit);
                self.tell(visit.height_after);
            }
            Action::ShortRows { count, rows, which } => {
                let value = |counts: &Counts| counts.given.get(self.trace.size).copied();
                let apart = if *which == EdgeRows::Next { 1 } else { 2 };
                match value(count).zip(value(rows)).filter(|_| self.ends_soon()) {
                    Some((stitches, rows)) => self.turns(visit, (stitches, rows), apart),
                    None => self.out.short_rows = true,
                }
            }
            Action::TurnHeel { .. } => {
                self.widen(visit, None);
                self.straight(visit);
            }
            Action::Even { .. } => {
                self.widen(visit, None);
                self.straight(visit);
                self.tell(visit.height_before);
            }
            Action::Work { .. } => {
                self.on_the_needle(visit);
                self.straight(visit);
            }
            Action::Row { items, .. } => self.row(items, visit),
            Action::SameRows { .. } => {
                self.on_the_needle(visit);
                self.straight(visit);
            }
            Action::Repeat { .. } => {
                self.tell_before(visit);
                self.slope(visit, &[(Edges::Both, None)]);
                self.tell(visit.height_after);
            }
            Action::Shape { place, schedule, .. } => {
                self.tell_before(visit);
                let edges = self.edges(*place);
                let schedule =
                    worked_schedule(schedule, visit, self.trace.size, side_before(visit));
                self.slope(visit, &[(edges, Some(&schedule))]);
                self.tell(visit.height_after);
            }
            Action::Wedges { schedule, .. } | Action::RepeatAt { schedule, .. } => {
                self.tell_before(visit);
                let schedule =
                    worked_schedule(schedule, visit, self.trace.size, side_before(visit));
                self.slope(visit, &[(Edges::Both, Some(&schedule))]);
                self.tell(visit.height_after);
            }
            Action::BindOff { amount: BindOff::StartOfNext { rows, which, .. } } => {
                let rows = rows.given.get(self.trace.size).copied();
                match which {
                    EdgeRows::Next => self.bind_off(visit, rows, 1),
                    EdgeRows::EverySecond(_) => self.bind_off(visit, rows, 2),
                }
            }
            Action::BindOff { amount: BindOff::All(_) } => {
                self.straight(visit);
                self.drop_group();
            }
            Action::Hold { .. } | Action::Close(_) => self.drop_group(),
            Action::ChangeTo(_)
            | Action::Stripes(_)
            | Action::Say
            | Action::Part { .. }
            | Action::Reverse { .. }
            | Action::AsFor { .. }
            | Action::Together => {}
        }
    }

    pub(super) fn drop_group(&mut self) {
        if !self.groups.is_empty() {
            self.groups.remove(0);
        }
    }

    // ---- Widths ------------------------------------------------------------------

    /// The drawn width of stitches in the gauge after a step.
    fn width(&self, visit: &Visit, stitches: &Linear) -> Option<Length> {
        self.width_in(visit.gauge?, visit.setting, stitches.known()?)
    }

    pub(super) fn width_in(
        &self,
        gauge: GaugeId,
        setting: Setting,
        stitches: i64,
    ) -> Option<Length> {
        let gauge = self.model.gauges.get(gauge.0)?.gauge?;
        let width = gauge.stitches.length(Exact::from_integer(i128::from(stitches)));
        Some(match setting {
            Setting::Flat => width,
            Setting::Round => width * exact(1, 2),
        })
    }

    /// The group in work; where none is known, stitches lie about the middle.
    pub(super) fn group(&mut self, visit: &Visit) -> Option<Group> {
        if self.groups.is_empty() {
            let stitches =
                if visit.before == Linear::default() { &visit.after } else { &visit.before };
            let width = self.width(visit, stitches)?;
            self.groups.push(Group::centered(width));
        }
        self.groups.first().copied()
    }

    fn set(&mut self, group: Group) {
        if let Some(first) = self.groups.first_mut() {
            *first = group;
        }
    }

    /// Takes the width of the stitches that are now on the needle, about the same middle.
    fn on_the_needle(&mut self, visit: &Visit) {
        if let (Some(group), Some(width)) = (self.group(visit), self.width(visit, &visit.after)) {
            self.set(group.with_width(width));
        }
    }

    /// Goes to the width after a step at once, at one edge or about the middle.
    fn widen(&mut self, visit: &Visit, edge: Option<Edge>) {
        let (Some(group), Some(width)) = (self.group(visit), self.width(visit, &visit.after))
        else {
            return;
        };
        let flat = visit.setting == Setting::Flat;
        self.set(match edge.filter(|_| flat) {
            Some(edge) => group.wider_at(edge, width - group.width()),
            None => group.with_width(width),
        });
    }

    /// Two groups and what is cast on between them, as one.
    fn bridge(&mut self, visit: &Visit) {
        let left = self.groups.iter().map(|group| group.left).min();
        let right = self.groups.iter().map(|group| group.right).max();
        if let (Some(left), Some(right)) = (left, right) {
            self.groups = vec![Group { left, right, inner: None }];
            self.on_the_needle(visit);
        }
    }

    // ---- Slabs -------------------------------------------------------------------

    fn slab(&mut self, bottom: Length, top: Length, below: Group, above: Group, visit: &Visit) {
        if top > bottom {
            self.out.slabs.push(Slab {
                bottom,
                top,
                below: (below.left, below.right),
                above: (above.left, above.right),
                gauge: visit.gauge,
            });
        }
    }

    fn straight(&mut self, visit: &Visit) {
        if let Some(group) = self.group(visit) {
            self.slab(visit.height_before, visit.height_after, group, group, visit);
        }
    }

    /// Notes a height and the width there, where the work is in one.
    pub(super) fn tell(&mut self, height: Length) {
        if self.depth == 0
            && let [group] = self.groups.as_slice()
        {
            self.level(height, group.width());
        }
    }

    /// Notes where a shaping begins.
    pub(super) fn tell_before(&mut self, visit: &Visit) {
        if visit.before != visit.after {
            self.begins = true;
            self.tell(visit.height_before);
            self.begins = false;
        }
    }

    fn level(&mut self, height: Length, drawn: Length) {
        let around = self.setting == Setting::Round;
        let width = if around { drawn * exact(2, 1) } else { drawn };
        // A step may begin at one level and end at another.
        let step = if self.begins { Span::at(self.step.start) } else { self.step };
        self.out.levels.push(Level { step, height, width, around, parted: false });
    }

    pub(super) fn edges(&self, place: ShapePlace) -> Edges {
        let inner = self.groups.first().and_then(|group| group.inner);
        let neck = inner.or(self.armhole.map(Edge::other));
        match place {
            _ if self.setting == Setting::Round => Edges::Both,
            ShapePlace::Start => Edges::One(Edge::Right),
            ShapePlace::End => Edges::One(Edge::Left),
            ShapePlace::NeckEdge => Edges::One(neck.unwrap_or(Edge::Left)),
            ShapePlace::ArmholeEdge => Edges::One(neck.map_or(Edge::Right, Edge::other)),
            ShapePlace::EachEnd
            | ShapePlace::EachSideOfMarkers
            | ShapePlace::AtMarkers
            | ShapePlace::Anywhere => Edges::Both,
        }
    }

    /// The edges over the rows of a step: each shaping takes its share of the
    /// change at its own rows. A shaping without a schedule goes evenly.
    fn slope(&mut self, visit: &Visit, shapings: &[(Edges, Option<&Schedule>)]) {
        let change = |width: Option<Length>, old: Length| width.map(|width| width - old);
        let Some(group) = self.group(visit) else { return };
        let Some(total) = change(self.width(visit, &visit.after), group.width()) else { return };
        let parts: Vec<(Edges, Option<&Schedule>, Length)> =
            shapings.iter().map(|(edges, schedule)| (*edges, *schedule, total)).collect();
        self.slopes(visit, group, &parts);
    }

    pub(super) fn slopes(
        &mut self,
        visit: &Visit,
        group: Group,
        parts: &[(Edges, Option<&Schedule>, Length)],
    ) {
        let rows = visit.rows_after.saturating_sub(visit.rows_before);
        let mut breaks: Vec<u32> = vec![0, rows];
        for (_, schedule, _) in parts {
            breaks.extend(schedule.iter().flat_map(|schedule| corners(schedule)).map(|(r, _)| r));
        }
        breaks.retain(|row| *row <= rows);
        breaks.sort_unstable();
        breaks.dedup();
        let at = |row: u32| {
            parts.iter().fold(group, |group, (edges, schedule, by)| {
                let done = match schedule {
                    Some(schedule) => share(schedule, row),
                    None if rows == 0 => exact(1, 1),
                    None => exact(i64::from(row), i64::from(rows)),
                };
                edges.widen(group, *by * done)
            })
        };
        let height = |row: u32| {
            let whole = visit.height_after - visit.height_before;
            visit.height_before + whole * exact(i64::from(row), i64::from(rows.max(1)))
        };
        for pair in breaks.windows(2) {
            if let [from, to] = *pair {
                self.slab(height(from), height(to), at(from), at(to), visit);
            }
        }
        self.set(at(rows));
        // What rows there are may not hold all of a schedule.
        self.on_the_needle(visit);
    }

    /// Stitches bound off at the start of one row after the other. A piece worked as in a mirror
    /// comes to its own side of the work by a plain row first, so that it takes a row more than
    /// `own`.
    /// Stitches bound off in so many of its own rows, each so many rows after the last.
    fn bind_off(&mut self, visit: &Visit, own: Option<u32>, apart: u32) {
        let Some(group) = self.group(visit) else { return };
        let all = visit.rows_after.saturating_sub(visit.rows_before).max(1);
        let rows = own.map_or(all, |own| own.saturating_mul(apart).clamp(1, all));
        let row_height = (visit.height_after - visit.height_before) * exact(1, i64::from(all));
        let begin = visit.height_before + row_height * exact(i64::from(all - rows), 1);
        self.slab(visit.height_before, begin, group, group, visit);
        self.tell(begin);
        let Some(width) = self.width(visit, &visit.after) else { return };
        let by = (width - group.width()) * exact(1, i64::from(rows.div_ceil(apart)));
        let outer = group.inner.map(Edge::other);
        let turned = |edge: Edge| if (all - rows) % 2 == 1 { edge.other() } else { edge };
        let first = side_before(visit).map(|side| turned(self.begins(side)));
        let mut edge = first.or(outer).unwrap_or(Edge::Right);
        let mut now = group;
        for row in 0..rows {
            now = match visit.setting {
                _ if !row.is_multiple_of(apart) => now,
                Setting::Flat => now.wider_at(edge, by),
                Setting::Round => now.with_width(now.width() + by),
            };
            let bottom = begin + row_height * exact(i64::from(row), 1);
            self.slab(bottom, bottom + row_height, now, now, visit);
            if group.inner.is_none() {
                self.armhole = Some(edge);
            }
            edge = edge.other();
        }
        self.set(now);
        self.on_the_needle(visit);
    }

    /// Whether only a few plain rows, and what takes the stitches off, are still to come: short
    /// rows before them slope an edge that ends there.
    fn ends_soon(&self) -> bool {
        let few = |visit: &&Visit| visit.rows_after - visit.rows_before <= 2;
        let fewer = |visit: &&Visit| match (visit.before.known(), visit.after.known()) {
            (Some(before), Some(after)) => after <= before,
            _ => false,
        };
        self.visits.get(self.next..).unwrap_or(&[]).iter().all(|v| few(v) && fewer(v))
    }

    /// Short rows that each leave so many stitches more: a flight of steps. The rows after them
    /// begin at the height of the edge.
    fn turns(&mut self, visit: &Visit, (stitches, rows): (u32, u32), apart: u32) {
        let gauge = visit.gauge.and_then(|g| self.model.gauges.get(g.0)?.gauge);
        let height = gauge.and_then(|gauge| gauge.rows).map(|rows| rows.length(exact(1, 1)));
        let width =
            visit.gauge.and_then(|gauge| self.width_in(gauge, visit.setting, i64::from(stitches)));
        let (Some(group), Some(height), Some(width)) = (self.group(visit), height, width) else {
            return;
        };
        let outer = group.inner.map(Edge::other);
        let first = side_before(visit).map(|side| self.begins(side).other());
        let mut edge = first.or(outer).unwrap_or(Edge::Left);
        let mut now = group;
        let mut bottom = visit.height_before;
        for _ in 0..rows {
            now = now.wider_at(edge, -width);
            let top = bottom + height * exact(i64::from(apart), 1);
            if now.left >= now.right {
                break;
            }
            self.slab(bottom, top, now, now, visit);
            bottom = top;
            if apart == 1 {
                edge = edge.other();
            }
        }
    }

    /// Where a row of a side begins, as drawn: what is worked as in a mirror is turned at its end.
    fn begins(&self, side: Side) -> Edge {
        let edge = Edge::begins(side);
        if self.mirrored { edge.other() } else { edge }
    }

    // ---- Rows that part the work ---------------------------------------------------

    fn row(&mut self, items: &[Item], visit: &Visit) {
        let Some(group) = self.group(visit) else { return };
        let parted = match visit.setting {
            Setting::Flat => visit.before.known().and_then(|n| self.parted(items, n, visit, group)),
            Setting::Round => None,
        };
        match parted {
            Some(parts) if parts.len() > 1 => {
                self.tell(visit.height_before);
                self.slab(visit.height_before, visit.height_after, group, group, visit);
                self.groups.splice(0..1, parts);
            }
            parted => {
                self.out.short_rows |= items
                    .iter()
                    .any(|item| matches!(item.kind, ItemKind::Turn | ItemKind::WrapTurn));
                // Stitches leave the needle at the end of their row.
                let parts = items.iter().any(|item| {
                    matches!(
                        item.kind,
                        ItemKind::Hold { .. } | ItemKind::HoldRest { .. } | ItemKind::BindOff(_)
                    )
                });
                match parted.as_deref() {
                    // What is bound off at an edge leaves the rest where it is.
                    Some([rest]) => self.set(Group { inner: group.inner, ..*rest }),
                    _ => self.on_the_needle(visit),
                }
                let after = self.groups.first().copied().unwrap_or(group);
                let below = if parts { group } else { after };
                self.slab(visit.height_before, visit.height_after, below, below, visit);
            }
        }
    }

    /// The groups a row leaves, the one worked last first.
    fn parted(&self, items: &[Item], has: i64, visit: &Visit, group: Group) -> Option<Vec<Group>> {
        let gauge = visit.gauge?;
        let size = self.trace.size;
        let value = |counts: &Counts| counts.given.get(size).map(|n| i64::from(*n));
        let mut runs: Vec<(bool, i64)> = Vec::new();
        let mut used = 0;
        for item in items {
            let (stays, n) = match &item.kind {
                ItemKind::Stitch { count: Some(count), .. } | ItemKind::Pattern(count) => {
                    (true, value(count)?)
                }
                ItemKind::BindOff(Some(count)) => (false, value(count)?),
                ItemKind::Run { until: RowEnd::End, .. } => (true, has - used),
                _ => return None,
            };
            used += n;
            match runs.last_mut() {
                Some((same, all)) if *same == stays => *all += n,
                _ => runs.push((stays, n)),
            }
        }
        if used != has || !runs.iter().any(|(stays, _)| !stays) {
            return None;
        }
        let from = side_before(visit).map_or(Edge::Right, |side| self.begins(side));
        let mut groups = Vec::new();
        let mut at = if from == Edge::Right { group.right } else { group.left };
        for (stays, n) in runs {
            let width = self.width_in(gauge, Setting::Flat, n)?;
            let (left, right) = match from {
                Edge::Right => (at - width, at),
                Edge::Left => (at, at + width),
            };
            at = if from == Edge::Right { left } else { right };
            if stays {
                let beyond = (left + right) * exact(1, 2) > group.middle();
                let inner = Some(if beyond { Edge::Left } else { Edge::Right });
                groups.push(Group { left, right, inner });
            }
        }
        groups.reverse();
        Some(groups)
    }
}

/// Rows and shapings done at the end of each rate, from the beginning.
fn corners(schedule: &Schedule) -> impl Iterator<Item = (u32, u32)> + '_ {
    schedule.rates.iter().scan((0_u32, 0_u32), |(rows, done), rate| {
        *rows = rows.saturating_add(rate.every.0.saturating_mul(rate.times));
        *done = done.saturating_add(rate.times);
        Some((*rows, *done))
    })
}

/// What share of its shapings a schedule has done by a row, as if each rate
/// went evenly.
fn share(schedule: &Schedule, row: u32) -> Exact {
    let all = schedule.shapings();
    let (mut from, mut before) = (0, 0);
    for (rows, done) in corners(schedule) {
        if row <= rows && rows > from {
            let part = exact(i64::from(row - from), i64::from(rows - from));
            let now = exact(i64::from(before), 1) + exact(i64::from(done - before), 1) * part;
            return now / exact(i64::from(all.max(1)), 1);
        }
        (from, before) = (rows, done);
    }
    exact(1, 1)
}
