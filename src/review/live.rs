//! Live numbers in prose that have nothing to follow.
//!
//! `{96}` follows the count of 96 in a step of its section, and `{brim}` the
//! count that `[as brim]` names. Without such a count either would stay as it
//! is in a rewrite, or cannot be shown at all.

use super::steps;
use crate::diag::{Code, Finding, words};
use crate::measure::Given;
use crate::model::Model;
use crate::source::Spanned;
use crate::syntax::tree::{Block, LiveValue, Prose, Step};
use std::collections::BTreeSet;

/// Every live number that no step agrees with, and every live name that no count has.
pub(super) fn live_alone(model: &Model<'_>) -> Vec<Finding> {
    let mut names = Vec::new();
    steps::names(model, &mut |name, _, _| names.push(name));
    let mut findings = Vec::new();
    for section in &model.document.sections {
        let given = steps::given_in(section);
        let mut look = |prose: &Prose| findings.extend(alone_in(&given, prose, &names));
        for block in &section.blocks {
            match block {
                Block::Heading(_) => {}
                Block::Prose(prose) => look(prose),
                Block::Steps(list) => list.iter().for_each(|step| remarks(step, &mut look)),
            }
        }
    }
    findings
}

fn remarks(step: &Step, look: &mut impl FnMut(&Prose)) {
    step.remark.iter().for_each(&mut *look);
    step.steps.iter().for_each(|inner| remarks(inner, look));
}

fn alone_in(given: &BTreeSet<&Given<u32>>, prose: &Prose, names: &[&str]) -> Vec<Finding> {
    let alone = |value: &LiveValue, span| match value {
        LiveValue::Counts(counts) if !given.contains(&counts.given) => Some(
            Finding::new(
                Code::LooseNumber,
                span,
                "this number is live, but no step of this section gives the same",
            )
            .label("follows nothing")
            .help("correct it; a count of another section is written by its name, as in `{brim}`"),
        ),
        LiveValue::Name(name) if !names.iter().any(|n| n.eq_ignore_ascii_case(&name.value)) => {
            Some(unknown(name, names))
        }
        _ => None,
    };
    prose.live.iter().filter_map(|live| alone(&live.value, live.span)).collect()
}

fn unknown(name: &Spanned<String>, names: &[&str]) -> Finding {
    let message = format!("no count is called `{}`", name.value);
    let finding =
        Finding::new(Code::UnknownName, name.span, message).label("not a count of this pattern");
    match words::nearest(&name.value, names.iter().copied()) {
        Some(near) => {
            finding.help(format!("a similar name exists: `{near}`")).patch(name.span, near)
        }
        None => finding.help(format!("name the count where it is set, with `[as {}]`", name.value)),
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{pattern, told};

    #[test]
    fn a_live_number_must_have_something_to_follow() {
        let front = "gauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n";
        let text = |prose: &str| {
            let body = format!(
                "## Cap, flat\n\n{prose}\n\n- cast on 96 in body [as brim]\n- bind off all\n\n## Sewing\n\nAll {{brim}} of them.\n"
            );
            told(&pattern(front, &body))
        };
        assert_eq!(text("There are {96} sts, {brim} in all."), "nothing");
        insta::assert_snapshot!(text("There are {95} sts, {brim} in all."), @"
        warning[loose-number]: this number is live, but no step of this section gives the same
         --> cap.wale:9:11
          |
        9 | There are {95} sts, {brim} in all.
          |           ^^^^ follows nothing
          |
          = help: correct it; a count of another section is written by its name, as in `{brim}`
        ");
        insta::assert_snapshot!(text("There are {brin} sts."), @"
        error[unknown-name]: no count is called `brin`
         --> cap.wale:9:12
          |
        9 | There are {brin} sts.
          |            ^^^^ not a count of this pattern
          |
        help: a similar name exists: `brim`
          |
        9 - There are {brin} sts.
        9 + There are {brim} sts.
          |
        ");
    }
}
