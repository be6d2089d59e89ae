//! Branch and cut over a list of columns that holds every better plan.
//!
//! A case is a linear program over a few columns of the list; the rest is priced by scanning. Integer prices give a proven
//! bound and strike columns off whose reduced cost closes the gap. Cuts tighten the program; then the case is split by a
//! number of bars (see [`super::rows::Limit`]), the most telling of a few tries. Between them, dives look for better plans.

use std::{collections::HashSet, rc::Rc};

use super::{
    branch,
    cuts::separate,
    finish::exact,
    first::{self, Left, Plan},
    list::List,
    lp::{Lp, Outcome},
    model::{Column, Model},
    record::Log,
    rows::{Bar, Cut, Limit, Row, Rows, most_bars},
};
use crate::nesting::Meter;

/// Columns that enter the program at once.
const ENTER: usize = 40;
/// Columns that are looked at before the whole list is.
const NEAR: usize = 1500;
/// Rounds of cuts at the first case, at others, and cuts in a round.
const ROOT_ROUNDS: u32 = 25;
const ROUNDS: u32 = 3;
const CUTS: usize = 10;
/// Rows behind those of the types, beside two for each type.
const MOST_CUTS: usize = 40;
/// Of open cases, in numbers held; beyond this the search goes deep first.
const MOST_MEMORY: usize = 40_000_000;
/// Not a column of the list: an excuse.
const EXCUSE: u32 = u32::MAX;

/// A case: the plans within the rows.
#[derive(Clone)]
pub(super) struct Case {
    pub lp: Lp,
    pub rows: Rows,
    /// Of each column of the program, its place in the list.
    pub places: Vec<u32>,
    /// Places in the list that a better plan may use, those nearest to use in front.
    active: Rc<Vec<u32>>,
    pub left: Left,
    /// What the bars taken in a dive cost, and which these are.
    fixed: i128,
    taken: Vec<(u32, u32)>,
    bound: i128,
    depth: u32,
    /// Its place in the log.
    logged: usize,
}

enum Sifted {
    /// No better plan is in this case.
    Closed,
    Solved,
    /// The work ended, or floats went astray.
    Unfinished,
}

/// Looks for a better plan by other means between the steps of a search; is told the best that the search found.
pub(super) type Aside<'m> = &'m mut dyn FnMut(Option<&Plan>, &mut Meter<'_>) -> Option<Plan>;

pub(super) struct Search<'a, 'm, 'w> {
    pub model: &'a Model,
    pub list: List,
    most: Vec<i128>,
    /// What a plan must undercut.
    upper: i128,
    best: Option<Plan>,
    open: Vec<Case>,
    held: usize,
    known: HashSet<Cut>,
    /// Bounds of cases that could not be followed.
    hard: Option<i128>,
    log: &'m mut Log,
    aside: Aside<'m>,
    pub meter: &'m mut Meter<'w>,
}

/// Searches all plans within the limits that use these columns alone and cost less than `upper`. Returns the best, and
/// what no such plan costs less than: at least `upper`, or the better plan's cost, where the search was whole.
pub(super) fn search(
    model: &Model,
    limits: &[Limit],
    list: List,
    (bound, upper): (i128, i128),
    (log, logged): (&mut Log, usize),
    aside: Aside<'_>,
    meter: &mut Meter<'_>,
) -> (Option<Plan>, i128) {
    let left = Left::all(model);
    let most = most_bars(model, &left, upper);
    let rows = Rows::new(model, &left, limits);
    let mut lp = rows.program(&left.demand, true);
    rows.add_excuses(&mut lp, upper.max(1) as f64);
    let places = vec![EXCUSE; lp.columns()];
    let active = Rc::new((0..list.len() as u32).collect::<Vec<u32>>());
    let root = Case { lp, rows, places, active, left, fixed: 0, taken: Vec::new(), bound, depth: 0, logged };
    let mut search = Search {
        model,
        list,
        most,
        upper,
        best: None,
        open: Vec::new(),
        held: 0,
        known: HashSet::new(),
        hard: None,
        log,
        aside,
        meter,
    };
    search.push(root);
    search.run();
    let open = search.open.iter().map(|case| case.bound).chain(search.hard).min();
    let bound = open.map_or(search.upper, |bound| bound.min(search.upper));
    (search.best, bound)
}

