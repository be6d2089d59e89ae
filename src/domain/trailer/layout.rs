//! Where everything goes: the places that members, panels and fittings hang on, from the spec and the axle's place.
//!
//! Lengths of bought parts that are not chosen yet (coupling head, spring, axle beam) are common practice, no source, unless a
//! constant says otherwise. Nothing here fails or panics: an odd spec gives an odd layout that validation refuses.

use super::{
    Assumed, AxlePlaceBy, BedPlace, Design, DrawbarForm, DrawbarLayout, FrontForm, Layout, Mount, MountKind, Mudguards,
    PoleReach, RampForm, RampStowage, SideForm, Spec, Stack, Suspension, Telescope, WheelBox,
    deck_split::{DeckSplit, SheetStock, split_deck},
    stations::{Stations, stations},
};
use crate::{
    measure::Length,
    steel::{Section, SheetMaterial},
};

/// From the coupling's centre to the front of the tube that it is bolted to.
pub const NOSE_MM: f64 = 100.0;
/// A coupling reaches this far ahead of its centre.
pub const COUPLING_AHEAD_MM: f64 = 60.0;
/// Bare tube that a coupling head needs ahead of a telescopic drawbar's outer tube.
const COUPLING_SEAT_MM: f64 = 160.0;
/// The coupling may sit this much above or below the drawbar's centre line; its plate bridges no more.
pub const LARGEST_COUPLING_RISE_MM: f64 = 250.0;
/// Between tyre and frame, sideways.
pub const TYRE_SIDE_CLEARANCE_MM: f64 = 30.0;
/// Between tyre and anything above it, with the suspension on its stop.
pub const TYRE_TOP_CLEARANCE_MM: f64 = 20.0;
/// Half of a light trailer's leaf spring, eye to eye.
const HALF_LEAF_MM: f64 = 300.0;
/// From a torsion axle's tube rearwards to its hubs.
pub const TORSION_ARM_MM: f64 = 130.0;
/// Where a donor axle's links are not known.
const LINK_MM: f64 = 400.0;
/// Half of an axle beam or torsion tube.
pub const HALF_AXLE_MM: f64 = 30.0;
/// From the bed's edge to the middle of a mount, at least.
const MOUNT_EDGE_MM: f64 = 30.0;
/// Springs and brackets stand this far inside the tyre's inner face where the bed lies over the wheels.
const MOUNT_INSIDE_TYRE_MM: f64 = 60.0;
/// A weld seam inside a welded tube that was not scarfed stands up by about this much (from memory).
const INNER_SEAM_MM: f64 = 1.0;
/// A loose ramp needs this much more stowage than its own length.
pub const STOWAGE_EXTRA_MM: f64 = 50.0;
/// Around a stowed ramp.
pub const STOWAGE_CLEARANCE_MM: f64 = 10.0;
/// A mudguard is this much wider than its tyre, half of it outside.
pub const MUDGUARD_OVER_TYRE_MM: f64 = 40.0;
/// Reversing guide poles above the deck.
pub const GUIDE_POLE_MM: f64 = 900.0;
/// A winch post above the deck.
pub const WINCH_POST_MM: f64 = 600.0;

/// The layout with decks cut from the usual 2440 × 1220 mm sheet; [`lay_out_with`] takes the sheets that the shop can buy.
pub fn lay_out(spec: &Spec, assumed: &Assumed) -> Layout {
    lay_out_with(spec, assumed, &[SheetStock::USUAL])
}

pub fn lay_out_with(spec: &Spec, assumed: &Assumed, sheets: &[SheetStock]) -> Layout {
    let design = &spec.design;
    let (bed, gear) = (&design.bed, &design.running_gear);
    let mut layout = Layout {
        coupling_height_mm: design.drawbar.coupling_height.mm(),
        drawbar_length_mm: design.drawbar.length.mm(),
        bed_front_x_mm: design.drawbar.length.mm(),
        bed_rear_x_mm: design.drawbar.length.mm() + bed.length.mm(),
        bed_width_mm: bed.width.mm(),
        wheel_radius_mm: gear.wheel.rolling_radius.mm(),
        tyre_width_mm: gear.wheel.section_width.mm(),
        axle_z_mm: gear.wheel.rolling_radius.mm(),
        largest_pitch_mm: largest_pitch_mm(design),
        ..Layout::default()
    };
    place_axles(&mut layout, design, assumed);
    place_heights(&mut layout, design);
    place_wheels(&mut layout, design);
    place_drawbar(&mut layout, design);
    place_mounts(&mut layout, design);
    let split = deck_split(design, &layout, sheets);
    place_stations(&mut layout, design, &split);
    layout.ramp_stowage = (design.loading.ramp == RampForm::Loose).then(|| ramp_stowage(&layout, design));
    measure_overall(&mut layout, design);
    layout
}

