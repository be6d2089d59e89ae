//! Where the stock of a plan goes, as one bar.

use super::{Drawing, Ink, hatch};

const LONG: f64 = 1000.0;
const TEXT: f64 = 14.0;
const THICK: f64 = 30.0;

/// Shares of the stock, 0 to 1, in the order parts, kerf, trim, scrap, kept. In black and white: parts are filled, kerf and trim are dark,
/// scrap is hatched, kept is plain.
pub fn waste_picture(shares: [f64; 5], description: String) -> Drawing {
    let mut drawing = Drawing::new("Where the stock goes");
    drawing.description = description;
    let mut from = 0.0;
    let inks =
        [("parts", Ink::Part), ("kerf", Ink::Kerf), ("trim", Ink::Kerf), ("scrap", Ink::Scrap), ("kept", Ink::Kept)];
    for ((words, ink), share) in inks.into_iter().zip(shares) {
        let wide = share.clamp(0.0, 1.0) * LONG;
        if wide <= 0.0 {
            continue;
        }
        drawing.rectangle(ink, [from, 0.0], [wide, THICK], Some(words.to_owned()));
        if ink == Ink::Scrap {
            hatch(&mut drawing, [from, 0.0], [wide, THICK], TEXT / 2.0);
        }
        drawing.label([from + wide / 2.0, THICK / 2.0], [wide, THICK], TEXT, &[words]);
        from += wide;
    }
    drawing
}
