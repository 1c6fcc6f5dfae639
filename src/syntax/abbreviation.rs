//! The name of a stitch as it is written, with the number in or after it:
//! `k4`, `k2tog`, `sl 2 kwise`, `2/2 RC`, `knit 2 together`.
//!
//! A name that is read here is always one that the table of stitches or the
//! author's own list knows.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::value;

use super::color;
use super::error::{Expected, Failure, clipped};
use super::terminals::{count, number, phrase, stitches_word, times, unwritten};
use super::text::{Parsed, Text, follows, maybe, quietly};
use super::tree::Counts;
use crate::diag::{Code, Finding, words};
use crate::measure::Given;
use crate::source::{Span, Spanned};
use crate::stitch;

/// A stitch by its name, with the number inside or after it.
pub(super) struct Named {
    /// Without its number: `sl kwise`, `k2tog`.
    pub(super) name: Spanned<String>,
    /// How many, where written.
    pub(super) count: Option<Counts>,
}

/// ```text
/// stitch-name = own-name [ count ] | abbreviation | twisted | worked-together | slipped
///             | plain-stitch [ [ "next" | "first" ] count [ stitches ] ]
///             | word-stitch [ "next" | "first" ] count [ stitches ]
///             | ( plain-stitch | word-stitch ) ( "next" | "first" ) stitch-word
/// plain-stitch = "k" | "p" | "sl" | "slip" | "yo" | "over" | "kfb" | "pfb"
/// word-stitch = "knit" | "purl" | "plain"
/// twisted = ( "k" | "p" ) [ number ] ( "tbl" | "through" [ "the" ] "back" ( "loop" | "loops" ) )
/// worked-together = ( "k" | "knit" | "p" | "purl" ) few ( "tog" | "together" ) [ "tbl" ]
/// slipped = ( "sl" | "slip" ) [ number [ stitches ] ] slip-manner
/// ```
pub(super) fn stitch_name(input: Text<'_>) -> Parsed<'_, Named> {
    let start = input.trimmed();
    if let Some((rest, own)) = own_name(start) {
        let name = Spanned::new(own.to_owned(), start.span_to(rest));
        let (rest, count) = count_after(rest, !own.ends_with(|c: char| c.is_ascii_digit()))?;
        return Ok((rest, Named { name, count }));
    }
    let chunk = stitch_word(start.rest());
    if chunk.is_empty() {
        return start.fail(Expected::Thing("a stitch"));
    }
    if let Some((length, known)) = longest_known(start.rest(), chunk) {
        let written = collapsed(start.rest().get(..length).unwrap_or(chunk));
        return with_manner(start, length, written, known.counted);
    }
    let letters = chunk.bytes().take_while(u8::is_ascii_alphabetic).count();
    let base = chunk.get(..letters).unwrap_or("");
    match stitch::find(base).filter(|known| known.counted) {
        Some(_) if letters < chunk.len() => with_manner(start, letters, base.to_owned(), true),
        _ => stop_at_unknown(start, chunk),
    }
}

/// The author's own abbreviation that stands here, the longest if several do.
pub(super) fn own_name<'a>(start: Text<'a>) -> Option<(Text<'a>, &'a str)> {
    let mut longest: Option<&str> = None;
    for own in start.own() {
        let stands = start.rest().get(..own.len()).is_some_and(|s| s.eq_ignore_ascii_case(own))
            && start.rest().get(own.len()..).is_some_and(|after| ends_a_name(own, after));
        if stands && !own.is_empty() && longest.is_none_or(|known| known.len() < own.len()) {
            longest = Some(own);
        }
    }
    longest.map(|own| (start.skip(own.len()), own))
}

/// Whether a name may end before `after`: a number may follow letters, nothing else may.
fn ends_a_name(name: &str, after: &str) -> bool {
    let digit = name.ends_with(|c: char| c.is_ascii_digit());
    !after.starts_with(|c: char| {
        c.is_alphabetic() || c == '-' || c == '/' || (digit && c.is_ascii_digit())
    })
}

