//! Measured people: what an opening must pass, and what follows the chest.
//!
//! A neck must pass a head, a cuff a hand, a sock leg the heel. How large
//! those are is taken from people who were measured, not from the trade's
//! older lists, which lie below every measured set ([`older_heads`] keeps the
//! one list to show that). The limit is the 95th percentile: an opening that
//! passes it goes on 95 people in 100.
//!
//! Where nobody was measured this module says so: it knows no child's hand
//! or heel, and between five years and the grown people of the adult set a
//! child's head is only drawn in as a straight line.

use super::table::{BadTable, Record, records};
use crate::measure::{Exact, Length, Unit, exact};
use std::sync::OnceLock;

pub(super) const ADULTS: &str = include_str!("data/people-adult.csv");
pub(super) const CHILD_HEADS: &str = include_str!("data/heads-child.csv");
pub(super) const OLDER_HEADS: &str = include_str!("data/heads-older.csv");
pub(super) const FITS: &str = include_str!("data/fits.csv");

/// A part of the body that was measured.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Part {
    /// Around the head, over the hair: a neck or a brim passes it.
    Head,
    /// Around the hand: a cuff passes it.
    Hand,
    /// Around the heel and the ankle: a sock leg passes it.
    Heel,
    /// Around the wrist.
    Wrist,
    /// Around the chest or bust.
    Chest,
    /// Around the upper arm, flexed.
    FlexedBiceps,
    /// Around the base of the neck.
    NeckBase,
    /// Around the ball of the foot.
    BallOfFoot,
    /// From the heel to the longest toe.
    FootLength,
    /// Around the ankle.
    Ankle,
    /// From the back of the neck to the waist.
    BackWaistLength,
    /// Across the back.
    CrossBack,
}

impl Part {
    /// All of them.
    pub const ALL: [Self; 12] = [
        Self::Head,
        Self::Hand,
        Self::Heel,
        Self::Wrist,
        Self::Chest,
        Self::FlexedBiceps,
        Self::NeckBase,
        Self::BallOfFoot,
        Self::FootLength,
        Self::Ankle,
        Self::BackWaistLength,
        Self::CrossBack,
    ];

    /// How it is written: `ball of foot`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Head => "head",
            Self::Hand => "hand",
            Self::Heel => "heel",
            Self::Wrist => "wrist",
            Self::Chest => "chest",
            Self::FlexedBiceps => "flexed biceps",
            Self::NeckBase => "neck base",
            Self::BallOfFoot => "ball of foot",
            Self::FootLength => "foot length",
            Self::Ankle => "ankle",
            Self::BackWaistLength => "back waist length",
            Self::CrossBack => "cross back",
        }
    }

    /// The part a word names.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|part| part.word() == word)
    }
}

/// The women or the men of a measured set.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum People {
    /// The women.
    Women,
    /// The men.
    Men,
}

impl People {
    fn from_word(word: &str) -> Option<Self> {
        match word {
            "women" => Some(Self::Women),
            "men" => Some(Self::Men),
            _ => None,
        }
    }
}

/// What one set of people measured, in percentiles.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Measured {
    /// What was measured.
    pub part: Part,
    /// Of whom.
    pub people: People,
    /// In which set: `ANSUR II`, `bdims`.
    pub set: &'static str,
    /// 5 in 100 measure less.
    pub p5: Length,
    /// Half measure less.
    pub p50: Length,
    /// 95 in 100 measure less.
    pub p95: Length,
}

impl Measured {
    fn read(record: &Record) -> Result<Self, BadTable> {
        let unit = record.unit()?;
        Ok(Self {
            part: record.word("part", Part::from_word)?,
            people: record.word("people", People::from_word)?,
            set: record.text("set")?,
            p5: record.length("p5", unit)?,
            p50: record.length("p50", unit)?,
            p95: record.length("p95", unit)?,
        })
    }
}

/// Everything measured of grown people.
#[must_use]
pub fn measured_adults() -> &'static [Measured] {
    static TABLE: OnceLock<Vec<Measured>> = OnceLock::new();
    TABLE.get_or_init(|| records(ADULTS, Measured::read).unwrap_or_default())
}

/// Children's heads at one age, in percentiles.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct ChildHead {
    /// The age.
    pub months: u16,
    /// The 5th, 50th, 95th and 97th percentile of girls.
    pub girls: [Length; 4],
    /// The 5th, 50th, 95th and 97th percentile of boys.
    pub boys: [Length; 4],
}

