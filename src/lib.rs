//! walewright reads a hand-knitting pattern written in plain text, works
//! every row of every size, and rewrites it for another gauge, fit or range
//! of sizes.
pub mod cli;
pub mod diag;
pub mod measure;
pub mod model;
pub mod plan;
pub mod source;
pub mod standards;
pub mod stitch;
pub mod syntax;
pub mod work;
