//! Derivations as text for people.

use super::{InSize, Number};
use crate::diag::words;
use std::fmt::Write as _;

/// The derivations as text, one number after the other.
#[must_use]
pub fn text(numbers: &[Number]) -> String {
    let mut out = String::new();
    for number in numbers {
        // Writing to a string cannot fail.
        let _ = writeln!(out, "line {}, {}: {}", number.line, number.piece, number.instruction);
        if !number.gauge.is_empty() {
            let _ = writeln!(out, "  in {}", number.gauge);
        }
        for size in &number.sizes {
            in_size(&mut out, size, number.counts);
        }
        out.push('\n');
    }
    out
}

fn in_size(out: &mut String, size: &InSize, counts: &str) {
    let name = if size.size.is_empty() { String::new() } else { format!("{}: ", size.size) };
    let was = match size.was {
        Some(n) => format!(", was {n}"),
        None if size.off_share.is_some() => ", was not given".to_owned(),
        None => String::new(),
    };
    let _ = writeln!(out, "  {name}{}{was}", size.chosen);
    if size.exact == size.chosen.to_string() && size.off_share.is_none() {
        let _ = writeln!(out, "    {}", size.because);
    } else {
        let _ = writeln!(out, "    {}: exactly {}", size.because, size.exact);
    }
    for asked in &size.asked {
        let _ = writeln!(out, "    {asked}");
    }
    if size.off != "0" {
        let share = size.off_share.as_ref();
        let share = share.map_or_else(String::new, |s| format!(", {s} of what is tolerated"));
        let width = match size.off_width.as_str() {
            "" => String::new(),
            width => format!(", {width}"),
        };
        let _ = writeln!(out, "    {} {counts} off{width}{share}", size.off);
    }
    if !size.tied_to_lines.is_empty() {
        let lines: Vec<String> = size.tied_to_lines.iter().map(usize::to_string).collect();
        let noun = if lines.len() == 1 { "line" } else { "lines" };
        let _ = writeln!(out, "    tied to {noun} {}", words::list(&lines, "and"));
    }
}
