//! What the counts aim at: plateaus, edges, and how bands lie.

use super::super::set_in::measures_armhole;
use super::super::system::{Aim, Weighted};
use super::{
    BandJoin, Edge, Intent, Live, Planner, Reason, Setup, Shaped, ShoulderStep, Sloping, Start,
    Turns, tolerance,
};
use crate::measure::{Exact, Given, Length, Linear, SizeId, exact};
use crate::model::GaugeId;
use crate::source::{Span, Spanned};
use crate::syntax::front::LengthChange;
use crate::syntax::tree::{
    Action, BindOff, Change, Counts, EdgeRows, Expr, Extent, ItemKind, Lies, PickUp, Schedule,
    ShapePlace, Step,
};
use crate::work::ledger::{Because, Need, Run, Why};
use crate::work::trace::Visit;
use std::collections::BTreeMap;

/// A stretch of work over which the count stays.
#[derive(Clone, Debug)]
pub(super) struct Plateau {
    pub(super) piece: usize,
    pub(super) count: Linear,
    pub(super) old: Option<i64>,
    pub(super) place: Span,
    /// Whether the step that set it lets it follow its width.
    pub(super) follows: bool,
    pub(super) measure: Option<Expr>,
    /// So many stitches more, where the edge they are picked up along is longer now.
    pub(super) longer: Exact,
    pub(super) lies: Option<Lies>,
    /// Set by an even change: bands meet bodies there.
    pub(super) even: bool,
    /// Height worked in each gauge, by the old pattern.
    pub(super) zones: Vec<(GaugeId, Length)>,
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

impl Planner<'_, '_> {
    /// Notes an edge, and ties it to one of another piece with the same numbers:
    /// shoulders and armholes that are sewn together stay alike. One number for
    /// all sizes says too little for that.
    pub(super) fn edge(&mut self, counts: &Counts, count: &Linear, measure: Option<&Expr>) {
        // Of numbers still to be worked out, those that measure the same are alike.
        let drafted = measure.filter(|_| counts.given == Given::Unknown);
        if !differ(&counts.given) && drafted.is_none() {
            return;
        }
        let same = |edge: &&Edge| {
            edge.piece != self.piece
                && edge.given == counts.given
                && match (&edge.measure, drafted) {
                    (Some(one), Some(other)) => one.is_same(other),
                    (_, drafted) => drafted.is_none(),
                }
        };
        let twin = self.edges.iter().find(same).map(|twin| (twin.count.clone(), twin.place));
        if let Some(twin) = twin {
            self.alike(twin, (count, counts.span));
        }
        let (place, given) = (counts.span, counts.given.clone());
        let (count, measure) = (count.clone(), drafted.cloned());
        self.edges.push(Edge { piece: self.piece, place, given, count, measure });
    }

    /// Ties stitches picked up to those of another piece that were cast on for
    /// them: as many, in every size.
    pub(super) fn picked_up(&mut self, counts: &Counts, count: &Linear) {
        let twin = self.made.iter().find(|e| e.given == counts.given && e.piece != self.piece);
        let twin = twin.map(|twin| (twin.count.clone(), twin.place));
        if let Some(twin) = twin.filter(|_| differ(&counts.given)) {
            self.alike(twin, (count, counts.span));
        }
        // The two sides of a heel: one piece, picked up twice.
        let own = |edge: &&Edge| edge.piece == self.piece && edge.given == counts.given;
        let twin = self.picked.iter().rev().find(own).map(|e| (e.count.clone(), e.place));
        if let Some(twin) = twin.filter(|_| counts.given != Given::Unknown) {
            self.alike(twin, (count, counts.span));
        }
        let (piece, place, given) = (self.piece, counts.span, counts.given.clone());
        self.picked.push(Edge { piece, place, given, count: count.clone(), measure: None });
    }

