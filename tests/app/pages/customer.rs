//! The customer's copy.

use axum::http::StatusCode;
use hitchwright::storage::{By, Issued, JobId, NewRevision};
use jiff::{Span, Timestamp, tz::TimeZone};

use super::{Desk, fields};
use crate::support::{Ask, PUBLIC_HOST};

/// A quote that is out: job, revision and link.
async fn quoted() -> (Desk, String, String, String) {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    desk.answer_checks(&job).await;
    let revision = desk.issue(&job).await;
    let link = desk.link(&revision).await;
    (desk, job, revision, link)
}

#[tokio::test]
async fn the_copy_answers_at_the_public_address_and_holds_nothing_of_the_shops() {
    let (desk, ..) = {
        let (desk, job, revision, link) = quoted().await;
        let copy =
            Ask::get(&link).with("host", PUBLIC_HOST).with("x-forwarded-for", "203.0.113.9").of(&desk.site).await;
        let copy = copy.assert_status(StatusCode::OK);
        let text = copy.texts("body").join(" ").to_lowercase();
        for word in
            ["margin", "cost", "overhead", "mark-up", "supplier", "contingency", "profit", "build-up", "harbour steel"]
        {
            assert!(!text.contains(word), "“{word}” stands on the customer's copy: {text}");
        }
        assert_eq!(copy.attribute("meta[name=robots]", "content").as_deref(), Some("noindex, nofollow"));
        assert!(copy.texts("header.site").is_empty());
        for part in ["hives", "320 kg", "deposit", "not a certification", "terms", "valid until"] {
            assert!(text.contains(part), "“{part}” is missing: {text}");
        }
        assert!(copy.body.contains("<svg"));
        (desk, job, revision)
    };
    drop(desk);
}

#[tokio::test]
async fn the_lines_of_the_copy_and_of_the_revision_show_one_total() {
    let (desk, _, revision, link) = quoted().await;
    let copy = desk.get(&link).await;
    let total = copy.texts("tfoot strong").join("");
    assert!(total.starts_with('£'), "{total}");
    assert!(desk.get(&revision).await.texts("[data-test=revision-price] tfoot").join(" ").contains(&total));
}

#[tokio::test]
async fn accepting_needs_a_name_and_the_terms() {
    let (desk, _, _, link) = quoted().await;
    let accept = format!("{link}/accept");
    let nothing =
        desk.post(&accept, &fields(&[("accept_name", "")])).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(nothing.texts("#faults li").len() == 2, "{}", nothing.body);
    let no_terms =
        desk.post(&accept, &fields(&[("accept_name", "Ann")])).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(no_terms.attribute("[name=accept_name]", "value").as_deref(), Some("Ann"));
    desk.post(&accept, &fields(&[("accept_name", "Ann"), ("agree", "on")])).await.assert_redirect();
    // The second click changes nothing, and declining comes too late.
    desk.post(&accept, &fields(&[("accept_name", "Eve"), ("agree", "on")])).await.assert_redirect();
    desk.post(&format!("{link}/decline"), &fields(&[("decline_name", "Eve")])).await.assert_redirect();
    let copy = desk.get(&link).await;
    assert!(copy.texts("[data-test=accepted]").join(" ").contains("Ann accepted it"), "{}", copy.body);
}

#[tokio::test]
async fn a_question_waits_for_us_until_it_is_answered() {
    let (desk, job, _, link) = quoted().await;
    let ask = format!("{link}/ask");
    desk.post(&ask, &fields(&[("ask_name", "Ann <b>")])).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    let asked = desk.post(&ask, &fields(&[("ask_name", "Ann <b>"), ("question", "Can it be blue?")])).await;
    assert_eq!(asked.assert_redirect(), format!("{link}?asked=yes"));
    assert!(desk.get("/").await.texts("[data-test=ours]").join(" ").contains("question"));
    let overview = desk.get(&job).await;
    assert!(overview.texts("[data-test=thread]").join(" ").contains("Can it be blue?"));
    let answer = super::changed(overview.form(&format!("{job}/messages")), &[("message", "Any colour.")]);
    desk.post(&format!("{job}/messages"), &answer).await.assert_redirect();
    assert!(!desk.get("/").await.texts("[data-test=ours]").join(" ").contains("question"));
    let copy = desk.get(&link).await;
    assert!(!desk.get(asked.assert_redirect()).await.body.contains("Your message was sent"), "it was answered since");
    let thread = copy.texts(".thread").join(" ");
    assert!(thread.contains("Any colour.") && thread.contains("Mara,") && !thread.contains("signed in"), "{thread}");
}

