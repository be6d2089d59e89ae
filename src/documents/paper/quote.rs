//! The quote on paper: what the customer's page says, from the same type, which has no place for what is the shop's own.

use jiff::civil::DateTime;

use super::{Block, Document, Facts, Paper, Row, Table};
use crate::documents::customer::{CustomersCopy, Line};

/// What the customer may choose, in words and amounts.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Choices {
    /// Name, what it is, and what it adds to the price.
    pub offered: Vec<[String; 3]>,
    /// Names of those that are in the price above.
    pub chosen: Vec<String>,
}

pub fn quote(copy: &CustomersCopy, choices: &Choices, made: Option<DateTime>, paper: Paper) -> Document {
    let title = format!("Quote: {}", copy.job_title);
    let list = |items: &[String]| Block::List(items.to_vec());
    let mut blocks = vec![Block::heading(1, copy.job_title.clone()), Block::text(standing(copy))];
    if !copy.valid_until.is_empty() {
        blocks.push(Block::text(format!("Valid until {}.", copy.valid_until)));
    }
    let note = if copy.tax.is_some() { "with tax" } else { "" };
    let figures = copy.gets.iter().map(|of| {
        let other = if of.value.other.is_empty() { String::new() } else { format!("({})", of.value.other) };
        let note = [of.note.as_str(), other.as_str()].into_iter().filter(|text| !text.is_empty()).collect::<Vec<_>>();
        [of.words.clone(), of.value.main.clone(), note.join(" ")]
    });
    blocks
        .push(Block::Figures([["Price".into(), copy.total.clone(), note.into()]].into_iter().chain(figures).collect()));
    blocks.push(Block::heading(2, "What you asked for"));
    blocks.push(list(&copy.asked));
    blocks.push(Block::heading(2, "What you get"));
    blocks.extend(copy.drawings.iter().map(|view| Block::Picture {
        drawing: view.drawing.clone(),
        caption: view.shows.clone(),
        tallest: 150.0,
    }));
    blocks.push(list(&copy.made_of));
    if !choices.chosen.is_empty() {
        blocks.push(Block::text(format!("Chosen with it: {}.", choices.chosen.join(", "))));
    }
    if !copy.tie_down.is_empty() {
        blocks.push(Block::heading(2, "How to tie it down"));
        blocks.push(list(&copy.tie_down));
    }
    blocks.push(Block::heading(2, "Price"));
    blocks.push(Block::Table(price(copy)));
    if !choices.offered.is_empty() {
        blocks.push(Block::Table(Table {
            caption: "What you can choose".into(),
            head: ["Choice", "What it is", "Price"].map(str::to_owned).to_vec(),
            rows: choices.offered.iter().map(|row| Row::new(row.clone())).collect(),
            figures_from: 2,
        }));
    }
    blocks.push(Block::text(copy.earliest.clone()));
    if !copy.valid_until.is_empty() {
        blocks.push(Block::text(format!("This quote is valid until {}.", copy.valid_until)));
    }
    blocks.push(Block::heading(2, "Please mind"));
    blocks.push(Block::Notice(copy.cautions.clone()));
    if !copy.terms.is_empty() {
        blocks.push(Block::heading(2, "Terms"));
        blocks.extend(copy.terms.iter().map(|terms| Block::text(terms.clone())));
    }
    blocks.push(Block::heading(2, copy.shop.name.clone()));
    blocks.extend(copy.shop.reach.iter().map(|line| Block::text(line.clone())));
    let facts = Facts { title, author: copy.shop.name.clone(), made, running: running(copy), paper };
    Document { facts, blocks }
}

fn standing(copy: &CustomersCopy) -> String {
    let to = if copy.customer.is_empty() { String::new() } else { format!(" for {}", copy.customer) };
    let on = if copy.issued.is_empty() { String::new() } else { format!(", {}", copy.issued) };
    format!("A quote by {}{to}. {}{on}.", copy.shop.name, copy.revision)
}

fn running(copy: &CustomersCopy) -> [String; 2] {
    [format!("Quote · {}", copy.job_title), copy.revision.clone()]
}

fn price(copy: &CustomersCopy) -> Table {
    let row = |line: &Line| Row::new([line.text.clone(), line.amount.clone()]);
    let mut rows: Vec<Row> = copy.lines.iter().map(row).collect();
    if let Some(tax) = &copy.tax {
        rows.push(Row::new(["Before tax".into(), copy.net.clone()]));
        rows.push(row(tax));
    }
    rows.push(Row::strong(["Total".into(), copy.total.clone()]));
    rows.extend(copy.deposit.iter().map(row));
    Table { caption: String::new(), head: vec!["What".into(), "Amount".into()], rows, figures_from: 1 }
}
