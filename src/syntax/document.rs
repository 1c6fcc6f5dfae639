//! Headings, lists and paragraphs: cuts a pattern into front matter, sections,
//! prose and instructions, and hands each to its own parser.
//!
//! An instruction that cannot be read is one finding and is left out; reading
//! goes on with the next. The words of an instruction are `step`'s to read.

use super::front::{self, Front};
use super::markdown::{self, BlockKind, Blocks, Node};
use super::tree::{Action, Block, Document, Live, Prose, Section, SectionKind, Step};
use super::unworked::Unworked;
use super::{Parsed, Vocabulary, heading, measure, step};
use crate::diag::{Code, Finding, sort};
use crate::source::{Source, Span};

/// The largest pattern or targets file, in bytes: many times any pattern.
pub const MAX_BYTES: usize = 1_000_000;

/// After so many findings reading stops.
const MAX_FINDINGS: usize = 200;

/// Reads a whole pattern.
pub(super) fn read(source: &Source) -> Parsed {
    if let Err(finding) = whole_enough(&source.text) {
        return Parsed { document: None, findings: vec![finding] };
    }
    let mut findings = Vec::new();
    let cut = match cut_front(&source.text) {
        Ok(cut) => cut,
        Err(finding) => return Parsed { document: None, findings: vec![finding] },
    };
    findings.extend(cut.finding);
    let (front, partial) = match cut.front {
        Some(span) => {
            let reading = front::read(source.slice(span), span.start);
            findings.extend(reading.findings);
            (reading.front, reading.partial)
        }
        None => (Front { span: Span::at(cut.body), ..Front::default() }, false),
    };
    let vocabulary = Vocabulary::of(&front);
    let text = source.text.get(cut.body..).unwrap_or("");
    let blocks = markdown::blocks(text, cut.body);
    let mut body = Body {
        source,
        vocabulary,
        opaque: &blocks.opaque,
        findings: Vec::new(),
        unworked: Vec::new(),
    };
    let sections = body.sections(&blocks, cut.body);
    // What the front matter failed to say may well be what the body uses.
    let missing = |f: &Finding| matches!(f.code, Code::UnknownStitch | Code::UnknownName);
    findings.extend(body.findings.into_iter().filter(|f| !(partial && missing(f))));
    sort(&mut findings);
    findings.truncate(MAX_FINDINGS);
    let document = Document { front, sections };
    debug_assert_eq!(super::outline::misplaced(&document, &source.text), None);
    Parsed { document: Some(document), findings }
}

/// Refuses a text that is empty, or too large to be a pattern.
pub(super) fn whole_enough(text: &str) -> Result<(), Finding> {
    if text.len() > MAX_BYTES {
        let (size, limit) = (megabytes(text.len()), megabytes(MAX_BYTES));
        return Err(Finding::new(
            Code::TooLarge,
            Span::at(0),
            format!("the file has {size}, which is larger than any pattern"),
        )
        .label("not read")
        .note(format!("a file may have up to {limit}"))
        .help("keep one pattern in one file"));
    }
    if text.trim_matches(['\u{feff}', ' ', '\t', '\r', '\n']).is_empty() {
        return Err(Finding::new(Code::NoPiece, Span::at(0), "the file is empty")
            .label("nothing here")
            .help("begin with front matter between two `---` lines, then a `## Cap, in the round` and a list of instructions"));
    }
    Ok(())
}

/// `9.5 MB`, rounded down to a tenth, for a message.
fn megabytes(bytes: usize) -> String {
    format!("{}.{} MB", bytes / 1_000_000, bytes / 100_000 % 10)
}

/// The length of the byte-order mark that a text may begin with.
pub(super) fn mark_length(text: &str) -> usize {
    if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 }
}

// --- front matter -----------------------------------------------------------------

/// Where the front matter ends and the body begins.
struct Cut {
    /// Between the two `---` lines.
    front: Option<Span>,
    /// Where the body begins.
    body: usize,
    /// What is wrong with it.
    finding: Option<Finding>,
}

