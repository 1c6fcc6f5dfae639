//! The walk over the steps of a pattern, for one size.
//!
//! It keeps the needle, the side, the row number and the length, and asks the
//! [`Ledger`] what each number is. See [`walk`].

use super::fabric::{self, FabricCount};
use super::ledger::{Because, Halt, Ledger, Need, Planned, Run, Trouble, Use, Why};
use super::needle::{Edge, Needle, reversed};
use super::row::{RowDone, work_row};
use super::trace::{Trace, Visit};
use crate::measure::round::{Multiple, Toward, to_multiple};
use crate::measure::{Exact, Length, Linear, SizeId};
use crate::model::{GaugeId, Model, PieceDef};
use crate::source::Span;
use crate::syntax::tree::{
    Action, Amount, BindOff, CastOnPlace, Change, CloseWith, Counts, Every, Extent, FabricKind,
    FabricName, From, Item, Mark, PickUp, RowLabel, RowRange, Schedule, Setting, ShapePlace, Side,
    Step,
};
use std::collections::BTreeMap;

/// More rows than any piece; keeps hostile input from taking forever.
const MOST_ROWS: u32 = 200_000;

/// Works every step of every piece in one size.
pub(crate) fn walk<L: Ledger>(model: &Model<'_>, size: SizeId, ledger: &mut L) -> Trace {
    let mut walk = Walk { model, ledger, size, held: BTreeMap::new(), visits: Vec::new(), rows: 0 };
    for (index, piece) in model.pieces.iter().enumerate() {
        walk.piece(index, piece);
    }
    Trace { size, visits: walk.visits, rows: walk.rows }
}

struct Walk<'a, 'd, L> {
    model: &'a Model<'d>,
    ledger: &'a mut L,
    size: SizeId,
    /// Stitches on hold by name (lower case), one needle for each copy.
    held: BTreeMap<String, Vec<Needle>>,
    visits: Vec<Visit>,
    rows: u64,
}

/// Where a piece stands between two steps.
struct State<'d> {
    piece: usize,
    copies: u32,
    needle: Needle,
    at: Place,
    gauge: Option<GaugeId>,
    setting: Setting,
    /// Where measurements may begin, by name (lower case).
    starts: BTreeMap<String, Place>,
    named: BTreeMap<u32, &'d [Item]>,
    and_all: Option<(u32, &'d [Item])>,
    last_number: u32,
    recent: Vec<Option<&'d [Item]>>,
    parts: Vec<(String, &'d Step)>,
    /// Where the parts that are worked side by side begin.
    fork: Option<(Place, Place)>,
    /// The count is not known since something was wrong.
    lost: bool,
    stitches: Linear,
    depth: u32,
}

/// How far a piece has come.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Place {
    rows: u32,
    height: Length,
    /// The side of the next row, where known.
    side: Option<Side>,
}

impl Place {
    const fn flipped(side: Side) -> Side {
        match side {
            Side::Right => Side::Wrong,
            Side::Wrong => Side::Right,
        }
    }
}

