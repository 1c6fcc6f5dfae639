//! After a rewrite every shaping ends on the row that is said, shoulders slope evenly, and
//! buttonholes lie as far apart as they did.

use crate::patterns::{all, checked, document, rewritten, samples, targets, targets_of};
use walewright::Checked;
use walewright::measure::{Length, exact};
use walewright::source::Source;
use walewright::syntax::tree::{
    Action, BindOff, Every, Extent, From, ItemKind, Mark, Schedule, Setting, Step,
};
use walewright::work::{Trace, Visit};

/// Every pattern here, and each of its rewrites, by name.
fn each(mut see: impl FnMut(&str, &Source)) {
    for pattern in all() {
        see(&pattern.name, &pattern);
        for file in targets_of(&pattern) {
            let to = targets(&file.text);
            let revised = rewritten(&pattern, &to).unwrap_or_else(|e| panic!("{e}"));
            see(&file.name, &revised.source);
        }
    }
}

fn steps<'c>(checked: &'c Checked<'_>) -> Vec<&'c Step> {
    let mut steps: Vec<&Step> = Vec::new();
    checked.model.each_step(&mut |_, step| steps.push(step));
    steps
}

/// A step as it was worked in one size of a pattern or a rewrite.
struct Seen<'s> {
    name: &'s str,
    source: &'s Source,
    checked: &'s Checked<'s>,
    /// Every step of the pattern.
    steps: &'s [&'s Step],
    trace: &'s Trace,
    visit: &'s Visit,
    step: &'s Step,
}

