//! Drawings are sound SVG, to scale, and say what the rows say.

use crate::pages::{revised_and_not, with_checked};
use crate::patterns;
use crate::run::wale;
use roxmltree::{Document, Node};
use walewright::measure::{Length, Unit, exact};
use walewright::page::{self, Drawing};
use walewright::plan::outline::{Outline, outline};
use walewright::source::Source;

pub(crate) fn sample(name: &str) -> Source {
    let found = patterns::all().into_iter().find(|s| s.name == format!("{name}.wale"));
    found.expect("the pattern")
}

pub(crate) fn drawings(source: &Source) -> Vec<Drawing> {
    with_checked(source, |_, checked| page::drawings(checked))
}

/// All corners of the paths that are drawn whole and thick: the outlines.
fn corners(group: Node<'_, '_>) -> Vec<(f64, f64)> {
    let thick = |node: &Node<'_, '_>| {
        let width = node.attribute("stroke-width").and_then(|w| w.parse::<f64>().ok());
        node.has_tag_name("path") && width.is_some_and(|width| width >= 1.0)
    };
    group
        .descendants()
        .filter(thick)
        .flat_map(|path| points(path.attribute("d").unwrap_or("")))
        .collect()
}

fn points(d: &str) -> Vec<(f64, f64)> {
    d.split(['M', 'L'])
        .filter(|part| !part.is_empty())
        .map(|part| {
            let (x, y) = part.split_once(' ').expect("two numbers");
            (x.parse().expect("a number"), y.parse().expect("a number"))
        })
        .collect()
}

#[test]
fn every_drawing_is_sound_and_stays_within_its_frame() {
    for source in revised_and_not() {
        for Drawing { svg, file, .. } in drawings(source) {
            let document = Document::parse(&svg).unwrap_or_else(|e| panic!("{file}: {e}"));
            let root = document.root_element();
            assert_eq!(root.tag_name().namespace(), Some("http://www.w3.org/2000/svg"));
            let view: Vec<f64> = root
                .attribute("viewBox")
                .expect("a view")
                .split(' ')
                .map(|n| n.parse().expect("a number"))
                .collect();
            for node in root.descendants().filter(Node::is_element) {
                let tag = node.tag_name().name();
                assert!(["svg", "g", "path", "polygon", "circle", "text"].contains(&tag), "{tag}");
                assert!(
                    !node.attributes().any(|a| a.name().starts_with("on") || a.name() == "style")
                );
            }
            for (x, y) in corners(root) {
                let within = x >= 0.0 && y >= 0.0 && x <= view[2] && y <= view[3];
                assert!(within, "{}: {file}: {x} {y}", source.name);
            }
        }
    }
}

#[test]
fn every_piece_of_the_samples_has_an_outline() {
    for source in patterns::samples() {
        let pieces = with_checked(&source, |_, checked| checked.model.pieces.len());
        let drawn = drawings(&source).iter().filter(|d| !d.file.contains("-chart")).count();
        assert_eq!(drawn, pieces, "{}", source.name);
    }
}

/// The outline of a piece in one size.
fn outlined(source: &Source, piece: &str, size: &str) -> Outline {
    with_checked(source, |_, checked| {
        let piece = checked.model.pieces.iter().position(|p| p.name.value == piece);
        let size = checked.model.sizes.iter().position(|s| s == size).expect("the size");
        outline(&checked.model, &checked.traces[size], piece.expect("the piece"))
            .expect("it is drawn")
    })
}

/// `stitches` at so many to 10 cm.
fn wide(stitches: i64, gauge: i64) -> Length {
    Length::new(exact(stitches * 10, gauge), Unit::Cm)
}

#[test]
fn widths_of_an_outline_are_counts_through_their_gauges() {
    let back = outlined(&sample("boathouse-pullover"), "Back", "S");
    let widths: Vec<Length> = back.slabs.iter().map(|slab| slab.below.1 - slab.below.0).collect();
    // Cast on 98 at 22 to 10 cm, then 90 at 18; 74 after the armholes.
    assert_eq!(widths.first(), Some(&wide(98, 22)));
    assert!(widths.contains(&wide(90, 18)));
    assert!(widths.contains(&wide(74, 18)));
    assert_eq!(back.slabs.iter().map(|slab| slab.bottom).min(), Some(Length::zero()));
    // In the round a piece lies flat: half as wide as it is round.
    let cap = outlined(&sample("slipway-cap"), "Cap", "medium");
    assert_eq!(cap.slabs[0].below.1 - cap.slabs[0].below.0, wide(112, 24) * exact(1, 2));
    assert_eq!(cap.levels[0].width, wide(112, 24));
}

