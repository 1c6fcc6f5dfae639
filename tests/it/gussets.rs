//! Drop shoulders with a gusset under the arm, from one gauge and size to others.

use super::patterns;
use walewright::measure::{Exact, Length, SizeId, Unit, exact};
use walewright::source::Source;
use walewright::syntax;
use walewright::syntax::tree::{
    Action, Block, Counts, Document, Extent, From, ItemKind, PickUp, Step,
};

fn gansey() -> Source {
    Source::new("lifeboat-gansey.wale", include_str!("gussets/lifeboat-gansey.wale"))
}

/// What the gussets and the sleeves of a gansey come to in one size.
#[derive(Debug)]
struct Gusset {
    /// Stitches held in the body.
    held: i64,
    /// Stitches before the marker in the sleeve.
    taken_up: i64,
    /// Stitches left of it when its decreases are done.
    left: i64,
    /// From the first increase to the division.
    height: Length,
    width: Length,
    /// From the division to the shoulder.
    armhole: Length,
    /// What is picked up for the sleeve, as wide as it is knitted.
    picked_up: Length,
}

fn steps(document: &Document) -> Vec<&Step> {
    let blocks = document.sections.iter().flat_map(|section| &section.blocks);
    let lists = blocks.filter_map(|block| match block {
        Block::Steps(steps) => Some(steps),
        _ => None,
    });
    lists.flatten().collect()
}

fn in_size(counts: &Counts, size: usize) -> Option<i64> {
    counts.given.get(SizeId(size)).map(|&n| i64::from(n))
}

fn gussets(source: &Source) -> Vec<Gusset> {
    let parsed = syntax::parse(source);
    let document = parsed.document.expect("a pattern");
    let checked = walewright::check(source, &document, parsed.findings);
    // The targets here name no needles.
    let told = checked.findings.iter().filter(|f| f.code.name() != "gauge-unlikely");
    let told: Vec<_> = told.map(|f| (f.code.name(), &f.message)).collect();
    assert!(told.is_empty(), "{told:?}\n{}", source.text);
    let gauge = checked.model.gauges[0].gauge.expect("a gauge");
    let all = steps(&document);
    let row = |words: &str| {
        let found = all.iter().find(|step| source.slice(step.span).starts_with(words));
        *found.unwrap_or_else(|| panic!("no {words}"))
    };
    let of = |trace: &walewright::work::Trace| {
        let size = trace.size.0;
        let visit = |step: &Step| {
            trace.visits.iter().find(|visit| visit.step == step.span).expect("it is worked")
        };
        let Action::Row { items, .. } = &row("hold {").action else { panic!("a row") };
        let mut holds = items.iter().filter_map(|item| match &item.kind {
            ItemKind::Hold { count, name } if name.value == "gusset" => in_size(count, size),
            _ => None,
        });
        let held = holds.next().expect("a gusset");
        assert_eq!(holds.next(), Some(held));
        let mut firsts = all.iter().filter_map(|step| match &step.action {
            Action::Row { items, .. } => match items.as_slice() {
                [first, pm, _] if matches!(pm.kind, ItemKind::Marker { .. }) => match &first.kind {
                    ItemKind::Stitch { count: Some(count), .. } => in_size(count, size),
                    _ => None,
                },
                _ => None,
            },
            _ => None,
        });
        let taken_up = firsts.next().expect("a gusset in the sleeve");
        let first = visit(row("decrease round"));
        let last = visit(row("repeat the decrease round"));
        let decreased = first.before.known().zip(last.after.known()).map(|(a, b)| a - b);
        let picked = all.iter().find_map(|step| match &step.action {
            Action::PickUp { amount: PickUp::Count(counts), .. } => in_size(counts, size),
            _ => None,
        });
        let armhole = all.iter().find_map(|step| match &step.action {
            Action::Work { extent: Extent::Until { length, from }, .. } => match &from.value {
                From::Named(name) if name == "armhole" => length.given.get(SizeId(size)).copied(),
                _ => None,
            },
            _ => None,
        });
        let begun = visit(row("k{")).height_before;
        let stitches = |n: i64| gauge.stitches.length(exact(n, 1));
        Gusset {
            held,
            taken_up,
            left: taken_up - decreased.expect("counts"),
            height: visit(row("repeat the increase round")).height_after - begun,
            width: stitches(held),
            armhole: armhole.expect("an armhole"),
            picked_up: stitches(picked.expect("a sleeve")),
        }
    };
    checked.traces.iter().map(of).collect()
}

fn cm(length: Length) -> Exact {
    length.amount(Unit::Cm)
}

/// The gusset of the sleeve has the stitches that wait at the body, and ends in the three
/// that its last decrease takes; the sleeve is as wide at the top as the armhole goes round.
fn agrees(source: &Source) -> Vec<Gusset> {
    let all = gussets(source);
    for gusset in &all {
        assert_eq!(gusset.held, gusset.taken_up, "{gusset:?}");
        assert_eq!(gusset.left, 3, "{gusset:?}");
        let off = cm(gusset.picked_up) - cm(gusset.armhole) * exact(2, 1);
        assert!(off >= exact(-2, 1) && off <= exact(2, 1), "{gusset:?}");
    }
    all
}

fn rewritten(targets: &str) -> Source {
    let pattern = gansey();
    let targets = patterns::targets(targets);
    patterns::rewritten(&pattern, &targets).unwrap_or_else(|told| panic!("{told}")).source
}

#[test]
fn a_gusset_keeps_its_size_from_thick_wool_to_fine() {
    let own = agrees(&gansey());
    for (stitches, rows) in [(10, 14), (12, 17), (18, 27), (22, 31), (32, 46), (38, 54)] {
        let rib = |name: &str| {
            let (stitches, rows) = (stitches * 15 / 13, rows * 19 / 18);
            format!("  {name}: {{ stitches: {stitches}, rows: {rows}, over: 10 cm }}\n")
        };
        let body = format!("  body: {{ stitches: {stitches}, rows: {rows}, over: 10 cm }}\n");
        let new = agrees(&rewritten(&format!("gauges:\n{body}{}{}", rib("hem"), rib("cuff"))));
        let stitch = exact(10, stitches);
        for (new, own) in new.iter().zip(&own) {
            // Its stitches go by twos, and three of them are left whatever the gauge.
            let wider = cm(new.width) - cm(own.width);
            assert!(
                wider <= stitch * exact(3, 2) && wider >= -stitch * exact(3, 2),
                "{new:?} {own:?}"
            );
            // One even rate may be three rounds off, and the plain ones before it stay.
            let taller = cm(new.height) - cm(own.height);
            let rounds = exact(10, rows) * exact(5, 1);
            assert!(taller <= rounds && taller >= -rounds, "{new:?} {own:?}");
        }
    }
}

#[test]
fn a_deeper_armhole_has_a_wider_sleeve() {
    let sized = "sizes: [boy, big man]\nmeasure:\n  chest: 70 (140) cm\n  hand: 18 (25) cm\nlengths:\n  armhole: 16 (26) cm\n";
    let all = agrees(&rewritten(sized));
    let armholes: Vec<Length> = all.iter().map(|gusset| gusset.armhole).collect();
    assert_eq!(armholes, [Length::cm(16), Length::cm(26)]);
    let longer = agrees(&rewritten("lengths:\n  armhole: +3 cm\n"));
    assert_eq!(longer[0].armhole, Length::cm(23));
}

#[test]
fn at_its_own_gauge_the_gansey_stays_as_it_is() {
    assert_eq!(rewritten("{}").text, gansey().text);
}