/// The letters, digits and strokes of one abbreviation.
pub(super) fn stitch_word(text: &str) -> &str {
    let end = text
        .find(|c: char| !(c.is_alphanumeric() || matches!(c, '/' | '&' | '-')))
        .unwrap_or(text.len());
    text.get(..end).unwrap_or("").trim_end_matches('-')
}

/// The longest run of words, from one to six, that is a stitch of the table.
fn longest_known(text: &str, chunk: &str) -> Option<(usize, stitch::Stitch)> {
    let mut best = stitch::find(chunk).map(|known| (chunk.len(), known));
    if !stitch::begins_longer_name(chunk) {
        return best;
    }
    let mut length = chunk.len();
    for _ in 0..5 {
        let after = text.get(length..).unwrap_or("");
        let gap = after.len() - after.trim_start().len();
        let word = stitch_word(after.trim_start());
        if gap == 0 || word.is_empty() {
            break;
        }
        length += gap + word.len();
        if let Some(known) = stitch::find(&collapsed(text.get(..length).unwrap_or(""))) {
            best = Some((length, known));
        }
    }
    best
}

fn collapsed(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The number after a name, then how the stitch is worked: `sl 2 kwise`, `k 2 tog tbl`.
fn with_manner<'a>(
    start: Text<'a>,
    name_length: usize,
    mut name: String,
    counted: bool,
) -> Parsed<'a, Named> {
    let bare = start.skip(name_length);
    let (mut rest, mut count) = count_after(bare, counted)?;
    let after_count = rest;
    while let Ok((after, manner)) = quietly(manner_of_stitch)(rest) {
        match (manner, together(&name, count.as_ref())) {
            ("tog", Some(joined)) => {
                name = joined;
                count = None;
            }
            // `sl 2 tog kwise`: slipped together is still two slipped.
            ("tog", None) if name.starts_with(['s', 'S']) => {}
            ("tog", None) => return stop_at_unknown(start, stitch_word(start.rest())),
            (how, _) => {
                let longer = format!("{name} {how}");
                if stitch::find(&longer).is_none() {
                    break;
                }
                name = longer;
            }
        }
        rest = after;
    }
    // `k2A` is two in color A.
    let colored = count.is_some() && color::stands(rest);
    if rest.rest().starts_with(char::is_alphanumeric) && !colored {
        return stop_at_unknown(start, stitch_word(start.rest()));
    }
    // Words about how stand after the number and belong to the name.
    let plain = rest.offset() == after_count.offset();
    let name_end = if plain && count.is_some() { bare } else { rest };
    let (rest, _) = if count.is_some() { maybe(stitches_word)(rest)? } else { (rest, None) };
    let (rest, count) = match (count, manner_after(rest, &name)) {
        // `slip 2 sts purlwise`
        (Some(count), Some((after, longer))) => {
            // `slip 1 st purlwise with yarn in front`
            let (after, longer) = manner_after(after, &longer).unwrap_or((after, longer));
            let name = Spanned::new(longer, start.span_to(after));
            return Ok((after, Named { name, count: Some(count) }));
        }
        (count, _) => (rest, count),
    };
    Ok((rest, Named { name: Spanned::new(name, start.span_to(name_end)), count }))
}

/// How a stitch is worked, said after `sts`.
fn manner_after<'a>(rest: Text<'a>, name: &str) -> Option<(Text<'a>, String)> {
    let (after, manner) = quietly(manner_of_stitch)(rest).ok()?;
    let longer = format!("{name} {manner}");
    stitch::find(&longer).map(|_| (after, longer))
}

/// `k` and 2 worked together are `k2tog`.
fn together(name: &str, count: Option<&Counts>) -> Option<String> {
    let letter = match name.to_ascii_lowercase().as_str() {
        "k" | "knit" => 'k',
        "p" | "purl" => 'p',
        _ => return None,
    };
    match count.map(|count| &count.given) {
        Some(Given::Same(n)) => {
            let joined = format!("{letter}{n}tog");
            stitch::find(&joined).map(|_| joined)
        }
        _ => None,
    }
}

