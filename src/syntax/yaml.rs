//! YAML with the place of every value.
//!
//! `serde_yaml` reads: the text of every key and value is what it makes of
//! them, as typed (`no`, `4.50` and `2 1/2` stay words). `saphyr_parser`
//! places: its events give each node its bytes, and are where everything no
//! pattern needs (aliases, tags, several documents, depths and lengths beyond
//! reason) is refused before the reader sees it. Nothing here knows what the
//! keys mean, and nothing outside names either crate.

mod mend;
mod slip;

use crate::diag::{Code, Finding};
use crate::source::{Span, Spanned};
use saphyr_parser::{Event, Parser, ScalarStyle, ScanError};
use serde::de::{DeserializeSeed, Deserializer, Error as _, MapAccess, SeqAccess, Visitor};
use slip::broken_at;
use std::fmt;

/// How deep lists and maps may be nested.
const MAX_DEPTH: usize = 16;
/// How many keys and values there may be.
const MAX_NODES: usize = 2_000;
/// How many bytes one value may have.
const MAX_SCALAR: usize = 10_000;
/// How many findings are worth reading.
const MAX_FINDINGS: usize = 100;

/// A value and its place.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Yaml {
    /// The value as written: a quoted one with its quotes, a list or map from
    /// its first to its last byte.
    pub(super) span: Span,
    /// What it is.
    pub(super) kind: Kind,
}

impl Yaml {
    /// Where the text of a single value stands, without quotes where that is plain.
    pub(super) fn text_span(&self) -> Span {
        match &self.kind {
            Kind::Scalar(Scalar { text, exact: Some(start) }) => {
                Span::new(*start, start + text.len())
            }
            _ => self.span,
        }
    }

    /// A place to point at: the value if it stands on one line, else where it begins.
    pub(super) fn head(&self) -> Span {
        match &self.kind {
            Kind::Scalar(Scalar { exact: Some(_), .. }) => self.span,
            _ => Span::at(self.span.start),
        }
    }
}

/// The three kinds of YAML value.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Kind {
    /// A single value.
    Scalar(Scalar),
    /// `[a, b]` or lines that begin with `-`.
    List(Vec<Yaml>),
    /// `{ a: b }` or lines `a: b`.
    Map(Vec<(Spanned<String>, Yaml)>),
}

/// A single value.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Scalar {
    /// Its text: quotes, escapes and line folds taken away.
    pub(super) text: String,
    /// Where exactly this text stands, byte for byte; `None` where escapes or
    /// line folds make the written form another.
    pub(super) exact: Option<usize>,
}

/// What was read.
#[derive(Debug, Default)]
pub(super) struct Reading {
    /// The keys and values: a map; `None` for a text without any.
    pub(super) root: Option<Yaml>,
    /// What is wrong with the text as YAML, and names given twice.
    pub(super) findings: Vec<Finding>,
    /// Some part could not be read and is not in `root`.
    pub(super) partial: bool,
}

/// Reads a text that stands `offset` bytes into its source.
///
/// Where it is broken, every top-level key that can be read on its own is.
pub(super) fn read(text: &str, offset: usize) -> Reading {
    let mut reading = Reading::default();
    match read_whole(text, offset) {
        Ok(root) => reading.root = root,
        Err(broken) => {
            reading.partial = true;
            read_by_key(text, offset, broken, &mut reading);
        }
    }
    if let Some(other) = reading.root.take_if(|root| !matches!(root.kind, Kind::Map(_))) {
        reading.partial = true;
        reading.findings.push(not_a_key(other.head()));
    }
    if let Some(root) = &mut reading.root {
        mend::mend_cut_sizes(root, text, offset, &mut reading.findings);
        mend::find_lost_comments(root, text, offset, &mut reading.findings);
        mend::drop_duplicates(root, &mut reading.findings);
    }
    reading.findings.truncate(MAX_FINDINGS);
    reading
}

fn read_whole(text: &str, offset: usize) -> Result<Option<Yaml>, Finding> {
    match place(text, offset)? {
        Some(shape) => agree(&shape, text, offset).map(Some),
        None => Ok(None),
    }
}

