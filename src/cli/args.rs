//! What the command line takes.
//!
//! The help of a command opens with what it does and an example. The command
//! reference, the manual pages and the completions are all made from this.

use clap::{Args as ClapArgs, CommandFactory as _, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;
use std::path::PathBuf;

mod quick;

pub(super) use quick::{Band, Gauge, Needle, Space, Swatch, SwatchForm, Taper};

/// Rewrite hand-knitting patterns for another yarn, fit or range of sizes
///
/// Example:
///
///   wale check slipway-cap.wale
///
/// A pattern is a plain-text file that reads as a pattern. Every row of every size is worked stitch
/// by stitch, so that an error points at its place, and a rewrite keeps the author's words to the
/// byte wherever no number has to change.
///
/// The status is 0 when done, 1 when a pattern has errors, 2 when the arguments make no sense or a
/// file cannot be read or written.
#[derive(Parser, Debug)]
#[command(name = "wale", version, max_term_width = 100, verbatim_doc_comment)]
#[command(arg_required_else_help = true, disable_help_subcommand = true)]
pub(super) struct Args {
    #[command(subcommand)]
    pub(super) command: Command,

    /// When to use color: auto, always or never; auto heeds NO_COLOR
    #[arg(long, global = true, value_name = "WHEN", default_value = "auto")]
    #[arg(hide_possible_values = true, hide_default_value = true)]
    pub(super) color: When,
}

/// When to use color.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub(super) enum When {
    Auto,
    Always,
    Never,
}

#[derive(Subcommand, Debug)]
pub(super) enum Command {
    Check(Check),
    Rewrite(Rewrite),
    Why(Why),
    Diff(Diff),
    Page(Page),
    Draw(Draw),
    Band(Box<Band>),
    Space(Space),
    Taper(Taper),
    Gauge(Box<Gauge>),
    Swatch(Swatch),
    Needle(Needle),
    Explain(Explain),
    Completions(Completions),
    Man(Man),
}

/// Check patterns: work every row of every size, and say what does not add up
///
/// Example:
///
///   wale check slipway-cap.wale keel-sock.wale
///
/// The findings of each file go to standard output, with a line that sums them up. Warnings and
/// notes alone leave the status at 0.
#[derive(ClapArgs, Debug)]
#[command(verbatim_doc_comment)]
pub(super) struct Check {
    /// The patterns; - is standard input
    #[arg(required = true, value_name = "PATTERN")]
    pub(super) patterns: Vec<PathBuf>,

    /// How to show the findings
    #[arg(long = "as", value_name = "FORM", default_value = "text")]
    pub(super) form: Form,

    /// Let warnings, like errors, make the status 1
    #[arg(long)]
    pub(super) deny_warnings: bool,
}

/// How findings are shown.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub(super) enum Form {
    /// For people: with the line, a mark under the place, and help
    Text,
    /// For programs: one object a file, with every place as lines, columns and bytes
    Json,
}

/// Rewrite a pattern for another yarn, fit or range of sizes
///
/// Example:
///
///   wale rewrite slipway-cap.wale --to donated-wool.yaml -o slipway-cap-heavy.md
///
/// The targets say only what is different this time: gauges, sizes, measurements, ease, how bands
/// lie, lengths. Everything else stays as the pattern has it, to the byte. Counts written as `?`
/// are worked out, with or without targets.
///
/// Nothing is written when there is an error. Findings go to standard error.
#[derive(ClapArgs, Debug)]
#[command(verbatim_doc_comment)]
pub(super) struct Rewrite {
    /// The pattern; - is standard input
    pub(super) pattern: PathBuf,

    /// What is different this time, as YAML; - is standard input
    #[arg(long, value_name = "TARGETS")]
    pub(super) to: Option<PathBuf>,

    /// What to write; without it, the ending of the output's name tells, and else a page in Markdown
    #[arg(long = "as", value_name = "FORM")]
    pub(super) form: Option<Written>,

    /// Only this size, without lists of sizes
    #[arg(long, value_name = "NAME")]
    pub(super) size: Option<String>,

    /// Show what changes, instruction by instruction, on standard output, in one of the forms of
    /// `wale diff`; the pattern itself then goes to the output file only
    #[arg(
        long,
        value_name = "FORM",
        num_args = 0..=1,
        require_equals = true,
        default_missing_value = "text"
    )]
    pub(super) changes: Option<ChangesForm>,

    /// Write to this file, whole or not at all, instead of standard output
    #[arg(short, long, value_name = "FILE")]
    pub(super) output: Option<PathBuf>,
}

/// What a pattern is written as.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub(super) enum Written {
    /// A page to knit from, in Markdown
    Markdown,
    /// The same as one HTML file: boxes to tick, a choice of size, and why each number is what it is
    Html,
    /// The pattern itself, ready to be checked or rewritten again
    Source,
    /// For programs: the pattern, its findings, and every change of a number as a number
    Json,
}

/// Write a pattern as the page a knitter reads
///
/// Example:
///
///   wale page slipway-cap.wale --size medium
///
/// Every row is worked first: the page has the counts after each change of count, even changes
/// written out, finished measurements, gauges, needles and the abbreviations that are used. The
/// author's prose is kept as it is. Nothing is written when the pattern has an error.
#[derive(ClapArgs, Debug)]
#[command(verbatim_doc_comment)]
pub(super) struct Page {
    /// The pattern; - is standard input
    pub(super) pattern: PathBuf,

