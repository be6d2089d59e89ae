//! What the rules may ask about a trailer: a fixed list of facts, SI, each with how it was found.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// What a fact holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FactKind {
    Mass,
    Length,
    Count,
    Ratio,
    YesNo,
    /// One of these words; any word where the list is empty.
    Word(&'static [&'static str]),
}

/// A fact in words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FactWords {
    pub name: &'static str,
    pub words: &'static str,
    /// Symbol in a working.
    pub symbol: &'static str,
    pub kind: FactKind,
    /// Field of the spec that would give it; empty where it is computed. `*` stands for each towing vehicle.
    pub field: &'static str,
}

const fn fact(
    name: &'static str,
    words: &'static str,
    symbol: &'static str,
    kind: FactKind,
    field: &'static str,
) -> FactWords {
    FactWords { name, words, symbol, kind, field }
}

const BRAKE_KINDS: &[&str] = &["none", "overrun", "electric", "hydraulic", "air"];
const KERB: &str = "need.towing_vehicles.*.kerb";
const TOW_GROSS: &str = "need.towing_vehicles.*.gross";

/// Every fact that a rule may name.
pub const FACTS: &[FactWords] = &[
    fact("gross_mass_kg", "gross mass", "G", FactKind::Mass, ""),
    fact("nose_kg", "load on the coupling", "S", FactKind::Mass, ""),
    fact("axle_mass_kg", "mass on the axles", "A", FactKind::Mass, ""),
    fact("tare_kg", "empty mass", "m", FactKind::Mass, ""),
    fact("width_mm", "overall width", "b", FactKind::Length, ""),
    fact("length_mm", "overall length with the drawbar", "l", FactKind::Length, ""),
    fact("body_length_mm", "length without the drawbar", "l_b", FactKind::Length, ""),
    fact("height_mm", "overall height", "h", FactKind::Length, ""),
    fact("drawbar_mm", "length of the drawbar", "l_d", FactKind::Length, ""),
    fact("rear_overhang_mm", "rear overhang", "u", FactKind::Length, ""),
    fact("axles", "number of axles", "n", FactKind::Count, ""),
    fact("wheels", "number of wheels", "n_w", FactKind::Count, ""),
    fact("braked", "braked", "", FactKind::YesNo, ""),
    fact("brake_kind", "kind of brakes", "", FactKind::Word(BRAKE_KINDS), ""),
    fact("body", "kind of body", "", FactKind::Word(&[]), ""),
    fact("living", "living space", "", FactKind::YesNo, ""),
    fact("commercial", "commercial use", "", FactKind::YesNo, ""),
    fact("for_own_use", "built for own use", "", FactKind::YesNo, ""),
    fact("units_year", "trailers built in a year", "N", FactKind::Count, ""),
    fact("state", "state", "", FactKind::Word(&[]), "need.use.state"),
    fact("tow_gross_kg", "gross mass of the towing vehicle", "T", FactKind::Mass, TOW_GROSS),
    fact("tow_unladen_kg", "unladen mass of the towing vehicle", "U", FactKind::Mass, KERB),
    fact("gross_over_tow_gross", "gross mass over the towing vehicle's gross mass", "r_T", FactKind::Ratio, TOW_GROSS),
    fact("gross_over_tow_unladen", "gross mass over the towing vehicle's unladen mass", "r_U", FactKind::Ratio, KERB),
    fact("nose_over_gross", "load on the coupling over the gross mass", "r_S", FactKind::Ratio, ""),
];

/// What a derived fact is made of: its name, and the two facts that it needs.
const DERIVED: [(&str, &str, &str); 4] = [
    ("axle_mass_kg", "gross_mass_kg", "nose_kg"),
    ("gross_over_tow_gross", "gross_mass_kg", "tow_gross_kg"),
    ("gross_over_tow_unladen", "gross_mass_kg", "tow_unladen_kg"),
    ("nose_over_gross", "nose_kg", "gross_mass_kg"),
];

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Value {
    YesNo(bool),
    Number(f64),
    Word(String),
}

impl Value {
    pub const fn as_number(&self) -> Option<f64> {
        match self {
            Self::Number(value) => Some(*value),
            _ => None,
        }
    }
}

