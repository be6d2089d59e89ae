//! Closed forms of textbook frames. Frame formulas (portals) from memory of the usual collections, derived again by slope deflection; the
//! others by unit loads. Where a closed form leaves out stretching, the members here are given a large area.

use super::{
    tests::{E, FIXED, FREE, G, TUBE, beam, down, line, near, node, point, sagging, solve},
    *,
};

const PINNED: [bool; 6] = [true, true, true, true, false, true];
/// Stretches a hundred-thousandth of what its members bend.
const STOUT: f64 = 1e5;

fn within(found: f64, expect: f64, share: f64) {
    assert!((found - expect).abs() <= share * expect.abs(), "{found} instead of {expect}");
}

/// Columns at x = 0 and `span`, held so at their feet, a beam between their tops; all in the plane of x and z. `ratio`: inertia of the beam
/// over the columns'.
fn portal(height: f64, span: f64, ratio: f64, feet: [bool; 6]) -> Frame {
    let place = |x: f64, z: f64, held| node([x, 0.0, z], held);
    let stout = |a: usize, b: usize, iy: f64| {
        let mut bar = beam(a, b);
        (bar.stiffness.area, bar.stiffness.iy, bar.up) = (STOUT, iy, [0.3, 0.0, 1.0]);
        bar
    };
    // Sideways out of its plane it is held as a portal in a building is.
    let top = [false, true, false, true, false, true];
    Frame {
        nodes: vec![place(0.0, 0.0, feet), place(0.0, height, top), place(span, height, top), place(span, 0.0, feet)],
        beams: vec![stout(0, 1, TUBE.iy), stout(1, 2, ratio * TUBE.iy), stout(2, 3, TUBE.iy)],
        ..Frame::default()
    }
}

/// Source: frame formulas (from memory): clamped feet, k = (I_b / I_c) (h / l). Side load H at the top: H h/2 (3k + 1)/(6k + 1) at the feet,
/// H h/2 · 3k/(6k + 1) at the corners. Even load: w l²/(12 (k + 2)) at the feet, twice that at the corners, thrust w l²/(4 h (k + 2)).
#[test]
fn a_portal_with_clamped_feet() {
    for (height, span, ratio) in [(2000.0, 3000.0, 1.0), (1500.0, 4000.0, 2.5), (3000.0, 2000.0, 0.4)] {
        let frame = portal(height, span, ratio, FIXED);
        let k = ratio * height / span;
        let side = NodeLoad { node: 1, force: [1000.0, 0.0, 0.0], moment: [0.0; 3] };
        let swayed = solve(&frame, &Load { nodes: vec![side], ..Load::default() });
        let half = 1000.0 * height / 2.0;
        within(swayed.held[0][4].abs(), half * (3.0 * k + 1.0) / (6.0 * k + 1.0), 1e-4);
        within(swayed.ends[1][4].abs(), half * 3.0 * k / (6.0 * k + 1.0), 1e-4);
        within(swayed.held[3][4], swayed.held[0][4], 1e-4);

        let pressed = solve(&frame, &Load { beams: vec![down(1, 0.0, span, 4.0)], ..Load::default() });
        let foot = 4.0 * span * span / (12.0 * (k + 2.0));
        within(pressed.held[0][4].abs(), foot, 1e-4);
        within(pressed.ends[1][4].abs(), 2.0 * foot, 1e-4);
        within(pressed.held[0][0], 4.0 * span * span / (4.0 * height * (k + 2.0)), 1e-4);
    }
}

/// Source: frame formulas (from memory): hinged feet, even load: w l²/(4 (2k + 3)) at the corners; side load: H h/2 at the corners.
#[test]
fn a_portal_with_hinged_feet() {
    let (height, span, ratio) = (1800.0, 2700.0, 1.6);
    let frame = portal(height, span, ratio, PINNED);
    let k = ratio * height / span;
    let load = Load { beams: vec![down(1, 0.0, span, 4.0)], ..Load::default() };
    let pressed = solve(&frame, &load);
    let corner = 4.0 * span * span / (4.0 * (2.0 * k + 3.0));
    within(pressed.ends[1][4].abs(), corner, 1e-4);
    within(sagging(&frame, &load, &pressed, 1, span / 2.0), 4.0 * span * span / 8.0 - corner, 1e-4);
    let side = NodeLoad { node: 2, force: [500.0, 0.0, 0.0], moment: [0.0; 3] };
    let swayed = solve(&frame, &Load { nodes: vec![side], ..Load::default() });
    within(swayed.ends[1][4].abs(), 500.0 * height / 2.0, 1e-4);
}

