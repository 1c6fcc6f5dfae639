//! Numbers in print that do not reconcile: the arithmetic must notice.

use super::{agree, even, list, number, row};
use walewright::measure::Stitches;
use walewright::measure::round::{Multiple, Toward};
use walewright::plan::cap::shoulder;
use walewright::plan::convert::whole;
use walewright::plan::spacing::{Change, Piece, Setting, worked};

#[test]
fn numbers_that_do_not_add_up() {
    let gap =
        |plain, times| Piece::Times(vec![Piece::Plain(Stitches(plain)), Piece::Change], times);
    // "every 10th 9 times, every 11th once"
    let written = [gap(10, 9), Piece::Plain(Stitches(11)), Piece::Change];
    let uses = worked(&written, Change::M1).0.0;
    let increased = worked(&[gap(5, 24)], Change::M1).1.0;
    let ninety = number("210") * number("0.9");
    let rib = |of| whole(ninety, Multiple::new(of, 0), Toward::Nearest);
    // Shoulders of 27, 9 neck decreases a side, then bind off 9 three times.
    let left = 27 - 9;
    let steps = shoulder(Stitches(left), 3);
    agree(&[
        row("120 sts, increase 10: the row uses", "knitabit.net", uses, 120)
            .but_ours_is("101", "9 x 10 + 11; 120 needs every 12th ten times"),
        row("120 + 24", "spudandchloe.com, 2010", increased, 148)
            .but_ours_is("144", "24 increases, one every 5, make 144 of 120"),
        row("90% of 210", "diydiy.info", ninety, 189),
        row("for k1 p1", "diydiy.info", rib(2), 189).but_ours_is("190", "189 is odd"),
        row("for k2 p2", "diydiy.info", rib(4), 190)
            .but_ours_is("188", "190 is no multiple of 4, and 188 is nearer 189 than 192"),
        row("bind off", "knittingmagic.biz", list(steps.iter().map(|s| s.0)), "9, 9, 9")
            .but_ours_is("6, 6, 6", "27 less 9 leaves only 18 to bind off"),
    ]);
    assert!(!Multiple::new(2, 0).holds(189) && !Multiple::new(4, 0).holds(190));
    let right = even(120, 130, Setting::Round);
    assert_eq!(right.every().first().map(|e| (e.stitches.0, e.times)), Some((12, 10)));
}
