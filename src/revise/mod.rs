//! Plan to edits: writes the revised source, leaving every other byte alone.
//!
//! A rewrite is a list of [`Edit`]s, each a place and its new text. Numbers
//! are written in the author's manner: one for all sizes where they agree,
//! else one a size.

mod body;
mod clauses;
pub mod finished;
mod front;
mod nouns;
mod sentences;
pub mod yarn;

use crate::model::Model;
use crate::plan::Plan;
use crate::source::{Source, Span};
use crate::syntax::front::Targets;

/// One change of the source.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Edit {
    /// What is taken out.
    pub span: Span,
    /// What is put there.
    pub text: String,
}

/// The edits that make a pattern what the plan says, in order, none overlapping.
#[must_use]
pub fn edits(source: &Source, model: &Model<'_>, plan: &Plan<'_>, targets: &Targets) -> Vec<Edit> {
    merged(source, front::edits(source, model, plan, targets), body::edits(source, model, plan))
}

/// Two lists of edits as one: in order, none overlapping, none that changes nothing.
#[must_use]
pub fn merged(source: &Source, mut edits: Vec<Edit>, more: Vec<Edit>) -> Vec<Edit> {
    // What is known later is known better.
    edits.retain(|edit| more.iter().all(|m| m.span != edit.span));
    edits.extend(more);
    edits.retain(|edit| source.slice(edit.span) != edit.text);
    edits.sort_by_key(|edit| (edit.span.start, std::cmp::Reverse(edit.span.end)));
    outermost(edits)
}

/// Where one edit lies inside another, the outer one says it all.
fn outermost(edits: Vec<Edit>) -> Vec<Edit> {
    let mut kept: Vec<Edit> = Vec::with_capacity(edits.len());
    for edit in edits {
        if kept.last().is_none_or(|last| edit.span.start >= last.span.end) {
            kept.push(edit);
        }
    }
    kept
}

/// The source with its edits made.
#[must_use]
pub fn apply(source: &Source, edits: &[Edit]) -> String {
    let mut text = String::with_capacity(source.text.len() + 64);
    let mut from = 0;
    for edit in edits {
        text.push_str(source.text.get(from..edit.span.start).unwrap_or(""));
        text.push_str(&edit.text);
        from = edit.span.end;
    }
    text.push_str(source.text.get(from..).unwrap_or(""));
    text
}

/// Where a place of the source is once its edits are made. What is edited as a
/// whole has the place of its new text.
#[must_use]
pub fn moved(edits: &[Edit], place: Span) -> Span {
    let mut offset = 0;
    let to = |offset: isize, at: usize| at.saturating_add_signed(offset);
    for edit in edits {
        if edit.span.start >= place.end && edit.span != place {
            break;
        }
        if edit.span.end > place.start {
            // It touches the place.
            let start = to(offset, edit.span.start);
            let touched = Span::new(start, start + edit.text.len());
            let whole = edit.span.contains(place);
            return if whole { touched } else { touched.to(Span::at(to(offset, place.start))) };
        }
        let (old, new) = (edit.span.end - edit.span.start, edit.text.len());
        offset += isize::try_from(new).unwrap_or(0) - isize::try_from(old).unwrap_or(0);
    }
    Span::new(to(offset, place.start), to(offset, place.end))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_outside_the_edits_stay() {
        let source = Source::new("t", "cast on 96 in brim");
        let edit = Edit { span: Span::new(8, 10), text: "80".to_owned() };
        assert_eq!(apply(&source, &[edit]), "cast on 80 in brim");
        assert_eq!(apply(&source, &[]), source.text);
    }

    #[test]
    fn a_place_moves_with_its_text() {
        let source = Source::new("t", "cast on 96 in brim, then 100 more");
        let edit = |a, b, text: &str| Edit { span: Span::new(a, b), text: text.to_owned() };
        let edits = [edit(8, 10, "120"), edit(25, 28, "7")];
        let revised = Source::new("t", apply(&source, &edits));
        for (place, says) in [
            ((0, 4), "cast"),
            ((8, 10), "120"),
            ((14, 18), "brim"),
            ((25, 28), "7"),
            ((29, 33), "more"),
        ] {
            let place = moved(&edits, Span::new(place.0, place.1));
            assert_eq!(revised.slice(place), says);
        }
    }

    #[test]
    fn an_edit_inside_another_is_left_out() {
        let edit = |a, b, text: &str| Edit { span: Span::new(a, b), text: text.to_owned() };
        let kept = outermost(vec![edit(1, 9, "all"), edit(2, 3, "part"), edit(10, 11, "next")]);
        assert_eq!(kept, vec![edit(1, 9, "all"), edit(10, 11, "next")]);
    }
}
