//! Even spacing.

use super::{agree, even, list, row};
use walewright::measure::Stitches;
use walewright::plan::spacing::{Change, Piece, Setting, Spacing, worked};
use walewright::quick::words;

const WOOLPACK: &str = "woolpackyarn.com";
const KNITABIT: &str = "knitabit.net";
const KARMA: &str = "knittingwithkarma.blogspot.com, 2011/06";
const PLYMOUTH: &str = "plymouthyarn.com, 1754";

/// "every 3 sts 46 times, every 4 sts 13 times"
fn every(spacing: &Spacing) -> String {
    let each = spacing.every();
    list(each.iter().map(|e| format!("every {} sts {} times", e.stitches.0, e.times)))
}

fn places(spacing: &Spacing) -> String {
    list(spacing.places().iter().map(|place| place.0))
}

#[test]
fn in_the_round() {
    let round = |from, to| even(from, to, Setting::Round);
    agree(&[
        row(
            "48, increase 6",
            "moderndailyknitting.com, \"Evenly Across\"",
            every(&round(48, 54)),
            "every 8 sts 6 times",
        ),
        row(
            "190 to 249",
            "papermoonknits.com",
            every(&round(190, 249)),
            "every 3 sts 46 times, every 4 sts 13 times",
        ),
        // Gaps 13, 13, 13, 12 around the round, begun at another of them.
        row("51, increase 4", WOOLPACK, places(&round(51, 55)), "13, 26, 39, 51")
            .but_ours_is("12, 25, 38, 51", "the round is begun at the shorter gap"),
        row(
            "its gaps",
            WOOLPACK,
            every(&round(51, 55)),
            "every 12 sts 1 times, every 13 sts 3 times",
        ),
        row("100, increase 10", KNITABIT, every(&round(100, 110)), "every 10 sts 10 times"),
        row(
            "100, increase 11",
            KNITABIT,
            every(&round(100, 111)),
            "every 9 sts 10 times, every 10 sts 1 times",
        ),
        row("40 to 48", KARMA, every(&round(40, 48)), "every 5 sts 8 times"),
        row(
            "56 to 40: gaps of 3 and 4 in turn",
            KARMA,
            words::pieces(round(56, 40).pieces(), Change::Together),
            "[k1, k2tog, k2, k2tog] 8 times",
        ),
    ]);
}

#[test]
fn flat() {
    let flat = |from, to| even(from, to, Setting::Flat);
    let sixteen = flat(112, 128);
    agree(&[
        row("51, increase 4", WOOLPACK, places(&flat(51, 55)), "6, 19, 32, 45"),
        row("112, increase 16", WOOLPACK, every(&sixteen), "every 7 sts 15 times"),
        row(
            "the first after half a gap of 3.5",
            WOOLPACK,
            sixteen.edges().map_or(0, |(first, _)| first.0),
            "3.5",
        )
        .but_ours_is("3", "half a stitch cannot be knit; the other edge has 4"),
        row(
            "80 to 70: 11 gaps of 7.27",
            "10rowsaday.com",
            every(&flat(80, 70)),
            "every 7.27 sts 11 times",
        )
        .but_ours_is(
            "every 8 sts 9 times",
            "ours leaves half a gap at each edge, 10 gaps in all; print leaves a whole one",
        ),
    ]);
    assert_eq!(sixteen.edges(), Some((Stitches(3), Stitches(4))));
}

/// A published row in four sizes: "k2 (2, 6, 2), [k2, m1] 26 (28, 30, 34)
/// times, k6", and a second that has k3 instead.
#[test]
fn a_published_row_in_every_size() {
    let written = |edge, plain, times| {
        let repeat = vec![Piece::Plain(Stitches(plain)), Piece::Change];
        let row =
            [Piece::Plain(Stitches(edge)), Piece::Times(repeat, times), Piece::Plain(Stitches(6))];
        let (takes, makes) = worked(&row, Change::M1);
        format!("{} to {}", takes.0, makes.0)
    };
    let ours = |from, to| {
        let (takes, makes) = even(from, to, Setting::Flat).worked();
        format!("{} to {}", takes.0, makes.0)
    };
    let mut rows = Vec::new();
    for (edge, times, counts, first, second) in [
        (2, 26, (60, 86, 112), "60 to 86", "86 to 112"),
        (2, 28, (64, 92, 120), "64 to 92", "92 to 120"),
        (6, 30, (72, 102, 132), "72 to 102", "102 to 132"),
        (2, 34, (76, 110, 144), "76 to 110", "110 to 144"),
    ] {
        rows.push(row("first row as printed", PLYMOUTH, written(edge, 2, times), first));
        rows.push(row("second row as printed", PLYMOUTH, written(edge, 3, times), second));
        rows.push(row("first row of ours", PLYMOUTH, ours(counts.0, counts.1), first));
        rows.push(row("second row of ours", PLYMOUTH, ours(counts.1, counts.2), second));
    }
    agree(&rows);
}
