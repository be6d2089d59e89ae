//! The plans of the page, set on paper for the saw. No money stands on it: it goes to the workshop.

use jiff::civil::DateTime;

use super::{FenceRow, Piece, Plan, StopRow, made, panel_rows, plans, sawn};
use crate::{
    documents::paper::{self, Document, Paper, Row, Table},
    domain::{estimate::Estimate, nesting::cutting::Cutting, trailer::TakeOff},
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

/// The plans of one job.
pub fn on_paper(estimate: &Estimate, show: &Show, subject: Subject) -> Document {
    plans_on_paper(&estimate.cutting, (&estimate.take_off, "for one trailer"), show, subject)
}

/// Plans with the lists of what they cut, which are of what is said here.
pub fn plans_on_paper(
    cutting: &Cutting,
    (take_off, listed): (&TakeOff, &str),
    show: &Show,
    subject: Subject,
) -> Document {
    let of = paper::cutting::Cutting {
        job: subject.job,
        shop: subject.shop,
        stands_for: subject.stands_for,
        day: subject.day,
        says: made(cutting),
        plans: plans(cutting, show).into_iter().map(plan).collect(),
        lists: [members(take_off, listed, show), panels(take_off, listed, show)]
            .into_iter()
            .filter(|table| !table.rows.is_empty())
            .collect(),
    };
    paper::cutting::cutting(&of, subject.made, Paper::of(show.units))
}

fn plan(of: Plan) -> paper::cutting::Plan {
    let shares: Vec<String> = of.shares.iter().map(|(words, share)| format!("{words} {share}")).collect();
    paper::cutting::Plan {
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

fn piece(of: Piece) -> paper::cutting::Piece {
    let steps = if of.fences.is_empty() { stops(&of.stops) } else { fences(&of.fences) };
    paper::cutting::Piece { drawing: of.drawing.of, steps }
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

fn members(take_off: &TakeOff, listed: &str, show: &Show) -> Table {
    let rows = sawn(take_off, show).into_iter().map(|row| {
        let [front, rear] = row.ends;
        Row::new([row.mark, row.role.to_owned(), row.section, front, rear, row.pieces.to_string(), row.length.main])
    });
    let head = head(&["Mark", "What", "Of", "One end", "Other end", "Pieces", "Length"]);
    Table { caption: format!("Members, {listed}"), head, rows: rows.collect(), figures_from: 5, ..Table::default() }
}

fn panels(take_off: &TakeOff, listed: &str, show: &Show) -> Table {
    let rows = panel_rows(take_off, show).into_iter().map(|row| {
        let size = format!("{} × {}", row.length.main, row.width.main);
        Row::new([row.mark, row.role.to_owned(), row.material, row.pieces.to_string(), size])
    });
    let head = head(&["Mark", "What", "Of", "Pieces", "Size"]);
    Table {
        caption: format!("Panels and plates, {listed}"),
        head,
        rows: rows.collect(),
        figures_from: 3,
        ..Table::default()
    }
}
