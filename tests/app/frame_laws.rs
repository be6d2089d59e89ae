//! Laws of the frame analysis that hold for every frame: equilibrium, reciprocity, superposition, mirror, units, place. Each is worked from
//! the answer alone, not from what the solver says of itself.

use hitchwright::domain::strength::frame::{
    Beam, BeamLoad, End, Frame, Load, Node, NodeLoad, Place, Solution, Solver, Stiffness, Support,
    vector::{V3, add, cross, dot, norm, scaled, sub},
};
use proptest::{prelude::*, sample::Index, test_runner::RngSeed};

const FREE: [bool; 6] = [false; 6];
const FIXED: [bool; 6] = [true; 6];

fn laws() -> ProptestConfig {
    ProptestConfig { cases: 64, rng_seed: RngSeed::Fixed(31), failure_persistence: None, ..ProptestConfig::default() }
}

fn vector(most: f64) -> impl Strategy<Value = V3> {
    prop::array::uniform3(-most..most)
}

/// From a thin strip to a stout tube, lengths in mm.
fn stiffness() -> impl Strategy<Value = Stiffness> {
    let areas = prop::option::of([80.0..500.0f64, 80.0..500.0f64]);
    (150.0..1500.0f64, 1e4..2e6f64, 1e4..2e6f64, 1e3..3e6f64, areas).prop_map(|(area, iy, iz, j, shear)| Stiffness {
        e: 210_000.0,
        g: 81_000.0,
        area,
        iy,
        iz,
        j,
        shear,
    })
}

/// A chain of members from a clamped foot, every one running on in a direction of its own, some of them joined again across; eccentric ends,
/// hinges on what joins across, a spring below.
fn frame() -> impl Strategy<Value = Frame> {
    let step = (vector(1.0).prop_filter("a direction", |way| norm(*way) > 0.2), 250.0..1400.0f64)
        .prop_map(|(way, length)| scaled(way, length / norm(way)));
    let chain = prop::collection::vec((step, stiffness(), vector(1.0), vector(40.0)), 2..6);
    let across = prop::collection::vec((any::<Index>(), any::<Index>(), stiffness(), any::<[bool; 2]>()), 0..3);
    let spring = prop::option::of((any::<Index>(), vector(60.0), 1.0..1e4f64));
    (chain, across, spring, any::<bool>()).prop_map(|(chain, across, spring, clamped)| {
        let mut frame = Frame { nodes: vec![Node { place: [0.0; 3], held: FIXED }], ..Frame::default() };
        for (nth, (step, stiffness, up, offset)) in chain.into_iter().enumerate() {
            frame.nodes.push(Node { place: add(frame.nodes[nth].place, step), held: FREE });
            let ends = [End { node: nth, ..End::default() }, End { node: nth + 1, offset, ..End::default() }];
            frame.beams.push(Beam { ends, up, stiffness });
        }
        let last = frame.nodes.len() - 1;
        if clamped {
            frame.nodes[last].held = FIXED;
        }
        for (a, b, stiffness, [one, two]) in across {
            let (a, b) = (a.index(last + 1), b.index(last + 1));
            if norm(sub(frame.nodes[a].place, frame.nodes[b].place)) < 100.0 {
                continue;
            }
            let end = |node, released| End {
                node,
                released: [false, false, false, false, released, released],
                ..End::default()
            };
            frame.beams.push(Beam { ends: [end(a, one), end(b, two)], up: [0.1, 0.3, 1.0], stiffness });
        }
        if let Some((node, offset, stiffness)) = spring {
            let places = vec![
                Place { node: node.index(last + 1), offset, share: 0.5 },
                Place { node: last, offset: [0.0; 3], share: 0.5 },
            ];
            frame.supports.push(Support { places, along: [0.0, 0.6, 0.8], stiffness });
        }
        frame
    })
}

/// Forces and moments at joints, and on the first members.
#[derive(Clone, Debug)]
struct Pushes {
    joints: Vec<(Index, V3, V3)>,
    points: Vec<(Index, f64, V3, V3)>,
    lines: Vec<(Index, [f64; 2], [V3; 2])>,
}

fn pushes() -> impl Strategy<Value = Pushes> {
    let share = 0.0..1.0f64;
    (
        prop::collection::vec((any::<Index>(), vector(2e3), vector(1e6)), 1..4),
        prop::collection::vec((any::<Index>(), share.clone(), vector(2e3), vector(1e6)), 0..3),
        prop::collection::vec((any::<Index>(), [share.clone(), share], [vector(5.0), vector(5.0)]), 0..3),
    )
        .prop_map(|(joints, points, lines)| Pushes { joints, points, lines })
}

