//! Names that are given and never used.
//!
//! Gauges, colors, fabrics, abbreviations, measurements, ease, counts named with
//! `[as ...]` and places named with `[starts ...]`. Stitches put on hold and
//! never taken up are told as stitches left over, which they are.

use super::openings;
use super::steps::{self, Walks, known};
use super::told::{InSize, by_size};
use crate::diag::{Code, Finding, words};
use crate::model::{GaugeId, Model};
use crate::source::{Source, Span};
use crate::syntax::tree::{
    Action, Block, Expr, ExprKind, Extent, FabricKind, From, Item, ItemKind, Lies, LiveValue, Mark,
    Prose, Step,
};
use crate::syntax::visit;
use std::cell::LazyCell;
use std::collections::{BTreeMap, BTreeSet};

/// Every name that nothing uses.
pub(super) fn unused_names(
    source: &Source,
    model: &Model<'_>,
    walks: &Walks<'_, '_>,
) -> Vec<Finding> {
    let used = Used::of(model);
    [
        gauges(model, walks, &used),
        colors(model, walks),
        fabrics(model, &used),
        abbreviations(model, &used),
        measurements(model, &used),
        named_counts(model, &used),
        starts(model, &used),
        held(source, model, &used),
        left_by_parts(source, model, walks),
    ]
    .concat()
}

fn unused(what: &str, name: &str, place: Span) -> Finding {
    Finding::new(Code::UnusedName, place, format!("the {what} `{name}` is never used"))
        .label("never used")
        .help("use it, or take it out; a name misspelled elsewhere is the usual cause")
}

/// Every name that is used, by its kind, in lower case.
#[derive(Default)]
struct Used {
    fabrics: BTreeSet<String>,
    stitches: BTreeSet<String>,
    /// Body measurements, and of these the ones counted with their ease.
    landmarks: BTreeSet<String>,
    with_ease: BTreeSet<String>,
    counts: BTreeSet<String>,
    starts: BTreeSet<String>,
    taken_up: BTreeSet<String>,
}

impl Used {
    fn of(model: &Model<'_>) -> Self {
        let mut used = Self::default();
        model.each_step(&mut |_, step| used.step(step));
        for fabric in &model.fabrics {
            fabric.rows.iter().for_each(|row| used.items(row.items));
        }
        for gauge in &model.gauges {
            used.fabric(gauge.fabric.as_ref());
        }
        let front = &model.document.front;
        for entry in &front.openings {
            used.landmarks.insert(entry.value.value.value.to_lowercase());
            used.counts.insert(entry.name.value.to_lowercase());
        }
        for part in openings::usual_parts(model) {
            used.landmarks.insert(part);
        }
        for entry in &front.finished {
            // Given beside the finished measurement, it tells the ease.
            used.landmarks.insert(entry.name.value.to_lowercase());
        }
        let prose = model.document.sections.iter().flat_map(|section| &section.blocks);
        for block in prose {
            if let Block::Prose(prose) = block {
                used.prose(prose);
            }
        }
        // The start of an armhole is what seams are compared to.
        used.starts.insert("armhole".to_owned());
        used
    }

    fn step(&mut self, step: &Step) {
        step.remark.iter().for_each(|prose| self.prose(prose));
        step.marks.iter().for_each(|mark| self.mark(&mark.value));
        match &step.action {
            Action::Work { fabric, extent } => {
                self.fabric(fabric.as_ref().map(|f| &f.kind));
                self.extent(extent);
            }
            Action::Repeat { extent, .. } => self.extent(extent),
            Action::Row { items, .. } => self.items(items),
            Action::AsFor { to: Some(to), .. } => {
                self.starts.insert(to.value.to_lowercase());
            }
            Action::TakeUp(names) => {
                self.taken_up.extend(names.iter().map(|name| name.value.to_lowercase()));
            }
            Action::Part { name, .. } | Action::Reverse { name, .. } => {
                self.taken_up.insert(name.value.to_lowercase());
            }
            _ => {}
        }
    }

