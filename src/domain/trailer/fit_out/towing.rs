//! Coupling, over-run device, jockey wheel, chains, breakaway: what joins the trailer to its vehicle.

use super::{Asked, Shopping, need};
use crate::{
    road::PartKind,
    shop::PartClass,
    trailer::{Brakes, ChainPurpose, CouplingForm, DrawbarForm, Group, Point},
};

/// A jockey wheel bears this many times the static coupling load. Common practice, no source.
const JOCKEY_FACTOR: f64 = 1.5;
/// Least working load limit of a shackle by gross mass, kg. Source: an Australian trailer guide, read; used everywhere here.
const SHACKLES: [(f64, f64); 4] = [(1000.0, 250.0), (1600.0, 400.0), (2500.0, 625.0), (3500.0, 875.0)];

pub fn buy(shopping: &mut Shopping<'_>, asked: &Asked) {
    coupling(shopping);
    jockey_wheel(shopping);
    chains(shopping, asked);
    breakaway(shopping, asked);
    pins_and_bolts(shopping);
}

fn coupling(shopping: &mut Shopping<'_>) {
    let (spec, layout) = (shopping.spec, shopping.layout);
    let towing = &spec.design.towing;
    let gross = shopping.gross_kg();
    let because = format!("gross mass {gross:.0} kg");
    let mut head = need("coupling", PartClass::Coupling)
        .is("form", towing.coupling.word(), "coupling asked for")
        .at_least("rating_kg", gross, &because)
        .at_least("static_load_kg", shopping.coupling_load_kg(), "largest static load on the coupling");
    if let Some(asked) = towing.coupling_rating {
        head = head.at_least("rating_kg", asked.kg(), "rating asked for");
    }
    // UN R55 marks ball couplings of 50 mm and eyes with a D value; J684 couplings carry a rating alone.
    if matches!(towing.coupling, CouplingForm::Ball50 | CouplingForm::Eye)
        && let Some((d_kn, tow_kg)) = d_value_kn(shopping)
    {
        head = head.at_least(
            "d_value_kn",
            d_kn,
            &format!("D = g T R / (T + R) with a towing vehicle of {tow_kg:.0} kg and {gross:.0} kg"),
        );
    }
    let place: Point = [60.0, 0.0, layout.coupling_height_mm];
    shopping.buy_at(head, Group::Towing, vec![place]);
    if spec.design.running_gear.brakes == Brakes::OverRun {
        let device = need("over-run", PartClass::OverRun).at_least("rating_kg", gross, &because).at_most(
            "least_kg",
            gross,
            "smallest gross mass it works with",
        );
        shopping.buy_at(device, Group::Towing, vec![[250.0, 0.0, layout.coupling_height_mm]]);
    }
}

/// The largest D value with any towing vehicle whose gross mass is known, and that mass. Source: UN R55, read in a summary: D = g T R / (T + R).
fn d_value_kn(shopping: &Shopping<'_>) -> Option<(f64, f64)> {
    let r = shopping.gross_kg() / 1000.0;
    let vehicles = shopping.spec.need.towing_vehicles.iter().filter_map(|vehicle| vehicle.gross);
    vehicles
        .map(|gross| {
            let t = gross.kg() / 1000.0;
            (9.81 * t * r / (t + r), gross.kg())
        })
        .filter(|(d_kn, _)| d_kn.is_finite())
        .max_by(|a, b| a.0.total_cmp(&b.0))
}

fn jockey_wheel(shopping: &mut Shopping<'_>) {
    let (towing, layout) = (&shopping.spec.design.towing, shopping.layout);
    if !towing.jockey_wheel {
        return;
    }
    let load = JOCKEY_FACTOR * shopping.coupling_load_kg();
    let mut wheel = need("jockey-wheel", PartClass::JockeyWheel).at_least(
        "rating_kg",
        load,
        &format!("1.5 × {:.0} kg on the coupling", shopping.coupling_load_kg()),
    );
    if let Some(asked) = towing.jockey_rating {
        wheel = wheel.at_least("rating_kg", asked.kg(), "rating asked for");
    }
    let place: Point = [(0.35 * layout.drawbar_length_mm).max(250.0), 80.0, layout.coupling_height_mm];
    shopping.buy_at(wheel, Group::Towing, vec![place]);
}

