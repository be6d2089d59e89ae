//! Textbook frames with closed forms, and laws that hold for every frame.

use super::*;

pub(super) const E: f64 = 210_000.0;
pub(super) const G: f64 = 81_000.0;
/// RHS 60×40×3.
pub(super) const TUBE: Stiffness =
    Stiffness { e: E, g: G, area: 541.0, iy: 253_800.0, iz: 134_400.0, j: 292_800.0, shear: None };

pub(super) fn node(place: [f64; 3], held: [bool; 6]) -> Node {
    Node { place, held }
}

pub(super) const FREE: [bool; 6] = [false; 6];
pub(super) const FIXED: [bool; 6] = [true; 6];

pub(super) fn beam(a: usize, b: usize) -> Beam {
    let end = |node| End { node, ..End::default() };
    Beam { ends: [end(a), end(b)], up: [0.0, 0.0, 1.0], stiffness: TUBE }
}

/// Nodes along x at these places; the first held against all but turning about y, the others of `props` up and down.
pub(super) fn line(places: &[f64], props: &[usize]) -> Frame {
    let held = |nth: usize| match (nth, props.contains(&nth)) {
        (0, _) => [true, true, true, true, false, true],
        (_, true) => [false, true, true, false, false, false],
        _ => FREE,
    };
    Frame {
        nodes: places.iter().enumerate().map(|(nth, x)| node([*x, 0.0, 0.0], held(nth))).collect(),
        beams: (1..places.len()).map(|nth| beam(nth - 1, nth)).collect(),
        ..Frame::default()
    }
}

pub(super) fn down(beam: usize, from: f64, to: f64, per_mm: f64) -> BeamLoad {
    BeamLoad::Line { beam, from, to, per_mm: [[0.0, 0.0, -per_mm]; 2] }
}

pub(super) fn point(beam: usize, at: f64, newton: f64) -> BeamLoad {
    BeamLoad::Point { beam, at, force: [0.0, 0.0, -newton], moment: [0.0; 3] }
}

pub(super) fn solve(frame: &Frame, load: &Load) -> Solution {
    let solved = Solver::new(frame).unwrap().solve(load);
    assert!(solved.residual < 1e-9, "{}", solved.residual);
    solved
}

pub(super) fn near(found: f64, expect: f64) {
    assert!((found - expect).abs() <= 1e-6 * expect.abs().max(1e-6), "{found} instead of {expect}");
}

/// Sagging moment (tension below) at a place of a beam.
pub(super) fn sagging(frame: &Frame, load: &Load, solved: &Solution, beam: usize, at: f64) -> f64 {
    let solver = Solver::new(frame).unwrap();
    let run = Run { at: vec![at] };
    -run.forces(&solved.ends[beam], &solver.local(beam, &load.beams))[0][4]
}

/// Source: worked beam (gauthmath 1816589095596087, read), worked with PyNiteFEA 3.2.0 and by hand: 5 m span with 40 kN/m, 1 m overhang with
/// 20 kN at its tip. R 96 and 124 kN, +108 kNm at 3 m, −20 kNm over the support, the largest 115.2 kNm at 2.4 m.
#[test]
fn a_beam_with_an_overhang() {
    let frame = line(&[0.0, 5000.0, 6000.0], &[1]);
    let load = Load { beams: vec![down(0, 0.0, 5000.0, 40.0), point(1, 1000.0, 20_000.0)], ..Load::default() };
    let solved = solve(&frame, &load);
    near(solved.held[0][2], 96_000.0);
    near(solved.held[1][2], 124_000.0);
    near(sagging(&frame, &load, &solved, 0, 3000.0), 108e6);
    near(sagging(&frame, &load, &solved, 0, 5000.0), -20e6);
    let ends = &solved.ends[0];
    let run = Run { at: vec![0.0, 5000.0] };
    let solver = Solver::new(&frame).unwrap();
    let forces = run.forces(ends, &solver.local(0, &load.beams));
    let (at, peak) = peaks(5000.0, &forces[0], &forces[1]).next().unwrap();
    near(at, 2400.0);
    near(-peak[4], 115.2e6);
}

