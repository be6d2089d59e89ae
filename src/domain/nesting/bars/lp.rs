//! A small linear program, min c·x with A x ≥ b (some rows =), x ≥ 0 and c ≥ 0, by the revised simplex method with a dense
//! inverse.
//!
//! With costs that are not negative the basis of all surpluses is dual feasible: the dual simplex starts there, needs no
//! first phase, and takes up again after right-hand sides change, rows are added or columns are barred; the primal simplex
//! takes up after columns are added. An equal row is one whose surplus is barred. Everything is float arithmetic and
//! nothing is trusted: bounds are proven elsewhere, in integers, from whatever prices come out of here.

const TINY: f64 = 1e-9;
/// Of a variable's value; right-hand sides are numbers of parts and bars.
const FEASIBLE: f64 = 1e-7;
/// The least entry worth pivoting on.
const PIVOT: f64 = 1e-7;
/// Pivots between two fresh inverses, or as many as there are rows: each costs about as much as that many pivots.
const DRIFT: u32 = 100;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Var {
    Column(usize),
    Surplus(usize),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::nesting) enum Outcome {
    Solved,
    Infeasible,
    /// Too many steps; prices are still usable, as any are.
    Stuck,
}

/// Numbers in ½ … 1 that look random and are the same every time: after many steps without an end they break the circles
/// that equal prices lead to.
#[derive(Clone, Debug, Default)]
pub(super) struct Dice(u32);

impl Dice {
    pub fn throw(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        0.5 + f64::from(self.0 >> 8) / f64::from(1_u32 << 25)
    }
}

#[derive(Clone, Debug, Default)]
pub(in crate::nesting) struct Lp {
    pub rhs: Vec<f64>,
    /// Rows that hold with equality.
    equal: Vec<bool>,
    pub costs: Vec<f64>,
    starts: Vec<usize>,
    entries: Vec<(u32, f64)>,
    /// Columns that may not be used (again).
    pub barred: Vec<bool>,
    basis: Vec<Var>,
    basic: Vec<bool>,
    surplus_basic: Vec<bool>,
    inverse: Vec<f64>,
    values: Vec<f64>,
    prices: Vec<f64>,
    since_fresh: u32,
    dice: Dice,
    /// Multiplications done since last asked.
    work: u64,
}

fn keep<T>(list: &mut Vec<T>, stays: &[bool]) {
    let mut at = 0;
    list.retain(|_| {
        at += 1;
        stays[at - 1]
    });
}

/// The new place of each that stays.
fn places(stays: &[bool]) -> Vec<usize> {
    let mut next = 0;
    let place = |&stay: &bool| {
        next += usize::from(stay);
        next.saturating_sub(1)
    };
    stays.iter().map(place).collect()
}

/// A line of a matrix that is taken from others, multiplied; where most of it is nought the rest is not touched.
struct Line {
    line: Vec<f64>,
    /// Places of what is not nought; empty where these are many.
    few: Vec<u32>,
}

impl Line {
    fn new(line: Vec<f64>) -> Self {
        let mut few: Vec<u32> = (0..line.len() as u32).filter(|&i| line[i as usize] != 0.0).collect();
        // Scattered numbers cost about four times as much as those in a row.
        if few.len() * 4 > line.len() {
            few.clear();
        }
        Self { line, few }
    }

    fn take_from(&self, other: &mut [f64], times: f64) {
        if self.few.is_empty() {
            other.iter_mut().zip(&self.line).for_each(|(to, from)| *to -= times * from);
        } else {
            self.few.iter().for_each(|&i| other[i as usize] -= times * self.line[i as usize]);
        }
    }
}

impl Lp {
    /// A program without columns; `equal` rows come first.
    pub fn new(rhs: Vec<f64>, equal: usize) -> Self {
        let rows = rhs.len();
        let mut lp = Self {
            equal: (0..rows).map(|row| row < equal).collect(),
            basis: (0..rows).map(Var::Surplus).collect(),
            surplus_basic: vec![true; rows],
            inverse: vec![0.0; rows * rows],
            values: rhs.iter().map(|b| -b).collect(),
            prices: vec![0.0; rows],
            rhs,
            ..Self::default()
        };
        for row in 0..rows {
            lp.inverse[row * rows + row] = -1.0;
        }
        lp
    }

    fn rows(&self) -> usize {
        self.rhs.len()
    }

    pub fn columns(&self) -> usize {
        self.costs.len()
    }

