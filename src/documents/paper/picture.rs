//! Drawings as vectors in a PDF. Every kind of line and area is told apart in black and white.

use krilla::{
    color::luma,
    geom::{Path, PathBuilder, Transform},
    num::NormalizedF32,
    paint::{Fill, LineJoin, Stroke, StrokeDash},
    surface::Surface,
};

use super::{
    face::Faces,
    text::{Style, set},
    write::line,
};
use crate::documents::{
    Drawing, Ink, Shape,
    drawing::{Spot, width_of},
    sheet::{LineGroup, pen},
};

/// In points: letters made for a screen need not be larger on paper.
const TALLEST_LETTERS: f32 = 9.0;

/// How something looks: area and line as greys (0 black), the line's width and dashes in points.
struct Look {
    area: Option<u8>,
    line: Option<u8>,
    width: f32,
    dash: Vec<f32>,
}

fn look(area: Option<u8>, line: Option<u8>, width: f32, dash: &[f32]) -> Look {
    Look { area, line, width, dash: dash.to_vec() }
}

/// Line kinds after ISO 128: wide for edges, narrow for dimensions and hatching, long dash and dot for centre lines, dashes for what
/// lies behind or is only thought of.
fn look_of(ink: Ink) -> Look {
    const DASHED: &[f32] = &[4.0, 2.0];
    const CENTRE: &[f32] = &[8.0, 2.0, 1.0, 2.0];
    match ink {
        Ink::Member => look(Some(225), Some(0), 0.6, &[]),
        Ink::Drawbar => look(Some(205), Some(0), 0.6, &[]),
        Ink::Panel | Ink::Part => look(Some(235), Some(0), 0.6, &[]),
        Ink::Deck => look(Some(248), Some(90), 0.35, &[]),
        Ink::Wheel => look(Some(190), Some(0), 0.7, &[]),
        Ink::Load => look(None, Some(60), 0.5, DASHED),
        Ink::Ground => look(None, Some(0), 1.0, &[]),
        Ink::Centre => look(None, Some(60), 0.35, CENTRE),
        Ink::Dimension => look(Some(0), Some(0), 0.3, &[]),
        Ink::Note | Ink::Place => look(Some(0), Some(0), 0.5, &[]),
        Ink::Kept => look(Some(255), Some(0), 0.6, DASHED),
        Ink::Scrap => look(Some(255), Some(120), 0.3, &[]),
        Ink::Kerf => look(Some(0), Some(0), 0.3, &[]),
        Ink::CaseLoaded => look(None, Some(0), 1.0, &[]),
        Ink::CaseLight => look(None, Some(0), 0.8, DASHED),
        Ink::CaseWorst => look(None, Some(0), 1.8, &[]),
        Ink::Window => look(Some(215), None, 0.0, &[]),
        Ink::Habit => look(Some(240), None, 0.0, &[]),
        Ink::Grid => look(None, Some(190), 0.3, &[]),
        Ink::UseLow => look(Some(255), Some(0), 0.5, &[]),
        Ink::UseSome => look(Some(235), Some(0), 0.5, &[]),
        Ink::UseMuch => look(Some(210), Some(0), 0.5, &[]),
        Ink::UseNear => look(Some(180), Some(0), 0.5, &[]),
        Ink::UseFull => look(Some(145), Some(0), 0.7, &[]),
        Ink::UseOver => look(Some(105), Some(0), 1.4, &[]),
        Ink::Hatch => look(None, Some(90), 0.3, &[]),
        Ink::Hidden => look(None, Some(0), 0.3, DASHED),
        Ink::Fold => look(None, Some(0), 0.3, &[]),
        Ink::Border => look(None, Some(0), 2.0, &[]),
        Ink::Blank => look(Some(255), None, 0.0, &[]),
        Ink::Wood => look(Some(225), Some(0), 0.35, &[]),
        Ink::Tyre | Ink::Dark => look(Some(110), Some(0), 0.35, &[]),
        Ink::RedLens | Ink::AmberLens => look(Some(160), Some(0), 0.35, &[]),
        // Shade is for the screen: on paper it would hide what it lies upon.
        Ink::Shade | Ink::DeepShade => look(None, None, 0.0, &[]),
    }
}

/// The same of a drawing on a sheet at true scale, by its pen.
fn look_on_sheet(ink: Ink, group: LineGroup, scale: f32) -> Look {
    let pen = pen(ink, group);
    let points = |mm: f64| mm as f32 * scale;
    let line = (pen.width_mm > 0.0).then_some(0);
    Look {
        area: pen.fill,
        line,
        width: points(pen.width_mm),
        dash: pen.dashes_mm.iter().map(|mm| points(*mm)).collect(),
    }
}

