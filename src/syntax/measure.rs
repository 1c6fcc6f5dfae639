//! Lengths, counts by size, percentages, measurement expressions and marks.
//!
//! These are the values of front matter and targets, of the braces in prose,
//! and of the square brackets after a step. The grammar is in
//! `grammar/measures.md`.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, map, opt, value};
use nom::sequence::{delimited, preceded, terminated};

use super::error::{Expected, Failure, clipped};
use super::front::{Ease, LengthChange, PutUp, Used};
use super::terminals::{
    Parsed, Text, Vocabulary, beyond, count_of_stitches, first_word, follows, is_number, labelled,
    maybe, name, name_before, number, opening, phrase, quietly, sign, sign_of, sizes, spanned,
    stitches_word, stop, up_to, whole,
};
use super::tree::{Counts, Expr, ExprKind, FabricKind, FabricName, Lengths, Lies, LiveValue, Mark};
use crate::diag::{Code, Finding};
use crate::measure::{Exact, Given, Length, ParseExactError, Unit, parse_exact};
use crate::source::{Span, Spanned};

/// How many operations one expression may have.
const MOST_OPERATIONS: usize = 64;

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
    // The dot of `in.`, but not one that ends the instruction.
    let dotted = lower == "in" && rest.rest().starts_with('.') && !rest.skip(1).is_done();
    Ok((if dotted { rest.skip(1) } else { rest }, unit))
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

// ---- Expressions -----------------------------------------------------------

/// ```text
/// expression = term { ( "+" | "-" ) term }
/// ```
pub(super) fn expression(input: Text<'_>) -> Parsed<'_, Expr> {
    let budget = std::cell::Cell::new(MOST_OPERATIONS);
    sum(input, &budget)
}

type Budget = std::cell::Cell<usize>;

fn sum<'a>(input: Text<'a>, budget: &Budget) -> Parsed<'a, Expr> {
    let (mut rest, mut left) = product(input, budget)?;
    while let Ok((after, operator)) = sign_of(&['+', '-', '−', '–'], "`+` or `-`")(rest) {
        spend(rest, budget)?;
        let (next, right) = cut(|i| product(i, budget)).parse(after)?;
        let make = if operator == '+' { ExprKind::Add } else { ExprKind::Sub };
        left = joined(left, right, make);
        rest = next;
    }
    Ok((rest, left))
}

/// ```text
/// term = factor { ( "*" | "×" | "/" | "÷" ) factor }
/// ```
fn product<'a>(input: Text<'a>, budget: &Budget) -> Parsed<'a, Expr> {
    let (mut rest, mut left) = factor(input, budget)?;
    while let Ok((after, operator)) = sign_of(&['*', '×', '/', '÷'], "`*` or `/`")(rest) {
        spend(rest, budget)?;
        let (next, right) = cut(|i| factor(i, budget)).parse(after)?;
        let make = if matches!(operator, '*' | '×') { ExprKind::Mul } else { ExprKind::Div };
        left = joined(left, right, make);
        rest = next;
    }
    Ok((rest, left))
}

fn joined(left: Expr, right: Expr, make: fn(Box<Expr>, Box<Expr>) -> ExprKind) -> Expr {
    Expr { span: left.span.to(right.span), kind: make(Box::new(left), Box::new(right)) }
}

fn spend(input: Text<'_>, budget: &Budget) -> Result<(), nom::Err<Failure>> {
    let Some(left) = budget.get().checked_sub(1) else {
        let finding = Finding::new(
            Code::TooDeep,
            Span::at(input.trimmed().offset()),
            format!("this expression has more than {MOST_OPERATIONS} operations"),
        )
        .label("too long");
        return stop(finding);
    };
    budget.set(left);
    Ok(())
}

/// ```text
/// factor = exact unit | decimal [ "%" ] | name | "(" expression ")"
/// ```
fn factor<'a>(input: Text<'a>, budget: &Budget) -> Parsed<'a, Expr> {
    let start = input.trimmed();
    match start.rest().chars().next() {
        Some('(') => {
            let inner = start.skip(1).deeper()?;
            let (rest, expr) = cut(|i| sum(i, budget)).parse(inner)?;
            let (rest, ()) = cut(sign(')')).parse(rest)?;
            Ok((rest.back_to(input), expr))
        }
        Some(c) if c.is_ascii_digit() || ".½¼¾⅛⅜⅝⅞".contains(c) => number_factor(start),
        Some(c) if c.is_alphabetic() => {
            let (rest, name) = name(&[])(start)?;
            Ok((rest, Expr { span: name.span, kind: ExprKind::Name(name.value) }))
        }
        _ => start.fail(Expected::Thing("a measurement, a length or a number")),
    }
}

