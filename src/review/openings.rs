//! Will it go on? Every opening against the part that must pass it.
//!
//! Which openings there are: those under `openings:` in the front matter
//! (`brim: head`), and those whose names tell. The name of an opening is
//!
//! - a gauge: every count of stitches worked in it;
//! - a piece: every count of stitches of that piece;
//! - a count named with `[as ...]`: of a bind-off in the middle of a row that
//!   is cast on again later, the whole hole; of any other step, that edge.
//!
//! Told by their names: a gauge or piece called brim, neckband or collar,
//! worked in the round, passes the head; one called cuff the hand, in a sock
//! the heel; and a hole between two shoulders is a neck.
//!
//! An edge counts as wide as its gauge says it stretches, an edge of a gauge
//! without `stretched:` as it lies. A part is as large as `measure:` says;
//! where that is silent, as the published measurements of people: of one size
//! the 95th percentile, so that it goes on 95 people in 100, and of one among
//! several the median.

use super::steps::{self, Walk, Walks, known, size_name};
use super::told::{InSize, by_size};
use crate::diag::{Code, Finding, Severity, words};
use crate::measure::{Density, Exact, Length, SizeId, Unit, exact};
use crate::model::{GaugeId, Model};
use crate::source::{Span, Spanned};
use crate::standards::{Part, Wearer, passes};
use crate::syntax::tree::{Action, BindOff, CastOnPlace, FabricKind, ItemKind, Setting, Step};
use crate::work::Visit;
use crate::work::fabric::{FabricCount, counts as fabric_counts};
use std::collections::{BTreeMap, BTreeSet};

/// Every opening that is too small, every one that cannot be judged although
/// the author asks for it, and every name among them that is not there.
pub(super) fn openings(model: &Model<'_>, walks: &Walks<'_, '_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut openings = Vec::new();
    let names = by_name(model);
    for entry in &model.document.front.openings {
        let part = &entry.value.value;
        match names.get(&entry.name.value.to_lowercase()).copied() {
            None => findings.push(no_such_opening(model, &entry.name)),
            Some(_) if !known_part(model, &part.value) => findings.push(no_such_part(model, part)),
            Some(what) => openings.push(Opening {
                name: entry.name.value.clone(),
                part: part.value.clone(),
                place: entry.name.span.to(part.span),
                asked: true,
                what,
            }),
        }
    }
    let asked: BTreeSet<What> = openings.iter().map(|opening: &Opening| opening.what).collect();
    openings.extend(usual(model).into_iter().filter(|usual| !asked.contains(&usual.what)));
    for opening in &openings {
        findings.extend(opening.judged(model, walks));
    }
    findings
}

/// The parts of the body that openings known by their names must pass.
pub(super) fn usual_parts(model: &Model<'_>) -> Vec<String> {
    usual(model).into_iter().map(|opening| opening.part).collect()
}

/// Something that a part of the body must pass.
struct Opening {
    name: String,
    part: String,
    /// Where it is asked for, or set.
    place: Span,
    /// Whether the author asks for it under `openings:`.
    asked: bool,
    what: What,
}

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum What {
    Band(GaugeId),
    Piece(usize),
    /// The row that opens the hole, and the step that closes it.
    Hole {
        opens: Span,
        closes: Span,
    },
    /// The count that this step leaves, or takes off.
    Edge(Span),
}

// --- which openings there are -------------------------------------------------------

/// What each name in the pattern opens, by its name in lower case.
fn by_name(model: &Model<'_>) -> BTreeMap<String, What> {
    let mut all = BTreeMap::new();
    for (index, gauge) in model.gauges.iter().enumerate() {
        all.entry(gauge.name.to_lowercase()).or_insert(What::Band(GaugeId(index)));
    }
    for (index, piece) in model.pieces.iter().enumerate() {
        all.entry(piece.name.value.to_lowercase()).or_insert(What::Piece(index));
    }
    steps::lists(model, &mut |_, list| {
        // From the end, so that the step that closes a hole is known where it opens.
        let mut close = None;
        for step in list.iter().rev() {
            for name in steps::names_in(step) {
                let what = match close.filter(|_| opens(step)) {
                    Some(closes) => What::Hole { opens: step.span, closes },
                    None => What::Edge(step.span),
                };
                all.entry(name.to_lowercase()).or_insert(what);
            }
            if closes(step) {
                close = Some(step.span);
            }
        }
    });
    all
}

