//! Inequalities in whole numbers: whether they can hold, and what they say of
//! some variables alone.
//!
//! Fourier's elimination: a variable that lies between two forms can be left
//! out when the lower is not above the upper. In whole numbers that is exact
//! where one of the two has the factor 1. Where it is not, the shadow is too
//! large by some points that are looked at one by one (W. Pugh, "The Omega
//! test", 1991). Spans may be endless here. Knows nothing of errors.

use std::collections::{BTreeMap, BTreeSet};

use super::whole::{div_down, div_near, wide_gcd};
use super::{Spent, Steps};

/// Factors by variable, in order, without a common divisor and never nought.
type Terms = Vec<(usize, i128)>;

/// A set of inequalities `sum of factor x variable + constant >= 0`.
#[derive(Clone, Debug, Default)]
pub(super) struct Shadow {
    /// The constant of each.
    rows: BTreeMap<Terms, i128>,
    /// One of them never holds.
    impossible: bool,
}

/// Why a variable cannot simply be left out.
enum Outcome {
    /// Without it, exactly.
    Exact(Shadow),
    /// The points that surely, and those that perhaps have a value for it.
    Between { surely: Shadow, perhaps: Shadow },
}

impl Shadow {
    /// Adds `sum of factor x variable + constant >= 0`.
    pub(super) fn add(
        &mut self,
        terms: impl IntoIterator<Item = (usize, i128)>,
        constant: i128,
    ) -> Result<(), Spent> {
        let mut terms: Terms = terms.into_iter().filter(|t| t.1 != 0).collect();
        terms.sort_unstable_by_key(|t| t.0);
        let step = terms.iter().fold(0, |step, t| wide_gcd(step, t.1));
        if step == 0 {
            self.impossible |= constant < 0;
            return Ok(());
        }
        if constant.unsigned_abs() >> 100 != 0
            || terms.iter().any(|t| t.1.unsigned_abs() >> 60 != 0)
        {
            return Err(Spent);
        }
        terms.iter_mut().for_each(|t| t.1 /= step);
        let constant = div_down(constant, step);
        self.rows.entry(terms).and_modify(|c| *c = constant.min(*c)).or_insert(constant);
        Ok(())
    }

    /// The inequalities.
    pub(super) fn rows(&self) -> impl Iterator<Item = (&[(usize, i128)], i128)> {
        self.rows.iter().map(|(terms, &constant)| (terms.as_slice(), constant))
    }

    /// Whether one of them never holds.
    pub(super) const fn is_impossible(&self) -> bool {
        self.impossible
    }

    fn variables(&self) -> BTreeSet<usize> {
        self.rows.keys().flatten().map(|t| t.0).collect()
    }

    /// What they say of the variables that are not in `left_out`; nothing if
    /// that is not known exactly.
    pub(super) fn without(
        mut self,
        left_out: &BTreeSet<usize>,
        steps: &mut Steps,
    ) -> Result<Option<Self>, Spent> {
        loop {
            let here: Vec<usize> =
                self.variables().into_iter().filter(|v| left_out.contains(v)).collect();
            if here.is_empty() || self.impossible {
                return Ok(Some(self));
            }
            match self.eliminated(&here, steps)? {
                Outcome::Exact(shadow) => self = shadow,
                Outcome::Between { .. } => return Ok(None),
            }
        }
    }

    /// Whether all can hold at once.
    pub(super) fn can_hold(mut self, steps: &mut Steps) -> Result<bool, Spent> {
        loop {
            self.drop_implied();
            if self.impossible {
                return Ok(false);
            }
            if let Some((terms, constant)) = self.equation() {
                if self.impossible {
                    return Ok(false);
                }
                self = self.solved(&terms, constant, steps)?;
                continue;
            }
            let variables: Vec<usize> = self.variables().into_iter().collect();
            if variables.is_empty() {
                return Ok(true);
            }
            match self.eliminated(&variables, steps)? {
                Outcome::Exact(shadow) => self = shadow,
                Outcome::Between { surely, perhaps } => {
                    if surely.can_hold(steps)? {
                        return Ok(true);
                    }
                    return Ok(perhaps.can_hold(steps)? && self.has_splinter(&variables, steps)?);
                }
            }
        }
    }

