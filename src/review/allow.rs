//! Findings that the author allows, each with a reason.
//!
//! A warning or a note can be allowed at its place: by a mark on the step,
//! `[allow loose-number: the number of a hymn]`; by a comment right before a
//! paragraph, a list or a heading, `<!-- allow loose-number: ... -->`; or for
//! the whole pattern under `allow:` in the front matter. A mark covers its
//! step and the steps under it, a comment the block after it, or everything
//! under the heading after it. An error cannot be allowed.

use crate::diag::{Code, File, Finding, Label, Severity, words};
use crate::model::Model;
use crate::source::{Source, Span, Spanned};
use crate::syntax::tree::{Action, Block, Document, Mark, Section, Step};
use crate::syntax::visit;
use std::collections::BTreeMap;

/// A finding that the author allows.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Allowed {
    /// What was found.
    pub finding: Finding,
    /// Why it is right, in the author's words.
    pub reason: String,
}

/// Findings told apart: those to tell, and those that are allowed.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Settled {
    /// What is to be told.
    pub findings: Vec<Finding>,
    /// What the author allows.
    pub allowed: Vec<Allowed>,
}

/// What the findings are those of.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Of {
    /// A check that looked at everything: a permission that nothing needs is told.
    WholeCheck,
    /// A check that an error cut short.
    CutShort,
    /// A rewrite: the check before it has told what is wrong with permissions.
    Rewrite,
}

/// A permission of the author's.
struct Permission {
    code: Code,
    reason: String,
    /// Where it is given.
    place: Span,
    /// What it covers; nothing for the whole pattern.
    covers: Option<Vec<Span>>,
}

/// Takes out the findings that the author allows; says which permissions
/// cannot be read, and after a whole check which of them nothing needs.
#[must_use]
pub fn settle(source: &Source, model: &Model<'_>, findings: Vec<Finding>, of: Of) -> Settled {
    let mut wrong = Vec::new();
    let permissions = permissions(source, model, &mut wrong);
    let index = Index::of(&permissions);
    let mut used = vec![false; permissions.len()];
    let mut settled = Settled::default();
    for finding in findings {
        let covering = index.covering(&finding);
        for &at in &covering {
            if let Some(used) = used.get_mut(at) {
                *used = true;
            }
        }
        match covering.first().and_then(|&at| permissions.get(at)) {
            Some(permission) => {
                let reason = permission.reason.clone();
                settled.allowed.push(Allowed { finding, reason });
            }
            None => settled.findings.push(finding),
        }
    }
    if of == Of::WholeCheck {
        let unused = permissions.iter().zip(used).filter(|(p, used)| !used && checked(p.code));
        settled.findings.extend(unused.map(|(permission, _)| permission.unused()));
    }
    if of != Of::Rewrite {
        settled.findings.extend(wrong);
    }
    settled
}

/// Whether a check finds this, not a rewrite only.
fn checked(code: Code) -> bool {
    !matches!(
        code,
        Code::BandEstimated
            | Code::CapDiffers
            | Code::KeptAsWritten
            | Code::NotMonotone
            | Code::ShapeLonger
            | Code::ShapeMoved
            | Code::SlopeDiffers
    )
}

/// Permissions by what they allow and where, so that no finding is held
/// against all of them.
struct Index {
    /// Of the whole pattern.
    everywhere: BTreeMap<Code, Vec<usize>>,
    /// Of one place: by the start of what is covered, with the farthest end of
    /// everything that begins no later.
    here: BTreeMap<Code, Vec<Covered>>,
}

struct Covered {
    span: Span,
    farthest: usize,
    permission: usize,
}

impl Index {
    fn of(permissions: &[Permission]) -> Self {
        let mut index = Self { everywhere: BTreeMap::new(), here: BTreeMap::new() };
        for (at, permission) in permissions.iter().enumerate() {
            match &permission.covers {
                None => index.everywhere.entry(permission.code).or_default().push(at),
                Some(spans) => {
                    let here = index.here.entry(permission.code).or_default();
                    let covered = |&span| Covered { span, farthest: span.end, permission: at };
                    here.extend(spans.iter().map(covered));
                }
            }
        }
        for here in index.here.values_mut() {
            here.sort_by_key(|covered| covered.span);
            let mut farthest = 0;
            for covered in here {
                farthest = farthest.max(covered.span.end);
                covered.farthest = farthest;
            }
        }
        index
    }

