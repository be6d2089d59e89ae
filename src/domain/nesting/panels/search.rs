//! The order of the work: refuse what cannot be, bound, plan, improve until plan and bound meet.

use super::{
    bound,
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
    search.sweep(bound, meter);
    search.improve(bound, meter);
    match search.best {
        Some(plan) => {
            let bound = bound.min(rank(&plan).0);
            Found::Plan { plan, bound, ties: Ties::Searched }
        }
        None => Found::Undecided { bound },
    }
}

fn cannot_be(model: &Model) -> Option<Vec<(usize, u32, String)>> {
    let too_large: Vec<_> = (model.types.iter().enumerate())
        .filter(|(_, t)| bound::fits_none(t, &model.kinds))
        .map(|(place, t)| (place, t.demand, "larger than any stock, in every way it may lie".to_owned()))
        .collect();
    if !too_large.is_empty() {
        return Some(too_large);
    }
    let kerf = model.kerf;
    let everything =
        |why: String| Some((0..model.types.len()).map(|t| (t, model.types[t].demand, why.clone())).collect());
    let need: i128 = (model.types.iter())
        .map(|t| i128::from(t.length + kerf) * i128::from(t.width + kerf) * i128::from(t.demand))
        .sum();
    let have: i128 = (model.kinds.iter())
        .map(|k| i128::from(k.length + kerf) * i128::from(k.width + kerf) * i128::from(k.quantity))
        .sum();
    if have < need {
        let missing = (need - have + 99) / 100;
        return everything(format!(
            "these parts cannot be placed together: {missing} mm² of sheet (with kerf) are missing"
        ));
    }
    let sheets: u64 = model.kinds.iter().map(|k| u64::from(k.quantity)).sum();
    let least = u64::from(bound::least_sheets(model));
    if least > sheets {
        let missing = least - sheets;
        return everything(format!(
            "these parts cannot be placed together: they need {least} sheets, {missing} more than there are"
        ));
    }
    None
}
