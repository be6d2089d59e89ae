//! The sections of the page, set on paper.

use jiff::civil::DateTime;

use super::{Section, Table, sections};
use crate::{
    documents::paper::{self, Document, calculation},
    domain::estimate::Estimate,
    web::{
        pages::job::{checks::CheckView, workings::WorkingView},
        show::Show,
    },
};

/// What a calculation on paper is of.
#[derive(Clone, Debug, Default)]
pub struct Subject {
    pub job: String,
    pub shop: String,
    pub variant: String,
    /// `revision 2, issued`.
    pub stands_for: String,
    pub day: String,
    pub fingerprint: Option<String>,
    pub made: Option<DateTime>,
}

pub fn on_paper(estimate: &Estimate, show: &Show, subject: &Subject) -> Document {
    let mut title_block = vec![
        ("Job", subject.job.clone()),
        ("Made by", subject.shop.clone()),
        ("Variant", subject.variant.clone()),
        ("Stands for", subject.stands_for.clone()),
        ("Date", subject.day.clone()),
        ("Program", format!("Hitchwright {}", estimate.program)),
    ];
    let mut standing = subject.stands_for.clone();
    if let Some(fingerprint) = &subject.fingerprint {
        standing = format!("{standing} · {}…", fingerprint.chars().take(12).collect::<String>());
        title_block.push(("Fingerprint (SHA-256)", fingerprint.clone()));
    }
    title_block.retain(|(_, value)| !value.is_empty());
    let of = calculation::Calculation {
        job: subject.job.clone(),
        shop: subject.shop.clone(),
        title_block: title_block.into_iter().map(|(name, value)| (name.to_owned(), value)).collect(),
        running: [format!("Calculation · {}", subject.job), standing],
        verdict: sections::verdict(estimate),
        sections: sections::all(estimate, show).iter().map(section).collect(),
    };
    calculation::calculation(&of, show, subject.made)
}

fn section(of: &Section) -> calculation::Section {
    let workings = of.workings.iter().map(|entry| working(&entry.number, &entry.of));
    let checks = of.checks.iter().map(|entry| check(&entry.number, &entry.of));
    calculation::Section {
        title: format!("{} {}", of.number, of.title),
        says: of.says.clone(),
        drawings: of.drawings.iter().map(|drawing| (drawing.shows.clone(), drawing.of.clone())).collect(),
        tables: of.tables.iter().map(table).collect(),
        entries: workings.chain(checks).collect(),
    }
}

fn table(of: &Table) -> paper::Table {
    let head = of.head.iter().map(|cell| if cell.is_empty() { "What".to_owned() } else { (*cell).to_owned() });
    paper::Table {
        caption: of.caption.clone(),
        head: head.collect(),
        rows: of.rows.iter().cloned().map(paper::Row::new).collect(),
        figures_from: of.figures_from,
        ..paper::Table::default()
    }
}

fn working(number: &str, of: &WorkingView) -> calculation::Entry {
    calculation::Entry {
        heading: format!("{number} {}: {}", of.title, of.result),
        working: Some(of.of.clone()),
        ..Default::default()
    }
}

fn check(number: &str, of: &CheckView) -> calculation::Entry {
    let mut says = Vec::new();
    if !of.compared.is_empty() {
        let usage = if of.usage.is_empty() { String::new() } else { format!(", use {}", of.usage) };
        says.push(format!("{}{usage}.", of.compared));
    }
    says.push(of.says.clone());
    says.push(of.place.clone());
    calculation::Entry {
        heading: format!("{number} {}", of.name),
        verdict: of.word.to_owned(),
        says: says.iter().filter(|text| !text.is_empty()).cloned().collect::<Vec<_>>().join(" "),
        working: of.working.as_ref().map(|working| working.of.clone()),
        answer: if of.is_answered() { of.answer.clone() } else { String::new() },
    }
}
