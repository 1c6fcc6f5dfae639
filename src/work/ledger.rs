//! Who keeps count: what a number of the pattern is, and what becomes of a need.

use super::trace::Visit;
use crate::measure::round::Multiple;
use crate::measure::{Density, Length, Linear};
use crate::model::GaugeId;
use crate::source::Span;
use crate::syntax::tree::{Counts, Lengths, Schedule, Step};

/// Why the walk of a step ends early.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Halt {
    /// This size skips it (`-`).
    Skip,
    /// Something is wrong and has been noted; the count is lost.
    Lost,
}

/// What a number in the pattern is for; decides whether a rewrite may change it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Use {
    /// Stitches cast on at the start of a piece, or picked up: spans the piece.
    CastOn,
    /// Stitches cast on beside or between others.
    CastOnMore,
    /// The count an even change leads to.
    EvenTo,
    /// The number an even change changes by.
    EvenBy,
    /// The count a shaping leads to.
    ShapeTo,
    /// The count wedges lead to.
    WedgesTo,
    /// Stitches bound off at an edge.
    BindOff,
    /// The rows in which they are.
    BindOffRows,
    /// A live number in a row.
    Live,
    /// A number that belongs to the structure and stays.
    Structure,
}

/// What must hold.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Need {
    /// It is nothing.
    Zero(Linear),
    /// It is nothing or more.
    NotNegative(Linear),
    /// It is one of these numbers.
    Multiple(Linear, Multiple),
}

/// Why it must hold: where, and what a message needs to say.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Why {
    pub(crate) place: Span,
    pub(crate) because: Because,
}

/// The reasons a need can have.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Because {
    /// A row (or a step) takes more stitches than there are.
    Takes { takes: Linear, has: Linear },
    /// Short rows in the round take more stitches than there are before its start.
    PastStart { takes: Linear, has: Linear },
    /// A row leaves stitches unworked.
    Leaves { left: Linear },
    /// Stitches between here and where the work was turned.
    BeforeTurn { left: Linear },
    /// Stitches between here and the marker.
    BeforeMarker { left: Linear },
    /// A repeat does not divide what there is for it.
    Repeat { unit: i64, room: Linear },
    /// A fabric asks for a multiple.
    Fabric { name: String, multiple: Multiple, has: Linear },
    /// The author asks for a multiple.
    Asked { multiple: Multiple, has: Linear },
    /// A stated count differs.
    Stated { said: Linear, has: Linear },
    /// Two numbers for one total differ.
    Total { said: Linear, is: Linear },
    /// An even change goes the other way.
    EvenDirection { from: Linear, to: Linear, up: bool },
    /// An even change more than doubles or halves.
    EvenTooMuch { from: Linear, to: Linear },
    /// Shaping does not come out at the count said.
    ShapeUneven { per_row: i64, difference: Linear },
    /// Shaping goes the other way than the count said.
    ShapeDirection { difference: Linear },
    /// Shaping takes away more stitches than there are.
    ShapeTooMuch { left: Linear },
    /// Shaping rows do not fit into the rows there are.
    ShapeRows { shapings: Linear, rows: i64 },
    /// A heel flap cannot be turned to so many stitches.
    Heel { flap: Linear, left: Linear },
    /// The steps of a shoulder are as equal as they can be.
    ShoulderSteps { one: Linear, other: Linear },
    /// The last of the stitches are bound off, as they were.
    NothingLeft { left: Linear },
    /// Two live numbers of one row mirror each other.
    Mirror { one: Linear, other: Linear },
}

/// What a ledger needs to know to plan a run of rows.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Run {
    /// The gauge in work.
    pub(crate) gauge: Option<GaugeId>,
    /// Rows to a whole repeat of what is repeated.
    pub(crate) block: u32,
    /// Rows of it that have been worked already and count.
    pub(crate) already: u32,
    /// Whether the number of rows must stay odd or even.
    pub(crate) keep_parity: bool,
}

/// A shaping schedule as planned: how often, over how many rows.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Planned {
    /// How many shaping rows.
    pub(crate) shapings: Linear,
    /// Over how many rows in all; `None` where it is not known.
    pub(crate) rows: Option<u32>,
}

