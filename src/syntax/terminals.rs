//! The smallest pieces of the language: spaces, signs, words, numbers, names.
//!
//! Every parser here passes over the spaces *before* what it reads, never
//! those after it, so that the end of what was read is the end of its span.

use nom::branch::alt;
use nom::bytes::complete::{take_while, take_while1};
use nom::character::complete::char as sign_char;
use nom::combinator::{cut, opt, value};
use nom::sequence::preceded;
use nom::{Err, Parser};

use super::color::in_declared_color;
use super::error::{Expected, Failure, clipped};
use super::text::{Parsed, Text, labelled, maybe, quietly, spanned, stop};
use super::tree::{Counts, Side};
use crate::diag::{Code, Finding};
use crate::measure::Given;
use crate::source::{Span, Spanned};

/// The largest number a pattern may hold.
pub(super) const LARGEST: u32 = 100_000;

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
        match input.rest().chars().next().filter(|c| signs.contains(c)) {
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
            let word = first_word(here.rest());
            let mut words = words.split(|b| *b == b'|');
            if !word.is_empty() && words.any(|w| w.eq_ignore_ascii_case(word.as_bytes())) {
                rest = here.skip(word.len());
            } else if !optional {
                let missing = Expected::Words(pattern.get(at..).unwrap_or(pattern));
                return if rest.offset() == input.offset() {
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
            let word = first_word(here.rest());
            if word.is_empty() || stops(word) || in_declared_color(here) || clause(here, word) {
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

/// Whether a word of a name is the `and` or `then` before what is done next.
fn clause(here: Text<'_>, word: &str) -> bool {
    let is = |word: &str, of: &[&str]| of.iter().any(|one| one.eq_ignore_ascii_case(word));
    if !is(word, &["and", "then"]) {
        return false;
    }
    let begins = |text: Text<'_>| {
        let next = first_word(text.rest());
        is_verb(next) || is_number(next) || text.rest().starts_with(['{', '?', '-', '–', '—'])
    };
    let after = here.skip(word.len()).trimmed();
    match after.rest().get(..4).filter(|next| is(next, &["then"])) {
        Some(_) => begins(after.skip(4).trimmed()),
        None => begins(after),
    }
}

/// Whether a word is a verb that an instruction within a sentence may begin with.
pub(super) fn is_verb(word: &str) -> bool {
    VERBS.iter().any(|verb| verb.eq_ignore_ascii_case(word))
}

const VERBS: [&str; 28] = [
    "work", "continue", "cont", "join", "change", "switch", "increase", "inc", "decrease", "dec",
    "bind", "bind-off", "bo", "cast", "cast-off", "cast-on", "co", "leave", "leaving", "repeat",
    "knit", "purl", "hold", "take", "pick", "pm", "place", "placing",
];

/// The text after a leading `the`, where more words follow.
fn without_article(input: Text<'_>) -> Text<'_> {
    let word = first_word(input.rest());
    let after = input.skip(word.len()).trimmed();
    if ["the", "a", "an"].iter().any(|article| article.eq_ignore_ascii_case(word))
        && !first_word(after.rest()).is_empty()
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
    match digits.rest().parse::<u32>() {
        Ok(n) if n <= LARGEST => Ok((rest, n)),
        _ => stop(beyond(start.span_to(rest), digits.rest())),
    }
}

/// Whether a word is, or begins with, a number.
pub(super) fn is_number(word: &str) -> bool {
    word.starts_with(|c: char| c.is_ascii_digit())
        || NUMBER_WORDS.iter().any(|known| known.eq_ignore_ascii_case(word))
}

fn number_word(start: Text<'_>) -> Parsed<'_, u32> {
    let word = first_word(start.rest());
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
        if let Some(after) = start.rest().strip_prefix('?') {
            let rest = start.skip(start.rest().len() - after.len());
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
        let mut chars = start.rest().chars();
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
    if start.rest().starts_with('{') {
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
