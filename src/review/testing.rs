//! What the tests of this folder share.

use crate::diag::render::{self, Style};
use crate::source::Source;
use crate::syntax;

/// A pattern with these lines in its front matter and this body.
pub(super) fn pattern(front: &str, body: &str) -> String {
    format!("---\ntitle: Slipway Cap\n{front}---\n\n{body}")
}

/// What the whole check tells of a pattern, as it is shown.
pub(super) fn told(text: &str) -> String {
    let source = Source::new("cap.wale", text);
    let parsed = syntax::parse(&source);
    let findings = match &parsed.document {
        Some(document) => crate::check(&source, document, parsed.findings).findings,
        None => parsed.findings,
    };
    if findings.is_empty() {
        return "nothing".to_owned();
    }
    render::text(&findings, &source, None, Style::default())
}
