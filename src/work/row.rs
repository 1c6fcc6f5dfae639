//! Works one row over a needle.
//!
//! Stitches are never touched one by one: a repeat of 4 over 400 stitches
//! costs 4. See [`work_row`].

mod tally;

use self::tally::{Ink, Tally, add_colored};
use super::ledger::{Because, Halt, Ledger, Need, Trouble, Use, Why};
use super::needle::{Edge, Needle, Stretch, reversed, sum};
use crate::measure::Linear;
use crate::model::Model;
use crate::source::Span;
use crate::syntax::tree::{Counts, Item, ItemKind, MarkerAct, RowEnd, Setting, StarEnd, Step};

/// What a row did beside the stitches on the needle.
#[derive(Clone, Debug, Default)]
pub(crate) struct RowDone {
    /// How many times the work was turned within the row.
    pub(crate) turns: u32,
    /// Stitches put aside, by name.
    pub(crate) held: Vec<(String, Linear)>,
    /// Stitches worked.
    pub(crate) worked: Linear,
    /// Of them, those that name a color of their own, by color; empty where none does.
    pub(crate) colored: Vec<i64>,
}

/// Works `items` over the group in work; the needle is left ready for the next row.
pub(crate) fn work_row<L: Ledger>(
    model: &Model<'_>,
    ledger: &mut L,
    step: &Step,
    items: &[Item],
    needle: &mut Needle,
    setting: Setting,
) -> Result<RowDone, Halt> {
    let mut hand = Hand {
        model,
        ledger,
        step,
        left: needle.ahead.clone().into(),
        right: needle.behind.clone(),
        made: Linear::default(),
        done: RowDone::default(),
        taken: Linear::default(),
        ink: Ink::Needles,
        setting,
        turned: !needle.behind.is_empty(),
    };
    hand.go_on();
    let place = items.first().zip(items.last()).map_or(step.span, |(a, b)| a.span.to(b.span));
    let mut just_turned = false;
    for item in items {
        hand.item(item)?;
        // What is put aside after a turn is not worked.
        just_turned &= matches!(item.kind, ItemKind::HoldRest { .. });
        if matches!(item.kind, ItemKind::Turn | ItemKind::WrapTurn) {
            just_turned = true;
            hand.turn();
        }
    }
    if just_turned {
        needle.ahead = hand.left.into();
        needle.behind = hand.right;
        if hand.made.known() != Some(0) {
            needle.behind.push(Stretch { stitches: hand.made, then: Edge::End });
        }
        return Ok(hand.done);
    }
    let left = hand.reach();
    let why = Why { place, because: Because::Leaves { left: left.clone() } };
    hand.ledger.need(Need::Zero(left), &why)?;
    hand.finish();
    let mut done = hand.right;
    let waiting: Vec<Stretch> = hand.left.into();
    let mut worked = match setting {
        Setting::Flat => reversed(std::mem::take(&mut done)),
        Setting::Round => done,
    };
    if !waiting.is_empty() {
        if let Some(last) = worked.last_mut() {
            last.then = Edge::Gap;
        }
        worked.extend(waiting);
    }
    needle.ahead = worked;
    needle.behind = Vec::new();
    Ok(hand.done)
}

/// The two needles in the middle of a row.
struct Hand<'a, 'd, L> {
    model: &'a Model<'d>,
    ledger: &'a mut L,
    step: &'a Step,
    left: std::collections::VecDeque<Stretch>,
    right: Vec<Stretch>,
    /// On the right needle since its last marker or gap.
    made: Linear,
    taken: Linear,
    ink: Ink,
    done: RowDone,
    setting: Setting,
    /// The work has been turned within the row.
    turned: bool,
}

impl<L: Ledger> Hand<'_, '_, L> {
    fn item(&mut self, item: &Item) -> Result<(), Halt> {
        match self.inked(self.ink_of(item), |hand| hand.act(item)) {
            // A number given as `-`: this size leaves the item out.
            Err(Halt::Skip) => Ok(()),
            other => other,
        }
    }

    /// The color that an item names.
    fn ink_of(&self, item: &Item) -> Option<Ink> {
        self.model.color_named(&item.color.as_ref()?.value).map(Ink::One)
    }

