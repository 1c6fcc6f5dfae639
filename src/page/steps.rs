//! Instructions as lines of a page: the author's sentences, the counts they
//! lead to, and what a knitter needs written out.

use super::author::{Author, one_line};
use super::heel;
use super::sheet::{Block, Folded, Number, Part, StepLine, Table, Words, plain};
use super::spaced;
use super::turns;
use crate::diag::words::{self, capitalised};
use crate::measure::{Linear, Rows, SizeId};
use crate::model::GaugeId;
use crate::plan::facts;
use crate::plan::merge::{Merged, Running};
use crate::source::Span;
use crate::standards::NeedleSize;
use crate::syntax::tree::{
    Action, Amount, BindOff, CastOnPlace, Counts, EdgeRows, EvenRow, Every, Extent, FabricKind,
    Item, ItemKind, Mark, PickUp, Rate, Schedule, Setting, Side, Step,
};
use crate::work::{Trace, Visit};

/// What happened at a step, by the places of the sizes it is for.
type Sized<'a> = Vec<(usize, Option<&'a Visit>)>;

/// Writes the instructions of one section, in order.
pub(super) struct Steps<'a> {
    author: Author<'a>,
    /// The piece they make, by its place.
    piece: Option<usize>,
    /// The prose right before the next instruction speaks of needles.
    needles_said: bool,
    /// The part worked last, for `reverse`.
    last_part: Option<String>,
}

impl<'a> Steps<'a> {
    pub(super) fn new(author: Author<'a>, piece: Option<usize>) -> Self {
        Self { author, piece, needles_said: false, last_part: None }
    }

    /// Notes the prose that stands before the next instructions.
    pub(super) fn prose_before(&mut self, text: &str) {
        self.needles_said = text.to_lowercase().contains("needle");
    }

    /// The lines of a list of instructions.
    pub(super) fn lines(&mut self, steps: &[Step]) -> Vec<StepLine> {
        let mut lines = Vec::with_capacity(steps.len());
        for (index, step) in steps.iter().enumerate() {
            let line = self.line(step, steps.get(index + 1));
            let begins = self.begins_without(step, &line.sizes);
            lines.push(line);
            lines.extend(begins);
            self.needles_said = false;
        }
        lines
    }

    fn line(&mut self, step: &Step, next: Option<&Step>) -> StepLine {
        let count = self.count_after(step);
        let mut line = StepLine {
            label: self.author.label(step),
            sizes: self.sizes(step),
            place: Some(step.span),
            done: !self.only_says(step),
            ..StepLine::default()
        };
        match &step.action {
            Action::Part { name, .. } => {
                self.last_part = Some(name.value.clone());
                line.words = self.part(step);
                line.done = false;
                line.below = vec![Block::Steps(self.lines(&step.steps))];
            }
            Action::Together => {
                line.words = self.part(step);
                line.done = false;
                line.below = self.together(step);
            }
            _ => line.words = self.author.sentence(step, self.instead(step), count),
        }
        if let Action::Shape { schedule, .. }
        | Action::Wedges { schedule, .. }
        | Action::RepeatAt { schedule, .. } = &step.action
        {
            line.below.extend(self.rows_to_shape(step, schedule));
        }
        if let Action::Even { over: None, .. } = &step.action {
            line.below.extend(self.even(step, next));
        }
        if let Action::ShortRows { count, rows, which } = &step.action {
            line.below.extend(self.turns((count, rows, *which)));
        }
        if let Action::TurnHeel { .. } = &step.action {
            line.below.extend(self.heel(step));
        }
        line
    }

    fn only_says(&self, step: &Step) -> bool {
        let Action::Say = step.action else { return false };
        let words = step.remark.as_ref().map_or("", |remark| self.author.slice(remark.span));
        ["note", "tip", "caution"].iter().any(|word| {
            words.get(..word.len()).is_some_and(|start| start.eq_ignore_ascii_case(word))
        })
    }

