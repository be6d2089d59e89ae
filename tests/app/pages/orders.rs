//! What was ordered: recorded as it was looked at, once, and taken off the purchase list until it is cancelled.

use axum::http::StatusCode;
use hitchwright::{
    domain::people::Role,
    storage::By,
    web::{AppState, pages::buying::place::place_all},
};
use jiff::{Span, Timestamp};
use sqlx::ConnectOptions;

use super::{
    Desk, Fields, changed, fields,
    release::{accepted, number_of, rows},
};
use crate::support::{Answer, Ask, signed_in};

const LIST: &str = "/purchase-list";
const PLACE: &str = "/purchase-list/order";

/// Records the first order of the list; the path of its page.
pub async fn order_first(desk: &Desk) -> String {
    let form = desk.get(LIST).await.assert_status(StatusCode::OK).form("place-1");
    desk.post(PLACE, &form).await.assert_redirect().to_owned()
}

fn value<'a>(fields: &'a Fields, name: &str) -> &'a str {
    fields.iter().find(|(field, _)| field == name).map_or("", |(_, value)| value)
}

/// The form that orders of a supplier.
#[track_caller]
fn order_of(page: &Answer, supplier: &str) -> Fields {
    let at = suppliers(page).iter().position(|name| name == supplier).expect("an order to this supplier");
    page.form(&format!("place-{}", at + 1))
}

fn suppliers(page: &Answer) -> Vec<String> {
    page.texts("section.order h2")
}

fn faults(page: &Answer) -> String {
    page.texts("#faults").join(" ")
}

/// The rows of a table that name an item.
fn of_item(page: &Answer, table: &str, code: &str) -> Vec<String> {
    rows(page, table).into_iter().filter(|row| row.contains(code)).collect()
}

async fn by_workshop(desk: &Desk, cookie: &str, path: &str, fields: &Fields) -> Answer {
    let fields: Vec<(&str, &str)> = fields.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    Ask::form(path, &fields).with("cookie", cookie).of(&desk.site).await
}

