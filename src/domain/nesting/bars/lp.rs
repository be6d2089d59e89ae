//! A small linear program, min c·x with A x ≥ b, x ≥ 0 and c ≥ 0, by the revised simplex method with a dense inverse.
//!
//! With costs that are not negative the basis of all surpluses is dual feasible: the dual simplex starts there, needs no
//! first phase, and takes up again after rows' right-hand sides change or columns are barred; the primal simplex takes up
//! after columns are added. Everything is float arithmetic and nothing is trusted: bounds are proven elsewhere, in
//! integers, from whatever prices come out of here.

use std::rc::Rc;

const TINY: f64 = 1e-9;
/// Of a variable's value; right-hand sides are numbers of parts and bars.
const FEASIBLE: f64 = 1e-7;

/// Costs and entries of all columns, shared by the copies of a program in a tree search.
#[derive(Clone, Debug, Default)]
struct Matrix {
    costs: Vec<f64>,
    starts: Vec<usize>,
    entries: Vec<(u32, f64)>,
}

impl Matrix {
    fn of(&self, j: usize) -> &[(u32, f64)] {
        let end = self.starts.get(j + 1).copied().unwrap_or(self.entries.len());
        &self.entries[self.starts[j]..end]
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Var {
    Column(usize),
    Surplus(usize),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::domain::nesting) enum Outcome {
    Solved,
    Infeasible,
    /// Too many steps; prices are still usable, as any are.
    Stuck,
}

#[derive(Clone, Debug)]
pub(in crate::domain::nesting) struct Lp {
    rows: usize,
    pub rhs: Vec<f64>,
    matrix: Rc<Matrix>,
    /// Columns that may not be used (again).
    pub barred: Vec<bool>,
    basis: Vec<Var>,
    basic: Vec<bool>,
    inverse: Vec<f64>,
    values: Vec<f64>,
    prices: Vec<f64>,
    since_fresh: u32,
    /// Multiplications done since last asked.
    work: u64,
}

impl Lp {
    pub fn new(rhs: Vec<f64>) -> Self {
        let rows = rhs.len();
        let mut lp = Self {
            rows,
            rhs,
            matrix: Rc::default(),
            barred: Vec::new(),
            basis: (0..rows).map(Var::Surplus).collect(),
            basic: Vec::new(),
            inverse: vec![0.0; rows * rows],
            values: Vec::new(),
            prices: vec![0.0; rows],
            since_fresh: 0,
            work: 0,
        };
        for row in 0..rows {
            lp.inverse[row * rows + row] = -1.0;
        }
        lp.values = lp.rhs.iter().map(|b| -b).collect();
        lp
    }

    pub fn add(&mut self, cost: f64, entries: &[(u32, f64)]) -> usize {
        let matrix = Rc::make_mut(&mut self.matrix);
        matrix.costs.push(cost);
        matrix.starts.push(matrix.entries.len());
        matrix.entries.extend_from_slice(entries);
        self.basic.push(false);
        self.barred.push(false);
        self.barred.len() - 1
    }

    pub fn is_basic(&self, j: usize) -> bool {
        self.basic[j]
    }

    pub fn prices(&self) -> &[f64] {
        &self.prices
    }

    #[cfg(test)]
    fn objective(&self) -> f64 {
        self.prices.iter().zip(&self.rhs).map(|(y, b)| y * b).sum()
    }

    pub fn take_work(&mut self) -> u64 {
        std::mem::take(&mut self.work)
    }

    /// (column, value) of the basic columns above nought.
    pub fn solution(&self) -> Vec<(usize, f64)> {
        let columns = self.basis.iter().zip(&self.values).filter_map(|(var, &x)| match var {
            Var::Column(j) if x > FEASIBLE => Some((*j, x)),
            _ => None,
        });
        columns.collect()
    }

    /// After right-hand sides were changed.
    pub fn refresh(&mut self) {
        let n = self.rows;
        for row in 0..n {
            self.values[row] = (0..n).map(|i| self.inverse[row * n + i] * self.rhs[i]).sum();
        }
        self.reprice();
        self.work += (2 * n * n) as u64;
    }

    fn cost(&self, var: Var) -> f64 {
        match var {
            Var::Column(j) => self.matrix.costs[j],
            Var::Surplus(_) => 0.0,
        }
    }

    fn reprice(&mut self) {
        let n = self.rows;
        self.prices.fill(0.0);
        for row in 0..n {
            let cost = self.cost(self.basis[row]);
            if cost != 0.0 {
                for i in 0..n {
                    self.prices[i] += cost * self.inverse[row * n + i];
                }
            }
        }
    }

    fn reduced(&self, j: usize) -> f64 {
        self.matrix.costs[j] - self.matrix.of(j).iter().map(|&(i, a)| self.prices[i as usize] * a).sum::<f64>()
    }

    /// Dual simplex: from prices that no column undercuts to values that are not negative.
    pub fn dual(&mut self) -> Outcome {
        let n = self.rows;
        let limit = 60 + 12 * n;
        for _ in 0..limit {
            let mut leaving: Option<(f64, usize, bool)> = None;
            for row in 0..n {
                let barred = matches!(self.basis[row], Var::Column(j) if self.barred[j]);
                let x = self.values[row];
                let (off, above) = if x < -FEASIBLE {
                    (-x, false)
                } else if barred && x > FEASIBLE {
                    (x, true)
                } else {
                    continue;
                };
                if leaving.is_none_or(|(most, _, _)| off > most) {
                    leaving = Some((off, row, above));
                }
            }
            let Some((_, row, above)) = leaving else { return Outcome::Solved };
            // A value that must rise is raised by columns whose entry in this row is negative; a barred one must fall.
            let sign = if above { 1.0 } else { -1.0 };
            let line = &self.inverse[row * n..(row + 1) * n];
            let mut entering: Option<(f64, f64, Var)> = None;
            let mut offer = |alpha: f64, reduced: f64, var: Var| {
                let alpha = alpha * sign;
                if alpha <= 1e-7 {
                    return;
                }
                let ratio = reduced.max(0.0) / alpha;
                let better = entering
                    .is_none_or(|(least, size, _)| ratio < least - TINY || (ratio < least + TINY && alpha > size));
                if better {
                    entering = Some((ratio, alpha, var));
                }
            };
            let mut work = 0;
            for j in 0..self.barred.len() {
                if self.basic[j] || self.barred[j] {
                    continue;
                }
                let entries = self.matrix.of(j);
                let (mut alpha, mut reduced) = (0.0, self.matrix.costs[j]);
                for &(i, a) in entries {
                    alpha += line[i as usize] * a;
                    reduced -= self.prices[i as usize] * a;
                }
                work += entries.len() as u64 * 2;
                offer(alpha, reduced, Var::Column(j));
            }
            for (i, &alpha) in line.iter().enumerate() {
                if !self.basis.contains(&Var::Surplus(i)) {
                    offer(-alpha, self.prices[i], Var::Surplus(i));
                }
            }
            self.work += work;
            let Some((_, _, var)) = entering else { return Outcome::Infeasible };
            self.pivot(row, var);
        }
        Outcome::Stuck
    }

    /// Primal simplex: from values that are not negative to prices that no column undercuts.
    pub fn primal(&mut self) -> Outcome {
        let n = self.rows;
        let limit = 60 + 12 * n;
        for _ in 0..limit {
            let mut entering: Option<(f64, Var)> = None;
            let mut work = 0;
            for j in 0..self.barred.len() {
                if self.basic[j] || self.barred[j] {
                    continue;
                }
                work += self.matrix.of(j).len() as u64;
                let reduced = self.reduced(j);
                if reduced < -1e-8 && entering.is_none_or(|(least, _)| reduced < least) {
                    entering = Some((reduced, Var::Column(j)));
                }
            }
            for i in 0..n {
                if self.prices[i] < -1e-8
                    && entering.is_none_or(|(least, _)| self.prices[i] < least)
                    && !self.basis.contains(&Var::Surplus(i))
                {
                    entering = Some((self.prices[i], Var::Surplus(i)));
                }
            }
            self.work += work;
            let Some((_, var)) = entering else { return Outcome::Solved };
            let direction = self.direction(var);
            let mut leaving: Option<(f64, f64, usize)> = None;
            for (row, &d) in direction.iter().enumerate() {
                if d <= 1e-7 {
                    continue;
                }
                let ratio = self.values[row].max(0.0) / d;
                if leaving.is_none_or(|(least, size, _)| ratio < least - TINY || (ratio < least + TINY && d > size)) {
                    leaving = Some((ratio, d, row));
                }
            }
            let Some((_, _, row)) = leaving else { return Outcome::Stuck };
            self.pivot(row, var);
        }
        Outcome::Stuck
    }

    fn direction(&mut self, var: Var) -> Vec<f64> {
        let n = self.rows;
        self.work += n as u64 * 4;
        match var {
            Var::Column(j) => {
                let entries = self.matrix.of(j);
                (0..n).map(|row| entries.iter().map(|&(i, a)| self.inverse[row * n + i as usize] * a).sum()).collect()
            }
            Var::Surplus(i) => (0..n).map(|row| -self.inverse[row * n + i]).collect(),
        }
    }

    fn pivot(&mut self, row: usize, var: Var) {
        let n = self.rows;
        let direction = self.direction(var);
        let pivot = direction[row];
        if let Var::Column(j) = self.basis[row] {
            self.basic[j] = false;
        }
        if let Var::Column(j) = var {
            self.basic[j] = true;
        }
        self.basis[row] = var;
        for i in 0..n {
            self.inverse[row * n + i] /= pivot;
        }
        self.values[row] /= pivot;
        let (line, value) = (self.inverse[row * n..(row + 1) * n].to_vec(), self.values[row]);
        for (other, &d) in direction.iter().enumerate() {
            if other == row || d.abs() < 1e-13 {
                continue;
            }
            for (to, from) in self.inverse[other * n..(other + 1) * n].iter_mut().zip(&line) {
                *to -= d * from;
            }
            self.values[other] -= d * value;
        }
        self.since_fresh += 1;
        if self.since_fresh >= 100 {
            self.invert();
        }
        self.reprice();
        self.work += (2 * n * n) as u64;
    }

    /// The inverse anew from the basis, against the drift of many pivots.
    fn invert(&mut self) {
        let n = self.rows;
        self.since_fresh = 0;
        let width = 2 * n;
        let mut m = vec![0.0; n * width];
        for (at, var) in self.basis.iter().enumerate() {
            match var {
                Var::Column(j) => self.matrix.of(*j).iter().for_each(|&(i, a)| m[i as usize * width + at] = a),
                Var::Surplus(i) => m[i * width + at] = -1.0,
            }
        }
        for row in 0..n {
            m[row * width + n + row] = 1.0;
        }
        for at in 0..n {
            let best =
                (at..n).max_by(|&a, &b| m[a * width + at].abs().total_cmp(&m[b * width + at].abs())).unwrap_or(at);
            if m[best * width + at].abs() < 1e-11 {
                return;
            }
            if best != at {
                for i in 0..width {
                    m.swap(at * width + i, best * width + i);
                }
            }
            let pivot = m[at * width + at];
            let line: Vec<f64> = m[at * width..(at + 1) * width].iter().map(|v| v / pivot).collect();
            m[at * width..(at + 1) * width].copy_from_slice(&line);
            for row in 0..n {
                let factor = m[row * width + at];
                if row != at && factor != 0.0 {
                    for (to, from) in m[row * width..(row + 1) * width].iter_mut().zip(&line) {
                        *to -= factor * from;
                    }
                }
            }
        }
        for row in 0..n {
            let from = row * width + n;
            self.inverse[row * n..(row + 1) * n].copy_from_slice(&m[from..from + n]);
        }
        self.work += (2 * n * n * n) as u64;
        for row in 0..n {
            self.values[row] = (0..n).map(|i| self.inverse[row * n + i] * self.rhs[i]).sum();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_small_program_is_solved_from_both_sides() {
        // min 2x + 3y with x + y ≥ 4, x + 3y ≥ 6: by hand x = 3, y = 1, cost 9, prices 1.5 and 0.5.
        let mut lp = Lp::new(vec![4.0, 6.0]);
        lp.add(2.0, &[(0, 1.0), (1, 1.0)]);
        lp.add(3.0, &[(0, 1.0), (1, 3.0)]);
        assert_eq!(lp.dual(), Outcome::Solved);
        assert!((lp.objective() - 9.0).abs() < 1e-9);
        assert!((lp.prices()[0] - 1.5).abs() < 1e-9 && (lp.prices()[1] - 0.5).abs() < 1e-9);
        // A third column, 2 of each for 3: now prices 0.75 and 0.75 are the best that no column undercuts, 4 · 0.75 + 6 · 0.75.
        lp.add(3.0, &[(0, 2.0), (1, 2.0)]);
        assert_eq!(lp.primal(), Outcome::Solved);
        assert!((lp.objective() - 7.5).abs() < 1e-9, "{}", lp.objective());
    }

    #[test]
    fn barring_every_column_of_a_row_is_infeasible() {
        let mut lp = Lp::new(vec![1.0]);
        let x = lp.add(1.0, &[(0, 1.0)]);
        assert_eq!(lp.dual(), Outcome::Solved);
        lp.barred[x] = true;
        assert_eq!(lp.dual(), Outcome::Infeasible);
    }
}
