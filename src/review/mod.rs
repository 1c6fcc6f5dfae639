//! Reads a worked pattern as a good technical editor would.
//!
//! Every row adds up before anything here is asked; what remains is what a
//! careful reader notices: a number that will not follow a rewrite, a size out
//! of step, two halves that differ, an opening that no head goes through. One
//! file a finding (or family), each a pure function from the pattern and what
//! the walk saw. Nothing here works a row, changes a number or reads a file.

mod allow;
mod doubt;
mod gauge;
mod kept;
mod live;
mod loose;
mod mirror;
mod monotone;
mod openings;
mod prose;
mod seam;
mod short_rows;
mod shoulders;
mod steps;
#[cfg(test)]
mod testing;
mod told;
mod uneven;
mod units;
mod unused;
mod widths;
mod yarn;

pub use allow::{Allowed, Of, Settled, settle};
pub use kept::{kept_as_written, needles_kept, repeats_kept};
pub use monotone::not_monotone;

use crate::diag::Finding;
use crate::model::Model;
use crate::source::Source;
use crate::work::Trace;
use steps::Walks;

/// Everything that a careful reader would ask about, in no order.
///
/// `traces` are those of a walk that found no error, one a size.
#[must_use]
pub fn review(source: &Source, model: &Model<'_>, traces: &[Trace]) -> Vec<Finding> {
    let walks = Walks::new(model, traces);
    [
        loose::loose_numbers(source, model),
        live::live_alone(model),
        units::units_differ(source, model),
        uneven::uneven(model),
        unused::unused_names(source, model, &walks),
        seam::seams(model, &walks),
        mirror::mirrors(model, &walks),
        short_rows::short_rows(model, &walks),
        shoulders::shoulders(model, &walks),
        widths::widths_differ(model, &walks),
        gauge::unlikely(model, &walks),
        doubt::blurred_sizes(model, traces),
        openings::openings(model, &walks),
        yarn::differs(model, traces),
    ]
    .concat()
}

#[cfg(test)]
mod tests {
    use super::testing::pattern;
    use crate::diag::Code;
    use crate::source::Source;
    use crate::syntax;

    /// Many times what any pattern has of each: the work must grow with the
    /// text, not with its square.
    #[test]
    fn a_long_text_is_read_in_time_that_grows_with_it() {
        let front = "gauges:\n  body: { stitches: 20, rows: 28, over: 10 cm }\n";
        let piece = |steps: &str| {
            format!("## Cap, flat\n\n- cast on 80 in body\n{steps}- bind off all\n\nThe end.\n")
        };
        let many = 4_000;
        let cases = [
            (
                piece("") + &"\nThere are 96 sts and {80} and twenty rows.\n".repeat(many),
                Code::LooseNumber,
            ),
            (piece(&"- k9, w&t\n- p9, w&t; 96 sts\n".repeat(many)), Code::LooseNumber),
            (piece(&"- note: 96 sts [allow row-short: x]\n".repeat(many)), Code::Syntax),
            (
                piece(&"- note: words [allow loose-number: x] [as it]\n".repeat(many)),
                Code::AllowUnused,
            ),
            (piece("") + &"\n<!-- allow loose-number: x -->\n".repeat(many), Code::AllowUnused),
        ];
        for (body, code) in cases {
            let source = Source::new("cap.wale", pattern(front, &body));
            let document = syntax::parse(&source).document.expect("a pattern");
            let begun = std::time::Instant::now();
            let found = crate::check(&source, &document, Vec::new()).findings;
            // In a debug build on a busy machine; its square would take minutes.
            assert!(begun.elapsed().as_secs() < 10, "{code:?}: {:?}", begun.elapsed());
            assert!(found.iter().filter(|f| f.code == code).count() >= many, "{code:?}");
        }
    }
}