#[tokio::test]
async fn what_was_ordered_is_taken_off_the_list_until_it_is_cancelled() {
    let desk = Desk::open().await;
    let job = accepted(&desk).await;
    assert!(desk.get("/purchase-list/orders").await.body.contains("Nothing was ordered yet"));
    let before = desk.get(LIST).await.assert_status(StatusCode::OK);
    let (all, form) = (rows(&before, "lines"), before.form("place-1"));
    let supplier = value(&form, "supplier").to_owned();
    assert_eq!(suppliers(&before)[0], supplier);
    assert!(before.texts("[data-test=text]")[0].contains(&format!("To {supplier}")), "{}", before.body);
    let order = desk.post(PLACE, &form).await.assert_redirect().to_owned();
    assert_eq!(order, "/purchase-list/orders/1");

    // The order is what was looked at: the lines of the list, their sum, the text without prices.
    let page = desk.get(&order).await.assert_status(StatusCode::OK);
    let lines = rows(&page, "lines");
    let after = desk.get(LIST).await;
    assert!(!lines.is_empty() && rows(&after, "lines").len() + lines.len() == all.len(), "{lines:?}");
    assert!(!suppliers(&after).contains(&supplier));
    let sum = before.texts("[data-test=order]")[0].split_whitespace().nth(1).expect("a sum").to_owned();
    assert!(page.texts("[data-test=head]")[0].contains(&sum), "{sum}: {}", page.body);
    assert!(page.texts("[data-test=head]")[0].contains("Mara"));
    let text = page.texts("[data-test=text]").remove(0);
    assert!(text.contains("Our order 1 of") && !text.contains('£') && !text.contains("GBP"), "{text}");
    assert_eq!(text.matches("our code").count(), lines.len(), "{text}");
    assert_eq!(rows(&after, "had").len(), lines.len(), "{}", after.body);
    assert!(rows(&after, "orders")[0].contains(&format!("Order 1 to {supplier}")));
    let csv = desk.get("/purchase-list.csv").await.assert_status(StatusCode::OK);
    assert!(!csv.body.lines().any(|row| row.starts_with(&supplier)), "{}", csv.body);
    let overview = desk.get(&job).await.assert_status(StatusCode::OK);
    assert!(rows(&overview, "orders")[0].contains("awaited"), "{}", overview.body);
    assert!(overview.texts("[data-test=trail]").join(" ").contains(&format!("order 1 to {supplier}")));

    // Pressed again by somebody who still looks at the old list.
    let again = desk.post(PLACE, &form).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&again).contains("no longer what you looked at"), "{}", faults(&again));
    assert!(faults(&again).contains("is order 1, by Mara"), "{}", faults(&again));
    assert_eq!(rows(&again, "lines"), rows(&after, "lines"), "the list as it is now");
    assert_eq!(rows(&desk.get("/purchase-list/orders").await, "orders").len(), 1);

    // It arrives, has not after all, and is cancelled.
    let arrived = page.form("arrived");
    let early = desk.post(&order, &changed(arrived.clone(), &[("day", "2001-01-01")])).await;
    let early = early.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&early).contains("“2001-01-01” is no such day"), "{}", faults(&early));
    desk.post(&order, &arrived).await.assert_redirect();
    let twice = desk.post(&order, &arrived).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&twice).contains("somebody may have said so before"), "{}", faults(&twice));
    let here = desk.get(&order).await;
    assert!(here.texts("[data-test=head]")[0].contains("arrived"), "{}", here.body);
    assert_eq!(rows(&desk.get(LIST).await, "had").len(), lines.len(), "what is here is not asked for again");
    assert!(rows(&desk.get(LIST).await, "orders").is_empty());
    let silent = desk.post(&order, &here.form("awaited")).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&silent).contains("Why it is not"), "{}", faults(&silent));
    desk.post(&order, &changed(here.form("awaited"), &[("awaited_why", "It was the parcel for <b> next door.")]))
        .await
        .assert_redirect();
    let cancel = format!("{order}/cancel");
    let silent = desk.post(&cancel, &here.form("cancel")).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&silent).contains("Why it is cancelled"), "{}", faults(&silent));
    desk.post(&cancel, &fields(&[("cancel_why", "Sold out.")])).await.assert_redirect();
    let cancelled = desk.get(&order).await.assert_status(StatusCode::OK);
    let steps = rows(&cancelled, "steps");
    assert!(steps.len() == 3 && steps[0].contains("Sold out.") && steps[1].contains("next door"), "{steps:?}");
    assert_eq!(rows(&cancelled, "lines"), lines, "the order stays as it was");
    assert!(cancelled.texts("[data-test=cancelled]")[0].contains("asked for again"));
    assert_eq!(rows(&desk.get(LIST).await, "lines"), all, "nothing is lost");
    desk.post(&cancel, &fields(&[("cancel_why", "Again.")])).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    desk.post(&order, &fields(&[("action", "burn")])).await.assert_status(StatusCode::BAD_REQUEST);
    desk.get("/purchase-list/orders/9").await.assert_status(StatusCode::NOT_FOUND);
    desk.post("/purchase-list/orders/9", &arrived).await.assert_status(StatusCode::NOT_FOUND);
    assert_eq!(desk.site.store.verify().await.expect("read"), [""; 0]);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn of_two_who_order_at_once_one_does_and_the_other_is_told() {
    let desk = Desk::open().await;
    accepted(&desk).await;
    let list = desk.get(LIST).await;
    let form = list.form("place-1");
    let (one, other) = tokio::join!(desk.post(PLACE, &form), desk.post(PLACE, &form));
    let (won, lost) = if one.status == StatusCode::SEE_OTHER { (one, other) } else { (other, one) };
    won.assert_redirect();
    let lost = lost.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&lost).contains("Nothing was recorded") && faults(&lost).contains("order 1"), "{}", faults(&lost));
    // Two who order of different suppliers do not disturb each other.
    let (second, third) = (list.form("place-2"), list.form("place-3"));
    let (one, other) = tokio::join!(desk.post(PLACE, &second), desk.post(PLACE, &third));
    one.assert_redirect();
    other.assert_redirect();
    assert_eq!(rows(&desk.get("/purchase-list/orders").await, "orders").len(), 3);
}

