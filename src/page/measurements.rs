//! What the finished thing measures, size by size: who it fits, its widths and
//! lengths, and how its bands lie.

use super::author::Author;
use super::compose::heading;
use super::front::{by_size, fact};
use super::sheet::{Block, Fact, Measure, Number, Part, Words, plain};
use crate::Checked;
use crate::diag::words::{self, capitalised};
use crate::measure::{Exact, Given, Length, Unit, decimal, exact};
use crate::model::GaugeId;
use crate::plan::band::Fit;
use crate::plan::facts::{self, Join};
use crate::plan::ratio::Ratio;
use crate::syntax::visit;

/// Sizes, who they fit, and what the finished thing measures.
pub(super) fn measurements(author: &Author<'_>) -> Vec<Block> {
    let model = &author.checked.model;
    let mut facts = Vec::new();
    if model.sizes.len() > 1 {
        let names = model.sizes.iter().cloned().enumerate().collect();
        let words = vec![Part::Number(Number::by_size(names))];
        facts.push(Fact { rows: Some(Vec::new()), ..fact("Sizes", words) });
    } else if let Some(name) = model.sizes.first().filter(|name| !name.is_empty()) {
        facts.push(fact("Size", vec![plain(name.as_str())]));
    }
    for (landmark, given) in &model.measures.body {
        if model.measures.ease.iter().any(|(name, _)| name == landmark) {
            let each = by_size(author, |size| given.get(size).copied());
            facts.push(measured(author, &format!("To fit {landmark}"), &each));
        }
    }
    let finished = facts::finished(model, &author.checked.traces);
    for found in &finished {
        let label = format!("Finished {}", found.landmark);
        facts.push(measured(author, &label, &found.lengths));
        if found.doubts.iter().any(Option::is_some) {
            facts.push(measured(author, &format!("{label}, give or take"), &found.doubts));
        }
    }
    for eased in facts::eased(model, &finished) {
        let label = format!("Ease at {}", eased.landmark);
        facts.push(measured(author, &label, &eased.actual));
        facts.push(measured(author, &format!("{label}, beyond what was asked"), &eased.beyond));
    }
    for said in &model.document.front.finished {
        if !finished.iter().any(|found| found.landmark == said.name.value) {
            let each = by_size(author, |size| said.value.value.get(size).copied());
            facts.push(measured(author, &format!("Finished {}", said.name.value), &each));
        }
    }
    facts.extend(lengths(author));
    facts.extend(bands(author));
    let mut blocks = Vec::new();
    if !facts.is_empty() {
        blocks.push(heading(if model.sizes.len() > 1 {
            "Sizes and finished measurements"
        } else {
            "Finished measurements"
        }));
        blocks.push(Block::Facts(facts));
    }
    blocks.extend(how_to_read(author));
    blocks
}

/// A length by size, in both units.
fn measured(author: &Author<'_>, label: &str, each: &[Option<Length>]) -> Fact {
    let rows = Some(rows(author, label, each));
    Fact { rows, ..fact(label, both_units(author.checked, each)) }
}

/// The units of a pattern, its own first.
fn units(checked: &Checked<'_>) -> [Unit; 2] {
    match checked.model.units {
        Unit::In => [Unit::In, Unit::Cm],
        _ => [Unit::Cm, Unit::In],
    }
}

/// `44 (48, 52) cm / 17 1/4 (19, 20 1/2) in`
pub(super) fn both_units(checked: &Checked<'_>, each: &[Option<Length>]) -> Words {
    let [first, second] = units(checked).map(|unit| {
        let each = in_unit(each, unit).into_iter().enumerate().collect();
        [Part::Number(Number::by_size(each)), plain(format!(" {}", unit.word()))]
    });
    first.into_iter().chain([plain(" / ")]).chain(second).collect()
}

/// The same as a row for each unit.
fn rows(author: &Author<'_>, label: &str, each: &[Option<Length>]) -> Vec<Measure> {
    let row = |unit: Unit| Measure {
        band: None,
        label: capitalised(label),
        unit: unit.word().to_owned(),
        each: in_unit(each, unit),
    };
    units(author.checked).map(row).to_vec()
}

fn in_unit(each: &[Option<Length>], unit: Unit) -> Vec<String> {
    let amount = |length: &Length| {
        let readable = length.readable(unit);
        readable.trim_end_matches(unit.word()).trim_end().to_owned()
    };
    each.iter().map(|length| length.as_ref().map_or("-".to_owned(), amount)).collect()
}

