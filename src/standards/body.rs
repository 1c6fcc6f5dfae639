//! Body measurements of the trade's sizes.
//!
//! A table is as it is published, oddities and all: nothing is smoothed,
//! filled in or carried over from one table to the next. A measurement is a
//! range with both its ends, kept in the unit it is printed in, and says how
//! it was had. These are measurements of bodies; ease is another matter.

use super::people::Wearer;
use super::table::{BadTable, How, Record, ends_of, records};
use crate::measure::{Length, Unit, exact};
use std::sync::OnceLock;

/// A measurement taken of a body.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Landmark {
    /// Around the fullest part of the chest or bust.
    Chest,
    /// From the middle of the back of the neck over the shoulder to the wrist.
    BackNeckToWrist,
    /// From the back of the neck to the waist.
    BackWaistLength,
    /// From the back of the neck to the hip.
    BackHipLength,
    /// From shoulder to shoulder across the back.
    CrossBack,
    /// From the wrist to the underarm.
    ArmToUnderarm,
    /// Around the upper arm.
    UpperArm,
    /// From the shoulder to the underarm.
    ArmholeDepth,
    /// Around the waist.
    Waist,
    /// Around the hips.
    Hips,
}

impl Landmark {
    /// All of them, in the order the trade lists them.
    pub const ALL: [Self; 10] = [
        Self::Chest,
        Self::BackNeckToWrist,
        Self::BackWaistLength,
        Self::BackHipLength,
        Self::CrossBack,
        Self::ArmToUnderarm,
        Self::UpperArm,
        Self::ArmholeDepth,
        Self::Waist,
        Self::Hips,
    ];

    /// How it is written: `back neck to wrist`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Chest => "chest",
            Self::BackNeckToWrist => "back neck to wrist",
            Self::BackWaistLength => "back waist length",
            Self::BackHipLength => "back hip length",
            Self::CrossBack => "cross back",
            Self::ArmToUnderarm => "arm length to underarm",
            Self::UpperArm => "upper arm",
            Self::ArmholeDepth => "armhole depth",
            Self::Waist => "waist",
            Self::Hips => "hips",
        }
    }

    /// The landmark a word names; `bust` is the chest, `hip` the hips.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        match word {
            "bust" => Some(Self::Chest),
            "hip" => Some(Self::Hips),
            "armhole" => Some(Self::ArmholeDepth),
            _ => Self::ALL.into_iter().find(|landmark| landmark.word() == word),
        }
    }
}

/// One measurement of one size, from its low to its high end.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Span {
    /// The low end.
    pub low: Length,
    /// The high end; the low end again where one value is printed.
    pub high: Length,
    /// The unit it is printed in.
    pub unit: Unit,
    /// How it was had.
    pub how: How,
}

impl Span {
    fn read(record: &Record, unit: Unit, how: How, cell: &'static str) -> Result<Self, BadTable> {
        let (range, how) = match cell.strip_suffix(How::Read.word()) {
            Some(range) => (range, How::Read),
            None => (cell, how),
        };
        let ends = ends_of(range);
        let (Some(low), Some(high)) = (ends.low, ends.high) else {
            return Err(record.bad(format!("{cell:?} has an open end")));
        };
        let length = |end| record.number_in(end).map(|n| Length::new(n, unit));
        Ok(Self { low: length(low)?, high: length(high)?, unit, how })
    }

    /// Halfway between its ends.
    #[must_use]
    pub fn middle(self) -> Length {
        (self.low + self.high) * exact(1, 2)
    }
}

/// One size of a table.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct BodySize {
    /// As it is printed: `M`, `6`, `18 months`.
    pub name: &'static str,
    /// Whom it is for, as far as the table tells.
    pub wearer: Wearer,
    spans: Vec<(Landmark, Span)>,
}

impl BodySize {
    /// A measurement of this size, or `None` where the table has none.
    #[must_use]
    pub fn span(&self, landmark: Landmark) -> Option<Span> {
        self.spans().find(|(other, _)| *other == landmark).map(|(_, span)| span)
    }

    /// Every measurement of this size, in the order it is printed.
    pub fn spans(&self) -> impl Iterator<Item = (Landmark, Span)> + '_ {
        self.spans.iter().copied()
    }
}

/// A published table of body measurements.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct BodyTable {
    /// `woman`, `man`, `baby`, `child`, `letters woman`, `letters man`.
    pub name: &'static str,
    /// Its sizes, smallest first.
    pub sizes: Vec<BodySize>,
}

impl BodyTable {
    /// The size of this name: in any case, and with `mo`, `yr` and the like
    /// for months and years (`18 mo`, `6 years`).
    #[must_use]
    pub fn size(&self, name: &str) -> Option<&BodySize> {
        let wanted = age_in_full(name);
        self.sizes.iter().find(|size| size.name.eq_ignore_ascii_case(&wanted))
    }
}

/// `18 mo` as `18 months`, `6 years` as `6`.
fn age_in_full(name: &str) -> String {
    let name = name.trim();
    let digits = name.len() - name.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    let (number, unit) = name.split_at(digits);
    match unit.trim().trim_end_matches('.').to_ascii_lowercase().as_str() {
        "mo" | "mos" | "mth" | "mths" | "month" | "months" if digits > 0 => {
            format!("{number} months")
        }
        "y" | "yr" | "yrs" | "year" | "years" if digits > 0 => number.to_owned(),
        _ => name.to_owned(),
    }
}

