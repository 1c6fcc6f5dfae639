//! The walk over the steps of a pattern, for one size.
//!
//! It keeps the needle, the side, the row number and the length, and asks the
//! [`Ledger`] what each number is. See [`walk`].

use super::ledger::{Halt, Ledger, Trouble, Use};
use super::needle::{Edge, Needle, reversed};
use super::trace::{Trace, Visit};
use crate::measure::{Exact, Length, Linear, SizeId};
use crate::model::{ColorId, GaugeId, Model, PieceDef};
use crate::source::{Span, Spanned};
use crate::syntax::tree::{
    Action, Amount, CloseWith, Counts, Ending, FabricName, Mark, PickUp, Schedule, Setting, Side,
    Step,
};
use color::{Stripes, Written};
use std::collections::BTreeMap;

mod color;
mod parts;
mod repeats;
mod rows;
mod shaping;

/// More rows than any piece; keeps hostile input from taking forever.
const MOST_ROWS: u32 = 200_000;

/// As many rows as anybody counts back.
const RECENT: u32 = 64;

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
    named: BTreeMap<u32, Written<'d>>,
    /// Rows with a name of their own, and the side they were said to be on.
    by_name: BTreeMap<&'d str, (Written<'d>, Option<Side>)>,
    and_all: Option<(u32, Written<'d>)>,
    last_number: u32,
    recent: Vec<Written<'d>>,
    parts: Vec<(String, &'d Step)>,
    /// Where the parts that are worked side by side begin.
    fork: Option<(Place, Place)>,
    /// The count is not known since something was wrong.
    lost: bool,
    stitches: Linear,
    /// The same by color.
    by_color: Vec<i64>,
    /// The color that the step in work names.
    own: Option<ColorId>,
    stripes: Option<Stripes>,
    depth: u32,
    /// The fabric that `work even` goes on with.
    established: Option<&'d FabricName>,
    /// How many rows had been worked when it began.
    established_at: u32,
    /// How many stitches its last rows left.
    established_count: Linear,
    /// An even change has made it begin anew on another count.
    recounted: bool,
    /// The piece this one is the mirror image of, while it is worked like it.
    mirror_of: Option<usize>,
}

/// How far a piece has come.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Place {
    rows: u32,
    height: Length,
    /// The side of the next row, where known.
    side: Option<Side>,
    /// The color on the needles.
    color: ColorId,
}

impl Place {
    /// The cast-on of a piece.
    fn beginning() -> Self {
        Self { rows: 0, height: Length::zero(), side: Some(Side::Right), color: ColorId::default() }
    }
}

