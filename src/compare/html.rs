//! A comparison as one HTML page: the summary first, what the garment measures
//! and its outlines before and after, then what was beside what is.
//!
//! Nothing is fetched and nothing runs, and everything that comes from a pattern
//! is escaped. What was is struck out, what is is underlined, and both are
//! named, so that nothing hangs on color.

use super::say::{self, Amounts};
use super::{
    Amount, Cell, Change, Changes, Entry, EntryKind, Key, Measured, Number, Passage, Section,
    SectionKind, SizeChange,
};
use crate::diag::words::capitalised;
use crate::measure::Length;
use crate::page::html::{Group, Row, Style, by_size, document, escape, picker, shown};
use crate::page::overlay::{self, Letter, Overlay};
use crate::plan::outline;
use crate::source::Span;
use crate::{Checked, Compared};
use std::collections::BTreeMap;

/// The style sheet of a comparison, beside the one that every page has.
const STYLE: Style = Style {
    text: include_str!("../page/html/changes.css"),
    hash: "o879jqbsmT6fmlkDwlXeqnHjDOX0ni4LVdMxA2yDMWk=",
};

/// The comparison of two patterns, each worked as far as it can be, as HTML. `unchanged` opens
/// what did not change too.
#[must_use]
pub fn html(compared: &Compared<'_>, unchanged: bool) -> String {
    let Compared { old, new, changes } = compared;
    let title: String =
        changes.title.as_deref().unwrap_or("Pattern").chars().map(say::shown).collect();
    let title = format!("{title}: what changed");
    let mut page = Page { changes, unchanged, out: format!("<h1>{}</h1>\n", shown(&title)) };
    match say::nothing(changes) {
        Some(nothing) => page.put(&format!("<p>{}</p>\n", text(&nothing))),
        None => {
            page.opening();
            page.finished();
            page.outlines(&overlays(changes, old, new));
            page.front();
            changes.sections.iter().for_each(|section| page.section(section));
        }
    }
    document(&title, STYLE, &page.out)
}

struct Page<'c> {
    changes: &'c Changes,
    unchanged: bool,
    out: String,
}

