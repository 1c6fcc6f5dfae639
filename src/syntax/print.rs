//! The canonical text of instructions and rows: one way to write each.
//!
//! Rows of a piece in the round are called rounds. Used where walewright writes an instruction of its own (reversed shaping,
//! merged schedules). What it prints reads back as the same tree, and an
//! author's own text is never replaced by it unless it has to change.

use super::tree::{
    Action, Amount, BindOff, CastOnPlace, Change, CloseWith, Counts, EdgeRows, Edges, Ending,
    Every, Expr, ExprKind, Extent, FabricKind, From, Item, ItemKind, Lengths, Lies, Mark,
    MarkerAct, PickUp, Rate, RowEnd, RowLabel, RowRange, Schedule, Setting, ShapePlace, Side,
    StarEnd, Step, WhichRows,
};
use crate::diag::words::ordinal;
use crate::measure::{Exact, Given, Length, Unit, decimal};
use crate::source::{Span, Spanned};
use crate::stitch;

/// The canonical text of one instruction of a piece, without its nested list.
///
/// `words_at` gives the author's words of a span, for what is said to the knitter alone.
#[must_use]
pub fn step(step: &Step, setting: Setting, words_at: impl Fn(Span) -> String) -> String {
    let mut text = only(&step.only).unwrap_or_default();
    let remark = step.remark.as_ref().map(|prose| words_at(prose.span));
    let says = matches!(step.action, Action::Say);
    if says {
        text.push_str(remark.as_deref().unwrap_or_default());
    } else {
        if let Some(lead) = step.lead {
            text.push_str(&format!("{}, ", words_at(lead)));
        }
        text.push_str(&action(&step.action, setting));
        let led = |color: Span| step.lead.is_some_and(|lead| lead.contains(color));
        if let Some(color) = step.color.as_ref().filter(|color| !led(color.span)) {
            text.push_str(&format!(" in {}", color.value));
        }
        match step.ending.map(|ending| ending.value) {
            Some(Ending::Side(side)) => {
                text.push_str(&format!(", ending with a {} {}", side_word(side), row(setting)));
            }
            Some(Ending::Row(n)) => {
                text.push_str(&format!(", ending with {} {n} of the pattern", row(setting)));
            }
            None => {}
        }
        if let Some(counts) = &step.stated {
            text.push_str(&format!(" ({})", stitches(counts)));
        }
    }
    for mark in &step.marks {
        text.push_str(&format!(" [{}]", self::mark(&mark.value)));
    }
    if let (false, Some(remark)) = (says, remark) {
        text.push_str(&format!("; {remark}"));
    }
    text
}

const fn row(setting: Setting) -> &'static str {
    match setting {
        Setting::Flat => "row",
        Setting::Round => "round",
    }
}

/// `6 rows`, `1 row`
fn rows(counts: &Counts, setting: Setting) -> String {
    let ending = if counts.given == Given::Same(1) { "" } else { "s" };
    format!("{} {}{ending}", count(counts), row(setting))
}

/// `next row`, `next 4 rows`
fn next_rows(counts: &Counts, setting: Setting) -> String {
    match one(counts) {
        true => format!("next {}", row(setting)),
        false => format!("next {}", rows(counts, setting)),
    }
}

/// `88 (96) sts`, `1 st`
fn stitches(counts: &Counts) -> String {
    let word = if counts.given == Given::Same(1) { "st" } else { "sts" };
    format!("{} {word}", count(counts))
}

/// Plainly 1.
fn one(counts: &Counts) -> bool {
    counts.given == Given::Same(1) && !counts.live
}

/// `sizes large and small only: `; `None` for all sizes.
#[must_use]
pub fn only(sizes: &[Spanned<String>]) -> Option<String> {
    let names: Vec<&str> = sizes.iter().map(|size| size.value.as_str()).collect();
    match names.as_slice() {
        [] => None,
        [one] => Some(format!("size {one} only: ")),
        [init @ .., last] => Some(format!("sizes {} and {last} only: ", init.join(", "))),
    }
}

