//! The bed frame: two side rails, two end rails, cross-members, all level on top.
//!
//! The rails run round the bed with its inside to their left, so that an open section turns its back inwards and all four
//! corners are alike.

use crate::trailer::{
    Corner, Cut, CutPlane, DrawbarForm, EndCut, Group, LongPoint, PartRef, Role, Stack, WheelBox,
    assembly::{Assembly, Bar, closed_end},
    end_member,
    members::drawbar::DrawbarMembers,
    vector::UP,
};

#[derive(Clone, Debug, Default)]
pub struct FrameMembers {
    /// Left and right.
    pub side: Vec<usize>,
    /// One piece, or two where a pole passes between them.
    pub front: Vec<usize>,
    pub rear: Vec<usize>,
    pub cross: Vec<CrossMember>,
    /// The whole cross-member that bears the drawbar's end.
    pub station: Option<usize>,
}

#[derive(Clone, Copy, Debug)]
pub struct CrossMember {
    pub member: usize,
    pub x_mm: f64,
    pub from_y_mm: f64,
    pub to_y_mm: f64,
}

pub fn build(asm: &mut Assembly, drawbar: &DrawbarMembers) -> FrameMembers {
    let mut frame = FrameMembers::default();
    rails(asm, &mut frame, drawbar);
    let openings = openings(asm);
    cross_members(asm, &mut frame, drawbar, &openings);
    trim_boxes(asm, &frame, &openings);
    frame
}

/// Half of the gap that a pole level with the frame needs, up to where it ends.
fn pole_gap(asm: &Assembly) -> Option<f64> {
    let flush_pole = asm.design.frame.stack == Stack::Flush && asm.design.drawbar.form == DrawbarForm::Pole;
    flush_pole.then(|| asm.design.drawbar.section.width_mm() / 2.0)
}

fn rails(asm: &mut Assembly, frame: &mut FrameMembers, drawbar: &DrawbarMembers) {
    let (spec, layout) = (&asm.design.frame, asm.layout);
    let (front, rear, half) = (layout.bed_front_x_mm, layout.bed_rear_x_mm, layout.bed_width_mm / 2.0);
    let (side_w, end_w) = (spec.side_rail.width_mm(), spec.end_rail.width_mm());
    let mitred = spec.corner == Corner::Mitred;
    // A mitre runs from the inner to the outer corner: 45° where both rails are equally wide.
    let mitre = |own: f64, other: f64| EndCut {
        angle_deg: (other / own).atan().to_degrees(),
        plane: CutPlane::Width,
        long_point: LongPoint::Bottom,
        capped: false,
    };
    let inset = if mitred { 0.0 } else { end_w };
    let side_cut = if mitred { mitre(side_w, end_w) } else { EndCut::SQUARE };
    let end_cut = if mitred { mitre(end_w, side_w) } else { closed_end(spec.end_rail) };
    let y = half - side_w / 2.0;
    let (from_x, to_x) = (front + inset, rear - inset);
    let left = rail(asm, Role::SideRail, [from_x, -y], [to_x, -y], [side_cut; 2]);
    let right = rail(asm, Role::SideRail, [to_x, y], [from_x, y], [side_cut; 2]);
    frame.side = vec![left, right];
    let x = front + end_w / 2.0;
    frame.front = match pole_gap(asm) {
        None => vec![rail(asm, Role::EndRail, [x, half], [x, -half], [end_cut; 2])],
        Some(gap) => vec![
            rail(asm, Role::EndRail, [x, half], [x, gap], [end_cut, EndCut::SQUARE]),
            rail(asm, Role::EndRail, [x, -gap], [x, -half], [EndCut::SQUARE, end_cut]),
        ],
    };
    let x = rear - end_w / 2.0;
    frame.rear = vec![rail(asm, Role::EndRail, [x, -half], [x, half], [end_cut; 2])];
    corners(asm, frame, mitred);
    if let (Some(pole), [right, left]) = (drawbar.pole, &frame.front[..]) {
        asm.weld_end(*right, Cut::To, PartRef::Member(pole));
        asm.weld_end(*left, Cut::From, PartRef::Member(pole));
    }
}

