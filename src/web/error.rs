//! What goes wrong in a request. One status each; what the visitor reads and what the log gets are told apart by type.

use std::{borrow::Cow, error::Error as StdError, fmt, time::Duration};

use axum::{
    http::{HeaderValue, StatusCode, header},
    response::{IntoResponse, Response},
};

use crate::{domain::words::Words, storage};

pub type Result<T, E = Error> = std::result::Result<T, E>;

/// A request that was not answered with the page it asked for. A wrong *field* is no error: the form comes back with
/// what is wrong beside it (see [`super::form`]).
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// 400: the request cannot be read; says what cannot.
    #[error("{0}")]
    Unreadable(Cow<'static, str>),
    /// 401: what was sent needs somebody who is signed in.
    #[error(
        "You were signed out meanwhile, so nothing was changed; what you typed is not lost. Sign in in another tab, then come \
         back to this page and reload it: the browser sends it again."
    )]
    SignedOut,
    /// 403: this is for people of another role; says for whom.
    #[error("{0}")]
    NotYours(String),
    /// 403: the request came from a page that is not ours.
    #[error(
        "This was sent from a page that is not ours, so nothing was changed. Please open the page here and send it again."
    )]
    ForeignPage,
    /// 404: there is no such thing; says what there is not.
    #[error("{0}")]
    NotFound(&'static str),
    /// 405: the page exists, but is not asked for in this way.
    #[error("This address does not take requests of this kind. Nothing was changed.")]
    WrongMethod,
    /// 410: there was such a thing, and it was withdrawn; says what.
    #[error("{0}")]
    Gone(&'static str),
    /// 413: more was sent than a page ever needs.
    #[error("What was sent is too large: a form may hold 1 MB. Nothing was changed.")]
    TooLarge,
    /// 415: what was sent is not a form.
    #[error("What was sent is not a form of this site. Nothing was changed.")]
    NotAForm,
    /// 421: the address in the browser's address bar is not one of ours.
    #[error(
        "The shop's pages answer on this machine only, at a loopback address such as 127.0.0.1 or localhost. \
         Customers' copies answer at the public address that the server was started with (--public-address)."
    )]
    WrongHost,
    /// 429: one address asks faster than a person does.
    #[error("So much was asked for from your address that it has to wait: please try again in {} seconds.", seconds(*.0))]
    TooOften(Duration),
    /// 500: our fault. The cause goes to the log, never to the visitor.
    #[error("Something went wrong here. It is in the log; what was saved before is safe. Please try again.")]
    Internal(#[source] Box<dyn StdError + Send + Sync>),
    /// 507: the disk did not take it.
    #[error(
        "The shop's file could not be written: {0}. Nothing of this was kept; what was saved before is safe. What you typed is \
         not lost: reload this page once that is put right on the machine that runs the server."
    )]
    NotKept(storage::Obstacle),
    /// 503: the answer took too long.
    #[error("This took too long and was stopped. What was saved before is safe. Please try again.")]
    TooSlow,
}

impl Error {
    /// There is no page at this address.
    pub const NO_PAGE: Self = Self::NotFound("There is no page at this address.");

    /// Our fault, whatever it is.
    pub fn internal(cause: impl Into<Box<dyn StdError + Send + Sync>>) -> Self {
        Self::Internal(cause.into())
    }

    pub fn status(&self) -> StatusCode {
        match self {
            Self::Unreadable(_) => StatusCode::BAD_REQUEST,
            Self::SignedOut => StatusCode::UNAUTHORIZED,
            Self::NotYours(_) => StatusCode::FORBIDDEN,
            Self::ForeignPage => StatusCode::FORBIDDEN,
            Self::NotFound(_) => StatusCode::NOT_FOUND,
            Self::WrongMethod => StatusCode::METHOD_NOT_ALLOWED,
            Self::Gone(_) => StatusCode::GONE,
            Self::TooLarge => StatusCode::PAYLOAD_TOO_LARGE,
            Self::NotAForm => StatusCode::UNSUPPORTED_MEDIA_TYPE,
            Self::WrongHost => StatusCode::MISDIRECTED_REQUEST,
            Self::TooOften(_) => StatusCode::TOO_MANY_REQUESTS,
            Self::Internal(_) => StatusCode::INTERNAL_SERVER_ERROR,
            Self::NotKept(_) => StatusCode::INSUFFICIENT_STORAGE,
            Self::TooSlow => StatusCode::SERVICE_UNAVAILABLE,
        }
    }

