//! The needles as a knitter holds them: stitches, markers and gaps in order.

use crate::measure::Linear;

/// What follows a stretch of stitches.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Edge {
    /// Nothing: the end of the needle.
    End,
    /// A marker, with its name where it has one.
    Marker(Option<String>),
    /// A gap left by a bind-off: what lies beyond waits for its own yarn.
    Gap,
    /// Where the work was turned: the small gap that a row closes when it is worked across.
    Turned,
}

/// Stitches up to the next marker, gap or end.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Stretch {
    pub(crate) stitches: Linear,
    pub(crate) then: Edge,
}

/// The stitches of a piece between two rows.
///
/// `ahead` is the left needle, in working order; only its last stretch ends in
/// [`Edge::End`]. `behind` is what a short row left on the right needle,
/// nearest last.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(crate) struct Needle {
    pub(crate) ahead: Vec<Stretch>,
    pub(crate) behind: Vec<Stretch>,
}

impl Needle {
    /// A needle with this many stitches and no marker.
    pub(crate) fn of(stitches: Linear) -> Self {
        Self { ahead: vec![Stretch { stitches, then: Edge::End }], behind: Vec::new() }
    }

    /// Whether there is nothing on it at all.
    pub(crate) fn is_empty(&self) -> bool {
        self.ahead.iter().chain(&self.behind).all(|s| s.stitches.known() == Some(0))
    }

    /// Every stitch, gaps or not.
    pub(crate) fn total(&self) -> Linear {
        sum(self.ahead.iter().chain(&self.behind))
    }

    /// The stitches of the group in work (up to the first gap).
    pub(crate) fn in_work(&self) -> Linear {
        sum(self.first_group().iter().chain(&self.behind))
    }

    /// The stretches of the group in work.
    pub(crate) fn first_group(&self) -> &[Stretch] {
        let end = self.ahead.iter().position(|s| s.then == Edge::Gap);
        self.ahead.get(..end.map_or(self.ahead.len(), |e| e + 1)).unwrap_or(&[])
    }

    /// Takes the group in work off; the others stay.
    pub(crate) fn split_off_group(&mut self) -> Self {
        let count = self.first_group().len();
        let rest = self.ahead.split_off(count);
        let mut group = std::mem::take(&mut self.ahead);
        if let Some(last) = group.last_mut() {
            last.then = Edge::End;
        }
        let behind = std::mem::take(&mut self.behind);
        self.ahead = rest;
        Self { ahead: group, behind }
    }

    /// Puts `more` behind what is there, with a gap between.
    pub(crate) fn append_group(&mut self, more: Self) {
        if more.is_empty() {
            return;
        }
        self.append(more, Edge::Gap);
    }

    /// Puts `more` after what is there, with `edge` between.
    pub(crate) fn append(&mut self, more: Self, edge: Edge) {
        self.ahead.retain(|s| s.stitches.known() != Some(0) || matches!(s.then, Edge::Marker(_)));
        if let Some(last) = self.ahead.last_mut() {
            last.then = edge;
        }
        self.ahead.extend(more.ahead);
        self.behind.extend(more.behind);
    }

    /// Adds stitches at the end of the group in work.
    pub(crate) fn add_at_end(&mut self, stitches: &Linear) {
        let place = self.first_group().len();
        match place.checked_sub(1).and_then(|i| self.ahead.get_mut(i)) {
            Some(last) => last.stitches = &last.stitches + stitches,
            None => *self = Self::of(stitches.clone()),
        }
    }

    /// Sets the count of the group in work; markers go.
    pub(crate) fn set_in_work(&mut self, stitches: Linear) {
        let others = {
            let _ = self.split_off_group();
            std::mem::take(&mut self.ahead)
        };
        let then = if others.is_empty() { Edge::End } else { Edge::Gap };
        self.ahead = vec![Stretch { stitches, then }];
        self.ahead.extend(others);
    }

