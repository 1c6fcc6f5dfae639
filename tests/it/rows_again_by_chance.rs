//! Rows that are worked again come to what the same rows do written out one by one.
//!
//! Pieces are made up by chance twice over: in the words that authors use (`repeat rows
//! 1-2 3 times`, `repeat the last 4 rows until 40 sts remain`, `row 5: as row 2`), and
//! row after row, as a hand works them. Both must come to the same stitches, rows, side
//! and stitches worked; and a count stated after every instruction must be accepted,
//! and refused when it is one off. What is repeated, and from which row on, is common
//! practice.
//!
//! 250 pieces are made up; 10,000 with `WALE_LONG=1`.

use crate::patterns;
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};
use std::cell::Cell;
use walewright::source::Source;
use walewright::syntax::tree::Side;

/// A row by what it does to the count, and how it is said.
const ROWS: [(&str, i64); 6] = [
    ("knit", 0),
    ("k1, k2tog, k to end", -1),
    ("k1, m1, k to last st, m1, k1", 2),
    ("k1, ssk, k to last 3 sts, k2tog, k1", -2),
    ("sl1, k1, yo, k to end", 1),
    ("p to last 2 sts, p2", 0),
];

/// The fewest stitches that every row of ours can be worked over.
const LEAST: i64 = 8;

struct Piece {
    round: bool,
    count: i64,
    /// The rows worked so far, by their places in [`ROWS`].
    worked: Vec<usize>,
    /// Those that were numbered, in the order of their numbers.
    numbered: Vec<usize>,
    in_words: Vec<String>,
}

impl Piece {
    fn row(&self) -> &'static str {
        if self.round { "round" } else { "row" }
    }

    /// Works some rows; false, and nothing done, where there are not the stitches.
    fn work(&mut self, rows: &[usize]) -> bool {
        let mut count = self.count;
        for row in rows {
            if count < LEAST {
                return false;
            }
            count += ROWS[*row].1;
        }
        let fits = (LEAST..=400).contains(&count);
        if fits {
            self.worked.extend(rows);
            self.count = count;
        }
        fits
    }

    fn say(&mut self, words: &str) {
        self.in_words.push(format!("{words} ({} sts)", self.count));
    }

    /// A row with the next number; in some words, one like an earlier one.
    fn number(&mut self, choice: usize) {
        let (row, n) = (self.row(), self.numbered.len() + 1);
        let like = (choice.is_multiple_of(4) && n > 1).then_some(choice / 4 % (n.max(2) - 1));
        let which = like.map_or(choice / 4 % ROWS.len(), |like| self.numbered[like]);
        // Which side a numbered row falls on stays the same.
        if like.is_some_and(|like| !self.round && (n - 1 - like) % 2 == 1) || !self.work(&[which]) {
            return;
        }
        self.numbered.push(which);
        match like {
            Some(like) => self.say(&format!("{row} {n}: as {row} {}", like + 1)),
            None => self.say(&format!("{row} {n}: {}", ROWS[which].0)),
        }
    }

    /// A number of rows that leaves every row on its side.
    fn keeps_sides(&self, rows: usize) -> bool {
        self.round || rows.is_multiple_of(2)
    }

    /// Rows by their numbers, so many times.
    fn repeat_numbered(&mut self, choice: usize) {
        let (row, have) = (self.row(), self.numbered.len());
        if have == 0 {
            return;
        }
        let first = choice % have;
        let last = first + choice / 7 % (have - first);
        let times = 1 + choice / 49 % 4;
        let rows: Vec<usize> = self.numbered[first..=last].to_vec();
        // A row is only worked again on the side it was made for.
        let on_its_side = self.round || self.worked.len() % 2 == first % 2;
        if !self.keeps_sides(rows.len()) || !on_its_side || !self.work(&rows.repeat(times)) {
            return;
        }
        let which = if first == last {
            format!("{}", first + 1)
        } else {
            format!("{}-{}", first + 1, last + 1)
        };
        let plural = if first == last { "" } else { "s" };
        self.say(&format!("repeat {row}{plural} {which} {times} times"));
    }

    /// A row again and again, with plain rows between.
    fn repeat_at(&mut self, choice: usize) {
        let (row, have) = (self.row(), self.numbered.len());
        let (every, times) = (2 + choice % 5, 1 + choice / 5 % 4);
        if have == 0 || !self.keeps_sides(every) {
            return;
        }
        let which = choice / 20 % have;
        let on_its_side = (self.worked.len() + every - 1) % 2 == which % 2;
        let mut rows = vec![0; every - 1];
        rows.push(self.numbered[which]);
        if (self.round || on_its_side) && self.work(&rows.repeat(times)) {
            let at = match every {
                2 => "other".to_owned(),
                3 => "3rd".to_owned(),
                n => format!("{n}th"),
            };
            self.say(&format!("repeat {row} {} every {at} {row} {times} times", which + 1));
        }
    }

    /// The last rows, so many more times.
    fn repeat_last(&mut self, choice: usize) {
        let have = self.worked.len();
        let n = (1 + choice % 6).min(have);
        if n == 0 || !self.keeps_sides(n) {
            return;
        }
        let rows: Vec<usize> = self.worked[have - n..].to_vec();
        let row = self.row();
        if (choice / 6).is_multiple_of(3) {
            return self.repeat_until(&rows, n);
        }
        let times = 1 + choice / 18 % 5;
        if self.work(&rows.repeat(times)) {
            let last =
                if n == 1 { format!("the last {row}") } else { format!("the last {n} {row}s") };
            self.say(&format!("repeat {last} {times} more times"));
        }
    }

    /// The last rows until so many stitches remain.
    fn repeat_until(&mut self, rows: &[usize], n: usize) {
        let change: i64 = rows.iter().map(|row| ROWS[*row].1).sum();
        let mut worked = 0;
        while change < 0 && worked < 3 && self.work(rows) {
            worked += 1;
        }
        // No repeat may come to the count on its way.
        if worked > 0 {
            let (row, count) = (self.row(), self.count);
            let last =
                if n == 1 { format!("the last {row}") } else { format!("the last {n} {row}s") };
            self.say(&format!("repeat {last} until {count} sts remain"));
        }
    }

    /// So many plain rows.
    fn plain(&mut self, choice: usize) {
        let n = 1 + choice % 5;
        if self.work(&vec![0; n]) {
            let row = self.row();
            let plural = if n == 1 { "" } else { "s" };
            self.say(&format!("knit {n} {row}{plural}"));
        }
    }

    fn text(&self, start: i64, steps: &[String]) -> String {
        let (setting, join) =
            if self.round { ("in the round", "- join in the round\n") } else { ("flat", "") };
        let steps: String = steps.iter().map(|step| format!("- {step}\n")).collect();
        format!(
            "---\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\n---\n\n\
             ## Bit, {setting}\n\n- cast on {start} in body\n{join}{steps}- bind off all\n"
        )
    }
}

