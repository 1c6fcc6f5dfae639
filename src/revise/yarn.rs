//! The yarn a revised pattern takes, from what the pattern says it used.

use super::Edit;
use crate::measure::round::{Multiple, Toward, to_multiple};
use crate::measure::{Exact, Given, Length, SizeId, Unit, exact};
use crate::model::Model;
use crate::plan::Plan;
use crate::source::{Source, Spanned};
use crate::syntax::front::{PutUp, Targets, Used, Yarn};
use crate::syntax::print;
use crate::work::Trace;
use crate::work::yarn::widths_by_color;

/// How much more yarn each new size takes than the size it came from.
pub struct Factors {
    /// Of all yarn, by size.
    all: Vec<Exact>,
    /// Of each color.
    colors: Vec<Vec<Exact>>,
}

/// How much more yarn each new size takes than the size it came from; `None` where the
/// stitches do not tell.
#[must_use]
pub fn factors(
    plan: &Plan<'_>,
    old: (&Model<'_>, &[Trace]),
    new: (&Model<'_>, &[Trace]),
) -> Option<Factors> {
    let mut factors = Factors { all: Vec::new(), colors: vec![Vec::new(); old.0.colors.len()] };
    for (index, size) in plan.goal.sizes.iter().enumerate() {
        let before = widths_by_color(old.0, old.1.get(size.from.0)?)?;
        let after = widths_by_color(new.0, new.1.get(index)?)?;
        let sum = |each: &[Length]| each.iter().fold(Length::zero(), |sum, one| sum + *one);
        let whole = sum(&before);
        factors.all.push(whole.is_positive().then(|| sum(&after) / whole)?);
        for ((color, before), after) in factors.colors.iter_mut().zip(before).zip(after) {
            // A color that a size does without says nothing of what it would take.
            color.push(if before.is_positive() { after / before } else { exact(1, 1) });
        }
    }
    Some(factors)
}

/// The edits of the yarn a pattern uses: `new = used x new stitches / old
/// stitches`, each stitch counted by its width, for each color that says what it
/// used. Weights go through lengths where the put-up changes.
#[must_use]
pub fn edits(
    source: &Source,
    model: &Model<'_>,
    plan: &Plan<'_>,
    targets: &Targets,
    factors: &Factors,
) -> Vec<Edit> {
    let Some(own) = &model.document.front.yarn else { return Vec::new() };
    let mut edits = Vec::new();
    let new = targets.yarn.as_ref();
    if let (Some(old), Some(weight)) = (&own.weight, new.and_then(|y| y.weight.as_ref()))
        && old.value != weight.value
    {
        edits.push(Edit { span: old.span, text: weight.value.to_string() });
    }
    if let (Some(old), Some(put_up)) = (&own.put_up, new.and_then(|y| y.put_up.as_ref()))
        && old.value != put_up.value
    {
        edits.push(Edit { span: old.span, text: put_up_words(&put_up.value) });
    }
    let colors = own.colors.iter().zip(&factors.colors);
    // A color that is sold in a way of its own goes on being sold so.
    let colors = colors.filter_map(|(color, factors)| {
        Some((color.used.as_ref()?, factors, new.filter(|_| color.put_up.is_none())))
    });
    let whole = own.used.as_ref().map(|used| (used, &factors.all, new));
    for (used, factors, new) in whole.into_iter().chain(colors) {
        let grist = grist(own, new);
        let unchanged = factors.iter().all(|f| *f == exact(1, 1)) && grist == Some(exact(1, 1));
        let noun = noun(source, used);
        let in_yards = noun.starts_with('y');
        if !unchanged
            && let Some(numbers) = used_numbers(&used.value, in_yards, plan, factors, grist)
        {
            let text = format!("{numbers} {noun}").trim_end().to_owned();
            edits.push(Edit { span: used.span, text });
        }
    }
    edits
}

/// The yarn used for the sizes that are left, as it is.
pub(super) fn kept(source: &Source, plan: &Plan<'_>, used: &Spanned<Used>) -> Edit {
    let noun = noun(source, used);
    let unit = if noun.starts_with('y') { Unit::Yd } else { Unit::M };
    let each = |value: &dyn Fn(SizeId) -> Option<Exact>| {
        let sizes = plan.goal.sizes.iter().map(|size| value(size.from)).collect();
        print::sizes(&Given::from_each(sizes), |n| crate::measure::decimal(*n, 2))
    };
    let numbers = match &used.value {
        Used::Grams(given) | Used::PutUps(given) => each(&|size| given.get(size).copied()),
        Used::Length(given) => each(&|size| given.get(size).map(|length| length.amount(unit))),
    };
    Edit { span: used.span, text: format!("{numbers} {noun}").trim_end().to_owned() }
}

/// "3 skeins" keeps its noun, "300 yd" its unit.
fn noun<'s>(source: &'s Source, used: &Spanned<Used>) -> &'s str {
    source.slice(used.span).trim_start_matches(|c: char| !c.is_alphabetic())
}

fn put_up_words(put_up: &PutUp) -> String {
    let length = format!("{} m", crate::measure::decimal(put_up.length.amount(Unit::M), 1));
    match put_up.grams {
        Some(grams) => format!("{length} / {} g", crate::measure::decimal(grams, 1)),
        None => length,
    }
}

/// How many grams of the new yarn are as long as one gram of the old; `None`
/// where the two cannot be compared.
fn grist(own: &Yarn, new: Option<&Yarn>) -> Option<Exact> {
    let Some(changed) = new.and_then(|y| y.put_up.as_ref()) else { return Some(exact(1, 1)) };
    let per_gram = |put_up: &PutUp| Some(put_up.length / Length::new(put_up.grams?, Unit::M));
    let old = own.put_up.as_ref()?;
    if old.value == changed.value {
        return Some(exact(1, 1));
    }
    Some(per_gram(&old.value)? / per_gram(&changed.value)?)
}

/// The numbers of the yarn used; the words after them stay.
fn used_numbers(
    used: &Used,
    in_yards: bool,
    plan: &Plan<'_>,
    factors: &[Exact],
    grist: Option<Exact>,
) -> Option<String> {
    let each = |value: &dyn Fn(SizeId) -> Option<Exact>| {
        let sizes = plan.goal.sizes.iter().zip(factors);
        let exact: Vec<Option<Exact>> =
            sizes.map(|(size, factor)| Some(value(size.from)? * *factor)).collect();
        let step = if matches!(used, Used::PutUps(_)) { 1 } else { rounding(&exact) };
        let up = |value: Exact| to_multiple(value, Multiple::new(step, 0), Toward::Up);
        let each = exact.into_iter().map(|value| value.map(up)).collect();
        print::sizes(&Given::from_each(each), i64::to_string)
    };
    Some(match used {
        Used::Grams(given) | Used::PutUps(given) => {
            let grist = grist?;
            each(&|size| Some(*given.get(size)? * grist))
        }
        Used::Length(given) => {
            let unit = if in_yards { Unit::Yd } else { Unit::M };
            each(&|size| Some(given.get(size)?.amount(unit)))
        }
    })
}

/// Up to what amounts of yarn are rounded: to fives, or to ones where that would be a fifth of
/// the least of them.
fn rounding(amounts: &[Option<Exact>]) -> u32 {
    let least = amounts.iter().flatten().min();
    if least.is_none_or(|least| *least >= exact(25, 1)) { 5 } else { 1 }
}
