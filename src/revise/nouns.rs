//! Counts with their nouns, in a knitter's words: `once`, `6 times`, `3 (2, 1) times`, `1 st`.

use super::Edit;
use crate::measure::Given;
use crate::source::{Source, Span};
use crate::syntax::print;
use crate::syntax::tree::Counts;

/// `once`, `6 times`, `1 (-) time`, `3 (2, 1) times`
pub(super) fn times(given: &Given<u32>) -> String {
    match given {
        Given::Same(1) => "once".to_owned(),
        given => {
            let number = print::sizes(given, u32::to_string);
            format!("{number} {}", print::times_noun(given))
        }
    }
}

/// The edit of a count with the noun that goes with it; `None` where its noun stays, or it has
/// none.
pub(super) fn edit(source: &Source, counts: &Counts, new: &Given<u32>) -> Option<Edit> {
    let Span { start, end } = counts.span;
    if source.slice(counts.span).ends_with(char::is_alphabetic) {
        // "Twice" is a number and its noun in one, and so is what takes its place.
        let text = if *new == Given::Same(2) { "twice".to_owned() } else { times(new) };
        return Some(Edit { span: counts.span, text });
    }
    let (before, after) = (source.text.get(..start)?, source.text.get(end..)?);
    if let Some(edit) = thing(source, counts, new) {
        return Some(edit);
    }
    let noun = noun_after(after)?;
    let between = after.get(..noun.start)?;
    let end = end + noun.end;
    // What is in braces stays a number, so that the next rewrite may change it again.
    if *new == Given::Same(1) && !counts.live {
        let another = before.to_ascii_lowercase().ends_with(ANOTHER);
        let start = if another { start - ANOTHER.len() } else { start };
        let more = if another || !between.trim().is_empty() { " more" } else { "" };
        return Some(Edit { span: Span::new(start, end), text: format!("once{more}") });
    }
    let (number, noun) = (print::sizes(new, u32::to_string), print::times_noun(new));
    Some(Edit { span: Span::new(start, end), text: format!("{number}{between}{noun}") })
}

/// `another 3 times` is 3 times more.
const ANOTHER: &str = "another ";

/// What is counted, one and several.
const THINGS: [(&str, &str); 6] = [
    ("st", "sts"),
    ("stitch", "stitches"),
    ("row", "rows"),
    ("round", "rounds"),
    ("rnd", "rnds"),
    ("ridge", "ridges"),
];

/// The edit of a count of stitches or rows that becomes one, or was one and becomes more.
fn thing(source: &Source, counts: &Counts, new: &Given<u32>) -> Option<Edit> {
    let Span { start, end } = counts.span;
    let after = source.text.get(end..)?;
    let blank = after.len() - after.trim_start_matches(['}', ' ']).len();
    let word = after.get(blank..)?;
    let word = word.get(..word.find(|c: char| !c.is_alphabetic()).unwrap_or(word.len()))?;
    let (was, is) = (print::is_one(&counts.given), print::is_one(new));
    let (one, several) = THINGS.iter().find(|(one, several)| {
        word.eq_ignore_ascii_case(if was { one } else { several }) && was != is
    })?;
    let noun = if is { one } else { several };
    let number = print::sizes(new, u32::to_string);
    let between = after.get(..blank)?;
    Some(Edit {
        span: Span::new(start, end + blank + word.len()),
        text: format!("{number}{between}{noun}"),
    })
}

/// Where `time` or `times` stands that is the noun of a count before it.
fn noun_after(text: &str) -> Option<Span> {
    let words = text.trim_start_matches('}');
    let mut at = text.len() - words.len();
    let mut words = words.split_inclusive(char::is_whitespace);
    // The blank after the count.
    let blank = words.next().filter(|word| word.trim().is_empty())?;
    at += blank.len();
    loop {
        let word = words.next()?;
        let letters = word.trim_end_matches(|c: char| !c.is_alphabetic());
        match letters.to_ascii_lowercase().as_str() {
            "time" | "times" => return Some(Span::new(at, at + letters.len())),
            "more" => at += word.len(),
            _ => return None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::syntax;
    use crate::syntax::visit;

    /// An instruction with the last of its counts become these, read again.
    fn becomes(instruction: &str, new: &[Option<u32>]) -> String {
        let text = format!(
            "---\ntitle: t\nsizes: [a, b, c]\n---\n\n## Back, flat\n\n- cast on 9\n- {instruction}\n"
        );
        let source = Source::new("t", text);
        let document = syntax::parse(&source).document.expect("a document");
        let mut last = None;
        visit::counts(&document, &mut |counts| last = Some(counts));
        let counts = last.expect("a count");
        let edit = edit(&source, counts, &Given::from_each(new.to_vec())).expect("so many times");
        let revised = Source::new("t", super::super::apply(&source, &[edit]));
        let parsed = syntax::parse(&revised);
        assert!(parsed.findings.is_empty(), "{:?}", parsed.findings);
        let said = revised.text.lines().last().unwrap_or_default().trim_start_matches("- ");
        said.to_owned()
    }

    #[test]
    fn how_often_is_said_as_knitters_say_it() {
        let one = &[Some(1); 3];
        let two = &[Some(2); 3];
        let (some, several) = (&[Some(1), None, Some(1)], &[Some(3), Some(1), None]);
        for (instruction, new, said) in [
            ("repeat the last 2 rows 3 times", one, "repeat the last 2 rows once"),
            ("repeat the last 2 rows 3 times", two, "repeat the last 2 rows 2 times"),
            ("repeat the last 2 rows 3 times", some, "repeat the last 2 rows 1 (-, 1) time"),
            ("repeat the last 2 rows 1 time", several, "repeat the last 2 rows 3 (1, -) times"),
            ("repeat the last 2 rows once", several, "repeat the last 2 rows 3 (1, -) times"),
            ("repeat the last 2 rows once", two, "repeat the last 2 rows twice"),
            ("repeat the last 2 rows twice", one, "repeat the last 2 rows once"),
            ("repeat the last 2 rows 3 more times", one, "repeat the last 2 rows once more"),
            ("repeat the last 2 rows 3 times more", one, "repeat the last 2 rows once more"),
            (
                "repeat the last 2 rows once more",
                several,
                "repeat the last 2 rows 3 (1, -) times more",
            ),
            ("repeat the last 2 rows another 3 times", one, "repeat the last 2 rows once more"),
            (
                "bind off 3 at the start of every WS row 2 times",
                one,
                "bind off 3 at the start of every WS row once",
            ),
            (
                "bind off 2 sts at the start of the next 4 rows",
                one,
                "bind off 2 sts at the start of the next 1 row",
            ),
            ("work even for 1 row", several, "work even for 3 (1, -) rows"),
            ("k2, cast on {3} sts", one, "k2, cast on {1} st"),
            ("garter for 5 ridges", one, "garter for 1 ridge"),
            ("[k1, p1] {3} times", one, "[k1, p1] {1} time"),
            ("[k1, p1] {1} time", two, "[k1, p1] {2} times"),
        ] {
            assert_eq!(becomes(instruction, new), said);
        }
    }
}