pub(super) fn deck_split(design: &Design, layout: &Layout, sheets: &[SheetStock]) -> DeckSplit {
    let boards = design.deck.material == SheetMaterial::HardwoodBoards;
    split_deck(layout.bed_length_mm(), layout.bed_width_mm, sheets, boards)
}

/// The largest pitch of the cross-members: asked, or what the deck spans (common practice, no source: plywood 27 times its
/// thickness, hardwood boards 22, tread plate of 3 mm 450 mm in steel and 350 mm in aluminium, expanded metal 350 mm).
pub fn largest_pitch_mm(design: &Design) -> f64 {
    let thickness = design.deck.thickness.mm();
    let spanned = match design.deck.material {
        SheetMaterial::MeshPly | SheetMaterial::ExteriorPly => 27.0 * thickness,
        SheetMaterial::HardwoodBoards => 22.0 * thickness,
        SheetMaterial::TreadAluminium | SheetMaterial::SheetAluminium => 350.0 * (thickness / 3.0).sqrt(),
        SheetMaterial::ExpandedMetal => 350.0,
        SheetMaterial::TreadSteel | SheetMaterial::SheetSteel | SheetMaterial::GalvanisedSheet => {
            450.0 * (thickness / 3.0).sqrt()
        }
    };
    let asked = design.frame.largest_pitch.map_or(spanned.clamp(200.0, 600.0), |pitch| pitch.mm());
    asked.max(design.frame.cross_member.width_mm() + 20.0)
}

fn place_axles(layout: &mut Layout, design: &Design, assumed: &Assumed) {
    let gear = &design.running_gear;
    let behind = match gear.place_by {
        AxlePlaceBy::Share => gear.share * layout.bed_length_mm(),
        AxlePlaceBy::Distance => gear.distance.mm(),
        // A place that is sought keeps to where the suspension can be fastened.
        AxlePlaceBy::Find => {
            let [first, last] = axle_range_mm(design);
            let behind = assumed.axle_x_mm - layout.bed_front_x_mm;
            if first <= last { behind.max(first).min(last) } else { behind }
        }
    };
    let behind = if behind.is_finite() { behind } else { 0.6 * layout.bed_length_mm() };
    layout.axle_x_mm = layout.bed_front_x_mm + behind;
    let half = gear.spacing.mm() / 2.0;
    layout.axles_x_mm =
        if gear.axles >= 2 { vec![layout.axle_x_mm - half, layout.axle_x_mm + half] } else { vec![layout.axle_x_mm] };
}

/// The first and the last place of the axle (or the pair's middle) behind the bed's front edge at which all of the
/// suspension's mounts are on the bed; the first is the greater where the bed is too short for them.
pub fn axle_range_mm(design: &Design) -> [f64; 2] {
    let gear = &design.running_gear;
    let link = gear.donor.link_length.map_or(LINK_MM, |link| link.mm());
    let [ahead, behind] = match gear.suspension {
        Suspension::RubberTorsion => [TORSION_ARM_MM, -TORSION_ARM_MM],
        Suspension::Leaf => [HALF_LEAF_MM; 2],
        Suspension::CoilLinks => [LINK_MM, 0.0],
        Suspension::FromVehicle => [link, 0.0],
    };
    let half = if gear.axles >= 2 { gear.spacing.mm() / 2.0 } else { 0.0 };
    [half + ahead + MOUNT_EDGE_MM, design.bed.length.mm() - half - behind.max(0.0) - MOUNT_EDGE_MM]
}

