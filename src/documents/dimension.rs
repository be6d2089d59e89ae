//! Dimensions beside a view, on paper (ISO 129-1): arrows, extension lines with a gap, texts above their lines and read from
//! below or from the right.
//!
//! Texts cannot overlap. Short dimensions are placed first, each one level beyond all that it meets; it meets another where
//! their lines or texts share any stretch of the axis. So two on one level share none, and two levels lie a whole text apart.
//! Only dimensions placed later can reach beyond a level, and a text keeps clear of the extension lines of all of them.

use super::{
    drawing::{Drawing, Ink, Shape, Spot},
    letters,
};

/// On which side of the view a row of dimensions lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    Above,
    Below,
    Left,
    Right,
}

/// A dimension to be placed: where it begins and ends along the view's edge, in paper millimetres.
#[derive(Clone, Debug, PartialEq)]
pub struct Dimension {
    pub from: f64,
    pub to: f64,
    /// Where each extension line starts, across the row: the measured point itself.
    pub starts: [f64; 2],
    /// What it measures, in real millimetres.
    pub value_mm: f64,
    pub text: String,
}

/// A dimension as it was drawn, for those who check it.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    pub from: Spot,
    pub to: Spot,
    pub value_mm: f64,
    /// Real millimetres to one of paper.
    pub scale: f64,
}

/// Dimensions on one side of a view.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    pub side: Side,
    /// The outermost edge of the view on this side.
    pub base: f64,
    pub dimensions: Vec<Dimension>,
}

/// A dimension in its place: its level from 1, the middle of its text, and the stretch that line, arrows and text take.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Placed {
    level: usize,
    text: f64,
    taken: [f64; 2],
    arrows_outside: bool,
}

/// Between a text and any line across it.
const CLEAR: f64 = 0.8;
/// Between the measured point and its extension line, and beyond the dimension line.
const GAP: f64 = 0.8;
const BEYOND: f64 = 1.6;

/// Of capitals: from one level to the next.
fn pitch(capital: f64) -> f64 {
    capital * 2.6
}

fn arrow(capital: f64) -> f64 {
    capital
}

fn place(row: &[Dimension], size: f64) -> Vec<Placed> {
    let capital = size * letters::CAPITAL;
    let ends = |of: &Dimension| [of.from.min(of.to), of.from.max(of.to)];
    let mut order: Vec<usize> = (0..row.len()).collect();
    order.sort_by(|&a, &b| {
        let span = |at: usize| (row[at].to - row[at].from).abs();
        span(a).total_cmp(&span(b)).then(ends(&row[a])[0].total_cmp(&ends(&row[b])[0])).then(a.cmp(&b))
    });
    let mut placed: Vec<Option<Placed>> = vec![None; row.len()];
    for (nth, &at) in order.iter().enumerate() {
        let [from, to] = ends(&row[at]);
        let mut crossing: Vec<f64> = order[nth + 1..].iter().flat_map(|&later| ends(&row[later])).collect();
        crossing.sort_by(f64::total_cmp);
        let width = letters::width(&row[at].text, size);
        let arrows_outside = to - from < 3.0 * arrow(capital);
        let line = if arrows_outside { [from - 2.0 * arrow(capital), to + 2.0 * arrow(capital)] } else { [from, to] };
        let text = within([from, to], &crossing, width).unwrap_or_else(|| beside(line, &crossing, width));
        let taken = [line[0].min(text - width / 2.0 - CLEAR), line[1].max(text + width / 2.0 + CLEAR)];
        let meets = placed
            .iter()
            .flatten()
            .filter(|other| other.taken[0] < taken[1] - 1e-6 && taken[0] < other.taken[1] - 1e-6);
        let level = 1 + meets.map(|other| other.level).max().unwrap_or(0);
        placed[at] = Some(Placed { level, text, taken, arrows_outside });
    }
    placed.into_iter().flatten().collect()
}

