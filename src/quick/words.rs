//! Rows and schedules in a pattern's words.

use crate::measure::Rows;
use crate::plan::spacing::{Change, Piece, Spacing};
use crate::plan::taper::Schedule;

/// The abbreviation of a change.
#[must_use]
pub const fn change(change: Change) -> &'static str {
    match change {
        Change::M1 => "m1",
        Change::InStitch => "kfb",
        Change::Together => "k2tog",
    }
}

/// `k3, m1, [k7, m1] 15 times, k4`
#[must_use]
pub fn pieces(row: &[Piece], of: Change) -> String {
    let piece = |piece: &Piece| match piece {
        Piece::Plain(stitches) => format!("k{}", stitches.0),
        Piece::Change => change(of).to_owned(),
        Piece::Times(unit, times) => format!("[{}] {}", pieces(unit, of), self::times(*times)),
    };
    row.iter().map(piece).collect::<Vec<_>>().join(", ")
}

/// `*k4, k2tog; rep from * to end` where one repeat makes up the whole row,
/// else the pieces.
#[must_use]
pub fn row(spacing: &Spacing) -> String {
    match spacing.whole_repeat() {
        Some((unit, _)) => format!("*{}; rep from * to end", pieces(unit, spacing.change())),
        None => pieces(spacing.pieces(), spacing.change()),
    }
}

/// `every 8th row 10 times, then every 10th row once`, with the word for a row.
#[must_use]
pub fn schedule(schedule: &Schedule, row: &str) -> String {
    let rates = schedule.rates.iter();
    let rates = rates.map(|rate| format!("{} {}", every(rate.every, row), times(rate.times)));
    rates.collect::<Vec<_>>().join(", then ")
}

/// `every row`, `every 2nd row`
#[must_use]
pub fn every(rows: Rows, row: &str) -> String {
    match rows.0 {
        1 => format!("every {row}"),
        n => format!("every {} {row}", ordinal(n)),
    }
}

/// `once`, `twice`, `3 times`
#[must_use]
pub fn times(n: u32) -> String {
    match n {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        n => format!("{n} times"),
    }
}

/// `1st`, `2nd`, `3rd`, `4th`, `11th`
#[must_use]
pub fn ordinal(n: u32) -> String {
    let ending = match (n % 100, n % 10) {
        (11..=13, _) => "th",
        (_, 1) => "st",
        (_, 2) => "nd",
        (_, 3) => "rd",
        _ => "th",
    };
    format!("{n}{ending}")
}

/// `1 st`, `40 sts`
#[must_use]
pub fn sts(n: u32) -> String {
    format!("{n} {}", if n == 1 { "st" } else { "sts" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ordinals() {
        let all: Vec<String> = [1, 2, 3, 4, 11, 12, 13, 21, 22, 111].map(ordinal).to_vec();
        assert_eq!(
            all,
            ["1st", "2nd", "3rd", "4th", "11th", "12th", "13th", "21st", "22nd", "111th"]
        );
    }
}
