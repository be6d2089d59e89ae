//! Whether the built trailer bears what it must: the frame analysis of bed frame and drawbar with every case, the use of each member and
//! weld, and what the frame gives; then towing parts, running gear, deck, ramp and lashings. Checks only; nothing here changes the trailer.
//!
//! `built` makes the frame from members and joints, `burden` what lies on it, `standing` what it stands on, `cases` the list of cases as
//! sums of unit loads, `analysis` solves and sums, `capacity` and `welds` compare, `words` says it.
//!
//! Not reckoned with: fatigue, the stiffness of deck, sides, plates and gussets, local bending of tube walls.

mod analysis;
mod built;
mod burden;
pub mod capacity;
mod cases;
/// The deck between its cross-members.
mod deck;
/// Pin, overlap and coupling bolts.
pub mod drawbar;
pub mod frame;
/// Open sections that may tilt.
mod lateral;
/// The ramp, and machines on it.
pub mod ramp;
/// How loads are held.
pub mod restraint;
/// Springs, axles, wheels, tyres.
pub mod running_gear;
/// What sheets bear.
mod sheets;
mod standing;
/// Couplings, chains, towing vehicles.
pub mod towing;
pub mod welds;
/// What a load's wheels press.
mod wheels;
mod words;

use serde::{Deserialize, Serialize};

use self::{
    analysis::{Found, Search},
    built::Built,
    capacity::Capacity,
    cases::{Case, Stand},
    welds::Seam,
};
use crate::{
    measure::{Grouping, show_number},
    shop::StrengthFactors,
    trailer::{Member, PartRef, Point, Road, Spec, Trailer},
    weights::{LoadedCase, Weights},
    working::Check,
};

/// The earth's acceleration, m/s².
pub const G: f64 = 9.81;

/// The strength of the frame: what a drawing of it and a document need. A revision freezes it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Strength {
    /// Each member of bed frame and drawbar.
    pub members: Vec<MemberUse>,
    /// The fullest welds, the fullest first.
    pub welds: Vec<WeldUse>,
    pub deflection: Option<Deflection>,
    /// Of the cases that govern a member, and of the heaviest at rest.
    pub reactions: Vec<Reactions>,
    pub factors: StrengthFactors,
    /// How many cases were gone through.
    pub cases: usize,
    /// Of the frame: nodes, beams, equations.
    pub size: [usize; 3],
    /// The largest force left over in equilibrium, over the largest force.
    pub residual: f64,
    /// Every load of every trip, as it is held.
    pub restraint: Vec<restraint::HeldLoad>,
}

/// How full a member is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MemberUse {
    /// Index into the trailer's members.
    pub member: usize,
    /// In words: “rear cross-member over the left axle bracket”.
    pub name: String,
    /// Stress over what is allowed.
    #[serde(rename = "use")]
    pub usage: f64,
    /// The loading case that governs.
    pub case: String,
    /// Where: mm from the member's first end, and in space.
    pub at_mm: f64,
    pub place: Point,
    /// MPa: √(σ² + 3 τ²), and what is allowed.
    pub stress_mpa: f64,
    pub allowed_mpa: f64,
    /// N, Vy, Vz (N), T, My, Mz (N mm) there.
    pub forces: [f64; 6],
    /// Stretches of the member, front to back along it: from, to (mm) and the largest use there over all cases.
    pub along: Vec<[f64; 3]>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WeldUse {
    /// As on the weld map.
    pub number: u32,
    /// Indices into the trailer's members.
    pub members: [usize; 2],
    #[serde(rename = "use")]
    pub usage: f64,
    pub case: String,
    pub place: Point,
    /// Its throat lies in the standard's scope.
    pub in_scope: bool,
}

/// The largest movement of a joint against the plane through coupling and wheels.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Deflection {
    /// Up is positive.
    pub mm: f64,
    pub case: String,
    pub place: Point,
}

/// Forces on the trailer, N.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reactions {
    pub case: String,
    pub coupling: [f64; 3],
    /// Up, of each wheel's (or equalised pair's) springs: left and right, axle by axle.
    pub wheels: Vec<f64>,
}

/// Every check of strength, added to the others. `shop`: the shop's factors, where the design asks for none of its own.
pub fn examine(
    spec: &Spec,
    trailer: &Trailer,
    weights: &Weights,
    shop: &StrengthFactors,
    checks: &mut Vec<Check>,
) -> Strength {
    let factors = of_design(spec, shop);
    let dynamic = dynamic(&factors, spec.need.usage.road);
    let (mut strength, of_frame) = of_frame(spec, trailer, weights, &factors);
    checks.extend(of_frame);
    towing::check(spec, trailer, weights, checks);
    running_gear::check(spec, trailer, weights, dynamic, checks);
    drawbar::check(spec, trailer, weights, checks);
    deck::check(spec, trailer, dynamic, checks);
    ramp::check(spec, trailer, checks);
    strength.restraint = restraint::check(spec, trailer, weights, checks);
    strength
}

