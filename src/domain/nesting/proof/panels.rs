//! Why a panel plan's bound holds: measures of parts of which no sheet can hold more than its own.
//!
//! **What it proves.** Grow every part and every trimmed sheet by one kerf in both directions: then parts that a cut
//! parts, or that lie a kerf apart, touch without overlapping. A *measure* gives each part t a whole number pₜ ≥ 0 and
//! each kind of sheet k a whole number Mₖ so that no plan of one sheet holds parts of more than Mₖ in all. Let aₜ be a
//! part's own area, Aₖ a trimmed sheet's, and vₖ the worth of a square tenth of its kept remainders: nought where no
//! remainder of least kept size has room a kerf apart beside any part that fits. A sheet with parts of area u costs at
//! least costₖ − vₖ (Aₖ − u) = fₖ + vₖ u with fₖ = costₖ − vₖ Aₖ. (A negative fₖ, a rounded price, counts for every sheet
//! there is and is then nought in the rest.) So every plan costs at least the least of Σ nₖ fₖ + Σ wₖ uₖ over whole
//! numbers 0 ≤ nₖ ≤ qₖ of sheets for which, in each measure, Σ nₖ Mₖ ≥ Σ dₜ pₜ, and over areas 0 ≤ uₖ ≤ nₖ Aₖ with
//! Σ uₖ = Σ dₜ aₜ, where wₖ = vₖ, but at most the least ⌊vⱼ + fⱼ / Aⱼ⌋ of any kind j. By that cap a further sheet never
//! pays, so the sets of sheets that just suffice are enough; the areas fill the kinds with the least wₖ first.

use serde::{Deserialize, Serialize};

/// The proof that goes with an answer.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Proof {
    /// [`super::digest`] of the problem.
    pub problem: String,
    pub bound: BoundProof,
}

/// Where the bound of an answer comes from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BoundProof {
    /// The least cost of sheets for which all of these measures suffice, as the module says.
    Measures(Vec<Measure>),
    /// A search of all plans; to check it is to search again.
    Searched,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// pₜ = the grown area, Mₖ = the grown sheet's.
    Area,
    /// pₜ = f(x) · g(y) of the grown sides x along the sheet's length and y along its width, the least over the ways
    /// the part may lie on any sheet on which it fits so; Mₖ = f(Lₖ) · g(Wₖ) of the grown sheet. `whole` of both is the
    /// longest grown length, the widest grown width, of any kind. Holds for free plans too.
    Functions { length: Function, width: Function },
    /// pₜ is stated, in the order of the types: the different (length, width, grain) that are asked for, largest area
    /// first, then longer, then wider, then grain. Mₖ = G(grown length, grown width) with the recursion of Gilmore and
    /// Gomory (1965): G(x, y) = the greatest of 0, pₜ of each part that fits x × y as it may lie on k, and
    /// G(x₁, y) + G(x − x₁, y), G(x, y₁) + G(x, y − y₁) for all 0 < x₁ < x, 0 < y₁ < y; it suffices to cut at sums of
    /// grown sides. Each part as often as one likes. For guillotine plans alone.
    Prices(Vec<i64>),
}

/// A superadditive function of a side x within a whole C: sides that fit within a length have values that fit within its
/// value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Function {
    /// f(x) = x.
    Itself,
    /// Lueker 1983 (f₀ of Fekete and Schepers 2001), for 0 < k ≤ C/2: f(x) = C if x > C − k, 0 if x < k, else x.
    Threshold { k: i64 },
    /// u⁽ᵏ⁾ of Fekete and Schepers 2001, for k ≥ 1: f(x) = x k if (k + 1) x is a multiple of C, else C ⌊(k + 1) x / C⌋.
    Steps { k: i64 },
    /// Carlier, Clautiaux and Moukrim 2007, after Boschetti and Mingozzi 2003, for 0 < k ≤ C/2:
    /// f(x) = 2 (⌊C/k⌋ − ⌊(C − x)/k⌋) if 2 x > C, ⌊C/k⌋ if 2 x = C, 2 ⌊x/k⌋ if 2 x < C.
    Halves { k: i64 },
}

impl Function {
    /// The value of a side; `whole` is C.
    pub fn of(self, x: i64, whole: i64) -> i64 {
        match self {
            Self::Itself => x,
            Self::Threshold { k } if x > whole - k => whole,
            Self::Threshold { k } if x < k => 0,
            Self::Threshold { .. } => x,
            Self::Steps { k } if (k + 1) * x % whole == 0 => x * k,
            Self::Steps { k } => (k + 1) * x / whole * whole,
            Self::Halves { k } if 2 * x > whole => 2 * (whole / k - (whole - x) / k),
            Self::Halves { k } if 2 * x == whole => whole / k,
            Self::Halves { k } => 2 * (x / k),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(whole: i64) -> Vec<Function> {
        let halves = (1..=whole / 2).flat_map(|k| [Function::Threshold { k }, Function::Halves { k }]);
        halves.chain((1..=9).map(|k| Function::Steps { k })).chain([Function::Itself]).collect()
    }

    /// What makes products of them bounds: f(a) + f(b) ≤ f(a + b), rising, nought at nought.
    #[test]
    fn functions_are_superadditive() {
        for whole in 1..=40 {
            for f in all(whole) {
                assert_eq!(f.of(0, whole), 0, "{f:?} of {whole}");
                for a in 0..=whole {
                    for b in a..=whole - a {
                        assert!(f.of(a, whole) + f.of(b, whole) <= f.of(a + b, whole), "{f:?} of {whole}: {a}, {b}");
                    }
                }
            }
        }
    }

    /// By hand: with C = 10 more than half counts as all for u⁽¹⁾, and more than a third as half (10 of 20) for u⁽²⁾.
    #[test]
    fn worked_values() {
        assert_eq!(Function::Steps { k: 1 }.of(6, 10), 10);
        assert_eq!(Function::Steps { k: 1 }.of(5, 10), 5);
        assert_eq!(Function::Steps { k: 2 }.of(4, 10), 10);
        assert_eq!(Function::Threshold { k: 3 }.of(8, 10), 10);
        assert_eq!(Function::Threshold { k: 3 }.of(2, 10), 0);
        assert_eq!([3, 5, 7].map(|x| Function::Halves { k: 3 }.of(x, 10)), [2, 3, 4]);
    }
}