/// Whether a step binds off stitches between others.
fn opens(step: &Step) -> bool {
    let Action::Row { items, .. } = &step.action else { return false };
    let gap = |kind: &ItemKind| matches!(kind, ItemKind::BindOff(_));
    items.iter().position(|item| gap(&item.kind)).is_some_and(|at| at > 0 && at + 1 < items.len())
}

/// Whether a step casts on over a gap.
fn closes(step: &Step) -> bool {
    match &step.action {
        Action::CastOn { place: CastOnPlace::OverGap, .. } => true,
        Action::Row { items, .. } => {
            let cast_on = |kind: &ItemKind| matches!(kind, ItemKind::CastOn(_));
            let at = items.iter().position(|item| cast_on(&item.kind));
            at.is_some_and(|at| at > 0 && at + 1 < items.len())
        }
        _ => false,
    }
}

/// The openings that their names tell.
fn usual(model: &Model<'_>) -> Vec<Opening> {
    let mut openings = Vec::new();
    let sock = model.pieces.iter().any(|piece| {
        let name = piece.name.value.to_lowercase();
        name.contains("sock") || name.contains("stocking")
    });
    for (index, gauge) in model.gauges.iter().enumerate() {
        if let Some(part) = part_by_name(sock, gauge.name) {
            openings.push(Opening {
                name: gauge.name.to_owned(),
                part,
                place: gauge.entry.name.span,
                asked: false,
                what: What::Band(GaugeId(index)),
            });
        }
    }
    for (index, piece) in model.pieces.iter().enumerate() {
        if let Some(part) = part_by_name(sock, &piece.name.value) {
            openings.push(Opening {
                name: piece.name.value.clone(),
                part,
                place: piece.name.span,
                asked: false,
                what: What::Piece(index),
            });
        }
    }
    steps::lists(model, &mut |_, list| {
        // From the end: what closes a hole, and whether shoulders lie before it.
        let mut close = None;
        let mut holes = Vec::new();
        for step in list.iter().rev() {
            match close {
                Some((closes, true)) if opens(step) => holes.push((step.span, closes)),
                Some((_, ref mut shoulders)) => *shoulders |= is_shoulder(step),
                None => {}
            }
            if closes(step) {
                close = Some((step.span, false));
            } else if opens(step) {
                close = None;
            }
        }
        openings.extend(holes.into_iter().rev().map(|(opens, closes)| Opening {
            name: "neck".to_owned(),
            part: Part::Head.word().to_owned(),
            place: opens,
            asked: false,
            what: What::Hole { opens, closes },
        }));
    });
    openings
}

fn part_by_name(sock: bool, name: &str) -> Option<String> {
    let name = name.to_lowercase();
    let has = |words: &[&str]| words.iter().any(|word| name.split(' ').any(|n| n == *word));
    let part = if has(&["brim", "neckband", "collar", "turtleneck", "polo"]) {
        Part::Head
    } else if has(&["cuff", "cuffs"]) {
        if sock { Part::Heel } else { Part::Hand }
    } else {
        return None;
    };
    Some(part.word().to_owned())
}

fn is_shoulder(step: &Step) -> bool {
    matches!(
        &step.action,
        Action::Part { name, .. } | Action::Reverse { name, .. }
            if name.value.to_lowercase().contains("shoulder")
    )
}

fn no_such_opening(model: &Model<'_>, name: &Spanned<String>) -> Finding {
    let mut known: Vec<&str> = model.gauges.iter().map(|gauge| gauge.name).collect();
    known.extend(model.pieces.iter().map(|piece| piece.name.value.as_str()));
    steps::names(model, &mut |name, _, _| known.push(name));
    let message = format!("no gauge, piece or count is called `{}`", name.value);
    let finding = Finding::new(Code::UnknownName, name.span, message).label("opens nothing");
    match words::nearest(&name.value, known.iter().copied()) {
        Some(near) => {
            finding.help(format!("a similar name exists: `{near}`")).patch(name.span, near)
        }
        None => finding.help(format!(
            "name the stitches that are bound off for it, as in `bind off {{24}} [as {}]`",
            name.value
        )),
    }
}

