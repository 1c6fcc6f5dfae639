//! The syntax tree of a pattern.
//!
//! Every node carries the bytes it was written with, so that a rewrite can be
//! a list of edits and leave all other bytes alone.

use super::front::Front;
use crate::measure::{Exact, Given, Length, SizeId, Unit};
use crate::source::{Span, Spanned};

/// A whole pattern file.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Document {
    /// The YAML between the two `---` lines.
    pub front: Front,
    /// Everything after it: what precedes the first `##` heading, then one a heading.
    pub sections: Vec<Section>,
}

/// A `##` heading and what stands under it (or what precedes the first).
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Section {
    /// The heading line, where there is one.
    pub heading: Option<Heading>,
    /// What the heading makes of the section.
    pub kind: SectionKind,
    /// Prose and lists of steps, in order. In a prose section everything is prose.
    pub blocks: Vec<Block>,
    /// From the heading to the next.
    pub span: Span,
}

/// A heading of any level.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Heading {
    /// 1 for `#`.
    pub level: u8,
    /// The words, without the marks.
    pub text: Spanned<String>,
    /// The whole line.
    pub span: Span,
}

/// What a section is, told by the end of its heading.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum SectionKind {
    /// `## Finishing`: words only.
    Prose,
    /// `## Sleeve, flat, make 2`: list items are instructions.
    Piece(PieceHeading),
    /// `## Lattice, fabric`: list items are the rows of a fabric.
    Fabric(Spanned<String>),
}

/// `## Sleeve, flat, make 2`
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct PieceHeading {
    /// `Sleeve`
    pub name: Spanned<String>,
    /// `flat` or `in the round`
    pub setting: Spanned<Setting>,
    /// `make 2`; 1 where it does not say.
    pub copies: Spanned<u32>,
}

/// How a piece is worked.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Setting {
    /// Back and forth, in rows.
    Flat,
    /// In the round, in rounds.
    Round,
}

/// A side of the work.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Side {
    /// Right side.
    Right,
    /// Wrong side.
    Wrong,
}

impl Side {
    /// The side that is turned to when this one is done.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Right => Self::Wrong,
            Self::Wrong => Self::Right,
        }
    }
}

/// A block of a section.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Block {
    /// A `###` (or deeper) heading, or the `#` title.
    Heading(Heading),
    /// Anything the author wrote for people: paragraphs, quotes, tables, lists in a prose section.
    Prose(Prose),
    /// A list of instructions.
    Steps(Vec<Step>),
}

/// The author's own words, kept to the byte.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Prose {
    /// The whole block.
    pub span: Span,
    /// The live numbers in it, in order.
    pub live: Vec<Live>,
}

/// `{96 (104, 112)}`, `{20 cm}` or `{brim}` in prose.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Live {
    /// With its braces.
    pub span: Span,
    /// What stands in the braces.
    pub value: LiveValue,
}

/// What a live number in prose is.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum LiveValue {
    /// A count; it follows the count of the same piece that has the same values.
    Counts(Counts),
    /// A length.
    Lengths(Lengths),
    /// A count named by `[as ...]` elsewhere.
    Name(Spanned<String>),
}

/// A whole number as the author wrote it for a range of sizes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Counts {
    /// Where: the numbers alone, without braces or unit.
    pub span: Span,
    /// The values.
    pub given: Given<u32>,
    /// Written in braces: it may change in a rewrite even inside a row.
    pub live: bool,
}

/// A length as the author wrote it for a range of sizes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Lengths {
    /// Where: numbers and unit.
    pub span: Span,
    /// The numbers alone.
    pub numbers: Span,
    /// The values.
    pub given: Given<Length>,
    /// The unit they were written in.
    pub unit: Unit,
    /// The same again in a second unit: `38 cm / 15 in`.
    pub also: Option<Box<Lengths>>,
}

/// One list item: an instruction.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Step {
    /// The item's own text, without bullet and nested list.
    pub span: Span,
    /// `sizes large and small only:`; empty for all.
    pub only: Vec<Spanned<String>>,
    /// `with the smaller needles,`: words before the instruction, or after its label.
    pub lead: Option<Span>,
    /// `with right side facing,` before it: the side of the row that comes next.
    pub facing: Option<Spanned<Side>>,
    /// `with CC,` before it or `in CC` after it: the color that is on the needles from here.
    pub color: Option<Spanned<String>>,
    /// What to do.
    pub action: Action,
    /// `, ending with a WS row`, `, ending with row 4`
    pub ending: Option<Spanned<Ending>>,
    /// `(88 (96, 104) sts)` at the end: the count the author says there is afterwards.
    pub stated: Option<Counts>,
    /// `[head + ease]`, `[fixed]`, ... at the end.
    pub marks: Vec<Spanned<Mark>>,
    /// What follows a `;`: the author's words, kept.
    pub remark: Option<Prose>,
    /// How it goes on from the instruction before it in the same list item; `None` where it
    /// begins one.
    pub link: Option<Link>,
    /// The nested list, of a [`Action::Part`] or [`Action::Together`].
    pub steps: Vec<Step>,
}

