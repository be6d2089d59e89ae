//! What lies on the frame: its own mass as `weights` counts it, and the loads of a trip at their places; each as the forces of one unit of
//! acceleration, to be summed by the cases.
//!
//! The deck spans between the members that cross the bed; each bears what lies nearer to it than to its neighbours (tributary area, the
//! lever rule). A load on wheels stands on its wheels; any other on its whole footprint, pressing more where its centre of gravity and its
//! inertia lean.

use super::{
    built::{Built, along, at, is_analysed, nearest},
    frame::{
        BeamLoad, Load as FrameLoad, NodeLoad,
        vector::{V3, add, cross, norm, scaled, sub},
    },
};
use crate::{
    shop::PartClass,
    trailer::{Group, LoadKind, Role, Spec, Trailer},
    weights::{Body, PlacedLoad, Weights},
};

/// Masses above this are hung where they are; lighter ones at the nearest joint, which moves nothing that counts.
const HEAVY_KG: f64 = 4.0;

/// The members that bear the deck, front to rear.
struct Bearer {
    x: f64,
    /// Member, and from where to where across the bed.
    pieces: Vec<(usize, f64, f64)>,
}

pub struct Burden<'a> {
    trailer: &'a Trailer,
    built: &'a Built,
    bearers: Vec<Bearer>,
    line_z: f64,
}

/// What presses on a rectangle of the deck: a force per mm² that rises evenly from its middle along and across.
#[derive(Clone, Copy)]
struct Pressure {
    middle: V3,
    along: V3,
    across: V3,
}

impl<'a> Burden<'a> {
    pub fn new(trailer: &'a Trailer, built: &'a Built) -> Self {
        let mut bearers: Vec<Bearer> = Vec::new();
        for (index, member) in trailer.members.iter().enumerate() {
            if !matches!(member.role, Role::EndRail | Role::CrossMember) || built.beams_of[index].is_empty() {
                continue;
            }
            let x = member.middle()[0];
            let piece = (index, member.from[1].min(member.to[1]), member.from[1].max(member.to[1]));
            match bearers.iter_mut().find(|bearer| (bearer.x - x).abs() < 1.0) {
                Some(bearer) => bearer.pieces.push(piece),
                None => bearers.push(Bearer { x, pieces: vec![piece] }),
            }
        }
        bearers.sort_by(|a, b| a.x.total_cmp(&b.x));
        bearers.iter_mut().for_each(|bearer| bearer.pieces.sort_by(|a, b| a.1.total_cmp(&b.1)));
        let cross = trailer.members.iter().find(|member| member.role == Role::CrossMember);
        let line_z = cross.map_or(trailer.layout.frame_top_z_mm, |member| member.middle()[2]);
        Self { trailer, built, bearers, line_z }
    }

    /// The trailer itself under a force per kilogram that may depend on the place (N/kg). What stands on the road without the frame (axle,
    /// wheels, springs, brakes) is left out.
    pub fn trailer(&self, weights: &Weights, per_kg: impl Fn(V3) -> V3) -> FrameLoad {
        let mut load = FrameLoad::default();
        let mut deck = Vec::new();
        for (index, item) in weights.items.iter().enumerate() {
            let member = self.trailer.members.get(index);
            let force = scaled(per_kg(item.body.centre), item.body.mass_kg);
            if member.is_some_and(|member| is_analysed(member.role)) && !self.built.beams_of[index].is_empty() {
                self.on_member(&mut load, index, force);
            } else if item.group == Group::Deck {
                deck.push(item.body);
            } else if matches!(item.group, Group::Finish) || item.name == "weld metal" {
                self.over_all(&mut load, item.body, &per_kg);
            } else if !self.is_unsprung(index) {
                self.hang(&mut load, item.body.centre, force, item.body.mass_kg);
            }
        }
        let deck = Body::of(deck);
        if deck.mass_kg > 0.0 {
            let layout = &self.trailer.layout;
            let middle = [f64::midpoint(layout.bed_front_x_mm, layout.bed_rear_x_mm), 0.0, self.line_z];
            let size = [layout.bed_length_mm(), layout.bed_width_mm];
            self.press(&mut load, middle, size, scaled(per_kg(deck.centre), deck.mass_kg), deck.centre, 0.0);
        }
        load
    }

    fn is_unsprung(&self, item: usize) -> bool {
        let before = self.trailer.members.len() + self.trailer.panels.len();
        let mut index = before;
        for fitting in self.trailer.fittings.iter().filter(|fitting| fitting.part.item.is_some()) {
            index += fitting.places.len();
            if item < index {
                use PartClass::{
                    BeamAxle, Brakes, CoilSpring, Damper, DonorAxle, Hub, LeafSpring, Link, TorsionAxle, UBolts, Wheel,
                };
                let rolls = matches!(
                    fitting.class,
                    BeamAxle
                        | TorsionAxle
                        | DonorAxle
                        | LeafSpring
                        | UBolts
                        | CoilSpring
                        | Link
                        | Damper
                        | Hub
                        | Brakes
                        | Wheel
                );
                return item >= before && fitting.moves_with_axle && rolls;
            }
        }
        false
    }

