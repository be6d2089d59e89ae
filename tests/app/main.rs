//! Laws, and everything that goes through HTTP or the database: one test binary, a module each.

mod floors;
mod frame;
mod serve;
mod support;