fn each_visit(mut see: impl FnMut(Seen<'_>)) {
    each(|name, source| {
        let document = document(source);
        let checked = &checked(source, &document);
        let steps = &steps(checked)[..];
        for trace in &checked.traces {
            for visit in &trace.visits {
                let step = steps.iter().find(|step| step.span == visit.step).expect("its step");
                see(Seen { name, source, checked, steps, trace, visit, step });
            }
        }
    });
}

/// Rows and times of a schedule by its own words, where it says how many times.
fn said(schedule: &Schedule, trace: &Trace, visit: &Visit) -> Option<(u32, u32)> {
    let (mut rows, mut times) = (0, 0);
    for rate in &schedule.rates {
        let every = match &rate.every {
            Every::Row | Every::Next => 1,
            Every::Side(_) => {
                if visit.setting == Setting::Flat {
                    2
                } else {
                    1
                }
            }
            Every::Nth(counts) => match counts.given.get(trace.size) {
                Some(n) => *n,
                None => continue,
            },
        };
        let n = match &rate.times {
            Some(counts) => match counts.given.get(trace.size) {
                Some(n) => *n,
                None => continue,
            },
            None if rate.every == Every::Next => 1,
            None => return None,
        };
        rows += every * n;
        times += n;
    }
    Some((rows, times))
}

#[test]
fn shapings_end_on_the_row_that_is_said() {
    let mut seen = 0;
    each_visit(|Seen { name, source, trace, visit, step, .. }| {
        let schedule = match &step.action {
            Action::Shape { schedule, .. } | Action::Wedges { schedule, .. } => schedule,
            _ => return,
        };
        let Some((rows, times)) = said(schedule, trace, visit) else { return };
        let text = source.slice(step.span);
        assert_eq!(visit.rows_after - visit.rows_before, rows, "{name}: {text}");
        let shapings = visit.shapings.as_ref().and_then(walewright::measure::Linear::known);
        assert_eq!(shapings, Some(i64::from(times)), "{name}: {text}");
        if let Some(until) = schedule.until.as_ref().and_then(|u| u.given.get(trace.size)) {
            assert_eq!(visit.after.known(), Some(i64::from(*until)), "{name}: {text}");
        }
        seen += 1;
    });
    assert!(seen > 500, "only {seen} shapings");
}

#[test]
fn lengths_end_within_a_row_of_what_is_said() {
    let mut seen = 0;
    each_visit(|Seen { name, source, checked, steps, trace, visit, step }| {
        let Action::Work { extent: Extent::Until { length, from, .. }, .. } = &step.action else {
            return;
        };
        let start = match &from.value {
            From::CastOn => Length::zero(),
            From::Named(named) => {
                let begins = |other: &&Visit| {
                    let step = steps.iter().find(|step| step.span == other.step);
                    other.piece == visit.piece
                        && step.is_some_and(|step| {
                            step.marks.iter().any(|mark| {
                            matches!(&mark.value, Mark::Starts(n) if n.eq_ignore_ascii_case(named))
                        })
                        })
                };
                match trace.visits.iter().find(begins) {
                    Some(visit) => visit.height_before,
                    None => return,
                }
            }
        };
        let gauge = visit.gauge.and_then(|g| checked.model.gauges[g.0].gauge);
        let rows = gauge.and_then(|g| g.rows);
        let (Some(said), Some(rows)) = (length.given.get(trace.size), rows) else {
            return;
        };
        let off = (visit.height_after - start - *said).abs();
        let text = source.slice(step.span);
        assert!(off <= rows.length(exact(1, 1)), "{name}: {text} is {off} off");
        seen += 1;
    });
    assert!(seen > 500, "only {seen} lengths");
}

/// The stitches that go at the shoulder, step by step, after the last length of a piece: one
/// list a size. Those at the neck edge are none of it.
fn shoulders(source: &Source, piece: &str) -> Vec<Vec<i64>> {
    let document = document(source);
    let checked = checked(source, &document);
    let steps = steps(&checked);
    let piece = checked.model.pieces.iter().position(|p| p.name.value == piece).expect("a piece");
    let of = |trace: &Trace| {
        let own: Vec<(&Visit, &Step)> = trace
            .visits
            .iter()
            .filter(|visit| visit.piece == piece)
            .map(|visit| (visit, *steps.iter().find(|s| s.span == visit.step).expect("its step")))
            .collect();
        let last = own
            .iter()
            .rposition(|(_, step)| {
                matches!(step.action, Action::Work { extent: Extent::Until { .. }, .. })
            })
            .expect("a length");
        let mut gone = Vec::new();
        for (visit, step) in &own[last..] {
            let remark = step.remark.as_ref().map_or("", |remark| source.slice(remark.span));
            if remark.contains("neck") {
                continue;
            }
            match &step.action {
                Action::BindOff { amount: BindOff::StartOfNext { count, .. } } => {
                    // Two rows a step: those of the other edge, or plain ones.
                    let steps = (visit.rows_after - visit.rows_before).div_ceil(2) as usize;
                    let each = count.given.get(trace.size).map(|n| i64::from(*n));
                    gone.extend(each.into_iter().cycle().take(steps));
                }
                Action::BindOff { amount: BindOff::All(_) } => {
                    gone.extend(visit.before.known());
                    break;
                }
                _ => {}
            }
        }
        gone
    };
    checked.traces.iter().map(of).collect()
}

#[test]
fn stepped_shoulders_slope_evenly() {
    let mut seen = 0;
    for pattern in samples() {
        let piece = match &pattern.name {
            name if name.starts_with("boathouse") => "Front",
            name if name.starts_with("harbourlight") => "Left front",
            _ => continue,
        };
        for file in targets_of(&pattern) {
            let to = targets(&file.text);
            let revised = rewritten(&pattern, &to).unwrap_or_else(|e| panic!("{e}"));
            for steps in shoulders(&revised.source, piece) {
                assert!(steps.len() >= 3, "{}", file.name);
                let (least, most) = (steps.iter().min(), steps.iter().max());
                let apart = most.zip(least).map(|(most, least)| most - least);
                assert!(apart <= Some(1), "{}: {steps:?}", file.name);
                seen += 1;
            }
        }
    }
    assert!(seen >= 70, "only {seen} shoulders");
}

/// 75 = 7 + 8 + 8 + 29 + 8 + 8 + 7: published at christinacreating.blogspot.com, 2013/02.
#[test]
fn a_published_shoulder_stays_even() {
    let text = "\
---
title: Shoulders
gauges:
  body: { stitches: 20, rows: 28, over: 10 cm }
---

## Back, flat

- cast on 75 in body
- stockinette until 20 cm from cast on, ending with a WS row
- bind off 7 at the start of the next 2 rows
- bind off 8 at the start of the next 4 rows
- bind off all 29 sts
";
    let pattern = Source::new("shoulders", text);
    for stitches in [10, 14, 16, 18, 22, 24, 26, 28, 30, 33] {
        let to = format!(
            "gauges:\n  body: {{ stitches: {stitches}, rows: {}, over: 10 cm }}\n",
            stitches * 7 / 5
        );
        let to = targets(&to);
        let revised = rewritten(&pattern, &to).unwrap_or_else(|e| panic!("{e}")).source;
        for steps in shoulders(&revised, "Back") {
            // The middle comes last. Four rows at 28 to 10 cm from the first step to the third,
            // and as deep at any other gauge, or two.
            let (_, steps) = steps.split_last().expect("steps");
            let rows = 2 * (steps.len() as i64 - 1);
            assert!((rows * 20 - 4 * stitches).abs() <= 2 * 20, "at {stitches}: {steps:?}");
            let (least, most) = (steps.iter().min(), steps.iter().max());
            assert!(most.zip(least).is_some_and(|(a, b)| a - b <= 1), "at {stitches}: {steps:?}");
        }
    }
}

#[test]
fn buttonholes_lie_as_far_apart_as_they_did() {
    // Stitches before the first, stitches between two, and how many times.
    let holes = |source: &Source| {
        let document = document(source);
        let checked = checked(source, &document);
        let gauge = checked.model.gauges.iter().find(|g| g.name == "band").expect("a band");
        let gauge = gauge.gauge.expect("its gauge").stitches;
        let steps = steps(&checked);
        let found = steps.iter().find_map(|step| {
            let Action::Row { items, .. } = &step.action else { return None };
            let ItemKind::Pattern(lead) = &items.first()?.kind else { return None };
            let ItemKind::Group { items, times, .. } = &items.get(1)?.kind else { return None };
            let between = items.iter().find_map(|item| match &item.kind {
                ItemKind::Pattern(between) => Some(between.clone()),
                _ => None,
            })?;
            Some((lead.given.clone(), between.given, times.given.clone()))
        });
        let (lead, between, times) = found.expect("a row of buttonholes");
        let picked: Vec<i64> = steps
            .iter()
            .find(|step| matches!(step.action, Action::PickUp { .. }))
            .map(|step| {
                let of = |trace: &Trace| {
                    let visit = trace.visits.iter().find(|visit| visit.step == step.span);
                    visit.and_then(|visit| visit.after.known())
                };
                checked.traces.iter().filter_map(of).collect()
            })
            .expect("stitches picked up");
        let sizes = checked.traces.iter().zip(picked).map(|(trace, picked)| {
            let get = |given: &walewright::measure::Given<u32>| {
                i64::from(*given.get(trace.size).expect("a number"))
            };
            (get(&lead), get(&between), get(&times), picked)
        });
        (gauge, sizes.collect::<Vec<_>>())
    };
    let pattern = samples().into_iter().find(|s| s.name.starts_with("harbourlight")).expect("it");
    let (own_gauge, own) = holes(&pattern);
    let (own_lead, own_between, own_times, _) = own[0];
    let mut seen = 0;
    for file in targets_of(&pattern) {
        let to = targets(&file.text);
        let revised = rewritten(&pattern, &to).unwrap_or_else(|e| panic!("{e}")).source;
        let (gauge, sizes) = holes(&revised);
        for (lead, between, times, picked) in sizes {
            assert_eq!(times, own_times, "{}", file.name);
            // A yarn over and a decrease make each, at any gauge.
            let off = |new: i64, old: i64| {
                (gauge.length(exact(new, 1)) - own_gauge.length(exact(old, 1))).abs()
            };
            let half = gauge.length(exact(1, 2));
            assert!(off(lead, own_lead) <= half, "{}: {lead} before the first", file.name);
            assert!(off(between + 2, own_between + 2) <= half, "{}: {between} between", file.name);
            assert!(lead + times * (between + 2) + 2 < picked / 2, "{}", file.name);
            seen += 1;
        }
    }
    assert!(seen >= 40, "only {seen} bands");
}