    /// The page's heading.
    pub fn title(&self) -> &'static str {
        match self {
            Self::Unreadable(_) | Self::NotAForm => "This could not be read",
            Self::SignedOut => "Signed out",
            Self::NotYours(_) => "For others",
            Self::ForeignPage => "Not sent from here",
            Self::NotFound(_) => "Not found",
            Self::WrongMethod => "Not possible here",
            Self::Gone(_) => "Withdrawn",
            Self::TooLarge => "Too large",
            Self::WrongHost => "Not at this address",
            Self::TooOften(_) => "Please wait",
            Self::Internal(_) => "Our fault",
            Self::NotKept(_) => "Not kept",
            Self::TooSlow => "Too slow",
        }
    }

    /// Which texts of the catalogue tell a customer of it. What only the shop can meet is told as no page.
    const fn kind(&self) -> &'static str {
        match self {
            Self::Unreadable(_) => "unreadable",
            Self::NotAForm => "not-a-form",
            Self::ForeignPage => "foreign-page",
            Self::SignedOut | Self::NotYours(_) | Self::NotFound(_) | Self::Gone(_) => "no-page",
            Self::WrongMethod => "wrong-method",
            Self::TooLarge => "too-large",
            Self::WrongHost => "wrong-host",
            Self::TooOften(_) => "too-often",
            Self::Internal(_) => "our-fault",
            Self::NotKept(_) => "not-kept",
            Self::TooSlow => "too-slow",
        }
    }

    /// What a bare status of a layer (a body limit, a timeout, a missing route) means; a success means nothing.
    pub(super) fn of_status(status: StatusCode) -> Option<Self> {
        match status {
            StatusCode::NOT_FOUND => Some(Self::NO_PAGE),
            StatusCode::UNAUTHORIZED => Some(Self::SignedOut),
            StatusCode::METHOD_NOT_ALLOWED => Some(Self::WrongMethod),
            StatusCode::FORBIDDEN => Some(Self::ForeignPage),
            StatusCode::PAYLOAD_TOO_LARGE => Some(Self::TooLarge),
            StatusCode::UNSUPPORTED_MEDIA_TYPE => Some(Self::NotAForm),
            StatusCode::SERVICE_UNAVAILABLE => Some(Self::TooSlow),
            status if status.is_server_error() => Some(Self::internal(format!("a bare {status}"))),
            status if status.is_client_error() => Some(Self::Unreadable("This request could not be read.".into())),
            _ => None,
        }
    }
}

impl From<askama::Error> for Error {
    fn from(error: askama::Error) -> Self {
        Self::internal(error)
    }
}

impl From<storage::Error> for Error {
    fn from(error: storage::Error) -> Self {
        match error {
            storage::Error::NotKept(obstacle, _) => {
                tracing::error!(error = %Chain(&error), "a write was taken back");
                Self::NotKept(obstacle)
            }
            other => Self::internal(other),
        }
    }
}

/// A wait in whole seconds, rounded up.
pub(super) fn seconds(wait: Duration) -> u64 {
    wait.as_secs() + u64::from(wait.subsec_nanos() > 0)
}

/// An error with everything that caused it, for the log.
struct Chain<'a>(&'a (dyn StdError + 'static));

impl fmt::Display for Chain<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)?;
        let mut cause = self.0.source();
        while let Some(error) = cause {
            write!(f, ": {error}")?;
            cause = error.source();
        }
        Ok(())
    }
}

/// What an answer carries for the layer that renders error pages.
#[derive(Clone, Debug)]
pub(super) struct Shown {
    pub title: String,
    pub message: String,
    kind: &'static str,
    /// How long to wait, in whole seconds; 0 where nobody has to.
    wait: u64,
}

impl Shown {
    pub fn of(error: &Error) -> Self {
        let wait = if let Error::TooOften(wait) = error { seconds(*wait) } else { 0 };
        Self { title: error.title().to_owned(), message: error.to_string(), kind: error.kind(), wait }
    }

    /// The same for a customer: from the catalogue, in their language.
    pub fn for_customer(self, words: &Words) -> Self {
        let kind = self.kind;
        let title = words.say(format!("error-{kind}")).text();
        let wait = usize::try_from(self.wait).unwrap_or(usize::MAX);
        let message = words.say(format!("error-{kind}-says")).count("seconds", wait).text();
        Self { title, message, ..self }
    }
}

