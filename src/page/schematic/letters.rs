//! The letters of a drawing: capital ones for widths, small ones for heights.

use super::edges::across;
use super::frame::Frame;
use super::mm;
use crate::measure::Length;
use crate::page::svg::{Pen, Svg};
use crate::plan::outline::{Level, Outline};
use crate::source::Span;

/// Letters are at least so far apart.
const APART: f64 = 20.0;
/// A width has room for its letter from here on.
const WIDE: f64 = 26.0;

/// Which levels of a piece have letters, by their steps: the same in all sizes.
pub(super) struct Letters {
    widths: Vec<(String, Span)>,
    /// From one level to the next.
    heights: Vec<(String, Span, Span)>,
}

/// What a step that has a letter is called in another text.
pub(super) type Called<'c> = &'c dyn Fn(Span) -> Option<Span>;

/// The step itself, in the same text.
#[expect(clippy::unnecessary_wraps, reason = "it is one of several")]
pub(super) fn same(step: Span) -> Option<Span> {
    Some(step)
}

/// What a letter stands for in one outline.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Measured {
    pub(super) length: Length,
    /// Whether it is a width all the way round.
    pub(super) around: bool,
}

impl Letters {
    /// The levels of an outline that are far enough apart to be told, and that `all` have: a size
    /// may skip a step.
    pub(super) fn of<'o>(
        outline: &Outline,
        all: &(impl Iterator<Item = &'o Outline> + Clone),
        frame: &Frame,
    ) -> Self {
        let levels: Vec<&Level> = outline
            .levels
            .iter()
            .filter(|known| all.clone().all(|other| level(other, known.step).is_some()))
            .collect();
        let mut capitals = ('A'..='Z').map(String::from);
        let mut small = ('a'..='z').map(String::from);
        let far =
            |last: &Level, level: &Level| frame.y(last.height) - frame.y(level.height) >= APART;
        let mut widths: Vec<(String, Span)> = Vec::new();
        let mut last: Option<&Level> = None;
        for level in levels.iter().copied() {
            let new = last.is_none_or(|last| last.width != level.width && far(last, level));
            let wide = mm(level.width) * frame.scale >= WIDE
                && !level.parted
                && across(outline, level).is_some();
            if new
                && wide
                && let Some(letter) = capitals.next()
            {
                widths.push((letter, level.step));
                last = Some(level);
            }
        }
        let mut ticks: Vec<&Level> = Vec::new();
        for level in levels.iter().copied() {
            if ticks.last().is_none_or(|last| far(last, level)) {
                ticks.push(level);
            }
        }
        // The top is always told, in the place of what is too near to it.
        if let (Some(top), Some(last)) = (levels.last(), ticks.last_mut())
            && last.step != top.step
        {
            *last = top;
        }
        let heights = ticks
            .windows(2)
            .filter_map(|pair| match pair {
                [from, to] => Some((small.next()?, from.step, to.step)),
                _ => None,
            })
            .collect();
        Self { widths, heights }
    }

    /// The letters beside an outline whose steps are called `called`.
    pub(super) fn draw(&self, outline: &Outline, called: Called<'_>, frame: &Frame, svg: &mut Svg) {
        let pen = Pen::of(0.8);
        let at = |step: Span| level(outline, called(step)?);
        for (letter, step) in &self.widths {
            let Some(level) = at(*step) else { continue };
            let Some((left, right)) = across(outline, level) else { continue };
            let y = frame.y(level.height) - 4.0;
            let (from, to) = (frame.x(left) + 2.0, frame.x(right) - 2.0);
            svg.lines(
                &[
                    vec![(from, y), (to, y)],
                    vec![(from, y - 3.0), (from, y + 3.0)],
                    vec![(to, y - 3.0), (to, y + 3.0)],
                ],
                pen,
            );
            svg.letter(((from + to) / 2.0, y), letter);
        }
        for (letter, from, to) in &self.heights {
            let (Some(from), Some(to)) = (at(*from), at(*to)) else {
                continue;
            };
            let (low, high) = (frame.y(from.height), frame.y(to.height));
            let x = frame.side;
            svg.lines(
                &[
                    vec![(x, low), (x, high)],
                    vec![(x - 3.0, low), (x + 3.0, low)],
                    vec![(x - 3.0, high), (x + 3.0, high)],
                ],
                pen,
            );
            svg.letter((x, (low + high) / 2.0), letter);
        }
    }

    /// The letters, widths first.
    pub(super) fn names(&self) -> impl Iterator<Item = &str> {
        let widths = self.widths.iter().map(|(letter, _)| letter.as_str());
        widths.chain(self.heights.iter().map(|(letter, ..)| letter.as_str()))
    }

    /// What each stands for in an outline whose steps are called `called`, in the order of
    /// [`Letters::names`].
    pub(super) fn measured(&self, outline: &Outline, called: Called<'_>) -> Vec<Option<Measured>> {
        let at = |step: Span| level(outline, called(step)?);
        let widths = self.widths.iter().map(|(_, step)| {
            at(*step).map(|level| Measured { length: level.width, around: level.around })
        });
        let heights = self.heights.iter().map(|(_, from, to)| {
            let length = at(*to)?.height - at(*from)?.height;
            Some(Measured { length, around: false })
        });
        widths.chain(heights).collect()
    }
}

fn level(outline: &Outline, step: Span) -> Option<&Level> {
    outline.levels.iter().find(|level| level.step == step)
}