/// Underside of the frame above the hubs, standing empty, as the suspension wants it at least: a beam needs its travel plus
/// spring and half beam; a torsion axle's tube lies close under the frame.
pub(super) fn natural_mount_height_mm(design: &Design) -> f64 {
    let bump = design.running_gear.bump_travel.mm();
    match design.running_gear.suspension {
        Suspension::Leaf => HALF_AXLE_MM + 40.0 + bump,
        Suspension::CoilLinks | Suspension::FromVehicle => HALF_AXLE_MM + 100.0 + bump,
        Suspension::RubberTorsion => 65.0,
    }
}

/// Whether the axle's beam or tube passes under a pole that lies under the frame.
fn pole_over_axle(layout: &Layout, design: &Design) -> bool {
    let pole = design.drawbar.form == DrawbarForm::Pole && design.frame.stack == Stack::Stacked;
    let front_axle = layout.axles_x_mm.first().copied().unwrap_or(layout.axle_x_mm);
    let beam = if design.running_gear.suspension == Suspension::RubberTorsion { TORSION_ARM_MM } else { 0.0 };
    pole && pole_end_x_mm(layout, design) > front_axle - beam - HALF_AXLE_MM
}

fn pole_end_x_mm(layout: &Layout, design: &Design) -> f64 {
    let (frame, flush) = (&design.frame, design.frame.stack == Stack::Flush);
    match design.drawbar.reach {
        PoleReach::RearRail if flush => layout.bed_rear_x_mm - frame.end_rail.width_mm(),
        PoleReach::RearRail => layout.bed_rear_x_mm,
        PoleReach::CrossMember => {
            let half = end_member(design).width_mm() / 2.0;
            pole_station_x_mm(layout, design) + if flush { -half } else { half }
        }
    }
}

/// Centre of the cross-member at which a pole ends.
fn pole_station_x_mm(layout: &Layout, design: &Design) -> f64 {
    let behind = design.drawbar.end_station.map_or(0.45 * layout.bed_length_mm(), |station| station.mm());
    let clear = design.frame.end_rail.width_mm() + end_member(design).width_mm();
    let (first, last) = (layout.bed_front_x_mm + clear, layout.bed_rear_x_mm - clear);
    (layout.bed_front_x_mm + behind).min(last).max(first)
}

/// The cross-member at a drawbar's end: under the frame the deeper of cross-member and side rail, so that the drawbar
/// touches it and it bears the drawbar's end.
pub fn end_member(design: &Design) -> Section {
    let (cross, side) = (design.frame.cross_member, design.frame.side_rail);
    if design.frame.stack == Stack::Stacked && side.depth_mm() > cross.depth_mm() { side } else { cross }
}

/// Depth of the frame: all its members are level on top.
fn frame_depth_mm(design: &Design) -> f64 {
    let frame = &design.frame;
    frame.side_rail.depth_mm().max(frame.end_rail.depth_mm()).max(frame.cross_member.depth_mm())
}

fn place_heights(layout: &mut Layout, design: &Design) {
    let (gear, depth) = (&design.running_gear, frame_depth_mm(design));
    layout.tyre_top_at_bump_z_mm = layout.axle_z_mm + layout.wheel_radius_mm + gear.bump_travel.mm();
    let mut bottom = layout.axle_z_mm + natural_mount_height_mm(design);
    if pole_over_axle(layout, design) {
        let moves = if gear.suspension == Suspension::RubberTorsion { 0.0 } else { gear.bump_travel.mm() };
        let clear = layout.axle_z_mm + HALF_AXLE_MM + moves + TYRE_TOP_CLEARANCE_MM;
        bottom = bottom.max(clear + design.drawbar.section.depth_mm());
    }
    if design.bed.place == BedPlace::Over {
        bottom = bottom.max(layout.tyre_top_at_bump_z_mm + TYRE_TOP_CLEARANCE_MM);
    }
    let thickness = design.deck.thickness.mm();
    layout.deck_top_z_mm = design.bed.height.map_or(bottom + depth + thickness, |height| height.mm());
    layout.frame_top_z_mm = layout.deck_top_z_mm - thickness;
    layout.frame_bottom_z_mm = layout.frame_top_z_mm - depth;
    layout.mount_height_mm = layout.frame_bottom_z_mm - layout.axle_z_mm;
}

