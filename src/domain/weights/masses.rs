//! Every mass of the empty trailer at its place.

use serde::{Deserialize, Serialize};

use super::{Body, coated_with_frame};
use crate::{
    measure::Length,
    steel::{Metal, STEEL_KG_PER_M3, sheet_mass_kg_per_m2},
    trailer::{Finish, FinishSystem, Group, PanelRole, Point, Role, Spec, Trailer, WeldKind},
};

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MassItem {
    pub name: String,
    pub group: Group,
    pub body: Body,
    pub moves_with_axle: bool,
    /// A telescopic drawbar takes it along when it is pulled out.
    #[serde(default)]
    pub moves_with_coupling: bool,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MassGroup {
    pub group: Group,
    pub body: Body,
    /// Per cent of the empty mass.
    pub percent: f64,
}

/// Weld reinforcement over the plain triangle: 1.2 (welding references handbook, "Calculation of the welding consumables
/// consumption"; read).
const REINFORCEMENT: f64 = 1.2;
/// Zinc picked up by light hollow-section work, share of the steel's mass: 6 % (galvanizers' association FAQ; read).
const ZINC_SHARE: f64 = 0.06;
/// Dry paint, kg per dm³ (from memory).
const PAINT_KG_PER_DM3: f64 = 1.4;

pub(super) fn items(spec: &Spec, trailer: &Trailer) -> Vec<MassItem> {
    let mut items = Vec::with_capacity(trailer.members.len() + trailer.panels.len() + trailer.fittings.len() + 8);
    let mouth = trailer.layout.drawbar.telescope.as_ref().map_or(f64::NEG_INFINITY, |outer| outer.outer_from_x_mm);
    let ahead_of_outer = |[x, ..]: Point| x < mouth;
    for member in &trailer.members {
        let mass = member.section.mass_kg_per_m(member.grade.density_kg_per_m3()) * member.mean_length_mm() / 1e3;
        items.push(MassItem {
            name: format!("{} {}", member.mark, member.role.label()),
            group: member.group,
            body: Body { mass_kg: mass, centre: member.middle() },
            moves_with_axle: member.role == Role::MudguardStay,
            moves_with_coupling: member.role == Role::Inner,
        });
    }
    for panel in &trailer.panels {
        let mass = sheet_mass_kg_per_m2(panel.material, Length::from_mm(panel.thickness_mm)) * panel.area_mm2() / 1e6;
        items.push(MassItem {
            name: format!("{} {}", panel.mark, panel.role.label()),
            group: panel.group,
            body: Body { mass_kg: mass, centre: panel.centre },
            moves_with_axle: matches!(
                panel.role,
                PanelRole::HangerPlate | PanelRole::SpringSeat | PanelRole::AxlePlate | PanelRole::Mudguard
            ),
            moves_with_coupling: ahead_of_outer(panel.centre),
        });
    }
    for fitting in &trailer.fittings {
        let Some(item) = &fitting.part.item else { continue };
        let pieces = fitting.places.len().max(1) as f64;
        let each = item.mass_kg * fitting.part.need.count / pieces;
        for place in &fitting.places {
            items.push(MassItem {
                name: item.name.clone(),
                group: fitting.group,
                body: Body { mass_kg: each, centre: *place },
                moves_with_axle: fitting.moves_with_axle,
                moves_with_coupling: ahead_of_outer(*place),
            });
        }
    }
    let welds = trailer.welds.iter().map(|weld| {
        let area = match weld.kind {
            WeldKind::Fillet => weld.size_mm * weld.size_mm / 2.0,
            // A butt of plate thickness with a gap of half of it.
            WeldKind::Butt => weld.size_mm * weld.size_mm / 2.0,
        };
        Body { mass_kg: REINFORCEMENT * area * STEEL_KG_PER_M3 * 1e-9 * weld.run_mm, centre: weld.place }
    });
    push(&mut items, "weld metal", Group::Frame, Body::of(welds));
    let coating = coating(&spec.design.finish, trailer, &items);
    push(&mut items, "coating", Group::Finish, coating);
    items
}

fn push(items: &mut Vec<MassItem>, name: &str, group: Group, body: Body) {
    if body.mass_kg > 0.0 {
        items.push(MassItem { name: name.into(), group, body, moves_with_axle: false, moves_with_coupling: false });
    }
}

/// Zinc, powder or paint on the steel, spread as the steel is.
fn coating(finish: &Finish, trailer: &Trailer, items: &[MassItem]) -> Body {
    let members = trailer.members.iter().zip(items).filter(|(member, _)| member.grade.metal() == Metal::Steel);
    let panels = trailer
        .panels
        .iter()
        .zip(&items[trailer.members.len()..])
        .filter(|(panel, _)| coated_with_frame(panel.material, panel.group));
    match finish.system {
        FinishSystem::None => Body::default(),
        FinishSystem::Galvanised => Body::of(
            members
                .map(|(_, item)| item.body)
                .chain(panels.map(|(_, item)| item.body))
                .map(|steel| Body { mass_kg: steel.mass_kg * ZINC_SHARE, ..steel }),
        ),
        FinishSystem::Paint | FinishSystem::Powder => {
            // µm × m² = cm³; a dm³ is 1000 of them.
            let film = |area_m2: f64, centre: Point| Body {
                mass_kg: area_m2 * finish.coat_um * f64::from(finish.coats) / 1000.0 * PAINT_KG_PER_DM3,
                centre,
            };
            Body::of(
                members
                    .map(|(member, item)| {
                        film(member.section.properties().outside_m2_per_m * member.length.mm() / 1e3, item.body.centre)
                    })
                    .chain(panels.map(|(panel, item)| film(2.0 * panel.area_mm2() / 1e6, item.body.centre))),
            )
        }
    }
}

pub(super) fn groups(items: &[MassItem]) -> Vec<MassGroup> {
    let total: f64 = items.iter().map(|item| item.body.mass_kg).sum();
    Group::ALL
        .iter()
        .filter_map(|&group| {
            let body = Body::of(items.iter().filter(|item| item.group == group).map(|item| item.body));
            let percent = if total > 0.0 { body.mass_kg / total * 100.0 } else { 0.0 };
            (body.mass_kg > 0.0).then_some(MassGroup { group, body, percent })
        })
        .collect()
}

/// Point masses about the vertical through the centre of gravity, kg m².
pub(super) fn yaw_inertia(items: &[MassItem], whole: Body) -> f64 {
    items
        .iter()
        .map(|item| {
            let (dx, dy) = (item.body.centre[0] - whole.centre[0], item.body.centre[1] - whole.centre[1]);
            item.body.mass_kg * (dx * dx + dy * dy) / 1e6
        })
        .sum()
}
