//! The files of `static/`, embedded in the program (a debug build reads them from the folder, so that a style can be
//! tried without building).

use axum::{
    Router,
    http::{HeaderMap, HeaderValue, StatusCode, header},
    response::{IntoResponse, Response},
    routing::get,
};
use rust_embed::{EmbeddedFile, RustEmbed};
use serde::Deserialize;

use crate::web::{
    AppState, Error, Result,
    extract::{Path, Query},
    paths,
};

#[derive(RustEmbed)]
#[folder = "static/"]
struct Files;

const FOR_A_YEAR: &str = "public, max-age=31536000, immutable";

#[derive(Deserialize)]
struct Asked {
    v: Option<String>,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::STATIC, get(serve))
}

/// What changes when the file does: the start of its SHA-256.
pub(super) fn version(file: &str) -> Option<String> {
    Files::get(file).map(|file| version_of(&file))
}

fn version_of(file: &EmbeddedFile) -> String {
    file.metadata.sha256_hash().iter().take(6).map(|byte| format!("{byte:02x}")).collect()
}

/// Asked for by its version a file never changes and may be kept for a year, and so may letters, which the style names; else
/// it is asked for again each time.
async fn serve(Path(name): Path<String>, Query(asked): Query<Asked>, headers: HeaderMap) -> Result<Response> {
    let file = Files::get(&name).ok_or(Error::NotFound("There is no such file."))?;
    let version = version_of(&file);
    let etag = format!("W/\"{version}\"");
    let kept = match asked.v {
        Some(asked) if asked == version => FOR_A_YEAR,
        None if name.starts_with("fonts/") => FOR_A_YEAR,
        _ => "no-cache",
    };
    let is_known = headers
        .get_all(header::IF_NONE_MATCH)
        .iter()
        .filter_map(|line| line.to_str().ok())
        .flat_map(|line| line.split(','))
        .any(|known| known.trim() == etag);
    let about = [
        (header::CACHE_CONTROL, HeaderValue::from_static(kept)),
        (header::ETAG, HeaderValue::from_str(&etag).map_err(Error::internal)?),
    ];
    if is_known {
        return Ok((StatusCode::NOT_MODIFIED, about).into_response());
    }
    let kind = HeaderValue::from_str(file.metadata.mimetype()).map_err(Error::internal)?;
    Ok((about, [(header::CONTENT_TYPE, kind)], file.data).into_response())
}
