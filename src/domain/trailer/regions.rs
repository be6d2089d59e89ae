//! The regions whose road rules are known: ids, names, and which lamps they ask for (`seed-data/regions.toml`).

use std::sync::LazyLock;

use serde::Deserialize;

/// A region as lamps and forms need it; its road rules are elsewhere.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Region {
    pub id: String,
    pub name: String,
    /// Approval mark that a lamp must carry: `un`, `sae` or `adr`.
    #[serde(default)]
    pub approval: Option<String>,
    /// Name of its set of lamp rules.
    pub lamps: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    region: Vec<Region>,
}

/// A test makes sure that the file is read.
static REGIONS: LazyLock<Vec<Region>> = LazyLock::new(|| {
    toml::from_str::<Table>(include_str!("../../../seed-data/regions.toml"))
        .map_or_else(|_| Vec::new(), |table| table.region)
});

static WORDS: LazyLock<Vec<(&'static str, &'static str)>> =
    LazyLock::new(|| all().iter().map(|region| (region.id.as_str(), region.name.as_str())).collect());

pub fn all() -> &'static [Region] {
    &REGIONS
}

/// `(id, name)` of every region, for a choice.
pub fn words() -> &'static [(&'static str, &'static str)] {
    &WORDS
}

pub fn region(id: &str) -> Option<&'static Region> {
    all().iter().find(|region| region.id == id)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_region_is_read_once() {
        assert_eq!(all().len(), include_str!("../../../seed-data/regions.toml").matches("[[region]]").count());
        assert!(region("us-ca").is_some_and(|region| region.approval.as_deref() == Some("sae")));
        assert_eq!(region("atlantis"), None);
    }
}