#[tokio::test]
async fn a_list_that_moved_is_not_ordered_by() {
    let desk = Desk::open().await;
    let job = accepted(&desk).await;
    let list = desk.get(LIST).await;
    let supplier = suppliers(&list).remove(0);
    let code = list.texts("section.order tbody th .quiet").remove(0);
    let code = code.split([' ', ',']).next().expect("a code").to_owned();
    let form = order_of(&list, &supplier);
    // A price moves.
    let price = format!("/rates/items/{code}/price");
    let item =
        changed(desk.get(&format!("/rates/items/{code}")).await.form(&price), &[("price", "7.77"), ("sure", "yes")]);
    desk.post(&price, &item).await.assert_redirect();
    let moved = desk.post(PLACE, &form).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&moved).contains("no longer what you looked at"), "{}", faults(&moved));
    // A job comes.
    let form = desk.get(LIST).await.form("place-1");
    accepted(&desk).await;
    let moved = desk.post(PLACE, &form).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&moved).contains("press again if it is right"), "{}", faults(&moved));
    // What is shown then is right, and of one job alone the other is not ordered for.
    let id = job.strip_prefix("/jobs/").expect("a job");
    let one = desk.get(&format!("{LIST}?chosen=yes&job={id}")).await;
    let order = desk.post(PLACE, &one.form("place-1")).await.assert_redirect().to_owned();
    let for_jobs = rows(&desk.get(&order).await, "lines");
    let ordered = |line: &String| line.matches(": ").count() == 1;
    assert!(for_jobs.iter().all(ordered), "{for_jobs:?}");
    assert!(suppliers(&desk.get(LIST).await).contains(&supplier), "the other job still needs it");
    // Fields that are none of ours name no order.
    desk.post(PLACE, &fields(&[("supplier", "<b>"), ("seen", "x")]))
        .await
        .assert_status(StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn what_whole_packs_leave_over_serves_the_next_job() {
    let desk = Desk::open().await;
    let first = accepted(&desk).await;
    let item = "/rates/items/CN-WIRE";
    let typed = [
        ("supplier", "Quay Welding"),
        ("supply_price", "3.90"),
        ("pack", "15"),
        ("supply_lead", "9"),
        ("supply_from", ""),
    ];
    let supply = changed(desk.get(item).await.form("supply"), &typed);
    desk.post(&format!("{item}/supply"), &supply).await.assert_redirect();
    let by_item = changed(desk.get(item).await.form("priced-by"), &[("priced_by", "supplier:Quay Welding")]);
    desk.post(&format!("{item}/priced-by"), &by_item).await.assert_redirect();
    let list = desk.get(LIST).await;
    let order = desk.post(PLACE, &order_of(&list, "Quay Welding")).await.assert_redirect().to_owned();
    assert!(rows(&desk.get(&order).await, "lines")[0].contains("1 pack of 15 kg"));

    let second = accepted(&desk).await;
    let both = desk.get(LIST).await;
    assert!(of_item(&both, "lines", "CN-WIRE").is_empty(), "what is over is enough for the second");
    let had = of_item(&both, "had", "CN-WIRE");
    assert!(had.len() == 1 && had[0].matches(": ").count() == 2, "of both jobs: {had:?}");
    // With the next order it is laid aside for the second job, and stays so when that is not looked at.
    let next = desk.post(PLACE, &both.form("place-1")).await.assert_redirect().to_owned();
    let aside = rows(&desk.get(&next).await, "aside");
    assert!(aside.len() == 1 && aside[0].contains("CN-WIRE"), "{aside:?}");
    let id = second.strip_prefix("/jobs/").expect("a job");
    let theirs = desk.get(&format!("{LIST}?chosen=yes&consumables=on&job={id}")).await;
    assert_eq!(of_item(&theirs, "had", "CN-WIRE").len(), 1);
    // Without the first order there is nothing to lay aside: both ask again.
    desk.post(&format!("{order}/cancel"), &fields(&[("cancel_why", "Too dear.")])).await.assert_redirect();
    let again = of_item(&desk.get(LIST).await, "lines", "CN-WIRE");
    assert_eq!(again.len(), 1, "{again:?}");
    for job in [&first, &second] {
        assert!(again[0].contains(&format!("{}: ", number_of(&desk, job).await)), "{again:?}");
    }
    assert_eq!(desk.site.store.verify().await.expect("read"), [""; 0]);
}

#[tokio::test]
async fn bars_that_came_go_on_the_rack_and_are_not_asked_for_again() {
    let desk = Desk::open().await;
    let job = accepted(&desk).await;
    let list = desk.get(LIST).await;
    let bars = |page: &Answer| rows(page, "lines").into_iter().filter(|line| line.contains(" bar")).count();
    assert!(bars(&list) > 0);
    let mut orders = Vec::new();
    for supplier in suppliers(&list) {
        let form = order_of(&desk.get(LIST).await, &supplier);
        orders.push(desk.post(PLACE, &form).await.assert_redirect().to_owned());
    }
    assert!(rows(&desk.get(LIST).await, "lines").is_empty(), "all is ordered");
    let mut order = String::new();
    for path in &orders {
        if bars(&desk.get(path).await) > 0 {
            order.clone_from(path);
            break;
        }
    }
    let page = desk.get(&order).await;
    let receive = page.attribute("a[href^='/rack/receive?line=']", "href").expect("bars are put on the rack");
    let asked = desk.get(&receive).await.assert_status(StatusCode::OK);
    let form = asked.form("/rack/receive");
    assert!(value(&form, "kind") == "bar" && value(&form, "length").ends_with(" mm"), "{form:?}");
    assert!(!value(&form, "worth").is_empty() && value(&form, "origin").starts_with("order "), "{form:?}");
    let (count, each) = (value(&form, "count").to_owned(), value(&form, "worth").to_owned());
    let many = changed(form.clone(), &[("place", "bay 3"), ("count", "150")]);
    let many = desk.post("/rack/receive", &many).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&many).contains(&format!("Only {count} of this line")), "{}", faults(&many));
    let other = changed(form.clone(), &[("place", "bay 3"), ("length", "1234 mm")]);
    let other = desk.post("/rack/receive", &other).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&other).contains("received without the order"), "{}", faults(&other));
    assert!(other.texts("[data-test=ordered]")[0].contains("came"), "{}", other.body);
    desk.get("/rack/receive?line=999").await.assert_status(StatusCode::NOT_FOUND);
    desk.get("/rack/receive?line=x").await.assert_status(StatusCode::NOT_FOUND);

    // The workshop puts them there and sees no price; they are worth what was paid.
    let workshop = signed_in(&desk.site.store, "Jory", Role::Workshop).await;
    let theirs = Ask::get(&receive).with("cookie", &workshop).of(&desk.site).await.assert_status(StatusCode::OK);
    assert!(!theirs.body.contains(&each) && !theirs.body.contains('£'), "{}", theirs.body);
    let typed = changed(theirs.form("/rack/receive"), &[("place", "bay 3")]);
    assert_eq!(by_workshop(&desk, &workshop, "/rack/receive", &typed).await.assert_redirect(), order);
    let on_rack = rows(&desk.get("/rack?search=bay+3").await, "rack");
    assert!(on_rack.len().to_string() == count && on_rack[0].contains(&each), "{each}: {on_rack:?}");
    let page = desk.get(&order).await;
    assert!(page.body.contains("R-0001"), "{}", page.body);
    let after = desk.get(LIST).await;
    assert!(rows(&after, "lines").is_empty(), "neither asked for again nor counted twice: {:?}", rows(&after, "lines"));

    // Another job has bars of its own to buy: what lies there is spoken for.
    let second = accepted(&desk).await;
    let needs = desk.get(LIST).await;
    assert_eq!(bars(&needs), bars(&list), "{:?}", rows(&needs, "lines"));
    assert!(needs.texts("[data-test=jobs] tbody tr").iter().all(|job| !job.contains("R-0001")));

    // Released, the first is cut from them, and still nothing is asked for it.
    let release = format!("{job}/release");
    desk.send(&release, "release", &[]).await.assert_redirect();
    let id = job.strip_prefix("/jobs/").expect("a job");
    let mine = desk.get(&format!("{LIST}?chosen=yes&consumables=on&job={id}")).await;
    assert!(rows(&mine, "lines").is_empty(), "{:?}", rows(&mine, "lines"));
    desk.get(&second).await.assert_status(StatusCode::OK);

    // What came of a cancelled order is received without it.
    desk.post(&format!("{order}/cancel"), &fields(&[("cancel_why", "The rest is sold out.")])).await.assert_redirect();
    let late = desk.post("/rack/receive", &changed(form, &[("place", "bay 3"), ("count", "1")])).await;
    let late = late.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&late).contains("The order was cancelled"), "{}", faults(&late));
    assert_eq!(desk.site.store.verify().await.expect("read"), [""; 0]);
}

