//! What is bought for deck, sides, ramp and load, plates, and free fittings.

use super::{Asked, Shopping, need};
use crate::{
    road::PartKind,
    shop::{Attributes, PartClass, PartItem},
    steel::{Grade, Metal, SheetMaterial, sheet_mass_kg_per_m2},
    trailer::{DeckFixing, FrontForm, Group, Loading, Point, RampForm, SideForm},
};

/// What one person should lift at the free end of a ramp, kg. Common practice, no source.
const LIFT_KG: f64 = 25.0;
/// Hinges carry this many times their gate. Common practice, no source.
const HINGE_FACTOR: f64 = 3.0;
/// Share of a load's weight that must be held against braking: EN 12195-1, forward 0.8 g, by two of the points.
const LASHING_SHARE: f64 = 0.8 / 2.0;
/// Rolling resistance when winching over a ramp, share of the weight. Common practice, no source.
const ROLLING: f64 = 0.1;

/// Between blind rivets along an edge or a bar, mm. Common practice, no source.
const RIVET_PITCH_MM: f64 = 150.0;

pub fn buy(shopping: &mut Shopping<'_>, asked: &Asked) {
    deck(shopping);
    riveted_sheets(shopping);
    ramp(shopping);
    tailgate(shopping);
    lashing(shopping);
    stands_and_winch(shopping);
    plates_and_boxes(shopping, asked);
    free(shopping);
}

fn middle_of_deck(shopping: &Shopping<'_>) -> Point {
    let layout = shopping.layout;
    [(layout.bed_front_x_mm + layout.bed_rear_x_mm) / 2.0, 0.0, layout.deck_top_z_mm]
}

/// Along the bed's edge and along every cross-member at the pitch asked for.
fn deck(shopping: &mut Shopping<'_>) {
    let (design, layout) = (&shopping.spec.design, shopping.layout);
    let (length, width) = (layout.bed_rear_x_mm - layout.bed_front_x_mm, layout.bed_width_mm);
    let pitch = design.deck.fixing_pitch.mm().max(10.0);
    let along = |run: f64| (run.max(0.0) / pitch).ceil();
    let count =
        2.0 * (along(length) + along(width)) + layout.cross_member_x_mm.len() as f64 * (along(width) - 1.0).max(0.0);
    let thickness = design.deck.thickness.mm();
    let place = middle_of_deck(shopping);
    let fixing = match design.deck.fixing {
        DeckFixing::Welded => return,
        DeckFixing::Screwed => need("deck-fixing", PartClass::DeckScrew).at_least(
            "length_mm",
            thickness + design.frame.cross_member.wall_mm() + 5.0,
            "deck, wall and three turns of thread",
        ),
        DeckFixing::Bolted => need("deck-fixing", PartClass::BoltSet).is("diameter_mm", 8.0, "deck").at_least(
            "length_mm",
            thickness + design.frame.cross_member.depth_mm() + 15.0,
            "deck and cross-member, with nut and washers",
        ),
    };
    shopping.buy(fixing.count(count), Group::Deck, vec![place]);
}

