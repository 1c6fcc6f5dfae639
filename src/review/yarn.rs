//! Yarn that the pattern says it used, and its own stitches do not take.
//!
//! What plain fabric takes is a rough guide to what ribs, lace or cables do, so
//! the whole may be half as much or twice as much. But all sizes of a pattern
//! are knitted alike: where one of them is off by more than a fifth from what
//! the others use to their stitches, its figure is a slip.

use super::told::{InSize, by_size};
use crate::diag::{Code, Finding};
use crate::measure::{Exact, Length, SizeId, Unit, decimal, exact};
use crate::model::Model;
use crate::plan::yarn::{reckoned, reckoned_by_color, said};
use crate::source::Spanned;
use crate::syntax::front::Used;
use crate::work::Trace;

/// Between half and twice what plain fabric takes.
const LEAST: Exact = Exact::new_raw(1, 2);
const MOST: Exact = Exact::new_raw(2, 1);
/// How far one size may be from the others.
const APART: Exact = Exact::new_raw(1, 5);

/// The sizes whose yarn is not what their stitches take: of each color that says what
/// it used, or of all.
pub(super) fn differs(model: &Model<'_>, traces: &[Trace]) -> Vec<Finding> {
    let Some(yarn) = &model.document.front.yarn else { return Vec::new() };
    let whole = yarn.used.iter().map(|used| (used, None, reckoned(model, traces)));
    let by_color = reckoned_by_color(model, traces);
    let colors = model.colors.iter().enumerate().filter_map(|(id, color)| {
        let takes: Vec<Option<Length>> =
            by_color.iter().map(|all| all.as_ref()?.get(id).copied()).collect();
        Some((color.used.as_ref()?, Some(color), takes))
    });
    let found = whole.chain(colors).filter_map(|(used, color, takes)| {
        let what = color.map_or("yarn", |color| color.name.value.as_str());
        let said = |trace: &Trace| said(yarn, color, &used.value, trace.size);
        let sizes = traces.iter().zip(takes);
        let sizes = sizes.filter_map(|(trace, takes)| {
            // What is not worked in a size is sewn, or not needed.
            let takes = takes.filter(|length| length.is_positive())?;
            Some((trace.size, said(trace)?, takes))
        });
        one_differs(model, used, what, &sizes.collect::<Vec<_>>())
    });
    found.collect()
}

/// The sizes of which `what` is not what their stitches take: each with what is said to
/// be used, and with what is reckoned.
fn one_differs(
    model: &Model<'_>,
    used: &Spanned<Used>,
    what: &str,
    sizes: &[(SizeId, Length, Length)],
) -> Option<Finding> {
    let mut shares: Vec<Exact> = sizes.iter().map(|(_, said, takes)| *said / *takes).collect();
    shares.sort();
    let middle = *shares.get(shares.len() / 2)?;
    let off = |share: Exact| {
        let apart = share / middle - exact(1, 1);
        share < LEAST || share > MOST || apart > APART || apart < -APART
    };
    let found =
        sizes.iter().filter(|(_, said, takes)| off(*said / *takes)).map(|&(size, said, takes)| {
            InSize {
                size,
                message: format!(
                    "this is {} m of {what}, and the stitches take about {} m",
                    decimal(said.amount(Unit::M), 0),
                    decimal(takes.amount(Unit::M), 0)
                ),
                help: None,
            }
        });
    by_size(model, found.collect(), |message| {
        Finding::new(Code::YarnDiffers, used.span, message)
            .label("used")
            .note("reckoned from the stitches and the gauge, as plain fabric")
            .help("weigh what was used again, or correct the put-up; where it is meant, allow the finding and say why")
    })
}

#[cfg(test)]
mod tests {
    use super::super::testing::told;

    fn scarf(yarn: &str) -> String {
        told(&format!(
            "---\nsizes: [small, middle, large]\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\nyarn:\n{yarn}---\n\n## Scarf, flat\n\n- cast on 40 (60, 80) in body\n- stockinette for 98 rows\n- bind off all\n"
        ))
    }

    #[test]
    fn a_slip_in_one_size_and_one_in_all() {
        // The stitches take 84, 126 and 168 m.
        assert_eq!(scarf("  put-up: 200 m / 100 g\n  used: 45 (65, 90) g\n"), "nothing");
        insta::assert_snapshot!(scarf("  put-up: 200 m / 100 g\n  used: 45 (46, 90) g\n"), @"
        warning[yarn-differs]: this is 92 m of yarn, and the stitches take about 126 m
         --> cap.wale:7:9
          |
        7 |   used: 45 (46, 90) g
          |         ^^^^^^^^^^^^^ used
          |
          = note: in size middle
          = note: reckoned from the stitches and the gauge, as plain fabric
          = help: weigh what was used again, or correct the put-up; where it is meant, allow the finding and say why
        ");
        let tenfold = scarf("  put-up: 200 m / 100 g\n  used: 450 (650, 900) g\n");
        assert!(tenfold.contains("this is 900 m of yarn, and the stitches take about 84 m"));
        // Nothing tells how long the yarn is.
        assert_eq!(scarf("  used: 450 (650, 900) g\n"), "nothing");
    }
}
