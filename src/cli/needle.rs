//! `wale needle`: a needle's other names, and its neighbours.

use super::args::Needle;
use super::{Failure, Session, Status, answer};
use crate::quick::needle::needle;
use std::convert::Infallible;

pub(super) fn run(args: &Needle, session: &mut Session<'_>) -> Result<Status, Failure> {
    answer::print(Ok::<_, Infallible>(needle(args.size)), args.form, session)
}
