//! Edits of the front matter: title, sizes, gauges, measurements, ease, yarn.

use super::Edit;
use crate::measure::{Density, Gauge, Given, Length, SizeId, Unit, decimal, exact};
use crate::model::Model;
use crate::plan::Plan;
use crate::source::{Source, Span, Spanned};
use crate::syntax::front::{Ease, Entry, Front, GaugeEntry, Targets, Yarn};
use crate::syntax::print;

/// Every edit of the front matter.
pub(super) fn edits(
    source: &Source,
    model: &Model<'_>,
    plan: &Plan<'_>,
    targets: &Targets,
) -> Vec<Edit> {
    let front = &model.document.front;
    let (unit, lists_stay) = (model.units, plan.goal.keeps_sizes(model));
    let mut edits = Vec::new();
    if let (Some(own), Some(new)) = (&front.title, &targets.title)
        && own.value != new.value
    {
        edits.push(Edit { span: own.span, text: scalar(&new.value) });
    }
    if !lists_stay {
        let listed = sizes(source, plan, &front.sizes);
        edits.extend(listed.or_else(|| first_sizes(source, plan, front)));
    }
    for (own, goal) in model.gauges.iter().zip(&plan.goal.gauges) {
        if let (true, Some(gauge)) = (goal.changed, goal.gauge) {
            edits.push(gauge_edit(own.entry, goal.entry, gauge, goal.estimated, unit));
        }
    }
    let measures = &plan.goal.measures;
    edits
        .extend(follow(&front.measure, &measures.body, plan, lists_stay, |g| length_list(g, unit)));
    edits.extend(follow(&front.ease, &measures.ease, plan, lists_stay, |g| ease_list(g, unit)));
    if !lists_stay {
        for entry in &front.finished {
            let given = Given::from_each(brought(plan, &entry.value.value));
            edits.push(Edit { span: entry.value.span, text: length_list(&given, unit) });
        }
        let used = front.yarn.iter().flat_map(Yarn::all_used);
        edits.extend(used.map(|used| super::yarn::kept(source, plan, used)));
    }
    edits
}

/// Values by landmark that the goal changes.
fn follow<T: Clone + PartialEq>(
    own: &[Entry<Given<T>>],
    goal: &[(String, Given<T>)],
    plan: &Plan<'_>,
    lists_stay: bool,
    write: impl Fn(&Given<T>) -> String,
) -> Vec<Edit> {
    let mut edits = Vec::new();
    for entry in own {
        let Some((_, new)) = goal.iter().find(|(name, _)| *name == entry.name.value) else {
            continue;
        };
        let new: Vec<Option<T>> =
            (0..plan.goal.sizes.len()).map(|i| new.get(SizeId(i)).cloned()).collect();
        if !lists_stay || new != brought(plan, &entry.value.value) {
            edits.push(Edit { span: entry.value.span, text: write(&Given::from_each(new)) });
        }
    }
    edits
}

fn brought<T: Clone>(plan: &Plan<'_>, given: &Given<T>) -> Vec<Option<T>> {
    plan.goal.sizes.iter().map(|size| given.get(size.from).cloned()).collect()
}

/// A YAML scalar, quoted where plain text would be read as something else.
fn scalar(text: &str) -> String {
    const WORDS: [&str; 11] =
        ["yes", "no", "on", "off", "true", "false", "null", "y", "n", "~", "nan"];
    let harmless = |c: char| c.is_alphanumeric() || matches!(c, ' ' | '-' | '/' | '.' | '_' | '\'');
    let plain = text.chars().all(harmless)
        && text.starts_with(char::is_alphabetic)
        && !WORDS.contains(&text.to_ascii_lowercase().as_str())
        && text.trim() == text;
    if plain {
        text.to_owned()
    } else {
        format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
    }
}

fn sizes(source: &Source, plan: &Plan<'_>, own: &[Spanned<String>]) -> Option<Edit> {
    let span = own.first()?.span.to(own.last()?.span);
    let written = plan.goal.sizes.iter().map(|size| {
        // A size keeps the very words (and quotes) it was written with.
        let own = own.iter().find(|o| o.value == size.name);
        own.map_or_else(|| scalar(&size.name), |o| source.slice(o.span).to_owned())
    });
    let between = own.get(1).map_or(", ", |second| {
        let gap = Span::new(own.first().map_or(0, |o| o.span.end), second.span.start);
        source.slice(gap)
    });
    Some(Edit { span, text: written.collect::<Vec<_>>().join(between) })
}

/// A pattern of one size that gets a list of them: a line after its title.
fn first_sizes(source: &Source, plan: &Plan<'_>, front: &Front) -> Option<Edit> {
    let names: Vec<String> = plan.goal.sizes.iter().map(|size| scalar(&size.name)).collect();
    let after = front.title.as_ref()?.span.end;
    let line = source.text.get(after..).and_then(|rest| rest.find(['\r', '\n']))?;
    let text = format!("\nsizes: [{}]", names.join(", "));
    Some(Edit { span: Span::at(after + line), text })
}

fn length_list(given: &Given<Length>, unit: Unit) -> String {
    format!("{} {}", print::sizes(given, |l| print::amount(*l, unit)), unit.word())
}

fn ease_list(given: &Given<Ease>, unit: Unit) -> String {
    let percent = given.values().any(|e| matches!(e, Ease::Percent(_)));
    let text = print::sizes(given, |ease| match ease {
        Ease::Length(length) => print::amount(*length, unit),
        Ease::Percent(part) => decimal(*part * exact(100, 1), 6),
    });
    if percent { format!("{text}%") } else { format!("{text} {}", unit.word()) }
}

/// The gauge on one line; what the targets do not say is taken from the pattern.
fn gauge_edit(
    own: &GaugeEntry,
    new: Option<&GaugeEntry>,
    gauge: Gauge,
    estimated: bool,
    units: Unit,
) -> Edit {
    let usual = if units == Unit::In { Length::inches(4) } else { Length::cm(10) };
    let over = new.and_then(|n| n.over).or(own.over).map_or(usual, |o| o.value);
    let per = |density: Density| decimal(density.count(over), 6);
    let over_unit = if over.amount(Unit::Cm).is_integer() { Unit::Cm } else { Unit::In };
    let mut fields = vec![format!("stitches: {}", per(gauge.stitches))];
    fields.extend(gauge.rows.map(|density| format!("rows: {}", per(density))));
    fields.push(format!("over: {} {}", print::amount(over, over_unit), over_unit.word()));
    let needle = new.and_then(|n| n.needle.as_ref()).or(own.needle.as_ref());
    fields.extend(needle.map(|needle| format!("needle: {}", in_flow(&needle.value))));
    let fabric = new.and_then(|n| n.fabric.as_ref()).or(own.fabric.as_ref());
    fields
        .extend(fabric.map(|fabric| format!("fabric: {}", print::fabric_name(&fabric.value.kind))));
    fields.extend(gauge.stretched.map(|density| format!("stretched: {}", per(density))));
    // The doubt is of one swatch alone.
    let doubt = new.unwrap_or(own).doubt.filter(|_| !estimated);
    fields.extend(doubt.map(|doubt| format!("doubt: {}", decimal(doubt.value, 6))));
    if estimated {
        fields.push("estimated: true".to_owned());
    }
    Edit { span: own.span, text: format!("{{ {} }}", fields.join(", ")) }
}

/// A needle inside `{ }`: plain where it can be.
fn in_flow(text: &str) -> String {
    if text.contains([',', '{', '}', '[', ']', ':', '#', '"']) {
        scalar(text)
    } else {
        text.to_owned()
    }
}
