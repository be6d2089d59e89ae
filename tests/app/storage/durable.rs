//! What was acknowledged survives a hard kill, and writers side by side lose nothing.

use std::{
    collections::BTreeSet,
    io::{BufRead, BufReader, Write},
    path::PathBuf,
    process::{Command, Stdio},
    time::Duration,
};

use hitchwright::storage::{Author, ForCustomer, Opened, Save, Store};
use proptest::{strategy::Strategy, test_runner::TestRunner};

use super::{at, contact, enter, kept, mara, new_job};

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn of_twenty_writers_at_once_none_is_lost() {
    const WRITERS: usize = 20;
    const EACH: usize = 5;
    let kept = kept().await;
    let (job, variant) = enter(&kept.store, "Shared job", "Wick Sands Rowing Club").await;
    let mut tasks = tokio::task::JoinSet::new();
    for writer in 0..WRITERS {
        let (store, variant) = (kept.store.clone(), variant.clone());
        tasks.spawn(async move {
            for round in 0..EACH {
                let title = format!("Job {round} of writer {writer}");
                let new = new_job(&title, ForCustomer::New(contact(&format!("Customer {writer}"))));
                store.create_job(&new, 2026, mara(1)).await.expect("stored").expect("a job");
                // Read, change, save, again when somebody was faster: nobody's change may be lost.
                loop {
                    let mut read = store.variant(variant.id).await.expect("read").expect("a variant");
                    read.design.bed.length =
                        hitchwright::domain::measure::Length::from_mm(read.design.bed.length.mm() + 1.0);
                    let saved = store
                        .save_variant(variant.id, read.version, (&read.design, &read.offer), None, mara(2))
                        .await
                        .expect("stored");
                    if let Save::Saved(_) = saved {
                        break;
                    }
                }
            }
        });
    }
    while let Some(done) = tasks.join_next().await {
        done.expect("a writer");
    }
    let by_stage = kept.store.jobs_by_stage().await.unwrap();
    assert_eq!(by_stage[0].1 as usize, WRITERS * EACH + 1);
    let after = &kept.store.variants(job).await.unwrap()[0];
    let grown = after.design.bed.length.mm() - variant.design.bed.length.mm();
    assert_eq!(grown.round() as usize, WRITERS * EACH);
    assert_eq!(after.version.0, variant.version.0 + (WRITERS * EACH) as i64);
}

const CHILD: &str = "HITCHWRIGHT_TEST_CHILD_WRITES_TO";

/// Writes messages and acknowledges each. [`every_acknowledged_write_survives_a_hard_kill`] starts this as a process on its
/// own file and kills it; as a test of its own it stops after a few and counts them.
#[test]
fn acknowledges_each_write() {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    runtime.block_on(async {
        if let Some(path) = std::env::var_os(CHILD) {
            write_messages(&Store::open(&PathBuf::from(path)).await.expect("a store").store, usize::MAX).await;
        } else {
            let kept = kept().await;
            let (job, _) = enter(&kept.store, "Written job", "Mountain Rescue Post").await;
            write_messages(&kept.store, 3).await;
            let texts: Vec<_> = kept.store.messages(job).await.unwrap().into_iter().map(|it| it.text).collect();
            assert_eq!(texts, ["write 0", "write 1", "write 2"]);
        }
    });
}

async fn write_messages(store: &Store, most: usize) {
    let job = store.jobs(&super::jobs::query("")).await.unwrap().rows[0].id;
    let start = store.messages(job).await.unwrap().len();
    let mut out = std::io::stdout();
    for count in (start..).take(most) {
        store.answer(job, None, &format!("write {count}"), mara(count as i64)).await.unwrap().unwrap();
        // Acknowledged: from here on it must never be lost.
        writeln!(out, "acknowledged write {count}").and_then(|()| out.flush()).unwrap();
    }
}