/// The canonical text of an action, without what follows it.
#[must_use]
pub fn action(action: &Action, setting: Setting) -> String {
    match action {
        Action::CastOn { count: n, gauge, place } => {
            let gauge = gauge.as_ref().map_or(String::new(), |g| format!(" in {}", g.value));
            format!("cast on {}{gauge}{}", count(n), cast_on_place(place, setting))
        }
        Action::JoinRound => "join in the round".to_owned(),
        Action::WorkFlat => "work flat".to_owned(),
        Action::ChangeTo(name) => format!("change to {}", name.value),
        Action::Stripes(stripes) => {
            let each = stripes.iter();
            let each = each.map(|one| format!("{} {}", rows(&one.rows, setting), one.color.value));
            format!("stripes: {}", each.collect::<Vec<_>>().join(", "))
        }
        Action::Work { fabric: Some(fabric), extent: e } => {
            let name = fabric_name(&fabric.kind);
            let edges = fabric.edges.as_ref().map_or(String::new(), edges);
            format!("work in {name}{edges}{}", extent(e, setting))
        }
        Action::Work { fabric: None, extent: e } => format!("work even{}", extent(e, setting)),
        Action::Row { label, items: row } => match label {
            Some(label) => format!("{}: {}", self::label(label, setting), items(row)),
            None => items(row),
        },
        Action::SameRows { label, rows } => {
            format!("{}: as {}", self::label(label, setting), row_range(*rows, setting))
        }
        Action::Repeat { rows, extent: e } => {
            format!("repeat {}{}", which_rows(rows, setting), extent(e, setting))
        }
        Action::RepeatAt { row, schedule: s } => {
            format!("repeat {} {}", which_rows(row, setting), schedule(s, setting))
        }
        Action::Even { change, amount, over, row: of } => {
            let amount = match amount {
                Amount::To(n) => format!("to {}", count(n)),
                Amount::By(n) => format!("by {}", count(n)),
            };
            let over =
                over.as_ref().map_or(String::new(), |n| format!(" over {}", rows(n, setting)));
            let word = if of.is_some() { changing_word(*change) } else { change_word(*change) };
            format!("{word} evenly {amount}{over}")
        }
        Action::Shape { change, each, place, schedule: s } => {
            let word = change_word(*change);
            format!("{word} {}{} {}", count(each), shape_place(*place), schedule(s, setting))
        }
        Action::Wedges { change, wedges, schedule: s } => {
            format!("{} in {} wedges {}", change_word(*change), count(wedges), schedule(s, setting))
        }
        Action::ShortRows { count: n, rows, which } => {
            let n = count(n);
            let at = "more unworked at the end of";
            match which {
                EdgeRows::Next => format!("leave {n} {at} the {}", next_rows(rows, setting)),
                EdgeRows::EverySecond(side) => {
                    let (which, row) = (side.map_or("2nd", side_word), row(setting));
                    format!("leave {n} {at} every {which} {row}{}", times(rows, false))
                }
            }
        }
        Action::BindOff { amount } => match amount {
            BindOff::All(None) => "bind off all".to_owned(),
            BindOff::All(Some(n)) => format!("bind off all {}", count(n)),
            BindOff::StartOfNext { count: n, rows, which: EdgeRows::Next } => {
                let next = next_rows(rows, setting);
                format!("bind off {} at the start of the {next}", count(n))
            }
            BindOff::StartOfNext { count: n, rows, which: EdgeRows::EverySecond(side) } => {
                let which = side.map_or("2nd", side_word);
                let row = row(setting);
                let (n, times) = (count(n), times(rows, false));
                format!("bind off {n} at the start of every {which} {row}{times}")
            }
        },
        Action::Hold { name } => {
            format!(
                "hold all{}",
                name.as_ref().map_or(String::new(), |n| format!(" as {}", n.value))
            )
        }
        Action::TakeUp(names) => {
            let names: Vec<&str> = names.iter().map(|name| name.value.as_str()).collect();
            format!("take up {}", names.join(", "))
        }
        Action::PickUp { amount, along } => {
            let amount = match amount {
                PickUp::Count(n) => count(n),
                PickUp::Ratio { stitches, rows } => {
                    format!("{stitches} for every {rows} {}s", row(setting))
                }
            };
            let along = along.as_ref().map_or(String::new(), |a| format!(" along {}", a.value));
            format!("pick up {amount}{along}")
        }
        Action::Part { name, each } => {
            format!("{}{}:", if *each { "each " } else { "" }, name.value)
        }
        Action::Reverse { name, of } => {
            let of = of.as_ref().map_or(String::new(), |of| format!(" {}", of.value));
            format!("{}: reverse{of}", name.value)
        }
        Action::Together => "at the same time:".to_owned(),
        Action::AsFor { piece, to, reversed } => {
            let to = to.as_ref().map_or(String::new(), |to| format!(" to {}", to.value));
            let reversed = if *reversed { ", reversing all shaping" } else { "" };
            format!("work as for {}{to}{reversed}", piece.value)
        }
        Action::TurnHeel { to } => format!("turn the heel to {}", count(to)),
        Action::Close(CloseWith::DrawThrough) => "break yarn and draw through".to_owned(),
        Action::Close(CloseWith::Graft) => "graft".to_owned(),
        Action::Close(CloseWith::ThreeNeedle) => "three-needle bind off".to_owned(),
        Action::Say => String::new(),
    }
}

