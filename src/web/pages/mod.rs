//! The pages, one file each: route, handler, page struct with its samples. To add one: write `pages/<name>.rs` and
//! `templates/web/<name>.html`, declare it here, merge its `router()`, add its samples to the test below.

/// What is to be bought, by supplier.
pub mod buying;
mod components;
mod conflict;
mod copies;
pub mod customer;
pub(super) mod error;
mod health;
pub mod job;
mod jobs;
/// Figures of open jobs, worked out again after a change of prices.
pub mod refresh;
mod pager;
/// Printed documents as answers.
pub mod paper;
/// Sign-in, set-up links, and who works here.
pub mod people;
/// Addresses that a phone reads.
mod qr;
/// What lies on the rack.
pub mod rack;
mod rates;
mod shop;
mod start;
/// Tables as files.
mod table_file;

pub use pager::Pager;

use askama::Template;
use axum::{
    Router,
    http::StatusCode,
    response::{Html, IntoResponse, Response},
};

use crate::web::{AppState, Result};

/// All pages.
pub(super) fn router() -> Router<AppState> {
    let router = Router::new()
        .merge(start::router())
        .merge(jobs::router())
        .merge(job::router())
        .merge(rack::router())
        .merge(buying::router())
        .merge(rates::router())
        .merge(shop::router())
        .merge(copies::router())
        .merge(people::router())
        .merge(customer::router())
        .merge(health::router());
    if cfg!(debug_assertions) { router.merge(components::router()) } else { router }
}

/// A page with its status.
pub(super) fn page(status: StatusCode, page: &impl Template) -> Result<Response> {
    Ok((status, Html(page.render()?)).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every page renders with each of its samples, and what people type is escaped.
    #[test]
    fn every_sample_renders() {
        let mut pages = Vec::new();
        fn add<P: Template>(pages: &mut Vec<String>, samples: Vec<P>) {
            for sample in samples {
                pages.push(sample.render().expect("a page"));
            }
        }
        add(&mut pages, start::Page::samples());
        add(&mut pages, conflict::Page::samples());
        add(&mut pages, jobs::list::Page::samples());
        add(&mut pages, jobs::new::Page::samples());
        add(&mut pages, rack::list::Page::samples());
        add(&mut pages, rack::receive::Page::samples());
        add(&mut pages, rack::piece::Page::samples());
        add(&mut pages, rack::together::Page::samples());
        add(&mut pages, rack::common_plan::Page::samples());
        add(&mut pages, rack::tags::Page::samples());
        add(&mut pages, buying::Page::samples());
        add(&mut pages, buying::orders::ListPage::samples());
        add(&mut pages, buying::orders::Page::samples());
        add(&mut pages, rates::list::Page::samples());
        add(&mut pages, rates::item::Page::samples());
        add(&mut pages, rates::bulk::Page::samples());
        add(&mut pages, rates::index::Page::samples());
        add(&mut pages, rates::open_quotes::Page::samples());
        add(&mut pages, rates::price_lists::Page::samples());
        add(&mut pages, shop::Page::samples());
        add(&mut pages, copies::Page::samples());
        add(&mut pages, customer::Page::samples());
        add(&mut pages, customer::ClosedPage::samples());
        add(&mut pages, components::Page::samples());
        add(&mut pages, people::sign_in::Page::samples());
        add(&mut pages, people::set_up::Page::samples());
        add(&mut pages, people::me::Page::samples());
        add(&mut pages, people::link::Page::samples());
        add(&mut pages, people::list::Page::samples());
        add(&mut pages, error::Page::samples());
        for page in &pages {
            assert!(page.contains("<!doctype html>") && page.trim_end().ends_with("</html>"), "{page}");
            assert!(!page.contains("Ann <b>"), "a name is not escaped: {page}");
            let parsed = scraper::Html::parse_document(page);
            let one = |selector| scraper::Selector::parse(selector).expect("a selector");
            assert_eq!(parsed.select(&one("h1")).count(), 1, "one main heading: {page}");
            assert_eq!(parsed.select(&one("main")).count(), 1, "one main part: {page}");
            assert_eq!(parsed.select(&one("[style], style, script:not([src])")).count(), 0, "inline: {page}");
        }
    }
}
