//! Where short rows turn, written out: "Turn with 6, 12 and 18 sts left at each end".

use super::sheet::{Number, Part, StepLine, Words, plain};
use crate::plan::facts::Turns;
use crate::syntax::tree::EdgeRows;

/// The turns of one size, by its place.
pub(super) type Sized = (usize, Turns);

/// The stitches that are left unworked at each turn of an edge, from the first; `None` where
/// none turns.
pub(super) fn line(each: &[Sized], which: EdgeRows) -> Option<StepLine> {
    let most = each.iter().map(|(_, turns)| turns.left.len()).max()?;
    let mut words: Words = Vec::new();
    // Sizes may turn more or less often: each has its own last turn.
    let sizes = |is: &dyn Fn(usize) -> bool| -> Vec<usize> {
        let those = each.iter().filter(|(_, turns)| is(turns.left.len()));
        those.map(|(size, _)| *size).collect()
    };
    let alike = each.iter().all(|(_, turns)| turns.left.len() == most);
    for turn in 0..most {
        let some = each.iter().any(|(_, turns)| turns.left.len() <= turn);
        words.extend(some.then(|| Part::For(sizes(&|turns| turns > turn))));
        match turn {
            0 => words.push(plain("Turn with ")),
            _ if alike => words.push(plain(if turn + 1 == most { " and " } else { ", " })),
            _ => words.extend([
                Part::For(sizes(&|turns| turns > turn + 1)),
                plain(", "),
                Part::ForAll,
                Part::Alone(sizes(&|turns| turns == turn + 1), " and ".to_owned()),
            ]),
        }
        let left = each.iter().map(|(size, turns)| {
            (*size, turns.left.get(turn).map_or("-".to_owned(), u32::to_string))
        });
        words.push(Part::Number(Number::by_size(left.collect())));
        words.extend(some.then_some(Part::ForAll));
    }
    words.push(plain(match which {
        EdgeRows::Next => " sts left at each end; close the gaps when you next work across them.",
        EdgeRows::EverySecond(_) => {
            " sts left at that end, and work back; close the gaps when you next work across them."
        }
    }));
    Some(StepLine { words, ..StepLine::default() })
}
