//! Shared mitre cuts: the parts of a bar ordered and laid so that neighbouring ends are one cut.
//!
//! A far end and the next near end share a cut when they have the same plane and angle and are parallel as laid: where
//! one part is longer the other is shorter, so their long points are on opposite sides. Turning a part end for end swaps
//! its ends; flipping it moves both long points to the other side. A shared cut frees
//! side × tan a + (kerf / cos a − kerf), rounded down to a tenth, side being the section's size in that plane.
//!
//! The order is found by nearest neighbour from every start: a gain beside the proof, not proven greatest.

use super::{End, Laid, LongPoint, Mitre, Plane, Problem};
use crate::domain::measure::Tenths;

pub(super) struct Order {
    /// Places in the problem's list of parts, in cutting order.
    pub parts: Vec<usize>,
    /// `None` where every part is square.
    pub laid: Option<Vec<Laid>>,
    pub gain: Tenths,
}

/// Longer chains than this start from the first part only.
const MOST_STARTS: usize = 40;

pub(super) fn lay(problem: &Problem, on_bar: &[usize]) -> Order {
    let mitred = |place: &usize| problem.parts[*place].mitre.is_some();
    if !on_bar.iter().any(mitred) {
        return Order { parts: on_bar.to_vec(), laid: None, gain: Tenths(0) };
    }
    let chained: Vec<usize> = on_bar.iter().copied().filter(|p| mitred(p)).collect();
    let mut best: Option<(i64, Vec<(usize, Laid)>)> = None;
    let starts = if chained.len() > MOST_STARTS { 1 } else { chained.len() };
    for start in 0..starts {
        if start > 0 && chained[..start].contains(&chained[start]) {
            continue;
        }
        for way in ways(problem.parts[chained[start]].mitre.as_ref()) {
            let (gain, chain) = chain(problem, &chained, start, way);
            if best.as_ref().is_none_or(|(most, _)| gain > *most) {
                best = Some((gain, chain));
            }
        }
    }
    let (gain, mut chain) = best.unwrap_or_default();
    chain.extend(on_bar.iter().filter(|p| !mitred(p)).map(|&place| (place, Laid::default())));
    let (parts, laid) = chain.into_iter().unzip();
    Order { parts, laid: Some(laid), gain: Tenths(gain) }
}

/// The ways in which a part may lie.
fn ways(mitre: Option<&Mitre>) -> Vec<Laid> {
    let flips: &[bool] = if mitre.is_some_and(|m| m.may_flip) { &[false, true] } else { &[false] };
    let lies = |flipped: bool| [false, true].map(|turned| Laid { turned, flipped, shares_next: false });
    flips.iter().flat_map(|&flipped| lies(flipped)).collect()
}

fn chain(problem: &Problem, parts: &[usize], start: usize, way: Laid) -> (i64, Vec<(usize, Laid)>) {
    let mut rest: Vec<usize> = parts.to_vec();
    let mut chain = vec![(rest.remove(start), way)];
    let mut total = 0;
    while !rest.is_empty() {
        let (last, lies) = chain[chain.len() - 1];
        let mut next: (i64, usize, Laid) = (-1, 0, Laid::default());
        for (at, &place) in rest.iter().enumerate() {
            if at > 0 && rest[at - 1] == place {
                continue;
            }
            for way in ways(problem.parts[place].mitre.as_ref()) {
                let gain = shared(problem, (last, lies), (place, way));
                if gain > next.0 {
                    next = (gain, at, way);
                }
            }
        }
        let (gain, at, way) = next;
        if gain > 0 {
            total += gain;
            if let Some((_, last)) = chain.last_mut() {
                last.shares_next = true;
            }
        }
        chain.push((rest.remove(at), way));
    }
    (total, chain)
}

/// What is freed when the far end of one part and the near end of the next are one cut; 0 where they cannot be.
fn shared(problem: &Problem, (one, lies): (usize, Laid), (next, way): (usize, Laid)) -> i64 {
    let (Some(a), Some(b)) = (&problem.parts[one].mitre, &problem.parts[next].mitre) else { return 0 };
    let far = as_laid(a.ends[usize::from(!lies.turned)], lies);
    let near = as_laid(b.ends[usize::from(way.turned)], way);
    if far.angle_deg <= 0.0
        || far.angle_deg != near.angle_deg
        || far.plane != near.plane
        || far.long_point == near.long_point
    {
        return 0;
    }
    let side = |m: &Mitre| if far.plane == Plane::Depth { m.section_depth.0 } else { m.section_width.0 };
    let angle = far.angle_deg.to_radians();
    let kerf = problem.kerf.0 as f64;
    // 45° gives a whole number; the guard keeps it from falling by a tenth through the tangent's last bit.
    (side(a).min(side(b)) as f64 * angle.tan() + kerf / angle.cos() - kerf + 1e-7).floor() as i64
}

fn as_laid(end: End, lies: Laid) -> End {
    let long_point = match (end.long_point, lies.flipped) {
        (LongPoint::Top, true) => LongPoint::Bottom,
        (LongPoint::Bottom, true) => LongPoint::Top,
        (point, false) => point,
    };
    End { long_point, ..end }
}
