//! Body measurements, ease, and what was measured of people.

use super::{agree, lines, number, row};
use walewright::measure::{Length, Unit, decimal, exact};
use walewright::standards::{
    BodyTable, EaseEdition, How, Landmark, Part, People, Span, Wearer, accessory_ease, body_table,
    chest_fit, child_heads, ease_words, measured_adults, older_heads, passes,
};

const CYC: &str = "Craft Yarn Council, Standards & Guidelines for Crochet and Knitting \
     (2015/2018 editions)";

/// Inches by size. The bust was read in garments that follow the standard,
/// the rest is from memory.
const WOMAN_SIZES: [&str; 9] = ["XS", "S", "M", "L", "1X", "2X", "3X", "4X", "5X"];
const WOMAN: &str = "
bust | 28-30 | 32-34 | 36-38 | 40-42 | 44-46 | 48-50 | 52-54 | 56-58 | 60-62
centre back neck to wrist | 27-27.5 | 28-28.5 | 29-29.5 | 30-30.5 | 31-31.5 | 31.5-32 | 32.5-33 | 32.5-33 | 33-33.5
back waist length | 16.5 | 17 | 17.25 | 17.5 | 17.75 | 18 | 18 | 18.5 | 18.5
cross back | 14-14.5 | 14.5-15 | 16-16.5 | 17-17.5 | 17.5 | 18 | 18 | 18.5 | 18.5
arm length to underarm | 16.5 | 17 | 17 | 17.5 | 17.5 | 18 | 18 | 18.5 | 18.5
upper arm | 9.75 | 10.25 | 11 | 12 | 13.5 | 15.5 | 17 | 18.5 | 19.5
armhole depth | 6-6.5 | 6.5-7 | 7-7.5 | 7.5-8 | 8-8.5 | 8.5-9 | 9-9.5 | 9.5-10 | 10-10.5
waist | 23-24 | 25-26.5 | 28-30 | 32-34 | 36-38 | 40-42 | 44-45 | 46-47 | 49-50
hips | 33-34 | 35-36 | 38-40 | 42-44 | 46-48 | 52-53 | 54-55 | 56-57 | 61-62
";

/// Inches by size, from memory.
const MAN_SIZES: [&str; 5] = ["S", "M", "L", "XL", "XXL"];
const MAN: &str = "
chest | 34-36 | 38-40 | 42-44 | 46-48 | 50-52
centre back neck to wrist | 32-32.5 | 33-33.5 | 34-34.5 | 35-35.5 | 36-36.5
back hip length | 25-25.5 | 26.5-26.75 | 27-27.25 | 27.5-27.75 | 28-28.5
cross back | 15.5-16 | 16.5-17 | 17.5-18 | 18-18.5 | 18.5-19
arm length to underarm | 18 | 18.5 | 19.5 | 20 | 20.5
upper arm | 12 | 13 | 15 | 16 | 17
armhole depth | 8.5-9 | 9-9.5 | 9.5-10 | 10-10.5 | 10.5-11
waist | 28-30 | 32-34 | 36-38 | 42-44 | 46-48
hips | 35-37 | 39-41 | 43-45 | 47-49 | 51-53
";

