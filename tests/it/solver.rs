//! The solver's promise: the best there is, whatever the system.

mod random;

use good_lp::{
    Expression, ProblemVariables, Solution as _, SolverModel as _, Variable, microlp, variable,
};
use random::{Random, garment, small};
use walewright::measure::round::Multiple;
use walewright::measure::{Exact, Linear, Unknown, exact};
use walewright::plan::solve::{Clash, Failure, relaxations, solve};
use walewright::plan::system::{Aim, Bounds, Requirement, RequirementId, System, Weighted};

/// `quick`, or `long` when the environment has `WALE_LONG=1`.
fn runs(quick: u64, long: u64) -> u64 {
    if std::env::var_os("WALE_LONG").is_some_and(|v| v == "1") { long } else { quick }
}

/// The best solution by trying every value of every unknown. Errors are whole
/// numbers of one small unit here, worked out without the solver's arithmetic.
fn tried(system: &System) -> Option<(Vec<i64>, Exact, Exact)> {
    // |sum of factors x values + constant| x weight, all times `unit`.
    struct Sixtieths {
        factors: Vec<(usize, i128)>,
        constant: i128,
        tolerance: i128,
    }
    let sixtieths = |e: Exact| (e * Exact::from_integer(360)).to_integer();
    let aims: Vec<Sixtieths> = system
        .aims
        .iter()
        .map(|a| Sixtieths {
            factors: a.of.terms().map(|(u, f)| (u.0, sixtieths(f))).collect(),
            constant: sixtieths(a.of.constant() - a.target),
            tolerance: sixtieths(a.tolerance),
        })
        .collect();
    let unit: i128 = aims.iter().map(|a| a.tolerance).product();
    let mut best: Option<(i128, i128, Vec<i64>)> = None;
    let mut values: Vec<i64> = system.bounds.iter().map(|b| b.low).collect();
    if system.bounds.iter().any(|b| b.low > b.high) {
        return None;
    }
    loop {
        if system.requirements.iter().all(|r| r.holds(|u| values[u.0])) {
            let errors = aims.iter().map(|a| {
                let sum: i128 = a.factors.iter().map(|&(u, f)| f * i128::from(values[u])).sum();
                (sum + a.constant).abs() * (unit / a.tolerance)
            });
            let (worst, total) = errors.fold((0, 0), |(w, t), e| (e.max(w), t + e));
            let better = best.as_ref().is_none_or(|(w, t, v)| {
                (worst, total).cmp(&(*w, *t)).then(v.cmp(&values)) == std::cmp::Ordering::Less
            });
            if better {
                best = Some((worst, total, values.clone()));
            }
        }
        let Some(place) = (0..values.len()).find(|&i| values[i] < system.bounds[i].high) else {
            break;
        };
        values[place] += 1;
        for (value, bounds) in values.iter_mut().zip(&system.bounds).take(place) {
            *value = bounds.low;
        }
    }
    best.map(|(w, t, v)| (v, Exact::new(w, unit), Exact::new(t, unit)))
}

/// A system in one line a member.
fn told(system: &System) -> String {
    use std::fmt::Write;
    let mut text = String::new();
    let linear = |l: &Linear| {
        let terms = l.terms().map(|(u, f)| format!("{f:+} x{} ", u.0)).collect::<String>();
        format!("{terms}{:+}", l.constant())
    };
    for (i, b) in system.bounds.iter().enumerate() {
        let _ = writeln!(text, "\nx{i} from {} to {}", b.low, b.high);
    }
    for r in &system.requirements {
        let _ = match r {
            Requirement::Zero(l) => writeln!(text, "{} = 0", linear(l)),
            Requirement::NotNegative(l) => writeln!(text, "{} >= 0", linear(l)),
            Requirement::Multiple(l, m) => {
                writeln!(text, "{} multiple of {} plus {}", linear(l), m.of(), m.plus())
            }
        };
    }
    for a in &system.aims {
        let terms = a.of.terms().map(|(u, f)| format!("{f} x{} + ", u.0)).collect::<String>();
        let (constant, target, tolerance) = (a.of.constant(), a.target, a.tolerance);
        let _ = writeln!(text, "aim {terms}{constant} at {target} within {tolerance}");
    }
    text
}

