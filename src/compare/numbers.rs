//! The numbers of an instruction: what each counts, and what it comes to in
//! each size.

use super::finished::Named;
use super::{Amount, Cell, Noun, Number, SizeChange, Sizes};
use crate::measure::{Exact, Given, Length, SizeId};
use crate::model::{GaugeId, Model};
use crate::source::{Source, Span};
use crate::syntax::print;
use crate::syntax::tree::{
    Action, BindOff, CastOnPlace, Counts, EdgeRows, Every, Extent, Item, ItemKind, Lengths, Live,
    LiveValue, Mark, PickUp, RowEnd, Schedule, StarEnd, Step,
};

/// A number of one of the two patterns.
#[derive(Clone, Debug)]
pub(super) struct Numeral {
    pub(super) span: Span,
    /// As the author wrote it.
    pub(super) written: String,
    pub(super) noun: Noun,
    /// The length before it once more, in a second unit.
    pub(super) second: bool,
    /// What it is in each size of its own pattern.
    pub(super) cells: Vec<Cell>,
}

impl Numeral {
    /// What stands for it where only words are compared. A count has its word beside it, a length
    /// has its unit in it.
    pub(super) fn key(&self) -> &'static str {
        match self.noun {
            Noun::Stitches
            | Noun::Rows
            | Noun::Times
            | Noun::Wedges
            | Noun::Plain
            | Noun::Figure => "#",
            Noun::Length => "# length",
            Noun::Yarn => "# yarn",
            Noun::Grams => "# g",
            Noun::PutUps => "# put-ups",
            Noun::Percent => "# %",
            Noun::StitchGauge | Noun::RowGauge => "# gauge",
        }
    }

    /// Digits that are no number of the tree.
    pub(super) fn figure(text: &str, places: usize) -> Self {
        let amount = crate::measure::parse_exact(text).ok();
        let cell = amount.map_or(Cell::Unknown, |n| Cell::Is(Amount::Count(n, None)));
        Self {
            span: Span::default(),
            written: text.to_owned(),
            noun: Noun::Figure,
            second: false,
            cells: vec![cell; places],
        }
    }
}

/// Two lists of amounts, each by the sizes of its own pattern, size by size.
pub(super) fn in_sizes(
    old: Option<&[Cell]>,
    new: Option<&[Cell]>,
    sizes: &Sizes,
) -> Vec<SizeChange> {
    let cell = |side: Option<&[Cell]>, place: Option<SizeId>| {
        side.zip(place).and_then(|(side, place)| side.get(place.0).copied()).unwrap_or(Cell::Absent)
    };
    sizes
        .all
        .iter()
        .map(|pair| SizeChange {
            size: pair.name.clone(),
            old: cell(old, pair.old),
            new: cell(new, pair.new),
        })
        .collect()
}

/// Two numbers that answer to each other, size by size; `None` where nothing differs.
pub(super) fn paired(
    old: Option<&Numeral>,
    new: Option<&Numeral>,
    sizes: &Sizes,
) -> Option<Number> {
    let noun = new.or(old)?.noun;
    // What is the same in every size of its pattern can be compared whatever the sizes are called.
    let single = |side: Option<&Numeral>| {
        let (first, rest) = side?.cells.split_first()?;
        rest.iter().all(|cell| cell == first).then_some(*first)
    };
    let in_sizes = match (single(old), single(new)) {
        (Some(old), Some(new)) if sizes.in_both().next().is_none() => {
            vec![SizeChange { size: String::new(), old, new }]
        }
        _ => in_sizes(old.map(|n| n.cells.as_slice()), new.map(|n| n.cells.as_slice()), sizes),
    };
    let number = Number {
        noun,
        old: old.map(|side| side.written.clone()),
        new: new.map(|side| side.written.clone()),
        sizes: in_sizes,
    };
    let differs = number.sizes.iter().any(|size| !size.is_alone() && size.old != size.new);
    (number.changed() || differs).then_some(number)
}

