//! Who may do what: signing in, and every route for every role.

use std::collections::{BTreeMap, BTreeSet};

use axum::http::{Method, StatusCode};
use hitchwright::{
    domain::people::{DEMO, PersonName, Role},
    storage::{By, NewPerson, PersonId, Store},
    web::{
        password, paths,
        rights::{RIGHTS, Right, Who},
    },
};
use jiff::{SignedDuration, Timestamp};

use crate::support::{Answer, Ask, PUBLIC_HOST, shop_site, signed_in, site};

const PASSWORD: &str = "three grey gulls";

/// A person with [`PASSWORD`].
async fn with_password(store: &Store, name: &str, role: Role) -> PersonId {
    let hash = password::hash(PASSWORD).await.expect("a hash");
    let parsed = PersonName::parse(name).expect("a name");
    let new = NewPerson { name: &parsed, role, password: Some(&hash), demo: false };
    let by = By { who: "a test", at: Timestamp::now() };
    store.add_person(new, by).await.expect("an answer").expect("a new name")
}

fn sign_in(name: &str, password: &str) -> Ask {
    Ask::form(paths::SIGN_IN, &[("name", name), ("password", password), ("next", "/jobs?page=1")]).by_nobody()
}

/// A path of a route's pattern: ids of things that are there or not, which rights do not depend on.
fn path_of(pattern: &str) -> String {
    let mut path = pattern.to_owned();
    for (place, value) in [
        ("{job}", "1"),
        ("{number}", "1"),
        ("{plan}", "1"),
        ("{mark}", "P1"),
        ("{code}", "HS-20x20x2"),
        ("{batch}", "1"),
        ("{tag}", "R-0001"),
        ("{list}", "1"),
        ("{order}", "1"),
        ("{person}", "77"),
        ("{session}", "77000"),
        ("{token}", "none"),
        ("{*file}", "style.css"),
    ] {
        path = path.replace(place, value);
    }
    assert!(!path.contains('{'), "{path}: name a value for its places here");
    path
}

fn ask(right: &Right) -> Ask {
    let path = path_of(right.path);
    if right.method == Method::POST { Ask::form(&path, &[("x", "y")]) } else { Ask::get(&path) }
}

/// Whether an answer turns its visitor away for who they are.
fn is_refused(answer: &Answer) -> bool {
    let is_sent_to_sign_in = answer.header("location").starts_with(paths::SIGN_IN) && answer.cookies().is_empty();
    is_sent_to_sign_in || [StatusCode::UNAUTHORIZED, StatusCode::FORBIDDEN].contains(&answer.status)
}

#[tokio::test]
async fn every_route_lets_in_whom_the_table_names_and_nobody_else() {
    let site = shop_site().await;
    for right in RIGHTS {
        let what = format!("{} {}", right.method, right.path);
        let by_nobody = ask(right).by_nobody().of(&site).await;
        let is_for_people = matches!(right.who, Who::People(_));
        assert_eq!(is_refused(&by_nobody), is_for_people, "{what} by nobody: {}", by_nobody.status);
        let at_public = ask(right).with("host", PUBLIC_HOST).with("x-forwarded-for", "203.0.113.9").of(&site).await;
        if matches!(right.who, Who::People(_) | Who::Visitor) {
            assert_eq!(at_public.status, StatusCode::NOT_FOUND, "{what} at the public address");
            assert!(at_public.body.contains("Only quotes are shown"), "{what}: {}", at_public.body);
        }
        for role in Role::ALL {
            // A new session each time: some routes end it.
            let cookie = signed_in(&site.store, &format!("{role} of {what}"), role).await;
            let answer = ask(right).with("cookie", &cookie).of(&site).await;
            let may = match right.who {
                Who::People(roles) => roles.contains(&role),
                Who::Anyone | Who::Customer | Who::Visitor => true,
            };
            assert_eq!(is_refused(&answer), !may, "{what} by {role}: {}", answer.status);
            assert_ne!(answer.status, StatusCode::INTERNAL_SERVER_ERROR, "{what} by {role}: {}", answer.body);
            assert_ne!(answer.status, StatusCode::METHOD_NOT_ALLOWED, "{what} is in the table and not in the router");
            if !may {
                assert!(answer.body.contains("This is for owner"), "{what} by {role}: {}", answer.body);
                assert!(answer.body.contains(&format!("({role})")), "{what} by {role}: {}", answer.body);
            }
        }
    }
}

