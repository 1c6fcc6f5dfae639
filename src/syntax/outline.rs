//! A tree in a few lines, to read in tests; and what is true of every tree.

use super::tree::{Action, Block, Document, Prose, Section, SectionKind, Setting, Step};
use super::visit::{self, Number};
use crate::source::{Source, Span};
use std::fmt::Write;

/// The structure of a pattern, one block or instruction a line, indented.
#[must_use]
pub fn tree(document: &Document, source: &Source) -> String {
    let mut out = String::new();
    for section in &document.sections {
        let title = section.heading.as_ref().map(|h| h.text.value.as_str()).unwrap_or_default();
        let head = match &section.kind {
            SectionKind::Prose if section.heading.is_none() => "opening".to_owned(),
            SectionKind::Prose => format!("prose {title:?}"),
            SectionKind::Fabric(name) => format!("fabric {:?}", name.value),
            SectionKind::Piece(piece) => {
                let setting = match piece.setting.value {
                    Setting::Flat => "flat",
                    Setting::Round => "round",
                };
                format!("piece {:?} {setting} x{}", piece.name.value, piece.copies.value)
            }
        };
        line(&mut out, 0, &head);
        for block in &section.blocks {
            match block {
                Block::Heading(heading) => {
                    line(
                        &mut out,
                        1,
                        &format!("heading {} {:?}", heading.level, heading.text.value),
                    );
                }
                Block::Prose(prose) => {
                    let live: String = prose
                        .live
                        .iter()
                        .map(|live| format!(" live {}", source.slice(live.span)))
                        .collect();
                    line(&mut out, 1, &format!("prose {:?}{live}", source.slice(prose.span)));
                }
                Block::Steps(steps) => {
                    line(&mut out, 1, "steps");
                    steps.iter().for_each(|step| step_lines(&mut out, 2, step, source));
                }
            }
        }
    }
    out
}

fn step_lines(out: &mut String, depth: usize, step: &Step, source: &Source) {
    line(out, depth, &format!("{} {:?}", action(&step.action), source.slice(step.span)));
    step.steps.iter().for_each(|inner| step_lines(out, depth + 1, inner, source));
}

fn line(out: &mut String, depth: usize, text: &str) {
    // Writing to a string cannot fail.
    let _ = writeln!(out, "{:1$}{text}", "", depth * 2);
}

const fn action(action: &Action) -> &'static str {
    match action {
        Action::CastOn { .. } => "cast-on",
        Action::JoinRound => "join-round",
        Action::WorkFlat => "work-flat",
        Action::ChangeTo(_) => "change-to",
        Action::Stripes(_) => "stripes",
        Action::Work { .. } => "work",
        Action::Row { .. } => "row",
        Action::SameRows { .. } => "same-rows",
        Action::Repeat { .. } => "repeat",
        Action::RepeatAt { .. } => "repeat-at",
        Action::Even { .. } => "even",
        Action::Shape { .. } => "shape",
        Action::Wedges { .. } => "wedges",
        Action::ShortRows { .. } => "short-rows",
        Action::TurnHeel { .. } => "turn-heel",
        Action::BindOff { .. } => "bind-off",
        Action::Hold { .. } => "hold",
        Action::TakeUp(_) => "take-up",
        Action::PickUp { .. } => "pick-up",
        Action::Part { .. } => "part",
        Action::Reverse { .. } => "reverse",
        Action::Together => "together",
        Action::AsFor { .. } => "as-for",
        Action::Close(_) => "close",
        Action::Say => "say",
    }
}

/// The first span that breaks what is true of every tree: spans lie on
/// character boundaries, within their parents, and in the order of the text;
/// the sections together are the whole text after the front matter.
#[must_use]
pub fn misplaced(document: &Document, text: &str) -> Option<Span> {
    let mut check = Check { text, wrong: None };
    let mut at = document.sections.first().map_or(text.len(), |first| first.span.start);
    for section in &document.sections {
        check.that(section.span, section.span.start == at);
        at = section.span.end;
        check.section(section);
    }
    check.that(Span::at(at), at == text.len());
    check.wrong
}

struct Check<'t> {
    text: &'t str,
    wrong: Option<Span>,
}

impl Check<'_> {
    fn that(&mut self, span: Span, holds: bool) {
        let sound = self.text.get(span.range()).is_some();
        if self.wrong.is_none() && !(sound && holds) {
            self.wrong = Some(span);
        }
    }

    fn section(&mut self, section: &Section) {
        let mut at = section.span.start;
        if let Some(heading) = &section.heading {
            self.that(heading.span, section.span.contains(heading.span));
            self.that(heading.text.span, heading.span.contains(heading.text.span));
            at = heading.span.end;
        }
        for block in &section.blocks {
            match block {
                Block::Heading(heading) => {
                    self.that(heading.text.span, heading.span.contains(heading.text.span));
                    self.next(heading.span, &mut at);
                }
                Block::Prose(prose) => {
                    self.prose(prose);
                    self.next(prose.span, &mut at);
                }
                Block::Steps(steps) => steps.iter().for_each(|step| self.step(step, &mut at)),
            }
            self.that(Span::at(at), at <= section.span.end);
        }
    }

    fn next(&mut self, span: Span, at: &mut usize) {
        self.that(span, *at <= span.start);
        *at = span.end;
    }

    fn prose(&mut self, prose: &Prose) {
        let mut at = prose.span.start;
        for live in &prose.live {
            self.next(live.span, &mut at);
        }
        self.that(prose.span, at <= prose.span.end);
    }

    fn step(&mut self, step: &Step, at: &mut usize) {
        self.next(step.span, at);
        let (own, nested) = (step.span, !step.steps.is_empty());
        for only in &step.only {
            // The sizes of a list item stand before its first instruction.
            self.that(only.span, own.contains(only.span) || step.link.is_some());
        }
        let places = step
            .ending
            .iter()
            .map(|ending| ending.span)
            .chain(step.marks.iter().map(|mark| mark.span));
        for span in places {
            self.that(span, own.contains(span));
        }
        if let Some(remark) = &step.remark {
            self.that(remark.span, own.contains(remark.span));
            self.prose(remark);
        }
        visit::in_step(step, &mut |number| {
            let span = match number {
                Number::Counts(counts) => counts.span,
                Number::Lengths(lengths) => lengths.span,
            };
            // Those of nested instructions come after.
            self.that(span, own.contains(span) || (nested && span.start >= own.end));
        });
        step.steps.iter().for_each(|inner| self.step(inner, at));
    }
}
