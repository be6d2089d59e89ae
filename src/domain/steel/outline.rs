//! Closed outlines of straight edges and round corners, with their exact integrals; the same outlines are drawn.

/// A corner of an outline: its sharp point (x across, y up, mm) and the radius that rounds it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corner {
    pub x: f64,
    pub y: f64,
    pub radius: f64,
}

pub const fn corner(x: f64, y: f64, radius: f64) -> Corner {
    Corner { x, y, radius }
}

/// Area and moments about the axes through the origin: ∫dA, ∫x dA, ∫y dA, ∫x² dA, ∫y² dA, ∫xy dA, and the length around.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Integrals {
    pub area: f64,
    pub x: f64,
    pub y: f64,
    pub xx: f64,
    pub yy: f64,
    pub xy: f64,
    pub around: f64,
}

impl Integrals {
    /// About the centroid: (∫x² dA, ∫y² dA, ∫xy dA).
    pub fn central(&self) -> (f64, f64, f64) {
        (
            self.xx - self.x * self.x / self.area,
            self.yy - self.y * self.y / self.area,
            self.xy - self.x * self.y / self.area,
        )
    }
}

/// Nodes and weights of the eight-point Gauss–Legendre rule on [−1, 1]: exact for the straight edges, and to the last digits of a
/// double for arcs of up to a right angle.
const GAUSS: [(f64, f64); 4] = [
    (0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887_3),
    (0.796_666_477_413_626_7, 0.222_381_034_453_374_5),
    (0.960_289_856_497_536_3, 0.101_228_536_290_376_3),
];

/// The integrals of an outline that runs anticlockwise, by Green's theorem along its edges and arcs.
pub fn integrals(outline: &[Corner]) -> Integrals {
    let mut sum = Integrals::default();
    let arcs = arcs(outline);
    for (nth, arc) in arcs.iter().enumerate() {
        let next = &arcs[(nth + 1) % arcs.len()];
        let (from, to) = (arc.end(), next.start());
        let delta = [to[0] - from[0], to[1] - from[1]];
        along(&mut sum, |t| ([from[0] + t * delta[0], from[1] + t * delta[1]], delta));
        if next.radius > 0.0 {
            along(&mut sum, |t| next.at(t));
        }
    }
    sum
}

/// Adds the part of one edge or arc, given as point and derivative over t in [0, 1].
fn along(sum: &mut Integrals, path: impl Fn(f64) -> ([f64; 2], [f64; 2])) {
    for (node, weight) in GAUSS.into_iter().flat_map(|(node, weight)| [(-node, weight), (node, weight)]) {
        let ([x, y], [dx, dy]) = path((1.0 + node) / 2.0);
        let (dx, dy) = (dx * weight / 2.0, dy * weight / 2.0);
        sum.area += x * dy;
        sum.x += x * x / 2.0 * dy;
        sum.y -= y * y / 2.0 * dx;
        sum.xx += x * x * x / 3.0 * dy;
        sum.yy -= y * y * y / 3.0 * dx;
        sum.xy += x * x * y / 2.0 * dy;
        sum.around += dx.hypot(dy);
    }
}

/// The outline as points, each round corner as chords of at most so many degrees.
pub fn points(outline: &[Corner], chord_deg: f64) -> Vec<[f64; 2]> {
    let mut points = Vec::new();
    for arc in arcs(outline) {
        let chords = (arc.sweep.abs().to_degrees() / chord_deg).ceil().max(1.0) as usize;
        if arc.radius == 0.0 {
            points.push(arc.centre);
        } else {
            points.extend((0..=chords).map(|nth| arc.at(nth as f64 / chords as f64).0));
        }
    }
    points
}

/// Area and first moment about the level of what lies above it: −∮max(y − level, 0) dx and −½∮max(y − level, 0)² dx around the points.
fn above(points: &[[f64; 2]], level: f64) -> (f64, f64) {
    let mut sum = (0.0, 0.0);
    let mut before = points.last().copied().unwrap_or_default();
    for &here in points {
        let (from, to) = (before[1] - level, here[1] - level);
        let (high, low) = (from.max(to), from.min(to));
        if high > 0.0 {
            let dx = here[0] - before[0];
            // Of an edge that crosses the level only the part above it counts.
            let (share, low) = if low < 0.0 { (high / (high - low), 0.0) } else { (1.0, low) };
            sum.0 -= share * dx * (high + low) / 2.0;
            sum.1 -= share * dx * (high * high + high * low + low * low) / 6.0;
        }
        before = here;
    }
    sum
}

