//! A system as the solver sees it: variables with spans, equations, and
//! errors of single variables.
//!
//! Whatever is neither an equation nor a span becomes one, with one variable
//! more: "`L` is nought or more" is `z = L` with `z` from nought up, a
//! multiple is `L = of x k + plus`, an aim at several unknowns is an error of
//! `y = L`. Every variable then has a form in coordinates (`lattice`) and
//! a span; [`Frame::narrow`] makes spans smaller until the equations have
//! nothing more to say. Knows nothing of how a best choice is looked for.

use std::collections::{BTreeMap, VecDeque};

use super::Spent;
use super::cost::{ErrorOf, Fraction, clamped};
use super::lattice::{Form, Lattice, substituted};
use super::whole::{div_down, div_near, div_up, narrow};
use super::whole_aim::{Builder, WholeAim};
use crate::plan::system::{Requirement, System};

/// The whole numbers from `low` to `high`.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Span {
    pub(super) low: i64,
    pub(super) high: i64,
}

impl Span {
    pub(super) const fn is_single(self) -> bool {
        self.low == self.high
    }

    /// How many there are, less one.
    pub(super) const fn width(self) -> u64 {
        self.high.abs_diff(self.low)
    }
}

/// The variables that share one form but for a factor and a constant, as the
/// range of that form's value.
pub(super) struct Class {
    /// Factors without a common divisor, the first above nought; no constant.
    pub(super) terms: Vec<(usize, i64)>,
    pub(super) members: Vec<Member>,
    /// Which errors are of a member.
    pub(super) errors: Vec<usize>,
}

/// `variable = factor x (the value of the class) + constant`.
#[derive(Clone, Copy)]
pub(super) struct Member {
    pub(super) variable: usize,
    pub(super) factor: i64,
    pub(super) constant: i64,
}

impl Member {
    /// The values of the class that keep the member in `span`.
    fn inverse(self, span: Span) -> (i128, i128) {
        let (factor, constant) = (i128::from(self.factor), i128::from(self.constant));
        let (a, b) = (i128::from(span.low) - constant, i128::from(span.high) - constant);
        if factor > 0 {
            (div_up(a, factor), div_down(b, factor))
        } else {
            (div_up(b, factor), div_down(a, factor))
        }
    }
}

impl Class {
    /// The values that keep every member in its span.
    pub(super) fn range(&self, spans: &[Span]) -> (i128, i128) {
        self.members.iter().fold((i128::MIN, i128::MAX), |(low, high), m| {
            let (a, b) = m.inverse(spans[m.variable]);
            (low.max(a), high.min(b))
        })
    }

    /// The member that an error is of.
    pub(super) fn member(&self, error: &ErrorOf) -> Option<Member> {
        self.members.iter().find(|m| m.variable == error.variable).copied()
    }
}

/// A system made of equations, spans and errors.
pub(super) struct Frame {
    /// The first so many variables are the system's own unknowns.
    pub(super) unknowns: usize,
    /// What each variable may be before any equation is looked at.
    spans: Vec<Span>,
    equations: Vec<Form>,
    /// Which equations speak of a variable.
    touched: Vec<Vec<usize>>,
    pub(super) forms: Vec<Form>,
    /// Each variable is `plus` and a multiple of `of`; a known one has an `of` of nought.
    residues: Vec<(i64, i64)>,
    pub(super) errors: Vec<ErrorOf>,
    /// The errors of the aims that no unknown is part of.
    pub(super) settled: Vec<Fraction>,
    pub(super) classes: Vec<Class>,
}

