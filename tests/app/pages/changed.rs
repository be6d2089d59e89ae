//! What changed between two revisions.

use axum::http::StatusCode;

use super::Desk;

#[tokio::test]
async fn a_second_revision_says_what_changed_and_the_customer_reads_nothing_of_the_shops() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    desk.answer_checks(&job).await;
    desk.issue(&job).await;
    let design = [("design.finish.system", "galvanised"), ("design.factors.braking_g", "0.61"), ("action", "save")];
    desk.send(&format!("{job}/trailer"), "design", &design).await.assert_redirect();
    desk.send(&format!("{job}/price"), "offer", &[("offer.discount", "25"), ("action", "save")])
        .await
        .assert_redirect();
    desk.answer_checks(&job).await;
    let second = desk.issue(&job).await;
    assert_eq!(second, format!("{job}/revisions/2"));

    let page = desk.get(&format!("{second}/changed")).await.assert_status(StatusCode::OK);
    let theirs = page.texts("[data-test=theirs]").join(" ");
    assert!(theirs.contains("Primer and top coat") && theirs.contains("Hot-dip galvanised"), "{theirs}");
    assert!(theirs.contains("Total") && !theirs.contains("Braking") && !theirs.contains("Coats"), "{theirs}");
    let ours = page.texts("[data-test=ours]").join(" ");
    for part in ["Braking", "0.61", "Discount", "Hours"] {
        assert!(ours.contains(part), "“{part}” is missing: {ours}");
    }
    desk.get(&format!("{job}/revisions/1/changed")).await.assert_status(StatusCode::NOT_FOUND);
    desk.get(&format!("{second}/changed?since=9")).await.assert_status(StatusCode::NOT_FOUND);

    let link = desk.link(&second).await;
    let copy = desk.get(&link).await.assert_status(StatusCode::OK);
    let said = copy.texts("[data-test=changed]").join(" ");
    assert!(said.contains("Hot-dip galvanised") && !said.contains("Braking") && !said.contains("Hours"), "{said}");
}
