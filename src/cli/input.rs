//! Reading a pattern or a targets file, or standard input for `-`.

use super::{Failure, out};
use crate::diag::{Code, Finding};
use crate::source::{Source, Span};
use crate::syntax::MAX_BYTES;
use std::fs::File;
use std::io::{self, ErrorKind, Read};
use std::path::{Path, PathBuf};

/// A file's text, or what of it can be shown and the finding that it is none.
pub(super) enum Input {
    /// Text.
    Text(Source),
    /// Not text, or too much of it.
    Refused(Source, Finding),
}

impl Input {
    /// The text, as far as it can be shown.
    pub(super) fn source(&self) -> &Source {
        match self {
            Self::Text(source) | Self::Refused(source, _) => source,
        }
    }
}

/// Whether a path means standard input.
fn is_stdin(path: &Path) -> bool {
    path.as_os_str() == "-"
}

/// Standard input can be read only once.
pub(super) fn once<'a>(paths: impl Iterator<Item = &'a PathBuf>) -> Result<(), Failure> {
    if paths.filter(|path| is_stdin(path)).count() > 1 {
        return Err(Failure::new("standard input, `-`, is named twice")
            .help("it can be read only once: name a file for the other"));
    }
    Ok(())
}

/// Reads a file whole, or standard input for `-`.
pub(super) fn read(path: &Path, stdin: &mut dyn Read) -> Result<Input, Failure> {
    let (name, bytes) = if is_stdin(path) {
        ("standard input".to_owned(), up_to_largest(stdin))
    } else {
        (path.display().to_string(), read_file(path))
    };
    match bytes {
        Ok(bytes) => Ok(decode(name, bytes)),
        Err(error) => Err(Failure::new(format!("cannot read {name}: {}", out::reason(&error)))),
    }
}

fn read_file(path: &Path) -> io::Result<Vec<u8>> {
    let mut file = File::open(path)?;
    if file.metadata()?.is_dir() {
        return Err(ErrorKind::IsADirectory.into());
    }
    up_to_largest(&mut file)
}

/// One byte more than is allowed at most, so that too much can be told from enough.
fn up_to_largest(from: &mut dyn Read) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    from.take(MAX_BYTES as u64 + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

fn decode(name: String, bytes: Vec<u8>) -> Input {
    if bytes.len() > MAX_BYTES {
        let message = format!("{name} has more than {MAX_BYTES} bytes");
        let mut finding =
            Finding::new(Code::TooLarge, Span::at(0), message).help("give the file of one pattern");
        // Nothing of it is worth showing.
        finding.labels.clear();
        return Input::Refused(Source::new(name, ""), finding);
    }
    match String::from_utf8(bytes) {
        Ok(text) => Input::Text(Source::new(name, text)),
        Err(error) => {
            let start = error.utf8_error().valid_up_to();
            let finding = not_text(error.as_bytes(), start);
            let shown = String::from_utf8_lossy(error.as_bytes()).into_owned();
            Input::Refused(Source::new(name, shown), finding)
        }
    }
}

/// The finding that the bytes from `start` on are not UTF-8.
fn not_text(bytes: &[u8], start: usize) -> Finding {
    let mark = Span::new(start, start + char::REPLACEMENT_CHARACTER.len_utf8());
    let byte = bytes.get(start).copied().unwrap_or_default();
    let finding = Finding::new(Code::Unreadable, mark, "the file is not text in UTF-8")
        .label(format!("byte {byte:#04X}"))
        .note(format!("it stands at offset {start}, counted from 0"));
    if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) {
        finding.help("it looks like UTF-16: save it as UTF-8")
    } else {
        finding.help("open it in the editor it was written with, and save it as UTF-8")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::render::{Style, text};
    use insta::assert_snapshot;

    fn refused(bytes: &[u8]) -> String {
        match decode("cap.wale".into(), bytes.into()) {
            Input::Text(_) => "text".into(),
            Input::Refused(source, finding) => text(&[finding], &source, None, Style::default()),
        }
    }

    #[test]
    fn text_is_taken_to_the_byte() {
        let bytes = "\u{feff}título\r\n\0";
        match decode("cap.wale".into(), bytes.into()) {
            Input::Text(source) => assert_eq!(source.text, bytes),
            Input::Refused(..) => panic!("it is text"),
        }
    }

    #[test]
    fn the_first_byte_that_is_no_text_is_shown() {
        assert_snapshot!(refused(b"title: Slipway\ntitle: caf\xe9 cap\n"), @"
        error[unreadable]: the file is not text in UTF-8
         --> cap.wale:2:11
          |
        2 | title: caf� cap
          |           ^ byte 0xE9
          |
          = note: it stands at offset 25, counted from 0
          = help: open it in the editor it was written with, and save it as UTF-8
        ");
        assert_snapshot!(refused(b"\xff\xfeC\0a\0p\0"), @"
        error[unreadable]: the file is not text in UTF-8
         --> cap.wale:1:1
          |
        1 | ��C␀a␀p␀
          | ^ byte 0xFF
          |
          = note: it stands at offset 0, counted from 0
          = help: it looks like UTF-16: save it as UTF-8
        ");
        assert_snapshot!(refused(b"cut off in a letter \xc3"), @"
        error[unreadable]: the file is not text in UTF-8
         --> cap.wale:1:21
          |
        1 | cut off in a letter �
          |                     ^ byte 0xC3
          |
          = note: it stands at offset 20, counted from 0
          = help: open it in the editor it was written with, and save it as UTF-8
        ");
    }

    #[test]
    fn no_more_is_read_than_the_largest_pattern() {
        let mut endless = io::repeat(b'k');
        let read = up_to_largest(&mut endless).expect("it can be read");
        assert_eq!(read.len(), MAX_BYTES + 1);
        assert_snapshot!(refused(&read), @"
        error[too-large]: cap.wale has more than 1000000 bytes
         |
         = help: give the file of one pattern
        ");
        assert_eq!(refused(&read[..MAX_BYTES]), "text");
    }
}
