//! The cutting plans: bars and sheets drawn to scale, the saw list, and how good the plans are.

use askama::Template;
use axum::{Router, extract::State, response::Response, routing::get};

use super::{
    Head, Tab, unbuilt,
    view::{Drawing, Figure},
};
use crate::{
    documents::{bar_picture, sheet_picture},
    domain::{
        estimate::Estimate,
        measure::{Money, Tenths},
        nesting::{
            Status, Stopped, Ties, Unplaced,
            cutting::{BarCutting, SheetCutting},
        },
        trailer::EndCut,
    },
    storage::JobId,
    web::{
        AppState, Result,
        extract::Path,
        frame::Frame,
        paths,
        show::{Both, Show},
    },
};

#[derive(Template)]
#[template(path = "web/job/cutting.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    figures: Vec<Figure>,
    budget_says: &'static str,
    bars: Vec<Plan>,
    sheets: Vec<Plan>,
    cuts: Vec<Sawn>,
    panels: Vec<PanelRow>,
}

/// The plan of one section and grade, or of one material and thickness.
struct Plan {
    title: String,
    status_kind: &'static str,
    status: &'static str,
    says: String,
    unplaced: Vec<String>,
    drawings: Vec<Drawing>,
}

/// A row of the saw list.
struct Sawn {
    mark: String,
    role: &'static str,
    section: String,
    pieces: u32,
    length: Both,
    ends: [String; 2],
}

struct PanelRow {
    mark: String,
    role: &'static str,
    material: String,
    pieces: u32,
    length: Both,
    width: Both,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::CUTTING, get(show))
}

async fn show(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    unbuilt::results(&state, frame, job, Tab::Cutting, Page::of).await
}

impl Page {
    pub(super) fn of(frame: Frame, head: Head, estimate: &Estimate, show: &Show) -> Self {
        let cutting = &estimate.cutting;
        let figure = |key, words: &str, value: String, note: &str| Figure {
            key,
            words: words.into(),
            value: Both::plain(value),
            note: note.into(),
        };
        let figures = vec![
            figure("bars", "Bars and bar offcuts", cutting.bars_used().to_string(), ""),
            figure("sheets", "Sheets", cutting.sheets_used().to_string(), ""),
            figure("pieces", "Pieces sawn", estimate.take_off.pieces().to_string(), "for one trailer"),
        ];
        Self {
            frame,
            head,
            figures,
            budget_says: if cutting.full {
                "Planned with the full budget."
            } else {
                "A preview: planned with a small budget while the spec moves. A revision is planned with the full budget."
            },
            bars: cutting.bars.iter().enumerate().map(|(at, plan)| Plan::of_bars(at, plan, show)).collect(),
            sheets: cutting.sheets.iter().enumerate().map(|(at, plan)| Plan::of_sheets(at, plan, show)).collect(),
            cuts: sawn(estimate, show),
            panels: panels(estimate, show),
        }
    }
}

/// What an answer says of itself, whatever it plans.
struct Told<'a> {
    status: Status,
    costs: [Option<Money>; 2],
    gap: Option<f64>,
    ties: Ties,
    stopped: Option<Stopped>,
    unplaced: &'a [Unplaced],
    notes: &'a [String],
}

impl Plan {
    fn of_bars(at: usize, cutting: &BarCutting, show: &Show) -> Self {
        let title = format!("{} {}", cutting.section, cutting.grade);
        let answer = match &cutting.answer {
            Ok(answer) => answer,
            Err(fault) => return Self::none(title, fault),
        };
        let told = Told {
            status: answer.status,
            costs: [answer.net_cost, answer.lower_bound],
            gap: answer.gap,
            ties: answer.ties,
            stopped: answer.stopped,
            unplaced: &answer.unplaced,
            notes: &answer.notes,
        };
        let drawings = answer.plan.iter().enumerate().map(|(nth, bar)| {
            let drawing = bar_picture(&cutting.problem, bar, show.units);
            Drawing { shows: drawing.title.clone(), svg: drawing.svg(&format!("bar-{at}-{nth}")) }
        });
        Self::told(title, &told, counted(answer.bars, "bar"), drawings.collect(), show)
    }

