//! Where the numbers of a rewritten pattern come from.
//!
//! [`reasons`] turns the derivations of a plan into sentences and numbers that
//! can be shown; [`text`] shows them. Nothing is worked out here that the plan
//! has not worked out: only widths and shares of what it chose.

mod text;

pub use text::text;

use crate::diag::words;
use crate::measure::{Density, Exact, Length, SizeId, Unit, decimal, exact};
use crate::model::{GaugeId, Model};
use crate::plan::{Derivation, Follower, Plan, Reason, RowDerivation, TurnDerivation};
use crate::source::{Source, Span};
use crate::syntax::print;
use crate::syntax::tree::{Action, Extent, Lies};
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
    /// What is counted: stitches, rows, ridges, or repeats of several rows.
    pub counts: &'static str,
    /// The gauge its width (or its length) is taken in, as in `body: 20 sts / 10 cm`;
    /// empty where it follows from other counts.
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
    /// Stitches (or rows) chosen less those aimed at.
    pub off: String,
    /// The same as a width (or a length); empty where it is none.
    pub off_width: String,
    /// How much of the tolerance that is: 2% of the number, at least a stitch, and
    /// a tenth of that where the fit asks for it. Rows have none.
    pub off_share: Option<String>,
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

/// [`reasons`], and those of the rows and of the counts that follow from others.
#[must_use]
pub fn all_reasons(source: &Source, model: &Model<'_>, plan: &Plan<'_>) -> Vec<Number> {
    let teller = Teller { source, model, plan };
    let mut all = reasons(source, model, plan);
    for (index, size) in plan.sizes.iter().enumerate() {
        let rows = size.rows.iter().map(|rows| teller.rows(index, rows));
        let turns = size.turns.iter().map(|turns| teller.turns(index, turns));
        let followers = size.followers.iter().map(|count| teller.follower(index, count));
        for (number, in_size) in rows.chain(turns).chain(followers) {
            // A count that is stated once more on its own line.
            let again = |n: &Number| {
                n.line == number.line
                    && n.counts == number.counts
                    && n.sizes
                        .iter()
                        .any(|s| (&s.size, s.chosen) == (&in_size.size, in_size.chosen))
            };
            if number.gauge.is_empty() && all.iter().any(again) {
                continue;
            }
            match all.iter_mut().find(|n| (n.place, n.counts) == (number.place, number.counts)) {
                Some(known) => known.sizes.push(in_size),
                None => all.push(Number { sizes: vec![in_size], ..number }),
            }
        }
    }
    all.sort_by_key(|number| number.place);
    all
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
            counts: "stitches",
            gauge: self.gauge(first.gauge, first.density.stitches, "sts"),
            sizes: sizes.collect(),
        }
    }

    /// A number without its sizes, at a place that no derivation names the piece of.
    fn other(&self, place: Span, counts: &'static str, gauge: String) -> Number {
        let piece = self.model.pieces.iter().rev().find(|p| p.name.span.start <= place.start);
        Number {
            place,
            line: self.line(place),
            piece: piece.map_or_else(String::new, |piece| piece.name.value.clone()),
            instruction: self.instruction(place),
            counts,
            gauge,
            sizes: Vec::new(),
        }
    }

    fn rows(&self, index: usize, of: &RowDerivation) -> (Number, InSize) {
        let counts = self.counted(of.place);
        let number = self.other(of.place, counts, self.gauge(of.gauge, of.density, "rows"));
        let block = exact(i64::from(of.block), 1);
        let off = exact(of.chosen, 1) - of.target;
        let length = |count: Exact| of.density.length(count * block).precise(self.unit());
        let parity = if of.chosen * i64::from(of.block) % 2 == 0 { "even" } else { "odd" };
        let in_size = InSize {
            size: self.size(index),
            was: Some(of.old),
            exact: decimal(of.target, 2),
            chosen: of.chosen,
            because: format!("keeps its length of {}", length(of.target)),
            asked: of
                .keeps_parity
                .then(|| format!("the number of rows stays {parity}"))
                .into_iter()
                .collect(),
            off: signed(off, 2),
            off_width: length(off),
            off_share: None,
            tied_to_lines: Vec::new(),
        };
        (number, in_size)
    }

    /// What a settled number counts: rows, ridges of two, or repeats of several.
    fn counted(&self, place: Span) -> &'static str {
        let mut counts = "rows";
        self.model.each_step(&mut |_, step| {
            let (Action::Work { extent, .. } | Action::Repeat { extent, .. }) = &step.action else {
                return;
            };
            match extent {
                Extent::Ridges(n) if n.span == place => counts = "ridges",
                Extent::Times { count: n, .. } if n.span == place => counts = "repeats",
                _ => {}
            }
        });
        counts
    }

    fn turns(&self, index: usize, of: &TurnDerivation) -> (Number, InSize) {
        let off = exact(of.chosen, 1) - of.target;
        let (rows, had) = of.rows;
        let in_size = InSize {
            size: self.size(index),
            was: Some(of.old),
            exact: decimal(of.target, 2),
            chosen: of.chosen,
            because: format!(
                "the short rows lie as close along the {} stitches as they did, {rows} of them over {had}",
                of.over
            ),
            asked: Vec::new(),
            off: signed(off, 2),
            off_width: String::new(),
            off_share: None,
            tied_to_lines: Vec::new(),
        };
        (self.other(of.place, "repeats", String::new()), in_size)
    }

    fn follower(&self, index: usize, of: &Follower) -> (Number, InSize) {
        let mut lines: Vec<usize> = of.from.iter().map(|&place| self.line(place)).collect();
        lines.sort_unstable();
        lines.dedup();
        let in_size = InSize {
            size: self.size(index),
            was: None,
            exact: of.count.to_string(),
            chosen: of.count,
            because: "follows from the counts it is tied to".to_owned(),
            asked: Vec::new(),
            off: "0".to_owned(),
            off_width: Length::zero().precise(self.unit()),
            off_share: None,
            tied_to_lines: lines,
        };
        (self.other(of.place, "stitches", String::new()), in_size)
    }

    fn size(&self, index: usize) -> String {
        self.plan.goal.sizes.get(index).map_or_else(String::new, |s| s.name.clone())
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

    fn gauge(&self, gauge: GaugeId, density: Density, counts: &str) -> String {
        let name = self.model.gauges.get(gauge.0).map_or("", |g| g.name);
        let over = self.over();
        let estimated = self.plan.goal.gauges.get(gauge.0).is_some_and(|g| g.estimated);
        format!(
            "{name}: {} {counts} / {}{}",
            density.over(over),
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
            size: self.size(index),
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
            off: signed(off, 2),
            off_width: of.density.stitches.length(off).precise(self.unit()),
            off_share: Some(format!("{}%", decimal(of.share() * exact(100, 1), 0))),
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
            Reason::Step { of, steps, was } => format!(
                "is one of {steps} steps of a slope {} wide, which had {was}",
                of.precise(unit)
            ),
            Reason::BesideSteps(width) => format!(
                "is {} wide, since other steps of a slope are bound off before it than were",
                width.precise(unit)
            ),
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
