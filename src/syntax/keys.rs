//! Keys and values: what front matter and targets have in common.
//!
//! A [`Keys`] reads one kind of value after another out of placed YAML and
//! gathers what is wrong; each broken value is one finding and is left out.
//! It knows the kinds of value, not which keys there are.

use super::error::clipped;
use super::front::{Entry, GaugeEntry};
use super::measure;
use super::tree::FabricName;
use super::yaml::{Kind, Scalar, Yaml};
use crate::diag::{Code, Finding, words};
use crate::measure::{Exact, Given, Length, ParseExactError, Unit, exact, parse_exact};
use crate::source::{Span, Spanned};

mod yarn;

/// How many sizes a pattern may have.
pub(super) const MAX_SIZES: usize = 40;

/// The keys of a gauge.
pub(super) const GAUGE_KEYS: &[&str] =
    &["stitches", "rows", "over", "needle", "fabric", "stretched", "doubt", "estimated"];
/// The keys of the yarn.
pub(super) const YARN_KEYS: &[&str] = &["weight", "put-up", "used", "margin", "colors"];
/// The keys of the yarn in targets: which colors there are is the pattern's to say.
pub(super) const TARGET_YARN_KEYS: &[&str] = &["weight", "put-up", "used", "margin"];

/// Gathers values and findings.
#[derive(Debug, Default)]
pub(super) struct Keys {
    /// What was found.
    pub(super) findings: Vec<Finding>,
    /// How many values a list must have, and where that is said; `None` to not ask.
    pub(super) sizes: Option<(usize, Option<Span>)>,
}

/// A parser of the text of a value, which stands at an offset.
type Parse<T> = fn(&str, usize) -> Result<T, Finding>;

/// A list where one value belongs, in the notation for sizes: `bust: 82 (92, 102) cm`.
/// The unit is that of the example.
fn by_size(node: &Yaml, name: &str, example: &str) -> Option<String> {
    let Kind::List(values) = &node.kind else { return None };
    let numbers = values.iter().map(|value| match &value.kind {
        Kind::Scalar(scalar) => {
            let number = scalar.text.trim().trim_end_matches(|c: char| !c.is_ascii_digit());
            parse_exact(number).is_ok().then_some(number)
        }
        _ => None,
    });
    let numbers = numbers.collect::<Option<Vec<&str>>>()?;
    let (first, others) = numbers.split_first().filter(|(_, others)| !others.is_empty())?;
    let unit = example.rsplit(' ').next().filter(|unit| unit.chars().all(char::is_alphabetic));
    let unit = unit.map_or(String::new(), |unit| format!(" {unit}"));
    Some(format!("{name}: {first} ({}){unit}", others.join(", ")))
}

impl Keys {
    // --- shapes ---

