//! Plugs by ways and region: which function sits on which pin (`seed-data/connectors.toml`), each table with what it rests on.

use std::sync::LazyLock;

use serde::Deserialize;

use super::{choice::choice, working::Sure};

choice! {
    /// What a pin feeds, or whose current returns by it.
    Duty {
        TurnLeft = "turn-left" / "left turn",
        TurnRight = "turn-right" / "right turn",
        StopLeft = "stop-left" / "left stop",
        StopRight = "stop-right" / "right stop",
        TailLeft = "tail-left" / "left tail",
        TailRight = "tail-right" / "right tail",
        Fog = "fog" / "rear fog",
        Reverse = "reverse" / "reverse",
        Brakes = "brakes" / "electric brakes",
        Live = "live" / "permanent supply",
        Charge = "charge" / "charging of the breakaway battery",
        Earth = "earth" / "earth",
        EarthLive = "earth-live" / "earth of the permanent supply",
        EarthCharge = "earth-charge" / "earth of the charging supply",
    }
}

impl Duty {
    /// Carries current back.
    pub const fn is_earth(self) -> bool {
        matches!(self, Self::Earth | Self::EarthLive | Self::EarthCharge)
    }
}

#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plug {
    pub id: String,
    pub standard: String,
    pub ways: u32,
    /// Where it is usual; empty: anywhere.
    pub regions: Vec<String>,
    pub source: String,
    pub sure: Sure,
    pub pins: Vec<Pin>,
}

#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pin {
    /// Number, or the colour of its core where the plug has no numbers.
    pub pin: String,
    /// The standard's name of the contact.
    #[serde(default)]
    pub letter: String,
    /// Its circuit.
    pub words: String,
    /// Colour of its core.
    pub core: String,
    /// Least area of its core, mm².
    #[serde(default)]
    pub core_mm2: Option<f64>,
    pub carries: Vec<Duty>,
    /// The pin by which its current returns, where that is not the common earth.
    #[serde(default)]
    pub earth: Option<String>,
}

impl Plug {
    pub fn pin_of(&self, duty: Duty) -> Option<&Pin> {
        self.pins.iter().find(|pin| pin.carries.contains(&duty))
    }

    pub fn is_usual_in(&self, region: &str) -> bool {
        let within =
            |own: &String| region == own || region.strip_prefix(own.as_str()).is_some_and(|rest| rest.starts_with('-'));
        self.regions.iter().any(within)
    }

    /// The pin by which the current of another returns.
    pub fn earth_of(&self, pin: &Pin) -> Option<&Pin> {
        match &pin.earth {
            Some(earth) => self.pins.iter().find(|other| other.pin == *earth),
            None => self.pin_of(Duty::Earth),
        }
    }

    /// `13 ways, ISO 11446`.
    pub fn title(&self) -> String {
        format!("{} ways, {}", self.ways, self.standard)
    }
}

#[derive(Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    plug: Vec<Plug>,
}

/// A test makes sure that the file is read.
static TABLE: LazyLock<Table> =
    LazyLock::new(|| toml::from_str(include_str!("../../seed-data/connectors.toml")).unwrap_or_default());

/// Every plug known.
pub fn all() -> &'static [Plug] {
    &TABLE.plug
}

/// The plug of so many ways that is usual in a region, else one that is known anywhere, else any of these ways.
pub fn of(ways: u32, region: &str) -> Option<&'static Plug> {
    let of_ways = || TABLE.plug.iter().filter(move |plug| plug.ways == ways);
    let usual = of_ways().find(|plug| plug.is_usual_in(region));
    usual.or_else(|| of_ways().find(|plug| plug.regions.is_empty())).or_else(|| of_ways().next())
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::road;

    /// Every table has as many pins as ways, each named once, every duty on one pin, an earth for each pin that feeds.
    #[test]
    fn each_table_is_whole() {
        let text = include_str!("../../seed-data/connectors.toml");
        let table: Table = toml::from_str(text).unwrap_or_else(|fault| panic!("{fault}"));
        assert_eq!(table.plug.len(), 6);
        for plug in &table.plug {
            let name = &plug.id;
            assert_eq!(plug.pins.len(), plug.ways as usize, "{name}");
            let pins: BTreeSet<_> = plug.pins.iter().map(|pin| &pin.pin).collect();
            let words: BTreeSet<_> = plug.pins.iter().map(|pin| &pin.words).collect();
            assert_eq!((pins.len(), words.len()), (plug.pins.len(), plug.pins.len()), "{name}");
            let duties: Vec<Duty> = plug.pins.iter().flat_map(|pin| pin.carries.clone()).collect();
            assert_eq!(duties.iter().collect::<BTreeSet<_>>().len(), duties.len(), "{name} has a duty twice");
            use Duty::*;
            for wanted in [TurnLeft, TurnRight, StopLeft, StopRight, TailLeft, TailRight, Earth] {
                assert!(duties.contains(&wanted), "{name} lacks {wanted}");
            }
            for pin in &plug.pins {
                let earth = plug.earth_of(pin).unwrap_or_else(|| panic!("{name} {}", pin.pin));
                assert!(
                    earth.carries.iter().all(|duty| duty.is_earth()),
                    "{name} {} returns by {}",
                    pin.pin,
                    earth.pin
                );
                assert_eq!(pin.core.is_empty(), pin.carries.is_empty(), "{name} {}", pin.pin);
            }
            assert!(!plug.source.is_empty());
            for region in &plug.regions {
                assert!(road::seed().region(region).is_some(), "{name}: {region} is no region");
            }
        }
    }

    /// ISO 1724 and AS 2513 as the reference notes give them, read in trade guides: what tells them apart is pin 5.
    #[test]
    fn seven_ways_follow_the_region() {
        let pin = |region: &str, number: &str| {
            let plug = of(7, region).expect("a plug");
            plug.pins.iter().find(|pin| pin.pin == number).map(|pin| (pin.words.as_str(), pin.core.as_str()))
        };
        assert_eq!(pin("gb", "5"), Some(("right tail and number plate", "brown")));
        assert_eq!(pin("au", "5"), Some(("service brakes", "blue")));
        assert_eq!(pin("au", "7"), Some(("tail", "brown")));
        assert_eq!(pin("de", "2"), Some(("rear fog", "blue")));
        assert_eq!(of(7, "us-tx").map(|plug| plug.id.as_str()), Some("sae-j2863"));
        assert!(of(7, "gb").is_some_and(|plug| plug.pin_of(Duty::Reverse).is_none()), "12N has no reverse");
    }

    #[test]
    fn every_region_and_number_of_ways_has_a_plug() {
        for region in &road::seed().regions {
            for ways in [5, 7, 13] {
                assert!(of(ways, &region.id).is_some_and(|plug| plug.ways == ways));
            }
            assert!(of(7, &region.id).is_some_and(|plug| plug.is_usual_in(&region.id)), "{}", region.id);
        }
        assert_eq!(of(5, "gb").map(|plug| plug.id.as_str()), Some("plain-5"));
        assert!(of(13, "au").is_some_and(|plug| !plug.is_usual_in("au")));
        assert!(of(7, "usual").is_some_and(|plug| !plug.is_usual_in("usual")), "a prefix is no region");
        assert_eq!(of(6, "gb"), None);
    }
}
