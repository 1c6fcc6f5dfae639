//! What is well-formed YAML and yet not meant: sizes cut at their commas, a
//! number taken for a comment, a key given twice.

use super::slip::{in_quotes, quoted};
use super::{Kind, Scalar, Yaml};
use crate::diag::{Code, Finding, Severity};
use crate::source::Span;
use crate::syntax::error::clipped;
use std::collections::BTreeMap;

/// Names given twice in one map: the first counts, and each later one is a finding.
pub(super) fn drop_duplicates(node: &mut Yaml, findings: &mut Vec<Finding>) {
    match &mut node.kind {
        Kind::Scalar(_) => {}
        Kind::List(items) => items.iter_mut().for_each(|item| drop_duplicates(item, findings)),
        Kind::Map(entries) => {
            let mut seen: BTreeMap<String, Span> = BTreeMap::new();
            entries.retain(|(key, _)| match seen.get(&key.value) {
                Some(&first) => {
                    findings.push(
                        Finding::new(
                            Code::Duplicate,
                            key.span,
                            format!("`{}` is given twice", clipped(&key.value)),
                        )
                        .label("given again")
                        .also(first, "first given here")
                        .help("keep one of the two"),
                    );
                    false
                }
                None => {
                    seen.insert(key.value.clone(), key.span);
                    true
                }
            });
            entries.iter_mut().for_each(|(_, value)| drop_duplicates(value, findings));
        }
    }
}

/// How many values after an opening parenthesis may belong to it.
const MAX_CUT: usize = 40;

/// `{ head: 48 (52, 56) cm }`: within braces or brackets YAML cuts at every
/// comma, also between sizes. Says so and puts the value together again.
pub(super) fn mend_cut_sizes(
    node: &mut Yaml,
    text: &str,
    offset: usize,
    findings: &mut Vec<Finding>,
) {
    match &mut node.kind {
        Kind::Scalar(_) => {}
        Kind::List(items) => {
            let parts: Vec<Part> = items.iter().map(|item| Part::of(item, item.span)).collect();
            for cut in cuts(&parts, text, offset).into_iter().rev() {
                let whole = whole(&parts, &cut, text, offset, findings);
                items.splice(cut, whole);
            }
            items.iter_mut().for_each(|item| mend_cut_sizes(item, text, offset, findings));
        }
        Kind::Map(entries) => {
            // After the first part, the parts of a cut value stand where keys would.
            let parts: Vec<Part> =
                entries.iter().map(|(key, value)| Part::of(value, key.span)).collect();
            for cut in cuts(&parts, text, offset).into_iter().rev() {
                let (start, whole) = (cut.start, whole(&parts, &cut, text, offset, findings));
                if let (Some(whole), Some((_, value))) = (whole, entries.get_mut(start)) {
                    *value = whole;
                    entries.drain(start + 1..cut.end);
                }
            }
            for (_, value) in entries {
                mend_cut_sizes(value, text, offset, findings);
            }
        }
    }
}

/// An item of a list, or an entry of a map, as a part of a value that was cut.
struct Part {
    /// Of its value.
    value: Span,
    /// What it would be as a later part: the item, or the key.
    later: Span,
    /// It is a single value.
    scalar: bool,
}

impl Part {
    fn of(value: &Yaml, later: Span) -> Self {
        let scalar = matches!(value.kind, Kind::Scalar(_));
        Self { value: value.span, later, scalar }
    }

    /// Whether it is a bare word: an item, or a key without a value.
    fn bare(&self) -> bool {
        self.scalar && (self.value == self.later || self.value.start == self.value.end)
    }
}

/// The runs of parts that one pair of parentheses holds together.
fn cuts(parts: &[Part], text: &str, offset: usize) -> Vec<std::ops::Range<usize>> {
    let slice = |span: Span| text.get(span.start - offset..span.end - offset).unwrap_or("");
    let depth = |span: Span| {
        let count = |mark| slice(span).matches(mark).count();
        (count('('), count(')'))
    };
    let mut cuts = Vec::new();
    let mut start = 0;
    while let Some(first) = parts.get(start) {
        let (opened, closed) = depth(first.value);
        let mut last = first.value;
        let mut end = None;
        if first.scalar && opened == closed + 1 {
            for (i, part) in parts.iter().enumerate().skip(start + 1).take(MAX_CUT) {
                let gap = Span::new(last.end, part.later.start.max(last.end));
                let (opened, closed) = depth(part.later);
                if !part.bare() || slice(gap).trim() != "," || opened > 0 || closed > 1 {
                    break;
                }
                last = part.later;
                if closed == 1 {
                    end = Some(i + 1);
                    break;
                }
            }
        }
        if let Some(end) = end {
            cuts.push(start..end);
        }
        start = end.unwrap_or(start + 1);
    }
    cuts
}

/// The value that was cut, whole again, and the finding.
fn whole(
    parts: &[Part],
    cut: &std::ops::Range<usize>,
    text: &str,
    offset: usize,
    findings: &mut Vec<Finding>,
) -> Option<Yaml> {
    let (first, last) = (parts.get(cut.start)?, parts.get(cut.end - 1)?);
    let span = first.value.to(last.later);
    let written = text.get(span.start - offset..span.end - offset)?.to_owned();
    findings.push(
        Finding::new(
            Code::YamlBroken,
            span,
            "within braces or brackets, YAML cuts a list of sizes at its commas",
        )
        .label("quote this")
        .help(in_quotes(&written))
        .help("or write the keys one a line, without braces")
        .patch(span, quoted(&written)),
    );
    let scalar = Scalar { exact: Some(span.start), text: written };
    Some(Yaml { span, kind: Kind::Scalar(scalar) })
}

/// `needle: US #7`: what YAML takes for a comment looks like a number that was meant.
pub(super) fn find_lost_comments(
    node: &mut Yaml,
    text: &str,
    offset: usize,
    findings: &mut Vec<Finding>,
) {
    match &mut node.kind {
        Kind::List(items) => {
            items.iter_mut().for_each(|item| find_lost_comments(item, text, offset, findings));
        }
        Kind::Map(entries) => {
            entries
                .iter_mut()
                .for_each(|(_, value)| find_lost_comments(value, text, offset, findings));
        }
        Kind::Scalar(scalar) => {
            let rest = text.get(node.span.end - offset..).unwrap_or("");
            let comment = rest.trim_start_matches([' ', '\t', ':']);
            let lost = comment
                .strip_prefix('#')
                .is_some_and(|c| c.starts_with(|c: char| c.is_ascii_digit()));
            if !lost || scalar.exact != Some(node.span.start) {
                return;
            }
            let comment = comment.lines().next().unwrap_or("");
            let mark = node.span.end + (rest.find('#').unwrap_or(0));
            let start = if scalar.text.is_empty() { mark } else { node.span.start };
            let meant = Span::new(start, mark + comment.trim_end().len());
            let written = text.get(meant.start - offset..meant.end - offset).unwrap_or("");
            let mut finding =
                Finding::new(Code::YamlValue, meant, "YAML takes what follows `#` for a comment")
                    .label("read up to `#`")
                    .help(format!(
                        "if it belongs to the value, put the value in quotes: {}",
                        quoted(written)
                    ))
                    .help("if it is a comment, leave a space after the `#`");
            finding.severity = Severity::Warning;
            findings.push(finding);
            if scalar.text.is_empty() {
                *scalar = Scalar { text: written.to_owned(), exact: Some(meant.start) };
                node.span = meant;
            }
        }
    }
}
