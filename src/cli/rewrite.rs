//! `wale rewrite`: the same garment for another yarn, fit or range of sizes.

use super::args::{Rewrite, Written};
use super::rewriting::{Inputs, shown};
use super::{Failure, Status, Streams, diff, output};
use crate::Compared;
use crate::compare;
use crate::diag::{Finding, render, sort};
use crate::model;
use crate::page::{self, Wanted};
use crate::source::{Source, Span};
use crate::syntax::parse;
use crate::why::Number;
use serde_json::json;
use std::path::Path;

pub(super) fn run(args: &Rewrite, streams: &mut Streams<'_>) -> Result<Status, Failure> {
    let inputs = Inputs::read(&args.pattern, args.to.as_deref(), streams)?;
    let ready = match inputs.ready() {
        Ok(ready) => ready,
        Err(findings) => return Ok(inputs.refuse(findings, streams)),
    };
    let rewritten = match ready.rewritten() {
        Ok(rewritten) => rewritten,
        Err(findings) => return Ok(inputs.refuse(findings, streams)),
    };
    let mut findings = ready.found.clone();
    findings.extend(rewritten.findings.iter().cloned());
    sort(&mut findings);
    streams.tell(&inputs.shown(&findings, streams));
    // These are places of the revised pattern, whose lines differ.
    let revised = &rewritten.source;
    let named = Source::new(format!("{} (revised)", revised.name), revised.text.as_str());
    streams.tell(&shown(&rewritten.after, &named, None, streams));
    let why = || page::reasons(ready.source, &model::build(&ready.document).model, &rewritten);
    let form = args.form.unwrap_or_else(|| form_of(args.output.as_deref()));
    let text = match text(args, form, revised, why) {
        Ok(text) => text,
        Err(findings) => {
            streams.tell(&shown(&findings, &named, None, streams));
            return Ok(Status::of(&findings, true));
        }
    };
    // The page needs no comparison, which is as much work again.
    let is_compared = args.changes.is_some() || form == Written::Json;
    let after = is_compared.then(|| parse(&named).document).flatten();
    let compared = || {
        let after = after.as_ref()?;
        Some(Compared::new((ready.source, &ready.document), (&named, after)))
    };
    let text = if form == Written::Json {
        let object = json!({
            "pattern": text,
            "findings": inputs.json(&findings),
            "findings_after": render::json(&rewritten.after, &named, None),
            "changes": compared().map(|compared| compare::json::json(&compared.changes)),
        });
        format!("{object:#}\n")
    } else {
        text
    };
    match &args.output {
        None if args.changes.is_some() => {}
        None => streams.print(&text)?,
        Some(path) => {
            let read = [Some(args.pattern.as_path()), args.to.as_deref()];
            output::write(path, &text, read.into_iter().flatten())?;
        }
    }
    if let Some(form) = args.changes
        && let Some(compared) = compared()
    {
        streams.print(&diff::shown(&compared, form, false, streams))?;
    }
    Ok(Status::Done)
}

/// The revised pattern in the form that was asked for.
fn text(
    args: &Rewrite,
    form: Written,
    revised: &Source,
    why: impl Fn() -> Vec<(Span, Number)>,
) -> Result<String, Vec<Finding>> {
    let size = args.size.as_deref();
    let (form, why) = match form {
        // In JSON the text of the pattern is one value of several.
        Written::Source | Written::Json => {
            let one_size = size.map(|name| page::one_size(revised, name)).transpose()?;
            return Ok(one_size.unwrap_or_else(|| revised.clone()).text);
        }
        Written::Markdown => (page::Form::Markdown, Vec::new()),
        Written::Html => (page::Form::Html, why()),
    };
    page::of(revised, &Wanted { form, size, why })
}

/// The form that the ending of a file's name tells.
fn form_of(output: Option<&Path>) -> Written {
    let ends = |wanted: &str| {
        output.and_then(Path::extension).is_some_and(|ending| ending.eq_ignore_ascii_case(wanted))
    };
    if ends("wale") {
        Written::Source
    } else if ends("html") || ends("htm") {
        Written::Html
    } else if ends("json") {
        Written::Json
    } else {
        Written::Markdown
    }
}