    /// Does something in a color, where one is given.
    fn inked<T>(&mut self, ink: Option<Ink>, work: impl FnOnce(&mut Self) -> T) -> T {
        let Some(ink) = ink else { return work(self) };
        let outer = std::mem::replace(&mut self.ink, ink);
        let out = work(self);
        self.ink = outer;
        out
    }

    fn act(&mut self, item: &Item) -> Result<(), Halt> {
        let place = item.span;
        match &item.kind {
            ItemKind::Stitch { name, count } => {
                let (takes, makes) = self.stitch(&name.value, name.span)?;
                match count {
                    None => self.take(&takes.into(), &makes.into(), place),
                    Some(counts) => {
                        let n = self.count(counts)?;
                        self.take(&n.times(takes), &n.times(makes), place)
                    }
                }
            }
            ItemKind::Run { name, until } => {
                // "Work in pattern" and "rib" take each stitch as it comes.
                let (takes, makes) = self.model.stitch(&name.value).unwrap_or((1, 1));
                let unit = self.tallied(takes, makes);
                match until {
                    RowEnd::End => self.run(&unit, &Linear::default(), place),
                    RowEnd::Last(counts) => {
                        let last = self.ledger.number(counts, Use::Structure, self.step)?;
                        self.run(&unit, &last, place)
                    }
                    RowEnd::Marker { before, name } => self.up_to_marker(
                        &unit,
                        *before,
                        name.as_ref().map(|n| n.value.as_str()),
                        place,
                    ),
                    RowEnd::Gap { before } => {
                        let gap = self.left.iter().position(|s| s.then == Edge::Turned);
                        let Some(gap) = gap else {
                            return Err(self.ledger.wrong(place, Trouble::NotTurned));
                        };
                        self.up_to_edge(&unit, gap, *before, place)
                    }
                }
            }
            ItemKind::Pattern(counts) => {
                let n = self.count(counts)?;
                self.take(&n, &n, place)
            }
            ItemKind::Group { items, times, more } => {
                let n = self.known(times)? + i64::from(*more);
                self.times(items, n, place)
            }
            ItemKind::Star { items, until } => self.star(items, until, place),
            ItemKind::InOne { .. } => {
                let inside = self.tally_item(item)?;
                self.take_unit(&inside, place)
            }
            ItemKind::BindOff(counts) => {
                let n = match counts {
                    Some(counts) => self.count(counts)?,
                    None => self.reach(),
                };
                self.take(&n, &Linear::default(), place)?;
                if self.made.known() != Some(0) {
                    let stitches = std::mem::take(&mut self.made);
                    self.right.push(Stretch { stitches, then: Edge::Gap });
                }
                Ok(())
            }
            ItemKind::CastOn(counts) => {
                let n = self.count(counts)?;
                self.cast_on(&n);
                Ok(())
            }
            ItemKind::HoldRest { name } => {
                let turned = self.right.last().is_some_and(|last| last.then == Edge::Turned);
                let n = if turned && self.made.known() == Some(0) {
                    // `turn, hold remaining sts as right side`: they lie behind the turn.
                    sum(&std::mem::take(&mut self.right))
                } else {
                    let n = self.reach();
                    self.take(&n, &Linear::default(), place)?;
                    n
                };
                self.done.held.push((name.value.clone(), n));
                Ok(())
            }
            ItemKind::Hold { count, name } => {
                let n = self.count(count)?;
                self.take(&n, &Linear::default(), place)?;
                self.done.held.push((name.value.clone(), n));
                Ok(())
            }
            ItemKind::Turn | ItemKind::WrapTurn | ItemKind::JoinYarn => Ok(()),
            ItemKind::Marker { act, name } => {
                self.marker(*act, name.as_ref().map(|n| n.value.as_str()), place)
            }
        }
    }

    /// A count of the row: a live one follows a rewrite.
    fn count(&mut self, counts: &Counts) -> Result<Linear, Halt> {
        let purpose = if counts.live { Use::Live } else { Use::Structure };
        self.ledger.number(counts, purpose, self.step)
    }

