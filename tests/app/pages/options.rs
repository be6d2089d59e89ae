//! Options: offered by the shop, chosen and accepted by the customer, taken into the design.

use axum::http::StatusCode;

use super::{Desk, Fields, changed, fields};

/// Name, whether it excludes others, and fields with the values that they are put to.
type Optional = (&'static str, bool, &'static [(&'static str, &'static str)]);

/// Puts an option onto the offer of a job: its name, whether it excludes others, and its changes.
async fn offer(desk: &Desk, job: &str, options: &[Optional]) -> crate::support::Answer {
    let price = format!("{job}/price");
    let mut form = desk.get(&price).await.form("offer");
    for (at, (name, in_set, changes)) in options.iter().enumerate() {
        let path = |field: &str| format!("offer.options.{at}.{field}");
        let mut add = |name: String, value: &str| form.push((name, value.to_owned()));
        add(path("name"), name);
        add(path("about"), "What it does for you.");
        add(path("in_set"), if *in_set { "yes" } else { "no" });
        add(path("changes"), "");
        for (number, (field, to)) in changes.iter().enumerate() {
            add(path(&format!("changes.{number}.field")), field);
            add(path(&format!("changes.{number}.to")), to);
        }
    }
    desk.post(&price, &changed(form, &[("action", "save")])).await
}

const BUMPER: Optional = ("Rear bumper", false, &[("design.fittings.rear_bumper", "yes")]);
const ZINC: Optional = ("Galvanised", true, &[("design.finish.system", "Hot-dip galvanised")]);
const POWDER: Optional = ("Powder coat", true, &[("design.finish.system", "powder")]);

async fn offered(options: &[Optional]) -> (Desk, String, String, String) {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    desk.answer_checks(&job).await;
    offer(&desk, &job, options).await.assert_redirect();
    let revision = match desk.issue(&job).await {
        // The combinations take longer than what is waited for: its own page leads on.
        plan if plan.contains("/plans/") => loop {
            tokio::time::sleep(std::time::Duration::from_millis(200)).await;
            let page = desk.get(&plan).await;
            if page.status != StatusCode::OK {
                break page.assert_redirect().to_owned();
            }
        },
        revision => revision,
    };
    let link = desk.link(&revision).await;
    (desk, job, revision, link)
}

