//! Pieces that are sewn together, row to row.
//!
//! Pieces listed under `seams:` need the same rows from their beginning up to
//! the point where the seam ends: up to the armhole where both have one (a
//! step that `[starts armhole]`, or the first bind-off at the start of the
//! next rows), and in all where they have not.

use super::steps::{Steps, holds_others};
use super::told::{InSize, by_size};
use crate::diag::{Code, Finding, words};
use crate::measure::SizeId;
use crate::model::Model;
use crate::source::Spanned;
use crate::syntax::tree::{Action, BindOff, Mark, Step};
use crate::work::Trace;

/// Every seam whose pieces do not match, and every piece of a seam that is not there.
pub(super) fn seams(model: &Model<'_>, traces: &[Trace]) -> Vec<Finding> {
    let steps = Steps::of(model);
    let mut findings = Vec::new();
    for seam in &model.document.front.seams {
        let (known, unknown): (Vec<_>, Vec<_>) = seam
            .value
            .iter()
            .map(|name| (name, place(model, name)))
            .partition(|(_, p)| p.is_some());
        findings.extend(unknown.into_iter().map(|(name, _)| no_such_piece(model, name)));
        let known: Vec<(&Spanned<String>, usize)> =
            known.into_iter().filter_map(|(name, place)| Some((name, place?))).collect();
        let Some((first, others)) = known.split_first() else { continue };
        findings.extend(others.iter().filter_map(|other| {
            let found = traces.iter().filter_map(|trace| differ(&steps, trace, *first, *other));
            by_size(model, found.collect(), |message| {
                let heading = |index: usize| model.pieces.get(index).map(|p| p.name.span);
                let finding =
                    Finding::new(Code::SeamDiffers, seam.span, message).label("this seam");
                [first.1, other.1]
                    .into_iter()
                    .filter_map(heading)
                    .fold(finding, |f, span| f.also(span, "sewn to the other"))
            })
        }));
    }
    findings
}

fn place(model: &Model<'_>, name: &Spanned<String>) -> Option<usize> {
    model.pieces.iter().position(|piece| piece.name.value.eq_ignore_ascii_case(&name.value))
}

fn no_such_piece(model: &Model<'_>, name: &Spanned<String>) -> Finding {
    let pieces: Vec<&str> = model.pieces.iter().map(|p| p.name.value.as_str()).collect();
    let message = format!("there is no piece called `{}`", name.value);
    let finding =
        Finding::new(Code::UnknownName, name.span, message).label("not a piece of this pattern");
    match words::nearest(&name.value, pieces.iter().copied()) {
        Some(near) => {
            finding.help(format!("a similar name exists: `{near}`")).patch(name.span, near)
        }
        None => {
            let pieces: Vec<String> = pieces.iter().map(|p| format!("`{p}`")).collect();
            finding.help(format!("the pieces here are {}", words::list(&pieces, "and")))
        }
    }
}

/// How many rows a piece has in all, and up to its armhole where it has one.
struct Rows {
    all: u32,
    to_armhole: Option<u32>,
}

fn rows(steps: &Steps<'_>, trace: &Trace, piece: usize) -> Rows {
    let visits = || trace.visits.iter().filter(|visit| visit.piece == piece);
    let begins = |step: &Step| {
        let marked = |mark: &Spanned<Mark>| matches!(&mark.value, Mark::Starts(name) if name.eq_ignore_ascii_case("armhole"));
        let bound_off =
            matches!(step.action, Action::BindOff { amount: BindOff::StartOfNext { .. } });
        (step.marks.iter().any(marked) || bound_off) && !holds_others(step)
    };
    Rows {
        all: visits().map(|visit| visit.rows_after).max().unwrap_or(0),
        to_armhole: visits()
            .find(|visit| steps.visited(visit).is_some_and(begins))
            .map(|visit| visit.rows_before),
    }
}

