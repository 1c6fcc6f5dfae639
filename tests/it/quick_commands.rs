//! The quick answers can be asked for on the command line.

use crate::run::wale;
use insta::assert_snapshot;

fn asked(line: &[&str]) -> String {
    wale(line).run().all()
}

fn json(line: &[&str]) -> serde_json::Value {
    let outcome = wale(line.iter().chain(&["--as", "json"])).run();
    assert_eq!((outcome.code(), outcome.stderr()), (Some(0), ""));
    serde_json::from_str(outcome.stdout()).expect("it is JSON")
}

const BAND: [&str; 9] = [
    "band",
    "--body",
    "20 sts / 10 cm",
    "--band",
    "24 sts / 10 cm",
    "--over",
    "200",
    "--lies",
    "level",
];

#[test]
fn band() {
    assert_snapshot!(asked(&BAND), @"
    status 0
    --- standard output
    240 sts of band over 200 sts of body: 6 for every 5

      body width      200 / 20 per 10 cm          = 100 cm
      band            200 x 24 / 20               = 240 sts
      band to body    240 : 200                   = 6 for every 5
      band width      240 / 24 per 10 cm          = 100 cm
      draws in        1 - band width / body width = 0%
      after the band                                *k4, k2tog; rep from * to end

    note: A computed count is a starting point: swatch, wash and measure before casting on.
    ");
    let answer = json(&BAND);
    assert_eq!(answer["result"]["band"], 240);
    assert_eq!(answer["result"]["ratio"]["band"], 6);
    assert_eq!(answer["result"]["ratio"]["body"], 5);
}

#[test]
fn band_with_everything_said() {
    assert_snapshot!(asked(&[
        "band", "--body", "20 sts / 10 cm", "--band", "24 sts / 10 cm", "--stretched", "15 sts / 10 cm",
        "--over", "200 sts", "--lies", "snug 12%", "--multiple", "4 plus 2", "--flat", "--top-down",
        "--kfb", "--estimated", "--passes", "58 cm",
    ]), @"
    status 0
    --- standard output
    210 sts of band over 200 sts of body

      body width                 200 / 20 per 10 cm          = 100 cm
      band                       200 x 24 / 20 x 0.88        = 211.2 sts
      to the nearest in pattern                                210 sts
      band to body               211.2 : 200                 = about 12 for every 11
      that comes out                                           6.98 sts over
      band width                 210 / 24 per 10 cm          = 87.5 cm
      draws in                   1 - band width / body width = 12.5%
      stretches to               210 / 15 per 10 cm          = 140 cm
      before the band                                          k9, kfb, [k19, kfb] 9 times, k10

    note: The band's gauge is an estimate: swatch the band in this yarn.
    note: A snug band is not a medical garment.
    note: A computed count is a starting point: swatch, wash and measure before casting on.
    ");
}

#[test]
fn band_that_is_nothing() {
    assert_snapshot!(asked(&[
        "band", "--body", "20 sts / 10 cm", "--band", "24 sts / 10 cm", "--over", "200", "--lies", "snug 100%",
    ]), @"
    status 2
    --- standard error
    error: no stitch would be left of such a band
    ");
}

#[test]
fn space() {
    assert_snapshot!(asked(&["space", "56", "40", "--round"]), @"
    status 0
    --- standard output
    decrease 16 evenly over 56 sts: *k1, k2tog, k2, k2tog; rep from * to end

      changes        56 - 40           = 16
      one every      56 / 16           = 3.5 sts
      in whole sts   k2tog every 3 sts = 8 times
      in whole sts   k2tog every 4 sts = 8 times
      the row takes                      56 sts
      and makes                          40 sts
    ");
    assert_snapshot!(asked(&["space", "40", "48"]), @"
    status 0
    --- standard output
    increase 8 evenly over 40 sts: *k5, m1; rep from * to end

      changes        48 - 40        = 8
      one every      40 / 8         = 5 sts
      in whole sts   m1 every 5 sts = 8 times
      the row takes                   40 sts
      and makes                       48 sts
    ");
    assert_snapshot!(asked(&["space", "40", "48", "--flat", "--kfb"]), @"
    status 0
    --- standard output
    increase 8 evenly over 40 sts: k2, kfb, [k4, kfb] 7 times, k2

      changes            48 - 40         = 8
      one every          40 / 8          = 5 sts
      in whole sts       kfb every 5 sts = 7 times
      half at each edge  2.5             = 2, 2
      the row takes                        40 sts
      and makes                            48 sts
    ");
    assert_eq!(json(&["space", "56", "40", "--round"])["result"]["changes"], 16);
    // So many more or fewer are the same as the number they lead to.
    assert_eq!(asked(&["space", "40", "+8"]), asked(&["space", "40", "48"]));
    assert_eq!(asked(&["space", "56", "-16"]), asked(&["space", "56", "40"]));
    assert_snapshot!(asked(&["space", "56", "+many"]), @r#"
    status 2
    --- standard error
    error: invalid value '+many' for '<TO>': expected a number of stitches such as 40, or how many more or fewer, such as +12 or -16, but found "+many"

    For more information, try '--help'.
    "#);
    assert_snapshot!(asked(&["space", "56", "-60"]), @"
    status 2
    --- standard error
    error: decrease 56 in one row of 56 sts: at most 28 fit
    ");
    assert_snapshot!(asked(&["space", "56", "20"]), @"
    status 2
    --- standard error
    error: decrease 36 in one row of 56 sts: at most 28 fit; 20 takes 2 such rows
    ");
    assert_snapshot!(asked(&["space", "56", "40", "--round", "--flat"]), @"
    status 2
    --- standard error
    error: the argument '--round' cannot be used with '--flat'

    Usage: wale space --round <FROM> <TO>

    For more information, try '--help'.
    ");
}

#[test]
fn taper() {
    assert_snapshot!(asked(&["taper", "50", "72", "--rows", "90", "--flat"]), @"
    status 0
    --- standard output
    increase 1 st each end every 8th row 10 times, then every 10th row once

      shaping rows  (72 - 50) / 2 = 11
      one every     90 / 11       = 8.18 rows
      at this rate  8 x 10        = 80 rows
      at this rate  10 x 1        = 10 rows
      in all                        90 rows
    ");
    let answer = json(&["taper", "50", "72", "--rows", "90", "--flat"]);
    assert_eq!(answer["result"]["rates"][0]["every"], 8);
    assert_eq!(answer["result"]["rates"][0]["times"], 10);
    assert_snapshot!(asked(&[
        "taper", "72", "50", "--rows", "90 rounds", "--round", "--slower-first", "--even-after", "6",
        "--first", "5", "--allowance", "4", "--each", "2",
    ]), @"
    status 0
    --- standard output
    decrease 2 sts every 5th round once, then every 8th round 10 times, then work 5 rounds even

      shaping rows  (72 - 50) / 2 = 11
      one every     90 / 11       = 8.18 rounds
      at this rate  5 x 1         = 5 rounds
      at this rate  8 x 10        = 80 rounds
      worked even                   5 rounds
      in all                        90 rounds
    ");
    assert_snapshot!(asked(&[
        "taper", "50", "72", "--over", "32 cm", "--at", "28 rows / 10 cm", "--flat",
    ]), @"
    status 0
    --- standard output
    increase 1 st each end every 8th row 10 times, then every 10th row once

      rows          32 cm x 28 per 10 cm = 90
      shaping rows  (72 - 50) / 2        = 11
      one every     90 / 11              = 8.18 rows
      at this rate  8 x 10               = 80 rows
      at this rate  10 x 1               = 10 rows
      in all                               90 rows
    ");
    assert_snapshot!(asked(&["taper", "50", "72", "--over", "32 cm", "--at", "20 sts / 10 cm"]), @r#"
    status 2
    --- standard error
    error: a length needs a row gauge, such as "28 rows / 10 cm", to be counted in rows
    "#);
    assert_snapshot!(asked(&["taper", "50", "72", "--over", "32 cm"]), @"
    status 2
    --- standard error
    error: the following required arguments were not provided:
      --at <GAUGE>

    Usage: wale taper --over <LENGTH> --at <GAUGE> <FROM> <TO>

    For more information, try '--help'.
    ");
    assert_snapshot!(asked(&["taper", "50", "73", "--rows", "90"]), @"
    status 2
    --- standard error
    error: from 50 to 73 is 23 sts, which 2 sts at a time never makes up
    ");
}

#[test]
fn gauge() {
    let line = ["gauge", "190 sts", "--at", "19 sts / 4 in", "--to", "17.5 sts / 4 in"];
    assert_snapshot!(asked(&line), @"
    status 0
    --- standard output
    175 sts at the other gauge, for 40 in (unchanged, 190 sts would make 43.43 in)

      at this gauge       190 / 19 per 4 in   = 40 in
      at the other gauge  190 x 17.5 / 19     = 175 sts
      which makes         175 / 17.5 per 4 in = 40 in
      left unchanged      190 / 17.5 per 4 in = 43.43 in

    note: A computed count is a starting point: swatch, wash and measure before casting on.
    ");
    assert_eq!(json(&line)["result"]["to"]["count"], 175);
    assert_snapshot!(asked(&["gauge", "40 in", "--at", "19 sts / 4 in"]), @"
    status 0
    --- standard output
    40 in is 190 sts

      at this gauge  40 in x 19 per 4 in = 190 sts
    ");
    assert_snapshot!(asked(&["gauge", "58 sts", "--at", "19 sts / 4 in", "--to", "14 sts / 4 in", "--multiple", "4 plus 2"]), @"
    status 0
    --- standard output
    42 sts at the other gauge, for 12.21 in (unchanged, 58 sts would make 16.57 in)

      at this gauge              58 / 19 per 4 in = 12.21 in
      at the other gauge         58 x 14 / 19     = 42.74 sts
      to the nearest in pattern                     42 sts
      which makes                42 / 14 per 4 in = 12 in
      left unchanged             58 / 14 per 4 in = 16.57 in

    note: A computed count is a starting point: swatch, wash and measure before casting on.
    ");
    assert_snapshot!(asked(&["gauge", "60 rows", "--at", "19 sts / 4 in"]), @r#"
    status 2
    --- standard error
    error: a number of rows needs row gauges, such as "20 sts, 28 rows / 10 cm"
    "#);
}

const SWATCHES: [&str; 6] = [
    "swatch",
    "body: 22 sts, 31 rows / 11 cm",
    "body: 31 sts / 15 cm",
    "body before washing: 22 sts, 33 rows / 11 cm",
    "brim: 31 sts / 13 cm",
    "brim stretched: 31 sts / 20 cm",
];

#[test]
fn swatch() {
    assert_snapshot!(asked(&SWATCHES), @"
    status 0
    --- standard output
    body 20.38 sts (20 to 20.77) and 28.18 rows (27.73 to 28.64) per 10 cm; brim 23.85 sts (23.46 to 24.23) per 10 cm

      body                 22 / 11 cm                       = 20 sts per 10 cm
      body                 31 / 15 cm                       = 20.67 sts per 10 cm
      body                 all sts / all lengths            = 20.38 sts per 10 cm
      body                 31 / 11 cm                       = 28.18 rows per 10 cm
      body before washing  22 / 11 cm                       = 20 sts per 10 cm
      body before washing  33 / 11 cm                       = 30 rows per 10 cm
      washing the body     width after / width before - 1   = 1.9% narrower
      washing the body     length after / length before - 1 = 6.5% longer
      brim                 31 / 13 cm                       = 23.85 sts per 10 cm
      brim stretched       31 / 20 cm                       = 15.5 sts per 10 cm
      stretches to         brim / brim stretched            = 153.8%, between 149% and 158.9%
      brim to body         brim / body                      = 1.17, between 1.13 and 1.21
      level                over 100 sts of body             = 7 for every 6

    note: Each count is known to about half a stitch, or half a row.

    for targets:

    gauges:
      body: { stitches: 20.38, rows: 28.18, over: 10 cm, doubt: 0.38 }
      brim: { stitches: 23.85, over: 10 cm, stretched: 15.5, doubt: 0.38 }
    ");
    let answer = json(&SWATCHES);
    assert_eq!(answer["result"]["fabrics"][1]["name"], "brim");
    assert_snapshot!(asked(&[
        "swatch", "body: 22 sts / 11 cm", "--over", "4 in", "--width-of", "200", "--between-sizes", "2 in",
    ]), @"
    status 0
    --- standard output
    body 20.32 sts (19.86 to 20.78) per 4 in; 200 sts are 39.37 in, between 38.5 in and 40.29 in

      body   22 / 4.33 in = 20.32 sts per 4 in
      width  200 / body   = 39.37 in, between 38.5 in and 40.29 in

    note: Each count is known to about half a stitch, or half a row.

    for targets:

    gauges:
      body: { stitches: 20.32, over: 4 in, doubt: 0.46 }
    ");
    assert_snapshot!(asked(&["swatch", "22 sts / 11 cm"]), @r#"
    status 2
    --- standard error
    error: invalid value '22 sts / 11 cm' for '<COUNT>...': expected a count such as "body: 22 sts, 31 rows / 11 cm", but found "22 sts / 11 cm"

    For more information, try '--help'.
    "#);
    assert_snapshot!(asked(&["swatch", "brim stretched: 22 sts / 11 cm"]), @"
    status 2
    --- standard error
    error: the stitches of the brim were not counted on a relaxed swatch
    ");
}

/// What is printed for a targets file is one: the cap is rewritten with it.
#[test]
fn gauges_from_swatches_are_targets() {
    let sample = |name: &str| {
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("samples").join(name);
        std::fs::read_to_string(path).expect("the sample is there")
    };
    let told = wale(SWATCHES.iter().chain(&["--as", "targets"])).run();
    assert_snapshot!(told.all(), @"
    status 0
    --- standard output
    gauges:
      body: { stitches: 20.38, rows: 28.18, over: 10 cm, doubt: 0.38 }
      brim: { stitches: 23.85, over: 10 cm, stretched: 15.5, doubt: 0.38 }
    ");
    let outcome = wale(["rewrite", "cap.wale", "--to", "wool.yaml", "--as", "source"])
        .file("cap.wale", sample("slipway-cap.wale"))
        .file("wool.yaml", told.stdout())
        .run();
    assert_eq!(outcome.code(), Some(0), "{}", outcome.all());
    assert!(outcome.stdout().contains("stretched: 15.5"), "{}", outcome.stdout());
}

#[test]
fn needle() {
    assert_snapshot!(asked(&["needle", "US 6"]), @"
    status 0
    --- standard output
    4 mm, US 6, old UK 8

      two sizes smaller     3.5 mm, US 4
      one size smaller      3.75 mm, US 5, old UK 9
      one size larger       4.5 mm, US 7, old UK 7
      two sizes larger      5 mm, US 8, old UK 6
    ");
    assert_eq!(json(&["needle", "4 mm"])["result"]["two_smaller"]["metric"], "3.5 mm");
    assert_snapshot!(asked(&["needle", "6"]), @"
    status 2
    --- standard error
    error: invalid value '6' for '<SIZE>': not a needle size: say 4 mm, US 6 or UK 8

    For more information, try '--help'.
    ");
    assert_snapshot!(asked(&["needle", "US 12"]), @"
    status 2
    --- standard error
    error: invalid value 'US 12' for '<SIZE>': no needle has this US number

    For more information, try '--help'.
    ");
}

#[test]
fn what_cannot_be_read_is_said_with_an_example() {
    assert_snapshot!(asked(&["gauge", "190 sts", "--at", "19 sts"]), @r#"
    status 2
    --- standard error
    error: invalid value '19 sts' for '--at <GAUGE>': expected a gauge such as "20 sts, 28 rows / 10 cm", but found "19 sts"

    For more information, try '--help'.
    "#);
    assert_snapshot!(asked(&["band", "--body", "20 sts / 10 cm", "--band", "24 sts / 10 cm", "--over", "a lot"]), @r#"
    status 2
    --- standard error
    error: invalid value 'a lot' for '--over <STITCHES>': expected a number of stitches such as 200 or a width such as "40 in", but found "a lot"

    For more information, try '--help'.
    "#);
}
