//! Bed, frame, drawbar, running gear and ramp, together.

use super::Checker;
use crate::{
    steel::Metal,
    trailer::{
        AxlePlaceBy, BedPlace, DeckFixing, Drawbar, DrawbarForm, FinishSystem, HALF_AXLE_MM, LARGEST_COUPLING_RISE_MM,
        Layout, NOSE_MM, RampForm, STOWAGE_EXTRA_MM, Stack, Suspension, TYRE_TOP_CLEARANCE_MM, axle_range_mm,
        speed_symbol_km_h, speed_symbols,
    },
};

/// Between tyre and frame sideways, at least. Common practice, no source.
const LEAST_SIDE_CLEARANCE_MM: f64 = 10.0;
/// Between the tyres of a pair. Common practice, no source.
const BETWEEN_TYRES_MM: f64 = 20.0;
/// More play than this on each side lets an inner tube rock. Common practice, no source.
const MOST_PLAY_MM: f64 = 5.0;
/// What a layout is reckoned from.
const LAID_OUT: &[&str] =
    &["design.bed", "design.frame", "design.drawbar", "design.running_gear", "design.deck", "design.loading"];

pub fn check(checker: &mut Checker<'_>) {
    materials(checker);
    sections(checker);
    ratings(checker);
    wheels(checker);
    axle_place(checker);
    ramp(checker);
    if checker.is_sound(LAID_OUT) {
        let layout = checker.layout();
        clearance(checker, &layout);
        drawbar(checker, &layout);
        stowage(checker, &layout);
        width(checker, &layout);
    }
}

fn materials(checker: &mut Checker<'_>) {
    let design = &checker.spec.design;
    let (frame, drawbar) = (design.frame.grade.metal(), design.drawbar.grade.metal());
    if frame != drawbar {
        checker.fault(
            "design.drawbar.grade",
            format!("cannot be welded to the frame's {}: steel is never welded to aluminium", design.frame.grade.id()),
            "choose a grade of the same metal for both",
        );
    }
    if design.finish.system == FinishSystem::Galvanised && (frame == Metal::Aluminium || drawbar == Metal::Aluminium) {
        checker.fault(
            "design.finish.system",
            "is for steel, the frame is of aluminium",
            "choose paint, powder coat or none",
        );
    }
    if design.deck.fixing == DeckFixing::Welded {
        let aluminium = design.deck.material.is_aluminium();
        if design.deck.material.is_wood() {
            checker.fault("design.deck.fixing", "is not for wood", "choose screwed or bolted");
        } else if aluminium != (frame == Metal::Aluminium) {
            checker.fault("design.deck.fixing", "would join steel to aluminium", "choose screwed or bolted");
        }
    }
}

fn sections(checker: &mut Checker<'_>) {
    let design = &checker.spec.design;
    let loading = &design.loading;
    let mut wide = Vec::new();
    if checker.is_sound(&["design.bed"]) {
        wide.push(("design.frame.side_rail", design.frame.side_rail, design.bed.width, "bed's width"));
        wide.push(("design.frame.end_rail", design.frame.end_rail, design.bed.length, "bed's length"));
    }
    if loading.ramp != RampForm::None && checker.is_sound(&["design.loading.ramp_width"]) {
        wide.push(("design.loading.ramp_stile", loading.ramp_stile, loading.ramp_width, "ramp's width"));
    }
    for (path, section, across, words) in wide {
        // Two of them, and room to weld between them.
        if 2.0 * section.width_mm() + 100.0 > across.mm() {
            let across = checker.mm(across.mm());
            checker.fault(
                path,
                format!("leaves no room between two of them in the {words}, {across}"),
                "choose a narrower section",
            );
        }
    }
}

fn ratings(checker: &mut Checker<'_>) {
    let (towing, need) = (&checker.spec.design.towing, &checker.spec.need);
    if let (Some(coupling), Some(gross)) = (towing.coupling_rating, need.declared_gross)
        && coupling < gross
    {
        let gross = checker.kg(gross);
        checker.fault(
            "design.towing.coupling_rating",
            format!("is less than the declared gross mass, {gross}"),
            format!("type at least {gross}, or leave it empty"),
        );
    }
    if let (true, Some(jockey), Some(coupling)) = (towing.jockey_wheel, towing.jockey_rating, towing.coupling_rating)
        && jockey > coupling
    {
        let coupling = checker.kg(coupling);
        checker.fault(
            "design.towing.jockey_rating",
            format!("is more than the rating of the coupling, {coupling}"),
            "type what it carries standing: 1.5 times the load on the coupling is usual",
        );
    }
    let donor = &checker.spec.design.running_gear.donor;
    if let (Suspension::FromVehicle, Some(closed), Some(open)) =
        (checker.spec.design.running_gear.suspension, donor.damper_closed, donor.damper_open)
        && open <= closed
    {
        let closed = checker.mm(closed.mm());
        checker.fault(
            "design.running_gear.donor.damper_open",
            format!("is not longer than closed, {closed}"),
            "measure it pushed in and pulled out",
        );
    }
}