fn known_part(model: &Model<'_>, part: &str) -> bool {
    Part::from_word(part).is_some() || model.measures.body.iter().any(|(name, _)| name == part)
}

fn no_such_part(model: &Model<'_>, part: &Spanned<String>) -> Finding {
    let mut known: Vec<&str> = model.measures.body.iter().map(|(name, _)| name.as_str()).collect();
    known.extend([Part::Head, Part::Hand, Part::Heel].map(Part::word));
    let message = format!("nothing says how large `{}` is", part.value);
    let finding = Finding::new(Code::UnknownName, part.span, message).label("not measured");
    match words::nearest(&part.value, known.iter().copied()) {
        Some(near) => {
            finding.help(format!("a similar name exists: `{near}`")).patch(part.span, near)
        }
        None => finding.help(format!("give it under `measure:`, as in `{}: 48 cm`", part.value)),
    }
}

// --- how large the part is ------------------------------------------------------------

/// What must pass, in one size.
struct Passer {
    girth: Length,
    known: Known,
}

/// How it is known how large a part is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Known {
    /// `measure:` gives it.
    Given,
    /// 95 in 100 of those measured have less.
    MostHaveLess,
    /// Half of those measured have less.
    HalfHaveLess,
}

fn passer(model: &Model<'_>, part: &str, size: SizeId) -> Option<Passer> {
    if let Some(girth) = model.measures.body(part, size) {
        return Some(Passer { girth, known: Known::Given });
    }
    let range = passes(Part::from_word(part)?, wearer(model, size)?)?;
    let one_size = model.sizes.len() == 1;
    Some(if one_size {
        Passer { girth: range.limit, known: Known::MostHaveLess }
    } else {
        Passer { girth: range.usual, known: Known::HalfHaveLess }
    })
}

/// For whom a size is, by its name, or by the title where there is one size only.
fn wearer(model: &Model<'_>, size: SizeId) -> Option<Wearer> {
    let title = model.document.front.title.as_ref().map_or("", |title| title.value.as_str());
    let words = format!("{} {title}", size_name(model, size)).to_lowercase();
    let words: Vec<&str> = words.split(|c: char| !c.is_alphanumeric()).collect();
    let has = |known: &[&str]| words.iter().any(|word| known.contains(word));
    let before = |known: &[&str]| {
        words.windows(2).find_map(|pair| match pair {
            [number, unit] if known.contains(unit) => number.parse::<u16>().ok(),
            _ => None,
        })
    };
    if let Some(months) = before(&["month", "months", "mo", "mos"]) {
        return Some(Wearer::Child { months });
    }
    if let Some(years) = before(&["year", "years", "yr", "yrs"]) {
        return Some(Wearer::Child { months: years.saturating_mul(12) });
    }
    let child = [
        "baby", "babies", "infant", "newborn", "toddler", "child", "children", "childs", "kid",
        "kids", "boy", "boys", "girl", "girls", "youth", "teen", "doll",
    ];
    if has(&child) {
        return None;
    }
    Some(
        match (has(&["woman", "women", "womens", "lady", "ladies"]), has(&["man", "men", "mens"])) {
            (true, false) => Wearer::Woman,
            (false, true) => Wearer::Man,
            _ => Wearer::Adult,
        },
    )
}

// --- how large the opening is -----------------------------------------------------------

/// An opening as it was worked in one size.
struct Worked {
    /// All around, stretched where the gauge says how far.
    girth: Length,
    /// Whether all of it is stretched.
    stretched: bool,
    /// What it is made of.
    made_of: String,
    /// What would make it larger by some length.
    mend: Mend,
}

enum Mend {
    /// More stitches: how many there are, how many to a length, in which repeats.
    Stitches { has: i64, density: Density, repeat: i64 },
    /// A hole: stitches at both ends, rows at both sides.
    Hole { bound_off: i64, of: i64, one: Length, row: Length, garter: bool },
}

