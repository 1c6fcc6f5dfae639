//! The command line: the only part that reads and writes.
//!
//! A command is one file here. It reads its inputs, calls one public function
//! of the library, and writes what that gives. It knows no knitting.
//!
//! The status a run ends with:
//!
//! - 0: done;
//! - 1: done, but a pattern or a targets file has errors (or warnings, where
//!   `--deny-warnings` makes them count); nothing was written to a file; or two
//!   patterns differ, where `--exit-code` asks for that;
//! - 2: not done: the arguments make no sense, or a file could not be read or
//!   written;
//! - 101: a mistake in walewright itself, which its message says.
//!
//! When whatever reads our output stops early (`wale check *.wale | head`), the
//! rest is dropped in silence and the status is what it would have been.

mod answer;
mod args;
mod band;
mod check;
mod completions;
mod diff;
mod draw;
mod explain;
mod gauge;
mod input;
mod man;
mod needle;
mod out;
mod output;
mod page;
mod rewrite;
mod rewriting;
mod space;
mod swatch;
mod taper;
mod why;

pub use args::command;

use args::{Args, Command, When};
use clap::{CommandFactory as _, FromArgMatches as _};
use out::Out;
use std::ffi::OsString;
use std::io::{self, Read, Write};

use crate::diag::{Finding, Severity, render};

/// What a run reads from and writes to.
pub struct Io<'a> {
    /// What `-` reads.
    pub stdin: &'a mut dyn Read,
    /// Where results go.
    pub stdout: &'a mut dyn Write,
    /// Where messages go.
    pub stderr: &'a mut dyn Write,
    /// Whether results may have color, unless an argument says otherwise.
    pub color_stdout: bool,
    /// Whether messages may have color, unless an argument says otherwise.
    pub color_stderr: bool,
}

/// How a command ended.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum Status {
    Done = 0,
    Findings = 1,
    Failed = 2,
}

impl Status {
    /// What findings make of a run.
    fn of(findings: &[Finding], deny_warnings: bool) -> Self {
        let counts = |finding: &Finding| match finding.severity {
            Severity::Error => true,
            Severity::Warning => deny_warnings,
            Severity::Note => false,
        };
        if findings.iter().any(counts) { Self::Findings } else { Self::Done }
    }
}

/// Why a command could not be carried out.
#[derive(Debug)]
struct Failure {
    /// One clause, lower case, no full stop.
    message: String,
    /// What to do, where that is not obvious.
    help: Option<String>,
}

impl Failure {
    fn new(message: impl Into<String>) -> Self {
        Self { message: message.into(), help: None }
    }

    fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}

/// What a command works with.
struct Streams<'a> {
    stdin: &'a mut dyn Read,
    stdout: Out<'a>,
    stderr: Out<'a>,
}

impl Streams<'_> {
    /// Writes a part of the result to standard output.
    fn print(&mut self, text: &str) -> Result<(), Failure> {
        self.stdout.write(text.as_bytes()).map_err(|error| not_written(&error))
    }

    /// Writes to standard error. There is nowhere left to say that this failed.
    fn tell(&mut self, text: &str) {
        let _ = self.stderr.write(text.as_bytes());
    }

    /// Says what could not be done.
    fn say(&mut self, Failure { message, help }: &Failure) {
        let style = self.stderr.style();
        self.tell(&render::message(Severity::Error, message, help.as_deref(), style));
    }
}

fn not_written(error: &io::Error) -> Failure {
    Failure::new(format!("cannot write to standard output: {}", out::reason(error)))
}

/// Carries out one command line, the program's name first, and gives the status to end with.
///
/// Nothing is kept between runs, so it may be called any number of times.
pub fn run(args: impl IntoIterator<Item = OsString>, io: &mut Io<'_>) -> i32 {
    let parsed = args::command().try_get_matches_from(args).and_then(|matches| {
        Args::from_arg_matches(&matches).map_err(|e| e.format(&mut Args::command()))
    });
    let (stdout, stderr) = (io.color_stdout, io.color_stderr);
    match parsed {
        Ok(args) => {
            let mut streams = Streams {
                stdin: &mut *io.stdin,
                stdout: Out::new(&mut *io.stdout, args.color.or(stdout)),
                stderr: Out::new(&mut *io.stderr, args.color.or(stderr)),
            };
            end(streams.carry_out(&args.command), &mut streams)
        }
        Err(said) => answer(&said, io),
    }
}

impl Streams<'_> {
    fn carry_out(&mut self, command: &Command) -> Result<Status, Failure> {
        match command {
            Command::Check(args) => check::run(args, self),
            Command::Rewrite(args) => rewrite::run(args, self),
            Command::Why(args) => why::run(args, self),
            Command::Diff(args) => diff::run(args, self),
            Command::Page(args) => page::run(args, self),
            Command::Draw(args) => draw::run(args, self),
            Command::Band(args) => band::run(args, self),
            Command::Space(args) => space::run(args, self),
            Command::Taper(args) => taper::run(args, self),
            Command::Gauge(args) => gauge::run(args, self),
            Command::Swatch(args) => swatch::run(args, self),
            Command::Needle(args) => needle::run(args, self),
            Command::Explain(args) => explain::run(args, self),
            Command::Completions(args) => completions::run(args, self),
            Command::Man(args) => man::run(args, self),
        }
    }
}

/// Writes what is still held back, says what failed, and gives the status.
fn end(result: Result<Status, Failure>, streams: &mut Streams<'_>) -> i32 {
    let flushed = streams.stdout.flush().map_err(|error| not_written(&error));
    let status = match result.and_then(|status| flushed.map(|()| status)) {
        Ok(status) => status,
        Err(failure) => {
            streams.say(&failure);
            Status::Failed
        }
    };
    let _ = streams.stderr.flush();
    status as i32
}

/// Writes help, version or a complaint about the arguments.
fn answer(said: &clap::Error, io: &mut Io<'_>) -> i32 {
    let text = said.render();
    let (to, color) = if said.use_stderr() {
        (&mut *io.stderr, io.color_stderr)
    } else {
        (&mut *io.stdout, io.color_stdout)
    };
    let text = if color { text.ansi().to_string() } else { text.to_string() };
    let mut out = Out::new(to, color);
    let written = out.write(text.as_bytes()).and_then(|()| out.flush());
    if written.is_err() { Status::Failed as i32 } else { said.exit_code() }
}
