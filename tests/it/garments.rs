//! Whole garments: the parts of one fit one another, at any gauge.

use crate::patterns::{rewritten, samples, scaled, targets};
use proptest::prelude::*;
use std::collections::BTreeMap;
use walewright::diag::Code;
use walewright::measure::{Length, Unit, exact};
use walewright::plan::yarn;
use walewright::source::Source;
use walewright::syntax;
use walewright::syntax::tree::{Action, BindOff, Block, Counts, ItemKind, PickUp, Step};

fn cases(few: u32, many: u32) -> ProptestConfig {
    let long = std::env::var_os("WALE_LONG").is_some();
    ProptestConfig {
        cases: if long { many } else { few },
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

fn sample(name: &str) -> Source {
    samples().into_iter().find(|s| s.name.starts_with(name)).expect("a sample")
}

/// The steps of a pattern, nested ones too, each with its own text.
fn steps(source: &Source) -> Vec<(String, Step)> {
    fn of(source: &Source, step: &Step, all: &mut Vec<(String, Step)>) {
        all.push((source.slice(step.span).to_owned(), step.clone()));
        step.steps.iter().for_each(|inner| of(source, inner, all));
    }
    let document = syntax::parse(source).document.expect("a pattern");
    let mut all = Vec::new();
    for block in document.sections.iter().flat_map(|section| &section.blocks) {
        if let Block::Steps(steps) = block {
            steps.iter().for_each(|step| of(source, step, &mut all));
        }
    }
    all
}

proptest! {
    #![proptest_config(cases(8, 400))]

    /// A cap keeps what the author let it have over its armhole, to half a
    /// centimeter or a row, in every size; where no slope does, it is said.
    #[test]
    fn the_edge_of_a_cap_is_that_of_its_armhole(
        which in 0_usize..2, by in 35_i64..180, rows in -8_i64..15,
    ) {
        let pattern = sample(["boathouse", "harbourlight"][which]);
        let text = scaled(&pattern, by, rows);
        let targets = targets(&text);
        let revised = rewritten(&pattern, &targets).expect("a rewrite");
        let mut fits = true;
        for size in &revised.plan.sizes {
            prop_assert_eq!(size.caps.len(), 1);
            for cap in &size.caps {
                let one_row = exact(1, 1) / exact(10, 1);
                prop_assert!(cap.tolerance >= Length::cm(1) * one_row * exact(5, 1));
                fits &= (cap.set_in.cap - cap.set_in.armhole - cap.wanted).abs() <= cap.tolerance;
            }
        }
        let told = revised.findings.iter().any(|f| f.code == Code::CapDiffers);
        prop_assert_eq!(fits, !told, "{}", text);
        // Above nine stitches to 10 cm, and rows that are none too tall, there is always a slope.
        if by >= 50 && rows >= -5 {
            prop_assert!(fits, "{}", text);
        }
    }

    /// What the author made alike stays alike: the two underarms of a yoke, what is
    /// picked up along them, and the armholes of the back and of a front.
    #[test]
    fn what_was_alike_stays_alike(by in 35_i64..180) {
        let yoke = sample("lantern");
        let text = scaled(&yoke, by, 0);
        let to = targets(&text);
        let revised = rewritten(&yoke, &to).expect("a rewrite").source;
        let steps_of = steps(&revised);
        let divide = steps_of.iter().find_map(|(_, step)| match &step.action {
            Action::Row { items, .. } if items.len() == 6 => Some(items.clone()),
            _ => None,
        });
        let given = |kind: &ItemKind| match kind {
            ItemKind::Stitch { count: Some(counts), .. }
            | ItemKind::CastOn(counts)
            | ItemKind::Hold { count: counts, .. } => Some(counts.given.clone()),
            _ => None,
        };
        let divided: Vec<_> = divide.expect("a division").iter().map(|i| given(&i.kind)).collect();
        prop_assert_eq!(&divided[..3], &divided[3..]);
        let picked = steps_of.iter().find_map(|(_, step)| match &step.action {
            Action::PickUp { amount: PickUp::Count(counts), .. } => Some(counts.given.clone()),
            _ => None,
        });
        prop_assert_eq!(&picked, &divided[2]);

        let cardigan = sample("harbourlight");
        let text = scaled(&cardigan, by, 0);
        let to = targets(&text);
        let revised = rewritten(&cardigan, &to).expect("a rewrite").source;
        let parsed = syntax::parse(&revised);
        let document = parsed.document.expect("a pattern");
        let checked = walewright::check(&revised, &document, parsed.findings);
        let places: Vec<_> = steps(&revised)
            .into_iter()
            .filter(|(text, _)| text.starts_with("decrease 1 each end") || text.contains("at armhole edge"))
            .map(|(_, step)| step.span)
            .collect();
        for trace in &checked.traces {
            let times = |n: usize| {
                let visit = trace.visits.iter().find(|v| v.step == places[n]);
                visit.and_then(|v| v.shapings.as_ref()?.known())
            };
            prop_assert!(times(0).is_some());
            prop_assert_eq!(times(0), times(1), "back and front armholes in size {}", trace.size.0);
        }
    }
}

/// The counts of every bind-off at the start of rows.
fn bound_off(source: &Source) -> Vec<Counts> {
    steps(source)
        .into_iter()
        .filter_map(|(_, step)| match step.action {
            Action::BindOff { amount: BindOff::StartOfNext { count, .. } } => Some(count),
            _ => None,
        })
        .collect()
}

#[test]
fn nothing_is_bound_off_of_what_was_bound_off() {
    for name in ["boathouse", "harbourlight"] {
        let pattern = sample(name);
        let text = scaled(&pattern, 35, 0);
        let to = targets(&text);
        let revised = rewritten(&pattern, &to).expect("a rewrite").source;
        for counts in bound_off(&revised) {
            assert!(counts.given.values().all(|&n| n > 0), "{}", revised.slice(counts.span));
        }
    }
}

/// A depth given outright is that of the whole armhole: its neck begins as far
/// below it as before.
#[test]
fn a_length_given_outright_carries_those_before_it() {
    let pattern = sample("boathouse");
    let to = targets("lengths:\n  armhole: 20 (21, 22, 23, 24) cm\n");
    let revised = rewritten(&pattern, &to).expect("a rewrite").source;
    // The neck began 7.5 (7.5, 7.5, 8, 8) cm below.
    let lines: Vec<&str> =
        revised.text.lines().filter(|line| line.contains("armhole measures")).collect();
    let began = "armhole measures 12.5 (13.5, 14.5, 15, 16) cm";
    let ended = "armhole measures 20 (21, 22, 23, 24) cm";
    assert!(lines.iter().any(|line| line.contains(began)), "{lines:#?}");
    assert_eq!(lines.iter().filter(|line| line.contains(ended)).count(), 2, "{lines:#?}");
}

/// The yarn of a pattern that names no seams is its stitches, each as long as its
/// gauge asks: kw / W, with kw 4.2 for a fully relaxed fabric (Munden 1959, as
/// printed in GATE 2015 Textile Engineering, question 54).
#[test]
fn all_stitches_times_their_loops_are_the_yarn() {
    let kw = exact(42, 10);
    for pattern in samples() {
        // What the pattern says it used would be told instead.
        let text: Vec<&str> =
            pattern.text.lines().filter(|l| !l.trim_start().starts_with("used:")).collect();
        let source = Source::new(pattern.name.clone(), text.join("\n"));
        let parsed = syntax::parse(&source);
        let document = parsed.document.expect("a pattern");
        let checked = walewright::check(&source, &document, parsed.findings);
        let need = yarn::need(&checked.model, &checked.traces).expect("an amount");
        assert_eq!(need.method, yarn::Method::Constants);
        for (trace, amount) in checked.traces.iter().zip(&need.sizes) {
            let mut stitches = BTreeMap::new();
            for visit in &trace.visits {
                let copies = i64::from(checked.model.pieces[visit.piece].copies);
                let gauge = visit.gauge.expect("a gauge");
                let sum = stitches.entry(gauge).or_insert(0);
                *sum += visit.stitches.known().expect("a number") * copies;
            }
            let loops = stitches.into_iter().map(|(gauge, n)| {
                let per_cm = checked.model.gauges[gauge.0]
                    .gauge
                    .expect("a gauge")
                    .stitches
                    .count(Length::cm(1));
                exact(n, 1) * (kw / per_cm)
            });
            let centimeters = loops.fold(exact(0, 1), |sum, one| sum + one);
            let length = amount.and_then(|a| a.length).expect("a length").amount(Unit::Cm);
            if document.front.seams.is_empty() {
                assert_eq!(length, centimeters, "{} {}", pattern.name, trace.size.0);
            } else {
                assert!(length > centimeters && length < centimeters * exact(101, 100));
            }
            let put_up =
                document.front.yarn.as_ref().and_then(|y| y.put_up.as_ref()).expect("a put-up");
            let put_up = put_up.value.length.amount(Unit::Cm);
            let bought = exact(amount.and_then(|a| a.put_ups).expect("a number"), 1) * put_up;
            let wanted = length * exact(11, 10);
            // Each color is bought by itself.
            let colors = i64::try_from(need.colors.len().max(1)).expect("few");
            assert!(bought >= wanted && bought < wanted + put_up * exact(colors, 1));
        }
    }
}

/// Yards for an adult sweater by the weight of the yarn (Knitting & Crocheting
/// All-in-One For Dummies): 3: 1000-2000, 4: 800-1500.
#[test]
fn a_sweater_takes_what_sweaters_take() {
    for (name, size, least, most) in [
        ("boathouse", "M", 800, 1500),
        ("lantern", "M", 800, 1500),
        ("harbourlight", "M", 1000, 2000),
    ] {
        let pattern = sample(name);
        let parsed = syntax::parse(&pattern);
        let document = parsed.document.expect("a pattern");
        let checked = walewright::check(&pattern, &document, parsed.findings);
        let at = checked.model.sizes.iter().position(|s| s == size).expect("a size");
        let lengths = yarn::reckoned(&checked.model, &checked.traces);
        let yards = lengths[at].expect("a length").amount(Unit::Yd);
        assert!(yards >= exact(least, 1) && yards <= exact(most, 1), "{name}: {yards}");
    }
}

/// A heel of short rows alone leaves about a third of its stitches in the middle (common
/// practice), and is worked out again as many times as it is worked in.
#[test]
fn a_short_row_heel_leaves_a_third() {
    let pattern = sample("buoy");
    for by in [45, 60, 75, 90, 110, 130, 160] {
        let text = scaled(&pattern, by, 0);
        let to = targets(&text);
        let revised = rewritten(&pattern, &to).expect("a rewrite").source;
        let steps = steps(&revised);
        let numbers = |starts: &str| -> Vec<i64> {
            let (text, _) = steps.iter().find(|(t, _)| t.contains(starts)).expect("a step");
            let rest = &text[text.find(starts).expect("words") + starts.len()..];
            let inner = rest.split(|c: char| c.is_alphabetic() || c == '}').next().expect("some");
            let each = inner.split(|c: char| !c.is_ascii_digit());
            let found: Vec<i64> = each.filter_map(|n| n.parse().ok()).collect();
            if found.len() == 1 { found.repeat(4) } else { found }
        };
        let heel = numbers("hold {");
        let (narrower, wider) = (numbers("repeat rows 3-4 "), numbers("repeat rows 5-6 "));
        assert_eq!(narrower, wider, "{by}%");
        for (heel, times) in heel.iter().zip(narrower) {
            // Two rows before the repeat and one repeat of them are worked first.
            let middle = heel - 2 * (times + 2);
            assert!((3 * middle - heel).abs() <= 6, "{by}%: {middle} of {heel}");
        }
    }
}

/// The foot of the sock has the stitches of its leg, and the heel turns evenly:
/// as many stitches wait on either side after its first two rows.
#[test]
fn a_sock_fits_its_own_leg() {
    let pattern = sample("keel");
    for by in [70, 80, 95, 110, 130, 150] {
        let text = scaled(&pattern, by, 0);
        let to = targets(&text);
        let revised = rewritten(&pattern, &to).expect("a rewrite").source;
        let steps = steps(&revised);
        let number = |starts: &str, nth: usize| -> Vec<i64> {
            let (text, _) = steps.iter().find(|(t, _)| t.contains(starts)).expect("a step");
            let open = text.match_indices('{').nth(nth).expect("a live number").0;
            let inner = &text[open + 1..open + text[open..].find('}').expect("closed")];
            let numbers = inner.split(|c: char| !c.is_ascii_digit());
            numbers.filter_map(|n| n.parse().ok()).collect()
        };
        let (flap, first, middle) =
            (number("hold {", 1), number("p{", 0), number("[multiple of 2 plus 1]", 0));
        for size in 0..flap.len() {
            let middle = middle.get(size).or(middle.first()).expect("a number");
            let waiting = (flap[size] - first[size] - 4, first[size] - middle - 1);
            assert_eq!(waiting.0, waiting.1, "{by}%, size {size}");
        }
        let counts = |words: &str| {
            let (text, _) = steps.iter().find(|(t, _)| t.contains(words)).expect("a step");
            let from = text.find(words).expect("words") + words.len();
            text[from..].split(|c: char| c.is_alphabetic() || c == '[').next().map(str::to_owned)
        };
        assert_eq!(
            counts("decrease evenly to ").map(|t| t.trim().to_owned()),
            counts("2nd round until ").map(|t| t.trim().to_owned()),
            "{by}%"
        );
    }
}

/// A raglan worked from the bottom up, in pieces.
const RAGLAN: &str = "\
---
title: Raglan
sizes: [S, M, L]
units: cm
gauges:
  body: { stitches: 20, rows: 28, over: 10 cm, fabric: stockinette }
measure:
  chest: 90 (100, 110) cm
ease:
  chest: 8 cm
---

## Back, flat

- cast on 98 (108, 118) in body [chest / 2 + ease / 2]
- stockinette until 40 cm from cast on, ending with a WS row
- bind off 5 (6, 7) at the start of the next 2 rows
- decrease 1 each end every 4th row 3 (2, 1) times, then every RS row 24 (28, 32) times (34 (36, 38) sts)
- bind off all

## Sleeve, flat, make 2

- cast on 44 (46, 48) in body
- increase 1 each end every 8th row 11 (13, 15) times (66 (72, 78) sts)
- stockinette until 45 cm from cast on, ending with a WS row
- bind off 5 (6, 7) at the start of the next 2 rows
- decrease 1 each end every 4th row 6 (6, 6) times, then every RS row 18 (20, 22) times (8 (8, 8) sts)
- bind off all
";

/// A raglan worked from the neck down.
const FROM_THE_NECK: &str = "\
---
title: Top-down raglan
sizes: [S, M, L]
units: cm
gauges:
  body: { stitches: 20, rows: 28, over: 10 cm, fabric: stockinette }
measure:
  chest: 90 (100, 110) cm
ease:
  chest: 6 cm
---

## Yoke, in the round

- cast on 96 (100, 104) in body
- join in the round
- k{17 (18, 18)}, pm, k{14 (14, 16)}, pm, k{34 (36, 36)}, pm, k{14 (14, 16)}, pm, k{17 (18, 18)}
- increase 1 each side of each marker every 2nd round 26 (29, 32) times (304 (332, 360) sts)
- k to marker, rm, hold {66 (72, 80)} as left sleeve, rm, cast on {10 (13, 16)}, k to marker, rm, hold {66 (72, 80)} as right sleeve, rm, cast on {10 (13, 16)}, k to end (192 (214, 232) sts) [chest + ease]
- stockinette for 30 cm
- bind off all
";

fn gauge(stitches: i64, rows: i64) -> String {
    format!("gauges:\n  body: {{ stitches: {stitches}, rows: {rows}, over: 10 cm }}\n")
}

proptest! {
    #![proptest_config(cases(24, 400))]

    /// Body and sleeve use up their stitches and their rows on the same row, at
    /// row gauges that leave hardly any rows and at others that leave plenty.
    #[test]
    fn raglan_edges_meet(stitches in 7_i64..40, ratio in 110_i64..160) {
        let pattern = Source::new("raglan.wale", RAGLAN);
        let text = gauge(stitches, stitches * ratio / 100);
        let to = targets(&text);
        let revised = rewritten(&pattern, &to).expect("a rewrite").source;
        let parsed = syntax::parse(&revised);
        let document = parsed.document.expect("a pattern");
        let checked = walewright::check(&revised, &document, parsed.findings);
        for trace in &checked.traces {
            let slopes: Vec<u32> = trace
                .visits
                .iter()
                .filter(|visit| revised.slice(visit.step).starts_with("decrease 1 each end"))
                .map(|visit| visit.rows_after - visit.rows_before)
                .collect();
            prop_assert_eq!(slopes.len(), 2);
            prop_assert_eq!(slopes[0], slopes[1], "{}size {}", revised.text, trace.size.0);
        }
    }

    /// From the neck down every part grows by two a line, and what is divided is
    /// what the lines have made.
    #[test]
    fn a_raglan_from_the_neck_divides_into_its_parts(stitches in 7_i64..40, ratio in 110_i64..160) {
        let pattern = Source::new("raglan.wale", FROM_THE_NECK);
        let text = gauge(stitches, stitches * ratio / 100);
        let to = targets(&text);
        let revised = rewritten(&pattern, &to).expect("a rewrite").source;
        let document = syntax::parse(&revised).document.expect("a pattern");
        let checked = walewright::check(&revised, &document, Vec::new());
        prop_assert!(!checked.findings.iter().any(walewright::diag::Finding::is_error));
        let rows: Vec<Vec<Counts>> = steps(&revised)
            .into_iter()
            .filter_map(|(_, step)| match step.action {
                Action::Row { items, .. } => Some(items),
                _ => None,
            })
            .map(|items| {
                let counts = items.into_iter().filter_map(|item| match item.kind {
                    ItemKind::Stitch { count, .. } => count,
                    ItemKind::Hold { count, .. } | ItemKind::CastOn(count) => Some(count),
                    _ => None,
                });
                counts.collect()
            })
            .collect();
        for trace in &checked.traces {
            let times = trace.visits.iter().find_map(|v| v.shapings.as_ref()?.known());
            let times = times.expect("lines") as u32;
            let at = |row: usize, n: usize| *rows[row][n].given.get(trace.size).expect("a number");
            // The sleeves, and the two halves of the back.
            prop_assert_eq!(at(0, 1) + 2 * times, at(1, 0));
            prop_assert_eq!(at(0, 3) + 2 * times, at(1, 2));
            prop_assert_eq!(at(0, 0), at(0, 4));
            prop_assert_eq!(at(1, 1), at(1, 3));
        }
    }
}

/// Three stitches close the gap between thumb and hand (common practice: two to four); in
/// thicker wool they are no fewer, in finer as wide as they were.
#[test]
fn the_gap_of_a_thumb_stays_closed() {
    let pattern = sample("slipway-mitts");
    let picked_up = |source: &Source| {
        let picked_up = |(_, step): &(String, Step)| match &step.action {
            Action::PickUp { amount: PickUp::Count(counts), .. } => Some(counts.given.clone()),
            _ => None,
        };
        let all: Vec<_> = steps(source).iter().filter_map(picked_up).collect();
        let [given] = all.as_slice() else { panic!("one gap") };
        given.values().copied().collect::<Vec<u32>>()
    };
    assert_eq!(picked_up(&pattern), [3]);
    for (by, least) in [(40, 3), (60, 3), (80, 3), (100, 3), (150, 4)] {
        let targets = targets(&scaled(&pattern, by, 0));
        let revised = rewritten(&pattern, &targets).unwrap_or_else(|e| panic!("{e}"));
        let now = picked_up(&revised.source);
        assert!(now.iter().all(|n| *n >= least && *n <= least + 1), "{by}: {now:?}");
    }
}
