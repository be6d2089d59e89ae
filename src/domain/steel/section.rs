//! A section: its kind and dimensions, and for a hollow one the standard that fixes its corners.

use std::{borrow::Cow, fmt};

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::{
    choice::choice,
    measure::{Length, ReadFault, write_mm},
};

choice! {
    /// The shape of a section.
    SectionKind {
        Shs = "shs" / "square hollow section",
        Rhs = "rhs" / "rectangular hollow section",
        Chs = "chs" / "circular hollow section",
        Angle = "angle" / "angle",
        Channel = "channel" / "channel",
        Flat = "flat" / "flat bar",
        Round = "round" / "round bar",
        Square = "square" / "square bar",
    }
}

impl SectionKind {
    pub const fn is_hollow(self) -> bool {
        matches!(self, Self::Shs | Self::Rhs | Self::Chs)
    }

    /// How a size of this kind is written.
    pub const fn example(self) -> &'static str {
        match self {
            Self::Shs => "shs 50x50x3",
            Self::Rhs => "rhs 100x50x3",
            Self::Chs => "chs 48.3x3.2",
            Self::Angle => "angle 50x50x5",
            Self::Channel => "channel 80x45x6x8 (depth, width, web, flange), channel 80x40x3 (pressed) or upn 80",
            Self::Flat => "flat 50x5",
            Self::Round => "round 20",
            Self::Square => "square 25",
        }
    }
}

choice! {
    /// The standard of a hollow section: it fixes the corner radii, and for A500 the wall that may be reckoned with.
    Standard {
        En10219 = "en10219" / "EN 10219-2, cold-formed",
        En10210 = "en10210" / "EN 10210-2, hot-finished",
        Is4923 = "is4923" / "IS 4923",
        A500 = "a500" / "ASTM A500",
    }
}

/// A section as it is named and ordered. The first dimension is its depth and stands upright; `rhs 50x100x3` is `rhs 100x50x3`
/// lying down. In JSON it is its name: `"rhs 100x50x3"`, `"rhs 100x50x3 en10210"`.
///
/// Only geometrically possible sections exist: the fields are private and checked by the constructors and by `FromStr`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Section {
    kind: SectionKind,
    depth: Length,
    width: Length,
    wall: Length,
    /// Of a channel; of every other kind the same as the wall.
    flange: Length,
    /// Of a hollow section alone.
    standard: Option<Standard>,
}

/// Why there is no such section.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SectionFault {
    #[error("no section was entered: type its kind and size, such as rhs 100x50x3")]
    Empty,
    #[error(
        "“{0}” is not a kind of section: use shs, rhs, chs, angle, channel, flat, round or square, such as rhs 100x50x3"
    )]
    UnknownKind(String),
    #[error("“{text}” is not the size of {} section: write {}", article(.kind.word()), .kind.example())]
    Size { text: String, kind: SectionKind },
    #[error("the size of the {kind}: {fault}")]
    Dimension { kind: SectionKind, fault: ReadFault },
    #[error("the {what} of the {kind} is {} mm: it must be from {} to {} mm (write in after a size in inches)", write_mm(*.found), write_mm(*.least), write_mm(*.most))]
    OutOfRange { kind: SectionKind, what: &'static str, found: Length, least: Length, most: Length },
    #[error("a wall of {} mm is too thick for the {kind}, its sides and corners leave room for less than {:.1} mm", write_mm(*.wall), .most.mm())]
    TooThick { kind: SectionKind, wall: Length, most: Length },
    #[error("the sides of a square hollow section are equal: write rhs for {} × {} mm", write_mm(*.depth), write_mm(*.width))]
    Unequal { depth: Length, width: Length },
    #[error("{} is a standard of hollow sections; the {kind} takes none", .standard.label())]
    StandardNotFor { kind: SectionKind, standard: Standard },
}

fn article(word: &str) -> String {
    if word.starts_with('a') || word == "rhs" { format!("an {word}") } else { format!("a {word}") }
}

