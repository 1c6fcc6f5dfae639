//! What is told of a need that does not hold, and of what is wrong beside the counts.

use super::super::ledger::{Because, Trouble};
use crate::diag::{Code, words};
use crate::measure::round::Multiple;
use crate::measure::{Given, Linear, SizeId, Unit};
use crate::syntax::tree::{Action, Change, Extent, ShapePlace, Step};

/// Code, message, label and help.
pub(super) type Words = (Code, String, String, String);

/// The words for what is wrong beside the counts; none where the parser has said so already.
pub(super) fn trouble(trouble: Trouble, units: Unit) -> Option<Words> {
    Some(match trouble {
        Trouble::NothingOnNeedle => (
            Code::NothingOnNeedle,
            "there are no stitches to work".to_owned(),
            "the needle is empty here".to_owned(),
            "cast on, pick up or take up stitches before this step".to_owned(),
        ),
        Trouble::NoMarker => (
            Code::MarkerMissing,
            "there is no such marker here".to_owned(),
            "asks for a marker".to_owned(),
            "place it in an earlier row with `pm`, or name the marker that is next".to_owned(),
        ),
        Trouble::NoSuchRow(0) => (
            Code::UnknownName,
            "fewer rows have been worked than are to be repeated".to_owned(),
            "repeats rows that are not there".to_owned(),
            "name the rows by their numbers, or repeat fewer".to_owned(),
        ),
        Trouble::NoSuchRow(number) => (
            Code::UnknownName,
            format!("row {number} has not been written before this step"),
            format!("repeats row {number}"),
            "write the row above, or correct the numbers".to_owned(),
        ),
        Trouble::WrongSide { said_right } => {
            let (said, is) = if said_right { ("right", "wrong") } else { ("wrong", "right") };
            (
                Code::WrongSide,
                format!("this row falls on the {is} side, not the {said} side"),
                format!("falls on the {is} side"),
                "work one row more or fewer before it, or correct the side".to_owned(),
            )
        }
        Trouble::LengthPassed { by } => (
            Code::LengthPassed,
            format!(
                "the piece is already {} longer than this",
                by.readable(if units == Unit::In { Unit::In } else { Unit::Cm })
            ),
            "already passed".to_owned(),
            "lengthen this measurement, or shorten what comes before".to_owned(),
        ),
        Trouble::NeverHeld(name) => (
            Code::HeldMissing,
            format!("no stitches are held as `{name}`"),
            "never held, or taken up already".to_owned(),
            format!("hold them first, as in `hold all as {name}`"),
        ),
        Trouble::EmptyRepeat => (
            Code::RepeatUneven,
            "a repeat that takes no fixed number of stitches cannot be counted".to_owned(),
            "this repeat".to_owned(),
            "write stitches with fixed numbers between the asterisks".to_owned(),
        ),
        Trouble::NoGap => (
            Code::HeldMissing,
            "there is no gap to cast on over".to_owned(),
            "no gap here".to_owned(),
            "bind off stitches in the middle of a row first".to_owned(),
        ),
        Trouble::NotTurned => (
            Code::MarkerMissing,
            "the work has not been turned before this row, so there is no gap to work to"
                .to_owned(),
            "no gap here".to_owned(),
            "say how many stitches to work, or work to a marker".to_owned(),
        ),
        Trouble::NoRowNamed(name, names) => (
            Code::UnknownName,
            format!("no row named `{name}` has been written before this step"),
            "not written yet".to_owned(),
            match names.as_slice() {
                [] => {
                    format!("write it above with its name, as in `{}: ...`", row_called(&name))
                }
                names => {
                    let names: Vec<String> =
                        names.iter().map(|n| format!("`{}`", row_called(n))).collect();
                    format!("the rows with a name above are {}", words::list(&names, "and"))
                }
            },
        ),
        Trouble::WrongRow { said, is, of } => (
            Code::WrongRow,
            format!("this ends with row {is} of the pattern's {of}, not with row {said}"),
            format!("ends with row {is}"),
            "work more or fewer rows, or correct the row".to_owned(),
        ),
        Trouble::NoPatternRow(row) => (
            Code::UnknownName,
            format!("there is no row {row} of a pattern here"),
            "which pattern?".to_owned(),
            "name a fabric that has so many rows, or say on which side to end".to_owned(),
        ),
        Trouble::StitchesLeft(n) => (
            Code::StitchesLeft,
            format!("the piece ends with {} still on the needle", words::count(n, "stitch")),
            "never bound off".to_owned(),
            "bind off, draw through, or hold the stitches".to_owned(),
        ),
        Trouble::NotWorkedBefore(name) => (
            Code::UnknownName,
            format!("`{name}` has not been worked before this step"),
            "not worked yet".to_owned(),
            "put it earlier in the pattern".to_owned(),
        ),
        Trouble::NotBegun(name) => (
            Code::UnknownName,
            format!("nothing before this step starts `{name}`"),
            "measured from here on".to_owned(),
            format!("mark the step where it begins with `[starts {name}]`"),
        ),
        Trouble::RatioAlone => (
            Code::UnknownCount,
            "a ratio alone does not tell the number of stitches".to_owned(),
            "how many in all".to_owned(),
            "state the count at the end, as in `(80 sts)`".to_owned(),
        ),
        // The parser has said so already.
        Trouble::UnknownStitch => return None,
    })
}

