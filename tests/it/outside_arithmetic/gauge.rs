//! From one gauge to another, and counts in multiples.

use super::{agree, inches, list, nearest, number, per_4_inches, per_inch, row, to};
use walewright::measure::round::{Multiple, Toward};
use walewright::measure::{Length, Stitches, Unit};
use walewright::plan::convert::{comes_out_as, count_for, matched, recount, whole};

const BUDD: &str = "Ann Budd, annbuddknits.com";
const CARA: &str = "cara4webshopping.com, convert_patterns";
const WISEHEART: &str = "Sandi Wiseheart, \"Waist Shaping\"";

#[test]
fn from_one_gauge_to_another() {
    let budd = |n| recount(number(n), per_inch("5"), per_inch("6.5"));
    let cara = |n| recount(number(n), per_inch("8"), per_inch("9"));
    let forum = "knittinghelp.com, forum 64163";
    let width = per_4_inches("19").length(number("58"));
    let post = recount(number("114"), per_4_inches("30"), per_4_inches("19"));
    let bella = comes_out_as(Length::inches(40), per_4_inches("22"), per_4_inches("20"));
    let martha = |gauge| to(per_4_inches(gauge).length(number("190")).amount(Unit::In), 2);
    agree(&[
        row("98 sts, 5 to 6.5 per in", BUDD, to(budd("98"), 1), "127.4"),
        row("odd", BUDD, matched(budd("98"), Stitches(1)).0, 127),
        row("even", BUDD, matched(budd("98"), Stitches(2)).0, 128),
        row("30 sts", BUDD, budd("30"), 39),
        row("100 sts, 8 to 9 per in", CARA, to(cara("100"), 1), "112.5"),
        row("7 sts", CARA, to(cara("7"), 3), "7.875"),
        row("7 sts, whole", CARA, nearest(cara("7")), 8),
        row("24 sts", CARA, cara("24"), 27),
        row("rows, 15 to 12 per in", CARA, to(per_inch("12").ratio(per_inch("15")), 1), "0.8"),
        row("58 sts at 19 per 4 in", forum, to(width.amount(Unit::In), 1), "12.2"),
        row("at 14 per 4 in", forum, to(per_4_inches("14").count(width), 1), "42.7"),
        row("at 14, whole", forum, nearest(per_4_inches("14").count(width)), 43),
        row("114 x 19 / 30", "knittinghelp.com, post 411292", to(post, 1), "72.2"),
        row("about", "knittinghelp.com, post 411292", nearest(post), 72),
        row("40 in at 20, meant for 22", "bellaonline.com, art174582", bella.amount(Unit::In), 44),
        row("190 sts at 19 per 4 in", "notmartha.org, 2007/06/28", martha("19"), "40"),
        row("190 sts at 17.5 per 4 in", "notmartha.org, 2007/06/28", martha("17.5"), "43.43"),
    ]);
}

#[test]
fn from_a_width_to_a_count() {
    let quince = "quinceandco.com, Kathryn, essay 3";
    let body = per_4_inches("25.5").count(inches("36"));
    let depth = count_for(inches("7.25"), per_4_inches("32"), Multiple::ANY, Toward::Nearest);
    let waist = |width, gauge| per_inch(gauge).count(inches(width));
    let farmer = "\"Farmer's Market Cardi\", Interweave";
    let rows = per_inch("6").count(inches("12.5"));
    agree(&[
        row("36 in at 25.5 per 4 in", quince, to(body, 1), "229.5"),
        row("whole: half up", quince, nearest(body), 230),
        row("7.25 in at 32 rounds", quince, depth, 58),
        row("45.5 in at 7 per in", WISEHEART, to(waist("45.5", "7"), 1), "318.5"),
        row("whole: half up", WISEHEART, nearest(waist("45.5", "7")), 319),
        row("7.5 in at 7 per in", WISEHEART, to(waist("7.5", "7"), 1), "52.5"),
        row("2 in at 13 rows per in", WISEHEART, waist("2", "13"), 26),
        row("12.5 in at 6 rows per in", farmer, rows, 75),
        row("less 17 worked", farmer, rows - number("17"), 58),
    ]);
}

#[test]
fn multiples() {
    let neokn = "neoknits.blogspot.com, 2007/03";
    let gilder = "marygildersleeve.com";
    let first = |of, plus, up_to: i64| {
        let multiple = Multiple::new(of, plus);
        list((1..=up_to).filter(|n| *n > i64::from(of) && multiple.holds(*n)))
    };
    let seven = Multiple::new(7, 4);
    let repeats = |n: i64| (n - i64::from(seven.plus())) / i64::from(seven.of());
    let plus_one = Multiple::new(6, 1);
    agree(&[
        row("6 + 2", "readknittingpatterns.com", first(6, 2, 32), "8, 14, 20, 26, 32"),
        row("8 + 2", "readknittingpatterns.com", first(8, 2, 50), "10, 18, 26, 34, 42, 50"),
        row(
            "k3, p3 with 2 selvedge stitches",
            "Mon Tricot Knitting Dictionary",
            whole(number("66") + number("2"), Multiple::new(6, 2), Toward::Nearest),
            68,
        ),
        row("7 + 4: 151", neokn, seven.holds(151), true),
        row("its repeats", neokn, repeats(151), 21),
        row("7 + 4: 161", neokn, seven.holds(161), false),
        // A multiple of 6 plus 1 is not a multiple of 7: "never (6 + 1) x n".
        row("6 + 1: 14, which is 2 x 7", gilder, plus_one.holds(14), false),
        row("6 + 1: 13", gilder, plus_one.holds(13), true),
    ]);
}