/// The verb of what may go on without one: `bind off`, `pick up and knit`.
#[must_use]
pub const fn verb(action: &Action) -> &'static str {
    match action {
        Action::PickUp { .. } => "pick up and knit",
        _ => "bind off",
    }
}

fn cast_on_place(place: &CastOnPlace, setting: Setting) -> String {
    match place {
        CastOnPlace::Here => String::new(),
        CastOnPlace::StartOfNext(n) => format!(" at the start of the {}", next_rows(n, setting)),
        CastOnPlace::EndOfNext(n) => format!(" at the end of the {}", next_rows(n, setting)),
        CastOnPlace::OverGap => " over the gap".to_owned(),
    }
}

/// `increase`
#[must_use]
pub const fn change_word(change: Change) -> &'static str {
    match change {
        Change::Increase => "increase",
        Change::Decrease => "decrease",
        Change::Either => "increase or decrease",
    }
}

/// Of a row that is said to be knitted or purled.
#[must_use]
pub const fn changing_word(change: Change) -> &'static str {
    match change {
        Change::Increase => "increasing",
        Change::Decrease => "decreasing",
        Change::Either => "increasing or decreasing",
    }
}

const fn side_word(side: Side) -> &'static str {
    match side {
        Side::Right => "RS",
        Side::Wrong => "WS",
    }
}

const fn shape_place(place: ShapePlace) -> &'static str {
    match place {
        ShapePlace::EachEnd => " each end",
        ShapePlace::Start => " at the start",
        ShapePlace::End => " at the end",
        ShapePlace::NeckEdge => " at the neck edge",
        ShapePlace::ArmholeEdge => " at the armhole edge",
        ShapePlace::EachSideOfMarkers => " each side of each marker",
        ShapePlace::AtMarkers => " at each marker",
        ShapePlace::Anywhere => "",
    }
}

// ---- Numbers ---------------------------------------------------------------

/// `96 (104, 112)`, `?`, `8`; in braces where it is live.
#[must_use]
pub fn count(counts: &Counts) -> String {
    let text = sizes(&counts.given, u32::to_string);
    if counts.live { format!("{{{text}}}") } else { text }
}

