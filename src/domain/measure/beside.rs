//! A value beside its limit, in digits that never say another thing than the comparison of the two did.

use super::{
    Grouping, Units,
    round::nearest,
    show::{KG_PER_POUND, MM_PER_INCH, length_decimals, mass_decimals, show_length, show_number},
};

/// No figure gets more decimals than this to tell it from its limit.
const MOST_DECIMALS: usize = 4;

/// A value and its limit to so many decimals, and to more (at most four) where they would look alike and are not. What still looks
/// alike then and is over its limit is shown by the last decimal over it: so the shown value is above the shown limit
/// exactly if the value is above the limit.
pub fn beside(value: f64, limit: f64, decimals: usize) -> [String; 2] {
    beside_each([value, limit], [decimals; 2])
}

/// The same, each with decimals of its own.
pub fn beside_each([value, limit]: [f64; 2], decimals: [usize; 2]) -> [String; 2] {
    let show = |value, decimals| show_number(value, decimals, Grouping::Western);
    let step = |decimals: usize| 10f64.powi(-(decimals as i32));
    for more in 0..=MOST_DECIMALS {
        let finer = decimals.map(|own| (own + more).min(own.max(MOST_DECIMALS)));
        let shown = [nearest(value, step(finer[0])), nearest(limit, step(finer[1]))];
        let says_so = (shown[0] > shown[1]) == (value > limit) && (shown[0] != shown[1] || value == limit);
        if says_so {
            return [show(value, finer[0]), show(limit, finer[1])];
        }
    }
    let last = decimals[0].max(decimals[1]).max(MOST_DECIMALS);
    let shown = [nearest(value, step(last)), nearest(limit, step(last))];
    let over = if value > limit && shown[0] <= shown[1] { step(last) } else { 0.0 };
    [show(shown[0] + over, last), show(shown[1], last)]
}

/// Two lengths in the shop's units.
pub fn lengths_beside(value_mm: f64, limit_mm: f64, units: Units) -> [String; 2] {
    match units {
        Units::Metric => {
            let pair = [value_mm, limit_mm];
            beside_each(pair, pair.map(length_decimals)).map(|text| format!("{text} mm"))
        }
        // Closer than the fractions of an inch tell apart.
        Units::Imperial if value_mm != limit_mm && (value_mm - limit_mm).abs() < MM_PER_INCH / 16.0 => {
            beside(value_mm / MM_PER_INCH, limit_mm / MM_PER_INCH, 3).map(|text| format!("{text}″"))
        }
        Units::Imperial => [value_mm, limit_mm].map(|mm| show_length(mm, units)),
    }
}

/// Two masses in the shop's units.
pub fn masses_beside(value_kg: f64, limit_kg: f64, units: Units) -> [String; 2] {
    let (pair, unit) = match units {
        Units::Metric => ([value_kg, limit_kg], "kg"),
        Units::Imperial => ([value_kg, limit_kg].map(|kg| kg / KG_PER_POUND), "lb"),
    };
    beside_each(pair, pair.map(mass_decimals)).map(|text| format!("{text} {unit}"))
}

/// A share of a limit (1 is full) in per cent, to so many decimals or more.
pub fn percent_of_limit(share: f64, decimals: usize) -> String {
    let [shown, _] = beside(100.0 * share, 100.0, decimals);
    shown
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn read(text: &str) -> f64 {
        text.replace(',', "").replace(super::super::style::MINUS, "-").parse().expect("a number")
    }

    #[test]
    fn digits_go_on_until_value_and_limit_differ() {
        let texts = beside;
        assert_eq!(texts(1.001, 1.0, 2), ["1.001", "1"]);
        assert_eq!(texts(0.9996, 1.0, 2), ["0.9996", "1"]);
        assert_eq!(texts(150.4, 150.0, 0), ["150.4", "150"]);
        assert_eq!(texts(149.97, 150.0, 0), ["149.97", "150"]);
        assert_eq!(texts(149.0, 150.0, 0), ["149", "150"]);
        assert_eq!(texts(150.0, 150.0, 0), ["150", "150"]);
        assert_eq!(texts(1234.5, 1234.4, 0), ["1,235", "1,234"]);
        // Out of digits: over is over, under may look full.
        assert_eq!(texts(1.000_001, 1.0, 2), ["1.0001", "1"]);
        assert_eq!(texts(0.999_999, 1.0, 2), ["1", "1"]);
        assert_eq!(texts(f64::NAN, 1.0, 2), ["–", "1"]);
        assert_eq!(texts(f64::INFINITY, 1.0, 2), ["–", "1"]);
        assert_eq!([percent_of_limit(1.0004, 0), percent_of_limit(0.42, 0)], ["100.04", "42"]);
        assert_eq!(lengths_beside(300.02, 300.0, Units::Metric), ["300.02 mm", "300 mm"]);
        assert_eq!(lengths_beside(300.2, 299.9, Units::Imperial), ["11.819″", "11.807″"]);
        assert_eq!(lengths_beside(609.6, 304.8, Units::Imperial), ["2′ 0″", "12″"]);
        assert_eq!(masses_beside(750.04, 750.0, Units::Metric), ["750.04 kg", "750 kg"]);
        assert_eq!(masses_beside(1500.4, 1500.0, Units::Metric), ["1,500.4 kg", "1,500 kg"]);
    }

    /// Pairs far apart, near one another, and a hair from one another.
    fn pairs() -> impl Strategy<Value = [f64; 2]> {
        let limit = prop_oneof![-1e6..1e6, -20.0..20.0, (-400..400_i32).prop_map(|tenths| f64::from(tenths) / 10.0)];
        let apart = prop_oneof![Just(0.0), -1e5..1e5, -1.0..1.0, -1e-3..1e-3, -1e-7..1e-7];
        (limit, apart).prop_map(|(limit, apart)| [limit + apart, limit])
    }

    proptest! {
        #[test]
        fn the_shown_value_is_over_the_shown_limit_exactly_if_it_is([value, limit] in pairs(), decimals in 0..5_usize) {
            let shown = beside(value, limit, decimals).map(|text| read(&text));
            prop_assert_eq!(shown[0] > shown[1], value > limit, "{:?}", shown);
            let masses = masses_beside(value, limit, Units::Metric).map(|text| read(text.trim_end_matches(" kg")));
            prop_assert_eq!(masses[0] > masses[1], value > limit, "{:?}", masses);
            let lengths = lengths_beside(value, limit, Units::Metric).map(|text| read(text.trim_end_matches(" mm")));
            prop_assert_eq!(lengths[0] > lengths[1], value > limit, "{:?}", lengths);
            // No more decimals than there may be, and never far from the value.
            for (text, own) in beside(value, limit, decimals).iter().zip([value, limit]) {
                let after = text.split_once('.').map_or(0, |(_, after)| after.len());
                prop_assert!(after <= decimals.max(MOST_DECIMALS), "{}", text);
                prop_assert!((read(text) - own).abs() <= 0.5 * 10f64.powi(-(decimals as i32)) + 1.1e-4, "{}", text);
            }
        }
    }
}
