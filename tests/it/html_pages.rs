//! The page as HTML: one file that fetches nothing, runs nothing, and shows
//! whatever an author wrote as the text it is.

use crate::pages::{revised_and_not, with_checked};
use crate::patterns;
use insta::assert_snapshot;
use std::fmt::Write as _;
use walewright::page::{self, Form, Wanted};
use walewright::source::Source;

fn html(source: &Source) -> String {
    with_checked(source, |source, checked| page::html(source, checked, &[]))
}

fn sample(name: &str) -> Source {
    let found = patterns::samples().into_iter().find(|s| s.name == format!("{name}.wale"));
    found.expect("the sample")
}

/// A tag as it stands in the text: its name, its attributes, whether it closes.
#[derive(Debug)]
struct Tag {
    name: String,
    closes: bool,
    /// `<path/>`, as only the elements of a drawing are.
    empty: bool,
    attributes: Vec<(String, String)>,
}

/// Every tag of a document, its style sheet left out. Panics where it is no HTML of ours.
fn tags(html: &str) -> Vec<Tag> {
    let (before, rest) = html.split_once("<style>").expect("a style sheet");
    let (_, after) = rest.split_once("</style>").expect("its end");
    let text = format!("{before}{after}");
    let mut tags = Vec::new();
    let mut rest = text.as_str();
    while let Some(at) = rest.find('<') {
        rest = &rest[at + 1..];
        let end = rest.find('>').expect("a tag is closed");
        let (inside, after) = rest.split_at(end);
        rest = &after[1..];
        if inside.starts_with('!') {
            assert_eq!(inside, "!doctype html");
            continue;
        }
        let closes = inside.starts_with('/');
        let empty = inside.ends_with('/');
        let inside = inside.trim_start_matches('/').trim_end_matches('/');
        let (name, mut left) = inside.split_once([' ', '\n']).unwrap_or((inside, ""));
        let mut attributes = Vec::new();
        while !left.trim().is_empty() {
            left = left.trim_start();
            let end = left.find(['=', ' ']).unwrap_or(left.len());
            let (key, value) = left.split_at(end);
            let value = match value.strip_prefix("=\"") {
                Some(quoted) => {
                    let (value, more) = quoted.split_once('"').expect("a closed value");
                    left = more;
                    value.to_owned()
                }
                None => {
                    left = value;
                    String::new()
                }
            };
            attributes.push((key.to_owned(), value));
        }
        tags.push(Tag { name: name.to_owned(), closes, empty, attributes });
    }
    tags
}

const DRAWN: &[&str] = &["path", "polygon", "circle"];

const VOID: &[&str] = &["meta", "br", "hr", "input"];