#[test]
fn it_finds_what_trying_everything_finds() {
    let (mut solved, mut clashes) = (0, 0);
    for seed in 0..runs(1_500, 200_000) {
        let system = small(&mut Random(seed));
        match (solve(&system), tried(&system)) {
            (Ok(found), Some((values, worst, total))) => {
                assert_eq!(
                    (&found.values, found.worst, found.total),
                    (&values, worst, total),
                    "seed {seed}: {}",
                    told(&system)
                );
                solved += 1;
            }
            (Err(Failure::Clash(_)), None) => clashes += 1,
            (found, tried) => panic!("seed {seed}: {found:?} but {tried:?} of {}", told(&system)),
        }
    }
    assert!(solved > 400 && clashes > 100, "{solved} solved, {clashes} clash: too one-sided");
}

fn float(value: Exact) -> f64 {
    // Only the oracle counts in floats.
    *value.numer() as f64 / *value.denom() as f64
}

/// The least worst error, or the least sum of errors at a worst error, by a
/// general solver of mixed integer programs; `None` where nothing holds.
fn oracle(system: &System, worst: Option<f64>) -> Option<f64> {
    let mut variables = ProblemVariables::new();
    let unknowns: Vec<Variable> = system
        .bounds
        .iter()
        .map(|b| variables.add(variable().integer().min(b.low as f64).max(b.high as f64)))
        .collect();
    let repeats: Vec<Variable> = system
        .requirements
        .iter()
        .map(|_| variables.add(variable().integer().min(-1e6).max(1e6)))
        .collect();
    let errors: Vec<Variable> =
        system.aims.iter().map(|_| variables.add(variable().min(0.0))).collect();
    let level = variables.add(variable().min(0.0));
    let linear = |l: &Linear| -> Expression {
        l.terms().map(|(u, f)| f as f64 * unknowns[u.0]).sum::<Expression>() + l.constant() as f64
    };
    let goal: Expression = match worst {
        None => level.into(),
        Some(_) => errors.iter().copied().sum(),
    };
    let mut model = variables.minimise(goal).using(microlp);
    for (requirement, &repeat) in system.requirements.iter().zip(&repeats) {
        model = match requirement {
            Requirement::Zero(l) => model.with(linear(l).eq(0.0)),
            Requirement::NotNegative(l) => model.with(linear(l).geq(0.0)),
            Requirement::Multiple(l, m) => {
                model.with((linear(l) - f64::from(m.plus()) - f64::from(m.of()) * repeat).eq(0.0))
            }
        };
    }
    for (aim, &error) in system.aims.iter().zip(&errors) {
        let of: Expression = aim.of.terms().map(|(u, f)| float(f) * unknowns[u.0]).sum();
        let off = (of + float(aim.of.constant() - aim.target)) * (1.0 / float(aim.tolerance));
        model = model.with((error - off.clone()).geq(0.0)).with((error + off).geq(0.0));
        model = match worst {
            None => model.with((Expression::from(level) - error).geq(0.0)),
            Some(worst) => model.with(Expression::from(error).leq(worst + 1e-7)),
        };
    }
    let solution = model.solve().ok()?;
    Some(match worst {
        None => solution.value(level),
        Some(_) => errors.iter().map(|e| solution.value(*e)).sum(),
    })
}