/// Source: textbook closed forms: a clamped beam under F at a from its first end: F a b²/l² and F a² b/l² at its ends, F a³ b³/(3 E I l³) under the
/// load; a torque there is shared T b/l and T a/l.
#[test]
fn a_clamped_beam_under_a_load_out_of_the_middle() {
    let (a, b) = (700.0, 1900.0);
    let l: f64 = a + b;
    let frame = Frame {
        nodes: vec![node([0.0; 3], FIXED), node([a, 0.0, 0.0], FREE), node([l, 0.0, 0.0], FIXED)],
        beams: vec![beam(0, 1), beam(1, 2)],
        ..Frame::default()
    };
    let push = NodeLoad { node: 1, force: [0.0, 0.0, -900.0], moment: [6e5, 0.0, 0.0] };
    let load = Load { nodes: vec![push], ..Load::default() };
    let solved = solve(&frame, &load);
    near(sagging(&frame, &load, &solved, 0, 0.0), -900.0 * a * b * b / (l * l));
    near(sagging(&frame, &load, &solved, 1, b), -900.0 * a * a * b / (l * l));
    near(solved.moved[1][2], -900.0 * (a * b).powi(3) / (3.0 * E * TUBE.iy * l.powi(3)));
    near(solved.held[0][3], -6e5 * b / l);
    near(solved.held[2][3], -6e5 * a / l);
}

/// Source: textbook closed forms: two even spans under an even load: 3/8, 10/8 and 3/8 of w l, −w l²/8 over the middle; a clamped and propped beam
/// under F in its middle: 5/16 F on the prop, 3/16 F l at the clamp.
#[test]
fn beams_over_more_supports_than_they_need() {
    let frame = line(&[0.0, 1500.0, 3000.0], &[1, 2]);
    let load = Load { beams: vec![down(0, 0.0, 1500.0, 3.0), down(1, 0.0, 1500.0, 3.0)], ..Load::default() };
    let solved = solve(&frame, &load);
    for (node, share) in [(0, 0.375), (1, 1.25), (2, 0.375)] {
        near(solved.held[node][2], share * 3.0 * 1500.0);
    }
    near(sagging(&frame, &load, &solved, 0, 1500.0), -3.0 * 1500.0 * 1500.0 / 8.0);

    let mut propped = line(&[0.0, 2000.0], &[1]);
    propped.nodes[0].held = FIXED;
    let load = Load { beams: vec![point(0, 1000.0, 800.0)], ..Load::default() };
    let solved = solve(&propped, &load);
    near(solved.held[1][2], 5.0 / 16.0 * 800.0);
    near(sagging(&propped, &load, &solved, 0, 0.0), -3.0 / 16.0 * 800.0 * 2000.0);
}

/// Source: textbook grillage: two beams on four supports that cross in their middles share a load there as I / l³, and move F l³ / 48 E I.
#[test]
fn a_grillage_of_two_beams() {
    let (l1, l2, i2) = (2000.0f64, 1200.0f64, 0.3 * TUBE.iy);
    let ends = [[-l1 / 2.0, 0.0, 0.0], [l1 / 2.0, 0.0, 0.0], [0.0, -l2 / 2.0, 0.0], [0.0, l2 / 2.0, 0.0]];
    // Held up and down, and against turning about their own line; free to bend.
    let hold = |nth: usize| {
        let along_x = nth < 2;
        [true, true, true, along_x, !along_x, true]
    };
    let mut nodes: Vec<Node> = ends.iter().enumerate().map(|(nth, place)| node(*place, hold(nth))).collect();
    nodes.push(node([0.0; 3], FREE));
    let mut beams: Vec<Beam> = (0..4).map(|nth| beam(nth, 4)).collect();
    for bar in &mut beams[2..] {
        bar.stiffness.iy = i2;
    }
    let frame = Frame { nodes, beams, ..Frame::default() };
    let push = NodeLoad { node: 4, force: [0.0, 0.0, -1000.0], moment: [0.0; 3] };
    let solved = solve(&frame, &Load { nodes: vec![push], ..Load::default() });
    let (k1, k2) = (TUBE.iy / l1.powi(3), i2 / l2.powi(3));
    near(2.0 * solved.held[0][2], 1000.0 * k1 / (k1 + k2));
    near(2.0 * solved.held[2][2], 1000.0 * k2 / (k1 + k2));
    near(solved.moved[4][2], -1000.0 / (48.0 * E * (k1 + k2)));
}

