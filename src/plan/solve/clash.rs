//! What clashes where nothing holds, and what it would cost to give up one of
//! the things that clash.
//!
//! A set of requirements and bounds is tried by itself: its equations make a
//! lattice, its inequalities a shadow. What does not take part in a clash is
//! dropped, first by large handfuls, in the end one by one.

use super::lattice::{Form, Lattice, substituted};
use super::shadow::Shadow;
use super::{Clash, Failure, Member, Relaxation, STEPS, Spent, Steps, solve};
use crate::measure::Unknown;
use crate::plan::system::{Bounds, Requirement, RequirementId, System};

/// How far an unknown may go whose bounds are given up.
const FAR: i64 = 1_000_000_000;

/// Whether all requirements and bounds can hold at once.
pub(super) fn is_possible(system: &System, steps: &mut Steps) -> Result<bool, Spent> {
    can_hold(system, &members(system), steps)
}

/// Everything that must hold: bounds before requirements, so that a clash is
/// told by requirements where it can.
fn members(system: &System) -> Vec<Member> {
    let bounds = (0..system.unknowns()).map(|u| Member::Bounds(Unknown(u)));
    let requirements =
        (0..system.requirements.len()).map(|r| Member::Requirement(RequirementId(r)));
    bounds.chain(requirements).collect()
}

fn can_hold(system: &System, members: &[Member], steps: &mut Steps) -> Result<bool, Spent> {
    let unknowns = system.unknowns();
    let form = |linear: &crate::measure::Linear| Form {
        constant: linear.constant(),
        terms: linear.terms().map(|(u, f)| (u.0, f)).filter(|t| t.0 < unknowns).collect(),
    };
    let mut equations = Vec::new();
    let mut floors = Vec::new();
    let mut variables = unknowns;
    for member in members {
        match *member {
            Member::Requirement(id) => match system.requirements.get(id.0) {
                None => {}
                Some(Requirement::Zero(l)) => equations.push(form(l)),
                Some(Requirement::NotNegative(l)) => floors.push(form(l)),
                Some(Requirement::Multiple(l, multiple)) => {
                    let mut form = form(l);
                    form.constant =
                        form.constant.checked_sub(multiple.plus().into()).ok_or(Spent)?;
                    form.terms.push((variables, -i64::from(multiple.of())));
                    variables += 1;
                    equations.push(form);
                }
            },
            Member::Bounds(u) => {
                if let Some(bounds) = system.bounds.get(u.0) {
                    let x = Form::variable(u.0);
                    let at = |constant| Form { constant, terms: Vec::new() };
                    floors.push(x.plus(&at(bounds.low), -1)?);
                    floors.push(at(bounds.high).plus(&x, -1)?);
                }
            }
        }
    }
    let mut lattice = Lattice::new(variables);
    for equation in &equations {
        steps.take(1)?;
        if !lattice.settle(equation, |_| ())? {
            return Ok(false);
        }
    }
    let (forms, _) = lattice.forms()?;
    let mut shadow = Shadow::default();
    for floor in &floors {
        let form = substituted(floor, &forms)?;
        shadow.add(form.terms.iter().map(|&(c, f)| (c, f.into())), form.constant.into())?;
    }
    shadow.can_hold(steps)
}

/// A smallest set that cannot hold, out of a system that cannot hold.
pub(super) fn clash(system: &System) -> Result<Clash, Spent> {
    let mut steps = Steps::new(STEPS);
    let mut kept = members(system);
    if can_hold(system, &kept, &mut steps)? {
        return Err(Spent);
    }
    let mut handful = kept.len().div_ceil(2);
    loop {
        let mut from = 0;
        while from < kept.len() {
            let to = (from + handful).min(kept.len());
            let rest: Vec<Member> = kept[..from].iter().chain(&kept[to..]).copied().collect();
            // What cannot be told counts as possible: more is kept than need be.
            let mut few = Steps::new(STEPS / 8);
            if can_hold(system, &rest, &mut few).unwrap_or(true) {
                from = to;
            } else {
                kept = rest;
            }
        }
        if handful <= 1 {
            break;
        }
        handful = handful.div_ceil(2);
    }
    let mut clash = Clash { requirements: Vec::new(), bounds: Vec::new() };
    for member in kept {
        match member {
            Member::Requirement(id) => clash.requirements.push(id),
            Member::Bounds(unknown) => clash.bounds.push(unknown),
        }
    }
    Ok(clash)
}

/// The best solution without each member of a clash in turn.
///
/// Where the rest still clashes (a system may have more than one clash) the
/// outcome says so. Bounds that are given up still hold the unknown within a
/// thousand million.
#[must_use]
pub fn relaxations(system: &System, clash: &Clash) -> Vec<Relaxation> {
    let without = |member: Member| {
        let mut relaxed = system.clone();
        match member {
            Member::Requirement(id) => {
                if let Some(requirement) = relaxed.requirements.get_mut(id.0) {
                    *requirement = Requirement::Zero(0.into());
                }
            }
            Member::Bounds(unknown) => {
                if let Some(bounds) = relaxed.bounds.get_mut(unknown.0) {
                    *bounds = Bounds { low: -FAR, high: FAR };
                }
            }
        }
        Relaxation { without: member, outcome: solve(&relaxed) }
    };
    clash.members().map(without).collect()
}

/// The failure of a system that cannot hold.
pub(super) fn failure(system: &System) -> Failure {
    clash(system).map_or(Failure::TooHard, Failure::Clash)
}
