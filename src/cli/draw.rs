//! `wale draw`: outlines of pieces and charts of fabrics.

use super::args::Draw;
use super::rewriting::{Inputs, shown};
use super::{Failure, Status, Streams, out, output};
use crate::diag::words;
use crate::page::{self, Drawing};
use std::fs;
use std::path::Path;

pub(super) fn run(args: &Draw, streams: &mut Streams<'_>) -> Result<Status, Failure> {
    let size = args.size.as_deref();
    let inputs = Inputs::read(&args.pattern, None, streams)?;
    let source = match inputs.ready() {
        Ok(ready) => ready.source,
        Err(findings) => return Ok(inputs.refuse(findings, streams)),
    };
    let drawn = match &args.over {
        None => page::draw(source, size),
        Some(old) => {
            super::input::once([&args.pattern, old].into_iter())?;
            let older = Inputs::read(old, None, streams)?;
            let old = match older.ready() {
                Ok(ready) => ready.source,
                Err(findings) => return Ok(older.refuse(findings, streams)),
            };
            // What is wrong with the old pattern is told by its own lines.
            if let Err(findings) = page::draw(old, size) {
                streams.tell(&shown(&findings, old, None, streams));
                return Ok(Status::of(&findings, true));
            }
            page::draw_over(old, source, size)
        }
    };
    match drawn {
        Ok(drawings) => write(args, &chosen(args, drawings)?, streams),
        Err(findings) => {
            streams.tell(&shown(&findings, source, None, streams));
            Ok(Status::of(&findings, true))
        }
    }
}

/// The drawings asked for; never none.
fn chosen(args: &Draw, drawings: Vec<Drawing>) -> Result<Vec<Drawing>, Failure> {
    if drawings.is_empty() {
        return Err(Failure::new("there is nothing to draw")
            .help("an outline needs `rows:` in its gauge, a chart the rows of a fabric"));
    }
    let Some(name) = &args.piece else { return Ok(drawings) };
    let names = listed(&drawings);
    let found: Vec<Drawing> =
        drawings.into_iter().filter(|d| d.name.eq_ignore_ascii_case(name)).collect();
    if found.is_empty() {
        return Err(Failure::new(format!("there is no drawing of `{name}`"))
            .help(format!("there are drawings of {names}")));
    }
    Ok(found)
}

fn listed(drawings: &[Drawing]) -> String {
    let names: Vec<String> = drawings.iter().map(|d| format!("`{}`", d.name)).collect();
    words::list(&names, "and")
}

fn write(args: &Draw, drawings: &[Drawing], streams: &mut Streams<'_>) -> Result<Status, Failure> {
    match (&args.output, drawings) {
        (Some(folder), drawings) => {
            made(folder)?;
            let read = [Some(args.pattern.as_path()), args.over.as_deref()];
            for drawing in drawings {
                let path = folder.join(&drawing.file);
                output::write(&path, &drawing.svg, read.into_iter().flatten())?;
            }
        }
        (None, [only]) => streams.print(&only.svg)?,
        (None, drawings) => {
            return Err(Failure::new(format!("there are {} drawings", drawings.len())).help(
                format!("name a folder with `-o`, or one of {} with `--piece`", listed(drawings)),
            ));
        }
    }
    Ok(Status::Done)
}

fn made(folder: &Path) -> Result<(), Failure> {
    fs::create_dir_all(folder).map_err(|error| {
        Failure::new(format!("cannot make {}: {}", folder.display(), out::reason(&error)))
    })
}
