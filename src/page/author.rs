//! The author's words, made fit to read: live numbers without their braces,
//! marks and names of gauges left out, sentences with a capital and a stop.

use super::sheet::{Number, Part, Words, plain};
use super::skipped;
use crate::Checked;
use crate::diag::words::capitalised;
use crate::measure::SizeId;
use crate::source::{Source, Span};
use crate::syntax::print;
use crate::syntax::tree::{
    Action, Amount, BindOff, Counts, Item, ItemKind, Lengths, LiveValue, Mark, PickUp, Prose, Step,
};
use crate::syntax::visit::{self, Number as Written};

/// A checked pattern and its text.
#[derive(Clone, Copy)]
pub(super) struct Author<'a> {
    pub(super) source: &'a Source,
    pub(super) checked: &'a Checked<'a>,
}

/// A stretch of the source and what is shown in its place.
struct Cut {
    span: Span,
    shown: Words,
}

impl<'a> Author<'a> {
    pub(super) fn slice(&self, span: Span) -> &'a str {
        self.source.slice(span)
    }

    /// How many sizes there are.
    pub(super) fn sizes(&self) -> usize {
        self.checked.model.sizes.len()
    }

    // ---- Prose -----------------------------------------------------------------

    /// A block of prose, every byte but the braces of its live numbers.
    pub(super) fn prose(&self, prose: &Prose) -> Words {
        let text = |text: &str| Part::Markdown(text.replace("\r\n", "\n"));
        self.stretch(prose.span, self.lives(prose), text)
    }

    /// A remark within a sentence: on one line.
    fn remark(&self, prose: &Prose) -> Words {
        self.stretch(prose.span, self.lives(prose), |text| Part::Markdown(one_line(text)))
    }

    fn lives(&self, prose: &Prose) -> Vec<Cut> {
        let shown = |value: &LiveValue| match value {
            LiveValue::Counts(counts) => {
                self.counts(counts).into_iter().map(Part::Number).collect()
            }
            LiveValue::Lengths(lengths) => self.lengths(lengths),
            LiveValue::Name(name) => match self.named(&name.value) {
                Some(counts) => self.counts(counts).into_iter().map(Part::Number).collect(),
                None => vec![plain(name.value.as_str())],
            },
        };
        prose.live.iter().map(|live| Cut { span: live.span, shown: shown(&live.value) }).collect()
    }

    /// The count that `[as ...]` names.
    fn named(&self, name: &str) -> Option<&'a Counts> {
        let document = self.checked.model.document;
        let steps = document.sections.iter().flat_map(|section| &section.blocks);
        steps
            .filter_map(|block| match block {
                crate::syntax::tree::Block::Steps(steps) => Some(steps),
                _ => None,
            })
            .flatten()
            .find_map(|step| named_in(step, name))
    }

    // ---- Numbers ---------------------------------------------------------------

    /// A count as it is written; `None` where it is a word (`twice`) or not written.
    pub(super) fn counts(&self, counts: &Counts) -> Option<Number> {
        let written = self.slice(counts.span);
        if written.is_empty() || written.ends_with(char::is_alphabetic) {
            return None;
        }
        let each = counts.given.listed().map(|_| {
            self.each(written, |size| match counts.given.get(size) {
                Some(n) => n.to_string(),
                None => "-".to_owned(),
            })
        });
        Some(Number {
            place: Some(counts.span),
            text: one_line(written),
            each: each.unwrap_or_default(),
        })
    }

    fn lengths(&self, lengths: &Lengths) -> Words {
        self.stretch(lengths.span, self.length_cuts(lengths), |text| plain(one_line(text)))
    }

    fn length_cuts(&self, lengths: &Lengths) -> Vec<Cut> {
        let mut cuts = Vec::new();
        let mut next = Some(lengths);
        while let Some(lengths) = next {
            let written = self.slice(lengths.numbers);
            let each = lengths.given.listed().map(|_| {
                self.each(written, |size| match lengths.given.get(size) {
                    Some(length) => print::amount(*length, lengths.unit),
                    None => "-".to_owned(),
                })
            });
            let number = Number {
                place: Some(lengths.span),
                text: one_line(written),
                each: each.unwrap_or_default(),
            };
            cuts.push(Cut { span: lengths.numbers, shown: vec![Part::Number(number)] });
            next = lengths.also.as_deref();
        }
        cuts
    }

    /// The words for each size, as written where that can be told.
    fn each(&self, written: &str, value: impl Fn(SizeId) -> String) -> Vec<(usize, String)> {
        let own = split_by_size(written).filter(|own| own.len() == self.sizes());
        let sizes = 0..self.sizes();
        match own {
            Some(own) => sizes.zip(own).collect(),
            None => sizes.map(|size| (size, value(SizeId(size)))).collect(),
        }
    }

    // ---- Instructions ----------------------------------------------------------

    /// An instruction as a sentence: what to do, then `count`, then the
    /// author's remark. `instead` stands for the author's words where it is given.
    pub(super) fn sentence(
        &self,
        step: &Step,
        instead: Option<Words>,
        count: Option<Words>,
    ) -> Words {
        let mut words = instead.unwrap_or_else(|| self.instruction(step));
        trim_end(&mut words);
        if let Some(count) = count {
            trim_stop(&mut words);
            words.push(plain(" "));
            words.extend(count);
        }
        if let (Some(remark), false) = (&step.remark, matches!(step.action, Action::Say)) {
            trim_stop(&mut words);
            if !is_empty(&words) {
                words.push(plain("; "));
            }
            words.extend(self.remark(remark));
            trim_end(&mut words);
        }
        // What shares its sentence with the step before is a sentence of its own on a page.
        if let Some(link) = step.link {
            if link.verbless {
                words.insert(0, plain(format!("{} ", print::verb(&step.action))));
            }
            if let Some(only) = print::only(&step.only).filter(|_| self.label(step).is_none()) {
                words.insert(0, plain(only));
            }
        }
        capitalise(&mut words);
        full_stop(&mut words);
        words
    }

    /// The instruction alone, without its label, marks and remark.
    fn instruction(&self, step: &Step) -> Words {
        if let (Action::Say, Some(said)) = (&step.action, &step.remark) {
            return self.remark(said);
        }
        let span = Span::new(self.after_label(step), self.before_remark(step));
        let mut cuts = self.numbers(step);
        cuts.extend(self.marks(step));
        cuts.extend(self.gauge(step));
        cuts.extend(
            skipped::marks(self.source, step, self.sizes())
                .into_iter()
                .map(|(place, part)| Cut { span: Span::at(place), shown: vec![part] }),
        );
        cuts.retain(|cut| span.contains(cut.span));
        self.stretch(span, cuts, |text| plain(one_line(text)))
    }

    /// `Row 1 (RS)`, where the instruction has a label before a colon.
    pub(super) fn label(&self, step: &Step) -> Option<String> {
        let label = step.action.label()?;
        let rest = self.slice(Span::new(label.span.end, step.span.end.max(label.span.end)));
        let mut text = String::new();
        match (step.link, print::only(&step.only)) {
            (Some(_), only) => text.push_str(&only.unwrap_or_default()),
            (None, None) => {}
            (None, Some(_)) => {
                let before = Span::new(step.span.start, label.span.start);
                text.push_str(&one_line(self.slice(before)));
            }
        }
        text.push_str(&one_line(self.slice(label.span)));
        rest.trim_start().starts_with(':').then(|| capitalised(text.trim()))
    }

    fn after_label(&self, step: &Step) -> usize {
        let Some(label) = step.action.label() else { return step.span.start };
        let rest = self.slice(Span::new(label.span.end, step.span.end.max(label.span.end)));
        let blank = rest.len() - rest.trim_start().len();
        if rest.trim_start().starts_with(':') {
            label.span.end + blank + 1
        } else {
            step.span.start
        }
    }

    /// Where the instruction ends and a `;` or nothing follows.
    fn before_remark(&self, step: &Step) -> usize {
        let Some(remark) = &step.remark else { return step.span.end };
        let before = self.slice(Span::new(step.span.start, remark.span.start));
        step.span.start + before.rfind(';').unwrap_or(before.len())
    }

    /// The numbers of a step: without braces, and with `sts` where the word is wanting.
    fn numbers(&self, step: &Step) -> Vec<Cut> {
        let stitches = stitch_counts(step);
        let mut cuts = Vec::new();
        visit::in_step(step, &mut |number| match number {
            Written::Counts(counts) if step.span.contains(counts.span) => {
                let Some(number) = self.counts(counts) else { return };
                let one = counts.given.values().all(|n| *n == 1);
                let mut span = counts.span;
                if counts.live {
                    span = self.with_braces(span);
                }
                let mut shown = vec![Part::Number(number)];
                if stitches.contains(&counts.span) && !self.says_stitches(span.end) {
                    shown.push(plain(if one { " st" } else { " sts" }));
                }
                cuts.push(Cut { span, shown });
            }
            Written::Lengths(lengths) if step.span.contains(lengths.span) => {
                cuts.extend(self.length_cuts(lengths));
            }
            _ => {}
        });
        cuts
    }

    fn with_braces(&self, span: Span) -> Span {
        let (before, after) =
            (self.source.text.get(..span.start), self.source.text.get(span.end..));
        let open = before.map_or(0, |t| t.len() - t.trim_end().len());
        let close = after.map_or(0, |t| t.len() - t.trim_start().len());
        let start = span.start - open;
        let opened = self.source.text.get(..start).is_some_and(|t| t.ends_with('{'));
        let closed = self.source.text.get(span.end + close..).is_some_and(|t| t.starts_with('}'));
        if opened && closed { Span::new(start - 1, span.end + close + 1) } else { span }
    }

    fn says_stitches(&self, at: usize) -> bool {
        let rest = self.source.text.get(at..).unwrap_or("").trim_start();
        let word = rest.split(|c: char| !c.is_alphanumeric()).next().unwrap_or("");
        matches!(word.to_lowercase().as_str(), "st" | "sts" | "stitch" | "stitches" | "more")
    }

    /// The marks of a step and of the items of its row, with the blank before each.
    fn marks(&self, step: &Step) -> Vec<Cut> {
        let mut spans: Vec<Span> = step.marks.iter().map(|mark| mark.span).collect();
        if let Action::Row { items, .. } = &step.action {
            item_marks(items, &mut spans);
        }
        let cut = |span: Span| Cut { span: self.with_blank_before(span), shown: Vec::new() };
        spans.into_iter().map(cut).collect()
    }

    fn with_blank_before(&self, span: Span) -> Span {
        let before = self.source.text.get(..span.start).unwrap_or("");
        Span::new(before.trim_end().len(), span.end)
    }

    /// ` in brim` of a cast-on.
    fn gauge(&self, step: &Step) -> Option<Cut> {
        let Action::CastOn { gauge: Some(gauge), .. } = &step.action else { return None };
        let word = self.with_blank_before(Span::at(gauge.span.start)).start;
        let start = self.source.text.get(..word).filter(|t| t.ends_with("in")).map(|t| t.len() - 2);
        let span = Span::new(start.unwrap_or(gauge.span.start), gauge.span.end);
        Some(Cut { span: self.with_blank_before(span), shown: Vec::new() })
    }

    /// The text of a span with some stretches shown otherwise.
    fn stretch(&self, span: Span, mut cuts: Vec<Cut>, text: impl Fn(&str) -> Part) -> Words {
        cuts.sort_by_key(|cut| (cut.span.start, cut.span.end));
        let mut words = Words::new();
        let mut at = span.start;
        for cut in cuts {
            if cut.span.start < at || cut.span.end > span.end {
                continue;
            }
            if cut.span.start > at {
                words.push(text(self.slice(Span::new(at, cut.span.start))));
            }
            words.extend(cut.shown);
            at = cut.span.end;
        }
        if at < span.end {
            words.push(text(self.slice(Span::new(at, span.end))));
        }
        words
    }
}

