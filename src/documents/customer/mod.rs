//! What a customer sees of a revision. The type has no place for a cost, a margin, a rate or a supplier, so none can slip
//! into the page.

mod changes;
mod hold;
mod made;
mod told;
mod voice;

pub use changes::{Changes, changed_inside, changes};
pub use hold::how_to_hold;
pub use made::{Issue, copy, shop};
pub use told::Told;
pub use voice::Voice;

use super::{Drawing, show::Both};

/// A quote as its customer reads it.
#[derive(Clone, Debug, Default)]
pub struct CustomersCopy {
    pub shop: Shop,
    pub job_title: String,
    /// A quote by whom, for whom, and since when.
    pub standing: String,
    /// `Revision 2`.
    pub revision: String,
    /// Empty where nothing is issued yet.
    pub valid_until: String,
    /// "12 days left", ready to read.
    pub time_left: String,
    /// What matters most, in a sentence.
    pub lead: String,
    /// What they asked for, a sentence each.
    pub asked: Vec<Told>,
    /// What they get: a few key figures in words.
    pub gets: Vec<Figure>,
    /// What it is made of and fitted with, a sentence each.
    pub made_of: Vec<Told>,
    /// How each load is tied down, a sentence each.
    pub tie_down: Vec<String>,
    /// The whole trailer, where it can be turned in three dimensions too.
    pub whole: View,
    pub drawings: Vec<View>,
    pub lines: Vec<Line>,
    pub net: String,
    pub tax: Option<Line>,
    pub total: String,
    pub deposit: Option<Line>,
    /// The whole sentence about the day from which it can be collected or is delivered.
    pub earliest: String,
    pub terms: Vec<Told>,
    pub cautions: Vec<String>,
}

/// Whom to call.
#[derive(Clone, Debug, Default)]
pub struct Shop {
    pub name: String,
    /// Address, telephone, e-mail: a line each.
    pub reach: Vec<String>,
}

#[derive(Clone, Debug)]
pub struct Figure {
    pub words: String,
    pub value: Both,
    /// What it means for them.
    pub note: String,
}

#[derive(Clone, Debug)]
pub struct Line {
    pub text: String,
    pub amount: String,
}

/// A drawing with what it shows.
#[derive(Clone, Debug, Default)]
pub struct View {
    pub shows: String,
    pub drawing: Drawing,
    /// The same with letters that are read on a phone.
    pub narrow: Option<Drawing>,
}

impl View {
    pub fn svg(&self, nth: &usize) -> String {
        let id = format!("view-{nth}");
        self.narrow.as_ref().map_or_else(|| self.drawing.svg(&id), |narrow| self.drawing.svg_or(narrow, &id))
    }
}

#[cfg(test)]
impl CustomersCopy {
    pub fn sample() -> Self {
        let line = |text: &str, amount: &str| Line { text: text.into(), amount: amount.into() };
        Self {
            shop: Shop { name: "Saltmarsh Fabrications".into(), reach: vec!["Quay Lane, Wick Sands".into()] },
            job_title: "Trailer for four hives".into(),
            standing: "A quote by Saltmarsh Fabrications for Ann <b>.".into(),
            revision: "Revision 2".into(),
            lead: "It carries 320 kg.".into(),
            valid_until: "5 Dec 2026".into(),
            time_left: "10 days left".into(),
            asked: vec![told::told("Load", "Carries four hives (320 kg) on gravel roads.")],
            gets: vec![Figure {
                words: "It weighs".into(),
                value: Both { main: "212 kg".into(), other: "467.4 lb".into() },
                note: "empty, by calculation".into(),
            }],
            made_of: vec![told::told("Frame", "Welded steel frame, painted grey.")],
            tie_down: vec!["Four hives: 2 straps over the top.".into()],
            whole: View { shows: "As built".into(), drawing: Drawing::new("As built"), narrow: None },
            drawings: vec![View { shows: "From above".into(), drawing: Drawing::new("From above"), narrow: None }],
            lines: vec![line("Trailer as described", "£2,900.00")],
            net: "£2,900.00".into(),
            tax: Some(line("VAT 20 %", "£580.00")),
            total: "£3,480.00".into(),
            deposit: Some(line("Deposit 30 %", "£1,044.00")),
            earliest: "It can be collected 20 working days after acceptance and deposit.".into(),
            terms: vec![told::told("Payment", "Payment on collection.")],
            cautions: vec!["This is not a certification.".into()],
        }
    }
}
