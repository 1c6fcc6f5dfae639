//! Which part of one pattern answers to which part of the other.
//!
//! Only here (and nowhere outside `compare`) is the diff library named. It
//! looks at the two sides in an order that depends on what they hold and not
//! on which is the old one, so that swapping them swaps the result.

use super::EntryKind;
use super::items::{Item, Part};
use similar::{Algorithm, DiffOp, capture_diff_slices};
use std::collections::{BTreeMap, BTreeSet};
use std::hash::Hash;

/// A place in the old sequence and the place in the new that answers to it.
pub(super) type Pair = (usize, usize);

/// The elements that a shortest way from one sequence to the other leaves alone, in order.
pub(super) fn matched<T: Ord + Hash>(old: &[T], new: &[T]) -> Vec<Pair> {
    if old > new {
        return turned(matched(new, old));
    }
    let mut pairs = Vec::new();
    for op in capture_diff_slices(Algorithm::Myers, old, new) {
        if let DiffOp::Equal { old_index, new_index, len } = op {
            pairs.extend((0..len).map(|i| (old_index + i, new_index + i)));
        }
    }
    pairs
}

/// What two sequences begin with and end with alike, in order: for what is too long for [`matched`].
pub(super) fn matched_ends<T: PartialEq>(old: &[T], new: &[T]) -> Vec<Pair> {
    let alike = |(a, b): &(&T, &T)| a == b;
    let head = old.iter().zip(new).take_while(alike).count();
    let most = old.len().min(new.len()) - head;
    let tail = old.iter().rev().zip(new.iter().rev()).take_while(alike).take(most).count();
    let tail = (0..tail).rev().map(|back| (old.len() - 1 - back, new.len() - 1 - back));
    (0..head).map(|i| (i, i)).chain(tail).collect()
}

/// The same pairs seen from the other side, in order.
fn turned(pairs: Vec<Pair>) -> Vec<Pair> {
    let mut turned: Vec<Pair> = pairs.into_iter().map(|(a, b)| (b, a)).collect();
    turned.sort_unstable();
    turned
}

/// A row of a comparison: what stands side by side.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Row {
    pub(super) old: Option<usize>,
    pub(super) new: Option<usize>,
    /// Paired across the order of the others.
    pub(super) moved: bool,
}

/// Pairs, and pairs that cross them.
#[derive(Default)]
struct Found {
    in_order: Vec<Pair>,
    moved: Vec<Pair>,
}

impl Found {
    fn turned(self) -> Self {
        Self { in_order: turned(self.in_order), moved: turned(self.moved) }
    }
}

/// The rows of a comparison in reading order: those of the new side, and those that only the old
/// side has where they stood.
fn rows(found: &Found, old: usize, new: usize) -> Vec<Row> {
    let moved: BTreeMap<usize, usize> = found.moved.iter().map(|&(i, j)| (j, i)).collect();
    let gone: BTreeSet<usize> = found.moved.iter().map(|&(i, _)| i).collect();
    let mut rows = Vec::new();
    let (mut at_old, mut at_new) = (0, 0);
    let mut up_to = |i: usize, j: usize, rows: &mut Vec<Row>| {
        for removed in (at_old..i).filter(|i| !gone.contains(i)) {
            rows.push(Row { old: Some(removed), new: None, moved: false });
        }
        for added in at_new..j {
            let from = moved.get(&added).copied();
            rows.push(Row { old: from, new: Some(added), moved: from.is_some() });
        }
        (at_old, at_new) = (i + 1, j + 1);
    };
    for &(i, j) in &found.in_order {
        up_to(i, j, &mut rows);
        rows.push(Row { old: Some(i), new: Some(j), moved: false });
    }
    up_to(old, new, &mut rows);
    rows
}

// --- the entries of a section ---------------------------------------------------------

/// What of an item decides which other item it answers to.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Face<'a> {
    kind: EntryKind,
    /// Its words, numbers left out.
    key: &'a str,
    /// All of it.
    plain: &'a str,
    /// Its words in the order of the alphabet.
    bag: &'a [String],
}

/// More words compared than any section needs; keeps hostile input from taking forever.
const MOST_COMPARED: usize = 5_000_000;

/// Puts the items of two sections side by side.
pub(super) fn items(old: &[Item], new: &[Item]) -> Vec<Row> {
    let (old, new) = (faces(old), faces(new));
    let found = if old <= new { find(&old, &new) } else { find(&new, &old).turned() };
    rows(&found, old.len(), new.len())
}

