//! The planning ledger: what each number of the walk becomes.

use super::aims::Plateau;
use super::rows::least_interval;
use super::{FEW_ROWS, Planner, SettledRows, fixed, measure_of};
use crate::measure::round::{Multiple, Toward, to_multiple};
use crate::measure::{Density, Exact, Given, Length, Linear, Unknown, exact};
use crate::model::{GaugeId, PieceDef};
use crate::source::Span;
use crate::syntax::tree::{
    Action, BindOff, Counts, Extent, Item, ItemKind, Lengths, Mark, Schedule, Setting, Step,
};
use crate::work::ledger::{Because, Halt, Ledger, Need, Planned, Run, Trouble, Use, Why};
use crate::work::trace::Visit;

/// More stitches than these are an edge and no gap.
const FEW_STITCHES: i64 = 4;

impl Ledger for Planner<'_, '_> {
    fn number(&mut self, counts: &Counts, purpose: Use, step: &Step) -> Result<Linear, Halt> {
        if let Some(&unknown) = self.setup.unknowns.get(&counts.span) {
            return Ok(Linear::unknown(unknown));
        }
        let literal = match self.literal(counts) {
            Err(Halt::Skip) => return Err(Halt::Skip),
            other => other.ok(),
        };
        if purpose == Use::BindOffRows
            && let Some(old) = literal
        {
            return Ok(self.bind_off_rows(counts, step, old));
        }
        let own = step.marks_at(counts.span);
        let structure = matches!(purpose, Use::Structure | Use::BindOffRows);
        let stays = structure
            || fixed(step)
            || own.iter().any(|m| m.value == Mark::Fixed)
            // A crown that closes to a few stitches closes to as few at any gauge.
            || (purpose == Use::WedgesTo && literal.is_some_and(|n| n <= 24))
            || (purpose == Use::CastOnMore && literal == Some(1));
        if stays && let Some(n) = literal {
            return Ok(Linear::number(n));
        }
        if structure {
            // `?` where the walk needs a number at once.
            self.setup.adrift.push(counts.span);
            return Err(Halt::Lost);
        }
        let low = match purpose {
            Use::CastOn if self.closes_a_gap(step, literal) => literal.unwrap_or(1),
            Use::CastOn | Use::EvenTo | Use::ShapeTo | Use::WedgesTo => 1,
            // What was worked is worked: "bind off 0" is no instruction.
            _ => i64::from(literal.is_some_and(|n| n > 0)),
        };
        let unknown = self.unknown(low, 1_000_000, literal);
        self.setup.unknowns.insert(counts.span, unknown);
        let value = Linear::unknown(unknown);
        let in_row = own.iter().filter(|_| matches!(step.action, Action::Row { .. }));
        for mark in step.marks.iter().chain(in_row) {
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
                let spaced = self.gauge.zip(literal).and_then(|(gauge, n)| {
                    Some((gauge, self.spaced(gauge, n, self.beside(step, counts)?)?))
                });
                let target = spaced.or_else(|| {
                    let gauge = self.gauge?;
                    let step = self.slope_step(counts, gauge);
                    let target = step.or_else(|| self.target(gauge, literal, measure.as_ref()));
                    Some((gauge, target?))
                });
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
                        // What the rest of a row leaves: the stitches beside a neck.
                        None if purpose == Use::Live && works_all(step) => {
                            self.open.push(counts.span);
                        }
                        None => self.setup.adrift.push(counts.span),
                    },
                }
                if purpose == Use::Live {
                    self.as_taken_up(counts, &value);
                    self.live.push((counts.span, unknown, counts.given.clone()));
                    let (piece, place, given) = (self.piece, counts.span, counts.given.clone());
                    self.made.push(super::Edge {
                        piece,
                        place,
                        given,
                        count: value.clone(),
                        measure: None,
                    });
                }
                if purpose != Use::CastOnMore && !matches!(step.action, Action::ShortRows { .. }) {
                    self.as_turned(&value, literal, counts.span);
                }
                if purpose == Use::BindOff {
                    self.edge(counts, &value, measure.as_ref());
                }
            }
            Use::CastOn if matches!(step.action, Action::PickUp { .. }) => {
                self.picked_up(counts, &value);
            }
            _ => {}
        }
        Ok(value)
    }

    fn length(&mut self, lengths: &Lengths, step: &Step) -> Result<Length, Halt> {
        // No width and no count tells how long it is.
        if lengths.given == Given::Unknown {
            self.setup.adrift.push(lengths.span);
            return Err(Halt::Lost);
        }
        // A list that is too short is told before anything is planned.
        let own = *lengths.given.get(self.from).ok_or(Halt::Skip)?;
        let fitted = self.fitted_length(step).unwrap_or(own);
        let asked = self.changed_length(lengths, (own, fitted), step).unwrap_or(fitted);
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
        let settled = SettledRows {
            gauge: run.gauge,
            old,
            exact: exact_rows,
            chosen: rows,
            block: run.block,
            keeps_parity: parity,
        };
        self.setup.rows.insert(counts.span, settled);
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
        // Of a draft whose counts are open, what its author wrote of a shaping stays.
        if let (None, None, Some(planned)) = (old_shapings, &schedule.until, &literal)
            && planned.shapings.known().is_some()
        {
            return Ok(planned.clone());
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
        self.sewn(step, &shapings, old_shapings);
        // A piece worked as another is shaped over the same rows.
        if let Some((_, rows)) = self.setup.schedules.get(&schedule.span) {
            return Ok(Planned { shapings, rows: *rows });
        }
        let curve = self.is_curve(step);
        if curve {
            self.setup.curves.insert(schedule.span);
        }
        let rows = old_rows.map(|rows| {
            let ratio = self.row_ratio(gauge);
            let flat = self.old_visit(step).is_some_and(|v| v.setting == Setting::Flat);
            let multiple = if flat { Multiple::new(2, rows % 2) } else { Multiple::ANY };
            // Bind-offs take as many rows at any gauge: what they take less of the height of a
            // curve is worked over it.
            let before = if curve { self.rows_behind(step, ratio) } else { exact(0, 1) };
            let exact_rows = exact(i64::from(rows), 1) * ratio + before;
            let scaled = to_multiple(exact_rows, multiple, Toward::Nearest).max(0);
            let wanted = self.guess(&shapings).max(0);
            let least = wanted.saturating_mul(least_interval(schedule, flat));
            // A curve that would end a stitch and two rows too high is shaped on every row first.
            let every = least_interval(schedule, flat);
            let crowded = curve && least > scaled + i64::from(FEW_ROWS) + every;
            let least = if crowded { wanted } else { least };
            // One rate throughout is easier to knit: keep it where the length allows.
            let same = old_shapings == Some(wanted) && ratio == exact(1, 1);
            let shape = (curve.then_some(exact_rows), wedges);
            let single =
                if same { None } else { self.single_rate(schedule, wanted, scaled, flat, shape) };
            let rows = single.unwrap_or(scaled);
            let fewer = self.room.fewer.get(&schedule.span).copied().unwrap_or(0);
            let rows = match self.room.slopes.get(&schedule.span) {
                Some(&slope) => i64::from(slope).max(wanted),
                None => (rows - i64::from(fewer)).max(least),
            };
            let may = exact(i64::from(FEW_ROWS) + every, 1);
            if rows <= least && exact(rows, 1) - exact_rows > may {
                self.crowd(step, schedule, gauge, (wanted, rows, exact_rows));
            }
            let whole = |n: i64| u32::try_from(n).unwrap_or(0);
            self.setup.slack.insert(schedule.span, whole((rows - least).max(0)));
            whole(rows)
        });
        let rows = rows.or_else(|| self.drafted(schedule, &shapings, step));
        self.raglan(schedule, step, old_rows.zip(rows));
        if let Some((old, chosen)) = old_rows.zip(rows) {
            let settled = SettledRows {
                gauge,
                old: i64::from(old),
                exact: exact(i64::from(old), 1) * self.row_ratio(gauge),
                chosen,
                block: 1,
                keeps_parity: false,
            };
            self.setup.spread.insert(schedule.span, settled);
        }
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
            self.edge(said, has, None);
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

    fn short_row_repeats(
        &mut self,
        counts: &Counts,
        has: &Linear,
        run: Run,
        step: &Step,
    ) -> Result<Linear, Halt> {
        let old = self.literal(counts)?;
        if fixed(step) {
            return Ok(Linear::number(old));
        }
        let times = match self.setup.unknowns.get(&counts.span) {
            Some(&unknown) => Linear::unknown(unknown),
            None => {
                let unknown = self.unknown(0, 1_000_000, Some(old));
                self.setup.unknowns.insert(counts.span, unknown);
                Linear::unknown(unknown)
            }
        };
        self.short_rows(counts, (&times, old), has, run, step);
        Ok(times)
    }

    fn guess(&mut self, amount: &Linear) -> i64 {
        let value = |u: Unknown| self.hints.get(u.0).or(self.setup.likely.get(u.0)).copied();
        let guess = amount.value(|u| value(u).unwrap_or(0));
        if amount.known().is_none() {
            self.setup.guesses.push((amount.clone(), guess));
        }
        guess
    }

    fn visited(&mut self, visit: &Visit, step: &Step) {
        let old = self.old_visit(step);
        *self.seen.entry(step.span).or_insert(0) += 1;
        self.mirror();
        self.bound_off(visit, old, step);
        self.halved(visit, old, step);
        self.note_rows(visit, old, step);
        self.shoulder(visit, old, step);
        self.turned(visit, old, step);
        self.piece = visit.piece;
        self.on_an_edge =
            matches!(step.action, Action::BindOff { amount: BindOff::StartOfNext { .. } });
        self.gauge = visit.gauge;
        if let Action::TakeUp(names) = &step.action {
            self.taken_up = self.put_aside(names);
        }
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
                | Action::TurnHeel { .. }
                | Action::PickUp { .. }
                | Action::Repeat { .. }
                | Action::RepeatAt { .. }
        ) || (matches!(step.action, Action::Wedges { .. })
            && visit.after.known().is_none());
        let lies = step.marks.iter().find_map(|m| match &m.value {
            Mark::Lies(lies) => Some(lies.clone()),
            _ => None,
        });
        let is_more =
            matches!(step.action, Action::CastOn { .. }) && visit.before.known() != Some(0);
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
                && !(old.is_none() && rises_by_known(visit))
                && visit.after.known() != Some(0),
            measure,
            longer: self.edge_is_longer(visit, step).unwrap_or(exact(0, 1)),
            lies,
            even: matches!(step.action, Action::Even { .. }),
            zones: visit.gauge.map(|g| (g, Length::zero())).into_iter().collect(),
        });
    }

    fn wrong(&mut self, place: Span, trouble: Trouble) -> Halt {
        self.setup.wrong.push((place, trouble));
        Halt::Lost
    }

    fn tell(&mut self, _: Span, _: Trouble) {}
}

