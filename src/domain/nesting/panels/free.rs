//! One sheet filled freely: parts at least a kerf apart, kept track of by the largest free rectangles.
//!
//! Parts and sheet grow by one kerf to the right and upwards; then "a kerf apart" is "not overlapping".

use super::{
    fill::{Layout, Rect, Rules, Spot},
    model::Model,
};

pub(super) fn fill(model: &Model, kind: usize, order: &[usize], wanted: &mut [u32], rules: Rules) -> (Layout, u64) {
    let sheet = &model.kinds[kind];
    let kerf = model.kerf;
    let mut free = vec![Rect { x: 0, y: 0, dx: sheet.length + kerf, dy: sheet.width + kerf }];
    let mut layout = Layout { kind, placed: Vec::new(), cuts: Vec::new(), kept: Vec::new(), cost: 0 };
    let mut work = 2;
    for &t in order {
        while wanted[t] > 0 {
            let mut best: Option<((i64, i64), Rect, bool)> = None;
            for r in &free {
                for (dx, dy, turned) in model.types[t].sizes(sheet) {
                    let (rx, ry) = (r.dx - dx - kerf, r.dy - dy - kerf);
                    if rx < 0 || ry < 0 {
                        continue;
                    }
                    let score = match rules.fit {
                        0 => (rx.min(ry), rx.max(ry)),
                        1 => (r.area(), rx.min(ry)),
                        2 => (rx.max(ry), rx.min(ry)),
                        _ if rules.split.is_multiple_of(2) => (r.x + dx, r.y),
                        _ => (r.y + dy, r.x),
                    };
                    if best.as_ref().is_none_or(|(least, _, _)| score < *least) {
                        best = Some((score, Rect { x: r.x, y: r.y, dx, dy }, turned));
                    }
                }
            }
            work += free.len() as u64 * 2;
            let Some((_, rect, turned)) = best else { break };
            free = without(free, grown(rect, kerf));
            work += (free.len() * free.len() / 4) as u64;
            layout.placed.push(Spot { t, rect, turned });
            wanted[t] -= 1;
        }
    }
    // The largest free rectangle that is worth keeping, then the largest of what that leaves, and so on.
    loop {
        let real = free.iter().map(|r| Rect { dx: r.dx - kerf, dy: r.dy - kerf, ..*r });
        let best =
            real.filter(|r| r.dx > 0 && r.dy > 0 && model.keeps(r.dx, r.dy)).max_by_key(|r| (r.area(), -r.x, -r.y));
        let Some(rect) = best else { break };
        free = without(free, grown(rect, kerf));
        layout.kept.push(rect);
    }
    let worth: i128 = layout.kept.iter().map(|r| i128::from(r.area()) * sheet.value).sum();
    layout.cost = sheet.cost - worth;
    (layout, work)
}

fn grown(rect: Rect, kerf: i64) -> Rect {
    Rect { dx: rect.dx + kerf, dy: rect.dy + kerf, ..rect }
}

fn holds(outer: &Rect, inner: &Rect) -> bool {
    outer.x <= inner.x
        && outer.y <= inner.y
        && outer.x + outer.dx >= inner.x + inner.dx
        && outer.y + outer.dy >= inner.y + inner.dy
}

/// The largest rectangles of what is free when this one is taken.
fn without(free: Vec<Rect>, taken: Rect) -> Vec<Rect> {
    let mut next: Vec<Rect> = Vec::with_capacity(free.len() + 4);
    for r in free {
        let (right, top) = (r.x + r.dx, r.y + r.dy);
        let (taken_right, taken_top) = (taken.x + taken.dx, taken.y + taken.dy);
        if taken.x >= right || taken_right <= r.x || taken.y >= top || taken_top <= r.y {
            next.push(r);
            continue;
        }
        if taken.x > r.x {
            next.push(Rect { dx: taken.x - r.x, ..r });
        }
        if taken_right < right {
            next.push(Rect { x: taken_right, dx: right - taken_right, ..r });
        }
        if taken.y > r.y {
            next.push(Rect { dy: taken.y - r.y, ..r });
        }
        if taken_top < top {
            next.push(Rect { y: taken_top, dy: top - taken_top, ..r });
        }
    }
    let all = next.clone();
    let mut place = 0;
    next.retain(|r| {
        let mine = place;
        place += 1;
        // Of two equal ones the first stays.
        !all.iter().enumerate().any(|(i, other)| i != mine && holds(other, r) && (other != r || i < mine))
    });
    next
}
