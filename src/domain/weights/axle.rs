//! The axle window and the place found in it.
//!
//! In every case the coupling load rises steadily as the axle goes back, so the places that keep it in its limits are one
//! interval, whose ends are where it meets its least and its largest value; the window is what all intervals have in common.
//! In 1/L the load is a straight line (nearly, when pitched), so a secant finds an end at once. Only a case that moves an end of
//! the window is solved for: the others are compared with it.

use serde::{Deserialize, Serialize};

use super::{
    cases::Scales,
    opening::{Opening, openings},
    stance::{Stance, Statics, Sums, limit_kg},
    subsets::Subset,
};
use crate::{
    road::seed,
    trailer::{AxlePlaceBy, Layout, Spec},
};

/// JSON knows no infinity: a kilometre stands for "without end".
pub(super) const ENDLESS_MM: f64 = 1e6;
/// The axle is never this near to the coupling; nearer still, the pitch behind a high or low vehicle would be steep and the load no longer
/// monotone in the place.
const NEAREST_MM: f64 = 600.0;
/// Passes over all cases until the place found stands still.
const MOST_PASSES: usize = 40;

/// Axle places (mm behind the coupling, drawbar in) that suit one case.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Interval {
    pub case: String,
    pub from_mm: f64,
    pub to_mm: f64,
    /// Least and largest coupling load that suit, kg; None without a limit.
    #[serde(default)]
    pub least_kg: f64,
    #[serde(default)]
    pub most_kg: Option<f64>,
    /// Counts as loaded: shares apply.
    #[serde(default)]
    pub loaded: bool,
    /// Axle place, mm, and coupling load there with the loads back and forward in their play, kg.
    #[serde(default)]
    pub line: Vec<[f64; 3]>,
    /// Sets the front end of the window, the rear end.
    #[serde(default)]
    pub sets: [bool; 2],
}

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct AxleWindow {
    /// Of the empty trailer, each trip, each load alone, and the cases that set an end.
    pub intervals: Vec<Interval>,
    /// What all cases have in common; None when empty.
    pub window_mm: Option<[f64; 2]>,
    /// When empty: the case that wants the axle furthest back and the one that wants it furthest forward.
    pub fight: Option<[String; 2]>,
    /// Least worst deviation from the target share, over loaded cases (over the empty one without loads).
    pub best_mm: f64,
    /// 55 to 65 % of the bed's length from its front (common practice, no source).
    pub rule_of_thumb_mm: [f64; 2],
    /// Cases behind the window.
    #[serde(default)]
    pub cases: usize,
    /// Where the two that fight would be content: no less than the first, no more than the second.
    #[serde(default)]
    pub fight_mm: Option<[f64; 2]>,
    /// When empty: what would open it.
    #[serde(default)]
    pub openings: Vec<Opening>,
}

impl AxleWindow {
    /// The case that asks for more on the coupling than may rest there: no axle place suits it, whatever else is moved.
    pub fn impossible(&self) -> Option<&Interval> {
        let beyond = |of: &&Interval| of.most_kg.map_or(0.0, |most| of.least_kg - most);
        self.intervals.iter().filter(|of| beyond(of) > 0.0).max_by(|a, b| beyond(a).total_cmp(&beyond(b)))
    }
}

/// All cases, for any place of the axle.
#[derive(Clone, Copy)]
pub(super) struct Cases<'a> {
    pub scales: Scales<'a>,
    pub stances: &'a [Stance],
    pub subsets: &'a [Subset],
}

/// One of them: a stance, and a subset of loads (None: empty).
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Which {
    pub stance: usize,
    pub subset: Option<usize>,
}

/// The two ends of the window and the cases that set them; empty when the first lies behind the second.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Ends {
    pub from: (f64, Option<Which>),
    pub to: (f64, Option<Which>),
}

impl Ends {
    pub fn window(&self) -> Option<[f64; 2]> {
        (self.from.0 <= self.to.0).then_some([self.from.0, self.to.0])
    }
}

const EMPTY: Subset = Subset { trip: 0, mask: 0, sums: Sums::ZERO, play: 0.0, loaded: false };

