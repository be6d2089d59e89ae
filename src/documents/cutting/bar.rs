//! Bars to scale in cutting order, and the stops at which they are cut.

use super::hatch;
use crate::{
    documents::{
        Letters,
        drawing::{Drawing, Ink, Spot, width_of},
    },
    domain::{
        measure::{Units, show_length},
        nesting::bars::{self, Bar, End, Laid, LongPoint, Mitre, Plane},
    },
};

/// So many heights of text go along a bar, so that all drawings of a page are read alike.
const fn texts_along_bar(letters: Letters) -> f64 {
    match letters {
        Letters::Usual => 85.0,
        Letters::Large => 28.0,
    }
}

/// One cut of a bar, in order.
#[derive(Clone, Debug, PartialEq)]
pub struct Stop {
    pub mark: String,
    /// Long-point length.
    pub length_mm: f64,
    /// From the bar's end, its trim included, to the far long point.
    pub stop_mm: f64,
    /// Tilt of the cut at that end from square.
    pub angle_deg: f64,
    /// Laid end for end, and upside down.
    pub lies: Laid,
}

/// A part where it lies on its bar: the corners of its near and far end at the drawn bar's top and bottom, from the bar's end.
struct Piece<'a> {
    part: &'a bars::Part,
    lies: Laid,
    from: f64,
    to: f64,
    near: Spot,
    far: Spot,
    /// Where the short points of ends lie that are cut in the plane that is not drawn.
    behind: Vec<f64>,
}

fn pieces<'a>(problem: &'a bars::Problem, bar: &Bar, drawn: Plane) -> Vec<Piece<'a>> {
    let stock = problem.stock.iter().find(|stock| stock.id == bar.stock);
    let kerf = problem.kerf.mm();
    let mut x = stock.and_then(|stock| stock.end_trim).unwrap_or(problem.end_trim).mm();
    let mut all = Vec::with_capacity(bar.parts.len());
    for (index, id) in bar.parts.iter().enumerate() {
        let Some(part) = problem.parts.iter().find(|part| part.id == *id) else { continue };
        let lies = bar.laid.as_ref().and_then(|laid| laid.get(index)).copied().unwrap_or_default();
        let long = part.length.mm();
        let [near, far] = leans(part, lies, drawn);
        let [near_extra, far_extra] = extra(part, lies, kerf);
        x += near_extra;
        let to = x + long;
        let behind = near.behind.map(|lean| x + lean).into_iter().chain(far.behind.map(|lean| to - lean)).collect();
        let (near, far) = (near.corners.map(|lean| x + lean), far.corners.map(|lean| to - lean));
        all.push(Piece { part, lies, from: x, to, near, far, behind });
        x = to + far_extra + kerf;
        if lies.shares_next
            && let Some(mitre) = &part.mitre
        {
            x -= freed(mitre, lies, kerf);
        }
    }
    all
}

/// Where the saw's stop stands for each part, in cutting order.
pub fn stops(problem: &bars::Problem, bar: &Bar) -> Vec<Stop> {
    let stop = |piece: Piece<'_>| Stop {
        mark: piece.part.id.clone(),
        length_mm: piece.part.length.mm(),
        stop_mm: piece.to,
        angle_deg: piece.part.mitre.as_ref().map_or(0.0, |mitre| mitre.ends[usize::from(!piece.lies.turned)].angle_deg),
        lies: piece.lies,
    };
    pieces(problem, bar, Plane::Depth).into_iter().map(stop).collect()
}

