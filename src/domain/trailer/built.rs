//! What follows from a spec: members, joints, welds, panels and fittings, each at its place.
//!
//! Axes: origin at the coupling centre's foot on level ground; x rearwards, y to the right facing the way of travel, z up.
//! The bed's front edge is at x = drawbar length. Millimetres, kilograms, degrees.

use serde::{Deserialize, Serialize};

use crate::domain::{
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
    /// Centres of the cross-members, front to rear.
    pub cross_member_x_mm: Vec<f64>,
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

/// A piece of section, straight, with both ends cut.
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

choice! { CutPlane { Depth = "depth" / "across the depth", Width = "width" / "across the width" } }
choice! { LongPoint { Top = "top" / "top", Bottom = "bottom" / "bottom" } }

/// How an end is cut: tilt from square, the side of the section that the cut crosses, and where the long point is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct EndCut {
    pub angle_deg: f64,
    pub plane: CutPlane,
    pub long_point: LongPoint,
    /// Closed by a cap (with the vent that galvanising asks for) rather than welded to another member.
    pub capped: bool,
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

/// A hole through one wall (or both) of a member, or through a plate.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Hole {
    /// Along the member from its `from` end, or along the plate's length.
    pub along_mm: f64,
    /// From the middle of the face, or along the plate's width.
    pub across_mm: f64,
    pub diameter_mm: f64,
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
        Mudguard = "mudguard" / "mudguard sheet",
        CouplingPlate = "coupling-plate" / "coupling plate",
        HangerPlate = "hanger-plate" / "hanger plate",
        SpringSeat = "spring-seat" / "spring seat",
        AxlePlate = "axle-plate" / "axle bracket plate",
        PinPlate = "pin-plate" / "pin plate",
        Gusset = "gusset" / "gusset",
        LampBracket = "lamp-bracket" / "lamp bracket",
        RampLug = "ramp-lug" / "ramp lug",
        Cap = "cap" / "end cap",
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
