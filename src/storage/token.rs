//! Secret tokens: shown or sent once; the store keeps their SHA-256 alone, so a stolen file opens nothing.

use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};

use super::{Error, Result};
use crate::domain::quote::sha256_hex;

/// Bytes of a token: as many as its hash, beyond any guessing.
const BYTES: usize = 32;

/// A new token and what is kept of it.
pub(super) fn fresh() -> Result<(String, String)> {
    let mut bytes = [0; BYTES];
    getrandom::fill(&mut bytes).map_err(Error::Random)?;
    let token = URL_SAFE_NO_PAD.encode(bytes);
    let kept = hash(&token);
    Ok((token, kept))
}

/// What is kept of a token. No salt: it is random already, and is found by this.
pub(super) fn hash(token: &str) -> String {
    sha256_hex(token.as_bytes())
}
