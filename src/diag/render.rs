//! Findings as people and programs read them: text with the source line and a
//! caret, JSON, and a line that sums up.
//!
//! Only this module names the library that draws the carets. It never fails:
//! a place that lies outside the text, or splits a character, is moved to the
//! nearest place that can be shown.

use super::{File, Finding, Label, Patch, Severity, words};
use crate::source::{Source, Span};
use annotate_snippets::{Annotation, AnnotationKind, Group, Level, Renderer, Snippet};
use serde_json::{Value, json};
use std::ops::Range;

/// How many findings [`text`] shows at most. Errors are preferred to warnings,
/// and warnings to notes; the rest are counted. [`json()`] has no such limit.
pub const SHOWN_AT_MOST: usize = 40;

/// A place that runs over more lines than this is shown by its first line only.
const LINES_MARKED_AT_MOST: usize = 4;

/// Columns after which a long source line is cut around its marks.
const WIDTH: usize = 120;

/// How text is to look.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Style {
    /// With the escape codes of a terminal.
    pub color: bool,
}

impl Style {
    fn renderer(self) -> Renderer {
        let renderer = if self.color { Renderer::styled() } else { Renderer::plain() };
        renderer.hyperlink(false).term_width(WIDTH)
    }
}

/// Something that is no finding, since it has no place in a text, in the look of findings.
#[must_use]
pub fn message(severity: Severity, message: &str, help: Option<&str>, style: Style) -> String {
    let renderer = style.renderer();
    let said = severity.level().primary_title(message);
    let help = help.map(|help| Level::HELP.primary_title(help));
    let lines = [Some(said), help].into_iter().flatten();
    lines.map(|line| renderer.render(&[Group::with_title(line)]) + "\n").collect()
}

/// The findings as text, in the order given, a blank line between them; empty where there are none.
///
/// At most [`SHOWN_AT_MOST`] are shown, and the last line then says how many more there are.
#[must_use]
pub fn text(
    findings: &[Finding],
    pattern: &Source,
    targets: Option<&Source>,
    style: Style,
) -> String {
    let renderer =
        if style.color { Renderer::styled().hyperlink(false) } else { Renderer::plain() }
            .term_width(WIDTH);
    let files = Files { pattern, targets };
    let shown = most_important(findings);
    let mut out: Vec<String> =
        shown.iter().map(|finding| one(finding, files, &renderer) + "\n").collect();
    let more = findings.len() - shown.len();
    if more > 0 {
        out.push(format!("... and {more} more\n"));
    }
    out.join("\n")
}

/// The findings as a JSON array, in the order given.
///
/// Lines and columns count from 1, columns in characters; `bytes` is the half-open range of bytes
/// from 0. `line` and the others are `null` where the file of a place is not at hand.
#[must_use]
pub fn json(findings: &[Finding], pattern: &Source, targets: Option<&Source>) -> Value {
    let files = Files { pattern, targets };
    findings.iter().map(|finding| files.finding(finding)).collect()
}

/// `2 errors, 1 warning`, or `no findings`.
#[must_use]
pub fn summary(findings: &[Finding]) -> String {
    let kinds = [Severity::Error, Severity::Warning, Severity::Note];
    let counted: Vec<String> = kinds
        .into_iter()
        .map(|kind| (findings.iter().filter(|f| f.severity == kind).count(), kind))
        .filter(|(n, _)| *n > 0)
        .map(|(n, kind)| words::count(i64::try_from(n).unwrap_or(i64::MAX), kind.word()))
        .collect();
    if counted.is_empty() { "no findings".to_owned() } else { counted.join(", ") }
}

impl Severity {
    fn level(self) -> Level<'static> {
        match self {
            Self::Error => Level::ERROR,
            Self::Warning => Level::WARNING,
            Self::Note => Level::NOTE,
        }
    }
}

/// As many as may be shown, the gravest kept, the order kept.
fn most_important(findings: &[Finding]) -> Vec<&Finding> {
    let mut places: Vec<usize> = (0..findings.len()).collect();
    places.sort_by_key(|&i| findings.get(i).map(|finding| finding.severity));
    places.truncate(SHOWN_AT_MOST);
    places.sort_unstable();
    places.into_iter().filter_map(|i| findings.get(i)).collect()
}