/// The values of a range of sizes: `96 (104, -, 120)`.
pub fn sizes<T>(given: &Given<T>, one: impl Fn(&T) -> String) -> String {
    let or_dash = |value: &Option<T>| value.as_ref().map_or("-".to_owned(), &one);
    match given {
        Given::Unknown => "?".to_owned(),
        Given::Same(value) => one(value),
        Given::Each(values) => match values.as_slice() {
            [] => "?".to_owned(),
            [first] => or_dash(first),
            [first, others @ ..] => {
                let others: Vec<String> = others.iter().map(or_dash).collect();
                format!("{} ({})", or_dash(first), others.join(", "))
            }
        },
    }
}

/// `13 (14, 15) cm`, `2 1/2 in / 6.35 cm`
#[must_use]
pub fn lengths(lengths: &Lengths) -> String {
    let unit = lengths.unit;
    let first = format!("{} {}", sizes(&lengths.given, |l| amount(*l, unit)), unit.word());
    match &lengths.also {
        Some(also) => format!("{first} / {}", self::lengths(also)),
        None => first,
    }
}

/// So many of a unit, exactly: inches with fractions, the others with
/// decimals where they come out within six places.
#[must_use]
pub fn amount(length: Length, unit: Unit) -> String {
    exact(length.amount(unit), unit == Unit::In)
}

fn exact(value: Exact, fractions: bool) -> String {
    let million = Exact::from_integer(1_000_000);
    let decimals = (value * million).is_integer();
    if decimals && (!fractions || value.is_integer()) {
        return decimal(value, 6);
    }
    let (numerator, denominator) = (value.numer().abs(), *value.denom());
    let sign = if *value.numer() < 0 { "-" } else { "" };
    let fraction = format!("{}/{denominator}", numerator % denominator);
    match numerator / denominator {
        0 => format!("{sign}{fraction}"),
        whole => format!("{sign}{whole} {fraction}"),
    }
}

/// ` 6 times`, ` twice more`
fn times(counts: &Counts, more: bool) -> String {
    let more = if more { " more" } else { "" };
    match (&counts.given, counts.live) {
        (Given::Same(1), false) => format!(" once{more}"),
        (Given::Same(2), false) => format!(" twice{more}"),
        (given, _) => format!(" {}{more} {}", count(counts), times_noun(given)),
    }
}

/// `times`, and `time` where each size that has any has one.
#[must_use]
pub fn times_noun(given: &Given<u32>) -> &'static str {
    if is_one(given) { "time" } else { "times" }
}

/// Whether a count is one in every size that has it.
#[must_use]
pub fn is_one(given: &Given<u32>) -> bool {
    match given {
        Given::Unknown => false,
        Given::Same(n) => *n == 1,
        Given::Each(values) => values.iter().flatten().all(|n| *n == 1),
    }
}

fn extent(extent: &Extent, setting: Setting) -> String {
    match extent {
        Extent::Rows(n) => format!(" for {}", rows(n, setting)),
        Extent::Ridges(n) => {
            let ending = if n.given == Given::Same(1) { "" } else { "s" };
            format!(" for {} ridge{ending}", count(n))
        }
        Extent::Length(length) => format!(" for {}", lengths(length)),
        Extent::Until { length, from } => {
            let from = match &from.value {
                From::CastOn => "cast on",
                From::Named(name) => name.as_str(),
            };
            format!(" until {} from {from}", lengths(length))
        }
        Extent::Times { count: n, more } => times(n, *more),
        Extent::UntilCount(n) => format!(" until {} remain", stitches(n)),
        Extent::Once => String::new(),
    }
}

// ---- Schedules -------------------------------------------------------------

/// `every 4th row 6 times, then every 2nd row 3 times to 40`
#[must_use]
pub fn schedule(schedule: &Schedule, setting: Setting) -> String {
    let rates: Vec<String> = schedule.rates.iter().map(|r| rate(r, setting)).collect();
    let until = schedule.until.as_ref().map_or(String::new(), |n| format!(" to {}", count(n)));
    format!("{}{until}", rates.join(", then "))
}

