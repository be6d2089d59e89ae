//! The analysis in words a fabricator understands: one check for each kind of member, one for the welds, warnings.

use super::{
    Strength,
    analysis::{Found, Search, Worst},
    built::{self, Built, along, at, is_analysed},
    capacity::{CURVE_D, Capacity},
    frame::{
        FrameFault,
        vector::{dot, norm, sub},
    },
    lateral,
};
use crate::{
    measure::{Grouping, beside as beside_limit, show_number},
    trailer::{JointKind, Member, PartRef, Point, Role, Trailer},
    working::{Check, Sure, Verdict, Working, show_use},
};

/// A mount, a joint or a stand within this of a place names it.
const NEAR_MM: f64 = 130.0;
/// Below this share of the wall that it stands on, a tube's side presses the wall in before its weld is full (from memory: design of hollow
/// section joints begins to lose at a width ratio of about 0.6).
const NARROW: f64 = 0.5;
/// Unbalanced force over the largest force, above which nothing is believed.
const RESIDUAL: f64 = 1e-6;

const CAUTION: &str = "Fatigue is not checked; have a licensed engineer check frame, drawbar and welds.";

pub fn nothing_to_analyse() -> Check {
    Check::cannot_tell(
        "strength/frame",
        "Strength of the frame",
        "a frame on an axle",
        "There is no frame that stands on an axle: its strength cannot be told.",
    )
}

pub fn cannot_solve(trailer: &Trailer, built: &Built, fault: &FrameFault) -> Check {
    let place = match fault {
        FrameFault::Mechanism { node, motion } => {
            let [x, y, z] = built.frame.nodes[*node].place;
            let near = built::nearest(trailer, [x, y, z]).map_or("frame".into(), |member| name(trailer, member));
            format!("The {near} can {motion}, {x:.0} mm behind the coupling: something there is joined too loosely.")
        }
        FrameFault::Wrong { .. } => format!("{fault}."),
    };
    Check::cannot_tell("strength/frame", "Strength of the frame", "a frame that holds together", place)
}

fn side(y: f64) -> &'static str {
    if y < 0.0 { "left" } else { "right" }
}

/// A member's name for people.
pub fn name(trailer: &Trailer, index: usize) -> String {
    let member = &trailer.members[index];
    let [x, y, _] = member.middle();
    let label = member.role.label();
    match member.role {
        Role::SideRail | Role::Leg | Role::Trimmer => format!("{} {label}", side(y)),
        Role::EndRail => {
            let layout = &trailer.layout;
            let end = if x < f64::midpoint(layout.bed_front_x_mm, layout.bed_rear_x_mm) { "front" } else { "rear" };
            let half = if y.abs() > 1.0 { format!(", {} half", side(y)) } else { String::new() };
            format!("{end} end rail{half}")
        }
        Role::CrossMember => {
            let mut places: Vec<f64> = trailer
                .members
                .iter()
                .filter(|other| other.role == Role::CrossMember)
                .map(|other| other.middle()[0])
                .collect();
            places.sort_by(f64::total_cmp);
            places.dedup_by(|a, b| (*a - *b).abs() < 1.0);
            let nth = places.iter().filter(|place| **place < x + 1.0).count();
            let which = match nth {
                1 => "front cross-member".into(),
                nth if nth == places.len() => "rear cross-member".into(),
                nth => format!("cross-member {nth} of {}", places.len()),
            };
            let half = if y.abs() > 1.0 { format!(", {} half", side(y)) } else { String::new() };
            which + &half
        }
        _ => label.into(),
    }
}

/// What a place on a member is next to: “over the left front spring hanger”.
fn beside(search: &Search<'_>, index: usize, place: Point) -> String {
    let trailer = search.trailer;
    let off = |other: Point| (other[0] - place[0]).hypot(other[1] - place[1]);
    let mounts = trailer.layout.mounts.iter().filter(|mount| off(mount.place) < NEAR_MM);
    if let Some(mount) = mounts.min_by(|a, b| off(a.place).total_cmp(&off(b.place))) {
        return format!("over the {} {}", side(mount.place[1]), mount.kind.label());
    }
    let others = search.built.contacts.iter().filter(|contact| contact.members.contains(&index));
    let near = others.filter(|contact| norm(sub(contact.place, place)) < NEAR_MM);
    let nearest = near.min_by(|a, b| norm(sub(a.place, place)).total_cmp(&norm(sub(b.place, place))));
    if let Some(contact) = nearest {
        let other = if contact.members[0] == index { contact.members[1] } else { contact.members[0] };
        return format!("at the {}", name(trailer, other));
    }
    let layout = &trailer.layout;
    if place[0] < layout.bed_front_x_mm {
        return format!("{:.0} mm behind the coupling", place[0]);
    }
    match trailer.members[index].role {
        Role::CrossMember | Role::EndRail if place[1].abs() < 50.0 => "in the middle".into(),
        Role::CrossMember | Role::EndRail => format!("{:.0} mm {} of the middle", place[1].abs(), side(place[1])),
        _ => format!("{:.0} mm behind the bed's front", place[0] - layout.bed_front_x_mm),
    }
}

