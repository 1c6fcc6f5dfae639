//! The smallest pieces of the language: spaces, signs, words, numbers, names.
//!
//! Every parser here passes over the spaces *before* what it reads, never
//! those after it, so that the end of what was read is the end of its span.

use std::cell::Cell;

use nom::branch::alt;
use nom::bytes::complete::{take_while, take_while1};
use nom::character::complete::char as sign_char;
use nom::combinator::{cut, opt, value};
use nom::sequence::preceded;
use nom::{Compare, CompareResult, Err, IResult, Input, Needed, Offset, Parser};

use super::abbreviation;
use super::color::in_declared_color;
use super::error::{Expectations, Expected, Failure, Reason, clipped, found};
use super::front::{Color, Front};
use super::tree::{Counts, Side};
use crate::diag::{Code, Finding};
use crate::measure::Given;
use crate::source::{Span, Spanned};

/// The largest number a pattern may hold.
pub(super) const LARGEST: u32 = 100_000;

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

// ---- Signs and words -------------------------------------------------------

/// The end of the text.
pub(super) fn end(input: Text<'_>) -> Parsed<'_, ()> {
    let input = input.trimmed();
    if input.rest.is_empty() {
        Ok((input, ()))
    } else {
        input.fail(Expected::Thing(input.context.end))
    }
}

/// One sign, spaces before it allowed.
pub(super) fn sign<'a>(sign: char) -> impl Fn(Text<'a>) -> Parsed<'a, ()> {
    move |input| {
        let input = input.trimmed();
        match sign_char::<Text<'a>, Failure>(sign)(input) {
            Ok((rest, _)) => Ok((rest, ())),
            Err(_) => input.fail(Expected::Sign(sign)),
        }
    }
}

/// One of several signs, spaces before it allowed; described in words.
pub(super) fn sign_of<'a>(
    signs: &'static [char],
    what: &'static str,
) -> impl Fn(Text<'a>) -> Parsed<'a, char> {
    move |input| {
        let input = input.trimmed();
        match input.rest.chars().next().filter(|c| signs.contains(c)) {
            Some(c) => Ok((input.skip(c.len_utf8()), c)),
            None => input.fail(Expected::Thing(what)),
        }
    }
}

/// The letters (and digits, hyphens, apostrophes inside) a text begins with.
pub(super) fn first_word(text: &str) -> &str {
    // Nearly every word is plain letters: they are told by their bytes.
    let plain = text.bytes().take_while(u8::is_ascii_alphanumeric).count();
    if text.as_bytes().get(plain).is_none_or(|b| b.is_ascii() && !matches!(b, b'-' | b'\'')) {
        return text.get(..plain).unwrap_or("");
    }
    let mut last = 0;
    let mut chars = text.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        let inner = matches!(c, '-' | '\'' | '’')
            && at > 0
            && chars.peek().is_some_and(|(_, next)| next.is_alphanumeric());
        if !(c.is_alphanumeric() || inner) {
            break;
        }
        last = at + c.len_utf8();
    }
    text.get(..last).unwrap_or("")
}

