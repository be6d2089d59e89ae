//! The rack's ledger: one job has a piece, lengths are conserved, and history is never rewritten.

use hitchwright::{
    demo,
    domain::{
        estimate::{Estimate, estimate},
        measure::{Money, Tenths},
        nesting::{Budget, unwatched},
        rack::{Movement, Refused, SawFault, State},
        shop::{Rack, ShopBook, Stocked},
    },
    storage::{Came, JobId, NewPiece, NewRelease, PieceMoved, Released, Remainder, Step, Store},
};

use super::{enter, kept, mara, money, past_the_store, tam};

pub fn bar(mm: i64) -> NewPiece {
    NewPiece {
        stock: Stocked::Bar {
            section: "rhs 60x40x3".parse().expect("a section"),
            grade: "S235".parse().expect("a grade"),
            length: Tenths(mm * 10),
        },
        worth: money("24.00"),
        sawn_here: false,
        place: "bay 2".into(),
        origin: "bought".into(),
    }
}

/// An accepted job; its id and number.
pub async fn accepted(kept: &super::Kept, title: &str) -> (JobId, String) {
    let (id, _) = enter(&kept.store, title, "Wick Sands Rowing Club").await;
    let mut hand = past_the_store(kept).await;
    sqlx::query("UPDATE job SET stage = 'accepted', quoted_at = enquired_at, accepted_at = enquired_at WHERE id = $1")
        .bind(id.0)
        .execute(&mut hand)
        .await
        .expect("accepted");
    (id, kept.store.job(id).await.expect("read").expect("a job").number.to_string())
}

async fn state(store: &Store, tag: &str) -> State<JobId> {
    store.rack_piece(tag).await.expect("read").expect("a piece").0.state
}

