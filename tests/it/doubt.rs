//! The doubt of a swatch, carried from the counting to the finished widths.

use walewright::source::Source;
use walewright::syntax;

/// A tube of 200 stitches; `gauge` says more of its gauge.
fn tube(gauge: &str, second: u32) -> Source {
    let text = format!(
        "---\ntitle: Tube\nsizes: [S, M]\ngauges:\n  body: {{ stitches: 21, rows: 28, over: 10 cm{gauge} }}\n\
         measure:\n  chest: 90 (100) cm\nease:\n  chest: 5 cm\n---\n\n## Tube, in the round\n\n\
         - cast on 200 ({second}) in body [chest + ease]\n- garter stitch for 40 rounds\n- bind off all\n"
    );
    Source::new("tube.wale", text)
}

fn codes(source: &Source) -> Vec<&'static str> {
    let parsed = syntax::parse(source);
    let document = parsed.document.expect("a pattern");
    let checked = walewright::check(source, &document, parsed.findings);
    checked.findings.iter().map(|f| f.code.name()).collect()
}

fn page(source: &Source) -> String {
    let parsed = syntax::parse(source);
    let document = parsed.document.expect("a pattern");
    let checked = walewright::check(source, &document, parsed.findings);
    let doubts = walewright::plan::facts::finished(&checked.model, &checked.traces);
    let cm = |length: &walewright::measure::Length| length.precise(walewright::measure::Unit::Cm);
    doubts
        .iter()
        .flat_map(|f| f.lengths.iter().zip(&f.doubts))
        .map(|(length, doubt)| {
            let doubt = doubt.as_ref().map_or("no doubt".to_owned(), cm);
            format!("{} +- {doubt}", length.as_ref().map_or("-".to_owned(), cm))
        })
        .collect::<Vec<_>>()
        .join(", ")
}

/// A count is known to about half a stitch (common practice): 200 stitches at 21
/// to 10 cm are 95.2 cm, and at 20.5 they are 97.6 cm.
#[test]
fn half_a_stitch_of_doubt_is_some_centimeters_round_a_chest() {
    assert_eq!(page(&tube(", doubt: 0.5", 230)), "95.2 cm +- 2.3 cm, 109.5 cm +- 2.7 cm");
    assert_eq!(page(&tube("", 230)), "95.2 cm +- no doubt, 109.5 cm +- no doubt");
}

/// 95.2 cm may be 97.6, and 98.1 cm may be 95.8.
#[test]
fn sizes_nearer_than_the_doubt_are_told() {
    let doubtful = |source| codes(&source).contains(&"gauge-doubtful");
    assert!(doubtful(tube(", doubt: 0.5", 206)));
    assert!(!doubtful(tube("", 206)));
    assert!(!doubtful(tube(", doubt: 0.5", 230)));
}

#[test]
fn a_rewrite_carries_the_doubt_of_the_new_swatch_and_drops_the_old() {
    let source = tube(", doubt: 0.5", 230);
    let parsed = syntax::parse(&source);
    let document = parsed.document.expect("a pattern");
    let rewritten = |targets: &str| {
        let targets = Source::new("targets.yaml", targets);
        let (targets, found) = syntax::parse_targets(&targets);
        assert!(found.is_empty(), "{found:?}");
        let targets = targets.expect("targets");
        let new = walewright::rewrite(&source, &document, Vec::new(), &targets);
        new.expect("a rewrite").source.text.lines().nth(4).unwrap_or_default().to_owned()
    };
    assert_eq!(
        rewritten("gauges:\n  body: { stitches: 18, rows: 24, over: 10 cm, doubt: 0.4 }\n"),
        "  body: { stitches: 18, rows: 24, over: 10 cm, doubt: 0.4 }"
    );
    assert_eq!(
        rewritten("gauges:\n  body: { stitches: 18, rows: 24, over: 10 cm }\n"),
        "  body: { stitches: 18, rows: 24, over: 10 cm }"
    );
}
