//! How full each member of the frame is: seen from above and from the side, by hatch and by number, so that it can be read in
//! black and white and whatever colours the eye tells apart. The bands are our own.

use super::{
    Letters,
    drawing::{Drawing, Ink, Spot, width_of},
    solid::{from_above, member_corners, outline},
};
use crate::domain::{
    trailer::{Point, Trailer},
    working::show_use,
};

/// The use of one member.
#[derive(Clone, Debug, PartialEq)]
pub struct Used {
    /// Index into the trailer's members.
    pub member: usize,
    /// Stress over what is allowed; 1.00 is full.
    pub usage: f64,
    /// Where it is fullest.
    pub place: Point,
    /// In words.
    pub name: String,
}

/// A band of uses: up to what, how it is inked, how far its hatch lines lie apart (share of the text's height; none: plain), and
/// whether they cross.
struct Band {
    up_to: f64,
    says: &'static str,
    ink: Ink,
    apart: Option<f64>,
    crossed: bool,
}

const BANDS: [Band; 6] = [
    Band { up_to: 0.25, says: "up to 0.25", ink: Ink::UseLow, apart: None, crossed: false },
    Band { up_to: 0.5, says: "0.50", ink: Ink::UseSome, apart: Some(1.0), crossed: false },
    Band { up_to: 0.75, says: "0.75", ink: Ink::UseMuch, apart: Some(0.5), crossed: false },
    Band { up_to: 0.9, says: "0.90", ink: Ink::UseNear, apart: Some(0.25), crossed: false },
    Band { up_to: 1.0, says: "1.00", ink: Ink::UseFull, apart: Some(0.35), crossed: true },
    Band { up_to: f64::INFINITY, says: "over 1.00: too much", ink: Ink::UseOver, apart: None, crossed: false },
];

/// Texts along the trailer.
const fn texts_along(letters: Letters) -> f64 {
    match letters {
        Letters::Usual => 55.0,
        Letters::Large => 26.0,
    }
}

/// Seen from above, the coupling to the left.
pub fn use_plan(trailer: &Trailer, uses: &[Used], letters: Letters) -> Drawing {
    let mut drawing = Drawing::new("Use of the frame's members, from above");
    draw(&mut drawing, trailer, uses, letters, from_above);
    drawing
}

/// Seen from the left-hand side, the coupling to the left.
pub fn use_side(trailer: &Trailer, uses: &[Used], letters: Letters) -> Drawing {
    let mut drawing = Drawing::new("Use of the frame's members, from the side");
    draw(&mut drawing, trailer, uses, letters, |[x, _, z]| [x, -z]);
    drawing
}

fn band(usage: f64) -> &'static Band {
    BANDS.iter().find(|band| usage <= band.up_to).unwrap_or(&BANDS[BANDS.len() - 1])
}

fn draw(drawing: &mut Drawing, trailer: &Trailer, uses: &[Used], letters: Letters, seen: impl Fn(Point) -> Spot) {
    let text = trailer.layout.overall_length_mm.max(1.0) / texts_along(letters);
    let mut uses: Vec<&Used> = uses.iter().filter(|used| used.member < trailer.members.len()).collect();
    // Where members hide one another, the fullest is seen.
    uses.sort_by(|a, b| a.usage.total_cmp(&b.usage));
    drawing.description = described(&uses);
    for used in &uses {
        let member = &trailer.members[used.member];
        let points = outline(member_corners(member).into_iter().map(&seen).collect());
        let title = format!("{} {}: use {}", member.mark, used.name, show_use(used.usage));
        fill(drawing, points, band(used.usage), text, title);
    }
    drawing.circle(Ink::Note, seen([0.0, 0.0, trailer.layout.coupling_height_mm]), 25.0, Some("coupling".into()));
    for used in uses.iter().rev() {
        let member = &trailer.members[used.member];
        number(drawing, [seen(member.from), seen(member.to)], seen(used.place), text, used.usage);
    }
    if let Some(worst) = uses.last() {
        drawing.circle(Ink::Centre, seen(worst.place), text * 1.6, Some(format!("governs: {}", worst.name)));
    }
    legend(drawing, text);
}

fn described(uses: &[&Used]) -> String {
    let worst: Vec<String> =
        uses.iter().rev().take(3).map(|used| format!("{} {}", used.name, show_use(used.usage))).collect();
    format!("The fullest of {} members: {}. All of them stand in the table.", uses.len(), worst.join(", "))
}

fn fill(drawing: &mut Drawing, points: Vec<Spot>, band: &Band, text: f64, title: String) {
    let mut lines = Vec::new();
    if let Some(apart) = band.apart {
        lines.extend(hatched(&points, [1.0, 1.0], apart * text));
        if band.crossed {
            lines.extend(hatched(&points, [1.0, -1.0], apart * text));
        }
    }
    drawing.polygon(band.ink, points, Some(title));
    if !lines.is_empty() {
        drawing.hatch(Ink::Hatch, lines);
    }
}