    /// Adds a column by its entries, row by row; returns its place.
    pub fn add(&mut self, cost: f64, entries: impl IntoIterator<Item = (u32, f64)>) -> usize {
        self.costs.push(cost);
        self.starts.push(self.entries.len());
        self.entries.extend(entries);
        self.basic.push(false);
        self.barred.push(false);
        self.barred.len() - 1
    }

    /// Adds a row Σ `entry(column)` · x ≥ `rhs`. Dual feasible it stays; the dual simplex takes up from here.
    pub fn add_row(&mut self, rhs: f64, entry: impl Fn(usize) -> f64) {
        let n = self.rows();
        let row: Vec<f64> = (0..self.columns()).map(entry).collect();
        // New entries are put behind those of their column.
        let old = std::mem::take(&mut self.entries);
        self.entries.reserve(old.len() + row.len());
        for (j, &a) in row.iter().enumerate() {
            let (start, end) = (self.starts[j], self.starts.get(j + 1).copied().unwrap_or(old.len()));
            self.starts[j] = self.entries.len();
            self.entries.extend_from_slice(&old[start..end]);
            if a != 0.0 {
                self.entries.push((n as u32, a));
            }
        }
        // B' = [[B, 0], [a, −1]] has the inverse [[B⁻¹, 0], [a B⁻¹, −1]].
        let mut last = vec![0.0; n + 1];
        let mut value = -rhs;
        for (at, var) in self.basis.iter().enumerate() {
            if let Var::Column(j) = *var
                && row[j] != 0.0
            {
                let line = &self.inverse[at * n..(at + 1) * n];
                last.iter_mut().zip(line).for_each(|(to, from)| *to += row[j] * from);
                value += row[j] * self.values[at];
            }
        }
        last[n] = -1.0;
        let mut inverse = Vec::with_capacity((n + 1) * (n + 1));
        for at in 0..n {
            inverse.extend_from_slice(&self.inverse[at * n..(at + 1) * n]);
            inverse.push(0.0);
        }
        inverse.extend_from_slice(&last);
        self.inverse = inverse;
        self.values.push(value);
        self.prices.push(0.0);
        self.rhs.push(rhs);
        self.equal.push(false);
        self.basis.push(Var::Surplus(n));
        self.surplus_basic.push(true);
        self.work += (row.len() + n * n) as u64;
    }

    /// Takes rows that do not bind out of the program.
    pub fn drop_rows(&mut self, drop: impl Fn(usize) -> bool) {
        let n = self.rows();
        let gone: Vec<bool> = (0..n).map(|row| self.surplus_basic[row] && drop(row)).collect();
        if !gone.contains(&true) {
            return;
        }
        let new = places(&gone.iter().map(|gone| !gone).collect::<Vec<_>>());
        let stays = |var: &Var| !matches!(var, Var::Surplus(i) if gone[*i]);
        // A basic surplus is the only variable of its row's block: the rest of the inverse stands without it.
        let mut inverse = Vec::with_capacity(n * n);
        for (at, line) in self.inverse.chunks_exact(n).enumerate() {
            if stays(&self.basis[at]) {
                inverse.extend(line.iter().zip(&gone).filter(|(_, gone)| !**gone).map(|(a, _)| a));
            }
        }
        self.inverse = inverse;
        let at_stays: Vec<bool> = self.basis.iter().map(stays).collect();
        keep(&mut self.values, &at_stays);
        keep(&mut self.basis, &at_stays);
        for var in &mut self.basis {
            if let Var::Surplus(i) = var {
                *i = new[*i];
            }
        }
        let rows: Vec<bool> = gone.iter().map(|gone| !gone).collect();
        keep(&mut self.rhs, &rows);
        keep(&mut self.equal, &rows);
        keep(&mut self.surplus_basic, &rows);
        keep(&mut self.prices, &rows);
        self.rebuild(|_| true, |row| (!gone[row as usize]).then(|| new[row as usize] as u32));
    }

    /// Takes columns outside the basis out of the program where `stays` is false.
    pub fn retain_columns(&mut self, stays: impl Fn(usize) -> bool) {
        let stay: Vec<bool> = (0..self.columns()).map(|j| self.basic[j] || stays(j)).collect();
        let new = places(&stay);
        self.rebuild(|j| stay[j], Some);
        keep(&mut self.costs, &stay);
        keep(&mut self.barred, &stay);
        keep(&mut self.basic, &stay);
        for var in &mut self.basis {
            if let Var::Column(j) = var {
                *j = new[*j];
            }
        }
    }

