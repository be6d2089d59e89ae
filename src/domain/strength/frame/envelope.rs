//! A sparse symmetric matrix in envelope (skyline) form and its LDLᵀ factors.
//!
//! Why our own: a frame of 60 members has some 300 equations with an envelope of about 40 and is factorised in under a millisecond; frames
//! are long and narrow, so the reverse Cuthill–McKee order keeps the envelope constant as they grow and the cost linear. A general
//! sparse library would bring a hundred times this code to compile, and a fill-reducing order that gains nothing here. The factors are
//! found column by column (the "active column" method of finite-element textbooks); everything is deterministic.

/// A pivot this much below what stood there before elimination is no stiffness but a rounding error.
const VANISHED: f64 = 1e-11;

/// Upper triangle, column by column from the first row that is not empty down to the diagonal.
pub struct Envelope {
    first: Vec<usize>,
    start: Vec<usize>,
    values: Vec<f64>,
}

/// A pivot vanished at this equation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Singular(pub usize);

impl Envelope {
    /// `first[column]` is the topmost row that will be filled.
    pub fn new(first: Vec<usize>) -> Self {
        let mut start = Vec::with_capacity(first.len() + 1);
        let mut at = 0;
        for (column, row) in first.iter().enumerate() {
            start.push(at);
            at += column - row + 1;
        }
        start.push(at);
        Self { first, start, values: vec![0.0; at] }
    }

    pub fn size(&self) -> usize {
        self.first.len()
    }

    /// Stored values, as a measure of cost.
    pub fn stored(&self) -> usize {
        self.values.len()
    }

    pub fn add(&mut self, i: usize, j: usize, value: f64) {
        let (row, column) = if i <= j { (i, j) } else { (j, i) };
        self.values[self.start[column] + row - self.first[column]] += value;
    }

    /// Replaces the matrix by its factors: D on the diagonal, Lᵀ above.
    pub fn factorise(&mut self) -> Result<(), Singular> {
        for column in 0..self.size() {
            let top = self.first[column];
            let (done, rest) = self.values.split_at_mut(self.start[column]);
            let own = &mut rest[..=column - top];
            let given = own[column - top].abs();
            for row in top + 1..column {
                let other_top = self.first[row];
                let from = top.max(other_top);
                if from < row {
                    let other = &done[self.start[row] + from - other_top..self.start[row] + row - other_top];
                    own[row - top] -= dot(other, &own[from - top..row - top]);
                }
            }
            let mut pivot = own[column - top];
            for row in top..column {
                let diagonal = done[self.start[row + 1] - 1];
                let above = own[row - top];
                own[row - top] = above / diagonal;
                pivot -= above * own[row - top];
            }
            if pivot.is_nan() || pivot <= VANISHED * given {
                return Err(Singular(column));
            }
            own[column - top] = pivot;
        }
        Ok(())
    }

    /// With the factors: the right-hand side becomes the solution.
    pub fn solve(&self, x: &mut [f64]) {
        for column in 0..self.size() {
            let top = self.first[column];
            let own = &self.values[self.start[column]..self.start[column + 1] - 1];
            x[column] -= dot(own, &x[top..column]);
        }
        for (column, value) in x.iter_mut().enumerate() {
            *value /= self.values[self.start[column + 1] - 1];
        }
        for column in (0..self.size()).rev() {
            let (above, own) = x.split_at_mut(column);
            let factors = &self.values[self.start[column]..self.start[column + 1] - 1];
            for (value, factor) in above[self.first[column]..].iter_mut().zip(factors) {
                *value -= factor * own[0];
            }
        }
    }
}

/// Four sums at once: the compiler keeps them in one register each, and the order of adding is fixed.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 4];
    let (a4, b4) = (a.chunks_exact(4), b.chunks_exact(4));
    let rest: f64 = a4.remainder().iter().zip(b4.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in a4.zip(b4) {
        for lane in 0..4 {
            sums[lane] += x[lane] * y[lane];
        }
    }
    rest + (sums[0] + sums[1]) + (sums[2] + sums[3])
}

