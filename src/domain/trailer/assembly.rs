//! The trailer while it is put together: each maker adds its parts and says at once what they touch and how.

use super::{
    Cut, Design, EndCut, Face, Grain, Group, Hole, HolePurpose, Joint, JointKind, Layout, Member, Panel, PanelRole,
    PartRef, Point, Role, SheetStock,
    build::sheet_stock,
    runs::{Seam, cut_outline_mm, fillet_leg_mm},
    vector::{UP, angle_between_deg, cross, dot, moved},
};
use crate::{
    measure::Tenths,
    shop::ShopBook,
    steel::{Grade, Metal, Section, SectionKind, SheetMaterial},
};

/// Thickness of an end cap (common practice, no source).
const CAP_MM: f64 = 3.0;

/// Packing between a drawbar and a shallower rail: its plates' thickness, and the gap they bridge.
const PACKING_MM: f64 = 6.0;
const PACKED_MM: f64 = 60.0;

pub struct Assembly<'a> {
    pub design: &'a Design,
    pub layout: &'a Layout,
    book: &'a ShopBook,
    pub members: Vec<Member>,
    pub panels: Vec<Panel>,
    pub joints: Vec<Joint>,
    /// What is welded at each joint; none where it is bolted, pinned or slides.
    pub seams: Vec<Option<Seam>>,
}

/// A member to be added; its line runs through the middle of the box around the section.
pub struct Bar {
    pub role: Role,
    pub group: Group,
    pub section: Section,
    pub grade: Grade,
    pub from: Point,
    pub to: Point,
    pub depth_axis: Point,
    pub cuts: [EndCut; 2],
}

/// A plate or sheet to be added.
pub struct Plate {
    pub role: PanelRole,
    pub group: Group,
    pub material: SheetMaterial,
    pub thickness_mm: f64,
    pub length_mm: f64,
    pub width_mm: f64,
    pub centre: Point,
    pub along: Point,
    pub across: Point,
    pub grain: Grain,
}

/// A square end that will get a cap.
pub const CAPPED: EndCut = EndCut { capped: true, ..EndCut::SQUARE };

/// Square, with a cap where the section is hollow: an open section has no end to close.
pub fn closed_end(section: Section) -> EndCut {
    if section.is_hollow() { CAPPED } else { EndCut::SQUARE }
}

impl<'a> Assembly<'a> {
    pub fn new(design: &'a Design, layout: &'a Layout, book: &'a ShopBook) -> Self {
        Self {
            design,
            layout,
            book,
            members: Vec::with_capacity(96),
            panels: Vec::with_capacity(96),
            joints: Vec::with_capacity(256),
            seams: Vec::with_capacity(256),
        }
    }

    /// Adds a member and answers its index.
    pub fn bar(&mut self, bar: Bar) -> usize {
        let mut member = Member {
            mark: String::new(),
            role: bar.role,
            group: bar.group,
            section: bar.section,
            grade: bar.grade,
            from: bar.from,
            to: bar.to,
            depth_axis: bar.depth_axis,
            cuts: bar.cuts,
            length: Tenths(0),
            holes: Vec::new(),
        };
        let (direction, length) = member.direction();
        member.length = Tenths::nearest(length);
        // Hollow, flat and round sections have their centroid in the middle of the box.
        if matches!(bar.section.kind(), SectionKind::Angle | SectionKind::Channel) {
            let [across, up] = bar.section.properties().centroid_mm;
            let right = cross(direction, bar.depth_axis);
            for end in [&mut member.from, &mut member.to] {
                *end = moved(moved(*end, right, across), bar.depth_axis, up);
            }
        }
        self.members.push(member);
        self.members.len() - 1
    }

    /// Adds a plate or sheet and answers its index.
    pub fn plate(&mut self, plate: Plate) -> usize {
        self.panels.push(Panel {
            mark: String::new(),
            role: plate.role,
            group: plate.group,
            material: plate.material,
            thickness_mm: plate.thickness_mm,
            length: Tenths::nearest(plate.length_mm),
            width: Tenths::nearest(plate.width_mm),
            grain: plate.grain,
            centre: plate.centre,
            along: plate.along,
            across: plate.across,
            cut_outs: Vec::new(),
            folds_mm: Vec::new(),
            holes: Vec::new(),
        });
        self.panels.len() - 1
    }

    /// The end's point on the member's line.
    pub fn end(&self, member: usize, end: Cut) -> Point {
        let member = &self.members[member];
        match end {
            Cut::From => member.from,
            Cut::To => member.to,
        }
    }

    /// A member's end stands on another part and is welded all round.
    pub fn weld_end(&mut self, member: usize, end: Cut, onto: PartRef) {
        let bar = &self.members[member];
        let run = cut_outline_mm(bar.section, bar.cuts[end as usize]);
        let angle = self.angle(member, onto);
        self.join(PartRef::Member(member), onto, self.end(member, end), angle, Some((run, true)));
    }

