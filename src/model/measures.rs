//! Body measurements, ease, and the expressions that count on them.

use crate::measure::{Exact, Given, Length, SizeId};
use crate::syntax::front::{Ease, Entry};
use crate::syntax::tree::{Expr, ExprKind};

/// Body measurements and ease by landmark and size.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Measures {
    /// Landmark and body measurement.
    pub body: Vec<(String, Given<Length>)>,
    /// Landmark and ease.
    pub ease: Vec<(String, Given<Ease>)>,
}

/// Why an expression has no value.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum ExprError {
    /// A landmark that no measurement is given for.
    UnknownLandmark(String),
    /// `ease` beside no landmark, or beside several.
    WhoseEase,
    /// Lengths multiplied, a number where a length is needed, a division by nothing.
    NotALength,
}

enum Value {
    Length(Length),
    Number(Exact),
}

impl Measures {
    /// Takes measurements and ease from front matter or targets.
    #[must_use]
    pub fn new(body: &[Entry<Given<Length>>], ease: &[Entry<Given<Ease>>]) -> Self {
        fn take<T: Clone>(entries: &[Entry<T>]) -> Vec<(String, T)> {
            entries.iter().map(|e| (e.name.value.clone(), e.value.value.clone())).collect()
        }
        Self { body: take(body), ease: take(ease) }
    }

    /// The body measurement of a landmark.
    #[must_use]
    pub fn body(&self, landmark: &str, size: SizeId) -> Option<Length> {
        self.body.iter().find(|(name, _)| name == landmark).and_then(|(_, v)| v.get(size).copied())
    }

    /// The ease at a landmark as a length; none given is no ease.
    #[must_use]
    pub fn ease(&self, landmark: &str, size: SizeId) -> Length {
        let given = self.ease.iter().find(|(name, _)| name == landmark);
        match given.and_then(|(_, v)| v.get(size)) {
            Some(Ease::Length(length)) => *length,
            Some(Ease::Percent(part)) => {
                self.body(landmark, size).map_or(Length::zero(), |body| body * *part)
            }
            None => Length::zero(),
        }
    }

    /// The landmarks an expression names, in order, `ease` left out.
    #[must_use]
    pub fn landmarks(expr: &Expr) -> Vec<String> {
        let mut names = Vec::new();
        collect(expr, &mut names);
        names
    }

    /// The length an expression comes to in one size.
    ///
    /// `ease` stands for the ease of the one landmark the expression names.
    ///
    /// # Errors
    /// [`ExprError`] where a name has no measurement or the parts do not make a length.
    pub fn length(&self, expr: &Expr, size: SizeId) -> Result<Length, ExprError> {
        match self.value(expr, &Self::landmarks(expr), size)? {
            Value::Length(length) => Ok(length),
            Value::Number(_) => Err(ExprError::NotALength),
        }
    }

    /// How an expression counts its landmark: `a` and `c` in `a x (landmark + ease) + c`,
    /// where it names exactly one and counts its ease alike.
    #[must_use]
    pub fn share(expr: &Expr) -> Option<(String, Exact, Length)> {
        let names = Self::landmarks(expr);
        let [name] = names.as_slice() else { return None };
        let probe = |body: i64, ease: i64| {
            let measures = Self {
                body: vec![(name.clone(), Given::Same(Length::cm(body)))],
                ease: vec![(name.clone(), Given::Same(Ease::Length(Length::cm(ease))))],
            };
            measures.length(expr, SizeId(0)).ok()
        };
        let (rest, with_body, with_ease) = (probe(0, 0)?, probe(1, 0)?, probe(0, 1)?);
        let factor = (with_body - rest) / Length::cm(1);
        let even = with_body == with_ease && factor > Exact::from_integer(0);
        even.then_some((name.clone(), factor, rest))
    }