/// What stands between two instructions of one list item.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Link {
    /// From the end of the one to the beginning of the other: blank space, or `, then `.
    pub span: Span,
    /// The other has no verb, and goes by that of the one: `bind off 4 ..., then 3 ...`.
    pub verbless: bool,
}

/// What a step does.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Action {
    /// `cast on 96 in brim`, `cast on 26 at the end of the next 2 rows`, `cast on 28 over the gap`
    CastOn {
        /// How many.
        count: Counts,
        /// The gauge (by name) they are worked at from here.
        gauge: Option<Spanned<String>>,
        /// Where.
        place: CastOnPlace,
    },
    /// `join in the round`
    JoinRound,
    /// `work flat`, `work back and forth`
    WorkFlat,
    /// `change to body`, `change to CC`
    ChangeTo(Spanned<String>),
    /// `stripes: 4 rows MC, 2 rows CC`: from the next row on, over and over.
    Stripes(Vec<Stripe>),
    /// `stockinette until 13 cm from cast on`; `work even for 4 rows` (no fabric: as established)
    Work {
        /// Which fabric; `None` keeps the one in work.
        fabric: Option<FabricName>,
        /// How far.
        extent: Extent,
    },
    /// `row 1 (RS): *k2, p2; rep from *`, `k{24}, bind off {38}, k{24}`
    Row {
        /// `row 1 (RS):`; `None` for a bare row: the next one.
        label: Option<RowLabel>,
        /// The stitches.
        items: Vec<Item>,
    },
    /// `row 5: as row 1`, `rows 5-8: repeat rows 1-4`
    SameRows {
        /// Which rows these are.
        label: RowLabel,
        /// The rows they are worked like.
        rows: RowRange,
    },
    /// `repeat rows 1-2 for 6 cm`, `repeat the last 2 rows 3 more times`
    Repeat {
        /// Which rows.
        rows: WhichRows,
        /// How far.
        extent: Extent,
    },
    /// `repeat the decrease row every 4th row 5 more times`, with plain rows between
    RepeatAt {
        /// Which row.
        row: WhichRows,
        /// When.
        schedule: Schedule,
    },
    /// `decrease evenly to 88`, `increase 12 evenly`
    Even {
        /// Up or down.
        change: Change,
        /// To a count or by a number.
        amount: Amount,
        /// `over 3 rows`; one row where it does not say.
        over: Option<Counts>,
        /// `purl 1 row, decreasing 6 sts evenly`: how the row is worked.
        row: Option<EvenRow>,
    },
    /// `decrease 1 each end every RS row 5 times`
    Shape {
        /// Up or down.
        change: Change,
        /// How many at each place.
        each: Counts,
        /// Where in the row.
        place: ShapePlace,
        /// When.
        schedule: Schedule,
    },
    /// `decrease in 8 wedges every 2nd round to 8`
    Wedges {
        /// Up or down.
        change: Change,
        /// How many wedges; each shaping round changes one stitch in each.
        wedges: Counts,
        /// When; its `until` holds the last count.
        schedule: Schedule,
    },
    /// `turn the heel to 16`: short rows over the stitches in work, each of which takes
    /// in one across the gap, until none waits and so many are left.
    TurnHeel {
        /// How many are left.
        to: Counts,
    },
    /// `leave 6 more unworked at the end of the next 6 rows`: short rows, each of which turns so
    /// many stitches before the one that turned there last.
    ShortRows {
        /// How many more at each turn.
        count: Counts,
        /// In how many rows.
        rows: Counts,
        /// In which.
        which: EdgeRows,
    },
    /// `bind off 6 at the start of the next 2 rows`, `bind off all`
    BindOff {
        /// How many.
        amount: BindOff,
    },
    /// `hold all as left shoulder`
    Hold {
        /// Under which name.
        name: Option<Spanned<String>>,
    },
    /// `take up left sleeve, body, right sleeve`: held stitches, on one needle in this order.
    TakeUp(Vec<Spanned<String>>),
    /// `pick up 80 (84) along the neck`, `pick up 3 for every 4 rows along the front edge`
    PickUp {
        /// How many.
        amount: PickUp,
        /// Along what, in the author's words.
        along: Option<Spanned<String>>,
    },
    /// `left shoulder:` and a nested list; `each side:`
    Part {
        /// The name.
        name: Spanned<String>,
        /// Every group of stitches in turn (`each ...:`), not the next one only.
        each: bool,
    },
    /// `right shoulder: reverse left shoulder`
    Reverse {
        /// The part worked.
        name: Spanned<String>,
        /// The part mirrored; `None` for the one before.
        of: Option<Spanned<String>>,
    },
    /// `at the same time:` and a nested list
    Together,
    /// `work as for back`, `work as for back to armhole`, `work as for left front, reversing all shaping`
    AsFor {
        /// The piece.
        piece: Spanned<String>,
        /// Up to (not including) the step that starts this.
        to: Option<Spanned<String>>,
        /// As its mirror image.
        reversed: bool,
    },
    /// `break yarn and draw through`, `graft`: takes all stitches off the needle.
    Close(CloseWith),
    /// `note: ...`, `sew ...`, `break yarn`: changes no count.
    Say,
}

