//! From the rack to the workshop and back: reserving, releasing, returning.

use axum::http::StatusCode;
use hitchwright::domain::people::Role;

use super::{Desk, Fields, changed, fields, rack::BAR};
use crate::support::{Answer, Ask, signed_in};

/// A job whose quote the customer accepted; its path.
pub async fn accepted(desk: &Desk) -> String {
    let job = desk.job_with_load().await;
    desk.answer_checks(&job).await;
    let revision = desk.issue(&job).await;
    let link = desk.link(&revision).await;
    let accept = fields(&[("accept_name", "Ann"), ("agree", "on")]);
    desk.post(&format!("{link}/accept"), &accept).await.assert_redirect();
    job
}

/// A bar of what the job cuts comes in, so cheap that no plan without it costs as little; its section.
pub async fn receive_cheap_bar(desk: &Desk, job: &str) -> String {
    let cutting = desk.get(&format!("{job}/cutting")).await.assert_status(StatusCode::OK);
    let steel = cutting.texts("section.at-the-saw h2").remove(0);
    let (section, grade) = steel.rsplit_once(' ').expect("a section and its grade");
    let bar = [("section", section), ("grade", grade), ("count", "1"), ("worth", "0.01"), ("length", "6 m")];
    let bar = changed(fields(BAR), &bar);
    let bar: Vec<(&str, &str)> = bar.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    desk.send("/rack/receive", "/rack/receive", &bar).await.assert_redirect();
    section.to_owned()
}

pub fn rows(page: &Answer, table: &str) -> Vec<String> {
    page.texts(&format!("[data-test={table}] tbody tr"))
}

fn faults(page: &Answer) -> String {
    page.texts("#faults").join(" ")
}

pub async fn number_of(desk: &Desk, job: &str) -> String {
    let head = desk.get(job).await.texts(".page-head p").join(" ");
    head.split_whitespace().next().expect("a number").to_owned()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn of_two_jobs_that_want_a_piece_one_reserves_it_and_the_other_is_told() {
    let desk = Desk::open().await;
    let (one, other) = (accepted(&desk).await, accepted(&desk).await);
    receive_cheap_bar(&desk, &one).await;
    let (mine, theirs) = (format!("{one}/rack"), format!("{other}/rack"));
    let mut looked_at = Vec::new();
    for (job, page) in [(&one, &mine), (&other, &theirs)] {
        let unreserved = desk.get(job).await.texts("[data-test=unreserved]").join(" ");
        assert!(unreserved.contains("not yet reserved: R-0001"), "{unreserved}");
        let page = desk.get(page).await.assert_status(StatusCode::OK);
        assert!(rows(&page, "taken")[0].starts_with("R-0001") && rows(&page, "taken")[0].ends_with("free"));
        looked_at.push(page.form("reserve"));
    }
    let (to_mine, to_theirs) = (format!("{mine}/reserve"), format!("{theirs}/reserve"));
    let (first, second) = tokio::join!(desk.post(&to_mine, &looked_at[0]), desk.post(&to_theirs, &looked_at[1]));
    let (won, lost, refused) = if first.status == StatusCode::SEE_OTHER {
        assert_eq!(first.assert_redirect(), mine);
        ((&one, &mine), (&other, &theirs), second)
    } else {
        assert_eq!(second.assert_redirect(), theirs);
        ((&other, &theirs), (&one, &mine), first)
    };
    let refused = refused.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&refused).contains("No longer to be had for this job: R-0001."), "{}", faults(&refused));
    // The plan was made again without it, and there is nothing more to reserve.
    assert!(rows(&refused, "taken").is_empty() && rows(&desk.get(lost.1).await, "taken").is_empty());
    assert!(desk.get(lost.0).await.texts("[data-test=unreserved]").is_empty());
    let page = desk.get(won.1).await;
    assert!(rows(&page, "taken")[0].contains("reserved for this job"), "{}", page.body);
    assert!(page.texts("[data-test=reserved]").join(" ").contains("All of them"), "{}", page.body);
    assert!(desk.get(won.0).await.texts("[data-test=unreserved]").is_empty());

    // A piece reserved by hand that the plan has no use for is freed at the next press.
    desk.send("/rack/receive", "/rack/receive", &[BAR, &[("section", "rhs 120x80x5"), ("count", "1")]].concat())
        .await
        .assert_redirect();
    let number = number_of(&desk, won.0).await;
    desk.post("/rack/pieces/R-0002", &fields(&[("action", "reserve"), ("job", &number)])).await.assert_redirect();
    let page = desk.get(won.1).await;
    assert!(page.texts("[data-test=spare]").join(" ").contains("R-0002"), "{}", page.body);
    let workshop = signed_in(&desk.site.store, "Jory", Role::Workshop).await;
    let typed = page.form("reserve");
    let typed: Vec<(&str, &str)> = typed.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    let pressed = Ask::form(&format!("{}/reserve", won.1), &typed).with("cookie", &workshop).of(&desk.site).await;
    assert_eq!(pressed.assert_redirect(), won.1, "the workshop may reserve");
    assert!(desk.get("/rack?state=free").await.texts("[data-test=rack]").join(" ").contains("R-0002"));
    assert!(desk.get("/rack?state=reserved").await.texts("[data-test=rack]").join(" ").contains("R-0001"));
    assert_eq!(desk.site.store.verify().await.expect("read"), [""; 0]);
}

