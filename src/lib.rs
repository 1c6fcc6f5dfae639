//! walewright reads a hand-knitting pattern written in plain text, works
//! every row of every size, and rewrites it for another gauge, fit or range
//! of sizes.
//!
//! Data flows one way, and each arrow is a function of one module:
//!
//! ```text
//! text --syntax--> tree --model--> pattern --work--> findings
//!                                     |
//!                targets ----------> plan (the system of counts, solved)
//!                                     |
//!                                  revise --> revised source --page--> Markdown, HTML, ...
//!                                     \------compare------> changes
//! ```
//!
//! The functions below are that pipeline on one screen. Nothing here reads or
//! writes a file; [`cli`] alone does.

pub mod cli;
pub mod compare;
pub mod diag;
pub mod measure;
pub mod model;
pub mod page;
pub mod plan;
pub mod quick;
pub mod review;
pub mod revise;
pub mod source;
pub mod standards;
pub mod stitch;
pub mod syntax;
pub mod why;
pub mod work;

use compare::{Changes, Side};
use diag::{Code, Finding, sort};
use model::Model;
use plan::Plan;
use review::{Allowed, Of, Settled};
use revise::Edit;
use source::Source;
use syntax::front::Targets;
use syntax::tree::Document;
use work::Trace;

/// A pattern read and worked, as far as it could be.
#[derive(Debug)]
pub struct Checked<'d> {
    /// The names resolved.
    pub model: Model<'d>,
    /// What the walk saw, one trace a size; empty where names were missing.
    pub traces: Vec<Trace>,
    /// Everything found, in reading order.
    pub findings: Vec<Finding>,
    /// What was found and the author allows, with the reason.
    pub allowed: Vec<Allowed>,
}

/// Works every row of every size of a pattern that was read.
///
/// `read` are the findings of reading it ([`syntax::parse`]); with an error
/// among them the steps left out would only cause false ones, so the rows are
/// not worked. Nor is a name called unknown that a broken front matter may define.
/// `source` is the text the document was read from: the author's own words are in it.
#[must_use]
pub fn check<'d>(source: &Source, document: &'d Document, read: Vec<Finding>) -> Checked<'d> {
    let model::Built { model, mut findings } = model::build(document);
    if read.iter().any(|f| f.is_error() && document.front.span.contains(f.place())) {
        findings.retain(|finding| !matches!(finding.code, Code::UnknownName | Code::NoGauge));
    }
    findings.extend(read);
    let mut traces = Vec::new();
    let mut of = Of::CutShort;
    if !findings.iter().any(Finding::is_error) {
        let worked = work::check(&model);
        traces = worked.traces;
        findings.extend(worked.findings);
        if !findings.iter().any(Finding::is_error) {
            findings.extend(review::review(source, &model, &traces));
            of = Of::WholeCheck;
        }
    }
    let Settled { mut findings, allowed } = review::settle(source, &model, findings, of);
    sort(&mut findings);
    Checked { model, traces, findings, allowed }
}

/// Compares two patterns that were read, each worked as far as it can be.
#[must_use]
pub fn changes(old: (&Source, &Document), new: (&Source, &Document)) -> Changes {
    Compared::new(old, new).changes
}

/// Two patterns that were read, each worked as far as it can be, and what changed between them.
#[derive(Debug)]
pub struct Compared<'d> {
    /// The old pattern.
    pub old: Checked<'d>,
    /// The new.
    pub new: Checked<'d>,
    /// What changed.
    pub changes: Changes,
}

