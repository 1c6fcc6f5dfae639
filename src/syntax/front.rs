//! What front matter and targets say, with the place of every value.

use super::tree::{FabricName, Lies};
use crate::measure::{Exact, Given, Length, Unit};
use crate::source::{Span, Spanned};

/// The front matter of a pattern.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Front {
    /// Between the two `---` lines.
    pub span: Span,
    /// `title:`
    pub title: Option<Spanned<String>>,
    /// `sizes:`; one unnamed size where it is absent.
    pub sizes: Vec<Spanned<String>>,
    /// `units:`
    pub units: Unit,
    /// `gauges:`, in order.
    pub gauges: Vec<GaugeEntry>,
    /// `measure:`: the body, by landmark.
    pub measure: Vec<Entry<Given<Length>>>,
    /// `ease:`, by landmark.
    pub ease: Vec<Entry<Given<Ease>>>,
    /// `finished:`: what the author says the garment measures, by landmark.
    pub finished: Vec<Entry<Given<Length>>>,
    /// `yarn:`
    pub yarn: Option<Yarn>,
    /// `openings:`: what must pass through, by opening: `brim: head`.
    pub openings: Vec<Entry<Spanned<String>>>,
    /// `seams:`: pairs of pieces that are sewn together row to row.
    pub seams: Vec<Spanned<Vec<Spanned<String>>>>,
    /// `abbreviations:`: the author's own stitches.
    pub abbreviations: Vec<Abbreviation>,
    /// `notes:`
    pub notes: Vec<Spanned<String>>,
    /// `allow:`: findings allowed for the whole pattern: code, reason.
    pub allow: Vec<Entry<Spanned<String>>>,
}

/// The targets of a rewrite: only what is different this time.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Targets {
    /// `title:`
    pub title: Option<Spanned<String>>,
    /// `gauges:`; a gauge not named here stays (or is estimated, if others changed).
    pub gauges: Vec<GaugeEntry>,
    /// `sizes:`; empty keeps the pattern's.
    pub sizes: Vec<Spanned<String>>,
    /// `sizes-from:`: a published table's name.
    pub sizes_from: Option<Spanned<String>>,
    /// `measure:`
    pub measure: Vec<Entry<Given<Length>>>,
    /// `ease:`
    pub ease: Vec<Entry<Given<Ease>>>,
    /// `bands:`: how each band (a gauge's name) lies.
    pub bands: Vec<Entry<Lies>>,
    /// `lengths:`: by piece or landmark: `+2 cm` longer, or `40 cm` in all.
    pub lengths: Vec<Entry<Given<LengthChange>>>,
    /// `yarn:`
    pub yarn: Option<Yarn>,
}

/// A key, its place, and its value with its place.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Entry<T> {
    /// The key.
    pub name: Spanned<String>,
    /// The value.
    pub value: Spanned<T>,
}

/// One gauge.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct GaugeEntry {
    /// Its name.
    pub name: Spanned<String>,
    /// The whole value.
    pub span: Span,
    /// `stitches:` over the length.
    pub stitches: Option<Spanned<Exact>>,
    /// `rows:` over the length.
    pub rows: Option<Spanned<Exact>>,
    /// `over:`; 10 cm (4 in where units are inches) when absent.
    pub over: Option<Spanned<Length>>,
    /// `needle:`, as written.
    pub needle: Option<Spanned<String>>,
    /// `fabric:` it was swatched in.
    pub fabric: Option<Spanned<FabricName>>,
    /// `stretched:` stitches over the length, stretched comfortably.
    pub stretched: Option<Spanned<Exact>>,
    /// `estimated: true`: not swatched.
    pub estimated: Option<Spanned<bool>>,
}

/// Ease: a length, or a percentage of the body measurement.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Ease {
    /// `5 cm`, `-4 cm`
    Length(Length),
    /// `-10%` as the fraction -1/10
    Percent(Exact),
}

/// A target for a length.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum LengthChange {
    /// `+2 cm`, `-1 in`
    By(Length),
    /// `40 cm`
    To(Length),
}

/// The yarn.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Yarn {
    /// The whole value.
    pub span: Span,
    /// `weight:` 0 to 7.
    pub weight: Option<Spanned<u32>>,
    /// `put-up: 200 m / 100 g`
    pub put_up: Option<Spanned<PutUp>>,
    /// `used: 60 (70, 80, 90) g`
    pub used: Option<Spanned<Used>>,
    /// `margin: 10%`
    pub margin: Option<Spanned<Exact>>,
}

/// How yarn is sold.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct PutUp {
    /// Length of one.
    pub length: Length,
    /// Grams of one.
    pub grams: Option<Exact>,
}

/// How much the pattern uses.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Used {
    /// By weight, in grams.
    Grams(Given<Exact>),
    /// By length.
    Length(Given<Length>),
    /// By put-ups (balls, skeins).
    PutUps(Given<Exact>),
}

/// A stitch of the author's own: `bob: { takes: 1, makes: 1, means: "..." }`.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Abbreviation {
    /// The abbreviation.
    pub name: Spanned<String>,
    /// Stitches it takes from the left needle.
    pub takes: u32,
    /// Stitches it leaves on the right.
    pub makes: u32,
    /// What it means, in the author's words.
    pub means: Option<Spanned<String>>,
}