/// Slices of it in each run; more rounds with HITCHWRIGHT_LONG=1.
#[tokio::test]
async fn every_acknowledged_write_survives_a_hard_kill() {
    let rounds = if std::env::var_os("HITCHWRIGHT_LONG").is_some() { 100 } else { 5 };
    let kept = kept().await;
    let path = kept.store.path().to_owned();
    let (job, _) = enter(&kept.store, "Killed job", "Mountain Rescue Post").await;
    kept.store.close().await;
    let mut acknowledged = BTreeSet::new();
    let mut random = TestRunner::default();
    for _ in 0..rounds {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "storage::durable::acknowledges_each_write", "--nocapture", "--test-threads=1"])
            .env(CHILD, &path)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("a child");
        let lines = BufReader::new(child.stdout.take().expect("its output")).lines();
        let reader = std::thread::spawn(move || {
            let said = lines.map_while(Result::ok);
            said.filter_map(|line| line.split_once("acknowledged ").map(|(_, write)| write.to_owned()))
                .collect::<Vec<_>>()
        });
        let milliseconds =
            (100_u64..500).new_tree(&mut random).map(|tree| proptest::strategy::ValueTree::current(&tree));
        std::thread::sleep(Duration::from_millis(milliseconds.unwrap()));
        child.kill().expect("killed");
        child.wait().expect("gone");
        acknowledged.extend(reader.join().expect("its lines"));

        let Opened { store, is_new } = Store::open(&path).await.expect("opens after a kill");
        assert!(!is_new);
        let kept: BTreeSet<String> =
            store.messages(job).await.unwrap().into_iter().map(|message| message.text).collect();
        let lost: Vec<_> = acknowledged.difference(&kept).collect();
        assert!(lost.is_empty(), "lost: {lost:?}");
        // A write may be there whose acknowledgement the kill cut off, one a round, and no other.
        assert!(kept.len() <= acknowledged.len() + rounds, "{} kept, {} acknowledged", kept.len(), acknowledged.len());
        assert_eq!(store.verify().await.unwrap(), Vec::<String>::new());
        store.close().await;
    }
    assert!(acknowledged.len() >= rounds, "only {} writes in {rounds} rounds", acknowledged.len());
    let store = Store::open(&path).await.unwrap().store;
    assert!(
        store.messages(job).await.unwrap().iter().all(|message| message.author == Author::Shop && message.at >= at(0))
    );
}

/// The machine's clock may be put right, backwards too: what was written last stays last.
#[tokio::test]
async fn a_clock_that_is_set_back_changes_no_order() {
    use hitchwright::{
        domain::rack::Movement,
        domain::shop::ShopBook,
        storage::{NewPiece, PieceMoved, Step, Version},
    };
    let kept = kept().await;
    let store = &kept.store;
    let (later, earlier) = (7200, 0);
    let item = ShopBook::demo().rates.items.remove(0);
    assert_eq!(store.add_items(std::slice::from_ref(&item), mara(0)).await.unwrap(), [""; 0]);
    let day = super::TODAY;
    for (version, price, second) in [(1, "7.00", later), (2, "8.00", earlier)] {
        let saved = store.edit_price(&item.code, Version(version), super::money(price), None, day, mara(second)).await;
        assert!(matches!(saved.unwrap(), Save::Saved(_)));
    }
    let now = store.item(&item.code, day).await.unwrap().unwrap();
    assert_eq!(now.item.price, super::money("8.00"), "the price that was entered last holds");
    assert_eq!(store.item_history(&item.code).await.unwrap()[0].price, super::money("8.00"));
    assert_eq!(store.rate_book(day).await.unwrap().items[0].price, super::money("8.00"));

    let (job, _) = enter(store, "Hive trailer", "Wick Sands Apiary").await;
    for (text, second) in [("first", later), ("second", earlier)] {
        store.answer(job, None, text, mara(second)).await.unwrap().unwrap();
    }
    let texts: Vec<String> = store.messages(job).await.unwrap().into_iter().map(|message| message.text).collect();
    assert_eq!(texts, ["first", "second"]);

    for second in [later, earlier] {
        let body = serde_json::json!({"price": "2480.00"});
        let _ = super::issue(store, job, &body, jiff::civil::date(2026, 12, 9), mara(second)).await;
    }
    let heads = store.revisions(job).await.unwrap();
    assert_eq!(heads.iter().map(|head| head.number).collect::<Vec<_>>(), [2, 1]);
    assert_eq!((heads[0].superseded_at, heads[1].superseded_at), (None, Some(at(earlier))));

    let stock = r#"{"kind":"bar","section":"rhs 60x40x3","grade":"S235","length":60000}"#;
    let new = NewPiece {
        stock: serde_json::from_str(stock).unwrap(),
        worth: super::money("24.00"),
        sawn_here: false,
        place: "bay 2".into(),
        origin: "bought".into(),
    };
    let tags = store.receive_pieces(&new, 1, mara(later)).await.unwrap();
    let scrapped = store.move_piece(&tags[0], Step::Scrap { why: "bent" }, mara(earlier)).await.unwrap();
    assert_eq!(scrapped, PieceMoved::Done(Vec::new()));
    let (_, lines) = store.rack_piece(&tags[0]).await.unwrap().unwrap();
    let steps: Vec<Movement> = lines.iter().map(|line| line.movement).collect();
    assert_eq!(steps, [Movement::Scrapped, Movement::Received]);

    // A session that was in use a moment ago stays so, and ends in time.
    let person = hitchwright::domain::people::PersonName::parse("Zoe").unwrap();
    let role = hitchwright::domain::people::Role::Owner;
    let new = hitchwright::storage::NewPerson { name: &person, role, password: None, demo: false };
    let zoe = store.add_person(new, mara(later)).await.unwrap().unwrap();
    let token = store.start_session(zoe, at(later), at(later + 60)).await.unwrap();
    assert!(store.session(&token, at(earlier), at(earlier - 60)).await.unwrap().is_some());
    assert!(store.session(&token, at(later + 60), at(later)).await.unwrap().is_none());
    assert_eq!(store.verify().await.unwrap(), Vec::<String>::new());
}
