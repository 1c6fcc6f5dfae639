//! What a rewrite leaves as written, although something asks for another.
//!
//! Asked of a plan, not of a pattern: a row of fixed numbers, say, holds the
//! count it is worked over, and the garment comes out at another width; or a
//! gauge is new, and nobody says on which needle. That may be what the author
//! wants, but it is never left unsaid.

use crate::diag::{Code, Finding, words};
use crate::measure::{Exact, Given, Unit, decimal, exact};
use crate::model::Model;
use crate::plan::{Derivation, Plan};
use crate::source::Span;
use crate::syntax::print;
use crate::syntax::tree::{Action, Counts, Item, ItemKind, Mark, StarEnd};
use crate::syntax::visit::{self, Number};
use std::collections::BTreeMap;

/// A count may be off by this much of its target, or by these few stitches, for the sake of a repeat.
const OFF_TARGET: Exact = Exact::new_raw(1, 20);
const FEW_STITCHES: i64 = 2;

/// Every count that keeps the number it had, further from its target than a repeat explains.
#[must_use]
pub fn kept_as_written(plan: &Plan<'_>, units: Unit) -> Vec<Finding> {
    let mut by_place: BTreeMap<Span, Vec<(&str, &Derivation)>> = BTreeMap::new();
    for (size, chosen) in plan.goal.sizes.iter().zip(&plan.sizes) {
        for derivation in chosen.derivations.iter().filter(|derivation| kept(derivation)) {
            by_place.entry(derivation.place).or_default().push((&size.name, derivation));
        }
    }
    let all = plan.goal.sizes.len();
    by_place.into_values().filter_map(|sizes| told(&sizes, all, units)).collect()
}

/// Every needle that stays although its gauge is another: what knits one gauge
/// seldom knits the other.
#[must_use]
pub fn needles_kept(model: &Model<'_>, plan: &Plan<'_>) -> Vec<Finding> {
    let gauges = model.gauges.iter().zip(&plan.goal.gauges);
    gauges
        .filter_map(|(own, goal)| {
            let needle = own.entry.needle.as_ref()?;
            let new = goal.entry.filter(|new| new.needle.is_none())?;
            let (was, is) = (own.gauge?.stitches, goal.gauge?.stitches);
            (was != is).then(|| {
                let (name, needle) = (&new.name.value, &needle.value);
                Finding::new(
                    Code::KeptAsWritten,
                    new.name.span,
                    format!("the needle of `{name}` stays {needle}, although its gauge changes"),
                )
                .in_targets()
                .label("names no needle")
                .help("add the needle of the swatch, as in `needle: 5 mm`")
            })
        })
        .collect()
}

/// Every live number of a repeat that goes on as far as it fits, in a piece whose counts are
/// to change: how often it fits is not said, so that the number is taken as it stands.
#[must_use]
pub fn repeats_kept(model: &Model<'_>, plan: &Plan<'_>) -> Vec<Finding> {
    let derivations = || plan.sizes.iter().flat_map(|size| &size.derivations);
    let changes = |derivation: &Derivation| {
        derivation.old.is_some_and(|old| exact(old, 1) != derivation.target)
    };
    let mut findings = Vec::new();
    model.each_step(&mut |piece, step| {
        let Action::Row { items, .. } = &step.action else { return };
        let fixed = step.marks.iter().any(|mark| mark.value == Mark::Fixed);
        if fixed || !derivations().any(|one| one.piece == piece && changes(one)) {
            return;
        }
        for counts in in_open_repeats(items) {
            let same = matches!(counts.given, Given::Same(_));
            let number = print::sizes(&counts.given, u32::to_string);
            let number = if same { number } else { format!("`{number}`") };
            findings.push(
                Finding::new(
                    Code::KeptAsWritten,
                    counts.span,
                    format!("{number} kept in a repeat that goes on as far as it fits"),
                )
                .label("stays as written")
                .help(
                    "to let it follow, say how often it is repeated, as in `[k{21}, pm] 4 times`",
                ),
            );
        }
    });
    findings
}

/// The live numbers in the repeats of a row that do not say how often they are worked.
fn in_open_repeats(items: &[Item]) -> Vec<&Counts> {
    let mut found: Vec<&Counts> = Vec::new();
    visit::each_item(items, &mut |item| {
        if let ItemKind::Star { items, until } = &item.kind
            && !matches!(until, StarEnd::Times { .. })
        {
            visit::in_items(items, &mut |number| {
                if let Number::Counts(counts) = number
                    && counts.live
                    && !found.iter().any(|known| known.span == counts.span)
                {
                    found.push(counts);
                }
            });
        }
    });
    found
}

fn kept(derivation: &Derivation) -> bool {
    let error = derivation.error();
    let off = error.abs();
    let allowed = (derivation.target * OFF_TARGET).max(exact(FEW_STITCHES, 1));
    derivation.old == Some(derivation.chosen) && off > allowed
}

