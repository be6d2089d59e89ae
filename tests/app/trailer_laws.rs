//! Laws of the built trailer, on random specs of every form.

use std::collections::HashMap;

use hitchwright::domain::{
    measure::Tenths,
    trailer::{
        Cut, FinishSystem, Group, Member, Panel, PanelRole, PartRef, Point, Role, Trailer, build,
        unvented_closed_members,
    },
};
use proptest::{prelude::*, strategy::ValueTree};

use super::any_spec::{any_spec, guess, no_rates};

fn distance(a: Point, b: Point) -> f64 {
    (0..3).map(|axis| (a[axis] - b[axis]).powi(2)).sum::<f64>().sqrt()
}

/// From a point to a member's centre line.
fn off_member(member: &Member, point: Point) -> f64 {
    let (direction, length) = member.direction();
    let along: f64 = (0..3).map(|axis| (point[axis] - member.from[axis]) * direction[axis]).sum();
    let along = along.clamp(0.0, length);
    distance(point, [0, 1, 2].map(|axis| member.from[axis] + direction[axis] * along))
}

/// From a point to a flat panel's rectangle.
fn off_panel(panel: &Panel, point: Point) -> f64 {
    let offset = [0, 1, 2].map(|axis| point[axis] - panel.centre[axis]);
    let dot = |axis: Point| (0..3).map(|part| offset[part] * axis[part]).sum::<f64>();
    let (half_length, half_width) = (panel.length.mm() / 2.0, panel.width.mm() / 2.0);
    let along = dot(panel.along).clamp(-half_length, half_length);
    let across = dot(panel.across).clamp(-half_width, half_width);
    let nearest = [0, 1, 2].map(|axis| panel.centre[axis] + panel.along[axis] * along + panel.across[axis] * across);
    distance(point, nearest)
}

fn off_part(trailer: &Trailer, part: PartRef, point: Point) -> f64 {
    match part {
        PartRef::Member(index) => off_member(&trailer.members[index], point),
        PartRef::Panel(index) => off_panel(&trailer.panels[index], point),
        PartRef::Fitting(index) => {
            let places = trailer.fittings[index].places.iter();
            places.map(|place| distance(*place, point)).fold(f64::INFINITY, f64::min)
        }
    }
}

/// How far a joint may lie from a part's line: within its section.
fn reach(trailer: &Trailer, part: PartRef) -> f64 {
    match part {
        PartRef::Member(index) => {
            let section = &trailer.members[index].section;
            section.depth_mm().hypot(section.width_mm()) + 1.0
        }
        // A folded sheet is placed as if it were flat.
        PartRef::Panel(index) if !trailer.panels[index].folds_mm.is_empty() => trailer.panels[index].length.mm(),
        PartRef::Panel(index) => trailer.panels[index].thickness_mm + 70.0,
        PartRef::Fitting(_) => 500.0,
    }
}

fn joined_at(trailer: &Trailer, index: usize, end: Cut) -> bool {
    let member = &trailer.members[index];
    let (place, near) =
        (if end == Cut::From { member.from } else { member.to }, reach(trailer, PartRef::Member(index)));
    trailer
        .joints
        .iter()
        .any(|joint| joint.parts.contains(&PartRef::Member(index)) && distance(joint.place, place) < 1.5 * near)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 192, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_spec_builds_or_is_refused_with_reasons(spec in any_spec()) {
        match build(&spec, &no_rates(), &guess(&spec)) {
            Ok(trailer) => sound(&spec, &trailer)?,
            Err(faults) => {
                prop_assert!(!faults.0.is_empty());
                for fault in &faults.0 {
                    prop_assert!(!fault.field.is_empty() && !fault.wrong.is_empty() && !fault.right.is_empty());
                }
            }
        }
    }
}

