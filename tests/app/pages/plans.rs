//! The plan of a revision: quick ones without a page of their own, slow ones with progress and cancel; and what other stock would cost.

use std::time::Duration;

use axum::http::StatusCode;
use hitchwright::domain::nesting::Budget;

use super::{Desk, Fields};
use crate::support::{Answer, Ask, shop_site_planning};

/// More work allowed than anybody waits for.
const ENDLESS: Budget = Budget::of_units(2_000_000_000_000);
/// More than the second that is waited for without a page, and soon done.
const SECONDS: Budget = Budget::of_units(60_000_000);

/// A job of many trailers.
async fn slow(budget: Budget) -> (Desk, String) {
    let desk = Desk { site: shop_site_planning(budget).await };
    let job = desk.job_with_load().await;
    desk.send(&format!("{job}/need"), "need", &[("need.count", "37"), ("action", "save")]).await.assert_redirect();
    desk.answer_checks(&job).await;
    (desk, job)
}

#[tokio::test(flavor = "multi_thread")]
async fn a_slow_plan_shows_how_far_it_is_and_is_cancelled_without_a_revision() {
    let (desk, job) = slow(ENDLESS).await;
    let revisions = format!("{job}/revisions");
    let plan = desk.issue(&job).await;
    assert!(plan.starts_with(&format!("{job}/plans/")), "{plan}");

    let page = desk.get(&plan).await.assert_status(StatusCode::OK);
    assert!(page.body.contains("being planned") && page.body.contains("http-equiv=\"refresh\""), "{}", page.body);
    assert!(page.body.contains("of the work allowed"), "{}", page.body);
    // Who comes second is led to the same plan, and the list says who asked for it.
    assert_eq!(desk.post(&revisions, &Fields::new()).await.assert_redirect(), plan);
    let list = desk.get(&revisions).await.assert_status(StatusCode::OK);
    assert!(list.body.contains("Mara is having a revision planned"), "{}", list.body);

    assert_eq!(desk.post(&format!("{plan}/cancel"), &Fields::new()).await.assert_redirect(), plan);
    let ended = desk.get(&plan).await.assert_status(StatusCode::OK);
    assert!(ended.body.contains("Nothing was issued") && ended.body.contains("cancelled"), "{}", ended.body);
    let script = Ask::get(&plan).with("hx-request", "true").of(&desk.site).await;
    assert_eq!(script.headers.get("hx-redirect").and_then(|to| to.to_str().ok()), Some(plan.as_str()));
    assert!(!ended.body.contains("hx-trigger"), "an ended plan asks no more: {}", ended.body);
    let list = desk.get(&revisions).await;
    assert!(list.body.contains("None yet.") && !list.body.contains("data-test=\"running\""), "{}", list.body);
}

/// Asks for the page of a plan until it has ended.
async fn ended(desk: &Desk, plan: &str) -> Answer {
    for _ in 0..600 {
        let page = desk.get(plan).await;
        if !page.body.contains("http-equiv=\"refresh\"") {
            return page;
        }
        tokio::time::sleep(Duration::from_millis(200)).await;
    }
    panic!("the plan does not end");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_slow_plan_is_issued_by_itself_and_its_page_leads_to_the_revision() {
    let (desk, job) = slow(SECONDS).await;
    let plan = desk.issue(&job).await;
    assert!(plan.starts_with(&format!("{job}/plans/")), "{plan}");
    assert_eq!(ended(&desk, &plan).await.assert_redirect(), format!("{job}/revisions/1"));
    desk.get(&format!("{job}/revisions/1/cutting")).await.assert_status(StatusCode::OK);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_plan_whose_need_was_changed_meanwhile_issues_nothing_and_says_so() {
    let (desk, job) = slow(SECONDS).await;
    let plan = desk.issue(&job).await;
    desk.send(&format!("{job}/need"), "need", &[("need.count", "36"), ("action", "save")]).await.assert_redirect();
    let page = ended(&desk, &plan).await.assert_status(StatusCode::OK);
    assert_eq!(page.texts("[data-test=ended] h2"), ["Nothing was issued"], "{}", page.body);
    assert!(page.texts("[data-test=ended] p").iter().any(|text| text.contains("changed")), "{}", page.body);
    assert!(desk.get(&format!("{job}/revisions")).await.body.contains("None yet."));
}

#[tokio::test]
async fn a_plan_of_an_earlier_run_of_the_program_is_no_longer_known() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    let page = desk.get(&format!("{job}/plans/12")).await.assert_status(StatusCode::OK);
    assert!(page.body.contains("no longer known"), "{}", page.body);
    assert_eq!(desk.post(&format!("{job}/plans/12/cancel"), &Fields::new()).await.status, StatusCode::SEE_OTHER);
    desk.get("/jobs/999/plans/12").await.assert_status(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn other_stock_is_priced_for_the_job_and_for_a_frozen_revision() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    let page = desk.get(&format!("{job}/cutting/choices")).await.assert_status(StatusCode::OK);
    assert!(page.body.contains(" bars only</dt>") && page.body.contains("sheets of "), "{}", page.body);
    desk.answer_checks(&job).await;
    let revision = desk.issue(&job).await;
    assert_eq!(revision, format!("{job}/revisions/1"));
    let frozen = desk.get(&format!("{revision}/choices")).await.assert_status(StatusCode::OK);
    assert!(frozen.body.contains("frozen plans of revision 1"), "{}", frozen.body);
    desk.get(&format!("{job}/revisions/9/choices")).await.assert_status(StatusCode::NOT_FOUND);
}