impl<'d, L: Ledger> Walk<'_, 'd, L> {
    fn piece(&mut self, index: usize, piece: &PieceDef<'d>) {
        let mut state = State {
            piece: index,
            copies: piece.copies,
            needle: Needle::default(),
            at: Place::beginning(),
            gauge: self.model.default_gauge(),
            setting: piece.setting,
            starts: BTreeMap::new(),
            named: BTreeMap::new(),
            by_name: BTreeMap::new(),
            and_all: None,
            last_number: 0,
            recent: Vec::new(),
            parts: Vec::new(),
            fork: None,
            lost: false,
            stitches: Linear::default(),
            by_color: Vec::new(),
            own: None,
            stripes: None,
            depth: 0,
            established: None,
            established_at: 0,
            established_count: Linear::default(),
            recounted: false,
            mirror_of: None,
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
        state.by_color.clear();
        state.own = self.color(step.color.as_ref());
        state.take_color(state.own);
        let is_part = matches!(step.action, Action::Part { .. } | Action::Reverse { .. });
        if !is_part && !matches!(step.action, Action::Say) {
            state.fork = None;
        }
        self.mirror_side(state, step);
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
            by_color: std::mem::take(&mut state.by_color),
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
            Action::ChangeTo(name) => match self.model.gauge_named(&name.value) {
                Some(_) => {
                    state.established = None;
                    self.change_gauge(state, &name.value);
                }
                None => state.take_color(self.color(Some(name))),
            },
            Action::Stripes(stripes) => self.stripes(state, step, stripes)?,
            Action::Work { fabric, extent } => self.work(state, step, fabric.as_ref(), extent)?,
            Action::Row { label, items } => self.row_step(state, step, label.as_ref(), items)?,
            Action::SameRows { label, rows } => self.same_rows(state, step, label, *rows)?,
            Action::Repeat { rows, extent } => return self.repeat(state, step, rows, extent),
            Action::RepeatAt { row, schedule } => {
                return self.repeat_at(state, step, row, schedule).map(Some);
            }
            Action::Even { change, amount, over, .. } => {
                self.even(state, step, *change, amount, over.as_ref())?;
            }
            Action::Shape { change, each, place, schedule } => {
                return self.shape(state, step, *change, each, *place, schedule).map(Some);
            }
            Action::Wedges { change, wedges, schedule } => {
                return self.wedges(state, step, *change, wedges, schedule).map(Some);
            }
            Action::TurnHeel { to } => self.turn_heel(state, step, to)?,
            Action::ShortRows { count, rows, which } => {
                self.short_rows(state, step, (count, rows, *which))?;
            }
            Action::BindOff { amount } => self.bind_off(state, step, amount)?,
            Action::Hold { name } => {
                self.hold(state, step, name.as_ref().map(|n| n.value.as_str()))?;
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
                self.count(state, &n, 0, &[]);
            }
            Action::Part { name, each } => self.part(state, step, &name.value, *each)?,
            Action::Reverse { name, of } => {
                self.reverse(state, step, &name.value, of.as_ref().map(|o| o.value.as_str()))?;
            }
            // Each of them has a visit of its own.
            Action::Together => self.together(state, step)?,
            Action::AsFor { piece, to, reversed } => {
                let to = to.as_ref().map(|t| t.value.as_str());
                self.as_for(state, piece, to, *reversed)?;
            }
            Action::Close(with) => {
                self.something(state, step)?;
                match with {
                    CloseWith::DrawThrough => drop(state.needle.split_off_group()),
                    CloseWith::Graft | CloseWith::ThreeNeedle => state.needle = Needle::default(),
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

    /// A plain row over the group in work: turns the work where it is flat.
    fn pass_row(&mut self, state: &mut State<'d>) {
        self.count(state, &state.needle.in_work(), 1, &[]);
        if state.setting == Setting::Flat {
            let mut group = state.needle.split_off_group();
            group.ahead = reversed(group.ahead);
            let rest = std::mem::take(&mut state.needle);
            state.needle = group;
            state.needle.append_group(rest);
        }
        self.advance(state, 1);
        state.plain_rows(1);
    }

    /// Counts rows worked without touching the needle.
    fn advance(&mut self, state: &mut State<'_>, rows: u32) {
        state.at.rows = state.at.rows.saturating_add(rows);
        if let Some(density) = state.gauge.and_then(|g| self.ledger.row_density(g)) {
            state.at.height =
                state.at.height + density.length(Exact::from_integer(i128::from(rows)));
        }
        if state.setting == Setting::Flat && rows % 2 == 1 {
            state.at.side = state.at.side.map(Side::other);
        }
    }

    fn known(&mut self, counts: &Counts, step: &Step) -> Result<u32, Halt> {
        let n = self.ledger.number(counts, Use::Structure, step)?.known().ok_or(Halt::Lost)?;
        u32::try_from(n).map_err(|_| Halt::Lost)
    }

    fn start_of(&mut self, state: &State<'_>, name: &str, place: Span) -> Result<Place, Halt> {
        match state.starts.get(name) {
            Some(start) => Ok(*start),
            // "Until sleeve measures", in a sleeve.
            None if self.model.piece_named(name).is_some() => Ok(Place::beginning()),
            None => Err(self.ledger.wrong(place, Trouble::NotBegun(name.to_owned()))),
        }
    }

    /// The side after a run, checked against `ending with a WS row`.
    fn ending(&mut self, state: &mut State<'_>, step: &Step) {
        let Some(Spanned { value: Ending::Side(said), span }) = step.ending else { return };
        if state.setting == Setting::Round {
            return;
        }
        if let Some(next) = state.at.side
            && next.other() != said
            && state.at.rows > 0
        {
            let said_right = said == Side::Right;
            let _ = self.ledger.wrong(span, Trouble::WrongSide { said_right });
        }
        state.at.side = Some(said.other());
    }
}