/// What a value is in each size.
pub(super) fn cells<T>(
    given: &Given<T>,
    sizes: usize,
    mut amount: impl FnMut(SizeId, &T) -> Amount,
) -> Vec<Cell> {
    (0..sizes)
        .map(SizeId)
        .map(|size| match given.get(size) {
            Some(value) => Cell::Is(amount(size, value)),
            None if given.skips(size) => Cell::Skipped,
            None => Cell::Unknown,
        })
        .collect()
}

/// Reads the numbers of one step or paragraph, in the order of the text.
pub(super) struct Reader<'a> {
    pub(super) source: &'a Source,
    pub(super) model: &'a Model<'a>,
    /// The gauge in work in each size of the pattern.
    pub(super) gauges: Vec<Option<GaugeId>>,
    pub(super) found: Vec<Numeral>,
}

impl Reader<'_> {
    /// The numbers of a step itself, without its nested steps.
    pub(super) fn step(&mut self, step: &Step) {
        match &step.action {
            Action::CastOn { count, place, .. } => {
                self.count(Noun::Stitches, count);
                if let CastOnPlace::StartOfNext(rows) | CastOnPlace::EndOfNext(rows) = place {
                    self.count(Noun::Rows, rows);
                }
            }
            Action::Work { extent, .. } | Action::Repeat { extent, .. } => self.extent(extent),
            Action::Row { label, items } => {
                let next = label.iter().map(|label| &label.next);
                next.filter(|n| !n.span.is_empty()).for_each(|n| self.count(Noun::Rows, n));
                self.items(items);
            }
            Action::RepeatAt { schedule, .. } => self.schedule(schedule),
            Action::Even { amount, over, .. } => {
                use crate::syntax::tree::Amount::{By, To};
                let (To(counts) | By(counts)) = amount;
                self.count(Noun::Stitches, counts);
                over.iter().for_each(|rows| self.count(Noun::Rows, rows));
            }
            Action::Shape { each, schedule, .. } => {
                self.count(Noun::Stitches, each);
                self.schedule(schedule);
            }
            Action::Wedges { wedges, schedule, .. } => {
                self.count(Noun::Wedges, wedges);
                self.schedule(schedule);
            }
            Action::BindOff { amount: BindOff::All(counts) } => {
                counts.iter().for_each(|counts| self.count(Noun::Stitches, counts));
            }
            Action::ShortRows { count, rows, which }
            | Action::BindOff { amount: BindOff::StartOfNext { count, rows, which } } => {
                self.count(Noun::Stitches, count);
                let noun = match which {
                    EdgeRows::Next => Noun::Rows,
                    EdgeRows::EverySecond(_) => Noun::Times,
                };
                self.count(noun, rows);
            }
            Action::PickUp { amount: PickUp::Count(counts), .. }
            | Action::TurnHeel { to: counts } => {
                self.count(Noun::Stitches, counts);
            }
            Action::Stripes(stripes) => {
                stripes.iter().for_each(|one| self.count(Noun::Rows, &one.rows));
            }
            Action::JoinRound
            | Action::SameRows { .. }
            | Action::WorkFlat
            | Action::ChangeTo(_)
            | Action::Hold { .. }
            | Action::TakeUp(_)
            | Action::PickUp { .. }
            | Action::Part { .. }
            | Action::Reverse { .. }
            | Action::Together
            | Action::AsFor { .. }
            | Action::Close(_)
            | Action::Say => {}
        }
        step.stated.iter().for_each(|counts| self.count(Noun::Stitches, counts));
        step.remark.iter().for_each(|prose| self.live(&prose.live));
        self.found.sort_by_key(|numeral| numeral.span);
    }

    /// The live numbers of a paragraph.
    pub(super) fn live(&mut self, live: &[Live]) {
        for live in live {
            match &live.value {
                LiveValue::Counts(counts) => self.count(self.noun_after(live.span), counts),
                LiveValue::Lengths(lengths) => self.length(lengths),
                LiveValue::Name(_) => {}
            }
        }
    }

    /// What a live number counts, by the word after it.
    fn noun_after(&self, span: Span) -> Noun {
        let after = self.source.text.get(span.end..).unwrap_or("").trim_start();
        let word: String = after.chars().take_while(|c| c.is_alphabetic()).take(12).collect();
        match word.to_lowercase().as_str() {
            "st" | "sts" | "stitch" | "stitches" => Noun::Stitches,
            "row" | "rows" | "rnd" | "rnds" | "round" | "rounds" => Noun::Rows,
            "times" => Noun::Times,
            _ => Noun::Plain,
        }
    }

    fn extent(&mut self, extent: &Extent) {
        match extent {
            Extent::Rows(counts) => self.count(Noun::Rows, counts),
            Extent::Ridges(counts) => self.count(Noun::Plain, counts),
            Extent::Times { count, .. } => self.count(Noun::Times, count),
            Extent::UntilCount(count) => self.count(Noun::Stitches, count),
            Extent::Length(lengths) | Extent::Until { length: lengths, .. } => self.length(lengths),
            Extent::Once => {}
        }
    }

    fn schedule(&mut self, schedule: &Schedule) {
        for rate in &schedule.rates {
            if let Every::Nth(counts) = &rate.every {
                self.count(Noun::Rows, counts);
            }
            rate.times.iter().for_each(|counts| self.count(Noun::Times, counts));
        }
        schedule.until.iter().for_each(|counts| self.count(Noun::Stitches, counts));
    }

    fn items(&mut self, items: &[Item]) {
        for item in items {
            match &item.kind {
                ItemKind::Stitch { name, count: Some(counts) } => {
                    let noun = self.noun_of(&name.value);
                    self.count(noun, counts);
                }
                ItemKind::BindOff(counts) => {
                    counts.iter().for_each(|counts| self.count(Noun::Stitches, counts));
                }
                ItemKind::Run { until: RowEnd::Last(counts), .. }
                | ItemKind::Pattern(counts)
                | ItemKind::CastOn(counts)
                | ItemKind::Hold { count: counts, .. } => self.count(Noun::Stitches, counts),
                ItemKind::Group { items, times, .. } => {
                    self.items(items);
                    self.count(Noun::Times, times);
                }
                ItemKind::Star { items, until } => {
                    self.items(items);
                    match until {
                        StarEnd::Last(counts) => self.count(Noun::Stitches, counts),
                        StarEnd::Times { count, .. } => self.count(Noun::Times, count),
                        StarEnd::End | StarEnd::Marker { .. } => {}
                    }
                }
                ItemKind::InOne { items } => self.items(items),
                ItemKind::Stitch { count: None, .. }
                | ItemKind::Run { .. }
                | ItemKind::HoldRest { .. }
                | ItemKind::Turn
                | ItemKind::JoinYarn
                | ItemKind::WrapTurn
                | ItemKind::Marker { .. } => {}
            }
        }
    }

    /// `k4` is four stitches, `ssk 4 times` is not.
    fn noun_of(&self, stitch: &str) -> Noun {
        let own = self.model.document.front.abbreviations.iter().any(|a| a.name.value == stitch);
        let plain =
            !own && crate::stitch::find(stitch).is_some_and(|s| (s.takes, s.makes) == (1, 1));
        if plain { Noun::Stitches } else { Noun::Times }
    }

    /// What the author says a count of the step measures, and how wide that count is.
    pub(super) fn measured(&self, step: &Step) -> Vec<Named> {
        let own = counted(step).map(|counts| (step.marks.as_slice(), counts));
        let in_row = match &step.action {
            Action::Row { items, .. } => items.as_slice(),
            _ => &[],
        };
        let live = in_row.iter().filter_map(|item| match &item.kind {
            ItemKind::Stitch { count: Some(counts), .. } | ItemKind::BindOff(Some(counts)) => {
                Some((item.marks.as_slice(), counts))
            }
            ItemKind::Pattern(counts)
            | ItemKind::CastOn(counts)
            | ItemKind::Hold { count: counts, .. } => Some((item.marks.as_slice(), counts)),
            _ => None,
        });
        own.into_iter()
            .chain(live)
            .flat_map(|(marks, counts)| marks.iter().map(move |mark| (&mark.value, counts)))
            .filter_map(|(mark, counts)| match mark {
                Mark::Measure(expr) => Some((print::expr(expr), self.widths(counts))),
                _ => None,
            })
            .collect()
    }

    fn widths(&self, counts: &Counts) -> Vec<Cell> {
        let mut cells = self.cells(Noun::Stitches, counts);
        for cell in &mut cells {
            if let Cell::Is(Amount::Count(_, width)) = *cell {
                *cell = width.map_or(Cell::Unknown, |width| Cell::Is(Amount::Length(width)));
            }
        }
        cells
    }

    fn cells(&self, noun: Noun, counts: &Counts) -> Vec<Cell> {
        cells(&counts.given, self.model.sizes.len(), |size, n| {
            let exact = Exact::from_integer(i128::from(*n));
            Amount::Count(exact, self.extent_of(noun, exact, size))
        })
    }

    fn count(&mut self, noun: Noun, counts: &Counts) {
        let cells = self.cells(noun, counts);
        self.push(counts.span, noun, cells, false);
    }

    fn length(&mut self, lengths: &Lengths) {
        let mut second = false;
        let mut next = Some(lengths);
        while let Some(lengths) = next {
            let amount = |_, length: &Length| Amount::Length(*length);
            let cells = cells(&lengths.given, self.model.sizes.len(), amount);
            self.push(lengths.span, Noun::Length, cells, second);
            (next, second) = (lengths.also.as_deref(), true);
        }
    }

    /// The width that stitches make, or the length that rows make, at the gauge in work.
    fn extent_of(&self, noun: Noun, count: Exact, size: SizeId) -> Option<Length> {
        let gauge = self.gauges.get(size.0).copied().flatten()?;
        let gauge = self.model.gauges.get(gauge.0)?.gauge?;
        match noun {
            Noun::Stitches => Some(gauge.stitches.length(count)),
            Noun::Rows => Some(gauge.rows?.length(count)),
            _ => None,
        }
    }

    /// How many stitches there are after a step, and how wide they are.
    pub(super) fn leaves(&self, stitches: &[Option<i64>]) -> Vec<Cell> {
        let cell = |(size, stitches): (usize, &Option<i64>)| {
            stitches.map_or(Cell::Unknown, |n| {
                let exact = Exact::from_integer(i128::from(n));
                let width = self.extent_of(Noun::Stitches, exact, SizeId(size));
                Cell::Is(Amount::Count(exact, width))
            })
        };
        stitches.iter().enumerate().map(cell).collect()
    }

    fn push(&mut self, span: Span, noun: Noun, cells: Vec<Cell>, second: bool) {
        let written = self.source.slice(span).to_owned();
        self.found.push(Numeral { span, written, noun, second, cells });
    }
}

/// How many stitches a step says there are after it, or how many it works with.
fn counted(step: &Step) -> Option<&Counts> {
    use crate::syntax::tree::Amount::To;
    step.stated.as_ref().or(match &step.action {
        Action::CastOn { count, .. }
        | Action::Even { amount: To(count), .. }
        | Action::BindOff { amount: BindOff::All(Some(count)) }
        | Action::BindOff { amount: BindOff::StartOfNext { count, .. } }
        | Action::PickUp { amount: PickUp::Count(count), .. } => Some(count),
        Action::Shape { schedule, .. } | Action::Wedges { schedule, .. } => schedule.until.as_ref(),
        _ => None,
    })
}
