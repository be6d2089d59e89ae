//! What is made for fittings: guide poles, mudguards and their stays, winch post, spare wheel arm, rear bumper.

use super::{drawbar::DrawbarMembers, frame::FrameMembers};
use crate::{
    steel::Section,
    trailer::{
        BedPlace, Cut, DrawbarForm, EndCut, GUIDE_POLE_MM, Grain, Group, MUDGUARD_OVER_TYRE_MM, Mudguards, PanelRole,
        PartRef, Point, Role, SparePlace, TYRE_TOP_CLEARANCE_MM, WINCH_POST_MM,
        assembly::{Assembly, Bar, Plate, closed_end, upright},
        bend::{flat_length_mm, fold_mm},
        vector::{FORWARD, REARWARD, RIGHT, UP},
    },
};

/// Mudguards made in house.
const GUARD_MM: f64 = 1.5;
const GUARD_FOLD_DEG: f64 = PanelRole::Mudguard.fold_deg();
/// Between the frame and a rear bumper hung below it.
const BUMPER_DROP_MM: f64 = 80.0;

pub fn build(asm: &mut Assembly, drawbar: &DrawbarMembers, frame: &FrameMembers) {
    if asm.design.electrics.guide_poles {
        guide_poles(asm, frame);
    }
    if asm.design.fittings.mudguards != Mudguards::None && asm.design.bed.place == BedPlace::Between {
        mudguards(asm, frame);
    }
    if asm.design.loading.winch_post {
        let top = asm.layout.deck_top_z_mm + WINCH_POST_MM;
        let section = asm.design.frame.cross_member;
        let x = asm.layout.bed_front_x_mm - 150.0;
        stand_ahead(asm, drawbar, frame, Role::WinchPost, Group::Loading, section, x, top);
    }
    spare_arm(asm, drawbar, frame);
    if asm.design.fittings.rear_bumper {
        bumper(asm, frame);
    }
}

fn bar(
    asm: &mut Assembly,
    role: Role,
    group: Group,
    section: Section,
    from: Point,
    to: Point,
    cuts: [EndCut; 2],
) -> usize {
    let direction = [0, 1, 2].map(|axis| f64::from(u8::from((to[axis] - from[axis]).abs() > 1e-6)));
    let grade = asm.design.frame.grade;
    asm.bar(Bar { role, group, section, grade, from, to, depth_axis: upright(direction), cuts })
}

/// On the rear rail's face at both corners.
fn guide_poles(asm: &mut Assembly, frame: &FrameMembers) {
    let (layout, section) = (asm.layout, asm.design.sides.post);
    let Some(&rear) = frame.rear.first() else { return };
    let x = layout.bed_rear_x_mm + section.depth_mm() / 2.0;
    let rail = asm.design.frame.end_rail.depth_mm();
    for side in [-1.0, 1.0] {
        let y = side * (layout.bed_width_mm - section.width_mm()) / 2.0;
        let (from, to) = ([x, y, layout.frame_top_z_mm - rail], [x, y, layout.deck_top_z_mm + GUIDE_POLE_MM]);
        let pole = asm.bar(Bar {
            role: Role::GuidePole,
            group: Group::Electrics,
            section,
            grade: asm.design.frame.grade,
            from,
            to,
            // An open section turns the same face out on both sides.
            depth_axis: if side > 0.0 { REARWARD } else { FORWARD },
            cuts: [closed_end(section); 2],
        });
        asm.weld_crossing(pole, rear, [layout.bed_rear_x_mm, y, layout.frame_top_z_mm - rail / 2.0]);
    }
}