impl Opening {
    fn judged(&self, model: &Model<'_>, walks: &Walks<'_, '_>) -> Option<Finding> {
        let mut too_small = Vec::new();
        let mut untold = Vec::new();
        let mut note = None;
        for walk in &walks.sizes {
            let Some(passer) = passer(model, &self.part, walk.size) else {
                untold.push(self.untold(walk.size, &format!("how large the {} is", self.part)));
                continue;
            };
            let Some(worked) = self.worked(model, walks, walk) else { continue };
            if worked.girth >= passer.girth {
                continue;
            }
            if !worked.stretched && !matches!(self.what, What::Hole { .. }) {
                untold.push(self.untold(walk.size, "how far it stretches"));
                continue;
            }
            note.get_or_insert_with(|| self.notes(model, &worked, &passer));
            too_small.push(self.too_small(model, &worked, &passer, walk.size));
        }
        let finding = |message| Finding::new(Code::WillNotGoOn, self.place, message);
        if let Some(told) = by_size(model, too_small, |message| finding(message).label("too small"))
        {
            return Some(note.into_iter().flatten().fold(told, Finding::note));
        }
        // Where only the names tell of an opening, what is not known is not asked for.
        let told = by_size(model, untold, |m| finding(m).label("not known"))?;
        self.asked.then_some(Finding { severity: Severity::Note, ..told })
    }

    fn untold(&self, size: SizeId, what: &str) -> InSize {
        let help = match self.what {
            What::Band(_) | What::Piece(_) | What::Edge(_) if what.starts_with("how far") => {
                "give its gauge `stretched:`, the stitches over the same length when it is stretched"
            }
            _ => "give it under `measure:`",
        };
        InSize {
            size,
            message: format!(
                "whether `{}` goes over the {} cannot be told: nothing says {what}",
                self.name, self.part
            ),
            help: Some(help.to_owned()),
        }
    }

    fn too_small(
        &self,
        model: &Model<'_>,
        worked: &Worked,
        passer: &Passer,
        size: SizeId,
    ) -> InSize {
        let shown = |length: Length| length.precise(unit(model));
        let verb = if worked.stretched { "stretches to" } else { "opens to" };
        let (part, girth) = (&self.part, shown(passer.girth));
        let needs = match passer.known {
            Known::Given => format!("the {part} is {girth}"),
            Known::MostHaveLess => format!("a {part} may be {girth}"),
            Known::HalfHaveLess => {
                format!("half of those measured have a {part} of {girth} or more")
            }
        };
        InSize {
            size,
            message: format!("`{}` {verb} {}, and {needs}", self.name, shown(worked.girth),),
            help: worked.mend.by(passer.girth - worked.girth),
        }
    }

    fn notes(&self, model: &Model<'_>, worked: &Worked, passer: &Passer) -> Vec<String> {
        let mut notes = vec![worked.made_of.clone()];
        if !worked.stretched {
            notes.push("it is counted as it lies, since its gauge has no `stretched`".to_owned());
        }
        if passer.known != Known::Given {
            let which = if passer.known == Known::MostHaveLess {
                "95 in 100 of such people have no more"
            } else {
                "that is the median of such people"
            };
            notes.push(format!("no {} is given: {which} ({})", self.part, source(model)));
        }
        notes
    }

    fn worked(&self, model: &Model<'_>, walks: &Walks<'_, '_>, walk: &Walk<'_>) -> Option<Worked> {
        match self.what {
            What::Band(gauge) => {
                let ours = walk.visits.iter().filter(|visit| visit.gauge == Some(gauge));
                self.narrowest(model, walks, ours)
            }
            What::Piece(piece) => self.narrowest(model, walks, walk.of_piece(piece)),
            What::Edge(step) => edge(model, walks, walk, step),
            What::Hole { opens, closes } => hole(model, walks, walk, opens, closes),
        }
    }

    /// The fewest stitches of a band, at the stretch of their gauge.
    fn narrowest<'v>(
        &self,
        model: &Model<'_>,
        walks: &Walks<'_, '_>,
        visits: impl Iterator<Item = &'v Visit>,
    ) -> Option<Worked> {
        // By its name alone a flat band may be a front edge, which is open.
        let closed = |v: &Visit| self.asked || self.part != "head" || v.setting == Setting::Round;
        visits
            .filter(|visit| closed(visit) && known(&visit.after) > 0 && walks.is_plain(visit))
            .filter_map(|visit| row_of(model, known(&visit.after), visit.gauge?))
            .min_by_key(|worked| worked.girth)
    }
}

