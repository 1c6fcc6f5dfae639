//! The one place where an exact value becomes a whole number.

use super::Exact;

/// The whole numbers `of x k + plus`, as a stitch pattern asks for them:
/// "multiple of 12 plus 3" is `Multiple { of: 12, plus: 3 }`.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Multiple {
    of: u32,
    plus: u32,
}

impl Multiple {
    /// Any whole number.
    pub const ANY: Self = Self { of: 1, plus: 0 };

    /// A multiple of `of` plus `plus`. A zero `of` counts as 1; `plus` is taken
    /// down below `of`.
    #[must_use]
    pub fn new(of: u32, plus: u32) -> Self {
        let of = of.max(1);
        Self { of, plus: plus % of }
    }

    /// The size of the repeat.
    #[must_use]
    pub const fn of(self) -> u32 {
        self.of
    }

    /// What is left over.
    #[must_use]
    pub const fn plus(self) -> u32 {
        self.plus
    }

    /// Whether `n` is one of these numbers.
    #[must_use]
    pub fn holds(self, n: i64) -> bool {
        (n - i64::from(self.plus)).rem_euclid(i64::from(self.of)) == 0
    }
}

/// Which of two neighbours to take.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Toward {
    /// The nearer; a tie goes to the larger.
    Nearest,
    /// The largest that is not above.
    Down,
    /// The smallest that is not below.
    Up,
}

/// The member of `multiple` that lies `toward` of `value`.
///
/// Worked ties and misses: 211.2 in multiples of 4 is 212; in multiples of 4
/// plus 2 it is 210; 116 in multiples of 8 is 120 (a tie, so the larger).
#[must_use]
pub fn to_multiple(value: Exact, multiple: Multiple, toward: Toward) -> i64 {
    // In whole numbers: `value` is `numer / denom`, and a step is `of * denom`.
    let (numer, denom) = (value.numer(), value.denom());
    let (of, plus) = (i128::from(multiple.of), i128::from(multiple.plus));
    let step = of * denom;
    let above = numer - plus * denom;
    let steps = match toward {
        // Half a step more, rounded down; doubled to stay whole.
        Toward::Nearest => (2 * above + step).div_euclid(2 * step),
        Toward::Down => above.div_euclid(step),
        Toward::Up => -(-above).div_euclid(step),
    };
    i64::try_from(steps * of + plus).unwrap_or(i64::MAX)
}

/// The nearest whole number; a tie goes to the larger.
#[must_use]
pub fn nearest(value: Exact) -> i64 {
    to_multiple(value, Multiple::ANY, Toward::Nearest)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::exact;

    #[test]
    fn to_the_multiple_that_is_asked_for() {
        let table = [
            (exact(2112, 10), 4, 0, 212),
            (exact(2112, 10), 4, 2, 210),
            (exact(116, 1), 8, 0, 120),
            (exact(4274, 100), 1, 0, 43),
            (exact(4274, 100), 4, 0, 44),
            (exact(4274, 100), 4, 2, 42),
            (exact(5, 2), 1, 0, 3),
            (exact(-5, 2), 1, 0, -2),
        ];
        for (value, of, plus, expected) in table {
            assert_eq!(
                to_multiple(value, Multiple::new(of, plus), Toward::Nearest),
                expected,
                "{value}"
            );
        }
        assert_eq!(to_multiple(exact(83, 1), Multiple::new(4, 0), Toward::Down), 80);
        assert_eq!(to_multiple(exact(81, 1), Multiple::new(4, 0), Toward::Up), 84);
        assert_eq!(to_multiple(exact(-83, 2), Multiple::new(4, 1), Toward::Down), -43);
        assert_eq!(to_multiple(exact(-83, 2), Multiple::new(4, 1), Toward::Up), -39);
        assert_eq!(to_multiple(exact(84, 1), Multiple::new(4, 0), Toward::Up), 84);
    }
}
