//! Jobs, variants, customers: kept, found, and never overwritten silently.

use hitchwright::{
    domain::{
        measure::{Length, Mass},
        quote::{Move, Stage, StageKind},
        trailer::{Design, Load, Need, Offer},
    },
    storage::*,
};
use jiff::civil::date;

use super::{TODAY, at, contact, enter, headline, issue, kept, mara, new_job, tam};

pub fn query(search: &str) -> JobQuery {
    JobQuery { search: search.into(), stages: Vec::new(), asked: false, sort: JobSort::Updated, offset: 0, limit: 50 }
}

#[tokio::test]
async fn a_job_comes_back_as_it_was_entered() {
    let kept = kept().await;
    let store = &kept.store;
    let need = Need {
        count: 2,
        loads: vec![Load { name: "hives".into(), mass: Mass::from_kg(453.592_37), ..Load::default() }],
        ..Need::default()
    };
    let design = {
        let mut design = Design::default();
        design.bed.length = Length::from_mm(2440.5);
        design
    };
    let mut new = new_job("Hive trailer", ForCustomer::New(contact("Wick Sands Apiary")));
    (new.need, new.variant.design) = (need.clone(), design.clone());
    let (id, number) = store.create_job(&new, 2026, mara(0)).await.unwrap().unwrap();
    assert_eq!(number.to_string(), "2026-001");
    assert_eq!(store.job_id(number).await.unwrap(), Some(id));

    let job = store.job(id).await.unwrap().unwrap();
    assert_eq!(job.title, "Hive trailer");
    assert_eq!(job.customer.contact, contact("Wick Sands Apiary"));
    assert_eq!(job.stage, Stage::Enquiry { enquired_at: at(0) });
    assert_eq!(job.need, need);
    let variants = store.variants(id).await.unwrap();
    assert_eq!(variants.len(), 1);
    assert_eq!(variants[0].design, design);
    assert!(variants[0].chosen);
    assert_eq!(variants[0].headline, Some(headline("2480.00")));

    let mut again = new_job("Second hive trailer", ForCustomer::Known(job.customer.id));
    again.cloned_from = Some(id);
    let (second, number) = store.create_job(&again, 2026, mara(1)).await.unwrap().unwrap();
    assert_eq!(number.to_string(), "2026-002");
    assert_eq!(store.job(second).await.unwrap().unwrap().cloned_from.unwrap().to_string(), "2026-001");
    let (_, number) = store.create_job(&again, 2027, mara(2)).await.unwrap().unwrap();
    assert_eq!(number.to_string(), "2027-001");
    let nobody = new_job("Nobody's", ForCustomer::Known(CustomerId(99)));
    assert_eq!(store.create_job(&nobody, 2026, mara(3)).await.unwrap(), None);
    assert_eq!(store.job(JobId(99)).await.unwrap(), None);
}

#[tokio::test]
async fn a_stale_save_of_a_need_sees_both_sides_and_loses_nothing() {
    let kept = kept().await;
    let store = &kept.store;
    let (id, variant) = enter(store, "Hive trailer", "Wick Sands Apiary").await;
    let read = store.job(id).await.unwrap().unwrap();
    let mine = Need { count: 3, ..Need::default() };
    let theirs = Need { count: 2, ..Need::default() };
    let headlines = [(variant.id, Some(headline("4960.00")))];
    let Save::Saved(version) = store.save_need(id, read.version, &theirs, &headlines, tam(5)).await.unwrap() else {
        panic!("the first save counts")
    };
    let Save::Conflict(conflict) = store.save_need(id, read.version, &mine, &[], mara(6)).await.unwrap() else {
        panic!("the second is told")
    };
    assert_eq!(*conflict, Conflict { theirs: theirs.clone(), version, who: "Tam".into(), when: at(5) });
    assert_eq!(store.job(id).await.unwrap().unwrap().need, theirs);
    assert_eq!(store.variant(variant.id).await.unwrap().unwrap().headline, Some(headline("4960.00")));
    // Having seen theirs, the second may save over it.
    assert!(matches!(store.save_need(id, version, &mine, &[], mara(7)).await.unwrap(), Save::Saved(_)));
    assert!(matches!(store.save_need(JobId(99), version, &mine, &[], mara(7)).await.unwrap(), Save::Missing));
    let trail = store.job_audit(id).await.unwrap();
    assert_eq!(trail[0].what, "saved the need");
    assert_eq!(trail[0].before, Some(serde_json::json!({"count": 2})));
    assert_eq!(trail[0].after, Some(serde_json::json!({"count": 3})));
    assert_eq!(trail[0].who, "Mara");
}