    /// Two inequalities that leave just one value to a form: `terms + constant = 0`.
    /// Notes if two leave none.
    fn equation(&mut self) -> Option<(Terms, i128)> {
        let mut found = None;
        for (terms, &constant) in &self.rows {
            if terms.first().is_none_or(|t| t.1 < 0) {
                continue;
            }
            let opposite: Terms = terms.iter().map(|&(v, f)| (v, -f)).collect();
            match self.rows.get(&opposite).map(|other| other + constant) {
                Some(gap) if gap < 0 => {
                    self.impossible = true;
                    return Some((Vec::new(), 0));
                }
                Some(0) if found.is_none() => found = Some((terms.clone(), constant)),
                _ => {}
            }
        }
        found
    }

    /// These with an equation used to replace a variable.
    fn solved(&self, terms: &Terms, constant: i128, steps: &mut Steps) -> Result<Self, Spent> {
        let Some(&(variable, factor)) = terms.iter().min_by_key(|t| (t.1.unsigned_abs(), t.0))
        else {
            return Err(Spent);
        };
        let others = terms.iter().filter(|t| t.0 != variable);
        if factor.unsigned_abs() == 1 {
            // variable = -factor x (others + constant)
            let by: Terms = others.map(|&(v, f)| (v, -factor * f)).collect();
            return self.replaced(variable, &by, -factor * constant, steps);
        }
        // variable = new - shares, which makes the other factors smaller.
        let new = self.variables().last().map_or(0, |v| v + 1);
        let mut by = vec![(new, 1)];
        by.extend(others.map(|&(v, f)| (v, -div_near(f, factor))));
        self.replaced(variable, &by, 0, steps)
    }

    fn replaced(
        &self,
        variable: usize,
        by: &Terms,
        constant: i128,
        steps: &mut Steps,
    ) -> Result<Self, Spent> {
        let mut shadow = Self { impossible: self.impossible, ..Self::default() };
        steps.take(self.rows.len() as u64)?;
        for (terms, &old) in &self.rows {
            match terms.iter().find(|t| t.0 == variable) {
                None => shadow.add(terms.iter().copied(), old)?,
                Some(&(_, factor)) => {
                    let rest: Terms = terms.iter().filter(|t| t.0 != variable).copied().collect();
                    let sum = combined(&rest, 1, by, factor)?;
                    let constant = factor.checked_mul(constant).and_then(|c| c.checked_add(old));
                    shadow.add(sum, constant.ok_or(Spent)?)?;
                }
            }
        }
        Ok(shadow)
    }

    /// Drops what already follows from each variable's own bounds.
    fn drop_implied(&mut self) {
        let mut low: BTreeMap<usize, i128> = BTreeMap::new();
        let mut high: BTreeMap<usize, i128> = BTreeMap::new();
        for (terms, &constant) in &self.rows {
            if let &[(variable, factor)] = terms.as_slice() {
                // A single factor is 1 or -1.
                if factor > 0 {
                    low.insert(variable, -constant);
                } else {
                    high.insert(variable, constant);
                }
            }
        }
        let extreme = |terms: &Terms, constant: i128, most: bool| {
            terms.iter().try_fold(constant, |sum, &(variable, factor)| {
                let end =
                    if (factor > 0) == most { high.get(&variable) } else { low.get(&variable) };
                sum.checked_add(end?.checked_mul(factor)?)
            })
        };
        let mut impossible = false;
        self.rows.retain(|terms, constant| {
            impossible |= extreme(terms, *constant, true).is_some_and(|most| most < 0);
            terms.len() == 1 || extreme(terms, *constant, false).is_none_or(|least| least < 0)
        });
        self.impossible |= impossible;
    }

