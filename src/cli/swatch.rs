//! `wale swatch`: gauges from swatches.

use super::args::{Swatch, SwatchForm};
use super::{Failure, Status, Streams, answer};
use crate::quick::swatch::{SwatchQuestion, swatch};

pub(super) fn run(args: &Swatch, streams: &mut Streams<'_>) -> Result<Status, Failure> {
    let asked = SwatchQuestion {
        counts: args.counts.clone(),
        over: args.over,
        width_of: args.width_of,
        between_sizes: args.between_sizes.map(|(step, _)| step),
    };
    let answer = swatch(&asked).map_err(|why| Failure::new(why.to_string()))?;
    let text = match args.form {
        SwatchForm::Text => format!("{answer}\nfor targets:\n\n{}", answer.result.targets),
        SwatchForm::Json => answer::json(&answer)?,
        SwatchForm::Targets => answer.result.targets,
    };
    streams.print(&text)?;
    Ok(Status::Done)
}
