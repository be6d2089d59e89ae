//! Coupling, lamps, boxes and the like as simple bodies of about their size (common practice, no source).

use super::{
    Look, Scene,
    bodies::{SMALL, cuboid, cylinder},
    layer_of,
    mesh::{Mesh, Place, minus},
};
use crate::domain::{
    shop::PartClass,
    trailer::{Fitting, Layout, Point, Role, Trailer},
};

const RIGHT: Point = [0.0, 1.0, 0.0];
const UP: Point = [0.0, 0.0, 1.0];

pub fn add(scene: &mut Scene, trailer: &Trailer, fitting: &Fitting) {
    let layout = &trailer.layout;
    let mut fitted = Fitted { scene, fitting };
    match fitting.class {
        PartClass::Coupling => return fitted.coupling(layout),
        PartClass::PropStand if trailer.members.iter().any(|member| member.role == Role::PropLeg) => return,
        _ => {}
    }
    for (nth, &place) in fitting.places.iter().enumerate() {
        // Several at one place are drawn once.
        if fitting.places[..nth].contains(&place) {
            continue;
        }
        fitted.one(layout, place);
    }
}

struct Fitted<'a> {
    scene: &'a mut Scene,
    fitting: &'a Fitting,
}

impl Fitted<'_> {
    fn put(&mut self, look: Look, mesh: Mesh, place: Place) {
        let layer = layer_of(self.fitting.group);
        self.scene.add(layer, look, mesh, place).what = self.fitting.class.label().to_owned();
    }

    /// A box around its middle.
    fn cuboid(&mut self, look: Look, size: Point, middle: Point) {
        self.put(look, cuboid(size), Place::level(middle));
    }

    fn one(&mut self, layout: &Layout, place: Point) {
        let [x, y, z] = place;
        match self.fitting.class {
            PartClass::RearLamp => self.lamp(layout, place, [45.0, 150.0, 90.0], Look::Red),
            PartClass::FogLamp => self.lamp(layout, place, [40.0, 80.0, 70.0], Look::Red),
            PartClass::ReverseLamp => self.lamp(layout, place, [40.0, 80.0, 70.0], Look::White),
            PartClass::PlateLamp => self.lamp(layout, place, [30.0, 70.0, 25.0], Look::White),
            PartClass::FrontLamp => self.lamp(layout, place, [30.0, 60.0, 50.0], Look::White),
            PartClass::SideMarker => self.lamp(layout, place, [20.0, 70.0, 35.0], Look::Amber),
            PartClass::OutlineLamp => self.lamp(layout, place, [40.0, 50.0, 60.0], Look::Red),
            PartClass::Reflector => self.lamp(layout, place, [8.0, 70.0, 50.0], Look::Amber),
            PartClass::WorkLamp => self.cuboid(Look::White, [60.0, 90.0, 90.0], place),
            PartClass::OverRun => {
                self.put(Look::Dark, cylinder(340.0, 32.0, 2 * SMALL), Place::along(place, [1.0, 0.0, 0.0], UP));
            }
            PartClass::JockeyWheel => self.jockey(layout, place),
            PartClass::LashingRing => self.cuboid(Look::Dark, [60.0, 30.0, 20.0], [x, y, z + 5.0]),
            PartClass::Winch => {
                self.cuboid(Look::Dark, [120.0, 100.0, 110.0], [x, y, z]);
                self.put(Look::Rim, cylinder(170.0, 38.0, 2 * SMALL), Place::along(place, RIGHT, UP));
            }
            PartClass::ToolBox => {
                self.cuboid(Look::Plate, [260.0, 500.0, 240.0], [x, y, layout.drawbar.top_z_mm + 120.0]);
            }
            PartClass::FuelCanHolder => {
                let front = layout.bed_front_x_mm;
                self.cuboid(Look::Plate, [170.0, 350.0, 250.0], [front - 85.0, y, layout.frame_bottom_z_mm + 125.0]);
            }
            PartClass::PropStand => {
                let (top, low) = (layout.frame_bottom_z_mm, 60.0);
                let length = (top - low).max(20.0);
                self.cuboid(Look::Dark, [40.0, 40.0, length], [x, y, low + length / 2.0]);
            }
            PartClass::PlateHolder => self.cuboid(Look::White, [4.0, 520.0, 110.0], [x + 2.0, y, z - 15.0]),
            PartClass::MassPlate => self.cuboid(Look::White, [100.0, 2.0, 60.0], [x, y - 1.0, z - 15.0]),
            PartClass::WheelChock => self.cuboid(Look::Amber, [180.0, 90.0, 90.0], [x, y, z - 45.0]),
            PartClass::TowEye => self.cuboid(Look::Dark, [60.0, 30.0, 60.0], [x + 30.0, y, z + 10.0]),
            PartClass::DrawbarPin => {
                self.put(Look::Rim, cylinder(140.0, 8.0, SMALL), Place::along([x, y, layout.drawbar.z_mm], RIGHT, UP));
            }
            PartClass::Hinge => {
                self.put(Look::Dark, cylinder(80.0, 12.0, SMALL), Place::along([x + 6.0, y, z], RIGHT, UP))
            }
            PartClass::Latch | PartClass::RampLatch => {
                self.cuboid(Look::Dark, [40.0, 30.0, 70.0], [x + 10.0, y, z - 20.0])
            }
            _ => {}
        }
    }

    /// On the face of the bed next to it: thick, wide, high. Lamps that share a place stand beside one another.
    fn lamp(&mut self, layout: &Layout, [x, y, z]: Point, [thick, wide, high]: Point, usual: Look) {
        let key = &self.fitting.part.need.key;
        let look = [("-red", Look::Red), ("-amber", Look::Amber), ("-white", Look::White)]
            .into_iter()
            .find(|(word, _)| key.ends_with(word))
            .map_or(usual, |(_, look)| look);
        let ahead = (x - layout.bed_front_x_mm).abs() < 1.0;
        let behind = (x - layout.bed_rear_x_mm).abs() < 1.0;
        let (out, along) = if ahead {
            ([-1.0, 0.0, 0.0], [0.0, -y.signum(), 0.0])
        } else if behind {
            ([1.0, 0.0, 0.0], [0.0, -y.signum(), 0.0])
        } else {
            ([0.0, y.signum(), 0.0], [1.0, 0.0, 0.0])
        };
        // Behind the lamps' bracket there is one plate more.
        let off = thick / 2.0 + if behind { 3.0 } else { 0.0 };
        let mut middle = super::mesh::moved([x, y, z], out, off);
        while let Some(other) = self.scene.parts.iter().find(|part| {
            let apart = minus(part.place.at, middle);
            is_lamp(part.look) && apart[0].abs() < 60.0 && apart[1].abs() < 60.0 && apart[2].abs() < 60.0
        }) {
            let [low, high_end] = self.scene.meshes[other.mesh].1.bounds();
            let room = (high_end[1] - low[1]).max(40.0) / 2.0 + wide / 2.0 + 10.0;
            middle = super::mesh::moved(middle, along, room);
        }
        self.put(look, cuboid([thick, wide, high]), Place::along(middle, out, UP));
    }

    fn jockey(&mut self, layout: &Layout, [x, y, _]: Point) {
        let (clamp_z, wheel) = (layout.drawbar.z_mm, 95.0);
        let side = y.signum();
        // Wound up clear of the ground.
        let low = 60.0 + wheel;
        let top = layout.drawbar.top_z_mm + 220.0;
        let tube = cylinder(top - low, 24.0, 2 * SMALL);
        let beside = y.abs().max(60.0) * side;
        self.put(Look::Dark, tube, Place::along([x, beside, f64::midpoint(low, top)], UP, RIGHT));
        self.put(Look::Rubber, cylinder(55.0, wheel, 2 * SMALL), Place::along([x, beside, low - 15.0], RIGHT, UP));
        self.cuboid(Look::Dark, [50.0, beside.abs(), 60.0], [x, beside / 2.0, clamp_z]);
    }

    /// The head over the coupling point, and its neck to the plate on the drawbar.
    fn coupling(&mut self, layout: &Layout) {
        let (height, drawbar) = (layout.coupling_height_mm, &layout.drawbar);
        let depth = drawbar.top_z_mm - drawbar.bottom_z_mm;
        let rise = drawbar.coupling_rise_mm;
        // As high as its plate: on the drawbar, under it, or as far off as the uprights carry it.
        let seat = if rise.abs() - depth / 2.0 > 50.0 {
            height
        } else if rise < 0.0 {
            drawbar.bottom_z_mm - 8.0 - 20.0
        } else {
            drawbar.top_z_mm + 8.0 + 20.0
        };
        let (nose, tail) = (drawbar.nose_x_mm, 170.0);
        self.put(Look::Dark, cylinder(64.0, 40.0, 2 * SMALL), Place::along([0.0, 0.0, height], UP, RIGHT));
        self.cuboid(Look::Dark, [tail, 66.0, 40.0], [nose + tail / 2.0, 0.0, seat]);
        let (from, to) = ([0.0, 0.0, height + 6.0], [nose + 4.0, 0.0, seat]);
        let along = minus(to, from);
        let length = along.iter().map(|part| part * part).sum::<f64>().sqrt();
        let middle = [0, 1, 2].map(|axis| f64::midpoint(from[axis], to[axis]));
        self.put(Look::Dark, cuboid([length, 56.0, 38.0]), Place::along(middle, along, UP));
    }
}

const fn is_lamp(look: Look) -> bool {
    matches!(look, Look::Red | Look::Amber | Look::White)
}