    /// The sizes an instruction is for, where it is not for all.
    fn sizes(&self, step: &Step) -> Vec<usize> {
        let sizes = &self.author.checked.model.sizes;
        let place = |name: &str| sizes.iter().position(|size| size == name);
        if !step.only.is_empty() {
            return step.only.iter().filter_map(|only| place(&only.value)).collect();
        }
        // A size whose number is `-` skips the step, and one that shapes no times does nothing.
        let shapes = matches!(step.action, Action::Shape { .. } | Action::RepeatAt { .. });
        let works = |trace: &Trace| {
            let visit = self.own_visit(trace, step);
            visit.is_some_and(|visit| !shapes || visit.rows_before != visit.rows_after)
        };
        let traces = self.traces();
        let working: Vec<usize> = (0..traces.len()).filter(|at| works(&traces[*at])).collect();
        if working.len() == traces.len() { Vec::new() } else { working }
    }

    /// What is measured from a step begins there in the sizes that do nothing there, too.
    fn begins_without(&self, step: &Step, sizes: &[usize]) -> Option<StepLine> {
        let names = &self.author.checked.model.sizes;
        let others = || (0..names.len()).filter(|size| !sizes.contains(size));
        let name = step.marks.iter().find_map(|mark| match &mark.value {
            Mark::Starts(name) => Some(name),
            _ => None,
        })?;
        let label: Vec<String> = others().filter_map(|size| names.get(size).cloned()).collect();
        (step.only.is_empty() && !sizes.is_empty()).then(|| StepLine {
            label: Some(format!("For {}:", words::list(&label, "and"))),
            words: vec![plain(format!("the {name} begins here."))],
            sizes: others().collect(),
            ..StepLine::default()
        })
    }

    // ---- Words of our own ------------------------------------------------------

    /// Words that say better what the author's say in few; `None` keeps the author's.
    fn instead(&self, step: &Step) -> Option<Words> {
        // Words of the author's own are kept; a color alone is said again.
        let color_leads = |lead: Span| step.color.as_ref().is_some_and(|c| c.span.end == lead.end);
        if step.lead.is_some_and(|lead| !color_leads(lead)) {
            return None;
        }
        let color = step.color.as_ref().map(|color| color.value.as_str());
        let only = self.only(step);
        let words = match &step.action {
            Action::ChangeTo(name) => {
                // A color needs no more words than the author's.
                self.author.checked.model.gauge_named(&name.value)?;
                let mut words = self.change_to(step, &name.value);
                words.extend(color.map(|color| plain(format!(" and {color}"))));
                words
            }
            Action::CastOn { count, place: CastOnPlace::Here, gauge } => {
                let needle = self.needle_of(self.visit(step).and_then(|v| v.gauge));
                let fresh = self.visit(step).is_some_and(|v| v.before == Linear::default());
                let needle = needle.filter(|_| fresh && gauge.is_some() && !self.needles_said)?;
                let number = self.author.counts(count)?;
                // What follows the number in the author's words (`sts`) is said here.
                let color = color.map_or(String::new(), |color| format!(" and {color}"));
                let words = vec![
                    plain(format!("with {needle} needles{color}, cast on ")),
                    Part::Number(number),
                    plain(" sts"),
                ];
                return Some(with(only, words));
            }
            _ if color.is_some() => return None,
            Action::Reverse { name, of } => self.reverse(
                &name.value,
                of.as_ref().map(|of| of.value.as_str()).or(self.last_part.as_deref()),
            ),
            Action::AsFor { piece, to: Some(to), reversed } => {
                let mut words = self.as_for(&piece.value, &to.value)?;
                words.extend(reversed.then(|| plain(", reversing all shaping")));
                words
            }
            _ => return None,
        };
        Some(with(only, words))
    }

    /// `sizes L and XL only: `, as written.
    fn only(&self, step: &Step) -> Option<String> {
        let last = step.only.last()?;
        let text = self.author.slice(step.span);
        let length = last.span.end.checked_sub(step.span.start)?;
        let colon = text.get(length..)?.find(':')?;
        Some(format!("{} ", one_line(text.get(..=length + colon)?).trim()))
    }

