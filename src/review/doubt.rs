//! Swatches too small to tell one size from the next.

use crate::diag::{Code, Finding};
use crate::measure::{Length, exact};
use crate::model::Model;
use crate::plan::facts::{Finished, finished};
use crate::work::Trace;

/// The first finished measurement of which the doubt of its swatch is larger
/// than the step from one size to the next: the swatch cannot tell which of the
/// two is being knitted.
pub(super) fn blurred_sizes(model: &Model<'_>, traces: &[Trace]) -> Vec<Finding> {
    if model.gauges.iter().all(|gauge| gauge.doubt.is_none()) {
        return Vec::new();
    }
    let finding = finished(model, traces).iter().find_map(|found| blurred(model, found));
    finding.into_iter().collect()
}

fn blurred(model: &Model<'_>, found: &Finished) -> Option<Finding> {
    let sizes = found.lengths.iter().zip(&found.doubts).zip(&model.sizes);
    let told: Vec<(Length, Length, &str)> = sizes
        .filter_map(|((length, doubt), name)| Some(((*length)?, (*doubt)?, name.as_str())))
        .collect();
    let (one, other) = told.windows(2).find_map(|pair| {
        let [one, other] = pair else { return None };
        let step = (other.0 - one.0).abs();
        // More or less: the doubt is as far to either side.
        (step.is_positive() && one.1.max(other.1) * exact(2, 1) > step).then_some((*one, *other))
    })?;
    let doubtful = model.gauges.iter().find(|gauge| gauge.doubt.is_some())?;
    let unit = model.units;
    let [step, doubt] = [(other.0 - one.0).abs(), one.1.max(other.1)].map(|l| l.readable(unit));
    let place = doubtful.entry.doubt.map_or(doubtful.entry.span, |doubt| doubt.span);
    let message = format!(
        "the {} may be off by {doubt} either way, and from {} to {} there are {step}",
        found.landmark, one.2, other.2
    );
    Some(
        Finding::new(Code::GaugeDoubtful, place, message)
            .label("the doubt of the swatch")
            .help("knit a larger swatch and count over more of it, or measure the piece when it is a hand high"),
    )
}
