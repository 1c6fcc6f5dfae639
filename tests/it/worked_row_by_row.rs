//! What instructions come to, each worked by hand beside it: how many rows a length takes, what
//! a fabric leaves whose count changes, and where a row stops that goes to a marker.
//!
//! The gauge is 28 rows to 10 cm, 2.8 rows to each; arithmetic otherwise.

use walewright::source::Source;
use walewright::syntax;

const FRONT: &str =
    "---\nsizes: [S, M, L]\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n---\n\n";

/// Three rows, the count back after the last: 3 become 5, and 5 become 3.
const BELLS: &str = "## Bells, fabric\n\n- row 1: *k1, yo, k1, yo, k1; rep from *\n- row 2: *k5; rep from *\n- row 3: *k1, k3tog, k1; rep from *\n\n";

/// Two rows, the count another after each.
const NET: &str =
    "## Net, fabric\n\n- row 1: *k2, yo; rep from *\n- row 2: *k1, k2tog; rep from *\n\n";

/// Rows and stitches of a size after each step, and what is found.
fn worked(size: usize, setting: &str, steps: &str) -> (Vec<(u32, i64)>, Vec<String>) {
    let text = format!("{FRONT}{BELLS}{NET}## Piece, {setting}\n\n{steps}\n- bind off all\n");
    let source = Source::new("piece.wale", text);
    let parsed = syntax::parse(&source);
    let document = parsed.document.expect("a pattern");
    let checked = walewright::check(&source, &document, parsed.findings);
    let after = checked.traces[size].visits.iter();
    let after = after.map(|visit| (visit.rows_after, visit.after.known().expect("a count")));
    let errors = checked.findings.iter().filter(|finding| finding.is_error());
    let told = errors.map(|f| format!("{}: {}", f.code.name(), source.slice(f.place())));
    (after.collect(), told.collect())
}

/// The rows of the last step before all is bound off.
fn last_rows(setting: &str, steps: &str) -> u32 {
    let (after, told) = worked(0, setting, steps);
    assert!(told.is_empty(), "{steps}: {told:?}");
    let [.., (before, _), (rows, _), _] = after[..] else { panic!("{steps}: {after:?}") };
    rows - before
}

#[test]
fn a_length_is_so_many_rows() {
    let flat = |step: &str| last_rows("flat", &format!("- cast on 60 in body\n- {step}"));
    for (step, rows) in [
        ("stockinette for 10 cm", 28),
        // 25.2 rows.
        ("stockinette for 9 cm", 25),
        // The first row is a right-side one: after an even number a wrong-side one was the last.
        ("stockinette for 9 cm, ending with a WS row", 26),
        ("stockinette for 9 cm, ending with a RS row", 25),
        // 24.08 rows.
        ("stockinette for 8.6 cm, ending with a RS row", 25),
        ("stockinette for 8.6 cm, ending with a WS row", 24),
        // Less than half a row is none.
        ("stockinette for 1 mm", 0),
        ("garter for 5 ridges", 10),
        ("bells twice", 6),
        ("bells for 4 rows", 4),
        // Of 23, 26 and 29 rows the middle ones end with row 2.
        ("bells for 9 cm, ending with row 2", 26),
        ("bells for 9 cm, ending with row 1", 25),
        ("bells for 9 cm, ending with row 3", 24),
        ("work in bells, ending with row 2", 2),
        // Two rows are worked: row 1 is the second of those that follow, or the fifth.
        ("bells for 2 rows\n- work even, ending with row 1", 2),
        ("bells for 2 rows\n- work even for 2 cm, ending with row 1", 5),
    ] {
        assert_eq!(flat(step), rows, "{step}");
    }
    // In the round there is one side, and any row may be the last.
    let round = |step: &str| {
        last_rows("in the round", &format!("- cast on 60 in body\n- join in the round\n- {step}"))
    };
    assert_eq!(round("stockinette for 9 cm, ending with a WS row"), 25);
    assert_eq!(round("bells for 9 cm, ending with row 2"), 26);
}

