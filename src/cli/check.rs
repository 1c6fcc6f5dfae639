//! `wale check`: what is wrong in patterns.

use super::args::{Check, Form};
use super::input::{self, Input};
use super::{Failure, Session, Status};
use crate::diag::{Finding, Severity, render};
use crate::source::Source;
use crate::syntax;
use serde_json::{Value, json};

pub(super) fn run(args: &Check, session: &mut Session<'_>) -> Result<Status, Failure> {
    input::once(args.patterns.iter())?;
    let mut checked = Vec::new();
    let mut status = Status::Done;
    for path in &args.patterns {
        match input::read(path, session.stdin) {
            Ok(Input::Text(source)) => {
                let findings = findings(&source);
                checked.push((source, findings));
            }
            Ok(Input::Refused(source, finding)) => checked.push((source, vec![finding])),
            // The other files are checked all the same.
            Err(failure) => {
                session.say(&failure);
                status = Status::Failed;
            }
        }
    }
    for (_, findings) in &checked {
        status = status.max(Status::of(findings, args.deny_warnings));
    }
    let text = match args.form {
        Form::Text => as_text(&checked, session),
        Form::Json => format!("{:#}\n", as_json(&checked)),
    };
    session.print(&text)?;
    Ok(status)
}

fn findings(source: &Source) -> Vec<Finding> {
    let parsed = syntax::parse(source);
    match &parsed.document {
        Some(document) => crate::check(source, document, parsed.findings).findings,
        None => parsed.findings,
    }
}

/// The findings of each file, and a line that sums them up.
fn as_text(checked: &[(Source, Vec<Finding>)], session: &Session<'_>) -> String {
    let style = session.stdout.style();
    checked
        .iter()
        .map(|(source, findings)| {
            let shown = render::text(findings, source, None, style);
            let gap = if findings.is_empty() { "" } else { "\n" };
            format!("{shown}{gap}{}: {}\n", source.name, render::summary(findings))
        })
        .collect::<Vec<_>>()
        .join("\n")
}

/// One object a file.
fn as_json(checked: &[(Source, Vec<Finding>)]) -> Value {
    checked
        .iter()
        .map(|(source, findings)| {
            let number = |severity| findings.iter().filter(|f| f.severity == severity).count();
            json!({
                "file": source.name,
                "errors": number(Severity::Error),
                "warnings": number(Severity::Warning),
                "notes": number(Severity::Note),
                "findings": render::json(findings, source, None),
            })
        })
        .collect()
}
