//! What is wrong with a spec, said so that it can be put right.

use std::fmt;

use serde::{Deserialize, Serialize};

/// One fault: the field, the value that was read, what is wrong, and what would be right.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Fault {
    /// Path of the field in the spec's JSON: `design.bed.length`, `need.loads.0.mass`.
    pub field: String,
    /// The field's name for people.
    pub label: String,
    pub value: String,
    pub wrong: String,
    pub right: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({}): {} {}; {}", self.label, self.field, self.value, self.wrong, self.right)
    }
}

/// Every fault of a spec that cannot be built, all at once.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct SpecFaults(pub Vec<Fault>);

impl fmt::Display for SpecFaults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, fault) in self.0.iter().enumerate() {
            if index > 0 {
                writeln!(f)?;
            }
            write!(f, "{fault}")?;
        }
        Ok(())
    }
}

impl std::error::Error for SpecFaults {}