#[tokio::test]
async fn a_superseded_revoked_or_unknown_link_shows_no_figures() {
    let (desk, job, revision, link) = quoted().await;
    let total = desk.get(&link).await.texts("tfoot strong").join("");
    desk.send(&format!("{job}/price"), "offer", &[("offer.discount", "25")]).await.assert_redirect();
    desk.answer_checks(&job).await;
    let next = desk.issue(&job).await;
    assert_ne!(next, revision);
    let superseded = desk.get(&link).await.assert_status(StatusCode::GONE);
    assert!(superseded.body.contains("newer quote") && !superseded.body.contains(&total), "{}", superseded.body);
    let late = desk.post(&format!("{link}/accept"), &fields(&[("accept_name", "Ann"), ("agree", "on")])).await;
    late.assert_status(StatusCode::GONE);

    let newer = desk.link(&next).await;
    desk.get(&newer).await.assert_status(StatusCode::OK);
    desk.post(&format!("{next}/revoke"), &fields(&[])).await.assert_redirect();
    let revoked = desk.get(&newer).await.assert_status(StatusCode::GONE);
    assert!(revoked.body.contains("no longer used") && !revoked.body.contains('£'), "{}", revoked.body);
    desk.get("/q/nobody-made-this").await.assert_status(StatusCode::NOT_FOUND);
}

/// The same quote issued again as of an earlier day: its link, and the price that it must not tell any more.
async fn lapsed() -> (Desk, String, String) {
    let (desk, job, _, link) = quoted().await;
    let total = desk.get(&link).await.texts("tfoot strong").join("");
    let id = JobId(job.rsplit('/').next().and_then(|id| id.parse().ok()).expect("an id"));
    let store = &desk.site.store;
    let head = store.revisions(id).await.expect("read").remove(0);
    let json = store.revision(head.id).await.expect("read").expect("a revision").frozen.json;
    let need = store.job(id).await.expect("read").expect("a job").version;
    let variant = store.variants(id).await.expect("read").remove(0);
    let now = Timestamp::now();
    let by = By { who: "a test", at: now };
    let new = NewRevision {
        job: id,
        need,
        variant: (variant.id, variant.version),
        price: head.price,
        body: &serde_json::from_str(&json).expect("a body"),
        valid_until: now.to_zoned_datetime(TimeZone::system()).date().yesterday().expect("a day"),
        program: "test",
    };
    let Issued::Done { id, .. } = store.issue(&new, by).await.expect("written") else { panic!("not issued") };
    let (_, token) = store.make_link(id, now + Span::new().hours(24), by).await.expect("written").expect("a revision");
    (desk, format!("/q/{token}"), total)
}

#[tokio::test]
async fn once_its_time_is_over_page_scene_and_pdf_show_no_figures_and_nothing_can_be_sent() {
    let (desk, link, total) = lapsed().await;
    for path in ["", "?with=1", "/quote.pdf", "/trailer.glb"] {
        let answer = desk.get(&format!("{link}{path}")).await.assert_status(StatusCode::GONE);
        assert_eq!(answer.texts("h1"), ["This quote is no longer valid"], "{path}");
        assert!(answer.texts("main").join(" ").contains("Ask us for a fresh one"), "{}", answer.body);
        assert!(!answer.body.contains(&total) && !answer.body.contains("<svg"), "{path}: {}", answer.body);
        assert!(answer.texts("main form").is_empty());
        assert!(!answer.body.contains("glTF") && !answer.body.starts_with("%PDF"), "{path}");
    }
    let name = fields(&[
        ("accept_name", "Ann"),
        ("decline_name", "Ann"),
        ("ask_name", "Ann"),
        ("question", "Still?"),
        ("agree", "on"),
    ]);
    for path in ["accept", "decline", "ask"] {
        desk.post(&format!("{link}/{path}"), &name).await.assert_status(StatusCode::GONE);
    }
    assert!(desk.get("/jobs").await.texts("main").join(" ").contains("quoted"), "nothing was answered");
}

