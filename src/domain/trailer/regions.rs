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
    /// The coupling presses down with at least this share of the actual mass …
    #[serde(default)]
    pub least_coupling_share: Option<f64>,
    /// … but need not with more than this, kg.
    #[serde(default)]
    pub least_coupling_kg: Option<f64>,
    /// Whose rule that is.
    #[serde(default)]
    pub least_coupling_source: String,
}

impl Region {
    /// Least load on the coupling of a trailer of this actual mass, kg; 0 where no rule is known.
    pub fn least_coupling_kg(&self, mass_kg: f64) -> f64 {
        let share = self.least_coupling_share.map_or(0.0, |share| share * mass_kg);
        share.min(self.least_coupling_kg.unwrap_or(f64::INFINITY))
    }
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

    /// Source: StVZO § 44 (3), read: 4 % of the actual mass, not more than 25 kg needed. A published driving-test question gives
    /// 24 kg for 600 kg; that 750 kg ask for 30 kg is a known misreading.
    #[test]
    fn least_coupling_loads() {
        let germany = region("de").expect("known");
        for (mass, least) in [(500.0, 20.0), (600.0, 24.0), (750.0, 25.0)] {
            assert!((germany.least_coupling_kg(mass) - least).abs() < 1e-9, "{mass}");
        }
        assert!(germany.least_coupling_kg(750.0) < 30.0);
        assert_eq!(region("us").expect("known").least_coupling_kg(900.0), 0.0);
    }
}