    /// Swaps the needles, wherever the row is.
    fn turn(&mut self) {
        self.done.turns += 1;
        self.turned = true;
        let made = std::mem::take(&mut self.made);
        let mut right = std::mem::take(&mut self.right);
        right.push(Stretch { stitches: made, then: Edge::End });
        let left: Vec<Stretch> = std::mem::take(&mut self.left).into();
        self.left = reversed(right).into();
        self.right = reversed(left);
        // Turned where the work was turned before: that gap is still there.
        if let [.., before, last] = self.right.as_slice()
            && before.then == Edge::Turned
            && last.stitches.known() == Some(0)
        {
            self.right.pop();
            return;
        }
        // The stitches left unworked lie beyond a gap.
        let nothing_left = sum(&self.right).known() == Some(0);
        if let Some(last) = self.right.last_mut().filter(|_| !nothing_left) {
            last.then = Edge::Turned;
        }
        self.go_on();
    }

    /// What lies on the right needle right before the work grows with it.
    fn go_on(&mut self) {
        if let Some(last) = self.right.pop_if(|last| last.then == Edge::End) {
            self.made = last.stitches;
        }
    }

    fn finish(&mut self) {
        // Stretches that were worked to nothing, up to the gap, are done with.
        while let Some(front) = self.left.pop_front() {
            if front.then == Edge::Gap {
                break;
            }
        }
        let made = std::mem::take(&mut self.made);
        match self.right.last_mut() {
            // A bind-off at the end of the row leaves no gap.
            Some(last) if made.known() == Some(0) && last.then == Edge::Gap => {
                last.then = Edge::End;
            }
            _ => self.right.push(Stretch { stitches: made, then: Edge::End }),
        }
    }

    /// What is left to work before a gap or the end.
    fn reach(&self) -> Linear {
        let gap = self.left.iter().position(|s| s.then == Edge::Gap);
        sum(self.left.iter().take(gap.map_or(self.left.len(), |g| g + 1)))
    }

    fn stretches_in_reach(&self) -> usize {
        self.left.iter().position(|s| s.then == Edge::Gap).map_or(self.left.len(), |g| g + 1)
    }

    fn front(&self) -> Linear {
        self.left.front().map_or_else(Linear::default, |s| s.stitches.clone())
    }

    /// Takes stitches off the left needle and makes others on the right,
    /// slipping any marker that lies between.
    fn take(&mut self, takes: &Linear, makes: &Linear, place: Span) -> Result<(), Halt> {
        let mut takes = takes.clone();
        let mut makes = makes.clone();
        while let (Some(want), Some(front)) = (takes.known(), self.front().known()) {
            let crossing = want > front && self.stretches_in_reach() > 1;
            if !crossing {
                break;
            }
            // Stitches taken one for one lie on both sides of the marker; others wait beyond it.
            if makes.known() == Some(want) {
                self.consume(&front.into(), &front.into());
                takes = Linear::number(want - front);
                makes = takes.clone();
            } else if front > 0 {
                break;
            }
            self.pass_marker();
        }
        let has = if self.stretches_in_reach() > 1 { self.reach() } else { self.front() };
        let because = self.too_many(&self.taken + &takes, &self.taken + &has);
        self.ledger.need(Need::NotNegative(&has - &takes), &Why { place, because })?;
        self.consume(&takes, &makes);
        Ok(())
    }

    /// Why a row cannot take as many stitches as it would.
    fn too_many(&self, takes: Linear, has: Linear) -> Because {
        if self.turned && self.setting == Setting::Round {
            Because::PastStart { takes, has }
        } else {
            Because::Takes { takes, has }
        }
    }

    /// Takes and makes what some items do, all told.
    fn take_unit(&mut self, unit: &Tally, place: Span) -> Result<(), Halt> {
        self.inked(Some(unit.ink()), |hand| {
            hand.take(&unit.takes.into(), &unit.makes.into(), place)
        })
    }

    /// Consumes what is taken by the unit.
    fn consume_by(&mut self, unit: &Tally, takes: &Linear, makes: &Linear) {
        self.inked(Some(unit.ink()), |hand| hand.consume(takes, makes));
    }

    fn consume(&mut self, takes: &Linear, makes: &Linear) {
        if let Some(n) = takes.known().filter(|_| self.ink != Ink::Needles) {
            add_colored(&mut self.done.colored, &self.ink.of(n));
        }
        if let Some(front) = self.left.front_mut() {
            front.stitches = &front.stitches - takes;
        }
        self.taken = &self.taken + takes;
        self.done.worked = &self.done.worked + takes;
        self.made = &self.made + makes;
    }