/// Orders all that is on the list, and puts what comes in bars and sheets on the rack, so cheap that every plan takes it; the tags.
async fn order_and_receive_all(desk: &Desk) -> Vec<String> {
    let tags = async || -> Vec<String> {
        rows(&desk.get("/rack").await, "rack").iter().map(|row| row[.."R-0000".len()].to_owned()).collect()
    };
    let before = tags().await;
    for supplier in suppliers(&desk.get(LIST).await) {
        let form = order_of(&desk.get(LIST).await, &supplier);
        let order = desk.post(PLACE, &form).await.assert_redirect().to_owned();
        while let Some(receive) = desk.get(&order).await.attribute("a[href^='/rack/receive?line=']", "href") {
            let form = desk.get(&receive).await.form("/rack/receive");
            desk.post("/rack/receive", &changed(form, &[("place", "bay 3"), ("worth", "0.01")]))
                .await
                .assert_redirect();
        }
    }
    tags().await.into_iter().filter(|tag| !before.contains(tag)).collect()
}

/// What heads each row.
fn tags_of(page: &Answer, table: &str) -> Vec<String> {
    page.texts(&format!("[data-test={table}] tbody th"))
}

#[tokio::test]
async fn a_release_leaves_what_was_bought_for_another_job_unless_somebody_ticks_it() {
    let desk = Desk::open().await;
    let first = accepted(&desk).await;
    let theirs = order_and_receive_all(&desk).await;
    assert!(theirs.len() > 2, "{theirs:?}");
    let second = accepted(&desk).await;
    let (number, mine) = (number_of(&desk, &first).await, number_of(&desk, &second).await);
    // Nowhere is it counted on, and everywhere it is said whose it is.
    let release = format!("{second}/release");
    let page = desk.get(&release).await.assert_status(StatusCode::OK);
    assert!(rows(&page, "taken").is_empty(), "{:?}", rows(&page, "taken"));
    assert_eq!(tags_of(&page, "others"), theirs);
    let named = |row: &String| row.contains(&format!("job {number}")) && row.ends_with("left out");
    assert!(rows(&page, "others").iter().all(named), "{:?}", rows(&page, "others"));
    assert!(rows(&page, "buys").iter().all(|row| row.ends_with("same")), "{:?}", rows(&page, "buys"));
    let rack = desk.get(&format!("{second}/rack")).await;
    assert!(rows(&rack, "taken").is_empty());
    assert!(rack.texts("[data-test=left-out]")[0].contains(&format!("{} (job {number})", theirs[0])), "{}", rack.body);
    assert!(!desk.get(&format!("{second}/cutting")).await.body.contains("Taken from the rack"));
    let piece = desk.get(&format!("/rack/pieces/{}", theirs[0])).await;
    assert!(piece.texts("dl.figures")[0].contains(&format!("Bought for{number}")), "{}", piece.body);
    // Neither is it counted on by a price that may count on the rack.
    let counts = [("policy.counts_on_rack", "yes")];
    desk.send("/shop", "/shop", &counts).await.assert_redirect();
    let price = desk.get(&format!("{second}/price")).await.assert_status(StatusCode::OK);
    assert!(!price.texts("[data-test=counted]").join(" ").contains("worth"), "{}", price.body);
    let price = desk.get(&format!("{first}/price")).await.assert_status(StatusCode::OK);
    assert!(price.texts("[data-test=counted]").join(" ").contains("worth"), "its own are: {}", price.body);

    // Ticked, one is taken, by name.
    let page = desk.get(&format!("{release}?also={}", theirs[0])).await.assert_status(StatusCode::OK);
    let taken = rows(&page, "taken");
    assert!(taken.len() == 1 && taken[0].ends_with(&format!("free, bought for job {number}")), "{taken:?}");
    assert!(rows(&page, "others")[0].ends_with("taken") && rows(&page, "others")[1].ends_with("left out"));
    assert_eq!(page.form("others"), fields(&[("also", theirs[0].as_str())]), "the tick stays");
    let form = page.form("release");
    assert_eq!(value(&form, "also"), theirs[0]);
    // What is released is what was looked at: not this plan without the tick.
    let without: Fields = form.iter().filter(|(name, _)| name != "also").cloned().collect();
    let other = desk.post(&release, &without).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&other).contains("the plan is another one now"), "{}", faults(&other));
    desk.post(&release, &form).await.assert_redirect();
    let trail = async |job: &str| desk.get(job).await.texts("[data-test=trail]").join(" ");
    assert!(trail(&second).await.contains(&format!("with {}, bought for job {number}", theirs[0])));
    assert!(trail(&first).await.contains(&format!("{}, bought for this job, was cut for job {mine}", theirs[0])));
    // It is asked for again for the job that lacks it now, and the others are still that one's.
    let id = first.strip_prefix("/jobs/").expect("a job");
    let asked = rows(&desk.get(&format!("{LIST}?chosen=yes&consumables=on&job={id}")).await, "lines");
    assert!(asked.len() == 1, "{asked:?}");
    let page = desk.get(&format!("{first}/release")).await;
    assert!(page.texts("[data-test=others]").is_empty(), "{}", page.body);
    assert_eq!(tags_of(&page, "taken"), theirs[1..]);
    desk.post(&format!("{first}/release"), &page.form("release")).await.assert_redirect();
    assert_eq!(desk.site.store.verify().await.expect("read"), [""; 0]);
}

