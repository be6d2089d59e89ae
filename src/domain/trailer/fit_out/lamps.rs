//! Which lamps and reflectors the trailer carries: by the short table of the region (`seed-data/lamps.toml`), and as asked.

use std::sync::LazyLock;

use serde::Deserialize;

use super::{Shopping, need};
use crate::domain::{
    choice::choice,
    shop::PartClass,
    trailer::{Body, Group, Layout, Point, Spec, regions},
};

choice! {
    /// Where on the trailer a kind of lamp stands; most stand in pairs.
    LampPlace {
        Rear = "rear" / "both rear corners",
        RearMiddle = "rear-middle" / "rear, towards the middle of the road",
        RearThree = "rear-three" / "three at the middle of the rear",
        Front = "front" / "both front corners of the bed",
        Outline = "outline" / "both rear corners, at the top",
        SideFront = "side-front" / "both sides, front",
        SideRear = "side-rear" / "both sides, rear",
        SideMiddle = "side-middle" / "both sides, middle",
        Plate = "plate" / "number plate",
        Work = "work" / "front of the bed, to the rear",
    }
}

/// Lamps of one kind at one place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LampNeed {
    pub class: PartClass,
    pub place: LampPlace,
    pub colour: Option<String>,
    pub shape: Option<String>,
    /// What asks for it.
    pub because: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    set: String,
    class: PartClass,
    place: LampPlace,
    #[serde(default)]
    colour: Option<String>,
    #[serde(default)]
    shape: Option<String>,
    #[serde(default)]
    width_over: Option<f64>,
    #[serde(default)]
    width_from: Option<f64>,
    #[serde(default)]
    length_over: Option<f64>,
    #[serde(default)]
    length_from: Option<f64>,
    #[serde(default)]
    length_upto: Option<f64>,
    #[serde(default)]
    bed_over: Option<f64>,
    #[serde(default)]
    not_body: Vec<Body>,
    mark: Mark,
    source: String,
}

/// How sure the source is.
#[derive(Clone, Copy, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Mark {
    Read,
    Memory,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    lamp: Vec<Row>,
}

/// A test makes sure that the file is read.
static TABLE: LazyLock<Vec<Row>> = LazyLock::new(|| {
    toml::from_str::<Table>(include_str!("../../../../seed-data/lamps.toml"))
        .map_or_else(|_| Vec::new(), |table| table.lamp)
});

impl Row {
    fn applies(&self, spec: &Spec, layout: &Layout) -> bool {
        let (width, length) = (layout.overall_width_mm, layout.overall_length_mm);
        let bed = layout.bed_rear_x_mm - layout.bed_front_x_mm;
        self.width_over.is_none_or(|over| width > over)
            && self.width_from.is_none_or(|from| width >= from)
            && self.length_over.is_none_or(|over| length > over)
            && self.length_from.is_none_or(|from| length >= from)
            && self.length_upto.is_none_or(|upto| length <= upto)
            && self.bed_over.is_none_or(|over| bed > over)
            && !self.not_body.contains(&spec.need.usage.body)
    }
}

/// What the region's table and the spec ask for, each kind at each place once.
pub fn lamps_by_table(spec: &Spec, layout: &Layout) -> Vec<LampNeed> {
    let region = regions::region(&spec.need.usage.region);
    let set = region.map_or("un", |region| region.lamps.as_str());
    let rows = TABLE.iter().filter(|row| row.set == set && row.applies(spec, layout));
    let mut lamps: Vec<LampNeed> = rows
        .map(|row| {
            let sure = match row.mark {
                Mark::Read => "",
                Mark::Memory => ", from memory: confirm with the authority",
            };
            LampNeed {
                class: row.class,
                place: row.place,
                colour: row.colour.clone(),
                shape: row.shape.clone(),
                because: format!("{}{sure}", row.source),
            }
        })
        .collect();
    let electrics = &spec.design.electrics;
    let asked = |class, place, colour: Option<&str>| LampNeed {
        class,
        place,
        colour: colour.map(str::to_owned),
        shape: None,
        because: "asked for".into(),
    };
    let extras = [
        (electrics.fog_lamp, asked(PartClass::FogLamp, LampPlace::RearMiddle, None)),
        (electrics.reverse_lamps, asked(PartClass::ReverseLamp, LampPlace::Rear, None)),
        (electrics.work_lamp, asked(PartClass::WorkLamp, LampPlace::Work, None)),
        (electrics.side_markers, asked(PartClass::SideMarker, LampPlace::SideMiddle, Some("amber"))),
    ];
    for (wanted, lamp) in extras {
        if wanted && !lamps.iter().any(|other| (other.class, other.place) == (lamp.class, lamp.place)) {
            lamps.push(lamp);
        }
    }
    lamps
}

impl LampPlace {
    /// Where the lamps stand on a trailer. Heights are usual ones, near the frame; the road rules check them.
    pub fn points(self, layout: &Layout) -> Vec<Point> {
        let (front, rear) = (layout.bed_front_x_mm, layout.bed_rear_x_mm);
        let half = (layout.bed_width_mm / 2.0 - 80.0).max(0.0);
        let side = layout.bed_width_mm / 2.0;
        let z = (layout.frame_top_z_mm + layout.frame_bottom_z_mm) / 2.0;
        let pair = |x: f64, y: f64, z: f64| vec![[x, -y, z], [x, y, z]];
        match self {
            Self::Rear => pair(rear, half, z),
            Self::RearMiddle => vec![[rear, half * 0.5, z]],
            Self::RearThree => [-200.0, 0.0, 200.0].map(|y| [rear, y, z]).to_vec(),
            Self::Front => pair(front, half, z),
            Self::Outline => pair(rear, side, layout.deck_top_z_mm),
            Self::SideFront => pair(front + 150.0, side, z),
            Self::SideRear => pair(rear - 150.0, side, z),
            Self::SideMiddle => pair((front + rear) / 2.0, side, z),
            Self::Plate => vec![[rear, 0.0, z]],
            Self::Work => vec![[front, 0.0, layout.deck_top_z_mm + 300.0]],
        }
    }
}

pub fn buy(shopping: &mut Shopping<'_>, lamps: &[LampNeed]) {
    let approval = regions::region(&shopping.spec.need.usage.region).and_then(|region| region.approval.as_deref());
    for lamp in lamps {
        let colour = lamp.colour.as_ref().map(|colour| format!("-{colour}")).unwrap_or_default();
        let key = format!("{}-{}{colour}", lamp.class.word(), lamp.place.word());
        let mut rules = need(&key, lamp.class);
        for (attribute, word) in [("colour", &lamp.colour), ("shape", &lamp.shape)] {
            if let Some(word) = word {
                rules = rules.is(attribute, word.as_str(), &lamp.because);
            }
        }
        // A work lamp lights the load, not the road: it needs no mark.
        if let (Some(mark), false) = (approval, lamp.class == PartClass::WorkLamp) {
            rules = rules.at_least(&format!("approval_{mark}"), 1.0, "approval mark of the region");
        }
        let places = lamp.place.points(shopping.layout);
        shopping.buy_at(rules, Group::Electrics, places);
    }
}

#[cfg(test)]
pub fn rows_read() -> usize {
    TABLE.len()
}
