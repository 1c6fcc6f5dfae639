//! `wale space`: increases or decreases spread evenly.

use super::args::Space;
use super::{Failure, Status, Streams, answer};
use crate::plan::spacing::EvenChange;
use crate::quick::space::space;

pub(super) fn run(args: &Space, streams: &mut Streams<'_>) -> Result<Status, Failure> {
    let asked = EvenChange {
        from: args.from,
        to: args.to.after(args.from),
        setting: args.worked.setting(),
        method: args.made.method(),
    };
    answer::print(space(asked), args.form, streams)
}
