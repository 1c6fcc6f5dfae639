//! What the parts of the solver promise one another, on small systems made up by chance: held
//! against every point there is.

use proptest::prelude::*;

use super::cost::{Cost, Fraction, Level};
use super::frame::{Frame, Span};
use super::parts::live_rows;
use super::rounded_sum;
use crate::measure::round::Multiple;
use crate::measure::{Exact, Linear, Unknown, exact};
use crate::plan::system::{Aim, Requirement, System, Weighted};

/// Factors of the unknowns, and a constant.
type Sum = (Vec<i64>, i64);

fn sum() -> impl Strategy<Value = Sum> {
    (prop::collection::vec(-3_i64..=3, 3), -6_i64..=6)
}

fn linear((factors, constant): &Sum, unknowns: usize) -> Linear {
    factors.iter().take(unknowns).enumerate().fold(Linear::number(*constant), |all, (u, factor)| {
        &all + &Linear::unknown(Unknown(u)).times(*factor)
    })
}

/// What is asked of a sum: nought, not less, or a multiple of so many and so many over.
fn requirement() -> impl Strategy<Value = (Sum, u32, u32)> {
    (sum(), 0_u32..8, 0_u32..6)
}

/// Up to three unknowns of a few values each, or of very many.
fn systems(wide: i64) -> impl Strategy<Value = System> {
    let bounds = prop::collection::vec((-9_i64..6, 0_i64..10), 1..=3);
    let requirements = prop::collection::vec(requirement(), 0..3);
    let aim = (sum(), -20_i64..40, 1_i64..4, 1_i64..5);
    let aims = prop::collection::vec(aim, 0..4);
    (bounds, requirements, aims).prop_map(move |(bounds, requirements, aims)| {
        let mut system = System::new();
        for (low, more) in &bounds {
            system.unknown(low - wide, low + more + wide);
        }
        for (sum, kind, over) in &requirements {
            let sum = linear(sum, bounds.len());
            system.require(match kind {
                0 => Requirement::Zero(sum),
                1 => Requirement::NotNegative(sum),
                of => Requirement::Multiple(sum, Multiple::new(*of, *over)),
            });
        }
        for (sum, target, under, tolerance) in &aims {
            system.aim(Aim {
                of: Weighted::from(&linear(sum, bounds.len())),
                target: exact(*target, *under),
                tolerance: exact(*tolerance, 2),
            });
        }
        system
    })
}

/// The variables that all others are made of.
fn coordinates(frame: &Frame) -> Vec<usize> {
    let own = |c: &usize| frame.forms[*c].constant == 0 && frame.forms[*c].terms == [(*c, 1)];
    (0..frame.forms.len()).filter(own).collect()
}

/// Every variable at a point that is given by its coordinates.
fn variables(frame: &Frame, point: &[i64]) -> Vec<i64> {
    frame.forms.iter().map(|form| form.value(|c| point[c]).expect("small")).collect()
}

/// Every point of the coordinates within spans; nothing where they are too many to be tried.
fn points(frame: &Frame, spans: &[Span]) -> Option<Vec<Vec<i64>>> {
    let mut all = vec![vec![0; spans.len()]];
    for c in coordinates(frame) {
        let values = spans[c].low..=spans[c].high;
        if spans[c].width().saturating_mul(all.len() as u64) > 4_000 {
            return None;
        }
        all = values
            .flat_map(|value| {
                all.iter().cloned().map(move |mut point| {
                    point[c] = value;
                    point
                })
            })
            .collect();
    }
    Some(all)
}

fn worst(frame: &Frame, values: &[i64]) -> Fraction {
    frame.errors.iter().fold(frame.settled_level(), |all, e| all.max(e.at(values[e.variable])))
}

/// The same of the errors of what the equations leave open.
fn worst_open(frame: &Frame, values: &[i64]) -> Fraction {
    let open = frame.errors.iter().filter(|e| !frame.forms[e.variable].terms.is_empty());
    open.fold(Fraction::ZERO, |all, e| all.max(e.at(values[e.variable])))
}