impl<'d, L: Ledger> Walk<'_, 'd, L> {
    fn piece(&mut self, index: usize, piece: &PieceDef<'d>) {
        let begin = Place { rows: 0, height: Length::zero(), side: Some(Side::Right) };
        let mut state = State {
            piece: index,
            copies: piece.copies,
            needle: Needle::default(),
            at: begin,
            gauge: self.model.default_gauge(),
            setting: piece.setting,
            starts: BTreeMap::new(),
            named: BTreeMap::new(),
            and_all: None,
            last_number: 0,
            recent: Vec::new(),
            parts: Vec::new(),
            fork: None,
            lost: false,
            stitches: Linear::default(),
            depth: 0,
        };
        for step in &piece.steps {
            self.step(&mut state, step);
        }
        if !state.lost && !state.needle.is_empty() {
            let left = state.needle.total();
            if let Some(n) = left.known() {
                self.ledger.tell(piece.name.span, Trouble::StitchesLeft(n));
            }
        }
        self.rows += u64::from(state.at.rows);
    }

    fn step(&mut self, state: &mut State<'d>, step: &'d Step) {
        let name = self.model.sizes.get(self.size.0);
        if !step.only.is_empty() && !step.only.iter().any(|o| Some(&o.value) == name) {
            return;
        }
        for mark in &step.marks {
            if let Mark::Starts(name) = &mark.value {
                state.starts.insert(name.to_lowercase(), state.at);
            }
        }
        if state.lost && !self.recover(state, step) {
            return;
        }
        let (before, at) = (state.needle.in_work(), state.at);
        state.stitches = Linear::default();
        let is_part = matches!(step.action, Action::Part { .. } | Action::Reverse { .. });
        if !is_part && !matches!(step.action, Action::Say) {
            state.fork = None;
        }
        let outcome = self.act(state, step);
        let shapings = match outcome {
            Ok(shapings) => shapings,
            Err(Halt::Skip) => return,
            Err(Halt::Lost) => {
                state.lost = true;
                self.recover(state, step);
                return;
            }
        };
        if let Some(stated) = &step.stated
            && !matches!(step.action, Action::PickUp { amount: PickUp::Ratio { .. }, .. })
        {
            let has = state.needle.in_work();
            if self.ledger.stated(stated, &has, step) == Err(Halt::Lost) {
                state.lost = true;
                self.recover(state, step);
                return;
            }
        }
        let visit = Visit {
            piece: state.piece,
            step: step.span,
            before,
            after: state.needle.in_work(),
            rows_before: at.rows,
            rows_after: state.at.rows,
            height_before: at.height,
            height_after: state.at.height,
            shapings,
            gauge: state.gauge,
            setting: state.setting,
            next_side: state.at.side,
            stitches: std::mem::take(&mut state.stitches),
        };
        self.visit(visit, step);
    }

    fn visit(&mut self, visit: Visit, step: &Step) {
        self.ledger.visited(&visit, step);
        self.visits.push(visit);
    }

    /// After an error, goes on from the next count that the pattern states.
    fn recover(&mut self, state: &mut State<'d>, step: &'d Step) -> bool {
        let counts = match (&step.stated, &step.action) {
            (Some(stated), _) => stated,
            (None, Action::Even { amount: Amount::To(counts), .. }) => counts,
            (None, Action::Wedges { schedule: Schedule { until: Some(counts), .. }, .. }) => counts,
            _ => return false,
        };
        let Ok(count) = self.ledger.number(counts, Use::Structure, step) else { return false };
        state.needle.set_in_work(count);
        state.lost = false;
        // The step itself is not worked: its outcome is taken from what it states.
        state.at.side = None;
        false
    }

    /// Does what a step says; gives the number of shaping rows where it is a shaping.
    fn act(&mut self, state: &mut State<'d>, step: &'d Step) -> Result<Option<Linear>, Halt> {
        match &step.action {
            Action::CastOn { count, gauge, place } => {
                self.cast_on(state, step, count, gauge.as_ref().map(|g| g.value.as_str()), place)?;
            }
            Action::JoinRound => {
                self.something(state, step)?;
                state.setting = Setting::Round;
            }
            Action::WorkFlat => {
                if state.setting == Setting::Round {
                    state.needle.open_at_gap();
                    // The round just worked was on the right side.
                    state.at.side = None;
                }
                state.setting = Setting::Flat;
            }
            Action::ChangeTo(name) => self.change_gauge(state, &name.value),
            Action::Work { fabric, extent } => self.work(state, step, fabric.as_ref(), extent)?,
            Action::Row { label, items } => self.row_step(state, step, label.as_ref(), items)?,
            Action::Repeat { rows, extent } => return self.repeat(state, step, *rows, extent),
            Action::Even { change, amount, over } => {
                self.even(state, step, *change, amount, over.as_ref())?;
            }
            Action::Shape { change, each, place, schedule } => {
                return self.shape(state, step, *change, each, *place, schedule).map(Some);
            }
            Action::Wedges { change, wedges, schedule } => {
                return self.wedges(state, step, *change, wedges, schedule).map(Some);
            }
            Action::BindOff { amount } => self.bind_off(state, step, amount)?,
            Action::Hold { name } => {
                self.hold(state, step, name.as_ref().map(|n| n.value.as_str()))?
            }
            Action::TakeUp(names) => {
                for name in names {
                    let needle = self.take_up(&name.value, name.span)?;
                    state.needle.append(needle, Edge::Marker(None));
                }
                // No marker was placed where pieces meet.
                let total = state.needle.in_work();
                state.needle.set_in_work(total);
            }
            Action::PickUp { amount, .. } => {
                let n = match (amount, &step.stated) {
                    (PickUp::Count(counts), _) => self.ledger.number(counts, Use::CastOn, step)?,
                    (PickUp::Ratio { .. }, Some(stated)) => {
                        self.ledger.number(stated, Use::CastOn, step)?
                    }
                    (PickUp::Ratio { .. }, None) => {
                        return Err(self.ledger.wrong(step.span, Trouble::RatioAlone));
                    }
                };
                state.needle.add_at_end(&n);
                state.stitches = n;
            }
            Action::Part { name, each } => self.part(state, step, &name.value, *each)?,
            Action::Reverse { name, of } => {
                self.reverse(state, step, &name.value, of.as_ref().map(|o| o.value.as_str()))?;
            }
            Action::Together => return self.together(state, step).map(Some),
            Action::AsFor { piece, to } => {
                self.as_for(
                    state,
                    &piece.value,
                    to.as_ref().map(|t| t.value.as_str()),
                    piece.span,
                )?;
            }
            Action::Close(with) => {
                self.something(state, step)?;
                match with {
                    CloseWith::DrawThrough => drop(state.needle.split_off_group()),
                    CloseWith::Graft => state.needle = Needle::default(),
                }
            }
            Action::Say => {}
        }
        Ok(None)
    }

    fn something(&mut self, state: &State<'_>, step: &Step) -> Result<(), Halt> {
        if state.needle.is_empty() {
            return Err(self.ledger.wrong(step.span, Trouble::NothingOnNeedle));
        }
        Ok(())
    }

    fn change_gauge(&mut self, state: &mut State<'_>, name: &str) {
        if let Some(gauge) = self.model.gauge_named(name) {
            state.gauge = Some(gauge);
            state.starts.insert(name.to_lowercase(), state.at);
        }
    }

    fn cast_on(
        &mut self,
        state: &mut State<'_>,
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
                state.stitches = n;
            }
            CastOnPlace::Here => {
                let n = self.ledger.number(count, Use::CastOnMore, step)?;
                state.needle.add_at_end(&n);
                state.stitches = n;
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
            CastOnPlace::OverGap => {
                let n = self.ledger.number(count, Use::CastOnMore, step)?;
                if !state.needle.bridge(&n) {
                    return Err(self.ledger.wrong(step.span, Trouble::NoGap));
                }
                state.stitches = n;
            }
        }
        Ok(())
    }

    /// A plain row over the group in work: turns the work where it is flat.
    fn pass_row(&mut self, state: &mut State<'_>) {
        state.stitches = &state.stitches + &state.needle.in_work();
        if state.setting == Setting::Flat {
            let mut group = state.needle.split_off_group();
            group.ahead = reversed(group.ahead);
            let rest = std::mem::take(&mut state.needle);
            state.needle = group;
            state.needle.append_group(rest);
        }
        self.advance(state, 1);
        state.recent.push(None);
    }

    /// Counts rows worked without touching the needle.
    fn advance(&mut self, state: &mut State<'_>, rows: u32) {
        state.at.rows = state.at.rows.saturating_add(rows);
        if let Some(density) = state.gauge.and_then(|g| self.ledger.row_density(g)) {
            state.at.height =
                state.at.height + density.length(Exact::from_integer(i128::from(rows)));
        }
        if state.setting == Setting::Flat && rows % 2 == 1 {
            state.at.side = state.at.side.map(Place::flipped);
        }
    }

    fn known(&mut self, counts: &Counts, step: &Step) -> Result<u32, Halt> {
        let n = self.ledger.number(counts, Use::Structure, step)?.known().ok_or(Halt::Lost)?;
        u32::try_from(n).map_err(|_| Halt::Lost)
    }

    /// How many rows an extent comes to; `None` where no row gauge tells.
    fn rows_for(
        &mut self,
        state: &State<'_>,
        step: &Step,
        extent: &Extent,
        block: u32,
        already: u32,
    ) -> Result<Option<u32>, Halt> {
        let flat = state.setting == Setting::Flat;
        let run = Run { gauge: state.gauge, block, already, keep_parity: flat };
        let (length, since) = match extent {
            Extent::Once => return Ok(Some(block)),
            Extent::Rows(counts) => {
                return Ok(Some(self.ledger.rows(
                    counts,
                    Run { block: 1, already: 0, ..run },
                    step,
                )?));
            }
            Extent::Times { count, .. } => {
                let times = self.ledger.rows(count, run, step)?;
                return Ok(Some(times.saturating_mul(block)));
            }
            Extent::Length(lengths) => (self.ledger.length(lengths, step)?, None),
            Extent::Until { length, from } => {
                let start = match &from.value {
                    From::CastOn => None,
                    From::Named(name) => {
                        Some(self.start_of(state, &name.to_lowercase(), from.span)?)
                    }
                };
                let start = start.map_or(Length::zero(), |place| place.height);
                (self.ledger.length(length, step)?, Some(start))
            }
        };
        let Some(density) = state.gauge.and_then(|g| self.ledger.row_density(g)) else {
            return Ok(None);
        };
        let to_go = match since {
            Some(start) => length - (state.at.height - start),
            None => length - density.length(Exact::from_integer(i128::from(already))),
        };
        let exact = density.count(to_go);
        // Rows already worked count, even where they are more than was asked.
        if exact < Exact::new(-1, 2) && already == 0 {
            return Err(self.ledger.wrong(step.span, Trouble::LengthPassed { by: -to_go }));
        }
        let multiple = match (&step.ending, state.at.side) {
            (Some(side), Some(next)) if flat => Multiple::new(2, u32::from(side.value == next)),
            _ if block > 1 => Multiple::new(block, 0),
            _ => Multiple::ANY,
        };
        let rows = to_multiple(exact, multiple, Toward::Nearest);
        // No fewer than none, and still on the side that is asked for.
        let rows = if rows < 0 { i64::from(multiple.plus()) } else { rows };
        Ok(Some(u32::try_from(rows).unwrap_or(MOST_ROWS)))
    }

    fn start_of(&mut self, state: &State<'_>, name: &str, place: Span) -> Result<Place, Halt> {
        match state.starts.get(name) {
            Some(start) => Ok(*start),
            None => Err(self.ledger.wrong(place, Trouble::NotBegun(name.to_owned()))),
        }
    }

    /// The side after a run, checked against `ending with a WS row`.
    fn ending(&mut self, state: &mut State<'_>, step: &Step) {
        let Some(said) = &step.ending else { return };
        if state.setting == Setting::Round {
            return;
        }
        if let Some(next) = state.at.side
            && Place::flipped(next) != said.value
            && state.at.rows > 0
        {
            let said_right = said.value == Side::Right;
            let _ = self.ledger.wrong(said.span, Trouble::WrongSide { said_right });
        }
        state.at.side = Some(Place::flipped(said.value));
    }

    fn work(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        fabric: Option<&FabricName>,
        extent: &Extent,
    ) -> Result<(), Halt> {
        self.something(state, step)?;
        let n = state.needle.in_work();
        let rows = self.rows_for(state, step, extent, 1, 0)?;
        if let Some(fabric) = fabric {
            self.fabric(state, step, fabric, &n, rows)?;
        }
        let rows = rows.unwrap_or(0).min(MOST_ROWS);
        state.stitches = n.times(i64::from(rows));
        if rows % 2 == 1 && state.setting == Setting::Flat {
            state.needle.ahead = reversed(std::mem::take(&mut state.needle.ahead));
        }
        state.recent.extend(std::iter::repeat_n(None, rows.min(64) as usize));
        if rows == 0 {
            state.at.side = None;
        }
        self.advance(state, rows);
        self.ending(state, step);
        Ok(())
    }

    /// What a fabric asks of the count, and what it makes of it.
    fn fabric(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        fabric: &FabricName,
        n: &Linear,
        rows: Option<u32>,
    ) -> Result<(), Halt> {
        let need = |ledger: &mut L, name: String, multiple: Multiple| {
            let because = Because::Fabric { name, multiple, has: n.clone() };
            ledger.need(Need::Multiple(n.clone(), multiple), &Why { place: fabric.span, because })
        };
        match &fabric.kind {
            FabricKind::Rib(a, b) => {
                let of = a.saturating_add(*b).max(1);
                let multiple = match state.setting {
                    Setting::Round => Multiple::new(of, 0),
                    // Flat, a rib may end as it began (plus a) or not (plus 0): the author's count tells.
                    Setting::Flat => {
                        self.ledger.choose(n, &[Multiple::new(of, *a), Multiple::new(of, 0)], step)
                    }
                };
                need(self.ledger, format!("k{a} p{b} rib"), multiple)
            }
            FabricKind::Named(name) => {
                let Some(def) = self.model.fabric_named(name) else { return Ok(()) };
                match fabric::counts(self.model, def) {
                    FabricCount::Every { multiple, least, .. } => {
                        need(self.ledger, name.clone(), multiple)?;
                        let short = n - &Linear::number(least);
                        let because =
                            Because::Takes { takes: Linear::number(least), has: n.clone() };
                        self.ledger
                            .need(Need::NotNegative(short), &Why { place: fabric.span, because })?;
                    }
                    FabricCount::Only(count) => {
                        let because =
                            Because::Stated { said: Linear::number(count), has: n.clone() };
                        let off = n - &Linear::number(count);
                        self.ledger.need(Need::Zero(off), &Why { place: fabric.span, because })?;
                    }
                    // Found wrong where it is defined.
                    FabricCount::Never { .. } => return Err(Halt::Lost),
                }
                let changes = fabric::row_counts(self.model, def).windows(2).any(|w| w[0] != w[1]);
                if let (true, Some(rows)) = (changes, rows) {
                    // The count differs from row to row: work the rows after the last whole repeat.
                    let whole = u32::try_from(def.rows.len()).unwrap_or(1).max(1);
                    let mut needle = state.needle.clone();
                    for row in def.rows.iter().take((rows % whole) as usize) {
                        work_row(
                            self.model,
                            self.ledger,
                            step,
                            row.items,
                            &mut needle,
                            Setting::Round,
                        )?;
                    }
                    state.needle = needle;
                }
                Ok(())
            }
            FabricKind::Stockinette
            | FabricKind::ReverseStockinette
            | FabricKind::Garter
            | FabricKind::Seed => Ok(()),
        }
    }

    fn row_step(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        label: Option<&'d RowLabel>,
        items: &'d [Item],
    ) -> Result<(), Halt> {
        self.something(state, step)?;
        let mut times = 1;
        if let Some(label) = label {
            times = label.next.max(1);
            let mut first = None;
            let mut numbers = 0;
            for range in &label.numbers {
                if let RowRange::Numbered { first: a, last: b } = *range {
                    let b = b.min(a.saturating_add(10_000));
                    for number in a..=b {
                        state.named.insert(number, items);
                    }
                    first.get_or_insert(a);
                    numbers += b - a + 1;
                }
            }
            if let Some(first) = first {
                if label.and_all.is_some() {
                    state.and_all = Some((first, items));
                }
                if first <= state.last_number {
                    // A new set of rows under the old numbers.
                    state.last_number = first - 1;
                    state.and_all = label.and_all.map(|_| (first, items));
                }
                self.fill_in(state, step, first)?;
                let contiguous = label.numbers.len() == 1;
                times = if contiguous { numbers } else { 1 };
                state.last_number = if contiguous { first + numbers - 1 } else { first };
            }
            self.side(state, label);
        }
        for _ in 0..times.min(MOST_ROWS) {
            self.row(state, step, items)?;
        }
        self.ending(state, step);
        Ok(())
    }

    /// Works rows that were defined before their turn (`rows 1 and 3`, `and all WS rows`).
    fn fill_in(&mut self, state: &mut State<'d>, step: &'d Step, next: u32) -> Result<(), Halt> {
        while state.last_number + 1 < next {
            let number = state.last_number + 1;
            let all =
                state.and_all.filter(|(first, _)| number > *first && (number - first) % 2 == 0);
            let items = match (all, state.named.get(&number)) {
                (Some((_, items)), _) => items,
                (None, Some(items)) => items,
                (None, None) => return Ok(()),
            };
            state.named.insert(number, items);
            state.last_number = number;
            self.row(state, step, items)?;
        }
        Ok(())
    }

    fn side(&mut self, state: &mut State<'_>, label: &RowLabel) {
        let Some(said) = &label.side else { return };
        if state.setting == Setting::Round {
            return;
        }
        if state.at.rows > 0 && state.at.side.is_some_and(|side| side != said.value) {
            let said_right = said.value == Side::Right;
            let _ = self.ledger.wrong(said.span, Trouble::WrongSide { said_right });
        }
        state.at.side = Some(said.value);
    }

    fn row(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        items: &'d [Item],
    ) -> Result<(), Halt> {
        let RowDone { turns, held, worked } =
            work_row(self.model, self.ledger, step, items, &mut state.needle, state.setting)?;
        state.stitches = &state.stitches + &worked;
        if state.setting == Setting::Round {
            // A gap opens the round: what lies on both sides of its start is one group now.
            state.needle.open_at_gap();
        }
        for (name, count) in held {
            self.put_aside(&name, Needle::of(count), state.copies);
        }
        // A turn at the very end is the end of the row; turns within it begin rows of their own.
        let ends_in_turn = matches!(
            items.last().map(|i| &i.kind),
            Some(crate::syntax::tree::ItemKind::Turn | crate::syntax::tree::ItemKind::WrapTurn)
        );
        let rows = turns + u32::from(!ends_in_turn);
        if state.setting == Setting::Flat && rows % 2 == 1 {
            state.at.side = state.at.side.map(Place::flipped);
        }
        // Short rows lengthen only a part of the piece; its edge stays as long as it was.
        let side = state.at.side;
        self.advance(state, u32::from(turns == 0));
        state.at.side = side;
        state.recent.push(Some(items));
        Ok(())
    }

    fn repeat(
        &mut self,
        state: &mut State<'d>,
        step: &'d Step,
        rows: RowRange,
        extent: &Extent,
    ) -> Result<Option<Linear>, Halt> {
        self.something(state, step)?;
        let list: Vec<Option<&'d [Item]>> = match rows {
            RowRange::Numbered { first, last } => {
                let mut list = Vec::new();
                if let Some((from, items)) = state.and_all
                    && last > state.last_number
                    && (last - from) % 2 == 0
                    && last == state.last_number + 1
                {
                    state.named.insert(last, items);
                    state.last_number = last;
                    self.row(state, step, items)?;
                }
                for number in first..=last.min(first.saturating_add(10_000)) {
                    match state.named.get(&number) {
                        Some(items) => list.push(Some(*items)),
                        None => {
                            return Err(self.ledger.wrong(step.span, Trouble::NoSuchRow(number)));
                        }
                    }
                }
                list
            }
            RowRange::Last(n) => {
                let n = n as usize;
                match state.recent.len().checked_sub(n) {
                    Some(start) => state.recent.get(start..).unwrap_or(&[]).to_vec(),
                    None => return Err(self.ledger.wrong(step.span, Trouble::NoSuchRow(0))),
                }
            }
        };
        let block = u32::try_from(list.len()).unwrap_or(MOST_ROWS).max(1);
        let just_worked = state.recent.ends_with(&list);
        let already = if just_worked { block } else { 0 };
        // Work the block once on a copy to see what it does to the count.
        let before = state.needle.clone();
        let mut trial = before.clone();
        let counts_rows = list.iter().flatten().all(|items| !has_turn(items));
        for items in &list {
            match items {
                Some(items) => {
                    work_row(self.model, self.ledger, step, items, &mut trial, state.setting)?;
                }
                None if state.setting == Setting::Flat => {
                    trial.ahead = reversed(std::mem::take(&mut trial.ahead));
                }
                None => {}
            }
        }
        let change = (&trial.in_work() - &before.in_work()).known();
        if change == Some(0) && counts_rows {
            let rows =
                self.rows_for(state, step, extent, block, already)?.unwrap_or(0).min(MOST_ROWS);
            let n = state.needle.in_work();
            state.stitches = n.times(i64::from(rows));
            // The rows after the last whole block leave the needle as they do.
            for items in list.iter().take((rows % block) as usize) {
                if let Some(items) = items {
                    work_row(
                        self.model,
                        self.ledger,
                        step,
                        items,
                        &mut state.needle,
                        state.setting,
                    )?;
                } else if state.setting == Setting::Flat {
                    state.needle.ahead = reversed(std::mem::take(&mut state.needle.ahead));
                }
            }
            if rows >= block {
                state.recent.clear();
                state.recent.extend(list.iter().copied());
            }
            self.advance(state, rows);
            self.ending(state, step);
            return Ok(None);
        }
        let times = match extent {
            Extent::Times { count, .. } => {
                let run = Run { gauge: state.gauge, block, already, keep_parity: false };
                self.ledger.shaping_repeats(count, change, run, step)?
            }
            Extent::Once => Linear::number(1),
            _ => {
                let rows = self.rows_for(state, step, extent, block, already)?.unwrap_or(0);
                Linear::number(i64::from(rows / block))
            }
        };
        match times.known() {
            Some(n) => {
                for _ in 0..n.clamp(0, i64::from(MOST_ROWS / block)) {
                    for items in &list {
                        match items {
                            Some(items) => self.row(state, step, items)?,
                            None => self.pass_row(state),
                        }
                    }
                }
            }
            None => {
                // Not chosen yet: each repeat changes each stretch by the same number. Short rows
                // leave some of them on the other needle.
                let per_block = trial.ahead.iter().zip(&before.ahead);
                let per_block = per_block.chain(trial.behind.iter().zip(&before.behind));
                let changes: Vec<Option<i64>> =
                    per_block.map(|(t, b)| (&t.stitches - &b.stitches).known()).collect();
                let stretches = state.needle.ahead.iter_mut().chain(&mut state.needle.behind);
                for (stretch, change) in stretches.zip(changes) {
                    let change = change.ok_or(Halt::Lost)?;
                    stretch.stitches = &stretch.stitches + &times.times(change);
                    let why = Why {
                        place: step.span,
                        because: Because::ShapeTooMuch { left: stretch.stitches.clone() },
                    };
                    self.ledger.need(Need::NotNegative(stretch.stitches.clone()), &why)?;
                }
                let whole = list.iter().flatten().filter(|items| !has_turn(items)).count();
                let whole = i64::try_from(whole).unwrap_or(0);
                let rows = self.ledger.guess(&times).saturating_mul(whole).max(0);
                let rows = u32::try_from(rows).unwrap_or(MOST_ROWS).min(MOST_ROWS);
                self.advance(state, rows);
            }
        }
        self.ending(state, step);
        Ok(Some(times))
    }

    fn even(
        &mut self,
        state: &mut State<'_>,
        step: &Step,
        change: Change,
        amount: &Amount,
        over: Option<&Counts>,
    ) -> Result<(), Halt> {
        self.something(state, step)?;
        let rows = match over {
            Some(counts) => self.known(counts, step)?.max(1),
            None => 1,
        };
        let from = state.needle.in_work();
        let up = change == Change::Increase;
        let to = match amount {
            Amount::To(counts) => self.ledger.number(counts, Use::EvenTo, step)?,
            Amount::By(counts) => {
                let by = self.ledger.number(counts, Use::EvenBy, step)?;
                if up { &from + &by } else { &from - &by }
            }
        };
        let place = match amount {
            Amount::To(counts) | Amount::By(counts) => counts.span,
        };
        if change != Change::Either {
            let risen = if up { &to - &from } else { &from - &to };
            let because = Because::EvenDirection { from: from.clone(), to: to.clone(), up };
            self.ledger.need(Need::NotNegative(risen), &Why { place, because })?;
        }
        let most = 1_i64 << rows.min(16);
        for (few, many) in [(&from, &to), (&to, &from)] {
            let because = Because::EvenTooMuch { from: from.clone(), to: to.clone() };
            let room = &few.times(most) - many;
            self.ledger.need(Need::NotNegative(room), &Why { place, because })?;
        }
        if state.needle.markers() == 0 || from != to {
            state.needle.set_in_work(to.clone());
        }
        state.stitches = to.times(i64::from(rows));
        self.advance(state, rows);
        state.recent.extend(std::iter::repeat_n(None, rows.min(64) as usize));
        Ok(())
    }

    /// How many stitches a shaping row changes, all told.
    fn places(state: &State<'_>, place: ShapePlace) -> i64 {
        match place {
            ShapePlace::EachEnd => 2,
            ShapePlace::Start
            | ShapePlace::End
            | ShapePlace::NeckEdge
            | ShapePlace::ArmholeEdge
            | ShapePlace::Anywhere => 1,
            ShapePlace::AtMarkers => state.needle.markers(),
            ShapePlace::EachSideOfMarkers => 2 * state.needle.markers(),
        }
    }

    /// What a schedule says of itself: shaping rows and rows, where it says how often.
    fn literal(
        &mut self,
        schedule: &Schedule,
        setting: Setting,
        total: Option<&Linear>,
        step: &Step,
    ) -> Result<Option<Planned>, Halt> {
        let mut shapings = Linear::default();
        let mut rows = Some(0_u32);
        let last = schedule.rates.len().saturating_sub(1);
        for (index, rate) in schedule.rates.iter().enumerate() {
            let every = match &rate.every {
                Every::Row | Every::Next => 1,
                Every::Side(_) if setting == Setting::Flat => 2,
                Every::Side(_) => 1,
                Every::Nth(counts) => match self.known(counts, step) {
                    Err(Halt::Skip) => continue,
                    other => other?,
                },
            };
            let times = match (&rate.times, &rate.every) {
                (Some(counts), _) => match self.ledger.number(counts, Use::Structure, step) {
                    Err(Halt::Skip) => continue,
                    other => other?,
                },
                (None, Every::Next) => Linear::number(1),
                // As often as is left.
                (None, _) if index == last => match total {
                    Some(total) => total - &shapings,
                    None => return Ok(None),
                },
                (None, _) => Linear::number(1),
            };
            rows = match (rows, times.known().and_then(|t| u32::try_from(t).ok())) {
                (Some(rows), Some(times)) => Some(rows.saturating_add(times.saturating_mul(every))),
                _ => None,
            };
            shapings = &shapings + &times;
        }
        Ok(Some(Planned { shapings, rows }))
    }

    fn shape(
        &mut self,
        state: &mut State<'_>,
        step: &Step,
        change: Change,
        each: &Counts,
        place: ShapePlace,
        schedule: &Schedule,
    ) -> Result<Linear, Halt> {
        let planned = self.shaping(state, step, change, each, place, schedule)?;
        if let Some(rows) = planned.rows {
            let rows = rows.min(MOST_ROWS);
            let average = &planned.before + &planned.after;
            let halves = average.known().unwrap_or(0).saturating_mul(i64::from(rows));
            state.stitches = Linear::number(halves / 2);
            state.recent.extend(std::iter::repeat_n(None, rows.min(64) as usize));
            self.advance(state, rows);
        } else {
            state.at.side = None;
        }
        self.ending(state, step);
        Ok(planned.shapings)
    }

    /// The counts of a shaping, without its rows.
    fn shaping(
        &mut self,
        state: &mut State<'_>,
        step: &Step,
        change: Change,
        each: &Counts,
        place: ShapePlace,
        schedule: &Schedule,
    ) -> Result<Shaping, Halt> {
        self.something(state, step)?;
        let each = i64::from(self.known(each, step)?);
        let per_row = each.saturating_mul(Self::places(state, place));
        if per_row == 0 && matches!(place, ShapePlace::AtMarkers | ShapePlace::EachSideOfMarkers) {
            return Err(self.ledger.wrong(step.span, Trouble::NoMarker));
        }
        let before = state.needle.in_work();
        let up = change == Change::Increase;
        let (mut total, mut until_count) = (None, None);
        if let Some(until) = &schedule.until {
            let to = self.ledger.number(until, Use::ShapeTo, step)?;
            until_count = Some(to.clone());
            let difference = if up { &to - &before } else { &before - &to };
            let because = Because::ShapeDirection { difference: difference.clone() };
            self.ledger
                .need(Need::NotNegative(difference.clone()), &Why { place: until.span, because })?;
            let because = Because::ShapeUneven { per_row, difference: difference.clone() };
            let why = Why { place: until.span, because };
            total = Some(self.ledger.divide(&difference, per_row.max(1), &why)?);
        }
        let literal = self.literal(schedule, state.setting, total.as_ref(), step)?;
        let planned = self.ledger.schedule(schedule, literal, state.gauge, step)?;
        if let Some(total) = &total {
            let off = &planned.shapings - total;
            let because = Because::Total { said: planned.shapings.clone(), is: total.clone() };
            self.ledger.need(Need::Zero(off), &Why { place: schedule.span, because })?;
        }
        let by = planned.shapings.times(if up { per_row } else { -per_row });
        let after = until_count.unwrap_or_else(|| &before + &by);
        let because = Because::ShapeTooMuch { left: after.clone() };
        self.ledger
            .need(Need::NotNegative(after.clone()), &Why { place: schedule.span, because })?;
        self.spread(state, place, &planned.shapings.times(if up { each } else { -each }), &after);
        Ok(Shaping { shapings: planned.shapings, rows: planned.rows, before, after })
    }

    /// Puts a change of count where it happens, so that markers stay where they are.
    fn spread(&self, state: &mut State<'_>, place: ShapePlace, change: &Linear, after: &Linear) {
        if state.needle.markers() == 0 {
            state.needle.set_in_work(after.clone());
            return;
        }
        let stretches = state.needle.ahead.len();
        let last = stretches.saturating_sub(1);
        for (index, stretch) in state.needle.ahead.iter_mut().enumerate() {
            let sides = match place {
                ShapePlace::EachEnd => i64::from(index == 0) + i64::from(index == last),
                ShapePlace::End => i64::from(index == last),
                // The ends of the needle (and the start of a round) are no markers.
                ShapePlace::EachSideOfMarkers => i64::from(index > 0) + i64::from(index < last),
                ShapePlace::AtMarkers => i64::from(matches!(stretch.then, Edge::Marker(_))),
                _ => i64::from(index == 0),
            };
            stretch.stitches = &stretch.stitches + &change.times(sides);
        }
        let off = after - &state.needle.in_work();
        if let Some(first) = state.needle.ahead.first_mut() {
            first.stitches = &first.stitches + &off;
        }
    }

    fn wedges(
        &mut self,
        state: &mut State<'_>,
        step: &Step,
        change: Change,
        wedges: &Counts,
        schedule: &Schedule,
    ) -> Result<Linear, Halt> {
        self.something(state, step)?;
        let wedges = i64::from(self.known(wedges, step)?).max(1);
        let before = state.needle.in_work();
        let up = change == Change::Increase;
        let mut until_count = None;
        let total = match &schedule.until {
            Some(until) => {
                let to = self.ledger.number(until, Use::WedgesTo, step)?;
                until_count = Some(to.clone());
                let difference = if up { &to - &before } else { &before - &to };
                let because = Because::ShapeDirection { difference: difference.clone() };
                self.ledger.need(
                    Need::NotNegative(difference.clone()),
                    &Why { place: until.span, because },
                )?;
                let because =
                    Because::ShapeUneven { per_row: wedges, difference: difference.clone() };
                Some(self.ledger.divide(
                    &difference,
                    wedges,
                    &Why { place: until.span, because },
                )?)
            }
            None => None,
        };
        let literal = self.literal(schedule, state.setting, total.as_ref(), step)?;
        let planned = self.ledger.schedule(schedule, literal, state.gauge, step)?;
        if let Some(total) = &total {
            let because = Because::Total { said: planned.shapings.clone(), is: total.clone() };
            let off = &planned.shapings - total;
            self.ledger.need(Need::Zero(off), &Why { place: schedule.span, because })?;
        }
        let by = planned.shapings.times(if up { wedges } else { -wedges });
        // The count that is written says it in fewer words than the sum does.
        let after = until_count.unwrap_or_else(|| &before + &by);
        let because = Because::ShapeTooMuch { left: after.clone() };
        self.ledger
            .need(Need::NotNegative(after.clone()), &Why { place: schedule.span, because })?;
        let rows = planned.rows.unwrap_or(0).min(MOST_ROWS);
        let halves = (&before + &after).known().unwrap_or(0).saturating_mul(i64::from(rows));
        state.stitches = Linear::number(halves / 2);
        state.needle.set_in_work(after);
        if planned.rows.is_none() {
            state.at.side = None;
        }
        state.recent.extend(std::iter::repeat_n(None, rows.min(64) as usize));
        self.advance(state, rows);
        self.ending(state, step);
        Ok(planned.shapings)
    }

    fn bind_off(
        &mut self,
        state: &mut State<'_>,
        step: &Step,
        amount: &BindOff,
    ) -> Result<(), Halt> {
        self.something(state, step)?;
        match amount {
            BindOff::All(said) => {
                let has = state.needle.in_work();
                if let Some(said) = said {
                    self.ledger.stated(said, &has, step)?;
                }
                state.stitches = has;
                drop(state.needle.split_off_group());
                self.advance(state, 1);
            }
            BindOff::StartOfNext { count, rows } => {
                state.starts.entry("armhole".to_owned()).or_insert(state.at);
                let n = self.ledger.number(count, Use::BindOff, step)?;
                let rows = self.known(rows, step)?.min(MOST_ROWS);
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
                }
            }
        }
        Ok(())
    }

    fn put_aside(&mut self, name: &str, needle: Needle, copies: u32) {
        let copies = vec![needle; copies.clamp(1, 100) as usize];
        self.held.insert(name.to_lowercase(), copies);
    }

    fn take_up(&mut self, name: &str, place: Span) -> Result<Needle, Halt> {
        let needle = self.held.get_mut(&name.to_lowercase()).and_then(Vec::pop);
        needle.ok_or_else(|| self.ledger.wrong(place, Trouble::NeverHeld(name.to_owned())))
    }

    fn hold(&mut self, state: &mut State<'_>, step: &Step, name: Option<&str>) -> Result<(), Halt> {
        self.something(state, step)?;
        let group = state.needle.split_off_group();
        let piece = self.model.pieces.get(state.piece).map(|p| p.name.value.clone());
        let name = name.map_or(piece.unwrap_or_default(), str::to_owned);
        self.put_aside(&name, group, state.copies);
        Ok(())
    }

    /// Works nested steps over one group of stitches, or over each in turn.
    fn part(
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

    fn reverse(
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

    fn leave_parts(&mut self, state: &mut State<'_>, name: &str, each: bool, left: Vec<Needle>) {
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

    /// Several shapings over the same rows.
    fn together(&mut self, state: &mut State<'d>, step: &'d Step) -> Result<Linear, Halt> {
        self.something(state, step)?;
        let mut rows = 0;
        let mut room = None;
        let mut shapings = Linear::default();
        for inner in &step.steps {
            match &inner.action {
                Action::Shape { change, each, place, schedule } => {
                    let at = state.at;
                    let done = self.shaping(state, inner, *change, each, *place, schedule)?;
                    let own = done.rows.unwrap_or(0).min(MOST_ROWS);
                    rows = rows.max(own);
                    let visit = Visit {
                        piece: state.piece,
                        step: inner.span,
                        before: done.before,
                        after: done.after,
                        rows_before: at.rows,
                        rows_after: at.rows.saturating_add(own),
                        height_before: at.height,
                        height_after: at.height,
                        shapings: Some(done.shapings.clone()),
                        gauge: state.gauge,
                        setting: state.setting,
                        next_side: at.side,
                        stitches: Linear::default(),
                    };
                    self.visit(visit, inner);
                    shapings = &shapings + &done.shapings;
                }
                Action::Work { extent, .. } => {
                    room = self.rows_for(state, inner, extent, 1, 0)?;
                }
                _ => {}
            }
        }
        if let Some(room) = room {
            let because = Because::ShapeRows {
                shapings: Linear::number(i64::from(rows)),
                rows: i64::from(room),
            };
            let spare = Linear::number(i64::from(room) - i64::from(rows));
            self.ledger.need(Need::NotNegative(spare), &Why { place: step.span, because })?;
            rows = rows.max(room);
        }
        let n = state.needle.in_work();
        state.stitches = n.times(i64::from(rows));
        state.recent.extend(std::iter::repeat_n(None, rows.min(64) as usize));
        self.advance(state, rows);
        self.ending(state, step);
        Ok(shapings)
    }

    fn as_for(
        &mut self,
        state: &mut State<'d>,
        piece: &str,
        to: Option<&str>,
        place: Span,
    ) -> Result<(), Halt> {
        let found = self.model.pieces.iter().position(|p| p.name.value.eq_ignore_ascii_case(piece));
        let Some(found) = found.filter(|&i| i < state.piece && state.depth < 8) else {
            return Err(self.ledger.wrong(place, Trouble::NotWorkedBefore(piece.to_owned())));
        };
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
        if state.lost { Err(Halt::Lost) } else { Ok(()) }
    }
}

/// A shaping, counted.
struct Shaping {
    shapings: Linear,
    rows: Option<u32>,
    before: Linear,
    after: Linear,
}

fn has_turn(items: &[Item]) -> bool {
    use crate::syntax::tree::ItemKind;
    items.iter().any(|i| matches!(i.kind, ItemKind::Turn | ItemKind::WrapTurn))
}