impl IntoResponse for Error {
    /// A plain-text answer; [`super::layers`] turns it into our page.
    fn into_response(self) -> Response {
        if let Self::Internal(cause) = &self {
            tracing::error!(error = %Chain(cause.as_ref()), "a request failed by our fault");
        }
        let shown = Shown::of(&self);
        let mut response = (self.status(), shown.message.clone()).into_response();
        if let Self::TooOften(wait) = self {
            response.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from(seconds(wait)));
        }
        response.extensions_mut().insert(shown);
        response
    }
}

#[cfg(test)]
mod tests {
    use axum::{
        body::{Body, to_bytes},
        http::Request,
    };
    use jiff::Timestamp;
    use tower::ServiceExt;

    use super::*;
    use crate::{
        domain::people::{PersonName, Role},
        storage::{By, NewPerson, Store},
        web::{self, AppState, paths, session},
    };

    #[test]
    fn every_error_is_told_in_every_language() {
        let errors = [
            Error::Unreadable("x".into()),
            Error::SignedOut,
            Error::NotYours("x".into()),
            Error::ForeignPage,
            Error::NO_PAGE,
            Error::WrongMethod,
            Error::Gone("x"),
            Error::TooLarge,
            Error::NotAForm,
            Error::WrongHost,
            Error::TooOften(Duration::from_millis(2300)),
            Error::internal("a cause"),
            Error::TooSlow,
        ];
        for words in Words::all() {
            for error in &errors {
                for id in [format!("error-{}", error.kind()), format!("error-{}-says", error.kind())] {
                    assert!(words.has(&id), "{} has no text {id}", words.tag());
                }
                let shown = Shown::of(error).for_customer(words);
                assert!(!shown.title.is_empty() && shown.message.ends_with('.'), "{shown:?}");
                assert!(!shown.message.contains("cause"), "{shown:?}");
            }
            assert!(words.has("error-not-kept") && words.has("error-not-kept-says"), "{}", words.tag());
        }
        let wait = |length| Shown::of(&Error::TooOften(length)).for_customer(Words::of("de")).message;
        assert!(wait(Duration::from_millis(2300)).contains("in 3 Sekunden"));
        assert!(wait(Duration::from_millis(300)).contains("in einer Sekunde"));
    }

    /// A file that turned read-only under the running server: writes are refused with a page that says so, whatever is sent, and
    /// reading goes on for whoever is signed in.
    #[tokio::test]
    async fn on_a_file_that_may_only_be_read_a_write_says_so_and_reading_goes_on() {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(&folder.path().join("shop.sqlite")).await.expect("a store").store;
        let now = Timestamp::now();
        let name = PersonName::parse("Mara").expect("a name");
        let new = NewPerson { name: &name, role: Role::Owner, password: None, demo: false };
        let mara = store.add_person(new, By { who: "a test", at: now }).await.expect("an answer").expect("a person");
        // Long enough ago that the page would note the session's use.
        let hour_ago = now.checked_sub(jiff::SignedDuration::from_hours(1)).expect("a moment");
        let until = now.checked_add(jiff::SignedDuration::from_hours(1)).expect("a moment");
        let cookie = session::cookie_header(&store.start_session(mara, hour_ago, until).await.expect("a session"));
        let site = web::router(AppState::new(store.clone(), None, Vec::new()));
        let ask = async |method: &str, body: &'static str| {
            let request = Request::builder()
                .method(method)
                .uri(paths::PEOPLE)
                .header(header::HOST, "127.0.0.1:4717")
                .header(header::COOKIE, &cookie)
                .header("sec-fetch-site", "same-origin")
                .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
                .body(Body::from(body))
                .expect("a request");
            let answer = site.clone().oneshot(request).await.expect("an answer");
            let status = answer.status();
            let body = to_bytes(answer.into_body(), usize::MAX).await.expect("a body");
            (status, String::from_utf8_lossy(&body).into_owned())
        };

        store.refuse_writes(true).await;
        let (status, page) = ask("POST", "name=Jory&role=workshop").await;
        assert_eq!(status, StatusCode::INSUFFICIENT_STORAGE, "{page}");
        assert!(page.contains("<h1>Not kept</h1>") && page.contains("it may only be read"), "{page}");
        assert!(page.contains("What you typed is not lost"), "{page}");
        let (status, page) = ask("GET", "").await;
        assert_eq!(status, StatusCode::OK);
        assert!(page.contains("Mara") && !page.contains("Jory"), "{page}");

        store.refuse_writes(false).await;
        let (status, page) = ask("POST", "name=Jory&role=workshop").await;
        assert!(status == StatusCode::OK && page.contains("A link for Jory"), "{status}: {page}");
    }
}