fn rate(rate: &Rate, setting: Setting) -> String {
    let row = row(setting);
    let every = match &rate.every {
        Every::Row => format!("every {row}"),
        Every::Side(side) => format!("every {} {row}", side_word(*side)),
        Every::Nth(n) if n.live => format!("every {} {row}s", count(n)),
        Every::Nth(n) => format!("every {} {row}", sizes(&n.given, |n| ordinal(*n))),
        Every::Next => format!("on the next {row}"),
    };
    match &rate.times {
        Some(n) => format!("{every}{}", times(n, rate.more)),
        None => every,
    }
}

// ---- Rows ------------------------------------------------------------------

/// `row 1 (RS)`, `next 4 rows`, `row 2 and all WS rows`
#[must_use]
pub fn label(label: &RowLabel, setting: Setting) -> String {
    let row = row(setting);
    let which = |side: Side| match (setting, side) {
        (Setting::Flat, side) => side_word(side),
        (Setting::Round, Side::Right) => "odd",
        (Setting::Round, Side::Wrong) => "even",
    };
    if let (true, Some(side)) = (label.numbers.is_empty(), label.and_all) {
        return format!("all {} {row}s", which(side));
    }
    let mut text = match (label.numbers.as_slice(), &label.name) {
        ([], Some(name)) => named_row(&name.value, setting),
        ([], None) => next_rows(&label.next, setting),
        (numbers, _) => {
            let single = matches!(numbers, [RowRange::Numbered { first, last }] if first == last);
            let numbers: Vec<String> = numbers.iter().map(|range| numbered(*range)).collect();
            format!("{row}{} {}", if single { "" } else { "s" }, numbers.join(", "))
        }
    };
    if let Some(side) = &label.side {
        text.push_str(&format!(" ({})", side_word(side.value)));
    }
    if let Some(side) = label.and_all {
        text.push_str(&format!(" and all {} {row}s", which(side)));
    }
    text
}

/// `row A`, `decrease row`
fn named_row(name: &str, setting: Setting) -> String {
    let row = row(setting);
    if name.len() == 1 { format!("{row} {}", name.to_uppercase()) } else { format!("{name} {row}") }
}

fn which_rows(rows: &WhichRows, setting: Setting) -> String {
    match rows {
        WhichRows::Range(range) => row_range(*range, setting),
        WhichRows::Named(name) if name.value.len() == 1 => named_row(&name.value, setting),
        WhichRows::Named(name) => format!("the {}", named_row(&name.value, setting)),
    }
}

fn numbered(range: RowRange) -> String {
    match range {
        RowRange::Numbered { first, last } if first == last => first.to_string(),
        RowRange::Numbered { first, last } => format!("{first}-{last}"),
        RowRange::Last(n) => n.to_string(),
    }
}

fn row_range(range: RowRange, setting: Setting) -> String {
    let row = row(setting);
    match range {
        RowRange::Numbered { first, last } if first == last => format!("{row} {first}"),
        RowRange::Numbered { .. } => format!("{row}s {}", numbered(range)),
        RowRange::Last(1) => format!("the last {row}"),
        RowRange::Last(n) => format!("the last {n} {row}s"),
    }
}

/// The canonical text of a row's stitches.
#[must_use]
pub fn items(row: &[Item]) -> String {
    row.iter().map(item).collect::<Vec<_>>().join(", ")
}

fn item(item: &Item) -> String {
    let mut text = kind(&item.kind);
    if let Some(Spanned { value: color, .. }) = &item.color {
        text = match &item.kind {
            // After a marker the color would be its name.
            ItemKind::Run { until: RowEnd::Marker { name: None, .. }, .. }
            | ItemKind::Star { until: StarEnd::Marker { .. }, .. } => {
                format!("with {color} {text}")
            }
            _ => format!("{text} {color}"),
        };
    }
    for mark in &item.marks {
        text.push_str(&format!(" [{}]", self::mark(&mark.value)));
    }
    text
}

