//! The page of the nightly copies, and the server's own look at the clock.

use std::{fs, sync::Arc};

use axum::http::StatusCode;
use hitchwright::{
    domain::people::Role,
    storage::{Store, nights},
    web::{
        self, AppState, clock,
        nightly::{self, Nightly},
        paths,
    },
};
use jiff::{Timestamp, tz::TimeZone};
use tempfile::TempDir;

use super::{Desk, fields};
use crate::support::{Ask, signed_in};

/// The site with a folder for copies, and what its server looks at each minute.
async fn desk() -> (Desk, AppState, TempDir) {
    let mut desk = Desk::open().await;
    let folder = tempfile::tempdir().expect("a folder");
    let mut state = AppState::new(desk.site.store.clone(), None, Vec::new());
    state.nightly = Arc::new(Nightly::into_folder(Some(folder.path().join("copies"))));
    fs::create_dir(folder.path().join("copies")).expect("a folder");
    desk.site.router = web::router(state.clone());
    (desk, state, folder)
}

async fn look(state: &AppState, at: &str) {
    nightly::look(state, at.parse::<Timestamp>().expect("a time"), &TimeZone::UTC).await;
}

fn made(state: &AppState) -> Vec<u64> {
    let folder = state.nightly.folder().expect("a folder");
    nights(folder, state.store.path()).expect("copies").iter().map(|night| night.number).collect()
}

#[tokio::test]
async fn the_server_makes_a_copy_when_the_hour_strikes_and_catches_up_what_it_missed() {
    let (desk, state, _folder) = desk().await;
    look(&state, "2026-11-25T10:00:00Z").await;
    assert_eq!(made(&state), [1], "there was none at all");
    look(&state, "2026-11-26T02:59:00Z").await;
    assert_eq!(made(&state), [1]);
    look(&state, "2026-11-26T03:00:00Z").await;
    look(&state, "2026-11-26T03:01:00Z").await;
    assert_eq!(made(&state), [1, 2]);
    // Off for three nights, then started at noon.
    look(&state, "2026-11-29T12:00:00Z").await;
    assert_eq!(made(&state), [1, 2, 3]);

    let set = [("hour", "22"), ("keep", "2")];
    let saved = desk.send(paths::COPIES, "copies", &set).await;
    assert_eq!(saved.assert_redirect(), "/copies?done=saved");
    look(&state, "2026-11-29T21:59:00Z").await;
    assert_eq!(made(&state), [1, 2, 3], "nothing goes before a new one is there");
    look(&state, "2026-11-29T22:00:00Z").await;
    assert_eq!(made(&state), [3, 4]);
    let page = desk.get(paths::COPIES).await.assert_status(StatusCode::OK);
    assert_eq!(page.texts("[data-test=copies] tbody tr").len(), 2);
    let last = page.texts("[data-test=last]").join(" ");
    let night = nights(state.nightly.folder().expect("a folder"), state.store.path()).expect("copies").remove(1);
    assert!(last.contains(&clock::moment(night.made_at)) && last.contains(&night.size()), "{last}");
    assert_eq!(page.attribute("#f-keep", "value").as_deref(), Some("2"));

    let mut off = page.form("copies");
    off.retain(|(name, _)| name != "on");
    desk.post(paths::COPIES, &off).await.assert_redirect();
    look(&state, "2026-12-24T22:00:00Z").await;
    assert_eq!(made(&state), [3, 4], "switched off");
    // By hand it is made all the same, and verified like the others.
    let now = desk.post(paths::COPY_NOW, &fields(&[])).await;
    assert_eq!(now.assert_redirect(), "/copies?done=made");
    assert_eq!(made(&state), [4, 5]);
    for night in nights(state.nightly.folder().expect("a folder"), state.store.path()).expect("copies") {
        let copy = Store::open_to_read(&night.file).await.expect("it opens");
        assert_eq!(copy.verify().await.expect("read"), Vec::<String>::new());
    }
}

