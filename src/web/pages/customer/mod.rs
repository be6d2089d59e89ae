//! The customer's copy of a revision: phone first, nothing of the shop's inside.

pub mod options;
mod progress;
mod typed;

use askama::Template;
use axum::{
    Router,
    extract::State,
    http::{HeaderMap, StatusCode},
    response::{IntoResponse, Redirect, Response},
    routing::{get, post},
};

use self::{
    options::Choosing,
    progress::{Step, steps},
};
use jiff::{SignedDuration, Timestamp};

use crate::{
    documents::{
        Shown as Told,
        customer::{self, CustomersCopy, Issue, Shop, Voice},
        paper::{
            Document, Paper,
            quote::{self as paper_quote, Choices, Since},
        },
    },
    domain::{issued::IssuedQuote, options::Options, words::Said},
    storage::{CustomerCopy, Decided, Decision, DecisionKind, Job, JobId, LinkState, Revision, RevisionHead},
    web::{
        AppState, Error, Result, clock,
        extract::{Path, Query},
        form::Form,
        frame::Frame,
        language,
        pages::{
            self,
            job::{
                overview::MessageView,
                revision::{self, thawed},
                scene as solid,
            },
            paper,
        },
        paths,
    },
};

const UNKNOWN: Error = Error::NotFound("The job of this quote is gone.");

/// A link that is opened again so soon is the same visit, which is noted once.
const VISIT: SignedDuration = SignedDuration::from_mins(1);

/// What stands behind the address: what is chosen, and whether a question was just sent.
type Asked = Vec<(String, String)>;

pub(super) fn router() -> Router<AppState> {
    Router::new()
        .route(paths::COPY, get(show))
        .route(paths::COPY_PDF, get(as_pdf))
        .route(paths::COPY_SCENE, get(scene))
        .route(paths::REVISION_COPY, get(shops_view))
        .route(paths::COPY_ASK, post(ask))
        .route(paths::COPY_ACCEPT, post(accept))
        .route(paths::COPY_DECLINE, post(decline))
}

async fn show(
    State(state): State<AppState>,
    frame: Frame,
    Path(token): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    let now = clock::now();
    let found = state.store.copy(&token, now, clock::today()).await?;
    if let LinkState::Open(copy) = &found
        && copy.last_seen_at.is_none_or(|last| now.duration_since(last).abs() >= VISIT)
        && let Err(fault) = state.store.saw_copy(copy.link, now).await
    {
        tracing::warn!(%fault, "that a copy was opened was not noted");
    }
    let pairs = || asked.iter().map(|(name, value)| (name.as_str(), value.as_str()));
    let asked_now = pairs().any(|(name, _)| name == "asked");
    let form = Form::filled(pairs().filter(|(name, _)| matches!(*name, "with" | "one")));
    render_found(&state, frame, token, form, asked_now, found).await
}

async fn ask(
    State(state): State<AppState>,
    frame: Frame,
    Path(token): Path<String>,
    mut form: Form,
) -> Result<Response> {
    let Some(shown) = shown(&state, &token).await? else { return render(&state, frame, token, form, false).await };
    let words = shown.voice.words;
    let name = typed::name(&mut form, "ask_name", words);
    let text = typed::text(&mut form, "question", "ask-question", true, words);
    if !form.is_right() {
        return render(&state, frame, token, form, false).await;
    }
    match state.store.ask(&token, &name, &text, clock::now()).await? {
        // What they chose so far stays chosen.
        Some(_) => Ok(Redirect::to(&paths::customer_asked(&token, &options::places(form.pairs()))).into_response()),
        None => render(&state, frame, token, form, false).await,
    }
}

