//! Which lamps and reflectors the trailer carries: by the road rules of its region, and as asked.

use super::{Shopping, need};
use crate::{
    road::{self, LampPlace},
    shop::PartClass,
    trailer::{Group, Layout, Point, Spec, road_facts},
};

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

/// What the region's rules and the spec ask for, each kind at each place once.
pub fn lamps(spec: &Spec, layout: &Layout, gross_kg: f64) -> Vec<LampNeed> {
    let asked = road::seed()
        .region(&spec.need.usage.region)
        .map(|region| road::lamps_asked(region, &road_facts(spec, layout, gross_kg)));
    let mut lamps: Vec<LampNeed> = Vec::new();
    for (ask, because) in asked.unwrap_or_default() {
        lamps.push(LampNeed {
            class: ask.class,
            place: ask.place,
            colour: ask.colour.clone(),
            shape: ask.shape.clone(),
            because,
        });
    }
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

/// Where the lamps stand on a trailer. Heights are usual ones, near the frame; the rules for their heights are shown with the road rules.
pub fn lamp_points(place: LampPlace, layout: &Layout) -> Vec<Point> {
    let (front, rear) = (layout.bed_front_x_mm, layout.bed_rear_x_mm);
    let half = (layout.bed_width_mm / 2.0 - 80.0).max(0.0);
    let side = layout.bed_width_mm / 2.0;
    let z = (layout.frame_top_z_mm + layout.frame_bottom_z_mm) / 2.0;
    let pair = |x: f64, y: f64, z: f64| vec![[x, -y, z], [x, y, z]];
    match place {
        LampPlace::Rear => pair(rear, half, z),
        LampPlace::RearMiddle => vec![[rear, half * 0.5, z]],
        LampPlace::RearThree => [-200.0, 0.0, 200.0].map(|y| [rear, y, z]).to_vec(),
        LampPlace::Front => pair(front, half, z),
        LampPlace::Outline => pair(rear, side, layout.deck_top_z_mm),
        LampPlace::SideFront => pair(front + 150.0, side, z),
        LampPlace::SideRear => pair(rear - 150.0, side, z),
        LampPlace::SideMiddle => pair((front + rear) / 2.0, side, z),
        LampPlace::Plate => vec![[rear, 0.0, z]],
        LampPlace::Work => vec![[front, 0.0, layout.deck_top_z_mm + 300.0]],
    }
}

pub fn buy(shopping: &mut Shopping<'_>, lamps: &[LampNeed]) {
    let approval = road::seed().region(&shopping.spec.need.usage.region).and_then(|region| region.approval.as_deref());
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
        let because = format!("approval mark of the region; {}", lamp.because);
        if let (Some(mark), false) = (approval, lamp.class == PartClass::WorkLamp) {
            rules = rules.at_least(&format!("approval_{mark}"), 1.0, &because);
        }
        let places = lamp_points(lamp.place, shopping.layout);
        shopping.buy_at(rules, Group::Electrics, places);
    }
}