/// One finding with its snippets, notes, help and mend.
fn one(finding: &Finding, files: Files<'_>, renderer: &Renderer) -> String {
    let title = finding.severity.level().primary_title(&finding.message).id(finding.code.name());
    let mut report = Group::with_title(title);
    let mut notes = Vec::new();
    for (file, labels) in by_file(&finding.labels) {
        match files.get(file) {
            Some(source) => {
                let main = file == finding.file();
                report = report.element(marked(source, &labels, main));
            }
            None => notes.extend(
                labels
                    .iter()
                    .filter(|label| !label.text.is_empty())
                    .map(|label| label.text.clone()),
            ),
        }
    }
    notes.extend(in_sizes(&finding.sizes));
    notes.extend(finding.notes.iter().cloned());
    report = report.elements(notes.into_iter().map(|note| Level::NOTE.message(note)));

    let mend = finding.patch.as_ref().zip(files.get(finding.file()));
    let (heading, rest) = match (&mend, finding.help.as_slice()) {
        (Some((patch, _)), []) => (describe(patch), [].as_slice()),
        (Some(_), [first, rest @ ..]) => (first.clone(), rest),
        (None, all) => (String::new(), all),
    };
    report = report.elements(rest.iter().map(|help| Level::HELP.message(help)));
    let mut groups = vec![report];
    if let Some((patch, source)) = mend {
        groups.push(Level::HELP.secondary_title(heading).element(mended(source, patch)));
    }
    renderer.render(&groups)
}

/// The labels of each file, the main place's file first.
fn by_file(labels: &[Label]) -> Vec<(File, Vec<&Label>)> {
    let mut files: Vec<(File, Vec<&Label>)> = Vec::new();
    for label in labels {
        match files.iter_mut().find(|(file, _)| *file == label.file) {
            Some((_, known)) => known.push(label),
            None => files.push((label.file, vec![label])),
        }
    }
    files
}

fn in_sizes(sizes: &[String]) -> Option<String> {
    let word = if sizes.len() == 1 { "size" } else { "sizes" };
    (!sizes.is_empty()).then(|| format!("in {word} {}", words::list(sizes, "and")))
}

fn describe(patch: &Patch) -> String {
    match (patch.span.start == patch.span.end, patch.replacement.trim()) {
        (true, added) => format!("add `{added}`"),
        (false, "") => "take it out".to_owned(),
        (false, new) => format!("write `{new}`"),
    }
}

/// The lines of a file that its labels touch, marked.
fn marked<'a>(source: &'a Source, labels: &[&'a Label], main: bool) -> Snippet<'a, Annotation<'a>> {
    let spans: Vec<Span> = labels.iter().map(|label| showable(source, label.span)).collect();
    let excerpt = Excerpt::around(source, &spans);
    let marks = labels.iter().zip(&spans).enumerate().map(|(i, (label, span))| {
        let kind = if main && i == 0 { AnnotationKind::Primary } else { AnnotationKind::Context };
        let text = (!label.text.is_empty()).then_some(label.text.as_str());
        kind.span(excerpt.inside(*span)).label(text)
    });
    Snippet::source(excerpt.text).line_start(excerpt.line).path(&source.name).annotations(marks)
}

/// The lines a mend touches, mended.
fn mended<'a>(source: &'a Source, patch: &'a Patch) -> Snippet<'a, annotate_snippets::Patch<'a>> {
    let span = within(source, patch.span);
    let excerpt = Excerpt::around(source, &[span]);
    let change = annotate_snippets::Patch::new(excerpt.inside(span), &patch.replacement);
    Snippet::source(excerpt.text).line_start(excerpt.line).path(&source.name).patch(change)
}

/// Whole lines of a source.
#[derive(Clone, Copy)]
struct Excerpt<'a> {
    text: &'a str,
    /// The number of its first line.
    line: usize,
    /// Where it begins in the source.
    start: usize,
}