impl Planner<'_, '_> {
    /// The stitches that are worked beside a number each time it is repeated in a row: the 2
    /// of `[yo, k2tog, work {12} in pattern] 5 times`. `None` where it is not repeated, or not
    /// all of what is beside it stays as it is.
    fn beside(&self, step: &Step, counts: &Counts) -> Option<i64> {
        let Action::Row { items, .. } = &step.action else { return None };
        let group = items.iter().find_map(|item| match &item.kind {
            ItemKind::Group { items, .. } if item.span.contains(counts.span) => Some(items),
            _ => None,
        })?;
        let number = |count: &Counts| match count.given.get(self.from) {
            _ if count.span == counts.span => Some(0),
            Some(n) if !count.live => Some(i64::from(*n)),
            _ => None,
        };
        let takes = |item: &Item| match &item.kind {
            ItemKind::Stitch { name, count } => {
                let times = count.as_ref().map_or(Some(1), number)?;
                Some(self.model.stitch(&name.value)?.0 * times)
            }
            ItemKind::Pattern(count) => number(count),
            _ => None,
        };
        group.iter().map(takes).sum()
    }

    /// Whether a few stitches are picked up beside those on the needle: where a thumb meets the
    /// hand as many close the hole of thick stitches as of thin ones (common practice).
    fn closes_a_gap(&self, step: &Step, picked_up: Option<i64>) -> bool {
        let piece = |piece: &PieceDef<'_>| piece.steps.iter().any(|s| s.span.contains(step.span));
        let here = self.model.pieces.iter().position(piece);
        let held = self
            .plateaus
            .last()
            .is_some_and(|before| Some(before.piece) == here && before.count.known() != Some(0));
        let few = picked_up.is_some_and(|n| n <= FEW_STITCHES);
        matches!(step.action, Action::PickUp { .. }) && held && few
    }

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
}

