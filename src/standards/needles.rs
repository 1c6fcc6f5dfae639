//! Needle sizes: metric, US and old UK; one or two sizes smaller.
//!
//! A needle is known by its thickness. US and old UK numbers are names for
//! thicknesses, and the charts do not agree on all of them; where they
//! disagree this module takes the size that [`needles`] gives without doubt
//! and still understands the other.
//!
//! **A size smaller.** The steps are the US numbers on which all charts
//! agree (000, 00, 0, 1, ... 10, 10 1/2, 11, 13, ...). 1 1/2 (2.5 mm) and
//! 2 1/2 (3 mm) are no steps of their own: charts disagree on them, and a
//! pattern that says "two sizes smaller" counts whole numbers. A size given
//! as an old UK number steps through the old UK numbers instead. "One size
//! smaller" than a needle that is no step (7 mm has no US number) is the
//! nearest step that is thinner.

use super::table::{BadTable, How, Record, records};
use crate::measure::{Length, Unit, decimal, exact, parse_exact};
use std::fmt;
use std::str::FromStr;
use std::sync::OnceLock;

pub(super) const DATA: &str = include_str!("data/needles.csv");

/// One line of the needle table.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Needle {
    /// The thickness.
    pub metric: Length,
    /// The US number, where it has one.
    pub us: Option<NeedleNumber>,
    /// The old UK number, where it has one.
    pub old_uk: Option<NeedleNumber>,
    /// How the line was had.
    pub how: How,
    /// What the charts disagree on; empty where they agree.
    pub note: &'static str,
}

/// The number of a needle in the US or the old UK system. `00` and `0` are
/// different sizes, so it is a name rather than a number.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct NeedleNumber {
    /// As it is written: `000`, `8`, `10 1/2`.
    pub name: &'static str,
    /// Whether charts disagree on the number of this needle.
    pub disputed: bool,
}

impl NeedleNumber {
    fn read(cell: &'static str) -> Option<Self> {
        match cell.strip_prefix('(').and_then(|rest| rest.strip_suffix(')')) {
            Some(name) => Some(Self { name, disputed: true }),
            None if cell.is_empty() => None,
            None => Some(Self { name: cell, disputed: false }),
        }
    }

    /// Whether `written` is this number: `10½`, `10.5` and `10-1/2` are all `10 1/2`.
    fn is_written(self, written: &str) -> bool {
        let all_noughts = |text: &str| text.bytes().all(|b| b == b'0');
        if all_noughts(self.name) || all_noughts(written) {
            return self.name == written;
        }
        let apart = written.replace("-1/2", " 1/2");
        parse_exact(&apart).is_ok_and(|n| parse_exact(self.name) == Ok(n))
    }
}

impl Needle {
    fn read(record: &Record) -> Result<Self, BadTable> {
        Ok(Self {
            metric: record.length("mm", Unit::Mm)?,
            us: NeedleNumber::read(record.text("us")?),
            old_uk: NeedleNumber::read(record.text("uk")?),
            how: record.how()?,
            note: record.text("note")?,
        })
    }
}

/// The needle table, thinnest first. A thickness has two lines where charts
/// give it two numbers.
#[must_use]
pub fn needles() -> &'static [Needle] {
    static TABLE: OnceLock<Vec<Needle>> = OnceLock::new();
    TABLE.get_or_init(|| records(DATA, Needle::read).unwrap_or_default())
}

/// A needle size as an author gives it: by its millimetres, its US number or
/// its old UK number.
///
/// Reads `4 mm`, `US 6`, `6 US`, `US 10 1/2`, `10½ US`, `UK 8`, `old UK 8`,
/// and several names of one needle together: `US 6 (4 mm)`, `4 mm / US 6`.
/// A bare `6` is refused, since it is 4 mm in the US and 5 mm in the old UK
/// system; so are names that are not one needle's, such as `US 6 (5 mm)`.
///
/// Prints as `4 mm (US 6)`: millimetres first, as they alone mean the same
/// everywhere, then the number it was given by (for one given in millimetres
/// its US number, if all charts agree on it).
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct NeedleSize {
    metric: Length,
    given: Given,
}

/// What a size was given by first.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Given {
    Metric,
    Us(&'static str),
    OldUk(&'static str),
}

/// Why a text is no needle size.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum NeedleError {
    /// Not a number with `mm`, `US` or `UK`.
    NotANeedle,
    /// No needle has this US number.
    NoSuchUs,
    /// No needle has this old UK number.
    NoSuchOldUk,
    /// Thinner than half a millimetre or thicker than 50 mm.
    OutOfRange,
    /// Two names that are not one needle's: `US 6 (5 mm)`.
    Disagree {
        /// What the first name means.
        one: Length,
        /// What the other name means.
        other: Length,
    },
}

