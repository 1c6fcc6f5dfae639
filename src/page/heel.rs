//! A heel that is turned, written out: "sl 1, p12 (14, 16), p2tog, p1, turn".
//!
//! Says in stitches what [`crate::plan::heel`] gives. The rows after the first two
//! are told once: they go on to the gap that the row before has left.

use super::sheet::{Number, Part, StepLine, plain};
use crate::diag::words;
use crate::plan::heel::{Heel, Turned};
use crate::syntax::tree::Side;

/// A heel of one size, by its place.
pub(super) type Sized = (usize, Heel, Turned);

/// The rows of a heel, from the side on which its first row is worked.
pub(super) fn lines(heels: &[Sized], names: &[String], first: Option<Side>) -> Vec<StepLine> {
    let knit_first = first != Some(Side::Wrong);
    let stitches = |odd: bool| if odd == knit_first { ("k", "ssk") } else { ("p", "p2tog") };
    let label = |row: u32| {
        let side = first.map(|first| match (first, row % 2 == 1) {
            (side, true) => side,
            (Side::Right, false) => Side::Wrong,
            (Side::Wrong, false) => Side::Right,
        });
        let side = match side {
            Some(Side::Right) => " (RS)",
            Some(Side::Wrong) => " (WS)",
            None => "",
        };
        Some(format!("Row {row}{side}:"))
    };
    let line = |label: Option<String>, words| StepLine { label, words, ..StepLine::default() };
    let number = |of: &dyn Fn(&Turned) -> u32| {
        let each = heels.iter().map(|(size, _, turned)| (*size, of(turned).to_string()));
        Part::Number(Number::by_size(each.collect()))
    };
    // The first stitch before the decrease is slipped.
    let plain_of = |row: usize| {
        move |turned: &Turned| turned.rows.get(row).map_or(0, |row| row.before.0).saturating_sub(1)
    };
    let mut lines = Vec::new();
    for row in [1, 2] {
        let (each, decrease) = stitches(row == 1);
        let rest = format!(", {decrease}, {each}1, turn.");
        let words = vec![plain(format!("Sl 1, {each}")), number(&plain_of(row - 1)), plain(rest)];
        lines.push(line(label(u32::try_from(row).unwrap_or(1)), words));
    }
    if heels.iter().all(|(_, _, turned)| turned.rows.len() < 3) {
        return lines;
    }
    for row in [3, 4] {
        let (each, decrease) = stitches(row == 3);
        let text = format!(
            "Sl 1, {each} to 1 st before the gap, {decrease} across the gap, {each}1, turn."
        );
        lines.push(line(label(row), vec![plain(text)]));
    }
    let alone =
        heels.iter().any(|(_, _, turned)| turned.rows.last().is_some_and(|r| r.after.0 == 0))
            && heels.iter().any(|(_, heel, _)| !heel.last_decrease);
    let alone = if alone { "; where none is left after a decrease, turn after it" } else { "" };
    let text = format!("Repeat rows 3 and 4 until no stitches wait on either side{alone}.");
    lines.push(line(None, vec![plain(text)]));
    let once_more: Vec<&Sized> = heels.iter().filter(|(_, heel, _)| heel.last_decrease).collect();
    if let Some((_, _, turned)) = once_more.first() {
        let (each, decrease) = stitches(turned.rows.len() % 2 == 1);
        let decrease = if decrease == "ssk" { "k2tog" } else { decrease };
        let sizes: Vec<usize> = once_more.iter().map(|(size, ..)| *size).collect();
        let text = format!("Then sl 1, {each} to the last 2 sts, {decrease}.");
        let mut once = line(None, vec![plain(text)]);
        if sizes.len() < heels.len() {
            let named = sizes.iter().filter_map(|size| names.get(*size).cloned());
            let named = words::list(&named.collect::<Vec<_>>(), "and");
            once.label = Some(format!("For {named}:"));
            once.sizes = sizes;
        }
        lines.push(once);
    }
    lines
}
