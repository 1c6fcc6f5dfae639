//! `wale diff`: what changed between two patterns.

use super::args::{ChangesForm, Diff};
use super::input::{self, Input};
use super::{Failure, Status, Streams};
use crate::Compared;
use crate::compare::{html, json, markdown, text};
use crate::diag::{Finding, render};
use crate::syntax::parse;
use crate::syntax::tree::Document;

pub(super) fn run(args: &Diff, streams: &mut Streams<'_>) -> Result<Status, Failure> {
    input::once([&args.old, &args.new].into_iter())?;
    let old = input::read(&args.old, streams.stdin)?;
    let new = input::read(&args.new, streams.stdin)?;
    let (before, after) = (tree(&old, streams), tree(&new, streams));
    let (Some(before), Some(after)) = (before, after) else { return Ok(Status::Findings) };
    let compared = Compared::new((old.source(), &before), (new.source(), &after));
    let shown = shown(&compared, args.form, args.unchanged, streams);
    streams.print(&shown)?;
    let differs = args.exit_code && compared.changes.differ();
    Ok(if differs { Status::Findings } else { Status::Done })
}

/// A comparison in the form that was asked for; `unchanged` shows what did not change too.
pub(super) fn shown(
    compared: &Compared<'_>,
    form: ChangesForm,
    unchanged: bool,
    streams: &Streams<'_>,
) -> String {
    let changes = &compared.changes;
    match form {
        ChangesForm::Text => {
            let color = streams.stdout.style().color;
            text::text(changes, text::Look { color, unchanged, ..text::Look::default() })
        }
        ChangesForm::Markdown => markdown::markdown(changes, unchanged),
        ChangesForm::Html => html::html(compared, unchanged),
        ChangesForm::Json => format!("{:#}\n", json::json(changes)),
    }
}

/// The tree of a pattern. With an error of reading there is none, since an instruction that could
/// not be read would seem to have been taken out; the errors are told.
fn tree(input: &Input, streams: &mut Streams<'_>) -> Option<Document> {
    let (document, mut findings) = match input {
        Input::Text(source) => {
            let parsed = parse(source);
            (parsed.document, parsed.findings)
        }
        Input::Refused(_, finding) => (None, vec![finding.clone()]),
    };
    findings.retain(Finding::is_error);
    if findings.is_empty() {
        return document;
    }
    let source = input.source();
    let text = render::text(&findings, source, None, streams.stderr.style());
    streams.tell(&format!("{text}\n{}: {}\n", source.name, render::summary(&findings)));
    None
}
