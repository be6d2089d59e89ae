//! A job at a glance: its figures, its messages, its stage, its customer, its trail.

use askama::Template;
use axum::{
    Router,
    extract::State,
    http::StatusCode,
    response::Response,
    routing::{get, post},
};

use super::{
    Head, Tab,
    desk::Desk,
    details,
    rack_plan::{self, tags},
    view::{FaultView, Headline, faults_of},
};
use crate::{
    documents::customer::Voice,
    domain::quote::{Move, StageKind},
    storage::{AuditLine, Author, By, Contact, Customer, JobId, Message, MessageId, Moved, Save, Version},
    web::{
        AppState, Error, Result, clock,
        extract::Path,
        form::Form,
        frame::{Frame, Room},
        pages::{
            self,
            buying::orders::HeadRow,
            conflict::{self, Conflict},
        },
        paths,
        session::see_other,
    },
};

#[derive(Template)]
#[template(path = "web/job/overview.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    form: Form,
    next: Next,
    headline: Option<Headline>,
    faults: Vec<FaultView>,
    messages: Vec<MessageView>,
    /// The last question that the answer is about.
    seen: String,
    moves: Vec<Step>,
    /// What an accepted job must have of the rack before it is released.
    accepted: Option<Accepted>,
    /// What was ordered for it, the latest first.
    orders: Vec<HeadRow>,
    version: i64,
    /// On request: only the title is left to change.
    erased: bool,
    title_read: String,
    trail: Vec<TrailLine>,
}

/// The page on which the work goes on.
struct Next {
    label: &'static str,
    path: String,
}

/// A message as both sides read it.
#[derive(Clone, Debug)]
pub struct MessageView {
    pub from_us: bool,
    pub author: String,
    pub at: String,
    pub text: String,
}

/// Of a job that the customer accepted and that is not released yet.
struct Accepted {
    /// What its plan takes from the rack and is not reserved yet; empty where all is.
    unreserved: String,
}

struct Step {
    word: &'static str,
    label: &'static str,
    is_an_end: bool,
}

struct TrailLine {
    at: String,
    who: String,
    what: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new()
        .route(paths::JOB, get(show).post(save))
        .route(paths::STAGE, post(move_on))
        .route(paths::MESSAGES, post(answer))
        .route(paths::ERASE_CUSTOMER, post(erase))
}

async fn show(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let form = filled(&desk);
    render(&state, frame, &desk, form).await
}

fn filled(desk: &Desk) -> Form {
    let contact = &desk.job.customer.contact;
    let mut form = filled_contact(contact);
    form.add("title", desk.job.title.clone());
    form
}

fn filled_contact(contact: &Contact) -> Form {
    Form::filled([
        ("customer", contact.name.as_str()),
        ("email", contact.email.as_str()),
        ("phone", contact.phone.as_str()),
        ("address", contact.address.as_str()),
    ])
}

/// The labels of the fields that may differ.
const LABELS: [(&str, &str); 5] = [
    ("title", "What it is for"),
    ("customer", "Customer"),
    ("email", "E-mail"),
    ("phone", "Telephone"),
    ("address", "Address"),
];

/// Keeps title and customer.
async fn save(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>, form: Form) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let mut form = conflict::resolved(&form, &filled(&desk));
    let (title, contact) = (details::title(&mut form), details::contact(&mut form));
    let actor = form.actor(&frame);
    let (Some(actor), true) = (actor, form.is_right()) else {
        return render(&state, frame, &desk, form).await;
    };
    let Customer { id, version, .. } = desk.job.customer;
    let is_stale = form.value("title_read") != desk.job.title || read_version(&form) != Some(version);
    if is_stale {
        return differ(frame, form, &desk, (version, &desk.job.customer.contact), None).await;
    }
    let by = By { who: &actor.signature(), at: clock::now() };
    if title != desk.job.title && state.store.rename_job(job, &desk.job.title, &title, by).await? != Some(title) {
        let desk = Desk::open(&state, job).await?;
        return differ(frame, form, &desk, (version, &desk.job.customer.contact), None).await;
    }
    if contact != desk.job.customer.contact
        && let Save::Conflict(found) = state.store.save_customer(id, version, &contact, by).await?
    {
        return differ(
            frame,
            form,
            &desk,
            (found.version, &found.theirs),
            Some((found.who, clock::moment(found.when))),
        )
        .await;
    }
    Ok(see_other(&paths::of_job(paths::JOB, &job), &actor))
}

