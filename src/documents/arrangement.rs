//! Plan and side view of the built trailer with its main dimensions, loads at their places, and the centre of gravity.

use super::{
    drawing::{Drawing, Ink, Spot},
    solid::{from_above, member_corners, outline, panel_corners},
};
use crate::domain::{
    measure::Units,
    trailer::{Group, Layout, Panel, PanelRole, Point, Trailer},
    weights::{PlacedLoad, PlacedTrip, Weights},
    words::Words,
};

/// How large letters are beside the trailer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Letters {
    /// On a desk and on paper.
    Usual,
    /// On a phone, across which the trailer is small.
    Large,
}

impl Letters {
    /// So many heights of text go along the trailer.
    const fn along(self) -> f64 {
        match self {
            Self::Usual => 45.0,
            Self::Large => 20.0,
        }
    }
}

/// So many heights of text lie between two dimension lines.
const ROW: f64 = 2.8;

/// Seen from above: x to the right (rearwards), the trailer's right-hand side upwards.
pub fn plan_view(trailer: &Trailer, weights: &Weights, words: &Words, units: Units, letters: Letters) -> Drawing {
    let layout = &trailer.layout;
    let say = |id: &str| words.say(id).text();
    let sized = |id: &str, mm: f64| words.say(id).with("length", words.length(mm, units)).text();
    let mut drawing = Drawing::new(say("view-plan"));
    drawing.description = described(layout, words, units);
    let seen = from_above;
    draw_solids(&mut drawing, trailer, seen, |point| point[2]);
    for &axle in &layout.axles_x_mm {
        for side in [-1.0, 1.0] {
            let corner = [axle - layout.wheel_radius_mm, side * layout.track_mm / 2.0 - layout.tyre_width_mm / 2.0];
            drawing.rectangle(
                Ink::Wheel,
                corner,
                [2.0 * layout.wheel_radius_mm, layout.tyre_width_mm],
                Some(say("drawing-wheel")),
            );
        }
        let half = layout.track_mm / 2.0;
        drawing.line(Ink::Centre, [axle, -half], [axle, half]);
    }
    drawing.circle(Ink::Note, [0.0, 0.0], 25.0, Some(say("drawing-coupling-here")));
    let centre = seen(weights.empty.centre);
    let text = layout.overall_length_mm / letters.along();
    draw_loads(&mut drawing, weights.trips.first(), text, centre, |load| {
        ([load.x_mm - load.length_mm / 2.0, -load.y_mm - load.width_mm / 2.0], [load.length_mm, load.width_mm])
    });
    centre_mark(&mut drawing, centre, &say("drawing-centre"));

    let half = layout.overall_width_mm / 2.0;
    let row = |n: f64| half + n * text * ROW;
    let show = |mm: f64| words.length(mm, units);
    let (front, rear) = (layout.bed_front_x_mm, layout.bed_rear_x_mm);
    drawing.dimension_along([0.0, front], half, row(1.0), text, show(front));
    drawing.dimension_along([front, layout.axle_x_mm], half, row(1.0), text, show(layout.axle_x_mm - front));
    drawing.dimension_along([layout.axle_x_mm, rear], half, row(1.0), text, show(rear - layout.axle_x_mm));
    drawing.dimension_along([front, rear], half, row(2.0), text, sized("drawing-bed", rear - front));
    drawing.dimension_along(
        [0.0, layout.overall_length_mm],
        half,
        row(3.0),
        text,
        sized("drawing-overall", layout.overall_length_mm),
    );
    let bed = layout.bed_width_mm / 2.0;
    let end = rear.max(layout.overall_length_mm);
    drawing.dimension_across([-bed, bed], end, end + ROW * text, text, sized("drawing-bed", layout.bed_width_mm));
    let track = layout.track_mm / 2.0;
    drawing.dimension_across(
        [-track, track],
        end,
        end + 2.0 * ROW * text,
        text,
        sized("drawing-track", layout.track_mm),
    );
    drawing.dimension_across(
        [-half, half],
        end,
        end + 3.0 * ROW * text,
        text,
        sized("drawing-overall", layout.overall_width_mm),
    );
    drawing
}

