//! Which item of the rate book a place gets: the cheapest that satisfies every rule, or the one picked by hand.

use super::{
    Attribute, ChosenPart, Goods, Item, PartItem, PartNeed, RateBook, Requirement, Rule,
    parts::{Attributes, PartClass, attribute_words},
};
use crate::measure::{Grouping, show_number};

/// An item picked by hand, and why.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ByHand<'a> {
    pub code: &'a str,
    pub reason: &'a str,
}

/// The cheapest item of the class that satisfies every requirement (by price, then mass, then code). An item picked by
/// hand is kept, with the rules that it does not satisfy; a code that the rate book does not hold is said and the rule chooses.
/// Nothing found leaves the part without an item: a finding that stands beside the price.
pub fn choose(rates: &RateBook, need: PartNeed, by_hand: Option<ByHand<'_>>) -> ChosenPart {
    let mut suitable: Vec<&Item> = rates.items.iter().filter(|item| suits(item, &need)).collect();
    suitable.sort_by(|a, b| {
        a.price.cmp(&b.price).then(mass_kg(a).total_cmp(&mass_kg(b))).then_with(|| a.code.cmp(&b.code))
    });
    let cheapest = suitable.first().and_then(|item| as_part(item)).map(|(_, part)| part);
    let mut falls_short = Vec::new();
    let item = match by_hand.map(|pick| picked(rates, &need, pick)) {
        Some(Ok((part, short))) => {
            falls_short = short;
            Some(part)
        }
        Some(Err(unknown)) => {
            falls_short.push(unknown);
            cheapest
        }
        None => cheapest,
    };
    let chosen = item.as_ref().map(|item| item.code.as_str());
    let others = suitable.iter().map(|item| &item.code).filter(|code| Some(code.as_str()) != chosen).cloned().collect();
    let overruled = by_hand.map(|pick| pick.reason.to_owned());
    ChosenPart { need, item, falls_short, overruled, others }
}

/// What of the rules the attributes do not satisfy, in words.
pub fn shortfalls(requirements: &[Requirement], attributes: &Attributes) -> Vec<String> {
    requirements.iter().filter_map(|rule| shortfall(rule, attributes)).collect()
}

fn picked(rates: &RateBook, need: &PartNeed, pick: ByHand<'_>) -> Result<(PartItem, Vec<String>), String> {
    let with_code = || rates.items.iter().filter(|item| item.code == pick.code);
    let same_class = |item: &&Item| matches!(&item.goods, Goods::Part { class, .. } if *class == need.class);
    let item = with_code().find(same_class).or_else(|| with_code().next());
    let (item, (class, part)) = item
        .and_then(|item| Some((item, as_part(item)?)))
        .ok_or_else(|| format!("{} was picked by hand, but the rate book holds no such part", pick.code))?;
    let mut short = shortfalls(&need.requirements, &part.attributes);
    if class != need.class {
        short.insert(0, format!("it is sold as {}, not as {}", class.label(), need.class.label()));
    }
    if item.retired {
        short.push("it is no longer offered".into());
    }
    Ok((part, short))
}

fn suits(item: &Item, need: &PartNeed) -> bool {
    let Goods::Part { class, attributes, .. } = &item.goods else { return false };
    !item.retired && *class == need.class && need.requirements.iter().all(|rule| holds(rule, attributes))
}

fn mass_kg(item: &Item) -> f64 {
    match item.goods {
        Goods::Part { mass_kg, .. } => mass_kg,
        _ => 0.0,
    }
}

fn as_part(item: &Item) -> Option<(PartClass, PartItem)> {
    let Goods::Part { class, mass_kg, minutes, attributes } = &item.goods else { return None };
    let part = PartItem {
        code: item.code.clone(),
        name: item.name.clone(),
        mass_kg: *mass_kg,
        price: item.price,
        minutes: *minutes,
        attributes: attributes.clone(),
    };
    Some((*class, part))
}

fn holds(requirement: &Requirement, attributes: &Attributes) -> bool {
    match (&requirement.rule, attributes.get(&requirement.attribute)) {
        (Rule::AtLeast(least), Some(Attribute::Figure(value))) => value >= least,
        (Rule::AtMost(most), Some(Attribute::Figure(value))) => value <= most,
        (Rule::Is(Attribute::Figure(wanted)), Some(Attribute::Figure(value))) => (value - wanted).abs() < 1e-6,
        (Rule::Is(Attribute::Word(wanted)), Some(Attribute::Word(word))) => word == wanted,
        _ => false,
    }
}

fn shortfall(requirement: &Requirement, attributes: &Attributes) -> Option<String> {
    if holds(requirement, attributes) {
        return None;
    }
    let Requirement { attribute, rule, because } = requirement;
    let (name, unit) = attribute_words(attribute);
    let wanted = match rule {
        Rule::AtLeast(least) => format!("at least {}", figure(*least, unit)),
        Rule::AtMost(most) => format!("at most {}", figure(*most, unit)),
        Rule::Is(Attribute::Figure(value)) => figure(*value, unit),
        Rule::Is(Attribute::Word(word)) => word.clone(),
    };
    let has = match attributes.get(attribute) {
        Some(Attribute::Figure(value)) => format!("is {}", figure(*value, unit)),
        Some(Attribute::Word(word)) => format!("is {word}"),
        None => "is not known".into(),
    };
    Some(format!("{name} {has}, {wanted} is needed: {because}"))
}

