//! The book of orders: written once, moved by steps, and never rewritten.

use hitchwright::{
    domain::{
        buying::{Now, PlacedLine, Placing, Refused, Standing},
        measure::Money,
        shop::{RateUnit, Stocked},
    },
    storage::{
        By, JobId, KeptLine, NewArrival, NewOrder, OrderId, OrderMoved, OrdersSeen, PieceMoved, Placed, Received, Step,
        Store,
    },
};
use jiff::civil::date;
use rust_decimal::Decimal;

use super::{
    TODAY, enter, kept, mara, money, past_the_store,
    rack::{accepted, bar},
    tam,
};

fn line(code: &str, stock: Option<Stocked>, bought: i64, jobs: &[(JobId, i64)]) -> PlacedLine<JobId> {
    PlacedLine {
        code: code.into(),
        name: format!("name of {code}"),
        article: "A 7".into(),
        unit: if stock.is_some() { None } else { Some(RateUnit::Each) },
        stock,
        lead_days: 3,
        // In one pack.
        pack: bought.into(),
        packs: Decimal::ONE,
        bought: bought.into(),
        each: money("2.50"),
        amount: Money(Decimal::from(bought) * money("2.50").0),
        jobs: jobs.iter().map(|(job, of)| (*job, Decimal::from(*of))).collect(),
    }
}

fn placing(lines: Vec<PlacedLine<JobId>>) -> Placing<JobId> {
    let sum = lines.iter().map(|line| line.amount).sum();
    Placing { supplier: "Quay Metals".into(), lead_days: 3, sum, lines }
}

async fn place(store: &Store, placing: &Placing<JobId>, seen: OrdersSeen) -> Placed {
    let dues = vec![date(2026, 11, 30); placing.lines.len()];
    let new = NewOrder { placing, day: TODAY, dues: &dues, currency: "GBP", seen };
    store.place_order(&new, mara(10)).await.expect("stored")
}

async fn seen(store: &Store) -> OrdersSeen {
    store.ordered_so_far().await.expect("read").seen
}

/// Says that all of an order that is still to come came, or that all that came was not here after all.
async fn all(store: &Store, order: OrderId, why: &str, by: By<'_>) -> OrderMoved {
    let lines = store.order(order).await.unwrap().expect("an order").lines;
    let of = |kept: &KeptLine| if why.is_empty() { kept.to_come() } else { -kept.could_be_missing() };
    let quantities: Vec<_> = lines.iter().map(|kept| (kept.id, of(kept))).filter(|(_, of)| !of.is_zero()).collect();
    let new = NewArrival { order, quantities: &quantities, day: TODAY, why };
    store.record_arrival(&new, by).await.expect("stored")
}

/// Something is ordered for a job; what was seen of the orders before.
pub async fn one_more(store: &Store, job: JobId) -> OrdersSeen {
    let before = seen(store).await;
    assert!(matches!(place(store, &placing(vec![line("H", None, 2, &[(job, 2)])]), before).await, Placed::Done(_)));
    before
}

