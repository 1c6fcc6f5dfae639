//! Measurements given in two units that do not agree.
//!
//! One of the two was reckoned from the other and rounded. So they may differ
//! by half of the last place of the coarser: half a centimeter for whole
//! centimeters, a quarter for halves; an eighth of an inch for quarters, and
//! half an inch for whole inches. Below ten inches nobody rounds that far: there whole
//! inches are taken as rounded to the half.

use super::prose::{Number, passages};
use super::told::{InSize, by_size};
use crate::diag::{Code, Finding};
use crate::measure::{Exact, Length, SizeId, Unit, exact};
use crate::model::Model;
use crate::source::Source;
use crate::syntax::measure;
use crate::syntax::tree::Lengths;
use crate::syntax::visit;

/// Every measurement in two units that does not agree with itself, in steps,
/// in prose and in the front matter.
pub(super) fn units_differ(source: &Source, model: &Model<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    visit::lengths(model.document, &mut |lengths| findings.extend(differs(model, lengths)));
    for passage in passages(source, model.document) {
        for number in passage.numbers() {
            if let Number::Lengths(lengths) = number {
                findings.extend(differs(model, &lengths));
            }
        }
    }
    let front = &model.document.front;
    for entry in front.measure.iter().chain(&front.finished) {
        let place = entry.value.span;
        if let Some(lengths) = measure::lengths_at(source.slice(place), place.start) {
            findings.extend(differs(model, &lengths));
        }
    }
    findings
}

fn differs(model: &Model<'_>, lengths: &Lengths) -> Option<Finding> {
    let also = lengths.also.as_deref()?;
    let sizes: Vec<SizeId> = model.size_ids().collect();
    let listed = lengths.given.listed().or(also.given.listed()).is_some();
    let compared = if listed { sizes.as_slice() } else { sizes.get(..1).unwrap_or(&[]) };
    let found: Vec<InSize> =
        compared.iter().filter_map(|&size| in_size(lengths, also, size)).collect();
    let all = !listed;
    let finding = by_size(model, found, |message| {
        Finding::new(Code::UnitsDiffer, also.span, message).label("not the same length")
    })?;
    // One value stands for all sizes.
    Some(if all { finding.sizes(Vec::new()) } else { finding })
}

fn in_size(lengths: &Lengths, also: &Lengths, size: SizeId) -> Option<InSize> {
    let (one, other) = (*lengths.given.get(size)?, *also.given.get(size)?);
    let allowed = slack(one, lengths.unit).max(slack(other, also.unit));
    ((one - other).abs() > allowed).then(|| InSize {
        size,
        message: format!(
            "{} and {} are not the same length",
            one.precise(lengths.unit),
            other.precise(also.unit)
        ),
        help: Some(format!(
            "{} is {}, and {} is {}",
            one.precise(lengths.unit),
            one.readable(also.unit),
            other.precise(also.unit),
            other.readable(lengths.unit)
        )),
    })
}

/// How far a written length may be from the one it was rounded from.
fn slack(length: Length, unit: Unit) -> Length {
    let amount = length.amount(unit);
    let whole_from = match unit {
        Unit::In => exact(10, 1),
        _ => exact(0, 1),
    };
    let places: &[Exact] = &[exact(1, 1), exact(1, 2), exact(1, 4), exact(1, 8), exact(1, 10)];
    let fits = |place: &&Exact| {
        (amount / **place).is_integer() && (**place != exact(1, 1) || amount >= whole_from)
    };
    let place = places.iter().find(fits).copied().unwrap_or(exact(1, 100));
    Length::new(place / exact(2, 1), unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn agree(text: &str) -> bool {
        let lengths = measure::lengths_at(text, 0).unwrap();
        in_size(&lengths, lengths.also.as_deref().unwrap(), SizeId(0)).is_none()
    }

    #[test]
    fn rounded_measurements_agree_and_others_do_not() {
        for same in [
            "38 cm / 15 in",
            "10 cm (4 in)",
            "2.5 cm / 1 in",
            "1 cm / 1/2 in",
            "98 cm / 38 1/2 in",
            "100 cm / 39 1/4 in",
            "100 cm / 39 in",
            "15 in / 38 cm",
            "7 cm / 2 3/4 in",
            "5 cm / 2 in",
            "150 cm / 59 in",
            "12.5 cm / 5 in",
        ] {
            assert!(agree(same), "{same}");
        }
        for other in [
            "38 cm / 16 in",
            "38 cm / 14 in",
            "6 cm / 2 in",
            "10 cm / 5 in",
            "150 cm / 49 in",
            "100 cm / 40 1/4 in",
            "2.5 cm / 1 1/4 in",
            "20 cm / 7 in",
        ] {
            assert!(!agree(other), "{other}");
        }
    }

    #[test]
    fn every_place_is_looked_at() {
        let front = "sizes: [a, b]\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\nfinished:\n  width: 48 (50) cm / 19 (19 1/2) in\n";
        let body = "## Scarf, flat\n\nKnit a strip 10 cm (6 in) wide first.\n\n- cast on 96 (100) in body\n- stockinette for 30 (40) cm / 12 (12) in\n- bind off all\n";
        let text = super::super::testing::pattern(front, body);
        insta::assert_snapshot!(super::super::testing::told(&text), @"
        warning[units-differ]: 10 cm and 6 in are not the same length
          --> cap.wale:12:21
           |
        12 | Knit a strip 10 cm (6 in) wide first.
           |                     ^^^^ not the same length
           |
           = help: 10 cm is 4 in, and 6 in is 15 cm

        warning[units-differ]: 40 cm and 12 in are not the same length
          --> cap.wale:15:32
           |
        15 | - stockinette for 30 (40) cm / 12 (12) in
           |                                ^^^^^^^^^^ not the same length
           |
           = note: in size b
           = help: 40 cm is 15 3/4 in, and 12 in is 30.5 cm
        ");
    }
}
