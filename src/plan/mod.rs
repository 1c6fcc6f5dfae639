//! The system of counts: setting it up, solving it, and saying why.
pub mod spacing;
pub mod system;
