//! Backup, verify, restore and one server to a file, as commands beside a running server.

use std::{
    fs,
    io::{BufRead, BufReader},
    path::Path,
    process::{Child, Output},
};

use hitchwright::{
    demo,
    domain::{
        measure::{Money, Tenths},
        quote::StageKind,
    },
    storage::{By, JobQuery, JobSort, NewPiece, OpenError, PieceMoved, Serving, Step, Store},
};

use crate::serve::server;

/// A server on the file of a folder that outlives it; killed at the end.
struct Server(Child);

impl Server {
    fn start(folder: &Path) -> Self {
        let mut child = server(folder, &["serve", "--listen", "127.0.0.1:0", "--no-demo"]).spawn().expect("it runs");
        let said = BufReader::new(child.stdout.take().expect("its output"));
        let is_open = said.lines().map_while(Result::ok).any(|line| line.contains("is open at"));
        assert!(is_open, "it never opened");
        Self(child)
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Runs a command in a folder: its exit code, standard output and standard error.
pub fn run(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    let Output { status, stdout, stderr } = server(folder, arguments).output().expect("the program runs");
    let text = |bytes| String::from_utf8(bytes).expect("text");
    (status.code().expect("an end of its own"), text(stdout), text(stderr))
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).expect("a folder");
    let mut names: Vec<String> =
        entries.map(|entry| entry.expect("an entry").file_name().into_string().expect("a name")).collect();
    names.sort();
    names
}

#[test]
fn a_backup_is_made_verified_and_restored_and_a_server_in_the_way_is_named() {
    let folder = tempfile::tempdir().expect("a folder");
    let here = folder.path();
    let running = Server::start(here);

    // Beside the server.
    let (code, said, fault) = run(here, &["backup", "copy.sqlite"]);
    assert_eq!((code, fault.as_str()), (0, ""), "{said}");
    assert!(said.contains("copy.sqlite"), "{said}");
    let first = fs::read(here.join("copy.sqlite")).expect("a copy");
    let (code, _, fault) = run(here, &["backup", "copy.sqlite"]);
    assert!(code == 1 && fault.contains("exists already") && fault.contains("--replace"), "{fault}");
    assert_eq!(fs::read(here.join("copy.sqlite")).expect("the copy"), first, "left as it was");
    assert_eq!(run(here, &["backup", "copy.sqlite", "--replace"]).0, 0);
    let (code, _, fault) = run(here, &["backup", "hitchwright.sqlite", "--replace"]);
    assert!(code == 1 && fault.contains("the database itself"), "{fault}");
    for file in ["hitchwright.sqlite", "copy.sqlite"] {
        let (code, said, fault) = run(here, &["verify", file]);
        assert_eq!((code, fault.as_str()), (0, ""), "{said}");
        assert!(said.ends_with("is sound.\n") && said.contains("issued revisions"), "{said}");
    }
    let (code, _, fault) = run(here, &["restore", "copy.sqlite"]);
    assert!(code == 1 && fault.contains("another server has"), "{fault}");
    let (code, _, fault) = run(here, &["serve", "--listen", "127.0.0.1:0"]);
    assert!(code == 1 && fault.contains("another server has") && fault.lines().count() == 1, "{fault}");
    drop(running);

    // A killed server leaves its log of writes: it goes aside with the file.
    let (code, said, fault) = run(here, &["restore", "copy.sqlite"]);
    assert_eq!((code, fault.as_str()), (0, ""), "{said}");
    assert!(said.contains("before-restore-"), "{said}");
    assert!(names(here).iter().any(|name| name.starts_with("hitchwright.sqlite.before-restore-")), "{:?}", names(here));
    assert!(!here.join("hitchwright.sqlite-wal").exists());
    assert_eq!(run(here, &["verify", "hitchwright.sqlite"]).0, 0);
    let _again = Server::start(here);
    assert!(
        !names(here).iter().any(|name| name.ends_with(".part") || name.ends_with(".restoring")),
        "{:?}",
        names(here)
    );
}

#[test]
fn what_is_no_sound_file_is_named_and_never_restored() {
    let folder = tempfile::tempdir().expect("a folder");
    let here = folder.path();
    for (file, says) in [("missing.sqlite", "there is no file"), ("notes.txt", "not a Hitchwright database")] {
        if file == "notes.txt" {
            fs::write(here.join(file), "a list").expect("a file");
        }
        for command in ["verify", "restore"] {
            let (code, _, fault) = run(here, &[command, file]);
            assert!(code == 1 && fault.contains(says) && fault.lines().count() == 1, "{command} {file}: {fault}");
        }
    }
    assert_eq!(names(here), ["notes.txt"], "reading makes no file");
}

/// A hand that tampers with a copy of a filled shop, and what `verify` says of it.
#[tokio::test]
async fn each_kind_of_damage_is_found() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = folder.path().join("shop.sqlite");
    let store = Store::open(&shop).await.expect("a store").store;
    let by = By { who: "Mara", at: "2026-11-25T09:00:00Z".parse().expect("a time") };
    demo::fill(&store, by.at, jiff::civil::date(2026, 11, 25)).await.expect("a demo shop");
    fill_rack(&store, by).await;
    for (number, (tampering, says)) in [
        (
            &["DROP TRIGGER revision_is_never_changed", "UPDATE revision SET price = '1.00' WHERE id = 1"][..],
            "is listed at 1.00",
        ),
        (
            &["DROP TRIGGER revision_is_never_changed", "UPDATE revision SET body = body || ' ' WHERE id = 1"],
            "its hash differs",
        ),
        (&["DELETE FROM audit WHERE id = 2"], "some were taken out"),
        (&["UPDATE variant SET chosen = 0 WHERE job_id = 1"], "job 1 has no chosen design"),
        (
            &["PRAGMA foreign_keys = OFF", "UPDATE job SET customer_id = 9999 WHERE id = 1"],
            "job 1 refers to a customer",
        ),
        (&["UPDATE person SET active = 0"], "no owner can sign in"),
        (&["DROP TABLE movement"], "the table movement is gone"),
        (&["UPDATE piece SET state = 'free', job_id = NULL WHERE tag = 'R-0034'"], "but its movements leave it reserved"),
        (&["UPDATE piece SET job_id = (SELECT max(j.id) FROM job j WHERE j.id <> piece.job_id) WHERE tag = 'R-0034'"], "but its movements leave it reserved for job"),
        (&["UPDATE piece SET state = 'free' WHERE tag = 'R-0033'"], "but its movements leave it gone"),
        (&["UPDATE piece SET stock = replace(stock, '2000.0', '60000.1') WHERE tag = 'R-0035'"], "mm came back from it"),
        (&["UPDATE piece SET sawn_from = 2 WHERE tag = 'R-0035'"], "which was never cut"),
        (&["DROP TRIGGER movement_is_never_deleted", "DELETE FROM movement WHERE piece_id = 2"], "it never came in"),
        (
            &["DROP TRIGGER movement_is_never_changed", "UPDATE movement SET job_id = (SELECT id FROM job WHERE accepted_at IS NULL) WHERE kind = 'reserved'"],
            "was never accepted",
        ),
    ]
    .into_iter()
    .enumerate()
    {
        let copy = folder.path().join(format!("copy-{number}.sqlite"));
        store.backup(&copy, false).await.expect("a copy");
        assert_eq!(run(folder.path(), &["verify", copy.to_str().expect("a name")]).0, 0);
        tamper(&copy, tampering).await;
        let (code, said, _) = run(folder.path(), &["verify", copy.to_str().expect("a name")]);
        assert!(code == 1 && said.contains(says) && said.contains("NOT sound"), "{tampering:?}: {said}");
        let (code, _, fault) =
            run(folder.path(), &["restore", copy.to_str().expect("a name"), "--database", "shop.sqlite"]);
        assert!(code == 1 && fault.contains("nothing was restored"), "{fault}");
    }
}

