//! A shop of many years: 100,000 jobs and 1,000,000 prices. Runs with HITCHWRIGHT_LONG=1 alone: filling takes a minute.

use std::time::{Duration, Instant};

use hitchwright::{domain::quote::StageKind, storage::*};
use jiff::civil::date;
use sqlx::Connection;

use super::{TODAY, contact, kept, mara, new_job, past_the_store};

/// Well above what was measured, well below what a person would call slow.
const LIST_LIMIT: Duration = Duration::from_millis(250);
const BOOK_LIMIT: Duration = Duration::from_millis(500);

#[tokio::test]
async fn lists_and_rate_book_stay_fast_in_a_full_store() {
    if std::env::var_os("HITCHWRIGHT_LONG").is_none() {
        return;
    }
    let kept = kept().await;
    let store = &kept.store;
    let new = new_job("First", ForCustomer::New(contact("Wick Sands Apiary")));
    store.create_job(&new, 2020, mara(0)).await.unwrap().unwrap();
    let items = hitchwright::domain::shop::ShopBook::demo().rates.items;
    assert_eq!(store.add_items(&items, mara(0)).await.unwrap(), Vec::<String>::new());
    let mut hand = past_the_store(&kept).await;
    for sql in [
        "INSERT INTO customer (name, email, phone, address, version, changed_at, changed_by)
         WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 5000)
         SELECT 'Customer ' || i, '', '', '', 1, 0, 'filled' FROM n",
        "INSERT INTO job (year, sequence, number, title, customer_id, search, stage, enquired_at, quoted_at, valid_until,
         accepted_at, started_at, handed_over_at, need, version, need_at, need_by, created_at, updated_at)
         WITH RECURSIVE n(i) AS (SELECT 2 UNION ALL SELECT i + 1 FROM n WHERE i < 100000)
         SELECT 2020, i, printf('2020-%03d', i), 'Trailer ' || i, i % 5000 + 1,
         printf('2020-%03d trailer %d customer %d', i, i, i % 5000 + 1),
         CASE WHEN i % 50 = 0 THEN 'quoted' ELSE 'handed-over' END, i, i, '2026-12-09', i, i, i,
         (SELECT need FROM job WHERE id = 1), 1, i, 'filled', i, i FROM n",
        "INSERT INTO variant (job_id, name, chosen, design, offer, version, changed_at, changed_by)
         SELECT j.id, 'A', 1, v.design, v.offer, 1, 0, 'filled' FROM job j, variant v WHERE v.id = 1 AND j.id > 1",
        "INSERT INTO rate_price (item_id, from_day, price, sizes, entered_at, entered_by)
         WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 1000000 / (SELECT count(*) FROM rate_item) + 1)
         SELECT p.item_id, date('2000-01-01', '+' || n.i || ' days'), p.price, p.sizes, n.i, 'filled'
         FROM n, (SELECT item_id, price, sizes FROM rate_price) p",
    ] {
        sqlx::query(sql).execute(&mut hand).await.unwrap();
    }
    hand.close().await.unwrap();

    let any = super::jobs::query;
    for (what, query, total) in [
        ("first page", any(""), 100_000),
        ("last page", JobQuery { offset: 99_950, ..any("") }, 100_000),
        ("by title", JobQuery { sort: JobSort::Title, ..any("") }, 100_000),
        ("by number", JobQuery { sort: JobSort::Number, ..any("") }, 100_000),
        ("one stage", JobQuery { stages: vec![StageKind::Quoted], ..any("") }, 2_000),
        ("a rare word", any("2020-77777"), 1),
        ("a common word", any("trailer"), 99_999),
        ("a word of none", any("zeppelin"), 0),
        ("open questions", JobQuery { asked: true, ..any("") }, 0),
    ] {
        let start = Instant::now();
        let page = store.jobs(&query).await.unwrap();
        let took = start.elapsed();
        println!("{what}: {took:?}");
        assert_eq!(page.total, total, "{what}");
        assert_eq!(page.rows.len() as u64, total.min(50), "{what}");
        assert!(took < LIST_LIMIT, "{what} took {took:?}");
    }
    for day in [TODAY, date(2005, 6, 1)] {
        let start = Instant::now();
        let book = store.rate_book(day).await.unwrap();
        let took = start.elapsed();
        println!("rate book as of {day}: {took:?} for {} items", book.items.len());
        assert_eq!(book.items.len(), items.len());
        assert!(took < BOOK_LIMIT, "{took:?}");
    }
    let start = Instant::now();
    store.create_job(&new, 2020, mara(1)).await.unwrap().unwrap();
    println!("a new job: {:?}", start.elapsed());
}
