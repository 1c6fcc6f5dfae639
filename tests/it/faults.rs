//! Faults of the machine: each is told plainly, and nothing is lost.

use crate::run::shell;

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
