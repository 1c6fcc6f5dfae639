//! Caps, shoulders, yokes, raglans, crowns and heels.

use super::{agree, even, inches, list, nearest, number, per_4_inches, per_inch, row, rows, to};
use walewright::measure::round::{Multiple, Toward};
use walewright::measure::{Density, Exact, Length, Stitches, exact, percent};
use walewright::plan::cap::{Cap, shoulder};
use walewright::plan::convert::count_for;
use walewright::plan::crown::{Wedges, close_cast_on};
use walewright::plan::heel::{Gusset, Heel, TurnRow, Turned};
use walewright::plan::raglan::{Piece, Raglan, Section};
use walewright::plan::spacing::{Change, Setting};
use walewright::plan::taper::{Ending, Order, Rate, Schedule, Step, Taper, shapings_between};
use walewright::plan::yoke::{Proportions, after_rounds, joined, repeat_that_takes};
use walewright::quick::words;

const SLIPPED: &str = "slippedstitches.wordpress.com";
const HANDMADE: &str =
    "after Elizabeth Zimmermann, Knitting Without Tears, handmadestitchbystitch.wordpress.com";
const AROUND: &str =
    "after Elizabeth Zimmermann, Knitting Around, handmadestitchbystitch.wordpress.com";
const SCHOOLHOUSE: &str = "Schoolhouse Press, blog 38";
const KNITTY: &str = "knitty.com, spring 2007";
const CAST_ON: &str = "while1knit.blogspot.com";
const HANDBOOK: &str = "Handbook of Wool Knitting and Crochet, 1918";

#[test]
fn a_cap_and_a_stepped_shoulder() {
    let cap =
        Cap { upper: Stitches(66), bound_off: &[Stitches(5), Stitches(4)], top: Stitches(16) };
    let height = per_inch("6.5").count(inches("5.5"));
    let cap_rows = count_for(inches("5.5"), per_inch("6.5"), Multiple::new(2, 0), Toward::Nearest);
    let edge = cap.edge(rows(cap_rows)).expect("a cap");
    let steps = shoulder(Stitches(23), 3);
    let across: Vec<u32> = steps.iter().map(|s| s.0).collect();
    let neck = 75 - 2 * across.iter().sum::<u32>();
    let back = across.iter().chain([&neck]).chain(across.iter().rev());
    agree(&[
        row("66 - 10 - 8 - 16", SLIPPED, cap.each_side().map_or(0, |n| 2 * n), 32),
        row("a side", SLIPPED, cap.each_side().unwrap_or(0), 16),
        row("5.5 in at 6.5 rows per in", SLIPPED, to(height, 2), "35.75"),
        row("whole and even", SLIPPED, cap_rows, 36),
        row("all of a side's stitches go", SLIPPED, edge.stitches().0, 5 + 4 + 16).computed(),
        row(
            "back of 75",
            "christinacreating.blogspot.com, 2013/02",
            list(back),
            "7, 8, 8, 29, 8, 8, 7",
        ),
    ]);
}

#[test]
fn the_seamless_percentages() {
    let yoke = Proportions::published().of(Stitches(200));
    let body = per_inch("5").count(Length::inches(40));
    let country = "countrywool.com";
    let hundred = joined(number("100"), number("33"), number("8"));
    let published = Proportions::published();
    let shares = [published.rib, published.upper_sleeve, published.cuff, published.neck];
    let kept = |keep: &[Exact]| after_rounds(number("268"), keep);
    let around = kept(&[exact(3, 4), exact(2, 3), exact(3, 5)]);
    let thirds = kept(&[exact(2, 3), exact(2, 3), exact(2, 3)]);
    agree(&[
        row("40 in at 5 per in", HANDMADE, body, 200),
        row("upper sleeve", HANDMADE, yoke.upper_sleeve, 66),
        row("underarm", HANDMADE, yoke.underarm, 16),
        row("yoke", HANDMADE, yoke.joined, 268),
        row("neck", HANDMADE, yoke.neck, 80),
        row("3/4, 2/3, 3/5", AROUND, list(around.iter().map(|n| nearest(*n))), "201, 134, 80"),
        row("three by 2/3", AROUND, list(thirds.iter().map(|n| to(*n, 1))), "178.7, 119.1, 79.4"),
        row(
            "three by 2/3, whole",
            AROUND,
            list(thirds.iter().map(|n| nearest(*n))),
            "179, 120, 80",
        )
        .but_ours_is(
            "179, 119, 79",
            "print takes the second up to a multiple of 3, so that two thirds of it is the \
                 neck's 80",
        ),
        row(
            "rib, upper sleeve, cuff, neck in %",
            country,
            list(shares.map(|share| share / percent(exact(1, 1)))),
            "90, 33, 20, 40",
        ),
        row("yoke in %", country, hundred, 133)
            .but_ours_is("134", "100 + 2 x 33 - 4 x 8 = 134; 133 does not add up"),
    ]);
}

