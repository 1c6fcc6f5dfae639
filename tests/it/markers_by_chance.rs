//! Markers keep their places among stitches that are worked, shaped, bound off and turned
//! at by chance.
//!
//! What is right is told by a row of beads that knows nothing of the check: a bead is a
//! stitch or a marker, and a hand goes along them one at a time, forth and back (common
//! practice; what each stitch takes and makes is in the published lists, see `stitch`).
//! After every instruction a row names each stretch between markers with its count.
//! It has to be accepted as it stands, and refused with a marker one stitch away.
//!
//! 300 pieces are made up; 15,000 with `WALE_LONG=1`.

use crate::patterns;
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};
use std::cell::Cell;
use walewright::diag::Finding;
use walewright::source::Source;

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Bead {
    Stitch,
    Marker,
}

/// A piece on the needles, seen from the right side, and the instructions that made it.
struct Piece {
    beads: Vec<Bead>,
    round: bool,
    /// Whether the next row is a right-side one; rounds always are.
    right_side: bool,
    text: String,
    /// The rows that name every stretch, by their places in the text.
    named: Vec<std::ops::Range<usize>>,
}

impl Piece {
    fn new(round: bool, stitches: usize) -> Self {
        let setting = if round { "in the round" } else { "flat" };
        let join = if round { "- join in the round\n" } else { "" };
        Self {
            beads: vec![Bead::Stitch; stitches],
            round,
            right_side: true,
            text: format!(
                "---\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\n---\n\n\
                 ## Bit, {setting}\n\n- cast on {stitches} in body\n{join}"
            ),
            named: Vec::new(),
        }
    }

    /// The counts between markers, as the next row meets them.
    fn stretches(&self) -> Vec<usize> {
        let mut counts: Vec<usize> =
            self.beads.split(|bead| *bead == Bead::Marker).map(<[Bead]>::len).collect();
        if !self.right_side {
            counts.reverse();
        }
        counts
    }

    /// Puts stretches back, in the order of the row that has been worked.
    fn lay(&mut self, mut stretches: Vec<usize>) {
        if !self.right_side {
            stretches.reverse();
        }
        let laid: Vec<Vec<Bead>> = stretches.iter().map(|n| vec![Bead::Stitch; *n]).collect();
        self.beads = laid.join(&Bead::Marker);
    }

    fn say(&mut self, instruction: &str) {
        self.text.push_str(&format!("- {instruction}\n"));
    }

    fn turn(&mut self) {
        if !self.round {
            self.right_side = !self.right_side;
        }
    }

