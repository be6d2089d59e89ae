//! The rate book's further pages: doubtful prices, prices to come, suppliers, taking a change back, open quotes.

use axum::http::StatusCode;

use super::{Desk, changed, fields};

const ITEM: &str = "/rates/items/HS-20x20x2";

#[tokio::test]
async fn a_price_that_jumps_is_asked_about_with_both_figures_and_kept_all_the_same() {
    let desk = Desk::open().await;
    let form = format!("{ITEM}/price");
    let typed = changed(desk.get(ITEM).await.form(&form), &[("price", "21.70")]);
    let asked = desk.post(&form, &typed).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    let says = asked.texts("#faults").join(" ");
    assert!(says.contains("21.70 instead of 2.17") && says.contains("900 % more"), "{says}");
    assert_eq!(asked.texts("[data-test=sure]"), ["Save it all the same"]);
    assert!(!desk.get(ITEM).await.texts("[data-test=history]")[0].contains("21.70"), "asked, not kept");
    let sure = changed(asked.form(&form), &[("sure", "yes")]);
    desk.post(&form, &sure).await.assert_redirect();
    assert!(desk.get(ITEM).await.texts("[data-test=history]")[0].contains("21.70"));
}

#[tokio::test]
async fn a_price_to_come_is_shown_and_moves_nothing_yet() {
    let desk = Desk::open().await;
    let form = format!("{ITEM}/price");
    let day = hitchwright::web::clock::today().checked_add(jiff::Span::new().days(40)).expect("a day").to_string();
    let typed = changed(desk.get(ITEM).await.form(&form), &[("price", "2.30"), ("from", &day)]);
    desk.post(&form, &typed).await.assert_redirect();
    let item = desk.get(ITEM).await;
    assert!(item.texts("[data-test=history] tbody tr")[0].contains("to come"), "{}", item.body);
    assert!(item.texts("[data-test=prices]")[0].contains("2.17"), "{}", item.body);
    let list = desk.get("/rates?search=HS-20x20x2").await;
    assert!(list.texts("[data-test=coming]")[0].starts_with("then 2.30 from"), "{}", list.body);
    assert_eq!(list.attribute("[name=price]", "value").as_deref(), Some("2.17"));
    assert!(item.texts("svg desc")[0].contains("2.17 from") && !item.texts("svg desc")[0].contains("2.30"));
}

#[tokio::test]
async fn another_supplier_prices_the_item_when_the_shop_says_so() {
    let desk = Desk::open().await;
    let action = format!("{ITEM}/supply");
    let blank = desk.get(ITEM).await.form("supply");
    let wrong = changed(
        blank.clone(),
        &[("supplier", "Harbour Steel Stock"), ("supply_price", "cheap"), ("pack", "0"), ("supply_lead", "soon")],
    );
    let answer = desk.post(&action, &wrong).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(answer.texts("#faults li").len(), 4, "{}", answer.body);
    let typed = changed(
        blank,
        &[
            ("supplier", "Quay Metals <b>"),
            ("article", "Q 20"),
            ("supply_price", "2.01"),
            ("pack", "10"),
            ("supply_lead", "5"),
            ("supply_sizes", "7500"),
        ],
    );
    desk.post(&action, &typed).await.assert_redirect();
    let item = desk.get(ITEM).await;
    let row = item.texts("[data-test=suppliers] tbody tr").join("");
    assert!(row.contains("Quay Metals <b>") && row.contains("2.01") && row.contains("7500"), "{row}");
    assert!(item.texts("[data-test=prices]")[0].contains("2.17"));
    let by = changed(item.form("priced-by"), &[("priced_by", "cheapest"), ("own_article", "H-20")]);
    desk.post(&format!("{ITEM}/priced-by"), &by).await.assert_redirect();
    let item = desk.get(ITEM).await;
    assert!(item.texts("[data-test=prices]")[0].contains("2.01 per metre of Quay Metals <b>"), "{}", item.body);
    let gone = changed(item.form("priced-by"), &[("priced_by", "supplier:Nobody")]);
    desk.post(&format!("{ITEM}/priced-by"), &gone).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    let end = fields(&[("supplier", "Quay Metals <b>"), ("action", "drop")]);
    desk.post(&action, &end).await.assert_redirect();
    assert!(desk.get(ITEM).await.texts("[data-test=prices]")[0].contains("2.17"));
}

