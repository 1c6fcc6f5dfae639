use super::*;
use crate::measure::exact;
use crate::source::Span;
use crate::syntax::print;

#[track_caller]
fn said<T>(read: Result<T, Finding>) -> T {
    read.unwrap_or_else(|finding| panic!("{finding:#?}"))
}

#[test]
fn counts_by_size() {
    for text in ["96", "96 (104, 112)", "- (4, -)", "?", "{24 (26)}"] {
        assert_eq!(print::count(&said(counts(text, 0))), text);
    }
    assert_eq!(print::count(&said(counts(" 96(104:112) ", 0))), "96 (104, 112)");
    let read = said(counts("  {24 (26)}", 10));
    assert_eq!(read.span, Span::new(13, 20));
}

#[test]
fn lengths_in_either_unit() {
    for text in ["48 (52, 56) cm", "2 1/2 (3, 3 1/4) in", "38.5 cm / 15 in", "? cm", "1/8 in"] {
        assert_eq!(print::lengths(&said(lengths(text, 0))), text);
    }
    for (text, same) in [
        ("2½ in", "2 1/2 in"),
        ("2-1/2\"", "2 1/2 in"),
        ("5 inches", "5 in"),
        ("38 cm (15 in)", "38 cm / 15 in"),
        ("400 metres", "400 m"),
    ] {
        assert_eq!(print::lengths(&said(lengths(text, 0))), same);
    }
    let read = said(lengths("48 (52) cm / 19 in", 5));
    assert_eq!((read.span, read.numbers), (Span::new(5, 15), Span::new(5, 12)));
}

#[test]
fn ease_and_changes_have_signs() {
    let ease = |text| said(super::ease(text, 0));
    assert_eq!(ease("-10%"), Given::Same(Ease::Percent(exact(-1, 10))));
    assert_eq!(ease("−4 cm"), Given::Same(Ease::Length(Length::cm(-4))));
    assert_eq!(ease("0"), Given::Same(Ease::Length(Length::zero())));
    assert_eq!(
        ease("5 (-, 7) cm"),
        Given::Each(vec![
            Some(Ease::Length(Length::cm(5))),
            None,
            Some(Ease::Length(Length::cm(7)))
        ])
    );
    let change = |text| said(length_change(text, 0));
    assert_eq!(change("+2 cm"), Given::Same(LengthChange::By(Length::cm(2))));
    assert_eq!(change("-1 in"), Given::Same(LengthChange::By(Length::inches(-1))));
    assert_eq!(change("40 cm"), Given::Same(LengthChange::To(Length::cm(40))));
}

#[test]
fn expressions_bind_as_usual() {
    let shape = |text| print::expr(&said(expr(text, 0)));
    assert_eq!(shape("chest / 2 + ease / 2"), "chest / 2 + ease / 2");
    assert_eq!(shape("a - b - c"), "a - b - c");
    assert_eq!(shape("a - (b - c)"), "a - (b - c)");
    assert_eq!(shape("(upper arm + 2 1/2 cm) * 3"), "(upper arm + 2.5 cm) * 3");
    assert_eq!(shape("chest/2/2"), "chest / 2 / 2");
    assert_eq!(shape("head * 90%"), "head * 0.9");
    assert_eq!(shape("upper-arm × 2 ÷ 3"), "upper-arm * 2 / 3");
    assert_eq!(said(expr("chest / 2", 7)).span, Span::new(7, 16));
}

#[test]
fn bands_yarn_and_fabrics() {
    for text in ["level", "snug 12%", "as written", "same count", "fitted wrist * 2"] {
        assert_eq!(print::lies(&said(lies(text, 0))), text);
    }
    assert_eq!(said(percent("12.5%", 0)), exact(1, 8));
    let full = PutUp { length: Length::new(exact(200, 1), Unit::M), grams: Some(exact(100, 1)) };
    assert_eq!(said(put_up("200 m / 100 g", 0)), full);
    assert_eq!(
        said(used("60 (70) g", 0)),
        Used::Grams(Given::Each(vec![Some(exact(60, 1)), Some(exact(70, 1))]))
    );
    assert_eq!(said(used("3 1/2 balls", 0)), Used::PutUps(Given::Same(exact(7, 2))));
    for (text, name) in [
        ("Stocking stitch", "stockinette"),
        ("st st", "stockinette"),
        ("reverse st st", "reverse stockinette"),
        ("garter st", "garter"),
        ("moss stitch", "seed"),
        ("k2, p2 rib", "k2 p2 rib"),
        ("k3 p1 ribbing", "k3 p1 rib"),
        ("rib of k1/p1", "k1 p1 rib"),
        ("2 x 2 rib", "k2 p2 rib"),
        ("old man's lattice", "old man's lattice"),
    ] {
        assert_eq!(print::fabric_name(&said(fabric_name(text, 0)).kind), name);
    }
}