/// Seen from the left-hand side of travel turned so that the coupling is left: x to the right, height upwards.
pub fn side_view(trailer: &Trailer, weights: &Weights, words: &Words, units: Units, letters: Letters) -> Drawing {
    let layout = &trailer.layout;
    let say = |id: &str| words.say(id).text();
    let sized = |id: &str, mm: f64| words.say(id).with("length", words.length(mm, units)).text();
    let mut drawing = Drawing::new(say("view-side"));
    drawing.description = described(layout, words, units);
    let seen = |[x, _, z]: Point| [x, -z];
    drawing.line(Ink::Ground, [-200.0, 0.0], [layout.overall_length_mm + 200.0, 0.0]);
    draw_solids(&mut drawing, trailer, seen, |point| -point[1]);
    for &axle in &layout.axles_x_mm {
        drawing.circle(Ink::Wheel, [axle, -layout.axle_z_mm], layout.wheel_radius_mm, Some(say("drawing-wheel")));
        drawing.circle(Ink::Wheel, [axle, -layout.axle_z_mm], layout.wheel_radius_mm * 0.5, None);
    }
    drawing.circle(Ink::Note, [0.0, -layout.coupling_height_mm], 25.0, Some(say("drawing-coupling-here")));
    let centre = seen(weights.empty.centre);
    let text = layout.overall_length_mm / letters.along();
    draw_loads(&mut drawing, weights.trips.first(), text, centre, |load| {
        ([load.x_mm - load.length_mm / 2.0, -layout.deck_top_z_mm - load.height_mm], [load.length_mm, load.height_mm])
    });
    centre_mark(&mut drawing, centre, &say("drawing-centre"));
    let row = |n: f64| n * text * ROW;
    let axle = layout.axle_x_mm;
    drawing.dimension_along([0.0, axle], 0.0, row(1.0), text, sized("drawing-coupling-to-axle", axle));
    drawing.dimension_along(
        [0.0, layout.overall_length_mm],
        0.0,
        row(2.0),
        text,
        sized("drawing-overall", layout.overall_length_mm),
    );
    let end = layout.overall_length_mm + 1.6 * text;
    drawing.dimension_across(
        [0.0, -layout.deck_top_z_mm],
        end,
        end + ROW * text,
        text,
        sized("drawing-deck", layout.deck_top_z_mm),
    );
    drawing.dimension_across(
        [0.0, -layout.coupling_height_mm],
        -40.0,
        -40.0 - ROW * text,
        text,
        sized("drawing-coupling", layout.coupling_height_mm),
    );
    drawing
}

fn described(layout: &Layout, words: &Words, units: Units) -> String {
    let show = |mm: f64| words.length(mm, units);
    words
        .say("drawing-described")
        .with("bed-length", show(layout.bed_rear_x_mm - layout.bed_front_x_mm))
        .with("bed-width", show(layout.bed_width_mm))
        .with("drawbar", show(layout.bed_front_x_mm))
        .with("axle", show(layout.axle_x_mm))
        .with("length", show(layout.overall_length_mm))
        .with("width", show(layout.overall_width_mm))
        .text()
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
        let title = member.mark.to_string();
        faces.push((nearness(member.middle()), ink, outline(points), title));
    }
    for panel in &trailer.panels {
        let points = panel_corners(panel).into_iter().map(&seen).collect();
        faces.push((nearness(panel.centre), panel_ink(panel), outline(points), panel.mark.to_string()));
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
    centre: Spot,
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
    for ((corner, room), names) in outlines {
        drawing.rectangle(Ink::Load, corner, room, Some(names.clone()));
        label_beside(drawing, corner, room, text, &names, centre);
    }
}

/// Words in the middle of a room, or of a half of it where the mark of the centre of gravity would lie upon them.
fn label_beside(
    drawing: &mut Drawing,
    [x, y]: Spot,
    [wide, tall]: Spot,
    text: f64,
    words: &str,
    [mark_x, mark_y]: Spot,
) {
    let halves =
        [([0.0, 0.0], [1.0, 0.5]), ([0.0, 0.5], [1.0, 0.5]), ([0.0, 0.0], [0.5, 1.0]), ([0.5, 0.0], [0.5, 1.0])];
    for ([left, top], [width, height]) in [([0.0, 0.0], [1.0, 1.0])].into_iter().chain(halves) {
        let middle = [x + wide * (left + width / 2.0), y + tall * (top + height / 2.0)];
        if !drawing.label(middle, [wide * width, tall * height], text, &[words]) {
            continue;
        }
        let meets = drawing.boxes_of_text().last().is_some_and(|[left, top, right, bottom]| {
            *left < mark_x + MARK && *right > mark_x - MARK && *top < mark_y + MARK && *bottom > mark_y - MARK
        });
        if !meets {
            return;
        }
        drawing.shapes.pop();
    }
}

/// Half of the cross that marks the centre of gravity, millimetres.
const MARK: f64 = 55.0;

/// A ringed cross: where the centre of gravity is.
fn centre_mark(drawing: &mut Drawing, [x, y]: Spot, title: &str) {
    drawing.circle(Ink::Centre, [x, y], 35.0, Some(title.into()));
    drawing.line(Ink::Centre, [x - MARK, y], [x + MARK, y]);
    drawing.line(Ink::Centre, [x, y - MARK], [x, y + MARK]);
}
