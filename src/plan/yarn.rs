//! How much yarn a pattern takes, and how many balls or skeins that is.
//!
//! Where the pattern says what it used, that is what it takes. Where it does
//! not, the stitches worked tell, by the constants of plain knitted fabric:
//! each stitch as long as its gauge asks, cast-on and bind-off included, and
//! the seams the pattern names. Knows nothing of how it is said.

use super::facts;
use crate::measure::round::{Multiple, Toward, to_multiple};
use crate::measure::{Exact, Length, SizeId, Unit, exact};
use crate::model::Model;
use crate::standards::{Relaxed, loop_constants_of};
use crate::syntax::front::{Color, PutUp, Used, Yarn};
use crate::work::Trace;
use crate::work::yarn::{by_constants, widths_by_color};

/// What is bought on top where the pattern names no margin: a tenth.
pub const MARGIN: Exact = Exact::new_raw(1, 10);

/// Sewing takes half as much again as the seam is long (common practice).
const SEWN: Exact = Exact::new_raw(3, 2);

/// How the amount was had.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Method {
    /// The pattern says what it used.
    Used,
    /// From the stitches, by the constants of plain fabric.
    Constants,
}

/// The yarn of a pattern.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Need {
    /// How it was had.
    pub method: Method,
    /// What is bought on top of it.
    pub margin: Exact,
    /// By size, of all colors together; `None` where it cannot be told. Put-ups are
    /// those of each color, where there are colors.
    pub sizes: Vec<Option<Amount>>,
    /// The same of each color of [`Model::colors`].
    pub colors: Vec<Vec<Option<Amount>>>,
}

/// The yarn of one size.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Amount {
    /// Its weight in grams, where the pattern gives one.
    pub grams: Option<Exact>,
    /// How long it is, without the margin; `None` where the pattern gives grams
    /// and no length to them.
    pub length: Option<Length>,
    /// Balls or skeins with the margin, rounded up; `None` where the pattern does
    /// not say how the yarn is sold.
    pub put_ups: Option<i64>,
}

impl Amount {
    fn plus(self, other: Self) -> Self {
        Self {
            grams: self.grams.zip(other.grams).map(|(a, b)| a + b),
            length: self.length.zip(other.length).map(|(a, b)| a + b),
            put_ups: self.put_ups.zip(other.put_ups).map(|(a, b)| a + b),
        }
    }
}

/// What a pattern takes, in every size; `None` where nothing tells.
///
/// A color takes what the pattern says it does; where the pattern says it of all the yarn,
/// the part of it that the stitches in the color have in all.
#[must_use]
pub fn need(model: &Model<'_>, traces: &[Trace]) -> Option<Need> {
    let yarn = model.document.front.yarn.as_ref();
    let margin = yarn.and_then(|yarn| yarn.margin).map_or(MARGIN, |margin| margin.value);
    let put_up = |color: usize| yarn.and_then(|yarn| yarn.put_up_of(model.colors.get(color)));
    let with = |amount: Exact| amount * (exact(1, 1) + margin);
    let whole = yarn.and_then(|yarn| yarn.used.as_ref());
    let used_of = |color: usize| model.colors.get(color).and_then(|color| color.used.as_ref());
    let method = if whole.or(used_of(0)).is_some() { Method::Used } else { Method::Constants };
    let parts = model.colors.len().max(1);
    let by_size: Vec<Vec<Option<Amount>>> = match method {
        Method::Constants => {
            let amount = |(color, length): (usize, Length)| Amount {
                grams: None,
                length: Some(length),
                put_ups: put_up(color).map(|put_up| up(with(length / put_up.length))),
            };
            let each = reckoned_by_color(model, traces).into_iter().map(|lengths| {
                lengths.map_or(vec![None; parts], |all| {
                    all.into_iter().enumerate().map(|each| Some(amount(each))).collect()
                })
            });
            each.collect()
        }
        Method::Used => {
            let each = traces.iter().map(|trace| {
                let shares = whole
                    .filter(|_| parts > 1)
                    .and_then(|whole| shares(model, trace, &whole.value));
                let one = |color: usize| {
                    let share = match whole {
                        Some(_) if parts > 1 => *shares.as_ref()?.get(color)?,
                        _ => exact(1, 1),
                    };
                    let used = &used_of(color).or(whole)?.value;
                    used_in(used, put_up(color), trace.size, share, with)
                };
                (0..parts).map(one).collect()
            });
            each.collect()
        }
    };
    let together = |each: &Vec<Option<Amount>>| {
        let mut each = each.iter().copied();
        let first = each.next()??;
        each.try_fold(first, |sum, one| Some(sum.plus(one?)))
    };
    let sizes: Vec<_> = by_size.iter().map(together).collect();
    let color = |color: usize| by_size.iter().map(|each| each.get(color).copied()?).collect();
    let colors = (0..model.colors.len()).map(color).collect();
    sizes.iter().any(Option::is_some).then_some(Need { method, margin, sizes, colors })
}

