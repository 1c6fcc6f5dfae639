//! Works every row of every size.
//!
//! One walk over the steps of a pattern serves two ends. Whoever keeps the
//! `ledger` decides what a number is: with plain numbers the walk checks
//! the pattern (see [`check()`]); with unknowns it sets up the system of counts
//! (see `plan`). Nothing here knows of targets, text edits or pages.

pub mod chart;
pub mod check;
pub mod fabric;
pub(crate) mod ledger;
pub(crate) mod needle;
pub(crate) mod row;
pub(crate) mod trace;
pub mod turned;
pub(crate) mod walk;
pub mod yarn;

pub use check::{Worked, check};
pub use trace::{Trace, Visit};