pub fn checks(search: &Search<'_>, strength: &Strength, found: &Found) -> Vec<Check> {
    if strength.residual.is_nan() || strength.residual > RESIDUAL {
        return vec![Check::cannot_tell(
            "strength/frame",
            "Strength of the frame",
            "forces in equilibrium",
            format!(
                "The analysis leaves {:.1e} of the largest force unbalanced: it cannot be believed.",
                strength.residual
            ),
        )];
    }
    let roles = [Role::SideRail, Role::EndRail, Role::CrossMember, Role::Trimmer, Role::Pole, Role::Leg, Role::Inner];
    let mut checks: Vec<Check> =
        roles.into_iter().filter_map(|role| member_check(search, strength, found, role)).collect();
    checks.extend(tilting(search));
    checks.extend(weld_check(search, found));
    checks.extend(narrow_tubes(search));
    checks.extend(tension_faces(search, found));
    checks.extend(deflection(strength));
    checks
}

fn worst_of(search: &Search<'_>, found: &Found, role: Role) -> Option<(usize, Worst)> {
    let members = search.trailer.members.iter().enumerate().filter(|(_, member)| member.role == role);
    let used = members.filter_map(|(index, _)| Some((index, found.members[index]?)));
    used.max_by(|a, b| a.1.usage.total_cmp(&b.1.usage).then(b.0.cmp(&a.0)))
}

fn member_check(search: &Search<'_>, strength: &Strength, found: &Found, role: Role) -> Option<Check> {
    let (index, worst) = worst_of(search, found, role)?;
    let capacity = search.capacities[index].as_ref()?;
    let case = &search.cases[worst.case];
    let member = &search.trailer.members[index];
    let divisor = if case.service { search.factors.divisor_service } else { search.factors.divisor_test };
    let place = at(member, worst.at_mm);
    let part = format!("{} {}", name(search.trailer, index), beside(search, index, place));
    let mend = if worst.usage > 1.0 && capacity.buckles(worst.forces[0]) {
        " It buckles: a much stiffer section, or held at closer places; its use does not tell how much.".to_owned()
    } else if worst.usage > 1.0 {
        format!(
            " It needs about {} times the strength: a deeper section or a thicker wall{}.",
            beside_limit(worst.usage, 1.0, 1)[0],
            if role == Role::CrossMember { ", or a smaller pitch" } else { "" }
        )
    } else {
        String::new()
    };
    let says = format!("{}, use {}, loading case: {}.{mend} {CAUTION}", upper(&part), show_use(worst.usage), case.name);
    let working = working(search, capacity, member, &worst, divisor);
    let usage = strength.members.iter().find(|used| used.member == index)?;
    let name = format!("Strength: {}", role.label());
    let key = format!("strength/{}", role.word());
    let check = Check::compared(key, name, worst.fill.stress, capacity.strength / divisor, "MPa", says)
        .with(working)
        .in_case(case.name.clone())
        .of_part(part);
    Some(Check { usage: Some(usage.usage), ..check })
}

