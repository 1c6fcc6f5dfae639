//! `wale band`: how many stitches a band has, and how it lies.

use serde::Serialize;
use std::fmt;

use super::gauge::nearest_of;
use super::words::{self, sts};
use super::{Answer, Line, SWATCH_FIRST, length, line, number, per, percents};
use crate::measure::round::{Multiple, nearest};
use crate::measure::{Exact, Length, Stitches, Unit, exact};
use crate::plan::band::{BandGauge, Direction, Fit, Lies, Meeting, Source};
use crate::plan::ratio::SmallRatio;
use crate::plan::spacing::{IncreaseMethod, MOST_STITCHES, Setting};

use super::read::{Amount, GivenGauge};

/// A band and the body it meets.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct BandQuestion {
    /// The body's gauge.
    pub body: GivenGauge,
    /// The band's gauge, relaxed.
    pub band: GivenGauge,
    /// The band's gauge stretched as far as is comfortable, where swatched.
    pub stretched: Option<GivenGauge>,
    /// How the band's gauge was come by.
    pub source: Source,
    /// Body stitches.
    pub over: Stitches,
    /// How the band is to lie.
    pub lies: Lies,
    /// The counts the band's fabric can be worked over.
    pub multiple: Multiple,
    /// Which of the two is worked first.
    pub direction: Direction,
    /// In the round or flat.
    pub setting: Setting,
    /// How an increase is made.
    pub method: IncreaseMethod,
    /// The girth of the part it must pass over, where it must.
    pub passes: Option<Length>,
}

/// A band.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Band {
    /// Band stitches.
    pub band: u32,
    /// Band stitches before rounding.
    pub exact: String,
    /// Body stitches.
    pub body: u32,
    /// Band stitches for every so many body stitches, as the gauges ask.
    pub ratio: Option<BandRatio>,
    /// The band's relaxed width.
    pub width: String,
    /// The body's width.
    pub body_width: String,
    /// By how much the band draws in; negative where it spreads.
    pub draws_in: String,
    /// The width the band stretches to.
    pub stretches_to: Option<String>,
    /// Whether it passes over the part it must.
    pub passes: Option<bool>,
    /// The row between the two, in pattern words; `None` where one row has
    /// no room for so many changes.
    pub row: Option<String>,
    /// Whether the band's gauge was estimated rather than swatched.
    pub estimated: bool,
}

/// Band stitches for every so many body stitches.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct BandRatio {
    /// So many band stitches.
    pub band: u32,
    /// For every so many body stitches.
    pub body: u32,
    /// By how many stitches it comes out over (or, negative, under) over the
    /// whole width.
    pub off: String,
}

/// The stitches that a body has, given as such or as its width; nothing where
/// rows are given.
#[must_use]
pub fn stitches_over(body: &GivenGauge, over: Amount) -> Option<Stitches> {
    match over {
        Amount::Stitches(stitches) => Some(stitches),
        Amount::Width(width, _) => {
            u32::try_from(nearest(body.density().count(width))).ok().map(Stitches)
        }
        Amount::Rows(_) => None,
    }
}

/// Why there is no band.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum BandError {
    /// No stitch would be left of it.
    Nothing,
    /// The body has more stitches than any needle holds.
    TooWide(Stitches),
}

impl fmt::Display for BandError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Nothing => f.write_str("no stitch would be left of such a band"),
            Self::TooWide(over) => write!(f, "{} is beyond any needle", sts(over.0)),
        }
    }
}

impl std::error::Error for BandError {}

/// How many stitches a band has, and how it then lies.
///
/// # Errors
/// [`BandError`] where nothing would be left of it, or the body is too wide.
pub fn band(asked: &BandQuestion) -> Result<Answer<Band>, BandError> {
    if asked.over.0 > MOST_STITCHES {
        return Err(BandError::TooWide(asked.over));
    }
    let meeting = Meeting {
        body: asked.over,
        body_gauge: asked.body.density(),
        band_gauge: BandGauge {
            relaxed: asked.band.density(),
            stretched: asked.stretched.map(|gauge| gauge.density()),
            source: asked.source,
        },
        lies: asked.lies,
    };
    let wanted = meeting.exact_count().ok_or(BandError::Nothing)?;
    let count = meeting.count(asked.multiple).ok_or(BandError::Nothing)?;
    let fit = meeting.fit(count);
    let change = meeting.change(count, asked.direction, asked.setting, asked.method);
    let row = change.spaced().ok().map(|spacing| words::row(&spacing));
    let unit = asked.body.unit;
    let ratio = meeting.ratio();
    let passes = asked.passes.and_then(|part| fit.passes(part));
    Ok(Answer {
        answer: sentence(asked, count, ratio),
        working: working(asked, wanted, &fit, ratio, row.as_deref()),
        notes: notes(asked, &fit, passes),
        result: Band {
            band: count.0,
            exact: number(wanted),
            body: asked.over.0,
            ratio: ratio.map(|found| BandRatio {
                band: found.ratio.these,
                body: found.ratio.those,
                off: number(found.off),
            }),
            width: length(fit.relaxed, unit),
            body_width: length(fit.body, unit),
            draws_in: percents(fit.draws_in),
            stretches_to: fit.stretched.map(|width| length(width, unit)),
            passes,
            row,
            estimated: asked.source == Source::Estimated,
        },
    })
}