#[tokio::test]
async fn two_jobs_each_find_what_was_bought_for_them_whichever_is_released_first() {
    let desk = Desk::open().await;
    let (one, other) = (accepted(&desk).await, accepted(&desk).await);
    let all = order_and_receive_all(&desk).await;
    let release = |job: &String| format!("{job}/release");
    let mut found = Vec::new();
    for job in [&other, &one] {
        let page = desk.get(&release(job)).await.assert_status(StatusCode::OK);
        let now = page.texts("[data-test=buys] td[data-label=Now]");
        assert!(!now.is_empty() && now.iter().all(|count| count == "0"), "all was bought: {now:?}");
        found.extend(tags_of(&page, "taken"));
        desk.post(&release(job), &page.form("release")).await.assert_redirect();
    }
    found.sort();
    assert_eq!(found, all);
    assert!(rows(&desk.get(LIST).await, "lines").is_empty());
    assert_eq!(desk.site.store.verify().await.expect("read"), [""; 0]);
}

#[tokio::test]
async fn a_line_arrives_in_parts_and_what_is_late_is_said_by_line() {
    let desk = Desk::open().await;
    let job = accepted(&desk).await;
    let list = desk.get(LIST).await;
    // Placed so long ago that all of it should be here.
    let lines_of = |page: &Answer| rows(page, "lines").len();
    let supplier = suppliers(&list).remove(0);
    let state = AppState::new(desk.site.store.clone(), None, Vec::new());
    let day = hitchwright::web::clock::today().checked_sub(Span::new().days(90)).expect("a day");
    let by = By { who: "Mara", at: Timestamp::now() };
    let id = place_all(&state, &supplier, day, by).await.expect("stored").expect("an order");
    let order = format!("/purchase-list/orders/{id}");
    let page = desk.get(&order).await.assert_status(StatusCode::OK);
    let form = page.form("arrived");
    let came: Vec<(String, String)> = form.iter().filter(|(name, _)| name.starts_with("came.")).cloned().collect();
    assert!(came.len() == lines_of(&page) && !came.is_empty(), "{form:?}");
    let late = async || desk.get(LIST).await.texts("[data-test=late] li");
    assert_eq!(late().await.len(), came.len());
    let had = async || desk.get(LIST).await.texts("[data-test=had] td[data-label='Still to come']");
    assert_eq!(had().await.iter().filter(|text| !text.is_empty()).count(), came.len(), "all is still to come");

    // What is no quantity, or more than was ordered, is said beside the line; nothing is recorded.
    let (first, most) = (came[0].0.as_str(), &came[0].1);
    for (typed, says) in [("many", "is no quantity"), ("-1", "is no quantity"), ("100000", "are still to come")] {
        let wrong = desk.post(&order, &changed(form.clone(), &[(first, typed)])).await;
        let wrong = wrong.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
        assert!(faults(&wrong).contains(says), "{typed}: {}", faults(&wrong));
        assert_eq!(value(&wrong.form("arrived"), first), typed, "it stays as typed");
    }
    let none: Vec<(&str, &str)> = came.iter().map(|(name, _)| (name.as_str(), "0")).collect();
    let none = desk.post(&order, &changed(form.clone(), &none)).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&none).contains("no line has a quantity"), "{}", faults(&none));

    // All of the other lines, and of the first a part: it alone is still late.
    let part = if most == "1" { "0" } else { "1" };
    desk.post(&order, &changed(form, &[(first, part)])).await.assert_redirect();
    let page = desk.get(&order).await;
    let stands = page.texts("[data-test=head]").remove(0);
    if came.len() > 1 || part == "1" {
        assert!(stands.contains("arrived in part"), "{stands}");
    }
    assert_eq!(late().await.len(), 1);
    assert!(rows(&desk.get(&job).await, "orders")[0].contains("late"));
    assert_eq!(had().await.iter().filter(|text| !text.is_empty()).count(), 1);
    // The rest comes, and one of it was not here after all.
    desk.post(&order, &page.form("arrived")).await.assert_redirect();
    let page = desk.get(&order).await;
    assert!(page.texts("[data-test=head]")[0].contains("arrived") && late().await.is_empty());
    let missing = changed(page.form("awaited"), &[("awaited_why", "One is short.")]);
    let missing: Fields = missing
        .into_iter()
        .map(|(name, typed)| {
            let typed = if name.starts_with("missing.") {
                if name == format!("missing.{}", &first["came.".len()..]) { "1".into() } else { String::new() }
            } else {
                typed
            };
            (name, typed)
        })
        .collect();
    desk.post(&order, &missing).await.assert_redirect();
    let page = desk.get(&order).await;
    assert!(
        rows(&page, "steps")[0].contains("not here after all: 1 ") && rows(&page, "steps")[0].contains("One is short.")
    );
    assert_eq!(late().await.len(), 1);
    let again = page.form("arrived");
    assert_eq!(again.iter().filter(|(name, typed)| name.starts_with("came.") && typed == "1").count(), 1, "{again:?}");
    assert_eq!(desk.site.store.verify().await.expect("read"), [""; 0]);
}