impl fmt::Display for NeedleError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotANeedle => f.write_str("not a needle size: say 4 mm, US 6 or UK 8"),
            Self::NoSuchUs => f.write_str("no needle has this US number"),
            Self::NoSuchOldUk => f.write_str("no needle has this old UK number"),
            Self::OutOfRange => f.write_str("a needle is between 0.5 and 50 mm thick"),
            Self::Disagree { one, other } => {
                write!(f, "one of these is {} and the other {}", in_mm(*one), in_mm(*other))
            }
        }
    }
}

impl std::error::Error for NeedleError {}

impl NeedleSize {
    /// A needle of this thickness, given in millimetres.
    ///
    /// # Errors
    /// [`NeedleError::OutOfRange`] unless it is between 0.5 and 50 mm thick.
    pub fn of_thickness(thickness: Length) -> Result<Self, NeedleError> {
        let mm = thickness.amount(Unit::Mm);
        if mm < exact(1, 2) || mm > exact(50, 1) {
            return Err(NeedleError::OutOfRange);
        }
        Ok(Self { metric: thickness, given: Given::Metric })
    }

    /// The thickness.
    #[must_use]
    pub const fn metric(self) -> Length {
        self.metric
    }

    /// The US number it was given by, or else the one all charts agree on.
    #[must_use]
    pub fn us(self) -> Option<&'static str> {
        match self.given {
            Given::Us(name) => Some(name),
            _ => settled(self.metric, |needle| needle.us),
        }
    }

    /// The old UK number, where the needle has one.
    #[must_use]
    pub fn old_uk(self) -> Option<&'static str> {
        match self.given {
            Given::OldUk(name) => Some(name),
            _ => settled(self.metric, |needle| needle.old_uk),
        }
    }

    /// The needle `sizes` sizes smaller (see the module for what a size is);
    /// `None` where there is none so thin.
    #[must_use]
    pub fn smaller_by(self, sizes: u32) -> Option<Self> {
        let thinner = self.steps().rev().filter(|step| step.metric < self.metric);
        self.stepped(sizes, thinner)
    }

    /// The needle `sizes` sizes larger; `None` where there is none so thick.
    #[must_use]
    pub fn larger_by(self, sizes: u32) -> Option<Self> {
        let thicker = self.steps().filter(|step| step.metric > self.metric);
        self.stepped(sizes, thicker)
    }

    fn stepped(self, sizes: u32, mut steps: impl Iterator<Item = Self>) -> Option<Self> {
        let Some(between) = sizes.checked_sub(1) else { return Some(self) };
        steps.nth(usize::try_from(between).ok()?)
    }

    /// The needles that count as a size, thinnest first, given as this one is.
    fn steps(self) -> impl DoubleEndedIterator<Item = Self> {
        needles().iter().filter_map(move |needle| {
            let name = |number: Option<NeedleNumber>| {
                number.filter(|number| !number.disputed).map(|number| number.name)
            };
            let given = match self.given {
                Given::Metric => name(needle.us).map(|_| Given::Metric),
                Given::Us(_) => name(needle.us).map(Given::Us),
                Given::OldUk(_) => name(needle.old_uk).map(Given::OldUk),
            };
            given.map(|given| Self { metric: needle.metric, given })
        })
    }
}

/// The number all charts agree on for a thickness.
fn settled(
    metric: Length,
    number: impl Fn(&Needle) -> Option<NeedleNumber>,
) -> Option<&'static str> {
    let mut lines = needles().iter().filter(|needle| needle.metric == metric);
    lines.find_map(|needle| number(needle).filter(|number| !number.disputed)).map(|n| n.name)
}

impl FromStr for NeedleSize {
    type Err = NeedleError;

    fn from_str(text: &str) -> Result<Self, NeedleError> {
        let lower = text.to_lowercase();
        let mut names = names_in(&lower).into_iter().map(needles_named);
        let mut fits = names.next().ok_or(NeedleError::NotANeedle)??;
        for also in names {
            let also = also?;
            let both: Vec<_> = fits
                .iter()
                .copied()
                .filter(|fit| also.iter().any(|other| other.metric == fit.metric))
                .collect();
            if let ([one, ..], [other, ..], true) = (&*fits, &*also, both.is_empty()) {
                return Err(NeedleError::Disagree { one: one.metric, other: other.metric });
            }
            fits = both;
        }
        fits.first().copied().ok_or(NeedleError::NotANeedle)
    }
}

