//! `wale gauge`: counts and lengths at one gauge and at another.

use super::args::Gauge;
use super::{Failure, Session, Status, answer};
use crate::measure::round::Multiple;
use crate::quick::gauge::{GaugeQuestion, gauge};

pub(super) fn run(args: &Gauge, session: &mut Session<'_>) -> Result<Status, Failure> {
    let asked = GaugeQuestion {
        amount: args.amount,
        at: args.at,
        to: args.to,
        multiple: args.multiple.unwrap_or(Multiple::ANY),
    };
    answer::print(gauge(&asked), args.form, session)
}
