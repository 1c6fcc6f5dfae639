//! A comparison as text for a terminal.
//!
//! It reads without color: `was` and `now` stand before the two texts, and a
//! word says what kind of change it is. Lines are wrapped to the width asked
//! for. Signs that would steer the terminal are shown, not sent.

use super::say::Which;
use super::{Change, Changes, Entry, EntryKind, Key, Measured, Section, Segment, say};

/// How the text is to look.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Look {
    /// With the escape codes of a terminal.
    pub color: bool,
    /// Columns that are not passed, except by a single sign; at least 40.
    pub width: usize,
    /// Shows what did not change too.
    pub unchanged: bool,
}

impl Default for Look {
    fn default() -> Self {
        Self { color: false, width: 80, unchanged: false }
    }
}

/// The comparison as text; ends with a line end.
#[must_use]
pub fn text(changes: &Changes, look: Look) -> String {
    let look = Look { width: look.width.max(40), ..look };
    let mut page = Page { look, out: String::new() };
    if let Some(nothing) = say::nothing(changes) {
        page.line(&[Run::plain(&nothing)], "", "");
        return page.out;
    }
    let title = changes.title.as_deref().unwrap_or("Changes");
    page.line(&[Run::new(title, Ink::Strong)], "", "");
    page.line(&[Run::plain(&format!("old: {}", changes.old_name))], "", "     ");
    page.line(&[Run::plain(&format!("new: {}", changes.new_name))], "", "     ");
    page.blank();
    for sentence in say::summary(changes) {
        page.line(&[Run::plain(&sentence)], "", "");
    }
    page.line(&[Run::new(&say::key_to_differences(changes), Ink::Aside)], "", "");
    page.finished(changes);
    page.front(changes);
    changes.sections.iter().for_each(|section| page.section(section, changes));
    page.out
}

/// What a run of text is to look like.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Ink {
    Plain,
    Strong,
    Aside,
    Was,
    Now,
}

impl Ink {
    /// The code that begins it.
    const fn code(self) -> &'static str {
        match self {
            Self::Plain => "",
            Self::Strong => "\x1b[1m",
            Self::Aside => "\x1b[36m",
            Self::Was => "\x1b[31m",
            Self::Now => "\x1b[32m",
        }
    }
}

/// A run of text in one ink.
struct Run {
    text: String,
    ink: Ink,
}

impl Run {
    fn new(text: &str, ink: Ink) -> Self {
        Self { text: text.to_owned(), ink }
    }

    fn plain(text: &str) -> Self {
        Self::new(text, Ink::Plain)
    }
}

/// Columns before the text of an entry: what kind of change, and which side.
const KIND: usize = 9;
const SIDE: usize = 5;

/// So many words of an unchanged stretch of a paragraph are kept beside a change.
const AROUND: usize = 5;

struct Page {
    look: Look,
    out: String,
}

impl Page {
    fn blank(&mut self) {
        self.out.push('\n');
    }

    fn title(&mut self, text: &str, notes: &[String]) {
        self.blank();
        let notes: String = notes.iter().map(|note| format!(" ({note})")).collect();
        self.line(&[Run::new(&format!("## {text}"), Ink::Strong), Run::plain(&notes)], "", "   ");
    }

    fn finished(&mut self, changes: &Changes) {
        if changes.finished.is_empty() {
            return;
        }
        self.title("Finished measurements", &[]);
        for measured in &changes.finished {
            self.measured(measured, changes);
        }
    }

    fn measured(&mut self, measured: &Measured, changes: &Changes) {
        let old = say::lengths(measured, Which::Old, changes);
        let new = say::lengths(measured, Which::New, changes);
        self.line(&[Run::plain(&measured.what)], "", "  ");
        // The same list for other sizes is another measurement.
        let listed = old.as_ref().is_some_and(|old| old.contains('('));
        if old == new && (changes.sizes.agree() || !listed) {
            let text = old.unwrap_or_else(|| say::no_lengths(measured, Which::Old));
            self.line(&[Run::plain(&text)], "  stays ", "        ");
            return;
        }
        let old = old.unwrap_or_else(|| say::no_lengths(measured, Which::Old));
        let new = new.unwrap_or_else(|| say::no_lengths(measured, Which::New));
        for (text, side, ink) in [(old, "  was   ", Ink::Was), (new, "  now   ", Ink::Now)] {
            self.line(&[Run::new(&text, ink)], side, "        ");
        }
        if let Some(difference) = say::length_difference(measured, changes) {
            self.line(&[Run::new(&difference, Ink::Aside)], "        ", "        ");
        }
    }