    /// Where stitches of these names were put aside in a row: the places of their numbers.
    pub(super) fn put_aside(&self, names: &[Spanned<String>]) -> Vec<Span> {
        let mut places = Vec::new();
        self.model.each_step(&mut |_, step| {
            let Action::Row { items, .. } = &step.action else { return };
            places.extend(items.iter().filter_map(|item| {
                match &item.kind {
                    ItemKind::Hold { count, name } => names
                        .iter()
                        .any(|taken| taken.value.eq_ignore_ascii_case(&name.value))
                        .then_some(count.span),
                    _ => None,
                }
            }));
        });
        places
    }

    /// Ties a number of a row to that of the stitches the piece has taken up, where it was the
    /// same: a gusset is as wide in the sleeve as in the body.
    pub(super) fn as_taken_up(&mut self, counts: &Counts, count: &Linear) {
        let same = |e: &&Edge| e.given == counts.given && self.taken_up.contains(&e.place);
        let twin = self.made.iter().filter(|e| e.piece != self.piece).find(same);
        let twin = twin.map(|twin| (twin.count.clone(), twin.place));
        if let Some(twin) = twin.filter(|_| differ(&counts.given)) {
            self.alike(twin, (count, counts.span));
        }
    }

    /// How many stitches more are picked up along an edge whose length the targets change:
    /// `along the armhole`, of an armhole that is 2 cm deeper.
    pub(super) fn edge_is_longer(&self, visit: &Visit, step: &Step) -> Option<Exact> {
        let Action::PickUp { amount: PickUp::Count(counts), along: Some(along) } = &step.action
        else {
            return None;
        };
        let name = along.value.to_lowercase();
        let entry = self.goal.lengths.iter().find(|(named, _)| *named == name)?;
        let own = *self.farthest.get(&Start::Named(name))?;
        let now = match entry.1.value.get(SizeId(self.size))? {
            LengthChange::By(by) => own + *by,
            LengthChange::To(to) => *to,
        };
        let gauge = visit.gauge?;
        let stitches = exact(self.literal(counts).ok()?, 1);
        let width = self.old_gauge(gauge)?.stitches.length(stitches);
        own.is_positive().then_some(())?;
        Some(self.new_gauge(gauge)?.stitches.count(width) * (now / own - exact(1, 1)))
    }

    /// Ties decreases after the same bind-off in two pieces of a seam: armholes
    /// that are decreased as often stay so.
    pub(super) fn sewn(&mut self, step: &Step, times: &Linear, old: Option<i64>) {
        let Action::Shape { change: Change::Decrease, place, schedule, .. } = &step.action else {
            return;
        };
        let here = self.edges.iter().rev().find(|edge| edge.piece == self.piece);
        let (Some(after), Some(old)) = (here.map(|edge| edge.given.clone()), old) else { return };
        if !matches!(place, ShapePlace::EachEnd | ShapePlace::ArmholeEdge) {
            return;
        }
        let twin = self.shaped.iter().find(|other| {
            other.old == old && other.after == after && self.sewn_to(other.piece, self.piece)
        });
        if let Some(twin) = twin.map(|twin| (twin.times.clone(), twin.place)) {
            self.alike(twin, (times, schedule.span));
        }
        let (piece, place, times) = (self.piece, schedule.span, times.clone());
        self.shaped.push(Shaped { piece, after, old, times, place });
    }

    /// Notes an edge decreased on both sides after a bind-off, with its rows before and now.
    pub(super) fn raglan(&mut self, schedule: &Schedule, step: &Step, rows: Option<(u32, u32)>) {
        let slopes = matches!(
            &step.action,
            Action::Shape { change: Change::Decrease, place: ShapePlace::EachEnd, .. }
        );
        if let Some((old, rows)) = rows.filter(|_| slopes && self.on_an_edge) {
            let (piece, place) = (self.piece, schedule.span);
            self.setup.slopes.push(Sloping { piece, place, old, rows });
        }
    }

