//! Two patterns to what changed between them.
//!
//! Pieces are matched by name and instructions by their words, never line by
//! line, and every number is compared size by size, by the names of the sizes.
//! [`Changes`] is data: [`text`], [`markdown`] and [`json`] are views of it,
//! and they work nothing out. Nothing here knows how either pattern came
//! about, so any two versions can be compared.
//!
//! Swapping the two sides swaps what was added with what was removed and
//! turns the sign of every difference.

mod align;
mod finished;
mod front;
pub mod html;
mod items;
pub mod json;
pub mod markdown;
mod numbers;
mod say;
mod sections;
pub mod text;
mod words;

use crate::measure::{Exact, Length, SizeId, Unit};
use crate::model::Model;
use crate::source::{Source, Span};
use crate::work::Trace;

pub use finished::{Finished, finished};

/// One of the two patterns.
#[derive(Clone, Copy, Debug)]
pub struct Side<'a> {
    /// Its text.
    pub source: &'a Source,
    /// What it means.
    pub model: &'a Model<'a>,
    /// Its rows as they were worked, one trace a size; empty where nobody worked them.
    pub traces: &'a [Trace],
    /// What the garment measures, where somebody has worked it out; without it
    /// the measurements the author marks are taken.
    pub finished: Option<&'a [Finished]>,
}

/// Everything that changed, and what stayed beside it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Changes {
    /// What the old text is called.
    pub old_name: String,
    /// What the new text is called.
    pub new_name: String,
    /// The new title; the old where there is none.
    pub title: Option<String>,
    /// Whether the two texts are the same to the byte.
    pub identical: bool,
    /// The unit that differences in length are shown in: the new pattern's.
    pub unit: Unit,
    /// The sizes of both.
    pub sizes: Sizes,
    /// How much changed.
    pub summary: Summary,
    /// What the garment measures, before and after; those that stay as well.
    pub finished: Vec<Measured>,
    /// Values of the front matter that changed, in its order.
    pub front: Vec<Key>,
    /// Pieces, fabrics and other sections, in the order of the new pattern,
    /// removed ones where they stood.
    pub sections: Vec<Section>,
}

impl Changes {
    /// Whether anything a knitter reads differs: not blanks, nor comments of the front matter.
    #[must_use]
    pub fn differ(&self) -> bool {
        self.summary.front > 0 || self.sections.iter().any(Section::changed)
    }
}

/// How much changed, counted.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Summary {
    /// Instructions and rows of fabrics.
    pub instructions: Tally,
    /// Paragraphs and headings that changed in any way.
    pub prose: usize,
    /// Values of the front matter that changed.
    pub front: usize,
}

/// Instructions by what happened to them; each is counted once.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Tally {
    /// Not changed at all.
    pub same: usize,
    /// Changed in numbers only.
    pub numbers: usize,
    /// Changed in words, and perhaps in numbers too.
    pub words: usize,
    /// Moved and otherwise as it was.
    pub moved: usize,
    /// Not there before.
    pub added: usize,
    /// Not there any more.
    pub removed: usize,
}

impl Tally {
    /// How many changed in any way.
    #[must_use]
    pub const fn changed(&self) -> usize {
        self.numbers + self.words + self.moved + self.added + self.removed
    }

    /// How many there are in either pattern, an instruction of both counted once.
    #[must_use]
    pub const fn all(&self) -> usize {
        self.same + self.changed()
    }

    fn count(&mut self, change: Change) {
        *match change {
            Change::Same => &mut self.same,
            Change::Numbers => &mut self.numbers,
            Change::Words => &mut self.words,
            Change::Moved => &mut self.moved,
            Change::Added => &mut self.added,
            Change::Removed => &mut self.removed,
        } += 1;
    }
}

/// The sizes of the two patterns, matched by name.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Sizes {
    /// Every size of either, in the old order, new ones after.
    pub all: Vec<SizePair>,
}

