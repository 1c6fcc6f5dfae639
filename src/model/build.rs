//! Makes a [`Model`] of a tree, and finds the names and lists that do not fit.

use super::{Built, FabricDef, FabricRow, GaugeDef, Measures, Model, PieceDef};
use crate::diag::{Code, Finding, words};
use crate::measure::{Density, Gauge, Given, Length, Unit};
use crate::source::{Span, Spanned};
use crate::syntax::front::{Front, GaugeEntry};
use crate::syntax::tree::{
    Action, Block, CastOnPlace, Document, Extent, FabricKind, From, Item, Mark, RowLabel, RowRange,
    Section, SectionKind, Side, Step, Stripe,
};
use crate::syntax::visit::{self, Number};
use std::collections::BTreeMap;

/// Resolves the names of a pattern.
#[must_use]
pub fn build(document: &Document) -> Built<'_> {
    let mut findings = Vec::new();
    let front = &document.front;
    let sizes = if front.sizes.is_empty() {
        vec![String::new()]
    } else {
        front.sizes.iter().map(|s| s.value.clone()).collect()
    };
    let model = Model {
        document,
        sizes,
        units: front.units,
        gauges: gauges(front),
        colors: front.yarn.as_ref().map_or(&[], |yarn| yarn.colors.as_slice()),
        measures: Measures::new(&front.measure, &front.ease),
        fabrics: document.sections.iter().filter_map(|s| fabric(s, &mut findings)).collect(),
        pieces: document.sections.iter().filter_map(piece).collect(),
    };
    if model.pieces.is_empty() {
        findings.push(
            Finding::new(Code::NoPiece, Span::at(front.span.end), "the pattern has nothing to knit")
                .help("give each piece a heading that ends in `, flat` or `, in the round`, as in `## Cap, in the round`"),
        );
    }
    twice(model.pieces.iter().map(|p| p.name), "piece", &mut findings);
    twice(model.fabrics.iter().map(|f| f.name), "fabric", &mut findings);
    let colors = model.colors.iter().map(|color| &color.name);
    twice(front.gauges.iter().map(|g| &g.name), "gauge", &mut findings);
    twice(colors.clone(), "color", &mut findings);
    // `change to red` must not be able to mean two things.
    let gauges = front.gauges.iter().map(|g| &g.name);
    let apart = gauges
        .clone()
        .filter(|gauge| colors.clone().any(|color| color.value.eq_ignore_ascii_case(&gauge.value)));
    twice(
        apart.chain(colors.clone().filter(|color| {
            gauges.clone().any(|gauge| gauge.value.eq_ignore_ascii_case(&color.value))
        })),
        "gauge or color",
        &mut findings,
    );
    lists(&model, &mut findings);
    findings.extend(gaugeless(&model));
    for piece in &model.pieces {
        for step in &piece.steps {
            names(&model, piece, step, &mut findings);
        }
    }
    let fabrics = document.sections.iter().filter(|s| matches!(s.kind, SectionKind::Fabric(_)));
    for step in fabrics.flat_map(steps) {
        names_of_colors(&model, step.color.as_ref(), row_items(step), &mut findings);
    }
    Built { model, findings }
}

fn gauges(front: &Front) -> Vec<GaugeDef<'_>> {
    front.gauges.iter().map(|entry| gauge(entry, front.units)).collect()
}

fn gauge(entry: &GaugeEntry, units: Unit) -> GaugeDef<'_> {
    GaugeDef {
        name: &entry.name.value,
        gauge: densities(entry, units),
        doubt: entry.doubt.and_then(|doubt| Density::new(doubt.value, over(entry, units))),
        fabric: entry.fabric.as_ref().map(|f| f.value.kind.clone()),
        estimated: entry.estimated.is_some_and(|e| e.value),
        entry,
    }
}

/// The length a gauge is over.
fn over(entry: &GaugeEntry, units: Unit) -> Length {
    let usual = if units == Unit::In { Length::inches(4) } else { Length::cm(10) };
    entry.over.map_or(usual, |o| o.value)
}

