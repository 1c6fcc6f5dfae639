//! Checks a pattern: the walk with plain numbers.

mod wording;

pub(crate) use self::wording::multiple_words;
use self::wording::{n, once_more, wording};
use super::fabric::{self, FabricCount};
use super::ledger::{Because, Halt, Ledger, Need, Planned, Run, Trouble, Use, Why};
use super::trace::Trace;
use super::walk::walk;
use crate::diag::{Code, Finding, sort};
use crate::measure::round::Multiple;
use crate::measure::{Density, Given, Length, Linear, SizeId};
use crate::model::{GaugeId, Model};
use crate::source::{Span, Spanned};
use crate::syntax::tree::{Action, Counts, Lengths, Mark, Schedule, Step};

/// A pattern worked through.
#[derive(Clone, Debug)]
pub struct Worked {
    /// One trace a size.
    pub traces: Vec<Trace>,
    /// What was found, in reading order.
    pub findings: Vec<Finding>,
}

/// Works every row of every size.
#[must_use]
pub fn check(model: &Model<'_>) -> Worked {
    let mut troubles = Vec::new();
    let mut traces = Vec::new();
    for size in model.size_ids() {
        let mut checker = Checker { model, size, each_repeat: 0, found: Vec::new() };
        traces.push(walk(model, size, &mut checker));
        troubles.extend(checker.found);
    }
    let mut findings = merged(model, troubles);
    findings.extend(fabrics(model));
    sort(&mut findings);
    Worked { traces, findings }
}

/// Something found in one size.
struct Found {
    size: SizeId,
    place: Span,
    code: Code,
    message: String,
    label: String,
    help: String,
}

struct Checker<'a, 'd> {
    model: &'a Model<'d>,
    size: SizeId,
    /// What the rows repeated last changed the count by, each time.
    each_repeat: i64,
    found: Vec<Found>,
}

impl Ledger for Checker<'_, '_> {
    fn number(&mut self, counts: &Counts, purpose: Use, step: &Step) -> Result<Linear, Halt> {
        match counts.given.get(self.size) {
            Some(&n) => {
                let number = Linear::number(i64::from(n));
                if purpose != Use::Structure {
                    let in_row = matches!(step.action, Action::Row { .. });
                    let own = if in_row { step.marks_at(counts.span) } else { &[] };
                    self.asked(&number, step.marks.iter().chain(own))?;
                }
                Ok(number)
            }
            None if counts.given.skips(self.size) => Err(Halt::Skip),
            None => {
                self.found.push(Found {
                    size: self.size,
                    place: counts.span,
                    code: Code::UnknownCount,
                    message: "a count is still to be worked out".to_owned(),
                    label: "not chosen yet".to_owned(),
                    help: "run `wale rewrite` to have it chosen, or write the number".to_owned(),
                });
                Err(Halt::Lost)
            }
        }
    }

    fn length(&mut self, lengths: &Lengths, _: &Step) -> Result<Length, Halt> {
        // A list that is too short is told before anything is worked.
        if lengths.given != Given::Unknown {
            return lengths.given.get(self.size).copied().ok_or(Halt::Skip);
        }
        self.found.push(Found {
            size: self.size,
            place: lengths.span,
            code: Code::UnknownCount,
            message: "a length is still to be worked out".to_owned(),
            label: "not known".to_owned(),
            help: "write the length: a rewrite chooses counts, not lengths".to_owned(),
        });
        Err(Halt::Lost)
    }

    fn row_density(&mut self, gauge: GaugeId) -> Option<Density> {
        self.model.gauges.get(gauge.0)?.gauge?.rows
    }

    fn rows(&mut self, counts: &Counts, _: Run, step: &Step) -> Result<u32, Halt> {
        let n = self.number(counts, Use::Structure, step)?;
        n.known().and_then(|n| u32::try_from(n).ok()).ok_or(Halt::Lost)
    }

    fn schedule(
        &mut self,
        schedule: &Schedule,
        literal: Option<Planned>,
        _: Option<GaugeId>,
        _: &Step,
    ) -> Result<Planned, Halt> {
        literal.ok_or_else(|| {
            self.found.push(Found {
                size: self.size,
                place: schedule.span,
                code: Code::UnknownCount,
                message: "nothing says how often to shape".to_owned(),
                label: "how many times".to_owned(),
                help: "add `5 times`, or the count it leads to, as in `until 40 sts remain`"
                    .to_owned(),
            });
            Halt::Lost
        })
    }