    /// Moves the marker at the front over, whatever it is; a gap where the work was turned closes.
    fn pass_marker(&mut self) {
        if let Some(front) = self.left.pop_front() {
            if front.then == Edge::Turned {
                if let Some(next) = self.left.front_mut() {
                    next.stitches = &next.stitches + &front.stitches;
                }
                return;
            }
            let stitches = std::mem::take(&mut self.made);
            if let Some(next) = self.left.front_mut() {
                next.stitches = &next.stitches + &front.stitches;
            }
            self.right.push(Stretch { stitches, then: front.then });
        }
    }

    fn cast_on(&mut self, n: &Linear) {
        let at_gap =
            self.left.front().is_some_and(|s| s.then == Edge::Gap && s.stitches.known() == Some(0));
        if at_gap {
            self.left.pop_front();
        } else if self.made.known() == Some(0)
            && let Some(before) = self.right.pop_if(|before| before.then == Edge::Gap)
        {
            // Right after the bind-off that left it: a buttonhole in one row.
            self.made = before.stitches;
        }
        self.made = &self.made + n;
    }

    /// One stitch (or decrease, or increase) again and again up to the last `last`.
    fn run(&mut self, unit: &Tally, last: &Linear, place: Span) -> Result<(), Halt> {
        if (unit.takes, unit.makes) == (1, 1) {
            let room = &self.reach() - last;
            let why = Why {
                place,
                because: self.too_many(&self.taken + last, &self.taken + &self.reach()),
            };
            self.ledger.need(Need::NotNegative(room), &why)?;
            while self.stretches_in_reach() > 1 {
                let front = self.front();
                self.consume(&front, &front);
                self.pass_marker();
            }
            let rest = &self.front() - last;
            self.consume(&rest, &rest);
            return Ok(());
        }
        self.repeat_to(&[], unit, last, place)
    }

    fn star(&mut self, items: &[Item], until: &StarEnd, place: Span) -> Result<(), Halt> {
        match until {
            StarEnd::Times { count, more } => {
                let n = self.known(count)? + i64::from(*more);
                self.times(items, n, place)
            }
            _ if asks_for_marker(items) => self.star_over_markers(items, place),
            StarEnd::End => self.star_to(items, &Linear::default(), place),
            StarEnd::Last(counts) => {
                let last = self.ledger.number(counts, Use::Structure, self.step)?;
                self.star_to(items, &last, place)
            }
            StarEnd::Marker { before } => {
                let unit = self.tally(items)?;
                self.up_to_marker(&unit, *before, None, place)
            }
        }
    }

    fn star_to(&mut self, items: &[Item], last: &Linear, place: Span) -> Result<(), Halt> {
        let unit = self.tally(items)?;
        if has_marker(items) {
            self.place_markers(items, &unit, last, place)
        } else {
            self.repeat_to(items, &unit, last, place)
        }
    }

    /// A repeat that places markers: one set for each time that it fits.
    fn place_markers(
        &mut self,
        items: &[Item],
        unit: &Tally,
        last: &Linear,
        place: Span,
    ) -> Result<(), Halt> {
        let times = self.times_that_fit(unit, last, place)?;
        for _ in 0..self.ledger.guess(&times).clamp(0, 10_000) {
            for item in items {
                if has_marker(std::slice::from_ref(item)) {
                    self.item(item)?;
                } else {
                    let unit = self.tally(std::slice::from_ref(item))?;
                    self.take_unit(&unit, place)?;
                }
            }
        }
        // Nothing, once the counts are chosen.
        let rest = &self.reach() - last;
        self.consume(&rest, &rest);
        Ok(())
    }

    /// How often a repeat fits until `last` stitches remain.
    fn times_that_fit(&mut self, unit: &Tally, last: &Linear, place: Span) -> Result<Linear, Halt> {
        if unit.takes <= 0 {
            return Err(self.ledger.wrong(place, Trouble::EmptyRepeat));
        }
        let room = &self.reach() - last;
        let takes = self.too_many(&self.taken + last, &self.taken + &self.reach());
        self.ledger.need(Need::NotNegative(room.clone()), &Why { place, because: takes })?;
        let why = Why { place, because: Because::Repeat { unit: unit.takes, room: room.clone() } };
        self.ledger.divide(&room, unit.takes, &why)
    }

