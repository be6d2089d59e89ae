//! Plan and side view of the built trailer with its main dimensions, loads at their places, and the centre of gravity.

use super::{
    drawing::{Drawing, Ink, Spot},
    solid::{member_corners, outline, panel_corners},
};
use crate::domain::{
    measure::{Units, show_length},
    trailer::{Group, Layout, Panel, PanelRole, Point, Trailer},
    weights::{PlacedLoad, PlacedTrip, Weights},
};

/// So many heights of text go along the trailer, and so many lie between two dimension lines.
const TEXTS_ALONG: f64 = 45.0;
const ROW: f64 = 2.8;

/// Seen from above: x to the right (rearwards), the trailer's right-hand side upwards.
pub fn plan_view(trailer: &Trailer, weights: &Weights, units: Units) -> Drawing {
    let layout = &trailer.layout;
    let mut drawing = Drawing::new("Plan view");
    drawing.description = described(layout, units);
    let seen = |[x, y, _]: Point| [x, -y];
    draw_solids(&mut drawing, trailer, seen, |point| point[2]);
    for &axle in &layout.axles_x_mm {
        for side in [-1.0, 1.0] {
            let corner = [axle - layout.wheel_radius_mm, side * layout.track_mm / 2.0 - layout.tyre_width_mm / 2.0];
            drawing.rectangle(
                Ink::Wheel,
                corner,
                [2.0 * layout.wheel_radius_mm, layout.tyre_width_mm],
                Some("wheel".into()),
            );
        }
        let half = layout.track_mm / 2.0;
        drawing.line(Ink::Centre, [axle, -half], [axle, half]);
    }
    drawing.circle(Ink::Note, [0.0, 0.0], 25.0, Some("coupling".into()));
    draw_loads(&mut drawing, weights.trips.first(), layout.overall_length_mm / TEXTS_ALONG, |load| {
        ([load.x_mm - load.length_mm / 2.0, -load.y_mm - load.width_mm / 2.0], [load.length_mm, load.width_mm])
    });
    centre_mark(&mut drawing, seen(weights.empty.centre), "centre of gravity, empty");

    let text = layout.overall_length_mm / TEXTS_ALONG;
    let half = layout.overall_width_mm / 2.0;
    let row = |n: f64| half + n * text * ROW;
    let show = |mm: f64| show_length(mm, units);
    let (front, rear) = (layout.bed_front_x_mm, layout.bed_rear_x_mm);
    drawing.dimension_along([0.0, front], half, row(1.0), text, show(front));
    drawing.dimension_along([front, layout.axle_x_mm], half, row(1.0), text, show(layout.axle_x_mm - front));
    drawing.dimension_along([layout.axle_x_mm, rear], half, row(1.0), text, show(rear - layout.axle_x_mm));
    drawing.dimension_along([front, rear], half, row(2.0), text, format!("bed {}", show(rear - front)));
    drawing.dimension_along(
        [0.0, layout.overall_length_mm],
        half,
        row(3.0),
        text,
        format!("overall {}", show(layout.overall_length_mm)),
    );
    let bed = layout.bed_width_mm / 2.0;
    let end = rear.max(layout.overall_length_mm);
    drawing.dimension_across([-bed, bed], end, end + ROW * text, text, format!("bed {}", show(layout.bed_width_mm)));
    let track = layout.track_mm / 2.0;
    drawing.dimension_across(
        [-track, track],
        end,
        end + 2.0 * ROW * text,
        text,
        format!("track {}", show(layout.track_mm)),
    );
    drawing.dimension_across(
        [-half, half],
        end,
        end + 3.0 * ROW * text,
        text,
        format!("overall {}", show(layout.overall_width_mm)),
    );
    drawing
}

