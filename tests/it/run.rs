//! Runs the real `wale` on files in a folder of its own, and compares everything it says.

use std::ffi::OsStr;
use std::process::{Command, Stdio};
use tempfile::TempDir;

/// A command line that is being put together, and the folder it runs in.
pub(crate) struct Wale {
    folder: TempDir,
    command: Command,
}

/// What a finished run left behind.
pub(crate) struct Outcome {
    stdout: String,
    stderr: String,
    code: Option<i32>,
}

/// `wale` with arguments.
pub(crate) fn wale<S: AsRef<OsStr>>(args: impl IntoIterator<Item = S>) -> Wale {
    let folder = TempDir::new().expect("a temporary folder can be made");
    let mut command = Command::new(env!("CARGO_BIN_EXE_wale"));
    command.args(args).current_dir(folder.path()).env_clear();
    Wale { folder, command }
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
    /// With a variable of the environment.
    pub(crate) fn env(mut self, name: &str, value: &str) -> Self {
        self.command.env(name, value);
        self
    }

    /// Runs it to its end.
    pub(crate) fn run(mut self) -> Outcome {
        self.command.stdin(Stdio::null());
        let output = self.command.output().expect("wale can be started");
        Outcome {
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
}
