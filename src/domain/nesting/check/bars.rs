//! Bars replayed: parts, lengths, kerfs, remainders, worth, shared mitre cuts.

use std::collections::{HashMap, HashSet};

use rust_decimal::Decimal;

use super::{Claims, claims, tally};
use crate::{
    measure::Tenths,
    nesting::bars::{Answer, Bar, End, LongPoint, Part, Plane, Problem, Stock},
};

/// All faults of a bar plan, none if it is sound.
pub fn check(problem: &Problem, answer: &Answer) -> Vec<String> {
    let mut faults = Vec::new();
    let stock: HashMap<&str, &Stock> = problem.stock.iter().map(|s| (s.id.as_str(), s)).collect();
    let parts: HashMap<&str, &Part> = problem.parts.iter().map(|p| (p.id.as_str(), p)).collect();
    let priced = problem.stock.iter().any(|s| s.cost.is_some());
    let mut cut: HashMap<&str, u64> = HashMap::new();
    let mut used: HashMap<&str, u64> = HashMap::new();
    let mut net = Decimal::ZERO;
    let mut seen = HashSet::new();
    for (at, bar) in answer.plan.iter().enumerate() {
        let name = format!("plan[{at}]");
        if bar.count == 0 {
            faults.push(format!("{name}: count is 0"));
        }
        if bar.parts.is_empty() {
            faults.push(format!("{name}: holds no part"));
        }
        if !seen.insert((&bar.stock, &bar.parts, format!("{:?}", bar.laid))) {
            faults.push(format!("{name}: the same pattern stands twice"));
        }
        *used.entry(bar.stock.as_str()).or_default() += u64::from(bar.count);
        for part in &bar.parts {
            *cut.entry(part.as_str()).or_default() += u64::from(bar.count);
        }
        let Some(piece) = stock.get(bar.stock.as_str()) else { continue };
        let Some(on_bar) = bar.parts.iter().map(|id| parts.get(id.as_str()).copied()).collect::<Option<Vec<_>>>()
        else {
            continue;
        };
        let one = replay(problem, piece, &on_bar, bar, priced, &name, &mut faults);
        net = net.saturating_add(one.saturating_mul(Decimal::from(bar.count)));
    }
    let demand: HashMap<&str, u64> = problem.parts.iter().map(|p| (p.id.as_str(), u64::from(p.quantity))).collect();
    let there = problem.stock.iter().map(|s| (s.id.as_str(), s.quantity.map(u64::from))).collect();
    tally("stock", &used, &there, false, &mut faults);
    if !answer.plan.is_empty() || answer.net_cost.is_some() {
        let wanted = demand.iter().map(|(id, n)| (*id, Some(*n))).collect();
        tally("part", &cut, &wanted, true, &mut faults);
    }
    let bars: u64 = answer.plan.iter().map(|bar| u64::from(bar.count)).sum();
    if u64::from(answer.bars) != bars {
        faults.push(format!("bars: {} is stated, the plan has {bars}", answer.bars));
    }
    if answer.patterns as usize != answer.plan.len() {
        faults.push(format!("patterns: {} is stated, the plan has {}", answer.patterns, answer.plan.len()));
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

/// One bar; its net cost.
fn replay(
    problem: &Problem,
    piece: &Stock,
    parts: &[&Part],
    bar: &Bar,
    priced: bool,
    name: &str,
    faults: &mut Vec<String>,
) -> Decimal {
    let kerf = problem.kerf.0;
    let offered = piece.length.0 - piece.end_trim.unwrap_or(problem.end_trim).0;
    let taken: i64 = parts.iter().map(|part| taken(part, kerf)).fold(0, i64::saturating_add);
    let count = parts.len() as i64;
    let over = taken.saturating_add((count - 1).max(0).saturating_mul(kerf)) - offered;
    if over > 0 {
        faults.push(format!("{name}: the parts are {} mm too long for \"{}\"", Tenths(over), piece.id));
    }
    let remainder = offered.saturating_sub(taken).saturating_sub(count.saturating_mul(kerf)).max(0);
    if bar.remainder.0 != remainder {
        faults.push(format!("{name}.remainder_mm: {} mm is stated, {} mm are left", bar.remainder, Tenths(remainder)));
    }
    let kept = remainder > 0 && remainder >= problem.keep_offcut.0;
    if bar.kept != kept {
        faults.push(format!("{name}.kept: {} is stated", bar.kept));
    }
    laid(problem, parts, bar, name, faults);
    let cost = match piece.cost {
        Some(cost) if priced => cost.0,
        _ => Decimal::new(piece.length.0, 1),
    };
    let worth = if kept && priced {
        Decimal::new(remainder, 4).saturating_mul(piece.offcut_value_per_m.0)
    } else {
        Decimal::ZERO
    };
    cost.saturating_sub(worth)
}

/// The charged length of a part, in tenths.
pub(super) fn taken(part: &Part, kerf: i64) -> i64 {
    let mut extra = 0.0;
    if let Some(mitre) = &part.mitre {
        for end in &mitre.ends {
            extra += kerf as f64 * (1.0 / (end.angle_deg * std::f64::consts::PI / 180.0).cos() - 1.0);
        }
    }
    let whole = extra.round();
    let up = if (extra - whole).abs() < 1e-6 { whole } else { extra.ceil() };
    part.length.0.saturating_add(up as i64)
}

fn laid(problem: &Problem, parts: &[&Part], bar: &Bar, name: &str, faults: &mut Vec<String>) {
    let mitred = parts.iter().any(|part| part.mitre.is_some());
    let Some(laid) = &bar.laid else {
        if mitred {
            faults.push(format!("{name}.laid: is missing; the bar has mitred parts"));
        } else if bar.shared_gain.0 != 0 {
            faults.push(format!("{name}.shared_gain_mm: no mitred parts, no gain"));
        }
        return;
    };
    if laid.len() != parts.len() {
        faults.push(format!("{name}.laid: {} entries for {} parts", laid.len(), parts.len()));
        return;
    }
    // Near and far end of each part as it lies.
    let lying = |at: usize| -> Option<[End; 2]> {
        let mitre = parts[at].mitre.as_ref()?;
        let mut ends = mitre.ends;
        if laid[at].turned {
            ends.reverse();
        }
        if laid[at].flipped {
            for end in &mut ends {
                end.long_point = if end.long_point == LongPoint::Top { LongPoint::Bottom } else { LongPoint::Top };
            }
        }
        Some(ends)
    };
    let mut gain = 0;
    for at in 0..parts.len() {
        if laid[at].flipped && !parts[at].mitre.as_ref().is_some_and(|m| m.may_flip) {
            faults.push(format!("{name}.laid[{at}]: \"{}\" may not be flipped", parts[at].id));
        }
        if !laid[at].shares_next {
            continue;
        }
        let pair = if at + 1 < parts.len() { lying(at).zip(lying(at + 1)) } else { None };
        let Some(([_, far], [near, _])) = pair else {
            faults.push(format!("{name}.laid[{at}]: shares a cut with no mitred part"));
            continue;
        };
        let alike = far.angle_deg == near.angle_deg && far.plane == near.plane && far.long_point != near.long_point;
        if !alike || far.angle_deg <= 0.0 {
            faults.push(format!("{name}.laid[{at}]: this end and the next are not one cut"));
            continue;
        }
        let side = [at, at + 1]
            .iter()
            .filter_map(|&i| parts[i].mitre.as_ref())
            .map(|m| if far.plane == Plane::Width { m.section_width.0 } else { m.section_depth.0 })
            .min()
            .unwrap_or(0);
        let (sin, cos) = (far.angle_deg * std::f64::consts::PI / 180.0).sin_cos();
        let freed = (side as f64 * sin + problem.kerf.0 as f64 * (1.0 - cos)) / cos;
        gain += (freed + 1e-6).floor() as i64;
    }
    if bar.shared_gain.0 != gain {
        faults.push(format!(
            "{name}.shared_gain_mm: {} mm is stated, the cuts free {} mm",
            bar.shared_gain,
            Tenths(gain)
        ));
    }
}
