//! Every production has a good example, every section a good and a bad one.
//!
//! A small reader of the notation reads the good examples by the productions
//! alone, and notes which of them a reading of the whole example goes through.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::{BEGINNINGS, Grammar, Rule, fences, grammar};
use walewright::diag::Code;

/// The productions gone through on the ways to an end.
type Used = BTreeSet<String>;
/// Where readings end, and what they went through.
type Ends = BTreeMap<usize, Used>;

struct Reader<'g> {
    grammar: &'g Grammar,
    text: &'g str,
    /// What was read before: the production, its argument, and where it began.
    known: HashMap<(String, Option<String>, usize), Ends>,
}

impl Reader<'_> {
    fn after_spaces(&self, at: usize) -> usize {
        let rest = &self.text[at..];
        at + rest.len() - rest.trim_start().len()
    }

    fn rule(&mut self, rule: &Rule, x: Option<&str>, at: usize) -> Ends {
        let here = || Ends::from([(at, Used::new())]);
        match rule {
            Rule::Words(words) => self.words(words, at),
            Rule::Name(name, _) if name == "x" => self.name(x.expect("an argument"), None, at),
            Rule::Name(name, of) => {
                let of = of.as_deref().map(|of| if of == "x" { x.expect("one") } else { of });
                self.name(name, of, at)
            }
            Rule::Sequence(rules) => rules.iter().fold(here(), |ends, rule| {
                let mut next = Ends::new();
                for (end, used) in ends {
                    add(&mut next, self.rule(rule, x, end), &used);
                }
                next
            }),
            Rule::Choice(rules) => {
                let mut all = Ends::new();
                for rule in rules {
                    add(&mut all, self.rule(rule, x, at), &Used::new());
                }
                all
            }
            Rule::Optional(rule) => {
                let mut all = here();
                add(&mut all, self.rule(rule, x, at), &Used::new());
                all
            }
            Rule::Repeated(rule) => {
                let (mut all, mut last) = (here(), here());
                while !last.is_empty() {
                    let mut next = Ends::new();
                    for (end, used) in last {
                        let mut more = self.rule(rule, x, end);
                        more.retain(|further, _| *further > end);
                        add(&mut next, more, &used);
                    }
                    add(&mut all, next.clone(), &Used::new());
                    last = next;
                }
                all
            }
        }
    }

    fn name(&mut self, name: &str, x: Option<&str>, at: usize) -> Ends {
        let Some(rule) = self.grammar.rules.get(name) else { return self.given(name, at) };
        let key = (name.to_owned(), x.map(str::to_owned), at);
        if let Some(known) = self.known.get(&key) {
            return known.clone();
        }
        let mut ends = Ends::new();
        let inner = self.rule(rule, x, at);
        add(&mut ends, inner, &Used::from([name.to_owned()]));
        self.known.insert(key, ends.clone());
        ends
    }

    /// Words in any case, with any spaces; a letter may not follow the last letter.
    fn words(&self, words: &str, at: usize) -> Ends {
        let mut end = at;
        for word in words.split(' ') {
            end = self.after_spaces(end);
            let Some(found) = self.text.get(end..end + word.len()) else { return Ends::new() };
            if !found.eq_ignore_ascii_case(word) {
                return Ends::new();
            }
            end += word.len();
        }
        let letters = |c: Option<char>| c.is_some_and(char::is_alphabetic);
        if letters(words.chars().last()) && letters(self.text[end..].chars().next()) {
            return Ends::new();
        }
        Ends::from([(end, Used::new())])
    }

    /// What the notation takes as given, wherever it may end.
    fn given(&self, name: &str, at: usize) -> Ends {
        let at = self.after_spaces(at);
        let rest = &self.text[at..];
        let is: fn(&str) -> bool = match name {
            "digits" | "few" => |t| t.bytes().all(|b| b.is_ascii_digit()),
            "word" => |t| t.chars().all(|c| c.is_alphanumeric() || "-'".contains(c)),
            "letter" => |t| t.len() == 1 && t.chars().all(char::is_alphabetic),
            "words" => |_| true,
            "color" => |t| ["mc", "cc", "harbor blue"].contains(&t.to_lowercase().as_str()),
            "own-name" => |t| t.eq_ignore_ascii_case("bob"),
            "abbreviation" => |t| walewright::stitch::find(t).is_some(),
            "finding-name" => |t| Code::from_name(t).is_some(),
            other => panic!("`{other}` is not given"),
        };
        let ends = rest.char_indices().map(|(i, c)| i + c.len_utf8());
        let inside = |end: usize| {
            let mut around = rest[..end].chars().rev().take(1).chain(rest[end..].chars().take(1));
            around.all(char::is_alphanumeric) && rest.len() > end
        };
        let whole = ends.filter(|&end| !inside(end) || name == "abbreviation" || name == "digits");
        whole.filter(|&end| is(&rest[..end])).map(|end| (at + end, Used::new())).collect()
    }
}