    fn items(&mut self, items: &[Item]) {
        visit::each_item(items, &mut |item| {
            item.marks.iter().for_each(|mark| self.mark(&mark.value));
            if let ItemKind::Stitch { name, .. } | ItemKind::Run { name, .. } = &item.kind {
                self.stitches.insert(name.value.clone());
            }
        });
    }

    fn extent(&mut self, extent: &Extent) {
        if let Extent::Until { from, .. } = extent
            && let From::Named(name) = &from.value
        {
            self.starts.insert(name.to_lowercase());
        }
    }

    fn fabric(&mut self, kind: Option<&FabricKind>) {
        if let Some(FabricKind::Named(name)) = kind {
            self.fabrics.insert(name.to_lowercase());
        }
    }

    fn mark(&mut self, mark: &Mark) {
        match mark {
            Mark::Measure(expr) | Mark::Lies(Lies::Fitted(expr)) => {
                let names: Vec<String> = names_in(expr);
                let with_ease = names.iter().any(|name| name == "ease");
                let landmarks = names.into_iter().filter(|name| name != "ease");
                for landmark in landmarks.map(|name| name.to_lowercase()) {
                    if with_ease {
                        self.with_ease.insert(landmark.clone());
                    }
                    self.landmarks.insert(landmark);
                }
            }
            _ => {}
        }
    }

    fn prose(&mut self, prose: &Prose) {
        for live in &prose.live {
            if let LiveValue::Name(name) = &live.value {
                self.counts.insert(name.value.to_lowercase());
            }
        }
    }
}

fn names_in(expr: &Expr) -> Vec<String> {
    match &expr.kind {
        ExprKind::Name(name) => vec![name.clone()],
        ExprKind::Length(_) | ExprKind::Number(_) => Vec::new(),
        ExprKind::Add(a, b) | ExprKind::Sub(a, b) | ExprKind::Mul(a, b) | ExprKind::Div(a, b) => {
            let mut names = names_in(a);
            names.extend(names_in(b));
            names
        }
    }
}

/// A gauge is used where something is worked in it.
fn gauges(model: &Model<'_>, walks: &Walks<'_, '_>, used: &Used) -> Vec<Finding> {
    let worked: BTreeSet<GaugeId> = walks
        .sizes
        .iter()
        .flat_map(|walk| walk.visits)
        .filter(|visit| known(&visit.before) > 0 || known(&visit.after) > 0)
        .filter_map(|visit| visit.gauge)
        .collect();
    let named = |name: &str| used.starts.contains(&name.to_lowercase());
    model
        .gauges
        .iter()
        .enumerate()
        .filter(|(id, gauge)| !worked.contains(&GaugeId(*id)) && !named(gauge.name))
        .map(|(_, gauge)| unused("gauge", gauge.name, gauge.entry.name.span))
        .collect()
}

/// A color is used where stitches are worked in it.
fn colors(model: &Model<'_>, walks: &Walks<'_, '_>) -> Vec<Finding> {
    let mut worked = vec![false; model.colors.len()];
    for visit in walks.sizes.iter().flat_map(|walk| walk.visits) {
        worked.iter_mut().zip(&visit.by_color).for_each(|(used, n)| *used |= *n > 0);
    }
    let unused_ones = model.colors.iter().zip(worked).filter(|(_, worked)| !worked);
    unused_ones.map(|(color, _)| unused("color", &color.name.value, color.name.span)).collect()
}

fn fabrics(model: &Model<'_>, used: &Used) -> Vec<Finding> {
    let unused_ones =
        model.fabrics.iter().filter(|f| !used.fabrics.contains(&f.name.value.to_lowercase()));
    unused_ones.map(|fabric| unused("fabric", &fabric.name.value, fabric.name.span)).collect()
}

