//! How a sheet is sawn on which the parts lie as they do: of all trees of guillotine cuts that free them the one that keeps
//! most, then the one with the fewest cuts, then with the fewest turns of the sheet, and the first cut along its length
//! where that is no worse.
//!
//! **Turns.** The cuts of a stage all run one way, so a sheet that goes through the saw stage after stage is turned once
//! between each two of them. Within a stage piece after piece is finished, each from its near end on.

use std::{cmp::Reverse, collections::HashMap};

use super::{
    Axis,
    fill::{Layout, Rect, Saw},
    model::Model,
};
use crate::nesting::Meter;

/// Sheets that fall into more different pieces than this stay as they are.
const MOST_PIECES: usize = 1_500;
/// And sheets with more parts: where a cut may run is looked for among all pairs of them.
const MOST_PARTS: usize = 300;

/// What a way to saw a piece is worth: more kept, then fewer cuts, then fewer stages.
type Worth = (i64, Reverse<u32>, Reverse<u32>);

/// Net cost, sheets, cuts, turns, and the kept remainders, longest first: what a handier plan has less of, and of the last more.
pub(super) type Handiness = (i128, usize, usize, u32, Reverse<Vec<(i64, i64)>>);

pub(super) fn handiness(plan: &[Layout]) -> Handiness {
    let turns = |sheet: &Layout| sheet.cuts.iter().map(|cut| cut.stage).max().map_or(0, |stages| stages - 1);
    let sides = |r: &Rect| (r.dx.max(r.dy), r.dx.min(r.dy));
    let mut kept: Vec<(i64, i64)> = plan.iter().flat_map(|sheet| sheet.kept.iter().map(sides)).collect();
    kept.sort_unstable_by_key(|&sides| Reverse(sides));
    (
        plan.iter().map(|sheet| sheet.cost).sum(),
        plan.len(),
        plan.iter().map(|sheet| sheet.cuts.len()).sum(),
        plan.iter().map(turns).sum(),
        Reverse(kept),
    )
}

/// The sheet sawn in the best way that is found; as it was where none is better.
pub(super) fn sawn(model: &Model, layout: &Layout, meter: &mut Meter) -> Layout {
    if layout.placed.len() > MOST_PARTS {
        return layout.clone();
    }
    let sheet = &model.kinds[layout.kind];
    let whole = Rect { x: 0, y: 0, dx: sheet.length, dy: sheet.width };
    let parts: Vec<Rect> = layout.placed.iter().map(|spot| spot.rect).collect();
    let given = layout.cuts.iter().map(|cut| ((cut.piece, cut.axis), cut.at)).collect();
    // A preview looks at the simplest sheets alone.
    let most = MOST_PIECES.min((meter.budget() / 200) as usize);
    let mut pieces = Pieces { model, most, worth: sheet.value > 0, given, places: HashMap::new(), known: Vec::new() };
    let root = pieces.look(whole, &parts);
    meter.spend(pieces.known.len() as u64 * 50);
    let Some((root, (_, axis))) = root.and_then(|root| Some((root, pieces.best(root, None)?))) else {
        return layout.clone();
    };
    let mut new = Layout { cuts: Vec::new(), kept: Vec::new(), ..layout.clone() };
    pieces.emit(root, axis, 1, &mut new);
    let worth: i128 = new.kept.iter().map(|r| i128::from(r.area()) * sheet.value).sum();
    new.cost = sheet.cost - worth;
    let allowed = new.cuts.iter().all(|cut| cut.stage <= model.max_stages);
    let one = |layout: &Layout| handiness(std::slice::from_ref(layout));
    if allowed && one(&new) <= one(layout) { new } else { layout.clone() }
}

/// A cut of a piece: where it runs, and the pieces before and behind it.
#[derive(Clone, Copy, Debug)]
struct Cut {
    at: i64,
    before: usize,
    behind: Option<usize>,
}

#[derive(Clone, Copy, Debug)]
enum Sawn {
    Part,
    /// Without parts: how much may be kept that is worth something.
    Empty(i64),
    /// By the direction of the first cut, x and y: what it comes to, the stage of that cut counted.
    Cut([Option<(Worth, Cut)>; 2]),
}

struct Pieces<'a> {
    model: &'a Model,
    most: usize,
    /// Whether remainders of this kind are worth anything.
    worth: bool,
    /// Where the pieces of the sheet as it is are cut.
    given: HashMap<(Rect, Axis), i64>,
    places: HashMap<Rect, usize>,
    known: Vec<(Rect, Sawn)>,
}

fn start(r: &Rect, axis: Axis) -> i64 {
    if axis == Axis::X { r.x } else { r.y }
}

