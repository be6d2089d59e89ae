//! What the shop knows: rate book, norms, policies.

mod parts;
mod rates;

pub use parts::*;
pub use rates::*;
