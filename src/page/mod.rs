//! The pages a knitter reads: a checked pattern as Markdown, as HTML, and its
//! drawings.
//!
//! A page is made from the source of a pattern, revised or not, and never
//! computes: what it shows beside the author's own words is read off the
//! traces by [`crate::plan::facts`]. It is put together once, as a sheet of
//! blocks, and then written in one form or another.

mod abbreviations;
mod author;
mod cautions;
mod chart;
mod compose;
mod drawings;
mod front;
mod heel;
pub(crate) mod html;
mod markdown;
mod measurements;
mod schematic;
mod sheet;
mod skipped;
mod spaced;
mod steps;
mod svg;
mod turns;

pub use drawings::{Drawing, draw, draw_over, drawings};
pub(crate) use schematic::overlay;

use crate::diag::{Code, Finding, words};
use crate::model::Model;
use crate::revise::{self, Edit};
use crate::source::{Source, Span, Spanned};
use crate::syntax::front::Targets;
use crate::why::Number;
use crate::{Checked, Rewritten};

/// A checked pattern as Markdown, for a knitter to read.
///
/// `checked` must be of this very source, and without errors: a pattern with
/// errors has no traces, and its page would lack what they tell.
#[must_use]
pub fn markdown(source: &Source, checked: &Checked<'_>) -> String {
    markdown::write(&compose::sheet(source, checked))
}

/// A checked pattern as one HTML file that needs nothing else: no script, no
/// other file.
///
/// `checked` must be of this very source, and without errors. Each number that
/// `why` has, with its place in this source, can be opened to read where it
/// comes from.
#[must_use]
pub fn html(source: &Source, checked: &Checked<'_>, why: &[(Span, Number)]) -> String {
    let pieces = (0..checked.model.pieces.len()).map(|piece| {
        let drawn = schematic::schematic(checked, piece)?;
        Some(drawn.figure(html::words))
    });
    let fabrics = (0..checked.model.fabrics.len())
        .map(|fabric| chart::drawn(checked, fabric).map(|drawn| drawn.figure()));
    let extras =
        html::Extras { pieces: pieces.collect(), fabrics: fabrics.collect(), why: why.to_vec() };
    html::write(&compose::sheet(source, checked), &extras)
}

/// Reads and works a pattern, and hands it on where it has no error.
fn worked<T>(source: &Source, then: impl FnOnce(&Checked<'_>) -> T) -> Result<T, Vec<Finding>> {
    let parsed = crate::syntax::parse(source);
    let Some(document) = parsed.document else { return Err(parsed.findings) };
    let checked = crate::check(source, &document, parsed.findings);
    if checked.findings.iter().any(Finding::is_error) {
        return Err(checked.findings);
    }
    Ok(then(&checked))
}

/// The form of a page.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Form {
    /// Markdown.
    Markdown,
    /// One HTML file.
    Html,
}

/// What a page is to be.
#[derive(Clone, Debug)]
pub struct Wanted<'a> {
    /// Its form.
    pub form: Form,
    /// Only this size.
    pub size: Option<&'a str>,
    /// Where numbers come from, with their places in the source.
    pub why: Vec<(Span, Number)>,
}

/// A pattern read, worked and written as a page.
///
/// # Errors
/// Everything found, where there are errors; that there is no such size.
pub fn of(source: &Source, wanted: &Wanted<'_>) -> Result<String, Vec<Finding>> {
    let Some(name) = wanted.size else { return written(source, wanted.form, &wanted.why) };
    let (source, edits) = to_one_size(source, name)?;
    let why = wanted.why.iter().map(|(place, number)| {
        let sizes = number.sizes.iter().filter(|in_size| in_size.size == name).cloned().collect();
        (revise::moved(&edits, *place), Number { sizes, ..number.clone() })
    });
    written(&source, wanted.form, &why.collect::<Vec<_>>())
}

fn written(source: &Source, form: Form, why: &[(Span, Number)]) -> Result<String, Vec<Finding>> {
    worked(source, |checked| match form {
        Form::Markdown => markdown(source, checked),
        Form::Html => html(source, checked, why),
    })
}

/// Where the numbers of a rewritten pattern come from, with their places in
/// the revised source. `source` and `model` are of the pattern as it was.
#[must_use]
pub fn reasons(
    source: &Source,
    model: &Model<'_>,
    rewritten: &Rewritten<'_>,
) -> Vec<(Span, Number)> {
    let reasons = crate::why::reasons(source, model, &rewritten.plan);
    let moved = |number: Number| (revise::moved(&rewritten.edits, number.place), number);
    reasons.into_iter().map(moved).collect()
}

