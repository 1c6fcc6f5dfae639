//! The abbreviations a page uses, and no others.
//!
//! Names of stitches are looked for among the stitches of the rows and in the
//! text as it is printed, so that those of rows written out here are found
//! too. Words that are plain English (`over`, `plain`) are none.

use super::author::Author;
use super::sheet::{Fact, Part, Sheet, plain};
use crate::stitch;
use crate::syntax::tree::{Action, Block, Item, ItemKind, Step};
use std::collections::BTreeMap;

/// Abbreviations that are no stitches; all forms of one share a line.
const WORDS: &[(&[&str], &str)] = &[
    (&["RS"], "right side"),
    (&["WS"], "wrong side"),
    (&["st"], "stitch"),
    (&["sts"], "stitches"),
    (&["rep"], "repeat"),
    (&["rnd"], "round"),
    (&["rnds"], "rounds"),
    (&["beg"], "beginning"),
    (&["cont"], "continue"),
    (&["dec"], "decrease"),
    (&["foll"], "following"),
    (&["inc"], "increase"),
    (&["rem"], "remain"),
    (&["tog"], "together"),
    (&["tbl"], "through the back loop"),
    (&["alt"], "alternate"),
    (&["co"], "cast on"),
    (&["bo"], "bind off"),
    (&["pm"], "place marker"),
    (&["sm"], "slip marker"),
    (&["rm"], "remove marker"),
    (
        &["w&t"],
        "wrap and turn: bring the yarn between the needles, slip the next stitch, take the yarn back, slip the stitch back and turn",
    ),
    (&["kwise"], "as if to knit"),
    (&["pwise"], "as if to purl"),
    (&["wyif"], "with the yarn held in front"),
    (&["wyib"], "with the yarn held in back"),
];

/// Names of stitches that are words of English and need no explaining.
const ENGLISH: &[&str] =
    &["knit", "plain", "purl", "slip", "over", "narrow", "loop", "inc", "s", "n", "o", "make"];

/// Every abbreviation used, in alphabetical order.
pub(super) fn used(author: &Author<'_>, sheet: &Sheet) -> Vec<Fact> {
    let mut found: BTreeMap<(String, String), String> = BTreeMap::new();
    let mut see = |name: &str, means: String| {
        found.entry((name.to_lowercase(), name.to_owned())).or_insert(means);
    };
    sheet.words(&mut |words, instruction| {
        let mut text = String::new();
        for part in words {
            match part {
                Part::Plain(part) | Part::Markdown(part) => text.push_str(part),
                // `k{24}` is one word with its number.
                Part::Number(_) => text.push('1'),
                Part::For(_) | Part::ForAll | Part::Alone(..) => {}
            }
        }
        for token in tokens(&text) {
            if let Some((name, means)) = meaning(author, token, instruction) {
                see(&name, means);
            }
        }
    });
    let mut names = Vec::new();
    for block in author.checked.model.document.sections.iter().flat_map(|section| &section.blocks) {
        if let Block::Steps(steps) = block {
            steps.iter().for_each(|step| in_step(step, &mut names));
        }
    }
    for name in names.iter().filter(|name| name.contains([' ', '/', '-'])) {
        let is_words = name.split([' ', '-']).all(|w| w.len() > 3 || ENGLISH.contains(&w));
        let stitch = stitch::find(name).filter(|_| !is_words);
        if let Some(means) = own(author, name).or(stitch.map(|s| s.means.into_owned())) {
            see(name, means);
        }
    }
    let facts = found.into_iter().map(|((_, name), means)| Fact {
        label: name,
        words: vec![plain(means)],
        rows: None,
    });
    facts.collect()
}

fn tokens(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| !(c.is_alphanumeric() || c == '&' || c == '/')).filter(|t| !t.is_empty())
}

/// What a word of the text stands for, where it is an abbreviation.
fn meaning(author: &Author<'_>, token: &str, instruction: bool) -> Option<(String, String)> {
    let bare = token.trim_end_matches(|c: char| c.is_ascii_digit());
    for name in [token, bare] {
        if let Some(means) = own(author, name) {
            return Some((name.to_owned(), means));
        }
    }
    let word = |name: &str| {
        WORDS.iter().find(|(forms, _)| {
            forms.iter().any(|form| {
                // RS and WS are capitals; "rem" may begin a sentence.
                *form == name
                    || (form.starts_with(char::is_lowercase) && *form == name.to_lowercase())
            })
        })
    };
    if let Some((forms, means)) = word(token) {
        return Some((forms.first()?.to_string(), (*means).to_owned()));
    }
    let counted = bare.len() < token.len();
    let lower = if stitch::find(token).is_some() { token } else { bare }.to_lowercase();
    // A single letter is a stitch where a number follows, or among stitches.
    let letter = lower.chars().count() == 1;
    if ENGLISH.contains(&lower.as_str()) || (letter && !counted && !instruction) {
        return None;
    }
    let stitch = stitch::find(&lower)?;
    // `Sl` and `K2tog` at the start of a row are `sl` and `k2tog`.
    Some((lower, stitch.means.into_owned()))
}

fn own(author: &Author<'_>, name: &str) -> Option<String> {
    let all = &author.checked.model.document.front.abbreviations;
    let own = all.iter().find(|own| own.name.value == name)?;
    Some(own.means.as_ref().map_or_else(
        || format!("takes {} sts and makes {}", own.takes, own.makes),
        |means| means.value.clone(),
    ))
}

fn in_step(step: &Step, names: &mut Vec<String>) {
    if let Action::Row { items, .. } = &step.action {
        in_items(items, names);
    }
    step.steps.iter().for_each(|inner| in_step(inner, names));
}

fn in_items(items: &[Item], names: &mut Vec<String>) {
    for item in items {
        match &item.kind {
            ItemKind::Stitch { name, .. } | ItemKind::Run { name, .. } => {
                names.push(name.value.clone());
            }
            ItemKind::Group { items, .. }
            | ItemKind::Star { items, .. }
            | ItemKind::InOne { items } => in_items(items, names),
            _ => {}
        }
    }
}
