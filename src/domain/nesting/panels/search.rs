//! The order of the work: refuse what cannot be, bound, plan, try everything where that is little, then improve.

use super::{
    CutClass, bound,
    exact::{self, Outcome},
    first::{Plan, Search, rank},
    model::Model,
};
use crate::domain::nesting::{Meter, Ties};

pub(super) enum Found {
    Plan { plan: Plan, bound: i128, ties: Ties },
    Infeasible(Vec<(usize, u32, String)>),
    Undecided { bound: i128 },
}

pub(super) fn run(model: &Model, meter: &mut Meter) -> Found {
    if model.count == 0 {
        return Found::Plan { plan: Plan::new(), bound: 0, ties: Ties::Proven };
    }
    if let Some(unplaced) = cannot_be(model) {
        return Found::Infeasible(unplaced);
    }
    let bound = bound::by_area(model);
    meter.lower_bound = Some(bound);
    let mut search = Search::new(model);
    meter.stage(25);
    search.sweep(bound, meter);
    search.improve(bound, 60 * u64::from(model.count.min(200)), meter);
    let mut proven = search.reaches(bound);
    if !proven {
        meter.stage(80);
        // Without a plan, every sheet there is costs more than any plan.
        let every: i128 = model.kinds.iter().map(|k| k.cost * i128::from(k.quantity)).sum();
        let upper = search.best.as_ref().map_or(every + 1, |plan| rank(plan).0);
        let (outcome, whole) = exact::search(model, upper, meter);
        proven = whole && sawn_are_all(model);
        if let Outcome::Better(plan) = outcome {
            search.offer(plan);
        }
    }
    meter.stage(100);
    if proven && search.best.is_none() {
        return Found::Infeasible(everything(model, "these parts cannot be placed together on the sheets there are"));
    }
    if !proven {
        search.improve(bound, u64::MAX, meter);
    }
    match search.best {
        Some(plan) => {
            let cost = rank(&plan).0;
            Found::Plan { plan, bound: if proven { cost } else { bound.min(cost) }, ties: Ties::Searched }
        }
        None => Found::Undecided { bound },
    }
}

/// Whether no free plan is better than the best sawn one: always for guillotine plans; and four rectangles can always be
/// parted by cuts from edge to edge (the least pinwheel has five), so also where remainders are worth nothing and there
/// are at most four parts.
fn sawn_are_all(model: &Model) -> bool {
    model.class == CutClass::Guillotine || (model.count <= 4 && model.kinds.iter().all(|k| k.value == 0))
}

fn everything(model: &Model, why: &str) -> Vec<(usize, u32, String)> {
    (0..model.types.len()).map(|t| (t, model.types[t].demand, why.to_owned())).collect()
}

/// The plain proofs: a part larger than any sheet, less area than parts, fewer sheets than a bound asks for.
fn cannot_be(model: &Model) -> Option<Vec<(usize, u32, String)>> {
    let too_large: Vec<_> = (model.types.iter().enumerate())
        .filter(|(_, t)| bound::fits_none(t, &model.kinds))
        .map(|(place, t)| (place, t.demand, "larger than any stock, in every way it may lie".to_owned()))
        .collect();
    if !too_large.is_empty() {
        return Some(too_large);
    }
    let kerf = model.kerf;
    let need: i128 = (model.types.iter())
        .map(|t| i128::from(t.length + kerf) * i128::from(t.width + kerf) * i128::from(t.demand))
        .sum();
    let have: i128 = (model.kinds.iter())
        .map(|k| i128::from(k.length + kerf) * i128::from(k.width + kerf) * i128::from(k.quantity))
        .sum();
    if have < need {
        let missing = (need - have + 99) / 100;
        let why = format!("these parts cannot be placed together: {missing} mm² of sheet (with kerf) are missing");
        return Some(everything(model, &why));
    }
    let sheets: u64 = model.kinds.iter().map(|k| u64::from(k.quantity)).sum();
    let least = u64::from(bound::least_sheets(model));
    if least > sheets {
        let missing = least - sheets;
        let why =
            format!("these parts cannot be placed together: they need {least} sheets, {missing} more than there are");
        return Some(everything(model, &why));
    }
    None
}
