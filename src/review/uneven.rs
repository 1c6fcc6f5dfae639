//! One size out of step with the others.
//!
//! A list of values grows from size to size, or falls, or stays; where a
//! single value breaks that and all the others keep it, it is nearly always a
//! slip of the pen. Not every list has to run one way: how often a sleeve is
//! increased every sixth row depends on what the eighth row did not do, and is
//! not looked at. The other lists are of two kinds.
//!
//! A **measure** of the garment (stitches cast on or picked up, the count a
//! shaping leads to, a length, an amount of yarn) is told where it steps back
//! by two stitches, one centimeter or a twentieth of the yarn. Any **other
//! number** is told only where it lies farther out than anything beside it: by
//! four at least, and by three times the largest step between the others. The
//! first and the last size, with one neighbour only, must be off by more than
//! the largest step whatever the list is.
//!
//! Sizes need not be listed from the smallest to the largest. They are taken
//! in the order in which most of the lists run one way.

use super::steps;
use crate::diag::{Code, Finding};
use crate::measure::{Exact, Given, Length, SizeId, Unit, decimal, exact};
use crate::model::Model;
use crate::source::Span;
use crate::syntax::front::Used;
use crate::syntax::tree::{Action, Amount, CastOnPlace, Counts, Extent, Lengths, PickUp, Step};
use std::collections::BTreeSet;