impl Search<'_, '_, '_> {
    fn push(&mut self, case: Case) {
        self.held += case.size();
        self.open.push(case);
    }

    /// The open case of the best bound, or the last when many are held.
    fn pop(&mut self) -> Option<Case> {
        let best = (0..self.open.len()).min_by_key(|&place| (self.open[place].bound, std::cmp::Reverse(place)))?;
        let place = if self.held > MOST_MEMORY { self.open.len() - 1 } else { best };
        let case = self.open.remove(place);
        self.held -= case.size();
        Some(case)
    }

    fn run(&mut self) {
        let mut visited = 0_u32;
        while let Some(mut case) = self.pop() {
            if case.bound >= self.upper {
                continue;
            }
            if !self.meter.goes_on() {
                self.open.push(case);
                return;
            }
            let rounds = if visited == 0 { ROOT_ROUNDS } else { ROUNDS };
            match self.tighten(&mut case, rounds) {
                Sifted::Closed => {}
                Sifted::Unfinished => self.give_up(&case),
                Sifted::Solved => {
                    if visited < 8 || visited.is_power_of_two() || visited.is_multiple_of(32) {
                        self.dives(&case, if visited == 0 { 6 } else { 1 });
                    }
                    if case.bound < self.upper {
                        case.slim();
                        self.split(&case);
                    }
                }
            }
            visited += 1;
            if let Some(plan) = (self.aside)(self.best.as_ref(), self.meter) {
                self.offer(plan);
            }
        }
    }

    fn give_up(&mut self, case: &Case) {
        self.hard = Some(self.hard.map_or(case.bound, |bound| bound.min(case.bound)));
    }

    /// Solves a case and adds cuts while they help.
    fn tighten(&mut self, case: &mut Case, rounds: u32) -> Sifted {
        match self.sift(case) {
            Sifted::Solved => {}
            other => return other,
        }
        let mut stalled = 0;
        for _ in 0..rounds {
            if self.offer_whole(case) {
                return Sifted::Closed;
            }
            let cuts = {
                let used = case.used(&self.list);
                let (cuts, work) = separate(&used, &case.left.demand, &case.lp, &self.known, (CUTS, rounds > ROUNDS));
                self.meter.spend(work / 4);
                cuts
            };
            if cuts.is_empty() {
                break;
            }
            let mut tighter = case.clone();
            tighter.drop_slack_cuts();
            for cut in cuts {
                tighter.add_row(&self.list, Row::Cut(Rc::new(cut)), self.upper);
            }
            if tighter.rows.rows.len() > MOST_CUTS + 2 * self.model.types.len() {
                break;
            }
            match self.sift(&mut tighter) {
                Sifted::Solved => {}
                Sifted::Closed => return Sifted::Closed,
                // Floats went astray on the cuts: go on without them.
                Sifted::Unfinished => {
                    case.logged = tighter.logged;
                    break;
                }
            }
            let closed = (tighter.bound - case.bound) as f64 / (self.upper - case.bound) as f64;
            stalled = if closed < 0.02 { stalled + 1 } else { 0 };
            *case = tighter;
            if stalled >= 3 {
                break;
            }
        }
        if self.offer_whole(case) { Sifted::Closed } else { Sifted::Solved }
    }

    /// Brings the program to its optimum over all active columns, proves a bound, strikes columns off.
    fn sift(&mut self, case: &mut Case) -> Sifted {
        let mut outcome = case.lp.dual();
        let mut excuses_left = 4;
        let mut stuck = false;
        for _ in 0..1000 {
            self.meter.spend(case.lp.take_work() / 4 + 20);
            if outcome == Outcome::Infeasible {
                return Sifted::Unfinished;
            }
            if outcome == Outcome::Stuck {
                if stuck {
                    return Sifted::Unfinished;
                }
                stuck = true;
                case.lp.invert();
                outcome = case.lp.dual();
                continue;
            }
            let prices = case.rows.prices(&case.lp);
            let tiny = -((case.rows.unit * 2e-11) as i64).max(1);
            // What is nearest to use first; the whole list only when nothing there helps.
            let near = &case.active[..case.active.len().min(NEAR)];
            let Scan { entering, work, .. } = self.scan(case, near, &prices, tiny);
            self.meter.spend(work);
            if !entering.is_empty() && self.meter.goes_on() {
                entering.into_iter().for_each(|place| case.enter(&self.list, place));
                outcome = case.lp.primal();
                continue;
            }
            let Scan { least, entering, work } = self.scan(case, &case.active, &prices, tiny);
            self.meter.spend(work);
            let short: i128 = least.iter().zip(&self.most).map(|(&l, &n)| i128::from(l) * n).sum();
            let bound = case.fixed + case.rows.promise(&prices, &case.lp) + short;
            case.bound = case.bound.max(self.model.up_to_lattice(bound));
            if case.bound >= self.upper {
                self.log.priced(case.logged, self.model, &case.rows, &prices, false);
                return Sifted::Closed;
            }
            if !self.meter.goes_on() {
                return Sifted::Unfinished;
            }
            if entering.is_empty() {
                let excused = case.lp.solution().iter().any(|&(j, _)| case.places[j] == EXCUSE);
                if excused && excuses_left > 0 {
                    excuses_left -= 1;
                    (0..case.places.len()).filter(|&j| case.places[j] == EXCUSE).for_each(|j| case.lp.costs[j] *= 16.0);
                    case.lp.refresh();
                    outcome = case.lp.primal();
                    continue;
                }
                case.logged = self.log.priced(case.logged, self.model, &case.rows, &prices, true);
                self.strike(case, &prices, bound);
                return if excused { Sifted::Unfinished } else { Sifted::Solved };
            }
            entering.into_iter().for_each(|place| case.enter(&self.list, place));
            outcome = case.lp.primal();
        }
        Sifted::Unfinished
    }

    /// Reduced costs of columns: the least of each kind, and the columns to enter.
    fn scan(&self, case: &Case, places: &[u32], prices: &[i64], tiny: i64) -> Scan {
        let pricing = Pricing::new(self.model, &case.rows, prices);
        let mut least = vec![0_i64; self.model.kinds.len()];
        let mut negative: Vec<(i64, u32)> = Vec::new();
        let mut work = 0;
        for &place in places {
            let bar = self.list.bar(place);
            work += bar.items.len() as u64 + 1;
            let reduced = pricing.reduced(self.list.costs[place as usize], bar, 0);
            if reduced < 0 {
                least[bar.kind] = least[bar.kind].min(reduced);
                if reduced < tiny {
                    negative.push((reduced, place));
                }
            }
        }
        if negative.len() > ENTER {
            negative.select_nth_unstable(ENTER);
            negative.truncate(ENTER);
        }
        let entering = negative.into_iter().map(|(_, place)| place).filter(|place| !case.places.contains(place));
        Scan { least, entering: entering.collect(), work: work / 4 }
    }

    /// Strikes off what no better plan can use: `bound` was proven at these prices.
    fn strike(&mut self, case: &mut Case, prices: &[i64], bound: i128) {
        let gap = self.upper - i128::from(self.model.lattice) - bound;
        let gap = i64::try_from(gap.max(0)).unwrap_or(i64::MAX / 4);
        let pricing = Pricing::new(self.model, &case.rows, prices);
        let reduced = |list: &List, place: u32| pricing.reduced(list.costs[place as usize], list.bar(place), gap);
        let mut work = 0;
        let mut active: Vec<(i64, u32)> = Vec::with_capacity(case.active.len());
        for &place in case.active.iter() {
            work += self.list.items(place as usize).len() as u64 + 1;
            let reduced = reduced(&self.list, place);
            if reduced <= gap {
                active.push((reduced, place));
            }
        }
        for (j, &place) in case.places.iter().enumerate() {
            if place != EXCUSE && !case.lp.barred[j] && !case.lp.is_basic(j) && reduced(&self.list, place) > gap {
                case.lp.barred[j] = true;
            }
        }
        if active.len() > NEAR {
            active.select_nth_unstable(NEAR);
        }
        case.active = Rc::new(active.into_iter().map(|(_, place)| place).collect());
        self.meter.spend(work / 3);
    }

    /// Takes the program's solution as a plan where it is whole; true when that closes the case.
    fn offer_whole(&mut self, case: &mut Case) -> bool {
        let solution = case.lp.solution();
        if solution.iter().any(|&(j, x)| (x - x.round()).abs() > 1e-6 || case.places[j] == EXCUSE) {
            return false;
        }
        let bars = solution.iter().map(|&(j, x)| (case.places[j], x.round() as u32));
        let plan: Plan = case.taken.iter().copied().chain(bars).map(|(place, n)| (self.column(place), n)).collect();
        self.offer(plan);
        case.bound >= self.upper
    }

    fn column(&self, place: u32) -> Column {
        self.list.column(self.model, place as usize)
    }

    fn offer(&mut self, plan: Plan) {
        let Some(plan) = exact(self.model, plan) else { return };
        let cost = first::cost(&plan);
        if cost < self.upper {
            self.upper = cost;
            self.meter.net_cost = Some(cost);
            self.best = Some(plan);
        }
    }

    /// Rounds the case's solution bar by bar; `tries` times, each but the first turning away from the easy choice once.
    fn dives(&mut self, case: &Case, tries: u32) {
        for turn in 0..tries {
            self.dive(Case { logged: Log::NOWHERE, ..case.clone() }, turn);
            if case.bound >= self.upper || !self.meter.goes_on() {
                return;
            }
        }
    }

    fn dive(&mut self, mut case: Case, mut turn: u32) {
        let unlucky = turn;
        loop {
            let mut solution = case.lp.solution();
            solution.retain(|&(j, _)| case.places[j] != EXCUSE);
            solution.sort_by(|(i, x), (j, y)| y.total_cmp(x).then(i.cmp(j)));
            let mut took = false;
            for &(j, x) in &solution {
                let times = (x + 1e-6).floor() as u32;
                if times > 0 && unlucky == 0 {
                    took |= self.take(&mut case, j, times);
                }
            }
            if !took {
                // The first choices of an unlucky dive leave out the column that is nearest to whole.
                let skip = if turn > 0 { 1.min(solution.len().saturating_sub(1)) } else { 0 };
                turn = turn.saturating_sub(1);
                let next = solution.iter().skip(skip).chain(solution.iter().take(skip));
                took = next
                    .map(|&(j, x)| (j, ((x + 1e-6).floor() as u32).max(1)))
                    .any(|(j, n)| self.take(&mut case, j, n));
            }
            if !took {
                return;
            }
            case.settle(&self.list);
            self.meter.spend(case.active.len() as u64 / 2 + 100);
            match self.sift(&mut case) {
                Sifted::Solved => {}
                _ => return,
            }
            if self.offer_whole(&mut case) {
                return;
            }
        }
    }

    /// Takes a column of the program into the plan; false where that is too much.
    fn take(&mut self, case: &mut Case, j: usize, times: u32) -> bool {
        let place = case.places[j] as usize;
        let (kind, items) = (self.list.kinds[place] as usize, self.list.items(place));
        let fits = items.iter().map(|&(t, n)| case.left.demand[usize::from(t)] / n).min().unwrap_or(0);
        let times = times.min(fits).min(case.left.stock[kind]);
        if times == 0 {
            return false;
        }
        for &(t, n) in items {
            case.left.demand[usize::from(t)] -= n * times;
            case.lp.rhs[usize::from(t)] -= f64::from(n * times);
        }
        case.left.stock[kind] -= times;
        let types = self.model.types.len();
        for (at, row) in case.rows.rows.iter().enumerate() {
            case.lp.rhs[types + at] -= (row.entry(self.list.bar(place as u32)) * i64::from(times)) as f64;
        }
        case.fixed += i128::from(self.list.costs[place]) * i128::from(times);
        case.taken.push((place as u32, times));
        true
    }

    fn split(&mut self, case: &Case) {
        let Some(limits) = branch::choose(self, case) else {
            self.give_up(case);
            return;
        };
        let logged = self.log.split(case.logged, &limits);
        for (limit, logged) in limits.into_iter().zip(logged) {
            let mut child = Case { logged, ..case.clone() };
            child.depth += 1;
            if limit.count == 0 && !limit.at_least {
                child.bar(&self.list, &limit);
            }
            child.add_row(&self.list, Row::Limit(limit), self.upper);
            self.push(child);
        }
        self.meter.spend(case.size() as u64 / 2);
    }
}

