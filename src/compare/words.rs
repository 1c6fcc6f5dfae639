//! Two texts compared word by word, their numbers apart.

use super::align::{matched, matched_ends};
use super::numbers::{Numeral, paired};
use super::{Change, Number, Segment, Sizes};
use crate::source::{Source, Span};
use std::ops::Range;

/// A text cut into words, blanks, signs and numbers.
#[derive(Clone, Debug, Default)]
pub(super) struct Wording {
    tokens: Vec<Token>,
    numerals: Vec<Numeral>,
}

#[derive(Clone, PartialEq, Eq, Debug)]
struct Token {
    /// As written.
    text: String,
    /// What it is compared by.
    key: String,
    kind: Kind,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Kind {
    /// Letters and digits.
    Word,
    /// Digits alone, that are no number of the tree: of a row's label, in a paragraph.
    Digits,
    Blank,
    Sign,
    /// A number of the tree, by its place in the list.
    Number(usize),
}

impl Wording {
    /// The text of a span with its numbers, which must stand in the order of the text.
    pub(super) fn new(source: &Source, span: Span, numerals: Vec<Numeral>) -> Self {
        let mut tokens = Vec::new();
        let mut kept: Vec<Numeral> = Vec::new();
        let mut at = span.start;
        for numeral in numerals {
            // One that is understood and not written has no place; none may lie in another.
            let inside = span.contains(numeral.span) && numeral.span.start >= at;
            if !inside || source.slice(numeral.span).is_empty() {
                continue;
            }
            cut(source.slice(Span::new(at, numeral.span.start)), &mut tokens);
            tokens.push(Token {
                text: numeral.written.clone(),
                key: numeral.key().to_owned(),
                kind: Kind::Number(kept.len()),
            });
            at = numeral.span.end;
            kept.push(numeral);
        }
        cut(source.slice(Span::new(at, span.end.max(at))), &mut tokens);
        Self { tokens, numerals: kept }
    }

    /// A text without numbers that are told apart.
    pub(super) fn plain(text: &str) -> Self {
        let mut tokens = Vec::new();
        cut(text, &mut tokens);
        Self { tokens, numerals: Vec::new() }
    }

    /// A text that is one number.
    pub(super) fn number(numeral: Numeral) -> Self {
        let token = Token {
            text: numeral.written.clone(),
            key: numeral.key().to_owned(),
            kind: Kind::Number(0),
        };
        Self { tokens: vec![token], numerals: vec![numeral] }
    }

    /// Its words in small letters, with a sign for every number.
    pub(super) fn key(&self) -> String {
        self.tokens.iter().map(|token| token.key.to_lowercase()).collect()
    }

    /// All of it, blanks made even.
    pub(super) fn text(&self) -> String {
        let text = |token: &Token| match token.kind {
            Kind::Blank => " ".to_owned(),
            _ => token.text.clone(),
        };
        self.tokens.iter().map(text).collect()
    }

    /// Its words and numbers in the order of the alphabet.
    pub(super) fn bag(&self) -> Vec<String> {
        let words = self.tokens.iter().filter(|token| token.counts());
        let mut bag: Vec<String> = words.map(|token| token.key.to_lowercase()).collect();
        bag.sort_unstable();
        bag
    }

    /// The text in one segment.
    pub(super) fn whole(&self, changed: bool) -> Vec<Segment> {
        segments(&self.tokens, &vec![changed; self.tokens.len()])
    }
}

impl Token {
    /// Whether it says something by itself.
    fn counts(&self) -> bool {
        !matches!(self.kind, Kind::Blank | Kind::Sign)
    }
}

/// Cuts a text without numbers of the tree.
fn cut(text: &str, tokens: &mut Vec<Token>) {
    let kind = |c: char| match c {
        c if c.is_whitespace() => Kind::Blank,
        c if c.is_alphanumeric() => Kind::Word,
        _ => Kind::Sign,
    };
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let kind_of_first = kind(first);
        let end = match kind_of_first {
            Kind::Sign => first.len_utf8(),
            run => rest.find(|c| kind(c) != run).unwrap_or(rest.len()),
        };
        let end = end_of_decimal(rest, end);
        let (text, after) = rest.split_at(end);
        let digits =
            kind_of_first == Kind::Word && text.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        tokens.push(Token {
            text: text.to_owned(),
            key: if kind_of_first == Kind::Blank { " ".to_owned() } else { text.to_owned() },
            kind: if digits { Kind::Digits } else { kind_of_first },
        });
        rest = after;
    }
}

