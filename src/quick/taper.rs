//! `wale taper`: shaping spread over rows.

use serde::Serialize;
use std::fmt;

use super::read::EitherGauge;
use super::words::{self, sts};
use super::{Answer, Line, length, line, number, per};
use crate::measure::round::{Multiple, Toward};
use crate::measure::{Length, Rows, Stitches, Unit, exact};
use crate::plan::convert::whole;
use crate::plan::spacing::Setting;
use crate::plan::taper::{Ending, Order, Schedule, Step, Taper, TooFewRows, shapings_between};

/// The most rows a taper is spread over.
pub const MOST_ROWS: u32 = 100_000;

/// A shaping from one count to another.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct TaperQuestion {
    /// Stitches to begin with.
    pub from: Stitches,
    /// Stitches to end with.
    pub to: Stitches,
    /// Stitches each shaping row adds or takes; 2 for one at each end.
    pub each: Stitches,
    /// How far it goes.
    pub over: Over,
    /// Flat shaping stays on right-side rows.
    pub setting: Setting,
    /// Which rate comes first, where there are two.
    pub order: Order,
    /// How the rows end.
    pub ending: Ending,
    /// The row of the first shaping, where it is fixed.
    pub first: Option<Rows>,
    /// By how many rows the end may differ if one rate then does.
    pub allowance: Rows,
}

/// How far a taper goes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Over {
    /// So many rows.
    Rows(Rows),
    /// So long.
    Length {
        /// The length.
        length: Length,
        /// The unit it was given in.
        unit: Unit,
        /// The gauge, which must tell rows.
        at: EitherGauge,
    },
}

impl Over {
    /// All the rows there are, and how they were counted where they were not given.
    fn rows(self) -> Result<(Rows, Option<Line>), TaperError> {
        match self {
            Self::Rows(rows) => Ok((rows, None)),
            Self::Length { length: long, unit, at } => {
                let density = at.rows.ok_or(TaperError::NoRows)?;
                let rows = whole(density.count(long), Multiple::ANY, Toward::Nearest);
                let each = density.over(at.over);
                let formula = format!("{} x {each} {}", length(long, unit), per(at.over, at.unit));
                Ok((Rows(rows), Some(line("rows", formula, rows.to_string()))))
            }
        }
    }
}

/// A schedule.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct TaperAnswer {
    /// Stitches to begin with.
    pub from: u32,
    /// Stitches to end with.
    pub to: u32,
    /// Stitches each shaping row adds or takes.
    pub each: u32,
    /// Shaping rows.
    pub shapings: u32,
    /// All rows.
    pub rows: u32,
    /// The rates, in order.
    pub rates: Vec<TaperRate>,
    /// Plain rows after the last shaping.
    pub plain_after: u32,
    /// Which rows are shaped, counted from 1.
    pub shaped_rows: Vec<u32>,
}

/// One rate.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
pub struct TaperRate {
    /// Every so many rows.
    pub every: u32,
    /// So many times in all.
    pub times: u32,
}

/// Why there is no schedule.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum TaperError {
    /// Shapings of so many stitches never lead from one count to the other.
    Uneven {
        /// Stitches to begin with.
        from: Stitches,
        /// Stitches to end with.
        to: Stitches,
        /// Stitches of a shaping.
        each: Stitches,
    },
    /// A length, and a gauge that tells no rows.
    NoRows,
    /// More rows than anyone works: over [`MOST_ROWS`].
    TooLong(Rows),
    /// The shapings do not fit into the rows.
    TooFewRows {
        /// How many shapings.
        shapings: u32,
        /// How many rows.
        rows: Rows,
        /// What would fit.
        nearest: TooFewRows,
    },
}

impl fmt::Display for TaperError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Uneven { from, to, each } => {
                let difference = from.0.abs_diff(to.0);
                write!(
                    f,
                    "from {from} to {to} is {}, which {} at a time never makes up",
                    sts(difference),
                    sts(each.0),
                    from = from.0,
                    to = to.0
                )
            }
            Self::NoRows => f.write_str(
                "a length needs a row gauge, such as \"28 rows / 10 cm\", to be counted in rows",
            ),
            Self::TooLong(rows) => write!(f, "{rows} is more than anyone works"),
            Self::TooFewRows { shapings, rows, nearest } => write!(
                f,
                "{shapings} shaping rows do not fit in {}: at most {} do, or {shapings} in {}",
                rows, nearest.fewer_shapings, nearest.more_rows
            ),
        }
    }
}

