//! Shaping over rows.

use super::{agree, inches, list, number, per_inch, row, rows, to};
use walewright::measure::Stitches;
use walewright::measure::round::{Multiple, Toward};
use walewright::plan::convert::{matched, whole};
use walewright::plan::taper::{Ending, Rate, Schedule, Taper, shapings_between};
use walewright::quick::words;

const MAGIC: &str = "published as the \"magic formula\"";
const GUILD: &str = "kcguild.org.uk";
const PLYMOUTH: &str = "plymouthyarn.com, 1213";
const DYKE: &str = "kristentendyke.blogspot.com";
const LIZZIE: &str = "chezlizzie.blogspot.com, 2021/04";
const UNPLUGGED: &str = "knittingunplugged.com, 2016/05/23";

fn told(taper: Taper) -> String {
    let schedule = taper.schedule().unwrap_or_else(|error| panic!("{taper:?}: {error:?}"));
    let plain = match schedule.plain_after.0 {
        0 => String::new(),
        plain => format!(", {plain} plain"),
    };
    format!("{}{plain}", words::schedule(&schedule, "row"))
}

#[test]
fn two_rates() {
    let magic = Taper::new(rows(140), 36);
    let guild_shapings =
        shapings_between(Stitches(70), Stitches(100), Stitches(2)).expect("they meet");
    let guild = Taper { ending: Ending::PlainBand, ..Taper::new(rows(90), guild_shapings) };
    let armhole = Taper::new(rows(64), 26);
    agree(&[
        row(
            "140 rows, 36 increases",
            MAGIC,
            told(magic),
            "every 3rd row 4 times, then every 4th row 32 times",
        ),
        row("70 to 100 sts, 2 at a time", GUILD, guild_shapings, 15),
        row(
            "90 rows in 15 bands and a plain one",
            GUILD,
            told(guild),
            "every 5th row 6 times, then every 6th row 9 times, 6 plain",
        ),
        row(
            "armhole of 64 rows, 26 decreases",
            "completed from a published start",
            told(armhole),
            "every 2nd row 14 times, then every 3rd row 12 times",
        )
        .computed(),
    ]);
}

/// Cuffs of 31 (31, 33, 33) increased by 4 (4, 6, 6), then 1 each end on the
/// 5th and every following 4th row to 45 (47, 49, 53).
#[test]
fn the_fifth_and_every_following_fourth_row() {
    let sizes = [(31, 4, 45), (31, 4, 47), (33, 6, 49), (33, 6, 53)];
    let shapings = sizes.map(|(cuff, more, top)| {
        let from = Stitches(cuff + more);
        shapings_between(from, Stitches(top), Stitches(2)).expect("they meet")
    });
    agree(&[row("increase rows", PLYMOUTH, list(shapings), "5, 6, 5, 7")]);
    for times in shapings {
        let last = 5 + 4 * (times - 1);
        let taper = Taper { first: Some(rows(5)), ..Taper::new(rows(last), times) };
        let rate = |every, times| Rate { every: rows(every), times };
        let written =
            Schedule { rates: vec![rate(5, 1), rate(4, times - 1)], plain_after: rows(0) };
        assert_eq!(taper.schedule(), Ok(written));
    }
}

#[test]
fn from_widths() {
    let cuff = per_inch("5").count(inches("7.75"));
    let top = per_inch("5").count(inches("12"));
    let even_cuff = matched(cuff, Stitches(60));
    let lizzie_rows = per_inch("6").count(inches("15"));
    let lizzie = shapings_between(Stitches(59), Stitches(37), Stitches(2));
    let unplugged = |width| {
        let exact = per_inch("5.5").count(inches(width));
        format!("{} -> {}", to(exact, 1), whole(exact, Multiple::new(2, 0), Toward::Nearest))
    };
    let plain = |n: Option<u32>| n.map_or("none".to_owned(), |n| n.to_string());
    agree(&[
        row("7.75 in at 5 per in", DYKE, to(cuff, 2), "38.75"),
        row("taken to the parity of the other count", DYKE, even_cuff.0, 38),
        row("12 in at 5 per in", DYKE, top, 60),
        row(
            "increase rows",
            DYKE,
            plain(shapings_between(even_cuff, Stitches(60), Stitches(2))),
            11,
        ),
        row("59 to 37", LIZZIE, plain(lizzie), 11),
        row("15 in at 6 rounds per in", LIZZIE, lizzie_rows, 90),
        row(
            "11 rounds of 90",
            LIZZIE,
            told(Taper::new(rows(90), 11)),
            "every 8th row 9 times, then every 9th row twice",
        )
        .computed(),
        row("9 in at 5.5 per in", UNPLUGGED, unplugged("9"), "49.5 -> 50"),
        row("13 in at 5.5 per in", UNPLUGGED, unplugged("13"), "71.5 -> 72"),
    ]);
    // An odd cuff could not reach an even top, one stitch at each end.
    assert_eq!(shapings_between(Stitches(39), Stitches(60), Stitches(2)), None);
    assert_eq!(number("108.5"), per_inch("7").count(inches("15.5")));
}
