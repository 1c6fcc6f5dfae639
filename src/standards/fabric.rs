//! Plain knitted fabric: how gauge, loop length and weight hang together.
//!
//! Munden's relations for plain (stockinette) fabric: with `l` the length of
//! yarn in one stitch, there are `kw / l` stitches and `kc / l` rows to a
//! length, and `ks / l^2` stitches to its square. They hold for relaxed plain
//! fabric and nothing else; a rib is to be swatched, and
//! [`rib_width_of_plain`] only bounds an estimate.

use super::table::{BadTable, Between, How, Record, records};
use super::yarn::YarnWeight;
use crate::measure::{Density, Exact, Length, Unit, exact};
use std::sync::OnceLock;

pub(super) const CONSTANTS: &str = include_str!("data/fabric.csv");
pub(super) const AMOUNTS: &str = include_str!("data/yarn-amounts.csv");

/// How far a fabric has come to rest.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub enum Relaxed {
    /// Lain down dry.
    Dry,
    /// Soaked and dried flat.
    Wet,
    /// Washed, and tumbled until it moves no more. The one whose constants were read.
    #[default]
    Fully,
}

impl Relaxed {
    fn from_word(word: &str) -> Option<Self> {
        match word {
            "dry relaxed" => Some(Self::Dry),
            "wet relaxed" => Some(Self::Wet),
            "fully relaxed" => Some(Self::Fully),
            _ => None,
        }
    }
}

/// Munden's constants for plain fabric in one state.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct LoopConstants {
    /// The state.
    pub state: Relaxed,
    /// Rows: `rows per length = kc / l`.
    pub kc: Exact,
    /// Stitches: `stitches per length = kw / l`.
    pub kw: Exact,
    /// Stitches to the square, as printed; `kc x kw` but for rounding.
    pub ks: Exact,
    /// How they were had.
    pub how: How,
}

impl LoopConstants {
    fn read(record: &Record) -> Result<Self, BadTable> {
        Ok(Self {
            state: record.word("state", Relaxed::from_word)?,
            kc: record.number("kc")?,
            kw: record.number("kw")?,
            ks: record.number("ks")?,
            how: record.how()?,
        })
    }

    /// The yarn in one stitch of fabric with this gauge: `kw / W`.
    #[must_use]
    pub fn loop_length(&self, stitches: Density) -> Length {
        stitches.length(self.kw)
    }

    /// The row gauge that goes with a stitch gauge: `W x kc / kw`. `None`
    /// only if the constants were no constants.
    #[must_use]
    pub fn rows_for(&self, stitches: Density) -> Option<Density> {
        stitches.scaled(self.kc / self.kw)
    }

    /// Stitches in a square of this side, of loops so long: `ks x (side / l)^2`,
    /// with `ks = kc x kw`. `None` unless the loop has a length.
    #[must_use]
    pub fn stitches_in_square(&self, loop_length: Length, side: Length) -> Option<Exact> {
        let loops = loop_length.is_positive().then(|| side / loop_length)?;
        Some(self.kc * self.kw * loops * loops)
    }

    /// The yarn in a rectangle of fabric with this stitch gauge, whose row
    /// gauge nobody measured: `kc x W x width x height`.
    #[must_use]
    pub fn yarn_in(&self, width: Length, height: Length, stitches: Density) -> Length {
        height * (self.kc * stitches.count(width))
    }
}

/// The constants of all states.
#[must_use]
pub fn loop_constants() -> &'static [LoopConstants] {
    static TABLE: OnceLock<Vec<LoopConstants>> = OnceLock::new();
    TABLE.get_or_init(|| records(CONSTANTS, LoopConstants::read).unwrap_or_default())
}

/// The constants of one state.
#[must_use]
pub fn loop_constants_of(state: Relaxed) -> Option<&'static LoopConstants> {
    loop_constants().iter().find(|constants| constants.state == state)
}