    /// Two members' ends meet in a mitre, welded through the wall all round.
    pub fn weld_mitre(&mut self, member: usize, end: Cut, other: usize, place: Point) {
        let (bar, second) = (&self.members[member], &self.members[other]);
        let seam = Seam {
            kind: super::WeldKind::Butt,
            run_mm: cut_outline_mm(bar.section, bar.cuts[end as usize]),
            size_mm: bar.section.wall_mm().min(second.section.wall_mm()),
            all_round: true,
        };
        let angle = self.angle(member, PartRef::Member(other));
        let parts = [PartRef::Member(member), PartRef::Member(other)];
        self.push(parts, place, angle, true, Some(seam));
    }

    /// One member lies on another: welded along the four sides of the lozenge where they touch.
    pub fn weld_crossing(&mut self, member: usize, other: usize, place: Point) {
        let angle = self.angle(member, PartRef::Member(other));
        let widths = self.members[member].section.width_mm() + self.members[other].section.width_mm();
        let run = 2.0 * widths / angle.to_radians().sin().max(0.2);
        self.join(PartRef::Member(member), PartRef::Member(other), place, angle, Some((run, true)));
    }

    /// A seam of so much between two members that touch along it.
    pub fn weld_seam(&mut self, member: usize, other: usize, place: Point, run_mm: f64) {
        let angle = self.angle(member, PartRef::Member(other));
        self.join(PartRef::Member(member), PartRef::Member(other), place, angle, Some((run_mm, false)));
    }

    /// A drawbar's member lies under a frame's: welded where they touch, through two upright packing plates where a shallower
    /// member leaves a gap of up to 60 mm; nothing where the gap is larger or the member merely passes.
    pub fn bear_on(&mut self, lower: usize, upper: usize, place: Point) {
        let member = &self.members[upper];
        let (underside, half) = (self.underside_mm(upper), member.section.width_mm() / 2.0);
        let (gap, across) = (underside - place[2], member.direction().0);
        if gap.abs() < 0.5 {
            return self.weld_crossing(lower, upper, place);
        }
        if !(0.5..=PACKED_MM).contains(&gap) || member.role == Role::CrossMember {
            return;
        }
        let normal = cross(across, UP);
        for side in [-1.0, 1.0] {
            // They lap the upper member's sides by 20 mm.
            let plate = self.plate(Plate {
                role: PanelRole::Bracket,
                group: Group::Drawbar,
                material: self.plate_material(upper),
                thickness_mm: PACKING_MM,
                length_mm: self.members[lower].section.width_mm(),
                width_mm: gap + 20.0,
                centre: moved(
                    [place[0], place[1], place[2] + (gap + 20.0) / 2.0],
                    normal,
                    side * (half + PACKING_MM / 2.0),
                ),
                along: across,
                across: UP,
                grain: Grain::Any,
            });
            let (length, at) = (self.panels[plate].length.mm(), self.panels[plate].centre);
            self.weld_plate(plate, PartRef::Member(lower), at, 2.0 * length, false);
            self.weld_plate(plate, PartRef::Member(upper), at, length + 40.0, false);
        }
    }

    /// Lowest point of a level member with its depth upright, wherever its centroid is.
    pub fn underside_mm(&self, member: usize) -> f64 {
        let member = &self.members[member];
        let up = match member.section.kind() {
            SectionKind::Angle | SectionKind::Channel => member.section.properties().centroid_mm[1],
            _ => 0.0,
        };
        member.from[2] - up - member.section.depth_mm() / 2.0
    }

    /// A plate on another part, welded along so much of its edge.
    pub fn weld_plate(&mut self, panel: usize, onto: PartRef, place: Point, run_mm: f64, all_round: bool) {
        self.join(PartRef::Panel(panel), onto, place, 90.0, Some((run_mm, all_round)));
    }

    /// Fastened without a weld.
    pub fn fasten(&mut self, kind: JointKind, parts: [PartRef; 2], place: Point) {
        let angle = match parts {
            [PartRef::Member(member), onto] => self.angle(member, onto),
            _ => 90.0,
        };
        self.joints.push(Joint { kind, parts, place, angle_deg: angle, mitred: false });
        self.seams.push(None);
    }

    fn join(&mut self, part: PartRef, onto: PartRef, place: Point, angle: f64, run: Option<(f64, bool)>) {
        let leg = fillet_leg_mm(self.thickness_mm(part), self.thickness_mm(onto));
        let seam =
            run.map(|(run_mm, all_round)| Seam { kind: super::WeldKind::Fillet, run_mm, size_mm: leg, all_round });
        self.push([part, onto], place, angle, false, seam);
    }

    /// Parts of unlike metals, and wood, are bolted or riveted, whatever was asked for.
    fn push(&mut self, parts: [PartRef; 2], place: Point, angle_deg: f64, mitred: bool, seam: Option<Seam>) {
        let metals = parts.map(|part| self.metal(part));
        let seam = if metals[0].is_some() && metals[0] == metals[1] { seam } else { None };
        let kind = if seam.is_some() { JointKind::Welded } else { JointKind::Bolted };
        self.joints.push(Joint { kind, parts, place, angle_deg, mitred });
        self.seams.push(seam);
    }