fn faces(items: &[Item]) -> Vec<Face<'_>> {
    items
        .iter()
        .map(|item| Face { kind: item.kind, key: &item.key, plain: &item.plain, bag: &item.bag })
        .collect()
}

fn find(a: &[Face<'_>], b: &[Face<'_>]) -> Found {
    let keys =
        |faces: &[Face<'_>]| faces.iter().map(|f| (f.kind, f.key.to_owned())).collect::<Vec<_>>();
    let anchors = matched(&keys(a), &keys(b));
    let in_order = settled(a, b, &anchors);
    let moved = crossed(a, b, &in_order);
    Found { in_order, moved }
}

/// Looks again at every gap between the anchors, with those anchors beside it that might as well be
/// paired with something in it.
fn settled(a: &[Face<'_>], b: &[Face<'_>], anchors: &[Pair]) -> Vec<Pair> {
    let mut pairs = Vec::new();
    let mut done = 0;
    for Region { from, to, .. } in regions(a, b, anchors) {
        pairs.extend(anchors.get(done..from).unwrap_or_default());
        let inside = anchors.get(from..to).unwrap_or_default();
        let ((i, j), _) = gap(anchors, from, a, b);
        let (_, (end_i, end_j)) = gap(anchors, to, a, b);
        let best = match (a.get(i..end_i), b.get(j..end_j)) {
            (Some(a), Some(b)) => likeliest(a, b),
            _ => None,
        };
        match best {
            Some(best) => pairs.extend(best.into_iter().map(|(p, q)| (i + p, j + q))),
            None => pairs.extend(inside),
        }
        done = to;
    }
    pairs.extend(anchors.get(done..).unwrap_or_default());
    pairs
}

/// The gaps `from` to `to` (both included), and the anchors between them.
struct Region<'a> {
    from: usize,
    to: usize,
    /// What stands in the gaps.
    keys: BTreeSet<(EntryKind, &'a str)>,
}

/// Where the gap before an anchor begins and ends on both sides; the last is after all anchors.
fn gap(anchors: &[Pair], index: usize, a: &[Face<'_>], b: &[Face<'_>]) -> (Pair, Pair) {
    let before = index.checked_sub(1).and_then(|before| anchors.get(before));
    let start = before.map_or((0, 0), |&(i, j)| (i + 1, j + 1));
    (start, anchors.get(index).copied().unwrap_or((a.len(), b.len())))
}

fn regions<'a>(a: &[Face<'a>], b: &[Face<'a>], anchors: &[Pair]) -> Vec<Region<'a>> {
    let keys = |index: usize| {
        let ((i, j), (end_i, end_j)) = gap(anchors, index, a, b);
        let of = |faces: &[Face<'a>]| faces.iter().map(|f| (f.kind, f.key)).collect::<Vec<_>>();
        [of(a.get(i..end_i).unwrap_or_default()), of(b.get(j..end_j).unwrap_or_default())].concat()
    };
    let mut regions: Vec<Region<'a>> = Vec::new();
    for index in 0..=anchors.len() {
        let inside = keys(index);
        if inside.is_empty() || regions.last().is_some_and(|last| index <= last.to) {
            continue;
        }
        let mut region = Region { from: index, to: index, keys: inside.into_iter().collect() };
        let claims = |region: &Region<'a>, anchor: Option<usize>| {
            anchor
                .and_then(|anchor| a.get(anchors.get(anchor)?.0))
                .is_some_and(|face| region.keys.contains(&(face.kind, face.key)))
        };
        loop {
            if claims(&region, region.from.checked_sub(1)) {
                region.from -= 1;
                region.keys.extend(keys(region.from));
                if let Some(last) = regions.pop_if(|last| last.to >= region.from) {
                    region.from = last.from;
                    region.keys.extend(last.keys);
                }
            } else if claims(&region, Some(region.to)) {
                region.to += 1;
                region.keys.extend(keys(region.to));
            } else {
                break;
            }
        }
        regions.push(region);
    }
    regions
}

/// The pairs of greatest likeness in all; `None` where that would take too long.
fn likeliest(a: &[Face<'_>], b: &[Face<'_>]) -> Option<Vec<Pair>> {
    let words = |faces: &[Face<'_>]| faces.iter().map(|f| f.bag.len() + 1).sum::<usize>();
    let compared = a.len().saturating_mul(words(b)) + b.len().saturating_mul(words(a));
    if compared > MOST_COMPARED {
        return None;
    }
    let wide = b.len() + 1;
    let cells = (a.len() + 1) * wide;
    // The likeness of each pair, and the most there is from it on.
    let (mut like, mut most) = (vec![0_u32; cells], vec![0_u32; cells]);
    let at = |table: &[u32], i: usize, j: usize| table.get(i * wide + j).copied().unwrap_or(0);
    for (i, x) in a.iter().enumerate().rev() {
        for (j, y) in b.iter().enumerate().rev() {
            let both = likeness(x, y);
            let with = if both > 0 { both + at(&most, i + 1, j + 1) } else { 0 };
            let best = with.max(at(&most, i + 1, j)).max(at(&most, i, j + 1));
            let here = i * wide + j;
            if let (Some(like), Some(most)) = (like.get_mut(here), most.get_mut(here)) {
                (*like, *most) = (both, best);
            }
        }
    }
    let mut pairs = Vec::new();
    let (mut i, mut j) = (0, 0);
    while i < a.len() && j < b.len() {
        let (both, best) = (at(&like, i, j), at(&most, i, j));
        if both > 0 && both + at(&most, i + 1, j + 1) == best {
            pairs.push((i, j));
            (i, j) = (i + 1, j + 1);
        } else if at(&most, i + 1, j) == best {
            i += 1;
        } else {
            j += 1;
        }
    }
    Some(pairs)
}

/// How alike two items are: 0 where they do not answer to each other, 100 where they are the same.
fn likeness(a: &Face<'_>, b: &Face<'_>) -> u32 {
    if a.kind != b.kind {
        0
    } else if a.key == b.key {
        if a.plain == b.plain { 100 } else { 90 }
    } else {
        let percent = shared_percent(a.bag, b.bag);
        if percent < HALF { 0 } else { percent * 4 / 5 }
    }
}

/// From so many percent of words in common on, one text is taken for a new wording of the other.
const HALF: u32 = 50;

/// How many of all words two sorted lists have in common, in percent.
fn shared_percent<T: Ord>(a: &[T], b: &[T]) -> u32 {
    let all = a.len() + b.len();
    if all == 0 {
        return 0;
    }
    u32::try_from(2 * shared(a, b) * 100 / all).unwrap_or(0)
}

/// How many elements two sorted lists have in common.
fn shared<T: Ord>(a: &[T], b: &[T]) -> usize {
    let (mut a, mut b) = (a.iter().peekable(), b.iter().peekable());
    let mut shared = 0;
    while let (Some(x), Some(y)) = (a.peek(), b.peek()) {
        match x.cmp(y) {
            std::cmp::Ordering::Less => drop(a.next()),
            std::cmp::Ordering::Greater => drop(b.next()),
            std::cmp::Ordering::Equal => {
                shared += 1;
                a.next();
                b.next();
            }
        }
    }
    shared
}

/// Pairs of what is left over on both sides with the same text, or else the same words: those that
/// moved.
fn crossed(a: &[Face<'_>], b: &[Face<'_>], in_order: &[Pair]) -> Vec<Pair> {
    let mut pairs: Vec<Pair> = Vec::new();
    let by_text: fn(&Face<'_>) -> String = |face| face.plain.to_owned();
    let by_words: fn(&Face<'_>) -> String = |face| face.key.to_owned();
    for name in [by_text, by_words] {
        let taken = || in_order.iter().chain(&pairs);
        let taken_a: BTreeSet<usize> = taken().map(|&(i, _)| i).collect();
        let taken_b: BTreeSet<usize> = taken().map(|&(_, j)| j).collect();
        let groups = |faces: &[Face<'_>], taken: &BTreeSet<usize>| {
            let mut groups: BTreeMap<(EntryKind, String), Vec<usize>> = BTreeMap::new();
            for (i, face) in faces.iter().enumerate().filter(|(i, _)| !taken.contains(i)) {
                groups.entry((face.kind, name(face))).or_default().push(i);
            }
            groups
        };
        pairs.extend(in_turn(groups(a, &taken_a), &groups(b, &taken_b)));
    }
    pairs.extend(moved_and_reworded(a, b, in_order, &pairs));
    pairs
}

/// From so much likeness on, what moved is taken for a new wording of what stood elsewhere: more
/// than is asked of two texts in one place.
const MOST_OF_IT: u32 = 60;

/// Of what is left over on both sides, the likest first.
fn moved_and_reworded(
    a: &[Face<'_>],
    b: &[Face<'_>],
    in_order: &[Pair],
    crossed: &[Pair],
) -> Vec<Pair> {
    let taken_a: BTreeSet<usize> = in_order.iter().chain(crossed).map(|&(i, _)| i).collect();
    let taken_b: BTreeSet<usize> = in_order.iter().chain(crossed).map(|&(_, j)| j).collect();
    let free = |faces: &[Face<'_>], taken: &BTreeSet<usize>| -> Vec<usize> {
        (0..faces.len()).filter(|i| !taken.contains(i)).collect()
    };
    let (free_a, free_b) = (free(a, &taken_a), free(b, &taken_b));
    if free_a.len().saturating_mul(free_b.len()) > MOST_SECTIONS {
        return Vec::new();
    }
    let mut alike = Vec::new();
    for &i in &free_a {
        for &j in &free_b {
            if let (Some(x), Some(y)) = (a.get(i), b.get(j)) {
                alike.push((likeness(x, y), i, j));
            }
        }
    }
    alike.retain(|&(like, ..)| like >= MOST_OF_IT);
    likest_first(alike)
}

/// Pairs by how alike they are; of two that want the same, the likest has it.
fn likest_first(mut alike: Vec<(u32, usize, usize)>) -> Vec<Pair> {
    alike.sort_unstable_by_key(|&(like, i, j)| (std::cmp::Reverse(like), i, j));
    let mut pairs: Vec<Pair> = Vec::new();
    for (_, i, j) in alike {
        if !pairs.iter().any(|&(p, q)| p == i || q == j) {
            pairs.push((i, j));
        }
    }
    pairs
}

/// The first of a group with the first of the same group on the other side, and so on.
fn in_turn<K: Ord>(a: BTreeMap<K, Vec<usize>>, b: &BTreeMap<K, Vec<usize>>) -> Vec<Pair> {
    a.into_iter()
        .filter_map(|(name, places)| Some((places, b.get(&name)?)))
        .flat_map(|(places, others)| places.into_iter().zip(others.iter().copied()))
        .collect()
}

// --- sections ----------------------------------------------------------------------------

/// What stands side by side of two lists of sections.
#[derive(Clone, Copy, Debug)]
pub(super) struct SectionRow {
    pub(super) row: Row,
    /// Paired by what stands in them, not by name.
    pub(super) renamed: bool,
}

/// Pairs sections by kind and name, then those left over by what stands in them.
pub(super) fn sections(old: &[Part], new: &[Part]) -> Vec<SectionRow> {
    let names = |parts: &[Part]| parts.iter().map(Part::full_name).collect::<Vec<_>>();
    let (names_old, names_new) = (names(old), names(new));
    let named = same_name(&names_old, &names_new);
    let renamed = if names_old <= names_new {
        by_content(old, new, &named)
    } else {
        turned(by_content(new, old, &turned(named.clone())))
    };
    let pairs = named.into_iter().chain(renamed.iter().copied()).collect();
    ordered_rows(pairs, &names_old, &names_new)
        .into_iter()
        .map(|row| SectionRow {
            renamed: row.old.zip(row.new).is_some_and(|pair| renamed.contains(&pair)),
            row,
        })
        .collect()
}

/// Puts two lists side by side by the names of what is in them: the first of a name beside the
/// first of that name, the second beside the second.
pub(super) fn by_name<K: Ord>(old: &[K], new: &[K]) -> Vec<Row> {
    ordered_rows(same_name(old, new), old, new)
}

fn same_name<K: Ord>(old: &[K], new: &[K]) -> Vec<Pair> {
    in_turn(groups(old.iter()), &groups(new.iter()))
}

fn groups<K: Ord>(names: impl Iterator<Item = K>) -> BTreeMap<K, Vec<usize>> {
    let mut groups: BTreeMap<K, Vec<usize>> = BTreeMap::new();
    for (i, name) in names.enumerate() {
        groups.entry(name).or_default().push(i);
    }
    groups
}

/// The rows of pairs in any order, of which as few as can be count as moved.
fn ordered_rows<K: Ord>(pairs: Vec<Pair>, old: &[K], new: &[K]) -> Vec<Row> {
    let found = if old <= new {
        in_and_across_order(pairs)
    } else {
        in_and_across_order(turned(pairs)).turned()
    };
    rows(&found, old.len(), new.len())
}

/// The likest first, as long as two are half alike.
fn by_content(a: &[Part], b: &[Part], taken: &[Pair]) -> Vec<Pair> {
    let free = |parts: &[Part], taken: BTreeSet<usize>| -> Vec<usize> {
        (0..parts.len()).filter(|i| !taken.contains(i)).collect()
    };
    let free_a = free(a, taken.iter().map(|&(i, _)| i).collect());
    let free_b = free(b, taken.iter().map(|&(_, j)| j).collect());
    if free_a.len().saturating_mul(free_b.len()) > MOST_SECTIONS {
        return Vec::new();
    }
    let mut alike = Vec::new();
    for &i in &free_a {
        for &j in &free_b {
            if let (Some(a), Some(b)) = (a.get(i), b.get(j))
                && a.kind == b.kind
            {
                alike.push((shared_percent(&bag(a), &bag(b)), i, j));
            }
        }
    }
    alike.retain(|&(percent, ..)| percent >= HALF);
    likest_first(alike)
}

/// More comparisons of whole sections than any pattern needs.
const MOST_SECTIONS: usize = 400;

/// The instructions of a section, numbers left out, and the words of the rest, sorted.
fn bag(part: &Part) -> Vec<&str> {
    let mut bag: Vec<&str> = Vec::new();
    for item in &part.items {
        match item.kind {
            EntryKind::Instruction => bag.push(&item.key),
            _ => bag.extend(item.bag.iter().map(String::as_str)),
        }
    }
    bag.sort_unstable();
    bag
}

/// The most of the pairs that keep their order on both sides, and the rest.
fn in_and_across_order(mut pairs: Vec<Pair>) -> Found {
    pairs.sort_unstable();
    let ranks: Vec<usize> = (0..pairs.len()).collect();
    let mut by_second = ranks.clone();
    by_second.sort_by_key(|&rank| pairs.get(rank).map(|pair| pair.1));
    let kept: BTreeSet<usize> =
        matched(&ranks, &by_second).into_iter().map(|(rank, _)| rank).collect();
    let pick = |in_order: bool| {
        let ranked = pairs.iter().enumerate();
        ranked.filter(|(rank, _)| kept.contains(rank) == in_order).map(|(_, &pair)| pair).collect()
    };
    Found { in_order: pick(true), moved: pick(false) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn swapping_two_sequences_turns_their_pairs(
            a in prop::collection::vec(0..4_u8, 0..12),
            b in prop::collection::vec(0..4_u8, 0..12),
        ) {
            let there = matched(&a, &b);
            prop_assert_eq!(turned(matched(&b, &a)), there.clone());
            prop_assert!(there.iter().all(|&(i, j)| a[i] == b[j]));
            prop_assert!(there.windows(2).all(|w| w[0].0 < w[1].0 && w[0].1 < w[1].1));
        }

        #[test]
        fn every_place_of_both_sides_has_one_row(
            mut order in Just((0..9_usize).collect::<Vec<_>>()).prop_shuffle(),
            kept in 0..9_usize,
        ) {
            order.truncate(kept);
            let pairs: Vec<Pair> = order.into_iter().enumerate().collect();
            let rows = rows(&in_and_across_order(pairs), 9, 9);
            let mut old: Vec<_> = rows.iter().filter_map(|row| row.old).collect();
            let new: Vec<_> = rows.iter().filter_map(|row| row.new).collect();
            prop_assert_eq!(new, (0..9).collect::<Vec<_>>());
            old.sort_unstable();
            prop_assert_eq!(old, (0..9).collect::<Vec<_>>());
        }
    }

    #[test]
    fn the_ends_that_two_sequences_share_do_not_overlap() {
        assert_eq!(matched_ends(&[1, 2, 1], &[1, 2, 3, 2, 1]), [(0, 0), (1, 1), (2, 4)]);
        assert_eq!(matched_ends(&[1, 1], &[1, 1, 1]), [(0, 0), (1, 1)]);
        assert_eq!(matched_ends(&[1, 2], &[3, 2]), [(1, 1)]);
    }

    #[test]
    fn a_shared_word_counts_as_often_as_both_have_it() {
        assert_eq!(shared_percent(&["a", "b", "b"], &["b", "b", "b"]), 66);
        assert_eq!(shared_percent::<u8>(&[], &[]), 0);
    }
}