/// Sheet that cannot be welded to the bars under it, because it is wood or another metal, is riveted along them.
fn riveted_sheets(shopping: &mut Shopping<'_>) {
    let (design, layout) = (&shopping.spec.design, shopping.layout);
    let along = |run: f64| (run.max(0.0) / RIVET_PITCH_MM).ceil();
    let loading = &design.loading;
    if loading.ramp != RampForm::None && unlike(loading.ramp_sheet, loading.ramp_grade) {
        let (length, width) = (loading.ramp_length.mm(), loading.ramp_width.mm());
        let rungs = (length / loading.ramp_rung_pitch.mm().max(50.0)).ceil() + 1.0;
        let wall = loading.ramp_stile.wall_mm().max(loading.ramp_rung.wall_mm());
        let rivets = rivet("ramp-rivets", loading.ramp_sheet_thickness.mm() + wall, "ramp sheet and tube wall");
        let place = [layout.bed_rear_x_mm, 0.0, layout.frame_bottom_z_mm];
        let count = 2.0 * along(length) + rungs * (along(width) - 1.0).max(0.0);
        shopping.buy(rivets.count(count), Group::Loading, vec![place]);
    }
    let sides = &design.sides;
    let sheeted = matches!(sides.form, SideForm::Sheeted | SideForm::Mesh);
    if (sheeted || sides.front != FrontForm::None) && unlike(sides.sheet, design.frame.grade) {
        let (length, width) = (layout.bed_rear_x_mm - layout.bed_front_x_mm, layout.bed_width_mm);
        // Along its lower and upper edge, and up each post.
        let panel = |run: f64, height: f64| 2.0 * along(run) + ((run / POST_MM).ceil() + 1.0) * along(height);
        let mut count = 0.0;
        if sheeted {
            count += 2.0 * panel(length, sides.height.mm());
            count += if sides.drop_tailgate { panel(width, sides.height.mm()) } else { 0.0 };
        }
        if sides.front != FrontForm::None {
            count += panel(width, sides.front_height.mm());
        }
        let wall = sides.post.wall_mm().max(sides.top_rail.wall_mm());
        let rivets = rivet("side-rivets", sides.sheet_thickness.mm() + wall, "side sheet and tube wall");
        let place = [(layout.bed_front_x_mm + layout.bed_rear_x_mm) / 2.0, 0.0, layout.deck_top_z_mm];
        shopping.buy(rivets.count(count), Group::Sides, vec![place]);
    }
}

/// Whether a sheet and the bars under it cannot be welded together.
fn unlike(sheet: SheetMaterial, grade: Grade) -> bool {
    sheet.is_wood() || sheet.is_aluminium() != (grade.metal() == Metal::Aluminium)
}

fn rivet(key: &str, grip_mm: f64, because: &str) -> super::shopping::Need {
    need(key, PartClass::Rivet).at_least("grip_mm", grip_mm, because)
}

/// Posts stand at most this far apart.
const POST_MM: f64 = 800.0;

/// Mass of the ramp from its stiles, rungs and sheet, kg.
fn ramp_kg(loading: &Loading) -> f64 {
    let density = loading.ramp_grade.density_kg_per_m3();
    let (length, width) = (loading.ramp_length.mm() / 1000.0, loading.ramp_width.mm() / 1000.0);
    let rungs = (length * 1000.0 / loading.ramp_rung_pitch.mm().max(50.0)).ceil() + 1.0;
    2.0 * length * loading.ramp_stile.mass_kg_per_m(density)
        + rungs * width * loading.ramp_rung.mass_kg_per_m(density)
        + length * width * sheet_mass_kg_per_m2(loading.ramp_sheet, loading.ramp_sheet_thickness)
}

fn hinge_count(width_mm: f64) -> usize {
    if width_mm > 1500.0 { 3 } else { 2 }
}

/// Spread evenly over a width, at one x and z.
fn across(x: f64, z: f64, width_mm: f64, count: usize) -> Vec<Point> {
    let step = |at: usize| if count < 2 { 0.0 } else { (at as f64 / (count - 1) as f64 - 0.5) * width_mm };
    (0..count).map(|at| [x, step(at), z]).collect()
}

fn ramp(shopping: &mut Shopping<'_>) {
    let (loading, layout) = (&shopping.spec.design.loading, shopping.layout);
    if loading.ramp == RampForm::None {
        return;
    }
    let (mass, width, rear) = (ramp_kg(loading), loading.ramp_width.mm(), layout.bed_rear_x_mm);
    let because = format!("ramp of {mass:.0} kg");
    let latch = need("ramp-latch", PartClass::RampLatch).at_least("rating_kg", mass, &because);
    let z = if loading.ramp == RampForm::Hinged { layout.deck_top_z_mm + 300.0 } else { layout.frame_bottom_z_mm };
    shopping.buy_at(latch, Group::Loading, across(rear, z, width, 2));
    if loading.ramp_lock {
        shopping.buy_at(need("ramp-lock", PartClass::Lock), Group::Loading, vec![[rear, 0.0, z]]);
    }
    if loading.ramp != RampForm::Hinged {
        return;
    }
    let count = hinge_count(width);
    let each = HINGE_FACTOR * mass / count as f64;
    let hinge = need("ramp-hinge", PartClass::Hinge).at_least("rating_kg", each, &format!("three times a {because}"));
    shopping.buy_at(hinge, Group::Loading, across(rear, layout.frame_top_z_mm, 0.9 * width, count));
    // Held at its free end a ramp weighs half; springs take what is beyond one person.
    let beyond = mass / 2.0 - LIFT_KG;
    if beyond > 0.0 {
        let moment = beyond * 9.81 * loading.ramp_length.mm() / 1000.0 / 2.0;
        let spring = need("lift-spring", PartClass::LiftSpring).at_least(
            "moment_nm",
            moment,
            &format!("{because} with {LIFT_KG:.0} kg left at its free end, two springs"),
        );
        shopping.buy_at(spring, Group::Loading, across(rear, layout.frame_top_z_mm, width, 2));
    }
}

