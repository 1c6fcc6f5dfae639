//! Armholes and necks keep their curve at another gauge.
//!
//! What is compared are the outlines of the pieces, old and new, as they are drawn: no
//! point of the new lies farther from the old than a stitch to the side and two rows up
//! or down. Beside that there is only what cannot be otherwise. The widths of the
//! pieces are whole stitches; and rows that are bound off or worked plain one by one
//! are as many at any gauge, and so higher or lower than they were.

use crate::patterns::{all, checked, document, rewritten, samples, scaled, targets, targets_of};
use walewright::Checked;
use walewright::measure::{Length, Unit, exact};
use walewright::model::Model;
use walewright::plan::outline::{Slab, outline};
use walewright::source::Source;
use walewright::syntax::tree::{Action, BindOff, EdgeRows, Extent, Item, ItemKind, Step};
use walewright::work::{Trace, Visit};

/// A point of an outline: to the side, and up from the foot of the armhole.
type Point = (Length, Length);

/// A straight piece of an outline.
type Line = (Point, Point);

/// What is drawn of a piece between the foot of its armhole and its shoulder.
struct Drawn {
    /// The left and the right edges.
    sides: [Vec<Line>; 2],
    /// How wide it is at the foot.
    width: Length,
    /// Rows that are as many at any gauge.
    fixed: u32,
}

/// Whether a row binds stitches off, or takes a few rows by number.
fn keeps_its_rows(step: &Step) -> bool {
    let binds = |item: &Item| matches!(item.kind, ItemKind::BindOff(_));
    match &step.action {
        // Of steps that are one instruction there are as many as the depth has rows for.
        Action::BindOff {
            amount: BindOff::StartOfNext { which: EdgeRows::EverySecond(_), .. },
        } => false,
        Action::BindOff { .. } => true,
        Action::Row { items, .. } => items.iter().any(binds),
        Action::Work { extent: Extent::Rows(_), .. } => true,
        _ => false,
    }
}

fn drawn(model: &Model<'_>, trace: &Trace, piece: usize) -> Option<Drawn> {
    let mut steps: Vec<&Step> = Vec::new();
    model.each_step(&mut |_, step| steps.push(step));
    let own: Vec<(&Visit, &Step)> = trace
        .visits
        .iter()
        .filter(|visit| visit.piece == piece)
        .filter_map(|visit| Some((visit, *steps.iter().find(|step| step.span == visit.step)?)))
        .collect();
    let begins = |step: &Step| {
        matches!(step.action, Action::BindOff { amount: BindOff::StartOfNext { .. } })
    };
    let measured =
        |step: &Step| matches!(step.action, Action::Work { extent: Extent::Until { .. }, .. });
    let first = own.iter().position(|(_, step)| begins(step))?;
    let last = own.iter().rposition(|(_, step)| measured(step)).filter(|last| *last > first)?;
    let (foot, top) = (own[first].0.height_before, own[last].0.height_after);
    let slabs: Vec<Slab> = outline(model, trace, piece)?.slabs;
    let above: Vec<&Slab> = slabs.iter().filter(|s| s.bottom >= foot && s.bottom < top).collect();
    let side = |of: fn((Length, Length)) -> Length| {
        let mut lines: Vec<Line> = Vec::new();
        for slab in &above {
            let from = (of(slab.below), slab.bottom - foot);
            let to = (of(slab.above), slab.top - foot);
            // A step to the side, where stitches were bound off.
            let tread = lines.last().map(|(_, end)| *end).filter(|end| end.1 == from.1);
            lines.extend(tread.map(|end| (end, from)));
            lines.push((from, to));
        }
        lines
    };
    let below = slabs.iter().rev().find(|slab| slab.top <= foot)?;
    let fixed = own[first..=last].iter().filter(|(_, step)| keeps_its_rows(step));
    Some(Drawn {
        sides: [side(|edges| edges.0), side(|edges| edges.1)],
        width: below.above.1 - below.above.0,
        fixed: fixed.map(|(visit, _)| visit.rows_after - visit.rows_before).sum(),
    })
}

/// Whether a line comes so near to a point: to so much on each side, and up and down.
fn near(point: Point, (from, to): Line, (across, up): (Length, Length)) -> bool {
    let mm = |length: Length| {
        let exact = length.amount(Unit::Mm);
        *exact.numer() as f64 / *exact.denom() as f64
    };
    // The part of the line, from 0 to 1, that is in the box around the point.
    let mut part = (0.0_f64, 1.0_f64);
    for (from, to, at, may) in [(from.0, to.0, point.0, across), (from.1, to.1, point.1, up)] {
        let (from, to, may) = (mm(from - at), mm(to - at), mm(may) + 1e-6);
        if from == to {
            if from.abs() > may {
                return false;
            }
            continue;
        }
        let (one, other) = ((-may - from) / (to - from), (may - from) / (to - from));
        part = (part.0.max(one.min(other)), part.1.min(one.max(other)));
    }
    part.0 <= part.1
}

