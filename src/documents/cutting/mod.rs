//! The cutting plan in pictures: bars and sheets to scale, in cutting order, for the screen and for the saw. Scrap is hatched, a kept
//! remainder is plain and says so, so that they are told apart in black and white.

use super::drawing::{Drawing, Ink, Spot};

mod bar;
mod sheet;
mod waste;

pub use bar::{Stop, bar_picture, stops};
pub use sheet::{Fence, fences, sheet_picture};
pub use waste::waste_picture;

/// Slanting strokes, so that scrap shows without colour.
fn hatch(drawing: &mut Drawing, [x, y]: Spot, [wide, tall]: Spot, step: f64) {
    let mut along = step;
    while along < wide + tall {
        let from = if along <= wide { [x + along, y] } else { [x + wide, y + along - wide] };
        let to = if along <= tall { [x, y + along] } else { [x + along - tall, y + tall] };
        drawing.line(Ink::Scrap, from, to);
        along += step;
    }
}