    fn change_to(&self, step: &Step, name: &str) -> Words {
        let visit = self.visit(step);
        let now = self.needle_of(visit.and_then(|v| v.gauge));
        let before = self.visit_before(step);
        let old = before.and_then(|v| self.needle_of(v.gauge));
        let verb = if before.is_some() { "change to" } else { "take" };
        vec![plain(match now {
            Some(now) if old.as_ref() == Some(&now) => format!("go on in {name}"),
            Some(now) => format!("{verb} {now} needles"),
            None => format!("{verb} the needles for the {name}"),
        })]
    }

    fn needle_of(&self, gauge: Option<GaugeId>) -> Option<String> {
        let entry = self.author.checked.model.gauges.get(gauge?.0)?.entry;
        let written = &entry.needle.as_ref()?.value;
        Some(written.parse::<NeedleSize>().map_or_else(|_| written.clone(), |n| n.to_string()))
    }

    fn reverse(&self, name: &str, of: Option<&str>) -> Words {
        let of = match of {
            Some(of) if of.starts_with(char::is_lowercase) => format!("the {of}"),
            Some(of) => of.to_owned(),
            None => "the first side".to_owned(),
        };
        vec![plain(format!("{name}: work as for {of}, reversing all shaping"))]
    }

    /// `work as for Back as far as "..."`: names of places are not printed, so
    /// the instruction that begins there is quoted.
    fn as_for(&self, piece: &str, to: &str) -> Option<Words> {
        let model = &self.author.checked.model;
        let steps = &model.piece_named(piece)?.steps;
        let begins = |step: &&&Step| {
            step.marks
                .iter()
                .any(|m| matches!(&m.value, Mark::Starts(name) if name.eq_ignore_ascii_case(to)))
        };
        let stop = steps.iter().find(begins)?;
        let mut words = vec![plain(format!("work as for {piece} as far as “"))];
        words.extend(self.author.sentence(stop, None, None));
        if words.last() == Some(&plain(".")) {
            words.pop();
        }
        words.push(plain("” and stop before it"));
        Some(words)
    }

    /// The words that open a nested list, with the author's remark.
    fn part(&self, step: &Step) -> Words {
        let mut words = self.author.sentence(step, None, None);
        if let Some(Part::Plain(last)) = words.last_mut()
            && last == "."
        {
            words.pop();
            words.push(plain(":"));
        }
        words
    }

    // ---- Counts ----------------------------------------------------------------