async fn accept(
    State(state): State<AppState>,
    frame: Frame,
    Path(token): Path<String>,
    mut form: Form,
) -> Result<Response> {
    let Some(Shown { copy, quote, voice }) = shown(&state, &token).await? else {
        return render(&state, frame, token, form, false).await;
    };
    let name = typed::name(&mut form, "accept_name", voice.words);
    if !form.has("agree") {
        form.wrong("agree", voice.say("fault-agree-label").text(), voice.say("fault-agree").text());
    }
    if !form.is_right() {
        return render(&state, frame, token, form, false).await;
    }
    let chosen = options::places(form.pairs());
    let refused = Choosing::of(&quote.options, &chosen, &voice).refused;
    if !refused.is_empty() {
        form.wrong_altogether(voice.say("fault-options").with("why", refused).text());
        return render(&state, frame, token, form, false).await;
    }
    let keys: Vec<String> = chosen.iter().map(usize::to_string).collect();
    let terms = agreed_terms(&state, &copy, &quote, &voice).await?;
    let decided = state.store.accept(&token, &name, &terms, &keys, clock::now(), clock::today()).await?;
    answered(&state, frame, token, form, decided, &voice).await
}

async fn decline(
    State(state): State<AppState>,
    frame: Frame,
    Path(token): Path<String>,
    mut form: Form,
) -> Result<Response> {
    let Some(Shown { voice, .. }) = shown(&state, &token).await? else {
        return render(&state, frame, token, form, false).await;
    };
    let name = typed::name(&mut form, "decline_name", voice.words);
    let why = typed::text(&mut form, "why", "decline-why", false, voice.words);
    if !form.is_right() {
        return render(&state, frame, token, form, false).await;
    }
    let decided = state.store.decline(&token, &name, &why, clock::now(), clock::today()).await?;
    answered(&state, frame, token, form, decided, &voice).await
}

/// The terms of the copy, word for word.
async fn agreed_terms(state: &AppState, copy: &CustomerCopy, quote: &IssuedQuote, voice: &Voice) -> Result<String> {
    let job = state.store.job(copy.revision.head.job).await?.ok_or(UNKNOWN)?;
    let shown = customer::copy(quote, &issue(&copy.revision.head, &job), Some(clock::today()), None, voice);
    Ok(shown.terms.iter().map(|term| term.line(voice.words)).collect::<Vec<_>>().join("\n"))
}

/// Back to the copy, which now shows the decision; or what stands in the way.
async fn answered(
    state: &AppState,
    frame: Frame,
    token: String,
    mut form: Form,
    decided: Decided,
    voice: &Voice,
) -> Result<Response> {
    match decided {
        Decided::Done | Decided::Already(_) => Ok(Redirect::to(&paths::customer(&token)).into_response()),
        Decided::Unknown | Decided::Revoked | Decided::Expired | Decided::Superseded | Decided::Lapsed => {
            render(state, frame, token, form, false).await
        }
        Decided::Refused(_) => {
            form.wrong_altogether(voice.say("fault-moved-on").text());
            render(state, frame, token, form, false).await
        }
    }
}

/// A copy that shows its quote.
struct Shown {
    copy: CustomerCopy,
    quote: IssuedQuote,
    voice: Voice,
}

/// The copy behind an address; none where it shows no quote (any more).
async fn shown(state: &AppState, token: &str) -> Result<Option<Shown>> {
    let LinkState::Open(copy) = state.store.copy(token, clock::now(), clock::today()).await? else { return Ok(None) };
    if closed(&copy).is_some() {
        return Ok(None);
    }
    let quote = thawed(&copy.revision)?;
    let voice = Voice::of_issued(&quote.shop);
    Ok(Some(Shown { copy: *copy, quote, voice }))
}

/// Why an open link shows no figures; one that was answered goes on showing them.
fn closed(copy: &CustomerCopy) -> Option<Closed> {
    match copy {
        CustomerCopy { decision: Some(_), .. } => None,
        _ if copy.revision.head.superseded_at.is_some() => Some(Closed::Superseded),
        CustomerCopy { lapsed: true, .. } => Some(Closed::Expired),
        _ => None,
    }
}

async fn render(state: &AppState, frame: Frame, token: String, form: Form, asked_now: bool) -> Result<Response> {
    let found = state.store.copy(&token, clock::now(), clock::today()).await?;
    render_found(state, frame, token, form, asked_now, found).await
}

