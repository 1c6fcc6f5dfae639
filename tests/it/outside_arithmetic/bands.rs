//! Bands against bodies, and picking up.

use super::{agree, inches, per_4_inches, per_10_cm, per_inch, row, rows, to};
use walewright::measure::round::Multiple;
use walewright::measure::{Density, Length, Stitches, exact, percent};
use walewright::plan::band::{AsWritten, BandGauge, Lies, Meeting, changes_per_stitch};
use walewright::plan::pickup::along_rows;
use walewright::plan::ratio::SmallRatio;

const METHOD: &str = "arithmetic of ours on published methods";

fn meeting(body: u32, body_gauge: Density, band_gauge: Density, lies: Lies) -> Meeting {
    let band_gauge = BandGauge::swatched(band_gauge, None);
    Meeting { body: Stitches(body), body_gauge, band_gauge, lies }
}

fn terms(found: Option<SmallRatio>) -> String {
    found.map_or("none".to_owned(), |f| format!("{} : {}", f.ratio.these, f.ratio.those))
}

#[test]
fn bands_that_lie_level() {
    let level = |band| meeting(200, per_10_cm("20"), per_10_cm(band), Lies::Level);
    agree(&[
        row("20 and 24 per 10 cm", METHOD, terms(level("24").ratio()), "6 : 5").computed(),
        row("20 and 25 per 10 cm", METHOD, terms(level("25").ratio()), "5 : 4").computed(),
        row(
            "24 against 20, quoted as 5 for 4",
            "sometimes quoted",
            terms(level("24").ratio()),
            "5 : 4",
        )
        .but_ours_is("6 : 5", "24 : 20 is 6 : 5; 5 : 4 would be 25 against 20"),
    ]);
    // Over 200 stitches the misquoted ratio is 10 stitches too many.
    let misquoted = exact(5, 4) * exact(200, 1);
    assert_eq!(level("24").exact_count().map(|right| misquoted - right), Some(exact(10, 1)));
}

#[test]
fn a_cuff_fitted_without_ease() {
    let cuff = meeting(72, per_inch("5"), per_inch("6"), Lies::Fitted(Length::inches(10)));
    let ours = cuff.count(Multiple::ANY).map_or(0, |count| count.0);
    agree(&[row("10 in at 5 per in", METHOD, ours, 50).computed()]);
}

/// Band stitches against body stitches in print; at its own gauges each stays
/// what it is, and at others it draws in by as much.
#[test]
fn bands_in_print() {
    let share = |band: u32, body: u32, places| {
        let written = AsWritten {
            body: Stitches(body),
            band: Stitches(band),
            body_gauge: per_10_cm("20"),
            band_gauge: per_10_cm("24"),
        };
        let own = meeting(body, per_10_cm("20"), per_10_cm("24"), Lies::AsWritten(written));
        assert_eq!(own.count(Multiple::ANY), Some(Stitches(band)));
        let count = own.exact_count().unwrap_or(exact(0, 1));
        to(count / exact(i64::from(body), 1) / percent(exact(1, 1)), places)
    };
    agree(&[
        row("320 of 344", "tychoish.com", share(320, 344, 1), "93"),
        row("31 of 35", "plymouthyarn.com, 1213", share(31, 35, 1), "88.6"),
        row("33 of 39", "plymouthyarn.com, 1213", share(33, 39, 1), "84.6"),
        row("99 of 119", "Handbook of Wool Knitting and Crochet, 1918", share(99, 119, 1), "83.2"),
        row("249 of 190", "papermoonknits.com", share(249, 190, 0), "131"),
    ]);
}

#[test]
fn picking_up() {
    let men = "menwhoknit.com, 5359";
    let edge_rows = per_4_inches("24").count(inches("20"));
    let found = along_rows(rows(120), per_4_inches("24"), per_4_inches("16"), Multiple::ANY);
    let usual = |stitches, row_gauge| {
        let edge = along_rows(rows(120), per_10_cm(row_gauge), per_10_cm(stitches), Multiple::ANY);
        terms(edge.ratio)
    };
    agree(&[
        row("rows along 20 in at 24 per 4 in", men, edge_rows, 120),
        row("stitches", men, found.count.0, 80),
        row("for every", men, terms(found.ratio), "2 : 3"),
        row(
            "stockinette of 16 by 24",
            "a usual ratio, menwhoknit.com, 5359",
            usual("16", "24"),
            "2 : 3",
        ),
        row(
            "stockinette of 18 by 24",
            "a usual ratio, menwhoknit.com, 5359",
            usual("18", "24"),
            "3 : 4",
        ),
    ]);
}

#[test]
fn changes_between_knit_and_purl() {
    // Common practice: k1 p1 changes at every stitch, k2 p2 at every second.
    assert_eq!(changes_per_stitch(1, 1), Some(exact(1, 1)));
    assert_eq!(changes_per_stitch(2, 2), Some(exact(1, 2)));
}
