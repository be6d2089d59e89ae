//! A person's own page: another password, where they are signed in, and signing out.

use std::time::Instant;

use askama::Template;
use axum::{
    Router,
    extract::State,
    http::HeaderMap,
    response::Response,
    routing::{get, post},
};

use super::{new_password, taken};
use crate::{
    domain::people::PersonName,
    storage::{By, SessionId, SessionLine},
    web::{
        AppState, Error, Result, clock, error,
        extract::{Path, Query},
        form::Form,
        frame::Frame,
        gate::{Audience, Visitor},
        pages, password, paths,
        session::{self, Actor},
    },
};

#[derive(Template)]
#[template(path = "web/people/me.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    actor: Actor,
    /// Every browser in which they are signed in, the one used last first.
    sessions: Vec<SessionLine>,
    changed: bool,
}

impl Page {
    fn moment(&self, at: &jiff::Timestamp) -> String {
        clock::moment(*at)
    }

    fn is_here(&self, session: &SessionLine) -> bool {
        session.id == self.actor.session
    }
}

#[derive(Debug, serde::Deserialize)]
struct Asked {
    changed: Option<String>,
}

pub(super) fn router() -> Router<AppState> {
    Router::new()
        .route(paths::ME, get(show))
        .route(paths::MY_PASSWORD, post(change_password))
        .route(paths::SIGN_OUT_EVERYWHERE, post(sign_out_everywhere))
        .route(paths::MY_SESSION_END, post(sign_out_one))
}

async fn show(
    State(state): State<AppState>,
    frame: Frame,
    actor: Actor,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    render(&state, frame, actor, Form::default(), asked.changed.is_some()).await
}

async fn render(state: &AppState, frame: Frame, actor: Actor, form: Form, changed: bool) -> Result<Response> {
    let now = clock::now();
    let sessions = state.store.sessions_of(actor.person, now, session::idle_since(now)?).await?;
    pages::page(form.status(), &Page { frame, form, actor, sessions, changed })
}

/// The old password is asked for, so that a browser left open is not enough; every other browser is signed out.
async fn change_password(
    State(state): State<AppState>,
    audience: Audience,
    Visitor(address): Visitor,
    headers: HeaderMap,
    frame: Frame,
    actor: Actor,
    mut form: Form,
) -> Result<Response> {
    let name = PersonName::parse(actor.name()).map_err(Error::internal)?;
    let old = taken(&mut form, "old_password");
    let chosen = new_password(&state, &mut form, &name).await?;
    if form.is_right() {
        let key = name.folded();
        if let Err(wait) = state.throttle.attempt(&key, address, Instant::now()) {
            let seconds = error::seconds(wait);
            form.wrong(
                "old_password",
                "Old password",
                format!("Too many tries: wait {seconds} seconds, then try again."),
            );
            return render(&state, frame, actor, form, false).await;
        }
        let kept = state.store.credentials(&name).await?.and_then(|known| known.password);
        if password::matches(&old, kept.as_deref()).await? {
            state.throttle.succeeded(&key, address);
        } else {
            form.wrong("old_password", "Old password", "This is not your password.");
        }
    }
    if !form.is_right() {
        return render(&state, frame, actor, form, false).await;
    }
    let hash = password::hash(&chosen).await?;
    let by = By { who: actor.name(), at: clock::now() };
    if !state.store.set_password(actor.person, &hash, by).await? {
        return Err(Error::SignedOut);
    }
    tracing::info!(person.id = actor.person.0, "changed the password");
    session::start(&state, audience, &headers, actor.person, &format!("{}?changed=yes", paths::ME)).await
}

async fn sign_out_everywhere(State(state): State<AppState>, audience: Audience, actor: Actor) -> Result<Response> {
    state.store.end_sessions(actor.person).await?;
    Ok(session::forget(audience, paths::SIGN_IN))
}

/// Of the person's own sessions alone: the number of another's ends nothing.
async fn sign_out_one(
    State(state): State<AppState>,
    audience: Audience,
    actor: Actor,
    Path(id): Path<SessionId>,
) -> Result<Response> {
    if id == actor.session {
        state.store.end_session(id).await?;
        return Ok(session::forget(audience, paths::SIGN_IN));
    }
    if !state.store.end_session_of(actor.person, id).await? {
        return Err(Error::NotFound("You are not signed in there any more: it was signed out, or too long unused."));
    }
    Ok(session::see_other(paths::ME, &actor))
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let [_, ann] = Frame::samples();
        let actor = ann.actor.clone().expect("a person");
        let mut wrong = Form::default();
        wrong.wrong("old_password", "Old password", "This is not your password.");
        let line = |id| SessionLine { id: SessionId(id), since: clock::now(), last_seen_at: clock::now() };
        let sessions = vec![line(1), line(2)];
        vec![
            Self { frame: ann.clone(), form: wrong, actor: actor.clone(), sessions: sessions.clone(), changed: false },
            Self { frame: ann, form: Form::default(), actor, sessions, changed: true },
        ]
    }
}
