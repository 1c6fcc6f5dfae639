//! What holds for any text whatever. The fuzz targets break these laws if they
//! can; what they found is kept in `found_by_fuzzing.rs`.

use walewright::compare::{json, markdown, text as in_text};
use walewright::diag::{Code, File, Finding, render};
use walewright::revise::{self, Edit};
use walewright::source::{Source, Span};
use walewright::syntax::front::Targets;
use walewright::syntax::outline;
use walewright::syntax::tree::Document;
use walewright::{Checked, Rewritten, changes, check, page, rewrite, syntax, why};

/// Any text can be read, as a pattern and as targets.
pub(crate) fn reading(text: &str) {
    let source = Source::new("pattern", text);
    let parsed = syntax::parse(&source);
    sound(&parsed.findings, &source, None);
    match &parsed.document {
        Some(document) => {
            let misplaced = outline::misplaced(document, text);
            assert_eq!(misplaced, None, "a place of the tree is not where it should be");
            assert!(!outline::tree(document, &source).is_empty());
        }
        None => assert!(has_errors(&parsed.findings), "nothing was read, and nothing found"),
    }
    let (targets, findings) = syntax::parse_targets(&source);
    sound(&findings, &Source::new("pattern", ""), Some(&source));
    assert!(targets.is_some() || has_errors(&findings), "no targets were read, and nothing found");
}

/// Any pattern that can be read can be worked, and is no different from itself.
pub(crate) fn checking(text: &str) {
    let source = Source::new("pattern", text);
    let parsed = syntax::parse(&source);
    let Some(document) = parsed.document else { return };
    let checked = check(&source, &document, parsed.findings);
    sound(&checked.findings, &source, None);
    let changes = changes((&source, &document), (&source, &document));
    assert!(!changes.differ(), "it differs from itself:\n{}", markdown::markdown(&changes, false));
}

/// Any pattern without errors makes pages that are sound HTML without a script.
pub(crate) fn showing(text: &str) {
    let source = Source::new("pattern", text);
    with_clean(&source, |document, checked| {
        assert!(!page::markdown(&source, &checked).is_empty());
        let targets = Targets::default();
        let own = rewrite(&source, document, Vec::new(), &targets);
        let reasons =
            own.map(|own| page::reasons(&source, &checked.model, &own)).unwrap_or_default();
        html_is_sound(&page::html(&source, &checked, &reasons));
        for drawing in page::drawings(&checked) {
            assert_eq!(tags_out_of_order(&drawing.svg), None, "{}", drawing.svg);
        }
    });
}

/// A pattern without errors is rewritten to its own gauge and fit unchanged,
/// and to any targets as a pattern without errors, or not at all.
pub(crate) fn rewriting(text: &str, targets: &str) {
    let source = Source::new("pattern", text);
    with_clean(&source, |document, _| unchanged(&source, document));
    let targets_source = Source::new("targets", targets);
    let (Some(targets), found) = syntax::parse_targets(&targets_source) else { return };
    let parsed = syntax::parse(&source);
    let Some(document) = parsed.document else { return };
    if has_errors(&found) || has_errors(&parsed.findings) {
        return;
    }
    match rewrite(&source, &document, parsed.findings, &targets) {
        Ok(rewritten) => {
            in_order(&source, &rewritten.edits);
            sound(&rewritten.findings, &source, Some(&targets_source));
            sound(&rewritten.after, &rewritten.source, None);
            followed_up(&source, &document, &rewritten);
        }
        Err(findings) => {
            sound(&findings, &source, Some(&targets_source));
            assert!(has_errors(&findings), "nothing was written, and nothing found");
            no_mistake_of_ours(&findings, &source);
        }
    }
}

