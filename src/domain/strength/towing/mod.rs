//! What joins the trailer to its vehicle, and the vehicles: coupling, chains, breakaway, limits of each towing vehicle.

pub mod chains;
pub mod classes;
pub mod coupling;
mod secondary;
mod vehicles;

use crate::{
    shop::{PartClass, PartItem},
    trailer::{Spec, Trailer},
    weights::Weights,
    working::Check,
};

pub(super) fn check(spec: &Spec, trailer: &Trailer, weights: &Weights, checks: &mut Vec<Check>) {
    vehicles::check(spec, trailer, weights, checks);
    coupling::check(spec, trailer, weights, checks);
    classes::check(spec, trailer, weights, checks);
    chains::check(spec, trailer, weights, checks);
    secondary::check(spec, trailer, weights, checks);
}

/// The item chosen for the first fitting of a class, and how many of it there are.
fn chosen(trailer: &Trailer, class: PartClass) -> Option<(&PartItem, usize)> {
    let fitting = trailer.fittings.iter().find(|fitting| fitting.class == class)?;
    Some((fitting.part.item.as_ref()?, fitting.places.len()))
}
