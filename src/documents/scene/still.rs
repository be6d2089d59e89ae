//! The still picture: seen from the front left and above, the farthest body drawn first.
//!
//! Bodies are taken as convex. Where a face of one has the whole of another before it, that plane says which hides which
//! (Newell, Newell and Sancha's tests, on bodies); else, as where bodies cut into one another, the nearer middle hides.

use super::{
    Layer, Look, Scene, Shown,
    mesh::{Mesh, cross, dot, minus, normal},
};
use crate::{
    documents::{
        drawing::{Drawing, Ink, Spot},
        solid::outline,
    },
    domain::{
        trailer::{Point, Trailer},
        weights::Weights,
        words::Words,
    },
};

/// From the side towards the front, and above the level.
const TURNED_DEG: f64 = 38.0;
const RAISED_DEG: f64 = 27.0;
/// Bodies that touch may lie so deep in one another.
const TOUCH_MM: f64 = 1.5;
/// A body with more faces than this is round: its outline and its ends are drawn.
const ROUND_FACES: usize = 12;

struct Eye {
    towards: Point,
    right: Point,
    up: Point,
}

struct Solid {
    mesh: Mesh,
    normals: Vec<Point>,
    look: Look,
    what: String,
    middle: f64,
    /// Its outline in the picture.
    seen: Vec<Spot>,
}

/// The trailer without its loads; what its parts are is told only with marks, which are in the workshop's words.
pub fn still(trailer: &Trailer, weights: &Weights, words: &Words, shown: Shown) -> Drawing {
    let scene = Scene::of(trailer, weights);
    let eye = Eye::new();
    let solids = solids(&scene, &eye);
    let mut drawing = Drawing::new(words.say("view-whole").text());
    drawing.description = words.say("view-whole-described").text();
    for at in order(&solids, &eye) {
        draw(&mut drawing, &solids[at], &eye, shown);
    }
    drawing
}

impl Eye {
    fn new() -> Self {
        let (turned, raised) = (TURNED_DEG.to_radians(), RAISED_DEG.to_radians());
        let towards = [-turned.sin() * raised.cos(), -turned.cos() * raised.cos(), raised.sin()];
        let right = [turned.cos(), -turned.sin(), 0.0];
        Self { towards, right, up: cross(towards, right) }
    }

    /// To the whole millimetre: the file stays small.
    fn sees(&self, point: Point) -> Spot {
        [dot(point, self.right).round(), -dot(point, self.up).round()]
    }
}

fn solids(scene: &Scene, eye: &Eye) -> Vec<Solid> {
    let mut solids = Vec::with_capacity(scene.parts.len());
    for part in scene.parts.iter().filter(|part| part.layer != Layer::Loads) {
        let own = &scene.meshes[part.mesh].1;
        let pieces = if part.plain.is_empty() { std::slice::from_ref(own) } else { &part.plain[..] };
        let what = format!("{} {}", part.mark, part.what).trim().to_owned();
        for piece in pieces.iter().filter(|piece| !piece.faces.is_empty()) {
            let mesh = piece.placed(&part.place);
            let [low, high] = mesh.bounds();
            let middle = dot([0, 1, 2].map(|axis| f64::midpoint(low[axis], high[axis])), eye.towards);
            let seen = outline(mesh.points().map(|point| eye.sees(point)).collect());
            let normals = mesh.faces.iter().map(|face| normal(face).unwrap_or_default()).collect();
            solids.push(Solid { mesh, normals, look: part.look, what: what.clone(), middle, seen });
        }
    }
    solids
}

/// Whether the first hides the second; none where neither hides the other.
fn hides(a: &Solid, b: &Solid, eye: &Eye) -> Option<bool> {
    if beside(&a.seen, &b.seen) || beside(&b.seen, &a.seen) {
        return None;
    }
    if let Some(before) = parted(a, b, eye) {
        return before.map(|before| !before);
    }
    parted(b, a, eye).unwrap_or(Some(a.middle > b.middle))
}

/// Whether an edge of the first convex outline has the whole second beyond it.
fn beside(a: &[Spot], b: &[Spot]) -> bool {
    (0..a.len()).any(|nth| {
        let (from, to) = (a[nth], a[(nth + 1) % a.len()]);
        let [dx, dy] = [to[0] - from[0], to[1] - from[1]];
        let length = dx.hypot(dy).max(1e-9);
        b.iter().all(|[x, y]| ((x - from[0]) * dy - (y - from[1]) * dx) / length > -TOUCH_MM)
    })
}

