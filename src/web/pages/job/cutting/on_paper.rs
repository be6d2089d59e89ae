//! The plans of the page, set on paper for the saw. No money stands on it: it goes to the workshop.

use jiff::civil::DateTime;

use super::{FenceRow, Piece, Plan, StopRow, made, panel_rows, sawn};
use crate::{
    documents::paper::{Document, Paper, Row, Table, cutting},
    domain::estimate::Estimate,
    web::show::Show,
};

/// What a cutting list on paper is of.
#[derive(Clone, Debug, Default)]
pub struct Subject {
    pub job: String,
    pub shop: String,
    pub stands_for: String,
    pub day: String,
    pub made: Option<DateTime>,
}

pub fn on_paper(estimate: &Estimate, show: &Show, subject: Subject) -> Document {
    let cutting = &estimate.cutting;
    let bars = cutting.bars.iter().enumerate().map(|(at, plan)| Plan::of_bars(at, plan, show));
    let sheets = cutting.sheets.iter().enumerate().map(|(at, plan)| Plan::of_sheets(at, plan, show));
    let of = cutting::Cutting {
        job: subject.job,
        shop: subject.shop,
        stands_for: subject.stands_for,
        day: subject.day,
        says: made(cutting),
        plans: bars.chain(sheets).map(plan).collect(),
        lists: [members(estimate, show), panels(estimate, show)]
            .into_iter()
            .filter(|table| !table.rows.is_empty())
            .collect(),
    };
    cutting::cutting(&of, subject.made, Paper::of(show.units))
}

fn plan(of: Plan) -> cutting::Plan {
    let shares: Vec<String> = of.shares.iter().map(|(words, share)| format!("{words} {share}")).collect();
    cutting::Plan {
        title: of.title,
        status: of.status.to_owned(),
        says: of.says,
        saw: of.saw,
        unplaced: of.unplaced,
        waste: of.waste.map(|drawing| (drawing.of, format!("Where the stock goes: {}.", shares.join(", ")))),
        pieces: of.pieces.into_iter().map(piece).collect(),
    }
}

fn head(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}

fn piece(of: Piece) -> cutting::Piece {
    let steps = if of.fences.is_empty() { stops(&of.stops) } else { fences(&of.fences) };
    cutting::Piece { drawing: of.drawing.of, steps }
}

/// A box to tick off.
const DONE: &str = "☐";

fn stops(of: &[StopRow]) -> Table {
    let rows = of.iter().enumerate().map(|(nth, stop)| {
        Row::new([
            format!("{}  {}", nth + 1, stop.mark),
            stop.cut.clone(),
            stop.lies.to_owned(),
            stop.length.clone(),
            stop.stop.clone(),
            DONE.to_owned(),
        ])
    });
    let head = head(&["Cut, mark", "Far end", "Lies", "Length, long point", "Stop from the bar’s end", "Done"]);
    Table { head, rows: rows.collect(), figures_from: 3, ..Table::default() }
}

fn fences(of: &[FenceRow]) -> Table {
    let rows = of.iter().enumerate().map(|(nth, fence)| {
        Row::new([
            (nth + 1).to_string(),
            fence.piece.clone(),
            fence.way.to_owned(),
            fence.fence.clone(),
            DONE.to_owned(),
        ])
    });
    let head = head(&["Cut", "Of the piece", "Way", "Fence", "Done"]);
    Table { head, rows: rows.collect(), figures_from: 3, ..Table::default() }
}

fn members(estimate: &Estimate, show: &Show) -> Table {
    let rows = sawn(estimate, show).into_iter().map(|row| {
        let [front, rear] = row.ends;
        Row::new([row.mark, row.role.to_owned(), row.section, front, rear, row.pieces.to_string(), row.length.main])
    });
    let head = head(&["Mark", "What", "Of", "One end", "Other end", "Pieces", "Length"]);
    Table { caption: "Members, for one trailer".into(), head, rows: rows.collect(), figures_from: 5 }
}

fn panels(estimate: &Estimate, show: &Show) -> Table {
    let rows = panel_rows(estimate, show).into_iter().map(|row| {
        let size = format!("{} × {}", row.length.main, row.width.main);
        Row::new([row.mark, row.role.to_owned(), row.material, row.pieces.to_string(), size])
    });
    let head = head(&["Mark", "What", "Of", "Pieces", "Size"]);
    Table { caption: "Panels and plates, for one trailer".into(), head, rows: rows.collect(), figures_from: 3 }
}