fn place_wheels(layout: &mut Layout, design: &Design) {
    let (width, tyre, rail) = (layout.bed_width_mm, layout.tyre_width_mm, design.frame.side_rail.width_mm());
    let comes_through = design.bed.place == BedPlace::Over
        && layout.tyre_top_at_bump_z_mm + TYRE_TOP_CLEARANCE_MM > layout.frame_bottom_z_mm + 1e-6;
    let follows = match design.bed.place {
        BedPlace::Between => width + 2.0 * TYRE_SIDE_CLEARANCE_MM + tyre,
        BedPlace::Over if comes_through => width - 2.0 * (rail + TYRE_SIDE_CLEARANCE_MM) - tyre,
        BedPlace::Over => width - tyre,
    };
    layout.track_mm = design.running_gear.track.map_or(follows, |track| track.mm());
    let inner_face = (layout.track_mm - tyre) / 2.0;
    let reaches_frame = layout.tyre_top_at_bump_z_mm + TYRE_TOP_CLEARANCE_MM > layout.frame_bottom_z_mm + 1e-6;
    if !comes_through {
        layout.tyres_meet_rails = reaches_frame && inner_face + 1e-6 < width / 2.0;
        return;
    }
    let radius = layout.wheel_radius_mm + TYRE_TOP_CLEARANCE_MM;
    let hub_at_bump = layout.axle_z_mm + design.running_gear.bump_travel.mm();
    let rise = (layout.frame_bottom_z_mm - hub_at_bump).max(0.0);
    let half = (radius * radius - rise * rise).max(0.0).sqrt();
    for &axle in &layout.axles_x_mm {
        for side in [-1.0, 1.0] {
            let (inner, outer) = (
                side * (layout.track_mm - tyre - 2.0 * TYRE_TOP_CLEARANCE_MM) / 2.0,
                side * (layout.track_mm + tyre + 2.0 * TYRE_TOP_CLEARANCE_MM) / 2.0,
            );
            layout.wheel_boxes.push(WheelBox {
                from_x_mm: axle - half,
                to_x_mm: axle + half,
                from_y_mm: inner.min(outer),
                to_y_mm: inner.max(outer),
                top_z_mm: layout.tyre_top_at_bump_z_mm + TYRE_TOP_CLEARANCE_MM,
            });
        }
    }
    merge_boxes(&mut layout.wheel_boxes);
    // A box needs a trimmer inside, the rail outside, and a member before and behind.
    let (cross_w, end_w) = (design.frame.cross_member.width_mm(), design.frame.end_rail.width_mm());
    let fits = |wheel_box: &WheelBox| {
        let (inner, outer) = (wheel_box.from_y_mm.abs(), wheel_box.to_y_mm.abs());
        inner.min(outer) > cross_w + 50.0
            && inner.max(outer) <= width / 2.0 - rail + 1e-6
            && wheel_box.from_x_mm >= layout.bed_front_x_mm + end_w + cross_w
            && wheel_box.to_x_mm <= layout.bed_rear_x_mm - end_w - cross_w
    };
    if !layout.wheel_boxes.iter().all(fits) {
        layout.wheel_boxes.clear();
        layout.tyres_meet_rails = true;
    }
}

/// The boxes of a pair of axles become one a side where they would overlap or leave less than 100 mm.
fn merge_boxes(boxes: &mut Vec<WheelBox>) {
    if let &[left, right, rear_left, rear_right] = &boxes[..]
        && rear_left.from_x_mm - left.to_x_mm < 100.0
    {
        *boxes =
            vec![WheelBox { to_x_mm: rear_left.to_x_mm, ..left }, WheelBox { to_x_mm: rear_right.to_x_mm, ..right }];
    }
}