/// The length of each piece; pieces of the same lengths share a line.
fn lengths(author: &Author<'_>) -> Vec<Fact> {
    let model = &author.checked.model;
    let all = facts::piece_lengths(model, &author.checked.traces);
    let mut lines: Vec<(Vec<String>, Vec<Length>)> = Vec::new();
    for (piece, lengths) in model.pieces.iter().zip(all) {
        if !lengths.iter().all(|length| length.is_positive()) {
            continue;
        }
        match lines.iter_mut().find(|(_, own)| *own == lengths) {
            Some((names, _)) => names.push(piece.name.value.clone()),
            None => lines.push((vec![piece.name.value.clone()], lengths)),
        }
    }
    let line = |(names, lengths): (Vec<String>, Vec<Length>)| {
        let each: Vec<Option<Length>> = lengths.into_iter().map(Some).collect();
        let label = format!("{}, cast-on to end", words::list(&names, "and"));
        measured(author, &label, &each)
    };
    lines.into_iter().map(line).collect()
}

/// Bands that lie alike.
struct BandLine {
    pieces: Vec<usize>,
    band: GaugeId,
    body: GaugeId,
    fits: Vec<Option<Fit>>,
}

/// What each band measures beside the fabric it meets; bands that are alike share a line.
fn bands(author: &Author<'_>) -> Vec<Fact> {
    let model = &author.checked.model;
    let mut lines: Vec<BandLine> = Vec::new();
    let joins: Vec<Vec<Join>> =
        author.checked.traces.iter().map(|trace| facts::joins(model, trace)).collect();
    for join in joins.iter().flatten() {
        let same = |other: &&Join| other.piece == join.piece && other.even == join.even;
        let fits: Vec<Option<Fit>> = joins
            .iter()
            .map(|own| own.iter().find(same).and_then(|own| facts::fit(model, own)))
            .collect();
        let (band, body) = (join.band.gauge, join.body.gauge);
        let alike = lines.iter_mut().find(|l| (l.band, l.body) == (band, body) && l.fits == fits);
        match alike {
            Some(line) if line.pieces.contains(&join.piece) => {}
            Some(line) => line.pieces.push(join.piece),
            None => lines.push(BandLine { pieces: vec![join.piece], band, body, fits }),
        }
    }
    let several = |gauge: GaugeId| lines.iter().filter(|line| line.band == gauge).count() > 1;
    let line = |line: &BandLine| {
        let name = model.gauges.get(line.band.0)?.name;
        let pieces: Vec<String> = line
            .pieces
            .iter()
            .filter_map(|piece| model.pieces.get(*piece))
            .map(|piece| piece.name.value.clone())
            .collect();
        let label = if several(line.band) {
            format!("{name} ({})", words::list(&pieces, "and"))
        } else {
            name.to_owned()
        };
        let body = model.gauges.get(line.body.0)?.name;
        let words = band_words(author, body, &line.fits);
        let rows = Some(band_rows(author, &label, body, &line.fits));
        Some(Fact { rows, ..fact(&format!("{label}, relaxed"), words) })
    };
    lines.iter().filter_map(line).collect()
}

/// One length of every fit.
fn of_each(fits: &[Option<Fit>], of: fn(&Fit) -> Option<Length>) -> Vec<Option<Length>> {
    fits.iter().map(|fit| fit.as_ref().and_then(of)).collect()
}

fn band_words(author: &Author<'_>, body: &str, fits: &[Option<Fit>]) -> Words {
    let mut words = both_units(author.checked, &of_each(fits, |fit| Some(fit.relaxed)));
    words.extend(draw_in(body, fits));
    words.extend(ratio(body, fits));
    let stretched = of_each(fits, |fit| fit.stretched);
    if stretched.iter().any(Option::is_some) {
        words.push(plain("; stretches to "));
        words.extend(both_units(author.checked, &stretched));
    }
    words
}

