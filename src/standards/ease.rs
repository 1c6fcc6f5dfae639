//! The trade's words for ease, and the usual ease of hats and socks.
//!
//! The words have changed meaning over the years, so a word alone says
//! nothing: a pattern stores the number. Both meanings are kept here.

use super::table::{BadTable, Between, How, Record, records};
use crate::measure::{Exact, Length, Unit};
use std::sync::OnceLock;

pub(super) const WORDS: &str = include_str!("data/ease.csv");
pub(super) const ACCESSORIES: &str = include_str!("data/ease-accessories.csv");

/// Which meaning of an ease word.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum EaseEdition {
    /// The current one.
    Current,
    /// The one older patterns use.
    Older,
}

/// A word for ease, with one of its meanings.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct EaseWord {
    /// The word: `classic`.
    pub word: &'static str,
    /// In which meaning.
    pub edition: EaseEdition,
    /// Over the body; negative where the garment is smaller.
    pub ease: Between<Length>,
    /// How it was had.
    pub how: How,
}

impl EaseWord {
    fn read(record: &Record) -> Result<Self, BadTable> {
        let inches = |column| -> Result<Option<Length>, BadTable> {
            Ok(record.optional_number(column)?.map(|n| Length::new(n, Unit::In)))
        };
        Ok(Self {
            word: record.text("word")?,
            edition: record.word("edition", |cell| match cell {
                "current" => Some(EaseEdition::Current),
                "older" => Some(EaseEdition::Older),
                _ => None,
            })?,
            ease: Between { low: inches("low")?, high: inches("high")? },
            how: record.how()?,
        })
    }
}

/// The ease words, closest first, the current meanings before the older.
#[must_use]
pub fn ease_words() -> &'static [EaseWord] {
    static TABLE: OnceLock<Vec<EaseWord>> = OnceLock::new();
    TABLE.get_or_init(|| records(WORDS, EaseWord::read).unwrap_or_default())
}

/// What a word for ease means in one of its meanings.
#[must_use]
pub fn ease_word(word: &str, edition: EaseEdition) -> Option<&'static EaseWord> {
    let word = word.trim();
    ease_words().iter().find(|e| e.edition == edition && e.word.eq_ignore_ascii_case(word))
}

/// How much smaller than the body a hat or a sock usually is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct AccessoryEase {
    /// `hat`, `sock`.
    pub item: &'static str,
    /// `stockinette`, `stranded`, `rib`; empty for any.
    pub fabric: &'static str,
    /// Its girth as a part of the body's.
    pub of_body: Between<Exact>,
    /// Or the body's girth less so much.
    pub or_less: Length,
}

impl AccessoryEase {
    fn read(record: &Record) -> Result<Self, BadTable> {
        Ok(Self {
            item: record.text("item")?,
            fabric: record.text("fabric")?,
            of_body: record.numbers("of body")?,
            or_less: record.length("or less in", Unit::In)?,
        })
    }
}

/// The usual ease of accessories.
#[must_use]
pub fn accessory_ease() -> &'static [AccessoryEase] {
    static TABLE: OnceLock<Vec<AccessoryEase>> = OnceLock::new();
    TABLE.get_or_init(|| records(ACCESSORIES, AccessoryEase::read).unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_tables_can_be_read() {
        assert_eq!(records(WORDS, EaseWord::read).unwrap().len(), 10);
        assert_eq!(records(ACCESSORIES, AccessoryEase::read).unwrap().len(), 4);
    }

    #[test]
    fn a_word_has_two_meanings() {
        let low = |edition| ease_word("Close", edition).unwrap().ease.low;
        assert_eq!(low(EaseEdition::Current), Some(Length::zero()));
        assert_eq!(low(EaseEdition::Older), Some(Length::inches(1)));
        assert_eq!(ease_word("huge", EaseEdition::Current), None);
    }
}
