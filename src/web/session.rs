//! The name that signs the audit trail. Nobody signs in yet: the name is typed once in a browser and kept there, and the
//! trail says so.

use std::fmt;

use axum::{
    Router,
    extract::State,
    http::{HeaderMap, HeaderValue, header},
    response::{IntoResponse, Redirect, Response},
    routing::post,
};
use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};

use crate::web::{AppState, Result, form::Form, frame::Frame, pages, paths};

const COOKIE: &str = "hitchwright_name";
/// 400 days: the longest that browsers keep a cookie.
const KEPT_SECONDS: u32 = 400 * 24 * 60 * 60;
const LONGEST_NAME: usize = 80;

/// Behind a name in the trail, while nobody has to sign in.
pub const NOT_SIGNED_IN: &str = " (not signed in)";

/// Who does something in the shop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Actor {
    name: String,
}

/// Why a text is no name; says what would do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NameFault {
    #[error("Type your name: it signs what you change.")]
    Missing,
    #[error("This name is too long: use at most {LONGEST_NAME} letters.")]
    TooLong,
    #[error("This name holds a character that cannot be written on a line: use letters, spaces and the like.")]
    Unwritable,
}

impl Actor {
    /// A name as it was typed: spaces around it are dropped.
    pub fn parse(text: &str) -> Result<Self, NameFault> {
        let name = text.trim();
        if name.is_empty() {
            return Err(NameFault::Missing);
        }
        if name.chars().count() > LONGEST_NAME {
            return Err(NameFault::TooLong);
        }
        if name.chars().any(char::is_control) {
            return Err(NameFault::Unwritable);
        }
        Ok(Self { name: name.to_owned() })
    }

    pub fn name(&self) -> &str {
        &self.name
    }

    /// How the audit trail is signed.
    pub fn signature(&self) -> String {
        format!("{}{NOT_SIGNED_IN}", self.name)
    }

    /// Who works in this browser, if a name was typed before. A cookie that is not ours counts as none.
    pub(super) fn of(headers: &HeaderMap) -> Option<Self> {
        let lines = headers.get_all(header::COOKIE).iter().filter_map(|line| line.to_str().ok());
        let kept = lines
            .flat_map(|line| line.split(';'))
            .filter_map(|pair| pair.trim().split_once('='))
            .find_map(|(name, value)| (name == COOKIE).then_some(value))?;
        let name = String::from_utf8(URL_SAFE_NO_PAD.decode(kept).ok()?).ok()?;
        Self::parse(&name).ok()
    }

    fn cookie(&self) -> String {
        let kept = URL_SAFE_NO_PAD.encode(&self.name);
        format!("{COOKIE}={kept}; Path=/; Max-Age={KEPT_SECONDS}; HttpOnly; SameSite=Lax")
    }
}

impl fmt::Display for Actor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.name)
    }
}

/// After a change: on to the page that shows it (303), and the name is kept in this browser.
pub fn see_other(path: &str, actor: &Actor) -> Response {
    let mut response = Redirect::to(path).into_response();
    if let Ok(cookie) = HeaderValue::from_str(&actor.cookie()) {
        response.headers_mut().insert(header::SET_COOKIE, cookie);
    }
    response
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::NAME, post(set_name))
}

/// Keeps the name that was typed, and goes back to the page on which it was typed.
async fn set_name(State(_): State<AppState>, frame: Frame, mut form: Form) -> Result<Response> {
    match form.actor(&frame.without_actor()) {
        Some(actor) => Ok(see_other(local(form.value("back")), &actor)),
        None => pages::name::wrong(frame, form),
    }
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
    fn a_name_survives_the_cookie() {
        for name in ["Ann", "Zoë O’Hara; the 2nd=b", "李雷", "<b>"] {
            let actor = Actor::parse(name).expect("a name");
            let cookie = actor.cookie();
            let (pair, _) = cookie.split_once(';').expect("attributes");
            let mut headers = HeaderMap::new();
            headers.insert(header::COOKIE, format!("other=1; {pair}").parse().expect("a header"));
            assert_eq!(Actor::of(&headers), Some(actor));
        }
    }

    #[test]
    fn a_cookie_that_is_not_ours_is_no_name() {
        for cookie in ["hitchwright_name=%%%", "hitchwright_name=", "hitchwright_name=/w", "nothing"] {
            let mut headers = HeaderMap::new();
            headers.insert(header::COOKIE, cookie.parse().expect("a header"));
            assert_eq!(Actor::of(&headers), None, "{cookie}");
        }
    }

    #[test]
    fn a_name_is_one_short_line() {
        assert_eq!(Actor::parse("  Ann  ").map(|actor| actor.signature()), Ok("Ann (not signed in)".to_owned()));
        assert_eq!(Actor::parse("   "), Err(NameFault::Missing));
        assert_eq!(Actor::parse("a\nb"), Err(NameFault::Unwritable));
        assert_eq!(Actor::parse(&"x".repeat(81)), Err(NameFault::TooLong));
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
