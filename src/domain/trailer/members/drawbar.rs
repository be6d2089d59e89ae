//! The drawbar: one pole (fixed or telescopic) or two legs, straight and level; the coupling is raised or lowered on its plate.

use crate::trailer::{
    Cut, CutPlane, DrawbarForm, EndCut, Face, Group, Hole, HolePurpose, JointKind, LongPoint, PartRef, PoleReach, Role,
    Stack,
    assembly::{Assembly, Bar, CAPPED, closed_end},
    vector::{UP, moved},
};

/// Members of the drawbar that meet the frame.
#[derive(Clone, Debug, Default)]
pub struct DrawbarMembers {
    pub pole: Option<usize>,
    /// Left and right.
    pub legs: Option<[usize; 2]>,
    pub inner: Option<usize>,
}

impl DrawbarMembers {
    pub fn all(&self) -> impl Iterator<Item = usize> {
        self.pole.into_iter().chain(self.legs.into_iter().flatten())
    }
}

pub fn build(asm: &mut Assembly) -> DrawbarMembers {
    match asm.design.drawbar.form {
        DrawbarForm::Pole => pole(asm),
        DrawbarForm::AFrame => legs(asm),
    }
}

fn pole(asm: &mut Assembly) -> DrawbarMembers {
    let (drawbar, place) = (&asm.design.drawbar, &asm.layout.drawbar);
    let telescope = place.telescope.as_ref();
    // Under the frame its end is open; level with the frame it butts on the member that it ends at.
    let stacked = asm.design.frame.stack == Stack::Stacked;
    let rear = if stacked { closed_end(drawbar.section) } else { EndCut::SQUARE };
    let front = if telescope.is_some() { EndCut::SQUARE } else { closed_end(drawbar.section) };
    let from_x = telescope.map_or(place.nose_x_mm, |telescope| telescope.outer_from_x_mm);
    let pole = asm.bar(Bar {
        role: Role::Pole,
        group: Group::Drawbar,
        section: drawbar.section,
        grade: drawbar.grade,
        from: [from_x, 0.0, place.z_mm],
        to: [place.end_x_mm, 0.0, place.z_mm],
        depth_axis: UP,
        cuts: [front, rear],
    });
    let inner = telescope.map(|telescope| {
        let inner = asm.bar(Bar {
            role: Role::Inner,
            group: Group::Drawbar,
            section: drawbar.inner_section,
            grade: drawbar.grade,
            from: [telescope.inner_from_x_mm, 0.0, place.z_mm],
            to: [telescope.inner_to_x_mm, 0.0, place.z_mm],
            depth_axis: UP,
            cuts: [CAPPED, EndCut::SQUARE],
        });
        // The pin lies across, clear by half a millimetre, in the sides' middle where bending stress is least.
        let pin = |along_mm| Hole {
            along_mm,
            across_mm: 0.0,
            diameter_mm: drawbar.pin_diameter.mm() + 0.5,
            face: Face::Left,
            through: true,
            purpose: HolePurpose::Pin,
        };
        asm.members[pole].holes.push(pin(telescope.pin_x_mm - telescope.outer_from_x_mm));
        let first = telescope.pin_x_mm - telescope.inner_from_x_mm;
        asm.members[inner].holes.extend(telescope.pin_steps_mm.iter().map(|step| pin(first + step)));
        let parts = [PartRef::Member(inner), PartRef::Member(pole)];
        asm.fasten(JointKind::Sliding, parts, [telescope.outer_from_x_mm, 0.0, place.z_mm]);
        asm.fasten(JointKind::Pinned, parts, [telescope.pin_x_mm, 0.0, place.z_mm]);
        inner
    });
    DrawbarMembers { pole: Some(pole), legs: None, inner }
}

