//! Edits of the instructions and of live numbers in prose.

use super::Edit;
use super::clauses::clauses;
use super::{nouns, sentences};
use crate::diag::words::{self, capitalised};
use crate::measure::{Given, Length, SizeId};
use crate::model::Model;
use crate::plan::{ChosenRate, GoalSize, Plan, SizePlan};
use crate::source::{Source, Span};
use crate::syntax::print;
use crate::syntax::tree::{
    Action, Block, Change, Counts, Every, Extent, Item, ItemKind, Lengths, LiveValue, Mark, Prose,
    Rate, Schedule, Section, Side, Step,
};
use crate::syntax::visit::{self, Number};

/// Every edit of the body.
pub(super) fn edits(source: &Source, model: &Model<'_>, plan: &Plan<'_>) -> Vec<Edit> {
    let writer = Writer { source, model, plan };
    let mut edits = Vec::new();
    for section in &model.document.sections {
        for block in &section.blocks {
            match block {
                Block::Prose(prose) => writer.prose(section, prose, &mut edits),
                Block::Steps(steps) => writer.steps(section, steps, &mut edits),
                Block::Heading(_) => {}
            }
        }
    }
    // Last, since the first edit of a place counts: a live number follows its twin.
    visit::numbers(model.document, &mut |number| match number {
        Number::Counts(counts) => edits.extend(writer.counts(counts)),
        Number::Lengths(lengths) => edits.extend(writer.lengths(lengths)),
    });
    edits
}

struct Writer<'a, 'd> {
    source: &'a Source,
    model: &'a Model<'d>,
    plan: &'a Plan<'a>,
}

impl Writer<'_, '_> {
    /// What a value given by old sizes is in each new size, as written.
    fn brought<T: Clone>(&self, given: &Given<T>) -> Vec<Option<T>> {
        self.plan.goal.sizes.iter().map(|size| given.get(size.from).cloned()).collect()
    }

    /// Whether lists keep their length, so that equal values need no edit.
    fn lists_stay(&self) -> bool {
        self.plan.goal.keeps_sizes(self.model)
    }

    fn counts(&self, counts: &Counts) -> Option<Edit> {
        let new = self.new_counts(counts)?;
        Some(nouns::edit(self.source, counts, &new).unwrap_or_else(|| Edit {
            span: counts.span,
            text: print::sizes(&new, u32::to_string),
        }))
    }

    /// The new values of a count, where what is written does not say them.
    fn new_counts(&self, counts: &Counts) -> Option<Given<u32>> {
        if counts.span.start == counts.span.end {
            // Not written: "the next row" is one row.
            return None;
        }
        let old = self.brought(&counts.given);
        let unknown = counts.given == Given::Unknown;
        let chosen = old.iter().zip(&self.plan.sizes).map(|(old, size)| {
            let chosen = size.numbers.get(&counts.span).and_then(|&n| u32::try_from(n).ok());
            // A size that skips the step (`-`) goes on skipping it.
            if old.is_none() && !unknown { None } else { chosen.or(*old) }
        });
        let new: Vec<Option<u32>> = chosen.collect();
        // One value for all sizes still says it, in the author's own words ("2nd", "twice").
        let stays = self.lists_stay() || unknown || counts.given.listed().is_none();
        if new == old && stays {
            return None;
        }
        Some(Given::from_each(new))
    }

    /// The new values of a length, where any changes.
    fn new_lengths(&self, lengths: &Lengths) -> (bool, Given<Length>) {
        let old = self.brought(&lengths.given);
        let chosen = old.iter().zip(&self.plan.sizes);
        let new: Vec<Option<Length>> =
            chosen.map(|(old, size)| size.lengths.get(&lengths.span).copied().or(*old)).collect();
        (new != old, Given::from_each(new))
    }

    fn lengths(&self, lengths: &Lengths) -> Option<Edit> {
        let (changed, new) = self.new_lengths(lengths);
        let stays = self.lists_stay() || lengths.given.listed().is_none();
        (changed || !stays).then(|| Edit {
            span: lengths.numbers,
            text: print::sizes(&new, |l| print::amount(*l, lengths.unit)),
        })
    }

    /// The steps of a list, item by item.
    fn steps(&self, section: &Section, steps: &[Step], edits: &mut Vec<Edit>) {
        for item in steps.chunk_by(|_, next| next.link.is_some()) {
            let skipped = |step: &Step| self.is_skipped(step);
            let some_stay = !item.iter().all(skipped);
            if some_stay && item.iter().any(skipped) {
                let note = |step: &Step| Self::note_in_place(step);
                edits.extend(sentences::left_out(self.source, item, skipped, note));
            }
            for step in item.iter().filter(|step| !(some_stay && skipped(step))) {
                self.step(section, step, edits);
            }
        }
    }

