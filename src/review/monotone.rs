//! Chosen counts that do not grow with what they measure.
//!
//! Asked of a plan, not of a pattern: whole repeats can bring two sizes that
//! are close together to the same count, or the larger to the smaller. Sizes
//! are compared by the exact counts they aim at, in whatever order they stand.

use crate::diag::{Code, Finding, words};
use crate::measure::{Unit, exact};
use crate::plan::{Derivation, Plan, Reason};
use crate::source::Span;
use std::collections::BTreeMap;

/// Every count that is smaller in a larger size than in a smaller one; and
/// every measured count that is the same in two sizes whose measurements are
/// a stitch or more apart.
#[must_use]
pub fn not_monotone(plan: &Plan<'_>, units: Unit) -> Vec<Finding> {
    let mut by_place: BTreeMap<Span, Vec<(&str, &Derivation)>> = BTreeMap::new();
    for (size, chosen) in plan.goal.sizes.iter().zip(&plan.sizes) {
        for derivation in &chosen.derivations {
            by_place.entry(derivation.place).or_default().push((&size.name, derivation));
        }
    }
    by_place.into_values().filter_map(|sizes| first_wrong(sizes, units)).collect()
}

fn first_wrong(mut sizes: Vec<(&str, &Derivation)>, units: Unit) -> Option<Finding> {
    sizes.sort_by_key(|(_, derivation)| derivation.target);
    let mut pairs = sizes.iter().zip(sizes.iter().skip(1));
    let (smaller, larger) = pairs.find(|((_, a), (_, b))| wrong(a, b))?;
    let ((small, a), (large, b)) = (smaller, larger);
    let wider = b.density.stitches.length(b.target - a.target);
    let sts = words::count(b.chosen, "stitch");
    let how = if a.chosen == b.chosen {
        format!("size {large} has {sts}, the same as size {small}")
    } else {
        format!("size {large} has {sts}, fewer than the {} of size {small}", a.chosen)
    };
    let mut finding = Finding::new(
        Code::NotMonotone,
        a.place,
        format!("{how}, although it should be {} wider", wider.precise(units)),
    )
    .label("does not grow with the sizes")
    .help("use a fabric with a smaller repeat, or leave out one of the sizes");
    for asked in &b.asked {
        finding = finding.note(asked.words.clone());
    }
    Some(finding)
}

fn wrong(smaller: &Derivation, larger: &Derivation) -> bool {
    let measured = [smaller, larger].iter().any(|d| matches!(d.reason, Reason::Measures(_)));
    let apart = larger.target - smaller.target;
    larger.chosen < smaller.chosen && apart > exact(0, 1)
        || larger.chosen == smaller.chosen && measured && apart >= exact(1, 1)
}

#[cfg(test)]
mod tests {
    use crate::diag::render::{self, Style};
    use crate::source::Source;
    use crate::syntax;

    fn told(multiple: u32, heads: &str) -> String {
        let pattern = Source::new(
            "cap.wale",
            format!(
                "---\nsizes: [small, large]\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\nmeasure:\n  head: 44 (48) cm\n---\n\n## Cap, in the round\n\n- cast on 88 (96) in body [head] [multiple of {multiple}]\n- join in the round\n- stockinette for 20 rounds\n- bind off all\n"
            ),
        );
        let targets = Source::new("to.yaml", format!("measure:\n  head: {heads} cm\n"));
        let parsed = syntax::parse(&pattern);
        let document = parsed.document.expect("a pattern");
        let targets = syntax::parse_targets(&targets).0.expect("targets");
        let rewritten = crate::rewrite(&pattern, &document, parsed.findings, &targets);
        let findings = rewritten.expect("a rewrite").findings;
        render::text(&findings, &pattern, None, Style::default())
    }

    #[test]
    fn sizes_closer_than_the_repeat_come_out_the_same() {
        assert_eq!(told(2, "44 (45)"), "");
        assert_eq!(told(8, "44 (48)"), "");
        insta::assert_snapshot!(told(8, "44 (45)"), @"
        warning[not-monotone]: size large has 88 stitches, the same as size small, although it should be 1 cm wider
          --> cap.wale:11:11
           |
        11 | - cast on 88 (96) in body [head] [multiple of 8]
           |           ^^^^^^^ does not grow with the sizes
           |
           = note: the author asks for a multiple of 8
           = help: use a fabric with a smaller repeat, or leave out one of the sizes
        ");
    }
}