/// Reads each top-level key with what is indented under it as a text of its own.
fn read_by_key(text: &str, offset: usize, broken: Finding, reading: &mut Reading) {
    let parts = top_level_parts(text);
    if parts.len() < 2 || matches!(broken.code, Code::TooLarge | Code::TooDeep) {
        reading.findings.push(broken);
        return;
    }
    let mut entries = Vec::new();
    for part in parts {
        if reading.findings.len() >= MAX_FINDINGS {
            break;
        }
        let Some(part_text) = text.get(part.range()) else { continue };
        match read_whole(part_text, offset + part.start) {
            Ok(Some(Yaml { kind: Kind::Map(mut more), .. })) => entries.append(&mut more),
            Ok(None) => {}
            Ok(Some(other)) => reading.findings.push(not_a_key(other.head())),
            Err(finding) => reading.findings.push(finding),
        }
    }
    // Each part is sound, yet the whole is not.
    if reading.findings.is_empty() {
        reading.findings.push(broken);
    }
    if let (Some((first, _)), Some((_, last))) = (entries.first(), entries.last()) {
        let span = first.span.to(last.span);
        reading.root = Some(Yaml { span, kind: Kind::Map(entries) });
    }
}

fn not_a_key(span: Span) -> Finding {
    Finding::new(Code::YamlBroken, span, "this is not a key with a value")
        .label("expected a key")
        .help("write `key: value` with a space after the colon, or indent the line to continue the value above")
}

/// The lines of each top-level key: from one line that starts at the margin to the next.
fn top_level_parts(text: &str) -> Vec<Span> {
    let mut starts = Vec::new();
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        let at_margin = line.starts_with(|c: char| !c.is_whitespace() && !"#-}])'\":?".contains(c));
        if at_margin {
            starts.push(at);
        }
        at += line.len();
    }
    let ends = starts.iter().skip(1).copied().chain([text.len()]);
    starts.iter().zip(ends).map(|(&start, end)| Span::new(start, end)).collect()
}

// --- placing -----------------------------------------------------------------

/// Turns the places of the event parser, which count characters, into bytes.
struct Places {
    /// The byte of every character, and the end; `None` where all are one byte long.
    bytes: Option<Vec<usize>>,
    len: usize,
}

impl Places {
    fn new(text: &str) -> Self {
        let bytes = (!text.is_ascii())
            .then(|| text.char_indices().map(|(at, _)| at).chain([text.len()]).collect());
        Self { bytes, len: text.len() }
    }

    fn byte(&self, index: usize) -> usize {
        match &self.bytes {
            Some(bytes) => bytes.get(index).copied().unwrap_or(self.len),
            None => index.min(self.len),
        }
    }

    fn span(&self, span: saphyr_parser::Span) -> Span {
        let start = self.byte(span.start.index());
        Span::new(start, self.byte(span.end.index()).max(start))
    }
}

/// A node with its place, from the events.
struct Shape {
    span: Span,
    kind: ShapeKind,
}

enum ShapeKind {
    Scalar { text: String, style: ScalarStyle },
    List(Vec<Shape>),
    Map(Vec<(Spanned<String>, Shape)>),
}

/// A list or map that is still open.
struct Open {
    span: Span,
    /// Written in brackets or braces.
    flow: bool,
    items: Vec<Shape>,
    map: Option<OpenMap>,
}

#[derive(Default)]
struct OpenMap {
    entries: Vec<(Spanned<String>, Shape)>,
    key: Option<Spanned<String>>,
}

