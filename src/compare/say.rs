//! What the views have in common: the sentences of a comparison, and numbers
//! written for a range of sizes.

use super::{
    Cell, Change, Changes, Entry, Key, Measured, Noun, Number, Passage, Section, SectionKind,
    SectionStatus, SizeChange, SizePair, Sizes, Tally,
};
use crate::diag::words::{count, list};
use crate::measure::{Exact, Length, SizeId, Unit, decimal};

impl Change {
    /// One word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Same => "same",
            Self::Numbers => "numbers",
            Self::Words => "words",
            Self::Moved => "moved",
            Self::Added => "added",
            Self::Removed => "removed",
        }
    }
}

impl SectionStatus {
    /// One word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Kept => "kept",
            Self::Renamed => "renamed",
            Self::Added => "added",
            Self::Removed => "removed",
        }
    }
}

impl SectionKind {
    /// One word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Prose => "prose",
            Self::Piece => "piece",
            Self::Fabric => "fabric",
        }
    }
}

/// What is said of two patterns between which nothing changed, in one line.
pub(super) fn nothing(changes: &Changes) -> Option<String> {
    let (old, new) = (&changes.old_name, &changes.new_name);
    if changes.identical {
        Some(format!("{old} and {new} are the same, to the byte."))
    } else if !changes.differ() {
        Some(format!("{old} and {new} differ in layout only: in nothing that a knitter reads."))
    } else {
        None
    }
}

/// The summary, a sentence each.
pub(super) fn summary(changes: &Changes) -> Vec<String> {
    let mut said = vec![instructions(&changes.summary.instructions)];
    let others: Vec<String> = [
        (changes.summary.prose, "paragraph or heading", "paragraphs and headings"),
        (changes.summary.front, "value of the front matter", "values of the front matter"),
    ]
    .into_iter()
    .filter(|(n, ..)| *n > 0)
    .map(|(n, one, many)| format!("{n} {}", if n == 1 { one } else { many }))
    .collect();
    if !others.is_empty() {
        let one = changes.summary.prose + changes.summary.front == 1;
        said.push(format!("{} {}.", list(&others, "and"), if one { "changes" } else { "change" }));
    }
    said.extend(gauges(changes));
    said.extend(finished(changes));
    said.extend(yarn(changes));
    said.extend(sizes(&changes.sizes));
    said
}

/// `Stitches in 10 cm: body 18 to 14, hem 22 to 17.`
fn gauges(changes: &Changes) -> Option<String> {
    let changed: Vec<String> = changes
        .front
        .iter()
        .filter_map(|key| {
            let [gauges, name, stitches] = key.path.as_slice() else { return None };
            let first = key.number.as_ref()?.sizes.first()?;
            let (old, new) = (first.old.count()?, first.new.count()?);
            (gauges == "gauges" && stitches == "stitches")
                .then(|| format!("{} {} to {}", flat(name), decimal(old, 2), decimal(new, 2)))
        })
        .collect();
    (!changed.is_empty()).then(|| format!("Stitches in 10 cm: {}.", changed.join(", ")))
}

/// How many finished measurements change, and by how much at most.
fn finished(changes: &Changes) -> Option<String> {
    let moves = |measured: &Measured| {
        let sizes = measured.sizes.iter();
        let by = sizes.filter_map(|size| Some((size.length_difference()?, size.size.clone())));
        let most = by.max_by_key(|(by, _)| by.abs())?;
        (most.0 != Length::zero()).then_some((most.0, measured.what.clone(), most.1))
    };
    let moved: Vec<(Length, String, String)> = changes.finished.iter().filter_map(moves).collect();
    let (by, what, size) = moved.iter().max_by_key(|(by, ..)| by.abs())?;
    let (n, all) = (moved.len(), count(signed(changes.finished.len()), "finished measurement"));
    let change = if n == 1 { "changes" } else { "change" };
    let by = format!("{} {}", plus(short(*by, changes.unit)), changes.unit.word());
    let size = if size.is_empty() { String::new() } else { format!(", size {}", flat(size)) };
    Some(format!("{n} of {all} {change}, at most by {by} ({}{size}).", flat(what)))
}

