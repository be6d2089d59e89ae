//! The rate book and the shop's settings.

use axum::http::StatusCode;

use super::{Desk, changed, fields};

#[tokio::test]
async fn a_steel_price_moves_the_open_spec_and_no_revision() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    desk.answer_checks(&job).await;
    let revision = desk.issue(&job).await;
    let frozen = desk.get(&revision).await.texts("[data-test=price]");
    let open = desk.get(&format!("{job}/price")).await.texts("[data-test=total]");

    let ask = changed(desk.get("/rates/bulk").await.form("/rates/bulk"), &[("percent", "20"), ("action", "preview")]);
    let shown = desk.post("/rates/bulk", &ask).await.assert_status(StatusCode::OK);
    assert!(shown.texts("[data-test=bulk] tbody tr").len() > 5, "{}", shown.body);
    assert_eq!(desk.get(&format!("{job}/price")).await.texts("[data-test=total]"), open, "a preview changes nothing");
    let mut apply = shown.form("/rates/bulk");
    apply.push(("action".into(), "apply".into()));
    // Every line that was shown is sent along.
    assert!(apply.iter().filter(|(name, _)| name == "seen").count() > 5);
    desk.post("/rates/bulk", &apply).await.assert_redirect();

    assert_ne!(desk.get(&format!("{job}/price")).await.texts("[data-test=total]"), open);
    assert_eq!(desk.get(&revision).await.texts("[data-test=price]"), frozen);
    // What was shown has moved now: the same change is not applied twice.
    let twice = desk.post("/rates/bulk", &apply).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(twice.body.contains("meanwhile"), "{}", twice.body);
}

#[tokio::test]
async fn a_price_is_edited_in_place_and_its_history_stays() {
    let desk = Desk::open().await;
    let list = desk.get("/rates?search=HS-20x20x2").await.assert_status(StatusCode::OK);
    let form = "/rates/items/HS-20x20x2/price";
    let edit = changed(list.form(form), &[("price", "2.35")]);
    let back = desk.post(form, &edit).await;
    assert!(back.assert_redirect().starts_with("/rates?search=HS-20x20x2"), "{}", back.assert_redirect());
    let item = desk.get("/rates/items/HS-20x20x2").await;
    let history = item.texts("[data-test=history] tbody tr");
    assert_eq!(history.len(), 2, "{history:?}");
    assert!(history[0].contains("2.35") && history[0].contains("Mara"), "{history:?}");

    for (wrong, says) in [("", "nothing was entered"), ("-1", "negative"), ("cheap", "cheap"), ("1e99", "1e99")] {
        let wrong_edit = changed(list.form(form), &[("price", wrong)]);
        let answer = desk.post(form, &wrong_edit).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
        assert!(answer.texts("#faults").join(" ").contains(says), "{wrong}: {}", answer.body);
        assert_eq!(answer.attribute("[name=price]", "value").as_deref(), Some(wrong));
    }
    // The list was opened before the first edit.
    let stale =
        desk.post(form, &changed(list.form(form), &[("price", "2.40")])).await.assert_status(StatusCode::CONFLICT);
    assert!(stale.body.contains("2.40") && stale.body.contains("2.35"), "{}", stale.body);
}

#[tokio::test]
async fn an_item_is_added_edited_retired_and_offered_again() {
    let desk = Desk::open().await;
    let new = desk.get("/rates/new?kind=bar").await.assert_status(StatusCode::OK);
    let blank = desk.post("/rates/new", &new.form("/rates/new")).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(blank.texts("#faults li").len() >= 2, "{}", blank.body);
    let typed = changed(
        new.form("/rates/new"),
        &[
            ("item.code", "TR/1 <b>"),
            ("item.name", "Odd tube"),
            ("item.price", "3.75"),
            ("item.section", "rhs 70x40x3"),
            ("item.lengths", "6000\n7.5 m @ 30"),
        ],
    );
    let added = desk.post("/rates/new", &typed).await;
    let path = added.assert_redirect().to_owned();
    let taken = desk.post("/rates/new", &typed).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(taken.body.contains("Another item has the code"), "{}", taken.body);
    let item = desk.get(&path).await.assert_status(StatusCode::OK);
    let edit = changed(item.form(&path), &[("item.name", "Odder tube")]);
    desk.post(&path, &edit).await.assert_redirect();
    assert_eq!(desk.get(&path).await.texts("h1"), ["Odder tube"]);
    let retire = desk.get(&path).await.form(&format!("{path}/retire"));
    desk.post(&format!("{path}/retire"), &retire).await.assert_redirect();
    assert!(desk.get("/rates?search=odder").await.body.contains("No item is like that."));
    let again = desk.get(&path).await.form(&format!("{path}/retire"));
    desk.post(&format!("{path}/retire"), &again).await.assert_redirect();
    assert!(desk.get("/rates?search=odder").await.body.contains("1 item"));
}

#[tokio::test]
async fn a_bulk_change_says_what_is_wrong() {
    let desk = Desk::open().await;
    for percent in ["", "0", "900", "lots", "-90"] {
        let ask = fields(&[("class", "hollow-section"), ("percent", percent), ("action", "preview")]);
        let answer = desk.post("/rates/bulk", &ask).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
        assert_eq!(answer.texts("#faults li").len(), 1, "{percent}: {}", answer.body);
        assert_eq!(answer.attribute("[name=percent]", "value").as_deref(), Some(percent));
    }
    let ask = fields(&[("class", "gold"), ("percent", "1"), ("from", "soon")]);
    let answer = desk.post("/rates/bulk", &ask).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(answer.texts("#faults li").len(), 2, "{}", answer.body);
}

#[tokio::test]
async fn the_shops_settings_are_kept_and_a_wrong_one_comes_back_as_typed() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    let before = desk.get(&format!("{job}/price")).await.texts("[data-test=total]");
    let mine = desk.get("/shop").await.form("shop");
    let wrong = changed(mine.clone(), &[("policy.kerf", "wide <b>"), ("policy.margin_percent", "400")]);
    let answer = desk.post("/shop", &wrong).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(answer.texts("#faults li").len(), 2, "{}", answer.body);
    assert_eq!(answer.attribute("[name='policy.kerf']", "value").as_deref(), Some("wide <b>"));
    desk.post("/shop", &changed(mine.clone(), &[("policy.margin_percent", "40")])).await.assert_redirect();
    assert_ne!(desk.get(&format!("{job}/price")).await.texts("[data-test=total]"), before);
    let late = desk.post("/shop", &changed(mine, &[("name", "Elsewhere")])).await.assert_status(StatusCode::CONFLICT);
    let text = late.texts("[data-test=conflict] table").join(" ");
    assert!(text.contains("Elsewhere") && text.contains("40"), "{text}");
}
