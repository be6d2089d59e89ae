//! The demo rate book holds what quite different trailers ask for.

use hitchwright::domain::{
    measure::{Length, Mass},
    shop::ShopBook,
    trailer::{
        Assumed, Brakes, CouplingForm, DrawbarForm, RampForm, SideForm, SparePlace, Spec, Suspension,
        fit_out::{fit_out, lamps},
        lay_out,
    },
};

fn assumed(gross_kg: f64, axles: u32) -> Assumed {
    Assumed::guess(gross_kg, gross_kg * 0.1, 2700.0, axles)
}

fn wheel(spec: &mut Spec, size: &str, load_index: u32, speed: &str) {
    let wheel = &mut spec.design.running_gear.wheel;
    wheel.size = size.into();
    wheel.load_index = load_index;
    wheel.speed_symbol = speed.into();
}

fn cases() -> Vec<(&'static str, Spec, f64)> {
    let plain = Spec::default();

    let mut small = Spec::default();
    small.design.bed.length = Length::from_mm(1500.0);
    small.design.bed.width = Length::from_mm(1000.0);
    small.design.drawbar.form = DrawbarForm::Pole;
    small.design.running_gear.suspension = Suspension::Leaf;
    wheel(&mut small, "145/80 R13", 75, "T");

    let mut braked = Spec::default();
    braked.design.running_gear.brakes = Brakes::OverRun;
    braked.design.towing.breakaway = true;
    braked.design.towing.chains = hitchwright::domain::trailer::ChainPurpose::None;
    wheel(&mut braked, "165 R13 C", 94, "R");

    let mut pair = braked.clone();
    pair.design.bed.length = Length::from_mm(3600.0);
    pair.design.bed.width = Length::from_mm(1800.0);
    pair.design.running_gear.axles = 2;
    pair.design.running_gear.suspension = Suspension::Leaf;
    pair.design.sides.form = SideForm::Sheeted;
    pair.design.sides.drop_tailgate = true;
    pair.design.loading.wheel_chocks = 2;
    pair.design.loading.winch_post = true;
    wheel(&mut pair, "185 R14 C", 102, "Q");

    let mut electric = pair.clone();
    electric.design.running_gear.brakes = Brakes::Electric;
    electric.design.running_gear.suspension = Suspension::RubberTorsion;
    electric.design.towing.coupling = CouplingForm::Eye;

    let mut fitted = Spec::default();
    fitted.design.loading.ramp = RampForm::Hinged;
    fitted.design.loading.prop_stands = 2;
    fitted.design.loading.ramp_lock = true;
    fitted.design.loading.lashing_frame.count = 6;
    fitted.design.loading.lashing_frame.rating = Some(Mass::from_kg(400.0));
    fitted.design.running_gear.suspension = Suspension::CoilLinks;
    fitted.design.fittings.spare_wheel = SparePlace::Drawbar;
    fitted.design.fittings.tool_boxes = 1;
    fitted.design.fittings.fuel_can_holders = 1;
    fitted.design.fittings.rear_tow_eye = true;
    fitted.design.fittings.mud_flaps = true;
    fitted.design.electrics.reverse_lamps = true;
    fitted.design.electrics.work_lamp = true;
    fitted.design.electrics.side_markers = true;
    fitted.design.electrics.connector = hitchwright::domain::trailer::Connector::Thirteen;
    fitted.design.drawbar.telescopic = true;

    let mut loose = fitted.clone();
    loose.design.loading.ramp = RampForm::Loose;
    loose.need.usage.region = "us".into();
    loose.design.towing.coupling = CouplingForm::Ball2;

    let mut southern = fitted.clone();
    southern.need.usage.region = "au".into();

    vec![
        ("plain", plain, 750.0),
        ("small", small, 500.0),
        ("braked", braked, 1300.0),
        ("pair", pair, 3000.0),
        ("electric", electric, 3000.0),
        ("fitted", fitted, 740.0),
        ("loose", loose, 740.0),
        ("southern", southern, 740.0),
    ]
}

#[test]
fn quite_different_trailers_find_all_their_parts() {
    let book = ShopBook::demo();
    let mut missing = Vec::new();
    for (name, spec, gross_kg) in cases() {
        let assumed = assumed(gross_kg, spec.design.running_gear.axles);
        let layout = lay_out(&spec, &assumed);
        let fittings = fit_out(&spec, &layout, &book.rates, &assumed, &lamps(&spec, &layout, assumed.gross_kg));
        assert!(fittings.len() > 10, "{name}");
        for fitting in fittings.iter().filter(|fitting| fitting.part.item.is_none()) {
            missing.push(format!("{name}: {} {:?}", fitting.part.need.key, fitting.part.need.requirements));
        }
    }
    assert!(missing.is_empty(), "{}", missing.join("\n"));
}

#[test]
fn the_default_sections_and_sheets_are_sold_in_several_sizes() {
    let book = ShopBook::demo();
    let design = Spec::default().design;
    let frame = [design.frame.side_rail, design.frame.end_rail, design.frame.cross_member];
    for section in frame.into_iter().chain([design.drawbar.section, design.drawbar.inner_section]) {
        assert!(book.rates.bars(section, design.frame.grade).next().is_some(), "{section}");
    }
    for section in [design.loading.ramp_stile, design.loading.ramp_rung, design.sides.post, design.sides.top_rail] {
        assert!(book.rates.bars(section, design.loading.ramp_grade).next().is_some(), "{section}");
    }
    for (material, thickness) in [
        (design.deck.material, design.deck.thickness),
        (design.loading.ramp_sheet, design.loading.ramp_sheet_thickness),
        (design.sides.sheet, design.sides.sheet_thickness),
    ] {
        assert!(book.rates.sheets(material, thickness).next().is_some(), "{material} {}", thickness.mm());
    }
}
