//! A comparison as JSON.
//!
//! Counts and lengths are numbers; lengths are centimeters to a thousandth.
//! Lines count from 1, `bytes` is the half-open range of bytes from 0. What is
//! not there is `null`.

use super::{
    Amount, Cell, Changes, Entry, EntryKind, Key, Measured, Noun, Number, Passage, Section,
    SizeChange, say,
};
use crate::measure::{Exact, Length, Unit, decimal};
use serde_json::{Value, json};

/// The comparison as JSON, unchanged entries included.
#[must_use]
pub fn json(changes: &Changes) -> Value {
    let tally = changes.summary.instructions;
    json!({
        "old": changes.old_name,
        "new": changes.new_name,
        "title": changes.title,
        "identical": changes.identical,
        "differ": changes.differ(),
        "summary": {
            "sentences": say::summary(changes),
            "instructions": {
                "all": tally.all(),
                "changed": tally.changed(),
                "same": tally.same,
                "numbers": tally.numbers,
                "words": tally.words,
                "moved": tally.moved,
                "added": tally.added,
                "removed": tally.removed,
            },
            "prose": changes.summary.prose,
            "front": changes.summary.front,
        },
        "sizes": {
            "both": changes.sizes.in_both().collect::<Vec<_>>(),
            "only_old": changes.sizes.only_old().collect::<Vec<_>>(),
            "only_new": changes.sizes.only_new().collect::<Vec<_>>(),
        },
        "finished": changes.finished.iter().map(measured).collect::<Vec<_>>(),
        "front": changes.front.iter().map(key).collect::<Vec<_>>(),
        "sections": changes.sections.iter().map(section).collect::<Vec<_>>(),
    })
}

fn section(section: &Section) -> Value {
    json!({
        "kind": section.kind.word(),
        "status": section.status.word(),
        "moved": section.moved,
        "heading": section.heading.as_ref().map(entry),
        "entries": section.entries.iter().map(entry).collect::<Vec<_>>(),
    })
}

fn entry(entry: &Entry) -> Value {
    json!({
        "kind": match entry.kind {
            EntryKind::Heading => "heading",
            EntryKind::Prose => "prose",
            EntryKind::Instruction => "instruction",
        },
        "change": entry.change.word(),
        "moved": entry.moved,
        "old": entry.old.as_ref().map(passage),
        "new": entry.new.as_ref().map(passage),
        "numbers": entry.numbers.iter().map(number).collect::<Vec<_>>(),
        "leaves": entry.leaves.iter().map(size).collect::<Vec<_>>(),
    })
}

fn passage(passage: &Passage) -> Value {
    let segments = passage.segments.iter();
    json!({
        "line": passage.line,
        "bytes": [passage.span.start, passage.span.end],
        "depth": passage.depth,
        "text": passage.text(),
        "segments": segments
            .map(|segment| json!({ "text": segment.text, "changed": segment.changed }))
            .collect::<Vec<_>>(),
    })
}

fn key(key: &Key) -> Value {
    json!({
        "path": key.path,
        "change": key.change.word(),
        "old": key.old.as_ref().map(passage),
        "new": key.new.as_ref().map(passage),
        "number": key.number.as_ref().map(number),
    })
}

fn number(number: &Number) -> Value {
    json!({
        "of": word(number.noun),
        "old": number.old,
        "new": number.new,
        "changed": number.changed(),
        "sizes": number.sizes.iter().map(size).collect::<Vec<_>>(),
    })
}

fn measured(measured: &Measured) -> Value {
    json!({
        "what": measured.what,
        "sizes": measured.sizes.iter().map(size).collect::<Vec<_>>(),
    })
}

fn size(size: &SizeChange) -> Value {
    json!({
        "size": size.size,
        "old": cell(size.old),
        "new": cell(size.new),
        "difference": size.difference().map(exact),
        "difference_cm": size.length_difference().map(cm),
    })
}

fn cell(cell: Cell) -> Value {
    match cell {
        Cell::Absent => Value::Null,
        Cell::Skipped => json!("-"),
        Cell::Unknown => json!("?"),
        Cell::Is(Amount::Count(count, reaches)) => {
            json!({ "count": exact(count), "cm": reaches.map(cm) })
        }
        Cell::Is(Amount::Length(length)) => json!({ "count": Value::Null, "cm": cm(length) }),
    }
}

fn cm(length: Length) -> Value {
    exact(length.amount(Unit::Cm))
}

/// A number with up to three decimals.
fn exact(value: Exact) -> Value {
    decimal(value, 3).parse().map_or(Value::Null, Value::Number)
}

const fn word(noun: Noun) -> &'static str {
    match noun {
        Noun::Stitches => "stitches",
        Noun::Rows => "rows",
        Noun::Times => "times",
        Noun::Wedges => "wedges",
        Noun::Length => "length",
        Noun::Yarn => "yarn",
        Noun::Grams => "grams",
        Noun::PutUps => "put-ups",
        Noun::Percent => "percent",
        Noun::StitchGauge => "stitches in 10 cm",
        Noun::RowGauge => "rows in 10 cm",
        Noun::Plain => "number",
        Noun::Figure => "figure",
    }
}
