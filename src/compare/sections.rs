//! The entries of two patterns, side by side.

use super::align::{self, Row, SectionRow};
use super::items::{Item, Part};
use super::numbers::in_sizes;
use super::{Change, Entry, Passage, Section, SectionStatus, Sizes, words};

/// Compares sections that were paired, and lists those that were not.
pub(super) fn compare(
    old: &[Part],
    new: &[Part],
    rows: &[SectionRow],
    sizes: &Sizes,
) -> Vec<Section> {
    rows.iter().filter_map(|row| section(old, new, *row, sizes)).collect()
}

fn section(old: &[Part], new: &[Part], row: SectionRow, sizes: &Sizes) -> Option<Section> {
    let SectionRow { row, renamed } = row;
    let (old, new) = (row.old.and_then(|i| old.get(i)), row.new.and_then(|j| new.get(j)));
    let status = match (old, new) {
        (Some(_), Some(_)) if renamed => SectionStatus::Renamed,
        (Some(_), Some(_)) => SectionStatus::Kept,
        (None, _) => SectionStatus::Added,
        (_, None) => SectionStatus::Removed,
    };
    let (items_old, items_new) = (items(old), items(new));
    let entries = align::items(items_old, items_new)
        .into_iter()
        .filter_map(|Row { old, new, moved }| {
            let old = old.and_then(|i| items_old.get(i));
            entry(old, new.and_then(|j| items_new.get(j)), moved, sizes)
        })
        .collect();
    Some(Section {
        kind: new.or(old)?.kind,
        status,
        moved: row.moved,
        heading: entry(
            old.and_then(|part| part.heading.as_ref()),
            new.and_then(|part| part.heading.as_ref()),
            false,
            sizes,
        ),
        entries,
    })
}

fn items(part: Option<&Part>) -> &[Item] {
    part.map_or(&[], |part| &part.items)
}

/// One entry; `None` where neither side has it.
pub(super) fn entry(
    old: Option<&Item>,
    new: Option<&Item>,
    moved: bool,
    sizes: &Sizes,
) -> Option<Entry> {
    let passage = |item: &Item, segments| Passage {
        line: item.line,
        span: item.span,
        depth: item.depth,
        segments,
    };
    let alone = |item: &Item| Some(passage(item, item.wording.whole(true)));
    let (change, passages, numbers) = match (old, new) {
        (Some(a), Some(b)) => {
            let compared = words::compare(&a.wording, &b.wording, sizes);
            let passages = (Some(passage(a, compared.old)), Some(passage(b, compared.new)));
            (compared.change, passages, compared.numbers)
        }
        (Some(a), None) => (Change::Removed, (alone(a), None), Vec::new()),
        (None, Some(b)) => (Change::Added, (None, alone(b)), Vec::new()),
        (None, None) => return None,
    };
    let leaves = match (old.map(|item| &item.leaves), new.map(|item| &item.leaves)) {
        (Some(a), Some(b)) if !a.is_empty() && !b.is_empty() => in_sizes(Some(a), Some(b), sizes),
        _ => Vec::new(),
    };
    let differs = leaves.iter().any(|size| !size.is_alone() && size.old != size.new);
    let moved = moved || old.zip(new).is_some_and(|(a, b)| a.depth != b.depth);
    Some(Entry {
        kind: new.or(old)?.kind,
        change: if moved && change == Change::Same { Change::Moved } else { change },
        moved,
        old: passages.0,
        new: passages.1,
        numbers,
        leaves: if differs { leaves } else { Vec::new() },
    })
}
