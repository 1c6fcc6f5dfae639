//! Pages in a real browser: only where it is asked for, since it needs a browser and the packages
//! of `tests/browser`, whose `run` says how to install them.

use std::env;
use std::path::Path;
use std::process::Command;

#[test]
fn pages_are_valid_accessible_and_quiet_in_a_browser() {
    if env::var_os("WALE_BROWSER").is_none() {
        eprintln!("not asked for: set WALE_BROWSER, see tests/browser/run");
        return;
    }
    let run = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/browser/run");
    let status = Command::new("bash").arg(run).status().expect("bash can be started");
    assert!(status.success(), "{status}");
}