async fn render_found(
    state: &AppState,
    frame: Frame,
    token: String,
    form: Form,
    asked_now: bool,
    found: LinkState,
) -> Result<Response> {
    let why = match found {
        LinkState::Unknown => Closed::Unknown,
        LinkState::Revoked => Closed::Revoked,
        LinkState::Expired => Closed::Expired,
        LinkState::Open(copy) => match closed(&copy) {
            None => {
                let CustomerCopy { revision, decision, .. } = *copy;
                let reader = Reader::Customer { token };
                return render_open(state, frame, reader, form, asked_now, (revision, decision)).await;
            }
            Some(why) => why,
        },
    };
    let words = language::of_reader(state, Some(&token), &frame).await;
    let frame = frame.speaking(words);
    let shop = state.shop(clock::today()).await?;
    pages::page(why.status(), &ClosedPage { frame, why, shop: customer::shop(&shop.name, &shop.town) })
}

/// The copy as PDF, with what they chose once they accepted; where the page shows no figures, neither does this.
async fn as_pdf(State(state): State<AppState>, frame: Frame, Path(token): Path<String>) -> Result<Response> {
    let Some(Shown { copy, quote, voice }) = shown(&state, &token).await? else {
        return render(&state, frame, token, Form::default(), false).await;
    };
    let job = state.store.job(copy.revision.head.job).await?.ok_or(UNKNOWN)?;
    let keys = copy.decision.iter().flat_map(|decision| &decision.options);
    let chosen = options::places(keys.map(|key| ("with", key.as_str())));
    let since = since(&state, &copy.revision, &quote).await?;
    let head = copy.revision.head;
    paper::answer(&format!("quote revision {}", head.number), move || {
        on_paper(&quote, &issue(&head, &job), &chosen, since.as_ref(), head.issued_at, &voice)
    })
    .await
}

/// The frozen trailer in three dimensions, as described: no choice changes the drawings either.
async fn scene(
    State(state): State<AppState>,
    frame: Frame,
    Path(token): Path<String>,
    headers: HeaderMap,
) -> Result<Response> {
    match shown(&state, &token).await? {
        Some(Shown { quote, .. }) => solid::answer(&quote.estimate, Told::Shapes, &headers),
        None => render(&state, frame, token, Form::default(), false).await,
    }
}

/// The quote of a revision as a document, with what is chosen of its options.
pub fn on_paper(
    quote: &IssuedQuote,
    issue: &Issue,
    chosen: &[usize],
    since: Option<&Since>,
    issued_at: Timestamp,
    voice: &Voice,
) -> Document {
    let shown = customer::copy(quote, issue, None, options::figures(&quote.options, chosen), voice);
    let choices = offered(&quote.options, chosen, voice);
    let made = paper::made_at(issued_at);
    paper_quote::quote(&shown, &choices, since, Some(made), Paper::of(quote.shop.units), voice.words)
}

/// What could be chosen, for paper: once something is chosen it stands with what the customer gets instead.
fn offered(options: &Options, chosen: &[usize], voice: &Voice) -> Choices {
    let choosing = Choosing::of(options, chosen, voice);
    let rows = choosing.free.iter().chain(&choosing.set).filter(|_| chosen.is_empty());
    let offered = rows.map(|row| {
        let price = if row.why_not.is_empty() { row.difference.clone() } else { row.why_not.clone() };
        [row.name.clone(), row.about.clone(), price]
    });
    Choices { offered: offered.collect(), chosen: options::names(options, chosen) }
}

/// The shop's own view of a copy: what the customer reads, without their link and without its forms.
async fn shops_view(
    State(state): State<AppState>,
    frame: Frame,
    Path((job, number)): Path<(JobId, u32)>,
) -> Result<Response> {
    let revision = revision::find(&state, job, number).await?;
    let decision = state.store.decision(revision.head.id).await?;
    let reader = Reader::Shop { job, number };
    render_open(&state, frame.signed_in(None), reader, Form::default(), false, (revision, decision)).await
}

