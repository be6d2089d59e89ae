//! The one pipeline: from a spec and the shop's books to everything that follows from them.
//!
//! Ratings follow from masses, masses from the parts chosen by rating, and the axle's place from both. So the trailer is built
//! from a first guess, weighed, and built again with what the scales said until axle, gross mass and coupling load stand still
//! (or ten rounds are over, which the estimate says). Everything after that runs once.
//!
//! Deterministic: the same inputs give the same estimate, byte for byte.

use serde::{Deserialize, Serialize};

use super::{
    electrics::{self, Electrics},
    labour::{self, Hours},
    measure::round,
    nesting::{self, Budget, Watch, cutting::Cutting},
    pricing::{self, BuildUp},
    roadworthy::{RoadRules, road_rules},
    shop::{Rack, ShopBook},
    strength::{self, Strength},
    trailer::{self, Assumed, AxlePlaceBy, Spec, SpecFaults, TakeOff, Trailer},
    weights::{self, Weights},
    working::{Check, Verdict},
};

/// From this round on the axle moves only half the way.
const DAMPED_FROM: u32 = 4;
/// Rounds of building and weighing after which the estimate stops and says so.
const MOST_ROUNDS: u32 = 10;

/// Everything that follows from a spec. A revision freezes it whole.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Estimate {
    /// Version of the program that made it.
    pub program: String,
    pub spec: Spec,
    pub trailer: Trailer,
    pub weights: Weights,
    #[serde(default)]
    pub strength: Strength,
    /// Empty in revisions older than it.
    #[serde(default)]
    pub electrics: Electrics,
    pub take_off: TakeOff,
    pub cutting: Cutting,
    pub hours: Hours,
    pub build_up: BuildUp,
    pub checks: Vec<Check>,
    /// What the road rules of the region say; empty in revisions older than they are.
    #[serde(default)]
    pub road: RoadRules,
    /// Whether axle place and masses stood still within the rounds allowed.
    pub settled: bool,
    pub rounds: u32,
}

/// A figure that stands at the head of a job's pages and lists.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Headline {
    pub empty_mass_kg: f64,
    pub gross_kg: f64,
    pub payload_left_kg: f64,
    /// In the heaviest case.
    pub coupling_kg: f64,
    pub coupling_share: f64,
    pub bars: u32,
    pub sheets: u32,
    pub failing_checks: usize,
}

/// Works a spec out.
///
/// # Errors
/// Every fault of a spec that cannot be built, all at once.
pub fn estimate(
    spec: &Spec,
    book: &ShopBook,
    rack: &Rack,
    budget: Budget,
    watch: Watch<'_>,
) -> Result<Estimate, SpecFaults> {
    let (trailer, weights, settling) = settle(spec, book)?;
    let take_off = trailer::take_off(spec, &trailer);
    let cutting = nesting::cutting::plan(&take_off, spec.need.count, book, rack, budget, watch);
    let hours = labour::hours(spec, &take_off, &cutting, &book.norms);
    let build_up = pricing::build_up(spec, &take_off, &cutting, &hours, book);
    let mut checks = weights.checks.clone();
    let strength = strength::examine(spec, &trailer, &weights, &book.policy.strength, &mut checks);
    let electrics = electrics::examine(spec, &trailer, &mut checks);
    checks.extend(unsettled(&settling));
    let road = road_rules(spec, &trailer, &weights, book);
    checks.extend(road.checks());
    Ok(Estimate {
        program: env!("CARGO_PKG_VERSION").into(),
        spec: spec.clone(),
        trailer,
        weights,
        strength,
        electrics,
        take_off,
        cutting,
        hours,
        build_up,
        checks,
        road,
        settled: settling.still,
        rounds: settling.rounds,
    })
}