pub(super) fn fill(grey: u8) -> Fill {
    Fill { paint: luma::Color::new(grey).into(), opacity: NormalizedF32::ONE, ..Fill::default() }
}

pub(super) fn stroke(grey: u8, width: f32, dash: &[f32]) -> Stroke {
    let dash = (!dash.is_empty()).then(|| StrokeDash { array: dash.to_vec(), offset: 0.0 });
    Stroke { paint: luma::Color::new(grey).into(), width, line_join: LineJoin::Round, dash, ..Stroke::default() }
}

/// A drawing with its upper left corner here, so many points to the millimetre; one on a sheet of its own with that sheet's pens.
pub(super) fn draw(
    surface: &mut Surface<'_>,
    faces: &Faces,
    drawing: &Drawing,
    corner: [f32; 2],
    scale: f32,
    pens: Option<LineGroup>,
) {
    let look = |ink| pens.map_or_else(|| look_of(ink), |group| look_on_sheet(ink, group, scale));
    let [left, top, ..] = drawing.bounds();
    let place = |[x, y]: Spot| [corner[0] + (x - left) as f32 * scale, corner[1] + (y - top) as f32 * scale];
    for shape in &drawing.shapes {
        match shape {
            Shape::Polygon { ink, points, .. } => {
                path(surface, &look(*ink), traced(points.iter().map(|at| place(*at)), true), true)
            }
            Shape::Path { ink, points, .. } => {
                path(surface, &look(*ink), traced(points.iter().map(|at| place(*at)), false), false)
            }
            Shape::Line { ink, from, to } => {
                path(surface, &look(*ink), traced([place(*from), place(*to)].into_iter(), false), false)
            }
            Shape::Hatch { ink, lines } => {
                let mut all = PathBuilder::new();
                for [from, to] in lines {
                    let ([x, y], [to_x, to_y]) = (place(*from), place(*to));
                    all.move_to(x, y);
                    all.line_to(to_x, to_y);
                }
                path(surface, &look(*ink), all.finish(), false);
            }
            Shape::Circle { ink, centre, radius, .. } => {
                path(surface, &look(*ink), circle(place(*centre), *radius as f32 * scale), true);
            }
            Shape::Text { at, height, turned_deg, text, .. } => {
                let height = *height as f32 * scale;
                let height = if pens.is_none() { height.min(TALLEST_LETTERS) } else { height };
                words(surface, faces, text, place(*at), height, *turned_deg as f32);
            }
        }
    }
}

fn path(surface: &mut Surface<'_>, look: &Look, path: Option<Path>, is_closed: bool) {
    let Some(path) = path else { return };
    surface.set_fill(look.area.filter(|_| is_closed).map(fill));
    surface.set_stroke(look.line.map(|grey| stroke(grey, look.width, &look.dash)));
    if surface.get_fill().is_some() || surface.get_stroke().is_some() {
        surface.draw_path(&path);
    }
}

fn traced(mut points: impl Iterator<Item = [f32; 2]>, is_closed: bool) -> Option<Path> {
    let mut path = PathBuilder::new();
    let [x, y] = points.next()?;
    path.move_to(x, y);
    points.for_each(|[x, y]| path.line_to(x, y));
    if is_closed {
        path.close();
    }
    path.finish()
}

/// Four cubic curves, true to 0.03 % of the radius.
fn circle([x, y]: [f32; 2], radius: f32) -> Option<Path> {
    let reach = radius * 0.552_284_8;
    let mut path = PathBuilder::new();
    path.move_to(x + radius, y);
    path.cubic_to(x + radius, y + reach, x + reach, y + radius, x, y + radius);
    path.cubic_to(x - reach, y + radius, x - radius, y + reach, x - radius, y);
    path.cubic_to(x - radius, y - reach, x - reach, y - radius, x, y - radius);
    path.cubic_to(x + reach, y - radius, x + radius, y - reach, x + radius, y);
    path.close();
    path.finish()
}

/// Words centred on a place and turned about it; never wider than the drawing reckoned with.
fn words(surface: &mut Surface<'_>, faces: &Faces, text: &str, [x, y]: [f32; 2], height: f32, turned_deg: f32) {
    let style = Style::of(super::Face::Plain, height);
    let reckoned = width_of(text, f64::from(height)) as f32;
    let size = height * (reckoned / faces.width(text, style).max(0.001)).min(1.0);
    let Some(set) = set(faces, &[super::Run::new(text, Style { size, ..style })], f32::MAX).into_iter().next() else {
        return;
    };
    surface.push_transform(&Transform::from_rotate_at(turned_deg, x, y));
    line(surface, faces, &set, [x - set.width / 2.0, y + size * 0.35]);
    surface.pop();
}