impl Frame {
    /// The frame of a system; nothing if no whole numbers satisfy its equations,
    /// or a bound alone cannot be kept.
    pub(super) fn new(system: &System) -> Result<Option<Self>, Spent> {
        let mut builder = Builder::new(system);
        let mut lattice_equations = Vec::new();
        let mut floors = Vec::new();
        for requirement in &system.requirements {
            match requirement {
                Requirement::Zero(l) => {
                    let form = builder.form(l);
                    checked_range(&form, &builder.spans)?;
                    lattice_equations.push(form);
                }
                Requirement::NotNegative(l) => floors.push(builder.form(l)),
                Requirement::Multiple(l, multiple) => {
                    let mut form = builder.form(l);
                    form.constant =
                        form.constant.checked_sub(i64::from(multiple.plus())).ok_or(Spent)?;
                    let of = i64::from(multiple.of());
                    let (low, high) = checked_range(&form, &builder.spans)?;
                    let (low, high) = (div_up(low, of.into()), div_down(high, of.into()));
                    let repeats = builder.add(low, high)?;
                    form.terms.push((repeats, -of));
                    lattice_equations.push(form);
                }
            }
        }
        let aims = builder.aims(system)?;
        if builder.spans.iter().any(|s| s.low > s.high) {
            return Ok(None);
        }

        let mut degree = vec![0_usize; builder.spans.len()];
        lattice_equations.iter().flat_map(|e| &e.terms).for_each(|t| degree[t.0] += 1);
        let mut aimed = vec![false; builder.spans.len()];
        aims.iter()
            .filter(|a| a.form.terms.len() == 1)
            .for_each(|a| aimed[a.form.terms[0].0] = true);
        let rank = |v: usize| {
            (aimed.get(v).copied().unwrap_or(false), degree.get(v).copied().unwrap_or(0))
        };
        let mut lattice = Lattice::new(builder.spans.len());
        // Multiples of single unknowns first: what is then known of them makes
        // the others simpler.
        lattice_equations.sort_by_key(|e| e.terms.len());
        for equation in &lattice_equations {
            if !lattice.settle(equation, rank)? {
                return Ok(None);
            }
        }
        let (forms, made) = lattice.forms()?;

        let mut frame = Self {
            unknowns: system.unknowns(),
            spans: builder.spans,
            equations: lattice_equations,
            touched: Vec::new(),
            forms,
            residues: Vec::new(),
            errors: Vec::new(),
            settled: Vec::new(),
            classes: Vec::new(),
        };
        let first_made = frame.spans.len();
        for (variable, meaning) in made {
            frame.name(variable, &meaning)?;
        }
        frame.hold(first_made)?;
        for form in &floors {
            if !frame.keep_from_below(form)? {
                return Ok(None);
            }
        }
        for aim in aims {
            frame.take_aim(aim)?;
        }
        Ok(frame.index().then_some(frame))
    }

    /// Gives `variable`, already in the forms, the span and the equation of its meaning.
    fn name(&mut self, variable: usize, meaning: &Form) -> Result<(), Spent> {
        let (low, high) = checked_range(meaning, &self.spans)?;
        self.spans.push(Span { low: narrow(low)?, high: narrow(high)? });
        self.equations.push(meaning.plus(&Form::variable(variable), -1)?);
        Ok(())
    }

    /// Writes down as equations the forms with coordinates that were made last,
    /// from `first` on: what is known of others then tells of these.
    fn hold(&mut self, first: usize) -> Result<(), Spent> {
        for variable in 0..first.min(self.forms.len()) {
            if self.forms[variable].terms.iter().any(|t| t.0 >= first) {
                let held = self.forms[variable].plus(&Form::variable(variable), -1)?;
                checked_range(&held, &self.spans)?;
                self.equations.push(held);
            }
        }
        Ok(())
    }

    /// A variable that stands for `meaning`.
    fn add(&mut self, meaning: &Form) -> Result<usize, Spent> {
        let variable = self.forms.len();
        self.forms.push(substituted(meaning, &self.forms)?);
        self.name(variable, meaning)?;
        Ok(variable)
    }

