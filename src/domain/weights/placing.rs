//! Where the loads of each trip stand.
//!
//! A load placed by hand stands there. The others are laid in rows across the bed, longest first; the block of rows is
//! then slid along the bed: to the middle when the axle's place is still to be found, else to where the coupling load comes
//! nearest to its target. Left to right a row is centred on the bed, heavier loads towards the middle.

use serde::{Deserialize, Serialize};

use super::Body;
use crate::trailer::{AxlePlaceBy, Layout, Load, Placed, Spec, Trip};

/// Working clearance between loads in a row and between rows, mm (common practice, no source).
const CLEARANCE_MM: f64 = 50.0;

/// A load at its place: the middle of its footprint, and its own centre of gravity.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PlacedLoad {
    pub name: String,
    /// Middle of the footprint, mm.
    pub x_mm: f64,
    pub y_mm: f64,
    /// Along and across the trailer as it stands.
    pub length_mm: f64,
    pub width_mm: f64,
    pub height_mm: f64,
    pub body: Body,
    /// Whether the tool chose the place.
    pub by_tool: bool,
    /// How far it may stand off its place, each way along and across.
    #[serde(default)]
    pub play_mm: f64,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PlacedTrip {
    pub name: String,
    pub loads: Vec<PlacedLoad>,
}

impl PlacedTrip {
    pub fn mass_kg(&self) -> f64 {
        self.loads.iter().map(|load| load.body.mass_kg).sum()
    }
}

/// The trips as asked; without any, all loads ride together.
fn asked(spec: &Spec) -> Vec<Trip> {
    if !spec.need.trips.is_empty() || spec.need.loads.is_empty() {
        return spec.need.trips.clone();
    }
    let carries = spec.need.loads.iter().map(|load| Placed { load: load.name.clone(), ..Placed::default() }).collect();
    vec![Trip { name: "all together".into(), carries }]
}

pub(super) fn place(spec: &Spec, layout: &Layout, empty: Body) -> Vec<PlacedTrip> {
    asked(spec)
        .iter()
        .enumerate()
        .map(|(index, trip)| {
            let name = if trip.name.is_empty() { format!("trip {}", index + 1) } else { trip.name.clone() };
            let carried: Vec<(&Load, &Placed)> = trip
                .carries
                .iter()
                .filter_map(|placed| Some((spec.need.loads.iter().find(|load| load.name == placed.load)?, placed)))
                .collect();
            PlacedTrip { name, loads: place_trip(spec, layout, empty, &carried) }
        })
        .collect()
}

fn place_trip(spec: &Spec, layout: &Layout, empty: Body, carried: &[(&Load, &Placed)]) -> Vec<PlacedLoad> {
    let mut loads: Vec<PlacedLoad> = carried.iter().map(|(load, placed)| stand(layout, load, placed)).collect();
    let free: Vec<usize> = (0..carried.len()).filter(|&i| carried[i].1.along.is_none()).collect();
    let rows = rows(&free, &loads, layout.bed_width_mm);
    let mut x = 0.0;
    for row in &rows {
        let depth = row.iter().map(|&i| loads[i].length_mm).fold(0.0, f64::max);
        let width: f64 = row.iter().map(|&i| loads[i].width_mm).sum::<f64>() + CLEARANCE_MM * (row.len() as f64 - 1.0);
        let mut y = -width / 2.0;
        for &i in row {
            let across = carried[i].1.across.map(|across| across.mm()).unwrap_or(y + loads[i].width_mm / 2.0);
            let along = x + depth / 2.0;
            let (dx, dy) = (along - loads[i].x_mm, across - loads[i].y_mm);
            shift(&mut loads[i], dx, dy);
            y += loads[i].width_mm + CLEARANCE_MM;
        }
        x += depth + CLEARANCE_MM;
    }
    let block = (x - CLEARANCE_MM).max(0.0);
    let slack = (layout.bed_rear_x_mm - layout.bed_front_x_mm - block).max(0.0);
    let slide = layout.bed_front_x_mm + slide(spec, layout, empty, &loads, &free, slack);
    for &i in &free {
        shift(&mut loads[i], slide, 0.0);
    }
    loads
}

fn stand(layout: &Layout, load: &Load, placed: &Placed) -> PlacedLoad {
    let (length, width) = (load.length.mm(), load.width.mm());
    let ahead = length / 2.0 - load.centre_from_front.map_or(length / 2.0, |front| front.mm());
    let (along, across, off) =
        if placed.turned { (width, length, [0.0, ahead]) } else { (length, width, [-ahead, 0.0]) };
    let x = placed.along.map_or(0.0, |along| layout.bed_front_x_mm + along.mm());
    let y = placed.across.map_or(0.0, |across| across.mm());
    let up = layout.deck_top_z_mm + load.centre_height.map_or(load.height.mm() / 2.0, |height| height.mm());
    PlacedLoad {
        name: load.name.clone(),
        x_mm: x,
        y_mm: y,
        length_mm: along,
        width_mm: across,
        height_mm: load.height.mm(),
        body: Body { mass_kg: load.mass.kg(), centre: [x + off[0], y + off[1], up] },
        by_tool: placed.along.is_none(),
        play_mm: load.held.play_mm(),
    }
}

fn shift(load: &mut PlacedLoad, dx: f64, dy: f64) {
    load.x_mm += dx;
    load.y_mm += dy;
    load.body.centre[0] += dx;
    load.body.centre[1] += dy;
}

/// First-fit by falling length: each row as wide as the bed.
fn rows(free: &[usize], loads: &[PlacedLoad], bed_width_mm: f64) -> Vec<Vec<usize>> {
    let mut order = free.to_vec();
    order.sort_by(|&a, &b| loads[b].length_mm.total_cmp(&loads[a].length_mm).then(a.cmp(&b)));
    let mut rows: Vec<(f64, Vec<usize>)> = Vec::new();
    for i in order {
        let width = loads[i].width_mm;
        match rows.iter_mut().find(|(used, _)| used + CLEARANCE_MM + width <= bed_width_mm) {
            Some((used, row)) => {
                *used += CLEARANCE_MM + width;
                row.push(i);
            }
            None => rows.push((width, vec![i])),
        }
    }
    rows.into_iter().map(|(_, row)| row).collect()
}

/// How far behind the bed's front the block begins.
fn slide(spec: &Spec, layout: &Layout, empty: Body, loads: &[PlacedLoad], free: &[usize], slack: f64) -> f64 {
    let gear = &spec.design.running_gear;
    let moved: f64 = free.iter().map(|&i| loads[i].body.mass_kg).sum();
    if gear.place_by == AxlePlaceBy::Find || moved <= 0.0 {
        return slack / 2.0;
    }
    // S = M (1 − x_g / L) = share × M fixes x_g; solve for the slide of the block.
    let total = Body::of(std::iter::once(empty).chain(loads.iter().map(|load| load.body)));
    let free_moment: f64 = free.iter().map(|&i| loads[i].body.mass_kg * layout.bed_front_x_mm).sum();
    let wanted = layout.axle_x_mm * (1.0 - gear.target_share) * total.mass_kg;
    ((wanted - total.mass_kg * total.centre[0] - free_moment) / moved).clamp(0.0, slack)
}