#[tokio::test]
async fn what_has_no_supplier_is_ordered_by_hand_and_followed_as_any_other_order() {
    let desk = Desk::open().await;
    let job = accepted(&desk).await;
    let retire = async |code: &str| {
        let retire = format!("/rates/items/{code}/retire");
        let form = desk.get(&format!("/rates/items/{code}")).await.form(&retire);
        desk.post(&retire, &form).await.assert_redirect();
    };
    let cells = desk.get(LIST).await.texts("[data-test=lines] tbody th .quiet");
    let bar =
        cells.iter().find(|text| text.starts_with("HS-")).expect("a bar").split([' ', ',']).next().unwrap().to_owned();
    retire("CN-WIRE").await;
    retire(&bar).await;
    let list = desk.get(LIST).await;
    let without = rows(&list, "without");
    let place_of = |code: &str| without.iter().position(|row| row.contains(code)).expect("without a supplier");
    let (wire, bars) = (place_of("CN-WIRE"), place_of(&bar));
    let form = list.form("by-hand");
    let (buy, each) = (|at: usize| format!("buy.{at}"), |at: usize| format!("each.{at}"));
    assert!(!form.iter().any(|(name, _)| name == "by_hand"), "nothing is ticked at first");
    let needed = value(&form, &buy(wire)).to_owned();
    const BY_HAND: &str = "/purchase-list/order-by-hand";

    let nothing = desk.post(BY_HAND, &form).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    for says in ["Supplier: Nothing was entered", "To be here by", "Nothing is ticked"] {
        assert!(faults(&nothing).contains(says), "{says}: {}", faults(&nothing));
    }
    let today = hitchwright::web::clock::today().to_string();
    let ticked = |ticks: &[usize], typed: &[(&str, &str)]| {
        let ticks = ticks.iter().map(|at| ("by_hand".to_owned(), at.to_string()));
        let to = [("supplier", "Mud Lane Stores"), ("due", today.as_str())];
        changed(changed(form.clone(), &to), typed).into_iter().chain(ticks).collect::<Fields>()
    };
    for (ticks, field, typed, says) in [
        (wire, buy(wire), "0.1", "which is what the jobs need, or more"),
        (wire, buy(wire), "some", "is too little or no quantity"),
        (wire, each(wire), "dear", "leave it empty"),
        (bars, each(bars), "", "worth what it cost"),
        (bars, each(bars), "0", "worth what it cost"),
    ] {
        let wrong = desk.post(BY_HAND, &ticked(&[ticks], &[(field.as_str(), typed)])).await;
        let wrong = wrong.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
        assert!(faults(&wrong).contains(says), "{typed}: {}", faults(&wrong));
        let again = wrong.form("by-hand");
        assert!(value(&again, "supplier") == "Mud Lane Stores" && value(&again, &field) == typed, "{again:?}");
        assert_eq!(value(&again, "by_hand"), ticks.to_string());
    }
    let early = desk.post(BY_HAND, &ticked(&[wire], &[("due", "2001-01-01")])).await;
    assert!(faults(&early).contains("“2001-01-01” is no such day"), "{}", faults(&early));
    assert!(rows(&desk.get("/purchase-list/orders").await, "orders").is_empty(), "nothing was recorded");

    // The wire at a price that nobody knows yet; nothing of the rate book moves.
    let wire_order = desk.post(BY_HAND, &ticked(&[wire], &[])).await.assert_redirect().to_owned();
    let page = desk.get(&wire_order).await.assert_status(StatusCode::OK);
    let lines = rows(&page, "lines");
    assert!(lines.len() == 1 && lines[0].contains(&needed) && lines[0].contains("not known"), "{lines:?}");
    assert!(page.texts("h1")[0].ends_with("to Mud Lane Stores") && page.body.contains("of what is known"));
    let after = desk.get(LIST).await;
    assert!(of_item(&after, "without", "CN-WIRE").is_empty() && of_item(&after, "had", "CN-WIRE").len() == 1);
    assert!(rows(&desk.get(&job).await, "orders")[0].contains("Mud Lane Stores"));
    // The same list again, and one that moved meanwhile.
    let stale = desk.post(BY_HAND, &ticked(&[bars], &[(each(bars).as_str(), "9")])).await;
    let stale = stale.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&stale).contains("no longer what you looked at"), "{}", faults(&stale));

    // The bars, which go on the rack at their price, and arrive.
    let form = after.form("by-hand");
    let typed = [("supplier", "Mud Lane Stores"), ("due", today.as_str()), ("each.0", "31.40")];
    let form: Fields = changed(form, &typed).into_iter().chain([("by_hand".to_owned(), "0".to_owned())]).collect();
    let order = desk.post(BY_HAND, &form).await.assert_redirect().to_owned();
    let page = desk.get(&order).await;
    let receive = page.attribute("a[href^='/rack/receive?line=']", "href").expect("bars are put on the rack");
    let received = desk.get(&receive).await.form("/rack/receive");
    assert!(value(&received, "worth").contains("31.40"), "{received:?}");
    desk.post("/rack/receive", &changed(received, &[("place", "bay 3")])).await.assert_redirect();
    assert!(desk.get(&order).await.texts("[data-test=head]")[0].contains("arrived"));
    assert!(of_item(&desk.get(LIST).await, "without", &bar).len() < of_item(&list, "without", &bar).len());
    // Cancelled, what it was for is asked for again: not the bars, which lie on the rack for any plan.
    for cancelled in [&order, &wire_order] {
        desk.post(&format!("{cancelled}/cancel"), &fields(&[("cancel_why", "Rusty.")])).await.assert_redirect();
    }
    let again = desk.get(LIST).await;
    assert_eq!((of_item(&again, "without", "CN-WIRE").len(), of_item(&again, "without", &bar).len()), (1, 0));
    let workshop = signed_in(&desk.site.store, "Jory", Role::Workshop).await;
    let theirs = Ask::get(LIST).with("cookie", &workshop).of(&desk.site).await.assert_status(StatusCode::OK);
    assert!(!theirs.body.contains("id=\"by-hand\"") && !rows(&theirs, "without").is_empty(), "{}", theirs.body);
    assert_eq!(by_workshop(&desk, &workshop, BY_HAND, &form).await.status, StatusCode::FORBIDDEN);
    assert_eq!(desk.site.store.verify().await.expect("read"), [""; 0]);
}