/// One bar of the plan, true to scale in length, depth and angles, seen on the side of its section in which most of its ends
/// are mitred (`size_mm`: depth and width of the section). Words stand below the bar; a part too short for its mark has its
/// place in the cutting order there, with a leader.
pub fn bar_picture(problem: &bars::Problem, bar: &Bar, size_mm: [f64; 2], units: Units, letters: Letters) -> Drawing {
    let stock = problem.stock.iter().find(|stock| stock.id == bar.stock);
    let length = stock.map_or(0.0, |stock| stock.length.mm());
    let text = (length / texts_along_bar(letters)).max(1.0);
    let drawn = drawn_plane(problem, bar);
    let thick = if drawn == Plane::Depth { size_mm[0] } else { size_mm[1] };
    let mut drawing = Drawing::new(format!("{} × {}", bar.count, bar.stock));
    drawing.description = described(problem, bar, units);
    drawing.rectangle(Ink::Kerf, [0.0, 0.0], [length, thick], None);
    let mut words = Words { row: thick + text, text, thick, until: 0.0 };
    for (nth, piece) in pieces(problem, bar, drawn).iter().enumerate() {
        let (id, shown) = (&piece.part.id, show_length(piece.part.length.mm(), units));
        let points = vec![[piece.near[0], 0.0], [piece.far[0], 0.0], [piece.far[1], thick], [piece.near[1], thick]];
        drawing.polygon(Ink::Part, points, Some(format!("{id}: {shown}")));
        for &x in &piece.behind {
            drawing.line(Ink::Note, [x, 0.0], [x, thick]);
        }
        words.below(
            &mut drawing,
            [piece.from, piece.to],
            [format!("{id}  {shown}"), id.clone(), (nth + 1).to_string()],
        );
    }
    let left = bar.remainder.mm() + bar.shared_gain.mm();
    if left > 0.0 {
        let (ink, fate) = if bar.kept { (Ink::Kept, "keep") } else { (Ink::Scrap, "scrap") };
        let from = length - left;
        let whole = format!("{fate} {}", show_length(left, units));
        drawing.rectangle(ink, [from, 0.0], [left, thick], Some(whole.clone()));
        if !bar.kept {
            hatch(&mut drawing, [from, 0.0], [left, thick], (thick * 0.7).min(text));
        }
        words.below(&mut drawing, [from, length], [whole, fate.to_owned(), String::new()]);
    }
    drawing.text(
        Ink::Note,
        [length / 2.0, words.row + text * 1.5],
        text,
        format!("{} of {}", bar.stock, show_length(length, units)),
    );
    drawing
}

/// The row of words below a bar.
struct Words {
    row: f64,
    text: f64,
    thick: f64,
    /// Where the words end that stand there already.
    until: f64,
}

impl Words {
    /// Words for what lies there: the first that its length has room for, else the last, moved on until it has.
    fn below(&mut self, drawing: &mut Drawing, [from, to]: Spot, words: [String; 3]) {
        let middle = (from + to) / 2.0;
        let half = |words: &str| width_of(words, self.text) / 2.0;
        let fits = |words: &&String| half(words) * 2.0 <= (to - from) * 0.95 && middle - half(words) >= self.until;
        let [.., last] = &words;
        let (words, at) = match words[..2].iter().find(fits) {
            Some(words) => (words, middle),
            None => (last, middle.max(self.until + half(last))),
        };
        if words.is_empty() {
            return;
        }
        if words == last {
            drawing.line(Ink::Note, [middle, self.thick * 0.7], [at, self.row - self.text * 0.6]);
        }
        drawing.text(Ink::Note, [at, self.row], self.text, words.clone());
        self.until = at + half(words) + self.text * 0.4;
    }
}

