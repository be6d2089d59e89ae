//! Revisions are frozen; customers reach their copy by a secret link and decide once.

use hitchwright::{
    domain::quote::{Frozen, Stage, StageKind},
    storage::*,
};
use jiff::civil::{Date, date};
use serde_json::json;

use super::{Kept, TODAY, at, enter, issue, kept, mara, past_the_store};

const LAST: Date = date(2026, 12, 9);

async fn issued(store: &Store, job: JobId, seconds: i64) -> RevisionId {
    match issue(store, job, &json!({"price": "2480.00", "mass": 312.5}), LAST, mara(seconds)).await {
        Issued::Done { id, .. } => id,
        other => panic!("{other:?}"),
    }
}

/// A job with one revision and a link to it.
async fn linked(kept: &Kept) -> (JobId, RevisionId, LinkId, String) {
    let (job, _) = enter(&kept.store, "Hive trailer", "Wick Sands Apiary").await;
    let revision = issued(&kept.store, job, 1).await;
    let (link, token) = kept.store.make_link(revision, at(86_400), mara(2)).await.unwrap().unwrap();
    (job, revision, link, token)
}

async fn stage(store: &Store, job: JobId) -> Stage {
    store.job(job).await.unwrap().unwrap().stage
}

#[tokio::test]
async fn a_revision_is_frozen_whole_and_superseded_by_the_next() {
    let kept = kept().await;
    let store = &kept.store;
    let (job, _) = enter(store, "Hive trailer", "Wick Sands Apiary").await;
    let first = issued(store, job, 1).await;
    let revision = store.revision(first).await.unwrap().unwrap();
    assert_eq!(revision.frozen, Frozen::new(&json!({"mass": 312.5, "price": "2480.00"})));
    assert!(revision.frozen.is_whole());
    assert_eq!((revision.head.number, revision.head.superseded_at, revision.head.issued_at), (1, None, at(1)));
    assert_eq!(stage(store, job).await.kind(), StageKind::Quoted);
    let second = issued(store, job, 2).await;
    let heads = store.revisions(job).await.unwrap();
    assert_eq!(
        heads.iter().map(|head| (head.id, head.number, head.superseded_at)).collect::<Vec<_>>(),
        [(second, 2, None), (first, 1, Some(at(2)))]
    );
    assert_eq!(store.revision(first).await.unwrap().unwrap().head.superseded_at, Some(at(2)));
    assert_eq!(store.revision(RevisionId(99)).await.unwrap(), None);
}

#[tokio::test]
async fn a_quote_is_not_issued_from_what_was_saved_over() {
    let kept = kept().await;
    let store = &kept.store;
    let (job, variant) = enter(store, "Hive trailer", "Wick Sands Apiary").await;
    let need = store.job(job).await.unwrap().unwrap().version;
    let new = NewRevision {
        job,
        need,
        variant: (variant.id, variant.version),
        price: super::money("1"),
        body: &json!({}),
        valid_until: LAST,
        program: "hitchwright 0.1.0",
    };
    let saved = store.save_variant(variant.id, variant.version, (&variant.design, &variant.offer), None, mara(1)).await;
    assert!(matches!(saved.unwrap(), Save::Saved(_)));
    assert_eq!(store.issue(&new, mara(2)).await.unwrap(), Issued::Changed);
    assert_eq!(store.issue(&NewRevision { job: JobId(99), ..new }, mara(2)).await.unwrap(), Issued::Missing);
    assert_eq!(store.revisions(job).await.unwrap(), []);
    assert_eq!(stage(store, job).await.kind(), StageKind::Enquiry);
}

#[tokio::test]
async fn the_database_itself_refuses_to_change_or_delete_what_was_issued() {
    let kept = kept().await;
    let (_, revision, _, token) = linked(&kept).await;
    assert_eq!(kept.store.accept(&token, "Ann", "as agreed", &[], at(3), TODAY).await.unwrap(), Decided::Done);
    let mut hand = past_the_store(&kept).await;
    for (sql, says) in [
        ("UPDATE revision SET body = '{}'", "an issued revision is never changed"),
        ("UPDATE revision SET valid_until = '2030-01-01'", "an issued revision is never changed"),
        ("DELETE FROM revision", "an issued revision is never deleted"),
        ("UPDATE decision SET kind = 'declined'", "a decision is never changed"),
        ("UPDATE decision SET terms = 'others'", "a decision is never changed"),
        ("DELETE FROM decision", "a decision is never deleted"),
    ] {
        let error = sqlx::query(sql).execute(&mut hand).await.expect_err(sql).to_string();
        assert!(error.contains(says), "{sql}: {error}");
    }
    assert_eq!(kept.store.broken_revisions().await.unwrap(), []);
    // Whoever drops the guard first is still found by the hash.
    for sql in ["DROP TRIGGER revision_is_never_changed", "UPDATE revision SET body = replace(body, '2480', '1480')"] {
        sqlx::query(sql).execute(&mut hand).await.unwrap();
    }
    assert_eq!(kept.store.broken_revisions().await.unwrap(), [revision]);
    assert_eq!(kept.store.verify().await.unwrap(), ["revision 1 of job 1 is not what was issued: its hash differs"]);
}

