//! The built trailer as bodies in three dimensions: members by their true sections and cuts, panels by their thickness,
//! bought-in parts as simple bodies of about their size, loads as boxes at their places.
//!
//! Left out: holes, welds, cables, chains, screws and bolts, and free fittings, whose size nobody asked for.

mod bodies;
mod clip;
mod fitted;
mod gear;
mod glb;
mod mesh;
mod metal;
mod still;

use std::collections::BTreeMap;

use self::mesh::{Mesh, Place};
use crate::domain::{
    steel::Metal,
    trailer::{Group, PanelRole, Role, Trailer},
    weights::{PlacedTrip, Weights},
};

pub use glb::glb;
pub use still::still;

/// What is told of the parts besides their shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// Marks, sections and lengths: for the workshop.
    Marks,
    /// Shapes alone: for whoever else looks at it.
    Shapes,
}

/// What the viewer shows and hides together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Layer {
    Frame,
    DeckAndSides,
    RunningGear,
    Loads,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Look {
    Steel,
    Drawbar,
    Aluminium,
    Plate,
    Wood,
    Rubber,
    Rim,
    Dark,
    Red,
    Amber,
    White,
    Load,
}

/// A body at its place.
#[derive(Clone, Debug)]
struct Part {
    /// What it is, in words.
    what: String,
    mark: String,
    /// Section or sheet, and length in millimetres.
    of: String,
    length_mm: Option<f64>,
    layer: Layer,
    look: Look,
    /// Index into [`Scene::meshes`].
    mesh: usize,
    place: Place,
    /// Convex bodies that stand for it in the still picture, in its own axes; none where it is convex itself.
    plain: Vec<Mesh>,
}

/// Bodies that look alike share a mesh.
#[derive(Debug, Default)]
struct Scene {
    meshes: Vec<(Look, Mesh)>,
    parts: Vec<Part>,
    known: BTreeMap<(Look, Vec<i64>), usize>,
}

impl Scene {
    /// With the loads of the first trip, as in the other drawings.
    fn of(trailer: &Trailer, weights: &Weights) -> Self {
        let mut scene = Self::default();
        scene.add_metal(trailer);
        for fitting in &trailer.fittings {
            gear::add(&mut scene, trailer, fitting);
            fitted::add(&mut scene, trailer, fitting);
        }
        scene.add_loads(trailer, weights.trips.first());
        scene
    }

    fn add_metal(&mut self, trailer: &Trailer) {
        for member in &trailer.members {
            let look = match (member.grade.metal(), member.group) {
                (Metal::Aluminium, _) => Look::Aluminium,
                (Metal::Steel, Group::Drawbar) => Look::Drawbar,
                (Metal::Steel, _) => Look::Steel,
            };
            let part = self.add(
                layer_of_member(member.role, member.group),
                look,
                metal::member(member),
                metal::member_place(member),
            );
            part.what = member.role.label().to_owned();
            part.mark.clone_from(&member.mark);
            part.of = member.section.to_string();
            part.length_mm = Some(member.length.mm());
            part.plain = vec![metal::member_box(member)];
        }
        for panel in &trailer.panels {
            let look = if panel.material.is_wood() {
                Look::Wood
            } else if panel.material.is_aluminium() {
                Look::Aluminium
            } else {
                Look::Plate
            };
            let (mesh, plain) = metal::panel(panel);
            let part = self.add(layer_of_panel(panel.role, panel.group), look, mesh, metal::panel_place(panel));
            part.what = panel.role.label().to_owned();
            part.mark.clone_from(&panel.mark);
            part.of = format!("{} {} mm", panel.material.label(), panel.thickness_mm);
            part.length_mm = Some(panel.length.mm());
            part.plain = plain;
        }
    }

    fn add_loads(&mut self, trailer: &Trailer, trip: Option<&PlacedTrip>) {
        for load in trip.iter().flat_map(|trip| &trip.loads) {
            let size = [load.length_mm, load.width_mm, load.height_mm].map(|side| side.max(1.0));
            let z = trailer.layout.deck_top_z_mm + size[2] / 2.0;
            let place = Place::level([load.x_mm, load.y_mm, z]);
            self.add(Layer::Loads, Look::Load, bodies::cuboid(size), place).what = format!("load: {}", load.name);
        }
    }

    /// Adds a body; what it is called is for the caller to say.
    fn add(&mut self, layer: Layer, look: Look, mesh: Mesh, place: Place) -> &mut Part {
        let shape = |mesh: &Mesh| {
            let faces = mesh.faces.iter().flat_map(|face| {
                let corners = face.iter().flatten().map(|part| (part * 1000.0).round() as i64);
                std::iter::once(face.len() as i64).chain(corners)
            });
            faces.collect::<Vec<i64>>()
        };
        let meshes = &mut self.meshes;
        let index = *self.known.entry((look, shape(&mesh))).or_insert_with(|| {
            meshes.push((look, mesh));
            meshes.len() - 1
        });
        let at = self.parts.len();
        self.parts.push(Part {
            what: String::new(),
            mark: String::new(),
            of: String::new(),
            length_mm: None,
            layer,
            look,
            mesh: index,
            place,
            plain: Vec::new(),
        });
        &mut self.parts[at]
    }
}

fn layer_of_member(role: Role, group: Group) -> Layer {
    match (role, group) {
        (Role::MudguardStay, _) => Layer::RunningGear,
        (_, group) => layer_of(group),
    }
}

fn layer_of_panel(role: PanelRole, group: Group) -> Layer {
    match (role, group) {
        (PanelRole::Mudguard, _) => Layer::RunningGear,
        (_, group) => layer_of(group),
    }
}

const fn layer_of(group: Group) -> Layer {
    match group {
        Group::Frame | Group::Drawbar | Group::Towing => Layer::Frame,
        Group::RunningGear => Layer::RunningGear,
        Group::Deck | Group::Sides | Group::Loading | Group::Electrics | Group::Fittings | Group::Finish => {
            Layer::DeckAndSides
        }
    }
}

impl Layer {
    const ALL: [Self; 4] = [Self::Frame, Self::DeckAndSides, Self::RunningGear, Self::Loads];

    const fn name(self) -> &'static str {
        match self {
            Self::Frame => "frame",
            Self::DeckAndSides => "deck and sides",
            Self::RunningGear => "running gear",
            Self::Loads => "loads",
        }
    }
}

#[cfg(test)]
mod tests;
