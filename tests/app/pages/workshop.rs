//! The workshop builds and never sees money.

use std::collections::BTreeSet;

use axum::http::{Method, StatusCode};
use hitchwright::{
    domain::people::Role,
    web::{
        paths,
        rights::{RIGHTS, Who},
    },
};

use super::{Desk, fields};
use crate::support::{Ask, signed_in};

/// Every amount on a page: what stands behind a pound sign.
fn amounts(text: &str) -> BTreeSet<String> {
    let digits = |rest: &str| -> String {
        let figure: String =
            rest.chars().take_while(|char| char.is_ascii_digit() || [',', '.'].contains(char)).collect();
        figure.trim_end_matches([',', '.']).to_owned()
    };
    text.split('£').skip(1).map(digits).filter(|figure| !figure.is_empty()).collect()
}

/// Whether a figure stands in a text by itself, not as part of a longer one.
fn stands_in(text: &str, figure: &str) -> bool {
    let is_figure = |char: Option<char>| char.is_some_and(|char| char.is_ascii_digit() || [',', '.'].contains(&char));
    text.match_indices(figure).any(|(at, _)| {
        !is_figure(text[..at].chars().next_back()) && !is_figure(text[at + figure.len()..].chars().next())
    })
}

#[tokio::test]
async fn no_page_that_the_workshop_may_open_holds_an_amount() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    desk.answer_checks(&job).await;
    desk.issue(&job).await;
    let mut known = BTreeSet::new();
    for page in ["price", "parts", "cutting", "revisions", "revisions/1", "revisions/1/cutting"] {
        let page = desk.get(&format!("{job}/{page}")).await.assert_status(StatusCode::OK);
        known.extend(amounts(&page.texts("main").join(" ")));
    }
    // Shorter figures could be a length or an hour as well; of those the pound sign tells.
    let long: Vec<&String> = known.iter().filter(|figure| figure.len() >= 6).collect();
    assert!(known.len() > 20 && long.len() > 5, "the owner sees amounts: {known:?}");

    desk.send("/rack/receive", "/rack/receive", super::rack::BAR).await.assert_redirect();
    let rack = desk.get("/rack").await.texts("[data-test=found]").remove(0);
    assert!(rack.contains('£'), "the owner sees what the rack is worth: {rack}");
    let workshop = signed_in(&desk.site.store, "Jory", Role::Workshop).await;
    let jobs = [super::release::accepted(&desk).await, super::release::accepted(&desk).await];
    let (plan, _) = super::together::planned(&desk, &[&jobs[0], &jobs[1]]).await;
    let plan = plan.rsplit('/').next().expect("an id").to_owned();
    super::orders::order_first(&desk).await;
    let drawings = desk.get(&format!("{job}/drawings/parts")).await;
    let dxf = drawings.attribute("a[download]", "href").expect("a flat part");
    let mark = dxf.rsplit('/').next().expect("its mark").to_owned();
    let id = job.rsplit('/').next().expect("an id");
    let mut looked_at = 0;
    for right in RIGHTS {
        let is_theirs = matches!(right.who, Who::People(roles) if roles.contains(&Role::Workshop));
        if !is_theirs || right.method != Method::GET || right.path == paths::START {
            continue;
        }
        let path = right
            .path
            .replace("{job}", id)
            .replace("{number}", "1")
            .replace("{mark}", &mark)
            .replace("{tag}", "R-0001")
            .replace("{plan}", &plan)
            .replace("{order}", "1");
        let answer = Ask::get(&path).with("cookie", &workshop).of(&desk.site).await.assert_status(StatusCode::OK);
        assert!(!answer.body.contains('£'), "{path} shows an amount: {}", answer.body);
        for figure in &long {
            assert!(!stands_in(&answer.body, figure), "{path} shows {figure}: {}", answer.body);
        }
        for word in ["margin", "overhead", "build-up", "contingency"] {
            assert!(!answer.body.to_lowercase().contains(word), "{path} speaks of {word}");
        }
        // What they may not open is not offered.
        for link in answer.html().select(&scraper::Selector::parse("a[href^='/']").expect("a selector")) {
            let to = link.attr("href").expect("a link");
            let there = Ask::get(to).with("cookie", &workshop).of(&desk.site).await;
            assert!(
                there.status.is_success() || there.status.is_redirection(),
                "{path} leads to {to}: {}",
                there.status
            );
        }
        looked_at += 1;
    }
    assert!(looked_at > 12, "{looked_at}");
    let start = Ask::get(paths::START).with("cookie", &workshop).of(&desk.site).await;
    assert_eq!(start.assert_redirect(), "/jobs?stage=in-the-shop");
}

#[tokio::test]
async fn the_job_pack_names_the_revision_to_build() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    let pack = format!("{job}/pack");
    assert!(desk.get(&pack).await.body.contains("Nothing was issued yet"));
    desk.answer_checks(&job).await;
    let revision = desk.issue(&job).await;
    let issued = desk.get(&pack).await;
    assert!(
        issued.texts("[data-test=pack] li").join(" ").contains("Revision 1") && !issued.body.contains("build this")
    );
    let link = desk.link(&revision).await;
    desk.post(&format!("{link}/accept"), &fields(&[("accept_name", "Ann"), ("agree", "on")])).await.assert_redirect();
    assert!(desk.get(&pack).await.texts("[data-test=pack] .stage").join(" ").contains("build this"));
}