impl std::error::Error for TaperError {}

/// The schedule of a taper.
///
/// # Errors
/// [`TaperError`] where the stitches or the rows do not come out.
pub fn taper(asked: &TaperQuestion) -> Result<Answer<TaperAnswer>, TaperError> {
    let TaperQuestion { from, to, each, .. } = *asked;
    let (rows, counted) = asked.over.rows()?;
    if rows.0 > MOST_ROWS {
        return Err(TaperError::TooLong(rows));
    }
    let shapings = shapings_between(from, to, each).ok_or(TaperError::Uneven { from, to, each })?;
    let taper = Taper {
        step: match asked.setting {
            Setting::Round => Step::EveryRow,
            Setting::Flat => Step::EverySecondRow,
        },
        order: asked.order,
        ending: asked.ending,
        first: asked.first,
        allowance: asked.allowance,
        ..Taper::new(rows, shapings)
    };
    let schedule =
        taper.schedule().map_err(|nearest| TaperError::TooFewRows { shapings, rows, nearest })?;
    Ok(Answer {
        answer: sentence(asked, &schedule),
        working: counted.into_iter().chain(working(asked, &taper, &schedule)).collect(),
        notes: Vec::new(),
        result: TaperAnswer {
            from: from.0,
            to: to.0,
            each: each.0,
            shapings,
            rows: rows.0,
            rates: schedule
                .rates
                .iter()
                .map(|rate| TaperRate { every: rate.every.0, times: rate.times })
                .collect(),
            plain_after: schedule.plain_after.0,
            shaped_rows: schedule.shaped_rows().map(|row| row.0).collect(),
        },
    })
}

fn row_word(setting: Setting) -> &'static str {
    match setting {
        Setting::Round => "round",
        Setting::Flat => "row",
    }
}

fn sentence(asked: &TaperQuestion, schedule: &Schedule) -> String {
    let row = row_word(asked.setting);
    if schedule.rates.is_empty() {
        return format!("work {} even", plain(schedule.plain_after, row));
    }
    let way = if asked.to.0 > asked.from.0 { "increase" } else { "decrease" };
    let what = match (asked.each.0, asked.setting) {
        (2, Setting::Flat) => "1 st each end".to_owned(),
        (each, _) => sts(each),
    };
    let rates = words::schedule(schedule, row);
    let rest = match schedule.plain_after.0 {
        0 => String::new(),
        _ => format!(", then work {} even", plain(schedule.plain_after, row)),
    };
    format!("{way} {what} {rates}{rest}")
}

fn plain(rows: Rows, row: &str) -> String {
    format!("{} {row}{}", rows.0, if rows.0 == 1 { "" } else { "s" })
}

fn working(asked: &TaperQuestion, taper: &Taper, schedule: &Schedule) -> Vec<Line> {
    let (more, less) = (asked.from.0.max(asked.to.0), asked.from.0.min(asked.to.0));
    let row = row_word(asked.setting);
    let shapings = taper.shapings;
    let formula = format!("({more} - {less}) / {}", asked.each.0);
    let mut lines = vec![line("shaping rows", formula, shapings.to_string())];
    if shapings == 0 {
        return lines;
    }
    let each = exact(i64::from(taper.rows.0), i64::from(shapings));
    let formula = format!("{} / {shapings}", taper.rows.0);
    lines.push(line("one every", formula, format!("{} {row}s", number(each))));
    for rate in &schedule.rates {
        let formula = format!("{} x {}", rate.every.0, rate.times);
        let rows = rate.every.0.saturating_mul(rate.times);
        lines.push(line("at this rate", formula, plain(Rows(rows), row)));
    }
    if schedule.plain_after.0 > 0 {
        lines.push(line("worked even", "", plain(schedule.plain_after, row)));
    }
    lines.push(line("in all", "", plain(schedule.rows(), row)));
    lines
}
