//! From integer columns back to named bars: which piece, which part, in which order.

use std::collections::{HashMap, hash_map::Entry};

use super::{
    Answer, Bar, Problem,
    first::{self, Plan},
    mitre::Layer,
    model::{Column, Model, SCALE},
    search::Found,
    sharing,
};
use crate::{
    measure::Tenths,
    nesting::{
        Meter, Status, Ties, Unplaced, gap, money,
        proof::{bars::Recorder, digest},
    },
};

pub(super) fn answer(problem: &Problem, model: &Model, meter: &Meter, found: Found) -> Answer {
    let mut answer = Answer {
        status: Status::Undecided,
        net_cost: None,
        lower_bound: None,
        gap: None,
        ties: Ties::Searched,
        plan: Vec::new(),
        unplaced: Vec::new(),
        notes: Vec::new(),
        bars: 0,
        patterns: 0,
        stopped: meter.stopped(),
    };
    match found {
        Found::Plan { plan, bound, ties } => {
            let net_cost = first::cost(&plan);
            answer.status = if bound >= net_cost { Status::Optimal } else { Status::Feasible };
            answer.net_cost = Some(money(net_cost, SCALE));
            answer.lower_bound = Some(money(bound.min(net_cost), SCALE));
            answer.gap = Some(gap(net_cost, bound.min(net_cost)));
            answer.ties = ties;
            answer.plan = bars(problem, model, &plan);
            answer.bars = answer.plan.iter().map(|bar| bar.count).sum();
            answer.patterns = answer.plan.len() as u32;
            if answer.status == Status::Optimal && !meter.stopped().is_some_and(|why| why.by_caller()) {
                answer.stopped = None;
            }
        }
        Found::Infeasible(unplaced) => {
            answer.status = Status::Infeasible;
            answer.stopped = None;
            for (t, mut quantity, why) in unplaced {
                for &(place, have) in &model.types[t].parts {
                    let part = problem.parts[place].id.clone();
                    let quantity_here = have.min(quantity);
                    quantity -= quantity_here;
                    if quantity_here > 0 {
                        answer.unplaced.push(Unplaced { part, quantity: quantity_here, why: why.clone() });
                    }
                }
            }
        }
        Found::Undecided { bound } => answer.lower_bound = Some(money(bound, SCALE)),
    }
    answer
}

/// A record of the proof, in the model's own order of types and kinds.
pub(super) fn recorder(problem: &Problem, model: &Model) -> Recorder {
    let lengths = model.types.iter().map(|t| Tenths(t.weight - model.kerf)).collect();
    let ids = |lines: &[(usize, u32)]| lines.iter().map(|&(place, _)| problem.stock[place].id.clone()).collect();
    Recorder::new(digest(problem), lengths, model.kinds.iter().map(|kind| ids(&kind.stock)).collect())
}

/// Hands out pieces and parts in the order in which the problem lists them; bars cut alike are counted together.
fn bars(problem: &Problem, model: &Model, plan: &Plan) -> Vec<Bar> {
    let mut cuts = assign(model, plan);
    let mut layer = Layer::new(problem);
    if layer.has_mitres() {
        sharing::improve(model, &mut layer, &mut cuts);
    }
    let mut bars: Vec<(usize, Bar)> = Vec::new();
    let mut places: HashMap<(usize, Vec<usize>), usize> = HashMap::new();
    for Cut { piece, column, parts } in cuts {
        match places.entry((piece, parts)) {
            Entry::Occupied(place) => bars[*place.get()].1.count += 1,
            Entry::Vacant(place) => {
                let kind = &model.kinds[column.kind as usize];
                let remainder = (kind.bears - model.kerf - column.used).max(0);
                let order = layer.lay(&place.key().1);
                let bar = Bar {
                    stock: problem.stock[piece].id.clone(),
                    count: 1,
                    parts: order.parts.iter().map(|&place| problem.parts[place].id.clone()).collect(),
                    remainder: Tenths(remainder),
                    kept: remainder >= model.keep,
                    shared_gain: order.gain,
                    laid: order.laid,
                };
                place.insert(bars.len());
                bars.push((piece, bar));
            }
        }
    }
    bars.sort_by(|(p, a), (q, b)| p.cmp(q).then(b.count.cmp(&a.count)).then_with(|| a.parts.cmp(&b.parts)));
    bars.into_iter().map(|(_, bar)| bar).collect()
}

/// A bar with the parts that it is to give.
pub(super) struct Cut<'a> {
    /// Place in the problem's list of stock.
    pub piece: usize,
    pub column: &'a Column,
    /// Places in the problem's list of parts, the longest first, then in the order of the list.
    pub parts: Vec<usize>,
}

fn assign<'a>(model: &Model, plan: &'a Plan) -> Vec<Cut<'a>> {
    let mut stock: Vec<Supply> = model.kinds.iter().map(|k| Supply::new(&k.stock)).collect();
    let mut supplies: Vec<Supply> = model.types.iter().map(|t| Supply::new(&t.parts)).collect();
    let mut cuts = Vec::new();
    let mut columns: Vec<_> = plan.iter().collect();
    // Long runs first: they get parts of one id, so that fewer set-ups differ.
    columns.sort_by(|(a, m), (b, n)| n.cmp(m).then_with(|| a.cmp(b)));
    for (column, count) in columns {
        for _ in 0..*count {
            let Some(piece) = stock[column.kind as usize].next(1) else { continue };
            let mut parts = Vec::new();
            for &(t, n) in &column.items {
                let supply = &mut supplies[usize::from(t)];
                let mut wanted = n;
                let from = parts.len();
                while wanted > 0 {
                    // A listing that covers the rest of the bar keeps the bar to one id.
                    let Some(place) = supply.next(wanted) else { break };
                    parts.push(place);
                    wanted -= 1;
                    while wanted > 0 && supply.again(place) {
                        parts.push(place);
                        wanted -= 1;
                    }
                }
                parts[from..].sort_unstable();
            }
            cuts.push(Cut { piece, column, parts });
        }
    }
    cuts
}

/// Lines of the problem with what is left of each.
struct Supply(Vec<(usize, u32)>);

impl Supply {
    fn new(lines: &[(usize, u32)]) -> Self {
        Self(lines.to_vec())
    }

    /// One from the first line that still has `wanted`, else from the first that has any.
    fn next(&mut self, wanted: u32) -> Option<usize> {
        let at =
            self.0.iter().position(|&(_, n)| n >= wanted.max(1)).or_else(|| self.0.iter().position(|&(_, n)| n > 0))?;
        self.0[at].1 -= 1;
        Some(self.0[at].0)
    }

    fn again(&mut self, place: usize) -> bool {
        match self.0.iter_mut().find(|(p, n)| *p == place && *n > 0) {
            Some((_, n)) => {
                *n -= 1;
                true
            }
            None => false,
        }
    }
}
