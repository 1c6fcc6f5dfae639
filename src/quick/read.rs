//! Reads the short texts a question is asked in: `19 sts, 25 rows / 4 in`,
//! `190 sts`, `snug 12%`.

use std::fmt;

use crate::measure::round::Multiple;
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
    /// Neither a number of stitches nor a width.
    Across(String),
    /// No way for a band to lie.
    Lies(String),
    /// No number of stitches.
    Stitches(String),
    /// No number of stitches, nor of stitches more or fewer.
    Outcome(String),
    /// No number of rows.
    Rows(String),
    /// No multiple.
    Multiple(String),
    /// Nothing counted on a swatch.
    Counting(String),
    /// Rows counted on a swatch that is stretched.
    RowsStretched,
    /// Finer than anything is measured.
    TooFine(String),
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
            Self::Across(text) => write!(
                f,
                "expected a number of stitches such as 200 or a width such as \"40 in\", but found \
                 \"{text}\""
            ),
            Self::Lies(text) => write!(
                f,
                "expected \"level\", \"snug 12%\", \"same count\" or \"fitted 18 cm\", but found \
                 \"{text}\""
            ),
            Self::Stitches(text) => {
                write!(f, "expected a number of stitches such as 200, but found \"{text}\"")
            }
            Self::Outcome(text) => write!(
                f,
                "expected a number of stitches such as 40, or how many more or fewer, such as +12 \
                 or -16, but found \"{text}\""
            ),
            Self::Rows(text) => {
                write!(f, "expected a number of rows such as 90, but found \"{text}\"")
            }
            Self::Multiple(text) => {
                write!(f, "expected a multiple such as 4 or \"4 plus 2\", but found \"{text}\"")
            }
            Self::Counting(text) => write!(
                f,
                "expected a count such as \"body: 22 sts, 31 rows / 11 cm\", but found \"{text}\""
            ),
            Self::RowsStretched => f.write_str("rows are counted while the swatch lies relaxed"),
            Self::TooFine(text) => write!(f, "\"{text}\" is finer than anything is measured"),
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
}

/// Counts and the length they were counted over.
struct Over {
    stitches: Option<Exact>,
    rows: Option<Exact>,
    over: Length,
    unit: Unit,
}

impl Over {
    /// Reads the counts and the length, whatever their size.
    fn read(text: &str) -> Option<Self> {
        let words = text.to_lowercase().replace([',', '&', '+'], " and ").replace('=', " / ");
        let words: Vec<&str> = words.split_whitespace().collect();
        let is_number = |word: &&str| word.starts_with(|c: char| c.is_ascii_digit());
        let words = words.iter().enumerate().map(|(at, &word)| match word {
            "to" | "per" | "over" => "/",
            // "22 sts in 4 in"
            "in" if words.get(at + 1).is_some_and(is_number) => "/",
            "x" | "×" => "and",
            // "5 sts to the inch"
            "the" => "",
            word => word,
        });
        let text = words.collect::<Vec<_>>().join(" ");
        // Fractions have the same stroke, so every one is tried.
        text.match_indices('/').find_map(|(at, _)| {
            let (counts, over) = (text.get(..at)?, text.get(at + 1..)?);
            let (stitches, rows) = stitches_and_rows(counts)?;
            let (over, unit) = length_or_unit(over)?;
            Some(Self { stitches, rows, over, unit })
        })
    }

    /// All its numbers.
    fn numbers(&self) -> impl Iterator<Item = Exact> {
        [self.stitches, self.rows, Some(self.over.amount(self.unit))].into_iter().flatten()
    }
}

/// Reads `19 sts / 4 in`, `20 sts, 28 rows / 10 cm`, `5 1/2 sts per in`,
/// `20 sts and 28 rounds = 10 cm`, `22 / 10 cm`. A bare number is stitches, a
/// second one rows; a unit alone is one of it.
///
/// # Errors
/// [`ReadError`] where the text is no gauge.
pub fn gauge(text: &str) -> Result<GivenGauge, ReadError> {
    let given = text.trim();
    let read = || {
        let read = Over::read(text)?;
        let stitches = read.stitches?;
        let gauge = Gauge {
            stitches: Density::new(stitches, read.over)?,
            rows: match read.rows {
                Some(rows) => Some(Density::new(rows, read.over)?),
                None => None,
            },
            stretched: None,
        };
        let sensible = read.numbers().all(is_sensible);
        let Over { rows, over, unit, .. } = read;
        Some((GivenGauge { stitches, rows, over, unit, gauge }, sensible))
    };
    match read() {
        Some((gauge, true)) => Ok(gauge),
        Some((_, false)) => Err(ReadError::OutOfRange(given.to_owned())),
        None => Err(ReadError::Gauge(given.to_owned())),
    }
}

