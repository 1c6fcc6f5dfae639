//! What a count measures, `chest / 2 + ease`, and how a band lies against what it meets.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, map, value};
use nom::sequence::preceded;

use super::{decimal_number, one_length, percent_here};
use crate::diag::{Code, Finding};
use crate::source::Span;
use crate::syntax::error::{Expected, Failure};
use crate::syntax::terminals::{name, phrase, sign, sign_of};
use crate::syntax::text::{Parsed, Text, follows, spanned, stop};
use crate::syntax::tree::{Expr, ExprKind, Lies};

/// How many operations one expression may have.
const MOST_OPERATIONS: usize = 64;

/// ```text
/// expression = term { ( "+" | "-" ) term }
/// ```
pub(in crate::syntax) fn expression(input: Text<'_>) -> Parsed<'_, Expr> {
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

/// ```text
/// lies = "level" | "snug" [ "by" ] percent | "as written" | "same count"
///      | "fitted" [ "to" ] expression
/// ```
pub(super) fn lies_here(input: Text<'_>) -> Parsed<'_, Lies> {
    alt((
        value(Lies::Level, phrase("level")),
        map(preceded(phrase("snug by?"), cut(percent_here)), Lies::Snug),
        value(Lies::AsWritten, phrase("as written")),
        value(Lies::SameCount, phrase("same count")),
        map(preceded(phrase("fitted to?"), cut(expression)), Lies::Fitted),
    ))
    .parse(input)
}
