//! Small plates: coupling, pin, gussets, suspension, lamps. Sizes are common practice, no source; the strength checks judge
//! what they carry.

use crate::trailer::{
    BedPlace, DrawbarForm, Grain, Group, HolePurpose, Mount, MountKind, PanelRole, PartRef, Point, Role, Stack,
    assembly::{Assembly, Plate},
    layout::natural_mount_height_mm,
    members::{drawbar::DrawbarMembers, frame::FrameMembers},
    vector::{REARWARD, RIGHT, UP},
};

const COUPLING_MM: f64 = 8.0;
const COUPLING_LENGTH_MM: f64 = 220.0;
/// A head bolted on top of the drawbar or under it reaches this far beyond its face; beyond that it sits on upright plates.
const HEAD_REACH_MM: f64 = 50.0;
const GUSSET_MM: f64 = 5.0;
const GUSSET_LENGTH_MM: f64 = 100.0;
const HANGER_MM: f64 = 6.0;

pub fn build(asm: &mut Assembly, drawbar: &DrawbarMembers, frame: &FrameMembers) {
    coupling(asm, drawbar);
    pin_plates(asm, drawbar);
    gussets(asm, drawbar, frame);
    for mount in &asm.layout.mounts {
        suspension(asm, frame, mount);
    }
    lamp_brackets(asm, frame);
}

struct Small {
    role: PanelRole,
    group: Group,
    thickness: f64,
    size: [f64; 2],
    centre: Point,
    along: Point,
    across: Point,
}

fn small(asm: &mut Assembly, on: usize, small: Small) -> usize {
    asm.plate(Plate {
        role: small.role,
        group: small.group,
        material: asm.plate_material(on),
        thickness_mm: small.thickness,
        length_mm: small.size[0],
        width_mm: small.size[1],
        centre: small.centre,
        along: small.along,
        across: small.across,
        grain: Grain::Any,
    })
}

/// One plate on top of (or under) the nose, and where the coupling sits higher or lower than its head reaches, two upright
/// plates that carry it.
fn coupling(asm: &mut Assembly, drawbar: &DrawbarMembers) {
    let place = &asm.layout.drawbar;
    let carries: Vec<usize> =
        drawbar.inner.into_iter().chain(drawbar.all()).take(drawbar.legs.map_or(1, |_| 2)).collect();
    let Some(&first) = carries.first() else { return };
    let section = asm.members[first].section;
    let rise = place.coupling_rise_mm;
    let up = if rise < 0.0 { -1.0 } else { 1.0 };
    let face = place.z_mm + up * section.depth_mm() / 2.0;
    let length = COUPLING_LENGTH_MM.min(asm.members[first].length.mm());
    let tan = place.half_angle_deg.to_radians().tan();
    let leg_y = |x: f64| place.nose_y_mm + (x - place.nose_x_mm) * tan;
    let width = match asm.design.drawbar.form {
        DrawbarForm::Pole => section.width_mm(),
        DrawbarForm::AFrame => 2.0 * (leg_y(place.nose_x_mm + length) + section.width_mm() / 2.0),
    };
    let middle_x = place.nose_x_mm + length / 2.0;
    let flat = small(
        asm,
        first,
        Small {
            role: PanelRole::CouplingPlate,
            group: Group::Drawbar,
            thickness: COUPLING_MM,
            size: [length, width],
            centre: [middle_x, 0.0, face + up * COUPLING_MM / 2.0],
            along: REARWARD,
            across: RIGHT,
        },
    );
    // The usual three bolts of a pressed head would be drilled to the head; two in line are the least.
    for along in [0.25, 0.65] {
        asm.drill_plate(flat, along * length, width / 2.0, 12.5, HolePurpose::Bolt);
    }
    for member in carries {
        let y = if drawbar.legs.is_some() { asm.members[member].middle()[1].signum() * leg_y(middle_x) } else { 0.0 };
        asm.weld_plate(flat, PartRef::Member(member), [middle_x, y, face], 2.0 * length, false);
    }
    let beyond = rise.abs() - section.depth_mm() / 2.0;
    if beyond <= HEAD_REACH_MM {
        return;
    }
    for side in [-1.0, 1.0] {
        let y = side * (section.width_mm().min(width) / 2.0 - COUPLING_MM / 2.0).max(COUPLING_MM);
        let upright = small(
            asm,
            first,
            Small {
                role: PanelRole::CouplingPlate,
                group: Group::Drawbar,
                thickness: COUPLING_MM,
                size: [length.max(1.2 * beyond), beyond],
                centre: [middle_x, y, face + up * (COUPLING_MM + beyond / 2.0)],
                along: REARWARD,
                across: UP,
            },
        );
        asm.drill_plate(upright, 40.0, beyond / 2.0, 12.5, HolePurpose::Bolt);
        asm.drill_plate(upright, 120.0, beyond / 2.0, 12.5, HolePurpose::Bolt);
        let seam = [middle_x, y, face + up * COUPLING_MM];
        asm.weld_plate(upright, PartRef::Panel(flat), seam, 2.0 * length, false);
    }
}