/// The part of all that was used that each color has: of its length as the stitches in it
/// are; of its weight, or of its put-ups, as the color is sold.
fn shares(model: &Model<'_>, trace: &Trace, used: &Used) -> Option<Vec<Exact>> {
    let widths = widths_by_color(model, trace)?;
    let yarn = model.document.front.yarn.as_ref();
    let one_length = Length::new(exact(1, 1), Unit::M);
    let per_length = |color: &Color| {
        let put_up = || yarn?.put_up_of(Some(color));
        Some(match used {
            Used::Length(_) => exact(1, 1),
            Used::Grams(_) => put_up()?.grams? * (one_length / put_up()?.length),
            Used::PutUps(_) => one_length / put_up()?.length,
        })
    };
    // Where the colors do not all say it they are taken to be sold alike.
    let per_length: Option<Vec<Exact>> = model.colors.iter().map(per_length).collect();
    let widths: Vec<Length> = match per_length {
        Some(each) => widths.into_iter().zip(each).map(|(width, each)| width * each).collect(),
        None => widths,
    };
    let all = widths.iter().fold(Length::zero(), |sum, one| sum + *one);
    all.is_positive().then(|| widths.into_iter().map(|width| width / all).collect())
}

fn used_in(
    used: &Used,
    put_up: Option<&PutUp>,
    size: SizeId,
    share: Exact,
    with: impl Fn(Exact) -> Exact,
) -> Option<Amount> {
    let grams_each = put_up.and_then(|put_up| put_up.grams);
    let put_up_length = put_up.map(|put_up| put_up.length);
    // How many there would be if they could be parted.
    let (grams, length, put_ups) = match used {
        Used::Grams(given) => {
            let grams = *given.get(size)? * share;
            let put_ups = grams_each.map(|each| grams / each);
            (Some(grams), put_up_length.zip(put_ups).map(|(each, n)| each * n), put_ups)
        }
        Used::Length(given) => {
            let length = *given.get(size)? * share;
            (None, Some(length), put_up_length.map(|each| length / each))
        }
        // The author has counted them; there may be a margin in them already.
        Used::PutUps(given) => {
            let own = *given.get(size)? * share;
            let length = put_up_length.map(|each| each * own);
            return Some(Amount { grams: None, length, put_ups: Some(up(own)) });
        }
    };
    Some(Amount { grams, length, put_ups: put_ups.map(|n| up(with(n))) })
}

/// The yarn of each trace from its stitches, and from the seams that are named;
/// `None` where they do not tell.
#[must_use]
pub fn reckoned(model: &Model<'_>, traces: &[Trace]) -> Vec<Option<Length>> {
    let sum = |all: Vec<Length>| all.into_iter().fold(Length::zero(), |sum, one| sum + one);
    reckoned_by_color(model, traces).into_iter().map(|all| all.map(sum)).collect()
}

