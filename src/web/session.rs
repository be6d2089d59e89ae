//! Who is signed in: a cookie with a random token, which the store knows by its hash.

use std::{fmt, sync::Arc};

use axum::{
    extract::FromRequestParts,
    http::{HeaderMap, HeaderValue, header, request::Parts},
    response::{IntoResponse, Redirect, Response},
};
use jiff::{SignedDuration, Timestamp};

use crate::{
    domain::people::Role,
    storage::{PersonId, Session, SessionId},
    web::{AppState, Error, Result, clock, gate::Audience, paths},
};

/// On this machine, without TLS.
const COOKIE: &str = "hitchwright_session";
/// At the public address: a browser takes a cookie of this name over TLS only, for this host and every path alone.
const SECURE_COOKIE: &str = "__Host-hitchwright_session";

/// How long a session lasts at most: a working day (OWASP ASVS 4.0.3, 3.3.2, from memory: 12 hours).
const LASTS: SignedDuration = SignedDuration::from_hours(12);
/// How long a session lasts that is not used.
const IDLE: SignedDuration = SignedDuration::from_hours(4);
/// How often a session in use is noted in the store: not at each page.
const NOTED: SignedDuration = SignedDuration::from_mins(5);

/// Who does something in the shop: a person who is signed in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Actor {
    pub person: PersonId,
    pub role: Role,
    pub(super) session: SessionId,
    name: Arc<str>,
}

impl Actor {
    pub fn name(&self) -> &str {
        &self.name
    }

    /// How the audit trail is signed.
    pub fn signature(&self) -> String {
        self.name.to_string()
    }

    fn of(session: Session) -> Self {
        Self { person: session.person, role: session.role, session: session.id, name: session.name.into() }
    }

    /// For tests of templates.
    pub(super) fn sample(name: &str, role: Role) -> Self {
        Self { person: PersonId(1), role, session: SessionId(1), name: name.into() }
    }
}

impl fmt::Display for Actor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.name)
    }
}

/// Whoever is signed in. The gate lets nobody else through to a page of the shop.
impl<S: Send + Sync> FromRequestParts<S> for Actor {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self> {
        parts.extensions.get::<Self>().cloned().ok_or(Error::SignedOut)
    }
}

/// Who sends a request, by its cookie. A cookie that is not ours, or no longer, is nobody's.
pub(super) async fn recognise(state: &AppState, audience: Audience, headers: &HeaderMap) -> Result<Option<Actor>> {
    let Some(token) = token_in(headers, name_at(audience)) else { return Ok(None) };
    let now = clock::now();
    let Some(session) = state.store.session(token, now, idle_since(now)?).await? else { return Ok(None) };
    // The demo's passwords are known to everyone.
    if session.demo && audience != Audience::Shop {
        return Ok(None);
    }
    if session.last_seen_at < earlier(now, NOTED)? {
        // Whoever only reads may go on while the disk takes nothing.
        if let Err(fault) = state.store.saw_session(session.id, now).await {
            tracing::warn!(%fault, "a session in use was not noted");
        }
    }
    Ok(Some(Actor::of(session)))
}

/// Sessions that were last used before this are over.
pub(super) fn idle_since(now: Timestamp) -> Result<Timestamp> {
    earlier(now, IDLE)
}

fn earlier(now: Timestamp, by: SignedDuration) -> Result<Timestamp> {
    now.checked_sub(by).map_err(Error::internal)
}

const fn name_at(audience: Audience) -> &'static str {
    match audience {
        Audience::Shop => COOKIE,
        Audience::Public | Audience::Stranger => SECURE_COOKIE,
    }
}

fn token_in<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    let lines = headers.get_all(header::COOKIE).iter().filter_map(|line| line.to_str().ok());
    lines
        .flat_map(|line| line.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find_map(|(found, value)| (found == name && !value.is_empty()).then_some(value))
}

/// Signs a person in; the answer's cookie carries the session. A session that the browser had before ends.
pub(super) async fn start(
    state: &AppState,
    audience: Audience,
    headers: &HeaderMap,
    person: PersonId,
    to: &str,
) -> Result<Response> {
    if let Some(before) = recognise(state, audience, headers).await? {
        state.store.end_session(before.session).await?;
    }
    let now = clock::now();
    let token = state.store.start_session(person, now, now.checked_add(LASTS).map_err(Error::internal)?).await?;
    Ok(with_cookie(to, &cookie(audience, &token, LASTS.as_secs())))
}

/// On to a page, signed out in this browser.
pub(super) fn forget(audience: Audience, to: &str) -> Response {
    with_cookie(to, &cookie(audience, "", 0))
}

fn cookie(audience: Audience, token: &str, seconds: i64) -> String {
    let secure = if audience == Audience::Shop { "" } else { "; Secure" };
    format!("{}={token}; Path=/; Max-Age={seconds}; HttpOnly; SameSite=Lax{secure}", name_at(audience))
}

/// The `Cookie` header of a browser on this machine that is signed in by this token: for tests and measurements.
pub fn cookie_header(token: &str) -> String {
    format!("{COOKIE}={token}")
}

fn with_cookie(to: &str, cookie: &str) -> Response {
    let mut response = Redirect::to(to).into_response();
    if let Ok(cookie) = HeaderValue::from_str(cookie) {
        response.headers_mut().insert(header::SET_COOKIE, cookie);
    }
    response
}

/// After a change: on to the page that shows it (303).
pub fn see_other(path: &str, _: &Actor) -> Response {
    Redirect::to(path).into_response()
}

/// A path of this site; anything else becomes the first page, so that the form cannot send anyone elsewhere.
pub(super) fn local(back: &str) -> &str {
    let is_ours = back.starts_with('/')
        && !back.starts_with("//")
        && back.chars().all(|char| char.is_ascii_graphic() && char != '\\');
    if is_ours { back } else { paths::START }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_is_read_from_its_own_cookie_alone() {
        let headers = |line: &str| HeaderMap::from_iter([(header::COOKIE, line.parse().expect("a header"))]);
        let read = |line: &str, name| token_in(&headers(line), name).map(str::to_owned);
        assert_eq!(read("other=1; hitchwright_session=abc", COOKIE).as_deref(), Some("abc"));
        assert_eq!(read("__Host-hitchwright_session=abc", COOKIE), None);
        assert_eq!(read("hitchwright_session=abc", SECURE_COOKIE), None);
        assert_eq!(read("hitchwright_session=", COOKIE), None);
    }

    #[test]
    fn a_cookie_is_out_of_reach_of_scripts_and_of_other_sites_and_over_tls_of_other_hosts() {
        assert_eq!(
            cookie(Audience::Shop, "abc", 60),
            "hitchwright_session=abc; Path=/; Max-Age=60; HttpOnly; SameSite=Lax"
        );
        assert_eq!(
            cookie(Audience::Public, "abc", 60),
            "__Host-hitchwright_session=abc; Path=/; Max-Age=60; HttpOnly; SameSite=Lax; Secure"
        );
    }

    #[test]
    fn the_way_back_stays_on_this_site() {
        for (back, expected) in [
            ("/jobs?page=2", "/jobs?page=2"),
            ("//evil.example", "/"),
            ("/\\evil.example", "/"),
            ("https://evil.example", "/"),
            ("/a\r\nb", "/"),
            ("", "/"),
        ] {
            assert_eq!(local(back), expected, "{back:?}");
        }
    }
}