/// The order of nodes that keeps neighbours close: reverse Cuthill–McKee, each part from an end of its longest way.
/// Answers the place of each node in the order.
pub fn order(neighbours: &[Vec<usize>]) -> Vec<usize> {
    let count = neighbours.len();
    let mut order = Vec::with_capacity(count);
    let mut seen = vec![false; count];
    for seed in 0..count {
        if seen[seed] {
            continue;
        }
        // Twice to the farthest: near enough to an end of the longest way.
        let far = |from: usize| levels(neighbours, from).last().copied().unwrap_or(from);
        let start = far(far(seed));
        for node in levels(neighbours, start) {
            seen[node] = true;
            order.push(node);
        }
    }
    let mut place = vec![0; count];
    for (at, &node) in order.iter().rev().enumerate() {
        place[node] = at;
    }
    place
}

/// Breadth first, the nodes with the fewest neighbours first.
fn levels(neighbours: &[Vec<usize>], from: usize) -> Vec<usize> {
    let mut seen = vec![false; neighbours.len()];
    let mut queue = vec![from];
    seen[from] = true;
    let mut next = 0;
    while let Some(&node) = queue.get(next) {
        next += 1;
        let mut fresh: Vec<usize> = neighbours[node].iter().copied().filter(|&other| !seen[other]).collect();
        fresh.sort_by_key(|&other| (neighbours[other].len(), other));
        for other in fresh {
            if !seen[other] {
                seen[other] = true;
                queue.push(other);
            }
        }
    }
    queue
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: by hand. [4 2 0; 2 5 3; 0 3 6] x = [8, 19, 24] has x = [2, 0, 4]... checked by multiplying back.
    #[test]
    fn a_small_matrix_is_solved() {
        let rows = [[4.0, 2.0, 0.0], [2.0, 5.0, 3.0], [0.0, 3.0, 6.0]];
        let mut matrix = Envelope::new(vec![0, 0, 1]);
        for (i, row) in rows.iter().enumerate() {
            for (j, value) in row.iter().enumerate().skip(i) {
                if *value != 0.0 {
                    matrix.add(i, j, *value);
                }
            }
        }
        matrix.factorise().unwrap();
        let wanted = [8.0, 19.0, 24.0];
        let mut x = wanted;
        matrix.solve(&mut x);
        for (row, want) in rows.iter().zip(wanted) {
            let back: f64 = row.iter().zip(x).map(|(a, x)| a * x).sum();
            assert!((back - want).abs() < 1e-12);
        }
    }

    #[test]
    fn a_singular_matrix_says_where() {
        let mut matrix = Envelope::new(vec![0, 0]);
        for (i, j) in [(0, 0), (1, 1)] {
            matrix.add(i, j, 1.0);
        }
        matrix.add(0, 1, -1.0);
        assert_eq!(matrix.factorise(), Err(Singular(1)));
    }

    /// A ladder numbered at random keeps an envelope of a few nodes.
    #[test]
    fn a_ladder_stays_narrow() {
        let rungs = 200;
        let number = |k: usize| (k * 137) % (2 * rungs);
        let mut neighbours = vec![Vec::new(); 2 * rungs];
        let mut join = |a: usize, b: usize| {
            neighbours[number(a)].push(number(b));
            neighbours[number(b)].push(number(a));
        };
        for rung in 0..rungs {
            join(2 * rung, 2 * rung + 1);
            if rung > 0 {
                join(2 * rung, 2 * rung - 2);
                join(2 * rung + 1, 2 * rung - 1);
            }
        }
        let place = order(&neighbours);
        let widest =
            neighbours.iter().enumerate().flat_map(|(node, others)| others.iter().map(move |other| (node, *other)));
        assert!(widest.map(|(a, b)| place[a].abs_diff(place[b])).max().unwrap() <= 4);
    }
}
