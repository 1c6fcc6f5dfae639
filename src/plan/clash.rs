//! The words for what cannot be met: the only words `plan` has.

use super::caps::FittedCap;
use super::choose::{Impossible, Way};
use super::crowded::Crowded;
use super::goal::Goal;
use super::lone::Lone;
use crate::diag::{Code, Finding, words};
use crate::measure::round::{Multiple, Toward, to_multiple};
use crate::measure::{Exact, Length, Unit, decimal, exact};
use crate::model::Model;
use crate::plan::setup::KeptSlope;
use crate::source::Span;
use crate::work::check::multiple_words;
use crate::work::ledger::{Because, Trouble, Why};

/// What a requirement asks, as a clause: "k2 p2 rib wants a multiple of 4".
/// `None` for what only bookkeeping asks.
pub(crate) fn asks(because: &Because) -> Option<String> {
    Some(match because {
        Because::Fabric { name, multiple, .. } => {
            format!("{name} wants {}", multiple_words(*multiple))
        }
        Because::Asked { multiple, .. } => {
            format!("the author asks for {}", multiple_words(*multiple))
        }
        Because::Repeat { unit, .. } => {
            format!("a repeat of {} fills its part of the row", words::count(*unit, "stitch"))
        }
        Because::ShapeUneven { per_row, .. } => {
            format!("each shaping row changes {}", words::count(*per_row, "stitch"))
        }
        Because::ShoulderSteps { .. } => {
            "the steps of a shoulder differ by a stitch at most".to_owned()
        }
        Because::NothingLeft { .. } => "the last stitches are bound off".to_owned(),
        Because::Mirror { .. } => "two counts that belong together stay the same".to_owned(),
        Because::EvenTooMuch { .. } => {
            "an even change may at most double or halve the stitches".to_owned()
        }
        Because::Leaves { .. } => "a row works every stitch".to_owned(),
        Because::BeforeMarker { .. } => "a row reaches its marker".to_owned(),
        Because::Stated { .. } => "a count stays as it is written".to_owned(),
        Because::Total { .. } => "the times and the counts agree".to_owned(),
        Because::ShapeRows { rows, .. } => {
            format!("shaping fits into {}", words::count(*rows, "row"))
        }
        Because::Heel { .. } => "a heel turns to more than half of its stitches".to_owned(),
        Because::BeforeTurn { .. } => "a row reaches where the work was turned".to_owned(),
        Because::Takes { .. }
        | Because::PastStart { .. }
        | Because::EvenDirection { .. }
        | Because::ShapeDirection { .. }
        | Because::ShapeTooMuch { .. } => return None,
    })
}

fn clause(why: &Why) -> String {
    asks(&why.because).unwrap_or_else(|| match why.because {
        Because::ShapeDirection { .. } => "shaping goes one way only".to_owned(),
        Because::EvenDirection { .. } => "an even change goes one way only".to_owned(),
        _ => "no more stitches are worked than there are".to_owned(),
    })
}

