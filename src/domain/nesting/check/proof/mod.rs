//! Rechecks what a proof claims, without searching for plans and without the solver's code.
//!
//! Every case of the tree is closed in exact whole numbers; the least that its leaves prove is what no plan undercuts.
//! How a leaf is closed: [`crate::nesting::proof::bars`].

use std::fmt;

use rust_decimal::Decimal;
use serde::Serialize;

use crate::{
    measure::Money,
    nesting::{
        Status,
        bars::{Answer, Problem},
        proof::{
            bars::{Node, Prices, SCALE, Split, Tree},
            digest,
        },
    },
};

mod figures;
mod listed;
mod panels;
mod pricing;
#[cfg(test)]
mod tests;

use figures::{Figures, least_sum};
pub use panels::panel_proof;

use listed::{Cut, Listed, Measure, list};
use pricing::{Limit, MOST_STEPS, TooMuchWork};

/// What a recheck has shown.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Proven {
    /// No plan costs less.
    CostsAtLeast(Money),
    /// This stock cannot give the parts.
    NoPlan,
    /// The proof says only that everything was tried; that is not rechecked without trying everything again.
    Searched,
}

impl fmt::Display for Proven {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::CostsAtLeast(bound) => write!(f, "No plan from this stock costs less than {}.", bound.0),
            Self::NoPlan => f.write_str("This stock cannot give the parts, however it is cut."),
            Self::Searched => f.write_str(
                "The solver tried every plan. To check that is to try every plan again, so the bound was not rechecked here.",
            ),
        }
    }
}

/// Rechecks the proof of a bar plan.
///
/// # Errors
/// Why it does not prove what the answer claims: another problem's proof, a wrong form, or the first case that proves too little.
pub fn bar_proof(problem: &Problem, answer: &Answer, tree: &Tree) -> Result<Proven, String> {
    if tree.problem != digest(problem) {
        return Err("the proof is about another problem (its SHA-256 differs)".into());
    }
    let figures = Figures::read(problem, tree)?;
    let goal = claimed(answer, &figures)?;
    form(tree, &figures)?;
    let mut walk = Walk {
        tree,
        goal,
        most: figures.most_bars(goal),
        lattice: figures.lattice(),
        material: figures.by_material(),
        figures: &figures,
        path: Vec::new(),
        steps: 0,
    };
    let mut open = vec![Case { place: 0, above: 0, limit: None, bound: i128::MIN, listed: None }];
    while let Some(case) = open.pop() {
        let place = case.place;
        let next = walk.visit(case).map_err(|why| format!("nodes[{place}]: {why}"))?;
        open.extend(next);
    }
    Ok(if answer.status == Status::Infeasible { Proven::NoPlan } else { Proven::CostsAtLeast(money(goal)) })
}

/// What every leaf has to reach.
fn claimed(answer: &Answer, figures: &Figures) -> Result<i128, String> {
    if answer.status == Status::Infeasible {
        return Ok(figures.everything() + 1);
    }
    let bound = answer.lower_bound.ok_or("lower_bound: is missing; without it nothing is claimed")?.0.normalize();
    let lift = SCALE.checked_sub(bound.scale()).ok_or("lower_bound: has more decimals than a net cost can have")?;
    Ok(bound.mantissa() * 10_i128.pow(lift))
}

fn money(amount: i128) -> Money {
    Money(Decimal::try_from_i128_with_scale(amount, SCALE).unwrap_or(Decimal::MAX).normalize())
}

/// A look at the tree's form: every case but the first follows from exactly one case before it, and no number points
/// beyond its list. So a walk ends, and visits every case once.
fn form(tree: &Tree, figures: &Figures) -> Result<(), String> {
    let mut follows = vec![false; tree.nodes.len()];
    let mut follow = |place: usize, name: &str, case: u32| {
        let case = case as usize;
        match follows.get_mut(case).filter(|_| case > place) {
            None => Err(format!("nodes[{place}].{name}: {case} is not a later case of the list")),
            Some(followed) if *followed => {
                Err(format!("nodes[{place}].{name}: case {case} already follows from another"))
            }
            Some(followed) => {
                *followed = true;
                Ok(())
            }
        }
    };
    for (place, node) in tree.nodes.iter().enumerate() {
        match node {
            Node::Split(split) => {
                if split.kinds.iter().any(|&kind| kind as usize >= tree.kinds.len()) {
                    return Err(format!("nodes[{place}].kinds: there are only {} kinds", tree.kinds.len()));
                }
                if split.holding.iter().any(|&(length, _)| length as usize >= figures.lengths.len()) {
                    return Err(format!("nodes[{place}].holding: there are only {} lengths", figures.lengths.len()));
                }
                follow(place, "at_most", split.at_most)?;
                follow(place, "at_least", split.at_least)?;
            }
            Node::Prices(prices) => {
                if prices.cuts.iter().any(|&(cut, _)| cut as usize >= tree.cuts.len()) {
                    return Err(format!("nodes[{place}].cuts: there are only {} cuts", tree.cuts.len()));
                }
                if let Some(then) = prices.then {
                    follow(place, "then", then)?;
                }
            }
            Node::Open | Node::Nothing => {}
        }
    }
    for (place, cut) in tree.cuts.iter().enumerate() {
        let lengths = figures.lengths.len();
        if cut.parts.iter().any(|&(length, u)| length as usize >= lengths || u >= cut.denominator)
            || cut.parts.is_empty()
        {
            return Err(format!("cuts[{place}]: needs multipliers below 1 of some of the {lengths} lengths"));
        }
    }
    match follows.iter().skip(1).position(|&followed| !followed) {
        Some(place) => Err(format!("nodes[{}]: follows from no case", place + 1)),
        None if tree.nodes.is_empty() => Err("nodes: is empty; nothing is proven".into()),
        None => Ok(()),
    }
}