fn rail(asm: &mut Assembly, role: Role, from: [f64; 2], to: [f64; 2], cuts: [EndCut; 2]) -> usize {
    let section = if role == Role::SideRail { asm.design.frame.side_rail } else { asm.design.frame.end_rail };
    let z = asm.layout.frame_top_z_mm - section.depth_mm() / 2.0;
    asm.bar(Bar {
        role,
        group: Group::Frame,
        section,
        grade: asm.design.frame.grade,
        from: [from[0], from[1], z],
        to: [to[0], to[1], z],
        depth_axis: UP,
        cuts,
    })
}

/// Round the bed from the front's left corner: each side rail's two ends and the end rails that they meet.
fn corners(asm: &mut Assembly, frame: &FrameMembers, mitred: bool) {
    let (front_left, front_right) = (frame.front[frame.front.len() - 1], frame.front[0]);
    let rear = frame.rear[0];
    let (left, right) = (frame.side[0], frame.side[1]);
    let meets =
        [(left, Cut::From, front_left), (left, Cut::To, rear), (right, Cut::From, rear), (right, Cut::To, front_right)];
    for (side, end, end_rail) in meets {
        if mitred {
            let (x, y) = (asm.members[end_rail].middle()[0], asm.members[side].middle()[1]);
            let place = [x, y, asm.end(side, end)[2]];
            asm.weld_mitre(side, end, end_rail, place);
        } else {
            asm.weld_end(side, end, PartRef::Member(end_rail));
        }
    }
}

/// A stretch of the bed where tyres come through: cross-members there run between trimmers.
struct Opening {
    from_x: f64,
    to_x: f64,
    /// Inner face of the box from the bed's centre line.
    inner_y: f64,
}

fn openings(asm: &Assembly) -> Vec<Opening> {
    let right = asm.layout.wheel_boxes.iter().filter(|wheel_box: &&WheelBox| wheel_box.from_y_mm >= 0.0);
    right
        .map(|wheel_box| Opening { from_x: wheel_box.from_x_mm, to_x: wheel_box.to_x_mm, inner_y: wheel_box.from_y_mm })
        .collect()
}

fn cross_members(asm: &mut Assembly, frame: &mut FrameMembers, drawbar: &DrawbarMembers, openings: &[Opening]) {
    let (spec, layout) = (&asm.design.frame, asm.layout);
    let inside = layout.bed_width_mm / 2.0 - spec.side_rail.width_mm();
    let station = layout.drawbar.station_x_mm;
    let bears = nearest(&layout.cross_member_x_mm, station).filter(|&(_, off)| off <= spec.cross_member.width_mm());
    let gap = pole_gap(asm);
    for (nth, &x) in layout.cross_member_x_mm.iter().enumerate() {
        let at_station = bears.is_some_and(|(index, _)| index == nth);
        let section = if at_station { end_member(asm.design) } else { spec.cross_member };
        let opening = openings.iter().find(|opening| x > opening.from_x && x < opening.to_x);
        let reach = opening.map_or(inside, |opening| opening.inner_y - spec.cross_member.width_mm());
        let halved = gap.filter(|_| !at_station && x < layout.drawbar.end_x_mm);
        let spans = match halved {
            Some(gap) => vec![[-reach, -gap], [gap, reach]],
            None => vec![[-reach, reach]],
        };
        for [from_y, to_y] in spans.into_iter().filter(|[from, to]| to - from > 1.0) {
            let z = layout.frame_top_z_mm - section.depth_mm() / 2.0;
            let member = asm.bar(Bar {
                role: Role::CrossMember,
                group: Group::Frame,
                section,
                grade: spec.grade,
                from: [x, from_y, z],
                to: [x, to_y, z],
                depth_axis: UP,
                cuts: [EndCut::SQUARE; 2],
            });
            if at_station {
                frame.station = Some(member);
            }
            frame.cross.push(CrossMember { member, x_mm: x, from_y_mm: from_y, to_y_mm: to_y });
            for (end, y) in [(Cut::From, from_y), (Cut::To, to_y)] {
                if y.abs() > inside - 0.5 {
                    asm.weld_end(member, end, PartRef::Member(frame.side[usize::from(y > 0.0)]));
                } else if let (Some(_), Some(pole)) = (halved.filter(|gap| (y.abs() - gap).abs() < 0.5), drawbar.pole) {
                    asm.weld_end(member, end, PartRef::Member(pole));
                }
            }
        }
    }
}

