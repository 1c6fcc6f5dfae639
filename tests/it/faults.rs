//! Faults of the machine: each is told plainly, and nothing is lost.

use crate::run::{Outcome, Wale, shell, wale};
use walewright::diag::Code;

/// A pattern that is longer than one block of a disk.
fn long_pattern() -> String {
    let cap = Code::BandEstimated.right().expect("it has one").pattern;
    format!("{cap}\n## Finishing\n\n{}\n", "Weave in the ends and block the cap. ".repeat(200))
}

/// The folder of a rewrite to `new.wale`, where an older one stands already.
fn rewriting(run: Wale) -> Wale {
    run.file("cap.wale", long_pattern()).file("new.wale", "the old one\n")
}

#[track_caller]
fn old_file_is_whole(outcome: &Outcome) {
    assert_eq!(outcome.read("new.wale"), "the old one\n");
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_behind_standard_output_is_told() {
    shell("wale explain > /dev/full").run().is(
        2,
        "",
        "error: cannot write to standard output: there is no room left\n",
    );
}

#[test]
fn a_reader_that_stops_early_is_no_error() {
    // The status of `wale` itself, since a pipe gives that of its last command. `sleep` lets `head`
    // be gone before anything is written.
    let line = "{ sleep 0.3; wale explain; echo status $? >&2; } | head -c 0";
    shell(line).run().is(0, "", "status 0\n");
}

#[cfg(target_os = "linux")]
#[test]
fn a_fault_of_standard_error_changes_no_status() {
    shell("wale explain weather 2> /dev/full").run().is(2, "", "");
    shell("wale explain weather 2>&-").run().is(2, "", "");
}

#[cfg(target_os = "linux")]
#[test]
fn an_endless_file_is_refused_and_not_waited_for() {
    let outcome = wale(["check", "/dev/zero"]).run();
    assert_eq!(outcome.code(), Some(1));
    assert!(
        outcome.stdout().starts_with("error[too-large]: /dev/zero has more than 1000000 bytes\n")
    );
}

#[test]
fn a_file_that_may_not_be_read_is_told() {
    use std::os::unix::fs::PermissionsExt as _;
    let close = |path: &std::path::Path| {
        let closed = std::fs::Permissions::from_mode(0o000);
        std::fs::set_permissions(path, closed).expect("they can be set");
    };
    let outcome =
        wale(["check", "scarf.wale"]).file("scarf.wale", "").with("scarf.wale", close).run();
    if std::fs::read(outcome.path("scarf.wale")).is_ok() {
        // Permissions do not bind the superuser, so there is no such fault to show.
        eprintln!("not checked: this user may read a file without permission");
        assert_eq!(outcome.code(), Some(1));
    } else {
        outcome.is(2, "", "error: cannot read scarf.wale: that is not allowed\n");
    }
}

/// This one nobody can read, whatever they are allowed: its first page is not mapped.
#[cfg(target_os = "linux")]
#[test]
fn a_file_that_cannot_be_read_is_told() {
    let outcome = wale(["check", "/proc/self/mem"]).run();
    assert_eq!((outcome.code(), outcome.stdout()), (Some(2), ""));
    assert!(
        outcome.stderr().starts_with("error: cannot read /proc/self/mem: "),
        "{}",
        outcome.stderr()
    );
}

/// The largest file a process may write is one block: the disk is as good as full.
#[test]
fn a_disk_that_fills_up_leaves_the_old_file_whole() {
    let line = "trap '' XFSZ; ulimit -f 1; wale rewrite cap.wale -o new.wale";
    let outcome = rewriting(shell(line)).run();
    outcome.is(2, "", "error: cannot write new.wale: the file may not become that large\n");
    old_file_is_whole(&outcome);
    assert_eq!(outcome.files(), ["cap.wale", "new.wale"]);
}

/// The same limit, but the process is killed at the block that does not fit.
#[test]
fn a_run_that_is_killed_half_way_leaves_the_old_file_whole() {
    let line = "ulimit -c 0; ulimit -f 1; exec \"$WALE\" rewrite cap.wale -o new.wale";
    let outcome = rewriting(shell(line)).run();
    assert_eq!(outcome.code(), None, "{}", outcome.all());
    old_file_is_whole(&outcome);
    // What was written half-way is left behind, under a name that shows what it is.
    let left: Vec<String> =
        outcome.files().into_iter().filter(|name| name.ends_with(".tmp")).collect();
    assert!(matches!(left.as_slice(), [name] if name.starts_with(".wale-")), "{left:?}");
}

#[test]
fn without_such_a_fault_the_file_is_replaced() {
    let outcome = rewriting(shell("wale rewrite cap.wale -o new.wale")).run();
    outcome.is(0, "", "");
    assert_eq!(outcome.read("new.wale"), long_pattern());
    assert_eq!(outcome.files(), ["cap.wale", "new.wale"]);
}

#[test]
fn a_folder_in_the_place_of_the_output_is_told() {
    let outcome = wale(["rewrite", "cap.wale", "-o", "caps"])
        .file("cap.wale", long_pattern())
        .folder("caps")
        .run();
    outcome.is(2, "", "error: cannot write caps: it is a folder\nhelp: name a file in it\n");
}

#[test]
fn a_read_only_output_is_left_alone() {
    let outcome = rewriting(wale(["rewrite", "cap.wale", "-o", "new.wale"]))
        .with("new.wale", |path| {
            let mut permissions = std::fs::metadata(path).expect("it is there").permissions();
            permissions.set_readonly(true);
            std::fs::set_permissions(path, permissions).expect("they can be set");
        })
        .run();
    outcome.is(2, "", "error: cannot write new.wale: it is read-only\n");
    old_file_is_whole(&outcome);
}

#[cfg(target_os = "linux")]
#[test]
fn a_device_as_output_is_written_to_and_not_replaced() {
    let run = |device| {
        let args = ["rewrite", "cap.wale", "--as", "source", "-o", device];
        wale(args).file("cap.wale", long_pattern()).run()
    };
    run("/dev/full").is(2, "", "error: cannot write /dev/full: there is no room left\n");
    run("/dev/null").is(0, "", "");
    run("/dev/stdout").is(0, &long_pattern(), "");
}

#[test]
fn a_rewrite_whose_reader_stops_early_is_no_error() {
    let line = "{ sleep 0.3; wale rewrite cap.wale; echo status $? >&2; } | head -c 0";
    shell(line).file("cap.wale", long_pattern()).run().is(0, "", "status 0\n");
}