/// Inches, a line a size. The chest of sizes 2 to 10 was read in published
/// garments, the rest is from memory.
const CHILD_COLUMNS: [&str; 9] = [
    "chest",
    "neck to wrist",
    "back waist",
    "cross back",
    "arm to underarm",
    "upper arm",
    "armhole",
    "waist",
    "hips",
];
const BABY: &str = "
3 months | 16 | 10.5 | 6 | 7.25 | 6 | 5.5 | 3.25 | 18 | 19
6 months | 17 | 11.5 | 7 | 7.75 | 6.5 | 6 | 3.5 | 19 | 20
12 months | 18 | 12.5 | 7.5 | 8.25 | 7.5 | 6.5 | 3.75 | 20 | 20
18 months | 19 | 14 | 8 | 8.5 | 8 | 7 | 4 | 20.5 | 21
24 months | 20 | 18 | 8.5 | 8.75 | 8.5 | 7.5 | 4.25 | 21 | 22
";
const CHILD: &str = "
2 | 21 | 18 | 8.5 | 9.25 | 8.5 | 7 | 4.25 | 21 | 22
4 | 23 | 19.5 | 9.5 | 9.75 | 10.5 | 7.5 | 4.75 | 21.5 | 23.5
6 | 25 | 20.5 | 10.5 | 10.25 | 11.5 | 8 | 5 | 22.5 | 25
8 | 26.5 | 22 | 12.5 | 10.75 | 12.5 | 8.5 | 5.5 | 23.5 | 28
10 | 28 | 24 | 14 | 11.25 | 13.5 | 8.75 | 6 | 24.5 | 29.5
12 | 30 | 26 | 15 | 12 | 15 | 9 | 6.5 | 25 | 31.5
14 | 31.5 | 27 | 15.5 | 12.25 | 16 | 9.25 | 7 | 26.5 | 33
16 | 32.5 | 28 | 16 | 13 | 16.5 | 9.5 | 7.5 | 27.5 | 35.5
";

fn table(name: &str) -> &'static BodyTable {
    body_table(name).unwrap_or_else(|| panic!("no table {name}"))
}

/// The landmark a printed line or column is about.
fn landmark(printed: &str) -> Landmark {
    match printed {
        "bust" | "chest" => Landmark::Chest,
        "centre back neck to wrist" | "neck to wrist" => Landmark::BackNeckToWrist,
        "back waist length" | "back waist" => Landmark::BackWaistLength,
        "back hip length" => Landmark::BackHipLength,
        "cross back" => Landmark::CrossBack,
        "arm length to underarm" | "arm to underarm" => Landmark::ArmToUnderarm,
        "upper arm" => Landmark::UpperArm,
        "armhole depth" | "armhole" => Landmark::ArmholeDepth,
        "waist" => Landmark::Waist,
        "hips" => Landmark::Hips,
        other => panic!("no landmark {other}"),
    }
}

/// `27-27.5`, or `17` where both ends are the same.
fn as_printed(span: Span) -> String {
    let [low, high] = [span.low, span.high].map(|end| decimal(end.amount(span.unit), 2));
    if low == high { low } else { format!("{low}-{high}") }
}

/// Compares one table with its print: (size, landmark, printed cell, how it was had).
fn compare(
    name: &str,
    source: &'static str,
    cells: impl IntoIterator<Item = (&'static str, Landmark, &'static str, How)>,
) {
    let table = table(name);
    let mut rows = Vec::new();
    for (size, landmark, printed, how) in cells {
        let what = format!("{name} {size} {}", landmark.word());
        let span = table.size(size).and_then(|size| size.span(landmark));
        let span = span.unwrap_or_else(|| panic!("{what} is missing"));
        rows.push(row(&what, source, how, as_printed(span), printed));
        rows.push(row(format!("{what} was had"), source, how, span.how.word(), how.word()));
    }
    let held: usize = table.sizes.iter().map(|size| size.spans().count()).sum();
    assert_eq!(rows.len(), 2 * held, "{name}: all that is held is compared");
    agree(&rows);
}

/// The cells of a table printed with a line a landmark.
fn by_landmark(
    printed: &'static str,
    sizes: &'static [&'static str],
    how: fn(Landmark) -> How,
) -> Vec<(&'static str, Landmark, &'static str, How)> {
    let lines = lines(printed).into_iter();
    lines
        .flat_map(|line| {
            assert_eq!(line.len(), sizes.len() + 1, "{line:?}");
            let landmark = landmark(line[0]);
            let cells: Vec<_> = sizes.iter().copied().zip(line.into_iter().skip(1)).collect();
            cells.into_iter().map(move |(size, cell)| (size, landmark, cell, how(landmark)))
        })
        .collect()
}

