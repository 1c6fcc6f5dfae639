//! `wale rewrite`: the same garment for another yarn, fit or range of sizes.

use super::args::Rewrite;
use super::rewriting::{Inputs, shown};
use super::{Failure, Session, Status, output};
use crate::diag::sort;
use crate::source::Source;

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
    match &args.output {
        None => session.print(&revised.text)?,
        Some(path) => {
            let read = [Some(args.pattern.as_path()), args.to.as_deref()];
            output::write(path, &revised.text, read.into_iter().flatten())?;
        }
    }
    Ok(Status::Done)
}
