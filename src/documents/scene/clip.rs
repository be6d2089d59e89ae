//! A flat outline cut into triangles, ear by ear (Meisters' two-ears theorem: a simple polygon always has one).

type Flat = [f64; 2];

fn twice_area(a: Flat, b: Flat, c: Flat) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

/// Indices of the triangles of a simple outline that runs anticlockwise. An outline that crosses itself gets what can be had.
pub fn triangles(outline: &[Flat]) -> Vec<[usize; 3]> {
    let mut left: Vec<usize> = (0..outline.len()).collect();
    let mut found = Vec::with_capacity(outline.len());
    while left.len() > 3 {
        let corners = |at: usize| {
            let count = left.len();
            [left[(at + count - 1) % count], left[at], left[(at + 1) % count]]
        };
        let ear = (0..left.len()).find(|&at| is_ear(outline, &left, corners(at)));
        let at = ear.unwrap_or(0);
        found.push(corners(at));
        left.remove(at);
    }
    if let [a, b, c] = left[..] {
        found.push([a, b, c]);
    }
    found
}

fn is_ear(outline: &[Flat], left: &[usize], [a, b, c]: [usize; 3]) -> bool {
    let [p, q, r] = [outline[a], outline[b], outline[c]];
    let inside = |s: Flat| twice_area(p, q, s) >= 0.0 && twice_area(q, r, s) >= 0.0 && twice_area(r, p, s) >= 0.0;
    twice_area(p, q, r) > 0.0 && !left.iter().any(|&other| ![a, b, c].contains(&other) && inside(outline[other]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_triangles_of_an_angle_fill_it() {
        let outline = [[0.0, 0.0], [50.0, 0.0], [50.0, 5.0], [5.0, 5.0], [5.0, 50.0], [0.0, 50.0]];
        let found = triangles(&outline);
        let areas = found.iter().map(|[a, b, c]| twice_area(outline[*a], outline[*b], outline[*c]) / 2.0);
        assert_eq!(found.len(), 4);
        assert!((areas.sum::<f64>() - 475.0).abs() < 1e-9);
    }
}
