//! The take-off: the quantities read from the built trailer. Cutting plans, hours and prices start here.
//!
//! Quantities are of one trailer.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::{
    CutPlane, EndCut, FinishSystem, Grain, Group, HolePurpose, Joint, JointKind, Member, Panel, PanelRole, PartRef,
    Role, Spec, Trailer, WeldKind,
};
use crate::{
    choice::choice,
    measure::{Length, Tenths, round},
    shop::{ChosenPart, PartClass},
    steel::{Grade, Metal, Section, SheetMaterial, sheet_mass_kg_per_m2},
};

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct TakeOff {
    /// By section (named upright, as it is bought) and grade.
    pub bars: Vec<BarDemand>,
    /// By material and thickness.
    pub sheets: Vec<SheetDemand>,
    pub welds: Vec<WeldDemand>,
    pub joints: Vec<JointDemand>,
    pub holes: HoleDemand,
    pub finish: FinishDemand,
    pub parts: Vec<PartDemand>,
    /// Metres of cable, all runs.
    pub cable_m: f64,
    pub masses: MaterialMasses,
}

/// Pieces of one section and grade.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BarDemand {
    pub section: Section,
    pub grade: Grade,
    pub parts: Vec<BarPart>,
}

/// Pieces that are cut alike.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BarPart {
    /// The mark; unique within the demand.
    pub id: String,
    pub role: Role,
    /// Long-point length.
    pub length: Tenths,
    pub quantity: u32,
    /// Planes as the section stands upright.
    pub cuts: [EndCut; 2],
}

/// Panels and plates of one material and thickness.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SheetDemand {
    pub material: SheetMaterial,
    pub thickness: Length,
    pub parts: Vec<SheetPart>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SheetPart {
    /// The mark; unique within the demand.
    pub id: String,
    pub role: PanelRole,
    /// Flat size, folds laid out.
    pub length: Tenths,
    pub width: Tenths,
    pub quantity: u32,
    pub grain: Grain,
    pub bends: u32,
    pub cut_outs: u32,
}

/// Runs of one kind and size.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WeldDemand {
    pub kind: WeldKind,
    /// Leg of a fillet, thickness of a butt.
    pub size_mm: f64,
    pub runs: u32,
    pub length_mm: f64,
}

choice! {
    /// What a joint asks of the fitter.
    FitUp {
        Square = "square" / "square joint",
        Mitred = "mitred" / "mitre or angled joint",
        Plate = "plate" / "gusset, lug or cap",
        Aligned = "aligned" / "hanger, spring seat or coupling plate",
        Bolted = "bolted" / "bolted joint",
    }
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct JointDemand {
    pub fit_up: FitUp,
    pub count: u32,
}

/// Holes to drill; a hole through both walls counts twice. Deck screws drill their own; a deck bolt's hole is drilled in one go
/// through deck and member and counts once.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct HoleDemand {
    /// To 10 mm.
    pub small: u32,
    /// Above 10 mm.
    pub large: u32,
    pub vents: u32,
}

/// What the finish covers: the steel that is not galvanised before.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct FinishDemand {
    pub system: FinishSystem,
    pub coats: u32,
    /// Dry film of one coat.
    pub coat_um: f64,
    pub outside_m2: f64,
    /// Inside of hollow sections: the zinc bath reaches it.
    pub inside_m2: f64,
    pub steel_kg: f64,
}

