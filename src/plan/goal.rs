//! What a rewrite is to reach: the pattern's own gauges, sizes and fit, with
//! whatever the targets change.

mod sizes;

use sizes::Sizes;

use crate::diag::{Code, Finding, words};
use crate::measure::{Density, Exact, Gauge, Given, Length, SizeId};
use crate::model::{GaugeId, Measures, Model};
use crate::source::{Span, Spanned};
use crate::syntax::front::{Entry, GaugeEntry, LengthChange, Targets};
use crate::syntax::tree::Lies;

/// A size of the revised pattern.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct GoalSize {
    /// Its name.
    pub name: String,
    /// The size of the old pattern it starts from: the same, or the nearest by
    /// its measurements.
    pub from: SizeId,
}

/// A gauge of the revised pattern.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct GoalGauge<'t> {
    /// The densities.
    pub gauge: Option<Gauge>,
    /// What the targets say of it.
    pub entry: Option<&'t GaugeEntry>,
    /// Scaled with the other gauges, since nobody swatched it.
    pub estimated: bool,
    /// Whether anything differs from the pattern's own.
    pub changed: bool,
}

/// Everything a rewrite is to reach.
#[derive(Clone, PartialEq, Debug)]
pub struct Goal<'t> {
    /// The sizes, in order.
    pub sizes: Vec<GoalSize>,
    /// The gauges, as in [`Model::gauges`].
    pub gauges: Vec<GoalGauge<'t>>,
    /// Body and ease by the new sizes.
    pub measures: Measures,
    /// How bands lie, by their gauge.
    pub bands: Vec<(GaugeId, Spanned<&'t Lies>)>,
    /// Lengths to change, by piece or landmark (lower case).
    pub lengths: Vec<(String, Spanned<&'t Given<LengthChange>>)>,
}

impl Goal<'_> {
    /// Whether body or ease at a landmark differ from the pattern's, in one size.
    #[must_use]
    pub fn refits(&self, model: &Model<'_>, landmark: &str, size: usize) -> bool {
        let Some(goal) = self.sizes.get(size) else { return false };
        let (old, new) = (&model.measures, &self.measures);
        old.body(landmark, goal.from) != new.body(landmark, SizeId(size))
            || old.ease(landmark, goal.from) != new.ease(landmark, SizeId(size))
    }

    /// Whether the sizes are the pattern's own.
    #[must_use]
    pub fn keeps_sizes(&self, model: &Model<'_>) -> bool {
        self.sizes.len() == model.sizes.len()
            && self
                .sizes
                .iter()
                .zip(&model.sizes)
                .enumerate()
                .all(|(index, (goal, own))| goal.name == *own && goal.from == SizeId(index))
    }
}

/// Reads the targets against the pattern.
#[must_use]
pub fn goal<'t>(model: &Model<'_>, targets: &'t Targets) -> (Goal<'t>, Vec<Finding>) {
    let mut findings = Vec::new();
    let Sizes { sizes, body } = sizes::sizes(model, targets, &mut findings);
    let gauges = gauges(model, targets, &mut findings);
    let measures = Measures { body, ease: merged(&model.measures.ease, &targets.ease, &sizes) };
    let known: Vec<&str> = measures.body.iter().map(|(name, _)| name.as_str()).collect();
    for entry in &targets.ease {
        if !known.contains(&entry.name.value.as_str()) {
            findings.push(unknown("measurement", &entry.name, &known));
        }
    }
    let mut bands = Vec::new();
    for band in &targets.bands {
        match model.gauge_named(&band.name.value) {
            Some(gauge) => bands.push((gauge, Spanned::new(&band.value.value, band.value.span))),
            None => {
                let names: Vec<&str> = model.gauges.iter().map(|g| g.name).collect();
                findings.push(unknown("gauge", &band.name, &names));
            }
        }
    }
    let lengths = targets
        .lengths
        .iter()
        .map(|e| (e.name.value.to_lowercase(), Spanned::new(&e.value.value, e.value.span)))
        .collect();
    listed(&targets.measure, sizes.len(), &mut findings);
    listed(&targets.ease, sizes.len(), &mut findings);
    listed(&targets.lengths, sizes.len(), &mut findings);
    (Goal { sizes, gauges, measures, bands, lengths }, findings)
}

