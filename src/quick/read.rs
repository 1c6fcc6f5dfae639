//! Reads the short texts a question is asked in: `19 sts, 25 rows / 4 in`,
//! `190 sts`, `snug 12%`.

use std::fmt;

use crate::measure::{
    Density, Exact, Gauge, Length, ParseExactError, Rows, Stitches, Unit, parse_exact, percent,
};
use crate::plan::band::Lies;
use crate::plan::swatch::Counted;

/// Why a text is not what was asked for.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum ReadError {
    /// No gauge.
    Gauge(String),
    /// No length.
    Length(String),
    /// Neither a number of stitches or rows nor a length.
    Amount(String),
    /// No way for a band to lie.
    Lies(String),
    /// A band cannot lie as written where nothing is written.
    NothingWritten,
    /// A number beyond any garment.
    OutOfRange(String),
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Gauge(text) => write!(
                f,
                "expected a gauge such as \"20 sts, 28 rows / 10 cm\", but found \"{text}\""
            ),
            Self::Length(text) => {
                write!(f, "expected a length such as \"10 cm\" or \"4 in\", but found \"{text}\"")
            }
            Self::Amount(text) => write!(
                f,
                "expected \"190 sts\", \"60 rows\" or a length such as \"40 in\", but found \
                 \"{text}\""
            ),
            Self::Lies(text) => write!(
                f,
                "expected \"level\", \"snug 12%\", \"same count\" or \"fitted 18 cm\", but found \
                 \"{text}\""
            ),
            Self::NothingWritten => f.write_str(
                "\"as written\" needs a pattern; expected \"level\", \"snug 12%\", \"same count\" \
                 or \"fitted 18 cm\"",
            ),
            Self::OutOfRange(text) => write!(f, "\"{text}\" is beyond any garment"),
        }
    }
}

impl std::error::Error for ReadError {}

/// The most stitches, rows or units of length a gauge is counted over or a
/// part measures. It keeps every product exact.
const MOST: i128 = 1000;

fn is_sensible(number: Exact) -> bool {
    number <= Exact::from_integer(MOST)
}

/// A gauge as it was given.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct GivenGauge {
    /// Stitches counted.
    pub stitches: Exact,
    /// Rows counted, where they were.
    pub rows: Option<Exact>,
    /// Over what length; more than nothing.
    pub over: Length,
    /// The unit of that length.
    pub unit: Unit,
    gauge: Gauge,
}

impl GivenGauge {
    /// Stitches and rows per length.
    #[must_use]
    pub const fn gauge(&self) -> Gauge {
        self.gauge
    }

    /// Stitches per length.
    #[must_use]
    pub const fn density(&self) -> Density {
        self.gauge.stitches
    }

    /// The stitches and the length they were counted over.
    #[must_use]
    pub const fn counted(&self) -> Counted {
        Counted { count: self.stitches, over: self.over }
    }
}

/// Reads `19 sts / 4 in`, `20 sts, 28 rows / 10 cm`, `5 1/2 sts per in`,
/// `20 sts and 28 rounds = 10 cm`, `22 / 10 cm`. A bare number is stitches, a
/// second one rows; a unit alone is one of it.
///
/// # Errors
/// [`ReadError`] where the text is no gauge.
pub fn gauge(text: &str) -> Result<GivenGauge, ReadError> {
    let given = text;
    let words = text.to_lowercase().replace([',', '&', '+'], " and ").replace('=', " / ");
    let words = words.split_whitespace().map(|word| match word {
        "to" | "per" | "over" => "/",
        "x" | "×" => "and",
        word => word,
    });
    let text = words.collect::<Vec<_>>().join(" ");
    // Fractions have the same stroke, so every one is tried.
    text.match_indices('/')
        .find_map(|(at, _)| {
            let (counts, over) = (text.get(..at)?, text.get(at + 1..)?);
            let (stitches, rows) = stitches_and_rows(counts)?;
            let (over, unit) = length_or_unit(over)?;
            let gauge = Gauge {
                stitches: Density::new(stitches, over)?,
                rows: match rows {
                    Some(rows) => Some(Density::new(rows, over)?),
                    None => None,
                },
                stretched: None,
            };
            Some(GivenGauge { stitches, rows, over, unit, gauge })
        })
        .ok_or_else(|| ReadError::Gauge(given.trim().to_owned()))
        .and_then(|read| {
            let over = read.over.amount(read.unit);
            let numbers = [Some(read.stitches), read.rows, Some(over)];
            match numbers.into_iter().flatten().all(is_sensible) {
                true => Ok(read),
                false => Err(ReadError::OutOfRange(given.trim().to_owned())),
            }
        })
}

