//! Random specs across every form. Numbers are drawn from a list that shrinks towards zero, which picks the first choice
//! and the smallest figure everywhere: a failing law shrinks towards a plain small trailer.

use hitchwright::domain::{
    measure::{Length, Mass},
    shop::{RateBook, ShopBook},
    steel::{Metal, SheetMaterial},
    trailer::{
        Assumed, AxlePlaceBy, BedPlace, Brakes, Connector, Corner, DeckFixing, DrawbarForm, FinishSystem, FrontForm,
        Load, Mudguards, PoleReach, RampForm, SideForm, SparePlace, Spec, Stack, Suspension, TowingVehicle,
    },
};
use proptest::prelude::*;

struct Draw<'a>(std::slice::Iter<'a, u32>);

impl Draw<'_> {
    fn number(&mut self) -> u32 {
        self.0.next().copied().unwrap_or(0)
    }

    fn of<T: Clone>(&mut self, choices: &[T]) -> T {
        choices[self.number() as usize % choices.len()].clone()
    }

    fn yes(&mut self) -> bool {
        self.number() % 2 == 1
    }

    /// A whole number of steps from `from` to `to`.
    fn mm(&mut self, from: u32, to: u32, step: u32) -> Length {
        Length::from_mm(f64::from(from + self.number() % ((to - from) / step + 1) * step))
    }

    fn maybe(&mut self, from: u32, to: u32, step: u32) -> Option<Length> {
        let length = self.mm(from, to, step);
        self.yes().then_some(length)
    }

    fn section<T: std::str::FromStr>(&mut self, choices: &[&str]) -> T
    where
        T::Err: std::fmt::Debug,
    {
        self.of(choices).parse().unwrap()
    }
}

/// Specs that a person could have typed: most can be built, some are to be refused.
pub fn any_spec() -> impl Strategy<Value = Spec> {
    prop::collection::vec(any::<u32>(), 110).prop_map(|numbers| spec(&mut Draw(numbers.iter())))
}

/// An empty rate book: geometry does not depend on prices.
pub fn no_rates() -> ShopBook {
    let rates = RateBook { day: "2026-01-01".parse().unwrap(), items: Vec::new() };
    ShopBook { rates, ..ShopBook::demo() }
}

/// A first guess, as the estimate starts from.
pub fn guess(spec: &Spec) -> Assumed {
    let bed = &spec.design.bed;
    let axle_x_mm = spec.design.drawbar.length.mm() + 0.6 * bed.length.mm();
    Assumed::guess(750.0, 75.0, axle_x_mm, spec.design.running_gear.axles)
}

const RAILS: &[&str] =
    &["rhs 60x40x3", "rhs 80x40x3", "shs 50x50x3", "rhs 100x50x4", "channel 80x40x4", "angle 60x60x6", "upn 80"];