    /// Notes the steps of a shoulder, and at its last keeps them as equal as they can be: those
    /// that were, to a stitch, on the edge of the first.
    pub(super) fn shoulder(&mut self, visit: &Visit, old: Option<&Visit>, step: &Step) {
        let alone = match &step.action {
            Action::BindOff { amount: BindOff::StartOfNext { which, .. } } => {
                *which != EdgeRows::Next
            }
            _ => false,
        };
        let alone = alone || visit.rows_after == visit.rows_before + 1;
        let one_edge = visit.side_before().filter(|_| alone);
        match &step.action {
            Action::BindOff { amount: BindOff::StartOfNext { count, .. } } => {
                let unknown = self.setup.unknowns.get(&count.span).copied();
                let old = self.literal(count).ok();
                if let Some((unknown, old)) = unknown.zip(old) {
                    let (place, count) = (count.span, Linear::unknown(unknown));
                    self.shoulder.push(ShoulderStep { place, count, old, side: one_edge });
                }
            }
            Action::BindOff { amount: BindOff::All(_) } => {
                let last = old.and_then(|old| old.before.known()).map(|old| ShoulderStep {
                    place: step.span,
                    count: visit.before.clone(),
                    old,
                    side: one_edge,
                });
                let mut steps = std::mem::take(&mut self.shoulder);
                steps.extend(last.filter(|_| visit.before.known().is_none()));
                self.even_shoulder(&steps);
            }
            Action::Row { .. } | Action::Say | Action::Work { extent: Extent::Rows(_), .. } => {}
            _ => self.shoulder.clear(),
        }
    }

    fn even_shoulder(&mut self, steps: &[ShoulderStep]) {
        let Some(first) = steps.first() else { return };
        let edge = steps.iter().find_map(|step| step.side);
        let on_edge = |step: &&ShoulderStep| step.side.is_none() || step.side == edge;
        let alike = |step: &&ShoulderStep| step.old.abs_diff(first.old) <= 1;
        let group: Vec<&ShoulderStep> = steps.iter().filter(on_edge).filter(alike).collect();
        let (least, most) = (group.iter().map(|s| s.old).min(), group.iter().map(|s| s.old).max());
        if most.zip(least).is_none_or(|(most, least)| most - least > 1) {
            return;
        }
        for (index, one) in group.iter().enumerate() {
            for other in group.iter().skip(index + 1).filter(|other| other.place != one.place) {
                for (one, other) in [(one, other), (other, one)] {
                    let room = &(&Linear::number(1) + &one.count) - &other.count;
                    let because = Because::ShoulderSteps {
                        one: one.count.clone(),
                        other: other.count.clone(),
                    };
                    let place = one.place.to(other.place);
                    self.require(Need::NotNegative(room), Why { place, because });
                }
            }
        }
    }

    /// Whether a shaping is of an armhole or a neck, which curve, and not of a raglan or a sleeve.
    pub(super) fn is_curve(&self, step: &Step) -> bool {
        let Action::Shape { change, place, .. } = &step.action else { return false };
        let armhole = || {
            let piece = self.model.pieces.get(self.piece);
            piece.is_some_and(|piece| piece.steps.iter().any(|step| measures_armhole(step)))
        };
        match place {
            ShapePlace::NeckEdge | ShapePlace::ArmholeEdge => true,
            ShapePlace::EachEnd => *change == Change::Decrease && self.on_an_edge && armhole(),
            _ => false,
        }
    }

    fn sewn_to(&self, one: usize, other: usize) -> bool {
        let name = |piece: usize| self.model.pieces.get(piece).map(|p| p.name.value.as_str());
        let (Some(one), Some(other)) = (name(one), name(other)) else { return false };
        let seams = &self.model.document.front.seams;
        let has = |pair: &[Spanned<String>], name: &str| {
            pair.iter().any(|n| n.value.eq_ignore_ascii_case(name))
        };
        one != other && seams.iter().any(|s| has(&s.value, one) && has(&s.value, other))
    }

    fn alike(&mut self, (other, at): (Linear, Span), (count, place): (&Linear, Span)) {
        if other != *count {
            let because = Because::Mirror { one: other.clone(), other: count.clone() };
            self.require(Need::Zero(&other - count), Why { place: at.to(place), because });
        }
    }