    /// The form of the page; without it, the ending of the output's name tells, and else Markdown
    #[arg(long = "as", value_name = "FORM")]
    pub(super) form: Option<PageForm>,

    /// Only this size, without lists of sizes
    #[arg(long, value_name = "NAME")]
    pub(super) size: Option<String>,

    /// Write to this file, whole or not at all, instead of standard output
    #[arg(short, long, value_name = "FILE")]
    pub(super) output: Option<PathBuf>,
}

/// The form of a page.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub(super) enum PageForm {
    /// Markdown, for any viewer
    Markdown,
    /// One HTML file with boxes to tick and a choice of size, to read, print and carry
    Html,
}

/// Draw the outlines of the pieces and the charts of the fabrics, as SVG
///
/// Example:
///
///   wale draw boathouse-pullover.wale -o drawings
///
/// Outlines are to scale, from the worked rows: widths through the gauges by height, bands at their
/// relaxed width, the sizes nested. Each drawing is a file of its own in the folder; one alone can
/// go to standard output.
#[derive(ClapArgs, Debug)]
#[command(verbatim_doc_comment)]
pub(super) struct Draw {
    /// The pattern; - is standard input
    pub(super) pattern: PathBuf,

    /// Only this piece or fabric
    #[arg(long, value_name = "NAME")]
    pub(super) piece: Option<String>,

    /// Only this size
    #[arg(long, value_name = "NAME")]
    pub(super) size: Option<String>,

    /// Draw over the outlines of this pattern, which are dashed; needs a size that both have
    #[arg(long, value_name = "OLD")]
    pub(super) over: Option<PathBuf>,

    /// Write to files of this folder, which is made if need be
    #[arg(short, long, value_name = "FOLDER")]
    pub(super) output: Option<PathBuf>,
}

/// Say where the numbers of a rewritten pattern come from
///
/// Example:
///
///   wale why slipway-cap.wale --to donated-wool.yaml --line 59
///
/// For each number chosen: what it aims at, in which gauge, what moved it from there, the error left
/// and what else it is tied to. Without targets, where the pattern's own numbers come from.
#[derive(ClapArgs, Debug)]
#[command(verbatim_doc_comment)]
pub(super) struct Why {
    /// The pattern; - is standard input
    pub(super) pattern: PathBuf,

    /// What is different this time, as YAML; - is standard input
    #[arg(long, value_name = "TARGETS")]
    pub(super) to: Option<PathBuf>,

    /// Only the numbers of this line of the pattern
    #[arg(long, value_name = "LINE")]
    pub(super) line: Option<usize>,

    /// Only this size
    #[arg(long, value_name = "NAME")]
    pub(super) size: Option<String>,

    /// How to show them
    #[arg(long = "as", value_name = "FORM", default_value = "text")]
    pub(super) form: Form,
}

/// Compare two patterns: what changed, instruction by instruction and size by size
///
/// Example:
///
///   wale diff slipway-cap.wale slipway-cap-heavy.wale
///
/// Pieces are matched by name and instructions by their words, not line by line. Every number is
/// compared in each size, by the names of the sizes, in stitches or rows and in length.
///
/// Each pattern must read without errors; whether its rows add up does not matter.
#[derive(ClapArgs, Debug)]
#[command(verbatim_doc_comment)]
pub(super) struct Diff {
    /// The pattern as it was; - is standard input
    pub(super) old: PathBuf,

    /// The pattern as it is; - is standard input
    pub(super) new: PathBuf,

    /// How to show the changes
    #[arg(long = "as", value_name = "FORM", default_value = "text")]
    pub(super) form: ChangesForm,

    /// Show what did not change too (in JSON it always is)
    #[arg(long)]
    pub(super) unchanged: bool,

    /// Let any change make the status 1
    #[arg(long)]
    pub(super) exit_code: bool,
}

/// How changes are shown.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub(super) enum ChangesForm {
    /// For a terminal, in 80 columns
    Text,
    /// Tables with the old text beside the new
    Markdown,
    /// One HTML file: the old text beside the new, differences size by size, outlines drawn over
    /// one another
    Html,
    /// For programs: every number as a number
    Json,
}

/// Explain a kind of finding, with a wrong and a right pattern
///
/// Example:
///
///   wale explain repeat-uneven
///
/// The code of a finding stands in brackets after its severity. Without a code, all are listed.
#[derive(ClapArgs, Debug)]
#[command(verbatim_doc_comment)]
pub(super) struct Explain {
    /// The code of a finding
    pub(super) code: Option<String>,
}

/// Print a script that completes commands in a shell
///
/// Example:
///
///   wale completions bash > ~/.local/share/bash-completion/completions/wale
#[derive(ClapArgs, Debug)]
#[command(verbatim_doc_comment)]
pub(super) struct Completions {
    /// The shell
    pub(super) shell: Shell,
}

/// Print a manual page
///
/// Example:
///
///   wale man check > wale-check.1
///
/// Without the name of a command, the page is that of `wale` itself.
#[derive(ClapArgs, Debug)]
#[command(verbatim_doc_comment)]
pub(super) struct Man {
    /// The command to print the page of
    pub(super) command: Option<String>,
}

/// The whole command line, as data: for completions, manual pages and the reference.
#[must_use]
pub fn command() -> clap::Command {
    Args::command()
}