    fn step(&self, section: &Section, step: &Step, edits: &mut Vec<Edit>) {
        if self.is_skipped(step) {
            edits.push(self.left_out(step));
            return;
        }
        if let Action::Row { items, .. } = &step.action {
            self.items_left_out(items, edits);
        }
        edits.extend(self.only(step));
        match &step.action {
            Action::Shape { schedule, .. }
            | Action::Wedges { schedule, .. }
            | Action::RepeatAt { schedule, .. } => {
                edits.extend(self.schedule(schedule));
            }
            Action::Even { change, .. } => edits.extend(self.verb(step, *change)),
            Action::Work { extent, .. } | Action::Repeat { extent, .. } => {
                edits.extend(self.second_unit(extent));
            }
            _ => {}
        }
        step.remark.iter().for_each(|prose| self.prose(section, prose, edits));
        self.steps(section, &step.steps, edits);
    }

    /// A length given in a second unit follows the first.
    fn second_unit(&self, extent: &Extent) -> Option<Edit> {
        let (Extent::Length(lengths) | Extent::Until { length: lengths, .. }) = extent else {
            return None;
        };
        let also = lengths.also.as_ref()?;
        let (changed, new) = self.new_lengths(lengths);
        changed.then(|| Edit {
            span: also.numbers,
            text: print::sizes(&new, |l| {
                let readable = l.readable(also.unit);
                readable.rsplit_once(' ').map_or(readable.clone(), |(number, _)| number.to_owned())
            }),
        })
    }

    /// Whether every size that is left has no number here (`-`).
    fn all_skip(&self, counts: &Counts) -> bool {
        self.plan.goal.sizes.iter().all(|size| counts.given.skips(size.from))
    }

    /// Whether no size that is left works a step: each skips it (`-`), or does it no times.
    fn is_skipped(&self, step: &Step) -> bool {
        // What only tells a count, and what a row does without, leaves the step as it is.
        let mut beside: Vec<Span> = step.stated.iter().map(|stated| stated.span).collect();
        beside.extend(step.remark.iter().map(|remark| remark.span));
        match &step.action {
            Action::Row { items, .. } => {
                if items.iter().all(|item| self.leaves_out(item)) {
                    return true;
                }
                beside.extend(items.iter().map(|item| item.span));
            }
            Action::Shape { schedule, .. } | Action::RepeatAt { schedule, .. } => {
                // A size may skip a rate and work the others.
                beside.push(schedule.span);
                let chosen =
                    |size: &SizePlan| size.schedules.get(&schedule.span).is_some_and(Vec::is_empty);
                if !self.lists_stay() && self.plan.sizes.iter().all(chosen) {
                    return true;
                }
            }
            Action::Wedges { schedule, .. } => beside.push(schedule.span),
            Action::Repeat { extent: Extent::Times { count, .. }, .. } => {
                let never = |size: &SizePlan| size.numbers.get(&count.span) == Some(&0);
                if !self.lists_stay() && self.plan.sizes.iter().all(never) {
                    return true;
                }
            }
            _ => {}
        }
        let mut skipped = false;
        visit::in_step(step, &mut |number| {
            if let Number::Counts(counts) = number
                && step.span.contains(counts.span)
                && !beside.iter().any(|beside| beside.contains(counts.span))
            {
                skipped |= self.all_skip(counts);
            }
        });
        skipped
    }

    /// A step that no size works any more goes, bullet and line end included; where others
    /// are measured from it, a note stays in its place.
    fn left_out(&self, step: &Step) -> Edit {
        match Self::note_in_place(step) {
            Some(text) => Edit { span: step.span, text },
            None => Edit { span: self.line(step.span), text: String::new() },
        }
    }

    /// What is said in place of a step that no size works, where others are measured from it.
    fn note_in_place(step: &Step) -> Option<String> {
        let starts = |mark: &Mark| match mark {
            Mark::Starts(name) => {
                Some((format!("the {name}"), format!(" [{}]", print::mark(mark))))
            }
            _ => None,
        };
        let starts = step.marks.iter().filter_map(|mark| starts(&mark.value));
        let (names, marks): (Vec<String>, Vec<String>) = starts.unzip();
        if names.is_empty() {
            return None;
        }
        let begin = if names.len() == 1 { "begins" } else { "begin" };
        Some(format!("note: {} {begin} here{}", words::list(&names, "and"), marks.concat()))
    }