#[test]
fn a_general_solver_finds_nothing_better() {
    let mut compared = 0;
    for seed in 0..runs(8, 400) {
        let system = garment(&mut Random(seed), 1 + (seed % 2) as usize);
        let Ok(found) = solve(&system) else { continue };
        assert!(system.holds(&found.values), "seed {seed}");
        let Some(worst) = oracle(&system, None) else { continue };
        // Never worse than the oracle: its floats decide nothing but a hair's breadth.
        assert!(float(found.worst) <= worst + 1e-5, "seed {seed}: {} and {worst}", found.worst);
        assert!(float(found.worst) >= worst - 1e-5, "seed {seed}: {} and {worst}", found.worst);
        if let Some(total) = oracle(&system, Some(float(found.worst))) {
            assert!(
                (float(found.total) - total).abs() <= 1e-4,
                "seed {seed}: {} and {total}",
                found.total
            );
        }
        compared += 1;
    }
    assert!(compared >= 4, "only {compared} systems were compared");
}

/// The system with some requirements and bounds taken away.
fn without(system: &System, clash: &Clash, left_out: Option<usize>) -> System {
    let wide = Bounds { low: -1_000_000, high: 1_000_000 };
    let mut part = System { bounds: vec![wide; system.bounds.len()], ..System::default() };
    for (place, RequirementId(id)) in clash.requirements.iter().enumerate() {
        if Some(place) != left_out {
            part.require(system.requirements[*id].clone());
        }
    }
    for (place, unknown) in clash.bounds.iter().enumerate() {
        if Some(clash.requirements.len() + place) != left_out {
            part.bounds[unknown.0] = system.bounds[unknown.0];
        }
    }
    part
}

#[test]
fn a_clash_is_one_and_no_member_of_it_can_be_spared() {
    let (mut clashes, mut undecided) = (0, 0);
    for seed in 0..runs(600, 20_000) {
        let system = small(&mut Random(seed));
        let Err(Failure::Clash(clash)) = solve(&system) else { continue };
        let members = clash.requirements.len() + clash.bounds.len();
        assert!(
            matches!(solve(&without(&system, &clash, None)), Err(Failure::Clash(_))),
            "seed {seed}"
        );
        for member in 0..members {
            let part = without(&system, &clash, Some(member));
            let outcome = solve(&part);
            undecided += usize::from(matches!(outcome, Err(Failure::TooHard)));
            let spared = matches!(outcome, Err(Failure::Clash(_)));
            assert!(!spared, "seed {seed}: {member} of {clash:?}: {}", told(&part));
        }
        assert_eq!(relaxations(&system, &clash).len(), members);
        clashes += 1;
    }
    assert!(clashes > 40, "only {clashes} clashes");
    // Without a bound a system can be too hard to decide in the steps there are.
    assert!(undecided * 20 <= clashes, "{undecided} of {clashes} undecided");
}

#[test]
fn a_further_requirement_never_improves_what_is_found() {
    let mut compared = 0;
    for seed in 0..runs(300, 20_000) {
        let mut system = small(&mut Random(seed));
        let Ok(free) = solve(&system) else { continue };
        let extra = Linear::unknown(Unknown(0));
        system.require(Requirement::Multiple(extra, Multiple::new(3, 1)));
        if let Ok(bound) = solve(&system) {
            assert!((bound.worst, bound.total) >= (free.worst, free.total), "seed {seed}");
            compared += 1;
        }
    }
    assert!(compared > 50, "only {compared} systems");
}

#[test]
fn the_order_of_requirements_changes_nothing() {
    for seed in 0..runs(200, 20_000) {
        let system = small(&mut Random(seed));
        let mut turned = system.clone();
        turned.requirements.reverse();
        match (solve(&system), solve(&turned)) {
            (Ok(one), Ok(other)) => assert_eq!(one.values, other.values, "seed {seed}"),
            (one, other) => assert_eq!(one.is_err(), other.is_err(), "seed {seed}"),
        }
    }
}

#[test]
fn a_hostile_system_ends() {
    let mut system = System::new();
    for _ in 0..300 {
        system.unknown(-1_000_000, 1_000_000);
    }
    let x = |i: usize| Linear::unknown(Unknown(i));
    for i in 0..299 {
        system.require(Requirement::Zero(&x(i).times(2) - &x(i + 1).times(4)));
    }
    // Twice something is never odd.
    system.require(Requirement::Zero(&x(0).times(2) - &Linear::number(1)));
    assert!(solve(&system).is_err());
}

