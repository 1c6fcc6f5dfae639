//! `wale man`: manual pages.

use super::args::Man;
use super::{Failure, Status, Streams, command};
use crate::diag::words;

pub(super) fn run(args: &Man, streams: &mut Streams<'_>) -> Result<Status, Failure> {
    let mut all = command();
    all.build();
    let page = match &args.command {
        None => all,
        Some(name) => all.find_subcommand(name).cloned().ok_or_else(|| unknown(name, &all))?,
    };
    let mut text = Vec::new();
    clap_mangen::Man::new(page)
        .render(&mut text)
        .map_err(|error| Failure::new(format!("the manual page cannot be made: {error}")))?;
    streams.print(&String::from_utf8_lossy(&text))?;
    Ok(Status::Done)
}

fn unknown(name: &str, all: &clap::Command) -> Failure {
    let names: Vec<String> =
        all.get_subcommands().map(|command| format!("`{}`", command.get_name())).collect();
    Failure::new(format!("there is no command `{name}`"))
        .help(format!("the commands are {}", words::list(&names, "and")))
}