    fn value(&self, expr: &Expr, names: &[String], size: SizeId) -> Result<Value, ExprError> {
        let both = |a: &Expr, b: &Expr| -> Result<(Value, Value), ExprError> {
            Ok((self.value(a, names, size)?, self.value(b, names, size)?))
        };
        Ok(match &expr.kind {
            ExprKind::Name(name) if name == "ease" => match names {
                [one] => Value::Length(self.ease(one, size)),
                _ => return Err(ExprError::WhoseEase),
            },
            ExprKind::Name(name) => Value::Length(
                self.body(name, size).ok_or_else(|| ExprError::UnknownLandmark(name.clone()))?,
            ),
            ExprKind::Length(length) => Value::Length(*length),
            ExprKind::Number(number) => Value::Number(*number),
            ExprKind::Add(a, b) => match both(a, b)? {
                (Value::Length(a), Value::Length(b)) => Value::Length(a + b),
                (Value::Number(a), Value::Number(b)) => Value::Number(a + b),
                _ => return Err(ExprError::NotALength),
            },
            ExprKind::Sub(a, b) => match both(a, b)? {
                (Value::Length(a), Value::Length(b)) => Value::Length(a - b),
                (Value::Number(a), Value::Number(b)) => Value::Number(a - b),
                _ => return Err(ExprError::NotALength),
            },
            ExprKind::Mul(a, b) => match both(a, b)? {
                (Value::Length(l), Value::Number(n)) | (Value::Number(n), Value::Length(l)) => {
                    Value::Length(l * n)
                }
                (Value::Number(a), Value::Number(b)) => Value::Number(a * b),
                _ => return Err(ExprError::NotALength),
            },
            ExprKind::Div(a, b) => match both(a, b)? {
                (_, Value::Number(n)) if n == Exact::from_integer(0) => {
                    return Err(ExprError::NotALength);
                }
                (Value::Length(l), Value::Number(n)) => Value::Length(l * n.recip()),
                (Value::Number(a), Value::Number(b)) => Value::Number(a / b),
                _ => return Err(ExprError::NotALength),
            },
        })
    }
}

fn collect(expr: &Expr, names: &mut Vec<String>) {
    match &expr.kind {
        ExprKind::Name(name) if name != "ease" && !names.contains(name) => names.push(name.clone()),
        ExprKind::Name(_) | ExprKind::Length(_) | ExprKind::Number(_) => {}
        ExprKind::Add(a, b) | ExprKind::Sub(a, b) | ExprKind::Mul(a, b) | ExprKind::Div(a, b) => {
            collect(a, names);
            collect(b, names);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::exact;
    use crate::source::Span;

    fn name(text: &str) -> Expr {
        Expr { span: Span::at(0), kind: ExprKind::Name(text.to_owned()) }
    }

    fn half(expr: Expr) -> Expr {
        let two = Expr { span: Span::at(0), kind: ExprKind::Number(exact(2, 1)) };
        Expr { span: Span::at(0), kind: ExprKind::Div(Box::new(expr), Box::new(two)) }
    }

    fn sum(a: Expr, b: Expr) -> Expr {
        Expr { span: Span::at(0), kind: ExprKind::Add(Box::new(a), Box::new(b)) }
    }

    fn measures() -> Measures {
        Measures {
            body: vec![("chest".to_owned(), Given::Same(Length::cm(90)))],
            ease: vec![("chest".to_owned(), Given::Same(Ease::Percent(exact(1, 10))))],
        }
    }

    #[test]
    fn ease_belongs_to_the_landmark_beside_it() {
        let expr = sum(half(name("chest")), half(name("ease")));
        assert_eq!(
            measures().length(&expr, SizeId(0)),
            Ok(Length::new(exact(495, 10), crate::measure::Unit::Cm))
        );
        assert_eq!(measures().length(&name("ease"), SizeId(0)), Err(ExprError::WhoseEase));
        assert_eq!(
            measures().length(&name("hip"), SizeId(0)),
            Err(ExprError::UnknownLandmark("hip".to_owned()))
        );
    }

    #[test]
    fn half_a_chest_counts_the_chest_by_half() {
        let expr = sum(half(name("chest")), half(name("ease")));
        assert_eq!(Measures::share(&expr), Some(("chest".to_owned(), exact(1, 2), Length::zero())));
        assert_eq!(
            Measures::share(&name("chest")),
            None,
            "without its ease it says nothing of the fit"
        );
    }
}