/// The source of one size of a pattern, with no lists of sizes left.
///
/// It is a rewrite to that size alone, so its page equals that size of the
/// page of all sizes.
///
/// # Errors
/// Findings, where the pattern has errors or no such size.
pub fn one_size(source: &Source, name: &str) -> Result<Source, Vec<Finding>> {
    to_one_size(source, name).map(|(source, _)| source)
}

fn to_one_size(source: &Source, name: &str) -> Result<(Source, Vec<Edit>), Vec<Finding>> {
    let parsed = crate::syntax::parse(source);
    let Some(document) = parsed.document else { return Err(parsed.findings) };
    let sizes: Vec<&str> = document.front.sizes.iter().map(|size| size.value.as_str()).collect();
    if !sizes.contains(&name) {
        return Err(vec![no_such_size(name, &sizes)]);
    }
    let targets =
        Targets { sizes: vec![Spanned::new(name.to_owned(), Span::at(0))], ..Targets::default() };
    let rewritten = crate::rewrite(source, &document, parsed.findings, &targets)?;
    Ok((rewritten.source, rewritten.edits))
}

fn no_such_size(name: &str, sizes: &[&str]) -> Finding {
    let message = format!("there is no size `{name}`");
    let mut finding = Finding::new(Code::UnknownName, Span::at(0), message);
    // The name stands in no file.
    finding.labels.clear();
    let sizes: Vec<String> = sizes.iter().map(|size| format!("`{size}`")).collect();
    match sizes.as_slice() {
        [] => finding.help("the pattern has one size, without a name"),
        [one] => finding.help(format!("the only size is {one}")),
        _ => finding.help(format!("the sizes are {}", words::list(&sizes, "and"))),
    }
}

#[cfg(test)]
mod tests {
    use super::sheet::{Block, Fact, Part, Sheet, StepLine};
    use super::*;

    const SAMPLES: [&str; 3] = [
        include_str!("../../samples/slipway-cap.wale"),
        include_str!("../../samples/boathouse-pullover.wale"),
        include_str!("../../samples/tideline-scarf.wale"),
    ];

    fn sheet_of(source: &Source) -> Sheet {
        let document = crate::syntax::parse(source).document.expect("a pattern");
        let checked = crate::check(source, &document, Vec::new());
        compose::sheet(source, &checked)
    }

    /// What a reader of one size reads on the page of all sizes.
    fn read_for(size: usize, blocks: &[Block]) -> Vec<String> {
        let words = |words: &[Part]| -> String {
            let mut read = String::new();
            // How deep in what is not for this size.
            let mut within: Vec<bool> = Vec::new();
            for part in words {
                let hidden = within.contains(&false);
                match part {
                    Part::For(sizes) => within.push(sizes.contains(&size)),
                    Part::ForAll => assert!(within.pop().is_some(), "nothing ends here"),
                    _ if hidden => {}
                    Part::Plain(text) | Part::Markdown(text) => read.push_str(text),
                    Part::Number(number) => {
                        let own = number.each.iter().find(|(own, _)| *own == size);
                        read.push_str(own.map_or(&number.text, |(_, text)| text));
                    }
                    Part::Alone(sizes, text) => {
                        read.push_str(if sizes.contains(&size) { text } else { "" });
                    }
                }
            }
            assert!(within.is_empty(), "something does not end");
            read
        };
        let mut lines = Vec::new();
        for block in blocks {
            match block {
                Block::Heading { words: text, .. } | Block::Prose(text) | Block::Line(text) => {
                    lines.push(words(text));
                }
                Block::Facts(facts) | Block::Terms(facts) => lines.extend(
                    facts
                        .iter()
                        .map(|Fact { label, words: text, .. }| format!("{label}: {}", words(text))),
                ),
                Block::Steps(steps) => {
                    let mine =
                        |step: &&StepLine| step.sizes.is_empty() || step.sizes.contains(&size);
                    for step in steps.iter().filter(mine) {
                        let label = step.label.as_deref().unwrap_or_default();
                        // Rows of several shapes name their sizes; one size needs no name.
                        let label = label.split(" for ").next().unwrap_or_default();
                        let label = label.trim_end_matches(':');
                        lines.push(format!("{label}: {}", words(&step.words)));
                        lines.extend(read_for(size, &step.below));
                    }
                }
                Block::Table(_) | Block::Folded(_) | Block::Piece(_) | Block::Fabric(_) => {}
            }
        }
        lines
    }