    /// The permissions that cover a finding, in order.
    fn covering(&self, finding: &Finding) -> Vec<usize> {
        if finding.is_error() {
            return Vec::new();
        }
        let mut covering = self.everywhere.get(&finding.code).cloned().unwrap_or_default();
        let here = self.here.get(&finding.code).map_or(&[][..], Vec::as_slice);
        let labels = finding.labels.iter().filter(|label| label.file == File::Pattern);
        for Label { span, .. } in labels {
            let before = here.partition_point(|covered| covered.span.start <= span.start);
            let nearest = here.get(..before).unwrap_or(&[]).iter().rev();
            let reaching = nearest.take_while(|covered| covered.farthest >= span.end);
            let over = reaching.filter(|covered| covered.span.contains(*span));
            covering.extend(over.map(|covered| covered.permission));
        }
        covering.sort_unstable();
        covering.dedup();
        covering
    }
}

impl Permission {
    fn unused(&self) -> Finding {
        let what = if self.covers.is_some() { "here" } else { "in this pattern" };
        Finding::new(
            Code::AllowUnused,
            self.place,
            format!("`{}` is allowed, and there is none {what}", self.code.name()),
        )
        .label("not needed")
        .help("take it out; it would hide a later slip")
    }
}

// --- reading them -----------------------------------------------------------------

fn permissions(source: &Source, model: &Model<'_>, wrong: &mut Vec<Finding>) -> Vec<Permission> {
    let document = model.document;
    let mut all = Vec::new();
    for entry in &document.front.allow {
        if let Some(code) = Code::from_name(&entry.name.value) {
            let place = entry.name.span.to(entry.value.span);
            all.push(Permission {
                code,
                reason: entry.value.value.value.clone(),
                place,
                covers: None,
            });
        }
    }
    let mut visit = |step: &Step| of_step(source, step, &mut all, wrong);
    for section in &document.sections {
        for block in &section.blocks {
            if let Block::Steps(steps) = block {
                steps.iter().for_each(|step| down(step, &mut visit));
            }
        }
    }
    comments(source, document, &mut all, wrong);
    all
}

fn down(step: &Step, visit: &mut impl FnMut(&Step)) {
    visit(step);
    step.steps.iter().for_each(|inner| down(inner, visit));
}

fn of_step(source: &Source, step: &Step, all: &mut Vec<Permission>, wrong: &mut Vec<Finding>) {
    let mut marks: Vec<&Spanned<Mark>> = step.marks.iter().collect();
    if let Action::Row { items, .. } = &step.action {
        visit::each_item(items, &mut |item| marks.extend(&item.marks));
    }
    for mark in marks {
        if let Mark::Allow { code, reason } = &mark.value {
            let mut covers = Vec::new();
            down(step, &mut |inner| covers.push(inner.span));
            let found = permission(&code.value, code.span, reason, mark.span, Some(covers));
            match found {
                Ok(permission) => all.push(permission),
                Err(finding) => wrong.push(finding),
            }
        }
    }
    // A mark that could not be read has become part of the remark.
    if let Some(remark) = &step.remark
        && let Some(at) = source.slice(remark.span).find("[allow ")
    {
        let start = remark.span.start + at;
        wrong.push(
            Finding::new(
                Code::Syntax,
                Span::new(start, start + "[allow".len()),
                "what is allowed here cannot be read",
            )
            .label("expected a finding and a reason")
            .help("write it at the end of the step, as in `[allow loose-number: the number of a hymn]`"),
        );
    }
}

fn permission(
    name: &str,
    name_span: Span,
    reason: &str,
    place: Span,
    covers: Option<Vec<Span>>,
) -> Result<Permission, Finding> {
    match Code::from_name(name) {
        Some(code) if code.severity() != Severity::Error => {
            Ok(Permission { code, reason: reason.to_owned(), place, covers })
        }
        Some(_) => Err(Finding::new(
            Code::Syntax,
            name_span,
            format!("`{name}` is an error and cannot be allowed"),
        )
        .label("an error")
        .help("mend what is wrong, or take the permission out")),
        None => {
            let known = Code::all().filter(|code| code.severity() != Severity::Error);
            let finding = Finding::new(
                Code::UnknownName,
                name_span,
                format!("there is no finding called `{name}`"),
            )
            .label("not a finding");
            Err(match words::nearest(name, known.map(Code::name)) {
                Some(near) => {
                    finding.help(format!("a similar name exists: `{near}`")).patch(name_span, near)
                }
                None => finding.help("name it as the finding is named in brackets: `loose-number`"),
            })
        }
    }
}

// --- comments -----------------------------------------------------------------------

/// What stands in a document, one after another.
struct Place {
    span: Span,
    /// The level of a heading.
    heading: Option<u8>,
    comment: bool,
}

