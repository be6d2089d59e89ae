//! The cutting plans: bars and sheets drawn to scale, the saw list, and how good the plans are.

use std::collections::BTreeSet;

use askama::Template;
use axum::{Router, extract::State, http::StatusCode, response::Response, routing::get};
use rust_decimal::Decimal;

use super::{
    Head, Tab,
    desk::Desk,
    rack_plan::{self, AtTheSaw},
    revision,
    view::{Drawing, Figure},
};
use crate::{
    documents::{Fence, Stop, bar_picture, fences, sheet_picture, stops, waste_picture},
    domain::{
        estimate::Estimate,
        measure::Tenths,
        nesting::{
            Assurance, Status, Stopped, Ties, Unplaced, bars,
            booking::is_of,
            cutting::{BarCutting, Cutting, SheetCutting},
            panels,
        },
        trailer::{EndCut, TakeOff},
    },
    storage::JobId,
    web::{
        AppState, Result,
        extract::Path,
        frame::{Frame, Room},
        pages, paths,
        show::{Both, Show},
    },
};

/// The same on paper.
mod on_paper;

pub use on_paper::{Subject as PaperSubject, on_paper, plans_on_paper};

#[derive(Template)]
#[template(path = "web/job/cutting.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    figures: Vec<Figure>,
    /// Which plans: a preview of the job as it is, or those of a revision.
    of: String,
    made: String,
    /// Nowhere for what was released: its stock is chosen.
    choices: String,
    /// The same as PDF.
    pdf: String,
    /// What each printed sheet is headed with.
    printed: String,
    /// The other jobs that were released by the same plan.
    with_others: String,
    plans: Vec<Plan>,
    cuts: Vec<Sawn>,
    panels: Vec<PanelRow>,
}

/// The plan of one section and grade, or of one material and thickness.
pub struct Plan {
    pub id: String,
    pub title: String,
    pub status_kind: &'static str,
    pub status: &'static str,
    pub says: String,
    /// How much of its cost could still be saved: not for the workshop.
    pub costs: String,
    /// What the saw is set to: kerf, trim, what is kept.
    pub saw: String,
    pub unplaced: Vec<String>,
    /// Where the stock goes: a bar, and words with their shares.
    pub waste: Option<Drawing>,
    pub shares: Vec<(&'static str, String)>,
    pub pieces: Vec<Piece>,
    /// Key of the price line of what is bought.
    pub key: String,
    /// Where that is overruled by hand; nowhere for what is frozen, and for several jobs.
    pub overrule: String,
}

/// A bar or a sheet, drawn, with what is done at the saw in order.
pub struct Piece {
    pub drawing: Drawing,
    /// Marks of the parts on a sheet, whose cuts do not name them; none of a bar.
    pub parts: BTreeSet<String>,
    /// Those of this job, in a plan of several.
    pub own: Vec<String>,
    pub stops: Vec<StopRow>,
    pub fences: Vec<FenceRow>,
}

pub struct StopRow {
    pub mark: String,
    /// Of this job, in a plan of several.
    pub own: bool,
    pub length: String,
    pub stop: String,
    pub cut: String,
    pub lies: &'static str,
}

pub struct FenceRow {
    pub piece: String,
    pub way: &'static str,
    pub fence: String,
}

/// A row of the saw list.
pub struct Sawn {
    pub mark: String,
    /// Of this job, in a plan of several.
    pub own: bool,
    pub role: &'static str,
    pub section: String,
    pub pieces: u32,
    pub length: Both,
    pub ends: [String; 2],
}

pub struct PanelRow {
    pub mark: String,
    /// Of this job, in a plan of several.
    pub own: bool,
    pub role: &'static str,
    pub material: String,
    pub pieces: u32,
    pub length: Both,
    pub width: Both,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::CUTTING, get(show)).route(paths::REVISION_CUTTING, get(frozen))
}

async fn show(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let AtTheSaw { estimate, released, together } = match rack_plan::at_the_saw(&desk, &state, &frame).await? {
        Ok(found) => found,
        Err(unbuilt) => return Ok(unbuilt),
    };
    let mut page = Page::of(frame.at(Room::Jobs), desk.head(Tab::Cutting), &estimate, &desk.show);
    if let Some(at) = released {
        page = page.frozen(format!("As released to the workshop on {at}"));
        page.choices = String::new();
        page.share(together);
    } else if !estimate.cutting.rack_tags().is_empty() {
        let counts = desk.shop.policy.counts_on_rack;
        page.made.push_str(if counts { " The price counts on them." } else { " The price is that of new stock." });
    }
    pages::page(StatusCode::OK, &page)
}