fn kind(kind: &ItemKind) -> String {
    match kind {
        ItemKind::Stitch { name, count } => stitch_text(&name.value, count.as_ref()),
        ItemKind::Run { name, until } => format!("{}{}", name.value, row_end(until)),
        ItemKind::Pattern(n) => format!("work {} in pattern", count(n)),
        ItemKind::Group { items: inner, times: n, more } => match inner.as_slice() {
            [Item { kind: ItemKind::Stitch { name, count: None }, color: None, marks, .. }]
                if marks.is_empty() =>
            {
                format!("{}{}", name.value, times(n, *more))
            }
            several => format!("[{}]{}", items(several), times(n, *more)),
        },
        ItemKind::Star { items: inner, until } => {
            let until = match until {
                StarEnd::End => " to end".to_owned(),
                StarEnd::Last(n) => to_last(n),
                StarEnd::Times { count: n, more } => times(n, *more),
                StarEnd::Marker { before: 0 } => " to marker".to_owned(),
                StarEnd::Marker { before } => format!(" to {} before marker", few(*before)),
            };
            let inner = items(inner);
            // Two stars without a space between them would be one mark.
            let space = if inner.starts_with('*') { " " } else { "" };
            format!("*{space}{inner}; rep from *{until}")
        }
        ItemKind::InOne { items: inner } => format!("({}) in next st", items(inner)),
        ItemKind::BindOff(None) => "bind off to end".to_owned(),
        ItemKind::BindOff(Some(n)) => format!("bind off {}", count(n)),
        ItemKind::CastOn(n) => format!("cast on {}", count(n)),
        ItemKind::HoldRest { name } => format!("hold remaining sts as {}", name.value),
        ItemKind::Hold { count: n, name } => format!("hold {} as {}", count(n), name.value),
        ItemKind::Turn => "turn".to_owned(),
        ItemKind::WrapTurn => "w&t".to_owned(),
        ItemKind::JoinYarn => "join a second ball of yarn".to_owned(),
        ItemKind::Marker { act, name } => {
            let act = match act {
                MarkerAct::Place => "pm",
                MarkerAct::Slip => "sm",
                MarkerAct::Remove => "rm",
            };
            format!("{act}{}", marker_name(name.as_ref()))
        }
    }
}

/// ` to last 3 sts`, ` to last st`
fn to_last(counts: &Counts) -> String {
    if one(counts) { " to last st".to_owned() } else { format!(" to last {}", stitches(counts)) }
}

/// `2 sts`, `1 st`
fn few(n: u32) -> String {
    format!("{n} {}", if n == 1 { "st" } else { "sts" })
}

fn marker_name(name: Option<&Spanned<String>>) -> String {
    name.map_or(String::new(), |name| format!(" {}", name.value))
}

fn row_end(until: &RowEnd) -> String {
    match until {
        RowEnd::End => " to end".to_owned(),
        RowEnd::Last(n) => to_last(n),
        RowEnd::Marker { before: 0, name } => format!(" to marker{}", marker_name(name.as_ref())),
        RowEnd::Gap { before: 0 } => " to gap".to_owned(),
        RowEnd::Gap { before } => format!(" to {} before gap", few(*before)),
        RowEnd::Marker { before, name } => {
            format!(" to {} before marker{}", few(*before), marker_name(name.as_ref()))
        }
    }
}

/// `k4`, `sl1 wyif`, `k{24}`, `bob 3`: the number stands after the first word.
fn stitch_text(name: &str, number: Option<&Counts>) -> String {
    let Some(number) = number else { return name.to_owned() };
    let number = count(number);
    if stitch::find(name).is_none() {
        return format!("{name} {number}");
    }
    match name.split_once(' ') {
        Some((first, manner)) => format!("{first}{number} {manner}"),
        None if name.len() > 2 => format!("{name} {number}"),
        None => format!("{name}{number}"),
    }
}