fn unknown(what: &str, name: &Spanned<String>, known: &[&str]) -> Finding {
    let finding = Finding::new(
        Code::UnknownName,
        name.span,
        format!("the pattern has no {what} called `{}`", name.value),
    )
    .in_targets()
    .label(format!("not a {what} of the pattern"));
    match words::nearest(&name.value, known.iter().copied()) {
        Some(near) => finding.help(format!("a similar name exists: `{near}`")),
        None if known.is_empty() => finding,
        None => {
            let known: Vec<String> = known.iter().map(|k| format!("`{k}`")).collect();
            finding.help(format!("the pattern has {}", words::list(&known, "and")))
        }
    }
}

fn gauges<'t>(
    model: &Model<'_>,
    targets: &'t Targets,
    findings: &mut Vec<Finding>,
) -> Vec<GoalGauge<'t>> {
    for entry in &targets.gauges {
        if model.gauge_named(&entry.name.value).is_none() {
            let known: Vec<&str> = model.gauges.iter().map(|g| g.name).collect();
            findings.push(unknown("gauge", &entry.name, &known));
        }
    }
    let named =
        |name: &str| targets.gauges.iter().find(|e| e.name.value.eq_ignore_ascii_case(name));
    let given: Vec<Option<(&GaugeEntry, Gauge)>> = model
        .gauges
        .iter()
        .map(|own| {
            let entry = named(own.name)?;
            Some((entry, completed(crate::model::densities(entry, model.units), own.gauge, entry)?))
        })
        .collect();
    // The gauge that others are scaled with: `body`, or else the first the targets give.
    let lead = model
        .default_gauge()
        .filter(|id| given.get(id.0).is_some_and(Option::is_some))
        .or_else(|| given.iter().position(Option::is_some).map(GaugeId));
    let lead = lead.and_then(|id| {
        let own = model.gauges.get(id.0)?.gauge?;
        let new = given.get(id.0)?.as_ref()?.1;
        Some((own, new))
    });
    let mut gauges = Vec::new();
    for (own, given) in model.gauges.iter().zip(&given) {
        gauges.push(match (given, lead, own.gauge) {
            (Some((entry, gauge)), _, own_gauge) => GoalGauge {
                gauge: Some(*gauge),
                entry: Some(entry),
                estimated: entry.estimated.is_some_and(|e| e.value),
                changed: own_gauge != Some(*gauge) || !same_words(entry, own.entry),
            },
            (None, Some((old_lead, new_lead)), Some(gauge)) => {
                let scaled = scaled(gauge, old_lead, new_lead, own.entry);
                let changed = scaled != gauge;
                if changed {
                    findings.push(estimated(own.name, targets));
                }
                GoalGauge {
                    gauge: Some(scaled),
                    entry: None,
                    estimated: changed || own.estimated,
                    changed,
                }
            }
            (None, _, gauge) => {
                GoalGauge { gauge, entry: None, estimated: own.estimated, changed: false }
            }
        });
    }
    gauges
}

/// A gauge in the targets may leave out rows: then they scale with the stitches.
fn completed(new: Option<Gauge>, own: Option<Gauge>, entry: &GaugeEntry) -> Option<Gauge> {
    let (new, Some(own)) = (new?, own) else { return new };
    let factor = new.stitches.ratio(own.stitches);
    let keep = |given: bool, own: Option<Density>, new: Option<Density>| {
        if given { new } else { own.and_then(|d| d.scaled(factor)) }
    };
    Some(Gauge {
        stitches: new.stitches,
        rows: keep(entry.rows.is_some(), own.rows, new.rows),
        stretched: keep(entry.stretched.is_some(), own.stretched, new.stretched),
    })
}

