//! A view: shapes in real millimetres with the dimensions on its sides, and where it goes on paper.

use super::{CAPITAL_MM, size_of};
use crate::documents::{
    dimension::{Dimension, Measured, Row, Side},
    drawing::{Drawing, Ink, Shape, Spot},
    letters,
};

/// Room for a view alone, in millimetres of the letters' size: they are as large as small print where it fills a phone's width.
const NARROW: [f64; 2] = [92.0, 120.0];
const FARTHEST: f64 = 1000.0;

/// Between a view and its first dimension level, and around a view's title.
const AIR: f64 = 2.0;

pub(super) struct View {
    pub title: String,
    pub shapes: Drawing,
    /// Of each side, with places in real millimetres.
    pub rows: Vec<(Side, Vec<Dimension>)>,
    /// Letters at points of the view, the first place that is free: for loads and marks.
    pub labels: Vec<Label>,
    /// Where no label may stand: left, top, right and bottom in real millimetres.
    pub clear: Vec<[f64; 4]>,
}

pub(super) struct Label {
    pub text: String,
    /// In real millimetres, the likeliest place first.
    pub places: Vec<Spot>,
}

/// A view laid out at a scale, relative to where its origin will be.
pub(super) struct LaidOut<'v> {
    view: &'v View,
    scale: f64,
    capital: f64,
    /// Left, top, right and bottom of its shapes.
    shapes: [f64; 4],
    /// The same of all that belongs to it.
    pub reach: [f64; 4],
    rows: Vec<Row>,
}

impl View {
    pub fn lay_out(&self, scale: f64, capital: f64) -> LaidOut<'_> {
        let [x, y, width, height] = self.shapes.bounds();
        let shapes = [x, y, x + width, y + height].map(|mm| mm / scale);
        let mut reach = shapes;
        let mut rows: Vec<Row> = Vec::new();
        // Each row starts beyond all before it, the lying ones first: where two meet in a corner they cannot overlap.
        let lying = |side: Side| matches!(side, Side::Above | Side::Below);
        let order =
            [true, false].into_iter().flat_map(|first| self.rows.iter().filter(move |(side, _)| lying(*side) == first));
        for (side, dimensions) in order {
            let base = match side {
                Side::Above => reach[1],
                Side::Below => reach[3],
                Side::Left => reach[0],
                Side::Right => reach[2],
            };
            let dimensions = dimensions.iter().map(|dimension| Dimension {
                from: dimension.from / scale,
                to: dimension.to / scale,
                starts: dimension.starts.map(|mm| mm / scale),
                ..dimension.clone()
            });
            let row = Row { side: *side, base, dimensions: dimensions.collect() };
            let (deep, stretch) = row.extent(size_of(capital));
            let (along, out) = match side {
                Side::Above => ([0, 2], 1),
                Side::Below => ([0, 2], 3),
                Side::Left => ([1, 3], 0),
                Side::Right => ([1, 3], 2),
            };
            reach[out] += if out < 2 { -deep } else { deep };
            if let Some([from, to]) = stretch {
                reach[along[0]] = reach[along[0]].min(from);
                reach[along[1]] = reach[along[1]].max(to);
            }
            rows.push(row);
        }
        // The title stands above all of it.
        reach[1] -= capital + 2.0 * AIR;
        let half = letters::width(&self.title, size_of(capital)) / 2.0;
        let middle = (shapes[0] + shapes[2]) / 2.0;
        reach = [reach[0].min(middle - half), reach[1], reach[2].max(middle + half), reach[3]];
        LaidOut { view: self, scale, capital, shapes, reach, rows }
    }

    /// The view alone, as large as it can be where its letters are still read on a narrow window.
    pub fn narrow(&self) -> Drawing {
        let fits = |laid_out: &LaidOut<'_>| laid_out.size()[0] <= NARROW[0] && laid_out.size()[1] <= NARROW[1];
        let scales = std::iter::successors(Some(1.0), |scale| (*scale < FARTHEST).then_some(scale * 1.05));
        let mut drawing = Drawing { title: self.title.clone(), ..Drawing::default() };
        let laid_out = scales.map(|scale| self.lay_out(scale, CAPITAL_MM)).find(fits);
        laid_out.unwrap_or_else(|| self.lay_out(FARTHEST, CAPITAL_MM)).draw(&mut drawing, [0.0, 0.0]);
        drawing
    }
}

