//! Sheets and plates that belong to the frame: the deck, and the small plates that carry other things.

pub mod deck;
pub mod plates;
