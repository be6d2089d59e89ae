//! The customer's copy of a revision: phone first, nothing of the shop's inside.

pub mod options;

use askama::Template;
use axum::{
    Router,
    extract::State,
    http::StatusCode,
    response::{IntoResponse, Redirect, Response},
    routing::{get, post},
};

use self::options::Choosing;
use crate::{
    documents::{
        customer::{self, CustomersCopy, Issue, Shop},
        paper::{
            Paper,
            quote::{self as paper_quote, Choices},
        },
    },
    domain::{
        changed::{Change, ForCustomer},
        issued::IssuedQuote,
        options::Options,
    },
    storage::{CustomerCopy, Decided, DecisionKind, Job, LinkState, Revision, RevisionHead},
    web::{
        AppState, Error, Result, clock,
        extract::{Path, Query},
        form::Form,
        frame::Frame,
        pages::{
            self,
            job::{details, overview::MessageView, revision::thawed},
            paper,
        },
        paths,
        show::Show,
    },
};

const UNKNOWN: Error =
    Error::NotFound("There is no quote at this address. Please open the link that you were sent, whole.");

/// What stands behind the address: what is chosen, and whether a question was just sent.
type Asked = Vec<(String, String)>;

pub(super) fn router() -> Router<AppState> {
    Router::new()
        .route(paths::COPY, get(show))
        .route(paths::COPY_PDF, get(as_pdf))
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
    if let LinkState::Open(copy) = state.store.copy(&token, clock::now(), clock::today()).await? {
        state.store.saw_copy(copy.link, clock::now()).await?;
    }
    let pairs = || asked.iter().map(|(name, value)| (name.as_str(), value.as_str()));
    let asked_now = pairs().any(|(name, _)| name == "asked");
    let form = Form::filled(pairs().filter(|(name, _)| matches!(*name, "with" | "one")));
    render(&state, frame, token, form, asked_now).await
}

async fn ask(
    State(state): State<AppState>,
    frame: Frame,
    Path(token): Path<String>,
    mut form: Form,
) -> Result<Response> {
    let name = details::line(&mut form, "ask_name", "Your name", true);
    let text = details::text(&mut form, "question", "Your question", true);
    if !form.is_right() || !is_shown(&state, &token).await? {
        return render(&state, frame, token, form, false).await;
    }
    match state.store.ask(&token, &name, &text, clock::now()).await? {
        Some(_) => Ok(Redirect::to(&format!("{}?asked=yes", paths::customer(&token))).into_response()),
        None => render(&state, frame, token, form, false).await,
    }
}

async fn accept(
    State(state): State<AppState>,
    frame: Frame,
    Path(token): Path<String>,
    mut form: Form,
) -> Result<Response> {
    let name = details::line(&mut form, "accept_name", "Your name", true);
    if !form.has("agree") {
        form.wrong(
            "agree",
            "Terms",
            "Please tick the box if you agree to the terms; without it the quote cannot be accepted.",
        );
    }
    let LinkState::Open(copy) = state.store.copy(&token, clock::now(), clock::today()).await? else {
        return render(&state, frame, token, form, false).await;
    };
    if !form.is_right() {
        return render(&state, frame, token, form, false).await;
    }
    let quote = thawed(&copy.revision)?;
    let chosen = options::places(form.pairs());
    let refused = Choosing::of(&quote.options, &chosen, &Show::of_issued(&quote.shop)).refused;
    if !refused.is_empty() {
        form.wrong_altogether(format!(
            "What is chosen cannot be had. {refused} Nothing was accepted: please choose again."
        ));
        return render(&state, frame, token, form, false).await;
    }
    let keys: Vec<String> = chosen.iter().map(usize::to_string).collect();
    let terms = agreed_terms(&state, &copy).await?;
    let decided = state.store.accept(&token, &name, &terms, &keys, clock::now(), clock::today()).await?;
    answered(&state, frame, token, form, decided).await
}

async fn decline(
    State(state): State<AppState>,
    frame: Frame,
    Path(token): Path<String>,
    mut form: Form,
) -> Result<Response> {
    let name = details::line(&mut form, "decline_name", "Your name", true);
    let why = details::text(&mut form, "why", "Why not", false);
    if !form.is_right() {
        return render(&state, frame, token, form, false).await;
    }
    let decided = state.store.decline(&token, &name, &why, clock::now(), clock::today()).await?;
    answered(&state, frame, token, form, decided).await
}

