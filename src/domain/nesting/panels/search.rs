//! The order of the work: refuse what cannot be, bound, plan, try everything where that is little, then improve plan and
//! bound in turn, each round with more work than the last.

use super::{
    CutClass,
    bound::{self, Weighed},
    columns::Columns,
    exact::{self, Outcome},
    first::{Plan, Search, rank},
    model::{Model, Type},
    repack::Repack,
    together::{Lacking, Why, too_much},
    values::Values,
};
use crate::nesting::{
    Meter, Stopped, Ties,
    proof::panels::{BoundProof, Measure},
};

/// Of the beam, plan by plan.
const WIDTHS: [usize; 4] = [4, 1, 16, 4];
/// How often sheets are planned anew after each plan.
const ANEW: u32 = 20;
/// Units spent on handier plans of equal cost.
const MOST_HANDIER: u64 = 50_000;

pub(super) enum Found {
    Plan { plan: Plan, bound: i128, proof: BoundProof, ties: Ties },
    Infeasible(Lacking),
    Undecided { bound: i128 },
}

pub(super) fn run(model: &Model, meter: &mut Meter) -> Found {
    if model.count == 0 {
        let proof = BoundProof::Measures(Vec::new());
        return Found::Plan { plan: Plan::new(), bound: 0, proof, ties: Ties::Proven };
    }
    let large = |t: &Type| if bound::fits_none(t, &model.kinds) { t.demand } else { 0 };
    let parts: Vec<u32> = model.types.iter().map(large).collect();
    if parts.iter().any(|&n| n > 0) {
        return Found::Infeasible(Lacking { parts, why: Why::Large });
    }
    let (functions, weighed) = bound::functions(model, &model.kinds, false, meter);
    let weighed = [bound::area(model), weighed];
    if let Some(lacking) = too_much(model, &weighed) {
        return Found::Infeasible(lacking);
    }
    let impossible = || {
        let parts = model.types.iter().map(|t| t.demand).collect();
        Found::Infeasible(Lacking { parts, why: Why::Searched })
    };
    let Some(mut bound) = bound::cover(model, &weighed) else { return impossible() };
    let mut measures = vec![Measure::Area, functions];
    meter.lower_bound = Some(bound);
    let mut search = Search::new(model);
    meter.stage(25);
    search.sweep(bound, meter);
    let mut values = Values::new(model);
    correct(&mut search, &mut values, bound, 3, meter);
    search.improve(bound, 60 * u64::from(model.count.min(200)), meter);
    if model.class == CutClass::Guillotine {
        search.tidy(meter);
    }
    let mut proven = search.reaches(bound);
    let mut searched = false;
    if !proven {
        meter.stage(80);
        // Without a plan, every sheet there is costs more than any plan.
        let every: i128 = model.kinds.iter().map(|k| k.cost * i128::from(k.quantity)).sum();
        let upper = search.best.as_ref().map_or(every + 1, |plan| rank(plan).0);
        let (outcome, whole) = exact::search(model, upper, meter);
        searched = whole && sawn_are_all(model);
        proven = searched;
        if let Outcome::Better(plan) = outcome {
            search.offer(plan);
        }
    }
    meter.stage(100);
    if proven && search.best.is_none() {
        return impossible();
    }
    if !proven {
        raise(model, &search, &mut bound, &mut measures, meter);
        meter.lower_bound = Some(bound);
    }
    if !search.reaches(bound) && !searched {
        improve(model, &mut search, &mut values, bound, meter);
    }
    if model.class == CutClass::Guillotine && !meter.stopped().is_some_and(Stopped::by_caller) {
        handier(&mut search, &mut values, meter);
    }
    match search.best {
        Some(plan) => {
            let cost = rank(&plan).0;
            let proof = if searched { BoundProof::Searched } else { BoundProof::Measures(measures) };
            let bound = if searched { cost } else { bound.min(cost) };
            Found::Plan { plan, bound, proof, ties: Ties::Searched }
        }
        None => Found::Undecided { bound },
    }
}

/// Better bounds, until one meets the plan: more functions, then prices.
fn raise(model: &Model, search: &Search, bound: &mut i128, measures: &mut Vec<Measure>, meter: &mut Meter) {
    let mut offer = |measure: Measure, weighed: Vec<Weighed>| {
        if let Some(value) = bound::cover(model, &weighed)
            && value > *bound
        {
            *bound = value;
            *measures = if weighed.len() > 1 { vec![Measure::Area, measure] } else { vec![measure] };
        }
    };
    meter.stage(30);
    let (functions, weighed) = bound::functions(model, &model.kinds, true, meter);
    offer(functions, vec![bound::area(model), weighed]);
    let Some(plan) = &search.best else { return };
    if search.reaches(*bound) || model.class == CutClass::Free {
        return;
    }
    if let Some(mut columns) = Columns::new(model, plan, meter) {
        columns.generate(model, rank(plan).0, meter);
        if columns.bound > *bound {
            *bound = columns.bound;
            *measures = vec![columns.measure];
        }
    }
    meter.stage(100);
}

/// Better plans, until one meets the bound or the work is spent.
fn improve(model: &Model, search: &mut Search, values: &mut Values, bound: i128, meter: &mut Meter) {
    let mut repack = Repack::new(model);
    let mut units = 2_000_000;
    // One sheet less is what there is to win where they cost alike and nothing is kept.
    let alike = matches!(&model.kinds[..], [kind] if kind.value == 0);
    while meter.goes_on() && !search.reaches(bound) {
        if model.max_stages == u32::MAX
            && let Some(plan) = search.best.clone()
            && let Some(fewer) = repack.fewer(&plan, units, meter)
            && rank(&fewer) < rank(&plan)
        {
            search.offer(fewer);
            continue;
        }
        meter.within(if alike { units / 4 } else { units }, |meter| correct(search, values, bound, u64::MAX, meter));
        search.improve(bound, 10 * u64::from(model.count.min(200)), meter);
        units = units.saturating_mul(2);
    }
}

/// Among plans of equal cost one that is handier at the saw.
fn handier(search: &mut Search, values: &mut Values, meter: &mut Meter) {
    if meter.left() >= 4 * MOST_HANDIER {
        meter.within(MOST_HANDIER, |meter| {
            search.sweep(i128::MIN, meter);
            correct(search, values, i128::MIN, 2, meter);
        });
    }
    meter.within(MOST_HANDIER, |meter| search.tidy(meter));
}

/// Plans by values that are corrected from plan to plan, each followed by sheets planned anew: so many, until one meets the
/// bound or the stage ends.
fn correct(search: &mut Search, values: &mut Values, bound: i128, plans: u64, meter: &mut Meter) {
    for nth in 0..plans {
        let width = WIDTHS[nth as usize % WIDTHS.len()];
        for again in 0..=ANEW {
            if !meter.goes_on() || search.reaches(bound) {
                return;
            }
            let plan = match &search.best {
                Some(plan) if again > 0 => values.anew(plan, width, meter),
                _ => values.plan(width, meter),
            };
            if plan.is_some_and(|plan| search.offer(plan)) {
                meter.net_cost = search.best.as_ref().map(|plan| rank(plan).0);
            }
        }
    }
}

/// Whether no free plan is better than the best sawn one: always for guillotine plans; and three rectangles can always be
/// parted by cuts from edge to edge (four can lie as a pinwheel around an empty middle), so also where remainders are worth
/// nothing and there are at most three parts.
fn sawn_are_all(model: &Model) -> bool {
    model.class == CutClass::Guillotine || (model.count <= 3 && model.kinds.iter().all(|k| k.value == 0))
}
