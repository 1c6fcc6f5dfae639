//! The outline of a piece as it was, dashed, under the outline as it is.

use super::frame::Frame;
use super::letters::{Called, Letters, Measured, same};
use crate::Checked;
use crate::measure::{Length, SizeId};
use crate::page::svg::{Pen, Svg, legend_line};
use crate::plan::outline::{Outline, outline};
use crate::source::Span;

/// Dashes of what was.
const WAS: Pen = Pen { width: 1.4, dashes: Some(5.0) };
/// Whole lines of what is.
const IS: Pen = Pen { width: 1.8, dashes: None };

/// A piece of two patterns in every size that both have, all at one scale.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Overlay {
    /// Its name in the new pattern, or else in the old.
    pub(crate) piece: String,
    /// A drawing for each size.
    pub(crate) views: Vec<View>,
    /// What its letters stand for.
    pub(crate) letters: Vec<Letter>,
    /// Whether there are short rows, which are not drawn.
    pub(crate) short_rows: bool,
}

/// One size of it.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct View {
    /// The size, by its place among those of both patterns.
    pub(crate) size: usize,
    /// The drawing.
    pub(crate) svg: String,
}

/// A width or a height before and after.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Letter {
    /// `A`
    pub(crate) name: String,
    /// Whether it is a width all the way round.
    pub(crate) around: bool,
    /// Old and new, in the order of the views.
    pub(crate) sizes: Vec<(Option<Length>, Option<Length>)>,
}

/// The outlines of pieces of two patterns over one another, in every size, old and new.
///
/// `pieces` are those that answer to each other, by their places; `sizes` are
/// the names of all sizes with their places; `was` is what a step of the new
/// pattern was in the old. A piece that cannot be drawn is left out.
pub(crate) fn overlays(
    (old, new): (&Checked<'_>, &Checked<'_>),
    pieces: &[(Option<usize>, Option<usize>)],
    sizes: &[(String, Option<SizeId>, Option<SizeId>)],
    was: &dyn Fn(Span) -> Option<Span>,
) -> Vec<Overlay> {
    let drawn = |side: &Checked<'_>,
                 size: Option<SizeId>,
                 piece: Option<usize>|
     -> Option<Outline> { outline(&side.model, side.traces.get(size?.0)?, piece?) };
    let one = |&(then, now): &(Option<usize>, Option<usize>)| {
        let def = |side: &Checked<'_>, piece: Option<usize>| {
            side.model.pieces.get(piece?).map(|piece| piece.name.value.clone())
        };
        let sized = sizes.iter().enumerate().map(|(size, (name, before, after))| Sized {
            size,
            name: name.clone(),
            old: drawn(old, *before, then),
            new: drawn(new, *after, now),
        });
        let name = def(new, now).or_else(|| def(old, then))?;
        overlay(&name, &sized.collect::<Vec<_>>(), was)
    };
    pieces.iter().filter_map(one).collect()
}

/// The outlines of one size, with its place and its name.
struct Sized {
    size: usize,
    name: String,
    old: Option<Outline>,
    new: Option<Outline>,
}

/// Draws a piece; `was` is what a step of the new pattern was in the old.
/// `None` where there is nothing to draw.
fn overlay(piece: &str, sizes: &[Sized], was: &dyn Fn(Span) -> Option<Span>) -> Option<Overlay> {
    let all = || sizes.iter().flat_map(|size| size.old.iter().chain(&size.new));
    let frame = Frame::around(all())?;
    // Letters stand by the new pattern, and by the old where the new has no such piece.
    let some_new = sizes.iter().any(|size| size.new.is_some());
    let shown = sizes
        .iter()
        .filter_map(|size| if some_new { size.new.as_ref() } else { size.old.as_ref() });
    let most =
        shown.clone().max_by_key(|outline| outline.levels.last().map(|level| level.height))?;
    let letters = Letters::of(most, &shown, &frame);
    let then: Called<'_> = if some_new { was } else { &same };
    let mut told: Vec<Letter> = letters
        .names()
        .map(|name| Letter { name: name.to_owned(), around: false, sizes: Vec::new() })
        .collect();
    let mut views = Vec::new();
    for Sized { size, name, old, new } in sizes {
        if old.is_none() && new.is_none() {
            continue;
        }
        let known = |outline: &Option<Outline>, called: Called<'_>| {
            outline.as_ref().map(|outline| letters.measured(outline, called))
        };
        let (before, after) = (known(old, then), known(new, &same));
        let svg = view(piece, name, (old, new), (&letters, then), &frame);
        views.push(View { size: *size, svg });
        for (index, letter) in told.iter_mut().enumerate() {
            let at = |side: &Option<Vec<_>>| side.as_ref().and_then(|side| *side.get(index)?);
            let (was, is): (Option<Measured>, Option<Measured>) = (at(&before), at(&after));
            letter.around |= was.iter().chain(&is).any(|measured| measured.around);
            letter.sizes.push((was.map(|m| m.length), is.map(|m| m.length)));
        }
    }
    let short_rows = all().any(|outline| outline.short_rows);
    Some(Overlay { piece: piece.to_owned(), views, letters: told, short_rows })
}

fn view(
    piece: &str,
    size: &str,
    (old, new): (&Option<Outline>, &Option<Outline>),
    (letters, then): (&Letters, Called<'_>),
    frame: &Frame,
) -> String {
    let mut svg = Svg::default();
    new.iter().for_each(|outline| frame.fill(outline, &mut svg));
    old.iter().for_each(|outline| frame.draw(outline, WAS, &mut svg));
    new.iter().for_each(|outline| frame.draw(outline, IS, &mut svg));
    match (old, new) {
        (_, Some(new)) => letters.draw(new, &same, frame, &mut svg),
        (Some(old), None) => letters.draw(old, then, frame, &mut svg),
        (None, None) => {}
    }
    let size = if size.is_empty() { String::new() } else { format!(", size {size}") };
    let what = match (old, new) {
        (Some(_), Some(_)) => "dashed as it was, whole as it is",
        (None, _) => "as it is",
        (_, None) => "as it was",
    };
    svg.finish(frame.width, frame.height, &format!("{piece}{size}: {what}"), false)
}

/// A short line of each kind, for a legend: as it was, as it is.
pub(crate) fn legend() -> (String, String) {
    (legend_line(WAS, "a dashed line"), legend_line(IS, "a whole line"))
}

/// A piece drawn over itself in one size: what is drawn, and its frame.
pub(super) fn alone(old: &Outline, new: &Outline) -> Option<(Svg, Frame, Letters)> {
    let frame = Frame::around([old, new])?;
    let letters = Letters::of(new, &std::iter::once(new), &frame);
    let mut svg = Svg::default();
    frame.fill(new, &mut svg);
    frame.draw(old, WAS, &mut svg);
    frame.draw(new, IS, &mut svg);
    letters.draw(new, &same, &frame, &mut svg);
    Some((svg, frame, letters))
}