/// The place nearest to the middle between two ends where a text stands clear of all that crosses.
fn within([from, to]: [f64; 2], crossing: &[f64], width: f64) -> Option<f64> {
    let middle = (from + to) / 2.0;
    let inside = crossing.iter().copied().filter(|x| *x > from && *x < to);
    let stops: Vec<f64> = std::iter::once(from).chain(inside).chain([to]).collect();
    let room = width / 2.0 + CLEAR;
    let places = stops.windows(2).filter(|pair| pair[1] - pair[0] >= 2.0 * room);
    places
        .map(|pair| middle.max(pair[0] + room).min(pair[1] - room))
        .min_by(|a, b| (a - middle).abs().total_cmp(&(b - middle).abs()))
}

/// The nearest place outside: there is always one, beyond all that crosses.
fn beside([from, to]: [f64; 2], crossing: &[f64], width: f64) -> f64 {
    let room = width / 2.0 + CLEAR;
    let free = |place: f64| !crossing.iter().any(|x| *x > place - room && *x < place + room);
    let after = std::iter::once(to).chain(crossing.iter().copied().filter(|x| *x > to)).map(|x| x + room);
    let before = std::iter::once(from).chain(crossing.iter().copied().filter(|x| *x < from)).map(|x| x - room);
    let middle = (from + to) / 2.0;
    after
        .chain(before)
        .filter(|place| free(*place))
        .min_by(|a, b| (a - middle).abs().total_cmp(&(b - middle).abs()))
        .unwrap_or(to + room)
}

impl Row {
    fn is_lying(&self) -> bool {
        matches!(self.side, Side::Above | Side::Below)
    }

    fn outward(&self) -> f64 {
        if matches!(self.side, Side::Above | Side::Left) { -1.0 } else { 1.0 }
    }

    /// How far the row reaches from its base outwards, and the stretch that it takes along the edge.
    pub fn extent(&self, size: f64) -> (f64, Option<[f64; 2]>) {
        let capital = size * letters::CAPITAL;
        let placed = place(&self.dimensions, size);
        let levels = placed.iter().map(|placed| placed.level).max().unwrap_or(0);
        let stretch = placed.iter().map(|placed| placed.taken).reduce(|a, b| [a[0].min(b[0]), a[1].max(b[1])]);
        // On the outer side of the last line stands a text only above and at the left.
        let last = if self.outward() < 0.0 { pitch(capital) } else { BEYOND };
        (if levels == 0 { 0.0 } else { levels as f64 * pitch(capital) + last }, stretch)
    }

