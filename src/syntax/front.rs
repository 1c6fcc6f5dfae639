//! What front matter and targets say, with the place of every value; and how
//! front matter is read. (Targets are read in `targets`.)

use super::error::clipped;
use super::keys::{GAUGE_KEYS, Keys, YARN_KEYS};
use super::measure;
use super::tree::{FabricName, Lies};
use super::yaml::{self, Kind, Yaml};
use crate::diag::{Code, Finding, Severity, words};
use crate::measure::{Exact, Given, Length, Unit, exact};
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
    /// `doubt:` so many stitches more or fewer over the length.
    pub doubt: Option<Spanned<Exact>>,
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
    /// `colors:`, in order; none where all is knitted in one.
    pub colors: Vec<Color>,
}

impl Yarn {
    /// What was used, of all the yarn or of each color.
    pub fn all_used(&self) -> impl Iterator<Item = &Spanned<Used>> {
        let colors = self.colors.iter().filter_map(|color| color.used.as_ref());
        self.used.iter().chain(colors)
    }

    /// How a color is sold: as it says itself, or as all the yarn is.
    #[must_use]
    pub fn put_up_of<'a>(&'a self, color: Option<&'a Color>) -> Option<&'a PutUp> {
        let own = color.and_then(|color| color.put_up.as_ref());
        own.or(self.put_up.as_ref()).map(|put_up| &put_up.value)
    }
}

/// One color of the yarn: `MC: harbor blue`, `CC: { shade: oat, put-up: 50 m / 25 g, used: 20 g }`.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Color {
    /// What instructions call it: `MC`.
    pub name: Spanned<String>,
    /// What the maker or the author calls it.
    pub shade: Option<Spanned<String>>,
    /// How it is sold, where that is not as the other colors are.
    pub put_up: Option<Spanned<PutUp>>,
    /// How much of it the pattern uses.
    pub used: Option<Spanned<Used>>,
}

impl Color {
    /// What instructions may call it.
    pub fn names(&self) -> impl Iterator<Item = String> + '_ {
        [Some(&self.name), self.shade.as_ref()].into_iter().flatten().map(|n| n.value.clone())
    }

    /// Whether `name` is one of its names.
    #[must_use]
    pub fn is_called(&self, name: &str) -> bool {
        self.names().any(|own| own.eq_ignore_ascii_case(name))
    }
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

// --- reading -------------------------------------------------------------------

/// The keys of front matter.
pub(super) const FRONT_KEYS: &[&str] = &[
    "wale",
    "title",
    "sizes",
    "units",
    "gauges",
    "measure",
    "ease",
    "finished",
    "yarn",
    "openings",
    "seams",
    "abbreviations",
    "notes",
    "allow",
];

/// The keys of an abbreviation.
const ABBREVIATION_KEYS: &[&str] = &["takes", "makes", "means"];

/// The version of the markup that this program reads.
const MARKUP: u32 = 1;

/// The most stitches that one abbreviation may take or make.
const MOST_IN_ONE: u32 = 100;

/// Front matter as far as it could be read.
pub(super) struct FrontReading {
    /// What it says.
    pub(super) front: Front,
    /// What is wrong with it.
    pub(super) findings: Vec<Finding>,
    /// Some of it could not be read, so names may be missing that are there.
    pub(super) partial: bool,
}

/// Reads the text between the two `---` lines, which stands at `offset`.
pub(super) fn read(text: &str, offset: usize) -> FrontReading {
    let reading = yaml::read(text, offset);
    let mut keys = Keys { findings: reading.findings, sizes: None };
    let mut front = Front { span: Span::new(offset, offset + text.len()), ..Front::default() };
    if let Some(root) = &reading.root {
        let entries = keys.map("front matter", root, "title: Slipway Cap");
        read_sizes(&mut keys, &mut front, entries, reading.partial);
        for (key, value) in entries {
            read_key(&mut keys, &mut front, key, value);
        }
    }
    FrontReading { front, findings: keys.findings, partial: reading.partial }
}

