//! `wale band`: how many stitches a band has.

use super::args::Band;
use super::{Failure, Status, Streams, answer};
use crate::measure::round::Multiple;
use crate::plan::band::{Direction, Source};
use crate::quick::band::{BandQuestion, band, stitches_over};

pub(super) fn run(args: &Band, streams: &mut Streams<'_>) -> Result<Status, Failure> {
    let asked = BandQuestion {
        body: args.body,
        band: args.band,
        stretched: args.stretched,
        source: if args.estimated { Source::Estimated } else { Source::Swatched },
        over: stitches_over(&args.body, args.over).ok_or_else(|| {
            Failure::new("`--over` is the stitches of the body or its width, not rows")
        })?,
        lies: args.lies,
        multiple: args.multiple.unwrap_or(Multiple::ANY),
        direction: if args.top_down { Direction::TopDown } else { Direction::BottomUp },
        setting: args.worked.setting(),
        method: args.made.method(),
        passes: args.passes.map(|(girth, _)| girth),
    };
    answer::print(band(&asked), args.form, streams)
}