/// The same as rows of a table.
fn band_rows(author: &Author<'_>, label: &str, body: &str, fits: &[Option<Fit>]) -> Vec<Measure> {
    let (way, sign) = match way(fits) {
        Some(Way::Wider) => ("wider", -1),
        _ => ("narrower", 1),
    };
    let band = Some(capitalised(label));
    let in_units = |state: &str, lengths: &[Option<Length>]| {
        let row = |row: Measure| Measure { band: band.clone(), ..row };
        rows(author, state, lengths).into_iter().map(row).collect::<Vec<_>>()
    };
    let row = |label: String, of: &dyn Fn(&Fit) -> Option<String>| {
        let one = |fit: &Option<Fit>| fit.as_ref().and_then(of).unwrap_or_else(|| "-".to_owned());
        let each = fits.iter().map(one).collect();
        Measure { band: band.clone(), label, unit: String::new(), each }
    };
    let small = |fit: &Fit| fit.ratio.map(|small| small.ratio);
    let mut all = in_units("Relaxed", &of_each(fits, |fit| Some(fit.relaxed)));
    all.push(row(format!("{} than the {body}", capitalised(way)), &|fit| {
        Some(percent(fit.draws_in * exact(sign, 1)))
    }));
    if fits.iter().flatten().any(|fit| small(fit).is_some()) {
        let name = format!("Sts to sts of the {body}, about");
        all.push(row(name, &|fit| small(fit).map(|r| format!("{}:{}", r.these, r.those))));
    }
    let stretched = of_each(fits, |fit| fit.stretched);
    if stretched.iter().any(Option::is_some) {
        all.extend(in_units("Stretched", &stretched));
    }
    all
}

/// `; about 12 sts for every 11 of the body`: in terms small enough to picture.
fn ratio(body: &str, fits: &[Option<Fit>]) -> Words {
    let small = |fit: &Option<Fit>| fit.as_ref()?.ratio.map(|small| small.ratio);
    let Some(ratios) = fits.iter().map(small).collect::<Option<Vec<Ratio>>>() else {
        return Words::new();
    };
    if ratios.iter().all(|ratio| ratio.these == ratio.those) {
        return vec![plain(format!("; about as many sts as the {body}"))];
    }
    if ratios.iter().any(|ratio| ratio.these == ratio.those) {
        // "1 for every 1" in one size and "12 for every 11" in the next help nobody.
        return Words::new();
    }
    let number = |of: fn(Ratio) -> u32| {
        let each = ratios.iter().map(|ratio| of(*ratio).to_string());
        Part::Number(Number::by_size(each.enumerate().collect()))
    };
    vec![
        plain("; about "),
        number(|ratio| ratio.these),
        plain(" sts for every "),
        number(|ratio| ratio.those),
        plain(format!(" of the {body}")),
    ]
}

/// How a band lies against a fabric, in every size alike.
enum Way {
    Level,
    Narrower,
    Wider,
}

/// `None` where the sizes differ in it.
fn way(fits: &[Option<Fit>]) -> Option<Way> {
    let mut each = fits.iter().flatten().map(|fit| fit.draws_in);
    let zero = exact(0, 1);
    if each.clone().all(|part| percent(part).trim_start_matches('-') == "0%") {
        Some(Way::Level)
    } else if each.clone().all(|part| part >= zero) {
        Some(Way::Narrower)
    } else if each.all(|part| part <= zero) {
        Some(Way::Wider)
    } else {
        None
    }
}

fn percent(part: Exact) -> String {
    format!("{}%", decimal(part * exact(100, 1), 0))
}

/// `, 9% narrower than the body`
fn draw_in(body: &str, fits: &[Option<Fit>]) -> Words {
    let shown = |sign: i64| {
        let of = |fit: &Option<Fit>| Some(percent(fit.as_ref()?.draws_in * exact(sign, 1)));
        let each = fits.iter().enumerate().filter_map(|(size, fit)| Some((size, of(fit)?)));
        Part::Number(Number::by_size(each.collect()))
    };
    match way(fits) {
        Some(Way::Level) => vec![plain(format!(", level with the {body}"))],
        Some(Way::Narrower) => {
            vec![plain(", "), shown(1), plain(format!(" narrower than the {body}"))]
        }
        Some(Way::Wider) => vec![plain(", "), shown(-1), plain(format!(" wider than the {body}"))],
        None => Words::new(),
    }
}

/// How lists of sizes are to be read, with only what this pattern needs.
fn how_to_read(author: &Author<'_>) -> Option<Block> {
    let model = &author.checked.model;
    if model.sizes.len() < 2 {
        return None;
    }
    let mut text = "Where the sizes differ, the first number is for the first size and those in parentheses are for the others, in order; a number alone is for all sizes.".to_owned();
    let (mut dash, mut none) = (false, false);
    visit::counts(model.document, &mut |counts| {
        if let Given::Each(values) = &counts.given {
            dash |= values.iter().any(Option::is_none);
            none |= values.contains(&Some(0));
        }
    });
    match (dash, none) {
        (true, true) => text.push_str(" Where it is - or 0, your size skips that part."),
        (true, false) => text.push_str(" Where it is -, your size skips that part."),
        (false, true) => text.push_str(" Where it is 0, your size skips that part."),
        (false, false) => {}
    }
    // One size alone has no lists.
    Some(Block::Line(vec![Part::For(Vec::new()), plain(text), Part::ForAll]))
}
