//! A fabric written for rows back and forth, worked round and round; and back.
//!
//! What is worked on the wrong side looks from the right side like other
//! stitches, in the other order: a row of `k2, p1` is a round of `k1, p2`.
//! Decreases that are written out (`sl 1, k1, psso`) turn as the one stitch
//! they are.

use super::chart;
use super::trace::Trace;
use crate::measure::{Given, SizeId};
use crate::model::{FabricDef, Model};
use crate::source::Spanned;
use crate::stitch;
use crate::syntax::print;
use crate::syntax::tree::{Counts, Item, ItemKind, RowEnd, Setting, Side, StarEnd};

/// The rows of a fabric for a setting it was not written for.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Translation {
    /// How they are worked.
    pub setting: Setting,
    /// Each with its number and side.
    pub rows: Vec<TurnedRow>,
}

/// One row of a translation.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct TurnedRow {
    /// From 1.
    pub number: usize,
    /// The side it is worked on.
    pub side: Side,
    /// Its stitches in the canonical words; `None` where the row is not told
    /// stitch by stitch, or holds stitches of the author's own.
    pub words: Option<String>,
}

/// The rows of a fabric in the other setting, where a piece works it so.
#[must_use]
pub fn translation(
    model: &Model<'_>,
    traces: &[Trace],
    fabric: &FabricDef<'_>,
) -> Option<Translation> {
    let written = written_for(fabric)?;
    let setting = match written {
        Setting::Flat => Setting::Round,
        Setting::Round => Setting::Flat,
    };
    if !chart::worked_in(model, traces, fabric, setting) {
        return None;
    }
    let before = chart::sides(fabric, written == Setting::Round);
    let after = chart::sides(fabric, setting == Setting::Round);
    let rows = fabric.rows.iter().zip(before.iter().zip(after)).enumerate();
    let rows = rows.map(|(index, (row, (before, side)))| {
        let items =
            if *before == side { Some(row.items.to_vec()) } else { turned(model, row.items) };
        let words = items.map(|items| match row.color {
            Some(color) => format!("with {}, {}", color.value, print::items(&items)),
            None => print::items(&items),
        });
        TurnedRow { number: index + 1, side, words }
    });
    Some(Translation { setting, rows: rows.collect() })
}

/// What a fabric is written for: flat where it tells sides, in the round where it speaks of
/// rounds; `None` where its words fit both.
#[must_use]
pub fn written_for(fabric: &FabricDef<'_>) -> Option<Setting> {
    let labels = || fabric.rows.iter().filter_map(|row| row.label);
    if labels().any(|label| label.side.is_some() || (label.and_all.is_some() && !label.rounds)) {
        return Some(Setting::Flat);
    }
    labels().any(|label| label.rounds).then_some(Setting::Round)
}

/// A row as it is worked from the other side: `None` where that cannot be told.
#[must_use]
pub fn turned(model: &Model<'_>, items: &[Item]) -> Option<Vec<Item>> {
    let mut all = Vec::new();
    let mut rest = items;
    // What a repeat to the last so many stitches keeps lies before it now.
    let mut kept = 0;
    while let Some((first, after)) = rest.split_first() {
        if let Some((decrease, after)) = written_out(rest) {
            all.push(decrease);
            rest = after;
            continue;
        }
        let item = match &first.kind {
            ItemKind::Star { items: inner, until: StarEnd::End | StarEnd::Last(_) } => {
                let until = up_to(kept, first);
                let items = turned(model, inner)?;
                Item { kind: ItemKind::Star { items, until }, ..first.clone() }
            }
            ItemKind::Run { name, until: RowEnd::End | RowEnd::Last(_) } => {
                let name = other_name(model, name)?;
                let until = match up_to(kept, first) {
                    StarEnd::Last(count) => RowEnd::Last(count),
                    _ => RowEnd::End,
                };
                Item { kind: ItemKind::Run { name, until }, ..first.clone() }
            }
            _ => one(model, first)?,
        };
        kept += super::fabric::tally(model, std::slice::from_ref(first)).map_or(0, |t| t.0);
        all.push(item);
        rest = after;
    }
    all.reverse();
    Some(all)
}

fn up_to(kept: i64, item: &Item) -> StarEnd {
    match u32::try_from(kept) {
        Ok(0) | Err(_) => StarEnd::End,
        Ok(n) => {
            let place = crate::source::Span::at(item.span.end);
            StarEnd::Last(Counts { span: place, given: Given::Same(n), live: false })
        }
    }
}

/// An item that goes no further than its own stitches.
fn one(model: &Model<'_>, item: &Item) -> Option<Item> {
    let kind = match &item.kind {
        ItemKind::Stitch { name, count } => {
            ItemKind::Stitch { name: other_name(model, name)?, count: count.clone() }
        }
        ItemKind::Pattern(count) => ItemKind::Pattern(count.clone()),
        ItemKind::Group { items, times, more } => {
            ItemKind::Group { items: turned(model, items)?, times: times.clone(), more: *more }
        }
        ItemKind::Star { items, until: until @ StarEnd::Times { .. } } => {
            ItemKind::Star { items: turned(model, items)?, until: until.clone() }
        }
        ItemKind::InOne { items } => ItemKind::InOne { items: turned(model, items)? },
        _ => return None,
    };
    Some(Item { kind, ..item.clone() })
}

