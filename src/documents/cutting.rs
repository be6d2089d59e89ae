//! The cutting plan in pictures: bars and sheets to scale, in cutting order, for the screen and for the saw. Kept remainders
//! are outlined and hatched, scrap is crossed, so that they are told apart in black and white.

use super::drawing::{Drawing, Ink, Spot};
use crate::domain::{
    measure::{Tenths, Units, show_length},
    nesting::{
        bars::{self, Bar, End, Laid, LongPoint, Plane},
        panels::{self, Sheet},
    },
};

/// Heights in drawing millimetres: a bar is drawn much thicker than it is, so that its marks can be read.
const BAR_HEIGHT: f64 = 150.0;
const TEXT: f64 = 70.0;

/// One bar of the plan. Lengths along the bar are true to scale, its depth is not; mitres lean by their true angle as far as
/// the drawn depth allows.
pub fn bar_picture(problem: &bars::Problem, bar: &Bar, units: Units) -> Drawing {
    let stock = problem.stock.iter().find(|stock| stock.id == bar.stock);
    let length = stock.map_or(0.0, |stock| stock.length.mm());
    let trim = stock.and_then(|stock| stock.end_trim).unwrap_or(problem.end_trim).mm();
    let kerf = problem.kerf.mm();
    let mut drawing = Drawing::new(format!("{} × {}", bar.count, bar.stock));
    drawing.description = described(problem, bar, units);
    drawing.rectangle(Ink::Kerf, [0.0, 0.0], [length, BAR_HEIGHT], None);
    let mut x = trim;
    let mut kerfs_left = bar.parts.len();
    for (index, id) in bar.parts.iter().enumerate() {
        let Some(part) = problem.parts.iter().find(|part| part.id == *id) else { continue };
        let lies = bar.laid.as_ref().and_then(|laid| laid.get(index)).copied().unwrap_or_default();
        let long = part.length.mm();
        let (near, far) = leans(part, lies);
        let points = vec![
            [x + near[0], 0.0],
            [x + long - far[0], 0.0],
            [x + long - far[1], BAR_HEIGHT],
            [x + near[1], BAR_HEIGHT],
        ];
        let shown = show_length(long, units);
        drawing.polygon(Ink::Part, points, Some(format!("{id}: {shown}")));
        label(&mut drawing, [x + long / 2.0, BAR_HEIGHT / 2.0], long * 0.8, &format!("{id}  {shown}"), id);
        x += long + extra(part, kerf) + kerf;
        kerfs_left -= 1;
        if lies.shares_next
            && let Some(mitre) = &part.mitre
        {
            x -= freed(mitre.section_depth, mitre.section_width, far_end(part, lies), kerf);
        }
    }
    debug_assert_eq!(kerfs_left, 0, "every part of the bar stands in the problem");
    let left = bar.remainder.mm() + bar.shared_gain.mm();
    if left > 0.0 {
        let ink = if bar.kept { Ink::Kept } else { Ink::Scrap };
        let from = length - left;
        let words = if bar.kept { "keep" } else { "scrap" };
        drawing.rectangle(ink, [from, 0.0], [left, BAR_HEIGHT], Some(format!("{words} {}", show_length(left, units))));
        if bar.kept {
            hatch(&mut drawing, [from, 0.0], [left, BAR_HEIGHT]);
        } else {
            drawing.line(Ink::Scrap, [from, 0.0], [length, BAR_HEIGHT]);
            drawing.line(Ink::Scrap, [from, BAR_HEIGHT], [length, 0.0]);
        }
        label(
            &mut drawing,
            [from + left / 2.0, BAR_HEIGHT / 2.0],
            left * 0.8,
            &format!("{words} {}", show_length(left, units)),
            "",
        );
    }
    drawing.text(
        Ink::Note,
        [length / 2.0, BAR_HEIGHT + TEXT],
        TEXT,
        format!("{} of {}", bar.stock, show_length(length, units)),
    );
    drawing
}

fn described(problem: &bars::Problem, bar: &Bar, units: Units) -> String {
    let parts = bar.parts.iter().map(|id| {
        let long = problem.parts.iter().find(|part| part.id == *id).map_or(0.0, |part| part.length.mm());
        format!("{id} {}", show_length(long, units))
    });
    let left = show_length(bar.remainder.mm() + bar.shared_gain.mm(), units);
    let fate = if bar.kept { "kept" } else { "scrap" };
    format!("Cut in this order: {}; {left} left, {fate}.", parts.collect::<Vec<_>>().join(", "))
}

fn far_end(part: &bars::Part, lies: Laid) -> Option<End> {
    part.mitre.as_ref().map(|mitre| mitre.ends[usize::from(!lies.turned)])
}