/// The findings for a size that cannot be planned.
pub(crate) fn findings(
    size: &str,
    model: &Model<'_>,
    goal: &Goal<'_>,
    impossible: &Impossible,
) -> Vec<Finding> {
    let sized = |finding: Finding| {
        if size.is_empty() { finding } else { finding.sizes(vec![size.to_owned()]) }
    };
    match impossible {
        Impossible::Clash { whys, ways, crowded } => {
            let finding = clash(model.units, whys, ways);
            let rows = |why: &Why| match why.because {
                Because::ShapeRows { rows, .. } => Some((why.place, rows)),
                _ => None,
            };
            // Several shapings over the same rows, or one over the rows of a length.
            let short = whys.iter().find_map(rows).and_then(|(place, rows)| {
                let held = held_by(model, place);
                let inside = crowded.iter().filter(|c| held.iter().any(|s| s.contains(c.place)));
                let most = inside.max_by_key(|c| c.rows)?;
                Some(Crowded { room: exact(rows, 1), ..most.clone() })
            });
            let ways = short.and_then(|short| ways_out(model.units, goal, &short));
            vec![sized(ways.into_iter().flatten().fold(finding, Finding::help))]
        }
        Impossible::Lone(lone) => vec![sized(never(model.units, lone))],
        Impossible::TooHard => vec![sized(
            Finding::new(
                Code::Internal,
                Span::at(0),
                "the counts of this size could not be chosen in a reasonable time",
            )
            .help("please report this pattern; meanwhile mark some counts `[fixed]`"),
        )],
        Impossible::Adrift(places) => places
            .iter()
            .map(|&place| {
                sized(
                    Finding::new(
                        Code::UnknownCount,
                        place,
                        "a number is to be worked out and nothing says from what",
                    )
                    .label("from what")
                    .help(
                        "say what it measures, as in `[chest / 2 + ease / 2]`, or write the number; \
                         a band may lie `[lies level]` where it meets its body",
                    ),
                )
            })
            .collect(),
        Impossible::Rows { place, shapings, rows, nearest } => vec![sized(
            Finding::new(
                Code::RowsShort,
                *place,
                format!(
                    "{} do not fit into {}",
                    words::count(*shapings, "shaping row"),
                    words::count(i64::from(*rows), "row")
                ),
            )
            .label("more shaping than rows")
            .help(format!(
                "shape {} in these rows, or give it {}",
                words::count(i64::from(nearest.fewer_shapings), "time"),
                words::count(i64::from(nearest.more_rows.0), "row")
            )),
        )],
        Impossible::Wrong { troubles, crowded } => {
            let one = |(place, trouble): &(Span, Trouble)| {
                let ways = passed(model, goal, *place, trouble, crowded);
                sized(ways.into_iter().fold(wrong(*place, trouble), Finding::help))
            };
            troubles.iter().map(one).collect()
        }
    }
}

/// The two nearest shapes in words, all stitches first.
fn ways_out(units: Unit, goal: &Goal<'_>, crowded: &Crowded) -> Option<[String; 2]> {
    let nearest = crowded.nearest(goal)?;
    Some([
        format!(
            "with every stitch it takes {}, {} more",
            words::count(crowded.rows, "row"),
            nearest.longer.readable(units)
        ),
        format!(
            "in the length it has, shape it {} in place of {}: {} ({}) less",
            words::count(nearest.times, "time"),
            crowded.shapings,
            words::count(nearest.stitches, "stitch"),
            nearest.width.readable(units)
        ),
    ])
}

/// The places of a step and of those it holds.
fn held_by(model: &Model<'_>, place: Span) -> Vec<Span> {
    let mut all = vec![place];
    model.each_step(&mut |_, step| {
        if step.span == place {
            all.extend(step.steps.iter().map(|inner| inner.span));
        }
    });
    all
}

/// Ways out of a length that is passed, by the last shaping before it that lacks rows.
fn passed(
    model: &Model<'_>,
    goal: &Goal<'_>,
    place: Span,
    trouble: &Trouble,
    crowded: &[Crowded],
) -> Vec<String> {
    let Trouble::LengthPassed { by } = trouble else { return Vec::new() };
    let has = |piece: usize| {
        let piece = model.pieces.get(piece);
        piece.is_some_and(|piece| piece.steps.iter().any(|step| step.span.contains(place)))
    };
    let before = crowded.iter().filter(|c| c.place.start < place.start && has(c.piece));
    let way = before.max_by_key(|c| c.place.start).and_then(|last| {
        let rows = goal.gauges.get(last.gauge.0)?.gauge?.rows?.count(*by);
        let short = Crowded { room: exact(last.rows, 1) - rows, ..last.clone() };
        ways_out(model.units, goal, &short)
    });
    way.into_iter().flatten().collect()
}

/// A shaping that takes more length than it had, since it cannot have fewer rows.
pub(crate) fn crowded(
    size: &str,
    model: &Model<'_>,
    goal: &Goal<'_>,
    crowded: &Crowded,
) -> Finding {
    let nearest = crowded.nearest(goal);
    let longer = nearest.map_or(Length::zero(), |nearest| nearest.longer);
    let rows = to_multiple(crowded.room, Multiple::ANY, Toward::Down);
    let finding = Finding::new(
        Code::ShapeLonger,
        crowded.place,
        format!(
            "{} take {} and the length they had comes to {}: this is {} longer",
            words::count(crowded.shapings, "shaping row"),
            words::count(crowded.rows, "row"),
            rows.max(0),
            longer.readable(model.units)
        ),
    )
    .label("longer than it was");
    let ways = ways_out(model.units, goal, crowded);
    let finding = ways.into_iter().flatten().fold(finding, Finding::help);
    if size.is_empty() { finding } else { finding.sizes(vec![size.to_owned()]) }
}

