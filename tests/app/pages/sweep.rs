//! Every address answers as it should.

use axum::http::StatusCode;
use hitchwright::{storage::JobId, web::paths};

use super::{Desk, fields};

#[tokio::test]
async fn every_page_answers_and_is_one_whole_page() {
    let desk = Desk::open().await;
    let path = desk.job_with_load().await;
    desk.answer_checks(&path).await;
    desk.issue(&path).await;
    let job = JobId(path.rsplit('/').next().and_then(|id| id.parse().ok()).expect("an id"));
    let of_job = [
        paths::JOB,
        paths::NEED,
        paths::TRAILER,
        paths::WEIGHTS,
        paths::ROAD,
        paths::ELECTRICS,
        paths::JOB_RACK,
        paths::RELEASE,
        paths::CUTTING,
        paths::CHOICES,
        paths::PARTS,
        paths::HOURS,
        paths::PRICE,
        paths::CALCULATION,
        paths::REVISIONS,
    ];
    let mut pages: Vec<String> = of_job.iter().map(|pattern| paths::of_job(pattern, &job)).collect();
    for pattern in [paths::REVISION, paths::REVISION_CUTTING, paths::REVISION_CHOICES, paths::REVISION_CALCULATION] {
        pages.push(paths::of_revision(pattern, &job, &1));
    }
    pages.push(paths::overrule(&job, "part/coupling"));
    pages.push(paths::new_job_from(&job));
    pages.push(paths::of_item(paths::ITEM, "HS-20x20x2"));
    for page in [
        paths::START,
        paths::JOBS,
        paths::NEW_JOB,
        paths::RACK,
        paths::RACK_RECEIVE,
        paths::TOGETHER,
        paths::RATES,
        paths::NEW_ITEM,
        paths::BULK,
        paths::INDEX,
        paths::OPEN_QUOTES,
        paths::SHOP,
        paths::COPIES,
    ] {
        pages.push(page.to_owned());
    }
    for page in pages {
        let answer = desk.get(&page).await.assert_status(StatusCode::OK);
        assert_eq!(answer.texts("h1").len(), 1, "{page}");
        assert!(answer.body.trim_end().ends_with("</html>"), "{page}");
        let html = answer.html();
        let select = |text: &str| scraper::Selector::parse(text).expect("a selector");
        let mut ids: Vec<&str> = html.select(&select("[id]")).filter_map(|element| element.attr("id")).collect();
        let all = ids.len();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), all, "{page} has an id twice");
        for label in html.select(&select("label[for]")) {
            let target = label.attr("for").expect("a target");
            assert!(ids.contains(&target), "{page}: a label without its field: {target}");
        }
        for link in html.select(&select("a[href^='#']")) {
            let target = link.attr("href").expect("a target").trim_start_matches('#');
            assert!(ids.contains(&target), "{page}: a link that leads nowhere: {target}");
        }
    }
}

#[tokio::test]
async fn what_is_not_there_is_not_found() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    for page in [
        "/jobs/999",
        "/jobs/abc",
        "/jobs/999/need",
        "/jobs/999/trailer",
        "/jobs/999/weights",
        "/jobs/999/restraint",
        "/jobs/999/electrics",
        "/jobs/999/cutting",
        "/jobs/999/cutting/choices",
        "/jobs/999/plans/1",
        "/jobs/999/parts",
        "/jobs/999/hours",
        "/jobs/999/price",
        "/jobs/999/revisions",
        "/jobs/999/revisions/1",
        "/rates/items/none",
        "/q/none",
        &format!("{job}/revisions/7"),
        &format!("{job}/revisions/7/cutting"),
        &format!("{job}/revisions/7/choices"),
        &format!("{job}/revisions/x"),
        &format!("{job}/overrule?key=part/none"),
        &format!("{job}/overrule?key=nonsense"),
        "/jobs/-9223372036854775809",
    ] {
        desk.get(page).await.assert_status(StatusCode::NOT_FOUND);
    }
    for page in [
        "/jobs/999/need",
        "/jobs/999/trailer",
        "/jobs/999/trailer/preview",
        "/jobs/999/price",
        "/jobs/999/answer",
        "/jobs/999/overrule",
        "/jobs/999/revisions",
        "/jobs/999/stage",
        "/jobs/999/messages",
        "/jobs/999",
        "/rates/items/none",
        "/rates/items/none/price",
        "/rates/items/none/retire",
        &format!("{job}/revisions/7/link"),
        &format!("{job}/revisions/7/revoke"),
    ] {
        let answer = desk.post(page, &fields(&[("message", "x"), ("answer", "x")])).await;
        assert_eq!(answer.status, StatusCode::NOT_FOUND, "{page}: {}", answer.body);
    }
}
