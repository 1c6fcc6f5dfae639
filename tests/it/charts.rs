//! Charts say what the rows say, as it is seen from the right side.

use crate::drawings::{drawings, sample};
use crate::pages::with_checked;
use walewright::source::Source;
use walewright::syntax::tree::Side;
use walewright::work::chart::{Symbol, chart};

/// A chart as text, the last row on top, read as the right side faces: `.` purl, ` ` knit.
fn as_text(source: &Source, fabric: usize) -> String {
    with_checked(source, |_, checked| {
        let def = &checked.model.fabrics[fabric];
        let chart = chart(&checked.model, &checked.traces, def).expect("a chart");
        let mut text = String::new();
        for row in chart.rows.iter().rev() {
            for cell in row.cells.iter().rev() {
                text.push_str(&match &cell.symbol {
                    Symbol::Known("knit") => "-".to_owned(),
                    Symbol::Known("purl") => ".".to_owned(),
                    Symbol::Known("yarn-over") => "o".to_owned(),
                    Symbol::Known("decrease-right") => "/".to_owned(),
                    Symbol::Known("decrease-left") => "\\".to_owned(),
                    Symbol::Known(name) => format!("<{name}>"),
                    Symbol::Letters(name) => format!("({name})"),
                    Symbol::None => "#".to_owned(),
                });
            }
            let side = if row.side == Side::Right { "RS" } else { "WS" };
            text.push_str(&format!(" {} {side}\n", row.number));
        }
        if let Some((from, to)) = chart.repeat {
            text.push_str(&format!("repeat {from}-{to} of {}\n", chart.columns));
        }
        text
    })
}