const LARGEST: Length = Length::from_nm(1_000_000_000);

impl Section {
    /// # Errors
    /// A dimension out of range, or a wall that the sides leave no room for.
    pub fn shs(side: Length, wall: Length, standard: Standard) -> Result<Self, SectionFault> {
        Self::new(SectionKind::Shs, [side, side, wall, wall], Some(standard))
    }

    /// `depth` stands upright.
    ///
    /// # Errors
    /// A dimension out of range, or a wall that the sides leave no room for.
    pub fn rhs(depth: Length, width: Length, wall: Length, standard: Standard) -> Result<Self, SectionFault> {
        Self::new(SectionKind::Rhs, [depth, width, wall, wall], Some(standard))
    }

    /// # Errors
    /// A dimension out of range, or a wall that the diameter leaves no room for.
    pub fn chs(diameter: Length, wall: Length, standard: Standard) -> Result<Self, SectionFault> {
        Self::new(SectionKind::Chs, [diameter, diameter, wall, wall], Some(standard))
    }

    /// A hot-rolled angle; `depth` is the upright leg.
    ///
    /// # Errors
    /// A dimension out of range, or too thick for its legs.
    pub fn angle(depth: Length, width: Length, thickness: Length) -> Result<Self, SectionFault> {
        Self::new(SectionKind::Angle, [depth, width, thickness, thickness], None)
    }

    /// A channel, its web upright. Web and flange of one thickness: pressed from sheet with parallel flanges; otherwise
    /// hot-rolled with tapered flanges.
    ///
    /// # Errors
    /// A dimension out of range, or too thick for its sides.
    pub fn channel(depth: Length, width: Length, web: Length, flange: Length) -> Result<Self, SectionFault> {
        Self::new(SectionKind::Channel, [depth, width, web, flange], None)
    }

    /// A flat bar on edge; with the smaller dimension first it lies flat.
    ///
    /// # Errors
    /// A dimension out of range.
    pub fn flat(depth: Length, thickness: Length) -> Result<Self, SectionFault> {
        Self::new(SectionKind::Flat, [depth, thickness, depth.min(thickness), depth.min(thickness)], None)
    }

    /// # Errors
    /// The diameter is out of range.
    pub fn round(diameter: Length) -> Result<Self, SectionFault> {
        Self::new(SectionKind::Round, [diameter; 4], None)
    }

    /// # Errors
    /// The side is out of range.
    pub fn square(side: Length) -> Result<Self, SectionFault> {
        Self::new(SectionKind::Square, [side; 4], None)
    }

    fn new(
        kind: SectionKind,
        [depth, width, wall, flange]: [Length; 4],
        standard: Option<Standard>,
    ) -> Result<Self, SectionFault> {
        let section = Self { kind, depth, width, wall, flange, standard };
        let solid = matches!(kind, SectionKind::Flat | SectionKind::Round | SectionKind::Square);
        let least = Length::from_nm(if solid { 1_000_000 } else { 8_000_000 });
        for (what, found) in [("depth", depth), ("width", width)] {
            if !(least..=LARGEST).contains(&found) {
                return Err(SectionFault::OutOfRange { kind, what, found, least, most: LARGEST });
            }
        }
        if solid {
            return Ok(section);
        }
        let thinnest = Length::from_nm(500_000);
        for (what, found) in [("wall thickness", wall), ("flange thickness", flange)] {
            if !(thinnest..=LARGEST).contains(&found) {
                return Err(SectionFault::OutOfRange { kind, what, found, least: thinnest, most: LARGEST });
            }
        }
        let smaller = depth.min(width).mm();
        let too_thick = |wall, most| Err(SectionFault::TooThick { kind, wall, most: Length::from_mm(most) });
        match kind {
            SectionKind::Shs | SectionKind::Rhs if 2.0 * section.corner_radius_mm() > smaller => {
                too_thick(wall, smaller * wall.mm() / (2.0 * section.corner_radius_mm()))
            }
            SectionKind::Chs | SectionKind::Angle if 2.0 * wall.mm() >= smaller => too_thick(wall, smaller / 2.0),
            SectionKind::Channel if 2.0 * wall.mm() >= width.mm() => too_thick(wall, width.mm() / 2.0),
            SectionKind::Channel if 3.0 * flange.mm() >= depth.mm() => too_thick(flange, depth.mm() / 3.0),
            _ => Ok(section),
        }
    }

