//! A comparison as HTML: one file that fetches nothing and runs nothing, with
//! every change in it, told in words as well as in color.

use crate::html::{assert_inert, body, hostile, hostile_texts, tags};
use crate::patterns;
use crate::run::wale;
use insta::assert_snapshot;
use roxmltree::Document;
use walewright::compare::html::html;
use walewright::source::Source;
use walewright::{Compared, syntax};

fn page(old: &Source, new: &Source) -> String {
    let read = |source: &Source| syntax::parse(source).document.expect("a pattern");
    let (before, after) = (read(old), read(new));
    html(&Compared::new((old, &before), (new, &after)), false)
}

/// A sample and its rewrite for some targets.
fn rewritten(name: &str, targets: &str) -> (Source, Source) {
    let samples = patterns::samples();
    let sample = samples.into_iter().find(|s| s.name == format!("{name}.wale")).expect("a sample");
    let found = patterns::targets_of(&sample);
    let targets = found.iter().find(|t| t.name.contains(targets)).expect("its targets");
    let read = patterns::targets(&targets.text);
    let rewritten = patterns::rewritten(&sample, &read).expect("it can be rewritten");
    let after = Source::new(format!("{name} (revised)"), rewritten.source.text);
    (sample, after)
}

/// The comparison of a sample with its rewrite for some targets.
pub(crate) fn changes(name: &str, targets: &str) -> String {
    let (old, new) = rewritten(name, targets);
    page(&old, &new)
}

fn names() -> Vec<String> {
    let names = patterns::samples().into_iter();
    names.map(|sample| sample.name.trim_end_matches(".wale").to_owned()).collect()
}

#[test]
fn every_comparison_is_whole_and_inert() {
    for name in names() {
        for targets in ["coarser", "finer", "level"] {
            assert_inert(&changes(&name, targets), &format!("{name} {targets}"));
        }
    }
}

#[test]
fn whatever_an_author_writes_stays_inert() {
    for text in hostile_texts() {
        let one_line = text.replace('\n', " ");
        let old = hostile("Cap", "A cap.");
        let new = hostile(&one_line, &text);
        for page in [page(&old, &new), page(&new, &old)] {
            assert_inert(&page, &text);
            for word in ["<script", "<img", "<svg o", "<b>", "javascript:alert(1)\"", "\u{202e}"] {
                assert!(!page.contains(word), "{text}: {word}");
            }
        }
    }
}

#[test]
fn what_was_and_what_is_are_named_and_marked_without_color() {
    let page = changes("slipway-cap", "coarser");
    let side = |side: &str, mark: &str, count: &str| {
        let start = format!("<span class=\"side\">{side}, line 49</span>cast on <{mark}>{count}");
        assert!(page.contains(&start), "{start} in {page}");
    };
    side("was", "del", "96 (104, 112, 120)");
    side("now", "ins", "76 (84, 92, 100)");
    assert!(page.contains("as it was</li>"), "{page}");
}

/// The outline of the old pattern is dashed, that of the new whole; a pattern
/// beside itself but for its title lies on its own lines.
#[test]
fn outlines_before_and_after_are_to_one_scale() {
    let (old, _) = rewritten("boathouse-pullover", "coarser");
    let title = old.text.replace("title: Boathouse Pullover", "title: Another Pullover");
    let page = page(&old, &Source::new("renamed.wale", title));
    let mut seen = 0;
    for drawing in page.split("<svg ").skip(1) {
        let Some((svg, _)) = drawing.split_once("</svg>") else { panic!("{drawing}") };
        let document = format!("<svg {svg}</svg>");
        let document = Document::parse(&document).expect("sound");
        let lines = |dashed: bool| -> Vec<String> {
            let paths = document.descendants().filter(|n| n.has_tag_name("path"));
            let thick =
                paths.filter(|n| n.attribute("stroke-width").is_some_and(|w| w.starts_with("1.")));
            let wanted = thick.filter(|n| n.has_attribute("stroke-dasharray") == dashed);
            wanted.filter_map(|n| n.attribute("d").map(str::to_owned)).collect()
        };
        if document.root_element().attribute("width").is_some_and(|width| width != "48") {
            assert_eq!(lines(true), lines(false));
            seen += 1;
        }
    }
    // Four pieces in five sizes.
    assert_eq!(seen, 20);
}

#[test]
fn every_id_is_used_once() {
    for name in names() {
        let mut ids: Vec<String> = tags(&changes(&name, "coarser"))
            .into_iter()
            .flat_map(|tag| tag.attributes)
            .filter(|(key, _)| key == "id")
            .map(|(_, id)| id)
            .collect();
        let count = ids.len();
        ids.sort();
        ids.dedup();
        assert_eq!(ids.len(), count, "{name}");
    }
}