fn cut_front(text: &str) -> Result<Cut, Finding> {
    let top = mark_length(text);
    let rest = text.get(top..).unwrap_or("");
    let blank = rest.len() - rest.trim_start_matches([' ', '\t', '\r', '\n']).len();
    // Blank lines only: a fence that is indented is none.
    let blank = rest.get(..blank).and_then(|b| b.rfind('\n')).map_or(0, |newline| newline + 1);
    let open = top + blank;
    let mut lines = lines_from(text, open);
    let Some(first) = lines.next().filter(|&line| is_fence(text, line)) else {
        return Ok(Cut { front: None, body: top, finding: Some(no_front(top)) });
    };
    let Some(close) = lines.find(|&line| is_fence(text, line)) else {
        return Err(Finding::new(
            Code::YamlBroken,
            trimmed(text, first),
            "the front matter is not closed",
        )
        .label("opened here")
        .help("write a second `---` line after the last key"));
    };
    let finding = (blank > 0).then(|| {
        let lines = Span::new(top, open);
        Finding::new(
            Code::NoFrontMatter,
            trimmed(text, first),
            "the front matter does not stand at the very top",
        )
        .label("not the first line")
        .help("take the blank lines before it away")
        .patch(lines, "")
    });
    Ok(Cut { front: Some(Span::new(first.end, close.start)), body: close.end, finding })
}

fn no_front(at: usize) -> Finding {
    Finding::new(Code::NoFrontMatter, Span::at(at), "the pattern does not open with front matter")
        .label("expected `---`")
        .help("begin with a `---` line, then at least `gauges:`, then another `---` line")
}

/// The lines of a text from a byte on, each with its end.
fn lines_from(text: &str, start: usize) -> impl Iterator<Item = Span> {
    let mut at = start;
    text.get(start..).unwrap_or("").split_inclusive('\n').map(move |line| {
        let span = Span::new(at, at + line.len());
        at = span.end;
        span
    })
}

fn is_fence(text: &str, line: Span) -> bool {
    text.get(line.range()).is_some_and(|line| line.trim_end() == "---")
}

/// A span without blank space at its end.
fn trimmed(text: &str, span: Span) -> Span {
    let written = text.get(span.range()).unwrap_or("");
    Span::new(span.start, span.start + written.trim_end().len())
}

// --- sections -----------------------------------------------------------------------

struct Body<'s> {
    source: &'s Source,
    vocabulary: Vocabulary,
    opaque: &'s [Span],
    findings: Vec<Finding>,
    /// What reads as instructions in each section so far.
    unworked: Vec<Unworked>,
}

