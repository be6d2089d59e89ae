//! Posts, top and middle rails, sheets and mesh of the sides and the front, and the drop tailgate.
//!
//! Posts stand on the rails and the deck is notched round them. At a front corner side and front share a post: the taller one's
//! top rail runs over it, the lower one's ends at it.

use super::frame::FrameMembers;
use crate::trailer::{
    Cut, EndCut, FrontForm, Grain, Group, PanelRole, PartRef, Point, RampForm, Role, SideForm,
    assembly::{Assembly, Bar, Plate, closed_end},
    deck_split::split_deck,
    vector::{FORWARD, REARWARD, RIGHT, UP},
};

/// Posts stand no further apart (trade rule of this shop; common practice, no source).
const POST_PITCH_MM: f64 = 800.0;
/// Around a tailgate between its posts and above the deck.
const GATE_GAP_MM: f64 = 5.0;

/// A post's foot in plan, for the deck's notch: its centre and its sides along and across.
#[derive(Clone, Copy, Debug)]
pub struct Foot {
    pub x_mm: f64,
    pub y_mm: f64,
}

struct Heights {
    side: Option<f64>,
    front: Option<f64>,
}

pub fn build(asm: &mut Assembly, frame: &FrameMembers, pole: Option<usize>) -> Vec<Foot> {
    let sides = &asm.design.sides;
    let heights = Heights {
        side: (sides.form != SideForm::None).then(|| sides.height.mm()),
        front: (sides.front != FrontForm::None).then(|| sides.front_height.mm()),
    };
    let mut feet = Vec::new();
    for side in [-1.0, 1.0] {
        side_of(asm, frame, &heights, side, &mut feet);
    }
    if let Some(height) = heights.front {
        front(asm, frame, pole, &heights, height, &mut feet);
    }
    if let Some(height) = heights.side
        && sides.drop_tailgate
        && asm.design.loading.ramp != RampForm::Hinged
    {
        tailgate(asm, height);
    }
    feet
}

fn post(asm: &mut Assembly, x: f64, y: f64, height_mm: f64) -> usize {
    let (sides, layout) = (&asm.design.sides, asm.layout);
    let top = layout.deck_top_z_mm + height_mm - sides.top_rail.depth_mm();
    asm.bar(Bar {
        role: Role::Post,
        group: Group::Sides,
        section: sides.post,
        grade: asm.design.frame.grade,
        from: [x, y, layout.frame_top_z_mm],
        to: [x, y, top],
        depth_axis: if y > 0.0 { REARWARD } else { FORWARD },
        cuts: [EndCut::SQUARE; 2],
    })
}

fn rail(asm: &mut Assembly, role: Role, from: Point, to: Point, cuts: [EndCut; 2]) -> usize {
    asm.bar(Bar {
        role,
        group: Group::Sides,
        section: asm.design.sides.top_rail,
        grade: asm.design.frame.grade,
        from,
        to,
        depth_axis: UP,
        cuts,
    })
}

/// The left side's rails run rearwards, the right side's forwards, so that both turn the same face out.
fn side_rail_between(
    asm: &mut Assembly,
    role: Role,
    side: f64,
    [x0, x1]: [f64; 2],
    y: f64,
    z: f64,
    cuts: [EndCut; 2],
) -> usize {
    if side < 0.0 {
        rail(asm, role, [x0, y, z], [x1, y, z], cuts)
    } else {
        rail(asm, role, [x1, y, z], [x0, y, z], [cuts[1], cuts[0]])
    }
}

const fn front_end(side: f64) -> Cut {
    if side < 0.0 { Cut::From } else { Cut::To }
}

const fn rear_end(side: f64) -> Cut {
    if side < 0.0 { Cut::To } else { Cut::From }
}

