//! Showing quantities in the shop's units. Two families of functions:
//!
//! * `write_…` is exact: for a field, where reading it back must give the same value;
//! * `show_…` rounds to what a person can use; reading it back gives a value within half of the last step shown.

use super::{
    Length, Mass, Units,
    round::nearest,
    style::{Grouping, MINUS, grouped},
    units::{MICROGRAMS_PER_POUND, NM_PER_INCH, STANDARD_GRAVITY},
};

pub(super) const MM_PER_INCH: f64 = NM_PER_INCH as f64 / 1e6;
pub(super) const KG_PER_POUND: f64 = MICROGRAMS_PER_POUND as f64 / 1e9;

/// A length exactly as a field shows it, with its unit. Imperial: feet are left out, a whole multiple of 1/64 in is a fraction, any other
/// length falls back to millimetres, which are always exact.
pub fn write_length(length: Length, units: Units) -> String {
    if units == Units::Imperial
        && let Some(inches) = write_inches(length)
    {
        return format!("{inches} in");
    }
    format!("{} mm", write_mm(length))
}

/// Millimetres exactly, without unit and without trailing zeros.
pub fn write_mm(length: Length) -> String {
    decimal(length.nm(), 6)
}

/// Kilograms or pounds exactly, with the unit; a mass that is no whole millionth of a pound falls back to kilograms.
pub fn write_mass(mass: Mass, units: Units) -> String {
    let millionths = i128::from(mass.micrograms()) * 1_000_000;
    let pound = i128::from(MICROGRAMS_PER_POUND);
    if units == Units::Imperial
        && millionths % pound == 0
        && let Ok(millionths) = i64::try_from(millionths / pound)
    {
        return format!("{} lb", decimal(millionths, 6));
    }
    format!("{} kg", decimal(mass.micrograms(), 9))
}

/// A length in millimetres, to be read: metric to 0.1 mm (0.01 mm below 10 mm); imperial in feet and inches to 1/16 in,
/// below half an inch to 0.001 in unless a sixteenth is exact.
pub fn show_length(mm: f64, units: Units) -> String {
    match units {
        Units::Metric => {
            format!("{} mm", show_number(mm, length_decimals(mm), Grouping::Western))
        }
        Units::Imperial => show_inches(mm / MM_PER_INCH),
    }
}

/// The same length in the other family of units, for the tooltip.
pub fn show_other_length(mm: f64, units: Units) -> String {
    show_length(mm, units.other())
}

/// A mass in kilograms, to be read: to 1 from 1,000 up, to 0.1 from 10 up, below that to 0.01 (of a kilogram or pound).
pub fn show_mass(kg: f64, units: Units) -> String {
    let (value, unit) = match units {
        Units::Metric => (kg, "kg"),
        Units::Imperial => (kg / KG_PER_POUND, "lb"),
    };
    format!("{} {unit}", show_number(value, mass_decimals(value), Grouping::Western))
}

/// Of a length in millimetres.
pub(super) fn length_decimals(mm: f64) -> usize {
    if mm.abs() < 9.995 { 2 } else { 1 }
}

/// Of a mass in kilograms or pounds.
pub(super) fn mass_decimals(value: f64) -> usize {
    match value.abs() {
        from_1000 if from_1000 >= 999.95 => 0,
        from_10 if from_10 >= 9.995 => 1,
        _ => 2,
    }
}

/// The same mass in the other family of units, for the tooltip.
pub fn show_other_mass(kg: f64, units: Units) -> String {
    show_mass(kg, units.other())
}

/// A force in newtons, to be read: N below 1 kN, kN to 0.01 above; imperial in pounds-force.
pub fn show_force(newtons: f64, units: Units) -> String {
    match units {
        Units::Metric if newtons.abs() < 999.5 => format!("{} N", show_number(newtons, 0, Grouping::Western)),
        Units::Metric => format!("{} kN", show_number(newtons / 1000.0, 2, Grouping::Western)),
        Units::Imperial => {
            format!("{} lbf", show_number(newtons / (KG_PER_POUND * STANDARD_GRAVITY), 0, Grouping::Western))
        }
    }
}

/// An area in square metres, to be read: to 0.01 m² or 0.1 ft².
pub fn show_area(m2: f64, units: Units) -> String {
    match units {
        Units::Metric => format!("{} m²", show_number(m2, 2, Grouping::Western)),
        Units::Imperial => {
            let foot_m = 12.0 * MM_PER_INCH / 1000.0;
            format!("{} ft²", show_number(m2 / (foot_m * foot_m), 1, Grouping::Western))
        }
    }
}

/// A number to at most so many decimals, halves away from zero, grouped, without trailing zeros. Not-a-number and
/// infinities are shown as a dash: a figure that could not be worked out is never shown as one that could.
pub fn show_number(value: f64, decimals: usize, group: Grouping) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    let step = 10f64.powi(-(decimals.min(9) as i32));
    let text = format!("{:.*}", decimals, nearest(value, step));
    let trimmed = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    let (sign, digits) = match trimmed.strip_prefix('-') {
        Some("0") => ("", "0"),
        Some(digits) => (MINUS, digits),
        None => ("", trimmed),
    };
    match digits.split_once('.') {
        Some((whole, fraction)) => format!("{sign}{}.{fraction}", grouped(whole, group, ',')),
        None => format!("{sign}{}", grouped(digits, group, ',')),
    }
}