fn with_clean(source: &Source, work: impl FnOnce(&Document, Checked<'_>)) {
    let parsed = syntax::parse(source);
    let Some(document) = parsed.document else { return };
    let checked = check(source, &document, parsed.findings);
    if !has_errors(&checked.findings) {
        work(&document, checked);
    }
}

/// Rewritten to its own gauge and fit it is the same to the byte.
fn unchanged(source: &Source, document: &Document) {
    let targets = Targets::default();
    match rewrite(source, document, Vec::new(), &targets) {
        Ok(own) => {
            assert_eq!(own.source.text, source.text, "its own gauge and fit change it");
            assert!(own.edits.is_empty());
        }
        Err(findings) => panic!(
            "a pattern without errors cannot be rewritten to its own gauge:\n{}",
            shown(&findings, source)
        ),
    }
}

fn followed_up(source: &Source, document: &Document, rewritten: &Rewritten<'_>) {
    assert_eq!(revise::apply(source, &rewritten.edits), rewritten.source.text);
    let parsed = syntax::parse(&rewritten.source);
    let again = parsed.document.expect("it was read before it was returned");
    unchanged(&rewritten.source, &again);
    let changes = changes((source, document), (&rewritten.source, &again));
    let _ = in_text::text(&changes, in_text::Look::default());
    let _ = (markdown::markdown(&changes, true), json::json(&changes));
    let model = walewright::model::build(document).model;
    let _ = why::text(&why::reasons(source, &model, &rewritten.plan));
}

/// Edits lie inside the source, in order, and do not overlap.
fn in_order(source: &Source, edits: &[Edit]) {
    let mut end = 0;
    for edit in edits {
        assert!(edit.span.start >= end, "two edits overlap at {end}");
        assert!(is_inside(edit.span, source), "an edit lies outside, at {:?}", edit.span);
        assert_ne!(source.slice(edit.span), edit.text, "an edit changes nothing");
        end = edit.span.end;
    }
}

/// The places of findings lie inside their files, and can be shown.
fn sound(findings: &[Finding], pattern: &Source, targets: Option<&Source>) {
    for finding in findings {
        for label in &finding.labels {
            let file = match label.file {
                File::Pattern => Some(pattern),
                File::Targets => targets,
            };
            let inside = file.is_some_and(|file| is_inside(label.span, file));
            assert!(inside, "a place lies outside its file: {finding:?}");
        }
        assert!(!finding.message.is_empty());
    }
    for color in [false, true] {
        let text = render::text(findings, pattern, targets, render::Style { color });
        assert_eq!(text.is_empty(), findings.is_empty());
    }
    let json = render::json(findings, pattern, targets);
    assert_eq!(json.as_array().map(Vec::len), Some(findings.len()));
    no_mistake_of_ours(findings, pattern);
}

fn no_mistake_of_ours(findings: &[Finding], pattern: &Source) {
    let ours: Vec<Finding> =
        findings.iter().filter(|finding| finding.code == Code::Internal).cloned().collect();
    assert!(ours.is_empty(), "{}", shown(&ours, pattern));
}

fn is_inside(span: Span, source: &Source) -> bool {
    source.text.get(span.range()).is_some()
}

fn has_errors(findings: &[Finding]) -> bool {
    findings.iter().any(Finding::is_error)
}

fn shown(findings: &[Finding], pattern: &Source) -> String {
    let targets = Source::new("targets", "");
    render::text(findings, pattern, Some(&targets), render::Style { color: false })
}

/// Every element is closed where it should be, and nothing in it can run.
fn html_is_sound(html: &str) {
    assert_eq!(tags_out_of_order(html), None, "{html}");
    for tag in tags(html) {
        let name = name_of(tag);
        let banned = ["script", "iframe", "object", "embed", "base", "link", "form"];
        assert!(!banned.contains(&name), "<{tag}>");
        let lower = tag.to_lowercase();
        assert!(!lower.contains("javascript:") && !lower.contains("data:"), "<{tag}>");
        let outside_quotes = lower.split('"').step_by(2).flat_map(str::split_whitespace);
        let mut names = outside_quotes.filter(|word| word.ends_with('='));
        assert!(!names.any(|name| name.starts_with("on")), "<{tag}>");
    }
}

/// The tags of a text, without their angle brackets.
fn tags(html: &str) -> impl Iterator<Item = &str> {
    html.split('<').skip(1).map(|part| {
        let mut quoted = false;
        let end = part.find(|c| {
            quoted ^= c == '"';
            c == '>' && !quoted
        });
        end.and_then(|end| part.get(..end)).unwrap_or(part)
    })
}

fn name_of(tag: &str) -> &str {
    let tag = tag.strip_prefix('/').unwrap_or(tag);
    tag.split(|c: char| c.is_whitespace() || c == '/').next().unwrap_or_default()
}

/// The first tag that closes what is not open, or that is never closed.
fn tags_out_of_order(html: &str) -> Option<String> {
    let empty = ["meta", "input", "br", "hr", "img", "col", "!doctype"];
    let mut open: Vec<&str> = Vec::new();
    for tag in tags(html) {
        let name = name_of(tag);
        if tag.starts_with('/') {
            if open.pop() != Some(name) {
                return Some(tag.to_owned());
            }
        } else if !tag.ends_with('/') && !empty.contains(&name) && !tag.starts_with(['!', '?']) {
            open.push(name);
        }
    }
    open.pop().map(str::to_owned)
}
