//! `wale swatch`: what countings on swatches say, and how surely.

use serde::Serialize;
use std::fmt;

use super::band::BandRatio;
use super::read::Counting;
use super::words::{self, ordinal};
use super::{Answer, Line, length, line, number, per};
use crate::measure::{Density, Exact, Length, Stitches, Unit, exact};
use crate::plan::ratio::{LARGEST_TERM, SmallRatio, small_ratio};
use crate::plan::swatch::{Counted, Doubted, Swatch, SwatchError};

/// The most countings that are averaged.
pub const MOST_COUNTINGS: usize = 1000;

/// Countings on the swatches of one or more fabrics.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SwatchQuestion {
    /// What was counted. The other fabrics are compared with the first.
    pub counts: Vec<Counting>,
    /// The length gauges are told over; 10 cm, or 4 in where the first counting
    /// is in inches, when absent.
    pub over: Option<(Length, Unit)>,
    /// Stitches of the first fabric whose width is asked about.
    pub width_of: Option<Stitches>,
    /// The step in width from one size to the next, where there are sizes.
    pub between_sizes: Option<Length>,
}

/// A value and the least and most it may be.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Doubt {
    /// The least it may be.
    pub low: String,
    /// The value itself.
    pub value: String,
    /// The most it may be.
    pub high: String,
}

/// What the swatches say.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct SwatchAnswer {
    /// The length gauges are told over.
    pub over: String,
    /// The fabrics, in the order they were named.
    pub fabrics: Vec<FabricAnswer>,
    /// The finished width asked about.
    pub width: Option<Doubt>,
    /// The gauges as a targets file has them.
    pub targets: String,
}

/// What the swatches of one fabric say.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct FabricAnswer {
    /// Its name.
    pub name: String,
    /// Stitches, relaxed.
    pub stitches: Doubt,
    /// Rows, where they were counted.
    pub rows: Option<Doubt>,
    /// Stitches stretched, where they were counted.
    pub stretched: Option<Doubt>,
    /// Whether all of these were counted after washing.
    pub washed: bool,
    /// By how much washing widens it (less than nothing where it narrows it).
    pub washing_widens: Option<String>,
    /// By how much washing lengthens it.
    pub washing_lengthens: Option<String>,
    /// The width it stretches to, as a share of its relaxed width.
    pub stretches_to: Option<Doubt>,
    /// Its stitches as a multiple of the first fabric's.
    pub to_first: Option<Doubt>,
    /// So many of its stitches for every so many of the first's, to lie level.
    pub level: Option<BandRatio>,
}

/// Why the swatches say nothing.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum SwatchQuestionError {
    /// Nothing was counted.
    Nothing,
    /// More than [`MOST_COUNTINGS`].
    TooMany,
    /// Gauges are to be told over less than a centimetre.
    TooShort,
    /// The stitches of this fabric were not counted relaxed.
    NotRelaxed {
        /// Its name.
        fabric: String,
    },
    /// This fabric has more stitches to a length stretched than relaxed.
    Narrower {
        /// Its name.
        fabric: String,
    },
    /// One count is too small to tell a gauge.
    TooSmall {
        /// What was counted: `body`, `brim stretched`.
        what: String,
        /// Which count of it, from 0.
        which: usize,
    },
}

impl fmt::Display for SwatchQuestionError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Nothing => f.write_str("nothing was counted"),
            Self::TooMany => write!(f, "more than {MOST_COUNTINGS} counts"),
            Self::TooShort => f.write_str("gauges are told over 1 cm or more"),
            Self::NotRelaxed { fabric } => {
                write!(f, "the stitches of the {fabric} were not counted on a relaxed swatch")
            }
            Self::Narrower { fabric } => write!(
                f,
                "the {fabric} has more stitches to a length stretched than relaxed: the two may \
                 have been taken for each other"
            ),
            Self::TooSmall { what, which } => {
                let place = ordinal(u32::try_from(*which).unwrap_or(u32::MAX).saturating_add(1));
                write!(f, "the {place} count of the {what} is too small to tell a gauge")
            }
        }
    }
}

impl std::error::Error for SwatchQuestionError {}