/// Source: mathalino.com (options printed): 10 m, 15 kN/m, equal overhangs of 2 m: +37.5 kNm in the middle, −30 over the supports, R = 75 kN.
#[test]
fn a_beam_with_two_overhangs() {
    let mut frame = line(&[0.0, 2000.0, 8000.0, 10_000.0], &[1, 2]);
    frame.nodes[0].held = [true, true, false, true, false, true];
    let load = Load {
        beams: (0..3).map(|nth| down(nth, 0.0, [2000.0, 6000.0, 2000.0][nth], 15.0)).collect(),
        ..Load::default()
    };
    let solved = solve(&frame, &load);
    near(solved.held[1][2], 75_000.0);
    near(sagging(&frame, &load, &solved, 1, 3000.0), 37.5e6);
    near(sagging(&frame, &load, &solved, 1, 0.0), -30e6);
}

/// Source: askfilo 3430333937373238 (statement read; worked with PyNiteFEA 3.2.0 and by hand): R 27.75 and 60.25 kN, 69.375, 50.625 and −37.5 kNm,
/// nothing at the tip. The published solution's −46.50 and −198.75 kNm are wrong.
#[test]
fn a_published_solution_is_wrong() {
    let frame = line(&[0.0, 8000.0, 9500.0], &[1]);
    let beams = vec![
        point(0, 2500.0, 25_000.0),
        point(0, 5500.0, 20_000.0),
        down(0, 2500.0, 5500.0, 6.0),
        point(1, 1500.0, 25_000.0),
    ];
    let load = Load { beams, ..Load::default() };
    let solved = solve(&frame, &load);
    near(solved.held[0][2], 27_750.0);
    near(solved.held[1][2], 60_250.0);
    near(sagging(&frame, &load, &solved, 0, 2500.0), 69.375e6);
    near(sagging(&frame, &load, &solved, 0, 5500.0), 50.625e6);
    let (support, tip) = (sagging(&frame, &load, &solved, 0, 8000.0), sagging(&frame, &load, &solved, 1, 1500.0));
    near(support, -37.5e6);
    assert!(tip.abs() < 1.0 && (support + 46.5e6).abs() > 1e6);
}

/// Source: textbook closed forms: a cantilever's tip moves F L³ / 3 E I + F L / G A, bends the other way by its other inertia, twists T L / G J,
/// and stretches F L / E A.
#[test]
fn a_cantilever_in_every_direction() {
    let l = 1200.0;
    for shear in [None, Some([216.0, 324.5])] {
        let mut bar = beam(0, 1);
        bar.stiffness.shear = shear;
        let frame = Frame {
            nodes: vec![node([0.0; 3], FIXED), node([l, 0.0, 0.0], FREE)],
            beams: vec![bar],
            ..Frame::default()
        };
        let push = NodeLoad { node: 1, force: [1000.0; 3], moment: [1000.0, 0.0, 0.0] };
        let solved = solve(&frame, &Load { nodes: vec![push], ..Load::default() });
        let sheared = |nth: usize| shear.map_or(0.0, |areas| 1000.0 * l / (G * areas[nth]));
        near(solved.moved[1][0], 1000.0 * l / (E * TUBE.area));
        near(solved.moved[1][1], 1000.0 * l.powi(3) / (3.0 * E * TUBE.iz) + sheared(0));
        near(solved.moved[1][2], 1000.0 * l.powi(3) / (3.0 * E * TUBE.iy) + sheared(1));
        near(solved.moved[1][3], 1000.0 * l / (G * TUBE.j));
    }
}