    fn traces(&self) -> &'a [Trace] {
        &self.author.checked.traces
    }

    fn own_visit<'t>(&self, trace: &'t Trace, step: &Step) -> Option<&'t Visit> {
        let mut own = trace.visits.iter();
        own.find(|visit| visit.step == step.span && Some(visit.piece) == self.piece)
    }

    /// What happened at a step, in the first size that works it.
    fn visit(&self, step: &Step) -> Option<&'a Visit> {
        self.traces().iter().find_map(|trace| self.own_visit(trace, step))
    }

    /// What happened right before a step in the same piece.
    fn visit_before(&self, step: &Step) -> Option<&'a Visit> {
        self.traces().iter().find_map(|trace| {
            let own: Vec<&Visit> =
                trace.visits.iter().filter(|v| Some(v.piece) == self.piece).collect();
            let place = own.iter().position(|v| v.step == step.span)?;
            own.get(place.checked_sub(1)?).copied()
        })
    }

    /// `(88 (96, 104) sts)` where the count changed and the words do not say to what.
    fn count_after(&self, step: &Step) -> Option<Words> {
        // Sizes that an instruction is not for have no count of it.
        let mine = self.sizes(step);
        let visits: Sized<'_> = self
            .traces()
            .iter()
            .enumerate()
            .filter(|(size, _)| step.only.is_empty() || mine.contains(size))
            .map(|(size, trace)| (size, self.own_visit(trace, step)))
            .collect();
        if let Some(times) = times_after(step, &visits) {
            return Some(times);
        }
        if step.stated.is_some() || says_its_count(step) {
            return None;
        }
        let worked = || visits.iter().filter_map(|(_, visit)| *visit);
        let changes = worked().any(|visit| visit.before != visit.after);
        let after = |visit: &Visit| visit.after.known().filter(|n| *n > 0);
        if !changes || !worked().any(|visit| after(visit).is_some()) {
            return None;
        }
        let each = visits.iter().map(|(size, visit)| {
            let n = visit.and_then(after);
            (*size, n.map_or("-".to_owned(), |n| n.to_string()))
        });
        let each: Vec<(usize, String)> = each.collect();
        let one = each.iter().all(|(_, n)| n == "1" || n == "-");
        let noun = match (divides(step), one) {
            (true, _) => " sts in work)",
            (false, true) => " st)",
            (false, false) => " sts)",
        };
        Some(vec![plain("("), Part::Number(Number::by_size(each)), plain(noun)])
    }

    // ---- What is written out ---------------------------------------------------

    /// The row of an even change, for each size.
    fn even(&self, step: &Step, next: Option<&Step>) -> Vec<Block> {
        let rows: Vec<(usize, _)> = self
            .traces()
            .iter()
            .enumerate()
            .filter_map(|(size, trace)| {
                Some((size, facts::even_row(self.own_visit(trace, step)?)?))
            })
            .collect();
        let purl = self.purled(step, next);
        let mut lines = spaced::lines(&rows, &self.author.checked.model.sizes, purl);
        if !lines.is_empty() {
            lines.extend(self.unchanged(step));
        }
        if lines.is_empty() { Vec::new() } else { vec![Block::Steps(lines)] }
    }

    /// The sizes in which an even change changes nothing.
    fn unchanged(&self, step: &Step) -> Option<StepLine> {
        let stays = |trace: &Trace| {
            self.own_visit(trace, step).is_some_and(|visit| visit.before == visit.after)
        };
        let traces = self.traces().iter().enumerate();
        let sizes: Vec<usize> =
            traces.filter(|(_, trace)| stays(trace)).map(|(size, _)| size).collect();
        let all = &self.author.checked.model.sizes;
        let names: Vec<String> = sizes.iter().filter_map(|size| all.get(*size).cloned()).collect();
        (!names.is_empty()).then(|| StepLine {
            label: Some(format!("For {}:", words::list(&names, "and"))),
            words: vec![plain("there are as many already.")],
            sizes,
            ..StepLine::default()
        })
    }

    /// The stitches that are left unworked at each turn of an edge, from the first.
    fn turns(&self, (count, rows, which): (&Counts, &Counts, EdgeRows)) -> Option<Block> {
        let each: Vec<turns::Sized> = (0..self.traces().len())
            .filter_map(|size| {
                let value = |counts: &Counts| counts.given.get(SizeId(size)).copied();
                Some((size, facts::turns(value(count)?, value(rows)?, which)))
            })
            .collect();
        Some(Block::Steps(vec![turns::line(&each, which)?]))
    }

    /// The rows of a heel that is turned.
    fn heel(&self, step: &Step) -> Option<Block> {
        let heels: Vec<heel::Sized> = self
            .traces()
            .iter()
            .enumerate()
            .filter_map(|(size, trace)| {
                let (heel, turned) = facts::turned_heel(self.own_visit(trace, step)?)?;
                Some((size, heel, turned))
            })
            .collect();
        let visit =
            heels.first().and_then(|(size, ..)| self.own_visit(self.traces().get(*size)?, step));
        let first = visit.and_then(facts::side_of_heel);
        let names = &self.author.checked.model.sizes;
        (!heels.is_empty()).then(|| Block::Steps(heel::lines(&heels, names, first)))
    }

    /// Whether the row of an even change is a purl row: the author says so, or
    /// it is a wrong-side row with stockinette before or after it.
    fn purled(&self, step: &Step, next: Option<&Step>) -> bool {
        match step.action {
            Action::Even { row: Some(EvenRow::Knit), .. } => return false,
            Action::Even { row: Some(EvenRow::Purl), .. } => return true,
            _ => {}
        }
        let remark = step.remark.as_ref().map_or("", |remark| self.author.slice(remark.span));
        let remark = remark.to_lowercase();
        if remark.contains("purl") || remark.contains("knit") {
            return remark.contains("purl");
        }
        let plain_next = next.is_some_and(|next| {
            matches!(&next.action, Action::Work { fabric: Some(fabric), .. }
                if fabric.kind == FabricKind::Stockinette)
        });
        plain_next && self.visit(step).and_then(facts::side_before) == Some(Side::Wrong)
    }

    /// The numbers of the rows that a schedule shapes, for each size.
    fn rows_to_shape(&self, step: &Step, schedule: &Schedule) -> Option<Block> {
        let names = &self.author.checked.model.sizes;
        let lines = self.traces().iter().enumerate().filter_map(|(size, trace)| {
            let visit = self.own_visit(trace, step)?;
            let (size_id, begins) = (SizeId(size), facts::side_before(visit));
            if !facts::keeps_its_sides(schedule, visit, size_id, begins) {
                return None;
            }
            let worked = facts::worked_schedule(schedule, visit, size_id, begins);
            let rows: Vec<String> = worked.shaped_rows().map(|row| row.0.to_string()).collect();
            let rows = match rows.as_slice() {
                [] => "none".to_owned(),
                rows => rows.join(", "),
            };
            Some(match names.get(size).filter(|_| names.len() > 1) {
                Some(name) => (Some(size), format!("{name}: {rows}")),
                None => (None, rows),
            })
        });
        let lines: Vec<(Option<usize>, String)> = lines.collect();
        // Two rows are soon counted.
        let worth = lines.iter().any(|(_, line)| line.matches(',').count() > 1);
        let rounds = self.visit(step).is_some_and(|visit| visit.setting == Setting::Round);
        let rows = if rounds { "rounds" } else { "rows" };
        let summary = format!("Which {rows}? Counted from here, the next being 1");
        worth.then_some(Block::Folded(Folded { summary, lines }))
    }

    /// Instructions that run at the same time, and a table of the rows on which something is due.
    fn together(&mut self, step: &Step) -> Vec<Block> {
        let mut letters = ('A'..='Z').map(String::from);
        let mut lines = self.lines(&step.steps);
        let mut shaped = Vec::new();
        for (line, inner) in lines.iter_mut().zip(&step.steps) {
            if let Action::Shape { schedule, .. } = &inner.action {
                let Some(letter) = letters.next() else { break };
                line.label = Some(letter.clone());
                line.done = false;
                shaped.push((letter, inner, schedule));
            }
        }
        for line in &mut lines {
            // Rows are told for all of them together.
            line.below.retain(|block| !matches!(block, Block::Folded(_)));
        }
        let mut blocks = vec![Block::Steps(lines)];
        let mut known = true;
        let sizes: Vec<(usize, Merged)> = self
            .traces()
            .iter()
            .enumerate()
            .filter_map(|(size, trace)| {
                let schedules: Option<Vec<_>> = shaped
                    .iter()
                    .map(|(_, inner, schedule)| {
                        let visit = self.own_visit(trace, inner)?;
                        // What runs at the same time begins on the side that the others do.
                        let begins = visit.next_side;
                        known &= facts::keeps_its_sides(schedule, visit, SizeId(size), begins);
                        Some(facts::worked_schedule(schedule, visit, SizeId(size), begins))
                    })
                    .collect();
                let schedules = schedules?;
                let running: Vec<Running<'_>> =
                    schedules.iter().map(|s| Running { after: Rows(0), schedule: s }).collect();
                Some((size, Merged::new(&running)))
            })
            .collect();
        let letters: Vec<&str> = shaped.iter().map(|(letter, ..)| letter.as_str()).collect();
        if let (Some(table), true) = (self.merged(&sizes, &letters), known && letters.len() > 1) {
            blocks.push(Block::Table(table));
        }
        blocks
    }

    fn merged(&self, sizes: &[(usize, Merged)], letters: &[&str]) -> Option<Table> {
        let names = &self.author.checked.model.sizes;
        let mut rows: Vec<Rows> =
            sizes.iter().flat_map(|(_, m)| m.shaped().iter().map(|s| s.row)).collect();
        rows.sort_unstable();
        rows.dedup();
        let one = names.len() < 2;
        let mut head = vec!["Row".to_owned()];
        head.extend(sizes.iter().map(|(size, _)| match names.get(*size) {
            Some(name) if !one => name.clone(),
            _ => "Shape".to_owned(),
        }));
        let cell = |merged: &Merged, row: Rows| {
            let which = merged.shaped().iter().find(|shaped| shaped.row == row);
            let which = which.map_or(&[][..], |shaped| shaped.which.as_slice());
            let which: Vec<&str> = which.iter().filter_map(|w| letters.get(*w).copied()).collect();
            which.join(" ")
        };
        let lines = rows.iter().map(|row| {
            let cells = sizes.iter().map(|(_, merged)| cell(merged, *row));
            std::iter::once(row.0.to_string()).chain(cells).collect()
        });
        let column_sizes =
            std::iter::once(None).chain(sizes.iter().map(|(size, _)| (!one).then_some(*size)));
        (!rows.is_empty()).then(|| Table {
            caption: "The rows to shape, counted from here, the next being 1".to_owned(),
            head,
            column_sizes: column_sizes.collect(),
            rows: lines.collect(),
        })
    }
}

