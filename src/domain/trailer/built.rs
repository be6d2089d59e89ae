//! What follows from a spec: members, joints, welds, panels and fittings, each at its place.
//!
//! Axes: origin at the coupling centre's foot on level ground; x rearwards, y to the right facing the way of travel, z up.
//! The bed's front edge is at x = drawbar length. Millimetres, kilograms, degrees.

use serde::{Deserialize, Serialize};

use crate::{
    choice::choice,
    measure::Tenths,
    shop::{ChosenPart, PartClass},
    steel::{Grade, Section, SheetMaterial},
};

/// x, y, z in millimetres.
pub type Point = [f64; 3];

/// The one geometric truth: cut list, masses, frame analysis, drawings and weld lengths are all read from this.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Trailer {
    pub layout: Layout,
    pub members: Vec<Member>,
    pub joints: Vec<Joint>,
    pub welds: Vec<Weld>,
    pub panels: Vec<Panel>,
    pub fittings: Vec<Fitting>,
    /// Lengths of lamp cable and of its branches.
    pub wiring: Vec<CableRun>,
}

/// The places that everything else hangs on.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Layout {
    pub coupling_height_mm: f64,
    pub drawbar_length_mm: f64,
    pub bed_front_x_mm: f64,
    pub bed_rear_x_mm: f64,
    /// Outside width of the bed frame.
    pub bed_width_mm: f64,
    pub deck_top_z_mm: f64,
    pub frame_top_z_mm: f64,
    pub frame_bottom_z_mm: f64,
    /// Middle of the axle or of the pair.
    pub axle_x_mm: f64,
    /// Each axle.
    pub axles_x_mm: Vec<f64>,
    pub axle_z_mm: f64,
    pub track_mm: f64,
    pub wheel_radius_mm: f64,
    pub tyre_width_mm: f64,
    pub overall_length_mm: f64,
    pub overall_width_mm: f64,
    pub overall_height_mm: f64,
    /// Largest permitted distance between cross-member centres: asked, or by the deck's span.
    pub largest_pitch_mm: f64,
    /// Centres of the cross-members, front to rear, the end rails left out.
    pub cross_member_x_mm: Vec<f64>,
    /// Joints of the deck's sheets across the bed, each on a cross-member.
    pub deck_joint_x_mm: Vec<f64>,
    /// Joints of the deck's sheets along the bed.
    pub deck_joint_y_mm: Vec<f64>,
    pub drawbar: DrawbarLayout,
    /// Where the suspension is fastened to the frame, on the frame's underside.
    pub mounts: Vec<Mount>,
    /// Underside of the frame above the hubs, standing empty.
    pub mount_height_mm: f64,
    /// Highest point of the tyre with the suspension on its stop.
    pub tyre_top_at_bump_z_mm: f64,
    /// A tyre would touch a rail before the suspension reaches its stop, and no wheel box helps.
    pub tyres_meet_rails: bool,
    /// Where tyres come through the deck.
    pub wheel_boxes: Vec<WheelBox>,
    pub ramp_stowage: Option<RampStowage>,
}

/// The drawbar is straight and level; the coupling is raised or lowered against it on its plate.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct DrawbarLayout {
    /// Front end of the drawbar behind the coupling centre.
    pub nose_x_mm: f64,
    /// Centre line above the ground.
    pub z_mm: f64,
    pub top_z_mm: f64,
    pub bottom_z_mm: f64,
    /// Where it ends under, at or in the bed, on its centre line.
    pub end_x_mm: f64,
    /// Centre line at the nose and at the end, of the right leg of an A-frame; zero for a pole.
    pub nose_y_mm: f64,
    pub end_y_mm: f64,
    /// Centre of the cross-member that bears its end; none where a rail does.
    pub station_x_mm: Option<f64>,
    /// Half of the included angle of an A-frame, degrees; zero for a pole.
    pub half_angle_deg: f64,
    /// The right leg meets the line of the side rails ahead of the bed: too wide an angle or too short a drawbar.
    pub legs_miss_bed: bool,
    /// Coupling centre above the drawbar's centre line; the coupling's plate must bridge it.
    pub coupling_rise_mm: f64,
    pub telescope: Option<Telescope>,
}

