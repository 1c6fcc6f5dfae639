//! A fabric by its name: `stockinette`, `k2 p2 rib`, or one of the author's own.

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, map, opt, value};
use nom::sequence::{preceded, terminated};

use crate::diag::{Code, Finding};
use crate::source::Spanned;
use crate::syntax::error::Expected;
use crate::syntax::terminals::{is_number, name, name_before, number, phrase, sign_of};
use crate::syntax::text::{Parsed, Text, quietly, spanned, stop};
use crate::syntax::tree::{FabricKind, FabricName};

/// A fabric by one of its usual names, or by the author's.
///
/// ```text
/// fabric = known-fabric | name
/// ```
pub(in crate::syntax) fn fabric(input: Text<'_>) -> Parsed<'_, FabricName> {
    alt((known_fabric, map(name(&["ending", "end", "ready"]), named))).parse(input)
}

/// A fabric the author has named, where how far it goes may follow.
pub(in crate::syntax) fn named_fabric(input: Text<'_>) -> Parsed<'_, FabricName> {
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
pub(in crate::syntax) fn known_fabric(input: Text<'_>) -> Parsed<'_, FabricName> {
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
