//! One issued revision, frozen; and the customer's link to it.

use askama::Template;
use axum::{
    Router,
    extract::State,
    http::{HeaderMap, StatusCode, header},
    response::Response,
    routing::{get, post},
};
use jiff::SignedDuration;

use super::{
    Head, Tab,
    desk::Desk,
    keep,
    price::customer_view,
    revisions::answer,
    view::{Headline, Line},
};
use crate::{
    documents::customer::Voice,
    domain::{issued::IssuedQuote, trailer::with_options},
    storage::{By, JobId, Link, Revision, Save},
    web::{
        AppState, Error, Result, clock,
        extract::Path,
        form::Form,
        frame::{Frame, Room},
        pages::{
            self,
            customer::options::{figures, names, places},
            qr,
        },
        paths,
        session::see_other,
        show::Show,
    },
};

const NONE: Error = Error::NotFound("There is no such revision of this job.");
/// How long a link leads to its quote: long enough to read an accepted one until the trailer is handed over.
const LINK_LIVES: SignedDuration = SignedDuration::from_hours(24 * 365);

#[derive(Template)]
#[template(path = "web/job/revision.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    form: Form,
    revision: Facts,
    headline: Headline,
    lines: Vec<Line>,
    totals: Vec<Line>,
    answers: Vec<(String, String)>,
    chosen: Option<Chosen>,
    links: Vec<LinkRow>,
    can_link: bool,
}

/// What the customer chose of the options when they accepted.
struct Chosen {
    names: Vec<String>,
    total: String,
    figures: Vec<(&'static str, String)>,
}

struct Facts {
    number: u32,
    issued: String,
    by: String,
    valid_until: String,
    answer: String,
    hash: String,
    is_whole: bool,
    program: String,
}

struct LinkRow {
    at: String,
    by: String,
    state: String,
    is_live: bool,
}

/// The link, shown once.
#[derive(Template)]
#[template(path = "web/job/link.html")]
pub struct LinkPage {
    frame: Frame,
    head: Head,
    number: u32,
    link: String,
    works_here_only: bool,
    text: String,
    qr: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new()
        .route(paths::REVISION, get(show))
        .route(paths::REVISION_LINK, post(make_link))
        .route(paths::REVISION_REVOKE, post(revoke))
        .route(paths::REVISION_TAKE, post(take))
}

async fn show(
    State(state): State<AppState>,
    frame: Frame,
    Path((job, number)): Path<(JobId, u32)>,
) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    render(&state, frame, &desk, number, Form::default()).await
}

async fn make_link(
    State(state): State<AppState>,
    frame: Frame,
    Path((job, number)): Path<(JobId, u32)>,
    headers: HeaderMap,
    form: Form,
) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let revision = find(&state, job, number).await?;
    let Some(actor) = form.actor(&frame) else { return render(&state, frame, &desk, number, form).await };
    let now = clock::now();
    let expires = now.checked_add(LINK_LIVES).map_err(Error::internal)?;
    let by = By { who: &actor.signature(), at: now };
    let (_, token) = state.store.make_link(revision.head.id, expires, by).await?.ok_or(NONE)?;
    let path = paths::customer(&token);
    let link = match state.public_address() {
        Some(address) => address.link(&path),
        None => {
            let here = headers.get(header::HOST).and_then(|host| host.to_str().ok()).unwrap_or("127.0.0.1");
            format!("http://{here}{path}")
        }
    };
    let page = LinkPage {
        frame: frame.at(Room::Jobs),
        head: desk.head(Tab::Revisions),
        number,
        works_here_only: state.public_address().is_none(),
        text: to_send(&desk, &revision, &link)?,
        qr: qr::drawn(&link, 220)?,
        link,
    };
    // Not a 303: the link is kept nowhere, so no other page could show it.
    let mut shown = pages::page(StatusCode::OK, &page)?;
    let named = see_other(&Tab::Revisions.path(&job), &actor);
    if let Some(cookie) = named.headers().get(header::SET_COOKIE) {
        shown.headers_mut().insert(header::SET_COOKIE, cookie.clone());
    }
    Ok(shown)
}

async fn revoke(
    State(state): State<AppState>,
    frame: Frame,
    Path((job, number)): Path<(JobId, u32)>,
    form: Form,
) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let revision = find(&state, job, number).await?;
    let Some(actor) = form.actor(&frame) else { return render(&state, frame, &desk, number, form).await };
    let by = By { who: &actor.signature(), at: clock::now() };
    for link in state.store.links(job).await?.iter().filter(|link| link.revision == revision.head.id) {
        if link.revoked_at.is_none() {
            state.store.revoke_link(link.id, by).await?;
        }
    }
    Ok(see_other(&paths::of_revision(paths::REVISION, &job, &number), &actor))
}

