//! Halves that mirror each other and differ.
//!
//! Three kinds: a row that leaves stitches on both sides of a gap (`k24, bind
//! off 38, k25`); two parts called left and right, both written out; and two
//! pieces called so. Which rows are meant to have equal halves cannot be told
//! for certain: a buttonhole has unequal sides, too. So a row counts only
//! where it is worked flat and its sides are nearly equal (two stitches or a
//! tenth of both apart; a quarter where each side is worked by itself next).
//! The rows of two halves may differ by one, since their shaping falls on
//! opposite sides.

use super::steps::{self, Walk, Walks, known};
use super::told::{InSize, by_size};
use crate::diag::{Code, Finding, words};
use crate::model::Model;
use crate::source::Span;
use crate::syntax::tree::{Action, CastOnPlace, Counts, Item, ItemKind, Setting, Step};
use crate::work::Visit;
use std::collections::BTreeMap;

/// Every pair of halves that differ.
pub(super) fn mirrors(model: &Model<'_>, walks: &Walks<'_, '_>) -> Vec<Finding> {
    let mut findings = rows(model, walks);
    let mut pairs = part_pairs(model);
    pairs.extend(piece_pairs(model));
    for pair in &pairs {
        let found = walks.sizes.iter().filter_map(|walk| pair.differ(walks, walk)).collect();
        findings.extend(by_size(model, found, |message| {
            Finding::new(Code::MirrorDiffers, pair.right.place, message)
                .label("one half")
                .also(pair.left.place, "the other half")
        }));
    }
    findings
}

// --- halves of a row --------------------------------------------------------------

fn rows(model: &Model<'_>, walks: &Walks<'_, '_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    steps::lists(model, &mut |_, list| {
        for (index, step) in list.iter().enumerate() {
            let Action::Row { items, .. } = &step.action else { continue };
            let Some(halves) = Halves::of(items) else { continue };
            let split = list.get(index + 1).is_some_and(|next| works_a_side(next));
            let found: Vec<InSize> = walks
                .sizes
                .iter()
                .filter_map(|walk| halves.differ(model, walk, step, split))
                .collect();
            findings.extend(by_size(model, found, |message| {
                Finding::new(Code::MirrorDiffers, halves.right, message)
                    .label("one half")
                    .also(halves.left, "the other half")
                    .help("make the two numbers the same")
            }));
        }
    });
    findings
}

fn works_a_side(step: &Step) -> bool {
    matches!(
        step.action,
        Action::Part { .. }
            | Action::Reverse { .. }
            | Action::CastOn { place: CastOnPlace::OverGap, .. }
    )
}

/// A row with a gap in the middle.
struct Halves<'d> {
    before: &'d [Item],
    gap: Option<&'d Counts>,
    after: &'d [Item],
    left: Span,
    right: Span,
}

impl<'d> Halves<'d> {
    fn of(items: &'d [Item]) -> Option<Self> {
        let gap = |item: &Item| {
            matches!(
                item.kind,
                ItemKind::BindOff(_) | ItemKind::Hold { .. } | ItemKind::HoldRest { .. }
            )
        };
        let at = items.iter().position(gap)?;
        let (before, rest) = items.split_at_checked(at)?;
        let (middle, after) = rest.split_first()?;
        let (first, last) = (before.first()?, after.last()?);
        if after.iter().any(gap) {
            return None;
        }
        let left = first.span.to(before.last()?.span);
        let right = after.first()?.span.to(last.span);
        Some(Self { before, gap: steps::count_of(middle), after, left, right })
    }

    fn differ(
        &self,
        model: &Model<'_>,
        walk: &Walk<'_>,
        step: &Step,
        split: bool,
    ) -> Option<InSize> {
        let visit = walk.first(step.span)?;
        if visit.setting != Setting::Flat {
            return None;
        }
        let (size, n) = (walk.size, known(&visit.before));
        let left = steps::takes(model, self.before, size)?;
        let gap = self.gap.and_then(|gap| gap.given.get(size)).map(|&n| i64::from(n))?;
        let right = steps::takes(model, self.after, size).unwrap_or(n - left - gap);
        let nearly = if split { (left + right) / 4 } else { (left + right) / 10 };
        let off = (left - right).abs();
        (off > 0 && off <= nearly.max(2)).then(|| InSize {
            size,
            message: format!(
                "{} lie before the gap and {right} after it",
                words::count(left, "stitch")
            ),
            help: None,
        })
    }
}

// --- two halves written out ---------------------------------------------------------

/// One of two halves: the steps of a part, or a piece.
struct Half {
    name: String,
    place: Span,
    of: HalfOf,
}