fn told(sizes: &[(&str, &Derivation)], all: usize, units: Unit) -> Option<Finding> {
    let &(_, first) = sizes.first()?;
    let said = |derivation: &Derivation| {
        let error = derivation.error();
        let (off, way) = if error < exact(0, 1) { (-error, "narrower") } else { (error, "wider") };
        format!(
            "{} kept, {} {way} than aimed at: {} would be exact",
            words::count(derivation.chosen, "stitch"),
            derivation.density.stitches.length(off).precise(units),
            decimal(derivation.target, 1),
        )
    };
    let mut finding = Finding::new(Code::KeptAsWritten, first.place, said(first))
        .label("stays as written")
        .help("where the numbers of a row may change, put them in braces, as in `k{10}`");
    if sizes.len() < all {
        finding = finding.sizes(sizes.iter().map(|(name, _)| (*name).to_owned()).collect());
    }
    for (name, other) in sizes.iter().skip(1).filter(|(_, other)| said(other) != said(first)) {
        finding = finding.note(format!("in size {name}: {}", said(other)));
    }
    for asked in &first.asked {
        finding = finding.note(asked.words.clone());
    }
    Some(finding)
}

#[cfg(test)]
mod tests {
    use crate::diag::render::{self, Style};
    use crate::source::Source;
    use crate::syntax;

    fn told(row: &str) -> String {
        let pattern = Source::new(
            "scarf.wale",
            format!(
                "---\nsizes: [small, large]\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\n---\n\n## Scarf, flat\n\n- cast on 40 (60) in body\n- stockinette for 40 rows\n- {row}\n- bind off all\n"
            ),
        );
        let targets =
            Source::new("to.yaml", "gauges:\n  body: { stitches: 17, rows: 24, over: 10 cm }\n");
        let parsed = syntax::parse(&pattern);
        let document = parsed.document.expect("a pattern");
        let targets = syntax::parse_targets(&targets).0.expect("targets");
        let rewritten = crate::rewrite(&pattern, &document, parsed.findings, &targets);
        let findings = rewritten.expect("a rewrite").findings;
        render::text(&findings, &pattern, None, Style::default())
    }

    #[test]
    fn a_row_of_fixed_numbers_holds_the_count_of_its_sizes() {
        assert_eq!(told("next row (RS): knit"), "");
        insta::assert_snapshot!(told("size small only: next row (RS): k10, p20, k10"), @"
        note[kept-as-written]: 40 stitches kept, 3.5 cm wider than aimed at: 34 would be exact
         --> scarf.wale:9:11
          |
        9 | - cast on 40 (60) in body
          |           ^^^^^^^ stays as written
          |
          = note: in size small
          = note: a row works every stitch
          = help: where the numbers of a row may change, put them in braces, as in `k{10}`
        ");
    }

    #[test]
    fn a_needle_is_kept_only_with_a_word() {
        let told = |targets: &str| {
            let pattern = Source::new(
                "scarf.wale",
                "---\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm, needle: 4 mm }\n---\n\n## Scarf, flat\n\n- cast on 40 in body\n- stockinette for 10 cm\n- bind off all\n",
            );
            let targets = Source::new("to.yaml", format!("gauges:\n  body: {{ {targets} }}\n"));
            let parsed = syntax::parse(&pattern);
            let document = parsed.document.expect("a pattern");
            let read = syntax::parse_targets(&targets).0.expect("targets");
            let rewritten = crate::rewrite(&pattern, &document, parsed.findings, &read);
            let findings = rewritten.expect("a rewrite").findings;
            render::text(&findings, &pattern, Some(&targets), Style::default())
        };
        assert_eq!(told("stitches: 20, rows: 28, over: 10 cm"), "");
        assert_eq!(told("stitches: 17, rows: 24, over: 10 cm, needle: 5 mm"), "");
        insta::assert_snapshot!(told("stitches: 17, rows: 24, over: 10 cm"), @"
        note[kept-as-written]: the needle of `body` stays 4 mm, although its gauge changes
         --> to.yaml:2:3
          |
        2 |   body: { stitches: 17, rows: 24, over: 10 cm }
          |   ^^^^ names no needle
          |
          = help: add the needle of the swatch, as in `needle: 5 mm`
        ");
    }

    /// 40 stitches are 34 at 17 to 10 cm: a repeat of 10 holds them at 30 or 40.
    #[test]
    fn a_live_number_of_an_open_repeat_is_told() {
        let kept = |row: &str| told(row).matches("kept in a repeat").count();
        assert_eq!(kept("*k{10}, p10; rep from *"), 1);
        assert_eq!(kept("*k{10}, pm; rep from * to end"), 1);
        assert_eq!(kept("[k{5}, p{5}] to end"), 2);
        assert_eq!(kept("*k10, pm; rep from * to end"), 0);
        assert_eq!(kept("*k{10}, pm; rep from * to end [fixed]"), 0);
        assert_eq!(kept("[k{10 (15)}, pm] 4 times"), 0);
    }
}