/// The frozen plans of a revision, for the saw.
async fn frozen(
    State(state): State<AppState>,
    frame: Frame,
    Path((job, number)): Path<(JobId, u32)>,
) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let quote = revision::thawed(&revision::find(&state, job, number).await?)?;
    let show = Show::of_issued(&quote.shop);
    let page = Page::of(frame.at(Room::Jobs), desk.head(Tab::Revisions), &quote.estimate, &show);
    let page = Page {
        choices: paths::of_revision(paths::REVISION_CHOICES, &job, &number),
        pdf: paths::of_revision(paths::REVISION_CUTTING_PDF, &job, &number),
        ..page.frozen(format!("Revision {number}"))
    };
    pages::page(StatusCode::OK, &page)
}

impl Page {
    pub(super) fn of(frame: Frame, head: Head, estimate: &Estimate, show: &Show) -> Self {
        let cutting = &estimate.cutting;
        let figure = |key, words: &str, value: String, note: &str| Figure::plain(key, words, value, note);
        let figures = vec![
            figure("bars", "Bars and bar offcuts", cutting.bars_used().to_string(), "")
                .with(&estimate.bars_working(), show),
            figure("sheets", "Sheets", cutting.sheets_used().to_string(), "").with(&estimate.sheets_working(), show),
            figure("pieces", "Pieces sawn", estimate.take_off.pieces().to_string(), "for one trailer"),
        ];
        let mut plans = plans(cutting, show);
        for plan in &mut plans {
            plan.overrule = paths::overrule(&head.job, &plan.key);
        }
        let of = "A plan of the job as it is now".to_owned();
        Self {
            printed: printed(&head, &of),
            with_others: String::new(),
            of,
            choices: paths::of_job(paths::CHOICES, &head.job),
            pdf: paths::of_job(paths::CUTTING_PDF, &head.job),
            frame,
            head,
            figures,
            made: made(cutting),
            plans,
            cuts: sawn(&estimate.take_off, show),
            panels: panel_rows(&estimate.take_off, show),
        }
    }

    /// Marks this job's parts in a plan of several.
    fn share(&mut self, together: Vec<String>) {
        if together.is_empty() {
            return;
        }
        let number = self.head.number.clone();
        self.with_others = together.into_iter().filter(|other| *other != number).collect::<Vec<_>>().join(", ");
        for piece in self.plans.iter_mut().flat_map(|plan| &mut plan.pieces) {
            piece.own = piece.parts.iter().filter(|mark| is_of(mark, &number)).cloned().collect();
            for stop in &mut piece.stops {
                stop.own = is_of(&stop.mark, &number);
            }
        }
        for cut in &mut self.cuts {
            cut.own = is_of(&cut.mark, &number);
        }
        for panel in &mut self.panels {
            panel.own = is_of(&panel.mark, &number);
        }
        self.figures.retain(|figure| figure.key != "pieces");
    }

    /// The same of plans that no longer move.
    fn frozen(mut self, of: String) -> Self {
        for plan in &mut self.plans {
            plan.overrule = String::new();
        }
        self.printed = printed(&self.head, &of);
        Self { of, ..self }
    }
}

fn printed(head: &Head, of: &str) -> String {
    format!("{} · {} · {of}", head.number, head.title)
}

/// Every plan, bars first.
pub fn plans(cutting: &Cutting, show: &Show) -> Vec<Plan> {
    let bars = cutting.bars.iter().enumerate().map(|(at, plan)| Plan::of_bars(at, plan, show));
    bars.chain(cutting.sheets.iter().enumerate().map(|(at, plan)| Plan::of_sheets(at, plan, show))).collect()
}

/// How hard the plans were searched for.
pub fn planned_with(cutting: &Cutting) -> &'static str {
    if cutting.full {
        "Planned with the full budget."
    } else {
        "A preview: planned with a small budget while the spec moves. A revision is planned with the full budget."
    }
}