#[tokio::test]
async fn a_declined_quote_says_so_to_both() {
    let (desk, job, _, link) = quoted().await;
    let no = fields(&[("decline_name", "Ann"), ("why", "The bees have left.")]);
    desk.post(&format!("{link}/decline"), &no).await.assert_redirect();
    assert!(desk.get(&link).await.texts("[data-test=declined]").join(" ").contains("Ann declined"));
    let revisions = desk.get(&format!("{job}/revisions")).await;
    assert!(revisions.texts("[data-test=revisions]").join(" ").contains("The bees have left."), "{}", revisions.body);
}

#[tokio::test]
async fn the_shop_reads_what_the_customer_reads_without_their_link() {
    let (desk, _, revision, link) = quoted().await;
    let path = format!("{revision}/copy");
    assert!(desk.get(&revision).await.body.contains(&path), "the revision leads to it");
    for decided in [false, true] {
        let ours = desk.get(&path).await.assert_status(StatusCode::OK);
        let theirs = desk.get(&link).await.assert_status(StatusCode::OK);
        assert!(theirs.body.contains("/q/") && !ours.body.contains("/q/"), "no link stands on it: {}", ours.body);
        assert_eq!(ours.texts("main form").len(), 0, "nothing can be sent from it");
        for part in ["h1", ".lead", "main .figures", "tfoot strong", "[data-test=accepted]"] {
            assert_eq!(ours.texts(part), theirs.texts(part), "{part}");
        }
        assert_eq!(theirs.texts("[data-test=accepted]").len(), usize::from(decided));
        assert_eq!((ours.texts("[data-test=shops-view]").len(), theirs.texts("[data-test=shops-view]").len()), (1, 0));
        let accept = fields(&[("accept_name", "Ann"), ("agree", "on")]);
        desk.post(&format!("{link}/accept"), &accept).await.assert_redirect();
    }
}

/// What is frozen and hashed names nobody, so that erasing breaks no hash.
#[tokio::test]
async fn the_owner_erases_a_customer_on_request_and_what_was_issued_stays_whole() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    let keep = [("customer", "Zebedee Quill"), ("email", "zq@example.com"), ("address", "9 Eel Quay")];
    desk.send(&job, &job, &keep).await.assert_redirect();
    desk.answer_checks(&job).await;
    desk.issue(&job).await;
    let id = hitchwright::storage::JobId(job.rsplit('/').next().and_then(|id| id.parse().ok()).expect("an id"));
    let store = &desk.site.store;
    let revision = store.revisions(id).await.expect("read")[0].id;
    let before = store.revision(revision).await.expect("read").expect("a revision");
    for word in ["Zebedee", "zq@", "Eel Quay"] {
        assert!(!before.frozen.json.contains(word), "{word} is frozen");
    }
    let action = format!("{job}/erase-customer");
    let office = crate::support::signed_in(store, "Tam", hitchwright::domain::people::Role::Estimator).await;
    let refused = crate::support::Ask::form(&action, &[("erase_name", "Zebedee Quill")]).with("cookie", &office);
    refused.of(&desk.site).await.assert_status(StatusCode::FORBIDDEN);
    let mistyped =
        desk.send(&job, &action, &[("erase_name", "Zeb")]).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(mistyped.texts("#faults").join(" ").contains("type “Zebedee Quill”"), "{}", mistyped.body);
    desk.send(&job, &action, &[("erase_name", "Zebedee Quill")]).await.assert_redirect();

    let page = desk.get(&job).await.assert_status(StatusCode::OK);
    assert!(
        !page.body.contains("Zebedee") && !page.body.contains("Eel Quay") && page.body.contains("was erased"),
        "{}",
        page.body
    );
    assert!(!page.body.contains("Erase for good"));
    desk.send(&job, &job, &[("title", "Hives")]).await.assert_redirect();
    assert_eq!(store.job(id).await.expect("read").expect("a job").title, "Hives", "the title can still be changed");
    let again = desk.post(&action, &super::fields(&[("erase_name", "(erased)")])).await;
    again.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(store.revision(revision).await.expect("read").expect("a revision"), before);
    assert_eq!(store.verify().await.expect("read"), Vec::<String>::new());
}