/// Two stays a side, ahead of the first and behind the last tyre, and the guard when it is made in house: a top with a slope
/// at each end, clear of the tyre with the suspension on its stop.
fn mudguards(asm: &mut Assembly, frame: &FrameMembers) {
    let (layout, section) = (asm.layout, asm.design.sides.post);
    let (Some(first), Some(last)) = (layout.axles_x_mm.first(), layout.axles_x_mm.last()) else { return };
    let inset = section.depth_mm() / 2.0 + 5.0;
    let clear = layout.wheel_radius_mm + TYRE_TOP_CLEARANCE_MM + section.depth_mm();
    let bed = [layout.bed_front_x_mm + inset, layout.bed_rear_x_mm - inset];
    let outer = (layout.track_mm + layout.tyre_width_mm) / 2.0;
    let rail = asm.design.frame.side_rail;
    let z = layout.frame_top_z_mm - rail.depth_mm() / 2.0;
    for side in [-1.0, 1.0] {
        let on = frame.side[usize::from(side > 0.0)];
        let mut stays = Vec::new();
        for x in [first - clear, last + clear] {
            let x = x.max(bed[0]).min(bed[1]);
            let (from, to) = ([x, side * layout.bed_width_mm / 2.0, z], [x, side * outer, z]);
            if outer - layout.bed_width_mm / 2.0 < 20.0 {
                continue;
            }
            let ends = [EndCut::SQUARE, closed_end(section)];
            let stay = bar(asm, Role::MudguardStay, Group::Fittings, section, from, to, ends);
            asm.weld_end(stay, Cut::From, PartRef::Member(on));
            stays.push((stay, x));
        }
        if asm.design.fittings.mudguards == Mudguards::Made {
            guard(asm, side, first, last, &stays);
        }
    }
}

fn guard(asm: &mut Assembly, side: f64, first: &f64, last: &f64, stays: &[(usize, f64)]) {
    let layout = asm.layout;
    let radius = layout.wheel_radius_mm;
    let (top, slope) = (last - first + radius, 0.8 * radius);
    let flat = flat_length_mm(&[slope, top, slope], GUARD_FOLD_DEG, GUARD_MM);
    let z = layout.tyre_top_at_bump_z_mm + TYRE_TOP_CLEARANCE_MM;
    let y = side * layout.track_mm / 2.0;
    let guard = asm.plate(Plate {
        role: PanelRole::Mudguard,
        group: Group::Fittings,
        material: asm.sheet_like_frame(),
        thickness_mm: GUARD_MM,
        length_mm: flat,
        width_mm: layout.tyre_width_mm + MUDGUARD_OVER_TYRE_MM,
        // The slopes hang down: the middle of the bent sheet lies below its top.
        centre: [
            f64::midpoint(*first, *last),
            y,
            z - 2.0 * slope / flat * slope / 2.0 * GUARD_FOLD_DEG.to_radians().sin(),
        ],
        along: REARWARD,
        across: RIGHT,
        grain: Grain::Any,
    });
    let to_fold = slope + fold_mm(GUARD_FOLD_DEG, GUARD_MM) / 2.0;
    asm.panels[guard].folds_mm = vec![to_fold, flat - to_fold];
    for &(stay, x) in stays {
        let place = [x, y, asm.members[stay].middle()[2]];
        asm.weld_plate(guard, PartRef::Member(stay), place, 100.0, false);
    }
}

/// An upright ahead of the bed: on a pole's top, or against the front rail's face between the legs.
#[expect(clippy::too_many_arguments)]
fn stand_ahead(
    asm: &mut Assembly,
    drawbar: &DrawbarMembers,
    frame: &FrameMembers,
    role: Role,
    group: Group,
    section: Section,
    x: f64,
    top: f64,
) {
    let layout = asm.layout;
    if let Some(pole) = drawbar.pole {
        let x = x.max(asm.members[pole].from[0] + section.depth_mm());
        let foot = layout.drawbar.top_z_mm;
        let post = bar(asm, role, group, section, [x, 0.0, foot], [x, 0.0, top], [EndCut::SQUARE, closed_end(section)]);
        asm.weld_end(post, Cut::From, PartRef::Member(pole));
    } else if let Some(&front) = frame.front.first() {
        let rail = asm.design.frame.end_rail.depth_mm();
        let x = layout.bed_front_x_mm - section.depth_mm() / 2.0;
        let from = [x, 0.0, layout.frame_top_z_mm - rail];
        let post = bar(asm, role, group, section, from, [x, 0.0, top], [closed_end(section); 2]);
        asm.weld_crossing(post, front, [layout.bed_front_x_mm, 0.0, layout.frame_top_z_mm - rail / 2.0]);
    }
}

