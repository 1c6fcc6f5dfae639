//! The page as HTML: one file that fetches nothing, runs nothing, and shows
//! whatever an author wrote as the text it is.

use crate::digest::{base64, sha256};
use crate::html::{assert_inert, body, hostile, hostile_texts, tags, without_styles};
use crate::html_changes::changes;
use crate::pages::{revised_and_not, with_checked};
use crate::patterns;
use insta::assert_snapshot;
use walewright::page::{self, Form, Wanted};
use walewright::source::Source;

fn html(source: &Source) -> String {
    with_checked(source, |source, checked| page::html(source, checked, &[]))
}

fn sample(name: &str) -> Source {
    let found = patterns::samples().into_iter().find(|s| s.name == format!("{name}.wale"));
    found.expect("the sample")
}

#[test]
fn every_page_is_whole_and_inert() {
    for source in revised_and_not() {
        assert_inert(&html(source), &source.name);
    }
}

#[test]
fn every_id_is_used_once_and_every_name_leads_to_one() {
    for source in revised_and_not() {
        let (mut ids, mut wanted) = (Vec::new(), Vec::new());
        for (key, value) in tags(&html(source)).into_iter().flat_map(|tag| tag.attributes) {
            match key.as_str() {
                "id" => ids.push(value),
                "for" | "aria-labelledby" | "aria-describedby" => wanted.push(value),
                _ => {}
            }
        }
        let count = ids.len();
        assert!(wanted.iter().all(|id| ids.contains(id)), "{}", source.name);
        ids.sort();
        ids.dedup();
        assert_eq!(ids.len(), count, "{}", source.name);
    }
}

#[test]
fn whatever_an_author_writes_stays_inert() {
    for text in hostile_texts() {
        let text = text.as_str();
        let one_line = text.replace('\n', " ");
        let source = hostile(&one_line, text);
        let page = html(&source);
        assert_inert(&page, text);
        for word in ["<script", "<img", "<svg o", "<b>"] {
            assert!(!page.contains(word), "{text}: {word}");
        }
    }
}

#[test]
fn html_of_an_author_is_shown_as_text_and_links_go_only_where_they_may() {
    let page = html(&hostile(
        "Cap",
        "See <b>this</b>, [here](https://example.invalid/a), [there](javascript:alert(1)) and\n![a picture](x.png).",
    ));
    assert!(page.contains(
        "<p>See &lt;b&gt;this&lt;/b&gt;, <a href=\"https://example.invalid/a\">here</a>, there and\na picture.</p>"
    ), "{page}");
}

#[test]
fn definitions_of_links_hold_for_all_prose_and_are_not_shown() {
    let prose = "The [station][s] keeps it.\n\n[s]: https://example.invalid/station";
    let page = html(&hostile("Cap", prose));
    assert!(page.contains("<a href=\"https://example.invalid/station\">station</a>"), "{page}");
    assert!(!page.contains("[s]"), "{page}");
}

#[test]
fn live_numbers_in_prose_follow_the_choice_of_size() {
    let page = html(&sample("slipway-cap"));
    let number =
        "<span class=\"z z0\">88</span><span class=\"m\"> (</span><span class=\"z z1\">96</span>";
    assert!(page.contains(&format!("Set the {number}")), "{page}");
}

#[test]
fn every_size_has_its_button_and_its_rule() {
    let page = html(&sample("boathouse-pullover"));
    for (index, name) in ["S", "M", "L", "XL", "XXL"].iter().enumerate() {
        assert!(page.contains(&format!("<label for=\"size-{index}\">{name}</label>")));
        assert!(page.contains(&format!("body:has(#size-{index}:checked)")));
    }
    assert!(!html(&one("boathouse-pullover", "M")).contains("type=\"radio\""));
}

fn one(name: &str, size: &str) -> Source {
    page::one_size(&sample(name), size).expect("a size of the sample")
}

#[test]
fn numbers_of_a_rewrite_can_be_opened_to_read_where_they_come_from() {
    let source = sample("slipway-cap");
    let targets = patterns::targets_of(&source);
    let targets = targets.iter().find(|t| t.name.contains("coarser")).expect("the targets");
    let targets = patterns::targets(&targets.text);
    let rewritten = patterns::rewritten(&source, &targets).expect("it can be rewritten");
    let document = walewright::syntax::parse(&source).document.expect("a pattern");
    let model = walewright::model::build(&document).model;
    let why = page::reasons(&source, &model, &rewritten);
    // Each number stands where it is said to.
    for (place, number) in &why {
        let written = rewritten.source.slice(*place);
        let chosen = number.sizes[0].chosen.to_string();
        assert!(written.starts_with(&chosen), "{written:?} for {chosen}");
    }
    let wanted = Wanted { form: Form::Html, size: None, why: why.clone() };
    let page = page::of(&rewritten.source, &wanted).expect("a page");
    assert_inert(&page, "the page of a rewrite");
    assert_eq!(page.matches("<summary>Why ").count(), why.len());
    let wanted = Wanted { form: Form::Html, size: Some("small"), why };
    let page = page::of(&rewritten.source, &wanted).expect("a page");
    assert!(page.contains("<summary>Why 80?</summary>"), "{page}");
    assert!(!page.contains("medium:"), "{page}");
}

#[test]
fn samples_as_html() {
    for name in ["slipway-cap", "tideline-scarf", "harbourlight-cardigan"] {
        insta::with_settings!({ omit_expression => true, prepend_module_to_snapshot => false }, {
            assert_snapshot!(format!("{name}.html"), body(&html(&sample(name))));
        });
    }
}

// ---- The style sheet -------------------------------------------------------------

#[test]
fn the_policy_allows_the_style_sheet_that_there_is() {
    for page in [html(&sample("slipway-cap")), changes("slipway-cap", "coarser")] {
        let (text, styles) = without_styles(&page);
        let hashes: Vec<String> = styles
            .iter()
            .map(|style| format!("'sha256-{}'", base64(&sha256(style.as_bytes()))))
            .collect();
        let policy = format!(
            "default-src 'none'; style-src {}; base-uri 'none'; form-action 'none'",
            hashes.join(" ")
        );
        assert!(text.contains(&policy), "the hashes of the style sheets are now {hashes:?}");
    }
}

/// WCAG 2.1: 4.5 to 1 for text, in both schemes and on all three grounds.
#[test]
fn text_has_contrast_enough() {
    let style = include_str!("../../src/page/html/base.css");
    let (light, dark) = style.split_once("prefers-color-scheme: dark").expect("both schemes");
    for scheme in [light, dark] {
        let color = |name: &str| {
            let (_, rest) = scheme.split_once(&format!("--{name}: #")).expect("a color");
            let part = |i: usize| u8::from_str_radix(&rest[i..i + 2], 16).expect("hex");
            let linear = |c: u8| {
                let c = f64::from(c) / 255.0;
                if c <= 0.03928 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
            };
            0.2126 * linear(part(0)) + 0.7152 * linear(part(2)) + 0.0722 * linear(part(4))
        };
        for text in ["ink", "soft", "sea", "buoy"] {
            for ground in ["paper", "sheet", "wash"] {
                let (a, b) = (color(text), color(ground));
                let ratio = (a.max(b) + 0.05) / (a.min(b) + 0.05);
                assert!(ratio >= 4.5, "{text} on {ground}: {ratio:.2}");
            }
        }
    }
}