/// The gauges of swatches with their doubt, what one fabric is to another, and
/// what the doubt does to a width.
///
/// # Errors
/// [`SwatchQuestionError`] where too little was counted.
pub fn swatch(asked: &SwatchQuestion) -> Result<Answer<SwatchAnswer>, SwatchQuestionError> {
    let first = asked.counts.first().ok_or(SwatchQuestionError::Nothing)?;
    if asked.counts.len() > MOST_COUNTINGS {
        return Err(SwatchQuestionError::TooMany);
    }
    let telling = Telling::of(asked, first.unit);
    if telling.over < Length::cm(1) {
        return Err(SwatchQuestionError::TooShort);
    }
    let mut fabrics: Vec<Fabric<'_>> = Vec::new();
    for counting in &asked.counts {
        if !fabrics.iter().any(|fabric| fabric.name == counting.fabric) {
            fabrics.push(Fabric::of(&counting.fabric, &asked.counts)?);
        }
    }
    let Some(first) = fabrics.first() else { return Err(SwatchQuestionError::Nothing) };
    let width =
        asked.width_of.map(|count| (count, first.stitches.swatch.gauge.width(count.exact())));

    let mut working = Vec::new();
    for fabric in &fabrics {
        working.extend(fabric.lines(&telling));
    }
    for other in fabrics.iter().skip(1) {
        working.extend(other.lines_against(first, asked.width_of));
    }
    if let Some((count, width)) = width {
        let formula = format!("{} / {}", count.0, first.name);
        working.push(line("width", formula, between(&telling.width(width))));
    }
    let mut parts: Vec<String> = fabrics
        .iter()
        .map(|fabric| format!("{} {}", fabric.name, fabric.sentence(&telling)))
        .collect();
    if let Some((count, width)) = width {
        parts.push(format!("{} are {}", words::sts(count.0), between(&telling.width(width))));
    }
    Ok(Answer {
        answer: parts.join("; "),
        working,
        notes: notes(asked, &fabrics, width.map(|(_, width)| width), &telling),
        result: SwatchAnswer {
            over: length(telling.over, telling.unit),
            fabrics: fabrics
                .iter()
                .enumerate()
                .map(|(i, fabric)| {
                    fabric.answer((i > 0).then_some(first), asked.width_of, &telling)
                })
                .collect(),
            width: width.map(|(_, width)| telling.width(width)),
            targets: targets(&fabrics, &telling),
        },
    })
}

/// What gauges and widths are told in.
struct Telling {
    over: Length,
    unit: Unit,
}

impl Telling {
    fn of(asked: &SwatchQuestion, given: Unit) -> Self {
        let (over, unit) = asked.over.unwrap_or(match given {
            Unit::In | Unit::Yd => (Length::inches(4), Unit::In),
            _ => (Length::cm(10), Unit::Cm),
        });
        Self { over, unit }
    }

    /// `per 10 cm`
    fn per(&self) -> String {
        per(self.over, self.unit)
    }

    fn gauge(&self, gauge: Doubted<Density>) -> Doubt {
        doubt(gauge.count(self.over), number)
    }

    fn width(&self, width: Doubted<Length>) -> Doubt {
        doubt(width, |width| length(width, self.unit))
    }
}

/// Stitches or rows.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Along {
    Stitches,
    Rows,
}

impl Along {
    const fn word(self) -> &'static str {
        match self {
            Self::Stitches => "sts",
            Self::Rows => "rows",
        }
    }

    const fn counts(self) -> &'static str {
        match self {
            Self::Stitches => "stitch counts",
            Self::Rows => "row counts",
        }
    }

    /// What it measures, and the words for more and for less of that.
    const fn measure(self) -> (&'static str, &'static str, &'static str) {
        match self {
            Self::Stitches => ("width", "wider", "narrower"),
            Self::Rows => ("length", "longer", "shorter"),
        }
    }

    const fn of(self, counting: &Counting) -> Option<Counted> {
        match self {
            Self::Stitches => counting.stitches,
            Self::Rows => counting.rows,
        }
    }
}

/// What was counted of one fabric in one state.
struct Told {
    /// `brim stretched before washing`
    what: String,
    along: Along,
    stretched: bool,
    washed: bool,
    countings: Vec<Counted>,
    swatch: Swatch,
}

impl Told {
    /// Averages what was counted of a fabric in one state, where anything was.
    fn of(
        fabric: &str,
        along: Along,
        (stretched, washed): (bool, bool),
        all: &[Counting],
    ) -> Result<Option<Self>, SwatchQuestionError> {
        let here =
            |c: &&Counting| c.fabric == fabric && (c.stretched, c.washed) == (stretched, washed);
        let countings: Vec<Counted> =
            all.iter().filter(here).filter_map(|counting| along.of(counting)).collect();
        let mut what = fabric.to_owned();
        what.push_str(if stretched { " stretched" } else { "" });
        what.push_str(if washed { "" } else { " before washing" });
        match Swatch::of(&countings) {
            Ok(swatch) => Ok(Some(Self { what, along, stretched, washed, countings, swatch })),
            Err(SwatchError::Nothing) => Ok(None),
            Err(SwatchError::TooSmall { which }) => {
                Err(SwatchQuestionError::TooSmall { what, which })
            }
        }
    }

    /// `20.5 sts per 10 cm`
    fn gauge(&self, count: Exact, telling: &Telling) -> String {
        format!("{} {} {}", number(count), self.along.word(), telling.per())
    }

