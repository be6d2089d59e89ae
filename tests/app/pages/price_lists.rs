//! Price lists as files: each row's fate before anything is written, and the way there and back.

use std::fmt::Write;

use axum::http::{Method, StatusCode};

use super::{Desk, changed};
use crate::support::{Answer, Ask};

async fn send(desk: &Desk, file: &str) -> Answer {
    let body = format!(
        "--cut\r\ncontent-disposition: form-data; name=\"from\"\r\n\r\n\r\n--cut\r\ncontent-disposition: form-data; \
         name=\"file\"; filename=\"list.csv\"\r\ncontent-type: text/csv\r\n\r\n{file}\r\n--cut--\r\n"
    );
    let ask = Ask::new(Method::POST, "/rates/list").with("content-type", "multipart/form-data; boundary=cut");
    ask.with("sec-fetch-site", "same-origin").body(body).of(&desk.site).await
}

#[tokio::test]
async fn what_is_fetched_and_sent_back_is_all_the_same() {
    let desk = Desk::open().await;
    let list = desk.get("/rates/list.csv").await.assert_status(StatusCode::OK);
    assert!(list.header("content-type").starts_with("text/csv"));
    let rows = list.body.lines().count() - 1;
    assert!(rows > 120, "{rows}");
    for text in [list.body.clone(), format!("\u{feff}{}", list.body)] {
        let sent = send(&desk, &text).await;
        let page = desk.get(sent.assert_redirect()).await.assert_status(StatusCode::OK);
        let expected = format!("0 new, 0 changed, {rows} same, 0 refused. Nothing is written yet.");
        assert_eq!(page.texts("[data-test=counts]"), [expected]);
    }
    desk.get("/rates/list").await.assert_status(StatusCode::OK);
    assert!(desk.get("/rates/sample.csv").await.body.lines().count() >= 7);
}

#[tokio::test]
async fn of_five_thousand_rows_the_forty_wrong_ones_are_named_and_the_others_written() {
    let desk = Desk::open().await;
    let mut list = String::from("code;kind;name;class;unit;price (comma);section;grade;lengths\n");
    let mut wrong = Vec::new();
    for row in 0..5000 {
        let (price, section) = match row % 500 {
            7 => ("cheap", "shs 50x50x3"),
            107 => ("-4,00", "shs 50x50x3"),
            207 => ("5,10", "shs 50x50x30"),
            307 => ("", "shs 50x50x3"),
            _ => ("5,10", "shs 50x50x3"),
        };
        if row % 100 == 7 && row % 500 != 407 {
            wrong.push(format!("N-{row}"));
        }
        let _ = writeln!(list, "N-{row};bar;Tube {row};hollow-section;metre;{price};{section};S235;6000");
    }
    assert_eq!(wrong.len(), 40);
    let began = std::time::Instant::now();
    let sent = send(&desk, &list).await;
    let path = sent.assert_redirect().to_owned();
    let page = desk.get(&path).await.assert_status(StatusCode::OK);
    println!("read twice and shown in {:?}", began.elapsed());
    assert_eq!(page.texts("[data-test=counts]"), ["4960 new, 0 changed, 0 same, 40 refused. Nothing is written yet."]);
    assert_eq!(page.texts("[data-test=refused] tbody th"), wrong);
    assert!(desk.get("/rates?search=N-4999").await.body.contains("No item is like that."), "nothing is written yet");
    let mut confirm = page.form("confirm");
    confirm.push(("action".into(), "apply".into()));
    let other = changed(confirm.clone(), &[("hash", "0")]);
    desk.post(&path, &other).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    desk.post(&path, &confirm).await.assert_redirect();
    assert!(desk.get("/rates?search=N-4999").await.body.contains("1 item"));
    assert!(desk.get("/rates?search=N-3107").await.body.contains("No item is like that."), "refused: left out");
    desk.get(&path).await.assert_status(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_row_changes_an_item_or_prices_it_for_another_supplier() {
    let desk = Desk::open().await;
    let list = "code,supplier,price (point),pack,from\nHS-20x20x2,,2.30,,\nHS-25x25x2,Quay Metals,2.50,10,2026-11-20\n\
                HS-30x30x2,,\"1,2,3\",,\nHS-30x30x2,,3.40,,soon\n";
    let sent = send(&desk, list).await;
    let path = sent.assert_redirect().to_owned();
    let page = desk.get(&path).await;
    assert_eq!(page.texts("[data-test=counts]"), ["1 new, 1 changed, 0 same, 2 refused. Nothing is written yet."]);
    let mut confirm = page.form("confirm");
    confirm.push(("action".into(), "apply".into()));
    // Somebody edits the item between the look and the press.
    let form = "/rates/items/HS-20x20x2/price";
    let edit = changed(desk.get("/rates/items/HS-20x20x2").await.form(form), &[("price", "2.20")]);
    desk.post(form, &edit).await.assert_redirect();
    let late = desk.post(&path, &confirm).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(late.body.contains("moved since this was shown"), "{}", late.body);
    let mut again = late.form("confirm");
    again.push(("action".into(), "apply".into()));
    desk.post(&path, &again).await.assert_redirect();
    assert!(desk.get("/rates/items/HS-20x20x2").await.texts("[data-test=history]")[0].contains("2.30"));
    let other = desk.get("/rates/items/HS-25x25x2").await;
    assert!(other.texts("[data-test=suppliers]")[0].contains("Quay Metals"), "{}", other.body);
}

#[tokio::test]
async fn a_list_that_is_none_is_refused_whole() {
    let desk = Desk::open().await;
    for (file, says) in [
        ("", "No file was chosen"),
        ("name\nx", "no column “code”"),
        ("code,colour\nx,red", "“colour” is not known"),
        ("code,price,price (comma)\nx,1,2", "stands twice"),
        ("code\n", "no row"),
    ] {
        let answer = send(&desk, file).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
        assert!(answer.texts("#faults").join(" ").contains(says), "{file}: {}", answer.body);
    }
}