async fn render_open(
    state: &AppState,
    frame: Frame,
    reader: Reader,
    form: Form,
    asked_now: bool,
    (revision, decision): (Revision, Option<Decision>),
) -> Result<Response> {
    let job = state.store.job(revision.head.job).await?.ok_or(UNKNOWN)?;
    let messages = state.store.messages(job.id).await?;
    let quote = thawed(&revision)?;
    let voice = Voice::of_issued(&quote.shop);
    let chosen = match &decision {
        None => options::places(form.pairs()),
        Some(decision) => options::places(decision.options.iter().map(|key| ("with", key.as_str()))),
    };
    let answer = match decision {
        None => Answer::Open,
        Some(decision) => {
            let (by, at) = (decision.name, voice.moment(decision.at));
            match decision.kind {
                DecisionKind::Accepted => Answer::Accepted { by, at },
                DecisionKind::Declined => Answer::Declined { by, at },
            }
        }
    };
    let messages: Vec<MessageView> =
        messages.iter().map(|message| MessageView::for_customer(message, &voice)).collect();
    let since = since(state, &revision, &quote).await?;
    let is_accepted = matches!(answer, Answer::Accepted { .. });
    let page = Page {
        frame: frame.speaking(voice.words),
        since,
        steps: if is_accepted { steps(&job.stage, &voice) } else { Vec::new() },
        copy: customer::copy(
            &quote,
            &issue(&revision.head, &job),
            // Once it is answered, nothing counts from today any more.
            (answer == Answer::Open).then(clock::today),
            options::figures(&quote.options, &chosen),
            &voice,
        ),
        choosing: Choosing::of(&quote.options, &chosen, &voice),
        chosen_names: options::names(&quote.options, &chosen),
        reader,
        answer,
        // On a page that is opened again the answer may stand already.
        asked_now: asked_now && messages.last().is_some_and(|last| !last.from_us),
        messages,
        form,
    };
    pages::page(page.form.status(), &page)
}

/// Whose a revision is, and since when.
pub fn issue(head: &RevisionHead, job: &Job) -> Issue {
    Issue {
        job_title: job.title.clone(),
        customer: job.customer.contact.name.clone(),
        number: Some(head.number),
        issued: Some(head.issued_at),
        valid_until: Some(head.valid_until),
    }
}

/// What changed since the revision before; none of the first.
pub async fn since(state: &AppState, revision: &Revision, quote: &IssuedQuote) -> Result<Option<Since>> {
    let heads = state.store.revisions(revision.head.job).await?;
    let Some(head) = heads.iter().find(|head| head.number + 1 == revision.head.number) else { return Ok(None) };
    let Some(before) = state.store.revision(head.id).await? else { return Ok(None) };
    let before = thawed(&before)?;
    let changes = customer::changes(&before, quote);
    Ok(Some(Since { number: head.number, changes, inside: customer::changed_inside(&before, quote) }))
}

/// What they said to the quote.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    Open,
    Accepted { by: String, at: String },
    Declined { by: String, at: String },
}

/// Who reads a copy.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Reader {
    Customer {
        token: String,
    },
    /// The shop, at its own address.
    Shop {
        job: JobId,
        number: u32,
    },
}

impl Reader {
    /// The secret of the customer's addresses; the shop's view has none.
    fn token(&self) -> &str {
        match self {
            Self::Customer { token } => token,
            Self::Shop { .. } => "",
        }
    }

    fn pdf(&self) -> String {
        match self {
            Self::Customer { token } => paths::customer_pdf(token),
            Self::Shop { job, number } => paths::of_revision(paths::REVISION_QUOTE_PDF, job, number),
        }
    }

    fn scene(&self) -> String {
        match self {
            Self::Customer { token } => paths::customer_scene(token),
            Self::Shop { job, number } => paths::of_revision(paths::REVISION_SCENE, job, number),
        }
    }

    /// Where the shop goes on.
    fn back(&self) -> Option<String> {
        match self {
            Self::Customer { .. } => None,
            Self::Shop { job, number } => Some(paths::of_revision(paths::REVISION, job, number)),
        }
    }
}

#[derive(Template)]
#[template(path = "web/customer/copy.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    reader: Reader,
    copy: CustomersCopy,
    choosing: Choosing,
    chosen_names: Vec<String>,
    since: Option<Since>,
    steps: Vec<Step>,
    answer: Answer,
    messages: Vec<MessageView>,
    asked_now: bool,
}

