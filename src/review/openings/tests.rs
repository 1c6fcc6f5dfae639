use super::super::testing::{pattern, told};

fn cap(sizes: &str, more: &str, name: &str, count: &str) -> String {
    let front = format!(
        "{sizes}gauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\n  {name}: {{ stitches: 24, rows: 30, over: 10 cm, fabric: k2 p2 rib, stretched: 15 }}\n{more}"
    );
    let body = format!(
        "## Cap, in the round\n\n- cast on {count} in {name}\n- join in the round\n- k2 p2 rib for 5 cm\n- change to body\n- work even for 20 rounds\n- bind off all\n"
    );
    told(&pattern(&front, &body))
}

#[test]
fn a_band_that_is_too_small_is_told_by_size() {
    let sizes = "sizes: [small, medium, large]\n";
    let more = "measure:\n  head: 48 (52, 56) cm\nopenings:\n  hem: head\n";
    assert_eq!(cap(sizes, more, "hem", "72 (80, 84)"), "nothing");
    insta::assert_snapshot!(cap(sizes, more, "hem", "72 (76, 80)"), @"
    warning[will-not-go-on]: `hem` stretches to 50.7 cm, and the head is 52 cm
      --> cap.wale:10:3
       |
    10 |   hem: head
       |   ^^^^^^^^^ too small
       |
       = note: in sizes medium and large
       = note: in size large: `hem` stretches to 53.3 cm, and the head is 56 cm
       = note: 76 stitches at 15 over 10 cm, stretched
       = help: in size medium: it takes 2 stitches more (78 in all), or 4 more in whole repeats (80), or an edge that stretches further
       = help: in size large: it takes 4 stitches more (84 in all), or an edge that stretches further
    ");
}

#[test]
fn a_brim_passes_the_head_without_being_told() {
    insta::assert_snapshot!(cap("", "", "brim", "84"), @"
    warning[will-not-go-on]: `brim` stretches to 56 cm, and a head may be 60.1 cm
     --> cap.wale:5:3
      |
    5 |   brim: { stitches: 24, rows: 30, over: 10 cm, fabric: k2 p2 rib, stretched: 15 }
      |   ^^^^ too small
      |
      = note: 84 stitches at 15 over 10 cm, stretched
      = note: no head is given: 95 in 100 of such people have no more (ANSUR II)
      = help: it takes 7 stitches more (91 in all), or 8 more in whole repeats (92), or an edge that stretches further
    ");
    assert_eq!(cap("", "", "brim", "92"), "nothing");
    // Of several sizes nobody knows whose: half of all people must get in.
    insta::assert_snapshot!(cap("sizes: [small, large]\n", "", "brim", "80 (88)"), @"
    warning[will-not-go-on]: `brim` stretches to 53.3 cm, and half of those measured have a head of 56.7 cm or more
     --> cap.wale:6:3
      |
    6 |   brim: { stitches: 24, rows: 30, over: 10 cm, fabric: k2 p2 rib, stretched: 15 }
      |   ^^^^ too small
      |
      = note: in size small
      = note: 80 stitches at 15 over 10 cm, stretched
      = note: no head is given: that is the median of such people (ANSUR II)
      = help: it takes 6 stitches more (86 in all), or 8 more in whole repeats (88), or an edge that stretches further
    ");
}

#[test]
fn what_cannot_be_told_is_said_only_where_it_is_asked() {
    let no_stretch = |more: &str, name: &str| {
        let front = format!("gauges:\n  {name}: {{ stitches: 24, rows: 30, over: 10 cm }}\n{more}");
        let body = format!(
            "## Cap, in the round\n\n- cast on 96 in {name}\n- join in the round\n- k2 p2 rib for 5 cm\n- bind off all\n"
        );
        told(&pattern(&front, &body))
    };
    assert_eq!(no_stretch("", "brim"), "nothing");
    insta::assert_snapshot!(no_stretch("openings:\n  brim: head\n", "brim"), @"
    note[will-not-go-on]: whether `brim` goes over the head cannot be told: nothing says how far it stretches
     --> cap.wale:6:3
      |
    6 |   brim: head
      |   ^^^^^^^^^^ not known
      |
      = help: give its gauge `stretched:`, the stitches over the same length when it is stretched
    ");
}

#[test]
fn a_childs_head_is_that_of_its_age() {
    insta::assert_snapshot!(cap("sizes: [6 months, 2 years]\n", "", "brim", "64 (64)"), @"
    warning[will-not-go-on]: `brim` stretches to 42.7 cm, and half of those measured have a head of 42.8 cm or more
     --> cap.wale:6:3
      |
    6 |   brim: { stitches: 24, rows: 30, over: 10 cm, fabric: k2 p2 rib, stretched: 15 }
      |   ^^^^ too small
      |
      = note: in size 2 years: `brim` stretches to 42.7 cm, and half of those measured have a head of 47.7 cm or more
      = note: 64 stitches at 15 over 10 cm, stretched
      = note: no head is given: that is the median of such people (ANSUR II and WHO)
      = help: in size 6 months: it takes 1 stitch more (65 in all), or 4 more in whole repeats (68), or an edge that stretches further
      = help: in size 2 years: it takes 8 stitches more (72 in all), or an edge that stretches further
    ");
    assert_eq!(
        cap("sizes: [child, adult]\n", "measure:\n  head: 48 (56) cm\n", "brim", "72 (84)"),
        "nothing"
    );
}

fn sweater(front: &str, neck: &str, rows: u32, part: &str) -> String {
    let front = format!(
        "units: in\ngauges:\n  body: {{ stitches: 11, rows: 20, over: 2 in, fabric: garter }}\n{front}"
    );
    let body = format!(
        "## Sweater, flat\n\n- cast on 80 in body\n- garter for 20 in\n- {neck}\n- each {part}:\n  - garter for {rows} rows\n- cast on 24 over the gap\n- garter for 20 in\n- bind off all\n"
    );
    told(&pattern(&front, &body))
}

#[test]
fn a_neck_between_two_shoulders_passes_the_head() {
    let neck = "k{28}, bind off {24}, k{28}";
    insta::assert_snapshot!(sweater("", neck, 14, "shoulder"), @"
    warning[will-not-go-on]: `neck` opens to 11.53 in, and a head may be 23.66 in
      --> cap.wale:12:3
       |
    12 | - k{28}, bind off {24}, k{28}
       |   ^^^^^^^^^^^^^^^^^^^^^^^^^^^ too small
       |
       = note: 24 stitches bound off are 4.36 in, 24 cast on 4.36 in, and 7 ridges on each side 1.4 in
       = note: it is counted as it lies, since its gauge has no `stretched`
       = note: no head is given: 95 in 100 of such people have no more (ANSUR II)
       = help: bind off and cast on 34 stitches more (58 in all), or work 31 ridges more on each side, or some of both
    ");
    // Cut as its mend says, it goes on.
    assert_eq!(sweater("", neck, 14 + 2 * 31, "shoulder"), "nothing");
    assert_eq!(sweater("", neck, 14, "side"), "nothing", "it may be a slit for anything");
}

#[test]
fn a_hole_can_be_named() {
    let asked = "measure:\n  head: 22 in\nopenings:\n  neck: head\n";
    let neck = "k{28}, bind off {24} [as neck], k{28}";
    insta::assert_snapshot!(sweater(asked, neck, 14, "side"), @"
    warning[will-not-go-on]: `neck` opens to 11.53 in, and the head is 22 in
     --> cap.wale:9:3
      |
    9 |   neck: head
      |   ^^^^^^^^^^ too small
      |
      = note: 24 stitches bound off are 4.36 in, 24 cast on 4.36 in, and 7 ridges on each side 1.4 in
      = note: it is counted as it lies, since its gauge has no `stretched`
      = help: bind off and cast on 30 stitches more (54 in all), or work 27 ridges more on each side, or some of both
    ");
}

#[test]
fn a_band_goes_around_the_pieces_that_are_sewn_together() {
    let front = |more: &str| {
        format!(
            "gauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\n  waistband: {{ stitches: 24, over: 10 cm, stretched: 14 }}\nmeasure:\n  waist: 100 cm\nopenings:\n  waistband: waist\n{more}"
        )
    };
    let half = |name: &str, n: u32| {
        format!(
            "## {name}, flat\n\n- cast on {n} in waistband\n- k1 p1 rib for 8 rows\n- change to body\n- bind off all\n\n"
        )
    };
    let body = [half("Back", 72), half("Front", 68)].concat();
    // 72 and 68 stitches at 14 over 10 cm are 100 cm.
    assert_eq!(told(&pattern(&front("seams: [[Back, Front]]\n"), &body)), "nothing");
    let body = [half("Back", 72), half("Front", 66)].concat();
    insta::assert_snapshot!(told(&pattern(&front("seams: [[Back, Front]]\n"), &body)), @"
    warning[will-not-go-on]: `waistband` stretches to 98.6 cm, and the waist is 100 cm
     --> cap.wale:9:3
      |
    9 |   waistband: waist
      |   ^^^^^^^^^^^^^^^^ too small
      |
      = note: 138 stitches at 14 over 10 cm, stretched
      = help: it takes 2 stitches more (140 in all), or an edge that stretches further
    ");
    // Without a seam each is an edge of its own.
    assert!(told(&pattern(&front(""), &body)).contains("66 stitches at 14"));
}

#[test]
fn an_edge_can_be_named() {
    let front = "gauges:\n  body: { stitches: 20, rows: 28, over: 10 cm, stretched: 16 }\nmeasure:\n  wrist: 16 cm\n  hand: 21 cm\nopenings:\n  wrist edge: hand\n";
    let body = "## Mitt, in the round\n\n- cast on 32 in body [wrist] [as wrist edge]\n- join in the round\n- stockinette for 20 rounds\n- bind off all\n";
    insta::assert_snapshot!(told(&pattern(front, body)), @"
    warning[will-not-go-on]: `wrist edge` stretches to 20 cm, and the hand is 21 cm
     --> cap.wale:9:3
      |
    9 |   wrist edge: hand
      |   ^^^^^^^^^^^^^^^^ too small
      |
      = note: 32 stitches at 16 over 10 cm, stretched
      = help: it takes 2 stitches more (34 in all), or an edge that stretches further
    ");
}

#[test]
fn an_opening_must_be_there_and_so_must_the_part() {
    let front = "gauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\nopenings:\n  neck: head\n  body: hed\n";
    let body = "## Cap, in the round\n\n- cast on 96 in body\n- join in the round\n- stockinette for 20 rounds\n- bind off all\n";
    insta::assert_snapshot!(told(&pattern(front, body)), @"
    error[unknown-name]: no gauge, piece or count is called `neck`
     --> cap.wale:6:3
      |
    6 |   neck: head
      |   ^^^^ opens nothing
      |
      = help: name the stitches that are bound off for it, as in `bind off {24} [as neck]`

    error[unknown-name]: nothing says how large `hed` is
     --> cap.wale:7:9
      |
    7 |   body: hed
      |         ^^^ not measured
      |
    help: a similar name exists: `head`
      |
    7 |   body: head
      |           +
    ");
}
