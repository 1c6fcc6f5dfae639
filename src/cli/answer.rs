//! Prints the answer to a quick question.

use super::args::Form;
use super::{Failure, Status, Streams};
use crate::quick::Answer;
use serde::Serialize;
use std::fmt::Display;

/// Prints an answer with its working, or says why there is none.
pub(super) fn print<R: Serialize, E: Display>(
    answer: Result<Answer<R>, E>,
    form: Form,
    streams: &mut Streams<'_>,
) -> Result<Status, Failure> {
    let answer = answer.map_err(|why| Failure::new(why.to_string()))?;
    let text = match form {
        Form::Text => answer.to_string(),
        Form::Json => json(&answer)?,
    };
    streams.print(&text)?;
    Ok(Status::Done)
}

/// An answer for programs.
pub(super) fn json<R: Serialize>(answer: &Answer<R>) -> Result<String, Failure> {
    match serde_json::to_string_pretty(answer) {
        Ok(text) => Ok(text + "\n"),
        Err(error) => Err(Failure::new(format!("the answer cannot be written as JSON: {error}"))),
    }
}