#[tokio::test]
async fn a_failure_is_told_in_plain_words_until_a_copy_is_made() {
    let (desk, state, folder) = desk().await;
    let (there, away) = (folder.path().join("copies"), folder.path().join("unplugged"));
    look(&state, "2026-11-25T10:00:00Z").await;
    fs::rename(&there, &away).expect("unplugged");
    look(&state, "2026-11-26T03:00:00Z").await;
    for (page, place) in [(paths::COPIES, "[data-test=failed]"), (paths::START, "[data-test=copy-failed]")] {
        let said = desk.get(page).await.assert_status(StatusCode::OK).texts(place).join(" ");
        assert!(said.contains("there is no folder") && said.contains("connect its disk"), "{page}: {said}");
    }
    let cookie = signed_in(&desk.site.store, "Tam", Role::Estimator).await;
    let others = Ask::get(paths::START).with("cookie", &cookie).of(&desk.site).await.assert_status(StatusCode::OK);
    assert_eq!(others.texts("[data-test=copy-failed]"), [""; 0], "only whoever can act on it is told");
    let now = desk.post(paths::COPY_NOW, &fields(&[])).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(now.texts("#faults").join(" ").contains("No copy was made: there is no folder"), "{}", now.body);

    fs::rename(&away, &there).expect("plugged in");
    desk.post(paths::COPY_NOW, &fields(&[])).await.assert_redirect();
    assert_eq!(state.nightly.failed(), None);
    let page = desk.get(paths::COPIES).await.assert_status(StatusCode::OK);
    assert_eq!(page.texts("[data-test=failed]"), [""; 0]);
    assert_eq!(desk.get(paths::START).await.texts("[data-test=copy-failed]"), [""; 0]);
}

/// A failure is tried again, but not each minute.
#[tokio::test]
async fn after_a_failure_it_is_tried_again_within_the_hour() {
    let (_desk, state, folder) = desk().await;
    let (there, away) = (folder.path().join("copies"), folder.path().join("unplugged"));
    fs::rename(&there, &away).expect("unplugged");
    look(&state, "2026-11-26T03:00:00Z").await;
    assert!(state.nightly.failed().is_some());
    fs::rename(&away, &there).expect("plugged in");
    look(&state, "2026-11-26T03:10:00Z").await;
    assert_eq!(made(&state), [0; 0]);
    look(&state, "2026-11-26T03:30:00Z").await;
    assert_eq!((made(&state).as_slice(), state.nightly.failed()), (&[1][..], None));
}

#[tokio::test]
async fn what_is_no_setting_is_named_and_a_page_names_no_path() {
    let (desk, state, _folder) = desk().await;
    for (changes, says) in [
        ([("hour", "24"), ("keep", "3")], "“24” is no hour of the day"),
        ([("hour", "3"), ("keep", "0")], "“0” is no number of copies: give a whole one, 1 to 400"),
        ([("hour", "3"), ("keep", "many")], "“many” is no number of copies"),
    ] {
        let wrong = desk.send(paths::COPIES, "copies", &changes).await;
        let wrong = wrong.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
        assert!(wrong.texts("#faults").join(" ").contains(says), "{}", wrong.body);
    }
    let form = desk.get(paths::COPIES).await.form("copies");
    let other = [("hour", "5"), ("keep", "9"), ("folder", "/etc"), ("backups", "/etc"), ("on", "on"), ("version", "0")];
    desk.post(paths::COPIES, &fields(&other)).await.assert_redirect();
    assert!(state.nightly.folder().expect("a folder").ends_with("copies"));
    // Opened before that: both sides are shown, nothing is overwritten.
    let late = super::changed(form, &[("keep", "30")]);
    let differs = desk.post(paths::COPIES, &late).await.assert_status(StatusCode::CONFLICT);
    assert!(differs.body.contains("The setting of the nightly copies"), "{}", differs.body);
    assert_eq!(desk.site.store.nightly_rule().await.expect("read").0.keep, 9);

    let without = Desk::open().await;
    let page = without.get(paths::COPIES).await.assert_status(StatusCode::OK);
    assert!(page.texts("[data-test=no-folder]").join(" ").contains("--backups FOLDER"), "{}", page.body);
    let refused = without.post(paths::COPY_NOW, &fields(&[])).await;
    assert!(refused.assert_status(StatusCode::UNPROCESSABLE_ENTITY).body.contains("knows no folder"));
}