    /// Leaves out one of `variables`: if possible exactly, and then the one
    /// that leaves the fewest inequalities.
    fn eliminated(&mut self, variables: &[usize], steps: &mut Steps) -> Result<Outcome, Spent> {
        self.drop_implied();
        let variable = self.easiest(variables);
        let (lower, upper, mut surely) = self.split(variable);
        surely.impossible = self.impossible;
        let mut perhaps = surely.clone();
        let mut exact = true;
        steps.take((self.rows.len() + lower.len() * upper.len()) as u64)?;
        for (low, below) in &lower {
            for (high, above) in &upper {
                // low x variable + below >= 0 and above - high x variable >= 0
                let (low_factor, high_factor) = (low.1, high.1);
                let terms = combined(&below.0, high_factor, &above.0, low_factor)?;
                let constant = high_factor
                    .checked_mul(below.1)
                    .zip(low_factor.checked_mul(above.1))
                    .and_then(|(a, b)| a.checked_add(b))
                    .ok_or(Spent)?;
                let gap = (low_factor - 1) * (high_factor - 1);
                exact &= gap == 0;
                perhaps.add(terms.iter().copied(), constant)?;
                surely.add(terms, constant - gap)?;
            }
        }
        Ok(if exact { Outcome::Exact(perhaps) } else { Outcome::Between { surely, perhaps } })
    }

    fn easiest(&self, variables: &[usize]) -> usize {
        // By variable: how many lower and upper bounds, and their largest factors.
        let mut found: BTreeMap<usize, ([i128; 2], [i128; 2])> = BTreeMap::new();
        for &(variable, factor) in self.rows.keys().flatten() {
            let (count, largest) = found.entry(variable).or_default();
            let side = usize::from(factor < 0);
            count[side] += 1;
            largest[side] = largest[side].max(factor.abs());
        }
        let effort = |v: &usize| {
            let (count, largest) = found.get(v).copied().unwrap_or_default();
            let exact = largest[0] <= 1 || largest[1] <= 1;
            (!exact, count[0] * count[1] - count[0] - count[1], *v)
        };
        variables.iter().copied().min_by_key(effort).unwrap_or(0)
    }

    /// The lower and upper bounds of a variable, by its factor (made positive)
    /// with the rest, and the inequalities that do not speak of it.
    fn split(&self, variable: usize) -> (Vec<Bound>, Vec<Bound>, Self) {
        let (mut lower, mut upper, mut others) = (Vec::new(), Vec::new(), Self::default());
        for (terms, &constant) in &self.rows {
            match terms.iter().find(|t| t.0 == variable) {
                None => {
                    others.rows.insert(terms.clone(), constant);
                }
                Some(&(_, factor)) => {
                    let rest = terms.iter().filter(|t| t.0 != variable).copied().collect();
                    let side = if factor > 0 { &mut lower } else { &mut upper };
                    side.push(((variable, factor.abs()), (rest, constant)));
                }
            }
        }
        (lower, upper, others)
    }

    /// Whether one of the points holds that the sure shadow leaves out: just
    /// above a lower bound.
    fn has_splinter(&self, variables: &[usize], steps: &mut Steps) -> Result<bool, Spent> {
        let (lower, upper, _) = self.split(self.easiest(variables));
        let largest = upper.iter().map(|(high, _)| high.1).max().unwrap_or(1);
        for ((variable, factor), (rest, constant)) in lower {
            for above in 0..=(largest * factor - largest - factor) / largest {
                let mut splinter = self.clone();
                let up = rest.iter().copied().chain([(variable, factor)]);
                let down = up.clone().map(|(v, f)| (v, -f));
                splinter.add(up, constant - above)?;
                splinter.add(down, above - constant)?;
                steps.take(1 + self.rows.len() as u64)?;
                if splinter.can_hold(steps)? {
                    return Ok(true);
                }
            }
        }
        Ok(false)
    }
}