fn stitches_and_rows(text: &str) -> Option<(Exact, Option<Exact>)> {
    let mut stitches = None;
    let mut rows = None;
    for part in joined_counts(text).split(" and ") {
        let (number, word) = split_number(part)?;
        let place = match word {
            "" if stitches.is_none() => &mut stitches,
            "" => &mut rows,
            word if is_stitches(word) => &mut stitches,
            word if is_rows(word) => &mut rows,
            _ => return None,
        };
        if place.replace(number).is_some() {
            return None;
        }
    }
    Some((stitches?, rows))
}

/// `20 sts 28 rows` with the "and" that is meant.
fn joined_counts(text: &str) -> String {
    let mut words: Vec<&str> = Vec::new();
    for word in text.split_whitespace() {
        let starts = word.starts_with(|c: char| c.is_ascii_digit() || c == '.');
        let last =
            words.last().map_or("", |last| last.trim_start_matches(|c: char| !c.is_alphabetic()));
        if starts && (is_stitches(last) || is_rows(last)) {
            words.push("and");
        }
        words.push(word);
    }
    words.join(" ")
}

fn is_stitches(word: &str) -> bool {
    matches!(word, "st" | "sts" | "stitch" | "stitches" | "st." | "sts.")
}

fn is_rows(word: &str) -> bool {
    matches!(word, "row" | "rows" | "r" | "round" | "rounds" | "rnd" | "rnds" | "rnd." | "rnds.")
}

/// A number and the word after it.
fn split_number(text: &str) -> Option<(Exact, &str)> {
    let text = text.trim();
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || " ./½¼¾⅛⅜⅝⅞".contains(c)))
        .unwrap_or(text.len());
    let (number, word) = text.split_at_checked(end)?;
    Some((parse_exact(number).ok()?, word.trim()))
}

fn length_or_unit(text: &str) -> Option<(Length, Unit)> {
    if let Some(unit) = Unit::from_word(text.trim()) {
        return Some((Length::new(Exact::from_integer(1), unit), unit));
    }
    let (amount, word) = split_number(text)?;
    let unit = Unit::from_word(word)?;
    Some((Length::new(amount, unit), unit))
}

/// Reads `10 cm`, `4 in`, `2 1/2"`, and gives its unit as well.
///
/// # Errors
/// [`ReadError`] where the text is no length.
pub fn length(text: &str) -> Result<(Length, Unit), ReadError> {
    let wrong = || ReadError::Length(text.trim().to_owned());
    let (amount, word) = split_number(text).ok_or_else(wrong)?;
    let unit = Unit::from_word(word).ok_or_else(wrong)?;
    if !is_sensible(amount) {
        return Err(ReadError::OutOfRange(text.trim().to_owned()));
    }
    Ok((Length::new(amount, unit), unit))
}

/// What a gauge is asked about.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Amount {
    /// A number of stitches.
    Stitches(Stitches),
    /// A number of rows.
    Rows(Rows),
    /// A width, in the unit it was given in.
    Width(Length, Unit),
}

/// Reads `190 sts`, `60 rows`, `40 in`; a bare whole number is stitches.
///
/// # Errors
/// [`ReadError`] where the text is none of them.
pub fn amount(text: &str) -> Result<Amount, ReadError> {
    let wrong = || ReadError::Amount(text.trim().to_owned());
    let lower = text.to_lowercase();
    let (number, word) = split_number(&lower).ok_or_else(wrong)?;
    if Unit::from_word(word).is_some() {
        return length(&lower).map(|(width, unit)| Amount::Width(width, unit));
    }
    // No number that is read is above a million.
    let whole = || {
        let whole = number.is_integer().then(|| number.to_integer());
        whole.and_then(|n| u32::try_from(n).ok()).ok_or_else(wrong)
    };
    match word {
        word if word.is_empty() || is_stitches(word) => Ok(Amount::Stitches(Stitches(whole()?))),
        word if is_rows(word) => Ok(Amount::Rows(Rows(whole()?))),
        _ => Err(wrong()),
    }
}