fn end(r: &Rect, axis: Axis) -> i64 {
    if axis == Axis::X { r.x + r.dx } else { r.y + r.dy }
}

impl Pieces<'_> {
    /// Looks at a piece with these parts and at all that may come of it; `None` where that is too much.
    fn look(&mut self, r: Rect, parts: &[Rect]) -> Option<usize> {
        if let Some(&known) = self.places.get(&r) {
            return Some(known);
        }
        let sawn = if parts.is_empty() {
            Sawn::Empty(if self.worth && self.model.keeps(r.dx, r.dy) { r.area() } else { 0 })
        } else if parts == [r] {
            Sawn::Part
        } else {
            Sawn::Cut([self.cut(r, Axis::X, parts)?, self.cut(r, Axis::Y, parts)?])
        };
        if self.known.len() >= self.most {
            return None;
        }
        self.known.push((r, sawn));
        self.places.insert(r, self.known.len() - 1);
        Some(self.known.len() - 1)
    }

    /// The best cut of a piece in one direction, if there is any; `None` outside where there is too much to look at.
    fn cut(&mut self, r: Rect, axis: Axis, parts: &[Rect]) -> Option<Option<(Worth, Cut)>> {
        let mut best: Option<(Worth, Cut)> = None;
        for at in self.places(&r, axis, parts) {
            let (first, second) = self.halves(&r, axis, at);
            let (low, high): (Vec<Rect>, Vec<Rect>) = parts.iter().partition(|part| end(part, axis) <= at);
            let before = self.look(first, &low)?;
            let behind = match second {
                Some(second) => Some(self.look(second, &high)?),
                None => None,
            };
            let gone = (0, Reverse(0), Reverse(1));
            let one = self.best(before, Some(axis)).map(|(worth, _)| worth);
            let two = behind.map_or(Some(gone), |behind| self.best(behind, Some(axis)).map(|(worth, _)| worth));
            let (Some(a), Some(b)) = (one, two) else { continue };
            let worth = (a.0 + b.0, Reverse(a.1.0 + b.1.0 + 1), Reverse(a.2.0.max(b.2.0)));
            if best.is_none_or(|(most, _)| worth > most) {
                best = Some((worth, Cut { at, before, behind }));
            }
        }
        Some(best)
    }

    /// Where a cut frees a part on one side, or where the sheet as it is has one, and meets no part.
    fn places(&self, r: &Rect, axis: Axis, parts: &[Rect]) -> Vec<i64> {
        let kerf = self.model.kerf;
        let ends = parts.iter().flat_map(|part| [end(part, axis), start(part, axis) - kerf]);
        let mut places: Vec<i64> = ends.chain(self.given.get(&(*r, axis)).copied()).collect();
        places.sort_unstable();
        places.dedup();
        let meets = |at: i64| parts.iter().any(|part| end(part, axis) > at && start(part, axis) < at + kerf);
        places.retain(|&at| at > start(r, axis) && at < end(r, axis) && !meets(at));
        places
    }

    fn halves(&self, r: &Rect, axis: Axis, at: i64) -> (Rect, Option<Rect>) {
        let (size, rest) = (at - start(r, axis), end(r, axis) - at - self.model.kerf);
        let from = at + self.model.kerf;
        match axis {
            Axis::X => (Rect { dx: size, ..*r }, (rest > 0).then_some(Rect { x: from, dx: rest, ..*r })),
            Axis::Y => (Rect { dy: size, ..*r }, (rest > 0).then_some(Rect { y: from, dy: rest, ..*r })),
        }
    }

    /// What a piece comes to at best that a cut of this direction made, that cut's stage counted as the first; and the
    /// direction of its own first cut.
    fn best(&self, piece: usize, made_by: Option<Axis>) -> Option<(Worth, Option<Axis>)> {
        match self.known[piece].1 {
            Sawn::Part => Some(((0, Reverse(0), Reverse(1)), None)),
            Sawn::Empty(kept) => Some(((kept, Reverse(0), Reverse(1)), None)),
            Sawn::Cut([x, y]) => {
                let turned = |way: Option<(Worth, Cut)>, axis: Axis| {
                    let ((kept, cuts, Reverse(stages)), _) = way?;
                    let turn = u32::from(made_by.is_some_and(|made_by| made_by != axis));
                    Some(((kept, cuts, Reverse(stages + turn)), Some(axis)))
                };
                let (x, y) = (turned(x, Axis::X), turned(y, Axis::Y));
                // Along the length where that is as good: a rip comes before what is cut across.
                if x.map(|way| way.0) > y.map(|way| way.0) { x } else { y }
            }
        }
    }

    /// Writes down how a piece is sawn: all cuts of one direction from its near end on, then each piece that they give.
    fn emit(&self, piece: usize, axis: Option<Axis>, stage: u32, layout: &mut Layout) {
        let (mut rest, sawn) = self.known[piece];
        let Some(axis) = axis else {
            if matches!(sawn, Sawn::Empty(_)) && self.model.keeps(rest.dx, rest.dy) {
                layout.kept.push(rest);
            }
            return;
        };
        let (mut cuts, mut slabs) = (Vec::new(), Vec::new());
        self.run(piece, axis, stage, &mut cuts, &mut slabs);
        slabs.sort_unstable_by_key(|&(slab, _)| start(&self.known[slab].0, axis));
        let mut places: Vec<i64> = cuts.iter().map(|cut| cut.at).collect();
        places.sort_unstable();
        // Where the kerfs of two cuts meet, the far one must come first: then the order of the tree is kept.
        if places.windows(2).all(|two| two[0] + self.model.kerf < two[1]) {
            for (cut, at) in cuts.iter_mut().zip(places) {
                *cut = Saw { stage, piece: rest, axis, at };
                let (_, Some(behind)) = self.halves(&rest, axis, at) else { break };
                rest = behind;
            }
        }
        layout.cuts.extend(cuts);
        slabs.into_iter().for_each(|(slab, next)| self.emit(slab, next, stage + 1, layout));
    }

    /// The cuts of a piece in one direction, and the pieces that are then done, or turned for their own first cut.
    fn run(&self, piece: usize, axis: Axis, stage: u32, cuts: &mut Vec<Saw>, slabs: &mut Vec<(usize, Option<Axis>)>) {
        let (rect, Sawn::Cut([x, y])) = self.known[piece] else { return };
        let Some((_, cut)) = (if axis == Axis::X { x } else { y }) else { return };
        cuts.push(Saw { stage, piece: rect, axis, at: cut.at });
        for piece in std::iter::once(cut.before).chain(cut.behind) {
            match self.best(piece, Some(axis)) {
                Some((_, Some(next))) if next == axis => self.run(piece, axis, stage, cuts, slabs),
                best => slabs.push((piece, best.and_then(|(_, next)| next))),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::nesting::panels::{
        fill::{BY_CHANCE, FITS, Filler, Rules},
        first::Dice,
        small,
    };

    /// By hand: 2 × 2 parts of 30 × 20 with a kerf of 2 on 62 × 60. Two rips at 20 and 42 leave two strips and scrap; a cut
    /// across each strip frees its parts: four cuts and one turn. Cutting across first takes five; cutting the scrap off, then
    /// across, then each half along takes four and two turns.
    #[test]
    fn strips_are_ripped_and_then_cut_across() {
        let model = small::model(2, &[(62, 60, None)], &[(30, 20, 4)]);
        let mut filler = Filler::new(&model);
        let rules = Rules { fit: 0, split: 0, salt: 0 };
        filler.fill(0, &[0], &mut [4], rules);
        let mut layout = filler.layout();
        let lies = [(0, 0), (32, 0), (0, 22), (32, 22)];
        for (spot, (x, y)) in layout.placed.iter_mut().zip(lies) {
            spot.rect = Rect { x, y, dx: 30, dy: 20 };
        }
        // As if nothing were known of its cuts but that there are many.
        layout.cuts = vec![layout.cuts[0].clone(); 9];
        let sawn = small::metered(|meter| sawn(&model, &layout, meter));
        let told: Vec<(u32, Axis, i64)> = sawn.cuts.iter().map(|cut| (cut.stage, cut.axis, cut.at)).collect();
        assert_eq!(told, [(1, Axis::Y, 20), (1, Axis::Y, 42), (2, Axis::X, 30), (2, Axis::X, 30)]);
        assert_eq!(sawn.cuts[1].piece, Rect { x: 0, y: 22, dx: 62, dy: 38 }, "what lies behind the first rip");
        assert_eq!(handiness(&[sawn]).3, 1);
    }

    /// Fewest cuts, then fewest stages, over every tree of cuts at every tenth.
    fn least(kerf: i64, r: Rect, parts: &[Rect], made_by: Option<Axis>) -> Option<(u32, u32)> {
        if parts.is_empty() || parts == [r] {
            return Some((0, 0));
        }
        let mut best = None;
        for axis in [Axis::X, Axis::Y] {
            for at in start(&r, axis) + 1..end(&r, axis) {
                if parts.iter().any(|part| end(part, axis) > at && start(part, axis) < at + kerf) {
                    continue;
                }
                let (low, high): (Vec<Rect>, Vec<Rect>) = parts.iter().partition(|part| end(part, axis) <= at);
                let rest = end(&r, axis) - at - kerf;
                let (one, two) = match axis {
                    Axis::X => (Rect { dx: at - r.x, ..r }, Rect { x: at + kerf, dx: rest, ..r }),
                    Axis::Y => (Rect { dy: at - r.y, ..r }, Rect { y: at + kerf, dy: rest, ..r }),
                };
                let Some(a) = least(kerf, one, &low, Some(axis)) else { continue };
                let Some(b) = (if rest > 0 { least(kerf, two, &high, Some(axis)) } else { Some((0, 0)) }) else {
                    continue;
                };
                let way = (a.0 + b.0 + 1, a.1.max(b.1).max(1) + u32::from(made_by.is_some_and(|by| by != axis)));
                best = Some(best.map_or(way, |best: (u32, u32)| best.min(way)));
            }
        }
        best
    }

    /// Makes each cut on the pieces that there are; every part is one of them in the end.
    fn replay(kerf: i64, whole: Rect, layout: &Layout) {
        let mut pieces = vec![whole];
        for cut in &layout.cuts {
            let at = pieces.iter().position(|piece| *piece == cut.piece).expect("a piece that there is");
            let r = pieces.swap_remove(at);
            assert!(cut.at > start(&r, cut.axis) && cut.at < end(&r, cut.axis), "{cut:?} divides its piece");
            let (size, rest) = (cut.at - start(&r, cut.axis), end(&r, cut.axis) - cut.at - kerf);
            pieces.push(if cut.axis == Axis::X { Rect { dx: size, ..r } } else { Rect { dy: size, ..r } });
            if rest > 0 {
                let from = cut.at + kerf;
                let behind =
                    if cut.axis == Axis::X { Rect { x: from, dx: rest, ..r } } else { Rect { y: from, dy: rest, ..r } };
                pieces.push(behind);
            }
        }
        assert!(layout.placed.iter().all(|spot| pieces.contains(&spot.rect)), "{layout:?}");
    }

    /// Two parts a kerf and its width apart, as a plan may have them: the far cut comes first, or nothing would be left of it.
    #[test]
    fn where_kerfs_meet_the_far_cut_comes_first() {
        let model = small::model(2, &[(13, 4, None)], &[(6, 4, 1), (3, 4, 1)]);
        let spot = |t: usize, x: i64| {
            let rect = Rect { x, y: 0, dx: model.types[t].length, dy: 4 };
            crate::nesting::panels::fill::Spot { t, rect, turned: false }
        };
        let whole = Rect { x: 0, y: 0, dx: 13, dy: 4 };
        let cuts = vec![
            Saw { stage: 1, piece: whole, axis: Axis::X, at: 8 },
            Saw { stage: 1, piece: Rect { dx: 8, ..whole }, axis: Axis::X, at: 6 },
        ];
        let layout = Layout { kind: 0, placed: vec![spot(0, 0), spot(1, 10)], cuts, kept: Vec::new(), cost: 0 };
        let sawn = small::metered(|meter| sawn(&model, &layout, meter));
        replay(2, whole, &sawn);
        assert_eq!(sawn.cuts.iter().map(|cut| cut.at).collect::<Vec<_>>(), [8, 6]);
    }

    #[test]
    fn no_tree_has_fewer_cuts_or_stages() {
        let mut dice = Dice::new();
        for _ in 0..60 {
            let kerf = dice.below(3) as i64;
            let parts = small::parts(&mut dice, 3, 3, 1);
            let model = small::model(kerf, &[(6, 5, None)], &parts);
            let mut filler = Filler::new(&model);
            let order: Vec<usize> = (0..model.types.len()).collect();
            let mut wanted: Vec<u32> = model.types.iter().map(|t| t.demand).collect();
            let rules = Rules {
                fit: dice.below(u64::from(FITS)) as u8,
                split: dice.below(u64::from(BY_CHANCE) + 1) as u8,
                salt: dice.bits(),
            };
            filler.fill(0, &order, &mut wanted, rules);
            let layout = filler.layout();
            let placed: Vec<Rect> = layout.placed.iter().map(|spot| spot.rect).collect();
            let sawn = small::metered(|meter| sawn(&model, &layout, meter));
            let whole = Rect { x: 0, y: 0, dx: 6, dy: 5 };
            replay(kerf, whole, &sawn);
            let (cuts, stages) = least(kerf, whole, &placed, None).unwrap();
            let (_, _, has, turns, _) = handiness(&[sawn]);
            assert_eq!((has as u32, turns), (cuts, stages.max(1) - 1), "{parts:?}, kerf {kerf}");
        }
    }
}