#[test]
fn every_route_of_the_paths_stands_in_the_table() {
    let source = include_str!("../../src/web/paths.rs");
    let patterns: Vec<&str> = source
        .lines()
        .filter(|line| line.starts_with("pub const "))
        .filter_map(|line| line.split_once(": &str = \"")?.1.strip_suffix("\";"))
        .collect();
    assert!(patterns.len() > 50, "{patterns:?}");
    let listed: BTreeSet<&str> = RIGHTS.iter().map(|right| right.path).collect();
    let missing: Vec<&&str> = patterns.iter().filter(|pattern| !listed.contains(**pattern)).collect();
    assert!(missing.is_empty(), "nobody said who may use {missing:?}");
    let unknown: Vec<&&str> = listed.iter().filter(|path| !patterns.contains(path)).collect();
    assert!(unknown.is_empty(), "{unknown:?}");
}

#[tokio::test]
async fn a_post_from_another_site_is_refused_on_every_route() {
    let site = shop_site().await;
    for right in RIGHTS.iter().filter(|right| right.method == Method::POST) {
        for place in ["cross-site", "same-site"] {
            let answer = ask(right).with("sec-fetch-site", place).of(&site).await;
            assert_eq!(answer.status, StatusCode::FORBIDDEN, "{} from {place}", right.path);
            assert_eq!(answer.texts("h1"), ["Not sent from here"], "{}", right.path);
        }
        // An old browser names the origin alone.
        let old = Ask::new(Method::POST, &path_of(right.path))
            .with("content-type", "application/x-www-form-urlencoded")
            .with("origin", "http://evil.example")
            .body("x=y");
        old.of(&site).await.assert_status(StatusCode::FORBIDDEN);
    }
}

#[tokio::test]
async fn a_person_signs_in_works_and_signs_out() {
    let site = site().await;
    with_password(&site.store, "Zoë <b>", Role::Owner).await;
    let first = Ask::get("/jobs?page=1").by_nobody().of(&site).await;
    assert_eq!(first.assert_redirect(), "/sign-in?next=%2Fjobs%3Fpage%3D1");
    let page = Ask::get(first.header("location")).by_nobody().of(&site).await.assert_status(StatusCode::OK);
    assert_eq!(page.attribute("input[name=next]", "value").as_deref(), Some("/jobs?page=1"));
    assert_eq!(page.texts("header.site"), [""; 0], "nothing of the shop is shown");

    // Upper and lower case of the name are one; the password's are not.
    let answer = sign_in(" zoË <B>", PASSWORD).of(&site).await;
    assert_eq!(answer.assert_redirect(), "/jobs?page=1");
    let cookie = answer.header("set-cookie");
    assert!(cookie.contains("; HttpOnly") && cookie.contains("; SameSite=Lax"), "{cookie}");
    let token = answer.cookies();
    assert!(token.len() > "hitchwright_session=".len() + 40, "256 bits are 43 letters: {token}");
    let jobs = Ask::get(paths::COMPONENTS).with("cookie", &token).of(&site).await.assert_status(StatusCode::OK);
    assert_eq!(jobs.texts(".who-name"), ["Zoë <b>"]);

    let out = Ask::form(paths::SIGN_OUT, &[]).with("cookie", &token).of(&site).await;
    assert_eq!(out.assert_redirect(), paths::SIGN_IN);
    assert!(out.header("set-cookie").contains("Max-Age=0"));
    assert!(is_refused(&Ask::get(paths::JOBS).with("cookie", &token).of(&site).await));
}