// ---- Marks, fabrics, expressions -------------------------------------------

/// What stands in a mark's brackets.
#[must_use]
pub fn mark(mark: &Mark) -> String {
    match mark {
        Mark::Fixed => "fixed".to_owned(),
        Mark::FollowsWidth => "follows width".to_owned(),
        Mark::FollowsLength => "follows length".to_owned(),
        Mark::Multiple { of, plus: 0 } => format!("multiple of {of}"),
        Mark::Multiple { of, plus } => format!("multiple of {of} plus {plus}"),
        Mark::Lies(lies) => format!("lies {}", self::lies(lies)),
        Mark::As(name) => format!("as {name}"),
        Mark::Starts(name) => format!("starts {name}"),
        Mark::Allow { code, reason } => format!("allow {}: {reason}", code.value),
        Mark::Measure(measured) => expr(measured),
    }
}

/// `snug 12%`
#[must_use]
pub fn lies(lies: &Lies) -> String {
    match lies {
        Lies::Level => "level".to_owned(),
        Lies::Snug(fraction) => {
            format!("snug {}%", exact(*fraction * Exact::from_integer(100), false))
        }
        Lies::AsWritten => "as written".to_owned(),
        Lies::SameCount => "same count".to_owned(),
        Lies::Fitted(part) => format!("fitted {}", expr(part)),
    }
}

/// `k2 p2 rib`, `stockinette`
#[must_use]
pub fn fabric_name(kind: &FabricKind) -> String {
    match kind {
        FabricKind::Stockinette => "stockinette".to_owned(),
        FabricKind::ReverseStockinette => "reverse stockinette".to_owned(),
        FabricKind::Garter => "garter".to_owned(),
        FabricKind::Seed => "seed".to_owned(),
        FabricKind::Rib(knit, purl) => format!("k{knit} p{purl} rib"),
        FabricKind::Named(name) => name.clone(),
    }
}

/// ` with 5 sts in garter at each side`
fn edges(edges: &Edges) -> String {
    format!(" with {} sts in {} at each side", edges.stitches, fabric_name(&edges.kind))
}

/// `chest / 2 + ease / 2`
#[must_use]
pub fn expr(expr: &Expr) -> String {
    match &expr.kind {
        ExprKind::Name(name) => name.clone(),
        ExprKind::Length(length) => {
            format!("{} cm", amount(*length, Unit::Cm))
        }
        ExprKind::Number(number) => exact(*number, false),
        ExprKind::Add(a, b) => format!("{} + {}", self::expr(a), summand(b)),
        ExprKind::Sub(a, b) => format!("{} - {}", self::expr(a), summand(b)),
        ExprKind::Mul(a, b) => format!("{} * {}", factor(a), tight(b)),
        ExprKind::Div(a, b) => format!("{} / {}", factor(a), tight(b)),
    }
}

/// The right side of a sum.
fn summand(expr: &Expr) -> String {
    bracketed(expr, matches!(expr.kind, ExprKind::Add(..) | ExprKind::Sub(..)))
}

/// The left side of a product.
fn factor(expr: &Expr) -> String {
    summand(expr)
}

/// The right side of a product.
fn tight(expr: &Expr) -> String {
    let joined = matches!(
        expr.kind,
        ExprKind::Add(..) | ExprKind::Sub(..) | ExprKind::Mul(..) | ExprKind::Div(..)
    );
    bracketed(expr, joined)
}

fn bracketed(expr: &Expr, brackets: bool) -> String {
    if brackets { format!("({})", self::expr(expr)) } else { self::expr(expr) }
}

#[cfg(test)]
mod tests;
