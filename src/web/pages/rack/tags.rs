//! Tags to print, cut and fix to pieces: what a piece is, and a code that leads to its page.

use std::collections::BTreeSet;

use askama::Template;
use axum::{
    Router,
    extract::State,
    http::{HeaderMap, StatusCode, header},
    response::Response,
    routing::get,
};

use super::{described, measured};
use crate::{
    storage::Piece,
    web::{
        AppState, Result, clock,
        extract::Query,
        frame::{Frame, Room},
        pages::{self, qr},
        paths,
        show::Show,
    },
};

/// Two columns of five: what A4 and Letter both hold at 90 × 50 mm, see the style sheet.
const ON_A_SHEET: usize = 10;
/// Of the code, in pixels of the screen; on paper the style sheet says how large it is.
const CODE: u32 = 120;

#[derive(Template)]
#[template(path = "web/rack/tags.html")]
pub struct Page {
    frame: Frame,
    sheets: Vec<Vec<Tag>>,
    says: String,
    /// Where the codes lead.
    address: String,
    /// Asked for, and not on the rack.
    missing: String,
}

struct Tag {
    tag: String,
    /// Section or material.
    what: String,
    /// Grade, or the thickness of a sheet.
    of: String,
    size: String,
    qr: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::RACK_TAGS, get(show))
}

/// The pieces asked for (`?tag=R-0001&tag=…`), or all.
async fn show(
    State(state): State<AppState>,
    frame: Frame,
    headers: HeaderMap,
    Query(asked): Query<Vec<(String, String)>>,
) -> Result<Response> {
    let show = Show::of(&*state.shop(clock::today()).await?);
    let wanted: BTreeSet<String> = asked.into_iter().filter(|(name, _)| name == "tag").map(|(_, tag)| tag).collect();
    let mut pieces = state.store.rack_pieces().await?;
    let is_there = |tag: &String| pieces.iter().any(|piece| piece.on_rack.tag == *tag);
    let missing: Vec<&str> = wanted.iter().filter(|tag| !is_there(tag)).map(String::as_str).collect();
    let missing = missing.join(", ");
    pieces.retain(|piece| wanted.is_empty() || wanted.contains(&piece.on_rack.tag));
    // The shop's pages answer on its own machines only: at the address at which this one was asked for.
    let here = headers.get(header::HOST).and_then(|host| host.to_str().ok()).unwrap_or("127.0.0.1");
    let page = Page::of(frame.at(Room::Rack), &pieces, format!("http://{here}"), missing, &show)?;
    pages::page(StatusCode::OK, &page)
}

impl Page {
    fn of(frame: Frame, pieces: &[Piece], address: String, missing: String, show: &Show) -> Result<Self> {
        let tags = pieces.iter().map(|piece| Tag::of(piece, &address, show)).collect::<Result<Vec<_>>>()?;
        let count = tags.len();
        let mut sheets = Vec::new();
        let mut rest = tags.into_iter().peekable();
        while rest.peek().is_some() {
            sheets.push(rest.by_ref().take(ON_A_SHEET).collect());
        }
        let says = match (count, sheets.len()) {
            (0, _) => "There is no such piece on the rack.".to_owned(),
            (1, _) => "1 tag.".to_owned(),
            (count, 1) => format!("{count} tags on one sheet."),
            (count, sheets) => format!("{count} tags on {sheets} sheets."),
        };
        Ok(Self { frame, sheets, says, address, missing })
    }
}

impl Tag {
    fn of(piece: &Piece, address: &str, show: &Show) -> Result<Self> {
        let (tag, stock) = (piece.on_rack.tag.clone(), &piece.on_rack.stock);
        let words = described(stock);
        let (what, of) = words.rsplit_once(", ").unwrap_or((words.as_str(), ""));
        Ok(Self {
            what: what.to_owned(),
            of: of.to_owned(),
            size: measured(stock, show),
            qr: qr::drawn(&format!("{address}{}", paths::of_piece(paths::PIECE, &tag)), CODE)?,
            tag,
        })
    }
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let [nobody, ann] = Frame::samples();
        let tag = |number: usize| Tag {
            tag: format!("R-{number:04}"),
            what: "rhs 60x40x3".into(),
            of: "Ann <b>".into(),
            size: "6000 mm".into(),
            qr: qr::drawn("http://127.0.0.1/rack/pieces/R-0001", CODE).expect("a code"),
        };
        let page = |frame, sheets, missing: &str| Self {
            frame,
            sheets,
            says: "12 tags on 2 sheets.".into(),
            address: "http://127.0.0.1".into(),
            missing: missing.into(),
        };
        let sheets = vec![(1..=10).map(tag).collect(), vec![tag(11), tag(12)]];
        vec![page(nobody, Vec::new(), "R-<b>"), page(ann, sheets, "")]
    }
}
