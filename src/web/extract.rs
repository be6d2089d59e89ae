//! Path and query of a request. Use these and not axum's own: what cannot be read gets our page.

use axum::{
    extract::{FromRequestParts, rejection::QueryRejection},
    http::request::Parts,
};
use serde::de::DeserializeOwned;

use crate::web::{Error, Result};

/// The parts of the path, e.g. an id. A path that cannot be one of ours is "not found".
#[derive(Clone, Copy, Debug)]
pub struct Path<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned + Send> FromRequestParts<S> for Path<T> {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self> {
        match axum::extract::Path::from_request_parts(parts, state).await {
            Ok(axum::extract::Path(value)) => Ok(Self(value)),
            Err(rejection) if rejection.status().is_server_error() => Err(Error::internal(rejection)),
            Err(_) => Err(Error::NO_PAGE),
        }
    }
}

/// What stands after the `?`.
#[derive(Clone, Copy, Debug)]
pub struct Query<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequestParts<S> for Query<T> {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self> {
        let read: Result<axum::extract::Query<T>, QueryRejection> =
            axum::extract::Query::from_request_parts(parts, state).await;
        read.map(|axum::extract::Query(value)| Self(value))
            .map_err(|_| Error::Unreadable("The part of the address after the “?” cannot be read.".into()))
    }
}
