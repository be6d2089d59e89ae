//! Choosing a first or a new password, by a link that works once. The very first link makes the shop's owner.

use askama::Template;
use axum::{Router, extract::State, http::HeaderMap, response::Response, routing::get};

use super::new_password;
use crate::{
    domain::people::PersonName,
    storage::{SetUp, SetUpUse},
    web::{
        AppState, Error, Result, clock, extract::Path, form::Form, frame::Frame, gate::Audience, pages, password,
        paths, session,
    },
};

#[derive(Template)]
#[template(path = "web/people/set_up.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    action: String,
    /// Whom the link is for; nobody where it makes the owner.
    name: Option<String>,
}

const CLOSED: Error = Error::Gone(
    "This link was used already, replaced by a newer one, or has grown too old. Ask the owner for a new one.",
);

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::SET_UP, get(show).post(choose))
}

async fn show(State(state): State<AppState>, frame: Frame, Path(token): Path<String>) -> Result<Response> {
    let link = state.store.set_up(&token, clock::now()).await?.ok_or(CLOSED)?;
    render(frame, Form::default(), &token, &link)
}

async fn choose(
    State(state): State<AppState>,
    frame: Frame,
    audience: Audience,
    headers: HeaderMap,
    Path(token): Path<String>,
    mut form: Form,
) -> Result<Response> {
    let link = state.store.set_up(&token, clock::now()).await?.ok_or(CLOSED)?;
    let typed = match &link {
        SetUp::Owner => form.value("name").to_owned(),
        SetUp::Person(person) => person.name.clone(),
    };
    let name = PersonName::parse(&typed).inspect_err(|fault| form.wrong("name", "Your name", fault.to_string())).ok();
    let Some(name) = name else {
        form.set("new_password", "");
        form.set("again", "");
        return render(frame, form, &token, &link);
    };
    let chosen = new_password(&state, &mut form, &name).await?;
    if !form.is_right() {
        return render(frame, form, &token, &link);
    }
    let hash = password::hash(&chosen).await?;
    match state.store.use_set_up(&token, &name, &hash, clock::now()).await? {
        SetUpUse::Done(person) => session::start(&state, audience, &headers, person, paths::START).await,
        SetUpUse::Closed => Err(CLOSED),
        SetUpUse::NameTaken => {
            form.wrong("name", "Your name", "Somebody has this name already: add a letter or your family name.");
            render(frame, form, &token, &link)
        }
    }
}

fn render(frame: Frame, form: Form, token: &str, link: &SetUp) -> Result<Response> {
    let name = match link {
        SetUp::Owner => None,
        SetUp::Person(person) => Some(person.name.clone()),
    };
    pages::page(form.status(), &Page { frame, form, action: paths::set_up(token), name })
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let [nobody, _] = Frame::samples();
        let action = paths::set_up("token");
        let mut wrong = Form::default();
        wrong.wrong("new_password", "New password", "This password is too short.");
        vec![
            Self { frame: nobody.clone(), form: wrong, action: action.clone(), name: None },
            Self { frame: nobody, form: Form::default(), action, name: Some("Ann <b>".into()) },
        ]
    }
}
