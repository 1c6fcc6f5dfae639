//! The author's own words, and the numbers that stand in them as plain text.
//!
//! A passage is a paragraph, a table, a quotation or the remark of a step.
//! What is not words (live numbers, code, HTML, addresses of links) is masked
//! out byte for byte, so that places found in the rest are places in the
//! source. Nothing here decides what a number means.

use crate::source::{Source, Span};
use crate::syntax::measure;
use crate::syntax::tree::{Block, Counts, Document, Lengths, Prose, Section, Step};

/// What a masked byte becomes: no letter, no digit, no blank.
const MASK: u8 = 1;

/// A stretch of the author's own words.
pub(super) struct Passage<'d> {
    /// The section it stands in, and its place in the pattern.
    pub(super) section: &'d Section,
    pub(super) section_place: usize,
    /// Where it begins in the source.
    pub(super) start: usize,
    /// The words, with everything that is not words masked.
    pub(super) words: String,
}

/// A number in a passage.
pub(super) enum Number {
    /// A count; its noun is not looked at here.
    Counts(Counts),
    /// A length: the number has a unit.
    Lengths(Lengths),
}

impl Number {
    /// Where it stands.
    pub(super) fn span(&self) -> Span {
        match self {
            Self::Counts(counts) => counts.span,
            Self::Lengths(lengths) => {
                let also = lengths.also.as_ref().map_or(lengths.span, |also| also.span);
                lengths.span.to(also)
            }
        }
    }
}

impl Passage<'_> {
    /// The words before a place in the source.
    pub(super) fn before(&self, place: usize) -> &str {
        self.words.get(..place.saturating_sub(self.start)).unwrap_or("")
    }

    /// The words after a place in the source.
    pub(super) fn after(&self, place: usize) -> &str {
        self.words.get(place.saturating_sub(self.start)..).unwrap_or("")
    }

    /// Every number written in digits, in order.
    pub(super) fn numbers(&self) -> Vec<Number> {
        let bytes = self.words.as_bytes();
        let mut numbers = Vec::new();
        let mut at = 0;
        while let Some(&byte) = bytes.get(at) {
            let begins = byte.is_ascii_digit() && self.may_begin(at);
            let number = begins.then(|| self.number(at)).flatten();
            at = match &number {
                Some(number) => number.span().end.saturating_sub(self.start).max(at + 1),
                // The rest of a number that is none of ours.
                None if byte.is_ascii_digit() => {
                    at + bytes.iter().skip(at).take_while(|b| b.is_ascii_digit()).count()
                }
                None => at + 1,
            };
            numbers.extend(number);
        }
        numbers
    }

    /// Whether a number may begin here: not in the middle of a word or of another number.
    fn may_begin(&self, at: usize) -> bool {
        let before = self.words.get(..at).and_then(|words| words.chars().next_back());
        before.is_none_or(|c| !c.is_alphanumeric() && !".,/-–#$£€+×".contains(c))
    }

    fn number(&self, at: usize) -> Option<Number> {
        let text = self.words.get(at..)?;
        let place = self.start + at;
        if let Some(lengths) = measure::lengths_at(text, place) {
            return Some(Number::Lengths(self.with_bracket(lengths)));
        }
        measure::counts_at(text, place).map(Number::Counts)
    }

    /// `38 cm [15 in]`: in prose a second unit may stand in square brackets too.
    fn with_bracket(&self, mut lengths: Lengths) -> Lengths {
        let after = self.after(lengths.span.end);
        let inside = after.trim_start().strip_prefix('[').filter(|_| lengths.also.is_none());
        let Some(inside) = inside else { return lengths };
        let place = lengths.span.end + (after.len() - inside.len());
        let also = measure::lengths_at(inside, place);
        lengths.also = also.filter(|also| self.after(also.span.end).starts_with(']')).map(Box::new);
        lengths
    }
}

/// Every passage of a pattern, in order.
pub(super) fn passages<'d>(source: &Source, document: &'d Document) -> Vec<Passage<'d>> {
    let mut passages = Vec::new();
    for (place, section) in document.sections.iter().enumerate() {
        let mut add = |prose: &Prose| passages.extend(passage(source, (place, section), prose));
        for block in &section.blocks {
            match block {
                Block::Heading(_) => {}
                Block::Prose(prose) => add(prose),
                Block::Steps(steps) => steps.iter().for_each(|step| remarks(step, &mut add)),
            }
        }
    }
    passages
}