#[test]
fn an_edge_of_two_rates_bends_between_them() {
    let steps = "- cast on 40 in body\n\
                 - increase 1 each end every 4th row 5 times, then every 8th row 5 times (60 sts)\n\
                 - bind off all\n";
    let front = "sizes: [S]\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }";
    let sleeve =
        Source::new("sleeve.wale", format!("---\n{front}\n---\n\n## Sleeve, flat\n\n{steps}"));
    let drawn = outlined(&sleeve, "Sleeve", "S");
    let told: Vec<_> = drawn
        .slabs
        .iter()
        .map(|slab| [slab.below.1 - slab.below.0, slab.above.1 - slab.above.0, slab.top])
        .collect();
    // From 40 to 50 stitches in 20 rows, and to 60 in 40 more.
    let row = |row| wide(row, 28);
    assert_eq!(told[0], [wide(40, 20), wide(50, 20), row(20)]);
    assert_eq!(told[1], [wide(50, 20), wide(60, 20), row(60)]);
}

#[test]
fn what_is_bound_off_at_an_edge_leaves_the_other_where_it_is() {
    let front = "sizes: [S]\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }";
    let steps = "- cast on 40 in body\n- stockinette for 10 cm, ending with a WS row\n\
                 - bind off 10, k to end\n- purl 1 row\n- stockinette for 4 rows\n- knit 1 row\n\
                 - bind off 6, p to end\n- stockinette for 10 cm\n- bind off all\n";
    let text = format!("---\n{front}\n---\n\n## Front, flat\n\n{steps}");
    let drawn = outlined(&Source::new("front.wale", text), "Front", "S");
    let edges = |slab: &walewright::plan::outline::Slab| slab.above;
    let (left, right) = edges(&drawn.slabs[0]);
    assert_eq!(right - left, wide(40, 20));
    // A row of the right side begins at the right, as it is drawn.
    let after: Vec<_> = drawn.slabs.iter().map(edges).collect();
    assert!(after.contains(&(left, right - wide(10, 20))), "{after:#?}");
    assert_eq!(after.last(), Some(&(left + wide(6, 20), right - wide(10, 20))));
}

/// A right-side row begins at the right, as it is drawn, and a wrong-side row at the left.
#[test]
fn what_is_cast_on_at_an_edge_leaves_the_other_where_it_is() {
    let front = "sizes: [S]\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }";
    for (rows, (left_by, right_by)) in [(10, (0, 6)), (11, (6, 0))] {
        let text = format!(
            "---\n{front}\n---\n\n## Front, flat\n\n- cast on 40 in body\n- stockinette for {rows} rows\n- cast on 6 (46 sts)\n- stockinette for 10 cm\n- bind off all\n"
        );
        let drawn = outlined(&Source::new("front.wale", text), "Front", "S");
        let (left, right) = drawn.slabs[0].above;
        let after = drawn.slabs.last().expect("a part").below;
        assert_eq!(after, (left - wide(left_by, 20), right + wide(right_by, 20)), "{rows}");
    }
}

/// Rows that part the work, by hand: from the right edge of a right-side row, 7 stay, 5 go and 8
/// stay; the 8 are worked on.
#[test]
fn what_is_bound_off_within_a_row_parts_it_there() {
    let front = "sizes: [S]\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }";
    let parted = |rows: u32, row: &str| {
        let text = format!(
            "---\n{front}\n---\n\n## Front, flat\n\n- cast on 20 in body\n- stockinette for {rows} rows\n- {row}\n- stockinette for 10 rows\n- bind off all\n"
        );
        let drawn = outlined(&Source::new("front.wale", text), "Front", "S");
        let (left, right) = drawn.slabs[0].below;
        assert_eq!(right - left, wide(20, 20));
        let last = drawn.slabs.last().expect("a part").above;
        (last.0 - left, last.1 - left)
    };
    for row in [
        "k7, bind off 5, k8",
        "k3, k4, bind off 5, k to end",
        "k3, k2, work 2 in pattern, bind off 2, bind off 3, k1, k7",
        "k2, k2, k3, bind off 5, k to end",
    ] {
        assert_eq!(parted(10, row), (wide(0, 20), wide(8, 20)), "{row}");
        // After an odd number of rows it begins at the left.
        assert_eq!(parted(11, row), (wide(12, 20), wide(20, 20)), "{row}");
    }
}