#[tokio::test]
async fn nothing_is_reserved_or_released_before_the_customer_accepts() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    receive_cheap_bar(&desk, &job).await;
    let page = desk.get(&format!("{job}/rack")).await.assert_status(StatusCode::OK);
    assert!(rows(&page, "taken")[0].starts_with("R-0001") && page.body.contains("once the customer has accepted"));
    let early = desk.post(&format!("{job}/rack/reserve"), &fields(&[("seen", "R-0001")])).await;
    let early = early.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&early).contains("this one is not"), "{}", faults(&early));
    let page = desk.get(&format!("{job}/release")).await.assert_status(StatusCode::OK);
    assert!(page.texts("[data-test=blocks]").join(" ").contains("still an enquiry"), "{}", page.body);
    let early = desk.post(&format!("{job}/release"), &Fields::new()).await;
    let early = early.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&early).contains("still an enquiry"), "{}", faults(&early));
    let early = desk.post(&format!("{job}/rack/return"), &fields(&[("place", "bay 9")])).await;
    let early = early.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&early).contains("not released"), "{}", faults(&early));
    assert!(desk.get("/rack").await.texts("[data-test=rack]").join(" ").contains("free"));
}

#[tokio::test]
async fn a_job_is_released_with_the_rack_of_that_hour_and_its_remainders_return() {
    let desk = Desk::open().await;
    let job = accepted(&desk).await;
    let (release, rack) = (format!("{job}/release"), format!("{job}/rack"));
    let priced = desk.get(&format!("{job}/price")).await.texts("main table");
    assert!(!priced.is_empty());
    let section = receive_cheap_bar(&desk, &job).await;
    let stage = desk.post(&format!("{job}/stage"), &fields(&[("to", "start")])).await;
    assert_eq!(stage.status, StatusCode::UNPROCESSABLE_ENTITY, "a job goes to the shop by its release alone");

    // The piece goes while somebody looks at the plan.
    let looked_at = desk.get(&release).await.assert_status(StatusCode::OK);
    assert!(rows(&looked_at, "taken")[0].starts_with("R-0001"), "{}", looked_at.body);
    desk.post("/rack/pieces/R-0001", &fields(&[("action", "scrap"), ("why", "bent")])).await.assert_redirect();
    let stale = desk.post(&release, &looked_at.form("release")).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&stale).contains("the plan is another one now"), "{}", faults(&stale));
    assert!(rows(&stale, "taken").is_empty() && desk.get(&job).await.texts(".stage").contains(&"accepted".to_owned()));
    let same = rows(&stale, "buys");
    assert!(!same.is_empty() && same.iter().all(|row| row.ends_with("same")), "as priced: {same:?}");
    let costs = rows(&stale, "costs");
    assert_eq!(costs.len(), 4, "{costs:?}");

    // Another comes in, and the plan of this hour takes it instead of a new one.
    receive_cheap_bar(&desk, &job).await;
    let page = desk.get(&release).await;
    let (taken, buys) = (rows(&page, "taken"), rows(&page, "buys"));
    assert!(taken.len() == 1 && taken[0].starts_with("R-0002") && taken[0].ends_with("free"), "{taken:?}");
    assert!(buys.iter().any(|row| row.contains(&section) && row.contains("−1")), "{buys:?}");
    assert!(
        rows(&page, "costs")[3].contains('-') || rows(&page, "costs")[3].contains('−'),
        "{:?}",
        rows(&page, "costs")
    );
    let workshop = signed_in(&desk.site.store, "Jory", Role::Workshop).await;
    let forbidden = Ask::form(&release, &[("seen", "")]).with("cookie", &workshop).of(&desk.site).await;
    assert_eq!(forbidden.status, StatusCode::FORBIDDEN);
    let typed = changed(page.form("release"), &[("note", "Starts on Monday.")]);
    assert_eq!(desk.post(&release, &typed).await.assert_redirect(), rack);

    // Booked, frozen for the saw, and the price stands.
    let piece = desk.get("/rack/pieces/R-0002").await;
    let history = rows(&piece, "history");
    assert!(history[0].contains("cut") && history[1].contains("reserved"), "{history:?}");
    let overview = desk.get(&job).await;
    assert!(overview.texts(".stage").contains(&"in the shop".to_owned()));
    assert!(overview.texts("[data-test=trail]").join(" ").contains("Starts on Monday."));
    let cutting = desk.get(&format!("{job}/cutting")).await.assert_status(StatusCode::OK);
    assert!(cutting.body.contains("As released to the workshop on") && cutting.body.contains("R-0002"));
    desk.get(&format!("{job}/cutting.pdf")).await.assert_status(StatusCode::OK);
    assert_eq!(desk.get(&format!("{job}/price")).await.texts("main table"), priced);
    let again = desk.post(&release, &typed).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&again).contains("this job is in the shop"), "{}", faults(&again));

    // What is left comes back, ticked as it is found.
    let page = desk.get(&rack).await.assert_status(StatusCode::OK);
    assert!(page.texts("[data-test=released]").join(" ").contains("Booked as cut: R-0002."), "{}", page.body);
    let left = rows(&page, "left");
    assert!(left.len() > 1, "{left:?}");
    let mut form = page.form("return");
    assert_eq!(form.iter().filter(|(name, _)| name == "keep").count(), left.len(), "all are ticked at first");
    let unticked = form.iter().position(|(name, _)| name == "keep").expect("a tick");
    form.remove(unticked);
    let back = format!("{rack}/return");
    let nowhere = desk.post(&back, &form).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&nowhere).contains("Where they lie"), "{}", faults(&nowhere));
    assert_eq!(nowhere.form("return").iter().filter(|(name, _)| name == "keep").count(), left.len() - 1);
    let unknown = changed(form.clone(), &[("place", "bay 9")]);
    let unknown = unknown.into_iter().chain([("keep".to_owned(), "999".to_owned())]).collect();
    desk.post(&back, &unknown).await.assert_status(StatusCode::BAD_REQUEST);
    let form = changed(form, &[("place", "bay 9")]);
    let typed: Vec<(&str, &str)> = form.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    let returned = Ask::form(&back, &typed).with("cookie", &workshop).of(&desk.site).await;
    assert_eq!(returned.assert_redirect(), rack, "the workshop may return what is left");
    let on_rack = rows(&desk.get("/rack?search=bay+9").await, "rack");
    assert_eq!(on_rack.len(), left.len() - 1, "{on_rack:?}");
    let number = number_of(&desk, &job).await;
    let offcut = on_rack[0].get(.."R-0000".len()).expect("a tag");
    let offcut = desk.get(&format!("/rack/pieces/{offcut}")).await;
    assert!(offcut.body.contains(&format!("in job {number}")), "{}", offcut.body);
    assert!(rows(&offcut, "history")[0].contains("returned"), "{}", offcut.body);
    let twice = desk.post(&back, &form).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(faults(&twice).contains("returned before"), "{}", faults(&twice));
    assert_eq!(rows(&desk.get("/rack?search=bay+9").await, "rack").len(), left.len() - 1);
    assert!(desk.get(&rack).await.texts("[data-test=returned]").join(" ").contains("Jory"));
    assert_eq!(desk.site.store.verify().await.expect("read"), [""; 0]);
}
