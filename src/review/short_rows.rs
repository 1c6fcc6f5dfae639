//! Short rows that grow or shrink by the same number, all but one of them.
//!
//! A wedge of short rows changes by a fixed number of stitches from row to
//! row: 44, 40, 36, 32. Its rows need not come out at any count, so a slip in
//! one of them is found by nothing else. Rows are compared that follow one
//! another and end in a turn, four or more of them; the first and the last,
//! with a neighbour on one side only, are told where they are off by one or
//! two stitches, for they often differ by more on purpose. Off by one they may
//! come of rounding, as after a rewrite; then every other size must keep to
//! its step, which it would not if all were rounded.

use super::steps::{self, Walks};
use super::told::{InSize, by_size};
use crate::diag::{Code, Finding};
use crate::measure::SizeId;
use crate::model::Model;
use crate::syntax::tree::{Action, Item, ItemKind, Step};
use std::collections::BTreeMap;

/// How many rows tell a rule.
const ENOUGH: usize = 4;
/// How far the first or the last row may be off to be taken for a slip.
const SLIP: i64 = 2;

/// Every short row that is out of step with those around it.
pub(super) fn short_rows(model: &Model<'_>, walks: &Walks<'_, '_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    steps::lists(model, &mut |_, list| {
        for rows in list.chunk_by(|a, b| turns(a) && turns(b)).filter(|rows| rows.len() >= ENOUGH) {
            let wedges: Vec<(SizeId, Vec<i64>)> = walks
                .sizes
                .iter()
                .filter_map(|walk| {
                    let counts =
                        rows.iter().map(|row| steps::takes(model, worked(row)?, walk.size));
                    Some((walk.size, counts.collect::<Option<Vec<i64>>>()?))
                })
                .collect();
            let regular = wedges.iter().filter(|(_, counts)| keeps_step(counts)).count();
            let mut found: BTreeMap<usize, Vec<InSize>> = BTreeMap::new();
            for (size, counts) in &wedges {
                let Some((at, has, rule)) = out_of_step(counts) else { continue };
                let end = at == 0 || at + 1 == counts.len();
                let only_one = regular + 1 == wedges.len() && regular > 0;
                if end && (has - rule).abs() == 1 && !only_one {
                    continue;
                }
                let message =
                    format!("this row works {has} stitches, and its neighbours lead to {rule}");
                found.entry(at).or_default().push(InSize { size: *size, message, help: None });
            }
            for (at, found) in found {
                let Some(row) = rows.get(at) else { continue };
                findings.extend(by_size(model, found, |message| {
                    Finding::new(Code::RowsUneven, row.span, message)
                        .label("out of step")
                        .help("correct it; where it is meant, allow the finding and say why")
                }));
            }
        }
    });
    findings
}

fn worked(step: &Step) -> Option<&[Item]> {
    match &step.action {
        Action::Row { items, .. } => items.split_last().map(|(_, before)| before),
        _ => None,
    }
}

/// Whether a step is one row that ends in a turn.
fn turns(step: &Step) -> bool {
    let Action::Row { items, .. } = &step.action else { return false };
    let turn = |item: &Item| matches!(item.kind, ItemKind::Turn | ItemKind::WrapTurn);
    items.iter().filter(|item| turn(item)).count() == 1 && items.last().is_some_and(turn)
}

/// Whether all rows are the same number of stitches apart.
fn keeps_step(counts: &[i64]) -> bool {
    let mut steps = counts.iter().zip(counts.iter().skip(1)).map(|(a, b)| b - a);
    let first = steps.next();
    steps.all(|step| Some(step) == first)
}

/// The one value that does not keep the step that all the others keep: its
/// place, what it is, and what it should be.
fn out_of_step(counts: &[i64]) -> Option<(usize, i64, i64)> {
    // Where the step changes: beside the value, at two places or three.
    let steps: Vec<i64> = counts.iter().zip(counts.iter().skip(1)).map(|(a, b)| b - a).collect();
    let changes = steps.iter().zip(steps.iter().skip(1)).enumerate();
    let changes = changes.filter(|(_, (a, b))| a != b).map(|(at, _)| at + 1);
    let changes: Vec<usize> = changes.take(4).collect();
    if changes.is_empty() || changes.len() > 3 {
        return None;
    }
    let ends = [0, counts.len().saturating_sub(1)];
    let mut suspects: Vec<usize> = changes.into_iter().chain(ends).collect();
    suspects.sort_unstable();
    suspects.into_iter().find_map(|at| {
        let (has, rule) = out_of_step_at(counts, at)?;
        Some((at, has, rule))
    })
}

