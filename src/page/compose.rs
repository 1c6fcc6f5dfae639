//! Puts a page together in the house style: what every pattern tells, in an
//! order that does not change, around the author's own sections.

use super::abbreviations;
use super::author::Author;
use super::cautions;
use super::front;
use super::measurements;
use super::sheet::{Block, Sheet, StepLine, Words, plain};
use super::steps::Steps;
use crate::Checked;
use crate::diag::words::{capitalised, list};
use crate::source::Source;
use crate::syntax::tree::{self, Section, SectionKind, Setting, Side};
use crate::work::fabric::{self, FabricCount};
use crate::work::turned;

/// The whole page of a checked pattern.
pub(super) fn sheet(source: &Source, checked: &Checked<'_>) -> Sheet {
    let author = Author { source, checked };
    let sections = &checked.model.document.sections;
    let mut opening = Vec::new();
    let mut body = Vec::new();
    let (mut pieces, mut fabrics) = (0, 0);
    for section in sections {
        match (&section.heading, &section.kind) {
            (None, _) => opening.extend(prose_blocks(&author, section)),
            (Some(heading), kind) => {
                let level = heading.level.max(2);
                match kind {
                    SectionKind::Prose => {
                        let words = vec![markdown(&heading.text.value)];
                        body.push(Block::Heading { level, words });
                        body.extend(prose_blocks(&author, section));
                    }
                    SectionKind::Piece(piece) => {
                        body.extend(piece_head(piece));
                        body.push(Block::Piece(pieces));
                        body.extend(working_blocks(&author, section, Some(pieces)));
                        pieces += 1;
                    }
                    SectionKind::Fabric(name) => {
                        let words = vec![markdown(&name.value)];
                        body.push(Block::Heading { level, words });
                        body.extend(fabric_count(&author, fabrics));
                        body.extend(working_blocks(&author, section, None));
                        body.extend(translated(&author, fabrics));
                        body.push(Block::Fabric(fabrics));
                        fabrics += 1;
                    }
                }
            }
        }
    }
    let mut sheet = Sheet { title: title(&author), sizes: size_names(&author), blocks: body };
    let abbreviations = abbreviations::used(&author, &sheet);
    let mut blocks = opening;
    blocks.extend(measurements::measurements(&author));
    blocks.extend(front::materials(&author));
    blocks.extend(front::gauges(&author));
    blocks.extend(section("Abbreviations", Block::Terms(abbreviations)));
    let mut notes = front::notes(&author);
    notes.extend(cautions::all(&author));
    blocks.extend(section("Notes", Block::Facts(notes)));
    blocks.append(&mut sheet.blocks);
    Sheet { blocks, ..sheet }
}

/// A section of ours; nothing where it says nothing.
fn section(name: &str, facts: Block) -> Vec<Block> {
    match &facts {
        Block::Facts(all) | Block::Terms(all) if all.is_empty() => Vec::new(),
        _ => vec![heading(name), facts],
    }
}

pub(super) fn heading(name: &str) -> Block {
    Block::Heading { level: 2, words: vec![plain(name)] }
}

fn markdown(text: &str) -> super::sheet::Part {
    super::sheet::Part::Markdown(text.to_owned())
}

/// The front matter's title, or the heading at the top.
fn title(author: &Author<'_>) -> String {
    let document = author.checked.model.document;
    let heading =
        document.sections.iter().flat_map(|section| &section.blocks).find_map(
            |block| match block {
                tree::Block::Heading(heading) if heading.level == 1 => {
                    Some(heading.text.value.clone())
                }
                _ => None,
            },
        );
    let title = document.front.title.as_ref().map(|title| title.value.clone());
    title.or(heading).unwrap_or_else(|| "Pattern".to_owned())
}

fn size_names(author: &Author<'_>) -> Vec<String> {
    let sizes = &author.checked.model.sizes;
    if sizes.len() > 1 { sizes.clone() } else { Vec::new() }
}

fn prose_blocks(author: &Author<'_>, section: &Section) -> Vec<Block> {
    let block = |block: &tree::Block| match block {
        // The title stands above.
        tree::Block::Heading(heading) if heading.level == 1 => None,
        tree::Block::Heading(heading) => Some(Block::Heading {
            level: heading.level,
            words: vec![markdown(&heading.text.value)],
        }),
        tree::Block::Prose(prose) => Some(Block::Prose(author.prose(prose))),
        tree::Block::Steps(_) => None,
    };
    section.blocks.iter().filter_map(block).collect()
}