/// Source: by unit loads. A bar that runs a along x, b along y and c along z from its clamp, of a square section: a load down at the end of the
/// second arm moves it F (a³ + b³) / 3 E I + F a b² / G J; one along x at the end of the third moves it F (b³ + c³) / 3 E I + F b c² / G J
/// + F a (b² + c²) / E I + F a / E A.
#[test]
fn a_bar_bent_twice_in_space() {
    let (a, b, c) = (800.0f64, 500.0f64, 300.0f64);
    let mut frame = Frame {
        nodes: vec![node([0.0; 3], FIXED), node([a, 0.0, 0.0], FREE), node([a, b, 0.0], FREE), node([a, b, c], FREE)],
        beams: vec![beam(0, 1), beam(1, 2), beam(2, 3)],
        ..Frame::default()
    };
    for bar in &mut frame.beams {
        bar.stiffness.iz = TUBE.iy;
    }
    let (ei, gj, ea) = (E * TUBE.iy, G * TUBE.j, E * TUBE.area);
    let at = |node: usize, force: [f64; 3]| Load {
        nodes: vec![NodeLoad { node, force, moment: [0.0; 3] }],
        ..Load::default()
    };
    let down = solve(&frame, &at(2, [0.0, 0.0, -1000.0]));
    near(down.moved[2][2], -1000.0 * ((a.powi(3) + b.powi(3)) / (3.0 * ei) + a * b * b / gj));
    near(down.held[0][3].abs(), 1000.0 * b);
    near(down.held[0][4].abs(), 1000.0 * a);
    let pulled = solve(&frame, &at(3, [1000.0, 0.0, 0.0]));
    let bends = (b.powi(3) + c.powi(3)) / (3.0 * ei) + a * (b * b + c * c) / ei;
    near(pulled.moved[3][0], 1000.0 * (bends + b * c * c / gj + a / ea));
}

/// Source: mathalino.com (options printed): 10 m with overhangs of x at both ends under 15 kN/m: nothing in the middle at x = 2.5 m, and the least
/// largest moment with 5.86 m between the supports.
#[test]
fn overhangs_that_balance_a_beam() {
    let moments = |x: f64| {
        let mut frame = line(&[0.0, x, 10_000.0 - x, 10_000.0], &[1, 2]);
        frame.nodes[0].held = [true, true, false, true, false, true];
        let lengths = [x, 10_000.0 - 2.0 * x, x];
        let beams = (0..3).map(|nth| down(nth, 0.0, lengths[nth], 15.0)).collect();
        let load = Load { beams, ..Load::default() };
        let solved = solve(&frame, &load);
        [0.0, lengths[1] / 2.0].map(|at| sagging(&frame, &load, &solved, 1, at))
    };
    assert!(moments(2500.0)[1].abs() < 1.0);
    let most = |x: f64| moments(x).into_iter().map(f64::abs).fold(0.0, f64::max);
    let best = (10_000.0 - 5860.0) / 2.0;
    assert!(most(best) < most(best + 30.0) && most(best) < most(best - 30.0));
}

/// Source: worked checks D1 and D2 (with PyNiteFEA 3.2.0 and by hand): 300 kg 1600 mm behind the coupling of a trailer with its axle at 2640 mm: 1.8550 kNm
/// under it. D1 with a factor of 2.5 on two rails RHS 60×40×3: 1.413 kNm and 167.0 MPa each; on one drawbar at the bed's front: 1.605 kNm and 189.7 MPa.
#[test]
fn stresses_of_a_trailers_line_beam() {
    let frame = line(&[0.0, 1600.0, 2640.0], &[2]);
    let load = Load { beams: vec![point(0, 1600.0, 300.0 * 9.81)], ..Load::default() };
    let solved = solve(&frame, &load);
    within(sagging(&frame, &load, &solved, 0, 1600.0), 1.8550e6, 1e-4);

    let frame = line(&[0.0, 1200.0, 2640.0, 3600.0], &[2]);
    let load = Load { beams: vec![down(1, 0.0, 1440.0, 2.4525), down(2, 0.0, 960.0, 2.4525)], ..Load::default() };
    let solved = solve(&frame, &load);
    let tube: crate::steel::Section = "RHS 60x40x3".parse().unwrap();
    let modulus = tube.properties().wel_x_mm3;
    let rail = 2.5 * sagging(&frame, &load, &solved, 1, 1440.0).abs() / 2.0;
    let drawbar = 2.5 * sagging(&frame, &load, &solved, 0, 1200.0);
    for (moment, expect, stress) in [(rail, 1.413e6, 167.0), (drawbar, 1.605e6, 189.7)] {
        within(moment, expect, 5e-4);
        within(moment / modulus, stress, 5e-4);
    }
}
