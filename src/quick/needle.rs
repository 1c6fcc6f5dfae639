//! `wale needle`: what a needle is called elsewhere, and its neighbours.

use serde::Serialize;

use super::{Answer, Line, line};
use crate::measure::{Unit, decimal};
use crate::standards::{NeedleSize, needles};

/// A needle and its neighbours.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct NeedleAnswer {
    /// The needle.
    pub needle: NeedleNames,
    /// One size smaller, where there is one.
    pub one_smaller: Option<NeedleNames>,
    /// Two sizes smaller.
    pub two_smaller: Option<NeedleNames>,
    /// One size larger.
    pub one_larger: Option<NeedleNames>,
    /// Two sizes larger.
    pub two_larger: Option<NeedleNames>,
}

/// What a needle is called.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct NeedleNames {
    /// Its thickness: `4 mm`.
    pub metric: String,
    /// Its US number, where all charts agree on it or it was given by it.
    pub us: Option<&'static str>,
    /// Its old UK number.
    pub old_uk: Option<&'static str>,
}

impl NeedleNames {
    fn of(needle: NeedleSize) -> Self {
        Self {
            metric: format!("{} mm", decimal(needle.metric().amount(Unit::Mm), 2)),
            us: needle.us(),
            old_uk: needle.old_uk(),
        }
    }

    /// `4 mm, US 6, old UK 8`
    fn words(&self) -> String {
        let us = self.us.map(|us| format!(", US {us}"));
        let old_uk = self.old_uk.map(|uk| format!(", old UK {uk}"));
        format!("{}{}{}", self.metric, us.unwrap_or_default(), old_uk.unwrap_or_default())
    }
}

/// What a needle is called, and which are a size or two from it.
#[must_use]
pub fn needle(asked: NeedleSize) -> Answer<NeedleAnswer> {
    let names = |needle: Option<NeedleSize>| needle.map(NeedleNames::of);
    let result = NeedleAnswer {
        needle: NeedleNames::of(asked),
        one_smaller: names(asked.smaller_by(1)),
        two_smaller: names(asked.smaller_by(2)),
        one_larger: names(asked.larger_by(1)),
        two_larger: names(asked.larger_by(2)),
    };
    let neighbour = |label, names: &Option<NeedleNames>| -> Line {
        line(label, "", names.as_ref().map_or("none".to_owned(), NeedleNames::words))
    };
    let working = vec![
        neighbour("two sizes smaller", &result.two_smaller),
        neighbour("one size smaller", &result.one_smaller),
        neighbour("one size larger", &result.one_larger),
        neighbour("two sizes larger", &result.two_larger),
    ];
    Answer { answer: result.needle.words(), result, working, notes: disputed(asked) }
}

/// What charts disagree on.
fn disputed(asked: NeedleSize) -> Vec<String> {
    let lines = needles().iter().filter(|needle| needle.metric == asked.metric());
    let numbers: Vec<&str> =
        lines.filter_map(|needle| needle.us.filter(|us| us.disputed).map(|us| us.name)).collect();
    if numbers.is_empty() {
        return Vec::new();
    }
    vec![format!(
        "Charts disagree on its US number (some say {}): go by the millimeters.",
        numbers.join(" or ")
    )]
}
