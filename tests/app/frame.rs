//! The frame around all pages: headers, who may enter, foreign forms, limits, files.

use axum::http::{Method, StatusCode};
use hitchwright::web::paths;

use crate::support::{Answer, Ask, PUBLIC_HOST, shop_site, site};

/// Any page of the shop; this one needs nothing in the store.
const SHOP_PAGE: &str = paths::COMPONENTS;

#[track_caller]
fn assert_guarded(answer: &Answer) {
    let policy = answer.header("content-security-policy");
    assert!(policy.starts_with("default-src 'none';"), "{policy}");
    assert!(!policy.contains("unsafe"), "{policy}");
    for (name, value) in [
        ("referrer-policy", "same-origin"),
        ("x-content-type-options", "nosniff"),
        ("cross-origin-opener-policy", "same-origin"),
        ("cross-origin-resource-policy", "same-origin"),
        ("x-robots-tag", "noindex, nofollow"),
    ] {
        assert_eq!(answer.header(name), value, "{name} of a {}", answer.status);
    }
    assert!(policy.contains("frame-ancestors 'none'") && policy.contains("form-action 'self'"), "{policy}");
    assert!(answer.header("permissions-policy").contains("camera=()"));
    assert!(!answer.header("x-request-id").is_empty());
}

#[track_caller]
fn assert_our_page(answer: &Answer, title: &str) {
    assert_eq!(answer.texts("h1"), [title], "{}", answer.body);
    assert!(answer.header("content-type").starts_with("text/html"));
    assert_guarded(answer);
}

#[tokio::test]
async fn every_answer_carries_the_security_headers_and_refusals_are_our_pages() {
    let site = site().await;
    let first = Ask::get(SHOP_PAGE).of(&site).await.assert_status(StatusCode::OK);
    assert_guarded(&first);
    assert_eq!(first.header("cache-control"), "private, no-cache");

    let unknown = Ask::get("/nowhere").of(&site).await.assert_status(StatusCode::NOT_FOUND);
    assert_our_page(&unknown, "Not found");

    let wrong_method = Ask::new(Method::DELETE, SHOP_PAGE).with("sec-fetch-site", "same-origin").of(&site).await;
    assert_our_page(&wrong_method.assert_status(StatusCode::METHOD_NOT_ALLOWED), "Not possible here");

    let foreign =
        Ask::form(paths::COMPONENTS, &[("length", "1830")]).with("sec-fetch-site", "cross-site").of(&site).await;
    assert_our_page(&foreign.assert_status(StatusCode::FORBIDDEN), "Not sent from here");

    let large = Ask::form(paths::COMPONENTS, &[("length", &"x".repeat(1_100_000))]).of(&site).await;
    assert_our_page(&large.assert_status(StatusCode::PAYLOAD_TOO_LARGE), "Too large");
}

#[tokio::test]
async fn a_head_request_to_an_unknown_address_has_no_body() {
    let answer = Ask::new(Method::HEAD, "/nowhere").of(&site().await).await.assert_status(StatusCode::NOT_FOUND);
    assert_eq!(answer.body, "");
}

#[tokio::test]
async fn a_script_gets_the_message_alone() {
    let answer = Ask::get("/nowhere").with("hx-request", "true").of(&site().await).await;
    assert!(!answer.body.contains("<!doctype") && answer.body.contains("There is no page"), "{}", answer.body);
}

#[tokio::test]
async fn the_shop_answers_to_loopback_names_only() {
    let site = site().await;
    for (host, expected) in [
        ("127.0.0.1:4717", StatusCode::OK),
        ("localhost:4717", StatusCode::OK),
        ("[::1]:4717", StatusCode::OK),
        ("evil.example", StatusCode::MISDIRECTED_REQUEST),
        ("192.168.1.20:4717", StatusCode::MISDIRECTED_REQUEST),
        (PUBLIC_HOST, StatusCode::NOT_FOUND),
    ] {
        Ask::get(SHOP_PAGE).with("host", host).of(&site).await.assert_status(expected);
    }
    let refused = Ask::get(SHOP_PAGE).with("host", "evil.example").of(&site).await;
    assert_our_page(&refused, "Not at this address");
    assert!(refused.body.contains("loopback"), "the reason is given");
    assert_eq!(refused.texts("header.site"), [""; 0], "nothing of the shop is shown");
}

#[tokio::test]
async fn nothing_of_the_shop_is_reached_through_a_proxy() {
    let site = site().await;
    for path in [paths::START, paths::JOBS, paths::RATES, paths::SHOP, paths::COMPONENTS, "/q", "//", "/q/../jobs"] {
        for host in [PUBLIC_HOST, "127.0.0.1:4717", "localhost"] {
            let ask = Ask::get(path).with("host", host).with("x-forwarded-for", "203.0.113.9");
            let answer = ask.of(&site).await;
            assert!(answer.status.is_client_error(), "{path} at {host}: {}", answer.status);
            assert_eq!(answer.texts("header.site"), [""; 0], "{path} at {host} shows the shop's header");
        }
    }
    let post = Ask::form(paths::COMPONENTS, &[("length", "1830")]).with("host", PUBLIC_HOST).of(&site).await;
    post.assert_status(StatusCode::NOT_FOUND);
    Ask::get(paths::HEALTH).with("host", PUBLIC_HOST).of(&site).await.assert_status(StatusCode::OK);
    Ask::get(&paths::asset("style.css")).with("host", PUBLIC_HOST).of(&site).await.assert_status(StatusCode::OK);
}