fn named_in<'d>(step: &'d Step, name: &str) -> Option<&'d Counts> {
    let is_named = step
        .marks
        .iter()
        .any(|mark| matches!(&mark.value, Mark::As(own) if own.eq_ignore_ascii_case(name)));
    if is_named && let Some(counts) = step.stated.as_ref().or_else(|| main_count(step)) {
        return Some(counts);
    }
    if let Action::Row { items, .. } = &step.action
        && let Some(counts) = named_item(items, name)
    {
        return Some(counts);
    }
    step.steps.iter().find_map(|inner| named_in(inner, name))
}

fn named_item<'d>(items: &'d [Item], name: &str) -> Option<&'d Counts> {
    items.iter().find_map(|item| {
        let is_named = item
            .marks
            .iter()
            .any(|mark| matches!(&mark.value, Mark::As(own) if own.eq_ignore_ascii_case(name)));
        match &item.kind {
            ItemKind::Stitch { count, .. } | ItemKind::BindOff(count) if is_named => count.as_ref(),
            ItemKind::Pattern(count) | ItemKind::CastOn(count) | ItemKind::Hold { count, .. }
                if is_named =>
            {
                Some(count)
            }
            ItemKind::Group { items, .. } | ItemKind::Star { items, .. } => named_item(items, name),
            _ => None,
        }
    })
}