fn total(copy: &crate::support::Answer) -> String {
    copy.texts("tfoot strong").join("")
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_chosen_is_priced_accepted_and_taken_into_the_design() {
    let (desk, job, revision, link) = offered(&[BUMPER, ZINC, POWDER]).await;
    let copy = desk.get(&link).await.assert_status(StatusCode::OK);
    assert_eq!(copy.texts("#options .option label").len(), 4, "two that exclude each other, none of them, a free one");
    let chosen = desk.get(&format!("{link}?with=1&one=3")).await.assert_status(StatusCode::OK);
    assert_ne!(total(&copy), total(&chosen));
    let says = chosen.texts("[data-test=chosen]").join(" ");
    assert!(says.contains(&total(&chosen)) && says.contains("Rear bumper, Powder coat"), "{says}");
    assert_eq!(chosen.attribute("form[action$=accept] input[name=with]", "value").as_deref(), Some("1"));

    // A question loses no choice, whether something is wrong with it or it is sent.
    let ask = format!("{link}/ask");
    let empty = desk.post(&ask, &chosen.form(&ask)).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(total(&empty), total(&chosen));
    let asked = desk.post(&ask, &changed(empty.form(&ask), &[("ask_name", "Ann"), ("question", "Is it heavy?")])).await;
    let back = desk.get(asked.assert_redirect()).await;
    assert_eq!(total(&back), total(&chosen));
    assert!(back.body.contains("Your message was sent"), "{}", back.body);

    let accept = fields(&[("with", "1"), ("with", "3"), ("accept_name", "Ann"), ("agree", "on")]);
    desk.post(&format!("{link}/accept"), &accept).await.assert_redirect();
    let accepted = desk.get(&link).await;
    assert!(accepted.texts("[data-test=accepted]").join(" ").contains("will get in touch"), "{}", accepted.body);
    assert_eq!(total(&accepted), total(&chosen));
    assert!(accepted.texts("[data-test=chosen]").join(" ").contains("Rear bumper, Powder coat"), "{}", accepted.body);

    let shop = desk.get(&revision).await;
    let says = shop.texts("[data-test=chosen]").join(" ");
    assert!(says.contains("Rear bumper, Powder coat") && says.contains(&total(&chosen)), "{says}");
    desk.post(&format!("{revision}/take"), &Fields::new()).await.assert_redirect();
    let design = desk.get(&format!("{job}/trailer")).await.form("design");
    let value = |name: &str| design.iter().rev().find(|(field, _)| field == name).map(|(_, value)| value.clone());
    assert_eq!(value("design.finish.system").as_deref(), Some("powder"));
    assert_eq!(value("design.fittings.rear_bumper").as_deref(), Some("yes"));
}

#[tokio::test(flavor = "multi_thread")]
async fn what_would_not_hold_cannot_be_chosen_and_says_why() {
    let thin: Optional = (
        "Light frame",
        false,
        &[("design.frame.cross_member", "shs 20x20x2"), ("design.frame.side_rail", "rhs 40x20x2")],
    );
    let (desk, job, _, link) = offered(&[BUMPER, thin]).await;
    let copy = desk.get(&link).await.assert_status(StatusCode::OK);
    assert!(copy.texts("#with-2-about").join(" ").contains("Not with what is chosen."), "{}", copy.body);
    let refused = desk.get(&format!("{link}?with=2")).await.assert_status(StatusCode::OK);
    assert!(refused.texts("[data-test=chosen]").join(" ").contains("cannot be had together"), "{}", refused.body);
    assert!(refused.texts("form[action$=accept]").is_empty());
    for with in ["2", "7"] {
        let accept = fields(&[("with", with), ("accept_name", "Ann"), ("agree", "on")]);
        let answer = desk.post(&format!("{link}/accept"), &accept).await;
        answer.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    }
    assert!(desk.get(&job).await.texts(".page-head .stage").join("").contains("quoted"));
}

/// As many as can be offered: 64 sets of free options, each without and with one of two that exclude each other.
#[tokio::test(flavor = "multi_thread")]
async fn many_options_show_how_far_they_are_and_are_cancelled_without_a_revision() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    desk.answer_checks(&job).await;
    let free: [Optional; 6] = [
        BUMPER,
        ("Work lamp", false, &[("design.electrics.work_lamp", "yes")]),
        ("Reversing lamps", false, &[("design.electrics.reverse_lamps", "yes")]),
        ("Guide poles", false, &[("design.electrics.guide_poles", "yes")]),
        ("Tool box", false, &[("design.fittings.tool_boxes", "1")]),
        ("Chocks", false, &[("design.loading.wheel_chocks", "2")]),
    ];
    offer(&desk, &job, &[&free[..], &[ZINC, POWDER]].concat()).await.assert_redirect();
    let plan = desk.issue(&job).await;
    assert!(plan.starts_with(&format!("{job}/plans/")), "192 combinations take longer than what is waited for: {plan}");
    let mut seen = Vec::new();
    for _ in 0..600 {
        seen = desk.get(&plan).await.assert_status(StatusCode::OK).texts("[data-test=combined]");
        if !seen.is_empty() {
            break;
        }
        tokio::time::sleep(std::time::Duration::from_millis(100)).await;
    }
    assert!(seen.join(" ").contains("of 192 combinations are worked out"), "{seen:?}");
    desk.post(&format!("{plan}/cancel"), &Fields::new()).await.assert_redirect();
    let ended = desk.get(&plan).await.assert_status(StatusCode::OK);
    assert_eq!(ended.texts("[data-test=ended] h2"), ["Nothing was issued"], "{}", ended.body);
    assert!(desk.get(&format!("{job}/revisions")).await.body.contains("None yet."));
}

#[tokio::test]
async fn options_that_cannot_be_offered_are_refused_in_words() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    let both: Optional = ("Zinc too", false, &[("design.finish.system", "galvanised")]);
    let wrong: Optional = ("Wider", false, &[("design.bed.width", "9 m")]);
    let free = |name: &'static str| (name, false, BUMPER.2);
    for (options, said) in [
        (vec![ZINC], "there is no other option that it excludes"),
        (vec![BUMPER, BUMPER], "is the name of another option too"),
        (vec![ZINC, POWDER, both], "is put to another value by “Powder coat”"),
        (vec![wrong], "is too large"),
        (vec![("Nothing", false, &[])], "changes nothing"),
        (["a", "b", "c", "d", "e", "f", "g"].map(free).to_vec(), "one more than 6 options"),
    ] {
        let answer = offer(&desk, &job, &options).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
        assert!(answer.texts("#faults").join(" ").contains(said), "{said}: {:?}", answer.texts("#faults"));
    }
}