#[tokio::test]
async fn the_workshop_says_what_arrived_and_neither_orders_nor_cancels() {
    let desk = Desk::open().await;
    accepted(&desk).await;
    let form = desk.get(LIST).await.form("place-1");
    let workshop = signed_in(&desk.site.store, "Jory", Role::Workshop).await;
    let list = Ask::get(LIST).with("cookie", &workshop).of(&desk.site).await.assert_status(StatusCode::OK);
    assert!(!list.body.contains("id=\"place-1\"") && !list.body.contains('£'), "{}", list.body);
    let forbidden = by_workshop(&desk, &workshop, PLACE, &form).await;
    assert_eq!(forbidden.status, StatusCode::FORBIDDEN);
    let order = order_first(&desk).await;
    for path in [order.as_str(), "/purchase-list/orders", LIST] {
        let page = Ask::get(path).with("cookie", &workshop).of(&desk.site).await.assert_status(StatusCode::OK);
        assert!(!page.body.contains('£'), "{path}: {}", page.body);
        assert!(!page.body.contains("/cancel"), "{path}: {}", page.body);
    }
    let cancel = by_workshop(&desk, &workshop, &format!("{order}/cancel"), &fields(&[("cancel_why", "x")])).await;
    assert_eq!(cancel.status, StatusCode::FORBIDDEN);
    let arrived = Ask::get(&order).with("cookie", &workshop).of(&desk.site).await.form("arrived");
    assert_eq!(by_workshop(&desk, &workshop, &order, &arrived).await.assert_redirect(), order);
    assert!(rows(&desk.get(&order).await, "steps")[0].contains("Jory"));
}

