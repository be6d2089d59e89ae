//! The list of jobs, and making a new one.

pub mod list;
pub mod new;