impl Body<'_> {
    /// One section before the first heading that opens one, then one for each.
    fn sections(&mut self, blocks: &Blocks, start: usize) -> Vec<Section> {
        if let Some(span) = blocks.too_deep {
            self.findings.push(
                Finding::new(Code::TooDeep, span, "this is nested deeper than any pattern needs")
                    .label("one level too many")
                    .note(format!(
                        "lists and quotations may be nested {} deep",
                        markdown::MAX_DEPTH
                    )),
            );
        }
        let mut sections = vec![Section {
            heading: None,
            kind: SectionKind::Prose,
            blocks: Vec::new(),
            span: Span::at(start),
        }];
        let mut done = start;
        for node in &blocks.nodes {
            self.gap(Span::new(done, node.span.start.max(done)), &mut sections);
            done = done.max(node.span.end);
            let first = sections.len() == 1;
            match node.kind {
                BlockKind::Heading(level) if level == 2 || (level == 1 && !first) => {
                    let heading = heading::read(self.source, node.span, level);
                    let kind = heading::section_kind(&heading, &mut self.findings);
                    close(&mut sections, node.span.start);
                    sections.push(Section {
                        span: Span::at(node.span.start),
                        heading: Some(heading),
                        kind,
                        blocks: Vec::new(),
                    });
                }
                _ => {
                    let so_far = sections.len();
                    if let Some(section) = sections.last_mut() {
                        if section.kind == SectionKind::Prose && node.kind == BlockKind::List {
                            self.reads_as_instructions(node, so_far);
                        }
                        self.block(node, section);
                    }
                }
            }
        }
        let end = self.source.text.len();
        self.gap(Span::new(done, end.max(done)), &mut sections);
        close(&mut sections, end);
        self.say_unworked(&sections);
        sections
    }

    /// Where no section is worked at all, that is the finding instead.
    fn say_unworked(&mut self, sections: &[Section]) {
        if sections.iter().all(|section| section.kind == SectionKind::Prose) {
            return;
        }
        let found = self.unworked.iter().zip(sections);
        let found =
            found.filter_map(|(unworked, section)| unworked.finding(section.heading.as_ref()));
        self.findings.extend(found.collect::<Vec<_>>());
    }

    /// Takes note of what reads as an instruction in the list of a section of prose.
    fn reads_as_instructions(&mut self, list: &Node, section: usize) {
        self.unworked.resize_with(section.max(self.unworked.len()), Unworked::default);
        for item in &list.children {
            let text = self.source.slice(item.span);
            let at = marker_length(text);
            let own = trimmed(&self.source.text, Span::new(item.span.start + at, item.span.end));
            let steps = step::item(self.source.slice(own), own.start, &self.vocabulary);
            if let (Ok(steps), Some(unworked)) = (steps, self.unworked.last_mut()) {
                steps.iter().for_each(|step| unworked.note(own, &step.action));
            }
        }
    }

    /// What Markdown makes no block of (link definitions) is the author's all the same.
    fn gap(&mut self, span: Span, sections: &mut [Section]) {
        let text = self.source.slice(span);
        let blank = text.len() - text.trim_start().len();
        let span = trimmed(&self.source.text, Span::new(span.start + blank, span.end));
        if let (false, Some(section)) = (span.start == span.end, sections.last_mut()) {
            section.blocks.push(Block::Prose(Prose { span, live: Vec::new() }));
        }
    }

    fn block(&mut self, node: &Node, section: &mut Section) {
        let instructions = section.kind != SectionKind::Prose;
        let block = match node.kind {
            BlockKind::Heading(level) => {
                let heading = heading::read(self.source, node.span, level);
                heading::misplaced(&heading, &mut self.findings);
                Block::Heading(heading)
            }
            BlockKind::List if instructions => {
                let steps = self.steps(node);
                if steps.is_empty() {
                    return;
                }
                Block::Steps(steps)
            }
            _ => {
                self.never_closed(node);
                if instructions {
                    self.hidden_instruction(node);
                }
                Block::Prose(Prose { span: node.span, live: self.live(node.span) })
            }
        };
        section.blocks.push(block);
    }

    // --- instructions ---

    fn steps(&mut self, list: &Node) -> Vec<Step> {
        let mut steps = Vec::new();
        for item in &list.children {
            if self.findings.len() >= MAX_FINDINGS {
                break;
            }
            steps.extend(self.item(item));
        }
        steps
    }

    /// The instructions of a list item: none where it cannot be read.
    fn item(&mut self, item: &Node) -> Vec<Step> {
        let start = item.span.start + marker_length(self.source.slice(item.span));
        let mut inner = item.children.iter().peekable();
        inner.next_if(|child| child.kind == BlockKind::Paragraph);
        let own_end = inner.peek().map_or(item.span.end, |next| next.span.start);
        let own = trimmed(&self.source.text, Span::new(start.min(own_end), own_end));
        let mut nested = Vec::new();
        let mut list = None;
        if own.start == own.end {
            self.nothing_said(own.start, inner.next());
            return Vec::new();
        }
        for child in inner {
            if child.kind == BlockKind::List {
                list.get_or_insert(child.span);
                nested.append(&mut self.steps(child));
            } else {
                self.beside_instruction(child);
            }
        }
        let mut read = match step::item(self.source.slice(own), own.start, &self.vocabulary) {
            Ok(steps) => steps,
            Err(finding) => {
                let finding = self.ran_on(own, finding);
                self.findings.push(if list.is_some() {
                    finding.help(ROW_GOES_ON)
                } else {
                    finding
                });
                return Vec::new();
            }
        };
        let Some(last) = read.last_mut() else { return Vec::new() };
        last.span = Span::new(last.span.start, own.end);
        let takes_list = matches!(last.action, Action::Part { .. } | Action::Together);
        match list {
            Some(list) if !takes_list => {
                self.findings.push(list_where_none_goes(own, list));
                return Vec::new();
            }
            None if takes_list => {
                self.findings.push(
                    Finding::new(Code::Syntax, own, "no instructions stand under this one")
                        .label("expected a list below")
                        .help("indent its instructions below it, each with a mark of its own"),
                );
                return Vec::new();
            }
            _ => {}
        }
        last.steps = nested;
        read
    }

    /// An item that begins with something else than words.
    fn nothing_said(&mut self, at: usize, child: Option<&Node>) {
        let Some(child) = child else {
            self.findings.push(
                Finding::new(Code::Syntax, Span::at(at), "an instruction is empty")
                    .label("nothing here")
                    .help("write the instruction, or take the mark away"),
            );
            return;
        };
        let first = self.source.slice(child.span).chars().next();
        let mark = Span::new(child.span.start, child.span.start + first.map_or(0, char::len_utf8));
        let star = child.kind == BlockKind::List && first == Some('*');
        let finding = Finding::new(
            Code::Syntax,
            mark,
            format!("an instruction that begins like this reads as {}", child.kind.said()),
        )
        .label("read as Markdown");
        self.findings.push(if star {
            let space = self.source.slice(child.span);
            let space = space
                .get(1..)
                .map_or(0, |rest| rest.len() - rest.trim_start_matches([' ', '\t']).len());
            finding
                .help("write the star right before the stitch: `*k2, p2; rep from *`")
                .patch(Span::new(mark.end, mark.end + space), "")
        } else if child.kind == BlockKind::IndentedCode {
            finding.help("leave one space after the mark of the list")
        } else {
            finding.help("begin the instruction with a word, right after the mark of the list")
        });
    }

    /// A paragraph, quotation, table ... within an instruction.
    fn beside_instruction(&mut self, child: &Node) {
        let (start, end) = (child.span.start, child.span.end);
        let line = self.source.slice(child.span).lines().next().map_or(0, str::len);
        let finding = Finding::new(
            Code::Syntax,
            Span::new(start, (start + line).min(end)),
            format!("{} stands within an instruction", child.kind.said()),
        )
        .label("not part of it");
        self.findings.push(finding.help(
            "to say more about an instruction, write it after a `;`; to go on with prose, begin the line at the margin",
        ));
    }

    /// A line at the margin right after an item belongs to it; a slip there is most likely prose.
    fn ran_on(&self, own: Span, finding: Finding) -> Finding {
        let place = finding.place().start;
        let text = &self.source.text;
        let line = lines_from(text, own.start)
            .take_while(|line| line.start <= place)
            .last()
            .filter(|line| line.start > own.start && line.start < own.end);
        let at_margin = line
            .is_some_and(|line| self.source.slice(line).starts_with(|c: char| !c.is_whitespace()));
        if at_margin {
            finding.help("if a paragraph begins here, leave a blank line before it")
        } else {
            finding
        }
    }

    /// Code and comments that are not closed reach to the end of the file.
    fn never_closed(&mut self, node: &Node) {
        let written = self.source.slice(node.span);
        let (open, close, what, help) = match node.kind {
            BlockKind::FencedCode => {
                let fence = if written.starts_with('~') { '~' } else { '`' };
                let length = written.len() - written.trim_start_matches(fence).len();
                let fence = written.get(..length).unwrap_or_default();
                (fence, fence, "block of code", "close it with a line of the same marks")
            }
            BlockKind::Html if written.starts_with("<!--") => {
                ("<!--", "-->", "comment", "close it with `-->`")
            }
            _ => return,
        };
        if written.get(open.len()..).is_some_and(|rest| rest.contains(close)) {
            return;
        }
        let mark = Span::new(node.span.start, node.span.start + open.len());
        let finding = Finding::new(Code::Syntax, mark, format!("this {what} is never closed"))
            .label("opened here")
            .note("all that follows it is part of it");
        self.findings.push(finding.help(help));
    }

    /// An instruction in code by indentation, or right after HTML, is none.
    fn hidden_instruction(&mut self, node: &Node) {
        let (message, label, help) = match node.kind {
            BlockKind::IndentedCode => (
                "an instruction that is indented this far reads as a block of code",
                "indented too far",
                "begin the list at the margin",
            ),
            BlockKind::Html => (
                "an instruction right after HTML is part of it",
                "not read",
                "leave a blank line before the list",
            ),
            _ => return,
        };
        let marked = lines_from(&self.source.text, node.span.start)
            .take_while(|line| line.start < node.span.end)
            .map(|line| {
                let indent = line.end - line.start - self.source.slice(line).trim_start().len();
                trimmed(&self.source.text, Span::new(line.start + indent, line.end))
            })
            .find(|&line| {
                ["- ", "* ", "+ "].iter().any(|m| self.source.slice(line).starts_with(m))
            });
        if let Some(line) = marked {
            self.findings.push(Finding::new(Code::Syntax, line, message).label(label).help(help));
        }
    }

    // --- prose ---

    /// The live numbers of some prose.
    fn live(&mut self, span: Span) -> Vec<Live> {
        let mut live = Vec::new();
        let mut at = span.start;
        let mut opaque = self.opaque.partition_point(|o| o.end <= span.start);
        while let Some(found) = self.source.slice(Span::new(at, span.end)).find(['{', '\\']) {
            let mark = at + found;
            while self.opaque.get(opaque).is_some_and(|o| o.end <= mark) {
                opaque += 1;
            }
            if let Some(code) = self.opaque.get(opaque).filter(|o| o.start <= mark) {
                at = code.end.min(span.end);
                continue;
            }
            let rest = self.source.slice(Span::new(mark + 1, span.end));
            if self.source.slice(Span::new(mark, mark + 1)) == "\\" {
                let escaped = rest.chars().next().filter(char::is_ascii_punctuation);
                at = mark + 1 + escaped.map_or(0, char::len_utf8);
                continue;
            }
            if self.findings.len() >= MAX_FINDINGS {
                break;
            }
            let length =
                rest.find(['{', '}']).filter(|&end| rest.as_bytes().get(end) == Some(&b'}'));
            let Some(length) = length else {
                self.findings.push(
                    Finding::new(Code::Syntax, Span::new(mark, mark + 1), "`{` is not closed")
                        .label("opened here")
                        .help("close the number with `}`; for a brace in the text, write `\\{`"),
                );
                break;
            };
            let whole = Span::new(mark, mark + 1 + length + 1);
            match measure::live(rest.get(..length).unwrap_or(""), mark + 1) {
                Ok(value) => live.push(Live { span: whole, value }),
                Err(finding) => {
                    self.findings.push(finding.help("for a brace in the text, write `\\{`"));
                }
            }
            at = whole.end;
        }
        live
    }
}

