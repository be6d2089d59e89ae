//! The rack's pages.

use axum::http::StatusCode;

use super::{Desk, changed, release::receive_cheap_bar};
use crate::support::Answer;

pub const BAR: &[(&str, &str)] = &[
    ("kind", "bar"),
    ("count", "3"),
    ("length", "6 m"),
    ("section", "rhs 60x40x3"),
    ("grade", "S235"),
    ("place", "bay 2"),
    ("origin", "delivery 17"),
    ("worth", "24.50"),
];

#[tokio::test]
async fn pieces_come_in_are_corrected_and_scrapped_and_their_history_stays() {
    let desk = Desk::open().await;
    let before = desk.get("/rack").await.assert_status(StatusCode::OK).texts("[data-test=rack] tbody tr").len();
    desk.send("/rack/receive", "/rack/receive", BAR).await.assert_redirect();
    let rack = desk.get("/rack?search=delivery").await;
    assert!(rack.texts("[data-test=rack] tbody tr").is_empty(), "an origin is not searched");
    let rack = desk.get("/rack?search=bay+2+60x40&state=free").await;
    let rows = rack.texts("[data-test=rack] tbody tr");
    assert_eq!(rows.len(), before + 3);
    assert!(rows[0].contains("R-0001") && rows[0].contains("24.50"), "{rows:?}");
    assert!(rack.texts("[data-test=found]")[0].contains("73.50"), "{}", rack.body);

    let piece = "/rack/pieces/R-0001";
    let correct = "/rack/pieces/R-0001/correct";
    let form = desk.get(piece).await.assert_status(StatusCode::OK).form(correct);
    let empty = desk.post(correct, &changed(form.clone(), &[("length", "5990")])).await;
    let empty = empty.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(empty.texts("#faults").join(" ").contains("what was found"), "{}", empty.body);
    desk.post(correct, &changed(form, &[("length", "5990"), ("reason", "sawn crooked")])).await.assert_redirect();
    let scrap = super::fields(&[("action", "scrap"), ("why", "bent")]);
    desk.post(piece, &scrap).await.assert_redirect();
    let gone = desk.get(piece).await;
    let history = gone.texts("[data-test=history] tbody tr");
    assert_eq!(history.len(), 3, "{history:?}");
    assert!(history[0].contains("bent") && history[1].contains("sawn crooked") && history[2].contains("Mara"));
    let again = desk.post(piece, &scrap).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(again.texts("#faults").join(" ").contains("no longer on the rack"), "{}", again.body);
    assert_eq!(desk.get("/rack").await.texts("[data-test=rack] tbody tr").len(), before + 2);
}

#[tokio::test]
async fn what_is_wrong_with_a_piece_is_said_by_field_and_nothing_comes_in() {
    let desk = Desk::open().await;
    let form = desk.get("/rack/receive").await.form("/rack/receive");
    for (field, wrong, says) in [
        ("count", "0", "1 to 200"),
        ("count", "many", "1 to 200"),
        ("length", "30 m", "20000"),
        ("section", "plank", "plank"),
        ("grade", "soft", "soft"),
        ("kind", "coil", "bar or a sheet"),
        ("worth", "cheap", "cheap"),
        ("place", "", "where it lies"),
    ] {
        let typed = changed(changed(form.clone(), BAR), &[(field, wrong)]);
        let answer = desk.post("/rack/receive", &typed).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
        assert!(answer.texts("#faults").join(" ").contains(says), "{field}: {}", answer.body);
    }
    assert!(desk.get("/rack").await.texts("[data-test=rack] tbody tr").is_empty());
    let none = super::fields(&[("action", "reserve"), ("job", "1999-001")]);
    desk.post("/rack/pieces/R-0001", &none).await.assert_status(StatusCode::NOT_FOUND);
    desk.send("/rack/receive", "/rack/receive", BAR).await.assert_redirect();
    let answer = desk.post("/rack/pieces/R-0001", &none).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.texts("#faults").join(" ").contains("accepted or in the shop"), "{}", answer.body);
}

