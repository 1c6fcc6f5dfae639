//! What the front matter tells, and what follows from it: sizes, finished
//! measurements, bands, yarn, needles, gauges and notes.

use super::author::{Author, one_line};
use super::compose::heading;
use super::sheet::{Block, Fact, Number, Part, Words, plain};
use crate::Checked;
use crate::diag::words::{self, capitalised};
use crate::measure::{Exact, Given, Length, SizeId, Unit, decimal, exact};
use crate::model::{GaugeDef, GaugeId};
use crate::plan::band::Fit;
use crate::plan::facts::{self, Join};
use crate::plan::ratio::Ratio;
use crate::plan::yarn;
use crate::standards::NeedleSize;
use crate::standards::yarn_weights;
use crate::syntax::front::Used;
use crate::syntax::print;
use crate::syntax::tree::FabricKind;
use crate::syntax::visit;

/// Sizes, who they fit, and what the finished thing measures.
pub(super) fn measurements(author: &Author<'_>) -> Vec<Block> {
    let model = &author.checked.model;
    let mut facts = Vec::new();
    if model.sizes.len() > 1 {
        let names = model.sizes.iter().cloned().enumerate().collect();
        facts.push(fact("Sizes", vec![Part::Number(Number::by_size(names))]));
    } else if let Some(name) = model.sizes.first().filter(|name| !name.is_empty()) {
        facts.push(fact("Size", vec![plain(name.as_str())]));
    }
    for (landmark, given) in &model.measures.body {
        if model.measures.ease.iter().any(|(name, _)| name == landmark) {
            let each = by_size(author, |size| given.get(size).copied());
            facts.push(fact(&format!("To fit {landmark}"), both_units(author.checked, &each)));
        }
    }
    let finished = facts::finished(model, &author.checked.traces);
    for found in &finished {
        let words = both_units(author.checked, &found.lengths);
        facts.push(fact(&format!("Finished {}", found.landmark), words));
    }
    for said in &model.document.front.finished {
        if !finished.iter().any(|found| found.landmark == said.name.value) {
            let each = by_size(author, |size| said.value.value.get(size).copied());
            facts.push(fact(
                &format!("Finished {}", said.name.value),
                both_units(author.checked, &each),
            ));
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

fn fact(label: &str, words: Words) -> Fact {
    Fact { label: capitalised(label), words }
}

fn by_size<T>(author: &Author<'_>, one: impl Fn(SizeId) -> Option<T>) -> Vec<Option<T>> {
    (0..author.sizes()).map(|size| one(SizeId(size))).collect()
}

/// `44 (48, 52) cm / 17 1/4 (19, 20 1/2) in`
pub(super) fn both_units(checked: &Checked<'_>, each: &[Option<Length>]) -> Words {
    let (first, second) = match checked.model.units {
        Unit::In => (Unit::In, Unit::Cm),
        _ => (Unit::Cm, Unit::In),
    };
    let mut words = in_unit(each, first);
    words.push(plain(" / "));
    words.extend(in_unit(each, second));
    words
}

fn in_unit(each: &[Option<Length>], unit: Unit) -> Words {
    let amount = |length: &Length| {
        let readable = length.readable(unit);
        readable.trim_end_matches(unit.word()).trim_end().to_owned()
    };
    let each = each.iter().map(|length| length.as_ref().map_or("-".to_owned(), amount));
    vec![
        Part::Number(Number::by_size(each.enumerate().collect())),
        plain(format!(" {}", unit.word())),
    ]
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
        fact(&label, both_units(author.checked, &each))
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
        Some(fact(&format!("{label}, relaxed"), band_words(author, body, &line.fits)))
    };
    lines.iter().filter_map(line).collect()
}

fn band_words(author: &Author<'_>, body: &str, fits: &[Option<Fit>]) -> Words {
    let each = |of: fn(&Fit) -> Option<Length>| -> Vec<Option<Length>> {
        fits.iter().map(|fit| fit.as_ref().and_then(of)).collect()
    };
    let mut words = both_units(author.checked, &each(|fit| Some(fit.relaxed)));
    words.extend(draw_in(body, fits));
    words.extend(ratio(body, fits));
    let stretched = each(|fit| fit.stretched);
    if stretched.iter().any(Option::is_some) {
        words.push(plain("; stretches to "));
        words.extend(both_units(author.checked, &stretched));
    }
    words
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

/// `, 9% narrower than the body`
fn draw_in(body: &str, fits: &[Option<Fit>]) -> Words {
    let percent = |part: Exact| format!("{}%", decimal(part * exact(100, 1), 0));
    let each: Vec<(usize, Exact)> = fits
        .iter()
        .enumerate()
        .filter_map(|(size, fit)| Some((size, fit.as_ref()?.draws_in)))
        .collect();
    let shown = |sign: i64| -> Number {
        let of = |part: Exact| percent(part * exact(sign, 1));
        Number::by_size(each.iter().map(|(size, part)| (*size, of(*part))).collect())
    };
    let zero = exact(0, 1);
    if each.iter().all(|(_, part)| percent(*part).trim_start_matches('-') == "0%") {
        vec![plain(format!(", level with the {body}"))]
    } else if each.iter().all(|(_, part)| *part >= zero) {
        vec![plain(", "), Part::Number(shown(1)), plain(format!(" narrower than the {body}"))]
    } else if each.iter().all(|(_, part)| *part <= zero) {
        vec![plain(", "), Part::Number(shown(-1)), plain(format!(" wider than the {body}"))]
    } else {
        Words::new()
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
    Some(Block::Line(vec![plain(text)]))
}

// ---- Materials -------------------------------------------------------------------

/// Yarn and needles.
pub(super) fn materials(author: &Author<'_>) -> Vec<Block> {
    let mut facts = Vec::new();
    if let Some(words) = yarn_words(author) {
        facts.push(fact("Yarn", words));
    }
    if let Some(words) = needle_words(author) {
        facts.push(fact("Needles", words));
    }
    if facts.is_empty() { Vec::new() } else { vec![heading("Materials"), Block::Facts(facts)] }
}

fn yarn_words(author: &Author<'_>) -> Option<Words> {
    let model = &author.checked.model;
    let yarn = model.document.front.yarn.as_ref();
    let mut parts: Vec<Words> = Vec::new();
    if let Some(weight) = yarn.and_then(|yarn| yarn.weight) {
        let known = yarn_weights().iter().find(|w| u32::from(w.number) == weight.value);
        let text = match known {
            Some(known) => format!("{} weight ({})", known.name, known.number),
            None => format!("weight {}", weight.value),
        };
        parts.push(vec![plain(text)]);
    }
    if let Some(put_up) = yarn.and_then(|yarn| yarn.put_up.as_ref()) {
        let length = put_up.value.length;
        let grams = put_up.value.grams.map(|g| format!(" per {} g", decimal(g, 1)));
        let text = format!(
            "{} m ({} yd){}",
            decimal(length.amount(Unit::M), 0),
            decimal(length.amount(Unit::Yd), 0),
            grams.unwrap_or_default()
        );
        parts.push(vec![plain(text)]);
    }
    if let Some(used) = yarn.and_then(|yarn| yarn.used.as_ref()) {
        parts.push(used_words(author, &used.value));
    }
    parts.extend(need_words(author, yarn.and_then(|yarn| yarn.used.as_ref()).map(|u| &u.value)));
    let mut parts = parts.into_iter();
    let mut words = parts.next()?;
    for part in parts {
        words.push(plain("; "));
        words.extend(part);
    }
    Some(words)
}

/// What to buy: reckoned from the stitches where the pattern does not say what
/// it used, in balls or skeins where it says how they are sold.
fn need_words(author: &Author<'_>, used: Option<&Used>) -> Vec<Words> {
    let Some(need) = yarn::need(&author.checked.model, &author.checked.traces) else {
        return Vec::new();
    };
    let mut parts = Vec::new();
    if need.method == yarn::Method::Constants {
        let lengths: Vec<_> = need.sizes.iter().map(|one| one.and_then(|one| one.length)).collect();
        let mut words = vec![plain("about ")];
        words.extend(metres_and_yards(&lengths));
        words.push(plain(", reckoned from the gauge and the number of stitches"));
        parts.push(words);
    }
    let each: Vec<_> = need.sizes.iter().map(|one| one.and_then(|one| one.put_ups)).collect();
    if each.iter().any(Option::is_some) && !matches!(used, Some(Used::PutUps(_))) {
        let one = each.iter().all(|n| *n == Some(1));
        let each = each.iter().map(|n| n.map_or("-".to_owned(), |n| n.to_string()));
        parts.push(vec![
            plain(format!("with {}% to spare ", decimal(need.margin * exact(100, 1), 1))),
            Part::Number(Number::by_size(each.enumerate().collect())),
            plain(if one { " ball or skein" } else { " balls or skeins" }),
        ]);
    }
    parts
}

fn metres_and_yards(each: &[Option<Length>]) -> Words {
    let in_unit = |unit: Unit| {
        let each = each.iter().map(|l| l.map_or("-".to_owned(), |l| decimal(l.amount(unit), 0)));
        Part::Number(Number::by_size(each.enumerate().collect()))
    };
    vec![in_unit(Unit::M), plain(" m / "), in_unit(Unit::Yd), plain(" yd")]
}

fn used_words(author: &Author<'_>, used: &Used) -> Words {
    let numbers = |given: &Given<Exact>| {
        let each = by_size(author, |size| given.get(size).copied());
        let each = each.iter().map(|n| n.map_or("-".to_owned(), |n| decimal(n, 1)));
        Part::Number(Number::by_size(each.enumerate().collect()))
    };
    match used {
        Used::Grams(given) => vec![numbers(given), plain(" g")],
        Used::PutUps(given) => vec![numbers(given), plain(" balls or skeins")],
        Used::Length(given) => metres_and_yards(&by_size(author, |size| given.get(size).copied())),
    }
}

fn needle_words(author: &Author<'_>) -> Option<Words> {
    let mut sizes: Vec<(String, Vec<String>)> = Vec::new();
    for gauge in &author.checked.model.gauges {
        let Some(needle) = needle(gauge) else { continue };
        match sizes.iter_mut().find(|(own, _)| *own == needle) {
            Some((_, names)) => names.push(gauge.name.to_owned()),
            None => sizes.push((needle, vec![gauge.name.to_owned()])),
        }
    }
    if sizes.is_empty() {
        return None;
    }
    let one = sizes.len() == 1;
    let texts: Vec<String> =
        sizes
            .into_iter()
            .map(|(needle, names)| {
                if one {
                    needle
                } else {
                    format!("{needle} for the {}", words::list(&names, "and"))
                }
            })
            .collect();
    let end = if one {
        "or the size that gives you the gauge"
    } else {
        "or the sizes that give you the gauges"
    };
    Some(vec![plain(format!("{}; {end}", texts.join("; ")))])
}

fn needle(gauge: &GaugeDef<'_>) -> Option<String> {
    let written = &gauge.entry.needle.as_ref()?.value;
    Some(written.parse::<NeedleSize>().map_or_else(|_| written.clone(), |n| n.to_string()))
}

// ---- Gauge -----------------------------------------------------------------------

/// Each gauge with its fabric and needle.
pub(super) fn gauges(author: &Author<'_>) -> Vec<Block> {
    let line =
        |gauge: &GaugeDef<'_>| gauge_words(author, gauge).map(|words| fact(gauge.name, words));
    let facts: Vec<Fact> = author.checked.model.gauges.iter().filter_map(line).collect();
    if facts.is_empty() { Vec::new() } else { vec![heading("Gauge"), Block::Facts(facts)] }
}

fn gauge_words(author: &Author<'_>, gauge: &GaugeDef<'_>) -> Option<Words> {
    let entry = gauge.entry;
    let usual = match author.checked.model.units {
        Unit::In => Length::inches(4),
        _ => Length::cm(10),
    };
    let over = over(entry.over.map_or(usual, |over| over.value));
    let mut text = format!("{} sts", decimal(entry.stitches?.value, 2));
    if let Some(rows) = entry.rows {
        text.push_str(&format!(" and {} rows", decimal(rows.value, 2)));
    }
    text.push_str(&format!(" = {over}"));
    let mut words = Words::new();
    if let Some(fabric) = &gauge.fabric {
        text.push_str(" in ");
        text.push_str(&match fabric {
            FabricKind::Named(name) => format!("the {name} pattern"),
            other => print::fabric_name(other),
        });
    }
    if let Some(needle) = needle(gauge) {
        text.push_str(&format!(" on {needle} needles"));
    }
    if let Some(stretched) = entry.stretched {
        let stretched = decimal(stretched.value, 2);
        text.push_str(&format!(", relaxed; {stretched} sts = {over} stretched comfortably"));
    }
    if gauge.estimated {
        text.push_str("; estimated, not swatched: knit a swatch before you begin");
    }
    words.push(plain(text));
    Some(words)
}

/// A length in both units, that it was given in first. The trade writes 10 cm
/// and 4 in for one another.
fn over(length: Length) -> String {
    let inches = length.amount(Unit::In).is_integer();
    if length == Length::cm(10) {
        "10 cm (4 in)".to_owned()
    } else if inches {
        format!("{} ({})", length.readable(Unit::In), length.readable(Unit::Cm))
    } else {
        format!("{} ({})", length.precise(Unit::Cm), length.readable(Unit::In))
    }
}

// ---- Notes -----------------------------------------------------------------------

/// The author's notes.
pub(super) fn notes(author: &Author<'_>) -> Vec<Fact> {
    let note = |text: &str| Fact {
        label: String::new(),
        words: vec![Part::Markdown(one_line(text.trim()))],
    };
    author.checked.model.document.front.notes.iter().map(|n| note(&n.value)).collect()
}
