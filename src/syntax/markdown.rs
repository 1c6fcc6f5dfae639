//! The blocks of a Markdown text, each with its bytes.
//!
//! Only the block structure is taken from Markdown. The text of an instruction
//! is read from the source itself: its stars and brackets would look like
//! emphasis and links. Nothing here knows what a piece or a step is.

use crate::source::Span;
use pulldown_cmark::{CodeBlockKind, Event, HeadingLevel, OffsetIter, Options, Parser, Tag};

/// How deep lists, quotes and footnotes may be nested.
pub(super) const MAX_DEPTH: usize = 16;

/// The Markdown that a pattern is written in: with tables, footnotes and
/// struck-out text, and without anything that changes what was typed.
#[must_use]
pub fn options() -> Options {
    Options::ENABLE_TABLES | Options::ENABLE_FOOTNOTES | Options::ENABLE_STRIKETHROUGH
}

/// A block and what is in it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Node {
    /// What it is.
    pub(super) kind: BlockKind,
    /// From its first byte to its last, without blank space at the end.
    pub(super) span: Span,
    /// The blocks of a list, an item, a quote or a footnote.
    pub(super) children: Vec<Node>,
}

/// The kinds of block.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum BlockKind {
    /// A paragraph, or the text of an item in a list without blank lines.
    Paragraph,
    /// A heading of a level.
    Heading(u8),
    /// Lines that begin with `>`.
    Quote,
    /// A list.
    List,
    /// An item of a list.
    Item,
    /// Code between fences.
    FencedCode,
    /// Code by indentation.
    IndentedCode,
    /// HTML.
    Html,
    /// A table.
    Table,
    /// A footnote.
    Footnote,
    /// A rule across the page.
    Rule,
}

impl BlockKind {
    /// What an author would call it.
    pub(super) const fn said(self) -> &'static str {
        match self {
            Self::Paragraph => "a paragraph",
            Self::Heading(_) => "a heading",
            Self::Quote => "a quotation",
            Self::List => "a list",
            Self::Item => "an item of a list",
            Self::FencedCode | Self::IndentedCode => "a block of code",
            Self::Html => "HTML",
            Self::Table => "a table",
            Self::Footnote => "a footnote",
            Self::Rule => "a rule across the page",
        }
    }

    const fn holds_blocks(self) -> bool {
        matches!(self, Self::Quote | Self::List | Self::Item | Self::Footnote)
    }

    /// Whether it counts towards [`MAX_DEPTH`].
    const fn nests(self) -> bool {
        matches!(self, Self::Quote | Self::List | Self::Footnote)
    }
}

/// The blocks of a text.
#[derive(Debug, Default)]
pub(super) struct Blocks {
    /// Those that stand in no other.
    pub(super) nodes: Vec<Node>,
    /// Code and HTML, in order: braces in them are the author's own.
    pub(super) opaque: Vec<Span>,
    /// Where something is nested deeper than [`MAX_DEPTH`]. What is in it is left out.
    pub(super) too_deep: Option<Span>,
}

/// Finds the blocks of a text that stands `offset` bytes into its source.
pub(super) fn blocks(text: &str, offset: usize) -> Blocks {
    let mut reader = Reader {
        text,
        offset,
        events: Parser::new_ext(text, options()).into_offset_iter(),
        open: Vec::new(),
        out: Blocks::default(),
    };
    reader.read();
    let mut out = reader.out;
    // An unfinished text cannot be; but nothing may be lost if it were.
    while let Some(node) = reader.open.pop() {
        match reader.open.last_mut() {
            Some(parent) => parent.children.push(node),
            None => out.nodes.push(node),
        }
    }
    out
}

struct Reader<'t> {
    text: &'t str,
    offset: usize,
    events: OffsetIter<'t>,
    /// The blocks that are not closed yet, outermost first.
    open: Vec<Node>,
    out: Blocks,
}

