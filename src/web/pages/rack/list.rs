//! What lies on the rack, with how many and how much it is worth.

use askama::Template;
use axum::{Router, extract::State, http::StatusCode, response::Response, routing::get};
use serde::Deserialize;

use super::{described, measured};
use crate::{
    domain::rack::{State as Where, worth},
    storage::Piece,
    web::{
        AppState, Result, clock,
        extract::Query,
        form::Form,
        frame::{Frame, Room},
        pages, paths,
        show::Show,
    },
};

#[derive(Template)]
#[template(path = "web/rack/list.html")]
pub struct Page {
    frame: Frame,
    search: Form,
    rows: Vec<Row>,
    found: String,
}

struct Row {
    tag: String,
    stock: String,
    size: String,
    place: String,
    state: String,
    worth: String,
}

#[derive(Debug, Default, Deserialize)]
struct Asked {
    #[serde(default)]
    search: String,
    #[serde(default)]
    state: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::RACK, get(list))
}

async fn list(State(state): State<AppState>, frame: Frame, Query(asked): Query<Asked>) -> Result<Response> {
    let show = Show::of(&*state.shop(clock::today()).await?);
    let pieces: Vec<Piece> = state.store.rack_pieces().await?.into_iter().filter(|piece| asked.takes(piece)).collect();
    let worth = worth(pieces.iter().map(|piece| &piece.on_rack));
    let count = match pieces.len() {
        1 => "1 piece".to_owned(),
        count => format!("{count} pieces"),
    };
    let found = if frame.sees_money() { format!("{count}, worth {}", show.money(worth)) } else { count };
    let rows = pieces.iter().map(|piece| Row::of(piece, &show)).collect();
    let search = Form::filled([("search", asked.search), ("state", asked.state)]);
    pages::page(StatusCode::OK, &Page { frame: frame.at(Room::Rack), search, rows, found })
}

impl Asked {
    fn takes(&self, piece: &Piece) -> bool {
        let text = format!("{} {} {}", piece.on_rack.tag, described(&piece.on_rack.stock), piece.place).to_lowercase();
        let is_free = piece.state == Where::Free;
        let fits = match self.state.as_str() {
            "free" => is_free,
            "reserved" => !is_free,
            _ => true,
        };
        fits && self.search.to_lowercase().split_whitespace().all(|word| text.contains(word))
    }
}

impl Page {
    fn states(&self) -> [(&'static str, &'static str); 3] {
        [("", "free and reserved"), ("free", "free"), ("reserved", "reserved")]
    }
}

impl Row {
    fn of(piece: &Piece, show: &Show) -> Self {
        Self {
            tag: piece.on_rack.tag.clone(),
            stock: described(&piece.on_rack.stock),
            size: measured(&piece.on_rack.stock, show),
            place: piece.place.clone(),
            state: piece.job_number.as_ref().map_or("free".into(), |job| format!("reserved for {job}")),
            worth: show.money(piece.on_rack.worth),
        }
    }
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let row = || Row {
            tag: "R-0001".into(),
            stock: "rhs 60x40x3, S235".into(),
            size: "6000 mm".into(),
            place: "Ann <b>".into(),
            state: "free".into(),
            worth: "24.00".into(),
        };
        let pages = Frame::samples().into_iter().zip([vec![row()], Vec::new()]);
        pages.map(|(frame, rows)| Self { frame, search: Form::default(), rows, found: "1 piece".into() }).collect()
    }
}