/// Chains as asked for, and as the road rules ask: the larger number, the stronger chain.
fn chains(shopping: &mut Shopping<'_>, asked: &Asked) {
    let (towing, layout) = (&shopping.spec.design.towing, shopping.layout);
    let braked = shopping.spec.design.running_gear.brakes != Brakes::None;
    let by_rule: Vec<_> = asked.of(PartKind::Chain).filter(|(ask, _)| !(ask.unless_breakaway && braked)).collect();
    if towing.chains == ChainPurpose::None && by_rule.is_empty() {
        return;
    }
    let gross = shopping.gross_kg();
    let because = format!("gross mass {gross:.0} kg");
    let mut chain = need("safety-chain", PartClass::SafetyChain);
    let mut rated_kg: f64 = 0.0;
    if towing.chains == ChainPurpose::Secondary {
        chain = chain.at_least("rating_kg", gross, &because);
        rated_kg = gross;
    }
    for (ask, why) in &by_rule {
        if let Some(least) = ask.rated_kg(gross) {
            chain = chain.at_least("rating_kg", least, why);
            rated_kg = rated_kg.max(least);
        }
        if let Some(kn) = ask.breaking_kn(gross, ask.count).filter(|_| !ask.recommended) {
            rated_kg = rated_kg.max(gross);
            let knows = |figure| shopping.knows(PartClass::SafetyChain, figure);
            chain = match ask.or_link_mm {
                _ if knows("breaking_load_kn") => chain.at_least("breaking_load_kn", kn, why),
                Some(mm) if knows("link_mm") => chain.at_least("link_mm", mm, why),
                // A chain marked for a trailer breaks no sooner than at its weight.
                _ => chain.at_least("rating_kg", 1000.0 * kn / 9.81, why),
            };
        }
    }
    if let Some(asked) = towing.chain_rating {
        chain = chain.at_least("rating_kg", asked.kg(), "rating asked for");
    }
    let mut shackle = need("shackle", PartClass::Shackle);
    if rated_kg > 0.0 {
        let least = SHACKLES.iter().find(|(upto, _)| gross <= *upto).or(SHACKLES.last()).map_or(875.0, |(_, kg)| *kg);
        shackle = shackle.at_least("rating_kg", least, &because);
    }
    let wanted = if towing.chains == ChainPurpose::None { 0 } else { towing.chain_count };
    let count = by_rule.iter().map(|(ask, _)| ask.count).fold(wanted, u32::max);
    let sides = if count >= 2 { vec![-60.0, 60.0] } else { vec![60.0] };
    let at = |x: f64| sides.iter().map(|&y| [x, y, layout.coupling_height_mm - 60.0]).collect::<Vec<Point>>();
    shopping.buy_at(chain, Group::Towing, at(120.0));
    shopping.buy_at(shackle, Group::Towing, at(60.0));
}

/// Every braked trailer gets one, whether a rule asks or not: common practice.
fn breakaway(shopping: &mut Shopping<'_>, asked: &Asked) {
    let brakes = shopping.spec.design.running_gear.brakes;
    if brakes == Brakes::None && !shopping.spec.design.towing.breakaway {
        return;
    }
    let form = if brakes == Brakes::Electric { "switch" } else { "cable" };
    let because = asked.of(PartKind::Breakaway).next().map_or("brakes asked for", |(_, why)| why);
    let device = need("breakaway", PartClass::Breakaway).is("form", form, because);
    let place: Point = [300.0, -60.0, shopping.layout.coupling_height_mm];
    shopping.buy_at(device, Group::Towing, vec![place]);
}

/// What holds coupling and axle, and the pin of a telescopic drawbar. Common practice, no source: four M12 of class 8.8 each.
fn pins_and_bolts(shopping: &mut Shopping<'_>) {
    let (drawbar, layout) = (&shopping.spec.design.drawbar, shopping.layout);
    let bolts = |key, count, length_mm, because: &str| {
        need(key, PartClass::BoltSet)
            .count(count)
            .is("diameter_mm", 12.0, "coupling and axle")
            .at_least("length_mm", length_mm, because)
            .at_least("class", 8.8, "running gear")
    };
    // A coupling is bolted through its tube, or to its plate.
    let through = drawbar.section.width_mm().min(120.0) + 30.0;
    let coupling = bolts("bolts-coupling", 4.0, through, "through the drawbar, with nut and washers");
    shopping.buy(coupling, Group::Towing, vec![[120.0, 0.0, layout.coupling_height_mm]]);
    let axles = shopping.axles() as f64;
    let places = shopping.at_axles(layout.frame_bottom_z_mm);
    shopping.fit(bolts("bolts-axle", 4.0 * axles, 40.0, "bracket and plate"), Group::RunningGear, places, true);
    // An A-frame keeps what was typed for a telescopic pole, but has no pin.
    if drawbar.telescopic && drawbar.form == DrawbarForm::Pole {
        let pin = need("drawbar-pin", PartClass::DrawbarPin).is(
            "diameter_mm",
            drawbar.pin_diameter.mm(),
            "diameter of the pin asked for",
        );
        shopping.buy_at(pin, Group::Drawbar, vec![[0.6 * layout.drawbar_length_mm, 0.0, layout.coupling_height_mm]]);
    }
}