/// The names a text gives one needle: parted by brackets, commas or `=`, and
/// by a `/` that is not a fraction's.
fn names_in(text: &str) -> Vec<&str> {
    let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
    let mut names = Vec::new();
    let mut rest = text;
    let parts_names = |whole: &str, at: usize, c: char| match c {
        '(' | ')' | ',' | '=' => true,
        '/' => {
            let before = whole.get(..at).and_then(|t| t.chars().next_back());
            let after = whole.get(at + 1..).and_then(|t| t.chars().next());
            !(digit(before) && digit(after))
        }
        _ => false,
    };
    while let Some((at, c)) = rest.char_indices().find(|&(at, c)| parts_names(rest, at, c)) {
        names.push(rest.get(..at).unwrap_or_default());
        rest = rest.get(at + c.len_utf8()..).unwrap_or_default();
    }
    names.push(rest);
    names.into_iter().map(str::trim).filter(|name| !name.is_empty()).collect()
}

/// Every needle that one name may mean, the one to take first.
fn needles_named(name: &str) -> Result<Vec<NeedleSize>, NeedleError> {
    if let Some(number) = name.strip_suffix("mm") {
        let mm = parse_exact(number).map_err(|_| NeedleError::NotANeedle)?;
        return Ok(vec![NeedleSize::of_thickness(Length::new(mm, Unit::Mm))?]);
    }
    if let Some(number) = without_word(name, &["us", "u.s."]) {
        let fits = numbered(number, |needle| needle.us, Given::Us);
        return if fits.is_empty() { Err(NeedleError::NoSuchUs) } else { Ok(fits) };
    }
    let name = name.strip_prefix("old").map_or(name, str::trim_start);
    if let Some(number) = without_word(name, &["uk", "u.k."]) {
        let fits = numbered(number, |needle| needle.old_uk, Given::OldUk);
        return if fits.is_empty() { Err(NeedleError::NoSuchOldUk) } else { Ok(fits) };
    }
    Err(NeedleError::NotANeedle)
}

/// The needles with a number, those first on whose number all charts agree.
fn numbered(
    written: &str,
    number: impl Fn(&Needle) -> Option<NeedleNumber>,
    given: impl Fn(&'static str) -> Given,
) -> Vec<NeedleSize> {
    let lines = needles().iter();
    let named = lines.filter_map(|needle| number(needle).map(|number| (needle.metric, number)));
    let mut fits: Vec<_> = named.filter(|(_, number)| number.is_written(written)).collect();
    fits.sort_by_key(|(_, number)| number.disputed);
    fits.into_iter()
        .map(|(metric, number)| NeedleSize { metric, given: given(number.name) })
        .collect()
}

/// What is left of `us 6`, `6 us`, `us size 6` or `us no. 6` without its words.
fn without_word<'a>(name: &'a str, words: &[&str]) -> Option<&'a str> {
    let number = words.iter().find_map(|word| {
        name.strip_prefix(word).or_else(|| name.strip_suffix(word)).map(str::trim)
    })?;
    let small = ["size", "no.", "no", "#"];
    let bare = small.iter().find_map(|word| number.strip_prefix(word)).unwrap_or(number);
    Some(bare.trim())
}

fn in_mm(length: Length) -> String {
    format!("{} mm", decimal(length.amount(Unit::Mm), 2))
}