impl Page<'_> {
    fn put(&mut self, html: &str) {
        self.out.push_str(html);
    }

    fn opening(&mut self) {
        let Changes { old_name, new_name, sizes, .. } = self.changes;
        self.put(&format!(
            "<dl class=\"names\">\n<div><dt>Was</dt><dd>{}</dd></div>\n\
             <div><dt>Now</dt><dd>{}</dd></div>\n</dl>\n<ul>\n",
            text(old_name),
            text(new_name)
        ));
        for sentence in say::summary(self.changes) {
            self.put(&format!("<li>{}</li>\n", text(&sentence)));
        }
        self.put("</ul>\n<p class=\"told\">A difference is new less old.</p>\n");
        let names: Vec<String> = sizes.all.iter().map(|pair| say::size_name(&pair.name)).collect();
        self.put(&picker(&names));
    }

    // ---- Measurements --------------------------------------------------------------

    fn finished(&mut self) {
        let changes = self.changes;
        if changes.finished.is_empty() {
            return;
        }
        let unit = changes.unit.word();
        self.put(&format!("<section>\n<h2>Finished measurements <small>in {unit}</small></h2>\n"));
        let groups: Vec<Group> = changes
            .finished
            .iter()
            .map(|measured| {
                let group = group(measured, changes);
                Group { name: group.name.as_deref().map(capitalised), ..group }
            })
            .collect();
        let caption = format!("What the garment measures, in {unit}");
        self.table(&caption, &["Measurement", "Side"], &groups);
        self.put("</section>\n");
    }

    /// A table with a column for each size of either pattern.
    fn table(&mut self, caption: &str, head: &[&str], groups: &[Group]) {
        let sizes: Vec<String> =
            self.changes.sizes.all.iter().map(|pair| plain(&pair.name)).collect();
        let sizes: Vec<&str> = sizes.iter().map(String::as_str).collect();
        self.put(&by_size(&plain(caption), head, &sizes, groups));
    }

    // ---- Outlines --------------------------------------------------------------------

    fn outlines(&mut self, overlays: &[Overlay]) {
        if overlays.is_empty() {
            return;
        }
        self.put("<section>\n<h2>Outlines, before and after</h2>\n");
        overlays.iter().for_each(|overlay| self.overlay(overlay));
        self.put("</section>\n");
    }

    fn overlay(&mut self, overlay: &Overlay) {
        let changes = self.changes;
        let (was, is) = overlay::legend();
        let mut out = format!(
            "<h3>{piece}</h3>\n<figure class=\"draw over\">\n<ul class=\"legend\">\n\
             <li>{was}as it was</li>\n<li>{is}as it is, shaded</li>\n</ul>\n\
             <div class=\"views\" role=\"group\" tabindex=\"0\" aria-label=\"{piece} in each size\">\n",
            piece = text(&overlay.piece)
        );
        for view in &overlay.views {
            let name = changes.sizes.all.get(view.size).map_or("", |pair| pair.name.as_str());
            let name =
                if name.is_empty() { String::new() } else { format!("<p>{}</p>", text(name)) };
            out.push_str(&format!("<div{}>{name}{}</div>\n", class_of(view.size), view.svg));
        }
        let short = if overlay.short_rows {
            " Short rows, which lengthen only a part of it, are not drawn."
        } else {
            ""
        };
        out.push_str(&format!(
            "</div>\n<figcaption>All sizes at one scale, from the worked rows; bands as wide as they \
             lie relaxed; what is worked in the round lies flat.{short}</figcaption>\n</figure>\n"
        ));
        self.put(&out);
        self.letters(overlay);
    }

    /// What the letters of a drawing stand for, before and after.
    fn letters(&mut self, overlay: &Overlay) {
        let changes = self.changes;
        let measured: Vec<Measured> =
            overlay.letters.iter().map(|letter| measured(letter, overlay, changes)).collect();
        let groups: Vec<Group> = measured.iter().map(|m| group(m, changes)).collect();
        let piece = &overlay.piece;
        let caption = format!("{piece}: what the letters stand for, in {}", changes.unit.word());
        self.put(&format!("<details class=\"fold\"><summary>{}</summary>\n", text(&caption)));
        self.table(&caption, &["Letter", "Side"], &groups);
        self.put("</details>\n");
    }

    // ---- Front matter ----------------------------------------------------------------

    fn front(&mut self) {
        if self.changes.front.is_empty() {
            return;
        }
        let caption = "Values of the front matter that change";
        self.put(&format!(
            "<section>\n<h2>Front matter</h2>\n\
             <div class=\"wide\" role=\"group\" tabindex=\"0\" aria-label=\"{caption}\">\n\
             <table class=\"values\">\n<caption class=\"unseen\">{caption}</caption>\n<thead><tr>"
        ));
        for head in ["Value", "Was", "Now", "Difference"] {
            self.put(&format!("<th scope=\"col\">{head}</th>"));
        }
        self.put("</tr></thead>\n<tbody>\n");
        self.changes.front.iter().for_each(|key| self.key(key));
        self.put("</tbody>\n</table>\n</div>\n</section>\n");
    }

    fn key(&mut self, key: &Key) {
        let side = |passage: &Option<Passage>, mark: &str, none: &str| {
            passage.as_ref().map_or(none.to_owned(), |passage| marked(passage, mark))
        };
        let difference = key.number.as_ref().and_then(|n| say::difference(n, self.changes));
        self.put(&format!(
            "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}</td></tr>\n",
            text(&say::path(key)),
            side(&key.old, "del", "not there"),
            side(&key.new, "ins", "taken out"),
            text(&minus(&difference.unwrap_or_default()))
        ));
    }

    // ---- Sections --------------------------------------------------------------------

    fn section(&mut self, section: &Section) {
        let (title, notes) = say::section(section);
        if !section.changed() {
            return self.unchanged(&title, section);
        }
        let notes: String = notes.iter().map(|note| format!(" ({note})")).collect();
        let notes = if notes.is_empty() {
            String::new()
        } else {
            format!(" <small>{}</small>", text(notes.trim()))
        };
        self.put(&format!("<section>\n<h2>{}{notes}</h2>\n<ul class=\"entries\">\n", text(&title)));
        for run in section.entries.chunk_by(|a, b| is_same(a) == is_same(b)) {
            match run.first() {
                Some(first) if is_same(first) => self.same(run),
                _ => run.iter().for_each(|entry| self.entry(entry)),
            }
        }
        self.put("</ul>\n</section>\n");
    }

    /// A section in which nothing changed, folded.
    fn unchanged(&mut self, title: &str, section: &Section) {
        let Some(said) = unchanged(&section.entries) else { return };
        self.fold(&format!("{title}: {said}"), &section.entries);
    }

    /// What did not change between changes, folded.
    fn same(&mut self, run: &[Entry]) {
        if let Some(said) = unchanged(run) {
            self.put("<li>");
            self.fold(&said, run);
            self.put("</li>\n");
        }
    }

    fn fold(&mut self, summary: &str, run: &[Entry]) {
        let open = if self.unchanged { " open" } else { "" };
        self.put(&format!(
            "<details class=\"fold\"{open}><summary>{}</summary>\n<ul>\n",
            text(summary)
        ));
        for passage in run.iter().filter_map(|entry| entry.new.as_ref()) {
            self.put(&format!("<li{}>{}</li>\n", depth(passage), text(&passage.text())));
        }
        self.put("</ul>\n</details>\n");
    }

    fn entry(&mut self, entry: &Entry) {
        let deepest = entry.new.as_ref().or(entry.old.as_ref());
        let class = deepest.map_or(String::new(), depth);
        self.put(&format!("<li{class}>\n<p class=\"kind\">{}</p>\n", entry.change.word()));
        match entry.change {
            Change::Moved => self.sides(None, entry.new.as_ref()),
            _ => self.sides(entry.old.as_ref(), entry.new.as_ref()),
        }
        if let (true, Some(old), Some(new)) = (entry.moved, &entry.old, &entry.new) {
            let said = format!("Moved from line {} to line {}.", old.line, new.line);
            self.put(&format!("<p class=\"told\">{said}</p>\n"));
        }
        self.numbers(entry);
        self.put("</li>\n");
    }

    /// What was, struck out where it is gone, beside what is.
    fn sides(&mut self, old: Option<&Passage>, new: Option<&Passage>) {
        self.put("<div class=\"sides\">\n");
        for (passage, side, mark) in [(old, "was", "del"), (new, "now", "ins")] {
            let Some(passage) = passage else { continue };
            self.put(&format!(
                "<p class=\"{side}\"><span class=\"side\">{side}, line {}</span>{}</p>\n",
                passage.line,
                marked(passage, mark)
            ));
        }
        self.put("</div>\n");
    }

    /// The differences of an entry's numbers: in words where all sizes agree, else in a table.
    fn numbers(&mut self, entry: &Entry) {
        let changes = self.changes;
        let changed: Vec<&Number> = entry.numbers.iter().filter(|n| n.changed()).collect();
        let several = changed.len() > 1;
        let (mut said, mut rows) = (Vec::new(), Vec::new());
        for number in &changed {
            let amounts = say::amounts(number, changes);
            let name = number.new.as_deref().filter(|_| several).map_or(String::new(), say::flat);
            if amounts.iter().all(|amounts| one_for_all(amounts, &number.sizes).is_some()) {
                let words: Vec<String> =
                    amounts.iter().map(|a| in_words(a, &number.sizes)).collect();
                said.push(with_name(&name, &words.join(", ")));
            } else {
                rows.extend(amounts.into_iter().map(|amounts| row_of(&name, amounts)));
            }
        }
        said.retain(|said| !said.is_empty());
        said.dedup();
        rows.dedup();
        for said in said {
            self.put(&format!("<p class=\"told\">{}</p>\n", text(&minus(&said))));
        }
        if !rows.is_empty() {
            let groups = [Group { name: None, rows }];
            self.table("Differences by size", &["Difference"], &groups);
        }
    }
}