/// Where a piece of a rewritten pattern leaves the outline it had.
fn strays(
    old: &Drawn,
    new: &Drawn,
    (stitch, row, own_row): (Length, Length, Length),
) -> Vec<Point> {
    let across = stitch + (new.width - old.width).abs() * exact(1, 2);
    let up = row * exact(2, 1) + (row - own_row).abs() * exact(i64::from(old.fixed), 1);
    let mut found = Vec::new();
    for (new, old) in new.sides.iter().zip(&old.sides) {
        for (from, to) in new {
            let middle = ((from.0 + to.0) * exact(1, 2), (from.1 + to.1) * exact(1, 2));
            let points = [*from, middle, *to].into_iter();
            found.extend(points.filter(|p| !old.iter().any(|line| near(*p, *line, (across, up)))));
        }
    }
    found
}

/// Compares every piece of every size, and gives how many there were.
fn compare(name: &str, old: &Checked<'_>, new: &Checked<'_>) -> (usize, Vec<String>) {
    let mut compared = 0;
    let mut found = Vec::new();
    for (piece, def) in old.model.pieces.iter().enumerate() {
        for (before, after) in old.traces.iter().zip(&new.traces) {
            let (Some(was), Some(is)) =
                (drawn(&old.model, before, piece), drawn(&new.model, after, piece))
            else {
                continue;
            };
            // The cap of a sleeve follows its armhole.
            if def.name.value == "Sleeve" {
                continue;
            }
            let gauge = |checked: &Checked<'_>| checked.model.gauges[0].gauge.expect("a gauge");
            let row = |checked| gauge(checked).rows.expect("a row gauge").length(exact(1, 1));
            let stitch = gauge(new).stitches.length(exact(1, 1));
            for (x, y) in strays(&was, &is, (stitch, row(new), row(old))) {
                let size = before.size.0;
                found.push(format!("{name}: {} in size {size} at {x}, {y}", def.name.value));
            }
            compared += 1;
        }
    }
    (compared, found)
}

#[test]
fn armholes_and_necks_keep_their_curve() {
    let long = std::env::var_os("WALE_LONG").is_some();
    let made: &[(i64, i64)] = if long {
        &[
            (40, -12),
            (40, 0),
            (40, 12),
            (70, -12),
            (70, 12),
            (100, -15),
            (100, 15),
            (140, -12),
            (140, 12),
            (180, 0),
        ]
    } else {
        &[(100, 12), (140, 12)]
    };
    let mut compared = 0;
    let mut found = Vec::new();
    for pattern in all() {
        let own = document(&pattern);
        let old = checked(&pattern, &own);
        let files = targets_of(&pattern).into_iter();
        // Only what changes the gauges alone is to look as it did.
        let gauges = files.filter(|f| !f.name.contains(".level.") && !f.name.contains(".sizes."));
        let mut all: Vec<(String, String)> = gauges.map(|f| (f.name, f.text)).collect();
        let curved = ["boathouse", "harbourlight"].iter().any(|n| pattern.name.starts_with(n));
        let made = made.iter().filter(|_| curved);
        all.extend(made.map(|&(by, rows)| {
            (format!("{} by {by}, rows {rows}", pattern.name), scaled(&pattern, by, rows))
        }));
        for (name, text) in &all {
            let to = targets(text);
            let revised = rewritten(&pattern, &to).unwrap_or_else(|e| panic!("{name}: {e}")).source;
            let document = document(&revised);
            let (n, strayed) = compare(name, &old, &checked(&revised, &document));
            compared += n;
            found.extend(strayed);
        }
    }
    assert!(compared >= 100, "only {compared} pieces");
    assert_eq!(found, [""; 0]);
}

/// The measure is fine enough to see a neck that is drawn otherwise.
#[test]
fn another_neck_is_seen() {
    let pattern =
        samples().into_iter().find(|s| s.name.starts_with("boathouse")).expect("a sample");
    let own = document(&pattern);
    let old = checked(&pattern, &own);
    for (wrong, told) in [
        ("every RS row 5 (5, 5, 6, 6)", false),
        ("every row 5 (5, 5, 6, 6)", true),
        ("every 4th row 3 times, then every row 2 (2, 2, 3, 3)", true),
    ] {
        let text = pattern
            .text
            .replace("at neck edge every RS row 5 (5, 5, 6, 6)", &format!("at neck edge {wrong}"));
        let other = Source::new("another", text);
        let document = document(&other);
        let (compared, found) = compare(wrong, &old, &checked(&other, &document));
        assert_eq!(compared, 10, "{wrong}");
        assert_eq!(!found.is_empty(), told, "{wrong}: {found:#?}");
    }
}

