//! Will it go on? Every opening against the part that must pass it.
//!
//! Which openings there are: those under `openings:` in the front matter
//! (`brim: head`), and those whose names tell. The name of an opening is
//!
//! - a gauge: every count of stitches worked in it; where it is worked flat in
//!   pieces that are sewn together, that of all of them;
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

mod girth;
mod passer;
mod which;

use self::girth::{Worked, edge, hole, row_of};
use self::passer::{Known, Passer, passer, wearer};
use self::which::{by_name, usual};
use super::steps::{self, Walk, Walks, known};
use super::told::{InSize, by_size};
use crate::diag::{Code, Finding, Severity, words};
use crate::measure::{Length, SizeId, Unit};
use crate::model::{GaugeId, Model};
use crate::source::{Span, Spanned};
use crate::standards::{Part, Wearer};
use crate::syntax::tree::Setting;
use crate::work::Visit;
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
            What::Band(gauge) => self.narrowest_band(model, walks, walk, gauge),
            What::Piece(piece) => self.narrowest_of(model, walks, walk.of_piece(piece)),
            What::Edge(step) => edge(model, walks, walk, step),
            What::Hole { opens, closes } => hole(model, walks, walk, opens, closes),
        }
    }

    /// Whether a count goes all around, or along what is sewn up.
    fn is_counted(&self, walks: &Walks<'_, '_>, visit: &Visit) -> bool {
        // By its name alone a flat band may be a front edge, which is open.
        let closed = self.asked || self.part != "head" || visit.setting == Setting::Round;
        closed && known(&visit.after) > 0 && walks.is_plain(visit)
    }

    /// The smallest edge of a piece.
    fn narrowest_of<'v>(
        &self,
        model: &Model<'_>,
        walks: &Walks<'_, '_>,
        visits: impl Iterator<Item = &'v Visit>,
    ) -> Option<Worked> {
        visits
            .filter(|visit| self.is_counted(walks, visit))
            .filter_map(|visit| row_of(model, known(&visit.after), visit.gauge?))
            .min_by_key(|worked| worked.girth)
    }

    /// The fewest stitches of a band. One worked flat goes around all the pieces
    /// that are sewn together.
    fn narrowest_band(
        &self,
        model: &Model<'_>,
        walks: &Walks<'_, '_>,
        walk: &Walk<'_>,
        gauge: GaugeId,
    ) -> Option<Worked> {
        let mut fewest: BTreeMap<usize, (i64, bool)> = BTreeMap::new();
        let ours = walk.visits.iter().filter(|visit| visit.gauge == Some(gauge));
        for visit in ours.filter(|visit| self.is_counted(walks, visit)) {
            let n = known(&visit.after);
            let (least, flat) = fewest.entry(visit.piece).or_insert((n, true));
            *least = n.min(*least);
            *flat &= visit.setting == Setting::Flat;
        }
        let mut around: Vec<i64> = Vec::new();
        for seam in &model.document.front.seams {
            let sewn = |name: &str| seam.value.iter().any(|n| n.value.eq_ignore_ascii_case(name));
            let mut all = 0;
            fewest.retain(|&piece, &mut (n, flat)| {
                let part = model.pieces.get(piece).filter(|p| flat && sewn(&p.name.value));
                all += part.map_or(0, |p| n * i64::from(p.copies));
                part.is_none()
            });
            around.push(all);
        }
        around.extend(fewest.values().map(|(n, _)| n));
        let least = around.into_iter().filter(|&n| n > 0).min()?;
        row_of(model, least, gauge)
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

#[cfg(test)]
mod tests;