impl LaidOut<'_> {
    pub fn size(&self) -> [f64; 2] {
        [self.reach[2] - self.reach[0], self.reach[3] - self.reach[1]]
    }

    /// Draws the view with its origin at a spot of the paper.
    pub fn draw(&self, onto: &mut Drawing, [x, y]: Spot) -> Vec<Measured> {
        let size = size_of(self.capital);
        onto.shapes.extend(self.view.shapes.shapes.iter().map(|shape| moved(shape, self.scale, [x, y])));
        let middle = x + (self.shapes[0] + self.shapes[2]) / 2.0;
        onto.text(Ink::Note, [middle, y + self.reach[1] + AIR + self.capital / 2.0], size, self.view.title.clone());
        let mut measured = Vec::new();
        for row in &self.rows {
            measured.extend(row.draw(onto, [x, y], size, self.scale));
        }
        self.label(onto, [x, y]);
        measured
    }

    /// Each label at the first of its places that is free of the others; where none is, the list beside the drawing still has it.
    fn label(&self, onto: &mut Drawing, [x, y]: Spot) {
        let size = size_of(self.capital);
        let mut taken: Vec<[f64; 4]> = self.view.clear.iter().map(|clear| clear.map(|mm| mm / self.scale)).collect();
        for label in &self.view.labels {
            let (half, tall) = (letters::width(&label.text, size) / 2.0 + 0.4, size * 0.5);
            for place in &label.places {
                let [at_x, at_y] = [place[0] / self.scale, place[1] / self.scale];
                let at = [at_x - half, at_y - tall, at_x + half, at_y + tall];
                let inside = at[0] >= self.shapes[0]
                    && at[2] <= self.shapes[2]
                    && at[1] >= self.shapes[1]
                    && at[3] <= self.shapes[3];
                if inside && !taken.iter().any(|other| meet(&at, other)) {
                    let tall = self.capital * 0.62;
                    onto.rectangle(Ink::Blank, [x + at[0], y + at_y - tall], [2.0 * half, 2.0 * tall], None);
                    onto.text(Ink::Note, [x + at_x, y + at_y], size, label.text.clone());
                    taken.push(at);
                    break;
                }
            }
        }
    }
}

pub(super) fn meet(a: &[f64; 4], b: &[f64; 4]) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

/// A shape of real millimetres on paper.
fn moved(shape: &Shape, scale: f64, [x, y]: Spot) -> Shape {
    let spot = |[a, b]: Spot| [x + a / scale, y + b / scale];
    match shape.clone() {
        Shape::Polygon { ink, points, title } => {
            Shape::Polygon { ink, points: points.into_iter().map(spot).collect(), title }
        }
        Shape::Path { ink, points, title } => {
            Shape::Path { ink, points: points.into_iter().map(spot).collect(), title }
        }
        Shape::Line { ink, from, to } => Shape::Line { ink, from: spot(from), to: spot(to) },
        Shape::Hatch { ink, lines } => {
            Shape::Hatch { ink, lines: lines.into_iter().map(|[from, to]| [spot(from), spot(to)]).collect() }
        }
        Shape::Circle { ink, centre, radius, title } => {
            Shape::Circle { ink, centre: spot(centre), radius: radius / scale, title }
        }
        Shape::Text { ink, at, height, turned_deg, text } => {
            Shape::Text { ink, at: spot(at), height: height / scale, turned_deg, text }
        }
    }
}
