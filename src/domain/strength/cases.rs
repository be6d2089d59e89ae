//! The cases: each a sum of unit loads that were solved once.

use super::{
    built::Built,
    burden::Burden,
    frame::{Load as FrameLoad, NodeLoad},
    standing::{self, Hitched, Wheels},
};
use crate::{
    shop::StrengthFactors,
    trailer::{Brakes, LoadKind, RampForm, Road, Spec, Trailer},
    weights::{Body, PlacedLoad, PlacedTrip, Weights},
};

pub const G: f64 = 9.81;

/// How the trailer stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stand {
    Hitched,
    Propped,
    Rigged,
    JackedLeft,
    JackedRight,
}

/// One unit load: how the trailer stands under it, and what pushes.
pub struct Unit {
    pub stand: Stand,
    pub load: FrameLoad,
}

/// Places of unit loads in the list.
struct Units {
    list: Vec<Unit>,
}

impl Units {
    fn add(&mut self, stand: Stand, load: FrameLoad) -> usize {
        self.list.push(Unit { stand, load });
        self.list.len() - 1
    }
}

/// What two ways of summing need to know of a unit's solution: the supports' forces. The twist cases call for it.
pub type SupportForce<'s> = dyn Fn(usize, usize) -> f64 + 's;

#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    pub name: String,
    pub terms: Vec<(usize, f64)>,
    /// Service (true) or test loads and jack.
    pub service: bool,
}

/// Four unit loads of one thing: along x, y and z for each kilogram's newton, and turning about the trailer's long axis.
#[derive(Clone, Copy)]
struct Moved {
    x: usize,
    y: usize,
    z: usize,
    roll: usize,
}

