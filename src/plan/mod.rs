//! The system of counts: setting it up, solving it, and saying why.
pub mod band;
pub mod cap;
pub mod convert;
pub mod crown;
pub mod heel;
pub mod merge;
pub mod pickup;
pub mod raglan;
pub mod ratio;
pub mod spacing;
pub mod swatch;
pub mod system;
pub mod taper;
pub mod yoke;
