//! What goes wrong in a request. One status each; what the visitor reads and what the log gets are told apart by type.

use std::{borrow::Cow, error::Error as StdError, fmt};

use axum::{
    http::StatusCode,
    response::{IntoResponse, Response},
};

use crate::storage;

pub type Result<T, E = Error> = std::result::Result<T, E>;

/// A request that was not answered with the page it asked for. A wrong *field* is no error: the form comes back with
/// what is wrong beside it (see [`super::form`]).
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// 400: the request cannot be read; says what cannot.
    #[error("{0}")]
    Unreadable(Cow<'static, str>),
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
    /// 500: our fault. The cause goes to the log, never to the visitor.
    #[error("Something went wrong here. It is in the log; what was saved before is safe. Please try again.")]
    Internal(#[source] Box<dyn StdError + Send + Sync>),
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
            Self::ForeignPage => StatusCode::FORBIDDEN,
            Self::NotFound(_) => StatusCode::NOT_FOUND,
            Self::WrongMethod => StatusCode::METHOD_NOT_ALLOWED,
            Self::Gone(_) => StatusCode::GONE,
            Self::TooLarge => StatusCode::PAYLOAD_TOO_LARGE,
            Self::NotAForm => StatusCode::UNSUPPORTED_MEDIA_TYPE,
            Self::WrongHost => StatusCode::MISDIRECTED_REQUEST,
            Self::Internal(_) => StatusCode::INTERNAL_SERVER_ERROR,
            Self::TooSlow => StatusCode::SERVICE_UNAVAILABLE,
        }
    }

    /// The page's heading.
    pub fn title(&self) -> &'static str {
        match self {
            Self::Unreadable(_) | Self::NotAForm => "This could not be read",
            Self::ForeignPage => "Not sent from here",
            Self::NotFound(_) => "Not found",
            Self::WrongMethod => "Not possible here",
            Self::Gone(_) => "Withdrawn",
            Self::TooLarge => "Too large",
            Self::WrongHost => "Not at this address",
            Self::Internal(_) => "Our fault",
            Self::TooSlow => "Too slow",
        }
    }

    /// What a bare status of a layer (a body limit, a timeout, a missing route) means; a success means nothing.
    pub(super) fn of_status(status: StatusCode) -> Option<Self> {
        match status {
            StatusCode::NOT_FOUND => Some(Self::NO_PAGE),
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
        Self::internal(error)
    }
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
    pub title: &'static str,
    pub message: String,
}

impl IntoResponse for Error {
    /// A plain-text answer; [`super::layers`] turns it into our page.
    fn into_response(self) -> Response {
        if let Self::Internal(cause) = &self {
            tracing::error!(error = %Chain(cause.as_ref()), "a request failed by our fault");
        }
        let shown = Shown { title: self.title(), message: self.to_string() };
        let mut response = (self.status(), shown.message.clone()).into_response();
        response.extensions_mut().insert(shown);
        response
    }
}