/// Doublers on both sides of the outer tube, round the pin.
fn pin_plates(asm: &mut Assembly, drawbar: &DrawbarMembers) {
    let (Some(pole), Some(telescope)) = (drawbar.pole, asm.layout.drawbar.telescope.as_ref()) else { return };
    let section = asm.members[pole].section;
    let size = (section.depth_mm() - 10.0).max(20.0);
    for side in [-1.0, 1.0] {
        let face = side * section.width_mm() / 2.0;
        let centre = [telescope.pin_x_mm, face + side * HANGER_MM / 2.0, asm.layout.drawbar.z_mm];
        let plate = small(
            asm,
            pole,
            Small {
                role: PanelRole::PinPlate,
                group: Group::Drawbar,
                thickness: HANGER_MM,
                size: [80.0, size],
                centre,
                along: REARWARD,
                across: UP,
            },
        );
        let hole = asm.design.drawbar.pin_diameter.mm() + 0.5;
        asm.drill_plate(plate, 40.0, size / 2.0, hole, HolePurpose::Pin);
        let place = [centre[0], face, centre[2]];
        asm.weld_plate(plate, PartRef::Member(pole), place, 2.0 * (80.0 + size), true);
    }
}

/// At the front rail: upright on the drawbar against the rail's face where it passes under; flat in the corner where it is
/// level with it.
fn gussets(asm: &mut Assembly, drawbar: &DrawbarMembers, frame: &FrameMembers) {
    let (layout, place) = (asm.layout, &asm.layout.drawbar);
    let front_x = layout.bed_front_x_mm;
    let rail = asm.design.frame.end_rail;
    let stacked = asm.design.frame.stack == Stack::Stacked;
    let tan = place.half_angle_deg.to_radians().tan();
    for member in drawbar.all().collect::<Vec<_>>() {
        let width = asm.members[member].section.width_mm();
        let is_leg = drawbar.legs.is_some();
        let side = asm.members[member].middle()[1].signum();
        for beside in [-1.0, 1.0] {
            let outer = if is_leg { side } else { beside };
            if is_leg && beside < 0.0 {
                continue;
            }
            let on_line = |x: f64| if is_leg { side * (place.nose_y_mm + (x - place.nose_x_mm) * tan) } else { 0.0 };
            let holds = |&&index: &&usize, y: f64| {
                let rail = &asm.members[index];
                y >= rail.from[1].min(rail.to[1]) - 1.0 && y <= rail.from[1].max(rail.to[1]) + 1.0
            };
            let (size, centre, across, onto_y) = if stacked {
                let y = on_line(front_x) + if is_leg { 0.0 } else { beside * (width / 2.0 - GUSSET_MM) };
                let bottom = place.top_z_mm;
                let height = (layout.frame_top_z_mm - 10.0 - bottom).max(20.0);
                let x = front_x - GUSSET_LENGTH_MM / 2.0;
                ([GUSSET_LENGTH_MM, height], [x, if is_leg { on_line(x) } else { y }, bottom + height / 2.0], UP, y)
            } else {
                let y = on_line(front_x - 40.0) + outer * (width / 2.0 + 40.0);
                ([80.0, 80.0], [front_x - 40.0, y, layout.frame_top_z_mm - rail.depth_mm() / 2.0], RIGHT, y)
            };
            let Some(&rail) = frame.front.iter().find(|index| holds(index, onto_y)) else { continue };
            let gusset = small(
                asm,
                member,
                Small {
                    role: PanelRole::Gusset,
                    group: Group::Drawbar,
                    thickness: GUSSET_MM,
                    size,
                    centre,
                    along: REARWARD,
                    across,
                },
            );
            let at_rail = [front_x, onto_y, asm.members[rail].middle()[2]];
            asm.weld_plate(gusset, PartRef::Member(rail), at_rail, 2.0 * size[1], false);
            let at_bar = if stacked {
                [centre[0], centre[1], place.top_z_mm]
            } else {
                [centre[0], on_line(centre[0]) + outer * width / 2.0, place.z_mm]
            };
            asm.weld_plate(gusset, PartRef::Member(member), at_bar, 2.0 * size[0], false);
        }
    }
}

