//! Sheets replayed: parts as they lie, grain, cuts, remainders, worth.

use std::collections::HashMap;

use rust_decimal::Decimal;

use super::{Claims, claims, tally};
use crate::nesting::panels::{Answer, Axis, CutClass, Part, PartGrain, Placed, Problem, Sheet, SheetGrain, Stock};

/// x, y, length, width in tenths.
type Box4 = [i64; 4];

/// All faults of a panel plan, none if it is sound.
pub fn check(problem: &Problem, answer: &Answer) -> Vec<String> {
    let mut faults = Vec::new();
    let stock: HashMap<&str, &Stock> = problem.stock.iter().map(|s| (s.id.as_str(), s)).collect();
    let parts: HashMap<&str, &Part> = problem.parts.iter().map(|p| (p.id.as_str(), p)).collect();
    let priced = problem.stock.iter().any(|s| s.cost.is_some());
    let mut cut: HashMap<&str, u64> = HashMap::new();
    let mut used: HashMap<&str, u64> = HashMap::new();
    let mut net = Decimal::ZERO;
    if answer.cut_class != problem.cuts {
        faults.push("cut_class: is not the problem's".into());
    }
    for (at, sheet) in answer.plan.iter().enumerate() {
        let name = format!("plan[{at}]");
        if sheet.count == 0 {
            faults.push(format!("{name}: count is 0"));
        }
        if sheet.placed.is_empty() {
            faults.push(format!("{name}: holds no part"));
        }
        *used.entry(sheet.stock.as_str()).or_default() += u64::from(sheet.count);
        for placed in &sheet.placed {
            *cut.entry(placed.part.as_str()).or_default() += u64::from(sheet.count);
        }
        let Some(piece) = stock.get(sheet.stock.as_str()) else { continue };
        for placed in &sheet.placed {
            if let Some(part) = parts.get(placed.part.as_str()) {
                lie(piece, part, placed, &name, &mut faults);
            }
        }
        let one = replay(problem, piece, sheet, priced, &name, &mut faults);
        net = net.saturating_add(one.saturating_mul(Decimal::from(sheet.count)));
    }
    let demand: HashMap<&str, u64> = problem.parts.iter().map(|p| (p.id.as_str(), u64::from(p.quantity))).collect();
    let there = problem.stock.iter().map(|s| (s.id.as_str(), s.quantity.map(u64::from))).collect();
    tally("stock", &used, &there, false, &mut faults);
    if !answer.plan.is_empty() || answer.net_cost.is_some() {
        let wanted = demand.iter().map(|(id, n)| (*id, Some(*n))).collect();
        tally("part", &cut, &wanted, true, &mut faults);
    }
    let sheets: u64 = answer.plan.iter().map(|sheet| u64::from(sheet.count)).sum();
    if u64::from(answer.sheets) != sheets {
        faults.push(format!("sheets: {} is stated, the plan has {sheets}", answer.sheets));
    }
    let stated = Claims {
        status: answer.status,
        net_cost: answer.net_cost,
        lower_bound: answer.lower_bound,
        gap: answer.gap,
        stopped: answer.stopped,
        unplaced: &answer.unplaced,
        planned: !answer.plan.is_empty(),
    };
    claims(&stated, net, &demand, &mut faults);
    faults
}

/// Whether a part lies with its own size and with its grain along the sheet's.
fn lie(piece: &Stock, part: &Part, placed: &Placed, name: &str, faults: &mut Vec<String>) {
    let size = if placed.turned { (part.width, part.length) } else { (part.length, part.width) };
    if (placed.length, placed.width) != size {
        faults.push(format!("{name}: \"{}\" does not lie with its own size", part.id));
    }
    // The part's side along the sheet's length is its own length unless it is turned.
    let wanted_turned = match (part.grain, piece.grain) {
        (PartGrain::Any, _) | (_, SheetGrain::None) => return,
        (PartGrain::Length, grain) => grain == SheetGrain::Width,
        (PartGrain::Width, grain) => grain == SheetGrain::Length,
    };
    if placed.turned != wanted_turned {
        faults.push(format!("{name}: \"{}\" lies across the grain", part.id));
    }
}