    /// Each counting, and their average.
    fn lines(&self, telling: &Telling) -> Vec<Line> {
        let mut lines: Vec<Line> = self
            .countings
            .iter()
            .map(|counted| {
                let over = length(counted.over, telling.unit);
                let own = Density::new(counted.count, counted.over);
                let value = own.map(|own| self.gauge(own.count(telling.over), telling));
                let formula = format!("{} / {over}", number(counted.count));
                line(self.what.clone(), formula, value.unwrap_or_default())
            })
            .collect();
        if self.countings.len() > 1 {
            let all = self.gauge(self.swatch.gauge.value.count(telling.over), telling);
            let formula = format!("all {} / all lengths", self.along.word());
            lines.push(line(self.what.clone(), formula, all));
        }
        lines
    }
}

/// All that was counted of one fabric.
struct Fabric<'a> {
    name: &'a str,
    /// After washing, or before where that is all there is; likewise the rest.
    stitches: Told,
    rows: Option<Told>,
    stretched: Option<Told>,
    /// What was counted before washing as well as after.
    before: Vec<Told>,
}

impl<'a> Fabric<'a> {
    fn of(name: &'a str, all: &[Counting]) -> Result<Self, SwatchQuestionError> {
        let mut before = Vec::new();
        let mut best = |along, stretched| {
            let after = Told::of(name, along, (stretched, true), all)?;
            let unwashed = Told::of(name, along, (stretched, false), all)?;
            Ok(if after.is_some() {
                before.extend(unwashed);
                after
            } else {
                unwashed
            })
        };
        let stitches = best(Along::Stitches, false)?
            .ok_or_else(|| SwatchQuestionError::NotRelaxed { fabric: name.to_owned() })?;
        let rows = best(Along::Rows, false)?;
        let stretched = best(Along::Stitches, true)?;
        let relaxed = stitches.swatch.gauge.value;
        if stretched.as_ref().is_some_and(|told| told.swatch.gauge.value > relaxed) {
            return Err(SwatchQuestionError::Narrower { fabric: name.to_owned() });
        }
        Ok(Self { name, stitches, rows, stretched, before })
    }

    /// What counts, in order.
    fn told(&self) -> impl Iterator<Item = &Told> {
        [Some(&self.stitches), self.rows.as_ref(), self.stretched.as_ref()].into_iter().flatten()
    }

    fn washed(&self) -> bool {
        self.told().all(|told| told.washed)
    }

    /// By how much washing widens (or lengthens) it, in parts of what it was.
    fn washing(&self, along: Along) -> Option<Exact> {
        let relaxed = |told: &&Told| told.along == along && !told.stretched;
        let after = self.told().find(relaxed)?.swatch.gauge.value;
        let before = self.before.iter().find(relaxed)?.swatch.gauge.value;
        Some(before.ratio(after) - exact(1, 1))
    }

    /// The width it stretches to as a share of its relaxed width.
    fn stretches_to(&self) -> Option<Doubted<Exact>> {
        let stretched = self.stretched.as_ref()?;
        Some(self.stitches.swatch.gauge.ratio(&stretched.swatch.gauge))
    }

    fn ratio(&self, first: &Self) -> Doubted<Exact> {
        self.stitches.swatch.gauge.ratio(&first.stitches.swatch.gauge)
    }

    /// The small ratio over a width, where the two lie level.
    fn level(&self, first: &Self, width: Option<Stitches>) -> Option<SmallRatio> {
        let over = width.map_or(exact(COMPARED_OVER, 1), Stitches::exact);
        small_ratio(self.ratio(first).value, over, LARGEST_TERM)
    }

    /// `20.63 sts (20 to 21.5) and 28 rows per 10 cm`
    fn sentence(&self, telling: &Telling) -> String {
        let told = |told: &Told| {
            let own = telling.gauge(told.swatch.gauge);
            format!("{} {} ({} to {})", own.value, told.along.word(), own.low, own.high)
        };
        let rows = self.rows.as_ref().map(|rows| format!(" and {}", told(rows)));
        format!("{}{} {}", told(&self.stitches), rows.unwrap_or_default(), telling.per())
    }

    fn lines(&self, telling: &Telling) -> Vec<Line> {
        let mut lines: Vec<Line> =
            self.told().chain(&self.before).flat_map(|told| told.lines(telling)).collect();
        for along in [Along::Stitches, Along::Rows] {
            if let Some(by) = self.washing(along) {
                let (what, more, less) = along.measure();
                let nothing = exact(0, 1);
                let (by, word) = if by < nothing { (-by, less) } else { (by, more) };
                let label = format!("washing the {}", self.name);
                let formula = format!("{what} after / {what} before - 1");
                lines.push(line(label, formula, format!("{} {word}", super::percents(by))));
            }
        }
        if let Some(to) = self.stretches_to() {
            let formula = format!("{} / {} stretched", self.name, self.name);
            let to = doubt(to, super::percents);
            lines.push(line("stretches to", formula, between(&to)));
        }
        lines
    }

