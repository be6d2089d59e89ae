//! Whether a spec can be built: every field alone, then together. All faults come in one go.
//!
//! What depends on masses (a declared gross mass below the empty mass and the heaviest trip, or above the trailer's rating) is a check
//! of the estimate, not a fault here. Fields of forms that were not chosen are left alone: nothing typed is lost when a
//! form is tried and left.

mod design;
mod need;
mod offer;

use serde_json::Value;

use super::{
    Assumed, Layout, Spec, SpecFaults,
    fields::{self, List},
    lay_out,
};
use crate::{
    form::{Fault, Hand},
    measure::{Grouping, Length, Mass, MoneyStyle, Units, write_length, write_mass},
};

/// Checks a spec; values in the faults are in millimetres and kilograms.
///
/// # Errors
/// Every fault, in the order of the form.
pub fn validate(spec: &Spec) -> Result<(), SpecFaults> {
    let plain = MoneyStyle {
        currency_code: String::new(),
        symbol: String::new(),
        symbol_before: true,
        decimals: 2,
        group: Grouping::None,
        decimal_mark: '.',
        group_mark: ',',
    };
    validate_shown(spec, Hand { units: Units::Metric, money: &plain })
}

/// Checks a spec; values in the faults are as the shop writes them.
///
/// # Errors
/// Every fault, in the order of the form.
pub fn validate_shown(spec: &Spec, hand: Hand<'_>) -> Result<(), SpecFaults> {
    let mut checker =
        Checker { spec, document: serde_json::to_value(spec).unwrap_or_default(), hand, faults: Vec::new() };
    checker.alone();
    need::check(&mut checker);
    design::check(&mut checker);
    offer::check(&mut checker);
    if checker.faults.is_empty() { Ok(()) } else { Err(SpecFaults(checker.in_order())) }
}

struct Checker<'a> {
    spec: &'a Spec,
    document: Value,
    hand: Hand<'a>,
    faults: Vec<Fault>,
}

impl Checker<'_> {
    /// Every field by its kind and range, every list by its length.
    fn alone(&mut self) {
        let (document, hand, faults) = (&self.document, self.hand, &mut self.faults);
        fields::walk(document, |field, path| {
            if !field.is_shown(&path, document) {
                return;
            }
            let field = field.at(path);
            if let Err(fault) = field.check(field.get(document).unwrap_or(&Value::Null), hand) {
                faults.push(fault);
            }
        });
        fields::walk_lists(document, |list: &List, path, count| {
            if count > list.most {
                faults.push(fields::too_many(list, path, count));
            }
        });
        // In JSON not-a-number looks like "left empty".
        if self.spec.design.running_gear.spring_rate_n_per_mm.is_some_and(|rate| !rate.is_finite()) {
            self.fault("design.running_gear.spring_rate_n_per_mm", "is not a number", "type a rate, or leave it empty");
        }
    }

    /// A fault of one field, with its value as the form shows it.
    fn fault(&mut self, path: &str, wrong: impl Into<String>, right: impl Into<String>) {
        let Some(field) = fields::field_at(path) else { return };
        let field = field.at(path.to_owned());
        let value = field.get(&self.document).unwrap_or(&Value::Null);
        self.faults.push(field.fault_of(value, wrong.into(), right.into(), self.hand));
    }

    /// No fault so far in any field that begins so: a rule that builds on faulty fields would only add noise.
    fn is_sound(&self, beginnings: &[&str]) -> bool {
        !self.faults.iter().any(|fault| beginnings.iter().any(|beginning| fault.field.starts_with(beginning)))
    }

    fn mm(&self, mm: f64) -> String {
        write_length(Length::from_mm((mm * 10.0).round() / 10.0), self.hand.units)
    }

    fn kg(&self, mass: Mass) -> String {
        write_mass(mass, self.hand.units)
    }

    /// Where everything would go; the axle, where it is to be found, at 60 % of the bed.
    fn layout(&self) -> Layout {
        let (bed, drawbar) = (&self.spec.design.bed, &self.spec.design.drawbar);
        let axle_x_mm = drawbar.length.mm() + 0.6 * bed.length.mm();
        lay_out(self.spec, &Assumed::guess(750.0, 75.0, axle_x_mm, self.spec.design.running_gear.axles))
    }

    /// As the form asks, not as the rules found them.
    fn in_order(mut self) -> Vec<Fault> {
        let mut places = Vec::new();
        fields::walk_lists(&self.document, |_, path, _| places.push(path));
        fields::walk(&self.document, |_, path| places.push(path));
        let at = |fault: &Fault| places.iter().position(|path| *path == fault.field).unwrap_or(usize::MAX);
        self.faults.sort_by_key(at);
        self.faults
    }
}

#[cfg(test)]
mod tests;
