//! Exact rational numbers, read from the decimals and fractions people write.

use num_rational::Ratio;
use std::cmp::Ordering;
use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub};

/// An exact rational number.
///
/// 128 bits leave room for every product of the bounded inputs that
/// [`parse_exact`] lets in; nothing in this crate multiplies more than a
/// handful of them. Nearly all of them fit into 64 bits, and are worked there:
/// dividing 128 bits takes many times as long.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Exact {
    /// Has no divisor in common with `denom`.
    numer: i128,
    /// Above nought.
    denom: i128,
}

impl Exact {
    /// `numer / denom`. The denominator must not be zero.
    #[must_use]
    pub fn new(numer: i128, denom: i128) -> Self {
        match (i64::try_from(numer), i64::try_from(denom)) {
            (Ok(n), Ok(d)) if d > 0 => {
                let common = divisor(n.unsigned_abs(), d.unsigned_abs());
                Self::small(n, d, common)
            }
            _ => Ratio::new(numer, denom).into(),
        }
    }

    /// `numer / denom`, which have no common divisor; `denom` is above nought.
    #[must_use]
    pub const fn new_raw(numer: i128, denom: i128) -> Self {
        Self { numer, denom }
    }

    /// A whole number.
    #[must_use]
    pub const fn from_integer(whole: i128) -> Self {
        Self::new_raw(whole, 1)
    }

    /// Above the line, in lowest terms.
    #[must_use]
    pub const fn numer(&self) -> &i128 {
        &self.numer
    }

    /// Below the line, in lowest terms; above nought.
    #[must_use]
    pub const fn denom(&self) -> &i128 {
        &self.denom
    }

    /// One over it. It must not be zero.
    #[must_use]
    pub fn recip(self) -> Self {
        Self::from_integer(1) / self
    }

    /// Without its sign.
    #[must_use]
    pub fn abs(self) -> Self {
        if self < Self::from_integer(0) { -self } else { self }
    }

    /// Whether it is a whole number.
    #[must_use]
    pub const fn is_integer(&self) -> bool {
        self.denom == 1
    }

    /// Without what is behind the point, as a number.
    #[must_use]
    pub const fn to_integer(&self) -> i128 {
        self.numer / self.denom
    }

    /// Without what is behind the point.
    #[must_use]
    pub const fn trunc(&self) -> Self {
        Self::from_integer(self.to_integer())
    }

    /// What is behind the point, with its sign.
    #[must_use]
    pub const fn fract(&self) -> Self {
        Self::new_raw(self.numer % self.denom, self.denom)
    }

    /// The largest whole number that is not above it.
    #[must_use]
    pub const fn floor(&self) -> Self {
        Self::from_integer(self.numer.div_euclid(self.denom))
    }

    /// The smallest whole number that is not below it.
    #[must_use]
    pub const fn ceil(&self) -> Self {
        Self::from_integer(-(-self.numer).div_euclid(self.denom))
    }

    /// The nearest whole number; of two, that which is farther from nought.
    #[must_use]
    pub fn round(&self) -> Self {
        self.wide().round().into()
    }

    /// `n / d` less a divisor that both have in common.
    const fn small(n: i64, d: i64, common: u64) -> Self {
        // A divisor of a number above nought fits.
        Self::new_raw((n / common as i64) as i128, (d / common as i64) as i128)
    }

    const fn wide(self) -> Ratio<i128> {
        Ratio::new_raw(self.numer, self.denom)
    }

    /// Both parts, where they fit into 64 bits and so does their opposite.
    fn halves(self) -> Option<(i64, i64)> {
        let fits = |n: i128| i64::try_from(n).ok().filter(|n| *n != i64::MIN);
        Some((fits(self.numer)?, fits(self.denom)?))
    }

    /// `(a / b) x (c / d)`, both in lowest terms.
    fn product((a, b): (i64, i64), (c, d): (i64, i64)) -> Self {
        // What is left has nothing in common, so the product has not either.
        let (left, right) = (gcd(a, d), gcd(c, b));
        let times = |x: i64, y: i64| i128::from(x) * i128::from(y);
        Self::new_raw(times(a / left, c / right), times(b / right, d / left))
    }
}

/// The greatest common divisor; of two noughts, nought.
fn divisor(a: u64, b: u64) -> u64 {
    let (mut a, mut b) = (a, b);
    while b > 1 {
        (a, b) = (b, a % b);
    }
    if b == 1 { 1 } else { a }
}

/// The greatest common divisor, never negative; of two noughts, nought.
pub(crate) fn gcd(a: i64, b: i64) -> i64 {
    i64::try_from(divisor(a.unsigned_abs(), b.unsigned_abs())).unwrap_or(i64::MAX)
}

impl From<Ratio<i128>> for Exact {
    fn from(ratio: Ratio<i128>) -> Self {
        let (numer, denom) = ratio.into_raw();
        Self { numer, denom }
    }
}

