//! What the pages say of a trailer with an empty axle window, and of one that fails in many ways.

use axum::http::StatusCode;
use hitchwright::{
    domain::trailer::Spec,
    storage::{By, Contact, ForCustomer, NewJob, NewVariant},
};

use super::Desk;
use crate::verdicts::{fighting, wrong_in_many_ways};

/// Enters a job with this spec; its path.
async fn job_of(desk: &Desk, spec: Spec) -> String {
    let contact = Contact {
        name: "Ann".into(),
        email: "post@example.com".into(),
        phone: "01632 960000".into(),
        address: String::new(),
    };
    let variant = NewVariant { name: "A".into(), design: spec.design, offer: spec.offer, headline: None };
    let new = NewJob {
        title: "Hard case".into(),
        customer: ForCustomer::New(contact),
        need: spec.need,
        variant,
        cloned_from: None,
    };
    let by = By { who: "Mara", at: jiff::Timestamp::from_second(1_795_597_200).expect("a time") };
    let (_, number) = desk.site.store.create_job(&new, 2026, by).await.expect("a store").expect("a job");
    let list = desk.get("/jobs?search=hard+case").await;
    let path = list
        .attribute(&format!("a[href*='{number}']"), "href")
        .or_else(|| list.attribute("main td a, main th a", "href"));
    path.expect("the job in the list")
}

#[tokio::test]
async fn an_empty_axle_window_names_the_two_that_fight_and_what_opens_it() {
    let desk = Desk::open().await;
    let job = job_of(&desk, fighting()).await;
    for page in ["weights", "calculation", "price"] {
        let answer = desk.get(&format!("{job}/{page}")).await.assert_status(StatusCode::OK);
        let text = answer.texts("main").join(" ");
        let said = text.find("No axle place suits every case").unwrap_or_else(|| panic!("{page}: {text}"));
        let said: String = text[said..].chars().take(900).collect();
        for part in
            ["to the spring", "to the fair", "What would open it", "move tank", "move stove", "lengthen the drawbar by"]
        {
            assert!(said.contains(part), "{page} does not say “{part}”: {said}");
        }
    }
}

#[tokio::test]
async fn failures_are_counted_and_listed_by_area_the_worst_first() {
    let desk = Desk::open().await;
    let job = job_of(&desk, wrong_in_many_ways()).await;
    let price = desk.get(&format!("{job}/price")).await.assert_status(StatusCode::OK);
    let tally = price.texts("[data-test=check-counts] li").join(" ");
    let failing = price.texts(".check-area [data-test=checks] > li .verdict-fails").len();
    assert!(failing >= 6, "{tally}");
    assert!(tally.contains(&format!("{failing} fail")), "{failing} against {tally}");
    // In every area what fails comes before what cannot be told, and that before what is close; areas where something fails come first.
    let html = price.html();
    let select = |text: &str| scraper::Selector::parse(text).expect("a selector");
    let rank = |class: &str| {
        ["verdict-fails", "verdict-unknown", "verdict-close"].iter().position(|known| class.contains(known))
    };
    let mut last_area = 0;
    for area in html.select(&select(".check-area")) {
        let ranks: Vec<usize> = area
            .select(&select("[data-test=checks] > li"))
            .filter_map(|check| rank(check.select(&select(".verdict")).next()?.attr("class")?))
            .collect();
        assert!(ranks.is_sorted(), "{ranks:?}");
        let worst = ranks.first().copied().unwrap_or(3);
        assert!(worst >= last_area, "an area of {worst} after one of {last_area}");
        last_area = worst;
    }
    // What waits for an answer lies open; an area where nothing does is folded.
    for area in html.select(&select(".check-area")) {
        let waits = area.select(&select(".verdict-fails, .verdict-unknown")).next().is_some();
        assert_eq!(area.attr("open").is_some(), waits, "{:?}", area.attr("id"));
    }
    // The calculation tells the same number, and shows the frame with its governing member.
    let calculation = desk.get(&format!("{job}/calculation")).await.assert_status(StatusCode::OK);
    let text = calculation.texts("main").join(" ");
    assert!(text.contains(&format!("{failing} fail")), "{text}");
    for part in [
        "Use of each member, the fullest first",
        "Governing case",
        "What the supports bear",
        "Not reckoned with: gussets",
    ] {
        assert!(text.contains(part), "no “{part}”");
    }
    assert!(calculation.body.contains("Use of the frame's members, from above"));
}

/// Every line of the contents leads to the section that it names.
#[tokio::test]
async fn the_contents_of_a_calculation_lead_to_their_sections() {
    let desk = Desk::open().await;
    let job = job_of(&desk, wrong_in_many_ways()).await;
    let page = desk.get(&format!("{job}/calculation")).await;
    let html = page.html();
    let select = |text: &str| scraper::Selector::parse(text).expect("a selector");
    let words = |element: scraper::ElementRef<'_>| {
        element.text().collect::<String>().split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let mut lines = 0;
    for line in html.select(&select("nav.contents a")) {
        let to = line.attr("href").and_then(|to| to.strip_prefix('#')).expect("a place in the page");
        let place = html.select(&select(&format!("[id='{to}']"))).next().unwrap_or_else(|| panic!("no {to}"));
        let heading = place.select(&select("h3, h4")).next().map(words).unwrap_or_default();
        assert!(heading.starts_with(&words(line)), "“{}” leads to “{heading}”", words(line));
        lines += 1;
    }
    assert!(lines > 20, "{lines}");
    let sections = html.select(&select("article.calculation > section")).count();
    assert_eq!(html.select(&select("nav.contents > ol > li")).count(), sections);
}
