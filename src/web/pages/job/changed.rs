//! What changed since an earlier revision: as the customer reads it, and the shop's own figures.

use askama::Template;
use axum::{Router, extract::State, http::StatusCode, response::Response, routing::get};
use serde::Deserialize;

use super::{
    Head, Tab,
    desk::Desk,
    revision::{find, thawed},
};
use crate::{
    documents::customer,
    domain::changed::{Change, ForShop},
    storage::JobId,
    web::{
        AppState, Error, Result,
        extract::{Path, Query},
        frame::{Frame, Room},
        pages, paths,
    },
};

#[derive(Template)]
#[template(path = "web/job/changed.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    number: u32,
    since: u32,
    back: String,
    /// Titles of tables with their rows; empty ones are left out.
    theirs: Vec<Table>,
    ours: Vec<Table>,
}

struct Table {
    title: String,
    changes: Vec<Change>,
}

#[derive(Deserialize)]
struct Asked {
    since: Option<u32>,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::REVISION_CHANGED, get(show))
}

async fn show(
    State(state): State<AppState>,
    frame: Frame,
    Path((job, number)): Path<(JobId, u32)>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    const NONE: Error = Error::NotFound("There is no earlier revision to compare with.");
    let desk = Desk::open(&state, job).await?;
    let since = asked.since.unwrap_or(number.saturating_sub(1));
    let after = thawed(&find(&state, job, number).await?)?;
    let before = thawed(&find(&state, job, since).await.map_err(|_| NONE)?)?;
    let (theirs, ours) = (customer::changes(&before, &after), ForShop::between(&before, &after));
    let page = Page {
        frame: frame.at(Room::Jobs),
        head: desk.head(Tab::Revisions),
        number,
        since,
        back: paths::of_revision(paths::REVISION, &job, &number),
        theirs: theirs.into_iter().map(|of| Table { title: of.title, changes: of.changes }).collect(),
        ours: tables([
            ("Fields of the spec", ours.spec),
            ("Bought-in parts", ours.parts),
            ("Lines of the build-up", ours.cost),
            ("Hours", ours.hours),
            ("Checks", ours.checks),
        ]),
    };
    pages::page(StatusCode::OK, &page)
}

fn tables<const N: usize>(named: [(&'static str, Vec<Change>); N]) -> Vec<Table> {
    let filled = named.into_iter().filter(|(_, changes)| !changes.is_empty());
    filled.map(|(title, changes)| Table { title: title.to_owned(), changes }).collect()
}
