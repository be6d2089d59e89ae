//! Weld metal, consumables and arc time, from run and leg.
//!
//! A fillet of equal legs z has the area z²/2; what is deposited is k times that (reinforcement), what is bought is that
//! over the deposition efficiency. Arc time is deposited mass over deposition rate; paid time is arc time over the
//! operator factor. Sources: welding references of a consumables maker (formula, k, efficiencies), ESAB handbooks
//! (deposition rates, gas); see the norms `weld/…`.

use crate::{
    shop::Norms,
    trailer::{WeldDemand, WeldKind},
};

/// What a metre of weld takes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct WeldMetre {
    pub deposited_kg: f64,
    /// To buy.
    pub wire_kg: f64,
    pub arc_min: f64,
    /// With what starts and leaks lose.
    pub gas_l: f64,
}

/// Legs for which the norms hold a deposition rate.
const LEGS_MM: [(f64, &str); 5] = [
    (3.0, "weld/deposition-3"),
    (4.0, "weld/deposition-4"),
    (5.0, "weld/deposition-5"),
    (6.0, "weld/deposition-6"),
    (8.0, "weld/deposition-8"),
];

/// Deposited mass of a fillet, kg/m: leg in mm, reinforcement factor, density in kg/m³.
pub fn fillet_kg_per_m(leg_mm: f64, reinforcement: f64, density: f64) -> f64 {
    reinforcement * leg_mm * leg_mm / 2.0 * density * 1e-6
}

/// Deposited mass of a square butt weld with a gap of half the thickness and a cap of a third of its width (common
/// practice, no source): kg/m.
pub fn butt_kg_per_m(thickness_mm: f64, reinforcement: f64, density: f64) -> f64 {
    let gap = thickness_mm / 2.0;
    reinforcement * (gap * thickness_mm + 2.0 / 3.0 * (2.0 * gap) * (thickness_mm / 6.0)) * density * 1e-6
}

/// What a metre of this weld takes by the shop's norms; nought where a norm is nought.
pub fn weld_metre(kind: WeldKind, size_mm: f64, norms: &Norms) -> WeldMetre {
    let (reinforcement, density) = (norms.value("weld/reinforcement"), norms.value("weld/density"));
    let deposited_kg = match kind {
        WeldKind::Fillet => fillet_kg_per_m(size_mm, reinforcement, density),
        WeldKind::Butt => butt_kg_per_m(size_mm, reinforcement, density),
    };
    let arc_min = over(deposited_kg, deposition_kg_per_h(size_mm, norms)) * 60.0;
    WeldMetre {
        deposited_kg,
        wire_kg: over(deposited_kg, norms.value("weld/efficiency")),
        arc_min,
        gas_l: norms.value("weld/gas-flow") * arc_min * norms.value("weld/gas-uplift"),
    }
}

/// By straight lines between the legs that the norms hold; beyond them the nearest.
pub fn deposition_kg_per_h(size_mm: f64, norms: &Norms) -> f64 {
    let rate = |key: &str| norms.value(key);
    for pair in LEGS_MM.windows(2) {
        let ((low, low_key), (high, high_key)) = (pair[0], pair[1]);
        if size_mm <= low {
            return rate(low_key);
        }
        if size_mm <= high {
            return rate(low_key) + (rate(high_key) - rate(low_key)) * (size_mm - low) / (high - low);
        }
    }
    rate("weld/deposition-8")
}

/// What all the welds of one trailer take.
pub fn all_welds(welds: &[WeldDemand], norms: &Norms) -> WeldMetre {
    let mut all = WeldMetre::default();
    for weld in welds {
        let metre = weld_metre(weld.kind, weld.size_mm, norms);
        let metres = weld.length_mm / 1000.0;
        all.deposited_kg += metre.deposited_kg * metres;
        all.wire_kg += metre.wire_kg * metres;
        all.arc_min += metre.arc_min * metres;
        all.gas_l += metre.gas_l * metres;
    }
    all
}

