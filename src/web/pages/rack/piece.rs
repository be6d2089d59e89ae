//! A piece of the rack: its history, and what may be done with it now.

use askama::Template;
use axum::{
    Router,
    extract::State,
    response::Response,
    routing::{get, post},
};

use super::{described, length, measured, words};
use crate::{
    domain::{
        measure::Tenths,
        rack::{State as Where, stock_length},
        shop::Stocked,
    },
    storage::{By, MovementLine, Piece, PieceMoved, Step},
    web::{
        AppState, Error, Result, clock,
        extract::Path,
        form::Form,
        frame::{Frame, Room},
        pages, paths,
        session::see_other,
        show::Show,
    },
};

#[derive(Template)]
#[template(path = "web/rack/piece.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    tag: String,
    stock: String,
    size: String,
    place: String,
    origin: String,
    /// The number of the job that it was bought for and that still needs it.
    bought_for: String,
    worth: String,
    is_bar: bool,
    is_free: bool,
    /// The number of the job that has it.
    holder: Option<String>,
    state: String,
    history: Vec<Line>,
}

struct Line {
    at: String,
    what: String,
    job: String,
    why: String,
    who: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::PIECE, get(show_piece).post(step)).route(paths::PIECE_CORRECT, post(correct))
}

async fn show_piece(State(state): State<AppState>, frame: Frame, Path(tag): Path<String>) -> Result<Response> {
    render(&state, frame, &tag, Form::default()).await
}

/// Reserves, frees, cuts or scraps.
async fn step(
    State(state): State<AppState>,
    frame: Frame,
    Path(tag): Path<String>,
    mut form: Form,
) -> Result<Response> {
    let book = state.shop(clock::today()).await?;
    let job = form.value("job").trim().to_owned();
    let why;
    let remainders;
    let action = form.value("action").to_owned();
    let step = match action.as_str() {
        "reserve" => Step::Reserve { job: &job },
        "free" => Step::Free,
        "scrap" => {
            why = words(&mut form, "why", "Why", "why it is scrapped");
            Step::Scrap { why: &why }
        }
        "cut" => {
            remainders = read_remainders(&mut form, &Show::of(&book));
            Step::Cut {
                kerf: stock_length(book.policy.kerf),
                remainders: &remainders,
                decimals: book.currency.decimals,
            }
        }
        _ => return Err(Error::Unreadable("The form names nothing that can be done with a piece.".into())),
    };
    make(&state, frame, &tag, form.clone(), step).await
}

async fn correct(
    State(state): State<AppState>,
    frame: Frame,
    Path(tag): Path<String>,
    mut form: Form,
) -> Result<Response> {
    let Some((piece, _)) = state.store.rack_piece(&tag).await? else { return Err(Error::NO_PAGE) };
    let show = Show::of(&*state.shop(clock::today()).await?);
    let long = length(&mut form, "length", "Length", &show);
    let is_sheet = matches!(piece.on_rack.stock, Stocked::Sheet { .. });
    let width = if is_sheet { length(&mut form, "width", "Width", &show) } else { None };
    let why = words(&mut form, "reason", "Reason", "what was found");
    let step = Step::Correct { length: long.unwrap_or_default(), width, why: &why };
    make(&state, frame, &tag, form.clone(), step).await
}

async fn make(state: &AppState, frame: Frame, tag: &str, mut form: Form, step: Step<'_>) -> Result<Response> {
    let (Some(actor), true) = (form.actor(&frame), form.is_right()) else {
        return render(state, frame, tag, form).await;
    };
    let by = By { who: &actor.signature(), at: clock::now() };
    match state.store.move_piece(tag, step, by).await? {
        PieceMoved::Done(_) => return Ok(see_other(&paths::of_piece(paths::PIECE, tag), &actor)),
        PieceMoved::Missing => return Err(Error::NO_PAGE),
        PieceMoved::Refused(refused) => form.wrong_altogether(format!("Nothing was changed: {refused}.")),
        PieceMoved::Sawn(fault) => form.wrong("remainders", "Remainders", format!("{fault}.")),
        PieceMoved::NoJob => {
            form.wrong(
                "job",
                "Job",
                "No job with this number is accepted or in the shop: type it as its page shows it.",
            );
        }
    }
    render(state, frame, tag, form).await
}

/// A length a line.
fn read_remainders(form: &mut Form, show: &Show) -> Vec<Tenths> {
    let text = form.value("remainders").to_owned();
    let mut read = Vec::new();
    for line in text.lines().map(str::trim).filter(|line| !line.is_empty()) {
        match crate::domain::measure::read_length(line, show.hand().units) {
            Ok(length) => read.push(stock_length(length)),
            Err(fault) => {
                form.wrong("remainders", "Remainders", format!("{fault}."));
                break;
            }
        }
    }
    if read.len() > 20 {
        form.wrong("remainders", "Remainders", "A bar leaves at most 20 remainders worth keeping: type fewer lines.");
    }
    read
}

async fn render(state: &AppState, frame: Frame, tag: &str, form: Form) -> Result<Response> {
    let Some((piece, history)) = state.store.rack_piece(tag).await? else { return Err(Error::NO_PAGE) };
    let show = Show::of(&*state.shop(clock::today()).await?);
    let bought_for = state.bought_for(std::slice::from_ref(&piece)).await?;
    let bought_for = bought_for.owner(&piece).map(|owner| owner.number.clone()).unwrap_or_default();
    pages::page(form.status(), &Page { bought_for, ..Page::of(frame.at(Room::Rack), form, piece, &history, &show) })
}

impl Page {
    fn of(frame: Frame, form: Form, piece: Piece, history: &[MovementLine], show: &Show) -> Self {
        let stock = &piece.on_rack.stock;
        let state = match (&piece.state, &piece.job_number) {
            (Where::Gone, _) => "no longer on the rack".to_owned(),
            (_, Some(job)) => format!("reserved for {job}"),
            _ => "free".to_owned(),
        };
        Self {
            frame,
            form,
            stock: described(stock),
            size: measured(stock, show),
            is_bar: matches!(stock, Stocked::Bar { .. }),
            worth: show.money(piece.on_rack.worth),
            tag: piece.on_rack.tag,
            place: piece.place,
            origin: piece.origin,
            bought_for: String::new(),
            is_free: piece.state == Where::Free,
            holder: piece.job_number,
            state,
            history: history.iter().map(Line::of).collect(),
        }
    }
}

impl Line {
    fn of(line: &MovementLine) -> Self {
        Self {
            at: clock::moment(line.at),
            what: line.movement.label().to_owned(),
            job: line.job_number.clone().unwrap_or_default(),
            why: line.why.clone(),
            who: line.who.clone(),
        }
    }
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let line = || Line {
            at: "26 Nov".into(),
            what: "scrapped".into(),
            job: String::new(),
            why: "Ann <b>".into(),
            who: "Ann <b>".into(),
        };
        let page = |frame, is_free, holder: Option<&str>| Self {
            frame,
            form: Form::default(),
            tag: "R-0001".into(),
            stock: "rhs 60x40x3, S235".into(),
            size: "6000 mm".into(),
            place: "Ann <b>".into(),
            origin: "bought".into(),
            bought_for: "2026-002".into(),
            worth: "24.00".into(),
            is_bar: true,
            is_free,
            holder: holder.map(str::to_owned),
            state: "free".into(),
            history: vec![line()],
        };
        let [nobody, ann] = Frame::samples();
        vec![page(nobody, false, Some("2026-001")), page(ann.clone(), true, None), page(ann, false, Some("2026-001"))]
    }
}
