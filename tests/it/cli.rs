//! The command line does what its help says, and says what it did.

use crate::run::wale;
use insta::assert_snapshot;
use std::ffi::OsString;
use walewright::cli::{Io, command, run};
use walewright::diag::Code;

/// The page is the help itself: `WALE_WRITE=1 cargo test --test it command_reference` writes it anew.
#[test]
fn the_command_reference_is_the_help_of_every_command() {
    let mut all = command().term_width(100);
    all.build();
    let mut page = String::from(
        "# Commands\n\nWhat `wale COMMAND --help` says, command by command; `wale man COMMAND` \
         prints it as a manual page,\nand `wale completions SHELL` a script that completes it.\n",
    );
    let names: Vec<String> =
        all.get_subcommands().map(|command| command.get_name().to_owned()).collect();
    let mut add = |title: &str, command: &mut clap::Command| {
        let help = command.render_long_help().to_string();
        let lines: Vec<&str> = help.lines().map(str::trim_end).collect();
        page += &format!("\n## `{title}`\n\n```text\n{}\n```\n", lines.join("\n"));
    };
    add("wale", &mut all);
    for name in names {
        let command = all.find_subcommand_mut(&name).expect("it was listed");
        add(&format!("wale {name}"), command);
    }
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/src/cli/commands.md");
    if std::env::var_os("WALE_WRITE").is_some() {
        std::fs::write(path, &page).expect("it can be written");
    }
    let published = std::fs::read_to_string(path).expect("the page");
    for (line, (ours, theirs)) in (1..).zip(page.lines().zip(published.lines())) {
        assert_eq!(ours, theirs, "line {line} of commands.md is not what the help says");
    }
    assert_eq!(page.len(), published.len(), "commands.md is longer or shorter than the help");
}

#[test]
fn help_of_every_command_opens_with_a_sentence_and_an_example() {
    for command in command().get_subcommands() {
        let name = command.get_name();
        let help = wale([name, "--help"]).run();
        let mut lines = help.stdout().lines();
        assert!(lines.next().is_some_and(|line| line.len() > 10), "{name}");
        assert_eq!(lines.next(), Some(""), "{name}");
        assert!(matches!(lines.next(), Some("Example:" | "Examples:")), "{name}");
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

/// A pattern without findings.
fn right() -> &'static str {
    Code::RowShort.right().expect("it has one").pattern
}

/// A pattern with one error.
fn wrong() -> &'static str {
    Code::RowShort.wrong().expect("it has one").pattern
}

/// A pattern with one warning.
fn doubtful() -> &'static str {
    Code::StitchesLeft.wrong().expect("it has one").pattern
}

#[test]
fn check_says_so_when_nothing_is_found() {
    wale(["check", "scarf.wale"]).file("scarf.wale", right()).run().is(
        0,
        "scarf.wale: no findings\n",
        "",
    );
}