#[tokio::test]
async fn whether_the_name_or_the_password_is_wrong_is_not_told() {
    let site = site().await;
    let owner = with_password(&site.store, "Ann", Role::Owner).await;
    with_password(&site.store, "Other owner", Role::Owner).await;
    let off = with_password(&site.store, "Off", Role::Workshop).await;
    let by = By { who: "a test", at: Timestamp::now() };
    let _ = site.store.set_active(off, false, by).await.expect("switched off");
    let mut said = BTreeSet::new();
    for (name, password) in [
        ("Ann", "three grey gulls!"),
        ("Ann", "THREE GREY GULLS"),
        ("Ann", ""),
        ("Nobody", PASSWORD),
        ("Off", PASSWORD),
        ("Mara", ""), // She has no password yet.
        ("", PASSWORD),
    ] {
        let answer = sign_in(name, password).of(&site).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
        assert_eq!(answer.cookies(), "", "{name}");
        assert_eq!(answer.attribute("[name=password]", "value").as_deref(), Some(""), "a password is never sent back");
        assert_eq!(answer.attribute("[name=name]", "value").as_deref(), Some(name));
        said.insert(answer.texts("#faults"));
    }
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(site.store.people().await.expect("people").iter().any(|person| person.id == owner));
}

#[tokio::test]
async fn failures_are_slowed_down_with_the_wait_said() {
    let site = site().await;
    with_password(&site.store, "Ann", Role::Owner).await;
    for _ in 0..5 {
        sign_in("Ann", "wrong").of(&site).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    }
    let late = sign_in("ANN", PASSWORD).of(&site).await.assert_status(StatusCode::TOO_MANY_REQUESTS);
    let seconds: u32 = late.header("retry-after").parse().expect("seconds");
    assert!((1..=2).contains(&seconds), "{seconds}");
    assert!(late.texts("#faults").join(" ").contains(&format!("Wait {seconds} second")), "{}", late.body);
    tokio::time::sleep(std::time::Duration::from_millis(2100)).await;
    sign_in("Ann", PASSWORD).of(&site).await.assert_redirect();
}

#[tokio::test]
async fn the_demos_sign_ins_are_shown_and_work_on_this_machine_alone() {
    let site = site().await;
    let none = Ask::get(paths::SIGN_IN).by_nobody().of(&site).await;
    assert!(none.texts("[data-test=demo]").is_empty(), "a shop of one's own shows none");
    for demo in DEMO {
        let hash = password::hash(demo.password).await.expect("a hash");
        let name = PersonName::parse(demo.name).expect("a name");
        let new = NewPerson { name: &name, role: demo.role, password: Some(&hash), demo: true };
        site.store.add_person(new, By { who: "a test", at: Timestamp::now() }).await.expect("an answer");
    }
    let shown = Ask::get(paths::SIGN_IN).by_nobody().of(&site).await.texts("[data-test=demo]").join(" ");
    for demo in DEMO {
        assert!(shown.contains(demo.name) && shown.contains(demo.password), "{shown}");
        sign_in(demo.name, demo.password).of(&site).await.assert_redirect();
        let outside = sign_in(demo.name, demo.password).with("host", PUBLIC_HOST).of(&site).await;
        assert_eq!((outside.status, outside.cookies().as_str()), (StatusCode::NOT_FOUND, ""));
    }
}

#[tokio::test]
async fn the_first_link_makes_the_owner_once() {
    let site = site().await;
    let now = Timestamp::now();
    let by = By { who: "first start", at: now };
    let until = now.checked_add(SignedDuration::from_hours(1)).expect("a moment");
    let older = site.store.make_set_up_link(None, until, by).await.expect("made").expect("a link");
    let token = site.store.make_set_up_link(None, until, by).await.expect("made").expect("a link");
    let (older, path) = (paths::set_up(&older), paths::set_up(&token));
    Ask::get(&older).by_nobody().of(&site).await.assert_status(StatusCode::GONE);
    Ask::get(&path).by_nobody().of(&site).await.assert_status(StatusCode::OK);
    let send = |fields: &[(&str, &str)]| Ask::form(&path, fields).by_nobody();
    for (fields, says) in [
        ([("name", ""), ("new_password", PASSWORD), ("again", PASSWORD)], "type a name"),
        ([("name", "mara"), ("new_password", PASSWORD), ("again", PASSWORD)], "has this name already"),
        ([("name", "Zoë"), ("new_password", "short"), ("again", "short")], "at least 12"),
        ([("name", "Zoë"), ("new_password", "Password1234"), ("again", "Password1234")], "first that anyone"),
        ([("name", "Zoë"), ("new_password", "Dragon-2026-Zoë"), ("again", "Dragon-2026-Zoë")], "would try first"),
        ([("name", "Zoë"), ("new_password", PASSWORD), ("again", "three grey gull")], "not the same"),
    ] {
        let wrong = send(&fields).of(&site).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
        assert!(wrong.texts("#faults").join(" ").contains(says), "{says}: {}", wrong.body);
        assert!(!wrong.body.contains(PASSWORD), "a password is never sent back");
    }
    let right = [("name", "Zoë"), ("new_password", PASSWORD), ("again", PASSWORD)];
    let done = send(&right).of(&site).await;
    assert_eq!(done.assert_redirect(), "/");
    let people = Ask::get(paths::PEOPLE).with("cookie", &done.cookies()).of(&site).await;
    assert!(people.assert_status(StatusCode::OK).texts("[data-test=people]").join(" ").contains("Zoë you"));
    send(&right).of(&site).await.assert_status(StatusCode::GONE);
    assert!(site.store.has_owner().await.expect("an answer"));
    sign_in("Zoë", PASSWORD).of(&site).await.assert_redirect();
}

