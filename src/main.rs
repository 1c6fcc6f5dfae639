//! The `wale` command: the streams of the process, joined to the library's [`walewright::cli`].

use anstream::{AutoStream, ColorChoice};
use std::io::{self, Write};
use std::process::ExitCode;
use walewright::cli::{Io, run};

fn main() -> ExitCode {
    std::panic::set_hook(Box::new(|mistake| {
        // Where even that cannot be said, the status says it.
        let _ = writeln!(io::stderr(), "error[internal]: walewright itself went wrong: {mistake}");
        let _ = writeln!(io::stderr(), "  = help: `wale explain internal` says what to do");
    }));
    let color = |choice| choice != ColorChoice::Never;
    let (color_stdout, color_stderr) =
        (color(AutoStream::choice(&io::stdout())), color(AutoStream::choice(&io::stderr())));
    let status = run(
        std::env::args_os(),
        &mut Io {
            stdin: &mut io::stdin(),
            // The text is written as it is; where a console does not know escape codes, they are
            // turned into what it knows.
            stdout: &mut AutoStream::always(io::stdout()),
            stderr: &mut AutoStream::always(io::stderr()),
            color_stdout,
            color_stderr,
        },
    );
    ExitCode::from(u8::try_from(status).unwrap_or(u8::MAX))
}
