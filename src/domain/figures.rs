//! The workings of the figures that stand at the head of a job's pages.

use super::{
    estimate::Estimate,
    working::{MONEY, Sure, Working},
};

impl Estimate {
    /// Empty mass as the sum of its groups.
    pub fn empty_mass_working(&self) -> Working {
        let weights = &self.weights;
        let numbers = 1..=weights.groups.len();
        let terms: Vec<String> = numbers.map(|number| format!("m_{number}")).collect();
        let mut working = Working::new("Empty mass", format!("m = {}", or_nought(&terms)));
        for (term, group) in terms.iter().zip(&weights.groups) {
            working = working.given(term, group.group.label(), group.body.mass_kg, "kg");
        }
        working
            .gives("m", weights.empty.mass_kg, "kg")
            .source("length × mass per metre, area × mass per m², parts as in the rate book", Sure::Computed)
    }

    /// Gross mass for the plate, where it is not declared.
    pub fn gross_working(&self) -> Working {
        let weights = &self.weights;
        if weights.gross_declared {
            return Working::new("Gross mass for the plate", "G = G_d")
                .given("G_d", "gross mass as declared in the need", weights.gross_kg, "kg")
                .gives("G", weights.gross_kg, "kg")
                .source("declared", Sure::Shop);
        }
        Working::new("Gross mass for the plate", "G = 10 ⌈(m + t + a) / 10⌉")
            .given("m", "empty mass", weights.empty.mass_kg, "kg")
            .given("t", "heaviest trip", weights.heaviest_trip_kg, "kg")
            .given("a", "allowance for straps, tools, mud", self.spec.need.gross_allowance.kg(), "kg")
            .gives("G", weights.gross_kg, "kg")
            .source("the shop's rule: up to the next 10 kg", Sure::CommonPractice)
    }

    pub fn payload_working(&self) -> Working {
        Working::new("Payload left", "u = G − m")
            .given("G", "gross mass for the plate", self.weights.gross_kg, "kg")
            .given("m", "empty mass", self.weights.empty.mass_kg, "kg")
            .gives("u", self.weights.payload_left_kg, "kg")
            .source("what may still be loaded", Sure::Computed)
    }

    /// The load on the coupling in the heaviest case.
    pub fn coupling_working(&self) -> Option<Working> {
        self.weights.heaviest_case().map(|case| case.working())
    }

    pub fn bars_working(&self) -> Working {
        let bars = self.cutting.bars.iter();
        let counts = bars.map(|bars| {
            let what = format!("bars of {} {}", bars.section, bars.grade);
            (what, bars.answer.as_ref().map_or(0, |answer| answer.bars))
        });
        counted("Bars", counts.collect(), self.cutting.bars_used())
    }

    pub fn sheets_working(&self) -> Working {
        let sheets = self.cutting.sheets.iter();
        let counts = sheets.map(|sheets| {
            let what = format!("sheets of {} {} mm", sheets.material.label(), sheets.thickness.mm());
            (what, sheets.answer.as_ref().map_or(0, |answer| answer.sheets))
        });
        counted("Sheets", counts.collect(), self.cutting.sheets_used())
    }

    pub fn price_working(&self) -> Working {
        let of = |amount: super::measure::Money| f64::try_from(amount.0).unwrap_or(f64::NAN);
        let build_up = &self.build_up;
        let rounding = build_up.total() - build_up.before_tax() - build_up.tax();
        Working::new("Price", "P = B + t + r")
            .given("B", "before tax", of(build_up.before_tax()), MONEY)
            .given("t", "tax", of(build_up.tax()), MONEY)
            .given("r", "rounding of the total", of(rounding), MONEY)
            .gives("P", of(build_up.total()), MONEY)
            .source("the build-up, line by line on the page Price", Sure::Shop)
    }
}

fn counted(title: &str, counts: Vec<(String, u32)>, sum: u32) -> Working {
    let terms: Vec<String> = (1..=counts.len()).map(|number| format!("n_{number}")).collect();
    let mut working = Working::new(title, format!("n = {}", or_nought(&terms)));
    for (term, (what, count)) in terms.iter().zip(counts) {
        working = working.given(term, what, f64::from(count), "");
    }
    working.gives("n", f64::from(sum), "").source("the cutting plans, on the page Cutting", Sure::Computed)
}

fn or_nought(terms: &[String]) -> String {
    if terms.is_empty() { "0".to_owned() } else { terms.join(" + ") }
}
