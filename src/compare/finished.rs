//! What the garment measures, before and after.
//!
//! Where nobody has worked the measurements out, the author's own marks serve:
//! `cast on 96 [head + ease]` says that 96 stitches are as wide as `head + ease`.
//! The length of a piece is known where its rows were worked.

use super::align::{self, Row, SectionRow};
use super::items::Part;
use super::numbers::in_sizes;
use super::{Amount, Cell, Measured, Side, Sizes};
use crate::measure::Length;
use crate::model::Model;
use crate::plan::facts;
use crate::work::Trace;

/// One finished measurement of one pattern.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Finished {
    /// What is measured; the same words for the same measurement of both patterns.
    pub what: String,
    /// Its length in each size of the pattern; `None` where it is not known.
    pub lengths: Vec<Option<Length>>,
}

/// What a worked pattern comes to: its measurements as its page tells them, then the length of each
/// piece. `None` where its rows were not worked.
#[must_use]
pub fn finished(model: &Model<'_>, traces: &[Trace]) -> Option<Vec<Finished>> {
    if traces.is_empty() {
        return None;
    }
    let found = facts::finished(model, traces);
    let eased = facts::eased(model, &found);
    let landmarks =
        found.into_iter().map(|found| Finished { what: found.landmark, lengths: found.lengths });
    let eased = eased
        .into_iter()
        .map(|eased| Finished { what: format!("{}: ease", eased.landmark), lengths: eased.actual });
    let lengths = facts::piece_lengths(model, traces);
    let pieces = model
        .pieces
        .iter()
        .zip(lengths)
        .filter(|(_, lengths)| lengths.iter().any(|length| length.is_positive()));
    let pieces = pieces.map(|(piece, lengths)| Finished {
        what: format!("{}: length", piece.name.value),
        lengths: lengths.into_iter().map(Some).collect(),
    });
    Some(landmarks.chain(eased).chain(pieces).collect())
}

/// A measurement of one pattern by size, in this module's own terms.
pub(super) type Named = (String, Vec<Cell>);

/// The measurements of both: those given, where both sides give them, else those marked.
pub(super) fn compare(
    (old, old_parts): (&Side<'_>, &[Part]),
    (new, new_parts): (&Side<'_>, &[Part]),
    rows: &[SectionRow],
    sizes: &Sizes,
) -> Vec<Measured> {
    if let (Some(old), Some(new)) = (old.finished, new.finished) {
        return side_by_side(Some(&given(old)), Some(&given(new)), "", sizes);
    }
    rows.iter()
        .flat_map(|SectionRow { row, .. }| {
            let old = row.old.and_then(|i| old_parts.get(i));
            let new = row.new.and_then(|j| new_parts.get(j));
            let name = new.or(old).map_or("", |part| part.name.as_str());
            let [old, new] = [old, new].map(|part| part.map(|part| part.measures.as_slice()));
            side_by_side(old, new, name, sizes)
        })
        .collect()
}

fn given(finished: &[Finished]) -> Vec<Named> {
    let cell = |length: &Option<Length>| {
        length.map_or(Cell::Unknown, |length| Cell::Is(Amount::Length(length)))
    };
    finished.iter().map(|f| (f.what.clone(), f.lengths.iter().map(cell).collect())).collect()
}

/// Puts the measurements of two pieces side by side. One that only one of them has is not known of
/// the other, and not there where there is no other.
fn side_by_side(
    old: Option<&[Named]>,
    new: Option<&[Named]>,
    piece: &str,
    sizes: &Sizes,
) -> Vec<Measured> {
    let names = |side: Option<&[Named]>| -> Vec<String> {
        side.unwrap_or_default().iter().map(|(name, _)| name.clone()).collect()
    };
    let cells = |side: Option<&[Named]>, at: Option<usize>, places: usize| {
        let known = at.and_then(|at| Some(side?.get(at)?.1.clone()));
        side.map(|_| known.unwrap_or_else(|| vec![Cell::Unknown; places]))
    };
    let (names_old, names_new) = (names(old), names(new));
    align::by_name(&names_old, &names_new)
        .into_iter()
        .filter_map(|Row { old: i, new: j, .. }| {
            let name = j.and_then(|j| names_new.get(j)).or(i.and_then(|i| names_old.get(i)))?;
            Some(Measured {
                what: if piece.is_empty() { name.clone() } else { format!("{piece}: {name}") },
                sizes: in_sizes(
                    cells(old, i, sizes.places_old()).as_deref(),
                    cells(new, j, sizes.places_new()).as_deref(),
                    sizes,
                ),
            })
        })
        .collect()
}