    fn need(&mut self, need: Need, why: &Why) -> Result<(), Halt> {
        let holds = match &need {
            Need::Zero(amount) => amount.known() == Some(0),
            Need::NotNegative(amount) => amount.known().is_none_or(|n| n >= 0),
            Need::Multiple(amount, multiple) => amount.known().is_none_or(|n| multiple.holds(n)),
        };
        if holds {
            return Ok(());
        }
        self.note(why);
        Err(Halt::Lost)
    }

    fn divide(&mut self, amount: &Linear, unit: i64, why: &Why) -> Result<Linear, Halt> {
        match amount.known() {
            Some(n) if unit > 0 && n % unit == 0 => Ok(Linear::number(n / unit)),
            _ => {
                self.note(why);
                Err(Halt::Lost)
            }
        }
    }

    fn stated(&mut self, said: &Counts, has: &Linear, step: &Step) -> Result<(), Halt> {
        let each_repeat = self.each_repeat;
        let number = self.number(said, Use::Structure, step)?;
        let because = Because::Stated { said: number.clone(), has: has.clone() };
        let held = self.need(Need::Zero(&number - has), &Why { place: said.span, because });
        if let (Err(_), Some(found)) = (held, self.found.last_mut())
            && let Some(hint) = once_more(step, n(&number) - n(has), each_repeat)
        {
            found.help = format!("{}; {hint}", found.help);
        }
        held
    }

    fn choose(&mut self, amount: &Linear, options: &[Multiple], _: &Step) -> Multiple {
        let fits = options.iter().find(|m| amount.known().is_some_and(|n| m.holds(n)));
        fits.or(options.first()).copied().unwrap_or(Multiple::ANY)
    }

    fn shaping_repeats(
        &mut self,
        counts: &Counts,
        _: Option<i64>,
        _: Run,
        step: &Step,
    ) -> Result<Linear, Halt> {
        self.number(counts, Use::Structure, step)
    }

    fn short_row_repeats(
        &mut self,
        counts: &Counts,
        _: &Linear,
        _: Run,
        step: &Step,
    ) -> Result<Linear, Halt> {
        self.number(counts, Use::Structure, step)
    }

    fn each_repeat(&mut self, change: i64) {
        self.each_repeat = change;
    }

    fn guess(&mut self, amount: &Linear) -> i64 {
        amount.known().unwrap_or(0)
    }

    fn wrong(&mut self, place: Span, trouble: Trouble) -> Halt {
        self.tell(place, trouble);
        Halt::Lost
    }

    fn tell(&mut self, place: Span, trouble: Trouble) {
        let told = wording::trouble(trouble, self.model.units);
        let size = self.size;
        self.found.extend(told.map(|(code, message, label, help)| Found {
            size,
            place,
            code,
            message,
            label,
            help,
        }));
    }
}

impl Checker<'_, '_> {
    /// The multiples the author asks for on a step or a number of its row.
    fn asked<'m>(
        &mut self,
        number: &Linear,
        marks: impl Iterator<Item = &'m Spanned<Mark>>,
    ) -> Result<(), Halt> {
        for mark in marks {
            if let Mark::Multiple { of, plus } = mark.value {
                let multiple = Multiple::new(of, plus);
                let because = Because::Asked { multiple, has: number.clone() };
                let need = Need::Multiple(number.clone(), multiple);
                self.need(need, &Why { place: mark.span, because })?;
            }
        }
        Ok(())
    }

    fn note(&mut self, why: &Why) {
        let (code, message, label, help) = wording(&why.because);
        self.found.push(Found { size: self.size, place: why.place, code, message, label, help });
    }
}

/// One finding for all sizes it concerns.
fn merged(model: &Model<'_>, found: Vec<Found>) -> Vec<Finding> {
    let mut groups: Vec<Vec<Found>> = Vec::new();
    for one in found {
        let same = |group: &Vec<Found>| {
            group.first().is_some_and(|f| f.code == one.code && f.place == one.place)
        };
        match groups.iter_mut().find(|g| same(g)) {
            Some(group) if group.iter().any(|f| f.size == one.size) => {}
            Some(group) => group.push(one),
            None => groups.push(vec![one]),
        }
    }
    groups.iter().filter_map(|group| finding(model, group)).collect()
}