#[tokio::test]
async fn variants_are_saved_named_chosen_and_dropped() {
    let kept = kept().await;
    let store = &kept.store;
    let (job, first) = enter(store, "Garden trailer", "Hedge and Garden").await;
    let mut design = Design::default();
    design.bed.width = Length::from_mm(1500.0);
    let offer = Offer::default();
    let save = store.save_variant(first.id, first.version, (&design, &offer), None, mara(1)).await.unwrap();
    let Save::Saved(version) = save else { panic!("{save:?}") };
    let kept = store.variant(first.id).await.unwrap().unwrap();
    assert_eq!((kept.version, &kept.design, kept.headline), (version, &design, None));
    let stale = store.save_variant(first.id, first.version, (&Design::default(), &offer), None, tam(2)).await.unwrap();
    let Save::Conflict(conflict) = stale else { panic!("{stale:?}") };
    assert_eq!(
        (conflict.theirs, conflict.who, conflict.when),
        ((design.clone(), offer.clone()), mara(1).who.into(), at(1))
    );
    store.refresh_headline(first.id, Some(&headline("2500.00"))).await.unwrap();
    assert_eq!(store.variant(first.id).await.unwrap().unwrap().version, version);

    let new = NewVariant { name: "A".into(), design, offer, headline: Some(headline("2600.00")) };
    let second = store.add_variant(job, &new, mara(3)).await.unwrap().unwrap();
    assert_eq!(store.add_variant(JobId(99), &new, mara(3)).await.unwrap(), None);
    assert_eq!(store.variant(second).await.unwrap().unwrap().name, "A 2");
    assert_eq!(store.rename_variant(second, "Longer bed", mara(4)).await.unwrap().as_deref(), Some("Longer bed"));
    assert_eq!(store.rename_variant(second, "Longer bed", mara(4)).await.unwrap().as_deref(), Some("Longer bed"));
    assert!(store.choose_variant(second, mara(5)).await.unwrap());
    let chosen: Vec<_> = store.variants(job).await.unwrap().into_iter().map(|variant| variant.chosen).collect();
    assert_eq!(chosen, [false, true]);
    assert_eq!(store.jobs(&query("")).await.unwrap().rows[0].headline, Some(headline("2600.00")));
    assert!(!store.drop_variant(second, mara(6)).await.unwrap(), "the chosen one stays");
    assert!(store.drop_variant(first.id, mara(6)).await.unwrap());
    assert_eq!(store.variants(job).await.unwrap().len(), 1);
    assert_eq!(store.variant(first.id).await.unwrap(), None);
}

#[tokio::test]
async fn a_job_moves_through_its_stages_and_refuses_others() {
    let kept = kept().await;
    let store = &kept.store;
    let (job, _) = enter(store, "Boat trailer", "Wick Sands Rowing Club").await;
    let refused = store.move_job(job, "started", |stage| stage.start(at(1)), mara(1)).await.unwrap();
    assert!(matches!(refused, Moved::Refused(why) if why.wanted == Move::Start && why.from == StageKind::Enquiry));
    assert_eq!(store.job_audit(job).await.unwrap().len(), 1, "a refused move leaves no line");

    assert!(matches!(issue(store, job, &serde_json::json!({}), date(2026, 12, 9), mara(2)).await, Issued::Done { .. }));
    for (what, done) in [("accepted", 3), ("started", 4), ("handed over", 5)] {
        let moved = store
            .move_job(
                job,
                what,
                |stage| match what {
                    "accepted" => stage.accept(at(done)),
                    "started" => stage.start(at(done)),
                    _ => stage.hand_over(at(done)),
                },
                mara(done),
            )
            .await
            .unwrap();
        let Moved::To(stage) = moved else { panic!("{moved:?}") };
        assert_eq!(store.job(job).await.unwrap().unwrap().stage, stage);
    }
    assert_eq!(
        store.job(job).await.unwrap().unwrap().stage,
        Stage::HandedOver {
            enquired_at: at(0),
            quoted_at: at(2),
            accepted_at: at(3),
            started_at: at(4),
            handed_over_at: at(5)
        }
    );
    let (declined, _) = enter(store, "Declined", "The Clay Oven").await;
    assert!(matches!(
        store.move_job(declined, "declined", |stage| stage.decline(at(6)), mara(6)).await.unwrap(),
        Moved::To(_)
    ));
    let stage = store.job(declined).await.unwrap().unwrap().stage;
    assert_eq!(stage, Stage::Declined { enquired_at: at(0), quoted_at: None, declined_at: at(6) });
    assert_eq!(store.move_job(JobId(99), "", Ok, mara(7)).await.unwrap(), Moved::Missing);
}