impl Action {
    /// The label of a row, where it has one.
    #[must_use]
    pub const fn label(&self) -> Option<&RowLabel> {
        match self {
            Self::Row { label, .. } => label.as_ref(),
            Self::SameRows { label, .. } => Some(label),
            _ => None,
        }
    }
}

/// `4 rows MC`
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Stripe {
    /// How many rows.
    pub rows: Counts,
    /// Of which color.
    pub color: Spanned<String>,
}

/// Up or down.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Change {
    /// More stitches.
    Increase,
    /// Fewer stitches.
    Decrease,
    /// `increase or decrease`: some sizes go one way, some the other (even changes only).
    Either,
}

/// Where stitches are cast on.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum CastOnPlace {
    /// `cast on 96`: a fresh needle, or more at the end of the row in work.
    Here,
    /// `at the start of the next 2 rows`
    StartOfNext(Counts),
    /// `at the end of the next 2 rows`
    EndOfNext(Counts),
    /// `over the gap`: between the two groups that a bind-off left.
    OverGap,
}

/// How much an even change changes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Amount {
    /// `evenly to 88`
    To(Counts),
    /// `evenly by 8`, `8 evenly`
    By(Counts),
}

/// Which stitches are bound off.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum BindOff {
    /// `bind off all`, `bind off all 24 (28) sts`
    All(Option<Counts>),
    /// `bind off 6 at the start of the next 2 rows`, `bind off 6 at the start of every RS row twice`
    StartOfNext {
        /// How many in each row.
        count: Counts,
        /// In how many rows.
        rows: Counts,
        /// In which.
        which: EdgeRows,
    },
}

/// The row over which stitches are increased or decreased evenly, where it is said; its words
/// are the lead of the step.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum EvenRow {
    /// `knit 1 row, `
    Knit,
    /// `next row (WS): purl, `
    Purl,
    /// `work 1 row, `
    Pattern,
}

/// The rows in which stitches are bound off at the start.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum EdgeRows {
    /// `the next 4 rows`: each of them, so that both edges come in turn.
    Next,
    /// `every RS row twice`: every second row, so that one edge is bound off, with a plain row
    /// after each. The side is that of its first row, where it is said.
    EverySecond(Option<Side>),
}

/// How many stitches are picked up.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum PickUp {
    /// `pick up 80 (84)`
    Count(Counts),
    /// `pick up 3 for every 4 rows`, with the count it comes to where stated.
    Ratio {
        /// Stitches.
        stitches: u32,
        /// For every so many rows.
        rows: u32,
    },
}

/// What takes the stitches off the needle.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum CloseWith {
    /// `break yarn and draw through`
    DrawThrough,
    /// `graft`
    Graft,
    /// `three-needle bind off`
    ThreeNeedle,
}

/// A fabric by its name.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct FabricName {
    /// Where.
    pub span: Span,
    /// Which.
    pub kind: FabricKind,
    /// `with 5 sts in garter at each side`
    pub edges: Option<Edges>,
}

/// Stitches at both sides that are worked in another fabric.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Edges {
    /// How many at each side.
    pub stitches: u32,
    /// Their fabric.
    pub kind: FabricKind,
}

