//! Bars of one length, unpriced: the published families of bin packing and one-dimensional cutting stock. Only their
//! parameters are published; the numbers drawn here are our own, so that figures compare with a family, not with a file.

use super::{
    problem::{Family, Problem, identical},
    random::Random,
};

pub const FAMILIES: [Family; 8] = [
    Family { name: "falkenauer-u", source: "Falkenauer 1996, uniform", size: 80, problem: falkenauer_uniform },
    Family { name: "falkenauer-t", source: "Falkenauer 1996, triplets", size: 80, problem: falkenauer_triplets },
    Family { name: "scholl-1", source: "Scholl, Klein, Jürgens 1997, set 1", size: 72, problem: scholl_1 },
    Family { name: "scholl-2", source: "Scholl, Klein, Jürgens 1997, set 2", size: 96, problem: scholl_2 },
    Family { name: "scholl-3", source: "Scholl, Klein, Jürgens 1997, set 3", size: 10, problem: scholl_3 },
    Family { name: "schwerin", source: "Schwerin, Wäscher 1997", size: 40, problem: schwerin },
    Family { name: "waescher-gau", source: "in the style of Wäscher, Gau 1996", size: 20, problem: waescher_gau },
    Family { name: "cutgen", source: "Gau, Wäscher 1995", size: 48, problem: cutgen },
];

/// Which of the combinations a seed takes, in turn.
fn turn<T: Copy>(seed: u64, of: &[T]) -> (T, u64) {
    let n = of.len() as u64;
    (of[((seed - 1) % n) as usize], (seed - 1) / n + 1)
}

/// Falkenauer, "A hybrid grouping genetic algorithm for bin packing", 1996: weights 20 to 100, capacity 150; u120, u250,
/// u500 and u1000.
fn falkenauer_uniform(seed: u64) -> Problem {
    let (n, _) = turn(seed, &[120, 250, 500, 1000]);
    let mut random = Random::of("falkenauer-u", seed);
    identical("falkenauer-u", format!("u{n}-{seed}"), 150, (0..n).map(|_| random.int(20, 100)))
}

/// The same paper: capacity 1000, filled by triplets without waste: the first weight 380 to 490, the second from 250 to
/// below half of what is left, the third the rest; t60, t120, t249 and t501.
fn falkenauer_triplets(seed: u64) -> Problem {
    let (n, _) = turn(seed, &[60, 120, 249, 501]);
    let mut random = Random::of("falkenauer-t", seed);
    let weights = (0..n / 3).flat_map(|_| {
        let first = random.int(380, 490);
        let second = random.int(250, (1000 - first) / 2 - 1);
        [first, second, 1000 - first - second]
    });
    Problem { least: Some(n / 3), ..identical("falkenauer-t", format!("t{n}-{seed}"), 1000, weights) }
}

/// Scholl, Klein, Jürgens, "BISON", 1997, set 1: 50, 100, 200 or 500 weights in [1, 100], [20, 100] or [30, 100],
/// capacity 100, 120 or 150.
fn scholl_1(seed: u64) -> Problem {
    let (least, round) = turn(seed, &[1, 20, 30]);
    let (capacity, round) = turn(round, &[100, 120, 150]);
    let (n, _) = turn(round, &[50, 100, 200, 500]);
    let mut random = Random::of("scholl-1", seed);
    identical("scholl-1", format!("n{n}c{capacity}w{least}-{seed}"), capacity, (0..n).map(|_| random.int(least, 100)))
}

