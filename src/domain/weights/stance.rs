//! How a trailer stands (drawbar in or out, behind which vehicle), and the statics of that stance: what coupling, axles and
//! wheels bear is linear in every mass, so the worst of many cases is found by sums.
//!
//! With h = x + (z − z_c) t the lever of a mass about the coupling when the trailer is pitched by t = Δ/L (Δ: coupling of the
//! vehicle above the trailer's; wheels roll freely, so supports are vertical), P = Σ m h / ℓ + P₀ and S = M − P, where
//! ℓ = L + (z_a − z_c) t and P₀ = 0 for one axle and for a pair that shares evenly. Two axles on springs of their own, built so
//! that they share evenly when empty and level, carry F_j = P_e/2 + k (x_j φ − Δ) with φ the turn about the coupling (statics
//! of a rigid body on two equal springs; tyres are taken as stiff). t = Δ/L is within 0.5 % of the true tangent up to 5°.

use crate::{
    measure::Mass,
    trailer::{Layout, Spec, Suspension},
};

/// Gravity for rates in N/mm.
const G: f64 = 9.81;

/// Mass and first moments of several bodies: kg, kg mm.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Sums {
    pub mass: f64,
    pub along: f64,
    pub across: f64,
    pub up: f64,
}

impl Sums {
    pub const ZERO: Self = Self { mass: 0.0, along: 0.0, across: 0.0, up: 0.0 };

    pub fn of(parts: impl IntoIterator<Item = super::Body>) -> Self {
        parts.into_iter().fold(Self::default(), |sums, part| sums.plus(part.into()))
    }

    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        Self {
            mass: self.mass + other.mass,
            along: self.along + other.along,
            across: self.across + other.across,
            up: self.up + other.up,
        }
    }

    #[must_use]
    pub fn moved(self, along_mm: f64) -> Self {
        Self { along: self.along + self.mass * along_mm, ..self }
    }
}

impl From<super::Body> for Sums {
    fn from(body: super::Body) -> Self {
        let [x, y, z] = body.centre.map(|along| along * body.mass_kg);
        Self { mass: body.mass_kg, along: x, across: y, up: z }
    }
}

impl From<Sums> for super::Body {
    fn from(sums: Sums) -> Self {
        let per = |moment: f64| if sums.mass > 0.0 { moment / sums.mass } else { 0.0 };
        Self { mass_kg: sums.mass, centre: [per(sums.along), per(sums.across), per(sums.up)] }
    }
}

/// The empty trailer by what moves: nothing, with the axle, with the coupling.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Empty {
    pub still: Sums,
    /// Its moment along is about the middle of the axle or pair.
    pub on_axle: Sums,
    /// What a telescopic drawbar carries in front.
    pub nose: Sums,
}

impl Empty {
    /// As it stands with its axle here and its drawbar pulled out so far; along is behind the coupling.
    pub fn at(&self, axle_mm: f64, out_mm: f64) -> Sums {
        self.still.moved(out_mm).plus(self.nose).plus(self.on_axle.moved(axle_mm + out_mm))
    }
}

/// Two axles that do not share evenly.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Springs {
    /// Both wheels of one axle, kg per mm; None when no rate is known.
    pub rate: Option<f64>,
}

/// What of the trailer the statics need beside masses.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Gear {
    pub axles: usize,
    /// Of a pair: half the distance between its axles.
    pub half_pair_mm: f64,
    pub springs: Option<Springs>,
    pub axle_z_mm: f64,
    pub coupling_z_mm: f64,
    pub track_mm: f64,
}

impl Gear {
    pub fn of(spec: &Spec, layout: &Layout, bought_rate: Option<f64>) -> Self {
        let gear = &spec.design.running_gear;
        let half_pair_mm = match (layout.axles_x_mm.first(), layout.axles_x_mm.last()) {
            (Some(first), Some(last)) => (last - first) / 2.0,
            _ => 0.0,
        };
        let pair = layout.axles_x_mm.len() > 1;
        // A rubber torsion pair cannot be joined by an equaliser: each axle has springs of its own.
        let alone = pair && (!gear.equalised || gear.suspension == Suspension::RubberTorsion);
        let rate = gear.spring_rate_n_per_mm.or(bought_rate).map(|rate| 2.0 * rate / G);
        Self {
            axles: layout.axles_x_mm.len().max(1),
            half_pair_mm,
            springs: alone.then_some(Springs { rate }),
            axle_z_mm: layout.axle_z_mm,
            coupling_z_mm: layout.coupling_height_mm,
            track_mm: layout.track_mm,
        }
    }
}