/// The same of each color of [`Model::colors`], or of all the yarn where there are none.
/// Seams are sewn with the first.
#[must_use]
pub fn reckoned_by_color(model: &Model<'_>, traces: &[Trace]) -> Vec<Option<Vec<Length>>> {
    let lengths = facts::piece_lengths(model, traces);
    let of = |trace: &Trace| {
        let constants = loop_constants_of(Relaxed::Fully)?;
        let mut knitted = by_constants(model, trace, constants)?;
        knitted.iter().any(|length| length.is_positive()).then_some(())?;
        let first = knitted.first_mut()?;
        *first = *first + seams(model, &lengths, trace) * SEWN;
        Some(knitted)
    };
    traces.iter().map(of).collect()
}

/// The seams a pattern names, in one size: each as long as its first piece, of
/// which `lengths` has one a size.
fn seams(model: &Model<'_>, lengths: &[Vec<Length>], trace: &Trace) -> Length {
    let named = model.document.front.seams.iter().filter_map(|seam| {
        let first = seam.value.first()?;
        let piece =
            model.pieces.iter().position(|p| p.name.value.eq_ignore_ascii_case(&first.value))?;
        lengths.get(piece)?.get(trace.size.0).copied()
    });
    named.fold(Length::zero(), |sum, length| sum + length)
}

/// What the pattern says it used of one color, or of all where none is given, as a length,
/// where that can be told: not of all together where colors are sold in ways of their own.
#[must_use]
pub fn said(yarn: &Yarn, color: Option<&Color>, used: &Used, size: SizeId) -> Option<Length> {
    let apart = color.is_none() && yarn.colors.iter().any(|color| color.put_up.is_some());
    let put_up = yarn.put_up_of(color).filter(|_| !apart);
    used_in(used, put_up, size, exact(1, 1), |n| n)?.length
}

fn up(value: Exact) -> i64 {
    to_multiple(value, Multiple::ANY, Toward::Up)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Source;
    use crate::syntax;

    fn of(yarn: &str) -> Option<Need> {
        let text = format!(
            "---\nsizes: [small, large]\ngauges:\n  body: {{ stitches: 20, rows: 28, over: 10 cm }}\n{yarn}---\n\n## Scarf, flat\n\n- cast on 40 (60) in body\n- stockinette for 98 rows\n- bind off all\n"
        );
        let source = Source::new("scarf.wale", text);
        let parsed = syntax::parse(&source);
        let document = parsed.document.expect("a pattern");
        let checked = crate::check(&source, &document, parsed.findings);
        need(&checked.model, &checked.traces)
    }

    fn put_ups(yarn: &str) -> Vec<Option<i64>> {
        of(yarn).expect("an amount").sizes.iter().map(|a| a.and_then(|a| a.put_ups)).collect()
    }

    #[test]
    fn grams_lengths_and_skeins() {
        // 250 g and a tenth are 275 g, 400 g are 440 g.
        let grams = "yarn:\n  put-up: 200 m / 100 g\n  used: 250 (400) g\n";
        assert_eq!(put_ups(grams), [Some(3), Some(5)]);
        let margin = format!("{grams}  margin: 30%\n");
        assert_eq!(put_ups(&margin), [Some(4), Some(6)]);
        assert_eq!(
            put_ups("yarn:\n  put-up: 200 m / 100 g\n  used: 500 (800) m\n"),
            [Some(3), Some(5)]
        );
        assert_eq!(
            put_ups("yarn:\n  put-up: 200 m / 100 g\n  used: 3 (5) skeins\n"),
            [Some(3), Some(5)]
        );
        assert_eq!(put_ups("yarn:\n  used: 250 (400) g\n"), [None, None]);
    }

    /// At 20 stitches to 10 cm a loop is 2.10 cm long (computed from the constants
    /// of a fully relaxed fabric: 4.2 / 2 per cm).
    #[test]
    fn without_a_figure_the_stitches_tell() {
        let need = of("").expect("an amount");
        assert_eq!(need.method, Method::Constants);
        // 40 stitches, 98 rows, cast on and bound off.
        let length = need.sizes[0].and_then(|a| a.length).expect("a length");
        assert_eq!(length, Length::new(exact(40 * 100 * 21, 1000), Unit::M));
        assert_eq!(put_ups("yarn:\n  put-up: 50 m / 25 g\n"), [Some(2), Some(3)]);
    }
}
