//! Stated widths that the counts do not make.
//!
//! A count marked `[chest / 2 + ease / 2]` makes a part of the garment's
//! chest. Where `finished:` says what that measures, the first such count must
//! agree with it at its gauge: half a stitch is allowed, since a count is
//! whole, and half of the last place the width is given to. Every other count
//! is held against the measurement and its ease; it may be off by what a
//! repeat takes, four stitches or a twentieth.

use super::steps::{self, Walk, Walks, known};
use super::told::{InSize, by_size};
use crate::diag::{Code, Finding, words};
use crate::measure::{Exact, Given, Length, SizeId, Unit, decimal, exact};
use crate::model::{GaugeId, Measures, Model};
use crate::source::Span;
use crate::syntax::front::{Ease, Entry};
use crate::syntax::tree::{Action, BindOff, Counts, Expr, Mark, Step};
use crate::work::Visit;
use std::collections::BTreeSet;

/// How far a count may be from a measurement that nobody says is met.
const OFF_TARGET: Exact = Exact::new_raw(1, 20);
const FEW_STITCHES: i64 = 4;

/// Every count that makes another width than the pattern states.
pub(super) fn widths_differ(model: &Model<'_>, walks: &Walks<'_, '_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut stated: BTreeSet<String> = BTreeSet::new();
    model.each_step(&mut |_, step| {
        for mut measured in measured(step) {
            // The first count that measures a landmark is what is stated of it;
            // a front that is a stitch wider than the back is none of its business.
            let landmarks = Measures::landmarks(measured.expr).join(" ");
            measured.first = stated.insert(landmarks);
            let found = walks
                .sizes
                .iter()
                .filter_map(|walk| {
                    let at = walk.place(step.span)?;
                    let visit = walk.visits.get(at)?;
                    let (n, gauge) = match measured.counts {
                        Some(counts) => (i64::from(*counts.given.get(walk.size)?), visit.gauge?),
                        None => (known(&visit.after), gauge_of(walks, walk, at)?),
                    };
                    measured.differs(model, n, gauge, walk.size)
                })
                .collect();
            findings.extend(by_size(model, found, |message| {
                let finding = Finding::new(Code::GaugeDiffers, measured.place, message)
                    .label("measures something else");
                match measured.finished(model) {
                    Some(entry) => finding.also(entry.value.span, "stated here"),
                    None => finding,
                }
            }));
        }
    });
    findings
}

/// A count that is said to measure something.
struct Measured<'d> {
    expr: &'d Expr,
    /// Where it is said.
    place: Span,
    /// The count of an item of a row; `None` for what a step leaves.
    counts: Option<&'d Counts>,
    /// Whether it is the first of the pattern to measure this.
    first: bool,
}

fn measured(step: &Step) -> Vec<Measured<'_>> {
    let mut all = Vec::new();
    for mark in &step.marks {
        let Mark::Measure(expr) = &mark.value else { continue };
        let counts = match &step.action {
            // It measures the length of the rows.
            Action::Work { .. } => continue,
            // It measures what is bound off, not what is left.
            Action::BindOff { amount: BindOff::StartOfNext { count, .. } }
            | Action::ShortRows { count, .. } => Some(count),
            _ => None,
        };
        all.push(Measured { expr, place: mark.span, counts, first: true });
    }
    if let Action::Row { items, .. } = &step.action {
        for item in items {
            for mark in &item.marks {
                if let (Mark::Measure(expr), Some(counts)) = (&mark.value, steps::count_of(item)) {
                    all.push(Measured {
                        expr,
                        place: mark.span,
                        counts: Some(counts),
                        first: true,
                    });
                }
            }
        }
    }
    all
}

impl Measured<'_> {
    /// What the front matter states of the landmark that is measured.
    fn finished<'m>(&self, model: &'m Model<'_>) -> Option<&'m Entry<Given<Length>>> {
        let names = Measures::landmarks(self.expr);
        let [name] = names.as_slice() else { return None };
        if !self.first {
            return None;
        }
        model.document.front.finished.iter().find(|e| e.name.value.eq_ignore_ascii_case(name))
    }

    fn differs(&self, model: &Model<'_>, n: i64, gauge: GaugeId, size: SizeId) -> Option<InSize> {
        match self.finished(model) {
            Some(entry) => Share::of(self.expr)?.differs(model, entry, n, gauge, size),
            None => self.off_target(model, n, gauge, size),
        }
    }

    /// Against the measurement itself: a count may be off by what a repeat takes.
    fn off_target(
        &self,
        model: &Model<'_>,
        n: i64,
        gauge: GaugeId,
        size: SizeId,
    ) -> Option<InSize> {
        let length = model.measures.length(self.expr, size).ok()?;
        let gauge = model.gauges.get(gauge.0)?;
        let density = gauge.gauge?.stitches;
        let wanted = density.count(length);
        let off = (wanted - exact(n, 1)).abs();
        let allowed = (exact(n, 1) * OFF_TARGET).max(exact(FEW_STITCHES, 1));
        (off > allowed).then(|| InSize {
            size,
            message: format!(
                "{} in `{}` make {}, and the measurement is {}",
                words::count(n, "stitch"),
                gauge.name,
                density.length(exact(n, 1)).precise(model.units),
                length.precise(model.units),
            ),
            help: Some(takes(wanted)),
        })
    }
}

fn takes(wanted: Exact) -> String {
    format!("at this gauge the measurement takes {} stitches", decimal(wanted, 1))
}

/// How a count measures a landmark: it is `factor x finished + rest` wide.
struct Share {
    factor: Exact,
    rest: Length,
}

