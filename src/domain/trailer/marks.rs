//! Marks: identical pieces share one; a mirrored pair has one mark that ends in L and R.
//!
//! Two pieces are identical when one can be turned into the other: end for end, rolled over, and for a square or round
//! section by a quarter. They are a pair when only a mirror does it.

use std::collections::HashMap;

use super::{CutPlane, Face, Hole, LongPoint, Member, Panel, PanelRole, Role, Trailer};
use crate::{measure::Tenths, steel::SectionKind};

pub fn mark(trailer: &mut Trailer) {
    let keys: Vec<_> = trailer.members.iter().map(member_keys).collect();
    let sides: Vec<_> = trailer.members.iter().map(|member| member.middle()[1]).collect();
    let prefixes: Vec<_> = trailer.members.iter().map(|member| member_prefix(member.role)).collect();
    for (member, mark) in trailer.members.iter_mut().zip(marks(&prefixes, &keys, &sides)) {
        member.mark = mark;
    }
    let keys: Vec<_> = trailer.panels.iter().map(panel_keys).collect();
    let sides: Vec<_> = trailer.panels.iter().map(|panel| panel.centre[1]).collect();
    let prefixes: Vec<_> = trailer.panels.iter().map(|panel| panel_prefix(panel.role)).collect();
    for (panel, mark) in trailer.panels.iter_mut().zip(marks(&prefixes, &keys, &sides)) {
        panel.mark = mark;
    }
}

const fn member_prefix(role: Role) -> &'static str {
    match role {
        Role::SideRail => "SR",
        Role::EndRail => "ER",
        Role::CrossMember => "CM",
        Role::Trimmer => "WT",
        Role::Pole => "DP",
        Role::Leg => "DL",
        Role::Inner => "DI",
        Role::Post => "PO",
        Role::TopRail => "TR",
        Role::MidRail => "MR",
        Role::RampStile => "RS",
        Role::RampRung => "RR",
        Role::RampCarrier => "RC",
        Role::PropLeg => "PL",
        Role::GuidePole => "GP",
        Role::MudguardStay => "MS",
        Role::SpareArm => "SA",
        Role::WinchPost => "WP",
        Role::Bumper => "BU",
    }
}

const fn panel_prefix(role: PanelRole) -> &'static str {
    match role {
        PanelRole::Deck => "DK",
        PanelRole::Side => "SD",
        PanelRole::Front => "FR",
        PanelRole::Tailgate => "TG",
        PanelRole::RampSheet => "RP",
        PanelRole::WheelBox => "WB",
        PanelRole::Mudguard => "MG",
        PanelRole::CouplingPlate => "CP",
        PanelRole::HangerPlate => "HP",
        PanelRole::SpringSeat => "SS",
        PanelRole::AxlePlate => "AP",
        PanelRole::PinPlate => "PP",
        PanelRole::Gusset => "GU",
        PanelRole::Bracket => "BR",
        PanelRole::LampBracket => "LB",
        PanelRole::RampLug => "RL",
        PanelRole::Cap => "CA",
    }
}

/// What a piece is, as numbers: the least over every way to turn it, and the same of its mirror image.
type Key = Vec<i64>;

struct Kind {
    mark: String,
    key: Key,
    /// Some when the mirror image is another piece: whether this hand is on the left, and whether the other hand occurs.
    hand: Option<bool>,
    paired: bool,
}