/// The cells of a table printed with a line a size.
fn by_size(
    printed: &'static str,
    how: fn(&str, Landmark) -> How,
) -> Vec<(&'static str, Landmark, &'static str, How)> {
    let lines = lines(printed).into_iter();
    lines
        .flat_map(|line| {
            assert_eq!(line.len(), CHILD_COLUMNS.len() + 1, "{line:?}");
            let size = line[0];
            let cells: Vec<_> = CHILD_COLUMNS.into_iter().zip(line.into_iter().skip(1)).collect();
            cells.into_iter().map(move |(column, cell)| {
                let landmark = landmark(column);
                (size, landmark, cell, how(size, landmark))
            })
        })
        .collect()
}

#[test]
fn women_measure_what_the_trade_says() {
    let how = |landmark| if landmark == Landmark::Chest { How::Read } else { How::Memory };
    compare("woman", CYC, by_landmark(WOMAN, &WOMAN_SIZES, how));
}

#[test]
fn men_measure_what_the_trade_says() {
    compare("man", CYC, by_landmark(MAN, &MAN_SIZES, |_| How::Memory));
}

#[test]
fn children_measure_what_the_trade_says() {
    compare("baby", CYC, by_size(BABY, |_, _| How::Memory));
    let how = |size: &str, landmark| {
        let read = landmark == Landmark::Chest && ["2", "4", "6", "8", "10"].contains(&size);
        if read { How::Read } else { How::Memory }
    };
    compare("child", CYC, by_size(CHILD, how));
}

#[test]
fn european_letter_codes_are_those_of_the_norm() {
    const NORM: &str = "EN 13402-3";
    let bust = [
        ("XXS", "66-74"),
        ("XS", "74-82"),
        ("S", "82-90"),
        ("M", "90-98"),
        ("L", "98-106"),
        ("XL", "107-119"),
        ("XXL", "119-131"),
        ("3XL", "131-143"),
    ];
    let chest = [
        ("S", "86-94"),
        ("M", "94-102"),
        ("L", "102-110"),
        ("XL", "110-118"),
        ("XXL", "118-129"),
        ("3XL", "129-141"),
    ];
    let cell = |(size, printed)| (size, Landmark::Chest, printed, How::Memory);
    compare("letters woman", NORM, bust.map(cell));
    compare("letters man", NORM, chest.map(cell));
}

#[test]
fn inches_and_centimetres_agree() {
    // Computed: 2.54, to the nearest half centimetre.
    let half = |length: Length| {
        let text = length.readable(Unit::Cm);
        number(text.trim_end_matches(" cm"))
    };
    for table in ["woman", "man", "baby", "child"].map(table) {
        for size in &table.sizes {
            for (landmark, span) in size.spans() {
                for end in [span.low, span.high] {
                    let inches = end.amount(Unit::In);
                    let off = half(end) - inches * exact(254, 100);
                    let near = off <= exact(1, 4) && off >= exact(-1, 4);
                    assert!(near, "{} {} {}", table.name, size.name, landmark.word());
                    assert!((inches * exact(4, 1)).is_integer(), "printed to a quarter inch");
                }
            }
        }
    }
    // Three worked by hand: 16 in = 40.64, 17.25 in = 43.815, 62 in = 157.48 cm.
    let inches = |n, d| Length::new(exact(n, d), Unit::In).readable(Unit::Cm);
    assert_eq!([inches(16, 1), inches(69, 4), inches(62, 1)], ["40.5 cm", "44 cm", "157.5 cm"]);
}

