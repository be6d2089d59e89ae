//! Which loads ride together: every non-empty subset of a trip's loads, or for long trips those that can govern.

use super::{
    placing::PlacedTrip,
    stance::{Empty, Gear, Stance, Statics, Sums},
};

/// Up to here every subset of a trip is worked out.
pub(super) const MOST_ENUMERATED: usize = 10;

/// Loads that ride together, summed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Subset {
    pub trip: usize,
    /// Bit i: the trip's load i rides.
    pub mask: u64,
    pub sums: Sums,
    /// Σ m × play, kg mm: by so much the moments can move either way.
    pub play: f64,
    /// From the stated share of the heaviest payload on.
    pub loaded: bool,
}

struct Lot<'a> {
    trip: usize,
    of: &'a PlacedTrip,
    loaded_from_kg: f64,
}

impl Lot<'_> {
    fn subset(&self, mask: u64) -> Subset {
        let (mut sums, mut play) = (Sums::default(), 0.0);
        for (i, load) in self.of.loads.iter().enumerate().take(64) {
            if mask >> i & 1 == 1 {
                sums = sums.plus(load.body.into());
                play += load.body.mass_kg * load.play_mm;
            }
        }
        Subset { trip: self.trip, mask, sums, play, loaded: sums.mass > 0.0 && sums.mass >= self.loaded_from_kg }
    }
}

/// All subsets of all trips. Trips of more than ten loads give each load alone, all, the foremost, rearmost, leftmost and
/// rightmost one, two, three …, and what a search from these finds worse at the axle's place.
pub(super) fn subsets(
    trips: &[PlacedTrip],
    loaded_from: f64,
    gear: &Gear,
    empty: &Empty,
    stances: &[Stance],
    axle_mm: f64,
) -> Vec<Subset> {
    let heaviest = trips.iter().map(PlacedTrip::mass_kg).fold(0.0, f64::max);
    let mut all = Vec::new();
    for (trip, of) in trips.iter().enumerate() {
        let lot = Lot { trip, of, loaded_from_kg: loaded_from * heaviest };
        if of.loads.len() <= MOST_ENUMERATED {
            every(&lot, &mut all);
        } else {
            likely(&lot, gear, empty, stances, axle_mm, &mut all);
        }
    }
    all
}

/// Each subset is one load more than a smaller one.
fn every(lot: &Lot<'_>, all: &mut Vec<Subset>) {
    let first = all.len();
    for mask in 1..(1_u64 << lot.of.loads.len()) {
        let highest = 63 - mask.leading_zeros();
        let rest = mask & !(1 << highest);
        let mut subset = lot.subset(1 << highest);
        if rest > 0 {
            let smaller = &all[first + rest as usize - 1];
            subset.sums = subset.sums.plus(smaller.sums);
            subset.play += smaller.play;
        }
        subset.mask = mask;
        subset.loaded = subset.sums.mass > 0.0 && subset.sums.mass >= lot.loaded_from_kg;
        all.push(subset);
    }
}

fn likely(lot: &Lot<'_>, gear: &Gear, empty: &Empty, stances: &[Stance], axle_mm: f64, all: &mut Vec<Subset>) {
    let count = lot.of.loads.len().min(64);
    let mut masks: Vec<u64> = (0..count).map(|i| 1 << i).collect();
    for axis in [0, 1] {
        let mut order: Vec<usize> = (0..count).collect();
        order.sort_by(|&a, &b| lot.of.loads[a].body.centre[axis].total_cmp(&lot.of.loads[b].body.centre[axis]));
        for of in [order.clone(), order.into_iter().rev().collect()] {
            let mut mask = 0_u64;
            masks.extend(of.iter().map(|i| {
                mask |= 1 << i;
                mask
            }));
        }
    }
    let starts: Vec<Subset> = masks.iter().map(|&mask| lot.subset(mask)).collect();
    for stance in stances {
        let statics = Statics::new(gear, empty, stance, axle_mm);
        let base = empty.at(axle_mm, stance.out_mm);
        for worse in [coupling, share] {
            for sign in [1.0, -1.0] {
                let badness = |subset: &Subset| sign * worse(&statics, &base, subset, sign);
                masks.push(climb(lot, &starts, badness));
            }
        }
        for side in [-1.0, 1.0] {
            masks.push(climb(lot, &starts, |subset| wheel(&statics, &base, subset, side)));
        }
    }
    masks.sort_unstable();
    masks.dedup();
    all.extend(masks.into_iter().map(|mask| lot.subset(mask)));
}

fn whole(statics: &Statics, base: &Sums, subset: &Subset, shift: f64) -> Sums {
    let moved = Sums { along: subset.sums.along + shift * subset.play, ..subset.sums };
    base.plus(moved.moved(statics.out_mm))
}

fn coupling(statics: &Statics, base: &Sums, subset: &Subset, sign: f64) -> f64 {
    let whole = whole(statics, base, subset, -sign);
    whole.mass - statics.axle_kg(statics.moment(&whole))
}

fn share(statics: &Statics, base: &Sums, subset: &Subset, sign: f64) -> f64 {
    if !subset.loaded {
        return f64::NEG_INFINITY * sign;
    }
    coupling(statics, base, subset, sign) / (base.mass + subset.sums.mass)
}

fn wheel(statics: &Statics, base: &Sums, subset: &Subset, side: f64) -> f64 {
    let whole = whole(statics, base, subset, 1.0);
    let [left, right] = statics.wheels_kg(statics.axle_kg(statics.moment(&whole)), whole.across + side * subset.play);
    if side < 0.0 { left } else { right }
}

/// From the worst start, one load on or off as long as that is worse. For what is a sum over the loads (coupling, wheel) that
/// is the worst of all subsets.
fn climb(lot: &Lot<'_>, starts: &[Subset], badness: impl Fn(&Subset) -> f64) -> u64 {
    let Some(start) = starts.iter().max_by(|a, b| badness(a).total_cmp(&badness(b))) else { return 1 };
    let (mut mask, mut worst) = (start.mask, badness(start));
    loop {
        let near = (0..lot.of.loads.len().min(64)).map(|i| mask ^ 1 << i).filter(|&near| near != 0);
        let best = near.map(|near| (badness(&lot.subset(near)), near)).max_by(|a, b| a.0.total_cmp(&b.0));
        match best {
            Some((bad, near)) if bad > worst => (worst, mask) = (bad, near),
            _ => return mask,
        }
    }
}