impl Share {
    /// `None` where the expression does not count one landmark.
    fn of(expr: &Expr) -> Option<Self> {
        let names = Measures::landmarks(expr);
        let [name] = names.as_slice() else { return None };
        let at = |body: i64, ease: i64| {
            let measures = Measures {
                body: vec![(name.clone(), Given::Same(Length::cm(body)))],
                ease: vec![(name.clone(), Given::Same(Ease::Length(Length::cm(ease))))],
            };
            measures.length(expr, SizeId(0)).ok()
        };
        let (rest, body, ease) = (at(0, 0)?, at(1, 0)?, at(0, 1)?);
        let factor = (body - rest) / Length::cm(1);
        let eased = ease != rest;
        // A length beside the landmark is its ease, where no ease is named.
        let rest = if eased { rest } else { Length::zero() };
        (factor > exact(0, 1) && (!eased || body == ease)).then_some(Self { factor, rest })
    }

    fn differs(
        &self,
        model: &Model<'_>,
        entry: &Entry<Given<Length>>,
        n: i64,
        gauge: GaugeId,
        size: SizeId,
    ) -> Option<InSize> {
        let stated = *entry.value.value.get(size)?;
        let gauge = model.gauges.get(gauge.0)?;
        let density = gauge.gauge?.stitches;
        let makes = (density.length(exact(n, 1)) - self.rest) * self.factor.recip();
        let half_stitch = density.length(exact(1, 2)) * self.factor.recip();
        let allowed = half_stitch + half_place(stated, model.units);
        if (makes - stated).abs() <= allowed {
            return None;
        }
        let wanted = density.count(stated * self.factor + self.rest);
        Some(InSize {
            size,
            message: format!(
                "{} in `{}` make {} of {}, and {} is stated",
                words::count(n, "stitch"),
                gauge.name,
                makes.precise(model.units),
                entry.name.value,
                stated.precise(model.units),
            ),
            help: Some(takes(wanted)),
        })
    }
}

/// Half of the last place that a stated length was rounded to.
fn half_place(length: Length, unit: Unit) -> Length {
    let amount = length.amount(unit);
    let places = [exact(1, 1), exact(1, 2), exact(1, 4), exact(1, 8)];
    let place = places.into_iter().find(|place| (amount / *place).is_integer());
    Length::new(place.unwrap_or(exact(1, 10)) / exact(2, 1), unit)
}

/// The gauge in which most of the rows are worked that a count stays for.
fn gauge_of(walks: &Walks<'_, '_>, walk: &Walk<'_>, at: usize) -> Option<GaugeId> {
    let first = walk.visits.get(at)?;
    let stays = |visit: &&Visit| visit.piece == first.piece && visit.before == first.after;
    let plain = |visit: &&Visit| walks.is_plain(visit);
    let mut rows: Vec<(GaugeId, u32)> = Vec::new();
    for visit in walk.visits.iter().skip(at + 1).take_while(stays).filter(plain) {
        let worked = visit.rows_after.saturating_sub(visit.rows_before);
        let Some(gauge) = visit.gauge else { continue };
        match rows.iter_mut().find(|(known, _)| *known == gauge) {
            Some((_, sum)) => *sum += worked,
            None => rows.push((gauge, worked)),
        }
    }
    // The first of equals: the one it was worked in soonest.
    let most = rows.iter().map(|(_, rows)| *rows).max().filter(|most| *most > 0);
    most.and_then(|most| rows.iter().find(|(_, rows)| *rows == most))
        .map(|(gauge, _)| *gauge)
        .or(first.gauge)
}

#[cfg(test)]
mod tests {
    use super::super::testing::{pattern, told};

    fn front(more: &str) -> String {
        format!(
            "sizes: [small, large]\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\n  hem: {{ stitches: 25, rows: 30, over: 10 cm }}\nmeasure:\n  chest: 90 (100) cm\nease:\n  chest: 10 cm\n{more}"
        )
    }

    fn back(counts: &str) -> String {
        format!(
            "## Back, flat\n\n- cast on {counts} in hem [chest / 2 + ease / 2]\n- garter for 4 rows\n- change to body\n- stockinette for 80 rows\n- bind off all\n"
        )
    }

    #[test]
    fn a_count_makes_the_width_that_is_stated() {
        let stated = front("finished:\n  chest: 100 (110) cm\n");
        assert_eq!(told(&pattern(&stated, &back("100 (110)"))), "nothing");
        insta::assert_snapshot!(told(&pattern(&stated, &back("101 (120)"))), @"
        warning[gauge-differs]: 120 stitches in `body` make 120 cm of chest, and 110 cm is stated
          --> cap.wale:17:28
           |
        12 |   chest: 100 (110) cm
           |          ------------ stated here
        ...
        17 | - cast on 101 (120) in hem [chest / 2 + ease / 2]
           |                            ^^^^^^^^^^^^^^^^^^^^^^ measures something else
           |
           = note: in size large
           = help: at this gauge the measurement takes 110 stitches
        ");
    }

    #[test]
    fn without_a_stated_width_a_count_may_be_off_by_a_repeat() {
        assert_eq!(told(&pattern(&front(""), &back("98 (114)"))), "nothing");
        insta::assert_snapshot!(told(&pattern(&front(""), &back("100 (130)"))), @"
        warning[gauge-differs]: 130 stitches in `body` make 65 cm, and the measurement is 55 cm
          --> cap.wale:15:28
           |
        15 | - cast on 100 (130) in hem [chest / 2 + ease / 2]
           |                            ^^^^^^^^^^^^^^^^^^^^^^ measures something else
           |
           = note: in size large
           = help: at this gauge the measurement takes 110 stitches
        ");
    }
}
