//! From a new job to a price, as the estimator goes.

use axum::http::StatusCode;

use super::{Desk, changed, fields};

#[tokio::test]
async fn from_a_new_job_to_a_quote_that_the_customer_accepts() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;

    // The trailer's headline moves with the bed.
    let trailer = format!("{job}/trailer");
    let before = desk.get(&trailer).await.assert_status(StatusCode::OK);
    let mass = |answer: &crate::support::Answer| answer.texts("[data-test=empty-mass]").join(" ");
    let typed = changed(before.form("design"), &[("design.bed.length", "3 m"), ("design.bed.width", "1.5 m")]);
    let preview = desk.post(&format!("{trailer}/preview"), &typed).await.assert_status(StatusCode::OK);
    assert_ne!(mass(&before), mass(&preview), "{}", preview.body);
    assert!(preview.body.contains("<svg"), "{}", preview.body);
    assert_eq!(mass(&desk.get(&trailer).await), mass(&before), "a preview keeps nothing");
    desk.post(&trailer, &typed).await.assert_redirect();
    assert_eq!(mass(&desk.get(&trailer).await), mass(&preview));

    for (page, sign) in [
        ("weights", "On the coupling, empty and with each trip"),
        ("restraint", "100 % is full"),
        ("electrics", "Wiring table"),
        ("cutting", "Saw list"),
        ("parts", "It needs"),
        ("hours", "all together"),
        ("price", "Build-up"),
    ] {
        let answer = desk.get(&format!("{job}/{page}")).await.assert_status(StatusCode::OK);
        assert!(answer.body.contains(sign), "{page}: {}", answer.body);
    }
    desk.answer_checks(&job).await;
    let revision = desk.issue(&job).await;
    assert_eq!(revision, format!("{job}/revisions/1"));
    let shown = desk.get(&revision).await.assert_status(StatusCode::OK);
    assert!(shown.texts(".verdict").iter().any(|verdict| verdict == "whole"), "{}", shown.body);

    let link = desk.link(&revision).await;
    let copy = desk.get(&link).await.assert_status(StatusCode::OK);
    let accept = fields(&[("accept_name", "Ann Hale"), ("agree", "on")]);
    assert_eq!(desk.post(&format!("{link}/accept"), &accept).await.assert_redirect(), link);
    let accepted = desk.get(&link).await;
    assert_eq!(accepted.texts("[data-test=accepted] h2"), ["You accepted this quote"]);
    assert!(copy.body.contains("Accept this quote") && !accepted.body.contains("Accept this quote"));

    let start = desk.get("/").await;
    assert!(start.texts("[data-test=ours]").join(" ").contains("accepted"), "{}", start.body);
    let overview = desk.get(&job).await;
    assert!(overview.texts(".stage").contains(&"accepted".to_owned()));
    desk.send(&format!("{job}/release"), "release", &[]).await.assert_redirect();
    desk.post(&format!("{job}/stage"), &fields(&[("to", "hand-over"), ("note", "Paid in full.")]))
        .await
        .assert_redirect();
    let over = desk.get(&job).await;
    assert!(over.texts(".stage").contains(&"handed over".to_owned()));
    assert!(over.texts("[data-test=trail]").join(" ").contains("Mara"), "{}", over.body);
}

#[tokio::test]
async fn a_new_job_takes_over_what_is_asked_of_an_earlier_one() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    let id = job.rsplit('/').next().expect("an id");
    desk.send(&format!("{job}/trailer"), "design", &[("design.bed.length", "2700")]).await.assert_redirect();
    for (take, has_load, length) in [("both", true, "2700 mm"), ("need", true, "2400 mm"), ("design", false, "2700 mm")]
    {
        let new = fields(&[("title", "Again"), ("customer", "Bo"), ("from", id), ("take", take)]);
        let answer = desk.post("/jobs/new", &new).await;
        let made = answer.assert_redirect().strip_suffix("/need").expect("a job").to_owned();
        let need = desk.get(&format!("{made}/need")).await;
        assert_eq!(need.body.contains("need.loads.0.name"), has_load, "{take}");
        let bed = desk.get(&format!("{made}/trailer")).await.attribute("[name='design.bed.length']", "value");
        assert_eq!(bed.as_deref(), Some(length), "{take}");
    }
    let list = desk.get("/jobs?search=again&sort=title").await;
    assert_eq!(list.texts("[data-test=found]"), ["3 jobs"]);
    assert_eq!(desk.get("/jobs?stage=quoted").await.texts("[data-test=found]"), ["No job is like that."]);
}

#[tokio::test]
async fn a_stale_save_shows_both_sides_and_loses_nothing() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    let need = format!("{job}/need");
    let mine = desk.get(&need).await.form("need");
    let theirs = changed(mine.clone(), &[("need.loads.0.mass", "400 kg"), ("need.count", "2")]);
    desk.post(&need, &theirs).await.assert_redirect();

    let typed = changed(mine, &[("need.loads.0.mass", "350 kg"), ("need.loads.0.name", "hives <b>")]);
    let conflict = desk.post(&need, &typed).await.assert_status(StatusCode::CONFLICT);
    let text = conflict.texts("[data-test=conflict] table").join(" ");
    for part in ["400 kg", "350 kg", "hives <b>", "Mara", "both changed it"] {
        assert!(text.contains(part), "{part} in {text}");
    }
    assert_eq!(conflict.texts("[data-test=conflict] tbody tr").len(), 3, "only what differs is asked: {text}");
    // Only they changed the count: their side is chosen. Both changed the mass, only I the name: mine is.
    let chosen = changed(conflict.form(&need), &[("conflict", "chosen")]);
    desk.post(&need, &chosen).await.assert_redirect();
    let kept = desk.get(&need).await;
    let value = |name: &str| kept.attribute(&format!("[name='{name}']"), "value").unwrap_or_default();
    assert_eq!(value("need.loads.0.mass"), "350 kg");
    assert_eq!(value("need.loads.0.name"), "hives <b>");
    assert_eq!(value("need.count"), "2");
}

