use super::*;
use crate::measure::Grouping;

fn mm(text: &str, units: Units) -> f64 {
    read_length(text, units).unwrap_or_else(|fault| panic!("{text}: {fault}")).mm()
}

#[test]
fn lengths_as_people_type_them() {
    for (text, expect) in [
        ("1830", 1830.0),
        ("1.83 m", 1830.0),
        ("1.83m", 1830.0),
        ("183cm", 1830.0),
        ("6ft", 1828.8),
        ("6' 2 1/2\"", 1892.3),
        ("6'2.5", 1892.3),
        ("6 ft 2-1/2 in.", 1892.3),
        ("6ft-2in", 1879.6),
        ("6′ 2½″", 1892.3),
        ("6’ 2 1/2”", 1892.3),
        ("6' 2 1/2''", 1892.3),
        ("4 in", 101.6),
        ("72\"", 1828.8),
        ("3/16", 4.7625),
        ("3-1/2 in", 88.9),
        ("2 1/2", 63.5),
        ("1,200.5", 1200.5),
        ("1 200,5", 1200.5),
        ("1,00,000 mm", 100_000.0),
        ("1/64 in", 0.396_875),
        ("-12", -12.0),
        ("−12.5 mm", -12.5),
        ("+3", 3.0),
        ("  40 MM ", 40.0),
        ("10 SWG", 3.2512),
        ("10 ga BWG", 3.4036),
        ("10 MSG", 3.4163),
        ("AWG 10", 2.58826),
        ("16 swg", 1.6256),
        ("½ in", 12.7),
    ] {
        assert_eq!(mm(text, Units::Metric), expect, "{text}");
    }
    assert_eq!(mm("72", Units::Imperial), 1828.8);
    assert_eq!(mm("72 mm", Units::Imperial), 72.0);
    assert_eq!(mm("3.5", Units::Imperial), 88.9);
}

#[test]
fn a_gauge_without_its_table_is_asked_about() {
    let fault = read_length("10 ga", Units::Metric).unwrap_err();
    assert_eq!(
        fault.to_string(),
        "10 gauge has several meanings: type 10 SWG (3.25 mm, British and Indian sheet and wire), 10 BWG (3.40 mm, tube \
         wall and strip), 10 MSG (3.42 mm, US steel sheet) or 10 AWG (2.59 mm, aluminium sheet)"
    );
    assert!(matches!(read_length("10 gauge", Units::Imperial), Err(ReadFault::WhichGauge { gauge: 10, .. })));
    assert!(matches!(read_length("99 SWG", Units::Metric), Err(ReadFault::NoSuchGauge { .. })));
    assert!(matches!(read_length("99 ga", Units::Metric), Err(ReadFault::NoSuchGauge { .. })));
    assert!(matches!(read_length("2.5 ga", Units::Metric), Err(ReadFault::NoSuchGauge { .. })));
}

#[test]
fn what_is_wrong_is_said() {
    let fault = |text| read_length(text, Units::Metric).unwrap_err().to_string();
    assert_eq!(fault(""), "nothing was entered: type a length, such as 1830, 1.83 m, 6' 2 1/2\", 3/16 in or 10 SWG");
    assert_eq!(fault("  "), fault(""));
    assert_eq!(fault("1,5"), "“1,5” can be read as 1.5 or as 15: type the one that is meant");
    assert_eq!(fault("5 kg"), "“kg” is not a unit for a length: use mm, cm, m, in, ft, yd, or a gauge with its table");
    assert_eq!(fault("3/0"), "“3/0” divides by zero: type a fraction such as 3/16");
    assert!(fault("wide").starts_with("“wide” is not a length"));
    assert!(fault("6 2").starts_with("“6 2” is not a length"));
    assert!(fault("-").starts_with("“-” is not a length"));
    assert!(fault("6' 2 m").starts_with("“6' 2 m” is not a length"));
    assert!(fault("99999999999999 m").ends_with("is too large, or has too many digits, to be a length"));
    assert!(fault(&"9".repeat(300)).len() < 200);
}