fn abbreviations(model: &Model<'_>, used: &Used) -> Vec<Finding> {
    let own = model.document.front.abbreviations.iter();
    own.filter(|own| !used.stitches.contains(&own.name.value))
        .map(|own| unused("abbreviation", &own.name.value, own.name.span))
        .collect()
}

fn measurements(model: &Model<'_>, used: &Used) -> Vec<Finding> {
    let front = &model.document.front;
    let measured = front.measure.iter().map(|entry| &entry.name);
    let measured = measured.filter(|name| !used.landmarks.contains(&name.value.to_lowercase()));
    let eased = front.ease.iter().map(|entry| &entry.name);
    let eased = eased.filter(|name| !used.with_ease.contains(&name.value.to_lowercase()));
    measured
        .map(|name| unused("measurement", &name.value, name.span))
        .chain(eased.map(|name| {
            unused("ease of", &name.value, name.span).note(format!(
                "it is counted where a step says so, as in `[{} + ease]`",
                name.value
            ))
        }))
        .collect()
}

fn named_counts(model: &Model<'_>, used: &Used) -> Vec<Finding> {
    let mut findings = Vec::new();
    steps::names(model, &mut |name, place, _| {
        if !used.counts.contains(&name.to_lowercase()) {
            findings.push(unused("name", name, place));
        }
    });
    findings
}

fn starts(model: &Model<'_>, used: &Used) -> Vec<Finding> {
    let mut findings = Vec::new();
    model.each_step(&mut |_, step| {
        for mark in &step.marks {
            if let Mark::Starts(name) = &mark.value
                && !used.starts.contains(&name.to_lowercase())
            {
                findings.push(unused("start", name, mark.span));
            }
        }
    });
    findings
}

/// Stitches on hold that no step takes up and no words speak of again.
fn held(source: &Source, model: &Model<'_>, used: &Used) -> Vec<Finding> {
    let mut findings = Vec::new();
    // Few patterns hold anything that is never taken up.
    let last = LazyCell::new(|| last_places(&source.text));
    model.each_step(&mut |piece, step| {
        let own = model.pieces.get(piece).map(|piece| piece.name);
        let spoken_of = |name: &str| {
            let mut words = words_of(name).peekable();
            words.peek().is_some()
                && words.all(|(_, word)| {
                    last.get(&word.to_lowercase()).is_some_and(|&at| at >= step.span.end)
                })
        };
        let mut look = |name: &str, place: Span| {
            if !used.taken_up.contains(&name.to_lowercase()) && !spoken_of(name) {
                findings.push(
                    Finding::new(
                        Code::StitchesLeft,
                        place,
                        format!("the stitches held as `{name}` are never taken up"),
                    )
                    .label("left on hold")
                    .help(format!("work them with `take up {name}`, or say what becomes of them")),
                );
            }
        };
        match &step.action {
            Action::Hold { name: Some(name) } => look(&name.value, name.span),
            Action::Hold { name: None } => {
                own.iter().for_each(|own| look(&own.value, step.span));
            }
            Action::Row { items, .. } => visit::each_item(items, &mut |item| {
                if let ItemKind::Hold { name, .. } | ItemKind::HoldRest { name } = &item.kind {
                    look(&name.value, name.span);
                }
            }),
            _ => {}
        }
    });
    findings
}

