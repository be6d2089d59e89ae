//! Who works here: the owner adds people, changes what they may do, switches them off, and makes links for new passwords.

use askama::Template;
use axum::{
    Router,
    extract::State,
    http::HeaderMap,
    response::{Redirect, Response},
    routing::{get, post},
};
use jiff::{SignedDuration, Timestamp};

use super::link;
use crate::{
    domain::people::{PersonName, Role},
    storage::{By, NewPerson, Person, PersonChange, PersonId},
    web::{
        AppState, Error, Result, clock,
        extract::Path,
        form::Form,
        frame::{Frame, Room},
        pages, paths,
        session::Actor,
    },
};

/// How long a link for a password stays open.
const LINK_LASTS: SignedDuration = SignedDuration::from_hours(72);

#[derive(Template)]
#[template(path = "web/people/list.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    people: Vec<Person>,
}

impl Page {
    fn roles(&self) -> [(&'static str, String); 3] {
        Role::ALL.map(|role| (role.word(), format!("{role}: {}", role.says())))
    }

    fn is_me(&self, person: &Person) -> bool {
        self.frame.actor.as_ref().is_some_and(|actor| actor.person == person.id)
    }

    fn has(&self, person: &Person, word: &str) -> bool {
        person.role.word() == word
    }

    fn words(&self) -> [&'static str; 3] {
        Role::ALL.map(Role::word)
    }
}

pub(super) fn router() -> Router<AppState> {
    Router::new()
        .route(paths::PEOPLE, get(show).post(add))
        .route(paths::PERSON_ROLE, post(set_role))
        .route(paths::PERSON_ACTIVE, post(set_active))
        .route(paths::PERSON_LINK, post(make_link))
}

async fn show(State(state): State<AppState>, frame: Frame) -> Result<Response> {
    render(&state, frame, Form::filled([("role", Role::Estimator.word())])).await
}

async fn render(state: &AppState, frame: Frame, form: Form) -> Result<Response> {
    let people = state.store.people().await?;
    pages::page(form.status(), &Page { frame: frame.at(Room::People), form, people })
}

async fn add(
    State(state): State<AppState>,
    frame: Frame,
    actor: Actor,
    headers: HeaderMap,
    mut form: Form,
) -> Result<Response> {
    let name = PersonName::parse(form.value("name")).inspect_err(|fault| form.wrong("name", "Name", fault.to_string()));
    let role = role_of(&mut form);
    let (Ok(name), Some(role)) = (name, role) else { return render(&state, frame, form).await };
    let by = By { who: actor.name(), at: clock::now() };
    let new = NewPerson { name: &name, role, password: None, demo: false };
    match state.store.add_person(new, by).await? {
        Some(id) => linked(&state, frame, &headers, id, name.to_string(), by).await,
        None => {
            form.wrong("name", "Name", "Somebody has this name already: names are told apart without regard to case.");
            render(&state, frame, form).await
        }
    }
}

fn role_of(form: &mut Form) -> Option<Role> {
    let role = Role::from_word(form.value("role"));
    if role.is_none() {
        form.wrong("role", "Role", "This is not a role: choose owner, estimator or workshop.");
    }
    role
}

async fn set_role(
    State(state): State<AppState>,
    frame: Frame,
    actor: Actor,
    Path(id): Path<PersonId>,
    mut form: Form,
) -> Result<Response> {
    let Some(role) = role_of(&mut form) else { return render(&state, frame, form).await };
    let by = By { who: actor.name(), at: clock::now() };
    changed(&state, frame, state.store.set_role(id, role, by).await?).await
}

async fn set_active(
    State(state): State<AppState>,
    frame: Frame,
    actor: Actor,
    Path(id): Path<PersonId>,
    form: Form,
) -> Result<Response> {
    let by = By { who: actor.name(), at: clock::now() };
    let active = form.value("active") == "yes";
    changed(&state, frame, state.store.set_active(id, active, by).await?).await
}

async fn changed(state: &AppState, frame: Frame, change: PersonChange) -> Result<Response> {
    use axum::response::IntoResponse;
    match change {
        PersonChange::Done => Ok(Redirect::to(paths::PEOPLE).into_response()),
        PersonChange::Missing => Err(NOBODY),
        PersonChange::LastOwner => {
            let mut form = Form::filled([("role", Role::Estimator.word())]);
            form.wrong_altogether(
                "This is the last owner with a password: nobody could keep people and settings any more. Make another \
                 person owner first.",
            );
            render(state, frame, form).await
        }
    }
}

const NOBODY: Error = Error::NotFound("There is no such person.");

async fn make_link(
    State(state): State<AppState>,
    frame: Frame,
    actor: Actor,
    headers: HeaderMap,
    Path(id): Path<PersonId>,
) -> Result<Response> {
    let people = state.store.people().await?;
    let person = people.into_iter().find(|person| person.id == id).ok_or(NOBODY)?;
    let by = By { who: actor.name(), at: clock::now() };
    linked(&state, frame, &headers, id, person.name, by).await
}

async fn linked(
    state: &AppState,
    frame: Frame,
    headers: &HeaderMap,
    id: PersonId,
    name: String,
    by: By<'_>,
) -> Result<Response> {
    let until = lasts_from(by.at)?;
    let token = state.store.make_set_up_link(Some(id), until, by).await?;
    let token = token.ok_or(Error::NotFound("This person is switched off: switch them on first."))?;
    link::show(frame, headers, name, &token, until)
}

/// How long a link made now stays open.
pub fn lasts_from(now: Timestamp) -> Result<Timestamp> {
    now.checked_add(LINK_LASTS).map_err(Error::internal)
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let [_, frame] = Frame::samples();
        let person = |id, active, has_password| Person {
            id: PersonId(id),
            name: "Ann <b>".into(),
            role: Role::Owner,
            active,
            demo: false,
            has_password,
        };
        let mut wrong = Form::filled([("name", "Ann <b>"), ("role", "owner")]);
        wrong.wrong("name", "Name", "Somebody has this name already.");
        let people = vec![person(1, true, true), person(2, false, true), person(3, true, false)];
        vec![
            Self { frame: frame.clone(), form: wrong, people: people.clone() },
            Self { frame, form: Form::default(), people },
        ]
    }
}