/// Inner and outer tube of a telescopic drawbar, pushed in (the trailer is built at its shortest).
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Telescope {
    pub inner_from_x_mm: f64,
    pub inner_to_x_mm: f64,
    pub outer_from_x_mm: f64,
    /// Of the inner in the outer, pushed in and pulled out to the last pin.
    pub overlap_in_mm: f64,
    pub overlap_out_mm: f64,
    /// The pin's place on the outer.
    pub pin_x_mm: f64,
    /// How far each pin hole lets the drawbar out.
    pub pin_steps_mm: Vec<f64>,
    /// Clearance on each side between the inner's outside and the outer's inside, across the depth and the width; negative
    /// when it does not go in.
    pub clearance_mm: [f64; 2],
}

choice! {
    MountKind {
        FrontHanger = "front-hanger" / "front spring hanger",
        RearHanger = "rear-hanger" / "rear spring hanger",
        Equaliser = "equaliser" / "equaliser hanger",
        AxleBracket = "axle-bracket" / "torsion axle bracket",
        LinkMount = "link-mount" / "link mount",
        SpringSeat = "spring-seat" / "spring seat",
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Mount {
    pub kind: MountKind,
    /// Index into [`Layout::axles_x_mm`]; the first of the two that an equaliser joins.
    pub axle: usize,
    pub place: Point,
}

/// The box over a tyre that comes through the deck.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct WheelBox {
    pub from_x_mm: f64,
    pub to_x_mm: f64,
    pub from_y_mm: f64,
    pub to_y_mm: f64,
    pub top_z_mm: f64,
}

/// Where a loose ramp rides: pushed in from the rear, under the cross-members.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct RampStowage {
    pub top_z_mm: f64,
    pub bottom_z_mm: f64,
    /// Free from the rear end rail forwards to the first thing in the way.
    pub free_length_mm: f64,
}

choice! {
    /// What a member, panel or fitting belongs to; masses and hours are grouped by it.
    Group {
        Frame = "frame" / "bed frame",
        Drawbar = "drawbar" / "drawbar",
        RunningGear = "running-gear" / "running gear",
        Deck = "deck" / "deck",
        Sides = "sides" / "sides and front",
        Loading = "loading" / "ramp and loading",
        Towing = "towing" / "towing parts",
        Electrics = "electrics" / "electrics",
        Fittings = "fittings" / "fittings",
        Finish = "finish" / "finish",
    }
}

choice! {
    Role {
        SideRail = "side-rail" / "side rail",
        EndRail = "end-rail" / "end rail",
        CrossMember = "cross-member" / "cross-member",
        Trimmer = "trimmer" / "wheel-box trimmer",
        Pole = "pole" / "drawbar pole",
        Leg = "leg" / "drawbar leg",
        Inner = "inner" / "telescopic inner tube",
        Post = "post" / "post",
        TopRail = "top-rail" / "top rail",
        MidRail = "mid-rail" / "middle rail",
        RampStile = "ramp-stile" / "ramp stile",
        RampRung = "ramp-rung" / "ramp rung",
        RampCarrier = "ramp-carrier" / "ramp carrier",
        PropLeg = "prop-leg" / "prop-stand leg",
        GuidePole = "guide-pole" / "reversing guide pole",
        MudguardStay = "mudguard-stay" / "mudguard stay",
        SpareArm = "spare-arm" / "spare wheel arm",
        WinchPost = "winch-post" / "winch post",
        Bumper = "bumper" / "rear bumper",
    }
}

