//! Standard output and standard error: held back in a buffer, and content when
//! nobody reads to the end.

use super::When;
use crate::diag::render::Style;
use std::io::{self, BufWriter, ErrorKind, Write};

/// A stream that does not mind its reader going away.
pub(super) struct Out<'a> {
    to: BufWriter<Tolerant<'a>>,
    color: bool,
}

impl<'a> Out<'a> {
    pub(super) fn new(to: &'a mut dyn Write, color: bool) -> Self {
        Self { to: BufWriter::new(Tolerant { to, closed: false }), color }
    }

    pub(super) fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.to.write_all(bytes)
    }

    pub(super) fn flush(&mut self) -> io::Result<()> {
        self.to.flush()
    }

    /// How findings look on this stream.
    pub(super) fn style(&self) -> Style {
        Style { color: self.color }
    }
}

/// Drops everything once the reader has gone.
struct Tolerant<'a> {
    to: &'a mut dyn Write,
    closed: bool,
}

impl Tolerant<'_> {
    fn tolerate<T>(&mut self, result: io::Result<T>, otherwise: T) -> io::Result<T> {
        match result {
            Err(error) if error.kind() == ErrorKind::BrokenPipe => {
                self.closed = true;
                Ok(otherwise)
            }
            other => other,
        }
    }
}

impl Write for Tolerant<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.closed {
            return Ok(bytes.len());
        }
        let result = self.to.write(bytes);
        self.tolerate(result, bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        if self.closed {
            return Ok(());
        }
        let result = self.to.flush();
        self.tolerate(result, ())
    }
}

/// What went wrong with a file or a stream, in plain words.
pub(super) fn reason(error: &io::Error) -> String {
    match error.kind() {
        ErrorKind::NotFound => "there is no such file or folder".to_owned(),
        ErrorKind::PermissionDenied => "that is not allowed".to_owned(),
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => "there is no room left".to_owned(),
        ErrorKind::FileTooLarge => "the file may not become that large".to_owned(),
        ErrorKind::ReadOnlyFilesystem => "it can only be read from".to_owned(),
        ErrorKind::IsADirectory => "it is a folder".to_owned(),
        ErrorKind::NotADirectory => "a part of its path is not a folder".to_owned(),
        _ => error.to_string(),
    }
}

impl When {
    /// Whether there is color, on a stream that would or would not have it by itself.
    pub(super) fn or(self, auto: bool) -> bool {
        match self {
            Self::Auto => auto,
            Self::Always => true,
            Self::Never => false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Takes a number of bytes, then has gone away.
    struct Leaves(usize);

    impl Write for Leaves {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            if self.0 == 0 {
                return Err(ErrorKind::BrokenPipe.into());
            }
            let taken = bytes.len().min(self.0);
            self.0 -= taken;
            Ok(taken)
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn a_reader_that_leaves_is_no_error() -> io::Result<()> {
        let mut reader = Leaves(3);
        let mut out = Out::new(&mut reader, false);
        out.write(b"cast on 96")?;
        out.flush()?;
        out.write(b"and more")?;
        out.flush()
    }

    #[test]
    fn any_other_fault_is_told() {
        struct Full;
        impl Write for Full {
            fn write(&mut self, _: &[u8]) -> io::Result<usize> {
                Err(ErrorKind::StorageFull.into())
            }
            fn flush(&mut self) -> io::Result<()> {
                Ok(())
            }
        }
        let mut full = Full;
        let mut out = Out::new(&mut full, false);
        let error = out.write(b"cast on").and_then(|()| out.flush()).map_err(|e| reason(&e));
        assert_eq!(error, Err("there is no room left".to_owned()));
    }
}
