//! Pieces that are sewn together and do not match.
//!
//! Pieces listed under `seams:` need the same rows from their beginning up to
//! the point where the seam ends: up to the armhole where both have one (a
//! step that `[starts armhole]`, or the first bind-off at the start of the
//! next rows), and in all where they have not. Two pieces with armholes also
//! meet at the shoulder, so the armholes are as deep as each other; two rows
//! are allowed, since shoulders are shaped on opposite sides.
//!
//! A sleeve cap is sewn in with its first bind-offs against those of the
//! armhole. So where a piece called a sleeve and another both begin with
//! bind-offs at the start of the next rows, these are the same.

use super::steps::{Walk, Walks};
use super::told::{InSize, by_size};
use crate::diag::{Code, Finding, words};
use crate::measure::SizeId;
use crate::model::Model;
use crate::source::Spanned;
use crate::syntax::tree::{Action, BindOff, Mark, Step};
use std::collections::BTreeMap;

/// Every seam whose pieces do not match, and every piece of a seam that is not there.
pub(super) fn seams(model: &Model<'_>, walks: &Walks<'_, '_>) -> Vec<Finding> {
    let mut findings = caps(model, walks);
    let places = places(model);
    let rows: Vec<Vec<Rows>> =
        walks.sizes.iter().map(|walk| all_rows(model, walks, walk)).collect();
    for seam in &model.document.front.seams {
        let (known, unknown): (Vec<_>, Vec<_>) = seam
            .value
            .iter()
            .map(|name| (name, places.get(&name.value.to_lowercase()).copied()))
            .partition(|(_, p)| p.is_some());
        findings.extend(unknown.into_iter().map(|(name, _)| no_such_piece(model, name)));
        let known: Vec<(&Spanned<String>, usize)> =
            known.into_iter().filter_map(|(name, place)| Some((name, place?))).collect();
        let Some((first, others)) = known.split_first() else { continue };
        findings.extend(others.iter().filter_map(|other| {
            let sizes = walks.sizes.iter().zip(&rows);
            let found = sizes.filter_map(|(walk, rows)| differ(walk.size, rows, *first, *other));
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

/// The pieces by their names in lower case; the first of a name.
fn places(model: &Model<'_>) -> BTreeMap<String, usize> {
    let pieces = model.pieces.iter().enumerate().rev();
    pieces.map(|(place, piece)| (piece.name.value.to_lowercase(), place)).collect()
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

fn all_rows(model: &Model<'_>, walks: &Walks<'_, '_>, walk: &Walk<'_>) -> Vec<Rows> {
    (0..model.pieces.len()).map(|piece| rows(walks, walk, piece)).collect()
}

fn rows(walks: &Walks<'_, '_>, walk: &Walk<'_>, piece: usize) -> Rows {
    let begins = |step: &Step| {
        let marked = |mark: &Spanned<Mark>| matches!(&mark.value, Mark::Starts(name) if name.eq_ignore_ascii_case("armhole"));
        let bound_off =
            matches!(step.action, Action::BindOff { amount: BindOff::StartOfNext { .. } });
        step.marks.iter().any(marked) || bound_off
    };
    let mut armholes = walk
        .of_piece(piece)
        .filter(|visit| walks.is_plain(visit) && walks.step(visit).is_some_and(begins));
    Rows {
        all: walk.of_piece(piece).map(|visit| visit.rows_after).max().unwrap_or(0),
        to_armhole: armholes.next().map(|visit| visit.rows_before),
    }
}

fn differ(
    size: SizeId,
    rows: &[Rows],
    one: (&Spanned<String>, usize),
    other: (&Spanned<String>, usize),
) -> Option<InSize> {
    let (a, b) = (rows.get(one.1)?, rows.get(other.1)?);
    let told = |a: u32, b: u32, what: &str| {
        Some(in_size(size, &one.0.value, &other.0.value, (a, b), what))
    };
    match (a.to_armhole, b.to_armhole) {
        (Some(to_a), Some(to_b)) if to_a != to_b => told(to_a, to_b, " up to the armhole"),
        (Some(to_a), Some(to_b)) => {
            let (a, b) = (a.all.saturating_sub(to_a), b.all.saturating_sub(to_b));
            let sleeve = is_sleeve(&one.0.value) || is_sleeve(&other.0.value);
            (a.abs_diff(b) > SHOULDER_ROWS && !sleeve)
                .then(|| told(a, b, " from the armhole on"))
                .flatten()
        }
        _ if a.all != b.all => told(a.all, b.all, ""),
        _ => None,
    }
}

/// By how many rows two armholes may differ.
const SHOULDER_ROWS: u32 = 2;

fn is_sleeve(name: &str) -> bool {
    name.to_lowercase().contains("sleeve")
}

// --- sleeve caps ------------------------------------------------------------------

/// Every sleeve whose cap begins otherwise than the armhole of the first piece that has one.
fn caps(model: &Model<'_>, walks: &Walks<'_, '_>) -> Vec<Finding> {
    let all = |index: usize| -> Vec<Vec<i64>> {
        walks.sizes.iter().map(|walk| bound_off(walks, walk, index)).collect()
    };
    let pieces: Vec<(usize, Vec<Vec<i64>>)> = (0..model.pieces.len())
        .map(|index| (index, all(index)))
        .filter(|(_, by_size)| by_size.iter().any(|n| !n.is_empty()))
        .collect();
    let name = |index: usize| model.pieces.get(index).map_or("", |p| p.name.value.as_str());
    let Some((first, body)) = pieces.iter().find(|(index, _)| !is_sleeve(name(*index))) else {
        return Vec::new();
    };
    let sleeves = pieces.iter().filter(|(index, _)| is_sleeve(name(*index)));
    sleeves
        .filter_map(|(sleeve, cap)| {
            let found = walks.sizes.iter().zip(body.iter().zip(cap)).filter(|(_, (a, b))| a != b);
            let found = found.map(|(walk, (a, b))| InSize {
                size: walk.size,
                message: format!(
                    "the cap of `{}` begins by binding off {}, and the armhole of `{}` by {}",
                    name(*sleeve),
                    said(b),
                    name(*first),
                    said(a)
                ),
                help: Some("bind off the same at the beginning of both".to_owned()),
            });
            let place = model.pieces.get(*sleeve)?.name.span;
            let other = model.pieces.get(*first)?.name.span;
            by_size(model, found.collect(), |message| {
                Finding::new(Code::SeamDiffers, place, message)
                    .label("sewn into the armhole")
                    .also(other, "its armhole")
            })
        })
        .collect()
}

fn said(counts: &[i64]) -> String {
    let counts: Vec<String> = counts.iter().map(i64::to_string).collect();
    if counts.is_empty() { "nothing".to_owned() } else { words::list(&counts, "and") }
}

/// The bind-offs at one edge with which an armhole or a cap begins.
fn bound_off(walks: &Walks<'_, '_>, walk: &Walk<'_>, piece: usize) -> Vec<i64> {
    let mut counts = Vec::new();
    for visit in walk.of_piece(piece) {
        let Some(step) = walks.step(visit) else { continue };
        match &step.action {
            Action::BindOff { amount: BindOff::StartOfNext { count, .. } } => {
                counts.extend(count.given.get(walk.size).map(|&n| i64::from(n)));
            }
            // A row between two bind-offs, where one edge only is shaped.
            _ if visit.rows_after.saturating_sub(visit.rows_before) <= 1
                && visit.before == visit.after => {}
            _ if counts.is_empty() => {}
            _ => break,
        }
    }
    counts
}

fn in_size(size: SizeId, one: &str, other: &str, (a, b): (u32, u32), what: &str) -> InSize {
    let off = words::count(i64::from(a.abs_diff(b)), "row");
    let (longer, shorter) = if a > b { (one, other) } else { (other, one) };
    InSize {
        size,
        message: format!(
            "`{one}` has {} and `{other}` {b}{what}, and they are sewn together",
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
        let front = "- stockinette for 80 rows\n- stockinette for 41 rows [starts armhole]\n";
        assert_eq!(both(back, front), "nothing");
    }

    #[test]
    fn armholes_are_as_deep_as_each_other() {
        let armhole = |rows: u32| {
            format!(
                "- stockinette for 80 rows\n- bind off 5 at the start of the next 2 rows\n- stockinette for {rows} rows\n"
            )
        };
        assert_eq!(both(&armhole(40), &armhole(42)), "nothing");
        insta::assert_snapshot!(both(&armhole(40), &armhole(44)), @"
        warning[seam-differs]: `back` has 43 rows and `front` 47 from the armhole on, and they are sewn together
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
           = help: work 4 rows more in `back`, or 4 rows fewer in `front`
        ");
    }

    #[test]
    fn a_cap_begins_as_its_armhole_does() {
        let text = |back: &str, sleeve: &str| {
            let steps = |n: &str| {
                format!(
                    "- stockinette for 80 rows\n- bind off {n} at the start of the next 2 rows\n- decrease 1 each end every RS row 10 times\n- bind off 3 at the start of the next 4 rows\n"
                )
            };
            let front = FRONT.replace("seams: [[back, front]]\n", "");
            told(&pattern(
                &front,
                &format!("{}{}", piece("Back", &steps(back)), piece("Sleeve", &steps(sleeve))),
            ))
        };
        assert_eq!(text("5 (6)", "5 (6)"), "nothing");
        insta::assert_snapshot!(text("5 (6)", "5 (5)"), @"
        warning[seam-differs]: the cap of `Sleeve` begins by binding off 5, and the armhole of `Back` by 6
          --> cap.wale:17:4
           |
         8 | ## Back, flat
           |    ---- its armhole
        ...
        17 | ## Sleeve, flat
           |    ^^^^^^ sewn into the armhole
           |
           = note: in size large
           = help: bind off the same at the beginning of both
        ");
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