async fn differ(
    frame: Frame,
    form: Form,
    desk: &Desk,
    (version, contact): (Version, &Contact),
    saved: Option<(String, String)>,
) -> Result<Response> {
    let mut theirs = filled_contact(contact);
    theirs.add("title", desk.job.title.clone());
    let (who, when) = saved.unwrap_or_else(|| ("someone else".into(), clock::moment(desk.job.updated_at)));
    let path = paths::of_job(paths::JOB, &desk.job.id);
    let mut hidden = form.clone();
    hidden.set("title_read", desk.job.title.clone());
    let differences = conflict::differences(LABELS, &theirs, &form, None);
    let found = Conflict {
        what: "Title and customer of this job".into(),
        who,
        when,
        version: version.0,
        differences,
        action: path.clone(),
        back: path,
    };
    conflict::show(frame.at(Room::Jobs), hidden, found)
}

/// Moves the job to another stage.
async fn move_on(
    State(state): State<AppState>,
    frame: Frame,
    Path(job): Path<JobId>,
    mut form: Form,
) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let note = details::text(&mut form, "note", "Note for the trail", false);
    let wanted = Move::from_word(form.value("to")).filter(|wanted| by_hand(desk.job.stage.kind()).contains(wanted));
    let Some(wanted) = wanted else {
        form.wrong_altogether(
            "This step is not possible now: the job has moved on meanwhile, or the step is taken elsewhere.",
        );
        return render(&state, frame, &desk, with_details(form, &desk)).await;
    };
    let (Some(actor), true) = (form.actor(&frame), form.is_right()) else {
        return render(&state, frame, &desk, with_details(form, &desk)).await;
    };
    let by = By { who: &actor.signature(), at: clock::now() };
    let what = if note.is_empty() { wanted.label().to_owned() } else { format!("{}: {note}", wanted.label()) };
    let moved = state.store.move_job(
        job,
        &what,
        |stage| match wanted {
            Move::Accept => stage.accept(by.at),
            Move::HandOver => stage.hand_over(by.at),
            Move::Decline => stage.decline(by.at),
            // A quote is issued and a job released on pages of their own, never by this button.
            Move::Lapse | Move::Quote | Move::Start => stage.lapse(by.at),
        },
        by,
    );
    match moved.await? {
        Moved::To(_) => Ok(see_other(&paths::of_job(paths::JOB, &job), &actor)),
        Moved::Missing => Err(Error::NotFound("There is no such job.")),
        Moved::Refused(refused) => {
            form.wrong_altogether(format!("{refused}."));
            render(&state, frame, &desk, with_details(form, &desk)).await
        }
    }
}

/// The steps that somebody takes with a button of this page; a quote is issued and a job released on pages of their own.
fn by_hand(stage: StageKind) -> Vec<Move> {
    stage.moves().iter().copied().filter(|wanted| !matches!(wanted, Move::Quote | Move::Start)).collect()
}

/// Answers the customer.
async fn answer(
    State(state): State<AppState>,
    frame: Frame,
    Path(job): Path<JobId>,
    mut form: Form,
) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let text = details::text(&mut form, "message", "Answer the customer", true);
    let (Some(actor), true) = (form.actor(&frame), form.is_right()) else {
        return render(&state, frame, &desk, with_details(form, &desk)).await;
    };
    let seen = form.value("seen").parse().ok();
    let by = By { who: &actor.signature(), at: clock::now() };
    state.store.answer(job, seen, &text, by).await?.ok_or(Error::NotFound("There is no such job."))?;
    Ok(see_other(&format!("{}#messages-title", paths::of_job(paths::JOB, &job)), &actor))
}

/// Erases the customer once the owner has typed their name.
async fn erase(
    State(state): State<AppState>,
    frame: Frame,
    Path(job): Path<JobId>,
    mut form: Form,
) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let Customer { id, contact, erased, .. } = &desk.job.customer;
    let typed = form.value("erase_name").trim().to_owned();
    if *erased {
        form.wrong_altogether("This customer was erased before.");
    } else if typed != contact.name.trim() {
        let wrong =
            format!("“{typed}” is not the name that stands here: type “{}” to erase the customer.", contact.name);
        form.wrong("erase_name", "Name of the customer", wrong);
    }
    let (Some(actor), true) = (form.actor(&frame), form.is_right()) else {
        return render(&state, frame, &desk, with_details(form, &desk)).await;
    };
    let by = By { who: &actor.signature(), at: clock::now() };
    if !state.store.erase_customer(*id, by).await? {
        return Err(Error::NotFound("There is no such customer."));
    }
    Ok(see_other(&format!("{}#customer-title", paths::of_job(paths::JOB, &job)), &actor))
}

