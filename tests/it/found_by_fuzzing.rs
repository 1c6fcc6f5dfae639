//! The laws that hold for any text, tried on the patterns of the repository,
//! and on every text that once broke one.

mod laws;

use crate::patterns::{all, targets_of};

#[test]
fn the_laws_hold_for_every_pattern_here() {
    for pattern in all() {
        laws::reading(&pattern.text);
        laws::checking(&pattern.text);
        laws::showing(&pattern.text);
        for targets in targets_of(&pattern) {
            laws::rewriting(&pattern.text, &targets.text);
        }
    }
}
