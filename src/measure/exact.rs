//! Exact rational numbers, read from the decimals and fractions people write.

use std::fmt;

/// An exact rational number.
///
/// 128 bits leave room for every product of the bounded inputs that
/// [`parse_exact`] lets in; nothing in this crate multiplies more than a
/// handful of them.
pub type Exact = num_rational::Ratio<i128>;

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
    let scaled = (value * scale).round().to_integer();
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