/// How a row of that name is called.
fn row_called(name: &str) -> String {
    if name.len() == 1 { format!("row {}", name.to_uppercase()) } else { format!("{name} row") }
}

/// "8 times" and "8 more times" are one shaping row apart: says so where that is all.
pub(super) fn once_more(step: &Step, off: i64, each_repeat: i64) -> Option<String> {
    let repeats = matches!(
        step.action,
        Action::RepeatAt { .. } | Action::Repeat { extent: Extent::Times { .. }, .. }
    );
    if repeats && off != 0 && off.abs() == each_repeat.abs() {
        let one = if off == each_repeat { "more" } else { "fewer" };
        return Some(format!(
            "one repeat {one} would make it: the rows above are worked once already, and a repeat comes on top"
        ));
    }
    let Action::Shape { change, each, place, schedule } = &step.action else { return None };
    let ends = match place {
        ShapePlace::EachEnd => 2,
        ShapePlace::AtMarkers | ShapePlace::EachSideOfMarkers => return None,
        _ => 1,
    };
    let one = i64::from(*each.given.get(SizeId(0))?) * ends;
    let more = if *change == Change::Increase { off } else { -off };
    let last = schedule.rates.iter().rev().find_map(|rate| rate.times.as_ref())?;
    match (more, &last.given) {
        (m, Given::Same(n)) if m == one => Some(format!(
            "one shaping row more would make it: `{n} more times` after a first are {} in all",
            n + 1
        )),
        (m, _) if m == one => Some("one shaping row more would make it".to_owned()),
        (m, _) if m == -one => Some("one shaping row fewer would make it".to_owned()),
        _ => None,
    }
}

pub(super) fn n(amount: &Linear) -> i64 {
    amount.known().unwrap_or(0)
}

fn sts(amount: &Linear) -> String {
    words::count(n(amount), "stitch")
}

/// How a multiple is said: "a multiple of 12 plus 3".
pub(crate) fn multiple_words(multiple: Multiple) -> String {
    match multiple.plus() {
        0 => format!("a multiple of {}", multiple.of()),
        plus => format!("a multiple of {} plus {plus}", multiple.of()),
    }
}

fn neighbours(multiple: Multiple, has: i64) -> String {
    let (of, plus) = (i64::from(multiple.of()), i64::from(multiple.plus()));
    let below = has - (has - plus).rem_euclid(of);
    if below > 0 { format!("{below} or {}", below + of) } else { format!("{}", below + of) }
}