/// Keeps count for a walk over one size.
pub(crate) trait Ledger {
    /// What a number is in this size.
    fn number(&mut self, counts: &Counts, purpose: Use, step: &Step) -> Result<Linear, Halt>;

    /// What a length is in this size.
    fn length(&mut self, lengths: &Lengths, step: &Step) -> Result<Length, Halt>;

    /// How many rows there are to a length in a gauge.
    fn row_density(&mut self, gauge: GaugeId) -> Option<Density>;

    /// How many rows a written number of rows (or of repeats of a block) becomes.
    fn rows(&mut self, counts: &Counts, run: Run, step: &Step) -> Result<u32, Halt>;

    /// What a shaping schedule comes to; `room` is the change of count it must make, where said.
    fn schedule(
        &mut self,
        schedule: &Schedule,
        literal: Option<Planned>,
        gauge: Option<GaugeId>,
        step: &Step,
    ) -> Result<Planned, Halt>;

    /// States what must hold.
    fn need(&mut self, need: Need, why: &Why) -> Result<(), Halt>;

    /// The whole number of times that `unit` goes into `amount`, which must divide.
    fn divide(&mut self, amount: &Linear, unit: i64, why: &Why) -> Result<Linear, Halt>;

    /// A count the author states after a step, beside the one that is there.
    fn stated(&mut self, said: &Counts, has: &Linear, step: &Step) -> Result<(), Halt>;

    /// Which of several multiples a fabric is to keep: the one the author's count has.
    fn choose(&mut self, amount: &Linear, options: &[Multiple], step: &Step) -> Multiple;

    /// How many times rows that change the count by `change` each time are repeated.
    fn shaping_repeats(
        &mut self,
        counts: &Counts,
        change: Option<i64>,
        run: Run,
        step: &Step,
    ) -> Result<Linear, Halt>;

    /// How many times short rows that take no stitch of `has` are repeated.
    fn short_row_repeats(
        &mut self,
        counts: &Counts,
        has: &Linear,
        run: Run,
        step: &Step,
    ) -> Result<Linear, Halt>;

    /// By how many stitches the rows that are about to be repeated change the count each time.
    fn each_repeat(&mut self, _change: i64) {}

    /// A likely value of a count not chosen yet, for reckoning rows.
    fn guess(&mut self, amount: &Linear) -> i64;

    /// A step has been worked.
    fn visited(&mut self, _: &Visit, _: &Step) {}

    /// Something wrong that is not a matter of counts.
    fn wrong(&mut self, place: Span, trouble: Trouble) -> Halt;

    /// Something worth telling that does not stop the walk.
    fn tell(&mut self, place: Span, trouble: Trouble);
}

/// What can be wrong beside the counts.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Trouble {
    /// The needle is empty.
    NothingOnNeedle,
    /// A marker is asked for that is not there.
    NoMarker,
    /// Rows `first` to `last` are asked for and never written.
    NoSuchRow(u32),
    /// A row named RS falls on the WS, or the other way round.
    WrongSide { said_right: bool },
    /// The piece is already longer than it should become; by so much.
    LengthPassed { by: Length },
    /// Stitches of this name were never held.
    NeverHeld(String),
    /// A repeat that takes no stitches would never end.
    EmptyRepeat,
    /// There is no gap between two groups here.
    NoGap,
    /// `to gap`, and the work was not turned before.
    NotTurned,
    /// `repeat row A`, and no row has that name; the names there are.
    NoRowNamed(String, Vec<String>),
    /// Ends with another row of the pattern than is said.
    WrongRow { said: u32, is: u32, of: u32 },
    /// There is no pattern of so many rows here.
    NoPatternRow(u32),
    /// The piece ends with stitches on the needle.
    StitchesLeft(i64),
    /// A measurement begins at a step that has not been worked yet.
    NotBegun(String),
    /// `3 for every 4 rows` without the count it comes to.
    RatioAlone,
    /// The stitches of a piece that others are worked like were not found.
    NotWorkedBefore(String),
    /// A stitch not in the table (reported by the parser already).
    UnknownStitch,
}
