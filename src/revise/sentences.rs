//! Instructions that go from among others of the same list item.

use super::Edit;
use crate::diag::words::capitalised;
use crate::source::{Source, Span};
use crate::syntax::print;
use crate::syntax::tree::Step;

/// The edits that take the steps out of an item that are `skipped`, where at least one is not.
///
/// What is left reads on: the sign or words between two steps go with the step after which
/// they stand, but for the last. Where `note` has something to say instead, it does so in a list
/// item of its own, and what follows it begins another.
pub(super) fn left_out(
    source: &Source,
    item: &[Step],
    skipped: impl Fn(&Step) -> bool,
    note: impl Fn(&Step) -> Option<String>,
) -> Vec<Edit> {
    let last_kept = item.iter().rposition(|step| !skipped(step)).unwrap_or(0);
    let bullet = bullet(source, item);
    let mut edits = Vec::new();
    // Whether the verb that a step without one goes by is gone.
    let mut verb_gone = false;
    for (index, step) in item.iter().enumerate() {
        let verbless = |step: &Step| step.link.is_some_and(|link| link.verbless);
        if !skipped(step) {
            verb_gone &= verbless(step);
            continue;
        }
        verb_gone |= !verbless(step);
        let from = match index.checked_sub(1).and_then(|before| item.get(before)) {
            Some(before) if index > last_kept || note(step).is_some() => before.span.end,
            _ => step.span.start,
        };
        let next = item.get(index + 1).filter(|_| index < last_kept);
        let to = next.map_or(step.span.end, |next| next.span.start);
        let mut text = String::new();
        if let Some(note) = note(step) {
            text.push_str(if index > 0 { &bullet } else { "" });
            text.push_str(&note);
            text.push_str(if next.is_some() { &bullet } else { "" });
        }
        if let Some(next) = next.filter(|next| verb_gone && verbless(next) && !skipped(next)) {
            let verb = print::verb(&next.action);
            let capital = source.slice(step.span).starts_with(char::is_uppercase);
            text.push_str(&if capital { capitalised(verb) } else { verb.to_owned() });
            text.push(' ');
            verb_gone = false;
        }
        edits.push(Edit { span: Span::new(from, to), text });
    }
    edits
}

/// The beginning of another item of the same list, line end and all.
fn bullet(source: &Source, item: &[Step]) -> String {
    let start = item.first().map_or(0, |step| step.span.start);
    let before = source.text.get(..start).unwrap_or_default();
    let line = before.rfind('\n').map_or(0, |end| end + 1);
    format!("\n{}", before.get(line..).unwrap_or_default())
}