/// Sizes come first, wherever they stand: the lists of all other keys are measured by them.
fn read_sizes(
    keys: &mut Keys,
    front: &mut Front,
    entries: &[(Spanned<String>, Yaml)],
    partial: bool,
) {
    let found = entries.iter().find(|(key, _)| key.value == "sizes");
    let before = keys.findings.len();
    if let Some((key, value)) = found {
        front.sizes = keys.size_names(value);
        if keys.findings.len() == before {
            keys.sizes = Some((front.sizes.len(), Some(key.span)));
        }
    } else if !partial && !entries.iter().any(|(key, _)| looks_like_sizes(&key.value)) {
        keys.sizes = Some((1, None));
    }
}

/// A misspelt `sizes` is one finding, not one for each list.
fn looks_like_sizes(key: &str) -> bool {
    words::nearest(key, ["sizes"]).is_some()
}

fn read_key(keys: &mut Keys, front: &mut Front, key: &Spanned<String>, value: &Yaml) {
    match key.value.as_str() {
        "wale" => {
            keys.whole("wale", value, MARKUP..=MARKUP);
        }
        "title" => front.title = keys.text("title", value, "title: Slipway Cap"),
        "sizes" => {}
        "units" => front.units = keys.units(value).unwrap_or_default(),
        "gauges" => front.gauges = keys.gauges(value, true),
        "measure" => front.measure = keys.lengths("measure", value, "head: 48 (52, 56, 60) cm"),
        "ease" => front.ease = ease(keys, value),
        "finished" => front.finished = keys.lengths("finished", value, "chest: 96 (104, 112) cm"),
        "yarn" => front.yarn = Some(keys.yarn(value, YARN_KEYS)),
        "openings" => front.openings = openings(keys, value),
        "seams" => front.seams = seams(keys, value),
        "abbreviations" => front.abbreviations = abbreviations(keys, value),
        "notes" => front.notes = notes(keys, value),
        "allow" => front.allow = allow(keys, value),
        name => {
            let home = [("a gauge", "gauges", GAUGE_KEYS), ("the yarn", "yarn", YARN_KEYS)]
                .into_iter()
                .find(|(_, _, known)| known.contains(&name));
            match home {
                Some((what, under, _)) => keys.findings.push(
                    Finding::new(
                        Code::YamlKey,
                        key.span,
                        format!("`{name}` is a key of {what}, not of front matter"),
                    )
                    .label("not here")
                    .help(format!("indent it under `{under}:`")),
                ),
                None => keys.unknown_key(key, value, "front matter", FRONT_KEYS),
            }
        }
    }
}

/// `ease:` of a pattern or of targets.
pub(super) fn ease(keys: &mut Keys, node: &Yaml) -> Vec<Entry<Given<Ease>>> {
    keys.entries("ease", node, "chest: 5 cm", |keys, key, value| {
        let name = clipped(&key.value);
        let example = format!("{name}: 5 cm` or `{name}: -10%");
        let read = keys.parsed(&key.value, value, &example, measure::ease)?;
        keys.one_a_size(read.value.listed(), read.span);
        if read.value == Given::Unknown {
            keys.unknown(&key.value, read.span, &example);
            return None;
        }
        let sound = |ease: &Ease| match ease {
            Ease::Percent(p) => (exact(-9, 10)..=exact(2, 1)).contains(p),
            Ease::Length(_) => true,
        };
        if read.value.values().all(sound) {
            return Some(read);
        }
        keys.findings.push(
            Finding::new(Code::YamlValue, read.span, "ease must be from -90% to 200%")
                .label("out of range")
                .note("ease is a part of the body measurement: -10% is a tenth less than the body"),
        );
        None
    })
}

fn openings(keys: &mut Keys, node: &Yaml) -> Vec<Entry<Spanned<String>>> {
    keys.entries("openings", node, "brim: head", |keys, key, value| {
        let example = format!("{}: head", clipped(&key.value));
        let text = keys.text(&key.value, value, &example)?;
        let span = text.span;
        Some(Spanned::new(text, span))
    })
}