fn marks<K: std::hash::Hash + Eq>(prefixes: &[&'static str], keys: &[(K, Key, Key)], sides: &[f64]) -> Vec<String> {
    let mut numbers: HashMap<&str, usize> = HashMap::new();
    let mut kinds: Vec<Kind> = Vec::new();
    let mut found: HashMap<(&K, &Key), usize> = HashMap::new();
    let mut of_piece = Vec::with_capacity(keys.len());
    for ((prefix, (what, own, mirror)), side) in prefixes.iter().zip(keys).zip(sides) {
        let least = own.min(mirror);
        let kind = *found.entry((what, least)).or_insert_with(|| {
            let number = numbers.entry(prefix).or_default();
            *number += 1;
            let hand = (own != mirror).then_some(*side < 0.0);
            kinds.push(Kind { mark: format!("{prefix}{number}"), key: own.clone(), hand, paired: false });
            kinds.len() - 1
        });
        if kinds[kind].key != *own {
            kinds[kind].paired = true;
        }
        of_piece.push(kind);
    }
    let name = |(&kind, (_, own, _)): (&usize, &(K, Key, Key))| {
        let kind = &kinds[kind];
        match kind.hand.filter(|_| kind.paired) {
            Some(left) => format!("{}{}", kind.mark, if left == (kind.key == *own) { "L" } else { "R" }),
            None => kind.mark.clone(),
        }
    };
    of_piece.iter().zip(keys).map(name).collect()
}

/// Cuts and holes of a member, apart from where it is.
#[derive(Clone)]
struct Shape {
    length: f64,
    cuts: [Option<(i64, CutPlane, LongPoint)>; 2],
    holes: Vec<Hole>,
}

fn member_keys(member: &Member) -> ((Role, String, String), Key, Key) {
    let shape = Shape {
        length: member.length.mm(),
        cuts: member.cuts.map(|cut| {
            let hundredths = (cut.angle_deg * 100.0).round() as i64;
            (hundredths != 0).then_some((hundredths, cut.plane, cut.long_point))
        }),
        holes: member.holes.clone(),
    };
    let what = (member.role, member.section.to_string(), member.grade.to_string());
    let kind = member.section.kind();
    let own = turns(kind, &shape).iter().map(key).min().unwrap_or_default();
    // Turned end for end by a mirror across the member, the section stays what it is.
    let mirror = turns(kind, &reversed(&shape)).iter().map(key).min().unwrap_or_default();
    (what, own, mirror)
}

/// Every way in which a piece of this section can lie in its own outline.
fn turns(kind: SectionKind, shape: &Shape) -> Vec<Shape> {
    let about_width = |shape: &Shape| reversed(&upside_down(shape));
    match kind {
        SectionKind::Angle => vec![shape.clone()],
        SectionKind::Channel => vec![shape.clone(), about_width(shape)],
        _ => {
            let mut all = vec![shape.clone()];
            if matches!(kind, SectionKind::Shs | SectionKind::Chs | SectionKind::Square | SectionKind::Round) {
                all.push(quarter(shape));
            }
            for nth in 0..all.len() {
                all.push(upside_down(&sideways(&all[nth])));
            }
            for nth in 0..all.len() {
                all.push(about_width(&all[nth]));
            }
            all
        }
    }
}

fn mapped(
    shape: &Shape,
    cut: impl Fn(CutPlane, LongPoint) -> (CutPlane, LongPoint),
    hole: impl Fn(&mut Hole),
) -> Shape {
    let mut shape = shape.clone();
    for (_, plane, long_point) in shape.cuts.iter_mut().flatten() {
        (*plane, *long_point) = cut(*plane, *long_point);
    }
    shape.holes.iter_mut().for_each(hole);
    shape
}

const fn other(point: LongPoint) -> LongPoint {
    match point {
        LongPoint::Top => LongPoint::Bottom,
        LongPoint::Bottom => LongPoint::Top,
    }
}

/// Mirrored across the member: the ends change places.
fn reversed(shape: &Shape) -> Shape {
    let mut shape = shape.clone();
    shape.cuts.swap(0, 1);
    for hole in &mut shape.holes {
        hole.along_mm = shape.length - hole.along_mm;
    }
    shape
}

/// Mirrored top to bottom.
fn upside_down(shape: &Shape) -> Shape {
    let cut = |plane, point| (plane, if plane == CutPlane::Depth { other(point) } else { point });
    mapped(shape, cut, |hole| match hole.face {
        Face::Top => hole.face = Face::Bottom,
        Face::Bottom => hole.face = Face::Top,
        Face::Left | Face::Right => hole.across_mm = -hole.across_mm,
    })
}

/// Mirrored left to right.
fn sideways(shape: &Shape) -> Shape {
    let cut = |plane, point| (plane, if plane == CutPlane::Width { other(point) } else { point });
    mapped(shape, cut, |hole| match hole.face {
        Face::Left => hole.face = Face::Right,
        Face::Right => hole.face = Face::Left,
        Face::Top | Face::Bottom => hole.across_mm = -hole.across_mm,
    })
}

/// Rolled by a quarter to the right: the top becomes the right side, left becomes top.
fn quarter(shape: &Shape) -> Shape {
    let cut = |plane, point| match plane {
        CutPlane::Depth => (CutPlane::Width, other(point)),
        CutPlane::Width => (CutPlane::Depth, point),
    };
    mapped(shape, cut, |hole| match hole.face {
        Face::Top => hole.face = Face::Right,
        Face::Bottom => hole.face = Face::Left,
        Face::Right => (hole.face, hole.across_mm) = (Face::Bottom, -hole.across_mm),
        Face::Left => (hole.face, hole.across_mm) = (Face::Top, -hole.across_mm),
    })
}

fn key(shape: &Shape) -> Key {
    let tenths = |mm: f64| Tenths::nearest(mm).0;
    let mut key = vec![tenths(shape.length)];
    for cut in shape.cuts {
        key.extend(cut.map_or([0; 3], |(angle, plane, point)| {
            [angle, i64::from(plane == CutPlane::Width) + 1, i64::from(point == LongPoint::Bottom)]
        }));
    }
    let mut holes: Vec<[i64; 5]> = shape
        .holes
        .iter()
        .map(|hole| {
            let face = match hole.face {
                // A hole through both walls is on both faces.
                Face::Bottom if hole.through => Face::Top,
                Face::Right if hole.through => Face::Left,
                face => face,
            };
            [tenths(hole.along_mm), face as i64, tenths(hole.across_mm), tenths(hole.diameter_mm), hole.purpose as i64]
        })
        .collect();
    holes.sort_unstable();
    key.extend(holes.into_iter().flatten());
    key
}

fn panel_keys(panel: &Panel) -> ((PanelRole, crate::steel::SheetMaterial, i64), Key, Key) {
    let what = (panel.role, panel.material, Tenths::nearest(panel.thickness_mm).0);
    let (length, width) = (panel.length.mm(), panel.width.mm());
    // A plain flat plate may be turned over; a folded or faced one may only be turned round.
    let plain = panel.folds_mm.is_empty() && !panel.material.is_wood() && panel.grain == super::Grain::Any;
    let laid = |round: bool, over: bool| {
        let x = |x: f64| if round { length - x } else { x };
        let y = |y: f64| if round != over { width - y } else { y };
        let tenths = |mm: f64| Tenths::nearest(mm).0;
        let mut key = vec![panel.length.0, panel.width.0, panel.grain as i64];
        let mut folds: Vec<i64> = panel.folds_mm.iter().map(|fold| tenths(x(*fold))).collect();
        folds.sort_unstable();
        let mut cut_outs: Vec<[i64; 4]> = panel
            .cut_outs
            .iter()
            .map(|&[cx, cy, cl, cw]| {
                let corner_x = if round { length - cx - cl } else { cx };
                let corner_y = if round != over { width - cy - cw } else { cy };
                [corner_x, corner_y, cl, cw].map(tenths)
            })
            .collect();
        cut_outs.sort_unstable();
        let mut holes: Vec<[i64; 4]> = panel
            .holes
            .iter()
            .map(|hole| {
                [tenths(x(hole.along_mm)), tenths(y(hole.across_mm)), tenths(hole.diameter_mm), hole.purpose as i64]
            })
            .collect();
        holes.sort_unstable();
        key.push(cut_outs.len() as i64);
        key.extend(folds);
        key.extend(cut_outs.into_iter().flatten());
        key.extend(holes.into_iter().flatten());
        key
    };
    let right_way = laid(false, false).min(laid(true, false));
    let turned_over = laid(false, true).min(laid(true, true));
    if plain {
        let least = right_way.min(turned_over);
        (what, least.clone(), least)
    } else {
        (what, right_way, turned_over)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trailer::{EndCut, Group, HolePurpose};

    fn leg(side: f64, hole: bool) -> Member {
        let long_point = if side > 0.0 { LongPoint::Bottom } else { LongPoint::Top };
        let drilled = Hole {
            along_mm: 50.0,
            across_mm: 0.0,
            diameter_mm: 14.0,
            face: Face::Bottom,
            through: false,
            purpose: HolePurpose::Vent,
        };
        Member {
            mark: String::new(),
            role: Role::Leg,
            group: Group::Drawbar,
            section: "rhs 80x40x4".parse().unwrap(),
            grade: "S235".parse().unwrap(),
            from: [0.0, side * 20.0, 300.0],
            to: [1000.0, side * 500.0, 300.0],
            depth_axis: [0.0, 0.0, 1.0],
            cuts: [EndCut { angle_deg: 25.0, plane: CutPlane::Width, long_point, capped: false }, EndCut::SQUARE],
            length: Tenths(11_000),
            holes: if hole { vec![drilled] } else { vec![] },
        }
    }

    fn marks_of(members: Vec<Member>) -> Vec<String> {
        let mut trailer = Trailer { members, ..Trailer::default() };
        mark(&mut trailer);
        trailer.members.into_iter().map(|member| member.mark).collect()
    }

    /// A tube cut in plan is its own mirror image once it is rolled over.
    #[test]
    fn plain_legs_are_the_same_piece() {
        assert_eq!(marks_of(vec![leg(-1.0, false), leg(1.0, false)]), ["DL1", "DL1"]);
    }

    /// A hole in the underside makes them a pair.
    #[test]
    fn legs_drilled_below_are_a_pair() {
        assert_eq!(marks_of(vec![leg(-1.0, true), leg(1.0, true), leg(1.0, true)]), ["DL1L", "DL1R", "DL1R"]);
        assert_eq!(marks_of(vec![leg(1.0, true), leg(-1.0, true)]), ["DL1R", "DL1L"]);
        assert_eq!(marks_of(vec![leg(1.0, true)]), ["DL1"]);
    }

    #[test]
    fn an_angle_has_hands_where_a_tube_has_none() {
        let (mut left, mut right) = (leg(-1.0, false), leg(1.0, false));
        for member in [&mut left, &mut right] {
            member.section = "angle 50x50x5".parse().unwrap();
        }
        assert_eq!(marks_of(vec![left, right]), ["DL1", "DL2"]);
    }

    #[test]
    fn lengths_part_marks() {
        let mut longer = leg(1.0, false);
        longer.length = Tenths(11_001);
        assert_eq!(marks_of(vec![leg(1.0, false), longer]), ["DL1", "DL2"]);
    }
}