fn with(only: Option<String>, mut words: Words) -> Words {
    if let Some(only) = only {
        words.insert(0, plain(only));
    } else if let Some(Part::Plain(first)) = words.first_mut() {
        *first = capitalised(first);
    }
    words
}

/// Whether the words of a step end on the count there is after it.
fn says_its_count(step: &Step) -> bool {
    match &step.action {
        Action::CastOn { place: CastOnPlace::Here, .. }
        | Action::Even { amount: Amount::To(_), .. }
        | Action::BindOff { amount: BindOff::All(_) }
        | Action::PickUp { amount: PickUp::Count(_), .. }
        | Action::Part { .. }
        | Action::Reverse { .. }
        | Action::Hold { .. }
        | Action::TurnHeel { .. }
        | Action::ShortRows { .. }
        | Action::Close(_)
        | Action::Say => true,
        Action::Shape { schedule, .. }
        | Action::Wedges { schedule, .. }
        | Action::RepeatAt { schedule, .. } => schedule.until.is_some(),
        Action::Repeat { extent: Extent::UntilCount(_), .. } => true,
        Action::Row { .. } => divides_alike(step),
        _ => false,
    }
}

/// Whether a row parts the stitches into groups, of which one stays in work.
fn divides(step: &Step) -> bool {
    let Action::Row { items, .. } = &step.action else { return false };
    items.iter().any(parts)
}

