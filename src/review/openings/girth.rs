//! How large an opening is, and what would make it larger.

use super::unit;
use crate::diag::words;
use crate::measure::{Density, Exact, Length, SizeId, Unit, exact};
use crate::model::{GaugeId, Model};
use crate::review::steps::{self, Walk, Walks, known};
use crate::source::Span;
use crate::syntax::tree::{Action, BindOff, FabricKind, ItemKind, Step};
use crate::work::Visit;
use crate::work::fabric::{FabricCount, counts as fabric_counts};

/// An opening as it was worked in one size.
pub(super) struct Worked {
    /// All around, stretched where the gauge says how far.
    pub(super) girth: Length,
    /// Whether all of it is stretched.
    pub(super) stretched: bool,
    /// What it is made of.
    pub(super) made_of: String,
    /// What would make it larger by some length.
    pub(super) mend: Mend,
}

pub(super) enum Mend {
    /// More stitches: how many there are, how many to a length, in which repeats.
    Stitches { has: i64, density: Density, repeat: i64 },
    /// A hole: stitches at both ends, rows at both sides.
    Hole { bound_off: i64, of: i64, one: Length, row: Length, garter: bool },
}

/// Stitches all around in one gauge.
pub(super) fn row_of(model: &Model<'_>, n: i64, gauge: GaugeId) -> Option<Worked> {
    let def = model.gauges.get(gauge.0)?;
    let densities = def.gauge?;
    let density = densities.stretched.unwrap_or(densities.stitches);
    let over = if unit(model) == Unit::In { Length::inches(4) } else { Length::cm(10) };
    let state = if densities.stretched.is_some() { "stretched" } else { "as they lie" };
    Some(Worked {
        girth: density.length(exact(n, 1)),
        stretched: densities.stretched.is_some(),
        made_of: format!(
            "{} at {} over {}, {state}",
            words::count(n, "stitch"),
            density.over(over),
            over.readable(unit(model)),
        ),
        mend: Mend::Stitches { has: n, density, repeat: repeat(model, def.fabric.as_ref()) },
    })
}

fn repeat(model: &Model<'_>, fabric: Option<&FabricKind>) -> i64 {
    match fabric {
        Some(FabricKind::Rib(knit, purl)) => i64::from(knit.saturating_add(*purl)),
        Some(FabricKind::Named(name)) => {
            let counts = model.fabric_named(name).map(|fabric| fabric_counts(model, fabric));
            match counts {
                Some(FabricCount::Every { multiple, .. }) => i64::from(multiple.of()),
                _ => 1,
            }
        }
        _ => 1,
    }
}

pub(super) fn edge(
    model: &Model<'_>,
    walks: &Walks<'_, '_>,
    walk: &Walk<'_>,
    step: Span,
) -> Option<Worked> {
    let visit = walk.first(step)?;
    let off = matches!(
        walks.step(visit)?.action,
        Action::BindOff { amount: BindOff::All(_) } | Action::Close(_)
    );
    row_of(model, known(if off { &visit.before } else { &visit.after }), visit.gauge?)
}

pub(super) fn hole(
    model: &Model<'_>,
    walks: &Walks<'_, '_>,
    walk: &Walk<'_>,
    opens: Span,
    closes: Span,
) -> Option<Worked> {
    let open = walk.first(opens)?;
    let close = walk.first(closes)?;
    let (bound_off, cast_on) = (
        gap_in(walks.step(open)?, walk.size, |kind| matches!(kind, ItemKind::BindOff(_)))?,
        match &walks.step(close)?.action {
            Action::CastOn { count, .. } => i64::from(*count.given.get(walk.size)?),
            _ => gap_in(walks.step(close)?, walk.size, |kind| matches!(kind, ItemKind::CastOn(_)))?,
        },
    );
    let gauge = |visit: &Visit| model.gauges.get(visit.gauge?.0)?.gauge;
    let (first, last) = (gauge(open)?, gauge(close)?);
    let one_end = |gauge: crate::measure::Gauge| gauge.stretched.unwrap_or(gauge.stitches);
    let side = close.height_before - open.height_after;
    let rows = close.rows_before.saturating_sub(open.rows_after);
    let (from, to) =
        (one_end(first).length(exact(bound_off, 1)), one_end(last).length(exact(cast_on, 1)));
    let shown = |length: Length| length.precise(unit(model));
    let garter = {
        let fabric = |id: GaugeId| model.gauges.get(id.0).and_then(|gauge| gauge.fabric.clone());
        open.gauge.and_then(fabric) == Some(FabricKind::Garter)
    };
    let sides = if garter && rows % 2 == 0 {
        words::count(i64::from(rows / 2), "ridge")
    } else {
        words::count(i64::from(rows), "row")
    };
    Some(Worked {
        girth: from + to + side * exact(2, 1),
        stretched: first.stretched.is_some() && last.stretched.is_some(),
        made_of: format!(
            "{} bound off are {}, {cast_on} cast on {}, and {sides} on each side {}",
            words::count(bound_off, "stitch"),
            shown(from),
            shown(to),
            shown(side),
        ),
        mend: Mend::Hole {
            bound_off,
            of: known(&open.before),
            one: one_end(first).length(exact(1, 1)) + one_end(last).length(exact(1, 1)),
            row: first.rows?.length(exact(1, 1)),
            garter,
        },
    })
}

fn gap_in(step: &Step, size: SizeId, is_gap: impl Fn(&ItemKind) -> bool) -> Option<i64> {
    let Action::Row { items, .. } = &step.action else { return None };
    let gap = items.iter().find(|item| is_gap(&item.kind))?;
    steps::count_of(gap)?.given.get(size).map(|&n| i64::from(n))
}

impl Mend {
    /// What makes the opening larger by a length.
    pub(super) fn by(&self, more: Length) -> Option<String> {
        match self {
            Self::Stitches { has, density, repeat } => {
                let stitches = up(density.count(more), 1);
                let whole = up(density.count(more), *repeat);
                let repeats = if whole == stitches {
                    String::new()
                } else {
                    format!(", or {whole} more in whole repeats ({})", has + whole)
                };
                Some(format!(
                    "it takes {} more ({} in all){repeats}, or an edge that stretches further",
                    words::count(stitches, "stitch"),
                    has + stitches
                ))
            }
            Self::Hole { bound_off, of, one, row, garter } => {
                // The same number on both sides of the middle, and an even number of rows.
                let stitches = up(more / *one, 2);
                let rows = up(more / (*row * exact(2, 1)), 2);
                let rows = if *garter {
                    format!("{} more on each side", words::count(rows / 2, "ridge"))
                } else {
                    format!("{} more on each side", words::count(rows, "row"))
                };
                Some(if bound_off + stitches < *of {
                    format!(
                        "bind off and cast on {} more ({} in all), or work {rows}, or some of both",
                        words::count(stitches, "stitch"),
                        bound_off + stitches
                    )
                } else {
                    format!("work {rows}; there are not stitches enough to bind off instead")
                })
            }
        }
    }
}

/// The smallest multiple that is not below a number.
fn up(value: Exact, of: i64) -> i64 {
    use crate::measure::round::{Multiple, Toward, to_multiple};
    to_multiple(value, Multiple::new(u32::try_from(of).unwrap_or(1), 0), Toward::Up).max(0)
}
