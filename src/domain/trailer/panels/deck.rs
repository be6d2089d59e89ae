//! The deck: equal sheets with joints on cross-members, notched round the posts and open over the tyres; and the boxes over
//! tyres that come through it.

use crate::trailer::{
    DeckFixing, Grain, Group, JointKind, PanelRole, PartRef, Point, Role, WheelBox,
    assembly::{Assembly, Plate},
    deck_split::DeckSplit,
    members::{loading::patterned, sides::Foot},
    vector::{REARWARD, RIGHT, UP},
};

/// Between the deck's edge and the bed's, and between two sheets (half of it each).
pub const GAP_MM: f64 = 2.0;
/// Round a post.
const NOTCH_GAP_MM: f64 = 3.0;
/// One stitch of a welded deck, at each fixing pitch.
const STITCH_MM: f64 = 25.0;
const BOX_MM: f64 = 2.0;

/// x and y from, x and y to.
type Rect = [f64; 4];

pub fn build(asm: &mut Assembly, split: DeckSplit, feet: &[Foot]) {
    let (layout, deck) = (asm.layout, &asm.design.deck);
    let post = asm.design.sides.post;
    let thickness = deck.thickness.mm();
    let (half_depth, half_width) = (post.depth_mm() / 2.0 + NOTCH_GAP_MM, post.width_mm() / 2.0 + NOTCH_GAP_MM);
    let notches = feet
        .iter()
        .map(|foot| [foot.x_mm - half_depth, foot.y_mm - half_width, foot.x_mm + half_depth, foot.y_mm + half_width]);
    let openings = layout.wheel_boxes.iter().map(|over| [over.from_x_mm, over.from_y_mm, over.to_x_mm, over.to_y_mm]);
    let openings: Vec<Rect> = notches.chain(openings).collect();
    let edges = |from: f64, to: f64, parts: usize| -> Vec<[f64; 2]> {
        let own = (to - from) / parts as f64;
        let gap = |nth: usize| if nth == 0 || nth == parts { GAP_MM } else { GAP_MM / 2.0 };
        let at = |nth: usize| from + own * nth as f64;
        (0..parts).map(|nth| [at(nth) + gap(nth), at(nth + 1) - gap(nth + 1)]).collect()
    };
    let half = layout.bed_width_mm / 2.0;
    for [x0, x1] in edges(layout.bed_front_x_mm, layout.bed_rear_x_mm, split.along) {
        for [y0, y1] in edges(-half, half, split.across) {
            let panel = asm.plate(Plate {
                role: PanelRole::Deck,
                group: Group::Deck,
                material: deck.material,
                thickness_mm: thickness,
                length_mm: x1 - x0,
                width_mm: y1 - y0,
                centre: [(x0 + x1) / 2.0, (y0 + y1) / 2.0, layout.deck_top_z_mm - thickness / 2.0],
                along: REARWARD,
                across: RIGHT,
                grain: match (patterned(deck.material), split.turned) {
                    (false, _) => Grain::Any,
                    (true, false) => Grain::Length,
                    (true, true) => Grain::Width,
                },
            });
            for &[ox0, oy0, ox1, oy1] in &openings {
                let (cx0, cy0) = (ox0.max(x0), oy0.max(y0));
                let (length, width) = (ox1.min(x1) - cx0, oy1.min(y1) - cy0);
                if length > 0.1 && width > 0.1 {
                    asm.panels[panel].cut_outs.push([cx0 - x0, cy0 - y0, length, width]);
                }
            }
            fasten(asm, panel, [x0, y0, x1, y1]);
        }
    }
    for over in &layout.wheel_boxes {
        wheel_box(asm, over);
    }
}

/// To every member of the frame that it lies on.
fn fasten(asm: &mut Assembly, panel: usize, [x0, y0, x1, y1]: Rect) {
    let deck = &asm.design.deck;
    for index in 0..asm.members.len() {
        let member = &asm.members[index];
        let bears = matches!(member.role, Role::SideRail | Role::EndRail | Role::CrossMember | Role::Trimmer);
        if !bears {
            continue;
        }
        let half = member.section.width_mm() / 2.0;
        let lengthways = (member.to[0] - member.from[0]).abs() > (member.to[1] - member.from[1]).abs();
        let grow = |lengthways: bool| if lengthways { (0.0, half) } else { (half, 0.0) };
        let (grow_x, grow_y) = grow(lengthways);
        let low = |axis: usize| member.from[axis].min(member.to[axis]);
        let high = |axis: usize| member.from[axis].max(member.to[axis]);
        let (from_x, to_x) = ((low(0) - grow_x).max(x0), (high(0) + grow_x).min(x1));
        let (from_y, to_y) = ((low(1) - grow_y).max(y0), (high(1) + grow_y).min(y1));
        let (over_x, over_y) = (to_x - from_x, to_y - from_y);
        if over_x < 5.0 || over_y < 5.0 {
            continue;
        }
        let place = [(from_x + to_x) / 2.0, (from_y + to_y) / 2.0, asm.layout.frame_top_z_mm];
        if deck.fixing == DeckFixing::Welded {
            let stitches = (over_x.max(over_y) / deck.fixing_pitch.mm().max(50.0)).ceil() + 1.0;
            asm.weld_plate(panel, PartRef::Member(index), place, stitches * STITCH_MM, false);
        } else {
            asm.fasten(JointKind::Bolted, [PartRef::Panel(panel), PartRef::Member(index)], place);
        }
    }
}

/// Five plates welded to one another, to the trimmer and to the members at its ends.
fn wheel_box(asm: &mut Assembly, over: &WheelBox) {
    let bottom = asm.layout.frame_top_z_mm;
    let height = over.top_z_mm - bottom;
    if height < 10.0 {
        return;
    }
    let (length, width) = (over.to_x_mm - over.from_x_mm, over.to_y_mm - over.from_y_mm);
    let middle = [(over.from_x_mm + over.to_x_mm) / 2.0, (over.from_y_mm + over.to_y_mm) / 2.0, bottom + height / 2.0];
    let material = asm.sheet_like_frame();
    let plate = |asm: &mut Assembly, [length_mm, width_mm]: [f64; 2], centre: Point, along: Point, across: Point| {
        asm.plate(Plate {
            role: PanelRole::WheelBox,
            group: Group::Deck,
            material,
            thickness_mm: BOX_MM,
            length_mm,
            width_mm,
            centre,
            along,
            across,
            grain: Grain::Any,
        })
    };
    let top = plate(asm, [length, width], [middle[0], middle[1], over.top_z_mm], REARWARD, RIGHT);
    for side in [-1.0, 1.0] {
        let y = middle[1] + side * width / 2.0;
        let wall = plate(asm, [length, height], [middle[0], y, middle[2]], REARWARD, UP);
        asm.weld_plate(wall, PartRef::Panel(top), [middle[0], y, over.top_z_mm], length, false);
        if let Some(rail) = asm.beside([middle[0], y, bottom], |role| matches!(role, Role::SideRail | Role::Trimmer)) {
            asm.weld_plate(wall, PartRef::Member(rail), [middle[0], y, bottom], length / 2.0, false);
        }
        let x = middle[0] + side * length / 2.0;
        let end = plate(asm, [width, height], [x, middle[1], middle[2]], RIGHT, UP);
        asm.weld_plate(end, PartRef::Panel(top), [x, middle[1], over.top_z_mm], width, false);
        if let Some(member) = asm.beside([x, middle[1], bottom], |role| role == Role::CrossMember) {
            asm.weld_plate(end, PartRef::Member(member), [x, middle[1], bottom], width / 2.0, false);
        }
    }
}
