//! A quick answer says what came of a question, and shows how.

use proptest::prelude::*;
use walewright::measure::round::Multiple;
use walewright::measure::{Length, Rows, Stitches, Unit, exact};
use walewright::plan::band::{Direction, Source};
use walewright::plan::spacing::{EvenChange, IncreaseMethod, Setting};
use walewright::plan::taper::{Ending, Order};
use walewright::quick::band::{BandQuestion, band};
use walewright::quick::gauge::{GaugeQuestion, gauge};
use walewright::quick::needle::needle;
use walewright::quick::read::{self, Counting, EitherGauge, GivenGauge};
use walewright::quick::space::space;
use walewright::quick::swatch::{MOST_COUNTINGS, SwatchQuestion, swatch};
use walewright::quick::taper::{Over, TaperQuestion, taper};
use walewright::source::Source as Text;
use walewright::syntax::parse_targets;

fn read_either(text: &str) -> EitherGauge {
    read::either_gauge(text).unwrap_or_else(|error| panic!("{error}"))
}

fn read_gauge(text: &str) -> GivenGauge {
    read::gauge(text).unwrap_or_else(|error| panic!("{error}"))
}

fn band_question(body: &str, band: &str, over: u32, lies: &str) -> BandQuestion {
    BandQuestion {
        body: read_gauge(body),
        band: read_gauge(band),
        stretched: None,
        source: Source::Swatched,
        over: Stitches(over),
        lies: read::lies(lies).unwrap_or_else(|error| panic!("{error}")),
        multiple: Multiple::ANY,
        direction: Direction::BottomUp,
        setting: Setting::Round,
        method: IncreaseMethod::M1,
        passes: None,
    }
}

fn told<T: std::fmt::Display, E: std::fmt::Display>(answer: Result<T, E>) -> String {
    match answer {
        Ok(answer) => answer.to_string(),
        Err(error) => format!("error: {error}"),
    }
}

fn spaced(from: u32, to: u32, setting: Setting) -> String {
    let (from, to) = (Stitches(from), Stitches(to));
    told(space(EvenChange { from, to, setting, method: IncreaseMethod::M1 }))
}

fn taper_question(from: u32, to: u32, rows: u32) -> TaperQuestion {
    TaperQuestion {
        from: Stitches(from),
        to: Stitches(to),
        each: Stitches(2),
        over: Over::Rows(Rows(rows)),
        setting: Setting::Flat,
        order: Order::FasterFirst,
        ending: Ending::OnShaping,
        first: None,
        allowance: Rows(0),
    }
}

fn gauge_answer(amount: &str, at: &str, to: Option<&str>) -> String {
    told(gauge(&GaugeQuestion {
        amount: read::amount(amount).unwrap_or_else(|error| panic!("{error}")),
        at: read_either(at),
        to: to.map(read_either),
        multiple: Multiple::ANY,
    }))
}