    /// Works `items` as often as they fit until `last` stitches remain.
    fn repeat_to(
        &mut self,
        items: &[Item],
        unit: &Tally,
        last: &Linear,
        place: Span,
    ) -> Result<(), Halt> {
        let mut times = self.times_that_fit(unit, last, place)?;
        while self.stretches_in_reach() > 1 {
            let (Some(front), Some(all)) = (self.front().known(), times.known()) else { break };
            let here = (front / unit.takes).min(all);
            let (takes, makes) = (here * unit.takes, here * unit.makes);
            self.consume_by(unit, &Linear::number(takes), &Linear::number(makes));
            times = Linear::number(all - here);
            if self.front().known() == Some(0) {
                self.pass_marker();
            } else if times.known() == Some(0) {
                return Ok(());
            } else {
                // The next repeat lies across the marker: work it stitch by stitch.
                if items.is_empty() {
                    self.pass_marker();
                } else {
                    items.iter().try_for_each(|item| self.item(item))?;
                    times = Linear::number(times.known().unwrap_or(0) - 1);
                }
            }
        }
        if self.stretches_in_reach() > 1 {
            // Counts not chosen yet: markers keep their places as the repeat keeps its count.
            while self.stretches_in_reach() > 1 {
                let front = self.front();
                self.consume(&front, &front);
                self.pass_marker();
            }
            let rest = &self.front() - last;
            self.consume(&rest, &(&rest + &times.times(unit.makes - unit.takes)));
            return Ok(());
        }
        let room = &self.front() - last;
        self.repeated(&room, &times, unit);
        Ok(())
    }

    /// Takes `room`, which is `times` repeats. A repeat that keeps its count
    /// keeps it in so many words too, whatever the number of times.
    fn repeated(&mut self, room: &Linear, times: &Linear, unit: &Tally) {
        if unit.takes == unit.makes {
            self.consume_by(unit, room, room);
        } else {
            self.consume_by(unit, room, &times.times(unit.makes));
        }
    }

    /// A repeat that slips markers: once for each, to the end.
    fn star_over_markers(&mut self, items: &[Item], place: Span) -> Result<(), Halt> {
        for _ in 0..=self.left.len() {
            if self.reach().known() == Some(0) || self.left.is_empty() {
                return Ok(());
            }
            let before = self.left.len();
            items.iter().try_for_each(|item| self.item(item))?;
            if self.left.len() == before && self.reach().known() != Some(0) {
                return Err(self.ledger.wrong(place, Trouble::NoMarker));
            }
        }
        Ok(())
    }

    fn times(&mut self, items: &[Item], n: i64, place: Span) -> Result<(), Halt> {
        if n <= 0 {
            return Ok(());
        }
        if !has_marker(items) && !has_live(items) && self.stretches_in_reach() <= 1 {
            let all = self.tally(items)?.times(n);
            return self.take_unit(&all, place);
        }
        (0..n.min(10_000)).try_for_each(|_| items.iter().try_for_each(|item| self.item(item)))
    }

    fn up_to_marker(
        &mut self,
        unit: &Tally,
        before: u32,
        name: Option<&str>,
        place: Span,
    ) -> Result<(), Halt> {
        let mut steps = 0;
        loop {
            match self.left.get(steps).map(|s| &s.then) {
                Some(Edge::Marker(found)) if name.is_none() || found.as_deref() == name => break,
                Some(Edge::Marker(_) | Edge::Turned) => steps += 1,
                // In the round the marker of its start lies at its end.
                Some(Edge::End) if name.is_none() && self.setting == Setting::Round => break,
                _ => return Err(self.ledger.wrong(place, Trouble::NoMarker)),
            }
        }
        self.up_to_edge(unit, steps, before, place)
    }