fn place_drawbar(layout: &mut Layout, design: &Design) {
    let (drawbar, frame) = (&design.drawbar, &design.frame);
    let depth = drawbar.section.depth_mm();
    let z = match (frame.stack, drawbar.form) {
        (Stack::Stacked, _) => layout.frame_bottom_z_mm - depth / 2.0,
        // A pole runs on under the deck, so its top is level with the frame's; legs stop at the front rail's face.
        (Stack::Flush, DrawbarForm::Pole) => layout.frame_top_z_mm - depth / 2.0,
        (Stack::Flush, DrawbarForm::AFrame) => layout.frame_top_z_mm - frame.end_rail.depth_mm() / 2.0,
    };
    layout.drawbar = DrawbarLayout {
        nose_x_mm: NOSE_MM,
        z_mm: z,
        top_z_mm: z + depth / 2.0,
        bottom_z_mm: z - depth / 2.0,
        coupling_rise_mm: layout.coupling_height_mm - z,
        ..DrawbarLayout::default()
    };
    match drawbar.form {
        DrawbarForm::Pole => {
            layout.drawbar.end_x_mm = pole_end_x_mm(layout, design);
            layout.drawbar.station_x_mm =
                (drawbar.reach == PoleReach::CrossMember).then(|| pole_station_x_mm(layout, design));
            if drawbar.telescopic {
                layout.drawbar.telescope = Some(telescope(design));
            }
        }
        DrawbarForm::AFrame => place_legs(layout, design),
    }
}

/// Legs are cut across the trailer at the nose, their inner corners touching there; under the frame they run on to where
/// they meet the line of the side rails, or to the end station if that comes first.
fn place_legs(layout: &mut Layout, design: &Design) {
    let (drawbar, frame) = (&design.drawbar, &design.frame);
    let asked = if drawbar.included_angle_deg.is_finite() { drawbar.included_angle_deg } else { 50.0 };
    let half_angle = (asked / 2.0).clamp(1.0, 80.0);
    let (tan, cos) = (half_angle.to_radians().tan(), half_angle.to_radians().cos());
    let nose_y = drawbar.section.width_mm() / 2.0 / cos;
    let rail_y = (layout.bed_width_mm - frame.side_rail.width_mm()) / 2.0;
    let meets_rails_x = NOSE_MM + (rail_y - nose_y) / tan;
    let behind_front_rail = layout.bed_front_x_mm + frame.end_rail.width_mm();
    let (end_x, miss) = match frame.stack {
        Stack::Flush => (layout.bed_front_x_mm, meets_rails_x < layout.bed_front_x_mm),
        Stack::Stacked => {
            let asked = drawbar.end_station.map_or(f64::INFINITY, |station| layout.bed_front_x_mm + station.mm());
            (asked.min(meets_rails_x).max(behind_front_rail), meets_rails_x < behind_front_rail)
        }
    };
    let place = &mut layout.drawbar;
    if frame.stack == Stack::Stacked {
        place.station_x_mm = Some(end_x - end_member(design).width_mm() / 2.0);
    }
    place.half_angle_deg = half_angle;
    place.nose_y_mm = nose_y;
    place.end_x_mm = end_x;
    place.end_y_mm = nose_y + (end_x - NOSE_MM) * tan;
    place.legs_miss_bed = miss;
}

fn telescope(design: &Design) -> Telescope {
    let drawbar = &design.drawbar;
    let (outer, inner) = (drawbar.section, drawbar.inner_section);
    let (travel, pitch) = (drawbar.travel.mm().max(0.0), drawbar.pin_pitch.mm().max(1.0));
    let steps = ((travel / pitch + 1e-9).floor() as usize).min(200);
    let pin_steps_mm: Vec<f64> = (0..=steps).map(|step| step as f64 * pitch).collect();
    let out = pin_steps_mm.last().copied().unwrap_or(0.0);
    let overlap_in_mm = travel + (2.5 * outer.depth_mm()).max(300.0);
    let outer_from_x_mm = NOSE_MM + COUPLING_SEAT_MM;
    let clearance =
        |outer_side: f64, inner_side: f64| (outer_side - 2.0 * outer.wall_mm() - INNER_SEAM_MM - inner_side) / 2.0;
    Telescope {
        inner_from_x_mm: NOSE_MM,
        inner_to_x_mm: outer_from_x_mm + overlap_in_mm,
        outer_from_x_mm,
        overlap_in_mm,
        overlap_out_mm: overlap_in_mm - out,
        pin_x_mm: outer_from_x_mm + (4.0 * drawbar.pin_diameter.mm()).max(60.0),
        pin_steps_mm,
        clearance_mm: [clearance(outer.depth_mm(), inner.depth_mm()), clearance(outer.width_mm(), inner.width_mm())],
    }
}