    /// A load of a trip: its mass under an acceleration (N/kg, the same everywhere), and a moment about the trailer's long axis (N mm).
    pub fn placed(&self, spec: &Spec, load: &PlacedLoad, per_kg: V3, roll: f64) -> FrameLoad {
        let mut out = FrameLoad::default();
        let force = scaled(per_kg, load.body.mass_kg);
        let middle = [load.x_mm, load.y_mm, self.line_z];
        match wheels(spec, load) {
            Some([base, track]) => self.on_wheels(&mut out, middle, [base, track], force, load.body.centre, roll),
            None => self.press(&mut out, middle, [load.length_mm, load.width_mm], force, load.body.centre, roll),
        }
        out
    }

    /// A mass that stands on the rear edge as it is rolled on.
    pub fn on_rear_edge(&self, mass_kg: f64, width_mm: f64, per_kg: V3) -> FrameLoad {
        let mut out = FrameLoad::default();
        let Some(rear) = self.bearers.last() else { return out };
        let force = scaled(per_kg, mass_kg / 2.0);
        for side in [-1.0, 1.0] {
            self.point(&mut out, rear, side * width_mm / 2.0, force, [0.0; 3]);
        }
        out
    }

    fn on_wheels(&self, out: &mut FrameLoad, middle: V3, [base, track]: [f64; 2], force: V3, centre: V3, roll: f64) {
        let rows: &[f64] = if track > 0.0 { &[-0.5, 0.5] } else { &[0.0] };
        let contacts: Vec<[f64; 2]> =
            [-0.5, 0.5].iter().flat_map(|x| rows.iter().map(move |y| [x * base, y * track])).collect();
        let count = contacts.len() as f64;
        let sum = |axis: usize| contacts.iter().map(|at| at[axis] * at[axis]).sum::<f64>();
        let (arm, moments) = (sub(centre, middle), leaning(force, sub(centre, middle), roll));
        for at in &contacts {
            let mut own = scaled(force, 1.0 / count);
            own[2] += moments[0] * at[0] / sum(0);
            own[1] += force[1] * arm[0] * at[0] / sum(0);
            let mut moment = [0.0; 3];
            if sum(1) > 0.0 {
                own[2] += moments[1] * at[1] / sum(1);
            } else {
                // Two wheels in line: straps hold it upright.
                moment[0] = moments[1] / count;
            }
            self.lever(out, middle[0] + at[0], middle[1] + at[1], own, moment);
        }
    }

    /// A force on the deck goes to the two bearers beside it.
    fn lever(&self, out: &mut FrameLoad, x: f64, y: f64, force: V3, moment: V3) {
        for (bearer, hat) in self.bearers.iter().zip(self.hats(x)) {
            if hat != 0.0 {
                self.point(out, bearer, y, scaled(force, hat), scaled(moment, hat));
            }
        }
    }

    /// What each bearer takes of a force at x: the lever rule between neighbours, held on beyond the first and the last.
    fn hats(&self, x: f64) -> Vec<f64> {
        let mut hats = vec![0.0; self.bearers.len()];
        if self.bearers.len() < 2 {
            hats.iter_mut().for_each(|hat| *hat = 1.0);
            return hats;
        }
        let next = self.bearers.partition_point(|bearer| bearer.x <= x).clamp(1, self.bearers.len() - 1);
        let (from, to) = (self.bearers[next - 1].x, self.bearers[next].x);
        let share = (x - from) / (to - from);
        hats[next - 1] = 1.0 - share;
        hats[next] = share;
        hats
    }

    /// At a place across a bearer; where it has no member there, at its nearest end with the arm.
    fn point(&self, out: &mut FrameLoad, bearer: &Bearer, y: f64, force: V3, moment: V3) {
        let off = |&&(_, low, high): &&(usize, f64, f64)| (low - y).max(y - high).max(0.0);
        let Some(&(member, ..)) = bearer.pieces.iter().min_by(|a, b| off(a).total_cmp(&off(b))) else { return };
        let bar = &self.trailer.members[member];
        let place = [bearer.x, y, bar.middle()[2]];
        self.at_member(out, member, place, force, moment);
    }