    fn rebuild(&mut self, stays: impl Fn(usize) -> bool, row: impl Fn(u32) -> Option<u32>) {
        let old = std::mem::take(&mut self.entries);
        let starts = std::mem::take(&mut self.starts);
        self.entries.reserve(old.len());
        for j in (0..starts.len()).filter(|&j| stays(j)) {
            let end = starts.get(j + 1).copied().unwrap_or(old.len());
            self.starts.push(self.entries.len());
            self.entries.extend(old[starts[j]..end].iter().filter_map(|&(i, a)| Some((row(i)?, a))));
        }
        self.work += old.len() as u64;
    }

    pub fn is_basic(&self, j: usize) -> bool {
        self.basic[j]
    }

    /// Whether a row's surplus is in the basis: the row does not bind.
    pub fn is_slack(&self, row: usize) -> bool {
        self.surplus_basic[row]
    }

    pub fn prices(&self) -> &[f64] {
        &self.prices
    }

    pub fn objective(&self) -> f64 {
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

    /// The multipliers that make a basic column's row of the tableau, where its value is not whole.
    pub fn fractional_lines(&self) -> impl Iterator<Item = &[f64]> {
        let n = self.rows();
        self.basis.iter().zip(&self.values).enumerate().filter_map(move |(at, (var, &x))| {
            let broken = (x - x.round()).abs() > 1e-4;
            (broken && matches!(var, Var::Column(_))).then(|| &self.inverse[at * n..(at + 1) * n])
        })
    }

    /// After right-hand sides or costs were changed.
    pub fn refresh(&mut self) {
        let n = self.rows();
        for row in 0..n {
            let line = &self.inverse[row * n..(row + 1) * n];
            self.values[row] = line.iter().zip(&self.rhs).map(|(a, b)| a * b).sum();
        }
        self.reprice();
        self.work += (2 * n * n) as u64;
    }

    fn entries(&self, j: usize) -> &[(u32, f64)] {
        let end = self.starts.get(j + 1).copied().unwrap_or(self.entries.len());
        &self.entries[self.starts[j]..end]
    }

    fn cost(&self, var: Var) -> f64 {
        match var {
            Var::Column(j) => self.costs[j],
            Var::Surplus(_) => 0.0,
        }
    }

    fn is_barred(&self, var: Var) -> bool {
        match var {
            Var::Column(j) => self.barred[j],
            Var::Surplus(i) => self.equal[i],
        }
    }

    fn reprice(&mut self) {
        let n = self.rows();
        self.prices.fill(0.0);
        for row in 0..n {
            let cost = self.cost(self.basis[row]);
            if cost != 0.0 {
                let line = &self.inverse[row * n..(row + 1) * n];
                self.prices.iter_mut().zip(line).for_each(|(y, a)| *y += cost * a);
            }
        }
    }

    /// What a column's cost is above what it is worth at the program's prices.
    pub fn reduced(&self, j: usize) -> f64 {
        self.costs[j] - self.entries(j).iter().map(|&(i, a)| self.prices[i as usize] * a).sum::<f64>()
    }

    /// Dual simplex: from prices that no column undercuts to values that are not negative.
    pub fn dual(&mut self) -> Outcome {
        self.dual_within(60 + 12 * self.rows())
    }

    /// The same for at most so many steps.
    pub fn dual_within(&mut self, steps: usize) -> Outcome {
        let n = self.rows();
        for step in 0..steps {
            let mut leaving: Option<(f64, usize, bool)> = None;
            for row in 0..n {
                let x = self.values[row];
                let (off, above) = if x < -FEASIBLE {
                    (-x, false)
                } else if x > FEASIBLE && self.is_barred(self.basis[row]) {
                    (x, true)
                } else {
                    continue;
                };
                let off = if step > n + 40 { off * self.dice.throw() } else { off };
                if leaving.is_none_or(|(most, _, _)| off > most) {
                    leaving = Some((off, row, above));
                }
            }
            let Some((_, row, above)) = leaving else { return Outcome::Solved };
            // A value that must rise is raised by columns whose entry in this row is negative; a barred one must fall.
            let sign = if above { 1.0 } else { -1.0 };
            let line = &self.inverse[row * n..(row + 1) * n];
            let mut entering: Option<(f64, f64, f64, Var)> = None;
            let mut offer = |alpha: f64, reduced: f64, var: Var| {
                let alpha = alpha * sign;
                if alpha <= PIVOT {
                    return;
                }
                let ratio = reduced.max(0.0) / alpha;
                let better = entering
                    .is_none_or(|(least, size, ..)| ratio < least - TINY || (ratio < least + TINY && alpha > size));
                if better {
                    entering = Some((ratio, alpha, reduced, var));
                }
            };
            let mut work = 0;
            for j in 0..self.barred.len() {
                if self.basic[j] || self.barred[j] {
                    continue;
                }
                let entries = self.entries(j);
                let alpha: f64 = entries.iter().map(|&(i, a)| line[i as usize] * a).sum();
                work += entries.len() as u64;
                if alpha * sign > PIVOT {
                    work += entries.len() as u64;
                    offer(alpha, self.reduced(j), Var::Column(j));
                }
            }
            for (i, &alpha) in line.iter().enumerate() {
                if !self.surplus_basic[i] && !self.equal[i] {
                    offer(-alpha, self.prices[i], Var::Surplus(i));
                }
            }
            self.work += work;
            let Some((_, _, reduced, var)) = entering else { return Outcome::Infeasible };
            let direction = self.direction(var);
            self.pivot(row, var, &direction, reduced);
        }
        Outcome::Stuck
    }

    /// Primal simplex: from values that are not negative to prices that no column undercuts.
    pub fn primal(&mut self) -> Outcome {
        let n = self.rows();
        for step in 0..60 + 12 * n {
            let mut entering: Option<(f64, f64, Var)> = None;
            let mut work = 0;
            for j in 0..self.barred.len() {
                if self.basic[j] || self.barred[j] {
                    continue;
                }
                work += self.entries(j).len() as u64;
                let reduced = self.reduced(j);
                if reduced < -1e-11 {
                    let score = if step > n + 40 { reduced * self.dice.throw() } else { reduced };
                    if entering.is_none_or(|(least, ..)| score < least) {
                        entering = Some((score, reduced, Var::Column(j)));
                    }
                }
            }
            for i in 0..n {
                let reduced = self.prices[i];
                if reduced < -1e-11
                    && entering.is_none_or(|(least, ..)| reduced < least)
                    && !self.surplus_basic[i]
                    && !self.equal[i]
                {
                    entering = Some((reduced, reduced, Var::Surplus(i)));
                }
            }
            self.work += work;
            let Some((_, reduced, var)) = entering else { return Outcome::Solved };
            let direction = self.direction(var);
            let mut leaving: Option<(f64, f64, usize)> = None;
            for (row, &d) in direction.iter().enumerate() {
                // A barred variable in the basis is at nought and must neither fall nor rise.
                let ratio = if d > 1e-7 {
                    self.values[row].max(0.0) / d
                } else if d < -1e-7 && self.is_barred(self.basis[row]) {
                    0.0
                } else {
                    continue;
                };
                let size = d.abs();
                if leaving.is_none_or(|(least, most, _)| ratio < least - TINY || (ratio < least + TINY && size > most))
                {
                    leaving = Some((ratio, size, row));
                }
            }
            let Some((_, _, row)) = leaving else { return Outcome::Stuck };
            self.pivot(row, var, &direction, reduced);
        }
        Outcome::Stuck
    }

    fn direction(&mut self, var: Var) -> Vec<f64> {
        let n = self.rows();
        self.work += n as u64 * 4;
        match var {
            Var::Column(j) => {
                let entries = self.entries(j);
                let dot = |line: &[f64]| entries.iter().map(|&(i, a)| line[i as usize] * a).sum();
                self.inverse.chunks_exact(n).map(dot).collect()
            }
            Var::Surplus(i) => self.inverse.chunks_exact(n).map(|line| -line[i]).collect(),
        }
    }

    fn pivot(&mut self, row: usize, var: Var, direction: &[f64], reduced: f64) {
        let n = self.rows();
        let pivot = direction[row];
        match self.basis[row] {
            Var::Column(j) => self.basic[j] = false,
            Var::Surplus(i) => self.surplus_basic[i] = false,
        }
        match var {
            Var::Column(j) => self.basic[j] = true,
            Var::Surplus(i) => self.surplus_basic[i] = true,
        }
        self.basis[row] = var;
        for i in 0..n {
            self.inverse[row * n + i] /= pivot;
        }
        self.values[row] /= pivot;
        let (line, value) = (self.inverse[row * n..(row + 1) * n].to_vec(), self.values[row]);
        let line = Line::new(line);
        for (other, &d) in direction.iter().enumerate() {
            if other == row || d.abs() < 1e-13 {
                continue;
            }
            line.take_from(&mut self.inverse[other * n..(other + 1) * n], d);
            self.values[other] -= d * value;
        }
        let Line { line, .. } = line;
        self.prices.iter_mut().zip(&line).for_each(|(y, a)| *y += reduced * a);
        self.since_fresh += 1;
        if self.since_fresh >= DRIFT.max(n as u32) {
            self.invert();
        }
        self.work += (n * n) as u64;
    }

    /// The inverse anew from the basis, against the drift of many pivots.
    pub fn invert(&mut self) {
        let n = self.rows();
        self.since_fresh = 0;
        let width = 2 * n;
        let mut m = vec![0.0; n * width];
        for (at, var) in self.basis.iter().enumerate() {
            match var {
                Var::Column(j) => self.entries(*j).iter().for_each(|&(i, a)| m[i as usize * width + at] = a),
                Var::Surplus(i) => m[i * width + at] = -1.0,
            }
        }
        for row in 0..n {
            m[row * width + n + row] = 1.0;
        }
        self.work += (2 * n * n * n) as u64;
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
            let line = Line::new(line);
            for row in 0..n {
                let factor = m[row * width + at];
                if row != at && factor != 0.0 {
                    line.take_from(&mut m[row * width..(row + 1) * width], factor);
                }
            }
        }
        for row in 0..n {
            let from = row * width + n;
            self.inverse[row * n..(row + 1) * n].copy_from_slice(&m[from..from + n]);
        }
        self.refresh();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_small_program_is_solved_from_both_sides() {
        // min 2x + 3y with x + y ≥ 4, x + 3y ≥ 6: by hand x = 3, y = 1, cost 9, prices 1.5 and 0.5.
        let mut lp = Lp::new(vec![4.0, 6.0], 0);
        lp.add(2.0, [(0, 1.0), (1, 1.0)]);
        lp.add(3.0, [(0, 1.0), (1, 3.0)]);
        assert_eq!(lp.dual(), Outcome::Solved);
        assert!((lp.objective() - 9.0).abs() < 1e-9);
        assert!((lp.prices()[0] - 1.5).abs() < 1e-9 && (lp.prices()[1] - 0.5).abs() < 1e-9);
        // A third column, 2 of each for 3: now prices 0.75 and 0.75 are the best that no column undercuts, 4 · 0.75 + 6 · 0.75.
        lp.add(3.0, [(0, 2.0), (1, 2.0)]);
        assert_eq!(lp.primal(), Outcome::Solved);
        assert!((lp.objective() - 7.5).abs() < 1e-9, "{}", lp.objective());
    }

    #[test]
    fn barring_every_column_of_a_row_is_infeasible() {
        let mut lp = Lp::new(vec![1.0], 0);
        let x = lp.add(1.0, [(0, 1.0)]);
        assert_eq!(lp.dual(), Outcome::Solved);
        lp.barred[x] = true;
        assert_eq!(lp.dual(), Outcome::Infeasible);
    }

    #[test]
    fn an_equal_row_may_not_be_exceeded() {
        // min 3x + 4y with 2x + y = 3, x + 2y ≥ 3: x = y = 1 costs 7; without equality 2x + y ≥ 3 gives the same, so add
        // a column that would overshoot: z for 1 gives 5 of the first. At most 3/5 of it may be used.
        let mut lp = Lp::new(vec![3.0, 3.0], 1);
        lp.add(3.0, [(0, 2.0), (1, 1.0)]);
        lp.add(4.0, [(0, 1.0), (1, 2.0)]);
        assert_eq!(lp.dual(), Outcome::Solved);
        assert!((lp.objective() - 7.0).abs() < 1e-9);
        lp.add(1.0, [(0, 5.0)]);
        lp.add(2.0, [(1, 1.0)]);
        assert_eq!(lp.primal(), Outcome::Solved);
        // By hand: y = 3/2 gives 3/2 of the first, z = 3/10 the rest: 6 + 0.3; all of the second by the last column: 0.6 + 6.
        assert!((lp.objective() - 6.3).abs() < 1e-9, "{}", lp.objective());
    }

    #[test]
    fn a_row_that_is_added_cuts_the_solution_off() {
        // min x + y with 2x + 2y ≥ 3 costs 1.5; with x + y ≥ 2 it costs 2.
        let mut lp = Lp::new(vec![3.0], 0);
        lp.add(1.0, [(0, 2.0)]);
        lp.add(1.0, [(0, 2.0)]);
        assert_eq!(lp.dual(), Outcome::Solved);
        lp.add_row(2.0, |_| 1.0);
        assert_eq!(lp.dual(), Outcome::Solved);
        assert!((lp.objective() - 2.0).abs() < 1e-9);
    }
}
