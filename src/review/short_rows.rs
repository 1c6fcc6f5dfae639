//! Short rows that grow or shrink by the same number, all but one of them.
//!
//! A wedge of short rows changes by a fixed number of stitches from row to
//! row: 44, 40, 36, 32. Its rows need not come out at any count, so a slip in
//! one of them is found by nothing else. Rows are compared that follow one
//! another and end in a turn, four or more of them; the first and the last,
//! with a neighbour on one side only, are told where they are off by one or
//! two stitches, for they often differ by more on purpose.

use super::steps;
use super::told::{InSize, by_size};
use crate::diag::{Code, Finding};
use crate::model::Model;
use crate::syntax::tree::{Action, Item, ItemKind, Step};
use crate::work::Trace;

/// How many rows tell a rule.
const ENOUGH: usize = 4;
/// How far the first or the last row may be off to be taken for a slip.
const SLIP: i64 = 2;

/// Every short row that is out of step with those around it.
pub(super) fn short_rows(model: &Model<'_>, traces: &[Trace]) -> Vec<Finding> {
    let mut findings = Vec::new();
    steps::lists(model, &mut |_, list| {
        for rows in list.chunk_by(|a, b| turns(a) == turns(b)).filter(|rows| rows.len() >= ENOUGH) {
            for (at, row) in rows.iter().enumerate().filter(|(_, row)| turns(row)) {
                let found = traces.iter().filter_map(|trace| {
                    let counts: Option<Vec<i64>> = rows
                        .iter()
                        .map(|row| steps::takes(model, worked(row)?, trace.size))
                        .collect();
                    let (has, rule) = out_of_step(&counts?, at)?;
                    Some(InSize {
                        size: trace.size,
                        message: format!(
                            "this row works {has} stitches, and its neighbours lead to {rule}"
                        ),
                        help: None,
                    })
                });
                findings.extend(by_size(model, found.collect(), |message| {
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

/// The value at a place and the one it should have, where all the others keep
/// the same step and it does not.
fn out_of_step(counts: &[i64], at: usize) -> Option<(i64, i64)> {
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
        assert_eq!(out_of_step(&[44, 40, 37, 32], 2), Some((37, 36)));
        assert_eq!(out_of_step(&[44, 40, 36, 33], 3), Some((33, 32)));
        assert_eq!(out_of_step(&[6, 7, 80, 9, 10], 2), Some((80, 8)));
        for counts in [&[44, 40, 36, 32][..], &[19, 6, 7, 8, 9], &[5, 5, 6, 5, 5], &[1, 4, 9, 16]] {
            for at in 0..counts.len() {
                assert_eq!(out_of_step(counts, at), None, "{counts:?} at {at}");
            }
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
}