/// A piece of section, straight, with both ends cut. Its section is drawn as seen along the member with the depth axis up:
/// the section's across points to the right, direction × depth axis.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Member {
    /// Identical members share a mark; a mirrored pair has marks that end in L and R.
    pub mark: String,
    pub role: Role,
    pub group: Group,
    pub section: Section,
    pub grade: Grade,
    /// Ends of the centre line (through the section's centroid), to the long points.
    pub from: Point,
    pub to: Point,
    /// The section's depth axis: a unit vector across the member (usually up).
    pub depth_axis: Point,
    /// At `from` and at `to`.
    pub cuts: [EndCut; 2],
    /// Long-point length.
    pub length: Tenths,
    pub holes: Vec<Hole>,
}

impl Layout {
    pub fn bed_length_mm(&self) -> f64 {
        self.bed_rear_x_mm - self.bed_front_x_mm
    }
}

choice! { CutPlane { Depth = "depth" / "across the depth", Width = "width" / "across the width" } }
choice! { LongPoint { Top = "top" / "top", Bottom = "bottom" / "bottom" } }

/// How an end is cut: tilt from square, the side of the section that the cut crosses, and where the long point is.
///
/// Seen along the member from `from` to `to` with the depth axis up, the top of the depth plane is up, and the top of the
/// width plane is to the left: towards depth axis × direction.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct EndCut {
    pub angle_deg: f64,
    pub plane: CutPlane,
    pub long_point: LongPoint,
    /// Closed by a cap (with the vent that galvanising asks for) rather than welded to another member.
    pub capped: bool,
}

/// Which end of a member, and the index of its cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cut {
    From = 0,
    To = 1,
}

impl EndCut {
    pub const SQUARE: Self = Self { angle_deg: 0.0, plane: CutPlane::Width, long_point: LongPoint::Top, capped: false };
}

choice! {
    HolePurpose {
        Bolt = "bolt" / "bolt",
        Pin = "pin" / "pin",
        Vent = "vent" / "vent or drain",
        Cable = "cable" / "cable",
        Fixing = "fixing" / "deck fixing",
    }
}

choice! {
    /// Seen along the member from `from` to `to` with the depth axis up.
    Face { Top = "top" / "top", Bottom = "bottom" / "bottom", Left = "left" / "left", Right = "right" / "right" }
}

/// A hole through one wall (or both) of a member, or through a plate.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Hole {
    /// Along the member from its `from` end, or along the plate's length.
    pub along_mm: f64,
    /// From the middle line of the face (on top and bottom to the left, on the sides upwards), or along the plate's width.
    pub across_mm: f64,
    pub diameter_mm: f64,
    /// Of a member; a plate is drilled from its top.
    pub face: Face,
    pub through: bool,
    pub purpose: HolePurpose,
}

choice! {
    JointKind { Welded = "welded" / "welded", Bolted = "bolted" / "bolted", Pinned = "pinned" / "pinned", Sliding = "sliding" / "sliding" }
}

/// Where one member meets another, or a plate meets a member.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Joint {
    pub kind: JointKind,
    /// The part that ends or lies here, then the one that it meets.
    pub parts: [PartRef; 2],
    pub place: Point,
    /// Angle between the two centre lines, degrees (90 = square).
    pub angle_deg: f64,
    /// Fit-up takes longer at a mitre.
    pub mitred: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PartRef {
    /// Index into [`Trailer::members`].
    Member(usize),
    /// Index into [`Trailer::panels`].
    Panel(usize),
    /// Index into [`Trailer::fittings`].
    Fitting(usize),
}

choice! { WeldKind { Fillet = "fillet" / "fillet", Butt = "butt" / "butt" } }

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Weld {
    /// As on the weld map: W1, W2 …
    pub number: u32,
    /// Index into [`Trailer::joints`].
    pub joint: usize,
    pub kind: WeldKind,
    pub run_mm: f64,
    /// Leg of a fillet, thickness of a butt.
    pub size_mm: f64,
    pub all_round: bool,
    pub place: Point,
}