#[test]
fn check_shows_an_error_and_ends_with_1() {
    assert_snapshot!(wale(["check", "scarf.wale"]).file("scarf.wale", wrong()).run().all(), @"
    status 1
    --- standard output
    error[row-short]: this needs 44 stitches and there are 40
      --> scarf.wale:10:20
       |
    10 | - row 1 (RS): k20, p24
       |                    ^^^ runs out 4 short
       |
       = help: take stitches out of the row, or correct the count before it

    scarf.wale: 1 error
    ");
}

#[test]
fn check_ends_with_0_on_warnings_unless_they_are_denied() {
    let run = |args: &[&str]| wale(args).file("scarf.wale", doubtful()).run();
    let lenient = run(&["check", "scarf.wale"]);
    assert_snapshot!(lenient.all(), @"
    status 0
    --- standard output
    warning[stitches-left]: the piece ends with 40 stitches still on the needle
     --> scarf.wale:7:4
      |
    7 | ## Scarf, flat
      |    ^^^^^ never bound off
      |
      = help: bind off, draw through, or hold the stitches

    scarf.wale: 1 warning
    ");
    run(&["check", "scarf.wale", "--deny-warnings"]).is(1, lenient.stdout(), "");
}

#[test]
fn check_goes_on_past_a_file_it_cannot_read() {
    let outcome = wale(["check", "lost.wale", "scarf.wale", "caps"])
        .file("scarf.wale", right())
        .folder("caps")
        .run();
    outcome.is(
        2,
        "scarf.wale: no findings\n",
        "error: cannot read lost.wale: there is no such file or folder\n\
         error: cannot read caps: it is a folder\n",
    );
}

#[test]
fn check_reads_standard_input_once() {
    wale(["check", "-"]).stdin(right()).run().is(0, "standard input: no findings\n", "");
    assert_snapshot!(wale(["check", "-", "-"]).stdin(right()).run().all(), @"
    status 2
    --- standard error
    error: standard input, `-`, is named twice
    help: it can be read only once: name a file for the other
    ");
}

#[test]
fn check_as_json_points_at_the_same_place() {
    let outcome = wale(["check", "--as", "json", "a.wale", "b.wale"])
        .file("a.wale", wrong())
        .file("b.wale", right())
        .run();
    assert_eq!((outcome.code(), outcome.stderr()), (Some(1), ""));
    let files: serde_json::Value = serde_json::from_str(outcome.stdout()).expect("it is JSON");
    assert_eq!((&files[0]["file"], &files[0]["errors"]), (&"a.wale".into(), &1.into()));
    assert_eq!(
        (&files[1]["file"], &files[1]["findings"]),
        (&"b.wale".into(), &[(); 0].into_iter().collect())
    );
    let finding = &files[0]["findings"][0];
    assert_eq!(finding["code"], "row-short");
    let byte =
        |i: usize| usize::try_from(finding["bytes"][i].as_u64().expect("a number")).expect("small");
    let line = wrong()
        .lines()
        .nth(finding["line"].as_u64().expect("a number") as usize - 1)
        .expect("a line");
    let marked = &wrong()[byte(0)..byte(1)];
    assert!(!marked.is_empty() && line.contains(marked), "{marked:?} in {line:?}");
}

#[test]
fn check_as_json_keeps_what_is_allowed_with_its_reason() {
    let pattern = Code::LooseNumber.wrong().expect("it has one").pattern;
    let allowed = pattern.replace(
        "The scarf is",
        "<!-- allow loose-number: it is what the first one had -->\nThe scarf is",
    );
    let outcome = wale(["check", "--as", "json", "a.wale"]).file("a.wale", &allowed).run();
    assert_eq!((outcome.code(), outcome.stderr()), (Some(0), ""));
    let files: serde_json::Value = serde_json::from_str(outcome.stdout()).expect("it is JSON");
    let one = &files[0]["allowed"][0];
    assert_eq!(
        (&files[0]["warnings"], &one["finding"]["code"]),
        (&0.into(), &"loose-number".into())
    );
    assert_eq!(one["reason"], "it is what the first one had");
}

/// A cap with a hem, and the wool it is to be made in this time.
fn cap() -> &'static str {
    Code::BandEstimated.right().expect("it has one").pattern
}

fn wool() -> &'static str {
    Code::BandEstimated.right().and_then(|example| example.targets).expect("it has some")
}

#[test]
fn rewrite_prints_the_revised_pattern() {
    let outcome = wale(["rewrite", "cap.wale", "--to", "wool.yaml", "--as", "source"])
        .file("cap.wale", cap())
        .file("wool.yaml", wool())
        .run();
    assert_snapshot!(outcome.all(), @"
    status 0
    --- standard output
    ---
    title: Slipway Cap
    gauges:
      body: { stitches: 17, rows: 24, over: 10 cm }
      hem: { stitches: 20, rows: 26, over: 10 cm }
    ---

    ## Cap, in the round

    - cast on 80 in hem
    - join in the round
    - k2 p2 rib for 5 cm
    - change to body
    - decrease evenly to 75
    - stockinette for 17 rounds
    - bind off all
    ");
}

#[test]
fn rewrite_without_targets_changes_nothing_to_the_byte() {
    let run = wale(["rewrite", "cap.wale", "--as", "source"]).file("cap.wale", cap()).run();
    run.is(0, cap(), "");
}

#[test]
fn rewrite_writes_a_file_and_says_nothing_when_all_is_well() {
    let printed = wale(["rewrite", "-", "--to", "wool.yaml", "--as", "source"])
        .file("wool.yaml", wool())
        .stdin(cap())
        .run();
    let written = wale(["rewrite", "cap.wale", "--to", "wool.yaml", "-o", "new.wale"])
        .file("cap.wale", cap())
        .file("wool.yaml", wool())
        .run();
    written.is(0, "", "");
    assert_eq!(written.read("new.wale"), printed.stdout());
    assert_eq!(written.files(), ["cap.wale", "new.wale", "wool.yaml"]);
}

#[test]
fn rewrite_warns_on_standard_error_and_writes_all_the_same() {
    let estimated =
        Code::BandEstimated.wrong().and_then(|example| example.targets).expect("it has some");
    let outcome = wale(["rewrite", "cap.wale", "--to", "wool.yaml", "-o", "new.wale"])
        .file("cap.wale", cap())
        .file("wool.yaml", estimated)
        .run();
    assert_snapshot!(outcome.all(), @"
    status 0
    --- standard error
    warning[band-estimated]: the gauge `hem` was estimated, not swatched
     --> wool.yaml:2:3
      |
    2 |   body: { stitches: 17, rows: 24, over: 10 cm }
      |   ^^^^ scaled with this one
      |
      = note: it was scaled in the pattern's own proportion; ribs on new needles and yarn seldom keep it
      = help: swatch it and add `hem:` under `gauges:`

    cap.wale: 1 warning
    ");
    assert!(outcome.read("new.wale").contains("title: Slipway Cap"));
}

#[test]
fn rewrite_as_json_holds_the_pattern_its_findings_and_its_changes() {
    let estimated =
        Code::BandEstimated.wrong().and_then(|example| example.targets).expect("it has some");
    let run = |args: &[&str]| {
        let all = ["rewrite", "cap.wale", "--to", "wool.yaml"].iter().chain(args);
        wale(all).file("cap.wale", cap()).file("wool.yaml", estimated).run()
    };
    let printed = run(&["--as", "json"]);
    assert_eq!(printed.code(), Some(0));
    let object: serde_json::Value = serde_json::from_str(printed.stdout()).expect("it is JSON");
    assert_eq!(object["pattern"], run(&["--as", "source"]).stdout());
    assert_eq!(object["findings"][0]["code"], "band-estimated");
    assert_eq!(object["findings"][0]["file"], "wool.yaml");
    assert_eq!(object["changes"]["differ"], true);
    // The ending of the output's name tells the same.
    let written = run(&["-o", "new.json"]);
    assert_eq!((written.code(), written.stdout()), (Some(0), ""));
    assert_eq!(written.read("new.json"), printed.stdout());
}

#[test]
fn rewrite_with_an_error_writes_nothing_and_tells_of_both_files() {
    let outcome = wale(["rewrite", "scarf.wale", "--to", "wool.yaml", "-o", "new.wale"])
        .file("scarf.wale", wrong())
        .file("wool.yaml", "guages: {}\n")
        .file("new.wale", "the old one")
        .run();
    assert_snapshot!(outcome.all(), @"
    status 1
    --- standard error
    error[row-short]: this needs 44 stitches and there are 40
      --> scarf.wale:10:20
       |
    10 | - row 1 (RS): k20, p24
       |                    ^^^ runs out 4 short
       |
       = help: take stitches out of the row, or correct the count before it

    error[yaml-key]: `guages` is not a key of targets
     --> wool.yaml:1:1
      |
    1 | guages: {}
      | ^^^^^^ unknown key
      |
    help: a similar key exists: `gauges`
      |
    1 - guages: {}
    1 + gauges: {}
      |

    scarf.wale: 2 errors
    ");
    assert_eq!(outcome.read("new.wale"), "the old one");
    assert_eq!(outcome.files(), ["new.wale", "scarf.wale", "wool.yaml"]);
}

#[test]
fn rewrite_does_not_overwrite_its_inputs() {
    for target in ["cap.wale", "./cap.wale", "wool.yaml"] {
        let outcome = wale(["rewrite", "cap.wale", "--to", "wool.yaml", "-o", target])
            .file("cap.wale", cap())
            .file("wool.yaml", wool())
            .run();
        outcome.is(
            2,
            "",
            &format!(
                "error: {target} would be overwritten, and it is an input\n\
                 help: write to another file, and compare the two before replacing one\n"
            ),
        );
        assert_eq!(
            (outcome.read("cap.wale"), outcome.read("wool.yaml")),
            (cap().into(), wool().into())
        );
    }
}

#[test]
fn a_file_that_is_no_text_is_shown_where_it_stops_being_text() {
    let file = [right().as_bytes(), b"\n- caf\xe9 steps\n"].concat();
    assert_snapshot!(wale(["check", "scarf.wale"]).file("scarf.wale", file).run().all(), @"
    status 1
    --- standard output
    error[unreadable]: the file is not text in UTF-8
      --> scarf.wale:13:6
       |
    13 | - caf� steps
       |      ^ byte 0xE9
       |
       = note: it stands at offset 168, counted from 0
       = help: open it in the editor it was written with, and save it as UTF-8

    scarf.wale: 1 error
    ");
}

#[test]
fn a_file_larger_than_any_pattern_is_not_read_to_its_end() {
    let grow = |path: &std::path::Path| {
        let file = std::fs::File::create(path).expect("a file can be made");
        file.set_len(1 << 34).expect("it can have holes");
    };
    assert_snapshot!(wale(["check", "book.wale"]).with("book.wale", grow).run().all(), @"
    status 1
    --- standard output
    error[too-large]: book.wale has more than 1000000 bytes
     |
     = help: give the file of one pattern

    book.wale: 1 error
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

#[test]
fn rewrite_writes_a_page_unless_asked_for_the_pattern() {
    let run = |args: &[&str]| {
        let all = ["rewrite", "cap.wale", "--to", "wool.yaml"].iter().chain(args);
        wale(all).file("cap.wale", cap()).file("wool.yaml", wool()).run()
    };
    let page = run(&[]);
    assert!(page.stdout().starts_with("# Slipway Cap\n"), "{}", page.all());
    assert_eq!(run(&["--as", "markdown"]).stdout(), page.stdout());
    assert_eq!(run(&["-o", "new.md"]).read("new.md"), page.stdout());
    let source = run(&["--as", "source"]);
    assert!(source.stdout().starts_with("---\ntitle: Slipway Cap\n"), "{}", source.all());
    assert_eq!(run(&["-o", "new.wale"]).read("new.wale"), source.stdout());
}

#[test]
fn a_page_of_the_pattern_as_it_is_and_of_one_size() {
    let sized = "---\nsizes: [small, large]\ngauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n---\n\n\
        ## Cap, in the round\n\n- cast on 80 (96)\n- join in the round\n- stockinette for 5 cm\n- bind off all\n";
    let run =
        |args: &[&str]| wale(["page", "cap.wale"].iter().chain(args)).file("cap.wale", sized).run();
    assert!(run(&[]).stdout().contains("- Cast on 80 (96) sts.\n"));
    assert!(run(&["--size", "large"]).stdout().contains("- Cast on 96 sts.\n"));
    assert_snapshot!(run(&["--size", "giant"]).all(), @"
    status 1
    --- standard error
    error[unknown-name]: there is no size `giant`
     |
     = help: the sizes are `small` and `large`

    cap.wale: 1 error
    ");
}

#[test]
fn no_page_of_a_pattern_with_an_error() {
    let outcome = wale(["page", "scarf.wale", "-o", "page.md"]).file("scarf.wale", wrong()).run();
    assert_eq!((outcome.code(), outcome.stdout()), (Some(1), ""));
    assert!(outcome.stderr().starts_with("error[row-short]"), "{}", outcome.stderr());
    assert_eq!(outcome.files(), ["scarf.wale"]);
}
