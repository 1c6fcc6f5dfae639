//! The short cautions a page ends its notes with, each only where it applies
//! and where the author has not given it already.
//!
//! - Children: the title or a size is named for children, or a chest to be
//!   fitted is below 75 cm, or a head below 52 cm.
//! - Compression: a band draws in by more than 10% of the fabric it meets.
//! - Swatching: always, since every count rests on a gauge.

use super::author::Author;
use super::sheet::{Fact, plain};
use crate::measure::{Length, exact};
use crate::plan::facts;
use crate::syntax::tree::Block;

const CHILDREN: &str = "For babies and small children leave off cords, loose ties and bobbles, fasten buttons and yarn ends securely, and follow your local rules for the safety of children’s clothing.";
const SNUG: &str = "A snug band is for comfort and fit only; it is never a medical garment.";
const SWATCH: &str = "A computed size is a starting point: knit a swatch in each fabric, wash it and measure it before you cast on.";

/// Every caution that applies and is not said.
pub(super) fn all(author: &Author<'_>) -> Vec<Fact> {
    let said = said(author);
    let mut cautions = Vec::new();
    if fits_children(author) && !(said.contains("child") && said.contains("safety")) {
        cautions.push(CHILDREN);
    }
    if has_snug_band(author) && !said.contains("medical") {
        cautions.push(SNUG);
    }
    if !said.contains("swatch") {
        cautions.push(SWATCH);
    }
    cautions
        .into_iter()
        .map(|text| Fact { label: String::new(), words: vec![plain(text)], rows: None })
        .collect()
}

/// Everything the author says in prose and notes, in lower case.
fn said(author: &Author<'_>) -> String {
    let document = author.checked.model.document;
    let mut said = String::new();
    for block in document.sections.iter().flat_map(|section| &section.blocks) {
        if let Block::Prose(prose) = block {
            said.push_str(author.slice(prose.span));
            said.push('\n');
        }
    }
    document.front.notes.iter().for_each(|note| said.push_str(&note.value));
    said.to_lowercase()
}

fn fits_children(author: &Author<'_>) -> bool {
    let model = &author.checked.model;
    let title = model.document.front.title.iter().map(|title| &title.value);
    let named = model.sizes.iter().chain(title).any(|name| {
        let size = name.to_lowercase();
        let mut words = size.split(|c: char| !c.is_alphabetic());
        words.any(|word| {
            let child = ["bab", "child", "infant", "toddler", "kid", "newborn", "preemie"];
            child.iter().any(|start| word.starts_with(start))
                || matches!(
                    word,
                    "mo" | "mos" | "month" | "months" | "yr" | "yrs" | "year" | "years"
                )
        })
    });
    let small = |landmark: &str, below: i64| {
        let body = model.measures.body.iter().find(|(name, _)| name == landmark);
        body.is_some_and(|(_, given)| given.values().any(|length| *length < Length::cm(below)))
    };
    named || small("chest", 75) || small("head", 52)
}

fn has_snug_band(author: &Author<'_>) -> bool {
    let model = &author.checked.model;
    author.checked.traces.iter().any(|trace| {
        let joins = facts::joins(model, trace);
        joins.iter().filter_map(|join| facts::fit(model, join)).any(|f| f.draws_in > exact(1, 10))
    })
}