/// A length where a unit follows, otherwise a plain number.
///
/// A plain number has no fraction: in `chest/2/2` each `/` divides.
fn number_factor(input: Text<'_>) -> Parsed<'_, Expr> {
    if follows(input, one_length) {
        let (rest, length) = spanned(one_length)(input)?;
        return Ok((rest, Expr { span: length.span, kind: ExprKind::Length(length.value) }));
    }
    let (rest, number) = spanned(alt((percent_here, decimal_number)))(input)?;
    Ok((rest, Expr { span: number.span, kind: ExprKind::Number(number.value) }))
}

// ---- How a band lies -------------------------------------------------------

/// ```text
/// lies = "level" | "snug" [ "by" ] percent | "as written" | "same count"
///      | "fitted" [ "to" ] expression
/// ```
fn lies_here(input: Text<'_>) -> Parsed<'_, Lies> {
    alt((
        value(Lies::Level, phrase("level")),
        map(preceded(phrase("snug by?"), cut(percent_here)), Lies::Snug),
        value(Lies::AsWritten, phrase("as written")),
        value(Lies::SameCount, phrase("same count")),
        map(preceded(phrase("fitted to?"), cut(expression)), Lies::Fitted),
    ))
    .parse(input)
}

// ---- Marks -----------------------------------------------------------------

/// What stands in square brackets after a step or a live count.
///
/// ```text
/// mark = "[" ( "fixed" | "follows width" | "follows length" | multiple | "lies" lies
///      | "as" name [ stitches ] | "starts" name | allow | expression ) "]"
/// ```
pub(super) fn mark(input: Text<'_>) -> Parsed<'_, Spanned<Mark>> {
    spanned(delimited(sign('['), cut(mark_inside), cut(sign(']'))))(input)
}

fn mark_inside(input: Text<'_>) -> Parsed<'_, Mark> {
    alt((
        value(Mark::Fixed, alone("fixed")),
        value(Mark::FollowsWidth, phrase("follows width")),
        value(Mark::FollowsLength, phrase("follows length")),
        multiple,
        map(preceded(phrase("lies"), cut(lies_here)), Mark::Lies),
        map(preceded(phrase("as"), cut(name_of_count)), |name| Mark::As(name.value)),
        map(preceded(phrase("starts"), cut(name(&[]))), |name| Mark::Starts(name.value)),
        allow,
        map(expression, Mark::Measure),
    ))
    .parse(input)
}

/// A word that fills the bracket by itself.
fn alone<'a>(word: &'static str) -> impl FnMut(Text<'a>) -> Parsed<'a, ()> {
    move |input| {
        let (rest, ()) = phrase(word)(input)?;
        if rest.trimmed().rest().starts_with(']') {
            Ok((rest, ()))
        } else {
            rest.trimmed().fail(Expected::Sign(']'))
        }
    }
}

/// ```text
/// multiple = [ "a" ] "multiple of" number [ ( "plus" | "+" ) number ]
/// ```
fn multiple(input: Text<'_>) -> Parsed<'_, Mark> {
    let (rest, ()) = phrase("a? multiple of")(input)?;
    let start = rest.trimmed();
    let (rest, of) = cut(number).parse(start)?;
    if of == 0 {
        let finding = Finding::new(
            Code::Syntax,
            start.span_to(rest),
            "a multiple of 0 leaves nothing to choose",
        )
        .label("must be 1 or more");
        return stop(finding);
    }
    let plus = preceded(alt((phrase("plus"), sign('+'))), cut(number));
    let (rest, plus) = opt(plus).parse(rest)?;
    Ok((rest, Mark::Multiple { of, plus: plus.unwrap_or(0) }))
}

/// ```text
/// allow = "allow" finding-name ":" words
/// ```
fn allow(input: Text<'_>) -> Parsed<'_, Mark> {
    let (rest, ()) = phrase("allow")(input)?;
    let (rest, code) = cut(name(&[])).parse(rest)?;
    let (rest, ()) = cut(sign(':')).parse(rest)?;
    let (rest, reason) = up_to(&[']'])(rest)?;
    let reason = reason.rest().split_whitespace().collect::<Vec<_>>().join(" ");
    if reason.is_empty() {
        return cut(no_reason).parse(rest);
    }
    Ok((rest, Mark::Allow { code, reason }))
}

fn no_reason(input: Text<'_>) -> Parsed<'_, Mark> {
    input.trimmed().fail(Expected::Thing("the reason"))
}

// ---- Fabrics ---------------------------------------------------------------

/// A fabric by one of its usual names, or by the author's.
///
/// ```text
/// fabric = known-fabric | name
/// ```
pub(super) fn fabric(input: Text<'_>) -> Parsed<'_, FabricName> {
    alt((known_fabric, map(name(&[]), named))).parse(input)
}

/// A fabric the author has named, where how far it goes may follow.
pub(super) fn named_fabric(input: Text<'_>) -> Parsed<'_, FabricName> {
    let stops = |word: &str| {
        is_number(word)
            || ["with", "for", "until", "once", "twice", "another", "x", "ending", "end", "ready"]
                .iter()
                .any(|stop| stop.eq_ignore_ascii_case(word))
    };
    map(name_before(stops), named).parse(input)
}

fn named(name: Spanned<String>) -> FabricName {
    FabricName { span: name.span, kind: FabricKind::Named(name.value), edges: None }
}

/// ```text
/// known-fabric = "stockinette" [ stitch-word ] | "stocking" stitch-word | "st st" | "garter" [ stitch-word ]
///              | ( "reverse" | "rev" ) ( "stockinette" | "stocking" | "st" ) [ stitch-word ]
///              | ( "seed" | "moss" ) [ stitch-word ] | rib
/// stitch-word = "stitch" | "st"
/// ```
pub(super) fn known_fabric(input: Text<'_>) -> Parsed<'_, FabricName> {
    let (rest, kind) = spanned(alt((
        value(
            FabricKind::ReverseStockinette,
            phrase("reverse|rev stockinette|stocking|st stitch|st?"),
        ),
        value(FabricKind::Stockinette, phrase("stockinette stitch|st?")),
        value(FabricKind::Stockinette, phrase("stocking stitch|st")),
        value(FabricKind::Stockinette, phrase("st st")),
        value(FabricKind::Garter, phrase("garter stitch|st?")),
        value(FabricKind::Seed, phrase("seed|moss stitch|st?")),
        rib,
    )))(input)?;
    Ok((rest, FabricName { span: kind.span, kind: kind.value, edges: None }))
}

/// ```text
/// rib = rib-repeat ( "rib" | "ribbing" ) | ( "rib" | "ribbing" ) "of" rib-repeat
/// rib-repeat = "k" number [ "," | "/" ] "p" number | number ( "x" | "×" ) number
/// ```
fn rib(input: Text<'_>) -> Parsed<'_, FabricKind> {
    let (rest, (knit, purl)) = alt((
        preceded(phrase("rib|ribbing of"), cut(rib_repeat)),
        terminated(rib_repeat, phrase("rib|ribbing")),
    ))
    .parse(input)?;
    if knit == 0 || purl == 0 {
        let finding = Finding::new(
            Code::Syntax,
            input.trimmed().span_to(rest),
            "a rib has at least one knit and one purl stitch",
        )
        .label("must be 1 or more");
        return stop(finding);
    }
    Ok((rest, FabricKind::Rib(knit, purl)))
}

fn rib_repeat(input: Text<'_>) -> Parsed<'_, (u32, u32)> {
    let by_stitches = |input| {
        let (rest, knit) = letter_number(input, 'k')?;
        let (rest, _) = opt(sign_of(&[',', '/'], "`,`")).parse(rest)?;
        let (rest, purl) = letter_number(rest, 'p')?;
        Ok((rest, (knit, purl)))
    };
    let by_numbers = |input| {
        let (rest, knit) = number(input)?;
        let (rest, _) = sign_of(&['x', 'X', '×'], "`x`")(rest)?;
        let (rest, purl) = number(rest)?;
        Ok((rest, (knit, purl)))
    };
    quietly(alt((by_stitches, by_numbers)))(input)
}

/// `k2` or `k 2`.
fn letter_number(input: Text<'_>, letter: char) -> Parsed<'_, u32> {
    let start = input.trimmed();
    match start.rest().chars().next() {
        Some(c) if c.eq_ignore_ascii_case(&letter) => number(start.skip(c.len_utf8())),
        _ => start.fail(Expected::Sign(letter)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::exact;
    use crate::syntax::print;

    #[track_caller]
    fn said<T>(read: Result<T, Finding>) -> T {
        read.unwrap_or_else(|finding| panic!("{finding:#?}"))
    }

    #[test]
    fn counts_by_size() {
        for text in ["96", "96 (104, 112)", "- (4, -)", "?", "{24 (26)}"] {
            assert_eq!(print::count(&said(counts(text, 0))), text);
        }
        assert_eq!(print::count(&said(counts(" 96(104:112) ", 0))), "96 (104, 112)");
        let read = said(counts("  {24 (26)}", 10));
        assert_eq!(read.span, Span::new(13, 20));
    }

    #[test]
    fn lengths_in_either_unit() {
        for text in ["48 (52, 56) cm", "2 1/2 (3, 3 1/4) in", "38.5 cm / 15 in", "? cm", "1/8 in"] {
            assert_eq!(print::lengths(&said(lengths(text, 0))), text);
        }
        for (text, same) in [
            ("2½ in", "2 1/2 in"),
            ("2-1/2\"", "2 1/2 in"),
            ("5 inches", "5 in"),
            ("38 cm (15 in)", "38 cm / 15 in"),
            ("400 metres", "400 m"),
        ] {
            assert_eq!(print::lengths(&said(lengths(text, 0))), same);
        }
        let read = said(lengths("48 (52) cm / 19 in", 5));
        assert_eq!((read.span, read.numbers), (Span::new(5, 15), Span::new(5, 12)));
    }

    #[test]
    fn ease_and_changes_have_signs() {
        let ease = |text| said(super::ease(text, 0));
        assert_eq!(ease("-10%"), Given::Same(Ease::Percent(exact(-1, 10))));
        assert_eq!(ease("−4 cm"), Given::Same(Ease::Length(Length::cm(-4))));
        assert_eq!(ease("0"), Given::Same(Ease::Length(Length::zero())));
        assert_eq!(
            ease("5 (-, 7) cm"),
            Given::Each(vec![
                Some(Ease::Length(Length::cm(5))),
                None,
                Some(Ease::Length(Length::cm(7)))
            ])
        );
        let change = |text| said(length_change(text, 0));
        assert_eq!(change("+2 cm"), Given::Same(LengthChange::By(Length::cm(2))));
        assert_eq!(change("-1 in"), Given::Same(LengthChange::By(Length::inches(-1))));
        assert_eq!(change("40 cm"), Given::Same(LengthChange::To(Length::cm(40))));
    }

    #[test]
    fn expressions_bind_as_usual() {
        let shape = |text| print::expr(&said(expr(text, 0)));
        assert_eq!(shape("chest / 2 + ease / 2"), "chest / 2 + ease / 2");
        assert_eq!(shape("a - b - c"), "a - b - c");
        assert_eq!(shape("a - (b - c)"), "a - (b - c)");
        assert_eq!(shape("(upper arm + 2 1/2 cm) * 3"), "(upper arm + 2.5 cm) * 3");
        assert_eq!(shape("chest/2/2"), "chest / 2 / 2");
        assert_eq!(shape("head * 90%"), "head * 0.9");
        assert_eq!(shape("upper-arm × 2 ÷ 3"), "upper-arm * 2 / 3");
        assert_eq!(said(expr("chest / 2", 7)).span, Span::new(7, 16));
    }

    #[test]
    fn bands_yarn_and_fabrics() {
        for text in ["level", "snug 12%", "as written", "same count", "fitted wrist * 2"] {
            assert_eq!(print::lies(&said(lies(text, 0))), text);
        }
        assert_eq!(said(percent("12.5%", 0)), exact(1, 8));
        let full =
            PutUp { length: Length::new(exact(200, 1), Unit::M), grams: Some(exact(100, 1)) };
        assert_eq!(said(put_up("200 m / 100 g", 0)), full);
        assert_eq!(
            said(used("60 (70) g", 0)),
            Used::Grams(Given::Each(vec![Some(exact(60, 1)), Some(exact(70, 1))]))
        );
        assert_eq!(said(used("3 1/2 balls", 0)), Used::PutUps(Given::Same(exact(7, 2))));
        for (text, name) in [
            ("Stocking stitch", "stockinette"),
            ("st st", "stockinette"),
            ("reverse st st", "reverse stockinette"),
            ("garter st", "garter"),
            ("moss stitch", "seed"),
            ("k2, p2 rib", "k2 p2 rib"),
            ("k3 p1 ribbing", "k3 p1 rib"),
            ("rib of k1/p1", "k1 p1 rib"),
            ("2 x 2 rib", "k2 p2 rib"),
            ("old man's lattice", "old man's lattice"),
        ] {
            assert_eq!(print::fabric_name(&said(fabric_name(text, 0)).kind), name);
        }
    }

    #[test]
    fn live_numbers_in_prose() {
        let kind = |text| match said(live(text, 0)) {
            LiveValue::Counts(counts) => format!("counts {}", print::count(&counts)),
            LiveValue::Lengths(lengths) => format!("lengths {}", print::lengths(&lengths)),
            LiveValue::Name(name) => format!("name {}", name.value),
        };
        assert_eq!(kind("96 (104)"), "counts {96 (104)}");
        assert_eq!(kind("96 sts"), "counts {96}");
        assert_eq!(kind("20 cm"), "lengths 20 cm");
        assert_eq!(kind("brim stitches"), "name brim");
    }

    #[test]
    fn errors_say_what_was_expected() {
        let lines = [
            ("96 rows", said_of(counts("96 rows", 0))),
            ("96 (104,)", said_of(counts("96 (104,)", 0))),
            ("96 (?)", said_of(counts("96 (?)", 0))),
            ("48", said_of(lengths("48", 0))),
            ("48 kg", said_of(lengths("48 kg", 0))),
            ("1/0 in", said_of(lengths("1/0 in", 0))),
            ("0.1234567 cm", said_of(lengths("0.1234567 cm", 0))),
            ("ten percent", said_of(percent("ten percent", 0))),
            ("10", said_of(percent("10", 0))),
            ("snug", said_of(lies("snug", 0))),
            ("tight", said_of(lies("tight", 0))),
            ("chest +", said_of(expr("chest +", 0))),
            ("(chest", said_of(expr("(chest", 0))),
            ("k0 p2 rib", said_of(fabric_name("k0 p2 rib", 0))),
            ("200 g", said_of(put_up("200 g", 0))),
            ("{}", said_of(live("", 0))),
        ];
        let table: Vec<String> =
            lines.iter().map(|(text, said)| format!("{text}\n  {said}\n")).collect();
        insta::assert_snapshot!(table.concat(), @r"
        96 rows
          syntax 3..7 expected the end of the value, but found `rows`
        96 (104,)
          syntax 8..9 expected a whole number, but found `)`
        96 (?)
          syntax 4..5 expected a whole number, but found `?`
        48
          syntax 2..2 expected a unit (`cm` or `in`), but found the end
        48 kg
          syntax 3..5 expected a unit (`cm` or `in`), but found `kg`
        1/0 in
          syntax 0..3 `1/0` is not a number
        0.1234567 cm
          beyond-any-garment 0..9 0.1234567 is beyond any garment
        ten percent
          syntax 0..3 expected a number, but found `ten`
        10
          syntax 2..2 expected `%`, but found the end
        snug
          syntax 4..4 expected a number, but found the end
        tight
          syntax 0..5 expected `level`, `snug`, `as written`, `same count` or `fitted`, but found `tight`
        chest +
          syntax 7..7 expected a measurement, a length or a number, but found the end
        (chest
          syntax 6..6 expected `*` or `/`, `+` or `-` or `)`, but found the end
        k0 p2 rib
          syntax 0..9 a rib has at least one knit and one purl stitch
        200 g
          syntax 4..5 expected a unit (`cm` or `in`), but found `g`
        {}
          syntax 0..0 expected a count, a length or a name, but found the end
        ");
    }

    #[track_caller]
    fn said_of<T: std::fmt::Debug>(read: Result<T, Finding>) -> String {
        match read {
            Ok(value) => panic!("read as {value:?}"),
            Err(f) => format!("{} {:?} {}", f.code.name(), f.place(), f.message),
        }
    }

    #[test]
    fn expressions_have_limits() {
        let code = |text: &str| expr(text, 0).map_err(|f| f.code).err();
        assert_eq!(code(&format!("a{}", " + a".repeat(64))), None);
        assert_eq!(code(&format!("a{}", " + a".repeat(65))), Some(Code::TooDeep));
        assert_eq!(code(&format!("{}a{}", "(".repeat(33), ")".repeat(33))), Some(Code::TooDeep));
        assert_eq!(code(&"(".repeat(100_000)), Some(Code::TooDeep));
    }
}