/// A size and its place in each pattern.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SizePair {
    /// Its name; empty where a pattern has one size without a name.
    pub name: String,
    /// Its place in the old pattern.
    pub old: Option<SizeId>,
    /// Its place in the new pattern.
    pub new: Option<SizeId>,
}

impl Sizes {
    fn new(old: &[String], new: &[String]) -> Self {
        let place = |names: &[String], name: &String| names.iter().position(|n| n == name);
        let mut all: Vec<SizePair> = Vec::new();
        for name in old.iter().chain(new) {
            if !all.iter().any(|pair| pair.name == *name) {
                all.push(SizePair {
                    name: name.clone(),
                    old: place(old, name).map(SizeId),
                    new: place(new, name).map(SizeId),
                });
            }
        }
        Self { all }
    }

    /// The names of the sizes that both have.
    pub fn in_both(&self) -> impl Iterator<Item = &str> {
        self.named(|pair| pair.old.is_some() && pair.new.is_some())
    }

    /// The names of the sizes that only the old pattern has.
    pub fn only_old(&self) -> impl Iterator<Item = &str> {
        self.named(|pair| pair.new.is_none())
    }

    /// The names of the sizes that only the new pattern has.
    pub fn only_new(&self) -> impl Iterator<Item = &str> {
        self.named(|pair| pair.old.is_none())
    }

    /// Whether both have the same sizes.
    #[must_use]
    pub fn agree(&self) -> bool {
        self.all.iter().all(|pair| pair.old.is_some() && pair.new.is_some())
    }

    /// How many places a list of values for the old sizes has.
    fn places_old(&self) -> usize {
        self.all.iter().filter_map(|pair| pair.old).map(|size| size.0 + 1).max().unwrap_or(0)
    }

    /// How many places a list of values for the new sizes has.
    fn places_new(&self) -> usize {
        self.all.iter().filter_map(|pair| pair.new).map(|size| size.0 + 1).max().unwrap_or(0)
    }

    /// The name of each size of either and its places in both. Where they have no size in common
    /// and one each, these answer to each other.
    fn places(&self) -> Vec<(String, Option<SizeId>, Option<SizeId>)> {
        let single = match self.all.as_slice() {
            [a, b] if a.new.is_none() && b.old.is_none() => a.old,
            _ => None,
        };
        let place = |pair: &SizePair| match single {
            Some(_) if pair.new.is_none() => (pair.name.clone(), None, None),
            Some(old) => (pair.name.clone(), Some(old), pair.new),
            None => (pair.name.clone(), pair.old, pair.new),
        };
        self.all.iter().map(place).collect()
    }

    fn named(&self, which: impl Fn(&SizePair) -> bool) -> impl Iterator<Item = &str> {
        self.all.iter().filter(move |pair| which(pair)).map(|pair| pair.name.as_str())
    }
}

/// A section of either pattern.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Section {
    /// What kind of section it is.
    pub kind: SectionKind,
    /// What became of it as a whole.
    pub status: SectionStatus,
    /// Whether it stands in another order among the sections than before.
    pub moved: bool,
    /// Its heading; `None` for what precedes the first.
    pub heading: Option<Entry>,
    /// What stands in it, in reading order, removed entries where they stood.
    pub entries: Vec<Entry>,
}

impl Section {
    /// Whether anything in it changed.
    #[must_use]
    pub fn changed(&self) -> bool {
        self.moved
            || self.status != SectionStatus::Kept
            || self.heading.iter().chain(&self.entries).any(|entry| entry.change != Change::Same)
    }
}

/// What kind of section it is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum SectionKind {
    /// Words only.
    Prose,
    /// A piece.
    Piece,
    /// A fabric of the author's own.
    Fabric,
}

/// What became of a section as a whole.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum SectionStatus {
    /// In both under the same name.
    Kept,
    /// In both, under another name.
    Renamed,
    /// Only in the new pattern.
    Added,
    /// Only in the old pattern.
    Removed,
}

