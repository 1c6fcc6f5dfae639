//! All whole solutions of equations at once.
//!
//! The whole solutions of a set of linear equations form a lattice: every
//! variable becomes a [`Form`], a constant plus whole multiples of a few
//! *coordinates* that may be any whole number. Equations then need no more
//! attention, and neither do multiples, which are equations with one more
//! variable (`n = 4 k + 2`). Where no variable of an equation has the factor
//! 1 or -1, Euclid's algorithm makes one; that is also what finds that
//! `4 k + 2 = 6 j + 3` never holds. Knows nothing of bounds and aims.

use super::Spent;
use super::whole::{div_near, narrow};
use crate::measure::gcd;

/// `constant + sum of factor x variable`; no factor is nought, variables in order.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Form {
    pub(super) constant: i64,
    pub(super) terms: Vec<(usize, i64)>,
}

/// Every variable in coordinates, and what each variable made on the way stands for.
pub(super) type Forms = (Vec<Form>, Vec<(usize, Form)>);

impl Form {
    pub(super) fn variable(variable: usize) -> Self {
        Self { constant: 0, terms: vec![(variable, 1)] }
    }

    /// This and `factor` times `other`.
    pub(super) fn plus(&self, other: &Self, factor: i64) -> Result<Self, Spent> {
        let fused = |a: i64, b: i64| {
            b.checked_mul(factor).and_then(|product| product.checked_add(a)).ok_or(Spent)
        };
        let mut terms = Vec::with_capacity(self.terms.len() + other.terms.len());
        let (mut left, mut right) = (self.terms.iter().peekable(), other.terms.iter().peekable());
        loop {
            let (variable, value) = match (left.peek(), right.peek()) {
                (Some(&&(a, x)), Some(&&(b, y))) if a == b => {
                    left.next();
                    right.next();
                    (a, fused(x, y)?)
                }
                (Some(&&(a, x)), Some(&&(b, _))) if a < b => {
                    left.next();
                    (a, x)
                }
                (Some(&&(a, x)), None) => {
                    left.next();
                    (a, x)
                }
                (_, Some(&&(b, y))) => {
                    right.next();
                    (b, fused(0, y)?)
                }
                (None, None) => break,
            };
            if value != 0 {
                terms.push((variable, value));
            }
        }
        Ok(Self { constant: fused(self.constant, other.constant)?, terms })
    }

    /// This with `variable` replaced by `by`.
    pub(super) fn with(&self, variable: usize, by: &Self) -> Result<Option<Self>, Spent> {
        let Ok(place) = self.terms.binary_search_by_key(&variable, |t| t.0) else {
            return Ok(None);
        };
        let mut rest = self.clone();
        let (_, factor) = rest.terms.remove(place);
        rest.plus(by, factor).map(Some)
    }

    /// The greatest number that divides every factor; nought without any.
    pub(super) fn step(&self) -> i64 {
        self.terms.iter().fold(0, |step, &(_, factor)| gcd(step, factor))
    }

    /// The value when every variable is known.
    pub(super) fn value(&self, value_of: impl Fn(usize) -> i64) -> Result<i64, Spent> {
        let sum = self.terms.iter().try_fold(i128::from(self.constant), |sum, &(v, f)| {
            sum.checked_add(i128::from(f) * i128::from(value_of(v))).ok_or(Spent)
        });
        narrow(sum?)
    }
}

/// Variables, some of them defined by others.
pub(super) struct Lattice {
    definitions: Vec<Option<Form>>,
    /// The defined variables, the latest last. A definition only uses variables
    /// without one, or with a later one.
    order: Vec<usize>,
    /// Variables that Euclid's algorithm made, with what each stands for.
    made: Vec<(usize, Form)>,
}

impl Lattice {
    pub(super) fn new(variables: usize) -> Self {
        Self { definitions: vec![None; variables], order: Vec::new(), made: Vec::new() }
    }

    /// `form` in variables without a definition.
    pub(super) fn resolved(&self, form: &Form) -> Result<Form, Spent> {
        let mut form = form.clone();
        let defined = |f: &Form| {
            f.terms.iter().find_map(|&(v, _)| Some((v, self.definitions.get(v)?.as_ref()?)))
        };
        while let Some((variable, definition)) = defined(&form) {
            if let Some(next) = form.with(variable, definition)? {
                form = next;
            }
        }
        Ok(form)
    }

    /// Makes `equation = 0` hold by definition. False if no whole numbers can.
    ///
    /// Of the variables with the factor 1 or -1 the one of the lowest `rank`
    /// goes, the last of equals.
    pub(super) fn settle<R: Ord>(
        &mut self,
        equation: &Form,
        rank: impl Fn(usize) -> R,
    ) -> Result<bool, Spent> {
        let mut equation = self.resolved(equation)?;
        let step = equation.step();
        if step == 0 {
            return Ok(equation.constant == 0);
        }
        if equation.constant % step != 0 {
            return Ok(false);
        }
        equation.constant /= step;
        equation.terms.iter_mut().for_each(|t| t.1 /= step);
        loop {
            let unit = equation
                .terms
                .iter()
                .filter(|t| t.1.unsigned_abs() == 1)
                .min_by_key(|t| (rank(t.0), std::cmp::Reverse(t.0)));
            if let Some(&(variable, factor)) = unit {
                let mut rest = equation.clone();
                rest.terms.retain(|t| t.0 != variable);
                self.define(variable, Form::default().plus(&rest, -factor)?);
                return Ok(true);
            }
            equation = self.smaller(&equation)?;
        }
    }

