//! What stands in square brackets after a count: `[fixed]`, `[multiple of 4]`, `[chest + ease]`.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, map, opt, value};
use nom::sequence::{delimited, preceded};

use super::expression::{expression, lies_here};
use super::name_of_count;
use crate::diag::{Code, Finding};
use crate::source::Spanned;
use crate::syntax::error::Expected;
use crate::syntax::terminals::{name, number, phrase, sign, up_to};
use crate::syntax::text::{Parsed, Text, spanned, stop};
use crate::syntax::tree::Mark;

/// What stands in square brackets after a step or a live count.
///
/// ```text
/// mark = "[" ( "fixed" | "follows width" | "follows length" | multiple | "lies" lies
///      | "as" name [ stitches ] | "starts" name | allow | expression ) "]"
/// ```
pub(in crate::syntax) fn mark(input: Text<'_>) -> Parsed<'_, Spanned<Mark>> {
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
