//! Branch and bound over how many bars of each kind are used: the best bound first.
//!
//! Opening a bar is a fixed charge where remainders keep a value, so the relaxation is weak until the number of bars of
//! each kind is whole. At every node a dive looks for a better plan, and where the columns inside the gap are few enough
//! the node is closed by [`super::listed`].

use std::{cmp::Reverse, collections::BinaryHeap};

use super::{
    branch,
    columns::Prices,
    finish::exact,
    first::{self, Left, Plan},
    fit::Fit,
    list::{List, Lister},
    listed::search,
    model::Model,
    rebuild::{Rebuild, only_other_kinds_win},
    record::Log,
    relax::{Pool, Relaxed, relax},
    rows::{Limit, Rows},
};
use crate::nesting::Meter;

/// Rounds of pricing at a node, and at each step of a dive.
const ROUNDS: u32 = 400;
const DIVE_ROUNDS: u32 = 12;
/// Columns that a search over a list takes on: before a node is split, where it cannot be, and at the most.
const LISTED: usize = 50_000;
const LISTED_LAST: usize = 150_000;
const MOST_LISTED: usize = 3_200_000;
/// Columns of a list that holds only those nearest to use, and the work spent on it.
const SAMPLED: usize = 20_000;
const SAMPLE: u64 = 10_000_000;

/// A relaxation takes about as much work as there are types, to the third power, over this: a plan with as few bars as the
/// material asks for makes it needless.
const RELAXATION: u64 = 5;

/// How much of the work (in per cent) goes to better plans near the best one: while cases are split, and where one is
/// hard to close or bars of other kinds are all that can win.
const NEAR_SHARE: u64 = 10;
const NEAR_SHARE_LAST: u64 = 40;

pub(super) struct Tree<'a> {
    model: &'a Model,
    pub best: Option<Plan>,
    /// Cost of the best plan; without one, what no plan can cost.
    pub upper: i128,
    pool: Pool,
    open: BinaryHeap<Reverse<(i128, usize)>>,
    nodes: Vec<Vec<Limit>>,
    pub log: Log,
    /// Of each node, its place in the log.
    logged: Vec<usize>,
    /// Bounds of nodes that could be neither closed nor branched.
    hard: Vec<i128>,
    material: i128,
    /// The first prices and what they prove.
    pub root: Option<(Prices, i128)>,
    visited: u64,
    /// Gap at which the last list was too long.
    too_wide: i64,
    /// Looks for better plans near the best; `None` where that would look at itself.
    rebuild: Option<Rebuild>,
    /// Looks for plans with fewer bars, where these are all alike.
    fit: Option<Fit>,
}

impl<'a> Tree<'a> {
    pub fn new(model: &'a Model, first: Option<Plan>, material: i128) -> Self {
        let every: i128 = model.kinds.iter().map(|k| i128::from(k.cost) * i128::from(k.quantity)).sum();
        let upper = first.as_ref().map_or(model.up_to_lattice(every + 1), first::cost);
        let mut pool = Pool::default();
        for (column, _) in first.iter().flatten() {
            pool.add(column.clone());
        }
        let open = BinaryHeap::from([Reverse((material, 0))]);
        Self {
            model,
            best: first,
            upper,
            pool,
            open,
            nodes: vec![Vec::new()],
            log: Log::default(),
            logged: vec![Log::ROOT],
            hard: Vec::new(),
            material,
            root: None,
            visited: 0,
            too_wide: i64::MAX,
            rebuild: Some(Rebuild::default()),
            fit: Fit::may(model).then(Fit::default),
        }
    }

    /// The search of a part of a problem within limits, from a plan of it.
    pub fn of_part(model: &'a Model, plan: Plan, limits: Vec<Limit>) -> Self {
        Self { nodes: vec![limits], rebuild: None, fit: None, ..Self::new(model, Some(plan), 0) }
    }