impl Add for Exact {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        let (Some((a, b)), Some((c, d))) = (self.halves(), other.halves()) else {
            return (self.wide() + other.wide()).into();
        };
        let times = |x: i64, y: i64| i128::from(x) * i128::from(y);
        if b == d {
            return Self::new(i128::from(a) + i128::from(c), self.denom);
        }
        match times(a, d).checked_add(times(c, b)) {
            Some(numer) => Self::new(numer, times(b, d)),
            None => (self.wide() + other.wide()).into(),
        }
    }
}

impl Sub for Exact {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

impl Mul for Exact {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        match (self.halves(), other.halves()) {
            (Some(one), Some(other)) => Self::product(one, other),
            _ => (self.wide() * other.wide()).into(),
        }
    }
}

/// The divisor must not be zero.
impl Div for Exact {
    type Output = Self;
    fn div(self, other: Self) -> Self {
        match (self.halves(), other.halves()) {
            (Some(one), Some((c, d))) if c > 0 => Self::product(one, (d, c)),
            (Some(one), Some((c, d))) if c < 0 => Self::product(one, (-d, -c)),
            _ => (self.wide() / other.wide()).into(),
        }
    }
}

impl Neg for Exact {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new_raw(-self.numer, self.denom)
    }
}

impl AddAssign for Exact {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Sum for Exact {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        all.fold(Self::from_integer(0), Add::add)
    }
}

impl Ord for Exact {
    fn cmp(&self, other: &Self) -> Ordering {
        match (self.halves(), other.halves()) {
            (Some((a, b)), Some((c, d))) => {
                (i128::from(a) * i128::from(d)).cmp(&(i128::from(c) * i128::from(b)))
            }
            _ => self.wide().cmp(&other.wide()),
        }
    }
}

impl PartialOrd for Exact {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl fmt::Debug for Exact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(&self.wide(), f)
    }
}

impl fmt::Display for Exact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&self.wide(), f)
    }
}

/// `numerator / denominator` as an exact number. The denominator must not be zero.
#[must_use]
pub fn exact(numerator: i64, denominator: i64) -> Exact {
    Exact::new(i128::from(numerator), i128::from(denominator))
}

/// `n` percent as a fraction of one.
#[must_use]
pub fn percent(n: Exact) -> Exact {
    n / Exact::from_integer(100)
}

/// Why a text is not a number we take.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ParseExactError {
    /// Not a decimal, a fraction, or a whole number with a fraction.
    NotANumber,
    /// Over a million, or with more than six decimals: no measure of a garment.
    OutOfRange,
}

impl fmt::Display for ParseExactError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NotANumber => "not a number",
            Self::OutOfRange => "a number beyond any garment",
        })
    }
}

impl std::error::Error for ParseExactError {}

/// Reads `12`, `-4`, `4.5`, `1/2`, `2 1/2`, `2½`.
///
/// # Errors
/// [`ParseExactError`] when the text is no such number, or is beyond any garment.
pub fn parse_exact(text: &str) -> Result<Exact, ParseExactError> {
    let text = text.trim();
    let (negative, text) = match text.strip_prefix(['-', '−']) {
        Some(rest) => (true, rest.trim_start()),
        None => (false, text.strip_prefix('+').unwrap_or(text)),
    };
    let mut value = Exact::from_integer(0);
    let (mut seen, mut fraction) = (false, false);
    let (whole, vulgar) = split_vulgar(text);
    for part in whole.split_whitespace() {
        if fraction {
            return Err(ParseExactError::NotANumber);
        }
        value += match part.split_once('/') {
            Some((n, d)) => {
                let (n, d) = (integer(n)?, integer(d)?);
                if d == 0 {
                    return Err(ParseExactError::NotANumber);
                }
                fraction = true;
                Exact::new(n, d)
            }
            None if seen => return Err(ParseExactError::NotANumber),
            None => decimal_part(part)?,
        };
        seen = true;
    }
    if let Some(v) = vulgar {
        if fraction {
            return Err(ParseExactError::NotANumber);
        }
        value += v;
        seen = true;
    }
    if !seen {
        return Err(ParseExactError::NotANumber);
    }
    if value > Exact::from_integer(1_000_000) {
        return Err(ParseExactError::OutOfRange);
    }
    Ok(if negative { -value } else { value })
}

fn split_vulgar(text: &str) -> (&str, Option<Exact>) {
    const VULGAR: [(char, i64, i64); 7] =
        [('½', 1, 2), ('¼', 1, 4), ('¾', 3, 4), ('⅛', 1, 8), ('⅜', 3, 8), ('⅝', 5, 8), ('⅞', 7, 8)];
    for (c, n, d) in VULGAR {
        if let Some(rest) = text.strip_suffix(c) {
            return (rest, Some(exact(n, d)));
        }
    }
    (text, None)
}

