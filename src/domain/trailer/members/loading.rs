//! The ramp, where it rides, and where it hooks on.

use super::frame::FrameMembers;
use crate::steel::{Section, SheetMaterial};
use crate::trailer::{
    Cut, EndCut, Grain, Group, HolePurpose, PanelRole, PartRef, Point, RampForm, RampStowage, Role, STOWAGE_EXTRA_MM,
    assembly::{Assembly, Bar, Plate, closed_end},
    bend::flat_length_mm,
    deck_split::split_deck,
    vector::{FORWARD, REARWARD, RIGHT, UP, moved},
};

/// A ramp's sheet is folded down over its end by so much, at about the ramp's slope.
const LIP_MM: f64 = 40.0;
const LIP_FOLD_DEG: f64 = PanelRole::RampSheet.fold_deg();
/// Between the rear rail and a hinged ramp that stands behind it.
const HINGE_GAP_MM: f64 = 5.0;
/// Sideways room of a ramp in its carriers.
const CARRIER_GAP_MM: f64 = 10.0;
const CARRIER: &str = "angle 40x40x4";

/// The ramp's own axes: from its foot to its tip, and out of its tread.
struct Ramp {
    foot: Point,
    along: Point,
    tread: Point,
}

pub fn build(asm: &mut Assembly, frame: &FrameMembers) {
    let (loading, layout) = (&asm.design.loading, asm.layout);
    let depth = loading.ramp_stile.depth_mm();
    match (loading.ramp, layout.ramp_stowage) {
        (RampForm::Hinged, _) => {
            let x = layout.bed_rear_x_mm + HINGE_GAP_MM + loading.ramp_sheet_thickness.mm() + depth / 2.0;
            ramp(asm, &Ramp { foot: [x, 0.0, layout.frame_top_z_mm], along: UP, tread: FORWARD });
        }
        (RampForm::Loose, Some(stowage)) => {
            let z = stowage.bottom_z_mm + depth / 2.0;
            ramp(asm, &Ramp { foot: [layout.bed_rear_x_mm, 0.0, z], along: FORWARD, tread: UP });
            carriers(asm, frame, &stowage);
            lugs(asm, frame);
        }
        _ => {}
    }
}

fn ramp(asm: &mut Assembly, place: &Ramp) {
    let loading = &asm.design.loading;
    let (length, width) = (loading.ramp_length.mm(), loading.ramp_width.mm());
    let (stile, rung) = (loading.ramp_stile, loading.ramp_rung);
    let at = |along: f64, across: f64, up: f64| {
        moved(moved(moved(place.foot, place.along, along), RIGHT, across), place.tread, up)
    };
    let bar = |asm: &mut Assembly, role, section: Section, from, to, cuts| {
        asm.bar(Bar {
            role,
            group: Group::Loading,
            section,
            grade: loading.ramp_grade,
            from,
            to,
            depth_axis: place.tread,
            cuts,
        })
    };
    let y = (width - stile.width_mm()) / 2.0;
    let closed = [closed_end(stile); 2];
    let left = bar(asm, Role::RampStile, stile, at(0.0, -y, 0.0), at(length, -y, 0.0), closed);
    let right = bar(asm, Role::RampStile, stile, at(length, y, 0.0), at(0.0, y, 0.0), closed);
    // Rungs are level with the stiles on the tread side, one at each end.
    let (inside, run) = (width / 2.0 - stile.width_mm(), length - rung.width_mm());
    let bays = (run / loading.ramp_rung_pitch.mm().max(rung.width_mm() + 10.0)).ceil().clamp(1.0, 100.0) as usize;
    let up = (stile.depth_mm() - rung.depth_mm()) / 2.0;
    for nth in 0..=bays {
        let along = rung.width_mm() / 2.0 + run * nth as f64 / bays as f64;
        let (from, to) = (at(along, -inside, up), at(along, inside, up));
        let rung = bar(asm, Role::RampRung, rung, from, to, [EndCut::SQUARE; 2]);
        asm.weld_end(rung, Cut::From, PartRef::Member(left));
        asm.weld_end(rung, Cut::To, PartRef::Member(right));
    }
    tread(asm, place, [left, right]);
}

fn tread(asm: &mut Assembly, place: &Ramp, stiles: [usize; 2]) {
    let loading = &asm.design.loading;
    let (length, width) = (loading.ramp_length.mm(), loading.ramp_width.mm());
    let thickness = loading.ramp_sheet_thickness.mm();
    let flat = flat_length_mm(&[length, LIP_MM], LIP_FOLD_DEG, thickness);
    let split = split_deck(flat, width, &asm.stock(loading.ramp_sheet, thickness), false);
    let (own, wide) = (flat / split.along as f64, width / split.across as f64);
    let up = (loading.ramp_stile.depth_mm() + thickness) / 2.0;
    for along in 0..split.along {
        for across in 0..split.across {
            let middle = own * (along as f64 + 0.5);
            let beside = wide * (across as f64 + 0.5) - width / 2.0;
            let centre = moved(moved(moved(place.foot, place.along, middle), RIGHT, beside), place.tread, up);
            let sheet = asm.plate(Plate {
                role: PanelRole::RampSheet,
                group: Group::Loading,
                material: loading.ramp_sheet,
                thickness_mm: thickness,
                length_mm: own,
                width_mm: wide,
                centre,
                along: place.along,
                across: RIGHT,
                grain: match (patterned(loading.ramp_sheet), split.turned) {
                    (false, _) => Grain::Any,
                    (true, false) => Grain::Length,
                    (true, true) => Grain::Width,
                },
            });
            if along + 1 == split.along {
                let fold = length - own * along as f64;
                if fold > 0.0 {
                    asm.panels[sheet].folds_mm.push(fold.min(own));
                }
            }
            for stile in stiles {
                let y = asm.members[stile].middle()[1];
                if (y - beside).abs() <= wide / 2.0 + 1.0 {
                    let on_line = middle.min(length);
                    let place = moved(moved(moved(place.foot, place.along, on_line), RIGHT, y), place.tread, up);
                    asm.weld_plate(sheet, PartRef::Member(stile), place, own / 2.0, false);
                }
            }
        }
    }
}

