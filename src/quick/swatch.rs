//! `wale swatch`: what countings on a swatch say, and how surely.

use serde::Serialize;
use std::fmt;

use super::words::ordinal;
use super::{Answer, Line, length, line, number, per};
use crate::measure::{Density, Exact, Length, Stitches, Unit};
use crate::plan::swatch::{Counted, Doubted, Swatch, SwatchError};

/// Countings on a swatch of the body and, perhaps, one of the band.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SwatchQuestion {
    /// Countings of the body; at least one.
    pub body: Vec<Counted>,
    /// Countings of the band; none where it was not swatched.
    pub band: Vec<Counted>,
    /// The length gauges are told over.
    pub over: Length,
    /// The unit lengths are told in.
    pub unit: Unit,
    /// A count whose finished width is asked about.
    pub count: Option<Stitches>,
    /// The step in width from one size to the next, where there are sizes.
    pub between_sizes: Option<Length>,
}

/// A value and the least and most it may be.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Doubt {
    /// The least it may be.
    pub low: String,
    /// The value itself.
    pub value: String,
    /// The most it may be.
    pub high: String,
}

/// What the swatches say.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct SwatchAnswer {
    /// The length gauges are told over.
    pub over: String,
    /// Stitches of body.
    pub body: Doubt,
    /// The lowest and the highest body gauge counted.
    pub body_spread: [String; 2],
    /// Stitches of band.
    pub band: Option<Doubt>,
    /// The lowest and the highest band gauge counted.
    pub band_spread: Option<[String; 2]>,
    /// The band's gauge as a multiple of the body's.
    pub band_to_body: Option<Doubt>,
    /// The finished width asked about.
    pub width: Option<Doubt>,
}

/// Why the swatches say nothing.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum SwatchQuestionError {
    /// The body's.
    Body(SwatchError),
    /// The band's.
    Band(SwatchError),
}

impl fmt::Display for SwatchQuestionError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (name, why) = match self {
            Self::Body(why) => ("body", why),
            Self::Band(why) => ("band", why),
        };
        match why {
            SwatchError::Nothing => write!(f, "nothing was counted on the {name} swatch"),
            SwatchError::TooSmall { which } => {
                let place = ordinal(u32::try_from(*which).unwrap_or(u32::MAX).saturating_add(1));
                write!(f, "the {place} count on the {name} swatch is too small to tell a gauge")
            }
        }
    }
}

impl std::error::Error for SwatchQuestionError {}

/// The gauges of swatches with their doubt, and what the doubt does to a width.
///
/// # Errors
/// [`SwatchQuestionError`] where too little was counted.
pub fn swatch(asked: &SwatchQuestion) -> Result<Answer<SwatchAnswer>, SwatchQuestionError> {
    let body = Swatch::of(&asked.body).map_err(SwatchQuestionError::Body)?;
    let band = match asked.band.as_slice() {
        [] => None,
        countings => Some(Swatch::of(countings).map_err(SwatchQuestionError::Band)?),
    };
    let over = asked.over;
    let gauge = |swatch: &Swatch| doubt(swatch.gauge.count(over), number);
    let spread = |s: &Swatch| [s.spread.0, s.spread.1].map(|d: Density| d.over(over));
    let ratio = band.map(|band| band.gauge.ratio(&body.gauge));
    let width = asked.count.map(|count| (count, body.gauge.width(count.exact())));

    let told = length(over, asked.unit);
    let (own, per) = (gauge(&body), format!("sts {}", per(over, asked.unit)));
    let mut answer = format!("body {} {per}, between {} and {}", own.value, own.low, own.high);
    let mut working = counted_lines("body", &asked.body, &body, asked);
    if let Some(band) = &band {
        let own = gauge(band);
        answer.push_str(&format!("; band {}, between {} and {}", own.value, own.low, own.high));
        working.extend(counted_lines("band", &asked.band, band, asked));
    }
    if let Some(ratio) = ratio {
        let ratio = doubt(ratio, number);
        working.push(line("band to body", "band / body", between(&ratio)));
    }
    if let Some((count, width)) = width {
        let width = doubt(width, |l| length(l, asked.unit));
        answer.push_str(&format!("; {} sts are {}", count.0, between(&width)));
        working.push(line("width", format!("{} / body", count.0), between(&width)));
    }
    let result = SwatchAnswer {
        over: told,
        body: gauge(&body),
        body_spread: spread(&body),
        band: band.as_ref().map(gauge),
        band_spread: band.as_ref().map(spread),
        band_to_body: ratio.map(|r| doubt(r, number)),
        width: width.map(|(_, w)| doubt(w, |l| length(l, asked.unit))),
    };
    let notes = notes(asked, &body, band.as_ref(), width.map(|(_, width)| width));
    Ok(Answer { answer, result, working, notes })
}

fn doubt<T: Copy>(of: Doubted<T>, word: impl Fn(T) -> String) -> Doubt {
    Doubt { low: word(of.low), value: word(of.value), high: word(of.high) }
}

/// `96 cm, between 93.8 cm and 98.3 cm`
fn between(doubt: &Doubt) -> String {
    format!("{}, between {} and {}", doubt.value, doubt.low, doubt.high)
}

fn counted_lines(
    label: &'static str,
    countings: &[Counted],
    swatch: &Swatch,
    asked: &SwatchQuestion,
) -> Vec<Line> {
    let per = |count: Exact| format!("{} sts {}", number(count), per(asked.over, asked.unit));
    let mut lines: Vec<Line> = countings
        .iter()
        .map(|counted| {
            let formula =
                format!("{} / {}", number(counted.count), length(counted.over, asked.unit));
            let own = Density::new(counted.count, counted.over);
            line(label, formula, own.map_or(String::new(), |d| per(d.count(asked.over))))
        })
        .collect();
    if countings.len() > 1 {
        let all = per(swatch.gauge.value.count(asked.over));
        lines.push(line(label, "all stitches / all lengths", all));
    }
    lines
}

fn notes(
    asked: &SwatchQuestion,
    body: &Swatch,
    band: Option<&Swatch>,
    width: Option<Doubted<Length>>,
) -> Vec<String> {
    let mut notes = vec!["Each count is known to about half a stitch.".to_owned()];
    for (name, swatch) in [("body", Some(body)), ("band", band)] {
        if let Some(swatch) = swatch.filter(|swatch| swatch.disagrees()) {
            notes.push(format!(
                "The {name} counts differ by more than that, up to {} sts from their average: \
                 measure again, or swatch larger.",
                number(swatch.furthest)
            ));
        }
    }
    if let (Some(width), Some(step)) = (width, asked.between_sizes)
        && width.blurs(step)
    {
        notes.push(format!(
            "The doubt of the width, {}, is larger than the {} from one size to the next: count \
             over a longer stretch.",
            length(width.range(), asked.unit),
            length(step, asked.unit)
        ));
    }
    notes
}
