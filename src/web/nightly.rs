//! The copy of each night: the server looks every minute whether one is due. Where they go is said when the server is started,
//! never on a page: nobody who signs in may choose a path on this machine.

use std::{
    path::{Path, PathBuf},
    sync::{Mutex, PoisonError},
    time::Duration,
};

use jiff::{SignedDuration, Timestamp, tz::TimeZone};

use super::{AppState, clock};
use crate::storage::{Made, Night, NightlyError, nights};

const LOOKED: Duration = Duration::from_secs(60);
/// How long after a failure it is tried again.
const AGAIN_AFTER: SignedDuration = SignedDuration::from_mins(30);

/// Where copies go, and how the last try went.
#[derive(Debug, Default)]
pub struct Nightly {
    folder: Option<PathBuf>,
    failed: Mutex<Option<Failed>>,
    /// One copy at a time.
    turn: tokio::sync::Mutex<()>,
}

/// A try that failed; the next one that does not forgets it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failed {
    pub at: Timestamp,
    pub why: String,
}

impl Nightly {
    /// Copies go into this folder; without one, none is made.
    pub fn into_folder(folder: Option<PathBuf>) -> Self {
        Self { folder, ..Self::default() }
    }

    pub fn folder(&self) -> Option<&Path> {
        self.folder.as_deref()
    }

    /// The last try, if it failed.
    pub fn failed(&self) -> Option<Failed> {
        self.failed.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    fn note(&self, failed: Option<Failed>) {
        *self.failed.lock().unwrap_or_else(PoisonError::into_inner) = failed;
    }

    fn note_fault(&self, at: Timestamp, why: String) {
        tracing::error!(%why, "no nightly copy was made");
        self.note(Some(Failed { at, why }));
    }
}

/// Looks now, and then every minute, for as long as the server runs: so a night that was missed is caught up at the start.
pub async fn every_night(state: AppState) {
    let Some(folder) = state.nightly.folder() else { return };
    tracing::info!(folder = %folder.display(), "copies of each night go there");
    let mut minutes = tokio::time::interval(LOOKED);
    minutes.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    loop {
        minutes.tick().await;
        look(&state, clock::now(), &clock::zone()).await;
    }
}

/// Makes the copy that is due at this moment, if one is.
pub async fn look(state: &AppState, now: Timestamp, zone: &TimeZone) {
    let Some(folder) = state.nightly.folder() else { return };
    let rule = match state.store.nightly_rule().await {
        Ok((rule, _)) => rule,
        Err(fault) => return tracing::error!(%fault, "the setting of the nightly copies could not be read"),
    };
    if !rule.on {
        return;
    }
    let waits = |failed: Failed| (SignedDuration::ZERO..AGAIN_AFTER).contains(&now.duration_since(failed.at));
    if state.nightly.failed().is_some_and(waits) {
        return;
    }
    match nights(folder, state.store.path()) {
        Err(fault) => state.nightly.note_fault(now, fault.to_string()),
        Ok(found) => {
            if rule.is_due(found.last().map(|night| night.made_at), now, zone) {
                // What went wrong is noted.
                let _ = make(state, now).await;
            }
        }
    }
}

/// Makes a copy, due or not. None where the server knows no folder; a failure is noted as well as told.
pub async fn make(state: &AppState, now: Timestamp) -> Option<Result<Night, String>> {
    let folder = state.nightly.folder()?;
    let _turn = state.nightly.turn.lock().await;
    let made = async {
        let (rule, _) = state.store.nightly_rule().await.map_err(|fault| fault.to_string())?;
        let made = state.store.back_up_for_the_night(folder, rule.keep, now).await;
        made.map_err(|fault: NightlyError| fault.to_string())
    };
    Some(match made.await {
        Ok(Made { night, left }) => {
            for (file, why) in left {
                tracing::warn!(file = %file.display(), %why, "an older copy could not be deleted");
            }
            tracing::info!(file = %night.file.display(), bytes = night.bytes, "a nightly copy was made");
            state.nightly.note(None);
            Ok(night)
        }
        Err(why) => {
            state.nightly.note_fault(now, why.clone());
            Err(why)
        }
    })
}