/// An instruction, a paragraph or a heading of either pattern.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Entry {
    /// Which of these it is.
    pub kind: EntryKind,
    /// What became of it.
    pub change: Change,
    /// Whether it stands elsewhere among its neighbors, or at another depth.
    pub moved: bool,
    /// As it was; `None` where it was added.
    pub old: Option<Passage>,
    /// As it is; `None` where it was removed.
    pub new: Option<Passage>,
    /// The numbers whose amount changed, or whose width or length changed under another gauge; a
    /// number that only one of the two has is here too, except in added and removed entries.
    pub numbers: Vec<Number>,
    /// How many stitches there are after it, and how wide they are: for instructions of both
    /// patterns, where the rows of both were worked, and only where that differs.
    pub leaves: Vec<SizeChange>,
}

/// What an entry is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum EntryKind {
    /// A heading.
    Heading,
    /// A paragraph or other block of the author's words.
    Prose,
    /// An instruction of a piece, or a row of a fabric.
    Instruction,
}

/// What became of an entry.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Change {
    /// Nothing.
    Same,
    /// Its numbers changed, its words did not.
    Numbers,
    /// Its words changed, and perhaps its numbers.
    Words,
    /// It stands elsewhere, and is otherwise as it was.
    Moved,
    /// It was not there before.
    Added,
    /// It is not there any more.
    Removed,
}

/// A stretch of one of the two texts.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Passage {
    /// The line it begins on, from 1.
    pub line: usize,
    /// Its bytes.
    pub span: Span,
    /// How deep it is nested: 0 for a list that is not.
    pub depth: u32,
    /// All of its text, cut where it begins or ceases to differ from the other side.
    pub segments: Vec<Segment>,
}

impl Passage {
    /// The passage with nothing in it that differs from the other side.
    fn unchanged(mut self) -> Self {
        self.segments.iter_mut().for_each(|segment| segment.changed = false);
        self
    }

    /// The text as written.
    #[must_use]
    pub fn text(&self) -> String {
        self.segments.iter().map(|segment| segment.text.as_str()).collect()
    }
}

/// A part of a passage.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Segment {
    /// As written.
    pub text: String,
    /// Whether it differs from the other side.
    pub changed: bool,
}

/// A number of an instruction, of a paragraph or of the front matter, before and after.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Number {
    /// What it counts.
    pub noun: Noun,
    /// As it was written; `None` where the old text has no such number.
    pub old: Option<String>,
    /// As it is written; `None` where the new text has no such number.
    pub new: Option<String>,
    /// Its amounts in each size of either pattern; one without a name where the patterns have no
    /// size in common and it is the same in every size of either.
    pub sizes: Vec<SizeChange>,
}

/// One number in one size.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SizeChange {
    /// The name of the size.
    pub size: String,
    /// What it was.
    pub old: Cell,
    /// What it is.
    pub new: Cell,
}

/// What a number is in one size of one pattern.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Cell {
    /// The pattern has no such size, or no such number.
    Absent,
    /// The size skips it (`-`).
    Skipped,
    /// To be worked out (`?`).
    Unknown,
    /// So much.
    Is(Amount),
}

/// So many, and how far that reaches at the gauge in work; or so long.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Amount {
    /// A count, and the width or length that it makes, where the gauge is known.
    Count(Exact, Option<Length>),
    /// A length.
    Length(Length),
}

impl Number {
    /// Whether it says something else than before, in a size that both patterns have.
    ///
    /// Where they have no size in common, whether it is written in another way.
    #[must_use]
    pub fn changed(&self) -> bool {
        let mut both = self.sizes.iter().filter(|size| !size.is_alone()).peekable();
        match (&self.old, &self.new) {
            (Some(old), Some(new)) if both.peek().is_none() => old != new,
            (Some(_), Some(_)) => both.any(SizeChange::changed),
            _ => true,
        }
    }
}

impl SizeChange {
    /// Whether only one of the two has this size.
    #[must_use]
    pub fn is_alone(&self) -> bool {
        self.old == Cell::Absent || self.new == Cell::Absent
    }

    /// Whether it says something else than before.
    #[must_use]
    pub fn changed(&self) -> bool {
        match (self.old, self.new) {
            (Cell::Is(Amount::Count(old, _)), Cell::Is(Amount::Count(new, _))) => old != new,
            (old, new) => old != new,
        }
    }