#[tokio::test]
async fn quotes_lapse_after_their_last_day_and_not_before() {
    let kept = kept().await;
    let store = &kept.store;
    let (job, _) = enter(store, "Boat trailer", "Wick Sands Rowing Club").await;
    let last = date(2026, 12, 9);
    assert!(matches!(issue(store, job, &serde_json::json!({}), last, mara(2)).await, Issued::Done { .. }));
    assert_eq!(store.lapse_overdue(last, mara(3)).await.unwrap(), 0);
    assert_eq!(store.lapse_overdue(date(2026, 12, 10), mara(4)).await.unwrap(), 1);
    let lapsed = Stage::Lapsed { enquired_at: at(0), quoted_at: at(2), valid_until: last, lapsed_at: at(4) };
    assert_eq!(store.job(job).await.unwrap().unwrap().stage, lapsed);
    assert_eq!(store.lapse_overdue(date(2026, 12, 10), mara(5)).await.unwrap(), 0);
    // A new quote brings it back.
    assert!(matches!(
        issue(store, job, &serde_json::json!({}), date(2027, 1, 9), mara(6)).await,
        Issued::Done { number: 2, .. }
    ));
}

#[tokio::test]
async fn the_list_is_searched_filtered_sorted_and_paged() {
    let kept = kept().await;
    let store = &kept.store;
    for (seconds, (title, customer)) in [
        ("Hive trailer", "Wick Sands Apiary"),
        ("Boat trailer", "Rowing Club 100%"),
        ("Ofen-Anhänger", "The Clay_Oven"),
    ]
    .into_iter()
    .enumerate()
    {
        let new = new_job(title, ForCustomer::New(contact(customer)));
        store.create_job(&new, 2026, mara(seconds as i64)).await.unwrap().unwrap();
    }
    let titles = async |query: &JobQuery| {
        let page = store.jobs(query).await.unwrap();
        (page.rows.into_iter().map(|row| row.summary.title).collect::<Vec<_>>(), page.total)
    };
    let (hive, boat, oven) = ("Hive trailer", "Boat trailer", "Ofen-Anhänger");
    for (search, found) in [
        ("", vec![oven, boat, hive]),
        ("trailer", vec![boat, hive]),
        ("TRAILER apiary", vec![hive]),
        ("2026-002", vec![boat]),
        ("ANHÄNGER", vec![oven]),
        ("100%", vec![boat]),
        ("%", vec![boat]),
        ("_", vec![oven]),
        ("\\", vec![]),
        ("' OR 1=1 --", vec![]),
    ] {
        let (titles, total) = titles(&query(search)).await;
        assert_eq!(titles, found, "{search:?}");
        assert_eq!(total as usize, found.len(), "{search:?}");
    }
    assert_eq!(titles(&JobQuery { sort: JobSort::Title, ..query("") }).await.0, [boat, hive, oven]);
    assert_eq!(titles(&JobQuery { sort: JobSort::Number, ..query("") }).await.0, [oven, boat, hive]);
    assert_eq!(titles(&JobQuery { limit: 1, offset: 1, ..query("") }).await, (vec![boat.to_owned()], 3));
    let id = store.jobs(&query("hive")).await.unwrap().rows[0].id;
    assert!(matches!(issue(store, id, &serde_json::json!({}), date(2026, 12, 9), mara(9)).await, Issued::Done { .. }));
    assert_eq!(titles(&JobQuery { stages: vec![StageKind::Quoted], ..query("") }).await.0, [hive]);
    let open = vec![StageKind::Enquiry, StageKind::Accepted];
    assert_eq!(titles(&JobQuery { stages: open, ..query("trailer") }).await.0, [boat]);
    assert_eq!(titles(&JobQuery { asked: true, ..query("") }).await.1, 0);

    assert_eq!(
        store.rename_job(id, "Hive trailer", "Bee trailer", mara(10)).await.unwrap().as_deref(),
        Some("Bee trailer")
    );
    assert_eq!(titles(&query("bee")).await.0, ["Bee trailer"]);
    let stale = store.rename_job(id, "Hive trailer", "Honey trailer", tam(11)).await.unwrap();
    assert_eq!(stale.as_deref(), Some("Bee trailer"), "the title that somebody else gave");
    assert_eq!(store.rename_job(JobId(99), "", "", mara(12)).await.unwrap(), None);
}

