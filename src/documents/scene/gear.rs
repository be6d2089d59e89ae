//! Axles, springs, wheels and guards as simple bodies between the mounts under the frame and the hubs.
//!
//! Sizes that the layout does not give are usual ones (common practice, no source): they are for the eye alone.

use std::f64::consts::PI;

use super::{
    Layer, Look, Scene,
    bodies::{ROUND, SMALL, cuboid, cylinder, strip, turned},
    mesh::{Mesh, Place, minus, moved},
};
use crate::domain::{
    shop::PartClass,
    trailer::{Fitting, Layout, Mount, MountKind, PanelRole, Point, Trailer},
};

const RIGHT: Point = [0.0, 1.0, 0.0];
const UP: Point = [0.0, 0.0, 1.0];
/// Rim's radius as a share of the tyre's.
const RIM: f64 = 0.6;
const BEAM_MM: f64 = 50.0;
const TORSION_TUBE_MM: f64 = 70.0;
const LEAF_MM: [f64; 2] = [18.0, 50.0];
const HANGER_MM: f64 = 60.0;
const ROCKER_MM: f64 = 180.0;
const GUARD_CLEARANCE_MM: f64 = 40.0;

pub fn add(scene: &mut Scene, trailer: &Trailer, fitting: &Fitting) {
    let layout = &trailer.layout;
    let mut gear = Gear { scene, trailer, layout };
    for &place in &fitting.places {
        match fitting.class {
            PartClass::Wheel if fitting.part.need.key == "spare-wheel" => gear.spare(place),
            PartClass::Wheel => gear.wheel(Place::along(place, [0.0, place[1].signum(), 0.0], UP), Layer::RunningGear),
            PartClass::Hub => {
                let size = layout.wheel_radius_mm * RIM * 0.3;
                let middle = [place[0], place[1].signum() * layout.track_mm / 2.0, place[2]];
                let hub = cylinder(layout.tyre_width_mm * 0.5, size, SMALL);
                gear.put("hub", Look::Dark, hub, Place::along(middle, RIGHT, UP));
            }
            PartClass::Brakes => gear.drums(place[0]),
            PartClass::BeamAxle => gear.beam(place[0]),
            PartClass::DonorAxle => {
                gear.beam(place[0]);
                gear.links(place[0]);
                gear.coils(place[0]);
            }
            PartClass::TorsionAxle => gear.torsion(place[0]),
            PartClass::LeafSpring => gear.leaf(place),
            PartClass::SpringHangers => gear.hangers(place),
            PartClass::Equaliser => gear.rocker(place),
            PartClass::CoilSpring if place[1] > 0.0 => gear.coils(place[0]),
            PartClass::Mudguard => gear.guard(place),
            PartClass::MudFlap => gear.flap(place),
            _ => {}
        }
    }
    // Five links an axle share one place; those at the mounts are drawn.
    if fitting.class == PartClass::Link {
        for &x in &layout.axles_x_mm {
            gear.links(x);
        }
    }
}

struct Gear<'a> {
    scene: &'a mut Scene,
    trailer: &'a Trailer,
    layout: &'a Layout,
}