pub struct Plan {
    pub units: Vec<Unit>,
    trailer: Moved,
    /// Of each trip, each load.
    loads: Vec<Vec<Moved>>,
    brake: usize,
    lift: Vec<usize>,
    tests: [usize; 3],
    edge: Option<(String, usize, Stand)>,
    jacks: Vec<(Stand, &'static str, usize, Vec<usize>)>,
    heaviest: Option<usize>,
}

pub fn plan(spec: &Spec, trailer: &Trailer, weights: &Weights, built: &Built, hitched: &Hitched) -> Plan {
    let burden = Burden::new(trailer, built);
    let mut units = Units { list: Vec::new() };
    let axes = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    let [x, y, z] = axes.map(|axis| units.add(Stand::Hitched, burden.trailer(weights, |_| axis)));
    // One rad/s² about the line on the ground below the coupling: N/kg at a place.
    let roll = units.add(Stand::Hitched, burden.trailer(weights, |at| [0.0, -at[2] / 1e3, at[1] / 1e3]));
    let mut of_load = |load: &PlacedLoad| {
        let [x, y, z] = axes.map(|axis| units.add(Stand::Hitched, burden.placed(spec, load, axis, 0.0)));
        Moved { x, y, z, roll: units.add(Stand::Hitched, burden.placed(spec, load, [0.0; 3], 1.0)) }
    };
    let loads = weights.trips.iter().map(|trip| trip.loads.iter().map(&mut of_load).collect()).collect();
    let brake = units.add(Stand::Hitched, standing::brake(spec, built, hitched));
    let apart = hitched.wheels.iter().any(|wheels| wheels.axle > 0);
    let lift = if apart {
        let each = hitched.wheels.iter();
        each.map(|wheels| units.add(Stand::Hitched, standing::at_wheel(&hitched.frame, wheels))).collect()
    } else {
        Vec::new()
    };
    let tests = axes.map(|force| {
        let nodes = vec![NodeLoad { node: built.coupling, force, moment: [0.0; 3] }];
        units.add(Stand::Rigged, FrameLoad { nodes, beams: Vec::new() })
    });
    let edge = rolled_on(spec).map(|(name, mass, width)| {
        let stand = if built.props.is_empty() { Stand::Hitched } else { Stand::Propped };
        let load = burden.on_rear_edge(mass, width.min(trailer.layout.bed_width_mm - 100.0), axes[2]);
        (name, units.add(stand, load), stand)
    });
    let heaviest =
        (0..weights.trips.len()).max_by(|&a, &b| weights.trips[a].mass_kg().total_cmp(&weights.trips[b].mass_kg()));
    let jacks = [(Stand::JackedLeft, "left"), (Stand::JackedRight, "right")].map(|(stand, side)| {
        let own = units.add(stand, burden.trailer(weights, |_| axes[2]));
        let trip = heaviest.map(|trip| &weights.trips[trip].loads);
        let carried = trip.into_iter().flatten().map(|load| burden.placed(spec, load, axes[2], 0.0));
        let carried: Vec<FrameLoad> = carried.collect();
        (stand, side, own, carried.into_iter().map(|load| units.add(stand, load)).collect())
    });
    Plan {
        trailer: Moved { x, y, z, roll },
        loads,
        brake,
        lift,
        tests,
        edge,
        jacks: jacks.into(),
        heaviest,
        units: units.list,
    }
}

/// The heaviest load that is rolled on over the rear, and how wide it stands.
fn rolled_on(spec: &Spec) -> Option<(String, f64, f64)> {
    let loading = &spec.design.loading;
    let by_ramp = loading.ramp != RampForm::None || loading.prop_stands > 0;
    let rolls = |kind: LoadKind| matches!(kind, LoadKind::Motorcycle | LoadKind::Quad | LoadKind::Machine);
    let loads = spec.need.loads.iter().filter(|load| by_ramp || rolls(load.kind));
    let heaviest = loads.max_by(|a, b| a.mass.kg().total_cmp(&b.mass.kg()))?;
    let width = heaviest.track.map_or(heaviest.width.mm() * 0.8, |track| track.mm());
    Some((heaviest.name.clone(), heaviest.mass.kg(), width))
}

/// Which loads of a trip ride: all, each alone, every other choice of up to four, else halves.
fn choices(trip: &PlacedTrip) -> Vec<(String, Vec<usize>)> {
    let count = trip.loads.len();
    let all: Vec<usize> = (0..count).collect();
    let mut found = vec![(trip.name.clone(), all.clone())];
    let names = |which: &[usize]| which.iter().map(|&i| trip.loads[i].name.as_str()).collect::<Vec<_>>().join(" and ");
    if count > 1 {
        found.extend(all.iter().map(|&i| (format!("{}: {} alone", trip.name, trip.loads[i].name), vec![i])));
    }
    if (3..=4).contains(&count) {
        for mask in 1u32..(1 << count) - 1 {
            let which: Vec<usize> = all.iter().copied().filter(|i| mask >> i & 1 == 1).collect();
            if which.len() > 1 {
                found.push((format!("{}: only {}", trip.name, names(&which)), which));
            }
        }
    } else if count > 4 {
        let middle = |axis: usize| Body::of(trip.loads.iter().map(|load| load.body)).centre[axis];
        for (word, axis, sign) in [("front", 0, -1.0), ("rear", 0, 1.0), ("left", 1, -1.0), ("right", 1, 1.0)] {
            let at = middle(axis);
            let which: Vec<usize> =
                all.iter().copied().filter(|&i| (trip.loads[i].body.centre[axis] - at) * sign > 1.0).collect();
            if !which.is_empty() && which.len() < count {
                found.push((format!("{}: only the loads at the {word}", trip.name), which));
            }
        }
    }
    found
}

impl Plan {
    /// Every case, in the order in which a reader expects them.
    pub fn cases(
        &self,
        spec: &Spec,
        trailer: &Trailer,
        weights: &Weights,
        hitched: &Hitched,
        factors: &StrengthFactors,
        support: &SupportForce<'_>,
    ) -> Vec<Case> {
        let mut cases = Vec::new();
        let mut carried = vec![("empty".to_owned(), Vec::new())];
        for (nth, trip) in weights.trips.iter().enumerate().filter(|(_, trip)| !trip.loads.is_empty()) {
            carried.extend(
                choices(trip)
                    .into_iter()
                    .map(|(name, which)| (name, which.into_iter().map(|load| (nth, load)).collect::<Vec<_>>())),
            );
        }
        let dynamic = super::dynamic(factors, spec.need.usage.road);
        for (name, which) in &carried {
            let load = |&(trip, load): &(usize, usize)| (self.loads[trip][load], &weights.trips[trip].loads[load]);
            let bodies: Vec<Body> =
                std::iter::once(weights.empty).chain(which.iter().map(|at| load(at).1.body)).collect();
            let all = Body::of(bodies.iter().copied());
            let things: Vec<Moved> = std::iter::once(self.trailer).chain(which.iter().map(|at| load(at).0)).collect();
            let down = |factor: f64| things.iter().map(move |thing| (thing.z, -G * factor)).collect::<Vec<_>>();
            let mut push = |what: String, terms: Vec<(usize, f64)>| {
                cases.push(Case { name: format!("{name}, {what}"), terms, service: true });
            };
            let road = match spec.need.usage.road {
                Road::Sealed => "sealed road",
                Road::Gravel => "gravel road",
                Road::Rough => "rough track",
            };
            push(format!("bumps of a {road} (× {dynamic})"), down(dynamic));

            let mut braking = down(1.0);
            braking.extend(things.iter().map(|thing| (thing.x, -G * factors.braking_g)));
            if spec.design.running_gear.brakes != Brakes::None {
                let on_axle = all.mass_kg * all.centre[0] / trailer.layout.axle_x_mm.max(1.0);
                let wheels = self.wheel_count(spec, hitched);
                braking.push((self.brake, G * factors.braking_g * on_axle / wheels));
            }
            push(format!("braking at {} g", factors.braking_g), braking);

            for (side, sign) in [("left", 1.0), ("right", -1.0)] {
                let mut turning = down(1.0);
                turning.extend(things.iter().map(|thing| (thing.y, sign * G * factors.cornering_g)));
                push(format!("cornering to the {side} at {} g", factors.cornering_g), turning);
            }
            let bodies: Vec<(Body, f64)> = bodies
                .iter()
                .copied()
                .zip(std::iter::once(0.0).chain(which.iter().map(|at| roll_inertia(load(at).1))))
                .collect();
            for (wheels, term) in self.twists(&things, &bodies, all, hitched, &down(1.0), support) {
                let side = if wheels.side < 0.0 { "left" } else { "right" };
                let which = match (self.lift.is_empty(), wheels.axle) {
                    (true, _) => format!("{side} wheel"),
                    (false, 0) => format!("front {side} wheel"),
                    (false, _) => format!("rear {side} wheel"),
                };
                let mut terms = down(1.0);
                terms.extend(term);
                push(format!("{which} carrying nothing"), terms);
            }
        }
        if let Some((name, unit, stand)) = &self.edge {
            let how = if *stand == Stand::Propped { "prop stands down" } else { "hitched, no prop stands" };
            let terms = vec![(self.trailer.z, -G), (*unit, -G)];
            cases.push(Case { name: format!("{name} on the rear edge, {how}"), terms, service: true });
        }
        let push = weights.gross_kg * G;
        for (unit, factor, [plus, minus]) in [
            (self.tests[0], factors.test_along, ["rearwards", "forwards"]),
            (self.tests[1], factors.test_across, ["to the right", "to the left"]),
            (self.tests[2], factors.test_up, ["up", "down"]),
        ] {
            for (way, sign) in [(plus, 1.0), (minus, -1.0)] {
                let name = format!("test load at the coupling, {factor} g {way}");
                cases.push(Case { name, terms: vec![(unit, sign * factor * push)], service: false });
            }
        }
        for (_, side, own, carried) in &self.jacks {
            let terms = std::iter::once(own).chain(carried).map(|&unit| (unit, -G)).collect();
            let trip = self.heaviest.map_or("empty", |trip| weights.trips[trip].name.as_str());
            cases.push(Case { name: format!("{trip}, jacked up on the {side}"), terms, service: false });
        }
        cases
    }