#[tokio::test]
async fn a_piece_goes_its_way_and_every_step_is_kept() {
    let kept = kept().await;
    let store = &kept.store;
    let (job, number) = accepted(&kept, "Hives").await;
    let tags = store.receive_pieces(&bar(6000), 2, mara(1)).await.unwrap();
    assert_eq!(tags, ["R-0001", "R-0002"]);
    let done = PieceMoved::Done(Vec::new());
    assert_eq!(store.move_piece("R-0001", Step::Reserve { job: &number }, mara(2)).await.unwrap(), done);
    assert_eq!(state(store, "R-0001").await, State::Reserved(job));
    let scrap = Step::Scrap { why: "bent" };
    assert_eq!(store.move_piece("R-0001", scrap, mara(3)).await.unwrap(), PieceMoved::Refused(Refused::Reserved));
    // Too long by one tenth: 6000.0 = 5997.5 + 2.5, not 5997.6 + 2.5.
    let kerf = Tenths(25);
    let cut = |remainders| Step::Cut { kerf, remainders, decimals: 2 };
    let long = store.move_piece("R-0001", cut(&[Tenths(59_976)]), tam(4)).await.unwrap();
    assert_eq!(long, PieceMoved::Sawn(SawFault::TooLong { asked: Tenths(60_001), bar: Tenths(60_000) }));
    assert_eq!(store.rack_pieces().await.unwrap().len(), 2, "nothing came of it");
    let sawn = store.move_piece("R-0001", cut(&[Tenths(15_000)]), tam(5)).await.unwrap();
    assert_eq!(sawn, PieceMoved::Done(vec!["R-0003".into()]));
    let (rest, history) = store.rack_piece("R-0003").await.unwrap().expect("the remainder");
    assert_eq!((rest.on_rack.worth, rest.on_rack.sawn_here, rest.state), (money("6.00"), true, State::Free));
    assert_eq!((history[0].movement, history[0].job_number.as_deref()), (Movement::Returned, Some(number.as_str())));
    let (_, history) = store.rack_piece("R-0001").await.unwrap().expect("the bar");
    let steps: Vec<_> = history.iter().rev().map(|line| (line.movement, line.who.as_str())).collect();
    assert_eq!(steps, [(Movement::Received, "Mara"), (Movement::Reserved, "Mara"), (Movement::Cut, "Tam")]);
    assert_eq!(store.move_piece("R-0001", scrap, mara(6)).await.unwrap(), PieceMoved::Refused(Refused::Gone));
    assert_eq!(store.move_piece("R-0002", Step::Free, mara(6)).await.unwrap(), PieceMoved::Refused(Refused::NotTheirs));
    let correct = Step::Correct { length: Tenths(59_400), width: None, why: "measured" };
    assert_eq!(store.move_piece("R-0002", correct, mara(7)).await.unwrap(), done);
    assert_eq!(store.rack_pieces().await.unwrap()[0].on_rack.stock, bar(5940).stock);
    assert_eq!(store.move_piece("R-0099", Step::Free, mara(8)).await.unwrap(), PieceMoved::Missing);
    assert_eq!(store.move_piece("R-0002", Step::Reserve { job: "none" }, mara(8)).await.unwrap(), PieceMoved::NoJob);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn of_many_jobs_that_want_a_piece_at_once_one_gets_it() {
    let kept = kept().await;
    let mut jobs = Vec::new();
    for job in 0..12 {
        jobs.push(accepted(&kept, &format!("Job {job}")).await.1);
    }
    let tags = kept.store.receive_pieces(&bar(3000), 5, mara(1)).await.unwrap();
    let mut tasks = tokio::task::JoinSet::new();
    for number in jobs {
        let (store, tags) = (kept.store.clone(), tags.clone());
        tasks.spawn(async move {
            let mut won = Vec::new();
            for tag in tags {
                match store.move_piece(&tag, Step::Reserve { job: &number }, tam(2)).await.expect("stored") {
                    PieceMoved::Done(_) => won.push(tag),
                    other => assert_eq!(other, PieceMoved::Refused(Refused::Reserved)),
                }
            }
            won
        });
    }
    let mut won: Vec<String> = Vec::new();
    while let Some(done) = tasks.join_next().await {
        won.extend(done.expect("a job"));
    }
    won.sort();
    assert_eq!(won, tags, "each piece went to one job");
}

#[tokio::test]
async fn a_hand_past_the_store_cannot_rewrite_the_ledger_or_reserve_twice() {
    let kept = kept().await;
    let (job, number) = accepted(&kept, "Hives").await;
    let (other, _) = accepted(&kept, "Boats").await;
    kept.store.receive_pieces(&bar(6000), 1, mara(1)).await.unwrap();
    let _ = kept.store.move_piece("R-0001", Step::Reserve { job: &number }, mara(2)).await.unwrap();
    let mut hand = past_the_store(&kept).await;
    for (sql, says) in [
        ("UPDATE movement SET who = 'nobody'".to_owned(), "never changed"),
        ("DELETE FROM movement".to_owned(), "never deleted"),
        ("DELETE FROM piece".to_owned(), "never deleted"),
        (insert("reserved", Some(other)), "not free"),
        (insert("cut", Some(other)), "not free"),
        (insert("scrapped", None), "not free"),
        (insert("received", None), "not free"),
    ] {
        let fault = sqlx::query(sqlx::AssertSqlSafe(sql.clone())).execute(&mut hand).await.expect_err("refused");
        assert!(fault.to_string().contains(says), "{sql}: {fault}");
    }
    assert_eq!(state(&kept.store, "R-0001").await, State::Reserved(job));
}

fn insert(kind: &str, job: Option<JobId>) -> String {
    let job = job.map_or("NULL".into(), |job| job.to_string());
    format!("INSERT INTO movement (piece_id, kind, job_id, why, at, who) VALUES (1, '{kind}', {job}, '', 0, 'nobody')")
}

/// An estimate whose plan takes R-0001, a bar of what it cuts, so cheap that no plan without it costs as little.
async fn planned_with_a_bar(store: &Store) -> Estimate {
    let (book, spec) = (ShopBook::demo(), demo::jobs().expect("the demo's jobs").remove(0).spec);
    let plan = |rack: &Rack| estimate(&spec, &book, rack, Budget::preview(), &mut unwatched).expect("an estimate");
    let demand = plan(&Rack::default()).take_off.bars.remove(0);
    let stock = Stocked::Bar { section: demand.section, grade: demand.grade, length: Tenths(60_000) };
    let new = NewPiece { stock, worth: money("0.01"), ..bar(6000) };
    assert_eq!(store.receive_pieces(&new, 1, mara(1)).await.unwrap(), ["R-0001"]);
    let pieces = store.rack_pieces().await.unwrap().into_iter().map(|piece| piece.on_rack).collect();
    let planned = plan(&Rack { pieces });
    assert_eq!(planned.cutting.rack_tags(), ["R-0001"]);
    planned
}

#[tokio::test]
async fn a_release_is_booked_whole_or_not_at_all_and_never_changed() {
    let kept = kept().await;
    let store = &kept.store;
    let (job, _) = accepted(&kept, "Hives").await;
    let estimate = planned_with_a_bar(store).await;
    let as_planned = vec![store.rack_pieces().await.unwrap().remove(0).on_rack];
    let (need, variant) =
        (store.job(job).await.unwrap().unwrap().version, store.variants(job).await.unwrap().remove(0));
    let new = NewRelease {
        job,
        need,
        variant: (variant.id, variant.version),
        estimate: &estimate,
        pieces: &as_planned,
        seen: store.ordered_so_far().await.unwrap().seen,
        bought_for_others: &[],
        what: "released",
    };
    // It was found to be shorter after the plan was made.
    let correct = Step::Correct { length: Tenths(59_000), width: None, why: "measured" };
    let _ = store.move_piece("R-0001", correct, mara(2)).await.unwrap();
    assert_eq!(store.release(&new, mara(3)).await.unwrap(), Released::Taken(vec!["R-0001".into()]));
    assert_eq!((state(store, "R-0001").await, store.job_release(job).await.unwrap()), (State::Free, None));
    let back = Step::Correct { length: Tenths(60_000), width: None, why: "measured again" };
    let _ = store.move_piece("R-0001", back, mara(4)).await.unwrap();
    let older = NewRelease { need: hitchwright::storage::Version(need.0 - 1), ..new };
    assert_eq!(store.release(&older, mara(5)).await.unwrap(), Released::Changed);
    let ordered_since = NewRelease { seen: super::orders::one_more(store, job).await, ..new };
    assert_eq!(store.release(&ordered_since, mara(5)).await.unwrap(), Released::Changed);
    let new = NewRelease { seen: store.ordered_so_far().await.unwrap().seen, ..new };
    let rest = Remainder {
        from: Some("R-0001".into()),
        stock: Stocked::Bar {
            section: estimate.take_off.bars[0].section,
            grade: estimate.take_off.bars[0].grade,
            length: Tenths(60_010),
        },
        worth: Money::ZERO,
        origin: "left over".into(),
    };
    let rests = [rest];
    assert_eq!(store.return_remainders(job, &rests, "bay 2", mara(5)).await.unwrap(), Came::NotReleased);
    assert_eq!(store.release(&new, mara(6)).await.unwrap(), Released::Done);
    assert_eq!(state(store, "R-0001").await, State::Gone);
    assert!(matches!(store.release(&new, mara(7)).await.unwrap(), Released::Refused(_)));
    assert_eq!(store.verify().await.unwrap(), Vec::<String>::new());
    let found = store.job_release(job).await.unwrap().expect("a release");
    assert_eq!((found.estimate.cutting, found.returned), (estimate.cutting, None));

    let mut hand = past_the_store(&kept).await;
    for sql in ["UPDATE job_release SET body = '{}'", "DELETE FROM job_release"] {
        let fault = sqlx::query(sql).execute(&mut hand).await.expect_err("refused");
        assert!(fault.to_string().contains("a release is never"), "{sql}: {fault}");
    }
    // Longer than the bar it is left of: verify finds it, and that a booking is gone.
    assert_eq!(
        store.return_remainders(job, &rests, "bay 2", mara(8)).await.unwrap(),
        Came::Back(vec!["R-0002".into()])
    );
    assert_eq!(store.return_remainders(job, &rests, "bay 2", mara(9)).await.unwrap(), Came::Already);
    for sql in ["DROP TRIGGER movement_is_never_deleted", "DELETE FROM movement WHERE kind = 'cut'"] {
        sqlx::query(sql).execute(&mut hand).await.expect("tampered with");
    }
    let faults = store.verify().await.unwrap().join("; ");
    for says in ["but 6001.0 mm came back from it", "takes piece R-0001, which was never cut for it"] {
        assert!(faults.contains(says), "{faults}");
    }
}
