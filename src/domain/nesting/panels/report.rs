//! From layouts back to named sheets and parts, at places on the untrimmed sheet.

use super::{
    Answer, Cut, CutClass, Placed, Problem, Remainder, Sheet,
    fill::{Layout, Rect},
    first::{Plan, rank},
    model::{Model, SCALE},
    search::Found,
};
use crate::{
    measure::Tenths,
    nesting::{Meter, Status, Ties, gap, money},
};

pub(super) fn answer(problem: &Problem, model: &Model, meter: &Meter, found: Found) -> Answer {
    let mut answer = Answer {
        status: Status::Undecided,
        net_cost: None,
        lower_bound: None,
        gap: None,
        cut_class: problem.cuts,
        ties: Ties::Searched,
        plan: Vec::new(),
        unplaced: Vec::new(),
        notes: Vec::new(),
        sheets: 0,
        stopped: meter.stopped(),
    };
    match found {
        Found::Plan { plan, bound, proof: _, ties } => {
            let net_cost = rank(&plan).0;
            answer.status = if bound >= net_cost { Status::Optimal } else { Status::Feasible };
            answer.net_cost = Some(money(net_cost, SCALE));
            answer.lower_bound = Some(money(bound.min(net_cost), SCALE));
            answer.gap = Some(gap(net_cost, bound.min(net_cost)));
            answer.ties = ties;
            answer.plan = sheets(problem, model, plan);
            answer.sheets = answer.plan.iter().map(|sheet| sheet.count).sum();
            if answer.status == Status::Optimal && !meter.stopped().is_some_and(|why| why.by_caller()) {
                answer.stopped = None;
            }
        }
        Found::Infeasible(_) => {
            answer.status = Status::Infeasible;
            answer.stopped = None;
        }
        Found::Undecided { bound } => answer.lower_bound = Some(money(bound, SCALE)),
    }
    answer
}

fn sheets(problem: &Problem, model: &Model, plan: Plan) -> Vec<Sheet> {
    let mut stock: Vec<Vec<(usize, u32)>> = model.kinds.iter().map(|k| k.stock.clone()).collect();
    let mut parts: Vec<Vec<(usize, u32)>> = model.types.iter().map(|t| t.parts.clone()).collect();
    let mut sheets: Vec<(usize, Sheet)> = Vec::new();
    for layout in plan {
        let Some(piece) = next(&mut stock[layout.kind]) else { continue };
        let sheet = sheet(problem, model, &layout, problem.stock[piece].id.clone(), &mut parts);
        match sheets.iter_mut().find(|(_, old)| Sheet { count: 1, ..old.clone() } == sheet) {
            Some((_, old)) => old.count += 1,
            None => sheets.push((piece, sheet)),
        }
    }
    sheets.sort_by_key(|(piece, sheet)| (*piece, std::cmp::Reverse(sheet.count)));
    sheets.into_iter().map(|(_, sheet)| sheet).collect()
}

fn sheet(problem: &Problem, model: &Model, layout: &Layout, stock: String, parts: &mut [Vec<(usize, u32)>]) -> Sheet {
    let trim = model.trim;
    let place = |r: &Rect| [r.x + trim, r.y + trim, r.dx, r.dy].map(Tenths);
    let placed = (layout.placed.iter())
        .filter_map(|spot| {
            let part = problem.parts[next(&mut parts[spot.t])?].id.clone();
            let [x, y, length, width] = place(&spot.rect);
            Some(Placed { part, x, y, length, width, turned: spot.turned })
        })
        .collect();
    // A free plan may well have been found by cuts, but does not promise any.
    let sawn = if problem.cuts == CutClass::Free { &[][..] } else { &layout.cuts };
    let mut cuts: Vec<Cut> = (sawn.iter())
        .map(|saw| Cut { stage: saw.stage, piece: place(&saw.piece), axis: saw.axis, at: Tenths(saw.at + trim) })
        .collect();
    // Stage after stage is how a sheet goes through the saw; within a stage the cuts keep their order.
    cuts.sort_by_key(|cut| cut.stage);
    let remainders = (layout.kept.iter())
        .map(|rect| {
            let [x, y, length, width] = place(rect);
            Remainder { x, y, length, width, kept: true }
        })
        .collect();
    Sheet { stock, count: 1, placed, cuts, remainders }
}

fn next(lines: &mut [(usize, u32)]) -> Option<usize> {
    let line = lines.iter_mut().find(|(_, n)| *n > 0)?;
    line.1 -= 1;
    Some(line.0)
}