/// Seen from the left-hand side of travel turned so that the coupling is left: x to the right, height upwards.
pub fn side_view(trailer: &Trailer, weights: &Weights, units: Units) -> Drawing {
    let layout = &trailer.layout;
    let mut drawing = Drawing::new("Side view");
    drawing.description = described(layout, units);
    let seen = |[x, _, z]: Point| [x, -z];
    drawing.line(Ink::Ground, [-200.0, 0.0], [layout.overall_length_mm + 200.0, 0.0]);
    draw_solids(&mut drawing, trailer, seen, |point| -point[1]);
    for &axle in &layout.axles_x_mm {
        drawing.circle(Ink::Wheel, [axle, -layout.axle_z_mm], layout.wheel_radius_mm, Some("wheel".into()));
        drawing.circle(Ink::Wheel, [axle, -layout.axle_z_mm], layout.wheel_radius_mm * 0.5, None);
    }
    drawing.circle(Ink::Note, [0.0, -layout.coupling_height_mm], 25.0, Some("coupling".into()));
    draw_loads(&mut drawing, weights.trips.first(), layout.overall_length_mm / TEXTS_ALONG, |load| {
        ([load.x_mm - load.length_mm / 2.0, -layout.deck_top_z_mm - load.height_mm], [load.length_mm, load.height_mm])
    });
    centre_mark(&mut drawing, seen(weights.empty.centre), "centre of gravity, empty");
    let text = layout.overall_length_mm / TEXTS_ALONG;
    let show = |mm: f64| show_length(mm, units);
    let row = |n: f64| n * text * ROW;
    let axle = layout.axle_x_mm;
    drawing.dimension_along([0.0, axle], 0.0, row(1.0), text, format!("coupling to axle {}", show(axle)));
    drawing.dimension_along(
        [0.0, layout.overall_length_mm],
        0.0,
        row(2.0),
        text,
        format!("overall {}", show(layout.overall_length_mm)),
    );
    let end = layout.overall_length_mm + 1.6 * text;
    drawing.dimension_across(
        [0.0, -layout.deck_top_z_mm],
        end,
        end + ROW * text,
        text,
        format!("deck {}", show(layout.deck_top_z_mm)),
    );
    drawing.dimension_across(
        [0.0, -layout.coupling_height_mm],
        -40.0,
        -40.0 - ROW * text,
        text,
        format!("coupling {}", show(layout.coupling_height_mm)),
    );
    drawing
}

fn described(layout: &Layout, units: Units) -> String {
    let show = |mm: f64| show_length(mm, units);
    format!(
        "Bed {} long and {} wide, drawbar {}, axle {} behind the coupling, overall {} by {}.",
        show(layout.bed_rear_x_mm - layout.bed_front_x_mm),
        show(layout.bed_width_mm),
        show(layout.bed_front_x_mm),
        show(layout.axle_x_mm),
        show(layout.overall_length_mm),
        show(layout.overall_width_mm)
    )
}

/// Members and panels, the farthest from the eye first. The deck is drawn see-through by its ink.
fn draw_solids(
    drawing: &mut Drawing,
    trailer: &Trailer,
    seen: impl Fn(Point) -> Spot,
    nearness: impl Fn(Point) -> f64,
) {
    let mut faces: Vec<(f64, Ink, Vec<Spot>, String)> = Vec::new();
    for member in &trailer.members {
        let ink = if member.group == Group::Drawbar { Ink::Drawbar } else { Ink::Member };
        let points = member_corners(member).into_iter().map(&seen).collect();
        let title = format!("{} {}, {}", member.mark, member.role.label(), member.section);
        faces.push((nearness(member.middle()), ink, outline(points), title));
    }
    for panel in &trailer.panels {
        let points = panel_corners(panel).into_iter().map(&seen).collect();
        faces.push((
            nearness(panel.centre),
            panel_ink(panel),
            outline(points),
            format!("{} {}", panel.mark, panel.role.label()),
        ));
    }
    faces.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (_, ink, points, title) in faces {
        drawing.polygon(ink, points, Some(title));
    }
}

const fn panel_ink(panel: &Panel) -> Ink {
    match panel.role {
        PanelRole::Deck => Ink::Deck,
        _ => Ink::Panel,
    }
}

fn draw_loads(
    drawing: &mut Drawing,
    trip: Option<&PlacedTrip>,
    text: f64,
    footprint: impl Fn(&PlacedLoad) -> (Spot, Spot),
) {
    let mut outlines: Vec<((Spot, Spot), String)> = Vec::new();
    for load in trip.iter().flat_map(|trip| &trip.loads) {
        let outline = footprint(load);
        // Loads that hide one another share one outline and its label.
        match outlines.iter_mut().find(|(known, _)| *known == outline) {
            Some((_, names)) => *names = format!("{names}, {}", load.name),
            None => outlines.push((outline, load.name.clone())),
        }
    }
    for (([x, y], [width, height]), names) in outlines {
        drawing.rectangle(Ink::Load, [x, y], [width, height], Some(names.clone()));
        drawing.label([x + width / 2.0, y + height / 2.0], [width, height], text, &[names.as_str()]);
    }
}

/// A ringed cross: where the centre of gravity is.
fn centre_mark(drawing: &mut Drawing, [x, y]: Spot, title: &str) {
    drawing.circle(Ink::Centre, [x, y], 35.0, Some(title.into()));
    drawing.line(Ink::Centre, [x - 55.0, y], [x + 55.0, y]);
    drawing.line(Ink::Centre, [x, y - 55.0], [x, y + 55.0]);
}