    /// From the dimensions as written after the kind.
    pub(super) fn of_dimensions(
        kind: SectionKind,
        dimensions: &[Length],
        standard: Option<Standard>,
    ) -> Option<Result<Self, SectionFault>> {
        let hollow = standard.unwrap_or(Standard::En10219);
        let section = match (kind, dimensions) {
            (SectionKind::Shs, &[side, wall]) => Self::shs(side, wall, hollow),
            (SectionKind::Shs, &[depth, width, wall]) if depth == width => Self::shs(depth, wall, hollow),
            (SectionKind::Shs, &[depth, width, _]) => Err(SectionFault::Unequal { depth, width }),
            (SectionKind::Rhs, &[depth, width, wall]) => Self::rhs(depth, width, wall, hollow),
            (SectionKind::Chs, &[diameter, wall]) => Self::chs(diameter, wall, hollow),
            (SectionKind::Angle, &[leg, thickness]) => Self::angle(leg, leg, thickness),
            (SectionKind::Angle, &[depth, width, thickness]) => Self::angle(depth, width, thickness),
            (SectionKind::Channel, &[depth, width, thickness]) => Self::channel(depth, width, thickness, thickness),
            (SectionKind::Channel, &[depth, width, web, flange]) => Self::channel(depth, width, web, flange),
            (SectionKind::Flat, &[depth, thickness]) => Self::flat(depth, thickness),
            (SectionKind::Round, &[diameter]) => Self::round(diameter),
            (SectionKind::Square, &[side]) => Self::square(side),
            (SectionKind::Square, &[depth, width]) if depth == width => Self::square(depth),
            _ => return None,
        };
        Some(match (section, standard) {
            (Ok(section), Some(standard)) if section.standard.is_none() => {
                Err(SectionFault::StandardNotFor { kind: section.kind, standard })
            }
            (section, _) => section,
        })
    }

    pub const fn kind(&self) -> SectionKind {
        self.kind
    }

    /// Of a hollow section; none for every other kind.
    pub const fn standard(&self) -> Option<Standard> {
        self.standard
    }

    /// The same section to another standard; a section that is not hollow stays as it is.
    ///
    /// # Errors
    /// The corners of the other standard leave no room for the wall.
    pub fn to_standard(self, standard: Standard) -> Result<Self, SectionFault> {
        match self.standard {
            None => Ok(self),
            Some(_) => Self::new(self.kind, [self.depth, self.width, self.wall, self.flange], Some(standard)),
        }
    }

    pub const fn depth(&self) -> Length {
        self.depth
    }

    pub const fn width(&self) -> Length {
        self.width
    }

    /// Wall of a tube, thickness of an angle or flat, web of a channel; of a solid bar its smaller side.
    pub const fn wall(&self) -> Length {
        self.wall
    }

    /// Flange of a channel; for every other kind the same as the wall.
    pub const fn flange(&self) -> Length {
        self.flange
    }

    /// Upright outside dimension.
    pub fn depth_mm(&self) -> f64 {
        self.depth.mm()
    }

    /// Outside dimension across.
    pub fn width_mm(&self) -> f64 {
        self.width.mm()
    }

    /// See [`wall`](Self::wall); nominal.
    pub fn wall_mm(&self) -> f64 {
        self.wall.mm()
    }

