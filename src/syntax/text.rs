//! A text as it is read: its place in the file, what is expected of it, and the
//! combinators that the parsers are made of.

use std::cell::Cell;

use nom::combinator::opt;
use nom::{Compare, CompareResult, Err, IResult, Input, Needed, Offset, Parser};

use super::abbreviation;
use super::error::{Expectations, Expected, Failure, Reason, found};
use super::front::{Color, Front};
use crate::diag::{Code, Finding};
use crate::source::{Span, Spanned};

/// How deep groups, repeats and parentheses may be nested.
pub(super) const DEEPEST: u8 = 32;

/// The words an author has added to the language.
#[derive(Clone, Default, Debug)]
pub struct Vocabulary {
    /// Abbreviations of the author's own, from the front matter.
    pub own: Vec<String>,
    /// The names of the colors of the yarn, from the front matter.
    pub colors: Vec<String>,
}

impl Vocabulary {
    /// The words that a front matter adds.
    #[must_use]
    pub fn of(front: &Front) -> Self {
        let colors = front.yarn.iter().flat_map(|yarn| &yarn.colors);
        Self {
            own: front.abbreviations.iter().map(|own| own.name.value.clone()).collect(),
            colors: colors.flat_map(Color::names).collect(),
        }
    }
}

/// What every parser of one text shares.
pub(super) struct Context<'a> {
    vocabulary: &'a Vocabulary,
    /// What the end of the text is called.
    end: &'static str,
    expectations: Cell<Expectations>,
    /// How many [`quietly`] we are inside of.
    muted: Cell<u32>,
}

impl Context<'_> {
    fn with_expectations<T>(&self, use_them: impl FnOnce(&mut Expectations) -> T) -> T {
        let mut all = self.expectations.take();
        let result = use_them(&mut all);
        self.expectations.set(all);
        result
    }
}

/// A text still to be read, with its place in the file.
#[derive(Clone, Copy)]
pub(super) struct Text<'a> {
    rest: &'a str,
    offset: usize,
    depth: u8,
    context: &'a Context<'a>,
}

/// What a parser gives.
pub(super) type Parsed<'a, T> = IResult<Text<'a>, T, Failure>;

/// Reads all of `text`, which stands `offset` bytes into the file; `end` says
/// what it is the end of.
pub(super) fn whole<T>(
    text: &str,
    offset: usize,
    vocabulary: &Vocabulary,
    end: &'static str,
    parser: impl for<'a> Fn(Text<'a>) -> Parsed<'a, T>,
) -> Result<T, Finding> {
    let context =
        Context { vocabulary, end, expectations: Cell::default(), muted: Cell::default() };
    let start = Text { rest: text, offset, depth: 0, context: &context };
    let read = parser(start).and_then(|(rest, out)| self::end(rest).map(|_| out));
    read.map_err(|error| match error {
        Err::Error(failure) | Err::Failure(failure) => {
            let at = failure.place();
            match failure.into_reason() {
                Reason::Found(finding) => *finding,
                Reason::UnknownStitch(span) => {
                    let word = text.get(span.start - offset..span.end - offset).unwrap_or("");
                    abbreviation::unknown(word, span, &vocabulary.own)
                }
                Reason::Expected => {
                    let mut expectations = context.expectations.into_inner();
                    if expectations.place() < at {
                        expectations = Expectations::none(at);
                    }
                    expectations.finding(text, offset)
                }
            }
        }
        Err::Incomplete(_) => Finding::new(
            Code::Internal,
            Span::at(offset),
            "an instruction was read as if more text could follow",
        ),
    })
}

/// Reads what `text`, which stands `offset` bytes into the file, begins with.
pub(super) fn opening<T>(
    text: &str,
    offset: usize,
    parser: impl for<'a> Fn(Text<'a>) -> Parsed<'a, T>,
) -> Option<T> {
    let vocabulary = Vocabulary::default();
    let context = Context {
        vocabulary: &vocabulary,
        end: "",
        expectations: Cell::default(),
        muted: Cell::default(),
    };
    let start = Text { rest: text, offset, depth: 0, context: &context };
    parser(start).ok().map(|(_, out)| out)
}

