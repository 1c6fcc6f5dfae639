//! The arithmetic gives the numbers that are in print.
//!
//! One table a subject. Every row names the published source and how it was
//! had: `read` there, or `computed` from what was read there. Where ours
//! differs from print for a reason, the row says why and holds both numbers.

use crate::outside_values::compared;
use walewright::measure::round::{Multiple, Toward};
use walewright::measure::{Density, Exact, Length, Rows, Stitches, Unit, decimal, parse_exact};
use walewright::plan::spacing::{EvenChange, IncreaseMethod, Setting, Spacing};
use walewright::standards::How;

mod bands;
mod gauge;
mod misprints;
mod shapes;
mod spacing;
mod taper;

/// One number in print beside ours.
struct Row {
    what: &'static str,
    source: &'static str,
    how: How,
    ours: String,
    printed: String,
    /// What ours is instead, and why, where it differs from print.
    instead: Option<(&'static str, &'static str)>,
}

#[expect(clippy::needless_pass_by_value, reason = "a table reads better without borrows")]
fn row(
    what: &'static str,
    source: &'static str,
    ours: impl ToString,
    printed: impl ToString,
) -> Row {
    let (ours, printed) = (ours.to_string(), printed.to_string());
    Row { what, source, how: How::Read, ours, printed, instead: None }
}

impl Row {
    /// Completed by us from what was read.
    fn computed(self) -> Self {
        Self { how: How::Computed, ..self }
    }

    /// Ours is this instead, because.
    fn but_ours_is(self, ours: &'static str, because: &'static str) -> Self {
        Self { instead: Some((ours, because)), ..self }
    }

    fn expected(&self) -> &str {
        self.instead.map_or(self.printed.as_str(), |(ours, _)| ours)
    }
}

/// Fails with every row that does not hold, not only the first.
fn agree(rows: &[Row]) {
    assert!(!rows.is_empty(), "nothing was compared");
    let mut wrong = Vec::new();
    for row in rows {
        let (how, source) = (row.how.word(), row.source);
        compared(row.what, source, how);
        if row.ours != row.expected() {
            let expected = row.expected();
            wrong
                .push(format!("{}: ours {}, not {expected} ({how}, {source})", row.what, row.ours));
        }
        match row.instead {
            Some((ours, because)) if ours == row.printed => {
                wrong.push(format!("{}: printed like ours after all: {because}", row.what));
            }
            _ => {}
        }
    }
    assert!(wrong.is_empty(), "{} of {} rows:\n{}", wrong.len(), rows.len(), wrong.join("\n"));
}

fn number(text: &str) -> Exact {
    parse_exact(text).unwrap_or_else(|error| panic!("{text:?}: {error}"))
}

fn per_inch(count: &str) -> Density {
    over(count, Length::inches(1))
}

fn per_4_inches(count: &str) -> Density {
    over(count, Length::inches(4))
}

fn per_10_cm(count: &str) -> Density {
    over(count, Length::cm(10))
}

fn over(count: &str, length: Length) -> Density {
    Density::new(number(count), length).expect("a gauge")
}

fn inches(count: &str) -> Length {
    Length::new(number(count), Unit::In)
}

fn nearest(value: Exact) -> u32 {
    walewright::plan::convert::whole(value, Multiple::ANY, Toward::Nearest)
}

/// As it is printed, to so many decimals.
fn to(value: Exact, places: u32) -> String {
    decimal(value, places)
}

fn list<T: ToString>(values: impl IntoIterator<Item = T>) -> String {
    values.into_iter().map(|value| value.to_string()).collect::<Vec<_>>().join(", ")
}

fn even(from: u32, to: u32, setting: Setting) -> Spacing {
    let (from, to) = (Stitches(from), Stitches(to));
    let change = EvenChange { from, to, setting, method: IncreaseMethod::M1 };
    change.spaced().unwrap_or_else(|error| panic!("{from:?} to {to:?}: {error:?}"))
}

fn rows(count: u32) -> Rows {
    Rows(count)
}