fn finding(model: &Model<'_>, group: &[Found]) -> Option<Finding> {
    let name = |size: SizeId| model.sizes.get(size.0).cloned().unwrap_or_default();
    let all = group.len() == model.sizes.len();
    let first = group.first()?;
    let mut finding = Finding::new(first.code, first.place, first.message.clone())
        .label(first.label.clone())
        .help(first.help.clone());
    if model.sizes.len() > 1 && !all {
        finding = finding.sizes(group.iter().map(|f| name(f.size)).collect());
    }
    for other in group.iter().skip(1).filter(|f| f.message != first.message) {
        finding = finding.note(format!("in size {}: {}", name(other.size), other.message));
    }
    Some(finding)
}

/// Fabrics whose rows do not follow from one another.
fn fabrics(model: &Model<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for fabric in &model.fabrics {
        match fabric::counts(model, fabric) {
            FabricCount::Never { row } => {
                let place = fabric.rows.get(row).map_or(fabric.name.span, |r| r.span);
                findings.push(
                    Finding::new(Code::RepeatUneven, place, format!("row {} of `{}` cannot be worked over any number of stitches that the rows before it allow", row + 1, fabric.name.value))
                        .label("does not follow")
                        .help("compare the stitches outside the repeat, and the repeat, with the row before"),
                );
            }
            FabricCount::Every { returns: false, .. } => {
                let counts: Vec<String> =
                    fabric::row_counts(model, fabric).iter().map(i64::to_string).collect();
                findings.push(
                    Finding::new(
                        Code::RepeatDrifts,
                        fabric.name.span,
                        format!(
                            "`{}` does not come back to the count it began with",
                            fabric.name.value
                        ),
                    )
                    .label("drifts")
                    .note(format!(
                        "worked over its smallest repeat, the counts are {}",
                        counts.join(", ")
                    ))
                    .help("balance every increase with a decrease before the last row"),
                );
            }
            FabricCount::Every { .. } | FabricCount::Only(_) => {}
        }
    }
    findings
}

#[cfg(test)]
mod tests {
    use crate::diag::render::{self, Style};
    use crate::source::Source;
    use crate::syntax;

    fn told(steps: &str) -> String {
        let text = format!(
            "---\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\n---\n\n## Cap, in the round\n\n{steps}"
        );
        let source = Source::new("cap.wale", text);
        let parsed = syntax::parse(&source);
        let document = parsed.document.expect("a pattern");
        let findings = crate::check(&source, &document, parsed.findings).findings;
        render::text(&findings, &source, None, Style::default())
    }

