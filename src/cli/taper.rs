//! `wale taper`: shaping spread over rows.

use super::args::Taper;
use super::{Failure, Status, Streams, answer};
use crate::measure::Rows;
use crate::plan::taper::{Ending, Order};
use crate::quick::taper::{TaperQuestion, taper};

pub(super) fn run(args: &Taper, streams: &mut Streams<'_>) -> Result<Status, Failure> {
    let asked = TaperQuestion {
        from: args.from,
        to: args.to,
        each: args.each,
        over: args.far.over(),
        setting: args.worked.setting(),
        order: if args.slower_first { Order::SlowerFirst } else { Order::FasterFirst },
        ending: args.even_after.map_or(Ending::OnShaping, Ending::Plain),
        first: args.first,
        allowance: args.allowance.unwrap_or(Rows(0)),
    };
    answer::print(taper(&asked), args.form, streams)
}
