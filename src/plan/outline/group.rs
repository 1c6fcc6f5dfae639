//! Stitches beside one another on the needle, as widths, and their edges.

use crate::measure::{Length, exact};
use crate::syntax::tree::Side;

/// One edge of a piece.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Edge {
    Left,
    Right,
}

impl Edge {
    pub(super) const fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }

    /// Where a row of a side begins.
    pub(super) const fn begins(side: Side) -> Self {
        match side {
            Side::Right => Self::Right,
            Side::Wrong => Self::Left,
        }
    }
}

/// Stitches that lie beside one another on the needle.
#[derive(Clone, Copy, Debug)]
pub(super) struct Group {
    pub(super) left: Length,
    pub(super) right: Length,
    /// The edge towards the gap that parts it from others.
    pub(super) inner: Option<Edge>,
}

impl Group {
    pub(super) fn centered(width: Length) -> Self {
        let half = width * exact(1, 2);
        Self { left: -half, right: half, inner: None }
    }

    pub(super) fn middle(&self) -> Length {
        (self.left + self.right) * exact(1, 2)
    }

    pub(super) fn width(&self) -> Length {
        self.right - self.left
    }

    /// As in a mirror; `axis` is twice the place of its line.
    pub(super) fn mirrored(self, axis: Length) -> Self {
        let inner = self.inner.map(Edge::other);
        Self { left: axis - self.right, right: axis - self.left, inner }
    }

    pub(super) fn with_width(self, width: Length) -> Self {
        let by = (width - self.width()) * exact(1, 2);
        Self { left: self.left - by, right: self.right + by, ..self }
    }

    /// Wider (or, by less than nothing, narrower) at one edge.
    pub(super) fn wider_at(self, edge: Edge, by: Length) -> Self {
        match edge {
            Edge::Left => Self { left: self.left - by, ..self },
            Edge::Right => Self { right: self.right + by, ..self },
        }
    }
}

/// Where a shaping happens.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Edges {
    Both,
    One(Edge),
}

impl Edges {
    pub(super) fn widen(self, group: Group, by: Length) -> Group {
        match self {
            Self::Both => group.with_width(group.width() + by),
            Self::One(edge) => group.wider_at(edge, by),
        }
    }
}
