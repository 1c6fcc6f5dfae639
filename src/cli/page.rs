//! `wale page`: a pattern as the page a knitter reads.

use super::args::{Page, PageForm};
use super::rewriting::{Inputs, shown};
use super::{Failure, Session, Status, output};
use crate::page::{self, Form, Wanted};
use std::path::Path;

pub(super) fn run(args: &Page, session: &mut Session<'_>) -> Result<Status, Failure> {
    let inputs = Inputs::read(&args.pattern, None, session)?;
    let source = match inputs.ready() {
        Ok(ready) => ready.source,
        Err(findings) => return Ok(inputs.refuse(findings, session)),
    };
    let form = match args.form {
        Some(PageForm::Markdown) => Form::Markdown,
        Some(PageForm::Html) => Form::Html,
        None => form_of(args.output.as_deref()),
    };
    let wanted = Wanted { form, size: args.size.as_deref(), why: Vec::new() };
    match (page::of(source, &wanted), &args.output) {
        (Err(findings), _) => {
            session.tell(&shown(&findings, source, None, session));
            return Ok(Status::of(&findings, true));
        }
        (Ok(text), None) => session.print(&text)?,
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