/// The words for a need that does not hold: code, message, label, help.
pub(super) fn wording(because: &Because) -> Words {
    match because {
        Because::Takes { takes, has } => (
            Code::RowShort,
            format!("this needs {} and there are {}", sts(takes), n(has)),
            format!("runs out {} short", n(takes) - n(has)),
            "take stitches out of the row, or correct the count before it".to_owned(),
        ),
        Because::PastStart { takes, has } => (
            Code::RowShort,
            format!("this needs {} and there are {} before the start of the round", sts(takes), n(has)),
            "short rows go past the start of the round".to_owned(),
            "let the round begin elsewhere, so that all short rows lie between its start and its end"
                .to_owned(),
        ),
        Because::BeforeTurn { left } => (
            Code::RowShort,
            format!("the turn comes {} too early", sts(&Linear::number(-n(left)))),
            "reaches past the turn".to_owned(),
            "repeat the short rows before it less often: they leave nothing in the middle"
                .to_owned(),
        ),
        Because::Leaves { left } => (
            Code::RowLong,
            format!("the row leaves {} unworked", sts(left)),
            format!("{} left over", n(left)),
            "work the rest (`k to end`), or correct the count before the row".to_owned(),
        ),
        Because::BeforeMarker { left } if n(left) < 0 => (
            Code::RowShort,
            format!("the marker comes {} too early", sts(&Linear::number(-n(left)))),
            "reaches past the marker".to_owned(),
            "take stitches out before the marker, or place it later".to_owned(),
        ),
        Because::BeforeMarker { left } => (
            Code::RowLong,
            format!(
                "{} {} left before the marker",
                sts(left),
                if n(left) == 1 { "is" } else { "are" }
            ),
            format!("{} left over", n(left)),
            "work to the marker (`k to marker`) before slipping it".to_owned(),
        ),
        Because::Repeat { unit, room } => {
            let over = n(room).rem_euclid(*unit);
            (
                Code::RepeatUneven,
                format!(
                    "a repeat of {} does not divide {}: {} over",
                    words::count(*unit, "stitch"),
                    sts(room),
                    over
                ),
                format!("{} times leaves {over}", n(room).div_euclid(*unit)),
                format!(
                    "change the stitches outside the repeat, or the count by {over} fewer or {} more",
                    unit - over
                ),
            )
        }
        Because::Fabric { name, multiple, has } => (
            Code::RepeatUneven,
            format!("{name} needs {} and there are {}", multiple_words(*multiple), sts(has)),
            format!("not over {}", n(has)),
            format!("change the count to {}", neighbours(*multiple, n(has))),
        ),
        Because::Asked { multiple, has } => (
            Code::RepeatUneven,
            format!("the count should be {} and is {}", multiple_words(*multiple), n(has)),
            "asked for here".to_owned(),
            format!("change the count to {}", neighbours(*multiple, n(has))),
        ),
        Because::Stated { said, has } => (
            Code::CountDiffers,
            format!("{} stated, but there are {}", sts(said), n(has)),
            format!("there are {}", n(has)),
            "correct this count, or what comes before it".to_owned(),
        ),
        Because::Total { said, is } => (
            Code::TotalDiffers,
            format!("{} said, but the counts make {}", times(said), times(is)),
            format!("should come to {}", n(is)),
            "correct the number of times, or the count it leads to".to_owned(),
        ),
        Because::EvenDirection { from, to, up } => (
            Code::CountDiffers,
            format!(
                "{} from {} to {} goes the other way",
                if *up { "an increase" } else { "a decrease" },
                n(from),
                n(to)
            ),
            format!("there are {}", n(from)),
            format!(
                "write `{}`, or correct one of the counts",
                if *up { "decrease evenly" } else { "increase evenly" }
            ),
        ),
        Because::EvenTooMuch { from, to } => (
            Code::EvenTooMuch,
            format!("{} cannot become {} in so few rows", sts(from), n(to)),
            "more than twice or less than half".to_owned(),
            "spread the change with `over 2 rows`, or correct one of the counts".to_owned(),
        ),
        Because::ShapeUneven { per_row, difference } => (
            Code::TotalDiffers,
            format!(
                "a change of {} does not divide by the {per_row} of each shaping row",
                sts(difference)
            ),
            format!("{} over", n(difference).rem_euclid((*per_row).max(1))),
            "change the count this leads to, or the one before".to_owned(),
        ),
        Because::ShapeDirection { difference } => (
            Code::CountDiffers,
            format!("the count would have to go the other way by {}", -n(difference)),
            "goes the other way".to_owned(),
            "correct this count, or the word `increase` or `decrease`".to_owned(),
        ),
        Because::ShapeTooMuch { left } => (
            Code::RowShort,
            format!("the shaping takes {} more than there are", sts(&Linear::number(-n(left)))),
            "more than there are".to_owned(),
            "shape fewer times, or correct the count before".to_owned(),
        ),
        Because::Heel { flap, left } => (
            Code::CountDiffers,
            format!("a heel of {} cannot be turned to {}", sts(flap), n(left)),
            "turned to this".to_owned(),
            format!(
                "it turns to as few as {} and as many as {}",
                (n(flap) + 2) / 2,
                n(flap).saturating_sub(2)
            ),
        ),
        Because::ShapeRows { shapings, rows } => (
            Code::RowsShort,
            format!("the shaping needs {} and there are {rows}", words::count(n(shapings), "row")),
            format!("{} short", words::count(n(shapings) - rows, "row")),
            "shape oftener or fewer times, or lengthen the piece".to_owned(),
        ),
        Because::ShoulderSteps { one, other } => (
            Code::MirrorDiffers,
            format!("the steps of a shoulder have {} and {}", n(one), n(other)),
            "more than a stitch apart".to_owned(),
            "bind off as many in each".to_owned(),
        ),
        Because::NothingLeft { left } => (
            Code::StitchesLeft,
            format!("{} are left", words::count(n(left), "stitch")),
            "never bound off".to_owned(),
            "bind off as many as there are".to_owned(),
        ),
        Because::Mirror { one, other } => (
            Code::MirrorDiffers,
            format!("one side has {} and the other {}", n(one), n(other)),
            "the two sides differ".to_owned(),
            "make the two numbers the same".to_owned(),
        ),
    }
}

fn times(amount: &Linear) -> String {
    words::count(n(amount), "time")
}