/// The terms of the copy, word for word.
async fn agreed_terms(state: &AppState, copy: &CustomerCopy) -> Result<String> {
    let job = state.store.job(copy.revision.head.job).await?.ok_or(UNKNOWN)?;
    let shown = customer::copy(&thawed(&copy.revision)?, &issue(&copy.revision.head, &job), Some(clock::today()), None);
    Ok(shown.terms.join("\n"))
}

/// Back to the copy, which now shows the decision; or what stands in the way.
async fn answered(state: &AppState, frame: Frame, token: String, mut form: Form, decided: Decided) -> Result<Response> {
    match decided {
        Decided::Done | Decided::Already(_) => Ok(Redirect::to(&paths::customer(&token)).into_response()),
        Decided::Unknown => Err(UNKNOWN),
        Decided::Revoked | Decided::Expired | Decided::Superseded | Decided::Lapsed => {
            render(state, frame, token, form, false).await
        }
        Decided::Refused(_) => {
            form.wrong_altogether(
                "This quote cannot be answered any more: the shop's work on it has moved on. Please get in touch.",
            );
            render(state, frame, token, form, false).await
        }
    }
}

/// Whether the link shows its quote.
async fn is_shown(state: &AppState, token: &str) -> Result<bool> {
    let link = state.store.copy(token, clock::now(), clock::today()).await?;
    Ok(matches!(link, LinkState::Open(copy) if closed(&copy).is_none()))
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
    let today = clock::today();
    let why = match state.store.copy(&token, clock::now(), today).await? {
        LinkState::Unknown => return Err(UNKNOWN),
        LinkState::Revoked => Closed::Revoked,
        LinkState::Expired => Closed::Expired,
        LinkState::Open(copy) => match closed(&copy) {
            None => return render_open(state, frame, token, form, asked_now, *copy).await,
            Some(why) => why,
        },
    };
    let shop = state.shop(today).await?;
    pages::page(StatusCode::GONE, &ClosedPage { frame, why, shop: customer::shop(&shop.name, &shop.town) })
}

/// The copy as PDF, with what they chose once they accepted; where the page shows no figures, neither does this.
async fn as_pdf(State(state): State<AppState>, frame: Frame, Path(token): Path<String>) -> Result<Response> {
    let LinkState::Open(copy) = state.store.copy(&token, clock::now(), clock::today()).await? else {
        return render(&state, frame, token, Form::default(), false).await;
    };
    if closed(&copy).is_some() {
        return render(&state, frame, token, Form::default(), false).await;
    }
    let job = state.store.job(copy.revision.head.job).await?.ok_or(UNKNOWN)?;
    let quote = thawed(&copy.revision)?;
    let keys = copy.decision.iter().flat_map(|decision| &decision.options);
    let chosen = options::places(keys.map(|key| ("with", key.as_str())));
    let head = copy.revision.head;
    paper::answer(&format!("quote revision {}", head.number), move || {
        let figures = options::figures(&quote.options, &chosen);
        let shown = customer::copy(&quote, &issue(&head, &job), None, figures);
        let choices = offered(&quote.options, &chosen, &Show::of_issued(&quote.shop));
        paper_quote::quote(&shown, &choices, Some(paper::made_at(head.issued_at)), Paper::of(quote.shop.units))
    })
    .await
}

/// What could be chosen, for paper: once something is chosen it stands with what the customer gets instead.
pub fn offered(options: &Options, chosen: &[usize], show: &Show) -> Choices {
    let choosing = Choosing::of(options, chosen, show);
    let rows = choosing.free.iter().chain(&choosing.set).filter(|_| chosen.is_empty());
    let offered = rows.map(|row| {
        let price = if row.why_not.is_empty() { row.difference.clone() } else { row.why_not.clone() };
        [row.name.clone(), row.about.clone(), price]
    });
    Choices { offered: offered.collect(), chosen: options::names(options, chosen) }
}

async fn render_open(
    state: &AppState,
    frame: Frame,
    token: String,
    form: Form,
    asked_now: bool,
    copy: CustomerCopy,
) -> Result<Response> {
    let job = state.store.job(copy.revision.head.job).await?.ok_or(UNKNOWN)?;
    let messages = state.store.messages(job.id).await?;
    let quote = thawed(&copy.revision)?;
    let chosen = match &copy.decision {
        None => options::places(form.pairs()),
        Some(decision) => options::places(decision.options.iter().map(|key| ("with", key.as_str()))),
    };
    let answer = match copy.decision {
        None => Answer::Open,
        Some(decision) => {
            let (by, at) = (decision.name, clock::moment(decision.at));
            match decision.kind {
                DecisionKind::Accepted => Answer::Accepted { by, at },
                DecisionKind::Declined => Answer::Declined { by, at },
            }
        }
    };
    let changed = changed(state, &copy.revision, &quote).await?;
    let page = Page {
        frame,
        changed,
        copy: customer::copy(
            &quote,
            &issue(&copy.revision.head, &job),
            Some(clock::today()),
            options::figures(&quote.options, &chosen),
        ),
        choosing: Choosing::of(&quote.options, &chosen, &Show::of_issued(&quote.shop)),
        chosen_names: options::names(&quote.options, &chosen),
        token,
        answer,
        messages: messages.iter().map(MessageView::for_customer).collect(),
        asked_now,
        form,
    };
    pages::page(page.form.status(), &page)
}