/// Where a face of the first has the whole second before it: whether the second is towards the eye there, or neither hides
/// the other because that plane is seen edge on.
fn parted(a: &Solid, b: &Solid, eye: &Eye) -> Option<Option<bool>> {
    let planes = a.mesh.faces.iter().zip(&a.normals);
    let clear = planes.filter_map(|(face, normal)| {
        let room = b.mesh.points().map(|point| dot(minus(point, face[0]), *normal)).fold(f64::INFINITY, f64::min);
        (room > -TOUCH_MM).then(|| (room, dot(*normal, eye.towards)))
    });
    let (_, facing) = clear.max_by(|a, b| a.0.total_cmp(&b.0))?;
    Some((facing.abs() > 1e-6).then_some(facing > 0.0))
}

/// From the farthest to the nearest. Where bodies hide one another in a ring, as bodies that touch or cut into one another may,
/// the least of what they hide is given up.
fn order(solids: &[Solid], eye: &Eye) -> Vec<usize> {
    let mut behind = vec![Vec::new(); solids.len()];
    for a in 0..solids.len() {
        for b in a + 1..solids.len() {
            match hides(&solids[a], &solids[b], eye) {
                Some(true) => behind[a].push(b),
                Some(false) => behind[b].push(a),
                None => {}
            }
        }
    }
    let mut drawn = Vec::with_capacity(solids.len());
    draw_in_order(&(0..solids.len()).collect::<Vec<_>>(), solids, &mut behind, &mut drawn);
    drawn
}

fn draw_in_order(bodies: &[usize], solids: &[Solid], behind: &mut [Vec<usize>], drawn: &mut Vec<usize>) {
    for ring in rings(bodies, behind) {
        if let [alone] = ring[..] {
            drawn.push(alone);
            continue;
        }
        let within = ring.iter().flat_map(|near| behind[*near].iter().map(move |far| (*near, *far)));
        let weakest = within
            .filter(|(_, far)| ring.contains(far))
            .map(|(near, far)| (near, far, common_area(&solids[near].seen, &solids[far].seen)))
            .min_by(|a, b| a.2.total_cmp(&b.2));
        if let Some((near, far, _)) = weakest {
            behind[near].retain(|other| *other != far);
        }
        draw_in_order(&ring, solids, behind, drawn);
    }
}

/// The area that two convex outlines have in common, mm² (Sutherland and Hodgman, Reentrant polygon clipping, 1974).
fn common_area(a: &[Spot], b: &[Spot]) -> f64 {
    let mut left = a.to_vec();
    for nth in 0..b.len() {
        let (from, to) = (b[nth], b[(nth + 1) % b.len()]);
        let out = |[x, y]: Spot| (x - from[0]) * (to[1] - from[1]) - (y - from[1]) * (to[0] - from[0]);
        let mut kept = Vec::with_capacity(left.len() + 1);
        for at in 0..left.len() {
            let (here, next) = (left[at], left[(at + 1) % left.len()]);
            let (is, will) = (out(here), out(next));
            if is <= 0.0 {
                kept.push(here);
            }
            if (is < 0.0 && will > 0.0) || (is > 0.0 && will < 0.0) {
                let part = is / (is - will);
                kept.push([here[0] + part * (next[0] - here[0]), here[1] + part * (next[1] - here[1])]);
            }
        }
        left = kept;
    }
    let doubled = |at: usize| {
        let (here, next) = (left[at], left[(at + 1) % left.len()]);
        here[0] * next[1] - next[0] * here[1]
    };
    ((0..left.len()).map(doubled).sum::<f64>() / 2.0).abs()
}

/// Bodies that hide one another in a ring, together; most are alone. Each ring stands after all that it hides (Tarjan, Depth-first
/// search and linear graph algorithms, 1972).
fn rings(bodies: &[usize], behind: &[Vec<usize>]) -> Vec<Vec<usize>> {
    struct Search<'a> {
        behind: &'a [Vec<usize>],
        found: Vec<Option<usize>>,
        count: usize,
        open: Vec<usize>,
        /// In a ring already, or none of those asked about.
        closed: Vec<bool>,
        rings: Vec<Vec<usize>>,
    }
    impl Search<'_> {
        /// The earliest found that it leads back to.
        fn visit(&mut self, body: usize) -> usize {
            let own = self.count;
            self.count += 1;
            self.found[body] = Some(own);
            self.open.push(body);
            let mut earliest = own;
            for &next in &self.behind[body] {
                if self.closed[next] {
                    continue;
                }
                let leads = match self.found[next] {
                    Some(found) => found,
                    None => self.visit(next),
                };
                earliest = earliest.min(leads);
            }
            if earliest == own {
                let from = self.open.iter().rposition(|open| *open == body).unwrap_or_default();
                let mut ring = self.open.split_off(from);
                ring.iter().for_each(|body| self.closed[*body] = true);
                ring.sort_unstable();
                self.rings.push(ring);
            }
            earliest
        }
    }
    let count = behind.len();
    let mut closed = vec![true; count];
    bodies.iter().for_each(|body| closed[*body] = false);
    let mut search = Search { behind, found: vec![None; count], count: 0, open: Vec::new(), closed, rings: Vec::new() };
    for body in bodies {
        if search.found[*body].is_none() {
            search.visit(*body);
        }
    }
    search.rings
}

