//! Drawings on sheets, one a page, printed at 100 % true to scale.

use jiff::civil::DateTime;

use super::{Block, Document, Facts, Paper};
use crate::documents::sheet::{self, PaperSize, Sheet};

/// Sheets of one paper as a document; their title blocks say the rest.
pub fn drawings(facts: &sheet::Facts, sheets: Vec<Sheet>, made: Option<DateTime>) -> Document {
    let paper = sheets.first().map_or(PaperSize::A4, |sheet| sheet.paper);
    let facts = Facts {
        words: facts.words,
        title: facts.words.say("sheet-document").with("job", &facts.job).text(),
        author: facts.shop.clone(),
        made,
        running: Default::default(),
        paper: Paper::of_sheet(paper),
    };
    Document { facts, blocks: sheets.into_iter().map(Block::Sheet).collect() }
}
