//! Several jobs planned together: one plan, shared remainders, and what each job pays of it.

use std::time::Duration;

use axum::http::StatusCode;
use hitchwright::domain::{nesting::Budget, people::Role};

use super::{
    Desk, Fields, fields,
    release::{accepted, number_of, receive_cheap_bar, rows},
};
use crate::support::{Answer, Ask, signed_in};

const CHOOSE: &str = "/rack/together";

fn chosen(jobs: &[&String]) -> Fields {
    jobs.iter().map(|job| ("job".to_owned(), job.rsplit('/').next().expect("an id").to_owned())).collect()
}

/// The page of the plan of these jobs, once it is made.
pub async fn planned(desk: &Desk, jobs: &[&String]) -> (String, Answer) {
    let path = desk.post(CHOOSE, &chosen(jobs)).await.assert_redirect().to_owned();
    for _ in 0..600 {
        let page = desk.get(&path).await.assert_status(StatusCode::OK);
        if !page.body.contains("http-equiv=\"refresh\"") {
            return (path, page);
        }
        tokio::time::sleep(Duration::from_millis(200)).await;
    }
    panic!("the plan does not end");
}

/// An amount such as £1,234.50 in pence.
fn pence(text: &str) -> i64 {
    let digits: String = text.chars().filter(char::is_ascii_digit).collect();
    let sign = if text.contains(['-', '−']) { -1 } else { 1 };
    sign * digits.parse::<i64>().unwrap_or_else(|_| panic!("no amount: {text}"))
}