/// The owner adds somebody, who chooses a password; the owner changes and ends what they may do.
#[tokio::test]
async fn the_owner_keeps_the_people() {
    let site = site().await;
    let added = Ask::form(paths::PEOPLE, &[("name", "Jory"), ("role", "workshop")]).of(&site).await;
    let link = added.assert_status(StatusCode::OK).attribute("[data-test=link]", "href").expect("a link");
    let path = link.strip_prefix("http://127.0.0.1:4717").expect("this machine").to_owned();
    let twice = Ask::form(paths::PEOPLE, &[("name", "JORY"), ("role", "owner")]).of(&site).await;
    assert!(twice.assert_status(StatusCode::UNPROCESSABLE_ENTITY).body.contains("has this name already"));
    let chosen = [("new_password", PASSWORD), ("again", PASSWORD)];
    let jory = Ask::form(&path, &chosen).by_nobody().of(&site).await;
    jory.assert_redirect();
    let cookie = jory.cookies();
    let as_jory = |path: &str| Ask::get(path).with("cookie", &cookie);
    as_jory(paths::RATES).of(&site).await.assert_status(StatusCode::FORBIDDEN);

    let id = site.store.people().await.expect("people").iter().find(|person| person.name == "Jory").expect("Jory").id;
    let of = |pattern| paths::of_person(pattern, &id);
    Ask::form(&of(paths::PERSON_ROLE), &[("role", "estimator")]).of(&site).await.assert_redirect();
    as_jory(paths::ME).of(&site).await.assert_status(StatusCode::OK);
    assert!(as_jory(paths::PEOPLE).of(&site).await.body.contains("(estimator)"), "the new role holds at once");
    let nonsense = Ask::form(&of(paths::PERSON_ROLE), &[("role", "king")]).of(&site).await;
    nonsense.assert_status(StatusCode::UNPROCESSABLE_ENTITY);

    // A new link closes the older one; switching off closes both, and every session.
    let again = Ask::form(&of(paths::PERSON_LINK), &[]).of(&site).await.assert_status(StatusCode::OK);
    let newer = again.attribute("[data-test=link]", "href").expect("a link").replace("http://127.0.0.1:4717", "");
    Ask::get(&newer).by_nobody().of(&site).await.assert_status(StatusCode::OK);
    Ask::form(&of(paths::PERSON_ACTIVE), &[("active", "no")]).of(&site).await.assert_redirect();
    assert!(is_refused(&as_jory(paths::ME).of(&site).await));
    Ask::get(&newer).by_nobody().of(&site).await.assert_status(StatusCode::GONE);
    sign_in("Jory", PASSWORD).of(&site).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    Ask::form(&of(paths::PERSON_LINK), &[]).of(&site).await.assert_status(StatusCode::NOT_FOUND);
    Ask::form(&of(paths::PERSON_ACTIVE), &[("active", "yes")]).of(&site).await.assert_redirect();
    sign_in("Jory", PASSWORD).of(&site).await.assert_redirect();

    let audit = site.store.audit(0, 50).await.expect("the trail");
    let said: Vec<String> = audit.iter().map(|line| format!("{}: {}", line.who, line.what)).collect();
    for line in
        ["Mara: added Jory as workshop", "Jory: chose a password", "Mara: made them estimator", "Mara: switched off"]
    {
        assert!(said.iter().any(|said| said == line), "{line}: {said:?}");
    }
}

