//! Several jobs planned together: one plan, shared remainders, and what each job pays of it.

use std::time::Duration;

use axum::http::StatusCode;
use hitchwright::domain::{nesting::Budget, people::Role};

use super::{
    Desk, Fields, changed, fields,
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
    assert!(plan.body.contains("This plan reserves nothing"));
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

fn faults(page: &Answer) -> String {
    page.texts("#faults").join(" ")
}

fn tags_of(rows: &[String]) -> Vec<&str> {
    rows.iter().filter_map(|row| row.split(' ').next()).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn jobs_are_released_by_one_plan_all_or_none_and_what_is_left_returns_once() {
    let desk = Desk::open().await;
    let (one, other) = (accepted(&desk).await, accepted(&desk).await);
    let numbers = [number_of(&desk, &one).await, number_of(&desk, &other).await];
    receive_cheap_bar(&desk, &one).await;
    let prices = async || {
        let mut all = Vec::new();
        for job in [&one, &other] {
            all.push(desk.get(&format!("{job}/price")).await.texts("main table"));
        }
        all
    };
    let priced = prices().await;
    // A plan that somebody looked at while the rack moved is not released by.
    let (stale_path, stale) = planned(&desk, &[&one, &other]).await;
    receive_cheap_bar(&desk, &one).await;
    let moved = desk.post(&format!("{stale_path}/release"), &stale.form("release")).await;
    let moved = moved.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&moved).contains("None of the jobs was released"), "{}", faults(&moved));
    assert!(rows(&desk.get("/rack").await, "rack").iter().all(|row| row.contains("free")));

    let (path, plan) = planned(&desk, &[&one, &other]).await;
    let (release, form) = (format!("{path}/release"), plan.form("release"));
    let unseen = desk.post(&release, &changed(form.clone(), &[("seen", "0")])).await;
    assert!(faults(&unseen.assert_status(StatusCode::UNPROCESSABLE_ENTITY)).contains("None of the jobs"));
    let workshop = signed_in(&desk.site.store, "Jory", Role::Workshop).await;
    let forbidden = Ask::form(&release, &[("seen", "")]).with("cookie", &workshop).of(&desk.site).await;
    assert_eq!(forbidden.status, StatusCode::FORBIDDEN);
    let taken = plan.texts("[data-test=taken]").join(" ");
    let tags = taken.split("takes ").nth(1).and_then(|rest| rest.split('.').next()).expect("pieces of the rack");
    let tags: Vec<&str> = tags.split(", ").collect();
    assert!(tags.iter().all(|tag| tag.starts_with("R-000")), "{taken}");
    let buys: i64 =
        plan.texts("[data-test=buys] td[data-label=Together]").iter().map(|count| count.parse::<i64>().unwrap()).sum();
    let typed = changed(form.clone(), &[("note", "On Monday.")]);
    assert_eq!(desk.post(&release, &typed).await.assert_redirect(), path);

    // Both are in the shop, at the price that they had; each saw list is the whole plan with its own parts marked.
    assert_eq!(prices().await, priced);
    assert!(desk.get(&path).await.texts("[data-test=gone]")[0].contains("their own pages"));
    let mut left = Vec::new();
    for (job, [own, others]) in [(&one, [0, 1]), (&other, [1, 0])] {
        let overview = desk.get(job).await;
        assert!(overview.texts(".stage").contains(&"in the shop".to_owned()));
        let trail = overview.texts("[data-test=trail]").join(" ");
        assert!(
            trail.contains(&format!("planned together: {}", numbers.join(", "))) && trail.contains("On Monday."),
            "{trail}"
        );
        let cutting = desk.get(&format!("{job}/cutting")).await.assert_status(StatusCode::OK);
        assert!(cutting.texts("[data-test=with-others]")[0].contains(&numbers[others]), "{}", cutting.body);
        let marks = cutting.texts("[data-test=saw-list] tbody th");
        assert!(marks.iter().all(|mark| mark.starts_with(&numbers[own]) == mark.ends_with("this job")), "{marks:?}");
        assert!(marks.iter().any(|mark| mark.starts_with(&numbers[others])), "{marks:?}");
        let on_sheets = cutting.texts("[data-test=own-parts]");
        assert!(!on_sheets.is_empty() && on_sheets.iter().all(|marks| marks.contains(&numbers[own])), "{on_sheets:?}");
        assert!(on_sheets.iter().all(|marks| !marks.contains(&numbers[others])), "{on_sheets:?}");
        let steps = cutting.texts("table.steps tbody th");
        assert!(steps.iter().any(|mark| mark.ends_with("this job")), "{steps:?}");
        assert_eq!(steps.len(), plan.texts("table.steps tbody th").len(), "all cuts of the plan");
        desk.get(&format!("{job}/cutting.pdf")).await.assert_status(StatusCode::OK);
        left.push(rows(&desk.get(&format!("{job}/rack")).await, "left"));
    }
    let cut: Vec<String> = [&one, &other].map(|job| format!("{job}/rack")).to_vec();
    let booked =
        [desk.get(&cut[0]).await.texts("[data-test=released]"), desk.get(&cut[1]).await.texts("[data-test=released]")]
            .concat()
            .join(" ");
    for tag in tags {
        assert_eq!(booked.matches(tag).count(), 1, "booked once: {booked}");
        assert!(rows(&desk.get(&format!("/rack/pieces/{tag}")).await, "history")[0].contains("cut"));
    }
    // The purchase list asks for the stock of the plan, once.
    let asked = desk.get("/purchase-list").await.texts("[data-test=lines] td[data-label=Buy]");
    let count = |text: &String| {
        text.strip_suffix(" bars")
            .or(text.strip_suffix(" bar"))
            .or(text.strip_suffix(" sheets"))
            .or(text.strip_suffix(" sheet"))?
            .parse::<i64>()
            .ok()
    };
    assert_eq!(asked.iter().filter_map(count).sum::<i64>(), buys, "{asked:?}");
    // Again, by either way.
    let again = desk.post(&release, &form).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&again).contains("None of the jobs was released"), "{}", faults(&again));
    // What is left returns once, each remainder from the page of the job that it was booked for.
    let all = left.concat();
    assert!(!all.is_empty() && tags_of(&all).len() == all.len(), "{left:?}");
    for (job, left) in [&one, &other].into_iter().zip(&left) {
        let page = desk.get(&format!("{job}/rack")).await;
        if left.is_empty() {
            continue;
        }
        let form = changed(page.form("return"), &[("place", "bay 9")]);
        desk.post(&format!("{job}/rack/return"), &form).await.assert_redirect();
        desk.post(&format!("{job}/rack/return"), &form).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    }
    assert_eq!(rows(&desk.get("/rack?search=bay+9").await, "rack").len(), all.len());
    assert_eq!(desk.site.store.verify().await.expect("read"), [""; 0]);
}

#[tokio::test(flavor = "multi_thread")]
async fn where_one_of_the_jobs_cannot_be_released_none_is() {
    let desk = Desk::open().await;
    let (one, other) = (accepted(&desk).await, accepted(&desk).await);
    let (path, plan) = planned(&desk, &[&one, &other]).await;
    // One goes to the workshop by its own plan meanwhile, without a piece of the rack.
    let own = format!("{other}/release");
    desk.send(&own, "release", &[]).await.assert_redirect();
    let late = desk.post(&format!("{path}/release"), &plan.form("release")).await;
    let late = late.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&late).contains("None of the jobs was released"), "{}", faults(&late));
    assert!(desk.get(&one).await.texts(".stage").contains(&"accepted".to_owned()));
    assert!(desk.get(&format!("{one}/release")).await.texts("[data-test=blocks]").is_empty(), "it still can be");
    assert_eq!(desk.site.store.verify().await.expect("read"), [""; 0]);
}
