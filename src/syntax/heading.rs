//! Headings, and what their last words make of a section.

use super::error::clipped;
use super::tree::{Heading, PieceHeading, SectionKind, Setting};
use crate::diag::{Code, Finding, words};
use crate::source::{Source, Span, Spanned};

/// The most copies of a piece.
const MAX_COPIES: u32 = 100;

/// The heading that stands at `span`.
pub(super) fn read(source: &Source, span: Span, level: u8) -> Heading {
    let written = source.slice(span);
    let hashes = written.trim_start_matches('#');
    let (text, start) = if hashes.len() < written.len() {
        (without_closing_marks(hashes), written.len() - hashes.len())
    } else {
        // Underlined: all but the last line.
        (written.rsplit_once('\n').map_or(written, |(text, _)| text), 0)
    };
    let blank = text.len() - text.trim_start().len();
    let start = span.start + start + blank;
    let text = text.trim();
    Heading {
        level,
        text: Spanned::new(text.to_owned(), Span::new(start, start + text.len())),
        span,
    }
}

/// What the words after the last commas of a heading make of its section.
///
/// ```text
/// heading = piece-name [ "," ( "flat" | "in the round" ) [ "," copies ] | "," "fabric" ]
/// piece-name = word { word }
/// ```
pub(super) fn section_kind(heading: &Heading, findings: &mut Vec<Finding>) -> SectionKind {
    if heading.level != 2 {
        misplaced(heading, findings);
        return SectionKind::Prose;
    }
    let mut parts = comma_parts(&heading.text);
    let mut copies = None;
    let read = (parts.len() > 1).then(|| parts.last().and_then(copies_of)).flatten();
    if let Some(read) = read {
        copies = Some(read.unwrap_or_else(|finding| {
            findings.push(*finding);
            Spanned::new(1, heading.text.span)
        }));
        parts.pop();
    }
    let last = (parts.len() > 1).then(|| parts.pop()).flatten();
    let name = match (parts.first(), parts.last()) {
        (Some(first), Some(last)) => {
            let span = first.span.to(last.span);
            let from = heading.text.span.start;
            let written = heading.text.value.get(span.start - from..span.end - from);
            Spanned::new(written.unwrap_or_default().to_owned(), span)
        }
        _ => heading.text.clone(),
    };
    let mut ending = last.as_ref().and_then(|last| Ending::of(&last.value));
    if ending.is_none() {
        // Read on as what was meant: its list would else silently be prose.
        ending = nearly_an_ending(findings, heading, last.as_ref(), copies.is_some());
    }
    match (ending, last.or_else(|| copies.as_ref().map(|_| heading.text.clone()))) {
        (Some(_), _) if name.value.is_empty() => {
            findings.push(
                Finding::new(Code::Syntax, heading.span, "a piece or fabric needs a name")
                    .label("no name")
                    .help("write it as in `## Cap, in the round`"),
            );
            SectionKind::Prose
        }
        (Some(Ending::Fabric), _) => {
            if let Some(copies) = copies {
                findings.push(
                    Finding::new(Code::Syntax, copies.span, "a fabric is not made in copies")
                        .label("remove this"),
                );
            }
            SectionKind::Fabric(name)
        }
        (Some(Ending::Worked(setting)), Some(last)) => SectionKind::Piece(PieceHeading {
            name,
            setting: Spanned::new(setting, last.span),
            copies: copies.unwrap_or(Spanned::new(1, last.span)),
        }),
        _ => SectionKind::Prose,
    }
}

