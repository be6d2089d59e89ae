//! A tree of cases. Each branching splits the plans by a number of bars; prices show that no plan of a case can cost less
//! than its bound.
//!
//! **What prices prove** (weak duality, in whole numbers). Let πₜ be the price of a part of length t, demanded dₜ times,
//! and μₗ the price of a bar that counts in limit l, of which there are at most, or at least, nₗ (μ ≤ 0 for *at most*,
//! μ ≥ 0 for *at least*). A way of cutting a piece of kind k has the reduced cost
//! net cost − Σ π of its parts − Σ μ of the limits in which it counts; let rₖ be the least of all ways, and at most
//! nought. With at most qₖ pieces, every plan of the case costs at least B = Σ dₜ πₜ + Σ nₗ μₗ + Σ qₖ rₖ. This holds for
//! any π, and for any μ of these signs.
//!
//! **Lists.** A way of reduced cost r raises that to B − rₖ + r in every plan that uses it. So plans below a goal use
//! only the ways with B − rₖ + r below it; where these are few they are listed, and the cases below look at the list alone.
//!
//! **Cuts** (Chvátal 1973, Gomory 1958) belong to a list. As every part is cut exactly as often as asked,
//! Σ ⌊Σ u · parts of the bar⌋ over the bars of a plan is at most ⌊Σ u · demand⌋ for any multipliers u ≥ 0; a cut has a price
//! as an upper limit has.

use std::collections::HashMap;

use serde::{Deserialize, Serialize};

use crate::measure::Tenths;

/// Decimals of the money in a proof: 4 of a price, 4 of a tenth of a millimetre in metres, and 2 so that prices that are
/// rounded to whole numbers lose less than two plans can differ by.
pub const SCALE: u32 = 10;

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
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cuts: Vec<Cut>,
    /// The whole problem first; a case stands before those that follow from it.
    pub nodes: Vec<Node>,
}

/// Multipliers u of a cut.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cut {
    /// (place in [`Tree::lengths`], numerator); the rest are nought.
    pub parts: Vec<(u32, u32)>,
    pub denominator: u32,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Node {
    Split(Split),
    Prices(Prices),
    /// A leaf of which no more is known than of the cases above it, and what the material alone costs: no piece gives
    /// length cheaper than its best ratio of cost to length used.
    Open,
    /// A leaf that holds no plan, as plain counting shows: more bars asked for than there are, or than a limit above it allows.
    Nothing,
}

/// Two cases: the bars of these kinds that hold at least so much are at most `count`, or at least `count` + 1.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Split {
    /// Places in [`Tree::kinds`].
    pub kinds: Vec<u32>,
    /// Only bars whose remainder is kept, or only those whose is not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kept: Option<bool>,
    /// (place in [`Tree::lengths`], at least so many of it on the bar); empty: every such bar counts.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub holding: Vec<(u32, u32)>,
    pub count: u32,
    /// Places in [`Tree::nodes`].
    pub at_most: u32,
    pub at_least: u32,
}

/// What no plan of the case undercuts, shown by prices.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Prices {
    /// Of one part of each length, in [`SCALE`]; any sign.
    pub parts: Vec<i64>,
    /// Of one bar that counts in each limit from the whole problem down to this case; ≤ 0 for *at most*, ≥ 0 for *at least*.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub limits: Vec<i64>,
    /// (place in [`Tree::cuts`], price ≤ 0).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cuts: Vec<(u32, i64)>,
    /// Whether the ways of cutting that these prices allow are listed, or the list from above is shortened to them.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub list: bool,
    /// Where the case goes on, in [`Tree::nodes`]; a leaf if nowhere.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub then: Option<u32>,
}

/// Writes a tree down while it grows. A case is open until something better is known of it.
#[derive(Clone, Debug)]
pub struct Recorder {
    tree: Tree,
    cuts: HashMap<Cut, u32>,
}

impl Recorder {
    pub fn new(problem: String, lengths: Vec<Tenths>, kinds: Vec<Vec<String>>) -> Self {
        Self { tree: Tree { problem, lengths, kinds, cuts: Vec::new(), nodes: vec![Node::Open] }, cuts: HashMap::new() }
    }

    /// The place of the whole problem.
    pub const ROOT: usize = 0;

    pub fn close(&mut self, place: usize, leaf: Node) {
        if let Some(node) = self.tree.nodes.get_mut(place) {
            *node = leaf;
        }
    }

    /// Splits a case; returns the places of *at most* and *at least*, which `split` need not know.
    pub fn split(&mut self, place: usize, split: Split) -> [usize; 2] {
        let next = self.tree.nodes.len();
        self.tree.nodes.extend([Node::Open, Node::Open]);
        self.close(place, Node::Split(Split { at_most: next as u32, at_least: next as u32 + 1, ..split }));
        [next, next + 1]
    }

    /// Prices that hold from here on; returns where the case goes on.
    pub fn priced(&mut self, place: usize, prices: Prices) -> usize {
        let next = self.tree.nodes.len();
        self.tree.nodes.push(Node::Open);
        self.close(place, Node::Prices(Prices { then: Some(next as u32), ..prices }));
        next
    }

    /// Marks the prices at this place as those of a list.
    pub fn listed(&mut self, place: usize) {
        if let Some(Node::Prices(prices)) = self.tree.nodes.get_mut(place) {
            prices.list = true;
        }
    }

    /// The place of a cut in the tree's list.
    pub fn cut(&mut self, cut: Cut) -> u32 {
        let next = self.tree.cuts.len() as u32;
        *self.cuts.entry(cut).or_insert_with_key(|cut| {
            self.tree.cuts.push(cut.clone());
            next
        })
    }

    pub fn into_tree(self) -> Tree {
        self.tree
    }
}
