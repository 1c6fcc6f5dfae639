//! How long the solver takes for all sizes of a garment.

#[path = "../tests/it/solver/random.rs"]
#[allow(dead_code)]
mod random;

use random::{Random, garment};
use walewright::plan::solve::solve;
use walewright::plan::system::System;

fn main() {
    divan::main();
}

/// Systems of about a hundred unknowns, ten pieces each.
fn sizes(seed: u64, how_many: u64) -> Vec<System> {
    (0..how_many).map(|size| garment(&mut Random(seed + size), 10)).collect()
}

/// Nine sizes at once, for several garments.
#[divan::bench(args = [0, 100, 200, 300, 400])]
fn nine_sizes(bencher: divan::Bencher, seed: u64) {
    let systems = sizes(seed, 9);
    bencher.bench_local(|| systems.iter().filter(|s| solve(s).is_ok()).count());
}
