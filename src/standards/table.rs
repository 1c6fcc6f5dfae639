//! Reads the embedded tables.
//!
//! A table is lines of text: comments (`#`) that name its source and how it
//! was had, a line of column names, then one record a line, cells parted by
//! commas. There are no quotes, so no cell holds a comma. This module knows
//! how a table is cut into cells and what a number or a range looks like; it
//! knows of no particular table.

use crate::measure::{Exact, Length, Unit, parse_exact};

/// How a figure was had.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum How {
    /// Seen in the source that is named, or in a stored copy of it.
    Read,
    /// Recalled from the source that is named, not seen there: say so beside any use.
    Memory,
    /// Worked out from other figures.
    Computed,
}

impl How {
    /// The word for it: `read`, `memory`, `computed`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Memory => "memory",
            Self::Computed => "computed",
        }
    }

    fn from_word(word: &str) -> Option<Self> {
        [Self::Read, Self::Memory, Self::Computed].into_iter().find(|how| how.word() == word)
    }
}

/// A range with both its ends in it; an end that is `None` is open.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Between<T> {
    /// The lower end.
    pub low: Option<T>,
    /// The upper end.
    pub high: Option<T>,
}

impl<T: PartialOrd> Between<T> {
    /// Whether `value` lies in the range, its ends included.
    pub fn holds(&self, value: &T) -> bool {
        self.low.as_ref().is_none_or(|low| low <= value)
            && self.high.as_ref().is_none_or(|high| value <= high)
    }
}

impl<T> Between<T> {
    /// The same range of other values.
    pub fn map<U>(self, mut f: impl FnMut(T) -> U) -> Between<U> {
        Between { low: self.low.map(&mut f), high: self.high.map(f) }
    }
}

/// What is wrong with an embedded table, and in which line. The tests show
/// that no table has anything wrong with it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct BadTable {
    pub(super) line: usize,
    pub(super) what: String,
}

/// One record: its cells under their column names.
pub(super) struct Record {
    line: usize,
    cells: Vec<(&'static str, &'static str)>,
}

impl Record {
    pub(super) fn bad(&self, what: impl Into<String>) -> BadTable {
        BadTable { line: self.line, what: what.into() }
    }

    /// The cells in order, each after the name of its column.
    pub(super) fn cells(&self) -> &[(&'static str, &'static str)] {
        &self.cells
    }

    pub(super) fn text(&self, column: &str) -> Result<&'static str, BadTable> {
        self.cells
            .iter()
            .find(|(name, _)| *name == column)
            .map(|&(_, cell)| cell)
            .ok_or_else(|| self.bad(format!("no column {column:?}")))
    }

    pub(super) fn how(&self) -> Result<How, BadTable> {
        self.word("how", How::from_word)
    }

    /// A cell whose words stand for something.
    pub(super) fn word<T>(
        &self,
        column: &str,
        meaning: impl Fn(&str) -> Option<T>,
    ) -> Result<T, BadTable> {
        let cell = self.text(column)?;
        meaning(cell).ok_or_else(|| self.bad(format!("{column} {cell:?} means nothing")))
    }

    pub(super) fn number(&self, column: &str) -> Result<Exact, BadTable> {
        let cell = self.text(column)?;
        self.number_in(cell)
    }

    pub(super) fn number_in(&self, cell: &str) -> Result<Exact, BadTable> {
        parse_exact(cell).map_err(|e| self.bad(format!("{cell:?}: {e}")))
    }

    /// The number in a cell that may be empty.
    pub(super) fn optional_number(&self, column: &str) -> Result<Option<Exact>, BadTable> {
        let cell = self.text(column)?;
        (!cell.is_empty()).then(|| self.number_in(cell)).transpose()
    }

    /// The unit a cell names.
    pub(super) fn unit(&self) -> Result<Unit, BadTable> {
        self.word("unit", Unit::from_word)
    }

    pub(super) fn length(&self, column: &str, unit: Unit) -> Result<Length, BadTable> {
        self.number(column).map(|n| Length::new(n, unit))
    }

    /// `27-32`, `-6`, `17-` or `8`: the ends as they are written.
    pub(super) fn ends(&self, column: &str) -> Result<Between<&'static str>, BadTable> {
        self.text(column).map(ends_of)
    }

    /// A range of numbers. A minus sign here parts the ends, so none is negative.
    pub(super) fn numbers(&self, column: &str) -> Result<Between<Exact>, BadTable> {
        let ends = self.ends(column)?;
        let number = |end: Option<&'static str>| end.map(|cell| self.number_in(cell)).transpose();
        Ok(Between { low: number(ends.low)?, high: number(ends.high)? })
    }
}

/// The two ends of a range as written; a lone value is both.
pub(super) fn ends_of(cell: &'static str) -> Between<&'static str> {
    let end = |text: &'static str| (!text.trim().is_empty()).then_some(text.trim());
    match cell.split_once('-') {
        Some((low, high)) => Between { low: end(low), high: end(high) },
        None => Between { low: end(cell), high: end(cell) },
    }
}

/// The comment lines a table opens with, without their `#`.
pub(super) fn opening(text: &'static str) -> impl Iterator<Item = &'static str> {
    text.lines().map_while(|line| line.strip_prefix('#')).map(str::trim)
}

/// Every record of a table, read by `read`.
pub(super) fn records<T>(
    text: &'static str,
    read: impl Fn(&Record) -> Result<T, BadTable>,
) -> Result<Vec<T>, BadTable> {
    let mut lines = (1..).zip(text.lines()).filter(|(_, line)| !line.starts_with('#'));
    let Some((_, header)) = lines.next() else {
        return Err(BadTable { line: 0, what: "no line of column names".into() });
    };
    let names: Vec<&'static str> = header.split(',').map(str::trim).collect();
    lines
        .map(|(line, text)| {
            let cells: Vec<_> = text.split(',').map(str::trim).collect();
            if cells.len() != names.len() {
                let what = format!("{} cells under {} names", cells.len(), names.len());
                return Err(BadTable { line, what });
            }
            read(&Record { line, cells: names.iter().copied().zip(cells).collect() })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::exact;

    #[test]
    fn a_record_has_a_cell_under_every_name() {
        let good = "# Source: us\na,b\n1,2-3\n";
        let rows = records(good, |r| Ok((r.number("a")?, r.numbers("b")?))).unwrap();
        let two_to_three = Between { low: Some(exact(2, 1)), high: Some(exact(3, 1)) };
        assert_eq!(rows, [(exact(1, 1), two_to_three)]);
        assert_eq!(opening(good).collect::<Vec<_>>(), ["Source: us"]);
        for bad in ["a,b\n1\n", "a,b\n1,2,3\n", "a,b\nx,2\n", "a,c\n1,2\n", "", "# only\n"] {
            assert!(records(bad, |r| Ok((r.number("a")?, r.numbers("b")?))).is_err(), "{bad:?}");
        }
    }

    #[test]
    fn the_line_at_fault_is_counted_from_the_top() {
        let bad = records("# Source: us\na\n1\nx\n", |r| r.number("a")).unwrap_err();
        assert_eq!(bad.line, 4);
    }

    #[test]
    fn an_open_end_holds_everything_beyond() {
        let few = ends_of("-6").map(|text| text.parse::<u32>().unwrap());
        assert!(few.holds(&0) && few.holds(&6) && !few.holds(&7));
        let many = ends_of("17-").map(|text| text.parse::<u32>().unwrap());
        assert!(many.holds(&17) && many.holds(&99) && !many.holds(&16));
        assert_eq!(ends_of("8"), Between { low: Some("8"), high: Some("8") });
    }
}
