//! The customer's copy in another language than the shop's pages.

use std::collections::BTreeSet;

use axum::http::StatusCode;
use hitchwright::domain::words::Words;

use super::{Desk, changed, fields};
use crate::support::{Answer, Ask, PUBLIC_HOST};

/// A quote in German, whose own data is German too: job, revision and link.
async fn german() -> (Desk, String, String, String) {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    let need = desk.get(&format!("{job}/need")).await.form("need");
    let load = [("need.loads.0.name", "vier Bienenkästen"), ("action", "save")];
    desk.post(&format!("{job}/need"), &changed(need, &load)).await.assert_redirect();
    desk.send(&format!("{job}/trailer"), "design", &[("design.finish.colour", "grau"), ("action", "save")])
        .await
        .assert_redirect();
    desk.send(&format!("{job}/price"), "offer", &[("offer.language", "de"), ("action", "save")])
        .await
        .assert_redirect();
    desk.answer_checks(&job).await;
    let revision = desk.issue(&job).await;
    let link = desk.link(&revision).await;
    (desk, job, revision, link)
}

/// Every text of the page that a person reads or hears.
fn texts(page: &Answer) -> Vec<String> {
    let parsed = scraper::Html::parse_document(&page.body);
    let mut texts: Vec<String> = Vec::new();
    for node in parsed.root_element().descendants() {
        match node.value() {
            scraper::Node::Text(text) => texts.push(text.to_string()),
            scraper::Node::Element(element) => {
                let heard = ["aria-label", "title", "alt", "placeholder"];
                texts.extend(heard.iter().filter_map(|name| element.attr(name)).map(str::to_owned));
                // What scripts say.
                let said = element.attrs().filter(|(name, _)| name.starts_with("data-say-"));
                texts.extend(said.map(|(_, text)| text.to_owned()));
            }
            _ => {}
        }
    }
    texts.into_iter().map(|text| text.trim().to_owned()).filter(|text| !text.is_empty()).collect()
}

/// The longest stretches of words that a catalogue's text has between its values.
fn stretches(file: &str) -> Vec<String> {
    let mut all = Vec::new();
    for line in file.lines().filter(|line| !line.starts_with('#')) {
        let text = line.split_once(" = ").map_or(line, |(_, text)| text);
        let mut depth = 0;
        let mut stretch = String::new();
        for letter in text.chars() {
            match letter {
                '{' | '[' => depth += 1,
                '}' | ']' => depth -= 1,
                _ if depth > 0 => {}
                other => {
                    stretch.push(other);
                    continue;
                }
            }
            all.push(std::mem::take(&mut stretch));
        }
        all.push(stretch);
    }
    all.into_iter().map(|text| text.trim().to_owned()).filter(|text| text.chars().any(char::is_alphabetic)).collect()
}

/// No text of the page is written in a template or in the program: take away what the German catalogue and the job's own data say,
/// and no word is left.
fn assert_all_from_catalogue_or_data(page: &Answer) {
    let mut known = stretches(include_str!("../../../seed-data/words/de.ftl"));
    known.extend(stretches(include_str!("../../../seed-data/words/de-CH.ftl")));
    let shop = include_str!("../../../seed-data/shop.toml");
    let german = shop.split_once("[other_terms.de]").expect("German terms").1;
    known.extend(german.lines().filter_map(|line| line.split('"').nth(1)).map(str::to_owned));
    let data = [
        "Saltmarsh Fabrications",
        "Wick Sands",
        "Hitchwright",
        "vier Bienenkästen",
        "grau",
        "VAT",
        "Ann <b>",
        "Mara",
        "Kann er blau sein?",
        "Jede Farbe.",
        "Hives to the heath",
        "Ann",
    ];
    known.extend(data.map(str::to_owned));
    known.sort_by_key(|text| std::cmp::Reverse(text.len()));
    known.dedup();
    // Units, marks and sections are the same in every language.
    let units: BTreeSet<&str> = ["mm", "kg", "lb", "CHS", "RHS", "SHS", "R", "C", "x"].into();
    for text in texts(page) {
        let mut rest = text.clone();
        for part in &known {
            rest = rest.replace(part.as_str(), " ");
        }
        let words: Vec<&str> = rest
            .split(|letter: char| !letter.is_alphabetic())
            .filter(|word| word.chars().count() > 1 && !units.contains(word))
            .filter(|word| !word.chars().all(char::is_uppercase))
            .collect();
        assert!(words.is_empty(), "{words:?} of “{text}” is neither of the catalogue nor of the job's data");
    }
}