/// The shop's factors with those that the design sets.
fn of_design(spec: &Spec, shop: &StrengthFactors) -> StrengthFactors {
    let asked = &spec.design.factors;
    let mut factors = StrengthFactors {
        braking_g: asked.braking_g,
        cornering_g: asked.cornering_g,
        divisor_service: asked.service_divisor,
        divisor_test: asked.test_divisor,
        ..*shop
    };
    if let Some(dynamic) = asked.dynamic {
        match spec.need.usage.road {
            Road::Sealed => factors.dynamic_sealed = dynamic,
            Road::Gravel => factors.dynamic_gravel = dynamic,
            Road::Rough => factors.dynamic_rough = dynamic,
        }
    }
    factors
}

/// Analyses the frame; the checks are for the estimate's list.
fn of_frame(spec: &Spec, trailer: &Trailer, weights: &Weights, factors: &StrengthFactors) -> (Strength, Vec<Check>) {
    let built = built::build(trailer);
    let hitched = standing::hitched(spec, trailer, &built);
    if built.frame.beams.is_empty() || hitched.wheels.is_empty() {
        return (Strength::default(), vec![words::nothing_to_analyse()]);
    }
    let stands = [
        (Stand::Hitched, hitched.frame.clone()),
        (Stand::Propped, standing::propped(&hitched, &built)),
        (Stand::Rigged, standing::rigged(trailer, &built)),
        (Stand::JackedLeft, standing::jacked(&hitched, &built, -1.0)),
        (Stand::JackedRight, standing::jacked(&hitched, &built, 1.0)),
    ];
    let plan = cases::plan(spec, trailer, weights, &built, &hitched);
    let solutions = match analysis::solve(&stands, &plan.units, &built) {
        Ok(solutions) => solutions,
        Err(fault) => return (Strength::default(), vec![words::cannot_solve(trailer, &built, &fault)]),
    };
    let support = |unit: usize, at: usize| {
        let forces = solutions.units.get(unit).map(|unit| &unit.supports);
        forces.and_then(|forces| forces.get(at)).copied().unwrap_or(0.0)
    };
    let cases = plan.cases(spec, trailer, weights, &hitched, factors, &support);
    let capacities = capacities(trailer, &built, factors);
    let seams: Vec<Option<Seam>> = built.contacts.iter().map(|contact| Seam::of(trailer, contact)).collect();
    let search = Search {
        trailer,
        built: &built,
        hitched: &hitched,
        plan: &plan,
        cases: &cases,
        factors,
        dynamic: dynamic(factors, spec.need.usage.road),
        capacities: &capacities,
        seams: &seams,
    };
    let found = solutions.search(&search);
    let strength = gather(&search, &solutions, &found);
    let checks = words::checks(&search, &strength, &found);
    (strength, checks)
}

/// Static load times this when the wheels meet a bump.
const fn dynamic(factors: &StrengthFactors, road: Road) -> f64 {
    match road {
        Road::Sealed => factors.dynamic_sealed,
        Road::Gravel => factors.dynamic_gravel,
        Road::Rough => factors.dynamic_rough,
    }
}

fn capacities(trailer: &Trailer, built: &Built, factors: &StrengthFactors) -> Vec<Option<Capacity>> {
    let mut welded = vec![false; trailer.members.len()];
    for weld in &trailer.welds {
        let Some(joint) = trailer.joints.get(weld.joint) else { continue };
        for part in joint.parts {
            if let PartRef::Member(member) = part {
                welded[member] = true;
            }
        }
    }
    let of = |(index, member): (usize, &Member)| {
        let beam = *built.beams_of.get(index)?.first()?;
        let unheld = unheld_mm(built, index, member.direction().1);
        Some(Capacity::of(member, built.pieces[beam].turned, welded[index], factors.thin_wall_percent / 100.0, unheld))
    };
    trailer.members.iter().enumerate().map(of).collect()
}

/// The longest stretch of a member between joints that keep it from tilting; what overhangs the last of them counts twice.
fn unheld_mm(built: &Built, member: usize, length: f64) -> f64 {
    let mut held: Vec<f64> = built
        .contacts
        .iter()
        .filter_map(|contact| {
            let side = contact.members.iter().position(|joined| *joined == member)?;
            Some(contact.along[side])
        })
        .collect();
    held.sort_by(f64::total_cmp);
    let (Some(first), Some(last)) = (held.first(), held.last()) else { return 2.0 * length };
    let between = held.windows(2).map(|pair| pair[1] - pair[0]);
    between.fold(0.0, f64::max).max(2.0 * first).max(2.0 * (length - last))
}

/// The hitched trailer's frame with every unit load on it, as one document for other programs: newtons and millimetres, a force of one newton
/// for each kilogram (or one radian a second squared), one newton of braking at each wheel.
pub fn problem(spec: &Spec, trailer: &Trailer, weights: &Weights) -> frame::Problem {
    let built = built::build(trailer);
    let hitched = standing::hitched(spec, trailer, &built);
    let plan = cases::plan(spec, trailer, weights, &built, &hitched);
    let units = plan.units.into_iter().filter(|unit| unit.stand == Stand::Hitched);
    let loads = units.zip(1..).map(|(unit, number)| frame::Named {
        name: format!("unit load {number}"),
        nodes: unit.load.nodes,
        beams: unit.load.beams,
    });
    frame::Problem { loads: loads.collect(), frame: hitched.frame }
}

