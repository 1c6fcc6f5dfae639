//! `wale check`: what is wrong in patterns.

use super::args::{Check, Form};
use super::input::{self, Input};
use super::{Failure, Status, Streams};
use crate::diag::{Finding, Severity, render};
use crate::review::Allowed;
use crate::source::Source;
use crate::syntax;
use serde_json::{Value, json};

pub(super) fn run(args: &Check, streams: &mut Streams<'_>) -> Result<Status, Failure> {
    input::once(args.patterns.iter())?;
    let mut checked = Vec::new();
    let mut status = Status::Done;
    for path in &args.patterns {
        match input::read(path, streams.stdin) {
            Ok(Input::Text(source)) => checked.push(looked_at(source)),
            Ok(Input::Refused(source, finding)) => {
                checked.push(Looked { source, findings: vec![finding], allowed: Vec::new() });
            }
            // The other files are checked all the same.
            Err(failure) => {
                streams.say(&failure);
                status = Status::Failed;
            }
        }
    }
    for Looked { findings, .. } in &checked {
        status = status.max(Status::of(findings, args.deny_warnings));
    }
    let text = match args.form {
        Form::Text => as_text(&checked, streams),
        Form::Json => format!("{:#}\n", as_json(&checked)),
    };
    streams.print(&text)?;
    Ok(status)
}

/// A file and what was found in it.
struct Looked {
    source: Source,
    findings: Vec<Finding>,
    allowed: Vec<Allowed>,
}

fn looked_at(source: Source) -> Looked {
    let parsed = syntax::parse(&source);
    let (findings, allowed) = match &parsed.document {
        Some(document) => {
            let checked = crate::check(&source, document, parsed.findings);
            (checked.findings, checked.allowed)
        }
        None => (parsed.findings, Vec::new()),
    };
    Looked { source, findings, allowed }
}

/// The findings of each file, and a line that sums them up.
fn as_text(checked: &[Looked], streams: &Streams<'_>) -> String {
    let style = streams.stdout.style();
    checked
        .iter()
        .map(|Looked { source, findings, .. }| {
            let shown = render::text(findings, source, None, style);
            let gap = if findings.is_empty() { "" } else { "\n" };
            format!("{shown}{gap}{}: {}\n", source.name, render::summary(findings))
        })
        .collect::<Vec<_>>()
        .join("\n")
}

/// One object a file.
fn as_json(checked: &[Looked]) -> Value {
    checked
        .iter()
        .map(|Looked { source, findings, allowed }| {
            let number = |severity| findings.iter().filter(|f| f.severity == severity).count();
            json!({
                "file": source.name,
                "errors": number(Severity::Error),
                "warnings": number(Severity::Warning),
                "notes": number(Severity::Note),
                "findings": render::json(findings, source, None),
                "allowed": allowed.iter().map(|one| permitted(one, source)).collect::<Vec<_>>(),
            })
        })
        .collect()
}

/// A finding that the author allows, with the reason.
fn permitted(one: &Allowed, source: &Source) -> Value {
    let found = std::slice::from_ref(&one.finding);
    json!({ "reason": one.reason, "finding": render::json(found, source, None)[0] })
}
