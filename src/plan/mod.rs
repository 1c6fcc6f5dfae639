//! The system of counts: setting it up, solving it, and saying why.
pub mod merge;
pub mod ratio;
pub mod spacing;
pub mod system;
pub mod taper;