/// Stitches, rows or both, per length.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct EitherGauge {
    /// Stitches per length, where they were given.
    pub stitches: Option<Density>,
    /// Rows per length, where they were given.
    pub rows: Option<Density>,
    /// Over what length; more than nothing.
    pub over: Length,
    /// The unit of that length.
    pub unit: Unit,
}

impl From<GivenGauge> for EitherGauge {
    fn from(given: GivenGauge) -> Self {
        let Gauge { stitches, rows, .. } = given.gauge();
        Self { stitches: Some(stitches), rows, over: given.over, unit: given.unit }
    }
}

/// [`gauge`], but `6 rows / in` too.
///
/// # Errors
/// [`ReadError`] where the text is no gauge.
pub fn either_gauge(text: &str) -> Result<EitherGauge, ReadError> {
    gauge(text).map(EitherGauge::from).or_else(|error| {
        let Over { stitches: None, rows: Some(count), over, unit } =
            Over::read(text).ok_or_else(|| error.clone())?
        else {
            return Err(error);
        };
        if !is_sensible(count) || !is_sensible(over.amount(unit)) {
            return Err(ReadError::OutOfRange(text.trim().to_owned()));
        }
        let rows = Density::new(count, over).ok_or(error)?;
        Ok(EitherGauge { stitches: None, rows: Some(rows), over, unit })
    })
}

/// What was counted once on a swatch.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Counting {
    /// The fabric's name.
    pub fabric: String,
    /// Stretched as far as is comfortable, rather than relaxed.
    pub stretched: bool,
    /// After washing, as the garment will be, rather than before.
    pub washed: bool,
    /// Stitches, where they were counted.
    pub stitches: Option<Counted>,
    /// Rows, where they were counted.
    pub rows: Option<Counted>,
    /// The unit of the length they were counted over.
    pub unit: Unit,
}

/// Reads `body: 22 sts / 11 cm`, `brim: 31 sts, 40 rows / 5 1/2 in`,
/// `brim stretched: 31 sts / 20 cm`, `body before washing: 23 sts / 11 cm`.
///
/// A fabric is relaxed and washed unless its name is followed by `stretched`,
/// and by `before washing` or `unwashed`.
///
/// # Errors
/// [`ReadError`] where the text is no such count.
pub fn counting(text: &str) -> Result<Counting, ReadError> {
    let wrong = || ReadError::Counting(text.trim().to_owned());
    // "body: 22 sts", or "body 22 sts"
    let (name, counts) = text
        .split_once(':')
        .or_else(|| text.split_at_checked(text.find(|c: char| c.is_ascii_digit())?))
        .ok_or_else(wrong)?;
    let (fabric, stretched, washed) = fabric_and_state(name).ok_or_else(wrong)?;
    let read = Over::read(counts).ok_or_else(wrong)?;
    let nothing = Exact::from_integer(0);
    if read.numbers().any(|number| number <= nothing) || !read.over.is_positive() {
        return Err(wrong());
    }
    let gauges = [read.stitches, read.rows].into_iter().flatten();
    let mut gauges = gauges.filter_map(|count| Density::new(count, read.over));
    if !read.numbers().all(is_sensible) || !gauges.all(is_of_a_garment) {
        return Err(ReadError::OutOfRange(text.trim().to_owned()));
    }
    if !read.numbers().all(is_measurable) {
        return Err(ReadError::TooFine(text.trim().to_owned()));
    }
    if stretched && read.rows.is_some() {
        return Err(ReadError::RowsStretched);
    }
    let counted = |count: Option<Exact>| count.map(|count| Counted { count, over: read.over });
    let (stitches, rows) = (counted(read.stitches), counted(read.rows));
    Ok(Counting { fabric, stretched, washed, stitches, rows, unit: read.unit })
}

/// Whether there is anything between 1 and 1000 to 10 cm.
fn is_of_a_garment(gauge: Density) -> bool {
    let count = gauge.count(Length::cm(10));
    count >= Exact::from_integer(1) && is_sensible(count)
}

/// Whether it is a whole number of the finest parts anyone measures in: tenths
/// and hundredths, halves to 512ths, thirds. So the sum of many stays exact.
fn is_measurable(number: Exact) -> bool {
    (number * Exact::from_integer(192_000)).is_integer()
}

