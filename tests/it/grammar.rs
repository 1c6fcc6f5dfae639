//! The grammar pages and the parser say the same.
//!
//! Every production of `grammar/` is quoted, word for word, where it is
//! implemented; every example is read; and sentences made at random from the
//! productions are understood, so that the grammar promises nothing that the
//! parser refuses.

mod examples;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use proptest::prelude::*;
use proptest::test_runner::TestRng;
use walewright::diag::{Code, Finding};
use walewright::source::{Source, Span};
use walewright::syntax::tree::Setting;
use walewright::syntax::{self, Vocabulary, measure, print, row, step};

// ---- Reading the pages and the sources -------------------------------------

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The files under a folder with an ending, in order.
fn files(folder: &Path, ending: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).expect("the folder is there") {
        let path = entry.expect("it can be listed").path();
        if path.is_dir() {
            found.extend(files(&path, ending));
        } else if path.extension().is_some_and(|e| e == ending) {
            found.push(path);
        }
    }
    found.sort();
    found
}

fn text_of(path: &Path) -> String {
    fs::read_to_string(path).expect("the file can be read")
}

/// A fenced block of a grammar page.
struct Fence {
    page: String,
    line: usize,
    info: String,
    text: String,
}

fn fences() -> Vec<Fence> {
    let mut found: Vec<Fence> = Vec::new();
    for path in files(&root().join("grammar"), "md") {
        let page = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        let mut open: Option<Fence> = None;
        for (number, line) in text_of(&path).lines().enumerate() {
            match (&mut open, line.strip_prefix("```")) {
                (None, Some(info)) => {
                    let info = info.to_owned();
                    let (page, line) = (page.clone(), number + 1);
                    open = Some(Fence { page, line, info, text: String::new() });
                }
                (Some(_), Some("")) => found.extend(open.take()),
                (Some(fence), _) => {
                    fence.text.push_str(line);
                    fence.text.push('\n');
                }
                (None, None) => {}
            }
        }
        assert!(open.is_none(), "{page}: a fence is never closed");
    }
    found
}

/// The productions in a text, by name: `name = ...` and the indented lines after it.
fn productions(text: &str) -> Vec<(String, String)> {
    let mut found: Vec<(String, String)> = Vec::new();
    for line in text.lines() {
        let begins = line.split_once(" = ").filter(|(name, _)| {
            let name = name.strip_suffix("(x)").unwrap_or(name);
            !name.is_empty() && name.bytes().all(|b| b.is_ascii_lowercase() || b == b'-')
        });
        match (begins, found.last_mut()) {
            (Some((name, _)), _) => found.push((name.to_owned(), line.to_owned())),
            (None, Some((_, text))) if line.starts_with(' ') => {
                text.push('\n');
                text.push_str(line);
            }
            _ => {}
        }
    }
    found
}

/// The productions quoted in the documentation of the parsers.
fn quoted() -> Vec<(String, String)> {
    let mut found = Vec::new();
    for path in files(&root().join("src/syntax"), "rs") {
        let mut inside = false;
        let mut block = String::new();
        for line in text_of(&path).lines() {
            let Some(doc) = line.trim_start().strip_prefix("///") else {
                assert!(!inside, "{}: a quotation is never closed", path.display());
                continue;
            };
            let doc = doc.strip_prefix(' ').unwrap_or(doc);
            match (inside, doc) {
                (false, "```text") => inside = true,
                (true, "```") => {
                    inside = false;
                    found.extend(productions(&block));
                    block.clear();
                }
                (true, line) => {
                    block.push_str(line);
                    block.push('\n');
                }
                (false, _) => {}
            }
        }
    }
    found
}

fn on_the_pages() -> Vec<(String, String)> {
    fences().iter().filter(|f| f.info == "ebnf").flat_map(|f| productions(&f.text)).collect()
}

fn by_name(all: Vec<(String, String)>) -> BTreeMap<String, String> {
    let mut map = BTreeMap::new();
    for (name, text) in all {
        assert_eq!(map.insert(name.clone(), text), None, "`{name}` is defined twice");
    }
    map
}

// ---- The notation ----------------------------------------------------------

/// The right side of a production.
#[derive(Clone, Debug)]
enum Rule {
    Words(String),
    Name(String, Option<String>),
    Sequence(Vec<Rule>),
    Choice(Vec<Rule>),
    Optional(Box<Rule>),
    Repeated(Box<Rule>),
}