    /// `form` is nought or more. False if it cannot be.
    fn keep_from_below(&mut self, form: &Form) -> Result<bool, Spent> {
        match form.terms.as_slice() {
            [] => Ok(form.constant >= 0),
            &[(variable, factor)] => {
                let (constant, factor) = (i128::from(form.constant), i128::from(factor));
                let span = &mut self.spans[variable];
                if factor > 0 {
                    span.low = span.low.max(clamped(div_up(-constant, factor)));
                } else {
                    span.high = span.high.min(clamped(div_down(constant, -factor)));
                }
                Ok(span.low <= span.high)
            }
            _ => {
                let variable = self.add(form)?;
                let span = &mut self.spans[variable];
                span.low = span.low.max(0);
                Ok(span.low <= span.high)
            }
        }
    }

    fn take_aim(&mut self, aim: WholeAim) -> Result<(), Spent> {
        let WholeAim { form, slope, shift, unit } = aim;
        if unit >> 100 != 0 {
            return Err(Spent);
        }
        let (variable, slope) = match form.terms.as_slice() {
            [] => {
                self.settled.push(Fraction::new(shift, unit));
                return Ok(());
            }
            &[(variable, factor)] => (variable, slope * i128::from(factor)),
            _ => (self.add(&form)?, slope),
        };
        // Room for one more factor as large as a span.
        let error = ErrorOf { variable, slope, shift, unit };
        let span = self.spans[variable];
        if error.over(span.low).max(error.over(span.high)) >> 120 != 0 {
            return Err(Spent);
        }
        self.errors.push(error);
        Ok(())
    }

    /// Works out what follows from forms and equations alone. False if a span
    /// holds no number its variable can be.
    fn index(&mut self) -> bool {
        self.touched = vec![Vec::new(); self.spans.len()];
        for (i, equation) in self.equations.iter().enumerate() {
            equation.terms.iter().for_each(|t| self.touched[t.0].push(i));
        }
        self.residues = self
            .forms
            .iter()
            .map(|f| match f.step() {
                0 => (0, f.constant),
                step => (step, f.constant.rem_euclid(step)),
            })
            .collect();
        self.classes = self.sorted_into_classes();
        let rounded: Option<Vec<Span>> =
            (0..self.spans.len()).map(|v| self.rounded(v, self.spans[v])).collect();
        rounded.map(|spans| self.spans = spans).is_some()
    }

    fn sorted_into_classes(&self) -> Vec<Class> {
        let mut errors_of = vec![Vec::new(); self.forms.len()];
        self.errors.iter().enumerate().for_each(|(i, e)| errors_of[e.variable].push(i));
        let mut classes: BTreeMap<Vec<(usize, i64)>, Class> = BTreeMap::new();
        for (variable, form) in self.forms.iter().enumerate() {
            let Some(&(_, first)) = form.terms.first() else { continue };
            let factor = form.step() * first.signum();
            let terms: Vec<_> = form.terms.iter().map(|&(v, f)| (v, f / factor)).collect();
            let class = classes.entry(terms).or_insert_with_key(|terms| Class {
                terms: terms.clone(),
                members: Vec::new(),
                errors: Vec::new(),
            });
            class.members.push(Member { variable, factor, constant: form.constant });
            class.errors.append(&mut errors_of[variable]);
        }
        classes.into_values().collect()
    }

    /// The span without the ends that the variable can never be.
    fn rounded(&self, variable: usize, span: Span) -> Option<Span> {
        let (of, plus) = self.residues[variable];
        let rounded = match of {
            0 => Span { low: span.low.max(plus), high: span.high.min(plus) },
            1 => span,
            _ => {
                let (of, plus) = (i128::from(of), i128::from(plus));
                Span {
                    low: clamped(div_up(i128::from(span.low) - plus, of) * of + plus),
                    high: clamped(div_down(i128::from(span.high) - plus, of) * of + plus),
                }
            }
        };
        (rounded.low <= rounded.high).then_some(rounded)
    }

    /// What each variable may be as far as bounds and equations tell by
    /// looking at one at a time; nothing if that is already too much.
    pub(super) fn hard(&self) -> Option<Vec<Span>> {
        let mut spans = self.spans.clone();
        let all = (0..self.equations.len()).collect();
        self.narrowed(&mut spans, all).then_some(spans)
    }

