//! The arguments of the quick answers, for a pattern on paper.

use clap::{Args as ClapArgs, ValueEnum};

use super::Form;
use crate::measure::round::Multiple;
use crate::measure::{Length, Rows, Stitches, Unit};
use crate::plan::band::Lies;
use crate::plan::spacing::{IncreaseMethod, Setting};
use crate::quick::read::{self, Amount, Counting, EitherGauge, GivenGauge, Outcome};
use crate::quick::taper::Over;
use crate::standards::NeedleSize;

/// Flat or in the round.
#[derive(ClapArgs, Clone, Copy, Debug)]
pub(in crate::cli) struct Worked {
    /// Worked flat, in rows
    #[arg(long)]
    flat: bool,

    /// Worked in the round; so it is unless --flat is given
    #[arg(long, conflicts_with = "flat")]
    round: bool,
}

impl Worked {
    pub(in crate::cli) fn setting(self) -> Setting {
        if self.flat && !self.round { Setting::Flat } else { Setting::Round }
    }
}

/// How an increase is made.
#[derive(ClapArgs, Clone, Copy, Debug)]
pub(in crate::cli) struct Made {
    /// Increase into a stitch (kfb) rather than between two (m1)
    #[arg(long)]
    kfb: bool,
}

impl Made {
    pub(in crate::cli) fn method(self) -> IncreaseMethod {
        if self.kfb { IncreaseMethod::InStitch } else { IncreaseMethod::M1 }
    }
}

/// Say how many stitches a band has, and how it then lies
///
/// Example:
///
///   wale band --body "20 sts / 10 cm" --band "24 sts / 10 cm" --over 200 --lies level
///
/// A band is level when it is as wide as the body it meets, snug when it is narrower by a share of
/// that, fitted when its count is that of a part of the body, counted as if it were body fabric.
/// The working is shown, with the small ratio to work by and the row between the two.
#[derive(ClapArgs, Debug)]
#[command(verbatim_doc_comment)]
pub(in crate::cli) struct Band {
    /// The body's gauge
    #[arg(long, value_name = "GAUGE", value_parser = read::gauge)]
    pub(in crate::cli) body: GivenGauge,

    /// The band's gauge, relaxed
    #[arg(long, value_name = "GAUGE", value_parser = read::gauge)]
    pub(in crate::cli) band: GivenGauge,

    /// The band's gauge stretched as far as is comfortable
    #[arg(long, value_name = "GAUGE", value_parser = read::gauge)]
    pub(in crate::cli) stretched: Option<GivenGauge>,

    /// The stitches of the body where the two meet, or its width there
    #[arg(long, value_name = "STITCHES", value_parser = read::across)]
    pub(in crate::cli) over: Amount,

    /// How it lies: level, "snug 12%", "same count" or "fitted 18 cm"
    #[arg(long, value_name = "HOW", default_value = "level", value_parser = read::lies)]
    pub(in crate::cli) lies: Lies,

    /// The counts its fabric is worked over, such as 4 or "4 plus 2"
    #[arg(long, value_name = "MULTIPLE", value_parser = read::multiple)]
    pub(in crate::cli) multiple: Option<Multiple>,

    /// What it must pass over, such as the girth of the head
    #[arg(long, value_name = "LENGTH", value_parser = read::length)]
    pub(in crate::cli) passes: Option<(Length, Unit)>,

    #[command(flatten)]
    pub(in crate::cli) worked: Worked,

    /// The body is worked first, then the band
    #[arg(long)]
    pub(in crate::cli) top_down: bool,

    #[command(flatten)]
    pub(in crate::cli) made: Made,

    /// The band's gauge is an estimate, not a swatch
    #[arg(long)]
    pub(in crate::cli) estimated: bool,

    /// How to show the answer
    #[arg(long = "as", value_name = "FORM", default_value = "text", hide_possible_values = true)]
    #[arg(help = FORM_HELP)]
    pub(in crate::cli) form: Form,
}

const FORM_HELP: &str = "How to show the answer: text or json";