fn instructions(tally: &Tally) -> String {
    let parts: Vec<String> = [
        (tally.numbers, "in numbers"),
        (tally.words, "in words"),
        (tally.moved, "moved"),
        (tally.added, "added"),
        (tally.removed, "removed"),
    ]
    .into_iter()
    .filter(|(n, _)| *n > 0)
    .map(|(n, what)| format!("{n} {what}"))
    .collect();
    let all = count(signed(tally.all()), "instruction");
    match tally.changed() {
        0 => "No instruction changes.".to_owned(),
        1 => format!("1 of {all} changes: {}.", parts.join(", ")),
        n => format!("{n} of {all} change: {}.", parts.join(", ")),
    }
}

fn signed(n: usize) -> i64 {
    i64::try_from(n).unwrap_or(i64::MAX)
}

/// By how much more or less yarn the author says is used.
fn yarn(changes: &Changes) -> Option<String> {
    let used = changes.front.iter().find(|key| key.path == ["yarn", "used"])?;
    Some(format!("Yarn used: {}.", difference(used.number.as_ref()?, changes)?))
}

fn sizes(sizes: &Sizes) -> Vec<String> {
    let named = |names: Vec<&str>, before: &str| {
        let word = if names.len() == 1 { "size" } else { "sizes" };
        let names: Vec<String> = names.into_iter().map(size_name).collect();
        (!names.is_empty()).then(|| format!("{before} the {word} {}.", list(&names, "and")))
    };
    if sizes.agree() {
        return Vec::new();
    }
    let both = match sizes.in_both().next() {
        Some(_) => named(sizes.in_both().collect(), "Both patterns have"),
        None => Some("The two have no size in common.".to_owned()),
    };
    let alone = [
        named(sizes.only_old().collect(), "Only the old pattern has"),
        named(sizes.only_new().collect(), "Only the new pattern has"),
    ];
    both.into_iter().chain(alone.into_iter().flatten()).collect()
}

/// The name of a size; one that has none is the only one.
pub(super) fn size_name(name: &str) -> String {
    if name.is_empty() { "without a name".to_owned() } else { name.to_owned() }
}

/// How differences are to be read.
pub(super) fn key_to_differences(changes: &Changes) -> String {
    let names: Vec<String> = changes.sizes.in_both().map(str::to_owned).collect();
    match names.as_slice() {
        [first, rest @ ..] if !rest.is_empty() && changes.sizes.agree() => {
            format!("A difference is new less old, for {first} ({}).", rest.join(", "))
        }
        _ => "A difference is new less old.".to_owned(),
    }
}

/// The title of a section with what became of it.
pub(super) fn section(section: &Section) -> (String, Vec<String>) {
    let heading = section.heading.as_ref();
    let text = |passage: Option<&Passage>| passage.map(|passage| flat(&passage.text()));
    let old = heading.and_then(|heading| text(heading.old.as_ref()));
    let new = heading.and_then(|heading| text(heading.new.as_ref()));
    let mut notes = Vec::new();
    match (section.status, &old, &new) {
        (SectionStatus::Added, ..) => notes.push("added".to_owned()),
        (SectionStatus::Removed, ..) => notes.push("removed".to_owned()),
        (_, Some(old), Some(new)) if old != new => notes.push(format!("was: {old}")),
        _ => {}
    }
    if section.moved {
        notes.push("moved".to_owned());
    }
    (new.or(old).unwrap_or_else(|| "Before the first piece".to_owned()), notes)
}

/// How many entries of each kind stay, in words.
pub(super) fn unchanged(instructions: usize, others: usize) -> Option<String> {
    let parts: Vec<String> = [(instructions, "instruction"), (others, "paragraph")]
        .into_iter()
        .filter(|(n, _)| *n > 0)
        .map(|(n, what)| count(signed(n), what))
        .collect();
    (!parts.is_empty()).then(|| format!("{} unchanged", list(&parts, "and")))
}

/// The key of a value: `gauges, body, stitches`.
pub(super) fn path(key: &Key) -> String {
    key.path.join(", ")
}

/// A sign that can be shown in place of one that steers a terminal or turns the writing.
pub(super) fn shown(c: char) -> char {
    match c {
        '\u{0}'..='\u{1f}' => char::from_u32(0x2400 + c as u32).unwrap_or('\u{fffd}'),
        '\u{7f}' => '\u{2421}',
        '\u{80}'..='\u{9f}' | '\u{200b}' | '\u{200e}' | '\u{200f}' => '\u{fffd}',
        '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}' => '\u{fffd}',
        c => c,
    }
}