fn integer(text: &str) -> Result<i128, ParseExactError> {
    if text.is_empty() || !text.bytes().all(|b| b.is_ascii_digit()) {
        return Err(ParseExactError::NotANumber);
    }
    if text.len() > 7 {
        return Err(ParseExactError::OutOfRange);
    }
    text.parse().map_err(|_| ParseExactError::NotANumber)
}

fn decimal_part(text: &str) -> Result<Exact, ParseExactError> {
    let Some((whole, fraction)) = text.split_once('.') else {
        return integer(text).map(Exact::from_integer);
    };
    if fraction.len() > 6 {
        return Err(ParseExactError::OutOfRange);
    }
    let whole = if whole.is_empty() { 0 } else { integer(whole)? };
    let scale = 10_i128.pow(u32::try_from(fraction.len()).unwrap_or(0));
    Ok(Exact::from_integer(whole) + Exact::new(integer(fraction)?, scale))
}

/// Prints with at most `places` decimals, trailing zeros dropped, ties away from zero.
///
/// For display only: a count is rounded by [`super::round`].
#[must_use]
pub fn decimal(value: Exact, places: u32) -> String {
    let scale = 10_i128.pow(places);
    let scaled = (value * Exact::from_integer(scale)).round().to_integer();
    let sign = if scaled < 0 { "-" } else { "" };
    let (whole, fraction) = (scaled.abs() / scale, scaled.abs() % scale);
    let mut text = format!("{sign}{whole}");
    if fraction != 0 {
        let digits = format!("{fraction:0width$}", width = places as usize);
        text.push('.');
        text.push_str(digits.trim_end_matches('0'));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn in_lowest_terms(value: Exact) -> bool {
        let (numer, denom) = (*value.numer(), *value.denom());
        denom > 0 && Ratio::new(numer, denom) == Ratio::new_raw(numer, denom)
    }

    /// A numerator up to so large and a denominator, either of which may be small.
    fn number(wide: i128) -> impl Strategy<Value = (i128, i128)> {
        let part = || prop_oneof![-20_i128..20, -(1_i128 << 40)..1 << 40];
        let wide = prop_oneof![Just(1_i128), Just(wide)];
        (part(), part(), wide)
            .prop_filter_map("over nought", |(n, d, wide)| (d != 0).then_some((n * wide, d)))
    }

    proptest! {
        #[test]
        fn small_numbers_are_reckoned_as_wide_ones(
            // One of them on both sides of 64 bits.
            (a, b) in number(1 << 30), (c, d) in number(1),
        ) {
            let (x, y) = (Exact::new(a, b), Exact::new(c, d));
            let (r, s) = (Ratio::new(a, b), Ratio::new(c, d));
            prop_assert!(in_lowest_terms(x), "{x:?}");
            let mut all = vec![(x + y, r + s), (y - x, s - r), (x * y, r * s)];
            if c != 0 {
                all.push((x / y, r / s));
            }
            if a != 0 {
                all.push((y / x, s / r));
            }
            for (ours, wide) in all {
                prop_assert!(in_lowest_terms(ours), "{ours:?}");
                prop_assert_eq!(ours, Exact::from(wide));
            }
            prop_assert_eq!(x.cmp(&y), r.cmp(&s));
            prop_assert_eq!(x.floor(), Exact::from(r.floor()));
            prop_assert_eq!(x.ceil(), Exact::from(r.ceil()));
            prop_assert_eq!(x.abs(), x.max(-x));
            prop_assert_eq!((x.trunc(), x.fract()), (r.trunc().into(), r.fract().into()));
        }
    }

    #[test]
    fn reads_what_people_write() {
        for (text, n, d) in [
            ("12", 12, 1),
            ("-4", -4, 1),
            ("4.5", 9, 2),
            (".25", 1, 4),
            ("1/2", 1, 2),
            ("2 1/2", 5, 2),
            ("2½", 5, 2),
            ("¾", 3, 4),
            (" 7 ", 7, 1),
        ] {
            assert_eq!(parse_exact(text), Ok(exact(n, d)), "{text}");
        }
    }

    #[test]
    fn refuses_what_is_no_measure() {
        for text in
            ["", "a", "1/0", "1 2", "1e9", "4.", "--1", "1.2.3", "1/2 1/2", "1/2 1/3 1/7", "1/2½"]
        {
            assert_eq!(parse_exact(text), Err(ParseExactError::NotANumber), "{text}");
        }
        for text in ["99999999", "0.1234567", "1000001"] {
            assert_eq!(parse_exact(text), Err(ParseExactError::OutOfRange), "{text}");
        }
    }

    #[test]
    fn prints_without_trailing_zeros() {
        assert_eq!(decimal(exact(5, 2), 1), "2.5");
        assert_eq!(decimal(exact(2, 1), 2), "2");
        assert_eq!(decimal(exact(-1, 3), 2), "-0.33");
        assert_eq!(decimal(exact(1999, 1000), 1), "2");
        assert_eq!(decimal(exact(205, 100), 2), "2.05");
    }
}