#[tokio::test]
async fn the_last_owner_cannot_be_lost() {
    let site = site().await;
    let id = with_password(&site.store, "Owner", Role::Owner).await;
    for (pattern, field) in [(paths::PERSON_ROLE, ("role", "workshop")), (paths::PERSON_ACTIVE, ("active", "no"))] {
        let refused = Ask::form(&paths::of_person(pattern, &id), &[field]).of(&site).await;
        assert!(refused.assert_status(StatusCode::UNPROCESSABLE_ENTITY).body.contains("last owner"));
    }
    assert!(site.store.has_owner().await.expect("an answer"));
}

#[tokio::test]
async fn another_password_needs_the_old_one_and_signs_out_every_other_browser() {
    let site = site().await;
    with_password(&site.store, "Ann", Role::Estimator).await;
    let here = sign_in("Ann", PASSWORD).of(&site).await.cookies();
    let there = sign_in("Ann", PASSWORD).of(&site).await.cookies();
    assert_ne!(here, there);
    let new = "a heron by the lock";
    let change = |old: &str, new: &str| {
        let fields = [("old_password", old), ("new_password", new), ("again", new)];
        Ask::form(paths::MY_PASSWORD, &fields).with("cookie", &here)
    };
    let wrong = change("not it at all", new).of(&site).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    assert!(wrong.texts("#faults").join(" ").contains("not your password"));
    change(PASSWORD, "short").of(&site).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
    let done = change(PASSWORD, new).of(&site).await;
    assert_eq!(done.assert_redirect(), "/me?changed=yes");
    for gone in [&here, &there] {
        assert!(is_refused(&Ask::get(paths::ME).with("cookie", gone).of(&site).await));
    }
    Ask::get(paths::ME).with("cookie", &done.cookies()).of(&site).await.assert_status(StatusCode::OK);
    sign_in("Ann", PASSWORD).of(&site).await.assert_status(StatusCode::UNPROCESSABLE_ENTITY);

    let (one, other) = (sign_in("Ann", new).of(&site).await.cookies(), sign_in("Ann", new).of(&site).await.cookies());
    Ask::form(paths::SIGN_OUT_EVERYWHERE, &[]).with("cookie", &one).of(&site).await.assert_redirect();
    for gone in [&one, &other] {
        assert!(is_refused(&Ask::get(paths::ME).with("cookie", gone).of(&site).await));
    }
}

#[tokio::test]
async fn a_person_sees_where_they_are_signed_in_and_signs_one_out() {
    let site = site().await;
    let ann = with_password(&site.store, "Ann", Role::Workshop).await;
    let ago = |minutes: i64| Timestamp::now().checked_sub(SignedDuration::from_mins(minutes)).expect("a moment");
    let cookie = hitchwright::web::session::cookie_header;
    let older = cookie(&site.store.start_session(ann, ago(90), ago(-600)).await.expect("a session"));
    // Over: it lay idle.
    site.store.start_session(ann, ago(300), ago(-60)).await.expect("a session");
    let here = sign_in("Ann", PASSWORD).of(&site).await.cookies();
    let page = Ask::get(paths::ME).with("cookie", &here).of(&site).await.assert_status(StatusCode::OK);
    let browsers = page.texts("[data-test=sessions] tbody td:nth-child(3)");
    assert_eq!(browsers, ["this one", "another"], "not Mara's, not those that are over");
    let since = page.texts("[data-test=sessions] tbody th");
    assert_eq!(since[1], hitchwright::web::clock::moment(ago(90)));
    let html = page.html();
    let forms = scraper::Selector::parse("[data-test=sessions] form").expect("a selector");
    let ends: Vec<String> = html.select(&forms).filter_map(|form| form.attr("action").map(str::to_owned)).collect();

    // Whoever knows its number ends nothing of another person's.
    Ask::form(&ends[1], &[]).of(&site).await.assert_status(StatusCode::NOT_FOUND);
    Ask::get(paths::ME).with("cookie", &older).of(&site).await.assert_status(StatusCode::OK);

    assert_eq!(Ask::form(&ends[1], &[]).with("cookie", &here).of(&site).await.assert_redirect(), paths::ME);
    assert!(is_refused(&Ask::get(paths::ME).with("cookie", &older).of(&site).await));
    Ask::form(&ends[1], &[]).with("cookie", &here).of(&site).await.assert_status(StatusCode::NOT_FOUND);
    let left = Ask::get(paths::ME).with("cookie", &here).of(&site).await.assert_status(StatusCode::OK);
    assert_eq!(left.texts("[data-test=sessions] tbody td:nth-child(3)"), ["this one"]);
    let out = Ask::form(&ends[0], &[]).with("cookie", &here).of(&site).await;
    assert_eq!(out.assert_redirect(), paths::SIGN_IN);
    assert!(out.header("set-cookie").contains("Max-Age=0"));
    assert!(is_refused(&Ask::get(paths::ME).with("cookie", &here).of(&site).await));
}