fn seams(keys: &mut Keys, node: &Yaml) -> Vec<Spanned<Vec<Spanned<String>>>> {
    let example = "seams: [[back, front]]";
    let Kind::List(pairs) = &node.kind else {
        let finding = Finding::new(Code::YamlValue, node.head(), "`seams` needs a list of pairs")
            .label("expected a list");
        keys.findings.push(finding.help(format!("write it as in `{example}`")));
        return Vec::new();
    };
    if let [Yaml { kind: Kind::Scalar(_), .. }, ..] = pairs.as_slice() {
        keys.findings.push(
            Finding::new(Code::YamlValue, node.head(), "`seams` needs a list of lists of pieces")
                .label("one list only")
                .help(format!("write it as in `{example}`")),
        );
        return Vec::new();
    }
    let mut seams = Vec::new();
    for pair in pairs {
        let names: Vec<_> = match &pair.kind {
            Kind::List(names) => {
                names.iter().filter_map(|n| keys.text("seams", n, example)).collect()
            }
            _ => Vec::new(),
        };
        if names.len() >= 2 {
            seams.push(Spanned::new(names, pair.span));
            continue;
        }
        keys.findings.push(
            Finding::new(Code::YamlValue, pair.head(), "a seam joins two pieces or more")
                .label("expected a list of pieces")
                .help(format!("write it as in `{example}`")),
        );
    }
    seams
}

fn abbreviations(keys: &mut Keys, node: &Yaml) -> Vec<Abbreviation> {
    let example = "bob: { takes: 1, makes: 1, means: \"make a bobble\" }";
    let mut all = Vec::new();
    for (name, value) in keys.map("abbreviations", node, example) {
        let before = keys.findings.len();
        let (mut takes, mut makes, mut means) = (None, None, None);
        for (key, value) in keys.map(&name.value, value, example) {
            match key.value.as_str() {
                "takes" => takes = keys.whole("takes", value, 0..=MOST_IN_ONE),
                "makes" => makes = keys.whole("makes", value, 0..=MOST_IN_ONE),
                "means" => means = keys.text("means", value, "means: make a bobble"),
                _ => keys.unknown_key(key, value, "an abbreviation", ABBREVIATION_KEYS),
            }
        }
        match (takes, makes) {
            (Some(takes), Some(makes)) => all.push(Abbreviation {
                name: name.clone(),
                takes: takes.value,
                makes: makes.value,
                means,
            }),
            _ if keys.findings.len() > before => {}
            _ => keys.findings.push(
                Finding::new(
                    Code::YamlValue,
                    name.span,
                    format!(
                        "`{}` does not say how many stitches it takes and makes",
                        clipped(&name.value)
                    ),
                )
                .label("no `takes` or no `makes`")
                .help(format!("write it as in `{example}`")),
            ),
        }
    }
    all
}

fn notes(keys: &mut Keys, node: &Yaml) -> Vec<Spanned<String>> {
    let example = "notes: Wash the swatch before measuring.";
    match &node.kind {
        Kind::List(items) => {
            items.iter().filter_map(|item| keys.text("notes", item, example)).collect()
        }
        _ => keys.text("notes", node, example).into_iter().collect(),
    }
}

