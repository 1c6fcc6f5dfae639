//! `wale gauge`: counts and lengths at one gauge and at another.

use super::args::Gauge;
use super::{Failure, Status, Streams, answer};
use crate::measure::round::Multiple;
use crate::quick::gauge::{GaugeQuestion, gauge};

pub(super) fn run(args: &Gauge, streams: &mut Streams<'_>) -> Result<Status, Failure> {
    let asked = GaugeQuestion {
        amount: args.amount,
        at: args.at,
        to: args.to,
        multiple: args.multiple.unwrap_or(Multiple::ANY),
    };
    answer::print(gauge(&asked), args.form, streams)
}