/// Adds readings that went through `before` first.
fn add(all: &mut Ends, more: Ends, before: &Used) {
    for (end, used) in more {
        let known = all.entry(end).or_default();
        known.extend(used);
        known.extend(before.iter().cloned());
    }
}

/// What the readings of a whole text go through; nothing where the page promises less than is read.
fn used(grammar: &Grammar, beginning: &str, text: &str) -> Used {
    let mut reader = Reader { grammar, text, known: HashMap::new() };
    let ends = reader.name(beginning, None, 0);
    ends.into_iter()
        .filter(|(end, _)| text[*end..].trim().is_empty())
        .flat_map(|(_, used)| used)
        .collect()
}

#[test]
fn every_production_is_used_by_a_good_example() {
    let grammar = grammar();
    let (mut seen, mut read) = (Used::new(), 0);
    for fence in fences() {
        let Some(kind) = fence.info.strip_prefix("ok ") else { continue };
        if !BEGINNINGS.contains(&kind) {
            continue;
        }
        for line in fence.text.lines().filter(|line| !line.is_empty()) {
            let found = used(&grammar, kind, line);
            read += usize::from(!found.is_empty());
            seen.extend(found);
        }
    }
    assert!(read > 150, "only {read} examples are read by the productions alone");
    let without: Vec<&String> = grammar.rules.keys().filter(|name| !seen.contains(*name)).collect();
    assert!(without.is_empty(), "without a good example: {without:?}");
}

#[test]
fn every_section_with_productions_has_good_and_bad_examples() {
    // From one block of productions to the next, or to the end of the page.
    let mut open: Option<(String, usize)> = None;
    let (mut good, mut bad) = (0, 0);
    let check = |open: &Option<(String, usize)>, good: usize, bad: usize| {
        if let Some((page, line)) = open {
            assert!(good > 0, "grammar/{page}:{line}: no good example follows");
            assert!(bad > 0, "grammar/{page}:{line}: no bad example follows");
        }
    };
    let mut last = String::new();
    for fence in fences() {
        if fence.info == "ebnf" || fence.page != last {
            check(&open, good, bad);
            open = (fence.info == "ebnf").then(|| (fence.page.clone(), fence.line));
            (good, bad) = (0, 0);
        }
        good += usize::from(fence.info.starts_with("ok "));
        bad += usize::from(fence.info.starts_with("err "));
        last.clone_from(&fence.page);
    }
    check(&open, good, bad);
}

#[test]
fn the_reader_of_productions_reads_as_they_say() {
    let grammar = grammar();
    assert!(used(&grammar, "row", "k2, p2; rep from *").is_empty(), "a repeat without its star");
    let found = used(&grammar, "row", "*k2, p2; rep from *");
    assert!(found.contains("star") && found.contains("plain-stitch"), "{found:?}");
    assert!(!found.contains("group"), "{found:?}");
    assert!(used(&grammar, "count", "96 (104").is_empty());
}
