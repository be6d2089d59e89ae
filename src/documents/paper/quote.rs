//! The quote on paper: what the customer's page says, from the same type, which has no place for what is the shop's own.

use jiff::civil::DateTime;

use super::{Block, Document, Facts, Paper, Row, Table};
use crate::{
    documents::customer::{Changes, CustomersCopy, Line, Told},
    domain::words::Words,
};

/// What the customer may choose, in words and amounts.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Choices {
    /// Name, what it is, and what it adds to the price.
    pub offered: Vec<[String; 3]>,
    /// Names of those that are in the price above.
    pub chosen: Vec<String>,
}

/// What changed since the revision of this number.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Since {
    pub number: u32,
    pub changes: Vec<Changes>,
    /// Something of the construction changed that no sentence names.
    pub inside: bool,
}

pub fn quote(
    copy: &CustomersCopy,
    choices: &Choices,
    since: Option<&Since>,
    made: Option<DateTime>,
    paper: Paper,
    words: &'static Words,
) -> Document {
    let say = |id: &str| words.say(id).text();
    let title = |id: &str| Block::heading(2, say(id));
    let lines = |told: &[Told]| told.iter().map(|told| told.line(words)).collect::<Vec<_>>();
    let valid = || words.say("valid-until").with("day", &copy.valid_until).text();
    let mut blocks = vec![Block::heading(1, copy.job_title.clone()), Block::text(copy.standing.clone())];
    if !copy.valid_until.is_empty() {
        blocks.push(Block::text(valid()));
    }
    blocks.push(Block::text(copy.lead.clone()));
    blocks.push(Block::Figures(figures(copy, words)));
    if let Some(since) = since {
        blocks.push(Block::heading(2, words.say("changed-title").with("number", since.number).text()));
        blocks.extend(changed(since, words));
    }
    blocks.push(title("asked-title"));
    blocks.push(Block::List(copy.asked.iter().map(|told| told.text.clone()).collect()));
    blocks.push(title("gets-title"));
    blocks.extend(copy.drawings.iter().map(|view| Block::Picture {
        drawing: view.drawing.clone(),
        caption: view.shows.clone(),
        tallest: 150.0,
    }));
    blocks.push(Block::List(lines(&copy.made_of)));
    if !choices.chosen.is_empty() {
        let names = words.list(&choices.chosen);
        blocks.push(Block::text(words.say("paper-chosen").with("names", names).text()));
    }
    if !copy.tie_down.is_empty() {
        blocks.push(title("tie-down-title"));
        blocks.push(Block::List(copy.tie_down.clone()));
    }
    blocks.push(title("price-title"));
    blocks.push(Block::Table(price(copy, words)));
    if !choices.offered.is_empty() {
        blocks.push(Block::Table(Table {
            caption: say("options-title"),
            head: ["options-head", "options-about", "options-price"].map(say).to_vec(),
            rows: choices.offered.iter().map(|row| Row::new(row.clone())).collect(),
            figures_from: 2,
            ..Table::default()
        }));
    }
    blocks.push(Block::text(copy.earliest.clone()));
    if !copy.valid_until.is_empty() {
        blocks.push(Block::text(valid()));
    }
    blocks.push(title("cautions-title"));
    blocks.push(Block::Notice(copy.cautions.clone()));
    if !copy.terms.is_empty() {
        blocks.push(title("terms-title"));
        blocks.extend(lines(&copy.terms).into_iter().map(Block::text));
    }
    blocks.push(Block::heading(2, copy.shop.name.clone()));
    blocks.extend(copy.shop.reach.iter().map(|line| Block::text(line.clone())));
    let of_job = |id: &str| words.say(id).with("job", &copy.job_title).text();
    let running = [of_job("paper-head"), copy.revision.clone()];
    let facts = Facts { words, title: of_job("paper-title"), author: copy.shop.name.clone(), made, running, paper };
    Document { facts, blocks }
}

fn figures(copy: &CustomersCopy, words: &Words) -> Vec<[String; 3]> {
    let note = if copy.tax.is_some() { words.say("with-tax").text() } else { String::new() };
    let price = [words.say("figure-price").text(), copy.total.clone(), note];
    let figures = copy.gets.iter().map(|of| {
        let other = if of.value.other.is_empty() { String::new() } else { format!("({})", of.value.other) };
        let note = [of.note.as_str(), other.as_str()].into_iter().filter(|text| !text.is_empty()).collect::<Vec<_>>();
        [of.words.clone(), of.value.main.clone(), note.join(" ")]
    });
    [price].into_iter().chain(figures).collect()
}

fn changed(since: &Since, words: &Words) -> Vec<Block> {
    let say = |id: &str| words.say(id).text();
    let side = |text: &str, missing: &str| if text.is_empty() { say(missing) } else { text.to_owned() };
    let mut blocks: Vec<Block> = Vec::new();
    for of in &since.changes {
        let rows = of.changes.iter().map(|change| {
            let (before, after) = (side(&change.before, "changed-not-there"), side(&change.after, "changed-gone"));
            Row::new([change.what.clone(), before, after])
        });
        blocks.push(Block::Table(Table {
            caption: of.title.clone(),
            head: ["changed-what", "changed-before", "changed-now"].map(say).to_vec(),
            rows: rows.collect(),
            figures_from: 3,
            ..Table::default()
        }));
    }
    match (since.inside, since.changes.is_empty()) {
        (true, _) => blocks.push(Block::text(say("changed-inside"))),
        (false, true) => blocks.push(Block::text(say("changed-nothing"))),
        (false, false) => {}
    }
    blocks
}

fn price(copy: &CustomersCopy, words: &Words) -> Table {
    let say = |id: &str| words.say(id).text();
    let row = |line: &Line| Row::new([line.text.clone(), line.amount.clone()]);
    let mut rows: Vec<Row> = copy.lines.iter().map(row).collect();
    if let Some(tax) = &copy.tax {
        rows.push(Row::new([say("price-before-tax"), copy.net.clone()]));
        rows.push(row(tax));
    }
    rows.push(Row::strong([say("price-total"), copy.total.clone()]));
    rows.extend(copy.deposit.iter().map(row));
    Table { head: vec![say("price-what"), say("price-amount")], rows, figures_from: 1, ..Table::default() }
}