    /// Closes the first gap, with `stitches` cast on in it. False where there is none.
    pub(crate) fn bridge(&mut self, stitches: &Linear) -> bool {
        let Some(gap) = self.ahead.iter().position(|s| s.then == Edge::Gap) else { return false };
        let Some(next) = self.ahead.get(gap + 1).cloned() else { return false };
        self.ahead.remove(gap + 1);
        if let Some(left) = self.ahead.get_mut(gap) {
            left.stitches = &(&left.stitches + stitches) + &next.stitches;
            left.then = next.then;
        }
        true
    }

    /// Opens the round at its gap, so that the two parts beside the start of
    /// the round become one group.
    pub(crate) fn open_at_gap(&mut self) {
        let Some(gap) = self.ahead.iter().position(|s| s.then == Edge::Gap) else { return };
        let mut after = self.ahead.split_off(gap + 1);
        if let Some(last) = self.ahead.last_mut() {
            last.then = Edge::End;
        }
        let before = std::mem::take(&mut self.ahead);
        match (after.last_mut(), before.first()) {
            (Some(end), Some(start)) => {
                end.stitches = &end.stitches + &start.stitches;
                end.then = start.then.clone();
                after.extend(before.into_iter().skip(1));
                self.ahead = after;
            }
            _ => self.ahead = before,
        }
    }

    /// Forgets where the work was turned.
    pub(crate) fn close_turns(&mut self) {
        while let Some(at) = self.ahead.iter().position(|s| s.then == Edge::Turned) {
            let closed = self.ahead.remove(at);
            if let Some(next) = self.ahead.get_mut(at) {
                next.stitches = &next.stitches + &closed.stitches;
            }
        }
    }

    /// How many markers are on it.
    pub(crate) fn markers(&self) -> i64 {
        let count = self.ahead.iter().filter(|s| matches!(s.then, Edge::Marker(_))).count();
        i64::try_from(count).unwrap_or(i64::MAX)
    }
}

/// All stitches of some stretches.
pub(crate) fn sum<'a>(stretches: impl IntoIterator<Item = &'a Stretch>) -> Linear {
    stretches.into_iter().map(|stretch| &stretch.stitches).sum()
}

/// The same stretches from the other side of the work.
pub(crate) fn reversed(stretches: Vec<Stretch>) -> Vec<Stretch> {
    let mut edges: Vec<Edge> = stretches.iter().map(|s| s.then.clone()).collect();
    edges.pop();
    let mut edges = edges.into_iter().rev();
    let counts = stretches.into_iter().rev().map(|s| s.stitches);
    counts.map(|stitches| Stretch { stitches, then: edges.next().unwrap_or(Edge::End) }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stretch(n: i64, then: Edge) -> Stretch {
        Stretch { stitches: Linear::number(n), then }
    }

    #[test]
    fn the_other_side_reads_backwards() {
        let there =
            vec![stretch(3, Edge::Gap), stretch(4, Edge::Marker(None)), stretch(5, Edge::End)];
        let back =
            vec![stretch(5, Edge::Marker(None)), stretch(4, Edge::Gap), stretch(3, Edge::End)];
        assert_eq!(reversed(there), back);
    }

    #[test]
    fn a_round_opened_at_its_gap_is_one_group() {
        // 18 in rib, bind off 22, 72 to the end: the 90 around the start of the round.
        let mut needle =
            Needle { ahead: vec![stretch(18, Edge::Gap), stretch(72, Edge::End)], behind: vec![] };
        needle.open_at_gap();
        assert_eq!(needle.in_work(), Linear::number(90));
    }

    #[test]
    fn a_gap_is_bridged_by_stitches_cast_on() {
        let mut needle =
            Needle { ahead: vec![stretch(10, Edge::Gap), stretch(12, Edge::End)], behind: vec![] };
        assert!(needle.bridge(&Linear::number(28)));
        assert_eq!(needle.in_work(), Linear::number(50));
        // Not the first stretch: what lies before it stays where it is.
        let marker = || stretch(7, Edge::Marker(None));
        let ahead = vec![marker(), stretch(10, Edge::Gap), stretch(12, Edge::End)];
        let mut needle = Needle { ahead, behind: vec![] };
        assert!(needle.bridge(&Linear::number(28)));
        assert_eq!(needle.ahead, [marker(), stretch(50, Edge::End)]);
    }
}