#[tokio::test]
async fn a_rise_is_shown_on_open_quotes_applied_and_taken_back() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    desk.answer_checks(&job).await;
    let revision = desk.issue(&job).await;
    desk.job_with_load().await;
    let before = desk.get("/rates/open-quotes").await.assert_status(StatusCode::OK);
    let rows = before.texts("[data-test=quotes] tbody tr");
    assert_eq!(rows.len(), 2, "{rows:?}");
    assert!(rows.iter().any(|row| row.contains("revision 1, not decided")), "{rows:?}");
    assert!(rows.iter().all(|row| row.contains("no more, no less")), "{rows:?}");

    let ask = changed(desk.get("/rates/bulk").await.form("/rates/bulk"), &[("percent", "12"), ("action", "preview")]);
    let shown = desk.post("/rates/bulk", &ask).await.assert_status(StatusCode::OK);
    let mut quotes = shown.form("/rates/bulk");
    quotes.push(("action".into(), "quotes".into()));
    let effect = desk.post("/rates/bulk", &quotes).await.assert_status(StatusCode::OK);
    let rows = effect.texts("[data-test=quotes] tbody tr");
    assert_eq!(rows.len(), 2, "{rows:?}");
    assert!(rows.iter().all(|row| row.contains('+')), "a rise raises every cost: {rows:?}");
    let unmoved = desk.get("/rates/open-quotes").await.texts("[data-test=quotes] tbody tr");
    assert!(unmoved.iter().all(|row| row.contains("no more, no less")), "a preview changes nothing");

    // All but one are applied.
    let mut apply = effect.form("/rates/bulk");
    let left = apply.iter().position(|(name, _)| name == "only").expect("a box to tick");
    let code = apply.remove(left).1;
    apply.push(("action".into(), "apply".into()));
    desk.post("/rates/bulk", &apply).await.assert_redirect();
    let item = desk.get(&format!("/rates/items/{code}")).await;
    assert_eq!(item.texts("[data-test=history] tbody tr").len(), 1, "unticked: left as it is");
    let after = desk.get("/rates/open-quotes").await.texts("[data-test=quotes] tbody tr");
    assert!(after.iter().any(|row| row.contains("not decided") && row.contains('+')), "{after:?}");
    let margin = desk.get(&revision).await.texts("[data-test=price]");

    let made = desk.get("/rates/bulk").await;
    let undo = made.attribute("[data-test=batches] form", "action").expect("a way back");
    desk.post(&undo, &fields(&[])).await.assert_redirect();
    let back = desk.get("/rates/open-quotes").await.texts("[data-test=quotes] tbody tr");
    assert_eq!(back, unmoved);
    assert_eq!(desk.get(&revision).await.texts("[data-test=price]"), margin);
    let twice = desk.post(&undo, &fields(&[])).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(twice.body.contains("taken back before"), "{}", twice.body);
    desk.post("/rates/bulk/999/undo", &fields(&[])).await.assert_status(StatusCode::NOT_FOUND);
    // Nothing ticked changes nothing.
    let mut none = shown.form("/rates/bulk");
    none.retain(|(name, _)| name != "only");
    none.push(("action".into(), "apply".into()));
    let answer = desk.post("/rates/bulk", &none).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.body.contains("No item is ticked"), "{}", answer.body);
}

#[tokio::test]
async fn the_index_of_each_class_is_drawn() {
    let desk = Desk::open().await;
    let page = desk.get("/rates/index").await.assert_status(StatusCode::OK);
    assert!(page.texts("svg title").iter().any(|title| title == "Index of hollow sections"), "{}", page.body);
}