/// The event pass: the shape of the text, every node with its bytes in `text`.
fn place(text: &str, offset: usize) -> Result<Option<Shape>, Finding> {
    let places = Places::new(text);
    let mut parser = Parser::new_from_str(text);
    let mut open: Vec<Open> = Vec::new();
    let mut root = None;
    let mut nodes = 0;
    while let Some(event) = parser.next_event() {
        let (event, span) =
            event.map_err(|e| scan_finding(text, offset, places.byte(e.marker().index()), &e))?;
        let span = places.span(span);
        let there = span.shifted(offset);
        let done = match event {
            Event::DocumentStart(_) if root.is_some() => {
                return Err(Finding::new(
                    Code::YamlBroken,
                    there,
                    "a second YAML document begins here",
                )
                .label("remove this")
                .help("keep everything in one document: take the `---` line away"));
            }
            Event::Alias(_) => return Err(refused(there, Refused::Alias)),
            Event::Scalar(_, _, anchor, _) | Event::SequenceStart(anchor, _) if anchor != 0 => {
                return Err(refused(there, Refused::Anchor));
            }
            Event::MappingStart(anchor, _) if anchor != 0 => {
                return Err(refused(there, Refused::Anchor));
            }
            Event::Scalar(_, _, _, Some(_))
            | Event::SequenceStart(_, Some(_))
            | Event::MappingStart(_, Some(_)) => return Err(refused(there, Refused::Tag)),
            Event::Scalar(value, style, ..) => {
                if value.len() > MAX_SCALAR {
                    return Err(Finding::new(
                        Code::TooLarge,
                        Span::at(there.start),
                        format!(
                            "a value of {} characters is longer than any pattern needs",
                            value.chars().count()
                        ),
                    )
                    .label("this value")
                    .note(format!("a value may have up to {MAX_SCALAR} bytes")));
                }
                let span = trimmed(text, span, style);
                Some(Shape { span, kind: ShapeKind::Scalar { text: value.into_owned(), style } })
            }
            Event::SequenceStart(..) => {
                open.push(Open { span, flow: !span_is_empty(span), items: Vec::new(), map: None });
                None
            }
            Event::MappingStart(..) => {
                open.push(Open {
                    span,
                    flow: !span_is_empty(span),
                    items: Vec::new(),
                    map: Some(OpenMap::default()),
                });
                None
            }
            Event::SequenceEnd | Event::MappingEnd => open.pop().map(|o| closed(text, o, span)),
            _ => None,
        };
        if open.len() > MAX_DEPTH {
            return Err(too_deep(there));
        }
        let Some(shape) = done else { continue };
        nodes += 1;
        if nodes > MAX_NODES {
            return Err(Finding::new(
                Code::TooLarge,
                there,
                "there are more keys and values than any pattern needs",
            )
            .label("one too many")
            .note(format!("there may be up to {MAX_NODES}")));
        }
        match open.last_mut() {
            None => root = Some(shape),
            Some(parent) => parent.take(shape, offset)?,
        }
    }
    Ok(root)
}

fn span_is_empty(span: Span) -> bool {
    span.start == span.end
}

impl Open {
    /// Takes a finished child: the next item, key or value.
    fn take(&mut self, shape: Shape, offset: usize) -> Result<(), Finding> {
        let Some(map) = &mut self.map else {
            self.items.push(shape);
            return Ok(());
        };
        match (map.key.take(), shape.kind) {
            (Some(key), kind) => {
                let empty = matches!(&kind, ShapeKind::Scalar { text, style }
                    if text.is_empty() && *style == ScalarStyle::Plain);
                // The event parser puts a missing value at the next mark.
                let span = if empty { Span::at(key.span.end) } else { shape.span };
                map.entries.push((key, Shape { span, kind }));
            }
            (None, ShapeKind::Scalar { text, .. }) => {
                map.key = Some(Spanned::new(text, shape.span));
            }
            (None, _) => {
                return Err(Finding::new(
                    Code::YamlBroken,
                    shape.span.shifted(offset),
                    "a key must be a single word or name",
                )
                .label("not a key")
                .help("to write these marks as text, put them in quotes"));
            }
        }
        Ok(())
    }
}

/// A list or map, from its brackets or from its first to its last child.
fn closed(text: &str, open: Open, end: Span) -> Shape {
    let children = match &open.map {
        Some(map) => {
            let ends = map.entries.first().zip(map.entries.last());
            ends.map(|((first, _), (key, last))| first.span.to(key.span).to(last.span))
        }
        None => open.items.first().zip(open.items.last()).map(|(a, b)| a.span.to(b.span)),
    };
    let span = if open.flow {
        trimmed(text, open.span.to(end), ScalarStyle::Plain)
    } else {
        children.unwrap_or(open.span)
    };
    let kind = match open.map {
        Some(map) => ShapeKind::Map(map.entries),
        None => ShapeKind::List(open.items),
    };
    Shape { span, kind }
}

/// Without the blanks that the event parser counts in at the end.
fn trimmed(text: &str, span: Span, style: ScalarStyle) -> Span {
    let blanks: &[char] = match style {
        ScalarStyle::Literal | ScalarStyle::Folded => &['\n', '\r'],
        _ => &[' ', '\t', '\n', '\r'],
    };
    let written = text.get(span.range()).unwrap_or("");
    Span::new(span.start, span.start + written.trim_end_matches(blanks).len())
}

/// YAML's means of saying one thing in two places, which no pattern needs.
#[derive(Clone, Copy)]
enum Refused {
    Alias,
    Anchor,
    Tag,
}

fn refused(span: Span, what: Refused) -> Finding {
    let (message, mark) = match what {
        Refused::Alias => ("a value that begins with `*` refers to another in YAML", '*'),
        Refused::Anchor => ("a value that begins with `&` is an anchor in YAML", '&'),
        Refused::Tag => ("a value that begins with `!` is a tag in YAML", '!'),
    };
    Finding::new(Code::YamlBroken, span, message)
        .label("not allowed here")
        .help(format!("write every value out; to begin a text with `{mark}`, put it in quotes"))
}

