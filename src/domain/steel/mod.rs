#![allow(missing_docs)]
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
pub struct Section(String);
impl Section {
    pub fn depth_mm(&self) -> f64 {
        1.0
    }
    pub fn width_mm(&self) -> f64 {
        1.0
    }
}
impl std::str::FromStr for Section {
    type Err = String;
    fn from_str(s: &str) -> Result<Self, String> {
        Ok(Section(s.into()))
    }
}
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
pub enum Grade {
    S235,
}
impl std::str::FromStr for Grade {
    type Err = String;
    fn from_str(_: &str) -> Result<Self, String> {
        Ok(Grade::S235)
    }
}
crate::domain::choice::choice! { SheetMaterial { MeshPly = "mesh-ply" / "phenolic mesh-faced plywood", SheetSteel = "sheet-steel" / "steel sheet", TreadAluminium = "tread-aluminium" / "aluminium tread plate" } }