    /// A force at a place, brought to a member's line.
    fn at_member(&self, out: &mut FrameLoad, member: usize, place: V3, force: V3, moment: V3) {
        let bar = &self.trailer.members[member];
        let beams = &self.built.beams_of[member];
        let on = along(bar, place);
        let (Some(&first), Some(&last)) = (beams.first(), beams.last()) else { return };
        let on = on.max(self.built.pieces[first].from_mm).min(self.built.pieces[last].to_mm);
        let beam = beams.iter().copied().find(|&beam| on <= self.built.pieces[beam].to_mm).unwrap_or(last);
        let moment = add(moment, cross(sub(place, at(bar, on)), force));
        let piece = self.built.pieces[beam];
        let on = (on - piece.from_mm).max(0.0).min(piece.to_mm - piece.from_mm);
        out.beams.push(BeamLoad::Point { beam, at: on, force, moment });
    }

    /// A force that rests on a rectangle, with its centre of gravity above or beside the middle.
    fn press(&self, out: &mut FrameLoad, middle: V3, [a, b]: [f64; 2], force: V3, centre: V3, roll: f64) {
        let (arm, area) = (sub(centre, middle), a * b);
        let moments = leaning(force, arm, roll);
        let pressure = Pressure {
            middle: scaled(force, 1.0 / area),
            along: scaled([0.0, force[1] * arm[0], moments[0]], 12.0 / (a.powi(3) * b)),
            across: scaled([0.0, 0.0, moments[1]], 12.0 / (a * b.powi(3))),
        };
        for (nth, bearer) in self.bearers.iter().enumerate() {
            let [share, lean] = self.strip(nth, middle[0], a);
            if share == 0.0 && lean == 0.0 {
                continue;
            }
            let base = add(scaled(pressure.middle, share), scaled(pressure.along, lean));
            let slope = scaled(pressure.across, share);
            self.strip_on(out, bearer, [middle[1] - b / 2.0, middle[1] + b / 2.0], |y| {
                add(base, scaled(slope, y - middle[1]))
            });
        }
    }

    /// ∫ hat dx and ∫ hat (x − middle) dx over the rectangle's length: Simpson's rule is exact, bay by bay.
    fn strip(&self, nth: usize, middle: f64, length: f64) -> [f64; 2] {
        let (from, to) = (middle - length / 2.0, middle + length / 2.0);
        let mut cuts: Vec<f64> = self.bearers.iter().map(|bearer| bearer.x).filter(|x| *x > from && *x < to).collect();
        cuts.insert(0, from);
        cuts.push(to);
        let mut sums = [0.0; 2];
        for bay in cuts.windows(2) {
            let (x0, x1) = (bay[0], bay[1]);
            let inside = f64::midpoint(x0, x1);
            let next =
                self.bearers.partition_point(|bearer| bearer.x <= inside).clamp(1, self.bearers.len().max(2) - 1);
            let hat = |x: f64| match (self.bearers.get(next - 1), self.bearers.get(next)) {
                (Some(ahead), Some(behind)) if nth == next - 1 => (behind.x - x) / (behind.x - ahead.x),
                (Some(ahead), Some(behind)) if nth == next => (x - ahead.x) / (behind.x - ahead.x),
                (Some(_), Some(_)) => 0.0,
                _ => 1.0,
            };
            for (x, weight) in [(x0, 1.0), (inside, 4.0), (x1, 1.0)] {
                let part = weight * (x1 - x0) / 6.0 * hat(x);
                sums[0] += part;
                sums[1] += part * (x - middle);
            }
        }
        sums
    }

    /// A line of force across a bearer: on its members where they are, beside them at their ends.
    fn strip_on(&self, out: &mut FrameLoad, bearer: &Bearer, [from, to]: [f64; 2], q: impl Fn(f64) -> V3) {
        let mut done = from;
        for &(member, low, high) in &bearer.pieces {
            let (y0, y1) = (low.max(from), high.min(to));
            if y1 <= y0 {
                continue;
            }
            if y0 > done + 1e-6 {
                self.gap(out, bearer, [done, y0], &q);
            }
            self.line(out, member, [y0, y1], [q(y0), q(y1)]);
            done = y1;
        }
        if to > done + 1e-6 {
            self.gap(out, bearer, [done, to], &q);
        }
    }

    fn gap(&self, out: &mut FrameLoad, bearer: &Bearer, [from, to]: [f64; 2], q: &impl Fn(f64) -> V3) {
        // A straight line of force: its sum, and where that acts, by two Gauss points.
        let (middle, half) = (f64::midpoint(from, to), (to - from) / 2.0);
        let root = half / 3f64.sqrt();
        for y in [middle - root, middle + root] {
            self.point(out, bearer, y, scaled(q(y), half), [0.0; 3]);
        }
    }

