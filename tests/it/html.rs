//! What the tests of HTML look at: tags, style sheets, and text that tries to be more than text.

use walewright::source::Source;

/// A tag as it stands in the text: its name, its attributes, whether it closes.
#[derive(Debug)]
pub(crate) struct Tag {
    pub(crate) name: String,
    closes: bool,
    /// `<path/>`, as only the elements of a drawing are.
    empty: bool,
    pub(crate) attributes: Vec<(String, String)>,
}

/// A document without its style sheets, and these.
pub(crate) fn without_styles(html: &str) -> (String, Vec<&str>) {
    let (mut text, mut styles, mut rest) = (String::new(), Vec::new(), html);
    while let Some((before, after)) = rest.split_once("<style>") {
        let (style, after) = after.split_once("</style>").expect("its end");
        text.push_str(before);
        styles.push(style);
        rest = after;
    }
    assert_eq!(styles.len(), 2, "one for every page, and its own");
    (text + rest, styles)
}

/// Every tag of a document, its style sheet left out. Panics where it is no HTML of ours.
pub(crate) fn tags(html: &str) -> Vec<Tag> {
    let (text, _) = without_styles(html);
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
pub(crate) fn assert_inert(html: &str, of: &str) {
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
        "small",
        "ins",
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
        "rowspan",
        "colspan",
        "open",
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

/// A pattern in which an author wrote something in every place there is.
pub(crate) fn hostile(text: &str, prose: &str) -> Source {
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

/// The page without its style sheet, which is a file of its own, and without
/// the marks of its drawings.
pub(crate) fn body(page: &str) -> String {
    let (text, _) = without_styles(page);
    let mut out = String::new();
    let mut rest = text.as_str();
    while let Some((words, drawing)) = rest.split_once("<svg ") {
        let (tag, marks) = drawing.split_once('>').expect("the tag ends");
        out.push_str(&format!("{words}<svg {tag}>...</svg>"));
        rest = marks.split_once("</svg>").expect("the drawing ends").1;
    }
    out.push_str(rest);
    // Nor the digests of the style sheets, which change with every touch of them.
    out.split("'sha256-").enumerate().fold(String::new(), |all, (index, part)| match index {
        0 => part.to_owned(),
        _ => all + "'sha256-..." + part.split_at(part.find('\'').expect("it ends")).1,
    })
}

/// What an author might write to break a page.
pub(crate) fn hostile_texts() -> Vec<String> {
    let texts = [
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
    ];
    texts.into_iter().map(str::to_owned).chain(["w".repeat(5_000)]).collect()
}
