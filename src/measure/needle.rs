//! Needle sizes: metric, US and old UK.
