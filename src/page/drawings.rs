//! Drawings by themselves: as files, and of two patterns over one another.

use super::schematic;
use super::{chart, no_such_size, one_size, worked};
use crate::Checked;
use crate::diag::{Code, Finding};
use crate::measure::SizeId;
use crate::source::{Source, Span};

/// A drawing as an SVG file of its own.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Drawing {
    /// The piece or the fabric it shows.
    pub name: String,
    /// A name for its file, without a folder.
    pub file: String,
    /// The file.
    pub svg: String,
}

/// The outlines of the pieces, to scale, and the charts of the fabrics.
///
/// `checked` must be without errors. A piece without a row gauge has no
/// outline; a fabric that is not told stitch by stitch has no chart.
#[must_use]
pub fn drawings(checked: &Checked<'_>) -> Vec<Drawing> {
    let mut all = Vec::new();
    for (index, piece) in checked.model.pieces.iter().enumerate() {
        let drawn = schematic::schematic(checked, index).map(|drawn| drawn.file());
        add(&mut all, &piece.name.value, "", drawn);
    }
    for (index, fabric) in checked.model.fabrics.iter().enumerate() {
        let drawn = chart::drawn(checked, index).map(|drawn| drawn.file());
        add(&mut all, &fabric.name.value, "-chart", drawn);
    }
    all
}

/// The drawings of a pattern, of all sizes nested or of one.
///
/// # Errors
/// Everything found, where there are errors; that there is no such size.
pub fn draw(source: &Source, size: Option<&str>) -> Result<Vec<Drawing>, Vec<Finding>> {
    match size {
        None => worked(source, drawings),
        Some(name) => worked(&one_size(source, name)?, drawings),
    }
}

/// The outlines of pieces that two patterns have in common, the old dashed
/// under the new, in a size that both have: the one named, or else the first.
///
/// # Errors
/// Everything found, where there are errors; that they share no such size.
pub fn draw_over(
    old: &Source,
    new: &Source,
    size: Option<&str>,
) -> Result<Vec<Drawing>, Vec<Finding>> {
    let drawn = worked(old, |before| {
        worked(new, |after| {
            let place = |checked: &Checked<'_>, name: &str| {
                checked.model.sizes.iter().position(|size| size == name)
            };
            let shared: Vec<(usize, usize)> = after
                .model
                .sizes
                .iter()
                .enumerate()
                .filter(|(_, name)| size.is_none_or(|wanted| wanted == *name))
                .filter_map(|(index, name)| Some((place(before, name)?, index)))
                .collect();
            let Some((then, now)) = shared.first() else {
                let known: Vec<&str> = after.model.sizes.iter().map(String::as_str).collect();
                return Err(vec![match size {
                    Some(name) => no_such_size(name, &known),
                    None => no_common_size(),
                }]);
            };
            Ok(all_over((before, SizeId(*then)), (after, SizeId(*now))))
        })
    });
    drawn??
}

fn all_over(old: (&Checked<'_>, SizeId), new: (&Checked<'_>, SizeId)) -> Vec<Drawing> {
    let mut all = Vec::new();
    for (index, piece) in new.0.model.pieces.iter().enumerate() {
        let name = &piece.name.value;
        let before =
            old.0.model.pieces.iter().position(|p| p.name.value.eq_ignore_ascii_case(name));
        let traces = (old.0.traces.get(old.1.0), new.0.traces.get(new.1.0));
        if let (Some(before), (Some(then), Some(now))) = (before, traces) {
            let drawn = schematic::over((old.0, then, before), (new.0, now, index));
            add(&mut all, name, "-changes", drawn.map(|drawn| drawn.file()));
        }
    }
    all
}

fn add(all: &mut Vec<Drawing>, name: &str, what: &str, svg: Option<String>) {
    let Some(svg) = svg else { return };
    let plain: String =
        name.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
    let words: Vec<&str> = plain.split('-').filter(|word| !word.is_empty()).collect();
    // Names of files end somewhere.
    let words: String = words.join("-").chars().take(60).collect();
    let stem = format!("{}{what}", if words.is_empty() { "piece" } else { &words });
    let mut file = format!("{stem}.svg");
    for number in 2.. {
        if !all.iter().any(|drawing| drawing.file == file) {
            break;
        }
        file = format!("{stem}-{number}.svg");
    }
    all.push(Drawing { name: name.to_owned(), file, svg });
}

fn no_common_size() -> Finding {
    let message = "the two patterns have no size in common";
    let mut finding = Finding::new(Code::UnknownName, Span::at(0), message);
    finding.labels.clear();
    finding.help("sizes are the same where their names are")
}