    /// What no plan can undercut, as proven so far.
    pub fn bound(&self) -> i128 {
        let open = self.open.iter().map(|Reverse((bound, _))| *bound);
        open.chain(self.hard.iter().copied()).min().unwrap_or(self.upper).min(self.upper).max(self.material)
    }

    pub fn grow(&mut self, meter: &mut Meter) {
        let all = Left::all(self.model);
        meter.lower_bound = Some(self.bound());
        let relaxation = (self.model.types.len() as u64).pow(3) / RELAXATION;
        self.fit_within(self.material, relaxation, meter);
        let near_share = self.near_share();
        while let Some(&Reverse((bound, place))) = self.open.peek() {
            meter.lower_bound = Some(self.bound());
            if bound >= self.upper || !meter.goes_on() {
                break;
            }
            let limits = self.nodes[place].clone();
            let relaxed = relax(self.model, &all, &limits, &mut self.pool, self.upper, ROUNDS, meter);
            self.root.get_or_insert_with(|| (relaxed.prices.clone(), relaxed.bound));
            let bound = bound.max(self.model.up_to_lattice(relaxed.bound));
            let prices = self.logged[place];
            let rows = Rows::new(self.model, &all, &limits);
            self.logged[place] = self.log.priced(prices, self.model, &rows, &relaxed.rows, false);
            // The node stays open with its better bound until its place is taken by children or a proof.
            self.open.pop();
            if bound >= self.upper {
                continue;
            }
            if !meter.goes_on() {
                self.open.push(Reverse((bound, place)));
                break;
            }
            self.visited += 1;
            let branches = self.branches(&relaxed);
            let root = self.root.as_ref().map_or(0, |(_, bound)| *bound);
            self.do_with_fewer(bound, NEAR_SHARE, meter);
            if bound >= self.upper {
                continue;
            }
            // Where most of the gap is closed, better plans are likely and lists are short.
            let near = (self.upper - bound) * 4 < self.upper - root;
            if near || self.visited < 8 || self.visited.is_power_of_two() || self.visited.is_multiple_of(16) {
                self.dive(&relaxed, &limits, meter);
            }
            if bound < self.upper {
                self.look_near(near_share, meter);
            }
            if bound >= self.upper {
                continue;
            }
            let last = branches.is_none();
            let proven = if last || near || self.visited == 1 {
                self.close(&relaxed, &limits, bound, (prices, self.logged[place]), last, meter)
            } else {
                None
            };
            if let Some(proven) = proven {
                if proven < self.upper {
                    self.hard.push(proven);
                }
                continue;
            }
            match branches {
                Some(branches) if meter.goes_on() => {
                    let logged = self.log.split(self.logged[place], &branches);
                    self.logged.extend(logged);
                    for branch in branches {
                        let mut limits = limits.clone();
                        limits.push(branch);
                        self.nodes.push(limits);
                        self.open.push(Reverse((bound, self.nodes.len() - 1)));
                    }
                }
                _ => self.hard.push(bound),
            }
        }
        // What could not be closed leaves better plans alone to look for.
        if let (true, Some(&bound)) = (self.open.is_empty(), self.hard.iter().min()) {
            self.look_on(bound, meter);
        }
        self.open.retain(|Reverse((bound, _))| *bound < self.upper);
        self.hard.retain(|bound| *bound < self.upper);
    }