/// How the plans were made, and what they take from the rack.
pub fn made(cutting: &Cutting) -> String {
    let (budget, tags) = (planned_with(cutting), cutting.rack_tags());
    if tags.is_empty() {
        return budget.to_owned();
    }
    format!("{budget} Taken from the rack: {}.", tags.join(", "))
}

/// What an answer says of itself, whatever it plans.
struct Told<'a> {
    status: Status,
    assurance: Assurance,
    ties: Ties,
    stopped: Option<Stopped>,
    unplaced: &'a [Unplaced],
    notes: &'a [String],
}

impl Plan {
    fn of_bars(at: usize, cutting: &BarCutting, show: &Show) -> Self {
        let (id, title) = (format!("bars-{}", at + 1), format!("{} {}", cutting.section, cutting.grade));
        let answer = match &cutting.answer {
            Ok(answer) => answer,
            Err(fault) => return Self::none(id, title, cutting.key(), fault),
        };
        let told = Told {
            status: answer.status,
            assurance: answer.assurance(),
            ties: answer.ties,
            stopped: answer.stopped,
            unplaced: &answer.unplaced,
            notes: &answer.notes,
        };
        let pieces = answer.plan.iter().enumerate().map(|(nth, bar)| {
            let size = [cutting.section.depth_mm(), cutting.section.width_mm()];
            let draw = |letters| bar_picture(&cutting.problem, bar, size, show.units, letters);
            Piece {
                drawing: Drawing::titled(&format!("bar-{at}-{nth}"), draw),
                parts: BTreeSet::new(),
                own: Vec::new(),
                stops: stops(&cutting.problem, bar).iter().map(|stop| StopRow::of(stop, show)).collect(),
                fences: Vec::new(),
            }
        });
        let problem = &cutting.problem;
        let size = |length: Tenths| show.length(length.mm()).main;
        let plan = Self {
            saw: format!(
                "Kerf {}, end trim {}; remainders from {} go to the rack.",
                size(problem.kerf),
                size(problem.end_trim),
                size(problem.keep_offcut)
            ),
            pieces: pieces.collect(),
            ..Self::told(id, title, cutting.key(), &told, counted(answer.bars, "bar"), show)
        };
        plan.with_waste(bars::Waste::of(problem, answer).shares(), &format!("bar-waste-{at}"), show)
    }

    fn of_sheets(at: usize, cutting: &SheetCutting, show: &Show) -> Self {
        let id = format!("sheets-{}", at + 1);
        let title = format!("{} {}", cutting.material.label(), show.length(cutting.thickness.mm()).main);
        let answer = match &cutting.answer {
            Ok(answer) => answer,
            Err(fault) => return Self::none(id, title, cutting.key(), fault),
        };
        let told = Told {
            status: answer.status,
            assurance: answer.assurance(),
            ties: answer.ties,
            stopped: answer.stopped,
            unplaced: &answer.unplaced,
            notes: &answer.notes,
        };
        let problem = &cutting.problem;
        let pieces = answer.plan.iter().enumerate().map(|(nth, sheet)| {
            let draw = |letters| sheet_picture(problem, sheet, show.units, letters);
            Piece {
                drawing: Drawing::titled(&format!("sheet-{at}-{nth}"), draw),
                parts: sheet.placed.iter().map(|placed| placed.part.clone()).collect(),
                own: Vec::new(),
                stops: Vec::new(),
                fences: fences(problem, sheet).iter().map(|fence| FenceRow::of(fence, show)).collect(),
            }
        });
        let size = |length: Tenths| show.length(length.mm()).main;
        let plan = Self {
            saw: format!(
                "Kerf {}, edge trim {}; remainders from {} × {} go to the rack.",
                size(problem.kerf),
                size(problem.edge_trim),
                size(problem.keep_offcut[0]),
                size(problem.keep_offcut[1])
            ),
            pieces: pieces.collect(),
            ..Self::told(id, title, cutting.key(), &told, counted(answer.sheets, "sheet"), show)
        };
        plan.with_waste(panels::Waste::of(problem, answer).shares(), &format!("sheet-waste-{at}"), show)
    }