/// The basket stitch of the Handbook of Wool Knitting and Crochet (1918): five
/// by five, over 85 = 8 x 10 + 5.
#[test]
fn the_basket_of_1918_charts_as_a_basket() {
    insta::assert_snapshot!(as_text(&sample("sleeveless-sweater"), 0), @r"
    .....-----..... 12 WS
    .....-----..... 11 RS
    .....-----..... 10 WS
    .....-----..... 9 RS
    .....-----..... 8 WS
    .....-----..... 7 RS
    -----.....----- 6 WS
    -----.....----- 5 RS
    -----.....----- 4 WS
    -----.....----- 3 RS
    -----.....----- 2 WS
    -----.....----- 1 RS
    repeat 5-15 of 15
    ");
}

#[test]
fn a_chart_is_seen_from_the_right_side() {
    insta::assert_snapshot!(as_text(&sample("tideline-scarf"), 0), @r"
    .................. 4 WS
    ---//-o-o-o-o//--- 3 RS
    ...------------... 2 WS
    ------------------ 1 RS
    repeat 3-15 of 18
    ");
}

#[test]
fn no_stitch_stands_where_the_count_differs() {
    let source = Source::new(
        "lace.wale",
        "---\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n\
         abbreviations:\n  bob: { takes: 1, makes: 1 }\n---\n\n## Lace, fabric\n\n\
         - row 1 (RS): k1, *yo, k1, yo, bob; rep from * to last st, k1\n\
         - row 2 (WS): p1, *p1, p3; rep from * to last st, p1\n\
         - row 3 (RS): k1, *s2kp, p1; rep from * to last st, k1\n\
         - row 4 (WS): p1, *k1, p1; rep from * to last st, p1\n\n\
         ## Piece, flat\n\n- cast on 6\n- lace for 8 rows\n- bind off all\n",
    );
    insta::assert_snapshot!(as_text(&source, 0), @r"
    -.##-- 4 WS
    -.##<double-decrease-center>- 3 RS
    ------ 2 WS
    -(bob)o-o- 1 RS
    repeat 1-5 of 6
    ");
}

#[test]
fn a_fabric_of_more_rows_than_can_be_read_has_no_chart() {
    let has_chart = |rows: usize| {
        let all: String = (1..=rows).map(|row| format!("- row {row}: k2, p2\n")).collect();
        let source = Source::new(
            "tall.wale",
            format!(
                "---\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\n---\n\n## Tall, fabric\n\n{all}\n## Strip, flat\n\n- cast on 4 in body\n- tall once\n- bind off all\n"
            ),
        );
        with_checked(&source, |_, checked| {
            chart(&checked.model, &checked.traces, &checked.model.fabrics[0]).is_some()
        })
    };
    assert_eq!([has_chart(80), has_chart(81)], [true, false]);
}

/// A stitch passed over the one after it is one decrease with it, which leans as the list of
/// stitches says of the same in one word: `skp`, `sk2p`, `s2kp` (common practice).
#[test]
fn stitches_passed_over_are_one_decrease() {
    let source = Source::new(
        "fan.wale",
        "---\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n\
         abbreviations:\n  lose: { takes: 1, makes: 0 }\n---\n\n## Fan, fabric\n\n\
         - row 1 (RS): k1, sl 1, k1, psso, p1, sl 1, k2tog, psso, p1, sl 2, k1, p2sso, lose, k1\n\
         - row 2 (WS): k7\n\
         - row 3 (RS): k1, [yo] twice, k5, [yo] 4 times, lose\n\n\
         ## Piece, flat\n\n- cast on 13\n- fan for 3 rows\n- bind off all\n",
    );
    insta::assert_snapshot!(as_text(&source, 0), @r"
    oooo-----oo- 3 RS
    ....#####... 2 WS
    -<double-decrease-center>.<double-decrease-left>#####.\- 1 RS
    ");
}

/// Row 1 is read from the right, row 2 (WS) from the left: worked by hand.
#[test]
fn a_chart_tells_two_colors_by_shade_and_more_by_letters() {
    let source = Source::new(
        "wake.wale",
        "---\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n\
         yarn:\n  colors: { MC: harbor blue, CC: oat }\n---\n\n## Wake, fabric\n\n\
         - row 1 (RS): k1 MC, *k3 CC, k1 MC; rep from *\n\
         - row 2 (WS): p1 MC, *[p1 CC, p1] twice MC; rep from *\n\
         - row 3 (RS): with CC, knit\n\
         - row 4 (WS): purl\n\n\
         ## Piece, flat\n\n- cast on 9\n- wake for 8 rows\n- bind off all\n",
    );
    let rows = with_checked(&source, |_, checked| {
        let fabric = &checked.model.fabrics[0];
        let chart = chart(&checked.model, &checked.traces, fabric).expect("a chart");
        let mut text = String::new();
        for row in chart.rows.iter().rev() {
            for cell in row.cells.iter().rev() {
                text.push(cell.color.map_or('?', |color| if color.0 == 0 { 'M' } else { 'C' }));
            }
            text.push_str(&format!(" {}\n", row.number));
        }
        text
    });
    // Over the smallest count with its repeat once: five stitches.
    assert_eq!(rows, "CCCCC 4\nCCCCC 3\nMCMCM 2\nMCCCM 1\n");
    let drawn = drawings(&source);
    let chart = drawn.iter().find(|d| d.file.contains("-chart")).expect("a chart");
    // Every cell of the second color is shaded, and so is its entry in the key.
    let shaded = |svg: &str| svg.matches("fill-opacity=\"0.2\"").count();
    assert_eq!(shaded(&chart.svg), 5 + 5 + 2 + 3 + 1);
    assert!(!chart.svg.contains(">CC</text>") && !chart.svg.contains(">MC</text>"));
    assert!(chart.svg.contains(">MC: knit on right-side rows, purl on wrong-side rows</text>"));
    assert!(chart.svg.contains(">CC: knit on right-side rows, purl on wrong-side rows</text>"));

    // Of three, the second and the third have letters besides.
    let text = source.text.replace("CC: oat }", "CC: oat, A: rust }");
    let three = Source::new("wake.wale", text.replace("(WS): purl", "(WS): with A, purl"));
    let drawn = drawings(&three);
    let chart = drawn.iter().find(|d| d.file.contains("-chart")).expect("a chart");
    assert_eq!(shaded(&chart.svg), 5 + 5 + 2 + 3 + 2);
    let letters = |name: &str| chart.svg.matches(&format!(">{name}</text>")).count();
    assert_eq!([letters("MC"), letters("CC"), letters("A")], [0, 5 + 2 + 3 + 1, 5 + 1]);
}