/// Drawbar and towing vehicle.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Stance {
    pub out_mm: f64,
    /// Index into the need's towing vehicles.
    pub vehicle: Option<usize>,
    /// Its coupling above the trailer's.
    pub rise_mm: f64,
}

/// Level with the drawbar in and out, then behind each vehicle (pitched where its coupling's height is known) in and out.
pub(super) fn stances(spec: &Spec, layout: &Layout) -> Vec<Stance> {
    let longest =
        layout.drawbar.telescope.as_ref().and_then(|telescope| {
            telescope.pin_steps_mm.iter().copied().filter(|step| *step > 0.0).max_by(f64::total_cmp)
        });
    let outs: Vec<f64> = std::iter::once(0.0).chain(longest).collect();
    let vehicles = spec.need.towing_vehicles.iter().enumerate().map(|(index, vehicle)| {
        (Some(index), vehicle.coupling_height.map_or(0.0, |height| height.mm() - layout.coupling_height_mm))
    });
    std::iter::once((None, 0.0))
        .chain(vehicles)
        .flat_map(|(vehicle, rise_mm)| outs.iter().map(move |&out_mm| Stance { out_mm, vehicle, rise_mm }))
        .collect()
}

/// What a vehicle lets press on its coupling; without end when it is not given or there is no vehicle.
pub(super) fn limit_kg(spec: &Spec, stance: &Stance) -> f64 {
    let vehicle = stance.vehicle.and_then(|index| spec.need.towing_vehicles.get(index));
    vehicle.and_then(|vehicle| vehicle.coupling_limit).map_or(f64::INFINITY, Mass::kg)
}

/// The statics of one stance with the axle at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Statics {
    /// Coupling to the middle of axle or pair.
    pub axle_mm: f64,
    pub out_mm: f64,
    /// t.
    pub slope: f64,
    /// ℓ.
    pub lever_mm: f64,
    /// P₀, kg.
    pub pair_kg: f64,
    /// Load of the front and the rear axle: fixed part, kg, and share of P.
    pub split: [(f64, f64); 2],
    gear: Gear,
}

impl Statics {
    pub fn new(gear: &Gear, empty: &Empty, stance: &Stance, axle_mm: f64) -> Self {
        let length = (axle_mm + stance.out_mm).max(1.0);
        let slope = stance.rise_mm / length;
        let drop = (gear.axle_z_mm - gear.coupling_z_mm) * slope;
        let mut statics = Self {
            axle_mm: length,
            out_mm: stance.out_mm,
            slope,
            lever_mm: length + drop,
            pair_kg: 0.0,
            split: if gear.axles > 1 { [(0.0, 0.5); 2] } else { [(0.0, 1.0); 2] },
            gear: *gear,
        };
        if let Some(springs) = gear.springs {
            let level = empty.at(axle_mm, 0.0);
            let rest = level.along / axle_mm.max(1.0) - 2.0 * springs.rate.unwrap_or(0.0) * stance.rise_mm;
            let places = [length - gear.half_pair_mm, length + gear.half_pair_mm];
            let (sum, levers) = (2.0 * length, 2.0 * (length + drop));
            let products: f64 = places.iter().map(|x| x * (x + drop)).sum();
            statics.lever_mm = products / sum;
            statics.pair_kg = rest * (1.0 - levers * sum / (2.0 * products));
            statics.split = places.map(|x| (rest / 2.0 * (1.0 - 2.0 * x / sum), x / sum));
        }
        statics
    }

    /// Σ m h of masses whose moments are behind the coupling of this stance.
    pub fn moment(&self, sums: &Sums) -> f64 {
        sums.along + self.slope * (sums.up - self.gear.coupling_z_mm * sums.mass)
    }

    /// On axle or pair, kg, from the moment of everything.
    pub fn axle_kg(&self, moment: f64) -> f64 {
        moment / self.lever_mm + self.pair_kg
    }

    pub fn each_axle_kg(&self, axle_kg: f64) -> [f64; 2] {
        self.split.map(|(fixed, share)| fixed + share * axle_kg)
    }

    /// Left and right wheel of the heavier axle: the coupling takes no roll, so that the wheels bear all of M y_g.
    pub fn wheels_kg(&self, axle_kg: f64, across: f64) -> [f64; 2] {
        let [front, rear] = self.each_axle_kg(axle_kg);
        let half = front.max(rear) / 2.0;
        let lean = if self.gear.track_mm > 0.0 { across / self.gear.track_mm / self.gear.axles as f64 } else { 0.0 };
        [half - lean, half + lean]
    }
}
