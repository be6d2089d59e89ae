use super::*;
use crate::nesting::bars::Part;

fn end(angle_deg: f64, plane: Plane, long_point: LongPoint) -> End {
    End { angle_deg, plane, long_point }
}

fn part(ends: [End; 2], may_flip: bool, section: (i64, i64)) -> Part {
    let mitre = Mitre { section_depth: Tenths(section.0), section_width: Tenths(section.1), may_flip, ends };
    Part { id: String::new(), length: Tenths(5_000), quantity: 1, mitre: Some(mitre) }
}

fn problem(parts: Vec<Part>) -> Problem {
    Problem { kerf: Tenths(25), parts, ..Problem::default() }
}

/// The greatest gain by trying every order and every way of laying.
fn every_order(layer: &Layer<'_>, left: &mut Vec<usize>, last: Option<usize>) -> i64 {
    let mut best = 0;
    for at in 0..left.len() {
        let form = left.swap_remove(at);
        for way in &layer.ways[form] {
            let gain = last.map_or(0, |far| layer.gains[far][way.near]);
            best = best.max(gain + every_order(layer, left, Some(way.far)));
        }
        left.push(form);
        let end = left.len() - 1;
        left.swap(at, end);
    }
    best
}

/// A frame's sides: 100 × 50 mm, 45° at both ends with the long points on one side. Three lie so that each shares a cut with the
/// next when every second one is flipped. By hand: 2 × (50 + 2.5 · (√2 − 1)) = 2 × 51.0 mm.
#[test]
fn the_sides_of_a_frame_share_their_mitres() {
    let side = end(45.0, Plane::Width, LongPoint::Top);
    let problem = problem(vec![part([side, side], true, (1_000, 500)); 3]);
    let order = Layer::new(&problem).lay(&[0, 1, 2]);
    assert_eq!(order.gain, Tenths(2 * 510));
    let laid = order.laid.unwrap();
    assert_eq!(laid.iter().map(|l| l.shares_next).collect::<Vec<_>>(), [true, true, false]);
    assert_ne!(laid[0].flipped, laid[1].flipped);
    let stiff = Problem { parts: vec![part([side, side], false, (1_000, 500)); 3], ..problem };
    assert_eq!(Layer::new(&stiff).lay(&[0, 1, 2]).gain, Tenths(0));
}

#[test]
fn the_gain_is_the_greatest_and_the_heuristic_is_near_it() {
    let mut seed = 5_u64;
    let mut next = |most: u64| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) % most
    };
    let (mut all, mut quick) = (0, 0);
    for _ in 0..1_500 {
        let parts: Vec<Part> = (0..1 + next(6))
            .map(|_| {
                let ends = [(); 2].map(|()| {
                    let angle = [0.0, 30.0, 45.0, 45.0][next(4) as usize];
                    let plane = if next(3) == 0 { Plane::Depth } else { Plane::Width };
                    end(angle, plane, if next(2) == 0 { LongPoint::Top } else { LongPoint::Bottom })
                });
                part(ends, next(2) == 0, if next(3) == 0 { (500, 1_000) } else { (1_000, 500) })
            })
            .collect();
        let problem = problem(parts);
        let on_bar: Vec<usize> = (0..problem.parts.len()).collect();
        let mut layer = Layer::new(&problem);
        let mut forms: Vec<usize> = layer.forms.iter().flatten().copied().collect();
        let truth = every_order(&layer, &mut forms, None);
        let order = layer.lay(&on_bar);
        assert_eq!(order.gain.0, truth, "{problem:?}");
        assert_eq!(order, Layer::new(&problem).lay(&on_bar), "the same twice");
        // What is said of the order is true of it.
        let laid = order.laid.unwrap();
        let lies = |at: usize| {
            let mitre = problem.parts[order.parts[at]].mitre.as_ref().unwrap();
            let mut found = Vec::new();
            let ways = ways(mitre, &mut found);
            let way =
                ways.into_iter().find(|way| (way.laid.turned, way.laid.flipped) == (laid[at].turned, laid[at].flipped));
            let way = way.expect("laid in one of its ways");
            [found[way.near], found[way.far]]
        };
        let pairs = (1..laid.len()).filter(|&at| laid[at - 1].shares_next);
        assert_eq!(pairs.map(|at| shared(25, lies(at - 1)[1], lies(at)[0])).sum::<i64>(), order.gain.0);
        let counts = (0..layer.ways.len()).map(|form| layer.forms.iter().filter(|f| **f == Some(form)).count());
        let good = layer.good(&(0..layer.ways.len()).collect::<Vec<_>>(), &counts.collect::<Vec<_>>());
        assert_eq!(good.gain, layer.total(&good.links));
        assert!(good.gain <= truth);
        (all, quick) = (all + truth, quick + good.gain);
    }
    assert!(quick * 100 >= all * 98, "the heuristic keeps {quick} of {all}");
}