/// Inches as feet and sixteenths: `6′ 2 1/2″`.
fn show_inches(inches: f64) -> String {
    if !inches.is_finite() {
        return "–".to_owned();
    }
    let sign = if inches < 0.0 { MINUS } else { "" };
    let inches = inches.abs();
    let sixteenths = nearest(inches * 16.0, 1.0);
    if inches < 0.5 && (inches * 16.0 - sixteenths).abs() > 1e-6 {
        let shown = show_number(inches, 3, Grouping::None);
        return if shown == "0" { "0″".to_owned() } else { format!("{sign}{shown}″") };
    }
    if sixteenths > 1e15 {
        return format!("{sign}{}″", show_number(inches, 0, Grouping::Western));
    }
    let sixteenths = sixteenths as i64;
    let (feet, rest) = if sixteenths < 24 * 16 { (0, sixteenths) } else { (sixteenths / 192, sixteenths % 192) };
    let sign = if sixteenths == 0 { "" } else { sign };
    match feet {
        0 => format!("{sign}{}″", mixed(rest, 16)),
        _ => format!("{sign}{feet}′ {}″", mixed(rest, 16)),
    }
}

fn write_inches(length: Length) -> Option<String> {
    let sixty_fourth = NM_PER_INCH / 64;
    let sign = if length.nm() < 0 { "-" } else { "" };
    let nm = i64::try_from(length.nm().unsigned_abs()).ok()?;
    (nm % sixty_fourth == 0).then(|| format!("{sign}{}", mixed(nm / sixty_fourth, 64)))
}

/// `parts` of 1/`of` as a mixed number in lowest terms; `of` is a power of two.
fn mixed(parts: i64, of: i64) -> String {
    let (whole, mut parts, mut of) = (parts / of, parts % of, of);
    while parts != 0 && parts % 2 == 0 {
        (parts, of) = (parts / 2, of / 2);
    }
    match (whole, parts) {
        (whole, 0) => whole.to_string(),
        (0, parts) => format!("{parts}/{of}"),
        (whole, parts) => format!("{whole} {parts}/{of}"),
    }
}

/// An integer of 10^-`places` as a plain decimal without trailing zeros.
fn decimal(value: i64, places: u32) -> String {
    let unit = 10u64.pow(places);
    let (whole, fraction) = (value.unsigned_abs() / unit, value.unsigned_abs() % unit);
    let sign = if value < 0 { "-" } else { "" };
    let text = format!("{sign}{whole}.{fraction:0width$}", width = places as usize);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_to_read() {
        for (mm, metric, imperial) in [
            (1830.0, "1,830 mm", "6′ 1/16″"),
            (1892.3, "1,892.3 mm", "6′ 2 1/2″"),
            (101.6, "101.6 mm", "4″"),
            (3.175, "3.18 mm", "1/8″"),
            (3.0, "3 mm", "0.118″"),
            (0.0, "0 mm", "0″"),
            (-88.9, "−88.9 mm", "−3 1/2″"),
            (609.6, "609.6 mm", "2′ 0″"),
        ] {
            assert_eq!(show_length(mm, Units::Metric), metric);
            assert_eq!(show_length(mm, Units::Imperial), imperial);
        }
        assert_eq!(show_other_length(101.6, Units::Metric), "4″");
        assert_eq!(show_length(f64::NAN, Units::Metric), "– mm");
    }

    #[test]
    fn lengths_for_a_field() {
        assert_eq!(write_length(Length::from_mm(1830.0), Units::Metric), "1830 mm");
        assert_eq!(write_length(Length::from_mm(63.5), Units::Imperial), "2 1/2 in");
        assert_eq!(write_length(Length::from_mm(0.396_875), Units::Imperial), "1/64 in");
        assert_eq!(write_length(Length::from_mm(1830.0), Units::Imperial), "1830 mm");
        assert_eq!(write_length(Length::from_nm(i64::MIN), Units::Metric), "-9223372036854.775808 mm");
    }

    #[test]
    fn masses_forces_and_areas() {
        assert_eq!(show_mass(1340.4, Units::Metric), "1,340 kg");
        assert_eq!(show_mass(349.27, Units::Metric), "349.3 kg");
        assert_eq!(show_mass(349.266_124_9, Units::Imperial), "770 lb");
        assert_eq!(show_mass(4.2478, Units::Metric), "4.25 kg");
        assert_eq!(write_mass(Mass::from_kg(349.266_124_9), Units::Imperial), "770 lb");
        assert_eq!(write_mass(Mass::from_kg(350.0), Units::Imperial), "350 kg");
        assert_eq!(show_force(850.2, Units::Metric), "850 N");
        assert_eq!(show_force(12_345.0, Units::Metric), "12.35 kN");
        assert_eq!(show_force(4_448.221_615, Units::Imperial), "1,000 lbf");
        assert_eq!(show_area(4.625, Units::Metric), "4.63 m²");
        assert_eq!(show_area(0.092_903_04, Units::Imperial), "1 ft²");
    }

    #[test]
    fn numbers_are_grouped() {
        assert_eq!(show_number(1_234_567.891, 2, Grouping::Western), "1,234,567.89");
        assert_eq!(show_number(1_234_567.891, 1, Grouping::Indian), "12,34,567.9");
        assert_eq!(show_number(-0.001, 2, Grouping::Western), "0");
        assert_eq!(show_number(100.0, 0, Grouping::Western), "100");
        assert_eq!(show_number(f64::INFINITY, 2, Grouping::Western), "–");
    }
}
