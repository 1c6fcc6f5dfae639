//! What the command line takes.
//!
//! The help of a command opens with what it does and an example. The command
//! reference, the manual pages and the completions are all made from this.

use clap::{Args as ClapArgs, CommandFactory as _, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;

/// Rewrite hand-knitting patterns for another yarn, fit or range of sizes
///
/// Example:
///
///   wale explain repeat-uneven
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
    Explain(Explain),
    Completions(Completions),
    Man(Man),
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
