//! The bought-in parts: which the trailer needs, how many, where they sit, and what each must satisfy.
//!
//! The rules ask for attributes by name; the rate book answers with the same names. An item that does not carry an
//! attribute does not satisfy a rule about it. Figures end in their unit; words come from the lists here.
//!
//! | class | attributes that rules ask for |
//! | --- | --- |
//! | `coupling` | `form` word (`ball-50`, `ball-1-7-8`, `ball-2`, `ball-2-5-16`, `eye`); `rating_kg` gross mass it may pull; `static_load_kg` load it may bear downwards; `d_value_kn` (asked of `ball-50` and `eye` where a towing vehicle's gross mass is known) |
//! | `over-run` | `rating_kg` largest and `least_kg` smallest gross mass it works with |
//! | `jockey-wheel` | `rating_kg` static, of one |
//! | `safety-chain` | `rating_kg` gross mass of the trailer it is marked for; `breaking_load_kn` where a rule asks for it and the rate book knows it, or carries `grade` figure (30, 43, 70, 80) and `link_mm` diameter of its links |
//! | `shackle` | `rating_kg` working load limit; carries `breaking_load_kn` |
//! | `breakaway` | `form` word (`cable` for over-run brakes, `switch` with its battery for electric ones) |
//! | `beam-axle` | `rating_kg` of the axle; `spindle_mm` diameter its hubs must have; `beam_mm` side of the beam its U-bolts must have. Comes without hubs, made to the track asked for |
//! | `torsion-axle` | `rating_kg` of the axle; `studs` word (`4x100`, `5x112` …). Comes with hubs, made to the track asked for |
//! | `leaf-spring` | `rating_kg` of one; carries `width_mm` for its hangers, `rate_n_per_mm` and `length_mm` (eye to eye) for the checks |
//! | `spring-hangers` | `width_mm` of the spring |
//! | `equaliser` | `width_mm` of the spring; `rating_kg` of both springs of the side |
//! | `u-bolts` | `beam_mm` of the axle |
//! | `coil-spring` | `rating_kg` of one; carries `rate_n_per_mm` |
//! | `link` | `rating_kg` of the axle it locates |
//! | `damper` | `stroke_mm` between open and closed |
//! | `hub` | `rating_kg` of one; `spindle_mm`; `studs` word |
//! | `brakes` | `form` word (`over-run`, `electric`); `rating_kg` of the axle; `least_rim_in` smallest rim it fits in; electric ones carry `amps` of the axle's set at 12 V |
//! | `wheel` | `size` word as written on the tyre (`155/80 R13`); `wheel_load_kg` from its load index; `speed_km_h` from its speed symbol; carries `studs` word for hubs and axle |
//! | `mudguard` | `width_mm`; `radius_mm` inside; `axles` figure it covers (1, or 2 in tandem form) |
//! | `mud-flap` | `width_mm` |
//! | `spare-carrier` | `studs` word of the wheel |
//! | `wheel-chock` | `rating_kg` wheel load it holds |
//! | `rear-lamp`, `plate-lamp`, `front-lamp`, `fog-lamp`, `reverse-lamp` | `approval_un`, `approval_sae`, `approval_adr`: figure 1 for each approval mark it carries (a region asks for one); carry `watts`, a cluster `turn_watts`, `stop_watts`, `tail_watts` |
//! | `side-marker` | `colour` word (`amber`, `red`); the approval marks |
//! | `outline-lamp` | `colour` word (`white-red`: white to the front and red to the rear in one; `amber`; `red`); the approval marks |
//! | `reflector` | `colour` word (`red`, `amber`, `white`); `shape` word (`triangle`, `plain`); the approval marks |
//! | `work-lamp` | none |
//! | `connector` | `ways` figure, exactly (5, 7, 13) |
//! | `junction-box` | `ways` figure, at least |
//! | `cable` | `cores` figure, `core_mm2` area of a core and `earth_mm2` of those that return or belong to a supply with an earth of its own, each at least (areas where the rate book knows any); counted in metres |
//! | `cable-fixings` | none; counted in metres of cable |
//! | `lashing-ring` | `mounting` word (`deck`, `frame`); `rating_kg` working load limit |
//! | `prop-stand` | `rating_kg` of one; `reach_mm` from its mounting to the ground |
//! | `hinge` | `rating_kg` load on one |
//! | `latch` | none |
//! | `ramp-latch` | `rating_kg` ramp mass it holds |
//! | `lock` | none |
//! | `lift-spring` | `moment_nm` of one at its hinge |
//! | `winch` | `rating_kg` line pull |
//! | `tool-box`, `fuel-can-holder`, `plate-holder`, `mass-plate` | none |
//! | `tow-eye` | `rating_kg` gross mass |
//! | `drawbar-pin` | `diameter_mm`, exactly |
//! | `tube-cap`, `strap` | nothing asks for them: open ends get welded plates, straps are the customer's |
//! | `bolt-set` | `diameter_mm`, exactly (8 deck, 10 fittings, 12 coupling and axle, 16 ball eye); `length_mm`, at least; `class` figure (8.8), at least |
//! | `deck-screw` | `length_mm`, at least |
//! | `rivet` | `grip_mm`, at least: sheet and wall together |
//! | `donor-axle`, `free` | made from the spec: the rate book holds none |