impl Pushes {
    fn on(&self, frame: &Frame) -> Load {
        let nodes = self.joints.iter().map(|(at, force, moment)| NodeLoad {
            node: at.index(frame.nodes.len()),
            force: *force,
            moment: *moment,
        });
        let length = |beam: usize| frame.beam_length(&frame.beams[beam]);
        let points = self.points.iter().map(|(at, share, force, moment)| {
            let beam = at.index(frame.beams.len());
            BeamLoad::Point { beam, at: share * length(beam), force: *force, moment: *moment }
        });
        let lines = self.lines.iter().map(|(at, shares, per_mm)| {
            let beam = at.index(frame.beams.len());
            let [a, b] = shares.map(|share| share * length(beam));
            BeamLoad::Line { beam, from: a.min(b), to: a.max(b), per_mm: *per_mm }
        });
        Load { nodes: nodes.collect(), beams: points.chain(lines).collect() }
    }

    /// Those on joints alone.
    fn at_joints(&self, frame: &Frame) -> Load {
        Load { beams: Vec::new(), ..self.on(frame) }
    }
}

fn solve(frame: &Frame, load: &Load) -> Solution {
    Solver::new(frame).expect("a frame that stands").solve(load)
}

/// All that a solution says as numbers of like size: forces of ends and holds in newtons, moments over a metre, springs.
fn forces(solution: &Solution) -> Vec<f64> {
    let ends = solution.ends.iter().flatten().enumerate().map(|(nth, v)| if nth % 6 < 3 { *v } else { v / 1e3 });
    let held = solution.held.iter().flatten().enumerate().map(|(nth, v)| if nth % 6 < 3 { *v } else { v / 1e3 });
    ends.chain(held).chain(solution.supports.iter().copied()).collect()
}

fn moved(solution: &Solution) -> Vec<f64> {
    solution.moved.iter().flatten().enumerate().map(|(nth, v)| if nth % 6 < 3 { *v } else { v * 1e3 }).collect()
}

/// Against the largest of them.
fn alike(found: &[f64], expect: &[f64]) -> Result<(), TestCaseError> {
    prop_assert_eq!(found.len(), expect.len());
    let most = expect.iter().fold(1e-9, |most: f64, value| most.max(value.abs()));
    for (nth, (found, expect)) in found.iter().zip(expect).enumerate() {
        prop_assert!((found - expect).abs() <= 1e-6 * most, "{nth}: {found} instead of {expect}, largest {most}");
    }
    Ok(())
}

/// Every vector of a frame and its load through one map of places and one of arrows (forces) and of turns (moments).
fn mapped(
    frame: &Frame,
    load: &Load,
    place: impl Fn(V3) -> V3,
    arrow: impl Fn(V3) -> V3,
    turn: impl Fn(V3) -> V3,
) -> (Frame, Load) {
    let (mut frame, mut load) = (frame.clone(), load.clone());
    for node in &mut frame.nodes {
        node.place = place(node.place);
    }
    for beam in &mut frame.beams {
        beam.up = arrow(beam.up);
        beam.ends.iter_mut().for_each(|end| end.offset = arrow(end.offset));
    }
    for support in &mut frame.supports {
        support.along = arrow(support.along);
        support.places.iter_mut().for_each(|at| at.offset = arrow(at.offset));
    }
    for on in &mut load.nodes {
        (on.force, on.moment) = (arrow(on.force), turn(on.moment));
    }
    for on in &mut load.beams {
        match on {
            BeamLoad::Point { force, moment, .. } => (*force, *moment) = (arrow(*force), turn(*moment)),
            BeamLoad::Line { per_mm, .. } => *per_mm = per_mm.map(&arrow),
        }
    }
    (frame, load)
}

fn scaled_load(load: &Load, by: f64, turn_by: f64) -> Load {
    let nodes =
        load.nodes.iter().map(|on| NodeLoad { force: scaled(on.force, by), moment: scaled(on.moment, turn_by), ..*on });
    let beams = load.beams.iter().map(|on| match *on {
        BeamLoad::Point { beam, at, force, moment } => {
            BeamLoad::Point { beam, at, force: scaled(force, by), moment: scaled(moment, turn_by) }
        }
        BeamLoad::Line { beam, from, to, per_mm } => {
            BeamLoad::Line { beam, from, to, per_mm: per_mm.map(|end| scaled(end, by)) }
        }
    });
    Load { nodes: nodes.collect(), beams: beams.collect() }
}

/// Work of a load on joints along a solution's movements, N mm.
fn work(load: &Load, along: &Solution) -> (f64, f64) {
    load.nodes.iter().fold((0.0, 0.0), |(sum, size), on| {
        let [x, y, z, rx, ry, rz] = along.moved[on.node];
        let parts = [dot(on.force, [x, y, z]), dot(on.moment, [rx, ry, rz])];
        (sum + parts[0] + parts[1], size + parts[0].abs() + parts[1].abs())
    })
}