#[test]
fn masses_as_people_type_them() {
    let kg = |text, units| read_mass(text, units).unwrap_or_else(|fault| panic!("{text}: {fault}")).kg();
    assert_eq!(kg("350 kg", Units::Imperial), 350.0);
    assert_eq!(kg("350", Units::Metric), 350.0);
    assert_eq!(kg("1.2 t", Units::Metric), 1200.0);
    assert_eq!(kg("770 lb", Units::Metric), 349.266_124_9);
    assert_eq!(kg("770", Units::Imperial), 349.266_124_9);
    assert_eq!(kg("12 oz", Units::Metric), 0.340_194_278); // 340 194 277.5 µg, half away from zero
    assert_eq!(kg("1 lb 8 oz", Units::Metric), 0.680_388_555);
    assert_eq!(kg("800 g", Units::Metric), 0.8);
    assert_eq!(read_mass("2 ton", Units::Metric), Err(ReadFault::WhichTon));
    assert!(matches!(read_mass("2 m", Units::Metric), Err(ReadFault::UnknownUnit { .. })));
}

#[test]
fn amounts_in_the_shops_currency() {
    let rupees = MoneyStyle {
        currency_code: "INR".into(),
        symbol: "₹".into(),
        symbol_before: true,
        decimals: 2,
        group: Grouping::Indian,
        decimal_mark: '.',
        group_mark: ',',
    };
    let read = |text| read_money(text, &rupees).map(|money| money.0.to_string());
    for text in ["1,00,000.5", "₹1,00,000.50", "₹ 100000.5", "INR 1,00,000.50", "100000.5 inr", "100,000.50 ₹"] {
        assert_eq!(read(text).unwrap(), "100000.5", "{text}");
    }
    assert_eq!(read("-₹12").unwrap(), "-12");
    assert_eq!(read("₹-12").unwrap(), "-12");
    for text in ["€ 5", "5 EUR", "$5"] {
        assert_eq!(read(text).unwrap_err().to_string(), format!("“{text}” names another currency: amounts are in INR"));
    }
    assert!(matches!(read("5 € 3"), Err(ReadFault::OtherCurrency { .. })));
    assert_eq!(read(""), Err(ReadFault::Empty(Asked::Money)));
    assert_eq!(read("₹"), Err(ReadFault::Empty(Asked::Money)));

    let swiss = MoneyStyle {
        symbol: "CHF".into(),
        currency_code: "CHF".into(),
        group: Grouping::Western,
        group_mark: '\'',
        ..rupees.clone()
    };
    assert_eq!(read_money("CHF 1'234.50", &swiss).unwrap().0.to_string(), "1234.5");
    let comma =
        MoneyStyle { symbol: "€".into(), currency_code: "EUR".into(), decimal_mark: ',', group_mark: '.', ..swiss };
    assert_eq!(read_money("1.234,50 €", &comma).unwrap().0.to_string(), "1234.5");
    assert_eq!(read_money("1,5", &comma).unwrap().0.to_string(), "1.5");
}

#[test]
fn numbers_percentages_angles_and_times() {
    let text = |read: Result<Decimal, ReadFault>| read.unwrap().to_string();
    assert_eq!(text(read_number("1,250.50")), "1250.5");
    assert_eq!(text(read_number("1/2")), "0.5");
    assert!(matches!(read_number("3 kg"), Err(ReadFault::UnknownUnit { .. })));
    assert!(read_number("3 x").is_err());
    for percent in ["12.5", "12.5 %", "12.5%", "12.5 per cent"] {
        assert_eq!(text(read_percent(percent)), "12.5", "{percent}");
    }
    assert!(read_number("12 per cent").is_err());
    assert_eq!(read_angle("22.5°"), Ok(22.5));
    assert_eq!(read_angle("45"), Ok(45.0));
    assert_eq!(read_angle("0.5 rad").map(|degrees| (degrees * 1e6).round()), Ok(28_647_890.0));
    for minutes in ["90", "90 min", "1.5 h", "1h 30", "1 h 30 min", "1:30", "1h30m", "1 1/2 hours"] {
        assert_eq!(text(read_minutes(minutes)), "90", "{minutes}");
    }
    assert!(read_minutes("1 day").is_err());
    assert!(read_minutes("1h 30 h").is_err());
}
