//! What the trailer stands on: the coupling, and the running gear as it really passes its load into the frame.
//!
//! - leaf spring: its load goes to both hangers in equal parts, sideways at the front one, the rear end slides;
//! - equalised pair: rockers make both springs of a side equal, so ¼, ½ and ¼ of a side's load;
//! - torsion axle: the wheel's force stands behind the bracket, which takes it as force and moment;
//! - links and coils: up and down at the spring seats, sideways at the links' mounts.
//!
//! Wheels roll: nothing but the coupling holds the trailer lengthways.

use super::{
    built::{Built, Seat},
    frame::{Frame, Load as FrameLoad, NodeLoad, Place, Support, vector::cross},
};
use crate::trailer::{MountKind, Role, Spec, Suspension, TORSION_ARM_MM, Trailer};

/// Rate at one wheel where the spec has none, N/mm (common practice, no source). It matters only where a pair is not equalised; a
/// single axle's loads follow from statics alone.
const RATE_N_PER_MM: f64 = 60.0;
/// What gives as good as nothing: a hanger sideways, a prop stand, a jack, a test rig.
const FIRM_N_PER_MM: f64 = 1e5;

/// A wheel, or both wheels of a side of an equalised pair.
#[derive(Clone, Debug)]
pub struct Wheels {
    /// −1 left, 1 right.
    pub side: f64,
    /// Index of its support.
    pub support: usize,
    pub axle: usize,
    /// Mounts, front to rear.
    mounts: Vec<usize>,
}

pub struct Hitched {
    pub frame: Frame,
    pub wheels: Vec<Wheels>,
}

const UP: [f64; 3] = [0.0, 0.0, 1.0];

/// On the towing vehicle's ball and its own wheels.
pub fn hitched(spec: &Spec, trailer: &Trailer, built: &Built) -> Hitched {
    let gear = &spec.design.running_gear;
    let mut frame = built.frame.clone();
    frame.nodes[built.coupling].held = [true, true, true, false, false, false];
    let rate = gear.spring_rate_n_per_mm.unwrap_or(RATE_N_PER_MM);
    let mounts = &trailer.layout.mounts;
    let seat = |index: usize| &built.mounts[index];
    let at = |index: usize, share: f64, behind: f64| Place {
        node: seat(index).node,
        offset: [seat(index).offset[0] + behind, seat(index).offset[1], seat(index).offset[2]],
        share,
    };
    let equalised = mounts.iter().any(|mount| mount.kind == MountKind::Equaliser);
    let axles = if equalised { 1 } else { trailer.layout.axles_x_mm.len() };
    let mut wheels = Vec::new();
    for axle in 0..axles {
        for side in [-1.0, 1.0] {
            let own: Vec<usize> = (0..mounts.len().min(built.mounts.len()))
                .filter(|&index| mounts[index].place[1] * side > 0.0 && (equalised || mounts[index].axle == axle))
                .collect();
            let of = |kind: MountKind| own.iter().copied().find(|&index| mounts[index].kind == kind);
            let places: Vec<Place> = match gear.suspension {
                Suspension::Leaf if equalised => [
                    (of(MountKind::FrontHanger), 0.25),
                    (of(MountKind::Equaliser), 0.5),
                    (of(MountKind::RearHanger), 0.25),
                ]
                .into_iter()
                .filter_map(|(mount, share)| Some(at(mount?, share, 0.0)))
                .collect(),
                Suspension::Leaf => own.iter().map(|&index| at(index, 1.0 / own.len() as f64, 0.0)).collect(),
                Suspension::RubberTorsion => own.iter().map(|&index| at(index, 1.0, TORSION_ARM_MM)).collect(),
                Suspension::CoilLinks | Suspension::FromVehicle => {
                    of(MountKind::SpringSeat).map(|index| at(index, 1.0, 0.0)).into_iter().collect()
                }
            };
            if places.is_empty() {
                continue;
            }
            let count = if equalised { 2.0 } else { 1.0 };
            let mut ordered = own.clone();
            ordered.sort_by(|&a, &b| mounts[a].place[0].total_cmp(&mounts[b].place[0]));
            wheels.push(Wheels { side, support: frame.supports.len(), axle, mounts: ordered });
            frame.supports.push(Support { places, along: UP, stiffness: rate * count });
        }
    }
    // Sideways at each axle's leading mounts.
    for (index, mount) in mounts.iter().enumerate().take(built.mounts.len()) {
        let leads = match mount.kind {
            MountKind::FrontHanger | MountKind::AxleBracket | MountKind::LinkMount | MountKind::Equaliser => true,
            MountKind::RearHanger | MountKind::SpringSeat => false,
        };
        if leads {
            frame.supports.push(sprung(seat(index), [0.0, 1.0, 0.0], FIRM_N_PER_MM));
        }
    }
    Hitched { frame, wheels }
}