choice! {
    PanelRole {
        Deck = "deck" / "deck sheet",
        Side = "side" / "side sheet",
        Front = "front" / "front sheet",
        Tailgate = "tailgate" / "tailgate sheet",
        RampSheet = "ramp-sheet" / "ramp sheet",
        WheelBox = "wheel-box" / "wheel-box sheet",
        Mudguard = "mudguard" / "mudguard sheet",
        CouplingPlate = "coupling-plate" / "coupling plate",
        HangerPlate = "hanger-plate" / "hanger plate",
        SpringSeat = "spring-seat" / "spring seat",
        AxlePlate = "axle-plate" / "axle bracket plate",
        PinPlate = "pin-plate" / "pin plate",
        Gusset = "gusset" / "gusset",
        Bracket = "bracket" / "bracket",
        LampBracket = "lamp-bracket" / "lamp bracket",
        RampLug = "ramp-lug" / "ramp lug",
        Cap = "cap" / "end cap",
    }
}

impl PanelRole {
    /// How far a fold bends a sheet of this role down.
    pub const fn fold_deg(self) -> f64 {
        match self {
            Self::Mudguard => 50.0,
            Self::RampSheet => 20.0,
            _ => 90.0,
        }
    }
}

choice! { Grain { Any = "any" / "any", Length = "length" / "along the length", Width = "width" / "along the width" } }

/// A flat part: sheet, board or plate.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Panel {
    pub mark: String,
    pub role: PanelRole,
    pub group: Group,
    pub material: SheetMaterial,
    pub thickness_mm: f64,
    /// Flat size, folds laid out: what is cut from the sheet.
    pub length: Tenths,
    pub width: Tenths,
    pub grain: Grain,
    /// Centre of the panel as built.
    pub centre: Point,
    /// Unit vectors along its length and its width as built.
    pub along: Point,
    pub across: Point,
    /// Taken out of the rectangle: x, y, length, width from its corner, millimetres.
    pub cut_outs: Vec<[f64; 4]>,
    /// Fold lines, across the length at these places.
    pub folds_mm: Vec<f64>,
    pub holes: Vec<Hole>,
}

/// A bought-in part at its place (or places).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Fitting {
    pub group: Group,
    pub class: PartClass,
    pub part: ChosenPart,
    /// Centre of mass of each piece; its length is the count.
    pub places: Vec<Point>,
    /// Moves with the axle when the axle's place is sought.
    pub moves_with_axle: bool,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CableRun {
    pub name: String,
    pub cores: u32,
    pub length_mm: f64,
}

impl Member {
    /// Unit vector from `from` to `to`, and the distance between them; zero-length members point rearwards.
    pub fn direction(&self) -> (Point, f64) {
        let d = [self.to[0] - self.from[0], self.to[1] - self.from[1], self.to[2] - self.from[2]];
        let length = (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt();
        if length > 0.0 { (d.map(|part| part / length), length) } else { ([1.0, 0.0, 0.0], 0.0) }
    }

    pub fn middle(&self) -> Point {
        [0, 1, 2].map(|axis| (self.from[axis] + self.to[axis]) / 2.0)
    }

    /// Length that carries mass: long-point length less half of what each mitre takes off.
    pub fn mean_length_mm(&self) -> f64 {
        let lost = self.cuts.iter().map(|cut| {
            let side = match cut.plane {
                CutPlane::Depth => self.section.depth_mm(),
                CutPlane::Width => self.section.width_mm(),
            };
            side * cut.angle_deg.to_radians().tan() / 2.0
        });
        self.length.mm() - lost.sum::<f64>()
    }
}

impl Panel {
    pub fn area_mm2(&self) -> f64 {
        let cut_outs: f64 = self.cut_outs.iter().map(|[_, _, length, width]| length * width).sum();
        self.length.mm() * self.width.mm() - cut_outs
    }
}