fn too_deep(span: Span) -> Finding {
    Finding::new(Code::TooDeep, span, "this is nested deeper than any pattern needs")
        .label("one level too many")
        .note(format!("lists and maps may be nested {MAX_DEPTH} deep"))
}

/// The finding for a text the event parser refuses at byte `at`.
fn scan_finding(text: &str, offset: usize, at: usize, error: &ScanError) -> Finding {
    if error.info().contains("recursion limit") {
        return too_deep(Span::at(offset + at));
    }
    broken_at(text, offset, at, error.info())
}

// --- reading -------------------------------------------------------------------

/// The reader's pass: the text of every value as `serde_yaml` reads it, at the
/// places of `shape`.
fn agree(shape: &Shape, text: &str, offset: usize) -> Result<Yaml, Finding> {
    let seed = Seed { shape, text, offset };
    seed.deserialize(serde_yaml::Deserializer::from_str(text)).map_err(|error| {
        let at = error
            .location()
            .map_or(shape.span.start, |place| Places::new(text).byte(place.index()));
        broken_at(text, offset, at, &error.to_string())
    })
}

/// Reads one value along its shape.
#[derive(Clone, Copy)]
struct Seed<'a> {
    shape: &'a Shape,
    text: &'a str,
    offset: usize,
}

impl<'a> Seed<'a> {
    fn child(self, shape: &'a Shape) -> Self {
        Self { shape, ..self }
    }

    fn yaml(self, kind: Kind) -> Yaml {
        Yaml { span: self.shape.span.shifted(self.offset), kind }
    }

    /// Where the text of a scalar stands as it is: after the quote of a quoted one.
    fn exact(self, text: &str, style: ScalarStyle) -> Option<usize> {
        let start = self.shape.span.start;
        let start = match style {
            ScalarStyle::Plain => start,
            ScalarStyle::SingleQuoted | ScalarStyle::DoubleQuoted => start + 1,
            ScalarStyle::Literal | ScalarStyle::Folded => return None,
        };
        let written = self.text.get(start..start + text.len());
        (written == Some(text)).then_some(start + self.offset)
    }
}

impl<'de> DeserializeSeed<'de> for Seed<'_> {
    type Value = Yaml;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Yaml, D::Error> {
        match self.shape.kind {
            // As a string, so that numbers and words like `no` come as typed.
            ShapeKind::Scalar { .. } => deserializer.deserialize_str(self),
            ShapeKind::List(_) => deserializer.deserialize_seq(self),
            ShapeKind::Map(_) => deserializer.deserialize_map(self),
        }
    }
}