/// A quotient that is nought where the divisor is.
pub(super) fn over(value: f64, by: f64) -> f64 {
    if by > 0.0 { value / by } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// "Calculation of the welding consumables consumption", welding references of a consumables maker: kg/m to buy for a
    /// fillet, k = 1.2, 7.85 g/cm³; covered electrode 55 %, solid wire 95 %, flux-cored wire 90 %; printed rounded up to
    /// 0.01. Flux-cored 6 mm is left out: the table prints 0.18, its own formula gives 0.1884.
    #[test]
    fn the_published_table_of_fillets_follows_from_the_formula() {
        let table = [
            (3.0, [0.08, 0.05, 0.05]),
            (4.0, [0.14, 0.08, 0.09]),
            (5.0, [0.22, 0.13, 0.14]),
            (6.0, [0.31, 0.18, f64::NAN]),
            (7.0, [0.42, 0.25, 0.26]),
            (8.0, [0.55, 0.32, 0.34]),
        ];
        let mut cells = 0;
        for (leg, printed) in table {
            for (efficiency, printed) in [0.55, 0.95, 0.90].into_iter().zip(printed) {
                if printed.is_nan() {
                    continue;
                }
                let kg = fillet_kg_per_m(leg, 1.2, 7850.0) / efficiency;
                assert_eq!(crate::measure::round::up(kg, 0.01), printed, "leg {leg}, efficiency {efficiency}");
                cells += 1;
            }
        }
        assert_eq!(cells, 17);
    }

    /// Weld metal cost worksheet (ESAB, copies): flux-cored 10.2 lb/h, operator factor 0.45, wire 1.78 a lb at 0.87, gas
    /// 40 ft³/h at 0.02; covered electrode 5.4 lb/h, 0.30, 0.85 a lb at 0.64; 45 an hour. Per lb of weld metal.
    #[test]
    fn the_weld_cost_worksheet_comes_out() {
        let cost = |rate: f64, deposition: f64, factor: f64, price: f64, efficiency: f64, gas_an_hour: f64| {
            [rate / (deposition * factor), over(price, efficiency), gas_an_hour / deposition]
                .map(|term| crate::measure::round::nearest(term, 0.01))
        };
        assert_eq!(cost(45.0, 10.2, 0.45, 1.78, 0.87, 40.0 * 0.02), [9.80, 2.05, 0.08]);
        assert_eq!(cost(45.0, 5.4, 0.30, 0.85, 0.64, 0.0), [27.78, 1.33, 0.0]);
        assert!((9.80_f64 + 2.05 + 0.08 - 11.93).abs() < 1e-9);
        assert!((27.78_f64 + 1.33 - 29.11).abs() < 1e-9);
    }

    /// Minutes a metre by the formula at the default norms, leg 3 to 8 at 40 %: 4.9, 6.6, 9.3, 11.6, 19 (computed from the
    /// deposition rates named in the norms).
    #[test]
    fn minutes_a_metre_follow_from_deposition_and_operator_factor() {
        let norms = Norms::default();
        for (leg, minutes) in [(3.0, 4.9), (4.0, 6.6), (5.0, 9.3), (6.0, 11.6), (8.0, 18.8)] {
            let metre = weld_metre(WeldKind::Fillet, leg, &norms);
            let paid = metre.arc_min / norms.value("weld/operator-factor");
            assert!((paid - minutes).abs() < 0.06, "leg {leg}: {paid}");
        }
        // 12 l/min with the arc burning: 32 l a metre of 4 mm fillet, before the uplift.
        let gas = weld_metre(WeldKind::Fillet, 4.0, &norms).gas_l / norms.value("weld/gas-uplift");
        assert!((gas - 32.0).abs() < 0.5, "{gas}");
    }

    #[test]
    fn a_leg_between_two_norms_lies_between() {
        let norms = Norms::default();
        assert_eq!(deposition_kg_per_h(2.0, &norms), 1.3);
        assert!((deposition_kg_per_h(7.0, &norms) - 2.3).abs() < 1e-9);
        assert_eq!(deposition_kg_per_h(12.0, &norms), 2.4);
    }
}
