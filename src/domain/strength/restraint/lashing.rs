//! Straps from the load to the lashing points: which point each takes, and what it holds in each direction.

use crate::{
    shop::PartClass,
    strength::restraint::rules::Way,
    trailer::{Point, Trailer},
    weights::PlacedLoad,
};

/// A lashing point of the trailer.
#[derive(Clone, Debug, PartialEq)]
pub struct Anchor {
    pub place: Point,
    /// What it may be pulled with, kg; none where its rating is not known.
    pub rating_kg: Option<f64>,
    pub name: String,
    /// Straps that pull at it in this trip.
    pub straps: u32,
}

/// Every lashing point of the trailer.
pub fn anchors(trailer: &Trailer) -> Vec<Anchor> {
    let rings = trailer.fittings.iter().filter(|fitting| fitting.class == PartClass::LashingRing);
    rings
        .flat_map(|fitting| {
            let item = fitting.part.item.as_ref();
            let name = item.map_or_else(|| "lashing point".to_owned(), |item| item.name.clone());
            let rating_kg = item.and_then(|item| item.figure("rating_kg"));
            fitting.places.iter().map(move |&place| Anchor { place, rating_kg, name: name.clone(), straps: 0 })
        })
        .collect()
}

/// A strap from the load to a point.
#[derive(Clone, Debug, PartialEq)]
pub struct Strap {
    pub from: Point,
    pub anchor: usize,
    /// From load to point.
    pub pull: Point,
}

impl Strap {
    fn new(from: Point, anchor: usize, to: Point) -> Option<Self> {
        let d = [to[0] - from[0], to[1] - from[1], to[2] - from[2]];
        let length = (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt();
        // A strap that does not go down holds nothing down and may slip off.
        (length > 1.0 && d[2] < 0.0).then(|| Self { from, anchor, pull: d.map(|part| part / length) })
    }

    /// How much of its tension holds against motion in a direction; negative: it hangs slack.
    pub fn against(&self, way: Way) -> f64 {
        let [x, y] = way.vector();
        -(self.pull[0] * x + self.pull[1] * y)
    }

    /// Angle to the deck, degrees.
    pub fn slope_deg(&self) -> f64 {
        (-self.pull[2]).clamp(-1.0, 1.0).asin().to_degrees()
    }
}

/// Direct straps, one at a corner of the load in turn: at the height of its centre of gravity, each to the point that it pulls on best. Two pull
/// forwards and two rearwards; a point that others already use is shunned.
pub fn direct(load: &PlacedLoad, deck_z_mm: f64, straps: u32, anchors: &mut [Anchor]) -> Vec<Strap> {
    let height = (load.body.centre[2] - deck_z_mm).clamp(50.0, load.height_mm.max(50.0));
    // Crosswise, so that two straps hold both ways.
    let corners = [(-1.0, -1.0), (1.0, 1.0), (-1.0, 1.0), (1.0, -1.0)];
    let mut found = Vec::new();
    for nth in 0..straps.min(40) as usize {
        let (ahead, side) = corners[nth % 4];
        let from =
            [load.x_mm + ahead * 0.35 * load.length_mm, load.y_mm + side * load.width_mm / 4.0, deck_z_mm + height];
        let worth = |strap: &Strap| {
            let along = strap.against(if ahead < 0.0 { Way::Rearward } else { Way::Forward });
            let across = strap.against(if side < 0.0 { Way::Right } else { Way::Left });
            // Along counts most; down and out sideways too.
            along.max(0.0) + 0.6 * across.max(0.0)
        };
        let options = anchors.iter().enumerate().filter_map(|(index, anchor)| {
            let strap = Strap::new(from, index, anchor.place)?;
            let score = worth(&strap) / (1.0 + f64::from(anchor.straps));
            (score > 0.05).then_some((score, strap))
        });
        if let Some((_, strap)) = options.max_by(|a, b| a.0.total_cmp(&b.0)) {
            if let Some(anchor) = anchors.get_mut(strap.anchor) {
                anchor.straps += 1;
            }
            found.push(strap);
        }
    }
    found
}

/// Straps over the top, each to the nearest free points left and right, spread along the load: the anchors of each strap, and its
/// flattest angle to the deck, degrees.
pub fn over_top(load: &PlacedLoad, deck_z_mm: f64, straps: u32, anchors: &mut [Anchor]) -> Vec<([usize; 2], f64)> {
    let top = deck_z_mm + load.height_mm;
    let mut found = Vec::new();
    for nth in 0..straps.min(40) {
        let x = load.x_mm + load.length_mm * ((f64::from(nth) + 0.5) / f64::from(straps.max(1)) - 0.5);
        let nearest = |side: f64, anchors: &[Anchor]| {
            let on_side = anchors.iter().enumerate().filter(|(_, anchor)| anchor.place[1] * side > 0.0);
            let far = |anchor: &Anchor| (anchor.place[0] - x).abs() + 300.0 * f64::from(anchor.straps);
            on_side.min_by(|a, b| far(a.1).total_cmp(&far(b.1))).map(|(index, anchor)| (index, anchor.place))
        };
        let (Some(left), Some(right)) = (nearest(-1.0, anchors), nearest(1.0, anchors)) else { break };
        let angle = [(-1.0, left.1), (1.0, right.1)].map(|(side, place)| {
            let edge = load.y_mm + side * load.width_mm / 2.0;
            let apart = ((place[1] - edge).powi(2) + (place[0] - x).powi(2)).sqrt();
            (top - place[2]).max(0.0).atan2(apart).to_degrees()
        });
        for index in [left.0, right.0] {
            if let Some(anchor) = anchors.get_mut(index) {
                anchor.straps += 1;
            }
        }
        found.push(([left.0, right.0], angle[0].min(angle[1])));
    }
    found
}