/// Whether a row works every stitch there is: it does not turn before the end.
fn works_all(step: &Step) -> bool {
    let turns = |item: &Item| matches!(item.kind, ItemKind::Turn | ItemKind::WrapTurn);
    matches!(&step.action, Action::Row { items, .. } if !items.iter().any(turns))
}

/// Whether a step changes the count by so many stitches, whatever it was.
fn rises_by_known(visit: &Visit) -> bool {
    visit.before.known() != Some(0) && (&visit.after - &visit.before).known().is_some()
}

/// The number (or step) that sets the count after it.
fn set_by(step: &Step) -> Span {
    use crate::syntax::tree::{Amount, PickUp};
    match &step.action {
        Action::CastOn { count, .. } => count.span,
        Action::Even { amount: Amount::To(counts) | Amount::By(counts), .. } => counts.span,
        Action::Shape { schedule, .. }
        | Action::Wedges { schedule, .. }
        | Action::RepeatAt { schedule, .. } => {
            schedule.until.as_ref().map_or(schedule.span, |until| until.span)
        }
        Action::Repeat { extent: Extent::UntilCount(until), .. } => until.span,
        Action::PickUp { amount: PickUp::Count(counts), .. } | Action::TurnHeel { to: counts } => {
            counts.span
        }
        _ => step.span,
    }
}
