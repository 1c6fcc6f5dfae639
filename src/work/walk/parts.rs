//! Edges and parts: casting on, binding off, holding, taking up, and parts worked apart.

use super::super::ledger::{Because, Halt, Ledger, Need, Trouble, Use, Why};
use super::super::needle::{Edge, Needle};
use super::super::trace::Visit;
use super::{MOST_ROWS, State, Walk};
use crate::measure::Linear;
use crate::source::{Span, Spanned};
use crate::syntax::tree::{
    Action, BindOff, CastOnPlace, Counts, EdgeRows, Mark, Setting, Side, Step,
};

impl<'d, L: Ledger> Walk<'_, 'd, L> {
    pub(super) fn cast_on(
        &mut self,
        state: &mut State<'d>,
        step: &Step,
        count: &Counts,
        gauge: Option<&str>,
        place: &CastOnPlace,
    ) -> Result<(), Halt> {
        if let Some(gauge) = gauge {
            self.change_gauge(state, gauge);
        }
        match place {
            CastOnPlace::Here if state.needle.is_empty() => {
                if let Some(gauge) = state.gauge.and_then(|g| self.model.gauges.get(g.0)) {
                    state.starts.entry(gauge.name.to_lowercase()).or_insert(state.at);
                }
                let n = self.ledger.number(count, Use::CastOn, step)?;
                state.needle = Needle::of(n.clone());
                self.count(state, &n, 0, &[]);
            }
            CastOnPlace::Here => {
                let n = self.ledger.number(count, Use::CastOnMore, step)?;
                state.needle.add_at_end(&n);
                self.count(state, &n, 0, &[]);
            }
            CastOnPlace::EndOfNext(rows) => {
                self.something(state, step)?;
                let n = self.ledger.number(count, Use::CastOnMore, step)?;
                let rows = self.known(rows, step)?;
                for _ in 0..rows.min(MOST_ROWS) {
                    state.needle.add_at_end(&n);
                    self.pass_row(state);
                }
            }
            // The row that begins with them works them too.
            CastOnPlace::StartOfNext(rows) => {
                self.something(state, step)?;
                let n = self.ledger.number(count, Use::CastOnMore, step)?;
                let rows = self.known(rows, step)?;
                for _ in 0..rows.min(MOST_ROWS) {
                    if let Some(first) = state.needle.ahead.first_mut() {
                        first.stitches = &first.stitches + &n;
                    }
                    self.pass_row(state);
                }
            }
            CastOnPlace::OverGap => {
                let n = self.ledger.number(count, Use::CastOnMore, step)?;
                if !state.needle.bridge(&n) {
                    return Err(self.ledger.wrong(step.span, Trouble::NoGap));
                }
                self.count(state, &n, 0, &[]);
            }
        }
        Ok(())
    }

    pub(super) fn bind_off(
        &mut self,
        state: &mut State<'d>,
        step: &Step,
        amount: &BindOff,
    ) -> Result<(), Halt> {
        self.something(state, step)?;
        match amount {
            BindOff::All(said) => {
                let has = state.needle.in_work();
                let one = Linear::number(1);
                let because = Because::Takes { takes: one.clone(), has: has.clone() };
                self.ledger
                    .need(Need::NotNegative(&has - &one), &Why { place: step.span, because })?;
                if let Some(said) = said {
                    self.ledger.stated(said, &has, step)?;
                }
                self.count(state, &has, 0, &[]);
                drop(state.needle.split_off_group());
                self.advance(state, 1);
            }
            BindOff::StartOfNext { count, rows, which } => {
                state.starts.entry("armhole".to_owned()).or_insert(state.at);
                let n = self.ledger.number(count, Use::BindOff, step)?;
                let place = rows.span;
                let rows = self.ledger.number(rows, Use::BindOffRows, step)?.known();
                let rows = rows.and_then(|n| u32::try_from(n).ok()).ok_or(Halt::Lost)?;
                let rows = rows.min(MOST_ROWS);
                if let EdgeRows::EverySecond(Some(said)) = which {
                    self.begins_on(state, *said, place);
                }
                let after = &state.needle.in_work() - &n.times(i64::from(rows));
                let because =
                    Because::Takes { takes: n.times(i64::from(rows)), has: state.needle.in_work() };
                let why = Why { place: count.span, because };
                self.ledger.need(Need::NotNegative(after), &why)?;
                for _ in 0..rows {
                    if let Some(first) = state.needle.ahead.first_mut() {
                        first.stitches = &first.stitches - &n;
                    }
                    self.pass_row(state);
                    if matches!(which, EdgeRows::EverySecond(_)) && !state.needle.is_empty() {
                        self.pass_row(state);
                    }
                }
            }
        }
        Ok(())
    }

    /// Short rows that leave more and more stitches at their ends. All of them stay on the needle,
    /// and the edge of the piece grows by none of the rows.
    pub(super) fn short_rows(
        &mut self,
        state: &mut State<'d>,
        step: &Step,
        (count, rows, which): (&Counts, &Counts, EdgeRows),
    ) -> Result<(), Halt> {
        self.something(state, step)?;
        let n = self.ledger.number(count, Use::BindOff, step)?;
        let place = rows.span;
        let times = self.ledger.number(rows, Use::BindOffRows, step)?.known().ok_or(Halt::Lost)?;
        let times = times.clamp(0, i64::from(MOST_ROWS));
        if let EdgeRows::EverySecond(Some(said)) = which {
            self.begins_on(state, said, place);
        }
        // One stitch at least is still worked in the last of them.
        let has = state.needle.in_work();
        let takes = &n.times(times) + &Linear::number(1);
        let because = Because::Takes { takes: takes.clone(), has: has.clone() };
        let why = Why { place: count.span, because };
        self.ledger.need(Need::NotNegative(&has - &takes), &why)?;
        // At one edge each turn is followed by a row back.
        let each = if which == EdgeRows::Next { 1 } else { 2 };
        let left = times * (times + 1) / 2;
        let worked = &has.times(times * each) - &n.times(left * each);
        let all = u32::try_from(times * each).unwrap_or(MOST_ROWS).min(MOST_ROWS);
        self.count(state, &worked, all, &[]);
        state.plain_rows(all);
        if state.setting == Setting::Flat && all % 2 == 1 {
            state.at.side = state.at.side.map(Side::other);
        }
        Ok(())
    }

    /// Tells where a row that is said to be of one side is of the other. A piece that mirrors
    /// another is worked from the other side throughout.
    fn begins_on(&mut self, state: &State<'_>, said: Side, place: Span) {
        let other = state.at.rows > 0 && state.at.side.is_some_and(|side| side != said);
        if other && state.setting == Setting::Flat && state.mirror_of.is_none() {
            let said_right = said == Side::Right;
            let _ = self.ledger.wrong(place, Trouble::WrongSide { said_right });
        }
    }

    pub(super) fn put_aside(&mut self, name: &str, needle: Needle, copies: u32) {
        let copies = vec![needle; copies.clamp(1, 100) as usize];
        self.held.insert(name.to_lowercase(), copies);
    }

    pub(super) fn take_up(&mut self, name: &str, place: Span) -> Result<Needle, Halt> {
        let needle = self.held.get_mut(&name.to_lowercase()).and_then(Vec::pop);
        needle.ok_or_else(|| self.ledger.wrong(place, Trouble::NeverHeld(name.to_owned())))
    }

    pub(super) fn hold(
        &mut self,
        state: &mut State<'d>,
        step: &Step,
        name: Option<&str>,
    ) -> Result<(), Halt> {
        self.something(state, step)?;
        let group = state.needle.split_off_group();
        let piece = self.model.pieces.get(state.piece).map(|p| p.name.value.clone());
        let name = name.map_or(piece.unwrap_or_default(), str::to_owned);
        self.put_aside(&name, group, state.copies);
        Ok(())
    }

    /// Works nested steps over one group of stitches, or over each in turn.
    pub(super) fn part(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        name: &str,
        each: bool,
    ) -> Result<(), Halt> {
        state.parts.push((name.to_lowercase(), step));
        let groups = if each {
            1 + state.needle.ahead.iter().filter(|s| s.then == Edge::Gap).count()
        } else {
            1
        };
        let mut left = Vec::new();
        for _ in 0..groups {
            self.one_part(state, step, name, step, &mut left)?;
        }
        self.leave_parts(state, name, each, left);
        Ok(())
    }

    pub(super) fn reverse(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        name: &str,
        of: Option<&str>,
    ) -> Result<(), Halt> {
        let found = match of {
            Some(of) => state.parts.iter().rev().find(|(n, _)| *n == of.to_lowercase()),
            None => state.parts.last(),
        };
        let Some((_, model)) = found.cloned() else {
            let of = of.unwrap_or(name).to_owned();
            return Err(self.ledger.wrong(step.span, Trouble::NotWorkedBefore(of)));
        };
        let mut left = Vec::new();
        self.one_part(state, step, name, model, &mut left)?;
        self.leave_parts(state, name, false, left);
        Ok(())
    }

    fn one_part(
        &mut self,
        state: &mut State<'d>,
        step: &Step,
        name: &str,
        steps: &'d Step,
        left: &mut Vec<Needle>,
    ) -> Result<(), Halt> {
        if state.depth > 8 {
            return Err(Halt::Lost);
        }
        let (begin, furthest) = *state.fork.get_or_insert((state.at, state.at));
        state.at = begin;
        if !std::ptr::eq(step, steps) {
            // The other half begins on the other side.
            state.at.side = None;
        }
        let group = match self.held.get_mut(&name.to_lowercase()).and_then(Vec::pop) {
            Some(held) => held,
            None => {
                self.something(state, step)?;
                state.needle.split_off_group()
            }
        };
        let waiting = std::mem::replace(&mut state.needle, group);
        let starts = state.starts.clone();
        state.depth += 1;
        for inner in &steps.steps {
            self.step(state, inner);
        }
        state.depth -= 1;
        state.starts = starts;
        left.push(std::mem::replace(&mut state.needle, waiting));
        let furthest = if state.at.height > furthest.height { state.at } else { furthest };
        state.at = furthest;
        state.fork = Some((begin, furthest));
        Ok(())
    }

    fn leave_parts(&mut self, state: &mut State<'d>, name: &str, each: bool, left: Vec<Needle>) {
        if each {
            let mut together = Needle::default();
            for needle in left {
                together.append_group(needle);
            }
            together.append_group(std::mem::take(&mut state.needle));
            state.needle = together;
        } else {
            for needle in left.into_iter().filter(|n| !n.is_empty()) {
                self.put_aside(name, needle, 1);
            }
        }
    }

    pub(super) fn as_for(
        &mut self,
        state: &mut State<'d>,
        piece: &Spanned<String>,
        to: Option<&str>,
        reversed: bool,
    ) -> Result<(), Halt> {
        let Spanned { value: piece, span: place } = piece;
        let found = self.model.pieces.iter().position(|p| p.name.value.eq_ignore_ascii_case(piece));
        let Some(found) = found.filter(|&i| i < state.piece && state.depth < 8) else {
            return Err(self.ledger.wrong(*place, Trouble::NotWorkedBefore(piece.clone())));
        };
        let mirror_of = std::mem::replace(&mut state.mirror_of, reversed.then_some(found));
        let steps: Vec<&'d Step> =
            self.model.pieces.get(found).map_or(Vec::new(), |p| p.steps.clone());
        state.depth += 1;
        for step in steps {
            let stops = to.is_some_and(|to| {
                step.marks
                    .iter()
                    .any(|m| matches!(&m.value, Mark::Starts(n) if n.eq_ignore_ascii_case(to)))
            });
            if stops {
                break;
            }
            self.step(state, step);
        }
        state.depth -= 1;
        state.mirror_of = mirror_of;
        if state.lost { Err(Halt::Lost) } else { Ok(()) }
    }

    /// In a piece that mirrors another, what happens at the start of a row happens on the other
    /// side of the work: where that is not its turn, one row is worked first.
    pub(super) fn mirror_side(&mut self, state: &mut State<'d>, step: &Step) {
        let Some(piece) = state.mirror_of.filter(|_| state.setting == Setting::Flat) else {
            return;
        };
        let one_edge = match &step.action {
            Action::BindOff {
                amount: BindOff::StartOfNext { which: EdgeRows::EverySecond(_), .. },
            }
            | Action::ShortRows { which: EdgeRows::EverySecond(_), .. } => true,
            Action::BindOff { amount: BindOff::StartOfNext { rows, .. } }
            | Action::CastOn {
                place: CastOnPlace::StartOfNext(rows) | CastOnPlace::EndOfNext(rows),
                ..
            } => rows.given.get(self.size).is_some_and(|rows| rows % 2 == 1),
            _ => false,
        };
        let seen = self.visits.iter().find(|v| v.piece == piece && v.step == step.span);
        let side = seen.and_then(Visit::side_before);
        if one_edge && side.is_some() && side == state.at.side {
            self.pass_row(state);
        }
    }
}