/// Rows that are repeated until a count is left slope as evenly as the rows they repeat.
#[test]
fn rows_repeated_to_a_count_slope() {
    let front = "sizes: [S]\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }";
    let steps = "- cast on 40 in body\n- row 1 (RS): ssk, k to last 2 sts, k2tog\n- row 2: purl\n\
                 - repeat rows 1 and 2 until 20 sts remain\n- bind off all\n";
    let text = format!("---\n{front}\n---\n\n## Top, flat\n\n{steps}");
    let drawn = outlined(&Source::new("top.wale", text), "Top", "S");
    let slope = drawn.slabs.iter().max_by_key(|slab| slab.top - slab.bottom).expect("a part");
    let width = |(left, right): (Length, Length)| right - left;
    assert_eq!((width(slope.below), width(slope.above)), (wide(38, 20), wide(20, 20)));
    assert_eq!((slope.bottom, slope.top), (wide(2, 28), wide(20, 28)));
}

#[test]
fn a_back_is_its_own_mirror() {
    for (pattern, size) in [("boathouse-pullover", "L"), ("harbourlight-cardigan", "M")] {
        let back = outlined(&sample(pattern), "Back", size);
        // But for rows bound off at one edge first, which are one row apart.
        let area = |of: &dyn Fn(Length, Length) -> Length| {
            back.slabs.iter().fold(exact(0, 1), |sum, slab| {
                let middle = of(slab.below.0, slab.below.1) + of(slab.above.0, slab.above.1);
                sum + middle.amount(Unit::Cm) * (slab.top - slab.bottom).amount(Unit::Cm)
            })
        };
        let leans = area(&|left, right| left + right);
        let all = area(&|left, right| right - left);
        let share = leans / all;
        assert!(share < exact(1, 50) && share > exact(-1, 50), "{pattern}: {share}");
    }
}

#[test]
fn an_outline_is_drawn_to_scale() {
    let source = page::one_size(&sample("boathouse-pullover"), "M").expect("a size");
    let all = drawings(&source);
    let back = all.iter().find(|d| d.name == "Back").expect("it is drawn");
    let document = Document::parse(&back.svg).expect("sound");
    let corners = corners(document.root_element());
    let extent = |of: fn(&(f64, f64)) -> f64| {
        let all: Vec<f64> = corners.iter().map(of).collect();
        all.iter().copied().fold(f64::MIN, f64::max) - all.iter().copied().fold(f64::MAX, f64::min)
    };
    let (width, height) = (extent(|p| p.0), extent(|p| p.1));
    // 100 stitches at 18 to 10 cm; the length is that of the page.
    let outline = outlined(&sample("boathouse-pullover"), "Back", "M");
    let long = outline.slabs.iter().map(|slab| slab.top).max().expect("a top").amount(Unit::Cm);
    let long = *long.numer() as f64 / *long.denom() as f64;
    let wide = 100.0 / 1.8;
    assert!((width / height - wide / long).abs() < 0.005, "{width} by {height}");
    assert!(back.svg.contains("B: 55.5 cm / 21 3/4 in"), "{}", back.svg);
}

type Line = ((f64, f64), (f64, f64));

/// The lines of the outline of one size: the thick whole path.
fn outline_lines(document: &Document<'_>) -> Vec<Line> {
    let paths = document.descendants().filter(|n| n.has_tag_name("path"));
    let thick = paths.filter(|n| n.attribute("stroke-width") == Some("1.8"));
    thick
        .flat_map(|path| path.attribute("d").unwrap_or("").split('M'))
        .flat_map(|run| points(run).windows(2).map(|w| (w[0], w[1])).collect::<Vec<_>>())
        .collect()
}

/// How far it is from the leftmost to the rightmost edge at a height.
fn width_at(lines: &[Line], y: f64) -> f64 {
    let crossing = lines.iter().filter_map(|&((x1, y1), (x2, y2))| {
        let crosses = (y1 - y) * (y2 - y) <= 0.0 && y1 != y2;
        crosses.then(|| x1 + (x2 - x1) * (y - y1) / (y2 - y1))
    });
    let (least, most) =
        crossing.fold((f64::MAX, f64::MIN), |(least, most), x| (least.min(x), most.max(x)));
    most - least
}

/// What a drawing says of a letter, in cm: of `A: 55.5 cm / 21 3/4 in around` 55.5, and that it is
/// a width all the way round.
fn told(document: &Document<'_>, letter: &str) -> (f64, bool) {
    let texts = document.descendants().filter_map(|n| n.text());
    let mut lines = texts.filter_map(|text| text.strip_prefix(&format!("{letter}: ")));
    let line = lines.next().unwrap_or_else(|| panic!("{letter} is told"));
    let (cm, _) = line.split_once(" cm").expect("in cm");
    (cm.parse().expect("a number"), line.ends_with(" around"))
}