/// What a piece comes to before it is bound off.
#[derive(PartialEq, Eq, Debug)]
struct Sum {
    stitches: Option<i64>,
    rows: u32,
    side: Option<Side>,
    worked: i64,
}

fn summed(text: &str) -> Result<Sum, String> {
    let source = Source::new("bit.wale", text);
    let document = patterns::document(&source);
    let checked = walewright::check(&source, &document, Vec::new());
    if let Some(error) = checked.findings.iter().find(|finding| finding.is_error()) {
        return Err(format!("{}: {}", source.slice(error.place()), error.message));
    }
    let [.., before, _] = checked.traces[0].visits.as_slice() else { panic!("some steps") };
    let worked = checked.traces[0].visits.iter().filter_map(|visit| visit.stitches.known()).sum();
    Ok(Sum {
        stitches: before.after.known(),
        rows: before.rows_after,
        side: before.next_side,
        worked,
    })
}

#[test]
fn rows_worked_again_are_the_rows_written_out() {
    let cases = if std::env::var_os("WALE_LONG").is_some() { 10_000 } else { 250 };
    let config = Config { cases, failure_persistence: None, ..Config::default() };
    let choices = prop::collection::vec((0_usize..7, 0_usize..5040), 3..14);
    let pieces = (any::<bool>(), 20_i64..90, choices);
    let again = Cell::new(0_usize);
    let outcome = TestRunner::new(config).run(&pieces, |(round, start, choices)| {
        let mut piece = Piece {
            round,
            count: start,
            worked: Vec::new(),
            numbered: Vec::new(),
            in_words: Vec::new(),
        };
        for (what, choice) in choices {
            match what {
                0..3 => piece.number(choice),
                3 => piece.repeat_numbered(choice),
                4 => piece.repeat_last(choice),
                5 => piece.repeat_at(choice),
                _ => piece.plain(choice),
            }
        }
        let written_out: Vec<String> = piece
            .worked
            .iter()
            .map(|row| format!("next {}: {}", piece.row(), ROWS[*row].0))
            .collect();
        if written_out.is_empty() {
            return Ok(());
        }
        again.set(
            again.get() + piece.in_words.iter().filter(|step| step.contains("repeat")).count(),
        );
        let text = piece.text(start, &piece.in_words);
        let words = summed(&text).map_err(|e| TestCaseError::fail(format!("{text}\n{e}")))?;
        let out = piece.text(start, &written_out);
        let out = summed(&out).map_err(|e| TestCaseError::fail(format!("{out}\n{e}")))?;
        prop_assert_eq!(&words, &out, "{}", text);
        prop_assert_eq!(words.stitches, Some(piece.count));
        prop_assert_eq!(words.rows as usize, piece.worked.len());
        let wrong = text.replace(
            &format!("({} sts)\n- bind", piece.count),
            &format!("({} sts)\n- bind", piece.count + 1),
        );
        prop_assert!(summed(&wrong).is_err(), "accepted with a wrong count:\n{wrong}");
        Ok(())
    });
    if let Err(error) = outcome {
        panic!("{error}");
    }
    println!("{cases} pieces, {} repeats", again.get());
    assert!(again.get() > cases as usize);
}