    /// Lists the columns that can belong to a better plan and searches these; `None` where they are too many even after
    /// better plans were looked for among those nearest to use. What cannot be split (`last`) is worth longer lists.
    fn close(
        &mut self,
        relaxed: &Relaxed,
        limits: &[Limit],
        bound: i128,
        (prices, logged): (usize, usize),
        last: bool,
        meter: &mut Meter,
    ) -> Option<i128> {
        let all = Left::all(self.model);
        let gap = self.upper - i128::from(self.model.lattice) - relaxed.bound;
        if !last && gap >= i128::from(self.too_wide / 2) {
            return None;
        }
        let lister = Lister::new(self.model, &relaxed.prices, &all.demand, meter)?;
        let (mut most, mut sampled, mut work) =
            if last { (LISTED_LAST, SAMPLED, SAMPLE * 10) } else { (LISTED, SAMPLED, SAMPLE) };
        while meter.goes_on() {
            let gap = self.upper - i128::from(self.model.lattice) - relaxed.bound;
            let gap = i64::try_from(gap.clamp(0, i128::from(i64::MAX / 8))).ok()?;
            let goal = (bound, self.upper);
            // A list is not tried again at every node before the gap is clearly less than where it was too long.
            let list = if last || gap < self.too_wide / 2 { lister.within(gap, most, meter) } else { None };
            if let Some(list) = list {
                self.log.listed(prices);
                let share = self.near_share();
                let log = (&mut self.log, logged);
                let (rebuild, pool, best) = (&mut self.rebuild, &mut self.pool, &self.best);
                let mut near = |found: Option<&Plan>, meter: &mut Meter| {
                    rebuild.as_mut()?.better(self.model, found.or(best.as_ref())?, pool, share, meter)
                };
                let (plan, proven) = search(self.model, limits, list, goal, log, &mut near, meter);
                plan.into_iter().for_each(|plan| self.offer(plan, meter));
                return Some(proven);
            }
            self.too_wide = self.too_wide.min(gap);
            if !last {
                return None;
            }
            let before = self.upper;
            self.do_with_fewer(bound, NEAR_SHARE_LAST, meter);
            if bound >= self.upper {
                return Some(bound);
            }
            self.look_near(NEAR_SHARE_LAST, meter);
            if self.upper < before {
                continue;
            }
            let sample = (1..12)
                .find_map(|i| lister.within(gap >> (2 * i), sampled, meter))
                .unwrap_or_else(|| List::of(self.model, &self.pool.columns));
            let (plan, _) = meter.within(work, |meter| {
                let log = (&mut Log::default(), Log::NOWHERE);
                search(self.model, limits, sample, goal, log, &mut |_, _| None, meter)
            });
            match plan {
                Some(plan) => self.offer(plan, meter),
                None if last && most < MOST_LISTED => {
                    most *= 2;
                    sampled *= 2;
                    work *= 2;
                }
                None => return None,
            }
            if bound >= self.upper {
                return Some(bound);
            }
        }
        None
    }

    fn near_share(&self) -> u64 {
        if only_other_kinds_win(self.model) { NEAR_SHARE_LAST } else { NEAR_SHARE }
    }

    /// Tries to better the best plan while that has taken less than its share (in per cent) of all work.
    fn look_near(&mut self, share: u64, meter: &mut Meter) {
        let Some(mut rebuild) = self.rebuild.take() else { return };
        while rebuild.spent < meter.spent() / 100 * share && meter.goes_on() {
            let Some(plan) = self.best.clone() else { break };
            if let Some((limits, relaxed)) = rebuild.prepare(self.model, &plan, &mut self.pool, meter) {
                self.dive(relaxed, limits, meter);
                continue;
            }
            if let Some(plan) = rebuild.attempt(self.model, &plan, meter) {
                self.offer(plan, meter);
            }
        }
        self.rebuild = Some(rebuild);
    }

    /// Looks for better plans alone, until the work ends or the best plan costs no more than the bound.
    fn look_on(&mut self, bound: i128, meter: &mut Meter) {
        let mut before = None;
        while bound < self.upper && meter.goes_on() && before != Some(meter.spent()) {
            before = Some(meter.spent());
            self.do_with_fewer(bound, 50, meter);
            self.look_near(50, meter);
        }
    }

    /// Tries to do with fewer bars while that has taken less than its share (in per cent) of all work.
    fn do_with_fewer(&mut self, bound: i128, share: u64, meter: &mut Meter) {
        let mut before = None;
        while before != Some(meter.spent()) {
            before = Some(meter.spent());
            self.fit_within(bound, meter.spent() / 100 * share, meter);
        }
    }

