//! The sizes of the revised pattern, and the bodies they are for.
//!
//! A size the pattern has keeps its numbers. A new one, from a published table
//! or of the author's own, starts from the pattern's size nearest to it and
//! must be given every measurement the pattern uses: none is ever invented.

use super::{GoalSize, merged, unknown};
use crate::diag::{Code, Finding, words};
use crate::measure::{Given, Length, SizeId, Unit};
use crate::model::Model;
use crate::plan::setup::half_units;
use crate::source::{Span, Spanned};
use crate::standards::{BodySize, BodyTable, Landmark, Part, body_table, body_tables, passes};
use crate::syntax::front::Targets;

/// Measurements by landmark.
type Body = Vec<(String, Given<Length>)>;

/// The new sizes with their bodies.
pub(super) struct Sizes {
    pub(super) sizes: Vec<GoalSize>,
    pub(super) body: Body,
}

/// Reads the sizes of the targets against those of the pattern.
pub(super) fn sizes(model: &Model<'_>, targets: &Targets, findings: &mut Vec<Finding>) -> Sizes {
    let table = match &targets.sizes_from {
        Some(name) => match body_table(&name.value) {
            Some(table) => Some((table, name.span)),
            None => {
                findings.push(no_table(name));
                None
            }
        },
        None => None,
    };
    let names: Vec<Spanned<String>> = match (&table, targets.sizes.as_slice()) {
        (Some((table, span)), []) => {
            table.sizes.iter().map(|s| Spanned::new(s.name.to_owned(), *span)).collect()
        }
        (_, named) => named.to_vec(),
    };
    if names.is_empty() {
        return kept(model, targets);
    }
    let own = |name: &str| model.sizes.iter().position(|own| own == name).map(SizeId);
    if table.is_none() && names.iter().all(|name| own(&name.value).is_some()) {
        let sizes = names.iter().filter_map(|name| {
            Some(GoalSize { name: name.value.clone(), from: own(&name.value)? })
        });
        let sizes: Vec<GoalSize> = sizes.collect();
        let body = merged(&model.measures.body, &targets.measure, &sizes);
        return Sizes { sizes, body };
    }
    let mut body = Body::new();
    for (landmark, _) in &model.measures.body {
        let values =
            names.iter().map(|name| measured(model, targets, &table, landmark, name, &names));
        let values: Vec<Option<Length>> = values.collect();
        if values.iter().any(Option::is_none) {
            findings.push(not_given(model, &table, landmark, &names, &values));
        }
        body.push((landmark.clone(), Given::Each(values)));
    }
    for entry in &targets.measure {
        if !body.iter().any(|(name, _)| *name == entry.name.value) {
            body.push((entry.name.value.clone(), entry.value.value.clone()));
        }
    }
    let sizes = names.iter().enumerate().map(|(index, name)| GoalSize {
        name: name.value.clone(),
        from: own(&name.value)
            .filter(|_| table.is_none())
            .unwrap_or_else(|| nearest(model, &body, SizeId(index))),
    });
    Sizes { sizes: sizes.collect(), body }
}

fn kept(model: &Model<'_>, targets: &Targets) -> Sizes {
    let own =
        |(index, name): (usize, &String)| GoalSize { name: name.clone(), from: SizeId(index) };
    let sizes: Vec<GoalSize> = model.sizes.iter().enumerate().map(own).collect();
    let body = merged(&model.measures.body, &targets.measure, &sizes);
    Sizes { sizes, body }
}