fn nearest(places: &[f64], wanted: Option<f64>) -> Option<(usize, f64)> {
    let wanted = wanted?;
    let offs = places.iter().enumerate().map(|(index, place)| (index, (place - wanted).abs()));
    offs.min_by(|a, b| a.1.total_cmp(&b.1))
}

/// Trimmers along the inner faces of the wheel boxes, between the members at the boxes' ends; the cross-members between
/// them end at them.
fn trim_boxes(asm: &mut Assembly, frame: &FrameMembers, openings: &[Opening]) {
    let section = asm.design.frame.cross_member;
    for opening in openings {
        for side in [-1.0, 1.0] {
            let y = side * (opening.inner_y - section.width_mm() / 2.0);
            // The members before and behind the box that reach across its side, halves included.
            let spans = |member: usize| {
                let bar = &asm.members[member];
                y > bar.from[1].min(bar.to[1]) && y < bar.from[1].max(bar.to[1])
            };
            let across = frame.cross.iter().filter(|cross| spans(cross.member));
            let ahead = across.clone().rfind(|cross| cross.x_mm <= opening.from_x);
            let behind = across.clone().find(|cross| cross.x_mm >= opening.to_x);
            let end = |rails: &[usize]| rails.iter().copied().find(|&rail| spans(rail));
            let front = ahead.map(|cross| cross.member).or_else(|| end(&frame.front));
            let rear = behind.map(|cross| cross.member).or_else(|| end(&frame.rear));
            let (Some(front), Some(rear)) = (front, rear) else { continue };
            let face = |member: usize, towards: f64| {
                asm.members[member].middle()[0] + towards * asm.members[member].section.width_mm() / 2.0
            };
            let (from_x, to_x) = (face(front, 1.0), face(rear, -1.0));
            let z = asm.layout.frame_top_z_mm - section.depth_mm() / 2.0;
            let trimmer = asm.bar(Bar {
                role: Role::Trimmer,
                group: Group::Frame,
                section,
                grade: asm.design.frame.grade,
                from: [if side < 0.0 { from_x } else { to_x }, y, z],
                to: [if side < 0.0 { to_x } else { from_x }, y, z],
                depth_axis: UP,
                cuts: [EndCut::SQUARE; 2],
            });
            let (at_front, at_rear) = if side < 0.0 { (Cut::From, Cut::To) } else { (Cut::To, Cut::From) };
            asm.weld_end(trimmer, at_front, PartRef::Member(front));
            asm.weld_end(trimmer, at_rear, PartRef::Member(rear));
            let inner_face = side * (opening.inner_y - section.width_mm());
            for cross in frame.cross.iter().filter(|cross| cross.x_mm > from_x && cross.x_mm < to_x) {
                for (end, end_y) in [(Cut::From, cross.from_y_mm), (Cut::To, cross.to_y_mm)] {
                    if (end_y - inner_face).abs() < 0.5 {
                        asm.weld_end(cross.member, end, PartRef::Member(trimmer));
                    }
                }
            }
        }
    }
}