fn allow(keys: &mut Keys, node: &Yaml) -> Vec<Entry<Spanned<String>>> {
    keys.entries("allow", node, "loose-number: a hymn number", |keys, key, value| {
        let may_be_allowed = |code: &Code| code.severity() != Severity::Error;
        match Code::from_name(&key.value) {
            Some(code) if may_be_allowed(&code) => {}
            Some(_) => {
                keys.findings.push(
                    Finding::new(
                        Code::YamlKey,
                        key.span,
                        format!("`{}` is an error and cannot be allowed", clipped(&key.value)),
                    )
                    .label("an error"),
                );
                return None;
            }
            None => {
                let known: Vec<&str> = Code::all().filter(may_be_allowed).map(Code::name).collect();
                keys.unknown_key(key, value, "`allow`, which names findings", &known);
                return None;
            }
        }
        let reason = keys.text(&key.value, value, &format!("{}: why it is right", key.value))?;
        let span = reason.span;
        Some(Spanned::new(reason, span))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::{SizeId, decimal};

    const CAP: &str = "\
title: Slipway Cap
sizes: [child, small, medium, large]
units: cm
gauges:
  body: { stitches: 20, rows: 28, over: 10 cm, needle: 4 mm }
  brim: { stitches: 24.5, rows: 30, over: 4 in, needle: 3.5 mm, fabric: k2 p2 rib, stretched: 15 }
measure:
  head: 48 (52, 56, 60) cm
ease:
  head: -10%
  chest: 1 (2, 3, 4) in
finished:
  chest: 37 3/4 in
yarn:
  weight: 4
  put-up: 200 m / 100 g
  used: 60 (70, 80, 90) g
  margin: 10%
openings:
  brim: head
seams: [[back, front]]
abbreviations:
  bob: { takes: 1, makes: 1, means: make a bobble }
notes:
  - Wash the swatch.
  - Try it on.
allow:
  loose-number: the number of a hymn
";

    fn cap() -> Front {
        let reading = read(CAP, 0);
        assert_eq!(reading.findings, []);
        reading.front
    }

    #[test]
    fn front_matter_is_read_whole() {
        let front = cap();
        let sizes: Vec<_> = front.sizes.iter().map(|s| s.value.as_str()).collect();
        assert_eq!(sizes, ["child", "small", "medium", "large"]);
        assert_eq!(front.title.map(|t| t.value).as_deref(), Some("Slipway Cap"));
        let brim = &front.gauges[1];
        assert_eq!(brim.name.value, "brim");
        assert_eq!(brim.stitches.map(|s| s.value), Some(exact(49, 2)));
        assert_eq!(brim.over.map(|o| o.value), Some(Length::inches(4)));
        assert_eq!(brim.stretched.map(|s| s.value), Some(exact(15, 1)));
        assert!(brim.fabric.is_some());
        let head = &front.measure[0];
        assert_eq!(head.value.value.get(SizeId(3)), Some(&Length::cm(60)));
        let ease = &front.ease;
        assert_eq!(ease[0].value.value, Given::Same(Ease::Percent(exact(-1, 10))));
        assert_eq!(ease[1].value.value.get(SizeId(1)), Some(&Ease::Length(Length::inches(2))));
        let chest = front.finished[0].value.value.get(SizeId(2)).copied();
        assert_eq!(chest.map(|l| decimal(l.amount(Unit::In), 2)).as_deref(), Some("37.75"));
        let yarn = front.yarn.unwrap_or_default();
        assert_eq!(yarn.weight.map(|w| w.value), Some(4));
        assert_eq!(yarn.margin.map(|m| m.value), Some(exact(1, 10)));
        assert!(
            matches!(yarn.used.map(|u| u.value), Some(Used::Grams(Given::Each(g))) if g.len() == 4)
        );
        assert_eq!(front.openings[0].value.value.value, "head");
        assert_eq!(front.seams[0].value.len(), 2);
        assert_eq!(front.abbreviations[0].makes, 1);
        assert_eq!(front.notes.len(), 2);
        assert_eq!(front.allow[0].name.value, "loose-number");
    }

    #[test]
    fn every_value_knows_its_place() {
        let front = cap();
        let at = |span: Span| &CAP[span.range()];
        assert_eq!(at(front.sizes[2].span), "medium");
        assert_eq!(at(front.gauges[1].name.span), "brim");
        assert_eq!(front.gauges[1].stitches.map(|s| at(s.span)), Some("24.5"));
        assert_eq!(front.gauges[1].fabric.as_ref().map(|f| at(f.value.span)), Some("k2 p2 rib"));
        assert_eq!(at(front.measure[0].value.span), "48 (52, 56, 60) cm");
        assert_eq!(at(front.ease[0].value.span), "-10%");
        assert_eq!(at(front.allow[0].value.span), "the number of a hymn");
    }
}