fn spare_arm(asm: &mut Assembly, drawbar: &DrawbarMembers, frame: &FrameMembers) {
    let (layout, section) = (asm.layout, asm.design.frame.cross_member);
    let place = &layout.drawbar;
    match asm.design.fittings.spare_wheel {
        SparePlace::None => {}
        SparePlace::Drawbar if asm.design.drawbar.form == DrawbarForm::AFrame => {
            // Across the tops of both legs.
            let x = 0.6 * layout.bed_front_x_mm;
            let y = place.nose_y_mm + (x - place.nose_x_mm) * place.half_angle_deg.to_radians().tan();
            let z = place.top_z_mm + section.depth_mm() / 2.0;
            let Some(legs) = drawbar.legs else { return };
            let ends = [closed_end(section); 2];
            let reach = y + section.width_mm();
            let arm = bar(asm, Role::SpareArm, Group::Fittings, section, [x, -reach, z], [x, reach, z], ends);
            for (leg, side) in legs.into_iter().zip([-1.0, 1.0]) {
                asm.weld_crossing(arm, leg, [x, side * y, place.top_z_mm]);
            }
        }
        SparePlace::Drawbar => {
            let top = place.top_z_mm + 150.0;
            let x = 0.6 * layout.bed_front_x_mm;
            stand_ahead(asm, drawbar, frame, Role::SpareArm, Group::Fittings, section, x, top);
        }
        SparePlace::Front => {
            let top = layout.deck_top_z_mm + layout.wheel_radius_mm;
            let x = layout.bed_front_x_mm - section.depth_mm() - 20.0;
            stand_ahead(asm, drawbar, frame, Role::SpareArm, Group::Fittings, section, x, top);
        }
        SparePlace::UnderBed => {
            // Along the bed under its first two whole cross-members, beside the drawbar.
            let y = layout.bed_width_mm / 4.0;
            let whole = |cross: &&super::frame::CrossMember| {
                cross.from_y_mm < y && cross.to_y_mm > y && asm.members[cross.member].section == section
            };
            let under: Vec<_> = frame.cross.iter().filter(whole).take(2).copied().collect();
            let [ahead, behind] = under[..] else { return };
            let z = layout.frame_top_z_mm - 1.5 * section.depth_mm();
            let half = section.width_mm() / 2.0;
            let (from, to) = ([ahead.x_mm - half, y, z], [behind.x_mm + half, y, z]);
            let arm = bar(asm, Role::SpareArm, Group::Fittings, section, from, to, [closed_end(section); 2]);
            for cross in [ahead, behind] {
                asm.weld_crossing(arm, cross.member, [cross.x_mm, y, layout.frame_top_z_mm - section.depth_mm()]);
            }
        }
    }
}

/// Across the whole width below the frame, on two brackets down the rear rail's face.
fn bumper(asm: &mut Assembly, frame: &FrameMembers) {
    let (layout, section) = (asm.layout, asm.design.frame.cross_member);
    let Some(&rear) = frame.rear.first() else { return };
    let rail_bottom = layout.frame_top_z_mm - asm.design.frame.end_rail.depth_mm();
    let (half, x) = (layout.bed_width_mm / 2.0, layout.bed_rear_x_mm - section.width_mm() / 2.0);
    let z = rail_bottom - BUMPER_DROP_MM - section.depth_mm() / 2.0;
    let ends = [closed_end(section); 2];
    let bumper = bar(asm, Role::Bumper, Group::Fittings, section, [x, -half, z], [x, half, z], ends);
    let (top, bottom) = (rail_bottom + 40.0, z - section.depth_mm() / 2.0);
    for side in [-1.0, 1.0] {
        let y = side * half * 0.6;
        let plate = asm.plate(Plate {
            role: PanelRole::Bracket,
            group: Group::Fittings,
            material: asm.plate_material(rear),
            thickness_mm: 6.0,
            length_mm: top - bottom,
            width_mm: 60.0,
            centre: [layout.bed_rear_x_mm + 3.0, y, (top + bottom) / 2.0],
            along: UP,
            across: RIGHT,
            grain: Grain::Any,
        });
        asm.weld_plate(plate, PartRef::Member(rear), [layout.bed_rear_x_mm, y, rail_bottom + 20.0], 140.0, false);
        let lap = 60.0 + 2.0 * section.depth_mm();
        asm.weld_plate(plate, PartRef::Member(bumper), [layout.bed_rear_x_mm, y, z], lap, false);
    }
}