fn too_much(_: TooMuchWork) -> String {
    format!("more than {MOST_STEPS} steps of work or too long a list, so the proof was not rechecked to its end")
}

/// A case that waits for its look.
struct Case<'a> {
    place: usize,
    /// How many limits hold above it, and the one that makes it.
    above: usize,
    limit: Option<(&'a Split, bool)>,
    /// What the cases above have proven.
    bound: i128,
    listed: Option<Listed>,
}

/// A limit that holds in a case.
struct Bounded<'a> {
    split: &'a Split,
    at_least: bool,
    counts: Vec<bool>,
}

impl Bounded<'_> {
    /// The number of bars that the limit speaks of.
    fn bars(&self) -> i128 {
        i128::from(self.split.count) + i128::from(self.at_least)
    }

    fn priced(&self, price: i128) -> Limit<'_> {
        Limit { counts: &self.counts, kept: self.split.kept, holding: &self.split.holding, price }
    }

    /// Whether every bar that counts in the other counts here.
    fn covers(&self, other: &Self) -> bool {
        other.split.kinds.iter().all(|&kind| self.counts[kind as usize])
            && (self.split.kept.is_none() || self.split.kept == other.split.kept)
            && self.split.holding.iter().all(|&(length, least)| {
                least == 0 || other.split.holding.iter().any(|&(t, n)| t == length && n >= least)
            })
    }
}

struct Walk<'a> {
    tree: &'a Tree,
    figures: &'a Figures,
    /// Shown is that no plan costs less than this; of plans that cost more nothing is said.
    goal: i128,
    /// Bars of each kind in a plan below the goal.
    most: Vec<u64>,
    lattice: i128,
    material: i128,
    path: Vec<Bounded<'a>>,
    steps: u64,
}

impl<'a> Walk<'a> {
    /// Closes a case, or returns those that follow from it.
    fn visit(&mut self, mut case: Case<'a>) -> Result<Vec<Case<'a>>, String> {
        self.path.truncate(case.above);
        if let Some((split, at_least)) = case.limit {
            let mut counts = vec![false; self.tree.kinds.len()];
            split.kinds.iter().for_each(|&kind| counts[kind as usize] = true);
            self.steps += (counts.len() + split.kinds.len()) as u64;
            let limit = Bounded { split, at_least, counts };
            if limit.bars() == 0 {
                case.listed = case.listed.map(|listed| listed.without(&limit.priced(0), &mut self.steps));
            }
            self.path.push(limit);
        }
        if self.steps > MOST_STEPS {
            return Err(too_much(TooMuchWork));
        }
        match &self.tree.nodes[case.place] {
            Node::Split(split) => {
                let side = |place: u32, at_least| Case {
                    place: place as usize,
                    above: self.path.len(),
                    limit: Some((split, at_least)),
                    bound: case.bound,
                    listed: case.listed.clone(),
                };
                Ok(vec![side(split.at_least, true), side(split.at_most, false)])
            }
            Node::Prices(prices) => {
                let (bound, listed) = self.by_prices(prices, case.listed)?;
                let bound = bound.max(case.bound);
                match prices.then {
                    Some(then) => {
                        Ok(vec![Case { place: then as usize, above: self.path.len(), limit: None, bound, listed }])
                    }
                    None => self.reached(bound),
                }
            }
            Node::Open => self.reached(case.bound.max(self.material)),
            Node::Nothing if self.is_empty() => Ok(Vec::new()),
            Node::Nothing => Err("plain counting does not show that this case holds no plan".into()),
        }
    }

    fn reached(&self, bound: i128) -> Result<Vec<Case<'a>>, String> {
        let bound = self.up_to_lattice(bound);
        if bound >= self.goal {
            return Ok(Vec::new());
        }
        let claimed = if self.goal > self.figures.everything() {
            "more than all the stock together is needed to prove that there is no plan".to_owned()
        } else {
            format!("the answer claims {}", money(self.goal).0)
        };
        Err(format!("this case proves only {}; {claimed}", money(bound).0))
    }