impl Default for FinishDemand {
    fn default() -> Self {
        Self { system: FinishSystem::None, coats: 0, coat_um: 0.0, outside_m2: 0.0, inside_m2: 0.0, steel_kg: 0.0 }
    }
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PartDemand {
    pub group: Group,
    /// Pieces, or metres for goods by length.
    pub quantity: f64,
    pub part: ChosenPart,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct MaterialMasses {
    pub steel_kg: f64,
    pub aluminium_kg: f64,
    pub wood_kg: f64,
    pub parts_kg: f64,
}

/// Reads the quantities of one trailer. Everything is sorted, so that the same trailer gives the same take-off.
pub fn take_off(spec: &Spec, trailer: &Trailer) -> TakeOff {
    let (parts, parts_kg) = parts(trailer);
    let mut masses = MaterialMasses { parts_kg, ..MaterialMasses::default() };
    let finish = &spec.design.finish;
    let mut covered = FinishDemand {
        system: finish.system,
        coats: if finish.system == FinishSystem::Paint { finish.coats } else { 0 },
        coat_um: finish.coat_um,
        ..FinishDemand::default()
    };
    for member in &trailer.members {
        weigh_member(member, &mut masses, &mut covered);
    }
    for panel in &trailer.panels {
        weigh_panel(panel, &mut masses, &mut covered);
    }
    TakeOff {
        bars: bars(&trailer.members),
        sheets: sheets(&trailer.panels),
        welds: welds(trailer),
        joints: joints(trailer),
        holes: holes(trailer),
        finish: covered,
        parts,
        cable_m: trailer.wiring.iter().map(|run| run.length_mm).sum::<f64>() / 1000.0,
        masses,
    }
}

fn weigh_member(member: &Member, masses: &mut MaterialMasses, covered: &mut FinishDemand) {
    let metres = member.mean_length_mm() / 1000.0;
    let kg = member.section.mass_kg_per_m(member.grade.density_kg_per_m3()) * metres;
    match member.grade.metal() {
        Metal::Steel => {
            let properties = member.section.properties();
            masses.steel_kg += kg;
            covered.steel_kg += kg;
            covered.outside_m2 += properties.outside_m2_per_m * metres;
            covered.inside_m2 += properties.inside_m2_per_m * metres;
        }
        Metal::Aluminium => masses.aluminium_kg += kg,
    }
}

fn weigh_panel(panel: &Panel, masses: &mut MaterialMasses, covered: &mut FinishDemand) {
    let m2 = panel.area_mm2() / 1e6;
    let kg = sheet_mass_kg_per_m2(panel.material, Length::from_mm(panel.thickness_mm)) * m2;
    if panel.material.is_wood() {
        masses.wood_kg += kg;
    } else if panel.material.is_aluminium() {
        masses.aluminium_kg += kg;
    } else {
        masses.steel_kg += kg;
        // Sheet that comes galvanised is fixed after the bath and needs no coat.
        if panel.material != SheetMaterial::GalvanisedSheet {
            covered.steel_kg += kg;
            covered.outside_m2 += 2.0 * m2;
        }
    }
}

fn bars(members: &[Member]) -> Vec<BarDemand> {
    type Alike<'a> = (&'a str, Tenths);
    let mut demands: BTreeMap<(Section, Grade), BTreeMap<Alike<'_>, BarPart>> = BTreeMap::new();
    for member in members {
        let section = member.section.upright();
        let parts = demands.entry((section, member.grade)).or_default();
        let part = parts.entry((&member.mark, member.length)).or_insert_with(|| BarPart {
            id: String::new(),
            role: member.role,
            length: member.length,
            quantity: 0,
            cuts: if section == member.section { member.cuts } else { member.cuts.map(turned) },
        });
        part.quantity += 1;
    }
    demands
        .into_iter()
        .map(|((section, grade), parts)| BarDemand {
            section,
            grade,
            parts: with_ids(parts, |part, id| BarPart { id, ..part }),
        })
        .collect()
}

/// The cut as it crosses the section stood upright.
fn turned(cut: EndCut) -> EndCut {
    let plane = match cut.plane {
        CutPlane::Depth => CutPlane::Width,
        CutPlane::Width => CutPlane::Depth,
    };
    EndCut { plane, ..cut }
}

fn sheets(panels: &[Panel]) -> Vec<SheetDemand> {
    type Alike<'a> = (&'a str, [Tenths; 2]);
    let mut demands: BTreeMap<(SheetMaterial, Length), BTreeMap<Alike<'_>, SheetPart>> = BTreeMap::new();
    for panel in panels {
        let parts = demands.entry((panel.material, Length::from_mm(panel.thickness_mm))).or_default();
        let part = parts.entry((&panel.mark, [panel.length, panel.width])).or_insert_with(|| SheetPart {
            id: String::new(),
            role: panel.role,
            length: panel.length,
            width: panel.width,
            quantity: 0,
            grain: panel.grain,
            bends: panel.folds_mm.len() as u32,
            cut_outs: panel.cut_outs.len() as u32,
        });
        part.quantity += 1;
    }
    demands
        .into_iter()
        .map(|((material, thickness), parts)| SheetDemand {
            material,
            thickness,
            parts: with_ids(parts, |part, id| SheetPart { id, ..part }),
        })
        .collect()
}