    fn angle(&self, member: usize, onto: PartRef) -> f64 {
        let direction = self.members[member].direction().0;
        match onto {
            PartRef::Member(other) => angle_between_deg(direction, self.members[other].direction().0),
            _ => 90.0,
        }
    }

    fn metal(&self, part: PartRef) -> Option<Metal> {
        match part {
            PartRef::Member(member) => Some(self.members[member].grade.metal()),
            PartRef::Panel(panel) if self.panels[panel].material.is_wood() => None,
            PartRef::Panel(panel) if self.panels[panel].material.is_aluminium() => Some(Metal::Aluminium),
            PartRef::Panel(_) => Some(Metal::Steel),
            PartRef::Fitting(_) => None,
        }
    }

    fn thickness_mm(&self, part: PartRef) -> f64 {
        match part {
            PartRef::Member(member) => self.members[member].section.wall_mm(),
            PartRef::Panel(panel) => self.panels[panel].thickness_mm,
            PartRef::Fitting(_) => f64::INFINITY,
        }
    }

    /// Plate that can be welded to this member.
    pub fn plate_material(&self, member: usize) -> SheetMaterial {
        match self.members[member].grade.metal() {
            Metal::Steel => SheetMaterial::SheetSteel,
            Metal::Aluminium => SheetMaterial::SheetAluminium,
        }
    }

    /// Plain sheet that can be welded to the frame.
    pub fn sheet_like_frame(&self) -> SheetMaterial {
        match self.design.frame.grade.metal() {
            Metal::Steel => SheetMaterial::SheetSteel,
            Metal::Aluminium => SheetMaterial::SheetAluminium,
        }
    }

    /// Sizes in which a sheet can be bought.
    pub fn stock(&self, material: SheetMaterial, thickness_mm: f64) -> Vec<SheetStock> {
        sheet_stock(self.book, material, thickness_mm)
    }

    /// The member of such a role whose side or end is at this point, within its own section.
    pub fn beside(&self, point: Point, role: impl Fn(Role) -> bool) -> Option<usize> {
        let off = |index: usize| {
            let member = &self.members[index];
            let (direction, length) = member.direction();
            let offset = [0, 1, 2].map(|axis| point[axis] - member.from[axis]);
            let along = dot(offset, direction).max(0.0).min(length);
            let nearest = moved(member.from, direction, along);
            let away = [0, 1, 2].map(|axis| point[axis] - nearest[axis]);
            dot(away, away).sqrt()
        };
        let reach = |index: usize| {
            let section = &self.members[index].section;
            section.depth_mm().hypot(section.width_mm())
        };
        let near =
            (0..self.members.len()).filter(|&index| role(self.members[index].role) && off(index) <= reach(index));
        near.min_by(|&a, &b| off(a).total_cmp(&off(b)))
    }

    /// A cap on every end that was left to be capped.
    pub fn cap_ends(&mut self) {
        for index in 0..self.members.len() {
            for end in [Cut::From, Cut::To] {
                if self.members[index].cuts[end as usize].capped {
                    self.cap(index, end);
                }
            }
        }
    }

    fn cap(&mut self, index: usize, end: Cut) {
        let (member, place) = (&self.members[index], self.end(index, end));
        let (direction, _) = member.direction();
        let outwards = if end == Cut::From { direction.map(|part| -part) } else { direction };
        let cut = member.cuts[end as usize];
        let stretch = 1.0 / cut.angle_deg.to_radians().cos().max(0.1);
        let (depth, width, axis) = (member.section.depth_mm(), member.section.width_mm(), member.depth_axis);
        let (depth, width) = match cut.plane {
            super::CutPlane::Depth => (depth * stretch, width),
            super::CutPlane::Width => (depth, width * stretch),
        };
        let cap = self.plate(Plate {
            role: PanelRole::Cap,
            group: self.members[index].group,
            material: self.plate_material(index),
            thickness_mm: CAP_MM,
            length_mm: depth,
            width_mm: width,
            centre: moved(place, outwards, CAP_MM / 2.0),
            along: axis,
            across: cross(axis, outwards),
            grain: Grain::Any,
        });
        let run = cut_outline_mm(self.members[index].section, cut);
        self.weld_plate(cap, PartRef::Member(index), place, run, true);
    }

    /// A hole in a plate, from its corner.
    pub fn drill_plate(&mut self, panel: usize, along_mm: f64, across_mm: f64, diameter_mm: f64, purpose: HolePurpose) {
        self.panels[panel].holes.push(Hole {
            along_mm,
            across_mm,
            diameter_mm,
            face: Face::Top,
            through: true,
            purpose,
        });
    }
}

/// Members stand upright unless they are vertical themselves.
pub fn upright(direction: Point) -> Point {
    if direction[2].abs() > 0.9 { super::vector::REARWARD } else { UP }
}
