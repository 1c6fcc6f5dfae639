//! A rewrite to the pattern's own gauge and fit changes no byte.

use crate::patterns::{all, rewritten, targets};
use walewright::syntax;
use walewright::syntax::front::Targets;

#[test]
fn with_no_targets_at_all() {
    for pattern in all() {
        let targets = Targets::default();
        let revised =
            rewritten(&pattern, &targets).unwrap_or_else(|e| panic!("{}: {e}", pattern.name));
        assert_eq!(revised.source.text, pattern.text, "{}", pattern.name);
        assert!(revised.edits.is_empty(), "{}", pattern.name);
    }
}

#[test]
fn with_its_own_gauges_sizes_and_fit_written_out_as_targets() {
    for pattern in all() {
        let front = syntax::parse(&pattern).document.expect("a pattern").front;
        // The pattern's own words, key by key, are valid targets.
        let mut text = String::new();
        let slice = |span| pattern.slice(span);
        let mut block = |name: &str, entries: Vec<(String, &str)>| {
            if !entries.is_empty() {
                text.push_str(&format!("{name}:\n"));
            }
            for (key, value) in entries {
                text.push_str(&format!("  {key}: {value}\n"));
            }
        };
        let gauges = front.gauges.iter().map(|g| (g.name.value.clone(), slice(g.span))).collect();
        block("gauges", gauges);
        let quoted = |value: &str| value.trim_matches('"').to_owned();
        let measure =
            front.measure.iter().map(|e| (e.name.value.clone(), slice(e.value.span))).collect();
        block("measure", measure);
        let ease = front.ease.iter().map(|e| (e.name.value.clone(), slice(e.value.span))).collect();
        block("ease", ease);
        if !front.sizes.is_empty() {
            let sizes: Vec<String> =
                front.sizes.iter().map(|s| format!("\"{}\"", quoted(&s.value))).collect();
            text.push_str(&format!("sizes: [{}]\n", sizes.join(", ")));
        }
        let targets = targets(&text);
        let revised =
            rewritten(&pattern, &targets).unwrap_or_else(|e| panic!("{}: {e}", pattern.name));
        assert_eq!(revised.source.text, pattern.text, "{} with\n{text}", pattern.name);
    }
}
