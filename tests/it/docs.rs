//! What README.md and DEVELOPERS.md show is true: their patterns parse, their
//! commands print what they are said to print.

use std::fs;
use std::path::Path;
use std::process::Command;
use walewright::source::Source;
use walewright::syntax;

struct Block {
    page: &'static str,
    line: usize,
    language: String,
    text: String,
}

fn blocks(page: &'static str) -> Vec<Block> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(page);
    let text = fs::read_to_string(path).expect("the page");
    let mut blocks = Vec::new();
    let mut open: Option<Block> = None;
    for (index, line) in text.lines().enumerate() {
        match (&mut open, line.strip_prefix("```")) {
            (None, Some(language)) => {
                let language = language.trim().to_owned();
                open = Some(Block { page, line: index + 1, language, text: String::new() });
            }
            (Some(_), Some("")) => blocks.extend(open.take()),
            (Some(block), _) => {
                block.text.push_str(line);
                block.text.push('\n');
            }
            (None, None) => {}
        }
    }
    blocks
}

/// A folder with the page's own patterns and targets, by the names they have in its fences; of
/// each pattern one more with a slip of the pen.
fn folder(page: &'static str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    for block in blocks(page) {
        let Some((_, name)) = block.language.split_once(' ') else { continue };
        fs::write(folder.path().join(name), &block.text).expect("written");
        let slip = block.text.replace("cast on 104", "cast on 106");
        fs::write(folder.path().join(format!("wrong-{name}")), slip).expect("written");
    }
    folder
}

/// Runs `wale ARGS | grep ...` in a folder; what it prints, errors included.
fn run(command: &str, folder: &Path) -> String {
    let bin = Path::new(env!("CARGO_BIN_EXE_wale"));
    let path = bin.parent().expect("a folder").to_string_lossy().into_owned();
    let paths = format!("{path}:{}", std::env::var("PATH").unwrap_or_default());
    let output = Command::new("sh")
        .args(["-c", command])
        .env("PATH", paths)
        .env("NO_COLOR", "1")
        .current_dir(folder)
        .output()
        .expect("a shell");
    String::from_utf8_lossy(&output.stdout).into_owned()
}

#[cfg(unix)]
#[test]
fn the_commands_print_what_the_pages_show() {
    let mut tried = 0;
    for page in ["README.md", "DEVELOPERS.md"] {
        let folder = folder(page);
        for block in blocks(page).into_iter().filter(|b| b.language == "console") {
            let (command, shown) = block.text.split_once('\n').expect("a command");
            let command = command.strip_prefix("$ ").expect("a command after `$ `");
            let printed = run(command, folder.path());
            assert_eq!(printed.trim(), shown.trim(), "{}:{}", block.page, block.line);
            tried += 1;
        }
    }
    assert!(tried >= 3, "only {tried} commands");
}

#[test]
fn the_patterns_of_the_pages_are_patterns() {
    for page in ["README.md", "DEVELOPERS.md"] {
        for block in blocks(page).into_iter().filter(|b| b.language.starts_with("wale")) {
            let source = Source::new(page, &block.text);
            let parsed = syntax::parse(&source);
            let document = parsed.document.expect("a pattern");
            let checked = walewright::check(&source, &document, parsed.findings);
            assert!(checked.findings.is_empty(), "{page}:{}: {:?}", block.line, checked.findings);
        }
    }
}

#[test]
fn the_two_commands_of_the_readme_are_those_of_ci() {
    let set_up = blocks("README.md").into_iter().find(|b| b.language == "sh").expect("set-up");
    let commands: Vec<&str> = set_up.text.lines().collect();
    assert_eq!(commands.len(), 2, "exactly two commands");
    let ci =
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(".ci/run")).expect(".ci/run");
    assert!(ci.lines().any(|line| line.trim() == commands[1]), "{} in .ci/run", commands[1]);
    // The first runs the main job on a sample that exists.
    let files = commands[0].split_whitespace().filter(|word| word.starts_with("samples/"));
    for file in files {
        assert!(Path::new(env!("CARGO_MANIFEST_DIR")).join(file).exists(), "{file}");
    }
}

#[test]
fn links_to_files_lead_somewhere() {
    for page in ["README.md", "DEVELOPERS.md"] {
        let text =
            fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(page)).expect("the page");
        for target in text.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
            let local = !target.starts_with("http") && !target.starts_with('#');
            let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(target);
            assert!(!local || path.exists(), "{page} links to {target}");
        }
    }
}

#[test]
fn every_file_that_the_guide_names_is_there() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = fs::read_to_string(root.join("DEVELOPERS.md")).expect("the page");
    let named = text.split('`').skip(1).step_by(2);
    let is_path = |name: &&str| {
        (name.ends_with(".rs") || name.ends_with('/') || name.ends_with(".md"))
            && !name.contains(' ')
    };
    let mut seen = 0;
    for name in named.filter(is_path) {
        let found = [root.join(name), root.join("src").join(name)].iter().any(|path| path.exists());
        assert!(found, "DEVELOPERS.md names {name}");
        seen += 1;
    }
    assert!(seen > 10, "only {seen} files named");
}
