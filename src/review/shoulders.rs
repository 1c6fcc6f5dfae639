//! Short rows that step over a shoulder, and the stitches it has.
//!
//! A shoulder that is turned in short rows has its steps, and mostly a last one that is not
//! turned but worked: what leaves the needle there is as many stitches as the turns step over,
//! or one step more. Each row comes out whatever their number is, so that nothing else finds a
//! step too many. Asked is only where an edge of a flat piece was turned twice or more, nothing
//! was shaped after that, and what leaves the needle is less than two steps beyond the turns:
//! a whole row that is grafted has more.

use super::steps::Walks;
use super::told::{InSize, by_size};
use crate::diag::words::count;
use crate::diag::{Code, Finding};
use crate::measure::SizeId;
use crate::model::Model;
use crate::source::Span;
use crate::syntax::tree::{Action, BindOff, EdgeRows, Extent, Setting, Step};
use crate::work::Visit;
use std::collections::BTreeMap;

/// What short rows step over at an edge.
struct Turned {
    place: Span,
    stitches: i64,
    turns: i64,
    /// The narrowest and the widest step.
    steps: (i64, i64),
}

/// Every shoulder whose turns do not come to its stitches.
pub(super) fn shoulders(model: &Model<'_>, walks: &Walks<'_, '_>) -> Vec<Finding> {
    let mut found: BTreeMap<Span, Vec<InSize>> = BTreeMap::new();
    for walk in &walks.sizes {
        for piece in 0..model.pieces.len() {
            let mut turned: Option<Turned> = None;
            // Another shoulder begins with turns of its own.
            let mut over = false;
            for visit in walk.of_piece(piece).filter(|visit| visit.setting == Setting::Flat) {
                let Some(step) = walks.step(visit) else { continue };
                if let Action::ShortRows { .. } = &step.action {
                    turned = further(turned.filter(|_| !over), step, walk.size);
                    over = false;
                    continue;
                }
                let leaves = leaves(step, visit, walk.size);
                over |= leaves.is_some();
                if let (Some(turned), Some(has)) = (&turned, leaves)
                    && let Some(message) = differs(turned, has)
                {
                    let told = found.entry(turned.place).or_default();
                    if told.iter().all(|told| told.size != walk.size) {
                        told.push(InSize { size: walk.size, message, help: None });
                    }
                }
                if !passes(step) {
                    turned = None;
                }
            }
        }
    }
    let finding = |(place, found): (Span, Vec<InSize>)| {
        by_size(model, found, |message| {
            Finding::new(Code::TurnsDiffer, place, message)
                .label("steps over other stitches")
                .help("let the steps come to the shoulder, or to all of it but one step more")
        })
    };
    found.into_iter().flat_map(finding).collect()
}

/// The turns so far and those of one more instruction.
fn further(turned: Option<Turned>, step: &Step, size: SizeId) -> Option<Turned> {
    let Action::ShortRows { count, rows, which } = &step.action else { return None };
    let value = |n: Option<&u32>| n.map(|n| i64::from(*n));
    let (each, rows) = (value(count.given.get(size)), value(rows.given.get(size)));
    let (Some(each), Some(rows)) = (each, rows) else {
        // A size may skip it (`-`).
        return turned;
    };
    let turns = if *which == EdgeRows::Next { (rows + 1) / 2 } else { rows };
    let before =
        turned.unwrap_or(Turned { place: step.span, stitches: 0, turns: 0, steps: (each, each) });
    Some(Turned {
        place: before.place.to(step.span),
        stitches: before.stitches.saturating_add(each.saturating_mul(turns)),
        turns: before.turns + turns,
        steps: (before.steps.0.min(each), before.steps.1.max(each)),
    })
}

/// How many stitches leave the needle as a shoulder.
fn leaves(step: &Step, visit: &Visit, size: SizeId) -> Option<i64> {
    match &step.action {
        // At both edges: one edge alone may be a neck.
        Action::BindOff { amount: BindOff::StartOfNext { count, rows, which: EdgeRows::Next } }
            if rows.given.get(size) == Some(&2) =>
        {
            count.given.get(size).map(|n| i64::from(*n))
        }
        Action::BindOff { amount: BindOff::All(_) } | Action::Hold { .. } | Action::Close(_) => {
            visit.before.known()
        }
        _ => None,
    }
}

/// Whether what comes after it may still be of the same shoulder.
fn passes(step: &Step) -> bool {
    matches!(
        step.action,
        Action::Row { .. }
            | Action::Say
            | Action::ChangeTo(_)
            | Action::Part { .. }
            | Action::Reverse { .. }
            | Action::BindOff { .. }
            | Action::Hold { .. }
            | Action::Close(_)
            | Action::Work { extent: Extent::Rows(_) | Extent::Once, .. }
    )
}

/// What to say where a shoulder has neither the stitches of its turns nor one step more.
fn differs(turned: &Turned, has: i64) -> Option<String> {
    let (narrow, wide) = turned.steps;
    let last = has - turned.stitches;
    let comes_out = last == 0 || (narrow - 1..=wide + 1).contains(&last);
    let another = last >= 2 * wide || has == 0 || turned.turns < 2;
    (!comes_out && !another).then(|| {
        format!(
            "the turns step over {} of a shoulder that has {has}",
            count(turned.stitches, "stitch")
        )
    })
}

#[cfg(test)]
mod tests {
    use super::super::testing::{pattern, told};

    fn shoulder(steps: &str) -> String {
        let front =
            "sizes: [small, large]\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n";
        let piece = format!(
            "## Back, flat\n\n- cast on 80 (90) in body\n- stockinette for 20 cm, ending with a WS row\n{steps}"
        );
        told(&pattern(front, &piece))
    }

    #[test]
    fn a_step_too_many_is_told_by_size() {
        let at_both = |turns: &str| {
            shoulder(&format!(
                "- leave 8 (9) more sts unworked at the end of the next {turns} rows\n- k to end\n- p to end\n- bind off 24 (27) at the start of the next 2 rows\n- bind off all\n"
            ))
        };
        // All of the shoulder is turned, or all but its last step.
        assert_eq!(at_both("6"), "nothing");
        assert_eq!(at_both("4"), "nothing");
        insta::assert_snapshot!(at_both("6 (8)"), @"
        warning[turns-differ]: the turns step over 36 stitches of a shoulder that has 27
          --> cap.wale:12:3
           |
        12 | - leave 8 (9) more sts unworked at the end of the next 6 (8) rows
           |   ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ steps over other stitches
           |
           = note: in size large
           = help: let the steps come to the shoulder, or to all of it but one step more
        ");
    }

    #[test]
    fn a_shoulder_of_its_own_is_held_against_its_turns() {
        let part = |held: &str, turns: &str| {
            shoulder(&format!(
                "- k{{{held}}}, bind off {{32 (36)}}, k{{{held}}}\n- left shoulder:\n  - leave {turns} more sts unworked at the end of every WS row 2 times\n  - p to end\n  - bind off all\n- right shoulder: reverse\n"
            ))
        };
        assert_eq!(part("24 (27)", "8 (9)"), "nothing");
        let told = part("24 (27)", "10 (9)");
        assert!(
            told.contains("the turns step over 20 stitches of a shoulder that has 24"),
            "{told}"
        );
        assert!(told.contains("in size small"), "{told}");
    }

    #[test]
    fn a_whole_row_that_is_grafted_is_no_shoulder() {
        let whole =
            "- leave 8 (9) more sts unworked at the end of the next 4 rows\n- k to end\n- graft\n";
        assert_eq!(shoulder(whole), "nothing");
    }
}
