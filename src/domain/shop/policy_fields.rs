//! The shop's settings as fields: what the settings page shows, reads and limits. Paths lie in the JSON of a [`super::ShopBook`].

use super::{
    policy::{PriceShown, RoundPlace, StockCharge, TaxOn},
    rates::ItemClass,
};
use crate::{
    form::{Field, Kind, Limit},
    words::Words,
};

const PERCENT: Limit = Limit { low: 0.0, high: 100.0 };
const ROUNDINGS: &[(&str, &str)] =
    &[("nearest", "to the nearest, halves up"), ("up", "always up"), ("down", "always down")];

/// Every setting that the settings page offers, in its order.
pub fn policy_fields() -> Vec<Field> {
    use Kind::{Choice, Count, Decimal, Flag, Length, Mass, Money, Percent, Text};
    let mm = |high| Limit { low: 0.0, high };
    let to = |low, high| Limit { low, high };
    let cutting = "Cutting";
    let stock = "Stock";
    let price = "Price";
    let tax = "Tax and rounding";
    let dates = "Dates and terms";
    let ages = "Warn about old prices";
    let jumps = "Ask about sudden prices";
    let marks = "Mark-up by class";
    let mut fields = vec![
        field(
            cutting,
            "kerf",
            "Saw kerf",
            Length,
            mm(10.0),
            "Band saw 1.0–1.6 mm, cold saw 2.0–2.5, abrasive 2.5–3.5: common practice.",
        ),
        field(
            cutting,
            "end_trim",
            "Trim at the end of a new bar",
            Length,
            mm(200.0),
            "5–10 mm a mill end: common practice.",
        ),
        field(
            cutting,
            "keep_offcut",
            "Shortest bar offcut that is kept",
            Length,
            mm(6000.0),
            "Shorter ones are scrap.",
        ),
        field(cutting, "sheet_kerf", "Sheet kerf", Length, mm(10.0), "Guillotine 0, panel saw 3.2 mm, plasma 2."),
        field(
            cutting,
            "sheet_edge_trim",
            "Trim on each edge of a sheet",
            Length,
            mm(100.0),
            "3–5 mm for plywood: common practice.",
        ),
        field(cutting, "keep_sheet_long", "Sheet offcut kept: longer side at least", Length, mm(6000.0), ""),
        field(cutting, "keep_sheet_short", "Sheet offcut kept: shorter side at least", Length, mm(3000.0), ""),
        field(
            cutting,
            "guillotine",
            "Sheet cuts run from edge to edge",
            Flag,
            to(0.0, 1.0),
            "As a guillotine or a panel saw cuts.",
        ),
        field(stock, "offcut_worth_percent", "Worth of an offcut", Percent, PERCENT, "Per cent of the buying price."),
        field(
            stock,
            "stock_charge",
            "A job pays for",
            Choice(StockCharge::WORDS),
            to(0.0, 0.0),
            "What becomes of the offcuts that it leaves.",
        ),
        field(
            stock,
            "counts_on_rack",
            "A quote may count on the rack",
            Flag,
            to(0.0, 1.0),
            "Its price is made with the pieces that lie there free, at their worth. Nothing is reserved before the customer has accepted: \
             if a piece is gone by then, the shop bears the difference. Otherwise prices are made with new stock alone.",
        ),
        field(
            price,
            "handling_percent",
            "Handling of bought-in parts",
            Percent,
            PERCENT,
            "Ordering, receiving, storing.",
        ),
        field(price, "freight_percent", "Inbound freight on bars and sheets", Percent, PERCENT, ""),
        field(
            price,
            "overhead_per_hour",
            "Overhead for each direct hour",
            Money,
            to(0.0, 1000.0),
            "Yearly overhead over yearly productive hours. Never on top of a charge-out rate that holds it already.",
        ),
        field(
            price,
            "contingency_percent",
            "Contingency",
            Percent,
            PERCENT,
            "5 % for a repeat to 15 % for a first-off: common practice.",
        ),
        field(
            price,
            "margin_percent",
            "Margin on price",
            Percent,
            to(0.0, 90.0),
            "M = 1 − cost / price. 25 % margin is 33.3 % mark-up.",
        ),
        field(
            price,
            "price_allowance",
            "Add a line for the rise of material prices while the quote holds",
            Flag,
            to(0.0, 1.0),
            "By class: the rise that 95 of 100 changes of a producer price index stayed below, over the days that the quote holds.",
        ),
        field(price, "least_margin_percent", "Lowest margin without asking the owner", Percent, to(0.0, 90.0), ""),
        field(
            price,
            "delivery_per_km",
            "Delivery, each kilometre",
            Money,
            to(0.0, 100.0),
            "Distance one way, as agreed in the offer.",
        ),
        field(price, "delivery_minimum", "Delivery, at least", Money, to(0.0, 10_000.0), ""),
        field(
            price,
            "price_shown",
            "The customer sees",
            Choice(PriceShown::WORDS),
            to(0.0, 0.0),
            "Never cost, hours or margin.",
        ),
        field(tax, "tax_name", "Name of the tax", Text, to(1.0, 40.0), ""),
        field(tax, "tax_percent", "Tax", Percent, PERCENT, "Check the rate that the law asks for today."),
        field(
            tax,
            "tax_on",
            "Tax is worked out on",
            Choice(TaxOn::WORDS),
            to(0.0, 0.0),
            "Some countries ask for one or the other.",
        ),
        field(
            tax,
            "round_place",
            "Rounded is",
            Choice(RoundPlace::WORDS),
            to(0.0, 0.0),
            "The difference stands as a line of its own.",
        ),
        field(tax, "round_step", "Rounding step", Money, to(0.0, 1000.0), "0 rounds to the smallest coin."),
        field(tax, "rounding", "Rounding goes", Choice(ROUNDINGS), to(0.0, 0.0), ""),
        field(dates, "deposit_percent", "Deposit", Percent, PERCENT, "30–50 % for one-offs: common practice."),
        field(dates, "validity_days", "A quote holds for (days)", Count, to(1.0, 365.0), "7–14 while steel moves."),
        field(
            dates,
            "lead_days",
            "Working days before the first cut",
            Count,
            to(0.0, 260.0),
            "From order, deposit and approved drawing.",
        ),
        field(
            dates,
            "capacity_hours_per_day",
            "Hours that the shop turns out in a day",
            Decimal,
            to(0.5, 1000.0),
            "All hands together, for jobs like this.",
        ),
        field(dates, "hours_per_day", "Working hours in a day", Decimal, to(1.0, 24.0), ""),
        field(dates, "trailers_a_year", "Trailers built in a year", Count, to(0.0, 10_000.0), "Some road rules ask."),
        field(
            dates,
            "gross_allowance",
            "Allowance for straps, tools and mud",
            Mass,
            to(0.0, 500.0),
            "For the gross mass of a new job.",
        ),
    ];
    fields.extend(strength_fields());
    for day in ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"] {
        let label = format!("Work on {}", capital(day));
        fields.push(named(dates, format!("workdays.{day}"), label, Flag, to(0.0, 1.0), ""));
    }
    for class in ItemClass::ALL {
        let path = format!("mark_up_percent.{}", class.word());
        fields.push(named(marks, path, capital(class.label()), Percent, to(0.0, 500.0), "On cost, before the margin."));
    }
    for class in ItemClass::ALL {
        let path = format!("price_age_days.{}", class.word());
        let label = format!("{}: days", capital(class.label()));
        fields.push(named(ages, path, label, Count, to(1.0, 3650.0), "A price older than this is warned about."));
    }
    for class in ItemClass::ALL {
        let path = format!("price_jump_percent.{}", class.word());
        let label = format!("{}: per cent", capital(class.label()));
        let help = "A new price that moves farther is asked about; twice as far after a month.";
        fields.push(named(jumps, path, label, Count, to(1.0, 1000.0), help));
    }
    fields
}

