//! A comparison as Markdown: tables with the old text beside the new.
//!
//! Everything that comes from a pattern is escaped, so that the stars of a
//! stitch repeat are stars on the page and nothing a pattern holds is markup.

use super::say::Which;
use super::{Change, Changes, Entry, EntryKind, Passage, Section, say};

/// The comparison as Markdown; ends with a line end. `unchanged` shows what did not change too.
#[must_use]
pub fn markdown(changes: &Changes, unchanged: bool) -> String {
    let title = changes.title.as_deref().unwrap_or("Pattern");
    let mut out = vec![format!("# {}: changes", escaped(title))];
    if let Some(nothing) = say::nothing(changes) {
        out.push(escaped(&nothing));
        return out.join("\n\n") + "\n";
    }
    let [old, new] = [&changes.old_name, &changes.new_name].map(|name| escaped(name));
    out.push(format!("- old: {old}\n- new: {new}"));
    out.push(say::summary(changes).iter().map(|s| escaped(s)).collect::<Vec<_>>().join("\n"));
    out.push(escaped(&say::key_to_differences(changes)));
    out.extend(finished(changes));
    out.extend(front(changes));
    let sections = changes.sections.iter().filter(|section| unchanged || section.changed());
    out.extend(sections.map(|each| section(each, unchanged, changes)));
    out.join("\n\n") + "\n"
}

fn finished(changes: &Changes) -> Option<String> {
    let rows: Vec<[String; 4]> = changes
        .finished
        .iter()
        .map(|measured| {
            let lengths = |which| {
                say::lengths(measured, which, changes)
                    .unwrap_or_else(|| say::no_lengths(measured, which))
            };
            [
                measured.what.clone(),
                lengths(Which::Old),
                lengths(Which::New),
                say::length_difference(measured, changes).unwrap_or_default(),
            ]
            .map(|cell| escaped(&cell))
        })
        .collect();
    (!rows.is_empty())
        .then(|| format!("## Finished measurements\n\n{}", table("measurement", &rows)))
}

fn front(changes: &Changes) -> Option<String> {
    let rows: Vec<[String; 4]> = changes
        .front
        .iter()
        .map(|key| {
            let number = key.number.as_ref();
            [
                escaped(&say::path(key)),
                marked(key.old.as_ref()),
                marked(key.new.as_ref()),
                escaped(&number.and_then(|n| say::difference(n, changes)).unwrap_or_default()),
            ]
        })
        .collect();
    (!rows.is_empty()).then(|| format!("## Front matter\n\n{}", table("value", &rows)))
}

fn section(section: &Section, unchanged: bool, changes: &Changes) -> String {
    let (title, notes) = say::section(section);
    let notes: String = notes.iter().map(|note| format!(" ({note})")).collect();
    let mut rows = Vec::new();
    let (mut instructions, mut others) = (0, 0);
    let skipped = |instructions: &mut usize, others: &mut usize, rows: &mut Vec<[String; 4]>| {
        if let Some(said) = say::unchanged(*instructions, *others) {
            rows.push(["same".to_owned(), said, String::new(), String::new()]);
        }
        (*instructions, *others) = (0, 0);
    };
    for entry in &section.entries {
        if entry.change == Change::Same && !unchanged {
            let instruction = entry.kind == EntryKind::Instruction;
            *(if instruction { &mut instructions } else { &mut others }) += 1;
            continue;
        }
        skipped(&mut instructions, &mut others, &mut rows);
        rows.push(row(entry, changes));
    }
    skipped(&mut instructions, &mut others, &mut rows);
    let heading = format!("## {}", escaped(&format!("{title}{notes}")));
    if rows.is_empty() { heading } else { format!("{heading}\n\n{}", table("change", &rows)) }
}