/// The name of what looks the same, worked from the other side.
fn other_name(model: &Model<'_>, name: &Spanned<String>) -> Option<Spanned<String>> {
    let own = &model.document.front.abbreviations;
    if own.iter().any(|own| own.name.value.eq_ignore_ascii_case(&name.value)) {
        return None;
    }
    if name.value == "work" {
        return Some(name.clone());
    }
    let found = stitch::find(&name.value).filter(|found| found.makes >= 0)?;
    Some(Spanned::new(found.wrong_side.into_owned(), name.span))
}

/// The decrease that a row's first items write out, turned, and what follows them.
fn written_out(items: &[Item]) -> Option<(Item, &[Item])> {
    let plain = |item: &Item| match &item.kind {
        ItemKind::Stitch { name, count } => {
            let n = match count {
                Some(count) => *count.given.get(SizeId(0))?,
                None => 1,
            };
            Some((stitch::find(&name.value)?.name.into_owned(), n))
        }
        _ => None,
    };
    let [first, second, third, after @ ..] = items else { return None };
    let names = [plain(first)?, plain(second)?, plain(third)?];
    let names = names.each_ref().map(|(name, n)| (name.as_str(), *n));
    let decrease = match names {
        [("sl" | "sl kwise" | "sl pwise", 1), ("k", 1), ("psso", 1)] => "skp",
        [("sl" | "sl kwise" | "sl pwise", 1), ("k2tog", 1), ("psso", 1)] => "sk2p",
        [("sl" | "sl kwise", 2), ("k", 1), ("p2sso", 1)] => "s2kp",
        _ => return None,
    };
    let span = first.span.to(third.span);
    let name = Spanned::new(stitch::find(decrease)?.wrong_side.into_owned(), span);
    let kind = ItemKind::Stitch { name, count: None };
    Some((Item { span, kind, color: first.color.clone(), marks: Vec::new() }, after))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Source;
    use crate::syntax::{self, Vocabulary, row};

    fn from_behind(text: &str) -> String {
        let source = Source::new("a.wale", "---\n---\n".to_owned());
        let document = syntax::parse(&source).document.unwrap_or_else(|| panic!("a document"));
        let model = crate::model::build(&document).model;
        let items = row::parse_items(text, 0, &Vocabulary::default()).unwrap_or_default();
        turned(&model, &items).map_or("none".to_owned(), |items| print::items(&items))
    }

    /// Common practice: what is purl on one side is knit on the other, read backwards.
    #[test]
    fn a_row_from_the_other_side() {
        for (text, other) in [
            ("purl", "p to end -> k to end"),
            ("k2, p1", "k1, p2"),
            ("*k2, p2; rep from * to last 2 sts, k2", "p2, *k2, p2; rep from * to end"),
            ("p2, *k2, p2; rep from *", "*k2, p2; rep from * to last 2 sts, k2"),
            ("k2, p to last 2 sts, k2", "p2, k to last 2 sts, p2"),
            ("k1, yo, p2tog, [k1, p2] twice", "[k2, p1] twice, k2tog, yo, p1"),
            ("p1, sl 1, k2tog, psso, p3", "k3, p3tog tbl, k1"),
            ("k1, sl 1, k1, psso, 2/2 RC", "2/2 RC, ssp, p1"),
            ("k2, (k1, yo, p1) in next st", "(k1, yo, p1) in next st, p2"),
            ("k4, bind off 2, k4", "none"),
        ] {
            let other = other.split(" -> ").last().unwrap_or(other);
            assert_eq!(from_behind(text), other, "{text}");
        }
    }

    #[test]
    fn labels_tell_what_a_fabric_is_written_for() {
        let for_what = |rows: &str| {
            let text = format!("---\n---\n\n## Net, fabric\n\n{rows}");
            let source = Source::new("a.wale", text);
            let document = syntax::parse(&source).document.unwrap_or_else(|| panic!("a document"));
            let model = crate::model::build(&document).model;
            model.fabric_named("net").and_then(written_for)
        };
        assert_eq!(for_what("- row 1: knit\n- row 2: purl\n"), None);
        assert_eq!(for_what("- row 1 (RS): knit\n- row 2: purl\n"), Some(Setting::Flat));
        assert_eq!(for_what("- RS rows: knit\n- WS rows: purl\n"), Some(Setting::Flat));
        assert_eq!(for_what("- round 1: knit\n- round 2: purl\n"), Some(Setting::Round));
    }

    #[test]
    fn turned_twice_is_the_row_itself() {
        for text in
            ["k3, p2", "*k2, p2; rep from * to last 2 sts, k2", "p1, *k4, p2; rep from * to end"]
        {
            assert_eq!(from_behind(&from_behind(text)), text);
        }
    }
}