/// The same for text of several lines.
pub(super) fn shown_in_lines(c: char) -> char {
    if matches!(c, '\n' | '\r' | '\t') { ' ' } else { shown(c) }
}

/// On one line, with even blanks.
pub(super) fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

// --- numbers ----------------------------------------------------------------------------

/// By how much a number changed, in count and in length; `None` where that is not known, or not
/// at all.
pub(super) fn difference(number: &Number, changes: &Changes) -> Option<String> {
    let parts = differences(number, changes);
    (!parts.is_empty()).then(|| parts.join(", "))
}

/// By how much a number changed: the count, then its width or length, as far as they are known.
pub(super) fn differences(number: &Number, changes: &Changes) -> Vec<String> {
    let said = amounts(number, changes).into_iter().filter_map(|amounts| {
        let Amounts { before, values, after } = amounts;
        let values = for_sizes(&number.sizes, &values, changes.sizes.agree())?;
        Some(format!("{before} {values} {after}").trim().to_owned())
    });
    said.collect()
}

/// One kind of difference of a number in every size, with the words around it: `width`, `cm`.
pub(super) struct Amounts {
    /// What it is of.
    pub(super) before: &'static str,
    /// By how much, in the order of the number's sizes; `None` where that is not known.
    pub(super) values: Vec<Option<String>>,
    /// What it is in.
    pub(super) after: &'static str,
}

/// By how much a number changed in each size: in count, and in width or length.
pub(super) fn amounts(number: &Number, changes: &Changes) -> Vec<Amounts> {
    let counts: Vec<Exact> = number.sizes.iter().filter_map(SizeChange::difference).collect();
    let some_count = counts.iter().any(|n| *n != Exact::from_integer(0));
    let lengths = number.sizes.iter().filter_map(SizeChange::length_difference);
    let some_length = lengths.into_iter().any(|length| length != Length::zero());
    if number.noun == Noun::Figure || !some_count && !some_length {
        return Vec::new();
    }
    let unit = match number.noun {
        Noun::Yarn if changes.unit == Unit::In => Unit::Yd,
        Noun::Yarn => Unit::M,
        _ => changes.unit,
    };
    let one = counts.iter().all(|n| *n == Exact::from_integer(1) || *n == Exact::from_integer(-1));
    let each = |of: &dyn Fn(&SizeChange) -> Option<String>| number.sizes.iter().map(of).collect();
    let counted = Amounts {
        before: "",
        values: each(&|size| size.difference().map(|n| plus(decimal(n, 2)))),
        after: noun(number.noun, one),
    };
    let reaches = Amounts {
        before: match number.noun {
            Noun::Stitches => "width",
            Noun::Rows => "length",
            _ => "",
        },
        values: each(&|size| size.length_difference().map(|l| plus(short(l, unit)))),
        after: unit.word(),
    };
    let mut all = Vec::new();
    all.extend(some_count.then_some(counted));
    all.extend(reaches.values.iter().any(Option::is_some).then_some(reaches));
    all
}

/// What is said of the numbers of an entry that changed, each with what it is now where there are
/// several; what is the same of two is said once.
pub(super) fn entry_differences(entry: &Entry, changes: &Changes) -> Vec<Vec<String>> {
    let changed: Vec<&Number> = entry.numbers.iter().filter(|number| number.changed()).collect();
    let mut said: Vec<Vec<String>> = Vec::new();
    for number in &changed {
        let mut parts = differences(number, changes);
        if let (Some(first), Some(new), true) = (parts.first_mut(), &number.new, changed.len() > 1)
        {
            *first = format!("{}: {first}", flat(new));
        }
        if !parts.is_empty() && !said.contains(&parts) {
            said.push(parts);
        }
    }
    said
}

