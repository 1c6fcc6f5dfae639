//! `wale rewrite`: the same garment for another yarn, fit or range of sizes.

use super::args::Rewrite;
use super::input::{self, Input};
use super::{Failure, Session, Status, output};
use crate::diag::{Finding, render, sort};
use crate::source::Source;
use crate::syntax::front::Targets;
use crate::syntax::{parse, parse_targets};

pub(super) fn run(args: &Rewrite, session: &mut Session<'_>) -> Result<Status, Failure> {
    input::once([Some(&args.pattern), args.to.as_ref()].into_iter().flatten())?;
    let inputs = Inputs {
        pattern: input::read(&args.pattern, session.stdin)?,
        targets: args.to.as_deref().map(|path| input::read(path, session.stdin)).transpose()?,
    };
    let (text, mut findings, after) = match inputs.rewritten() {
        Ok((source, findings, after)) => (Some(source), findings, after),
        Err(findings) => (None, findings, Vec::new()),
    };
    sort(&mut findings);
    session.tell(&inputs.shown(&findings, session));
    if let Some(revised) = &text {
        // These are places of the revised pattern, whose lines differ.
        let named = Source::new(format!("{} (revised)", revised.name), revised.text.as_str());
        session.tell(&shown(&after, &named, None, session));
    }
    let text = text.map(|source| source.text);
    match (&text, &args.output) {
        (None, _) => return Ok(Status::of(&findings, true)),
        (Some(text), None) => session.print(text)?,
        (Some(text), Some(path)) => {
            let read = [Some(args.pattern.as_path()), args.to.as_deref()];
            output::write(path, text, read.into_iter().flatten())?;
        }
    }
    Ok(Status::Done)
}

struct Inputs {
    pattern: Input,
    targets: Option<Input>,
}

impl Inputs {
    /// The revised pattern with its warnings and notes, or everything that is in its way.
    fn rewritten(&self) -> Result<(Source, Vec<Finding>, Vec<Finding>), Vec<Finding>> {
        let mut findings = Vec::new();
        let mut targets = Targets::default();
        match &self.targets {
            Some(Input::Text(source)) => {
                let (read, found) = parse_targets(source);
                targets = read.unwrap_or_default();
                findings.extend(found);
            }
            Some(Input::Refused(_, finding)) => findings.push(finding.clone().in_targets()),
            None => {}
        }
        let pattern = match &self.pattern {
            Input::Text(source) => source,
            Input::Refused(_, finding) => {
                findings.push(finding.clone());
                return Err(findings);
            }
        };
        let parsed = parse(pattern);
        let Some(document) = parsed.document else {
            findings.extend(parsed.findings);
            return Err(findings);
        };
        if findings.iter().any(Finding::is_error) {
            // What is wrong with the pattern is worth knowing in the same run.
            findings.extend(crate::check(pattern, &document, parsed.findings).findings);
            return Err(findings);
        }
        match crate::rewrite(pattern, &document, parsed.findings, &targets) {
            Ok(rewritten) => {
                findings.extend(rewritten.findings);
                Ok((rewritten.source, findings, rewritten.after))
            }
            Err(found) => {
                findings.extend(found);
                Err(findings)
            }
        }
    }

    /// The findings for standard error, with a line that sums them up; empty where there are none.
    fn shown(&self, findings: &[Finding], session: &Session<'_>) -> String {
        let targets = self.targets.as_ref().map(Input::source);
        shown(findings, self.pattern.source(), targets, session)
    }
}

fn shown(
    findings: &[Finding],
    pattern: &Source,
    targets: Option<&Source>,
    session: &Session<'_>,
) -> String {
    if findings.is_empty() {
        return String::new();
    }
    let text = render::text(findings, pattern, targets, session.stderr.style());
    format!("{text}\n{}: {}\n", pattern.name, render::summary(findings))
}
