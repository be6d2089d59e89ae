//! A table as a file for a spreadsheet.

use axum::{
    http::header,
    response::{IntoResponse, Response},
};

/// A CSV file (RFC 4180) to be kept under this name.
pub fn csv(name: &str, text: String) -> Response {
    let headers = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8".to_owned()),
        (header::CONTENT_DISPOSITION, format!("attachment; filename=\"{name}\"")),
    ];
    (headers, text).into_response()
}
