//! Laws that hold of every rewrite, whatever the numbers.

use crate::patterns::{all, document, rewritten, samples, targets, targets_of};
use proptest::prelude::*;
use walewright::measure::{Exact, SizeId, decimal, exact};
use walewright::plan::{Asked, Derivation, Reason};
use walewright::source::{Source, Span};
use walewright::syntax::front::{GaugeEntry, Targets};
use walewright::syntax::tree::{Action, Amount, CastOnPlace, Counts, Document, Setting, Step};
use walewright::syntax::{Vocabulary, print, step};
use walewright::{page, syntax};

fn long() -> bool {
    std::env::var_os("WALE_LONG").is_some()
}

fn cases(few: u32, many: u32) -> ProptestConfig {
    ProptestConfig {
        cases: if long() { many } else { few },
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

/// Every step of a document, those that others hold too.
fn steps(document: &Document) -> Vec<&Step> {
    fn down<'d>(step: &'d Step, all: &mut Vec<&'d Step>) {
        all.push(step);
        step.steps.iter().for_each(|inner| down(inner, all));
    }
    let mut all = Vec::new();
    for block in document.sections.iter().flat_map(|s| &s.blocks) {
        if let syntax::tree::Block::Steps(steps) = block {
            steps.iter().for_each(|step| down(step, &mut all));
        }
    }
    all
}

/// The counts that span pieces: cast on, and led to evenly.
fn spans(document: &Document) -> Vec<&Counts> {
    let steps = steps(document).into_iter();
    let span = steps.filter_map(|step| match &step.action {
        Action::CastOn { count, place: CastOnPlace::Here, .. } => Some(count),
        Action::Even { amount: Amount::To(count), .. } => Some(count),
        _ => None,
    });
    span.collect()
}

/// The gauges of a pattern as targets.
fn own_gauges(source: &Source) -> String {
    let front = document(source).front;
    let gauges =
        front.gauges.iter().map(|g| format!("  {}: {}\n", g.name.value, source.slice(g.span)));
    format!("gauges:\n{}", gauges.collect::<String>())
}

/// How many stitches of a pattern's body make one of the targets', 1 at least.
fn coarser(pattern: &Document, targets: &Targets) -> Exact {
    let body = |gauges: &[GaugeEntry]| {
        gauges.iter().find(|g| g.name.value == "body").and_then(|g| Some(g.stitches?.value))
    };
    match (body(&pattern.front.gauges), body(&targets.gauges)) {
        (Some(own), Some(new)) => (own / new).max(exact(1, 1)),
        _ => exact(1, 1),
    }
}

#[test]
fn there_and_back_again_each_count_is_within_a_repeat() {
    let mut compared = 0;
    for pattern in samples() {
        // Only those that change the gauges alone.
        let gauges = |t: &&Source| !t.name.contains(".level.") && !t.name.contains(".sizes.");
        for file in targets_of(&pattern).iter().filter(gauges) {
            let there_targets = targets(&file.text);
            let coarser = coarser(&document(&pattern), &there_targets);
            let there = rewritten(&pattern, &there_targets).unwrap_or_else(|e| panic!("{e}"));
            let back_text = own_gauges(&pattern);
            let back_targets = targets(&back_text);
            let back = rewritten(&there.source, &back_targets).unwrap_or_else(|e| panic!("{e}"));
            let (before, after) = (document(&pattern), document(&back.source));
            let (before, after) = (spans(&before), spans(&after));
            assert_eq!(before.len(), after.len(), "{}", pattern.name);
            for (old, new) in before.iter().zip(after) {
                for size in (0..40).map(SizeId) {
                    let (Some(&old), Some(&new)) = (old.given.get(size), new.given.get(size))
                    else {
                        continue;
                    };
                    // The widest repeat of the samples is the scarf's 12; each way may round by
                    // half of one, and stitches that were coarser count for more.
                    let off = exact(i64::from(old.abs_diff(new)), 1);
                    assert!(
                        off <= exact(6, 1) + coarser * exact(6, 1),
                        "{} {}: {old} came back as {new}",
                        pattern.name,
                        file.name
                    );
                    compared += 1;
                }
            }
        }
    }
    assert!(compared > 100, "only {compared} counts");
}

/// The repeat that a chosen count is asked to be in: the least common multiple of those in words.
fn repeat_of(derivation: &Derivation) -> u64 {
    let of = |asked: &Asked| {
        let (_, number) = asked.words.split_once("multiple of ")?;
        number.split(|c: char| !c.is_ascii_digit()).next()?.parse::<u64>().ok()
    };
    derivation.asked.iter().filter_map(of).fold(1, |all, n| all / gcd(all, n) * n)
}

fn gcd(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

#[test]
fn a_chosen_count_is_off_by_half_its_repeat_at_most_or_says_what_moved_it() {
    let (mut alone, mut in_repeats, mut explained) = (0, 0, 0);
    for pattern in samples() {
        for file in targets_of(&pattern) {
            let targets = targets(&file.text);
            let revised = rewritten(&pattern, &targets).unwrap_or_else(|e| panic!("{e}"));
            for derivation in revised.plan.sizes.iter().flat_map(|size| &size.derivations) {
                let off = derivation.error();
                let at_most = |of: i64| off <= exact(of, 2) && off >= exact(-of, 2);
                let what = || {
                    let of = pattern.slice(derivation.place);
                    format!("{} {}: {of} {derivation:?}", pattern.name, file.name)
                };
                let tied = derivation.asked.iter().any(|asked| !asked.tied.is_empty());
                // A band follows the count that it meets, wherever that went.
                if matches!(derivation.reason, Reason::Band { .. }) {
                    explained += 1;
                    continue;
                }
                let repeats = derivation.asked.iter().all(|a| a.words.contains("multiple of "));
                if derivation.asked.is_empty() {
                    assert!(at_most(1), "{}", what());
                    alone += 1;
                } else if repeats && !tied {
                    assert!(at_most(repeat_of(derivation).cast_signed()), "{}", what());
                    in_repeats += 1;
                } else {
                    explained += 1;
                }
            }
        }
    }
    println!("{alone} nearest, {in_repeats} in repeats, {explained} with more asked of them");
    assert!(alone + in_repeats > 100, "{alone} nearest, {in_repeats} in repeats");
}

/// Every instruction of the repository, printed and read and printed again, is the same.
#[test]
fn the_print_of_what_was_read_reads_the_same() {
    let mut tried = 0;
    for pattern in all() {
        let document = document(&pattern);
        let vocabulary = Vocabulary::of(&document.front);
        let print = |text: &str| {
            let words = |span: Span| text.get(span.range()).unwrap_or_default().to_owned();
            let step = step::parse(text, 0, &vocabulary).map_err(|e| format!("{text}: {e:#?}"))?;
            Ok::<_, String>(print::step(&step, Setting::Flat, words))
        };
        for step in instructions(&document) {
            let text = pattern.slice(step);
            let once = print(text).unwrap_or_else(|e| panic!("{}: {e}", pattern.name));
            let again = print(&once).unwrap_or_else(|e| panic!("{}: {e}", pattern.name));
            assert_eq!(once, again, "{}", pattern.name);
            tried += 1;
        }
    }
    assert!(tried > 300, "only {tried} instructions");
}

/// The instructions that hold no others.
fn instructions(document: &Document) -> Vec<Span> {
    steps(document).into_iter().filter(|step| step.steps.is_empty()).map(|step| step.span).collect()
}

#[test]
fn sizes_do_not_depend_on_each_other() {
    let mut compared = 0;
    for pattern in samples() {
        for file in targets_of(&pattern) {
            // A list by size is of so many sizes, and would not fit one.
            let listed = file.text.contains(" (") || file.name.contains(".sizes.");
            if file.name.contains(".coarser.") || long() && !listed {
                compared += alone_as_among_others(&pattern, &file);
            }
        }
    }
    println!("{compared} editions of one size compared");
    assert!(compared >= 30, "only {compared} editions of one size");
}

/// One size leaves out how often where it says until when; several say it if one of them must.
fn without_times(text: &str) -> String {
    let parts: Vec<&str> = text.split(" times until ").collect();
    let last = parts.len() - 1;
    let bare = parts.iter().enumerate().map(|(at, part)| match part.rsplit_once(' ') {
        Some((before, count)) if at < last && count.parse::<u32>().is_ok() => before,
        _ => part,
    });
    bare.collect::<Vec<_>>().join(" until ").replace(" once until ", " until ")
}

/// Every size of a rewrite, taken out of it and rewritten alone: the same instructions.
fn alone_as_among_others(pattern: &Source, file: &Source) -> usize {
    let full_targets = targets(&file.text);
    let full = rewritten(pattern, &full_targets).unwrap_or_else(|e| panic!("{e}"));
    let sizes = document(&full.source).front.sizes;
    for size in &sizes {
        // One size of the revised pattern, and the pattern revised for one size.
        let after = page::one_size(&full.source, &size.value).expect("one size");
        let one_targets = Targets { sizes: vec![size.clone()], ..full_targets.clone() };
        let before = rewritten(pattern, &one_targets).unwrap_or_else(|e| panic!("{e}"));
        // A list of several sizes says "every 2nd row" where one size says "every RS row".
        let body = |text: &str| {
            let body = text.split_once("\n# ").map_or("", |(_, body)| body);
            without_times(&body.replace("every 2nd row", "every RS row"))
        };
        for (a, b) in body(&after.text).lines().zip(body(&before.source.text).lines()) {
            assert_eq!(a, b, "{} {}", file.name, size.value);
        }
        let lines = |text: &str| body(text).lines().count();
        assert_eq!(lines(&after.text), lines(&before.source.text));
        for stilted in ["1 time", "1 more time", "0 time", "0 more time"] {
            let says = after.text.lines().find(|line| line.contains(&format!(" {stilted}")));
            assert_eq!(says, None, "{} {}", file.name, size.value);
        }
    }
    sizes.len()
}

#[test]
fn the_order_of_sizes_changes_no_number() {
    for pattern in samples() {
        let mut sizes = document(&pattern).front.sizes;
        sizes.reverse();
        let reversed_targets = Targets { sizes: sizes.clone(), ..Targets::default() };
        let reversed = rewritten(&pattern, &reversed_targets).unwrap_or_else(|e| panic!("{e}"));
        let back_targets = Targets { sizes: document(&pattern).front.sizes, ..Targets::default() };
        let back = rewritten(&reversed.source, &back_targets).unwrap_or_else(|e| panic!("{e}"));
        let (old, new) = (document(&pattern), document(&back.source));
        for (a, b) in spans(&old).iter().zip(spans(&new)) {
            for size in (0..sizes.len()).map(SizeId) {
                assert_eq!(a.given.get(size), b.given.get(size), "{}", pattern.name);
            }
        }
    }
}

#[test]
fn edits_lie_apart_and_inside_the_source() {
    for pattern in samples() {
        for file in targets_of(&pattern) {
            let targets = targets(&file.text);
            let revised = rewritten(&pattern, &targets).unwrap_or_else(|e| panic!("{e}"));
            let mut end = 0;
            for edit in &revised.edits {
                assert!(
                    edit.span.start >= end && edit.span.end <= pattern.text.len(),
                    "{}: {:?}",
                    file.name,
                    edit
                );
                assert!(
                    pattern.text.is_char_boundary(edit.span.start)
                        && pattern.text.is_char_boundary(edit.span.end)
                );
                assert_ne!(pattern.slice(edit.span), edit.text, "an edit that changes nothing");
                end = edit.span.end;
            }
        }
    }
}

/// A band and a body in the round, with every length in one unit.
fn small(unit: &str, per: i64, stitches: (i64, i64), chest: i64) -> String {
    // 1 in is 2.54 cm; every length below is `n` inches.
    let length = |inches: i64| match unit {
        "in" => format!("{inches} in"),
        _ => format!("{} cm", decimal(exact(inches * 254, 100), 2)),
    };
    format!(
        "---\ntitle: Twin\nunits: {unit}\ngauges:\n  body: {{ stitches: {}, rows: 24, over: {} }}\n  \
         band: {{ stitches: {}, rows: 28, over: {} }}\nmeasure:\n  chest: {}\n---\n\n## Body, in the round\n\n\
         - cast on ? in band\n- join in the round\n- k2 p2 rib for {}\n- change to body\n\
         - increase or decrease evenly to ? [chest] [lies snug 10%]\n- stockinette until {} from cast on\n- bind off all\n",
        stitches.0,
        length(per),
        stitches.1,
        length(per),
        length(chest),
        length(2),
        length(14),
    )
}

fn chosen(text: &str) -> Result<Vec<u32>, String> {
    let source = Source::new("twin.wale", text);
    let targets = targets("title: Twin\n");
    let revised = rewritten(&source, &targets)?;
    let document = document(&revised.source);
    Ok(spans(&document).iter().filter_map(|c| c.given.get(SizeId(0)).copied()).collect())
}

proptest! {
    #![proptest_config(cases(48, 5_000))]

    #[test]
    fn inches_and_centimeters_give_the_same_counts(body in 10_i64..40, more in 0_i64..8, chest in 12_i64..60) {
        let stitches = (body, body + more);
        prop_assert_eq!(chosen(&small("in", 4, stitches, chest)), chosen(&small("cm", 4, stitches, chest)));
    }

    #[test]
    fn twice_as_large_at_half_the_gauge_is_the_same_count(body in 10_i64..40, more in 0_i64..8, chest in 12_i64..40) {
        let stitches = (body, body + more);
        let one = chosen(&small("in", 4, stitches, chest));
        let two = chosen(&small("in", 8, stitches, 2 * chest));
        prop_assert_eq!(one, two);
    }

    /// Flat, a rib ends as it began or with a whole repeat; in the round only so.
    #[test]
    fn any_rib_is_in_whole_repeats(body in 10_i64..40, chest in 12_i64..60, knit in 1_u32..6, purl in 1_u32..6, flat: bool) {
        let (setting, join) = if flat { ("flat", "") } else { ("in the round", "- join in the round\n") };
        let text = format!(
            "---\ntitle: One\nunits: in\ngauges:\n  body: {{ stitches: {body}, rows: 24, over: 4 in }}\n\
             measure:\n  chest: {chest} in\n---\n\n## Tube, {setting}\n\n- cast on ? [chest]\n\
             {join}- k{knit} p{purl} rib for 4 in\n- bind off all\n"
        );
        let counts = chosen(&text).expect("a pattern");
        let over = counts[0] % (knit + purl);
        prop_assert!(over == 0 || (flat && over == knit), "{} over {knit} + {purl}", counts[0]);
        let off = exact(i64::from(counts[0]), 1) - exact(body * chest, 4);
        let half = exact(i64::from(knit + purl), 2);
        prop_assert!(off <= half && off >= -half, "{} for {}", counts[0], exact(body * chest, 4));
    }

    #[test]
    fn a_count_that_is_measured_is_the_nearest_that_its_repeat_allows(body in 10_i64..40, chest in 12_i64..60) {
        // One count, one repeat: nothing else can move it.
        let text = format!(
            "---\ntitle: One\nunits: in\ngauges:\n  body: {{ stitches: {body}, rows: 24, over: 4 in }}\n\
             measure:\n  chest: {chest} in\n---\n\n## Tube, in the round\n\n- cast on ? [chest]\n\
             - join in the round\n- k3 p2 rib for 4 in\n- bind off all\n"
        );
        let counts = chosen(&text).expect("a pattern");
        let exact_count = exact(body * chest, 4);
        let off = exact(i64::from(counts[0]), 1) - exact_count;
        prop_assert!(counts[0].is_multiple_of(5));
        prop_assert!(off <= exact(5, 2) && off >= exact(-5, 2), "{} for {}", counts[0], exact_count);
    }
}

#[test]
fn an_empty_span_is_no_place_to_edit() {
    // "The next row" is one row that nobody wrote: it must not be written.
    let pattern =
        samples().into_iter().find(|p| p.name.starts_with("boathouse")).expect("the pullover");
    let file =
        targets_of(&pattern).into_iter().find(|t| t.name.contains("finer")).expect("targets");
    let targets = targets(&file.text);
    let revised = rewritten(&pattern, &targets).unwrap_or_else(|e| panic!("{e}"));
    let inserted = |span: Span| span.start == span.end;
    assert!(!revised.edits.iter().any(|edit| inserted(edit.span)));
    assert!(!revised.source.text.contains("next 1row"));
}