    /// The same bar turned by a quarter about its axis. A channel keeps its web as its depth, so it stays as it is.
    pub fn turned(self) -> Self {
        match self.kind {
            SectionKind::Channel => self,
            _ => Self { depth: self.width, width: self.depth, ..self },
        }
    }

    /// The same bar with its larger side upright: the name under which it is bought. A channel stays as it is.
    pub fn upright(self) -> Self {
        if self.width > self.depth { self.turned() } else { self }
    }

    pub const fn is_hollow(&self) -> bool {
        self.kind.is_hollow()
    }

    /// The wall that strength may be reckoned with: 0.93 of the nominal one for A500 (the design wall of the AISC tables,
    /// inferred from 101 of their rows), else the nominal one.
    pub fn design_wall_mm(&self) -> f64 {
        match self.standard {
            Some(Standard::A500) => 0.93 * self.wall_mm(),
            _ => self.wall_mm(),
        }
    }

    /// Outside corner radius with the nominal wall; zero where the kind has none.
    pub fn corner_radius_mm(&self) -> f64 {
        self.corner_radii_mm(self.wall_mm()).0
    }

    /// Outside and inside corner radius of a square or rectangular hollow section with this wall.
    ///
    /// Sources: EN 10219-2 as tabulated at b2bmetal.eu (read; inside radii above 6 mm from memory); EN 10210-2 from memory,
    /// confirmed by 248 published rows; IS 4923 inferred from 40 published masses (walls to 5 mm; above as EN 10219, assumed);
    /// A500 inferred from 101 rows of the AISC tables.
    pub(super) fn corner_radii_mm(&self, wall: f64) -> (f64, f64) {
        let by_wall = |radius: f64| (radius * wall, (radius - 1.0) * wall);
        match (self.kind, self.standard) {
            (SectionKind::Shs | SectionKind::Rhs, Some(standard)) => match standard {
                Standard::En10210 => (1.5 * wall, wall),
                Standard::A500 => by_wall(2.0),
                Standard::En10219 | Standard::Is4923 if wall <= 6.0 => by_wall(2.0),
                Standard::En10219 | Standard::Is4923 if wall <= 10.0 => by_wall(2.5),
                Standard::En10219 | Standard::Is4923 => by_wall(3.0),
            },
            _ => (0.0, 0.0),
        }
    }
}

/// The name under which the section parses back: millimetres with as few decimals as are exact; the standard of a hollow
/// section unless it is EN 10219.
impl fmt::Display for Section {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [depth, width, wall] = [self.depth, self.width, self.wall].map(write_mm);
        let kind = self.kind.word();
        match self.kind {
            SectionKind::Shs | SectionKind::Rhs | SectionKind::Angle => write!(f, "{kind} {depth}x{width}x{wall}")?,
            SectionKind::Chs => write!(f, "{kind} {depth}x{wall}")?,
            SectionKind::Channel if self.wall == self.flange => write!(f, "{kind} {depth}x{width}x{wall}")?,
            SectionKind::Channel => write!(f, "{kind} {depth}x{width}x{wall}x{}", write_mm(self.flange))?,
            SectionKind::Flat => write!(f, "{kind} {depth}x{width}")?,
            SectionKind::Round | SectionKind::Square => write!(f, "{kind} {depth}")?,
        }
        match self.standard {
            Some(standard) if standard != Standard::En10219 => write!(f, " {}", standard.word()),
            _ => Ok(()),
        }
    }
}

impl Serialize for Section {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Section {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
    }
}

impl JsonSchema for Section {
    fn schema_name() -> Cow<'static, str> {
        "Section".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "string",
            "description": "A section by kind and size in millimetres, depth first, with the standard of a hollow one unless it is en10219.",
            "examples": ["rhs 100x50x3", "shs 40x40x3 en10210", "chs 48.3x3.2", "angle 50x50x5", "channel 80x45x6x8", "flat 50x5", "round 20", "square 25"],
        })
    }
}