fn comments(
    source: &Source,
    document: &Document,
    all: &mut Vec<Permission>,
    wrong: &mut Vec<Finding>,
) {
    let places: Vec<Place> =
        document.sections.iter().flat_map(|section| places(source, section)).collect();
    // From the end, so that what follows a comment is known.
    let mut next: Option<(usize, &Place)> = None;
    for (index, place) in places.iter().enumerate().rev() {
        if !place.comment {
            next = Some((index, place));
            continue;
        }
        let covers = next.map_or(Vec::new(), |(at, next)| {
            let end = match next.heading {
                Some(level) => {
                    let ends = |p: &&Place| p.heading.is_some_and(|other| other <= level);
                    let after = places.iter().skip(at + 1).find(ends);
                    after.map_or(source.text.len(), |after| after.span.start)
                }
                None => next.span.end,
            };
            vec![Span::new(next.span.start, end.max(next.span.start))]
        });
        for found in in_comments(source, place.span) {
            let Said { name, reason, place } = found;
            let read = match &reason {
                Some(reason) => {
                    permission(&name.value, name.span, reason, place, Some(covers.clone()))
                }
                None => Err(Finding::new(Code::Syntax, place, "nothing says why this is allowed")
                    .label("no reason")
                    .help("write it as in `<!-- allow loose-number: the number of a hymn -->`")),
            };
            match read {
                Ok(permission) => all.push(permission),
                Err(finding) => wrong.push(finding),
            }
        }
    }
}

fn places(source: &Source, section: &Section) -> Vec<Place> {
    let heading = section.heading.iter();
    let mut all: Vec<Place> =
        heading.map(|h| Place { span: h.span, heading: Some(h.level), comment: false }).collect();
    all.extend(section.blocks.iter().map(|block| match block {
        Block::Heading(h) => Place { span: h.span, heading: Some(h.level), comment: false },
        Block::Prose(prose) => Place {
            span: prose.span,
            heading: None,
            comment: source.slice(prose.span).starts_with("<!--"),
        },
        Block::Steps(steps) => {
            let mut span = steps.first().map_or(section.span, |first| first.span);
            steps.iter().for_each(|step| down(step, &mut |inner| span = span.to(inner.span)));
            Place { span, heading: None, comment: false }
        }
    }));
    all
}

/// A permission as a comment says it.
struct Said {
    name: Spanned<String>,
    reason: Option<String>,
    place: Span,
}

/// The permissions in a block of comments.
fn in_comments(source: &Source, block: Span) -> Vec<Said> {
    let text = source.slice(block);
    let mut found = Vec::new();
    let mut from = 0;
    while let Some(open) = text.get(from..).and_then(|rest| rest.find("<!--")).map(|at| from + at) {
        let Some(length) = text.get(open..).and_then(|rest| rest.find("-->")) else { break };
        let close = open + length;
        from = close + 3;
        let inside = text.get(open + 4..close).unwrap_or("");
        found.extend(said(
            inside,
            block.start + open + 4,
            Span::new(open, from).shifted(block.start),
        ));
    }
    found
}

/// `allow loose-number: the number of a hymn`; other comments are the author's own.
fn said(inside: &str, offset: usize, place: Span) -> Option<Said> {
    let rest = inside.trim_start().strip_prefix("allow")?;
    let rest = rest.starts_with(char::is_whitespace).then(|| rest.trim_start())?;
    let length = rest.find(|c: char| c == ':' || c.is_whitespace()).unwrap_or(rest.len());
    let (name, after) = rest.split_at_checked(length)?;
    let reason = after
        .trim_start()
        .strip_prefix(':')
        .map(|r| r.split_whitespace().collect::<Vec<_>>().join(" "));
    if reason.is_none() && Code::from_name(name).is_none() {
        return None;
    }
    let start = offset + (inside.len() - rest.len());
    let name = Spanned::new(name.to_owned(), Span::new(start, start + name.len()));
    Some(Said { name, reason: reason.filter(|reason| !reason.is_empty()), place })
}

#[cfg(test)]
mod tests {
    use super::super::testing::{pattern, told};
    use super::*;
    use crate::syntax;

    const FRONT: &str = "gauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n";
    const STEPS: &str = "- cast on 96 in body\n- stockinette for 40 rows\n- bind off all\n";