/// Certain words, in any case, with any spaces between them.
///
/// The pattern has one token a word: `start|beg` takes either, `the?` may be
/// left out.
pub(super) fn phrase<'a>(pattern: &'static str) -> impl Fn(Text<'a>) -> Parsed<'a, ()> {
    move |input| {
        let mut rest = input;
        let mut at = 0;
        // By bytes, as this is tried more often than anything else.
        for token in pattern.as_bytes().split(|b| *b == b' ') {
            let (words, optional) = match token.strip_suffix(b"?") {
                Some(words) => (words, true),
                None => (token, false),
            };
            let here = rest.trimmed();
            let word = first_word(here.rest);
            let mut words = words.split(|b| *b == b'|');
            if !word.is_empty() && words.any(|w| w.eq_ignore_ascii_case(word.as_bytes())) {
                rest = here.skip(word.len());
            } else if !optional {
                let missing = Expected::Words(pattern.get(at..).unwrap_or(pattern));
                return if rest.offset == input.offset {
                    here.fail(Expected::Words(pattern))
                } else {
                    here.fail(missing)
                };
            }
            at += token.len() + 1;
        }
        Ok((rest, ()))
    }
}

/// A name of the author's: words up to a sign, or to one of the `stops` that
/// the grammar has after it; a `the` before it is left out.
///
/// ```text
/// name = [ "the" ] word { word }
/// ```
pub(super) fn name<'a>(
    stops: &'static [&'static str],
) -> impl Fn(Text<'a>) -> Parsed<'a, Spanned<String>> {
    name_before(|word| stops.iter().any(|stop| stop.eq_ignore_ascii_case(word)))
}

/// A name up to the first word that `stops` it.
pub(super) fn name_before<'a>(
    stops: impl Fn(&str) -> bool,
) -> impl Fn(Text<'a>) -> Parsed<'a, Spanned<String>> {
    move |input| {
        let start = without_article(input.trimmed());
        let mut rest = start;
        let mut words = String::new();
        loop {
            let here = rest.trimmed();
            let word = first_word(here.rest);
            if word.is_empty() || stops(word) || in_declared_color(here) {
                break;
            }
            if !words.is_empty() {
                words.push(' ');
            }
            words.push_str(word);
            rest = here.skip(word.len());
        }
        if words.is_empty() {
            return start.fail(Expected::Thing("a name"));
        }
        Ok((rest, Spanned::new(words, start.span_to(rest))))
    }
}

/// The text after a leading `the`, where more words follow.
fn without_article(input: Text<'_>) -> Text<'_> {
    let word = first_word(input.rest);
    let after = input.skip(word.len()).trimmed();
    if ["the", "a", "an"].iter().any(|article| article.eq_ignore_ascii_case(word))
        && !first_word(after.rest).is_empty()
    {
        after
    } else {
        input
    }
}

/// ```text
/// stitches = "sts" | "st" | "stitches" | "stitch"
/// ```
pub(super) fn stitches_word(input: Text<'_>) -> Parsed<'_, ()> {
    phrase("sts|st|stitches|stitch")(input)
}

/// Rows and rounds are told apart by the piece, not by the word.
///
/// ```text
/// rows = "rows" | "row" | "rounds" | "round" | "rnds" | "rnd"
/// ```
pub(super) fn rows_word(input: Text<'_>) -> Parsed<'_, ()> {
    phrase("rows|row|rounds|round|rnds|rnd")(input)
}

/// ```text
/// side = "RS" | "WS" | "right side" | "wrong side"
/// ```
pub(super) fn side(input: Text<'_>) -> Parsed<'_, Side> {
    labelled(
        "`RS` or `WS`",
        alt((
            value(Side::Right, phrase("RS|right-side")),
            value(Side::Wrong, phrase("WS|wrong-side")),
            value(Side::Right, phrase("right side")),
            value(Side::Wrong, phrase("wrong side")),
        )),
    )(input)
}

// ---- Numbers ---------------------------------------------------------------

/// The numbers that are also understood as words.
const NUMBER_WORDS: [&str; 12] = [
    "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
    "twelve",
];

/// A whole number, at most [`LARGEST`].
///
/// ```text
/// number = digits | "one" | "two" | "three" | "four" | "five" | "six"
///        | "seven" | "eight" | "nine" | "ten" | "eleven" | "twelve"
/// ```
pub(super) fn number(input: Text<'_>) -> Parsed<'_, u32> {
    let start = input.trimmed();
    let digits: Result<(Text<'_>, Text<'_>), Err<Failure>> =
        take_while1(|c: char| c.is_ascii_digit())(start);
    let Ok((rest, digits)) = digits else {
        return number_word(start);
    };
    match digits.rest.parse::<u32>() {
        Ok(n) if n <= LARGEST => Ok((rest, n)),
        _ => stop(beyond(start.span_to(rest), digits.rest)),
    }
}

/// Whether a word is, or begins with, a number.
pub(super) fn is_number(word: &str) -> bool {
    word.starts_with(|c: char| c.is_ascii_digit())
        || NUMBER_WORDS.iter().any(|known| known.eq_ignore_ascii_case(word))
}

fn number_word(start: Text<'_>) -> Parsed<'_, u32> {
    let word = first_word(start.rest);
    let at = NUMBER_WORDS.iter().position(|known| known.eq_ignore_ascii_case(word));
    match at.and_then(|at| u32::try_from(at + 1).ok()) {
        Some(n) => Ok((start.skip(word.len()), n)),
        None => start.fail(Expected::Thing("a whole number")),
    }
}

/// The finding for a number that no garment has.
pub(super) fn beyond(span: Span, written: &str) -> Finding {
    Finding::new(
        Code::BeyondAnyGarment,
        span,
        format!("{} is beyond any garment", clipped(written)),
    )
    .label("too large")
    .help(format!("a number may be at most {LARGEST}"))
}

/// `?`, one value, or one a size; `one` reads a value.
///
/// ```text
/// sizes(x) = "?" | x [ size-list(x) ] | skipped size-list(x)
/// ```
pub(super) fn sizes<'a, T: Clone>(
    one: impl Fn(Text<'a>) -> Parsed<'a, T>,
) -> impl Fn(Text<'a>) -> Parsed<'a, (Span, Given<T>)> {
    move |input| {
        let start = input.trimmed();
        if let Some(after) = start.rest.strip_prefix('?') {
            let rest = start.skip(start.rest.len() - after.len());
            return Ok((rest, (start.span_to(rest), Given::Unknown)));
        }
        let (rest, first) = size(&one)(start)?;
        let (rest, given) = match size_list(&one)(rest) {
            Ok((rest, mut others)) => {
                others.insert(0, first);
                (rest, Given::Each(others))
            }
            Err(Err::Error(failure)) => match first {
                Some(value) => (rest, Given::Same(value)),
                None => return Err(Err::Error(failure)),
            },
            Err(other) => return Err(other),
        };
        Ok((rest, (start.span_to(rest), given)))
    }
}

/// ```text
/// size-list(x) = "(" size(x) { ( "," | ":" ) size(x) } ")"
/// ```
fn size_list<'a, T>(
    one: impl Fn(Text<'a>) -> Parsed<'a, T>,
) -> impl Fn(Text<'a>) -> Parsed<'a, Vec<Option<T>>> {
    move |input| {
        // Not noted as expected: a list of sizes is possible after any number.
        let (mut rest, ()) = quietly(sign('('))(input)?;
        let mut values = Vec::new();
        loop {
            let (after, value) = size(&one)(rest)?;
            values.push(value);
            match sign_of(&[',', ':'], "`,`")(after) {
                Ok((after, _)) => rest = after,
                Err(_) => {
                    let (rest, ()) = sign(')')(after)?;
                    return Ok((rest, values));
                }
            }
        }
    }
}

/// ```text
/// size(x) = x | skipped
/// skipped = "-" | "–" | "—"
/// ```
fn size<'a, T>(
    one: impl Fn(Text<'a>) -> Parsed<'a, T>,
) -> impl Fn(Text<'a>) -> Parsed<'a, Option<T>> {
    move |input| {
        let start = input.trimmed();
        let mut chars = start.rest.chars();
        let dash = chars.next().filter(|c| matches!(c, '-' | '–' | '—'));
        let after = chars.as_str().trim_start();
        match dash {
            // A dash before a digit is a sign, and two dashes are no size.
            Some(dash) if after.starts_with([',', ')', ':', '(']) => {
                Ok((start.skip(dash.len_utf8()), None))
            }
            _ => one(start).map(|(rest, value)| (rest, Some(value))),
        }
    }
}

/// A count: `96 (104, 112)`, `?`, or `{24 (26, 28)}`, which may change inside a row.
///
/// ```text
/// count = sizes(number) | "{" sizes(number) "}"
/// ```
pub(super) fn count(input: Text<'_>) -> Parsed<'_, Counts> {
    let start = input.trimmed();
    if start.rest.starts_with('{') {
        let inner = start.skip(1);
        let (rest, (span, given)) = cut(sizes(number)).parse(inner)?;
        let (rest, ()) = cut(sign('}')).parse(rest)?;
        return Ok((rest, Counts { span, given, live: true }));
    }
    let (rest, (span, given)) = labelled("a count", sizes(number))(start)?;
    Ok((rest, Counts { span, given, live: false }))
}

/// A count and, where it is written, `sts`.
pub(super) fn count_of_stitches(input: Text<'_>) -> Parsed<'_, Counts> {
    let (rest, count) = count(input)?;
    let (rest, _) = maybe(stitches_word)(rest)?;
    Ok((rest, count))
}

/// A count that is not written but understood, at an empty place.
pub(super) const fn unwritten(at: usize, value: u32) -> Counts {
    Counts { span: Span::at(at), given: Given::Same(value), live: false }
}

/// So many times, and whether on top of what is done already.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Times {
    /// The number as written.
    pub(super) count: Counts,
    /// `more`
    pub(super) more: bool,
}

/// ```text
/// times = ( "once" | "twice" ) [ "more" ]
///       | count [ "more" ] ( "times" | "time" ) [ "more" ]
///       | "another" count ( "times" | "time" )
///       | ( "x" | "×" ) count
/// ```
pub(super) fn times(input: Text<'_>) -> Parsed<'_, Times> {
    labelled("how many times", alt((times_in_words, times_another, times_by, times_counted)))(input)
}

fn times_in_words(input: Text<'_>) -> Parsed<'_, Times> {
    let (rest, word) = spanned(alt((value(1, phrase("once")), value(2, phrase("twice")))))(input)?;
    let (rest, more) = maybe(phrase("more"))(rest)?;
    let count = Counts { span: word.span, given: Given::Same(word.value), live: false };
    Ok((rest, Times { count, more: more.is_some() }))
}

fn times_another(input: Text<'_>) -> Parsed<'_, Times> {
    let (rest, count) = preceded(phrase("another"), count).parse(input)?;
    let (rest, ()) = phrase("times|time")(rest)?;
    Ok((rest, Times { count, more: true }))
}

fn times_by(input: Text<'_>) -> Parsed<'_, Times> {
    let (rest, _) = sign_of(&['x', 'X', '×'], "`x`")(input)?;
    let (rest, count) = count(rest)?;
    Ok((rest, Times { count, more: false }))
}

fn times_counted(input: Text<'_>) -> Parsed<'_, Times> {
    let (rest, count) = count(input)?;
    let (rest, before) = opt(phrase("more")).parse(rest)?;
    let (rest, ()) = phrase("times|time")(rest)?;
    let (rest, after) = maybe(phrase("more"))(rest)?;
    Ok((rest, Times { count, more: before.is_some() || after.is_some() }))
}

/// The rest of a text up to one of some signs, or its end.
pub(super) fn up_to<'a>(signs: &'static [char]) -> impl Fn(Text<'a>) -> Parsed<'a, Text<'a>> {
    move |input| take_while(|c: char| !signs.contains(&c)).parse(input)
}
