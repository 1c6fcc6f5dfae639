//! The text being read, and places in it.
//!
//! Every node of the syntax tree, every finding and every edit points at a
//! [`Span`] of bytes; lines and columns are worked out only when shown.

use std::fmt;

/// A range of bytes `start..end` in one source text.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Span {
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

impl Span {
    /// The bytes from `start` up to `end`.
    #[must_use]
    pub const fn new(start: usize, end: usize) -> Self {
        debug_assert!(start <= end);
        Self { start, end }
    }

    /// An empty place, for "expected here".
    #[must_use]
    pub const fn at(offset: usize) -> Self {
        Self::new(offset, offset)
    }

    /// Whether it holds no byte.
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.start == self.end
    }

    /// The smallest span that covers both.
    #[must_use]
    pub fn to(self, other: Self) -> Self {
        Self::new(self.start.min(other.start), self.end.max(other.end))
    }

    /// The same span, `offset` bytes further on.
    #[must_use]
    pub const fn shifted(self, offset: usize) -> Self {
        Self::new(self.start + offset, self.end + offset)
    }

    /// Whether `other` lies inside this span.
    #[must_use]
    pub const fn contains(self, other: Self) -> bool {
        self.start <= other.start && other.end <= self.end
    }

    /// As a range, for slicing.
    #[must_use]
    pub const fn range(self) -> std::ops::Range<usize> {
        self.start..self.end
    }
}

impl fmt::Debug for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}..{}", self.start, self.end)
    }
}

/// A value and the place it was written.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Spanned<T> {
    /// What was written.
    pub value: T,
    /// Where.
    pub span: Span,
}

impl<T> Spanned<T> {
    /// Ties a value to its place.
    pub const fn new(value: T, span: Span) -> Self {
        Self { value, span }
    }
}

impl<T: fmt::Debug> fmt::Debug for Spanned<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?} @ {:?}", self.value, self.span)
    }
}

/// A named text: a pattern file, a targets file, or standard input.
#[derive(Clone, Debug)]
pub struct Source {
    /// What to call it in messages.
    pub name: String,
    /// The whole text. A byte-order mark, where there is one, is part of it.
    pub text: String,
}

impl Source {
    /// A text under a name.
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        Self { name: name.into(), text: text.into() }
    }

    /// The text of a span. Empty where the span is not on character boundaries.
    #[must_use]
    pub fn slice(&self, span: Span) -> &str {
        self.text.get(span.range()).unwrap_or("")
    }

    /// Line and column (both from 1, columns in characters) of a byte offset.
    /// A byte-order mark takes up no column.
    #[must_use]
    pub fn line_column(&self, offset: usize) -> (usize, usize) {
        let before = self.text.get(..offset).unwrap_or(&self.text);
        let before = before.strip_prefix('\u{feff}').unwrap_or(before);
        let line = before.bytes().filter(|&b| b == b'\n').count() + 1;
        let column = before.rsplit('\n').next().map_or(0, |l| l.chars().count()) + 1;
        (line, column)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_and_columns_count_characters_from_one() {
        let source = Source::new("t", "ab\nçd");
        assert_eq!(source.line_column(0), (1, 1));
        assert_eq!(source.line_column(3), (2, 1));
        assert_eq!(source.line_column(5), (2, 2));
    }

    #[test]
    fn a_span_covers_both_ends() {
        assert_eq!(Span::new(4, 6).to(Span::new(1, 2)), Span::new(1, 6));
        assert!(Span::new(1, 6).contains(Span::new(4, 6)));
    }
}
