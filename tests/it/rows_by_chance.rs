//! Rows made up by chance are accepted with the right count, and refused with
//! a stitch too few, at the place where a knitter would notice.
//!
//! What is right is told by a counter of its own that knows nothing of the
//! check: it holds stitches in two heaps and moves them one at a time, round
//! after round of every repeat, as a child would.
//!
//! 400 rows are made up, and each is spoilt at every stitch it has, which are
//! some thousands of spoilt rows; 20,000 rows with `WALE_LONG=1`.

use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};
use std::cell::Cell;
use std::ops::Range;

use walewright::diag::Finding;
use walewright::source::Source;
use walewright::syntax;

/// A part of a row.
#[derive(Clone, Debug)]
enum Part {
    /// Its words, what it takes and what it makes.
    Stitch(&'static str, u32, u32),
    /// `k4`
    Plain(char, u32),
    /// `[k1, p1] 3 times`, or `[k1, p1] 2 more times`
    Group(Vec<Part>, u32),
    /// `(k1, yo, k1) in next st`
    InOne(Vec<Part>),
    /// `*k2, p2; rep from * to last 2 sts`
    Star(Vec<Part>, u32),
    /// `*k2, p2; rep from * 3 times`, or `3 more times`
    Often(Vec<Part>, u32),
    /// `k to last 3 sts`
    Run(char, u32),
}

/// What each takes and makes, from its description in the published lists (see `stitch`).
const STITCHES: [(&str, u32, u32); 12] = [
    ("k2tog", 2, 1),
    ("ssk", 2, 1),
    ("p2tog", 2, 1),
    ("k3tog", 3, 1),
    ("sk2p", 3, 1),
    ("yo", 0, 1),
    ("m1", 0, 1),
    ("kfb", 1, 2),
    ("k1 tbl", 1, 1),
    ("sl 1", 1, 1),
    ("2/2 RC", 4, 4),
    ("double yo", 0, 2),
];

// ---- The counter -------------------------------------------------------------

/// Two heaps of stitches, one for each needle.
struct Heaps {
    left: u32,
    right: u32,
}

impl Heaps {
    /// Works one part; `None` where the stitches run out.
    fn work(&mut self, part: &Part) -> Option<()> {
        match part {
            Part::Stitch(_, takes, makes) => self.one(*takes, *makes),
            Part::Plain(_, n) => (0..*n).try_for_each(|_| self.one(1, 1)),
            Part::Group(parts, n) | Part::Often(parts, n) => {
                (0..*n).try_for_each(|_| parts.iter().try_for_each(|p| self.work(p)))
            }
            Part::InOne(parts) => {
                let mut made = Heaps { left: 1_000, right: 0 };
                parts.iter().try_for_each(|p| made.work(p))?;
                self.one(1, made.right)
            }
            Part::Star(parts, keep) => {
                self.left.checked_sub(*keep)?;
                while self.left > *keep {
                    let before = self.left;
                    parts.iter().try_for_each(|p| self.work(p))?;
                    // A repeat that takes nothing never ends; one must not eat what is kept.
                    if self.left == before || self.left < *keep {
                        return None;
                    }
                }
                Some(())
            }
            Part::Run(_, keep) => {
                self.left.checked_sub(*keep)?;
                while self.left > *keep {
                    self.one(1, 1)?;
                }
                Some(())
            }
        }
    }

