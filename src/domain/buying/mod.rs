//! What the shop has to buy for its jobs, and from whom: needs of several jobs put together, and orders by supplier.

mod needs;
mod orders;

pub use needs::{Job, Lying, Need, Needs, needs};
pub use orders::{Choice, Line, Offer, Order, PurchaseList, Sold, WhyNot, Without, purchase_list};
