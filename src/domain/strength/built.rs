//! The built trailer as a frame: bed frame and drawbar, each member a row of beams between the places where it meets another, stands on a
//! mount or is propped. Members that lie on or stand against one another meet over rigid offsets. Posts, rails, ramp and other parts
//! that are not of the bed frame or the drawbar load it, but do not stiffen it.

use super::frame::{
    Beam, End, Frame, Link, Node, Stiffness,
    vector::{V3, add, cross, dot, norm, scaled, sub},
};
use crate::{
    shop::PartClass,
    steel::SectionKind,
    trailer::{JointKind, Member, MountKind, PanelRole, PartRef, Role, Trailer},
};

/// Places on a member nearer than this are one.
const SAME_MM: f64 = 1.0;
/// A joint that gives nothing against what it joins: N/mm, N mm/rad.
const STIFF: f64 = 1e7;
const STIFF_TURN: f64 = 1e11;

pub struct Built {
    /// Without supports: each case brings its own.
    pub frame: Frame,
    /// Where each beam lies on its member.
    pub pieces: Vec<Piece>,
    /// Beams of each of the trailer's members, front to back along it; empty for those that are not analysed.
    pub beams_of: Vec<Vec<usize>>,
    pub coupling: usize,
    /// In the layout's order: the member that bears it, its node and its place against it.
    pub mounts: Vec<Seat>,
    /// Prop stands at the rear.
    pub props: Vec<Seat>,
    pub contacts: Vec<Contact>,
}

#[derive(Clone, Copy, Debug)]
pub struct Piece {
    pub member: usize,
    pub from_mm: f64,
    pub to_mm: f64,
    /// The beam's axes are turned about its line by this much against the member's (angles have inclined principal axes).
    pub turned: f64,
}

/// A place where the trailer stands on something.
#[derive(Clone, Copy, Debug)]
pub struct Seat {
    pub place: V3,
    pub node: usize,
    pub offset: V3,
}

/// A welded joint between two analysed members: what passes from the first into the second at this place.
#[derive(Clone, Debug)]
pub struct Contact {
    pub joint: usize,
    pub members: [usize; 2],
    pub place: V3,
    /// Where it lies on each of the two, mm from their first ends.
    pub along: [f64; 2],
    /// Beam ends of the first member that meet there.
    pub ends: Vec<(usize, usize)>,
}

/// Of the primary structure.
pub const fn is_analysed(role: Role) -> bool {
    matches!(
        role,
        Role::SideRail | Role::EndRail | Role::CrossMember | Role::Trimmer | Role::Pole | Role::Leg | Role::Inner
    )
}

/// Stations of each member while the frame is put together: place along it, and node.
struct Making<'a> {
    trailer: &'a Trailer,
    nodes: Vec<Node>,
    links: Vec<Link>,
    stations: Vec<Vec<(f64, usize)>>,
}

pub fn build(trailer: &Trailer) -> Built {
    let mut making =
        Making { trailer, nodes: Vec::new(), links: Vec::new(), stations: vec![Vec::new(); trailer.members.len()] };
    let coupling = making.coupling();
    let mut meetings = Vec::new();
    for (index, joint) in trailer.joints.iter().enumerate() {
        let [PartRef::Member(a), PartRef::Member(b)] = joint.parts else { continue };
        let both = is_analysed(trailer.members[a].role) && is_analysed(trailer.members[b].role);
        // The legs' seam at the nose: the coupling's plate holds both.
        let nose = trailer.members[a].role == Role::Leg && trailer.members[b].role == Role::Leg;
        if !both || nose {
            continue;
        }
        let along = making.meet(a, b, joint.place, joint.kind);
        if joint.kind == JointKind::Welded {
            meetings.push((index, [a, b], joint.place, along));
        }
    }
    for (lower, upper, place) in packed(trailer) {
        making.meet(lower, upper, place, JointKind::Welded);
    }
    making.steady_inner();
    let mounts = trailer.layout.mounts.iter().filter_map(|mount| making.seat(mount.place, Some(mount.kind))).collect();
    let rear = trailer.layout.axle_x_mm;
    let stands = trailer.fittings.iter().filter(|fitting| fitting.class == PartClass::PropStand);
    let places: Vec<V3> = stands.flat_map(|fitting| fitting.places.clone()).filter(|place| place[0] > rear).collect();
    let props = places.into_iter().filter_map(|place| making.seat(place, None)).collect();
    let (frame, pieces, beams_of) = making.finish();
    let contacts = meetings
        .into_iter()
        .map(|(joint, members, place, along)| {
            let ends = beams_of[members[0]].iter().flat_map(|&beam| {
                let piece = pieces[beam];
                [(piece.from_mm, 0), (piece.to_mm, 1)]
                    .into_iter()
                    .filter(move |(at, _)| (at - along).abs() < SAME_MM)
                    .map(move |(_, end)| (beam, end))
            });
            let on = members.map(|member| self::along(&trailer.members[member], place));
            Contact { joint, members, place, along: on, ends: ends.collect() }
        })
        .collect();
    Built { frame, pieces, beams_of, coupling, mounts, props, contacts }
}

