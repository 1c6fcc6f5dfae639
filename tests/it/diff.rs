//! A comparison shows what a rewrite did, all of it and nothing else; and the
//! command that prints it.

use crate::run::wale;
use insta::assert_snapshot;
use std::path::{Path, PathBuf};
use walewright::compare::{Change, Changes, Entry, EntryKind};
use walewright::revise::Edit;
use walewright::source::{Source, Span};
use walewright::syntax::{parse, parse_targets};

/// A sample, one of its rewrites, the edits between them, and their comparison.
struct Case {
    name: String,
    pattern: Source,
    edits: Vec<Edit>,
    front: Span,
    changes: Changes,
}

fn read(path: &Path) -> Source {
    let text = std::fs::read_to_string(path).expect("a sample can be read");
    Source::new(path.file_name().expect("a name").to_string_lossy(), text)
}

/// Every sample with each of its targets.
fn cases() -> Vec<Case> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("samples");
    let mut targets: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("the samples")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "yaml"))
        .collect();
    targets.sort();
    assert!(targets.len() > 8, "{} targets", targets.len());
    targets.iter().filter_map(|path| case(path)).collect()
}

fn case(path: &Path) -> Option<Case> {
    let name = path.file_name().expect("a name").to_string_lossy().into_owned();
    let stem = name.split('.').next().expect("a first part");
    let pattern = read(&path.with_file_name(format!("{stem}.wale")));
    let (targets, _) = parse_targets(&read(path));
    let parsed = parse(&pattern);
    let document = parsed.document.expect("a sample is a pattern");
    let targets = targets.expect("they are targets");
    let rewritten = walewright::rewrite(&pattern, &document, parsed.findings, &targets).ok()?;
    let revised = parse(&rewritten.source).document.expect("a rewrite is a pattern");
    let changes = walewright::changes((&pattern, &document), (&rewritten.source, &revised));
    let (edits, front) = (rewritten.edits, document.front.span);
    Some(Case { name, pattern, edits, front, changes })
}

fn entries(changes: &Changes) -> impl Iterator<Item = &Entry> {
    changes.sections.iter().flat_map(|section| section.heading.iter().chain(&section.entries))
}

#[test]
fn every_edit_of_a_rewrite_is_shown_and_nothing_is_shown_that_was_not_edited() {
    let cases = cases();
    assert!(cases.len() > 8, "{} samples can be rewritten", cases.len());
    for Case { name, pattern, edits, front, changes } in &cases {
        let edits: Vec<&Edit> =
            edits.iter().filter(|edit| pattern.slice(edit.span) != edit.text).collect();
        let edited = |span: Span| edits.iter().any(|edit| span.contains(edit.span));
        for entry in entries(changes) {
            let old = entry.old.as_ref().unwrap_or_else(|| panic!("{name}: added {entry:?}"));
            assert!(entry.new.is_some(), "{name}: removed {entry:?}");
            let shown = entry.change != Change::Same;
            // Of a number that is only written for other sizes nothing is shown.
            let edited = edited(old.span) && (shown || changes.sizes.agree());
            assert_eq!(shown, edited, "{name}: {entry:?}");
        }
        for edit in edits.iter().filter(|edit| !front.contains(edit.span)) {
            let shown = entries(changes)
                .any(|entry| entry.old.as_ref().is_some_and(|old| old.span.contains(edit.span)));
            assert!(shown, "{name}: {edit:?}");
        }
        let in_front = edits.iter().any(|edit| front.contains(edit.span));
        assert_eq!(in_front, !changes.front.is_empty(), "{name}");
    }
}

#[test]
fn the_numbers_of_a_comparison_are_those_of_the_two_texts() {
    let mut seen = 0;
    for Case { name, changes, .. } in &cases() {
        let changed = entries(changes).filter(|e| e.change == Change::Numbers);
        for entry in changed {
            assert!(
                entry.numbers.iter().any(walewright::compare::Number::changed),
                "{name}: {entry:?}"
            );
        }
        for number in entries(changes).flat_map(|entry| &entry.numbers) {
            for (size, new) in changes.sizes.all.iter().zip(&number.sizes) {
                let (Some(place), Some(count)) = (size.new, new.new.count()) else { continue };
                let text = number.new.as_deref().unwrap_or("");
                let written: Vec<&str> = text
                    .split(|c: char| !c.is_ascii_digit() && c != '-')
                    .filter(|part| !part.is_empty())
                    .collect();
                let one = written.get(if written.len() == 1 { 0 } else { place.0 });
                let digits = one.map(|one| one.trim_end_matches(char::is_alphabetic));
                if digits.is_some_and(|digits| digits.parse::<u32>().is_ok()) {
                    assert_eq!(digits, Some(count.to_string().as_str()), "{name}: {number:?}");
                    seen += 1;
                }
            }
        }
    }
    assert!(seen > 500, "{seen} numbers");
}