/// The exact densities of a gauge as written.
pub(crate) fn densities(entry: &GaugeEntry, units: Unit) -> Option<Gauge> {
    let over = over(entry, units);
    let density = |count: Option<Spanned<_>>| Density::new(count?.value, over);
    Some(Gauge {
        stitches: density(entry.stitches)?,
        rows: density(entry.rows),
        stretched: density(entry.stretched),
    })
}

fn fabric<'d>(section: &'d Section, findings: &mut Vec<Finding>) -> Option<FabricDef<'d>> {
    let SectionKind::Fabric(name) = &section.kind else { return None };
    let mut rows = Rows::default();
    for step in steps(section) {
        match &step.action {
            Action::Row { label, items } => {
                let color = step.color.as_ref();
                rows.add(FabricRow { span: step.span, label: label.as_ref(), items, color });
            }
            Action::SameRows { label, rows: RowRange::Numbered { first, last } } => {
                if let Err(missing) = rows.add_like(step.span, label, *first..=*last) {
                    findings.push(
                        Finding::new(
                            Code::UnknownName,
                            step.span,
                            format!("row {missing} has not been written before this row"),
                        )
                        .label(format!("as row {missing}"))
                        .help("write the row above, or correct the number"),
                    );
                }
            }
            _ => {}
        }
    }
    Some(FabricDef { name, rows: rows.in_order() })
}

/// The rows of a fabric as they are written, labels such as `rows 1 and 3` spread over the
/// rows they name.
#[derive(Default)]
struct Rows<'d> {
    by_number: BTreeMap<u32, FabricRow<'d>>,
    /// `and all WS rows`: from which row on, every second one.
    all: Vec<(u32, FabricRow<'d>)>,
    unnumbered: Vec<FabricRow<'d>>,
}

/// More rows than any fabric.
const MOST_ROWS: u32 = 10_000;

impl<'d> Rows<'d> {
    fn add(&mut self, row: FabricRow<'d>) {
        let numbers = row.label.into_iter().flat_map(RowLabel::each_number);
        match (numbers.clone().next(), row.label.and_then(|label| label.and_all)) {
            (None, Some(Side::Right)) => self.all.push((1, row)),
            (None, Some(Side::Wrong)) => self.all.push((2, row)),
            (None, None) => self.unnumbered.push(row),
            (Some(first), and_all) => {
                for number in numbers {
                    self.by_number.insert(number, row);
                }
                if and_all.is_some() {
                    self.all.push((first, row));
                }
            }
        }
    }

    /// `rows 5-8: as rows 1-4`; the first row that is not there where one is missing.
    fn add_like(
        &mut self,
        span: Span,
        label: &'d RowLabel,
        like: std::ops::RangeInclusive<u32>,
    ) -> Result<(), u32> {
        let all = self.all.clone();
        let found = |number: u32| {
            let covers =
                all.iter().find(|(first, _)| number > *first && (number - first).is_multiple_of(2));
            self.by_number.get(&number).or(covers.map(|(_, row)| row)).copied().ok_or(number)
        };
        let rows: Vec<FabricRow<'d>> =
            like.take(MOST_ROWS as usize).map(found).collect::<Result<_, _>>()?;
        for (number, row) in label.each_number().zip(rows.iter().cycle()) {
            let row = FabricRow { span, label: Some(label), ..*row };
            self.by_number.insert(number, row);
        }
        Ok(())
    }

    fn in_order(mut self) -> Vec<FabricRow<'d>> {
        if self.by_number.is_empty() && self.all.is_empty() {
            return self.unnumbered;
        }
        let last = self.by_number.keys().next_back().copied().unwrap_or(0);
        for (first, row) in self.all {
            // "Row 2 and all WS rows" also covers the row after the last one written.
            let end = (last + u32::from(last % 2 != first % 2)).max(first);
            for number in (first..=end).step_by(2) {
                self.by_number.entry(number).or_insert(row);
            }
        }
        self.by_number.into_values().collect()
    }
}

fn piece(section: &Section) -> Option<PieceDef<'_>> {
    let SectionKind::Piece(heading) = &section.kind else { return None };
    Some(PieceDef {
        name: &heading.name,
        setting: heading.setting.value,
        copies: heading.copies.value,
        steps: steps(section).collect(),
        span: section.heading.as_ref().map_or(section.span, |h| h.span),
    })
}