    fn front(&mut self, changes: &Changes) {
        if changes.front.is_empty() {
            return;
        }
        self.title("Front matter", &[]);
        for key in &changes.front {
            self.key(key, changes);
        }
    }

    fn key(&mut self, key: &Key, changes: &Changes) {
        let note = match key.change {
            Change::Added | Change::Removed => format!(" ({})", key.change.word()),
            _ => String::new(),
        };
        self.line(&[Run::new(&say::path(key), Ink::Strong), Run::plain(&note)], "", "  ");
        for (passage, side, ink) in
            [(&key.old, "  was   ", Ink::Was), (&key.new, "  now   ", Ink::Now)]
        {
            if let Some(passage) = passage {
                self.line(&runs(&passage.segments, ink), side, "        ");
            }
        }
        let parts = key.number.as_ref().map(|number| say::differences(number, changes));
        if let Some(parts) = parts.filter(|parts| !parts.is_empty()) {
            self.difference(&parts, "        ");
        }
    }

    fn section(&mut self, section: &Section, changes: &Changes) {
        if !section.changed() && !self.look.unchanged {
            return;
        }
        let (title, notes) = say::section(section);
        self.title(&title, &notes);
        let (mut instructions, mut others) = (0, 0);
        for entry in &section.entries {
            if entry.change == Change::Same && !self.look.unchanged {
                let instruction = entry.kind == EntryKind::Instruction;
                *(if instruction { &mut instructions } else { &mut others }) += 1;
                continue;
            }
            self.skipped(&mut instructions, &mut others);
            self.entry(entry, changes);
        }
        self.skipped(&mut instructions, &mut others);
    }

    fn skipped(&mut self, instructions: &mut usize, others: &mut usize) {
        if let Some(said) = say::unchanged(*instructions, *others) {
            let indent = " ".repeat(KIND);
            self.line(&[Run::new(&format!("... {said}"), Ink::Aside)], &indent, &indent);
        }
        (*instructions, *others) = (0, 0);
    }

    fn entry(&mut self, entry: &Entry, changes: &Changes) {
        let label = format!("{:KIND$}", entry.change.word());
        let below = " ".repeat(KIND);
        let sides = match entry.change {
            Change::Same => vec![(entry.new.as_ref(), "", Ink::Plain)],
            Change::Moved => vec![(entry.new.as_ref(), "now", Ink::Plain)],
            _ => vec![(entry.old.as_ref(), "was", Ink::Was), (entry.new.as_ref(), "now", Ink::Now)],
        };
        let mut before = &label;
        let mut indent = String::new();
        for (passage, side, ink) in sides {
            let Some(passage) = passage else { continue };
            let depth = usize::try_from(passage.depth).unwrap_or(0).min(8) * 2;
            let bullet = if entry.kind == EntryKind::Instruction { "- " } else { "" };
            let start = format!("{before}{side:SIDE$}{}{bullet}", " ".repeat(depth));
            indent = " ".repeat(KIND + SIDE + depth + bullet.len());
            let both = entry.old.is_some() && entry.new.is_some();
            let shown = if entry.kind == EntryKind::Prose && both && entry.change != Change::Same {
                shortened(&passage.segments)
            } else {
                passage.segments.clone()
            };
            self.line(&runs(&shown, ink), &start, &indent);
            before = &below;
        }
        if let (true, Some(old), Some(new)) = (entry.moved, &entry.old, &entry.new) {
            let said = format!("moved: from line {} of the old to line {}", old.line, new.line);
            self.line(&[Run::new(&said, Ink::Aside)], &indent, &indent);
        }
        self.numbers(entry, &indent, changes);
    }

    fn numbers(&mut self, entry: &Entry, indent: &str, changes: &Changes) {
        for parts in say::entry_differences(entry, changes) {
            self.difference(&parts, indent);
        }
    }

    /// On one line where it fits, else a line for each part.
    fn difference(&mut self, parts: &[String], indent: &str) {
        let joined = parts.join(", ");
        let fits = columns(indent) + columns(&joined) <= self.look.width;
        let lines = if fits { vec![joined] } else { parts.to_vec() };
        for line in lines {
            self.line(&[Run::new(&line, Ink::Aside)], indent, indent);
        }
    }

    /// Runs of text after a first indent, wrapped to lines that begin with the other.
    fn line(&mut self, runs: &[Run], first: &str, indent: &str) {
        let mut wrapped = Wrapped::new(self.look, first, indent);
        for run in runs {
            wrapped.add(run);
        }
        self.out.push_str(&wrapped.finish());
    }
}

