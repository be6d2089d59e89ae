use std::collections::{BTreeMap, BTreeSet};

use fluent_syntax::{ast, parser};
use jiff::civil::date;

use super::{FILES, Words};
use crate::measure::{Grouping, Money, MoneyStyle, Units};

fn style(symbol: &str) -> MoneyStyle {
    MoneyStyle {
        currency_code: "XXX".into(),
        symbol: symbol.into(),
        symbol_before: true,
        decimals: 2,
        group: Grouping::Western,
        decimal_mark: '.',
        group_mark: ',',
    }
}

/// Source: Unicode CLDR 48.0 through ICU 78.2 (`Intl.NumberFormat` and `Intl.DateTimeFormat` with `dateStyle: "long"`), where
/// `_` stands for U+00A0; where CLDR writes a hyphen before an amount below nought, we write a minus as before every figure. The time of day follows the same patterns; between day and time we write a comma.
#[test]
fn figures_are_written_as_in_cldr() {
    for (tag, sign, money, below, number, day, moment, percent) in [
        ("en", "£", "£1,234,567.50", "−£1,234.50", "1,234,567.25", "5 November 2026", "14:05", "20.5%"),
        ("en", "CHF", "CHF_1,234,567.50", "−CHF_1,234.50", "1,234,567.25", "5 November 2026", "14:05", "20.5%"),
        ("en-US", "$", "$1,234,567.50", "−$1,234.50", "1,234,567.25", "November 5, 2026", "2:05 PM", "20.5%"),
        ("en-IN", "₹", "₹12,34,567.50", "−₹1,234.50", "12,34,567.25", "5 November 2026", "2:05 pm", "20.5%"),
        ("de", "€", "1.234.567,50_€", "−1.234,50_€", "1.234.567,25", "5. November 2026", "14:05 Uhr", "20,5_%"),
        ("de", "£", "1.234.567,50_£", "−1.234,50_£", "1.234.567,25", "5. November 2026", "14:05 Uhr", "20,5_%"),
        ("de-AT", "€", "€_1.234.567,50", "−€_1.234,50", "1_234_567,25", "5. November 2026", "14:05 Uhr", "20,5_%"),
        ("de-CH", "CHF", "CHF_1'234'567.50", "CHF−1'234.50", "1'234'567.25", "5. November 2026", "14:05 Uhr", "20.5%"),
    ] {
        let words = Words::of(tag);
        assert_eq!(words.tag(), tag);
        let plain = |text: String| text.replace('\u{a0}', "_");
        let amount = |text: &str| plain(words.money(Money(text.parse().unwrap()), &style(sign)));
        assert_eq!(amount("1234567.5"), money, "{tag}");
        assert_eq!(amount("-1234.5"), below, "{tag}");
        assert_eq!(plain(words.number(1_234_567.25, 2)), number, "{tag}");
        assert_eq!(words.day(date(2026, 11, 5)), day, "{tag}");
        assert_eq!(words.moment(date(2026, 11, 5).at(14, 5, 9, 0)), format!("{day}, {moment}"), "{tag}");
        assert_eq!(plain(words.percent("20.5".parse().unwrap())), percent, "{tag}");
    }
    assert_eq!(Words::of("de-AT").day(date(2026, 1, 5)), "5. Jänner 2026");
    assert_eq!(Words::of("de").money(Money("12".parse().unwrap()), &style("")), "12,00");
    assert_eq!(Words::of("en-US").moment(date(2026, 11, 5).at(0, 0, 0, 0)), "November 5, 2026, 12:00 AM");
}

#[test]
fn measures_are_no_finer_than_they_are_sure() {
    let (english, german) = (Words::english(), Words::of("de"));
    assert_eq!(german.mass(1310.4, Units::Metric), "1.310\u{a0}kg");
    assert_eq!(german.mass(4.25, Units::Metric), "4,3\u{a0}kg");
    assert_eq!(english.mass(310.4, Units::Imperial), "684\u{a0}lb");
    assert_eq!(english.length(2440.4, Units::Metric), "2,440\u{a0}mm");
    assert_eq!(german.length(9.25, Units::Metric), "9,25\u{a0}mm");
    assert_eq!(german.length(1892.3, Units::Imperial), "6′ 2 1/2″");
    assert_eq!(german.list(["Bienen", "Kisten", "Honig"]), "Bienen, Kisten, Honig");
}

#[test]
fn a_tag_without_a_file_is_read_in_its_language_or_in_english() {
    assert_eq!(Words::of("de-LI").tag(), "de");
    assert_eq!(Words::of("xx").tag(), "en");
    assert_eq!(Words::of("").tag(), "en");
    assert_eq!(Words::of("de").say("left-days").count("days", 1).text(), "noch ein Tag");
    assert_eq!(Words::of("de").say("left-days").count("days", 6).text(), "noch 6 Tage");
}

/// The variables of every text of a file.
fn texts(file: &str) -> BTreeMap<String, BTreeSet<String>> {
    let resource = parser::parse(file).unwrap_or_else(|(_, faults)| panic!("{faults:?}"));
    let mut texts = BTreeMap::new();
    for entry in resource.body {
        let ast::Entry::Message(message) = entry else { continue };
        let mut variables = BTreeSet::new();
        of_pattern(message.value.as_ref().expect("a text"), &mut variables);
        assert!(texts.insert(message.id.name.to_owned(), variables).is_none(), "{} stands twice", message.id.name);
    }
    texts
}

fn of_pattern(pattern: &ast::Pattern<&str>, found: &mut BTreeSet<String>) {
    for element in &pattern.elements {
        let ast::PatternElement::Placeable { expression } = element else { continue };
        match expression {
            ast::Expression::Inline(inline) => of_inline(inline, found),
            ast::Expression::Select { selector, variants } => {
                of_inline(selector, found);
                variants.iter().for_each(|variant| of_pattern(&variant.value, found));
            }
        }
    }
}

fn of_inline(inline: &ast::InlineExpression<&str>, found: &mut BTreeSet<String>) {
    if let ast::InlineExpression::VariableReference { id } = inline {
        found.insert(id.name.to_owned());
    }
}

/// What only regions or only some languages need.
const MAY_DIFFER: [&str; 3] = ["money", "money-below-zero", "moment"];

#[test]
fn every_language_has_the_same_texts_with_the_same_variables() {
    let english = texts(FILES.iter().find(|(tag, _)| *tag == "en").expect("English").1);
    for (tag, file) in FILES {
        let found = texts(file);
        for (id, variables) in &found {
            let expected = english.get(id).unwrap_or_else(|| panic!("{tag}: {id} is no text of en.ftl"));
            assert!(expected == variables || MAY_DIFFER.contains(&id.as_str()), "{tag}: {id}: {variables:?}");
        }
        if !tag.contains('-') {
            let missing: Vec<&String> = english.keys().filter(|id| !found.contains_key(*id)).collect();
            assert!(missing.is_empty(), "{tag} lacks {missing:?}");
        }
    }
}

/// A language that leaves a variable out would hide a figure; one that adds one would show its name.
#[test]
fn there_are_at_least_two_whole_languages() {
    assert!(Words::all().iter().filter(|words| words.tag() == words.language()).count() >= 2);
}