impl FabricName {
    /// The stitches at both sides that the fabric is not worked over.
    #[must_use]
    pub fn at_edges(&self) -> i64 {
        self.edges.as_ref().map_or(0, |edges| 2 * i64::from(edges.stitches))
    }
}

/// The fabrics with a name of their own, and the author's.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum FabricKind {
    /// Stockinette.
    Stockinette,
    /// Reverse stockinette.
    ReverseStockinette,
    /// Garter.
    Garter,
    /// Seed (moss, in UK words).
    Seed,
    /// `k2 p2 rib`: knit stitches, purl stitches.
    Rib(u32, u32),
    /// One the author defines under a heading.
    Named(String),
}

/// How far a run of rows goes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Extent {
    /// `for 6 rows`
    Rows(Counts),
    /// `for 3 ridges`: of two rows each, as garter has them.
    Ridges(Counts),
    /// `for 5 cm`
    Length(Lengths),
    /// `until 13 cm from cast on`, `until armhole measures 20 cm`
    Until {
        /// What it must measure.
        length: Lengths,
        /// From where.
        from: Spanned<From>,
    },
    /// `6 times`, `6 more times`
    Times {
        /// How many.
        count: Counts,
        /// On top of the rows worked already.
        more: bool,
    },
    /// `until 40 sts remain`
    UntilCount(Counts),
    /// Nothing said: once.
    Once,
}

/// What the last row is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Ending {
    /// `ending with a WS row`
    Side(Side),
    /// `ending with row 4 of the pattern`
    Row(u32),
}

/// Where a measurement begins.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum From {
    /// `from cast on`, `piece measures`, `from the beginning`
    CastOn,
    /// `armhole measures`, `from armhole`, `from brim`: a step's `[starts ...]`, a gauge, or `armhole`.
    Named(String),
}

/// When shaping rows come.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Schedule {
    /// The words that say when: all rates, without `to 8`.
    pub span: Span,
    /// `every 4th row 6 times`, in order.
    pub rates: Vec<Rate>,
    /// `to 8`, `until 40 sts remain`
    pub until: Option<Counts>,
}

/// `every 4th row 6 times`
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Rate {
    /// Where.
    pub span: Span,
    /// How often.
    pub every: Every,
    /// How many times; `None` as far as needed.
    pub times: Option<Counts>,
    /// `6 more times`
    pub more: bool,
}

/// How often a shaping row comes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Every {
    /// `every row`, `every round`
    Row,
    /// `every RS row`, `every WS row`
    Side(Side),
    /// `every 4th row`, `every 4 (4, 6) rows`
    Nth(Counts),
    /// `on the next row`
    Next,
}

impl Every {
    /// Rows from one shaping to the next in a size, where rows of one side come every
    /// second row; `None` where the size has none.
    #[must_use]
    pub fn interval(&self, size: SizeId) -> Option<u32> {
        match self {
            Self::Row | Self::Next => Some(1),
            Self::Side(_) => Some(2),
            Self::Nth(counts) => counts.given.get(size).copied(),
        }
    }

    /// Whether rows of both sides are shaped in some size.
    fn any_row(&self) -> bool {
        match self {
            Self::Row | Self::Next => true,
            Self::Side(_) => false,
            Self::Nth(counts) => counts.given.values().any(|n| n % 2 == 1),
        }
    }
}

impl Schedule {
    /// Whether the author's words allow shaping on rows of both sides.
    #[must_use]
    pub fn any_row(&self) -> bool {
        self.rates.iter().any(|rate| rate.every.any_row())
    }
}

/// Where in the row shaping happens.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum ShapePlace {
    /// `each end`: two places.
    EachEnd,
    /// `at the start`: one.
    Start,
    /// `at the end`: one.
    End,
    /// `at neck edge`: one.
    NeckEdge,
    /// `at armhole edge`: one.
    ArmholeEdge,
    /// `each side of each marker`: two a marker.
    EachSideOfMarkers,
    /// `at each marker`: one a marker.
    AtMarkers,
    /// Nowhere said: the number is for the whole row.
    Anywhere,
}

/// `row 1 (RS):`, `rounds 1-4:`, `next row:`, `row 2 and all WS rows:`
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct RowLabel {
    /// Without the colon.
    pub span: Span,
    /// The rows' numbers, each a first and a last; empty for `next row`.
    pub numbers: Vec<RowRange>,
    /// `row A:`, `decrease row:`, in lower case and without `row`.
    pub name: Option<Spanned<String>>,
    /// `next 4 (6) rows`; an unwritten 1 otherwise.
    pub next: Counts,
    /// Written as `round`.
    pub rounds: bool,
    /// `(RS)`
    pub side: Option<Spanned<Side>>,
    /// `row 2 and all WS rows`; with no number before it, `all WS rows`.
    pub and_all: Option<Side>,
}