#[tokio::test]
async fn the_cutting_plan_takes_what_is_free_and_the_price_stays_that_of_new_stock() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    let cutting = format!("{job}/cutting");
    let made = |page: &crate::support::Answer| page.texts("[data-test=made]").join(" ");
    let title = |page: &crate::support::Answer| page.texts("section.at-the-saw h2").remove(0);
    let new_stock = desk.get(&cutting).await.assert_status(StatusCode::OK);
    assert!(!made(&new_stock).contains("rack"), "{}", made(&new_stock));
    let price = desk.get(&format!("{job}/price")).await.texts("main");

    // A worthless bar of what the job needs: no plan without it costs as little.
    let steel = title(&new_stock);
    let (section, grade) = steel.rsplit_once(' ').expect("a section and its grade");
    let bar = changed(
        super::fields(BAR),
        &[("section", section), ("grade", grade), ("count", "1"), ("worth", "0.01"), ("length", "6 m")],
    );
    let fields: Vec<(&str, &str)> = bar.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    desk.send("/rack/receive", "/rack/receive", &fields).await.assert_redirect();
    let from_rack = desk.get(&cutting).await.assert_status(StatusCode::OK);
    assert!(made(&from_rack).contains("Taken from the rack: R-0001."), "{}", made(&from_rack));
    assert_eq!(desk.get(&format!("{job}/price")).await.texts("main"), price, "the quote counts new stock only");

    let scrap = super::fields(&[("action", "scrap"), ("why", "bent")]);
    desk.post("/rack/pieces/R-0001", &scrap).await.assert_redirect();
    assert!(!made(&desk.get(&cutting).await).contains("R-0001"), "what is gone is not planned with");
}

#[tokio::test]
async fn where_the_owner_lets_them_prices_count_on_the_rack_and_the_frozen_quote_says_on_what() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    let (price, cutting, release) = (format!("{job}/price"), format!("{job}/cutting"), format!("{job}/release"));
    let total = |page: &Answer| page.texts("[data-test=price] .figure-value").remove(0);
    let made = |page: &Answer| page.texts("[data-test=made]").join(" ");
    receive_cheap_bar(&desk, &job).await;
    let new_stock = desk.get(&price).await.assert_status(StatusCode::OK);
    assert!(new_stock.texts("[data-test=counted]").is_empty(), "of itself a price is that of new stock");
    assert!(made(&desk.get(&cutting).await).contains("The price is that of new stock."));

    desk.send("/shop", "/shop", &[("policy.counts_on_rack", "yes")]).await.assert_redirect();
    let counting = desk.get(&price).await.assert_status(StatusCode::OK);
    let says = counting.texts("[data-test=counted]").join(" ");
    assert!(says.contains("counts on 1 piece of the rack, worth £0.01 (R-0001)"), "{says}");
    assert!(says.contains("an issued price stays as it is"), "{says}");
    assert_ne!(total(&counting), total(&new_stock), "a bar for a penny makes it cheaper");
    assert!(counting.texts("[data-test=build-up]").join(" ").contains("1 from the rack"), "{}", counting.body);
    assert!(made(&desk.get(&cutting).await).contains("The price counts on them."));
    assert!(desk.get(&format!("{job}/rack")).await.body.contains("Its price counts on what it takes"));

    desk.answer_checks(&job).await;
    let revision = desk.issue(&job).await;
    let frozen = desk.get(&revision).await.assert_status(StatusCode::OK);
    assert!(frozen.texts("[data-test=counted]").join(" ").contains("R-0001"), "{}", frozen.body);
    let lines = frozen.texts("[data-test=revision-price]").join(" ");
    assert!(lines.contains(&total(&counting)), "{lines}");
    let link = desk.link(&revision).await;
    let copy = desk.get(&link).await.assert_status(StatusCode::OK);
    assert!(!copy.body.contains("R-0001") && !copy.body.contains("the rack"), "the customer reads nothing of it");
    desk.post(&format!("{link}/accept"), &super::fields(&[("accept_name", "Ann"), ("agree", "on")]))
        .await
        .assert_redirect();
    let there = desk.get(&release).await.assert_status(StatusCode::OK).texts("[data-test=counted]").join(" ");
    assert!(there.contains("All of them are still to be had."), "{there}");

    // It goes before anybody reserved it: the issued price stays, and the release shows the shop what it costs.
    let scrap = super::fields(&[("action", "scrap"), ("why", "bent")]);
    desk.post("/rack/pieces/R-0001", &scrap).await.assert_redirect();
    let gone = desk.get(&release).await.assert_status(StatusCode::OK);
    let says = gone.texts("[data-test=counted]").join(" ");
    assert!(says.contains("No longer to be had for this job: R-0001."), "{says}");
    let buys = gone.texts("[data-test=buys] tbody tr").join(" ");
    assert!(buys.contains("+1"), "{buys}");
    assert_eq!(desk.get(&revision).await.texts("[data-test=revision-price]").join(" "), lines);
    let none = desk.get(&price).await;
    assert!(none.texts("[data-test=counted]").join(" ").contains("nothing that lies there serves this job"));
    assert_eq!(total(&none), total(&new_stock));
    assert_eq!(desk.site.store.verify().await.expect("read"), [""; 0]);
}