/// The amounts of a row of the table of costs.
fn amounts(page: &Answer, selector: &str) -> Vec<[i64; 3]> {
    let cells = page.texts(&format!("[data-test=costs] {selector} td"));
    cells.chunks(3).map(|row| [pence(&row[0]), pence(&row[1]), pence(&row[2])]).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn jobs_planned_together_share_bars_and_their_cost_and_nothing_is_booked() {
    let desk = Desk::open().await;
    assert!(desk.get(CHOOSE).await.body.contains("No job is accepted"));
    let (one, other) = (accepted(&desk).await, accepted(&desk).await);
    receive_cheap_bar(&desk, &one).await;
    let rack = desk.get("/rack").await;
    assert_eq!(
        rack.attribute(&format!("a[href=\"{CHOOSE}\"]"), "href").as_deref(),
        Some(CHOOSE),
        "the rack leads there"
    );
    let page = desk.get(CHOOSE).await.assert_status(StatusCode::OK);
    let numbers = [number_of(&desk, &one).await, number_of(&desk, &other).await];
    let labels = page.texts("#together label");
    assert!(
        labels.len() == 2 && labels.iter().zip(&numbers).all(|(label, number)| label.contains(number)),
        "{labels:?}"
    );

    let (path, plan) = planned(&desk, &[&one, &other]).await;
    // Two jobs that are alike: what they share they share by halves, to the penny.
    let (jobs, total) = (amounts(&plan, "tbody"), amounts(&plan, "tfoot"));
    assert_eq!((jobs.len(), total.len()), (2, 1), "{}", plan.body);
    for column in 0..3 {
        assert_eq!(jobs[0][column] + jobs[1][column], total[0][column], "{jobs:?} {total:?}");
    }
    assert!(total[0][0] > 0 && total[0][2] == total[0][0] - total[0][1], "{total:?}");
    let groups = plan.texts("[data-test=shares] tbody").len() as i64;
    assert!((jobs[0][0] - jobs[1][0]).abs() <= groups, "equal parts, equal shares but for a penny a group: {jobs:?}");
    let shared: i64 = plan.texts("[data-test=shares] tr.group td").iter().map(|cost| pence(cost)).sum();
    assert_eq!(shared, total[0][0], "the groups add up");
    // Together no piece of stock is taken more than one by one, and each mark names its job.
    let counts = plan.texts("[data-test=counts] tbody td");
    assert!(counts[1].parse::<u32>().unwrap() <= counts[0].parse::<u32>().unwrap(), "{counts:?}");
    let marks = plan.texts("[data-test=saw-list] tbody th");
    for number in &numbers {
        let own = marks.iter().filter(|mark| mark.starts_with(&format!("{number} "))).count();
        assert_eq!(own * 2, marks.len(), "{marks:?}");
    }
    assert!(plan.texts("[data-test=taken]").join(" ").contains("takes R-0001"), "{}", plan.body);
    assert!(desk.get("/rack").await.texts("[data-test=rack] tbody tr")[0].contains("free"), "nothing is reserved");
    assert!(plan.body.contains("reserves and books nothing"));
    let pdf = desk.get(&format!("{path}/cutting.pdf")).await.assert_status(StatusCode::OK);
    assert!(pdf.bytes.starts_with(b"%PDF"));

    // The same by the workshop, without an amount.
    let workshop = signed_in(&desk.site.store, "Jory", Role::Workshop).await;
    let typed = chosen(&[&one, &other]);
    let typed: Vec<(&str, &str)> = typed.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    let theirs = Ask::form(CHOOSE, &typed).with("cookie", &workshop).of(&desk.site).await.assert_redirect().to_owned();
    for page in [CHOOSE, &path, &theirs] {
        let page = Ask::get(page).with("cookie", &workshop).of(&desk.site).await.assert_status(StatusCode::OK);
        assert!(!page.body.contains('£') && page.texts("[data-test=costs]").is_empty(), "{}", page.body);
    }
    assert!(!rows(&desk.get(&path).await, "buys").is_empty());
}

#[tokio::test]
async fn what_cannot_be_planned_together_is_said_and_the_ticks_stay() {
    let desk = Desk::open().await;
    let (one, other, open) = (accepted(&desk).await, accepted(&desk).await, desk.job_with_load().await);
    let alone = desk.post(CHOOSE, &chosen(&[&one])).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(alone.texts("#faults").join(" ").contains("1 chosen"), "{}", alone.body);
    assert_eq!(alone.form("together"), chosen(&[&one]));
    for stranger in [open, "/jobs/999".to_owned()] {
        let with = desk.post(CHOOSE, &chosen(&[&one, &other, &stranger])).await;
        let with = with.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
        assert!(with.texts("#faults").join(" ").contains("not accepted any more"), "{}", with.body);
        assert_eq!(with.form("together"), chosen(&[&one, &other]));
    }
    let gone = desk.get("/rack/together/12").await.assert_status(StatusCode::OK);
    assert!(gone.texts("[data-test=ended]").join(" ").contains("no longer known"), "{}", gone.body);
    desk.get("/rack/together/12/cutting.pdf").await.assert_status(StatusCode::NOT_FOUND);
    assert_eq!(desk.post("/rack/together/12/cancel", &Fields::new()).await.status, StatusCode::SEE_OTHER);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_slow_common_plan_shows_how_far_it_is_and_is_cancelled() {
    let desk = Desk::open().await;
    let mut jobs = Vec::new();
    for _ in 0..2 {
        let job = desk.job_with_load().await;
        desk.send(&format!("{job}/need"), "need", &[("need.count", "37"), ("action", "save")]).await.assert_redirect();
        desk.answer_checks(&job).await;
        let revision = desk.issue(&job).await;
        let link = desk.link(&revision).await;
        let accept = fields(&[("accept_name", "Ann"), ("agree", "on")]);
        desk.post(&format!("{link}/accept"), &accept).await.assert_redirect();
        jobs.push(job);
    }
    // More work allowed than anybody waits for.
    let desk = Desk { site: desk.site.allowed(Budget::of_units(2_000_000_000_000)) };
    let plan = desk.post(CHOOSE, &chosen(&[&jobs[0], &jobs[1]])).await.assert_redirect().to_owned();
    let page = desk.get(&plan).await.assert_status(StatusCode::OK);
    assert!(page.body.contains("being planned") && page.body.contains("of the work allowed"), "{}", page.body);
    assert!(page.texts("[data-test=progress]").join(" ").contains("by itself"), "{}", page.body);
    // The same jobs again lead to the same plan; others wait.
    let workshop = signed_in(&desk.site.store, "Jory", Role::Workshop).await;
    let seen = Ask::get(&plan).with("cookie", &workshop).of(&desk.site).await.assert_status(StatusCode::OK);
    assert!(seen.body.contains("of the work allowed") && !seen.body.contains('£'), "{}", seen.body);
    assert_eq!(desk.post(CHOOSE, &chosen(&[&jobs[0], &jobs[1]])).await.assert_redirect(), plan);
    assert_eq!(desk.post(&format!("{plan}/cancel"), &Fields::new()).await.assert_redirect(), plan);
    let ended = desk.get(&plan).await.assert_status(StatusCode::OK);
    assert!(ended.texts("[data-test=ended]").join(" ").contains("cancelled"), "{}", ended.body);
    assert!(!ended.body.contains("hx-trigger"), "an ended plan asks no more: {}", ended.body);
}