/// Where a number ends whose digits before the point end at `end`: `4.5` is one word.
fn end_of_decimal(text: &str, end: usize) -> usize {
    let (before, after) = text.split_at(end);
    let digits =
        |text: &str| text.len() - text.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    let decimals = after.strip_prefix('.').map_or(0, digits);
    if decimals > 0 && digits(before) == before.len() { end + 1 + decimals } else { end }
}

/// Two texts, compared.
pub(super) struct Compared {
    /// [`Change::Same`], [`Change::Numbers`] or [`Change::Words`].
    pub(super) change: Change,
    pub(super) old: Vec<Segment>,
    pub(super) new: Vec<Segment>,
    pub(super) numbers: Vec<Number>,
}

/// More words and signs than any paragraph; longer ones are compared by their two ends only.
const MOST_WORDS: usize = 20_000;

/// Compares two texts word by word, and the numbers that answer to each other size by size.
pub(super) fn compare(old: &Wording, new: &Wording, sizes: &Sizes) -> Compared {
    let keys = |side: &Wording| side.tokens.iter().map(|t| t.key.clone()).collect::<Vec<_>>();
    let (keys_old, keys_new) = (keys(old), keys(new));
    let pairs = if old.tokens.len().max(new.tokens.len()) > MOST_WORDS {
        matched_ends(&keys_old, &keys_new)
    } else {
        matched(&keys_old, &keys_new)
    };
    let pairs = without_islands(pairs, old, new);
    let mut marks = Marks {
        old: vec![true; old.tokens.len()],
        new: vec![true; new.tokens.len()],
        words: false,
        numbers: Vec::new(),
    };
    let mut ends = pairs.clone();
    ends.push((old.tokens.len(), new.tokens.len()));
    let (mut i, mut j) = (0, 0);
    for (end_i, end_j) in ends {
        marks.gap(old, new, (i..end_i, j..end_j), sizes);
        marks.pair(old, new, (end_i, end_j), sizes);
        (i, j) = (end_i + 1, end_j + 1);
    }
    let change = if marks.words {
        Change::Words
    } else if marks.numbers.iter().any(Number::changed) {
        Change::Numbers
    } else {
        Change::Same
    };
    Compared {
        change,
        old: segments(&old.tokens, &marks.old),
        new: segments(&new.tokens, &marks.new),
        numbers: marks.numbers,
    }
}

struct Marks {
    /// Which tokens differ.
    old: Vec<bool>,
    new: Vec<bool>,
    /// Whether words differ.
    words: bool,
    numbers: Vec<Number>,
}

impl Marks {
    /// What stands between two pairs on both sides.
    fn gap(
        &mut self,
        old: &Wording,
        new: &Wording,
        (i, j): (Range<usize>, Range<usize>),
        sizes: &Sizes,
    ) {
        let said = |side: &Wording, range: Range<usize>| -> Vec<usize> {
            let tokens = range.clone().zip(side.tokens.get(range).unwrap_or_default());
            tokens.filter(|(_, token)| token.kind != Kind::Blank).map(|(at, _)| at).collect()
        };
        let (said_old, said_new) = (said(old, i), said(new, j));
        if let ([one], [other]) = (said_old.as_slice(), said_new.as_slice())
            && let (Some(a), Some(b)) = (old.tokens.get(*one), new.tokens.get(*other))
            && a.kind == Kind::Digits
            && b.kind == Kind::Digits
        {
            let figure = |text: &str, places| Numeral::figure(text, places);
            let places = (sizes.places_old(), sizes.places_new());
            self.numbers.extend(paired(
                Some(&figure(&a.text, places.0)),
                Some(&figure(&b.text, places.1)),
                sizes,
            ));
            return;
        }
        self.words |= !said_old.is_empty() || !said_new.is_empty();
        let alone = |side: &Wording, places: &[usize]| -> Vec<Numeral> {
            let kinds = places.iter().filter_map(|&at| side.tokens.get(at)).map(|t| t.kind);
            let numbers = kinds.filter_map(|kind| match kind {
                Kind::Number(at) => side.numerals.get(at).cloned(),
                _ => None,
            });
            numbers.collect()
        };
        for numeral in alone(old, &said_old) {
            self.numbers.extend(paired(Some(&numeral), None, sizes));
        }
        for numeral in alone(new, &said_new) {
            self.numbers.extend(paired(None, Some(&numeral), sizes));
        }
    }