fn piece_head(piece: &tree::PieceHeading) -> Vec<Block> {
    let mut words: Words = vec![markdown(&piece.name.value)];
    if piece.copies.value > 1 {
        words.push(plain(format!(" (make {})", piece.copies.value)));
    }
    let worked = match piece.setting.value {
        Setting::Flat => "Worked flat.",
        Setting::Round => "Worked in the round.",
    };
    vec![Block::Heading { level: 2, words }, Block::Line(vec![plain(worked)])]
}

/// Prose and instructions of a piece or a fabric.
fn working_blocks(author: &Author<'_>, section: &Section, piece: Option<usize>) -> Vec<Block> {
    let mut steps = Steps::new(*author, piece);
    let mut blocks = Vec::new();
    for block in &section.blocks {
        match block {
            tree::Block::Heading(heading) => blocks.push(Block::Heading {
                level: heading.level.max(3),
                words: vec![markdown(&heading.text.value)],
            }),
            tree::Block::Prose(prose) => {
                let words = author.prose(prose);
                steps.prose_before(author.slice(prose.span));
                blocks.push(Block::Prose(words));
            }
            tree::Block::Steps(list) => blocks.push(Block::Steps(steps.lines(list))),
        }
    }
    blocks
}

/// The rows of a fabric that is written flat and worked in the round, or the other way about.
fn translated(author: &Author<'_>, index: usize) -> Vec<Block> {
    let model = &author.checked.model;
    let found = model
        .fabrics
        .get(index)
        .and_then(|fabric| turned::translation(model, &author.checked.traces, fabric));
    let Some(translation) = found else { return Vec::new() };
    let round = translation.setting == Setting::Round;
    let head = if round {
        "In the round, every round is worked from the right side:"
    } else {
        "Flat, every second row is worked from the wrong side:"
    };
    let line = |row: turned::TurnedRow| {
        let side = match (round, row.side) {
            (true, _) => "",
            (false, Side::Right) => " (RS)",
            (false, Side::Wrong) => " (WS)",
        };
        let word = if round { "Round" } else { "Row" };
        let words = row.words.unwrap_or_else(|| {
            "as written, but from the other side: from its end to its beginning, purl for knit and knit for purl".to_owned()
        });
        StepLine {
            label: Some(format!("{word} {}{side}", row.number)),
            words: vec![plain(format!("{}.", capitalised(&words)))],
            ..StepLine::default()
        }
    };
    let lines = translation.rows.into_iter().map(line).collect();
    vec![Block::Line(vec![plain(head)]), Block::Steps(lines)]
}

/// `Worked over a multiple of 12 sts plus 6.`
fn fabric_count(author: &Author<'_>, index: usize) -> Option<Block> {
    let model = &author.checked.model;
    let fabric = model.fabrics.get(index)?;
    let rows = fabric.rows.len();
    let rows = if rows == 1 { "1 row".to_owned() } else { format!("{rows} rows") };
    let over = match fabric::counts(model, fabric) {
        FabricCount::Every { multiple, .. } if multiple.of() == 1 => "any number of sts".to_owned(),
        FabricCount::Every { multiple, .. } if multiple.plus() == 0 => {
            format!("a multiple of {} sts", multiple.of())
        }
        FabricCount::Every { multiple, .. } => {
            format!("a multiple of {} sts plus {}", multiple.of(), multiple.plus())
        }
        FabricCount::Only(n) => format!("{n} sts"),
        FabricCount::Never { .. } => return None,
    };
    let mut words = format!("Worked over {over}; {rows} make one repeat.");
    let counts = fabric::row_counts(model, fabric);
    if let Some((start, after)) = counts.split_first()
        && after.iter().any(|n| n != start)
    {
        let after: Vec<String> = after.iter().map(i64::to_string).collect();
        words.push_str(&format!(
            " Its stitches change from row to row: {start} are {} after rows 1 to {}.",
            list(&after, "and"),
            after.len()
        ));
    }
    Some(Block::Line(vec![plain(words)]))
}