#[test]
fn a_level_band() {
    let asked = band_question("20 sts / 10 cm", "24 sts / 10 cm", 200, "level");
    insta::assert_snapshot!(told(band(&asked)), @r"
240 sts of band over 200 sts of body: 6 for every 5

  body width      200 / 20 per 10 cm          = 100 cm
  band            200 x 24 / 20               = 240 sts
  band to body    240 : 200                   = 6 for every 5
  band width      240 / 24 per 10 cm          = 100 cm
  draws in        1 - band width / body width = 0%
  after the band                                *k4, k2tog; rep from * to end

note: A computed count is a starting point: swatch, wash and measure before casting on.
");
}

#[test]
fn a_snug_band_in_a_repeat() {
    let asked = BandQuestion {
        multiple: Multiple::new(4, 0),
        stretched: Some(read_gauge("15 sts / 10 cm")),
        source: Source::Estimated,
        passes: Some(Length::cm(150)),
        ..band_question("20 sts / 10 cm", "24 sts / 10 cm", 200, "snug 12%")
    };
    insta::assert_snapshot!(told(band(&asked)), @r"
212 sts of band over 200 sts of body

  body width                 200 / 20 per 10 cm          = 100 cm
  band                       200 x 24 / 20 x 0.88        = 211.2 sts
  to the nearest in pattern                                212 sts
  band to body               211.2 : 200                 = about 12 for every 11
  that comes out                                           6.98 sts over
  band width                 212 / 24 per 10 cm          = 88.3 cm
  draws in                   1 - band width / body width = 11.7%
  stretches to               212 / 15 per 10 cm          = 141.3 cm
  after the band                                           *k15, k2tog, [k16, k2tog] twice; rep from * to end

note: The band's gauge is an estimate: swatch the band in this yarn.
note: It does not go on: it stretches to 141.3 cm, and must pass over 150 cm.
note: A snug band is not a medical garment.
note: A computed count is a starting point: swatch, wash and measure before casting on.
");
}

#[test]
fn a_fitted_cuff() {
    let asked = BandQuestion {
        direction: Direction::TopDown,
        passes: Some(Length::inches(9)),
        ..band_question("5 sts / in", "6 sts / in", 60, "fitted 8 in")
    };
    insta::assert_snapshot!(told(band(&asked)), @r"
40 sts of band over 60 sts of body: 2 for every 3

  body width       60 / 5 per in               = 12 in
  band             8 in x 5 per in             = 40 sts
  band to body     40 : 60                     = 2 for every 3
  band width       40 / 6 per in               = 6.67 in
  draws in         1 - band width / body width = 44.4%
  before the band                                *k1, k2tog; rep from * to end

note: Whether it goes on is not known: swatch the band stretched as well.
note: Work it on needles two sizes smaller than the body's.
note: A snug band is not a medical garment.
note: A computed count is a starting point: swatch, wash and measure before casting on.
");
}

#[test]
fn a_band_of_nothing() {
    let asked = band_question("20 sts / 10 cm", "24 sts / 10 cm", 200, "snug 100%");
    insta::assert_snapshot!(told(band(&asked)), @"error: no stitch would be left of such a band");
}

#[test]
fn decreases_in_the_round() {
    insta::assert_snapshot!(spaced(56, 40, Setting::Round), @r"
decrease 16 evenly over 56 sts: *k1, k2tog, k2, k2tog; rep from * to end

  changes        56 - 40           = 16
  one every      56 / 16           = 3.5 sts
  in whole sts   k2tog every 3 sts = 8 times
  in whole sts   k2tog every 4 sts = 8 times
  the row takes                      56 sts
  and makes                          40 sts
");
}

#[test]
fn increases_across_a_row() {
    insta::assert_snapshot!(spaced(51, 55, Setting::Flat), @r"
increase 4 evenly over 51 sts: k6, m1, [k13, m1] 3 times, k6

  changes            55 - 51         = 4
  one every          51 / 4          = 12.75 sts
  in whole sts       m1 every 13 sts = 3 times
  half at each edge  6.38            = 6, 6
  the row takes                        51 sts
  and makes                            55 sts
");
}

#[test]
fn a_row_too_long_to_say_evenly() {
    insta::assert_snapshot!(spaced(190, 249, Setting::Round), @r"
increase 59 evenly over 190 sts: [[k3, m1] 3 times, k4, m1] 6 times, [[k3, m1] 4 times, k4, m1] 7 times

  changes        249 - 190      = 59
  one every      190 / 59       = 3.22 sts
  in whole sts   m1 every 3 sts = 46 times
  in whole sts   m1 every 4 sts = 13 times
  the row takes                   190 sts
  and makes                       249 sts

note: A shorter row was preferred to a perfectly even one; no change lies more than 0.75 sts from its exact place.
");
}

#[test]
fn no_room_for_so_many() {
    insta::assert_snapshot!(spaced(40, 100, Setting::Round), @"error: increase 60 in one row of 40 sts: at most 40 fit; 100 takes 2 such rows");
    insta::assert_snapshot!(spaced(1, 5, Setting::Flat), @"error: increase 4 in one row of 1 st: none fit");
    insta::assert_snapshot!(spaced(40, 40, Setting::Flat), @r"
nothing to change: 40 sts

  changes  40 - 40 = 0
");
}

#[test]
fn a_sleeve() {
    insta::assert_snapshot!(told(taper(&taper_question(50, 72, 90))), @r"
increase 1 st each end every 8th row 10 times, then every 10th row once

  shaping rows  (72 - 50) / 2 = 11
  one every     90 / 11       = 8.18 rows
  at this rate  8 x 10        = 80 rows
  at this rate  10 x 1        = 10 rows
  in all                        90 rows
");
}

#[test]
fn a_sleeve_in_the_round_with_its_end_plain() {
    let asked = TaperQuestion {
        setting: Setting::Round,
        ending: Ending::Plain(Rows(6)),
        order: Order::SlowerFirst,
        ..taper_question(72, 50, 90)
    };
    insta::assert_snapshot!(told(taper(&asked)), @r"
decrease 2 sts every 8th round 7 times, then every 7th round 4 times, then work 6 rounds even

  shaping rows  (72 - 50) / 2 = 11
  one every     90 / 11       = 8.18 rounds
  at this rate  8 x 7         = 56 rounds
  at this rate  7 x 4         = 28 rounds
  worked even                   6 rounds
  in all                        90 rounds
");
}

#[test]
fn a_taper_that_does_not_come_out() {
    insta::assert_snapshot!(told(taper(&taper_question(50, 73, 90))), @"error: from 50 to 73 is 23 sts, which 2 sts at a time never makes up");
    insta::assert_snapshot!(told(taper(&taper_question(50, 150, 90))), @"error: 50 shaping rows do not fit in 90 rows: at most 45 do, or 50 in 100 rows");
    insta::assert_snapshot!(told(taper(&taper_question(50, 50, 90))), @r"
work 90 rows even

  shaping rows  (50 - 50) / 2 = 0
");
}

#[test]
fn a_count_at_another_gauge() {
    let answer = gauge_answer("190 sts", "19 sts / 4 in", Some("17.5 sts / 4 in"));
    insta::assert_snapshot!(answer, @r"
175 sts at the other gauge, for 40 in (unchanged, 190 sts would make 43.43 in)

  at this gauge       190 / 19 per 4 in   = 40 in
  at the other gauge  190 x 17.5 / 19     = 175 sts
  which makes         175 / 17.5 per 4 in = 40 in
  left unchanged      190 / 17.5 per 4 in = 43.43 in

note: A computed count is a starting point: swatch, wash and measure before casting on.
");
}

#[test]
fn a_width_and_a_height() {
    insta::assert_snapshot!(gauge_answer("36 in", "25.5 sts, 32 rounds / 4 in", None), @r"
36 in is 230 sts

  at this gauge   36 in x 25.5 per 4 in = 229.5 sts
  to the nearest                          230 sts
");
    insta::assert_snapshot!(gauge_answer("60 rows", "20 sts, 28 rows / 10 cm", Some("18 sts, 24 rows / 10 cm")), @r"
51 rows at the other gauge, for 21.4 cm (unchanged, 60 rows would make 25 cm)

  at this gauge       60 / 28 per 10 cm = 21.4 cm
  at the other gauge  60 x 24 / 28      = 51.43 rows
  to the nearest                          51 rows
  which makes         51 / 24 per 10 cm = 21.3 cm
  left unchanged      60 / 24 per 10 cm = 25 cm

note: A computed count is a starting point: swatch, wash and measure before casting on.
");
    insta::assert_snapshot!(gauge_answer("60 rows", "20 sts / 10 cm", None), @r#"
error: a number of rows needs row gauges, such as "20 sts, 28 rows / 10 cm"
"#);
}

fn swatch_question(counts: &[&str]) -> SwatchQuestion {
    let counting = |text: &&str| read::counting(text).unwrap_or_else(|error| panic!("{error}"));
    SwatchQuestion {
        counts: counts.iter().map(counting).collect(),
        over: None,
        width_of: None,
        between_sizes: None,
    }
}

#[test]
fn swatches_and_their_doubt() {
    let asked = SwatchQuestion {
        width_of: Some(Stitches(198)),
        between_sizes: Some(Length::cm(5)),
        ..swatch_question(&[
            "body: 20 sts / 10 cm",
            "body: 21.5 sts / 10 cm",
            "body: 41 sts / 20 cm",
            "band: 24 sts / 10 cm",
        ])
    };
    insta::assert_snapshot!(told(swatch(&asked)), @"
    body 20.63 sts (20 to 21.5) per 10 cm; band 24 sts (23.5 to 24.5) per 10 cm; 198 sts are 96 cm, between 92.1 cm and 99 cm

      body          20 / 10 cm            = 20 sts per 10 cm
      body          21.5 / 10 cm          = 21.5 sts per 10 cm
      body          41 / 20 cm            = 20.5 sts per 10 cm
      body          all sts / all lengths = 20.63 sts per 10 cm
      band          24 / 10 cm            = 24 sts per 10 cm
      band to body  band / body           = 1.16, between 1.09 and 1.23
      level         over 198 sts of body  = about 7 for every 6
      width         198 / body            = 96 cm, between 92.1 cm and 99 cm

    note: Each count is known to about half a stitch, or half a row.
    note: The stitch counts of the body differ by more than that, up to 0.88 from their average: measure again, or swatch larger.
    note: The doubt of the width, 6.9 cm, is larger than the 5 cm from one size to the next: count over a longer stretch.
    ");
}

#[test]
fn swatches_stretched_and_before_washing() {
    let asked = swatch_question(&[
        "body: 22 sts, 31 rows / 4 1/2 in",
        "body before washing: 23 sts, 31 rows / 4 1/2 in",
        "k2 p2 rib: 31 sts / 5 in",
        "k2 p2 rib stretched: 31 sts / 8 in",
        "k2 p2 rib stretched, before washing: 31 sts / 7 in",
        "hem before washing: 20 sts / 4 in",
    ]);
    insta::assert_snapshot!(told(swatch(&asked)), @"
    body 19.56 sts (19.11 to 20) and 27.56 rows (27.11 to 28) per 4 in; k2 p2 rib 24.8 sts (24.4 to 25.2) per 4 in; hem 20 sts (19.5 to 20.5) per 4 in

      body                                22 / 4.5 in                      = 19.56 sts per 4 in
      body                                31 / 4.5 in                      = 27.56 rows per 4 in
      body before washing                 23 / 4.5 in                      = 20.44 sts per 4 in
      body before washing                 31 / 4.5 in                      = 27.56 rows per 4 in
      washing the body                    width after / width before - 1   = 4.5% wider
      washing the body                    length after / length before - 1 = 0% longer
      k2 p2 rib                           31 / 5 in                        = 24.8 sts per 4 in
      k2 p2 rib stretched                 31 / 8 in                        = 15.5 sts per 4 in
      k2 p2 rib stretched before washing  31 / 7 in                        = 17.71 sts per 4 in
      stretches to                        k2 p2 rib / k2 p2 rib stretched  = 160%, between 154.9% and 165.2%
      hem before washing                  20 / 4 in                        = 20 sts per 4 in
      k2 p2 rib to body                   k2 p2 rib / body                 = 1.27, between 1.22 and 1.32
      level                               over 100 sts of body             = about 9 for every 7
      hem to body                         hem / body                       = 1.02, between 0.98 and 1.07
      level                               over 100 sts of body             = about 1 for every 1

    note: Each count is known to about half a stitch, or half a row.
    note: Not all of the hem was counted after washing: wash the swatch as the garment will be, dry it, and count again.
    ");
}

#[test]
fn swatches_that_say_nothing() {
    let error = |counts: &[&str]| told(swatch(&swatch_question(counts)));
    insta::assert_snapshot!(error(&[]), @"error: nothing was counted");
    insta::assert_snapshot!(error(&["body: 1/2 st / 0.5 cm"]), @"error: the 1st count of the body is too small to tell a gauge");
    insta::assert_snapshot!(error(&["brim: 20 sts / 9 cm", "brim stretched: 0.5 sts / 1 cm"]), @"error: the 1st count of the brim stretched is too small to tell a gauge");
    insta::assert_snapshot!(error(&["brim stretched: 24 sts / 12 cm"]), @"error: the stitches of the brim were not counted on a relaxed swatch");
    insta::assert_snapshot!(error(&["body: 30 rows / 10 cm"]), @"error: the stitches of the body were not counted on a relaxed swatch");
    insta::assert_snapshot!(error(&["brim: 20 sts / 10 cm", "brim stretched: 24 sts / 10 cm"]), @"error: the brim has more stitches to a length stretched than relaxed: the two may have been taken for each other");
    let over = Some((Length::new(exact(1, 2), Unit::Cm), Unit::Cm));
    let asked = SwatchQuestion { over, ..swatch_question(&["body: 20 sts / 10 cm"]) };
    insta::assert_snapshot!(told(swatch(&asked)), @"error: gauges are told over 1 cm or more");
    insta::assert_snapshot!(error(&["body: 20 sts / 10 cm"; MOST_COUNTINGS + 1]), @"error: more than 1000 counts");
}

/// A thousand counts of the finest parts anyone measures in are added up exactly.
#[test]
fn as_many_swatches_as_there_may_be() {
    let fine = ["body: 22 1/3 sts, 999 1/3 rows / 11 511/512 in", "band: 1000 sts / 10.001 cm"];
    let counts: Vec<&str> = fine.iter().copied().cycle().take(MOST_COUNTINGS).collect();
    let asked = SwatchQuestion { width_of: Some(Stitches(1_000_000)), ..swatch_question(&counts) };
    let answer = swatch(&asked).unwrap_or_else(|error| panic!("{error}"));
    // 22 1/3 / 11 511/512 x 4
    assert_eq!(answer.result.fabrics[0].stitches.value, "7.45");
}

#[test]
fn needles_by_any_name() {
    let named = |text: &str| needle(text.parse().unwrap_or_else(|error| panic!("{error}")));
    insta::assert_snapshot!(named("US 6"), @"
    4 mm, US 6, old UK 8

      two sizes smaller     3.5 mm, US 4
      one size smaller      3.75 mm, US 5, old UK 9
      one size larger       4.5 mm, US 7, old UK 7
      two sizes larger      5 mm, US 8, old UK 6
    ");
    insta::assert_snapshot!(named("UK 14"), @"
    2 mm, US 0, old UK 14

      two sizes smaller     none
      one size smaller      none
      one size larger       2.25 mm, US 1, old UK 13
      two sizes larger      2.75 mm, US 2, old UK 12
    ");
    insta::assert_snapshot!(named("20 mm"), @"
    20 mm

      two sizes smaller     15 mm, US 19
      one size smaller      19 mm, US 35
      one size larger       25 mm, US 50
      two sizes larger      none

    note: Charts disagree on its US number (some say 35 or 36): go by the millimeters.
    ");
}

#[test]
fn as_data() {
    let asked = band_question("20 sts / 10 cm", "24 sts / 10 cm", 100, "level");
    let answer = band(&asked).unwrap_or_else(|error| panic!("{error}"));
    let json = serde_json::to_string_pretty(&answer).expect("it serializes");
    insta::assert_snapshot!(json, @r#"
{
  "answer": "120 sts of band over 100 sts of body: 6 for every 5",
  "result": {
    "band": 120,
    "exact": "120",
    "body": 100,
    "ratio": {
      "band": 6,
      "body": 5,
      "off": "0"
    },
    "width": "50 cm",
    "body_width": "50 cm",
    "draws_in": "0%",
    "stretches_to": null,
    "passes": null,
    "row": "*k4, k2tog; rep from * to end",
    "estimated": false
  },
  "working": [
    {
      "label": "body width",
      "formula": "100 / 20 per 10 cm",
      "value": "50 cm"
    },
    {
      "label": "band",
      "formula": "100 x 24 / 20",
      "value": "120 sts"
    },
    {
      "label": "band to body",
      "formula": "120 : 100",
      "value": "6 for every 5"
    },
    {
      "label": "band width",
      "formula": "120 / 24 per 10 cm",
      "value": "50 cm"
    },
    {
      "label": "draws in",
      "formula": "1 - band width / body width",
      "value": "0%"
    },
    {
      "label": "after the band",
      "formula": "",
      "value": "*k4, k2tog; rep from * to end"
    }
  ],
  "notes": [
    "A computed count is a starting point: swatch, wash and measure before casting on."
  ]
}
"#);
    assert_eq!(asked.body.stitches, exact(20, 1));
}

proptest! {
    /// Numbers as long and as large as may be read leave every product exact.
    #[test]
    fn no_number_that_is_read_is_too_much(
        counts in proptest::array::uniform3(1_u32..1_000_000_000),
        lengths in proptest::array::uniform3(1_u32..1_000_000_000),
        over in 0_u32..11_000, multiple in 1_u32..40, inches in any::<bool>(), by in 0_u32..99_999_999,
    ) {
        let unit = if inches { "in" } else { "cm" };
        let decimal = |n: u32| format!("{}.{:06}", n / 1_000_000, n % 1_000_000);
        let gauges: Vec<GivenGauge> = counts
            .iter()
            .zip(&lengths)
            .map(|(count, length)| {
                let (count, length) = (decimal(*count), decimal(*length));
                read_gauge(&format!("{count} sts, {count} rows / {length} {unit}"))
            })
            .collect();
        let [a, b, c] = [gauges[0], gauges[1], gauges[2]];
        for lies in [format!("snug {}%", decimal(by)), format!("fitted {} {unit}", decimal(by)), "level".to_owned()] {
            let asked = BandQuestion {
                body: a,
                band: b,
                stretched: Some(c),
                multiple: Multiple::new(multiple, 1),
                lies: read::lies(&lies).unwrap_or_else(|error| panic!("{error}")),
                ..band_question("20 sts / 10 cm", "20 sts / 10 cm", over, "level")
            };
            prop_assert!(!told(band(&asked)).is_empty());
        }
        let amount = format!("{} {unit}", decimal(by));
        for amount in [amount, format!("{over} sts"), format!("{over} rows")] {
            if let Ok(amount) = read::amount(&amount) {
                let asked = GaugeQuestion { amount, at: a.into(), to: Some(b.into()), multiple: Multiple::ANY };
                prop_assert!(!told(gauge(&asked)).is_empty());
            }
        }
    }

    /// Whatever was counted, the gauges that are printed are a targets file.
    #[test]
    fn gauges_from_swatches_can_be_read_as_targets(
        counts in proptest::collection::vec(
            (0_usize..4, any::<bool>(), any::<bool>(), 1_u32..999_999, 1_u32..999_999), 1..9
        ),
        inches in any::<bool>(),
    ) {
        let names = ["body", "k2 p2 rib", "no", "2x2"];
        let decimal = |n: u32| format!("{}.{:03}", n / 1000, n % 1000);
        let counts: Vec<Counting> = counts
            .into_iter()
            .filter_map(|(name, stretched, before, count, over)| {
                let text = format!(
                    "{}{}{}: {} sts / {} {}",
                    names[name],
                    if stretched { " stretched" } else { "" },
                    if before { " before washing" } else { "" },
                    decimal(count),
                    decimal(over),
                    if inches { "in" } else { "cm" }
                );
                read::counting(&text).ok()
            })
            .collect();
        let asked = SwatchQuestion { counts, width_of: Some(Stitches(100)), ..swatch_question(&[]) };
        if let Ok(answer) = swatch(&asked) {
            let targets = Text::new("targets.yaml", answer.result.targets);
            let read = parse_targets(&targets);
            prop_assert!(read.1.is_empty(), "{}: {:?}", targets.text, read.1);
        }
    }
}

/// As a hand knitter types: 12.5 in at 6 rows to the inch are 75 rows ("Farmer's
/// Market Cardi", Interweave); 36 in and 7.25 in at 25.5 stitches and 32 rounds to
/// 4 in are 230 stitches and 58 rounds (Kathryn, essay 3, quinceandco.com).
#[test]
fn questions_as_they_are_typed() {
    let first = |amount: &str, at: &str| {
        let told = gauge_answer(amount, at, None);
        told.lines().next().unwrap_or_default().to_owned()
    };
    for at in ["6 rows / in", "6 rows per inch", "6 rows to the inch", "24 rows in 4 in"] {
        assert_eq!(first("12.5 in", at), "12.5 in is 75 rows", "{at}");
        assert_eq!(first("12,5 in", at), "12.5 in is 75 rows", "{at}");
    }
    for width in ["7.25 in", "7 1/4 in", "7-1/4 inches", "7¼ \"", "7 1/4\""] {
        assert_eq!(first(width, "32 rounds / 4 in"), "7.25 in is 58 rows", "{width}");
    }
    for at in ["25.5 sts / 4 in", "25 1/2 st = 4\"", "25½ sts, 32 rounds over 4 inches"] {
        assert_eq!(first("36 in", at), "36 in is 230 sts", "{at}");
    }
    assert!(read::amount("1,000 sts").is_err(), "a thousand, or one?");
    assert!(read::lies("snug 12.5 %").is_ok());
    assert_eq!(read::counting("body 22 sts in 4 1/2 in"), read::counting("body: 22 sts / 4.5 in"));
}