/// The signs of the notation: quoted words, names and brackets.
fn signs(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            ' ' | '\n' => {}
            '"' => {
                let mut word = String::from("\"");
                while let Some(c) = chars.next() {
                    match c {
                        '\\' => word.extend(chars.next()),
                        '"' => break,
                        other => word.push(other),
                    }
                }
                found.push(word);
            }
            'a'..='z' => {
                let mut name = String::from(c);
                while let Some(c) = chars.next_if(|c| c.is_ascii_lowercase() || *c == '-') {
                    name.push(c);
                }
                // A name and its argument are one sign: `sizes(number)`.
                if chars.next_if_eq(&'(').is_some() {
                    name.push('(');
                    name.extend(std::iter::from_fn(|| chars.next_if(|c| *c != ')')));
                    chars.next();
                }
                found.push(name);
            }
            other => found.push(other.to_string()),
        }
    }
    found
}

fn parsed(text: &str) -> Rule {
    let (_, right) = text.split_once(" = ").expect("a production has a right side");
    let signs = signs(right);
    let mut at = 0;
    let rule = choice(&signs, &mut at);
    assert_eq!(at, signs.len(), "not understood: {text}");
    rule
}

fn choice(signs: &[String], at: &mut usize) -> Rule {
    let mut all = vec![sequence(signs, at)];
    while signs.get(*at).is_some_and(|s| s == "|") {
        *at += 1;
        all.push(sequence(signs, at));
    }
    if all.len() == 1 { all.remove(0) } else { Rule::Choice(all) }
}

fn sequence(signs: &[String], at: &mut usize) -> Rule {
    let mut all = Vec::new();
    while let Some(sign) = signs.get(*at) {
        let close = match sign.as_str() {
            "|" | ")" | "]" | "}" => break,
            "(" => Some(")"),
            "[" => Some("]"),
            "{" => Some("}"),
            _ => None,
        };
        *at += 1;
        let Some(close) = close else {
            all.push(match (sign.strip_prefix('"'), sign.split_once('(')) {
                (Some(words), _) => Rule::Words(words.to_owned()),
                (None, Some((name, of))) => Rule::Name(name.to_owned(), Some(of.to_owned())),
                (None, None) => Rule::Name(sign.clone(), None),
            });
            continue;
        };
        let inner = choice(signs, at);
        assert_eq!(signs.get(*at).map(String::as_str), Some(close), "brackets must match");
        *at += 1;
        all.push(match close {
            "]" => Rule::Optional(Box::new(inner)),
            "}" => Rule::Repeated(Box::new(inner)),
            _ => inner,
        });
    }
    Rule::Sequence(all)
}

/// Every name that a rule uses.
fn names_in(rule: &Rule, found: &mut BTreeSet<String>) {
    match rule {
        Rule::Words(_) => {}
        Rule::Name(name, of) => {
            found.insert(name.clone());
            found.extend(of.clone());
        }
        Rule::Sequence(rules) | Rule::Choice(rules) => {
            rules.iter().for_each(|rule| names_in(rule, found));
        }
        Rule::Optional(rule) | Rule::Repeated(rule) => names_in(rule, found),
    }
}

/// The grammar: its productions, and samples of what they take as given.
struct Grammar {
    rules: BTreeMap<String, Rule>,
    given: BTreeMap<String, Vec<String>>,
}

fn grammar() -> Grammar {
    let mut rules = BTreeMap::new();
    for (name, text) in by_name(on_the_pages()) {
        let name = name.strip_suffix("(x)").unwrap_or(&name).to_owned();
        rules.insert(name, parsed(&text));
    }
    let mut given = BTreeMap::new();
    for fence in fences().iter().filter(|f| f.info == "given") {
        for line in fence.text.lines() {
            let (name, samples) = line.split_once(": ").expect("a name and samples");
            let samples = samples.split(" | ").map(str::to_owned).collect();
            given.insert(name.to_owned(), samples);
        }
    }
    Grammar { rules, given }
}

// ---- Sentences -------------------------------------------------------------

/// What may be said only with regard to something else, so that chance would
/// get it wrong: rows count upwards and follow one another.
const SAMPLES_FOR: [(&str, &[&str]); 2] = [
    ("row-range", &["3", "2-5", "2 to 4"]),
    ("which-rows", &["rows 1-4", "row 3", "rows 1 and 2", "the last row", "these 2 rounds"]),
];

/// What is written without spaces.
const WITHOUT_SPACES: [&str; 3] = ["decimal", "fraction", "ordinal"];

/// How deep a sentence may grow before it is brought to an end.
const DEEP: u32 = 9;

/// Makes a sentence of the grammar, choosing by chance.
struct Speaker<'g> {
    grammar: &'g Grammar,
    rng: TestRng,
    /// How often each production was used.
    used: BTreeMap<String, u32>,
}

