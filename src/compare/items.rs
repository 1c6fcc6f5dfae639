//! A pattern as lists of things to compare: sections, and in each the
//! headings, paragraphs and instructions in reading order.

use super::finished::Named;
use super::numbers::Reader;
use super::words::Wording;
use super::{Amount, Cell, EntryKind, SectionKind, Side};
use crate::measure::Length;
use crate::model::GaugeId;
use crate::source::Span;
use crate::syntax::tree::{self, Action, Block, CastOnPlace, Heading, Prose, Section, Step};
use crate::work::Visit;
use std::collections::BTreeMap;

/// A section.
#[derive(Debug)]
pub(super) struct Part {
    pub(super) kind: SectionKind,
    /// What it is matched by.
    pub(super) name: String,
    pub(super) heading: Option<Item>,
    pub(super) items: Vec<Item>,
    /// What its counts measure, where the author says.
    pub(super) measures: Vec<Named>,
}

impl Part {
    /// Sections of the same kind and name answer to each other.
    pub(super) fn full_name(&self) -> (SectionKind, String) {
        (self.kind, self.name.to_lowercase())
    }
}

/// A heading, a paragraph or an instruction.
#[derive(Debug)]
pub(super) struct Item {
    pub(super) kind: EntryKind,
    pub(super) depth: u32,
    pub(super) line: usize,
    pub(super) span: Span,
    pub(super) wording: Wording,
    /// Its words, numbers left out.
    pub(super) key: String,
    /// All of it.
    pub(super) plain: String,
    /// Its words in the order of the alphabet.
    pub(super) bag: Vec<String>,
    /// The stitches after it in each size; empty where it was not worked.
    pub(super) leaves: Vec<Cell>,
}

impl Item {
    pub(super) fn new(
        kind: EntryKind,
        lines: &Lines,
        span: Span,
        depth: u32,
        wording: Wording,
    ) -> Self {
        Self {
            kind,
            depth,
            line: lines.line(span.start),
            span,
            key: wording.key(),
            plain: wording.text(),
            bag: wording.bag(),
            leaves: Vec::new(),
            wording,
        }
    }
}

/// The sections of a pattern.
pub(super) fn parts(side: &Side<'_>) -> Vec<Part> {
    let lines = Lines::of(&side.source.text);
    let seen = Seen::of(side);
    let mut piece = 0;
    let sections = &side.model.document.sections;
    sections
        .iter()
        .map(|section| {
            let part = Lister::new(side, &lines, &seen, piece).part(section);
            piece += usize::from(part.kind == SectionKind::Piece);
            part
        })
        .collect()
}

/// Where the lines of a text begin.
pub(super) struct Lines(Vec<usize>);

impl Lines {
    pub(super) fn of(text: &str) -> Self {
        let after = text.bytes().enumerate().filter(|&(_, byte)| byte == b'\n');
        Self(after.map(|(at, _)| at + 1).collect())
    }

    /// The line of a byte, from 1.
    pub(super) fn line(&self, offset: usize) -> usize {
        self.0.partition_point(|&start| start <= offset) + 1
    }
}

/// What was seen when the rows were worked.
struct Seen<'a> {
    sizes: usize,
    /// By piece and the place of the step: its last visit in each size. A step may be worked in
    /// another piece too, which is made in the same way.
    steps: BTreeMap<(usize, Span), BTreeMap<usize, &'a Visit>>,
    /// By piece: how long it got in each size.
    lengths: BTreeMap<usize, BTreeMap<usize, Length>>,
}

impl<'a> Seen<'a> {
    fn of(side: &Side<'a>) -> Self {
        let sizes = side.model.sizes.len();
        let mut seen = Self { sizes, steps: BTreeMap::new(), lengths: BTreeMap::new() };
        for trace in side.traces {
            let size = trace.size.0;
            for visit in &trace.visits {
                seen.steps.entry((visit.piece, visit.step)).or_default().insert(size, visit);
                let lengths = seen.lengths.entry(visit.piece).or_default();
                let length = lengths.entry(size).or_insert(visit.height_after);
                *length = visit.height_after.max(*length);
            }
        }
        seen
    }

    /// What `of` a step's visit in each size; empty where the step was not worked.
    fn each<T>(
        &self,
        piece: usize,
        step: Span,
        of: impl Fn(&Visit) -> Option<T>,
    ) -> Vec<Option<T>> {
        let Some(visits) = self.steps.get(&(piece, step)) else { return Vec::new() };
        (0..self.sizes).map(|size| visits.get(&size).and_then(|visit| of(visit))).collect()
    }

    /// The length of a piece in each size; `None` where it was not worked or has none.
    fn length(&self, piece: usize) -> Option<Named> {
        let lengths = self.lengths.get(&piece)?;
        let cell = |size| {
            lengths.get(&size).map_or(Cell::Unknown, |length| Cell::Is(Amount::Length(*length)))
        };
        lengths
            .values()
            .any(|length| length.is_positive())
            .then(|| ("length".to_owned(), (0..self.sizes).map(cell).collect()))
    }
}

