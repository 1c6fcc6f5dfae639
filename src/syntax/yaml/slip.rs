//! What trips people up in YAML: explains a text that the readers refuse.
//!
//! Works on the text alone, line by line, and knows no reader.

use crate::diag::{Code, Finding};
use crate::source::Span;

/// Explains a text that breaks at byte `at`: by the usual slip of its line or
/// of the line above, else in the reader's own words.
pub(super) fn broken_at(text: &str, offset: usize, at: usize, reason: &str) -> Finding {
    let here = line_around(text, at);
    let above = text.get(..here.start).unwrap_or("").trim_end();
    let above = line_around(text, above.len());
    let slip = slip_in(text, here, Some(at))
        .or_else(|| (above.start < here.start).then(|| slip_in(text, above, None)).flatten())
        .or_else(|| tab_in(text))
        .or_else(|| slip_within(text, here, at));
    match slip {
        Some(slip) => slip.finding(offset),
        None => {
            let at = if at >= text.trim_end().len() { text.trim_end().len() } else { at };
            Finding::new(Code::YamlBroken, Span::at(offset + at), "the YAML cannot be read here")
                .note(format!("the reader says: {reason}"))
                .help(
                    "write `key: value`, one a line, and put a value with unusual marks in quotes",
                )
        }
    }
}

/// The line that byte `at` is in, without its end.
fn line_around(text: &str, at: usize) -> Span {
    let before = text.get(..at).unwrap_or(text);
    let start = before.rfind('\n').map_or(0, |newline| newline + 1);
    let rest = text.get(start..).unwrap_or("");
    let line = rest.split(['\r', '\n']).next().unwrap_or("");
    Span::new(start, start + line.len())
}

/// A usual slip: where, what, and what to do.
struct Slip {
    span: Span,
    message: String,
    label: &'static str,
    help: String,
    patch: Option<String>,
}

impl Slip {
    fn finding(self, offset: usize) -> Finding {
        let span = self.span.shifted(offset);
        let finding =
            Finding::new(Code::YamlBroken, span, self.message).label(self.label).help(self.help);
        match self.patch {
            Some(replacement) => finding.patch(span, replacement),
            None => finding,
        }
    }
}

/// The usual slip that a line shows; `at` is where the reader stopped, if in this line.
fn slip_in(text: &str, line: Span, at: Option<usize>) -> Option<Slip> {
    let written = text.get(line.range())?;
    let indent = written.len() - written.trim_start_matches([' ', '\t']).len();
    let start = line.start + indent;
    if let Some(tab) = written.get(..indent)?.find('\t') {
        return Some(tabbed(line.start + tab));
    }
    let mut body = written.get(indent..)?;
    let mut body_start = start;
    while let Some(rest) = body.strip_prefix("- ") {
        let rest = rest.trim_start();
        body_start += body.len() - rest.len();
        body = rest;
    }
    let colon = body.find(": ").or_else(|| body.strip_suffix(':').map(str::len));
    let Some(colon) = colon else {
        return no_colon(body, body_start, at);
    };
    let after = body.get(colon + 1..)?;
    let value = after.trim();
    let value_start = body_start + colon + 1 + (after.len() - after.trim_start().len());
    if value.is_empty() {
        return None;
    }
    let span = Span::new(value_start, value_start + value.len());
    // The reader stopped at the only colon of the line: the line itself is misplaced.
    if at == Some(body_start + colon) && !value.contains(": ") {
        return Some(Slip {
            span: Span::new(start, line.start + written.trim_end().len()),
            message: "a line is indented deeper than the value above it allows".to_owned(),
            label: "indented too deep",
            help: "indent keys of the same level alike; put a key's own keys under a bare `key:`"
                .to_owned(),
            patch: None,
        });
    }
    slip_of_value(value, span)
}

/// The first line that is indented with a tab: not always where the reader stops.
fn tab_in(text: &str) -> Option<Slip> {
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let indent = line.len() - line.trim_start_matches([' ', '\t']).len();
        if let Some(tab) = line.get(..indent)?.find('\t') {
            return Some(tabbed(start + tab));
        }
        start += line.len();
    }
    None
}

