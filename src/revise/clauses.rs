//! The rates of several sizes in the same clauses.
//!
//! One schedule is written for all sizes: "every RS row 10 (8, 9) times, then every
//! 4th row - (2, 3) times". Sizes that are shaped at other intervals share the
//! clauses where that takes few.

use crate::plan::ChosenRate;

/// One clause: the rate of each size in it, `None` where the size leaves it out.
pub(super) type Clause = Vec<Option<ChosenRate>>;

/// By how many clauses more each may have one interval for all sizes.
const MORE_CLAUSES: usize = 1;

/// The clauses that say the rates of every size in their order.
///
/// Each with one interval, where that takes no more than a clause over; else side by
/// side, as it must be where the clauses are to say no `times`.
pub(super) fn clauses(sizes: &[&[ChosenRate]], counted: bool) -> Vec<Clause> {
    let most = sizes.iter().map(|rates| rates.len()).max().unwrap_or(0).max(1);
    let intervals = shared_intervals(sizes);
    let alike = intervals.len() > most && are_alike(sizes, most);
    if !counted || alike || intervals.is_empty() || intervals.len() > most + MORE_CLAUSES {
        let side_by_side = |index: usize| sizes.iter().map(move |rates| rates.get(index).copied());
        return (0..most).map(|index| side_by_side(index).collect()).collect();
    }
    let mut left: Vec<&[ChosenRate]> = sizes.to_vec();
    let clause = |every: &u32| {
        let next = |rates: &mut &[ChosenRate]| {
            let (first, rest) = rates.split_first().filter(|(first, _)| first.every == *every)?;
            *rates = rest;
            Some(*first)
        };
        left.iter_mut().map(next).collect()
    };
    intervals.iter().map(clause).collect()
}

/// Whether all sizes have as many rates, and those that differ are no more than numbers: every
/// row and every second have words of their own, which no list of sizes has.
fn are_alike(sizes: &[&[ChosenRate]], most: usize) -> bool {
    let same = |index: usize| {
        let mut every = sizes.iter().filter_map(|rates| rates.get(index)).map(|rate| rate.every);
        let first = every.next();
        every.all(|every| Some(every) == first)
    };
    let slow =
        |index: usize| sizes.iter().all(|rates| rates.get(index).is_some_and(|r| r.every > 2));
    sizes.iter().all(|rates| rates.len() == most) && (0..most).all(|at| same(at) || slow(at))
}

/// Intervals that hold those of every size in their order.
fn shared_intervals(sizes: &[&[ChosenRate]]) -> Vec<u32> {
    let mut all: Vec<u32> = Vec::new();
    // The longest first: mostly the others are parts of it.
    let mut sizes = sizes.to_vec();
    sizes.sort_by_key(|rates| std::cmp::Reverse(rates.len()));
    for rates in sizes {
        let own: Vec<u32> = rates.iter().map(|rate| rate.every).collect();
        all = supersequence(&all, &own);
    }
    all
}

/// The shortest sequence that holds both in their order; where two are as short, the one
/// that goes on with the shorter interval.
fn supersequence(one: &[u32], other: &[u32]) -> Vec<u32> {
    // How long the rest is from each place of both.
    let mut rest = vec![vec![0; other.len() + 1]; one.len() + 1];
    for i in (0..=one.len()).rev() {
        for j in (0..=other.len()).rev() {
            rest[i][j] = match (one.get(i), other.get(j)) {
                (Some(a), Some(b)) if a == b => rest[i + 1][j + 1] + 1,
                (Some(_), Some(_)) => rest[i + 1][j].min(rest[i][j + 1]) + 1,
                _ => (one.len() - i) + (other.len() - j),
            };
        }
    }
    let (mut i, mut j) = (0, 0);
    let mut all = Vec::new();
    while let (Some(&a), Some(&b)) = (one.get(i), other.get(j)) {
        let (down, along) = (rest[i + 1][j], rest[i][j + 1]);
        if a == b {
            all.push(a);
            (i, j) = (i + 1, j + 1);
        } else if (down, a) < (along, b) {
            all.push(a);
            i += 1;
        } else {
            all.push(b);
            j += 1;
        }
    }
    all.extend(one.iter().skip(i).chain(other.iter().skip(j)));
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn rates(all: &[(u32, u32)]) -> Vec<ChosenRate> {
        all.iter().map(|&(every, times)| ChosenRate { every, times }).collect()
    }

    fn said(sizes: &[&[(u32, u32)]]) -> Vec<Vec<Option<(u32, u32)>>> {
        let sizes: Vec<Vec<ChosenRate>> = sizes.iter().map(|s| rates(s)).collect();
        let sizes: Vec<&[ChosenRate]> = sizes.iter().map(Vec::as_slice).collect();
        let plain = |clause: Clause| {
            clause.into_iter().map(|rate| rate.map(|r| (r.every, r.times))).collect()
        };
        clauses(&sizes, true).into_iter().map(plain).collect()
    }

    #[test]
    fn the_same_interval_is_one_clause() {
        assert_eq!(
            said(&[&[(2, 5)], &[(1, 4), (2, 3)]]),
            [vec![None, Some((1, 4))], vec![Some((2, 5)), Some((2, 3))]]
        );
        // A cap: fast, slow, fast.
        assert_eq!(
            said(&[&[(2, 6), (4, 1), (2, 8)], &[(2, 6), (6, 1), (4, 1), (2, 8)]]),
            [
                vec![Some((2, 6)), Some((2, 6))],
                vec![None, Some((6, 1))],
                vec![Some((4, 1)), Some((4, 1))],
                vec![Some((2, 8)), Some((2, 8))],
            ]
        );
    }

    #[test]
    fn as_many_slow_rates_stand_side_by_side() {
        assert_eq!(said(&[&[(14, 4)], &[(13, 6)]]), [vec![Some((14, 4)), Some((13, 6))]]);
        assert_eq!(said(&[&[(2, 4)], &[(1, 6)]]).len(), 2);
        assert_eq!(said(&[&[(2, 4), (6, 1)], &[(2, 3), (4, 2)]]).len(), 2);
    }

    #[test]
    fn many_intervals_stand_side_by_side() {
        let sleeve: [&[(u32, u32)]; 3] =
            [&[(10, 6), (8, 5)], &[(6, 4), (4, 9)], &[(3, 1), (2, 20)]];
        assert_eq!(said(&sleeve).len(), 2);
        assert_eq!(said(&[&[], &[]]), [vec![None, None]]);
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]
        #[test]
        fn every_size_keeps_its_rates(
            sizes in proptest::collection::vec(
                proptest::collection::vec((1_u32..5, 1_u32..9), 0..4), 1..6),
        ) {
            let sizes: Vec<Vec<ChosenRate>> = sizes.iter().map(|s| rates(s)).collect();
            let all: Vec<&[ChosenRate]> = sizes.iter().map(Vec::as_slice).collect();
            let clauses = clauses(&all, true);
            for (index, own) in sizes.iter().enumerate() {
                let told: Vec<ChosenRate> = clauses.iter().filter_map(|c| c[index]).collect();
                prop_assert_eq!(&told, own);
            }
        }
    }
}