/// Whether a sheet has a direction to keep.
pub fn patterned(material: SheetMaterial) -> bool {
    material.is_wood()
        || matches!(material, SheetMaterial::TreadSteel | SheetMaterial::TreadAluminium | SheetMaterial::ExpandedMetal)
}

/// Two angles that the ramp lies in, hung from the cross-members, with a stop at their front.
fn carriers(asm: &mut Assembly, frame: &FrameMembers, stowage: &RampStowage) {
    let (loading, layout) = (&asm.design.loading, asm.layout);
    let Ok(section) = CARRIER.parse::<Section>() else { return };
    let (depth, wall) = (section.depth_mm(), section.wall_mm());
    let length = loading.ramp_length.mm() + STOWAGE_EXTRA_MM;
    let (from_x, to_x) = (layout.bed_rear_x_mm - length, layout.bed_rear_x_mm);
    let outer = loading.ramp_width.mm() / 2.0 + CARRIER_GAP_MM + wall;
    let bottom = stowage.bottom_z_mm - wall - 2.0;
    for side in [-1.0, 1.0] {
        let y = side * (outer - section.width_mm() / 2.0);
        let (front, rear) = ([from_x, y, bottom + depth / 2.0], [to_x, y, bottom + depth / 2.0]);
        // The upright leg outside: it is drawn on the left.
        let carrier = asm.bar(Bar {
            role: Role::RampCarrier,
            group: Group::Loading,
            section,
            grade: asm.design.frame.grade,
            from: if side > 0.0 { front } else { rear },
            to: if side > 0.0 { rear } else { front },
            depth_axis: UP,
            cuts: [EndCut::SQUARE; 2],
        });
        let hanger_y = side * (outer + HANGER_MM / 2.0);
        let over: Vec<(usize, f64)> = frame
            .cross
            .iter()
            .filter(|cross| cross.from_y_mm < hanger_y && cross.to_y_mm > hanger_y)
            .map(|cross| (cross.member, cross.x_mm))
            .chain(frame.rear.iter().map(|&rear| (rear, asm.members[rear].middle()[0])))
            .filter(|(_, x)| *x > from_x + 20.0 && *x < to_x)
            .collect();
        for (member, x) in over {
            let underside = asm.underside_mm(member);
            let plate = asm.plate(Plate {
                role: PanelRole::Bracket,
                group: Group::Loading,
                material: asm.plate_material(member),
                thickness_mm: HANGER_MM,
                length_mm: underside - bottom,
                width_mm: 40.0,
                centre: [x, hanger_y, (underside + bottom) / 2.0],
                along: UP,
                across: REARWARD,
                grain: Grain::Any,
            });
            asm.weld_plate(plate, PartRef::Member(member), [x, hanger_y, underside], 80.0, false);
            let place = [x, side * outer, bottom + depth / 2.0];
            asm.weld_plate(plate, PartRef::Member(carrier), place, 2.0 * depth, false);
        }
        let stop = asm.plate(Plate {
            role: PanelRole::Bracket,
            group: Group::Loading,
            material: asm.plate_material(carrier),
            thickness_mm: HANGER_MM,
            length_mm: section.width_mm(),
            width_mm: depth,
            centre: [from_x - HANGER_MM / 2.0, y, bottom + depth / 2.0],
            along: RIGHT,
            across: UP,
            grain: Grain::Any,
        });
        asm.weld_plate(stop, PartRef::Member(carrier), [from_x, y, bottom + depth / 2.0], 2.0 * depth, false);
    }
}

const HANGER_MM: f64 = 5.0;

/// Two lugs with a pin hole at each docking place, on the rear rail's face.
fn lugs(asm: &mut Assembly, frame: &FrameMembers) {
    let (loading, layout) = (&asm.design.loading, asm.layout);
    let Some(&rear) = frame.rear.first() else { return };
    let places = loading.docking_places.clamp(1, 10);
    let spread = (layout.bed_width_mm - loading.ramp_width.mm()).max(0.0);
    for nth in 0..places {
        let share = if places == 1 { 0.0 } else { f64::from(nth) / f64::from(places - 1) - 0.5 };
        for side in [-1.0, 1.0] {
            let y = share * spread + side * (loading.ramp_width.mm() / 2.0 - 40.0).max(20.0);
            let depth = asm.design.frame.end_rail.depth_mm().min(50.0);
            let z = layout.frame_top_z_mm - depth / 2.0;
            let lug = asm.plate(Plate {
                role: PanelRole::RampLug,
                group: Group::Loading,
                material: asm.plate_material(rear),
                thickness_mm: 6.0,
                length_mm: 60.0,
                width_mm: depth,
                centre: [layout.bed_rear_x_mm + 30.0, y, z],
                along: REARWARD,
                across: UP,
                grain: Grain::Any,
            });
            asm.drill_plate(lug, 40.0, depth / 2.0, 13.0, HolePurpose::Pin);
            asm.weld_plate(lug, PartRef::Member(rear), [layout.bed_rear_x_mm, y, z], 2.0 * depth, false);
        }
    }
}
