//! `wale page`: a pattern as the page a knitter reads.

use super::args::Page;
use super::rewriting::{Inputs, shown};
use super::{Failure, Session, Status, output};
use crate::page;

pub(super) fn run(args: &Page, session: &mut Session<'_>) -> Result<Status, Failure> {
    let inputs = Inputs::read(&args.pattern, None, session)?;
    let source = match inputs.ready() {
        Ok(ready) => ready.source,
        Err(findings) => return Ok(inputs.refuse(findings, session)),
    };
    let one_size = args.size.as_ref().map(|name| page::one_size(source, name)).transpose();
    let written = one_size.and_then(|one| page::of(one.as_ref().unwrap_or(source)));
    match (written, &args.output) {
        (Err(findings), _) => {
            session.tell(&shown(&findings, source, None, session));
            return Ok(Status::of(&findings, true));
        }
        (Ok(text), None) => session.print(&text)?,
        (Ok(text), Some(path)) => output::write(path, &text, [args.pattern.as_path()])?,
    }
    Ok(Status::Done)
}
