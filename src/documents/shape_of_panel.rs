//! Outlines of a flat part: its rectangle less what is cut out, as closed lines; the outer one, notches and all, and inner windows.

use super::drawing::Spot;
use crate::domain::trailer::Panel;

/// Coordinates nearer than this are one, millimetres.
const SAME_MM: f64 = 0.01;

/// Closed outlines in millimetres from the part's corner, x along its length, y along its width upwards: outer ones run with the
/// part at their left (anticlockwise), windows the other way round.
pub(super) fn outlines(panel: &Panel) -> Vec<Vec<Spot>> {
    rectilinear([panel.length.mm(), panel.width.mm()], &panel.cut_outs)
}

fn rectilinear([length, width]: [f64; 2], cut_outs: &[[f64; 4]]) -> Vec<Vec<Spot>> {
    let stops = |axis: usize, end: f64| {
        let inside =
            cut_outs.iter().flat_map(|cut| [cut[axis], cut[axis] + cut[axis + 2]]).map(|at| at.clamp(0.0, end));
        let mut stops: Vec<f64> = inside.chain([0.0, end]).collect();
        stops.sort_by(f64::total_cmp);
        stops.dedup_by(|a, b| (*a - *b).abs() < SAME_MM);
        // The part's own size stands, whatever a cut-out's edge beside it says.
        if let Some(last) = stops.last_mut() {
            *last = end;
        }
        stops
    };
    let (xs, ys) = (stops(0, length), stops(1, width));
    let (columns, rows) = (xs.len() - 1, ys.len() - 1);
    let is_part = |column: usize, row: usize| {
        if column >= columns || row >= rows {
            return false;
        }
        let (x, y) = ((xs[column] + xs[column + 1]) / 2.0, (ys[row] + ys[row + 1]) / 2.0);
        !cut_outs.iter().any(|[cx, cy, cl, cw]| x > *cx && x < cx + cl && y > *cy && y < cy + cw)
    };
    // Edges between part and nothing, the part at the left of each.
    let mut edges: Vec<[(usize, usize); 2]> = Vec::new();
    for column in 0..columns {
        for row in 0..rows {
            if !is_part(column, row) {
                continue;
            }
            if row == 0 || !is_part(column, row - 1) {
                edges.push([(column, row), (column + 1, row)]);
            }
            if !is_part(column + 1, row) {
                edges.push([(column + 1, row), (column + 1, row + 1)]);
            }
            if !is_part(column, row + 1) {
                edges.push([(column + 1, row + 1), (column, row + 1)]);
            }
            if column == 0 || !is_part(column - 1, row) {
                edges.push([(column, row + 1), (column, row)]);
            }
        }
    }
    let mut outlines = Vec::new();
    while let Some([start, mut at]) = edges.pop() {
        let mut corners = vec![start];
        let mut from = start;
        while at != start {
            corners.push(at);
            // Where two corners of the part touch, the turn to the left stays with this outline.
            let turn = |to: (usize, usize)| {
                let [ax, ay] = [at.0 as f64 - from.0 as f64, at.1 as f64 - from.1 as f64];
                let [bx, by] = [to.0 as f64 - at.0 as f64, to.1 as f64 - at.1 as f64];
                ax * by - ay * bx
            };
            let next = (0..edges.len())
                .filter(|&edge| edges[edge][0] == at)
                .max_by(|&a, &b| turn(edges[a][1]).total_cmp(&turn(edges[b][1])));
            // Every edge has a next one: as many leave a corner as come to it.
            let Some(next) = next else { break };
            let [_, to] = edges.swap_remove(next);
            (from, at) = (at, to);
        }
        outlines.push(without_straights(corners.into_iter().map(|(column, row)| [xs[column], ys[row]]).collect()));
    }
    outlines.sort_by(|a, b| area(b).total_cmp(&area(a)));
    outlines
}

/// Twice the area, positive where it runs anticlockwise.
fn area(points: &[Spot]) -> f64 {
    let next = points.iter().cycle().skip(1);
    points.iter().zip(next).map(|([ax, ay], [bx, by])| ax * by - bx * ay).sum()
}

/// Without the corners at which nothing turns.
fn without_straights(points: Vec<Spot>) -> Vec<Spot> {
    let count = points.len();
    let turns = |at: usize| {
        let ([ax, ay], [bx, by], [cx, cy]) = (points[(at + count - 1) % count], points[at], points[(at + 1) % count]);
        ((bx - ax) * (cy - by) - (by - ay) * (cx - bx)).abs() > 1e-9
    };
    (0..count).filter(|at| turns(*at)).map(|at| points[at]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plain_plate_is_its_four_corners() {
        let found = rectilinear([100.0, 50.0], &[]);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].len(), 4);
        assert_eq!(area(&found[0]), 2.0 * 5000.0);
    }

    #[test]
    fn a_notch_belongs_to_the_outline_and_a_window_is_its_own() {
        let found = rectilinear([100.0, 50.0], &[[0.0, 0.0, 20.0, 10.0], [40.0, 20.0, 10.0, 10.0]]);
        assert_eq!(found.iter().map(Vec::len).collect::<Vec<_>>(), [6, 4]);
        assert_eq!(area(&found[0]), 2.0 * (5000.0 - 200.0));
        assert_eq!(area(&found[1]), -200.0);
    }

    #[test]
    fn a_cut_across_leaves_two_outlines() {
        let found = rectilinear([100.0, 50.0], &[[40.0, -5.0, 10.0, 60.0]]);
        assert_eq!(found.iter().map(|outline| area(outline) / 2.0).collect::<Vec<_>>(), [2500.0, 2000.0]);
    }

    proptest::proptest! {
        /// The outlines hold exactly what is left of the rectangle.
        #[test]
        fn areas_agree(cuts in proptest::collection::vec((0i32..90, 0i32..40, 1i32..40, 1i32..30), 0..6)) {
            let cuts: Vec<[f64; 4]> =
                cuts.into_iter().map(|(x, y, l, w)| [f64::from(x), f64::from(y), f64::from(l), f64::from(w)]).collect();
            let left = (0..100).flat_map(|x| (0..50).map(move |y| (f64::from(x) + 0.5, f64::from(y) + 0.5))).filter(|(x, y)| {
                !cuts.iter().any(|[cx, cy, l, w]| *x > *cx && *x < cx + l && *y > *cy && *y < cy + w)
            }).count();
            let found: f64 = rectilinear([100.0, 50.0], &cuts).iter().map(|outline| area(outline) / 2.0).sum();
            proptest::prop_assert_eq!(found, left as f64);
        }
    }
}