    fn up_to_lattice(&self, bound: i128) -> i128 {
        let up = i128::from(bound.rem_euclid(self.lattice) != 0);
        (bound.div_euclid(self.lattice) + up) * self.lattice
    }

    /// What these prices prove, and the list that they leave.
    fn by_prices(&mut self, given: &Prices, listed: Option<Listed>) -> Result<(i128, Option<Listed>), String> {
        let figures = self.figures;
        for (name, have, want) in
            [("parts", given.parts.len(), figures.lengths.len()), ("limits", given.limits.len(), self.path.len())]
        {
            if have != want {
                return Err(format!("prices.{name}: {have} prices are given, {want} are needed"));
            }
        }
        let parts: Vec<i128> = given.parts.iter().map(|&price| i128::from(price)).collect();
        let mut bound: i128 = parts.iter().zip(&figures.lengths).map(|(&p, l)| p * i128::from(l.demand)).sum();
        let mut limits = Vec::new();
        for (at, (limit, &price)) in self.path.iter().zip(&given.limits).enumerate() {
            if price != 0 && (price > 0) != limit.at_least {
                let sign = if limit.at_least { "at least: 0 or more" } else { "at most: 0 or less" };
                return Err(format!("prices.limits[{at}]: {price} has the wrong sign for {sign}"));
            }
            if price != 0 {
                bound += i128::from(price) * limit.bars();
                limits.push(limit.priced(i128::from(price)));
            }
        }
        let mut cuts = Vec::new();
        for &(at, price) in &given.cuts {
            if price > 0 {
                return Err(format!("prices.cuts: {price} has the wrong sign for a cut: 0 or less"));
            }
            let (cut, price) = (&self.tree.cuts[at as usize], i128::from(price));
            let mut parts = vec![0; figures.lengths.len()];
            cut.parts.iter().for_each(|&(length, u)| parts[length as usize] = u);
            let sum: i128 =
                parts.iter().zip(&figures.lengths).map(|(&u, l)| i128::from(u) * i128::from(l.demand)).sum();
            bound += price * (sum / i128::from(cut.denominator));
            cuts.push(Cut { parts, denominator: cut.denominator, price });
        }
        let measure = Measure { parts: &parts, limits: &limits, cuts: &cuts };
        let steps = &mut self.steps;
        let least = match &listed {
            Some(listed) => listed.least(figures.kinds.len(), &measure, steps),
            None if cuts.is_empty() => pricing::least(figures, &parts, &limits, steps),
            None => return Err("prices.cuts: cuts need a list above them".into()),
        };
        let least = least.map_err(too_much)?;
        // Each bar of a plan holds a part, so there are no more bars than parts.
        bound += least_sum(least.iter().copied().zip(self.most.iter().copied()).collect(), figures.parts);
        if !given.list {
            return Ok((bound, listed));
        }
        // What a plan below the goal may still cost above the bound.
        let gap = (self.goal - 1).div_euclid(self.lattice) * self.lattice - bound;
        let shorter = match listed {
            Some(listed) => listed.within(&measure, &least, gap, steps),
            None => list(figures, &measure, &least, gap, steps).map_err(too_much)?,
        };
        Ok((bound, Some(shorter)))
    }

    /// Whether a lower limit asks for more bars than there can be.
    fn is_empty(&self) -> bool {
        self.path.iter().filter(|limit| limit.at_least).any(|limit| self.most(limit) < limit.bars())
    }

    /// The most bars that count in this limit: by the pieces, by the parts they hold, and by upper limits that count them too.
    fn most(&self, limit: &Bounded<'_>) -> i128 {
        let figures = self.figures;
        let weight: i128 = (limit.split.holding.iter())
            .map(|&(length, least)| i128::from(figures.lengths[length as usize].weight) * i128::from(least))
            .max()
            .unwrap_or(0);
        let pieces: u64 = (figures.kinds.iter().zip(&limit.counts))
            .filter(|&(kind, &counts)| counts && i128::from(kind.piece.bears) >= weight)
            .map(|(kind, _)| kind.quantity)
            .sum();
        let held = limit.split.holding.iter().filter(|&&(_, least)| least > 0);
        let by_parts = held.map(|&(length, least)| figures.lengths[length as usize].demand / u64::from(least)).min();
        let most = i128::from(pieces.min(figures.parts).min(by_parts.unwrap_or(u64::MAX)));
        let wider = self.path.iter().filter(|upper| !upper.at_least && upper.covers(limit));
        wider.map(Bounded::bars).fold(most, i128::min)
    }
}