    fn label(&self) -> &'static str {
        match (self.round, self.right_side) {
            (true, _) => "next round",
            (false, true) => "next row (RS)",
            (false, false) => "next row (WS)",
        }
    }

    fn row(&mut self, stitches: &str) {
        let label = self.label();
        self.say(&format!("{label}: {stitches}"));
        self.turn();
    }

    /// Works one row where the next is a wrong-side one.
    fn reach_right_side(&mut self) {
        if !self.right_side {
            self.row("purl");
        }
    }

    /// A row that names every stretch.
    fn name_all(&mut self) {
        let words: Vec<String> = self.stretches().iter().map(|n| format!("k{n}")).collect();
        let from = self.text.len();
        self.row(&words.join(", sm, "));
        self.named.push(from..self.text.len());
    }

    // ---- What can be done -----------------------------------------------------

    /// Places a marker after `n` stitches of a stretch.
    fn place(&mut self, choice: usize) {
        let mut counts = self.stretches();
        let at = choice % counts.len();
        if counts[at] < 2 {
            return;
        }
        let here = 1 + choice % (counts[at] - 1);
        let run = "k to marker, sm, ".repeat(at);
        self.row(&format!("{run}k{here}, pm, k to end"));
        counts.splice(at..=at, [here, counts[at] - here]);
        self.turn();
        self.lay(counts);
        self.turn();
    }

    fn remove(&mut self, choice: usize) {
        let mut counts = self.stretches();
        if counts.len() < 2 {
            return;
        }
        let at = choice % (counts.len() - 1);
        let run = "k to marker, sm, ".repeat(at);
        self.row(&format!("{run}k to marker, rm, k to end"));
        counts.splice(at..=at + 1, [counts[at] + counts[at + 1]]);
        self.turn();
        self.lay(counts);
        self.turn();
    }

    /// A schedule of right-side rows, or of every second round.
    fn shape(&mut self, choice: usize) {
        self.reach_right_side();
        let (up, times) = (choice.is_multiple_of(2), 1 + choice / 2 % 3);
        let counts = self.stretches();
        let last = counts.len() - 1;
        let (place, sides): (&str, Vec<usize>) = match choice / 6 % 4 {
            0 => ("each end", each(last, |i| usize::from(i == 0) + usize::from(i == last))),
            1 if last > 0 => (
                "each side of each marker",
                each(last, |i| usize::from(i > 0) + usize::from(i < last)),
            ),
            2 => ("at the end", each(last, |i| usize::from(i == last))),
            _ => ("at the beginning", each(last, |i| usize::from(i == 0))),
        };
        let by: Vec<usize> = sides.iter().map(|sides| sides * times).collect();
        if !up && counts.iter().zip(&by).any(|(count, by)| *count < by + 1) {
            return;
        }
        let change = if up { "increase" } else { "decrease" };
        let every = if self.round { "2nd round" } else { "RS row" };
        self.say(&format!("{change} 1 st {place} every {every} {times} times"));
        let new = counts.iter().zip(&by).map(|(n, by)| if up { n + by } else { n - by });
        self.lay(new.collect());
    }

    /// Decreases or increases beside every marker, in a row that says where.
    fn beside_markers(&mut self, choice: usize) {
        let mut counts = self.stretches();
        let last = counts.len() - 1;
        if last == 0 || counts.iter().any(|n| *n < 8) {
            return;
        }
        let (words, ends, middle): (_, isize, isize) = match choice % 3 {
            0 => ("k to 3 sts before marker, k2tog, k1, sm, k1, ssk, ", -1, -2),
            1 => ("k to 1 st before marker, m1, k1, sm, k1, m1, ", 1, 2),
            _ => ("*k1, p1; rep from * to 2 sts before marker, kfb, k1, sm, k2tog, ", 0, 0),
        };
        if choice % 3 == 2 {
            // A repeat goes to the marker itself, over an even stretch.
            if counts.iter().take(last).any(|n| !n.is_multiple_of(2)) {
                return;
            }
            self.row(&format!("{}k to end", "*k1, p1; rep from * to marker, sm, ".repeat(last)));
            return;
        }
        let more = choice / 3 % 3;
        let shrinks = usize::try_from(-middle).unwrap_or(0) * (more + 1);
        if counts.iter().any(|n| *n < 8 + shrinks) || more > 0 && !self.round && !self.right_side {
            return;
        }
        self.row(&format!("{}k to end", words.repeat(last)));
        let mut rows = 1;
        if more > 0 {
            self.row("knit");
            self.say(&format!("repeat the last 2 rows {more} more times"));
            rows += more;
        }
        for (index, count) in counts.iter_mut().enumerate() {
            let by = if index == 0 || index == last { ends } else { middle };
            *count =
                count.checked_add_signed(by * isize::try_from(rows).expect("few")).expect("left");
        }
        // The stretches stand as the first of these rows met them.
        if more == 0 {
            self.turn();
        }
        self.lay(counts);
        if more == 0 {
            self.turn();
        }
    }

    /// One repeat after another, wherever the markers lie: one between the two that are knit is
    /// slipped between them, and the new stitch lies after both.
    fn straight_across(&mut self) {
        let counts = self.stretches();
        let all: usize = counts.iter().sum();
        if !all.is_multiple_of(2) || all > 60 {
            return;
        }
        self.row("*k2, m1; rep from * to end");
        let (mut knit, mut after) = (0, Vec::new());
        for count in counts {
            let made = (knit + count) / 2 - knit / 2;
            knit += count;
            after.push(count + made);
        }
        self.turn();
        self.lay(after);
        self.turn();
    }

    /// One repeat after another, between markers that each lie after a whole one.
    fn across_markers(&mut self, choice: usize) {
        if choice % 3 == 2 {
            return self.straight_across();
        }
        let mut counts = self.stretches();
        let all: usize = counts.iter().sum();
        let fewer = choice.is_multiple_of(2);
        let (unit, takes, makes) =
            if fewer { ("k1, k2tog, k1", 4, 3) } else { ("k1, yo, k1", 2, 3) };
        if counts.iter().any(|n| !n.is_multiple_of(takes)) || !fewer && all > 90 {
            return;
        }
        self.row(&format!("*{unit}; rep from * to end"));
        counts.iter_mut().for_each(|n| *n = *n / takes * makes);
        self.turn();
        self.lay(counts);
        self.turn();
    }

    /// Binds off at both sides, which only rows forth and back can.
    fn bind_off(&mut self, choice: usize) {
        let mut counts = self.stretches();
        let last = counts.len() - 1;
        let n = 1 + choice % 4;
        if self.round || counts[0].min(counts[last]) < 2 * n + 1 {
            return;
        }
        self.say(&format!("bind off {n} sts at the beginning of the next 2 rows"));
        counts[0] -= n;
        counts[last] -= n;
        self.lay(counts);
    }

    /// Two short rows about the middle: the hand turns before either end.
    fn short_rows(&mut self, choice: usize) {
        let counts = self.stretches();
        let all: usize = counts.iter().sum();
        if self.round || all < 12 {
            return;
        }
        let out = all - 1 - choice % (all / 3);
        let back = out - choice / 7 % (all / 3) - 1;
        self.row(&format!("{}, turn", along(&counts, 0, out)));
        let reversed: Vec<usize> = counts.iter().rev().copied().collect();
        self.row(&format!("{}, turn", along(&reversed, all - out, back)));
        // Then on to the end, across the gap.
        self.row("k to end");
    }
}

