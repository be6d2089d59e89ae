//! The built trailer as binary glTF, of the open design and of a revision.

use axum::{
    Router,
    extract::State,
    http::{HeaderMap, HeaderValue, StatusCode, header},
    response::{IntoResponse, Response},
    routing::get,
};
use sha2::{Digest, Sha256};

use super::{desk::Desk, revision};
use crate::{
    documents::{Shown, glb},
    domain::estimate::Estimate,
    storage::JobId,
    web::{AppState, Error, Result, extract::Path, paths},
};

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::TRAILER_SCENE, get(open)).route(paths::REVISION_SCENE, get(frozen))
}

async fn open(State(state): State<AppState>, Path(job): Path<JobId>, headers: HeaderMap) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    match desk.work_out().await? {
        Ok(estimate) => answer(&estimate, Shown::Marks, &headers),
        Err(_) => Err(Error::NotFound("This design cannot be built yet, so there is nothing to show.")),
    }
}

async fn frozen(
    State(state): State<AppState>,
    Path((job, number)): Path<(JobId, u32)>,
    headers: HeaderMap,
) -> Result<Response> {
    let quote = revision::thawed(&revision::find(&state, job, number).await?)?;
    answer(&quote.estimate, Shown::Marks, &headers)
}

/// The file, or that the visitor's copy is still the same.
pub fn answer(estimate: &Estimate, shown: Shown, headers: &HeaderMap) -> Result<Response> {
    let file = glb(&estimate.trailer, &estimate.weights, shown);
    let hash: String = Sha256::digest(&file).iter().take(8).map(|byte| format!("{byte:02x}")).collect();
    // Weak, because it may be compressed on the way.
    let etag = format!("W/\"{hash}\"");
    let lines = headers.get_all(header::IF_NONE_MATCH).iter().filter_map(|line| line.to_str().ok());
    let is_known = lines.flat_map(|line| line.split(',')).any(|known| known.trim() == etag);
    let about = [(header::ETAG, HeaderValue::from_str(&etag).map_err(Error::internal)?)];
    if is_known {
        return Ok((StatusCode::NOT_MODIFIED, about).into_response());
    }
    Ok((about, [(header::CONTENT_TYPE, "model/gltf-binary")], file).into_response())
}
