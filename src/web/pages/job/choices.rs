//! What other choices of stock would cost: of the kept spec, and of the frozen plans of a revision. Worked out when it is asked for.

use std::sync::Arc;

use askama::Template;
use axum::{Router, extract::State, http::StatusCode, response::Response, routing::get};

use super::{Head, Tab, desk::Desk, rack_plan, revision, unbuilt::built};
use crate::{
    domain::{
        measure::{Money, Tenths},
        nesting::{
            choices::{self, Choice, Costs, Given},
            cutting::{Cutting, Source},
        },
    },
    storage::JobId,
    web::{
        AppState, Error, Result,
        extract::Path,
        frame::{Frame, Room},
        pages, paths,
        show::Show,
    },
};

#[derive(Template)]
#[template(path = "web/job/choices.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    /// Which plans: of the job as it is, or of a revision.
    of: String,
    back: String,
    sections: Vec<Chosen>,
}

/// The choices for one section or sheet.
struct Chosen {
    title: String,
    plan: String,
    rows: Vec<(String, String)>,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::CHOICES, get(of_job)).route(paths::REVISION_CHOICES, get(of_revision))
}

async fn of_job(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let estimate = match built(&desk, &frame, Tab::Cutting).await? {
        Ok(estimate) => rack_plan::of(&desk, &state, estimate, rack_plan::How::default()).await?.estimate,
        Err(unbuilt) => return Ok(unbuilt),
    };
    let page = Page {
        frame: frame.at(Room::Jobs),
        head: desk.head(Tab::Cutting),
        of: "Compared with the plans of the job as it is now.".into(),
        back: Tab::Cutting.path(&job),
        sections: sections(estimate, |estimate| &estimate.cutting, desk.show.clone()).await?,
    };
    pages::page(StatusCode::OK, &page)
}

async fn of_revision(
    State(state): State<AppState>,
    frame: Frame,
    Path((job, number)): Path<(JobId, u32)>,
) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let quote = revision::thawed(&revision::find(&state, job, number).await?)?;
    let show = Show::of_issued(&quote.shop);
    let page = Page {
        frame: frame.at(Room::Jobs),
        head: desk.head(Tab::Revisions),
        of: format!("Compared with the frozen plans of revision {number}, at the prices of that day."),
        back: paths::of_revision(paths::REVISION, &job, &number),
        sections: sections(Arc::new(quote), |quote| &quote.estimate.cutting, show).await?,
    };
    pages::page(StatusCode::OK, &page)
}

/// Works the choices out on a thread that may compute.
async fn sections<T: Send + Sync + 'static>(
    kept: Arc<T>,
    cutting: fn(&T) -> &Cutting,
    show: Show,
) -> Result<Vec<Chosen>> {
    let work = move || chosen(cutting(&kept), &show);
    tokio::task::spawn_blocking(work).await.map_err(Error::internal)
}

fn chosen(cutting: &Cutting, show: &Show) -> Vec<Chosen> {
    let racked =
        |sources: &[Source]| sources.iter().map(|source| matches!(source, Source::Rack(_))).collect::<Vec<_>>();
    let size = |length: Tenths| show.length(length.mm()).main;
    let bars = cutting.bars.iter().filter_map(|bars| {
        let answer = bars.answer.as_ref().ok()?;
        let named = |id: &str| {
            let stock = bars.problem.stock.iter().find(|stock| stock.id == id);
            stock.map_or_else(|| id.to_owned(), |stock| format!("{} bars", size(stock.length)))
        };
        let choices = choices::of_bars(&bars.problem, answer, &racked(&bars.sources));
        Chosen::of(format!("{} {}", bars.section, bars.grade), answer.net_cost, &choices, named, show)
    });
    let sheets = cutting.sheets.iter().filter_map(|sheets| {
        let answer = sheets.answer.as_ref().ok()?;
        let named = |id: &str| {
            let stock = sheets.problem.stock.iter().find(|stock| stock.id == id);
            stock.map_or_else(
                || id.to_owned(),
                |stock| format!("sheets of {} × {}", size(stock.length), size(stock.width)),
            )
        };
        let choices = choices::of_panels(&sheets.problem, answer, &racked(&sheets.sources));
        let title = format!("{} {}", sheets.material.label(), show.length(sheets.thickness.mm()).main);
        Chosen::of(title, answer.net_cost, &choices, named, show)
    });
    bars.chain(sheets).collect()
}

impl Chosen {
    fn of(
        title: String,
        net: Option<Money>,
        choices: &[Choice],
        named: impl Fn(&str) -> String,
        show: &Show,
    ) -> Option<Self> {
        let rows = choices.iter().map(|choice| {
            let stock = match &choice.stock {
                Given::Only(id) => format!("with {} only", named(id)),
                Given::Without(id) => format!("without {}", named(id)),
                Given::WithoutRack => "without offcuts from the rack".to_owned(),
            };
            (stock, worded(choice.costs, show))
        });
        Some(Self { title, plan: show.money(net?), rows: rows.collect() })
    }
}

fn worded(costs: Costs, show: &Show) -> String {
    let signed = |more: Money| match more {
        more if more < Money::default() => format!("−{}", show.money(Money::default() - more)),
        more => format!("+{}", show.money(more)),
    };
    match costs {
        Costs::Exactly(more) if more == Money::default() => "the same".to_owned(),
        Costs::Exactly(more) => signed(more),
        Costs::About(more) if more == Money::default() => "about the same (not proven)".to_owned(),
        Costs::About(more) => format!("about {} (not proven)", signed(more)),
        Costs::AtLeast(more) => format!("at least {}", signed(more)),
        Costs::CannotBeCut => "cannot be cut".to_owned(),
        Costs::Unknown => "not found out in the work allowed".to_owned(),
    }
}