    #[test]
    fn a_comment_covers_the_block_after_it() {
        let allowed = "<!-- allow loose-number: the number of a hymn -->\nHymn of 12 rows.\n\n";
        let body = |more: &str| format!("## Cap, flat\n\n{allowed}{more}\n\n{STEPS}");
        assert_eq!(told(&pattern(FRONT, &body(""))), "nothing");
        insta::assert_snapshot!(told(&pattern(FRONT, &body("Another of 13 rows."))), @"
        warning[loose-number]: this number stands in prose and will not follow a rewrite
          --> cap.wale:12:12
           |
        12 | Another of 13 rows.
           |            ^^^^^^^ not live
           |
           = help: say it without a number, or name the count where it is set, as in `cast on 96 [as brim]`, and write `{brim}` here
        ");
    }

    #[test]
    fn a_comment_before_a_heading_covers_what_stands_under_it() {
        let allow = "<!-- allow loose-number: history -->";
        let body = format!(
            "## Cap, flat\n\n{STEPS}\n{allow}\n\n## Of old\n\nIt had 80 rows.\n\n### Older\n\nIt had 90 rows.\n\n## Now\n\nIt has 70 rows.\n"
        );
        insta::assert_snapshot!(told(&pattern(FRONT, &body)), @"
        warning[loose-number]: this number stands in prose and will not follow a rewrite
          --> cap.wale:25:8
           |
        25 | It has 70 rows.
           |        ^^^^^^^ not live
           |
           = help: say it without a number, or name the count where it is set, as in `cast on 96 [as brim]`, and write `{brim}` here
        ");
    }

    #[test]
    fn a_mark_covers_its_step_and_front_matter_covers_all() {
        let marked = "## Cap, flat\n\n- cast on 96 in body; 96 sts, no more [allow loose-number: a joke]\n- bind off all\n";
        assert_eq!(told(&pattern(FRONT, marked)), "nothing");
        let front = format!("{FRONT}allow:\n  loose-number: all history\n");
        let body = format!("## Cap, flat\n\nIt had 80 rows.\n\n{STEPS}");
        assert_eq!(told(&pattern(&front, &body)), "nothing");
        let source = Source::new("t", pattern(&front, &body));
        let document = syntax::parse(&source).document.expect("a pattern");
        let checked = crate::check(&source, &document, Vec::new());
        let allowed: Vec<_> =
            checked.allowed.iter().map(|a| (a.finding.code, a.reason.as_str())).collect();
        assert_eq!(allowed, [(Code::LooseNumber, "all history")]);
    }

    #[test]
    fn a_permission_that_nothing_needs_is_told() {
        let front = format!("{FRONT}allow:\n  seam-differs: eased in\n  band-estimated: no time\n");
        let body = format!(
            "## Cap, flat\n\n<!-- allow loose-number: gone -->\nWords.\n\n{STEPS}- note: no more [allow units-differ: as printed]\n"
        );
        insta::assert_snapshot!(told(&pattern(&front, &body)), @"
        warning[allow-unused]: `seam-differs` is allowed, and there is none in this pattern
         --> cap.wale:6:3
          |
        6 |   seam-differs: eased in
          |   ^^^^^^^^^^^^^^^^^^^^^^ not needed
          |
          = help: take it out; it would hide a later slip

        warning[allow-unused]: `loose-number` is allowed, and there is none here
          --> cap.wale:12:1
           |
        12 | <!-- allow loose-number: gone -->
           | ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ not needed
           |
           = help: take it out; it would hide a later slip

        warning[allow-unused]: `units-differ` is allowed, and there is none here
          --> cap.wale:18:17
           |
        18 | - note: no more [allow units-differ: as printed]
           |                 ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ not needed
           |
           = help: take it out; it would hide a later slip
        ");
    }

    #[test]
    fn a_permission_that_cannot_be_read_is_an_error() {
        let body = "## Cap, flat\n\n<!-- allow loose-number -->\nWords.\n\n<!-- allow loose-numbr: why -->\nWords.\n\n<!-- allow time to dry -->\n\n- cast on 96 in body [allow row-short: why]\n- note: that is all [allow loose-number]\n- bind off all\n";
        insta::assert_snapshot!(told(&pattern(FRONT, body)), @"
        error[syntax]: nothing says why this is allowed
         --> cap.wale:9:1
          |
        9 | <!-- allow loose-number -->
          | ^^^^^^^^^^^^^^^^^^^^^^^^^^^ no reason
          |
          = help: write it as in `<!-- allow loose-number: the number of a hymn -->`

        error[unknown-name]: there is no finding called `loose-numbr`
          --> cap.wale:12:12
           |
        12 | <!-- allow loose-numbr: why -->
           |            ^^^^^^^^^^^ not a finding
           |
        help: a similar name exists: `loose-number`
           |
        12 | <!-- allow loose-number: why -->
           |                      +

        error[syntax]: `row-short` is an error and cannot be allowed
          --> cap.wale:17:29
           |
        17 | - cast on 96 in body [allow row-short: why]
           |                             ^^^^^^^^^ an error
           |
           = help: mend what is wrong, or take the permission out

        error[syntax]: what is allowed here cannot be read
          --> cap.wale:18:21
           |
        18 | - note: that is all [allow loose-number]
           |                     ^^^^^^ expected a finding and a reason
           |
           = help: write it at the end of the step, as in `[allow loose-number: the number of a hymn]`
        ");
    }
}