/// A figure of a part with its unit, as it stands in findings.
pub fn figure(value: f64, unit: &str) -> String {
    let shown = show_number(value, 2, Grouping::Western);
    if unit.is_empty() { shown } else { format!("{shown} {unit}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn book() -> RateBook {
        let item = |code: &str, class: &str, price: &str, mass: f64, attributes: &str, retired: bool| {
            let text = format!(
                r#"{{"code":"{code}","name":"{code}","class":"part","unit":"each","price":"{price}","from":"2026-01-01","retired":{retired},
                    "goods":{{"kind":"part","class":"{class}","mass_kg":{mass},"attributes":{attributes}}}}}"#
            );
            serde_json::from_str::<Item>(&text).unwrap()
        };
        RateBook {
            day: "2026-01-01".parse().unwrap(),
            items: vec![
                item("C750", "coupling", "15", 2.0, r#"{"rating_kg":750,"form":"ball-50"}"#, false),
                item("C1400", "coupling", "30", 3.0, r#"{"rating_kg":1400,"form":"ball-50"}"#, false),
                item("C1400L", "coupling", "30", 2.5, r#"{"rating_kg":1400,"form":"ball-50"}"#, false),
                item("C-OLD", "coupling", "1", 2.0, r#"{"rating_kg":3500,"form":"ball-50"}"#, true),
                item("C2IN", "coupling", "10", 2.0, r#"{"rating_kg":3500,"form":"ball-2"}"#, false),
                item("C-BARE", "coupling", "2", 2.0, r#"{"form":"ball-50"}"#, false),
                item("J", "jockey-wheel", "20", 4.0, r#"{"rating_kg":150}"#, false),
            ],
        }
    }

    fn need(least: f64) -> PartNeed {
        let rule =
            |attribute: &str, rule| Requirement { attribute: attribute.into(), rule, because: "gross mass".into() };
        PartNeed {
            key: "coupling".into(),
            class: PartClass::Coupling,
            count: 1.0,
            requirements: vec![
                rule("rating_kg", Rule::AtLeast(least)),
                rule("form", Rule::Is(Attribute::Word("ball-50".into()))),
            ],
        }
    }

    fn code(chosen: &ChosenPart) -> Option<&str> {
        chosen.item.as_ref().map(|item| item.code.as_str())
    }

    #[test]
    fn the_cheapest_that_satisfies_every_rule_then_the_lightest() {
        let chosen = choose(&book(), need(700.0), None);
        assert_eq!(code(&chosen), Some("C750"));
        assert_eq!(chosen.others, ["C1400L", "C1400"]);
        assert_eq!(code(&choose(&book(), need(750.1), None)), Some("C1400L"));
    }

    #[test]
    fn needs_are_said_in_words_and_the_strictest_decides() {
        let mut need = need(111.0);
        need.requirements.push(Requirement {
            attribute: "rating_kg".into(),
            rule: Rule::AtLeast(1100.0),
            because: "rating asked for".into(),
        });
        let said: Vec<String> = need.deciding().iter().map(|rule| rule.words(figure)).collect();
        assert_eq!(said, ["form ball-50", "rating at least 1,100 kg"]);
        assert_eq!(need.reasons(), ["gross mass", "rating asked for"]);
        let lamp = Requirement {
            attribute: "approval_un".into(),
            rule: Rule::AtLeast(1.0),
            because: "approval mark of the region".into(),
        };
        assert_eq!(lamp.words(figure), "UN approval");
        let tyre =
            Requirement { attribute: "wheel_load_kg".into(), rule: Rule::AtLeast(399.25), because: String::new() };
        assert_eq!(tyre.words(figure), "load on one wheel at least 399.25 kg");
    }

    #[test]
    fn nothing_suitable_leaves_the_part_open() {
        let chosen = choose(&book(), need(1400.1), None);
        assert_eq!((code(&chosen), chosen.others.len()), (None, 0));
        assert_eq!(code(&choose(&book(), need(f64::NAN), None)), None);
    }

    #[test]
    fn a_part_picked_by_hand_is_kept_with_what_it_lacks() {
        let pick = |code| Some(ByHand { code, reason: "in stock" });
        let chosen = choose(&book(), need(1000.0), pick("C750"));
        assert_eq!(code(&chosen), Some("C750"));
        assert_eq!(chosen.falls_short, ["rating is 750 kg, at least 1,000 kg is needed: gross mass"]);
        assert_eq!(chosen.overruled.as_deref(), Some("in stock"));
        assert_eq!(chosen.others, ["C1400L", "C1400"]);
        assert_eq!(choose(&book(), need(1000.0), pick("C1400")).falls_short, [""; 0]);
        let bare = choose(&book(), need(1000.0), pick("C-BARE"));
        assert_eq!(bare.falls_short, ["rating is not known, at least 1,000 kg is needed: gross mass"]);
        assert_eq!(choose(&book(), need(1000.0), pick("C-OLD")).falls_short, ["it is no longer offered"]);
        let other = choose(&book(), need(100.0), pick("J"));
        assert!(other.falls_short[0].starts_with("it is sold as jockey wheel"), "{:?}", other.falls_short);
        let gone = choose(&book(), need(1000.0), pick("X9"));
        assert_eq!(code(&gone), Some("C1400L"));
        assert_eq!(gone.falls_short, ["X9 was picked by hand, but the rate book holds no such part"]);
    }
}