fn differ(
    steps: &Steps<'_>,
    trace: &Trace,
    one: (&Spanned<String>, usize),
    other: (&Spanned<String>, usize),
) -> Option<InSize> {
    let (a, b) = (rows(steps, trace, one.1), rows(steps, trace, other.1));
    let (a, b, to) = match (a.to_armhole, b.to_armhole) {
        (Some(a), Some(b)) => (a, b, " up to the armhole"),
        _ => (a.all, b.all, ""),
    };
    (a != b).then(|| in_size(trace.size, &one.0.value, &other.0.value, (a, b), to))
}

fn in_size(size: SizeId, one: &str, other: &str, (a, b): (u32, u32), to: &str) -> InSize {
    let off = words::count(i64::from(a.abs_diff(b)), "row");
    let (longer, shorter) = if a > b { (one, other) } else { (other, one) };
    InSize {
        size,
        message: format!(
            "`{one}` has {} and `{other}` {b}{to}, and they are sewn together",
            words::count(i64::from(a), "row")
        ),
        help: Some(format!("work {off} more in `{shorter}`, or {off} fewer in `{longer}`")),
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{pattern, told};

    const FRONT: &str = "sizes: [small, large]\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\nseams: [[back, front]]\n";

    fn piece(name: &str, steps: &str) -> String {
        format!("## {name}, flat\n\n- cast on 60 (70) in body\n{steps}- bind off all\n\n")
    }

    fn both(back: &str, front: &str) -> String {
        told(&pattern(FRONT, &format!("{}{}", piece("Back", back), piece("Front", front))))
    }

    #[test]
    fn different_rows_are_told_by_size() {
        let (back, front) =
            ("- stockinette for 80 (90) rows\n", "- stockinette for 80 (86) rows\n");
        insta::assert_snapshot!(both(back, front), @"
        warning[seam-differs]: `back` has 91 rows and `front` 87, and they are sewn together
          --> cap.wale:6:9
           |
         6 | seams: [[back, front]]
           |         ^^^^^^^^^^^^^ this seam
        ...
         9 | ## Back, flat
           |    ---- sewn to the other
        ...
        15 | ## Front, flat
           |    ----- sewn to the other
           |
           = note: in size large
           = help: work 4 rows more in `front`, or 4 rows fewer in `back`
        ");
    }

    #[test]
    fn up_to_the_armhole_where_both_have_one() {
        let back = "- stockinette for 80 rows\n- bind off 5 at the start of the next 2 rows\n- stockinette for 40 rows\n";
        let front = "- stockinette for 76 rows\n- stockinette for 40 rows [starts armhole]\n";
        insta::assert_snapshot!(both(back, front), @"
        warning[seam-differs]: `back` has 80 rows and `front` 76 up to the armhole, and they are sewn together
          --> cap.wale:6:9
           |
         6 | seams: [[back, front]]
           |         ^^^^^^^^^^^^^ this seam
        ...
         9 | ## Back, flat
           |    ---- sewn to the other
        ...
        17 | ## Front, flat
           |    ----- sewn to the other
           |
           = help: work 4 rows more in `front`, or 4 rows fewer in `back`
        ");
        let front = "- stockinette for 80 rows\n- stockinette for 30 rows [starts armhole]\n";
        assert_eq!(both(back, front), "nothing");
    }

    #[test]
    fn a_seam_needs_its_pieces() {
        let rows = "- stockinette for 80 rows\n";
        let text = format!("{}{}", piece("Back", rows), piece("Fronts", rows));
        insta::assert_snapshot!(told(&pattern(FRONT, &text)), @"
        error[unknown-name]: there is no piece called `front`
         --> cap.wale:6:16
          |
        6 | seams: [[back, front]]
          |                ^^^^^ not a piece of this pattern
          |
        help: a similar name exists: `Fronts`
          |
        6 - seams: [[back, front]]
        6 + seams: [[back, Fronts]]
          |
        ");
    }
}
