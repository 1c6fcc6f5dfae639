//! `wale needle`: a needle's other names, and its neighbours.

use super::args::Needle;
use super::{Failure, Status, Streams, answer};
use crate::quick::needle::needle;
use std::convert::Infallible;

pub(super) fn run(args: &Needle, streams: &mut Streams<'_>) -> Result<Status, Failure> {
    answer::print(Ok::<_, Infallible>(needle(args.size)), args.form, streams)
}