#[test]
fn sizes_grow_within_a_table() {
    for name in ["woman", "man", "baby", "child", "letters woman", "letters man"] {
        let sizes = &table(name).sizes;
        for pair in sizes.windows(2) {
            for (landmark, smaller) in pair[0].spans() {
                let larger = pair[1].span(landmark).expect("every size has every landmark");
                let grows = smaller.low <= larger.low && smaller.high <= larger.high;
                assert!(grows, "{name} {} {}", pair[1].name, landmark.word());
            }
        }
        for size in sizes.iter().zip(sizes.iter().skip(1)) {
            let chest = |size: &walewright::standards::BodySize| {
                size.span(Landmark::Chest).expect("a chest").low
            };
            assert!(chest(size.0) < chest(size.1), "{name}: every size has a larger chest");
        }
    }
}

#[test]
fn oddities_of_the_published_tables_are_kept() {
    let inches = |name: &str, size: &str, landmark| {
        let span = table(name).size(size).and_then(|size| size.span(landmark));
        as_printed(span.expect("a measurement"))
    };
    let neck_to_wrist = |size| inches("baby", size, Landmark::BackNeckToWrist);
    assert_eq!([neck_to_wrist("18 months"), neck_to_wrist("24 months")], ["14", "18"]);
    // From one table to the next the upper arm falls.
    let last_baby = inches("baby", "24 months", Landmark::UpperArm);
    assert_eq!([last_baby, inches("child", "2", Landmark::UpperArm)], ["7.5", "7"]);
}

#[test]
fn ease_words_have_a_current_and_an_older_meaning() {
    const CURRENT: &str = "Craft Yarn Council";
    const OLDER: &str = "gratefullyinhisgrace.blogspot.com 2011/08";
    // word | current (memory) | older (read), inches over the body
    let printed = [
        ("very close", "-4 to -2", "0 to 0"),
        ("close", "0 to 0", "1 to 2"),
        ("classic", "2 to 4", "2 to 4"),
        ("loose", "4 to 6", "4 to 6"),
        ("oversized", "6 and more", "6 and more"),
    ];
    let mut rows = Vec::new();
    for (word, current, older) in printed {
        for (edition, source, how, printed) in [
            (EaseEdition::Current, CURRENT, How::Memory, current),
            (EaseEdition::Older, OLDER, How::Read, older),
        ] {
            let ours = ease_words().iter().find(|e| e.word == word && e.edition == edition);
            let ours = ours.unwrap_or_else(|| panic!("{word} is missing"));
            let inches = |end: Option<Length>| end.map(|end| decimal(end.amount(Unit::In), 2));
            let text = match (inches(ours.ease.low), inches(ours.ease.high)) {
                (Some(low), Some(high)) => format!("{low} to {high}"),
                (Some(low), None) => format!("{low} and more"),
                other => panic!("{other:?}"),
            };
            rows.push(row(format!("{word} {edition:?}"), source, how, text, printed));
            rows.push(row(format!("{word} was had"), source, how, ours.how.word(), how.word()));
        }
    }
    assert_eq!(rows.len(), 2 * ease_words().len());
    agree(&rows);
}

#[test]
fn hats_and_socks_are_smaller_than_the_body() {
    // Read; where was not taken down. Hats 0.85-0.9 of the head or 1 in less;
    // socks 10% less in stockinette, 5% in stranded work, up to 25% in rib, or 1 in less.
    let ours: Vec<_> = accessory_ease()
        .iter()
        .map(|ease| {
            let end = |end| decimal(Option::expect(end, "both ends"), 2);
            let (low, high) = (end(ease.of_body.low), end(ease.of_body.high));
            let less = ease.or_less.readable(Unit::In);
            format!("{} {}: {low} to {high}, or {less} less", ease.item, ease.fabric)
        })
        .collect();
    assert_eq!(
        ours,
        [
            "hat : 0.85 to 0.9, or 1 in less",
            "sock stockinette: 0.9 to 0.9, or 1 in less",
            "sock stranded: 0.95 to 0.95, or 1 in less",
            "sock rib: 0.75 to 1, or 1 in less",
        ]
    );
}

const ANSUR: &str = "ANSUR II, US Army, 2010-12 (4082 men, 1986 women)";

