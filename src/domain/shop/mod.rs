//! What the shop knows: rate book, norms, policies, and what lies on its rack.

mod book;
mod norms;
mod change;
mod choose;
mod movement;
mod parts;
mod policy;
mod policy_fields;
mod rack;
mod rates;
mod strength;
mod supply;

pub use book::*;
pub use change::changed_price;
pub use choose::{ByHand, choose, figure, shortfalls};
pub use movement::{Jump, Movement, class_index, jump, movement};
pub use norms::{Norm, Norms};
pub use parts::*;
pub use policy::*;
pub use policy_fields::{policy_fields, shop_fields};
pub use rack::*;
pub use rates::*;
pub use strength::StrengthFactors;
pub use supply::{PricedBy, Sizes, Supply};