/// A count that is made of two others, which may be almost anything, comes out as it would alone:
/// of factors without a common divisor every whole number is a sum.
#[test]
fn a_count_made_of_two_others_comes_out_as_it_would_alone() {
    let (mut solved, mut hard) = (0, 0);
    for seed in 0..runs(30, 5_000) {
        let mut random = Random(seed);
        let mut alone = small(&mut random);
        // What is aimed at by itself has one place in new coordinates.
        for u in 0..alone.bounds.len() {
            let target = exact(random.between(-20, 40), 2);
            let of = Weighted::unknown(Unknown(u));
            alone.aim(Aim { of, target, tolerance: exact(random.between(1, 4), 2) });
        }
        let mut made = System::new();
        let of = alone.bounds.iter().map(|bounds| {
            if random.once_in(4) {
                return Linear::unknown(made.unknown(bounds.low, bounds.high));
            }
            let wide = random.between(5_000, 1_000_000);
            let (one, other) = (made.unknown(-wide, wide), made.unknown(-wide, wide));
            let (a, b) = random.pick(&[(1, 1), (1, -1), (2, 3), (5, -3), (7, 4), (12, 35)]);
            &Linear::unknown(one).times(a) + &Linear::unknown(other).times(b)
        });
        let of: Vec<Linear> = of.collect();
        let put = |l: &Linear| {
            let start = Linear::number(l.constant());
            l.terms().fold(start, |sum, (u, factor)| &sum + &of[u.0].times(factor))
        };
        for (bounds, sum) in alone.bounds.iter().zip(&of) {
            made.require(Requirement::NotNegative(sum - &Linear::number(bounds.low)));
            made.require(Requirement::NotNegative(&Linear::number(bounds.high) - sum));
        }
        for requirement in &alone.requirements {
            made.require(match requirement {
                Requirement::Zero(l) => Requirement::Zero(put(l)),
                Requirement::NotNegative(l) => Requirement::NotNegative(put(l)),
                Requirement::Multiple(l, multiple) => Requirement::Multiple(put(l), *multiple),
            });
        }
        for aim in &alone.aims {
            let start = Weighted::from(&Linear::number(0));
            let terms = aim
                .of
                .terms()
                .fold(start, |sum, (u, factor)| &sum + &Weighted::from(&of[u.0]).times(factor));
            let target = aim.target - aim.of.constant();
            made.aim(Aim { of: terms, target, tolerance: aim.tolerance });
        }
        match (solve(&made), solve(&alone)) {
            (Ok(found), Ok(wanted)) => {
                assert_eq!(
                    (found.worst, found.total),
                    (wanted.worst, wanted.total),
                    "seed {seed}: {}",
                    told(&made)
                );
                solved += 1;
            }
            (Err(Failure::Clash(_)), Err(Failure::Clash(_))) => {}
            (Err(Failure::TooHard), _) => hard += 1,
            (found, wanted) => panic!("seed {seed}: {found:?} but {wanted:?} of {}", told(&made)),
        }
    }
    assert!(solved > 2 * hard && solved > 10, "{solved} solved, {hard} too hard");
}

/// That a sum is above nought and is not shows only in coordinates of which it is one.
#[test]
fn what_shows_in_new_coordinates_alone_is_a_clash() {
    let mut system = System::new();
    let (one, other) = (system.unknown(-100_000, 100_000), system.unknown(-100_000, 100_000));
    let sum = &Linear::unknown(one).times(5) - &Linear::unknown(other).times(3);
    system.require(Requirement::NotNegative(&sum - &Linear::number(1)));
    system.require(Requirement::NotNegative(&Linear::number(0) - &sum));
    system.aim(Aim { of: Weighted::from(&sum), target: exact(17, 1), tolerance: exact(1, 1) });
    assert!(matches!(solve(&system), Err(Failure::Clash(_))), "{:?}", solve(&system));
}
