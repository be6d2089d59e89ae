//! Which parts cannot be placed together, when only a search could prove that not all can: lines are left out one by one
//! while the rest still cannot be placed, so that what is named is small. Leaving out any one of the lines named makes the
//! rest possible, or at least no longer proven impossible by so little work.

use super::{Problem, model::Model, record::Log, search};
use crate::nesting::{Budget, Meter, Unplaced, unwatched};

/// Lines that are tried to be left out, the work of each try, and the least budget of a caller who wants to know.
const TRIES: usize = 40;
const UNITS: u64 = 200_000;
const WORTH: u64 = 1_000_000;

/// Fewer parts than all that cannot be placed together; `None` where the plain reasons hold, or nothing can be left out.
pub(super) fn fewest(problem: &Problem, budget: Budget) -> Option<Vec<Unplaced>> {
    if budget.units() < WORTH {
        return None;
    }
    let mut few = problem.clone();
    few.parts.retain(|part| part.quantity > 0);
    let all = few.parts.len();
    // The shortest are the likeliest not to matter.
    let mut order: Vec<String> = {
        let mut parts: Vec<_> = few.parts.iter().collect();
        parts.sort_by(|a, b| a.length.cmp(&b.length).then_with(|| a.id.cmp(&b.id)));
        parts.into_iter().map(|part| part.id.clone()).collect()
    };
    order.truncate(TRIES);
    for id in order {
        let mut fewer = few.clone();
        fewer.parts.retain(|part| part.id != id);
        if !fewer.parts.is_empty() && impossible(&fewer) {
            few = fewer;
        }
    }
    (few.parts.len() < all).then(|| {
        let count: u64 = few.parts.iter().map(|part| u64::from(part.quantity)).sum();
        let why = match count {
            1 => "no way of cutting this stock gives it".to_owned(),
            _ => format!("no way of cutting this stock gives these {count} parts together"),
        };
        let unplaced = |part: super::Part| Unplaced { part: part.id, quantity: part.quantity, why: why.clone() };
        few.parts.into_iter().map(unplaced).collect()
    })
}

fn impossible(problem: &Problem) -> bool {
    let Ok(model) = Model::new(problem) else { return false };
    let mut never = unwatched;
    let mut meter = Meter::new(Budget::of_units(UNITS), super::model::SCALE, &mut never);
    matches!(search::run(&model, Log::default(), &mut meter), (search::Found::Infeasible(_), _))
}
