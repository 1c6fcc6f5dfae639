//! Gauges, needles and yarns that do not usually go together.
//!
//! The published ranges are those of stockinette: a gauge is looked at when it
//! was swatched in stockinette, or, where it does not say, when nothing but
//! stockinette is worked in it. Ribs, laces and garter have no such ranges.

use super::steps::Walks;
use crate::diag::{Code, Finding};
use crate::measure::{Length, Unit, decimal};
use crate::model::{GaugeDef, GaugeId, Model};
use crate::standards::{
    Between, Implausible, NeedleSize, YarnWeight, implausible, rows_to_stitches, yarn_weight,
    yarn_weight_of, yarn_weights,
};
use crate::syntax::tree::{Action, FabricKind};

/// Every gauge that deserves a second look, with the ranges it falls out of.
pub(super) fn unlikely(model: &Model<'_>, walks: &Walks<'_, '_>) -> Vec<Finding> {
    let yarn = model.document.front.yarn.as_ref();
    let weight = yarn.and_then(|y| y.weight).and_then(|w| yarn_weight(&w.value.to_string()));
    let plain = |id: usize, gauge: &GaugeDef<'_>| match &gauge.fabric {
        Some(fabric) => *fabric == FabricKind::Stockinette,
        None => only_stockinette(walks, GaugeId(id)),
    };
    let gauges = model.gauges.iter().enumerate().filter(|(id, gauge)| plain(*id, gauge));
    gauges.filter_map(|(_, gauge)| told(gauge, weight)).collect()
}

fn only_stockinette(walks: &Walks<'_, '_>, gauge: GaugeId) -> bool {
    let visits = walks.sizes.iter().flat_map(|walk| walk.visits);
    let mut worked = visits
        .filter(|visit| visit.gauge == Some(gauge))
        .filter_map(|visit| walks.step(visit))
        .filter_map(|step| match &step.action {
            Action::Work { fabric: Some(fabric), .. } => Some(&fabric.kind),
            _ => None,
        })
        .peekable();
    worked.peek().is_some() && worked.all(|kind| *kind == FabricKind::Stockinette)
}

fn told(gauge: &GaugeDef<'_>, weight: Option<&'static YarnWeight>) -> Option<Finding> {
    let densities = gauge.gauge?;
    let needle: Option<NeedleSize> =
        gauge.entry.needle.as_ref().and_then(|needle| needle.value.parse().ok());
    let mut why: Vec<String> = implausible(densities.stitches, densities.rows, needle, weight)
        .iter()
        .filter(|one| !near_enough(one))
        .map(said)
        .collect();
    if weight.is_none() {
        let sts = decimal(densities.stitches.count(Length::inches(4)), 1);
        match (yarn_weight_of(densities.stitches), needle) {
            (None, _) => why.push(format!(
                "it has {sts} stitches over 4 in, and the finest of the published yarn weights has {}",
                finest()
            )),
            (Some(fits), Some(needle)) if !usual_beside(&fits.all, needle) => why.push(format!(
                "{sts} stitches over 4 in belong to yarn of weight {} ({}), whose needles are {}",
                fits.pick.number,
                fits.pick.name,
                millimeters(fits.pick.needle)
            )),
            _ => {}
        }
    }
    let (first, others) = why.split_first()?;
    let finding = Finding::new(
        Code::GaugeUnlikely,
        gauge.entry.span,
        format!("the gauge `{}` is unlikely: {first}", gauge.name),
    )
    .label("check against the swatch");
    let finding = others.iter().cloned().fold(finding, Finding::note);
    Some(finding.help("was it counted over another length, or the needle given in another system?"))
}

/// A needle of the next finer or heavier weight is a matter of the hand.
fn near_enough(one: &Implausible) -> bool {
    match one {
        Implausible::NeedleForWeight { needle, weight } => usual_beside(&[weight], *needle),
        _ => false,
    }
}

fn said(one: &Implausible) -> String {
    let of_weight = |weight: &YarnWeight| format!("weight {} ({})", weight.number, weight.name);
    match one {
        Implausible::StitchesForWeight { stitches, weight } => {
            format!(
                "it has {} stitches over 4 in, and yarn of {} has {}",
                decimal(*stitches, 1),
                of_weight(weight),
                range(weight.stitches, |n| decimal(n, 1))
            )
        }
        Implausible::NeedleForWeight { needle, weight } => format!(
            "its needle is {} mm, and those for yarn of {} are {}",
            decimal(needle.metric().amount(Unit::Mm), 2),
            of_weight(weight),
            millimeters(weight.needle)
        ),
        Implausible::RowsToStitches { ratio } => format!(
            "its ratio of rows to stitches is {}, and that of stockinette {}",
            decimal(*ratio, 2),
            range(rows_to_stitches(), |n| decimal(n, 1))
        ),
    }
}

