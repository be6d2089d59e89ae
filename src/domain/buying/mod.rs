//! What the shop has to buy for its jobs, and from whom: needs of several jobs put together, set against what was ordered, and orders by
//! supplier.

mod needs;
mod orders;
mod on_order;
mod placed;

pub use needs::{Job, Lying, Need, Needs, needs};
pub use on_order::{Account, Had, Now, OnOrder, Ordered, Rest, Stage, ToCome, account, rest};
pub use orders::{Choice, Line, Offer, Order, PurchaseList, Sold, Wanted, WhyNot, Without, purchase_list, together};
pub use placed::{ByHand, PlacedLine, Placing, Refused, Standing};