/// A variable with its factor, and the rest of the inequality.
type Bound = ((usize, i128), (Terms, i128));

/// `a` times some terms and `b` times others, in order.
fn combined(
    left: &[(usize, i128)],
    a: i128,
    right: &[(usize, i128)],
    b: i128,
) -> Result<Terms, Spent> {
    let mut sums: BTreeMap<usize, i128> = BTreeMap::new();
    for (terms, factor) in [(left, a), (right, b)] {
        for &(variable, f) in terms {
            let sum = sums.entry(variable).or_insert(0);
            *sum = f.checked_mul(factor).and_then(|p| p.checked_add(*sum)).ok_or(Spent)?;
        }
    }
    Ok(sums.into_iter().collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn possible(rows: &[(&[(usize, i128)], i128)]) -> bool {
        let mut shadow = Shadow::default();
        for (terms, constant) in rows {
            shadow.add(terms.iter().copied(), *constant).expect("small");
        }
        shadow.can_hold(&mut Steps::new(100_000)).expect("small")
    }

    #[test]
    fn between_two_multiples_there_may_be_no_whole_number() {
        // 3 x >= 7 and 3 x <= 8
        assert!(!possible(&[(&[(0, 3)], -7), (&[(0, -3)], 8)]));
        // 2 y + 1 = 2 x, written as two inequalities
        assert!(!possible(&[(&[(0, 2), (1, -2)], -1), (&[(0, -2), (1, 2)], 1)]));
        // Two unknowns that chase each other upwards for ever.
        assert!(!possible(&[(&[(0, 1), (1, -1)], -1), (&[(0, -1), (1, 1)], -1)]));
        // Endless is fine.
        assert!(possible(&[(&[(0, 1), (1, -1)], -1)]));
    }

    #[test]
    fn the_omega_tests_own_example() {
        // 27 <= 11 x + 13 y <= 45 and -10 <= 7 x - 9 y <= 4 hold nowhere in
        // whole numbers, though in fractions they do (Pugh 1991).
        assert!(!possible(&[
            (&[(0, 11), (1, 13)], -27),
            (&[(0, -11), (1, -13)], 45),
            (&[(0, 7), (1, -9)], 10),
            (&[(0, -7), (1, 9)], 4),
        ]));
    }

    #[test]
    fn agrees_with_trying_every_point() {
        let mut seed = 7_u64;
        let mut next = |n: u64| {
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            i128::from((seed >> 33) % n)
        };
        let mut yes = 0;
        for _ in 0..600 {
            let mut shadow = Shadow::default();
            let mut rows: Vec<(Vec<(usize, i128)>, i128)> = Vec::new();
            for v in 0..3 {
                rows.push((vec![(v, 1)], 4));
                rows.push((vec![(v, -1)], 4));
            }
            for _ in 0..4 {
                let terms = (0..3).map(|v| (v, next(11) - 5)).collect();
                rows.push((terms, next(9) - 7));
            }
            for (terms, constant) in &rows {
                shadow.add(terms.iter().copied(), *constant).expect("small");
            }
            let mut expected = false;
            for point in 0..9_i128.pow(3) {
                let at = |v: usize| point / 9_i128.pow(v as u32) % 9 - 4;
                expected |= rows.iter().all(|(terms, constant)| {
                    terms.iter().map(|&(v, f)| f * at(v)).sum::<i128>() + constant >= 0
                });
            }
            let found = shadow.can_hold(&mut Steps::new(1_000_000)).expect("small");
            assert_eq!(found, expected, "{rows:?}");
            yes += usize::from(found);
        }
        assert!((100..500).contains(&yes), "{yes} of 600 hold: no test of both answers");
    }
}