    /// The equation with a new variable in place of the one with the smallest
    /// factor, which leaves the other factors at most half as large as that.
    fn smaller(&mut self, equation: &Form) -> Result<Form, Spent> {
        let Some(&(least, divisor)) =
            equation.terms.iter().min_by_key(|t| (t.1.unsigned_abs(), t.0))
        else {
            return Err(Spent);
        };
        let mut shares = Form::default();
        for &(variable, factor) in equation.terms.iter().filter(|t| t.0 != least) {
            let share = narrow(div_near(i128::from(factor), i128::from(divisor)))?;
            if share != 0 {
                shares.terms.push((variable, share));
            }
        }
        let new = self.make(least, &shares)?;
        let by = Form::variable(new).plus(&shares, -1)?;
        equation.with(least, &by)?.ok_or(Spent)
    }

    /// A new variable `variable + shares`, which `variable` is defined by from now on.
    fn make(&mut self, variable: usize, shares: &Form) -> Result<usize, Spent> {
        let new = self.definitions.len();
        self.definitions.push(None);
        self.made.push((new, Form::variable(variable).plus(shares, 1)?));
        self.define(variable, Form::variable(new).plus(shares, -1)?);
        Ok(new)
    }

    fn define(&mut self, variable: usize, by: Form) {
        if let Some(place) = self.definitions.get_mut(variable) {
            *place = Some(by);
            self.order.push(variable);
        }
    }

    /// Every variable in coordinates, and the variables that were made on the
    /// way (numbered after those there were) with what each stands for.
    pub(super) fn forms(self) -> Result<Forms, Spent> {
        let mut forms: Vec<Form> = (0..self.definitions.len()).map(Form::variable).collect();
        for &variable in self.order.iter().rev() {
            if let Some(definition) = self.definitions.get(variable).and_then(Option::as_ref) {
                forms[variable] = substituted(definition, &forms)?;
            }
        }
        Ok((forms, self.made))
    }
}

/// `form` with every variable replaced by its form.
pub(super) fn substituted(form: &Form, forms: &[Form]) -> Result<Form, Spent> {
    let start = Form { constant: form.constant, terms: Vec::new() };
    form.terms.iter().try_fold(start, |sum, &(variable, factor)| match forms.get(variable) {
        Some(by) => sum.plus(by, factor),
        None => Err(Spent),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn form(constant: i64, terms: &[(usize, i64)]) -> Form {
        Form { constant, terms: terms.to_vec() }
    }

    fn solved(variables: usize, equations: &[Form]) -> Option<Vec<Form>> {
        let mut lattice = Lattice::new(variables);
        for e in equations {
            if !lattice.settle(e, |_| 0).ok()? {
                return None;
            }
        }
        lattice.forms().ok().map(|(forms, _)| forms)
    }

    #[test]
    fn two_multiples_that_never_meet() {
        // n = 4 k + 2 and n = 6 j + 3
        let n_k = form(-2, &[(0, 1), (1, -4)]);
        let n_j = form(-3, &[(0, 1), (2, -6)]);
        assert_eq!(solved(3, &[n_k, n_j]), None);
    }

    #[test]
    fn two_multiples_that_meet_every_twelve() {
        // n = 4 k + 2 and n = 6 j + 4: 10, 22, 34 ...
        let n_k = form(-2, &[(0, 1), (1, -4)]);
        let n_j = form(-4, &[(0, 1), (2, -6)]);
        let forms = solved(3, &[n_k, n_j]).expect("they meet");
        assert_eq!(forms[0].step(), 12);
        assert_eq!(forms[0].constant.rem_euclid(12), 10);
    }

    #[test]
    fn forms_give_all_solutions_and_nothing_else() {
        let equations = [form(5, &[(0, 6), (1, 10), (2, 15)]), form(-4, &[(1, 2), (2, 3), (3, 7)])];
        let forms = solved(4, &equations).expect("has solutions");
        let mut coordinates: Vec<usize> =
            forms.iter().flat_map(|f| f.terms.iter().map(|t| t.0)).collect();
        coordinates.sort_unstable();
        coordinates.dedup();
        assert_eq!(coordinates.len(), 2);
        let mut seen = std::collections::BTreeSet::new();
        for a in -400..=400 {
            for b in -400..=400 {
                let at = |v: usize| if v == coordinates[0] { a } else { b };
                let x: Vec<i64> = (0..4).map(|i| forms[i].value(at).expect("small")).collect();
                for e in &equations {
                    assert_eq!(e.value(|v| x[v]).ok(), Some(0));
                }
                if x.iter().all(|v| v.abs() <= 12) {
                    seen.insert(x);
                }
            }
        }
        let mut expected = std::collections::BTreeSet::new();
        let range = -12..=12_i64;
        for x0 in range.clone() {
            for x1 in range.clone() {
                for x2 in range.clone() {
                    for x3 in range.clone() {
                        let x = [x0, x1, x2, x3];
                        if equations.iter().all(|e| e.value(|v| x[v]).ok() == Some(0)) {
                            expected.insert(x.to_vec());
                        }
                    }
                }
            }
        }
        assert!(!expected.is_empty());
        assert_eq!(seen, expected);
    }
}