    /// Draws the row moved to a place of the paper; the answer tells what was measured where. Texts are placed as [`Row::extent`]
    /// reckoned with: on moved figures a hair of rounding could put one on the other side of its dimension.
    pub fn draw(&self, drawing: &mut Drawing, [x, y]: Spot, size: f64, scale: f64) -> Vec<Measured> {
        let capital = size * letters::CAPITAL;
        let (out, lying) = (self.outward(), self.is_lying());
        let spot = |along: f64, across: f64| if lying { [x + along, y + across] } else { [x + across, y + along] };
        let mut measured = Vec::new();
        for (dimension, placed) in self.dimensions.iter().zip(place(&self.dimensions, size)) {
            let across = self.base + out * placed.level as f64 * pitch(capital);
            for (end, start) in [(dimension.from, dimension.starts[0]), (dimension.to, dimension.starts[1])] {
                drawing.line(Ink::Dimension, spot(end, start + out * GAP), spot(end, across + out * BEYOND));
            }
            let (from, to) = (dimension.from.min(dimension.to), dimension.from.max(dimension.to));
            drawing.line(Ink::Dimension, spot(from, across), spot(to, across));
            let half = letters::width(&dimension.text, size) / 2.0;
            let reach = 2.0 * arrow(capital);
            let (before, after) = if placed.arrows_outside { (from - reach, to + reach) } else { (from, to) };
            for (near, far) in [(from, before.min(placed.text - half)), (to, after.max(placed.text + half))] {
                if (near - far).abs() > 1e-9 && (far < from || far > to) {
                    drawing.line(Ink::Dimension, spot(near, across), spot(far, across));
                }
            }
            for (tip, inward) in [(from, 1.0), (to, -1.0)] {
                let way = if placed.arrows_outside { -inward } else { inward };
                let back = tip + way * arrow(capital);
                let points = vec![
                    spot(tip, across),
                    spot(back, across - arrow(capital) / 6.0),
                    spot(back, across + arrow(capital) / 6.0),
                ];
                drawing.polygon(Ink::Dimension, points, None);
            }
            drawing.shapes.push(Shape::Text {
                ink: Ink::Dimension,
                at: spot(placed.text, across - capital * 0.5 - 0.7),
                height: size,
                turned_deg: if lying { 0.0 } else { -90.0 },
                text: dimension.text.clone(),
            });
            measured.push(Measured {
                from: spot(from, across),
                to: spot(to, across),
                value_mm: dimension.value_mm,
                scale,
            });
        }
        measured
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn dimension(from: f64, to: f64, text: &str) -> Dimension {
        Dimension { from, to, starts: [0.0, 0.0], value_mm: (to - from).abs() * 20.0, text: text.into() }
    }

    #[test]
    fn a_chain_stands_on_one_level_and_the_whole_beyond_it() {
        let row = [dimension(0.0, 60.0, "1200"), dimension(60.0, 130.0, "1400"), dimension(0.0, 130.0, "2600")];
        let levels: Vec<usize> = place(&row, 3.57).iter().map(|placed| placed.level).collect();
        assert_eq!(levels, [1, 1, 2]);
    }

    #[test]
    fn a_text_wider_than_its_dimension_stands_outside_with_the_arrows() {
        let row = [dimension(10.0, 12.0, "40")];
        let placed = place(&row, 3.57)[0];
        assert!(placed.arrows_outside && (placed.text < 10.0 || placed.text > 12.0), "{placed:?}");
    }

    proptest! {
        /// Whatever is dimensioned: no two texts meet, and no extension line passes through a text.
        #[test]
        fn texts_stand_clear(ends in prop::collection::vec((0u16..2000, 1u16..2000, 1usize..14), 1..14)) {
            let dimensions: Vec<Dimension> = ends
                .iter()
                .map(|(from, span, long)| {
                    let from = f64::from(*from) / 10.0;
                    dimension(from, from + f64::from(*span) / 10.0, &"8".repeat(*long))
                })
                .collect();
            let row = Row { side: Side::Below, base: 0.0, dimensions };
            let size = 3.57;
            let mut drawing = Drawing::new("row");
            row.draw(&mut drawing, [0.0, 0.0], size, 20.0);
            let texts = texts_of(&drawing);
            prop_assert_eq!(texts.len(), row.dimensions.len());
            for (at, a) in texts.iter().enumerate() {
                for b in &texts[at + 1..] {
                    prop_assert!(!meet(a, b), "{a:?} {b:?}");
                }
                for shape in &drawing.shapes {
                    if let Shape::Line { from, to, .. } = shape
                        && from[0] == to[0]
                    {
                        let line = [from[0], from[1].min(to[1]), to[0], from[1].max(to[1])];
                        prop_assert!(!meet(a, &line), "{a:?} {line:?}");
                    }
                }
            }
        }
    }

    fn meet(a: &[f64; 4], b: &[f64; 4]) -> bool {
        a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
    }

    fn texts_of(drawing: &Drawing) -> Vec<[f64; 4]> {
        let texts = drawing.shapes.iter().filter_map(|shape| match shape {
            Shape::Text { at: [x, y], height, text, .. } => {
                let (half, tall) = (letters::width(text, *height) / 2.0, height * letters::CAPITAL / 2.0);
                Some([x - half, y - tall, x + half, y + tall])
            }
            _ => None,
        });
        texts.collect()
    }
}