    /// The entries of a map; a finding for anything else.
    pub(super) fn map<'y>(
        &mut self,
        name: &str,
        node: &'y Yaml,
        example: &str,
    ) -> &'y [(Spanned<String>, Yaml)] {
        match &node.kind {
            Kind::Map(entries) => entries,
            _ => {
                self.wrong(node, name, "keys and values", example);
                &[]
            }
        }
    }

    /// A single value; a finding where it is empty, a list or a map.
    fn scalar<'y>(&mut self, name: &str, node: &'y Yaml, example: &str) -> Option<&'y Scalar> {
        match &node.kind {
            Kind::Scalar(scalar) if !scalar.text.trim().is_empty() => Some(scalar),
            _ => {
                self.wrong(node, name, "a single value", example);
                None
            }
        }
    }

    fn wrong(&mut self, node: &Yaml, name: &str, expected: &str, example: &str) {
        let empty = matches!(&node.kind, Kind::Scalar(s) if s.text.trim().is_empty());
        let name = clipped(name);
        let message = match &node.kind {
            _ if empty => format!("`{name}` has no value"),
            Kind::Scalar(_) => format!("`{name}` needs {expected}, but has a single value"),
            Kind::List(_) => format!("`{name}` needs {expected}, but has a list"),
            Kind::Map(_) => format!("`{name}` needs {expected}, but has keys of its own"),
        };
        let label = if empty { "no value" } else { "wrong kind of value" };
        let help = match by_size(node, &name, example) {
            Some(sizes) => format!("write one for each size as in `{sizes}`"),
            None => format!("write it as in `{example}`"),
        };
        self.findings
            .push(Finding::new(Code::YamlValue, node.head(), message).label(label).help(help));
    }

    // --- single values ---

    /// Words.
    pub(super) fn text(
        &mut self,
        name: &str,
        node: &Yaml,
        example: &str,
    ) -> Option<Spanned<String>> {
        let scalar = self.scalar(name, node, example)?;
        Some(Spanned::new(scalar.text.trim().to_owned(), node.text_span()))
    }

    /// A value in the notation of measurements.
    pub(super) fn parsed<T>(
        &mut self,
        name: &str,
        node: &Yaml,
        example: &str,
        parse: Parse<T>,
    ) -> Option<Spanned<T>> {
        let scalar = self.scalar(name, node, example)?;
        let Some(offset) = scalar.exact else {
            self.findings.push(
                Finding::new(
                    Code::YamlValue,
                    node.head(),
                    format!("the value of `{}` is folded or escaped", clipped(name)),
                )
                .label("not on one line as it is")
                .help(format!("write it on one line, as in `{example}`")),
            );
            return None;
        };
        if scalar.text.trim() == "?" {
            self.unknown(name, node.text_span(), example);
            return None;
        }
        match parse(&scalar.text, offset) {
            Ok(value) => Some(Spanned::new(value, node.text_span())),
            Err(mut finding) => {
                // In YAML every slip of a value is one of its key.
                if finding.code == Code::Syntax {
                    finding.code = Code::YamlValue;
                }
                if finding.help.is_empty() {
                    finding = finding.help(format!("write it as in `{example}`"));
                }
                self.findings.push(finding);
                None
            }
        }
    }

    /// `?` where only what is known makes sense.
    pub(super) fn unknown(&mut self, name: &str, span: Span, example: &str) {
        self.findings.push(
            Finding::new(
                Code::YamlValue,
                span,
                format!("`{}` must be known, but is `?`", clipped(name)),
            )
            .label("not known")
            .help(format!("write it as in `{example}`, or leave the key away")),
        );
    }

    /// A number above zero, as of stitches over a length.
    fn positive(&mut self, name: &str, node: &Yaml, example: &str) -> Option<Spanned<Exact>> {
        let scalar = self.scalar(name, node, example)?;
        let refuse = |message: String, label: &str| {
            Finding::new(Code::YamlValue, node.span, message)
                .label(label)
                .help(format!("write it as in `{example}`"))
        };
        let refused = match parse_exact(&scalar.text) {
            Ok(value) if value > exact(0, 1) => return Some(Spanned::new(value, node.text_span())),
            Ok(_) => refuse(
                format!("`{name}` is {}, but must be more than zero", clipped(&scalar.text)),
                "not above zero",
            ),
            Err(ParseExactError::OutOfRange) => {
                let mut finding = refuse(
                    format!("`{name}` is {}, which is beyond any garment", clipped(&scalar.text)),
                    "too large or too fine",
                );
                finding.code = Code::BeyondAnyGarment;
                finding
            }
            Err(ParseExactError::NotANumber) => refuse(
                format!("`{name}` needs a number, but has `{}`", clipped(&scalar.text)),
                "not a number",
            ),
        };
        self.findings.push(refused);
        None
    }

    /// A whole number from `least` to `most`.
    pub(super) fn whole(
        &mut self,
        name: &str,
        node: &Yaml,
        range: std::ops::RangeInclusive<u32>,
    ) -> Option<Spanned<u32>> {
        let example = format!("{name}: {}", range.start());
        let scalar = self.scalar(name, node, &example)?;
        match scalar.text.trim().parse::<u32>() {
            Ok(value) if range.contains(&value) => Some(Spanned::new(value, node.text_span())),
            _ => {
                let (least, most) = (range.start(), range.end());
                let expected = if least == most {
                    format!("{least}")
                } else {
                    format!("a whole number from {least} to {most}")
                };
                self.findings.push(
                    Finding::new(
                        Code::YamlValue,
                        node.span,
                        format!("`{name}` is `{}`, but must be {expected}", clipped(&scalar.text)),
                    )
                    .label(format!("expected {expected}")),
                );
                None
            }
        }
    }

    /// `true` or `false`.
    fn yes(&mut self, name: &str, node: &Yaml) -> Option<Spanned<bool>> {
        let example = format!("{name}: true");
        let scalar = self.scalar(name, node, &example)?;
        match scalar.text.to_ascii_lowercase().as_str() {
            "true" | "yes" => Some(Spanned::new(true, node.span)),
            "false" | "no" => Some(Spanned::new(false, node.span)),
            other => {
                self.findings.push(
                    Finding::new(
                        Code::YamlValue,
                        node.span,
                        format!("`{name}` is `{}`, but must be `true` or `false`", clipped(other)),
                    )
                    .label("expected `true` or `false`"),
                );
                None
            }
        }
    }

    // --- values by size ---

    /// Checks that a list has one value a size.
    pub(super) fn one_a_size(&mut self, listed: Option<usize>, span: Span) {
        let (Some(listed), Some((sizes, place))) = (listed, self.sizes) else { return };
        if listed == sizes {
            return;
        }
        let mut finding = Finding::new(
            Code::SizesLength,
            span,
            format!("{} listed for {}", values(listed), counted(sizes, "size")),
        )
        .label(format!("expected {} here", values(sizes)));
        finding = match place {
            Some(place) => finding.also(place, counted(sizes, "size")),
            None => finding.note("the front matter names no sizes, so there is one"),
        };
        self.findings.push(finding.help("write one value for all sizes, or one a size"));
    }

    /// Lengths by name: `head: 48 (52, 56, 60) cm`.
    pub(super) fn lengths(
        &mut self,
        name: &str,
        node: &Yaml,
        example: &str,
    ) -> Vec<Entry<Given<Length>>> {
        let mut entries = Vec::new();
        for (key, value) in self.map(name, node, example) {
            let example = format!("{}: 48 cm", clipped(&key.value));
            let Some(read) = self.parsed(&key.value, value, &example, measure::lengths) else {
                continue;
            };
            let given = read.value.given;
            self.one_a_size(given.listed(), read.span);
            if given == Given::Unknown {
                self.unknown(&key.value, read.span, &example);
            } else if given.values().any(|length| !length.is_positive()) {
                self.findings.push(
                    Finding::new(
                        Code::YamlValue,
                        read.span,
                        format!("`{}` must be more than zero", clipped(&key.value)),
                    )
                    .label("not above zero"),
                );
            } else {
                entries.push(Entry { name: key.clone(), value: Spanned::new(given, read.span) });
            }
        }
        entries
    }

    /// Entries by name, each in one notation.
    pub(super) fn entries<T>(
        &mut self,
        name: &str,
        node: &Yaml,
        example: &str,
        mut read: impl FnMut(&mut Self, &Spanned<String>, &Yaml) -> Option<Spanned<T>>,
    ) -> Vec<Entry<T>> {
        let mut entries = Vec::new();
        for (key, value) in self.map(name, node, example) {
            if let Some(value) = read(self, key, value) {
                entries.push(Entry { name: key.clone(), value });
            }
        }
        entries
    }

    /// `sizes: [child, small, medium]`
    pub(super) fn size_names(&mut self, node: &Yaml) -> Vec<Spanned<String>> {
        let mut names: Vec<Spanned<String>> = Vec::new();
        let example = "sizes: [small, medium, large]";
        let items = match &node.kind {
            Kind::List(items) => items.as_slice(),
            Kind::Scalar(one) if !one.text.trim().is_empty() => {
                if one.text.contains([',', '(']) {
                    self.sizes_without_brackets(node, &one.text);
                    return names;
                }
                std::slice::from_ref(node)
            }
            _ => {
                self.wrong(node, "sizes", "a list of names", example);
                return names;
            }
        };
        if let Some(beyond) = items.get(MAX_SIZES) {
            self.findings.push(
                Finding::new(
                    Code::TooLarge,
                    beyond.span,
                    format!("{} sizes are more than any pattern has", items.len()),
                )
                .label("one size too many")
                .note(format!("there may be up to {MAX_SIZES}")),
            );
        }
        for item in items.iter().take(MAX_SIZES) {
            let Some(name) = self.text("sizes", item, example) else { continue };
            // A name that YAML had cut at its commas has been reported.
            if self.findings.iter().any(|finding| finding.place() == item.span) {
                continue;
            }
            if let Some(mark) = name.value.chars().find(|c| ",;:()[]{}".contains(*c)) {
                self.findings.push(
                    Finding::new(
                        Code::YamlValue,
                        name.span,
                        format!("the name of a size has a `{mark}` in it"),
                    )
                    .label("rename the size")
                    .note("instructions name sizes between commas and colons"),
                );
                continue;
            }
            let first = names.iter().find(|n| n.value.eq_ignore_ascii_case(&name.value));
            if let Some(first) = first {
                let finding = Finding::new(
                    Code::Duplicate,
                    name.span,
                    format!("the size `{}` is given twice", clipped(&name.value)),
                )
                .label("given again")
                .also(first.span, "first given here")
                .help("give each size a name of its own");
                self.findings.push(finding);
                continue;
            }
            names.push(name);
        }
        names
    }

    fn sizes_without_brackets(&mut self, node: &Yaml, text: &str) {
        let parts: Vec<&str> =
            text.split([',', '(', ')']).map(str::trim).filter(|p| !p.is_empty()).collect();
        let list = format!("[{}]", parts.join(", "));
        self.findings.push(
            Finding::new(Code::YamlValue, node.span, "`sizes` needs a list of names")
                .label("expected a list")
                .help(format!("write `sizes: {}`", clipped(&list)))
                .patch(node.span, list),
        );
    }

    // --- groups of keys ---

    /// `gauges:`. Whether a gauge must give its stitches is the caller's to say.
    pub(super) fn gauges(&mut self, node: &Yaml, stitches_needed: bool) -> Vec<GaugeEntry> {
        let example = "body: { stitches: 20, rows: 28, over: 10 cm }";
        let mut gauges = Vec::new();
        for (name, value) in self.map("gauges", node, example) {
            let before = self.findings.len();
            let mut gauge = GaugeEntry {
                name: name.clone(),
                span: value.span,
                stitches: None,
                rows: None,
                over: None,
                needle: None,
                fabric: None,
                stretched: None,
                doubt: None,
                estimated: None,
            };
            for (key, value) in self.map(&name.value, value, example) {
                match key.value.as_str() {
                    "stitches" => gauge.stitches = self.positive("stitches", value, "stitches: 20"),
                    "rows" => gauge.rows = self.positive("rows", value, "rows: 28"),
                    "over" => gauge.over = self.over(value),
                    "needle" => gauge.needle = self.text("needle", value, "needle: 4 mm"),
                    "fabric" => {
                        gauge.fabric = self.fabric(value);
                    }
                    "stretched" => {
                        gauge.stretched = self.positive("stretched", value, "stretched: 15");
                    }
                    "doubt" => gauge.doubt = self.positive("doubt", value, "doubt: 0.5"),
                    "estimated" => gauge.estimated = self.yes("estimated", value),
                    _ => self.unknown_key(key, value, "a gauge", GAUGE_KEYS),
                }
            }
            let sound = self.findings.len() == before;
            if sound && stitches_needed && gauge.stitches.is_none() {
                self.findings.push(
                    Finding::new(
                        Code::YamlValue,
                        name.span,
                        format!(
                            "the gauge `{}` does not say how many stitches",
                            clipped(&name.value)
                        ),
                    )
                    .label("no `stitches`")
                    .help(format!("write it as in `{example}`")),
                );
            }
            self.stretched_is_wider(&gauge);
            self.doubt_is_less(&gauge);
            gauges.push(gauge);
        }
        gauges
    }

    fn over(&mut self, node: &Yaml) -> Option<Spanned<Length>> {
        let length = self.parsed("over", node, "over: 10 cm", measure::length)?;
        if length.value.is_positive() {
            return Some(length);
        }
        self.findings.push(
            Finding::new(Code::YamlValue, node.span, "`over` must be more than zero")
                .label("not above zero")
                .help("write it as in `over: 10 cm`"),
        );
        None
    }

    fn fabric(&mut self, node: &Yaml) -> Option<Spanned<FabricName>> {
        self.parsed("fabric", node, "fabric: stockinette", measure::fabric_name)
    }

    /// A fabric pulled wide has fewer stitches over the same length.
    fn stretched_is_wider(&mut self, gauge: &GaugeEntry) {
        let (Some(relaxed), Some(stretched)) = (gauge.stitches, gauge.stretched) else { return };
        if stretched.value <= relaxed.value {
            return;
        }
        self.findings.push(
            Finding::new(
                Code::YamlValue,
                stretched.span,
                "`stretched` is more than `stitches`, but a stretched fabric has fewer stitches over the same length",
            )
            .label("more than relaxed")
            .also(relaxed.span, "relaxed")
            .help("count the stitches over the same length with the fabric pulled wide"),
        );
    }

    /// A gauge that may be nothing at all is none.
    fn doubt_is_less(&mut self, gauge: &GaugeEntry) {
        let (Some(stitches), Some(doubt)) = (gauge.stitches, gauge.doubt) else { return };
        if doubt.value < stitches.value {
            return;
        }
        self.findings.push(
            Finding::new(
                Code::YamlValue,
                doubt.span,
                "`doubt` is no less than `stitches`, so that the gauge says nothing",
            )
            .label("so many stitches more or fewer")
            .also(stitches.span, "stitches")
            .help("write by how many stitches over the same length the count may be off: `doubt: 0.5`"),
        );
    }

    /// `units: cm`
    pub(super) fn units(&mut self, node: &Yaml) -> Option<Unit> {
        let text = self.text("units", node, "units: cm")?;
        match Unit::from_word(&text.value.to_ascii_lowercase()) {
            Some(unit @ (Unit::Cm | Unit::In)) => Some(unit),
            _ => {
                self.findings.push(
                    Finding::new(
                        Code::YamlValue,
                        node.span,
                        format!("`units` is `{}`, but must be `cm` or `in`", clipped(&text.value)),
                    )
                    .label("expected `cm` or `in`"),
                );
                None
            }
        }
    }

    // --- keys that are not known ---

    /// Reports a key that is not one of `known`.
    pub(super) fn unknown_key(
        &mut self,
        key: &Spanned<String>,
        value: &Yaml,
        place: &str,
        known: &[&str],
    ) {
        let name = key.value.as_str();
        let mut finding = Finding::new(
            Code::YamlKey,
            key.span,
            format!("`{}` is not a key of {place}", clipped(name)),
        )
        .label("unknown key");
        let empty = matches!(&value.kind, Kind::Scalar(s) if s.text.is_empty());
        let run_on = known.iter().find_map(|k| {
            let rest = name.strip_prefix(*k)?.strip_prefix([' ', ':', '='])?;
            Some((k, rest.trim_start_matches([' ', ':', '='])))
        });
        let tidy = name.trim().to_lowercase().replace(['_', ' '], "-");
        finding = match run_on {
            Some((k, rest)) if empty => {
                let line = format!("{k}: {rest}");
                finding
                    .help(format!("write `{}` with a colon and a space", clipped(&line)))
                    .patch(key.span, line)
            }
            _ => match words::nearest(&tidy, known.iter().copied()) {
                Some(near) => {
                    finding.help(format!("a similar key exists: `{near}`")).patch(key.span, near)
                }
                None => {
                    let known: Vec<String> = known.iter().map(|k| format!("`{k}`")).collect();
                    finding.help(format!("the keys here are {}", words::list(&known, "and")))
                }
            },
        };
        self.findings.push(finding);
    }
}

fn values(n: usize) -> String {
    counted(n, "value")
}

fn counted(n: usize, noun: &str) -> String {
    words::count(i64::try_from(n).unwrap_or(i64::MAX), noun)
}
