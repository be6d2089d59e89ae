//! The cutting plan in pictures: bars and sheets to scale, in cutting order, for the screen and for the saw. Kept remainders
//! are outlined and hatched, scrap is crossed, so that they are told apart in black and white.

use super::drawing::{Drawing, Ink, Spot};
use crate::domain::{
    measure::{Units, show_length},
    nesting::{
        bars::{self, Bar, End, Laid, LongPoint, Mitre, Plane},
        panels::{self, Sheet},
    },
};

/// So many heights of text go along a bar and along a sheet, so that all drawings of a page are read alike.
const TEXTS_ALONG_BAR: f64 = 85.0;
const TEXTS_ALONG_SHEET: f64 = 36.0;
/// A bar is drawn this many texts thick, much thicker than it is, so that its marks can be read.
const BAR_TEXTS: f64 = 2.2;

/// One bar of the plan. Lengths along the bar are true to scale, long and short points too; its depth is drawn thicker than it is, so mitres look
/// steeper than they are.
pub fn bar_picture(problem: &bars::Problem, bar: &Bar, units: Units) -> Drawing {
    let stock = problem.stock.iter().find(|stock| stock.id == bar.stock);
    let length = stock.map_or(0.0, |stock| stock.length.mm());
    let trim = stock.and_then(|stock| stock.end_trim).unwrap_or(problem.end_trim).mm();
    let kerf = problem.kerf.mm();
    let text = (length / TEXTS_ALONG_BAR).max(1.0);
    let thick = text * BAR_TEXTS;
    let mut drawing = Drawing::new(format!("{} × {}", bar.count, bar.stock));
    drawing.description = described(problem, bar, units);
    drawing.rectangle(Ink::Kerf, [0.0, 0.0], [length, thick], None);
    let mut x = trim;
    for (index, id) in bar.parts.iter().enumerate() {
        let Some(part) = problem.parts.iter().find(|part| part.id == *id) else { continue };
        let lies = bar.laid.as_ref().and_then(|laid| laid.get(index)).copied().unwrap_or_default();
        let long = part.length.mm();
        let (near, far) = leans(part, lies);
        let [near_extra, far_extra] = extra(part, lies, kerf);
        x += near_extra;
        let points =
            vec![[x + near[0], 0.0], [x + long - far[0], 0.0], [x + long - far[1], thick], [x + near[1], thick]];
        let shown = show_length(long, units);
        drawing.polygon(Ink::Part, points, Some(format!("{id}: {shown}")));
        drawing.label([x + long / 2.0, thick / 2.0], [long, thick], text, &[&format!("{id}  {shown}"), id]);
        x += long + far_extra + kerf;
        if lies.shares_next
            && let Some(mitre) = &part.mitre
        {
            x -= freed(mitre, lies, kerf);
        }
    }
    let left = bar.remainder.mm() + bar.shared_gain.mm();
    if left > 0.0 {
        let ink = if bar.kept { Ink::Kept } else { Ink::Scrap };
        let from = length - left;
        let words = if bar.kept { "keep" } else { "scrap" };
        drawing.rectangle(ink, [from, 0.0], [left, thick], Some(format!("{words} {}", show_length(left, units))));
        if bar.kept {
            hatch(&mut drawing, [from, 0.0], [left, thick], text);
        } else {
            drawing.line(Ink::Scrap, [from, 0.0], [length, thick]);
            drawing.line(Ink::Scrap, [from, thick], [length, 0.0]);
        }
        let words_long = format!("{words} {}", show_length(left, units));
        drawing.label([from + left / 2.0, thick / 2.0], [left, thick], text, &[&words_long, words]);
    }
    drawing.text(
        Ink::Note,
        [length / 2.0, thick + text],
        text,
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

/// How far the short points of the near and the far end stand back, at the drawn bar's top and bottom.
fn leans(part: &bars::Part, lies: Laid) -> (Spot, Spot) {
    let Some(mitre) = &part.mitre else { return ([0.0; 2], [0.0; 2]) };
    let back = |end: End| {
        let lean = side(mitre, end) * end.angle_deg.to_radians().tan();
        match (end.long_point, lies.flipped) {
            (LongPoint::Top, false) | (LongPoint::Bottom, true) => [0.0, lean],
            _ => [lean, 0.0],
        }
    };
    (back(mitre.ends[usize::from(lies.turned)]), back(mitre.ends[usize::from(!lies.turned)]))
}

/// What a mitred cut eats more of the length than a square one, at the near and the far end.
fn extra(part: &bars::Part, lies: Laid, kerf: f64) -> [f64; 2] {
    let Some(mitre) = &part.mitre else { return [0.0; 2] };
    [lies.turned, !lies.turned].map(|end| kerf / mitre.ends[usize::from(end)].angle_deg.to_radians().cos() - kerf)
}

/// The section's size that a cut crosses.
fn side(mitre: &Mitre, end: End) -> f64 {
    match end.plane {
        Plane::Depth => mitre.section_depth.mm(),
        Plane::Width => mitre.section_width.mm(),
    }
}

/// What a shared cut at the far end of a part frees.
fn freed(mitre: &Mitre, lies: Laid, kerf: f64) -> f64 {
    let end = mitre.ends[usize::from(!lies.turned)];
    let angle = end.angle_deg.to_radians();
    side(mitre, end) * angle.tan() + kerf / angle.cos() - kerf
}

/// One sheet of the plan with its cuts numbered in order.
pub fn sheet_picture(problem: &panels::Problem, sheet: &Sheet, units: Units) -> Drawing {
    let stock = problem.stock.iter().find(|stock| stock.id == sheet.stock);
    let (length, width) = stock.map_or((0.0, 0.0), |stock| (stock.length.mm(), stock.width.mm()));
    let show = |mm: f64| show_length(mm, units);
    let text = (length.max(width) / TEXTS_ALONG_SHEET).max(1.0);
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
            let words = format!("keep {} × {}", show(size[0]), show(size[1]));
            drawing.rectangle(Ink::Kept, at, size, Some(words.clone()));
            hatch(&mut drawing, at, size, text);
            let middle = [at[0] + size[0] / 2.0, at[1] + size[1] / 2.0];
            drawing.label(middle, size, text, &[&words, "keep"]);
        }
    }
    for placed in &sheet.placed {
        let size = [placed.length.mm(), placed.width.mm()];
        let at = corner(placed.x.mm(), placed.y.mm(), size[1]);
        let words = format!("{} {} × {}", placed.part, show(size[0]), show(size[1]));
        drawing.rectangle(Ink::Part, at, size, Some(words.clone()));
        let middle = [at[0] + size[0] / 2.0, at[1] + size[1] / 2.0];
        drawing.label(middle, size, text, &[&words, &placed.part]);
    }
    drawing.text(
        Ink::Note,
        [length / 2.0, width + text],
        text,
        format!("{}: {} × {}", sheet.stock, show(length), show(width)),
    );
    drawing
}