fn sound(spec: &hitchwright::domain::trailer::Spec, trailer: &Trailer) -> Result<(), TestCaseError> {
    for member in &trailer.members {
        let (_, length) = member.direction();
        let points = [member.from, member.to, member.depth_axis];
        prop_assert!(points.iter().flatten().all(|number| number.is_finite()), "{member:?}");
        prop_assert!(member.length > Tenths(0), "{member:?}");
        prop_assert!((member.length.mm() - length).abs() <= 0.0501, "{member:?}");
        prop_assert!(member.mean_length_mm() > 0.0, "{member:?}");
        let across: f64 = (0..3).map(|axis| member.direction().0[axis] * member.depth_axis[axis]).sum();
        prop_assert!(across.abs() < 1e-9, "depth axis not across {member:?}");
        for hole in &member.holes {
            prop_assert!(
                hole.along_mm > 0.0 && hole.along_mm < length && hole.diameter_mm > 0.0,
                "{hole:?} {member:?}"
            );
        }
    }
    for panel in &trailer.panels {
        let numbers = panel.centre.iter().chain(&panel.along).chain(&panel.across);
        prop_assert!(numbers.into_iter().all(|number| number.is_finite()), "{panel:?}");
        prop_assert!(panel.length > Tenths(0) && panel.width > Tenths(0) && panel.area_mm2() > 0.0, "{panel:?}");
        prop_assert!(panel.thickness_mm > 0.0);
        for hole in &panel.holes {
            let inside = hole.along_mm >= 0.0
                && hole.along_mm <= panel.length.mm()
                && hole.across_mm >= 0.0
                && hole.across_mm <= panel.width.mm();
            prop_assert!(inside, "{hole:?} {panel:?}");
        }
    }
    joints(trailer)?;
    frame(trailer)?;
    ends(trailer)?;
    marks(trailer)?;
    balance(trailer)?;
    if spec.design.finish.system == FinishSystem::Galvanised {
        prop_assert_eq!(unvented_closed_members(trailer), Vec::<usize>::new());
    }
    Ok(())
}

fn joints(trailer: &Trailer) -> Result<(), TestCaseError> {
    for joint in &trailer.joints {
        for part in joint.parts {
            let exists = match part {
                PartRef::Member(index) => index < trailer.members.len(),
                PartRef::Panel(index) => index < trailer.panels.len(),
                PartRef::Fitting(index) => index < trailer.fittings.len(),
            };
            prop_assert!(exists);
            let off = off_part(trailer, part, joint.place);
            prop_assert!(
                off <= reach(trailer, part),
                "{off} from {part:?} to {joint:?}: {:?}",
                describe(trailer, part)
            );
        }
        prop_assert!((0.0..=90.0 + 1e-9).contains(&joint.angle_deg), "{joint:?}");
    }
    for (weld, number) in trailer.welds.iter().zip(1..) {
        prop_assert_eq!(weld.number, number);
        prop_assert!(weld.joint < trailer.joints.len());
        prop_assert!(weld.run_mm > 0.0 && weld.run_mm.is_finite() && weld.size_mm > 0.0, "{weld:?}");
        prop_assert!(weld.run_mm < 30_000.0, "{weld:?}");
    }
    Ok(())
}

fn describe(trailer: &Trailer, part: PartRef) -> String {
    match part {
        PartRef::Member(index) => format!("{:?}", trailer.members[index]),
        PartRef::Panel(index) => format!("{:?}", trailer.panels[index]),
        PartRef::Fitting(index) => format!("{:?}", trailer.fittings[index].class),
    }
}

fn frame(trailer: &Trailer) -> Result<(), TestCaseError> {
    let layout = &trailer.layout;
    let rails: Vec<_> = trailer.members.iter().filter(|member| member.role == Role::EndRail).collect();
    let mut stations = layout.cross_member_x_mm.clone();
    stations.extend(rails.iter().map(|rail| rail.middle()[0]));
    stations.sort_by(f64::total_cmp);
    for pair in stations.windows(2) {
        // Open rails have their centroid off their middle by up to a third of their width.
        prop_assert!(pair[1] - pair[0] <= layout.largest_pitch_mm + 25.0, "pitch {stations:?}");
    }
    for member in trailer.members.iter().filter(|member| member.role == Role::CrossMember) {
        for point in [member.from, member.to] {
            prop_assert!(point[0] > layout.bed_front_x_mm && point[0] < layout.bed_rear_x_mm, "{member:?}");
            prop_assert!(point[1].abs() < layout.bed_width_mm / 2.0, "{member:?}");
        }
    }
    Ok(())
}

