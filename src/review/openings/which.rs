//! Which openings a pattern has: by their names, and by what is bound off
//! and cast on again.

use super::{Opening, What};
use crate::model::{GaugeId, Model};
use crate::review::steps;
use crate::standards::Part;
use crate::syntax::tree::{Action, CastOnPlace, ItemKind, Step};
use std::collections::BTreeMap;

/// What each name in the pattern opens, by its name in lower case.
pub(super) fn by_name(model: &Model<'_>) -> BTreeMap<String, What> {
    let mut all = BTreeMap::new();
    for (index, gauge) in model.gauges.iter().enumerate() {
        all.entry(gauge.name.to_lowercase()).or_insert(What::Band(GaugeId(index)));
    }
    for (index, piece) in model.pieces.iter().enumerate() {
        all.entry(piece.name.value.to_lowercase()).or_insert(What::Piece(index));
    }
    steps::lists(model, &mut |_, list| {
        // From the end, so that the step that closes a hole is known where it opens.
        let mut close = None;
        for step in list.iter().rev() {
            for name in steps::names_in(step) {
                let what = match close.filter(|_| opens(step)) {
                    Some(closes) => What::Hole { opens: step.span, closes },
                    None => What::Edge(step.span),
                };
                all.entry(name.to_lowercase()).or_insert(what);
            }
            if closes(step) {
                close = Some(step.span);
            }
        }
    });
    all
}

/// Whether a step binds off stitches between others.
fn opens(step: &Step) -> bool {
    let Action::Row { items, .. } = &step.action else { return false };
    let gap = |kind: &ItemKind| matches!(kind, ItemKind::BindOff(_));
    items.iter().position(|item| gap(&item.kind)).is_some_and(|at| at > 0 && at + 1 < items.len())
}

/// Whether a step casts on over a gap.
fn closes(step: &Step) -> bool {
    match &step.action {
        Action::CastOn { place: CastOnPlace::OverGap, .. } => true,
        Action::Row { items, .. } => {
            let cast_on = |kind: &ItemKind| matches!(kind, ItemKind::CastOn(_));
            let at = items.iter().position(|item| cast_on(&item.kind));
            at.is_some_and(|at| at > 0 && at + 1 < items.len())
        }
        _ => false,
    }
}

/// The openings that their names tell.
pub(super) fn usual(model: &Model<'_>) -> Vec<Opening> {
    let mut openings = Vec::new();
    let sock = model.pieces.iter().any(|piece| {
        let name = piece.name.value.to_lowercase();
        name.contains("sock") || name.contains("stocking")
    });
    for (index, gauge) in model.gauges.iter().enumerate() {
        if let Some(part) = part_by_name(sock, gauge.name) {
            openings.push(Opening {
                name: gauge.name.to_owned(),
                part,
                place: gauge.entry.name.span,
                asked: false,
                what: What::Band(GaugeId(index)),
            });
        }
    }
    for (index, piece) in model.pieces.iter().enumerate() {
        if let Some(part) = part_by_name(sock, &piece.name.value) {
            openings.push(Opening {
                name: piece.name.value.clone(),
                part,
                place: piece.name.span,
                asked: false,
                what: What::Piece(index),
            });
        }
    }
    steps::lists(model, &mut |_, list| {
        // From the end: what closes a hole, and whether shoulders lie before it.
        let mut close = None;
        let mut holes = Vec::new();
        for step in list.iter().rev() {
            match close {
                Some((closes, true)) if opens(step) => holes.push((step.span, closes)),
                Some((_, ref mut shoulders)) => *shoulders |= is_shoulder(step),
                None => {}
            }
            if closes(step) {
                close = Some((step.span, false));
            } else if opens(step) {
                close = None;
            }
        }
        openings.extend(holes.into_iter().rev().map(|(opens, closes)| Opening {
            name: "neck".to_owned(),
            part: Part::Head.word().to_owned(),
            place: opens,
            asked: false,
            what: What::Hole { opens, closes },
        }));
    });
    openings
}

fn part_by_name(sock: bool, name: &str) -> Option<String> {
    let name = name.to_lowercase();
    let has = |words: &[&str]| words.iter().any(|word| name.split(' ').any(|n| n == *word));
    let part = if has(&["brim", "neckband", "collar", "turtleneck", "polo"]) {
        Part::Head
    } else if has(&["cuff", "cuffs"]) {
        if sock { Part::Heel } else { Part::Hand }
    } else {
        return None;
    };
    Some(part.word().to_owned())
}

fn is_shoulder(step: &Step) -> bool {
    matches!(
        &step.action,
        Action::Part { name, .. } | Action::Reverse { name, .. }
            if name.value.to_lowercase().contains("shoulder")
    )
}
