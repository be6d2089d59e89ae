//! The sign-in. Whether the name or the password is wrong is not told, neither by words nor by time.

use std::time::{Duration, Instant};

use askama::Template;
use axum::{
    Router,
    extract::State,
    http::{HeaderMap, StatusCode, header},
    response::{IntoResponse, Response},
    routing::{get, post},
};

use super::taken;
use crate::{
    domain::people::{DEMO, Demo, PersonName},
    web::{
        AppState, Result, error,
        extract::Query,
        form::Form,
        frame::Frame,
        gate::{Audience, Visitor},
        pages, password, paths,
        session::{self, Actor},
    },
};

#[derive(Template)]
#[template(path = "web/people/sign_in.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    /// The sign-ins that the demo shop made, while they are as it made them.
    demo: Vec<&'static Demo>,
}

#[derive(Debug, serde::Deserialize)]
struct Asked {
    next: Option<String>,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::SIGN_IN, get(show).post(sign_in)).route(paths::SIGN_OUT, post(sign_out))
}

async fn show(
    State(state): State<AppState>,
    frame: Frame,
    audience: Audience,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    let form = Form::filled([("next", asked.next.as_deref().map_or(paths::START, session::local))]);
    render(&state, frame, audience, form, StatusCode::OK).await
}

async fn render(
    state: &AppState,
    frame: Frame,
    audience: Audience,
    form: Form,
    status: StatusCode,
) -> Result<Response> {
    let people = if audience == Audience::Shop { state.store.people().await? } else { Vec::new() };
    let is_there = |demo: &&Demo| people.iter().any(|person| person.demo && person.active && person.name == demo.name);
    let demo = DEMO.iter().filter(is_there).collect();
    pages::page(status, &Page { frame, form, demo })
}

async fn sign_in(
    State(state): State<AppState>,
    audience: Audience,
    Visitor(address): Visitor,
    headers: HeaderMap,
    frame: Frame,
    mut form: Form,
) -> Result<Response> {
    let given = taken(&mut form, "password");
    let name = PersonName::parse(form.value("name")).ok();
    let key = name.as_ref().map(PersonName::folded).unwrap_or_default();
    if let Err(wait) = state.throttle.attempt(&key, address, Instant::now()) {
        return too_often(&state, frame, audience, form, wait).await;
    }
    let known = match &name {
        Some(name) => state.store.credentials(name).await?,
        None => None,
    };
    // The demo's passwords are known to everyone: they open nothing at the public address.
    let known = known.filter(|known| known.active && (!known.demo || audience == Audience::Shop));
    let kept = known.as_ref().and_then(|known| known.password.as_deref());
    let is_right = password::matches(&given, kept).await?;
    match known {
        Some(known) if is_right => {
            state.throttle.succeeded(&key, address);
            tracing::info!(person.id = known.person.0, "signed in");
            let next = session::local(form.value("next")).to_owned();
            session::start(&state, audience, &headers, known.person, &next).await
        }
        _ => {
            tracing::warn!("a sign-in failed");
            form.wrong_altogether(
                "Name and password do not go together. Mind upper and lower case in the password; the owner can make a new \
                 link for whoever forgot it.",
            );
            let status = form.status();
            render(&state, frame, audience, form, status).await
        }
    }
}

async fn too_often(
    state: &AppState,
    frame: Frame,
    audience: Audience,
    mut form: Form,
    wait: Duration,
) -> Result<Response> {
    let seconds = error::seconds(wait);
    tracing::warn!(wait.seconds = seconds, "a sign-in was put off");
    form.wrong_altogether(format!("Too many sign-ins failed. Wait {seconds} seconds, then try again."));
    let page = render(state, frame, audience, form, StatusCode::TOO_MANY_REQUESTS).await?;
    Ok(([(header::RETRY_AFTER, seconds.to_string())], page).into_response())
}

async fn sign_out(State(state): State<AppState>, audience: Audience, actor: Actor) -> Result<Response> {
    state.store.end_session(actor.session).await?;
    Ok(session::forget(audience, paths::SIGN_IN))
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let [nobody, ann] = Frame::samples();
        let mut wrong = Form::filled([("name", "Ann <b>"), ("next", "/jobs")]);
        wrong.wrong_altogether("Name and password do not go together.");
        vec![
            Self { frame: nobody, form: wrong, demo: DEMO.iter().collect() },
            Self { frame: ann, form: Form::default(), demo: Vec::new() },
        ]
    }
}
