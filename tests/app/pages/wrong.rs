//! Every wrong input is answered with its message, 422, and the form as typed.

use axum::http::StatusCode;

use super::{Desk, changed};

/// Each: page, form, field, what is typed, a part of what is said.
const WRONG: &[(&str, &str, &str, &str, &str)] = &[
    ("need", "need", "need.loads.0.mass", "", "nothing was entered"),
    ("need", "need", "need.loads.0.mass", "-20", "too small"),
    ("need", "need", "need.loads.0.mass", "99999999 kg", "too large"),
    ("need", "need", "need.loads.0.mass", "heavy <b>", "heavy <b>"),
    ("need", "need", "need.loads.0.mass", "20 mm", "not a unit"),
    ("need", "need", "need.loads.0.length", "", "nothing was entered"),
    ("need", "need", "need.count", "2.5", "whole number"),
    ("need", "need", "need.count", "0", "too small"),
    ("trailer", "design", "design.bed.length", "", "nothing was entered"),
    ("trailer", "design", "design.bed.length", "-2400", "too small"),
    ("trailer", "design", "design.bed.length", "9e9", "9e9"),
    ("trailer", "design", "design.bed.length", "90000", "too large"),
    ("trailer", "design", "design.bed.length", "long", "is not a length"),
    ("trailer", "design", "design.bed.length", "2400 kg", "not a unit"),
    ("trailer", "design", "design.frame.side_rail", "rhs 61x41x3x9", "61x41x3x9"),
    ("trailer", "design", "design.frame.side_rail", "rhs 60x40x40", "rhs 60x40x40"),
    ("trailer", "design", "design.frame.grade", "S1", "S1"),
    ("trailer", "design", "design.bed.place", "beside", "not one of the choices"),
    ("price", "offer", "offer.discount", "a lot", "a lot"),
    ("price", "offer", "offer.margin_percent", "400", "too large"),
];

#[tokio::test]
async fn a_wrong_field_is_said_beside_it_and_on_top_and_stays_as_typed() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    for (page, form, field, typed, says) in WRONG {
        let path = format!("{job}/{page}");
        let answer = desk.send(&path, form, &[(field, typed)]).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{field} = {typed:?}: {}", answer.body);
        let summary = answer.texts("#faults li").join(" ");
        let lowered = summary.to_lowercase();
        assert!(lowered.contains(&says.to_lowercase()), "{field} = {typed:?}: {summary}");
        let beside = answer.texts(&format!("[id='f-{field}-fault']"));
        assert_eq!(beside.len(), 1, "{field} = {typed:?}: {}", answer.body);
        let leads = answer.attribute("#faults a", "href").unwrap_or_default();
        assert_eq!(leads, format!("#f-{field}"));
        if answer.attribute(&format!("[id='f-{field}']"), "value").is_some() {
            assert_eq!(answer.attribute(&format!("[id='f-{field}']"), "value").as_deref(), Some(*typed), "{field}");
        }
        let kept = desk.get(&path).await;
        assert_ne!(kept.attribute(&format!("[id='f-{field}']"), "value").as_deref(), Some(*typed), "{field} was kept");
    }
}

#[tokio::test]
async fn fields_that_do_not_go_together_are_said_at_one_of_them() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    let path = format!("{job}/trailer");
    // An axle outside the bed; a ramp longer than its stowage.
    for changes in [
        &[("design.running_gear.place_by", "distance"), ("design.running_gear.distance", "7900")][..],
        &[("design.loading.ramp", "loose"), ("design.loading.ramp_length", "3900"), ("design.bed.length", "1500")][..],
    ] {
        let answer = desk.send(&path, "design", changes).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{changes:?}: {}", answer.body);
        assert!(!answer.texts("#faults li").is_empty());
        for (field, typed) in changes {
            let form = answer.form("design");
            assert!(form.contains(&((*field).to_owned(), (*typed).to_owned())), "{field} was lost: {form:?}");
        }
    }
}

#[tokio::test]
async fn a_list_grows_and_shrinks_without_losing_what_is_typed() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    let need = format!("{job}/need");
    let typed = [("need.loads.0.mass", "heavy <b>"), ("action", "add:need.loads")];
    let more = desk.send(&need, "need", &typed).await.assert_status(StatusCode::OK);
    assert_eq!(more.attribute("[id='f-need.loads.0.mass']", "value").as_deref(), Some("heavy <b>"));
    assert!(more.attribute("[id='f-need.loads.1.mass']", "value").is_some());
    let less = desk.post(&need, &changed(more.form("need"), &[("action", "remove:need.loads.1")])).await;
    assert_eq!(less.attribute("[id='f-need.loads.1.mass']", "value"), None);
    assert_eq!(less.attribute("[id='f-need.loads.0.mass']", "value").as_deref(), Some("heavy <b>"));
    for action in ["add:need.nothing", "remove:need.loads.99", "remove:", "add:", "try", "\u{0}"] {
        let answer = desk.send(&need, "need", &[("action", action)]).await;
        assert!(answer.status.is_success() || answer.status.is_redirection(), "{action:?}: {}", answer.body);
    }
}

#[tokio::test]
async fn a_job_that_cannot_be_issued_says_why_and_where_to_mend_it() {
    let desk = Desk::open().await;
    let job = desk.new_job("Nothing yet", "Bo").await;
    let page = format!("{job}/revisions");
    let shown = desk.get(&page).await.assert_status(StatusCode::OK);
    assert!(shown.texts("[data-test=blocks]").join(" ").contains("Nothing to carry"), "{}", shown.body);
    let forced = desk.post(&page, &super::fields(&[])).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(forced.body.contains("was not issued"), "{}", forced.body);
    assert!(forced.texts("[data-test=revisions]").is_empty());
}