impl ChildHead {
    fn read(record: &Record) -> Result<Self, BadTable> {
        let of = |who: &str| -> Result<[Length; 4], BadTable> {
            let at = |percentile| record.length(&format!("{who} {percentile}"), Unit::Cm);
            Ok([at("p5")?, at("p50")?, at("p95")?, at("p97")?])
        };
        Ok(Self {
            months: record.word("months", |cell| cell.parse().ok())?,
            girls: of("girls")?,
            boys: of("boys")?,
        })
    }

    fn passes(&self) -> Range {
        let ([g5, g50, g95, _], [b5, b50, b95, _]) = (self.girls, self.boys);
        Range { least: g5.min(b5), usual: halfway(g50, b50), limit: g95.max(b95) }
    }
}

/// Children's heads, a line a month, from birth to five years.
#[must_use]
pub fn child_heads() -> &'static [ChildHead] {
    static TABLE: OnceLock<Vec<ChildHead>> = OnceLock::new();
    TABLE.get_or_init(|| records(CHILD_HEADS, ChildHead::read).unwrap_or_default())
}

/// One line of the trade's older head list.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct OlderHead {
    /// Whose head.
    pub wearer: &'static str,
    /// Around the head.
    pub head: Length,
}

impl OlderHead {
    fn read(record: &Record) -> Result<Self, BadTable> {
        Ok(Self { wearer: record.text("wearer")?, head: record.length("in", Unit::In)? })
    }
}

/// The trade's older head list (from memory). It lies below the measured
/// sets; nothing here goes by it.
#[must_use]
pub fn older_heads() -> &'static [OlderHead] {
    static TABLE: OnceLock<Vec<OlderHead>> = OnceLock::new();
    TABLE.get_or_init(|| records(OLDER_HEADS, OlderHead::read).unwrap_or_default())
}

/// Whom a garment is for, as far as it matters to what it must pass.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Wearer {
    /// A woman.
    Woman,
    /// A man.
    Man,
    /// Any grown person.
    Adult,
    /// A child of this age. A size for an age is taken at that age exactly.
    Child {
        /// The age in months.
        months: u16,
    },
}

/// The age from which a child is taken for an adult: the adult set starts at 17 years.
const GROWN: u16 = 17 * 12;

/// How a range was come by.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Basis {
    /// Such people were measured.
    Measured,
    /// Nobody of that age was: a straight line between those who were.
    Between,
}

/// How large a part of the body is that an opening must pass.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct PassRange {
    /// 5 in 100 of the smaller group are less.
    pub least: Length,
    /// The median, halfway between those of both groups where there are two.
    pub usual: Length,
    /// 95 in 100 of the larger group are less: an opening that passes this goes on.
    pub limit: Length,
    /// Whether such people were measured.
    pub basis: Basis,
}

#[derive(Clone, Copy)]
struct Range {
    least: Length,
    usual: Length,
    limit: Length,
}

impl Range {
    fn on(self, basis: Basis) -> PassRange {
        let Self { least, usual, limit } = self;
        PassRange { least, usual, limit, basis }
    }

    /// `share` of the way from this range to another.
    fn toward(self, other: Self, share: Exact) -> Self {
        let at = |from: Length, to: Length| from + (to - from) * share;
        Self {
            least: at(self.least, other.least),
            usual: at(self.usual, other.usual),
            limit: at(self.limit, other.limit),
        }
    }
}

fn halfway(one: Length, other: Length) -> Length {
    (one + other) * exact(1, 2)
}

/// What an opening must pass: how large this part is in such wearers.
///
/// Adults by the ANSUR II percentiles, children's heads by the WHO ones. For
/// a child past five years a head is on a straight line to the adults' at 17
/// ([`Basis::Between`]). `None` where nothing is known: any other part of a child.
#[must_use]
pub fn passes(part: Part, wearer: Wearer) -> Option<PassRange> {
    let adult = || {
        let (women, men) = (adults(part, People::Women)?, adults(part, People::Men)?);
        Some(Range {
            least: women.least.min(men.least),
            usual: halfway(women.usual, men.usual),
            limit: women.limit.max(men.limit),
        })
    };
    let range = match wearer {
        Wearer::Woman => adults(part, People::Women)?,
        Wearer::Man => adults(part, People::Men)?,
        Wearer::Adult => adult()?,
        Wearer::Child { months } if months >= GROWN => adult()?,
        Wearer::Child { months } if part == Part::Head => return head_at(months, adult()?),
        Wearer::Child { .. } => return None,
    };
    Some(range.on(Basis::Measured))
}