    fn one(&mut self, takes: u32, makes: u32) -> Option<()> {
        self.left = self.left.checked_sub(takes)?;
        self.right += makes;
        Some(())
    }
}

/// How a row over so many stitches goes.
#[derive(PartialEq, Eq, Debug)]
enum Outcome {
    /// It comes out, and leaves so many.
    Leaves(u32),
    /// So many stitches are left unworked.
    Over(u32),
    /// The stitches run out in this part.
    Short(usize),
}

fn counted(row: &[Part], stitches: u32) -> Outcome {
    let mut heaps = Heaps { left: stitches, right: 0 };
    for (at, part) in row.iter().enumerate() {
        if heaps.work(part).is_none() {
            return Outcome::Short(at);
        }
    }
    if heaps.left == 0 { Outcome::Leaves(heaps.right) } else { Outcome::Over(heaps.left) }
}

// ---- The words ----------------------------------------------------------------

fn words(part: &Part) -> String {
    match part {
        Part::Stitch(name, ..) => (*name).to_owned(),
        Part::Plain(letter, n) => format!("{letter}{n}"),
        // Once, and so many times more.
        Part::Group(parts, n) if parts.len() > 1 => {
            format!("[{}] {} more times", all(parts), n - 1)
        }
        Part::Group(parts, n) => format!("[{}] {n} times", all(parts)),
        Part::InOne(parts) => format!("({}) in next st", all(parts)),
        Part::Star(parts, 0) => format!("*{}; rep from * to end", all(parts)),
        Part::Star(parts, keep) => format!("*{}; rep from * to last {keep} sts", all(parts)),
        Part::Often(parts, n) if parts.len() > 1 => {
            format!("*{}; rep from * {} more times", all(parts), n - 1)
        }
        Part::Often(parts, n) => format!("*{}; rep from * {n} times", all(parts)),
        Part::Run(letter, 0) => format!("{letter} to end"),
        Part::Run(letter, keep) if keep % 3 == 0 => format!("{letter} until {keep} sts remain"),
        Part::Run(letter, keep) if keep % 3 == 1 => {
            format!("{letter} to within {keep} sts of the end")
        }
        Part::Run(letter, keep) => format!("{letter} to last {keep} sts"),
    }
}

fn all(parts: &[Part]) -> String {
    parts.iter().map(words).collect::<Vec<_>>().join(", ")
}

/// The places of the parts in the text, and the whole row's.
fn places(row: &[Part], from: usize) -> (Vec<Range<usize>>, Range<usize>) {
    let mut at = from;
    let mut found = Vec::new();
    for part in row {
        let end = at + words(part).len();
        found.push(at..end);
        at = end + ", ".len();
    }
    let whole = from..found.last().map_or(from, |last| last.end);
    (found, whole)
}

const BEFORE: &str = "---\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n---\n\n## Cap, in the round\n\n";

/// The errors the check finds in a row over so many stitches that is said to leave so many,
/// with the place of the row and of the count.
fn checked(row: &[Part], stitches: u32, leaves: u32) -> (Vec<Finding>, usize, Range<usize>) {
    let opening =
        format!("{BEFORE}- cast on {stitches} in body\n- join in the round\n- next round: ");
    let text = format!("{opening}{} ({leaves} sts)\n- bind off all\n", all(row));
    let said = opening.len() + all(row).len() + " (".len();
    let said = said..said + leaves.to_string().len();
    let source = Source::new("cap.wale", text);
    let parsed = syntax::parse(&source);
    let document = parsed.document.expect("a pattern");
    let mut findings = walewright::check(&source, &document, parsed.findings).findings;
    findings.retain(Finding::is_error);
    (findings, opening.len(), said)
}

// ---- The rows -----------------------------------------------------------------

fn plain() -> impl Strategy<Value = Part> + Clone {
    (prop::sample::select(vec!['k', 'p']), 1_u32..=6).prop_map(|(letter, n)| Part::Plain(letter, n))
}

fn simple() -> impl Strategy<Value = Part> + Clone {
    let stitch = prop::sample::select(STITCHES.to_vec())
        .prop_map(|(name, takes, makes)| Part::Stitch(name, takes, makes));
    let into_one = prop::sample::select(vec![
        vec![Part::Plain('k', 1), Part::Stitch("yo", 0, 1), Part::Plain('k', 1)],
        vec![Part::Plain('p', 1), Part::Plain('k', 1), Part::Plain('p', 1)],
    ])
    .prop_map(Part::InOne);
    prop_oneof![4 => plain(), 3 => stitch, 1 => into_one]
}

fn nested() -> impl Strategy<Value = Part> + Clone {
    let group = (prop::collection::vec(simple(), 1..=3), 2_u32..=4)
        .prop_map(|(parts, n)| Part::Group(parts, n));
    let deep = (prop::collection::vec(prop_oneof![simple(), group.clone()], 1..=3), 2_u32..=3)
        .prop_map(|(parts, n)| Part::Group(parts, n));
    prop_oneof![5 => simple(), 2 => group, 1 => deep]
}

fn takes(parts: &[Part]) -> u32 {
    // As many as are gone from a heap that is large enough.
    let mut heaps = Heaps { left: 1_000_000, right: 0 };
    let done = parts.iter().try_for_each(|part| heaps.work(part));
    done.map_or(0, |()| 1_000_000 - heaps.left)
}

/// A row and the number of stitches it is worked over.
fn row() -> impl Strategy<Value = (Vec<Part>, u32)> {
    let side = prop::collection::vec(nested(), 0..=3);
    let unit = prop::collection::vec(nested(), 1..=4);
    (side.clone(), unit, side, 1_u32..=5, 0_u32..=12, 0_u8..=4).prop_filter_map(
        "a row takes stitches, and so does each repeat",
        |(before, unit, after, times, run, kind)| {
            let keep = takes(&after);
            let middle = match kind {
                0 => None,
                1 => Some((Part::Run('k', keep), run)),
                _ if takes(&unit) == 0 => return None,
                2 if times > 1 => Some((Part::Often(unit.clone(), times), takes(&unit) * times)),
                _ => Some((Part::Star(unit.clone(), keep), takes(&unit) * times)),
            };
            let worked = middle.as_ref().map_or(0, |(_, worked)| *worked);
            let stitches = takes(&before) + worked + keep;
            let row: Vec<Part> =
                before.into_iter().chain(middle.map(|(part, _)| part)).chain(after).collect();
            (stitches > 0 && !row.is_empty()).then_some((row, stitches))
        },
    )
}

/// The same row without one stitch, for each stitch that it has.
fn without_one(parts: &[Part]) -> Vec<Vec<Part>> {
    let mut spoilt = Vec::new();
    for (at, part) in parts.iter().enumerate() {
        let mut with = |new: Option<Part>| {
            let mut row = parts.to_vec();
            row.splice(at..=at, new);
            if !row.is_empty() {
                spoilt.push(row);
            }
        };
        match part {
            Part::Stitch(..) | Part::Plain(_, 1) => with(None),
            Part::Plain(letter, n) => with(Some(Part::Plain(*letter, n - 1))),
            Part::Group(inner, n) => {
                without_one(inner).into_iter().for_each(|i| with(Some(Part::Group(i, *n))));
            }
            Part::InOne(inner) => {
                without_one(inner).into_iter().for_each(|i| with(Some(Part::InOne(i))));
            }
            Part::Often(inner, n) => {
                without_one(inner).into_iter().for_each(|i| with(Some(Part::Often(i, *n))));
            }
            Part::Star(inner, keep) => {
                without_one(inner).into_iter().for_each(|i| with(Some(Part::Star(i, *keep))));
            }
            Part::Run(..) => {}
        }
    }
    spoilt
}

#[test]
fn valid_rows_are_accepted_and_spoilt_ones_refused_at_the_right_place() {
    let cases = if std::env::var_os("WALE_LONG").is_some() { 20_000 } else { 400 };
    let config = Config { cases, failure_persistence: None, ..Config::default() };
    let (spoilt_rows, unseen) = (Cell::new(0_u32), Cell::new(0_u32));
    let outcome = TestRunner::new(config).run(&row(), |(row, stitches)| {
        let Outcome::Leaves(leaves) = counted(&row, stitches) else {
            return Err(TestCaseError::fail(format!("made up wrongly: {}", all(&row))));
        };
        let (errors, ..) = checked(&row, stitches, leaves);
        prop_assert!(errors.is_empty(), "{} over {stitches}: {errors:#?}", all(&row));
        for spoilt in without_one(&row) {
            let text = format!("{} over {stitches}, said to leave {leaves}", all(&spoilt));
            let (errors, from, said) = checked(&spoilt, stitches, leaves);
            let place = errors.first().map(|error| error.place().range());
            let (parts, whole) = places(&spoilt, from);
            let expected = match counted(&spoilt, stitches) {
                // Another row that comes out as well: nobody can tell.
                Outcome::Leaves(n) if n == leaves => None,
                Outcome::Leaves(_) => Some(said),
                Outcome::Over(_) => Some(whole),
                Outcome::Short(at) => Some(parts[at].clone()),
            };
            match (place, expected) {
                (None, None) => unseen.set(unseen.get() + 1),
                (Some(place), Some(expected)) => {
                    let inside = expected.start <= place.start && place.end <= expected.end;
                    prop_assert!(inside, "{text}: told at {place:?}, not in {expected:?}");
                }
                (place, expected) => {
                    let told = format!("{text}: told at {place:?}, expected {expected:?}");
                    return Err(TestCaseError::fail(told));
                }
            }
            spoilt_rows.set(spoilt_rows.get() + 1);
        }
        Ok(())
    });
    if let Err(error) = outcome {
        panic!("{error}");
    }
    let (spoilt_rows, unseen) = (spoilt_rows.get(), unseen.get());
    // Few spoilt rows come out by chance: a repeat of three where there was one of four.
    println!("{cases} rows, {spoilt_rows} spoilt; {unseen} of these come out all the same");
    assert!(spoilt_rows > 4 * cases && unseen * 10 < spoilt_rows, "{spoilt_rows}, {unseen} unseen");
}
