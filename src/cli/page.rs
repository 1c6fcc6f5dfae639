//! `wale page`: a pattern as the page a knitter reads.

use super::args::{Page, PageForm};
use super::rewriting::{Inputs, shown};
use super::{Failure, Status, Streams, output};
use crate::page::{self, Form, Wanted};
use std::path::Path;

pub(super) fn run(args: &Page, streams: &mut Streams<'_>) -> Result<Status, Failure> {
    let inputs = Inputs::read(&args.pattern, None, streams)?;
    let source = match inputs.ready() {
        Ok(ready) => ready.source,
        Err(findings) => return Ok(inputs.refuse(findings, streams)),
    };
    let form = match args.form {
        Some(PageForm::Markdown) => Form::Markdown,
        Some(PageForm::Html) => Form::Html,
        None => form_of(args.output.as_deref()),
    };
    let wanted = Wanted { form, size: args.size.as_deref(), why: Vec::new() };
    match (page::of(source, &wanted), &args.output) {
        (Err(findings), _) => {
            streams.tell(&shown(&findings, source, None, streams));
            return Ok(Status::of(&findings, true));
        }
        (Ok(text), None) => streams.print(&text)?,
        (Ok(text), Some(path)) => output::write(path, &text, [args.pattern.as_path()])?,
    }
    Ok(Status::Done)
}

/// The form that the ending of a file's name tells.
fn form_of(output: Option<&Path>) -> Form {
    match output.and_then(Path::extension) {
        Some(ending) if ending.eq_ignore_ascii_case("html") => Form::Html,
        Some(ending) if ending.eq_ignore_ascii_case("htm") => Form::Html,
        _ => Form::Markdown,
    }
}
