//! Vent and drain holes: a closed hollow that is dipped in molten zinc without them bursts.
//!
//! Size: at least 10 mm and a quarter of the section's diagonal at each end (galvanizers' association design manual; read);
//! members longer than 2.8 m get 30 % of the clear area at each end (published hole table; read).

use std::f64::consts::FRAC_PI_4;

use super::{Cut, Face, Hole, HolePurpose, Member, PanelRole, PartRef, Role, Trailer};

const LEAST_MM: f64 = 10.0;
const LONG_MM: f64 = 2800.0;

/// Drills every end of a hollow member that is not open: in its cap, or beside the end in the member's underside at one end
/// and in its top at the other, so that zinc drains and air leaves however it hangs.
pub fn drill(trailer: &mut Trailer) {
    for index in 0..trailer.members.len() {
        let member = &trailer.members[index];
        if !member.section.is_hollow() {
            continue;
        }
        let (diameter, count) = holes_at_end(member);
        for end in [Cut::From, Cut::To] {
            if end_is_open(trailer, index, end) {
                continue;
            }
            match cap_on(trailer, index, end) {
                Some(cap) => drill_cap(trailer, cap, diameter, count),
                None => drill_member(&mut trailer.members[index], end, diameter, count),
            }
        }
    }
}

/// Diameter in whole millimetres and number of the holes at each end.
fn holes_at_end(member: &Member) -> (f64, usize) {
    let (depth, width, wall) = (member.section.depth_mm(), member.section.width_mm(), member.section.wall_mm());
    let quarter_diagonal = depth.hypot(width) / 4.0;
    let mut area = FRAC_PI_4 * quarter_diagonal.max(LEAST_MM).powi(2);
    if member.length.mm() > LONG_MM {
        area = area.max(0.3 * (depth - 2.0 * wall) * (width - 2.0 * wall));
    }
    let largest = (width / 2.0).max(LEAST_MM);
    let count = (area / (FRAC_PI_4 * largest * largest)).ceil().clamp(1.0, 6.0);
    ((area / count / FRAC_PI_4).sqrt().ceil().max(LEAST_MM), count as usize)
}

fn drill_member(member: &mut Member, end: Cut, diameter_mm: f64, count: usize) {
    let cut = member.cuts[end as usize];
    let lost = member.section.width_mm().max(member.section.depth_mm()) * cut.angle_deg.to_radians().tan();
    let length = member.length.mm();
    for nth in 0..count {
        let from_end = (lost + 10.0 + diameter_mm / 2.0 + nth as f64 * 2.0 * diameter_mm).min(length / 2.0);
        let (along_mm, face) = if end == Cut::From { (from_end, Face::Bottom) } else { (length - from_end, Face::Top) };
        let purpose = HolePurpose::Vent;
        member.holes.push(Hole { along_mm, across_mm: 0.0, diameter_mm, face, through: false, purpose });
    }
}

fn drill_cap(trailer: &mut Trailer, cap: usize, diameter_mm: f64, count: usize) {
    let panel = &mut trailer.panels[cap];
    let (length, width) = (panel.length.mm(), panel.width.mm());
    for nth in 0..count {
        let along_mm = length * (nth as f64 + 1.0) / (count as f64 + 1.0);
        let purpose = HolePurpose::Vent;
        panel.holes.push(Hole {
            along_mm,
            across_mm: width / 2.0,
            diameter_mm,
            face: Face::Top,
            through: true,
            purpose,
        });
    }
}

fn cap_on(trailer: &Trailer, member: usize, end: Cut) -> Option<usize> {
    caps_of(trailer, member).find(|&(_, at)| at == end).map(|(cap, _)| cap)
}

fn caps_of(trailer: &Trailer, member: usize) -> impl Iterator<Item = (usize, Cut)> + '_ {
    trailer.joints.iter().filter_map(move |joint| match joint.parts {
        [PartRef::Panel(panel), PartRef::Member(index)]
            if index == member && trailer.panels.get(panel).is_some_and(|panel| panel.role == PanelRole::Cap) =>
        {
            let bar = &trailer.members[member];
            let near = distance(joint.place, bar.from) < distance(joint.place, bar.to);
            Some((panel, if near { Cut::From } else { Cut::To }))
        }
        _ => None,
    })
}

/// Nothing closes it: no cap, and nothing that it is joined to by its end. The mouth of a telescopic drawbar and the inner's
/// rear end are such.
fn end_is_open(trailer: &Trailer, member: usize, end: Cut) -> bool {
    let bar = &trailer.members[member];
    match (bar.role, end) {
        (Role::Inner, Cut::To) => true,
        (Role::Pole, Cut::From) => !bar.cuts[0].capped,
        _ => false,
    }
}

fn distance(a: super::Point, b: super::Point) -> f64 {
    [0, 1, 2].map(|axis| (a[axis] - b[axis]).powi(2)).iter().sum::<f64>().sqrt()
}

/// Closed hollow members without an opening at each end: on a galvanised job a check that fails and cannot be answered.
pub fn unvented_closed_members(trailer: &Trailer) -> Vec<usize> {
    let vents = |holes: &[Hole]| holes.iter().filter(|hole| hole.purpose == HolePurpose::Vent).count();
    let opening_at = |index: usize, end: Cut| {
        let member = &trailer.members[index];
        let at_end = |hole: &&Hole| (hole.along_mm < member.length.mm() / 2.0) == (end == Cut::From);
        let own = member.holes.iter().filter(|hole| hole.purpose == HolePurpose::Vent).filter(at_end).count();
        // A hole in the very middle of a short member serves both ends.
        let middle = member
            .holes
            .iter()
            .any(|hole| hole.purpose == HolePurpose::Vent && (hole.along_mm - member.length.mm() / 2.0).abs() < 0.1);
        end_is_open(trailer, index, end)
            || own > 0
            || middle
            || caps_of(trailer, index).any(|(cap, at)| at == end && vents(&trailer.panels[cap].holes) > 0)
    };
    let unvented = |&index: &usize| {
        trailer.members[index].section.is_hollow() && ![Cut::From, Cut::To].iter().all(|&end| opening_at(index, end))
    };
    (0..trailer.members.len()).filter(unvented).collect()
}
