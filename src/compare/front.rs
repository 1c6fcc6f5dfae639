//! Front matter compared key by key.

use super::align::{self, Row};
use super::items::{Item, Lines};
use super::numbers::{Numeral, cells};
use super::sections::entry;
use super::words::{self, Wording};
use super::{Amount, Cell, Change, Entry, EntryKind, Key, Noun, Passage, Side, Sizes};
use crate::measure::{Density, Exact, Given, Length, Unit, decimal};
use crate::source::{Span, Spanned};
use crate::syntax::front::{Abbreviation, Color, Ease, GaugeEntry, Used, Yarn};
use crate::syntax::print;

/// The values that changed, in the order of the new pattern, removed ones where they stood.
pub(super) fn compare(old: &Side<'_>, new: &Side<'_>, sizes: &Sizes) -> Vec<Key> {
    let (a, b) = (Lister::values(old), Lister::values(new));
    let names = |values: &[Value]| values.iter().map(|v| v.name.clone()).collect::<Vec<_>>();
    let mut keys: Vec<Key> = align::by_name(&names(&a), &names(&b))
        .into_iter()
        .filter_map(|Row { old, new, .. }| {
            key(old.and_then(|i| a.get(i)), new.and_then(|j| b.get(j)), sizes)
        })
        .collect();
    keys.extend(notes(old, new, sizes));
    keys
}

/// One value of the front matter.
struct Value {
    /// What it is matched by.
    name: Vec<String>,
    path: Vec<String>,
    line: usize,
    span: Span,
    wording: Wording,
}

/// One value that changed.
fn key(old: Option<&Value>, new: Option<&Value>, sizes: &Sizes) -> Option<Key> {
    let path = new.or(old)?.path.clone();
    let passage = |value: &Value, segments| Passage {
        line: value.line,
        span: value.span,
        depth: 0,
        segments,
    };
    let alone = |value: &Value| Some(passage(value, value.wording.whole(true)));
    let (Some(a), Some(b)) = (old, new) else {
        let change = if old.is_some() { Change::Removed } else { Change::Added };
        let (old, new) = (old.and_then(alone), new.and_then(alone));
        return Some(Key { path, change, old, new, number: None });
    };
    let mut compared = words::compare(&a.wording, &b.wording, sizes);
    let number =
        compared.numbers.pop().filter(|number| number.old.is_some() && number.new.is_some());
    (compared.change != Change::Same).then(|| Key {
        path,
        change: compared.change,
        old: Some(passage(a, compared.old)),
        new: Some(passage(b, compared.new)),
        number,
    })
}

/// Notes have no names: they are put side by side like paragraphs.
fn notes(old: &Side<'_>, new: &Side<'_>, sizes: &Sizes) -> Vec<Key> {
    let items = |side: &Side<'_>| -> Vec<Item> {
        let lines = Lines::of(&side.source.text);
        let notes = side.model.document.front.notes.iter();
        notes
            .map(|note| {
                Item::new(EntryKind::Prose, &lines, note.span, 0, Wording::plain(&note.value))
            })
            .collect()
    };
    let (a, b) = (items(old), items(new));
    align::items(&a, &b)
        .into_iter()
        .filter_map(|Row { old, new, moved }| {
            entry(old.and_then(|i| a.get(i)), new.and_then(|j| b.get(j)), moved, sizes)
        })
        .filter(|entry| entry.change != Change::Same)
        .map(|Entry { change, old, new, .. }| Key {
            path: vec!["notes".to_owned()],
            change,
            old,
            new,
            number: None,
        })
        .collect()
}

/// Lists the values of one side, always in the same order of keys.
struct Lister<'a> {
    side: &'a Side<'a>,
    lines: Lines,
    values: Vec<Value>,
}

impl<'a> Lister<'a> {
    fn values(side: &'a Side<'a>) -> Vec<Value> {
        let front = &side.model.document.front;
        let mut lister = Self { side, lines: Lines::of(&side.source.text), values: Vec::new() };
        if let Some(title) = &front.title {
            lister.text(&["title"], title.span, &title.value);
        }
        if let (Some(first), Some(last)) = (front.sizes.first(), front.sizes.last()) {
            let names: Vec<&str> = front.sizes.iter().map(|size| size.value.as_str()).collect();
            lister.text(&["sizes"], first.span.to(last.span), &names.join(", "));
        }
        lister.text(&["units"], front.span, front.units.word());
        front.gauges.iter().for_each(|gauge| lister.gauge(gauge));
        for entry in &front.measure {
            lister.lengths(&["measure", &entry.name.value], &entry.value);
        }
        for entry in &front.ease {
            lister.ease(&["ease", &entry.name.value], &entry.value);
        }
        for entry in &front.finished {
            lister.lengths(&["finished", &entry.name.value], &entry.value);
        }
        front.yarn.iter().for_each(|yarn| lister.yarn(yarn));
        for entry in &front.openings {
            let value = &entry.value.value;
            lister.text(&["openings", &entry.name.value], value.span, &value.value);
        }
        for seam in &front.seams {
            let pieces: Vec<&str> = seam.value.iter().map(|piece| piece.value.as_str()).collect();
            let pieces = pieces.join(", ");
            lister.text(&["seams"], seam.span, &pieces);
            // Two seams answer to each other only where they join the same pieces.
            if let Some(value) = lister.values.last_mut() {
                value.name.push(pieces);
            }
        }
        front.abbreviations.iter().for_each(|own| lister.abbreviation(own));
        for entry in &front.allow {
            let value = &entry.value.value;
            lister.text(&["allow", &entry.name.value], value.span, &value.value);
        }
        lister.values
    }

