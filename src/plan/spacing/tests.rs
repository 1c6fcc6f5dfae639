use super::*;
use proptest::prelude::*;

fn text(pieces: &[Piece], change: &str) -> String {
    let parts: Vec<String> = pieces
        .iter()
        .map(|piece| match piece {
            Piece::Plain(n) => format!("k{}", n.0),
            Piece::Change => change.to_string(),
            Piece::Times(unit, times) => format!("[{}] {times} times", text(unit, change)),
        })
        .collect();
    parts.join(", ")
}

fn row(from: u32, to: u32, setting: Setting) -> String {
    written(from, to, setting, IncreaseMethod::M1)
}

fn written(from: u32, to: u32, setting: Setting, method: IncreaseMethod) -> String {
    let change = EvenChange { from: Stitches(from), to: Stitches(to), setting, method };
    let word = match change.change() {
        Change::M1 => "m1",
        Change::InStitch => "kfb",
        Change::Together => "k2tog",
    };
    match change.spaced() {
        Ok(spacing) => text(spacing.pieces(), word),
        Err(error) => format!("{error:?}"),
    }
}

#[test]
fn in_the_round() {
    let rows: Vec<String> = [
        (48, 54),
        (54, 66),
        (56, 40),
        (51, 55),
        (100, 111),
        (60, 67),
        (190, 249),
        (96, 88),
        (30, 42),
        (5, 10),
        (10, 5),
        (11, 6),
        (20, 21),
    ]
    .iter()
    .map(|&(from, to)| format!("{from} -> {to}: {}", row(from, to, Setting::Round)))
    .collect();
    insta::assert_snapshot!(rows.join("\n"), @r"
48 -> 54: [k8, m1] 6 times
54 -> 66: [k4, m1, k5, m1] 6 times
56 -> 40: [k1, k2tog, k2, k2tog] 8 times
51 -> 55: k12, m1, [k13, m1] 3 times
100 -> 111: [k9, m1] 10 times, k10, m1
60 -> 67: k9, m1, [k8, m1, k9, m1] 3 times
190 -> 249: [[k3, m1] 3 times, k4, m1] 6 times, [[k3, m1] 4 times, k4, m1] 7 times
96 -> 88: [k10, k2tog] 8 times
30 -> 42: [k2, m1, k3, m1] 6 times
5 -> 10: [k1, m1] 5 times
10 -> 5: [k2tog] 5 times
11 -> 6: k1, [k2tog] 5 times
20 -> 21: k20, m1
");
}

#[test]
fn flat() {
    let rows: Vec<String> = [
        (51, 55),
        (112, 128),
        (98, 108),
        (80, 70),
        (56, 40),
        (50, 54),
        (9, 10),
        (2, 3),
        (4, 3),
        (40, 79),
        (40, 21),
        (101, 118),
        (190, 249),
    ]
    .iter()
    .map(|&(from, to)| format!("{from} -> {to}: {}", row(from, to, Setting::Flat)))
    .collect();
    insta::assert_snapshot!(rows.join("\n"), @r"
51 -> 55: k6, m1, [k13, m1] 3 times, k6
112 -> 128: k3, m1, [k7, m1] 15 times, k4
98 -> 108: k4, m1, [k10, m1] 9 times, k4
80 -> 70: k3, k2tog, [k6, k2tog] 9 times, k3
56 -> 40: k1, k2tog, [k1, k2tog, k2, k2tog] 7 times, k1, k2tog, k1
50 -> 54: k7, m1, [k12, m1] 3 times, k7
9 -> 10: k4, m1, k5
2 -> 3: k1, m1, k1
4 -> 3: k1, k2tog, k1
40 -> 79: [k1, m1] 39 times, k1
40 -> 21: k1, [k2tog] 19 times, k1
101 -> 118: k2, m1, [k6, m1] 16 times, k3
190 -> 249: k1, m1, [k4, m1, [k3, m1] 3 times] 7 times, [k4, m1, [k3, m1] 4 times] 6 times, k2
");
}

#[test]
fn into_a_stitch() {
    let kfb = |from, to, setting| written(from, to, setting, IncreaseMethod::InStitch);
    assert_eq!(kfb(40, 48, Setting::Round), "[k4, kfb] 8 times");
    assert_eq!(kfb(7, 14, Setting::Round), "[kfb] 7 times");
    assert_eq!(kfb(7, 12, Setting::Flat), "k1, [kfb] 5 times, k1");
}

#[test]
fn too_many_says_how_many_rows() {
    let change = |from, to, setting| EvenChange {
        from: Stitches(from),
        to: Stitches(to),
        setting,
        method: IncreaseMethod::M1,
    };
    assert_eq!(
        change(40, 100, Setting::Round).spaced(),
        Err(SpacingError::TooMany { wanted: 60, most: 40, rows: Some(2) })
    );
    assert_eq!(
        change(40, 9, Setting::Round).spaced(),
        Err(SpacingError::TooMany { wanted: 31, most: 20, rows: Some(3) })
    );
    assert_eq!(
        change(0, 4, Setting::Round).spaced(),
        Err(SpacingError::TooMany { wanted: 4, most: 0, rows: None })
    );
    assert_eq!(change(40, 40, Setting::Flat).rows_needed(), Some(0));
    for (from, to) in [(2_000_000, 2_000_001), (9_000, 10_001), (10_001, 9_000)] {
        assert_eq!(change(from, to, Setting::Flat).spaced(), Err(SpacingError::TooWide));
    }
    assert!(change(9_999, 10_000, Setting::Flat).spaced().is_ok());
}

#[test]
fn a_stitch_over_is_noticed() {
    let every_tenth = [
        Piece::Times(vec![Piece::Plain(Stitches(10)), Piece::Change], 9),
        Piece::Plain(Stitches(11)),
        Piece::Change,
    ];
    assert_eq!(worked(&every_tenth, Change::M1), (Stitches(101), Stitches(111)));
}

/// Any change that one row has room for.
fn changes() -> impl Strategy<Value = EvenChange> {
    let setting = prop_oneof![Just(Setting::Round), Just(Setting::Flat)];
    let method = prop_oneof![Just(IncreaseMethod::M1), Just(IncreaseMethod::InStitch)];
    (1_u32..400, 0_u32..1000, any::<bool>(), setting, method).prop_map(
        |(from, part, up, setting, method)| {
            let change = match (up, method) {
                (false, _) => Change::Together,
                (true, IncreaseMethod::M1) => Change::M1,
                (true, IncreaseMethod::InStitch) => Change::InStitch,
            };
            let count = change.most(from, setting) * part / 999;
            let to = if up { from + count } else { from - count };
            EvenChange { from: Stitches(from), to: Stitches(to), setting, method }
        },
    )
}

proptest! {
    #[test]
    fn it_sums_exactly(change in changes()) {
        let spacing = change.spaced().map_err(|e| TestCaseError::fail(format!("{e:?}")))?;
        prop_assert_eq!(spacing.worked(), (change.from, change.to));
        prop_assert_eq!(spacing.places().len(), change.count() as usize);
    }

    #[test]
    fn stretches_differ_by_at_most_one(change in changes()) {
        let spacing = change.spaced().map_err(|e| TestCaseError::fail(format!("{e:?}")))?;
        let every = spacing.every();
        prop_assert!(every.len() <= 2);
        if let [close, wide] = every.as_slice() {
            prop_assert_eq!(close.stitches.0 + 1, wide.stitches.0);
        }
    }

    #[test]
    fn edges_stay_plain(change in changes()) {
        let spacing = change.spaced().map_err(|e| TestCaseError::fail(format!("{e:?}")))?;
        if change.setting == Setting::Flat && change.count() > 0 {
            let edges = spacing.edges();
            let plain = |(a, b): (Stitches, Stitches)| a.0 > 0 && b.0 > 0 && a.0.abs_diff(b.0) <= 1;
            prop_assert!(edges.is_some_and(plain), "{edges:?}");
        }
    }

    /// Where a third of the stitches or fewer change, nothing drifts far
    /// from its exact place, even where the even row takes too many words.
    #[test]
    fn never_bunched(change in changes()) {
        let spacing = change.spaced().map_err(|e| TestCaseError::fail(format!("{e:?}")))?;
        prop_assert!(words(spacing.pieces()) <= LONG + 3);
        prop_assert!(depth(spacing.pieces()) <= 2);
        let bound = if change.count() <= change.from.0 / 3 { 3 } else { 6 };
        prop_assert!(spacing.drift() < Exact::from_integer(bound), "{}", spacing.drift());
    }

}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Euclid's own row: no two runs of as many changes, anywhere around
    /// the round, differ by more than a stitch.
    #[test]
    fn the_evenest_round_is_even(change in changes()) {
        let change = EvenChange { setting: Setting::Round, ..change };
        let spacing = change.evenest().map_err(|e| TestCaseError::fail(format!("{e:?}")))?;
        prop_assert_eq!(spacing.worked(), (change.from, change.to));
        prop_assert!(spacing.is_even());
        let around: Vec<u32> = spacing.stretches().iter().map(|s| s.0).collect();
        let k = change.count() as usize;
        for run in 1..k {
            let sums = (0..k).map(|at| {
                around.iter().cycle().skip(at).take(run).sum::<u32>()
            });
            let (least, most) = sums.fold((u32::MAX, 0), |(l, m), s| (l.min(s), m.max(s)));
            prop_assert!(most - least <= 1, "{around:?}");
        }
    }

    /// No change drifts less in the row that is written than in the evenest.
    #[test]
    fn the_evenest_flat_row_drifts_least(change in changes()) {
        let change = EvenChange { setting: Setting::Flat, ..change };
        if let (Ok(written), Ok(evenest)) = (change.spaced(), change.evenest()) {
            prop_assert!(evenest.drift() <= written.drift());
            prop_assert!(evenest.drift() < Exact::from_integer(2), "{}", evenest.drift());
        }
    }
}
