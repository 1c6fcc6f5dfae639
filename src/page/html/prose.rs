//! The author's Markdown as HTML that can do nothing.
//!
//! HTML in it is shown as the text it is, links lead to the web, to an
//! address or within the page, and pictures give way to their descriptions:
//! the page fetches nothing.

use super::part;
use crate::page::markdown;
use crate::page::sheet::{Part, Words};
use crate::syntax::markdown_options;
use pulldown_cmark::{CowStr, Event, HeadingLevel, Parser, Tag, TagEnd, html};

/// Stand-ins for what varies by size, and for the start of a line: characters for private
/// use, which are taken out of whatever the author wrote.
const OPEN: char = '\u{e000}';
const CLOSE: char = '\u{e001}';
const START: char = '\u{e002}';

/// Words within a line.
pub(super) fn line(words: &Words) -> String {
    let (text, parts) = joined(words, |text| text.replace(['\n', '\r'], " "));
    // Nothing that follows this character can begin a list, a heading or a table.
    let events: Vec<Event<'_>> = Parser::new_ext(&format!("{START}{text}"), markdown_options())
        .map(Event::into_static)
        .filter(|event| {
            !matches!(event, Event::Start(Tag::Paragraph) | Event::End(TagEnd::Paragraph))
        })
        .collect();
    written(events.into_iter(), &parts)
}

/// Whole blocks; `definitions` are the author's definitions of links.
pub(super) fn blocks(words: &Words, definitions: &str) -> String {
    let (text, parts) = joined(words, str::to_owned);
    let text = format!("{text}\n\n{}", without_stand_ins(definitions));
    let events: Vec<Event<'_>> =
        Parser::new_ext(&text, markdown_options()).map(Event::into_static).collect();
    written(events.into_iter(), &parts)
}

/// Whether a block shows nothing by itself: it only defines links.
pub(super) fn only_defines(words: &Words) -> bool {
    let (text, _) = joined(words, str::to_owned);
    Parser::new_ext(&text, markdown_options()).next().is_none()
}

/// The Markdown of words, with stand-ins for what varies by size.
fn joined(words: &Words, text: impl Fn(&str) -> String) -> (String, Vec<&Part>) {
    let (mut out, mut parts) = (String::new(), Vec::new());
    for part in words {
        match part {
            Part::Plain(part) => out.push_str(&markdown::escape(&text(&without_stand_ins(part)))),
            Part::Markdown(part) => out.push_str(&text(&without_stand_ins(part))),
            Part::Number(_) | Part::For(_) | Part::ForAll | Part::Alone(..) => {
                out.push_str(&format!("{OPEN}{}{CLOSE}", parts.len()));
                parts.push(part);
            }
        }
    }
    (out, parts)
}

fn without_stand_ins(text: &str) -> String {
    text.replace([OPEN, CLOSE, START], "\u{fffd}")
}

fn written<'e>(events: impl Iterator<Item = Event<'e>>, parts: &[&Part]) -> String {
    let mut dropped = 0_usize;
    let safe = events.filter_map(|event| match event {
        Event::Html(html) => Some(Event::Text(html)),
        Event::InlineHtml(html) => Some(Event::Text(html)),
        Event::Start(Tag::HtmlBlock) => Some(Event::Start(Tag::Paragraph)),
        Event::End(TagEnd::HtmlBlock) => Some(Event::End(TagEnd::Paragraph)),
        Event::Start(Tag::Image { .. }) | Event::End(TagEnd::Image) => None,
        Event::Start(Tag::Link { link_type, dest_url, title, id }) => {
            let dest_url = plain(&dest_url, parts);
            if !leads_somewhere_safe(&dest_url) {
                dropped += 1;
                return None;
            }
            let title = plain(&title, parts).into();
            Some(Event::Start(Tag::Link { link_type, dest_url: dest_url.into(), title, id }))
        }
        // No link stands within another.
        Event::End(TagEnd::Link) if dropped > 0 => {
            dropped -= 1;
            None
        }
        // The headings of the page are its own.
        Event::Start(Tag::Heading { classes, .. }) => Some(Event::Start(Tag::Heading {
            level: HeadingLevel::H5,
            id: None,
            classes,
            attrs: Vec::new(),
        })),
        Event::End(TagEnd::Heading(_)) => Some(Event::End(TagEnd::Heading(HeadingLevel::H5))),
        other => Some(other),
    });
    let filled = safe.flat_map(|event| match event {
        Event::Text(text) => fill(&text, parts),
        Event::Code(text) => vec![Event::Code(plain(&text, parts).into())],
        other => vec![other],
    });
    let mut out = String::new();
    html::push_html(&mut out, filled);
    out
}

fn leads_somewhere_safe(url: &str) -> bool {
    let lower = url.trim().to_ascii_lowercase();
    ["https://", "http://", "mailto:", "#"].iter().any(|start| lower.starts_with(start))
}

/// Text with what varies by size in their places.
fn fill(text: &str, parts: &[&Part]) -> Vec<Event<'static>> {
    let owned = |text: &str| Event::Text(CowStr::from(text.to_owned()));
    let mut events = Vec::new();
    for_parts(text, parts, &mut |part| match part {
        Ok(text) => events.push(owned(text)),
        Err(found) => events.push(Event::InlineHtml(CowStr::from(self::part(found)))),
    });
    events
}

/// Text with what varies by size as plain text, for places where nothing else may stand.
fn plain(text: &str, parts: &[&Part]) -> String {
    let mut out = String::new();
    for_parts(text, parts, &mut |part| match part {
        Ok(text) => out.push_str(text),
        Err(Part::Number(number)) => out.push_str(&number.text),
        Err(_) => {}
    });
    out
}

fn for_parts<'n>(text: &str, parts: &[&'n Part], see: &mut impl FnMut(Result<&str, &'n Part>)) {
    for (index, piece) in text.split(OPEN).enumerate() {
        let (key, rest) = match piece.split_once(CLOSE) {
            Some((key, rest)) if index > 0 => (Some(key), rest),
            _ => (None, piece),
        };
        if let Some(found) = key.and_then(|key| parts.get(key.parse::<usize>().ok()?)) {
            see(Err(found));
        }
        for text in rest.split(START).filter(|text| !text.is_empty()) {
            see(Ok(text));
        }
    }
}
