//! Forms that are generated from fields described as data ([`crate::domain::form`]): strings in, a checked document out.

mod list;
mod read;
mod sheet;

pub use list::{Action, ListOf};
pub use read::{changed, fill, note, read, resized};
pub use sheet::{Input, Section, Shape, Sheet};