impl<'a> Excerpt<'a> {
    fn around(source: &'a Source, spans: &[Span]) -> Self {
        let text = source.text.as_str();
        let first = spans.iter().map(|span| span.start).min().unwrap_or(0);
        let last = spans.iter().map(|span| span.end).max().unwrap_or(0);
        let before = text.get(..first).unwrap_or("");
        let start = before.rfind('\n').map_or_else(|| text_start(text), |newline| newline + 1);
        let end = text
            .get(last..)
            .and_then(|rest| rest.find('\n'))
            .map_or(text.len(), |newline| last + newline + 1);
        let (line, _) = source.line_column(start);
        Self { text: text.get(start..end).unwrap_or(""), line, start }
    }

    /// A span of the source as a range of the excerpt.
    fn inside(&self, span: Span) -> Range<usize> {
        let inside = |offset: usize| offset.saturating_sub(self.start).min(self.text.len());
        inside(span.start)..inside(span.end)
    }
}

/// Past the byte-order mark, where there is one: it has no width and no column.
fn text_start(text: &str) -> usize {
    if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 }
}

/// The span on character boundaries of the text, after its byte-order mark.
fn within(source: &Source, span: Span) -> Span {
    let text = source.text.as_str();
    let is_boundary = |&offset: &usize| text.is_char_boundary(offset);
    let start = (0..=span.start.min(text.len())).rev().find(is_boundary).unwrap_or(0);
    let end = (span.end..text.len()).find(is_boundary).unwrap_or(text.len());
    let start = start.max(text_start(text));
    Span::new(start, end.max(start))
}

/// What of a span can be marked: no line ends around it, a few lines at most, and the end of the
/// last line where it lies behind that.
fn showable(source: &Source, span: Span) -> Span {
    let text = source.text.as_str();
    let Span { mut start, mut end } = within(source, span);
    let is_line_end = |c| c == '\n' || c == '\r';
    if start == text.len() {
        let lines = text.trim_end_matches(is_line_end);
        start = lines.len().max(text_start(text));
    } else if text.get(start..).is_some_and(|rest| rest.starts_with('\n'))
        && text.get(..start).is_some_and(|before| before.ends_with('\r'))
    {
        start -= 1;
    }
    let marked = text.get(start..end).unwrap_or("");
    let kept = marked.trim_end_matches(is_line_end);
    end = start + kept.len();
    if kept.lines().count() > LINES_MARKED_AT_MOST {
        end = start + kept.lines().next().map_or(0, str::len);
    }
    Span::new(start, end)
}

/// The texts that places point into.
#[derive(Clone, Copy)]
struct Files<'a> {
    pattern: &'a Source,
    targets: Option<&'a Source>,
}

impl<'a> Files<'a> {
    fn get(self, file: File) -> Option<&'a Source> {
        match file {
            File::Pattern => Some(self.pattern),
            File::Targets => self.targets,
        }
    }

    fn finding(self, finding: &Finding) -> Value {
        let mut value = json!({
            "code": finding.code.name(),
            "severity": finding.severity.word(),
            "message": finding.message,
        });
        let place = self.place(finding.file(), finding.place());
        let labels: Vec<Value> = finding
            .labels
            .iter()
            .map(|label| {
                let mut place = self.place(label.file, label.span);
                place["text"] = json!(label.text);
                place
            })
            .collect();
        let patch = finding.patch.as_ref().map(|patch| {
            let mut place = self.place(finding.file(), patch.span);
            place["replacement"] = json!(patch.replacement);
            place
        });
        merge(&mut value, place);
        merge(
            &mut value,
            json!({
                "labels": labels,
                "sizes": finding.sizes,
                "notes": finding.notes,
                "help": finding.help,
                "patch": patch,
            }),
        );
        value
    }

    fn place(self, file: File, span: Span) -> Value {
        let source = self.get(file);
        let (from, to) = source.map_or((None, None), |source| {
            let start = showable(source, span).start;
            let end = if span.start == span.end { start } else { within(source, span).end };
            (Some(source.line_column(start)), Some(source.line_column(end)))
        });
        json!({
            "file": source.map(|source| &source.name),
            "line": from.map(|(line, _)| line),
            "column": from.map(|(_, column)| column),
            "end_line": to.map(|(line, _)| line),
            "end_column": to.map(|(_, column)| column),
            "bytes": [span.start, span.end],
        })
    }
}