fn spec(draw: &mut Draw) -> Spec {
    let mut spec = Spec::default();
    let design = &mut spec.design;

    let bed = &mut design.bed;
    bed.length = draw.mm(1000, 5000, 10);
    bed.width = draw.mm(900, 2000, 10);
    bed.place = draw.of(BedPlace::ALL);
    bed.height = draw.maybe(380, 900, 10);

    let frame = &mut design.frame;
    frame.side_rail = draw.section(RAILS);
    frame.end_rail = if draw.yes() { draw.section(RAILS) } else { frame.side_rail };
    frame.cross_member = draw.section(&["shs 40x40x3", "rhs 60x40x3", "rhs 50x30x2.5", "angle 50x50x5"]);
    frame.grade = draw.section(&["S235", "S355", "6082-T6"]);
    frame.corner = draw.of(Corner::ALL);
    frame.largest_pitch = draw.maybe(250, 600, 10);
    frame.stack = draw.of(Stack::ALL);

    let drawbar = &mut design.drawbar;
    drawbar.form = draw.of(DrawbarForm::ALL);
    drawbar.section = draw.section(&["shs 60x60x4", "rhs 80x40x4", "rhs 100x50x4", "shs 70x70x3"]);
    drawbar.grade = frame.grade;
    drawbar.length = draw.mm(900, 2000, 10);
    drawbar.reach = draw.of(PoleReach::ALL);
    drawbar.end_station = draw.maybe(200, 1500, 10);
    drawbar.included_angle_deg = f64::from(40 + draw.number() % 12);
    drawbar.telescopic = drawbar.form == DrawbarForm::Pole && draw.yes();
    drawbar.travel = draw.mm(50, 400, 50);
    drawbar.pin_pitch = draw.of(&[50.0, 40.0, 75.0]).into();
    drawbar.inner_section = draw.section(&["shs 50x50x3", "shs 60x60x4"]);
    drawbar.coupling_height = draw.mm(350, 500, 10);

    let gear = &mut design.running_gear;
    gear.axles = 1 + draw.number() % 2;
    gear.spacing = draw.mm(650, 900, 10);
    gear.equalised = draw.yes();
    gear.suspension = draw.of(Suspension::ALL);
    gear.bump_travel = draw.mm(40, 100, 10);
    gear.wheel.rolling_radius = draw.mm(200, 320, 4);
    gear.wheel.section_width = draw.mm(125, 205, 10);
    gear.track = (draw.number() % 8 == 7).then(|| draw.mm(1000, 2200, 10));
    gear.brakes = draw.of(Brakes::ALL);
    gear.place_by = draw.of(AxlePlaceBy::ALL);
    gear.share = 0.5 + f64::from(draw.number() % 20) / 100.0;
    gear.distance = draw.mm(500, (bed.length.mm() as u32 - 450).max(510), 10);
    gear.donor.spring_seats = draw.maybe(800, 1300, 10);
    gear.donor.link_mounts = draw.maybe(700, 1200, 10);
    gear.donor.link_length = draw.maybe(300, 500, 10);

    let deck = &mut design.deck;
    deck.material = draw.of(SheetMaterial::ALL);
    deck.thickness =
        if deck.material.is_wood() { draw.of(&[15.0, 12.0, 18.0, 21.0]) } else { draw.of(&[3.0, 2.0, 4.0]) }.into();
    deck.fixing = if deck.material.is_wood() { DeckFixing::Screwed } else { draw.of(DeckFixing::ALL) };
    let aluminium = frame.grade.metal() == Metal::Aluminium;
    if deck.fixing == DeckFixing::Welded && deck.material.is_aluminium() != aluminium {
        deck.fixing = DeckFixing::Bolted;
    }
    deck.fixing_pitch = draw.mm(150, 400, 50);

    let sides = &mut design.sides;
    sides.form = draw.of(SideForm::ALL);
    sides.height = draw.mm(150, 1200, 10);
    sides.post = draw.section(&["shs 30x30x2", "shs 40x40x2", "angle 30x30x3"]);
    sides.top_rail = draw.section(&["shs 30x30x2", "rhs 40x20x2", "angle 30x30x3"]);
    sides.sheet = draw.of(&[SheetMaterial::SheetSteel, SheetMaterial::SheetAluminium, SheetMaterial::ExpandedMetal]);
    sides.front = draw.of(FrontForm::ALL);
    sides.front_height = draw.mm(200, 1200, 10);
    sides.drop_tailgate = draw.yes();

    let loading = &mut design.loading;
    loading.ramp = draw.of(RampForm::ALL);
    loading.ramp_length = draw.mm(700, (bed.length.mm() as u32 * 2 / 3).max(720), 10);
    loading.ramp_width = draw.mm(300, 900, 10);
    loading.ramp_sheet =
        draw.of(&[SheetMaterial::TreadAluminium, SheetMaterial::TreadSteel, SheetMaterial::ExpandedMetal]);
    loading.ramp_rung_pitch = draw.mm(200, 400, 10);
    loading.docking_places = 1 + draw.number() % 2;
    loading.ramp_lock = draw.yes();
    loading.prop_stands = draw.number() % 3;
    loading.wheel_chocks = draw.number() % 3;
    loading.lashing_top.count = draw.number() % 9;
    loading.lashing_frame.count = draw.number() % 5;
    loading.winch_post = draw.yes();

    design.electrics.guide_poles = draw.yes();
    design.electrics.connector = draw.of(Connector::ALL);
    design.electrics.reverse_lamps = draw.yes();
    design.electrics.work_lamp = draw.yes();
    let fittings = &mut design.fittings;
    fittings.spare_wheel = draw.of(SparePlace::ALL);
    fittings.mudguards = draw.of(Mudguards::ALL);
    fittings.rear_bumper = draw.yes();
    fittings.tool_boxes = draw.number() % 2;
    design.finish.system = draw.of(FinishSystem::ALL);
    if aluminium && design.finish.system == FinishSystem::Galvanised {
        design.finish.system = FinishSystem::Powder;
    }

    let need = &mut spec.need;
    need.loads.push(Load {
        mass: Mass::from_kg(f64::from(50 + draw.number() % 500)),
        length: Length::from_mm(800.0),
        width: Length::from_mm(600.0),
        ..Load::default()
    });
    if draw.yes() {
        need.towing_vehicles.push(TowingVehicle { name: "pick-up".into(), ..TowingVehicle::default() });
    }
    need.usage.region = draw.of(&["gb", "eu", "us-tx", "au", "nz", "in"]).into();
    spec
}
