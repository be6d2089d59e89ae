//! The demo shop: told whole through the store, and its lists follow the rate book.

use std::time::Duration;

use axum::http::StatusCode;
use hitchwright::{
    demo,
    domain::{quote::StageKind, shop::Stocked},
    storage::{JobQuery, JobSort},
};
use jiff::{Timestamp, tz::TimeZone};

use super::support::{Ask, Site, site};

async fn demo_site() -> Site {
    let site = site().await;
    let now = Timestamp::now();
    demo::fill(&site.store, now, now.to_zoned_datetime(TimeZone::system()).date()).await.expect("a demo shop");
    site
}

fn every_job() -> JobQuery {
    JobQuery { search: String::new(), stages: Vec::new(), asked: false, sort: JobSort::Number, offset: 0, limit: 50 }
}

#[tokio::test]
async fn the_demo_is_whole_and_stands_at_every_stage() {
    let site = demo_site().await;
    let jobs = site.store.jobs(&every_job()).await.unwrap();
    assert_eq!(jobs.rows.len(), 8);
    for stage in StageKind::ALL.iter().filter(|stage| **stage != StageKind::Lapsed) {
        assert!(jobs.rows.iter().any(|row| row.summary.stage.kind() == *stage), "no job is {}", stage.label());
    }
    assert!(jobs.rows.iter().any(|row| row.summary.open_questions > 0), "a question waits");
    assert!(jobs.rows.iter().any(|row| row.summary.unanswered_checks > 0), "a failing check waits");
    assert_eq!(site.store.verify().await.unwrap(), [""; 0]);
    let start = Ask::get("/").of(&site).await.assert_status(StatusCode::OK);
    for words in ["answer the customer", "failing check", "days old", "start it in the shop", "may accept"] {
        assert!(start.body.contains(words), "the first page lacks “{words}”");
    }
}

#[tokio::test]
async fn other_suppliers_and_the_rack_of_the_demo_are_bought_by_and_price_nothing() {
    let site = demo_site().await;
    let today = hitchwright::web::clock::today();
    let by_code = |mut items: Vec<hitchwright::domain::shop::Item>| {
        items.sort_by(|one, other| one.code.cmp(&other.code));
        items
    };
    let priced = by_code(site.store.rate_book(today).await.unwrap().items);
    assert_eq!(priced, by_code(demo::book_as_of(today).unwrap().rates.items), "the first supplier prices");
    assert!(site.store.supplies(today).await.unwrap().len() > 200);
    let rack = site.store.rack_pieces().await.unwrap();
    let bars = rack.iter().filter(|piece| matches!(piece.on_rack.stock, Stocked::Bar { .. })).count();
    assert!(rack.iter().any(|piece| piece.on_rack.sawn_here) && bars > 15 && rack.len() > bars, "{}", rack.len());

    let list = Ask::get("/purchase-list").of(&site).await.assert_status(StatusCode::OK);
    let jobs = list.texts("[data-test=jobs] tbody tr");
    assert!(jobs.iter().any(|job| job.contains("plan released on")), "{jobs:?}");
    assert!(jobs.iter().any(|job| job.contains("plan of revision 1") && job.contains("R-0")), "{jobs:?}");
    let suppliers = list.texts("section.order h2");
    assert!(suppliers.len() >= 5, "{suppliers:?}");
    assert!(list.texts("[data-test=lines] tbody tr").iter().any(|line| line.contains("pack of")));
}

#[tokio::test]
async fn a_change_of_prices_moves_the_figures_of_open_jobs_in_the_lists() {
    let site = demo_site().await;
    let price_of = async |title: &str| {
        let jobs = site.store.jobs(&JobQuery { search: title.into(), ..every_job() }).await.unwrap();
        jobs.rows.first().and_then(|row| row.headline.clone()).map(|headline| headline.price)
    };
    let (open, done) = (price_of("folding stage").await, price_of("cargo bikes").await);
    assert!(open.is_some() && done.is_some());
    let ask = Ask::form("/rates/items/HS-60x40x3/price", &[("price", "99.00"), ("sure", "yes")]);
    ask.of(&site).await.assert_redirect();
    for _ in 0..600 {
        if price_of("folding stage").await != open {
            break;
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    assert!(price_of("folding stage").await > open, "a job that is open follows the price of its tube");
    assert_eq!(price_of("cargo bikes").await, done, "a job that is over stays as it was");
}