/// Every element is closed where it should be, and is one that does nothing.
#[track_caller]
fn assert_inert(html: &str, of: &str) {
    const ELEMENTS: &[&str] = &[
        "html",
        "head",
        "meta",
        "title",
        "body",
        "main",
        "section",
        "h1",
        "h2",
        "h3",
        "h4",
        "h5",
        "h6",
        "p",
        "ul",
        "ol",
        "li",
        "dl",
        "dt",
        "dd",
        "div",
        "span",
        "strong",
        "em",
        "del",
        "a",
        "code",
        "pre",
        "blockquote",
        "table",
        "caption",
        "thead",
        "tbody",
        "tr",
        "th",
        "td",
        "input",
        "label",
        "fieldset",
        "legend",
        "details",
        "summary",
        "br",
        "hr",
        "sup",
        "figure",
        "figcaption",
        "svg",
        "g",
        "path",
        "line",
        "rect",
        "circle",
        "text",
        "desc",
        "polygon",
        "polyline",
    ];
    const ATTRIBUTES: &[&str] = &[
        "lang",
        "charset",
        "http-equiv",
        "content",
        "name",
        "class",
        "id",
        "for",
        "type",
        "checked",
        "role",
        "tabindex",
        "scope",
        "href",
        "title",
        "start",
        "viewBox",
        "xmlns",
        "d",
        "x",
        "y",
        "x1",
        "x2",
        "y1",
        "y2",
        "width",
        "height",
        "cx",
        "cy",
        "r",
        "fill",
        "fill-opacity",
        "stroke",
        "stroke-width",
        "stroke-dasharray",
        "stroke-linejoin",
        "stroke-linecap",
        "transform",
        "text-anchor",
        "font-size",
        "font-weight",
        "points",
        "font-family",
        "dominant-baseline",
    ];
    let mut open: Vec<String> = Vec::new();
    for tag in tags(html) {
        assert!(ELEMENTS.contains(&tag.name.as_str()), "{of}: <{}>", tag.name);
        for (key, value) in &tag.attributes {
            assert!(
                ATTRIBUTES.contains(&key.as_str()) || key.starts_with("aria-"),
                "{of}: {tag:?}"
            );
            if key == "href" {
                let safe =
                    ["https://", "http://", "mailto:", "#"].iter().any(|s| value.starts_with(s));
                assert!(safe, "{of}: {tag:?}");
            }
        }
        assert!(
            !tag.empty
                || DRAWN.contains(&tag.name.as_str())
                || tag.name == "br"
                || tag.name == "hr"
        );
        if tag.empty || VOID.contains(&tag.name.as_str()) {
            continue;
        }
        if tag.closes {
            assert_eq!(open.pop().as_deref(), Some(tag.name.as_str()), "{of}");
        } else {
            open.push(tag.name);
        }
    }
    assert_eq!(open, Vec::<String>::new(), "{of}");
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

/// A pattern in which an author wrote something in every place there is.
fn hostile(text: &str, prose: &str) -> Source {
    let quoted = serde_json::to_string(text).expect("a string");
    let pattern = format!(
        "---\ntitle: {quoted}\nsizes: [a, b]\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm, needle: 4 mm }}\n\
         measure:\n  head: 48 (52) cm\nabbreviations:\n  bob: {{ takes: 1, makes: 1, means: {quoted} }}\n\
         notes:\n  - {quoted}\n---\n\n{prose}\n\n## Cap, in the round\n\n{prose}\n\n- cast on 88 (96); {text}\n\
         - join in the round\n- round 1: bob, k to end\n- stockinette for 5 cm\n- note: {text}\n- bind off all\n\n\
         ## Words\n\n{prose}\n"
    );
    Source::new("hostile.wale", pattern)
}

#[test]
fn whatever_an_author_writes_stays_inert() {
    let long = "w".repeat(5_000);
    for text in [
        "<script>alert(1)</script>",
        "\"><img src=x onerror=alert(1)>",
        "' onmouseover='alert(1)",
        "</style><script>alert(1)</script>",
        "</title><script>alert(1)</script>",
        "<!-- <b> -->",
        "[a](javascript:alert(1)) [b](JaVaScRiPt:alert(1)) [c](data:text/html,x) [d](vbscript:x)",
        "![p](https://example.invalid/p.png) <https://example.invalid> <javascript:alert(1)>",
        "&lt;script&gt; &#60;script&#62; &amp;",
        "\u{202e}reversed\u{2066} and \u{200f}on",
        "*a* **b** `c` ~~d~~ [^1] | e |",
        "<svg onload=alert(1)><a xlink:href=\"javascript:alert(1)\">x</a></svg>",
        "<p>\n\n<div>",
        long.as_str(),
    ] {
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

/// The page without its style sheet, which is a file of its own, and without
/// the marks of its drawings.
fn body(page: &str) -> String {
    let (before, rest) = page.split_once("<style>").expect("a style sheet");
    let (_, after) = rest.split_once("</style>").expect("its end");
    let mut out = format!("{before}<style>...</style>");
    let mut rest = after;
    while let Some((words, drawing)) = rest.split_once("<svg ") {
        let (tag, marks) = drawing.split_once('>').expect("the tag ends");
        out.push_str(&format!("{words}<svg {tag}>...</svg>"));
        rest = marks.split_once("</svg>").expect("the drawing ends").1;
    }
    out + rest
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
    let page = html(&sample("slipway-cap"));
    let (_, rest) = page.split_once("<style>").expect("a style sheet");
    let (style, _) = rest.split_once("</style>").expect("its end");
    let hash = base64(&sha256(style.as_bytes()));
    let policy = format!(
        "default-src 'none'; style-src 'sha256-{hash}'; base-uri 'none'; form-action 'none'"
    );
    assert!(page.contains(&policy), "the hash of the style sheet is now {hash}");
}

/// WCAG 2.1: 4.5 to 1 for text, in both schemes and on all three grounds.
#[test]
fn text_has_contrast_enough() {
    let style = include_str!("../../src/page/html/style.css");
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

/// FIPS 180-4.
fn sha256(bytes: &[u8]) -> [u8; 32] {
    const K: [u32; 64] = [
        0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4,
        0xab1c5ed5, 0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe,
        0x9bdc06a7, 0xc19bf174, 0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f,
        0x4a7484aa, 0x5cb0a9dc, 0x76f988da, 0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7,
        0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967, 0x27b70a85, 0x2e1b2138, 0x4d2c6dfc,
        0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85, 0xa2bfe8a1, 0xa81a664b,
        0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070, 0x19a4c116,
        0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
        0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7,
        0xc67178f2,
    ];
    let mut h: [u32; 8] = [
        0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a, 0x510e527f, 0x9b05688c, 0x1f83d9ab,
        0x5be0cd19,
    ];
    let mut message = bytes.to_vec();
    message.push(0x80);
    while message.len() % 64 != 56 {
        message.push(0);
    }
    message.extend((bytes.len() as u64 * 8).to_be_bytes());
    for block in message.chunks(64) {
        let mut w: Vec<u32> =
            block.chunks(4).map(|b| u32::from_be_bytes([b[0], b[1], b[2], b[3]])).collect();
        for t in 16..64 {
            let s0 = w[t - 15].rotate_right(7) ^ w[t - 15].rotate_right(18) ^ (w[t - 15] >> 3);
            let s1 = w[t - 2].rotate_right(17) ^ w[t - 2].rotate_right(19) ^ (w[t - 2] >> 10);
            w.push(w[t - 16].wrapping_add(s0).wrapping_add(w[t - 7]).wrapping_add(s1));
        }
        let mut v = h;
        for t in 0..64 {
            let s1 = v[4].rotate_right(6) ^ v[4].rotate_right(11) ^ v[4].rotate_right(25);
            let choice = (v[4] & v[5]) ^ (!v[4] & v[6]);
            let one =
                v[7].wrapping_add(s1).wrapping_add(choice).wrapping_add(K[t]).wrapping_add(w[t]);
            let s0 = v[0].rotate_right(2) ^ v[0].rotate_right(13) ^ v[0].rotate_right(22);
            let two = s0.wrapping_add((v[0] & v[1]) ^ (v[0] & v[2]) ^ (v[1] & v[2]));
            v.rotate_right(1);
            v[4] = v[4].wrapping_add(one);
            v[0] = one.wrapping_add(two);
        }
        h.iter_mut().zip(v).for_each(|(h, v)| *h = h.wrapping_add(v));
    }
    let mut out = [0; 32];
    out.chunks_mut(4).zip(h).for_each(|(out, h)| out.copy_from_slice(&h.to_be_bytes()));
    out
}

fn base64(bytes: &[u8]) -> String {
    const DIGITS: &[u8] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::new();
    for part in bytes.chunks(3) {
        let all =
            part.iter().fold(0_u32, |all, b| all << 8 | u32::from(*b)) << (8 * (3 - part.len()));
        for i in 0..4 {
            let digit = DIGITS[(all >> (18 - 6 * i) & 63) as usize];
            out.push(if i <= part.len() { char::from(digit) } else { '=' });
        }
    }
    out
}

#[test]
fn the_hash_is_the_published_one() {
    // FIPS 180-4 examples; RFC 4648 section 10.
    let hex = |text: &str| {
        sha256(text.as_bytes()).iter().fold(String::new(), |mut all, byte| {
            let _ = write!(all, "{byte:02x}");
            all
        })
    };
    assert_eq!(hex("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    assert_eq!(
        hex("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"),
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"
    );
    for (text, encoded) in
        [("", ""), ("f", "Zg=="), ("fo", "Zm8="), ("foo", "Zm9v"), ("foob", "Zm9vYg==")]
    {
        assert_eq!(base64(text.as_bytes()), encoded);
    }
}