fn read_version(form: &Form) -> Option<Version> {
    form.value("version").parse().ok()
}

/// The form of one part of the page, with the others as they are kept.
fn with_details(mut form: Form, desk: &Desk) -> Form {
    for (name, value) in filled(desk).pairs() {
        if !form.has(name) {
            form.add(name, value);
        }
    }
    form
}

async fn render(state: &AppState, frame: Frame, desk: &Desk, form: Form) -> Result<Response> {
    let id = desk.job.id;
    let worked = desk.work_out().await?;
    let (headline, faults) = match &worked {
        Ok(estimate) => (Some(Headline::of(estimate, &desk.show)), Vec::new()),
        Err(faults) => (None, faults_of(faults, &id)),
    };
    let accepted = match &worked {
        _ if desk.job.stage.kind() != StageKind::Accepted => None,
        Ok(estimate) => {
            let plan = rack_plan::of(desk, state, estimate.clone(), rack_plan::How::default()).await?;
            Some(Accepted { unreserved: tags(plan.unreserved().map(|piece| &piece.on_rack.tag)) })
        }
        Err(_) => Some(Accepted { unreserved: String::new() }),
    };
    let messages = state.store.messages(id).await?;
    let trail = state.store.job_audit(id).await?;
    let orders = state.store.orders_for_job(id).await?;
    let page = Page {
        frame: frame.at(Room::Jobs),
        orders: orders.iter().map(|order| HeadRow::of(order, desk.today, &desk.show)).collect(),
        head: desk.head(Tab::Overview),
        next: Next::of(desk, headline.is_some()),
        headline,
        faults,
        seen: last_question(&messages).map_or_else(String::new, |id| id.to_string()),
        messages: messages.iter().map(MessageView::of).collect(),
        moves: by_hand(desk.job.stage.kind()).into_iter().map(Step::of).collect(),
        accepted,
        version: desk.job.customer.version.0,
        erased: desk.job.customer.erased,
        title_read: desk.job.title.clone(),
        trail: trail.iter().map(TrailLine::of).collect(),
        form,
    };
    pages::page(if page.form.is_right() { StatusCode::OK } else { page.form.status() }, &page)
}

fn last_question(messages: &[Message]) -> Option<MessageId> {
    messages.iter().rev().find(|message| message.author == Author::Customer).map(|message| message.id)
}

impl Next {
    fn of(desk: &Desk, is_built: bool) -> Self {
        let (label, tab) = match desk.job.stage.kind() {
            _ if desk.job.need.loads.is_empty() => ("Fill in the need", Tab::Need),
            _ if !is_built => ("Mend the trailer", Tab::Trailer),
            StageKind::Enquiry | StageKind::Declined | StageKind::Lapsed => ("Look at the price", Tab::Price),
            StageKind::Quoted => ("See the quote", Tab::Revisions),
            StageKind::Accepted => ("From the rack", Tab::Rack),
            StageKind::InTheShop | StageKind::HandedOver => ("Cutting", Tab::Cutting),
        };
        Self { label, path: tab.path(&desk.job.id) }
    }
}

impl MessageView {
    pub fn of(message: &Message) -> Self {
        let author = if message.name.is_empty() { "(name erased)".to_owned() } else { message.name.clone() };
        Self {
            from_us: message.author == Author::Shop,
            author,
            at: clock::moment(message.at),
            text: message.text.clone(),
        }
    }
}

impl MessageView {
    /// How the customer reads it, in the language of their quote.
    pub fn for_customer(message: &Message, voice: &Voice) -> Self {
        let name = message.name.clone();
        let author = if name.is_empty() { voice.say("name-erased").text() } else { name };
        Self { author, at: voice.moment(message.at), ..Self::of(message) }
    }
}

impl Step {
    fn of(step: Move) -> Self {
        let label = match step {
            Move::Quote => "Issue a quote",
            Move::Accept => "Accepted by phone or on paper",
            Move::Start => "Release to the workshop",
            Move::HandOver => "Handed over",
            Move::Decline => "Declined",
            Move::Lapse => "Let the quote lapse",
        };
        Self { word: step.word(), label, is_an_end: matches!(step, Move::Decline | Move::Lapse) }
    }
}

impl TrailLine {
    fn of(line: &AuditLine) -> Self {
        Self { at: clock::moment(line.at), who: line.who.clone(), what: line.what.clone() }
    }
}