impl FactWords {
    pub fn of(name: &str) -> Option<&'static FactWords> {
        FACTS.iter().find(|fact| fact.name == name)
    }

    /// Unit of its number; empty where it counts, compares or is a word.
    pub const fn unit(&self) -> &'static str {
        match self.kind {
            FactKind::Mass => "kg",
            FactKind::Length => "mm",
            _ => "",
        }
    }

    /// What is wrong with a value for this fact, and what would be right.
    pub fn fault(&self, value: &Value) -> Option<String> {
        let right = match (self.kind, value) {
            (FactKind::YesNo, Value::YesNo(_)) => return None,
            (FactKind::YesNo, _) => "give true or false".to_owned(),
            (FactKind::Word([]), Value::Word(word)) if !word.trim().is_empty() => return None,
            (FactKind::Word([]), _) => "give a word".to_owned(),
            (FactKind::Word(words), Value::Word(word)) if words.contains(&word.as_str()) => return None,
            (FactKind::Word(words), _) => format!("give one of {}", words.join(", ")),
            (FactKind::Count, Value::Number(value)) if *value >= 0.0 && value.fract() == 0.0 => return None,
            (FactKind::Count, _) => "give a whole number".to_owned(),
            // The coupling may be lifted.
            (FactKind::Mass | FactKind::Ratio, Value::Number(value)) if value.is_finite() => return None,
            (FactKind::Length, Value::Number(value)) if value.is_finite() && *value >= 0.0 => return None,
            (FactKind::Mass, _) => "give kilograms as a number".to_owned(),
            (FactKind::Length, _) => "give millimetres as a number".to_owned(),
            (FactKind::Ratio, _) => "give a number".to_owned(),
        };
        let shown = serde_json::to_string(value).unwrap_or_default();
        Some(format!("{} is {shown}: {right}", self.name))
    }
}

/// A fact that is known, and how it was found.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Known {
    pub value: Value,
    pub found: String,
}

/// The facts that are known; one that is not in here is missing.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Facts(pub BTreeMap<String, Known>);

impl Facts {
    /// A number that is not finite stays unknown.
    pub fn set_number(&mut self, name: &str, value: Option<f64>, found: &str) {
        if let Some(value) = value.filter(|value| value.is_finite()) {
            self.set(name, Value::Number(value), found);
        }
    }

    pub fn set(&mut self, name: &str, value: Value, found: &str) {
        self.0.insert(name.to_owned(), Known { value, found: found.to_owned() });
    }

    pub fn get(&self, name: &str) -> Option<&Value> {
        self.0.get(name).map(|known| &known.value)
    }

    pub fn number(&self, name: &str) -> Option<f64> {
        self.get(name).and_then(Value::as_number)
    }

    /// Adds what follows from two known facts and is not given itself.
    #[must_use]
    pub fn with_derived(mut self) -> Self {
        for (name, one, other) in DERIVED {
            let (Some(a), Some(b), None) = (self.number(one), self.number(other), self.get(name)) else { continue };
            let words = |name| FactWords::of(name).map_or(name, |fact| fact.words);
            let (value, sign) = if name == "axle_mass_kg" { (a - b, "less") } else { (a / b, "over") };
            self.set_number(name, Some(value), &format!("{} {sign} {}", words(one), words(other)));
        }
        self
    }

    /// Reads facts as a JSON object; `null` is a fact that is not known.
    ///
    /// # Errors
    /// Every fact that is unknown by name or of another type, one line each.
    pub fn from_json(text: &str) -> Result<Self, Vec<String>> {
        let given: BTreeMap<String, serde_json::Value> =
            serde_json::from_str(text).map_err(|fault| vec![format!("the facts are not a JSON object: {fault}")])?;
        let (mut facts, mut faults) = (Self::default(), Vec::new());
        for (name, value) in given {
            let Some(fact) = FactWords::of(&name) else {
                let names: Vec<&str> = FACTS.iter().map(|fact| fact.name).collect();
                faults.push(format!("{name} is no fact: the facts are {}", names.join(", ")));
                continue;
            };
            let value = match value {
                serde_json::Value::Null => continue,
                serde_json::Value::Bool(value) => Value::YesNo(value),
                serde_json::Value::Number(value) => Value::Number(value.as_f64().unwrap_or(f64::NAN)),
                serde_json::Value::String(word) => Value::Word(word),
                list => {
                    faults.push(format!("{name} is {list}: give one value, or null where it is not known"));
                    continue;
                }
            };
            match fact.fault(&value) {
                Some(fault) => faults.push(fault),
                None => facts.set(&name, value, "given"),
            }
        }
        if faults.is_empty() { Ok(facts.with_derived()) } else { Err(faults) }
    }
}
