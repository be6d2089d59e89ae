//! Drawings on sheets of paper, one a sheet, each as large as the paper allows.

use jiff::civil::DateTime;

use super::{Block, Document, Facts, Paper};
use crate::documents::Drawing;

/// What stands in the title block.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Title {
    pub job: String,
    pub shop: String,
    /// `Revision 2`, or that nothing is issued.
    pub stands_for: String,
    pub day: String,
    /// What to mind at the drawing, a sentence each.
    pub notes: Vec<String>,
}

/// Any drawings with their titles; the paper lies on its long side.
pub fn drawings(title: &Title, of: &[(String, Drawing)], made: Option<DateTime>, paper: Paper) -> Document {
    let paper = paper.landscape();
    let mut blocks = Vec::new();
    for (nth, (shows, drawing)) in of.iter().enumerate() {
        if nth > 0 {
            blocks.push(Block::NewPage);
        } else {
            blocks.push(Block::heading(1, title.job.clone()));
        }
        blocks.push(Block::heading(2, shows.clone()));
        // Below the drawing: its caption and the notes.
        let tallest = paper.tall - 260.0;
        let caption = [&title.stands_for, &title.day].into_iter().filter(|text| !text.is_empty()).cloned();
        blocks.push(Block::Picture {
            drawing: drawing.clone(),
            caption: caption.collect::<Vec<_>>().join(", "),
            tallest,
        });
    }
    blocks.extend(title.notes.iter().map(|note| Block::small(note.clone())));
    let facts = Facts {
        title: format!("Drawing: {}", title.job),
        author: title.shop.clone(),
        made,
        running: [format!("Drawing · {}", title.job), title.stands_for.clone()],
        paper,
    };
    Document { facts, blocks }
}