fn replay(
    problem: &Problem,
    piece: &Stock,
    sheet: &Sheet,
    priced: bool,
    name: &str,
    faults: &mut Vec<String>,
) -> Decimal {
    let kerf = problem.kerf.0;
    let trim = problem.edge_trim.0;
    let inside: Box4 = [trim, trim, piece.length.0 - 2 * trim, piece.width.0 - 2 * trim];
    let placed = sheet.placed.iter().map(|p| (format!("\"{}\"", p.part), [p.x.0, p.y.0, p.length.0, p.width.0]));
    let kept = (sheet.remainders.iter().filter(|r| r.kept))
        .map(|r| ("a kept remainder".to_owned(), [r.x.0, r.y.0, r.length.0, r.width.0]));
    let boxes: Vec<(String, Box4)> = placed.chain(kept).collect();
    for (what, [x, y, length, width]) in &boxes {
        let [left, low, across, up] = inside;
        let (right, top) = (x.saturating_add(*length), y.saturating_add(*width));
        if *length <= 0 || *width <= 0 || *x < left || *y < low || right > left + across || top > low + up {
            faults.push(format!("{name}: {what} is not inside the trimmed sheet"));
        }
    }
    for (i, (one, a)) in boxes.iter().enumerate() {
        for (other, b) in &boxes[i + 1..] {
            let apart = |at: usize| {
                a[at].saturating_add(a[at + 2]).saturating_add(kerf) <= b[at]
                    || b[at].saturating_add(b[at + 2]).saturating_add(kerf) <= a[at]
            };
            if !apart(0) && !apart(1) {
                faults.push(format!("{name}: {one} and {other} are less than a kerf apart"));
            }
        }
    }
    let mut worth = Decimal::ZERO;
    for remainder in &sheet.remainders {
        let (long, short) = (remainder.length.max(remainder.width), remainder.length.min(remainder.width));
        let [a, b] = problem.keep_offcut;
        if remainder.kept != (long >= a.max(b) && short >= a.min(b) && short.0 > 0) {
            faults.push(format!("{name}: a remainder of {long} × {short} mm has kept = {}", remainder.kept));
        }
        if remainder.kept && priced {
            let area = Decimal::new(remainder.length.0, 4).saturating_mul(Decimal::new(remainder.width.0, 4));
            worth = worth.saturating_add(area.saturating_mul(piece.offcut_value_per_m2.0));
        }
    }
    match problem.cuts {
        CutClass::Guillotine => saw(problem, sheet, inside, &boxes, name, faults),
        CutClass::Free if !sheet.cuts.is_empty() => faults.push(format!("{name}: a free plan lists no cuts")),
        CutClass::Free => {}
    }
    let cost = match piece.cost {
        Some(cost) if priced => cost.0,
        _ => Decimal::new(piece.length.0, 1).saturating_mul(Decimal::new(piece.width.0, 1)),
    };
    cost.saturating_sub(worth)
}

/// Makes each cut on the pieces that there are; after the last, every part and kept remainder must be one of them.
fn saw(problem: &Problem, sheet: &Sheet, inside: Box4, boxes: &[(String, Box4)], name: &str, faults: &mut Vec<String>) {
    let kerf = problem.kerf.0;
    // Each piece with the direction and stage of the cut that made it.
    let mut pieces: Vec<(Box4, Option<Axis>, u32)> = vec![(inside, None, 0)];
    for (at, cut) in sheet.cuts.iter().enumerate() {
        let wanted = cut.piece.map(|t| t.0);
        let Some(found) = pieces.iter().position(|(piece, _, _)| *piece == wanted) else {
            faults.push(format!("{name}.cuts[{at}]: there is no such piece at this moment"));
            return;
        };
        let (piece, made_by, made_at) = pieces.swap_remove(found);
        let stage = if made_by == Some(cut.axis) { made_at } else { made_at + 1 };
        if cut.stage != stage {
            faults.push(format!("{name}.cuts[{at}].stage: {} is stated, it is {stage}", cut.stage));
        }
        if problem.max_stages.is_some_and(|most| stage > most) {
            faults.push(format!("{name}.cuts[{at}]: stage {stage} is beyond max_stages"));
        }
        let along = usize::from(cut.axis == Axis::Y);
        let (start, end) = (piece[along], piece[along] + piece[along + 2]);
        if cut.at.0 <= start || cut.at.0 >= end {
            faults.push(format!("{name}.cuts[{at}].at_mm: {} does not divide the piece", cut.at));
            return;
        }
        let (mut before, mut behind) = (piece, piece);
        before[along + 2] = cut.at.0 - start;
        behind[along] = cut.at.0 + kerf;
        behind[along + 2] = end - cut.at.0 - kerf;
        pieces.push((before, Some(cut.axis), stage));
        if behind[along + 2] > 0 {
            pieces.push((behind, Some(cut.axis), stage));
        }
    }
    for (what, wanted) in boxes {
        match pieces.iter().position(|(piece, _, _)| piece == wanted) {
            Some(at) => drop(pieces.swap_remove(at)),
            None => faults.push(format!("{name}: {what} is not one of the pieces after the last cut")),
        }
    }
}