/// A stance with the axle at one place: what the empty trailer brings to every case.
struct Ready {
    statics: Statics,
    base: Sums,
    moment: f64,
}

impl Ready {
    /// Coupling load with the loads as far back as their play lets them and as far forward; and the mass.
    fn coupling_kg(&self, subset: &Subset) -> [f64; 3] {
        let mass = self.base.mass + subset.sums.mass;
        let loads = self.statics.moment(&subset.sums.moved(self.statics.out_mm));
        let middle = mass - self.statics.axle_kg(self.moment + loads);
        let play = subset.play / self.statics.lever_mm;
        [middle - play, middle + play, mass]
    }
}

impl<'a> Cases<'a> {
    fn ready(&self, stance: usize, axle_mm: f64) -> Ready {
        let stance = &self.stances[stance];
        let statics = Statics::new(self.scales.gear, self.scales.empty, stance, axle_mm);
        let base = self.scales.empty.at(axle_mm, stance.out_mm);
        Ready { statics, base, moment: statics.moment(&base) }
    }

    fn subset(&self, which: Which) -> &'a Subset {
        which.subset.and_then(|index| self.subsets.get(index)).unwrap_or(&EMPTY)
    }

    fn of_stance(&self, stance: usize) -> impl Iterator<Item = Which> + use<> {
        std::iter::once(None).chain((0..self.subsets.len()).map(Some)).map(move |subset| Which { stance, subset })
    }

    /// Least and largest coupling load that suit a case, kg.
    pub fn limits_kg(&self, which: Which, mass_kg: f64) -> [f64; 2] {
        let spec = self.scales.spec;
        let gear = &spec.design.running_gear;
        let least = seed().region(&spec.need.usage.region).map_or(0.0, |region| region.least_coupling_kg(mass_kg));
        let limit = limit_kg(spec, &self.stances[which.stance]);
        if self.subset(which).loaded {
            [least.max(gear.least_share * mass_kg), limit.min(gear.most_share * mass_kg)]
        } else {
            [least, limit]
        }
    }

    fn nearest_mm(&self) -> f64 {
        self.scales.gear.half_pair_mm + NEAREST_MM
    }

    /// Where the coupling load of a case (loads back: 0, forward: 1) is `wanted`; without end when it never gets there.
    fn place_of(&self, which: Which, side: usize, wanted: f64) -> f64 {
        let subset = self.subset(which);
        let over = |inverse: f64| self.ready(which.stance, 1.0 / inverse).coupling_kg(subset)[side] - wanted;
        1.0 / root(over, 1.0 / ENDLESS_MM, 1.0 / self.nearest_mm())
    }

    pub fn interval(&self, which: Which) -> [f64; 2] {
        let [.., mass] = self.ready(which.stance, self.nearest_mm()).coupling_kg(self.subset(which));
        let [least, most] = self.limits_kg(which, mass);
        let to = if most.is_finite() { self.place_of(which, 1, most) } else { ENDLESS_MM };
        [self.place_of(which, 0, least), to]
    }

    /// What all intervals have in common.
    pub fn ends(&self) -> Ends {
        let mut ends = Ends { from: (self.nearest_mm(), None), to: (ENDLESS_MM, None) };
        for stance in 0..self.stances.len() {
            let (mut at_from, mut at_to) = (self.ready(stance, ends.from.0), self.ready(stance, ends.to.0));
            for which in self.of_stance(stance) {
                let subset = self.subset(which);
                let [least_there, _, mass] = at_from.coupling_kg(subset);
                let [least, most] = self.limits_kg(which, mass);
                if least_there < least - 1e-9 {
                    ends.from = (self.place_of(which, 0, least), Some(which));
                    at_from = self.ready(stance, ends.from.0);
                }
                if at_to.coupling_kg(subset)[1] > most + 1e-9 {
                    ends.to = (self.place_of(which, 1, most), Some(which));
                    at_to = self.ready(stance, ends.to.0);
                }
            }
        }
        ends
    }

    /// Least and largest share over the cases that count, with the axle here.
    fn shares(&self, axle_mm: f64, counts: impl Fn(&Subset) -> bool) -> [(f64, Which); 2] {
        let first = Which { stance: 0, subset: None };
        let mut found = [(f64::INFINITY, first), (f64::NEG_INFINITY, first)];
        for stance in 0..self.stances.len() {
            let ready = self.ready(stance, axle_mm);
            for which in self.of_stance(stance) {
                let subset = self.subset(which);
                if counts(subset) {
                    let [least, most, mass] = ready.coupling_kg(subset);
                    if least / mass < found[0].0 {
                        found[0] = (least / mass, which);
                    }
                    if most / mass > found[1].0 {
                        found[1] = (most / mass, which);
                    }
                }
            }
        }
        found
    }

    /// Where the worst deviations from the target share on both sides are equal, between these places. Largest + least share
    /// rises with the axle's place; the two cases that make them are solved for, until they stay the same two.
    fn best(&self, target: f64, [mut low, mut high]: [f64; 2]) -> f64 {
        let any_loaded = self.subsets.iter().any(|subset| subset.loaded);
        let counts = |subset: &Subset| subset.loaded || !any_loaded;
        let balance = |[least, most]: [(f64, Which); 2]| least.0 + most.0 - 2.0 * target;
        if balance(self.shares(low, counts)) >= 0.0 {
            return low;
        }
        let mut worst = self.shares(high, counts);
        if balance(worst) <= 0.0 {
            return high;
        }
        for _ in 0..MOST_PASSES {
            let share = |axle_mm: f64, (_, which): (f64, Which), side: usize| {
                let found = self.ready(which.stance, axle_mm).coupling_kg(self.subset(which));
                found[side] / found[2]
            };
            let pair =
                |inverse: f64| share(1.0 / inverse, worst[0], 0) + share(1.0 / inverse, worst[1], 1) - 2.0 * target;
            let mut tried = 1.0 / root(pair, 1.0 / high, 1.0 / low);
            if high - low < 1e-3 {
                break;
            }
            if tried <= low || tried >= high {
                tried = f64::midpoint(low, high);
            }
            worst = self.shares(tried, counts);
            let over = balance(worst);
            if over.abs() < 1e-12 {
                return tried;
            }
            if over < 0.0 { low = tried } else { high = tried }
        }
        high
    }

    /// The interval of a case with its line through these places.
    fn shown(&self, which: Which, [from, to]: [f64; 2]) -> Interval {
        const STEPS: usize = 12;
        let subset = self.subset(which);
        let line: Vec<[f64; 3]> = (0..=STEPS)
            .map(|step| {
                let axle_mm = from + (to - from) * step as f64 / STEPS as f64;
                let [back, forward, _] = self.ready(which.stance, axle_mm).coupling_kg(subset);
                [axle_mm, back, forward]
            })
            .collect();
        let [.., mass] = self.ready(which.stance, from).coupling_kg(subset);
        let [least_kg, most_kg] = self.limits_kg(which, mass);
        let [from_mm, to_mm] = self.interval(which);
        Interval {
            case: self.name(which),
            from_mm,
            to_mm,
            least_kg,
            most_kg: most_kg.is_finite().then_some(most_kg),
            loaded: subset.loaded,
            line,
            sets: [false; 2],
        }
    }

    pub fn name(&self, which: Which) -> String {
        let subset = self.subset(which);
        self.scales.words(subset.trip, subset.mask, [0.0; 2], &self.stances[which.stance])
    }

    /// The case that asks for most beyond what may rest on its coupling, if any does.
    fn impossible(&self) -> Option<Which> {
        let place = self.nearest_mm();
        let beyond = |which: Which| {
            let [.., mass] = self.ready(which.stance, place).coupling_kg(self.subset(which));
            let [least, most] = self.limits_kg(which, mass);
            least - most
        };
        let all = (0..self.stances.len()).flat_map(|stance| self.of_stance(stance));
        let over = all.map(|which| (which, beyond(which))).filter(|(_, kg)| *kg > 0.0);
        over.max_by(|a, b| a.1.total_cmp(&b.1)).map(|(which, _)| which)
    }

    /// Empty, each trip whole, each load alone: level, drawbar in.
    fn plain(&self) -> Vec<Which> {
        let whole = |subset: &Subset| {
            let count = self.scales.trips.get(subset.trip).map_or(0, |trip| trip.loads.len().min(64)) as u32;
            subset.mask.count_ones() == count || subset.mask.count_ones() == 1
        };
        let subsets = self.subsets.iter().enumerate().filter(|(_, subset)| whole(subset)).map(|(index, _)| Some(index));
        std::iter::once(None).chain(subsets).map(|subset| Which { stance: 0, subset }).collect()
    }
}

