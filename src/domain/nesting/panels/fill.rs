//! One sheet filled by guillotine cuts: parts placed one after another, each in a free piece that is then divided.

use super::{
    Axis,
    model::{Kind, Model},
};

/// A piece of the sheet, inside the trim.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Rect {
    pub x: i64,
    pub y: i64,
    pub dx: i64,
    pub dy: i64,
}

impl Rect {
    pub fn area(&self) -> i64 {
        self.dx * self.dy
    }
}

/// A free piece with the stage and direction of the cut that made it.
#[derive(Clone, Copy, Debug)]
struct Piece {
    rect: Rect,
    stage: u32,
    axis: Option<Axis>,
}

impl Piece {
    fn next_stage(&self, axis: Axis) -> u32 {
        if self.axis == Some(axis) { self.stage } else { self.stage + 1 }
    }
}

#[derive(Clone, Debug)]
pub(super) struct Spot {
    pub t: usize,
    pub rect: Rect,
    pub turned: bool,
}

#[derive(Clone, Debug)]
pub(super) struct Saw {
    pub stage: u32,
    pub piece: Rect,
    pub axis: Axis,
    pub at: i64,
}

/// A way to cut one sheet.
#[derive(Clone, Debug)]
pub(super) struct Layout {
    pub kind: usize,
    pub placed: Vec<Spot>,
    pub cuts: Vec<Saw>,
    pub kept: Vec<Rect>,
    pub cost: i128,
}

/// Where a part goes, and how the piece is divided then. Each field is one of a few rules, tried in turn.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rules {
    pub fit: u8,
    pub split: u8,
}

pub(super) const FITS: u8 = 4;
pub(super) const SPLITS: u8 = 5;

/// Fills a sheet with the wanted parts in this order; takes what it places off `wanted`. Returns the work done too.
pub(super) fn fill(model: &Model, kind: usize, order: &[usize], wanted: &mut [u32], rules: Rules) -> (Layout, u64) {
    let sheet = &model.kinds[kind];
    let whole = Rect { x: 0, y: 0, dx: sheet.length, dy: sheet.width };
    let mut free = vec![Piece { rect: whole, stage: 0, axis: None }];
    let mut layout = Layout { kind, placed: Vec::new(), cuts: Vec::new(), kept: Vec::new(), cost: 0 };
    let mut work = 2;
    for &t in order {
        while wanted[t] > 0 {
            work += free.len() as u64;
            let Some((at, dx, dy, turned)) = choose(model, sheet, &free, t, rules) else { break };
            let piece = free.swap_remove(at);
            let rect = Rect { dx, dy, ..piece.rect };
            divide(model, piece, dx, dy, rules, &mut free, &mut layout.cuts);
            layout.placed.push(Spot { t, rect, turned });
            wanted[t] -= 1;
        }
    }
    layout.kept = free.iter().map(|p| p.rect).filter(|r| model.keeps(r.dx, r.dy)).collect();
    let worth: i128 = layout.kept.iter().map(|r| i128::from(r.area()) * sheet.value).sum();
    layout.cost = sheet.cost - worth;
    (layout, work)
}

/// Place among the free pieces, size as it lies, whether turned.
type Choice = (usize, i64, i64, bool);

fn choose(model: &Model, sheet: &Kind, free: &[Piece], t: usize, rules: Rules) -> Option<Choice> {
    let mut best: Option<((i64, i64), Choice)> = None;
    for (at, piece) in free.iter().enumerate() {
        for (dx, dy, turned) in model.types[t].sizes(sheet) {
            let (rx, ry) = (piece.rect.dx - dx, piece.rect.dy - dy);
            if rx < 0 || ry < 0 || axes(model, piece, rx, ry).is_empty() {
                continue;
            }
            let score = match rules.fit {
                0 => (rx.min(ry), rx.max(ry)),
                1 => (piece.rect.area(), rx.min(ry)),
                2 => (rx.max(ry), rx.min(ry)),
                _ => (piece.rect.x + piece.rect.y, rx.min(ry)),
            };
            if best.as_ref().is_none_or(|(least, _)| score < *least) {
                best = Some((score, (at, dx, dy, turned)));
            }
        }
    }
    best.map(|(_, choice)| choice)
}

/// The directions in which the first cut may run so that the stages suffice.
fn axes(model: &Model, piece: &Piece, rx: i64, ry: i64) -> Vec<Axis> {
    let last = |first: Axis, second: bool| {
        let stage = piece.next_stage(first);
        if second { stage + 1 } else { stage }
    };
    let mut axes = Vec::new();
    if rx == 0 && ry == 0 {
        return vec![Axis::X];
    }
    if rx > 0 && last(Axis::X, ry > 0) <= model.max_stages {
        axes.push(Axis::X);
    }
    if ry > 0 && last(Axis::Y, rx > 0) <= model.max_stages {
        axes.push(Axis::Y);
    }
    axes
}

fn divide(model: &Model, piece: Piece, dx: i64, dy: i64, rules: Rules, free: &mut Vec<Piece>, cuts: &mut Vec<Saw>) {
    let (rx, ry) = (piece.rect.dx - dx, piece.rect.dy - dy);
    if rx == 0 && ry == 0 {
        return;
    }
    let allowed = axes(model, &piece, rx, ry);
    let x_first = match rules.split {
        // The larger of the two pieces that are left stays whole.
        0 => rx * piece.rect.dy >= ry * piece.rect.dx,
        1 => rx >= ry,
        2 => rx < ry,
        3 => true,
        _ => false,
    };
    let wish = if x_first { Axis::X } else { Axis::Y };
    let first = if allowed.contains(&wish) { wish } else { allowed.first().copied().unwrap_or(wish) };
    let rest = cut(model, piece, first, if first == Axis::X { dx } else { dy }, free, cuts);
    let second = if first == Axis::X { Axis::Y } else { Axis::X };
    if (second == Axis::X && rx > 0) || (second == Axis::Y && ry > 0) {
        cut(model, rest, second, if second == Axis::X { dx } else { dy }, free, cuts);
    }
}

/// One cut; the piece before it is returned, the piece behind it, if any is left past the kerf, is free.
fn cut(model: &Model, piece: Piece, axis: Axis, size: i64, free: &mut Vec<Piece>, cuts: &mut Vec<Saw>) -> Piece {
    let stage = piece.next_stage(axis);
    let r = piece.rect;
    let (before, behind, at) = match axis {
        Axis::X => {
            let rest = r.dx - size - model.kerf;
            (Rect { dx: size, ..r }, Rect { x: r.x + size + model.kerf, dx: rest, ..r }, r.x + size)
        }
        Axis::Y => {
            let rest = r.dy - size - model.kerf;
            (Rect { dy: size, ..r }, Rect { y: r.y + size + model.kerf, dy: rest, ..r }, r.y + size)
        }
    };
    cuts.push(Saw { stage, piece: r, axis, at });
    if behind.dx > 0 && behind.dy > 0 {
        free.push(Piece { rect: behind, stage, axis: Some(axis) });
    }
    Piece { rect: before, stage, axis: Some(axis) }
}
