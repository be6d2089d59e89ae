//! The operations, from material receiving to handover, in the order of the work.

use std::collections::BTreeSet;

use super::{Operation, Sheet, welding};
use crate::{
    nesting::cutting::Cutting,
    shop::PartClass,
    steel::{Metal, SheetMaterial},
    trailer::{BarDemand, FinishSystem, FitUp, PanelRole, RampForm, Role, Spec, TakeOff, is_sheet},
};

pub(super) fn write(sheet: &mut Sheet<'_>, spec: &Spec, take_off: &TakeOff, cutting: &Cutting) {
    sheet.once("job-pack", "office/job-pack", "job");
    sheet.once("receive", "material/receive", "job");
    sawing(sheet, take_off, cutting);
    holes_and_ends(sheet, take_off);
    plates(sheet, take_off);
    fitting_up(sheet, take_off);
    welds(sheet, take_off);
    finish(sheet, take_off);
    body(sheet, spec, take_off);
    parts(sheet, take_off);
    wiring(sheet, take_off);
    handover(sheet, take_off);
}

impl Sheet<'_> {
    /// Once for the job, however many trailers.
    fn once(&mut self, key: &str, norm: &str, unit: &str) {
        self.simple(key, norm, 1.0, unit);
    }

    /// So many on each trailer.
    fn each(&mut self, key: &str, norm: &str, on_one: f64, unit: &str) {
        self.simple(key, norm, on_one * self.count, unit);
    }
}

/// By section: handle every piece, saw its area, set every angle once a section; trim every new bar.
fn sawing(sheet: &mut Sheet<'_>, take_off: &TakeOff, cutting: &Cutting) {
    for demand in &take_off.bars {
        let pieces = f64::from(demand.parts.iter().map(|part| part.quantity).sum::<u32>()) * sheet.count;
        let rate = match demand.grade.metal() {
            Metal::Steel => sheet.norms.value("saw/rate-steel"),
            Metal::Aluminium => sheet.norms.value("saw/rate-aluminium"),
        };
        let cut_min = welding::over(demand.section.properties().area_mm2 / 100.0, rate);
        let angles = angles(demand);
        let norms = sheet.norms;
        sheet.write(Operation {
            key: &format!("saw/{} {}", demand.section, demand.grade),
            operation: format!("saw {} {}", demand.section, demand.grade),
            quantity: pieces,
            unit: "pieces",
            minutes_each: norms.value("saw/handle") + cut_min,
            set_ups: 1.0,
            set_up_minutes_each: norms.value("saw/set-up") + angles * norms.value("saw/angle-change"),
            norm: "saw/handle",
        });
    }
    sheet.simple("saw-trim", "saw/handle", f64::from(cutting.bars_used()), "bars trimmed");
}

/// Different angles on the pieces of a section, beyond the square cut.
fn angles(demand: &BarDemand) -> f64 {
    let cuts = demand.parts.iter().flat_map(|part| part.cuts);
    let angles: BTreeSet<i64> =
        cuts.map(|cut| (cut.angle_deg * 10.0).round() as i64).filter(|tenths| *tenths != 0).collect();
    angles.len() as f64
}

fn holes_and_ends(sheet: &mut Sheet<'_>, take_off: &TakeOff) {
    sheet.each("deburr", "deburr/end", 2.0 * f64::from(take_off.pieces()), "ends");
    let marked = take_off.holes.small + take_off.holes.large + take_off.holes.vents;
    sheet.each("holes/mark", "hole/mark", f64::from(marked), "holes");
    sheet.each("holes/small", "hole/small", f64::from(take_off.holes.small), "holes");
    sheet.each("holes/large", "hole/large", f64::from(take_off.holes.large), "holes");
    sheet.each("holes/vents", "hole/vent", f64::from(take_off.holes.vents), "holes");
}

