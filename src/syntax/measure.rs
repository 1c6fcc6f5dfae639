//! Lengths, counts by size, percentages, measurement expressions and marks.
//!
//! These are the values of front matter and targets, of the braces in prose,
//! and of the square brackets after a step. The grammar is in
//! `grammar/measures.md`.

mod expression;
mod fabric;
mod marks;

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{map, opt};
use nom::sequence::{delimited, preceded, terminated};

use self::expression::{expression, lies_here};
pub(super) use self::fabric::{fabric, known_fabric, named_fabric};
pub(super) use self::marks::mark;
use crate::diag::{Code, Finding};
use crate::measure::{Exact, Given, Length, ParseExactError, Unit, parse_exact};
use crate::source::Spanned;
use crate::syntax::error::{Expected, clipped};
use crate::syntax::front::{Ease, LengthChange, PutUp, Used};
use crate::syntax::terminals::{
    beyond, count_of_stitches, first_word, name, number, phrase, sign, sign_of, sizes,
    stitches_word,
};
use crate::syntax::text::{
    Parsed, Text, Vocabulary, follows, labelled, maybe, opening, stop, whole,
};
use crate::syntax::tree::{Counts, Expr, FabricName, Lengths, Lies, LiveValue};

fn read<T>(
    text: &str,
    offset: usize,
    parser: impl for<'a> Fn(Text<'a>) -> Parsed<'a, T>,
) -> Result<T, Finding> {
    whole(text, offset, &Vocabulary::default(), "the end of the value", parser)
}

// ---- For the readers of front matter, targets and prose --------------------

/// `96 (104, 112)`, `8`, `?`
///
/// # Errors
/// A finding at the place where the text is no count.
pub fn counts(text: &str, offset: usize) -> Result<Counts, Finding> {
    read(text, offset, count_of_stitches)
}

/// `48 (52, 56) cm`, `2 1/2 in`, `38 cm / 15 in`
///
/// # Errors
/// A finding at the place where the text is no length.
pub fn lengths(text: &str, offset: usize) -> Result<Lengths, Finding> {
    read(text, offset, lengths_here)
}

/// `10 cm`: one length for all sizes.
///
/// # Errors
/// A finding at the place where the text is no length.
pub fn length(text: &str, offset: usize) -> Result<Length, Finding> {
    read(text, offset, one_length)
}

/// `22`, `22.5`, `5 1/2`: a plain number, not below zero.
///
/// # Errors
/// A finding at the place where the text is no number.
pub fn amount(text: &str, offset: usize) -> Result<Exact, Finding> {
    read(text, offset, exact_number)
}

/// `-10%`, `5 (6, 7) cm`, `0`
///
/// # Errors
/// A finding at the place where the text is no ease.
pub fn ease(text: &str, offset: usize) -> Result<Given<Ease>, Finding> {
    read(text, offset, ease_here)
}

/// `+2 cm`, `-1 (-1, -2) cm` (longer, shorter), `40 cm` (in all)
///
/// # Errors
/// A finding at the place where the text is no such change.
pub fn length_change(text: &str, offset: usize) -> Result<Given<LengthChange>, Finding> {
    read(text, offset, length_change_here)
}

/// `10%`, as the fraction 1/10.
///
/// # Errors
/// A finding at the place where the text is no percentage.
pub fn percent(text: &str, offset: usize) -> Result<Exact, Finding> {
    read(text, offset, percent_here)
}

/// `chest / 2 + ease / 2`
///
/// # Errors
/// A finding at the place where the text is no expression.
pub fn expr(text: &str, offset: usize) -> Result<Expr, Finding> {
    read(text, offset, expression)
}

/// `snug 12%`, `level`, `as written`, `same count`, `fitted wrist`
///
/// # Errors
/// A finding at the place where the text says no way a band can lie.
pub fn lies(text: &str, offset: usize) -> Result<Lies, Finding> {
    read(text, offset, lies_here)
}

/// `stockinette`, `k2 p2 rib`, `lattice`
///
/// # Errors
/// A finding at the place where the text is no name.
pub fn fabric_name(text: &str, offset: usize) -> Result<FabricName, Finding> {
    read(text, offset, fabric)
}