impl Case {
    fn size(&self) -> usize {
        self.active.len() / 2 + self.lp.rhs.len() * self.lp.rhs.len() + self.places.len() * 8
    }

    fn enter(&mut self, list: &List, place: u32) {
        self.rows.add(&mut self.lp, list.bar(place), list.costs[place as usize]);
        self.places.push(place);
    }

    pub fn add_row(&mut self, list: &List, row: Row, excuse: i128) {
        let rhs = row.rhs(&self.left.demand) as f64;
        let places = &self.places;
        self.lp.add_row(rhs, |j| match places[j] {
            EXCUSE => 0.0,
            place => row.entry(list.bar(place)) as f64,
        });
        self.rows.rows.push(row);
        if rhs > 0.0 {
            let at = self.lp.rhs.len() - 1;
            self.lp.add(excuse as f64 / self.rows.unit, [(at as u32, 1.0)]);
            self.places.push(EXCUSE);
        }
    }

    /// Bars of an upper limit of nought leave the case.
    fn bar(&mut self, list: &List, limit: &Limit) {
        let counts = |place: u32| limit.counts(list.bar(place));
        for (j, &place) in self.places.iter().enumerate() {
            if place != EXCUSE && counts(place) {
                self.lp.barred[j] = true;
            }
        }
        self.active = Rc::new(self.active.iter().copied().filter(|&place| !counts(place)).collect());
    }

