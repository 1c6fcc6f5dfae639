//! Reads a targets file: what is different this time.

use super::error::clipped;
use super::front::{self, Entry, FRONT_KEYS, LengthChange, Targets};
use super::keys::{Keys, TARGET_YARN_KEYS};
use super::measure;
use super::tree::Lies;
use super::yaml::{self, Kind, Yaml};
use crate::diag::{Code, Finding};
use crate::measure::{Given, exact};
use crate::source::{Span, Spanned};

/// The keys of targets.
const TARGET_KEYS: &[&str] = &[
    "wale",
    "title",
    "gauges",
    "sizes",
    "sizes-from",
    "measure",
    "ease",
    "bands",
    "lengths",
    "yarn",
];

/// Reads a whole targets file, without its byte-order mark, which stands at `offset`.
///
/// The findings are placed as if in the pattern; the caller knows the file.
pub(super) fn read(text: &str, offset: usize) -> (Option<Targets>, Vec<Finding>) {
    let reading = yaml::read(text, offset);
    let mut keys = Keys { findings: reading.findings, sizes: None };
    let Some(root) = &reading.root else {
        if keys.findings.is_empty() {
            keys.findings.push(
                Finding::new(Code::YamlValue, Span::at(offset), "the targets are empty")
                    .label("nothing here")
                    .help("say what is different, as in `gauges:` and below it `body: { stitches: 17, rows: 24, over: 10 cm }`"),
            );
        }
        return (None, keys.findings);
    };
    let entries = keys.map("targets", root, "title: Slipway Cap");
    let mut targets = Targets::default();
    read_sizes(&mut keys, &mut targets, entries);
    for (key, value) in entries {
        read_key(&mut keys, &mut targets, key, value);
    }
    (Some(targets), keys.findings)
}

/// Sizes come first; where the targets do not name them, their lists are for
/// the pattern's, which are not known here.
fn read_sizes(keys: &mut Keys, targets: &mut Targets, entries: &[(Spanned<String>, Yaml)]) {
    let Some((key, value)) = entries.iter().find(|(key, _)| key.value == "sizes") else { return };
    let before = keys.findings.len();
    targets.sizes = keys.size_names(value);
    if keys.findings.len() == before {
        keys.sizes = Some((targets.sizes.len(), Some(key.span)));
    }
}

fn read_key(keys: &mut Keys, targets: &mut Targets, key: &Spanned<String>, value: &Yaml) {
    match key.value.as_str() {
        "wale" => {
            keys.whole("wale", value, 1..=1);
        }
        "title" => targets.title = keys.text("title", value, "title: Slipway Cap in thick wool"),
        "gauges" => targets.gauges = keys.gauges(value, false),
        "sizes" => {}
        "sizes-from" => {
            targets.sizes_from = keys.text("sizes-from", value, "sizes-from: a table's name");
        }
        "measure" => targets.measure = keys.lengths("measure", value, "head: 54 (61) cm"),
        "ease" => targets.ease = front::ease(keys, value),
        "bands" => targets.bands = bands(keys, value),
        "lengths" => targets.lengths = lengths(keys, value),
        "yarn" => targets.yarn = Some(keys.yarn(value, TARGET_YARN_KEYS)),
        name if FRONT_KEYS.contains(&name) => keys.findings.push(
            Finding::new(
                Code::YamlKey,
                key.span,
                format!("`{name}` belongs in the pattern, not in the targets"),
            )
            .label("not here")
            .help("change it in the front matter of the pattern"),
        ),
        _ => keys.unknown_key(key, value, "targets", TARGET_KEYS),
    }
}

/// `brim: { lies: snug 12% }` or, shorter, `brim: snug 12%`
fn bands(keys: &mut Keys, node: &Yaml) -> Vec<Entry<Lies>> {
    keys.entries("bands", node, "brim: { lies: snug 12% }", |keys, key, value| {
        let example = format!("{}: {{ lies: snug 12% }}", clipped(&key.value));
        let mut lies = None;
        match &value.kind {
            Kind::Map(entries) => {
                for (inner, value) in entries {
                    match inner.value.as_str() {
                        "lies" => lies = Some(value),
                        _ => keys.unknown_key(inner, value, "a band", &["lies"]),
                    }
                }
            }
            _ => lies = Some(value),
        }
        let read = keys.parsed(&key.value, lies?, &example, measure::lies)?;
        match &read.value {
            Lies::Snug(p) if *p <= exact(0, 1) || *p > exact(1, 2) => {
                keys.findings.push(
                    Finding::new(
                        Code::YamlValue,
                        read.span,
                        "a snug band is drawn in by more than 0% and up to 50%",
                    )
                    .label("out of range")
                    .help(format!("write it as in `{example}`")),
                );
                None
            }
            _ => Some(read),
        }
    })
}

fn lengths(keys: &mut Keys, node: &Yaml) -> Vec<Entry<Given<LengthChange>>> {
    keys.entries("lengths", node, "cap: +2 cm", |keys, key, value| {
        let name = clipped(&key.value);
        let example = format!("{name}: +2 cm` or `{name}: 40 cm");
        let read = keys.parsed(&key.value, value, &example, measure::length_change)?;
        keys.one_a_size(read.value.listed(), read.span);
        if read.value == Given::Unknown {
            keys.unknown(&key.value, read.span, &example);
            return None;
        }
        let sound = |change: &LengthChange| match change {
            LengthChange::To(length) => length.is_positive(),
            LengthChange::By(_) => true,
        };
        if read.value.values().all(sound) {
            return Some(read);
        }
        keys.findings.push(
            Finding::new(Code::YamlValue, read.span, format!("`{name}` needs a length above zero"))
                .label("not above zero")
                .help(format!("write it as in `{example}`")),
        );
        None
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Length;

    const TARGETS: &str = "\
gauges:
  body: { stitches: 17, rows: 24, over: 10 cm, needle: 5 mm }
  brim: { needle: 4.5 mm }
sizes: [small, large]
measure:
  head: 54 (61) cm
ease:
  head: -4 cm
bands:
  brim: { lies: snug 12% }
  cuff: level
lengths:
  cap: +2 cm
  sleeve: 40 (42) cm
yarn: { weight: 5 }
";

    #[test]
    fn targets_are_read_whole() {
        let (targets, findings) = read(TARGETS, 0);
        assert_eq!(findings, []);
        let targets = targets.unwrap_or_default();
        assert_eq!(targets.gauges.len(), 2);
        assert_eq!(targets.sizes.len(), 2);
        assert_eq!(targets.bands[0].value.value, Lies::Snug(exact(12, 100)));
        assert_eq!(targets.bands[1].value.value, Lies::Level);
        let by_two = LengthChange::By(Length::cm(2));
        assert_eq!(targets.lengths[0].value.value, Given::Same(by_two));
        let to = |n| Some(LengthChange::To(Length::cm(n)));
        assert_eq!(targets.lengths[1].value.value, Given::Each(vec![to(40), to(42)]));
        assert_eq!(&TARGETS[targets.lengths[0].value.span.range()], "+2 cm");
    }

    #[test]
    fn lists_for_the_sizes_of_the_pattern_are_let_pass() {
        let (_, findings) = read("measure:\n  head: 54 (61, 63) cm\n", 0);
        assert_eq!(findings, []);
    }
}
