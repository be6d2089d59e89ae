//! Opening: a file that is ours, and each way in which it is not.

use std::path::Path;

use hitchwright::{
    domain::buying::Standing,
    storage::{MIGRATOR, OpenError, Opened, OrderId, Store},
};
use sqlx::{ConnectOptions, Connection, sqlite::SqliteConnectOptions};

use super::{enter, kept, past_the_store};

async fn refused(path: &Path) -> OpenError {
    Store::open(path).await.expect_err("refused")
}

#[tokio::test]
async fn a_new_file_is_new_once_and_keeps_what_was_written() {
    let kept = kept().await;
    let path = kept.store.path().to_owned();
    let (job, _) = enter(&kept.store, "Hive trailer", "Wick Sands Apiary").await;
    kept.store.close().await;
    let Opened { store, is_new } = Store::open(&path).await.expect("opened again");
    assert!(!is_new);
    assert_eq!(store.job(job).await.unwrap().unwrap().title, "Hive trailer");
    assert_eq!(store.verify().await.unwrap(), Vec::<String>::new());
}

#[tokio::test]
async fn a_foreign_file_is_refused_and_left_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let text = folder.path().join("notes.txt");
    std::fs::write(&text, "Not a database, but longer than a header.").unwrap();
    let error = refused(&text).await;
    assert!(matches!(error, OpenError::Foreign(_)), "{error:?}");
    assert!(
        error
            .to_string()
            .ends_with("is not a Hitchwright database; it was left untouched: name another file with --database")
    );
    assert_eq!(std::fs::read_to_string(&text).unwrap(), "Not a database, but longer than a header.");

    let other = folder.path().join("other.sqlite");
    let mut connection = SqliteConnectOptions::new().filename(&other).create_if_missing(true).connect().await.unwrap();
    sqlx::query("CREATE TABLE somebody (id INTEGER)").execute(&mut connection).await.unwrap();
    connection.close().await.unwrap();
    let before = std::fs::read(&other).unwrap();
    assert!(matches!(refused(&other).await, OpenError::Foreign(_)));
    assert_eq!(std::fs::read(&other).unwrap(), before);
}

#[tokio::test]
async fn an_empty_file_is_a_new_one() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shop.sqlite");
    std::fs::write(&path, "").unwrap();
    assert!(Store::open(&path).await.expect("a store").is_new);
}

#[tokio::test]
async fn a_newer_schema_is_refused_and_left_as_it_was() {
    let kept = kept().await;
    let path = kept.store.path().to_owned();
    kept.store.close().await;
    let known = MIGRATOR.iter().map(|migration| migration.version).max().unwrap();
    let mut connection = past_the_store(&kept).await;
    sqlx::query("INSERT INTO _sqlx_migrations (version, description, success, checksum, execution_time) VALUES ($1, 'later', true, x'00', 0)")
        .bind(known + 1)
        .execute(&mut connection)
        .await
        .unwrap();
    connection.close().await.unwrap();
    let error = refused(&path).await;
    assert!(matches!(error, OpenError::Newer { found, known: ours, .. } if found == known + 1 && ours == known));
    assert!(error.to_string().contains("was written by a newer Hitchwright"), "{error}");
}

#[tokio::test]
async fn a_place_that_cannot_hold_the_file_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let error = refused(folder.path()).await;
    assert!(matches!(error, OpenError::IsFolder { .. }), "{error:?}");
    assert!(error.to_string().contains("hitchwright.sqlite"), "{error}");
    let error = refused(&folder.path().join("missing").join("shop.sqlite")).await;
    assert!(matches!(&error, OpenError::NoFolder(place) if place.ends_with("missing")), "{error:?}");
}

/// Nobody may create a file in `/proc`, root neither (proc(5)); `/proc/version` may be read by all and written by none,
/// and is no database.
#[cfg(target_os = "linux")]
#[tokio::test]
async fn a_folder_or_file_that_cannot_be_written_is_named() {
    let error = refused(Path::new("/proc/shop.sqlite")).await;
    assert!(matches!(&error, OpenError::UnwritableFolder { folder, .. } if folder == Path::new("/proc")), "{error:?}");
    assert!(error.to_string().starts_with("cannot write in the folder /proc: "), "{error}");
    let error = refused(Path::new("/proc/version")).await;
    assert!(matches!(error, OpenError::UnwritableFile { .. } | OpenError::Foreign(_)), "{error:?}");
}

#[tokio::test]
async fn a_damaged_file_is_refused_or_found() {
    let kept = kept().await;
    let path = kept.store.path().to_owned();
    kept.store.close().await;
    // The header stays, the first table's page behind it becomes noise.
    let mut bytes = std::fs::read(&path).unwrap();
    bytes[100..3000].fill(0xA5);
    std::fs::write(&path, bytes).unwrap();
    let error = refused(&path).await;
    assert!(matches!(error, OpenError::Damaged { .. }), "{error:?}");
    assert!(error.to_string().ends_with("restore it from a backup"), "{error}");
}