enum HalfOf {
    /// The steps that stand within a span, in a piece.
    Steps(usize, Span),
    /// A whole piece.
    Piece(usize),
}

struct Pair {
    left: Half,
    right: Half,
}

fn part_pairs(model: &Model<'_>) -> Vec<Pair> {
    let mut pairs = Vec::new();
    steps::lists(model, &mut |piece, list| {
        let halves: Vec<Half> = list
            .iter()
            .filter_map(|step| match &step.action {
                Action::Part { name, each: false } => {
                    let inner = step.steps.first()?.span.to(last(step.steps.last()?));
                    let of = HalfOf::Steps(piece, inner);
                    Some(Half { name: name.value.clone(), place: name.span, of })
                }
                _ => None,
            })
            .collect();
        pairs.extend(paired(halves));
    });
    pairs
}

/// The last of the steps in a step, or itself.
fn last(step: &Step) -> Span {
    step.steps.last().map_or(step.span, last)
}

fn piece_pairs(model: &Model<'_>) -> Vec<Pair> {
    let halves = model.pieces.iter().enumerate().map(|(index, piece)| Half {
        name: piece.name.value.clone(),
        place: piece.name.span,
        of: HalfOf::Piece(index),
    });
    paired(halves.collect())
}

/// Puts `left front` and `right front` together.
fn paired(halves: Vec<Half>) -> Vec<Pair> {
    let mirrored = |name: &str| {
        let words = name.split_whitespace().map(|word| match word.to_lowercase().as_str() {
            "left" => "right".to_owned(),
            other => other.to_owned(),
        });
        words.collect::<Vec<_>>().join(" ")
    };
    let has = |half: &Half, word: &str| {
        half.name.split_whitespace().any(|w| w.eq_ignore_ascii_case(word))
    };
    let (lefts, others): (Vec<Half>, Vec<Half>) =
        halves.into_iter().partition(|half| has(half, "left"));
    let rights = others.into_iter().filter(|half| has(half, "right"));
    let mut by_name: BTreeMap<String, Vec<Half>> = BTreeMap::new();
    for right in rights {
        by_name.entry(mirrored(&right.name)).or_default().insert(0, right);
    }
    let mut pairs = Vec::new();
    for left in lefts {
        if let Some(right) = by_name.get_mut(&mirrored(&left.name)).and_then(Vec::pop) {
            pairs.push(Pair { left, right });
        }
    }
    pairs
}

/// What was seen of one half in one size.
struct Seen {
    before: i64,
    rows: u32,
    /// The count after each step.
    after: Vec<i64>,
}

impl Half {
    fn seen(&self, walks: &Walks<'_, '_>, walk: &Walk<'_>) -> Option<Seen> {
        let mut visits: Vec<&Visit> = match self.of {
            HalfOf::Steps(piece, span) => walk.within(span, piece),
            HalfOf::Piece(piece) => walk.of_piece(piece).collect(),
        };
        visits.retain(|visit| walks.is_plain(visit));
        let first = visits.first()?;
        let last = visits.iter().map(|visit| visit.rows_after).max()?;
        Some(Seen {
            before: known(&first.before),
            rows: last.saturating_sub(first.rows_before),
            after: visits.iter().map(|visit| known(&visit.after)).collect(),
        })
    }
}

impl Pair {
    fn differ(&self, walks: &Walks<'_, '_>, walk: &Walk<'_>) -> Option<InSize> {
        let (left, right) = (self.left.seen(walks, walk)?, self.right.seen(walks, walk)?);
        let (a, b) = (&self.left.name, &self.right.name);
        let message = if left.before != right.before {
            let sts = words::count(left.before, "stitch");
            format!("`{a}` begins with {sts} and `{b}` with {}", right.before)
        } else if let Some((one, other)) = first_difference(&left.after, &right.after) {
            format!("`{a}` comes to {} where `{b}` comes to {other}", words::count(one, "stitch"))
        } else if left.rows.abs_diff(right.rows) > 1 {
            let rows = words::count(i64::from(left.rows), "row");
            format!("`{a}` has {rows} and `{b}` {}", right.rows)
        } else {
            return None;
        };
        let help = format!("make them alike, or write the second as `{b}: reverse {a}`");
        let parts = matches!(self.left.of, HalfOf::Steps(..));
        let help = if parts { help } else { "make them alike".to_owned() };
        Some(InSize { size: walk.size, message, help: Some(help) })
    }
}