fn upper(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn figure(value: f64, decimals: usize) -> String {
    show_number(value, decimals, Grouping::Western)
}

fn working(search: &Search<'_>, capacity: &Capacity, member: &Member, worst: &Worst, divisor: f64) -> Working {
    let [n, vy, vz, t, my, mz] = worst.forces;
    let section = member.section.properties();
    let class = capacity.class as u8;
    let kn = |force: f64| figure(force / 1e3, 2);
    let knm = |moment: f64| figure(moment / 1e6, 3);
    let [axial, by, bz] = worst.fill.parts;
    let [about_y, about_z] = capacity.magnified(n);
    let worse = |times: f64| {
        if times > 1.005 { format!(" × {} as N makes it bend further", figure(times, 2)) } else { String::new() }
    };
    let grade = member.grade;
    let strength = capacity.strength;
    let yields = format!("yield strength of {}, heat-affected zone and wall allowance taken off", grade.name());
    let buckled = if n < 0.0 { ", buckling counted" } else { "" };
    Working::new(
        format!("Stress in {} {}, section class {class}", member.section, member.role.label()),
        "U = n · √((σ_N + σ_y + σ_z)² + 3 τ²) / f_y",
    )
    .given("σ_N", format!("from N = {} kN on {} mm²{buckled}", kn(n), figure(section.area_mm2, 0)), axial, "MPa")
    .given(
        "σ_y",
        format!("from M_y = {} kNm{}, W = {} mm³", knm(my), worse(about_y), figure(section.wel_x_mm3, 0)),
        by,
        "MPa",
    )
    .given(
        "σ_z",
        format!("from M_z = {} kNm{}, W = {} mm³", knm(mz), worse(about_z), figure(section.wel_y_mm3, 0)),
        bz,
        "MPa",
    )
    .given("τ", format!("from V = {} and {} kN, T = {} kNm", kn(vy), kn(vz), knm(t)), worst.fill.shear, "MPa")
    .given("f_y", yields, strength, "MPa")
    .given("n", "safety against yielding (the shop's setting; common practice, no source)", divisor, "")
    .gives("U", worst.usage, "")
    .source(
        format!(
            "EN 1993-1-1 6.2.1(5), elastic; classes of table 5.2; member forces by frame analysis, {} cases, dynamic factor {} (common practice, no source)",
            search.cases.len(),
            search.dynamic
        ),
        Sure::CommonPractice,
    )
}

/// Lateral-torsional buckling: counted in the uses of channels and flats, not told of angles.
fn tilting(search: &Search<'_>) -> Option<Check> {
    let (key, title) = ("strength/tilting", "Open sections that may tilt");
    let analysed = || search.capacities.iter().enumerate().filter_map(|(index, own)| Some((index, own.as_ref()?)));
    let angle = analysed().find(|(index, _)| lateral::is_untold(&search.trailer.members[*index].section));
    if let Some((index, _)) = angle {
        let says = format!(
            "The {} is an angle. Whether it tilts sideways before it is full (lateral-torsional buckling, EN 1993-1-1 6.3.2) is not told: the standard's general method is not made for it. A tube or a channel in its place would be.",
            name(search.trailer, index)
        );
        return Some(Check::cannot_tell(
            key,
            title,
            "a method for angles that tilt: choose tube or channel for drawbar, rails or cross-members",
            says,
        ));
    }
    let worst = analysed()
        .filter_map(|(index, own)| Some((index, own.lateral.as_ref()?)))
        .min_by(|a, b| a.1.left.total_cmp(&b.1.left).then(a.0.cmp(&b.0)));
    let (index, worst) = worst?;
    let says = format!(
        "The {} is open: nothing keeps it from tilting over {:.0} mm, so {:.0} % of its bending strength is counted on. That is in the uses above. The help of the deck is not reckoned with, nor that a load above its middle pushes it over.",
        name(search.trailer, index),
        worst.unheld_mm,
        100.0 * worst.left
    );
    let lambda = worst.slenderness;
    let phi = 0.5 * (1.0 + CURVE_D * (lambda - 0.2) + lambda * lambda);
    let working = Working::new("Lateral-torsional buckling", "χ = min(1, 1 / (Φ + √(Φ² − λ²)))")
        .given("λ", format!("slenderness, √(W f_y / M_cr) with M_cr = {} kNm", figure(worst.critical / 1e6, 2)), lambda, "")
        .given("Φ", "0.5 (1 + 0.76 (λ − 0.2) + λ²): curve d", phi, "")
        .gives("χ", worst.left, "")
        .source(
            "EN 1993-1-1 6.3.2.2, general method, from memory; critical moment of a bar under an even moment, warping left out (textbook)",
            Sure::Memory,
        );
    Some(Check::told(key, title, Verdict::Holds, says).of_part(name(search.trailer, index)).with(working))
}

fn weld_check(search: &Search<'_>, found: &Found) -> Option<Check> {
    let used = found.welds.iter().flatten();
    let worst = used.max_by(|a, b| a.usage.total_cmp(&b.usage).then(b.contact.cmp(&a.contact)))?;
    let seam = search.seams[worst.contact].as_ref()?;
    let contact = &search.built.contacts[worst.contact];
    let case = &search.cases[worst.case];
    let divisor = if case.service { search.factors.divisor_service } else { search.factors.divisor_test };
    let names = contact.members.map(|member| name(search.trailer, member));
    let part = format!("weld W{}, {} to {}", seam.number, names[0], names[1]);
    let scope = if seam.in_scope() {
        String::new()
    } else if seam.aluminium {
        " Welded aluminium: reckoned with the strength of its heat-affected zone after EN 1999-1-1 (from memory)."
            .into()
    } else {
        format!(
            " Its throat of {:.1} mm is outside the standard's range (3 mm and more): common practice.",
            seam.throat_mm
        )
    };
    let mend = if worst.usage > 1.0 { " A longer run, a gusset or thicker walls would mend it." } else { "" };
    let usage = show_use(worst.usage);
    let says = format!("{}: use {usage}, loading case: {}.{mend}{scope} {CAUTION}", upper(&part), case.name);
    let working = Working::new("Fillet weld, simplified method", "F_w,Rd = a · f_u / (√(3) · β_w · γ_M2 · n)")
        .given("a", "throat: leg over √2", seam.throat_mm, "mm")
        .given("f_u", "tensile strength of the weaker part", seam.fu, "MPa")
        .given("β_w", "by grade (table 4.1)", seam.beta, "")
        .given("γ_M2", "partial factor", super::welds::GAMMA_M2, "")
        .given("n", "safety (the shop's setting; common practice, no source)", divisor, "")
        .gives("F_w,Rd", worst.capacity, "N/mm")
        .source(
            "EN 1993-1-8 4.5.3.3, forces from the member ends on the run as a line",
            if seam.in_scope() { Sure::Read } else { Sure::CommonPractice },
        );
    let mut check = Check::compared("strength/welds", "Strength: welds", worst.demand, worst.capacity, "N/mm", says)
        .with(working)
        .in_case(case.name.clone())
        .of_part(part);
    if !seam.in_scope() && check.verdict == Verdict::Holds {
        check.verdict = Verdict::Close;
    }
    Some(check)
}

/// A tube that stands with its end on a much wider wall presses the wall in.
fn narrow_tubes(search: &Search<'_>) -> Option<Check> {
    let trailer = search.trailer;
    let narrow = search.built.contacts.iter().find_map(|contact| {
        let [first, second] = contact.members.map(|member| &trailer.members[member]);
        let on = along(first, contact.place);
        let stands = norm(sub(contact.place, at(first, on))) < 5.0;
        let ratio = first.section.depth_mm() / second.section.depth_mm();
        (stands && second.section.is_hollow() && ratio < NARROW).then_some((contact, ratio))
    });
    let (contact, ratio) = narrow?;
    let [first, second] = contact.members.map(|member| name(trailer, member));
    let says = format!(
        "The {first} covers only {:.0} % of the wall of the {second} that it stands on: the wall bends in before the weld is full. A plate on the wall, or sections of like depth, would mend it (local bending is not checked).",
        100.0 * ratio
    );
    Some(Check::told("strength/tube-wall", "Tube walls at joints", Verdict::Close, says))
}

/// A weld across the pulled face where the bending is greatest starts cracks.
fn tension_faces(search: &Search<'_>, found: &Found) -> Option<Check> {
    let trailer = search.trailer;
    let mut crossed = Vec::new();
    for (index, worst) in found.members.iter().enumerate() {
        let (Some(worst), member) = (worst, &trailer.members[index]) else { continue };
        let bends = matches!(member.role, Role::SideRail | Role::Pole | Role::Leg | Role::Inner);
        if !bends || worst.usage < 0.5 || worst.fill.parts[1] < worst.fill.parts[2] {
            continue;
        }
        // My > 0 pulls the top.
        let pulled = worst.forces[4].signum();
        let across = trailer.joints.iter().any(|joint| {
            let other = match joint.parts {
                [PartRef::Member(one), PartRef::Member(two)] if one == index => two,
                [PartRef::Member(one), PartRef::Member(two)] if two == index => one,
                _ => return false,
            };
            let on = along(member, joint.place);
            let out = dot(sub(joint.place, at(member, on)), member.depth_axis);
            let reach = trailer.members[other].section.width_mm() / 2.0 + 20.0;
            let stands = out * pulled > 5.0 || (!is_analysed(trailer.members[other].role) && pulled > 0.0);
            joint.kind == JointKind::Welded && stands && (on - worst.at_mm).abs() < reach
        });
        if across {
            crossed.push(name(trailer, index));
        }
    }
    let first = crossed.first()?;
    let more = if crossed.len() > 1 { format!(" (and {} more)", crossed.len() - 1) } else { String::new() };
    let says = format!(
        "A weld runs across the pulled face of the {first}{more} where its moment is greatest: cracks begin there. Weld along the sides only, or put gussets that end away from that place. Fatigue is not checked."
    );
    Some(Check::told("strength/tension-face", "Welds across pulled faces", Verdict::Close, says))
}

fn deflection(strength: &Strength) -> Option<Check> {
    let worst = strength.deflection.as_ref()?;
    let way = if worst.mm < 0.0 { "down" } else { "up" };
    let [x, y, _] = worst.place;
    let says = format!(
        "The frame moves {:.1} mm {way} at most against coupling and wheels, {x:.0} mm behind the coupling and {:.0} mm {} of the middle, loading case: {}. No limit for trailers is known; a deck feels firm to about a two-hundredth of its span.",
        worst.mm.abs(),
        y.abs(),
        side(y),
        worst.case
    );
    Some(Check::told("strength/deflection", "What the frame gives", Verdict::Holds, says).in_case(worst.case.clone()))
}