/// Stitches that a part leaves on its needle, which no step takes up and no words speak of.
fn left_by_parts(source: &Source, model: &Model<'_>, walks: &Walks<'_, '_>) -> Vec<Finding> {
    let (mut parts, mut mirrored) = (Vec::new(), Vec::new());
    let mut taken: BTreeMap<String, Span> = BTreeMap::new();
    model.each_step(&mut |piece, step| match &step.action {
        Action::Part { name, each: false } => {
            taken.insert(name.value.to_lowercase(), step.span);
            parts.push((piece, name, step));
        }
        Action::TakeUp(names) => {
            taken.extend(names.iter().map(|name| (name.value.to_lowercase(), step.span)));
        }
        Action::Reverse { .. } => mirrored.push(step.span),
        _ => {}
    });
    let lower = LazyCell::new(|| source.text.to_ascii_lowercase());
    let spoken_of = |name: &str, end: usize| {
        let mut places = lower.match_indices(name).filter(|(at, _)| *at >= end);
        places.any(|(at, _)| !mirrored.iter().any(|step| step.contains(Span::at(at))))
    };
    let mut findings = Vec::new();
    for (piece, name, part) in parts {
        let Some(end) = part.steps.last().map(|step| step.span.end) else { continue };
        let called = name.value.to_lowercase();
        if taken.get(&called).is_some_and(|at| at.start > end) || spoken_of(&called, end) {
            continue;
        }
        let found = walks.sizes.iter().filter_map(|walk| {
            let inside = walk.within(Span::new(part.span.end, end), piece);
            let left = inside.last().and_then(|visit| visit.after.known()).filter(|n| *n > 0)?;
            let message = format!(
                "`{}` ends with {} on the needle",
                name.value,
                words::count(left, "stitch")
            );
            Some(InSize { size: walk.size, message, help: None })
        });
        findings.extend(by_size(model, found.collect(), |message| {
            Finding::new(Code::StitchesLeft, name.span, message)
                .label("never bound off")
                .help("bind off or hold what is left, or correct the counts before it")
        }));
    }
    findings
}

/// Where each word of a text stands last, in lower case.
fn last_places(text: &str) -> BTreeMap<String, usize> {
    words_of(text).map(|(at, word)| (word.to_lowercase(), at)).collect()
}

/// The words of a text with their places.
fn words_of(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let no_letter = |c: char| !c.is_alphanumeric();
    let mut at = 0;
    text.split_inclusive(no_letter)
        .map(move |piece| {
            let start = at;
            at += piece.len();
            (start, piece.trim_end_matches(no_letter))
        })
        .filter(|(_, word)| !word.is_empty())
}

#[cfg(test)]
mod tests {
    use super::super::testing::{pattern, told};

