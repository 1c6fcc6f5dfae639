//! Lists in prose that read as instructions.
//!
//! A heading that does not say how its piece is worked opens a section of
//! prose, and nobody would notice that its rows were never counted.

use super::tree::{Action, Heading};
use crate::diag::{Code, Finding, words};
use crate::source::Span;

/// The instructions in the lists of one section of prose.
#[derive(Default)]
pub(super) struct Unworked {
    first: Option<Span>,
    instructions: i64,
    /// One of them is nothing but an instruction; a few abbreviations in a list are a row too.
    certain: bool,
}

impl Unworked {
    /// Takes note of an item that could be read as an instruction.
    pub(super) fn note(&mut self, item: Span, action: &Action) {
        if matches!(action, Action::Say) {
            return;
        }
        self.first.get_or_insert(item);
        self.instructions += 1;
        self.certain |= !matches!(action, Action::Row { label: None, .. });
    }

    /// The finding, where there are enough of them to be no accident.
    pub(super) fn finding(&self, heading: Option<&Heading>) -> Option<Finding> {
        let first = self.first.filter(|_| self.certain && self.instructions > 1)?;
        let many = words::count(self.instructions, "instruction");
        let Some(heading) = heading.filter(|h| h.level == 2) else {
            let message = format!("{many} here stand in no piece, so they are not worked");
            return Some(
                Finding::new(Code::NotWorked, first, message)
                    .label("read as prose")
                    .help("begin a piece above them, as in `## Cap, in the round`"),
            );
        };
        let name = heading.text.span;
        let message = format!(
            "`{}` is read as prose, so its {many} are not worked",
            super::error::clipped(&heading.text.value)
        );
        Some(
            Finding::new(Code::NotWorked, name, message)
                .label("does not say how it is worked")
                .also(first, "the first of them")
                .help("end the heading with `, flat`, `, in the round` or `, fabric`; to go on with the piece above it, begin the heading with `###`"),
        )
    }
}