/// `200 m / 100 g`, `219 yd`
///
/// # Errors
/// A finding at the place where the text is no put-up.
pub fn put_up(text: &str, offset: usize) -> Result<PutUp, Finding> {
    read(text, offset, put_up_here)
}

/// `60 (70, 80) g`, `400 m`, `3 (4, 4) balls`
///
/// # Errors
/// A finding at the place where the text is no amount of yarn.
pub fn used(text: &str, offset: usize) -> Result<Used, Finding> {
    read(text, offset, used_here)
}

/// What stands between the braces of a live number in prose.
///
/// # Errors
/// A finding at the place where it is neither a count, a length nor a name.
pub fn live(text: &str, offset: usize) -> Result<LiveValue, Finding> {
    read(text, offset, live_here)
}

/// The count that a text begins with, whatever follows it; its span tells how far it goes.
#[must_use]
pub fn counts_at(text: &str, offset: usize) -> Option<Counts> {
    opening(text, offset, count_of_stitches)
}

/// The length that a text begins with, whatever follows it; its span tells how far it goes.
#[must_use]
pub fn lengths_at(text: &str, offset: usize) -> Option<Lengths> {
    opening(text, offset, lengths_here)
}

// ---- Numbers and lengths ---------------------------------------------------

/// A number with decimals or a fraction.
///
/// ```text
/// exact = decimal | digits fraction | fraction
/// fraction = digits "/" digits | "½" | "¼" | "¾" | "⅛" | "⅜" | "⅝" | "⅞"
/// ```
fn exact_number(input: Text<'_>) -> Parsed<'_, Exact> {
    exact_of(input, mixed_length(input.trimmed().rest()))
}

/// A number with decimals but without a fraction.
///
/// ```text
/// decimal = digits [ "." digits ]
/// ```
fn decimal_number(input: Text<'_>) -> Parsed<'_, Exact> {
    exact_of(input, decimal_length(input.trimmed().rest()))
}

fn exact_of(input: Text<'_>, length: usize) -> Parsed<'_, Exact> {
    let start = input.trimmed();
    let written = start.rest().get(..length).unwrap_or("");
    if written.is_empty() {
        return start.fail(Expected::Thing("a number"));
    }
    let rest = start.skip(length);
    // `2-1/2` is how some write `2 1/2`.
    match parse_exact(&written.replace('-', " ")) {
        Ok(n) => Ok((rest, n)),
        Err(ParseExactError::OutOfRange) => {
            stop(beyond(start.span_to(rest), written).help("write at most six decimals"))
        }
        // All that is left: a fraction of nothing.
        Err(ParseExactError::NotANumber) => stop(
            Finding::new(
                Code::Syntax,
                start.span_to(rest),
                format!("`{}` is not a number", clipped(written)),
            )
            .label("divides by 0"),
        ),
    }
}

fn digits_length(text: &str) -> usize {
    text.bytes().take_while(u8::is_ascii_digit).count()
}

/// The length of `12`, `12.5` or `.5` at the beginning of `text`.
fn decimal_length(text: &str) -> usize {
    let whole = digits_length(text);
    let after = text.get(whole..).unwrap_or("");
    let places = after.strip_prefix('.').map_or(0, digits_length);
    if places > 0 { whole + 1 + places } else { whole }
}

/// The length of `1/2` or `½` at the beginning of `text`.
fn fraction_length(text: &str) -> usize {
    if let Some(c) = text.chars().next().filter(|c| "½¼¾⅛⅜⅝⅞".contains(*c)) {
        return c.len_utf8();
    }
    let top = digits_length(text);
    let bottom = text.get(top..).and_then(|t| t.strip_prefix('/')).map_or(0, digits_length);
    if top > 0 && bottom > 0 { top + 1 + bottom } else { 0 }
}

/// The length of `12`, `12.5`, `1/2`, `2 1/2`, `2-1/2` or `2½` at the beginning of `text`.
fn mixed_length(text: &str) -> usize {
    let fraction = fraction_length(text);
    if fraction > 0 {
        return fraction;
    }
    let whole = decimal_length(text);
    let after = text.get(whole..).unwrap_or("");
    let gap = after.len() - after.trim_start().len();
    let gap = if gap == 0 && after.starts_with('-') { 1 } else { gap };
    match after.get(gap..).map_or(0, fraction_length) {
        0 => whole,
        _ if whole == 0 => 0,
        fraction => whole + gap + fraction,
    }
}

/// ```text
/// unit = "cm" | "mm" | "m" | "in" | "inch" | "inches" | "\"" | "yd" | "yds" | "yards"
/// ```
fn unit(input: Text<'_>) -> Parsed<'_, Unit> {
    let start = input.trimmed();
    for mark in ["\"", "″", "”"] {
        if start.rest().starts_with(mark) {
            return Ok((start.skip(mark.len()), Unit::In));
        }
    }
    let word = first_word(start.rest());
    let lower = word.to_lowercase();
    let unit = match lower.as_str() {
        "cms" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => Some(Unit::Cm),
        "yard" => Some(Unit::Yd),
        "metre" | "meter" => Some(Unit::M),
        "ins" => Some(Unit::In),
        other => Unit::from_word(other),
    };
    let Some(unit) = unit else {
        return start.fail(Expected::Thing("a unit (`cm` or `in`)"));
    };
    let rest = start.skip(word.len());
    let dotted = lower == "in" && rest.rest().starts_with('.') && goes_on(rest.skip(1));
    Ok((if dotted { rest.skip(1) } else { rest }, unit))
}

/// Whether the dot of `in.` before this does not end a sentence too.
fn goes_on(after: Text<'_>) -> bool {
    let here = after.trimmed();
    let words =
        "from|above|of|in|for|ending|end|with|then|and|more|altogether|across|at|before|ready";
    !here.is_done()
        && (!here.rest().starts_with(char::is_alphabetic) || follows(here, phrase(words)))
}

/// One or more lengths in one unit, and the same again in another.
///
/// ```text
/// length = sizes(exact) unit [ "/" sizes(exact) unit | "(" sizes(exact) unit ")" ]
/// ```
pub(super) fn lengths_here(input: Text<'_>) -> Parsed<'_, Lengths> {
    let (rest, mut first) = lengths_once(input)?;
    let second =
        alt((preceded(sign('/'), lengths_once), delimited(sign('('), lengths_once, sign(')'))));
    let (rest, also) = maybe(second)(rest)?;
    first.also = also.map(Box::new);
    Ok((rest, first))
}

fn lengths_once(input: Text<'_>) -> Parsed<'_, Lengths> {
    let start = input.trimmed();
    let (rest, (numbers, given)) = sizes(exact_number)(start)?;
    let (rest, unit) = unit(rest)?;
    let given = given.map(|n| Length::new(*n, unit));
    Ok((rest, Lengths { span: start.span_to(rest), numbers, given, unit, also: None }))
}

fn one_length(input: Text<'_>) -> Parsed<'_, Length> {
    let (rest, (n, unit)) = (exact_number, unit).parse(input)?;
    Ok((rest, Length::new(n, unit)))
}

/// `+`, `-`, or nothing.
fn sign_before(input: Text<'_>) -> Parsed<'_, Option<char>> {
    maybe(sign_of(&['+', '-', '−', '–'], "a sign"))(input)
}

/// ```text
/// signed = [ "+" | "-" ] exact
/// ```
fn signed(input: Text<'_>) -> Parsed<'_, (Option<char>, Exact)> {
    let (rest, sign) = sign_before(input)?;
    let (rest, n) = exact_number(rest)?;
    Ok((rest, (sign, if matches!(sign, None | Some('+')) { n } else { -n })))
}

/// ```text
/// percent = signed "%"
/// ```
fn percent_here(input: Text<'_>) -> Parsed<'_, Exact> {
    let (rest, (_, n)) = signed(input)?;
    let (rest, ()) = sign('%')(rest)?;
    Ok((rest, crate::measure::percent(n)))
}

/// ```text
/// ease = sizes(signed) ( "%" | unit ) | "0"
/// ```
fn ease_here(input: Text<'_>) -> Parsed<'_, Given<Ease>> {
    let (rest, (_, given)) = sizes(signed)(input)?;
    if let Ok((rest, ())) = sign('%')(rest) {
        return Ok((rest, given.map(|(_, n)| Ease::Percent(crate::measure::percent(*n)))));
    }
    let zero = Exact::from_integer(0);
    if given.values().all(|(_, n)| *n == zero) && rest.is_done() {
        return Ok((rest, given.map(|_| Ease::Length(Length::zero()))));
    }
    let (rest, unit) = unit(rest)?;
    Ok((rest, given.map(|(_, n)| Ease::Length(Length::new(*n, unit)))))
}

/// ```text
/// length-change = sizes(signed) unit
/// ```
fn length_change_here(input: Text<'_>) -> Parsed<'_, Given<LengthChange>> {
    let (rest, (_, given)) = sizes(signed)(input)?;
    let (rest, unit) = unit(rest)?;
    let change = |(sign, n): &(Option<char>, Exact)| {
        let length = Length::new(*n, unit);
        if sign.is_some() { LengthChange::By(length) } else { LengthChange::To(length) }
    };
    Ok((rest, given.map(change)))
}

// ---- Yarn ------------------------------------------------------------------

/// ```text
/// grams = "g" | "grams" | "gram" | "gr"
/// ```
fn grams(input: Text<'_>) -> Parsed<'_, ()> {
    phrase("g|grams|gram|gr")(input)
}

/// ```text
/// put-up = exact unit [ "/" exact grams ]
/// ```
fn put_up_here(input: Text<'_>) -> Parsed<'_, PutUp> {
    let (rest, length) = one_length(input)?;
    if rest.is_done() {
        return Ok((rest, PutUp { length, grams: None }));
    }
    let (rest, ()) = sign('/')(rest)?;
    let (rest, n) = terminated(exact_number, grams).parse(rest)?;
    Ok((rest, PutUp { length, grams: Some(n) }))
}

/// ```text
/// used = sizes(exact) ( grams | unit | "balls" | "skeins" | "hanks" | "cones" | "put-ups" )
/// ```
fn used_here(input: Text<'_>) -> Parsed<'_, Used> {
    let (rest, (_, given)) = sizes(exact_number)(input)?;
    let word = phrase("balls|ball|skeins|skein|hanks|hank|put-ups|put-up|cones|cone");
    if let Ok((rest, ())) = grams(rest) {
        return Ok((rest, Used::Grams(given)));
    }
    if let Ok((rest, ())) = word(rest) {
        return Ok((rest, Used::PutUps(given)));
    }
    let (rest, unit) = unit(rest)?;
    Ok((rest, Used::Length(given.map(|n| Length::new(*n, unit)))))
}

// ---- Prose -----------------------------------------------------------------

/// ```text
/// live = sizes(number) [ stitches ] | length | name [ stitches ]
/// ```
fn live_here(input: Text<'_>) -> Parsed<'_, LiveValue> {
    labelled("a count, a length or a name", live_value)(input)
}

fn live_value(input: Text<'_>) -> Parsed<'_, LiveValue> {
    let start = input.trimmed();
    if start.rest().starts_with(char::is_alphabetic) && !follows(start, number) {
        return map(name_of_count, LiveValue::Name).parse(start);
    }
    if let Ok((rest, lengths)) = lengths_here(start) {
        return Ok((rest, LiveValue::Lengths(lengths)));
    }
    let (rest, (span, given)) = sizes(number)(start)?;
    let (rest, _) = opt(stitches_word).parse(rest)?;
    Ok((rest, LiveValue::Counts(Counts { span, given, live: true })))
}

/// A name given with `as`; the word `stitches` after it is for the reader only.
fn name_of_count(input: Text<'_>) -> Parsed<'_, Spanned<String>> {
    let (rest, name) = name(&["st", "sts", "stitch", "stitches"])(input)?;
    let (rest, _) = maybe(stitches_word)(rest)?;
    Ok((rest, name))
}

#[cfg(test)]
mod tests;
