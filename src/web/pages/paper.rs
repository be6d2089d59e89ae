//! Printed documents as answers: made beside the requests, so that the pages go on meanwhile.

use axum::{
    http::{HeaderValue, header},
    response::{IntoResponse, Response},
};
use jiff::{Timestamp, civil::DateTime, tz::TimeZone};

use crate::{
    documents::paper::{Document, pdf},
    web::{Error, Result},
};

/// A document as PDF under a file name; what is not plain in the name becomes a hyphen.
pub async fn answer(name: &str, make: impl FnOnce() -> Document + Send + 'static) -> Result<Response> {
    let bytes = tokio::task::spawn_blocking(move || pdf(&make())).await.map_err(Error::internal)?;
    let bytes = bytes.map_err(Error::internal)?;
    let disposition = format!("inline; filename=\"{}.pdf\"", file_name(name));
    let disposition = HeaderValue::from_str(&disposition).map_err(Error::internal)?;
    let kind = HeaderValue::from_static("application/pdf");
    let kept = HeaderValue::from_static("private, no-store");
    let headers =
        [(header::CONTENT_TYPE, kind), (header::CONTENT_DISPOSITION, disposition), (header::CACHE_CONTROL, kept)];
    Ok((headers, bytes).into_response())
}

/// When something was issued, for the properties of its document.
pub fn made_at(at: Timestamp) -> DateTime {
    at.to_zoned_datetime(TimeZone::UTC).datetime()
}

fn file_name(name: &str) -> String {
    let plain = name.chars().map(|letter| if letter.is_ascii_alphanumeric() { letter } else { '-' });
    let plain: String = plain.collect();
    plain.split('-').filter(|part| !part.is_empty()).collect::<Vec<_>>().join("-").to_lowercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_name_is_plain() {
        assert_eq!(file_name("J-12 Revision 2, quote \"x\"/é"), "j-12-revision-2-quote-x");
    }
}