#[tokio::test]
async fn a_german_quote_is_german_throughout() {
    let (desk, job, _, link) = german().await;
    let copy = desk.get(&link).await.assert_status(StatusCode::OK);
    assert_eq!(copy.attribute("html", "lang").as_deref(), Some("de"));
    let text = copy.texts("main").join(" ");
    for part in ["Stützlast", "Zulässige Gesamtmasse", "Leermasse", "Anzahlung, 40 %", "Gültig bis"] {
        assert!(text.contains(part), "“{part}” is missing: {text}");
    }
    let total = copy.texts("tfoot strong").join("");
    assert!(total.ends_with(",00 £") && total.contains('.'), "{total}");
    assert_all_from_catalogue_or_data(&copy);

    // What is wrong, what was asked and answered, what was accepted.
    let accept = format!("{link}/accept");
    let wrong =
        desk.post(&accept, &fields(&[("accept_name", "")])).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(wrong.texts("#faults").join(" ").contains("Hier fehlt eine Angabe."), "{:?}", wrong.texts("#faults"));
    assert_all_from_catalogue_or_data(&wrong);
    let ask = fields(&[("ask_name", "Ann <b>"), ("question", "Kann er blau sein?")]);
    let asked = desk.post(&format!("{link}/ask"), &ask).await;
    assert_all_from_catalogue_or_data(&desk.get(asked.assert_redirect()).await);
    let answer = changed(desk.get(&job).await.form(&format!("{job}/messages")), &[("message", "Jede Farbe.")]);
    desk.post(&format!("{job}/messages"), &answer).await.assert_redirect();
    desk.post(&accept, &fields(&[("accept_name", "Ann <b>"), ("agree", "on")])).await.assert_redirect();
    let accepted = desk.get(&link).await;
    assert_all_from_catalogue_or_data(&accepted);
    let steps = accepted.texts("[data-test=progress] li");
    assert!(steps.len() == 3 && steps[1].contains("In der Werkstatt") && steps[1].contains("kommt noch"), "{steps:?}");
}

#[tokio::test]
async fn what_changed_and_closed_links_are_told_in_the_language_of_the_quote() {
    let (desk, job, revision, link) = german().await;
    desk.send(&format!("{job}/trailer"), "design", &[("design.finish.system", "galvanised"), ("action", "save")])
        .await
        .assert_redirect();
    desk.answer_checks(&job).await;
    let next = desk.issue(&job).await;
    let superseded = desk.get(&link).await.assert_status(StatusCode::GONE);
    assert_eq!(superseded.attribute("html", "lang").as_deref(), Some("de"));
    assert_all_from_catalogue_or_data(&superseded);
    let newer = desk.link(&next).await;
    let copy = desk.get(&newer).await.assert_status(StatusCode::OK);
    let said = copy.texts("[data-test=changed]").join(" ");
    assert!(said.contains("Grundiert und lackiert, grau.") && said.contains("Feuerverzinkt, grau."), "{said}");
    assert_all_from_catalogue_or_data(&copy);
    // The link of a shop that writes English, to no quote.
    let unknown = desk.get("/q/nobody-made-this").await.assert_status(StatusCode::NOT_FOUND);
    assert!(unknown.texts("h1").join("").contains("There is no quote at this address"), "{}", unknown.body);
    assert!(revision.ends_with("/1") && next.ends_with("/2"));
}

