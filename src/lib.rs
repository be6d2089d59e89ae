//! Hitchwright: from "I need a trailer for this" to a design, a cutting list, parts, hours and a price.
//!
//! The house has three floors; a floor uses the floors below it, and a module of `domain` only the modules
//! declared before it. `tests/app/floors.rs` enforces this.

/// Floor 0: pure values in, values out. No file, clock, database, HTTP or HTML. A package of its own, so that it compiles
/// beside the others and a change above it does not compile it again.
pub use hitchwright_domain as domain;

/// Floor 1: what is drawn and printed from the domain's values.
pub mod documents;

/// Floor 1: what is kept, in one SQLite file; all SQL.
pub mod storage;

/// Floor 2: pages over HTTP. No SQL, no arithmetic.
pub mod web;

/// What a new file starts with: the demo shop, or an empty one.
pub mod demo;

/// What the server is told from outside.
pub mod config;

/// The log.
pub mod telemetry;

/// The command line: one file a command.
pub mod command;
