//! A page as data: what it says, before it is Markdown or HTML.
//!
//! A [`Sheet`] keeps apart what must be escaped ([`Part::Plain`]), what is the
//! author's Markdown ([`Part::Markdown`]) and what varies by size
//! ([`Part::Number`]), so that each form can show them in its own way.

use crate::source::Span;

/// A whole page.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Sheet {
    /// The title, plain.
    pub(super) title: String,
    /// The names of the sizes; empty where there is one only.
    pub(super) sizes: Vec<String>,
    /// What stands under the title, in order.
    pub(super) blocks: Vec<Block>,
}

/// A block of a page.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Block {
    /// A heading; level 2 opens a section.
    Heading {
        /// 2 to 6.
        level: u8,
        /// What it says.
        words: Words,
    },
    /// A block of the author's own: any Markdown.
    Prose(Words),
    /// A paragraph of ours.
    Line(Words),
    /// A list of things with a name.
    Facts(Vec<Fact>),
    /// The same, where names and what is said of them are short.
    Terms(Vec<Fact>),
    /// Instructions.
    Steps(Vec<StepLine>),
    /// A table.
    Table(Table),
    /// Details to open where a page can fold them, and left out where it cannot.
    Folded(Folded),
    /// Where drawings of a piece (by its place in the model) may stand.
    Piece(usize),
    /// Where the chart of a fabric (by its place in the model) may stand.
    Fabric(usize),
}

/// Something with a name.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Fact {
    /// The name, plain; empty for none.
    pub(super) label: String,
    /// What is said of it.
    pub(super) words: Words,
    /// The same as rows of a table with a column for each size, where it can be one. Sizes
    /// themselves have none, since they stand at the head.
    pub(super) rows: Option<Vec<Measure>>,
}

/// A measurement by size, as a row of a table; plain.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Measure {
    /// The band it is a measurement of, if it is one of a band.
    pub(super) band: Option<String>,
    /// What is measured; rows of the same belong together.
    pub(super) label: String,
    /// What it is in; empty for a number.
    pub(super) unit: String,
    /// By the places of the sizes.
    pub(super) each: Vec<String>,
}

/// One instruction.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct StepLine {
    /// `Row 1 (RS):`, where it has one.
    pub(super) label: Option<String>,
    /// What to do.
    pub(super) words: Words,
    /// For which sizes, by their places; empty for all.
    pub(super) sizes: Vec<usize>,
    /// Where the author wrote it.
    pub(super) place: Option<Span>,
    /// Whether it is something to do and tick off, and not only told about the one above.
    pub(super) done: bool,
    /// What stands under it.
    pub(super) below: Vec<Block>,
}

/// A table of short cells, all plain.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Table {
    /// What it shows.
    pub(super) caption: String,
    /// The heads of its columns; the first is that of the rows' own heads.
    pub(super) head: Vec<String>,
    /// For which size a column is, where it is for one.
    pub(super) column_sizes: Vec<Option<usize>>,
    /// Its rows.
    pub(super) rows: Vec<Vec<String>>,
}

/// Details that few readers want.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Folded {
    /// What is told.
    pub(super) summary: String,
    /// Size by size (by their places), or for all; plain.
    pub(super) lines: Vec<(Option<usize>, String)>,
}

/// Running text.
pub(super) type Words = Vec<Part>;

/// A part of running text.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Part {
    /// Text that means what it says: to be escaped.
    Plain(String),
    /// The author's Markdown.
    Markdown(String),
    /// A number, or one a size.
    Number(Number),
    /// From here on it is for these sizes only, by their places, where one size stands alone.
    For(Vec<usize>),
    /// What the last [`Part::For`] began ends here.
    ForAll,
    /// Said where one of these sizes stands alone, and not where all are shown.
    Alone(Vec<usize>, String),
}

/// A number, or one a size.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Number {
    /// Where it stands in the source, where it does.
    pub(super) place: Option<Span>,
    /// As it is written for all sizes: `96 (104, 112)`.
    pub(super) text: String,
    /// Size by size (by their places), where they differ or may.
    pub(super) each: Vec<(usize, String)>,
}

impl Number {
    /// A number by size, written in the trade's way; one where all agree.
    pub(super) fn by_size(each: Vec<(usize, String)>) -> Self {
        let text = match each.as_slice() {
            [] => String::new(),
            [(_, first), rest @ ..] if rest.iter().all(|(_, text)| text == first) => first.clone(),
            [(_, first), rest @ ..] => {
                let rest: Vec<&str> = rest.iter().map(|(_, text)| text.as_str()).collect();
                format!("{first} ({})", rest.join(", "))
            }
        };
        let same = each.iter().all(|(_, one)| *one == text);
        Self { place: None, text, each: if same { Vec::new() } else { each } }
    }
}

/// Plain text.
pub(super) fn plain(text: impl Into<String>) -> Part {
    Part::Plain(text.into())
}

impl Sheet {
    /// Calls `f` on all running text, with whether it is part of an instruction.
    pub(super) fn words(&self, f: &mut impl FnMut(&Words, bool)) {
        in_blocks(&self.blocks, f);
    }
}

fn in_blocks(blocks: &[Block], f: &mut impl FnMut(&Words, bool)) {
    for block in blocks {
        match block {
            Block::Heading { words, .. } | Block::Prose(words) | Block::Line(words) => {
                f(words, false);
            }
            Block::Facts(facts) | Block::Terms(facts) => {
                facts.iter().for_each(|fact| f(&fact.words, false));
            }
            Block::Steps(steps) => {
                for step in steps {
                    if let Some(label) = &step.label {
                        f(&vec![plain(label.as_str())], true);
                    }
                    f(&step.words, true);
                    in_blocks(&step.below, f);
                }
            }
            Block::Table(_) | Block::Folded(_) | Block::Piece(_) | Block::Fabric(_) => {}
        }
    }
}