struct File {
    name: &'static str,
    text: &'static str,
    /// Whom a size is for, by its name.
    wearer: fn(&str) -> Option<Wearer>,
}

macro_rules! files {
    ($($constant:ident $file:literal $name:literal $wearer:expr;)*) => {
        $(pub(super) const $constant: &str = include_str!(concat!("data/", $file));)*
        const FILES: &[File] = &[$(File { name: $name, text: $constant, wearer: $wearer }),*];
    };
}

files! {
    WOMAN "body-woman.csv" "woman" |_| Some(Wearer::Woman);
    MAN "body-man.csv" "man" |_| Some(Wearer::Man);
    BABY "body-baby.csv" "baby" |name| age(name.strip_suffix(" months")?, 1);
    CHILD "body-child.csv" "child" |name| age(name, 12);
    LETTERS_WOMAN "letters-woman.csv" "letters woman" |_| Some(Wearer::Woman);
    LETTERS_MAN "letters-man.csv" "letters man" |_| Some(Wearer::Man);
}

fn age(number: &str, months: u16) -> Option<Wearer> {
    Some(Wearer::Child { months: number.parse::<u16>().ok()?.checked_mul(months)? })
}

impl File {
    fn table(&self) -> Result<BodyTable, BadTable> {
        let rows = records(self.text, |record| {
            let landmark = record.word("landmark", Landmark::from_word)?;
            let (unit, how) = (record.unit()?, record.how()?);
            let cells = record.cells().iter().skip(3);
            cells
                .map(|&(size, cell)| {
                    let wearer = (self.wearer)(size)
                        .ok_or_else(|| record.bad(format!("size {size:?} is nobody's")))?;
                    Ok((size, wearer, landmark, Span::read(record, unit, how, cell)?))
                })
                .collect::<Result<Vec<_>, _>>()
        })?;
        let mut sizes: Vec<BodySize> = Vec::new();
        for (name, wearer, landmark, span) in rows.into_iter().flatten() {
            match sizes.iter_mut().find(|size| size.name == name) {
                Some(size) => size.spans.push((landmark, span)),
                None => sizes.push(BodySize { name, wearer, spans: vec![(landmark, span)] }),
            }
        }
        Ok(BodyTable { name: self.name, sizes })
    }
}

/// Every table.
#[must_use]
pub fn body_tables() -> &'static [BodyTable] {
    static TABLES: OnceLock<Vec<BodyTable>> = OnceLock::new();
    TABLES
        .get_or_init(|| FILES.iter().map(File::table).collect::<Result<_, _>>().unwrap_or_default())
}

/// The table a word names: its own name, a plural, or `youth` for `child`.
#[must_use]
pub fn body_table(word: &str) -> Option<&'static BodyTable> {
    let word = word.trim().to_lowercase();
    let name = match word.as_str() {
        "women" => "woman",
        "men" => "man",
        "babies" => "baby",
        "children" | "youth" | "kids" => "child",
        "letters women" => "letters woman",
        "letters men" => "letters man",
        other => other,
    };
    body_tables().iter().find(|table| table.name == name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_table_can_be_read_and_has_no_gap() {
        for file in FILES {
            let table = file.table().unwrap_or_else(|bad| panic!("{}: {bad:?}", file.name));
            let landmarks = table.sizes.first().map_or(0, |size| size.spans.len());
            assert!(landmarks > 0 && table.sizes.len() > 4, "{}", file.name);
            for size in &table.sizes {
                assert_eq!(size.spans.len(), landmarks, "{} {}", file.name, size.name);
                assert!(size.spans().all(|(_, span)| span.low <= span.high), "{}", size.name);
            }
        }
        assert_eq!(body_tables().len(), FILES.len());
    }

    #[test]
    fn landmarks_are_found_by_the_trades_words() {
        for landmark in Landmark::ALL {
            assert_eq!(Landmark::from_word(landmark.word()), Some(landmark));
        }
        assert_eq!(Landmark::from_word("bust"), Some(Landmark::Chest));
        assert_eq!(Landmark::from_word("nose"), None);
    }

    #[test]
    fn sizes_are_found_as_people_write_them() {
        let name = |table: &str, size: &str| body_table(table)?.size(size).map(|size| size.name);
        assert_eq!(name("Women", "xs"), Some("XS"));
        assert_eq!(name("baby", "18 mo."), Some("18 months"));
        assert_eq!(name("babies", "18months"), Some("18 months"));
        assert_eq!(name("youth", "12"), Some("12"));
        assert_eq!(name("child", "6 yrs"), Some("6"));
        assert_eq!(name("child", "3"), None);
        assert_eq!(name("dog", "M"), None);
    }

    #[test]
    fn a_size_knows_whom_it_is_for() {
        let wearer = |table: &str, size: &str| Some(body_table(table)?.size(size)?.wearer);
        assert_eq!(wearer("woman", "2X"), Some(Wearer::Woman));
        assert_eq!(wearer("baby", "6 months"), Some(Wearer::Child { months: 6 }));
        assert_eq!(wearer("child", "4"), Some(Wearer::Child { months: 48 }));
    }

    #[test]
    fn one_cell_may_be_had_in_another_way_than_its_row() {
        let how = |size: &str| Some(body_table("child")?.size(size)?.span(Landmark::Chest)?.how);
        assert_eq!(how("8"), Some(How::Read));
        assert_eq!(how("12"), Some(How::Memory));
    }
}