fn wheels(checker: &mut Checker<'_>) {
    let gear = &checker.spec.design.running_gear;
    let wheel = &gear.wheel;
    if !wheel.speed_symbol.is_empty() && speed_symbol_km_h(&wheel.speed_symbol).is_none() {
        checker.fault(
            "design.running_gear.wheel.speed_symbol",
            "is not a speed symbol",
            format!("type one of: {}", speed_symbols()),
        );
    }
    if !checker.is_sound(&["design.running_gear"]) {
        return;
    }
    let rim = wheel.rim_inches * 25.4 / 2.0;
    if wheel.rolling_radius.mm() <= rim {
        let rim = checker.mm(rim);
        checker.fault(
            "design.running_gear.wheel.rolling_radius",
            format!("is not more than the radius of the rim, {rim}"),
            "measure from the axle's middle to the ground",
        );
    }
    let least = 2.0 * wheel.rolling_radius.mm() + BETWEEN_TYRES_MM;
    if gear.axles >= 2 && gear.spacing.mm() < least {
        let least = checker.mm(least);
        checker.fault(
            "design.running_gear.spacing",
            "lets the tyres of the pair touch",
            format!("type at least {least} with this tyre"),
        );
    }
}

fn axle_place(checker: &mut Checker<'_>) {
    let (gear, bed) = (&checker.spec.design.running_gear, &checker.spec.design.bed);
    if !checker.is_sound(&["design.bed.length", "design.running_gear"]) {
        return;
    }
    let length = bed.length.mm();
    let [first, last] = axle_range_mm(&checker.spec.design);
    if first > last {
        let least = checker.mm(length + first - last);
        checker.fault(
            "design.bed.length",
            "is too short for the mounts of axles and springs",
            format!("type at least {least}, or choose another suspension or a smaller spacing"),
        );
        return;
    }
    let (path, behind) = match gear.place_by {
        AxlePlaceBy::Find => return,
        AxlePlaceBy::Share => ("design.running_gear.share", gear.share * length),
        AxlePlaceBy::Distance => ("design.running_gear.distance", gear.distance.mm()),
    };
    let half = if gear.axles >= 2 { gear.spacing.mm() / 2.0 } else { 0.0 };
    if behind - half < 0.0 || behind + half > length {
        let what =
            if half > 0.0 { "puts an axle of the pair outside the bed" } else { "puts the axle outside the bed" };
        let range = format!("{} to {}", checker.mm(half), checker.mm(length - half));
        checker.fault(path, what, format!("place the middle {range} behind the bed's front edge"));
    } else if behind < first - 0.05 || behind > last + 0.05 {
        let range = format!("{} to {}", checker.mm(first), checker.mm(last));
        let right = format!("place the middle {range} behind the bed's front edge");
        checker.fault(path, "puts a mount of the suspension outside the bed", right);
    }
}

fn ramp(checker: &mut Checker<'_>) {
    let (loading, bed) = (&checker.spec.design.loading, &checker.spec.design.bed);
    if loading.ramp == RampForm::None || !checker.is_sound(&["design.bed", "design.loading"]) {
        return;
    }
    let width = checker.mm(bed.width.mm());
    if loading.ramp_width > bed.width {
        checker.fault(
            "design.loading.ramp_width",
            format!("is wider than the bed, {width}"),
            format!("type at most {width}"),
        );
    } else if loading.ramp == RampForm::Loose
        && f64::from(loading.docking_places) * loading.ramp_width.mm() > bed.width.mm()
    {
        let most = (bed.width.mm() / loading.ramp_width.mm().max(1.0)).floor();
        checker.fault(
            "design.loading.docking_places",
            format!("need more than the bed's width, {width}"),
            format!("type at most {most} for a ramp of this width"),
        );
    }
    let most = bed.length.mm() - STOWAGE_EXTRA_MM;
    if loading.ramp == RampForm::Loose && loading.ramp_length.mm() > most {
        let most = checker.mm(most);
        checker.fault(
            "design.loading.ramp_length",
            "is longer than its stowage under the bed",
            format!("type at most {most}, or make it hinged"),
        );
    }
}

