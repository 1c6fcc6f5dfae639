//! Shapes that a new row gauge breaks: more shaping than there are rows for it.
//!
//! Rows that are taller, or stitches that are narrower, leave a shaping fewer rows than
//! it needs. Two shapes are nearest then: all of the stitches over a greater length, or
//! the same length with the stitches that it has rows for.

use super::goal::Goal;
use crate::measure::round::{Multiple, Toward, to_multiple};
use crate::measure::{Exact, Length, exact};
use crate::model::GaugeId;
use crate::source::Span;

/// A shaping with fewer rows than it needs.
#[derive(Clone, PartialEq, Debug)]
pub struct Crowded {
    /// Its schedule.
    pub place: Span,
    /// The piece, by its place.
    pub(crate) piece: usize,
    /// The gauge it is worked in.
    pub(crate) gauge: GaugeId,
    /// Shaping rows that are to be worked.
    pub shapings: i64,
    /// Stitches that each changes.
    pub each: i64,
    /// Rows from one to the next, at the least.
    pub every: i64,
    /// The rows that they need.
    pub rows: i64,
    /// The rows that the length of the shape comes to.
    pub room: Exact,
}

/// The two shapes nearest to one that is crowded.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Nearest {
    /// With every stitch it is so much longer.
    pub longer: Length,
    /// In its length it is shaped so many times.
    pub times: i64,
    /// So many stitches are not shaped then.
    pub stitches: i64,
    /// Their width.
    pub width: Length,
}

impl Crowded {
    /// The two nearest shapes; `None` without a row gauge.
    #[must_use]
    pub fn nearest(&self, goal: &Goal<'_>) -> Option<Nearest> {
        let gauge = goal.gauges.get(self.gauge.0)?.gauge?;
        let longer = gauge.rows?.length(exact(self.rows, 1) - self.room);
        let room = to_multiple(self.room, Multiple::ANY, Toward::Down).max(0);
        let times = (room / self.every.max(1)).min(self.shapings);
        let stitches = (self.shapings - times).saturating_mul(self.each);
        Some(Nearest { longer, times, stitches, width: gauge.stitches.length(exact(stitches, 1)) })
    }
}