/// A step whose length gave way so that the rows beside it fit.
pub(crate) fn moved(size: &str, units: Unit, &(place, by): &(Span, Length)) -> Finding {
    let readable = by.abs().readable(units);
    let (message, label) = if by.is_positive() {
        (
            format!("this ends {readable} earlier, to leave room for the rows that follow"),
            "shortened",
        )
    } else {
        (format!("this grows by {readable}, since its rows cannot be fewer"), "lengthened")
    };
    let finding = Finding::new(Code::ShapeMoved, place, message)
        .label(label)
        .note("some shapes take a fixed number of rows, and at the new row gauge they are taller")
        .help("draw the shape anew with fewer steps, or change the length under `lengths:` in the targets");
    if size.is_empty() { finding } else { finding.sizes(vec![size.to_owned()]) }
}

/// A shoulder whose steps stay as many, and so slopes over another length.
pub(crate) fn slope_kept(
    size: &str,
    model: &Model<'_>,
    goal: &Goal<'_>,
    slope: &KeptSlope,
) -> Option<Finding> {
    let rows = |rows: u32| exact(i64::from(rows), 1);
    let was = model.gauges.get(slope.gauge.0)?.gauge?.rows?.length(rows(slope.was));
    let now = goal.gauges.get(slope.gauge.0)?.gauge?.rows?.length(rows(slope.now));
    let finding = Finding::new(
        Code::SlopeDiffers,
        slope.place,
        format!(
            "the steps of this slope take {} at this gauge too: it is {} deep and was {}",
            words::count(i64::from(slope.now), "row"),
            now.readable(model.units),
            was.readable(model.units)
        ),
    )
    .label("no fewer rows, and no more")
    .note(if slope.turned {
        "a short row that is written by itself is worked once at any gauge, and turns where it did"
    } else {
        "a step that is written by itself is worked once at any gauge, and so is what is sewn to it"
    })
    .help(if slope.turned {
        "write the rows as one instruction, which takes as many as its depth has: \
         `leave 6 more sts unworked at the end of the next 6 rows`, or at one edge \
         `leave 6 more sts unworked at the end of every RS row 3 times`"
    } else {
        "write steps that follow one another as one instruction, which takes as many rows as its \
         depth has: `bind off 7 at the start of the next 4 rows`, or at one edge \
         `bind off 7 at the start of every RS row 2 times`"
    });
    Some(if size.is_empty() { finding } else { finding.sizes(vec![size.to_owned()]) })
}

/// A cap that no number of rows brings near enough to its armhole.
pub(crate) fn cap_differs(size: &str, model: &Model<'_>, cap: &FittedCap) -> Finding {
    let units = model.units;
    let piece = |piece: usize| model.pieces.get(piece).map(|p| &p.name);
    let (sleeve, body) = (piece(cap.set_in.sleeve), piece(cap.set_in.body));
    let place = sleeve.map_or(Span::at(0), |name| name.span);
    let off = cap.off();
    let way = if off.is_positive() { "longer" } else { "shorter" };
    let finding = Finding::new(
        Code::CapDiffers,
        place,
        format!(
            "the edge of the cap is {} {way} on each side than its armhole asks for",
            off.abs().readable(units)
        ),
    )
    .label("sewn into the armhole")
    .note(format!(
        "the cap has {} and the armhole {}; the pattern gave the cap {} more",
        cap.set_in.cap.readable(units),
        cap.set_in.armhole.readable(units),
        cap.wanted.readable(units)
    ))
    .help(if off.is_positive() {
        "bind off more stitches at the top, or decrease twice as often where the cap is steep"
    } else {
        "decrease fewer stitches in the slope, or make the armhole shallower under `lengths:` in the targets"
    });
    let finding = match body {
        Some(name) => finding.also(name.span, "its armhole"),
        None => finding,
    };
    if size.is_empty() { finding } else { finding.sizes(vec![size.to_owned()]) }
}

fn wrong(place: Span, trouble: &Trouble) -> Finding {
    match trouble {
        Trouble::LengthPassed { by } => Finding::new(
            Code::LengthPassed,
            place,
            format!("at the new gauge the piece is already {by} longer than this"),
        )
        .label("already passed")
        .note("what comes before needs more rows than this length leaves")
        .help("lengthen it under `lengths:` in the targets"),
        other => Finding::new(
            Code::Internal,
            place,
            format!("this step could not be worked with the new counts ({other:?})"),
        )
        .help("please report this pattern"),
    }
}

