//! `wale gauge`: counts, widths and heights at one gauge and at another.

use serde::Serialize;
use std::fmt;

use super::read::{Amount, EitherGauge};
use super::words::sts;
use super::{Answer, Line, SWATCH_FIRST, length, line, number, per};
use crate::measure::round::{Multiple, Toward};
use crate::measure::{Density, Exact, Length, Unit, exact};
use crate::plan::convert::{comes_out_as, recount, whole};

/// A count or a width, and the gauges it is at and goes to.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct GaugeQuestion {
    /// What is asked about.
    pub amount: Amount,
    /// The gauge it is at.
    pub at: EitherGauge,
    /// The gauge it goes to, where one was given.
    pub to: Option<EitherGauge>,
    /// The counts its fabric can be worked over.
    pub multiple: Multiple,
}

/// What comes of it.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct GaugeAnswer {
    /// `stitches` or `rows`.
    pub counted: &'static str,
    /// The count at the first gauge, exactly.
    pub count: String,
    /// The length it makes.
    pub length: String,
    /// What becomes of it at the second gauge.
    pub to: Option<Recount>,
}

/// A count at another gauge.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Recount {
    /// The count for the same length, exactly.
    pub exact: String,
    /// The nearest that can be worked.
    pub count: u32,
    /// The length that makes.
    pub length: String,
    /// The length of the first count, were it left as it is.
    pub unchanged: String,
}

/// Why there is no answer.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum GaugeError {
    /// Rows are asked about, and a gauge gives none.
    NoRows,
    /// Stitches are asked about, and a gauge gives none.
    NoStitches,
}

impl fmt::Display for GaugeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoRows => f.write_str(
                "a number of rows needs row gauges, such as \"20 sts, 28 rows / 10 cm\"",
            ),
            Self::NoStitches => f.write_str(
                "a number of stitches needs stitch gauges, such as \"20 sts, 28 rows / 10 cm\"",
            ),
        }
    }
}

impl std::error::Error for GaugeError {}

/// One direction of the fabric: its name, its counts and how they are measured.
struct Along {
    counted: &'static str,
    short: &'static str,
    at: Density,
    to: Option<Density>,
}

/// What a count or a width is at a gauge, and at another.
///
/// # Errors
/// [`GaugeError`] where the gauge has none of what is asked about.
pub fn gauge(asked: &GaugeQuestion) -> Result<Answer<GaugeAnswer>, GaugeError> {
    let unit = match asked.amount {
        Amount::Width(_, unit) => unit,
        Amount::Stitches(_) | Amount::Rows(_) => asked.at.unit,
    };
    let along = along(asked)?;
    let (count, made) = match asked.amount {
        Amount::Stitches(n) => (n.exact(), along.at.length(n.exact())),
        Amount::Rows(n) => (n.exact(), along.at.length(n.exact())),
        Amount::Width(width, _) => (along.at.count(width), width),
    };
    let mut working = vec![first_line(asked, &along, count, made, unit)];
    let Some(to) = along.to else {
        let nearest = whole(count, asked.multiple, Toward::Nearest);
        let answer = match asked.amount {
            Amount::Width(..) => format!("{} is {nearest} {}", length(made, unit), along.short),
            _ => format!("{} {} is {}", number(count), along.short, length(made, unit)),
        };
        if matches!(asked.amount, Amount::Width(..)) {
            working.extend(rounding(count, nearest, asked.multiple, &along));
        }
        let (counted, length) = (along.counted, length(made, unit));
        let result = GaugeAnswer { counted, count: number(count), length, to: None };
        return Ok(Answer { answer, result, working, notes: Vec::new() });
    };
    let wanted = recount(count, along.at, to);
    let nearest = whole(wanted, asked.multiple, Toward::Nearest);
    let (new, unchanged) =
        (to.length(exact(i64::from(nearest), 1)), comes_out_as(made, along.at, to));
    let over = asked.at.over;
    working.push(line(
        "at the other gauge",
        format!("{} x {} / {}", number(count), to.over(over), along.at.over(over)),
        format!("{} {}", number(wanted), along.short),
    ));
    working.extend(rounding(wanted, nearest, asked.multiple, &along));
    working.push(line(
        "which makes",
        format!("{nearest} / {} {}", to.over(over), per(over, asked.at.unit)),
        length(new, unit),
    ));
    working.push(line(
        "left unchanged",
        format!("{} / {} {}", number(count), to.over(over), per(over, asked.at.unit)),
        length(unchanged, unit),
    ));
    let answer = format!(
        "{nearest} {} at the other gauge, for {} (unchanged, {} {} would make {})",
        along.short,
        length(made, unit),
        number(count),
        along.short,
        length(unchanged, unit)
    );
    Ok(Answer {
        answer,
        result: GaugeAnswer {
            counted: along.counted,
            count: number(count),
            length: length(made, unit),
            to: Some(Recount {
                exact: number(wanted),
                count: nearest,
                length: length(new, unit),
                unchanged: length(unchanged, unit),
            }),
        },
        working,
        notes: vec![SWATCH_FIRST.to_owned()],
    })
}

fn along(asked: &GaugeQuestion) -> Result<Along, GaugeError> {
    // A length at a gauge of rows alone is a height.
    let rows = match asked.amount {
        Amount::Rows(_) => true,
        Amount::Stitches(_) => false,
        Amount::Width(..) => asked.at.stitches.is_none(),
    };
    let (of, error): (fn(EitherGauge) -> Option<Density>, _) = if rows {
        (|gauge| gauge.rows, GaugeError::NoRows)
    } else {
        (|gauge| gauge.stitches, GaugeError::NoStitches)
    };
    let at = of(asked.at).ok_or(error)?;
    let to = asked.to.map(|to| of(to).ok_or(error)).transpose()?;
    let (counted, short) = if rows { ("rows", "rows") } else { ("stitches", "sts") };
    Ok(Along { counted, short, at, to })
}

fn first_line(
    asked: &GaugeQuestion,
    along: &Along,
    count: Exact,
    made: Length,
    unit: Unit,
) -> Line {
    let over = asked.at.over;
    let each = along.at.over(over);
    let per = per(over, asked.at.unit);
    match asked.amount {
        Amount::Width(..) => line(
            "at this gauge",
            format!("{} x {each} {per}", length(made, unit)),
            format!("{} {}", number(count), along.short),
        ),
        _ => line("at this gauge", format!("{} / {each} {per}", number(count)), length(made, unit)),
    }
}

/// The step from an exact count to one that can be worked, where there is one.
fn rounding(wanted: Exact, nearest: u32, multiple: Multiple, along: &Along) -> Option<Line> {
    if wanted == exact(i64::from(nearest), 1) {
        return None;
    }
    let value = match along.counted {
        "stitches" => sts(nearest),
        _ => format!("{nearest} rows"),
    };
    Some(line(nearest_of(multiple), "", value))
}

/// The label of a rounding.
pub(super) const fn nearest_of(multiple: Multiple) -> &'static str {
    if multiple.of() == 1 { "to the nearest" } else { "to the nearest in pattern" }
}