impl Page {
    fn can_answer(&self) -> bool {
        self.answer == Answer::Open && self.can_ask()
    }

    fn can_ask(&self) -> bool {
        self.reader.back().is_none()
    }

    /// Accepted, and not yet begun: the shop moves next.
    fn waits_for_shop(&self) -> bool {
        self.steps.first().is_none_or(|accepted| accepted.is_now)
    }

    fn can_choose(&self) -> bool {
        self.can_answer() && !self.choosing.is_empty()
    }

    fn total_note(&self) -> String {
        if self.copy.tax.is_some() { self.text("with-tax") } else { String::new() }
    }

    fn say(&self, id: &str) -> Said<'static> {
        self.frame.words.say(id)
    }

    fn text(&self, id: &str) -> String {
        self.say(id).text()
    }

    /// What is chosen.
    fn names(&self) -> String {
        self.frame.words.list(&self.chosen_names)
    }

    fn decline_is_open(&self) -> bool {
        self.form.fault("decline_name").is_some() || self.form.fault("why").is_some()
    }
}

/// Why a link shows no quote, or none any more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Closed {
    Unknown,
    Expired,
    Superseded,
    Revoked,
}

impl Closed {
    fn status(self) -> StatusCode {
        if self == Self::Unknown { StatusCode::NOT_FOUND } else { StatusCode::GONE }
    }
}

#[derive(Template)]
#[template(path = "web/customer/closed.html")]
pub struct ClosedPage {
    frame: Frame,
    why: Closed,
    shop: Shop,
}

impl ClosedPage {
    fn title(&self) -> Said<'static> {
        self.frame.words.say(match self.why {
            Closed::Unknown => "closed-unknown",
            Closed::Expired => "closed-expired",
            Closed::Superseded => "closed-superseded",
            Closed::Revoked => "closed-revoked",
        })
    }

    fn says(&self) -> Said<'static> {
        self.frame.words.say(match self.why {
            Closed::Unknown => "closed-unknown-says",
            Closed::Expired => "closed-expired-says",
            Closed::Superseded => "closed-superseded-says",
            Closed::Revoked => "closed-revoked-says",
        })
    }
}

#[cfg(test)]
use crate::{documents::customer::Changes, domain::changed::Change};

#[cfg(test)]
impl Page {
    pub(super) fn samples() -> Vec<Self> {
        let page = |answer, form| Self {
            frame: Frame::customer_sample(),
            form,
            reader: Reader::Customer { token: "abc".into() },
            copy: CustomersCopy::sample(),
            choosing: Choosing::sample(),
            chosen_names: vec!["Galvanised <b>".into()],
            since: Some(Since {
                number: 1,
                changes: vec![Changes {
                    title: "What you get".into(),
                    changes: vec![Change {
                        what: "Finish: Colour".into(),
                        before: "red <b>".into(),
                        after: String::new(),
                    }],
                }],
                inside: true,
            }),
            steps: vec![Step { text: "In the workshop".into(), when: "<b>".into(), is_now: true }],
            answer,
            messages: vec![MessageView {
                from_us: false,
                author: "Ann <b>".into(),
                at: "5 Nov 2026".into(),
                text: "Can it be blue?".into(),
            }],
            asked_now: true,
        };
        let mut wrong = Form::filled([("accept_name", "<b>")]);
        wrong.wrong("agree", "Terms", "Tick the box.");
        let by = || "Ann <b>".to_owned();
        vec![
            page(Answer::Open, wrong),
            page(Answer::Accepted { by: by(), at: "5 Nov 2026".into() }, Form::default()),
            page(Answer::Declined { by: by(), at: "5 Nov 2026".into() }, Form::default()),
        ]
    }
}

#[cfg(test)]
impl ClosedPage {
    pub(super) fn samples() -> Vec<Self> {
        let page = |why| Self { frame: Frame::customer_sample(), why, shop: CustomersCopy::sample().shop };
        [Closed::Unknown, Closed::Expired, Closed::Superseded, Closed::Revoked].map(page).into()
    }
}