    fn with_waste(mut self, shares: [f64; 5], id: &str, show: &Show) -> Self {
        if self.pieces.is_empty() {
            return self;
        }
        let words = ["parts", "kerf", "trim", "scrap", "kept"];
        self.shares = words.into_iter().zip(shares.map(|share| show.share(share))).collect();
        let told: Vec<String> = self.shares.iter().map(|(words, share)| format!("{words} {share}")).collect();
        let drawing = waste_picture(shares, format!("{}.", told.join(", ")));
        self.waste = Some(Drawing::new(drawing.title.clone(), id, drawing));
        self
    }

    fn none(id: String, title: String, key: String, fault: &str) -> Self {
        Self {
            id,
            title,
            status_kind: "fails",
            status: "no plan",
            says: String::new(),
            costs: String::new(),
            saw: String::new(),
            unplaced: vec![format!("There is no plan: {fault}.")],
            waste: None,
            shares: Vec::new(),
            pieces: Vec::new(),
            key,
            overrule: String::new(),
        }
    }

    fn told(id: String, title: String, key: String, told: &Told<'_>, used: String, show: &Show) -> Self {
        let (status_kind, status) = match told.status {
            Status::Optimal => ("holds", "proven: no plan costs less"),
            Status::Feasible => ("close", "a plan, not proven the best"),
            Status::Infeasible => ("fails", "cannot be cut from this stock"),
            Status::Undecided => ("unknown", "no plan found in the work allowed"),
        };
        let mut says = vec![used];
        let percent = |share: Decimal| format!("{} %", show.number(f64::try_from(share).unwrap_or(100.0), 1));
        if told.ties == Ties::Searched && told.status == Status::Optimal {
            says.push("Among plans of equal cost the handiest was searched for, not proven.".into());
        }
        if told.stopped.is_some_and(Stopped::by_caller) {
            says.push("The search was cut short, so this cannot be issued.".into());
        }
        says.extend(told.notes.iter().cloned());
        let unplaced = told.unplaced.iter().map(|part| format!("{} × {}: {}", part.quantity, part.part, part.why));
        Self {
            id,
            title,
            status_kind,
            status,
            says: says.join(" "),
            costs: told.assurance.sentence(|amount| show.money(amount), percent),
            saw: String::new(),
            unplaced: unplaced.collect(),
            waste: None,
            shares: Vec::new(),
            pieces: Vec::new(),
            key,
            overrule: String::new(),
        }
    }
}

impl StopRow {
    fn of(stop: &Stop, show: &Show) -> Self {
        Self {
            mark: stop.mark.clone(),
            own: false,
            length: show.length(stop.length_mm).main,
            stop: show.length(stop.stop_mm).main,
            cut: if stop.angle_deg == 0.0 {
                "square".to_owned()
            } else {
                format!("{}°", show.number(stop.angle_deg, 1))
            },
            lies: match (stop.lies.turned, stop.lies.flipped, stop.lies.shares_next) {
                (_, _, true) => "one cut with the next",
                (_, true, false) => "turned over",
                (true, false, false) => "end for end",
                (false, false, false) => "",
            },
        }
    }
}

impl FenceRow {
    fn of(fence: &Fence, show: &Show) -> Self {
        let [length, width] = fence.piece_mm.map(|mm| show.length(mm).main);
        Self {
            piece: format!("{length} × {width}"),
            way: if fence.across { "across" } else { "along" },
            fence: show.length(fence.fence_mm).main,
        }
    }
}

fn counted(count: u32, what: &str) -> String {
    if count == 1 { format!("1 {what}.") } else { format!("{count} {what}s.") }
}

pub fn sawn(take_off: &TakeOff, show: &Show) -> Vec<Sawn> {
    let rows = take_off.bars.iter().flat_map(|demand| {
        demand.parts.iter().map(move |part| Sawn {
            mark: part.id.clone(),
            own: false,
            role: part.role.label(),
            section: format!("{} {}", demand.section, demand.grade),
            pieces: part.quantity,
            length: tenths(part.length, show),
            ends: part.cuts.map(|cut| end(&cut, show)),
        })
    });
    rows.collect()
}

pub fn panel_rows(take_off: &TakeOff, show: &Show) -> Vec<PanelRow> {
    let rows = take_off.sheets.iter().flat_map(|demand| {
        demand.parts.iter().map(move |part| PanelRow {
            mark: part.id.clone(),
            own: false,
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