/// Whether a targets entry says of needle and doubt what the pattern says. A
/// swatch without a word of doubt is another than one with.
fn same_words(new: &GaugeEntry, own: &GaugeEntry) -> bool {
    let said = |a: &Option<Spanned<String>>, b: &Option<Spanned<String>>| match (a, b) {
        (Some(a), Some(b)) => a.value == b.value,
        (Some(_), None) => false,
        (None, _) => true,
    };
    let doubt = |entry: &GaugeEntry| entry.doubt.map(|d| d.value);
    said(&new.needle, &own.needle) && doubt(new) == doubt(own)
}

/// Scales a gauge nobody swatched with one that was, to what can be written in
/// hundredths over its own length.
fn scaled(gauge: Gauge, old: Gauge, new: Gauge, entry: &GaugeEntry) -> Gauge {
    let over = entry.over.map_or(Length::cm(10), |o| o.value);
    let hundredths = |density: Density| {
        let hundred = Exact::from_integer(100);
        Density::new((density.count(over) * hundred).round() / hundred, over).unwrap_or(density)
    };
    let by = |density: Density, factor: Exact| {
        if factor == Exact::from_integer(1) {
            return density;
        }
        density.scaled(factor).map_or(density, hundredths)
    };
    let stitches = new.stitches.ratio(old.stitches);
    let rows = match (new.rows, old.rows) {
        (Some(new), Some(old)) => new.ratio(old),
        _ => stitches,
    };
    Gauge {
        stitches: by(gauge.stitches, stitches),
        rows: gauge.rows.map(|d| by(d, rows)),
        stretched: gauge.stretched.map(|d| by(d, stitches)),
    }
}

fn estimated(name: &str, targets: &Targets) -> Finding {
    let place = targets.gauges.first().map_or(Span::at(0), |g| g.name.span);
    Finding::new(Code::BandEstimated, place, format!("the gauge `{name}` was estimated, not swatched"))
        .in_targets()
        .label("scaled with this one")
        .note("it was scaled in the pattern's own proportion; ribs on new needles and yarn seldom keep it")
        .help(format!("swatch it and add `{name}:` under `gauges:`"))
}

/// The pattern's own values brought to the new sizes, with the targets' over them.
fn merged<T: Clone + PartialEq>(
    own: &[(String, Given<T>)],
    targets: &[Entry<Given<T>>],
    sizes: &[GoalSize],
) -> Vec<(String, Given<T>)> {
    let brought = |given: &Given<T>| {
        Given::Each(sizes.iter().map(|size| given.get(size.from).cloned()).collect())
    };
    let mut all: Vec<(String, Given<T>)> =
        own.iter().map(|(name, given)| (name.clone(), brought(given))).collect();
    for entry in targets {
        let value = entry.value.value.clone();
        match all.iter_mut().find(|(name, _)| *name == entry.name.value) {
            Some((_, given)) => *given = value,
            None => all.push((entry.name.value.clone(), value)),
        }
    }
    all
}

fn listed<T>(entries: &[Entry<Given<T>>], sizes: usize, findings: &mut Vec<Finding>) {
    let number = |n: usize| i64::try_from(n).unwrap_or(i64::MAX);
    for entry in entries {
        let Some(n) = entry.value.value.listed().filter(|&n| n != sizes) else { continue };
        findings.push(
            Finding::new(
                Code::SizesLength,
                entry.value.span,
                format!(
                    "{} listed for {}",
                    words::count(number(n), "value"),
                    words::count(number(sizes), "size")
                ),
            )
            .in_targets()
            .label(format!("expected {}", words::count(number(sizes), "value")))
            .help("write one value for all sizes, or one for each size the targets name"),
        );
    }
}