#[tokio::test]
async fn the_pdf_says_its_language_and_is_the_same_each_time() {
    let (desk, _, revision, link) = german().await;
    let first = desk.get(&format!("{link}/quote.pdf")).await.assert_status(StatusCode::OK);
    let again = desk.get(&format!("{link}/quote.pdf")).await;
    assert_eq!(first.bytes, again.bytes);
    let holds = |part: &[u8]| first.bytes.windows(part.len()).any(|window| window == part);
    assert!(holds(b"/Lang (de)") || holds(b"/Lang(de)"));
    let shop = desk.get(&format!("{revision}/quote.pdf")).await.assert_status(StatusCode::OK);
    assert_eq!(first.bytes, shop.bytes, "the shop and the customer read one paper");
}

#[tokio::test]
async fn the_mail_is_written_in_the_language_of_the_quote() {
    let (desk, _, revision, _) = german().await;
    let page = desk.post(&format!("{revision}/link"), &fields(&[])).await.assert_status(StatusCode::OK);
    assert!(page.body.contains("Guten Tag ") && page.body.contains("Es gilt bis "), "{}", page.body);
}

#[tokio::test]
async fn a_time_zone_that_is_none_is_refused() {
    let desk = Desk::open().await;
    let form = desk.get("/shop").await.form("shop");
    let wrong = desk.post("/shop", &changed(form.clone(), &[("time_zone", "Wick Sands")])).await;
    let wrong = wrong.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(wrong.texts("#faults").join(" ").contains("Europe/London"), "{:?}", wrong.texts("#faults"));
    desk.post("/shop", &changed(form, &[("time_zone", "Asia/Kolkata"), ("language", "de-CH")])).await.assert_redirect();
    let unknown = desk.get("/q/nobody-made-this").await.assert_status(StatusCode::NOT_FOUND);
    assert_eq!(unknown.attribute("html", "lang").as_deref(), Some(Words::of("de-CH").tag()));
}

/// The workshop builds from sheets in its own language, whatever the customer reads; those of a revision stay as they were.
#[tokio::test]
async fn drawings_speak_the_language_of_the_shop() {
    let desk = Desk::open().await;
    let job = desk.job_with_load().await;
    desk.answer_checks(&job).await;
    let speak = async |tag: &str| {
        let form = changed(desk.get("/shop").await.form("shop"), &[("language", tag)]);
        desk.post("/shop", &form).await.assert_redirect();
    };
    speak("de-CH").await;
    desk.send(&format!("{job}/price"), "offer", &[("offer.language", "en"), ("action", "save")])
        .await
        .assert_redirect();
    let revision = desk.issue(&job).await;
    speak("en").await;
    for (of, tag, said) in [
        (&job, "en", ["Side view", "scale", "not issued"]),
        (&revision, "de-CH", ["Seitenansicht", "Massstab", "Fassung"]),
    ] {
        let page = desk.get(&format!("{of}/drawings")).await.assert_status(StatusCode::OK);
        assert_eq!(page.attribute("[data-test=sheet]", "lang").as_deref(), Some(tag));
        let texts = page.texts("[data-test=sheet] svg text");
        for part in said {
            assert!(texts.iter().any(|text| text == part), "{part} in {tag}: {texts:?}");
        }
    }
}

/// An error page in this language, with this heading and nothing of another.
#[track_caller]
fn assert_told(answer: &Answer, status: StatusCode, tag: &str, title: &str) {
    assert_eq!(answer.status, status, "{}", answer.body);
    assert_eq!(answer.attribute("html", "lang").as_deref(), Some(tag), "{}", answer.body);
    assert_eq!(answer.texts("h1"), [title], "{}", answer.body);
    if Words::of(tag).language() == "de" {
        assert_all_from_catalogue_or_data(answer);
    }
}