fn plates(sheet: &mut Sheet<'_>, take_off: &TakeOff) {
    let (mut plates, mut sheets, mut cut_outs, mut bends) = (0, 0, 0, 0);
    let (mut plate_thicknesses, mut fold_thicknesses) = (0.0, 0.0);
    for demand in &take_off.sheets {
        plate_thicknesses += if demand.parts.iter().any(|part| !is_sheet(part.role)) { 1.0 } else { 0.0 };
        fold_thicknesses += if demand.parts.iter().any(|part| part.bends > 0) { 1.0 } else { 0.0 };
        for part in &demand.parts {
            if is_sheet(part.role) {
                sheets += part.quantity;
            } else {
                plates += part.quantity;
            }
            cut_outs += part.quantity * part.cut_outs;
            bends += part.quantity * part.bends;
        }
    }
    let norms = sheet.norms;
    let title = |key: &str| norms.get(key).map_or_else(String::new, |norm| norm.operation.clone());
    sheet.write(Operation {
        key: "plates",
        operation: title("plate/piece"),
        quantity: f64::from(plates) * sheet.count,
        unit: "plates",
        minutes_each: norms.value("plate/piece"),
        set_ups: plate_thicknesses,
        set_up_minutes_each: norms.value("plate/set-up"),
        norm: "plate/piece",
    });
    sheet.each("sheets", "sheet/cut", f64::from(sheets), "panels");
    sheet.each("cut-outs", "sheet/cut-out", f64::from(cut_outs), "cut-outs");
    sheet.write(Operation {
        key: "bends",
        operation: title("fold/bend"),
        quantity: f64::from(bends) * sheet.count,
        unit: "bends",
        minutes_each: norms.value("fold/bend"),
        set_ups: fold_thicknesses,
        set_up_minutes_each: norms.value("fold/set-up"),
        norm: "fold/bend",
    });
}

/// From the second trailer on, stops and marks stand: fitting goes faster.
fn fitting_up(sheet: &mut Sheet<'_>, take_off: &TakeOff) {
    let saved = sheet.norms.value("joint/series-saving") / 100.0;
    let worth = 1.0 + (sheet.count - 1.0) * (1.0 - saved).clamp(0.0, 1.0);
    for joint in &take_off.joints {
        let (key, norm) = match joint.fit_up {
            FitUp::Square => ("fit-up/square", "joint/square"),
            FitUp::Mitred => ("fit-up/mitred", "joint/mitred"),
            FitUp::Plate => ("fit-up/plate", "joint/plate"),
            FitUp::Aligned => ("fit-up/aligned", "joint/aligned"),
            FitUp::Bolted => ("fit-up/bolted", "joint/bolted"),
        };
        sheet.simple(key, norm, f64::from(joint.count) * worth, "joints");
    }
    sheet.each("square-up", "joint/square-up", 1.0, "frames");
    if has_role(take_off, Role::Inner) {
        sheet.each("telescope", "telescope/fit", 1.0, "drawbars");
    }
}

fn has_role(take_off: &TakeOff, role: Role) -> bool {
    take_off.bars.iter().flat_map(|demand| &demand.parts).any(|part| part.role == role)
}

fn welds(sheet: &mut Sheet<'_>, take_off: &TakeOff) {
    let norms = sheet.norms;
    for weld in &take_off.welds {
        let metre = welding::weld_metre(weld.kind, weld.size_mm, norms);
        sheet.write(Operation {
            key: &format!("weld/{} {}", weld.kind.word(), weld.size_mm),
            operation: format!("weld {} {} mm", weld.kind.label(), weld.size_mm),
            quantity: weld.length_mm / 1000.0 * sheet.count,
            unit: "m",
            minutes_each: welding::over(metre.arc_min, norms.value("weld/operator-factor")),
            set_ups: 0.0,
            set_up_minutes_each: 0.0,
            norm: "weld/operator-factor",
        });
    }
    sheet.each("weld-clean", "weld/clean", take_off.weld_m(), "m");
    let dressed = norms.value("weld/dressed-share") / 100.0;
    sheet.each("weld-dress", "weld/dress", take_off.weld_m() * dressed, "m");
}

fn finish(sheet: &mut Sheet<'_>, take_off: &TakeOff) {
    let norms = sheet.norms;
    let m2 = take_off.finish.outside_m2 * (1.0 + norms.value("paint/edges") / 100.0);
    match take_off.finish.system {
        FinishSystem::None => {}
        FinishSystem::Paint => {
            let coats = f64::from(take_off.finish.coats);
            sheet.each("paint/prepare", "paint/prepare", m2, "m²");
            sheet.each("paint/mask", "paint/mask", m2, "m²");
            sheet.write(Operation {
                key: "paint/coats",
                operation: norms.get("paint/coat").map_or_else(String::new, |norm| norm.operation.clone()),
                quantity: m2 * coats * sheet.count,
                unit: "m² and coat",
                minutes_each: norms.value("paint/coat"),
                set_ups: coats,
                set_up_minutes_each: norms.value("paint/mix"),
                norm: "paint/coat",
            });
        }
        FinishSystem::Powder => sheet.each("powder", "powder/prepare", m2, "m²"),
        FinishSystem::Galvanised => sheet.each("galvanise", "galvanise/fettle", m2, "m²"),
    }
}