    fn gauge(&mut self, gauge: &GaugeEntry) {
        let name = gauge.name.value.as_str();
        let usual = match self.side.model.units {
            Unit::In => Length::inches(4),
            _ => Length::cm(10),
        };
        let over = gauge.over.map_or(usual, |over| over.value);
        for (what, count, noun) in [
            ("stitches", gauge.stitches, Noun::StitchGauge),
            ("rows", gauge.rows, Noun::RowGauge),
            ("stretched", gauge.stretched, Noun::StitchGauge),
            ("doubt", gauge.doubt, Noun::StitchGauge),
        ] {
            let Some(count) = count else { continue };
            let unit = if self.side.model.units == Unit::In { Unit::In } else { Unit::Cm };
            let over_text = format!("{} {}", print::amount(over, unit), unit.word());
            let written = format!("{} over {over_text}", decimal(count.value, 3));
            let cell = Density::new(count.value, over).map_or(Cell::Unknown, |density| {
                Cell::Is(Amount::Count(density.count(Length::cm(10)), None))
            });
            let cells = vec![cell; self.side.model.sizes.len()];
            self.number(&["gauges", name, what], count.span, written, noun, cells);
        }
        if let Some(needle) = &gauge.needle {
            self.text(&["gauges", name, "needle"], needle.span, &needle.value);
        }
        if let Some(fabric) = &gauge.fabric {
            let fabric_name = print::fabric_name(&fabric.value.kind);
            self.text(&["gauges", name, "fabric"], fabric.span, &fabric_name);
        }
        if let Some(estimated) = gauge.estimated {
            let word = if estimated.value { "true" } else { "false" };
            self.text(&["gauges", name, "estimated"], estimated.span, word);
        }
    }

    fn lengths(&mut self, path: &[&str], value: &Spanned<Given<Length>>) {
        let cells = self.cells(&value.value, |length| Amount::Length(*length));
        self.number(path, value.span, self.written(value.span), Noun::Length, cells);
    }

    fn ease(&mut self, path: &[&str], value: &Spanned<Given<Ease>>) {
        let percent = value.value.values().any(|ease| matches!(ease, Ease::Percent(_)));
        let cells = self.cells(&value.value, |ease| match ease {
            Ease::Length(length) => Amount::Length(*length),
            Ease::Percent(part) => Amount::Count(*part * Exact::from_integer(100), None),
        });
        let noun = if percent { Noun::Percent } else { Noun::Length };
        self.number(path, value.span, self.written(value.span), noun, cells);
    }

    fn yarn(&mut self, yarn: &Yarn) {
        if let Some(weight) = yarn.weight {
            self.text(&["yarn", "weight"], weight.span, &weight.value.to_string());
        }
        if let Some(put_up) = &yarn.put_up {
            self.text(&["yarn", "put-up"], put_up.span, &self.written(put_up.span));
        }
        if let Some(used) = &yarn.used {
            self.used(&["yarn", "used"], used);
        }
        for Color { name, shade, put_up, used } in &yarn.colors {
            let path = ["yarn", "colors", &name.value];
            let shade = shade.as_ref().map_or(Spanned::new("", name.span), |shade| {
                Spanned::new(shade.value.as_str(), shade.span)
            });
            self.text(&path, shade.span, shade.value);
            let [yarn, colors, name] = path;
            if let Some(put_up) = put_up {
                let path = [yarn, colors, name, "put-up"];
                self.text(&path, put_up.span, &self.written(put_up.span));
            }
            if let Some(used) = used {
                self.used(&[yarn, colors, name, "used"], used);
            }
        }
        if let Some(margin) = yarn.margin {
            let hundredths = margin.value * Exact::from_integer(100);
            let cell = Cell::Is(Amount::Count(hundredths, None));
            let cells = vec![cell; self.side.model.sizes.len()];
            let written = self.written(margin.span);
            self.number(&["yarn", "margin"], margin.span, written, Noun::Percent, cells);
        }
    }

    fn used(&mut self, path: &[&str], used: &Spanned<Used>) {
        let plain = |n: &Exact| Amount::Count(*n, None);
        let (noun, cells) = match &used.value {
            Used::Grams(given) => (Noun::Grams, self.cells(given, plain)),
            Used::PutUps(given) => (Noun::PutUps, self.cells(given, plain)),
            Used::Length(given) => {
                (Noun::Yarn, self.cells(given, |length| Amount::Length(*length)))
            }
        };
        self.number(path, used.span, self.written(used.span), noun, cells);
    }

    fn abbreviation(&mut self, own: &Abbreviation) {
        let means = own.means.as_ref().map_or("", |means| means.value.as_str());
        let text = format!("takes {}, makes {}: {means}", own.takes, own.makes);
        let text = text.trim_end_matches(": ");
        self.text(&["abbreviations", &own.name.value], own.name.span, text);
    }

    fn cells<T>(&self, given: &Given<T>, amount: impl Fn(&T) -> Amount) -> Vec<Cell> {
        cells(given, self.side.model.sizes.len(), |_, value| amount(value))
    }

    fn written(&self, span: Span) -> String {
        self.side.source.slice(span).trim().trim_matches(['"', '\'']).to_owned()
    }

    fn text(&mut self, path: &[&str], span: Span, text: &str) {
        self.push(path, span, Wording::plain(text));
    }

    fn number(&mut self, path: &[&str], span: Span, written: String, noun: Noun, cells: Vec<Cell>) {
        let numeral = Numeral { span, written, noun, second: false, cells };
        self.push(path, span, Wording::number(numeral));
    }

    fn push(&mut self, path: &[&str], span: Span, wording: Wording) {
        let path: Vec<String> = path.iter().map(|&key| key.to_owned()).collect();
        let line = self.lines.line(span.start);
        self.values.push(Value { name: path.clone(), path, line, span, wording });
    }
}
