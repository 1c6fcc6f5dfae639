//! Exact lengths.

use super::{Exact, decimal, exact};
use std::fmt;
use std::ops::{Add, Div, Mul, Neg, Sub};

/// A unit of length a pattern may be written in.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub enum Unit {
    /// Millimetres (needles).
    Mm,
    /// Centimetres.
    #[default]
    Cm,
    /// Inches, of exactly 2.54 cm.
    In,
    /// Metres (yarn).
    M,
    /// Yards, of exactly 0.9144 m (yarn).
    Yd,
}

impl Unit {
    /// The unit that a written word names: `cm`, `in`, `inches`, `"`, ...
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Some(match word {
            "mm" => Self::Mm,
            "cm" => Self::Cm,
            "in" | "in." | "inch" | "inches" | "\"" | "″" => Self::In,
            "m" | "metres" | "meters" => Self::M,
            "yd" | "yds" | "yards" => Self::Yd,
            _ => return None,
        })
    }

    /// How it is written.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::Cm => "cm",
            Self::In => "in",
            Self::M => "m",
            Self::Yd => "yd",
        }
    }

    fn in_mm(self) -> Exact {
        match self {
            Self::Mm => exact(1, 1),
            Self::Cm => exact(10, 1),
            Self::In => exact(254, 10),
            Self::M => exact(1000, 1),
            Self::Yd => exact(9144, 10),
        }
    }
}

/// An exact length; negative where it is a difference (ease).
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct Length(Exact);

impl Length {
    /// No length at all.
    #[must_use]
    pub fn zero() -> Self {
        Self(exact(0, 1))
    }

    /// `amount` of `unit`.
    #[must_use]
    pub fn new(amount: Exact, unit: Unit) -> Self {
        match unit {
            Unit::Mm => Self(amount),
            _ => Self(amount * unit.in_mm()),
        }
    }

    /// Whole centimetres.
    #[must_use]
    pub fn cm(n: i64) -> Self {
        Self::new(exact(n, 1), Unit::Cm)
    }

    /// Whole inches.
    #[must_use]
    pub fn inches(n: i64) -> Self {
        Self::new(exact(n, 1), Unit::In)
    }

    /// How many of `unit` it is.
    #[must_use]
    pub fn amount(self, unit: Unit) -> Exact {
        match unit {
            Unit::Mm => self.0,
            _ => self.0 / unit.in_mm(),
        }
    }

    /// The length without its sign.
    #[must_use]
    pub fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// Whether it is more than nothing.
    #[must_use]
    pub fn is_positive(self) -> bool {
        self.0 > exact(0, 1)
    }

    /// As a knitter reads it: centimetres to half a centimetre below 10 and
    /// above, inches to a quarter. `13.5 cm`, `5 1/4 in`.
    #[must_use]
    pub fn readable(self, unit: Unit) -> String {
        match unit {
            Unit::In => format!("{} in", quarters(self.amount(Unit::In))),
            Unit::Cm => {
                let halves = (self.amount(Unit::Cm) * exact(2, 1)).round() / exact(2, 1);
                format!("{} cm", decimal(halves, 1))
            }
            other => format!("{} {}", decimal(self.amount(other), 1), other.word()),
        }
    }

    /// To one decimal more than [`Length::readable`], for reports: `13.4 cm`, `5.28 in`.
    #[must_use]
    pub fn precise(self, unit: Unit) -> String {
        let places = if unit == Unit::In { 2 } else { 1 };
        format!("{} {}", decimal(self.amount(unit), places), unit.word())
    }
}

/// To the nearest quarter, as a mixed fraction.
fn quarters(value: Exact) -> String {
    let q = (value * exact(4, 1)).round().to_integer();
    let sign = if q < 0 { "-" } else { "" };
    let (whole, rest) = (q.abs() / 4, q.abs() % 4);
    let fraction = ["", "1/4", "1/2", "3/4"][usize::try_from(rest).unwrap_or(0)];
    match (whole, fraction) {
        (w, "") => format!("{sign}{w}"),
        (0, f) => format!("{sign}{f}"),
        (w, f) => format!("{sign}{w} {f}"),
    }
}

impl Add for Length {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Length {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Neg for Length {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Mul<Exact> for Length {
    type Output = Self;
    fn mul(self, factor: Exact) -> Self {
        Self(self.0 * factor)
    }
}

/// The exact ratio of two lengths. The divisor must not be zero.
impl Div for Length {
    type Output = Exact;
    fn div(self, other: Self) -> Exact {
        self.0 / other.0
    }
}

impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.precise(Unit::Cm))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_inch_is_exact() {
        assert_eq!(Length::inches(1).amount(Unit::Cm), exact(254, 100));
        assert_eq!(Length::inches(36), Length::new(exact(1, 1), Unit::Yd));
    }

    #[test]
    fn reads_as_a_knitter_writes() {
        assert_eq!(Length::cm(5).readable(Unit::Cm), "5 cm");
        assert_eq!(Length::new(exact(537, 100), Unit::Cm).readable(Unit::Cm), "5.5 cm");
        assert_eq!(Length::new(exact(528, 100), Unit::In).readable(Unit::In), "5 1/4 in");
        assert_eq!(Length::new(exact(-1, 2), Unit::In).readable(Unit::In), "-1/2 in");
    }
}