/// Names parts by their mark; where one mark stands for several sizes, by mark and a count.
fn with_ids<K: Ord, P>(parts: BTreeMap<(&str, K), P>, named: impl Fn(P, String) -> P) -> Vec<P> {
    let mut seen: BTreeMap<&str, u32> = BTreeMap::new();
    let parts = parts.into_iter().map(|((mark, _), part)| {
        let nth = seen.entry(mark).or_default();
        *nth += 1;
        let id = if *nth == 1 { mark.to_owned() } else { format!("{mark}/{nth}") };
        named(part, id)
    });
    parts.collect()
}

fn welds(trailer: &Trailer) -> Vec<WeldDemand> {
    let mut demands: BTreeMap<(WeldKind, i64), WeldDemand> = BTreeMap::new();
    for weld in &trailer.welds {
        // Legs are called for in half millimetres.
        let size_mm = round::up(weld.size_mm, 0.5);
        let demand = demands.entry((weld.kind, Tenths::nearest(size_mm).0)).or_insert(WeldDemand {
            kind: weld.kind,
            size_mm,
            runs: 0,
            length_mm: 0.0,
        });
        demand.runs += 1;
        demand.length_mm += weld.run_mm;
    }
    demands.into_values().collect()
}

fn joints(trailer: &Trailer) -> Vec<JointDemand> {
    let mut counts: BTreeMap<FitUp, u32> = BTreeMap::new();
    for joint in &trailer.joints {
        if let Some(fit_up) = fit_up(trailer, joint) {
            *counts.entry(fit_up).or_default() += 1;
        }
    }
    counts.into_iter().map(|(fit_up, count)| JointDemand { fit_up, count }).collect()
}

/// `None` for what is counted elsewhere: sheets with the deck and the body, fittings with their own minutes, what slides.
fn fit_up(trailer: &Trailer, joint: &Joint) -> Option<FitUp> {
    let mut plate = None;
    for part in joint.parts {
        match part {
            PartRef::Fitting(_) => return None,
            PartRef::Panel(at) => plate = trailer.panels.get(at),
            PartRef::Member(_) => {}
        }
    }
    if let Some(plate) = plate {
        return match plate.role {
            PanelRole::CouplingPlate | PanelRole::HangerPlate | PanelRole::SpringSeat | PanelRole::AxlePlate => {
                Some(FitUp::Aligned)
            }
            role if is_sheet(role) => None,
            _ => Some(FitUp::Plate),
        };
    }
    match joint.kind {
        JointKind::Sliding => None,
        JointKind::Bolted | JointKind::Pinned => Some(FitUp::Bolted),
        JointKind::Welded if joint.mitred || (joint.angle_deg - 90.0).abs() > 1.0 => Some(FitUp::Mitred),
        JointKind::Welded => Some(FitUp::Square),
    }
}

/// Whether a panel is a sheet of deck or body rather than a small plate.
pub const fn is_sheet(role: PanelRole) -> bool {
    matches!(
        role,
        PanelRole::Deck
            | PanelRole::Side
            | PanelRole::Front
            | PanelRole::Tailgate
            | PanelRole::RampSheet
            | PanelRole::Mudguard
            | PanelRole::WheelBox
    )
}

fn holes(trailer: &Trailer) -> HoleDemand {
    let mut demand = HoleDemand::default();
    let members = trailer.members.iter().flat_map(|member| &member.holes);
    let plates = trailer.panels.iter().flat_map(|panel| &panel.holes);
    for hole in members.chain(plates) {
        let walls = if hole.through { 2 } else { 1 };
        match hole.purpose {
            HolePurpose::Fixing => {}
            HolePurpose::Vent => demand.vents += walls,
            _ if hole.diameter_mm <= 10.0 => demand.small += walls,
            _ => demand.large += walls,
        }
    }
    let deck_bolts =
        trailer.fittings.iter().filter(|fitting| fitting.class == PartClass::BoltSet && fitting.group == Group::Deck);
    demand.small += deck_bolts.map(|fitting| fitting.part.need.count as u32).sum::<u32>();
    demand
}

fn parts(trailer: &Trailer) -> (Vec<PartDemand>, f64) {
    let mut demands: BTreeMap<&str, PartDemand> = BTreeMap::new();
    let mut kg = 0.0;
    for fitting in &trailer.fittings {
        kg += fitting.part.mass_kg();
        let need = &fitting.part.need;
        demands.entry(&need.key).and_modify(|demand| demand.quantity += need.count).or_insert_with(|| PartDemand {
            group: fitting.group,
            quantity: need.count,
            part: fitting.part.clone(),
        });
    }
    (demands.into_values().collect(), kg)
}