/// The front neck of a sample, bound off in other steps before it is decreased; `narrow` where
/// four stitches more of each side are left for them.
fn neck(steps: &[&str], decreases: &str, narrow: bool) -> Source {
    let pattern =
        samples().into_iter().find(|s| s.name.starts_with("boathouse")).expect("a sample");
    let step = "  - bind off 3 at the start of the next row; the neck edge\n\
        \x20 - work even for 1 row\n\
        \x20 - decrease 1 at neck edge every RS row 5 (5, 5, 6, 6) times\n";
    let middle = "k{29 (30, 32, 34, 35)}, bind off {16 (18, 18, 18, 18)}, k{29 (30, 32, 34, 35)}";
    let less = "k{33 (34, 36, 38, 39)}, bind off {8 (10, 10, 10, 10)}, k{33 (34, 36, 38, 39)}";
    assert!(pattern.text.contains(step) && pattern.text.contains(middle));
    let steps: Vec<String> = steps.iter().map(|step| format!("  - bind off {step}\n")).collect();
    let decreases = format!("  - decrease 1 at neck edge every RS row {decreases} times\n");
    let text = pattern.text.replace(step, &(steps.concat() + &decreases));
    Source::new(&pattern.name, text.replace(middle, if narrow { less } else { middle }))
}

/// Steps that are one instruction become fewer or more with the rows that the neck's depth has,
/// and the decreases after them take what is left of it.
#[test]
fn necks_bound_off_in_steps_keep_their_curve() {
    let once = "the next row\n  - work even for 1 row";
    let first = format!("3 at the start of {once}");
    let mut found = Vec::new();
    for pattern in [
        neck(&["2 at the start of every RS row 2 times"], "4 (4, 4, 5, 5)", false),
        neck(&["2 at the start of every RS row 3 times"], "2 (2, 2, 3, 3)", false),
        neck(&[&first, "2 at the start of every RS row 2 times"], "1 (1, 1, 2, 2)", false),
        neck(&["3 at the start of every RS row 3 times"], "3 (3, 3, 4, 4)", true),
        neck(
            &["3 at the start of every RS row 2 times", "2 at the start of every RS row 2 times"],
            "2 (2, 2, 3, 3)",
            true,
        ),
    ] {
        let own = document(&pattern);
        let old = checked(&pattern, &own);
        for by in [40, 44, 55, 70, 140, 180] {
            let name = format!("{by} of {}", pattern.text.lines().nth(96).unwrap_or_default());
            let to = targets(&scaled(&pattern, by, 0));
            let revised = rewritten(&pattern, &to).unwrap_or_else(|e| panic!("{name}: {e}")).source;
            let document = document(&revised);
            let (compared, strayed) = compare(&name, &old, &checked(&revised, &document));
            assert_eq!(compared, 10, "{name}");
            found.extend(strayed);
        }
    }
    assert_eq!(found, [""; 0]);
}

/// At four tenths of the stitches and rows there is one step where there were two, and as wide.
#[test]
fn steps_of_a_neck_are_as_many_as_its_depth_has_rows_for() {
    let pattern = neck(
        &["3 at the start of every RS row 2 times", "2 at the start of every RS row 2 times"],
        "2 (2, 2, 3, 3)",
        true,
    );
    let at = |by: i64| -> Vec<String> {
        let to = targets(&scaled(&pattern, by, 0));
        let revised = rewritten(&pattern, &to).unwrap_or_else(|e| panic!("{e}")).source;
        let lines = revised.text.lines().skip_while(|line| !line.contains("Front neck"));
        let steps = lines.filter(|line| line.contains("every RS row") && line.contains("bind off"));
        steps.take(2).map(|line| line.trim().to_owned()).collect()
    };
    // Eight rows are four at half the rows: one of each clause, 3 and 2 stitches.
    assert_eq!(
        at(50),
        [
            "- bind off 3 at the start of every RS row once",
            "- bind off 2 at the start of every RS row once"
        ]
    );
    // And 16 at twice: 12 stitches in four, then 8 in four.
    assert_eq!(
        at(200),
        [
            "- bind off 3 at the start of every RS row 4 times",
            "- bind off 2 at the start of every RS row 4 times"
        ]
    );
}
