//! What the front matter tells: yarn, needles, gauges and notes.

use super::author::{Author, one_line};
use super::compose::heading;
use super::sheet::{Block, Fact, Number, Part, Words, plain};
use crate::diag::words::{self, capitalised};
use crate::measure::{Exact, Given, Length, SizeId, Unit, decimal, exact};
use crate::model::GaugeDef;
use crate::plan::yarn::{self, Amount, Need};
use crate::standards::NeedleSize;
use crate::standards::yarn_weights;
use crate::syntax::front::{PutUp, Used};
use crate::syntax::print;
use crate::syntax::tree::FabricKind;

/// Something with a name, which begins with a capital.
pub(super) fn fact(label: &str, words: Words) -> Fact {
    Fact { label: capitalised(label), words, rows: None }
}

/// What `one` gives for each size.
pub(super) fn by_size<T>(author: &Author<'_>, one: impl Fn(SizeId) -> Option<T>) -> Vec<Option<T>> {
    (0..author.sizes()).map(|size| one(SizeId(size))).collect()
}

// ---- Materials -------------------------------------------------------------------

/// Yarn and needles.
pub(super) fn materials(author: &Author<'_>) -> Vec<Block> {
    let mut facts = Vec::new();
    let need = yarn::need(&author.checked.model, &author.checked.traces);
    if let Some(words) = yarn_words(author, need.as_ref()) {
        facts.push(fact("Yarn", words));
    }
    facts.extend(color_facts(author, need.as_ref()));
    if let Some(words) = needle_words(author) {
        facts.push(fact("Needles", words));
    }
    if facts.is_empty() { Vec::new() } else { vec![heading("Materials"), Block::Facts(facts)] }
}

fn yarn_words(author: &Author<'_>, need: Option<&Need>) -> Option<Words> {
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
        parts.push(vec![plain(put_up_words(&put_up.value))]);
    }
    if let Some(used) = yarn.and_then(|yarn| yarn.used.as_ref()) {
        parts.push(used_words(author, &used.value));
    }
    // Where there are colors, each is bought by itself.
    if let Some(need) = need.filter(|need| need.colors.is_empty()) {
        let used = yarn.and_then(|yarn| yarn.used.as_ref()).map(|used| &used.value);
        parts.extend(need_words(need, &need.sizes, used));
    }
    joined(parts)
}

/// `120 m (131 yd) per 50 g`
fn put_up_words(put_up: &PutUp) -> String {
    let grams = put_up.grams.map(|g| format!(" per {} g", decimal(g, 1)));
    format!(
        "{} m ({} yd){}",
        decimal(put_up.length.amount(Unit::M), 0),
        decimal(put_up.length.amount(Unit::Yd), 0),
        grams.unwrap_or_default()
    )
}

/// What to buy of each color.
fn color_facts(author: &Author<'_>, need: Option<&Need>) -> Vec<Fact> {
    let model = &author.checked.model;
    let yarn = model.document.front.yarn.as_ref();
    let facts = model.colors.iter().enumerate().map(|(id, color)| {
        let label = match &color.shade {
            Some(shade) => format!("{}, {}", color.name.value, shade.value),
            None => color.name.value.clone(),
        };
        let mut parts: Vec<Words> = Vec::new();
        let put_up = color.put_up.as_ref();
        parts.extend(put_up.map(|put_up| vec![plain(put_up_words(&put_up.value))]));
        parts.extend(color.used.as_ref().map(|used| used_words(author, &used.value)));
        if let Some((need, sizes)) = need.and_then(|need| Some((need, need.colors.get(id)?))) {
            let whole = yarn.and_then(|yarn| yarn.used.as_ref()).map(|used| &used.value);
            if color.used.is_none() && whole.is_some() {
                parts.extend(share_words(sizes));
            }
            parts.extend(need_words(need, sizes, color.used.as_ref().map(|u| &u.value).or(whole)));
        }
        fact(&label, joined(parts).unwrap_or_default())
    });
    facts.filter(|fact| !fact.words.is_empty()).collect()
}

/// A color's part of what the pattern says it used in all.
fn share_words(sizes: &[Option<Amount>]) -> Option<Words> {
    let grams: Vec<_> = sizes.iter().map(|one| one.and_then(|one| one.grams)).collect();
    let mut words = vec![plain("about ")];
    if grams.iter().any(Option::is_some) {
        let each = grams.iter().map(|n| n.map_or("-".to_owned(), |n| decimal(n, 0)));
        words.extend([Part::Number(Number::by_size(each.enumerate().collect())), plain(" g")]);
    } else {
        let lengths: Vec<_> = sizes.iter().map(|one| one.and_then(|one| one.length)).collect();
        lengths.iter().any(Option::is_some).then_some(())?;
        words.extend(metres_and_yards(&lengths));
    }
    words.push(plain(", by its share of the stitches"));
    Some(words)
}

/// One after the other.
fn joined(parts: Vec<Words>) -> Option<Words> {
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
fn need_words(need: &Need, sizes: &[Option<Amount>], used: Option<&Used>) -> Vec<Words> {
    let mut parts = Vec::new();
    if need.method == yarn::Method::Constants {
        let lengths: Vec<_> = sizes.iter().map(|one| one.and_then(|one| one.length)).collect();
        let mut words = vec![plain("about ")];
        words.extend(metres_and_yards(&lengths));
        words.push(plain(", reckoned from the gauge and the number of stitches"));
        parts.push(words);
    }
    let each: Vec<_> = sizes.iter().map(|one| one.and_then(|one| one.put_ups)).collect();
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
    // Nobody measured an estimate: its hundredths say nothing.
    let (about, places) = if gauge.estimated { ("about ", 1) } else { ("", 2) };
    let mut text = format!("{about}{} sts", decimal(entry.stitches?.value, places));
    if let Some(rows) = entry.rows {
        text.push_str(&format!(" and {} rows", decimal(rows.value, places)));
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
        let stretched = decimal(stretched.value, places);
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
        rows: None,
    };
    author.checked.model.document.front.notes.iter().map(|n| note(&n.value)).collect()
}
