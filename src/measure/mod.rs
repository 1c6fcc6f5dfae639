//! Exact lengths, gauges and counts: the arithmetic everything else stands on.
//!
//! All of it is rational ([`Exact`]), so no count ever hangs on
//! floating-point noise. Only [`round`] turns an exact value into a whole
//! number of stitches or rows. Nothing here knows of text, patterns or pages.

mod count;
mod exact;
mod gauge;
mod given;
mod length;
mod linear;
pub mod round;

pub use count::{Rows, Stitches};
pub(crate) use exact::gcd;
pub use exact::{Exact, ParseExactError, decimal, exact, parse_exact, percent};
pub use gauge::{Density, Gauge};
pub use given::{Given, SizeId};
pub use length::{Length, Unit};
pub use linear::{Linear, Unknown};
