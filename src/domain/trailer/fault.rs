//! What is wrong with a spec, said so that it can be put right.

use std::fmt;

use serde::{Deserialize, Serialize};

pub use crate::form::Fault;

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