/// What stands after a number of this kind.
fn noun(noun: Noun, one: bool) -> &'static str {
    match (noun, one) {
        (Noun::Stitches, true) => "stitch",
        (Noun::Stitches, false) => "stitches",
        (Noun::Rows, true) => "row",
        (Noun::Rows, false) => "rows",
        (Noun::Times, true) => "time",
        (Noun::Times, false) => "times",
        (Noun::Wedges, true) => "wedge",
        (Noun::Wedges, false) => "wedges",
        (Noun::PutUps, true) => "ball",
        (Noun::PutUps, false) => "balls",
        (Noun::Grams, _) => "g",
        (Noun::Percent, _) => "percent",
        (Noun::StitchGauge, true) => "stitch in 10 cm",
        (Noun::StitchGauge, false) => "stitches in 10 cm",
        (Noun::RowGauge, true) => "row in 10 cm",
        (Noun::RowGauge, false) => "rows in 10 cm",
        (Noun::Length | Noun::Yarn | Noun::Plain | Noun::Figure, _) => "",
    }
}

/// Which of the two patterns.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Which {
    Old,
    New,
}

/// The lengths of a measurement in one pattern, in the order of its sizes: `48 (52, 56) cm`; `None`
/// where none is known.
pub(super) fn lengths(measured: &Measured, which: Which, changes: &Changes) -> Option<String> {
    let place = |pair: &SizePair| if which == Which::Old { pair.old } else { pair.new };
    let cell = |size: &SizeChange| if which == Which::Old { size.old } else { size.new };
    let sizes = changes.sizes.all.iter().zip(&measured.sizes);
    let mut own: Vec<(SizeId, Option<String>)> = sizes
        .filter_map(|(pair, size)| {
            let length = cell(size).length().map(|length| short(length, changes.unit));
            Some((place(pair)?, length))
        })
        .collect();
    own.sort_by_key(|(place, _)| *place);
    let own: Vec<Option<String>> = own.into_iter().map(|(_, length)| length).collect();
    Some(format!("{} {}", listed(&own)?, changes.unit.word()))
}

/// What is said in place of lengths that there are none of.
pub(super) fn no_lengths(measured: &Measured, which: Which) -> String {
    let cell = |size: &SizeChange| if which == Which::Old { size.old } else { size.new };
    let absent = measured.sizes.iter().all(|size| cell(size) == Cell::Absent);
    if absent { "not there" } else { "not known" }.to_owned()
}

/// By how much a measurement changed.
pub(super) fn length_difference(measured: &Measured, changes: &Changes) -> Option<String> {
    let values: Vec<Option<String>> =
        measured.sizes.iter().map(|size| size_difference(size, changes)).collect();
    let listed = for_sizes(&measured.sizes, &values, changes.sizes.agree())?;
    Some(format!("{listed} {}", changes.unit.word()))
}

/// By how much a length changed in one size, without its unit.
pub(super) fn size_difference(size: &SizeChange, changes: &Changes) -> Option<String> {
    size.length_difference().map(|length| plus(short(length, changes.unit)))
}

/// To a millimeter, or to a hundredth of an inch.
pub(super) fn short(length: Length, unit: Unit) -> String {
    decimal(length.amount(unit), if unit == Unit::In { 2 } else { 1 })
}

/// With a sign, where it is not nothing.
fn plus(number: String) -> String {
    if number == "0" || number.starts_with('-') { number } else { format!("+{number}") }
}

/// One value where all sizes agree; `96 (104, 112)` where the patterns have the same sizes; else
/// each with the name of its size. `None` where no value is known.
fn for_sizes(sizes: &[SizeChange], values: &[Option<String>], agree: bool) -> Option<String> {
    if agree || values.len() == 1 {
        return listed(values);
    }
    let named: Vec<String> = sizes
        .iter()
        .zip(values)
        .filter_map(|(size, value)| Some(format!("{} {}", size_name(&size.size), value.as_ref()?)))
        .collect();
    (!named.is_empty()).then(|| named.join(", "))
}

/// `96`, where that is the value of all; else `96 (104, -)`.
fn listed(values: &[Option<String>]) -> Option<String> {
    let first = values.iter().flatten().next()?;
    if values.iter().all(|value| value.as_ref() == Some(first)) {
        return Some(first.clone());
    }
    let written: Vec<&str> = values.iter().map(|value| value.as_deref().unwrap_or("-")).collect();
    let (first, rest) = written.split_first()?;
    Some(format!("{first} ({})", rest.join(", ")))
}
