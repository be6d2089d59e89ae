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
