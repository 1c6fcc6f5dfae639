//! Even changes written out: "*k10 (11, 12, 13), k2tog; rep from * to end".
//!
//! Says in stitches what [`crate::plan::spacing`] gives. Sizes whose rows have
//! the same shape share one line, with their numbers side by side.

use super::sheet::{Number, Part, StepLine, Words, plain};
use crate::diag::words;
use crate::plan::spacing::{Change, Piece, Spacing};

/// One line for each shape of row among the sizes (by their places).
pub(super) fn lines(rows: &[(usize, Spacing)], names: &[String], purl: bool) -> Vec<StepLine> {
    let mut groups: Vec<Vec<&(usize, Spacing)>> = Vec::new();
    for row in rows {
        let alike = |group: &&mut Vec<&(usize, Spacing)>| {
            group.first().is_some_and(|first| {
                first.1.change() == row.1.change() && same_shape(first.1.pieces(), row.1.pieces())
            })
        };
        match groups.iter_mut().find(alike) {
            Some(group) => group.push(row),
            None => groups.push(vec![row]),
        }
    }
    let all = groups.len() == 1 && rows.len() == names.len();
    groups.into_iter().filter_map(|group| line(&group, names, all, purl)).collect()
}

fn line(group: &[&(usize, Spacing)], names: &[String], all: bool, purl: bool) -> Option<StepLine> {
    let sizes: Vec<usize> = group.iter().map(|row| row.0).collect();
    let (_, first) = group.first()?;
    let stitches =
        Stitches { plain: if purl { "p" } else { "k" }, change: name(first.change(), purl) };
    let pieces: Vec<&[Piece]> = group.iter().map(|row| row.1.pieces()).collect();
    let repeats = group.iter().all(|row| row.1.whole_repeat().is_some());
    let mut words = if repeats {
        let units: Vec<&[Piece]> =
            group.iter().filter_map(|row| row.1.whole_repeat().map(|(unit, _)| unit)).collect();
        let mut words = vec![plain("*")];
        words.extend(sequence(&units, &sizes, stitches));
        words.push(plain("; rep from * to end"));
        words
    } else {
        sequence(&pieces, &sizes, stitches)
    };
    words.push(plain("."));
    let named: Vec<String> = sizes.iter().filter_map(|size| names.get(*size).cloned()).collect();
    let label = if all {
        "Evenly spaced:".to_owned()
    } else {
        format!("Evenly spaced for {}:", words::list(&named, "and"))
    };
    let sizes = if all { Vec::new() } else { sizes };
    Some(StepLine { label: Some(label), words, sizes, ..StepLine::default() })
}

#[derive(Clone, Copy)]
struct Stitches {
    plain: &'static str,
    change: &'static str,
}

const fn name(change: Change, purl: bool) -> &'static str {
    match (change, purl) {
        (Change::M1, false) => "m1",
        (Change::M1, true) => "m1p",
        (Change::InStitch, false) => "kfb",
        (Change::InStitch, true) => "pfb",
        (Change::Together, false) => "k2tog",
        (Change::Together, true) => "p2tog",
    }
}

fn same_shape(one: &[Piece], other: &[Piece]) -> bool {
    one.len() == other.len()
        && one.iter().zip(other).all(|pair| match pair {
            (Piece::Plain(_), Piece::Plain(_)) | (Piece::Change, Piece::Change) => true,
            (Piece::Times(a, _), Piece::Times(b, _)) => same_shape(a, b),
            _ => false,
        })
}

/// Rows of one shape, side by side.
fn sequence(rows: &[&[Piece]], sizes: &[usize], stitches: Stitches) -> Words {
    let mut words = Words::new();
    for index in 0..rows.first().map_or(0, |row| row.len()) {
        if index > 0 {
            words.push(plain(", "));
        }
        let here: Vec<&Piece> = rows.iter().filter_map(|row| row.get(index)).collect();
        words.extend(piece(&here, sizes, stitches));
    }
    words
}

fn piece(rows: &[&Piece], sizes: &[usize], stitches: Stitches) -> Words {
    let number = |of: &dyn Fn(&Piece) -> u32| {
        let each = rows.iter().zip(sizes).map(|(row, size)| (*size, of(row).to_string()));
        Part::Number(Number::by_size(each.collect()))
    };
    match rows.first() {
        None => Words::new(),
        Some(Piece::Change) => vec![plain(stitches.change)],
        Some(Piece::Plain(_)) => {
            let count = |row: &Piece| match row {
                Piece::Plain(stitches) => stitches.0,
                _ => 0,
            };
            vec![plain(stitches.plain), number(&count)]
        }
        Some(Piece::Times(..)) => {
            let times = |row: &Piece| match row {
                Piece::Times(_, times) => *times,
                _ => 0,
            };
            let units: Vec<&[Piece]> = rows
                .iter()
                .filter_map(|row| match row {
                    Piece::Times(unit, _) => Some(unit.as_slice()),
                    _ => None,
                })
                .collect();
            let mut words = vec![plain("[")];
            words.extend(sequence(&units, sizes, stitches));
            words.extend([plain("] "), number(&times), plain(" times")]);
            words
        }
    }
}