/// How far the short points of the near and the far end stand back, at the drawn bar's top and bottom.
fn leans(part: &bars::Part, lies: Laid) -> (Spot, Spot) {
    let Some(mitre) = &part.mitre else { return ([0.0; 2], [0.0; 2]) };
    let back = |end: End| {
        let lean = (BAR_HEIGHT * end.angle_deg.to_radians().tan()).min(part.length.mm() / 2.0);
        match (end.long_point, lies.flipped) {
            (LongPoint::Top, false) | (LongPoint::Bottom, true) => [0.0, lean],
            _ => [lean, 0.0],
        }
    };
    (back(mitre.ends[usize::from(lies.turned)]), back(mitre.ends[usize::from(!lies.turned)]))
}

fn extra(part: &bars::Part, kerf: f64) -> f64 {
    part.mitre.iter().flat_map(|mitre| mitre.ends).map(|end| kerf / end.angle_deg.to_radians().cos() - kerf).sum()
}

fn freed(depth: Tenths, width: Tenths, end: Option<End>, kerf: f64) -> f64 {
    let Some(end) = end else { return 0.0 };
    let side = match end.plane {
        Plane::Depth => depth.mm(),
        Plane::Width => width.mm(),
    };
    let angle = end.angle_deg.to_radians();
    side * angle.tan() + kerf / angle.cos() - kerf
}

/// One sheet of the plan with its cuts numbered in order.
pub fn sheet_picture(problem: &panels::Problem, sheet: &Sheet, units: Units) -> Drawing {
    let stock = problem.stock.iter().find(|stock| stock.id == sheet.stock);
    let (length, width) = stock.map_or((0.0, 0.0), |stock| (stock.length.mm(), stock.width.mm()));
    let show = |mm: f64| show_length(mm, units);
    let text = (length / 45.0).max(1.0);
    let mut drawing = Drawing::new(format!("{} × {}", sheet.count, sheet.stock));
    let listed = sheet
        .placed
        .iter()
        .map(|placed| format!("{} {} × {}", placed.part, show(placed.length.mm()), show(placed.width.mm())));
    drawing.description =
        format!("On a sheet of {} × {}: {}.", show(length), show(width), listed.collect::<Vec<_>>().join(", "));
    // y of the plan runs up from the lower left corner, y of a drawing down.
    let corner = |x: f64, y: f64, tall: f64| [x, width - y - tall];
    drawing.rectangle(Ink::Scrap, [0.0, 0.0], [length, width], None);
    for rest in &sheet.remainders {
        let size = [rest.length.mm(), rest.width.mm()];
        let at = corner(rest.x.mm(), rest.y.mm(), size[1]);
        if rest.kept {
            drawing.rectangle(Ink::Kept, at, size, Some(format!("keep {} × {}", show(size[0]), show(size[1]))));
            hatch(&mut drawing, at, size);
            let middle = [at[0] + size[0] / 2.0, at[1] + size[1] / 2.0];
            label_sized(
                &mut drawing,
                middle,
                size[0] * 0.85,
                text.min(size[1] * 0.6),
                &format!("keep {} × {}", show(size[0]), show(size[1])),
                "keep",
            );
        }
    }
    for placed in &sheet.placed {
        let size = [placed.length.mm(), placed.width.mm()];
        let at = corner(placed.x.mm(), placed.y.mm(), size[1]);
        let words = format!("{} {} × {}", placed.part, show(size[0]), show(size[1]));
        drawing.rectangle(Ink::Part, at, size, Some(words.clone()));
        let middle = [at[0] + size[0] / 2.0, at[1] + size[1] / 2.0];
        label_sized(&mut drawing, middle, size[0] * 0.9, text.min(size[1] * 0.6), &words, &placed.part);
    }
    drawing.text(
        Ink::Note,
        [length / 2.0, width + text],
        text,
        format!("{}: {} × {}", sheet.stock, show(length), show(width)),
    );
    drawing
}

fn label(drawing: &mut Drawing, at: Spot, room: f64, long: &str, short: &str) {
    label_sized(drawing, at, room, TEXT, long, short);
}

/// The long text if it has room, else the short one, else nothing: the title of the shape still says it.
fn label_sized(drawing: &mut Drawing, at: Spot, room: f64, height: f64, long: &str, short: &str) {
    let fits = |text: &str| text.chars().count() as f64 * height * 0.6 <= room;
    if let Some(text) = [long, short].into_iter().find(|text| !text.is_empty() && fits(text)) {
        drawing.text(Ink::Note, at, height, text);
    }
}

/// Slanting strokes, so that a kept piece shows without colour.
fn hatch(drawing: &mut Drawing, [x, y]: Spot, [wide, tall]: Spot) {
    let step = (wide.max(tall) / 12.0).max(20.0);
    let mut along = step;
    while along < wide + tall {
        let from = if along <= wide { [x + along, y] } else { [x + wide, y + along - wide] };
        let to = if along <= tall { [x, y + along] } else { [x + along - tall, y + tall] };
        drawing.line(Ink::Kept, from, to);
        along += step;
    }
}