#[test]
fn the_summary_counts_every_instruction_once() {
    for Case { name, changes, .. } in &cases() {
        let tally = changes.summary.instructions;
        let instructions = entries(changes).filter(|e| e.kind == EntryKind::Instruction);
        let (all, changed) = instructions
            .fold((0, 0), |(n, c), e| (n + 1, c + usize::from(e.change != Change::Same)));
        assert_eq!((tally.all(), tally.changed()), (all, changed), "{name}");
    }
}

// --- the command -------------------------------------------------------------------------------

const OLD: &str = "---
title: Slipway Cap
sizes: [child, adult]
gauges:
  body: { stitches: 20, rows: 28, over: 10 cm }
---

## Cap, in the round

- cast on 88 (96)
- join in the round
- stockinette for 14 cm
- bind off all
";

fn new() -> String {
    OLD.replace("88 (96)", "84 (96)").replace("- bind", "- garter for 2 rows\n- bind")
}

#[test]
fn diff_shows_what_changed_and_ends_with_0() {
    let run = wale(["diff", "old.wale", "new.wale"]).file("old.wale", OLD).file("new.wale", new());
    assert_snapshot!(run.run().all(), @"
    status 0
    --- standard output
    Slipway Cap
    old: old.wale
    new: new.wale

    2 of 5 instructions change: 1 in numbers, 1 added.
    1 of 1 finished measurement changes, at most by +0.7 cm (Cap: length, size
    adult).
    A difference is new less old, for child (adult).

    ## Finished measurements
    Cap: length
      was   14.3 cm
      now   15 cm
            +0.7 cm

    ## Cap, in the round
    numbers  was  - cast on 88 (96)
             now  - cast on 84 (96)
                    -4 (0) stitches, width -2 (0) cm
             ... 2 instructions unchanged
    added    now  - garter for 2 rows
             ... 1 instruction unchanged
    ");
}

#[test]
fn diff_as_markdown_and_as_json() {
    let run = |form| {
        wale(["diff", "--as", form, "old.wale", "-"]).file("old.wale", OLD).stdin(new()).run()
    };
    assert_snapshot!(run("markdown").all(), @"
    status 0
    --- standard output
    # Slipway Cap: changes

    - old: old.wale
    - new: standard input

    2 of 5 instructions change: 1 in numbers, 1 added.
    1 of 1 finished measurement changes, at most by +0.7 cm (Cap: length, size adult).

    A difference is new less old, for child (adult).

    ## Finished measurements

    | measurement | was | now | difference |
    | --- | --- | --- | --- |
    | Cap: length | 14.3 cm | 15 cm | +0.7 cm |

    ## Cap, in the round

    | change | was | now | difference |
    | --- | --- | --- | --- |
    | numbers | cast on <b>88 (96)</b> | cast on <b>84 (96)</b> | -4 (0) stitches, width -2 (0) cm |
    | same | 2 instructions unchanged |  |  |
    | added |  | garter for 2 rows |  |
    | same | 1 instruction unchanged |  |  |
    ");
    let json: serde_json::Value = serde_json::from_str(run("json").stdout()).expect("it is JSON");
    assert_eq!(json["new"], "standard input");
    assert_eq!(json["summary"]["instructions"]["changed"], 2);
    let number = &json["sections"][1]["entries"][0]["numbers"][0]["sizes"][0];
    assert_eq!((&number["difference"], &number["difference_cm"]), (&(-4).into(), &(-2).into()));
}

#[test]
fn diff_of_equal_files_says_so_in_one_line() {
    let run = |args: &[&str]| wale(args).file("a.wale", OLD).file("b.wale", OLD).run();
    let said = "a.wale and b.wale are the same, to the byte.\n";
    run(&["diff", "a.wale", "b.wale"]).is(0, said, "");
    run(&["diff", "--exit-code", "a.wale", "b.wale"]).is(0, said, "");
}

#[test]
fn diff_ends_with_1_on_a_change_when_asked_to() {
    let run = |args: &[&str]| wale(args).file("a.wale", OLD).file("b.wale", new()).run().code();
    assert_eq!(run(&["diff", "a.wale", "b.wale"]), Some(0));
    assert_eq!(run(&["diff", "--exit-code", "a.wale", "b.wale"]), Some(1));
}

#[test]
fn diff_compares_nothing_that_it_could_not_read() {
    let broken = OLD.replace("- join in the round", "- jion in the round");
    let run = wale(["diff", "old.wale", "new.wale"]).file("old.wale", OLD).file("new.wale", broken);
    let outcome = run.run();
    assert_eq!((outcome.code(), outcome.stdout()), (Some(1), ""));
    assert!(outcome.stderr().contains("new.wale:11:3"), "{}", outcome.stderr());
    wale(["diff", "-", "-"]).run().is(
        2,
        "",
        "error: standard input, `-`, is named twice\nhelp: it can be read only once: name a file for the other\n",
    );
}