/// Builds and weighs until what was assumed is what came out.
fn settle(spec: &Spec, book: &ShopBook) -> Result<(Trailer, Weights, Settling), SpecFaults> {
    trailer::validate(spec)?;
    let mut assumed = first_guess(spec);
    let mut rounds = 1;
    loop {
        let tried = assumed.axle_x_mm;
        let trailer = trailer::build_valid(spec, book, &assumed);
        let weights = weights::weigh(spec, &trailer);
        let moves_mm = (weights.axle_x_mm - assumed.axle_x_mm).abs();
        let demand = weights.demand();
        let found = Assumed {
            gross_kg: weights.gross_kg,
            coupling_load_kg: round::up(demand.coupling_kg, 1.0),
            axle_load_kg: round::up(demand.axle_kg, 1.0),
            wheel_load_kg: round::up(demand.wheel_kg, 1.0),
            axle_x_mm: round::nearest(weights.axle_x_mm, 1.0),
        };
        let still = moves_mm < 1.0
            && (found.gross_kg - assumed.gross_kg).abs() < 0.5
            && (found.coupling_load_kg - assumed.coupling_load_kg).abs() <= 1.0
            && (found.axle_load_kg - assumed.axle_load_kg).abs() <= 1.0
            && (found.wheel_load_kg - assumed.wheel_load_kg).abs() <= 1.0;
        if still || rounds >= MOST_ROUNDS {
            return Ok((trailer, weights, Settling { rounds, still, moves_mm }));
        }
        assumed = found;
        // A place that jumps to and fro (a cross-member comes and goes with it) is closed in on from both sides.
        if rounds >= DAMPED_FROM {
            assumed.axle_x_mm = round::nearest((tried + found.axle_x_mm) / 2.0, 1.0);
        }
        rounds += 1;
    }
}

/// Somewhere to begin: a trailer of this size weighs about 80 kg per m² of bed, with a tenth of it all on the coupling.
fn first_guess(spec: &Spec) -> Assumed {
    let bed = &spec.design.bed;
    let carried: f64 = spec.need.loads.iter().map(|load| load.mass.kg()).sum();
    let empty = 80.0 * bed.length.mm() * bed.width.mm() / 1e6;
    let gross_kg = spec.need.declared_gross.map_or(round::up(carried + empty, 10.0), |declared| declared.kg());
    let gear = &spec.design.running_gear;
    let behind_front = match gear.place_by {
        AxlePlaceBy::Distance => gear.distance.mm(),
        AxlePlaceBy::Share => gear.share * bed.length.mm(),
        AxlePlaceBy::Find => 0.6 * bed.length.mm(),
    };
    Assumed::guess(gross_kg, 0.1 * gross_kg, spec.design.drawbar.length.mm() + behind_front, gear.axles)
}

/// How the rounds ended.
struct Settling {
    rounds: u32,
    still: bool,
    /// What the axle's place would still move.
    moves_mm: f64,
}

/// A place that still moves within this is as good as found: it shifts the coupling load by a few parts in a thousand.
const NEAR_ENOUGH_MM: f64 = 10.0;

fn unsettled(settling: &Settling) -> Option<Check> {
    let Settling { rounds, still, moves_mm } = *settling;
    let near = moves_mm <= NEAR_ENOUGH_MM;
    let (verdict, mend) = if near {
        (Verdict::Close, "")
    } else {
        (Verdict::CannotTell("an axle place that stands still".into()), " Set it by distance instead of finding it.")
    };
    (!still).then(|| {
        Check::told("balance/settled", "Axle place and masses stand still", verdict, format!(
            "After {rounds} rounds of building and weighing the axle's place would still move by {moves_mm:.0} mm.{mend}"
        ))
    })
}

impl Estimate {
    pub fn headline(&self) -> Headline {
        let heaviest = self.weights.heaviest_case();
        Headline {
            empty_mass_kg: self.weights.empty.mass_kg,
            gross_kg: self.weights.gross_kg,
            payload_left_kg: self.weights.payload_left_kg,
            coupling_kg: heaviest.map_or(0.0, |case| case.coupling_kg),
            coupling_share: heaviest.map_or(0.0, |case| case.coupling_share),
            bars: self.cutting.bars_used(),
            sheets: self.cutting.sheets_used(),
            failing_checks: self.checks.iter().filter(|check| check.verdict == Verdict::Fails).count(),
        }
    }

    /// Failing checks without a written answer.
    pub fn unanswered(&self) -> impl Iterator<Item = &Check> {
        self.checks.iter().filter(|check| {
            check.verdict == Verdict::Fails
                && (check.blocks_issue
                    || self.spec.offer.answers.get(&check.key).is_none_or(|answer| answer.trim().is_empty()))
        })
    }

    /// Why this estimate cannot be issued as a quote; empty when it can.
    pub fn blocks(&self) -> Vec<String> {
        let checks = self.unanswered().map(|check| {
            if check.blocks_issue {
                format!("{}: {} This cannot be answered away.", check.name, check.says)
            } else {
                format!("{}: {} Answer it in writing.", check.name, check.says)
            }
        });
        let loads = self.spec.need.loads.is_empty().then(|| "Need: nothing to carry is given yet.".to_owned());
        loads.into_iter().chain(checks).chain(self.cutting.blocks()).chain(self.build_up.blocks()).collect()
    }
}