/// A list with a value for each size.
struct List {
    span: Span,
    /// One a size; `None` where the size skips it.
    values: Vec<Option<Exact>>,
    kind: Kind,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Kind {
    /// A width in stitches.
    Stitches,
    /// A length, shown in a unit.
    Length(Unit),
    /// Yarn.
    Yarn,
    /// Some other number.
    Other,
}

/// Every list in which one size goes the wrong way.
pub(super) fn uneven(model: &Model<'_>) -> Vec<Finding> {
    if model.sizes.len() < 3 {
        return Vec::new();
    }
    let lists = lists(model);
    let order = order(&lists, model.sizes.len());
    lists.iter().filter_map(|list| told(model, list, &order)).collect()
}

fn told(model: &Model<'_>, list: &List, order: &[usize]) -> Option<Finding> {
    let known: Vec<(usize, Exact)> = order
        .iter()
        .filter_map(|&size| list.values.get(size).copied().flatten().map(|value| (size, value)))
        .collect();
    let values: Vec<Exact> = known.iter().map(|(_, value)| *value).collect();
    let at = outlier(&values)?;
    let (size, value) = *known.get(at)?;
    let beside: Vec<(usize, Exact)> = [at.checked_sub(1), Some(at + 1)]
        .into_iter()
        .flatten()
        .filter_map(|beside| known.get(beside).copied())
        .collect();
    if !far_enough(&values, at, list.kind) {
        return None;
    }
    let name = |size: usize| steps::size_name(model, SizeId(size));
    let beside: Vec<String> = beside
        .iter()
        .map(|(size, value)| format!("{} in {}", list.kind.said(*value), name(*size)))
        .collect();
    Some(
        Finding::new(
            Code::SizesUneven,
            list.span,
            format!(
                "{} in size {} goes the wrong way against its neighbours",
                list.kind.said(value),
                name(size)
            ),
        )
        .label("one size out of step")
        .note(format!("beside it there are {}", beside.join(" and ")))
        .help("correct it; where it is meant, allow the finding and say why"),
    )
}

impl Kind {
    fn said(self, value: Exact) -> String {
        match self {
            Self::Length(unit) => Length::new(value, Unit::Mm).precise(unit),
            _ => decimal(value, 2),
        }
    }
}

// --- which value ------------------------------------------------------------------

/// The only value whose removal lets the others run one way, where there is one.
/// Of several the one without which the others run most evenly, and of these
/// one that has neighbours on both sides.
fn outlier(values: &[Exact]) -> Option<usize> {
    if values.len() < 3 || runs_one_way(values) {
        return None;
    }
    let without = |at: usize| {
        let mut rest = values.to_vec();
        rest.remove(at);
        rest
    };
    let end = |at: usize| at == 0 || at + 1 == values.len();
    let candidates = (0..values.len()).filter(|&at| {
        // Of three values the ends tell nothing of each other.
        if values.len() == 3 && end(at) {
            return false;
        }
        let rest = without(at);
        // Something must grow for a value to go the wrong way against it.
        runs_one_way(&rest) && rest.first() != rest.last()
    });
    candidates.min_by_key(|&at| (unevenness(&without(at), at), end(at), at))
}

fn runs_one_way(values: &[Exact]) -> bool {
    values.is_sorted() || values.iter().rev().is_sorted()
}

/// How much the steps of a list differ from one another; the step over a value
/// that was taken out at `gap` counts for two.
fn unevenness(values: &[Exact], gap: usize) -> Exact {
    let steps: Vec<Exact> = values
        .iter()
        .zip(values.iter().skip(1))
        .enumerate()
        .map(|(at, (a, b))| if at + 1 == gap { (*b - *a) / exact(2, 1) } else { *b - *a })
        .collect();
    let differences = steps.iter().zip(steps.iter().skip(1)).map(|(a, b)| (*b - *a).abs());
    differences.fold(exact(0, 1), |sum, difference| sum + difference)
}

/// Whether a value is farther from its neighbours than rounding takes it.
fn far_enough(values: &[Exact], at: usize, kind: Kind) -> bool {
    let Some(&value) = values.get(at) else { return false };
    let beside: Vec<Exact> = [at.checked_sub(1), Some(at + 1)]
        .into_iter()
        .flatten()
        .filter_map(|beside| values.get(beside).copied())
        .collect();
    let (Some(&low), Some(&high)) = (beside.iter().min(), beside.iter().max()) else {
        return false;
    };
    let by = if value < low { low - value } else { value - high };
    let mut rest = values.to_vec();
    rest.remove(at);
    let steps = rest.iter().zip(rest.iter().skip(1)).map(|(a, b)| (*b - *a).abs());
    let largest = steps.max().unwrap_or(exact(0, 1));
    // With one neighbour only it may as well be the turn of a list.
    if beside.len() == 1 && by <= largest {
        return false;
    }
    match kind {
        Kind::Stitches => by >= exact(2, 1),
        Kind::Length(_) => by >= exact(10, 1),
        Kind::Yarn => by * exact(20, 1) >= low,
        Kind::Other => by >= (largest * exact(3, 1)).max(exact(4, 1)),
    }
}

/// The order of the sizes in which most lists run one way: as written, or
/// sorted by one of the lists.
fn order(lists: &[List], sizes: usize) -> Vec<usize> {
    let written: Vec<usize> = (0..sizes).collect();
    let mut orders = BTreeSet::new();
    for list in lists {
        let values: Option<Vec<Exact>> = list.values.iter().copied().collect();
        if let Some(values) = values.filter(|_| list.kind != Kind::Other) {
            let mut sorted = written.clone();
            sorted.sort_by_key(|&size| values.get(size).copied());
            orders.insert(sorted);
        }
    }
    let score = |order: &[usize]| {
        let runs = |list: &&List| {
            let values: Vec<Exact> =
                order.iter().filter_map(|&size| list.values.get(size).copied().flatten()).collect();
            list.kind != Kind::Other && runs_one_way(&values)
        };
        lists.iter().filter(runs).count()
    };
    let as_written = score(&written);
    let best = orders.into_iter().map(|order| (score(&order), order)).max_by_key(|(n, _)| *n);
    // Some lists more, for one may well be the slip.
    match best {
        Some((n, order)) if n > as_written + 1 => order,
        _ => written,
    }
}

// --- the lists ----------------------------------------------------------------------

fn lists(model: &Model<'_>) -> Vec<List> {
    let mut lists = Vec::new();
    let sizes = model.sizes.len();
    let front = &model.document.front;
    for entry in front.measure.iter().chain(&front.finished) {
        add(&mut lists, sizes, entry.value.span, &entry.value.value, Kind::Length(model.units), mm);
    }
    if let Some(used) = front.yarn.as_ref().and_then(|yarn| yarn.used.as_ref()) {
        match &used.value {
            Used::Grams(given) | Used::PutUps(given) => {
                add(&mut lists, sizes, used.span, given, Kind::Yarn, |n| *n);
            }
            Used::Length(given) => add(&mut lists, sizes, used.span, given, Kind::Yarn, mm),
        }
    }
    model.each_step(&mut |_, step| {
        let measures = measures(step);
        for counts in steps::numbers(step) {
            let measure = measures.iter().any(|m| std::ptr::eq(*m, counts));
            if !measure && in_rates(step, counts.span) {
                continue;
            }
            let kind = if measure { Kind::Stitches } else { Kind::Other };
            let whole = |n: &u32| Exact::from_integer(i128::from(*n));
            add(&mut lists, sizes, counts.span, &counts.given, kind, whole);
        }
        for lengths in lengths(step) {
            let kind = Kind::Length(lengths.unit);
            add(&mut lists, sizes, lengths.span, &lengths.given, kind, mm);
        }
    });
    lists
}

fn mm(length: &Length) -> Exact {
    length.amount(Unit::Mm)
}

fn add<T>(
    lists: &mut Vec<List>,
    sizes: usize,
    span: Span,
    given: &Given<T>,
    kind: Kind,
    value: impl Fn(&T) -> Exact,
) {
    if given.listed() == Some(sizes) {
        let values = (0..sizes).map(|size| given.get(SizeId(size)).map(&value)).collect();
        lists.push(List { span, values, kind });
    }
}

/// Whether a number belongs to one of several rates: what one rate does not
/// do the next one must.
fn in_rates(step: &Step, place: Span) -> bool {
    let (Action::Shape { schedule, .. }
    | Action::Wedges { schedule, .. }
    | Action::RepeatAt { schedule, .. }) = &step.action
    else {
        return false;
    };
    schedule.rates.len() > 1 && schedule.span.contains(place)
}

/// The counts of a step that measure the garment.
fn measures(step: &Step) -> Vec<&Counts> {
    let mut found: Vec<&Counts> = step.stated.iter().collect();
    match &step.action {
        Action::CastOn { count, place: CastOnPlace::Here, .. }
        | Action::PickUp { amount: PickUp::Count(count), .. }
        | Action::Even { amount: Amount::To(count), .. } => found.push(count),
        Action::Shape { schedule, .. }
        | Action::Wedges { schedule, .. }
        | Action::RepeatAt { schedule, .. } => found.extend(&schedule.until),
        Action::Repeat { extent: Extent::UntilCount(until), .. } => found.push(until),
        _ => {}
    }
    found
}

fn lengths(step: &Step) -> Vec<&Lengths> {
    let extent = match &step.action {
        Action::Work { extent, .. } | Action::Repeat { extent, .. } => extent,
        _ => return Vec::new(),
    };
    match extent {
        Extent::Length(lengths) | Extent::Until { length: lengths, .. } => {
            let also = lengths.also.as_deref();
            std::iter::once(lengths).chain(also).collect()
        }
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{pattern, told};
    use super::*;

    fn at(values: &[i64]) -> Option<usize> {
        outlier(&values.iter().map(|&n| exact(n, 1)).collect::<Vec<_>>())
    }

    #[test]
    fn the_one_value_out_of_step_is_found() {
        assert_eq!(at(&[88, 106, 104]), Some(1));
        assert_eq!(at(&[7, 8, 19, 10, 11]), Some(2));
        assert_eq!(at(&[96, 104, 12, 120]), Some(2));
        assert_eq!(at(&[120, 96, 104, 112]), Some(0));
        assert_eq!(at(&[96, 104, 112, 102]), Some(3));
        assert_eq!(at(&[40, 36, 62, 28, 24]), Some(2), "a falling list");
        assert_eq!(at(&[40, 40, 62, 44, 44]), Some(2), "with plateaus");
    }

    #[test]
    fn lists_that_run_one_way_or_none_are_left_alone() {
        for values in [
            &[96, 104, 112][..],
            &[40, 36, 36, 24],
            &[5, 5, 5],
            &[5, 6, 5],
            &[88, 96, 104, 88, 96, 104],
            &[1, 3, 1, 3, 1],
            &[96, 104],
        ] {
            assert_eq!(at(values), None, "{values:?}");
        }
    }

    const FRONT: &str =
        "sizes: [a, b, c, d, e]\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n";

    fn cap(steps: &str) -> String {
        let body = "## Cap, flat\n\n- cast on 80 (90, 100, 110, 120) in body\n";
        told(&pattern(FRONT, &format!("{body}{steps}- bind off all\n")))
    }

    #[test]
    fn a_misprint_in_one_size_only_is_told() {
        insta::assert_snapshot!(cap("- bind off 7 (8, 19, 10, 11) at the start of the next 2 rows\n- stockinette for 30 (32, 24, 36, 38) cm\n"), @"
        warning[sizes-uneven]: 19 in size c goes the wrong way against its neighbours
          --> cap.wale:11:12
           |
        11 | - bind off 7 (8, 19, 10, 11) at the start of the next 2 rows
           |            ^^^^^^^^^^^^^^^^^ one size out of step
           |
           = note: beside it there are 8 in b and 10 in d
           = help: correct it; where it is meant, allow the finding and say why

        warning[sizes-uneven]: 24 cm in size c goes the wrong way against its neighbours
          --> cap.wale:12:19
           |
        12 | - stockinette for 30 (32, 24, 36, 38) cm
           |                   ^^^^^^^^^^^^^^^^^^^^^^ one size out of step
           |
           = note: beside it there are 32 cm in b and 36 cm in d
           = help: correct it; where it is meant, allow the finding and say why
        ");
    }

    #[test]
    fn numbers_that_need_not_run_one_way_are_left_alone() {
        let sleeve = "- increase 1 each end every 8th row 10 (8, 1, -, -) times, then every 6th row 1 (4, 14, 16, 15) times\n";
        assert_eq!(cap(sleeve), "nothing");
        assert_eq!(cap("- stockinette for 30 (32, 31.5, 36, 38) cm\n"), "nothing");
    }

    #[test]
    fn sizes_may_stand_in_any_order() {
        let front = "sizes: [woman, child, man]\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\nfinished:\n  chest: 100 (70, 110) cm\n  arm: 40 (30, 44) cm\n";
        let steps = |count: &str| {
            format!(
                "## Cap, flat\n\n- cast on {count} in body\n- stockinette for 50 (30, 60) cm\n- bind off all\n"
            )
        };
        assert_eq!(told(&pattern(front, &steps("100 (70, 110)"))), "nothing");
        insta::assert_snapshot!(told(&pattern(front, &steps("60 (70, 110)"))), @"
        warning[sizes-uneven]: 60 in size woman goes the wrong way against its neighbours
          --> cap.wale:13:11
           |
        13 | - cast on 60 (70, 110) in body
           |           ^^^^^^^^^^^^ one size out of step
           |
           = note: beside it there are 70 in child and 110 in man
           = help: correct it; where it is meant, allow the finding and say why
        ");
    }

    #[test]
    fn what_is_meant_can_be_allowed() {
        let text = cap(
            "- bind off 7 (8, 19, 10, 11) at the start of the next 2 rows [allow sizes-uneven: a wide collar in c]\n",
        );
        assert_eq!(text, "nothing");
    }
}