    fn wheel_count(&self, spec: &Spec, hitched: &Hitched) -> f64 {
        // An equalised side's unit load brakes two wheels.
        let axles = f64::from(spec.design.running_gear.axles.max(1));
        let sides = hitched.wheels.len() as f64;
        if self.lift.is_empty() { 2.0 * axles } else { sides }
    }

    /// What takes one wheel's load away. Where other wheels share it, a force against its spring; where it is one of two, the trailer
    /// begins to roll: its wheel takes the other's load, and the masses' inertia balances that (d'Alembert).
    fn twists<'h>(
        &self,
        things: &[Moved],
        bodies: &[(Body, f64)],
        all: Body,
        hitched: &'h Hitched,
        down: &[(usize, f64)],
        support: &SupportForce<'_>,
    ) -> Vec<(&'h Wheels, Vec<(usize, f64)>)> {
        let sum =
            |terms: &[(usize, f64)], at: usize| terms.iter().map(|(unit, by)| by * support(*unit, at)).sum::<f64>();
        let rolling: Vec<(usize, f64)> = things
            .iter()
            .zip(bodies)
            .enumerate()
            .flat_map(|(nth, (thing, (body, inertia)))| {
                let (y, z) = (all.centre[1] / 1e3, all.centre[2] / 1e3);
                let own = if nth == 0 {
                    // The trailer's own unit turns about the line below the coupling.
                    [(thing.roll, 1.0), (thing.y, z), (thing.z, -y)]
                } else {
                    [(thing.roll, *inertia), (thing.y, z - body.centre[2] / 1e3), (thing.z, body.centre[1] / 1e3 - y)]
                };
                own.into_iter()
            })
            .collect();
        let mut found = Vec::new();
        for (nth, wheels) in hitched.wheels.iter().enumerate() {
            let load = sum(down, wheels.support);
            let terms: Vec<(usize, f64)> = match self.lift.get(nth) {
                Some(&unit) => {
                    // Spring and counter-force together carry nothing: R + c (1 + r) = 0.
                    let left = 1.0 + support(unit, wheels.support);
                    if left < 1e-6 {
                        continue;
                    }
                    vec![(unit, -load / left)]
                }
                None => {
                    let gains = sum(&rolling, wheels.support);
                    if gains.abs() < 1e-9 {
                        continue;
                    }
                    rolling.iter().map(|(unit, by)| (*unit, -load / gains * by)).collect()
                }
            };
            found.push((wheels, terms));
        }
        found
    }
}

/// Of a load about its own long axis, as an even box: N mm for one rad/s².
fn roll_inertia(load: &PlacedLoad) -> f64 {
    load.body.mass_kg * (load.width_mm.powi(2) + load.height_mm.powi(2)) / 12.0 / 1e3
}