impl<'d> Compared<'d> {
    /// Works both and compares them.
    #[must_use]
    pub fn new(old: (&Source, &'d Document), new: (&Source, &'d Document)) -> Self {
        let worked =
            |(source, document): (&Source, &'d Document)| check(source, document, Vec::new());
        let (before, after) = (worked(old), worked(new));
        let finished = |side: &Checked<'_>| compare::finished(&side.model, &side.traces);
        let (measured, measures) = (finished(&before), finished(&after));
        let changes = compare::compare(
            &Side {
                source: old.0,
                model: &before.model,
                traces: &before.traces,
                finished: measured.as_deref(),
            },
            &Side {
                source: new.0,
                model: &after.model,
                traces: &after.traces,
                finished: measures.as_deref(),
            },
        );
        Self { old: before, new: after, changes }
    }
}

/// A pattern rewritten.
#[derive(Debug)]
pub struct Rewritten<'t> {
    /// The revised source.
    pub source: Source,
    /// The edits that made it.
    pub edits: Vec<Edit>,
    /// Where every number comes from.
    pub plan: Plan<'t>,
    /// Warnings and notes of the planning: places in the pattern and the targets.
    pub findings: Vec<Finding>,
    /// Warnings and notes of the revised pattern: places in the revised source.
    pub after: Vec<Finding>,
}

/// Rewrites a pattern for its targets. Counts given as `?` are worked out.
///
/// The result has been read and worked again: it is returned only when its
/// own check finds no error.
///
/// # Errors
/// All findings, where the pattern or the targets have errors, or no counts
/// meet what is asked. Nothing is half done.
pub fn rewrite<'t>(
    source: &Source,
    document: &Document,
    read: Vec<Finding>,
    targets: &'t Targets,
) -> Result<Rewritten<'t>, Vec<Finding>> {
    let checked = check(source, document, read);
    // A `?` is what a rewrite is for.
    let open = |finding: &Finding| finding.code == Code::UnknownCount;
    if checked.findings.iter().any(|f| f.is_error() && !open(f)) {
        return Err(checked.findings);
    }
    let (plan, mut findings) = plan::plan(&checked.model, &checked.traces, targets)?;
    findings.extend(review::not_monotone(&plan, checked.model.units));
    findings.extend(review::kept_as_written(&plan, checked.model.units));
    findings.extend(review::needles_kept(&checked.model, &plan));
    findings.extend(review::repeats_kept(&checked.model, &plan));
    let Settled { mut findings, .. } =
        review::settle(source, &checked.model, findings, Of::Rewrite);
    let mut edits = revise::edits(source, &checked.model, &plan, targets);
    let apply = |edits: &[Edit]| Source::new(source.name.clone(), revise::apply(source, edits));
    let mut revised = apply(&edits);
    let (mut after, yarn) = again(source, &revised, &checked, &plan, targets);
    if !yarn.is_empty() {
        edits = revise::merged(source, edits, yarn);
        revised = apply(&edits);
        after = again(source, &revised, &checked, &plan, targets).0;
    }
    match after.iter().find(|f| f.is_error()).map(|first| unsound(&revised, first)) {
        None => Ok(Rewritten { source: revised, edits, plan, findings, after }),
        Some(finding) => {
            findings.push(finding);
            Err(findings)
        }
    }
}

/// Reads and works a revised pattern again: what is found, and the edits that
/// only its worked stitches tell, of the yarn it takes and what it measures.
fn again(
    source: &Source,
    revised: &Source,
    old: &Checked<'_>,
    plan: &Plan<'_>,
    targets: &Targets,
) -> (Vec<Finding>, Vec<Edit>) {
    let parsed = syntax::parse(revised);
    let Some(document) = &parsed.document else { return (parsed.findings, Vec::new()) };
    let new = check(revised, document, parsed.findings);
    let (was, is) = ((&old.model, &*old.traces), (&new.model, &*new.traces));
    let mut edits = revise::finished::edits(plan, was, is);
    if let Some(factors) = revise::yarn::factors(plan, was, is) {
        edits.extend(revise::yarn::edits(source, &old.model, plan, targets, &factors));
    }
    (new.findings, edits)
}

/// Every pattern we write passes our own check, or is not written.
fn unsound(revised: &Source, first: &Finding) -> Finding {
    let (line, column) = revised.line_column(first.place().start);
    Finding::new(
        Code::Internal,
        source::Span::at(0),
        format!("the revised pattern does not pass its own check: {}", first.message),
    )
    .note(format!(
        "at line {line}, column {column} of what would have been written: `{}`",
        revised.slice(first.place())
    ))
    .help("nothing was written; please report this pattern and its targets")
}