    /// Works up to some stitches before the edge that lies `steps` edges ahead.
    fn up_to_edge(
        &mut self,
        unit: &Tally,
        steps: usize,
        before: u32,
        place: Span,
    ) -> Result<(), Halt> {
        for _ in 0..steps {
            let front = self.front();
            self.consume(&front, &front);
            self.pass_marker();
        }
        let room = &self.front() - &Linear::number(i64::from(before));
        let left = room.clone();
        let because = match self.left.front().map(|stretch| &stretch.then) {
            Some(Edge::Turned) => Because::BeforeTurn { left },
            _ => Because::BeforeMarker { left },
        };
        self.ledger.need(Need::NotNegative(room.clone()), &Why { place, because })?;
        if unit.takes == 1 && unit.makes == 1 {
            self.consume_by(unit, &room, &room);
            return Ok(());
        }
        if unit.takes <= 0 {
            return Err(self.ledger.wrong(place, Trouble::EmptyRepeat));
        }
        let why = Why { place, because: Because::Repeat { unit: unit.takes, room: room.clone() } };
        let times = self.ledger.divide(&room, unit.takes, &why)?;
        self.repeated(&room, &times, unit);
        Ok(())
    }

    fn marker(&mut self, act: MarkerAct, name: Option<&str>, place: Span) -> Result<(), Halt> {
        match act {
            MarkerAct::Place => {
                let stitches = std::mem::take(&mut self.made);
                let then = Edge::Marker(name.map(str::to_owned));
                self.right.push(Stretch { stitches, then });
                Ok(())
            }
            MarkerAct::Slip | MarkerAct::Remove => {
                // The marker of the start of a round is slipped when nothing is left before it.
                while self.left.front().is_some_and(|s| s.then == Edge::Turned)
                    && self.front().known() == Some(0)
                {
                    self.pass_marker();
                }
                let at_end = self.left.len() <= 1 && self.reach().known() == Some(0);
                match self.left.front().map(|s| &s.then) {
                    Some(Edge::Marker(_)) => {}
                    _ if at_end && act == MarkerAct::Slip => return Ok(()),
                    _ => return Err(self.ledger.wrong(place, Trouble::NoMarker)),
                }
                let left = self.front();
                let why = Why { place, because: Because::BeforeMarker { left: left.clone() } };
                self.ledger.need(Need::Zero(left), &why)?;
                if act == MarkerAct::Slip {
                    self.pass_marker();
                } else {
                    self.left.pop_front();
                }
                Ok(())
            }
        }
    }

    fn known(&mut self, counts: &crate::syntax::tree::Counts) -> Result<i64, Halt> {
        self.ledger.number(counts, Use::Structure, self.step)?.known().ok_or(Halt::Lost)
    }

    fn stitch(&mut self, name: &str, place: Span) -> Result<(i64, i64), Halt> {
        match self.model.stitch(name) {
            Some(counts) => Ok(counts),
            None => Err(self.ledger.wrong(place, Trouble::UnknownStitch)),
        }
    }
}

fn has_marker(items: &[Item]) -> bool {
    items.iter().any(|item| match &item.kind {
        ItemKind::Marker { .. } | ItemKind::Run { until: RowEnd::Marker { .. }, .. } => true,
        ItemKind::Group { items, .. } | ItemKind::Star { items, .. } => has_marker(items),
        _ => false,
    })
}

/// Whether there must be markers on the needle already.
fn asks_for_marker(items: &[Item]) -> bool {
    items.iter().any(|item| match &item.kind {
        ItemKind::Marker { act, .. } => *act != MarkerAct::Place,
        ItemKind::Run { until: RowEnd::Marker { .. }, .. } => true,
        ItemKind::Group { items, .. } | ItemKind::Star { items, .. } => asks_for_marker(items),
        _ => false,
    })
}

fn has_live(items: &[Item]) -> bool {
    items.iter().any(|item| match &item.kind {
        ItemKind::Stitch { count: Some(c), .. } | ItemKind::Pattern(c) | ItemKind::CastOn(c) => {
            c.live
        }
        ItemKind::BindOff(c) => c.as_ref().is_some_and(|c| c.live),
        ItemKind::Hold { .. } | ItemKind::HoldRest { .. } => true,
        ItemKind::Group { items, .. }
        | ItemKind::Star { items, .. }
        | ItemKind::InOne { items } => has_live(items),
        _ => false,
    })
}