#[tokio::test]
async fn a_customer_is_changed_with_care_and_erased_on_request() {
    let kept = kept().await;
    let store = &kept.store;
    let (job, _) = enter(store, "Hive trailer", "Ann <b>").await;
    let customer = store.job(job).await.unwrap().unwrap().customer;
    let save = store.save_customer(customer.id, customer.version, &contact("Ann Bee"), mara(1)).await.unwrap();
    let Save::Saved(version) = save else { panic!("{save:?}") };
    let stale = store.save_customer(customer.id, customer.version, &contact("Ann Wasp"), tam(2)).await.unwrap();
    let Save::Conflict(conflict) = stale else { panic!("{stale:?}") };
    assert_eq!((conflict.theirs, conflict.version), (contact("Ann Bee"), version));
    assert_eq!(store.jobs(&query("bee")).await.unwrap().total, 1);
    assert_eq!(store.customers(0, 10).await.unwrap().len(), 1);

    let Issued::Done { id: revision, .. } =
        issue(store, job, &serde_json::json!({"customer": customer.id}), date(2026, 12, 9), mara(3)).await
    else {
        panic!("issued")
    };
    let (_, token) = store.make_link(revision, at(900), mara(4)).await.unwrap().unwrap();
    store.ask(&token, "Ann Bee", "Is it blue?", at(5)).await.unwrap().unwrap();
    assert_eq!(store.decline(&token, "Ann Bee", "Bee allergy", at(6), TODAY).await.unwrap(), Decided::Done);
    store.answer(job, None, "Yes, Ann Bee, blue.", mara(6)).await.unwrap().unwrap();
    let quoted = issue(store, job, &serde_json::json!({"price": "1.00"}), date(2026, 12, 9), mara(6)).await;
    assert!(matches!(quoted, Issued::Done { .. }));
    let what = format!("{}: Ann Bee called", hitchwright::domain::quote::Move::Decline.label());
    let moved = store.move_job(job, &what, |stage| stage.decline(at(6)), mara(6)).await.unwrap();
    assert!(matches!(moved, Moved::To(_)));
    store.rename_job(job, "Hive trailer", "Ann Bee's hives", mara(6)).await.unwrap();
    store.rename_job(job, "Ann Bee's hives", "Hive trailer", mara(6)).await.unwrap();
    let lines = store.audit(0, 100).await.unwrap().len();
    let whole = store.revision(revision).await.unwrap();

    assert!(store.erase_customer(customer.id, mara(7)).await.unwrap());
    let erased = store.customer(customer.id).await.unwrap().unwrap();
    assert!(erased.erased);
    assert_eq!(erased.contact, Contact { name: "(erased)".into(), ..Contact::default() });
    assert_eq!(store.jobs(&query("bee")).await.unwrap().total, 0);
    assert_eq!(store.customers(0, 10).await.unwrap(), []);
    let decision = store.decision(revision).await.unwrap().unwrap();
    assert_eq!((decision.name.as_str(), decision.why.as_str(), decision.kind), ("", "", DecisionKind::Declined));
    let messages = store.messages(job).await.unwrap();
    assert_eq!((messages[0].name.as_str(), messages[0].text.as_str()), ("", ""));
    assert_eq!((messages[1].name.as_str(), messages[1].text.as_str()), ("Mara", ""));
    assert_eq!(store.copy(&token, at(8), TODAY).await.unwrap(), LinkState::Revoked);
    let title = store.job(job).await.unwrap().unwrap().title;
    assert_eq!(title, "Hive trailer");
    // Neither in free room of the file nor in its log.
    for file in std::fs::read_dir(kept.folder.path()).unwrap() {
        let bytes = std::fs::read(file.unwrap().path()).unwrap();
        for word in ["Ann Bee", "Bee's hives", "blue", "allergy", "01632"] {
            assert!(!bytes.windows(word.len()).any(|found| found == word.as_bytes()), "{word}");
        }
    }
    assert_eq!(store.revision(revision).await.unwrap(), whole, "the revision stays whole");
    assert_eq!(store.verify().await.unwrap(), Vec::<String>::new());
    assert_eq!(store.audit(0, 100).await.unwrap().len(), lines + 1, "no line is taken out");
    let trail = format!("{:?}", store.audit(0, 100).await.unwrap());
    assert!(!trail.contains("Ann") && !trail.contains("allergy"), "{trail}");
    assert!(matches!(
        store.save_customer(customer.id, erased.version, &contact("Back"), mara(8)).await.unwrap(),
        Save::Missing
    ));
    assert!(!store.erase_customer(CustomerId(99), mara(9)).await.unwrap());
}

#[tokio::test]
async fn a_cell_that_cannot_be_read_is_named() {
    let kept = kept().await;
    let (job, _) = enter(&kept.store, "Hive trailer", "Wick Sands Apiary").await;
    let mut hand = super::past_the_store(&kept).await;
    sqlx::query("UPDATE job SET need = '{\"count\": \"many\"}'").execute(&mut hand).await.unwrap();
    let error = kept.store.job(job).await.expect_err("unreadable").to_string();
    assert!(error.starts_with("the database holds a job.need in row 1 that cannot be read: "), "{error}");
    sqlx::query("UPDATE job SET need = '{}', stage = 'quoted'").execute(&mut hand).await.unwrap();
    let error = kept.store.job(job).await.expect_err("unreadable").to_string();
    assert_eq!(error, "the database holds a job.quoted_at in row 1 that cannot be read: it is missing");
}