impl Gear<'_> {
    fn put(&mut self, what: &str, look: Look, mesh: Mesh, place: Place) {
        self.scene.add(Layer::RunningGear, look, mesh, place).what = what.to_owned();
    }

    /// A bar with a rectangular section between two points.
    fn bar(&mut self, what: &str, [from, to]: [Point; 2], [width, height]: [f64; 2]) {
        let along = minus(to, from);
        let length = along.iter().map(|part| part * part).sum::<f64>().sqrt();
        let middle = [0, 1, 2].map(|axis| f64::midpoint(from[axis], to[axis]));
        self.put(what, Look::Dark, cuboid([length, width, height]), Place::along(middle, along, UP));
    }

    /// The first axis of its place points to the wheel's outside.
    fn wheel(&mut self, place: Place, layer: Layer) {
        let (radius, width) = (self.layout.wheel_radius_mm, self.layout.tyre_width_mm);
        let rim = RIM * radius;
        let deep = radius - rim;
        let tyre = [
            [-0.40 * width, rim],
            [-0.50 * width, rim + 0.45 * deep],
            [-0.47 * width, rim + 0.85 * deep],
            [-0.38 * width, radius],
            [0.38 * width, radius],
            [0.47 * width, rim + 0.85 * deep],
            [0.50 * width, rim + 0.45 * deep],
            [0.40 * width, rim],
        ];
        let part = self.scene.add(layer, Look::Rubber, turned(&tyre, ROUND), place);
        part.what = "tyre".into();
        part.plain = vec![cylinder(width, radius, ROUND)];
        let dish = [
            [-0.30 * width, 0.0],
            [-0.30 * width, rim],
            [0.42 * width, rim],
            [0.42 * width, 0.92 * rim],
            [0.12 * width, 0.75 * rim],
            [0.22 * width, 0.40 * rim],
            [0.22 * width, 0.22 * rim],
            [0.36 * width, 0.20 * rim],
            [0.36 * width, 0.0],
        ];
        let part = self.scene.add(layer, Look::Rim, turned(&dish, ROUND), place);
        part.what = "rim".into();
        // Just outside the tyre, so that it is seen there.
        let face = Place { at: [0.51 * width, 0.0, 0.0], axes: Place::ORIGIN.axes };
        part.plain = vec![cylinder(0.02 * width, rim, ROUND).placed(&face)];
    }

    /// Upright against the front, else lying.
    fn spare(&mut self, place: Point) {
        let stands = place[2] > self.layout.deck_top_z_mm + 0.5 * self.layout.wheel_radius_mm;
        let axis = if stands { [-1.0, 0.0, 0.0] } else { UP };
        self.wheel(Place::along(place, axis, RIGHT), Layer::DeckAndSides);
    }

    fn drums(&mut self, x: f64) {
        let (half, radius) = (self.layout.track_mm / 2.0, self.layout.wheel_radius_mm * RIM * 0.75);
        let length = self.layout.tyre_width_mm * 0.3;
        for side in [-1.0, 1.0] {
            let at = [x, side * (half - self.layout.tyre_width_mm * 0.35), self.layout.axle_z_mm];
            self.put("brake", Look::Dark, cylinder(length, radius, ROUND), Place::along(at, RIGHT, UP));
        }
    }

    fn beam(&mut self, x: f64) {
        let (half, z) = (self.layout.track_mm / 2.0 - self.layout.tyre_width_mm * 0.3, self.layout.axle_z_mm);
        self.bar("axle beam", [[x, -half, z], [x, half, z]], [BEAM_MM, BEAM_MM]);
    }

    fn mounts(&self, kind: MountKind, x: f64) -> Vec<Mount> {
        let off = |mount: &Mount| self.layout.axles_x_mm.get(mount.axle).map_or(f64::MAX, |axle| (axle - x).abs());
        self.layout.mounts.iter().filter(|mount| mount.kind == kind && off(mount) < 1.0).copied().collect()
    }

    /// The underside of the plates at a mount, or of the frame.
    fn underside_mm(&self, mount: &Mount) -> f64 {
        let [x, y, z] = mount.place;
        let plates = self.trailer.panels.iter().filter(|panel| {
            let role = matches!(panel.role, PanelRole::HangerPlate | PanelRole::AxlePlate | PanelRole::SpringSeat);
            role && (panel.centre[0] - x).abs() < 5.0 && (panel.centre[1] - y).abs() < 100.0
        });
        let lowest = plates.map(|panel| {
            let down = if panel.across[2].abs() > 0.5 { panel.width.mm() } else { panel.thickness_mm };
            panel.centre[2] - down / 2.0
        });
        lowest.fold(z, f64::min)
    }

    fn torsion(&mut self, x: f64) {
        let layout = self.layout;
        let (half, z) = (layout.track_mm / 2.0, layout.axle_z_mm);
        let inside = half - layout.tyre_width_mm / 2.0 - 30.0;
        let mounts = self.mounts(MountKind::AxleBracket, x);
        let Some(first) = mounts.first() else { return self.beam(x) };
        let tube_x = first.place[0];
        let tube_z = self.underside_mm(first) - TORSION_TUBE_MM / 2.0;
        let end = inside - 15.0;
        self.bar("axle tube", [[tube_x, -end, tube_z], [tube_x, end, tube_z]], [TORSION_TUBE_MM; 2]);
        for side in [-1.0, 1.0] {
            let y = side * inside;
            let [from, to] = [[tube_x, y, tube_z], [x, y, z]];
            let along =
                minus(to, from).map(|part| part / (minus(to, from).iter().map(|p| p * p).sum::<f64>().sqrt()).max(1.0));
            self.bar("swing arm", [moved(from, along, -35.0), moved(to, along, 30.0)], [30.0, 60.0]);
            let length = layout.tyre_width_mm * 0.6 + 30.0;
            let at = [x, side * (inside + length / 2.0), z];
            self.put("stub axle", Look::Dark, cylinder(length, 24.0, SMALL), Place::along(at, RIGHT, UP));
        }
    }

    /// Where a spring's ends are held, front then rear, and its height there.
    fn eyes(&self, place: Point) -> Option<[Point; 2]> {
        let layout = self.layout;
        let side = |mount: &&Mount| mount.place[1].signum() == place[1].signum();
        let found = |kind| layout.mounts.iter().filter(|mount| mount.kind == kind).filter(side).collect::<Vec<_>>();
        let nearest = |kind, ahead: bool| {
            let there = found(kind).into_iter().filter(move |mount| (mount.place[0] < place[0]) == ahead);
            there.min_by(|a, b| (a.place[0] - place[0]).abs().total_cmp(&(b.place[0] - place[0]).abs()))
        };
        let held = |ahead: bool| {
            let kind = if ahead { MountKind::FrontHanger } else { MountKind::RearHanger };
            let inward = if ahead { 1.0 } else { -1.0 };
            let rocker = nearest(MountKind::Equaliser, ahead).map(|mount| (mount, inward * ROCKER_MM / 2.0));
            let hanger = nearest(kind, ahead).map(|mount| (mount, 0.0));
            let (mount, off) = match (rocker, hanger) {
                (Some(a), Some(b)) => {
                    if (a.0.place[0] - place[0]).abs() < (b.0.place[0] - place[0]).abs() {
                        a
                    } else {
                        b
                    }
                }
                (a, b) => a.or(b)?,
            };
            let z = (self.underside_mm(mount) - HANGER_MM * 0.6).max(layout.axle_z_mm + BEAM_MM / 2.0);
            Some([mount.place[0] + off, mount.place[1], z])
        };
        Some([held(true)?, held(false)?])
    }

    fn leaf(&mut self, place: Point) {
        let Some([front, rear]) = self.eyes(place) else { return };
        let low = self.layout.axle_z_mm + BEAM_MM / 2.0 + LEAF_MM[0] / 2.0;
        // A parabola through both eyes and the seat on the axle.
        let line = (0..=8).map(|nth| {
            let t = f64::from(nth) / 8.0;
            let x = front[0] + (rear[0] - front[0]) * t;
            let level = front[2] + (rear[2] - front[2]) * t;
            [x - place[0], level + (low - level) * 4.0 * t * (1.0 - t) - place[2]]
        });
        let (mesh, plain) = strip(&line.collect::<Vec<_>>(), LEAF_MM[0], LEAF_MM[1]);
        let part = self.scene.add(Layer::RunningGear, Look::Dark, mesh, Place::level([place[0], front[1], place[2]]));
        part.what = "leaf spring".into();
        part.plain = plain;
    }

    fn hangers(&mut self, place: Point) {
        for kind in [MountKind::FrontHanger, MountKind::RearHanger] {
            for mount in self.mounts(kind, place[0]) {
                if mount.place[1].signum() == place[1].signum() {
                    self.hanger(&mount);
                }
            }
        }
    }

    fn hanger(&mut self, mount: &Mount) {
        let top = self.underside_mm(mount);
        let at = [mount.place[0], mount.place[1], top - HANGER_MM / 2.0];
        self.put("spring hanger", Look::Dark, cuboid([45.0, 64.0, HANGER_MM]), Place::level(at));
    }

    fn rocker(&mut self, place: Point) {
        let mounts: Vec<Mount> =
            self.layout.mounts.iter().filter(|mount| mount.kind == MountKind::Equaliser).copied().collect();
        for mount in mounts.iter().filter(|mount| mount.place[1].signum() == place[1].signum()) {
            self.hanger(mount);
            let at = [mount.place[0], mount.place[1], self.underside_mm(mount) - HANGER_MM * 0.6];
            self.put("equaliser", Look::Dark, cuboid([ROCKER_MM + 40.0, 30.0, 50.0]), Place::level(at));
        }
    }

    /// Both coil springs of an axle, each with its damper behind it.
    fn coils(&mut self, x: f64) {
        let low = self.layout.axle_z_mm + BEAM_MM / 2.0;
        for mount in self.mounts(MountKind::SpringSeat, x) {
            let top = self.underside_mm(&mount);
            for (what, radius, behind) in [("coil spring", 45.0, 0.0), ("damper", 20.0, 75.0)] {
                let at = [mount.place[0] + behind, mount.place[1], f64::midpoint(low, top)];
                let length = (top - low).max(20.0);
                self.put(what, Look::Dark, cylinder(length, radius, 2 * SMALL), Place::along(at, UP, RIGHT));
            }
        }
    }

    fn links(&mut self, x: f64) {
        let z = self.layout.axle_z_mm;
        for mount in self.mounts(MountKind::LinkMount, x) {
            let [at, y, _] = mount.place;
            let from = [at, y, self.underside_mm(&mount) + 30.0];
            self.bar("link", [from, [x, y, z]], [24.0, 40.0]);
        }
    }

    /// An arch over one tyre, or a long one over two.
    fn guard(&mut self, place: Point) {
        let layout = self.layout;
        let radius = layout.wheel_radius_mm + GUARD_CLEARANCE_MM;
        let over = layout.axles_x_mm.iter().filter(|axle| (*axle - place[0]).abs() < 1.0).count();
        let apart = match (over, layout.axles_x_mm.first(), layout.axles_x_mm.last()) {
            (0, Some(first), Some(last)) => (last - first) / 2.0,
            _ => 0.0,
        };
        let arc = (0..=10).flat_map(|nth| {
            let angle = PI * (0.06 + 0.88 * f64::from(nth) / 10.0);
            let [x, z] = [-radius * angle.cos(), radius * angle.sin() - radius];
            if nth == 5 && apart > 0.0 { vec![[-apart, z], [apart, z]] } else { vec![[x + apart * x.signum(), z]] }
        });
        let (mesh, plain) = strip(&arc.collect::<Vec<_>>(), 2.0, layout.tyre_width_mm + 40.0);
        let part = self.scene.add(Layer::RunningGear, Look::Plate, mesh, Place::level(place));
        part.what = "mudguard".into();
        part.plain = plain;
    }

    /// From the guard's or the frame's lower edge to a little above the ground.
    fn flap(&mut self, place: Point) {
        let top = self.layout.frame_bottom_z_mm.max(place[2] + 50.0);
        let low = 0.45 * self.layout.axle_z_mm;
        let at = [place[0], place[1], f64::midpoint(low, top)];
        self.put(
            "mud flap",
            Look::Rubber,
            cuboid([6.0, self.layout.tyre_width_mm + 20.0, top - low]),
            Place::level(at),
        );
    }
}