#[tokio::test]
async fn an_order_is_kept_as_it_was_placed_and_its_steps_with_it() {
    let kept = kept().await;
    let store = &kept.store;
    let (job, number) = accepted(&kept, "Hives").await;
    let new = placing(vec![line("T", Some(bar(6000).stock), 4, &[(job, 3)]), line("H", None, 2, &[(job, 2)])]);
    let Placed::Done(id) = place(store, &new, seen(store).await).await else { panic!("not placed") };
    let found = store.order(id).await.unwrap().expect("an order");
    assert_eq!(found.placing(), new);
    assert_eq!((found.head.day, found.head.due, found.head.who.as_str()), (TODAY, date(2026, 11, 30), "Mara"));
    assert_eq!((found.head.standing, found.head.currency.as_str()), (Standing::Awaited, "GBP"));
    assert_eq!(found.numbers.get(&job), Some(&number));
    assert_eq!(store.awaited_orders().await.unwrap(), std::slice::from_ref(&found));
    assert_eq!(store.orders_for_job(job).await.unwrap(), [found.head]);

    let done = OrderMoved::Done;
    let first = found.lines[0].id;
    assert_eq!(all(store, id, "", tam(20)).await, done);
    let again = NewArrival { order: id, quantities: &[(first, Decimal::ONE)], day: TODAY, why: "" };
    let again = store.record_arrival(&again, tam(21)).await.unwrap();
    assert_eq!(again, OrderMoved::TooMuch(first, Decimal::ZERO));
    assert!(store.awaited_orders().await.unwrap().is_empty());
    assert_eq!(store.orders(0, 9).await.unwrap().rows[0].arrived, Some(TODAY));
    assert_eq!(all(store, id, "another order", tam(22)).await, done);
    assert_eq!(store.ordered_so_far().await.unwrap().lines.len(), 2, "it counts whether it arrived or not");
    assert_eq!(store.cancel_order(id, "sold out", mara(23)).await.unwrap(), done);
    assert_eq!(store.cancel_order(id, "sold out", mara(23)).await.unwrap(), OrderMoved::Refused(Refused::Cancelled));
    assert_eq!(all(store, id, "", tam(24)).await, OrderMoved::Refused(Refused::Cancelled));
    assert_eq!(store.ordered_so_far().await.unwrap().lines, []);
    let found = store.order(id).await.unwrap().expect("it is still there");
    let steps: Vec<_> = found.steps.iter().map(|step| (step.to, step.why.as_str(), step.who.as_str())).collect();
    assert_eq!(
        steps,
        [
            (Standing::Cancelled, "sold out", "Mara"),
            (Standing::Awaited, "another order", "Tam"),
            (Standing::Arrived, "", "Tam")
        ]
    );
    assert_eq!((found.placing(), found.head.arrived), (new, None));
    let trail = store.audit(0, 50).await.unwrap();
    let of_order: Vec<&str> =
        trail.iter().filter(|line| line.subject == "order").map(|line| line.what.as_str()).collect();
    assert_eq!(of_order, ["cancelled", "not here after all", "arrived", "ordered of Quay Metals"]);
    assert!(store.job_audit(job).await.unwrap().iter().any(|line| line.what == format!("order {id} to Quay Metals")));
    let none = NewArrival { order: OrderId(99), quantities: &[], day: TODAY, why: "" };
    assert_eq!(store.record_arrival(&none, tam(25)).await.unwrap(), OrderMoved::Missing);
    let none = store.cancel_order(OrderId(99), "", tam(25)).await.unwrap();
    assert_eq!((none, store.order(OrderId(99)).await.unwrap()), (OrderMoved::Missing, None));
    assert_eq!(store.verify().await.unwrap(), Vec::<String>::new());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn of_many_who_order_the_same_at_once_one_does() {
    let kept = kept().await;
    let (job, _) = accepted(&kept, "Hives").await;
    let looked_at = seen(&kept.store).await;
    let mut tasks = tokio::task::JoinSet::new();
    for _ in 0..12 {
        let store = kept.store.clone();
        tasks.spawn(async move { place(&store, &placing(vec![line("H", None, 2, &[(job, 2)])]), looked_at).await });
    }
    let mut all = Vec::new();
    while let Some(done) = tasks.join_next().await {
        all.push(done.expect("an answer"));
    }
    assert_eq!(all.iter().filter(|placed| matches!(placed, Placed::Done(_))).count(), 1, "{all:?}");
    assert_eq!(all.iter().filter(|placed| **placed == Placed::Changed).count(), 11, "{all:?}");
    assert_eq!(kept.store.orders(0, 50).await.unwrap().total, 1);
}

#[tokio::test]
async fn nothing_is_ordered_for_a_job_that_nobody_accepted_or_that_was_declined() {
    let kept = kept().await;
    let store = &kept.store;
    let (asked, _) = enter(store, "Boats", "Wick Sands Rowing Club").await;
    let (job, _) = accepted(&kept, "Hives").await;
    for stage in ["enquiry", "declined", "handed-over"] {
        sqlx::query("UPDATE job SET stage = $1, declined_at = 1, quoted_at = 1, started_at = 1, accepted_at = 1, handed_over_at = 1 WHERE id = $2")
            .bind(stage)
            .bind(asked.0)
            .execute(&mut past_the_store(&kept).await)
            .await
            .expect("moved");
        let new = placing(vec![line("H", None, 2, &[(job, 1), (asked, 1)])]);
        assert_eq!(place(store, &new, seen(store).await).await, Placed::Closed(asked), "{stage}");
    }
    assert_eq!(store.orders(0, 50).await.unwrap().total, 0);
    assert!(store.audit(0, 50).await.unwrap().iter().all(|line| line.subject != "order"));
}

#[tokio::test]
async fn what_came_with_an_order_is_known_by_its_piece() {
    let kept = kept().await;
    let store = &kept.store;
    let (job, number) = accepted(&kept, "Hives").await;
    let new = placing(vec![line("T", Some(bar(6000).stock), 4, &[(job, 3)]), line("H", None, 2, &[(job, 2)])]);
    let Placed::Done(id) = place(store, &new, seen(store).await).await else { panic!("not placed") };
    let lines: Vec<_> = store.order(id).await.unwrap().unwrap().lines.into_iter().map(|kept| kept.id).collect();
    let before = seen(store).await;
    let other = store.receive_ordered(lines[0], &bar(5990), 1, TODAY, tam(20)).await.unwrap();
    assert_eq!(other, Received::Other);
    assert_eq!(store.receive_ordered(lines[1], &bar(6000), 1, TODAY, tam(20)).await.unwrap(), Received::Other);
    assert_eq!(store.receive_ordered(lines[0], &bar(6000), 5, TODAY, tam(20)).await.unwrap(), Received::TooMany(4));
    assert_eq!((store.rack_pieces().await.unwrap().len(), seen(store).await), (0, before), "nothing came of it");
    let came = store.receive_ordered(lines[0], &bar(6000), 3, TODAY, tam(21)).await.unwrap();
    assert_eq!(came, Received::OnRack(["R-0001", "R-0002", "R-0003"].map(Into::into).to_vec()));
    assert_eq!(place(store, &new, before).await, Placed::Changed, "the list moved");
    assert_eq!(store.receive_ordered(lines[0], &bar(6000), 2, TODAY, tam(22)).await.unwrap(), Received::TooMany(1));

    for tag in ["R-0001", "R-0002"] {
        let reserve = Step::Reserve { job: &number };
        assert_eq!(store.move_piece(tag, reserve, mara(30)).await.unwrap(), PieceMoved::Done(vec![]));
    }
    let cut = Step::Cut { kerf: hitchwright::domain::measure::Tenths(25), remainders: &[], decimals: 2 };
    assert_eq!(store.move_piece("R-0001", cut, mara(31)).await.unwrap(), PieceMoved::Done(vec![]));
    let scrap = Step::Scrap { why: "bent" };
    assert_eq!(store.move_piece("R-0003", scrap, mara(32)).await.unwrap(), PieceMoved::Done(vec![]));
    let so_far = store.ordered_so_far().await.unwrap();
    let now: Vec<_> = so_far.lines[0].pieces.iter().map(|(tag, now)| (tag.as_str(), *now)).collect();
    assert_eq!(now, [("R-0001", Now::CutFor(job)), ("R-0002", Now::Reserved(job)), ("R-0003", Now::Scrapped)]);
    assert_eq!(store.cut_for(job).await.unwrap().len(), 1);

    assert_eq!(store.cancel_order(id, "rest sold out", mara(40)).await.unwrap(), OrderMoved::Done);
    assert_eq!(store.receive_ordered(lines[0], &bar(6000), 1, TODAY, tam(41)).await.unwrap(), Received::Cancelled);
    let missing = hitchwright::storage::LineId(99);
    assert_eq!(store.receive_ordered(missing, &bar(6000), 1, TODAY, tam(42)).await.unwrap(), Received::Missing);
    assert_eq!(store.verify().await.unwrap(), Vec::<String>::new());
}

#[tokio::test]
async fn a_hand_past_the_store_cannot_rewrite_an_order_and_verify_sees_one_that_tried() {
    let kept = kept().await;
    let (job, _) = accepted(&kept, "Hives").await;
    let new = placing(vec![line("T", Some(bar(6000).stock), 1, &[(job, 1)])]);
    let Placed::Done(id) = place(&kept.store, &new, seen(&kept.store).await).await else { panic!("not placed") };
    let first = kept.store.order(id).await.unwrap().unwrap().lines[0].id;
    let _ = kept.store.receive_ordered(first, &bar(6000), 1, TODAY, mara(11)).await.unwrap();
    let whole = kept.store.order(id).await.unwrap().unwrap();
    assert_eq!(whole.head.standing, Standing::Arrived, "all of it lies on the rack");
    let mut hand = past_the_store(&kept).await;
    for (sql, says) in [
        ("UPDATE purchase_order SET sum = '0'", "never changed"),
        ("DELETE FROM purchase_order", "never deleted"),
        ("UPDATE purchase_line SET bought = '0'", "never changed"),
        ("DELETE FROM purchase_line", "never deleted"),
        ("UPDATE purchase_share SET quantity = '0'", "never changed"),
        ("DELETE FROM purchase_share", "never deleted"),
        ("UPDATE purchase_step SET who = 'nobody'", "never changed"),
        ("DELETE FROM purchase_step", "never deleted"),
        ("UPDATE purchase_arrival SET quantity = '0'", "never changed"),
        ("DELETE FROM purchase_arrival", "never deleted"),
        (
            "INSERT INTO purchase_arrival (line_id, quantity, day, why, at, who) VALUES (1, '-1', '2026-11-26', '', 0, 'x')",
            "CHECK",
        ),
        ("UPDATE purchase_piece SET line_id = 9", "never changed"),
        ("DELETE FROM purchase_piece", "never changed"),
        (
            "INSERT INTO purchase_step (order_id, kind, day, why, at, who) VALUES (1, 'arrived', '2026-11-26', '', 0, 'x')",
            "stands so already",
        ),
        ("INSERT INTO purchase_step (order_id, kind, why, at, who) VALUES (1, 'cancelled', '', 0, 'x')", "CHECK"),
    ] {
        let fault = sqlx::query(sqlx::AssertSqlSafe(sql.to_owned())).execute(&mut hand).await.expect_err("refused");
        assert!(fault.to_string().contains(says), "{sql}: {fault}");
    }
    assert_eq!(kept.store.verify().await.unwrap(), Vec::<String>::new());

    for sql in [
        "DROP TRIGGER purchase_order_is_never_changed",
        "DROP TRIGGER purchase_line_is_never_changed",
        "DROP TRIGGER purchase_step_fits_the_order",
        "INSERT INTO purchase_arrival (line_id, quantity, day, why, at, who) VALUES (1, '-1', '2026-11-26', 'x', 0, 'x')",
        "UPDATE purchase_order SET sum = '9.99'",
        "UPDATE purchase_line SET bought = '0', packs = '0'",
        "INSERT INTO purchase_step (order_id, kind, day, why, at, who) VALUES (1, 'arrived', '2026-11-26', '', 0, 'x')",
        "UPDATE job SET accepted_at = NULL",
    ] {
        sqlx::query(sqlx::AssertSqlSafe(sql.to_owned())).execute(&mut hand).await.expect("tampered with");
    }
    let faults = kept.store.verify().await.unwrap().join("; ");
    for says in [
        "order 1: its lines come to 2.50, but its sum is 9.99",
        "order 1: nothing is bought by it",
        "order 1: 1 pieces of T came, but 0 were bought",
        "order 1: 0 of T were bought, but with 1 1 came",
        "order 1: 1 pieces of T went on the rack, but only 0 came",
        "order 1 was arrived, but somebody said so of this order before",
        "which was never accepted",
    ] {
        assert!(faults.contains(says), "{says}: {faults}");
    }
}

#[tokio::test]
async fn a_line_comes_in_parts_and_the_order_is_whole_with_the_last() {
    let kept = kept().await;
    let store = &kept.store;
    let (job, _) = accepted(&kept, "Hives").await;
    let new = placing(vec![line("T", Some(bar(6000).stock), 4, &[(job, 3)]), line("H", None, 2, &[(job, 2)])]);
    let dues = [date(2026, 11, 27), date(2026, 12, 4)];
    let new = NewOrder { placing: &new, day: TODAY, dues: &dues, currency: "GBP", seen: seen(store).await };
    let Placed::Done(id) = store.place_order(&new, mara(10)).await.unwrap() else { panic!("not placed") };
    let find = async || store.order(id).await.unwrap().unwrap();
    let (bars, hinges) = (0, 1);
    let ids: Vec<_> = find().await.lines.iter().map(|kept| kept.id).collect();
    let say = async |line: usize, quantity: i64, why: &str, at: i64| {
        let quantities = [(ids[line], Decimal::from(quantity))];
        let new = NewArrival { order: id, quantities: &quantities, day: TODAY, why };
        store.record_arrival(&new, tam(at)).await.unwrap()
    };
    let stands = async || {
        let order = find().await;
        let came: Vec<Decimal> = order.lines.iter().map(|kept| kept.came).collect();
        (order.head.standing, order.head.next_due, order.head.in_part, came)
    };
    let dec = Decimal::from;
    let (awaited, arrived) = (Standing::Awaited, Standing::Arrived);
    assert_eq!(find().await.head.due, dues[1], "the order is due with its last line");
    assert_eq!(stands().await, (awaited, Some(dues[0]), false, vec![dec(0), dec(0)]));
    assert_eq!(say(bars, 3, "", 20).await, OrderMoved::Done);
    assert_eq!(say(bars, 2, "", 21).await, OrderMoved::TooMuch(ids[0], dec(1)));
    assert_eq!(say(hinges, 2, "", 22).await, OrderMoved::Done);
    assert_eq!(stands().await, (awaited, Some(dues[0]), true, vec![dec(3), dec(2)]));
    // Two of those that came go on the rack; then the fourth as well, of which nobody said so.
    assert!(matches!(store.receive_ordered(ids[0], &bar(6000), 2, TODAY, tam(23)).await.unwrap(), Received::OnRack(_)));
    assert_eq!(stands().await.3, [dec(3), dec(2)]);
    assert!(matches!(store.receive_ordered(ids[0], &bar(6000), 2, TODAY, tam(24)).await.unwrap(), Received::OnRack(_)));
    assert_eq!(stands().await, (arrived, None, false, vec![dec(4), dec(2)]));
    // What lies on the rack is here; one of the hinges is not.
    assert_eq!(say(bars, -1, "bent", 25).await, OrderMoved::TooMuch(ids[0], dec(0)));
    assert_eq!(say(hinges, -3, "short", 26).await, OrderMoved::TooMuch(ids[1], dec(2)));
    assert_eq!(say(hinges, -1, "one was short", 27).await, OrderMoved::Done);
    assert_eq!(stands().await, (awaited, Some(dues[1]), true, vec![dec(4), dec(1)]));
    let so_far = store.ordered_so_far().await.unwrap().lines;
    assert_eq!(
        so_far.iter().map(|line| (line.bought, line.came)).collect::<Vec<_>>(),
        [(dec(4), dec(4)), (dec(2), dec(1))]
    );
    assert_eq!(say(hinges, 1, "", 28).await, OrderMoved::Done);
    let found = find().await;
    let arrivals: Vec<_> = found.arrivals.iter().rev().map(|of| (of.line, of.quantity, of.why.as_str())).collect();
    let expected = [
        (ids[0], dec(3), ""),
        (ids[1], dec(2), ""),
        (ids[0], dec(1), ""),
        (ids[1], dec(-1), "one was short"),
        (ids[1], dec(1), ""),
    ];
    assert_eq!(arrivals, expected);
    let steps: Vec<_> = found.steps.iter().rev().map(|step| (step.to, step.why.as_str())).collect();
    assert_eq!(steps, [(arrived, ""), (awaited, "one was short"), (arrived, "")]);
    assert_eq!(store.verify().await.unwrap(), Vec::<String>::new());
}