/// Widths are told to half a centimeter.
#[test]
fn widths_measured_from_the_path_are_those_told() {
    let mut measured = 0;
    for sample in patterns::samples() {
        let sizes = with_checked(&sample, |_, checked| checked.model.sizes.clone());
        for size in sizes {
            let source = page::one_size(&sample, &size).expect("a size");
            for drawing in drawings(&source).iter().filter(|d| !d.file.contains("-chart")) {
                let document = Document::parse(&drawing.svg).expect("sound");
                let lines = outline_lines(&document);
                let bottom = lines.iter().map(|((_, y), _)| *y).fold(f64::MIN, f64::max);
                // The scale is that of the first row, whose width is exact.
                let first = outlined(&source, &drawing.name, &size).slabs[0].below;
                let first = (first.1 - first.0).amount(Unit::Cm);
                let scale = width_at(&lines, bottom - 0.05)
                    / (*first.numer() as f64 / *first.denom() as f64);
                let letters = document.descendants().filter(|n| {
                    n.has_tag_name("text") && n.text().is_some_and(|t| t.len() == 1 && t < "a")
                });
                for letter in letters {
                    let name = letter.text().expect("a letter");
                    let y: f64 = letter.attribute("y").expect("y").parse().expect("a number");
                    // The letter sits in the middle of its line, which lies 4 above its height: its
                    // width is that right above or, before stitches are bound off, right below.
                    let at = y - 4.5 + 4.0;
                    let (cm, around) = told(&document, name);
                    let round = if around { 2.0 } else { 1.0 };
                    let drawn = [at - 0.05, at + 0.05]
                        .map(|y| width_at(&lines, y) / scale * round)
                        .into_iter()
                        .min_by(|a, b| (a - cm).abs().total_cmp(&(b - cm).abs()));
                    let drawn = drawn.expect("two widths");
                    let of = format!("{} {size} {}: {name}", sample.name, drawing.name);
                    assert!((drawn - cm).abs() <= 0.3, "{of} is {drawn}, told {cm}");
                    measured += 1;
                }
            }
        }
    }
    assert!(measured > 150, "{measured} widths");
}

#[test]
fn a_piece_worked_as_for_another_in_reverse_is_its_mirror() {
    for size in ["XS", "L", "5X"] {
        let [left, right] = ["Left front", "Right front"]
            .map(|piece| outlined(&sample("harbourlight-cardigan"), piece, size));
        // From edge to edge, at whatever height: a mirrored front is worked a row later.
        let edges = |outline: &Outline| {
            let mut all: Vec<(Length, Length)> =
                outline.slabs.iter().flat_map(|slab| [slab.below, slab.above]).collect();
            all.dedup();
            all
        };
        let turned: Vec<(Length, Length)> =
            edges(&left).into_iter().map(|(left, right)| (-right, -left)).collect();
        // Its first decrease may come at once, where the other front has a row before it.
        let right = edges(&right);
        assert!(right.iter().all(|edge| turned.contains(edge)), "{size}: {turned:?} {right:?}");
        assert!(turned.len() - right.len() <= 1, "{size}: {turned:?} {right:?}");
        // A front is not its own mirror: the armhole is on one side, the neck on the other.
        assert!(left.slabs.iter().any(|slab| slab.above.0 != -slab.above.1));
    }
}

/// Nothing a page hides with its style sheet stands in a file, which has none.
#[test]
fn a_file_of_all_sizes_has_each_outline_and_each_letter_once() {
    for source in patterns::samples() {
        let sizes = with_checked(&source, |_, checked| checked.model.sizes.len());
        for drawing in drawings(&source).iter().filter(|d| !d.file.contains("-chart")) {
            let document = Document::parse(&drawing.svg).expect("sound");
            let outlines = document.descendants().filter(|n| {
                n.has_tag_name("path")
                    && n.attribute("stroke-width").is_some_and(|w| w.starts_with('1'))
            });
            assert_eq!(outlines.count(), sizes, "{} {}", source.name, drawing.name);
            let letters: Vec<&str> = document
                .descendants()
                .filter(|n| n.has_tag_name("text"))
                .filter_map(|n| n.text().filter(|text| text.len() == 1))
                .collect();
            let mut once = letters.clone();
            once.sort_unstable();
            once.dedup();
            assert_eq!(once.len(), letters.len(), "{} {}", source.name, drawing.name);
        }
    }
}