    /// From y to y on a member that lies across, with the force per mm at both.
    fn line(&self, out: &mut FrameLoad, member: usize, y: [f64; 2], q: [V3; 2]) {
        let bar = &self.trailer.members[member];
        let x = bar.middle()[0];
        let place = |y: f64| along(bar, [x, y, bar.middle()[2]]);
        let (from, to) = (place(y[0]), place(y[1]));
        let (from, to, q) = if from <= to { (from, to, q) } else { (to, from, [q[1], q[0]]) };
        self.along_member(out, member, [from, to], q);
    }

    fn along_member(&self, out: &mut FrameLoad, member: usize, [from, to]: [f64; 2], q: [V3; 2]) {
        let value = |at: f64| {
            let share = if to > from { (at - from) / (to - from) } else { 0.0 };
            add(scaled(q[0], 1.0 - share), scaled(q[1], share))
        };
        let beams = &self.built.beams_of[member];
        let (Some(&first), Some(&last)) = (beams.first(), beams.last()) else { return };
        let bar = &self.trailer.members[member];
        // What overhangs the outermost joints hangs on them.
        let (low, high) = (self.built.pieces[first].from_mm, self.built.pieces[last].to_mm);
        for [a, b] in [[from, to.min(low)], [from.max(high), to]] {
            if b > a + 1e-6 {
                let middle = f64::midpoint(a, b);
                self.at_member(out, member, at(bar, middle), scaled(value(middle), b - a), [0.0; 3]);
            }
        }
        for &beam in beams {
            let piece = self.built.pieces[beam];
            let (a, b) = (from.max(piece.from_mm), to.min(piece.to_mm));
            if b > a + 1e-6 {
                let per_mm = [value(a), value(b)];
                out.beams.push(BeamLoad::Line { beam, from: a - piece.from_mm, to: b - piece.from_mm, per_mm });
            }
        }
    }

    /// A member's own mass along all of it.
    fn on_member(&self, out: &mut FrameLoad, member: usize, force: V3) {
        let length = self.trailer.members[member].direction().1;
        if length > 0.0 {
            self.along_member(out, member, [0.0, length], [scaled(force, 1.0 / length); 2]);
        }
    }

    /// Weld metal and coating: over the whole frame by the beams' lengths.
    fn over_all(&self, out: &mut FrameLoad, body: Body, per_kg: &impl Fn(V3) -> V3) {
        let length = |beam: usize| self.built.pieces[beam].to_mm - self.built.pieces[beam].from_mm;
        let total: f64 = (0..self.built.pieces.len()).map(length).sum();
        for (beam, piece) in self.built.pieces.iter().enumerate() {
            let middle = at(&self.trailer.members[piece.member], f64::midpoint(piece.from_mm, piece.to_mm));
            let per_mm = scaled(per_kg(middle), body.mass_kg / total);
            out.beams.push(BeamLoad::Line { beam, from: 0.0, to: length(beam), per_mm: [per_mm; 2] });
        }
    }

    /// A part hangs on the nearest member.
    fn hang(&self, out: &mut FrameLoad, place: V3, force: V3, mass_kg: f64) {
        let Some(member) = nearest(self.trailer, place) else { return };
        if mass_kg >= HEAVY_KG {
            return self.at_member(out, member, place, force, [0.0; 3]);
        }
        let frame = &self.built.frame;
        let ends = self.built.beams_of[member].iter().flat_map(|&beam| frame.beams[beam].ends);
        let off = |place_of: V3| norm(sub(place, place_of));
        let near = ends.min_by(|a, b| off(frame.end_place(a)).total_cmp(&off(frame.end_place(b))));
        if let Some(end) = near {
            let arm = sub(place, frame.nodes[end.node].place);
            out.nodes.push(NodeLoad { node: end.node, force, moment: cross(arm, force) });
        }
    }
}

/// First moments of the vertical pressure, along and across, that a force at this arm above the middle of its footprint calls for.
fn leaning(force: V3, arm: V3, roll: f64) -> [f64; 2] {
    [arm[0] * force[2] - arm[2] * force[0], arm[1] * force[2] - arm[2] * force[1] + roll]
}

/// Wheelbase and track along and across the trailer; none for a load without wheels.
fn wheels(spec: &Spec, load: &PlacedLoad) -> Option<[f64; 2]> {
    let asked = spec.need.loads.iter().find(|asked| asked.name == load.name)?;
    let base = asked.wheelbase?.mm();
    let track = match (asked.track, asked.kind) {
        (Some(track), _) => track.mm(),
        (None, LoadKind::Motorcycle) => 0.0,
        (None, _) => return None,
    };
    let turned = (load.length_mm - asked.length.mm()).abs() > 0.5;
    // Turned, it stands across; in line it then has no length along, and rests on its footprint.
    match (turned, track > 0.0) {
        (false, _) => Some([base, track]),
        (true, true) => Some([track, base]),
        (true, false) => None,
    }
}