fn steps(section: &Section) -> impl Iterator<Item = &Step> {
    section.blocks.iter().flat_map(|block| match block {
        Block::Steps(steps) => steps.as_slice(),
        _ => [].as_slice(),
    })
}

fn twice<'a>(
    names: impl Iterator<Item = &'a Spanned<String>>,
    what: &str,
    findings: &mut Vec<Finding>,
) {
    let mut seen: BTreeMap<String, &Spanned<String>> = BTreeMap::new();
    for name in names {
        let first = *seen.entry(name.value.to_ascii_lowercase()).or_insert(name);
        if !std::ptr::eq(first, name) {
            findings.push(
                Finding::new(
                    Code::Duplicate,
                    name.span,
                    format!("the {what} `{}` is defined twice", name.value),
                )
                .label("again here")
                .also(first.span, "first here")
                .help(format!("give each {what} a name of its own")),
            );
        }
    }
}

/// Every list of values must have one for each size.
fn lists(model: &Model<'_>, findings: &mut Vec<Finding>) {
    let sizes = model.sizes.len();
    let mut check = |listed: Option<usize>, span: Span| {
        let Some(listed) = listed.filter(|&n| n != sizes) else { return };
        findings.push(
            Finding::new(
                Code::SizesLength,
                span,
                format!(
                    "{} listed for {}",
                    words::count(as_i64(listed), "value"),
                    words::count(as_i64(sizes), "size")
                ),
            )
            .label(format!("expected {} here", words::count(as_i64(sizes), "value")))
            .note(if model.sizes.len() > 1 {
                format!("the sizes are {}", words::list(&model.sizes, "and"))
            } else {
                "the pattern has one size".to_owned()
            })
            .help("write one value for all sizes, or one a size; `-` skips a size"),
        );
    };
    visit::counts(model.document, &mut |counts| check(counts.given.listed(), counts.span));
    visit::lengths(model.document, &mut |lengths| check(lengths.given.listed(), lengths.span));
}

fn as_i64(n: usize) -> i64 {
    i64::try_from(n).unwrap_or(i64::MAX)
}

/// Every name a step uses must be defined.
/// The first count that is said to measure something, where no gauge can turn that into stitches.
fn gaugeless(model: &Model<'_>) -> Option<Finding> {
    if model.gauges.iter().any(|gauge| gauge.gauge.is_some()) {
        return None;
    }
    let place = model.pieces.iter().flat_map(|piece| &piece.steps).find_map(|s| measured(s))?;
    Some(
        Finding::new(Code::NoGauge, place, "a measurement cannot be turned into stitches")
            .label("at no gauge")
            .note("the pattern gives no gauge with a number of stitches")
            .help("give it in the front matter, as in `gauges: { body: { stitches: 20, rows: 28, over: 10 cm } }`"),
    )
}

/// The stitches that a step writes.
fn row_items(step: &Step) -> &[Item] {
    match &step.action {
        Action::Row { items, .. } => items,
        _ => &[],
    }
}

/// Where a step, or one below it, says what a count measures.
fn measured(step: &Step) -> Option<Span> {
    let marks = step.marks.iter().chain(row_items(step).iter().flat_map(|item| &item.marks));
    let mut measures = marks.filter(|mark| matches!(mark.value, Mark::Measure(_)));
    measures.next().map(|mark| mark.span).or_else(|| step.steps.iter().find_map(measured))
}

/// A name that nothing here has.
fn unknown(what: &str, name: &str, span: Span, known: &[&str]) -> Finding {
    let mut finding =
        Finding::new(Code::UnknownName, span, format!("there is no {what} called `{name}`"))
            .label(format!("not a {what} of this pattern"));
    if name.to_lowercase().contains("needle") {
        finding = finding.note("needles change with the gauge that is knitted on them");
    }
    match words::nearest(name, known.iter().copied()) {
        Some(near) => finding.help(format!("a similar name exists: `{near}`")).patch(span, near),
        None if known.is_empty() && what == "color" => finding.help(
            "declare the colors in the front matter, as in `yarn: { colors: { MC: blue, CC: oat } }`",
        ),
        None if known.is_empty() => finding.help(format!("define the {what} first")),
        None => {
            let known: Vec<String> = known.iter().map(|k| format!("`{k}`")).collect();
            finding.help(format!("the {what}s here are {}", words::list(&known, "and")))
        }
    }
}