#[test]
fn what_is_worked_counts_for_a_length_of_repeats() {
    let rows = |step: &str| {
        let rows =
            "- row 1 (RS): knit\n- row 2: k1, p to last st, k1\n- row 3: knit\n- row 4: purl\n";
        last_rows("flat", &format!("- cast on 60 in body\n{rows}- {step}"))
    };
    for (step, more) in [
        ("repeat rows 1-4", 4),
        ("repeat rows 1-4 3 times", 12),
        // 16.8 rows in all, of which 4 are worked: 12.8 are nearer to three repeats than to four.
        ("repeat rows 1-4 for 6 cm", 12),
        // 22.4 in all, 18.4 more.
        ("repeat rows 1-4 for 8 cm", 20),
        ("repeat rows 1-4 for 8 cm, ending with row 2", 18),
        // 2.8 in all: there are more than that already.
        ("repeat rows 1-4 for 1 cm", 0),
        ("repeat rows 1-4 for 1 mm", 0),
        ("repeat rows 1-4 for 1 mm, ending with row 3", 3),
        ("repeat rows 1-4 until piece measures 8 cm", 20),
        ("repeat rows 1-2 until piece measures 8 cm", 18),
        ("stockinette until piece measures 8 cm", 18),
    ] {
        assert_eq!(rows(step), more, "{step}");
    }
}

/// What is knit in rows that are worked again: its yarn is reckoned from that.
#[test]
fn every_row_takes_every_stitch() {
    for (step, rows) in [
        ("repeat rows 1-4", 4),
        ("repeat rows 1-4 3 times", 12),
        ("repeat rows 1-4 for 6 cm", 12),
        ("repeat rows 1-4 until piece measures 8 cm, ending with row 2", 18),
        ("repeat rows 1-3 for 7 rows", 7),
        ("garter for 5 ridges", 10),
        ("stockinette for 9 cm", 25),
    ] {
        let text = format!(
            "{FRONT}## Piece, flat\n\n- cast on 60 in body\n- row 1 (RS): knit\n- row 2: purl\n- row 3: knit\n- row 4: purl\n- {step}\n- bind off all\n"
        );
        let source = Source::new("piece.wale", text);
        let document = syntax::parse(&source).document.expect("a pattern");
        let checked = walewright::check(&source, &document, Vec::new());
        let visit = &checked.traces[0].visits[5];
        assert_eq!(visit.rows_after - visit.rows_before, rows, "{step}");
        assert_eq!(visit.stitches.known(), Some(60 * i64::from(rows)), "{step}");
    }
}

#[test]
fn a_length_from_a_place_leaves_out_what_lies_before_it() {
    // 14 rows are 5 cm.
    let until = |step: &str| {
        let steps = format!(
            "- cast on 60 in body\n- stockinette for 5 cm\n- bind off 6 at the start of the next 2 rows [starts armhole]\n- {step}"
        );
        worked(0, "flat", &steps)
    };
    for (step, rows) in [
        // 33.6 rows in all, of which 16 are worked.
        ("stockinette until 12 cm from cast on", 18),
        ("stockinette until piece measures 12 cm", 18),
        // The bind-offs are the first two of 33.6.
        ("stockinette until 12 cm from armhole", 32),
        ("stockinette until armhole measures 12 cm, ending with a RS row", 31),
        // 15.96 rows.
        ("stockinette until 5.7 cm from cast on", 0),
        // 15.68, and an odd number more.
        ("stockinette until 5.6 cm from cast on, ending with a RS row", 1),
    ] {
        let (after, told) = until(step);
        assert!(told.is_empty(), "{step}: {told:?}");
        assert_eq!(after[3].0 - after[2].0, rows, "{step}");
    }
    // 15.4 rows: more than half a row too many.
    let (_, told) = until("stockinette until 5.5 cm from cast on");
    assert_eq!(told, ["length-passed: stockinette until 5.5 cm from cast on"]);
}