/// Pairs of a lower and an upper member with two packing plates between them, and the middle of the plates.
fn packed(trailer: &Trailer) -> Vec<(usize, usize, V3)> {
    let mut found: Vec<(usize, usize, V3, f64)> = Vec::new();
    for (index, panel) in trailer.panels.iter().enumerate() {
        if panel.role != PanelRole::Bracket {
            continue;
        }
        let mut joined = trailer.joints.iter().filter_map(|joint| match joint.parts {
            [PartRef::Panel(plate), PartRef::Member(member)] if plate == index => Some(member),
            _ => None,
        });
        let (Some(lower), Some(upper), None) = (joined.next(), joined.next(), joined.next()) else { continue };
        if !(is_analysed(trailer.members[lower].role) && is_analysed(trailer.members[upper].role)) {
            continue;
        }
        match found
            .iter_mut()
            .find(|(a, b, place, _)| *a == lower && *b == upper && norm(sub(*place, panel.centre)) < 400.0)
        {
            Some((.., place, count)) => {
                *place = scaled(add(scaled(*place, *count), panel.centre), 1.0 / (*count + 1.0));
                *count += 1.0;
            }
            None => found.push((lower, upper, panel.centre, 1.0)),
        }
    }
    found.into_iter().map(|(lower, upper, place, _)| (lower, upper, place)).collect()
}

/// Where a point lies along a member's line, from its first end, within the member.
pub fn along(member: &Member, place: V3) -> f64 {
    let (direction, length) = member.direction();
    dot(sub(place, member.from), direction).max(0.0).min(length)
}

pub fn at(member: &Member, along: f64) -> V3 {
    add(member.from, scaled(member.direction().0, along))
}