// ---- Rows of a table -----------------------------------------------------------------

/// A measurement: what it was, what it is, and by how much it changed; one row where it stays.
fn group(measured: &Measured, changes: &Changes) -> Group {
    let each = |of: &dyn Fn(&SizeChange) -> Option<String>| measured.sizes.iter().map(of).collect();
    let length = |cell: Cell| cell.length().map(|l| say::short(l, changes.unit));
    let row = |name: &str, values: Vec<Option<String>>, strong| Row {
        name: name.to_owned(),
        cells: cells(values),
        strong,
    };
    let (old, new): (Vec<_>, Vec<_>) =
        (each(&|size| length(size.old)), each(&|size| length(size.new)));
    let rows = if old == new {
        vec![row("stays", new, false)]
    } else {
        let by = each(&|size| say::size_difference(size, changes));
        vec![row("was", old, false), row("now", new, false), row("difference", by, true)]
    };
    Group { name: Some(plain(&measured.what)), rows }
}

fn row_of(name: &str, amounts: Amounts) -> Row {
    let Amounts { before, values, after } = amounts;
    let what = if before.is_empty() { after.to_owned() } else { format!("{before}, {after}") };
    Row { name: plain(&with_name(name, &what)), cells: cells(values), strong: true }
}

/// Cells of a table; empty where nothing is known.
fn cells(values: Vec<Option<String>>) -> Vec<String> {
    values.into_iter().map(|value| minus(&value.unwrap_or_default())).collect()
}

fn with_name(name: &str, said: &str) -> String {
    if name.is_empty() || said.is_empty() { said.to_owned() } else { format!("{name}: {said}") }
}

/// The one difference there is in every size that both have.
fn one_for_all<'a>(amounts: &'a Amounts, sizes: &[SizeChange]) -> Option<&'a str> {
    let values = amounts.values.iter().zip(sizes).filter(|(_, size)| !size.is_alone());
    let mut values = values.map(|(value, _)| value.as_deref());
    let first = values.next()??;
    values.all(|value| value == Some(first)).then_some(first)
}

