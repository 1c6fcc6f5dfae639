//! The entries of two patterns, side by side.

use super::align::{self, Row, SectionRow};
use super::items::{Item, Part};
use super::numbers::in_sizes;
use super::{Change, Entry, EntryKind, Passage, Section, SectionStatus, Sizes, words};
use std::collections::BTreeMap;

/// Compares sections that were paired, and lists those that were not.
pub(super) fn compare(
    old: &[Part],
    new: &[Part],
    rows: &[SectionRow],
    sizes: &Sizes,
) -> Vec<Section> {
    let mut sections: Vec<Section> =
        rows.iter().filter_map(|row| section(old, new, *row, sizes)).collect();
    moved_across(&mut sections);
    sections
}

/// An instruction that was taken out of one section and put word for word into
/// another has moved there; what either pattern says more than once has not.
fn moved_across(sections: &mut [Section]) {
    let lone = |change: Change, sections: &[Section]| {
        let mut found: BTreeMap<String, Option<(usize, usize)>> = BTreeMap::new();
        for (s, section) in sections.iter().enumerate() {
            for (e, entry) in section.entries.iter().enumerate() {
                if entry.kind != EntryKind::Instruction || entry.change != change {
                    continue;
                }
                if let Some(passage) = entry.old.as_ref().or(entry.new.as_ref()) {
                    let place = found.entry(passage.text()).or_insert(Some((s, e)));
                    if *place != Some((s, e)) {
                        *place = None;
                    }
                }
            }
        }
        found
    };
    let (removed, added) = (lone(Change::Removed, sections), lone(Change::Added, sections));
    let mut gone = Vec::new();
    for (text, from) in removed {
        let to = added.get(&text).copied().flatten();
        let (Some(from), Some(to)) = (from, to) else { continue };
        let old = sections.get(from.0).and_then(|s| s.entries.get(from.1)?.old.clone());
        let new = sections.get_mut(to.0).and_then(|s| s.entries.get_mut(to.1));
        let (Some(old), Some(entry)) = (old, new) else { continue };
        *entry = Entry {
            change: Change::Moved,
            moved: true,
            old: Some(old.unchanged()),
            new: entry.new.take().map(Passage::unchanged),
            ..entry.clone()
        };
        gone.push(from);
    }
    // From the end, so that the places before stay.
    gone.sort_unstable();
    for (section, entry) in gone.into_iter().rev() {
        if let Some(section) = sections.get_mut(section) {
            section.entries.remove(entry);
        }
    }
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