/// The count an instruction is about.
fn main_count(step: &Step) -> Option<&Counts> {
    match &step.action {
        Action::CastOn { count, .. } => Some(count),
        Action::Even { amount: Amount::To(count) | Amount::By(count), .. } => Some(count),
        Action::Shape { schedule, .. } | Action::Wedges { schedule, .. } => schedule.until.as_ref(),
        Action::BindOff { amount: BindOff::All(count) } => count.as_ref(),
        Action::BindOff { amount: BindOff::StartOfNext { count, .. } }
        | Action::ShortRows { count, .. } => Some(count),
        Action::PickUp { amount: PickUp::Count(count), .. } => Some(count),
        _ => None,
    }
}

/// Where the counts of stitches stand that may lack their noun.
fn stitch_counts(step: &Step) -> Vec<Span> {
    let each = match &step.action {
        Action::Shape { each, .. } => Some(each),
        _ => None,
    };
    main_count(step).into_iter().chain(each).map(|counts| counts.span).collect()
}

fn item_marks(items: &[Item], spans: &mut Vec<Span>) {
    for item in items {
        spans.extend(item.marks.iter().map(|mark| mark.span));
        match &item.kind {
            ItemKind::Group { items, .. }
            | ItemKind::Star { items, .. }
            | ItemKind::InOne { items } => item_marks(items, spans),
            _ => {}
        }
    }
}