#[tokio::test]
async fn a_backup_is_a_whole_file_of_its_own_and_never_overwrites() {
    let kept = kept().await;
    let (job, _) = enter(&kept.store, "Oven trailer", "The Clay Oven").await;
    let to = kept.folder.path().join("backup.sqlite");
    kept.store.backup(&to, false).await.expect("a backup");
    let error = kept.store.backup(&to, false).await.expect_err("refused");
    assert!(error.to_string().contains("exists already"), "{error}");
    let Opened { store, is_new } = Store::open(&to).await.expect("the backup opens");
    assert!(!is_new);
    assert_eq!(store.job(job).await.unwrap().unwrap().title, "Oven trailer");
    assert_eq!(store.verify().await.unwrap(), Vec::<String>::new());
}

/// A file of each earlier schema that a release may have left, with rows: it is verified as it is, brought up, and verified
/// again. With a new migration the file of the schema before it is added here.
#[tokio::test]
async fn a_file_of_each_earlier_schema_is_brought_up_whole() {
    for (schema, dump) in [
        (1, include_str!("fixtures/0001.sql")),
        (2, include_str!("fixtures/0002.sql")),
        (3, include_str!("fixtures/0003.sql")),
        (4, include_str!("fixtures/0004.sql")),
        (6, include_str!("fixtures/0006.sql")),
        (7, include_str!("fixtures/0007.sql")),
        (8, include_str!("fixtures/0008.sql")),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("old.sqlite");
        let options = SqliteConnectOptions::new()
            .filename(&path)
            .create_if_missing(true)
            // A dump lists tables by name, not parents first.
            .foreign_keys(false);
        let mut connection = options.connect().await.unwrap();
        sqlx::raw_sql(dump).execute(&mut connection).await.unwrap();
        connection.close().await.unwrap();

        let store = Store::open_to_read(&path).await.expect("an older file is read");
        let report = store.report().await.unwrap();
        assert!(report.is_sound() && report.schema == schema && report.schema <= report.known, "{report:?}");
        let looked = |check: &str| report.findings.iter().any(|finding| finding.check == check);
        assert_eq!((looked("people"), looked("rack"), looked("releases")), (schema >= 2, schema >= 3, schema >= 5));
        assert_eq!(looked("orders"), schema >= 8);
        store.close().await;

        let Opened { store, is_new } = Store::open(&path).await.expect("brought up");
        assert!(!is_new);
        assert_eq!(store.orders(0, 10).await.unwrap().total, if schema >= 7 { 4 } else { 0 });
        if schema >= 7 {
            came_whole_in_part_or_not_at_all(&store).await;
        }
        assert_eq!(store.verify().await.unwrap(), Vec::<String>::new());
        let job = store.jobs(&super::jobs::query("hive")).await.unwrap().rows[0].id;
        assert_eq!(store.revisions(job).await.unwrap().len(), 1);
        assert_eq!(store.messages(job).await.unwrap()[0].text, "May it be green?");
        assert_eq!(store.people().await.unwrap().len(), if schema >= 2 { 2 } else { 0 });
        let pieces = store.rack_pieces().await.unwrap();
        let tags: Vec<&str> = pieces.iter().map(|piece| piece.on_rack.tag.as_str()).collect();
        let on_rack = ["R-0002", "R-0003", "R-0004", "R-0005"];
        assert_eq!(
            tags,
            on_rack[..match schema {
                1 | 2 => 0,
                3..=6 => 2,
                _ => 4,
            }]
        );
        if schema >= 4 {
            let item = store.item("WIRE", super::TODAY).await.unwrap().unwrap();
            assert_eq!(item.item.price, super::money("4.30"));
            assert_eq!(store.item_history("WIRE").await.unwrap().len(), 3, "with the other supplier's");
        }
    }
}

/// What stood as arrived before arrivals were kept line by line has come whole; of what was awaited that has come which lies on the rack.
async fn came_whole_in_part_or_not_at_all(store: &Store) {
    let mut found = Vec::new();
    for order in 1..=4 {
        let order = store.order(OrderId(order)).await.unwrap().expect("an order");
        let came: Vec<String> = order.lines.iter().map(|kept| kept.came.to_string()).collect();
        found.push((order.head.standing, came.join(" "), order.lines.iter().all(|kept| kept.due == order.head.due)));
    }
    let expected = [
        (Standing::Arrived, "10", true),
        (Standing::Awaited, "1 0", true),
        (Standing::Cancelled, "0", true),
        (Standing::Arrived, "1", true),
    ];
    assert_eq!(found, expected.map(|(standing, came, due)| (standing, came.to_owned(), due)));
    assert_eq!(store.awaited_orders().await.unwrap().len(), 1);
}