/// Each is refused by another layer, and told in the language of the quote: whatever the browser asks for.
#[tokio::test]
async fn what_goes_wrong_on_a_german_copy_is_told_in_german() {
    let (desk, _, revision, link) = german().await;
    let ask = format!("{link}/ask");
    let at_public = |asked: Ask| asked.with("host", PUBLIC_HOST).with("accept-language", "en");
    let much = "x".repeat(1_100_000);
    let question = [("ask_name", "Ann"), ("question", "Kann er blau sein?")];
    let json = Ask::form(&ask, &[]).with("content-type", "application/json").body("{}");
    let foreign = Ask::form(&ask, &question).with("sec-fetch-site", "cross-site");
    for (asked, status, title) in [
        (Ask::form(&ask, &[("question", &much)]), StatusCode::PAYLOAD_TOO_LARGE, "Zu viel auf einmal"),
        (json, StatusCode::UNSUPPORTED_MEDIA_TYPE, "Das war nicht zu lesen"),
        (foreign, StatusCode::FORBIDDEN, "Nicht von hier gesendet"),
        (Ask::get(&format!("{link}/nothing")), StatusCode::NOT_FOUND, "Nicht gefunden"),
        (Ask::get(&ask), StatusCode::NOT_FOUND, "Nicht gefunden"),
    ] {
        assert_told(&at_public(asked).of(&desk.site).await, status, "de", title);
    }
    let elsewhere = Ask::get(&link).with("host", "elsewhere.example.com").of(&desk.site).await;
    assert_told(&elsewhere, StatusCode::MISDIRECTED_REQUEST, "de", "Nicht unter dieser Adresse");
    // What stands in a form is told beside its field, as on the copy.
    let wrong = at_public(Ask::form(&ask, &[("ask_name", ""), ("question", "")])).of(&desk.site).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(wrong.attribute("html", "lang").as_deref(), Some("de"));
    assert!(wrong.texts("#faults").join(" ").contains("Hier fehlt eine Angabe."), "{}", wrong.body);
    assert_all_from_catalogue_or_data(&wrong);
    // One that asks too fast.
    let late = loop {
        let answer = at_public(Ask::get(&link)).by_peer("203.0.113.77").of(&desk.site).await;
        if answer.status != StatusCode::OK {
            break answer;
        }
    };
    assert_told(&late, StatusCode::TOO_MANY_REQUESTS, "de", "Bitte warten");
    // The shop writes English; the quote behind the link that it took back was German.
    desk.post(&format!("{revision}/revoke"), &fields(&[])).await.assert_redirect();
    let revoked = at_public(Ask::get(&link)).of(&desk.site).await;
    assert_told(&revoked, StatusCode::GONE, "de", "Dieser Link gilt nicht mehr");
}

#[tokio::test]
async fn without_a_quote_the_browser_and_then_the_shop_choose_the_language() {
    let desk = Desk::open().await;
    let unknown = format!("/q/{}", "A".repeat(43));
    let ask = async |path: &str, wished: &str| {
        let asked = Ask::get(path).with("host", PUBLIC_HOST).by_nobody();
        let asked = if wished.is_empty() { asked } else { asked.with("accept-language", wished) };
        asked.of(&desk.site).await
    };
    let closed = "Unter dieser Adresse gibt es kein Angebot";
    let in_english = "There is no quote at this address";
    for (shop, wished, tag, title) in [
        ("en", "", "en", in_english),
        ("en", "de-DE, de;q=0.9, en;q=0.5", "de", closed),
        ("de-CH", "", "de-CH", closed),
        ("de-CH", "xx, *;q=0.1", "de-CH", closed),
        ("de-CH", "de", "de-CH", closed),
        ("de-CH", "en-GB, en;q=0.9", "en", in_english),
    ] {
        let form = changed(desk.get("/shop").await.form("shop"), &[("language", shop)]);
        desk.post("/shop", &form).await.assert_redirect();
        assert_told(&ask(&unknown, wished).await, StatusCode::NOT_FOUND, tag, title);
        let german = Words::of(tag).language() == "de";
        let none = if german { "Nicht gefunden" } else { "Not found" };
        for path in [format!("{unknown}/nothing"), "/nowhere".into(), "/jobs".into()] {
            assert_told(&ask(&path, wished).await, StatusCode::NOT_FOUND, tag, none);
        }
    }
    // The shop's own pages stay English.
    let ours = Ask::get("/nowhere").with("accept-language", "de").of(&desk.site).await;
    assert_told(&ours, StatusCode::NOT_FOUND, "en", "Not found");
}
