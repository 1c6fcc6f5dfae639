//! The page a knitter reads says what the pattern says, and any viewer shows it so.

use crate::patterns::{self, document};
use insta::assert_snapshot;
use proptest::prelude::*;
use pulldown_cmark::{Event, Parser, Tag};
use std::sync::OnceLock;
use walewright::diag::Finding;
use walewright::page;
use walewright::source::{Source, Span};
use walewright::syntax::tree::{Block, SectionKind};
use walewright::syntax::{self, markdown_options};

/// The page of a pattern that must be without errors.
#[track_caller]
pub(crate) fn markdown(source: &Source) -> String {
    with_checked(source, page::markdown)
}

#[track_caller]
pub(crate) fn with_checked<T>(
    source: &Source,
    f: impl Fn(&Source, &walewright::Checked<'_>) -> T,
) -> T {
    let parsed = syntax::parse(source);
    let document = parsed.document.expect("a pattern");
    let checked = walewright::check(source, &document, parsed.findings);
    let errors: Vec<&Finding> = checked.findings.iter().filter(|f| f.is_error()).collect();
    assert!(errors.is_empty(), "{}: {errors:?}", source.name);
    f(source, &checked)
}

/// Every pattern, and every sample rewritten for each of its targets.
pub(crate) fn revised_and_not() -> &'static [Source] {
    static ALL: OnceLock<Vec<Source>> = OnceLock::new();
    ALL.get_or_init(rewritten)
}

fn rewritten() -> Vec<Source> {
    let mut all = patterns::all();
    for sample in patterns::samples() {
        for targets in patterns::targets_of(&sample) {
            let read = patterns::targets(&targets.text);
            let rewritten = patterns::rewritten(&sample, &read).expect("it can be rewritten");
            all.push(Source::new(targets.name, rewritten.source.text));
        }
    }
    all
}

#[test]
fn every_sample_as_markdown() {
    for sample in patterns::samples() {
        let name = format!("{}.md", sample.name.trim_end_matches(".wale"));
        insta::with_settings!({ omit_expression => true, prepend_module_to_snapshot => false }, {
            assert_snapshot!(name, markdown(&sample));
        });
    }
}

/// Emphasis and links in a Markdown text.
fn marked(text: &str) -> (usize, usize) {
    let mut found = (0, 0);
    for event in Parser::new_ext(text, markdown_options()) {
        match event {
            Event::Start(Tag::Emphasis | Tag::Strikethrough) => found.0 += 1,
            Event::Start(Tag::Link { .. } | Tag::Image { .. }) | Event::Html(_) => found.1 += 1,
            _ => {}
        }
    }
    found
}

/// The author's own prose, without instructions.
fn prose(source: &Source) -> String {
    let document = document(source);
    let blocks = document.sections.iter().flat_map(|section| &section.blocks);
    let prose = blocks.filter_map(|block| match block {
        Block::Prose(prose) => Some(source.slice(prose.span)),
        _ => None,
    });
    prose.collect::<Vec<_>>().join("\n\n")
}

#[test]
fn no_emphasis_and_no_link_but_the_authors_own() {
    for source in revised_and_not() {
        assert_eq!(marked(&markdown(source)), marked(&prose(source)), "{}", source.name);
    }
}

/// What a viewer shows, line by line, without any marks.
fn shown(markdown: &str) -> String {
    let mut text = String::new();
    for event in Parser::new_ext(markdown, markdown_options()) {
        match event {
            Event::Text(part) | Event::Code(part) => text.push_str(&part),
            Event::SoftBreak => text.push(' '),
            Event::Start(Tag::Item | Tag::Paragraph | Tag::Heading { .. } | Tag::List(_))
            | Event::HardBreak => text.push('\n'),
            _ => {}
        }
    }
    text
}

#[test]
fn a_stitch_repeat_shows_its_asterisks_and_brackets() {
    let shown_of = |name: &str| {
        let sample = patterns::samples().into_iter().find(|s| s.name == name);
        shown(&markdown(&sample.expect("the sample")))
    };
    let pullover = shown_of("boathouse-pullover.wale");
    assert!(pullover.contains("Row 1 (RS): *k2, p2; rep from * to last 2 sts, k2."), "{pullover}");
    let scarf = shown_of("tideline-scarf.wale");
    let row = "Row 3 (RS): K3, *k2tog 2 times, [yo, k1] 4 times, k2tog 2 times; rep from * to last 3 sts, k3.";
    assert!(scarf.contains(row), "{scarf}");
    let cap = shown_of("slipway-cap.wale");
    assert!(cap.contains("Evenly spaced: *k10 (11, 12, 13), k2tog; rep from * to end."), "{cap}");
}

