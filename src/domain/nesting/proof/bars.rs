//! A tree of cases. Each branching splits the plans by a number of bars; each leaf gives prices at which no plan of its
//! case can cost less than its bound.
//!
//! **What a leaf proves** (weak duality, in whole numbers). Let πₜ be the price of a part of length t, demanded dₜ times,
//! and μₗ the price of a bar that counts in limit l, of which there are at most, or at least, nₗ (μ ≤ 0 for *at most*,
//! μ ≥ 0 for *at least*). A way of cutting a piece of kind k has the reduced cost
//! net cost − Σ π of its parts − Σ μ of the limits in which it counts; let rₖ be the least of all ways. With at most qₖ
//! pieces, every plan of the case costs at least Σ dₜ πₜ + Σ nₗ μₗ + Σ qₖ · min(0, rₖ). This holds for any π, and for
//! any μ of these signs.

use serde::{Deserialize, Serialize};

use crate::domain::measure::Tenths;

/// Money in a proof is in 10⁻⁸ of the currency: 4 decimals of a price × 4 of a tenth of a millimetre in metres.
pub const SCALE: u32 = 8;

#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tree {
    /// [`super::digest`] of the problem.
    pub problem: String,
    /// The different charged lengths that are asked for, longest first; lists of prices follow this order.
    #[serde(rename = "lengths_mm")]
    pub lengths: Vec<Tenths>,
    /// Stock ids of pieces that are alike in length, cost and worth.
    pub kinds: Vec<Vec<String>>,
    /// The whole problem first; a case stands before the two that it is split into.
    pub nodes: Vec<Node>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Node {
    Split(Split),
    /// A leaf closed by prices.
    Prices(Prices),
    /// A leaf closed by the material alone: no piece gives length cheaper than its best ratio of cost to length used.
    Material,
    /// A leaf that holds no plan, as plain counting shows: more bars asked for than there are, or than a limit above it allows.
    Nothing,
}

/// Two cases: the bars of these kinds that hold at least so much are at most `count`, or at least `count` + 1.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Split {
    /// Places in [`Tree::kinds`].
    pub kinds: Vec<u32>,
    /// (place in [`Tree::lengths`], at least so many of it on the bar); empty: every bar of these kinds counts.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub holding: Vec<(u32, u32)>,
    pub count: u32,
    /// Places in [`Tree::nodes`].
    pub at_most: u32,
    pub at_least: u32,
}

#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Prices {
    /// Of one part of each length, in [`SCALE`]; any sign.
    pub parts: Vec<i64>,
    /// Of one bar that counts in each limit from the whole problem down to this case; ≤ 0 for *at most*, ≥ 0 for *at least*.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub limits: Vec<i64>,
}

/// Writes a tree down while it grows. Every case is closed by its material until something better is known of it.
#[derive(Clone, Debug)]
pub struct Recorder {
    tree: Tree,
}

impl Recorder {
    pub fn new(problem: String, lengths: Vec<Tenths>, kinds: Vec<Vec<String>>) -> Self {
        Self { tree: Tree { problem, lengths, kinds, nodes: vec![Node::Material] } }
    }

    /// The place of the whole problem.
    pub const ROOT: usize = 0;

    pub fn close(&mut self, place: usize, leaf: Node) {
        if let Some(node) = self.tree.nodes.get_mut(place) {
            *node = leaf;
        }
    }

    /// Splits a case; returns the places of *at most* and *at least*.
    pub fn split(&mut self, place: usize, kinds: Vec<u32>, holding: Vec<(u32, u32)>, count: u32) -> [usize; 2] {
        let next = self.tree.nodes.len();
        let [at_most, at_least] = [next as u32, next as u32 + 1];
        self.tree.nodes.extend([Node::Material, Node::Material]);
        self.close(place, Node::Split(Split { kinds, holding, count, at_most, at_least }));
        [next, next + 1]
    }

    pub fn into_tree(self) -> Tree {
        self.tree
    }
}
