//! Where the numbers of a rewritten pattern come from.
//!
//! [`reasons`] turns the derivations of a plan into sentences and numbers that
//! can be shown; [`text`] shows them. Nothing is worked out here that the plan
//! has not worked out: only widths and shares of what it chose.

mod text;

pub use text::text;

use crate::diag::words;
use crate::measure::{Exact, Length, SizeId, Unit, decimal, exact};
use crate::model::{GaugeId, Model};
use crate::plan::{Derivation, Plan, Reason};
use crate::source::{Source, Span};
use crate::syntax::print;
use crate::syntax::tree::Lies;
use serde::Serialize;

/// One number of the pattern, and where it comes from in each size.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Number {
    /// Its place in the pattern.
    #[serde(skip)]
    pub place: Span,
    /// The line of the pattern, from 1.
    pub line: usize,
    /// The piece.
    pub piece: String,
    /// The instruction it stands in, as the pattern had it.
    pub instruction: String,
    /// The gauge its width is taken in, as in `body: 20 sts / 10 cm`.
    pub gauge: String,
    /// The sizes.
    pub sizes: Vec<InSize>,
}

/// The derivation of a number in one size.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct InSize {
    /// The size's name; empty where the pattern has one size.
    pub size: String,
    /// The number the pattern had.
    pub was: Option<i64>,
    /// The exact number aimed at.
    pub exact: String,
    /// The number chosen.
    pub chosen: i64,
    /// Why it aims there.
    pub because: String,
    /// What else was asked of it.
    pub asked: Vec<String>,
    /// Stitches chosen less stitches aimed at.
    pub off_stitches: String,
    /// The same as a width.
    pub off_width: String,
    /// How much of the tolerance (2% of the number, at least a stitch) that is.
    pub off_share: String,
    /// The lines of the other numbers it is tied to.
    pub tied_to_lines: Vec<usize>,
}

/// The derivations of a plan, in the order of the text.
#[must_use]
pub fn reasons(source: &Source, model: &Model<'_>, plan: &Plan<'_>) -> Vec<Number> {
    let teller = Teller { source, model, plan };
    let mut places: Vec<(Span, &Derivation)> = Vec::new();
    for size in &plan.sizes {
        for derivation in &size.derivations {
            if !places.iter().any(|(place, _)| *place == derivation.place) {
                places.push((derivation.place, derivation));
            }
        }
    }
    places.sort_by_key(|(place, _)| *place);
    places.into_iter().map(|(place, first)| teller.number(place, first)).collect()
}

struct Teller<'a, 'd> {
    source: &'a Source,
    model: &'a Model<'d>,
    plan: &'a Plan<'a>,
}

impl Teller<'_, '_> {
    fn number(&self, place: Span, first: &Derivation) -> Number {
        let sizes = self.plan.sizes.iter().enumerate().filter_map(|(index, size)| {
            let found = size.derivations.iter().find(|d| d.place == place)?;
            Some(self.in_size(index, found))
        });
        Number {
            place,
            line: self.line(place),
            piece: self
                .model
                .pieces
                .get(first.piece)
                .map_or_else(String::new, |piece| piece.name.value.clone()),
            instruction: self.instruction(place),
            gauge: self.gauge(first.gauge, first),
            sizes: sizes.collect(),
        }
    }

    fn line(&self, place: Span) -> usize {
        self.source.line_column(place.start).0
    }

    /// The line of the source that holds a place, without its bullet.
    fn instruction(&self, place: Span) -> String {
        let line = self.source.text.lines().nth(self.line(place).saturating_sub(1)).unwrap_or("");
        line.trim_start().trim_start_matches(['-', '*', '+']).trim().to_owned()
    }

    fn unit(&self) -> Unit {
        if self.model.units == Unit::In { Unit::In } else { Unit::Cm }
    }

    fn over(&self) -> Length {
        if self.unit() == Unit::In { Length::inches(4) } else { Length::cm(10) }
    }

    fn gauge(&self, gauge: GaugeId, of: &Derivation) -> String {
        let name = self.model.gauges.get(gauge.0).map_or("", |g| g.name);
        let over = self.over();
        let estimated = self.plan.goal.gauges.get(gauge.0).is_some_and(|g| g.estimated);
        format!(
            "{name}: {} sts / {}{}",
            of.density.stitches.over(over),
            over.readable(self.unit()),
            if estimated { " (estimated)" } else { "" }
        )
    }

    fn in_size(&self, index: usize, of: &Derivation) -> InSize {
        let off = of.error();
        let mut tied: Vec<usize> =
            of.asked.iter().flat_map(|a| &a.tied).map(|place| self.line(*place)).collect();
        tied.sort_unstable();
        tied.dedup();
        tied.retain(|line| *line != self.line(of.place));
        InSize {
            size: self.plan.goal.sizes.get(index).map_or_else(String::new, |s| s.name.clone()),
            was: of.old,
            exact: decimal(of.target, 2),
            chosen: of.chosen,
            because: self.because(index, of),
            asked: of.asked.iter().map(|a| a.words.clone()).fold(Vec::new(), |mut all, words| {
                if !all.contains(&words) {
                    all.push(words);
                }
                all
            }),
            off_stitches: signed(off, 2),
            off_width: of.density.stitches.length(off).precise(self.unit()),
            off_share: format!("{}%", decimal(of.share() * exact(100, 1), 0)),
            tied_to_lines: tied,
        }
    }

    fn because(&self, index: usize, of: &Derivation) -> String {
        let unit = self.unit();
        match &of.reason {
            Reason::Keeps(width) => format!("keeps its width of {}", width.precise(unit)),
            Reason::Measures(length) => {
                format!("measures {}, as the fit asks", length.precise(unit))
            }
            Reason::Band { lies: Lies::Fitted(part), .. } => {
                let length = self.plan.goal.measures.length(part, SizeId(index)).ok();
                let length = length.map_or(String::new(), |l| format!(" ({})", l.precise(unit)));
                format!(
                    "fits {}{length} as if it were body fabric, worked on smaller needles",
                    print::expr(part)
                )
            }
            Reason::Band { lies, meets } => format!(
                "lies {} against the {} stitches of line {}",
                print::lies(lies),
                self.chosen_at(index, *meets)
                    .map_or_else(|| "chosen".to_owned(), |n| n.to_string()),
                self.line(*meets)
            ),
        }
    }

    fn chosen_at(&self, index: usize, place: Span) -> Option<i64> {
        let size = self.plan.sizes.get(index)?;
        size.derivations.iter().find(|d| d.place == place).map(|d| d.chosen)
    }
}

fn signed(value: Exact, places: u32) -> String {
    let text = decimal(value, places);
    if value > exact(0, 1) { format!("+{text}") } else { text }
}

/// How many numbers there are, in a line.
#[must_use]
pub fn summary(numbers: &[Number]) -> String {
    let count = i64::try_from(numbers.len()).unwrap_or(i64::MAX);
    format!("{} chosen", words::count(count, "number"))
}
