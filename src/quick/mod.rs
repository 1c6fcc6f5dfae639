//! Quick answers: one question about a band, a row, a taper, a gauge or a
//! swatch, answered with every step of the working.
//!
//! Questions are values already read ([`read`] helps); answers are data that
//! print as text and serialize as JSON. All arithmetic is `plan`'s: this module
//! only asks for it and says what came of it. It knows nothing of patterns.

pub mod band;
pub mod gauge;
pub mod needle;
pub mod read;
pub mod space;
pub mod swatch;
pub mod taper;
pub mod words;

use serde::Serialize;
use std::borrow::Cow;
use std::fmt;

use crate::measure::{Exact, Length, Unit, decimal};

/// One step of the working.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Line {
    /// What is worked out.
    pub label: Cow<'static, str>,
    /// From what numbers; empty where it is simply given.
    pub formula: String,
    /// What comes of it, with its unit.
    pub value: String,
}

/// An answer, how it was had, and what to mind.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Answer<R> {
    /// The answer in a sentence, without a full stop.
    pub answer: String,
    /// The answer in numbers.
    pub result: R,
    /// The steps, in order.
    pub working: Vec<Line>,
    /// What to mind, a sentence each.
    pub notes: Vec<String>,
}

/// The answer, its working in columns, and its notes.
impl<R> fmt::Display for Answer<R> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{}", self.answer)?;
        let chars = |text: &str| text.chars().count();
        let label = self.working.iter().map(|line| chars(&line.label)).max().unwrap_or(0);
        let formula = self.working.iter().map(|line| chars(&line.formula)).max().unwrap_or(0);
        if !self.working.is_empty() {
            writeln!(f)?;
        }
        for line in &self.working {
            let sign = if line.formula.is_empty() { " " } else { "=" };
            writeln!(
                f,
                "  {:label$}  {:formula$} {sign} {}",
                line.label, line.formula, line.value
            )?;
        }
        if !self.notes.is_empty() {
            writeln!(f)?;
        }
        for note in &self.notes {
            writeln!(f, "note: {note}")?;
        }
        Ok(())
    }
}

/// Said where a count is to be cast on.
const SWATCH_FIRST: &str =
    "A computed count is a starting point: swatch, wash and measure before casting on.";

fn line(
    label: impl Into<Cow<'static, str>>,
    formula: impl Into<String>,
    value: impl Into<String>,
) -> Line {
    Line { label: label.into(), formula: formula.into(), value: value.into() }
}

/// To two decimals: enough to see which way a count was rounded.
fn number(value: Exact) -> String {
    decimal(value, 2)
}

/// To one decimal of a percent.
fn percents(fraction: Exact) -> String {
    format!("{}%", decimal(fraction * Exact::from_integer(100), 1))
}

fn length(length: Length, unit: Unit) -> String {
    length.precise(unit)
}

/// `per 10 cm`, `per in`
fn per(over: Length, unit: Unit) -> String {
    if over.amount(unit) == Exact::from_integer(1) {
        format!("per {}", unit.word())
    } else {
        format!("per {}", length(over, unit))
    }
}
