//! What can go wrong in an instruction, and how it becomes a finding.
//!
//! A parser that fails says only where; what was expected there is kept beside
//! the text in [`Expectations`], because an optional parser that fails drops
//! its error value and with it the most useful thing to say. The farthest
//! failure wins, and everything expected at that place is said at once.

use crate::diag::{Code, Finding, words};
use crate::source::Span;
use nom::error::{ErrorKind, FromExternalError, ParseError};

use super::text::Text;

/// Where a parser stopped, and why.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Failure {
    at: usize,
    reason: Reason,
}

/// Why a parser stopped.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Reason {
    /// What was expected there is in the [`Expectations`].
    Expected,
    /// A word that is no stitch. What to say of it is worked out only where it
    /// is said: most parsers that look ahead find many such words, and no harm in them.
    UnknownStitch(Span),
    /// All there is to say.
    Found(Box<Finding>),
}

impl Failure {
    /// Stopped here; what was expected is in the [`Expectations`].
    pub(super) const fn at(at: usize) -> Self {
        Self { at, reason: Reason::Expected }
    }

    /// Stopped for a reason that is better than "expected".
    pub(super) fn found(finding: Finding) -> Self {
        Self { at: finding.place().start, reason: Reason::Found(Box::new(finding)) }
    }

    /// Stopped at a word that is no stitch.
    pub(super) const fn unknown_stitch(word: Span) -> Self {
        Self { at: word.start, reason: Reason::UnknownStitch(word) }
    }

    /// Where it stopped.
    pub(super) const fn place(&self) -> usize {
        self.at
    }

    /// Whether the reason is better than "expected".
    pub(super) const fn is_finding(&self) -> bool {
        !matches!(self.reason, Reason::Expected)
    }

    /// Why it stopped.
    pub(super) fn into_reason(self) -> Reason {
        self.reason
    }
}

impl ParseError<Text<'_>> for Failure {
    fn from_error_kind(input: Text<'_>, _: ErrorKind) -> Self {
        Self::at(input.offset())
    }

    fn append(_: Text<'_>, _: ErrorKind, other: Self) -> Self {
        other
    }

    fn or(self, other: Self) -> Self {
        let key = |f: &Self| (f.is_finding(), f.at);
        if key(&other) > key(&self) { other } else { self }
    }
}

impl<E> FromExternalError<Text<'_>, E> for Failure {
    fn from_external_error(input: Text<'_>, _: ErrorKind, _: E) -> Self {
        Self::at(input.offset())
    }
}

/// How the end of a text is described where it was expected.
pub(super) const THE_END: &str = "the end of the instruction";

/// Something that would have been right.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Expected {
    /// Described in words: `a whole number`.
    Thing(&'static str),
    /// Certain words, as a pattern of [`super::terminals::phrase`].
    Words(&'static str),
    /// A certain sign.
    Sign(char),
}

impl Expected {
    fn said(self) -> String {
        match self {
            Self::Thing(thing) => thing.to_owned(),
            Self::Sign(sign) => format!("`{sign}`"),
            Self::Words(pattern) => {
                let plain = pattern
                    .split(' ')
                    .filter(|token| !token.ends_with('?'))
                    .map(|token| token.split('|').next().unwrap_or(token));
                format!("`{}`", plain.collect::<Vec<_>>().join(" "))
            }
        }
    }
}

/// What would have been right at the farthest place any parser reached.
#[derive(Clone, Default, Debug)]
pub(super) struct Expectations {
    at: usize,
    expected: Vec<Expected>,
}

impl Expectations {
    /// Nobody says what would have been right at `at`.
    pub(super) const fn none(at: usize) -> Self {
        Self { at, expected: Vec::new() }
    }

    /// Notes that `expected` would have been right at `at`.
    pub(super) fn note(&mut self, at: usize, expected: Expected) {
        if at > self.at {
            self.at = at;
            self.expected.clear();
        }
        if at == self.at && !self.expected.contains(&expected) {
            self.expected.push(expected);
        }
    }

    /// How much is noted at `at` so far.
    pub(super) fn mark(&self, at: usize) -> usize {
        if self.at == at { self.expected.len() } else { 0 }
    }

    /// Puts one description in the place of all that was noted at `at` since `mark`.
    pub(super) fn replace(&mut self, at: usize, mark: usize, expected: Expected) {
        if self.at == at {
            self.expected.truncate(mark);
        }
        self.note(at, expected);
    }

    /// The farthest place.
    pub(super) const fn place(&self) -> usize {
        self.at
    }

    /// `expected a, b or c, but found d`.
    pub(super) fn finding(&self, text: &str, offset: usize) -> Finding {
        let rest = text.get(self.at.saturating_sub(offset)..).unwrap_or("");
        let (length, found) = found(rest);
        let mut said: Vec<String> = Vec::new();
        for expected in &self.expected {
            let one = expected.said();
            if !said.contains(&one) {
                said.push(one);
            }
        }
        let message = match said.as_slice() {
            [] => format!("{found} is not understood here"),
            all => format!("expected {}, but found {found}", words::list(all, "or")),
        };
        let span = Span::new(self.at, self.at + length);
        // Examples in brackets are for the message alone.
        let label = match said.as_slice() {
            [one] if !one.starts_with("the end") => {
                let short = one.split(" (").next().unwrap_or(one);
                format!("{} {short}", if length == 0 { "missing" } else { "not" })
            }
            _ if length == 0 => "something is missing".to_owned(),
            _ => "not understood".to_owned(),
        };
        Finding::new(Code::Syntax, span, message).label(label)
    }
}

/// The length and a description of what stands at the beginning of `rest`.
pub(super) fn found(rest: &str) -> (usize, String) {
    let word: usize =
        rest.chars().take_while(|c| c.is_alphanumeric() || *c == '-').map(char::len_utf8).sum();
    let length = if word > 0 { word } else { rest.chars().next().map_or(0, char::len_utf8) };
    match rest.get(..length) {
        None | Some("") => (0, "the end".to_owned()),
        Some(token) => (length, format!("`{}`", clipped(token))),
    }
}

/// A token short enough for a message.
pub(super) fn clipped(token: &str) -> String {
    if token.chars().count() > 40 {
        token.chars().take(40).chain(['…']).collect()
    } else {
        token.to_owned()
    }
}