fn side_of(asm: &mut Assembly, frame: &FrameMembers, heights: &Heights, side: f64, feet: &mut Vec<Foot>) {
    let (sides, layout) = (&asm.design.sides, asm.layout);
    let (depth, width) = (sides.post.depth_mm(), sides.post.width_mm());
    let y = side * (layout.bed_width_mm - width) / 2.0;
    let on = PartRef::Member(frame.side[usize::from(side > 0.0)]);
    let corner = heights.front.map(|front| heights.side.map_or(front, |own| own.max(front)));
    let (first, last) = (layout.bed_front_x_mm + depth / 2.0, layout.bed_rear_x_mm - depth / 2.0);
    let mut posts = Vec::new();
    let mut stand = |asm: &mut Assembly, x: f64, height: f64| {
        let post = post(asm, x, y, height);
        asm.weld_end(post, Cut::From, on);
        feet.push(Foot { x_mm: x, y_mm: y });
        post
    };
    let Some(height) = heights.side else {
        if let Some(corner) = corner {
            stand(asm, first, corner);
        }
        return;
    };
    let bays = ((last - first) / POST_PITCH_MM).ceil().clamp(1.0, 40.0) as usize;
    for nth in 0..=bays {
        let x = first + (last - first) * nth as f64 / bays as f64;
        let tall = if nth == 0 { corner.unwrap_or(height) } else { height };
        posts.push((stand(asm, x, tall), x));
    }
    let rail_section = sides.top_rail;
    let z = layout.deck_top_z_mm + height - rail_section.depth_mm() / 2.0;
    // Over all posts, or from behind a front that is as tall or taller.
    let behind = heights.front.filter(|front| *front >= height).map(|front| {
        if front > height { layout.bed_front_x_mm + depth } else { first + rail_section.width_mm() / 2.0 }
    });
    let closed = closed_end(rail_section);
    let cuts = [if behind.is_some() { EndCut::SQUARE } else { closed }, closed];
    let ends = [behind.unwrap_or(layout.bed_front_x_mm), layout.bed_rear_x_mm];
    let top = side_rail_between(asm, Role::TopRail, side, ends, y, z, cuts);
    for (nth, &(post, _)) in posts.iter().enumerate() {
        if nth > 0 || behind.is_none() {
            asm.weld_end(post, Cut::To, PartRef::Member(top));
        } else if heights.front.is_some_and(|front| front > height) {
            asm.weld_end(top, front_end(side), PartRef::Member(post));
        }
    }
    if sides.form == SideForm::Rails {
        let z = layout.deck_top_z_mm + height / 2.0;
        for pair in posts.windows(2) {
            let ends = [pair[0].1 + depth / 2.0, pair[1].1 - depth / 2.0];
            if ends[1] - ends[0] < 20.0 || height < 3.0 * rail_section.depth_mm() {
                continue;
            }
            let mid = side_rail_between(asm, Role::MidRail, side, ends, y, z, [EndCut::SQUARE; 2]);
            asm.weld_end(mid, front_end(side), PartRef::Member(pair[0].0));
            asm.weld_end(mid, rear_end(side), PartRef::Member(pair[1].0));
        }
        return;
    }
    let face = y - side * (width + sides.sheet_thickness.mm()) / 2.0;
    let from = if heights.front.is_some() { layout.bed_front_x_mm + depth } else { layout.bed_front_x_mm };
    let posts: Vec<_> = posts.iter().map(|&(post, x)| (post, x)).collect();
    let parts = sheet_parts(asm, layout.bed_rear_x_mm - from, height);
    let length = (layout.bed_rear_x_mm - from) / parts as f64;
    for nth in 0..parts {
        let (x0, x1) = (from + length * nth as f64, from + length * (nth as f64 + 1.0));
        let centre = [(x0 + x1) / 2.0, face, layout.deck_top_z_mm + height / 2.0];
        let sheet = sheet(asm, PanelRole::Side, [length, height], centre, REARWARD);
        for &(post, x) in posts.iter().filter(|(_, x)| *x > x0 - depth && *x < x1 + depth) {
            let place = [x.clamp(x0, x1), face, centre[2]];
            asm.weld_plate(sheet, PartRef::Member(post), place, height / 2.0, false);
        }
    }
}

/// Into how many sheets a run of this length and height is split.
fn sheet_parts(asm: &Assembly, length_mm: f64, height_mm: f64) -> usize {
    let sides = &asm.design.sides;
    split_deck(length_mm, height_mm, &asm.stock(sides.sheet, sides.sheet_thickness.mm()), false).along
}

fn sheet(asm: &mut Assembly, role: PanelRole, [length_mm, width_mm]: [f64; 2], centre: Point, along: Point) -> usize {
    let sides = &asm.design.sides;
    asm.plate(Plate {
        role,
        group: Group::Sides,
        material: sides.sheet,
        thickness_mm: sides.sheet_thickness.mm(),
        length_mm,
        width_mm,
        centre,
        along,
        across: UP,
        grain: Grain::Any,
    })
}