fn color_names<'d>(model: &Model<'d>) -> Vec<&'d str> {
    model.colors.iter().map(|color| color.name.value.as_str()).collect()
}

/// The colors that a row, or any other step, and the stitches of a row name.
fn names_of_colors(
    model: &Model<'_>,
    color: Option<&Spanned<String>>,
    items: &[Item],
    findings: &mut Vec<Finding>,
) {
    let mut check = |color: &Spanned<String>| {
        if model.color_named(&color.value).is_none() {
            let finding = unknown("color", &color.value, color.span, &color_names(model));
            // Where none are declared it is no slip, and once is enough.
            let told =
                |other: &Finding| other.code == finding.code && other.message == finding.message;
            if !model.colors.is_empty() || !findings.iter().any(told) {
                findings.push(finding);
            }
        }
    };
    color.into_iter().for_each(&mut check);
    visit::each_item(items, &mut |item| item.color.iter().for_each(&mut check));
}

fn names(model: &Model<'_>, piece: &PieceDef<'_>, step: &Step, findings: &mut Vec<Finding>) {
    names_of_colors(model, step.color.as_ref(), row_items(step), findings);
    let mut unknown = |what: &str, name: &str, span: Span, known: Vec<&str>| {
        findings.push(unknown(what, name, span, &known));
    };
    for only in &step.only {
        if !model.sizes.contains(&only.value) {
            unknown(
                "size",
                &only.value,
                only.span,
                model.sizes.iter().map(String::as_str).collect(),
            );
        }
    }
    let gauges = || model.gauges.iter().map(|g| g.name).collect::<Vec<_>>();
    match &step.action {
        Action::CastOn { gauge: Some(gauge), place: CastOnPlace::Here, .. }
            if model.gauge_named(&gauge.value).is_none() =>
        {
            unknown("gauge", &gauge.value, gauge.span, gauges());
        }
        Action::ChangeTo(name)
            if model.gauge_named(&name.value).is_none()
                && model.color_named(&name.value).is_none() =>
        {
            if model.colors.is_empty() {
                unknown("gauge", &name.value, name.span, gauges());
            } else {
                let known = gauges().into_iter().chain(color_names(model)).collect();
                unknown("gauge or color", &name.value, name.span, known);
            }
        }
        Action::Stripes(stripes) => {
            for Stripe { color, .. } in stripes {
                if model.color_named(&color.value).is_none() {
                    unknown("color", &color.value, color.span, color_names(model));
                }
            }
        }
        Action::Work { fabric: Some(fabric), .. } => {
            if let FabricKind::Named(name) = &fabric.kind
                && model.fabric_named(name).is_none()
            {
                let mut known: Vec<&str> =
                    model.fabrics.iter().map(|f| f.name.value.as_str()).collect();
                known.extend(["stockinette", "reverse stockinette", "garter", "seed"]);
                unknown("fabric", name, fabric.span, known);
            }
        }
        Action::AsFor { piece, .. } if model.piece_named(&piece.value).is_none() => {
            unknown(
                "piece",
                &piece.value,
                piece.span,
                model.pieces.iter().map(|p| p.name.value.as_str()).collect(),
            );
        }
        _ => {}
    }
    if let Action::Work { extent, .. } | Action::Repeat { extent, .. } = &step.action
        && let Extent::Until { from, .. } = extent
        && let From::Named(name) = &from.value
    {
        let known = landmarks(model, piece);
        if !known.iter().any(|k| k.eq_ignore_ascii_case(name)) {
            unknown("starting point", name, from.span, known);
        }
    }
    for mark in &step.marks {
        if let Mark::Measure(expr) = &mark.value {
            for landmark in Measures::landmarks(expr) {
                if !model.measures.body.iter().any(|(name, _)| *name == landmark) {
                    unknown(
                        "measurement",
                        &landmark,
                        expr.span,
                        model.measures.body.iter().map(|(n, _)| n.as_str()).collect(),
                    );
                }
            }
        }
    }
    findings.extend(unsized_numbers(step));
    for inner in &step.steps {
        names(model, piece, inner, findings);
    }
}

