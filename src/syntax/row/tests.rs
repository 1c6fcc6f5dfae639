use super::*;
use crate::syntax::print;

fn own() -> Vocabulary {
    Vocabulary { own: vec!["bob".to_owned(), "wrap 3".to_owned()], colors: Vec::new() }
}

#[track_caller]
fn canonical(text: &str) -> String {
    match parse_items(text, 0, &own()) {
        Ok(items) => print::items(&items),
        Err(finding) => panic!("{text}\n{finding:#?}"),
    }
}

#[test]
fn ways_to_write_a_row() {
    for (text, same) in [
        // Counts.
        ("K2, P 2, k{24 (26, 28)}, knit 3 sts", "K2, P2, k{24 (26, 28)}, knit 3"),
        ("k2 (3, -), p{?}, k- (2, 4)", "k2 (3, -), p{?}, k- (2, 4)"),
        ("k the next 4 sts then p2 and k2, then p1", "k4, p2, k2, p1"),
        // Names.
        ("k2tog, k 2 tog, knit two together, p 2 tog tbl", "k2tog, k2tog, k2tog, p2tog tbl"),
        ("k1 tbl, k2 tbl, ktbl, k1b", "k1 tbl, k2 tbl, ktbl, k1b"),
        ("sl1, sl 1 wyif, slip 2 sts purlwise", "sl1, sl1 wyif, slip2 pwise"),
        ("sl 1 with yarn in front, sl 2 tog kwise, k1, p2sso", "sl1 wyif, sl2 kwise, k1, p2sso"),
        ("yo, yo2, yo twice, double yo", "yo, yo2, yo twice, double yo"),
        ("m1, M1L, make 1 right, kfb, kfb in next st", "m1, M1L, make 1 right, kfb, kfb"),
        ("2/2 RC, 2/1LPC, C4F, T3B twice", "2/2 RC, 2/1LPC, C4F, T3B twice"),
        ("narrow, over, slip and bind, plain 3", "narrow, over, slip and bind, plain 3"),
        ("bob, bob 2, bob3, BOB, wrap 3", "bob, bob 2, bob 3, bob, wrap 3"),
        // Runs.
        ("knit", "knit to end"),
        ("p", "p to end"),
        ("k to end of row, turn", "k to end, turn"),
        ("sl1, k across", "sl1, k to end"),
        ("k to last st, p1", "k to last st, p1"),
        ("k until 3 sts remain, k3", "k to last 3 sts, k3"),
        ("k to 2 sts before marker A, k2tog, sm A", "k to 2 sts before marker A, k2tog, sm A"),
        (
            "rib 18, bind off next 22 sts in rib, work in pattern to end",
            "work 18 in pattern, bind off 22, work to end",
        ),
        // Groups.
        ("[k1, p1] 4 times, (k1, p1) twice, (k1)", "[k1, p1] 4 times, [k1, p1] twice, [k1] once"),
        ("[k1, [p1, k1] 2 times] 3 more times", "[k1, [p1, k1] twice] 3 more times"),
        ("ssk 3 times, k2tog x 2", "ssk 3 times, k2tog twice"),
        ("(k1, yo, k1) all in next st", "(k1, yo, k1) in next st"),
        ("[k2, p2] to last 2 sts, k2", "*k2, p2; rep from * to last 2 sts, k2"),
        // Repeats.
        ("*k4, k2tog; rep from *", "*k4, k2tog; rep from * to end"),
        ("*k4, k2tog*; repeat", "*k4, k2tog; rep from * to end"),
        ("*k4, k2tog* to end", "*k4, k2tog; rep from * to end"),
        ("\\*k4, k2tog; rep from \\* around", "*k4, k2tog; rep from * to end"),
        ("*k4, k2tog; rep from * 4 times", "*k4, k2tog; rep from * 4 times"),
        ("*k4, k2tog, rep from * 4 times more", "*k4, k2tog; rep from * 4 more times"),
        (
            "*k1, **p1, k1; rep from ** twice; rep from * to marker, sm",
            "*k1, *p1, k1; rep from * twice; rep from * to marker, sm",
        ),
        (
            "k5, *p5, k5; rep from *, end p5, k2tog",
            "k5, *p5, k5; rep from * to last 7 sts, p5, k2tog",
        ),
        // The rest.
        ("cast on 8, hold 40 as left sleeve, k2", "cast on 8, hold 40 as left sleeve, k2"),
        ("place next 40 sts on hold as body, k2", "hold 40 as body, k2"),
        ("pm, place marker, slip marker, rm, w&t, wrap and turn", "pm, pm, sm, rm, w&t, w&t"),
        ("bind off {38 (40)} [neck] [fixed], k2", "bind off {38 (40)} [neck] [fixed], k2"),
        ("k2,\n    p2", "k2, p2"),
    ] {
        assert_eq!(canonical(text), same, "{text}");
        assert_eq!(canonical(same), same);
    }
}