/// Slanting strokes, so that a kept piece shows without colour.
fn hatch(drawing: &mut Drawing, [x, y]: Spot, [wide, tall]: Spot, step: f64) {
    let mut along = step;
    while along < wide + tall {
        let from = if along <= wide { [x + along, y] } else { [x + wide, y + along - wide] };
        let to = if along <= tall { [x, y + along] } else { [x + along - tall, y + tall] };
        drawing.line(Ink::Kept, from, to);
        along += step;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        documents::drawing::Shape,
        domain::{
            measure::Tenths,
            nesting::{Budget, bars::Part, unwatched},
        },
    };

    fn end(long_point: LongPoint) -> End {
        End { angle_deg: 45.0, plane: Plane::Width, long_point }
    }

    /// What is drawn is what is planned: the last part ends, with its kerf, where the remainder begins.
    #[test]
    fn mitred_parts_and_their_remainder_fill_the_bar_to_scale() {
        let mitre = Mitre {
            section_depth: Tenths(600),
            section_width: Tenths(400),
            may_flip: true,
            ends: [end(LongPoint::Top), end(LongPoint::Top)],
        };
        let stock = bars::Stock {
            id: "new".into(),
            length: Tenths(60_000),
            cost: None,
            quantity: None,
            offcut_value_per_m: Default::default(),
            end_trim: None,
        };
        let problem = bars::Problem {
            kerf: Tenths(20),
            end_trim: Tenths(100),
            keep_offcut: Tenths(5_000),
            stock: vec![stock],
            parts: vec![Part { id: "R1".into(), length: Tenths(12_000), quantity: 4, mitre: Some(mitre) }],
        };
        let answer = bars::solve(&problem, Budget::full(), &mut unwatched).unwrap();
        let [bar] = answer.plan.as_slice() else { panic!("one bar: {:?}", answer.plan) };
        assert!(bar.shared_gain.0 > 0, "{bar:?}");
        let drawing = bar_picture(&problem, bar, Units::Metric);
        let reach = |wanted: Ink, of: fn(f64, f64) -> f64, start: f64| {
            drawing.shapes.iter().fold(start, |best, shape| match shape {
                Shape::Polygon { ink, points, .. } if *ink == wanted => points.iter().map(|p| p[0]).fold(best, of),
                _ => best,
            })
        };
        let last_part = reach(Ink::Part, f64::max, 0.0);
        let remainder = reach(Ink::Kept, f64::min, 6000.0);
        let kerf = 2.0 / 45_f64.to_radians().cos();
        // Charged lengths and gains are rounded to tenths, each on the safe side.
        assert!((last_part + kerf - remainder).abs() < 1.0, "{last_part} + {kerf} against {remainder}");
    }
}