impl Reader<'_> {
    fn read(&mut self) {
        while let Some((event, range)) = self.events.next() {
            let span = self.span(range.start, range.end);
            match event {
                Event::Start(tag) => match kind_of(&tag) {
                    Some(kind) => self.open_block(kind, span),
                    None => {
                        self.skip();
                        self.inline(span);
                    }
                },
                Event::End(_) => self.close(),
                Event::Rule => {
                    self.push(Node { kind: BlockKind::Rule, span, children: Vec::new() });
                }
                Event::Code(_) | Event::InlineHtml(_) => {
                    self.out.opaque.push(span);
                    self.inline(span);
                }
                _ => self.inline(span),
            }
        }
    }

    fn span(&self, start: usize, end: usize) -> Span {
        let written = self.text.get(start..end).unwrap_or("");
        let end = start + written.trim_end().len();
        Span::new(start, end).shifted(self.offset)
    }

    fn open_block(&mut self, kind: BlockKind, span: Span) {
        let node = Node { kind, span, children: Vec::new() };
        if kind.nests() && self.open.iter().filter(|n| n.kind.nests()).count() >= MAX_DEPTH {
            self.out.too_deep.get_or_insert(Span::at(span.start));
            self.skip();
            self.push(node);
        } else if kind.holds_blocks() {
            self.open.push(node);
        } else {
            if matches!(kind, BlockKind::FencedCode | BlockKind::IndentedCode | BlockKind::Html) {
                self.out.opaque.push(span);
            }
            self.skip();
            self.push(node);
        }
    }

    /// Passes over everything up to the end of the block or span that was opened last.
    fn skip(&mut self) {
        let mut depth = 1;
        for (event, range) in self.events.by_ref() {
            match event {
                Event::Start(Tag::CodeBlock(_) | Tag::HtmlBlock) => {
                    self.out.opaque.push(Span::new(range.start, range.end).shifted(self.offset));
                    depth += 1;
                }
                Event::Start(_) => depth += 1,
                Event::End(_) => {
                    depth -= 1;
                    if depth == 0 {
                        return;
                    }
                }
                Event::Code(_) | Event::InlineHtml(_) => {
                    self.out.opaque.push(Span::new(range.start, range.end).shifted(self.offset));
                }
                _ => {}
            }
        }
    }

    fn close(&mut self) {
        let Some(mut node) = self.open.pop() else { return };
        // Markdown lets a list reach over link definitions that follow it.
        if let (BlockKind::List, Some(last)) = (node.kind, node.children.last()) {
            node.span = Span::new(node.span.start, last.span.end.max(node.span.start));
        }
        self.push(node);
    }

    fn push(&mut self, node: Node) {
        match self.open.last_mut() {
            Some(parent) => parent.children.push(node),
            None => self.out.nodes.push(node),
        }
    }

    /// Text right in an item, of a list without blank lines: a paragraph all the same.
    fn inline(&mut self, span: Span) {
        let Some(parent) = self.open.last_mut() else { return };
        match parent.children.last_mut() {
            Some(Node { kind: BlockKind::Paragraph, span: last, .. })
                if last.end <= span.end
                    && !blank_line_between(self.text, self.offset, *last, span) =>
            {
                *last = last.to(span);
            }
            _ => parent.children.push(Node {
                kind: BlockKind::Paragraph,
                span,
                children: Vec::new(),
            }),
        }
    }
}

fn blank_line_between(text: &str, offset: usize, first: Span, second: Span) -> bool {
    let between = first.end - offset..second.start.max(first.end) - offset;
    text.get(between).is_some_and(|gap| gap.matches('\n').count() > 1)
}

/// The block that a tag opens; `None` for what stands in a line.
fn kind_of(tag: &Tag<'_>) -> Option<BlockKind> {
    Some(match tag {
        Tag::Paragraph => BlockKind::Paragraph,
        Tag::Heading { level, .. } => BlockKind::Heading(match level {
            HeadingLevel::H1 => 1,
            HeadingLevel::H2 => 2,
            HeadingLevel::H3 => 3,
            HeadingLevel::H4 => 4,
            HeadingLevel::H5 => 5,
            HeadingLevel::H6 => 6,
        }),
        Tag::BlockQuote(_) => BlockKind::Quote,
        Tag::CodeBlock(CodeBlockKind::Fenced(_)) => BlockKind::FencedCode,
        Tag::CodeBlock(CodeBlockKind::Indented) => BlockKind::IndentedCode,
        Tag::HtmlBlock => BlockKind::Html,
        Tag::List(_) => BlockKind::List,
        Tag::Item => BlockKind::Item,
        Tag::Table(_) => BlockKind::Table,
        Tag::FootnoteDefinition(_) => BlockKind::Footnote,
        _ => return None,
    })
}