#[tokio::test]
async fn a_link_opens_its_copy_until_it_is_revoked_or_expires() {
    let kept = kept().await;
    let store = &kept.store;
    let (job, revision, link, token) = linked(&kept).await;
    assert_eq!(token.len(), 43, "32 bytes in base64url");
    let LinkState::Open(copy) = store.copy(&token, at(3), TODAY).await.unwrap() else { panic!("open") };
    assert_eq!((copy.link, copy.revision.head.id, copy.lapsed, copy.is_open()), (link, revision, false, true));
    assert_eq!(copy.last_seen_at, None);
    store.saw_copy(link, at(3)).await.unwrap();
    let LinkState::Open(copy) = store.copy(&token, at(4), TODAY).await.unwrap() else { panic!("open") };
    assert_eq!(copy.last_seen_at, Some(at(3)));
    let links = store.links(job).await.unwrap();
    assert_eq!((links.len(), links[0].number, links[0].last_seen_at, links[0].revoked_at), (1, 1, Some(at(3)), None));

    assert_eq!(store.copy("", at(3), TODAY).await.unwrap(), LinkState::Unknown);
    assert_eq!(store.copy(&token[1..], at(3), TODAY).await.unwrap(), LinkState::Unknown);
    assert_eq!(store.copy(&token, at(86_400), TODAY).await.unwrap(), LinkState::Expired);
    assert_eq!(store.accept(&token, "Ann", "", &[], at(86_400), TODAY).await.unwrap(), Decided::Expired);
    assert!(store.revoke_link(link, mara(4)).await.unwrap());
    assert!(!store.revoke_link(link, mara(5)).await.unwrap());
    assert_eq!(store.copy(&token, at(6), TODAY).await.unwrap(), LinkState::Revoked);
    assert_eq!(store.accept(&token, "Ann", "", &[], at(6), TODAY).await.unwrap(), Decided::Revoked);
    assert_eq!(store.ask(&token, "Ann", "Why?", at(6)).await.unwrap(), None);
    assert_eq!(store.make_link(RevisionId(99), at(9), mara(7)).await.unwrap(), None);

    // Nothing in the file gives the token away.
    store.close().await;
    for entry in std::fs::read_dir(kept.folder.path()).unwrap() {
        let bytes = std::fs::read(entry.unwrap().path()).unwrap();
        assert!(!bytes.windows(token.len()).any(|window| window == token.as_bytes()));
    }
}

