//! Laws of reading and showing: what is written in a field reads back as the same value; what is shown reads back within half of the
//! last step; a length shown twice is shown alike; no text at all makes reading panic.

use hitchwright::domain::measure::{
    Grouping, Length, Mass, Money, MoneyStyle, Units, read_angle, read_length, read_mass, read_minutes, read_money,
    read_number, read_percent, round, show_length, show_mass, show_number, write_length, write_mass,
};
use proptest::prelude::*;
use rust_decimal::Decimal;

fn settings() -> ProptestConfig {
    ProptestConfig { failure_persistence: None, ..ProptestConfig::default() }
}

fn units() -> impl Strategy<Value = Units> {
    prop_oneof![Just(Units::Metric), Just(Units::Imperial)]
}

fn style() -> impl Strategy<Value = MoneyStyle> {
    let signs = prop_oneof![
        Just(("GBP", "£")),
        Just(("INR", "₹")),
        Just(("EUR", "€")),
        Just(("SEK", "kr")),
        Just(("CHF", "CHF")),
        Just(("JPY", "¥")),
    ];
    let groups = prop_oneof![Just(Grouping::Western), Just(Grouping::Indian), Just(Grouping::None)];
    let marks = prop_oneof![Just(('.', ',')), Just((',', '.')), Just(('.', '\'')), Just((',', '\u{a0}'))];
    (signs, any::<bool>(), 0u32..4, groups, marks).prop_map(
        |((code, symbol), symbol_before, decimals, group, marks)| {
            // Indian groups are written with a comma or a dot.
            let group = if matches!(marks.1, ',' | '.') { group } else { Grouping::Western };
            MoneyStyle {
                currency_code: code.to_owned(),
                symbol: symbol.to_owned(),
                symbol_before,
                decimals,
                group,
                decimal_mark: marks.0,
                group_mark: marks.1,
            }
        },
    )
}

/// Texts near the grammar, where mistakes in it would show.
fn typed() -> impl Strategy<Value = String> {
    prop_oneof![
        any::<String>(),
        "[-+−]?[0-9., '/\"′″½h:]{0,14} ?(mm|cm|m|in|ft|ga|swg|BWG|kg|lb|oz|t|ton|%|°|rad|min|h|€|£)?",
    ]
}

proptest! {
    #![proptest_config(settings())]

    #[test]
    fn a_written_length_reads_back_exactly(nm in -100_000_000_000_000i64..100_000_000_000_000, shop in units(), asked in units()) {
        let length = Length::from_nm(nm);
        prop_assert_eq!(read_length(&write_length(length, asked), shop), Ok(length));
    }

    #[test]
    fn a_length_in_sixty_fourths_reads_back_exactly(parts in -100_000i64..100_000, shop in units()) {
        let length = Length::from_nm(parts * 396_875);
        let written = write_length(length, Units::Imperial);
        prop_assert!(written.ends_with(" in"));
        prop_assert_eq!(read_length(&written, shop), Ok(length));
    }

    #[test]
    fn a_shown_length_reads_back_within_half_a_step(mm in -100_000.0..100_000.0f64, asked in units(), shop in units()) {
        let shown = show_length(mm, asked);
        let read = read_length(&shown, shop).map_err(|fault| TestCaseError::fail(format!("{shown}: {fault}")))?.mm();
        let half = match asked {
            Units::Metric => 0.05,
            Units::Imperial => 25.4 / 32.0,
        };
        prop_assert!((read - mm).abs() <= half + 1e-6, "{} shown as {}, read as {}", mm, shown, read);
        prop_assert_eq!(show_length(read, asked), shown);
    }

    #[test]
    fn a_written_mass_reads_back_exactly(micrograms in -10_000_000_000_000i64..10_000_000_000_000, shop in units(), asked in units()) {
        let mass = Mass::from_micrograms(micrograms);
        prop_assert_eq!(read_mass(&write_mass(mass, asked), shop), Ok(mass));
    }

    #[test]
    fn whole_pounds_are_written_as_pounds(pounds in -20_000i64..20_000) {
        let mass = Mass::from_micrograms(pounds * 453_592_370);
        prop_assert_eq!(write_mass(mass, Units::Imperial), format!("{pounds} lb"));
    }

    #[test]
    fn a_shown_mass_reads_back_within_half_a_step(kg in -10_000.0..10_000.0f64, asked in units(), shop in units()) {
        let read = read_mass(&show_mass(kg, asked), shop).unwrap().kg();
        let step = if kg.abs() > 453.0 { 1.0 } else if kg.abs() > 4.5 { 0.1 } else { 0.01 };
        prop_assert!((read - kg).abs() <= step / 2.0 + 1e-6, "{} read as {}", kg, read);
    }

    #[test]
    fn a_shown_amount_reads_back_as_rounded(minor in any::<i64>(), places in 0u32..6, style in style()) {
        let amount = Money(Decimal::new(minor, places));
        let rounded = amount.rounded(style.decimals);
        prop_assert_eq!(read_money(&style.show(amount), &style), Ok(rounded));
        prop_assert_eq!(read_money(&style.show_bare(amount), &style), Ok(rounded));
    }

    #[test]
    fn a_shown_number_reads_back_as_rounded(hundredths in -1_000_000_000i64..1_000_000_000, indian in any::<bool>()) {
        let group = if indian { Grouping::Indian } else { Grouping::Western };
        let shown = show_number(hundredths as f64 / 100.0, 2, group);
        prop_assert_eq!(read_number(&shown), Ok(Decimal::new(hundredths, 2)));
    }

    #[test]
    fn no_text_makes_reading_panic(text in typed(), shop in units(), style in style()) {
        let _ = read_length(&text, shop).map_err(|fault| fault.to_string());
        let _ = read_mass(&text, shop).map_err(|fault| fault.to_string());
        let _ = read_money(&text, &style).map_err(|fault| fault.to_string());
        let _ = read_number(&text).map_err(|fault| fault.to_string());
        let _ = read_percent(&text).map_err(|fault| fault.to_string());
        let _ = read_angle(&text).map_err(|fault| fault.to_string());
        let _ = read_minutes(&text).map_err(|fault| fault.to_string());
    }

    #[test]
    fn every_fault_is_one_short_line(text in typed(), shop in units()) {
        if let Err(fault) = read_length(&text, shop) {
            prop_assert!(fault.to_string().chars().count() < 250, "{}", fault);
        }
    }

    #[test]
    fn rounding_lands_on_a_step_on_the_right_side(value in -1e6..1e6f64, tenths in 1u32..1000) {
        let step = f64::from(tenths) / 10.0;
        let noise = 1e-6;
        let (down, nearest, up) = (round::down(value, step), round::nearest(value, step), round::up(value, step));
        prop_assert!(down <= value + noise && value <= up + noise);
        prop_assert!((nearest - value).abs() <= step / 2.0 + noise);
        prop_assert!(up - down <= step + noise);
        for landed in [down, nearest, up] {
            prop_assert!((landed / step - (landed / step).round()).abs() < 1e-6);
        }
    }
}
