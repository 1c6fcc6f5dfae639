//! The command line does what its help says, and says what it did.

use crate::run::wale;
use insta::assert_snapshot;
use std::ffi::OsString;
use walewright::cli::{Io, command, run};
use walewright::diag::Code;

#[test]
fn the_command_reference_is_the_help_of_every_command() {
    let mut all = command().term_width(100);
    all.build();
    let mut page = String::from("# Commands\n");
    let names: Vec<String> =
        all.get_subcommands().map(|command| command.get_name().to_owned()).collect();
    let mut add = |title: &str, command: &mut clap::Command| {
        page += &format!("\n## `{title}`\n\n```text\n{}```\n", command.render_long_help());
    };
    add("wale", &mut all);
    for name in names {
        let command = all.find_subcommand_mut(&name).expect("it was listed");
        add(&format!("wale {name}"), command);
    }
    insta::with_settings!({ omit_expression => true, prepend_module_to_snapshot => false }, {
        assert_snapshot!("commands", page);
    });
}

#[test]
fn help_of_every_command_opens_with_a_sentence_and_an_example() {
    for command in command().get_subcommands() {
        let name = command.get_name();
        let help = wale([name, "--help"]).run();
        let mut lines = help.stdout().lines();
        assert!(lines.next().is_some_and(|line| line.len() > 10), "{name}");
        assert_eq!(lines.next(), Some(""), "{name}");
        assert_eq!(lines.next(), Some("Example:"), "{name}");
        assert_eq!(lines.next(), Some(""), "{name}");
        assert!(lines.next().is_some_and(|line| line.contains(&format!("wale {name}"))), "{name}");
        assert_eq!((help.code(), help.stderr()), (Some(0), ""), "{name}");
    }
}

#[test]
fn no_command_is_an_error_with_help() {
    let outcome = wale([""; 0]).run();
    assert_eq!((outcome.code(), outcome.stdout()), (Some(2), ""));
    assert!(outcome.stderr().contains("Usage: wale"));
}

#[test]
fn an_unknown_command_is_named_and_a_near_one_offered() {
    assert_snapshot!(wale(["explian"]).run().all(), @"
    status 2
    --- standard error
    error: unrecognized subcommand 'explian'

      tip: a similar subcommand exists: 'explain'

    Usage: wale [OPTIONS] <COMMAND>

    For more information, try '--help'.
    ");
}

#[test]
fn explain_prints_the_page_of_a_code() {
    for code in Code::all() {
        let title = format!("# {}[{}]: {}\n\n", code.severity().word(), code.name(), code.title());
        wale(["explain", code.name()]).run().is(0, &(title + code.page()), "");
    }
}

#[test]
fn explain_without_a_code_lists_them_all() {
    let outcome = wale(["explain"]).run();
    let names: Vec<&str> =
        outcome.stdout().lines().filter_map(|line| line.split_whitespace().next()).collect();
    assert_eq!(names, Code::all().map(Code::name).collect::<Vec<_>>());
    assert_eq!((outcome.code(), outcome.stderr()), (Some(0), ""));
}

#[test]
fn explain_offers_a_similar_code() {
    assert_snapshot!(wale(["explain", "row-shrot"]).run().all(), @"
    status 2
    --- standard error
    error: there is no finding with the code `row-shrot`
    help: a similar code is `row-short`
    ");
    assert_snapshot!(wale(["explain", "weather"]).run().all(), @"
    status 2
    --- standard error
    error: there is no finding with the code `weather`
    help: `wale explain` lists all codes
    ");
}

#[test]
fn color_is_used_when_asked_for() {
    let colored = wale(["explain", "weather", "--color", "always"]).run();
    assert!(colored.stderr().contains("\u{1b}["));
    let forced = wale(["explain", "weather"]).env("CLICOLOR_FORCE", "1").run();
    assert_eq!(forced.stderr(), colored.stderr());
    let refused =
        wale(["explain", "weather"]).env("CLICOLOR_FORCE", "1").env("NO_COLOR", "1").run();
    assert!(!refused.stderr().contains('\u{1b}'));
    let never = wale(["explain", "weather", "--color=never"]).env("CLICOLOR_FORCE", "1").run();
    assert!(!never.stderr().contains('\u{1b}'));
}

#[test]
fn completions_know_every_command() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let script = wale(["completions", shell]).run();
        assert_eq!((script.code(), script.stderr()), (Some(0), ""));
        for command in command().get_subcommands() {
            assert!(script.stdout().contains(command.get_name()), "{shell}");
        }
    }
}

#[test]
fn every_command_has_a_manual_page() {
    let whole = wale(["man"]).run();
    for command in command().get_subcommands() {
        let name = command.get_name();
        assert!(whole.stdout().contains(&format!("wale\\-{name}(1)")), "{name}");
        let page = wale(["man", name]).run();
        assert_eq!((page.code(), page.stderr()), (Some(0), ""));
        assert!(page.stdout().contains(&format!(".TH wale-{name} 1")), "{name}");
    }
    assert_eq!(wale(["man", "weather"]).run().code(), Some(2));
}

/// Runs it inside this process.
fn inside(args: &[&str]) -> (i32, String, String) {
    let (mut stdout, mut stderr) = (Vec::new(), Vec::new());
    let status = run(
        std::iter::once("wale").chain(args.iter().copied()).map(OsString::from),
        &mut Io {
            stdin: &mut std::io::empty(),
            stdout: &mut stdout,
            stderr: &mut stderr,
            color_stdout: false,
            color_stderr: false,
        },
    );
    let text = |bytes| String::from_utf8(bytes).expect("it is text");
    (status, text(stdout), text(stderr))
}

#[test]
fn it_can_run_twice_in_one_process() {
    let first = inside(&["explain", "row-short"]);
    assert_eq!(inside(&["explain", "weather"]).0, 2);
    assert_eq!(inside(&["explain", "row-short"]), first);
    assert_eq!(first.0, 0);
}