/// What stands in the way of a loose ramp under the bed. Where the axle's place is still to be found, this is left to the estimate.
fn stowage(checker: &mut Checker<'_>, layout: &Layout) {
    let loading = &checker.spec.design.loading;
    let Some(stowage) = layout.ramp_stowage else { return };
    let most = stowage.free_length_mm - STOWAGE_EXTRA_MM;
    let found = checker.spec.design.running_gear.place_by == AxlePlaceBy::Find;
    if !found && checker.is_sound(&["design.loading"]) && loading.ramp_length.mm() > most + 0.05 {
        let most = checker.mm(most.max(0.0));
        checker.fault(
            "design.loading.ramp_length",
            "is longer than what axle and drawbar leave free under the bed",
            format!("type at most {most}, make it hinged, or raise the bed"),
        );
    }
}

/// Tyres and axle against the frame, with the suspension on its stop.
fn clearance(checker: &mut Checker<'_>, layout: &Layout) {
    let design = &checker.spec.design;
    let gear = &design.running_gear;
    let (bed, tyre) = (layout.bed_width_mm, layout.tyre_width_mm);
    if gear.track.is_some() {
        let inner = (layout.track_mm - tyre) / 2.0;
        let outer = (layout.track_mm + tyre) / 2.0;
        match design.bed.place {
            BedPlace::Between if inner < bed / 2.0 + LEAST_SIDE_CLEARANCE_MM => {
                let least = checker.mm(bed + tyre + 2.0 * LEAST_SIDE_CLEARANCE_MM);
                checker.fault(
                    "design.running_gear.track",
                    "lets the tyres rub the bed frame",
                    format!("type at least {least}, or leave it empty"),
                );
            }
            BedPlace::Over if !layout.wheel_boxes.is_empty() => {
                let room = bed / 2.0 - design.frame.side_rail.width_mm() - LEAST_SIDE_CLEARANCE_MM;
                if outer > room {
                    let most = checker.mm(2.0 * room - tyre);
                    checker.fault(
                        "design.running_gear.track",
                        "lets the tyres meet the side rails at full bump",
                        format!("type at most {most}, leave it empty, or raise the bed"),
                    );
                }
            }
            _ => {}
        }
    }
    if let Some(height) = design.bed.height {
        let (least, what) = match gear.suspension {
            Suspension::RubberTorsion => (HALF_AXLE_MM, "lets the frame come down on the axle's tube"),
            _ => (
                HALF_AXLE_MM + gear.bump_travel.mm(),
                "lets the axle meet the frame before the suspension is on its stop",
            ),
        };
        if layout.mount_height_mm < least {
            let least = checker.mm(height.mm() + least - layout.mount_height_mm);
            checker.fault("design.bed.height", what, format!("type at least {least}, or leave it empty"));
        }
    }
    if layout.tyres_meet_rails && checker.is_sound(&["design.running_gear.track", "design.bed.height"]) {
        checker.fault(
            "design.bed.height",
            "lets a tyre meet the frame before the suspension is on its stop",
            "raise the bed, leave its height empty, choose smaller wheels or less travel, or change the track",
        );
    }
    // Over the wheels without boxes: the deck itself must clear the tyres.
    let deck_under = layout.frame_top_z_mm;
    if design.bed.place == BedPlace::Over
        && !layout.wheel_boxes.is_empty()
        && layout.track_mm - tyre < 2.0 * TYRE_TOP_CLEARANCE_MM
        && layout.tyre_top_at_bump_z_mm > deck_under
    {
        checker.fault(
            "design.bed.width",
            "leaves no room between two wheel boxes",
            "make the bed wider or higher, or put it between the wheels",
        );
    }
}

fn drawbar(checker: &mut Checker<'_>, layout: &Layout) {
    let drawbar = &checker.spec.design.drawbar;
    let bed = checker.spec.design.bed.length;
    if drawbar.end_station.is_some_and(|station| station > bed) {
        let bed = checker.mm(bed.mm());
        checker.fault("design.drawbar.end_station", "is behind the bed's rear edge", format!("type at most {bed}"));
    }
    let rise = layout.drawbar.coupling_rise_mm;
    if rise.abs() > LARGEST_COUPLING_RISE_MM {
        let middle = layout.drawbar.z_mm;
        let range = format!(
            "{} to {}",
            checker.mm((middle - LARGEST_COUPLING_RISE_MM).max(0.0)),
            checker.mm(middle + LARGEST_COUPLING_RISE_MM)
        );
        let side = if rise > 0.0 { "above" } else { "below" };
        checker.fault(
            "design.drawbar.coupling_height",
            format!(
                "is {} {side} the middle of the drawbar, more than the coupling's plate bridges",
                checker.mm(rise.abs())
            ),
            format!("type {range}, change the bed's height, or let the drawbar lie differently against the frame"),
        );
    }
    match drawbar.form {
        DrawbarForm::AFrame => legs(checker, layout),
        DrawbarForm::Pole if drawbar.telescopic => telescope(checker, layout, drawbar),
        DrawbarForm::Pole => {}
    }
}