fn millimeters(needle: Between<Length>) -> String {
    format!("{} mm", range(needle, |length| decimal(length.amount(Unit::Mm), 2)))
}

fn range<T: Copy>(between: Between<T>, shown: impl Fn(T) -> String) -> String {
    match (between.low, between.high) {
        (Some(low), Some(high)) => format!("{} to {}", shown(low), shown(high)),
        (Some(low), None) => format!("{} and more", shown(low)),
        (None, Some(high)) => format!("{} and fewer", shown(high)),
        (None, None) => "any".to_owned(),
    }
}

fn finest() -> String {
    let first = yarn_weights().first().and_then(|weight| weight.stitches.high);
    first.map_or_else(String::new, |most| format!("{} at most", decimal(most, 1)))
}

/// Whether a needle is usual for one of these weights, or for the next finer or heavier.
fn usual_beside(weights: &[&'static YarnWeight], needle: NeedleSize) -> bool {
    let near =
        |weight: &YarnWeight| weights.iter().any(|fits| fits.number.abs_diff(weight.number) <= 1);
    yarn_weights().iter().filter(|w| near(w)).any(|w| w.needle.holds(&needle.metric()))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{pattern, told};

    fn scarf(gauge: &str, more: &str, fabric: &str) -> String {
        let front = format!("gauges:\n  body: {{ {gauge} }}\n{more}");
        let body = format!(
            "## Scarf, flat\n\n- cast on 40 in body\n- {fabric} for 40 rows\n- bind off all\n"
        );
        told(&pattern(&front, &body))
    }

    #[test]
    fn a_usual_gauge_raises_no_doubt() {
        let yarn = "yarn:\n  weight: 4\n";
        for gauge in [
            "stitches: 18, rows: 24, over: 10 cm, needle: 5 mm",
            "stitches: 20, rows: 28, over: 10 cm, needle: 4 mm",
            "stitches: 5, rows: 7, over: 1 in, needle: US 7",
        ] {
            assert_eq!(scarf(gauge, yarn, "stockinette"), "nothing", "{gauge}");
        }
        // Garter is not stockinette: its rows are twice its stitches.
        assert_eq!(scarf("stitches: 18, rows: 36, over: 10 cm", yarn, "garter"), "nothing");
    }

    #[test]
    fn each_range_that_a_gauge_falls_out_of_is_named() {
        let yarn = "yarn:\n  weight: 4\n";
        insta::assert_snapshot!(scarf("stitches: 28, rows: 28, over: 10 cm, needle: 8 mm", yarn, "stockinette"), @"
        warning[gauge-unlikely]: the gauge `body` is unlikely: it has 28.4 stitches over 4 in, and yarn of weight 4 (Medium) has 16 to 20
         --> cap.wale:4:9
          |
        4 |   body: { stitches: 28, rows: 28, over: 10 cm, needle: 8 mm }
          |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ check against the swatch
          |
          = note: its ratio of rows to stitches is 1, and that of stockinette 1.2 to 1.6
          = help: was it counted over another length, or the needle given in another system?
        ");
    }

    #[test]
    fn a_needle_is_held_against_the_gauge_where_no_yarn_is_named() {
        insta::assert_snapshot!(scarf("stitches: 20, rows: 28, over: 10 cm, needle: 10 mm", "", "stockinette"), @"
        warning[gauge-unlikely]: the gauge `body` is unlikely: 20.3 stitches over 4 in belong to yarn of weight 4 (Medium), whose needles are 4.5 to 5.5 mm
         --> cap.wale:4:9
          |
        4 |   body: { stitches: 20, rows: 28, over: 10 cm, needle: 10 mm }
          |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ check against the swatch
          |
          = help: was it counted over another length, or the needle given in another system?
        ");
        insta::assert_snapshot!(scarf("stitches: 20, rows: 28, over: 1 in", "", "stockinette"), @"
        warning[gauge-unlikely]: the gauge `body` is unlikely: it has 80 stitches over 4 in, and the finest of the published yarn weights has 40 at most
         --> cap.wale:4:9
          |
        4 |   body: { stitches: 20, rows: 28, over: 1 in }
          |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ check against the swatch
          |
          = help: was it counted over another length, or the needle given in another system?
        ");
    }
}