/// A measurement of a new size: from the targets, the table, or (for a size
/// that keeps its name) the pattern.
fn measured(
    model: &Model<'_>,
    targets: &Targets,
    table: &Option<(&'static BodyTable, Span)>,
    landmark: &str,
    name: &Spanned<String>,
    names: &[Spanned<String>],
) -> Option<Length> {
    let index = names.iter().position(|n| n.value == name.value)?;
    if let Some(entry) = targets.measure.iter().find(|e| e.name.value == landmark) {
        return entry.value.value.get(SizeId(index)).copied();
    }
    match table {
        Some((table, _)) => from_table(table.size(&name.value)?, landmark, model.units),
        None => {
            let own = model.sizes.iter().position(|own| *own == name.value)?;
            model.measures.body(landmark, SizeId(own))
        }
    }
}

/// The middle of a printed range; heads and hands are those of measured people
/// of the table's kind, since no table of garment sizes has them. To half a
/// centimeter or a quarter inch, as tables print them.
fn from_table(size: &BodySize, landmark: &str, units: Unit) -> Option<Length> {
    let word = landmark.replace(['-', '_'], " ");
    match word.as_str() {
        "head" => passes(Part::Head, size.wearer).map(|range| range.usual),
        "hand" => passes(Part::Hand, size.wearer).map(|range| range.usual),
        word => size.span(Landmark::from_word(word)?).map(crate::standards::Span::middle),
    }
    .map(|length| half_units(length, units))
}

/// The pattern's size whose measurements are nearest.
fn nearest(model: &Model<'_>, body: &Body, size: SizeId) -> SizeId {
    let distance = |own: SizeId| {
        // The first landmark counts: the one the author lists first.
        body.iter().find_map(|(landmark, given)| {
            let off = *given.get(size)? - model.measures.body(landmark, own)?;
            Some(off.abs())
        })
    };
    let known = model.size_ids().filter_map(|own| Some((distance(own)?, own)));
    known.min().map_or(SizeId(0), |(_, own)| own)
}

fn no_table(name: &Spanned<String>) -> Finding {
    let known: Vec<&str> = body_tables().iter().map(|table| table.name).collect();
    let finding = Finding::new(
        Code::UnknownName,
        name.span,
        format!("there is no table of sizes called `{}`", name.value),
    )
    .in_targets()
    .label("not a table");
    match words::nearest(&name.value, known.iter().copied()) {
        Some(near) => finding.help(format!("a similar name exists: `{near}`")),
        None => {
            let known: Vec<String> = known.iter().map(|k| format!("`{k}`")).collect();
            finding.help(format!("the tables are {}", words::list(&known, "and")))
        }
    }
}

/// The measurements of a table under the names a pattern gives them.
fn in_table(table: &BodyTable) -> Vec<String> {
    let has = |landmark: &Landmark| table.sizes.iter().any(|s| s.span(*landmark).is_some());
    let named = Landmark::ALL.into_iter().filter(has);
    let mut all: Vec<String> =
        named.map(|landmark| format!("`{}`", landmark.word().replace(' ', "-"))).collect();
    all.extend(["`head`".to_owned(), "`hand`".to_owned()]);
    all
}

fn not_given(
    model: &Model<'_>,
    table: &Option<(&'static BodyTable, Span)>,
    landmark: &str,
    names: &[Spanned<String>],
    values: &[Option<Length>],
) -> Finding {
    let missing = names.iter().zip(values).find(|(_, value)| value.is_none());
    let Some((name, _)) = missing else {
        return unknown("measurement", &Spanned::new(landmark.to_owned(), Span::at(0)), &[]);
    };
    let finding = match table {
        Some((table, span)) => match table.size(&name.value) {
            None => {
                let known: Vec<&str> = table.sizes.iter().map(|s| s.name).collect();
                return unknown("size", name, &known)
                    .note(format!("the sizes are taken from the table `{}`", table.name));
            }
            Some(_) => Finding::new(
                Code::YamlValue,
                *span,
                format!("the table `{}` has no `{landmark}`", table.name),
            )
            .note(format!("it has {}", words::list(&in_table(table), "and"))),
        },
        None if model.measures.body.is_empty() => return unknown("size", name, &[]),
        None => Finding::new(
            Code::YamlValue,
            name.span,
            format!("the new size `{}` has no `{landmark}`", name.value),
        ),
    };
    finding
        .in_targets()
        .label("measurement missing")
        .help(format!("give `{landmark}:` under `measure:`, one value for each size"))
}
