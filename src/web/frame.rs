//! What every page shows around its content: who is signed in, and where on the site they are.

use std::convert::Infallible;

use axum::{
    extract::FromRequestParts,
    http::{HeaderMap, Method, request::Parts},
};

use crate::{
    domain::{people::Role, words::Words},
    web::{language, paths, rights, session::Actor},
};

/// The main rooms of the shop, as the header lists them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Room {
    Waiting,
    Jobs,
    Rack,
    Rates,
    Shop,
    People,
}

impl Room {
    pub const ALL: [Self; 6] = [Self::Waiting, Self::Jobs, Self::Rack, Self::Rates, Self::Shop, Self::People];

    pub fn label(self) -> &'static str {
        match self {
            Self::Waiting => "Waiting",
            Self::Jobs => "Jobs",
            Self::Rack => "Rack",
            Self::Rates => "Rate book",
            Self::Shop => "Shop",
            Self::People => "People",
        }
    }

    pub fn path(self) -> &'static str {
        match self {
            Self::Waiting => paths::START,
            Self::Jobs => paths::JOBS,
            Self::Rack => paths::RACK,
            Self::Rates => paths::RATES,
            Self::Shop => paths::SHOP,
            Self::People => paths::PEOPLE,
        }
    }
}

/// Every page struct has one, called `frame`; `base.html` reads it.
#[derive(Clone, Debug)]
pub struct Frame {
    /// Who is signed in; nobody on a customer's copy and before the sign-in.
    pub actor: Option<Actor>,
    /// The room that the header marks as the present one.
    pub room: Option<Room>,
    /// The language of the page: English for the shop, that of their quote for a customer.
    pub words: &'static Words,
    /// The catalogue's language that the browser asks for first; none where it asks for none that we have.
    pub wished: Option<&'static Words>,
    is_fragment: bool,
}

impl Frame {
    pub(super) fn of(actor: Option<Actor>, headers: &HeaderMap) -> Self {
        Self {
            actor,
            room: None,
            words: Words::english(),
            wished: language::wished(headers),
            is_fragment: headers.contains_key("hx-request"),
        }
    }

    /// The same frame, of this person.
    pub(super) fn signed_in(self, actor: Option<Actor>) -> Self {
        Self { actor, ..self }
    }

    /// The same frame, in a room.
    pub fn at(mut self, room: Room) -> Self {
        self.room = Some(room);
        self
    }

    /// The same frame, in another language.
    pub fn speaking(mut self, words: &'static Words) -> Self {
        self.words = words;
        self
    }

    /// Whether the shop's header is shown: never to a customer.
    pub fn is_shop(&self) -> bool {
        self.actor.is_some()
    }

    /// Whether a script asks for a part of the page (htmx), and not the browser for the whole of it.
    pub fn is_fragment(&self) -> bool {
        self.is_fragment
    }

    /// Whether whoever is signed in may open a page, by its pattern: what they may not open is not shown.
    pub fn may_open(&self, path: &str) -> bool {
        self.actor.as_ref().is_some_and(|actor| rights::may_open(actor.role, path))
    }

    /// Whether they may post to a route.
    pub fn may_post(&self, path: &str) -> bool {
        self.actor.as_ref().is_some_and(|actor| rights::may(actor.role, path, &Method::POST))
    }

    /// Whether cost, rates and prices may stand on their page.
    pub fn sees_money(&self) -> bool {
        self.actor.as_ref().is_some_and(|actor| actor.role != Role::Workshop)
    }

    /// The rooms that the header leads to.
    pub fn rooms(&self) -> Vec<Room> {
        // To the workshop nothing waits: its first page is the list of jobs.
        let is_workshop = self.actor.as_ref().is_some_and(|actor| actor.role == Role::Workshop);
        let shown = |room: &Room| self.may_open(room.path()) && !(is_workshop && *room == Room::Waiting);
        Room::ALL.into_iter().filter(shown).collect()
    }

    /// For tests of templates: nobody's frame, and the owner's.
    pub fn samples() -> [Self; 2] {
        let nobody = Self { room: Some(Room::Jobs), ..Self::customer_sample() };
        let ann = Self { actor: Some(Actor::sample("Ann <b>", Role::Owner)), ..nobody.clone() };
        [nobody, ann]
    }

    /// For tests of templates: what a customer sees around their copy.
    pub fn customer_sample() -> Self {
        Self { actor: None, room: None, words: Words::english(), wished: None, is_fragment: false }
    }
}

impl<S: Send + Sync> FromRequestParts<S> for Frame {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Infallible> {
        Ok(Self::of(parts.extensions.get::<Actor>().cloned(), &parts.headers))
    }
}