/// Reads `level`, `snug 12%`, `snug by 12%`, `same count`, `fitted 18 cm`,
/// `fitted to 7 in`.
///
/// # Errors
/// [`ReadError`] where the text is no way for a band to lie.
pub fn lies(text: &str) -> Result<Lies, ReadError> {
    let wrong = || ReadError::Lies(text.trim().to_owned());
    let lower = text.to_lowercase();
    let words: Vec<&str> = lower.split_whitespace().collect();
    match words.as_slice() {
        ["level"] => Ok(Lies::Level),
        ["same", "count"] => Ok(Lies::SameCount),
        ["as", "written"] => Err(ReadError::NothingWritten),
        ["snug", "by", by] | ["snug", by] => {
            let by = by.strip_suffix('%').ok_or_else(wrong)?;
            match parse_exact(by) {
                Ok(by) if is_sensible(by) => Ok(Lies::Snug(percent(by))),
                Ok(_) | Err(ParseExactError::OutOfRange) => {
                    Err(ReadError::OutOfRange(by.to_owned()))
                }
                Err(ParseExactError::NotANumber) => Err(wrong()),
            }
        }
        ["fitted", "to", part @ ..] | ["fitted", part @ ..] => {
            length(&part.join(" ")).map(|(part, _)| Lies::Fitted(part))
        }
        _ => Err(wrong()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::exact;
    use proptest::prelude::*;

    #[test]
    fn gauges_as_people_write_them() {
        let inches = |n, d| Length::new(exact(n, d), Unit::In);
        for (text, stitches, rows, over) in [
            ("19 sts / 4 in", exact(19, 1), None, inches(4, 1)),
            ("19 sts, 25 rows / 4 in", exact(19, 1), Some(exact(25, 1)), inches(4, 1)),
            ("19sts 25rows/4in", exact(19, 1), Some(exact(25, 1)), inches(4, 1)),
            ("20 sts and 28 rounds = 10 cm", exact(20, 1), Some(exact(28, 1)), Length::cm(10)),
            ("20 sts x 28 rows to 10 cm", exact(20, 1), Some(exact(28, 1)), Length::cm(10)),
            ("20 x 28 / 10 cm", exact(20, 1), Some(exact(28, 1)), Length::cm(10)),
            ("5 1/2 sts per in", exact(11, 2), None, inches(1, 1)),
            ("5½ sts / 1\"", exact(11, 2), None, inches(1, 1)),
            ("17.5 Stitches / 4 In", exact(35, 2), None, inches(4, 1)),
            ("10 sts / 2 1/2 in", exact(10, 1), None, inches(5, 2)),
            ("22 / 10 cm", exact(22, 1), None, Length::cm(10)),
        ] {
            let read = gauge(text).map(|g| (g.stitches, g.rows, g.over));
            assert_eq!(read, Ok((stitches, rows, over)), "{text}");
        }
    }

    #[test]
    fn what_is_no_gauge() {
        for text in [
            "",
            "/",
            "19 sts",
            "sts / 4 in",
            "19 sts / 4",
            "19 sts / in 4",
            "0 sts / 4 in",
            "19 sts / 0 cm",
            "19 rows / 4 in",
            "19 sts, 20 sts / 4 in",
            "-4 sts / 4 in",
            "19 loops / 4 in",
            "1/0 sts / 4 in",
            "19 sts / 4 in / 4 in",
        ] {
            assert_eq!(gauge(text), Err(ReadError::Gauge(text.to_owned())), "{text}");
        }
    }

    #[test]
    fn amounts() {
        assert_eq!(amount("190 sts"), Ok(Amount::Stitches(Stitches(190))));
        assert_eq!(amount("190"), Ok(Amount::Stitches(Stitches(190))));
        assert_eq!(amount("60 rounds"), Ok(Amount::Rows(Rows(60))));
        assert_eq!(amount("40 in"), Ok(Amount::Width(Length::inches(40), Unit::In)));
        for text in ["", "1.5 sts", "sts", "40 kg"] {
            assert_eq!(amount(text), Err(ReadError::Amount(text.to_owned())));
        }
    }

    #[test]
    fn ways_to_lie() {
        assert_eq!(lies("level"), Ok(Lies::Level));
        assert_eq!(lies("snug 12%"), Ok(Lies::Snug(exact(12, 100))));
        assert_eq!(lies("snug by 7.5%"), Ok(Lies::Snug(exact(75, 1000))));
        assert_eq!(lies("Same count"), Ok(Lies::SameCount));
        assert_eq!(
            lies("fitted to 7 1/2 in"),
            Ok(Lies::Fitted(Length::new(exact(15, 2), Unit::In)))
        );
        assert_eq!(lies("as written"), Err(ReadError::NothingWritten));
        for text in ["", "snug", "snug 12", "loose"] {
            assert_eq!(lies(text), Err(ReadError::Lies(text.to_owned())));
        }
        assert!(lies("fitted").is_err());
        let beyond = Err(ReadError::OutOfRange("5000 sts / 10 cm".to_owned()));
        assert_eq!(gauge("5000 sts / 10 cm"), beyond);
    }

    proptest! {
        #[test]
        fn nothing_makes_it_fall_over(text in "[0-9stsrow/ .,=xin cm½%-]{0,24}|\\PC{0,24}") {
            let _ = (gauge(&text), length(&text), amount(&text), lies(&text));
        }
    }
}