/// Part | women | men, each 5th / 50th / 95th percentile, in inches; computed from the files.
const ADULTS: &str = "
wrist circumference | 5.60 / 6.06 / 6.61 | 6.38 / 6.93 / 7.52
head circumference (over hair) | 20.94 / 22.05 / 23.50 | 21.57 / 22.60 / 23.66
chest circumference | 32.45 / 37.01 / 43.07 | 36.30 / 41.57 / 47.52
hand circumference | 6.81 / 7.36 / 7.95 | 7.68 / 8.35 / 9.06
ball of foot circumference | 8.23 / 8.94 / 9.76 | 9.13 / 9.92 / 10.75
foot length | 8.90 / 9.69 / 10.54 | 9.84 / 10.67 / 11.54
ankle circumference | 7.60 / 8.46 / 9.53 | 8.11 / 8.98 / 10.00
heel-ankle circumference | 11.30 / 12.20 / 13.27 | 12.48 / 13.50 / 14.65
biceps circumference, flexed | 10.20 / 11.97 / 14.17 | 11.93 / 14.06 / 16.46
neck base circumference | 13.39 / 14.57 / 15.94 | 15.55 / 17.05 / 18.86
back waist length | 15.12 / 16.71 / 18.50 | 17.05 / 18.78 / 20.63
cross back (interscye) | 13.94 / 15.59 / 17.23 | 15.75 / 17.72 / 19.72
";

fn part(printed: &str) -> Part {
    match printed {
        "wrist circumference" => Part::Wrist,
        "head circumference (over hair)" => Part::Head,
        "chest circumference" => Part::Chest,
        "hand circumference" => Part::Hand,
        "ball of foot circumference" => Part::BallOfFoot,
        "foot length" => Part::FootLength,
        "ankle circumference" => Part::Ankle,
        "heel-ankle circumference" => Part::Heel,
        "biceps circumference, flexed" => Part::FlexedBiceps,
        "neck base circumference" => Part::NeckBase,
        "back waist length" => Part::BackWaistLength,
        "cross back (interscye)" => Part::CrossBack,
        other => panic!("no part {other}"),
    }
}

#[test]
fn adults_are_as_they_were_measured() {
    let mut rows = Vec::new();
    for line in lines(ADULTS) {
        let [printed_part, women, men] = line[..] else { panic!("{line:?}") };
        let part = part(printed_part);
        for (people, wearer, printed) in
            [(People::Women, Wearer::Woman, women), (People::Men, Wearer::Man, men)]
        {
            let printed: Vec<_> = printed.split('/').map(|p| decimal(number(p), 2)).collect();
            let inches = |length: Length| decimal(length.amount(Unit::In), 2);
            let held = measured_adults()
                .iter()
                .find(|m| m.part == part && m.people == people && m.set == "ANSUR II")
                .expect("a measured part");
            let passes = passes(part, wearer).expect("a known range");
            let three = [held.p5, held.p50, held.p95].map(inches).join(" / ");
            let range = [passes.least, passes.usual, passes.limit].map(inches).join(" / ");
            let (what, printed) = (format!("{printed_part}, {people:?}"), printed.join(" / "));
            rows.push(row(&what, ANSUR, How::Computed, three, &printed));
            rows.push(row(format!("{what} to pass"), ANSUR, How::Computed, range, printed));
        }
    }
    assert_eq!(rows.len(), 2 * measured_adults().iter().filter(|m| m.set == "ANSUR II").count());
    agree(&rows);
}

#[test]
fn a_second_set_has_its_own_wrists() {
    const BDIMS: &str = "Heinz and others 2003, Journal of Statistics Education 11(2)";
    let cm = |people| {
        let held = measured_adults().iter().find(|m| m.people == people && m.set == "bdims");
        let held = held.expect("a measured wrist");
        assert_eq!(held.part, Part::Wrist);
        [held.p5, held.p50, held.p95].map(|length| length.precise(Unit::Cm)).join(", ")
    };
    agree(&[
        row("wrist, women", BDIMS, How::Computed, cm(People::Women), "13.8 cm, 15 cm, 16.4 cm"),
        row("wrist, men", BDIMS, How::Computed, cm(People::Men), "15.8 cm, 17.1 cm, 18.8 cm"),
    ]);
}