fn tailgate(shopping: &mut Shopping<'_>) {
    let (design, layout) = (&shopping.spec.design, shopping.layout);
    let sides = &design.sides;
    if !sides.drop_tailgate || sides.form == SideForm::None || design.loading.ramp == RampForm::Hinged {
        return;
    }
    let (width, height) = (layout.bed_width_mm / 1000.0, sides.height.mm() / 1000.0);
    let edge = 2.0 * (width + height) * sides.top_rail.mass_kg_per_m(design.frame.grade.density_kg_per_m3());
    let sheet =
        if sides.form == SideForm::Rails { 0.0 } else { sheet_mass_kg_per_m2(sides.sheet, sides.sheet_thickness) };
    let mass = edge + width * height * sheet;
    let count = hinge_count(layout.bed_width_mm);
    let because = format!("three times a tailgate of {mass:.0} kg");
    let hinge =
        need("tailgate-hinge", PartClass::Hinge).at_least("rating_kg", HINGE_FACTOR * mass / count as f64, &because);
    let rear = layout.bed_rear_x_mm;
    shopping.buy_at(hinge, Group::Sides, across(rear, layout.deck_top_z_mm, 0.85 * layout.bed_width_mm, count));
    let z = layout.deck_top_z_mm + sides.height.mm();
    shopping.buy_at(need("tailgate-latch", PartClass::Latch), Group::Sides, across(rear, z, layout.bed_width_mm, 2));
}

/// In pairs from front to rear at this distance from the centre line.
fn in_pairs(shopping: &Shopping<'_>, count: u32, y: f64, z: f64) -> Vec<Point> {
    let layout = shopping.layout;
    let (count, length) = (count.min(100) as usize, layout.bed_rear_x_mm - layout.bed_front_x_mm);
    let rows = count.div_ceil(2).max(1);
    let x = |row: usize| {
        let inset = (0.1 * length).min(300.0);
        let share = if rows < 2 { 0.5 } else { row as f64 / (rows - 1) as f64 };
        layout.bed_front_x_mm + inset + share * (length - 2.0 * inset)
    };
    (0..count).map(|at| [x(at / 2), if at % 2 == 0 { -y } else { y }, z]).collect()
}

fn lashing(shopping: &mut Shopping<'_>) {
    let (loading, layout) = (&shopping.spec.design.loading, shopping.layout);
    let heaviest = shopping.heaviest_load_kg();
    let sets = [
        (&loading.lashing_top, "lashing-deck", "deck", layout.bed_width_mm / 2.0 - 60.0, layout.deck_top_z_mm),
        (
            &loading.lashing_frame,
            "lashing-frame",
            "frame",
            layout.bed_width_mm / 2.0 + 15.0,
            layout.frame_top_z_mm - 20.0,
        ),
    ];
    for (points, key, mounting, y, z) in sets {
        let ring = need(key, PartClass::LashingRing).is("mounting", mounting, "where it is fitted");
        let ring = match points.rating {
            Some(asked) => ring.at_least("rating_kg", asked.kg(), "rating asked for"),
            None => ring.at_least(
                "rating_kg",
                LASHING_SHARE * heaviest,
                &format!("two points hold the heaviest load, {heaviest:.0} kg, at 0.8 g"),
            ),
        };
        let places = in_pairs(shopping, points.count, y.max(0.0), z);
        shopping.buy_at(ring, Group::Loading, places);
    }
}