/// Every end of a hollow member is capped or joined to something; the mouth of a telescopic drawbar slides.
fn ends(trailer: &Trailer) -> Result<(), TestCaseError> {
    for (index, member) in trailer.members.iter().enumerate() {
        for end in [Cut::From, Cut::To] {
            let slides = member.role == Role::Inner && end == Cut::To;
            if !member.section.is_hollow() || slides {
                continue;
            }
            prop_assert!(joined_at(trailer, index, end), "open {end:?} of {member:?}");
        }
        if member.group == Group::Frame || member.group == Group::Drawbar {
            let joined = trailer.joints.iter().any(|joint| joint.parts.contains(&PartRef::Member(index)));
            prop_assert!(joined, "loose {member:?}");
        }
    }
    Ok(())
}

fn marks(trailer: &Trailer) -> Result<(), TestCaseError> {
    let mut members: HashMap<&str, &Member> = HashMap::new();
    for member in &trailer.members {
        prop_assert!(!member.mark.is_empty());
        let first = *members.entry(&member.mark).or_insert(member);
        let same = (first.role, first.section, first.grade, first.length, first.holes.len())
            == (member.role, member.section, member.grade, member.length, member.holes.len());
        prop_assert!(same, "{first:?} {member:?}");
        let angles = |member: &Member| {
            let mut angles = member.cuts.map(|cut| (cut.angle_deg * 100.0).round() as i64);
            angles.sort_unstable();
            angles
        };
        prop_assert_eq!(angles(first), angles(member));
    }
    let mut panels: HashMap<&str, &Panel> = HashMap::new();
    for panel in &trailer.panels {
        prop_assert!(!panel.mark.is_empty());
        let first = *panels.entry(&panel.mark).or_insert(panel);
        let same = (
            first.role,
            first.material,
            first.length,
            first.width,
            first.grain,
            first.holes.len(),
            first.cut_outs.len(),
        ) == (
            panel.role,
            panel.material,
            panel.length,
            panel.width,
            panel.grain,
            panel.holes.len(),
            panel.cut_outs.len(),
        );
        prop_assert!(same && (first.area_mm2() - panel.area_mm2()).abs() < 0.1, "{first:?} {panel:?}");
    }
    Ok(())
}

/// Frame, drawbar, deck and sides are alike left and right.
fn balance(trailer: &Trailer) -> Result<(), TestCaseError> {
    // An angle that stands in the middle has its own centroid a few millimetres beside it.
    let pairs = |member: &&Member| member.group != Group::Fittings && member.middle()[1].abs() > 30.0;
    let members = trailer.members.iter().filter(pairs);
    let moment: f64 = members.map(|member| member.mean_length_mm() * member.middle()[1]).sum();
    let total: f64 = trailer.members.iter().map(Member::mean_length_mm).sum();
    prop_assert!(moment.abs() <= total * 0.5, "members' centre is {} mm off the middle", moment / total);
    let deck: Vec<_> = trailer.panels.iter().filter(|panel| panel.role == PanelRole::Deck).collect();
    let moment: f64 = deck.iter().map(|panel| panel.area_mm2() * panel.centre[1]).sum();
    let area: f64 = deck.iter().map(|panel| panel.area_mm2()).sum();
    prop_assert!(moment.abs() <= area * 0.5 + 1e-6, "deck's centre is off the middle");
    Ok(())
}

/// The laws are about trailers: enough of the random specs must be ones that can be built, of every form.
#[test]
fn the_random_specs_can_mostly_be_built() {
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut refused: HashMap<String, u32> = HashMap::new();
    let mut built = 0;
    for _ in 0..300 {
        let spec = any_spec().new_tree(&mut runner).unwrap().current();
        match build(&spec, &no_rates(), &guess(&spec)) {
            Ok(_) => built += 1,
            Err(faults) => {
                for fault in faults.0 {
                    *refused.entry(format!("{} {}", fault.field, fault.wrong)).or_default() += 1;
                }
            }
        }
    }
    let mut reasons: Vec<_> = refused.into_iter().collect();
    reasons.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    assert!(built >= 100, "{built} of 300 built; {reasons:#?}");
}