/// Parallel lines across a convex outline, each where the spots' measure along `across` is a multiple of `apart`.
fn hatched(points: &[Spot], across: Spot, apart: f64) -> Vec<[Spot; 2]> {
    let measure = |[x, y]: Spot| x * across[0] + y * across[1];
    let low = points.iter().copied().map(measure).fold(f64::INFINITY, f64::min);
    let high = points.iter().copied().map(measure).fold(f64::NEG_INFINITY, f64::max);
    let mut lines = Vec::new();
    if apart <= 0.0 || low >= high || apart.is_nan() || !low.is_finite() {
        return lines;
    }
    let step = apart * std::f64::consts::SQRT_2;
    let mut at = (low / step).floor() * step + step;
    while at < high {
        let mut met: Vec<Spot> = Vec::new();
        for (index, &a) in points.iter().enumerate() {
            let b = points[(index + 1) % points.len()];
            let (of_a, of_b) = (measure(a) - at, measure(b) - at);
            if (of_a < 0.0) != (of_b < 0.0) {
                let share = of_a / (of_a - of_b);
                met.push([a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])]);
            }
        }
        if let [from, to] = met[..] {
            lines.push([from, to]);
        }
        at += step;
    }
    lines
}

/// The number on its member, where no other stands; as near to its fullest place as there is room.
fn number(drawing: &mut Drawing, [from, to]: [Spot; 2], fullest: Spot, height: f64, usage: f64) {
    let text = show_use(usage);
    let (half, tall) = (width_of(&text, height) / 2.0, height / 2.0);
    let on = |share: f64| [from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])];
    let mut spots: Vec<Spot> = [0.5, 0.35, 0.65, 0.2, 0.8, 0.08, 0.92].map(on).to_vec();
    let off = |spot: &Spot| (spot[0] - fullest[0]).hypot(spot[1] - fullest[1]);
    spots.sort_by(|a, b| off(a).total_cmp(&off(b)));
    let taken = drawing.boxes_of_text();
    let free = spots.into_iter().find(|[x, y]| {
        let (left, top, right, bottom) = (x - half, y - tall, x + half, y + tall);
        taken.iter().all(|other| right <= other[0] || left >= other[2] || bottom <= other[1] || top >= other[3])
    });
    if let Some(spot) = free {
        drawing.text(Ink::Note, spot, height, text);
    }
}

/// The bands below the drawing, in as many rows as they need.
fn legend(drawing: &mut Drawing, text: f64) {
    let [x, y, width, height] = drawing.bounds();
    let [wide, tall] = [3.0 * text, 1.6 * text];
    let (mut at, mut top) = (x, y + height + 2.0 * text);
    for band in &BANDS {
        let room = width_of(band.says, text);
        if at > x && at + wide + 0.5 * text + room > x + width {
            (at, top) = (x, top + tall + 0.8 * text);
        }
        let points = vec![[at, top], [at + wide, top], [at + wide, top + tall], [at, top + tall]];
        fill(drawing, points, band, text, format!("use {}", band.says));
        drawing.text(Ink::Note, [at + wide + 0.5 * text + room / 2.0, top + tall / 2.0], text, band.says);
        at += wide + room + 2.0 * text;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hatch_lines_lie_inside_and_evenly_apart() {
        let square = [[0.0, 0.0], [100.0, 0.0], [100.0, 40.0], [0.0, 40.0]];
        let lines = hatched(&square, [1.0, 1.0], 10.0);
        // x + y runs to 140: a line at every 14.14, nine of them.
        assert_eq!(lines.len(), 9);
        for [from, to] in &lines {
            for [x, y] in [from, to] {
                assert!((-1e-9..=100.0 + 1e-9).contains(x) && (-1e-9..=40.0 + 1e-9).contains(y), "{lines:?}");
            }
            assert!((from[0] + from[1] - to[0] - to[1]).abs() < 1e-9, "not at 45°: {from:?} {to:?}");
        }
        assert!(hatched(&square, [1.0, 1.0], 0.0).is_empty() && hatched(&[], [1.0, 1.0], 5.0).is_empty());
    }

    #[test]
    fn a_fuller_member_is_hatched_closer_until_it_is_black() {
        let square = vec![[0.0, 0.0], [500.0, 0.0], [500.0, 60.0], [0.0, 60.0]];
        let lines = |usage: f64| {
            let mut drawing = Drawing::new("one");
            fill(&mut drawing, square.clone(), band(usage), 60.0, String::new());
            drawing
                .shapes
                .iter()
                .map(|shape| match shape {
                    super::super::Shape::Hatch { lines, .. } => lines.len(),
                    _ => 0,
                })
                .sum::<usize>()
        };
        assert_eq!(lines(0.2), 0);
        assert!(lines(0.4) < lines(0.6) && lines(0.6) < lines(0.8) && lines(0.8) <= lines(0.95) + 20);
        assert_eq!((band(1.0).ink, band(1.001).ink), (Ink::UseFull, Ink::UseOver));
    }

    #[test]
    fn no_two_numbers_overlap_and_every_text_is_there_for_the_worst() {
        let mut drawing = Drawing::new("many");
        for index in 0..30 {
            let x = f64::from(index % 6) * 90.0;
            number(&mut drawing, [[x, 0.0], [x, 1500.0]], [x, 700.0], 60.0, 0.9 - f64::from(index) / 100.0);
        }
        let boxes = drawing.boxes_of_text();
        for (index, a) in boxes.iter().enumerate() {
            for b in &boxes[index + 1..] {
                assert!(a[2] <= b[0] || a[0] >= b[2] || a[3] <= b[1] || a[1] >= b[3], "{a:?} over {b:?}");
            }
        }
        assert!(boxes.len() >= 20, "only {} numbers found room", boxes.len());
    }
}