/// Where a falling function crosses zero between two places: a bracketed secant (Illinois), which hits a straight line at
/// once. The nearer end when it does not cross.
pub(super) fn root(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    let (mut at_low, mut at_high) = (f(low), f(high));
    if at_low <= 0.0 {
        return low;
    }
    if at_high >= 0.0 {
        return high;
    }
    let mut side = 0;
    for _ in 0..100 {
        let middle = (low * at_high - high * at_low) / (at_high - at_low);
        let at = f(middle);
        if at == 0.0 || (high - low) <= 1e-15 * high {
            return middle;
        }
        if at > 0.0 {
            if (middle - low).abs() <= 1e-13 * middle {
                return middle;
            }
            (low, at_low) = (middle, at);
            if side == 1 {
                at_high /= 2.0;
            }
            side = 1;
        } else {
            if (high - middle).abs() <= 1e-13 * middle {
                return middle;
            }
            (high, at_high) = (middle, at);
            if side == -1 {
                at_low /= 2.0;
            }
            side = -1;
        }
    }
    f64::midpoint(low, high)
}

/// `front`: what of the empty trailer lies along the drawbar.
pub(super) fn window(cases: &Cases<'_>, front: Sums, layout: &Layout) -> AxleWindow {
    let ends = cases.ends();
    let gear = &cases.scales.spec.design.running_gear;
    let bed = layout.bed_length_mm();
    let half_pair = cases.scales.gear.half_pair_mm;
    let room = layout.bed_front_x_mm + half_pair + layout.wheel_radius_mm / 2.0;
    let bed_ends = [room, (layout.bed_rear_x_mm - half_pair).max(room)];
    let within = ends.window().map_or(bed_ends, |[from, to]| {
        if from <= bed_ends[1] && to >= bed_ends[0] { [from.max(bed_ends[0]), to.min(bed_ends[1])] } else { bed_ends }
    });
    let mut shown = cases.plain();
    for which in [ends.from.1, ends.to.1, cases.impossible()].into_iter().flatten() {
        if !shown.contains(&which) {
            shown.push(which);
        }
    }
    let drawn = [layout.bed_front_x_mm, layout.bed_rear_x_mm];
    let intervals = shown.into_iter().map(|which| Interval {
        sets: [ends.from.1 == Some(which), ends.to.1 == Some(which)],
        ..cases.shown(which, drawn)
    });
    let fight = match (ends.window(), ends.from.1, ends.to.1) {
        (None, Some(back), Some(front)) => Some([cases.name(back), cases.name(front)]),
        _ => None,
    };
    AxleWindow {
        intervals: intervals.collect(),
        window_mm: ends.window(),
        fight_mm: fight.is_some().then_some([ends.from.0, ends.to.0]),
        fight,
        best_mm: cases.best(gear.target_share, within),
        rule_of_thumb_mm: [layout.bed_front_x_mm + 0.55 * bed, layout.bed_front_x_mm + 0.65 * bed],
        cases: (cases.subsets.len() + 1) * cases.stances.len(),
        openings: if ends.window().is_none() { openings(cases, &ends, front, layout) } else { Vec::new() },
    }
}

/// The place that the rule gives, mm behind the coupling.
pub(super) fn place(spec: &Spec, layout: &Layout, window: &AxleWindow) -> f64 {
    let gear = &spec.design.running_gear;
    match gear.place_by {
        AxlePlaceBy::Find => window.best_mm,
        AxlePlaceBy::Share => layout.bed_front_x_mm + gear.share * (layout.bed_rear_x_mm - layout.bed_front_x_mm),
        AxlePlaceBy::Distance => layout.bed_front_x_mm + gear.distance.mm(),
    }
}
