//! Random systems of counts, the same on every machine.

use walewright::measure::round::Multiple;
use walewright::measure::{Exact, Linear, Unknown, exact};
use walewright::plan::system::{Aim, Requirement, System, Weighted};

/// Pseudo-random numbers (SplitMix64, S. Vigna, public domain).
pub(crate) struct Random(pub(crate) u64);

impl Random {
    /// From 0 up to, but without, `n`.
    pub(crate) fn below(&mut self, n: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % n
    }

    /// From `low` to `high`, both included.
    pub(crate) fn between(&mut self, low: i64, high: i64) -> i64 {
        low + self.below(low.abs_diff(high) + 1) as i64
    }

    /// True once in `n` times.
    pub(crate) fn once_in(&mut self, n: u64) -> bool {
        self.below(n) == 0
    }

    /// One of them.
    pub(crate) fn pick<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.below(of.len() as u64) as usize]
    }
}

/// `constant` and a factor for each of some unknowns.
fn linear(random: &mut Random, unknowns: usize, most: usize) -> Linear {
    let mut sum = Linear::number(random.between(-6, 6));
    for _ in 0..=random.below(most as u64) {
        let u = Linear::unknown(Unknown(random.below(unknowns as u64) as usize));
        let factor = random.pick(&[1, 1, 1, -1, -1, -1, 2, -2, 3, -3, 5]);
        sum = &sum + &u.times(factor);
    }
    sum
}

/// A small system of any kind at all; about half of them can hold.
pub(crate) fn small(random: &mut Random) -> System {
    let mut system = System::new();
    let unknowns = random.between(1, 4) as usize;
    let widest = [200, 200, 24, 9][unknowns - 1];
    for i in 0..unknowns {
        let low = random.between(-9, 5);
        let wide = if i < 2 { widest } else { widest.min(9) };
        system.unknown(low, low + random.between(0, wide));
    }
    for _ in 0..random.below(4) {
        let l = linear(random, unknowns, 3);
        let requirement = match random.below(4) {
            0 => Requirement::Zero(l),
            1 => {
                let of = random.between(1, 8) as u32;
                Requirement::Multiple(l, Multiple::new(of, random.below(8) as u32))
            }
            _ => Requirement::NotNegative(l),
        };
        system.require(requirement);
    }
    for _ in 0..random.below(5) {
        let mut of = Weighted::from(&linear(random, unknowns, 2));
        of = of.times(exact(random.pick(&[1, 1, 2, 3, -1]), random.pick(&[1, 1, 2, 3])));
        let target = exact(random.between(-20, 40), random.pick(&[1, 1, 2, 4]));
        let tolerance = exact(random.between(1, 4), random.pick(&[1, 1, 2, 5]));
        system.aim(Aim { of, target, tolerance });
    }
    system
}