fn in_words(amounts: &Amounts, sizes: &[SizeChange]) -> String {
    let value = one_for_all(amounts, sizes).unwrap_or_default();
    format!("{} {value} {}", amounts.before, amounts.after).trim().to_owned()
}

/// What a letter stands for in every size of either pattern.
fn measured(letter: &Letter, overlay: &Overlay, changes: &Changes) -> Measured {
    let cell = |length: Option<Length>| {
        length.map_or(Cell::Absent, |length| Cell::Is(Amount::Length(length)))
    };
    let sizes = changes.sizes.all.iter().enumerate().map(|(size, pair)| {
        let view = overlay.views.iter().position(|view| view.size == size);
        let both = view.and_then(|view| letter.sizes.get(view).copied());
        let (old, new) = both.unwrap_or_default();
        SizeChange { size: pair.name.clone(), old: cell(old), new: cell(new) }
    });
    let around = if letter.around { ", around" } else { "" };
    Measured { what: format!("{}{around}", letter.name), sizes: sizes.collect() }
}

// ---- Text ------------------------------------------------------------------------------

/// How much stays as it was, in words.
fn unchanged(run: &[Entry]) -> Option<String> {
    let instructions = run.iter().filter(|e| e.kind == EntryKind::Instruction).count();
    say::unchanged(instructions, run.len() - instructions)
}

fn is_same(entry: &Entry) -> bool {
    entry.change == Change::Same
}

fn class_of(size: usize) -> String {
    format!(" class=\"z z{size}\"")
}

fn depth(passage: &Passage) -> String {
    match passage.depth.min(3) {
        0 => String::new(),
        depth => format!(" class=\"d{depth}\""),
    }
}

/// Text in which signs that turn the writing or are not to be seen are shown as what they are.
fn plain(text: &str) -> String {
    text.chars().map(say::shown_in_lines).collect()
}

/// The same as HTML.
fn text(text: &str) -> String {
    shown(&plain(text))
}

/// A passage, what differs in it marked, unless that is all of it.
fn marked(passage: &Passage, mark: &str) -> String {
    let whole = passage.segments.iter().all(|segment| segment.changed);
    let mut out = String::new();
    for segment in &passage.segments {
        let plain: String = segment.text.chars().map(say::shown_in_lines).collect();
        let bare = plain.trim();
        if !segment.changed || whole || bare.is_empty() {
            out.push_str(&escape(&plain));
            continue;
        }
        let lead = plain.len() - plain.trim_start().len();
        let trail = plain.trim_end().len();
        out.push_str(plain.get(..lead).unwrap_or(""));
        out.push_str(&format!("<{mark}>{}</{mark}>", escape(bare)));
        out.push_str(plain.get(trail..).unwrap_or(""));
    }
    out
}

/// With minus signs and not hyphens before numbers.
fn minus(said: &str) -> String {
    let mut out = String::with_capacity(said.len());
    let mut before = ' ';
    let mut signs = said.chars().peekable();
    while let Some(c) = signs.next() {
        let signed = matches!(before, ' ' | '(') && signs.peek().is_some_and(char::is_ascii_digit);
        out.push(if c == '-' && signed { '\u{2212}' } else { c });
        before = c;
    }
    out
}

// ---- Outlines --------------------------------------------------------------------------

/// The outlines of every piece of either pattern, before and after.
fn overlays(changes: &Changes, old: &Checked<'_>, new: &Checked<'_>) -> Vec<Overlay> {
    let mut before: BTreeMap<Span, Span> = BTreeMap::new();
    for entry in changes.sections.iter().flat_map(|section| &section.entries) {
        if let (EntryKind::Instruction, Some(old), Some(new)) = (entry.kind, &entry.old, &entry.new)
        {
            before.insert(new.span, old.span);
            // Where a step begins is a place of its own.
            before.insert(Span::at(new.span.start), Span::at(old.span.start));
        }
    }
    let was = |step: Span| {
        if step == outline::TOP { Some(step) } else { before.get(&step).copied() }
    };
    let place = |side: &Checked<'_>, heading: Option<&Passage>| {
        let span = heading?.span;
        side.model.pieces.iter().position(|piece| piece.span == span)
    };
    let pieces: Vec<(Option<usize>, Option<usize>)> = changes
        .sections
        .iter()
        .filter(|section| section.kind == SectionKind::Piece)
        .map(|section| {
            let heading = section.heading.as_ref();
            let of =
                |new: bool| heading.and_then(|h| if new { h.new.as_ref() } else { h.old.as_ref() });
            (place(old, of(false)), place(new, of(true)))
        })
        .collect();
    overlay::overlays((old, new), &pieces, &changes.sizes.places(), &was)
}