/// Goes through one section, and keeps account of the gauge in work.
struct Lister<'a> {
    side: &'a Side<'a>,
    lines: &'a Lines,
    seen: &'a Seen<'a>,
    /// The place of the section among the pieces, if it is one.
    piece: usize,
    gauge: Option<GaugeId>,
    items: Vec<Item>,
    measures: Vec<Named>,
}

impl<'a> Lister<'a> {
    fn new(side: &'a Side<'a>, lines: &'a Lines, seen: &'a Seen<'a>, piece: usize) -> Self {
        Self { side, lines, seen, piece, gauge: None, items: Vec::new(), measures: Vec::new() }
    }

    fn part(mut self, section: &Section) -> Part {
        let (kind, name) = match &section.kind {
            tree::SectionKind::Prose => (SectionKind::Prose, section.heading.as_ref().map(name_of)),
            tree::SectionKind::Piece(piece) => (SectionKind::Piece, Some(piece.name.value.clone())),
            tree::SectionKind::Fabric(name) => (SectionKind::Fabric, Some(name.value.clone())),
        };
        if kind == SectionKind::Piece {
            self.gauge = self.side.model.default_gauge();
        }
        for block in &section.blocks {
            match block {
                Block::Heading(heading) => self.heading(heading),
                Block::Prose(prose) => self.prose(prose),
                Block::Steps(steps) => steps.iter().for_each(|step| self.step(step, 0)),
            }
        }
        let items = std::mem::take(&mut self.items);
        section.heading.iter().for_each(|heading| self.heading(heading));
        let heading = self.items.pop();
        let mut measures = self.measures;
        if kind == SectionKind::Piece {
            measures.extend(self.seen.length(self.piece));
        }
        Part { kind, name: name.unwrap_or_default(), heading, items, measures }
    }

    fn heading(&mut self, heading: &Heading) {
        let wording = Wording::plain(&heading.text.value);
        self.push(EntryKind::Heading, heading.span, 0, wording);
    }

    fn prose(&mut self, prose: &Prose) {
        for span in passages(self.side.source.slice(prose.span), prose.span.start) {
            let mut reader = self.reader(None);
            reader.live(&prose.live);
            // Those that lie in another passage are left out.
            let wording = Wording::new(self.side.source, span, reader.found);
            self.push(EntryKind::Prose, span, 0, wording);
        }
    }

    fn step(&mut self, step: &Step, depth: u32) {
        if let Action::CastOn { gauge: Some(name), place: CastOnPlace::Here, .. }
        | Action::ChangeTo(name) = &step.action
        {
            // Any other name is that of a color.
            self.gauge = self.side.model.gauge_named(&name.value).or(self.gauge);
        }
        let mut reader = self.reader(self.gauge);
        for (gauge, seen) in
            reader.gauges.iter_mut().zip(self.seen.each(self.piece, step.span, |v| v.gauge))
        {
            *gauge = seen.or(*gauge);
        }
        reader.step(step);
        self.measures.extend(reader.measured(step));
        let leaves =
            reader.leaves(&self.seen.each(self.piece, step.span, |visit| visit.after.known()));
        let wording = Wording::new(self.side.source, step.span, reader.found);
        let item = Item::new(EntryKind::Instruction, self.lines, step.span, depth, wording);
        self.items.push(Item { leaves, ..item });
        // A part begins with the gauge before it, and so does the part after it.
        let before = self.gauge;
        for inner in &step.steps {
            self.step(inner, depth + 1);
        }
        self.gauge = before;
    }

    fn reader(&self, gauge: Option<GaugeId>) -> Reader<'a> {
        let model = self.side.model;
        Reader {
            source: self.side.source,
            model,
            gauges: vec![gauge; model.sizes.len()],
            found: Vec::new(),
        }
    }

    fn push(&mut self, kind: EntryKind, span: Span, depth: u32, wording: Wording) {
        self.items.push(Item::new(kind, self.lines, span, depth, wording));
    }
}

/// A list is compared item by item, a table row by row, anything else as a whole.
fn passages(text: &str, offset: usize) -> Vec<Span> {
    let begins = |line: &str| {
        let line = line.trim_start();
        let number = line.trim_start_matches(|c: char| c.is_ascii_digit());
        let after = if number.len() == line.len() {
            line.strip_prefix(['-', '*', '+'])
        } else {
            number.strip_prefix([')', '.'])
        };
        line.starts_with('|') || after.is_some_and(|rest| rest.starts_with([' ', '\t']))
    };
    let (mut spans, mut at): (Vec<Span>, usize) = (Vec::new(), 0);
    for line in text.split_inclusive('\n') {
        let end = at + line.len();
        match spans.last_mut() {
            Some(last) if !begins(line) => last.end = offset + end,
            _ => spans.push(Span::new(offset + at, offset + end)),
        }
        at = end;
    }
    spans
}

fn name_of(heading: &Heading) -> String {
    heading.text.value.clone()
}