    #[test]
    fn a_rib_that_goes_on_over_another_count_must_still_come_out() {
        let steps = |count: u32, then: &str| {
            format!(
                "- cast on 96 in body\n- join in the round\n- k2 p2 rib for 5 cm\n- decrease evenly to {count}\n- {then} for 5 cm\n- bind off all\n"
            )
        };
        assert_eq!(told(&steps(88, "work even")), "");
        assert_eq!(told(&steps(90, "stockinette")), "");
        insta::assert_snapshot!(told(&steps(90, "work even")), @"
        error[repeat-uneven]: k2 p2 rib needs a multiple of 4 and there are 90 stitches
          --> cap.wale:12:3
           |
        12 | - work even for 5 cm
           |   ^^^^^^^^^^^^^^^^^^ not over 90
           |
           = help: change the count to 88 or 92
        ");
    }

    #[test]
    fn one_shaping_row_too_few_is_recognised() {
        let again = |times: u32| {
            format!(
                "- cast on 96 in body\n- work flat\n- dec row (RS): ssk, k to last 2 sts, k2tog\n- repeat the dec row every 4th row {times} times (80 sts)\n- bind off all\n"
            )
        };
        assert_eq!(told(&again(7)), "");
        assert!(told(&again(8)).contains("one repeat fewer would make it"), "{}", told(&again(8)));
        let steps = |times: &str, stated: u32| {
            format!(
                "- cast on 96 in body\n- work flat\n- decrease 1 each end every 4th row {times} ({stated} sts)\n- bind off all\n"
            )
        };
        assert_eq!(told(&steps("8 times", 80)), "");
        insta::assert_snapshot!(told(&steps("8 times", 78)), @"
        error[count-differs]: 78 stitches stated, but there are 80
          --> cap.wale:10:46
           |
        10 | - decrease 1 each end every 4th row 8 times (78 sts)
           |                                              ^^ there are 80
           |
           = help: correct this count, or what comes before it; one shaping row more would make it: `8 more times` after a first are 9 in all
        ");
    }

    #[test]
    fn a_row_that_runs_out_says_how_many_it_needs() {
        let row = |row: &str| {
            told(&format!("- cast on 40 in body\n- work flat\n- {row}\n- bind off all\n"))
        };
        for (words, needs) in [
            ("k3, k50", 53),
            ("k3, k to last 50 sts, k50", 53),
            ("k3, *k1, p1; rep from * to last 51 sts, k51", 54),
            ("k2tog, k2, ssk to last 40 sts, k40", 44),
            ("k30, k2tog, bind off 9", 41),
            ("k38, k3tog", 41),
        ] {
            let found = format!("needs {needs} stitches and there are 40");
            assert!(row(words).contains(&found), "{words}: {}", row(words));
        }
    }

    /// What is one shaping row off is called so, and what is not, is not.
    #[test]
    fn one_shaping_row_off_is_told_whichever_way() {
        let steps = |shaping: &str, stated: u32| {
            told(&format!(
                "- cast on 60 in body\n- work flat\n- {shaping} ({stated} sts)\n- bind off all\n"
            ))
        };
        for (shaping, after, each) in [
            ("decrease 1 each end every 4th row 8 times", 44, 2),
            ("decrease 2 at the end of every RS row 4 times, then every 4th row twice", 48, 2),
            ("decrease 1 each end on the next row, then every 4th row 7 times", 44, 2),
        ] {
            assert_eq!(steps(shaping, after), "", "{shaping}");
            assert!(steps(shaping, after - each).contains("one shaping row more"), "{shaping}");
            assert!(steps(shaping, after + each).contains("one shaping row fewer"), "{shaping}");
            for stated in
                [after - each - 1, after - 1, after + 1, after + each + 1, after + 2 * each]
            {
                assert!(!steps(shaping, stated).contains("one shaping row"), "{shaping}: {stated}");
            }
        }
        let up = "increase 1 each end every 4th row 8 times";
        assert_eq!(steps(up, 76), "");
        assert!(steps(up, 78).contains("one shaping row more"));
        assert!(steps(up, 74).contains("one shaping row fewer"));
    }

    #[test]
    fn a_piece_may_be_measured_by_its_own_name() {
        let until = |name: &str| {
            told(&format!(
                "- cast on 80\n- garter for 28 rounds\n- garter until {name} measures 9 cm\n- bind off all\n"
            ))
        };
        assert!(until("cap").contains("already 1 cm longer"), "{}", until("cap"));
        insta::assert_snapshot!(until("brim"), @"
        error[unknown-name]: there is no starting point called `brim`
          --> cap.wale:10:16
           |
        10 | - garter until brim measures 9 cm
           |                ^^^^ not a starting point of this pattern
           |
           = help: the starting points here are `body`, `armhole` and `Cap`
        ");
    }

    #[test]
    fn a_repeat_may_place_markers() {
        let quarters = "- cast on 80\n- *k20, pm; rep from *\n";
        assert_eq!(
            told(&format!("{quarters}- *k18, k2tog, sm; rep from * (76 sts)\n- bind off all\n")),
            ""
        );
        let told = told(&format!("{quarters}- *k19, sm; rep from *\n"));
        assert!(told.starts_with("error[row-long]: 1 stitch is left before the marker"), "{told}");
        let uneven = self::told("- cast on 80\n- *k15, pm; rep from *\n");
        assert!(uneven.contains("does not divide 80 stitches: 5 over"), "{uneven}");
    }

    #[test]
    fn a_row_that_reaches_past_a_marker_is_too_short_for_it() {
        let told = told("- cast on 20\n- k10, pm, k10\n- k to 12 sts before marker, k2, sm, k10\n");
        assert!(
            told.starts_with("error[row-short]: the marker comes 2 stitches too early"),
            "{told}"
        );
    }

    #[test]
    fn the_start_of_a_round_is_marked() {
        let raglan = "*k1, m1l, k to 1 st before marker, m1r, k1, sm; rep from * 3 more times";
        let yoke = |setting: &str| {
            told(&format!(
                "- cast on 40\n{setting}- k10, pm, k10, pm, k10, pm, k10\n- {raglan} (48 sts)\n- {raglan} (56 sts)\n- bind off all\n"
            ))
        };
        assert_eq!(yoke(""), "");
        // The end of a row is not marked, nor is any place by a name that was never given.
        let flat = yoke("- work flat\n");
        assert!(flat.starts_with("error[marker-missing]: there is no such marker here"), "{flat}");
        let named = told("- cast on 40\n- k to marker B\n- bind off all\n");
        assert!(named.starts_with("error[marker-missing]"), "{named}");
    }

    #[test]
    fn what_is_left_unworked_is_put_aside_before_a_turn_or_after() {
        let neck = |row: &str| {
            told(&format!(
                "- cast on 20\n- work flat\n- knit 2 rows\n- {row} (9 sts)\n- next row (WS): p 9\n- bind off all 9 sts\n- take up right side\n- bind off all 11 sts\n"
            ))
        };
        assert_eq!(neck("k9, hold remaining sts as right side"), "");
        assert_eq!(neck("k9, turn, leaving the remaining sts on hold as right side"), "");
        assert_eq!(neck("k9, place rem sts on a holder for right side, turn"), "");
        assert!(neck("k8, hold remaining sts as right side").contains("count-differs"));
        let unnamed = "- cast on 20\n- k9, turn, leave remaining sts on hold\n";
        let text = format!(
            "---\ngauges: {{ body: {{ stitches: 20, over: 10 cm }} }}\n---\n## A, flat\n{unnamed}"
        );
        let found = syntax::parse(&Source::new("a.wale", text)).findings;
        assert!(found[0].message.starts_with("expected `as` and a name"), "{found:?}");
    }

    #[test]
    fn a_buttonhole_in_one_row_leaves_no_gap() {
        let band = |row: &str| {
            told(&format!(
                "- cast on 20\n- work flat\n- {row}\n- k to end (20 sts)\n- bind off all 20 sts\n"
            ))
        };
        assert_eq!(band("k4, bind off 2, cast on 2, k to end"), "");
        assert_eq!(band("[k4, bind off 3, cast on 3] 2 times, k to end"), "");
        assert!(band("k4, bind off 2, k4, cast on 2, k to end").contains("count-differs"));
    }

    #[test]
    fn edges_are_not_part_of_a_fabric() {
        let of = |count: u32| {
            told(&format!(
                "- cast on {count}\n- k2 p2 rib with 3 sts in garter at each side for 4 rounds\n- bind off all\n"
            ))
        };
        assert_eq!(of(86), "");
        let wrong = of(84);
        assert!(wrong.contains("k2 p2 rib with its edges needs a multiple of 4 plus 2"), "{wrong}");
        assert!(wrong.contains("82 or 86"), "{wrong}");
    }

    #[test]
    fn short_rows_that_leave_nothing_or_go_past_the_start() {
        let heel = |times: u32| {
            told(&format!(
                "- cast on 26\n- work flat\n- row 1 (RS): k to last st, w&t\n- row 2 (WS): p to last st, w&t\n- row 3 (RS): k to 1 st before last wrapped st, w&t\n- row 4 (WS): p to 1 st before last wrapped st, w&t\n- repeat rows 3-4 {times} times\n- row 5 (RS): k to end\n- bind off all\n"
            ))
        };
        assert_eq!(heel(7), "");
        assert_eq!(heel(11), "");
        assert!(heel(12).contains("the turn comes 1 stitch too early"), "{}", heel(12));
        let past = "- cast on 80\n- k10, w&t\n- p20, w&t\n- k to end\n- bind off all\n";
        insta::assert_snapshot!(told(past), @"
        error[row-short]: this needs 20 stitches and there are 10 before the start of the round
          --> cap.wale:10:3
           |
        10 | - p20, w&t
           |   ^^^ short rows go past the start of the round
           |
           = help: let the round begin elsewhere, so that all short rows lie between its start and its end
        ");
    }
}
