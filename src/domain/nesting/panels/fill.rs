//! One sheet filled by guillotine cuts: parts placed one after another, each in a free piece that is then divided.

use super::{Axis, model::Model};

/// A piece of the sheet, inside the trim.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
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
pub(super) struct Piece {
    pub rect: Rect,
    pub stage: u32,
    pub axis: Option<Axis>,
}

impl Piece {
    pub fn next_stage(&self, axis: Axis) -> u32 {
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
    /// Decides by its bits where the rule for dividing is chance.
    pub salt: u64,
}

pub(super) const FITS: u8 = 4;
pub(super) const SPLITS: u8 = 5;
/// The rule for dividing by chance comes after the fixed ones.
pub(super) const BY_CHANCE: u8 = SPLITS;

/// A part as it may lie on a kind: size along x and y, whether turned.
type Way = (i64, i64, bool);

/// Fills one sheet after another, with buffers of its own.
pub(super) struct Filler<'m> {
    model: &'m Model,
    /// By kind and type.
    ways: Vec<Vec<Vec<Way>>>,
    free: Vec<Piece>,
    pub placed: Vec<Spot>,
    cuts: Vec<Saw>,
    kind: usize,
    /// Units since last taken.
    work: u64,
}

impl<'m> Filler<'m> {
    pub fn new(model: &'m Model) -> Self {
        let ways = |kind| model.types.iter().map(|t| t.sizes(kind).collect()).collect();
        Self {
            model,
            ways: model.kinds.iter().map(ways).collect(),
            free: Vec::new(),
            placed: Vec::new(),
            cuts: Vec::new(),
            kind: 0,
            work: 0,
        }
    }

    pub fn take_work(&mut self) -> u64 {
        std::mem::take(&mut self.work)
    }

    /// Fills a sheet with the wanted types in this order; takes what it places off `wanted`.
    pub fn fill(&mut self, kind: usize, order: &[usize], wanted: &mut [u32], rules: Rules) {
        let sheet = &self.model.kinds[kind];
        self.kind = kind;
        self.placed.clear();
        self.cuts.clear();
        self.free.clear();
        let whole = Rect { x: 0, y: 0, dx: sheet.length, dy: sheet.width };
        self.free.push(Piece { rect: whole, stage: 0, axis: None });
        let mut looks = 20;
        for &t in order {
            while wanted[t] > 0 {
                looks += self.free.len() as u64 + 2;
                let Some((at, (dx, dy, turned))) = self.choose(t, rules) else { break };
                let piece = self.free.swap_remove(at);
                self.divide(piece, dx, dy, rules);
                self.placed.push(Spot { t, rect: Rect { dx, dy, ..piece.rect }, turned });
                wanted[t] -= 1;
                looks += 2;
            }
        }
        self.work += looks / 3;
    }

    /// The sheet as it was filled last.
    pub fn layout(&self) -> Layout {
        let sheet = &self.model.kinds[self.kind];
        let kept: Vec<Rect> = self.free.iter().map(|p| p.rect).filter(|r| self.model.keeps(r.dx, r.dy)).collect();
        let worth: i128 = kept.iter().map(|r| i128::from(r.area()) * sheet.value).sum();
        let (placed, cuts) = (self.placed.clone(), self.cuts.clone());
        Layout { kind: self.kind, placed, cuts, kept, cost: sheet.cost - worth }
    }

    /// Place among the free pieces, and how the part lies in it.
    fn choose(&self, t: usize, rules: Rules) -> Option<(usize, Way)> {
        let mut best: Option<((i64, i64), (usize, Way))> = None;
        for (at, piece) in self.free.iter().enumerate() {
            for &(dx, dy, turned) in &self.ways[self.kind][t] {
                let (rx, ry) = (piece.rect.dx - dx, piece.rect.dy - dy);
                if rx < 0 || ry < 0 || !self.stages_suffice(piece, rx, ry) {
                    continue;
                }
                let score = match rules.fit {
                    0 => (rx.min(ry), rx.max(ry)),
                    1 => (piece.rect.area(), rx.min(ry)),
                    2 => (rx.max(ry), rx.min(ry)),
                    _ => (piece.rect.x + piece.rect.y, rx.min(ry)),
                };
                if best.as_ref().is_none_or(|(least, _)| score < *least) {
                    best = Some((score, (at, (dx, dy, turned))));
                }
            }
        }
        best.map(|(_, choice)| choice)
    }

    fn stages_suffice(&self, piece: &Piece, rx: i64, ry: i64) -> bool {
        self.model.max_stages == u32::MAX || (rx == 0 && ry == 0) || {
            let [x, y] = self.axes(piece, rx, ry);
            x || y
        }
    }

    /// The directions, x and y, in which the first cut may run so that the stages suffice.
    fn axes(&self, piece: &Piece, rx: i64, ry: i64) -> [bool; 2] {
        let last = |first: Axis, second: bool| piece.next_stage(first) + u32::from(second);
        [
            rx > 0 && last(Axis::X, ry > 0) <= self.model.max_stages,
            ry > 0 && last(Axis::Y, rx > 0) <= self.model.max_stages,
        ]
    }

    fn divide(&mut self, piece: Piece, dx: i64, dy: i64, rules: Rules) {
        let (rx, ry) = (piece.rect.dx - dx, piece.rect.dy - dy);
        if rx == 0 && ry == 0 {
            return;
        }
        let [x, y] = self.axes(&piece, rx, ry);
        let x_first = match rules.split {
            // The larger of the two pieces that are left stays whole.
            0 => rx * piece.rect.dy >= ry * piece.rect.dx,
            1 => rx >= ry,
            2 => rx < ry,
            3 => true,
            4 => false,
            _ => rules.salt >> (self.placed.len() % 64) & 1 == 1,
        };
        let first = if if x_first { x } else { x && !y } { Axis::X } else { Axis::Y };
        let rest = self.cut(piece, first, if first == Axis::X { dx } else { dy });
        let second = if first == Axis::X { Axis::Y } else { Axis::X };
        if (second == Axis::X && rx > 0) || (second == Axis::Y && ry > 0) {
            self.cut(rest, second, if second == Axis::X { dx } else { dy });
        }
    }

    /// One cut; the piece before it is returned, the piece behind it, if any is left past the kerf, is free.
    fn cut(&mut self, piece: Piece, axis: Axis, size: i64) -> Piece {
        let stage = piece.next_stage(axis);
        let r = piece.rect;
        let kerf = self.model.kerf;
        let (before, behind, at) = match axis {
            Axis::X => {
                let rest = r.dx - size - kerf;
                (Rect { dx: size, ..r }, Rect { x: r.x + size + kerf, dx: rest, ..r }, r.x + size)
            }
            Axis::Y => {
                let rest = r.dy - size - kerf;
                (Rect { dy: size, ..r }, Rect { y: r.y + size + kerf, dy: rest, ..r }, r.y + size)
            }
        };
        self.cuts.push(Saw { stage, piece: r, axis, at });
        if behind.dx > 0 && behind.dy > 0 {
            self.free.push(Piece { rect: behind, stage, axis: Some(axis) });
        }
        Piece { rect: before, stage, axis: Some(axis) }
    }
}
