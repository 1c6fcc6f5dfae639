//! Runs the real `wale` on files in a folder of its own, and compares everything it says.

use std::ffi::OsStr;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use tempfile::TempDir;

/// A command line that is being put together, and the folder it runs in.
pub(crate) struct Wale {
    folder: TempDir,
    command: Command,
    stdin: Vec<u8>,
}

/// What a finished run left behind.
pub(crate) struct Outcome {
    folder: TempDir,
    stdout: String,
    stderr: String,
    code: Option<i32>,
}

/// `wale` with arguments.
pub(crate) fn wale<S: AsRef<OsStr>>(args: impl IntoIterator<Item = S>) -> Wale {
    let folder = TempDir::new().expect("a temporary folder can be made");
    let mut command = Command::new(env!("CARGO_BIN_EXE_wale"));
    command.args(args).current_dir(folder.path()).env_clear();
    Wale { folder, command, stdin: Vec::new() }
}

/// A command line of the shell, where `wale` means the real one.
#[cfg(unix)]
pub(crate) fn shell(line: &str) -> Wale {
    let mut run = wale([""; 0]);
    let mut command = Command::new("sh");
    command.args(["-c", &format!("wale() {{ \"$WALE\" \"$@\"; }}\n{line}")]);
    command.current_dir(run.folder.path()).env("WALE", env!("CARGO_BIN_EXE_wale"));
    command.env_remove("NO_COLOR").env_remove("CLICOLOR_FORCE");
    run.command = command;
    run
}

impl Wale {
    /// With a file of this name and text in its folder.
    pub(crate) fn file(self, name: &str, text: impl AsRef<[u8]>) -> Self {
        fs::write(self.folder.path().join(name), text).expect("a file can be written");
        self
    }

    /// With a folder of this name in its folder.
    pub(crate) fn folder(self, name: &str) -> Self {
        fs::create_dir(self.folder.path().join(name)).expect("a folder can be made");
        self
    }

    /// With something done to a file or folder before the run.
    pub(crate) fn with(self, name: &str, change: impl FnOnce(&Path)) -> Self {
        change(&self.folder.path().join(name));
        self
    }

    /// With this on standard input.
    pub(crate) fn stdin(mut self, text: impl Into<Vec<u8>>) -> Self {
        self.stdin = text.into();
        self
    }

    /// With a variable of the environment.
    pub(crate) fn env(mut self, name: &str, value: &str) -> Self {
        self.command.env(name, value);
        self
    }

    /// Runs it to its end.
    pub(crate) fn run(mut self) -> Outcome {
        self.command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = self.command.spawn().expect("wale can be started");
        let mut stdin = child.stdin.take().expect("standard input is a pipe");
        let text = std::mem::take(&mut self.stdin);
        // A run that does not read its input closes the pipe; that is its right.
        let feed = std::thread::spawn(move || stdin.write_all(&text).is_ok());
        let output = child.wait_with_output().expect("wale ends");
        feed.join().expect("the input was offered");
        Outcome {
            folder: self.folder,
            stdout: String::from_utf8(output.stdout).expect("standard output is text"),
            stderr: String::from_utf8(output.stderr).expect("standard error is text"),
            code: output.status.code(),
        }
    }
}

impl Outcome {
    /// Asserts everything at once. What is not mentioned must be empty.
    #[track_caller]
    pub(crate) fn is(&self, code: i32, stdout: &str, stderr: &str) {
        assert_eq!(
            (self.code, self.stdout.as_str(), self.stderr.as_str()),
            (Some(code), stdout, stderr),
            "\n--- standard output\n{}\n--- standard error\n{}",
            self.stdout,
            self.stderr
        );
    }

    /// All of it, for a snapshot.
    pub(crate) fn all(&self) -> String {
        let code =
            self.code.map_or_else(|| "ended by a signal".to_owned(), |c| format!("status {c}"));
        let part = |name, text: &str| {
            if text.is_empty() { String::new() } else { format!("\n--- {name}\n{text}") }
        };
        format!(
            "{code}{}{}",
            part("standard output", &self.stdout),
            part("standard error", &self.stderr)
        )
    }

    pub(crate) fn stdout(&self) -> &str {
        &self.stdout
    }

    pub(crate) fn stderr(&self) -> &str {
        &self.stderr
    }

    pub(crate) fn code(&self) -> Option<i32> {
        self.code
    }

    /// What a file in the folder holds now.
    #[track_caller]
    pub(crate) fn read(&self, name: &str) -> String {
        fs::read_to_string(self.folder.path().join(name)).expect("the file is there")
    }

    /// The names of all files in the folder, in order.
    pub(crate) fn files(&self) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(self.folder.path())
            .expect("the folder can be listed")
            .map(|entry| entry.expect("an entry can be read").file_name())
            .map(|name| name.to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }

    /// Where a file in the folder is.
    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }
}
