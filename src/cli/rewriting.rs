//! Reading a pattern with its targets and rewriting it, for the commands that do.

use super::input::{self, Input};
use super::{Failure, Status, Streams};
use crate::diag::{Code, Finding, render, sort};
use crate::source::Source;
use crate::syntax::front::Targets;
use crate::syntax::tree::Document;
use crate::syntax::{parse, parse_targets};
use crate::{Rewritten, rewrite};
use serde_json::Value;
use std::path::Path;

/// A pattern and its targets, as they were read.
pub(super) struct Inputs {
    pattern: Input,
    targets: Option<Input>,
}

/// A pattern that was read, with its targets.
pub(super) struct Ready<'i> {
    pub(super) source: &'i Source,
    pub(super) document: Document,
    pub(super) read: Vec<Finding>,
    pub(super) targets: Targets,
    /// What was found in the targets.
    pub(super) found: Vec<Finding>,
}

impl Inputs {
    pub(super) fn read(
        pattern: &Path,
        targets: Option<&Path>,
        streams: &mut Streams<'_>,
    ) -> Result<Self, Failure> {
        let both: Vec<std::path::PathBuf> =
            std::iter::once(pattern).chain(targets).map(Path::to_path_buf).collect();
        input::once(both.iter())?;
        Ok(Self {
            pattern: input::read(pattern, streams.stdin)?,
            targets: targets.map(|path| input::read(path, streams.stdin)).transpose()?,
        })
    }

    /// Both read, or everything that is in the way.
    pub(super) fn ready(&self) -> Result<Ready<'_>, Vec<Finding>> {
        let mut found = Vec::new();
        let mut targets = Targets::default();
        match &self.targets {
            Some(Input::Text(source)) => {
                let (read, findings) = parse_targets(source);
                targets = read.unwrap_or_default();
                found.extend(findings);
            }
            Some(Input::Refused(_, finding)) => found.push(finding.clone().in_targets()),
            None => {}
        }
        let source = match &self.pattern {
            Input::Text(source) => source,
            Input::Refused(_, finding) => {
                found.push(finding.clone());
                return Err(found);
            }
        };
        let parsed = parse(source);
        let Some(document) = parsed.document else {
            found.extend(parsed.findings);
            return Err(found);
        };
        if found.iter().any(Finding::is_error) {
            // What is wrong with the pattern is worth knowing in the same run; a `?` is not wrong here.
            let checked = crate::check(source, &document, parsed.findings).findings;
            found.extend(checked.into_iter().filter(|f| f.code != Code::UnknownCount));
            return Err(found);
        }
        Ok(Ready { source, document, read: parsed.findings, targets, found })
    }

    /// The findings for standard error, with a line that sums them up; empty where there are none.
    pub(super) fn shown(&self, findings: &[Finding], streams: &Streams<'_>) -> String {
        let targets = self.targets.as_ref().map(Input::source);
        shown(findings, self.pattern.source(), targets, streams)
    }

    /// The findings as JSON.
    pub(super) fn json(&self, findings: &[Finding]) -> Value {
        let targets = self.targets.as_ref().map(Input::source);
        render::json(findings, self.pattern.source(), targets)
    }

    /// Says what is in the way; gives the status that goes with it.
    pub(super) fn refuse(&self, mut findings: Vec<Finding>, streams: &mut Streams<'_>) -> Status {
        sort(&mut findings);
        streams.tell(&self.shown(&findings, streams));
        Status::of(&findings, true)
    }
}

impl Ready<'_> {
    /// The pattern rewritten, or everything that is in the way.
    pub(super) fn rewritten(&self) -> Result<Rewritten<'_>, Vec<Finding>> {
        rewrite(self.source, &self.document, self.read.clone(), &self.targets).map_err(|found| {
            let mut all = self.found.clone();
            all.extend(found);
            all
        })
    }
}

/// Findings of one source, with a line that sums them up; empty where there are none.
pub(super) fn shown(
    findings: &[Finding],
    pattern: &Source,
    targets: Option<&Source>,
    streams: &Streams<'_>,
) -> String {
    if findings.is_empty() {
        return String::new();
    }
    let text = render::text(findings, pattern, targets, streams.stderr.style());
    format!("{text}\n{}: {}\n", pattern.name, render::summary(findings))
}
