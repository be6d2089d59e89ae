//! The whole calculation on paper, in the order of its page.

use jiff::civil::DateTime;

use super::{Block, Document, Facts, Paper, Row, Run, Style, Table, formula};
use crate::{
    documents::{Drawing, show::Show},
    domain::{cautions, words::Words, working::Working},
};

/// What a calculation says.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Calculation {
    pub job: String,
    pub shop: String,
    pub title_block: Vec<(String, String)>,
    /// Head of every page: the job and what it stands for.
    pub running: [String; 2],
    pub verdict: String,
    pub sections: Vec<Section>,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct Section {
    pub title: String,
    pub says: Vec<String>,
    pub drawings: Vec<(String, Drawing)>,
    pub tables: Vec<Table>,
    pub entries: Vec<Entry>,
}

/// A working or a check, under a number of its own.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Entry {
    pub heading: String,
    /// The verdict of a check; empty for a working.
    pub verdict: String,
    pub says: String,
    pub working: Option<Working>,
    pub answer: String,
}

pub fn calculation(of: &Calculation, show: &Show, made: Option<DateTime>) -> Document {
    let mut blocks = vec![Block::heading(1, "Calculation")];
    let rows = of.title_block.iter().map(|(name, value)| Row::new([name.clone(), value.clone()]));
    blocks.push(Block::Table(Table { rows: rows.collect(), figures_from: 2, ..Table::default() }));
    blocks.push(Block::strong(of.verdict.clone()));
    blocks.push(Block::Notice(vec![cautions::NO_CERTIFICATION.to_owned(), cautions::ENGINEER.to_owned()]));
    blocks.push(Block::Contents { to_level: 3 });
    blocks.push(Block::NewPage);
    for section in &of.sections {
        blocks.push(Block::heading(2, section.title.clone()));
        blocks.extend(section.says.iter().map(|says| Block::text(says.clone())));
        blocks.extend(section.drawings.iter().map(|(caption, drawing)| Block::Picture {
            drawing: drawing.clone(),
            caption: caption.clone(),
            tallest: 240.0,
        }));
        blocks.extend(section.tables.iter().cloned().map(Block::Table));
        section.entries.iter().for_each(|entry| push_entry(&mut blocks, entry, show));
    }
    blocks.push(Block::heading(2, format!("{} Cautions and signature", of.sections.len() + 1)));
    blocks.push(Block::List(cautions::ALL.map(str::to_owned).to_vec()));
    let fill_in = ["Checked by (licensed engineer, name and licence number)", "Place and date", "Signature"];
    blocks.push(Block::ToFill(fill_in.map(str::to_owned).to_vec()));
    let facts = Facts {
        words: Words::english(),
        title: format!("Calculation: {}", of.job),
        author: of.shop.clone(),
        made,
        running: of.running.clone(),
        paper: Paper::of(show.units),
    };
    Document { facts, blocks }
}

fn push_entry(blocks: &mut Vec<Block>, entry: &Entry, show: &Show) {
    blocks.push(Block::heading(3, entry.heading.clone()));
    if !(entry.verdict.is_empty() && entry.says.is_empty()) {
        let verdict = Run::new(format!("{} ", entry.verdict), Style::bold());
        blocks.push(Block::Paragraph(vec![verdict, Run::new(entry.says.clone(), Style::body())]));
    }
    if let Some(working) = &entry.working {
        push_working(blocks, working, show);
    }
    if !entry.answer.is_empty() {
        let answered = Run::new("Answered in writing: ", Style::bold());
        blocks.push(Block::Paragraph(vec![answered, Run::new(entry.answer.clone(), Style::body())]));
    }
}

/// The formula, with values, what they mean, and the source.
fn push_working(blocks: &mut Vec<Block>, working: &Working, show: &Show) {
    let result = show.both_families(working.result, &working.unit);
    blocks.push(Block::Formula { runs: formula::formula(working), spoken: working.formula.clone() });
    if let Some(runs) = formula::with_values(working, &|given| show.bare(given.value, &given.unit), &result) {
        blocks.push(Block::Formula { runs, spoken: format!("{} = {result}", working.symbol) });
    }
    if !working.given.is_empty() {
        let rows = working
            .given
            .iter()
            .map(|given| Row::new([given.symbol.clone(), given.words.clone(), show.given(given.value, &given.unit)]));
        let head = ["Symbol", "Meaning", "Value"].map(str::to_owned).to_vec();
        blocks.push(Block::Table(Table {
            head,
            rows: rows.collect(),
            figures_from: 2,
            heads_are_symbols: true,
            ..Table::default()
        }));
    }
    if !working.source.is_empty() {
        blocks.push(Block::small(format!("{} ({})", working.source, working.sure.label())));
    }
}