/// A plate under the rail or the cross-member, and where the frame stands higher than the suspension wants, two upright
/// plates that make up the height; a link's fork is always two upright plates.
fn suspension(asm: &mut Assembly, frame: &FrameMembers, mount: &Mount) {
    let [x, y, z] = mount.place;
    let Some(onto) = bears(asm, frame, mount) else { return };
    let seat_width = asm.members[onto].section.width_mm().max(60.0);
    let (role, thickness, size) = match mount.kind {
        MountKind::FrontHanger | MountKind::RearHanger | MountKind::Equaliser => {
            (PanelRole::HangerPlate, HANGER_MM, [120.0, seat_width])
        }
        MountKind::AxleBracket => (PanelRole::AxlePlate, 8.0, [180.0, seat_width]),
        MountKind::LinkMount => (PanelRole::HangerPlate, HANGER_MM, [100.0, seat_width]),
        MountKind::SpringSeat => (PanelRole::SpringSeat, HANGER_MM, [120.0, 120.0]),
    };
    let underside = asm.underside_mm(onto);
    let plate = |asm: &mut Assembly, thickness, size, centre, across| {
        let group = Group::RunningGear;
        small(asm, onto, Small { role, group, thickness, size, centre, along: REARWARD, across })
    };
    let flat = plate(asm, thickness, size, [x, y, underside - thickness / 2.0], RIGHT);
    // Where the mount's member was moved to a weightier place next to it, the plate reaches over.
    let at = nearest_on(asm, onto, [x, y, underside]);
    asm.weld_plate(flat, PartRef::Member(onto), at, 2.0 * size[0], false);
    let spare_height = z - asm.layout.axle_z_mm - natural_mount_height_mm(asm.design);
    let fork = if mount.kind == MountKind::LinkMount { 90.0 } else { 0.0 };
    let height = spare_height.max(0.0) + fork;
    if height < 5.0 {
        return;
    }
    for side in [-1.0, 1.0] {
        let beside = y + side * (size[1] / 2.0 - thickness);
        let centre = [x, beside, underside - thickness - height / 2.0];
        let upright = plate(asm, thickness, [size[0], height], centre, UP);
        if mount.kind == MountKind::LinkMount {
            asm.drill_plate(upright, size[0] / 2.0, 30.0, 14.5, HolePurpose::Bolt);
        }
        let seam = [x, beside, underside - thickness];
        asm.weld_plate(upright, PartRef::Panel(flat), seam, 2.0 * size[0], false);
    }
}

fn bears(asm: &Assembly, frame: &FrameMembers, mount: &Mount) -> Option<usize> {
    let [x, y, _] = mount.place;
    let rail_y = (asm.layout.bed_width_mm - asm.design.frame.side_rail.width_mm()) / 2.0;
    if asm.design.bed.place == BedPlace::Between && (y.abs() - rail_y).abs() < 1.0 {
        return frame.side.get(usize::from(y > 0.0)).copied();
    }
    let ends = frame.front.iter().chain(&frame.rear).copied();
    let across = frame.cross.iter().map(|cross| cross.member).chain(ends).filter(|&index| {
        let member = &asm.members[index];
        y >= member.from[1].min(member.to[1]) && y <= member.from[1].max(member.to[1])
    });
    let off = |index: usize| (asm.members[index].middle()[0] - x).abs();
    across.min_by(|&a, &b| off(a).total_cmp(&off(b))).filter(|&index| off(index) < 100.0)
}

/// The point of a member's underside that is nearest.
fn nearest_on(asm: &Assembly, member: usize, place: Point) -> Point {
    let bar = &asm.members[member];
    if bar.role == Role::SideRail {
        let (low, high) = (bar.from[0].min(bar.to[0]), bar.from[0].max(bar.to[0]));
        return [place[0].max(low).min(high), place[1], place[2]];
    }
    [bar.middle()[0], place[1], place[2]]
}

/// On the rear rail's face at both corners.
fn lamp_brackets(asm: &mut Assembly, frame: &FrameMembers) {
    let layout = asm.layout;
    let Some(&rear) = frame.rear.first() else { return };
    let rail_z = layout.frame_top_z_mm - asm.design.frame.end_rail.depth_mm() / 2.0;
    for side in [-1.0, 1.0] {
        let y = side * (layout.bed_width_mm / 2.0 - 75.0);
        let centre = [layout.bed_rear_x_mm + 1.5, y, rail_z - 50.0];
        let bracket = small(
            asm,
            rear,
            Small {
                role: PanelRole::LampBracket,
                group: Group::Electrics,
                thickness: 3.0,
                size: [150.0, 100.0],
                centre,
                along: RIGHT,
                across: UP,
            },
        );
        for along in [40.0, 110.0] {
            asm.drill_plate(bracket, along, 40.0, 6.5, HolePurpose::Bolt);
        }
        asm.drill_plate(bracket, 75.0, 40.0, 20.0, HolePurpose::Cable);
        asm.weld_plate(bracket, PartRef::Member(rear), [layout.bed_rear_x_mm, y, rail_z], 150.0, false);
    }
}
