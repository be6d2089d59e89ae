//! Bars of one length whose material bound cannot be reached (non-IRUP), or only just: in the style of the AI and ANI
//! problems of Delorme, Iori, Martello, "Bin packing and cutting stock problems: mathematical models and exact
//! algorithms", 2016. That they augment a small problem without the integer round-up property by triplets is from memory;
//! the construction below is our own after that idea, and its answers are known.
//!
//! **The core** follows Caprara, Dell'Amico, Díaz-Díaz, Iori, Rizzi, "Friendly bin packing instances without integer
//! round-up property", 2015 (from memory). Each vertex of the Petersen graph has a number, together the capacity c; a
//! weight is an edge, the sum of its two ends. Five edges weigh c if they are a perfect matching, and the numbers are
//! drawn until no other edges do. Every edge is in two of the six perfect matchings, so half of each fills three bars
//! without waste: the linear bound is 3. Three whole bars would colour the edges with three colours, which the Petersen
//! graph does not allow, four colours do: the least number is 4.
//!
//! **A triplet** is a weight above half of c and two that fill the bar, so that no other one or two weights fill up the
//! first (and three are too many): a plan without waste must hold the triplet as a bar, and with it taken out be a plan
//! without waste of what was there before. So bound and least number both grow by one.

use super::{
    problem::{Family, Problem, identical},
    random::Random,
};

pub const FAMILIES: [Family; 2] = [
    Family { name: "ani", source: "in the style of Delorme, Iori, Martello 2016, ANI", size: 20, problem: non_irup },
    Family { name: "ai", source: "in the style of Delorme, Iori, Martello 2016, AI", size: 20, problem: irup },
];

/// Number of weights and capacity. The published problems have the capacities 2500 to 80000 from 201 weights on.
const SIZES: [(usize, i64); 4] = [(99, 5_000), (150, 10_000), (201, 20_000), (402, 80_000)];

/// Outer cycle, spokes, inner star.
const PETERSEN: [(usize, usize); 15] = [
    (0, 1),
    (1, 2),
    (2, 3),
    (3, 4),
    (4, 0),
    (0, 5),
    (1, 6),
    (2, 7),
    (3, 8),
    (4, 9),
    (5, 7),
    (7, 9),
    (9, 6),
    (6, 8),
    (8, 5),
];

/// The least number of bars is one above the bound.
fn non_irup(seed: u64) -> Problem {
    let (n, capacity) = SIZES[(seed as usize - 1) % SIZES.len()];
    let mut random = Random::of("ani", seed);
    let (_, mut weights) = core(&mut random, capacity);
    let bars = 4 + triplets(&mut random, capacity, &mut weights, n);
    Problem { least: Some(bars), ..identical("ani", format!("n{n}c{capacity}-{seed}"), capacity, weights) }
}

/// One weight of the core is split so that there is a plan without waste.
///
/// One bar is the spokes. Of each five-cycle two edges that do not meet go to the second bar, which leaves out one vertex
/// of each: what these two count fills it up, cut off an edge that is left over; all the rest weighs what a bar holds.
fn irup(seed: u64) -> Problem {
    let (n, capacity) = SIZES[(seed as usize - 1) % SIZES.len()];
    let mut random = Random::of("ai", seed);
    let mut weights = loop {
        let (vertices, mut edges) = core(&mut random, capacity);
        let [outer, inner] = [[0, 1, 2, 3, 4], [5, 7, 9, 6, 8]];
        let (out, inn) = (random.int(0, 4) as usize, random.int(0, 4) as usize);
        let needed = vertices[outer[out]] + vertices[inner[inn]];
        // The edges that meet in the vertex left out are left over.
        let at = PETERSEN.iter().position(|&(a, b)| (a, b) == (outer[out], outer[(out + 1) % 5]));
        let Some(at) = at.filter(|&at| edges[at] > needed) else { continue };
        let rest = edges[at] - needed;
        edges[at] = needed;
        edges.push(rest);
        break edges;
    };
    let bars = 3 + triplets(&mut random, capacity, &mut weights, n + 1);
    Problem { least: Some(bars), ..identical("ai", format!("n{}c{capacity}-{seed}", n + 1), capacity, weights) }
}

/// Numbers of the vertices and weights of the edges.
fn core(random: &mut Random, capacity: i64) -> ([i64; 10], Vec<i64>) {
    let tenth = capacity / 10;
    loop {
        let mut vertices = [0; 10];
        for vertex in &mut vertices[..9] {
            *vertex = tenth + random.int(-tenth / 5, tenth / 5);
        }
        vertices[9] = capacity - vertices[..9].iter().sum::<i64>();
        let edges: Vec<i64> = PETERSEN.iter().map(|&(a, b)| vertices[a] + vertices[b]).collect();
        // Between a sixth and a quarter of the capacity: only five of them can fill a bar.
        if edges.iter().all(|&e| 6 * e > capacity && 4 * e < capacity) && only_matchings_fill(&edges, capacity) {
            return (vertices, edges);
        }
    }
}

fn only_matchings_fill(edges: &[i64], capacity: i64) -> bool {
    (0_u32..1 << 15).filter(|set| set.count_ones() == 5).all(|set| {
        let chosen = || (0..15).filter(|&at| set >> at & 1 == 1);
        let met = chosen().fold(0_u32, |met, at| met | 1 << PETERSEN[at].0 | 1 << PETERSEN[at].1);
        chosen().map(|at| edges[at]).sum::<i64>() != capacity || met == (1 << 10) - 1
    })
}

/// Adds triplets up to `n` weights; how many.
fn triplets(random: &mut Random, capacity: i64, weights: &mut Vec<i64>, n: usize) -> u32 {
    let mut added = 0;
    while weights.len() + 3 <= n {
        // Three of the lighter weights (all above a sixth of the capacity) pass what a first weight leaves.
        let (second, third) =
            (random.int(capacity / 5, capacity * 3 / 10), random.int(capacity / 5, capacity * 3 / 10));
        let left = second + third;
        if 2 * left >= capacity || fills(weights, second, third, left) {
            continue;
        }
        weights.extend([capacity - left, second, third]);
        added += 1;
    }
    added
}

/// Whether one or two of the weights, the new ones with them, weigh `left` otherwise than the two new ones together.
fn fills(weights: &[i64], second: i64, third: i64, left: i64) -> bool {
    let mut sorted: Vec<i64> = weights.to_vec();
    sorted.sort_unstable();
    if sorted.binary_search(&left).is_ok() || [second, third].iter().any(|w| sorted.binary_search(w).is_ok()) {
        return true;
    }
    let (mut low, mut high) = (0, sorted.len());
    while low + 1 < high {
        match (sorted[low] + sorted[high - 1]).cmp(&left) {
            std::cmp::Ordering::Equal => return true,
            std::cmp::Ordering::Less => low += 1,
            std::cmp::Ordering::Greater => high -= 1,
        }
    }
    false
}