fn draw(drawing: &mut Drawing, solid: &Solid, eye: &Eye, shown: Shown) {
    let ink = ink(solid.look);
    let mut title = (shown == Shown::Marks).then(|| solid.what.clone());
    let round = solid.mesh.faces.len() > ROUND_FACES;
    if round {
        let hull = outline(solid.mesh.points().map(|point| eye.sees(point)).collect());
        drawing.polygon(ink, hull.clone(), title.take());
        drawing.polygon(Ink::Shade, hull, None);
    }
    for (face, normal) in solid.mesh.faces.iter().zip(&solid.normals) {
        if dot(*normal, eye.towards) <= 1e-6 || (round && face.len() <= 8) {
            continue;
        }
        let spots: Vec<Spot> = face.iter().map(|point| eye.sees(*point)).collect();
        drawing.polygon(ink, spots.clone(), title.take());
        // Light falls from above and a little from the side.
        if normal[2] < 0.7 && !round {
            drawing.polygon(if normal[0].abs() > normal[1].abs() { Ink::DeepShade } else { Ink::Shade }, spots, None);
        }
    }
}

const fn ink(look: Look) -> Ink {
    match look {
        Look::Steel | Look::Aluminium => Ink::Member,
        Look::Drawbar => Ink::Drawbar,
        Look::Plate | Look::Rim | Look::White => Ink::Panel,
        Look::Wood => Ink::Wood,
        Look::Rubber => Ink::Tyre,
        Look::Dark => Ink::Dark,
        Look::Red => Ink::RedLens,
        Look::Amber => Ink::AmberLens,
        Look::Load => Ink::Load,
    }
}
#[cfg(test)]
mod tests {
    use super::{super::tests::demos, *};

    #[test]
    fn a_deck_hides_the_members_under_it_and_bodies_in_rings_stay_whole() {
        for (trailer, weights) in demos() {
            let (scene, eye) = (Scene::of(&trailer, &weights), Eye::new());
            let solids = solids(&scene, &eye);
            let drawn = order(&solids, &eye);
            let mut all = drawn.clone();
            all.sort_unstable();
            assert_eq!(all, (0..solids.len()).collect::<Vec<_>>(), "each is drawn once");
            let when = |at: usize| drawn.iter().position(|drawn| *drawn == at);
            let all_of = &solids;
            let are = |what: &'static str| (0..all_of.len()).filter(move |at| all_of[*at].what.contains(what));
            for deck in are("deck sheet") {
                for member in are("cross-member").filter(|at| common_area(&solids[deck].seen, &solids[*at].seen) > 1.0)
                {
                    assert!(when(member) < when(deck), "{} over {}", solids[member].what, solids[deck].what);
                }
            }
        }
    }

    #[test]
    fn squares_that_lie_over_one_another_share_a_quarter() {
        let square = |x: f64, y: f64| outline(vec![[x, y], [x + 2.0, y], [x + 2.0, y + 2.0], [x, y + 2.0]]);
        assert_eq!(common_area(&square(0.0, 0.0), &square(1.0, 1.0)), 1.0);
        assert_eq!(common_area(&square(0.0, 0.0), &square(0.0, 0.0)), 4.0);
        assert_eq!(common_area(&square(0.0, 0.0), &square(3.0, 0.0)), 0.0);
    }

    #[test]
    fn what_hides_one_another_stands_together_after_what_it_hides() {
        assert_eq!(rings(&[0, 1, 2, 3], &[vec![1], vec![2], vec![1, 3], vec![]]), [vec![3], vec![1, 2], vec![0]]);
        assert_eq!(
            rings(&[0, 2], &[vec![1], vec![2], vec![0], vec![]]),
            [vec![0], vec![2]],
            "of those asked about only"
        );
    }
}