fn body(sheet: &mut Sheet<'_>, spec: &Spec, take_off: &TakeOff) {
    let deck = |of: fn(SheetMaterial) -> bool| {
        take_off.area_m2(|demand, part| part.role == PanelRole::Deck && of(demand.material))
    };
    sheet.each("deck/plywood", "deck/plywood", deck(|of| of.is_wood() && of != SheetMaterial::HardwoodBoards), "m²");
    sheet.each("deck/boards", "deck/boards", deck(|of| of == SheetMaterial::HardwoodBoards), "m²");
    sheet.each("deck/metal", "deck/metal", deck(|of| !of.is_wood()), "m²");
    let body = take_off.area_m2(|_, part| {
        matches!(
            part.role,
            PanelRole::Side | PanelRole::Front | PanelRole::Tailgate | PanelRole::RampSheet | PanelRole::WheelBox
        )
    });
    sheet.each("body/sheet", "body/sheet", body, "m²");
    if spec.design.loading.ramp != RampForm::None {
        sheet.each("ramp", "ramp/trial", 1.0, "ramps");
    }
    if spec.design.sides.drop_tailgate {
        sheet.each("tailgate", "tailgate/hang", 1.0, "tailgates");
    }
    let made: u32 = take_off
        .sheets
        .iter()
        .flat_map(|demand| &demand.parts)
        .filter(|part| part.role == PanelRole::Mudguard)
        .map(|part| part.quantity)
        .sum();
    sheet.each("mudguards", "mudguard/made", f64::from(made), "mudguards");
}

/// Each part by its own minutes where the rate book gives them, else by the norm of its class.
fn parts(sheet: &mut Sheet<'_>, take_off: &TakeOff) {
    for demand in &take_off.parts {
        let class = demand.part.need.class;
        let norm = format!("fit/{}", class.word());
        let own = demand.part.item.as_ref().and_then(|item| item.minutes);
        let name = demand.part.item.as_ref().map_or(class.label(), |item| item.name.as_str());
        let minutes_each = own.unwrap_or_else(|| sheet.norms.fitting_minutes(class));
        let metres = matches!(class, PartClass::Cable | PartClass::CableFixings);
        sheet.write(Operation {
            key: &format!("fit/{}", demand.part.need.key),
            operation: format!("fit {name}"),
            quantity: demand.quantity * sheet.count,
            unit: if metres { "m" } else { "pieces" },
            minutes_each,
            set_ups: 0.0,
            set_up_minutes_each: 0.0,
            norm: &norm,
        });
    }
}

fn wiring(sheet: &mut Sheet<'_>, take_off: &TakeOff) {
    let lamps = |class: PartClass| {
        matches!(
            class,
            PartClass::RearLamp
                | PartClass::PlateLamp
                | PartClass::FrontLamp
                | PartClass::SideMarker
                | PartClass::OutlineLamp
                | PartClass::FogLamp
                | PartClass::ReverseLamp
                | PartClass::WorkLamp
        )
    };
    let lamps: f64 =
        take_off.parts.iter().filter(|demand| lamps(demand.part.need.class)).map(|demand| demand.quantity).sum();
    sheet.each("wiring/run", "wire/run", take_off.cable_m, "m");
    sheet.each("wiring/lamps", "wire/lamp", lamps, "lamps");
    if lamps > 0.0 {
        sheet.each("wiring/test", "wire/test", 1.0, "trailers");
    }
}

fn handover(sheet: &mut Sheet<'_>, take_off: &TakeOff) {
    let braked: f64 = take_off
        .parts
        .iter()
        .filter(|demand| demand.part.need.class == PartClass::Brakes)
        .map(|demand| demand.quantity)
        .sum();
    sheet.each("test/brakes", "test/brakes", braked, "braked axles");
    sheet.each("test/inspect", "test/inspect", 1.0, "trailers");
    sheet.each("papers", "office/trailer", 1.0, "trailers");
}