/// Both legs are cut across the trailer at the nose, so that their inner corners touch; at the rear they are cut square under
/// the frame, or along the front rail's face where they end at it.
fn legs(asm: &mut Assembly) -> DrawbarMembers {
    let (drawbar, place) = (&asm.design.drawbar, &asm.layout.drawbar);
    let angle = place.half_angle_deg.to_radians();
    let to_long_point = drawbar.section.width_mm() / 2.0 * angle.tan();
    let butts = asm.design.frame.stack == Stack::Flush;
    let leg = |asm: &mut Assembly, side: f64| {
        // The long point is on the inner side at the nose, on the outer side at the rail; outer is left on the right leg.
        let (outer, inner) =
            if side > 0.0 { (LongPoint::Top, LongPoint::Bottom) } else { (LongPoint::Bottom, LongPoint::Top) };
        let plan =
            |long_point, capped| EndCut { angle_deg: place.half_angle_deg, plane: CutPlane::Width, long_point, capped };
        let hollow = drawbar.section.is_hollow();
        let direction = [angle.cos(), side * angle.sin(), 0.0];
        let nose = [place.nose_x_mm, side * place.nose_y_mm, place.z_mm];
        let end = [place.end_x_mm, side * place.end_y_mm, place.z_mm];
        asm.bar(Bar {
            role: Role::Leg,
            group: Group::Drawbar,
            section: drawbar.section,
            grade: drawbar.grade,
            from: moved(nose, direction, -to_long_point),
            to: if butts { moved(end, direction, to_long_point) } else { end },
            depth_axis: UP,
            cuts: [plan(inner, hollow), if butts { plan(outer, false) } else { closed_end(drawbar.section) }],
        })
    };
    let (left, right) = (leg(asm, -1.0), leg(asm, 1.0));
    let place = [asm.layout.drawbar.nose_x_mm, 0.0, asm.layout.drawbar.z_mm];
    let seam = asm.design.drawbar.section.depth_mm();
    asm.weld_seam(left, right, place, seam);
    DrawbarMembers { pole: None, legs: Some([left, right]), inner: None }
}

/// Where the drawbar's members meet the frame's. Under the frame they cross the front rail, what lies level with it above
/// them, and end at a member or a side rail; level with it a pole passes between halves.
pub fn meet_frame(asm: &mut Assembly, drawbar: &DrawbarMembers, frame: &super::frame::FrameMembers) {
    if asm.design.frame.stack == Stack::Flush {
        return meet_flush(asm, drawbar, frame);
    }
    let place = asm.layout.drawbar.clone();
    let tan = place.half_angle_deg.to_radians().tan();
    for member in drawbar.all() {
        let side = asm.members[member].middle()[1].signum() * f64::from(u8::from(drawbar.legs.is_some()));
        let y_at = |x: f64| side * (place.nose_y_mm + (x - place.nose_x_mm) * tan);
        let rails = frame.front.iter().chain(&frame.rear).copied();
        for other in rails.chain(frame.cross.iter().map(|cross| cross.member)).collect::<Vec<_>>() {
            let (x, half) = (asm.members[other].middle()[0], asm.members[other].section.width_mm() / 2.0);
            let [from, to] = [asm.members[other].from[1], asm.members[other].to[1]];
            let y = y_at(x);
            if x - half < place.end_x_mm && x < place.end_x_mm + half && y > from.min(to) && y < from.max(to) {
                asm.bear_on(member, other, [x, y, place.top_z_mm]);
            }
        }
        if let Some(legs) = drawbar.legs {
            let rail = frame.side[usize::from(member == legs[1])];
            let (rail_y, half) = (asm.members[rail].middle()[1].abs(), asm.members[rail].section.width_mm() / 2.0);
            if (place.end_y_mm - rail_y).abs() < half {
                asm.bear_on(member, rail, [place.end_x_mm, side * place.end_y_mm, place.top_z_mm]);
            }
        }
    }
}

fn meet_flush(asm: &mut Assembly, drawbar: &DrawbarMembers, frame: &super::frame::FrameMembers) {
    if let Some(legs) = drawbar.legs {
        for leg in legs {
            for &rail in &frame.front {
                asm.weld_end(leg, Cut::To, PartRef::Member(rail));
            }
        }
    }
    if let Some(pole) = drawbar.pole {
        let onto = match asm.design.drawbar.reach {
            PoleReach::RearRail => frame.rear.first().copied(),
            PoleReach::CrossMember => frame.station,
        };
        if let Some(onto) = onto {
            asm.weld_end(pole, Cut::To, PartRef::Member(onto));
        }
    }
}
