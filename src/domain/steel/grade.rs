//! Grades of steel and aluminium, with how sure each value is.

use std::{borrow::Cow, fmt, str::FromStr, sync::LazyLock};

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::{choice::choice, working::Sure};

choice! {
    Metal { Steel = "steel" / "steel", Aluminium = "aluminium" / "aluminium" }
}

/// A grade of `seed-data/grades.toml`. In JSON it is its id: `"S235"`, `"A500-B"`, `"6082-T6"`.
#[derive(Clone, Copy)]
pub struct Grade(&'static Row);

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    id: String,
    name: String,
    metal: Metal,
    strength: Vec<Strength>,
    e: f64,
    g: f64,
    density: f64,
    haz: f64,
    sure: Sure,
    source: String,
}

#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Strength {
    to_mm: f64,
    fy: f64,
    fu: f64,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    grade: Vec<Row>,
}

/// A file that could not be read is an empty table, so that nothing panics at run time; a test counts the rows.
static GRADES: LazyLock<Vec<Row>> = LazyLock::new(|| {
    toml::from_str::<Table>(include_str!("../../../seed-data/grades.toml"))
        .map_or_else(|_| Vec::new(), |table| table.grade)
});

/// There is no such grade.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("“{text}” is not a grade: use one of {}", Grade::all().map(Grade::id).collect::<Vec<_>>().join(", "))]
pub struct GradeFault {
    pub text: String,
}

impl Grade {
    /// Every grade, in the order a form offers them.
    pub fn all() -> impl Iterator<Item = Self> {
        GRADES.iter().map(Self)
    }

    pub fn id(self) -> &'static str {
        &self.0.id
    }

    /// The words a person reads.
    pub fn name(self) -> &'static str {
        &self.0.name
    }

    pub fn metal(self) -> Metal {
        self.0.metal
    }

    /// Yield strength (0.2 % proof strength) for a thickness; beyond the table's last thickness that of the last.
    pub fn fy_mpa(self, thickness_mm: f64) -> f64 {
        self.strength(thickness_mm).map_or(0.0, |strength| strength.fy)
    }

    /// Tensile strength for a thickness; beyond the table's last thickness that of the last.
    pub fn fu_mpa(self, thickness_mm: f64) -> f64 {
        self.strength(thickness_mm).map_or(0.0, |strength| strength.fu)
    }

    /// The greatest thickness for which the table gives a strength.
    pub fn largest_thickness_mm(self) -> f64 {
        self.0.strength.last().map_or(0.0, |strength| strength.to_mm)
    }

    fn strength(self, thickness_mm: f64) -> Option<&'static Strength> {
        let bands = &self.0.strength;
        bands.iter().find(|band| thickness_mm <= band.to_mm).or(bands.last())
    }

    /// Modulus of elasticity.
    pub fn e_mpa(self) -> f64 {
        self.0.e
    }

    /// Shear modulus.
    pub fn g_mpa(self) -> f64 {
        self.0.g
    }

    pub fn density_kg_per_m3(self) -> f64 {
        self.0.density
    }

    /// Share of the strength that is left in the heat-affected zone beside a weld: 1 for steel, about half for aluminium in a tempered
    /// state (EN 1999-1-1).
    pub fn haz_factor(self) -> f64 {
        self.0.haz
    }

    pub fn sure(self) -> Sure {
        self.0.sure
    }

    pub fn source(self) -> &'static str {
        &self.0.source
    }
}

/// Any case, with or without spaces and hyphens: `s235`, `a500 b`, `YSt 310`.
impl FromStr for Grade {
    type Err = GradeFault;

    fn from_str(text: &str) -> Result<Self, GradeFault> {
        let bare = |text: &str| -> String {
            text.chars().filter(char::is_ascii_alphanumeric).map(|c| c.to_ascii_uppercase()).collect()
        };
        let wanted = bare(text);
        let found = GRADES.iter().find(|row| bare(&row.id) == wanted);
        found.map(Self).ok_or_else(|| GradeFault { text: text.trim().chars().take(40).collect() })
    }
}

impl fmt::Display for Grade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.id())
    }
}

impl fmt::Debug for Grade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Grade({})", self.id())
    }
}

impl PartialEq for Grade {
    fn eq(&self, other: &Self) -> bool {
        self.id() == other.id()
    }
}

impl Eq for Grade {}

impl PartialOrd for Grade {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Grade {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.id().cmp(other.id())
    }
}

impl std::hash::Hash for Grade {
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        self.id().hash(state);
    }
}

impl Serialize for Grade {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.id())
    }
}

impl<'de> Deserialize<'de> for Grade {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
    }
}

impl JsonSchema for Grade {
    fn schema_name() -> Cow<'static, str> {
        "Grade".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let ids: Vec<&str> = Grade::all().map(Grade::id).collect();
        json_schema!({ "type": "string", "description": "A grade of steel or aluminium.", "enum": ids })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_of_the_table_is_read() {
        let table = toml::from_str::<Table>(include_str!("../../../seed-data/grades.toml")).unwrap();
        assert_eq!(table.grade.len(), 14);
        for grade in Grade::all() {
            assert_eq!(grade.id().parse(), Ok(grade));
            assert!(!grade.source().is_empty());
            assert!(grade.fy_mpa(3.0) < grade.fu_mpa(3.0), "{grade}");
            assert!(grade.0.strength.windows(2).all(|pair| pair[0].to_mm < pair[1].to_mm), "{grade}");
            let poisson = grade.e_mpa() / (2.0 * grade.g_mpa()) - 1.0;
            assert!((0.27..0.37).contains(&poisson), "{grade}: {poisson}");
        }
    }

    #[test]
    fn strength_follows_the_thickness() {
        let grade: Grade = "6082-T6".parse().unwrap();
        assert_eq!((grade.fy_mpa(5.0), grade.fu_mpa(5.0)), (250.0, 290.0));
        assert_eq!((grade.fy_mpa(5.1), grade.fu_mpa(5.1)), (260.0, 310.0));
        assert_eq!(grade.fy_mpa(99.0), 260.0);
        assert_eq!(grade.haz_factor(), 0.5);
    }

    #[test]
    fn ids_are_read_loosely_and_written_strictly() {
        assert_eq!("a500 b".parse::<Grade>().unwrap().id(), "A500-B");
        assert_eq!("YSt 310".parse::<Grade>().unwrap().id(), "YST310");
        assert_eq!(serde_json::to_string(&"s355".parse::<Grade>().unwrap()).unwrap(), "\"S355\"");
        let fault = "S999".parse::<Grade>().unwrap_err().to_string();
        assert!(fault.starts_with("“S999” is not a grade: use one of S235, S275"), "{fault}");
    }
}