fn close(sections: &mut [Section], end: usize) {
    if let Some(last) = sections.last_mut() {
        last.span = Span::new(last.span.start, end.max(last.span.start));
    }
}

/// The length of the mark of a list item and the blank space after it.
fn marker_length(item: &str) -> usize {
    let digits = item.len() - item.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    let after = item.get(digits..).unwrap_or("").strip_prefix(['-', '*', '+', '.', ')']);
    let after = after.unwrap_or(item).trim_start();
    item.len() - after.len()
}

const ROW_GOES_ON: &str =
    "if a row goes on below, do not begin its next line with `*`, `-` or `+` and a space";

fn list_where_none_goes(own: Span, list: Span) -> Finding {
    Finding::new(
        Code::Syntax,
        Span::at(list.start),
        "a list stands under an instruction that takes none",
    )
    .label("this list")
    .also(own, "takes no list")
    .help("a list goes under `left shoulder:`, `each side:` or `at the same time:`")
    .help(ROW_GOES_ON)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::syntax::{outline, parse};

    /// The outline of a body under the least front matter, and the findings' messages.
    fn outline_of(body: &str) -> String {
        let source = Source::new("t", format!("---\ntitle: T\n---\n{body}"));
        let parsed = parse(&source);
        let tree = parsed.document.map(|document| outline::tree(&document, &source));
        let said = parsed.findings.iter().map(|f| format!("! {}\n", f.message));
        tree.unwrap_or_default() + &said.collect::<String>()
    }

    #[test]
    fn headings_make_sections_and_lists_make_instructions() {
        insta::assert_snapshot!(outline_of("# Slipway Cap\n\nA close cap.\n\n## Cap, in the round\n\nWith a stretchy cast-on:\n\n- cast on 96\n- join in the round\n\n### Crown\n\n1. bind off all\n\n## Finishing\n\n- weave in ends\n"), @r#"
        opening
          heading 1 "Slipway Cap"
          prose "A close cap."
        piece "Cap" round x1
          prose "With a stretchy cast-on:"
          steps
            cast-on "cast on 96"
            join-round "join in the round"
          heading 3 "Crown"
          steps
            bind-off "bind off all"
        prose "Finishing"
          prose "- weave in ends"
        "#);
        insta::assert_snapshot!(outline_of("## Sleeve, lower, Flat, make 2\n- bind off all\n\nLattice, fabric\n---------------\n- row 1: k1\n"), @r#"
        opening
        piece "Sleeve, lower" flat x2
          steps
            bind-off "bind off all"
        fabric "Lattice"
          steps
            row "row 1: k1"
        "#);
    }

    #[test]
    fn nested_lists_belong_to_their_instruction() {
        insta::assert_snapshot!(outline_of("## Back, flat\n\n- left shoulder:\n  - k2, p2,\n    k2\n  - at the same time:\n    - bind off all\n\n  - *k2, p2; rep from *\n- [k1, p1] twice\n"), @r#"
        opening
        piece "Back" flat x1
          steps
            part "left shoulder:"
              row "k2, p2,\n    k2"
              together "at the same time:"
                bind-off "bind off all"
              row "*k2, p2; rep from *"
            row "[k1, p1] twice"
        "#);
    }

    #[test]
    fn markdown_does_not_see_stars_and_brackets_of_an_instruction() {
        insta::assert_snapshot!(outline_of("## Back, flat\n\n- *k2, p2; rep from * to last 2 sts, k2\n- [k1, p1] twice, *k2, [p1, k1] twice; rep from * 3 times\n- note: k1 `p1` <b> [k1]\n\n[k1, p1]: elsewhere\n"), @r#"
        opening
        piece "Back" flat x1
          steps
            row "*k2, p2; rep from * to last 2 sts, k2"
            row "[k1, p1] twice, *k2, [p1, k1] twice; rep from * 3 times"
            say "note: k1 `p1` <b> [k1]"
          prose "[k1, p1]: elsewhere"
        "#);
    }

    #[test]
    fn live_numbers_are_found_in_prose_alone() {
        insta::assert_snapshot!(outline_of("Of {96 (104)} or \\{96}, `{96}` or {20 cm}.\n\n> {brim}\n\n| a {1} |\n|---|\n| {2} |\n\n    {3}\n\n<p>{4}</p>\n\n- {5}\n"), @r#"
        opening
          prose "Of {96 (104)} or \\{96}, `{96}` or {20 cm}." live {96 (104)} live {20 cm}
          prose "> {brim}" live {brim}
          prose "| a {1} |\n|---|\n| {2} |" live {1} live {2}
          prose "{3}"
          prose "<p>{4}</p>"
          prose "- {5}" live {5}
        "#);
    }

    #[test]
    fn a_byte_order_mark_and_long_line_ends_change_nothing() {
        let text = "---\ntitle: T\n---\n# T\n\n{96} sts\n\n## Back, flat\n\n- cast on 96\n  in body\n- left shoulder:\n  - bind off all\n";
        let plain = Source::new("t", text);
        let other = Source::new("t", format!("\u{feff}{}", text.replace('\n', "\r\n")));
        let tree = |source: &Source| {
            let parsed = parse(source);
            assert_eq!(parsed.findings, []);
            parsed.document.map(|d| outline::tree(&d, source).replace("\\r\\n", "\\n"))
        };
        assert_eq!(tree(&plain), tree(&other));
        assert!(tree(&plain).is_some());
    }

    #[test]
    fn what_markdown_makes_no_block_of_is_kept_as_prose() {
        insta::assert_snapshot!(outline_of("[a]: one\n\n## Cap, flat\n\n- |\n\n[b]: two\n|---\n"), @r#"
        opening
          prose "[a]: one"
        piece "Cap" flat x1
          prose "[b]: two"
          prose "|---"
        ! expected an instruction, but found `|`
        "#);
    }
}
