//! How long the solver takes for all sizes of a garment.

#[path = "../tests/it/solver/random.rs"]
#[allow(dead_code)]
mod random;

use random::{Random, garment};
use walewright::plan::each_at_once;
use walewright::plan::solve::solve;
use walewright::plan::system::System;

fn main() {
    divan::main();
}

/// Systems of about a hundred unknowns, ten pieces each.
fn sizes(seed: u64, how_many: u64) -> Vec<System> {
    (0..how_many).map(|size| garment(&mut Random(seed + size), 10)).collect()
}

const GARMENTS: [u64; 5] = [0, 100, 200, 300, 400];

/// Nine sizes one after the other, for several garments.
#[divan::bench(args = GARMENTS)]
fn nine_sizes_in_turn(bencher: divan::Bencher, seed: u64) {
    let systems = sizes(seed, 9);
    bencher.bench_local(|| systems.iter().filter(|s| solve(s).is_ok()).count());
}

/// The same shared out among as many cores as there are, as a plan does it.
#[divan::bench(args = GARMENTS)]
fn nine_sizes_at_once(bencher: divan::Bencher, seed: u64) {
    let systems = sizes(seed, 9);
    bencher.bench_local(|| each_at_once(systems.len(), |size| solve(&systems[size]).is_ok()));
}