    /// Closes the walk: gives every plateau its aim.
    pub(crate) fn finish(mut self) -> Setup {
        self.aim_slopes();
        let plateaus = std::mem::take(&mut self.plateaus);
        self.measured_alike(&plateaus);
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
                // Without a width of its own a band follows its body.
                let lies = lies.or(b.measure.is_none().then_some(Lies::AsWritten));
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

    /// Counts of a piece that measure the same, and were the same, stay the same:
    /// the foot of a sock has the stitches of its leg.
    fn measured_alike(&mut self, plateaus: &[Plateau]) {
        for (index, one) in plateaus.iter().enumerate() {
            let Some(measure) = one.measure.as_ref().filter(|_| one.follows) else { continue };
            let same = |other: &&Plateau| {
                other.piece == one.piece
                    && other.follows
                    && other.old.is_some()
                    && other.old == one.old
                    && other.gauge() == one.gauge()
                    && other.measure.as_ref().is_some_and(|m| m.is_same(measure))
            };
            if let Some(other) = plateaus.iter().skip(index + 1).find(same) {
                self.alike((one.count.clone(), one.place), (&other.count, other.place));
            }
        }
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
        // The pattern's main gauge is no band; of two others the narrower strip is.
        let main = self.model.default_gauge();
        let first_is_band = match (main == Some(a), main == Some(b)) {
            (false, true) => true,
            (true, false) => false,
            _ => first.height() <= second.height(),
        };
        Some((first_is_band, usize::from(first_is_band), second.lies.clone()))
    }

    /// The exact count a width comes to, and why.
    pub(super) fn target(
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

    /// The exact count between things a row spaces evenly, with `beside` stitches of each at any
    /// gauge, so that they lie as far apart as they did.
    pub(super) fn spaced(&self, gauge: GaugeId, old: i64, beside: i64) -> Option<(Exact, Reason)> {
        let (new, own) = (self.new_gauge(gauge)?, self.old_gauge(gauge)?);
        let apart = own.stitches.length(exact(old + beside, 1));
        let count = new.stitches.count(apart) - exact(beside, 1);
        let least = exact(1, 1);
        Some((count.max(least), Reason::Keeps(own.stitches.length(exact(old, 1)))))
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
                let target = target + plateau.longer;
                let reason = match self.new_gauge(gauge) {
                    Some(new) if plateau.longer != exact(0, 1) => {
                        Reason::Measures(new.stitches.length(target))
                    }
                    _ => reason,
                };
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
        if let (None, Some(old)) = (plateau.count.known(), plateau.old) {
            let off = &plateau.count - &Linear::number(old);
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
            Lies::Snug(part) => (one - *part) * across,
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
        let reason = Reason::Band { lies: lies.clone(), meets: body.place };
        // Nobody asked how it lies: a band gives where its body does not.
        let slack = if *lies == Lies::AsWritten { exact(3, 2) } else { one };
        let aim = Aim { of, target: exact(0, 1), tolerance: tolerance(likely) * slack };
        self.aim_at(
            Intent {
                of: band.count.clone(),
                place: band.place,
                piece: band.piece,
                gauge: b,
                target: likely,
                old: band.old,
                reason,
                tolerance: aim.tolerance,
                follows: Some((body.count.clone(), share)),
            },
            aim,
        );
    }

    /// Lets short rows that take no stitch reach as far along the row as they did: what they
    /// turn before keeps its share of the stitches there are. The first of them is worded
    /// otherwise, since no turn is before it, and so is the last; the same numbers stay alike.
    pub(super) fn short_rows(
        &mut self,
        counts: &Counts,
        (times, old): (&Linear, i64),
        has: &Linear,
        run: Run,
        step: &Step,
    ) {
        let each = i64::from(run.block.max(1));
        let others = 1 + i64::from(run.already) / each;
        // One stitch is left at every turn.
        let of = (times + &Linear::number(others)).times(each);
        let because = Because::Takes { takes: of.clone(), has: has.clone() };
        let room = &(has - &of) - &Linear::number(1);
        self.require(Need::NotNegative(room), Why { place: counts.span, because });
        let piece = self.piece;
        let twin = self.short_rows.iter().find(|e| e.piece == piece && e.given == counts.given);
        if let Some(twin) = twin.map(|twin| (twin.count.clone(), twin.place)) {
            self.alike(twin, (times, counts.span));
        }
        let (place, given) = (counts.span, counts.given.clone());
        let count = times.clone();
        self.short_rows.push(Edge { piece, place, given, count, measure: None });
        let had = self.old_visit(step).and_then(|visit| visit.before.known());
        let Some(had) = had.filter(|n| *n > 0) else { return };
        let share = exact((old + others) * each, had);
        if !self.setup.turns.iter().any(|turns| turns.place == counts.span) {
            let (times, has) = (times.clone(), has.clone());
            let place = counts.span;
            self.setup.turns.push(Turns { place, times, old, has, had, each, before: others });
        }
        self.setup.system.aim(Aim {
            of: &Weighted::from(&of) - &Weighted::from(has).times(share),
            target: exact(0, 1),
            // The stitches do not give way to where the rows turn.
            tolerance: exact(2 * each, 1),
        });
    }

    #[allow(clippy::too_many_arguments)]
    pub(super) fn intend(
        &mut self,
        piece: usize,
        of: &Linear,
        place: Span,
        gauge: GaugeId,
        target: Exact,
        old: Option<i64>,
        reason: Reason,
    ) {
        // What the fit asks for comes before what merely keeps its width.
        let strict = if matches!(reason, Reason::Measures(_)) { exact(1, 10) } else { exact(1, 1) };
        let tolerance = tolerance(target) * strict;
        let aim = Aim { of: Weighted::from(of), target, tolerance };
        let of = of.clone();
        self.aim_at(
            Intent { of, place, piece, gauge, target, old, reason, tolerance, follows: None },
            aim,
        );
    }

    /// A count aims once, however often its step is worked.
    fn aim_at(&mut self, intent: Intent, aim: Aim) {
        let again = self.setup.intents.iter().any(|i| i.place == intent.place);
        if !again && intent.of.known().is_none() {
            self.setup.system.aim(aim);
            self.setup.intents.push(intent);
        }
    }

    /// Live numbers of one row that mirror each other stay equal, and so do those
    /// that are the same in every size: two underarms, front and back.
    pub(super) fn mirror(&mut self) {
        let live = std::mem::take(&mut self.live);
        let mut open = std::mem::take(&mut self.open);
        for (index, one) in live.iter().enumerate() {
            for (later, other) in live.iter().enumerate().skip(index + 1) {
                let mirrored = index + later + 1 == live.len();
                let both_open = open.contains(&one.0) && open.contains(&other.0);
                let known = one.2 != Given::Unknown || both_open;
                if one.2 == other.2 && (mirrored && known || differ(&one.2)) {
                    self.same(one, other);
                    if both_open {
                        open.retain(|place| *place != other.0);
                    }
                    // The next of the same ties to this one.
                    break;
                }
            }
        }
        // Of one number the row tells what is left for it, of two it does not.
        if open.len() > 1 {
            self.setup.adrift.extend(open);
        }
    }

    fn same(&mut self, one: &Live, other: &Live) {
        let (a, b) = (Linear::unknown(one.1), Linear::unknown(other.1));
        let because = Because::Mirror { one: a.clone(), other: b.clone() };
        self.require(Need::Zero(&a - &b), Why { place: one.0.to(other.0), because });
    }
}

/// Whether a number is given by size and is not the same in all of them.
pub(super) fn differ(given: &Given<u32>) -> bool {
    let mut values = given.values();
    let first = values.next();
    given.listed().is_some() && values.any(|v| Some(v) != first)
}