fn place_mounts(layout: &mut Layout, design: &Design) {
    let (gear, frame) = (&design.running_gear, &design.frame);
    let (beside, under) = match design.bed.place {
        BedPlace::Between => ((layout.bed_width_mm - frame.side_rail.width_mm()) / 2.0, frame.side_rail.depth_mm()),
        BedPlace::Over => (
            ((layout.track_mm - layout.tyre_width_mm) / 2.0 - MOUNT_INSIDE_TYRE_MM).max(50.0),
            frame.cross_member.depth_mm(),
        ),
    };
    let z = layout.frame_top_z_mm - under;
    let mut mounts = Vec::new();
    let mut add = |kind, axle, x: f64, y: f64| {
        // A donor's mounts that lie inside the side rails hang on cross-members.
        let z = if y < beside - 1.0 { layout.frame_top_z_mm - frame.cross_member.depth_mm() } else { z };
        for side in [-1.0, 1.0] {
            mounts.push(Mount { kind, axle, place: [x, side * y, z] });
        }
    };
    let equalised = gear.equalised && layout.axles_x_mm.len() == 2;
    for (axle, &x) in layout.axles_x_mm.iter().enumerate() {
        match gear.suspension {
            Suspension::RubberTorsion => add(MountKind::AxleBracket, axle, x - TORSION_ARM_MM, beside),
            Suspension::Leaf if equalised && axle == 0 => {
                add(MountKind::FrontHanger, axle, x - HALF_LEAF_MM, beside);
                add(MountKind::Equaliser, axle, layout.axle_x_mm, beside);
            }
            Suspension::Leaf if equalised => add(MountKind::RearHanger, axle, x + HALF_LEAF_MM, beside),
            Suspension::Leaf => {
                add(MountKind::FrontHanger, axle, x - HALF_LEAF_MM, beside);
                add(MountKind::RearHanger, axle, x + HALF_LEAF_MM, beside);
            }
            Suspension::CoilLinks => {
                add(MountKind::LinkMount, axle, x - LINK_MM, beside);
                add(MountKind::SpringSeat, axle, x, beside);
            }
            Suspension::FromVehicle => {
                let donor = &gear.donor;
                let half = |across: Option<Length>| {
                    across.map_or(beside, |across| (across.mm() / 2.0).clamp(0.0, beside.max(0.0)))
                };
                let link = donor.link_length.map_or(LINK_MM, |link| link.mm());
                add(MountKind::LinkMount, axle, x - link, half(donor.link_mounts));
                add(MountKind::SpringSeat, axle, x, half(donor.spring_seats));
            }
        }
    }
    layout.mounts = mounts;
}

fn place_stations(layout: &mut Layout, design: &Design, split: &DeckSplit) {
    let (cross, end_rail, form) = (design.frame.cross_member, design.frame.end_rail, design.drawbar.form);
    let (front, rear) = (layout.bed_front_x_mm, layout.bed_rear_x_mm);
    layout.deck_joint_x_mm =
        (1..split.along).map(|nth| front + layout.bed_length_mm() * nth as f64 / split.along as f64).collect();
    layout.deck_joint_y_mm =
        (1..split.across).map(|nth| layout.bed_width_mm * (nth as f64 / split.across as f64 - 0.5)).collect();
    // In order of weight: a deck joint needs its member exactly, the others lose nothing by half a section's width.
    let mut wanted = layout.deck_joint_x_mm.clone();
    for wheel_box in &layout.wheel_boxes {
        wanted.push(wheel_box.from_x_mm - cross.width_mm() / 2.0);
        wanted.push(wheel_box.to_x_mm + cross.width_mm() / 2.0);
    }
    wanted.extend(layout.drawbar.station_x_mm);
    wanted.extend(layout.mounts.iter().map(|mount| mount.place[0]));
    layout.cross_member_x_mm = stations(&Stations {
        from: front + end_rail.width_mm() / 2.0,
        to: rear - end_rail.width_mm() / 2.0,
        end_width: end_rail.width_mm(),
        width: cross.width_mm(),
        pitch: layout.largest_pitch_mm,
        wanted,
    });
    // A pole ends at the member that is really there, should a weightier place have moved it.
    if let (Some(station), DrawbarForm::Pole) = (layout.drawbar.station_x_mm, form) {
        let offs = layout.cross_member_x_mm.iter().map(|x| x - station);
        if let Some(off) = offs.min_by(|a, b| a.abs().total_cmp(&b.abs())) {
            layout.drawbar.station_x_mm = Some(station + off);
            layout.drawbar.end_x_mm += off;
        }
    }
}