#[tokio::test]
async fn accepting_twice_is_accepting_once() {
    let kept = kept().await;
    let store = &kept.store;
    let (job, revision, _, token) = linked(&kept).await;
    let options = ["spare-wheel".to_owned()];
    assert_eq!(
        store.accept(&token, "Ann Bee", "50 % with the order", &options, at(3), TODAY).await.unwrap(),
        Decided::Done
    );
    let decision = Decision {
        kind: DecisionKind::Accepted,
        name: "Ann Bee".into(),
        at: at(3),
        why: String::new(),
        terms: "50 % with the order".into(),
        options: options.to_vec(),
    };
    assert_eq!(store.decision(revision).await.unwrap(), Some(decision.clone()));
    let accepted = Stage::Accepted { enquired_at: at(0), quoted_at: at(1), accepted_at: at(3) };
    assert_eq!(stage(store, job).await, accepted);
    let lines = store.job_audit(job).await.unwrap().len();
    for at_seconds in [4, 5] {
        let again = store.accept(&token, "Ann Bee", "", &[], at(at_seconds), TODAY).await.unwrap();
        assert_eq!(again, Decided::Already(decision.clone()));
    }
    let declined = store.decline(&token, "Ann Bee", "changed my mind", at(6), TODAY).await.unwrap();
    assert_eq!(declined, Decided::Already(decision.clone()));
    assert_eq!(stage(store, job).await, accepted);
    assert_eq!(store.job_audit(job).await.unwrap().len(), lines);
    let LinkState::Open(copy) = store.copy(&token, at(7), TODAY).await.unwrap() else { panic!("open") };
    assert_eq!((copy.decision.as_ref(), copy.is_open()), (Some(&decision), false));
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn of_many_clicks_at_once_one_decides() {
    let kept = kept().await;
    let (_, _, _, token) = linked(&kept).await;
    let mut tasks = tokio::task::JoinSet::new();
    for click in 0..12 {
        let (store, token) = (kept.store.clone(), token.clone());
        tasks.spawn(async move {
            if click % 2 == 0 {
                store.accept(&token, "Ann", "terms", &[], at(3), TODAY).await.unwrap()
            } else {
                store.decline(&token, "Ann", "no", at(3), TODAY).await.unwrap()
            }
        });
    }
    let all = tasks.join_all().await;
    assert_eq!(all.iter().filter(|decided| **decided == Decided::Done).count(), 1);
    assert_eq!(all.iter().filter(|decided| matches!(decided, Decided::Already(_))).count(), 11);
}

#[tokio::test]
async fn only_the_latest_revision_in_its_days_can_be_accepted() {
    let kept = kept().await;
    let store = &kept.store;
    let (job, _, _, old) = linked(&kept).await;
    let second = issued(store, job, 3).await;
    let (_, new) = store.make_link(second, at(86_400), mara(4)).await.unwrap().unwrap();
    assert_eq!(store.accept(&old, "Ann", "", &[], at(5), TODAY).await.unwrap(), Decided::Superseded);
    let LinkState::Open(copy) = store.copy(&old, at(5), TODAY).await.unwrap() else { panic!("readable") };
    assert!(!copy.is_open());
    let late = date(2026, 12, 10);
    assert_eq!(store.accept(&new, "Ann", "", &[], at(6), late).await.unwrap(), Decided::Lapsed);
    let LinkState::Open(copy) = store.copy(&new, at(6), late).await.unwrap() else { panic!("readable") };
    assert!(copy.lapsed && !copy.is_open());
    assert_eq!(store.accept(&new, "Ann", "", &[], at(7), LAST).await.unwrap(), Decided::Done, "its last day counts");
    assert_eq!(store.accept("nobody's", "Ann", "", &[], at(7), LAST).await.unwrap(), Decided::Unknown);
}

#[tokio::test]
async fn a_job_that_the_shop_closed_cannot_be_accepted() {
    let kept = kept().await;
    let (job, revision, _, token) = linked(&kept).await;
    let moved = kept.store.move_job(job, "closed the job", |stage| stage.decline(at(3)), mara(3)).await.unwrap();
    assert!(matches!(moved, Moved::To(_)));
    let decided = kept.store.accept(&token, "Ann", "", &[], at(4), TODAY).await.unwrap();
    assert!(matches!(decided, Decided::Refused(why) if why.from == StageKind::Declined));
    assert_eq!(kept.store.decision(revision).await.unwrap(), None);
}

#[tokio::test]
async fn declining_says_why_and_a_new_quote_supersedes() {
    let kept = kept().await;
    let store = &kept.store;
    let (job, revision, _, token) = linked(&kept).await;
    assert_eq!(store.decline(&token, "Ann", "too dear", at(3), TODAY).await.unwrap(), Decided::Done);
    let decision = store.decision(revision).await.unwrap().unwrap();
    assert_eq!((decision.kind, decision.why.as_str()), (DecisionKind::Declined, "too dear"));
    assert_eq!(stage(store, job).await.kind(), StageKind::Declined);
    let second = issued(store, job, 4).await;
    assert_eq!(store.decision(second).await.unwrap(), None);
    assert_eq!(stage(store, job).await.kind(), StageKind::Quoted);
}

#[tokio::test]
async fn a_question_is_open_until_it_is_answered() {
    let kept = kept().await;
    let store = &kept.store;
    let (job, revision, _, token) = linked(&kept).await;
    let first = store.ask(&token, "Ann", "Is it blue?", at(3)).await.unwrap().unwrap();
    let open = async || store.jobs(&super::jobs::query("")).await.unwrap().rows[0].summary.open_questions;
    assert_eq!(open().await, 1);
    let asked = JobQuery { asked: true, ..super::jobs::query("") };
    assert_eq!(store.jobs(&asked).await.unwrap().total, 1);
    // A second question comes in while the first is answered: it stays open.
    let second = store.ask(&token, "Ann", "And red?", at(4)).await.unwrap().unwrap();
    store.answer(job, Some(first), "It is grey.", mara(5)).await.unwrap().unwrap();
    assert_eq!(open().await, 1);
    let messages = store.messages(job).await.unwrap();
    let told: Vec<_> = messages.iter().map(|m| (m.author, m.name.as_str(), m.text.as_str(), m.answered_at)).collect();
    assert_eq!(
        told,
        [
            (Author::Customer, "Ann", "Is it blue?", Some(at(5))),
            (Author::Customer, "Ann", "And red?", None),
            (Author::Shop, "Mara", "It is grey.", None),
        ]
    );
    assert_eq!(messages[0].revision, Some(revision));
    assert!(store.settle_question(second, mara(6)).await.unwrap());
    assert!(!store.settle_question(second, mara(7)).await.unwrap());
    assert_eq!(open().await, 0);
    assert_eq!(store.answer(JobId(99), None, "nobody", mara(8)).await.unwrap(), None);
}