/// One number for each stretch.
fn each(last: usize, sides: impl Fn(usize) -> usize) -> Vec<usize> {
    (0..=last).map(sides).collect()
}

/// `n` stitches from the one at `from` on, the markers slipped that lie between them.
fn along(counts: &[usize], from: usize, n: usize) -> String {
    let mut parts = Vec::new();
    let (mut at, to) = (0, from + n);
    for count in counts {
        let (begins, ends) = (at, at + count);
        // The marker before this stretch lies between two stitches of the way.
        if begins > from && begins < to && begins > 0 {
            parts.push("sm".to_owned());
        }
        let worked = ends.min(to).saturating_sub(begins.max(from));
        if worked > 0 {
            parts.push(format!("k{worked}"));
        }
        at = ends;
    }
    parts.join(", ")
}

fn errors(text: &str) -> Vec<Finding> {
    let source = Source::new("bit.wale", text);
    let document = patterns::document(&source);
    let mut findings = walewright::check(&source, &document, Vec::new()).findings;
    findings.retain(Finding::is_error);
    findings
}

/// The same text, a marker of its last naming row moved by one stitch.
fn spoilt(piece: &Piece, choice: usize) -> Option<String> {
    let place = piece.named.last()?.clone();
    let row = &piece.text[place.clone()];
    let (label, stitches) = row.split_once(": ")?;
    let mut parts: Vec<String> = stitches.trim_end().split(", ").map(str::to_owned).collect();
    let runs: Vec<usize> = (0..parts.len()).filter(|i| parts[*i].starts_with('k')).collect();
    if runs.len() < 2 {
        return None;
    }
    let first = choice % (runs.len() - 1);
    for (at, by) in [(runs[first], 1), (runs[first + 1], -1)] {
        let n: isize = parts[at][1..].parse().ok()?;
        if n + by < 1 {
            return None;
        }
        parts[at] = format!("k{}", n + by);
    }
    let row = format!("{label}: {}\n", parts.join(", "));
    Some(format!("{}{row}{}", &piece.text[..place.start], &piece.text[place.end..]))
}

#[test]
fn markers_stay_where_a_hand_would_leave_them() {
    let cases = if std::env::var_os("WALE_LONG").is_some() { 15_000 } else { 300 };
    let config = Config { cases, failure_persistence: None, ..Config::default() };
    let (rows, moved) = (Cell::new(0_usize), Cell::new(0_usize));
    let choices = prop::collection::vec((0_usize..8, 0_usize..5040), 3..14);
    let pieces = (any::<bool>(), 20_usize..90, choices, 0_usize..5040);
    let outcome = TestRunner::new(config).run(&pieces, |(round, stitches, choices, last)| {
        let mut piece = Piece::new(round, stitches);
        for (what, choice) in choices {
            match what {
                0 | 1 => piece.place(choice),
                2 => piece.remove(choice),
                3 => piece.shape(choice),
                4 => piece.beside_markers(choice),
                5 => piece.bind_off(choice),
                6 => piece.across_markers(choice),
                _ => piece.short_rows(choice),
            }
            piece.name_all();
        }
        let close = format!("{}- bind off all\n", piece.text);
        prop_assert!(errors(&close).is_empty(), "{close}\n{:#?}", errors(&close));
        rows.set(rows.get() + piece.named.len());
        if let Some(wrong) = spoilt(&piece, last) {
            let wrong = format!("{wrong}- bind off all\n");
            prop_assert!(!errors(&wrong).is_empty(), "accepted, with a marker moved:\n{wrong}");
            moved.set(moved.get() + 1);
        }
        Ok(())
    });
    if let Err(error) = outcome {
        panic!("{error}");
    }
    println!(
        "{cases} pieces, {} rows that name their stretches, {} spoilt",
        rows.get(),
        moved.get()
    );
    assert!(rows.get() > 4 * cases as usize && moved.get() > cases as usize / 3);
}