/// `96 (104, 112)` as three.
fn split_by_size(written: &str) -> Option<Vec<String>> {
    let (first, rest) = written.split_once('(')?;
    let rest = rest.trim_end().strip_suffix(')')?;
    let others = rest.split(',').map(|one| one.trim().to_owned());
    Some(std::iter::once(first.trim().to_owned()).chain(others).collect())
}

/// Every run of blank space as one space.
pub(super) fn one_line(text: &str) -> String {
    let mut line = String::with_capacity(text.len());
    for c in text.chars() {
        if !c.is_whitespace() {
            line.push(c);
        } else if !line.ends_with(' ') {
            line.push(' ');
        }
    }
    line
}

// ---- Sentences -------------------------------------------------------------------

fn is_empty(words: &Words) -> bool {
    words.iter().all(|part| match part {
        Part::Plain(text) | Part::Markdown(text) => text.trim().is_empty(),
        Part::For(_) | Part::ForAll => true,
        Part::Number(_) | Part::Alone(..) => false,
    })
}

/// Takes blank space away at both ends.
fn trim_end(words: &mut Words) {
    while let Some(Part::Plain(text) | Part::Markdown(text)) = words.last_mut() {
        text.truncate(text.trim_end().len());
        if !text.is_empty() {
            break;
        }
        words.pop();
    }
    if let Some(Part::Plain(text) | Part::Markdown(text)) = words.first_mut() {
        let blank = text.len() - text.trim_start().len();
        text.drain(..blank);
    }
}

fn trim_stop(words: &mut Words) {
    trim_end(words);
    if let Some(Part::Plain(text)) = words.last_mut() {
        text.truncate(text.trim_end_matches('.').len());
    }
    trim_end(words);
}

fn capitalise(words: &mut Words) {
    let first = words.iter_mut().find(|part| !matches!(part, Part::For(_)));
    if let Some(Part::Plain(text) | Part::Markdown(text)) = first {
        *text = capitalised(text);
    }
}

fn full_stop(words: &mut Words) {
    let ends = |c: char| matches!(c, '.' | '!' | '?' | ':');
    match words.last() {
        None => {}
        Some(Part::Plain(text) | Part::Markdown(text)) if text.ends_with(ends) => {}
        Some(_) => words.push(plain(".")),
    }
}