/// A size that skips a length skips the step, and goes on.
#[test]
fn a_length_that_a_size_skips() {
    let steps = |length: &str, until: &str| {
        format!(
            "- cast on 60 in body\n- stockinette for {length} cm\n- stockinette until 15 cm from cast on\n- decrease 1 each end every RS row until {until} sts remain"
        )
    };
    let (after, told) = worked(1, "flat", &steps("10 (-, 12)", "56"));
    assert!(told.is_empty(), "{told:?}");
    assert_eq!(after, [(0, 60), (42, 60), (46, 56), (47, 0)]);
    // Nothing works a length out.
    let (_, told) = worked(1, "flat", &steps("?", "57"));
    assert_eq!(told, ["unknown-count: ? cm"]);
    // From 60 stitches two each time never come to 57.
    let (_, told) = worked(1, "flat", &steps("10 (-, 12)", "56 (57, 56)"));
    assert_eq!(told, ["total-differs: 56 (57, 56)"]);
}

#[test]
fn a_fabric_leaves_what_its_last_row_makes() {
    let left = |setting: &str, cast_on: u32, step: &str| {
        let (after, told) = worked(0, setting, &format!("- cast on {cast_on} in body\n- {step}"));
        assert!(told.is_empty(), "{step}: {told:?}");
        after[1].1
    };
    for (step, sts) in [
        // Three become five, four times.
        ("bells for 1 row", 20),
        ("bells for 2 rows", 20),
        ("bells for 3 rows", 12),
        ("bells for 4 rows", 20),
        ("bells 3 times", 12),
        // Two become three, six times.
        ("net for 1 row", 18),
        ("net for 2 rows", 12),
        ("net for 7 rows", 18),
    ] {
        assert_eq!(left("flat", 12, step), sts, "{step}");
    }
    // Four stitches are none of it.
    for (step, sts) in [
        ("bells with 2 sts in garter at each side for 1 row", 24),
        ("net with 2 sts in garter at each side for 5 rows", 22),
        ("net with 2 sts in garter at each side for 6 rows", 16),
    ] {
        assert_eq!(left("flat", 16, step), sts, "{step}");
    }
    // What follows is worked over the stitches that are there.
    let (after, told) = worked(
        0,
        "flat",
        "- cast on 12 in body\n- net for 1 row\n- work even for 2 rows\n- k18\n- stockinette for 1 row (18 sts)",
    );
    assert_eq!((after[1].1, told.len()), (18, 0), "{told:?}");
}

/// Beside the marker that is named, whatever other markers lie before it (common practice).
#[test]
fn a_row_goes_to_the_marker_that_is_named() {
    let marked = |row: &str, stretches: &str| {
        let steps = format!(
            "- cast on 30 in body\n- row 1 (RS): k5, pm A, k6, pm, k7, pm B, k4, pm A, k8\n- row 2 (WS): purl\n- row 3 (RS): {row}\n- row 4 (WS): purl\n- row 5 (RS): {stretches}"
        );
        worked(0, "flat", &steps).1
    };
    let sound: [String; 0] = [];
    for (row, stretches) in [
        ("k to marker, rm, k to end", "k11, sm, k7, sm, k4, sm, k8"),
        ("k to marker A, rm, k to end", "k11, sm, k7, sm, k4, sm, k8"),
        ("k to marker B, rm, k to end", "k5, sm, k6, sm, k11, sm, k8"),
        ("k to 2 sts before marker B, k2tog, sm, k to end", "k5, sm, k6, sm, k6, sm, k4, sm, k8"),
        ("k to marker A, sm, k to marker A, m1, k to end", "k5, sm, k6, sm, k7, sm, k5, sm, k8"),
        ("k to marker B, sm, k to marker, rm, k to end", "k5, sm, k6, sm, k7, sm, k12"),
    ] {
        assert_eq!(marked(row, stretches), sound, "{row}");
    }
    assert_eq!(marked("k to marker C, k to end", "k30"), ["marker-missing: k to marker C"],);
}
