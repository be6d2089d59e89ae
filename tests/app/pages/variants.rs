//! The designs of a job side by side, and one of them offered as an option.

use axum::http::StatusCode;

use super::{Desk, Fields, changed, fields};

async fn variants(desk: &Desk, job: &str) -> crate::support::Answer {
    desk.get(&format!("{job}/variants")).await.assert_status(StatusCode::OK)
}

/// The id of the variant that is not chosen.
async fn other(desk: &Desk, job: &str) -> String {
    variants(desk, job).await.attribute("[data-test=variants] input[name=variant]", "value").expect("another variant")
}

async fn press(desk: &Desk, job: &str, action: &str) -> crate::support::Answer {
    let id = other(desk, job).await;
    desk.post(&format!("{job}/variants"), &fields(&[("variant", id.as_str()), ("action", action)])).await
}

async fn design(desk: &Desk, job: &str, field: &str, value: &str) {
    let trailer = format!("{job}/trailer");
    let form = desk.get(&trailer).await.form("design");
    desk.post(&trailer, &changed(form, &[(field, value), ("action", "save")])).await.assert_redirect();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_variant_is_laid_aside_and_offered_as_an_option() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    let keep = fields(&[("name", "longer bed"), ("action", "keep")]);
    desk.post(&format!("{job}/variants"), &keep).await.assert_redirect();
    let refused = press(&desk, &job, "offer").await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.texts("#faults").join(" ").contains("the same design"), "{}", refused.body);

    // The copy becomes the chosen one, is made longer, and the first is chosen again.
    press(&desk, &job, "choose").await.assert_redirect();
    design(&desk, &job, "design.bed.length", "2900 mm").await;
    press(&desk, &job, "choose").await.assert_redirect();
    let shown = variants(&desk, &job).await.texts("[data-test=variants] tbody tr").join(" ");
    assert!(shown.contains("longer bed") && shown.contains('+'), "{shown}");

    press(&desk, &job, "offer").await.assert_redirect();
    let offer = desk.get(&format!("{job}/price")).await.form("offer");
    let value = |name: &str| offer.iter().rev().find(|(field, _)| field == name).map(|(_, value)| value.as_str());
    assert_eq!(value("offer.options.0.name"), Some("longer bed"));
    assert_eq!(value("offer.options.0.changes.0.field"), Some("design.bed.length"));
    assert_eq!(value("offer.options.0.changes.0.to"), Some("2900 mm"));
    assert_eq!(value("offer.options.0.changes.1.field"), None);
    let combinations = desk.get(&format!("{job}/price/options")).await.texts("tbody tr").join(" ");
    assert!(combinations.contains("longer bed"), "{combinations}");
    assert!(variants(&desk, &job).await.texts("[data-test=variants]").join(" ").contains("offered"));

    press(&desk, &job, "drop").await.assert_redirect();
    assert_eq!(variants(&desk, &job).await.texts("[data-test=variants] tbody tr").len(), 1);
    let gone = desk.post(&format!("{job}/variants"), &fields(&[("variant", "999"), ("action", "choose")])).await;
    gone.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    let unnamed: Fields = fields(&[("name", " "), ("action", "keep")]);
    desk.post(&format!("{job}/variants"), &unnamed).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
}