impl Speaker<'_> {
    fn chance(&mut self, of: usize) -> usize {
        (self.rng.next_u64() % (of.max(1) as u64)) as usize
    }

    fn pick(&mut self, samples: &[impl AsRef<str>]) -> String {
        let at = self.chance(samples.len());
        samples[at].as_ref().to_owned()
    }

    fn say(&mut self, name: &str) -> String {
        let mut words = Vec::new();
        self.name(name, None, 0, &mut words);
        words.join(" ")
    }

    fn name(&mut self, name: &str, x: Option<&str>, depth: u32, words: &mut Vec<String>) {
        *self.used.entry(name.to_owned()).or_default() += 1;
        if let Some((_, samples)) = SAMPLES_FOR.iter().find(|(n, _)| *n == name) {
            words.push(self.pick(samples));
        } else if let Some(samples) = self.grammar.given.get(name) {
            words.push(self.pick(samples));
        } else {
            let rule = &self.grammar.rules[name];
            let mut inner = Vec::new();
            self.rule(rule, x, depth + 1, &mut inner);
            if WITHOUT_SPACES.contains(&name) {
                words.push(inner.concat());
            } else {
                words.extend(inner);
            }
        }
    }

    fn rule(&mut self, rule: &Rule, x: Option<&str>, depth: u32, words: &mut Vec<String>) {
        match rule {
            Rule::Words(text) => words.push(text.clone()),
            Rule::Name(name, _) if name == "x" => {
                self.name(x.expect("an argument"), None, depth, words);
            }
            Rule::Name(name, of) => {
                let of =
                    of.as_deref().map(|of| if of == "x" { x.expect("an argument") } else { of });
                self.name(name, of, depth, words);
            }
            Rule::Sequence(rules) => {
                for rule in rules {
                    self.rule(rule, x, depth, words);
                }
            }
            Rule::Choice(rules) => {
                // Deep down, only what does not lead back.
                let shallow: Vec<&Rule> = rules.iter().filter(|r| !self.recurs(r)).collect();
                let at = self.chance(if depth > DEEP { shallow.len() } else { rules.len() });
                let rule = if depth > DEEP { shallow[at] } else { &rules[at] };
                self.rule(rule, x, depth, words);
            }
            Rule::Optional(rule) => {
                if self.chance(2) == 0 {
                    self.rule(rule, x, depth, words);
                }
            }
            Rule::Repeated(rule) => {
                for _ in 0..self.chance(if depth > DEEP { 1 } else { 3 }) {
                    self.rule(rule, x, depth, words);
                }
            }
        }
    }

    /// Whether a rule may lead to what it is part of.
    fn recurs(&self, rule: &Rule) -> bool {
        let mut names = BTreeSet::new();
        names_in(rule, &mut names);
        names.iter().any(|n| ["star", "group", "expression"].contains(&n.as_str()))
    }
}

// ---- Reading what is said --------------------------------------------------

fn vocabulary() -> Vocabulary {
    let colors = ["MC", "CC", "harbor blue"].map(str::to_owned).to_vec();
    Vocabulary { own: vec!["bob".to_owned()], colors }
}

/// Reads a text as what a name stands for.
fn read(name: &str, text: &str) -> Result<(), Finding> {
    match name {
        "step" => step::parse(text, 0, &vocabulary()).map(drop),
        "steps" => step::item(text, 0, &vocabulary()).map(drop),
        "row" => row::parse_items(text, 0, &vocabulary()).map(drop),
        "count" => measure::counts(text, 0).map(drop),
        "length" => measure::lengths(text, 0).map(drop),
        "ease" => measure::ease(text, 0).map(drop),
        "length-change" => measure::length_change(text, 0).map(drop),
        "percent" => measure::percent(text, 0).map(drop),
        "expression" => measure::expr(text, 0).map(drop),
        "lies" => measure::lies(text, 0).map(drop),
        "fabric" => measure::fabric_name(text, 0).map(drop),
        "put-up" => measure::put_up(text, 0).map(drop),
        "used" => measure::used(text, 0).map(drop),
        "live" => measure::live(text, 0).map(drop),
        "heading" => first(document(&format!("---\n---\n## {text}\n"))),
        "pattern" => first(document(text)),
        "targets" => first(syntax::parse_targets(&Source::new("targets.yaml", text)).1),
        other => panic!("nothing reads `{other}`"),
    }
}

fn document(text: &str) -> Vec<Finding> {
    syntax::parse(&Source::new("pattern.wale", text)).findings
}

fn first(findings: Vec<Finding>) -> Result<(), Finding> {
    findings.into_iter().find(Finding::is_error).map_or(Ok(()), Err)
}

/// What a grammar begins with.
const BEGINNINGS: [&str; 15] = [
    "steps",
    "step",
    "row",
    "count",
    "length",
    "ease",
    "length-change",
    "percent",
    "expression",
    "lies",
    "fabric",
    "put-up",
    "used",
    "live",
    "heading",
];