fn parts(item: &Item) -> bool {
    matches!(item.kind, ItemKind::BindOff(_) | ItemKind::Hold { .. } | ItemKind::HoldRest { .. })
}

/// Whether a row binds off or holds between two groups of as many stitches,
/// whose number is written on both sides.
fn divides_alike(step: &Step) -> bool {
    let Action::Row { items, .. } = &step.action else { return false };
    let [first, middle, last] = items.as_slice() else { return false };
    let count = |item: &Item| match &item.kind {
        ItemKind::Stitch { count: Some(count), .. } | ItemKind::Pattern(count) => {
            Some(count.given.clone())
        }
        _ => None,
    };
    parts(middle) && count(first).is_some() && count(first) == count(last)
}

/// `(4 (5, 6) times)` after shaping that goes on until a count is reached.
fn times_after(step: &Step, visits: &Sized<'_>) -> Option<Words> {
    let (Action::Shape { schedule, .. }
    | Action::Wedges { schedule, .. }
    | Action::RepeatAt { schedule, .. }) = &step.action
    else {
        return None;
    };
    let goes_on = |rate: &Rate| rate.times.is_none() && rate.every != Every::Next;
    let open = schedule.rates.last().is_some_and(goes_on);
    if !open || schedule.rates.len() != 1 {
        return None;
    }
    let each = visits.iter().map(|(size, visit)| {
        let times = visit.and_then(|v| v.shapings.as_ref()).and_then(Linear::known);
        (*size, times.map_or("-".to_owned(), |n| n.to_string()))
    });
    let number = Number::by_size(each.collect());
    if number.text == "1" {
        return Some(vec![plain("(once)")]);
    }
    Some(vec![plain("("), Part::Number(number), plain(" times)")])
}