/// Plastic section modulus for bending about the horizontal: ∫|y − y_p| dA with as much area above y_p as below. Arcs are taken as
/// chords of three degrees, within 0.01 % for the sections here.
pub fn plastic_modulus(outline: &[Corner]) -> f64 {
    let points = points(outline, 3.0);
    let (mut low, mut high) =
        points.iter().fold((f64::MAX, f64::MIN), |(low, high), &[_, y]| (low.min(y), high.max(y)));
    // About the lowest level everything lies above.
    let (area, moment) = above(&points, low);
    let lowest = low;
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        if above(&points, middle).0 > area / 2.0 { low = middle } else { high = middle }
    }
    let level = (low + high) / 2.0;
    // Upper less lower first moment is that of the whole, so their sum is twice the upper less the whole.
    2.0 * above(&points, level).1 - (moment - area * (level - lowest))
}

/// A round corner as an arc; a sharp one has radius 0.
struct Arc {
    centre: [f64; 2],
    radius: f64,
    from: f64,
    sweep: f64,
}

impl Arc {
    /// Point and derivative over t in [0, 1].
    fn at(&self, t: f64) -> ([f64; 2], [f64; 2]) {
        let (sin, cos) = (self.from + t * self.sweep).sin_cos();
        (
            [self.centre[0] + self.radius * cos, self.centre[1] + self.radius * sin],
            [-self.radius * sin * self.sweep, self.radius * cos * self.sweep],
        )
    }

    fn start(&self) -> [f64; 2] {
        self.at(0.0).0
    }

    fn end(&self) -> [f64; 2] {
        self.at(1.0).0
    }
}

/// Every corner as the arc that touches both of its edges.
fn arcs(outline: &[Corner]) -> Vec<Arc> {
    let count = outline.len();
    (0..count)
        .map(|nth| {
            let (here, before, after) = (outline[nth], outline[(nth + count - 1) % count], outline[(nth + 1) % count]);
            let unit = |to: Corner| {
                let (dx, dy) = (to.x - here.x, to.y - here.y);
                let length = dx.hypot(dy);
                [dx / length, dy / length]
            };
            if here.radius == 0.0 {
                return Arc { centre: [here.x, here.y], radius: 0.0, from: 0.0, sweep: 0.0 };
            }
            let (back, ahead) = (unit(before), unit(after));
            let cos = back[0] * ahead[0] + back[1] * ahead[1];
            let half = cos.clamp(-1.0, 1.0).acos() / 2.0;
            let tangent = here.radius / half.tan();
            let bisector = [back[0] + ahead[0], back[1] + ahead[1]];
            let length = bisector[0].hypot(bisector[1]);
            let reach = here.radius / half.sin() / length;
            let centre = [here.x + bisector[0] * reach, here.y + bisector[1] * reach];
            let touch = [here.x + back[0] * tangent, here.y + back[1] * tangent];
            let turn = back[1] * ahead[0] - back[0] * ahead[1];
            let sweep = (std::f64::consts::PI - 2.0 * half) * turn.signum();
            Arc { centre, radius: here.radius, from: (touch[1] - centre[1]).atan2(touch[0] - centre[0]), sweep }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    fn close(found: f64, expect: f64) {
        assert!((found - expect).abs() <= 1e-9 * expect.abs().max(1.0), "{found} instead of {expect}");
    }

    fn rectangle(width: f64, depth: f64, radius: f64) -> [Corner; 4] {
        [corner(0.0, 0.0, radius), corner(width, 0.0, radius), corner(width, depth, radius), corner(0.0, depth, radius)]
    }

    #[test]
    fn a_rectangle_is_exact() {
        let found = integrals(&rectangle(30.0, 50.0, 0.0));
        let (ix, iy, ixy) = found.central();
        close(found.area, 1500.0);
        close(ix, 50.0 * 30f64.powi(3) / 12.0);
        close(iy, 30.0 * 50f64.powi(3) / 12.0);
        close(ixy, 0.0);
        close(found.around, 160.0);
        close(plastic_modulus(&rectangle(30.0, 50.0, 0.0)), 30.0 * 2500.0 / 4.0);
    }

    /// A square rounded until it is a circle: πr², πr⁴/4, 2πr; 4r³/3 within the chords' 0.01 %.
    #[test]
    fn a_circle_is_exact() {
        let circle = rectangle(40.0, 40.0, 20.0);
        let found = integrals(&circle);
        close(found.area, PI * 400.0);
        close(found.central().0, PI * 160_000.0 / 4.0);
        close(found.around, 40.0 * PI);
        let plastic = plastic_modulus(&circle);
        assert!((plastic / (4.0 * 8000.0 / 3.0) - 1.0).abs() < 1e-3, "{plastic}");
    }

    #[test]
    fn an_inner_corner_adds_its_fillet() {
        let sharp = [
            corner(0.0, 0.0, 0.0),
            corner(40.0, 0.0, 0.0),
            corner(40.0, 5.0, 0.0),
            corner(5.0, 5.0, 0.0),
            corner(5.0, 40.0, 0.0),
            corner(0.0, 40.0, 0.0),
        ];
        let mut filleted = sharp;
        filleted[3].radius = 6.0;
        close(integrals(&filleted).area - integrals(&sharp).area, 36.0 * (1.0 - PI / 4.0));
    }
}