/// "2.5 stitches too many"
fn too_many(off: Exact) -> String {
    let zero = exact(0, 1);
    let (size, word) = if off < zero { (-off, "few") } else { (off, "many") };
    let noun = if size == exact(1, 1) { "stitch" } else { "stitches" };
    format!("{} {noun} too {word}", decimal(size, 1))
}

/// What no count meets by itself, and the two nearest ways out.
fn never(units: Unit, lone: &Lone) -> Finding {
    let stitches = |n: i64| words::count(n.abs(), "stitch");
    let over =
        format!("{} {}", stitches(lone.over), if lone.over < 0 { "too few" } else { "over" });
    let finding = Finding::new(
        Code::Clash,
        lone.why.place,
        format!("no counts meet this: {}, and here it always has {over}", clause(&lone.why)),
    )
    .label("asked here");
    let cost = |stitches: i64| match lone.width(stitches) {
        Some(width) => format!(" ({})", cost(units, width)),
        None => String::new(),
    };
    let many = |n: i64| format!("{} {}", stitches(n), if n < 0 { "fewer" } else { "more" });
    let ways: Vec<String> = match &lone.why.because {
        Because::Repeat { unit, .. } => {
            let beside = lone
                .beside
                .map(|by| format!("it comes out with {} beside the repeat{}", many(by), cost(by)));
            let repeat = lone.repeat.map(|other| {
                let wider = if other > *unit { "wider" } else { "narrower" };
                let cost = cost(other - unit);
                format!("it comes out with a repeat of {}, each {wider}{cost}", stitches(other))
            });
            beside.into_iter().chain(repeat).collect()
        }
        Because::Fabric { multiple, .. } | Because::Asked { multiple, .. } => {
            let other = lone.beside.map(|by| {
                let plus = (i64::from(multiple.plus()) + by).rem_euclid(i64::from(multiple.of()));
                let other = Multiple::new(multiple.of(), u32::try_from(plus).unwrap_or(0));
                format!(
                    "{} comes out: {} beside the repeats{}",
                    multiple_words(other),
                    many(by),
                    cost(by)
                )
            });
            let above = lone.beside.map(|by| {
                format!("it comes out with {} from the rows above{}", many(-by), cost(by))
            });
            above.into_iter().chain(other).collect()
        }
        _ => [(lone.over, "in this row"), (-lone.over, "from the rows above")]
            .map(|(by, place)| format!("it comes out with {} {place}{}", many(by), cost(by)))
            .into(),
    };
    if ways.is_empty() {
        return finding
            .help("change what stands before or after the repeat, here or in the rows above");
    }
    ways.into_iter().fold(finding, Finding::help)
}

/// A width as what it costs: in centimeters, and in inches where the pattern is.
fn cost(units: Unit, width: Length) -> String {
    let width = width.abs();
    match units {
        Unit::In => format!("{}, {}", width.precise(Unit::Cm), width.precise(units)),
        _ => width.precise(Unit::Cm),
    }
}

fn clash(units: Unit, whys: &[Why], ways: &[Way]) -> Finding {
    let clauses: Vec<String> = {
        let mut all: Vec<String> = whys.iter().map(clause).collect();
        all.dedup();
        all
    };
    let mut places = whys.iter().filter(|w| asks(&w.because).is_some()).map(|w| w.place);
    let first = places.next().or(whys.first().map(|w| w.place));
    let mut finding = Finding::new(
        Code::Clash,
        first.unwrap_or_default(),
        format!("no counts meet all of this: {}", words::list(&clauses, "and")),
    )
    .label("asked here");
    for place in places {
        if finding.labels.iter().all(|label| label.span != place) {
            finding = finding.also(place, "and here");
        }
    }
    for way in ways {
        let let_go = clause(&way.without);
        finding = finding.help(match &way.worst {
            Some((_, off, width)) if *off != exact(0, 1) => format!(
                "without \"{let_go}\" there are counts, the farthest {} from its target ({})",
                too_many(*off),
                cost(units, *width)
            ),
            Some(_) => format!("without \"{let_go}\" there are counts, each on its target"),
            None => format!("without \"{let_go}\" there are counts"),
        });
    }
    if ways.is_empty() {
        finding = finding.help("change one of them, and see what else clashes");
    }
    finding
}