// ---- The promises ----------------------------------------------------------

#[test]
fn every_production_is_quoted_where_it_is_implemented() {
    let (pages, sources) = (by_name(on_the_pages()), by_name(quoted()));
    for (name, text) in &pages {
        assert_eq!(sources.get(name), Some(text), "`{name}` in grammar/ and in src/syntax/");
    }
    for name in sources.keys() {
        assert!(pages.contains_key(name), "`{name}` is quoted in src/syntax/ but not in grammar/");
    }
}

#[test]
fn every_name_is_defined_and_used() {
    let grammar = grammar();
    let mut used: BTreeSet<String> = BEGINNINGS.iter().map(|&name| name.to_owned()).collect();
    for (name, rule) in &grammar.rules {
        let mut names = BTreeSet::new();
        names_in(rule, &mut names);
        for used in &names {
            let known = grammar.rules.contains_key(used) || grammar.given.contains_key(used);
            assert!(known || used == "x", "`{name}` uses `{used}`, which is not defined");
        }
        used.extend(names);
    }
    for name in grammar.rules.keys().chain(grammar.given.keys()) {
        assert!(used.contains(name), "`{name}` is defined but never used");
    }
}

#[test]
fn every_example_is_read_as_it_says() {
    let mut examples = 0;
    for fence in fences() {
        let Fence { page, line, info, text } = &fence;
        let words: Vec<&str> = info.split(' ').collect();
        let (kind, expected) = match words.as_slice() {
            ["ok", kind] => (*kind, None),
            ["err", code, kind] => {
                (*kind, Some(Code::from_name(code).unwrap_or_else(|| panic!("no code `{code}`"))))
            }
            ["ebnf" | "given"] => continue,
            _ => panic!("grammar/{page}:{line}: `{info}` is no kind of example"),
        };
        let whole = ["pattern", "targets"].contains(&kind);
        let parts: Vec<&str> = if whole {
            vec![text.as_str()]
        } else {
            text.lines().filter(|l| !l.is_empty()).collect()
        };
        for part in parts {
            examples += 1;
            match (read(kind, part), expected) {
                (Ok(()), None) => {}
                (Ok(()), Some(_)) => panic!("grammar/{page}:{line}: `{part}` is read as {kind}"),
                (Err(finding), Some(code)) if finding.code == code => {}
                (Err(finding), _) => panic!("grammar/{page}:{line}: `{part}`\n{finding:#?}"),
            }
        }
    }
    assert!(examples > 100, "only {examples} examples");
}

/// The canonical text of a sentence: that of several instructions has a line for each.
fn canonical(name: &str, text: &str) -> Result<String, Finding> {
    if name == "row" {
        return row::parse_items(text, 0, &vocabulary()).map(|items| print::items(&items));
    }
    let mut lines = Vec::new();
    // Each instruction of an item is one of its own in the canonical way.
    for text in text.lines() {
        let words = |span: Span| text.get(span.range()).unwrap_or_default().to_owned();
        for step in step::item(text, 0, &vocabulary())? {
            lines.push(print::step(&step, Setting::Round, words));
        }
    }
    Ok(lines.join("\n"))
}

#[test]
fn sentences_of_the_grammar_are_understood() {
    let grammar = grammar();
    let mut speaker = Speaker {
        grammar: &grammar,
        rng: TestRng::deterministic_rng(proptest::test_runner::RngAlgorithm::ChaCha),
        used: BTreeMap::new(),
    };
    let mut refused = Vec::new();
    for beginning in BEGINNINGS {
        let sentences = if ["steps", "step", "row"].contains(&beginning) { 4_000 } else { 200 };
        for _ in 0..sentences {
            let sentence = speaker.say(beginning);
            let told = |finding: &Finding| {
                format!("{beginning}: {sentence}\n  {:?} {}", finding.place(), finding.message)
            };
            if let Err(finding) = read(beginning, &sentence) {
                refused.push(told(&finding));
            } else if ["steps", "step", "row"].contains(&beginning) {
                // What is understood can be written in the canonical way, and stays so.
                let once = canonical(beginning, &sentence);
                let again = once.clone().and_then(|text| canonical(beginning, &text));
                if again != once {
                    let again = again.unwrap_or_else(|finding| told(&finding));
                    refused.push(format!("{beginning}: {sentence}\n  {once:?}\n  {again}"));
                }
            }
        }
    }
    refused.sort_by_key(String::len);
    refused.truncate(10);
    assert!(refused.is_empty(), "not understood:\n{}", refused.join("\n"));
    for name in grammar.rules.keys() {
        assert!(speaker.used.contains_key(name), "`{name}` was never said");
    }
}
