//! The rows within given spans that can still be broken or cost something, and
//! the parts they fall into: coordinates that meet in no row are apart.

use std::collections::BTreeSet;

use super::Spent;
use super::cost::Cost;
use super::frame::{Class, Frame, Span};
use super::net::{Choice, Net, Price, Row};
use super::whole::narrow;

/// A sum of coordinates that are not yet known, which must lie in a range and
/// may cost something.
pub(super) struct LiveRow<C: Cost> {
    pub(super) terms: Vec<(usize, i64)>,
    pub(super) low: i64,
    pub(super) high: i64,
    pub(super) price: Price<C>,
}

/// What is sure to be paid, and the rows that may cost more.
type Live<C> = (C, Vec<LiveRow<C>>);

/// The rows that can still be broken or cost something, with what is sure to
/// be paid. Nothing if one of them cannot be kept.
pub(super) fn live_rows<C: Cost>(
    frame: &Frame,
    spans: &[Span],
    weights: &[C::Weight],
) -> Result<Option<Live<C>>, Spent> {
    let mut sure = C::nothing();
    let mut rows = Vec::new();
    for class in &frame.classes {
        let (low, high) = class.range(spans);
        let terms: Vec<_> =
            class.terms.iter().filter(|t| !spans[t.0].is_single()).copied().collect();
        let known = class.terms.iter().filter(|t| spans[t.0].is_single());
        let offset: i128 = known.map(|&(c, f)| i128::from(f) * i128::from(spans[c].low)).sum();
        let (least, most) = extremes(&terms, spans);
        if class.errors.is_empty() && low <= least + offset && most + offset <= high {
            continue;
        }
        let (low, high) = (low.max(least + offset), high.min(most + offset));
        if low > high {
            return Ok(None);
        }
        let price = price(frame, class, offset, weights)?;
        if terms.is_empty() {
            sure.join(&price.of(0));
            continue;
        }
        let (low, high) = (narrow(low - offset)?, narrow(high - offset)?);
        // Every partial sum fits as well.
        if least.unsigned_abs().max(most.unsigned_abs()) >> 60 != 0 {
            return Err(Spent);
        }
        rows.push(LiveRow { terms, low, high, price });
    }
    Ok(Some((sure, rows)))
}

/// What a sum of coordinates costs that is a class's value less `offset`.
fn price<C: Cost>(
    frame: &Frame,
    class: &Class,
    offset: i128,
    weights: &[C::Weight],
) -> Result<Price<C>, Spent> {
    let mut price = Vec::new();
    for &e in &class.errors {
        let error = &frame.errors[e];
        if let Some(member) = class.member(error) {
            let from_member = error.stretched(member.factor.into(), member.constant.into())?;
            price.push((from_member.stretched(1, offset)?, weights[e].clone()));
        }
    }
    Ok(Price(price))
}

/// The smallest and the largest sum.
pub(super) fn extremes(terms: &[(usize, i64)], spans: &[Span]) -> (i128, i128) {
    terms.iter().fold((0, 0), |(low, high), &(c, factor)| {
        let (a, b) = (i128::from(spans[c].low), i128::from(spans[c].high));
        let factor = i128::from(factor);
        let (a, b) = if factor > 0 { (a, b) } else { (b, a) };
        (low + factor * a, high + factor * b)
    })
}

/// Coordinates that meet in no row are apart.
pub(super) struct Parts<C: Cost> {
    /// With the coordinate that each choice stands for.
    pub(super) nets: Vec<(Vec<usize>, Net<C>)>,
    /// By coordinate, whether it is in a net.
    placed: Vec<bool>,
    loose: BTreeSet<usize>,
}

impl<C: Cost> Parts<C> {
    pub(super) fn new(
        frame: &Frame,
        rows: Vec<LiveRow<C>>,
        spans: &[Span],
        loose: &BTreeSet<usize>,
    ) -> Self {
        let mut leader: Vec<usize> = (0..spans.len()).collect();
        let mut placed = vec![false; spans.len()];
        for row in &rows {
            for &(c, _) in &row.terms {
                placed[c] = true;
                let (a, b) = (find(&mut leader, row.terms[0].0), find(&mut leader, c));
                leader[a.max(b)] = a.min(b);
            }
        }
        let mut nets: Vec<(Vec<usize>, Net<C>)> = Vec::new();
        // By coordinate: its net, and which choice it is there.
        let mut place = vec![(usize::MAX, 0); spans.len()];
        for c in (0..spans.len()).filter(|&c| placed[c]) {
            let first = find(&mut leader, c);
            if first == c {
                place[c].0 = nets.len();
                nets.push((
                    Vec::new(),
                    Net { rows: Vec::new(), choices: Vec::new(), ties: Vec::new() },
                ));
            }
            let (coordinates, net) = &mut nets[place[first].0];
            place[c] = (place[first].0, coordinates.len());
            coordinates.push(c);
            net.choices.push(Choice { low: spans[c].low, high: spans[c].high, parts: Vec::new() });
        }
        for LiveRow { terms, low, high, price } in rows {
            let net = &mut nets[place[terms[0].0].0].1;
            for (c, factor) in terms {
                net.choices[place[c].1].parts.push((net.rows.len(), factor));
            }
            net.rows.push(Row::new(low, high, price));
        }
        for form in &frame.forms[..frame.unknowns] {
            if form.terms.iter().any(|t| loose.contains(&t.0)) {
                continue;
            }
            let mut tie: Vec<(usize, (usize, i64))> = form
                .terms
                .iter()
                .filter(|t| placed[t.0])
                .map(|&(c, factor)| (place[c].0, (place[c].1, factor)))
                .collect();
            tie.sort_unstable();
            for one in tie.chunk_by(|a, b| a.0 == b.0) {
                nets[one[0].0].1.ties.push(one.iter().map(|t| t.1).collect());
            }
        }
        Self { nets, placed, loose: loose.clone() }
    }

    /// The values of coordinates in no row: the ties alone decide.
    pub(super) fn untouched(&self, frame: &Frame, spans: &[Span]) -> Vec<i64> {
        let mut values: Vec<i64> = spans.iter().map(|s| s.low).collect();
        let mut decided = self.placed.clone();
        for form in &frame.forms[..frame.unknowns] {
            if form.terms.iter().any(|t| self.loose.contains(&t.0)) {
                continue;
            }
            for &(c, factor) in &form.terms {
                if !std::mem::replace(&mut decided[c], true) && factor > 0 {
                    values[c] = spans[c].high;
                }
            }
        }
        values
    }
}

fn find(leader: &mut [usize], mut of: usize) -> usize {
    while leader[of] != of {
        leader[of] = leader[leader[of]];
        of = leader[of];
    }
    of
}