/// Rodrigues' formula.
fn turned(axis: V3, angle: f64) -> impl Fn(V3) -> V3 {
    let axis = scaled(axis, 1.0 / norm(axis));
    move |v| {
        add(
            add(scaled(v, angle.cos()), scaled(cross(axis, v), angle.sin())),
            scaled(axis, dot(axis, v) * (1.0 - angle.cos())),
        )
    }
}

proptest! {
    #![proptest_config(laws())]

    /// Loads, holds and springs together push and turn nothing: Newton.
    #[test]
    fn loads_and_reactions_are_in_equilibrium(frame in frame(), pushes in pushes()) {
        let load = pushes.on(&frame);
        let solution = solve(&frame, &load);
        let (mut force, mut moment, mut size): (V3, V3, [f64; 2]) = ([0.0; 3], [0.0; 3], [1e-9; 2]);
        let mut count = |at: V3, f: V3, m: V3| {
            let turn = add(m, cross(at, f));
            (force, moment) = (add(force, f), add(moment, turn));
            size = [size[0] + norm(f), size[1] + norm(turn)];
        };
        for on in &load.nodes {
            count(frame.nodes[on.node].place, on.force, on.moment);
        }
        for on in &load.beams {
            let beam = &frame.beams[on.beam()];
            let [from, to] = [0, 1].map(|end| frame.end_place(&beam.ends[end]));
            let at = |along: f64| add(from, scaled(sub(to, from), along / norm(sub(to, from))));
            match *on {
                BeamLoad::Point { at: along, force, moment, .. } => count(at(along), force, moment),
                // A trapezium: its even part in the middle, its triangle at two thirds.
                BeamLoad::Line { from, to, per_mm: [a, b], .. } => {
                    let length = to - from;
                    count(at(from + length / 2.0), scaled(a, length), [0.0; 3]);
                    count(at(from + 2.0 * length / 3.0), scaled(sub(b, a), length / 2.0), [0.0; 3]);
                }
            }
        }
        for (node, [x, y, z, rx, ry, rz]) in frame.nodes.iter().zip(&solution.held) {
            count(node.place, [*x, *y, *z], [*rx, *ry, *rz]);
        }
        for (support, total) in frame.supports.iter().zip(&solution.supports) {
            for place in &support.places {
                count(add(frame.nodes[place.node].place, place.offset), scaled(support.along, total * place.share), [0.0; 3]);
            }
        }
        prop_assert!(norm(force) < 1e-7 * size[0] && norm(moment) < 1e-7 * size[1], "{force:?} {moment:?}");
        prop_assert!(solution.residual < 1e-7);
    }

    /// Betti and Maxwell: the first load does as much work along the second's movements as the second along the first's.
    #[test]
    fn two_loads_do_the_same_work_on_one_another(frame in frame(), one in pushes(), two in pushes()) {
        let (one, two) = (one.at_joints(&frame), two.at_joints(&frame));
        let (first, size) = work(&one, &solve(&frame, &two));
        let (second, other) = work(&two, &solve(&frame, &one));
        prop_assert!((first - second).abs() <= 1e-6 * size.max(other).max(1e-9), "{first} against {second}");
        // And no load can win work from a frame at rest.
        prop_assert!(work(&one, &solve(&frame, &one)).0 >= 0.0);
    }

    #[test]
    fn loads_add_up(frame in frame(), one in pushes(), two in pushes(), a in -3.0f64..3.0, b in -3.0f64..3.0) {
        let (one, two) = (one.on(&frame), two.on(&frame));
        let (p, q) = (scaled_load(&one, a, a), scaled_load(&two, b, b));
        let both = Load { nodes: [p.nodes, q.nodes].concat(), beams: [p.beams, q.beams].concat() };
        let [first, second, sum] = [&one, &two, &both].map(|load| solve(&frame, load));
        for of in [forces, moved] {
            let expect: Vec<f64> = of(&first).iter().zip(of(&second)).map(|(x, y)| a * x + b * y).collect();
            alike(&of(&sum), &expect)?;
        }
    }

    /// Seen in a mirror (y to −y) arrows keep their mirrored way, turns the other one; so in a member's own axes N, Vz and My stay, and Vy, T and Mz
    /// change their sign.
    #[test]
    fn a_mirrored_frame_gives_mirrored_forces(frame in frame(), pushes in pushes()) {
        let load = pushes.on(&frame);
        let arrow = |[x, y, z]: V3| [x, -y, z];
        let turn = |[x, y, z]: V3| [-x, y, -z];
        let (seen, seen_load) = mapped(&frame, &load, arrow, arrow, turn);
        let (plain, mirrored) = (solve(&frame, &load), solve(&seen, &seen_load));
        let flip = |nth: usize| if [1, 3, 5].contains(&(nth % 6)) { -1.0 } else { 1.0 };
        let expect = Solution {
            moved: plain.moved.iter().map(|six| [0, 1, 2, 3, 4, 5].map(|nth| six[nth] * flip(nth))).collect(),
            held: plain.held.iter().map(|six| [0, 1, 2, 3, 4, 5].map(|nth| six[nth] * flip(nth))).collect(),
            ends: plain.ends.iter().map(|ends| std::array::from_fn(|nth| ends[nth] * flip(nth))).collect(),
            ..plain.clone()
        };
        alike(&forces(&mirrored), &forces(&expect))?;
        alike(&moved(&mirrored), &moved(&expect))?;
    }

    /// Turned and carried to another place, every member feels the same in its own axes.
    #[test]
    fn where_it_stands_changes_nothing(frame in frame(), pushes in pushes(), axis in vector(1.0), angle in 0.1f64..6.0, to in vector(5e3)) {
        prop_assume!(norm(axis) > 0.1);
        let load = pushes.on(&frame);
        let turn = turned(axis, angle);
        // What needs a choice of its own is left out: a member whose `up` lies along it takes the axis of the frame that it is least along.
        let plain = frame.beams.iter().all(|beam| {
            let along = sub(frame.end_place(&beam.ends[1]), frame.end_place(&beam.ends[0]));
            norm(cross(along, beam.up)) > 1e-3 * norm(along)
        });
        prop_assume!(plain);
        let (other, other_load) = mapped(&frame, &load, |place| add(turn(place), to), &turn, &turn);
        let (here, there) = (solve(&frame, &load), solve(&other, &other_load));
        let ends = |of: &Solution| forces(&Solution { held: Vec::new(), ..of.clone() });
        alike(&ends(&there), &ends(&here))?;
        for (here, there) in here.moved.iter().zip(&there.moved) {
            let expect = turn([here[0], here[1], here[2]]);
            prop_assert!(norm(sub([there[0], there[1], there[2]], expect)) <= 1e-6 * norm(expect).max(1e-3));
        }
    }

    /// In other units the same frame moves by what their dimensions say: forces k, lengths c, stresses s.
    #[test]
    fn units_do_not_matter(frame in frame(), pushes in pushes(), c in 0.2f64..5.0, k in 0.2f64..5.0) {
        let load = pushes.on(&frame);
        let s = k / (c * c);
        let long = |v: V3| scaled(v, c);
        let (mut other, _) = mapped(&frame, &load, long, long, |v| v);
        for beam in &mut other.beams {
            let own = beam.stiffness;
            beam.stiffness = Stiffness {
                e: own.e * s,
                g: own.g * s,
                area: own.area * c * c,
                iy: own.iy * c.powi(4),
                iz: own.iz * c.powi(4),
                j: own.j * c.powi(4),
                shear: own.shear.map(|areas| areas.map(|area| area * c * c)),
            };
        }
        for support in &mut other.supports {
            support.along = scaled(support.along, 1.0 / c);
            support.stiffness *= k / c;
        }
        let mut other_load = scaled_load(&load, k, k * c);
        for on in &mut other_load.beams {
            match on {
                BeamLoad::Point { at, .. } => *at *= c,
                BeamLoad::Line { from, to, per_mm, .. } => {
                    (*from, *to, *per_mm) = (*from * c, *to * c, per_mm.map(|end| scaled(end, 1.0 / c)));
                }
            }
        }
        let (plain, scaled_up) = (solve(&frame, &load), solve(&other, &other_load));
        for (found, expect) in scaled_up.ends.iter().zip(&plain.ends) {
            let expect: Vec<f64> = expect.iter().enumerate().map(|(nth, v)| v * if nth % 6 < 3 { k } else { k * c }).collect();
            let most = expect.iter().fold(1e-6, |most: f64, v| most.max(v.abs()));
            for (found, expect) in found.iter().zip(&expect) {
                prop_assert!((found - expect).abs() <= 1e-5 * most.max(k * c), "{found} instead of {expect}");
            }
        }
        for (found, expect) in scaled_up.moved.iter().zip(&plain.moved) {
            for nth in 0..6 {
                let (by, least) = if nth < 3 { (c, c) } else { (1.0, 1e-3) };
                let expect = expect[nth] * by;
                let off = (found[nth] - expect).abs();
                prop_assert!(off <= 1e-5 * expect.abs().max(least), "{} instead of {expect}", found[nth]);
            }
        }
    }
}
