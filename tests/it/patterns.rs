//! The patterns of the repository, and what every test does with them.

use std::fs;
use std::path::{Path, PathBuf};
use walewright::diag::{Finding, render};
use walewright::measure::{Exact, decimal, exact};
use walewright::source::Source;
use walewright::syntax::front::Targets;
use walewright::syntax::tree::Document;
use walewright::{Checked, Rewritten, rewrite, syntax};

/// Every pattern of `samples/` and `tests/handbook/`, in order.
pub(crate) fn all() -> Vec<Source> {
    let mut patterns = samples();
    patterns.extend(in_folder("tests/handbook"));
    patterns
}

/// Every pattern of `samples/`.
pub(crate) fn samples() -> Vec<Source> {
    let samples = in_folder("samples");
    assert!(!samples.is_empty(), "no samples found");
    samples
}

fn in_folder(folder: &str) -> Vec<Source> {
    let mut paths = files(folder, "wale");
    paths.sort();
    paths.iter().map(|path| read(path)).collect()
}

fn files(folder: &str, ending: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let paths = entries.filter_map(|entry| Some(entry.ok()?.path()));
    paths.filter(|path| path.extension().is_some_and(|e| e == ending)).collect()
}

fn read(path: &Path) -> Source {
    let name = path.file_name().map_or(String::new(), |n| n.to_string_lossy().into_owned());
    Source::new(name, fs::read_to_string(path).expect("a readable file"))
}

/// The targets files that go with a pattern: `slipway-cap.finer.yaml` with `slipway-cap.wale`.
pub(crate) fn targets_of(pattern: &Source) -> Vec<Source> {
    let stem = pattern.name.trim_end_matches("wale");
    let mut found: Vec<Source> = ["samples", "tests/handbook"]
        .iter()
        .flat_map(|folder| files(folder, "yaml"))
        .map(|path| read(&path))
        .filter(|source| source.name.starts_with(stem))
        .collect();
    found.sort_by(|a, b| a.name.cmp(&b.name));
    found
}

/// What is read of a pattern.
pub(crate) fn document(source: &Source) -> Document {
    syntax::parse(source).document.expect("a pattern")
}

/// The pattern worked, and what was found on the way.
pub(crate) fn checked<'d>(source: &Source, document: &'d Document) -> Checked<'d> {
    walewright::check(source, document, Vec::new())
}

/// Targets that scale every gauge of a pattern by so many hundredths, its rows
/// by so many more or fewer.
pub(crate) fn scaled(pattern: &Source, by: i64, rows: i64) -> String {
    let mut text = "gauges:\n".to_owned();
    for gauge in &document(pattern).front.gauges {
        let times = |value: Option<Exact>, by: Exact| decimal(value.expect("a gauge") * by, 2);
        text.push_str(&format!(
            "  {}: {{ stitches: {}, rows: {}, over: 10 cm }}\n",
            gauge.name.value,
            times(gauge.stitches.map(|s| s.value), exact(by, 100)),
            times(gauge.rows.map(|r| r.value), exact(by, 100) * exact(100 + rows, 100)),
        ));
    }
    text
}

/// The targets of a text; panics with the findings where there are errors.
pub(crate) fn targets(text: &str) -> Targets {
    let source = Source::new("targets", text);
    let (targets, findings) = syntax::parse_targets(&source);
    assert!(
        !findings.iter().any(Finding::is_error),
        "{}",
        plain(&findings, &source, Some(&source))
    );
    targets.expect("targets")
}

/// Findings as a reader sees them.
pub(crate) fn plain(findings: &[Finding], pattern: &Source, targets: Option<&Source>) -> String {
    render::text(findings, pattern, targets, render::Style { color: false })
}

/// Rewrites a pattern, or gives the findings as text.
pub(crate) fn rewritten<'t>(
    pattern: &Source,
    targets: &'t Targets,
) -> Result<Rewritten<'t>, String> {
    let parsed = syntax::parse(pattern);
    let Some(document) = parsed.document else {
        return Err(plain(&parsed.findings, pattern, None));
    };
    let targets_source = Source::new("targets", "");
    rewrite(pattern, &document, parsed.findings, targets)
        .map_err(|findings| plain(&findings, pattern, Some(&targets_source)))
}