    /// After bars were taken: leaves out what no longer fits.
    fn settle(&mut self, list: &List) {
        let left = &self.left;
        let fits = |place: u32| {
            let place = place as usize;
            left.stock[list.kinds[place] as usize] > 0
                && list.items(place).iter().all(|&(t, n)| n <= left.demand[usize::from(t)])
        };
        for (j, &place) in self.places.iter().enumerate() {
            if place != EXCUSE && !fits(place) {
                self.lp.barred[j] = true;
            }
        }
        self.active = Rc::new(self.active.iter().copied().filter(|&place| fits(place)).collect());
        self.lp.refresh();
    }

    /// Cuts that no longer bind make the program large for nothing.
    fn drop_slack_cuts(&mut self) {
        let types = self.left.demand.len();
        let cut = |row: usize| row >= types && matches!(self.rows.rows[row - types], Row::Cut(_));
        let slack: Vec<bool> = (0..self.lp.rhs.len()).map(|row| cut(row) && self.lp.is_slack(row)).collect();
        self.lp.drop_rows(|row| slack[row]);
        let mut row = types;
        self.rows.rows.retain(|_| {
            row += 1;
            !slack[row - 1]
        });
    }

    /// Leaves the program with the columns that are nearest to use.
    fn slim(&mut self) {
        let most = 3 * self.lp.rhs.len() + 30;
        if self.places.len() <= most {
            return;
        }
        let mut costs: Vec<(f64, usize)> = (0..self.places.len())
            .filter(|&j| !self.lp.is_basic(j) && !self.lp.barred[j] && self.places[j] != EXCUSE)
            .map(|j| (self.lp.reduced(j), j))
            .collect();
        costs.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut stays: Vec<bool> =
            self.places.iter().enumerate().map(|(j, &place)| place == EXCUSE || self.lp.is_basic(j)).collect();
        costs.iter().take(most).for_each(|&(_, j)| stays[j] = true);
        self.lp.retain_columns(|j| stays[j]);
        let mut j = 0;
        self.places.retain(|_| {
            j += 1;
            stays[j - 1]
        });
    }