fn row(entry: &Entry, changes: &Changes) -> [String; 4] {
    let mut said: Vec<String> = Vec::new();
    if let (true, Some(old), Some(new)) = (entry.moved, &entry.old, &entry.new) {
        said.push(format!("from line {} to line {}", old.line, new.line));
    }
    said.extend(say::entry_differences(entry, changes).iter().map(|parts| parts.join(", ")));
    [
        entry.change.word().to_owned(),
        marked(entry.old.as_ref()),
        marked(entry.new.as_ref()),
        said.iter().map(|said| escaped(said)).collect::<Vec<_>>().join("<br>"),
    ]
}

/// Four columns: what, was, now, and by how much.
fn table(what: &str, rows: &[[String; 4]]) -> String {
    let mut lines = vec![
        format!("| {what} | was | now | difference |"),
        "| --- | --- | --- | --- |".to_owned(),
    ];
    lines.extend(rows.iter().map(|cells| format!("| {} |", cells.join(" | "))));
    lines.join("\n")
}

/// A passage, what differs in it in bold.
fn marked(passage: Option<&Passage>) -> String {
    let Some(passage) = passage else { return String::new() };
    let whole = passage.segments.iter().all(|segment| segment.changed);
    let mut out = String::new();
    for segment in &passage.segments {
        let text = even(&segment.text);
        let bare = text.trim();
        if !segment.changed || whole || bare.is_empty() {
            out.push_str(&escaped(&text));
            continue;
        }
        // A tag and not stars: those need blanks or signs around them, and a number in a row has
        // none.
        let lead = text.len() - text.trim_start().len();
        let trail = text.len() - text.trim_end().len();
        out.push_str(text.get(..lead).unwrap_or(""));
        out.push_str(&format!("<b>{}</b>", escaped(bare)));
        out.push_str(text.get(text.len() - trail..).unwrap_or(""));
    }
    out
}

/// Every run of blanks as one blank.
fn even(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        if !c.is_whitespace() {
            out.push(c);
        } else if !out.ends_with(' ') {
            out.push(' ');
        }
    }
    out
}

/// Text that reads the same when Markdown has been made of it.
fn escaped(text: &str) -> String {
    let mut out = String::new();
    for c in even(text).chars() {
        match c {
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '&' => out.push_str("&amp;"),
            '\\' | '`' | '*' | '_' | '{' | '}' | '[' | ']' | '#' | '|' | '~' | '!' | '$' => {
                out.push('\\');
                out.push(c);
            }
            c => out.push(say::shown(c)),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::super::tests::{cap, compared};
    use super::*;
    use insta::assert_snapshot;
    use pulldown_cmark::{Event, Options, Parser, Tag};

    #[test]
    fn markdown_shows_the_stars_of_a_stitch_repeat() {
        let old = cap("- cast on 88\n- row 1: *k2, p2; rep from *");
        let new = cap("- cast on 88\n- row 1: *k2, p2, k1; rep from * to last 3 sts, k3 [fixed]");
        let page = markdown(&compared(&old, &new), false);
        assert_snapshot!(page.split("## Cap").nth(1).unwrap_or(""), @r#"
        , in the round

        | change | was | now | difference |
        | --- | --- | --- | --- |
        | same | 1 instruction unchanged |  |  |
        | words | row 1: \*k2, p2; rep from \* | row 1: \*k2, p2<b>, k1</b>; rep from \* <b>to last 3 sts, k3 \[fixed\]</b> |  |
        "#);
        let mut shown = String::new();
        let options = Options::ENABLE_TABLES;
        for event in Parser::new_ext(&page, options) {
            match event {
                Event::Text(text) => shown += &text,
                Event::Start(Tag::Emphasis) => panic!("{page}"),
                _ => {}
            }
        }
        assert!(shown.contains("row 1: *k2, p2; rep from *"), "{shown}");
        assert!(
            shown.contains("row 1: *k2, p2, k1; rep from * to last 3 sts, k3 [fixed]"),
            "{shown}"
        );
    }
}
