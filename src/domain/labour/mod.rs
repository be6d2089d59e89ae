//! Hours: every operation that the take-off asks for, by the shop's norms.
//!
//! Hours are of the whole job: set-ups and papers count once, however many identical trailers it builds. Each line says
//! how it came about; any line may be overruled by hand with a reason, the derived value stays beside it.

mod operations;
/// Weld metal, wire, gas and arc time.
pub mod welding;

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::{
    measure::round,
    nesting::cutting::Cutting,
    shop::{Norms, Trade},
    trailer::{Overruled, Spec, TakeOff},
    working::{Sure, Working},
};

/// Every operation of a job.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Hours {
    pub lines: Vec<HourLine>,
    /// Overrules that could not be read, in words.
    pub unread: Vec<String>,
}

/// One operation on all trailers of the job.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HourLine {
    /// Stable key; `hours/KEY` overrules it.
    pub key: String,
    pub operation: String,
    pub trade: Trade,
    /// For all trailers.
    pub quantity: f64,
    pub unit: String,
    pub minutes_each: f64,
    pub set_up_minutes: f64,
    /// To 0.01 h, for all trailers: as overruled, else as derived.
    pub hours: f64,
    /// What was derived, where it was overruled.
    pub derived: Option<f64>,
    /// Reason of the overrule.
    pub overruled: Option<String>,
    pub working: Working,
}

/// The hours of a job of `spec.need.count` identical trailers.
pub fn hours(spec: &Spec, take_off: &TakeOff, cutting: &Cutting, norms: &Norms) -> Hours {
    let mut sheet = Sheet {
        norms,
        count: f64::from(spec.need.count.max(1)),
        overruled: &spec.offer.overruled,
        hours: Hours::default(),
    };
    operations::write(&mut sheet, spec, take_off, cutting);
    sheet.handling();
    sheet.hours
}

impl Hours {
    pub fn total(&self) -> f64 {
        to_hundredth(self.lines.iter().map(|line| line.hours).sum())
    }

    /// Hours by trade, in the order of the trades; trades without hours are left out.
    pub fn by_trade(&self) -> Vec<(Trade, f64)> {
        let of =
            |trade: Trade| -> f64 { self.lines.iter().filter(|line| line.trade == trade).map(|line| line.hours).sum() };
        let all = Trade::ALL.iter().map(|trade| (*trade, to_hundredth(of(*trade))));
        all.filter(|(_, hours)| *hours > 0.0).collect()
    }

    pub fn line(&self, key: &str) -> Option<&HourLine> {
        self.lines.iter().find(|line| line.key == key)
    }
}

/// The sheet on which operations are written.
struct Sheet<'a> {
    norms: &'a Norms,
    /// Identical trailers.
    count: f64,
    overruled: &'a BTreeMap<String, Overruled>,
    hours: Hours,
}

/// One operation before it becomes a line: minutes of one unit and of the set-ups.
struct Operation<'a> {
    key: &'a str,
    operation: String,
    /// Of all trailers.
    quantity: f64,
    unit: &'a str,
    minutes_each: f64,
    set_ups: f64,
    set_up_minutes_each: f64,
    /// Norm that names trade and source.
    norm: &'a str,
}

impl Sheet<'_> {
    /// A line for a quantity of all trailers at one norm, without set-up; nothing for a quantity of nought.
    fn simple(&mut self, key: &str, norm: &str, quantity: f64, unit: &str) {
        let (operation, minutes_each) =
            self.norms.get(norm).map_or_else(Default::default, |norm| (norm.operation.clone(), norm.value));
        self.write(Operation {
            key,
            operation,
            quantity,
            unit,
            minutes_each,
            set_ups: 0.0,
            set_up_minutes_each: 0.0,
            norm,
        });
    }

    fn write(&mut self, operation: Operation<'_>) {
        let Operation { key, operation, quantity, unit, minutes_each, set_ups, set_up_minutes_each, norm } = operation;
        let set_up_minutes = set_ups * set_up_minutes_each;
        let derived = to_hundredth((quantity * minutes_each + set_up_minutes) / 60.0);
        let full_key = format!("hours/{key}");
        if derived <= 0.0 && !self.overruled.contains_key(&full_key) {
            return;
        }
        let formula = if set_up_minutes > 0.0 { "h = (n t + s r) / 60" } else { "h = n t / 60" };
        let mut working = Working::new(operation.clone(), formula).given("n", "quantity", quantity, unit).given(
            "t",
            "minutes each",
            minutes_each,
            "min",
        );
        if set_up_minutes > 0.0 {
            working = working.given("s", "set-ups", set_ups, "").given(
                "r",
                "minutes of a set-up",
                set_up_minutes_each,
                "min",
            );
        }
        let (trade, source, sure) = self.norms.get(norm).map_or_else(
            || (Trade::Fabricator, format!("no norm {norm}"), Sure::Memory),
            |norm| (norm.trade, norm.source.clone(), norm.sure),
        );
        let working = working.gives("h", derived, "h").source(source, sure);
        let (hours, was, overruled) = self.by_hand(&full_key, derived);
        self.hours.lines.push(HourLine {
            key: key.to_owned(),
            operation,
            trade,
            quantity,
            unit: unit.to_owned(),
            minutes_each,
            set_up_minutes,
            hours,
            derived: was,
            overruled,
            working,
        });
    }

    fn by_hand(&mut self, full_key: &str, derived: f64) -> (f64, Option<f64>, Option<String>) {
        let Some(by_hand) = self.overruled.get(full_key) else { return (derived, None, None) };
        match by_hand.value.trim().parse::<f64>() {
            Ok(hours) if (0.0..=10_000.0).contains(&hours) => {
                (to_hundredth(hours), Some(derived), Some(by_hand.reason.clone()))
            }
            _ => {
                self.hours.unread.push(format!(
                    "{full_key} is set by hand to “{}”, which is not a number of hours from 0 to 10,000; the derived {derived} h stand.",
                    by_hand.value
                ));
                (derived, None, None)
            }
        }
    }

    /// Handling and clean-down: a share of the hands-on hours, as they stand on the sheet.
    fn handling(&mut self) {
        let hands_on: f64 =
            self.hours.lines.iter().filter(|line| line.trade != Trade::Office).map(|line| line.hours).sum();
        let share = self.norms.value("handling") / 100.0;
        let operation = self.norms.get("handling").map_or_else(String::new, |norm| norm.operation.clone());
        self.write(Operation {
            key: "handling",
            operation,
            quantity: to_hundredth(hands_on),
            unit: "h hands-on",
            minutes_each: share * 60.0,
            set_ups: 0.0,
            set_up_minutes_each: 0.0,
            norm: "handling",
        });
    }
}

/// Hours are kept to 0.01, so that hours × rate can be checked by hand.
fn to_hundredth(hours: f64) -> f64 {
    round::nearest(hours, 0.01)
}