#[test]
fn errors_point_at_the_slip() {
    let table = [
        "k2, k2tgo, k3",
        "k2, frob",
        "k2 p2",
        "k2,",
        "k2,, p2",
        "k2, knit",
        "k2 (3 4)",
        "k2 (3, x)",
        "k{24 (26)",
        "(k1, p1",
        "k1, (k2, [p1, k1) twice",
        "k1, p1) twice",
        "(k1 yo) in next st",
        "()",
        "[k1, p1] 4",
        "*k2, p2",
        "*k2, p2*",
        "k2, p2; rep from *",
        "*k1, **p1; rep from * twice; rep from *",
        "*k1, p1; rep from * to",
        "*k1, p1; rep from *, end bob",
        "k to last, p1",
        "bind off",
        "hold 40",
        "k100001",
    ]
    .map(|text| match parse_items(text, 0, &own()) {
        Ok(items) => panic!("{text} was read as {items:#?}"),
        Err(f) => format!("{text}\n  {} {:?} {}\n", f.code.name(), f.place(), f.message),
    });
    insta::assert_snapshot!(table.concat(), @r"
    k2, k2tgo, k3
      unknown-stitch 4..9 `k2tgo` is not a stitch that is known here
    k2, frob
      unknown-stitch 4..8 `frob` is not a stitch that is known here
    k2 p2
      syntax 3..5 expected `,`, but found `p2`
    k2,
      syntax 3..3 expected a stitch, but found the end
    k2,, p2
      syntax 3..4 expected a stitch, but found `,`
    k2, knit
      syntax 4..8 `knit` does not say how many stitches
    k2 (3 4)
      syntax 6..7 expected `,` or `)`, but found `4`
    k2 (3, x)
      syntax 7..8 expected a whole number, but found `x`
    k{24 (26)
      syntax 9..9 expected `}`, but found the end
    (k1, p1
      syntax 0..1 this `(` is never closed
    k1, (k2, [p1, k1) twice
      syntax 16..17 expected `]`, but found `)`
    k1, p1) twice
      syntax 6..7 expected `,` or the end of the instruction, but found `)`
    (k1 yo) in next st
      syntax 4..6 expected `,`, but found `yo`
    ()
      syntax 1..2 expected a stitch, but found `)`
    [k1, p1] 4
      syntax 10..10 expected `more` or `times`, but found the end
    *k2, p2
      syntax 0..1 this `*` begins a repeat that is never repeated
    *k2, p2*
      syntax 8..8 expected how far or how often (`to end`, `to last 2 sts`, `4 times`), but found the end
    k2, p2; rep from *
      syntax 8..11 this repeat has no `*` to go back to
    *k1, **p1; rep from * twice; rep from *
      syntax 20..21 this repeat goes back to a star that is not open here
    *k1, p1; rep from * to
      syntax 22..22 expected `end`, `last`, a whole number or `marker`, but found the end
    *k1, p1; rep from *, end bob
      syntax 25..28 it cannot be told how many stitches these take
    k to last, p1
      syntax 9..10 expected a count, but found `,`
    bind off
      syntax 8..8 expected how many, `to end`, `across` or `all`, but found the end
    hold 40
      syntax 7..7 expected `as` and a name, but found the end
    k100001
      beyond-any-garment 1..7 100001 is beyond any garment
    ");
}

#[test]
fn every_place_is_what_was_written() {
    let text = "k{24 (26)} [neck], [k1 , p2] 3 times , *k4; rep from * to last 2 sts";
    let offset = 100;
    let items = parse_items(text, offset, &own()).unwrap_or_default();
    let at = |span: Span| text.get(span.start - offset..span.end - offset).unwrap_or("?");
    let written: Vec<&str> = items.iter().map(|item| at(item.span)).collect();
    assert_eq!(written, ["k{24 (26)}", "[k1 , p2] 3 times", "*k4; rep from * to last 2 sts"]);
    let parts: Vec<&str> = items
        .iter()
        .flat_map(|item| match &item.kind {
            ItemKind::Stitch { name, count: Some(count) } => vec![name.span, count.span],
            ItemKind::Group { items, times, .. } => {
                items.iter().map(|i| i.span).chain([times.span]).collect()
            }
            ItemKind::Star { until: StarEnd::Last(count), .. } => vec![count.span],
            _ => Vec::new(),
        })
        .map(at)
        .collect();
    assert_eq!(parts, ["k", "24 (26)", "k1", "p2", "3", "2"]);
}

#[test]
fn nesting_has_a_limit_and_no_length_has() {
    let nested = |n: usize| format!("{}k1{}", "(".repeat(n), ") twice".repeat(n));
    assert!(parse_items(&nested(32), 0, &own()).is_ok());
    for n in [33, 100_000] {
        let code = parse_items(&nested(n), 0, &own()).map_err(|f| f.code);
        assert_eq!(code.err(), Some(Code::TooDeep), "{n}");
    }
    let code = parse_items(&"*".repeat(100_000), 0, &own()).map_err(|f| f.code);
    assert_eq!(code.err(), Some(Code::Syntax));
    let long = format!("{}k2", "k2, p2, ".repeat(20_000));
    assert_eq!(parse_items(&long, 0, &own()).map(|items| items.len()), Ok(40_001));
}