    fn of_sheets(at: usize, cutting: &SheetCutting, show: &Show) -> Self {
        let title = format!("{} {}", cutting.material.label(), show.length(cutting.thickness.mm()).main);
        let answer = match &cutting.answer {
            Ok(answer) => answer,
            Err(fault) => return Self::none(title, fault),
        };
        let told = Told {
            status: answer.status,
            costs: [answer.net_cost, answer.lower_bound],
            gap: answer.gap,
            ties: answer.ties,
            stopped: answer.stopped,
            unplaced: &answer.unplaced,
            notes: &answer.notes,
        };
        let drawings = answer.plan.iter().enumerate().map(|(nth, sheet)| {
            let drawing = sheet_picture(&cutting.problem, sheet, show.units);
            Drawing { shows: drawing.title.clone(), svg: drawing.svg(&format!("sheet-{at}-{nth}")) }
        });
        Self::told(title, &told, counted(answer.sheets, "sheet"), drawings.collect(), show)
    }

    fn none(title: String, fault: &str) -> Self {
        Self {
            title,
            status_kind: "fails",
            status: "no plan",
            says: String::new(),
            unplaced: vec![format!("There is no plan: {fault}.")],
            drawings: Vec::new(),
        }
    }

    fn told(title: String, told: &Told<'_>, used: String, drawings: Vec<Drawing>, show: &Show) -> Self {
        let (status_kind, status) = match told.status {
            Status::Optimal => ("holds", "proven: no plan costs less"),
            Status::Feasible => ("close", "a plan, not proven the best"),
            Status::Infeasible => ("fails", "cannot be cut from this stock"),
            Status::Undecided => ("unknown", "no plan found in the work allowed"),
        };
        let mut says = vec![used];
        if let [Some(net), Some(bound)] = told.costs {
            says.push(format!("Net cost {}; no plan can cost less than {}.", show.money(net), show.money(bound)));
        }
        if let (Status::Feasible, Some(gap)) = (told.status, told.gap) {
            says.push(format!("At most {} above the best.", show.share(gap)));
        }
        if told.ties == Ties::Searched && told.status == Status::Optimal {
            says.push("Among plans of equal cost the handiest was searched for, not proven.".into());
        }
        if told.stopped.is_some_and(Stopped::by_caller) {
            says.push("The search was cut short, so this cannot be issued.".into());
        }
        says.extend(told.notes.iter().cloned());
        let unplaced = told.unplaced.iter().map(|part| format!("{} × {}: {}", part.quantity, part.part, part.why));
        Self { title, status_kind, status, says: says.join(" "), unplaced: unplaced.collect(), drawings }
    }
}

fn counted(count: u32, what: &str) -> String {
    if count == 1 { format!("1 {what}.") } else { format!("{count} {what}s.") }
}

fn sawn(estimate: &Estimate, show: &Show) -> Vec<Sawn> {
    let rows = estimate.take_off.bars.iter().flat_map(|demand| {
        demand.parts.iter().map(move |part| Sawn {
            mark: part.id.clone(),
            role: part.role.label(),
            section: format!("{} {}", demand.section, demand.grade),
            pieces: part.quantity,
            length: tenths(part.length, show),
            ends: part.cuts.map(|cut| end(&cut, show)),
        })
    });
    rows.collect()
}

fn panels(estimate: &Estimate, show: &Show) -> Vec<PanelRow> {
    let rows = estimate.take_off.sheets.iter().flat_map(|demand| {
        demand.parts.iter().map(move |part| PanelRow {
            mark: part.id.clone(),
            role: part.role.label(),
            material: format!("{} {}", demand.material.label(), show.length(demand.thickness.mm()).main),
            pieces: part.quantity,
            length: tenths(part.length, show),
            width: tenths(part.width, show),
        })
    });
    rows.collect()
}

fn tenths(length: Tenths, show: &Show) -> Both {
    show.length(length.mm())
}

fn end(cut: &EndCut, show: &Show) -> String {
    let capped = if cut.capped { ", capped" } else { "" };
    if cut.angle_deg == 0.0 {
        return format!("square{capped}");
    }
    format!("{}° {}, long at the {}{capped}", show.number(cut.angle_deg, 1), cut.plane.label(), cut.long_point.label())
}
