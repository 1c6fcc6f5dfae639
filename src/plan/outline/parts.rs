//! Draws what is worked in parts, in a mirror, or at the same time.

use super::drawing::Drawing;
use super::group::{Edge, Edges, Group};
use crate::measure::{Length, exact};
use crate::plan::facts::worked_schedule;
use crate::plan::taper::Schedule;
use crate::syntax::tree::{Action, Step};

impl<'d> Drawing<'_, 'd> {
    // ---- Mirrors -----------------------------------------------------------------

    /// The middle of the work, which begins about nothing.
    pub(super) fn middle(&self) -> Length {
        self.groups.first().map_or(Length::zero(), Group::middle)
    }

    /// Turns what was drawn since a slab, and what is on the needle, about a line.
    pub(super) fn mirror(&mut self, first: usize, middle: Length) {
        let axis = middle * exact(2, 1);
        for slab in self.out.slabs.iter_mut().skip(first) {
            *slab = slab.mirrored(axis);
        }
        for group in &mut self.groups {
            *group = group.mirrored(axis);
        }
        self.armhole = self.armhole.map(Edge::other);
    }

    // ---- Parts -------------------------------------------------------------------

    pub(super) fn part(&mut self, step: &'d Step, name: &str, each: bool) {
        let times = if each { self.groups.len().max(1) } else { 1 };
        let mut done: Vec<Group> = Vec::new();
        for _ in 0..times {
            let begin = self.groups.first().copied();
            let first = self.out.slabs.len();
            let waiting = self.groups.len().saturating_sub(1);
            self.depth += 1;
            if self.depth < 8 {
                step.steps.iter().for_each(|inner| self.step(inner));
            }
            self.depth -= 1;
            let drawn = self.out.slabs.get(first..).unwrap_or(&[]).to_vec();
            if let Some(begin) = begin {
                self.parts.push((name.to_lowercase(), step.span, drawn, begin));
            }
            if self.groups.len() > waiting {
                done.push(self.groups.remove(0));
            }
        }
        if each {
            done.append(&mut self.groups);
            self.groups = done;
        }
        self.take(step);
    }

    /// A part drawn again as in a mirror.
    pub(super) fn reverse(&mut self, step: &'d Step, of: Option<&str>) {
        let of = of.map(str::to_lowercase);
        let found =
            self.parts.iter().rev().find(|(name, ..)| of.as_ref().is_none_or(|of| of == name));
        if let (Some((_, _, slabs, begin)), Some(group)) = (found.cloned(), self.groups.first()) {
            let axis = begin.middle() + group.middle();
            self.out.slabs.extend(slabs.into_iter().map(|slab| slab.mirrored(axis)));
        }
        self.drop_group();
        // The visits of the part's own steps come before that of the reversal.
        while let Some(visit) = self.visits.get(self.next) {
            self.next += 1;
            if visit.step == step.span {
                break;
            }
        }
    }

    /// Shapings that run at the same time.
    pub(super) fn together(&mut self, step: &'d Step) {
        let mut shapings: Vec<(Edges, Schedule, i64)> = Vec::new();
        for inner in &step.steps {
            let Some(visit) = self.take(inner).cloned() else { continue };
            if let Action::Shape { place, schedule, .. } = &inner.action
                && let (Some(before), Some(after)) = (visit.before.known(), visit.after.known())
            {
                let schedule = worked_schedule(schedule, &visit, self.trace.size, visit.next_side);
                shapings.push((self.edges(*place), schedule, after - before));
            }
        }
        self.step = step.span;
        let Some(visit) = self.take(step).cloned() else { return };
        let Some(group) = self.group(&visit) else { return };
        let parts: Vec<(Edges, Option<&Schedule>, Length)> = shapings
            .iter()
            .filter_map(|(edges, schedule, by)| {
                let by = self.width_in(visit.gauge?, visit.setting, *by)?;
                Some((*edges, Some(schedule), by))
            })
            .collect();
        self.tell_before(&visit);
        self.slopes(&visit, group, &parts);
        self.tell(visit.height_after);
    }
}
