//! The yarn: its weight, how it is sold, what was used, and its colors.

use super::Keys;
use crate::diag::{Code, Finding, words};
use crate::measure::{Exact, Given, exact};
use crate::source::Spanned;
use crate::standards::{yarn_weight, yarn_weights};
use crate::syntax::error::clipped;
use crate::syntax::front::{Color, PutUp, Used, Yarn};
use crate::syntax::measure;
use crate::syntax::yaml::{Kind, Yaml};

/// The keys of a color.
const COLOR_KEYS: &[&str] = &["shade", "put-up", "used"];

impl Keys {
    /// `yarn:`, with the keys that are `known` here.
    pub(in crate::syntax) fn yarn(&mut self, node: &Yaml, known: &[&str]) -> Yarn {
        let mut yarn = Yarn { span: node.span, ..Yarn::default() };
        for (key, value) in self.map("yarn", node, "yarn: { weight: 4, put-up: 200 m / 100 g }") {
            match key.value.as_str() {
                name if !known.contains(&name) => self.unknown_key(key, value, "the yarn", known),
                "weight" => yarn.weight = self.weight(value),
                "put-up" => yarn.put_up = self.put_up(value),
                "used" => yarn.used = self.used(value),
                "margin" => yarn.margin = self.margin(value),
                _ => yarn.colors = self.colors(value),
            }
        }
        self.used_once(&yarn);
        yarn
    }

    /// `colors: { MC: harbor blue, CC: { shade: oat, used: 20 g } }`
    fn colors(&mut self, node: &Yaml) -> Vec<Color> {
        let example = "colors: { MC: harbor blue, CC: oat }";
        let mut colors = Vec::new();
        for (name, value) in self.map("colors", node, example) {
            let mut color = Color { name: name.clone(), shade: None, put_up: None, used: None };
            if let Kind::Map(entries) = &value.kind {
                for (key, value) in entries {
                    match key.value.as_str() {
                        "shade" => color.shade = self.text("shade", value, "shade: harbor blue"),
                        "put-up" => color.put_up = self.put_up(value),
                        "used" => color.used = self.used(value),
                        _ => self.unknown_key(key, value, "a color", COLOR_KEYS),
                    }
                }
            } else {
                color.shade = self.text(&name.value, value, "MC: harbor blue");
            }
            colors.push(color);
        }
        colors
    }

    /// What was used is said of all the yarn or of every color, never of both or of some.
    fn used_once(&mut self, yarn: &Yarn) {
        let colors = yarn.colors.iter().filter_map(|color| color.used.as_ref());
        let Some(first) = colors.clone().next() else { return };
        let finding = if let Some(whole) = &yarn.used {
            Finding::new(Code::YamlValue, whole.span, "what was used is said twice")
                .label("of all the yarn")
                .also(first.span, "of a color")
                .help("leave this out: what each color takes tells what they take together")
        } else if let Some(other) = yarn.colors.iter().find(|color| color.used.is_none()) {
            let name = clipped(&other.name.value);
            Finding::new(
                Code::YamlValue,
                other.name.span,
                format!("`{name}` does not say how much of it was used"),
            )
            .label("no `used`")
            .also(first.span, "said here of another color")
            .help("say it of every color, or once of all the yarn")
        } else {
            return;
        };
        self.findings.push(finding);
    }

    /// `weight: 3`, `weight: Light`, `weight: DK`
    fn weight(&mut self, node: &Yaml) -> Option<Spanned<u32>> {
        let scalar = self.scalar("weight", node, "weight: 4")?;
        if let Some(weight) = yarn_weight(&scalar.text) {
            return Some(Spanned::new(u32::from(weight.number), node.text_span()));
        }
        let known = yarn_weights().iter().map(|w| format!("{} {}", w.number, w.name));
        self.findings.push(
            Finding::new(
                Code::YamlValue,
                node.span,
                format!("`weight` is `{}`, which is no weight of yarn", clipped(&scalar.text)),
            )
            .label("expected a number or a name")
            .help(format!("the weights are {}", words::list(&known.collect::<Vec<_>>(), "and"))),
        );
        None
    }

    fn put_up(&mut self, node: &Yaml) -> Option<Spanned<PutUp>> {
        let put_up = self.parsed("put-up", node, "put-up: 200 m / 100 g", measure::put_up)?;
        let grams = put_up.value.grams.is_none_or(|grams| grams > exact(0, 1));
        if grams && put_up.value.length.is_positive() {
            return Some(put_up);
        }
        self.not_above_zero("put-up", node);
        None
    }

    fn used(&mut self, node: &Yaml) -> Option<Spanned<Used>> {
        let used = self.parsed("used", node, "used: 60 (70, 80) g", measure::used)?;
        let above_zero = |given: &Given<Exact>| given.values().all(|&v| v > exact(0, 1));
        let (listed, positive) = match &used.value {
            Used::Grams(given) | Used::PutUps(given) => (given.listed(), above_zero(given)),
            Used::Length(given) => (given.listed(), given.values().all(|l| l.is_positive())),
        };
        self.one_a_size(listed, node.span);
        if positive {
            return Some(used);
        }
        self.not_above_zero("used", node);
        None
    }

    fn margin(&mut self, node: &Yaml) -> Option<Spanned<Exact>> {
        let margin = self.parsed("margin", node, "margin: 10%", measure::percent)?;
        if (exact(0, 1)..=exact(1, 1)).contains(&margin.value) {
            return Some(margin);
        }
        self.findings.push(
            Finding::new(Code::YamlValue, node.span, "`margin` must be from 0% to 100%")
                .label("out of range")
                .help("write it as in `margin: 10%`"),
        );
        None
    }

    fn not_above_zero(&mut self, name: &str, node: &Yaml) {
        self.findings.push(
            Finding::new(Code::YamlValue, node.span, format!("`{name}` must be more than zero"))
                .label("not above zero"),
        );
    }
}