impl<'a> Text<'a> {
    /// What is left.
    pub(super) const fn rest(self) -> &'a str {
        self.rest
    }

    /// Where it begins in the file.
    pub(super) const fn offset(self) -> usize {
        self.offset
    }

    /// How deep in groups and repeats.
    pub(super) const fn depth(self) -> u8 {
        self.depth
    }

    /// The author's own abbreviations.
    pub(super) fn own(self) -> &'a [String] {
        &self.context.vocabulary.own
    }

    /// The colors of the yarn.
    pub(super) fn colors(self) -> &'a [String] {
        &self.context.vocabulary.colors
    }

    /// The text after its first `n` bytes.
    pub(super) fn skip(self, n: usize) -> Self {
        Self { rest: self.rest.get(n..).unwrap_or(""), offset: self.offset + n, ..self }
    }

    /// The text without the spaces at its beginning.
    pub(super) fn trimmed(self) -> Self {
        if self.rest.as_bytes().first().is_none_or(u8::is_ascii_graphic) {
            return self;
        }
        let rest = self.rest.trim_start();
        Self { rest, offset: self.offset + self.rest.len() - rest.len(), ..self }
    }

    /// Whether nothing but spaces is left.
    pub(super) fn is_done(self) -> bool {
        self.trimmed().rest.is_empty()
    }

    /// One level further in.
    pub(super) fn deeper(self) -> Result<Self, Err<Failure>> {
        if self.depth >= DEEPEST {
            let finding = Finding::new(
                Code::TooDeep,
                Span::new(self.offset, self.offset + found(self.rest).0),
                format!("this is nested more than {DEEPEST} deep"),
            )
            .label("too deep")
            .help("write the inner repeats out, or split the row");
            return Err(Err::Failure(Failure::found(finding)));
        }
        Ok(Self { depth: self.depth + 1, ..self })
    }

    /// Back at the level of `outer`.
    pub(super) fn back_to(self, outer: Self) -> Self {
        Self { depth: outer.depth, ..self }
    }

    /// The span from here up to `end`.
    pub(super) fn span_to(self, end: Self) -> Span {
        Span::new(self.offset, end.offset.max(self.offset))
    }

    /// Fails here because `expected` is missing.
    pub(super) fn fail<T>(self, expected: Expected) -> Parsed<'a, T> {
        if self.context.muted.get() == 0 {
            self.context.with_expectations(|all| all.note(self.offset, expected));
        }
        Err(Err::Error(Failure::at(self.offset)))
    }
}

/// Stops the reading with a finding.
pub(super) fn stop<T>(finding: Finding) -> Result<T, Err<Failure>> {
    Err(Err::Failure(Failure::found(finding)))
}

impl<'a> Input for Text<'a> {
    type Item = char;
    type Iter = std::str::Chars<'a>;
    type IterIndices = std::str::CharIndices<'a>;

    fn input_len(&self) -> usize {
        self.rest.len()
    }

    fn take(&self, index: usize) -> Self {
        Self { rest: self.rest.get(..index).unwrap_or(self.rest), ..*self }
    }

    fn take_from(&self, index: usize) -> Self {
        self.skip(index)
    }

    fn take_split(&self, index: usize) -> (Self, Self) {
        (self.skip(index), self.take(index))
    }

    fn position<P: Fn(char) -> bool>(&self, predicate: P) -> Option<usize> {
        self.rest.find(predicate)
    }

    fn iter_elements(&self) -> Self::Iter {
        self.rest.chars()
    }

    fn iter_indices(&self) -> Self::IterIndices {
        self.rest.char_indices()
    }

    fn slice_index(&self, count: usize) -> Result<usize, Needed> {
        self.rest.slice_index(count)
    }
}