/// The shop's own name and town are the first that a neighbour would try.
#[tokio::test]
async fn a_password_of_the_shops_name_is_refused() {
    let site = shop_site().await;
    with_password(&site.store, "Ann", Role::Estimator).await;
    let here = sign_in("Ann", PASSWORD).of(&site).await.cookies();
    for (new, says) in [
        ("Saltmarsh-2026!", Some("would try first")),
        ("wicksands1234", Some("would try first")),
        ("a heron by the lock", None),
    ] {
        let fields = [("old_password", PASSWORD), ("new_password", new), ("again", new)];
        let answer = Ask::form(paths::MY_PASSWORD, &fields).with("cookie", &here).of(&site).await;
        match says {
            None => assert_eq!(answer.assert_redirect(), "/me?changed=yes"),
            Some(says) => {
                let answer = answer.assert_status(StatusCode::UNPROCESSABLE_ENTITY);
                assert!(answer.texts("#faults").join(" ").contains(says), "{}", answer.body);
            }
        }
    }
}

#[tokio::test]
async fn a_session_ends_after_half_a_day_and_when_it_lies_idle() {
    let site = site().await;
    let person = with_password(&site.store, "Ann", Role::Estimator).await;
    let ago = |minutes: i64| Timestamp::now().checked_sub(SignedDuration::from_mins(minutes)).expect("a moment");
    for (begun, ends, holds) in [(0, -60, true), (120, -60, true), (120, 1, false), (241, -60, false)] {
        let token = site.store.start_session(person, ago(begun), ago(ends)).await.expect("a session");
        let cookie = hitchwright::web::session::cookie_header(&token);
        let answer = Ask::get(paths::ME).with("cookie", &cookie).of(&site).await;
        assert_eq!(!is_refused(&answer), holds, "begun {begun} minutes ago, ends {ends} minutes ago");
    }
}

#[tokio::test]
async fn what_was_sent_without_a_session_is_refused_and_said_not_to_be_lost() {
    let site = site().await;
    let sent = Ask::form(paths::JOBS, &[]).by_nobody().of(&site).await;
    sent.assert_status(StatusCode::METHOD_NOT_ALLOWED);
    let sent = Ask::form(paths::NEW_JOB, &[("title", "Hives")]).by_nobody().of(&site).await;
    let sent = sent.assert_status(StatusCode::UNAUTHORIZED);
    assert!(sent.body.contains("not lost") && sent.body.contains("reload"), "{}", sent.body);
    let part = Ask::get(paths::JOBS).with("hx-request", "true").by_nobody().of(&site).await;
    assert!(!part.assert_status(StatusCode::UNAUTHORIZED).body.contains("<!doctype"));
}

/// The rooms that the header leads each role to are those that it may open.
#[tokio::test]
async fn the_header_leads_only_where_one_may_go() {
    let site = shop_site().await;
    let mut shown = BTreeMap::new();
    for role in Role::ALL {
        let cookie = signed_in(&site.store, role.word(), role).await;
        let page = Ask::get(paths::ME).with("cookie", &cookie).of(&site).await;
        let html = page.html();
        let select = scraper::Selector::parse("header.site nav a").expect("a selector");
        let links: Vec<String> = html.select(&select).filter_map(|link| link.attr("href").map(str::to_owned)).collect();
        for link in &links {
            Ask::get(link).with("cookie", &cookie).of(&site).await.assert_status(StatusCode::OK);
        }
        shown.insert(role, links.len());
    }
    assert!(shown[&Role::Owner] > shown[&Role::Estimator] && shown[&Role::Estimator] > shown[&Role::Workshop]);
}