    #[test]
    fn everything_named_in_vain_is_told() {
        let front = "gauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n  hem: { stitches: 22, rows: 30, over: 10 cm }\nmeasure:\n  chest: 90 cm\n  hip: 95 cm\nease:\n  chest: 5 cm\nabbreviations:\n  bob: { takes: 1, makes: 1, means: a bobble }\n";
        let body = "## Lace, fabric\n\n- row 1 (RS): *k2, yo, k2tog; rep from *\n- row 2 (WS): purl\n\n## Cap, flat\n\n- cast on 180 in body [chest] [as brim]\n- stockinette for 40 rows [starts yoke]\n- next row (RS): k90, hold 90 as thumb\n- bind off all\n";
        insta::assert_snapshot!(told(&pattern(front, body)), @"
        warning[unused-name]: the gauge `hem` is never used
         --> cap.wale:5:3
          |
        5 |   hem: { stitches: 22, rows: 30, over: 10 cm }
          |   ^^^ never used
          |
          = help: use it, or take it out; a name misspelled elsewhere is the usual cause

        warning[unused-name]: the measurement `hip` is never used
         --> cap.wale:8:3
          |
        8 |   hip: 95 cm
          |   ^^^ never used
          |
          = help: use it, or take it out; a name misspelled elsewhere is the usual cause

        warning[unused-name]: the ease of `chest` is never used
          --> cap.wale:10:3
           |
        10 |   chest: 5 cm
           |   ^^^^^ never used
           |
           = note: it is counted where a step says so, as in `[chest + ease]`
           = help: use it, or take it out; a name misspelled elsewhere is the usual cause

        warning[unused-name]: the abbreviation `bob` is never used
          --> cap.wale:12:3
           |
        12 |   bob: { takes: 1, makes: 1, means: a bobble }
           |   ^^^ never used
           |
           = help: use it, or take it out; a name misspelled elsewhere is the usual cause

        warning[unused-name]: the fabric `Lace` is never used
          --> cap.wale:15:4
           |
        15 | ## Lace, fabric
           |    ^^^^ never used
           |
           = help: use it, or take it out; a name misspelled elsewhere is the usual cause

        warning[unused-name]: the name `brim` is never used
          --> cap.wale:22:31
           |
        22 | - cast on 180 in body [chest] [as brim]
           |                               ^^^^^^^^^ never used
           |
           = help: use it, or take it out; a name misspelled elsewhere is the usual cause

        warning[unused-name]: the start `yoke` is never used
          --> cap.wale:23:27
           |
        23 | - stockinette for 40 rows [starts yoke]
           |                           ^^^^^^^^^^^^^ never used
           |
           = help: use it, or take it out; a name misspelled elsewhere is the usual cause

        warning[stitches-left]: the stitches held as `thumb` are never taken up
          --> cap.wale:24:34
           |
        24 | - next row (RS): k90, hold 90 as thumb
           |                                  ^^^^^ left on hold
           |
           = help: work them with `take up thumb`, or say what becomes of them
        ");
    }

    #[test]
    fn everything_that_is_used_is_left_alone() {
        let front = "gauges:\n  body: { stitches: 20, rows: 28, over: 10 cm, fabric: lace }\n  cuff: { stitches: 22, rows: 30, over: 10 cm }\nmeasure:\n  chest: 85.5 cm\n  hand: 20 cm\nease:\n  chest: 5%\nabbreviations:\n  bob: { takes: 1, makes: 1, means: a bobble }\n";
        let body = "## Lace, fabric\n\n- row 1 (RS): *k2, yo, k2tog; rep from *\n- row 2 (WS): *bob, p3; rep from *\n\n## Cap, flat\n\nThere are {all} of them.\n\n- cast on 180 in body [chest + ease] [as all]\n- lace for 40 rows [starts yoke]\n- work even until yoke measures 20 cm\n- next row (RS): k90, hold 90 as thumb\n- bind off all\n- take up thumb\n- change to cuff\n- k1 p1 rib for 10 rows\n- bind off all\n";
        assert_eq!(told(&pattern(front, body)), "nothing");
    }

    #[test]
    fn stitches_on_hold_may_be_used_in_words_only() {
        let front = "gauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n";
        let body = "## Back, flat\n\n- cast on 80 in body\n- stockinette for 10 cm\n- hold all as back shoulders\n\n## Finishing\n\nGraft the back shoulders to the front.\n";
        assert_eq!(told(&pattern(front, body)), "nothing");
    }

    #[test]
    fn a_part_leaves_nothing_that_is_not_spoken_of_again() {
        let front = "gauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n";
        let front_of = |left: &str, after: &str| {
            let body = format!(
                "## Front, flat\n\n- cast on 40 in body\n- k20, hold 20 as right side\n- left side:\n  - decrease 1 at neck edge on the next 4 rows\n  - work even for 1 row\n{left}- right side: reverse left side\n{after}"
            );
            told(&pattern(front, &body))
        };
        insta::assert_snapshot!(front_of("  - bind off 8 at the start of the next row\n", ""), @r"
        warning[stitches-left]: `left side` ends with 8 stitches on the needle
          --> cap.wale:11:3
           |
        11 | - left side:
           |   ^^^^^^^^^ never bound off
           |
           = help: bind off or hold what is left, or correct the counts before it
        ");
        assert_eq!(front_of("  - bind off 16 at the start of the next row\n", ""), "nothing");
        let take_up = "- take up left side, right side\n- bind off all\n";
        assert_eq!(front_of("", take_up), "nothing");
        let words = "\n## Finishing\n\nGraft each left side to its back.\n";
        assert_eq!(front_of("", words), "nothing");
    }
}