    fn lines_against(&self, first: &Self, width: Option<Stitches>) -> Vec<Line> {
        let label = format!("{} to {}", self.name, first.name);
        let ratio = between(&doubt(self.ratio(first), number));
        let mut lines = vec![line(label, format!("{} / {}", self.name, first.name), ratio)];
        if let Some(level) = self.level(first, width) {
            let about = if level.is_close() { "" } else { "about " };
            let over = width.map_or(COMPARED_OVER, |width| i64::from(width.0));
            lines.push(line(
                "level",
                format!("over {over} sts of {}", first.name),
                format!("{about}{} for every {}", level.ratio.these, level.ratio.those),
            ));
        }
        lines
    }

    fn answer(
        &self,
        first: Option<&Self>,
        width: Option<Stitches>,
        telling: &Telling,
    ) -> FabricAnswer {
        let gauge = |told: &Told| telling.gauge(told.swatch.gauge);
        FabricAnswer {
            name: self.name.to_owned(),
            stitches: gauge(&self.stitches),
            rows: self.rows.as_ref().map(gauge),
            stretched: self.stretched.as_ref().map(gauge),
            washed: self.washed(),
            washing_widens: self.washing(Along::Stitches).map(super::percents),
            washing_lengthens: self.washing(Along::Rows).map(super::percents),
            stretches_to: self.stretches_to().map(|to| doubt(to, super::percents)),
            to_first: first.map(|first| doubt(self.ratio(first), number)),
            level: first.and_then(|first| self.level(first, width)).map(|level| BandRatio {
                band: level.ratio.these,
                body: level.ratio.those,
                off: number(level.off),
            }),
        }
    }
}

/// Stitches of the first fabric over which a small ratio is judged, where no
/// width was asked about.
const COMPARED_OVER: i64 = 100;

fn doubt<T: Copy>(of: Doubted<T>, word: impl Fn(T) -> String) -> Doubt {
    Doubt { low: word(of.low), value: word(of.value), high: word(of.high) }
}

/// `96 cm, between 93.8 cm and 98.3 cm`
fn between(doubt: &Doubt) -> String {
    format!("{}, between {} and {}", doubt.value, doubt.low, doubt.high)
}

/// `gauges:` as a targets file has it.
fn targets(fabrics: &[Fabric<'_>], telling: &Telling) -> String {
    let mut text = String::from("gauges:\n");
    for fabric in fabrics {
        let over = |told: &Told| number(told.swatch.gauge.value.count(telling.over));
        let mut keys = format!("stitches: {}", over(&fabric.stitches));
        if let Some(rows) = &fabric.rows {
            keys += &format!(", rows: {}", over(rows));
        }
        keys += &format!(", over: {}", length(telling.over, telling.unit));
        if let Some(stretched) = &fabric.stretched {
            keys += &format!(", stretched: {}", over(stretched));
        }
        let Doubted { low, value, high } = fabric.stitches.swatch.gauge;
        let count = |density: Density| density.count(telling.over);
        let doubt = (count(value) - count(low)).max(count(high) - count(value));
        // Hundredths are written, and a gauge that may be nothing is none.
        if doubt >= exact(1, 100) && doubt + exact(1, 100) < count(value) {
            keys += &format!(", doubt: {}", number(doubt));
        }
        text += &format!("  {}: {{ {keys} }}\n", fabric.name);
    }
    text
}

fn notes(
    asked: &SwatchQuestion,
    fabrics: &[Fabric<'_>],
    width: Option<Doubted<Length>>,
    telling: &Telling,
) -> Vec<String> {
    let mut notes = vec!["Each count is known to about half a stitch, or half a row.".to_owned()];
    let all = fabrics.iter().flat_map(Fabric::told);
    for told in all.filter(|told| told.swatch.disagrees()) {
        notes.push(format!(
            "The {} of the {} differ by more than that, up to {} from their average: measure again, \
             or swatch larger.",
            told.along.counts(),
            told.what,
            number(told.swatch.furthest)
        ));
    }
    for fabric in fabrics.iter().filter(|fabric| !fabric.washed()) {
        notes.push(format!(
            "Not all of the {} was counted after washing: wash the swatch as the garment will be, \
             dry it, and count again.",
            fabric.name
        ));
    }
    if let (Some(width), Some(step)) = (width, asked.between_sizes)
        && width.blurs(step)
    {
        notes.push(format!(
            "The doubt of the width, {}, is larger than the {} from one size to the next: count \
             over a longer stretch.",
            length(width.range(), telling.unit),
            length(step, telling.unit)
        ));
    }
    notes
}
