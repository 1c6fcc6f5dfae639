//! `wale space`: increases or decreases spread evenly over a row.

use serde::Serialize;
use std::fmt;

use super::words::{self, sts};
use super::{Answer, Line, line, number};
use crate::measure::exact;
use crate::plan::spacing::{Change, EvenChange, Setting, Spacing, SpacingError};

/// A row that changes the count.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Space {
    /// Stitches before.
    pub from: u32,
    /// Stitches after.
    pub to: u32,
    /// How many changes.
    pub changes: u32,
    /// The change made each time: `m1`, `kfb`, `k2tog`.
    pub change: &'static str,
    /// The row in pattern words.
    pub row: String,
    /// Stitches used up once each change is made.
    pub after: Vec<u32>,
    /// How often the change comes, the edges of a flat row left out.
    pub every: Vec<SpaceEvery>,
    /// Plain stitches at the two edges of a flat row.
    pub edges: Option<[u32; 2]>,
    /// Whether no placing in whole stitches is more even.
    pub even: bool,
    /// The most any change lies from its exact place, in stitches.
    pub drift: String,
}

/// How often a change comes.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
pub struct SpaceEvery {
    /// Stitches from one change to the next, those it takes included.
    pub stitches: u32,
    /// How many times.
    pub times: u32,
}

/// Why the change cannot be made in a row.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct SpaceError {
    /// What was asked.
    pub asked: EvenChange,
    /// Why not.
    pub why: SpacingError,
}

impl fmt::Display for SpaceError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (from, to) = (self.asked.from.0, self.asked.to.0);
        let way = way(self.asked.change());
        match self.why {
            SpacingError::TooWide => write!(f, "{} is beyond any needle", sts(from.max(to))),
            SpacingError::TooMany { wanted, most, rows } => {
                write!(f, "{way} {wanted} in one row of {}: ", sts(from))?;
                match most {
                    0 => f.write_str("none fit")?,
                    most => write!(f, "at most {most} fit")?,
                }
                match rows {
                    Some(rows) => write!(f, "; {to} takes {rows} such rows"),
                    None => Ok(()),
                }
            }
        }
    }
}

impl std::error::Error for SpaceError {}

fn way(change: Change) -> &'static str {
    match change {
        Change::M1 | Change::InStitch => "increase",
        Change::Together => "decrease",
    }
}

/// The row for a change of count.
///
/// # Errors
/// [`SpaceError`] where one row has no room for so many changes.
pub fn space(asked: EvenChange) -> Result<Answer<Space>, SpaceError> {
    let spacing = asked.spaced().map_err(|why| SpaceError { asked, why })?;
    let (row, count) = (words::row(&spacing), asked.count());
    let answer = if count == 0 {
        format!("nothing to change: {}", sts(asked.from.0))
    } else {
        format!("{} {count} evenly over {}: {row}", way(asked.change()), sts(asked.from.0))
    };
    let every = spacing.every();
    let every = every.iter().map(|e| SpaceEvery { stitches: e.stitches.0, times: e.times });
    let mut notes = Vec::new();
    if !spacing.is_even() {
        notes.push(format!(
            "A shorter row was preferred to a perfectly even one; no change lies more than {} \
             from its exact place.",
            sts_of(&number(spacing.drift()))
        ));
    }
    Ok(Answer {
        answer,
        result: Space {
            from: asked.from.0,
            to: asked.to.0,
            changes: count,
            change: words::change(asked.change()),
            row,
            after: spacing.places().iter().map(|place| place.0).collect(),
            every: every.collect(),
            edges: spacing.edges().filter(|_| count > 0).map(|(a, b)| [a.0, b.0]),
            even: spacing.is_even(),
            drift: number(spacing.drift()),
        },
        working: working(&asked, &spacing),
        notes,
    })
}

fn sts_of(number: &str) -> String {
    format!("{number} {}", if number == "1" { "st" } else { "sts" })
}

fn working(asked: &EvenChange, spacing: &Spacing) -> Vec<Line> {
    let (from, to, count) = (asked.from.0, asked.to.0, asked.count());
    let (more, less) = (from.max(to), from.min(to));
    let mut lines = vec![line("changes", format!("{more} - {less}"), count.to_string())];
    if count == 0 {
        return lines;
    }
    let change = asked.change();
    let exact_gap = exact(i64::from(from), i64::from(count));
    lines.push(line("one every", format!("{from} / {count}"), sts_of(&number(exact_gap))));
    for every in spacing.every() {
        let name = words::change(change);
        let label = "in whole sts";
        let after = format!("every {}", sts(every.stitches.0));
        lines.push(line(label, format!("{name} {after}"), words::times(every.times)));
    }
    if let (Setting::Flat, Some((first, last))) = (asked.setting, spacing.edges()) {
        let half = exact_gap / exact(2, 1);
        lines.push(line(
            "half at each edge",
            number(half),
            format!("{first}, {last}", first = first.0, last = last.0),
        ));
    }
    let (takes, makes) = spacing.worked();
    lines.push(line("the row takes", "", sts(takes.0)));
    lines.push(line("and makes", "", sts(makes.0)));
    lines
}
