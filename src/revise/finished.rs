//! The finished measurements a revised pattern states, from its worked counts.

use super::Edit;
use crate::measure::{Given, Length, Unit};
use crate::model::Model;
use crate::plan::facts::{self, Finished};
use crate::plan::{GoalSize, Plan, half_units};
use crate::syntax::print;
use crate::work::Trace;

/// The edits of `finished:`: where a size's counts come to another width than
/// they did, the width they come to now; elsewhere the author's own words.
#[must_use]
pub fn edits(
    plan: &Plan<'_>,
    old: (&Model<'_>, &[Trace]),
    new: (&Model<'_>, &[Trace]),
) -> Vec<Edit> {
    let (before, after) = (facts::finished(old.0, old.1), facts::finished(new.0, new.1));
    let unit = if old.0.units == Unit::In { Unit::In } else { Unit::Cm };
    let mut edits = Vec::new();
    for entry in &old.0.document.front.finished {
        let landmark = &entry.name.value;
        let Some(after) = lengths(&after, landmark) else { continue };
        let before = lengths(&before, landmark);
        let sizes = plan.goal.sizes.iter().enumerate().map(|(index, size)| {
            let now = (*after.get(index)?)?;
            let was = before.and_then(|all| *all.get(size.from.0)?);
            let stated = entry.value.value.get(size.from).copied();
            if was == Some(now) { stated } else { Some(half_units(now, unit)) }
        });
        let sizes: Vec<Option<Length>> = sizes.collect();
        let stated = |size: &GoalSize| entry.value.value.get(size.from).copied();
        let own: Vec<Option<Length>> = plan.goal.sizes.iter().map(stated).collect();
        if sizes != own && sizes.iter().all(Option::is_some) {
            let numbers = print::sizes(&Given::from_each(sizes), |l| print::amount(*l, unit));
            let text = format!("{numbers} {}", unit.word());
            edits.push(Edit { span: entry.value.span, text });
        }
    }
    edits
}

fn lengths<'f>(all: &'f [Finished], landmark: &str) -> Option<&'f [Option<Length>]> {
    all.iter().find(|f| f.landmark == landmark).map(|f| f.lengths.as_slice())
}