/// Factors of the strength checks.
fn strength_fields() -> Vec<Field> {
    let group = "Strength";
    let no_source = "Common practice, no source.";
    let quoted = "ADR 62 clause 12.3.2.1, as quoted.";
    let rows: [(&str, &str, f64, f64, &'static str); 7] = [
        ("dynamic_sealed", "Load times this on bumps, sealed roads", 1.0, 6.0, no_source),
        ("dynamic_gravel", "Load times this on bumps, gravel roads", 1.0, 6.0, no_source),
        ("dynamic_rough", "Load times this on bumps, rough tracks", 1.0, 6.0, no_source),
        ("test_along", "Test load at the coupling lengthways, times g and gross mass", 0.0, 5.0, quoted),
        ("test_across", "Test load at the coupling sideways, times g and gross mass", 0.0, 5.0, quoted),
        ("test_up", "Test load at the coupling up and down, times g and gross mass", 0.0, 5.0, quoted),
        (
            "thin_wall_percent",
            "Tube walls reckoned thinner by (per cent)",
            0.0,
            20.0,
            "EN 10219-2 lets a wall be 10 % thin (from memory); half of that is reckoned with.",
        ),
    ];
    rows.into_iter()
        .map(|(name, label, low, high, help)| {
            named(group, format!("strength.{name}"), label.into(), Kind::Number, Limit { low, high }, help)
        })
        .collect()
}

/// What the shop is, and how it writes: beside [`policy_fields`] on the settings page.
pub fn shop_fields() -> Vec<Field> {
    const UNITS: &[(&str, &str)] = &[("metric", "millimetres, kilograms"), ("imperial", "feet and inches, pounds")];
    const GROUPS: &[(&str, &str)] = &[("western", "1,234,567"), ("indian", "12,34,567"), ("none", "1234567")];
    let to = |low, high| Limit { low, high };
    let shop = |path: &str, label: &str, kind, limit, help| Field {
        path: path.into(),
        group: "Shop",
        label: label.into(),
        kind,
        unit: "",
        limit,
        optional: false,
        help,
    };
    let mut fields = vec![
        shop("name", "Name of the shop", Kind::Text, to(1.0, 100.0), ""),
        shop("town", "Town", Kind::Text, to(0.0, 100.0), ""),
        shop(
            "language",
            "Customers read their quotes in",
            Kind::Choice(Words::choices()),
            to(0.0, 0.0),
            "With the figures, money and days of that land; a quote can be made in another one.",
        ),
        shop(
            "time_zone",
            "Time zone",
            Kind::Text,
            to(0.0, 60.0),
            "Such as Europe/London: the day on papers is the day there. Empty: that of the server.",
        ),
        shop(
            "units",
            "Lengths and masses are typed in",
            Kind::Choice(UNITS),
            to(0.0, 0.0),
            "The other family is always understood when its unit is typed.",
        ),
        shop(
            "currency.currency_code",
            "Currency code",
            Kind::Text,
            to(3.0, 3.0),
            "Three letters of ISO 4217. Nothing is ever converted.",
        ),
        shop("currency.symbol", "Sign of the currency", Kind::Text, to(0.0, 8.0), ""),
        shop("currency.symbol_before", "The sign stands before the amount", Kind::Flag, to(0.0, 1.0), ""),
        shop("currency.decimals", "Decimals of an amount", Kind::Count, to(0.0, 4.0), ""),
        shop("currency.group", "Digits are grouped", Kind::Choice(GROUPS), to(0.0, 0.0), ""),
        shop("currency.decimal_mark", "Decimal mark", Kind::Text, to(1.0, 1.0), ""),
        shop("terms.payment", "Payment", Kind::Text, to(0.0, 1000.0), ""),
        shop("terms.warranty", "Warranty", Kind::Text, to(0.0, 1000.0), ""),
        shop("terms.variation", "Changes after acceptance", Kind::Text, to(0.0, 1000.0), ""),
        shop("terms.exclusions", "Not included", Kind::Text, to(0.0, 1000.0), ""),
        shop("terms.title", "Title to the goods", Kind::Text, to(0.0, 1000.0), ""),
    ];
    fields.extend(Words::all().iter().filter(|words| words.tag() == words.language()).flat_map(other_terms));
    fields
}

/// The terms for quotes in a language that may not be the shop's usual one.
fn other_terms(words: &'static Words) -> impl Iterator<Item = Field> {
    let terms = [
        ("payment", "Payment"),
        ("warranty", "Warranty"),
        ("variation", "Changes"),
        ("exclusions", "Not included"),
        ("title", "Title"),
    ];
    terms.into_iter().map(|(term, label)| Field {
        path: format!("other_terms.{}.{term}", words.language()),
        group: "Terms in other languages",
        label: format!("{label} ({})", words.name()),
        kind: Kind::Text,
        unit: "",
        limit: Limit { low: 0.0, high: 1000.0 },
        optional: false,
        help: "",
    })
}

fn field(group: &'static str, name: &str, label: &str, kind: Kind, limit: Limit, help: &'static str) -> Field {
    named(group, name.to_owned(), label.to_owned(), kind, limit, help)
}

fn named(group: &'static str, name: String, label: String, kind: Kind, limit: Limit, help: &'static str) -> Field {
    Field { path: format!("policy.{name}"), group, label, kind, unit: "", limit, optional: false, help }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{form::Hand, shop::ShopBook};

    #[test]
    fn every_setting_has_a_field_that_reads_what_it_writes() {
        let shop = ShopBook::demo();
        let document = serde_json::to_value(&shop).unwrap();
        let hand = Hand { units: shop.units, money: &shop.currency };
        let fields: Vec<Field> = shop_fields().into_iter().chain(policy_fields()).collect();
        for field in &fields {
            let value = field.get(&document).unwrap_or_else(|| panic!("{} is not in the shop", field.path));
            let text = field.write(value, hand);
            let read = field.read(&text, hand).unwrap_or_else(|fault| panic!("{fault}"));
            let mut changed = document.clone();
            assert!(field.set(&mut changed, read));
            let back: ShopBook =
                serde_json::from_value(changed).unwrap_or_else(|fault| panic!("{}: {fault}", field.path));
            assert_eq!(back, shop, "{}", field.path);
        }
        for key in document["policy"].as_object().unwrap().keys() {
            let path = format!("policy.{key}");
            assert!(fields.iter().any(|field| field.path.starts_with(&path)), "{path} has no field");
        }
    }
}