#[test]
fn diff_and_rewrite_write_the_same_comparison() {
    let (old, new) = rewritten("slipway-cap", "coarser");
    let samples = patterns::samples();
    let sample = samples.iter().find(|s| s.name == old.name).expect("the sample");
    let found = patterns::targets_of(sample);
    let targets = found.iter().find(|t| t.name.contains("coarser")).expect("its targets");
    let diff = wale(["diff", "cap.wale", "new.wale", "--as", "html"])
        .file("cap.wale", &old.text)
        .file("new.wale", &new.text)
        .run();
    let rewrite = wale(["rewrite", "cap.wale", "--to", "t.yaml", "--changes=html"])
        .file("cap.wale", &old.text)
        .file("t.yaml", &targets.text)
        .run();
    assert_eq!((diff.code(), rewrite.code()), (Some(0), Some(0)));
    assert!(diff.stdout().starts_with("<!doctype html>"));
    assert_eq!(diff.stdout().replace("new.wale", "cap.wale (revised)"), rewrite.stdout());
}

/// Each sample as somebody changed it by hand: what stood there, and what stands there now.
const BY_HAND: [(&str, &[(&str, &str)]); 8] = [
    (
        "slipway-cap",
        &[
            ("- cast on 96 (104, 112, 120)", "- cast on 104 (112, 120, 128)"),
            ("- k2 p2 rib for 5 cm", "- k1 p1 rib for 6 cm"),
            ("about half a skein", "about two thirds of a skein"),
        ],
    ),
    (
        "slipway-mitts",
        &[
            ("- stockinette for 1 cm\n", ""),
            ("- stockinette for 3 (3.5, 4, 4.5) cm", "- stockinette for 4 (4.5, 5, 5.5) cm"),
            ("## Thumb, in the round", "## Thumb piece, in the round"),
        ],
    ),
    (
        "boathouse-pullover",
        &[
            ("sizes: [S, M, L, XL, XXL]", "sizes: [S, M, L, 1X, 2X]"),
            ("  body: { stitches: 18, rows: 24", "  body: { stitches: 18.5, rows: 25"),
            ("- k2 p2 rib for 6 cm, ending", "- k2 p2 rib for 8 cm, ending"),
        ],
    ),
    (
        "harbourlight-cardigan",
        &[
            ("- stockinette until 33 (33.5, 34,", "- stockinette until 35 (35.5, 36,"),
            (", reversing all shaping", ", reversing shaping"),
        ],
    ),
    (
        "keel-sock",
        &[
            (
                "- repeat rows 1-2 10 (12, 14, 16, 18) times",
                "- repeat rows 1-2 11 (13, 15, 17, 19) times",
            ),
            ("- pick up 22 (26, 30, 34, 38)", "- pick up 24 (28, 32, 36, 40)"),
            (
                "take up instep (58 (68, 78, 88, 98) sts)",
                "take up instep (60 (70, 80, 90, 100) sts)",
            ),
        ],
    ),
    (
        "buoy-sock",
        &[
            ("      shade: chalk\n      used: 25 (35", "      shade: foam\n      used: 30 (35"),
            ("- stripes: 4 rounds MC, 2 rounds CC", "- stripes: 3 rounds MC, 3 rounds CC"),
            ("in MC [ball + ease]", "in CC [ball + ease]"),
        ],
    ),
    (
        "lantern-yoke",
        &[
            ("- stockinette until 34 (34, 35,", "- stockinette until 36 (36, 37,"),
            ("- stockinette for 2 cm\n", "- stockinette for 3 cm\n- note: mark the round\n"),
        ],
    ),
    (
        "tideline-scarf",
        &[("- cast on 51 (85)", "- cast on 52 (86)"), ("for 154 (174) cm", "for 160 (180) cm")],
    ),
];

#[test]
fn every_sample_beside_a_version_changed_by_hand() {
    for (name, edits) in BY_HAND {
        let old = patterns::samples().into_iter().find(|s| s.name == format!("{name}.wale"));
        let old = old.expect("a sample");
        let text = edits.iter().fold(old.text.to_string(), |text, (was, is)| {
            assert!(text.contains(was), "{name} has no {was}");
            text.replacen(was, is, 1)
        });
        let new = Source::new(format!("{name}, changed by hand"), text);
        insta::with_settings!({ omit_expression => true, prepend_module_to_snapshot => false }, {
            assert_snapshot!(format!("{name}.changes.html"), body(&page(&old, &new)));
        });
    }
    assert_eq!(BY_HAND.len(), names().len());
}
