//! The JSON Schema of a spec, with the units and ranges that the registry knows.

use serde_json::{Value, json};

use super::all_fields;
use crate::{form::Kind, trailer::Spec};

/// JSON Schema, draft 2020-12.
pub fn schema() -> Value {
    let mut root = schemars::schema_for!(Spec).to_value();
    if let Some(map) = root.as_object_mut() {
        map.insert("title".into(), "Hitchwright spec".into());
        map.insert(
            "description".into(),
            "What is asked: need, design and offer. Every field may be left out; then its default holds. Lengths are \
             millimetres, masses kilograms, money and percentages decimal strings in the shop's currency and in points."
                .into(),
        );
    }
    for field in all_fields() {
        let Some(place) = place(&root, field.path) else { continue };
        let Some(Value::Object(property)) = root.pointer_mut(&place) else { continue };
        let unit = match field.kind {
            Kind::Length => " mm",
            Kind::Mass => " kg",
            Kind::Percent => " %",
            Kind::Angle => "°",
            Kind::Minutes => " min",
            Kind::Share => " of 1",
            _ if field.unit.is_empty() => "",
            _ => &format!(" {}", field.unit),
        };
        let (low, high) = (field.limit.low, field.limit.high);
        let range = match field.kind {
            Kind::Length | Kind::Mass | Kind::Angle | Kind::Minutes | Kind::Share | Kind::Number => {
                property.insert("minimum".into(), json!(low));
                property.insert("maximum".into(), json!(high));
                format!("{low} to {high}{unit}")
            }
            Kind::Count => {
                property.insert("minimum".into(), json!(low as u64));
                property.insert("maximum".into(), json!(high as u64));
                format!("{low} to {high}")
            }
            // Decimal strings: JSON Schema knows no range of these.
            Kind::Money | Kind::Percent | Kind::Decimal => format!("{low} to {high}{unit}"),
            Kind::Text => {
                property.insert("minLength".into(), json!(low as u64));
                property.insert("maxLength".into(), json!(high as u64));
                continue;
            }
            Kind::Choice(words) if !property.contains_key("$ref") => {
                let words: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
                property.insert("enum".into(), json!(words));
                continue;
            }
            Kind::Choice(_) | Kind::Flag | Kind::Section | Kind::Grade => continue,
        };
        let words = match property.get("description").and_then(Value::as_str) {
            Some(words) if words.contains(&range) => continue,
            Some(words) => format!("{} ({range})", words.trim_end_matches('.')),
            None => format!("{} ({range})", field.label),
        };
        property.insert("description".into(), words.into());
    }
    root
}

/// Where the schema speaks of a field: references are followed, also those that may be null.
fn place(root: &Value, path: &str) -> Option<String> {
    let mut at = String::new();
    for part in path.split('.') {
        at = resolved(root, at)?;
        at = if part == "*" { format!("{at}/items") } else { format!("{at}/properties/{part}") };
    }
    root.pointer(&at).map(|_| at)
}

fn resolved(root: &Value, at: String) -> Option<String> {
    let here = root.pointer(&at)?;
    let reference =
        here.get("$ref").or_else(|| here.get("anyOf")?.as_array()?.iter().find_map(|each| each.get("$ref")));
    match reference.and_then(Value::as_str) {
        Some(reference) => resolved(root, reference.strip_prefix('#')?.to_owned()),
        None => Some(at),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_field_of_the_form_stands_in_the_schema_with_its_range() {
        let root = schema();
        for field in all_fields() {
            let path = field.path;
            let place = place(&root, path).unwrap_or_else(|| panic!("{path} is not in the schema"));
            let property = root.pointer(&place).unwrap();
            if matches!(field.kind, Kind::Length | Kind::Mass | Kind::Count | Kind::Number | Kind::Angle) {
                assert_eq!(property["minimum"].as_f64(), Some(field.limit.low), "{path}");
                assert_eq!(property["maximum"].as_f64(), Some(field.limit.high), "{path}");
            }
        }
        let bed = root.pointer(&place(&root, "design.bed.length").unwrap()).unwrap();
        assert_eq!(bed["minimum"], 800.0);
        assert!(bed["description"].as_str().is_some_and(|words| words.contains("800 to 8000 mm")), "{bed}");
        let region = root.pointer(&place(&root, "need.use.region").unwrap()).unwrap();
        assert!(region["enum"].as_array().is_some_and(|ids| ids.contains(&json!("us-ca"))), "{region}");
    }
}