    /// `hard` with every error at most `level`.
    pub(super) fn within(
        &self,
        hard: &[Span],
        level: Fraction,
    ) -> Result<Option<Vec<Span>>, Spent> {
        let mut spans = hard.to_vec();
        let mut changed = Vec::new();
        for error in &self.errors {
            let (from, to) = error.window(level)?;
            changed.push((error.variable, clamped(from), clamped(to)));
        }
        Ok(self.narrow(&mut spans, &changed).then_some(spans))
    }

    /// Narrows the given variables to what lies between the given numbers, and
    /// all others by what follows. False if nothing is left of some variable.
    pub(super) fn narrow(&self, spans: &mut [Span], changes: &[(usize, i64, i64)]) -> bool {
        let mut queue = VecDeque::new();
        for &(variable, low, high) in changes {
            let old = spans[variable];
            let wanted = Span { low: old.low.max(low), high: old.high.min(high) };
            let Some(new) = self.rounded(variable, wanted) else { return false };
            if new != old {
                spans[variable] = new;
                queue.extend(&self.touched[variable]);
            }
        }
        self.narrowed(spans, queue)
    }

    /// Looks at the equations in `queue` and at those whose variables change
    /// on the way. Stops early where that only creeps: the spans are then
    /// larger than they could be, never smaller.
    fn narrowed(&self, spans: &mut [Span], mut queue: VecDeque<usize>) -> bool {
        let mut waiting = vec![false; self.equations.len()];
        queue.retain(|&e| !std::mem::replace(&mut waiting[e], true));
        let mut looks = 100 + 50 * self.equations.len();
        while let Some(e) = queue.pop_front() {
            waiting[e] = false;
            let Some(left) = looks.checked_sub(1) else { return true };
            looks = left;
            let (low, high) = range(&self.equations[e], spans);
            if low > 0 || high < 0 {
                return false;
            }
            for &(variable, factor) in &self.equations[e].terms {
                let old = spans[variable];
                // Whatever it is, the others can make up for it.
                let makes = i128::from(factor.unsigned_abs()) * i128::from(old.width());
                if makes <= high && makes <= -low {
                    continue;
                }
                let Some(new) = self.rounded(variable, remaining(old, factor, low, high)) else {
                    return false;
                };
                if new != old {
                    spans[variable] = new;
                    for &touched in &self.touched[variable] {
                        if touched != e && !std::mem::replace(&mut waiting[touched], true) {
                            queue.push_back(touched);
                        }
                    }
                }
            }
        }
        true
    }

    /// The worst error of the aims that no unknown is part of.
    pub(super) fn settled_level(&self) -> Fraction {
        self.settled.iter().copied().fold(Fraction::ZERO, Fraction::max)
    }

    /// No error can be below this in `spans`: the worst of the least errors.
    pub(super) fn least_level(&self, spans: &[Span]) -> Fraction {
        self.errors.iter().fold(self.settled_level(), |worst, e| {
            let (of, plus) = self.residues[e.variable];
            let span = spans[e.variable];
            let clamp = |v: i128| clamped(v.clamp(span.low.into(), span.high.into()));
            let of = i128::from(of.max(1));
            let below = div_down(e.just_below() - i128::from(plus), of) * of + i128::from(plus);
            let least = e.at(clamp(below)).min(e.at(clamp(below + of)));
            worst.max(least)
        })
    }

    /// The smallest error above `level` that a single variable could have.
    pub(super) fn next_level(
        &self,
        spans: &[Span],
        level: Fraction,
    ) -> Result<Option<Fraction>, Spent> {
        let mut next: Option<Fraction> = None;
        for e in &self.errors {
            let (from, to) = e.window(level)?;
            let span = spans[e.variable];
            let outside = [
                self.rounded(
                    e.variable,
                    Span { low: span.low, high: span.high.min(clamped(from - 1)) },
                )
                .map(|s| s.high),
                self.rounded(
                    e.variable,
                    Span { low: span.low.max(clamped(to + 1)), high: span.high },
                )
                .map(|s| s.low),
            ];
            for value in outside.into_iter().flatten() {
                let error = e.at(value);
                next = Some(next.map_or(error, |n| n.min(error)));
            }
        }
        Ok(next)
    }