fn gather(search: &Search<'_>, solutions: &analysis::Solutions, found: &Found) -> Strength {
    let (trailer, built) = (search.trailer, search.built);
    let mut governing: Vec<usize> = Vec::new();
    let mut members = Vec::new();
    for (index, worst) in found.members.iter().enumerate() {
        let (Some(worst), Some(capacity)) = (worst, &search.capacities[index]) else { continue };
        let case = &search.cases[worst.case];
        let divisor = if case.service { search.factors.divisor_service } else { search.factors.divisor_test };
        if !governing.contains(&worst.case) {
            governing.push(worst.case);
        }
        let along = built.beams_of[index]
            .iter()
            .map(|&beam| [built.pieces[beam].from_mm, built.pieces[beam].to_mm, kept(found.beams[beam], 1e4)]);
        members.push(MemberUse {
            member: index,
            name: words::name(trailer, index),
            usage: kept(worst.usage, 1e6),
            case: case.name.clone(),
            at_mm: kept(worst.at_mm, 1e3),
            place: built::at(&trailer.members[index], worst.at_mm).map(|part| kept(part, 1e3)),
            stress_mpa: kept(worst.fill.stress, 1e4),
            allowed_mpa: kept(capacity.strength / divisor, 1e4),
            forces: worst.forces.map(|force| kept(force, 1e2)),
            along: along.collect(),
        });
    }
    let mut welds: Vec<_> = found.welds.iter().flatten().copied().collect();
    welds.sort_by(|a, b| b.usage.total_cmp(&a.usage).then(a.contact.cmp(&b.contact)));
    let welds = welds.iter().take(MOST_WELDS).filter_map(|worst| {
        let (contact, seam) = (&built.contacts[worst.contact], search.seams[worst.contact].as_ref()?);
        Some(WeldUse {
            number: seam.number,
            members: contact.members,
            usage: kept(worst.usage, 1e6),
            case: search.cases[worst.case].name.clone(),
            place: contact.place,
            in_scope: seam.in_scope(),
        })
    });
    let deflection = found.deflection.map(|worst| Deflection {
        mm: kept(worst.mm, 1e4),
        case: search.cases[worst.case].name.clone(),
        place: built.frame.nodes[worst.node].place,
    });
    governing.sort_unstable();
    Strength {
        members,
        welds: welds.collect(),
        deflection,
        reactions: governing.iter().filter_map(|&case| reactions(search, solutions, &search.cases[case])).collect(),
        factors: *search.factors,
        cases: search.cases.len(),
        size: [built.frame.nodes.len(), built.frame.beams.len(), solutions.equations],
        residual: solutions.residual(),
        restraint: Vec::new(),
    }
}

/// Of so many welds the use is kept.
const MOST_WELDS: usize = 8;

/// Figures are kept to what means something, so that a frozen revision stays small.
fn kept(value: f64, per_unit: f64) -> f64 {
    crate::measure::round::nearest(value * per_unit, 1.0) / per_unit
}

/// None for cases on a jack or in a rig: their supports are not the trailer's.
fn reactions(search: &Search<'_>, solutions: &analysis::Solutions, case: &Case) -> Option<Reactions> {
    let stands = |unit: usize| search.plan.units.get(unit).map(|unit| unit.stand);
    let road = case.terms.iter().all(|(unit, _)| matches!(stands(*unit), Some(Stand::Hitched | Stand::Propped)));
    road.then(|| Reactions {
        case: case.name.clone(),
        coupling: [0, 1, 2].map(|axis| kept(solutions.total(&case.terms, |unit| unit.coupling[axis]), 1e2)),
        wheels: search
            .hitched
            .wheels
            .iter()
            .map(|wheels| kept(solutions.total(&case.terms, |unit| unit.supports[wheels.support]), 1e2))
            .collect(),
    })
}

/// Whether the rules of the United States hold: classes of couplers, 49 CFR 393.
fn is_us(spec: &Spec) -> bool {
    spec.need.usage.region.starts_with("us")
}

/// A whole number with its digits grouped.
fn whole(value: f64) -> String {
    show_number(value, 0, Grouping::Western)
}

/// Every case that may govern: the plain ones, and the worst of the envelope.
fn cases(weights: &Weights) -> impl Iterator<Item = &LoadedCase> {
    weights.cases.iter().chain(weights.envelope.governing.iter().map(|governing| &governing.case))
}

/// The case in which `demand` is greatest, with its figure; the first of equals.
fn worst(weights: &Weights, demand: impl Fn(&LoadedCase) -> f64) -> Option<(&LoadedCase, f64)> {
    cases(weights).map(|case| (case, demand(case))).reduce(|a, b| if b.1 > a.1 { b } else { a })
}