/// Source: textbook closed forms: both ends clamped under an even load: w L² / 12 at the ends, w L⁴ / 384 E I in the middle; with one end
/// released, w L² / 8 at the other.
#[test]
fn clamped_and_propped_beams() {
    let l = 3000.0;
    let mut frame = Frame {
        nodes: vec![node([0.0; 3], FIXED), node([l / 2.0, 0.0, 0.0], FREE), node([l, 0.0, 0.0], FIXED)],
        beams: vec![beam(0, 1), beam(1, 2)],
        ..Frame::default()
    };
    let load = Load { beams: vec![down(0, 0.0, l / 2.0, 2.0), down(1, 0.0, l / 2.0, 2.0)], ..Load::default() };
    let solved = solve(&frame, &load);
    near(solved.moved[1][2], -2.0 * l.powi(4) / (384.0 * E * TUBE.iy));
    near(sagging(&frame, &load, &solved, 0, 0.0), -2.0 * l * l / 12.0);
    frame.beams[1].ends[1].released[4] = true;
    let solved = solve(&frame, &load);
    near(sagging(&frame, &load, &solved, 0, 0.0), -2.0 * l * l / 8.0);
}

/// Source: statics. A rigid offset of 50 mm turns a pull into pull and moment; a support shared ½ and ½ answers evenly.
#[test]
fn offsets_and_shared_supports_follow_statics() {
    let mut frame = line(&[0.0, 1000.0, 2000.0], &[]);
    let half = |node| Place { node, offset: [0.0; 3], share: 0.5 };
    frame.supports.push(Support { places: vec![half(1), half(2)], along: [0.0, 0.0, 1.0], stiffness: 50.0 });
    let load = Load { beams: vec![point(0, 500.0, 900.0)], ..Load::default() };
    let solved = solve(&frame, &load);
    // About the first node: 900 × 500 = R (0.5 × 1000 + 0.5 × 2000).
    near(solved.supports[0], 300.0);
    near(solved.held[0][2], 600.0);
    let mut lifted = Frame {
        nodes: vec![node([0.0; 3], FIXED), node([1000.0, 0.0, 50.0], FREE)],
        beams: vec![beam(0, 1)],
        ..Frame::default()
    };
    lifted.beams[0].ends[1].offset = [0.0, 0.0, -50.0];
    let pull = NodeLoad { node: 1, force: [1000.0, 0.0, 0.0], moment: [0.0; 3] };
    let solved = solve(&lifted, &Load { nodes: vec![pull], ..Load::default() });
    near(solved.held[0][4], -50_000.0);
}

#[test]
fn a_mechanism_is_an_answer() {
    let mut frame = line(&[0.0, 1000.0], &[]);
    let fault = Solver::new(&frame).err().unwrap().to_string();
    assert!(fault.starts_with("the frame is a mechanism: node"), "{fault}");
    frame.beams[0].ends[1].node = 7;
    assert_eq!(Solver::new(&frame).err().unwrap().to_string(), "beam 0: it ends at a node that does not exist");
}

/// Source: the trailer's line beam D1, worked with PyNiteFEA 3.2.0 and by hand: coupling at 0, axle at 2640, bed from 1200 to 3600 mm under
/// 2.4525 kN/m: S 0.5351 kN, axle 5.3509 kN, +0.6421 kNm at the bed's front, +0.7005 at 1418 mm, −1.1301 at the axle.
#[test]
fn the_line_beam_of_a_trailer() {
    let frame = line(&[0.0, 1200.0, 2640.0, 3600.0], &[2]);
    let load = Load { beams: vec![down(1, 0.0, 1440.0, 2.4525), down(2, 0.0, 960.0, 2.4525)], ..Load::default() };
    let solved = solve(&frame, &load);
    let about =
        |found: f64, expect: f64| assert!((found - expect).abs() < 1e-4 * expect.abs() + 0.05, "{found} {expect}");
    about(solved.held[0][2], 535.1);
    about(solved.held[2][2], 5350.9);
    about(sagging(&frame, &load, &solved, 0, 1200.0) / 1e3, 642.1);
    about(sagging(&frame, &load, &solved, 1, 218.0) / 1e3, 700.5);
    about(sagging(&frame, &load, &solved, 1, 1440.0) / 1e3, -1130.1);
}