/// A loose ramp is pushed in under the cross-members and the rear rail; the drawbar and the axle may stand in its way.
fn ramp_stowage(layout: &Layout, design: &Design) -> RampStowage {
    let (frame, loading, gear) = (&design.frame, &design.loading, &design.running_gear);
    let above = frame.cross_member.depth_mm().max(frame.end_rail.depth_mm());
    let top = layout.frame_top_z_mm - above - STOWAGE_CLEARANCE_MM;
    let thickness = loading.ramp_stile.depth_mm().max(loading.ramp_rung.depth_mm());
    let bottom = top - thickness - loading.ramp_sheet_thickness.mm();
    let half_width = loading.ramp_width.mm() / 2.0 + STOWAGE_CLEARANCE_MM;
    let mut front = layout.bed_front_x_mm;
    let drawbar = &layout.drawbar;
    if drawbar.bottom_z_mm < top && drawbar.end_x_mm > layout.bed_front_x_mm {
        // The legs spread: behind where they are as far apart as the ramp is wide, they let it pass.
        let tan = drawbar.half_angle_deg.to_radians().tan();
        let inner_y = drawbar.nose_y_mm - design.drawbar.section.width_mm() / 2.0;
        let apart = if tan > 0.0 { drawbar.nose_x_mm + (half_width - inner_y) / tan } else { f64::INFINITY };
        front = front.max(drawbar.end_x_mm.min(apart));
    }
    let torsion = gear.suspension == Suspension::RubberTorsion;
    let beam_top = layout.axle_z_mm + HALF_AXLE_MM + if torsion { 0.0 } else { gear.bump_travel.mm() };
    if let Some(last) = layout.axles_x_mm.last()
        && beam_top + STOWAGE_CLEARANCE_MM > bottom
    {
        front = front.max(last + HALF_AXLE_MM - if torsion { TORSION_ARM_MM } else { 0.0 });
    }
    RampStowage { top_z_mm: top, bottom_z_mm: bottom, free_length_mm: (layout.bed_rear_x_mm - front).max(0.0) }
}

fn measure_overall(layout: &mut Layout, design: &Design) {
    let (sides, loading) = (&design.sides, &design.loading);
    let hinged = loading.ramp == RampForm::Hinged;
    let behind = if hinged { loading.ramp_stile.depth_mm() + loading.ramp_sheet_thickness.mm() } else { 0.0 };
    layout.overall_length_mm = layout.bed_rear_x_mm + behind + COUPLING_AHEAD_MM;
    let guards = if design.fittings.mudguards == Mudguards::None { 0.0 } else { MUDGUARD_OVER_TYRE_MM };
    layout.overall_width_mm = layout.bed_width_mm.max(layout.track_mm + layout.tyre_width_mm + guards);
    let above_deck = [
        if sides.form == SideForm::None && !sides.drop_tailgate { 0.0 } else { sides.height.mm() },
        if sides.front == FrontForm::None { 0.0 } else { sides.front_height.mm() },
        if hinged { loading.ramp_length.mm() } else { 0.0 },
        if design.electrics.guide_poles { GUIDE_POLE_MM } else { 0.0 },
        if loading.winch_post { WINCH_POST_MM } else { 0.0 },
    ];
    let tyre_top = layout.axle_z_mm + layout.wheel_radius_mm;
    layout.overall_height_mm = (layout.deck_top_z_mm + above_deck.into_iter().fold(0.0, f64::max)).max(tyre_top);
}

#[cfg(test)]
mod tests {
    use super::*;

    const ASSUMED: Assumed = Assumed::guess(750.0, 75.0, 2640.0, 1);

    fn close(found: f64, expect: f64) {
        assert!((found - expect).abs() < 1e-6, "{found} instead of {expect}");
    }