/// A system like that of one size of a garment: pieces whose band follows
/// their width, that are shaped in steps of two, have a stitch pattern's
/// repeat, share their rows, and are joined at a yoke.
pub(crate) fn garment(random: &mut Random, pieces: usize) -> System {
    const WIDE: i64 = 1_000_000;
    let mut system = System::new();
    let number = Linear::number;
    let count = |system: &mut System| system.unknown(0, 2_000);
    let aim = |system: &mut System, u: Unknown, target: Exact, tolerance: Exact| {
        system.aim(Aim { of: Weighted::unknown(u), target, tolerance });
    };
    let tenths = |random: &mut Random, low: i64, high: i64| exact(random.between(low, high), 10);
    let multiple = |random: &mut Random, system: &mut System, u: Unknown| {
        let of = random.pick(&[1, 2, 2, 4, 4, 6, 8, 12]);
        // Even, or pieces that are shaped by two at a time could seldom meet.
        let m = Multiple::new(of, 2 * random.below(u64::from(of.div_ceil(2))) as u32);
        if random.once_in(3) {
            // As n = of k + plus.
            let k = system.unknown(-WIDE, WIDE);
            let repeats = Linear::unknown(k).times(of.into());
            let rest = &Linear::unknown(u) - &number(m.plus().into());
            system.require(Requirement::Zero(&rest - &repeats));
        } else {
            system.require(Requirement::Multiple(Linear::unknown(u), m));
        }
    };
    let mut tops = Vec::new();
    let rows = count(&mut system);
    let rows_target = tenths(random, 600, 1500);
    aim(&mut system, rows, rows_target, exact(2, 1));
    for piece in 0..pieces {
        let stitches = random.between(400, 2_400);
        let mut last = count(&mut system);
        aim(&mut system, last, exact(stitches, 10), tenths(random, 10, 40));
        multiple(random, &mut system, last);
        // Its band follows the count that is chosen: n - share x N should be nought.
        let band = count(&mut system);
        let gauges = exact(random.between(150, 350), random.between(150, 350));
        let share = gauges * exact(random.between(80, 110), random.between(80, 110));
        let of = &Weighted::unknown(band) - &Weighted::unknown(last).times(share);
        let tolerance = (share * exact(stitches, 500)).max(exact(1, 1));
        system.aim(Aim { of, target: exact(0, 1), tolerance });
        if random.once_in(2) {
            multiple(random, &mut system, band);
        }
        let mut width = stitches;
        for _ in 0..random.between(1, 2) {
            let next = count(&mut system);
            let times = system.unknown(if random.once_in(2) { 0 } else { -WIDE }, WIDE);
            let grown = &Linear::unknown(next) - &Linear::unknown(last);
            system.require(Requirement::Zero(&grown - &Linear::unknown(times).times(2)));
            let grown_by = random.between(-30, 300).max(0);
            width += grown_by;
            if !random.once_in(4) {
                aim(&mut system, next, exact(width, 10), tenths(random, 10, 40));
            }
            if random.once_in(3) {
                multiple(random, &mut system, next);
            }
            // As far apart as the rows allow, or less.
            let room = rows_target.to_integer() as i64 * 20 / grown_by.max(20);
            let apart = random.between(1, room.clamp(1, 12));
            let shaped = Linear::unknown(times).times(apart);
            system.require(Requirement::NotNegative(&Linear::unknown(rows) - &shaped));
            last = next;
        }
        let own = count(&mut system);
        aim(&mut system, own, rows_target + tenths(random, -30, 30), exact(3, 1));
        if piece % 2 == 1 {
            let level = &Linear::unknown(own) - &Linear::unknown(rows);
            system.require(Requirement::Zero(level));
        }
        system.require(Requirement::Multiple(Linear::unknown(own), Multiple::new(2, 0)));
        tops.push((last, width));
    }
    for three in tops.chunks(3) {
        let &[(body, wide), (sleeve, narrow), ..] = three else { continue };
        let (yoke, under) = (count(&mut system), system.unknown(0, 60));
        let parts = &Linear::unknown(body) + &Linear::unknown(sleeve).times(2);
        let joined = &parts - &Linear::unknown(under).times(2);
        system.require(Requirement::Zero(&Linear::unknown(yoke) - &joined));
        let under_target = random.between(40, 160);
        let target = wide + 2 * narrow - 2 * under_target + random.between(-10, 10);
        aim(&mut system, yoke, exact(target, 10), exact(4, 1));
        aim(&mut system, under, exact(under_target, 10), exact(1, 1));
        if random.once_in(2) {
            multiple(random, &mut system, yoke);
        }
        let (neck, gone) = (count(&mut system), system.unknown(-WIDE, WIDE));
        let lost = Linear::unknown(gone).times(random.pick(&[4, 8]));
        system
            .require(Requirement::Zero(&(&Linear::unknown(yoke) - &Linear::unknown(neck)) - &lost));
        aim(&mut system, neck, exact(target * 2 / 5, 10), exact(3, 1));
        if let Some(&(other, width)) = three.get(2) {
            let (less, more) = if width < narrow { (other, sleeve) } else { (sleeve, other) };
            let gap = &Linear::unknown(more) - &Linear::unknown(less);
            system.require(Requirement::NotNegative(gap));
        }
    }
    system
}
