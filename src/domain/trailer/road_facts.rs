//! What the road rules may ask about a trailer, read from what is asked and how it is laid out. Masses that only the scales
//! know, and the towing vehicle, are added where they are known.

use super::{Brakes, Layout, Spec, layout::COUPLING_AHEAD_MM};
use crate::road::{Facts, Value, seed};

/// Facts of a trailer with this gross mass, each with how it was found.
pub fn road_facts(spec: &Spec, layout: &Layout, gross_kg: f64) -> Facts {
    let (usage, design) = (&spec.need.usage, &spec.design);
    let mut facts = Facts::default();
    facts.set_number("gross_mass_kg", Some(gross_kg), "gross mass for the plate");
    let travel = if design.drawbar.telescopic { design.drawbar.travel.mm() } else { 0.0 };
    let drawn = if travel > 0.0 { "as built, the drawbar at its longest" } else { "as built" };
    facts.set_number("width_mm", Some(layout.overall_width_mm), "as built, over bed, tyres and mudguards");
    facts.set_number("length_mm", Some(layout.overall_length_mm + travel), drawn);
    let rear_mm = layout.bed_rear_x_mm.max(layout.overall_length_mm - COUPLING_AHEAD_MM);
    facts.set_number(
        "body_length_mm",
        Some(rear_mm - layout.bed_front_x_mm),
        "as built, from the bed's front to the rear end",
    );
    facts.set_number("drawbar_mm", Some(layout.drawbar_length_mm + travel), drawn);
    let load_mm = spec.need.loads.iter().map(|load| load.height.mm()).fold(0.0, f64::max);
    let loaded_mm = layout.overall_height_mm.max(layout.deck_top_z_mm + load_mm);
    facts.set_number("height_mm", Some(loaded_mm), "as built, or with the highest load on the bed");
    facts.set_number("rear_overhang_mm", Some(rear_mm - layout.axle_x_mm), "as built, behind the middle of the axles");
    let axles = layout.axles_x_mm.len() as f64;
    facts.set_number("axles", Some(axles), "as built");
    facts.set_number("wheels", Some(2.0 * axles), "two on each axle");
    let brakes = design.running_gear.brakes;
    facts.set("braked", Value::YesNo(brakes != Brakes::None), "brakes asked for");
    let kind = match brakes {
        Brakes::None => "none",
        Brakes::OverRun => "overrun",
        Brakes::Electric => "electric",
    };
    facts.set("brake_kind", Value::Word(kind.into()), "brakes asked for");
    facts.set("body", Value::Word(usage.body.word().into()), "kind of body asked for");
    facts.set("living", Value::YesNo(usage.living_space), "use asked for");
    facts.set("commercial", Value::YesNo(usage.commercial), "use asked for");
    facts.set("for_own_use", Value::YesNo(usage.own_use), "use asked for");
    if let Some(state) = usage.state.as_deref().and_then(|state| state_word(&usage.region, state)) {
        facts.set("state", Value::Word(state), "state asked for");
    }
    facts
}

/// The word of a state, typed as such or by its name; a state that the rules of its region do not know stays unknown.
fn state_word(region: &str, typed: &str) -> Option<String> {
    let (typed, states) = (typed.trim(), &seed().region(region)?.states);
    let known = states.iter().find(|(word, name)| typed.eq_ignore_ascii_case(word) || typed.eq_ignore_ascii_case(name));
    match known {
        Some((word, _)) => Some(word.clone()),
        None => (states.is_empty() && !typed.is_empty()).then(|| typed.to_lowercase()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shop::ShopBook;
    use crate::trailer::{Assumed, build};

    fn facts(change: impl FnOnce(&mut Spec)) -> Facts {
        let mut spec = Spec::default();
        change(&mut spec);
        let assumed = Assumed::guess(740.0, 75.0, 2640.0, 1);
        let trailer = build(&spec, &ShopBook::demo(), &assumed).unwrap_or_else(|faults| panic!("{faults}"));
        road_facts(&spec, &trailer.layout, 740.0)
    }

    /// By hand: a bed of 2400 mm behind a drawbar of 1200 mm, axle at 2640 mm.
    #[test]
    fn sizes_are_those_of_the_built_trailer() {
        let found = facts(|_| {});
        assert_eq!(found.number("body_length_mm"), Some(2400.0));
        assert_eq!(found.number("rear_overhang_mm"), Some(3600.0 - 2640.0));
        assert_eq!(found.number("drawbar_mm"), Some(1200.0));
        assert_eq!((found.number("axles"), found.number("wheels")), (Some(1.0), Some(2.0)));
        assert_eq!(found.get("braked"), Some(&Value::YesNo(false)));
        let length = found.number("length_mm").unwrap();
        let out = facts(|spec| {
            spec.design.drawbar.form = crate::trailer::DrawbarForm::Pole;
            spec.design.drawbar.section = "shs 60x60x4".parse().unwrap();
            spec.design.drawbar.inner_section = "shs 50x50x3".parse().unwrap();
            spec.design.drawbar.telescopic = true;
        });
        assert_eq!(out.number("length_mm"), Some(length + 200.0), "pulled out by its travel");
    }

    #[test]
    fn a_state_is_known_by_its_word_or_name_or_not_at_all() {
        let state = |region: &str, typed: &str| {
            let found = facts(|spec| {
                spec.need.usage.region = region.into();
                spec.need.usage.state = Some(typed.into());
            });
            found.get("state").cloned()
        };
        let word = |word: &str| Some(Value::Word(word.into()));
        assert_eq!(state("au", "NSW"), word("nsw"));
        assert_eq!(state("au", "New South Wales "), word("nsw"));
        assert_eq!(state("au", "Sydney"), None, "asks, and never falls away");
        assert_eq!(state("eu", "Portugal"), word("portugal"));
    }
}