impl<'de> Visitor<'de> for Seed<'_> {
    type Value = Yaml;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self.shape.kind {
            ShapeKind::Scalar { .. } => "a single value",
            ShapeKind::List(_) => "a list",
            ShapeKind::Map(_) => "keys and values",
        })
    }

    fn visit_str<E: serde::de::Error>(self, value: &str) -> Result<Yaml, E> {
        match &self.shape.kind {
            ShapeKind::Scalar { text, style } if text == value => {
                let exact = self.exact(value, *style);
                Ok(self.yaml(Kind::Scalar(Scalar { text: value.to_owned(), exact })))
            }
            _ => Err(E::custom("the value can be read in two ways")),
        }
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Yaml, A::Error> {
        let ShapeKind::List(shapes) = &self.shape.kind else {
            return Err(A::Error::custom("a list where there is none"));
        };
        let mut items = Vec::with_capacity(shapes.len());
        for shape in shapes {
            match seq.next_element_seed(self.child(shape))? {
                Some(item) => items.push(item),
                None => return Err(A::Error::custom("a list ends early")),
            }
        }
        Ok(self.yaml(Kind::List(items)))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Yaml, A::Error> {
        let ShapeKind::Map(shapes) = &self.shape.kind else {
            return Err(A::Error::custom("keys where there are none"));
        };
        let mut entries = Vec::with_capacity(shapes.len());
        for (placed, shape) in shapes {
            // As a string, so that a size named `no` or `38` comes as typed.
            let Some(key) = map.next_key::<String>()? else {
                return Err(A::Error::custom("a map ends early"));
            };
            if key != placed.value {
                return Err(A::Error::custom("the key can be read in two ways"));
            }
            let value = map.next_value_seed(self.child(shape))?;
            entries.push((Spanned::new(key, placed.span.shifted(self.offset)), value));
        }
        Ok(self.yaml(Kind::Map(entries)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One value a line: path, text, and what the source has at its place.
    fn placed(text: &str) -> String {
        fn walk(node: &Yaml, path: &str, text: &str, lines: &mut Vec<String>) {
            match &node.kind {
                Kind::Scalar(scalar) => {
                    let written = &text[node.span.range()];
                    lines.push(format!("{path} = {:?} from {written:?}", scalar.text));
                }
                Kind::List(items) => {
                    for (i, item) in items.iter().enumerate() {
                        walk(item, &format!("{path}.{i}"), text, lines);
                    }
                }
                Kind::Map(entries) => {
                    for (key, value) in entries {
                        walk(value, &format!("{path}/{}", key.value), text, lines);
                    }
                }
            }
        }
        let mut lines = Vec::new();
        if let Some(root) = &read(text, 0).root {
            walk(root, "", text, &mut lines);
        }
        lines.join("\n")
    }

    #[test]
    fn every_value_is_as_typed_and_in_its_place() {
        insta::assert_snapshot!(placed("sizes: [no, 38, 4.50, ~]\nhead: 48 (52, 56) cm  # round\nease:\n  chest: -10%\n"), @r#"
        /sizes.0 = "no" from "no"
        /sizes.1 = "38" from "38"
        /sizes.2 = "4.50" from "4.50"
        /sizes.3 = "~" from "~"
        /head = "48 (52, 56) cm" from "48 (52, 56) cm"
        /ease/chest = "-10%" from "-10%"
        "#);
        insta::assert_snapshot!(placed("tîtle: Çap\nb: 'it''s'\nc: \"a\\tb\"\nd: two\n  lines\ne: |\n  kept\n  so\n"), @r#"
        /tîtle = "Çap" from "Çap"
        /b = "it's" from "'it''s'"
        /c = "a\tb" from "\"a\\tb\""
        /d = "two lines" from "two\n  lines"
        /e = "kept\nso\n" from "kept\n  so"
        "#);
        insta::assert_snapshot!(placed("gauges: { body: { stitches: 20, over: 10 cm } }\r\nnotes:\r\n- a\r\n- - b\r\n"), @r#"
        /gauges/body/stitches = "20" from "20"
        /gauges/body/over = "10 cm" from "10 cm"
        /notes.0 = "a" from "a"
        /notes.1.0 = "b" from "b"
        "#);
        insta::assert_snapshot!(placed("empty:\nflow: { a: , b }\n"), @r#"
        /empty = "" from ""
        /flow/a = "" from ""
        /flow/b = "" from ""
        "#);
    }

    #[test]
    fn a_place_is_counted_from_the_beginning_of_the_source() {
        let reading = read("é: 48 cm", 100);
        let Some(Yaml { kind: Kind::Map(entries), span }) = reading.root else { panic!() };
        assert_eq!(span, Span::new(100, 109));
        let [(key, value)] = entries.as_slice() else { panic!() };
        assert_eq!(key.span, Span::new(100, 102));
        assert_eq!(value.span, Span::new(104, 109));
        assert_eq!(value.text_span(), value.span);
    }

    #[test]
    fn quotes_are_not_part_of_the_text() {
        let text = "a: \"48 cm\"";
        let Some(Yaml { kind: Kind::Map(entries), .. }) = read(text, 0).root else { panic!() };
        assert_eq!(&text[entries[0].1.text_span().range()], "48 cm");
        assert_eq!(&text[entries[0].1.span.range()], "\"48 cm\"");
    }

    #[test]
    fn what_can_be_read_of_a_broken_text_is() {
        let reading = read("title: Cap\nnotes: [k1\nunits: cm\n", 0);
        assert!(reading.partial);
        assert_eq!(reading.findings.len(), 1);
        let Some(Yaml { kind: Kind::Map(entries), .. }) = reading.root else { panic!() };
        let keys: Vec<_> = entries.iter().map(|(key, _)| key.value.as_str()).collect();
        assert_eq!(keys, ["title", "units"]);
    }

    #[test]
    fn sizes_cut_within_braces_are_put_together() {
        let text = "{ head: 48 (52, 56) cm, hand: 18 cm }";
        let reading = read(text, 0);
        let Some(Yaml { kind: Kind::Map(entries), .. }) = reading.root else { panic!() };
        let values: Vec<_> = entries.iter().map(|(_, value)| &text[value.span.range()]).collect();
        assert_eq!(values, ["48 (52, 56) cm", "18 cm"]);
        assert_eq!(reading.findings.len(), 1);
    }
}