    /// Whether every size that is left does without an item of a row.
    fn leaves_out(&self, item: &Item) -> bool {
        self.plan.goal.sizes.iter().all(|size| visit::skips(item, size.from))
    }

    /// Takes the items that no size works any more out of a row, with the commas after them.
    fn items_left_out(&self, items: &[Item], edits: &mut Vec<Edit>) {
        let end = |item: &Item| item.marks.last().map_or(item.span.end, |mark| mark.span.end);
        let last_kept = items.iter().rposition(|item| !self.leaves_out(item));
        for (index, item) in items.iter().enumerate() {
            if self.leaves_out(item) {
                let span = match (items.get(index + 1), last_kept) {
                    // Nothing that is kept follows: the comma before it goes.
                    (_, Some(kept)) if kept < index => {
                        let from = index.checked_sub(1).and_then(|before| items.get(before));
                        Span::new(from.map_or(item.span.start, end), end(item))
                    }
                    (Some(next), _) => Span::new(item.span.start, next.span.start),
                    (None, _) => Span::new(item.span.start, end(item)),
                };
                edits.push(Edit { span, text: String::new() });
            } else if let ItemKind::Group { items, .. }
            | ItemKind::Star { items, .. }
            | ItemKind::InOne { items } = &item.kind
            {
                self.items_left_out(items, edits);
            }
        }
    }

    /// `sizes large and small only:` names only sizes that are left.
    fn only(&self, step: &Step) -> Option<Edit> {
        let (first, last) = (step.only.first()?, step.only.last()?);
        // A new size does what the size it starts from does.
        let named = |size: &&GoalSize| {
            let from = self.model.sizes.get(size.from.0);
            step.only.iter().any(|only| Some(&only.value) == from)
        };
        let left = self.plan.goal.sizes.iter().filter(named).map(|size| size.name.clone());
        let left: Vec<String> = left.collect();
        let as_before = |left: &[String]| {
            left.len() == step.only.len() && step.only.iter().all(|o| left.contains(&o.value))
        };
        if as_before(&left) {
            return None;
        }
        Some(if left.is_empty() {
            // The whole instruction goes, bullet and line end included.
            Edit { span: self.line(step.span), text: String::new() }
        } else {
            Edit { span: first.span.to(last.span), text: words::list(&left, "and") }
        })
    }

    fn line(&self, span: Span) -> Span {
        let text = &self.source.text;
        let before = text.get(..span.start).and_then(|t| t.rfind('\n'));
        let after = text.get(span.end..).and_then(|t| t.find('\n'));
        Span::new(before.map_or(0, |i| i + 1), after.map_or(text.len(), |i| span.end + i + 1))
    }

    /// Turns the verb of an even change that now goes the other way.
    fn verb(&self, step: &Step, change: Change) -> Option<Edit> {
        let went = self.plan.sizes.iter().filter_map(|s| s.evens.get(&step.span));
        let (mut up, mut down) = (false, false);
        for (before, after) in went {
            up |= after > before;
            down |= after < before;
        }
        let wanted = match (up, down, change) {
            (_, _, Change::Either) => return None,
            (true, true, _) => Change::Either,
            (true, false, Change::Decrease) => Change::Increase,
            (false, true, Change::Increase) => Change::Decrease,
            _ => return None,
        };
        let of_row = matches!(step.action, Action::Even { row: Some(_), .. });
        let wanted = if of_row { print::changing_word(wanted) } else { print::change_word(wanted) };
        let written = self.source.slice(step.span);
        let lower = written.to_ascii_lowercase();
        let (at, word) = ["increasing", "decreasing", "increase", "decrease", "inc", "dec"]
            .iter()
            .filter_map(|word| lower.find(word).map(|at| (at, *word)))
            .min_by_key(|&(at, word)| (at, std::cmp::Reverse(word.len())))?;
        let capital = written.get(at..).is_some_and(|t| t.starts_with(char::is_uppercase));
        let text = if capital { capitalised(wanted) } else { wanted.to_owned() };
        Some(Edit { span: Span::new(at, at + word.len()).shifted(step.span.start), text })
    }

    /// The words that say when to shape, where any size changed.
    fn schedule(&self, schedule: &Schedule) -> Option<Edit> {
        let chosen: Vec<&[ChosenRate]> = self
            .plan
            .sizes
            .iter()
            .map(|s| s.schedules.get(&schedule.span).map(Vec::as_slice))
            .collect::<Option<_>>()?;
        let old = self.plan.goal.sizes.iter().map(|size| written(schedule, size.from));
        let unchanged = chosen.iter().zip(old).all(|(new, old)| says(&old, new));
        let listed = |counts: &Counts| counts.given.listed().is_some();
        let lists = schedule.rates.iter().any(|rate| {
            rate.times.as_ref().is_some_and(listed)
                || matches!(&rate.every, Every::Nth(every) if listed(every))
        });
        if unchanged && (self.lists_stay() || !lists) {
            return None;
        }
        // Where the count it leads to is written, one rate needs no number of times.
        let counted = schedule.until.is_none()
            || chosen.iter().any(|rates| rates.len() != 1)
            || schedule.rates.iter().any(|rate| rate.times.is_some());
        Some(Edit { span: schedule.span, text: self.rates(schedule, &chosen, counted) })
    }