#[tokio::test]
async fn a_form_of_another_site_changes_nothing() {
    let site = site().await;
    let ask = || Ask::form(paths::COMPONENTS, &[("length", "1830")]);
    ask().of(&site).await.assert_redirect();
    for foreign in [
        ask().with("sec-fetch-site", "cross-site"),
        ask().with("sec-fetch-site", "same-site"),
        // An old browser without Sec-Fetch-Site names the origin.
        Ask::new(Method::POST, paths::COMPONENTS)
            .with("content-type", "application/x-www-form-urlencoded")
            .with("origin", "http://evil.example")
            .body("length=1830"),
    ] {
        foreign.of(&site).await.assert_status(StatusCode::FORBIDDEN);
    }
}

#[tokio::test]
async fn files_are_kept_for_a_year_by_version_and_asked_again_without() {
    let site = site().await;
    let by_version = paths::asset("style.css");
    assert!(by_version.starts_with("/static/style.css?v="), "{by_version}");
    let file = Ask::get(&by_version).of(&site).await.assert_status(StatusCode::OK);
    assert_eq!(file.header("content-type"), "text/css");
    assert_eq!(file.header("cache-control"), "public, max-age=31536000, immutable");
    assert_guarded(&file);

    let plain = Ask::get("/static/style.css").of(&site).await.assert_status(StatusCode::OK);
    assert_eq!(plain.header("cache-control"), "no-cache");
    let again = Ask::get("/static/style.css").with("if-none-match", plain.header("etag")).of(&site).await;
    assert_eq!(again.assert_status(StatusCode::NOT_MODIFIED).body, "");
    let old = Ask::get("/static/style.css?v=000000000000").of(&site).await.assert_status(StatusCode::OK);
    assert_eq!(old.header("cache-control"), "no-cache", "an old version is not kept as if it were that one");

    for missing in ["/static/none.css", "/static/../Cargo.toml", "/static/%2e%2e/Cargo.toml", "/static/"] {
        Ask::get(missing).of(&site).await.assert_status(StatusCode::NOT_FOUND);
    }
}

#[tokio::test]
async fn every_file_that_a_page_names_is_there() {
    let site = site().await;
    let page = Ask::get(SHOP_PAGE).of(&site).await;
    let files: Vec<String> = ["link[rel=stylesheet]", "link[rel=icon]"]
        .iter()
        .filter_map(|selector| page.attribute(selector, "href"))
        .chain(page.attribute("script", "src"))
        .collect();
    assert_eq!(files.len(), 3, "{files:?}");
    for file in files {
        Ask::get(&file).of(&site).await.assert_status(StatusCode::OK);
    }
}

#[tokio::test]
async fn what_is_no_form_is_refused() {
    let site = site().await;
    let json = Ask::form(paths::COMPONENTS, &[]).with("content-type", "application/json").body("{}").of(&site).await;
    assert_our_page(&json.assert_status(StatusCode::UNSUPPORTED_MEDIA_TYPE), "This could not be read");
    let bytes = Ask::form(paths::COMPONENTS, &[]).body([0xff, 0xfe, b'=', 0x80]).of(&site).await;
    assert!(bytes.status.is_client_error(), "{}", bytes.status);
}

#[tokio::test]
async fn whoever_asks_for_copies_faster_than_a_person_waits() {
    let site = shop_site().await;
    let ask = |address: &str| Ask::get("/q/none").with("host", PUBLIC_HOST).by_peer(address);
    // One a second comes back meanwhile, on a slow machine several.
    let mut served = 0;
    let late = loop {
        let answer = ask("203.0.113.9").of(&site).await;
        if answer.status != StatusCode::NOT_FOUND || served > 600 {
            break answer.assert_status(StatusCode::TOO_MANY_REQUESTS);
        }
        served += 1;
    };
    assert!(served >= 60, "{served} at once");
    assert_our_page(&late, "Please wait");
    assert_eq!(late.header("retry-after"), "1");
    ask("203.0.113.10").of(&site).await.assert_status(StatusCode::NOT_FOUND);
    let sent = |nth: u32| {
        let ask = Ask::form("/q/none/ask", &[("question", &nth.to_string())]).with("host", PUBLIC_HOST);
        ask.by_peer("203.0.113.11")
    };
    let mut taken = 0;
    while taken < 60 && sent(taken).of(&site).await.status == StatusCode::NOT_FOUND {
        taken += 1;
    }
    assert!((6..60).contains(&taken), "{taken} at once");
    sent(60).of(&site).await.assert_status(StatusCode::TOO_MANY_REQUESTS);
}
