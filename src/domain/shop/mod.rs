//! What the shop knows: rate book, norms, policies, and what lies on its rack.

mod book;
mod norms;
mod change;
mod choose;
mod parts;
mod policy;
mod policy_fields;
mod rack;
mod rates;
mod strength;

pub use book::*;
pub use change::changed_price;
pub use choose::{ByHand, choose, figure, shortfalls};
pub use norms::{Norm, Norms};
pub use parts::*;
pub use policy::*;
pub use policy_fields::{policy_fields, shop_fields};
pub use rack::*;
pub use rates::*;
pub use strength::StrengthFactors;
