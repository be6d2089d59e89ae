//! Documents as PDF through HTTP.

use axum::http::StatusCode;

use super::Desk;
use crate::support::{Answer, Ask, PUBLIC_HOST};

#[track_caller]
fn is_pdf(answer: &Answer, file: &str) {
    assert_eq!((answer.status, answer.header("content-type")), (StatusCode::OK, "application/pdf"), "{file}");
    let named = answer.header("content-disposition");
    assert!(named.starts_with("inline; filename=\"") && named.ends_with(&format!("-{file}.pdf\"")), "{named}");
    assert!(answer.bytes.starts_with(b"%PDF-1.7") && answer.bytes.trim_ascii_end().ends_with(b"%%EOF"), "{file}");
}

#[tokio::test]
async fn the_documents_of_a_revision_are_the_same_bytes_each_time() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    desk.answer_checks(&job).await;
    let revision = desk.issue(&job).await;
    for (path, what) in
        [("quote", "quote"), ("drawing", "drawing"), ("calculation", "calculation"), ("cutting", "cutting-list")]
    {
        let path = format!("{revision}/{path}.pdf");
        let first = desk.get(&path).await;
        is_pdf(&first, &format!("revision-1-{what}"));
        assert_eq!(first.bytes, desk.get(&path).await.bytes, "{path}");
    }
    let wide = desk.get(&format!("{revision}/drawing.pdf?paper=A3")).await;
    assert_ne!(wide.bytes, desk.get(&format!("{revision}/drawing.pdf")).await.bytes, "A3 is another paper");
    let none = desk.get(&format!("{job}/revisions/2/quote.pdf")).await;
    assert_eq!(none.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn the_open_spec_prints_too() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    for (path, what) in [("drawings", "drawing"), ("calculation", "calculation"), ("cutting", "cutting-list")] {
        is_pdf(&desk.get(&format!("{job}/{path}.pdf")).await, &format!("open-{what}"));
    }
}

#[tokio::test]
async fn the_customer_fetches_the_quote_by_the_link_and_nothing_else() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    desk.answer_checks(&job).await;
    let revision = desk.issue(&job).await;
    let link = desk.link(&revision).await;
    let ask = async |path: &str| {
        Ask::get(path).with("host", PUBLIC_HOST).with("x-forwarded-for", "203.0.113.9").of(&desk.site).await
    };
    let copy = ask(&format!("{link}/quote.pdf")).await;
    assert_eq!((copy.status, copy.header("content-type")), (StatusCode::OK, "application/pdf"));
    for path in [format!("{revision}/quote.pdf"), format!("{revision}/cutting.pdf"), format!("{job}/drawings.pdf")] {
        assert_eq!(ask(&path).await.status, StatusCode::NOT_FOUND, "{path}");
    }
    let guessed = format!("/q/{}/quote.pdf", "A".repeat(43));
    assert_eq!(ask(&guessed).await.status, StatusCode::NOT_FOUND);
}
