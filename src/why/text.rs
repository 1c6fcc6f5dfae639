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
        let _ = writeln!(out, "  in {}", number.gauge);
        for size in &number.sizes {
            in_size(&mut out, size);
        }
        out.push('\n');
    }
    out
}

fn in_size(out: &mut String, size: &InSize) {
    let name = if size.size.is_empty() { String::new() } else { format!("{}: ", size.size) };
    let was = size.was.map_or_else(|| "was not given".to_owned(), |n| format!("was {n}"));
    let _ = writeln!(out, "  {name}{}, {was}", size.chosen);
    let _ = writeln!(out, "    {}: exactly {}", size.because, size.exact);
    for asked in &size.asked {
        let _ = writeln!(out, "    {asked}");
    }
    if size.off_stitches != "0" {
        let _ = writeln!(
            out,
            "    {} stitches off, {}, {} of what is tolerated",
            size.off_stitches, size.off_width, size.off_share
        );
    }
    if !size.tied_to_lines.is_empty() {
        let lines: Vec<String> = size.tied_to_lines.iter().map(usize::to_string).collect();
        let noun = if lines.len() == 1 { "line" } else { "lines" };
        let _ = writeln!(out, "    tied to {noun} {}", words::list(&lines, "and"));
    }
}