#[test]
fn short_rows_are_told_of_and_leave_no_gap() {
    for (name, piece, size) in [("keel-sock", "Sock", "M"), ("lantern-yoke", "Yoke and body", "M")]
    {
        let outline = outlined(&sample(name), piece, size);
        assert!(outline.short_rows, "{name}");
        let mut slabs: Vec<_> = outline.slabs.iter().map(|slab| (slab.bottom, slab.top)).collect();
        slabs.sort_unstable();
        for pair in slabs.windows(2) {
            assert!(pair[1].0 <= pair[0].1, "{name}: nothing from {} on", pair[0].1);
        }
        let drawn = drawings(&sample(name));
        let drawing = drawn.iter().find(|d| d.name == piece).expect("it is drawn");
        assert!(
            drawing.svg.contains("short rows, which lengthen only a part of it, are not drawn"),
            "{name}"
        );
    }
    assert!(!outlined(&sample("slipway-cap"), "Cap", "medium").short_rows);
}

#[test]
fn a_neck_edge_is_towards_the_gap_and_the_other_side_its_mirror() {
    let front = outlined(&sample("boathouse-pullover"), "Front", "S");
    let top = front.slabs.iter().map(|slab| slab.top).max().expect("a top");
    let tops: Vec<(Length, Length)> =
        front.slabs.iter().filter(|slab| slab.top == top).map(|slab| slab.above).collect();
    let [one, other] = tops.as_slice() else { panic!("two shoulders: {tops:?}") };
    assert_eq!((one.0, one.1), (-other.1, -other.0));
    // Between them lies the neck, wider than the stitches bound off at first.
    let neck = one.0.abs().min(one.1.abs()) * exact(2, 1);
    assert!(neck > wide(12, 18), "{neck}");
}

#[test]
fn a_pattern_drawn_over_itself_lies_on_its_own_lines() {
    let source = sample("boathouse-pullover");
    let drawn = page::draw_over(&source, &source, Some("L")).expect("drawn");
    assert_eq!(drawn.len(), 4);
    for Drawing { svg, .. } in drawn {
        let document = Document::parse(&svg).expect("sound");
        let lines = |dashed: bool| -> Vec<String> {
            let paths = document.descendants().filter(|n| n.has_tag_name("path"));
            let thick =
                paths.filter(|n| n.attribute("stroke-width").is_some_and(|w| w.starts_with('1')));
            let wanted = thick.filter(|n| n.has_attribute("stroke-dasharray") == dashed);
            wanted.filter_map(|n| n.attribute("d").map(str::to_owned)).collect()
        };
        assert_eq!(lines(true), lines(false));
        assert_eq!(lines(true).len(), 1);
    }
}

// ---- The command -------------------------------------------------------------------

#[test]
fn each_drawing_is_a_file_of_the_folder() {
    let source = sample("tideline-scarf");
    let outcome =
        wale(["draw", "scarf.wale", "-o", "drawings"]).file("scarf.wale", &source.text).run();
    outcome.is(0, "", "");
    for Drawing { file, svg, .. } in drawings(&source) {
        assert_eq!(outcome.read(&format!("drawings/{file}")), svg);
    }
}

#[test]
fn one_drawing_goes_to_standard_output_and_several_do_not() {
    let text = sample("tideline-scarf").text;
    let run = |args: &[&str]| {
        wale(["draw", "scarf.wale"].iter().chain(args)).file("scarf.wale", &text).run()
    };
    let one = run(&["--piece", "tideline"]);
    assert_eq!((one.code(), one.stderr()), (Some(0), ""));
    assert!(Document::parse(one.stdout()).is_ok());
    insta::assert_snapshot!(run(&[]).all(), @r"
    status 2
    --- standard error
    error: there are 2 drawings
    help: name a folder with `-o`, or one of `Scarf` and `Tideline` with `--piece`
    ");
    insta::assert_snapshot!(run(&["--piece", "sleeve"]).all(), @"
    status 2
    --- standard error
    error: there is no drawing of `sleeve`
    help: there are drawings of `Scarf` and `Tideline`
    ");
    insta::assert_snapshot!(run(&["--piece", "scarf", "--size", "shawl"]).all(), @"
    status 1
    --- standard error
    error[unknown-name]: there is no size `shawl`
     |
     = help: the sizes are `scarf` and `stole`

    scarf.wale: 1 error
    ");
}
