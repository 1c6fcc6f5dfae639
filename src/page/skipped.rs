//! What some sizes do without: items of a row, rates of a schedule, more than one time.
//!
//! A page of all sizes says it for all, with `-` where a size has none. Where one size is
//! chosen, what it does without can be hidden, the comma beside it too.

use super::sheet::Part;
use crate::measure::SizeId;
use crate::source::{Source, Span};
use crate::syntax::tree::{Action, Counts, Item, ItemKind, Rate, Schedule, Step};
use crate::syntax::visit::{self, Number};

/// A part that stands at a place of the source, and takes no room there.
pub(super) type Mark = (usize, Part);

/// Where what some of so many sizes do without begins and ends, in the order of parts at one place.
pub(super) fn marks(source: &Source, step: &Step, sizes: usize) -> Vec<Mark> {
    let finder = Finder { source, sizes };
    let mut marks = Vec::new();
    // Those inside others first: where two end at one place the inner one ends first.
    visit::in_step(step, &mut |number| {
        if let Number::Counts(counts) = number
            && step.span.contains(counts.span)
        {
            marks.extend(finder.once(counts));
        }
    });
    match &step.action {
        Action::Row { items, .. } => finder.items(items, &mut marks),
        Action::Shape { schedule, .. }
        | Action::Wedges { schedule, .. }
        | Action::RepeatAt { schedule, .. } => finder.rates(schedule, &mut marks),
        _ => {}
    }
    marks
}

/// One of several things beside each other.
struct Piece {
    span: Span,
    /// By size, whether it is worked.
    worked: Vec<bool>,
}

struct Finder<'a> {
    source: &'a Source,
    sizes: usize,
}

impl Finder<'_> {
    fn by_size(&self, worked: impl Fn(SizeId) -> bool) -> Vec<bool> {
        (0..self.sizes).map(|size| worked(SizeId(size))).collect()
    }

    fn items(&self, items: &[Item], marks: &mut Vec<Mark>) {
        for item in items {
            if let ItemKind::Group { items, .. }
            | ItemKind::Star { items, .. }
            | ItemKind::InOne { items } = &item.kind
            {
                self.items(items, marks);
            }
        }
        let piece = |item: &Item| Piece {
            span: item.marks.iter().fold(item.span, |span, mark| span.to(mark.span)),
            worked: self.by_size(|size| !visit::skips(item, size)),
        };
        hide(&items.iter().map(piece).collect::<Vec<_>>(), marks);
    }

    fn rates(&self, schedule: &Schedule, marks: &mut Vec<Mark>) {
        let none = |rate: &Rate, size| {
            let times = rate.times.as_ref();
            times.is_some_and(|n| n.given.skips(size) || n.given.get(size) == Some(&0))
        };
        let piece =
            |rate: &Rate| Piece { span: rate.span, worked: self.by_size(|size| !none(rate, size)) };
        hide(&schedule.rates.iter().map(piece).collect::<Vec<_>>(), marks);
    }

    /// `1 (2, 3) times` is `once` where the first size stands alone.
    fn once(&self, counts: &Counts) -> Vec<Mark> {
        counts.given.listed().filter(|_| !counts.live).map_or(Vec::new(), |_| {
            let one = self.by_size(|size| counts.given.get(size) == Some(&1));
            let after = self.source.text.get(counts.span.end..).unwrap_or("");
            match said_times(after) {
                Some((length, more)) if one.contains(&true) => {
                    let once = if more { "once more" } else { "once" };
                    let end = counts.span.end + length;
                    vec![
                        (counts.span.start, Part::For(places(&one, false))),
                        (end, Part::ForAll),
                        (end, Part::Alone(places(&one, true), once.to_owned())),
                    ]
                }
                _ => Vec::new(),
            }
        })
    }
}

/// The places of the sizes that are so.
fn places(sizes: &[bool], so: bool) -> Vec<usize> {
    sizes.iter().enumerate().filter(|(_, is)| **is == so).map(|(size, _)| size).collect()
}

/// How far ` times` or ` more times` reaches, where a text begins so, and whether it says `more`.
fn said_times(text: &str) -> Option<(usize, bool)> {
    let mut at = 0;
    let mut more = false;
    loop {
        let rest = text.get(at..)?;
        let blank = rest.len() - rest.trim_start().len();
        let word = rest.trim_start().split(|c: char| !c.is_alphabetic()).next()?;
        at += blank + word.len();
        match word {
            "times" | "time" => return Some((at, more)),
            "more" => more = true,
            _ => return None,
        }
    }
}

/// Hides each piece from the sizes that do not work it, and what parts two pieces from those that
/// do not work the second, or nothing before it.
fn hide(pieces: &[Piece], marks: &mut Vec<Mark>) {
    let mut only = |span: Span, shown: Vec<bool>| {
        if shown.contains(&false) {
            marks.push((span.start, Part::For(places(&shown, true))));
            marks.push((span.end, Part::ForAll));
        }
    };
    let mut begun: Vec<bool> = Vec::new();
    let mut end = None;
    for piece in pieces {
        let both = |(worked, begun): (&bool, &bool)| *worked && *begun;
        if let Some(end) = end {
            let shown = piece.worked.iter().zip(&begun).map(both).collect();
            only(Span::new(end, piece.span.start), shown);
        }
        only(piece.span, piece.worked.clone());
        begun.resize(piece.worked.len(), false);
        begun.iter_mut().zip(&piece.worked).for_each(|(begun, worked)| *begun |= worked);
        end = Some(piece.span.end);
    }
}