/// The mass of a fabric in g/m2: stitches x rows to the square metre, times
/// the yarn in one stitch, times its tex (grams in 1000 m).
///
/// Source: textilecalculation.blogspot.com 2015/11, which writes it as
/// `wpi x cpi x 39.37^2 x l(mm) x tex / 10^6`; 39.37 is there the inches in a
/// metre, which are exact here.
#[must_use]
pub fn grams_per_square_metre(
    stitches: Density,
    rows: Density,
    loop_length: Length,
    tex: Exact,
) -> Exact {
    let metre = Length::new(exact(1, 1), Unit::M);
    let yarn = loop_length * (stitches.count(metre) * rows.count(metre));
    yarn.amount(Unit::M) * tex / exact(1000, 1)
}

/// The tex of a yarn with so many metres in 100 g, or `None` unless there are any.
#[must_use]
pub fn tex_of(metres_per_100_g: Exact) -> Option<Exact> {
    (metres_per_100_g > exact(0, 1)).then(|| exact(100_000, 1) / metres_per_100_g)
}

/// Relaxed width of k1 p1 rib as a part of that of plain fabric, at the same
/// count and loop length: half in theory; in practice it draws in by 30%
/// (leartex.com, read). Only the bounds of an estimate: swatch the rib.
#[must_use]
pub fn rib_width_of_plain() -> Between<Exact> {
    Between { low: Some(exact(1, 2)), high: Some(exact(7, 10)) }
}

/// Yarn in print for one adult garment of one weight.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct YarnAmount {
    /// `sweater`, `hat`.
    pub garment: &'static str,
    /// The number of the yarn weight.
    pub weight: u8,
    /// How much yarn.
    pub yarn: Between<Length>,
}

impl YarnAmount {
    fn read(record: &Record) -> Result<Self, BadTable> {
        Ok(Self {
            garment: record.text("garment")?,
            weight: record.word("weight", |cell| cell.parse().ok())?,
            yarn: record.numbers("yd")?.map(|yd| Length::new(yd, Unit::Yd)),
        })
    }
}

/// Yarn in print for adult garments.
#[must_use]
pub fn yarn_amounts() -> &'static [YarnAmount] {
    static TABLE: OnceLock<Vec<YarnAmount>> = OnceLock::new();
    TABLE.get_or_init(|| records(AMOUNTS, YarnAmount::read).unwrap_or_default())
}

/// Yarn in print for one garment in one weight. An estimate for an ordinary
/// garment that lies outside deserves a second look.
#[must_use]
pub fn usual_yarn(garment: &str, weight: &YarnWeight) -> Option<&'static YarnAmount> {
    yarn_amounts().iter().find(|amount| amount.garment == garment && amount.weight == weight.number)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_tables_can_be_read() {
        assert_eq!(records(CONSTANTS, LoopConstants::read).unwrap().len(), 3);
        assert_eq!(records(AMOUNTS, YarnAmount::read).unwrap().len(), 12);
        for state in [Relaxed::Dry, Relaxed::Wet, Relaxed::Fully] {
            assert!(loop_constants_of(state).is_some(), "{state:?}");
        }
    }

    #[test]
    fn the_yarn_of_an_area_is_that_of_its_stitches() {
        let munden = loop_constants_of(Relaxed::Fully).unwrap();
        let stitches = Density::new(exact(22, 1), Length::cm(10)).unwrap();
        let (width, height) = (Length::cm(50), Length::cm(60));
        let rows = munden.rows_for(stitches).unwrap();
        let count = stitches.count(width) * rows.count(height);
        let by_stitch = munden.loop_length(stitches) * count;
        assert_eq!(munden.yarn_in(width, height, stitches), by_stitch);
    }

    #[test]
    fn nothing_is_divided_by_nothing() {
        let munden = loop_constants_of(Relaxed::Fully).unwrap();
        assert_eq!(munden.stitches_in_square(Length::zero(), Length::cm(1)), None);
        assert_eq!(tex_of(exact(0, 1)), None);
        assert_eq!(tex_of(exact(400, 1)), Some(exact(250, 1)));
    }
}