#[test]
fn live_numbers_in_prose() {
    let kind = |text| match said(live(text, 0)) {
        LiveValue::Counts(counts) => format!("counts {}", print::count(&counts)),
        LiveValue::Lengths(lengths) => format!("lengths {}", print::lengths(&lengths)),
        LiveValue::Name(name) => format!("name {}", name.value),
    };
    assert_eq!(kind("96 (104)"), "counts {96 (104)}");
    assert_eq!(kind("96 sts"), "counts {96}");
    assert_eq!(kind("20 cm"), "lengths 20 cm");
    assert_eq!(kind("brim stitches"), "name brim");
}

#[test]
fn errors_say_what_was_expected() {
    let lines = [
        ("96 rows", said_of(counts("96 rows", 0))),
        ("96 (104,)", said_of(counts("96 (104,)", 0))),
        ("96 (?)", said_of(counts("96 (?)", 0))),
        ("48", said_of(lengths("48", 0))),
        ("48 kg", said_of(lengths("48 kg", 0))),
        ("1/0 in", said_of(lengths("1/0 in", 0))),
        ("0.1234567 cm", said_of(lengths("0.1234567 cm", 0))),
        ("ten percent", said_of(percent("ten percent", 0))),
        ("10", said_of(percent("10", 0))),
        ("snug", said_of(lies("snug", 0))),
        ("tight", said_of(lies("tight", 0))),
        ("chest +", said_of(expr("chest +", 0))),
        ("(chest", said_of(expr("(chest", 0))),
        ("k0 p2 rib", said_of(fabric_name("k0 p2 rib", 0))),
        ("200 g", said_of(put_up("200 g", 0))),
        ("{}", said_of(live("", 0))),
    ];
    let table: Vec<String> =
        lines.iter().map(|(text, said)| format!("{text}\n  {said}\n")).collect();
    insta::assert_snapshot!(table.concat(), @r"
    96 rows
      syntax 3..7 expected the end of the value, but found `rows`
    96 (104,)
      syntax 8..9 expected a whole number, but found `)`
    96 (?)
      syntax 4..5 expected a whole number, but found `?`
    48
      syntax 2..2 expected a unit (`cm` or `in`), but found the end
    48 kg
      syntax 3..5 expected a unit (`cm` or `in`), but found `kg`
    1/0 in
      syntax 0..3 `1/0` is not a number
    0.1234567 cm
      beyond-any-garment 0..9 0.1234567 is beyond any garment
    ten percent
      syntax 0..3 expected a number, but found `ten`
    10
      syntax 2..2 expected `%`, but found the end
    snug
      syntax 4..4 expected a number, but found the end
    tight
      syntax 0..5 expected `level`, `snug`, `as written`, `same count` or `fitted`, but found `tight`
    chest +
      syntax 7..7 expected a measurement, a length or a number, but found the end
    (chest
      syntax 6..6 expected `*` or `/`, `+` or `-` or `)`, but found the end
    k0 p2 rib
      syntax 0..9 a rib has at least one knit and one purl stitch
    200 g
      syntax 4..5 expected a unit (`cm` or `in`), but found `g`
    {}
      syntax 0..0 expected a count, a length or a name, but found the end
    ");
}

#[track_caller]
fn said_of<T: std::fmt::Debug>(read: Result<T, Finding>) -> String {
    match read {
        Ok(value) => panic!("read as {value:?}"),
        Err(f) => format!("{} {:?} {}", f.code.name(), f.place(), f.message),
    }
}

#[test]
fn expressions_have_limits() {
    let code = |text: &str| expr(text, 0).map_err(|f| f.code).err();
    assert_eq!(code(&format!("a{}", " + a".repeat(64))), None);
    assert_eq!(code(&format!("a{}", " + a".repeat(65))), Some(Code::TooDeep));
    assert_eq!(code(&format!("{}a{}", "(".repeat(33), ")".repeat(33))), Some(Code::TooDeep));
    assert_eq!(code(&"(".repeat(100_000)), Some(Code::TooDeep));
}
