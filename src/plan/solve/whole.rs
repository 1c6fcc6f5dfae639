//! Whole-number arithmetic that never overflows in silence.
//!
//! Knows nothing of systems. What would not fit is [`Spent`]: the solver then
//! gives up rather than answer wrongly.

use super::Spent;
use crate::measure::gcd;

/// The greatest common divisor, never negative; of two noughts, nought.
pub(super) fn wide_gcd(a: i128, b: i128) -> i128 {
    let (mut a, mut b) = (a.unsigned_abs(), b.unsigned_abs());
    while b != 0 {
        if let (Ok(x), Ok(y)) = (i64::try_from(a), i64::try_from(b)) {
            return i128::from(gcd(x, y));
        }
        (a, b) = (b, a % b);
    }
    i128::try_from(a).unwrap_or(i128::MAX)
}

/// `a / b` taken down; `b` is not nought.
pub(super) fn div_down(a: i128, b: i128) -> i128 {
    if let (Ok(x), Ok(y)) = (i64::try_from(a), i64::try_from(b))
        && y != -1
    {
        let (quotient, rest) = (x / y, x % y);
        return i128::from(quotient - i64::from(rest != 0 && (rest < 0) != (y < 0)));
    }
    let (quotient, rest) = (a.wrapping_div(b), a.wrapping_rem(b));
    quotient - i128::from(rest != 0 && (rest < 0) != (b < 0))
}

/// `a / b` taken up; `b` is not nought.
pub(super) fn div_up(a: i128, b: i128) -> i128 {
    let down = div_down(a, b);
    down + i128::from(down.wrapping_mul(b) != a)
}

/// `a / b` to a nearest whole number; `b` is not nought.
pub(super) fn div_near(a: i128, b: i128) -> i128 {
    let down = div_down(a, b);
    let rest = a - down * b;
    down + i128::from(rest.unsigned_abs() * 2 > b.unsigned_abs())
}

/// `n` as a 64-bit number.
pub(super) fn narrow(n: i128) -> Result<i64, Spent> {
    i64::try_from(n).map_err(|_| Spent)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn division_is_by_floor_ceiling_and_nearest() {
        for a in -20..=20_i128 {
            for b in (-7..=7_i128).filter(|&b| b != 0) {
                let exact = num_rational::Ratio::new(a, b);
                assert_eq!(div_down(a, b), exact.floor().to_integer(), "{a}/{b}");
                assert_eq!(div_up(a, b), exact.ceil().to_integer(), "{a}/{b}");
                let off = a - div_near(a, b) * b;
                assert!(off.abs() * 2 <= b.abs(), "{a}/{b}");
                let scale = 1 << 80;
                assert_eq!(div_down(a * scale, b * scale), div_down(a, b), "{a}/{b}");
                assert_eq!(div_up(a * scale, b * scale), div_up(a, b), "{a}/{b}");
            }
        }
    }

    #[test]
    fn common_divisors() {
        assert_eq!(gcd(-12, 18), 6);
        assert_eq!(gcd(0, -5), 5);
        assert_eq!(gcd(0, 0), 0);
        assert_eq!(wide_gcd(12 << 90, -(18 << 90)), 6 << 90);
    }
}
