//! How large the part is that must pass an opening.

use crate::measure::{Length, SizeId};
use crate::model::Model;
use crate::review::steps::size_name;
use crate::standards::{Part, Wearer, passes};

/// What must pass, in one size.
pub(super) struct Passer {
    pub(super) girth: Length,
    pub(super) known: Known,
}

/// How it is known how large a part is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Known {
    /// `measure:` gives it.
    Given,
    /// 95 in 100 of those measured have less.
    MostHaveLess,
    /// Half of those measured have less.
    HalfHaveLess,
}

pub(super) fn passer(model: &Model<'_>, part: &str, size: SizeId) -> Option<Passer> {
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
pub(super) fn wearer(model: &Model<'_>, size: SizeId) -> Option<Wearer> {
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
