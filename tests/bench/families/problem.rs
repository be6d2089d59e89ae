//! A problem of a family, and the families by name.

use hitchwright_domain::{
    measure::{Money, Tenths},
    nesting::{bars, panels},
};

#[derive(Clone, Debug)]
pub struct Problem {
    pub family: String,
    pub name: String,
    pub what: What,
    /// Least number of pieces, where the way it was made tells (all pieces are alike then).
    pub least: Option<u32>,
}

#[derive(Clone, Debug)]
pub enum What {
    Bars(bars::Problem),
    Panels(panels::Problem),
}

/// A published kind of problem.
pub struct Family {
    pub name: &'static str,
    /// Where it comes from, in one line.
    pub source: &'static str,
    /// How many problems the whole family has here; seeds run from 1.
    pub size: u64,
    pub problem: fn(u64) -> Problem,
}

/// Weights on bars of one length that cost nothing but their number: bin packing. A unit of weight is a millimetre.
pub fn identical(family: &str, name: String, capacity: i64, weights: impl IntoIterator<Item = i64>) -> Problem {
    let mut counted = std::collections::BTreeMap::new();
    for weight in weights {
        *counted.entry(weight).or_insert(0_u32) += 1;
    }
    let parts = counted.into_iter().rev();
    let problem = bars::Problem {
        stock: vec![stock("bar".into(), capacity, None, None)],
        parts: parts.map(|(w, n)| bars::Part::square(format!("W{w}"), Tenths(w * 10), n)).collect(),
        ..Default::default()
    };
    Problem { family: family.into(), name, what: What::Bars(problem), least: None }
}

/// A bar of so many whole millimetres without a worth for what is left.
pub fn stock(id: String, millimetres: i64, cost: Option<Money>, quantity: Option<u32>) -> bars::Stock {
    let length = Tenths(millimetres * 10);
    bars::Stock { id, length, cost, quantity, offcut_value_per_m: Money::ZERO, end_trim: None }
}