fn tabbed(at: usize) -> Slip {
    Slip {
        span: Span::new(at, at + 1),
        message: "a line of YAML is indented with a tab".to_owned(),
        label: "tab",
        help: "indent with spaces".to_owned(),
        patch: None,
    }
}

/// The usual slip of a value within braces or brackets, where the reader stopped at it.
fn slip_within(text: &str, line: Span, at: usize) -> Option<Slip> {
    let rest = text.get(at..line.end)?;
    let value = rest.split([',', ']', '}']).next()?.trim_end();
    slip_of_value(value, Span::new(at, at + value.len()))
}

/// The usual slip of a line without a key.
fn no_colon(body: &str, start: usize, at: Option<usize>) -> Option<Slip> {
    let word = body.trim_end();
    if word.is_empty() || word.starts_with(['#', '[', '{', '}', ']', '"', '\'']) {
        return None;
    }
    // A line before the one where the reader stopped may well continue a value.
    at?;
    Some(Slip {
        span: Span::new(start, start + word.len()),
        message: "this line is not a key with a value".to_owned(),
        label: "expected a key",
        help: "write `key: value` with a space after the colon".to_owned(),
        patch: None,
    })
}

/// The usual slip of a value that YAML reads as something else than text.
fn slip_of_value(value: &str, span: Span) -> Option<Slip> {
    let first = value.chars().next()?;
    let slip = |message: String, label| {
        Some(Slip { span, message, label, help: in_quotes(value), patch: Some(quoted(value)) })
    };
    let unclosed = |mark: char, closing: char| {
        Some(Slip {
            span,
            message: format!("`{mark}` is opened and not closed"),
            label: "not closed",
            help: format!("close it with `{closing}` on the same line"),
            patch: None,
        })
    };
    match first {
        '?' if value == "?" => Some(Slip {
            span,
            message: "a value must be known here, but is `?`".to_owned(),
            label: "not known",
            help: "write the value, or leave the key away; `?` is for counts in instructions"
                .to_owned(),
            patch: None,
        }),
        '`' => slip("a value that begins with a backtick needs quotes".to_owned(), "quote this"),
        '*' | '&' | '!' | '|' | '>' | '@' | '%' | '?' | ']' | '}' | ',' => {
            slip(format!("a value that begins with `{first}` needs quotes"), "quote this")
        }
        '-' if value == "-" || value.starts_with("- ") => {
            slip("a value that begins with `-` and a space needs quotes".to_owned(), "quote this")
        }
        '"' | '\'' if !value.get(1..).is_some_and(|rest| rest.contains(first)) => {
            unclosed(first, first)
        }
        '"' | '\'' => Some(Slip {
            span,
            message: "there is more after the closing quote".to_owned(),
            label: "quoted in part",
            help: "put the whole value in quotes, or none of it".to_owned(),
            patch: None,
        }),
        '[' if value.matches('[').count() > value.matches(']').count() => unclosed('[', ']'),
        '{' if value.matches('{').count() > value.matches('}').count() => unclosed('{', '}'),
        '[' | '{' if !value.ends_with(if first == '[' { ']' } else { '}' }) => {
            slip(format!("a value that begins with `{first}` needs quotes"), "quote this")
        }
        '[' | '{' => None,
        _ if value.contains(": ") || value.ends_with(':') => {
            slip("a value with `:` and a space in it needs quotes".to_owned(), "quote this")
        }
        _ => None,
    }
}

/// The value in the quotes that need no escapes, double ones where both do.
pub(super) fn quoted(value: &str) -> String {
    if value.contains(['"', '\\']) {
        format!("'{}'", value.replace('\'', "''"))
    } else {
        format!("\"{value}\"")
    }
}

/// What to do with a value that needs quotes; the mend itself where it is short.
pub(super) fn in_quotes(value: &str) -> String {
    match quoted(value) {
        short if short.len() <= 60 => format!("put the value in quotes: {short}"),
        _ => "put the value in quotes".to_owned(),
    }
}
