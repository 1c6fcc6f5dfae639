//! `wale explain`: the catalogue of findings.

use super::args::Explain;
use super::{Failure, Status, Streams};
use crate::diag::{Code, words};

pub(super) fn run(args: &Explain, streams: &mut Streams<'_>) -> Result<Status, Failure> {
    let text = match &args.code {
        Some(name) => page(Code::from_name(name).ok_or_else(|| unknown(name))?),
        None => list(),
    };
    streams.print(&text)?;
    Ok(Status::Done)
}

/// One entry, as Markdown.
fn page(code: Code) -> String {
    let (severity, name) = (code.severity().word(), code.name());
    format!("# {severity}[{name}]: {}\n\n{}", code.title(), code.page())
}

/// All codes with their titles, in the order of the catalogue.
fn list() -> String {
    let width = Code::all().map(|code| code.name().len()).max().unwrap_or(0);
    Code::all()
        .map(|code| {
            let (name, severity) = (code.name(), code.severity().word());
            format!("{name:width$}  {severity:7}  {}\n", code.title())
        })
        .collect()
}

fn unknown(name: &str) -> Failure {
    let failure = Failure::new(format!("there is no finding with the code `{name}`"));
    match words::nearest(name, Code::all().map(Code::name)) {
        Some(near) => failure.help(format!("a similar code is `{near}`")),
        None => failure.help("`wale explain` lists all codes"),
    }
}