impl Making<'_> {
    fn node(&mut self, place: V3) -> usize {
        self.nodes.push(Node { place, held: [false; 6] });
        self.nodes.len() - 1
    }

    fn station(&self, member: usize, along: f64) -> Option<usize> {
        self.stations[member].iter().find(|(at, _)| (at - along).abs() < SAME_MM).map(|(_, node)| *node)
    }

    /// The node at a place of a member, made if there is none.
    fn station_or_new(&mut self, member: usize, along: f64) -> usize {
        if let Some(node) = self.station(member, along) {
            return node;
        }
        let node = self.node(at(&self.trailer.members[member], along));
        self.stations[member].push((along, node));
        node
    }

    /// The coupling's centre, with the drawbar's front ends fixed to it by the coupling's plate.
    fn coupling(&mut self) -> usize {
        let node = self.node([0.0, 0.0, self.trailer.layout.coupling_height_mm]);
        let bears = |role: Role| self.trailer.members.iter().any(|member| member.role == role);
        let front = if bears(Role::Inner) { Role::Inner } else { Role::Pole };
        for (index, member) in self.trailer.members.iter().enumerate() {
            if member.role == front || member.role == Role::Leg {
                self.stations[index].push((0.0, node));
            }
        }
        node
    }

    /// Joins two members at a place; answers where on the first.
    fn meet(&mut self, a: usize, b: usize, place: V3, kind: JointKind) -> f64 {
        let members = &self.trailer.members;
        let (on_a, on_b) = (along(&members[a], place), along(&members[b], place));
        if kind == JointKind::Welded {
            match (self.station(a, on_a), self.station(b, on_b)) {
                (Some(first), Some(second)) if first != second => self.link([first, second], place, [true; 6]),
                (Some(_), Some(_)) => {}
                (Some(node), None) => self.stations[b].push((on_b, node)),
                (None, _) => {
                    let node = self.station_or_new(b, on_b);
                    self.stations[a].push((on_a, node));
                }
            }
            return on_a;
        }
        let nodes = [self.station_or_new(a, on_a), self.station_or_new(b, on_b)];
        let holds = match kind {
            JointKind::Welded | JointKind::Bolted => [true, true, true, false, false, false],
            // Tube in tube: across, and against twisting. The pin alone keeps it from sliding (both lie along x).
            JointKind::Sliding => [false, true, true, true, false, false],
            JointKind::Pinned => [true, false, false, false, false, false],
        };
        self.link(nodes, place, holds);
        on_a
    }

    fn link(&mut self, nodes: [usize; 2], place: V3, holds: [bool; 6]) {
        let mut stiffness = [0.0; 6];
        for (dof, value) in stiffness.iter_mut().enumerate() {
            if holds[dof] {
                *value = if dof < 3 { STIFF } else { STIFF_TURN };
            }
        }
        self.links.push(Link { nodes, place, stiffness });
    }

    /// A telescopic inner's rear end bears on the outer's inside.
    fn steady_inner(&mut self) {
        let role = |wanted: Role| self.trailer.members.iter().position(|member| member.role == wanted);
        if let (Some(inner), Some(pole)) = (role(Role::Inner), role(Role::Pole)) {
            let end = self.trailer.members[inner].to;
            let (on_inner, on_pole) =
                (along(&self.trailer.members[inner], end), along(&self.trailer.members[pole], end));
            let nodes = [self.station_or_new(inner, on_inner), self.station_or_new(pole, on_pole)];
            self.link(nodes, end, [false, true, true, false, false, false]);
        }
    }

    /// The member on which a mount's plate is welded, or the nearest; a node on it.
    fn seat(&mut self, place: V3, kind: Option<MountKind>) -> Option<Seat> {
        let trailer = self.trailer;
        let plate = |panel: usize| {
            let panel = &trailer.panels[panel];
            let suits = matches!(panel.role, PanelRole::HangerPlate | PanelRole::AxlePlate | PanelRole::SpringSeat);
            suits && (panel.centre[0] - place[0]).hypot(panel.centre[1] - place[1]) < SAME_MM
        };
        let welded = trailer.joints.iter().find_map(|joint| match joint.parts {
            [PartRef::Panel(panel), PartRef::Member(member)] if plate(panel) => Some(member),
            _ => None,
        });
        let member = kind.and(welded).or_else(|| nearest(trailer, place))?;
        let on = along(&trailer.members[member], place);
        // Within what the joints hold of the member.
        let (low, high) = self.stations[member]
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (at, _)| (low.min(*at), high.max(*at)));
        let on = if low <= high { on.max(low).min(high) } else { on };
        let node = self.station_or_new(member, on);
        Some(Seat { place, node, offset: sub(place, self.nodes[node].place) })
    }

    fn finish(mut self) -> (Frame, Vec<Piece>, Vec<Vec<usize>>) {
        let (mut beams, mut pieces) = (Vec::new(), Vec::new());
        let mut beams_of = vec![Vec::new(); self.stations.len()];
        for (index, stations) in self.stations.iter_mut().enumerate() {
            stations.sort_by(|a, b| a.0.total_cmp(&b.0));
            let member = &self.trailer.members[index];
            let (stiffness, turned) = stiffness(member);
            let up = turned_up(member, turned);
            for pair in stations.windows(2) {
                let end = |(along, node): (f64, usize)| End {
                    node,
                    offset: sub(at(member, along), self.nodes[node].place),
                    released: [false; 6],
                };
                beams_of[index].push(beams.len());
                beams.push(Beam { ends: [end(pair[0]), end(pair[1])], up, stiffness });
                pieces.push(Piece { member: index, from_mm: pair[0].0, to_mm: pair[1].0, turned });
            }
        }
        (Frame { nodes: self.nodes, beams, links: self.links, supports: Vec::new() }, pieces, beams_of)
    }
}

/// The analysed member nearest to a place.
pub fn nearest(trailer: &Trailer, place: V3) -> Option<usize> {
    let analysed = trailer.members.iter().enumerate().filter(|(_, member)| is_analysed(member.role));
    let off = |member: &Member| norm(sub(place, at(member, along(member, place))));
    analysed.min_by(|(_, a), (_, b)| off(a).total_cmp(&off(b))).map(|(index, _)| index)
}

/// About the member's own axes, or for an angle about its principal ones, turned by the angle answered.
fn stiffness(member: &Member) -> (Stiffness, f64) {
    let section = member.section.properties();
    let (mut iy, mut iz, mut turned) = (section.ix_mm4, section.iy_mm4, 0.0);
    if section.ixy_mm4.abs() > 1e-6 * (iy + iz) {
        turned = 0.5 * (2.0 * section.ixy_mm4).atan2(iz - iy);
        let (middle, half) = ((iy + iz) / 2.0, (iy - iz) / 2.0);
        let part = half * (2.0 * turned).cos() - section.ixy_mm4 * (2.0 * turned).sin();
        (iy, iz) = (middle + part, middle - part);
    }
    let grade = member.grade;
    let stiffness = Stiffness {
        e: grade.e_mpa(),
        g: grade.g_mpa(),
        area: section.area_mm2,
        iy,
        iz,
        j: section.j_mm4,
        shear: match member.section.kind() {
            // Short cross-members give in shear as well.
            SectionKind::Shs | SectionKind::Rhs | SectionKind::Chs => {
                Some([section.av_width_mm2, section.av_depth_mm2])
            }
            _ => None,
        },
    };
    (stiffness, turned)
}

/// The depth axis, turned from up towards the section's left.
fn turned_up(member: &Member, turned: f64) -> V3 {
    let across = cross(member.direction().0, member.depth_axis);
    add(scaled(member.depth_axis, turned.cos()), scaled(across, -turned.sin()))
}
