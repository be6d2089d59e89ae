//! The order of the work: refuse what cannot be, a first plan, a bound, then better ones until they meet.

use super::{
    first::{self, Plan},
    model::Model,
    record::Log,
    ties,
    tree::Tree,
};
use crate::nesting::{Meter, Ties};

/// Rows of the linear program beyond which its inverse would need too much memory (2,500² floats are 50 MB): such a problem
/// gets a first plan and the bound of its material.
const MOST_ROWS: usize = 2_500;

/// What a search ends with; money is the model's.
pub(super) enum Found {
    Plan {
        plan: Plan,
        bound: i128,
        ties: Ties,
    },
    /// Parts (type, how many) that no plan can hold, and why.
    Infeasible(Vec<(usize, u32, String)>),
    Undecided {
        bound: i128,
    },
}

pub(super) fn run(model: &Model, mut log: Log, meter: &mut Meter) -> (Found, Log) {
    if model.count == 0 {
        return (Found::Plan { plan: Plan::new(), bound: 0, ties: Ties::Proven }, log);
    }
    if let Some((unplaced, prices)) = cannot_be(model) {
        log.close(prices);
        return (Found::Infeasible(unplaced), log);
    }
    let material = by_material(model);
    meter.lower_bound = Some(material);
    let first = first::best(model, 12, meter);
    meter.net_cost = first.as_ref().map(first::cost);
    let limited = model.kinds.iter().filter(|kind| kind.limited).count();
    if model.types.len() + limited > MOST_ROWS {
        meter.give_up();
        let found = match first {
            Some(plan) => Found::Plan { bound: material.min(first::cost(&plan)), plan, ties: Ties::Searched },
            None => Found::Undecided { bound: material },
        };
        return (found, log);
    }
    let mut tree = Tree::new(model, first, material);
    tree.log = log;
    tree.grow(meter);
    let bound = tree.bound();
    let found = match tree.best {
        Some(plan) => {
            let bound = bound.min(first::cost(&plan));
            let optimal = bound == first::cost(&plan);
            let (plan, ties) = ties::handiest(model, plan, optimal, tree.root, meter);
            Found::Plan { plan, bound, ties }
        }
        // No plan costs as much as every piece there is, so a bound above that proves that there is none.
        None if bound >= tree.upper => Found::Infeasible(everything(model)),
        None => Found::Undecided { bound },
    };
    (found, tree.log)
}

/// Parts (type, how many) that no plan can hold, and why.
type Lacking = Vec<(usize, u32, String)>;

fn everything(model: &Model) -> Lacking {
    let need: i64 = model.types.iter().map(|t| t.weight * i64::from(t.demand)).sum();
    let have: i64 = model.kinds.iter().map(|k| k.bears * i64::from(k.quantity)).sum();
    let why = format!(
        "these {} parts cannot be placed together: the stock is {} mm longer than they are (with kerfs), but no way of \
         cutting it gives them all",
        model.count,
        crate::measure::Tenths((have - need).max(0)),
    );
    (0..model.types.len()).map(|t| (t, model.types[t].demand, why.clone())).collect()
}

/// The plain proofs: a part longer than any piece, or less stock than parts. With them prices of the types at which the
/// parts are worth more than all stock.
pub(super) fn cannot_be(model: &Model) -> Option<(Lacking, Vec<i64>)> {
    let most = i64::MAX / 4;
    let prices = |dear: &dyn Fn(usize) -> i64| (0..model.types.len()).map(dear).collect();
    let longest = model.kinds.iter().map(|k| k.bears).max().unwrap_or(0);
    let too_long: Vec<_> = (model.types.iter().enumerate())
        .filter(|(_, t)| t.weight > longest)
        .map(|(place, t)| (place, t.demand, "longer than any stock".to_owned()))
        .collect();
    if !too_long.is_empty() {
        return Some((too_long, prices(&|t| if model.types[t].weight > longest { most } else { 0 })));
    }
    // The longest parts, as a set, against the pieces that can hold the shortest of them.
    let (mut need, mut count) = (0_i128, 0_u64);
    for (place, t) in model.types.iter().enumerate() {
        need += i128::from(t.weight) * i128::from(t.demand);
        count += u64::from(t.demand);
        let fitting = || model.kinds.iter().filter(|k| k.bears >= t.weight);
        let have: i128 = fitting().map(|k| i128::from(k.bears) * i128::from(k.quantity)).sum();
        // So many parts of at least this weight go on one piece.
        let places: u64 = fitting().map(|k| (k.bears / t.weight) as u64 * u64::from(k.quantity)).sum();
        let each = most / model.types[0].weight;
        let (why, dear): (_, Vec<i64>) = if places < count {
            let missing = count - places;
            let why = format!(
                "these {count} parts cannot be placed together: the stock has places for {places}, {missing} too few"
            );
            (why, prices(&|t| if t <= place { most } else { 0 }))
        } else if have < need {
            let missing = need - have;
            let why = format!(
                "these {count} parts cannot be placed together: {}.{} mm of stock (with kerf) are missing",
                missing / 10,
                missing % 10
            );
            (why, prices(&|t| if t <= place { model.types[t].weight * each } else { 0 }))
        } else {
            continue;
        };
        return Some(((0..=place).map(|t| (t, model.types[t].demand, why.clone())).collect(), dear));
    }
    None
}

/// No piece gives length cheaper than ρ, its least cost for the weight it then holds: net cost ≥ ρ · Σ weights.
fn by_material(model: &Model) -> i128 {
    let weight: i128 = model.types.iter().map(|t| i128::from(t.weight) * i128::from(t.demand)).sum();
    let lightest = model.types.last().map_or(1, |t| t.weight);
    // Cost is linear in what is used up to the longest that keeps a remainder, and flat after: the ratio is least at an end.
    let best = (0..model.kinds.len())
        .flat_map(|kind| {
            let bears = model.kinds[kind].bears;
            let longest_kept = bears - model.kerf - model.keep;
            [Some(bears), (longest_kept >= lightest).then_some(longest_kept), Some(lightest)]
                .into_iter()
                .flatten()
                .map(move |used| (model.cost(kind, used), used))
        })
        .min_by(|&(a, u), &(b, v)| (i128::from(a) * i128::from(v)).cmp(&(i128::from(b) * i128::from(u))));
    let Some((cost, used)) = best else { return 0 };
    let product = i128::from(cost) * weight;
    let used = i128::from(used.max(1));
    model.up_to_lattice(product.div_euclid(used) + i128::from(product.rem_euclid(used) != 0))
}