/// Whose a revision is, and since when.
pub fn issue(head: &RevisionHead, job: &Job) -> Issue {
    Issue {
        job_title: job.title.clone(),
        customer: job.customer.contact.name.clone(),
        revision: format!("Revision {}", head.number),
        issued: Some(clock::day_of(head.issued_at)),
        valid_until: Some(head.valid_until),
    }
}

/// What changed since the revision before; none of the first.
async fn changed(state: &AppState, revision: &Revision, quote: &IssuedQuote) -> Result<Option<Changed>> {
    let heads = state.store.revisions(revision.head.job).await?;
    let Some(head) = heads.iter().find(|head| head.number + 1 == revision.head.number) else { return Ok(None) };
    let Some(before) = state.store.revision(head.id).await? else { return Ok(None) };
    let found = ForCustomer::between(&thawed(&before)?, quote);
    let named = [
        ("What you asked for", found.asked),
        ("What you get", found.design),
        ("Figures", found.figures),
        ("Price", found.price),
    ];
    let tables = named.into_iter().filter(|(_, changes)| !changes.is_empty());
    Ok(Some(Changed { since: head.number, tables: tables.map(|(title, changes)| Table { title, changes }).collect() }))
}

/// What changed since an earlier revision.
struct Changed {
    since: u32,
    tables: Vec<Table>,
}

struct Table {
    title: &'static str,
    changes: Vec<Change>,
}

/// What they said to the quote.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    Open,
    Accepted { by: String, at: String },
    Declined { by: String, at: String },
}

#[derive(Template)]
#[template(path = "web/customer/copy.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    token: String,
    copy: CustomersCopy,
    choosing: Choosing,
    chosen_names: Vec<String>,
    changed: Option<Changed>,
    answer: Answer,
    messages: Vec<MessageView>,
    asked_now: bool,
}

impl Page {
    fn can_answer(&self) -> bool {
        self.answer == Answer::Open
    }

    fn can_choose(&self) -> bool {
        self.can_answer() && !self.choosing.is_empty()
    }

    fn total_note(&self) -> &'static str {
        if self.copy.tax.is_some() { "with tax" } else { "" }
    }

    fn decline_is_open(&self) -> bool {
        self.form.fault("decline_name").is_some() || self.form.fault("why").is_some()
    }
}

/// Why a link shows no quote any more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Closed {
    Expired,
    Superseded,
    Revoked,
}

#[derive(Template)]
#[template(path = "web/customer/closed.html")]
pub struct ClosedPage {
    frame: Frame,
    why: Closed,
    shop: Shop,
}

impl ClosedPage {
    fn title(&self) -> &'static str {
        match self.why {
            Closed::Expired => "This quote is no longer valid",
            Closed::Superseded => "There is a newer quote",
            Closed::Revoked => "This link is no longer used",
        }
    }

    fn says(&self) -> &'static str {
        match self.why {
            Closed::Expired => {
                "Its time has run out, because prices of steel and parts move. Ask the shop for a fresh one: it is little work."
            }
            Closed::Superseded => {
                "The shop has made a newer quote for you. Please use the newest link that you were sent."
            }
            Closed::Revoked => "The shop has withdrawn this link. If you still want the trailer, please get in touch.",
        }
    }
}

#[cfg(test)]
impl Page {
    pub(super) fn samples() -> Vec<Self> {
        let page = |answer, form| Self {
            frame: Frame::customer_sample(),
            form,
            token: "abc".into(),
            copy: CustomersCopy::sample(),
            choosing: Choosing::sample(),
            chosen_names: vec!["Galvanised <b>".into()],
            changed: Some(Changed {
                since: 1,
                tables: vec![Table {
                    title: "What you get",
                    changes: vec![Change {
                        what: "Finish: Colour".into(),
                        before: "red <b>".into(),
                        after: String::new(),
                    }],
                }],
            }),
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
        vec![page(Closed::Expired), page(Closed::Superseded), page(Closed::Revoked)]
    }
}