#[test]
fn fits_to_the_chest_are_those_computed() {
    // Centimetres; r was taken down for the women only.
    let printed = [
        (Part::FlexedBiceps, People::Women, "4.28 + 0.2775 chest, r 0.75"),
        (Part::Wrist, People::Women, "10.776 + 0.0497 chest, r 0.53"),
        (Part::BackWaistLength, People::Women, "28.327 + 0.1501 chest, r 0.47"),
        (Part::FlexedBiceps, People::Men, "2.848 + 0.3114 chest"),
        (Part::Wrist, People::Men, "11.029 + 0.062 chest"),
        (Part::BackWaistLength, People::Men, "31.034 + 0.158 chest"),
    ];
    let rows: Vec<_> = printed
        .into_iter()
        .map(|(part, people, printed)| {
            let fit = chest_fit(part, people).expect("a fit");
            let (start, slope) = (decimal(fit.start.amount(Unit::Cm), 4), decimal(fit.slope, 4));
            let r = fit.r.map_or(String::new(), |r| format!(", r {}", decimal(r, 2)));
            let ours = format!("{start} + {slope} chest{r}");
            row(format!("{} of {people:?}", part.word()), ANSUR, How::Computed, ours, printed)
        })
        .collect();
    agree(&rows);
}

#[test]
fn childrens_heads_are_those_of_the_who_tables() {
    const WHO: &str = "WHO Child Growth Standards, head circumference for age";
    // months, 50th girls / boys, 97th girls / boys where it was taken down; cm
    let printed = [
        (0, "33.9 / 34.5", None),
        (3, "39.5 / 40.5", None),
        (6, "42.2 / 43.3", None),
        (12, "44.9 / 46.1", Some("47.4 / 48.5")),
        (24, "47.2 / 48.3", Some("49.8 / 50.8")),
        (36, "48.5 / 49.5", None),
        (60, "49.9 / 50.7", None),
    ];
    let mut rows = Vec::new();
    for (months, p50, p97) in printed {
        let head = child_heads().iter().find(|head| head.months == months).expect("the age");
        let both = |girls: Length, boys: Length| {
            [girls, boys].map(|length| decimal(length.amount(Unit::Cm), 1)).join(" / ")
        };
        let what = format!("head at {months} months");
        rows.push(row(&what, WHO, How::Computed, both(head.girls[1], head.boys[1]), p50));
        if let Some(p97) = p97 {
            rows.push(row(what, WHO, How::Computed, both(head.girls[3], head.boys[3]), p97));
        }
    }
    agree(&rows);
}

#[test]
fn the_older_head_list_lies_below_the_measured_heads() {
    // From memory: toddler 16, child 18, woman 20, man 22 in.
    let older: Vec<_> = older_heads()
        .iter()
        .map(|head| (head.wearer, decimal(head.head.amount(Unit::In), 1)))
        .collect();
    let printed = [("toddler", "16"), ("child", "18"), ("woman", "20"), ("man", "22")];
    assert_eq!(older, printed.map(|(who, inches)| (who, inches.to_owned())));
    // The wearer each line means, by the youngest that the word allows.
    let wearers =
        [Wearer::Child { months: 12 }, Wearer::Child { months: 36 }, Wearer::Woman, Wearer::Man];
    for (head, wearer) in older_heads().iter().zip(wearers) {
        let measured = passes(Part::Head, wearer).expect("a measured head");
        assert!(head.head < measured.usual, "{}", head.wearer);
        assert!(head.head < measured.limit, "{}", head.wearer);
    }
}