/// The side of the section in which most ends of the bar's parts are mitred.
fn drawn_plane(problem: &bars::Problem, bar: &Bar) -> Plane {
    let parts = bar.parts.iter().filter_map(|id| problem.parts.iter().find(|part| part.id == *id));
    let ends = parts.filter_map(|part| part.mitre.as_ref()).flat_map(|mitre| mitre.ends);
    let [depth, width] = ends.filter(|end| end.angle_deg != 0.0).fold([0, 0], |[depth, width], end| match end.plane {
        Plane::Depth => [depth + 1, width],
        Plane::Width => [depth, width + 1],
    });
    if width > depth { Plane::Width } else { Plane::Depth }
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

/// How far the points of an end stand back: at the drawn bar's top and bottom; or the short points behind its face, where the
/// end is cut in the other plane.
#[derive(Default)]
struct Lean {
    corners: Spot,
    behind: Option<f64>,
}

/// Of the near and the far end.
fn leans(part: &bars::Part, lies: Laid, drawn: Plane) -> [Lean; 2] {
    let Some(mitre) = &part.mitre else { return Default::default() };
    let back = |end: End| {
        let lean = side(mitre, end) * end.angle_deg.to_radians().tan();
        if end.plane != drawn {
            return Lean { corners: [0.0; 2], behind: (lean > 0.0).then_some(lean) };
        }
        let corners = match (end.long_point, lies.flipped) {
            (LongPoint::Top, false) | (LongPoint::Bottom, true) => [0.0, lean],
            _ => [lean, 0.0],
        };
        Lean { corners, behind: None }
    };
    [usize::from(lies.turned), usize::from(!lies.turned)].map(|end| back(mitre.ends[end]))
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

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

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
        let drawing = bar_picture(&problem, bar, [60.0, 40.0], Units::Metric, Letters::Usual);
        let reach = |wanted: Ink, of: fn(f64, f64) -> f64, start: f64| {
            drawing.shapes.iter().fold(start, |best, shape| match shape {
                Shape::Polygon { ink, points, .. } if *ink == wanted => points.iter().map(|p| p[0]).fold(best, of),
                _ => best,
            })
        };
        // A mitre is as steep as it is: 45° goes back as far as the drawn side is deep, the width of 40 mm.
        for shape in &drawing.shapes {
            if let Shape::Polygon { ink: Ink::Part, points, .. } = shape {
                assert_eq!(points.iter().map(|p| p[1]).fold(0.0, f64::max), 40.0);
                assert!(((points[0][0] - points[3][0]).abs() - 40.0).abs() < 1e-9, "{points:?}");
            }
        }
        let last_part = reach(Ink::Part, f64::max, 0.0);
        let remainder = reach(Ink::Kept, f64::min, 6000.0);
        let kerf = 2.0 / 45_f64.to_radians().cos();
        // Charged lengths and gains are rounded to tenths, each on the safe side.
        assert!((last_part + kerf - remainder).abs() < 1.0, "{last_part} + {kerf} against {remainder}");
    }

    fn plain_problem(parts: &[(i64, u32)]) -> bars::Problem {
        let part = |(nth, (mm, quantity)): (usize, &(i64, u32))| {
            Part::square(format!("P{}", nth + 1), Tenths(mm * 10), *quantity)
        };
        let stock = bars::Stock {
            id: "new".into(),
            length: Tenths(60_000),
            cost: None,
            quantity: None,
            offcut_value_per_m: Default::default(),
            end_trim: None,
        };
        bars::Problem {
            kerf: Tenths(25),
            end_trim: Tenths(80),
            keep_offcut: Tenths(5_000),
            stock: vec![stock],
            parts: parts.iter().enumerate().map(part).collect(),
        }
    }

    /// By hand: trim 8, then 1,000 to 1,008; kerf 2.5, then 500 to 1,510.5.
    #[test]
    fn a_stop_is_measured_from_the_end_of_the_bar() {
        let problem = plain_problem(&[(1000, 1), (500, 1)]);
        let bar = Bar {
            stock: "new".into(),
            count: 1,
            parts: vec!["P1".into(), "P2".into()],
            remainder: Tenths(44_870),
            kept: true,
            shared_gain: Tenths(0),
            laid: None,
        };
        let at: Vec<f64> = stops(&problem, &bar).iter().map(|stop| stop.stop_mm).collect();
        assert_eq!(at, [1008.0, 1510.5]);
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, cases: 48, ..ProptestConfig::default() })]

        /// Whatever is planned: parts, kerfs, trim and what is left fill the bar, and no words lie upon others.
        #[test]
        fn parts_fill_the_bar_and_words_keep_clear(parts in proptest::collection::vec((20_i64..2500, 1_u32..6), 1..7)) {
            let problem = plain_problem(&parts);
            let answer = bars::solve(&problem, Budget::preview(), &mut unwatched).unwrap();
            for bar in &answer.plan {
                let stops = stops(&problem, bar);
                let left = bar.remainder.mm();
                let last = stops.last().unwrap().stop_mm;
                prop_assert!((last + problem.kerf.mm() + left - 6000.0).abs() < 0.2 || left == 0.0 && last <= 6000.0);
                let sum: f64 = stops.iter().map(|stop| stop.length_mm).sum();
                prop_assert!((8.0 + sum + 2.5 * (stops.len() as f64 - 1.0) - last).abs() < 0.2);
                for letters in [Letters::Usual, Letters::Large] {
                    let boxes = bar_picture(&problem, bar, [60.0, 40.0], Units::Metric, letters).boxes_of_text();
                    for (at, one) in boxes.iter().enumerate() {
                        for other in &boxes[at + 1..] {
                            let apart = one[0] >= other[2] || other[0] >= one[2] || one[1] >= other[3] || other[1] >= one[3];
                            prop_assert!(apart, "{one:?} upon {other:?}");
                        }
                    }
                }
            }
        }
    }
}