    /// Where an error hangs on two or more coordinates that may be almost
    /// anything, changes coordinates so that it hangs on one of them, which it
    /// then holds. True if there was such an error.
    pub(super) fn untangle(&mut self, spans: &[Span]) -> Result<bool, Spent> {
        const ALMOST_ANYTHING: u64 = 4096;
        let wide = |v: usize| spans[v].width() > ALMOST_ANYTHING;
        let tangled = self.classes.iter().find(|class| {
            !class.errors.is_empty() && class.terms.iter().filter(|t| wide(t.0)).count() > 1
        });
        let Some(class) = tangled else { return Ok(false) };
        let first_made = self.forms.len();
        let mut knot: Vec<(usize, i64)> =
            class.terms.iter().copied().filter(|t| wide(t.0)).collect();
        while knot.len() > 1 {
            knot.sort_unstable_by_key(|t| (t.1.unsigned_abs(), t.0));
            let (least, divisor) = knot[0];
            let mut shares = Form::default();
            for (other, factor) in &mut knot[1..] {
                let share = narrow(div_near(i128::from(*factor), i128::from(divisor)))?;
                *factor -= share * divisor;
                shares.terms.push((*other, share));
            }
            shares.terms.sort_unstable();
            let new = self.forms.len();
            let meaning = Form::variable(least).plus(&shares, 1)?;
            let by = Form::variable(new).plus(&shares, -1)?;
            for form in &mut self.forms {
                if let Some(replaced) = form.with(least, &by)? {
                    *form = replaced;
                }
            }
            self.forms.push(Form::variable(new));
            self.name(new, &meaning)?;
            knot[0].0 = new;
            knot.retain(|t| t.1 != 0);
        }
        self.hold(first_made)?;
        // Nothing new holds, so no span can have become empty.
        self.index();
        Ok(true)
    }
}

/// The smallest and the largest value of a form.
fn range(form: &Form, spans: &[Span]) -> (i128, i128) {
    let start = (i128::from(form.constant), i128::from(form.constant));
    form.terms.iter().fold(start, |(low, high), &(variable, factor)| {
        let span = spans[variable];
        let (a, b) = (span.low, span.high);
        let (a, b) = if factor > 0 { (a, b) } else { (b, a) };
        let factor = i128::from(factor);
        (low + factor * i128::from(a), high + factor * i128::from(b))
    })
}

/// [`range`] of a form that is new: makes sure that no sum in it overflows,
/// now or in smaller spans.
fn checked_range(form: &Form, spans: &[Span]) -> Result<(i128, i128), Spent> {
    let mut most = form.constant.unsigned_abs() as u128;
    for &(variable, factor) in &form.terms {
        let span = spans[variable];
        let bound = u128::from(span.low.unsigned_abs().max(span.high.unsigned_abs()));
        most = bound
            .checked_mul(factor.unsigned_abs().into())
            .and_then(|product| most.checked_add(product))
            .filter(|sum| sum >> 120 == 0)
            .ok_or(Spent)?;
    }
    Ok(range(form, spans))
}

/// What is left of a variable's span in an equation whose value lies from
/// `low` to `high` and has to be nought.
fn remaining(old: Span, factor: i64, low: i128, high: i128) -> Span {
    let (a, b, factor) = (i128::from(old.low), i128::from(old.high), i128::from(factor));
    // The others give from low - own smallest to high - own largest, and
    // factor x variable is the opposite of that.
    let (least, most) =
        if factor > 0 { (factor * a, factor * b) } else { (factor * b, factor * a) };
    let (from, to) = (most - high, least - low);
    let (from, to) = match factor {
        1 => (from, to),
        -1 => (-to, -from),
        f if f > 0 => (div_up(from, f), div_down(to, f)),
        f => (div_up(to, f), div_down(from, f)),
    };
    Span { low: clamped(a.max(from)), high: clamped(b.min(to)) }
}
