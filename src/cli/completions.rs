//! `wale completions`: scripts for shells.

use super::args::Completions;
use super::{Failure, Session, Status, command};

pub(super) fn run(args: &Completions, session: &mut Session<'_>) -> Result<Status, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut command(), "wale", &mut script);
    session.print(&String::from_utf8_lossy(&script))?;
    Ok(Status::Done)
}