fn within(values: &[i64], spans: &[Span]) -> bool {
    values.iter().zip(spans).all(|(value, span)| (span.low..=span.high).contains(value))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    /// Within any spans the rows that are left hold where all of it holds, and nowhere else;
    /// and there they cost what the worst of the errors is that are not known yet.
    #[test]
    fn live_rows_say_all_there_is_to_say(
        system in systems(0),
        narrower in prop::collection::vec((0_i64..6, 0_i64..4), 12),
    ) {
        let Ok(Some(frame)) = Frame::new(&system) else { return Ok(()) };
        let Some(mut spans) = frame.hard() else { return Ok(()) };
        let changes: Vec<(usize, i64, i64)> = coordinates(&frame)
            .into_iter()
            .zip(narrower)
            .map(|(c, (less, more))| (c, spans[c].low + less, spans[c].low + less + more))
            .collect();
        if !frame.narrow(&mut spans, &changes) {
            return Ok(());
        }
        let Some(points) = points(&frame, &spans) else { return Ok(()) };
        let weights = vec![(); frame.errors.len()];
        let live = live_rows::<Level>(&frame, &spans, &weights).expect("small");
        for point in points {
            let values = variables(&frame, &point);
            let holds = within(&values, &spans);
            let Some((sure, rows)) = &live else {
                prop_assert!(!holds, "{values:?}");
                continue;
            };
            let sum = |terms: &[(usize, i64)]| terms.iter().map(|t| t.1 * point[t.0]).sum::<i64>();
            let kept = rows.iter().all(|row| (row.low..=row.high).contains(&sum(&row.terms)));
            prop_assert_eq!(kept, holds, "{:?}", values);
            if holds {
                let mut cost = *sure;
                rows.iter().for_each(|row| cost.join(&row.price.of(sum(&row.terms))));
                prop_assert_eq!(cost.0, worst_open(&frame, &values));
            }
        }
    }

    /// No point is better than the level that the search begins at.
    #[test]
    fn nothing_holds_below_the_least_level(system in systems(0)) {
        let Ok(Some(frame)) = Frame::new(&system) else { return Ok(()) };
        let Some(spans) = frame.hard() else { return Ok(()) };
        let Some(points) = points(&frame, &spans) else { return Ok(()) };
        let least = frame.least_level(&spans);
        for values in points.iter().map(|point| variables(&frame, point)) {
            prop_assert!(!within(&values, &spans) || worst(&frame, &values) >= least);
        }
    }

    /// Of one unknown and one aim the levels are the errors it can have, one after the other.
    #[test]
    fn levels_of_one_unknown_are_its_errors(
        (low, more) in (-20_i64..20, 0_i64..30),
        (of, plus) in (1_u32..7, 0_u32..6),
        (factor, target, under) in (1_i64..4, -50_i64..90, 1_i64..4),
    ) {
        let mut system = System::new();
        let unknown = system.unknown(low, low + more);
        let multiple = Multiple::new(of, plus);
        system.require(Requirement::Multiple(Linear::unknown(unknown), multiple));
        let target = exact(target, under);
        let sum = Weighted::from(&Linear::unknown(unknown).times(factor));
        system.aim(Aim { of: sum, target, tolerance: exact(1, 1) });
        let error = |n: i64| (exact(n * factor, 1) - target).abs();
        let mut errors: Vec<Exact> =
            (low..=low + more).filter(|n| multiple.holds(*n)).map(error).collect();
        errors.sort_unstable();
        errors.dedup();
        let spans = Frame::new(&system).expect("small").and_then(|f| f.hard().map(|s| (f, s)));
        let Some((frame, spans)) = spans else {
            prop_assert!(errors.is_empty());
            return Ok(());
        };
        let mut level = Some(frame.least_level(&spans));
        for error in errors {
            prop_assert_eq!(level.map(Fraction::exact), Some(error));
            level = frame.next_level(&spans, level.unwrap_or(Fraction::ZERO)).expect("small");
        }
        prop_assert_eq!(level, None);
    }

    /// In new coordinates every point still is what the equations ask for, and at a level no
    /// error hangs on two that may be almost anything.
    #[test]
    fn untangled_coordinates_keep_the_equations(
        system in systems(1_000_000),
        point in prop::collection::vec(-50_i64..50, 40),
    ) {
        let Ok(Some(mut frame)) = Frame::new(&system) else { return Ok(()) };
        for _ in 0..20 {
            let Some(hard) = frame.hard() else { return Ok(()) };
            let level = Fraction::new(40, 1);
            let Some(spans) = frame.within(&hard, level).expect("small") else { return Ok(()) };
            if !frame.untangle(&spans).expect("small") {
                let wide = |t: &&(usize, i64)| spans[t.0].width() > 4_096;
                for class in frame.classes.iter().filter(|class| !class.errors.is_empty()) {
                    prop_assert!(class.terms.iter().filter(wide).count() < 2);
                }
                return Ok(());
            }
            prop_assume!(frame.forms.len() <= point.len());
            let values = variables(&frame, &point);
            let value = |n: Unknown| values[n.0];
            for requirement in &system.requirements {
                let held = matches!(requirement, Requirement::NotNegative(_));
                prop_assert!(held || requirement.holds(value), "{requirement:?} of {values:?}");
            }
        }
        prop_assert!(false, "tangled for ever");
    }

    /// It is the sum, or above it by less than a part for each of the errors.
    #[test]
    fn a_rounded_sum_is_just_above_the_sum(
        errors in prop::collection::vec((0_i64..1 << 30, 1_i64..1 << 12), 0..5),
    ) {
        let errors: Vec<Exact> = errors.into_iter().map(|(a, b)| exact(a, b)).collect();
        let sum = errors.iter().fold(exact(0, 1), |sum, error| sum + *error);
        let off = rounded_sum(&errors) - sum;
        let most = exact(i64::try_from(errors.len()).expect("few"), 1 << 40);
        prop_assert!(off >= exact(0, 1) && (off < most || errors.is_empty()), "{off} of {sum}");
    }
}