#[tokio::test]
async fn a_design_saved_from_an_old_page_conflicts_but_an_answer_in_between_does_not() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    let trailer = format!("{job}/trailer");
    let mine = desk.get(&trailer).await.form("design");
    desk.send(&format!("{job}/price"), "offer", &[("offer.discount", "10")]).await;
    let typed = changed(mine.clone(), &[("design.bed.length", "2600")]);
    desk.post(&trailer, &typed).await.assert_redirect();
    let late = desk.post(&trailer, &changed(mine, &[("design.bed.width", "1400")])).await;
    let late = late.assert_status(StatusCode::CONFLICT);
    assert!(late.texts("[data-test=conflict] table").join(" ").contains("2600 mm"), "{}", late.body);
}

#[tokio::test]
async fn a_derived_value_is_overruled_with_a_reason_and_dropped_again() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    let hours = desk.get(&format!("{job}/hours")).await;
    let path = hours.attribute("[data-test=hours] a[href*=overrule]", "href").expect("a line to overrule");
    let page = desk.get(&path).await.assert_status(StatusCode::OK);
    let action = format!("{job}/overrule");
    let no_reason = changed(page.form(&action), &[("value", "7.25")]);
    let wrong = desk.post(&action, &no_reason).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(wrong.attribute("[name=value]", "value").as_deref(), Some("7.25"));
    desk.post(&action, &changed(no_reason.clone(), &[("reason", "the jig is broken")])).await.assert_redirect();
    let now = desk.get(&format!("{job}/hours")).await;
    assert!(now.texts("[data-test=hours]").join(" ").contains("the jig is broken"), "{}", now.body);

    // Somebody who opened the page before is told.
    let late = desk.post(&action, &changed(no_reason, &[("reason", "mine")])).await.assert_status(StatusCode::CONFLICT);
    assert!(late.body.contains("the jig is broken") && late.body.contains("7.25"), "{}", late.body);

    let drop = changed(desk.get(&path).await.form(&action), &[("action", "drop")]);
    desk.post(&action, &drop).await.assert_redirect();
    assert!(!desk.get(&format!("{job}/hours")).await.body.contains("the jig is broken"));
}

#[tokio::test]
async fn an_overrule_in_between_is_no_conflict_with_the_offer() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    let offer = desk.get(&format!("{job}/price")).await.form("offer");
    let key = "price/contingency";
    let by_hand = fields(&[("key", key), ("value", "12.50"), ("reason", "a repeat")]);
    desk.post(&format!("{job}/overrule"), &by_hand).await.assert_redirect();
    desk.post(&format!("{job}/price"), &changed(offer, &[("offer.discount", "5")])).await.assert_redirect();
    let now = desk.get(&format!("{job}/price")).await;
    assert!(now.texts("[data-test=build-up]").join(" ").contains("a repeat"), "{}", now.body);
    assert_eq!(now.attribute("[name='offer.discount']", "value").as_deref(), Some("5.00"));
}

#[tokio::test]
async fn a_part_is_picked_by_hand_and_warns_where_it_falls_short() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    let parts = desk.get(&format!("{job}/parts")).await;
    let path = parts.attribute("[data-test=parts] a[href*='part%2Fcoupling']", "href").expect("the coupling");
    let page = desk.get(&path).await;
    let offered: Vec<String> = page.texts("select[name=value] option");
    assert!(offered.len() > 1, "{offered:?}");
    let html = page.html();
    let select = scraper::Selector::parse("select[name=value] option").expect("a selector");
    let last = html.select(&select).next_back().and_then(|option| option.attr("value")).expect("an item").to_owned();
    let pick = changed(page.form(&format!("{job}/overrule")), &[("value", &last), ("reason", "it lies on the shelf")]);
    desk.post(&format!("{job}/overrule"), &pick).await.assert_redirect();
    let now = desk.get(&format!("{job}/parts")).await;
    let table = now.texts("[data-test=parts]").join(" ");
    assert!(table.contains(&last) && table.contains("it lies on the shelf"), "{table}");
    let fell_short = offered.last().is_some_and(|text| text.contains("falls short"));
    assert_eq!(table.contains("Falls short"), fell_short, "{table}");
}

#[tokio::test]
async fn what_people_type_is_escaped_everywhere() {
    let desk = Desk::open().await;
    let job = desk.new_job("<i>Hives</i>", "Ann <b>").await;
    for page in ["/", "/jobs", &job, &format!("{job}/need"), "/jobs/new"] {
        let answer = desk.get(page).await.assert_status(StatusCode::OK);
        assert!(!answer.body.contains("<i>Hives") && !answer.body.contains("Ann <b>"), "{page}: {}", answer.body);
        assert!(
            answer.body.contains("Ann &#60;b&#62;") || answer.body.contains("Ann &lt;b&gt;"),
            "{page}: {}",
            answer.body
        );
    }
}