/// The numbers of a row that vary by size, and would be left behind by a rewrite.
fn unsized_numbers(step: &Step) -> Option<Finding> {
    let Action::Row { items, .. } = &step.action else { return None };
    if step.marks.iter().any(|mark| mark.value == Mark::Fixed) {
        return None;
    }
    let mut places = Vec::new();
    visit::in_items(items, &mut |number| {
        if let Number::Counts(counts) = number
            && !counts.live
            && varies(&counts.given)
        {
            places.push(counts.span);
        }
    });
    let (first, more) = places.split_first()?;
    let message = match i64::try_from(more.len()).unwrap_or(i64::MAX) {
        0 => "this number varies by size but will not follow a rewrite".to_owned(),
        more => format!(
            "{} vary by size but will not follow a rewrite",
            words::count(more + 1, "number")
        ),
    };
    let help = if more.is_empty() {
        "put it in braces to let it follow, or mark the row `[fixed]`"
    } else {
        "put them in braces to let them follow, or mark the row `[fixed]`"
    };
    let finding = Finding::new(Code::UnsizedNumber, *first, message).label("not live").help(help);
    Some(more.iter().fold(finding, |finding, place| finding.also(*place, "")))
}

/// Whether sizes have different values.
fn varies(given: &Given<u32>) -> bool {
    let mut values = given.values();
    let first = values.next();
    given.listed().is_some() && values.any(|value| Some(value) != first)
}

/// Everything a length in this piece may be measured from.
fn landmarks<'a>(model: &'a Model<'_>, piece: &PieceDef<'a>) -> Vec<&'a str> {
    fn starts<'a>(steps: impl Iterator<Item = &'a Step>, known: &mut Vec<&'a str>) {
        for step in steps {
            for mark in &step.marks {
                if let Mark::Starts(name) = &mark.value {
                    known.push(name);
                }
            }
            starts(step.steps.iter(), known);
        }
    }
    let mut known: Vec<&str> = model.gauges.iter().map(|g| g.name).collect();
    known.extend(["armhole", &piece.name.value]);
    starts(piece.steps.iter().copied(), &mut known);
    for step in &piece.steps {
        if let Action::AsFor { piece: other, .. } = &step.action
            && let Some(other) = model
                .document
                .sections
                .iter()
                .filter_map(self::piece)
                .find(|p| p.name.value.eq_ignore_ascii_case(&other.value))
        {
            starts(other.steps.iter().copied(), &mut known);
        }
    }
    known
}

#[cfg(test)]
mod tests {
    use crate::diag::render::{self, Style};
    use crate::source::Source;
    use crate::syntax;

    #[test]
    fn the_numbers_of_a_row_that_stay_behind_are_told_together() {
        let text = "---\nsizes: [S, M]\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n---\n\n## Cap, in the round\n\n- cast on 8 (10)\n- k4 (5), p4, k{0 (1)}\n- *p4 (5), k0 (1), k4; rep from *\n- bind off all\n";
        let source = Source::new("cap.wale", text);
        let parsed = syntax::parse(&source);
        let document = parsed.document.expect("a pattern");
        let findings = crate::check(&source, &document, parsed.findings).findings;
        insta::assert_snapshot!(render::text(&findings, &source, None, Style::default()), @"
        warning[unsized-number]: this number varies by size but will not follow a rewrite
          --> cap.wale:10:4
           |
        10 | - k4 (5), p4, k{0 (1)}
           |    ^^^^^ not live
           |
           = help: put it in braces to let it follow, or mark the row `[fixed]`

        warning[unsized-number]: 2 numbers vary by size but will not follow a rewrite
          --> cap.wale:11:5
           |
        11 | - *p4 (5), k0 (1), k4; rep from *
           |     ^^^^^   -----
           |     |
           |     not live
           |
           = help: put them in braces to let them follow, or mark the row `[fixed]`
        ");
    }
}