fn sprung(seat: &Seat, along: [f64; 3], stiffness: f64) -> Support {
    Support { places: vec![Place { node: seat.node, offset: seat.offset, share: 1.0 }], along, stiffness }
}

/// The same with the rear prop stands down.
pub fn propped(hitched: &Hitched, built: &Built) -> Frame {
    let mut frame = hitched.frame.clone();
    frame.supports.extend(built.props.iter().map(|prop| sprung(prop, UP, FIRM_N_PER_MM)));
    frame
}

/// One side's wheels off the ground, a jack under its rearmost mount.
pub fn jacked(hitched: &Hitched, built: &Built, side: f64) -> Frame {
    let mut frame = hitched.frame.clone();
    let off: Vec<usize> =
        hitched.wheels.iter().filter(|wheels| wheels.side == side).map(|wheels| wheels.support).collect();
    let last = hitched.wheels.iter().rfind(|wheels| wheels.side == side).and_then(|wheels| wheels.mounts.last());
    if let Some(seat) = last.and_then(|&mount| built.mounts.get(mount)) {
        frame.supports.push(sprung(seat, UP, FIRM_N_PER_MM));
    }
    let mut index = 0;
    frame.supports.retain(|_| {
        index += 1;
        !off.contains(&(index - 1))
    });
    frame
}

/// In a test rig: the bed frame held at its mounts and its corners, the coupling free to be pushed.
pub fn rigged(trailer: &Trailer, built: &Built) -> Frame {
    let mut frame = built.frame.clone();
    let mut hold = |node: usize, offset: [f64; 3]| {
        for axis in 0..3 {
            let mut along = [0.0; 3];
            along[axis] = 1.0;
            let places = vec![Place { node, offset, share: 1.0 }];
            frame.supports.push(Support { places, along, stiffness: FIRM_N_PER_MM });
        }
    };
    for seat in &built.mounts {
        hold(seat.node, seat.offset);
    }
    for (index, _) in trailer.members.iter().enumerate().filter(|(_, member)| member.role == Role::SideRail) {
        let beams = &built.beams_of[index];
        if let (Some(&first), Some(&last)) = (beams.first(), beams.last()) {
            hold(built.frame.beams[first].ends[0].node, [0.0; 3]);
            hold(built.frame.beams[last].ends[1].node, [0.0; 3]);
        }
    }
    frame
}

/// One newton of braking force for each wheel, rearwards at the tyre's contact: lengthways into the leading mount, and its moment about the
/// mount's height into the mounts as the suspension passes it on. An equalised pair counts as two wheels a side.
pub fn brake(spec: &Spec, built: &Built, hitched: &Hitched) -> FrameLoad {
    let mut load = FrameLoad::default();
    let mut push = |seat: &Seat, force: [f64; 3], moment: [f64; 3]| {
        let arm = cross(seat.offset, force);
        let moment = [0, 1, 2].map(|axis| arm[axis] + moment[axis]);
        load.nodes.push(NodeLoad { node: seat.node, force, moment });
    };
    for wheels in &hitched.wheels {
        let seats: Vec<&Seat> = wheels.mounts.iter().filter_map(|&mount| built.mounts.get(mount)).collect();
        let (Some(first), Some(last)) = (seats.first(), seats.last()) else { continue };
        let height = first.place[2];
        let between = last.place[0] - first.place[0];
        match spec.design.running_gear.suspension {
            Suspension::RubberTorsion => {
                for seat in &seats {
                    push(seat, [1.0, 0.0, 0.0], [0.0, -seat.place[2], 0.0]);
                }
            }
            Suspension::Leaf if seats.len() == 3 => {
                // Each leaf levers on hanger and rocker; the rocker keeps its two ends equal, so the outer hangers take it all.
                let lever = 2.0 * height / (between / 2.0);
                push(seats[0], [1.0, 0.0, -lever], [0.0; 3]);
                push(seats[1], [1.0, 0.0, 0.0], [0.0; 3]);
                push(seats[2], [0.0, 0.0, lever], [0.0; 3]);
            }
            _ if between > 1.0 => {
                let lever = height / between;
                push(first, [1.0, 0.0, -lever], [0.0; 3]);
                push(last, [0.0, 0.0, lever], [0.0; 3]);
            }
            _ => push(first, [1.0, 0.0, 0.0], [0.0, -height, 0.0]),
        }
    }
    load
}

/// One newton up at a wheel's support, to take its load away.
pub fn at_wheel(frame: &Frame, wheels: &Wheels) -> FrameLoad {
    let mut load = FrameLoad::default();
    if let Some(support) = frame.supports.get(wheels.support) {
        for place in &support.places {
            let force = [0.0, 0.0, place.share];
            load.nodes.push(NodeLoad { node: place.node, force, moment: cross(place.offset, force) });
        }
    }
    load
}