/// The name before the colon without the words that say how the swatch lay,
/// whether it was stretched, and whether it was washed.
fn fabric_and_state(text: &str) -> Option<(String, bool, bool)> {
    let mut words: Vec<&str> =
        text.split([' ', '\t', ',', '(', ')']).filter(|word| !word.is_empty()).collect();
    let (mut stretched, mut washed) = (false, true);
    loop {
        let lower: Vec<String> = words.iter().rev().take(2).map(|w| w.to_lowercase()).collect();
        let dropped = match lower.iter().map(String::as_str).collect::<Vec<_>>().as_slice() {
            ["stretched", ..] => {
                stretched = true;
                1
            }
            ["unwashed", ..] => {
                washed = false;
                1
            }
            ["washing", "before"] => {
                washed = false;
                2
            }
            ["relaxed" | "washed", ..] => 1,
            ["washing", "after"] => 2,
            _ => break,
        };
        words.truncate(words.len().saturating_sub(dropped));
    }
    // A name goes into YAML as it is.
    let plain = |word: &&str| word.chars().all(|c| c.is_alphanumeric() || c == '-');
    let begins = words.first()?.starts_with(char::is_alphabetic);
    (begins && words.iter().all(plain)).then(|| (words.join(" "), stretched, washed))
}

fn stitches_and_rows(text: &str) -> Option<(Option<Exact>, Option<Exact>)> {
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
    Some((stitches, rows))
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

/// A number and the word after it: `7 1/4 in`, `7-1/4 in`, `12,5 cm`.
fn split_number(text: &str) -> Option<(Exact, &str)> {
    let text = text.trim();
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || " .,-/½¼¾⅛⅜⅝⅞".contains(c)))
        .unwrap_or(text.len());
    let (number, word) = text.split_at_checked(end)?;
    let signed = number.starts_with('-');
    let number = if signed { number.to_owned() } else { number.replace('-', " ") };
    // "12,5", but not "1,000": that may be meant either way.
    let decimals = number.split_once(',').map_or(0, |(_, after)| after.trim_end().len());
    let number = if decimals <= 2 { number.replace(',', ".") } else { number };
    Some((parse_exact(&number).ok()?, word.trim()))
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
    match word {
        word if word.is_empty() || is_stitches(word) => {
            whole(number).map(|n| Amount::Stitches(Stitches(n)))
        }
        word if is_rows(word) => whole(number).map(|n| Amount::Rows(Rows(n))),
        _ => None,
    }
    .ok_or_else(wrong)
}

/// Reads `200`, `200 sts`, `40 in`.
///
/// # Errors
/// [`ReadError`] where the text is neither stitches nor a width.
pub fn across(text: &str) -> Result<Amount, ReadError> {
    match amount(text) {
        Ok(Amount::Rows(_)) | Err(ReadError::Amount(_)) => {
            Err(ReadError::Across(text.trim().to_owned()))
        }
        other => other,
    }
}

fn whole(number: Exact) -> Option<u32> {
    let whole = number.is_integer().then(|| number.to_integer())?;
    u32::try_from(whole).ok()
}

/// A whole number, alone or with its word.
fn counted(text: &str, is_word: impl Fn(&str) -> bool) -> Option<u32> {
    let lower = text.to_lowercase();
    let (number, word) = split_number(&lower)?;
    if word.is_empty() || is_word(word) { whole(number) } else { None }
}

/// What a number of stitches becomes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Outcome {
    /// So many.
    To(Stitches),
    /// So many more.
    More(Stitches),
    /// So many fewer.
    Fewer(Stitches),
}

impl Outcome {
    /// The number after; nought where more are taken than there are.
    #[must_use]
    pub const fn after(self, from: Stitches) -> Stitches {
        match self {
            Self::To(to) => to,
            Self::More(more) => Stitches(from.0.saturating_add(more.0)),
            Self::Fewer(fewer) => Stitches(from.0.saturating_sub(fewer.0)),
        }
    }
}

/// Reads `40`, `40 sts`, `+12`, `-16`.
///
/// # Errors
/// [`ReadError`] where the text is none of these.
pub fn outcome(text: &str) -> Result<Outcome, ReadError> {
    let wrong = |error| match error {
        ReadError::Stitches(_) => ReadError::Outcome(text.trim().to_owned()),
        other => other,
    };
    let read = match text.trim().split_at_checked(1) {
        Some(("+", more)) => stitches(more).map(Outcome::More),
        Some(("-", fewer)) => stitches(fewer).map(Outcome::Fewer),
        _ => stitches(text).map(Outcome::To),
    };
    read.map_err(wrong)
}

/// Reads `200`, `200 sts`.
///
/// # Errors
/// [`ReadError`] where the text is no number of stitches.
pub fn stitches(text: &str) -> Result<Stitches, ReadError> {
    let read = counted(text, is_stitches).map(Stitches);
    read.ok_or_else(|| ReadError::Stitches(text.trim().to_owned()))
}

/// Reads `90`, `90 rows`, `90 rounds`.
///
/// # Errors
/// [`ReadError`] where the text is no number of rows.
pub fn rows(text: &str) -> Result<Rows, ReadError> {
    let read = counted(text, is_rows).map(Rows);
    read.ok_or_else(|| ReadError::Rows(text.trim().to_owned()))
}