/// The first counts that differ: step by step where both halves have as many
/// steps, and else the largest and the last before they are bound off.
fn first_difference(one: &[i64], other: &[i64]) -> Option<(i64, i64)> {
    if one.len() == other.len() {
        return one.iter().copied().zip(other.iter().copied()).find(|(a, b)| a != b);
    }
    let most = (one.iter().max().copied()?, other.iter().max().copied()?);
    let last = |counts: &[i64]| counts.iter().rev().copied().find(|&n| n > 0);
    let last = (last(one)?, last(other)?);
    [most, last].into_iter().find(|(a, b)| a != b)
}

#[cfg(test)]
mod tests {
    use super::super::testing::{pattern, told};

    const FRONT: &str =
        "sizes: [small, large]\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n";

    fn front(steps: &str) -> String {
        let body = "## Front, flat\n\n- cast on 60 (70) in body\n- stockinette for 80 rows\n";
        told(&pattern(FRONT, &format!("{body}{steps}")))
    }

    #[test]
    fn the_two_sides_of_a_neck_must_be_alike() {
        insta::assert_snapshot!(front("- k{20 (24)}, bind off {20 (20)}, k{20 (26)}\n- each side:\n  - bind off all\n"), @"
        warning[mirror-differs]: 24 stitches lie before the gap and 26 after it
          --> cap.wale:12:35
           |
        12 | - k{20 (24)}, bind off {20 (20)}, k{20 (26)}
           |   ---------- the other half       ^^^^^^^^^^ one half
           |
           = note: in size large
           = help: make the two numbers the same
        ");
        insta::assert_snapshot!(front("- k{19 (25)}, bind off {20 (20)}, k to end\n- each side:\n  - bind off all\n"), @"
        warning[mirror-differs]: 19 stitches lie before the gap and 21 after it
          --> cap.wale:12:35
           |
        12 | - k{19 (25)}, bind off {20 (20)}, k to end
           |   ---------- the other half       ^^^^^^^^ one half
           |
           = note: in size small
           = help: make the two numbers the same
        ");
    }

    #[test]
    fn a_buttonhole_has_unequal_sides() {
        let buttonhole = "- k5, bind off 3, k to end\n- p to end, cast on 3, p5\n- bind off all\n";
        assert_eq!(front(buttonhole), "nothing");
    }

    #[test]
    fn parts_called_left_and_right_must_be_alike() {
        let split = "- k{20 (25)}, bind off {20 (20)}, k{20 (25)}\n";
        let part = |name: &str, times: u32, rows: u32| {
            format!(
                "- {name} shoulder:\n  - decrease 1 at neck edge every RS row {times} times\n  - work even for {rows} rows\n  - bind off all\n"
            )
        };
        let both = |left: String, right: String| front(&format!("{split}{left}{right}"));
        assert_eq!(both(part("left", 4, 6), part("right", 4, 7)), "nothing");
        insta::assert_snapshot!(both(part("left", 4, 6), part("right", 5, 6)), @"
        warning[mirror-differs]: `left shoulder` comes to 16 stitches where `right shoulder` comes to 15
          --> cap.wale:17:3
           |
        13 | - left shoulder:
           |   ------------- the other half
        ...
        17 | - right shoulder:
           |   ^^^^^^^^^^^^^^ one half
           |
           = note: in size large: `left shoulder` comes to 21 stitches where `right shoulder` comes to 20
           = help: make them alike, or write the second as `right shoulder: reverse left shoulder`
        ");
        insta::assert_snapshot!(both(part("left", 4, 6), part("right", 4, 10)), @"
        warning[mirror-differs]: `left shoulder` has 15 rows and `right shoulder` 19
          --> cap.wale:17:3
           |
        13 | - left shoulder:
           |   ------------- the other half
        ...
        17 | - right shoulder:
           |   ^^^^^^^^^^^^^^ one half
           |
           = help: make them alike, or write the second as `right shoulder: reverse left shoulder`
        ");
    }

    #[test]
    fn pieces_called_left_and_right_must_be_alike() {
        let piece = |name: &str, n: u32| {
            format!(
                "## {name} front, flat\n\n- cast on {n} in body\n- stockinette for 80 rows\n- bind off all\n\n"
            )
        };
        let body = format!("{}{}", piece("Left", 40), piece("Right", 42));
        insta::assert_snapshot!(told(&pattern(FRONT, &body)), @"
        warning[mirror-differs]: `Left front` comes to 40 stitches where `Right front` comes to 42
          --> cap.wale:14:4
           |
         8 | ## Left front, flat
           |    ---------- the other half
        ...
        14 | ## Right front, flat
           |    ^^^^^^^^^^^ one half
           |
           = help: make them alike
        ");
    }
}