    /// Steps and shapings that some sizes do without.
    const SKIPPING: &str = "---\ntitle: Jetty Vest\nsizes: [small, medium, large]\ngauges:\n  \
        body: { stitches: 20, rows: 28, over: 10 cm }\n---\n\n## Back, flat\n\n\
        - cast on 80 (90, 100) in body\n\
        - stockinette for 20 rows\n\
        - decrease 1 each end on the next row\n\
        - increase 1 each end on the next row\n\
        - bind off 4 (5, 6) at the start of the next 2 rows\n\
        - bind off - (2, 3) at the start of the next 2 rows [starts yoke]\n\
        - decrease 1 each end every 2nd row - (2, 4) times\n\
        - sizes large only: decrease 1 each end on the next row\n\
        - k to last 2 sts, p2\n\
        - repeat the last row - (3, 5) times\n\
        - stockinette until yoke measures 10 cm\n\
        - bind off all\n";

    #[test]
    fn what_a_size_skips_is_not_on_its_page() {
        let of = |size: &str| {
            let wanted = Wanted { form: Form::Markdown, size: Some(size), why: Vec::new() };
            let rows = "- k{40}, k{- (3, 4)}, [k1, p1] - (2, 3) times, k to end\n\
                - p{72 (70, 68)}, k{- (2, 4)}\n";
            let text = SKIPPING.replace("- k to last 2 sts, p2\n", rows);
            let page = super::of(&Source::new("vest.wale", text), &wanted).expect("a page");
            page.split_once("Worked flat.").map_or(String::new(), |(_, steps)| steps.to_owned())
        };
        insta::assert_snapshot!(format!("{}{}", of("small"), of("large")), @r"


        - Cast on 80 sts.
        - Stockinette for 20 rows.
        - Decrease 1 st each end on the next row (78 sts).
        - Increase 1 st each end on the next row (80 sts).
        - Bind off 4 sts at the start of the next 2 rows (72 sts).
        - Note: the yoke begins here.
        - K40, k to end.
        - P72.
        - Stockinette until yoke measures 10 cm.
        - Bind off all.


        - Cast on 100 sts.
        - Stockinette for 20 rows.
        - Decrease 1 st each end on the next row (98 sts).
        - Increase 1 st each end on the next row (100 sts).
        - Bind off 6 sts at the start of the next 2 rows (88 sts).
        - Bind off 3 sts at the start of the next 2 rows (82 sts).
        - Decrease 1 st each end every 2nd row 4 times (74 sts).
        - Sizes large only: decrease 1 st each end on the next row (72 sts).
        - K40, k4, \[k1, p1\] 3 times, k to end.
        - P68, k4.
        - Repeat the last row 5 times.
        - Stockinette until yoke measures 10 cm.
        - Bind off all.
        ");
    }

    #[test]
    fn a_page_of_one_size_equals_that_size_of_the_page_of_all() {
        let about_sizes = |line: &String| {
            // A caution may apply to some sizes only.
            // What is measured from a place where this size works nothing begins there, and on
            // the page of all it says for which sizes.
            ![
                "Sizes",
                "Size:",
                "Finished measurements",
                ": A snug band",
            ]
            .iter()
            .any(|start| line.starts_with(start))
                && !line.ends_with("the yoke begins here.")
                // How lists are read.
                && !line.is_empty()
        };
        let same =
            |lines: Vec<String>| -> Vec<String> { lines.into_iter().filter(about_sizes).collect() };
        let rows = "- k{40}, k{- (3, 4)}, [k1, p1] - (2, 1) times, k to end\n\
            - p{72 (70, 68)}, k{- (2, 4)}\n\
            - increase 1 each end every 4th row 1 (-, 2) times, then every 2nd row - (1, 1) times\n\
            - leave 4 more sts unworked at the end of the next 4 (6, 8) rows\n";
        let rows = SKIPPING.replace("- k to last 2 sts, p2\n", rows);
        for text in SAMPLES.into_iter().chain([SKIPPING, &rows]) {
            let source = Source::new("t", text);
            let all = sheet_of(&source);
            for (size, name) in all.sizes.iter().enumerate() {
                let one = sheet_of(&one_size(&source, name).expect("a size of the pattern"));
                let (all_for, one_for) =
                    (same(read_for(size, &all.blocks)), same(read_for(0, &one.blocks)));
                for (of_all, of_one) in all_for.iter().zip(&one_for) {
                    assert_eq!(of_all, of_one, "{} {name}", all.title);
                }
                assert_eq!(all_for.len(), one_for.len());
            }
        }
    }
}
