//! `wale completions`: scripts for shells.

use super::args::Completions;
use super::{Failure, Status, Streams, command};

pub(super) fn run(args: &Completions, streams: &mut Streams<'_>) -> Result<Status, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut command(), "wale", &mut script);
    streams.print(&String::from_utf8_lossy(&script))?;
    Ok(Status::Done)
}