/// The value at a place and the one it should have, where all the others keep
/// the same step and it does not.
fn out_of_step_at(counts: &[i64], at: usize) -> Option<(i64, i64)> {
    let has = *counts.get(at)?;
    let rest: Vec<(i64, i64)> = (0_i64..)
        .zip(counts.iter().copied())
        .filter(|(place, _)| usize::try_from(*place) != Ok(at))
        .collect();
    let ((p, a), (q, b)) = (*rest.first()?, *rest.last()?);
    let (over, change) = (q - p, b - a);
    if over == 0 || change % over != 0 {
        return None;
    }
    let step = change / over;
    let due = |place: i64| a + step * (place - p);
    let rule = due(i64::try_from(at).ok()?);
    let end = at == 0 || at + 1 == counts.len();
    let told = step != 0
        && has != rule
        && rest.iter().all(|(place, count)| *count == due(*place))
        && (!end || (has - rule).abs() <= SLIP);
    told.then_some((has, rule))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{pattern, told};
    use super::*;

    #[test]
    fn one_row_of_a_wedge_is_out_of_step() {
        assert_eq!(out_of_step(&[44, 40, 37, 32]), Some((2, 37, 36)));
        assert_eq!(out_of_step(&[44, 40, 36, 33]), Some((3, 33, 32)));
        assert_eq!(out_of_step(&[45, 40, 36, 32]), Some((0, 45, 44)));
        assert_eq!(out_of_step(&[6, 7, 80, 9, 10]), Some((2, 80, 8)));
        for counts in [&[44, 40, 36, 32][..], &[19, 6, 7, 8, 9], &[5, 5, 6, 5, 5], &[1, 4, 9, 16]] {
            assert_eq!(out_of_step(counts), None, "{counts:?}");
        }
    }

    #[test]
    fn a_slip_in_a_short_row_is_told_by_size() {
        let front =
            "sizes: [small, large]\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n";
        let yoke = |slip: &str| {
            told(&pattern(
                front,
                &format!(
                    "## Yoke, in the round\n\n- cast on 88 (96) in body\n- join in the round\n- k{{44 (48)}}, w&t\n- p{{40 (44)}}, w&t\n- k{{{slip}}}, w&t\n- p{{32 (36)}}, w&t\n- k to end\n- stockinette for 20 rounds\n- bind off all\n"
                ),
            ))
        };
        assert_eq!(yoke("36 (40)"), "nothing");
        insta::assert_snapshot!(yoke("36 (41)"), @"
        warning[rows-uneven]: this row works 41 stitches, and its neighbours lead to 40
          --> cap.wale:14:3
           |
        14 | - k{36 (41)}, w&t
           |   ^^^^^^^^^^^^^^^ out of step
           |
           = note: in size large
           = help: correct it; where it is meant, allow the finding and say why
        ");
    }

    #[test]
    fn the_last_row_of_every_size_may_be_rounded() {
        let front = "sizes: [small, medium, large]\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n";
        let yoke = |rows: [&str; 4]| {
            let [a, b, c, d] = rows;
            told(&pattern(
                front,
                &format!(
                    "## Yoke, in the round\n\n- cast on 88 (92, 96) in body\n- join in the round\n- k{{{a}}}, w&t\n- p{{{b}}}, w&t\n- k{{{c}}}, w&t\n- p{{{d}}}, w&t\n- k to end\n- stockinette for 20 rounds\n- bind off all\n"
                ),
            ))
        };
        // Wedges of 44, 40, 36, 32 and of 46 and 48, at seventeen stitches for twenty.
        assert_eq!(yoke(["37 (39, 41)", "34 (36, 37)", "31 (32, 34)", "27 (29, 31)"]), "nothing");
        assert_eq!(yoke(["44 (46, 48)", "40 (42, 44)", "36 (38, 40)", "32 (34, 36)"]), "nothing");
        let slip = yoke(["44 (46, 48)", "40 (42, 44)", "36 (38, 40)", "32 (35, 36)"]);
        assert!(slip.contains("works 35 stitches, and its neighbours lead to 34"), "{slip}");
    }
}