    /// Bed 2400 × 1300 behind a drawbar of 1200, tyres 157 wide, rolling radius 276, torsion axle 65 above the hubs,
    /// rails 60 deep, 15 mm of plywood.
    #[test]
    fn the_default_trailer_by_hand() {
        let layout = lay_out(&Spec::default(), &ASSUMED);
        close(layout.frame_bottom_z_mm, 276.0 + 65.0);
        close(layout.deck_top_z_mm, 276.0 + 65.0 + 60.0 + 15.0);
        close(layout.track_mm, 1300.0 + 60.0 + 157.0);
        close(layout.drawbar.z_mm, 341.0 - 40.0);
        close(layout.drawbar.coupling_rise_mm, 430.0 - 301.0);
        // Legs 40 wide at 25°: 22.07 from the centre at the nose; the rails' centre line at 630 is met at
        // 100 + (630 − 22.07) / tan 25° = 1403.7.
        close(layout.drawbar.nose_y_mm, 20.0 / 25f64.to_radians().cos());
        assert!((layout.drawbar.end_x_mm - 1403.7).abs() < 0.1, "{}", layout.drawbar.end_x_mm);
        close(layout.drawbar.end_y_mm, 630.0);
        close(layout.largest_pitch_mm, 27.0 * 15.0);
        assert_eq!(layout.deck_joint_x_mm, [2400.0]);
        assert!(layout.cross_member_x_mm.contains(&2400.0));
    }

    #[test]
    fn over_the_wheels_the_frame_clears_the_tyres() {
        let mut spec = Spec::default();
        spec.design.bed.place = BedPlace::Over;
        let layout = lay_out(&spec, &ASSUMED);
        close(layout.frame_bottom_z_mm, 2.0 * 276.0 + 80.0 + 20.0);
        close(layout.track_mm, 1300.0 - 157.0);
        assert!(layout.wheel_boxes.is_empty());
        spec.design.bed.height = Some(Length::from_mm(600.0));
        let low = lay_out(&spec, &ASSUMED);
        assert_eq!(low.wheel_boxes.len(), 2);
        assert!(low.wheel_boxes[1].to_y_mm < 650.0 - 40.0);
    }

    /// Outer 60 × 60 × 4 takes 60 − 8 − 1 (seam) = 51 mm: a 50 mm tube has 0.5 mm on each side. Six pins of 40 mm in 200.
    #[test]
    fn a_telescope_fits_and_keeps_its_overlap() {
        let mut spec = Spec::default();
        let drawbar = &mut spec.design.drawbar;
        drawbar.form = DrawbarForm::Pole;
        drawbar.telescopic = true;
        drawbar.section = "shs 60x60x4".parse().unwrap();
        drawbar.inner_section = "shs 50x50x3".parse().unwrap();
        drawbar.pin_pitch = Length::from_mm(40.0);
        let layout = lay_out(&spec, &ASSUMED);
        let telescope = layout.drawbar.telescope.unwrap();
        assert_eq!(telescope.clearance_mm, [0.5, 0.5]);
        assert_eq!(telescope.pin_steps_mm, [0.0, 40.0, 80.0, 120.0, 160.0, 200.0]);
        close(telescope.overlap_out_mm, 300.0);
        close(telescope.overlap_in_mm, 500.0);
    }

    #[test]
    fn too_wide_an_angle_misses_the_bed() {
        let mut spec = Spec::default();
        spec.design.drawbar.included_angle_deg = 60.0;
        assert!(lay_out(&spec, &ASSUMED).drawbar.legs_miss_bed);
    }

    #[test]
    fn nonsense_does_not_panic() {
        let mut spec = Spec::default();
        spec.design.running_gear.share = f64::NAN;
        spec.design.running_gear.axles = 4_000_000_000;
        spec.design.drawbar.included_angle_deg = f64::INFINITY;
        spec.design.drawbar.pin_pitch = Length::from_mm(-1.0);
        spec.design.bed.length = Length::from_mm(f64::INFINITY);
        spec.design.frame.largest_pitch = Some(Length::from_mm(-5.0));
        let layout = lay_out(&spec, &Assumed { axle_x_mm: f64::NAN, ..ASSUMED });
        assert!(layout.axle_x_mm.is_finite());
    }
}