    /// Two tokens with the same key.
    fn pair(&mut self, old: &Wording, new: &Wording, (i, j): (usize, usize), sizes: &Sizes) {
        let (Some(a), Some(b)) = (old.tokens.get(i), new.tokens.get(j)) else { return };
        let mut differ = false;
        if let (Kind::Number(p), Kind::Number(q)) = (a.kind, b.kind)
            && let (Some(p), Some(q)) = (old.numerals.get(p), new.numerals.get(q))
        {
            let number = paired(Some(p), Some(q), sizes);
            let changed = number.as_ref().is_some_and(Number::changed);
            differ = !same_letters(&a.text, &b.text);
            // Written in another way, and not only since there are other sizes.
            self.words |= differ && !changed && sizes.agree();
            let twice = p.second && self.numbers.last().is_some_and(Number::changed);
            self.numbers.extend(number.filter(|_| !twice));
        }
        if let (Some(a), Some(b)) = (self.old.get_mut(i), self.new.get_mut(j)) {
            (*a, *b) = (differ, differ);
        }
    }
}

/// Whether two texts differ in nothing but blanks.
fn same_letters(a: &str, b: &str) -> bool {
    a.split_whitespace().flat_map(str::chars).eq(b.split_whitespace().flat_map(str::chars))
}

/// Leaves out runs of pairs between two changes that are nothing but blanks and signs: it is
/// easier to read that a longer stretch changed.
fn without_islands(
    pairs: Vec<(usize, usize)>,
    old: &Wording,
    new: &Wording,
) -> Vec<(usize, usize)> {
    let mut runs: Vec<Vec<(usize, usize)>> = Vec::new();
    for (i, j) in pairs {
        match runs.last_mut() {
            Some(run) if run.last().is_some_and(|&(p, q)| (p + 1, q + 1) == (i, j)) => {
                run.push((i, j));
            }
            _ => runs.push(vec![(i, j)]),
        }
    }
    let says = |tokens: Option<&[Token]>| {
        tokens.unwrap_or_default().iter().any(|token| token.kind != Kind::Blank)
    };
    let mut kept: Vec<(usize, usize)> = Vec::new();
    for (at, run) in runs.iter().enumerate() {
        let Some((&(i, j), &(p, q))) = run.first().zip(run.last()) else { continue };
        let (start_i, start_j) = kept.last().map_or((0, 0), |&(i, j)| (i + 1, j + 1));
        let ends = (old.tokens.len(), new.tokens.len());
        let (end_i, end_j) = runs.get(at + 1).and_then(|run| run.first()).copied().unwrap_or(ends);
        let before = says(old.tokens.get(start_i..i)) || says(new.tokens.get(start_j..j));
        let after = says(old.tokens.get(p + 1..end_i)) || says(new.tokens.get(q + 1..end_j));
        let counts = |&(i, _): &(usize, usize)| old.tokens.get(i).is_some_and(Token::counts);
        if !(before && after) || run.iter().any(counts) {
            kept.extend(run);
        }
    }
    kept
}

/// The text in stretches that differ and stretches that do not.
fn segments(tokens: &[Token], changed: &[bool]) -> Vec<Segment> {
    let mut segments: Vec<Segment> = Vec::new();
    for (token, &changed) in tokens.iter().zip(changed) {
        match segments.last_mut() {
            Some(last) if last.changed == changed => last.text.push_str(&token.text),
            _ => segments.push(Segment { text: token.text.clone(), changed }),
        }
    }
    segments
}
