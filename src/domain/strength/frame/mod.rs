//! A 3-D frame of straight beams: displacements, reactions, forces and moments along every beam. Values in, values out; newtons,
//! millimetres, radians, megapascals.
//!
//! Two-node beams of 12 degrees of freedom (Euler–Bernoulli; Timoshenko where shear areas are given), their ends held to
//! nodes over rigid offsets, with releases; springs between nodes; supports held or sprung, shared between places where a lever or
//! a leaf spring shares them. Source: the direct stiffness method as in any textbook of matrix structural analysis.

mod along;
mod beam;
mod envelope;
mod model;
mod problem;
mod solve;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod textbook;
pub mod vector;

pub use along::{Forces, Run, peaks};
pub use beam::{Axes, Local};
pub use model::{Beam, BeamLoad, End, Frame, FrameFault, Link, Load, Node, NodeLoad, Place, Six, Stiffness, Support};
pub use problem::{Answer, Named, Problem, answer};
pub use solve::{Solution, Solver};