    /// The bars of the program's solution, and how many of each.
    pub fn used<'l>(&self, list: &'l List) -> Vec<(Bar<'l>, f64)> {
        let solution = self.lp.solution().into_iter().filter(|&(j, _)| self.places[j] != EXCUSE);
        solution.map(|(j, x)| (list.bar(self.places[j]), x)).collect()
    }
}

struct Scan {
    least: Vec<i64>,
    entering: Vec<u32>,
    work: u64,
}

/// Integer prices made ready for scanning many columns.
struct Pricing<'a> {
    types: &'a [i64],
    /// Of bars by kind, whose remainder is not kept and whose is.
    kinds: Vec<[i64; 2]>,
    /// Lower limits with a price, which make a column cheaper.
    rewards: Vec<(i64, &'a Limit)>,
    /// Upper limits and cuts with a price, which make it dearer.
    charges: Vec<(i64, &'a Row)>,
}

impl<'a> Pricing<'a> {
    fn new(model: &Model, rows: &'a Rows, prices: &'a [i64]) -> Self {
        let (types, behind) = prices.split_at(model.types.len());
        let mut pricing =
            Self { types, kinds: vec![[0; 2]; model.kinds.len()], rewards: Vec::new(), charges: Vec::new() };
        for (&price, row) in behind.iter().zip(&rows.rows).filter(|(y, _)| **y != 0) {
            match row {
                Row::Limit(limit) if limit.holding.is_empty() => {
                    let price = if limit.at_least { -price } else { price };
                    for &kind in limit.kinds.iter() {
                        for kept in [false, true].into_iter().filter(|&k| limit.kept.is_none_or(|kept| kept == k)) {
                            pricing.kinds[kind][usize::from(kept)] += price;
                        }
                    }
                }
                Row::Limit(limit) if limit.at_least => pricing.rewards.push((price, limit)),
                row => pricing.charges.push((price, row)),
            }
        }
        pricing
    }

    /// Exact where it is at most `enough`; else just more than that.
    fn reduced(&self, cost: i64, bar: Bar, enough: i64) -> i64 {
        let value: i64 = bar.items.iter().map(|&(t, n)| self.types[usize::from(t)] * i64::from(n)).sum();
        let mut reduced = cost + self.kinds[bar.kind][usize::from(bar.kept)] - value;
        for (price, limit) in &self.rewards {
            reduced -= price * i64::from(limit.counts(bar));
        }
        for (price, row) in &self.charges {
            if reduced > enough {
                break;
            }
            reduced -= price * row.entry(bar);
        }
        reduced
    }
}