#[test]
fn decrease_rounds_that_take_a_share() {
    let repeat = |fraction| {
        let spacing = repeat_that_takes(fraction).expect("a repeat");
        words::pieces(spacing.pieces(), Change::Together)
    };
    agree(&[
        row("20%", SCHOOLHOUSE, repeat(exact(1, 5)), "k3, k2tog"),
        row("25%", SCHOOLHOUSE, repeat(exact(1, 4)), "k2, k2tog"),
        row("33%", SCHOOLHOUSE, repeat(exact(1, 3)), "k1, k2tog"),
        row("40%", SCHOOLHOUSE, repeat(exact(2, 5)), "k1, k2tog, k2tog"),
    ]);
}

#[test]
fn raglans() {
    let section = |stitches, lines| Section { stitches: Stitches(stitches), lines };
    let (front, sleeve, back) = (section(1, 1), section(14, 2), section(34, 2));
    let sizes = [18, 21, 24, 27, 30, 33].map(|more| more + 1);
    let body = |times| 2 * front.increased(times).0 + back.increased(times).0;
    let all = |times| body(times) + 2 * sleeve.increased(times).0;
    let pieces = [Piece { from: Stitches(40), bound_off: Stitches(4), to: Stitches(6) }];
    let raglan = Raglan {
        pieces: &pieces,
        rows: rows(30),
        step: Step::EverySecondRow,
        order: Order::FasterFirst,
        ending: Ending::OnShaping,
    };
    let schedules = raglan.schedules().expect("it comes out");
    agree(&[
        row("to begin with", KNITTY, all(0), 64),
        row("in all", KNITTY, list(sizes.map(all)), "216, 240, 264, 288, 312, 336"),
        row(
            "each sleeve",
            KNITTY,
            list(sizes.map(|times| sleeve.increased(times).0)),
            "52, 58, 64, 70, 76, 82",
        ),
        row("body", KNITTY, list(sizes.map(body)), "112, 124, 136, 148, 160, 172"),
        row(
            "40 to 6 sts in 30 rows, 4 bound off first",
            SLIPPED,
            list(schedules.iter().map(|schedule| words::schedule(schedule, "row"))),
            "every 2nd row 15 times",
        ),
    ]);
}

/// The plain stitches and the count after each round: `k10 -> 99`.
fn rounds(wedges: Wedges) -> String {
    let rounds = wedges.rounds().unwrap_or_else(|error| panic!("{wedges:?}: {error:?}"));
    list(rounds.iter().map(|round| format!("k{} -> {}", round.plain.0, round.after.0)))
}

#[test]
fn crowns() {
    let nine = Wedges { from: Stitches(108), wedges: 9, each: 1, left: Stitches(1) };
    let eight = Wedges { from: Stitches(112), wedges: 8, each: 1, left: Stitches(1) };
    let summit = Wedges { from: Stitches(88), wedges: 8, each: 1, left: Stitches(1) };
    let first = |wedges: Wedges| wedges.rounds().ok().and_then(|r| r.first().copied());
    let help = "forum.knittinghelp.com, 78294";
    let stitches = "2stitches2knit.blogspot.com, 2012/10";
    let yarn = "summityarnstudio.wordpress.com";
    let helmet = Wedges { from: Stitches(112), wedges: 7, each: 2, left: Stitches(4) };
    let after = |wedges: Wedges| {
        list(wedges.rounds().unwrap_or_default().iter().map(|round| round.after.0))
    };
    agree(&[
        row("115 to 108", help, even(115, 108, Setting::Round).worked().1.0, 108),
        row(
            "*k10, k2tog* 9 times, one fewer each time",
            help,
            rounds(nine),
            "k10 -> 99, k9 -> 90, k8 -> 81, k7 -> 72, k6 -> 63, k5 -> 54, k4 -> 45, k3 -> 36, \
             k2 -> 27, k1 -> 18, k0 -> 9",
        ),
        row("112 in 8 wedges of", stitches, 112 / eight.wedges, 14),
        row("rounds", stitches, eight.rounds().map_or(0, |r| r.len()), 13),
        row("left", stitches, after(eight).rsplit(", ").next().unwrap_or(""), 8),
        row("88: plain before k2tog", yarn, first(summit).map_or(0, |r| r.plain.0), 9),
        row("a round takes", yarn, first(summit).map_or(0, |r| 88 - r.after.0), 8),
        row("helmet, 4 plain rounds between", HANDBOOK, after(helmet), "98, 84, 70, 56, 42, 28"),
        row("helmet, first round", HANDBOOK, first(helmet).map_or(0, |r| r.plain.0), 11 + 1),
    ]);
}

