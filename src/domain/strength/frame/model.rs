//! What a frame is made of, and what loads it.

use serde::{Deserialize, Serialize};

use super::vector::{V3, norm, sub};

/// Forces before moments, translations before rotations: x, y, z, about x, about y, about z.
pub type Six = [f64; 6];

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Frame {
    pub nodes: Vec<Node>,
    pub beams: Vec<Beam>,
    pub links: Vec<Link>,
    pub supports: Vec<Support>,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Node {
    /// mm.
    pub place: V3,
    /// Held without give.
    #[serde(default)]
    pub held: [bool; 6],
}

/// A straight beam. Its local x runs from its first end to its second, z along `up` as far as that stands across, y = z × x.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Beam {
    pub ends: [End; 2],
    pub up: V3,
    pub stiffness: Stiffness,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct End {
    pub node: usize,
    /// Rigid, from the node to the beam's end, mm.
    #[serde(default)]
    pub offset: V3,
    /// In the beam's own axes.
    #[serde(default)]
    pub released: [bool; 6],
}

/// MPa, mm², mm⁴. `iy` resists bending along `up` (about the local y).
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stiffness {
    pub e: f64,
    pub g: f64,
    pub area: f64,
    pub iy: f64,
    pub iz: f64,
    pub j: f64,
    /// Shear areas for forces along the local y and z: Timoshenko; none: shear does not deform it.
    #[serde(default)]
    pub shear: Option<[f64; 2]>,
}

/// Springs between two nodes at one place: N/mm and N mm/rad along the frame's axes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Link {
    pub nodes: [usize; 2],
    pub place: V3,
    pub stiffness: Six,
}

/// A spring to the ground that pushes at several places by fixed shares, as a leaf spring does on its two hangers.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Support {
    pub places: Vec<Place>,
    /// Unit vector.
    pub along: V3,
    /// N/mm.
    pub stiffness: f64,
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Place {
    pub node: usize,
    /// Rigid, from the node, mm.
    #[serde(default)]
    pub offset: V3,
    pub share: f64,
}

/// One set of loads.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Load {
    pub nodes: Vec<NodeLoad>,
    pub beams: Vec<BeamLoad>,
}

/// N and N mm along the frame's axes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NodeLoad {
    pub node: usize,
    pub force: V3,
    #[serde(default)]
    pub moment: V3,
}

/// On a beam's line, along the frame's axes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum BeamLoad {
    /// N and N mm at `at` mm from the first end.
    Point {
        beam: usize,
        at: f64,
        force: V3,
        #[serde(default)]
        moment: V3,
    },
    /// N/mm, from the first value at `from` straight to the second at `to` (mm from the first end).
    Line { beam: usize, from: f64, to: f64, per_mm: [V3; 2] },
}

impl BeamLoad {
    pub const fn beam(&self) -> usize {
        match self {
            Self::Point { beam, .. } | Self::Line { beam, .. } => *beam,
        }
    }
}

/// Why a frame cannot be solved.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FrameFault {
    #[error("{what} {index}: {why}")]
    Wrong { what: &'static str, index: usize, why: String },
    /// A part of the frame can move without a force.
    #[error("the frame is a mechanism: node {node} can {motion} without a force; hold it or join it stiffly")]
    Mechanism { node: usize, motion: &'static str },
}

impl Frame {
    pub fn end_place(&self, end: &End) -> V3 {
        let node = self.nodes.get(end.node).map_or([0.0; 3], |node| node.place);
        super::vector::add(node, end.offset)
    }

    pub fn beam_length(&self, beam: &Beam) -> f64 {
        norm(sub(self.end_place(&beam.ends[1]), self.end_place(&beam.ends[0])))
    }

    /// Every index and figure that a file can get wrong.
    ///
    /// # Errors
    /// The first fault.
    pub fn validate(&self) -> Result<(), FrameFault> {
        let wrong = |what, index, why: &str| Err(FrameFault::Wrong { what, index, why: why.into() });
        let known = |node: usize| node < self.nodes.len();
        for (index, node) in self.nodes.iter().enumerate() {
            if !node.place.iter().all(|along| along.is_finite()) {
                return wrong("node", index, "its place must be three finite numbers");
            }
        }
        for (index, beam) in self.beams.iter().enumerate() {
            if !beam.ends.iter().all(|end| known(end.node)) {
                return wrong("beam", index, "it ends at a node that does not exist");
            }
            let length = self.beam_length(beam);
            if !(length.is_finite() && length > 1e-6) {
                return wrong("beam", index, "its ends must lie apart");
            }
            let s = &beam.stiffness;
            let shear = s.shear.map_or([1.0; 2], |areas| areas);
            if ![s.e, s.g, s.area, s.iy, s.iz, s.j, shear[0], shear[1]].iter().all(|v| v.is_finite() && *v > 0.0) {
                return wrong("beam", index, "e, g, area, iy, iz, j and shear areas must be above 0");
            }
        }
        for (index, link) in self.links.iter().enumerate() {
            if !link.nodes.iter().all(|node| known(*node)) {
                return wrong("link", index, "it joins a node that does not exist");
            }
            if !link.stiffness.iter().all(|k| k.is_finite() && *k >= 0.0) {
                return wrong("link", index, "its stiffness must be six numbers of 0 or more");
            }
        }
        for (index, support) in self.supports.iter().enumerate() {
            if !support.places.iter().all(|place| known(place.node) && place.share.is_finite()) {
                return wrong("support", index, "it stands at a node that does not exist");
            }
            if !(support.stiffness.is_finite() && support.stiffness > 0.0) {
                return wrong("support", index, "its stiffness must be above 0");
            }
            if (norm(support.along) - 1.0).abs() > 1e-6 {
                return wrong("support", index, "along must be a unit vector");
            }
        }
        Ok(())
    }

    /// The same for a load on this frame.
    ///
    /// # Errors
    /// The first fault.
    pub fn validate_load(&self, load: &Load) -> Result<(), FrameFault> {
        let wrong = |what, index, why: &str| Err(FrameFault::Wrong { what, index, why: why.into() });
        let finite = |vector: &V3| vector.iter().all(|part| part.is_finite());
        for (index, on) in load.nodes.iter().enumerate() {
            if on.node >= self.nodes.len() || !finite(&on.force) || !finite(&on.moment) {
                return wrong("node load", index, "it needs a node of the frame, and finite force and moment");
            }
        }
        for (index, on) in load.beams.iter().enumerate() {
            let Some(beam) = self.beams.get(on.beam()) else {
                return wrong("beam load", index, "it lies on a beam that does not exist");
            };
            let most = self.beam_length(beam) + 1e-6;
            let well = match on {
                BeamLoad::Point { at, force, moment, .. } => {
                    (0.0..=most).contains(at) && finite(force) && finite(moment)
                }
                BeamLoad::Line { from, to, per_mm, .. } => {
                    (0.0..=most).contains(from) && (*from..=most).contains(to) && per_mm.iter().all(finite)
                }
            };
            if !well {
                return wrong("beam load", index, "it must lie on its beam and be finite");
            }
        }
        Ok(())
    }
}