impl fmt::Display for NeedleSize {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&in_mm(self.metric))?;
        match (self.given, self.us()) {
            (Given::OldUk(name), _) => write!(f, " (old UK {name})"),
            (_, Some(name)) => write!(f, " (US {name})"),
            (_, None) => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn size(text: &str) -> NeedleSize {
        text.parse().unwrap_or_else(|e| panic!("{text}: {e}"))
    }

    #[test]
    fn the_table_can_be_read() {
        let table = records(DATA, Needle::read).unwrap();
        assert_eq!(table.len(), 28);
        assert!(table.is_sorted_by_key(|needle| needle.metric), "thinnest first");
    }

    #[test]
    fn reads_what_people_write() {
        for (text, prints) in [
            ("4 mm", "4 mm (US 6)"),
            ("4.0mm", "4 mm (US 6)"),
            ("US 6", "4 mm (US 6)"),
            ("6 US", "4 mm (US 6)"),
            ("us6", "4 mm (US 6)"),
            ("U.S. size 6", "4 mm (US 6)"),
            ("US #6", "4 mm (US 6)"),
            ("UK 8", "4 mm (old UK 8)"),
            ("old UK 8", "4 mm (old UK 8)"),
            ("Old UK no. 8", "4 mm (old UK 8)"),
            ("8 UK", "4 mm (old UK 8)"),
            ("US 10 1/2", "6.5 mm (US 10 1/2)"),
            ("US 10½", "6.5 mm (US 10 1/2)"),
            ("US 10.5", "6.5 mm (US 10 1/2)"),
            ("10-1/2 US", "6.5 mm (US 10 1/2)"),
            ("US 0", "2 mm (US 0)"),
            ("US 00", "1.75 mm (US 00)"),
            ("US 000", "1.5 mm (US 000)"),
            ("UK 000", "10 mm (old UK 000)"),
            ("7 mm", "7 mm"),
            ("3.6 mm", "3.6 mm"),
            ("US 6 (4 mm)", "4 mm (US 6)"),
            ("4 mm (US 6, UK 8)", "4 mm (US 6)"),
            ("4 mm/US 6", "4 mm (US 6)"),
            ("6.5 mm = US 10 1/2", "6.5 mm (US 10 1/2)"),
        ] {
            assert_eq!(size(text).to_string(), prints, "{text}");
        }
    }

    #[test]
    fn what_it_prints_it_reads_again() {
        for needle in needles() {
            let metric = NeedleSize::of_thickness(needle.metric).unwrap();
            let us = needle.us.map(|number| size(&format!("US {}", number.name)));
            let uk = needle.old_uk.map(|number| size(&format!("UK {}", number.name)));
            for printed in [Some(metric), us, uk].into_iter().flatten() {
                assert_eq!(size(&printed.to_string()).metric(), printed.metric(), "{printed}");
            }
        }
    }

    #[test]
    fn where_charts_disagree_both_are_understood() {
        assert_eq!(size("US 17").to_string(), "12.75 mm (US 17)");
        assert_eq!(size("US 17 (12 mm)").to_string(), "12 mm (US 17)");
        assert_eq!(size("US 35").to_string(), "19 mm (US 35)");
        assert_eq!(size("20 mm (US 35)").to_string(), "20 mm");
        assert_eq!(size("US 36").to_string(), "20 mm (US 36)");
        assert_eq!(size("US 1 1/2").to_string(), "2.5 mm (US 1 1/2)");
        assert_eq!(size("2.5 mm").to_string(), "2.5 mm");
    }

    #[test]
    fn refuses_what_is_no_needle() {
        for (text, error) in [
            ("", NeedleError::NotANeedle),
            ("6", NeedleError::NotANeedle),
            ("mm", NeedleError::NotANeedle),
            ("size 6", NeedleError::NotANeedle),
            ("4 cm", NeedleError::NotANeedle),
            ("()", NeedleError::NotANeedle),
            ("-4 mm", NeedleError::OutOfRange),
            ("400 mm", NeedleError::OutOfRange),
            ("US 12", NeedleError::NoSuchUs),
            ("US", NeedleError::NoSuchUs),
            ("US 6-8", NeedleError::NoSuchUs),
            ("US 0000", NeedleError::NoSuchUs),
            ("UK 15", NeedleError::NoSuchOldUk),
            ("US 6 (oak)", NeedleError::NotANeedle),
        ] {
            assert_eq!(text.parse::<NeedleSize>(), Err(error), "{text}");
        }
    }

    proptest::proptest! {
        #[test]
        fn any_text_is_a_size_or_an_error(text in "[ -~½]{0,12}|(us|uk|mm|[0-9 ./()½-]){1,6}") {
            let _ = text.parse::<NeedleSize>();
        }
    }

    #[test]
    fn halves_that_charts_dispute_are_no_steps() {
        let one_smaller = |text| size(text).smaller_by(1).map(|n| n.to_string());
        assert_eq!(one_smaller("US 2").as_deref(), Some("2.25 mm (US 1)"));
        assert_eq!(one_smaller("US 3").as_deref(), Some("2.75 mm (US 2)"));
        assert_eq!(one_smaller("2.5 mm").as_deref(), Some("2.25 mm (US 1)"));
        assert_eq!(one_smaller("3 mm").as_deref(), Some("2.75 mm (US 2)"));
        assert_eq!(one_smaller("US 11").as_deref(), Some("6.5 mm (US 10 1/2)"));
        assert_eq!(one_smaller("7 mm").as_deref(), Some("6.5 mm (US 10 1/2)"));
        assert_eq!(one_smaller("UK 10").as_deref(), Some("3 mm (old UK 11)"));
        assert_eq!(one_smaller("US 000"), None);
        assert_eq!(size("4 mm").smaller_by(0), Some(size("4 mm")));
        assert_eq!(size("4 mm").smaller_by(u32::MAX), None);
    }

    #[test]
    fn larger_undoes_smaller() {
        for needle in needles().iter().filter(|n| n.us.is_some_and(|us| !us.disputed)) {
            let this = NeedleSize::of_thickness(needle.metric).unwrap();
            for sizes in 1..4 {
                if let Some(smaller) = this.smaller_by(sizes) {
                    assert_eq!(smaller.larger_by(sizes), Some(this), "{this}");
                }
            }
        }
    }
}