/// Spread increases or decreases evenly over a row
///
/// Examples:
///
///   wale space 56 40 --round
///   wale space 96 +12
///
/// In the round, changes lie as evenly as whole stitches allow. Flat, half a gap is kept at each
/// edge, and the first and the last stitch stay as they are.
#[derive(ClapArgs, Debug)]
#[command(verbatim_doc_comment)]
pub(in crate::cli) struct Space {
    /// Stitches before
    #[arg(value_parser = read::stitches)]
    pub(in crate::cli) from: Stitches,

    /// Stitches after, or how many more or fewer: 40, +12, -16
    #[arg(value_parser = read::outcome, allow_negative_numbers = true)]
    pub(in crate::cli) to: Outcome,

    #[command(flatten)]
    pub(in crate::cli) worked: Worked,

    #[command(flatten)]
    pub(in crate::cli) made: Made,

    /// How to show the answer
    #[arg(long = "as", value_name = "FORM", default_value = "text", hide_possible_values = true)]
    #[arg(help = FORM_HELP)]
    pub(in crate::cli) form: Form,
}

/// How far shaping goes.
#[derive(ClapArgs, Clone, Copy, Debug)]
pub(in crate::cli) struct Far {
    /// All the rows there are
    #[arg(long, value_parser = read::rows, required_unless_present = "over")]
    rows: Option<Rows>,

    /// The length there is, instead of the rows
    #[arg(long, value_name = "LENGTH", value_parser = read::length, requires = "at")]
    #[arg(conflicts_with = "rows")]
    over: Option<(Length, Unit)>,

    /// The row gauge that a length is counted at, such as "28 rows / 10 cm"
    #[arg(long, value_name = "GAUGE", value_parser = read::either_gauge, requires = "over")]
    at: Option<EitherGauge>,
}

impl Far {
    pub(in crate::cli) fn over(self) -> Over {
        match (self.over, self.at) {
            (Some((length, unit)), Some(at)) => Over::Length { length, unit, at },
            _ => Over::Rows(self.rows.unwrap_or(Rows(0))),
        }
    }
}

/// Spread shaping over rows, as for a sleeve
///
/// Examples:
///
///   wale taper 50 72 --rows 90 --flat
///   wale taper 50 72 --over "32 cm" --at "28 rows / 10 cm" --flat
///
/// Shaping is spread in at most two rates, as in "every 8th row 10 times, then every 10th row
/// once". Flat, it stays on right-side rows.
#[derive(ClapArgs, Debug)]
#[command(verbatim_doc_comment)]
pub(in crate::cli) struct Taper {
    /// Stitches before
    #[arg(value_parser = read::stitches)]
    pub(in crate::cli) from: Stitches,

    /// Stitches after
    #[arg(value_parser = read::stitches)]
    pub(in crate::cli) to: Stitches,

    #[command(flatten)]
    pub(in crate::cli) far: Far,

    #[command(flatten)]
    pub(in crate::cli) worked: Worked,

    /// Stitches that each shaping row adds or takes
    #[arg(long, value_name = "STITCHES", default_value = "2", value_parser = read::stitches)]
    pub(in crate::cli) each: Stitches,

    /// The slower rate first, where there are two
    #[arg(long)]
    pub(in crate::cli) slower_first: bool,

    /// The row of the first shaping
    #[arg(long, value_name = "ROW", value_parser = read::rows)]
    pub(in crate::cli) first: Option<Rows>,

    /// So many rows worked even after the last shaping
    #[arg(long, value_name = "ROWS", value_parser = read::rows)]
    pub(in crate::cli) even_after: Option<Rows>,

    /// By how many rows the end may differ, if one rate then does for two
    #[arg(long, value_name = "ROWS", value_parser = read::rows)]
    pub(in crate::cli) allowance: Option<Rows>,

    /// How to show the answer
    #[arg(long = "as", value_name = "FORM", default_value = "text", hide_possible_values = true)]
    #[arg(help = FORM_HELP)]
    pub(in crate::cli) form: Form,
}