impl Offset for Text<'_> {
    fn offset(&self, second: &Self) -> usize {
        second.offset - self.offset
    }
}

impl Compare<&str> for Text<'_> {
    fn compare(&self, other: &str) -> CompareResult {
        self.rest.compare(other)
    }

    fn compare_no_case(&self, other: &str) -> CompareResult {
        self.rest.compare_no_case(other)
    }
}

// ---- Combinators of our own ------------------------------------------------

/// What `parser` reads, with its span (without the spaces before it).
pub(super) fn spanned<'a, T>(
    mut parser: impl Parser<Text<'a>, Output = T, Error = Failure>,
) -> impl FnMut(Text<'a>) -> Parsed<'a, Spanned<T>> {
    move |input| {
        let start = input.trimmed();
        let (rest, value) = parser.parse(start)?;
        Ok((rest, Spanned::new(value, start.span_to(rest))))
    }
}

/// Says `what` was expected where `parser` fails at its very beginning.
pub(super) fn labelled<'a, T>(
    what: &'static str,
    mut parser: impl Parser<Text<'a>, Output = T, Error = Failure>,
) -> impl FnMut(Text<'a>) -> Parsed<'a, T> {
    move |input| {
        let start = input.trimmed();
        let mark = start.context.with_expectations(|all| all.mark(start.offset));
        let result = parser.parse(input);
        if let Err(Err::Error(failure) | Err::Failure(failure)) = &result
            && failure.place() <= start.offset
            && start.context.muted.get() == 0
        {
            start.context.with_expectations(|all| {
                if all.place() <= start.offset {
                    all.replace(start.offset, mark, Expected::Thing(what));
                }
            });
        }
        result
    }
}

/// Tries `parser`; where it fails, it leaves no trace of what it expected or
/// how far it came, unless it failed with a finding.
pub(super) fn quietly<'a, T>(
    mut parser: impl Parser<Text<'a>, Output = T, Error = Failure>,
) -> impl FnMut(Text<'a>) -> Parsed<'a, T> {
    move |input| match muted(input, |input| parser.parse(input)) {
        Err(Err::Failure(failure)) if failure.is_finding() => Err(Err::Failure(failure)),
        Err(Err::Error(_) | Err::Failure(_)) => {
            Err(Err::Error(Failure::at(input.trimmed().offset)))
        }
        other => other,
    }
}

/// What `parser` reads, or nothing and no trace of it.
pub(super) fn maybe<'a, T>(
    parser: impl Parser<Text<'a>, Output = T, Error = Failure>,
) -> impl FnMut(Text<'a>) -> Parsed<'a, Option<T>> {
    let mut parser = opt(quietly(parser));
    move |input| parser.parse(input)
}

fn muted<'a, T>(
    input: Text<'a>,
    mut parser: impl FnMut(Text<'a>) -> Parsed<'a, T>,
) -> Parsed<'a, T> {
    let muted = &input.context.muted;
    muted.set(muted.get() + 1);
    let result = parser(input);
    muted.set(muted.get() - 1);
    result
}

/// Whether `parser` recognises what stands here, even if it then finds fault with it.
pub(super) fn recognised<'a, T>(
    input: Text<'a>,
    mut parser: impl Parser<Text<'a>, Output = T, Error = Failure>,
) -> bool {
    match muted(input, |input| parser.parse(input)) {
        Ok(_) => true,
        Err(Err::Failure(failure)) => failure.place() > input.trimmed().offset,
        Err(_) => false,
    }
}

/// Whether `parser` would read something here.
pub(super) fn follows<'a, T>(
    input: Text<'a>,
    parser: impl Parser<Text<'a>, Output = T, Error = Failure>,
) -> bool {
    quietly(parser)(input).is_ok()
}

/// The end of the text.
pub(super) fn end(input: Text<'_>) -> Parsed<'_, ()> {
    let input = input.trimmed();
    if input.rest.is_empty() {
        Ok((input, ()))
    } else {
        input.fail(Expected::Thing(input.context.end))
    }
}