/// ```text
/// slip-manner = "kwise" | "knitwise" | "pwise" | "purlwise" | "wyif" | "wyib"
///             | "with yarn in front" | "with yarn in back" | "as if to knit" | "as if to purl"
/// ```
fn manner_of_stitch(input: Text<'_>) -> Parsed<'_, &'static str> {
    // After most stitches stands a comma.
    if !input.trimmed().rest().starts_with(char::is_alphabetic) {
        return input.fail(Expected::Thing("how it is worked"));
    }
    alt((
        value("tog", phrase("tog|together")),
        value("tbl", phrase("tbl")),
        value("tbl", phrase("through the? back loop|loops")),
        value("kwise", phrase("kwise|knitwise|k-wise")),
        value("pwise", phrase("pwise|purlwise|p-wise")),
        value("kwise", phrase("as if|though to knit")),
        value("pwise", phrase("as if|though to purl")),
        value("wyif", phrase("wyif")),
        value("wyib", phrase("wyib")),
        value("wyif", phrase("with yarn in|held in? front")),
        value("wyib", phrase("with yarn in|held in? back")),
    ))
    .parse(input)
}

/// The number after a name: right after it, or after a space.
fn count_after(input: Text<'_>, counted: bool) -> Parsed<'_, Option<Counts>> {
    if !counted {
        return Ok((input, None));
    }
    let here = input.trimmed();
    let (here, next) = match quietly(phrase("the? next|first"))(here) {
        // `slip first st` is one of them.
        Ok((after, ())) if follows(after, phrase("st|stitch")) => {
            return Ok((after, Some(unwritten(after.offset(), 1))));
        }
        Ok((after, ())) => (after.trimmed(), true),
        Err(_) => (here, false),
    };
    if !begins_count(here.rest()) && (here.offset() == input.offset() || !follows(here, number)) {
        return Ok((input, None));
    }
    // `k 3 times` is one stitch three times; `k2` is two of them.
    if here.offset() > input.offset() && !next && follows(here, times) {
        return Ok((input, None));
    }
    let (rest, count) = count(here)?;
    Ok((rest, Some(count)))
}

/// Whether a count in figures begins here: `4`, `{24}`, `?`, `- (2, 4)`.
fn begins_count(text: &str) -> bool {
    let skipped =
        text.strip_prefix(['-', '–', '—']).is_some_and(|t| t.trim_start().starts_with('('));
    skipped || text.starts_with(|c: char| c.is_ascii_digit() || c == '{' || c == '?')
}

/// Stops at a word that is no stitch.
pub(super) fn stop_at_unknown<'a, T>(start: Text<'a>, word: &str) -> Parsed<'a, T> {
    let span = Span::new(start.offset(), start.offset() + word.len());
    Err(nom::Err::Failure(Failure::unknown_stitch(span)))
}

/// What there is to say of a word that is no stitch. `own` are the author's abbreviations.
pub(super) fn unknown(word: &str, span: Span, own: &[String]) -> Finding {
    let finding = Finding::new(
        Code::UnknownStitch,
        span,
        format!("`{}` is not a stitch that is known here", clipped(word)),
    )
    .label("not known");
    match near(word, own) {
        Some(name) => finding.help(format!("a similar stitch exists: `{name}`")).patch(span, name),
        None => finding.help(
            "say what it takes and makes under `abbreviations:` in the front matter, \
             or put words for the knitter after a `;`",
        ),
    }
}

/// A known name that a slip of the pen may have turned into `word`.
pub(super) fn near<'a>(word: &str, own: &'a [String]) -> Option<&'a str> {
    // Two letters are near to too many others.
    if word.chars().count() < 3 {
        return None;
    }
    let table = stitch::names().filter(|name| name.len() > 1).map(|name| -> &str { name });
    words::nearest(word, own.iter().map(String::as_str).chain(table))
}