/// A heading that ends nearly as a piece's or a fabric's does.
fn nearly_an_ending(
    findings: &mut Vec<Finding>,
    heading: &Heading,
    last: Option<&Spanned<String>>,
    copies: bool,
) -> Option<Ending> {
    if let Some((last, meant)) = last.and_then(|l| Some((l, Ending::meant(&l.value)?))) {
        findings.push(
            Finding::new(
                Code::Syntax,
                last.span,
                format!("`{}` does not say how a piece is worked", clipped(&last.value)),
            )
            .label("not understood")
            .help(format!("a similar ending exists: `{meant}`"))
            .patch(last.span, meant),
        );
        return Ending::of(meant);
    }
    if !copies {
        return None;
    }
    findings.push(
        Finding::new(
            Code::Syntax,
            heading.span,
            "the heading does not say how the piece is worked",
        )
        .label("no `flat` or `in the round`")
        .help("write it as in `## Sleeve, flat, make 2`"),
    );
    Some(Ending::Worked(Setting::Flat))
}

/// `### Sleeve, flat`: a piece at a level where there are none.
pub(super) fn misplaced(heading: &Heading, findings: &mut Vec<Finding>) {
    let parts = comma_parts(&heading.text);
    let ends = parts.iter().skip(1).any(|part| Ending::of(&part.value).is_some());
    if ends {
        findings.push(
            Finding::new(
                Code::Syntax,
                heading.span,
                "a piece or fabric needs a heading of the second level",
            )
            .label(format!("level {}", heading.level))
            .help(format!("write `## {}`", clipped(&heading.text.value))),
        );
    }
}

/// The words of a `#` heading without marks at its end.
fn without_closing_marks(text: &str) -> &str {
    let text = text.trim_end();
    let open = text.trim_end_matches('#');
    if open.len() < text.len() && (open.is_empty() || open.ends_with([' ', '\t'])) {
        open
    } else {
        text
    }
}

/// The parts of a text between commas, each with its place.
fn comma_parts(text: &Spanned<String>) -> Vec<Spanned<String>> {
    let mut at = text.span.start;
    text.value
        .split(',')
        .map(|part| {
            let start = at + (part.len() - part.trim_start().len());
            at += part.len() + 1;
            let part = part.trim();
            Spanned::new(part.to_owned(), Span::new(start, start + part.len()))
        })
        .collect()
}

/// `make 2`: how many; `None` where the part says something else.
///
/// ```text
/// copies = "make" ( few | "one" | "two" | "three" | "four" | "five" | "six" ) [ "alike" ]
/// ```
fn copies_of(part: &Spanned<String>) -> Option<Result<Spanned<u32>, Box<Finding>>> {
    let lower = part.value.to_lowercase();
    let number = lower.strip_prefix("make ")?.trim();
    let number = number.strip_suffix("alike").map_or(number, str::trim_end);
    let words = ["one", "two", "three", "four", "five", "six"];
    let word = words.iter().zip(1..).find(|(word, _)| **word == number).map(|(_, n)| n);
    let read = word.or_else(|| number.parse().ok()).filter(|n| (1..=MAX_COPIES).contains(n));
    Some(read.map(|n| Spanned::new(n, part.span)).ok_or_else(|| {
        Box::new(
            Finding::new(
                Code::Syntax,
                part.span,
                format!("`{}` does not say how many copies", clipped(&part.value)),
            )
            .label("expected `make 2`")
            .note(format!("there may be 1 to {MAX_COPIES}")),
        )
    }))
}

/// How the heading of a piece or fabric ends.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Ending {
    Worked(Setting),
    Fabric,
}

impl Ending {
    const WRITTEN: [&'static str; 3] = ["flat", "in the round", "fabric"];

    fn of(part: &str) -> Option<Self> {
        match part.to_lowercase().as_str() {
            "flat" => Some(Self::Worked(Setting::Flat)),
            "in the round" => Some(Self::Worked(Setting::Round)),
            "fabric" => Some(Self::Fabric),
            _ => None,
        }
    }

    /// What a part that is none of them was most likely meant to be.
    fn meant(part: &str) -> Option<&'static str> {
        let lower = part.to_lowercase();
        let bare = lower.trim_start_matches("worked ").trim_start_matches("knit ");
        match bare {
            "back and forth" | "in rows" => Some("flat"),
            "in rounds" | "circular" | "circularly" | "round" => Some("in the round"),
            _ => words::nearest(bare, Self::WRITTEN),
        }
    }
}