/// Adds the keys of one object to another.
fn merge(object: &mut Value, more: Value) {
    if let (Value::Object(object), Value::Object(more)) = (object, more) {
        object.extend(more);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::Code;
    use insta::assert_snapshot;
    use proptest::prelude::*;

    const CAP: &str = "## Cap, in the round\n\n- cast on 98 in brim\n- k2 p2 rib for 5 cm\n";

    fn cap() -> Source {
        Source::new("slipway-cap.wale", CAP)
    }

    fn span(text: &str, part: &str) -> Span {
        let start = text.find(part).expect("the part is in the text");
        Span::new(start, start + part.len())
    }

    fn plain(finding: Finding, source: &Source) -> String {
        text(&[finding], source, None, Style::default())
    }

    fn uneven() -> Finding {
        Finding::new(
            Code::RepeatUneven,
            span(CAP, "k2 p2 rib"),
            "`k2 p2 rib` needs a multiple of 4, but there are 98 stitches",
        )
        .label("2 stitches over")
        .also(span(CAP, "98"), "cast on here")
        .sizes(vec!["child".into(), "small".into()])
        .note("98 is 24 times 4 and 2 more")
        .help("cast on 96 or 100")
    }

    #[test]
    fn a_finding_shows_its_place_its_reasons_and_its_help() {
        assert_snapshot!(plain(uneven(), &cap()), @"
        error[repeat-uneven]: `k2 p2 rib` needs a multiple of 4, but there are 98 stitches
         --> slipway-cap.wale:4:3
          |
        3 | - cast on 98 in brim
          |           -- cast on here
        4 | - k2 p2 rib for 5 cm
          |   ^^^^^^^^^ 2 stitches over
          |
          = note: in sizes child and small
          = note: 98 is 24 times 4 and 2 more
          = help: cast on 96 or 100
        ");
    }

    #[test]
    fn a_certain_mend_is_shown_as_the_mended_line() {
        let text = "- k2tgo, knit to end\n";
        let finding =
            Finding::new(Code::UnknownStitch, span(text, "k2tgo"), "`k2tgo` is not known")
                .help("a similar abbreviation is `k2tog`")
                .patch(span(text, "k2tgo"), "k2tog");
        assert_snapshot!(plain(finding, &Source::new("mitts.wale", text)), @"
        error[unknown-stitch]: `k2tgo` is not known
         --> mitts.wale:1:3
          |
        1 | - k2tgo, knit to end
          |   ^^^^^
          |
        help: a similar abbreviation is `k2tog`
          |
        1 - - k2tgo, knit to end
        1 + - k2tog, knit to end
          |
        ");
    }

    #[test]
    fn an_addition_and_a_removal_say_so_themselves() {
        let text = "- cast on 40 sts sts\n";
        let source = Source::new("mitts.wale", text);
        let added =
            Finding::new(Code::Syntax, Span::at(12), "expected a word").patch(Span::at(12), " new");
        assert_snapshot!(plain(added, &source), @"
        error[syntax]: expected a word
         --> mitts.wale:1:13
          |
        1 | - cast on 40 sts sts
          |             ^
          |
        help: add `new`
          |
        1 | - cast on 40 new sts sts
          |              +++
        ");
        let removed = Finding::new(Code::Syntax, Span::new(16, 20), "`sts` stands twice")
            .patch(Span::new(16, 20), "");
        assert_snapshot!(plain(removed, &source), @"
        error[syntax]: `sts` stands twice
         --> mitts.wale:1:17
          |
        1 | - cast on 40 sts sts
          |                 ^^^^
          |
        help: take it out
          |
        1 - - cast on 40 sts sts
        1 + - cast on 40 sts
          |
        ");
    }

    #[test]
    fn a_finding_may_point_into_both_files() {
        let wanted = "gauges:\n  hem: { stitches: 20 }\n";
        let targets = Source::new("donated.yaml", wanted);
        let finding =
            Finding::new(Code::UnknownName, span(wanted, "hem"), "there is no gauge `hem`")
                .in_targets()
                .label("not in the pattern")
                .also_in(File::Pattern, span(CAP, "brim"), "the pattern's band");
        let both = text(std::slice::from_ref(&finding), &cap(), Some(&targets), Style::default());
        assert_snapshot!(both, @"
        error[unknown-name]: there is no gauge `hem`
         --> donated.yaml:2:3
          |
        2 |   hem: { stitches: 20 }
          |   ^^^ not in the pattern
          |
         ::: slipway-cap.wale:3:17
          |
        3 | - cast on 98 in brim
          |                 ---- the pattern's band
        ");
        // Without the targets' text the words are kept.
        assert_snapshot!(plain(finding, &cap()), @"
        error[unknown-name]: there is no gauge `hem`
         --> slipway-cap.wale:3:17
          |
        3 | - cast on 98 in brim
          |                 ---- the pattern's band
          |
          = note: not in the pattern
        ");
    }

    #[test]
    fn color_is_the_only_difference_color_makes() {
        let colored = text(&[uneven()], &cap(), None, Style { color: true });
        assert!(colored.contains("\u{1b}["));
        let stripped = anstream::adapter::strip_str(&colored).to_string();
        assert_eq!(stripped, plain(uneven(), &cap()));
    }

    #[test]
    fn tabs_wide_characters_and_carriage_returns_keep_the_caret_in_place() {
        let text = "\u{feff}-\tcast on 模様 98\r\n- knit\r\n";
        let finding =
            Finding::new(Code::CountDiffers, span(text, "98"), "98 is not 96").label("here");
        assert_snapshot!(plain(finding, &Source::new("wide.wale", text)), @"
        error[count-differs]: 98 is not 96
         --> wide.wale:1:14
          |
        1 | -    cast on 模様 98
          |                   ^^ here
        ");
    }

    #[test]
    fn an_end_that_lies_behind_the_text_is_shown_after_its_last_line() {
        let source = Source::new("short.wale", "---\n\n");
        let end = Finding::new(Code::NoFrontMatter, Span::at(5), "the front matter has no end");
        assert_snapshot!(plain(end.clone(), &source), @"
        error[no-front-matter]: the front matter has no end
         --> short.wale:1:4
          |
        1 | ---
          |    ^
        ");
        let beyond = Finding { labels: vec![], ..end.clone() }.also(Span::new(70, 90), "");
        assert!(plain(beyond, &source).contains("short.wale:1:4"));
        let empty = Source::new("empty.wale", "");
        assert_snapshot!(plain(end, &empty), @"
        error[no-front-matter]: the front matter has no end
         --> empty.wale:1:1
          |
        1 |
          | ^
        ");
    }

    #[test]
    fn a_long_place_is_marked_by_its_first_line() {
        let text = "- one\n- two\n- three\n- four\n- five\n";
        let source = Source::new("long.wale", text);
        let whole = Finding::new(Code::NoPiece, Span::new(0, text.len()), "too long");
        assert_snapshot!(plain(whole, &source), @"
        error[no-piece]: too long
         --> long.wale:1:1
          |
        1 | - one
          | ^^^^^
        ");
        let two = Finding::new(Code::NoPiece, Span::new(0, 12), "two lines").label("both");
        assert_snapshot!(plain(two, &source), @"
        error[no-piece]: two lines
         --> long.wale:1:1
          |
        1 | / - one
        2 | | - two
          | |_____^ both
        ");
    }

    #[test]
    fn the_least_important_are_left_out_and_counted() {
        let warning = Finding::new(Code::LooseNumber, Span::at(0), "a warning");
        let error = Finding::new(Code::Syntax, Span::at(0), "an error");
        let mut findings = vec![warning; SHOWN_AT_MOST];
        findings.push(error.clone());
        findings.push(error);
        let shown = text(&findings, &cap(), None, Style::default());
        assert_eq!(shown.matches("an error").count(), 2);
        assert_eq!(shown.matches("a warning").count(), SHOWN_AT_MOST - 2);
        assert!(shown.ends_with("\n... and 2 more\n"));
        assert_eq!(json(&findings, &cap(), None).as_array().map(Vec::len), Some(SHOWN_AT_MOST + 2));
    }

    #[test]
    fn nothing_found_is_no_text() {
        assert_eq!(text(&[], &cap(), None, Style::default()), "");
        assert_eq!(summary(&[]), "no findings");
    }

    #[test]
    fn the_summary_counts_each_severity() {
        let error = uneven();
        let warning = Finding::new(Code::LooseNumber, Span::at(0), "w");
        let note = Finding::new(Code::KeptAsWritten, Span::at(0), "n");
        assert_snapshot!(summary(&[error.clone(), warning, error, note]), @"2 errors, 1 warning, 1 note");
    }

    #[test]
    fn json_says_all_that_the_text_says() {
        let finding = uneven().patch(span(CAP, "98"), "96");
        assert_snapshot!(format!("{:#}", json(&[finding], &cap(), None)), @r#"
        [
          {
            "code": "repeat-uneven",
            "severity": "error",
            "message": "`k2 p2 rib` needs a multiple of 4, but there are 98 stitches",
            "file": "slipway-cap.wale",
            "line": 4,
            "column": 3,
            "end_line": 4,
            "end_column": 12,
            "bytes": [
              45,
              54
            ],
            "labels": [
              {
                "file": "slipway-cap.wale",
                "line": 4,
                "column": 3,
                "end_line": 4,
                "end_column": 12,
                "bytes": [
                  45,
                  54
                ],
                "text": "2 stitches over"
              },
              {
                "file": "slipway-cap.wale",
                "line": 3,
                "column": 11,
                "end_line": 3,
                "end_column": 13,
                "bytes": [
                  32,
                  34
                ],
                "text": "cast on here"
              }
            ],
            "sizes": [
              "child",
              "small"
            ],
            "notes": [
              "98 is 24 times 4 and 2 more"
            ],
            "help": [
              "cast on 96 or 100"
            ],
            "patch": {
              "file": "slipway-cap.wale",
              "line": 3,
              "column": 11,
              "end_line": 3,
              "end_column": 13,
              "bytes": [
                32,
                34
              ],
              "replacement": "96"
            }
          }
        ]
        "#);
    }

    /// Text with the things that go wrong: line ends, tabs, wide, joined and missing characters.
    fn awkward_text() -> impl Strategy<Value = String> {
        let piece = prop_oneof![
            Just("\n"),
            Just("\r\n"),
            Just("\r"),
            Just("\t"),
            Just("\u{feff}"),
            Just("模"),
            Just("e\u{301}"),
            Just("👩\u{200d}🔬"),
            Just("\u{202e}"),
            Just("\0"),
            Just("// x"),
            Just("k2tog"),
            Just(" "),
            Just("("),
            Just("- cast on 96"),
            Just(
                "a very long line of words that goes on and on and on and on and on, past the edge of any screen"
            ),
        ];
        prop::collection::vec(piece, 0..24).prop_map(|pieces| pieces.concat())
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn any_place_in_any_text_can_be_shown(
            source in awkward_text(),
            targets in awkward_text(),
            places in prop::collection::vec((0..300usize, 0..300usize, any::<bool>(), "[a-z]{0,3}"), 0..5),
            patch in prop::option::of((0..300usize, 0..300usize, awkward_text())),
        ) {
            let mut finding = Finding::new(Code::Syntax, Span::at(0), "m");
            finding.labels = places
                .into_iter()
                .map(|(a, b, second, text)| Label {
                    file: if second { File::Targets } else { File::Pattern },
                    span: Span::new(a.min(b), a.max(b)),
                    text,
                })
                .collect();
            finding.patch = patch
                .map(|(a, b, replacement)| Patch { span: Span::new(a.min(b), a.max(b)), replacement });
            let source = Source::new("a.wale", source);
            let targets = Source::new("b.yaml", targets);
            let findings = [finding];
            let shown = text(&findings, &source, Some(&targets), Style::default());
            prop_assert!(shown.starts_with("error[syntax]: m"));
            // Text and JSON name the same place.
            let place = &json(&findings, &source, Some(&targets))[0];
            if let Some(file) = place["file"].as_str().filter(|_| !findings[0].labels.is_empty()) {
                let said = format!("{file}:{}:{}", place["line"], place["column"]);
                prop_assert!(shown.contains(&said), "{said} not in\n{shown}");
            }
            let colored = text(&findings, &source, None, Style { color: true });
            prop_assert!(colored.contains("syntax"));
        }
    }
}
