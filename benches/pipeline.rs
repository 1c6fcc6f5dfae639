//! How long each step of the pipeline takes, beside pulldown-cmark merely
//! reading and rendering the same file.

use std::path::Path;
use walewright::plan::plan;
use walewright::source::Source;
use walewright::syntax::front::Targets;
use walewright::{check, page, rewrite, syntax};

fn main() {
    divan::main();
}

const PATTERNS: [&str; 3] = ["slipway-cap", "boathouse-pullover", "harbourlight-cardigan"];

fn file(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples").join(name);
    std::fs::read_to_string(path).expect("a sample")
}

fn pattern(name: &str) -> Source {
    Source::new(name, file(&format!("{name}.wale")))
}

fn coarser(name: &str) -> Targets {
    let source = Source::new("targets", file(&format!("{name}.coarser.yaml")));
    syntax::parse_targets(&source).0.expect("targets")
}

/// A flat piece of so many written rows, in nine sizes.
fn long(rows: usize) -> Source {
    let mut text = "---\ntitle: Long\nsizes: [A, B, C, D, E, F, G, H, I]\ngauges:\n  \
                    body: { stitches: 20, rows: 28, over: 10 cm }\n---\n\n## Strip, flat\n\n\
                    - cast on 42 (46, 50, 54, 58, 62, 66, 70, 74) in body\n"
        .to_owned();
    for row in 1..=rows {
        text.push_str(&format!("- row {row}: *k2, p2; rep from * to last 2 sts, k2\n"));
    }
    text.push_str("- bind off all\n");
    Source::new("long", text)
}

/// The yardstick.
#[divan::bench(args = PATTERNS)]
fn markdown_alone(bencher: divan::Bencher, name: &str) {
    let source = pattern(name);
    bencher.bench(|| {
        let events = pulldown_cmark::Parser::new_ext(&source.text, syntax::markdown_options());
        let mut html = String::new();
        pulldown_cmark::html::push_html(&mut html, events);
        html
    });
}

#[divan::bench(args = PATTERNS)]
fn parsed(bencher: divan::Bencher, name: &str) {
    let source = pattern(name);
    bencher.bench(|| syntax::parse(&source));
}

#[divan::bench(args = PATTERNS)]
fn checked(bencher: divan::Bencher, name: &str) {
    let source = pattern(name);
    bencher.bench(|| {
        let read = syntax::parse(&source);
        let document = read.document.expect("a pattern");
        check(&source, &document, read.findings).findings.len()
    });
}

/// The counts of all sizes, chosen and proved, on as many cores as there are.
#[divan::bench(args = PATTERNS)]
fn planned(bencher: divan::Bencher, name: &str) {
    let (source, targets) = (pattern(name), coarser(name));
    let document = syntax::parse(&source).document.expect("a pattern");
    let checked = check(&source, &document, Vec::new());
    bencher.bench(|| plan(&checked.model, &checked.traces, &targets).expect("counts").0.sizes);
}

#[divan::bench(args = PATTERNS)]
fn rewritten(bencher: divan::Bencher, name: &str) {
    let (source, targets) = (pattern(name), coarser(name));
    bencher.bench(|| {
        let read = syntax::parse(&source);
        let document = read.document.expect("a pattern");
        rewrite(&source, &document, read.findings, &targets).expect("a rewrite").source
    });
}

#[divan::bench(args = PATTERNS)]
fn as_a_page(bencher: divan::Bencher, name: &str) {
    let source = pattern(name);
    let read = syntax::parse(&source);
    let document = read.document.expect("a pattern");
    let worked = check(&source, &document, read.findings);
    bencher.bench(|| page::markdown(&source, &worked));
}

/// Growth: rows in nine sizes.
#[divan::bench(args = [250, 1_000, 4_000])]
fn checked_by_rows(bencher: divan::Bencher, rows: usize) {
    let source = long(rows);
    let read = syntax::parse(&source);
    let document = read.document.expect("a pattern");
    bencher.bench(|| check(&source, &document, Vec::new()).findings.len());
}