    /// By how much the count changed: new less old.
    #[must_use]
    pub fn difference(&self) -> Option<Exact> {
        match (self.old, self.new) {
            (Cell::Is(Amount::Count(old, _)), Cell::Is(Amount::Count(new, _))) => Some(new - old),
            _ => None,
        }
    }

    /// By how much the length, or the width or length of the count, changed: new less old.
    #[must_use]
    pub fn length_difference(&self) -> Option<Length> {
        Some(self.new.length()? - self.old.length()?)
    }
}

impl Cell {
    /// The count.
    #[must_use]
    pub fn count(self) -> Option<Exact> {
        match self {
            Self::Is(Amount::Count(count, _)) => Some(count),
            _ => None,
        }
    }

    /// The length, or the width or length that the count makes.
    #[must_use]
    pub fn length(self) -> Option<Length> {
        match self {
            Self::Is(Amount::Count(_, length)) => length,
            Self::Is(Amount::Length(length)) => Some(length),
            _ => None,
        }
    }
}

/// What a number counts.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Noun {
    /// Stitches; they make a width.
    Stitches,
    /// Rows or rounds; they make a length.
    Rows,
    /// Times something is done.
    Times,
    /// Wedges of a crown.
    Wedges,
    /// A length of fabric.
    Length,
    /// A length of yarn.
    Yarn,
    /// Grams.
    Grams,
    /// Balls or skeins.
    PutUps,
    /// Parts of a hundred.
    Percent,
    /// Stitches in 10 cm.
    StitchGauge,
    /// Rows in 10 cm.
    RowGauge,
    /// A number of anything else.
    Plain,
    /// Digits among the words, such as the number of a row.
    Figure,
}

/// A value of the front matter that changed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Key {
    /// Its keys from the outside in: `gauges`, `body`, `stitches`.
    pub path: Vec<String>,
    /// Added, removed, or changed.
    pub change: Change,
    /// As it was.
    pub old: Option<Passage>,
    /// As it is.
    pub new: Option<Passage>,
    /// The number it is, where it is one on both sides.
    pub number: Option<Number>,
}

/// A measurement of the garment, before and after.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Measured {
    /// What is measured.
    pub what: String,
    /// Its length in each size of either pattern.
    pub sizes: Vec<SizeChange>,
}

/// Compares two patterns.
///
/// It works no row and never fails: a number that is not given has no
/// difference. Without traces, the gauge of an instruction is the one that the
/// instructions before it changed to.
#[must_use]
pub fn compare(old: &Side<'_>, new: &Side<'_>) -> Changes {
    let sizes = Sizes::new(&old.model.sizes, &new.model.sizes);
    let (old_parts, new_parts) = (items::parts(old), items::parts(new));
    let pairs = align::sections(&old_parts, &new_parts);
    let sections = sections::compare(&old_parts, &new_parts, &pairs, &sizes);
    let front = front::compare(old, new, &sizes);
    let finished = finished::compare((old, &old_parts), (new, &new_parts), &pairs, &sizes);
    let title =
        |side: &Side<'_>| side.model.document.front.title.as_ref().map(|title| title.value.clone());
    Changes {
        old_name: old.source.name.clone(),
        new_name: new.source.name.clone(),
        title: title(new).or_else(|| title(old)),
        identical: old.source.text == new.source.text,
        unit: new.model.units,
        summary: summary(&sections, &front),
        sizes,
        finished,
        front,
        sections,
    }
}

fn summary(sections: &[Section], front: &[Key]) -> Summary {
    let mut summary = Summary { front: front.len(), ..Summary::default() };
    for entry in sections.iter().flat_map(|section| section.heading.iter().chain(&section.entries))
    {
        match entry.kind {
            EntryKind::Instruction => summary.instructions.count(entry.change),
            _ => summary.prose += usize::from(entry.change != Change::Same),
        }
    }
    summary
}

#[cfg(test)]
mod tests;
