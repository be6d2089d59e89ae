//! The cutting list at the saw: every bar and sheet to scale with its cuts in order. Black and white tells all.

use jiff::civil::DateTime;

use super::{Block, Document, Facts, Paper, Run, Style, Table};
use crate::{documents::Drawing, domain::words::Words};

#[derive(Clone, Debug, Default, PartialEq)]
pub struct Cutting {
    pub job: String,
    pub shop: String,
    /// `Revision 2`, or that nothing is issued.
    pub stands_for: String,
    pub day: String,
    /// How the plans were made.
    pub says: String,
    pub plans: Vec<Plan>,
    /// The saw list and the panels.
    pub lists: Vec<Table>,
}

/// The plan of one section and grade, or of one material and thickness.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Plan {
    pub title: String,
    pub status: String,
    pub says: String,
    /// What the saw is set to.
    pub saw: String,
    pub unplaced: Vec<String>,
    /// Where the stock goes, with the shares in words.
    pub waste: Option<(Drawing, String)>,
    pub pieces: Vec<Piece>,
}

/// A bar or a sheet with its cuts in order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Piece {
    pub drawing: Drawing,
    pub steps: Table,
}

const HOW_TO_READ: &str = "Scrap is hatched; what goes back to the rack is plain and says “keep”. A stop is measured along the bar from the \
     end that the saw starts at, its trim included. A fence is set from the left or lower edge, as drawn, to the near side of the blade; \
     “across” cuts the sheet’s length, “along” its width. The trim of a sheet’s edges comes first.";

pub fn cutting(of: &Cutting, made: Option<DateTime>, paper: Paper) -> Document {
    let standing: Vec<&str> =
        [&of.stands_for, &of.day].into_iter().filter(|text| !text.is_empty()).map(|text| &**text).collect();
    let mut blocks = vec![
        Block::heading(1, format!("Cutting list: {}", of.job)),
        Block::text(format!("{}. {}", standing.join(", "), of.says)),
        Block::small(HOW_TO_READ),
    ];
    if of.plans.is_empty() {
        blocks.push(Block::text("Nothing is cut."));
    }
    for (nth, plan) in of.plans.iter().enumerate() {
        // Each section goes to the saw on sheets of its own.
        if nth > 0 {
            blocks.push(Block::NewPage);
        }
        push_plan(&mut blocks, plan);
    }
    if !of.lists.is_empty() {
        blocks.push(Block::NewPage);
        blocks.push(Block::heading(2, "All pieces"));
        blocks.extend(of.lists.iter().cloned().map(Block::Table));
    }
    let facts = Facts {
        words: Words::english(),
        title: format!("Cutting list: {}", of.job),
        author: of.shop.clone(),
        made,
        running: [format!("Cutting list · {}", of.job), of.stands_for.clone()],
        paper: paper.landscape(),
    };
    Document { facts, blocks }
}

fn push_plan(blocks: &mut Vec<Block>, plan: &Plan) {
    blocks.push(Block::heading(2, plan.title.clone()));
    let status = Run::new(format!("{}. ", plan.status), Style::bold());
    blocks.push(Block::Paragraph(vec![status, Run::new(plan.says.clone(), Style::body())]));
    if !plan.unplaced.is_empty() {
        blocks.push(Block::Notice(plan.unplaced.clone()));
    }
    if let Some((drawing, words)) = &plan.waste {
        blocks.push(Block::Picture { drawing: drawing.clone(), caption: words.clone(), tallest: 16.0 });
    }
    if !plan.saw.is_empty() {
        blocks.push(Block::text(plan.saw.clone()));
    }
    for piece in &plan.pieces {
        blocks.push(Block::heading(3, piece.drawing.title.clone()));
        blocks.push(Block::Picture { drawing: piece.drawing.clone(), caption: String::new(), tallest: 330.0 });
        if !piece.steps.rows.is_empty() {
            blocks.push(Block::Table(piece.steps.clone()));
        }
    }
}