/// More rows than any pattern; keeps hostile labels from taking forever.
const MOST_ROWS: u32 = 10_000;

impl RowLabel {
    /// The numbers of its rows, in order.
    pub fn each_number(&self) -> impl Iterator<Item = u32> + Clone + '_ {
        self.numbers.iter().flat_map(|range| match *range {
            RowRange::Numbered { first, last } => {
                first..last.min(first.saturating_add(MOST_ROWS)).saturating_add(1)
            }
            RowRange::Last(_) => 0..0,
        })
    }
}

/// Rows that are worked again.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum WhichRows {
    /// By their numbers, or the last so many.
    Range(RowRange),
    /// `row A`, `the decrease row`, named as in [`RowLabel`].
    Named(Spanned<String>),
}

/// Rows by their numbers, or the last so many.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum RowRange {
    /// `rows 1-2`; both ends included.
    Numbered {
        /// The first.
        first: u32,
        /// The last.
        last: u32,
    },
    /// `the last 2 rows`
    Last(u32),
}

/// One piece of a row.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Item {
    /// Where.
    pub span: Span,
    /// What.
    pub kind: ItemKind,
    /// `k2 MC`, `k1 with CC`: the color of these stitches alone.
    pub color: Option<Spanned<String>>,
    /// `[neck]` after a live count.
    pub marks: Vec<Spanned<Mark>>,
}

/// What a piece of a row does.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum ItemKind {
    /// `k4`, `k{24 (26, 28)}`, `k2tog`, `purl 2`, `narrow`
    Stitch {
        /// The abbreviation as written, without its number: `k`, `k2tog`, `2/2 RC`.
        name: Spanned<String>,
        /// How many of them; `None` for one, unwritten.
        count: Option<Counts>,
    },
    /// `k to end`, `k to last 3 sts`, `k to 2 sts before marker`
    Run {
        /// The stitch repeated; `work` (or `work in pattern`) keeps to the fabric.
        name: Spanned<String>,
        /// How far.
        until: RowEnd,
    },
    /// `work 18 in pattern`, `rib 18`
    Pattern(Counts),
    /// `[k1, p1] 4 times`, `(k1, p1) twice`
    Group {
        /// What is repeated.
        items: Vec<Item>,
        /// How often.
        times: Counts,
        /// `n more times`: once, and so often again.
        more: bool,
    },
    /// `*k2, p2; rep from * to last 2 sts`
    Star {
        /// What is repeated.
        items: Vec<Item>,
        /// How far.
        until: StarEnd,
    },
    /// `(k1, yo, k1) in next st`
    InOne {
        /// What is worked into it.
        items: Vec<Item>,
    },
    /// `bind off 22`, `bind off to end`
    BindOff(Option<Counts>),
    /// `cast on 8`
    CastOn(Counts),
    /// `hold 40 as left sleeve`
    Hold {
        /// How many.
        count: Counts,
        /// Under which name.
        name: Spanned<String>,
    },
    /// `hold remaining sts as right side`: all that the row has not worked.
    HoldRest {
        /// Under which name.
        name: Spanned<String>,
    },
    /// `turn`
    Turn,
    /// `w&t`, `wrap and turn`
    WrapTurn,
    /// `join a second ball of yarn`: changes no count.
    JoinYarn,
    /// `pm`, `sm`, `rm`, with a name where there are several kinds: `pm A`
    Marker {
        /// Put, slip or take away.
        act: MarkerAct,
        /// Which.
        name: Option<Spanned<String>>,
    },
}

/// How far a run of one stitch goes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum RowEnd {
    /// `to end`
    End,
    /// `to last 3 sts`
    Last(Counts),
    /// `to marker`, `to 2 sts before marker`
    Marker {
        /// How many stitches before it; 0 for `to marker`.
        before: u32,
        /// Which marker; `None` for the next.
        name: Option<Spanned<String>>,
    },
    /// `to gap`, `to 1 st before gap`: where the work was turned before.
    Gap {
        /// How many stitches before it.
        before: u32,
    },
}