/// The segments of a passage, those that differ in an ink of their own.
fn runs(segments: &[Segment], ink: Ink) -> Vec<Run> {
    segments
        .iter()
        .map(|segment| Run::new(&segment.text, if segment.changed { ink } else { Ink::Plain }))
        .collect()
}

/// A paragraph without the middle of what is the same on both sides.
fn shortened(segments: &[Segment]) -> Vec<Segment> {
    let last = segments.len().saturating_sub(1);
    let mut shown = Vec::new();
    for (at, segment) in segments.iter().enumerate() {
        let words: Vec<&str> = segment.text.split_inclusive(char::is_whitespace).collect();
        let (head, tail) = (if at == 0 { 0 } else { AROUND }, if at == last { 0 } else { AROUND });
        let text = if segment.changed || words.len() <= head + tail + 1 {
            segment.text.clone()
        } else {
            let head: String = words.iter().take(head).copied().collect();
            let tail: String = words.iter().skip(words.len() - tail).copied().collect();
            format!("{} ... {tail}", head.trim_end())
        };
        shown.push(Segment { text, changed: segment.changed });
    }
    shown
}

/// Text on its way to lines of a certain width.
struct Wrapped<'a> {
    look: Look,
    indent: &'a str,
    lines: String,
    /// Columns of the line so far.
    column: usize,
    /// Columns of its indent.
    start: usize,
    /// The word that is not on a line yet.
    word: Vec<(char, Ink)>,
    /// A blank is due before the next word.
    blank: bool,
    ink: Ink,
}

impl<'a> Wrapped<'a> {
    fn new(look: Look, first: &str, indent: &'a str) -> Self {
        let column = columns(first);
        Self {
            look,
            indent,
            lines: first.to_owned(),
            column,
            start: column,
            word: Vec::new(),
            blank: false,
            ink: Ink::Plain,
        }
    }

    fn add(&mut self, run: &Run) {
        for c in run.text.chars() {
            if c.is_whitespace() {
                self.end_word();
                self.blank = true;
            } else {
                self.word.push((say::shown(c), run.ink));
            }
        }
    }

    fn end_word(&mut self) {
        if self.word.is_empty() {
            return;
        }
        let word = std::mem::take(&mut self.word);
        let wide: usize = word.iter().map(|(c, _)| width(*c)).sum();
        let fresh = self.column == self.start;
        let gap = usize::from(self.blank && !fresh);
        if !fresh && self.column + gap + wide > self.look.width {
            self.new_line();
        } else if gap == 1 {
            // A blank between two words of one ink has that ink, for the sake of an even look.
            self.set(if word.first().is_some_and(|(_, ink)| *ink == self.ink) {
                self.ink
            } else {
                Ink::Plain
            });
            self.lines.push(' ');
            self.column += 1;
        }
        self.blank = false;
        for (c, ink) in word {
            if self.column + width(c) > self.look.width && self.column > self.start {
                self.new_line();
            }
            self.set(ink);
            self.lines.push(c);
            self.column += width(c);
        }
    }

    fn new_line(&mut self) {
        self.set(Ink::Plain);
        self.lines.push('\n');
        self.lines.push_str(self.indent);
        self.column = columns(self.indent);
        self.start = self.column;
    }

    fn set(&mut self, ink: Ink) {
        if self.look.color && ink != self.ink {
            if self.ink != Ink::Plain {
                self.lines.push_str("\x1b[0m");
            }
            self.lines.push_str(ink.code());
        }
        self.ink = ink;
    }

    fn finish(mut self) -> String {
        self.end_word();
        self.set(Ink::Plain);
        let mut lines = self.lines;
        while lines.ends_with(' ') {
            lines.pop();
        }
        lines.push('\n');
        lines
    }
}

fn columns(text: &str) -> usize {
    text.chars().map(width).sum()
}

/// Columns a sign takes up: two for the wide scripts of East Asia and for pictures, none for
/// signs that stand over the one before.
fn width(c: char) -> usize {
    match c {
        '\u{300}'..='\u{36f}' | '\u{200c}' | '\u{200d}' | '\u{20d0}'..='\u{20f0}' => 0,
        '\u{fe00}'..='\u{fe0f}' => 0,
        '\u{1100}'..='\u{115f}'
        | '\u{2e80}'..='\u{a4cf}'
        | '\u{ac00}'..='\u{d7a3}'
        | '\u{f900}'..='\u{faff}'
        | '\u{fe30}'..='\u{fe6f}'
        | '\u{ff00}'..='\u{ff60}'
        | '\u{ffe0}'..='\u{ffe6}'
        | '\u{1f300}'..='\u{1faff}'
        | '\u{20000}'..='\u{3fffd}' => 2,
        _ => 1,
    }
}
