//! What every page shows around its content: the name of whoever works here, and where on the site they are.

use std::convert::Infallible;

use axum::{
    extract::FromRequestParts,
    http::{HeaderMap, Method, Uri, request::Parts},
};

use crate::web::{
    AppState,
    gate::{Access, Audience},
    paths,
    session::Actor,
};

/// The main rooms of the shop, as the header lists them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Room {
    Waiting,
    Jobs,
    Rates,
    Shop,
}

impl Room {
    pub const ALL: [Self; 4] = [Self::Waiting, Self::Jobs, Self::Rates, Self::Shop];

    pub fn label(self) -> &'static str {
        match self {
            Self::Waiting => "Waiting",
            Self::Jobs => "Jobs",
            Self::Rates => "Rate book",
            Self::Shop => "Shop",
        }
    }

    pub fn path(self) -> &'static str {
        match self {
            Self::Waiting => paths::START,
            Self::Jobs => paths::JOBS,
            Self::Rates => paths::RATES,
            Self::Shop => paths::SHOP,
        }
    }
}

/// Every page struct has one, called `frame`; `base.html` reads it.
#[derive(Clone, Debug)]
pub struct Frame {
    /// Who works in this browser; none until a name was typed.
    pub actor: Option<Actor>,
    /// The room that the header marks as the present one.
    pub room: Option<Room>,
    is_shop: bool,
    is_fragment: bool,
    here: Option<String>,
}

impl Frame {
    pub(super) fn of(access: &Access, method: &Method, uri: &Uri, headers: &HeaderMap) -> Self {
        let is_shop = access.audience(uri, headers) == Audience::Shop && !paths::is_customers(uri.path());
        let reloads = method == Method::GET || method == Method::HEAD;
        let here = uri.path_and_query().map_or_else(|| uri.path().to_owned(), ToString::to_string);
        Self {
            actor: if is_shop { Actor::of(headers) } else { None },
            room: None,
            is_shop,
            is_fragment: headers.contains_key("hx-request"),
            here: reloads.then_some(here),
        }
    }

    /// The same frame, in a room.
    pub fn at(mut self, room: Room) -> Self {
        self.room = Some(room);
        self
    }

    /// Whether the shop's header is shown: never to a customer.
    pub fn is_shop(&self) -> bool {
        self.is_shop
    }

    /// Whether a script asks for a part of the page (htmx), and not the browser for the whole of it.
    pub fn is_fragment(&self) -> bool {
        self.is_fragment
    }

    /// Where the name form of the header comes back to. None on the answer to a post: going back would lose what was
    /// typed, so the name is not changed there.
    pub fn here(&self) -> Option<&str> {
        self.here.as_deref()
    }

    pub(super) fn without_actor(&self) -> Self {
        Self { actor: None, ..self.clone() }
    }

    /// For tests of templates: the shop's frame, with and without a name.
    pub fn samples() -> [Self; 2] {
        let nobody = Self {
            actor: None,
            room: Some(Room::Jobs),
            is_shop: true,
            is_fragment: false,
            here: Some(paths::JOBS.to_owned()),
        };
        let ann = Self { actor: Actor::parse("Ann <b>").ok(), here: None, ..nobody.clone() };
        [nobody, ann]
    }

    /// For tests of templates: what a customer sees around their copy.
    pub fn customer_sample() -> Self {
        Self { actor: None, room: None, is_shop: false, is_fragment: false, here: Some("/q/sample".to_owned()) }
    }
}

impl FromRequestParts<AppState> for Frame {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, state: &AppState) -> Result<Self, Infallible> {
        Ok(Self::of(&state.access, &parts.method, &parts.uri, &parts.headers))
    }
}