fn legs(checker: &mut Checker<'_>, layout: &Layout) {
    let design = &checker.spec.design;
    let place = &layout.drawbar;
    let tan = place.half_angle_deg.to_radians().tan().max(1e-3);
    let rail_y = (layout.bed_width_mm - design.frame.side_rail.width_mm()) / 2.0;
    let meets_x = NOSE_MM + (rail_y - place.nose_y_mm) / tan;
    if place.legs_miss_bed {
        let behind = if design.frame.stack == Stack::Stacked { design.frame.end_rail.width_mm() } else { 0.0 };
        let most = checker.mm((meets_x - behind).max(0.0));
        checker.fault(
            "design.drawbar.included_angle_deg",
            "spreads the legs as wide as the side rails before they reach the bed",
            format!("choose a smaller angle, or a drawbar of at most {most} at this one"),
        );
    } else if design.drawbar.end_station.is_none() && meets_x > layout.bed_rear_x_mm {
        checker.fault(
            "design.drawbar.included_angle_deg",
            "is so narrow that the legs do not reach the side rails",
            "choose a larger angle or a longer drawbar, or say where the legs end",
        );
    }
}

fn telescope(checker: &mut Checker<'_>, layout: &Layout, drawbar: &Drawbar) {
    if !drawbar.section.kind().is_hollow() {
        checker.fault("design.drawbar.section", "takes no tube inside", "choose a hollow section, or no telescope");
        return;
    }
    let Some(telescope) = &layout.drawbar.telescope else { return };
    let [depth, width] = telescope.clearance_mm;
    let (least, most) = (depth.min(width), depth.max(width));
    let outer = drawbar.section;
    let inside = format!(
        "{} × {}",
        checker.mm(outer.depth_mm() - 2.0 * outer.wall_mm()),
        checker.mm(outer.width_mm() - 2.0 * outer.wall_mm())
    );
    let right =
        format!("choose a tube that goes into {inside} with its weld seam, with at most 5 mm of play on each side");
    if least < 0.0 {
        checker.fault("design.drawbar.inner_section", "does not go into the drawbar's tube", right);
    } else if most > MOST_PLAY_MM {
        checker.fault("design.drawbar.inner_section", format!("has {} of play on each side", checker.mm(most)), right);
    }
    if drawbar.pin_pitch > drawbar.travel {
        let travel = checker.mm(drawbar.travel.mm());
        checker.fault(
            "design.drawbar.pin_pitch",
            format!("is more than the travel, {travel}"),
            format!("type at most {travel}"),
        );
    }
    if 2.0 * drawbar.pin_diameter.mm() > drawbar.inner_section.width_mm() {
        let most = checker.mm(drawbar.inner_section.width_mm() / 2.0);
        checker.fault(
            "design.drawbar.pin_diameter",
            "takes more than half of the inner tube's width away",
            format!("type at most {most}"),
        );
    }
    let beyond = telescope.inner_to_x_mm - layout.drawbar.end_x_mm;
    if beyond > 0.0 {
        let most = (drawbar.travel.mm() - beyond).max(0.0);
        let right = if most < 50.0 {
            "lengthen the drawbar, or let it run to the rear end rail".to_owned()
        } else {
            format!("type at most {}, lengthen the drawbar, or let it run to the rear end rail", checker.mm(most))
        };
        checker.fault("design.drawbar.travel", "leaves too little overlap in the drawbar's tube", right);
    }
}

/// The whole trailer against the narrowest towing vehicle, where that was asked for.
fn width(checker: &mut Checker<'_>, layout: &Layout) {
    if !checker.spec.design.bed.within_vehicle_width {
        return;
    }
    let widths = checker.spec.need.towing_vehicles.iter().filter_map(|vehicle| vehicle.body_width);
    let Some(narrowest) = widths.min() else {
        checker.fault(
            "design.bed.within_vehicle_width",
            "cannot be kept: no towing vehicle's body width is known",
            "enter the width of the towing vehicle's body",
        );
        return;
    };
    let over = layout.overall_width_mm - narrowest.mm();
    if over >= 0.0 {
        let wrong = format!(
            "makes the trailer {} wide, not narrower than the towing vehicle, {}",
            checker.mm(layout.overall_width_mm),
            checker.mm(narrowest.mm())
        );
        let most = layout.bed_width_mm - over - 1.0;
        let right = if most >= 500.0 {
            format!("type at most {}, or put the bed over the wheels", checker.mm(most))
        } else {
            "put the bed over the wheels".to_owned()
        };
        checker.fault("design.bed.width", wrong, right);
    }
}