fn front(
    asm: &mut Assembly,
    frame: &FrameMembers,
    pole: Option<usize>,
    heights: &Heights,
    height: f64,
    feet: &mut Vec<Foot>,
) {
    let (sides, layout) = (&asm.design.sides, asm.layout);
    let (depth, width, rail_section) = (sides.post.depth_mm(), sides.post.width_mm(), sides.top_rail);
    let x = layout.bed_front_x_mm + depth / 2.0;
    let edge = layout.bed_width_mm / 2.0;
    let corners: Vec<usize> = (0..asm.members.len())
        .filter(|&index| {
            let member = &asm.members[index];
            member.role == Role::Post && (member.middle()[0] - x).abs() < depth
        })
        .collect();
    // The taller of side and front runs over the corner posts.
    let over = heights.side.is_none_or(|side| height >= side);
    let half = if over { edge } else { edge - width };
    let z = layout.deck_top_z_mm + height - rail_section.depth_mm() / 2.0;
    let cut = if over { closed_end(rail_section) } else { EndCut::SQUARE };
    let top = rail(asm, Role::TopRail, [x, half, z], [x, -half, z], [cut; 2]);
    for &corner in &corners {
        let right = asm.members[corner].middle()[1] > 0.0;
        if over {
            asm.weld_end(corner, Cut::To, PartRef::Member(top));
        } else {
            asm.weld_end(top, if right { Cut::From } else { Cut::To }, PartRef::Member(corner));
        }
    }
    if heights.side == Some(height) {
        let meets: Vec<usize> = (0..top)
            .filter(|&index| {
                let member = &asm.members[index];
                member.role == Role::TopRail && member.middle()[2] == asm.members[top].middle()[2]
            })
            .collect();
        for rail in meets {
            let side = asm.members[rail].middle()[1].signum();
            asm.weld_end(rail, front_end(side), PartRef::Member(top));
        }
    }
    let bays = ((2.0 * edge - width) / POST_PITCH_MM).ceil().clamp(1.0, 20.0) as usize;
    let mut posts = corners;
    for nth in 1..bays {
        let y = (edge - width / 2.0) * (2.0 * nth as f64 / bays as f64 - 1.0);
        let post = post(asm, x, y, height);
        let holds = |&&index: &&usize| {
            let rail = &asm.members[index];
            y > rail.from[1].min(rail.to[1]) && y < rail.from[1].max(rail.to[1])
        };
        if let Some(&on) = frame.front.iter().find(holds).or(pole.as_ref()) {
            asm.weld_end(post, Cut::From, PartRef::Member(on));
        }
        asm.weld_end(post, Cut::To, PartRef::Member(top));
        feet.push(Foot { x_mm: x, y_mm: y });
        posts.push(post);
    }
    let thickness = sides.sheet_thickness.mm();
    let wide = 2.0 * (edge - width);
    let parts = sheet_parts(asm, wide, height);
    for nth in 0..parts {
        let own = wide / parts as f64;
        let (y0, y1) = (-wide / 2.0 + own * nth as f64, -wide / 2.0 + own * (nth as f64 + 1.0));
        let face = layout.bed_front_x_mm + depth + thickness / 2.0;
        let centre = [face, (y0 + y1) / 2.0, layout.deck_top_z_mm + height / 2.0];
        let sheet = sheet(asm, PanelRole::Front, [own, height], centre, RIGHT);
        for &post in &posts {
            let y = asm.members[post].middle()[1];
            if y > y0 - 2.0 * width && y < y1 + 2.0 * width {
                let place = [face, y.clamp(y0, y1), centre[2]];
                asm.weld_plate(sheet, PartRef::Member(post), place, height / 2.0, false);
            }
        }
    }
}

/// A frame of top-rail section between the rear posts, hinged at the deck.
fn tailgate(asm: &mut Assembly, height: f64) {
    let (sides, layout) = (&asm.design.sides, asm.layout);
    let section = sides.top_rail;
    let (depth, width) = (section.depth_mm(), section.width_mm());
    let half = layout.bed_width_mm / 2.0 - sides.post.width_mm() - GATE_GAP_MM;
    let x = layout.bed_rear_x_mm - sides.post.depth_mm() / 2.0;
    let (bottom, top) = (layout.deck_top_z_mm + GATE_GAP_MM, layout.deck_top_z_mm + height);
    if top - bottom < 3.0 * depth {
        return;
    }
    let closed = [closed_end(section); 2];
    let rails = [bottom + depth / 2.0, top - depth / 2.0]
        .map(|z| rail(asm, Role::TopRail, [x, -half, z], [x, half, z], closed));
    for side in [-1.0, 1.0] {
        let y = side * (half - width / 2.0);
        let upright = asm.bar(Bar {
            role: Role::Post,
            group: Group::Sides,
            section,
            grade: asm.design.frame.grade,
            from: [x, y, bottom + depth],
            to: [x, y, top - depth],
            depth_axis: if side > 0.0 { REARWARD } else { FORWARD },
            cuts: [EndCut::SQUARE; 2],
        });
        asm.weld_end(upright, Cut::From, PartRef::Member(rails[0]));
        asm.weld_end(upright, Cut::To, PartRef::Member(rails[1]));
    }
    if sides.form == SideForm::Rails {
        return;
    }
    let face = x - (width + sides.sheet_thickness.mm()) / 2.0;
    let parts = sheet_parts(asm, 2.0 * half, top - bottom);
    let own = 2.0 * half / parts as f64;
    for nth in 0..parts {
        let centre = [face, -half + own * (nth as f64 + 0.5), (bottom + top) / 2.0];
        let sheet = sheet(asm, PanelRole::Tailgate, [own, top - bottom], centre, RIGHT);
        for rail in rails {
            let place = [face, centre[1], asm.members[rail].middle()[2]];
            asm.weld_plate(sheet, PartRef::Member(rail), place, own / 2.0, false);
        }
    }
}