#[test]
fn the_authors_prose_is_on_the_page_to_the_byte() {
    for source in revised_and_not() {
        let page = markdown(source);
        for section in &document(source).sections {
            for block in &section.blocks {
                let Block::Prose(prose) = block else { continue };
                // Between live numbers every byte stands as it was.
                let mut from = prose.span.start;
                for end in prose.live.iter().map(|l| l.span).chain([Span::at(prose.span.end)]) {
                    let words = &source.text[from..end.start];
                    assert!(page.contains(words), "{}: {words:?}", source.name);
                    from = end.end;
                }
            }
        }
        assert!(!page.contains(['{', '}']), "{}: braces are left", source.name);
    }
}

#[test]
fn no_mark_and_no_name_of_a_gauge_is_left_in_an_instruction() {
    for source in revised_and_not() {
        let shown = shown(&markdown(source));
        for mark in ["[as ", "[starts ", "[fixed", "[follows ", "[multiple ", "[lies ", "+ ease"] {
            assert!(!shown.contains(mark), "{}: {mark}", source.name);
        }
    }
}

#[test]
fn sections_come_in_the_order_of_the_house_and_of_the_author() {
    for source in &patterns::all() {
        let page = markdown(source);
        let headings: Vec<&str> = page.lines().filter_map(|l| l.strip_prefix("## ")).collect();
        let own: Vec<String> = document(source)
            .sections
            .iter()
            .filter_map(|section| {
                let heading = section.heading.as_ref()?;
                Some(match &section.kind {
                    SectionKind::Prose => heading.text.value.clone(),
                    SectionKind::Fabric(name) => name.value.clone(),
                    SectionKind::Piece(piece) if piece.copies.value > 1 => {
                        format!("{} (make {})", piece.name.value, piece.copies.value)
                    }
                    SectionKind::Piece(piece) => piece.name.value.clone(),
                })
            })
            .collect();
        let (ours, theirs) = headings.split_at(headings.len() - own.len());
        assert_eq!(theirs, own, "{}", source.name);
        let order =
            ["Sizes and finished measurements", "Finished measurements", "Materials", "Gauge"];
        let order: Vec<&str> = order.into_iter().chain(["Abbreviations", "Notes"]).collect();
        let known: Vec<&str> = order.into_iter().filter(|name| ours.contains(name)).collect();
        assert_eq!(ours, known, "{}", source.name);
    }
}

#[test]
fn every_abbreviation_listed_is_used() {
    for source in revised_and_not() {
        let page = markdown(source);
        let Some((before, rest)) = page.split_once("## Abbreviations\n\n") else { continue };
        let (list, after) = rest.split_once("\n## ").expect("a section follows");
        let used = shown(&format!("{before}\n\n{after}")).to_lowercase();
        let words: Vec<&str> = used
            .split(|c: char| !(c.is_alphanumeric() || c == '&' || c == '/'))
            .flat_map(|word| [word, word.trim_end_matches(|c: char| c.is_ascii_digit())])
            .collect();
        for line in list.lines() {
            let name = line.trim_start_matches("- **").split(":**").next().expect("a name");
            let name = name.to_lowercase();
            let used = words.contains(&name.as_str()) || used.contains(&format!("{name} "));
            assert!(used, "{}: {name} is listed and not used", source.name);
        }
    }
}

#[test]
fn abbreviations_of_stitches_worked_are_listed() {
    for (sample, names) in [
        ("tideline-scarf.wale", &["k", "k2tog", "yo", "m1", "RS", "WS", "rep", "sts"][..]),
        ("slipway-mitts.wale", &["m1l", "m1r", "pm", "sm", "rm"]),
        ("keel-sock.wale", &["sl", "ssk", "p2tog"]),
    ] {
        let source = patterns::samples().into_iter().find(|s| s.name == sample);
        let page = markdown(&source.expect("the sample"));
        for name in names {
            assert!(page.contains(&format!("- **{name}:** ")), "{sample}: {name}");
        }
    }
}

/// A pattern with a text in every place that an author can fill with words of their own.
fn hostile(text: &str) -> Source {
    let quoted = serde_json::to_string(text).expect("a string");
    let pattern = format!(
        "---\ntitle: {quoted}\nsizes: [a, b]\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm, \
         needle: 4 mm }}\nmeasure:\n  head: 48 (52) cm\n---\n\n## Cap, in the round\n\n- cast on 88 (96)\n\
         - join in the round\n- stockinette for 5 cm\n- bind off all\n"
    );
    Source::new("hostile.wale", pattern)
}

