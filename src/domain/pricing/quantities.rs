//! Quantities that follow from areas, welds and masses: consumables, paint, zinc.

use crate::{
    labour::welding,
    nesting::cutting::Cutting,
    shop::{ConsumableUse, Norms},
    trailer::{FinishSystem, PanelRole, TakeOff},
};

/// Practical coverage of a paint, m² a litre: volume solids in per cent, dry film in µm, loss as a share of 1. Theoretical
/// coverage is volume solids × 10 / film (sorwarchem.blogspot.com 2022/04; "Spreading rate", copy).
pub fn paint_m2_per_litre(volume_solids_percent: f64, dry_film_um: f64, loss: f64) -> f64 {
    if dry_film_um > 0.0 { volume_solids_percent * 10.0 / dry_film_um * (1.0 - loss) } else { 0.0 }
}

/// Mass after the zinc bath, kg.
pub fn galvanised_kg(steel_kg: f64, pick_up_percent: f64) -> f64 {
    steel_kg * (1.0 + pick_up_percent / 100.0)
}

/// Area that is coated on one trailer, with edges and cleats.
pub(super) fn coated_m2(take_off: &TakeOff, norms: &Norms) -> f64 {
    take_off.finish.outside_m2 * (1.0 + norms.value("paint/edges") / 100.0)
}

/// What is used up on `count` trailers, in the units that the rate book prices: kg of wire, m³ of gas, litres …
pub(super) fn consumables(
    take_off: &TakeOff,
    cutting: &Cutting,
    count: f64,
    norms: &Norms,
) -> Vec<(ConsumableUse, f64)> {
    let welds = welding::all_welds(&take_off.welds, norms);
    let mut used = vec![
        (ConsumableUse::Wire, welds.wire_kg * count),
        (ConsumableUse::Gas, welds.gas_l / 1000.0 * count),
        (ConsumableUse::Disc, take_off.weld_m() * norms.value("weld/discs") * count),
        (ConsumableUse::SawBlade, f64::from(take_off.pieces()) * count + f64::from(cutting.bars_used())),
    ];
    let m2 = coated_m2(take_off, norms) * count;
    if take_off.finish.system == FinishSystem::Paint {
        let coverage = paint_m2_per_litre(
            norms.value("paint/volume-solids"),
            take_off.finish.coat_um,
            norms.value("paint/loss") / 100.0,
        );
        let litres_a_coat = if coverage > 0.0 { m2 / coverage } else { 0.0 };
        let coats = f64::from(take_off.finish.coats);
        used.push((ConsumableUse::Primer, litres_a_coat * coats.min(1.0)));
        used.push((ConsumableUse::TopCoat, litres_a_coat * (coats - 1.0).max(0.0)));
        used.push((ConsumableUse::Masking, m2));
    }
    if take_off.finish.system != FinishSystem::None {
        used.push((ConsumableUse::Degreaser, m2 * norms.value("paint/degreaser")));
    }
    if take_off.finish.system == FinishSystem::Galvanised {
        used.push((ConsumableUse::ZincSpray, m2 * norms.value("paint/zinc-spray")));
    }
    let sealed = take_off.area_m2(|_, part| {
        matches!(part.role, PanelRole::Deck | PanelRole::Side | PanelRole::Front | PanelRole::Tailgate)
    });
    used.push((ConsumableUse::Sealant, sealed * norms.value("body/sealant") * count));
    used.retain(|(_, quantity)| *quantity > 0.0);
    used
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{measure::round::nearest, steel::Section};

    /// Volume solids 45.45 %, 60 µm → 7.57 m²/l, 30 % lost → 5.3 (sorwarchem.blogspot.com 2022/04); 65 % at 125 µm → 5.2
    /// ("Spreading rate", copy); 28 % at 18 µm → 15.55 (promain.co.uk).
    #[test]
    fn published_paint_coverages() {
        assert!((paint_m2_per_litre(45.45, 60.0, 0.0) - 7.575).abs() < 0.001);
        assert_eq!(nearest(paint_m2_per_litre(45.45, 60.0, 0.3), 0.1), 5.3);
        assert_eq!(nearest(paint_m2_per_litre(65.0, 125.0, 0.0), 0.1), 5.2);
        assert!((paint_m2_per_litre(28.0, 18.0, 0.0) - 15.55).abs() < 0.01);
    }

    /// EN ISO 1461:2009 asks at least 395 g/m² on steel of 1.5 to 3 mm; the usual pick-up lies above that floor.
    #[test]
    fn galvanised_mass_stays_above_the_standard_s_floor() {
        let pick_up = Norms::default().value("galvanise/pick-up");
        for name in ["shs 40x40x2", "shs 50x50x2", "shs 50x50x3", "rhs 60x40x3", "rhs 100x50x3"] {
            let section: Section = name.parse().unwrap();
            let properties = section.properties();
            let zinc_floor = (properties.outside_m2_per_m + properties.inside_m2_per_m) * 0.395;
            let taken = galvanised_kg(properties.mass_kg_per_m, pick_up) - properties.mass_kg_per_m;
            assert!(taken >= zinc_floor, "{name}: {taken} < {zinc_floor}");
        }
    }
}
