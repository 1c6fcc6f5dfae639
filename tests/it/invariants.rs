//! What each part may not know, kept by looking at the code itself.
//!
//! A file is looked at without its comments and without its unit tests, which
//! stand at its end behind `#[cfg(test)]`.

use std::fs;
use std::path::{Path, PathBuf};

/// A source file of the library, by its path under `src` with `/` between the parts.
struct Code {
    path: String,
    text: String,
}

/// All of them, in order.
fn library() -> Vec<Code> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    collect(&root, &mut files);
    files.sort();
    let codes: Vec<Code> = files
        .iter()
        .map(|file| {
            let path = file.strip_prefix(&root).expect("it was found there");
            let parts: Vec<_> = path.iter().map(|part| part.to_string_lossy()).collect();
            let text = fs::read_to_string(file).expect("a source file is text");
            Code { path: parts.join("/"), text: without_comments_and_tests(&text) }
        })
        .collect();
    assert!(codes.len() > 10, "the source files were not found");
    codes
}

fn collect(folder: &Path, into: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a folder can be listed") {
        let path = entry.expect("an entry can be read").path();
        if path.is_dir() {
            collect(&path, into);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            into.push(path);
        }
    }
}

fn without_comments_and_tests(text: &str) -> String {
    let code = text.split("#[cfg(test)]\nmod ").next().unwrap_or_default();
    let lines = code.lines().filter(|line| !line.trim_start().starts_with("//"));
    lines.collect::<Vec<_>>().join("\n")
}

/// Asserts that only some files (or all files of a folder, `cli/`) use any of these words.
#[track_caller]
fn only(may: &[&str], words: &[&str]) {
    let allowed =
        |path: &str| may.iter().any(|m| path == *m || (m.ends_with('/') && path.starts_with(m)));
    let offenders: Vec<String> = library()
        .iter()
        .filter(|code| !allowed(&code.path))
        .flat_map(|code| {
            let found = words.iter().filter(|word| uses(&code.text, word));
            found.map(|word| format!("src/{} uses `{word}`", code.path)).collect::<Vec<_>>()
        })
        .collect();
    assert!(offenders.is_empty(), "only {may:?} may:\n{}", offenders.join("\n"));
}

/// Whether a word or path stands in the code, not as a part of a longer word.
fn uses(text: &str, word: &str) -> bool {
    let is_part = |c: char| c.is_alphanumeric() || c == '_';
    let runs_on = |beside: Option<char>, edge: Option<char>| {
        beside.is_some_and(is_part) && edge.is_some_and(is_part)
    };
    text.match_indices(word).any(|(start, _)| {
        let before = text.get(..start).and_then(|t| t.chars().next_back());
        let after = text.get(start + word.len()..).and_then(|t| t.chars().next());
        !runs_on(before, word.chars().next()) && !runs_on(after, word.chars().next_back())
    })
}

#[test]
fn the_search_finds_words_and_not_parts_of_words() {
    assert!(uses("use nom::Parser;", "nom"));
    assert!(!uses("let nominal = denom;", "nom"));
    assert!(uses("let n = exact.round();", ".round()"));
    assert!(uses("    println!(\"x\")", "println!"));
    assert_eq!(without_comments_and_tests("a\n// b\n#[cfg(test)]\nmod tests { c }"), "a");
}

#[test]
fn only_the_command_line_reads_and_writes() {
    let input_and_output = [
        "std::io",
        "std::fs",
        "std::env",
        "std::net",
        "std::process",
        "std::time",
        "println!",
        "print!",
        "eprintln!",
        "eprint!",
        "anstream",
        "clap",
        "clap_complete",
        "clap_mangen",
        "tempfile",
    ];
    only(&["cli/", "main.rs"], &input_and_output);
}

#[test]
fn only_the_plan_does_several_things_at_once() {
    only(&["plan/mod.rs"], &["std::thread"]);
}

#[test]
fn nothing_that_changes_is_kept_between_calls() {
    only(&[], &["static mut", "thread_local!", "Mutex", "RwLock", "std::sync::atomic"]);
}

#[test]
fn only_syntax_names_the_parsing_libraries() {
    only(&["syntax/"], &["nom"]);
    only(&["syntax/", "page/"], &["pulldown_cmark"]);
}

#[test]
fn only_one_module_names_the_yaml_libraries() {
    only(&["syntax/yaml.rs"], &["serde_yaml", "yaml_serde", "saphyr_parser"]);
}

#[test]
fn only_one_module_names_the_library_that_draws_carets() {
    only(&["diag/render.rs"], &["annotate_snippets"]);
}

#[test]
fn only_compare_names_the_diff_library() {
    only(&["compare/"], &["similar::", "use similar"]);
}

#[test]
fn output_depends_on_no_order_of_hashing() {
    only(&[], &["HashMap", "HashSet", "DefaultHasher", "RandomState"]);
}

#[test]
fn numbers_are_exact_until_they_are_drawn() {
    only(&["page/"], &["f32", "f64"]);
}

#[test]
fn counts_are_rounded_in_one_place() {
    only(&["measure/"], &[".round().to_integer", ".floor().to_integer", ".ceil().to_integer"]);
}

#[test]
fn pages_show_counts_and_never_round_to_them() {
    for code in library().iter().filter(|code| code.path.starts_with("page/")) {
        assert!(!uses(&code.text, "measure::round"), "src/{} rounds", code.path);
    }
}

#[test]
fn no_place_of_a_machine_stands_in_the_code() {
    for code in library() {
        for folder in ["home", "root", "work", "Users"] {
            let place = format!("/{folder}/");
            assert!(!code.text.contains(&place), "src/{} names {place}", code.path);
        }
    }
}