impl TakeOff {
    /// Pieces sawn for one trailer.
    pub fn pieces(&self) -> u32 {
        self.bars.iter().flat_map(|demand| &demand.parts).map(|part| part.quantity).sum()
    }

    /// Metres of weld on one trailer.
    pub fn weld_m(&self) -> f64 {
        self.welds.iter().map(|weld| weld.length_mm).sum::<f64>() / 1000.0
    }

    /// Area of the panels of a role on one trailer, cut-outs included (they are paid for).
    pub fn area_m2(&self, wanted: impl Fn(&SheetDemand, &SheetPart) -> bool) -> f64 {
        let mut mm2 = 0.0;
        for demand in &self.sheets {
            for part in demand.parts.iter().filter(|part| wanted(demand, part)) {
                mm2 += part.length.mm() * part.width.mm() * f64::from(part.quantity);
            }
        }
        mm2 / 1e6
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        shop::ShopBook,
        trailer::{Assumed, build},
    };

    fn built(spec: &Spec) -> Trailer {
        let assumed = Assumed::guess(740.0, 74.0, 2640.0, 1);
        build(spec, &ShopBook::demo(), &assumed).unwrap()
    }

    #[test]
    fn every_member_and_panel_is_counted_once() {
        let spec = Spec::default();
        let trailer = built(&spec);
        let take_off = take_off(&spec, &trailer);
        assert_eq!(take_off.pieces() as usize, trailer.members.len());
        let panels: u32 = take_off.sheets.iter().flat_map(|demand| &demand.parts).map(|part| part.quantity).sum();
        assert_eq!(panels as usize, trailer.panels.len());
        let members_mm: f64 = trailer.members.iter().map(|member| member.length.mm()).sum();
        let parts = take_off.bars.iter().flat_map(|demand| &demand.parts);
        let taken_mm: f64 = parts.map(|part| part.length.mm() * f64::from(part.quantity)).sum();
        assert!((members_mm - taken_mm).abs() < 1e-6);
        let welds_mm: f64 = trailer.welds.iter().map(|weld| weld.run_mm).sum();
        assert!((take_off.weld_m() * 1000.0 - welds_mm).abs() < 1e-6);
        for demand in &take_off.bars {
            let ids: std::collections::BTreeSet<&str> = demand.parts.iter().map(|part| part.id.as_str()).collect();
            assert_eq!(ids.len(), demand.parts.len(), "{}", demand.section);
        }
    }

    #[test]
    fn a_section_that_lies_down_is_bought_upright_with_its_cuts_turned() {
        let mut spec = Spec::default();
        let lying: Section = "rhs 40x60x3".parse().unwrap();
        (spec.design.frame.side_rail, spec.design.frame.end_rail) = (lying, lying);
        let trailer = built(&spec);
        let take_off = take_off(&spec, &trailer);
        let demand = take_off.bars.iter().find(|demand| demand.section == lying.upright()).unwrap();
        let mitred = |cuts: &[EndCut; 2]| cuts.iter().find(|cut| cut.angle_deg == 45.0).map(|cut| cut.plane);
        let built = trailer.members.iter().find_map(|member| mitred(&member.cuts));
        let bought = demand.parts.iter().find_map(|part| mitred(&part.cuts));
        assert_eq!((built, bought), (Some(CutPlane::Width), Some(CutPlane::Depth)));
    }

    /// 50×50×3: 4.25 kg/m, 0.190 m²/m outside, 0.361 in and out (EN 10219-2 geometry, computed).
    #[test]
    fn masses_and_areas_follow_from_the_section() {
        let spec = Spec::default();
        let mut trailer = built(&spec);
        trailer.panels.clear();
        trailer.members.truncate(1);
        let member = &mut trailer.members[0];
        member.section = "shs 50x50x3".parse().unwrap();
        member.length = Tenths::nearest(2000.0);
        member.cuts = [EndCut::SQUARE; 2];
        let take_off = take_off(&spec, &trailer);
        assert!((take_off.finish.steel_kg - 8.49).abs() < 0.01, "{}", take_off.finish.steel_kg);
        assert!((take_off.finish.outside_m2 - 0.379).abs() < 0.001, "{}", take_off.finish.outside_m2);
        let both = take_off.finish.outside_m2 + take_off.finish.inside_m2;
        assert!((both - 0.722).abs() < 0.001, "{both}");
    }
}
