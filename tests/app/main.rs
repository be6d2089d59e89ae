//! Laws, and everything that goes through storage or HTTP: one test binary, a module each.

mod demo;
mod demo_book;
mod families;
mod floors;
mod frame;
mod any_spec;
mod balance;
mod measure_laws;
mod pages;
mod pricing_laws;
mod road_rules;
mod proof_laws;
mod nesting_fuzz;
mod nesting_laws;
mod nesting_trials;
mod section_command;
mod serve;
mod snapshots;
mod spec_laws;
mod steel_laws;
mod strength_laws;
mod storage;
mod support;
mod told;
mod trailer_laws;
mod workings;
