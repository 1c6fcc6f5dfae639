//! `wale rewrite`: the same garment for another yarn, fit or range of sizes.

use super::args::{Rewrite, Written};
use super::rewriting::{Inputs, shown};
use super::{Failure, Session, Status, diff, output};
use crate::diag::{Finding, sort};
use crate::page;
use crate::source::Source;
use crate::syntax::parse;
use std::path::Path;

pub(super) fn run(args: &Rewrite, session: &mut Session<'_>) -> Result<Status, Failure> {
    let inputs = Inputs::read(&args.pattern, args.to.as_deref(), session)?;
    let ready = match inputs.ready() {
        Ok(ready) => ready,
        Err(findings) => return Ok(inputs.refuse(findings, session)),
    };
    let rewritten = match ready.rewritten() {
        Ok(rewritten) => rewritten,
        Err(findings) => return Ok(inputs.refuse(findings, session)),
    };
    let mut findings = ready.found.clone();
    findings.extend(rewritten.findings.iter().cloned());
    sort(&mut findings);
    session.tell(&inputs.shown(&findings, session));
    // These are places of the revised pattern, whose lines differ.
    let revised = &rewritten.source;
    let named = Source::new(format!("{} (revised)", revised.name), revised.text.as_str());
    session.tell(&shown(&rewritten.after, &named, None, session));
    let text = match text(args, revised) {
        Ok(text) => text,
        Err(findings) => {
            session.tell(&shown(&findings, &named, None, session));
            return Ok(Status::of(&findings, true));
        }
    };
    match &args.output {
        None if args.changes => {}
        None => session.print(&text)?,
        Some(path) => {
            let read = [Some(args.pattern.as_path()), args.to.as_deref()];
            output::write(path, &text, read.into_iter().flatten())?;
        }
    }
    if args.changes
        && let Some(document) = parse(&named).document
    {
        let changes = crate::changes((ready.source, &ready.document), (&named, &document));
        session.print(&diff::text(&changes, false, session))?;
    }
    Ok(Status::Done)
}

/// The revised pattern in the form that was asked for.
fn text(args: &Rewrite, revised: &Source) -> Result<String, Vec<Finding>> {
    let one_size = args.size.as_ref().map(|name| page::one_size(revised, name)).transpose()?;
    let source = one_size.as_ref().unwrap_or(revised);
    match args.form.unwrap_or_else(|| form_of(args.output.as_deref())) {
        Written::Source => Ok(source.text.clone()),
        Written::Markdown => page::of(source),
    }
}

/// The form that the ending of a file's name tells.
fn form_of(output: Option<&Path>) -> Written {
    match output.and_then(Path::extension) {
        Some(ending) if ending.eq_ignore_ascii_case("wale") => Written::Source,
        _ => Written::Markdown,
    }
}