/// Say what a count or a length is at a gauge, and at another
///
/// Example:
///
///   wale gauge "190 sts" --at "19 sts / 4 in" --to "17.5 sts / 4 in"
///
/// Asks about stitches ("190 sts"), rows ("60 rows") or a width ("40 in"); at a gauge of rows
/// alone ("6 rows / in") a length is a height.
#[derive(ClapArgs, Debug)]
#[command(verbatim_doc_comment)]
pub(in crate::cli) struct Gauge {
    /// What is asked about: stitches, rows or a width
    #[arg(value_parser = read::amount)]
    pub(in crate::cli) amount: Amount,

    /// The gauge it is at
    #[arg(long, value_name = "GAUGE", value_parser = read::either_gauge)]
    pub(in crate::cli) at: EitherGauge,

    /// The gauge it goes to
    #[arg(long, value_name = "GAUGE", value_parser = read::either_gauge)]
    pub(in crate::cli) to: Option<EitherGauge>,

    /// The counts its fabric is worked over, such as 4 or "4 plus 2"
    #[arg(long, value_name = "MULTIPLE", value_parser = read::multiple)]
    pub(in crate::cli) multiple: Option<Multiple>,

    /// How to show the answer
    #[arg(long = "as", value_name = "FORM", default_value = "text", hide_possible_values = true)]
    #[arg(help = FORM_HELP)]
    pub(in crate::cli) form: Form,
}

/// Say what swatches measure, how surely, and what to write into targets
///
/// Example:
///
///   wale swatch "body: 22 sts, 31 rows / 11 cm" "brim: 31 sts / 13 cm"
///
/// Count the stitches or the rows of each swatch over a measured length, as often as you like:
/// fabric, colon, count, stroke, length. Several counts of one fabric are averaged. A fabric's name
/// may be followed by "stretched" and by "before washing", as in "brim stretched: 31 sts / 20 cm".
/// Fabrics have the names they have in the pattern; the others are compared with the first.
///
/// With --as targets, only what to write into a targets file is printed.
#[derive(ClapArgs, Debug)]
#[command(verbatim_doc_comment)]
pub(in crate::cli) struct Swatch {
    /// What was counted, such as "body: 22 sts / 11 cm" or "brim stretched: 20 sts / 5 1/2 in"
    #[arg(required = true, value_name = "COUNT", value_parser = read::counting)]
    pub(in crate::cli) counts: Vec<Counting>,

    /// The length to tell gauges over; 10 cm or 4 in unless given
    #[arg(long, value_name = "LENGTH", value_parser = read::length)]
    pub(in crate::cli) over: Option<(Length, Unit)>,

    /// A number of stitches of the first fabric, to say how wide it comes out
    #[arg(long, value_name = "STITCHES", value_parser = read::stitches)]
    pub(in crate::cli) width_of: Option<Stitches>,

    /// From one size to the next, in width, to say whether the swatch can tell them apart
    #[arg(long, value_name = "LENGTH", value_parser = read::length, requires = "width_of")]
    pub(in crate::cli) between_sizes: Option<(Length, Unit)>,

    /// How to show the answer
    #[arg(long = "as", value_name = "FORM", default_value = "text")]
    pub(in crate::cli) form: SwatchForm,
}

/// How the answer to a question about swatches is shown.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub(in crate::cli) enum SwatchForm {
    /// For people: with the working
    Text,
    /// For programs
    Json,
    /// As YAML, for a targets file
    Targets,
}

/// Say what a needle is called elsewhere, and which are a size or two smaller or larger
///
/// Example:
///
///   wale needle "US 6"
///
/// Reads millimeters ("4 mm"), US numbers and old UK numbers ("UK 8").
#[derive(ClapArgs, Debug)]
#[command(verbatim_doc_comment)]
pub(in crate::cli) struct Needle {
    /// The needle
    #[arg(value_name = "SIZE")]
    pub(in crate::cli) size: NeedleSize,

    /// How to show the answer
    #[arg(long = "as", value_name = "FORM", default_value = "text", hide_possible_values = true)]
    #[arg(help = FORM_HELP)]
    pub(in crate::cli) form: Form,
}