/// Set 2: capacity 1000, mean weight a third, fifth, seventh or ninth of it, deviating by up to 20, 50 or 90 %.
fn scholl_2(seed: u64) -> Problem {
    let (deviation, round) = turn(seed, &[20, 50, 90]);
    let (share, round) = turn(round, &[3, 5, 7, 9]);
    let (n, _) = turn(round, &[50, 100, 200, 500]);
    let mut random = Random::of("scholl-2", seed);
    let mean = 1000.0 / share as f64;
    let (least, most) = (mean * f64::from(100 - deviation) / 100.0, mean * f64::from(100 + deviation) / 100.0);
    let weights = (0..n).map(|_| random.int(least.ceil() as i64, most.floor() as i64));
    identical("scholl-2", format!("n{n}w{share}b{deviation}-{seed}"), 1000, weights)
}

/// Set 3: 200 weights from 20000 to 35000, capacity 100000.
fn scholl_3(seed: u64) -> Problem {
    let mut random = Random::of("scholl-3", seed);
    identical("scholl-3", format!("hard-{seed}"), 100_000, (0..200).map(|_| random.int(20_000, 35_000)))
}

/// Schwerin, Wäscher, "The bin-packing problem: a problem generator and some numerical experiments with FFD packing and
/// MTP", 1997: 100 or 120 weights from 150 to 200, capacity 1000.
fn schwerin(seed: u64) -> Problem {
    let (n, _) = turn(seed, &[100, 120]);
    let mut random = Random::of("schwerin", seed);
    identical("schwerin", format!("n{n}-{seed}"), 1000, (0..n).map(|_| random.int(150, 200)))
}

/// In the style of the hard problems chosen by Wäscher and Gau, "Heuristics for the integer one-dimensional cutting stock
/// problem", 1996: capacity 10000, 57 to 239 weights of widely different size. That the chosen ones leave almost no waste
/// over their material bound is from memory; here the lightest weights are changed until at most 0.5 % of a bar is over.
fn waescher_gau(seed: u64) -> Problem {
    let mut random = Random::of("waescher-gau", seed);
    let n = random.int(57, 239);
    let most = *random.pick(&[4_000, 5_000, 6_000, 7_500]);
    let mut weights: Vec<i64> = (0..n).map(|_| random.int(2, most)).collect();
    let over = random.int(0, 50);
    loop {
        let sum: i64 = weights.iter().sum();
        let spare = (-sum).rem_euclid(10_000);
        if spare <= 50 {
            break;
        }
        // A weight that can grow by what is missing, or at least towards it.
        let at = random.int(0, n - 1) as usize;
        weights[at] = (weights[at] + (spare - over).max(1)).min(most);
    }
    identical("waescher-gau", format!("n{n}w{most}-{seed}"), 10_000, weights)
}

/// Gau, Wäscher, "CUTGEN1: a problem generator for the standard one-dimensional cutting stock problem", 1995: length
/// 10000, 10, 20, 40 or 50 kinds up to a quarter, half, three quarters or all of it, mean demand 10 or 20 (the published
/// 100 would pass 1,000 parts). Demands share the total in proportion to random numbers.
fn cutgen(seed: u64) -> Problem {
    let (share, round) = turn(seed, &[25, 50, 75, 100]);
    let (demand, round) = turn(round, &[10, 20]);
    let (kinds, _) = turn(round, &[10, 20, 40, 50, 30, 15]);
    let mut random = Random::of("cutgen", seed);
    let lengths: Vec<i64> = (0..kinds).map(|_| random.int(1, 100 * share)).collect();
    let shares: Vec<f64> = (0..kinds).map(|_| random.unit()).collect();
    let (whole, total) = (shares.iter().sum::<f64>(), (kinds * demand) as f64);
    let mut left = kinds * demand;
    let mut weights = Vec::new();
    for (at, (&length, part)) in lengths.iter().zip(&shares).enumerate() {
        let others = kinds - at as i64 - 1;
        let wanted = if others == 0 { left } else { (total * part / whole + 0.5) as i64 };
        let n = wanted.clamp(1, (left - others).max(1));
        left -= n;
        weights.extend(std::iter::repeat_n(length, n as usize));
    }
    identical("cutgen", format!("m{kinds}v{share}d{demand}-{seed}"), 10_000, weights)
}