    /// Tries to do with fewer bars while that has taken less than so much work.
    fn fit_within(&mut self, bound: i128, work: u64, meter: &mut Meter) {
        let Some(mut fit) = self.fit.take() else { return };
        while fit.spent < work && bound < self.upper && meter.goes_on() {
            let Some(plan) = self.best.clone() else { break };
            let more = work - fit.spent;
            if let Some(plan) = meter.within(more, |meter| fit.attempt(self.model, &plan, meter)) {
                self.offer(plan, meter);
            }
        }
        self.fit = Some(fit);
    }

    fn offer(&mut self, plan: Plan, meter: &mut Meter) {
        let cost = first::cost(&plan);
        if cost < self.upper {
            for (column, _) in &plan {
                self.pool.add(column.clone());
            }
            self.upper = cost;
            self.best = Some(plan);
            meter.net_cost = Some(cost);
        }
    }

    /// Rounds the relaxation bar by bar, solving it anew for what is left.
    fn dive(&mut self, root: &Relaxed, limits: &[Limit], meter: &mut Meter) {
        let mut left = Left::all(self.model);
        let mut limits = limits.to_vec();
        let mut plan = Plan::new();
        let Relaxed { mut solution, mut program, .. } = root.clone();
        let mut values: Vec<f64> = root.prices.types.iter().map(|&p| p as f64).collect();
        while !left.done() && meter.goes_on() {
            for style in [0, 1] {
                if let Ok(rest) = first::complete(self.model, left.clone(), &values, style, meter) {
                    self.combine(&plan, rest, meter);
                }
            }
            solution.sort_by(|(i, x), (j, y)| y.total_cmp(x).then(i.cmp(j)));
            let mut took = false;
            for &(place, x) in &solution {
                let column = self.pool.columns[place].clone();
                let times = ((x + 1e-6).floor() as u32).min(left.times(&column));
                if times > 0 {
                    self.take(&mut left, &mut limits, &mut plan, column, times);
                    took = true;
                }
            }
            if !took {
                let best = solution.iter().find(|&&(place, _)| left.times(&self.pool.columns[place]) > 0);
                let Some(&(place, _)) = best else { return };
                let column = self.pool.columns[place].clone();
                self.take(&mut left, &mut limits, &mut plan, column, 1);
            }
            let fixed = first::cost(&plan);
            program.follow(self.model, &left, &limits, &self.pool);
            let enough = self.upper - fixed;
            let next = program.solve(self.model, &left, &mut self.pool, enough, DIVE_ROUNDS, meter);
            if self.model.up_to_lattice(fixed + next.bound) >= self.upper {
                return;
            }
            (solution, program) = (next.solution, next.program);
            values = next.prices.types.iter().map(|&p| p as f64).collect();
        }
        if left.done() {
            self.combine(&plan, Plan::new(), meter);
        }
    }

    fn combine(&mut self, plan: &Plan, rest: Plan, meter: &mut Meter) {
        let whole: Plan = plan.iter().cloned().chain(rest).collect();
        if first::cost(&whole) < self.upper
            && let Some(plan) = exact(self.model, whole)
        {
            self.offer(plan, meter);
        }
    }

    fn take(&self, left: &mut Left, limits: &mut [Limit], plan: &mut Plan, column: super::model::Column, times: u32) {
        left.take(&column, times);
        for limit in limits.iter_mut().filter(|l| l.counts(column.bar(self.model))) {
            limit.count -= i64::from(times);
        }
        plan.push((column, times));
    }

    /// A number of bars that is not whole in the relaxation, as two limits.
    fn branches(&self, relaxed: &Relaxed) -> Option<[Limit; 2]> {
        let bars: Vec<_> =
            relaxed.solution.iter().map(|&(place, x)| (self.pool.columns[place].bar(self.model), x)).collect();
        branch::of_kinds(self.model, &bars).first().map(branch::Split::limits)
    }
}
