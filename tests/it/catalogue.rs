//! The catalogue's examples are true: what is wrong has exactly the finding it
//! is an example of, and what is right has none.

use std::collections::BTreeSet;
use walewright::diag::{Code, Example, Finding, render};
use walewright::source::Source;
use walewright::syntax;

/// The findings of an example: of a check, or of a rewrite where it has targets.
struct Found {
    pattern: Source,
    targets: Option<Source>,
    findings: Vec<Finding>,
}

fn found(example: Example) -> Found {
    let pattern = Source::new("example.wale", example.pattern);
    let targets = example.targets.map(|text| Source::new("targets.yaml", text));
    let parsed = syntax::parse(&pattern);
    let findings = match (&parsed.document, &targets) {
        (None, _) => parsed.findings,
        (Some(document), None) => walewright::check(&pattern, document, parsed.findings).findings,
        (Some(document), Some(targets)) => {
            let (read, mut findings) = syntax::parse_targets(targets);
            let read = read.unwrap_or_default();
            findings.extend(
                match walewright::rewrite(&pattern, document, parsed.findings, &read) {
                    Ok(rewritten) => rewritten.findings,
                    Err(findings) => findings,
                },
            );
            findings
        }
    };
    Found { pattern, targets, findings }
}

#[test]
fn every_example_has_exactly_the_finding_it_shows() {
    let mut untrue = Vec::new();
    for code in Code::all() {
        let examples = [(code.wrong(), BTreeSet::from([code])), (code.right(), BTreeSet::new())];
        for (example, expected) in examples {
            let Some(example) = example else { continue };
            let Found { pattern, targets, findings } = found(example);
            let codes: BTreeSet<Code> = findings.iter().map(|finding| finding.code).collect();
            if codes != expected {
                let shown =
                    render::text(&findings, &pattern, targets.as_ref(), render::Style::default());
                untrue.push(format!("{}: expected {expected:?}\n{shown}", code.name()));
            }
        }
    }
    assert!(untrue.is_empty(), "{}", untrue.join("\n"));
}