fn adults(part: Part, people: People) -> Option<Range> {
    let all = measured_adults().iter();
    // The first set that has the part: the larger one comes first.
    all.copied()
        .find(|measured| measured.part == part && measured.people == people)
        .map(|measured| Range { least: measured.p5, usual: measured.p50, limit: measured.p95 })
}

fn head_at(months: u16, grown: Range) -> Option<PassRange> {
    if let Some(head) = child_heads().iter().find(|head| head.months == months) {
        return Some(head.passes().on(Basis::Measured));
    }
    let oldest = child_heads().last()?;
    let past = months.checked_sub(oldest.months)?;
    let share = exact(i64::from(past), i64::from(GROWN - oldest.months));
    Some(oldest.passes().toward(grown, share).on(Basis::Between))
}

/// How a part of the body follows the chest: a straight line fitted to people.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct ChestFit {
    /// The part.
    pub part: Part,
    /// Of whom.
    pub people: People,
    /// Where the line starts, at no chest at all.
    pub start: Length,
    /// Length of the part for each length of chest.
    pub slope: Exact,
    /// The correlation, where it was taken down.
    pub r: Option<Exact>,
}

impl ChestFit {
    fn read(record: &Record) -> Result<Self, BadTable> {
        Ok(Self {
            part: record.word("part", Part::from_word)?,
            people: record.word("people", People::from_word)?,
            start: record.length("start", Unit::Cm)?,
            slope: record.number("slope")?,
            r: record.optional_number("r")?,
        })
    }

    /// The part of a body with this chest: `start + slope x chest`.
    #[must_use]
    pub fn at(&self, chest: Length) -> Length {
        self.start + chest * self.slope
    }
}

/// Every fitted line.
#[must_use]
pub fn chest_fits() -> &'static [ChestFit] {
    static TABLE: OnceLock<Vec<ChestFit>> = OnceLock::new();
    TABLE.get_or_init(|| records(FITS, ChestFit::read).unwrap_or_default())
}

/// How a part follows the chest in such people, where that was fitted. Wrists
/// and lengths hardly do: never scale them by the chest.
#[must_use]
pub fn chest_fit(part: Part, people: People) -> Option<&'static ChestFit> {
    chest_fits().iter().find(|fit| fit.part == part && fit.people == people)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn limit(part: Part, wearer: Wearer) -> Option<Length> {
        passes(part, wearer).map(|range| range.limit)
    }

    #[test]
    fn every_table_can_be_read() {
        assert_eq!(records(ADULTS, Measured::read).unwrap().len(), 26);
        assert_eq!(records(CHILD_HEADS, ChildHead::read).unwrap().len(), 61);
        assert_eq!(records(OLDER_HEADS, OlderHead::read).unwrap().len(), 4);
        assert_eq!(records(FITS, ChestFit::read).unwrap().len(), 6);
    }

    #[test]
    fn every_part_of_an_adult_is_known() {
        for part in Part::ALL {
            let range = passes(part, Wearer::Adult).unwrap();
            assert!(range.least < range.usual && range.usual < range.limit, "{}", part.word());
            assert_eq!(Part::from_word(part.word()), Some(part));
        }
    }

    #[test]
    fn an_adult_opening_passes_women_and_men() {
        for part in Part::ALL {
            let adult = limit(part, Wearer::Adult);
            assert!(adult >= limit(part, Wearer::Woman) && adult >= limit(part, Wearer::Man));
        }
    }

    #[test]
    fn what_nobody_measured_is_not_known() {
        assert_eq!(passes(Part::Hand, Wearer::Child { months: 12 }), None);
        assert_eq!(passes(Part::Heel, Wearer::Child { months: 120 }), None);
        let basis = |months| passes(Part::Head, Wearer::Child { months }).unwrap().basis;
        assert_eq!(basis(60), Basis::Measured);
        assert_eq!(basis(61), Basis::Between);
        assert_eq!(basis(203), Basis::Between);
        assert_eq!(basis(204), Basis::Measured);
        assert_eq!(basis(u16::MAX), Basis::Measured);
    }

    #[test]
    fn heads_only_grow() {
        let heads: Vec<_> =
            (0..=204).map(|m| limit(Part::Head, Wearer::Child { months: m })).collect();
        assert!(heads.is_sorted());
        assert_eq!(heads.last().copied(), Some(limit(Part::Head, Wearer::Adult)));
    }
}