/// Beside the 32 pieces of the demo: a bar that was sawn for an accepted job (R-0033), another that is reserved for it (R-0034), and
/// what came back (R-0035).
async fn fill_rack(store: &Store, by: By<'_>) {
    let stages = [StageKind::Accepted, StageKind::InTheShop];
    let query = JobQuery {
        search: String::new(),
        stages: stages.to_vec(),
        asked: false,
        sort: JobSort::Number,
        offset: 0,
        limit: 1,
    };
    let job = store.jobs(&query).await.expect("read").rows.remove(0).summary.number.to_string();
    let stock = r#"{"kind":"bar","section":"rhs 60x40x3","grade":"S235","length":60000}"#;
    let new = NewPiece {
        stock: serde_json::from_str(stock).expect("a bar"),
        worth: Money::ZERO,
        sawn_here: false,
        place: "bay 2".into(),
        origin: "delivery 17".into(),
    };
    let tags = store.receive_pieces(&new, 2, by).await.expect("stored");
    for tag in &tags {
        let reserved = store.move_piece(tag, Step::Reserve { job: &job }, by).await.expect("stored");
        assert_eq!(reserved, PieceMoved::Done(Vec::new()));
    }
    let cut = Step::Cut { kerf: Tenths(20), remainders: &[Tenths(20_000)], decimals: 2 };
    assert_eq!(store.move_piece(&tags[0], cut, by).await.expect("stored"), PieceMoved::Done(vec!["R-0035".into()]));
}

async fn tamper(file: &Path, statements: &[&str]) {
    use sqlx::{ConnectOptions, Connection};
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(file);
    let mut connection = options.connect().await.expect("a connection");
    for sql in statements {
        sqlx::query(sqlx::AssertSqlSafe((*sql).to_owned())).execute(&mut connection).await.expect("tampered");
    }
    connection.close().await.expect("closed");
}

#[test]
fn one_process_serves_a_file_by_whichever_name() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("shop.sqlite");
    fs::write(&file, "").expect("a file");
    let held = Serving::claim(&file).expect("free");
    #[cfg(unix)]
    {
        let other = folder.path().join("link.sqlite");
        std::os::unix::fs::symlink(&file, &other).expect("a link");
        assert!(matches!(Serving::claim(&other), Err(OpenError::Served(_))));
    }
    assert!(matches!(Serving::claim(&file), Err(OpenError::Served(_))));
    drop(held);
    Serving::claim(&file).expect("free again");
}