mod body;
mod lamps;
mod running_gear;
mod shopping;
mod towing;

pub use lamps::{LampNeed, lamp_points, lamps};
use shopping::{Shopping, need};

use super::{
    Assumed, Fitting, Group, Layout, Point, Spec, road_facts,
    wiring::{self, Cable, Harness},
};
use crate::{
    road::{self, PartAsk, PartKind},
    shop::{PartClass, RateBook},
};

/// Every bought-in part of the trailer that follows from spec and layout, with the item chosen for it.
pub fn fit_out(spec: &Spec, layout: &Layout, rates: &RateBook, assumed: &Assumed, lamps: &[LampNeed]) -> Vec<Fitting> {
    let mut shopping = Shopping::new(spec, layout, rates, assumed);
    let asked = Asked::of_region(spec, layout, assumed.gross_kg);
    running_gear::buy(&mut shopping);
    towing::buy(&mut shopping, &asked);
    body::buy(&mut shopping, &asked);
    lamps::buy(&mut shopping, lamps);
    electrics(&mut shopping);
    shopping.fittings
}

/// What the road rules of the region ask for besides lamps, each with the reason.
struct Asked(Vec<(&'static PartAsk, String)>);

impl Asked {
    fn of_region(spec: &Spec, layout: &Layout, gross_kg: f64) -> Self {
        let region = road::seed().region(&spec.need.usage.region);
        let facts = road_facts(spec, layout, gross_kg);
        Self(region.map(|region| road::parts_asked(region, &facts)).unwrap_or_default())
    }

    fn of(&self, kind: PartKind) -> impl Iterator<Item = (&'static PartAsk, &str)> {
        self.0.iter().filter(move |(ask, _)| ask.need == kind).map(|(ask, why)| (*ask, why.as_str()))
    }
}

/// Plug, junction box, cables and their fixings, for the lamps and brakes bought before.
fn electrics(shopping: &mut Shopping<'_>) {
    let (spec, layout) = (shopping.spec, shopping.layout);
    let harness = Harness::of(spec, layout, &shopping.fittings);
    let ways = wiring::ways(spec.design.electrics.connector);
    let plug: Point = [0.0, 0.0, layout.coupling_height_mm];
    shopping.buy(
        need("connector", PartClass::Connector).is("ways", f64::from(ways), &format!("plug of {ways} ways")),
        Group::Electrics,
        vec![plug],
    );
    let needed = harness.needed();
    let middle: Point = [(layout.bed_front_x_mm + layout.bed_rear_x_mm) / 2.0, 0.0, layout.frame_bottom_z_mm.max(0.0)];
    let metres = |run_mm: f64| (run_mm / 100.0).ceil() / 10.0;
    for (cable, cores, run_mm) in harness.cables() {
        let because = format!("{cores} cores");
        if cable == Cable::Plug {
            shopping.buy(
                need("junction-box", PartClass::JunctionBox).at_least("ways", f64::from(cores), &because),
                Group::Electrics,
                vec![wiring::junction(layout)],
            );
        }
        let mut asked =
            need(&cable.key(), PartClass::Cable).count(metres(run_mm)).at_least("cores", f64::from(cores), &because);
        for (attribute, mm2, because) in needed.areas_of(cable) {
            // Where no cable's area is known there is nothing to choose by: a check says so.
            if shopping.knows(PartClass::Cable, attribute) {
                asked = asked.at_least(attribute, mm2, because);
            }
        }
        shopping.buy(asked, Group::Electrics, vec![middle]);
    }
    let run_mm = harness.runs.iter().map(|run| run.length_mm).sum();
    shopping.buy(need("cable-fixings", PartClass::CableFixings).count(metres(run_mm)), Group::Electrics, vec![middle]);
}

#[cfg(test)]
mod tests;
