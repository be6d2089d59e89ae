//! Rechecks what a proof claims, without searching for plans and without the solver's code.
//!
//! Every case of the tree is closed in exact whole numbers; the least that its leaves prove is what no plan undercuts.
//! How a leaf is closed: [`crate::domain::nesting::proof::bars`].

use std::fmt;

use rust_decimal::Decimal;
use serde::Serialize;

use crate::domain::{
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
mod pricing;
#[cfg(test)]
mod tests;

use figures::{Figures, least_sum};
use pricing::{Limit, MOST_STEPS};

/// What a recheck has shown.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Proven {
    /// No plan costs less.
    CostsAtLeast(Money),
    /// This stock cannot give the parts.
    NoPlan,
}

impl fmt::Display for Proven {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::CostsAtLeast(bound) => write!(f, "No plan from this stock costs less than {}.", bound.0),
            Self::NoPlan => f.write_str("This stock cannot give the parts, however it is cut."),
        }
    }
}

/// Rechecks the proof of a bar plan.
///
/// # Errors
/// Why it does not prove what the answer claims: another problem's proof, a wrong form, or the first leaf that proves too little.
pub fn bar_proof(problem: &Problem, answer: &Answer, tree: &Tree) -> Result<Proven, String> {
    if tree.problem != digest(problem) {
        return Err("the proof is about another problem (its SHA-256 differs)".into());
    }
    let figures = Figures::read(problem, tree)?;
    let claimed = claimed(answer, &figures)?;
    let above = parents(tree, &figures)?;
    let mut least: Option<i128> = None;
    let mut steps = 0;
    for (place, node) in tree.nodes.iter().enumerate() {
        if matches!(node, Node::Split(_)) {
            continue;
        }
        let path = path(tree, &above, place, &mut steps)?;
        let leaf = Leaf { figures: &figures, path: &path };
        let bound = leaf.bound(node, &mut steps).map_err(|why| format!("nodes[{place}]: {why}"))?;
        let Some(bound) = bound else { continue };
        if bound < claimed {
            let shortfall = match answer.status {
                Status::Infeasible => "which some plan may cost, so it is not proven that there is none".to_owned(),
                _ => format!("the answer claims {}", money(claimed).0),
            };
            return Err(format!("nodes[{place}]: this case proves only {}; {shortfall}", money(bound).0));
        }
        least = Some(least.map_or(bound, |least| least.min(bound)));
    }
    Ok(match least {
        Some(least) if least <= figures.everything() => Proven::CostsAtLeast(money(least)),
        _ => Proven::NoPlan,
    })
}

/// What every leaf has to reach.
fn claimed(answer: &Answer, figures: &Figures) -> Result<i128, String> {
    if answer.status == Status::Infeasible {
        return Ok(figures.everything() + 1);
    }
    let bound = answer.lower_bound.ok_or("lower_bound: is missing; without it nothing is claimed")?.0.normalize();
    let lift = SCALE.checked_sub(bound.scale()).ok_or("lower_bound: has more than 8 decimals")?;
    Ok(bound.mantissa() * 10_i128.pow(lift))
}

fn money(amount: i128) -> Money {
    Money(Decimal::try_from_i128_with_scale(amount, SCALE).unwrap_or(Decimal::MAX).normalize())
}

/// The case above each, after a look at the tree's form: every case but the first belongs to exactly one split before it.
fn parents(tree: &Tree, figures: &Figures) -> Result<Vec<Option<usize>>, String> {
    if tree.nodes.is_empty() {
        return Err("nodes: is empty; nothing is proven".into());
    }
    let mut above = vec![None; tree.nodes.len()];
    for (place, node) in tree.nodes.iter().enumerate() {
        let Node::Split(split) = node else { continue };
        if split.kinds.iter().any(|&kind| kind as usize >= tree.kinds.len()) {
            return Err(format!("nodes[{place}].kinds: there are only {} kinds", tree.kinds.len()));
        }
        if split.holding.iter().any(|&(length, _)| length as usize >= figures.lengths.len()) {
            return Err(format!("nodes[{place}].holding: there are only {} lengths", figures.lengths.len()));
        }
        for (name, case) in [("at_most", split.at_most), ("at_least", split.at_least)] {
            let case = case as usize;
            if case <= place || case >= tree.nodes.len() {
                return Err(format!("nodes[{place}].{name}: {case} is not a later case of the list"));
            }
            if above[case].replace(place).is_some() {
                return Err(format!("nodes[{place}].{name}: case {case} already belongs to another"));
            }
        }
    }
    match above.iter().skip(1).position(Option::is_none) {
        Some(place) => Err(format!("nodes[{}]: belongs to no split", place + 1)),
        None => Ok(above),
    }
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
}

fn path<'a>(tree: &'a Tree, above: &[Option<usize>], leaf: usize, steps: &mut u64) -> Result<Vec<Bounded<'a>>, String> {
    let mut path = Vec::new();
    let mut case = leaf;
    while let Some(parent) = above[case] {
        let Node::Split(split) = &tree.nodes[parent] else { break };
        let mut counts = vec![false; tree.kinds.len()];
        split.kinds.iter().for_each(|&kind| counts[kind as usize] = true);
        path.push(Bounded { split, at_least: split.at_least as usize == case, counts });
        *steps += (tree.kinds.len() + split.kinds.len()) as u64;
        if *steps > MOST_STEPS {
            return Err(too_much());
        }
        case = parent;
    }
    path.reverse();
    Ok(path)
}

fn too_much() -> String {
    format!("more than {MOST_STEPS} steps of work, so the proof was not rechecked to its end")
}

struct Leaf<'a> {
    figures: &'a Figures,
    path: &'a [Bounded<'a>],
}

impl Leaf<'_> {
    /// What no plan of the case undercuts, on the lattice of net costs; `None`: it holds no plan.
    fn bound(&self, node: &Node, steps: &mut u64) -> Result<Option<i128>, String> {
        let bound = match node {
            Node::Split(_) => return Err("is not a leaf".into()),
            Node::Nothing if self.is_empty() => return Ok(None),
            Node::Nothing => return Err("plain counting does not show that this case holds no plan".into()),
            Node::Material => self.figures.by_material(),
            Node::Prices(prices) => self.by_prices(prices, steps)?,
        };
        let lattice = self.figures.lattice();
        let up = i128::from(bound.rem_euclid(lattice) != 0);
        Ok(Some((bound.div_euclid(lattice) + up) * lattice))
    }

    fn by_prices(&self, given: &Prices, steps: &mut u64) -> Result<i128, String> {
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
                limits.push(Limit { counts: &limit.counts, holding: &limit.split.holding, price: i128::from(price) });
            }
        }
        let least = pricing::least(figures, &parts, &limits, steps).map_err(|_| too_much())?;
        let short = least.into_iter().zip(&figures.kinds).map(|(least, kind)| (least, kind.quantity)).collect();
        // Each bar of a plan holds a part, so there are no more bars than parts.
        Ok(bound + least_sum(short, figures.parts))
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

impl Bounded<'_> {
    /// Whether every bar that counts in the other counts here.
    fn covers(&self, other: &Self) -> bool {
        other.split.kinds.iter().all(|&kind| self.counts[kind as usize])
            && self.split.holding.iter().all(|&(length, least)| {
                least == 0 || other.split.holding.iter().any(|&(t, n)| t == length && n >= least)
            })
    }
}