#[test]
fn words_from_the_front_matter_are_shown_and_not_obeyed() {
    for text in [
        "<script>alert(1)</script>",
        "\"><img src=x onerror=alert(1)>",
        "*a* **b** _c_ `d` ~~e~~ [f](javascript:alert(1)) ![g](h)",
        "&lt;b&gt; &amp;",
        "# not a heading",
        "\u{202e}reversed\u{2066}",
        "a|b|c",
    ] {
        let page = markdown(&hostile(text));
        let shown = shown(&page);
        assert!(shown.contains(text.trim()), "{text}: {shown}");
        assert_eq!(marked(&page), (0, 0), "{text}");
        let mut html = String::new();
        pulldown_cmark::html::push_html(&mut html, Parser::new_ext(&page, markdown_options()));
        assert!(!html.contains("<script") && !html.contains("<img"), "{html}");
    }
}

proptest! {
    #[test]
    fn any_title_is_shown_as_it_is(title in "[ -~]{1,40}") {
        let title = title.split_whitespace().collect::<Vec<_>>().join(" ");
        prop_assume!(!title.is_empty());
        let source = hostile(&title);
        let parsed = syntax::parse(&source);
        let Some(document) = parsed.document else { return Ok(()) };
        let checked = walewright::check(&source, &document, parsed.findings);
        let page = page::markdown(&source, &checked);
        let first = shown(&page);
        prop_assert_eq!(first.lines().find(|line| !line.is_empty()), Some(title.as_str()));
        prop_assert_eq!(marked(&page), (0, 0));
    }
}

#[test]
fn a_page_of_one_size_has_no_lists_of_sizes() {
    for sample in patterns::samples() {
        for size in &document(&sample).front.sizes {
            let one = page::one_size(&sample, &size.value).expect("a size of the pattern");
            let parentheses = |text: &str| {
                let digits =
                    |part: &str| part.trim_start().starts_with(|c: char| c.is_ascii_digit());
                text.match_indices('(')
                    .filter(|(at, _)| {
                        let (before, inside) = (&text[..*at], &text[at + 1..]);
                        before.trim_end().ends_with(|c: char| c.is_ascii_digit())
                            && digits(inside)
                            && inside.split(')').next().is_some_and(|list| list.contains(','))
                    })
                    .count()
            };
            assert_eq!(parentheses(&one.text), 0, "{} {}", sample.name, size.value);
            assert_eq!(parentheses(&markdown(&one)), 0, "{} {}", sample.name, size.value);
        }
    }
}

#[test]
fn no_such_size_is_said() {
    let sample = patterns::samples().remove(0);
    let findings = page::one_size(&sample, "giant").expect_err("there is no such size");
    assert!(findings.iter().any(|f| f.message.contains("giant")), "{findings:?}");
}

/// Rows of a schedule fall on the side that it names: with a right-side row next,
/// "every RS row" is worked on the first, the third, the fifth.
#[test]
fn rows_of_a_schedule_fall_on_the_side_it_names() {
    let table_of = |before: &str, armhole: &str| {
        let pattern = format!(
            "---\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\n---\n\n## Front, flat\n\n\
             - cast on 40\n- {before}\n- at the same time:\n  - decrease 1 at armhole edge {armhole}\n  \
             - decrease 1 at neck edge every RS row 2 times, then every 4th row 2 times\n- bind off all\n"
        );
        let page = markdown(&Source::new("front.wale", pattern));
        let rows = page.lines().filter_map(|line| line.trim().strip_prefix("| ")).skip(2);
        rows.map(|row| row.trim_end_matches(" |").to_owned()).collect::<Vec<_>>()
    };
    let table = |before: &str| table_of(before, "every RS row 3 times");
    let right = table("stockinette for 10 rows, ending with a WS row");
    assert_eq!(right, ["1 | A B", "3 | A B", "5 | A", "7 | B", "11 | B"]);
    let wrong = table("stockinette for 11 rows, ending with a RS row");
    assert_eq!(wrong, ["2 | A B", "4 | A B", "6 | A", "8 | B", "12 | B"]);
    // Rows that are shaped one after the other are on either side; the next are of theirs.
    let begins = "stockinette for 10 rows, ending with a WS row";
    let every = table_of(begins, "every row 2 times, then every RS row 2 times");
    assert_eq!(every, ["1 | A B", "2 | A", "3 | A B", "5 | A", "7 | B", "11 | B"]);
}