    fn rates(&self, schedule: &Schedule, chosen: &[&[ChosenRate]], counted: bool) -> String {
        let is_rows = self.source.slice(schedule.span).contains("row");
        let row = if is_rows { "row" } else { "round" };
        let clauses = clauses(chosen, counted).into_iter().enumerate().map(|(index, rates)| {
            let every: Vec<Option<u32>> = rates.iter().map(|r| r.map(|r| r.every)).collect();
            let times = rates.iter().zip(chosen).map(|(rate, all)| match rate {
                Some(rate) => Some(rate.times),
                // A size without any shaping shapes no times.
                None => (index == 0 && all.is_empty()).then_some(0),
            });
            let times: Vec<Option<u32>> = times.collect();
            let when = interval(schedule, row, &every, &times);
            if !counted {
                return when;
            }
            format!("{when} {}", nouns::times(&Given::from_each(times)))
        });
        clauses.collect::<Vec<_>>().join(", then ")
    }

    fn prose(&self, section: &Section, prose: &Prose, edits: &mut Vec<Edit>) {
        for live in &prose.live {
            if let LiveValue::Counts(counts) = &live.value
                && let Some(new) = self.twin(section, counts).and_then(|twin| self.new_counts(twin))
            {
                edits.push(Edit { span: counts.span, text: print::sizes(&new, u32::to_string) });
            }
        }
    }

    /// The count of the same section that a live number in prose repeats.
    fn twin<'s>(&self, section: &'s Section, live: &Counts) -> Option<&'s Counts> {
        let mut found = None;
        let steps = section.blocks.iter().filter_map(|block| match block {
            Block::Steps(steps) => Some(steps),
            _ => None,
        });
        for step in steps.flatten() {
            visit::in_step(step, &mut |number| {
                if let Number::Counts(counts) = number
                    && counts.given == live.given
                    && counts.span != live.span
                    && found.is_none()
                    && self.plan.sizes.iter().any(|s| s.numbers.contains_key(&counts.span))
                {
                    found = Some(counts);
                }
            });
        }
        found
    }
}

/// `every 4th row`, `every RS row`, `every 4 (4, 6) rows`
fn interval(
    schedule: &Schedule,
    row: &str,
    every: &[Option<u32>],
    times: &[Option<u32>],
) -> String {
    let mut known = every.iter().flatten();
    let first = known.next().copied().unwrap_or(2);
    if known.all(|n| *n == first) {
        let sides = schedule.rates.iter().any(|r| matches!(r.every, Every::Side(_)));
        return match first {
            1 => format!("every {row}"),
            2 if sides => format!("every {} row", side(schedule)),
            n => format!("every {} {row}", words::ordinal(n)),
        };
    }
    // A size that shapes no times is given some interval all the same.
    let each = every.iter().zip(times).map(|(every, times)| times.map(|_| every.unwrap_or(first)));
    format!("every {} {row}s", print::sizes(&Given::Each(each.collect()), u32::to_string))
}

fn side(schedule: &Schedule) -> &'static str {
    let wrong = schedule.rates.iter().any(|r| r.every == Every::Side(Side::Wrong));
    if wrong { "WS" } else { "RS" }
}

/// The rates as written for one size; times left unwritten are `None`.
fn written(schedule: &Schedule, size: SizeId) -> Vec<(u32, Option<u32>)> {
    let rate = |rate: &Rate| {
        let every = rate.every.interval(size)?;
        let times = match (&rate.times, &rate.every) {
            (Some(counts), _) => Some(*counts.given.get(size)?),
            (None, Every::Next) => Some(1),
            (None, _) => None,
        };
        Some((every, times))
    };
    schedule.rates.iter().filter_map(rate).collect()
}

/// Whether rates as written say the same as those chosen.
fn says(written: &[(u32, Option<u32>)], chosen: &[ChosenRate]) -> bool {
    written.len() == chosen.len()
        && written.iter().zip(chosen).all(|(&(every, times), rate)| {
            every == rate.every && times.is_none_or(|times| times == rate.times)
        })
}