fn remarks(step: &Step, add: &mut impl FnMut(&Prose)) {
    step.remark.iter().for_each(&mut *add);
    step.steps.iter().for_each(|inner| remarks(inner, add));
}

fn passage<'d>(
    source: &Source,
    (section_place, section): (usize, &'d Section),
    prose: &Prose,
) -> Option<Passage<'d>> {
    let text = source.slice(prose.span);
    if text.starts_with('<') || is_code(source, prose.span) {
        return None;
    }
    let live = prose.live.iter().map(|live| live.span);
    let inline = not_words(text).into_iter().map(|span| span.shifted(prose.span.start));
    let mut words = text.as_bytes().to_vec();
    for span in live.chain(inline) {
        let from = span.start.saturating_sub(prose.span.start);
        let to = span.end.saturating_sub(prose.span.start);
        words.get_mut(from..to).into_iter().flatten().for_each(|byte| *byte = MASK);
    }
    let words = String::from_utf8(words).ok()?;
    Some(Passage { section, section_place, start: prose.span.start, words })
}

/// Whether a block is code: between fences, or indented.
fn is_code(source: &Source, span: Span) -> bool {
    let text = source.slice(span);
    let line = source.text.get(..span.start).and_then(|before| before.rsplit('\n').next());
    let indent = line.unwrap_or("");
    text.starts_with("```")
        || text.starts_with("~~~")
        || (indent.trim().is_empty() && (indent.len() >= 4 || indent.contains('\t')))
}

/// The places of code, HTML and addresses within a line of prose.
fn not_words(text: &str) -> Vec<Span> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(next) = text.get(at..).and_then(|rest| rest.find(['`', '<', ']', 'h'])) {
        let open = at + next;
        let rest = text.get(open..).unwrap_or("");
        let length = match rest.as_bytes().first() {
            Some(b'`') => code_length(rest),
            Some(b'<') => html_length(rest),
            Some(b']') if rest.starts_with("](") => rest.find(')').map(|end| end + 1),
            Some(b'h') if rest.starts_with("http://") || rest.starts_with("https://") => {
                Some(rest.find(char::is_whitespace).unwrap_or(rest.len()))
            }
            _ => None,
        };
        found.extend(length.map(|length| Span::new(open, open + length)));
        at = open + length.unwrap_or(1);
    }
    found
}

/// The length of a span of code, with its backticks.
fn code_length(text: &str) -> Option<usize> {
    let ticks = text.len() - text.trim_start_matches('`').len();
    let fence = text.get(..ticks)?;
    let end = text.get(ticks..)?.find(fence)?;
    Some(ticks + end + ticks)
}

/// The length of a comment or a tag.
fn html_length(text: &str) -> Option<usize> {
    if text.starts_with("<!--") {
        return text.find("-->").map(|end| end + 3);
    }
    let second = text.chars().nth(1)?;
    (second.is_ascii_alphabetic() || second == '/')
        .then(|| text.find('>').map(|end| end + 1))
        .flatten()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::syntax::parse;

    fn numbers(body: &str) -> Vec<String> {
        let source = Source::new("t", format!("---\ntitle: T\n---\n\n{body}\n"));
        let document = parse(&source).document.expect("a pattern");
        let passages = passages(&source, &document);
        passages
            .iter()
            .flat_map(Passage::numbers)
            .map(|number| source.slice(number.span()).to_owned())
            .collect()
    }

    #[test]
    fn numbers_are_found_where_they_stand() {
        assert_eq!(numbers("About 96 (104, 112) sts, 20 rows."), ["96 (104, 112)", "20"]);
        let two_units = numbers("It is 38 cm (15 in) long, or 15 in [38 cm].");
        assert_eq!(two_units, ["38 cm (15 in", "15 in [38 cm"]);
        assert_eq!(numbers("12 (13, 14) cm"), ["12 (13, 14) cm"]);
    }

    #[test]
    fn what_is_not_words_is_passed_over() {
        assert_eq!(numbers("`k 96` and {96} and <b id=\"7\">8</b>"), ["8"]);
        assert_eq!(numbers("[a page](b/96) https://c.example/97 98"), ["98"]);
        assert_eq!(numbers("<!-- 96 -->"), [""; 0]);
        assert_eq!(numbers("```\n96 sts\n```"), [""; 0]);
        assert_eq!(numbers("k96 2/2 RC v1.5 #4"), ["2"]);
    }
}