fn stands_and_winch(shopping: &mut Shopping<'_>) {
    let (loading, layout) = (&shopping.spec.design.loading, shopping.layout);
    let heaviest = shopping.heaviest_load_kg();
    let stands = loading.prop_stands.min(8) as usize;
    if stands > 0 {
        let each = heaviest / stands.min(2) as f64;
        let stand = need("prop-stand", PartClass::PropStand)
            .at_least("rating_kg", each, &format!("heaviest load, {heaviest:.0} kg, over the rear edge"))
            .at_least("reach_mm", layout.frame_bottom_z_mm, "height of the frame");
        let rear =
            across(layout.bed_rear_x_mm - 100.0, layout.frame_bottom_z_mm / 2.0, layout.bed_width_mm - 100.0, stands);
        shopping.buy_at(stand, Group::Loading, rear);
    }
    if loading.winch_post {
        // Up the ramp, or up a slope of one in three where there is none.
        let ramp = loading.ramp_length.mm();
        let slope = if loading.ramp != RampForm::None && ramp > 0.0 { layout.deck_top_z_mm / ramp } else { 1.0 / 3.0 };
        let pull = heaviest * (slope.clamp(0.0, 1.0) + ROLLING);
        let winch = need("winch", PartClass::Winch).at_least(
            "rating_kg",
            pull,
            &format!("heaviest load, {heaviest:.0} kg, up a slope of {:.0} %", slope.clamp(0.0, 1.0) * 100.0),
        );
        shopping.buy_at(winch, Group::Loading, vec![[layout.bed_front_x_mm + 80.0, 0.0, layout.deck_top_z_mm + 550.0]]);
    }
}

fn plates_and_boxes(shopping: &mut Shopping<'_>, asked: &Asked) {
    let (fittings, layout) = (&shopping.spec.design.fittings, shopping.layout);
    let (front, rear) = (layout.bed_front_x_mm, layout.bed_rear_x_mm);
    let drawbar: Point = [0.7 * layout.drawbar_length_mm, 0.0, layout.frame_top_z_mm + 150.0];
    let boxes = vec![drawbar; fittings.tool_boxes.min(20) as usize];
    shopping.buy_at(need("tool-box", PartClass::ToolBox), Group::Fittings, boxes);
    let side: Point = [front - 120.0, layout.bed_width_mm / 2.0 - 200.0, layout.frame_top_z_mm + 150.0];
    let holders = vec![side; fittings.fuel_can_holders.min(20) as usize];
    shopping.buy_at(need("fuel-can-holder", PartClass::FuelCanHolder), Group::Fittings, holders);
    if fittings.rear_tow_eye {
        let gross = shopping.gross_kg();
        let eye = need("tow-eye", PartClass::TowEye).at_least("rating_kg", gross, &format!("gross mass {gross:.0} kg"));
        shopping.buy_at(eye, Group::Fittings, vec![[rear, 0.0, layout.frame_bottom_z_mm]]);
    }
    if fittings.number_plate_holder || asked.of(PartKind::PlateHolder).next().is_some() {
        let holder = need("plate-holder", PartClass::PlateHolder);
        shopping.buy_at(holder, Group::Fittings, vec![[rear, 0.0, layout.frame_bottom_z_mm]]);
    }
    let plate = need("mass-plate", PartClass::MassPlate);
    shopping.buy_at(
        plate,
        Group::Fittings,
        vec![[front + 200.0, -layout.bed_width_mm / 2.0, layout.frame_top_z_mm - 20.0]],
    );
}

/// Free fittings carry their own mass, price and minutes.
fn free(shopping: &mut Shopping<'_>) {
    let (spec, layout) = (shopping.spec, shopping.layout);
    for (at, fitting) in spec.design.fittings.free.iter().enumerate() {
        let place: Point = [
            layout.bed_front_x_mm + fitting.along.mm(),
            fitting.across.mm(),
            layout.deck_top_z_mm + fitting.above.mm(),
        ];
        let places = vec![place; fitting.count.min(1000) as usize];
        let item = PartItem {
            code: format!("free-{}", at + 1),
            name: fitting.name.clone(),
            mass_kg: fitting.mass.kg(),
            price: fitting.price,
            minutes: Some(fitting.minutes),
            attributes: Attributes::new(),
        };
        let need = need(&item.code, PartClass::Free).count(places.len() as f64);
        shopping.bring(need, Some(item), Vec::new(), Group::Fittings, places, false);
    }
}