/// Nine tenths of the head, down to a multiple of 4: a head of 20 in.
#[test]
fn a_close_cap_to_cast_on() {
    let fours = Multiple::new(4, 0);
    let cast_on = |gauge: Density| close_cast_on(Length::inches(20), gauge, exact(9, 10), fours).0;
    let gauges = ["12", "14", "16", "18", "20", "22", "24"].map(per_4_inches);
    agree(&[row(
        "12, 14 ... 24 per 4 in",
        CAST_ON,
        list(gauges.map(cast_on)),
        "52, 60, 72, 80, 88, 96, 108",
    )]);
}

fn turned(flap: u32, centre: u32, last_decrease: bool) -> Turned {
    let heel = Heel { flap: Stitches(flap), centre: Stitches(centre), last_decrease };
    heel.turned().unwrap_or_else(|error| panic!("{heel:?}: {error:?}"))
}

/// `18 2tog 1`: worked before the two together, and after.
fn turn_rows(rows: &[TurnRow]) -> String {
    list(rows.iter().map(|row| match row.after.0 {
        0 => format!("{} 2tog", row.before.0),
        after => format!("{} 2tog {after}", row.before.0),
    }))
}

#[test]
fn heels() {
    let forum = "forum.knittinghelp.com, 52340";
    let flap = turned(32, 5, false);
    assert_eq!(Heel::usual(Stitches(32)).turned().as_ref(), Ok(&flap));
    // From what is left the centre follows: 18 of 32, 16 of 31.
    let to = |flap, left| {
        Heel::to(Stitches(flap), Stitches(left)).map(|h| (h.centre.0, h.last_decrease))
    };
    assert_eq!((to(32, 18), to(31, 16)), (Some((5, false)), Some((2, true))));
    let sock = turned(31, 2, true);
    let last = sock.rows.len().saturating_sub(2);
    let gusset = Gusset {
        heel: sock.left,
        each_side: Stitches(17),
        instep: Stitches(30),
        foot: Stitches(60),
    };
    let foot = gusset.rounds().unwrap_or(0);
    agree(&[
        // p18, p2tog, p1, turn; sl 1, k5, k2tog, k1, turn
        row("flap of 32", forum, turn_rows(&flap.rows[..2]), "18 2tog 1, 6 2tog 1"),
        row("left", forum, flap.left.0, 18),
        // sl 1, k15, k2tog, k1; sl 1, p2, p2tog, p1; sl 1, k3, k2tog, k1
        row("flap of 31", HANDBOOK, turn_rows(&sock.rows[..3]), "16 2tog 1, 3 2tog 1, 4 2tog 1"),
        // sl 1, p14, p2tog, p1; sl 1, k14, k2tog
        row("its last rows", HANDBOOK, turn_rows(&sock.rows[last..]), "15 2tog 1, 15 2tog"),
        row("left", HANDBOOK, sock.left.0, 16),
        row("a side of heel and gusset", HANDBOOK, sock.left.0 / 2 + 17, 25),
        row("narrowings of the gusset", HANDBOOK, foot, 10),
    ]);
}

/// The sock's toe: 4 stitches every 3rd round 4 times, every 2nd round 3
/// times, then every round until 4 remain on the front needle of 30.
#[test]
fn a_toe_of_three_rates() {
    let rate = |every, times| Rate { every: rows(every), times };
    let front = shapings_between(Stitches(30), Stitches(4), Stitches(2)).expect("they meet");
    let toe =
        Schedule { rates: vec![rate(3, 4), rate(2, 3), rate(1, front - 7)], plain_after: rows(0) };
    assert_eq!(toe.shapings(), front);
    assert_eq!(toe.rows(), rows(12 + 6 + 6));
    // Gusset: 2 sts every 2nd round, 10 times.
    let gusset = Taper { step: Step::EverySecondRow, ..Taper::new(rows(20), 10) };
    assert_eq!(gusset.schedule().map(|s| s.rates), Ok(vec![rate(2, 10)]));
}

/// The helmet's top: three decreases a row, 48 to 45 to 42 and on to 9.
#[test]
fn three_decreases_every_second_row() {
    let narrowings = shapings_between(Stitches(48), Stitches(9), Stitches(3));
    assert_eq!(narrowings, Some(13));
}