#[tokio::test]
async fn an_erased_customer_leaves_the_order_and_a_declined_job_is_none_to_order_for() {
    let desk = Desk::open().await;
    let job = accepted(&desk).await;
    let order = order_first(&desk).await;
    let before = rows(&desk.get(&order).await, "lines");
    desk.post(&format!("{job}/erase-customer"), &fields(&[("erase_name", "Ann")])).await.assert_redirect();
    let page = desk.get(&order).await.assert_status(StatusCode::OK);
    assert_eq!(rows(&page, "lines"), before, "an order names jobs, not customers");
    assert!(!page.body.contains("Ann"), "{}", page.body);
    let list = desk.get(LIST).await.assert_status(StatusCode::OK);
    assert!(!rows(&list, "had").is_empty());
    assert!(rows(&desk.get(&job).await, "orders").len() == 1);

    let declined = desk.job_with_load().await;
    desk.post(&format!("{declined}/stage"), &fields(&[("to", "decline"), ("note", "too late")]))
        .await
        .assert_redirect();
    let id = declined.strip_prefix("/jobs/").expect("a job");
    let looked = desk.get(&format!("{LIST}?chosen=yes&consumables=on&job={id}")).await;
    assert!(looked.body.contains("No job is ticked") && looked.texts("[data-test=unknown]").len() == 1);
    let typed = changed(list.form("place-1"), &[("chosen", "yes"), ("job", id)]);
    let refused = desk.post(PLACE, &typed).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&refused).contains("nothing is to be ordered there"), "{}", faults(&refused));
    assert_eq!(desk.site.store.verify().await.expect("read"), [""; 0]);
}

#[tokio::test]
async fn what_is_late_is_said() {
    let desk = Desk::open().await;
    let job = accepted(&desk).await;
    assert!(desk.get(LIST).await.texts("[data-test=late]").is_empty(), "accepted today, nothing is late");
    let supplier = suppliers(&desk.get(LIST).await).remove(0);
    let state = AppState::new(desk.site.store.clone(), None, Vec::new());
    let day = hitchwright::web::clock::today().checked_sub(Span::new().days(60)).expect("a day");
    let by = By { who: "Mara", at: Timestamp::now() };
    place_all(&state, &supplier, day, by).await.expect("stored").expect("an order");
    let list = desk.get(LIST).await;
    let late = list.texts("[data-test=late]").join(" ");
    assert!(late.contains(&format!("Order 1 to {supplier}")) && late.contains("has not arrived"), "{late}");
    assert!(rows(&list, "orders")[0].contains("late") && rows(&desk.get(&job).await, "orders")[0].contains("late"));
    assert!(desk.get("/purchase-list/orders/1").await.texts("[data-test=late]")[0].starts_with("Late:"));

    // The job was accepted long ago: the last day to order is past.
    let mut hand = sqlx::sqlite::SqliteConnectOptions::new()
        .filename(desk.site.store.path())
        .connect()
        .await
        .expect("a connection");
    sqlx::query("UPDATE job SET accepted_at = accepted_at - 7776000000").execute(&mut hand).await.expect("set back");
    let late = desk.get(LIST).await.texts("[data-test=late]").join(" ");
    assert!(late.contains("The last day to order is past, of: "), "{late}");
}