fn sentence(asked: &BandQuestion, count: Stitches, ratio: Option<SmallRatio>) -> String {
    let counts = format!("{} of band over {} of body", sts(count.0), sts(asked.over.0));
    match ratio.filter(SmallRatio::is_close) {
        Some(found) => format!("{counts}: {}", ratio_words(found)),
        None => counts,
    }
}

fn ratio_words(found: SmallRatio) -> String {
    let about = if found.is_close() { "" } else { "about " };
    format!("{about}{} for every {}", found.ratio.these, found.ratio.those)
}

fn working(
    asked: &BandQuestion,
    wanted: Exact,
    fit: &Fit,
    ratio: Option<SmallRatio>,
    row: Option<&str>,
) -> Vec<Line> {
    let (unit, over) = (asked.body.unit, asked.body.over);
    let (body_gauge, band_gauge) =
        (asked.body.density().over(over), asked.band.density().over(over));
    let (per, body) = (per(over, unit), asked.over.0);
    let mut lines =
        vec![line("body width", format!("{body} / {body_gauge} {per}"), length(fit.body, unit))];
    let formula = match asked.lies {
        Lies::Level => format!("{body} x {band_gauge} / {body_gauge}"),
        Lies::Snug(by) => {
            let kept = number(exact(1, 1) - by);
            format!("{body} x {band_gauge} / {body_gauge} x {kept}")
        }
        Lies::SameCount => body.to_string(),
        Lies::Fitted(part) => format!("{} x {body_gauge} {per}", length(part, unit)),
        Lies::AsWritten(original) => format!(
            "{body} x {band_gauge} / {body_gauge} x ({} / {}) / ({} / {})",
            original.band.0,
            original.band_gauge.over(over),
            original.body.0,
            original.body_gauge.over(over)
        ),
    };
    lines.push(line("band", formula, format!("{} sts", number(wanted))));
    if wanted != fit.band.exact() {
        lines.push(line(nearest_of(asked.multiple), "", sts(fit.band.0)));
    }
    if let Some(found) = ratio {
        let formula = format!("{} : {body}", number(wanted));
        lines.push(line("band to body", formula, ratio_words(found)));
        if found.off != exact(0, 1) {
            lines.push(line("that comes out", "", over_or_under(found.off)));
        }
    }
    let formula = format!("{} / {band_gauge} {per}", fit.band.0);
    lines.push(line("band width", formula, length(fit.relaxed, unit)));
    lines.push(match fit.draws_in < exact(0, 1) {
        false => line("draws in", "1 - band width / body width", percents(fit.draws_in)),
        true => line("spreads", "band width / body width - 1", percents(-fit.draws_in)),
    });
    if let (Some(width), Some(gauge)) = (fit.stretched, asked.stretched) {
        let formula = format!("{} / {} {per}", fit.band.0, gauge.density().over(over));
        lines.push(line("stretches to", formula, length(width, unit)));
    }
    if let Some(row) = row.filter(|_| fit.band != asked.over) {
        lines.push(line(
            match asked.direction {
                Direction::BottomUp => "after the band",
                Direction::TopDown => "before the band",
            },
            "",
            row,
        ));
    }
    lines
}

fn over_or_under(off: Exact) -> String {
    if off > exact(0, 1) {
        format!("{} sts over", number(off))
    } else {
        format!("{} sts under", number(-off))
    }
}

fn notes(asked: &BandQuestion, fit: &Fit, passes: Option<bool>) -> Vec<String> {
    let mut notes = Vec::new();
    if asked.source == Source::Estimated {
        notes.push("The band's gauge is an estimate: swatch the band in this yarn.".to_owned());
    }
    let unit: Unit = asked.body.unit;
    match (asked.passes, passes, fit.stretched) {
        (Some(part), Some(false), Some(width)) => notes.push(format!(
            "It does not go on: it stretches to {}, and must pass over {}.",
            length(width, unit),
            length(part, unit)
        )),
        (Some(_), None, _) => notes
            .push("Whether it goes on is not known: swatch the band stretched as well.".to_owned()),
        _ => {}
    }
    match asked.lies {
        Lies::Fitted(_) => {
            notes.push("Work it on needles two sizes smaller than the body's.".to_owned());
            notes.push(COMPRESSION.to_owned());
        }
        Lies::Snug(_) => notes.push(COMPRESSION.to_owned()),
        _ => {}
    }
    notes.push(SWATCH_FIRST.to_owned());
    notes
}

const COMPRESSION: &str = "A snug band is not a medical garment.";
