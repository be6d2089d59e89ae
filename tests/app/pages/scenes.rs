//! The trailer in three dimensions, over HTTP.

use axum::http::StatusCode;
use hitchwright::{
    storage::{By, JobId},
    web::paths,
};
use jiff::{SignedDuration, Timestamp};
use serde_json::Value;

use super::{Desk, fields};
use crate::support::{Answer, Ask, PUBLIC_HOST};

/// Header and first chunk of a binary glTF file (glTF 2.0, 4.4), or what is wrong with them.
fn root(answer: &Answer) -> Value {
    assert_eq!((answer.status, answer.header("content-type")), (StatusCode::OK, "model/gltf-binary"));
    let file = &answer.bytes;
    let word = |at: usize| u32::from_le_bytes(file[at..at + 4].try_into().expect("four bytes")) as usize;
    assert_eq!((&file[..4], word(4), word(8)), (&b"glTF"[..], 2, file.len()));
    let json = word(12);
    assert_eq!((&file[16..20], json % 4), (&b"JSON"[..], 0));
    assert_eq!((word(20 + json), &file[24 + json..28 + json]), (file.len() - 28 - json, &b"BIN\0"[..]));
    serde_json::from_slice(&file[20..20 + json]).expect("JSON")
}

async fn asked_publicly(desk: &Desk, path: &str) -> Answer {
    Ask::get(path).with("host", PUBLIC_HOST).with("x-forwarded-for", "203.0.113.9").by_nobody().of(&desk.site).await
}

/// A page of ours that says what it is, and no byte of the scene.
fn assert_nothing(answer: &Answer, expected: StatusCode) {
    assert_eq!(answer.status, expected);
    assert!(answer.header("content-type").starts_with("text/html"), "{}", answer.header("content-type"));
    assert!(answer.header("etag").is_empty() && !answer.body.contains("glTF"), "{}", answer.body);
    for picture in ["<svg", "view-whole", "data-scene", "trailer.glb"] {
        assert!(!answer.body.contains(picture), "{picture}: {}", answer.body);
    }
}

#[tokio::test]
async fn the_open_design_a_revision_and_its_copy_are_the_same_each_time() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    desk.answer_checks(&job).await;
    let revision = desk.issue(&job).await;
    let link = desk.link(&revision).await;
    let told = |root: &Value| root["nodes"].as_array().expect("nodes").iter().any(|node| node.get("extras").is_some());
    for (path, says_marks) in [(&job, true), (&revision, true), (&link, false)] {
        let path = format!("{path}/trailer.glb");
        let first = desk.get(&path).await;
        assert_eq!(told(&root(&first)), says_marks, "{path}");
        let again = desk.get(&path).await;
        assert!(first.bytes == again.bytes, "{path} is another file the second time");
        let tag = first.header("etag").to_owned();
        assert!(tag.starts_with("W/\""), "{tag}");
        let known = Ask::get(&path).with("if-none-match", &tag).of(&desk.site).await;
        assert_eq!(
            (known.status, known.bytes.len(), known.header("etag")),
            (StatusCode::NOT_MODIFIED, 0, tag.as_str())
        );
        let other = Ask::get(&path).with("if-none-match", "W/\"0123\"").of(&desk.site).await;
        assert_eq!(other.status, StatusCode::OK);
    }
    // A revision stays as it is, however the design goes on.
    let frozen = desk.get(&format!("{link}/trailer.glb")).await;
    let wider = [("design.bed.width", "1500"), ("action", "save")];
    desk.send(&format!("{job}/trailer"), "design", &wider).await.assert_redirect();
    assert!(desk.get(&format!("{link}/trailer.glb")).await.bytes == frozen.bytes);
    assert!(asked_publicly(&desk, &format!("{link}/trailer.glb")).await.bytes == frozen.bytes);
    for path in [&job, &revision] {
        assert_nothing(&asked_publicly(&desk, &format!("{path}/trailer.glb")).await, StatusCode::NOT_FOUND);
        let nobody = Ask::get(&format!("{path}/trailer.glb")).by_nobody().of(&desk.site).await;
        assert_eq!(nobody.status, StatusCode::SEE_OTHER);
    }
    // The page leads to its own file, and the picture stands there for those without scripts.
    let copy = desk.get(&link).await;
    assert_eq!(copy.attribute("[data-test=viewer]", "data-scene"), Some(format!("{link}/trailer.glb")));
    assert!(copy.body.contains("id=\"view-whole-title\""), "{}", copy.body);
}

/// A link to the newest revision of a job whose own time ran out a minute ago.
async fn expired_link(desk: &Desk, job: &str) -> String {
    let (store, now) = (&desk.site.store, Timestamp::now());
    let id = JobId(job.rsplit('/').next().and_then(|id| id.parse().ok()).expect("an id"));
    let newest =
        store.revisions(id).await.expect("read").into_iter().max_by_key(|head| head.number).expect("a revision");
    let ago = now.checked_sub(SignedDuration::from_mins(1)).expect("a moment");
    let made = store.make_link(newest.id, ago, By { who: "Mara", at: now }).await.expect("an answer");
    paths::customer(&made.expect("a link").1)
}

#[tokio::test]
async fn a_foreign_superseded_revoked_or_expired_link_gives_neither_scene_nor_picture_away() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    desk.answer_checks(&job).await;
    let revision = desk.issue(&job).await;
    let link = desk.link(&revision).await;
    let scene = |link: &str| format!("{link}/trailer.glb");
    let first = desk.get(&scene(&link)).await;
    root(&first);
    let tag = first.header("etag").to_owned();
    assert_nothing(&asked_publicly(&desk, &format!("/q/{}/trailer.glb", "A".repeat(43))).await, StatusCode::NOT_FOUND);

    desk.send(&format!("{job}/price"), "offer", &[("offer.discount", "25")]).await.assert_redirect();
    desk.answer_checks(&job).await;
    let next = desk.issue(&job).await;
    for path in [&scene(&link), &link, &format!("{link}/quote.pdf")] {
        assert_nothing(&asked_publicly(&desk, path).await, StatusCode::GONE);
    }
    let known = Ask::get(&scene(&link)).with("if-none-match", &tag).of(&desk.site).await;
    assert_nothing(&known, StatusCode::GONE);

    let newer = desk.link(&next).await;
    root(&asked_publicly(&desk, &scene(&newer)).await);
    assert!(asked_publicly(&desk, &newer).await.body.contains("<svg"), "an open copy shows its picture");
    let expired = expired_link(&desk, &job).await;
    for path in [&scene(&expired), &expired, &format!("{expired}/quote.pdf")] {
        assert_nothing(&asked_publicly(&desk, path).await, StatusCode::GONE);
    }
    desk.post(&format!("{next}/revoke"), &fields(&[])).await.assert_redirect();
    for path in [&scene(&newer), &newer, &format!("{newer}/quote.pdf")] {
        assert_nothing(&asked_publicly(&desk, path).await, StatusCode::GONE);
    }
}