fn unit(model: &Model<'_>) -> Unit {
    if model.units == Unit::In { Unit::In } else { Unit::Cm }
}

fn source(model: &Model<'_>) -> &'static str {
    let child =
        model.size_ids().any(|size| matches!(wearer(model, size), Some(Wearer::Child { .. })));
    if child { "ANSUR II and WHO" } else { "ANSUR II" }
}

/// Stitches all around in one gauge.
fn row_of(model: &Model<'_>, n: i64, gauge: GaugeId) -> Option<Worked> {
    let def = model.gauges.get(gauge.0)?;
    let densities = def.gauge?;
    let density = densities.stretched.unwrap_or(densities.stitches);
    let over = if unit(model) == Unit::In { Length::inches(4) } else { Length::cm(10) };
    let state = if densities.stretched.is_some() { "stretched" } else { "as they lie" };
    Some(Worked {
        girth: density.length(exact(n, 1)),
        stretched: densities.stretched.is_some(),
        made_of: format!(
            "{} at {} over {}, {state}",
            words::count(n, "stitch"),
            density.over(over),
            over.readable(unit(model)),
        ),
        mend: Mend::Stitches { has: n, density, repeat: repeat(model, def.fabric.as_ref()) },
    })
}

fn repeat(model: &Model<'_>, fabric: Option<&FabricKind>) -> i64 {
    match fabric {
        Some(FabricKind::Rib(knit, purl)) => i64::from(knit.saturating_add(*purl)),
        Some(FabricKind::Named(name)) => {
            let counts = model.fabric_named(name).map(|fabric| fabric_counts(model, fabric));
            match counts {
                Some(FabricCount::Every { multiple, .. }) => i64::from(multiple.of()),
                _ => 1,
            }
        }
        _ => 1,
    }
}

fn edge(model: &Model<'_>, walks: &Walks<'_, '_>, walk: &Walk<'_>, step: Span) -> Option<Worked> {
    let visit = walk.first(step)?;
    let off = matches!(
        walks.step(visit)?.action,
        Action::BindOff { amount: BindOff::All(_) } | Action::Close(_)
    );
    row_of(model, known(if off { &visit.before } else { &visit.after }), visit.gauge?)
}

fn hole(
    model: &Model<'_>,
    walks: &Walks<'_, '_>,
    walk: &Walk<'_>,
    opens: Span,
    closes: Span,
) -> Option<Worked> {
    let open = walk.first(opens)?;
    let close = walk.first(closes)?;
    let (bound_off, cast_on) = (
        gap_in(walks.step(open)?, walk.size, |kind| matches!(kind, ItemKind::BindOff(_)))?,
        match &walks.step(close)?.action {
            Action::CastOn { count, .. } => i64::from(*count.given.get(walk.size)?),
            _ => gap_in(walks.step(close)?, walk.size, |kind| matches!(kind, ItemKind::CastOn(_)))?,
        },
    );
    let gauge = |visit: &Visit| model.gauges.get(visit.gauge?.0)?.gauge;
    let (first, last) = (gauge(open)?, gauge(close)?);
    let one_end = |gauge: crate::measure::Gauge| gauge.stretched.unwrap_or(gauge.stitches);
    let side = close.height_before - open.height_after;
    let rows = close.rows_before.saturating_sub(open.rows_after);
    let (from, to) =
        (one_end(first).length(exact(bound_off, 1)), one_end(last).length(exact(cast_on, 1)));
    let shown = |length: Length| length.precise(unit(model));
    let garter = {
        let fabric = |id: GaugeId| model.gauges.get(id.0).and_then(|gauge| gauge.fabric.clone());
        open.gauge.and_then(fabric) == Some(FabricKind::Garter)
    };
    let sides = if garter && rows % 2 == 0 {
        words::count(i64::from(rows / 2), "ridge")
    } else {
        words::count(i64::from(rows), "row")
    };
    Some(Worked {
        girth: from + to + side * exact(2, 1),
        stretched: first.stretched.is_some() && last.stretched.is_some(),
        made_of: format!(
            "{} bound off are {}, {cast_on} cast on {}, and {sides} on each side {}",
            words::count(bound_off, "stitch"),
            shown(from),
            shown(to),
            shown(side),
        ),
        mend: Mend::Hole {
            bound_off,
            of: known(&open.before),
            one: one_end(first).length(exact(1, 1)) + one_end(last).length(exact(1, 1)),
            row: first.rows?.length(exact(1, 1)),
            garter,
        },
    })
}

fn gap_in(step: &Step, size: SizeId, is_gap: impl Fn(&ItemKind) -> bool) -> Option<i64> {
    let Action::Row { items, .. } = &step.action else { return None };
    let gap = items.iter().find(|item| is_gap(&item.kind))?;
    steps::count_of(gap)?.given.get(size).map(|&n| i64::from(n))
}

// --- what would mend it -------------------------------------------------------------------

impl Mend {
    /// What makes the opening larger by a length.
    fn by(&self, more: Length) -> Option<String> {
        match self {
            Self::Stitches { has, density, repeat } => {
                let stitches = up(density.count(more), 1);
                let whole = up(density.count(more), *repeat);
                let repeats = if whole == stitches {
                    String::new()
                } else {
                    format!(", or {whole} more in whole repeats ({})", has + whole)
                };
                Some(format!(
                    "it takes {} more ({} in all){repeats}, or an edge that stretches further",
                    words::count(stitches, "stitch"),
                    has + stitches
                ))
            }
            Self::Hole { bound_off, of, one, row, garter } => {
                // The same number on both sides of the middle, and an even number of rows.
                let stitches = up(more / *one, 2);
                let rows = up(more / (*row * exact(2, 1)), 2);
                let rows = if *garter {
                    format!("{} more on each side", words::count(rows / 2, "ridge"))
                } else {
                    format!("{} more on each side", words::count(rows, "row"))
                };
                Some(if bound_off + stitches < *of {
                    format!(
                        "bind off and cast on {} more ({} in all), or work {rows}, or some of both",
                        words::count(stitches, "stitch"),
                        bound_off + stitches
                    )
                } else {
                    format!("work {rows}; there are not stitches enough to bind off instead")
                })
            }
        }
    }
}

/// The smallest multiple that is not below a number.
fn up(value: Exact, of: i64) -> i64 {
    use crate::measure::round::{Multiple, Toward, to_multiple};
    to_multiple(value, Multiple::new(u32::try_from(of).unwrap_or(1), 0), Toward::Up).max(0)
}

#[cfg(test)]
mod tests {
    use super::super::testing::{pattern, told};

    fn cap(sizes: &str, more: &str, name: &str, count: &str) -> String {
        let front = format!(
            "{sizes}gauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\n  {name}: {{ stitches: 24, rows: 30, over: 10 cm, fabric: k2 p2 rib, stretched: 15 }}\n{more}"
        );
        let body = format!(
            "## Cap, in the round\n\n- cast on {count} in {name}\n- join in the round\n- k2 p2 rib for 5 cm\n- change to body\n- work even for 20 rounds\n- bind off all\n"
        );
        told(&pattern(&front, &body))
    }

    #[test]
    fn a_band_that_is_too_small_is_told_by_size() {
        let sizes = "sizes: [small, medium, large]\n";
        let more = "measure:\n  head: 48 (52, 56) cm\nopenings:\n  hem: head\n";
        assert_eq!(cap(sizes, more, "hem", "72 (80, 84)"), "nothing");
        insta::assert_snapshot!(cap(sizes, more, "hem", "72 (76, 80)"), @"
        warning[will-not-go-on]: `hem` stretches to 50.7 cm, and the head is 52 cm
          --> cap.wale:10:3
           |
        10 |   hem: head
           |   ^^^^^^^^^ too small
           |
           = note: in sizes medium and large
           = note: in size large: `hem` stretches to 53.3 cm, and the head is 56 cm
           = note: 76 stitches at 15 over 10 cm, stretched
           = help: in size medium: it takes 2 stitches more (78 in all), or 4 more in whole repeats (80), or an edge that stretches further
           = help: in size large: it takes 4 stitches more (84 in all), or an edge that stretches further
        ");
    }

    #[test]
    fn a_brim_passes_the_head_without_being_told() {
        insta::assert_snapshot!(cap("", "", "brim", "84"), @"
        warning[will-not-go-on]: `brim` stretches to 56 cm, and a head may be 60.1 cm
         --> cap.wale:5:3
          |
        5 |   brim: { stitches: 24, rows: 30, over: 10 cm, fabric: k2 p2 rib, stretched: 15 }
          |   ^^^^ too small
          |
          = note: 84 stitches at 15 over 10 cm, stretched
          = note: no head is given: 95 in 100 of such people have no more (ANSUR II)
          = help: it takes 7 stitches more (91 in all), or 8 more in whole repeats (92), or an edge that stretches further
        ");
        assert_eq!(cap("", "", "brim", "92"), "nothing");
        // Of several sizes nobody knows whose: half of all people must get in.
        insta::assert_snapshot!(cap("sizes: [small, large]\n", "", "brim", "80 (88)"), @"
        warning[will-not-go-on]: `brim` stretches to 53.3 cm, and half of those measured have a head of 56.7 cm or more
         --> cap.wale:6:3
          |
        6 |   brim: { stitches: 24, rows: 30, over: 10 cm, fabric: k2 p2 rib, stretched: 15 }
          |   ^^^^ too small
          |
          = note: in size small
          = note: 80 stitches at 15 over 10 cm, stretched
          = note: no head is given: that is the median of such people (ANSUR II)
          = help: it takes 6 stitches more (86 in all), or 8 more in whole repeats (88), or an edge that stretches further
        ");
    }

    #[test]
    fn what_cannot_be_told_is_said_only_where_it_is_asked() {
        let no_stretch = |more: &str, name: &str| {
            let front =
                format!("gauges:\n  {name}: {{ stitches: 24, rows: 30, over: 10 cm }}\n{more}");
            let body = format!(
                "## Cap, in the round\n\n- cast on 96 in {name}\n- join in the round\n- k2 p2 rib for 5 cm\n- bind off all\n"
            );
            told(&pattern(&front, &body))
        };
        assert_eq!(no_stretch("", "brim"), "nothing");
        insta::assert_snapshot!(no_stretch("openings:\n  brim: head\n", "brim"), @"
        note[will-not-go-on]: whether `brim` goes over the head cannot be told: nothing says how far it stretches
         --> cap.wale:6:3
          |
        6 |   brim: head
          |   ^^^^^^^^^^ not known
          |
          = help: give its gauge `stretched:`, the stitches over the same length when it is stretched
        ");
    }

    #[test]
    fn a_childs_head_is_that_of_its_age() {
        insta::assert_snapshot!(cap("sizes: [6 months, 2 years]\n", "", "brim", "64 (64)"), @"
        warning[will-not-go-on]: `brim` stretches to 42.7 cm, and half of those measured have a head of 42.8 cm or more
         --> cap.wale:6:3
          |
        6 |   brim: { stitches: 24, rows: 30, over: 10 cm, fabric: k2 p2 rib, stretched: 15 }
          |   ^^^^ too small
          |
          = note: in size 2 years: `brim` stretches to 42.7 cm, and half of those measured have a head of 47.7 cm or more
          = note: 64 stitches at 15 over 10 cm, stretched
          = note: no head is given: that is the median of such people (ANSUR II and WHO)
          = help: in size 6 months: it takes 1 stitch more (65 in all), or 4 more in whole repeats (68), or an edge that stretches further
          = help: in size 2 years: it takes 8 stitches more (72 in all), or an edge that stretches further
        ");
        assert_eq!(
            cap("sizes: [child, adult]\n", "measure:\n  head: 48 (56) cm\n", "brim", "72 (84)"),
            "nothing"
        );
    }

    fn sweater(front: &str, neck: &str, rows: u32, part: &str) -> String {
        let front = format!(
            "units: in\ngauges:\n  body: {{ stitches: 11, rows: 20, over: 2 in, fabric: garter }}\n{front}"
        );
        let body = format!(
            "## Sweater, flat\n\n- cast on 80 in body\n- garter for 20 in\n- {neck}\n- each {part}:\n  - garter for {rows} rows\n- cast on 24 over the gap\n- garter for 20 in\n- bind off all\n"
        );
        told(&pattern(&front, &body))
    }

    #[test]
    fn a_neck_between_two_shoulders_passes_the_head() {
        let neck = "k{28}, bind off {24}, k{28}";
        insta::assert_snapshot!(sweater("", neck, 14, "shoulder"), @"
        warning[will-not-go-on]: `neck` opens to 11.53 in, and a head may be 23.66 in
          --> cap.wale:12:3
           |
        12 | - k{28}, bind off {24}, k{28}
           |   ^^^^^^^^^^^^^^^^^^^^^^^^^^^ too small
           |
           = note: 24 stitches bound off are 4.36 in, 24 cast on 4.36 in, and 7 ridges on each side 1.4 in
           = note: it is counted as it lies, since its gauge has no `stretched`
           = note: no head is given: 95 in 100 of such people have no more (ANSUR II)
           = help: bind off and cast on 34 stitches more (58 in all), or work 31 ridges more on each side, or some of both
        ");
        // Cut as its mend says, it goes on.
        assert_eq!(sweater("", neck, 14 + 2 * 31, "shoulder"), "nothing");
        assert_eq!(sweater("", neck, 14, "side"), "nothing", "it may be a slit for anything");
    }

    #[test]
    fn a_hole_can_be_named() {
        let asked = "measure:\n  head: 22 in\nopenings:\n  neck: head\n";
        let neck = "k{28}, bind off {24} [as neck], k{28}";
        insta::assert_snapshot!(sweater(asked, neck, 14, "side"), @"
        warning[will-not-go-on]: `neck` opens to 11.53 in, and the head is 22 in
         --> cap.wale:9:3
          |
        9 |   neck: head
          |   ^^^^^^^^^^ too small
          |
          = note: 24 stitches bound off are 4.36 in, 24 cast on 4.36 in, and 7 ridges on each side 1.4 in
          = note: it is counted as it lies, since its gauge has no `stretched`
          = help: bind off and cast on 30 stitches more (54 in all), or work 27 ridges more on each side, or some of both
        ");
    }

    #[test]
    fn an_edge_can_be_named() {
        let front = "gauges:\n  body: { stitches: 20, rows: 28, over: 10 cm, stretched: 16 }\nmeasure:\n  wrist: 16 cm\n  hand: 21 cm\nopenings:\n  wrist edge: hand\n";
        let body = "## Mitt, in the round\n\n- cast on 32 in body [wrist] [as wrist edge]\n- join in the round\n- stockinette for 20 rounds\n- bind off all\n";
        insta::assert_snapshot!(told(&pattern(front, body)), @"
        warning[will-not-go-on]: `wrist edge` stretches to 20 cm, and the hand is 21 cm
         --> cap.wale:9:3
          |
        9 |   wrist edge: hand
          |   ^^^^^^^^^^^^^^^^ too small
          |
          = note: 32 stitches at 16 over 10 cm, stretched
          = help: it takes 2 stitches more (34 in all), or an edge that stretches further
        ");
    }

    #[test]
    fn an_opening_must_be_there_and_so_must_the_part() {
        let front = "gauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\nopenings:\n  neck: head\n  body: hed\n";
        let body = "## Cap, in the round\n\n- cast on 96 in body\n- join in the round\n- stockinette for 20 rounds\n- bind off all\n";
        insta::assert_snapshot!(told(&pattern(front, body)), @"
        error[unknown-name]: no gauge, piece or count is called `neck`
         --> cap.wale:6:3
          |
        6 |   neck: head
          |   ^^^^ opens nothing
          |
          = help: name the stitches that are bound off for it, as in `bind off {24} [as neck]`

        error[unknown-name]: nothing says how large `hed` is
         --> cap.wale:7:9
          |
        7 |   body: hed
          |         ^^^ not measured
          |
        help: a similar name exists: `head`
          |
        7 |   body: head
          |           +
        ");
    }
}
