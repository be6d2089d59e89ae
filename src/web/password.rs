//! Passwords as they are kept: argon2id with a salt of its own for each.

use std::sync::{LazyLock, OnceLock};

use argon2::{Algorithm, Argon2, Params, PasswordHasher, PasswordVerifier, Version, password_hash::phc::PasswordHash};
use tokio::{sync::Semaphore, task::spawn_blocking};

use crate::web::{Error, Result};

/// 19 MiB, two passes, one lane: the least that the OWASP Password Storage Cheat Sheet asks of argon2id (from memory).
const MEMORY_KIB: u32 = 19 * 1024;
const PASSES: u32 = 2;
const LANES: u32 = 1;
const SALT_BYTES: usize = 16;

/// Each hash takes its memory and a core for a moment: so many at once, the others wait.
static AT_ONCE: LazyLock<Semaphore> = LazyLock::new(|| Semaphore::new(2));

/// What a sign-in by a name that is not there is checked against, so that it takes as long as any other.
static NOBODYS: OnceLock<String> = OnceLock::new();

fn hasher() -> Result<Argon2<'static>> {
    let params = Params::new(MEMORY_KIB, PASSES, LANES, None).map_err(|fault| Error::internal(fault.to_string()))?;
    Ok(Argon2::new(Algorithm::Argon2id, Version::V0x13, params))
}

fn hash_now(password: &str) -> Result<String> {
    let mut salt = [0; SALT_BYTES];
    getrandom::fill(&mut salt).map_err(|fault| Error::internal(fault.to_string()))?;
    let hash: PasswordHash = hasher()?
        .hash_password_with_salt(password.as_bytes(), &salt)
        .map_err(|fault| Error::internal(fault.to_string()))?;
    Ok(hash.to_string())
}

fn matches_now(password: &str, kept: &str) -> Result<bool> {
    let kept = PasswordHash::new(kept).map_err(|fault| Error::internal(format!("a kept password: {fault}")))?;
    Ok(hasher()?.verify_password(password.as_bytes(), &kept).is_ok())
}

/// A password as it is kept.
///
/// # Errors
/// Where the system gives no random bytes.
pub async fn hash(password: &str) -> Result<String> {
    let password = password.to_owned();
    working(move || hash_now(&password)).await
}

/// Whether a password is the one that is kept. Nothing kept matches nothing, and takes as long.
pub(super) async fn matches(password: &str, kept: Option<&str>) -> Result<bool> {
    let (password, kept) = (password.to_owned(), kept.map(str::to_owned));
    working(move || match kept {
        Some(kept) => matches_now(&password, &kept),
        None => {
            let nobodys = match NOBODYS.get() {
                Some(nobodys) => nobodys,
                None => NOBODYS.get_or_init(|| hash_now("nobody's password").unwrap_or_default()),
            };
            matches_now(&password, nobodys)?;
            Ok(false)
        }
    })
    .await
}

async fn working<T: Send + 'static>(work: impl FnOnce() -> Result<T> + Send + 'static) -> Result<T> {
    let _turn = AT_ONCE.acquire().await.map_err(Error::internal)?;
    spawn_blocking(work).await.map_err(Error::internal)?
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn a_password_matches_its_own_hash_alone_and_says_its_parameters() {
        let kept = hash("three grey gulls").await.expect("a hash");
        assert!(kept.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"), "{kept}");
        assert!(matches("three grey gulls", Some(&kept)).await.expect("checked"));
        assert!(!matches("three grey gull", Some(&kept)).await.expect("checked"));
        assert!(!matches("nobody's password", None).await.expect("checked"));
        assert_ne!(kept, hash("three grey gulls").await.expect("a hash"), "one salt for two passwords");
        assert!(matches("x", Some("nonsense")).await.is_err());
    }

    /// Source: the first test vector of the reference implementation's `test.c` for argon2id version 0x13 with m = 2^16
    /// KiB, t = 2, p = 1, password "password", salt "somesalt" (github.com/P-H-C/phc-winner-argon2; from memory).
    #[test]
    fn the_library_agrees_with_the_reference_implementation() {
        let params = Params::new(1 << 16, 2, 1, Some(32)).expect("parameters");
        let mut hash = [0; 32];
        Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
            .hash_password_into(b"password", b"somesalt", &mut hash)
            .expect("a hash");
        let hex: String = hash.iter().map(|byte| format!("{byte:02x}")).collect();
        assert_eq!(hex, "09316115d5cf24ed5a15a31a3ba326e5cf32edc24702987c02b6566f61913cf7");
    }
}
