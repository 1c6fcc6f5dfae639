//! `wale why`: where the numbers of a rewritten pattern come from.

use super::args::{Form, Why};
use super::rewriting::Inputs;
use super::{Failure, Status, Streams};
use crate::diag::words;
use crate::{model, why};
use serde_json::json;

pub(super) fn run(args: &Why, streams: &mut Streams<'_>) -> Result<Status, Failure> {
    let inputs = Inputs::read(&args.pattern, args.to.as_deref(), streams)?;
    let ready = match inputs.ready() {
        Ok(ready) => ready,
        Err(findings) => return Ok(inputs.refuse(findings, streams)),
    };
    let rewritten = match ready.rewritten() {
        Ok(rewritten) => rewritten,
        Err(findings) => return Ok(inputs.refuse(findings, streams)),
    };
    let model = model::build(&ready.document).model;
    let mut numbers = why::all_reasons(ready.source, &model, &rewritten.plan);
    if let Some(line) = args.line {
        numbers.retain(|number| number.line == line);
        if numbers.is_empty() {
            return Err(Failure::new(format!("no number of line {line} was chosen"))
                .help("without `--line` all chosen numbers are shown"));
        }
    }
    if let Some(size) = &args.size {
        let sizes: Vec<&str> = rewritten.plan.goal.sizes.iter().map(|s| s.name.as_str()).collect();
        if !sizes.contains(&size.as_str()) {
            let known: Vec<String> = sizes.iter().map(|s| format!("`{s}`")).collect();
            return Err(Failure::new(format!("there is no size `{size}`"))
                .help(format!("the sizes are {}", words::list(&known, "and"))));
        }
        for number in &mut numbers {
            number.sizes.retain(|in_size| in_size.size == *size);
        }
    }
    let text = match args.form {
        Form::Text => why::text(&numbers),
        Form::Json => {
            format!("{:#}\n", json!({ "pattern": ready.source.name, "numbers": numbers }))
        }
    };
    streams.print(&text)?;
    Ok(Status::Done)
}