/// Takes what the customer chose into the open design, where the workshop's papers come from.
async fn take(
    State(state): State<AppState>,
    frame: Frame,
    Path((job, number)): Path<(JobId, u32)>,
    mut form: Form,
) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let revision = find(&state, job, number).await?;
    let Some(actor) = form.actor(&frame) else { return render(&state, frame, &desk, number, form).await };
    let quote = thawed(&revision)?;
    let decision = state.store.decision(revision.head.id).await?;
    let chosen = decision.map(|decision| places(decision.options.iter().map(|key| ("with", key.as_str()))));
    let offered = &quote.estimate.spec.offer.options;
    let options = chosen.iter().flatten().filter_map(|place| offered.get(place.checked_sub(1)?));
    match with_options(&desk.spec(), options, desk.show.hand()) {
        Err(faults) => {
            for fault in faults {
                form.wrong_altogether(format!(
                    "A chosen option cannot be put into the design as it stands now: {fault}."
                ));
            }
            render(&state, frame, &desk, number, form).await
        }
        Ok(mut spec) => {
            spec.offer.options.clear();
            let by = By { who: &actor.signature(), at: clock::now() };
            match keep::design_and_offer(&state, &desk, &spec, by).await? {
                Save::Saved(_) => Ok(see_other(&Tab::Trailer.path(&job), &actor)),
                Save::Missing => Err(NONE),
                Save::Conflict(_) => {
                    form.wrong_altogether(
                        "Somebody changed the design at the same moment. Nothing was changed: try again.",
                    );
                    render(&state, frame, &desk, number, form).await
                }
            }
        }
    }
}

/// What was chosen, with the figures that were frozen for it.
async fn chosen(state: &AppState, revision: &Revision, quote: &IssuedQuote, show: &Show) -> Result<Option<Chosen>> {
    let Some(decision) = state.store.decision(revision.head.id).await? else { return Ok(None) };
    let places = places(decision.options.iter().map(|key| ("with", key.as_str())));
    let Some(figures) = figures(&quote.options, &places).filter(|_| !places.is_empty()) else { return Ok(None) };
    Ok(Some(Chosen {
        names: names(&quote.options, &places),
        total: show.money(figures.price.total),
        figures: vec![
            ("Empty mass", show.mass(figures.empty_mass_kg).main),
            ("Gross for the plate", show.mass(figures.gross_kg).main),
            ("Payload left", show.mass(figures.payload_left_kg).main),
            ("On the coupling, at most", show.mass(figures.coupling_kg[1]).main),
        ],
    }))
}

pub(in crate::web::pages) async fn find(state: &AppState, job: JobId, number: u32) -> Result<Revision> {
    let heads = state.store.revisions(job).await?;
    let head = heads.iter().find(|head| head.number == number).ok_or(NONE)?;
    state.store.revision(head.id).await?.ok_or(NONE)
}

/// The frozen quote of a revision; one that froze no time zone is read in the shop's.
pub fn thawed(revision: &Revision) -> Result<IssuedQuote> {
    let mut quote: IssuedQuote = serde_json::from_str(&revision.frozen.json).map_err(Error::internal)?;
    if quote.shop.time_zone.is_empty() {
        quote.shop.time_zone = clock::zone_name();
    }
    Ok(quote)
}

async fn render(state: &AppState, frame: Frame, desk: &Desk, number: u32, form: Form) -> Result<Response> {
    let revision = find(state, desk.job.id, number).await?;
    let quote = thawed(&revision)?;
    // As it was issued: in the units and money of that day.
    let show = Show::of_issued(&quote.shop);
    let (lines, totals) = customer_view(&quote.estimate.build_up, &show);
    let links = state.store.links(desk.job.id).await?;
    let links = links.iter().filter(|link| link.revision == revision.head.id).map(LinkRow::of);
    let answers = &quote.estimate.spec.offer.answers;
    let checks = &quote.estimate.checks;
    let named = |key: &String| {
        checks.iter().find(|check| check.key == *key).map_or_else(|| key.clone(), |check| check.name.clone())
    };
    let page = Page {
        frame: frame.at(Room::Jobs),
        head: desk.head(Tab::Revisions),
        headline: Headline::of(&quote.estimate, &show),
        lines,
        totals,
        answers: answers.iter().map(|(key, answer)| (named(key), answer.clone())).collect(),
        links: links.collect(),
        chosen: chosen(state, &revision, &quote, &show).await?,
        can_link: revision.head.superseded_at.is_none(),
        revision: Facts {
            number,
            issued: clock::moment(revision.head.issued_at),
            by: revision.head.issued_by.clone(),
            valid_until: desk.show.day(revision.head.valid_until),
            answer: answer(state, desk, &revision.head).await?,
            hash: revision.frozen.sha256.clone(),
            is_whole: revision.frozen.is_whole(),
            program: revision.head.program.clone(),
        },
        form,
    };
    pages::page(page.form.status(), &page)
}

impl Page {
    fn has_live_link(&self) -> bool {
        self.links.iter().any(|link| link.is_live)
    }
}

impl LinkRow {
    fn of(link: &Link) -> Self {
        let (state, is_live) = match (link.revoked_at, link.last_seen_at) {
            (Some(at), _) => (format!("revoked on {}", clock::moment(at)), false),
            (None, _) if link.expires_at <= clock::now() => ("its time is over".to_owned(), false),
            (None, Some(at)) => (format!("last opened on {}", clock::moment(at)), true),
            (None, None) => ("not opened yet".to_owned(), true),
        };
        Self { at: clock::moment(link.created_at), by: link.created_by.clone(), state, is_live }
    }
}

/// The text of the mail, in the language of the quote.
fn to_send(desk: &Desk, revision: &Revision, link: &str) -> Result<String> {
    let voice = Voice::of_issued(&thawed(revision)?.shop);
    let said = voice
        .say("mail")
        .with("customer", &desk.job.customer.contact.name)
        .with("job", &desk.job.title)
        .with("link", link)
        .with("day", voice.day(revision.head.valid_until))
        .with("shop", &desk.shop.name);
    Ok(said.text())
}
