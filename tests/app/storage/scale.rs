//! A shop of many years: 100,000 jobs and 1,000,000 prices. Runs with HITCHWRIGHT_LONG=1 alone: filling takes a minute. It prints how
//! long reading takes, and holds what is read.

use std::time::{Duration, Instant};

use hitchwright::{domain::quote::StageKind, storage::*};
use jiff::civil::date;
use sqlx::Connection;

use super::{TODAY, contact, kept, mara, new_job, past_the_store};

#[tokio::test]
async fn lists_and_rate_book_are_whole_in_a_full_store() {
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
    }
    for day in [TODAY, date(2005, 6, 1)] {
        let start = Instant::now();
        let book = store.rate_book(day).await.unwrap();
        let took = start.elapsed();
        println!("rate book as of {day}: {took:?} for {} items", book.items.len());
        assert_eq!(book.items.len(), items.len());
    }
    let start = Instant::now();
    store.create_job(&new, 2020, mara(1)).await.unwrap().unwrap();
    println!("a new job: {:?}", start.elapsed());
}

/// Ten years of orders: 3,000 of them with 30,000 lines, nearly all arrived and built in. What still counts is read without the rest.
#[tokio::test]
async fn what_still_counts_is_read_in_a_book_of_many_years() {
    if std::env::var_os("HITCHWRIGHT_LONG").is_none() {
        return;
    }
    let kept = kept().await;
    let store = &kept.store;
    let new = new_job("First", ForCustomer::New(contact("Wick Sands Apiary")));
    store.create_job(&new, 2020, mara(0)).await.unwrap().unwrap();
    let stock = serde_json::to_string(&super::rack::bar(6000).stock).unwrap();
    let mut hand = past_the_store(&kept).await;
    for sql in [
        // Of 1,500 jobs the last five are still to be built.
        "INSERT INTO job (year, sequence, number, title, customer_id, search, stage, enquired_at, quoted_at, valid_until,
         accepted_at, started_at, handed_over_at, need, version, need_at, need_by, created_at, updated_at)
         WITH RECURSIVE n(i) AS (SELECT 2 UNION ALL SELECT i + 1 FROM n WHERE i < 1500)
         SELECT 2020, i, printf('2020-%04d', i), 'Trailer ' || i, 1, '', CASE WHEN i > 1495 THEN 'accepted' ELSE 'handed-over' END,
         i, i, '2026-12-09', i, CASE WHEN i > 1495 THEN NULL ELSE i END, CASE WHEN i > 1495 THEN NULL ELSE i END,
         (SELECT need FROM job WHERE id = 1), 1, i, 'filled', i, i FROM n",
        "INSERT INTO purchase_order (supplier, day, lead_days, due, currency, sum, ordered_at, ordered_by)
         WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 3000)
         SELECT 'Supplier ' || i % 12, '2020-01-01', 3, '2020-01-06', 'GBP', '100.00', i, 'filled' FROM n",
        // Of ten lines two are of bars, one is of packs, of which something is left over.
        "INSERT INTO purchase_line (order_id, code, name, article, stock, unit, lead_days, pack, packs, bought, price_each, amount, due, needed)
         WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i < 29999)
         SELECT i / 10 + 1, CASE WHEN i % 10 < 2 THEN 'HS-' || i % 40 ELSE 'P-' || i % 400 END, 'thing', '',
         CASE WHEN i % 10 < 2 THEN $1 END, CASE WHEN i % 10 >= 2 THEN 'each' END, 3,
         CASE WHEN i % 10 = 9 THEN '10' ELSE '1' END, CASE WHEN i % 10 = 9 THEN '1' ELSE '2' END,
         CASE WHEN i % 10 = 9 THEN '10' ELSE '2' END, '5.00', '10.00', '2020-01-06', CASE WHEN i % 10 = 9 THEN '9' ELSE '2' END FROM n",
        "INSERT INTO purchase_share (line_id, job_id, quantity) SELECT id, 1 + (order_id - 1) / 2, needed FROM purchase_line",
        "INSERT INTO purchase_arrival (line_id, quantity, day, why, at, who)
         SELECT id, bought, '2020-01-06', '', 1, 'filled' FROM purchase_line WHERE order_id <= 2990",
        "INSERT INTO purchase_step (order_id, kind, day, why, at, who)
         SELECT id, 'arrived', '2020-01-06', '', 1, 'filled' FROM purchase_order WHERE id <= 2990",
        // Two bars of each line went over the rack.
        "INSERT INTO piece (id, tag, stock, worth, sawn_here, place, origin)
         SELECT l.id * 2 + n.i, printf('R-%04d', l.id * 2 + n.i), l.stock, '5.00', 0, 'bay 1', 'order ' || l.order_id
         FROM purchase_line l, (SELECT 0 AS i UNION SELECT 1) n WHERE l.stock IS NOT NULL AND l.order_id <= 2990",
        "INSERT INTO purchase_piece (piece_id, line_id) SELECT id, id / 2 FROM piece",
        "INSERT INTO movement (piece_id, kind, job_id, why, at, who) SELECT id, 'received', NULL, '', 1, 'filled' FROM piece",
        "INSERT INTO movement (piece_id, kind, job_id, why, at, who)
         SELECT c.piece_id, 'reserved', s.job_id, '', 1, 'filled' FROM purchase_piece c JOIN purchase_share s ON s.line_id = c.line_id
         WHERE s.job_id <= 1495",
        "INSERT INTO movement (piece_id, kind, job_id, why, at, who)
         SELECT id, 'cut', job_id, '', 1, 'filled' FROM piece WHERE state = 'reserved'",
    ] {
        let filled = sqlx::query(sql);
        let filled = if sql.contains("$1") { filled.bind(&stock) } else { filled };
        filled.execute(&mut hand).await.unwrap();
    }
    hand.close().await.unwrap();
    let mut fastest = [Duration::MAX; 2];
    for _ in 0..5 {
        let start = Instant::now();
        let so_far = store.ordered_so_far().await.unwrap();
        fastest[0] = fastest[0].min(start.elapsed());
        let open = so_far.jobs.values().filter(|job| job.stage == StageKind::Accepted).count();
        assert!(open == 5 && so_far.lines.len() >= 100, "{open} jobs, {} lines", so_far.lines.len());
        println!("{} lines that count", so_far.lines.len());
        let start = Instant::now();
        assert_eq!(store.awaited_orders().await.unwrap().len(), 10);
        fastest[1] = fastest[1].min(start.elapsed());
    }
    println!("what is on order: {:?}; orders awaited: {:?}", fastest[0], fastest[1]);
}
