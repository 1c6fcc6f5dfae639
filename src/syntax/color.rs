//! The color of the yarn: before an instruction, after it, of some stitches of a row, or in
//! stripes.
//!
//! Which colors there are the front matter says. What looks like the letters of
//! one (`CC`, `A`, `MC2`) is read as a color too, so that a slip is told as such.

use nom::Parser;
use nom::combinator::{cut, opt};
use nom::sequence::{preceded, terminated};

use super::abbreviation::stitch_name;
use super::error::Expected;
use super::terminals::{count, first_word, name, name_before, phrase, rows_word, sign};
use super::text::{Parsed, Text, end, follows, maybe, quietly};
use super::tree::{Action, Stripe};
use crate::diag::words;
use crate::source::Spanned;

/// The most letters and digits of a color that goes by letters.
const LETTERS: usize = 4;

/// What goes by capitals and is no color.
const OTHER_LETTERS: [&str; 8] = ["RS", "WS", "CO", "BO", "K", "P", "M", "MM"];

/// The color that an instruction is worked in.
///
/// ```text
/// coloring = ( "in" | "with" | "using" ) [ "the" ] [ "color" | "colour" ] color
/// ```
pub(super) fn coloring(input: Text<'_>) -> Parsed<'_, Spanned<String>> {
    let (rest, ()) = phrase("in|with|using the? color|colour?")(input)?;
    match declared(rest) {
        Some(found) => Ok(found),
        None => by_letters(rest),
    }
}

/// Whether a color of the front matter follows, and not the name of something else.
pub(super) fn in_declared_color(input: Text<'_>) -> bool {
    if input.colors().is_empty() {
        return false;
    }
    let words = quietly(phrase("in|with|using the? color|colour?"))(input);
    words.is_ok_and(|(rest, ())| declared(rest).is_some())
}

/// The longest name of a color that the text begins with.
fn declared(input: Text<'_>) -> Option<(Text<'_>, Spanned<String>)> {
    let start = input.trimmed();
    let begins = |name: &&String| {
        let same = start.rest().get(..name.len()).is_some_and(|w| w.eq_ignore_ascii_case(name));
        let after = start.rest().get(name.len()..).and_then(|rest| rest.chars().next());
        same && after.is_none_or(|c| !c.is_alphanumeric() && c != '-')
    };
    let name = start.colors().iter().filter(begins).max_by_key(|name| name.len())?;
    let rest = start.skip(name.len());
    Some((rest, Spanned::new(name.clone(), start.span_to(rest))))
}

fn by_letters(input: Text<'_>) -> Parsed<'_, Spanned<String>> {
    let start = input.trimmed();
    let word = first_word(start.rest());
    if !are_letters(word) {
        return start.fail(Expected::Thing("a color"));
    }
    let rest = start.skip(word.len());
    Ok((rest, Spanned::new(word.to_owned(), start.span_to(rest))))
}

fn are_letters(word: &str) -> bool {
    word.starts_with(|c: char| c.is_ascii_uppercase())
        && word.len() <= LETTERS
        && word.bytes().all(|b| b.is_ascii_uppercase() || b.is_ascii_digit())
        && !OTHER_LETTERS.contains(&word)
}

/// The color that the words before an instruction name: `CC` of `with CC,`. What looks like
/// one and is not declared in the front matter is given too.
pub(super) fn led(words: Text<'_>) -> Option<Spanned<String>> {
    quietly(terminated(led_color, end))(words).ok().map(|(_, color)| color)
}

fn led_color(input: Text<'_>) -> Parsed<'_, Spanned<String>> {
    let (rest, _) = opt(phrase("the")).parse(input)?;
    let (rest, said) = opt(phrase("color|colour|yarn")).parse(rest)?;
    if let Some(found) = declared(rest) {
        return Ok(found);
    }
    let (after, word) = name_before(|_| false)(rest)?;
    let colors = || input.colors().iter().map(String::as_str);
    let one_word = !word.value.contains(' ');
    let any = colors().next().is_some();
    let like_one = said.is_some()
        || is_usual(&word.value)
        || (any && (are_letters(&word.value) || words::nearest(&word.value, colors()).is_some()));
    if one_word && like_one { Ok((after, word)) } else { rest.fail(Expected::Thing("a color")) }
}

/// The color of some stitches of a row, after them. What comes last in a row and says `in`
/// or `with` is that of the whole row, where `goes_on` finds no stitches after it.
pub(super) fn of_stitches<'a>(
    goes_on: impl Fn(Text<'a>) -> bool,
) -> impl Fn(Text<'a>) -> Parsed<'a, Spanned<String>> {
    move |input| {
        let here = input.trimmed();
        if !here.rest().starts_with(|c: char| c.is_alphabetic()) {
            return here.fail(Expected::Thing("a color"));
        }
        if let Some(found) = declared(here) {
            return Ok(found);
        }
        let word = first_word(here.rest());
        if is_like_one(word, here.colors()) && !follows(here, stitch_name) {
            let rest = here.skip(word.len());
            return Ok((rest, Spanned::new(word.to_owned(), here.span_to(rest))));
        }
        let (rest, color) = coloring(here)?;
        if here.depth() > 0 || goes_on(rest) {
            Ok((rest, color))
        } else {
            here.fail(Expected::Thing("a color"))
        }
    }
}

/// Whether a word after a stitch can only be meant for a color, declared or not: those
/// that are usual, and what differs from words in capitals where colors are declared.
fn is_like_one(word: &str, colors: &[String]) -> bool {
    let letters = word.trim_end_matches(|c: char| c.is_ascii_digit());
    let small_word = ["TO", "IN", "OF", "OR", "ON", "AS", "AT", "BY", "X"].contains(&letters);
    let near = || words::nearest(word, colors.iter().map(String::as_str)).is_some();
    is_usual(word)
        || (!colors.is_empty()
            && are_letters(word)
            && !small_word
            && (word.len() <= 2 || letters.len() < word.len() || near()))
}

/// Whether letters are those that colors usually have: `MC`, `CC2`, `C1`, `A`.
fn is_usual(word: &str) -> bool {
    let letters = word.trim_end_matches(|c: char| c.is_ascii_digit());
    match letters {
        "MC" | "CC" => true,
        "C" => letters.len() < word.len(),
        "A" | "B" | "D" => letters.len() == word.len(),
        _ => false,
    }
}

/// Whether a color that is declared stands right here.
pub(super) fn stands(input: Text<'_>) -> bool {
    declared(input).is_some()
}

/// A sequence of stripes, which begins with the next row and goes on until a color
/// is named.
///
/// ```text
/// stripes = [ "work" [ "in" ] ] ( "stripes" | ( "stripe" | "striped" ) ( "sequence" | "pattern" ) ) [ ":" | "of" ]
///           stripe { "," [ "and" | "then" ] stripe }
/// stripe = count rows [ "in" | "of" | "with" ] name
/// ```
pub(super) fn stripes(input: Text<'_>) -> Parsed<'_, Action> {
    let (rest, ()) = quietly(opening)(input)?;
    let (mut rest, first) = cut(stripe).parse(rest)?;
    let mut all = vec![first];
    while let (after, Some(next)) =
        maybe(preceded((sign(','), opt(phrase("and|then"))), stripe))(rest)?
    {
        all.push(next);
        rest = after;
    }
    Ok((rest, Action::Stripes(all)))
}

fn opening(input: Text<'_>) -> Parsed<'_, ()> {
    let (rest, _) = maybe(phrase("work in?"))(input)?;
    let (rest, ()) =
        nom::branch::alt((phrase("stripes"), phrase("stripe|striped sequence|pattern")))
            .parse(rest)?;
    let (rest, colon) = maybe(sign(':'))(rest)?;
    let (rest, _) = if colon.is_none() { maybe(phrase("of"))(rest)? } else { (rest, None) };
    // A name of something else may begin so: `stripes for 6 rows`.
    quietly(count)(rest)?;
    Ok((rest, ()))
}

fn stripe(input: Text<'_>) -> Parsed<'_, Stripe> {
    let (rest, rows) = count(input)?;
    let (rest, ()) = rows_word(rest)?;
    let (rest, _) = maybe(phrase("in|of|with"))(rest)?;
    let (rest, color) = name(&["and", "then"])(rest)?;
    Ok((rest, Stripe { rows, color }))
}
