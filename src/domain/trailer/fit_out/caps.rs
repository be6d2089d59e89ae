//! Caps that are knocked into open tube ends.

use super::{Shopping, need};
use crate::domain::{
    shop::{PartClass, RateBook},
    trailer::{Assumed, FinishSystem, Fitting, Group, Layout, Member, Point, Spec},
};

/// A cap for every open end of a hollow member, by size. A galvanised trailer has none: its ends get plates with vents, which are
/// welded on before it is dipped.
pub fn tube_caps(spec: &Spec, members: &[Member], rates: &RateBook, assumed: &Assumed) -> Vec<Fitting> {
    if spec.design.finish.system == FinishSystem::Galvanised {
        return Vec::new();
    }
    let mut sizes: Vec<(Group, f64, f64, Vec<Point>)> = Vec::new();
    for member in members.iter().filter(|member| member.section.kind().is_hollow()) {
        let section = member.section.upright();
        let (depth, width) = (section.depth_mm(), section.width_mm());
        for (_, place) in member.cuts.iter().zip([member.from, member.to]).filter(|(cut, _)| cut.capped) {
            match sizes.iter_mut().find(|(group, d, w, _)| (*group, *d, *w) == (member.group, depth, width)) {
                Some((.., places)) => places.push(place),
                None => sizes.push((member.group, depth, width, vec![place])),
            }
        }
    }
    let layout = Layout::default();
    let mut shopping = Shopping::new(spec, &layout, rates, assumed);
    for (group, depth, width, places) in sizes {
        let because = "tube that it closes";
        let cap = need(&format!("tube-cap-{}-{depth}x{width}", group.word()), PartClass::TubeCap)
            .is("depth_mm", depth, because)
            .is("width_mm", width, because);
        shopping.buy_at(cap, group, places);
    }
    shopping.fittings
}