/// Reads `4`, `4 plus 2`, `4 + 2`, `multiple of 4 plus 2`.
///
/// # Errors
/// [`ReadError`] where the text is no multiple.
pub fn multiple(text: &str) -> Result<Multiple, ReadError> {
    let wrong = || ReadError::Multiple(text.trim().to_owned());
    let lower = text.to_lowercase().replace('+', " plus ");
    let words: Vec<&str> = lower.split_whitespace().collect();
    let (of, plus) = match words.as_slice() {
        ["multiple", "of", of] | [of] => (of, "0"),
        ["multiple", "of", of, "plus", plus] | [of, "plus", plus] => (of, *plus),
        _ => return Err(wrong()),
    };
    let number = |text: &str| parse_exact(text).ok().and_then(whole).ok_or_else(wrong);
    let (of, plus) = (number(of)?, number(plus)?);
    if of == 0 {
        return Err(wrong());
    }
    if !is_sensible(Exact::from_integer(of.into())) {
        return Err(ReadError::OutOfRange(text.trim().to_owned()));
    }
    Ok(Multiple::new(of, plus))
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
        ["snug", "by", by, "%"] | ["snug", by, "%"] => lies(&format!("snug {by}%")),
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
    fn whole_numbers_and_multiples() {
        assert_eq!(stitches("200"), Ok(Stitches(200)));
        assert_eq!(stitches("200 sts"), Ok(Stitches(200)));
        assert_eq!(rows("90 rounds"), Ok(Rows(90)));
        for text in ["", "-4", "1.5", "90 rows", "1e3"] {
            assert_eq!(stitches(text), Err(ReadError::Stitches(text.to_owned())));
        }
        assert_eq!(rows("90 sts"), Err(ReadError::Rows("90 sts".to_owned())));
        for text in ["4 plus 2", "4+2", "4 + 2", "Multiple of 4 plus 2", "4 plus 6"] {
            assert_eq!(multiple(text), Ok(Multiple::new(4, 2)), "{text}");
        }
        assert_eq!(multiple("4"), Ok(Multiple::new(4, 0)));
        for text in ["", "0", "0 plus 2", "4 plus", "4 minus 2", "4.5", "plus 2"] {
            assert_eq!(multiple(text), Err(ReadError::Multiple(text.to_owned())), "{text}");
        }
        assert_eq!(multiple("5000"), Err(ReadError::OutOfRange("5000".to_owned())));
    }

    #[test]
    fn counts_on_a_swatch() {
        let read = |text: &str| {
            let read = counting(text).unwrap_or_else(|error| panic!("{error}"));
            let count = |counted: Option<Counted>| counted.map(|c| c.count);
            (read.fabric, read.stretched, read.washed, count(read.stitches), count(read.rows))
        };
        let (sts, rows) = (Some(exact(22, 1)), Some(exact(31, 1)));
        assert_eq!(read("body: 22 sts, 31 rows / 11 cm"), ("body".into(), false, true, sts, rows));
        assert_eq!(read("K2 rib:31 rows/11cm"), ("K2 rib".into(), false, true, None, rows));
        assert_eq!(read("brim stretched: 22 / 5½ in"), ("brim".into(), true, true, sts, None));
        for text in ["before washing", "unwashed", ", before washing", "(relaxed, before washing)"]
        {
            let text = format!("brim {text}: 22 sts / 11 cm");
            assert_eq!(read(&text), ("brim".into(), false, false, sts, None), "{text}");
        }
        let text = "brim before washing, stretched: 22 sts / 11 cm";
        assert_eq!(read(text), ("brim".into(), true, false, sts, None));
        for text in [
            "",
            "22 sts / 11 cm",
            ": 22 sts / 11 cm",
            "stretched: 22 sts / 11 cm",
            "body: 22 sts",
            "body: 0 sts / 11 cm",
            "body: 22 sts / 0 cm",
            "body: 22 sts, 0 rows / 11 cm",
            "a{b}: 22 sts / 11 cm",
            "2: 22 sts / 11 cm",
        ] {
            assert_eq!(counting(text), Err(ReadError::Counting(text.to_owned())), "{text}");
        }
        let rows_stretched = counting("brim stretched: 22 sts, 30 rows / 11 cm");
        assert_eq!(rows_stretched, Err(ReadError::RowsStretched));
        let fine = "body: 22.000001 sts / 11 cm";
        assert_eq!(counting(fine), Err(ReadError::TooFine(fine.to_owned())));
        for large in ["body: 2200 sts / 11 cm", "body: 22 sts / 1 mm", "body: 1 st / 11 cm"] {
            assert_eq!(counting(large), Err(ReadError::OutOfRange(large.to_owned())));
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
            let _ = (stitches(&text), rows(&text), multiple(&text), counting(&text));
        }
    }
}