/// How far a star repeat goes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum StarEnd {
    /// `rep from *`, `rep from * to end`
    End,
    /// `rep from * to last 2 sts`
    Last(Counts),
    /// `rep from * 4 times` (4 in all), `rep from * 4 more times` (5 in all)
    Times {
        /// The number as written.
        count: Counts,
        /// On top of the first.
        more: bool,
    },
    /// `rep from * to marker`, `rep from * to 2 sts before marker`
    Marker {
        /// How many stitches before it.
        before: u32,
    },
}

/// What is done with a marker.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum MarkerAct {
    /// Place (`pm`).
    Place,
    /// Slip (`sm`).
    Slip,
    /// Remove (`rm`).
    Remove,
}

/// What stands in square brackets after a step or a live count.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Mark {
    /// `[fixed]`: never changes.
    Fixed,
    /// `[follows width]`
    FollowsWidth,
    /// `[follows length]`
    FollowsLength,
    /// `[multiple of 4 plus 2]`
    Multiple {
        /// Of.
        of: u32,
        /// Plus.
        plus: u32,
    },
    /// `[lies level]`, `[lies snug 12%]`: how the band on the other side of this change lies.
    Lies(Lies),
    /// `[as brim stitches]`: a name for live numbers in prose.
    As(String),
    /// `[starts armhole]`: measurements may begin here.
    Starts(String),
    /// `[allow loose-number: a hymn number]`
    Allow {
        /// The finding's name.
        code: Spanned<String>,
        /// Why.
        reason: String,
    },
    /// `[chest / 2 + ease / 2]`: what the count measures.
    Measure(Expr),
}

/// How a band lies against the fabric it meets.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Lies {
    /// The edge hangs straight.
    Level,
    /// Drawn in by this fraction of the width it meets (12% is 12/100).
    Snug(Exact),
    /// As the pattern has it.
    AsWritten,
    /// The same number of stitches on both sides.
    SameCount,
    /// Counted as body fabric around a part of the body, without ease.
    Fitted(Expr),
}

/// A measurement worked out from the measurements given.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Expr {
    /// Where.
    pub span: Span,
    /// What.
    pub kind: ExprKind,
}

/// The parts of a measurement expression.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum ExprKind {
    /// `chest`, `ease`
    Name(String),
    /// `2 cm`
    Length(Length),
    /// `2`
    Number(Exact),
    /// `a + b`
    Add(Box<Expr>, Box<Expr>),
    /// `a - b`
    Sub(Box<Expr>, Box<Expr>),
    /// `a * b`; one side must be a number.
    Mul(Box<Expr>, Box<Expr>),
    /// `a / b`; the right side must be a number.
    Div(Box<Expr>, Box<Expr>),
}

impl Expr {
    /// Whether another says the same, wherever it stands.
    #[must_use]
    pub fn is_same(&self, other: &Self) -> bool {
        match (&self.kind, &other.kind) {
            (ExprKind::Name(a), ExprKind::Name(b)) => a == b,
            (ExprKind::Length(a), ExprKind::Length(b)) => a == b,
            (ExprKind::Number(a), ExprKind::Number(b)) => a == b,
            (ExprKind::Add(a, b), ExprKind::Add(c, d))
            | (ExprKind::Sub(a, b), ExprKind::Sub(c, d))
            | (ExprKind::Mul(a, b), ExprKind::Mul(c, d))
            | (ExprKind::Div(a, b), ExprKind::Div(c, d)) => a.is_same(c) && b.is_same(d),
            _ => false,
        }
    }
}

impl ItemKind {
    /// Whether it works stitches of the row, which may have a color of their own.
    #[must_use]
    pub const fn works_stitches(&self) -> bool {
        matches!(
            self,
            Self::Stitch { .. }
                | Self::Run { .. }
                | Self::Pattern(_)
                | Self::Group { .. }
                | Self::Star { .. }
                | Self::InOne { .. }
                | Self::BindOff(_)
        )
    }
}

impl Step {
    /// The marks that belong to a number: those of its item, where it stands in
    /// a row, and elsewhere those of the step.
    #[must_use]
    pub fn marks_at(&self, number: Span) -> &[Spanned<Mark>] {
        fn find(items: &[Item], number: Span) -> Option<&Item> {
            items.iter().find_map(|item| match &item.kind {
                ItemKind::Group { items, .. } | ItemKind::Star { items, .. } => find(items, number),
                _ => item.span.contains(number).then_some(item),
            })
        }
        match &self.action {
            Action::Row { items, .. } => find(items, number).map_or(&[], |item| &item.marks),
            _ => &self.marks,
        }
    }
}
