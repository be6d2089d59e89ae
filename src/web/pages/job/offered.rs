//! What the customer would be able to choose: every combination of the options of the offer, worked out when it is asked for.

use std::ops::ControlFlow;

use askama::Template;
use axum::{Router, extract::State, http::StatusCode, response::Response, routing::get};

use super::{Head, Tab, desk::Desk, unbuilt::built};
use crate::{
    domain::{
        nesting::Budget,
        options::{Judged, Options, Refusal, work_out},
    },
    storage::JobId,
    web::{
        AppState, Error, Result,
        extract::Path,
        frame::{Frame, Room},
        pages::{self, customer::options::names},
        paths,
        show::Show,
    },
};

#[derive(Template)]
#[template(path = "web/job/offered.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    back: String,
    rows: Vec<Row>,
}

struct Row {
    chosen: String,
    /// Total with tax; empty where it cannot be chosen.
    total: String,
    difference: String,
    empty_mass: String,
    coupling: String,
    /// Why it cannot be chosen.
    why_not: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::OFFERED, get(show))
}

async fn show(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let estimate = match built(&desk, &frame, Tab::Price).await? {
        Ok(estimate) => estimate,
        Err(unbuilt) => return Ok(unbuilt),
    };
    let (shop, rack) = (desk.shop.clone(), desk.rack.clone());
    let work = move || {
        let mut go_on = |_, _| ControlFlow::Continue(());
        work_out(&estimate, &shop, &rack, Budget::preview(), &mut go_on).unwrap_or_default()
    };
    let options = tokio::task::spawn_blocking(work).await.map_err(Error::internal)?;
    let page = Page {
        frame: frame.at(Room::Jobs),
        head: desk.head(Tab::Price),
        back: Tab::Price.path(&job),
        rows: rows(&options, &desk.show),
    };
    pages::page(StatusCode::OK, &page)
}

fn rows(options: &Options, show: &Show) -> Vec<Row> {
    let described = options.of(&[]).and_then(|combination| combination.figures()).map(|figures| figures.price.total);
    let row = |combination: &crate::domain::options::Combination| {
        let named = names(options, &combination.chosen);
        let chosen = if named.is_empty() { "as described".to_owned() } else { named.join(", ") };
        match &combination.judged {
            Judged::Refused(Refusal::Told(why)) => Row { chosen, why_not: why.clone(), ..Row::empty() },
            Judged::Refused(Refusal::Because { because, detail }) => {
                Row { chosen, why_not: format!("{}. {detail}", because.label()).trim_end().to_owned(), ..Row::empty() }
            }
            Judged::Offered(figures) => Row {
                chosen,
                total: show.money(figures.price.total),
                difference: described
                    .map_or_else(String::new, |described| show.difference(figures.price.total - described)),
                empty_mass: show.mass(figures.empty_mass_kg).main,
                coupling: show.mass(figures.coupling_kg[1]).main,
                why_not: String::new(),
            },
        }
    };
    options.combinations.iter().map(row).collect()
}

impl Row {
    fn empty() -> Self {
        let none = String::new;
        Self {
            chosen: none(),
            total: none(),
            difference: none(),
            empty_mass: none(),
            coupling: none(),
            why_not: none(),
        }
    }
}
